"""One year's upkeep statement."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import ClassVar

from evidence.dossier.brief import Brief
from evidence.dossier.forms.year import year_brief, year_of
from evidence.dossier.sheets.brief import BriefSheet
from evidence.upkeep import Item, Picture
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.period import Period
from evidence.words import Form


@dataclass(frozen=True, kw_only=True)
class YearSheet(BriefSheet):
    """The year that ends with the day on which the record was measured."""

    form: ClassVar[Form] = Form.YEAR

    @cached_property
    def opening(self) -> Brief:
        """What the first page says."""
        return year_brief(self.standing)

    @cached_property
    def year(self) -> Period:
        """The year."""
        return year_of(self.standing)

    @property
    def strip_from(self) -> date:
        """The year's first day."""
        return self.year.first

    def findings_shown(self) -> Sequence[FindingFacts]:
        """Those first seen in the year, settled in it, or open at its end."""
        told = (*self.year.opened, *self.year.settled, *self.year.standing)
        ids = {facts.id for facts in told}
        return [facts for facts in self.standing.findings if facts.id in ids]

    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """Every look and deed of the year, findings, rules."""
        yield [item.seq for item in (*self.year.looks, *self.year.deeds)]
        yield from super().cited_by_pages()

    def chosen(self) -> Sequence[tuple[Item, Picture]]:
        """The pictures of the year's findings and deeds."""
        deeds = {item.seq for item in self.year.deeds}
        shown = {facts.id for facts in self.findings_shown()}
        rows: dict[str, tuple[Item, Picture]] = {}
        for item, picture in self.history.pictures():
            told = item.seq in deeds or picture.file.finding in shown
            if picture.of_roof and told and item.dates[1] >= self.year.first:
                rows.setdefault(picture.file.sha256, (item, picture))
        return list(rows.values())
