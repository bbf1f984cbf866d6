"""`enter` halts before an entry that takes away what can still be seen of an incident.

Where it is written all the same, the warning stands in a `photos` entry ahead of it, in the same
unit and under the same head. Wash, reseal and custody have no free text, so this alone is one way
for all the kinds; and the warning then stands before the deed, as it was shown.
"""

import json
import unicodedata
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from evidence.cli import common
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Draft, Record
    from evidence.envelope import Entry
    from evidence.upkeep import History
    from evidence.upkeep.preserving import AtRisk
    from evidence.words import FileRole

KINDS = frozenset({"wash", "reseal", "repair", "custody"})
"""The kinds that can take something away."""

_FEW = 3


def heed(record: "Record", draft: "Draft", *, despite: bool) -> "tuple[Draft, ...]":
    """What is to be written: the entry, behind the warning that was set aside for it.

    Args:
        record: the case.
        draft: the entry.
        despite: whether it is to be written all the same.

    Raises:
        RefusedError: it would take away what is not pictured yet, and `despite` was not given.
    """
    if draft.kind not in KINDS:
        return (draft,)
    from evidence.case import Draft
    from evidence.dossier.wording import wording
    from evidence.envelope import read_body
    from evidence.trade import load_catalogue
    from evidence.upkeep.preserving import WARNED, what_is_at_risk

    # A body is put into normal form when it is written; what is weighed is what would stand there.
    text = unicodedata.normalize("NFC", json.dumps(dict(draft.body), ensure_ascii=False))
    history = record.history(record.today())
    risks = what_is_at_risk(history, load_catalogue(), read_body(draft.kind, json.loads(text)))
    if not risks:
        return (draft,)
    words = wording("preserving")
    warning = RefusedError(draft.kind, *_lines(history, risks))
    if not despite:
        raise RefusedError(
            draft.kind, warning.why, f"{warning.what_to_do}\n{words.say('preserving', 'instead')}"
        )
    told = f"{warning.what}: {warning.why}. {warning.what_to_do}"
    note = words.say("preserving", "note", warned=WARNED, warning=told)
    return Draft("photos", {"note": note}, draft.by), draft


def tell_kept(entries: "Sequence[Entry]") -> None:
    """Say which entry keeps the warning, where one was shown."""
    from evidence.dossier.wording import wording

    for entry in entries:
        common.tell(wording("preserving").say("preserving", "written", number=entry.number))


def _lines(history: "History", risks: "Sequence[AtRisk]") -> tuple[str, str]:
    """What the entry takes away, and what is missing first."""
    from evidence.dossier import say
    from evidence.dossier.wording import wording

    words = wording("preserving")
    lost: dict[str, list[str]] = {}
    for risk in risks:
        lost.setdefault(risk.lost, []).append(risk.incident)
    takes = "; ".join(
        words.say("takes", kind, incidents=say.listed(_few(names))) for kind, names in lost.items()
    )
    missing = "; ".join(_missing(history, risks))
    return takes, words.say("preserving", "missing", missing=missing)


def _few(names: "Sequence[str]") -> "Sequence[str]":
    """The names of a few; of many the first, and how many more."""
    return names if len(names) <= _FEW else [*names[: _FEW - 1], f"{len(names) - 2} more"]


def _missing(history: "History", risks: "Sequence[AtRisk]") -> Iterator[str]:
    from evidence.dossier import say
    from evidence.dossier.wording import wording

    words = wording("preserving")
    zones: dict[str, list[FileRole]] = {}
    for row in (row for risk in risks for row in risk.zones):
        roles = zones.setdefault(row.zone, [])
        roles += [role for role in row.roles if role not in roles]
    for zone_id, roles in list(zones.items())[:_FEW]:
        name = say.name(history.place(zone_id).zone.label)
        yield words.say("preserving", "zone", zone=name, roles=_roles(roles))
    if len(zones) > _FEW:
        more = len(zones) - _FEW
        yield words.say("preserving", "zones_more", count=say.counted((more, more), "zone"))
    if any(risk.spatter for risk in risks):
        yield words.say("preserving", "spatter")
    part = list(dict.fromkeys(role for risk in risks for role in risk.part))
    if part:
        yield words.say("preserving", "part", roles=_roles(part))
    if any(risk.adjuster for risk in risks):
        yield words.say("preserving", "adjuster")


def _roles(roles: "Sequence[FileRole]") -> str:
    from evidence.dossier import say
    from evidence.dossier.wording import wording

    return say.listed(wording("preserving").say("shot", role) for role in roles)
