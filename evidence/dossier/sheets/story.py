"""A dossier from its first page to its last: the answer first, the proof behind it."""

from collections.abc import Callable

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier.binding import Anchor
from evidence.dossier.sheets.context import CHECKING, Carried, Part, Sheet

Seen = Callable[[str, int], None]
Story = Callable[[dict[str, int], Seen], list[Flowable]]


def story(ctx: Sheet, carried: Carried) -> Story:
    """The flowables of all pages, made anew for each pass over the layout."""

    def make(pages: dict[str, int], seen: Seen) -> list[Flowable]:
        flowables = ctx.first_page(pages.get(CHECKING, 2))
        for part in ctx.parts(carried):
            flowables += _part(part, seen)
        return flowables

    return make


def _part(part: Part, seen: Seen) -> list[Flowable]:
    """The part under its heading; nothing where it has nothing to say."""
    made = part.content()
    if not made:
        return []
    return [*lay.section(part.heading, Anchor(part.name, part.heading, seen)), *made]
