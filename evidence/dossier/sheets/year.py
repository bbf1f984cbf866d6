"""One year's upkeep statement."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from reportlab.platypus import Flowable

from evidence.dossier import say
from evidence.dossier.answers import look_rule
from evidence.dossier.brief import Brief
from evidence.dossier.drawings import time_strip
from evidence.dossier.forms.year import year_brief, year_of
from evidence.dossier.sheets import proof
from evidence.dossier.sheets.brief import brief_page
from evidence.dossier.sheets.context import Carried, Part, Sheet
from evidence.dossier.sheets.record import last_parts
from evidence.figures import draw_time_strip
from evidence.upkeep import Item, Picture
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.period import Period
from evidence.words import Form


@dataclass(frozen=True, kw_only=True)
class YearSheet(Sheet):
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

    def first_page(self, checking_page: int) -> list[Flowable]:
        """Figures, the year's strip, what was done, what stands open."""
        strip = time_strip(self.standing, None, look_rule(self.standing), self.year.first)
        ends = {"first": say.month(strip.start), "last": say.month(strip.end)}
        heading = self.say("summary", "strip_heading", **ends)
        drawing = (heading, draw_time_strip(strip, self.grid.text_width))
        return brief_page(self, self.opening, [drawing], checking_page)

    @property
    def drawings(self) -> int:
        """The strip."""
        return 1

    def parts(self, carried: Carried) -> Sequence[Part]:
        """Findings, rules, pictures, then what every dossier ends with."""
        return (
            self.part("findings", "onset_heading", lambda: proof.findings(self)),
            self.part("rules", "rule_heading", lambda: proof.rules(self)),
            self.part("pictures", "pictures_heading", lambda: proof.pictures(self)),
            *last_parts(self, carried),
        )

    def findings_shown(self) -> Sequence[FindingFacts]:
        """Those first seen in the year, settled in it, or open at its end."""
        ids = {facts.id for facts in (*self.year.opened, *self.year.settled, *self.year.standing)}
        return [facts for facts in self.standing.findings if facts.id in ids]

    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """Every look and deed of the year, findings, rules."""
        yield [item.seq for item in (*self.year.looks, *self.year.deeds)]
        yield from self.cited_by_findings(self.findings_shown())
        yield from self.cited_by_rules()

    def chosen(self) -> Sequence[tuple[Item, Picture]]:
        """Of what was found or done in the year: the pictures of its findings and deeds."""
        deeds = {item.seq for item in self.year.deeds}
        shown = {facts.id for facts in self.findings_shown()}
        rows: dict[str, tuple[Item, Picture]] = {}
        for item, picture in self.history.pictures():
            told = item.seq in deeds or picture.file.finding in shown
            if picture.of_roof and told and item.dates[1] >= self.year.first:
                rows.setdefault(picture.file.sha256, (item, picture))
        return list(rows.values())
