"""The pages behind the first: zones, findings, rules and gaps, weak points, pictures."""

from collections.abc import Sequence

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.drawings import incident_window, roof_plan, time_strip, window_bars
from evidence.dossier.exhibits import Exhibit, clock_words, file_name
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.weak import weak_points
from evidence.figures import SceneFlowable, draw_roof_plan, draw_window_bars
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import RuleGaps
from evidence.upkeep.incidents import Look
from evidence.words import Task


def zones(ctx: Sheet) -> list[Flowable]:
    rows: list[list[lay.Cell]] = []
    for zone in ctx.facts.zones:
        rows.append(
            [
                ctx.label(zone.zone),
                _look_cell(ctx, zone.before, zone.before_state),
                _look_cell(ctx, zone.after, zone.after_state),
                _finding_names(ctx, zone.open_before) or "nothing",
                _finding_names(ctx, zone.found) or "nothing",
            ]
        )
    widths = ctx.grid.shares((20, 24, 24, 16, 16))
    heads = ("zone", "last look before", "first look after", "stood open before", "found after")
    plan = draw_roof_plan(
        roof_plan(ctx.standing, ctx.facts.incident.zones, key=True), ctx.grid.text_width
    )
    parts: list[Flowable] = [
        lay.table(heads, rows, widths),
        lay.gap(10),
        SceneFlowable(plan),
        lay.gap(8),
    ]
    return [*parts, *_later(ctx)]


def _look_cell(ctx: Sheet, look: Look | None, state: str) -> lay.Cell:
    if look is None:
        return state.replace("-", " ")
    date = say.short_span(look.item.time, ctx.history.home)
    word = ctx.word(look.grade)
    support = "" if look.support is None else f"; {look.support.replace('-', ' ')}"
    text = f"{date}, grade {look.grade} {word}, {say.counted(look.days, 'day')}{support}"
    return lay.para(text, "small", refs=say.entries([look.seq]))


def _finding_names(ctx: Sheet, ids: Sequence[str]) -> str:
    found = [ctx.standing.finding(finding_id) for finding_id in ids]
    return "; ".join(
        f"{ctx.catalogue.findings[facts.type].words}, grade {facts.grade}"
        for facts in found
        if facts is not None
    )


def _later(ctx: Sheet) -> list[Flowable]:
    parts: list[Flowable] = [lay.para(ctx.say("pages", "later_heading"), "heading")]
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
        parts += [lay.gap(3), lay.para(text, refs=say.entries([finding.opened]))]
    key = "later_limit" if ctx.facts.later else "later_none"
    return [*parts, lay.gap(3), lay.para(ctx.say("pages", key), "muted")]


def findings(ctx: Sheet) -> list[Flowable]:
    shown = tuple(ctx.findings_shown())
    if not shown:
        return []
    strip = time_strip(ctx.standing, ctx.facts, None)
    bars = draw_window_bars(
        window_bars(ctx.history, shown, ctx.catalogue),
        strip.start,
        strip.end,
        ctx.grid.text_width,
        incident_window(ctx.history, ctx.facts),
    )
    rows: list[list[lay.Cell]] = [_finding_row(ctx, facts) for facts in shown]
    heads = ("finding", "place", "grade", "first seen", "state", "size and note")
    widths = ctx.grid.shares((20, 17, 7, 17, 19, 20))
    return [
        lay.para(ctx.say("pages", "onset_intro")),
        lay.gap(6),
        SceneFlowable(bars),
        lay.gap(8),
        lay.table(heads, rows, widths),
    ]


def _finding_row(ctx: Sheet, facts: FindingFacts) -> list[lay.Cell]:
    state = f"{facts.state}, {say.counted(facts.days_open, 'day')}"
    ends = [] if facts.settled is None else [facts.settled]
    size = " × ".join(
        str(side) for side in (facts.finding.length_mm, facts.finding.width_mm) if side
    )
    seen = [
        ctx.catalogue.observations[key].sentence
        for key in facts.finding.seen or ()
        if key in ctx.catalogue.observations
    ]
    note = [f"{size} mm" if size else "", facts.finding.note or "", *seen]
    return [
        ctx.catalogue.findings[facts.type].words,
        ctx.label(facts.zone),
        str(facts.grade),
        lay.para(
            say.short_day(facts.first_seen.span.days(ctx.history.home)[0]),
            "small",
            refs=say.entries([facts.first_seen.seq]),
        ),
        lay.para(state, "small", refs=say.entries(ends)),
        " ".join(part if part.endswith(".") else f"{part}." for part in note if part),
    ]


