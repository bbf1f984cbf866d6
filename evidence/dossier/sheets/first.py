"""The first page: what an adjuster must find in a minute."""

from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.drawings import roof_plan, time_strip
from evidence.dossier.exhibits import letter
from evidence.dossier.summary import look_rule
from evidence.figures import SceneFlowable, draw_roof_plan, draw_time_strip, legend
from evidence.upkeep import Picture
from evidence.upkeep.incidents import Look

if TYPE_CHECKING:
    from evidence.dossier.sheets.claim import ClaimSheet

_PICTURE_WIDTH, _PICTURE_HEIGHT = 160.0, 120.0
"""The frame of a picture of the pair, in points: four to three, as most cameras have it."""


def first_page(ctx: "ClaimSheet", checking_page: int) -> list[Flowable]:
    """Four figures, the pair, the plan, what stood open, the strip, and how far to trust it.

    Args:
        ctx: the claim.
        checking_page: where the page on checking is.
    """
    one, grid = ctx.opening, ctx.grid
    cells = [
        lay.figure_cell(
            figure.value,
            figure.unit,
            lay.para(figure.text, "figure", refs=say.entries(figure.cites)),
            grid.column,
        )
        for figure in one.figures
    ]
    return [
        lay.para(one.title, "headline"),
        lay.para(one.subtitle, "subtitle"),
        lay.gap(7),
        lay.columns(cells[0], cells[1], grid),
        lay.columns(cells[2], cells[3], grid),
        lay.gap(2),
        _pair(ctx),
        lay.gap(4),
        _plan_and_words(ctx, checking_page),
        lay.gap(2),
        _strip(ctx),
        SceneFlowable(legend(grid.text_width, flowing=True)),
    ]


def _pair(ctx: "ClaimSheet") -> Flowable:
    zone = ctx.opening.pair_zone
    cells = []
    for place, (look, picture) in enumerate(zip((zone.before, zone.after), ctx.pair, strict=True)):
        cells.append(_pair_side(ctx, place, look, picture, zone.zone))
    return lay.columns(cells[0], cells[1], ctx.grid)


def _pair_side(
    ctx: "ClaimSheet", place: int, look: Look | None, picture: Picture | None, zone_id: str
) -> list[Flowable]:
    heading = "before_heading" if place == 0 else "after_heading"
    when = (
        ctx.say("summary", "not_looked")
        if look is None
        else say.span(look.item.time, ctx.history.home)
    )
    note = ctx.say("summary", "not_looked" if look is None else "no_picture")
    parts: list[Flowable] = [
        lay.para(f"{letter(place)} · {ctx.say('summary', heading, when=when)}", "exhibit"),
        lay.gap(4),
    ]
    caption: lay.Cell = ""
    alt = ""
    if look is not None:
        caption = ctx.caption(letter(place), look.item, picture, zone_id, look.grade)
        alt = ctx.caption_words(look.item, picture, zone_id, look.grade)
    frame = lay.picture(ctx.preview(picture), _PICTURE_WIDTH, _PICTURE_HEIGHT, note, alt)
    widths = (_PICTURE_WIDTH, ctx.grid.column - _PICTURE_WIDTH)
    return [*parts, lay.beside(frame, caption, widths)]


def _plan_and_words(ctx: "ClaimSheet", checking_page: int) -> Flowable:
    """The plan, and beside it what stood open and how far the dates can be trusted."""
    grid, one = ctx.grid, ctx.opening
    shown = roof_plan(ctx.standing, ctx.facts.incident.zones, whole=False)
    plan = draw_roof_plan(shown, grid.column + 24)
    left: list[Flowable] = [
        lay.para(f"C · {ctx.say('summary', 'plan_heading')}", "exhibit"),
        lay.gap(2),
        SceneFlowable(plan),
    ]
    right: list[Flowable] = [lay.para(one.open_heading, "heading"), lay.gap(4)]
    right += lay.rows(_open_row(ctx, row.grade, row.text, row.cites) for row in one.open_rows)
    if one.open_note:
        right.append(lay.para(one.open_note, "muted"))
    reader = ctx.say("trust", "reader", page=checking_page)
    right += [
        lay.gap(6),
        lay.para(ctx.say("summary", "trust_heading"), "heading"),
        lay.gap(2),
        lay.para(" ".join([*one.trust, reader]), "fine"),
    ]
    return lay.columns(left, right, grid, wider_left=24)


def _open_row(ctx: "ClaimSheet", grade: int, text: str, cites: tuple[int, ...]) -> Flowable:
    words = lay.para(text, "small", refs=say.entries(cites))
    return lay.bead_row(lay.bead(grade), words, ctx.grid.column - 24)


def _strip(ctx: "ClaimSheet") -> Flowable:
    strip = time_strip(ctx.standing, ctx.facts, look_rule(ctx.standing))
    ends = {"first": say.month(strip.start), "last": say.month(strip.end)}
    heading = ctx.say("summary", "strip_heading", **ends)
    return lay.together(
        lay.para(f"D · {heading}", "exhibit"),
        lay.gap(2),
        SceneFlowable(draw_time_strip(strip, ctx.grid.text_width)),
    )
