"""The zones that an incident names: each before it and after it, and what was seen there later."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.drawings import roof_plan
from evidence.figures import SceneFlowable, draw_roof_plan
from evidence.upkeep.incidents import ZoneUnderIncident

if TYPE_CHECKING:
    from evidence.dossier.sheets.claim import ClaimSheet


def before_and_after(ctx: "ClaimSheet") -> list[Flowable]:
    """Each zone named: its last look before, its first look after, and the plan."""
    rows = [
        [
            ctx.label(zone.zone),
            _before_cell(ctx, zone),
            _after_cell(ctx, zone),
            _finding_names(ctx, zone.open_before) or ctx.say("zones", "nothing_on_record"),
            _finding_names(ctx, zone.found) or ctx.say("zones", f"found_{zone.after_state}"),
        ]
        for zone in ctx.facts.zones
    ]
    widths = ctx.grid.shares((20, 24, 24, 16, 16))
    shown = roof_plan(ctx.standing, ctx.facts.incident.zones, whole=True)
    return [
        lay.table(ctx.heads("zones"), rows, widths),
        lay.gap(10),
        SceneFlowable(draw_roof_plan(shown, ctx.grid.text_width)),
        lay.gap(8),
        *_later(ctx),
    ]


def _before_cell(ctx: "ClaimSheet", zone: ZoneUnderIncident) -> lay.Cell:
    look = zone.before
    if look is None:
        key = "claimed" if zone.claimed_before else "no_look_before"
        return lay.para(
            ctx.say("zones", key), "small", refs=say.entries(zone.claimed_before or zone.straddling)
        )
    text = ctx.say(
        "zones",
        "look_before",
        date=say.short_span(look.item.time, ctx.history.home),
        grade=look.grade,
        word=ctx.word(look.grade),
        days=say.counted(look.days, "day"),
        support=ctx.say("zones", look.support or "own-clock-before"),
    )
    return lay.para(text, "small", refs=say.entries([look.seq]))


def _after_cell(ctx: "ClaimSheet", zone: ZoneUnderIncident) -> lay.Cell:
    look = zone.after
    if look is None:
        return ctx.say("zones", "found_not-looked-at")
    text = ctx.say(
        "zones",
        "look_same_day" if look.days == (0, 0) else "look_after",
        date=say.short_span(look.item.time, ctx.history.home),
        grade=look.grade,
        word=ctx.word(look.grade),
        days=say.counted(look.days, "day"),
    )
    return lay.para(text, "small", refs=say.entries([look.seq]))


def _finding_names(ctx: "ClaimSheet", ids: Sequence[str]) -> str:
    found = [ctx.standing.finding(finding_id) for finding_id in ids]
    return "; ".join(ctx.finding_words(facts) for facts in found if facts is not None)


def _later(ctx: "ClaimSheet") -> Iterator[Flowable]:
    yield lay.para(ctx.say("pages", "later_heading"), "heading")
    for finding_id, days in ctx.facts.later:
        finding = ctx.standing.finding(finding_id)
        if finding is None:
            continue
        text = ctx.say(
            "pages",
            "later_row",
            words=ctx.catalogue.findings[finding.type].words,
            zone=ctx.label(finding.zone),
            grade=finding.grade,
            days=say.counted(days, "day"),
        )
        yield lay.gap(3)
        yield lay.para(text, refs=say.entries([finding.opened]))
    yield lay.gap(3)
    yield lay.para(ctx.say("pages", "later_limit" if ctx.facts.later else "later_none"), "muted")
