"""The measured record in sentences: first what is wrong, then what is due, then what is proved."""

from typing import TYPE_CHECKING

import click

from evidence.cli import common
from evidence.dossier import say
from evidence.dossier.describe import describe
from evidence.trade import load_catalogue
from evidence.upkeep import as_json as standing_json
from evidence.upkeep import what_is_due
from evidence.words import Grade

if TYPE_CHECKING:
    from evidence.upkeep import Item, Standing
    from evidence.upkeep.findings import FindingFacts
    from evidence.upkeep.incidents import IncidentFacts

_SOON = 6


def tell_standing(standing: "Standing") -> None:
    """The whole record for a person."""
    history = standing.history
    click.echo(click.style(f"{history.case.title}, {say.day(history.on)}", bold=True))
    _wrong(standing)
    _due(standing)
    _incidents(standing)
    _proved(standing)


def _wrong(standing: "Standing") -> None:
    common.heading("What is wrong")
    open_findings = [finding for finding in standing.findings if finding.state == "open"]
    said = [_finding_line(standing, finding) for finding in open_findings]
    for measured in standing.rules:
        worst = measured.worst
        if measured.rule.required and worst is not None and worst.over[1]:
            place = standing.history.place(worst.zone).zone.label
            over = say.counted(worst.over, "day")
            said.append(
                f"{measured.rule.id}: {over} over at {place}; on time: {measured.met_on_time}, "
                f"as stated: {measured.met_as_stated}."
            )
    said += [
        f"The photo's clock and the statement disagree ({say.entries([item.seq])})."
        for item in standing.history.items
        if item.conflict
    ]
    for text in said or ["Nothing that the record knows of."]:
        common.tell(text, indent=2)


def _finding_line(standing: "Standing", finding: "FindingFacts") -> str:
    words = load_catalogue().findings[finding.type].words
    label = standing.history.place(finding.zone).zone.label
    grade = load_catalogue().grades[Grade(finding.grade)].word
    opened = say.entries([finding.opened])
    days = say.counted(finding.days_open, "day")
    return f"{label}: {words}, grade {finding.grade} {grade}, open for {days} ({opened})."


def _due(standing: "Standing") -> None:
    common.heading("What is due")
    rows = what_is_due(standing, load_catalogue())
    for row in rows[:_SOON]:
        late = f", {say.counted(row.overdue, 'day')} over" if row.overdue[1] else ""
        common.tell(
            f"{say.day(row.by)}: {row.task.replace('-', ' ')}, {len(row.zones)} "
            f"{'zone' if len(row.zones) == 1 else 'zones'}{late}.",
            indent=2,
        )
    if len(rows) > _SOON:
        common.tell(f"And {len(rows) - _SOON} more: see `roof-evidence due`.", indent=2)
    if not rows:
        common.tell("Nothing.", indent=2)


def _incidents(standing: "Standing") -> None:
    for facts in standing.incidents:
        when = say.on_or_between(facts.window, standing.history.home)
        common.heading(f"Incident {facts.id}: {facts.incident.stated_cause}, as stated, {when}")
        _incident(standing, facts)


def _incident(standing: "Standing", facts: "IncidentFacts") -> None:
    for zone in facts.zones:
        label = standing.history.place(zone.zone).zone.label
        before = "not looked at"
        if zone.before is not None:
            days = say.counted(zone.before.days, "day")
            support = (zone.before.support or "").replace("-", " ")
            before = (
                f"{zone.before_state}, {days} before ({say.entries([zone.before.seq])}, {support})"
            )
        after = zone.after_state.replace("-", " ")
        if zone.after is not None:
            after += f" ({say.entries([zone.after.seq])})"
        common.tell(f"{label}. Before: {before}. After: {after}.", indent=2)
    if facts.covered is not None:
        minutes = say.counted(facts.covered.amount, "minute")
        common.tell(f"Covered after {minutes} ({say.entries([facts.covered.seq])}).", indent=2)
    if facts.notice is not None:
        days = say.counted(facts.notice.amount, "day")
        common.tell(f"Notice after {days} ({say.entries([facts.notice.seq])}).", indent=2)
    for finding_id, lag in facts.later:
        common.tell(f"Seen later: {finding_id}, after {say.counted(lag, 'day')}.", indent=2)


