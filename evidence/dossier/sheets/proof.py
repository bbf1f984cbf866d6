"""The pages behind the first: findings, rules and gaps, pictures."""

from collections.abc import Iterator, Sequence

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.drawings import incident_window, time_strip, window_bars
from evidence.dossier.exhibits import Exhibit, clock_words, file_name
from evidence.dossier.sheets.asked import questions
from evidence.dossier.sheets.context import Sheet, gaps_listed
from evidence.figures import SceneFlowable, draw_window_bars
from evidence.lengths import kept_in
from evidence.upkeep.duties import Duty
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import Gap, RuleGaps

_PICTURE_SHAPE = 0.7
"""Height of a picture's frame over its width."""

_BARS_A_DRAWING = 14
"""With the longest names they still fit on one page."""


def findings(ctx: Sheet) -> list[Flowable]:
    """When each finding was first seen, as bars and as a table; nothing where there is none."""
    shown = tuple(ctx.findings_shown())
    if not shown:
        return []
    rows = [_finding_row(ctx, facts) for facts in shown]
    return [
        lay.para(ctx.say("pages", "onset_intro")),
        lay.gap(6),
        *_onsets(ctx, shown),
        lay.table(ctx.heads("findings"), rows, ctx.grid.shares((17, 17, 7, 14, 15, 30))),
    ]


def _onsets(ctx: Sheet, shown: Sequence[FindingFacts]) -> Iterator[Flowable]:
    """The bars, in drawings that a page can hold."""
    strip = time_strip(ctx.standing, ctx.incident, None)
    bars = window_bars(ctx.history, shown, ctx.catalogue)
    facts = ctx.incident
    incident = None if facts is None else incident_window(ctx.history, facts)
    for start in range(0, len(bars), _BARS_A_DRAWING):
        part = bars[start : start + _BARS_A_DRAWING]
        scene = draw_window_bars(part, strip.start, strip.end, ctx.grid.text_width, incident)
        yield SceneFlowable(scene)
        yield lay.gap(8)


def _finding_row(ctx: Sheet, facts: FindingFacts) -> list[lay.Cell]:
    first = say.short_day(facts.first_seen.span.days(ctx.history.home)[0])
    state = ctx.say("findings", facts.state, days=say.counted(facts.days_open, "day"))
    ends = [] if facts.settled is None else [facts.settled]
    return [
        ctx.catalogue.findings[facts.type].words,
        ctx.label(facts.zone),
        str(facts.grade),
        lay.para(first, "small", refs=say.entries([facts.first_seen.seq])),
        lay.para(state, "small", refs=say.entries(ends)),
        " ".join(f"{part.rstrip('.')}." for part in _size_and_note(ctx, facts) if part),
    ]


def _size_and_note(ctx: Sheet, facts: FindingFacts) -> Iterator[str]:
    finding, observations = facts.finding, ctx.catalogue.observations
    sides = [str(side) for side in (finding.length_mm, finding.width_mm) if side]
    if sides:
        yield ctx.say("findings", "size", sides=" × ".join(sides))
    note = finding.note or ""
    for kept in filter(lambda kept: kept.holds, kept_in(note)):
        note = note.replace(kept.text, "")
        figures = {"mm": kept.mm, "sure": kept.sure, "picture": kept.scene.picture}
        yield ctx.say("findings", f"measured_{kept.way}", **figures)
    yield say.clipped(note)
    yield from (observations[key].sentence for key in finding.seen or () if key in observations)


def rules(ctx: Sheet) -> list[Flowable]:
    """Each rule with its worst zone, the gaps between looks, and the duties after events."""
    rows = [_rule_row(ctx, measured) for measured in ctx.rules]
    parts: list[Flowable] = [lay.para(ctx.say("pages", "rule_intro")), lay.gap(5)]
    if rows:
        widths = ctx.grid.shares((17, 31, 18, 12, 10, 12))
        parts.append(lay.table(ctx.heads("rules"), rows, widths))
    for measured in ctx.rules:
        parts += _gap_list(ctx, measured)
    parts += _duties(ctx)
    if ctx.standing.missing_rules:
        tasks = say.listed(ctx.standing.missing_rules)
        parts += [lay.gap(6), lay.para(ctx.say("pages", "missing_rules", tasks=tasks))]
    return parts