def rules(ctx: Sheet) -> list[Flowable]:
    rows: list[list[lay.Cell]] = [_rule_row(ctx, measured) for measured in ctx.standing.rules]
    heads = ("rule", "authority and basis", "worst zone", "longest", "on time", "as stated")
    parts: list[Flowable] = [lay.para(ctx.say("pages", "rule_intro")), lay.gap(5)]
    if rows:
        parts.append(lay.table(heads, rows, ctx.grid.shares((17, 31, 18, 12, 10, 12))))
    for measured in ctx.standing.rules:
        if measured.rule.task is Task.INSPECTION:
            parts += _gap_list(ctx, measured)
    parts += _duties(ctx)
    if ctx.standing.missing_rules:
        tasks = say.listed(ctx.standing.missing_rules)
        parts += [lay.gap(6), lay.para(ctx.say("pages", "missing_rules", tasks=tasks))]
    return parts


def _rule_row(ctx: Sheet, measured: RuleGaps) -> list[lay.Cell]:
    rule, worst = measured.rule, measured.worst
    required = "" if rule.required else " Shown, not counted."
    return [
        lay.para(f"{rule.task}, {rule.days} days", "small", refs=say.entries([measured.item.seq])),
        f"{rule.authority} ({rule.basis.replace('-', ' ')}).{required}",
        "" if worst is None else ctx.label(worst.zone),
        say.counted(measured.longest, "day"),
        measured.met_on_time,
        measured.met_as_stated,
    ]


def _gap_list(ctx: Sheet, measured: RuleGaps) -> list[Flowable]:
    worst = measured.worst
    if worst is None:
        return []
    rows: list[list[lay.Cell]] = []
    for gap in worst.gaps:
        closing = [] if gap.closed_by is None else [gap.closed_by]
        rows.append(
            [
                say.short_day(gap.from_),
                say.short_day(gap.to),
                say.counted(gap.days, "day") + (", still open" if gap.open else ""),
                say.counted(gap.over, "day") if gap.over[1] else "",
                say.entries(gap.deferrals),
                lay.para(
                    "" if gap.means is None else gap.means, "small", refs=say.entries(closing)
                ),
            ]
        )
    heads = ("from", "to", "between", "over the rule", "deferred", "look that closes it")
    title = f"{measured.rule.id}: {ctx.label(worst.zone)}"
    return [
        lay.gap(10),
        lay.para(title, "heading"),
        lay.gap(3),
        lay.table(heads, rows, ctx.grid.shares((15, 15, 20, 14, 14, 22))),
    ]


def _duties(ctx: Sheet) -> list[Flowable]:
    if not ctx.standing.duties:
        return []
    rows: list[list[lay.Cell]] = [
        [
            lay.para(duty.task, "small", refs=say.entries([duty.trigger])),
            say.short_day(duty.from_),
            say.short_day(duty.by),
            say.counted(duty.days, "day"),
            lay.para(
                "not yet" if duty.done is None else "looked at",
                "small",
                refs=say.entries([] if duty.done is None else [duty.done]),
            ),
            duty.met,
        ]
        for duty in ctx.standing.duties
    ]
    heads = ("after", "from", "by", "took", "all its zones", "in time")
    return [
        lay.gap(10),
        lay.para(ctx.say("pages", "duty_heading"), "heading"),
        lay.gap(3),
        lay.table(heads, rows, ctx.grid.shares((24, 16, 16, 14, 20, 10))),
    ]


def weak(ctx: Sheet) -> list[Flowable]:
    parts: list[Flowable] = [lay.para(ctx.say("pages", "weak_intro"), "muted"), lay.gap(4)]
    for weakness in weak_points(ctx.standing, ctx.facts):
        parts += [lay.para(weakness.text, refs=say.entries(weakness.cites)), lay.gap(4)]
    return parts


def pictures(ctx: Sheet) -> list[Flowable]:
    cells = [_exhibit(ctx, exhibit) for exhibit in ctx.exhibits]
    if len(cells) % 2:
        cells.append([])
    rows: list[Flowable] = []
    for left, right in zip(cells[::2], cells[1::2], strict=True):
        rows += [lay.columns(left, right or "", ctx.grid), lay.gap(12)]
    return rows


def _exhibit(ctx: Sheet, exhibit: Exhibit) -> list[Flowable]:
    picture = exhibit.picture
    zone = picture.file.zone
    box = lay.picture(
        ctx.preview(picture),
        ctx.grid.column,
        ctx.grid.column * 0.62,
        "This file cannot be shown.",
    )
    if zone is None:
        words = f"{picture.file.role or 'picture'}; {clock_words(picture, ctx.history)}."
        refs = f"{say.entries([exhibit.item.seq])}, {file_name(picture)}"
        caption: Flowable = lay.para(words, "small", refs=refs, lead=exhibit.letter)
    else:
        caption = ctx.caption(exhibit.letter, exhibit.item, picture, zone, None)
    return [box, lay.gap(3), caption]