def _proved(standing: "Standing") -> None:
    history = standing.history
    common.heading("What is proved")
    counted = [answer for answer in history.vouched if answer.counts]
    if counted:
        widest = max(counted, key=lambda answer: answer.size)
        day = say.day(widest.time.astimezone(history.home).date())
        common.tell(
            f"An outsider answered for the first {widest.size} of {history.size} entries "
            f"on {day} ({widest.name}).",
            indent=2,
        )
    else:
        common.tell("Nobody but the owner vouches for any date here.", indent=2)
    for measured in standing.rules:
        common.tell(
            f"{measured.rule.id}: longest {say.counted(measured.longest, 'day')} of "
            f"{measured.rule.days}; on time: {measured.met_on_time}, as stated: "
            f"{measured.met_as_stated}.",
            indent=2,
        )
    common.tell(f"{history.size} entries, root {standing.root[:16]}….", indent=2)


def _touches(item: "Item", zone_id: str) -> bool:
    body = item.body
    zones = getattr(body, "zones", None)
    named = zones == "all" or getattr(body, "zone", None) == zone_id
    listed = zones if isinstance(zones, tuple) else ()
    in_zones = any(getattr(row, "zone", getattr(row, "id", row)) == zone_id for row in listed)
    pictured = any(picture.file.zone == zone_id for picture in item.pictures)
    findings = any(f.zone == zone_id for f in getattr(body, "findings", None) or ())
    return named or in_zones or pictured or findings


def _of_zone(standing: "Standing", zone_id: str) -> "list[Item]":
    items = [item for item in standing.history.items if _touches(item, zone_id)]
    return sorted(
        items,
        key=lambda item: (item.entry.logged if item.span is None else item.span.latest, item.seq),
    )


def zone_document(standing: "Standing", zone_id: str) -> dict[str, object]:
    """Entries, findings and pictures of one zone, in order of their time."""
    whole = standing_json(standing)
    items = _of_zone(standing, zone_id)
    place = standing.history.place(zone_id)
    entries = {row["seq"]: row for row in whole["entries"]}  # type: ignore[index,union-attr,call-overload]
    return {
        "zone": place.zone.model_dump(mode="json", exclude_none=True),
        "entries": [entries[item.seq] for item in items],
        "findings": [f for f in whole["findings"] if f["zone"] == zone_id],  # type: ignore[index,union-attr,call-overload]
        "pictures": [
            {
                "sha256": picture.file.sha256,
                "name": picture.file.model_dump(mode="json")["name"],
                "seq": item.seq,
                "role": picture.file.role,
                "capture": {
                    "rule": picture.capture.rule,
                    **(
                        {"earliest": None, "latest": None}
                        if picture.capture.span is None
                        else picture.capture.span.as_json()
                    ),
                    "relied_on": picture.capture.relied_on,
                    "why": picture.capture.why,
                },
            }
            for item in items
            for picture in item.pictures
            if picture.file.zone == zone_id
        ],
    }


def tell_zone(standing: "Standing", zone_id: str) -> None:
    """One place on the roof, in order of time."""
    history = standing.history
    place = history.place(zone_id)
    click.echo(click.style(f"{place.zone.label} ({zone_id}, {place.zone.type})", bold=True))
    for finding in standing.findings:
        if finding.zone == zone_id and finding.state == "open":
            common.tell(_finding_line(standing, finding))
    common.heading("In order")
    table = []
    for item in _of_zone(standing, zone_id):
        when = "" if item.span is None else say.short_span(item.span, history.home)
        pictures = sum(picture.file.zone == zone_id for picture in item.pictures)
        shown = f" [{pictures} pictures]" if pictures > 1 else " [1 picture]" if pictures else ""
        gone = f" (withdrawn by {say.entries([item.withdrawn_by])})" if item.withdrawn_by else ""
        text = describe(item, history, load_catalogue()) + shown + gone
        table.append((str(item.entry.number), when, text))
    common.rows(table)
