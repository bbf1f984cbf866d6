"""A warranty dossier: each clause beside the entries that answer it, and the materials used."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.brief import Brief
from evidence.dossier.describe import zone_names
from evidence.dossier.forms.warranty import clauses_of, warranty_brief
from evidence.dossier.sheets.brief import BriefSheet
from evidence.dossier.sheets.context import Part
from evidence.entries import Paper, Reseal
from evidence.shapes import Clause
from evidence.upkeep import Item, Picture
from evidence.upkeep.materials import Material, materials
from evidence.upkeep.papers import ClauseAnswer
from evidence.words import Form


@dataclass(frozen=True, kw_only=True)
class WarrantySheet(BriefSheet):
    """The whole record beside the clauses on file."""

    form: ClassVar[Form] = Form.WARRANTY

    @cached_property
    def opening(self) -> Brief:
        """What the first page says."""
        return warranty_brief(self.standing)

    def own_parts(self) -> Sequence[Part]:
        """Clauses, materials."""
        return (
            self.part("clauses", "clauses_heading", self._clauses),
            self.part("materials", "materials_heading", self._materials),
        )

    def chosen(self) -> Sequence[tuple[Item, Picture]]:
        """The pictures of findings."""
        return self.of_findings()

    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """Papers, what answers their clauses, materials, findings, rules."""
        for answer, _, _ in clauses_of(self.standing):
            yield (answer.paper, *answer.answered_by)
        yield [row.item.seq for row in materials(self.history)]
        yield from super().cited_by_pages()

    def _clauses(self) -> list[Flowable]:
        rows = [self._clause(*row) for row in clauses_of(self.standing)]
        if not rows:
            return []
        return [
            lay.para(self.say("pages", "clauses_intro")),
            lay.gap(5),
            lay.table(self.heads("clauses"), rows, self.grid.shares((18, 34, 12, 18, 9, 9))),
        ]

    def _clause(self, answer: ClauseAnswer, paper: Paper, clause: Clause) -> list[lay.Cell]:
        named = f"{say.clipped(paper.title)}, {say.clipped(clause.ref)}"
        kept = (answer.met_as_stated, answer.met_on_time)
        return [
            lay.para(named, "small", refs=say.entries([answer.paper])),
            say.clipped(clause.text, _WORDS),
            answer.rule or "",
            lay.para("", "small", refs=say.entries(answer.answered_by)),
            *("" if met is None else self.say("rules", met) for met in kept),
        ]

    def _materials(self) -> list[Flowable]:
        rows = [self._material(row) for row in materials(self.history)]
        if not rows:
            return []
        return [
            lay.para(self.say("pages", "materials_intro")),
            lay.gap(5),
            lay.table(self.heads("materials"), rows, self.grid.shares((15, 18, 20, 25, 12, 10))),
        ]

    def _material(self, row: Material) -> list[lay.Cell]:
        item, body = row.item, row.body
        kind = item.entry.kind
        fits = {fit.fit: fit for fit in self.standing.reseals if fit.seq == item.seq}
        worst = fits[max(fits)] if fits else None
        if worst is not None:
            fit = self.say("fit", "fit", family=worst.family.replace("-", " "), letter=worst.fit)
            kind = f"{kind}, {fit}"
        receipt = "receipt" if row.receipt else "no_receipt"
        zones = [body.zones] if isinstance(body.zones, str) else list(body.zones)
        return [
            lay.para(say.short_day(item.dates[0]), "small", refs=say.entries([item.seq])),
            kind,
            zone_names(zones, self.history),
            say.clipped(row.used),
            self._lot(body) if isinstance(body, Reseal) else "",
            self.say("fit", receipt),
        ]

    def _lot(self, body: Reseal) -> str:
        said = [] if body.lot is None else [self.say("fit", "lot", lot=say.clipped(body.lot, 24))]
        if body.expires is not None:
            said.append(self.say("fit", "expires", day=say.dated(body.expires)))
        return ", ".join(said)


_WORDS = 400
"""Characters of a clause that its row has room for; the record holds the whole."""
