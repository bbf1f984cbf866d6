"""What an opposing reader will say of a claim, from the record itself."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from evidence.dossier import say
from evidence.dossier.describe import zone_names
from evidence.dossier.exhibits import file_name, of_zone
from evidence.dossier.wording import wording
from evidence.entries import Correction
from evidence.trade import Catalogue
from evidence.upkeep import Item, Standing
from evidence.upkeep.gaps import Gap, Met, RuleGaps
from evidence.upkeep.incidents import IncidentFacts, Look, ZoneUnderIncident
from evidence.upkeep.sealing import UNFIT
from evidence.upkeep.standing import logged_after
from evidence.words import RuleBasis, Task

_FEW_FILES = 4


@dataclass(frozen=True, slots=True)
class Weakness:
    """One weak point and the entries that it is about."""

    text: str
    cites: tuple[int, ...]


def weak_points(standing: Standing, facts: IncidentFacts, catalogue: Catalogue) -> list[Weakness]:
    """Every weak point of the kinds that are looked for, the gravest kinds first."""
    return _Opponent(standing, facts, catalogue).says()


class _Opponent:
    """One record, read by somebody who does not wish it well."""

    def __init__(self, standing: Standing, facts: IncidentFacts, catalogue: Catalogue) -> None:
        self.standing = standing
        self.history = standing.history
        self.facts = facts
        self.catalogue = catalogue

    def says(self) -> list[Weakness]:
        kinds: tuple[Callable[[], Iterator[Weakness]], ...] = (
            self._looks_before,
            self._stood_open,
            self._gaps,
            self._duties,
            self._entries,
            self._clocks,
            self._sealants,
            self._rules,
        )
        found = [weakness for kind in kinds for weakness in kind()]
        return found or [self._point("none")]

    def _point(self, key: str, *cites: int, **said: object) -> Weakness:
        return Weakness(wording("claim").say("weak", key, **said), cites)

    def _zone(self, zone_id: str) -> str:
        return zone_names([zone_id], self.history)

    # What was there before

    def _looks_before(self) -> Iterator[Weakness]:
        begins = self.facts.window.earliest
        vouched = begins is not None and any(
            answer.counts and answer.time <= begins for answer in self.history.vouched
        )
        if not vouched:
            yield self._point("nobody")
        for zone in self.facts.zones:
            label = self._zone(zone.zone)
            if zone.before is None:
                yield self._point("no_before", *zone.claimed_before, zone=label)
            else:
                yield from self._look_before(zone, zone.before, label, vouched=vouched)
            if zone.straddling:
                yield self._point("straddling", *zone.straddling, zone=label)

    def _look_before(
        self, zone: ZoneUnderIncident, look: Look, label: str, *, vouched: bool
    ) -> Iterator[Weakness]:
        if not of_zone(look.item, zone.zone):
            yield self._point("no_picture", look.seq, zone=label)
        if look.support == "own-clock-before" and vouched:
            yield self._point("own_clock", look.seq, zone=label)

    def _stood_open(self) -> Iterator[Weakness]:
        """What was to be mended by a day before the incident, and had not been."""
        begins = self.facts.window.earliest or self.facts.window.latest
        day = begins.astimezone(self.history.home).date()
        for finding in self.standing.findings:
            if finding.open_at(begins) and finding.act_by < day and finding.responsible is None:
                yield self._point(
                    "stood_open",
                    finding.opened,
                    words=self.catalogue.findings[finding.type].words,
                    zone=self._zone(finding.zone),
                    by=say.day(finding.act_by),
                )

    # How the rules were kept

    def _gaps(self) -> Iterator[Weakness]:
        for measured in (*self.standing.rules, *self.standing.superseded_rules):
            worst = measured.worst
            if not measured.rule.required or worst is None:
                continue
            over = [gap for gap in worst.gaps if gap.over[1]]
            yield from (self._gap(measured, gap) for gap in over)
            others = sum(1 for row in measured.zones if row.over[1] and row is not worst)
            if others:
                zones = say.counted((others, others), "zone")
                yield self._point("gap_elsewhere", zones=zones, rule=measured.rule.id)
            if measured.met_as_stated is Met.YES and measured.met_on_time is not Met.YES:
                yield self._point("not_on_time", measured.item.seq, rule=measured.rule.id)

    def _gap(self, measured: RuleGaps, gap: Gap) -> Weakness:
        words = wording("claim")
        point = self._point(
            "gap_open" if gap.open else "gap",
            *gap.deferrals,
            days=say.counted(gap.days, "day"),
            deed=words.say("deed", measured.rule.task),
            zone=self._zone(gap.zone),
            start=say.day(gap.from_),
            end=say.day(gap.to),
            over=say.counted(gap.over, "day"),
            rule=say.counted((measured.rule.days, measured.rule.days), "day"),
        )
        if not gap.deferrals:
            return point
        return Weakness(f"{point.text} {words.say('weak', 'deferral')}", point.cites)

    def _duties(self) -> Iterator[Weakness]:
        for duty in self.standing.duties:
            if Met.NO not in (duty.met, duty.met_on_time):
                continue
            done = () if duty.done is None else (duty.done,)
            key = "duty" if duty.met is Met.NO else "duty_late_log"
            words, by = self.catalogue.tasks[duty.task].words, say.day(duty.by_at_latest)
            yield self._point(key, duty.trigger, *done, words=words, by=by)

    def _rules(self) -> Iterator[Weakness]:
        for measured in self.standing.rules:
            rule, item = measured.rule, measured.item
            if rule.task is not Task.INSPECTION or not rule.required:
                continue
            if rule.basis is not RuleBasis.PAPER_ON_FILE:
                yield self._point("own_rule", item.seq, rule=rule.id)
            known = measured.ruled.known_from.astimezone(self.history.home).date()
            if known > measured.ruled.first_day:
                yield self._point(
                    "rule_later",
                    item.seq,
                    rule=rule.id,
                    known=say.day(known),
                    first=say.day(measured.ruled.first_day),
                )

    # How it was written down

    def _entries(self) -> Iterator[Weakness]:
        for item in self.history.items:
            yield from self._entry(item)

    def _entry(self, item: Item) -> Iterator[Weakness]:
        kind = item.entry.kind
        if item.span is not None and not item.within_24h and item.lag_days is not None:
            days = say.counted(item.lag_days, "day")
            yield self._point("late", item.seq, days=days, kind=kind)
        if self.facts.id in logged_after(item, self.standing.incidents):
            yield self._point("after", item.seq, kind=kind)
        if item.conflict:
            yield self._point("conflict", item.seq, kind=kind)
        if not self.history.in_bracket(item):
            yield self._point("clock", item.seq, kind=kind)
        if item.corrected_by:
            yield self._point("corrected", item.seq, *item.corrected_by, kind=kind)
        if item.withdrawn_by is not None and not isinstance(item.body, Correction):
            yield self._point("withdrawn", item.seq, item.withdrawn_by, kind=kind)

    def _clocks(self) -> Iterator[Weakness]:
        """Pictures whose camera wrote a time that cannot be relied on."""
        distrusted = [
            (item.seq, file_name(picture))
            for item, picture in self.history.pictures()
            if picture.file.camera is not None
            and picture.file.camera.DateTimeOriginal is not None
            and not picture.capture.relied_on
        ]
        if not distrusted:
            return
        names = [name for _, name in distrusted]
        shown = ", ".join(names[:_FEW_FILES])
        cites = dict.fromkeys(seq for seq, _ in distrusted)
        pictures = say.counted((len(names), len(names)), "picture")
        key = "unreliable" if len(names) <= _FEW_FILES else "unreliable_many"
        yield self._point(key, *cites, pictures=pictures, names=shown)

    def _sealants(self) -> Iterator[Weakness]:
        for row in self.standing.reseals:
            if row.fit == UNFIT:
                label = self._zone(row.zone)
                yield self._point("unfit", row.seq, family=row.family, zone=label)
