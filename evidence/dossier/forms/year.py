"""One year's upkeep statement, as text: what was looked at and done, and what stands open."""

from collections.abc import Iterator, Sequence

from evidence.dossier import say
from evidence.dossier.answers import gap_figure, look_rule
from evidence.dossier.brief import Brief, Figure, Line, Passage, rig_words, trust_words
from evidence.dossier.describe import describe, zone_names
from evidence.dossier.wording import Wording, wording
from evidence.entries import Treatment, Wash
from evidence.upkeep import Item, Standing
from evidence.upkeep.period import Period, measure_period, year_before
from evidence.upkeep.standing import told_from

_MOST_DEEDS, _MOST_OPEN = 8, 6
_LONGEST_DEED = 110


def year_of(standing: Standing) -> Period:
    """The year that ends with the day on which the record was measured."""
    return measure_period(standing, year_before(standing.history.on))


def year_brief(standing: Standing) -> Brief:
    """The first page."""
    words, year = wording("year"), year_of(standing)
    ends = {"first": say.day(year.first), "last": say.day(year.last)}
    begins = told_from(standing.history)
    subtitle = [rig_words(standing), words.say("year", "span", **ends)]
    if begins > year.first:
        subtitle.append(words.say("year", "begins", day=say.day(begins)))
    return Brief(
        title=words.say("year", "title", last=ends["last"]),
        subtitle=" ".join(subtitle),
        figures=(
            _looks(words, standing, year),
            _gap(words, standing, year),
            _care(words, year),
            _found(words, year),
        ),
        passages=(_deeds(words, standing, year), open_passage(standing, year, _MOST_OPEN)),
        trust=tuple(trust_words(standing)),
    )


def _looks(words: Wording, standing: Standing, year: Period) -> Figure:
    if not year.looks:
        return Figure(words.say("looks", "none_value"), "", words.say("looks", "none"), ())
    count, last = len(year.looks), year.looks[-1]
    text = words.say(
        "looks",
        "text",
        on_time=year.prompt_looks,
        count=count,
        last=say.on_or_between(last.time, standing.history.home),
    )
    unit = words.say("looks", "unit" if count > 1 else "unit_one")
    return Figure(str(count), unit, text, tuple(item.seq for item in year.looks))


def _gap(words: Wording, standing: Standing, year: Period) -> Figure:
    measured = look_rule(standing)
    whole = gap_figure(standing, measured)
    if measured is None:
        return whole
    ends = [gap.closed_by for gap in year.gaps(measured) if gap.closed_by is not None]
    text = words.say("year", "gap", rule=say.clipped(measured.rule.authority))
    cites = (measured.item.seq, *sorted(set(ends)))
    return Figure(say.count(year.longest(measured)), whole.unit, text, cites)


def _care(words: Wording, year: Period) -> Figure:
    washes, treatments = year.of(Wash), year.of(Treatment)
    text = " ".join(
        words.say("care", said, days=_days(items)) if items else words.say("care", silent)
        for items, said, silent in (
            (washes, "wash", "wash_none"),
            (treatments, "treatment", "treatment_none"),
        )
    )
    cites = tuple(sorted(item.seq for item in (*washes, *treatments)))
    unit = words.say("care", "unit")
    return Figure(f"{len(washes)} + {len(treatments)}", unit, text, cites)


def _days(items: Sequence[Item]) -> str:
    return say.listed(say.short_day(item.dates[0]) for item in items)


def _found(words: Wording, year: Period) -> Figure:
    count = len(year.standing)
    unit = words.say("found", "unit_one" if count == 1 else "unit")
    text = words.say("found", "text", opened=len(year.opened), settled=len(year.settled))
    cites = [facts.opened for facts in (*year.opened, *year.settled, *year.standing)]
    ends = [facts.settled for facts in year.settled if facts.settled is not None]
    return Figure(str(count), unit, text, tuple(sorted({*cites, *ends})))


def _deeds(words: Wording, standing: Standing, year: Period) -> Passage:
    shown = year.deeds[-_MOST_DEEDS:]
    lines = tuple(_deed_lines(words, standing, shown))
    left = len(year.deeds) - len(shown)
    note = words.say("deeds", "more", count=left) if left else ""
    return Passage(
        words.say("deeds", "heading"), lines, note if lines else words.say("deeds", "none")
    )


def _deed_lines(words: Wording, standing: Standing, deeds: Sequence[Item]) -> Iterator[Line]:
    for item in deeds:
        said = say.clipped(describe(item, standing.history, standing.catalogue), _LONGEST_DEED)
        text = words.say("deeds", "row", day=say.short_day(item.dates[0]), said=said)
        yield Line(text, (item.seq,))


def open_passage(standing: Standing, period: Period, most: int) -> Passage:
    """What stands open at the end, the gravest first."""
    words, history = wording("common"), standing.history
    shown = period.standing[:most]
    lines = tuple(
        Line(
            words.say(
                "summary",
                "open_row",
                words=standing.catalogue.findings[facts.type].words,
                zone=zone_names([facts.zone], history),
                since=say.day(facts.first_seen.span.days(history.home)[0]),
            ),
            (facts.opened,),
            facts.grade,
        )
        for facts in shown
    )
    left = len(period.standing) - len(shown)
    note = words.say("summary", "open_more", count=left) if left else ""
    heading = words.say("summary", "open_now", when=say.day(period.last))
    return Passage(heading, lines, note if lines else words.say("summary", "open_none"))
