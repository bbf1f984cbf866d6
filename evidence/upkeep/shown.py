"""The standing as the JSON document of OUTPUTS § 2."""

from datetime import date, datetime
from functools import lru_cache

from pydantic import JsonValue

from evidence.times import Pair, utc_text
from evidence.upkeep.brackets import first_known, widest
from evidence.upkeep.carded import CardSeen, cards_seen
from evidence.upkeep.custody import Band
from evidence.upkeep.duties import Duty
from evidence.upkeep.findings import FindingFacts, Seen
from evidence.upkeep.gaps import Gap, RuleGaps, ZoneGaps
from evidence.upkeep.incidents import Counted, IncidentFacts, Look, ZoneUnderIncident
from evidence.upkeep.items import Item
from evidence.upkeep.papers import ClauseAnswer
from evidence.upkeep.readings import ReadingPoint, Series
from evidence.upkeep.sealing import ResealFit
from evidence.upkeep.standing import Standing, logged_after, support
from evidence.upkeep.vouched import Vouched

Json = dict[str, JsonValue]


def as_json(standing: Standing) -> Json:
    """The document of OUTPUTS § 2."""
    history = standing.history
    first, most = first_known(history), widest(history)
    return {
        "case": {
            "case_id": history.case.case_id,
            "title": history.case.title,
            "sample": history.case.sample,
            "entries": history.size,
            "head": {"size": history.size, "root": standing.root},
            "witnessed_up_to": None if most is None else _vouched(most),
            "first_witnessed": _moment(None if first is None else first.time),
            "places": history.places_by,
            "witnesses": [{"seq": a.seq, **_vouched(a), "trust": a.trust} for a in history.vouched],
        },
        "on": history.on.isoformat(),
        "rules": [_rule(rule) for rule in standing.rules],
        "superseded_rules": [_rule(rule) for rule in standing.superseded_rules],
        "duties": [_duty(duty) for duty in standing.duties],
        "missing_rules": list(standing.missing_rules),
        "findings": [_finding(finding) for finding in standing.findings],
        "incidents": [_incident(facts) for facts in standing.incidents],
        "reseals": [_reseal(row) for row in standing.reseals],
        "readings": [_series(series) for series in standing.readings],
        "clauses": [_clause(answer) for answer in standing.clauses],
        "entries": [_entry(item, standing) for item in history.items],
        "custody": [_band(band) for band in standing.custody],
        "cards": [card_json(seen) for seen in cards_seen(history)],
        "links": [
            {"copy": copy, "original": original, "seq": history.links.told_in[copy]}
            for copy, original in history.links.original_of.items()
        ],
    }


def _vouched(answer: Vouched) -> Json:
    return {"size": answer.size, "time": utc_text(answer.time)}


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else utc_text(moment)


_answered = lru_cache(_moment)
"""One outsider's answer stands behind many entries."""


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _pair(pair: Pair) -> list[JsonValue]:
    return [pair[0], pair[1]]


def _rule(measured: RuleGaps) -> Json:
    rule, worst = measured.rule, measured.worst
    return {
        "id": rule.id,
        "task": rule.task,
        "days": rule.days,
        "required": rule.required,
        "basis": rule.basis,
        "authority": rule.authority,
        "logged": utc_text(measured.item.entry.logged),
        "applies_from": rule.applies_from,
        "in_force": {
            "from": measured.ruled.first_day.isoformat(),
            "to": _day(measured.ruled.last_day),
        },
        "known_from": utc_text(measured.ruled.known_from),
        "gaps": [] if worst is None else [_gap(gap) for gap in worst.gaps],
        "longest": _pair(measured.longest),
        "met_as_stated": measured.met_as_stated,
        "met_on_time": measured.met_on_time,
        "last": _day(measured.last),
        "due": _day(measured.due),
        "zones": [_zone_row(row) for row in measured.zones],
    }


def _zone_row(row: ZoneGaps) -> Json:
    return {
        "zone": row.zone,
        "last": _day(row.last),
        "due": _day(row.due),
        "longest": _pair(row.longest),
    }


def _gap(gap: Gap) -> Json:
    return {
        "zone": gap.zone,
        "from": gap.from_.isoformat(),
        "to": gap.to.isoformat(),
        "days": _pair(gap.days),
        "over": _pair(gap.over),
        "open": gap.open,
        "deferrals": list(gap.deferrals),
        "means": gap.means,
    }


def _duty(duty: Duty) -> Json:
    return {
        "rule": duty.rule,
        "trigger": duty.trigger,
        "from": duty.from_.isoformat(),
        "by": duty.by.isoformat(),
        "done": duty.done,
        "days": _pair(duty.days),
        "met": duty.met,
        "met_on_time": duty.met_on_time,
        "missing": list(duty.missing),
    }


def _seen(seen: Seen | None) -> Json | None:
    return None if seen is None else {"seq": seen.seq, **seen.span.as_json()}


