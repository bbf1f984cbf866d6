"""The first page of every form that opens with a `Brief`: figures, a strip, passages, trust."""

from collections.abc import Iterator, Sequence

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.brief import Brief, Passage
from evidence.dossier.exhibits import letter
from evidence.dossier.sheets.context import Sheet
from evidence.figures import Scene, SceneFlowable, legend

Drawing = tuple[str, Scene]
"""A heading and what is drawn under it."""


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
