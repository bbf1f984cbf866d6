"""Places that nobody steps on: an open finding there says to keep off (TRADE § 4, D17)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.history import History


@dataclass(frozen=True, slots=True)
class KeepOff:
    """A zone to keep off.

    Attributes:
        finding: the id of the open finding that says so.
        against: what speaks against a climb there.
        caution: the sentence that is read first.
    """

    finding: str
    against: str
    caution: str


def kept_off(
    history: History, findings: Sequence[FindingFacts], catalogue: Catalogue
) -> Mapping[str, KeepOff]:
    """The zones of the roof to keep off, by id, each by its gravest open finding of that kind."""
    found: dict[str, KeepOff] = {}
    for facts in sorted(findings, key=lambda facts: (-facts.grade, facts.opened)):
        row, place = catalogue.findings[facts.type], history.place(facts.zone)
        if facts.state == "open" and row.keep_off is not None and place.on_roof:
            seen = f"{row.words}, entry {facts.first_seen.seq + 1}"
            said = KeepOff(
                finding=facts.id,
                against=f"keep off {place.zone.label} ({seen})",
                caution=f"Keep off {place.zone.label} ({seen}). {row.keep_off.text}",
            )
            found.setdefault(facts.zone, said)
    return found
