"""What may be written next: the checks that depend on the entries before (RECORD §§ 2-4).

Ids are unique within their type, whatever is referred to is known, and no stated time lies in the
future. A refused entry is answered with the field, what is wrong, and what is known.
"""

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime

from evidence import entries as e
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.shapes import Signature, Strict
from evidence.times import GRACE, Span, parse_utc, parse_when, utc_text, zone
from evidence.upkeep.corrections import UNCORRECTABLE, Corrections
from evidence.upkeep.history import Stay
from evidence.upkeep.keyed import admit_key
from evidence.upkeep.known import Known, unknown

_PLANNED = frozenset({"next_rain", "promised"})
"""Times that may lie ahead (RECORD § 3)."""

_TIMES: Mapping[type[Strict], tuple[str, ...]] = {
    e.Trip: ("out", "back"),
    e.Storage: ("from_", "to"),
    e.Ownership: ("from_",),
    e.Paper: ("dated",),
    e.Reseal: ("when", "last_wet"),
    Signature: ("at",),
}
"""The stated times of a model, where they are not `when` alone."""

_ENDS = frozenset({"back", "to"})
"""Times that a correction may add after the entry was logged."""


def admit(known: Known, entry: Entry, *, open_findings: Mapping[str, str] | None = None) -> None:
    """Refuse an entry that the record cannot take.

    Args:
        known: what stands before it.
        entry: the entry as it would be written.
        open_findings: findings open now with their zones, for a restated rig.

    Raises:
        RefusedError: naming the field.
    """
    _start(known, entry)
    _writer(known, entry)
    body = entry.body
    _own_ids(known, entry)
    _findings_once(known.ids["findings"], entry.kind, body)
    wider = known.with_own(body)
    wider.check(entry.kind, body)
    for file in entry.files:
        wider.check("files", file)
        _not_ahead(known, entry.logged, _stated_times("files", file))
    _not_ahead(known, entry.logged, _stated_times(entry.kind, body))
    if isinstance(body, Stay):
        _in_order(known, entry.kind, body)
    elif isinstance(body, e.Correction):
        _correction(known, entry, body, open_findings or {})
    elif isinstance(body, e.Label):
        _label(known, body)
    elif isinstance(body, e.End):
        _end(known, body)
    elif isinstance(body, e.Rig):
        _rig(known, body, open_findings or {})
    elif isinstance(body, e.Clock):
        _clock(known, entry.logged, body)
    elif isinstance(body, e.Key):
        admit_key(known.by_seq, body)


def _start(known: Known, entry: Entry) -> None:
    if isinstance(entry.body, e.Case) == bool(known.by_seq):
        raise RefusedError(f"kind {entry.kind!r}", "a record starts with its one case entry")


def _writer(known: Known, entry: Entry) -> None:
    """`by` is a party; in the unit that starts a record the party is still to come."""
    parties = known.ids["parties"]
    own = {entry.body.id} if isinstance(entry.body, e.Party) else set()
    if parties and entry.by not in parties | own:
        raise unknown("field 'by'", entry.by, parties)


def _own_ids(known: Known, entry: Entry) -> None:
    own = getattr(entry.body, "id", None)
    if not isinstance(own, str) or isinstance(entry.body, e.Rig | e.Rule | e.Party):
        return  # a rig, a rule and a party are stated again under their id
    under_way = isinstance(entry.body, Stay) and own in known.under_way
    if under_way or (entry.kind, own) in known.used:
        raise RefusedError(f"{entry.kind}: field 'id'", f"{own!r} is taken", "Choose another id.")


def _findings_once(taken: Collection[str], where: str, body: e.Body) -> None:
    seen = set(taken)
    for finding in (body.findings or ()) if isinstance(body, e.Deed) else ():
        if finding.id in seen:
            raise RefusedError(
                f"{where}: field 'findings'",
                f"{finding.id!r} is taken",
                "Use `rechecks` for a finding that was seen before.",
            )
        seen.add(finding.id)


# Times


def _span(known: Known, text: str) -> Span:
    return parse_when(text, zone(known.home or "UTC"))


def _stated_times(path: str, value: Strict) -> Iterator[tuple[str, str, str]]:
    """(where, field as written, text) of every stated time of a model and those within it."""
    for name, about in type(value).model_fields.items():
        given, written = getattr(value, name), about.alias or name
        if given is None or name in _PLANNED:
            continue
        if isinstance(given, tuple):
            for item in given:
                if isinstance(item, Strict):
                    yield from _stated_times(f"{path}.{written}", item)
        elif isinstance(given, str) and name in _TIMES.get(type(value), ("when",)):
            yield f"{path}: field {written!r}", written, given


def _not_ahead(known: Known, logged: datetime, times: Iterator[tuple[str, str, str]]) -> None:
    """No stated time lies more than ten minutes after the writer's clock."""
    for where, _, text in times:
        earliest = _span(known, text).earliest
        if earliest is not None and earliest > logged + GRACE:
            raise RefusedError(
                where,
                f"{text} lies ahead of the clock ({utc_text(logged)})",
                "Write what was done, not what is planned; or mend the clock.",
            )


def _in_order(known: Known, where: str, body: Stay) -> None:
    first, last = (body.out, body.back) if isinstance(body, e.Trip) else (body.from_, body.to)
    name = "back" if isinstance(body, e.Trip) else "to"
    if last is not None:
        _not_reversed(known, f"{where}: field {name!r}", first, last)


def _not_reversed(known: Known, where: str, first: str, last: str) -> None:
    began = _span(known, first).earliest
    if began is not None and _span(known, last).latest < began:
        raise RefusedError(
            where, f"{last} lies before its start, {first}", "Give the earlier time first."
        )


