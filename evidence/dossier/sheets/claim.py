"""A claim dossier from its first page to its last: the answer first, the proof behind it."""

from collections.abc import Callable

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier.binding import Anchor
from evidence.dossier.sheets import proof, record
from evidence.dossier.sheets.annex import annex
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.sheets.first import first_page
from evidence.dossier.sheets.record import Carried
from evidence.dossier.wording import wording

Seen = Callable[[str, int], None]

CHECKING = "check"
"""The part whose page the first page names."""


def claim_story(ctx: Sheet, carried: Carried) -> Callable[[dict[str, int], Seen], list[Flowable]]:
    """The flowables of all pages, made anew for each pass over the layout."""
    parts: tuple[tuple[str, str, Callable[[Sheet], list[Flowable]]], ...] = (
        ("zones", "before_after_heading", proof.zones),
        ("findings", "onset_heading", proof.findings),
        ("rules", "rule_heading", proof.rules),
        ("pictures", "pictures_heading", proof.pictures),
        ("entries", "entries_heading", record.entries),
        ("limits", "limits_heading", record.limits),
        (CHECKING, "check_heading", lambda sheet: record.checking(sheet, carried)),
        ("care", "care_heading", record.care),
    )

    def make(pages: dict[str, int], seen: Seen) -> list[Flowable]:
        flowables = first_page(ctx, pages.get(CHECKING, 2))
        for name, heading, content in parts:
            made = content(ctx)
            if made:
                flowables += _part(name, ctx.say("pages", heading), made, seen)
        title = wording("challenge").say("challenge_page", "heading")
        return [*flowables, *_part("challenge", title, annex(ctx), seen)]

    return make


def _part(name: str, title: str, made: list[Flowable], seen: Seen) -> list[Flowable]:
    return [*lay.section(title, Anchor(name, title, seen)), *made]
