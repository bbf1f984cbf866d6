"""The last pages: entries cited, limits, how to check the file, cautions."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.describe import describe
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.wording import wording
from evidence.steps import steps
from evidence.upkeep import Item


@dataclass(frozen=True, slots=True)
class Carried:
    """What the pages say about the file itself: attachments and the key that signs."""

    attached: Sequence[tuple[str, int, str]]
    left_out: int
    key_entry: int


def entries(ctx: Sheet) -> list[Flowable]:
    items = {item.seq: item for item in ctx.history.items}
    rows = [_entry_row(ctx, items[seq]) for seq in ctx.cited if seq in items]
    heads = ("entry", "what it says", "time and its basis", "logged", "lies between")
    zone = ctx.history.rig.home_zone
    tallies = Counter(item.entry.kind for item in ctx.history.items)
    said = ", ".join(f"{count} {kind}" for kind, count in tallies.items())
    return [
        lay.para(ctx.say("pages", "entries_intro", zone=zone)),
        lay.gap(5),
        lay.table(heads, rows, ctx.grid.shares((7, 39, 22, 15, 17))),
        lay.gap(8),
        lay.para(ctx.say("pages", "record_text", size=ctx.history.size, tallies=said)),
    ]


def _entry_row(ctx: Sheet, item: Item) -> list[lay.Cell]:
    home = ctx.history.home
    when = ""
    if item.span is not None:
        when = f"{say.short_span(item.span, home)}; {item.span.basis}"
    lag = ""
    if item.span is not None and not item.within_24h and item.lag_days is not None:
        lag = f"; {say.counted(item.lag_days, 'day')} later"
    before, after = ctx.history.not_before(item.seq), ctx.history.not_after(item.seq)
    ends = [
        "" if moment is None else say.short_day(moment.astimezone(home).date())
        for moment in (before, after)
    ]
    between = f"{ends[0] or 'nobody'} and {ends[1] or 'nobody'}"
    return [
        lay.para(str(item.entry.number), "mono"),
        describe(item, ctx.history, ctx.catalogue),
        when,
        say.short_moment(item.entry.logged, home) + lag,
        "no outsider" if not any(ends) else between,
    ]


def limits(ctx: Sheet) -> list[Flowable]:
    parts: list[Flowable] = []
    for key in wording("claim").sections["limits"]:
        parts += [lay.para(ctx.say("limits", key)), lay.gap(3)]
    return parts


def checking(ctx: Sheet, carried: Carried) -> list[Flowable]:
    rows: list[list[lay.Cell]] = [
        [str(step.n), step.title, step.does, step.cannot] for step in steps()
    ]
    heads = ("step", "", "what is done", "what it cannot show")
    signature = ctx.say("pages", "signature_text", number=carried.key_entry + 1)
    attached: list[list[lay.Cell]] = [
        [lay.para(name, "mono"), what, f"{size:,}"] for name, size, what in carried.attached
    ]
    parts: list[Flowable] = [
        lay.para(ctx.say("pages", "check_intro")),
        lay.gap(5),
        lay.table(heads, rows, ctx.grid.shares((6, 16, 40, 38))),
        lay.gap(10),
        lay.para(ctx.say("pages", "signature_heading"), "heading"),
        lay.gap(3),
        lay.para(signature),
        lay.gap(10),
        lay.para(ctx.say("pages", "attached_heading"), "heading"),
        lay.gap(3),
        lay.table(("file", "what it is", "bytes"), attached, ctx.grid.shares((58, 30, 12))),
    ]
    if carried.left_out:
        parts += [lay.gap(4), lay.para(ctx.say("pages", "left_out", count=carried.left_out))]
    return parts


def care(ctx: Sheet) -> list[Flowable]:
    parts: list[Flowable] = []
    for row in ctx.catalogue.cautions.values():
        parts += [lay.para(row.text, "small"), lay.gap(2)]
    return [*parts, lay.gap(4), lay.para(ctx.catalogue.footer, "small")]
