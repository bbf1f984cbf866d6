"""Forms that open with a `Brief`: figures, a strip, passages, and how far to trust them."""

from abc import abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.answers import look_rule
from evidence.dossier.brief import Brief, Passage
from evidence.dossier.drawings import time_strip
from evidence.dossier.exhibits import letter
from evidence.dossier.sheets import proof
from evidence.dossier.sheets.context import Carried, Part, Sheet
from evidence.dossier.sheets.record import last_parts
from evidence.figures import Scene, SceneFlowable, draw_time_strip, legend
from evidence.upkeep import Item, Picture

Drawing = tuple[str, Scene]
"""A heading and what is drawn under it."""


@dataclass(frozen=True, kw_only=True)
class BriefSheet(Sheet):
    """A form about the whole record."""

    @property
    @abstractmethod
    def opening(self) -> Brief:
        """What the first page says."""

    @property
    def strip_from(self) -> date | None:
        """The first day of the strip on the first page; that of the record where none is given."""
        return None

    @property
    def drawings(self) -> int:
        """The strip."""
        return 1

    def first_page(self, checking_page: int) -> list[Flowable]:
        """Figures, the strip, passages."""
        strip = time_strip(self.standing, None, look_rule(self.standing), self.strip_from)
        ends = {"first": say.month(strip.start), "last": say.month(strip.end)}
        heading = self.say("summary", "strip_heading", **ends)
        drawing = (heading, draw_time_strip(strip, self.grid.text_width))
        return brief_page(self, self.opening, [drawing], checking_page)

    def own_parts(self) -> Sequence[Part]:
        """What this form alone has behind its first page."""
        return ()

    def parts(self, carried: Carried) -> Sequence[Part]:
        """Its own parts, findings, rules, pictures, then what every dossier ends with."""
        return (
            *self.own_parts(),
            self.part("findings", "onset_heading", lambda: proof.findings(self)),
            self.part("rules", "rule_heading", lambda: proof.rules(self)),
            self.part("pictures", "pictures_heading", lambda: proof.pictures(self)),
            *last_parts(self, carried),
        )

    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """What findings and rules cite."""
        yield from self.cited_by_findings(self.findings_shown())
        yield from self.cited_by_rules()

    def of_findings(self) -> Sequence[tuple[Item, Picture]]:
        """The pictures of the findings shown, each once."""
        shown = {facts.id for facts in self.findings_shown()}
        rows: dict[str, tuple[Item, Picture]] = {}
        for item, picture in self.history.pictures():
            if picture.of_roof and picture.file.finding in shown:
                rows.setdefault(picture.file.sha256, (item, picture))
        return list(rows.values())


def brief_page(
    ctx: Sheet, brief: Brief, drawings: Sequence[Drawing], checking_page: int
) -> list[Flowable]:
    """Lay a first page out.

    Args:
        ctx: the dossier.
        brief: what it says.
        drawings: what is drawn below the figures, each under its letter.
        checking_page: where the page on checking is.
    """
    return [
        lay.para(brief.title, "headline"),
        lay.para(brief.subtitle, "subtitle"),
        lay.gap(7),
        *_figures(ctx, brief),
        lay.gap(2),
        *_drawn(drawings),
        SceneFlowable(legend(ctx.grid.text_width, flowing=True)),
        lay.gap(6),
        *_passages(ctx, brief.passages),
        lay.gap(6),
        lay.para(ctx.say("summary", "trust_heading"), "heading"),
        lay.gap(2),
        lay.para(" ".join([*brief.trust, ctx.say("trust", "reader", page=checking_page)]), "fine"),
    ]


def _figures(ctx: Sheet, brief: Brief) -> Iterator[Flowable]:
    """Two in a row."""
    cells = [
        lay.figure_cell(
            figure.value,
            figure.unit,
            lay.para(figure.text, "figure", refs=say.entries(figure.cites)),
            ctx.grid.column,
        )
        for figure in brief.figures
    ]
    for place in range(0, len(cells), 2):
        yield lay.columns(cells[place], [*cells[place + 1 : place + 2]], ctx.grid)


def _drawn(drawings: Sequence[Drawing]) -> Iterator[Flowable]:
    for place, (heading, scene) in enumerate(drawings):
        yield lay.together(
            lay.para(f"{letter(place)} · {heading}", "exhibit"), lay.gap(2), SceneFlowable(scene)
        )
        yield lay.gap(4)


def _passages(ctx: Sheet, passages: Sequence[Passage]) -> Iterator[Flowable]:
    """Two side by side."""
    for place in range(0, len(passages), 2):
        left, *right = (_passage(ctx, one) for one in passages[place : place + 2])
        yield lay.columns(left, right[0] if right else "", ctx.grid)
        yield lay.gap(4)


def _passage(ctx: Sheet, passage: Passage) -> list[Flowable]:
    parts: list[Flowable] = [lay.para(passage.heading, "heading"), lay.gap(3)]
    if any(line.grade is not None for line in passage.lines):
        parts += lay.rows(
            lay.bead_row(
                lay.bead(line.grade or 0),
                lay.para(line.text, "small", refs=say.entries(line.cites)),
                ctx.grid.column,
            )
            for line in passage.lines
        )
    else:
        rows = (
            [lay.para(line.text, "small", refs=say.entries(line.cites))] for line in passage.lines
        )
        parts += lay.listed(rows, 3)
    if passage.note:
        parts += [lay.gap(2), lay.para(passage.note, "muted")]
    return parts