# Kinds


def _label(known: Known, body: e.Label) -> None:
    missing = [digest for digest in body.of if digest not in known.ids["files"]]
    if missing:
        raise RefusedError("label: field 'of'", f"no file {missing[0][:12]}… is in the record")
    if body.original_of in body.of:
        raise RefusedError(
            "label: field 'original_of'", "a file is not the original of itself", "Name its copy."
        )
    if body.original_of is not None and len(body.of) > 1:
        raise RefusedError(
            "label: field 'original_of'", "a copy has one original", "Name one file in 'of'."
        )
    if body.camera is not None:
        raise RefusedError(
            "label: field 'camera'", "a camera's tags are read from its file, nobody tells them"
        )
    if body.card is not None and body.card.read_by == "machine":
        raise RefusedError(
            "label: field 'card'", "what a machine reads is read on intake, nobody tells it"
        )


def _end(known: Known, body: e.End) -> None:
    opener = known.under_way.get(body.of)
    if opener is None:
        raise unknown("end: field 'of'", body.of, known.under_way.keys())
    stay = opener.body
    if isinstance(stay, Stay):
        first = stay.out if isinstance(stay, e.Trip) else stay.from_
        _not_reversed(known, "end: field 'when'", first, body.when)


def _clock(known: Known, logged: datetime, body: e.Clock) -> None:
    """Both ends of the jump are what they are: the step back stands in plain view."""
    was = utc_text(known.by_seq[-1].logged)
    if body.was != was:
        raise RefusedError(
            "clock: field 'was'",
            f"{body.was} is not where the record stands ({was})",
            "Leave it out: it is known.",
        )
    if abs(parse_utc(body.is_) - logged) > GRACE:
        raise RefusedError(
            "clock: field 'is'",
            f"{body.is_} is not what this clock says ({utc_text(logged)})",
            "Leave it out: it is known.",
        )


def _rig(known: Known, rig: e.Rig, open_findings: Mapping[str, str]) -> None:
    if known.rig is not None and rig.id != known.rig:
        raise RefusedError(
            "rig: field 'id'", f"this record is about the rig {known.rig!r}", "Start another case."
        )
    ids = [place.id for place in rig.zones]
    twice = next((name for name in ids if ids.count(name) > 1), None)
    if twice is not None:
        raise RefusedError("rig: field 'zones'", f"{twice!r} stands there twice")
    going_on = {place.id for place in rig.zones if place.until is None}
    for finding, zone_id in open_findings.items():
        if zone_id not in going_on:
            raise RefusedError(
                "rig: field 'zones'",
                f"{zone_id!r} has the open finding {finding!r} and cannot be dropped",
                "Settle the finding first, or keep the zone.",
            )


# Corrections


def _correction(
    known: Known, entry: Entry, body: e.Correction, open_findings: Mapping[str, str]
) -> None:
    if body.of >= len(known.by_seq):
        raise unknown("correction: field 'of'", body.of, range(len(known.by_seq)))
    target = known.by_seq[body.of]
    _correctable(known, target, body)
    fields = set(body.set or {})
    standing = Corrections([*known.by_seq, entry])
    while isinstance(target.body, e.Correction):  # what counts is what it makes of the first
        corrected = standing.body(target)
        fields |= set(corrected.set or {}) if isinstance(corrected, e.Correction) else set()
        target = known.by_seq[target.body.of]
    changed = standing.body(target)
    where = f"correction of entry {target.number}"
    known.with_own(changed, of_any_time=True).check(where, changed, only=fields)
    own = {f.id for f in target.body.findings or ()} if isinstance(target.body, e.Deed) else set()
    _findings_once(known.ids["findings"] - own, where, changed)
    for found in _stated_times(where, changed):
        # No deed lies after the entry that tells of it; a trip may end after it was written down.
        moment = entry.logged if found[1] in _ENDS else target.logged
        if found[1] in fields or found[0].startswith(f"{where}."):
            _not_ahead(known, moment, iter([found]))
    if isinstance(changed, Stay):
        _in_order(known, where, changed)
    if isinstance(changed, e.Rig):
        stated_since = any(isinstance(x.body, e.Rig) for x in known.by_seq[target.seq + 1 :])
        _rig(known, changed, {} if stated_since else open_findings)


def _correctable(known: Known, target: Entry, body: e.Correction) -> None:
    if target.kind == "handover":
        raise RefusedError(
            "correction: field 'of'",
            "a hand-over was signed by both sides",
            "Write a new hand-over that both sign.",
        )
    if target.kind in UNCORRECTABLE:
        raise RefusedError("correction: field 'of'", f"a {target.kind} entry is not corrected")
    fields = {about.alias or name for name, about in type(target.body).model_fields.items()}
    for name in body.set or {}:
        if name not in fields:
            raise RefusedError("correction: field 'set'", f"{target.kind} has no field {name!r}")
        if isinstance(target.body, e.Clock) and name in ("was", "is"):
            raise RefusedError("correction: field 'set'", f"{name!r} is what the clock said")
        if name == "id" or (name == "of" and isinstance(target.body, e.Correction | e.End)):
            raise RefusedError(
                "correction: field 'set'",
                f"{name!r} says what the entry is about and stays",
                "Withdraw the entry and write another.",
            )
    first_rig = next((x for x in known.by_seq if isinstance(x.body, e.Rig)), None)
    if body.withdraw and target is first_rig:
        raise RefusedError(
            "correction: field 'withdraw'",
            "without its first rig the record is about nothing",
            "Correct its fields, or state the rig again.",
        )
