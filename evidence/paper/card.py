"""The card as a page to print (PDF) and as a picture (PNG), both in its true size."""

from typing import TYPE_CHECKING

from evidence.card_size import MARGIN, PX_PER_MM
from evidence.cards import next_card
from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.entries import Rig
from evidence.figures.codes import one_shape
from evidence.figures.raster import MM, Flat, to_png
from evidence.figures.scene import Item, Line, Rect, Scene, Stroke, Text
from evidence.figures.style import HAIRLINE, INK, MUTED, SMALL
from evidence.paper.face import SIZE, CardPrint, face

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from evidence.case import Record
    from evidence.dossier.layout import Grid

RULER = 100
"""Length of the line to measure, in mm."""


def card_of(record: "Record", zone_id: str | None = None) -> CardPrint:
    """The card of a record's newest outsider's answer.

    Raises:
        RefusedError: no outsider has answered yet, or the rig has no such zone.
    """
    content, answer = next_card(record, zone_id)
    rigs = [entry.body for entry in record.entries if isinstance(entry.body, Rig)]
    labels = {place.id: place.label for place in rigs[-1].zones}
    return CardPrint(
        card=content,
        title=record.case.title,
        label=None if zone_id is None else labels[zone_id],
        answered=answer.time,
        name=answer.name,
        seq=answer.seq,
        sample=record.case.sample,
    )


def card_png(printed: CardPrint) -> bytes:
    """The card alone, 108 × 78 mm with its white edge; the file says its resolution."""
    return to_png(face(printed), SIZE, PX_PER_MM)


def card_pdf(printed: CardPrint, paper: str, footer: str) -> bytes:
    """A page with the card, a line to measure, how to use it, and what it shows.

    Args:
        printed: the card.
        paper: `letter` or `a4`.
        footer: what runs at the foot of the page.
    """
    from evidence.dossier import binding, layout

    words, grid = wording("card"), layout.grid(paper)
    running = binding.Running(
        left=words.say("card_page", "form"),
        sample=wording("common").say("summary", "sample") if printed.sample else "",
        foot_left=footer,
        foot_right="",
    )
    title = f"{words.say('card_page', 'file_title')}, {say.name(printed.title)}"
    return binding.build(lambda _pages, _seen: _page(printed, grid), running, grid, title)


def _page(printed: CardPrint, grid: "Grid") -> "list[Flowable]":
    from evidence.dossier import layout as lay
    from evidence.figures import SceneFlowable

    words = wording("card")

    def told(key: str, **figures: object) -> str:
        return words.say("card_page", key, **figures)

    left: list[Flowable] = [lay.para(told("use_heading"), "heading"), lay.gap(3)]
    for key in ("use1", "use2", "use3", "use4"):
        left += [lay.para(told(key)), lay.gap(4)]
    name = say.name(printed.name).rstrip(".")
    facts = {"number": say.entries([printed.seq]), "name": name}
    right: list[Flowable] = [
        lay.para(told("shows_heading"), "heading"),
        lay.gap(3),
        lay.para(told("shows1", **facts)),
        lay.gap(4),
        lay.para(told("shows2", when=say.utc(printed.answered), **facts)),
        lay.gap(4),
        lay.para(told("shows3")),
        lay.gap(4),
        lay.para(told("letters")),
    ]
    day = say.day(printed.answered.date())
    case = say.name(printed.title).rstrip(".")
    subtitle = told("subtitle", case=case, day=day, name=name)
    return [
        lay.para(told("title"), "headline"),
        lay.gap(3),
        lay.para(subtitle, "subtitle"),
        lay.gap(16),
        SceneFlowable(_cut_card(printed)),
        lay.gap(4),
        lay.para(told("cut"), "muted"),
        lay.gap(16),
        SceneFlowable(_ruler()),
        lay.para(told("measure", length=RULER), "muted"),
        lay.gap(18),
        lay.columns(left, right, grid),
    ]


def _cut_card(printed: CardPrint) -> Scene:
    """The card within the line along which it is cut."""
    edge = Rect(0, 0, *SIZE, None, Stroke(HAIRLINE, 0.5))
    title = wording("card").say("card_page", "title")
    return Scene(*SIZE, (edge, *_seamless(face(printed))), title, printed.card.text)


def _seamless(items: tuple[Flat, ...]) -> tuple[Item, ...]:
    """The card with all its dark rectangles as one shape."""
    dark = [item for item in items if isinstance(item, Rect) and item.fill == INK]
    return (one_shape(dark), *(item for item in items if item not in dark))


def _ruler() -> Scene:
    """A line of 100 mm below the card's own, with a tick each 10 mm, to hold a ruler against."""
    stroke, inset, base = Stroke(INK, 0.7), MARGIN * MM, 10.0
    end = inset + RULER * MM
    items: list[Item] = [Line(inset, base, end, base, stroke)]
    for mm in range(0, RULER + 1, 10):
        x = inset + mm * MM
        tall = 8.0 if mm % 50 == 0 else 4.0
        items.append(Line(x, base - tall, x, base, stroke))
        items.append(Text(x, base + 11, str(mm), SMALL, "text", "middle", MUTED))
    items.append(Text(end + 14, base + 11, "mm", SMALL, "text", "start", MUTED))
    return Scene(end + 40, base + 16, tuple(items), "100 mm", f"A line of {RULER} mm")
