"""The last pages: entries cited, limits, how to check the file, cautions."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from evidence.carried import OWN_ROWS
from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.describe import describe
from evidence.dossier.outside import known_since
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.wording import wording
from evidence.envelope import tallies
from evidence.steps import steps
from evidence.upkeep import Item
from evidence.upkeep.carded import cards_seen


@dataclass(frozen=True, slots=True)
class Carried:
    """What the pages say about the file itself: attachments and the key that signs."""

    attached: Sequence[tuple[str, int, str]]
    left_out: int
    key_entry: int


def entries(ctx: Sheet) -> list[Flowable]:
    """Every entry that a page cites, and what the whole record holds."""
    cited = set(ctx.cited)
    rows = [_entry_row(ctx, item) for item in ctx.history.items if item.seq in cited]
    counted = tallies(item.entry for item in ctx.history.items)
    said = ", ".join(f"{count} {kind}" for kind, count in counted.items())
    return [
        lay.para(ctx.say("pages", "entries_intro", zone=ctx.history.rig.home_zone)),
        *_places(ctx),
        lay.gap(5),
        lay.table(ctx.heads("entries"), rows, ctx.grid.shares((6, 37, 21, 17, 19))),
        lay.gap(8),
        lay.para(" ".join(known_since(ctx.history))),
        lay.gap(4),
        lay.para(ctx.say("pages", "record_text", size=ctx.history.size, tallies=said)),
    ]


def _places(ctx: Sheet) -> list[Flowable]:
    """What looked up the zones of positions, and whose boundaries they are."""
    source = ctx.history.places_by
    return [] if source is None else [lay.para(ctx.say("pages", "places", source=source), "muted")]


def _entry_row(ctx: Sheet, item: Item) -> list[lay.Cell]:
    logged = say.short_moment(item.entry.logged, ctx.history.home)
    if item.span is not None and not item.within_24h and item.lag_days is not None:
        logged = ctx.say("entries", "late", logged=logged, days=say.counted(item.lag_days, "day"))
    return [
        lay.para(str(item.entry.number), "mono"),
        describe(item, ctx.history, ctx.catalogue),
        _when(ctx, item),
        logged,
        _between(ctx, item),
    ]


def _when(ctx: Sheet, item: Item) -> str:
    if item.span is None:
        return ""
    return ctx.say(
        "entries",
        "conflict" if item.conflict else "when",
        when=say.short_span(item.span, ctx.history.home),
        basis=item.span.basis,
    )


def _between(ctx: Sheet, item: Item) -> str:
    """The outside answers that the entry lies between, by their days."""
    history = ctx.history
    ends = (history.outsiders.not_before(item.seq), history.outsiders.not_after(item.seq))
    first, last = (
        None if moment is None else say.short_day(moment.astimezone(history.home).date())
        for moment in ends
    )
    if first is None:
        return ctx.say("entries", "no_outsider" if last is None else "before", last=last)
    return ctx.say("entries", "after" if last is None else "between", first=first, last=last)


def limits(ctx: Sheet) -> list[Flowable]:
    """What the file can and cannot show."""
    parts: list[Flowable] = []
    for key in wording("claim").sections["limits"]:
        parts += [lay.para(ctx.say("limits", key)), lay.gap(3)]
    if any(cards_seen(ctx.history)):
        parts.append(lay.para(wording("entries").say("card", "pasted")))
    return parts


def checking(ctx: Sheet, carried: Carried) -> list[Flowable]:
    """The steps of a check, what the signature means, and what is attached."""
    rows: list[list[lay.Cell]] = [
        [str(step.n), step.title, step.does, step.cannot] for step in steps()
    ]
    signature = ctx.say("pages", "signature_text", number=carried.key_entry + 1)
    attached: list[list[lay.Cell]] = [
        [lay.para(name, "mono"), say.clipped(what), f"{size:,}"]
        for name, size, what in carried.attached
    ]
    parts: list[Flowable] = [
        lay.para(ctx.say("pages", "check_intro")),
        lay.gap(5),
        lay.table(ctx.heads("steps"), rows, ctx.grid.shares((6, 16, 40, 38))),
        lay.gap(10),
        lay.para(ctx.say("pages", "signature_heading"), "heading"),
        lay.gap(3),
        lay.para(signature),
        lay.gap(10),
        lay.para(ctx.say("pages", "attached_heading"), "heading"),
        lay.gap(3),
        lay.table(ctx.heads("attached"), attached, ctx.grid.shares((65, 26, 9))),
    ]
    if carried.left_out:
        files = say.counted((carried.left_out, carried.left_out), "file")
        parts += [lay.gap(4), lay.para(ctx.say("pages", "left_out", files=files))]
    return parts


def care(ctx: Sheet) -> list[Flowable]:
    """The cautions before any climb."""
    parts: list[Flowable] = []
    for row in ctx.catalogue.cautions.values():
        parts += [lay.para(row.text, "small"), lay.gap(2)]
    parts += [lay.gap(4), lay.para(ctx.catalogue.footer, "small")]
    return [*parts, *_own_rows(ctx)]


def _own_rows(ctx: Sheet) -> list[Flowable]:
    """The issuer's own rows of the catalogue beside the program's; nothing where there are none."""
    if not ctx.catalogue.changes:
        return []
    parts: list[Flowable] = [
        lay.gap(10),
        lay.para(ctx.say("pages", "own_rows_heading"), "heading"),
        lay.gap(3),
        lay.para(ctx.say("pages", "own_rows_intro", name=OWN_ROWS)),
    ]
    for change in ctx.catalogue.changes:
        built_in, mine = change.words
        was = built_in or ctx.say("pages", "own_row_none")
        said = ctx.say(
            "pages", "own_row", row=change.row, field=change.field, own=mine, built_in=was
        )
        parts += [lay.gap(2), lay.para(said, "small")]
    return parts