def _finding(facts: FindingFacts) -> Json:
    return {
        "id": facts.id,
        "zone": facts.zone,
        "type": facts.type,
        "grade": facts.grade,
        "state": facts.state,
        "opened": facts.opened,
        "settled": facts.settled,
        "at_delivery": facts.at_delivery,
        "responsible": facts.responsible,
        "promised": _day(facts.promised),
        "last_without": _seen(facts.last_without),
        "first_seen": _seen(facts.first_seen),
        "onset": {"earliest": _moment(facts.onset[0]), "latest": utc_text(facts.onset[1])},
        "days_open": _pair(facts.days_open),
        "act_by": _day(facts.act_by),
        "attribution": list(facts.attribution),
        "related": list(facts.related),
    }


def _counted(counted: Counted | None, unit: str) -> Json | None:
    return None if counted is None else {"seq": counted.seq, unit: _pair(counted.amount)}


def _incident(facts: IncidentFacts) -> Json:
    weather = facts.weather
    return {
        "id": facts.id,
        "stated_cause": facts.incident.stated_cause,
        "window": {**facts.window.as_json()},
        "zones": [_zone_under(zone) for zone in facts.zones],
        "covered": _counted(facts.covered, "minutes"),
        "notice": _counted(facts.notice, "days"),
        "last_routine_look": _counted(facts.last_routine_look, "days"),
        "first_look_after": _counted(facts.first_look_after, "days"),
        "rules": [
            {"rule": under.rule, "met": under.met, "over": _pair(under.over)}
            for under in facts.rules
        ],
        "later": [{"finding": finding, "days": _pair(days)} for finding, days in facts.later],
        "costs": dict(facts.costs),
        "weather": None
        if weather is None
        else {"status": weather.status, "recheck": weather.recheck},
    }


def _zone_under(zone: ZoneUnderIncident) -> Json:
    return {
        "zone": zone.zone,
        "before_state": zone.before_state,
        "after_state": zone.after_state,
        "before": _look(zone.before),
        "after": _look(zone.after),
        "open_before": list(zone.open_before),
        "found": list(zone.found),
        "claimed_before": list(zone.claimed_before),
        "straddling": list(zone.straddling),
        "changed_since": list(zone.changed_since),
    }


def _look(look: Look | None) -> Json | None:
    if look is None:
        return None
    shown: Json = {
        "seq": look.seq,
        "date": look.item.dates[0].isoformat(),
        "grade": look.grade,
        "days": _pair(look.days),
    }
    if look.support is not None:
        shown["support"] = look.support
    return shown


def _reseal(row: ResealFit) -> Json:
    return {
        "seq": row.seq,
        "zone": row.zone,
        "family": row.family,
        "surface": row.surface,
        "slope": row.slope,
        "fit": row.fit,
        "source": row.source,
    }


def _series(series: Series) -> Json:
    return {
        "zone": series.zone,
        "spot": series.spot,
        "series": [_point(point) for point in series.points],
    }


def _point(point: ReadingPoint) -> Json:
    return {
        "seq": point.seq,
        "date": point.date.isoformat(),
        "value": point.value,
        "reference": point.reference,
        "band": point.band,
        "scale": point.scale,
        "meter": point.meter,
    }


def _clause(answer: ClauseAnswer) -> Json:
    return {
        "paper": answer.paper,
        "ref": answer.ref,
        "rule": answer.rule,
        "answered_by": list(answer.answered_by),
        "met_as_stated": answer.met_as_stated,
        "met_on_time": answer.met_on_time,
    }


def _entry(item: Item, standing: Standing) -> Json:
    history, span, lag = standing.history, item.span, item.lag_days
    return {
        "seq": item.seq,
        "kind": item.entry.kind,
        "when": None if span is None else {**span.as_json(), "basis": span.basis},
        "conflict": item.conflict,
        "logged": utc_text(item.entry.logged),
        "lag_days": None if lag is None else _pair(lag),
        "timing": None if span is None else "within-24h" if item.within_24h else "late",
        "support": list(support(item, history)),
        "not_before": _answered(history.outsiders.not_before(item.seq)),
        "not_after": _answered(history.outsiders.not_after(item.seq)),
        "logged_after": list(logged_after(item, standing.incidents)),
        "corrected_by": list(item.corrected_by),
        "withdrawn_by": item.withdrawn_by,
    }


def card_json(seen: CardSeen) -> Json:
    """A card in a picture: what was read, and what follows from it."""
    return {
        "seq": seen.item.seq,
        "sha256": seen.picture.file.sha256,
        "answer": seen.card.answer,
        "read_by": seen.card.read_by,
        "zone": seen.card.zone,
        "state": seen.state,
        "not_before": _moment(seen.not_before),
        "newer_answers": seen.newer,
        "contradicted": seen.contradicted,
    }


def _band(band: Band) -> Json:
    return {
        "party": band.party,
        "from": band.from_.isoformat(),
        "to": _day(band.to),
        "record": band.record,
        "days": band.days,
    }
