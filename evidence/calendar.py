"""What is due as a calendar for any other program (iCalendar, RFC 5545).

All-day events without a time zone: a date is due where the rig is at home, and an all-day date
means that very date everywhere (§ 3.3.4), across any change of the clocks. An event is known by
what is due, never by its date, so a later file moves it instead of adding another; one that was
done, or whose rule has ended, is struck out in every later file. It names the zones, whose rule it
is and on what that rests, and is marked private (§ 3.8.1.3); no position and no person leaves
unless a rule or a zone is named after one.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from evidence.dossier import say
from evidence.dossier.ways import ways_listed
from evidence.dossier.wording import wording
from evidence.placing import CALENDAR_PRODUCT
from evidence.times import parse_day
from evidence.trade import Catalogue
from evidence.upkeep import Due, Standing
from evidence.upkeep.due import FINDING, WITNESS
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.renewal import what_to_renew
from evidence.words import Task

if TYPE_CHECKING:
    from icalendar import Event

ALARMS = (timedelta(days=-6, hours=-15), timedelta(hours=-15))
"""Nine in the morning a week before and the day before: counted from the day's own midnight, and
past the small hours in which clocks are changed."""


@dataclass(frozen=True, slots=True)
class Dated:
    """One event: what is due (its identity), the day, and the words."""

    key: str
    day: date
    summary: str
    description: tuple[str, ...] = ()
    done: bool = False


def calendar_of(standing: Standing, rows: Sequence[Due], catalogue: Catalogue) -> bytes | None:
    """The calendar of a record on one day; None where nothing has a date (RFC 5545 § 3.4).

    The same record gives the same bytes: the time stamp is that of its newest entry, the sequence
    number the count of its entries, which only grows (RFC 5545 §§ 3.8.7.2, 3.8.7.4).
    """
    from icalendar import Calendar, vText

    events = list(_Events(standing, catalogue).all(rows))
    if not events:
        return None
    history = standing.history
    title = say.name(history.case.title)
    calendar = Calendar()
    calendar.add("prodid", CALENDAR_PRODUCT)
    calendar.add("version", "2.0")
    name = wording("due").say("calendar", "name", title=title)
    for known_as in ("name", "x-wr-calname"):  # RFC 7986 § 5.1, and what came before it
        calendar.add(known_as, vText(name))  # or the library leaves the text as it is
    stamp = history.items[-1].entry.logged
    for dated in events:
        uid = str(uuid5(UUID(hex=history.case.case_id), dated.key))
        calendar.add_component(_event(dated, uid, stamp, history.size))
    written: bytes = calendar.to_ical()
    return written


def _event(dated: Dated, uid: str, stamp: datetime, sequence: int) -> "Event":
    from icalendar import Alarm, Event

    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("sequence", sequence)
    event.add("dtstart", dated.day)
    event.add("summary", dated.summary)
    event.add("status", "CANCELLED" if dated.done else "CONFIRMED")
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")  # the day stays free
    if dated.done:
        return event
    event.add("description", "\n".join(dated.description))
    for before in ALARMS:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", dated.summary)
        alarm.add("trigger", before)
        event.add_component(alarm)
    return event


class _Events:
    """The events of one record."""

    def __init__(self, standing: Standing, catalogue: Catalogue) -> None:
        self.standing = standing
        self.history = standing.history
        self.catalogue = catalogue
        self.words = wording("due")

    def all(self, rows: Sequence[Due]) -> Iterator[Dated]:
        by_key: dict[str, list[Due]] = defaultdict(list)
        for row in rows:
            if row.by is not None:
                by_key[_key(row)].append(row)
        found = [self._event(key, together) for key, together in by_key.items()]
        found += (dated for dated in self._gone() if dated.key not in by_key)
        yield from sorted(found, key=lambda dated: (dated.day, dated.key))

    def _event(self, key: str, rows: Sequence[Due]) -> Dated:
        """One event for what stands under one key: a rule's zones may be due on several days."""
        days = [row.by for row in rows if row.by is not None]
        first = rows[0]
        return Dated(
            key, min(days), self._summary(first), tuple(self._description(first, rows, days))
        )

    def _summary(self, row: Due) -> str:
        finding = None if row.finding is None else self.standing.finding(row.finding)
        if finding is not None:
            return self._finding(finding)
        if row.task == WITNESS:
            return self._titled(self.words.say("task", row.task))
        return self._task(Task(row.task))

    def _finding(self, finding: FindingFacts) -> str:
        words = self.catalogue.findings[finding.type].words
        said = self.words.say(
            "calendar", "finding", grade=finding.grade, words=words, id=finding.id
        )
        return self._titled(said)

    def _titled(self, what: str) -> str:
        sample = self.words.say("calendar", "sample") if self.history.case.sample else ""
        return self.words.say("calendar", "summary", sample=sample, what=what)

    def _description(self, row: Due, rows: Sequence[Due], days: Sequence[date]) -> Iterator[str]:
        yield from self._about(row)
        if row.zones and row.task != FINDING:
            for due, day in zip(rows, days, strict=True):
                zones = say.sentence(say.listed(map(self._label, due.zones)))
                yield self.words.say("calendar", "zones", zones=zones, day=say.day(day))
        if row.ways:
            ways = ways_listed(row.ways)
            if row.unsafe is None:
                yield self.words.say("calendar", "ways", ways=ways)
            else:
                yield self.words.say("calendar", "unsafe", why=say.dated(row.unsafe), ways=ways)
        yield from row.cautions
        title = say.name(self.history.case.title)
        yield self.words.say("calendar", "from", title=title)
        yield self.catalogue.footer

    def _about(self, row: Due) -> Iterator[str]:
        finding = None if row.finding is None else self.standing.finding(row.finding)
        renewal = what_to_renew(self.history) if row.task == WITNESS else None
        rules = {rule.id: rule for _, rule in self.history.rules()}
        if finding is not None:
            yield self.words.say("calendar", "at", zone=self._label(finding.zone))
            remedy = self.catalogue.findings[finding.type].remedy
            yield self.words.say("calendar", "remedy", remedy=remedy)
        elif renewal is not None:
            yield self.words.say("calendar", "ends", day=say.day(renewal.ends))
        elif row.rule is not None and row.of is None:
            yield self.words.say("calendar", "every", days=rules[row.rule].days)
        if row.authority is not None and row.basis is not None and row.rule is not None:
            basis, authority = self.words.say("basis", row.basis), say.name(row.authority)
            yield self.words.say("calendar", "rule", authority=authority, basis=basis)

    def _label(self, zone_id: str) -> str:
        return say.name(self.history.place(zone_id).zone.label)

    def _gone(self) -> Iterator[Dated]:
        """What a file made earlier may still hold, and is due no more: done, or its rule ended.

        A file cannot know which were made before it, so each is struck out for good.
        """
        for finding in self.standing.findings:
            if finding.state != "open":
                key = f"{FINDING} {finding.id}"
                yield Dated(key, finding.act_by, self._finding(finding), done=True)
        for duty in self.standing.duties:
            key = f"duty {duty.rule} {duty.trigger}"
            yield Dated(key, duty.by, self._task(duty.task), done=True)
        for measured in self.standing.rules:
            rule = measured.rule
            if rule.applies_to is not None:
                ended = parse_day(rule.applies_to)
                yield Dated(f"rule {rule.id}", ended, self._task(rule.task), done=True)

    def _task(self, task: Task) -> str:
        return self._titled(self.catalogue.tasks[task].words)


def _key(row: Due) -> str:
    """What is due: it stays the same when its day moves."""
    if row.finding is not None:
        return f"{FINDING} {row.finding}"
    if row.task == WITNESS:
        return WITNESS
    return f"rule {row.rule}" if row.of is None else f"duty {row.rule} {row.of}"