def _rule_row(ctx: Sheet, measured: RuleGaps) -> list[lay.Cell]:
    rule, worst, ended = measured.rule, measured.worst, measured.ruled.last_day
    authority = [
        ctx.say(
            "rules",
            "authority",
            authority=say.clipped(rule.authority),
            basis=rule.basis.replace("-", " "),
        )
    ]
    if ended is not None:
        authority.append(ctx.say("rules", "ended", last=say.short_day(ended)))
    if not rule.required:
        authority.append(ctx.say("rules", "not_counted"))
    named = ctx.say("rules", "rule", task=rule.task, days=rule.days)
    return [
        lay.para(named, "small", refs=say.entries([measured.item.seq])),
        " ".join(authority),
        "" if worst is None else ctx.label(worst.zone),
        say.counted(measured.longest, "day"),
        ctx.say("rules", measured.met_on_time),
        ctx.say("rules", measured.met_as_stated),
    ]


def _gap_list(ctx: Sheet, measured: RuleGaps) -> list[Flowable]:
    gaps, worst = gaps_listed(measured), measured.worst
    if not gaps or worst is None:
        return []
    title = ctx.say("rules", "gaps", rule=measured.rule.id, zone=ctx.label(worst.zone))
    widths = ctx.grid.shares((15, 15, 20, 14, 14, 22))
    return [
        lay.gap(10),
        lay.para(title, "heading"),
        lay.gap(3),
        lay.table(ctx.heads("gaps"), [_gap_row(ctx, gap) for gap in gaps], widths),
    ]


def _gap_row(ctx: Sheet, gap: Gap) -> list[lay.Cell]:
    days = say.counted(gap.days, "day")
    closing = [] if gap.closed_by is None else [gap.closed_by]
    return [
        say.short_day(gap.from_),
        say.short_day(gap.to),
        ctx.say("rules", "still_open", days=days) if gap.open else days,
        say.counted(gap.over, "day") if gap.over[1] else "",
        lay.para("", "small", refs=say.entries(gap.deferrals)),
        lay.para(gap.means or "", "small", refs=say.entries(closing)),
    ]


def _duties(ctx: Sheet) -> list[Flowable]:
    if not ctx.standing.duties:
        return []
    rows = [_duty_row(ctx, duty) for duty in ctx.standing.duties]
    return [
        lay.gap(10),
        lay.para(ctx.say("pages", "duty_heading"), "heading"),
        lay.gap(3),
        lay.table(ctx.heads("duties"), rows, ctx.grid.shares((24, 16, 16, 14, 20, 10))),
    ]


def _duty_row(ctx: Sheet, duty: Duty) -> list[lay.Cell]:
    done = [] if duty.done is None else [duty.done]
    looked = ctx.say("rules", "looked_at" if done else "not_yet")
    return [
        lay.para(duty.task, "small", refs=say.entries([duty.trigger])),
        say.short_day(duty.from_),
        say.short_day(duty.by),
        say.counted(duty.days, "day"),
        lay.para(looked, "small", refs=say.entries(done)),
        ctx.say("rules", duty.met),
    ]


def pictures(ctx: Sheet) -> list[Flowable]:
    """The lettered pictures that the first page has not shown, two in a row."""
    cells = [_exhibit(ctx, exhibit) for exhibit in ctx.exhibits]
    if len(cells) % 2:
        cells.append([])
    rows: list[Flowable] = []
    for left, right in zip(cells[::2], cells[1::2], strict=True):
        rows += [lay.columns(left, right or "", ctx.grid), lay.gap(12)]
    return [*rows, *questions(ctx)]


def _exhibit(ctx: Sheet, exhibit: Exhibit) -> list[Flowable]:
    picture, width = exhibit.picture, ctx.grid.column
    not_shown = ctx.say("picture", "not_shown")
    if picture.file.zone is not None:
        words = ctx.caption_words(exhibit.item, picture, picture.file.zone, None)
    else:
        role = picture.file.role or ctx.say("picture", "no_role")
        card = ctx.card(exhibit.item, picture)
        words = "; ".join([role, clock_words(picture, ctx.history), *card]) + "."
    refs = f"{say.entries([exhibit.item.seq])}, {file_name(picture)}"
    box = lay.picture(ctx.preview(picture), width, width * _PICTURE_SHAPE, not_shown, words)
    return [box, lay.gap(3), lay.para(words, "small", refs=refs, lead=exhibit.letter)]
