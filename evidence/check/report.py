"""What a check found, step by step, and its JSON (OUTPUTS § 3)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from pydantic import JsonValue

from evidence.check.comparison import Comparison, Relation
from evidence.check.pdf_signature import SignatureReport
from evidence.envelope import Entry
from evidence.steps import steps
from evidence.times import utc_text
from evidence.witness import Trust


class Found(StrEnum):
    """How one step ended. `named` is told and changes nothing; `not-checked` could not look."""

    OK = "ok"
    NAMED = "named"
    NOT_CHECKED = "not-checked"
    MISSING = "missing"
    CHANGED = "changed"


class Result(StrEnum):
    """The whole check; its exit code is the contract's."""

    UNCHANGED = "unchanged"
    INCOMPLETE = "incomplete"
    CHANGED = "changed"

    @property
    def exit_code(self) -> int:
        """0 unchanged, 3 something is missing, 4 something was changed."""
        return {Result.UNCHANGED: 0, Result.INCOMPLETE: 3, Result.CHANGED: 4}[self]


@dataclass(frozen=True, slots=True)
class StepReport:
    """One numbered step."""

    n: int
    found: Found
    detail: str

    @property
    def name(self) -> str:
        """The step's name, as everywhere."""
        return next(step.name for step in steps() if step.n == self.n)


@dataclass(frozen=True, slots=True)
class WitnessReport:
    """One outsider's answer; `trust` is None where it does not verify."""

    seq: int
    type: str
    size: int
    time: datetime
    name: str
    trust: Trust | None
    result: Found


@dataclass(frozen=True, slots=True)
class Originals:
    """The files that the record names, by what became of them (SHA-256 each).

    `unnamed` are the names of those that lie beside them, though no entry names them.
    """

    listed: int = 0
    present: int = 0
    left_out: int = 0
    missing: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    unnamed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ExcerptReport:
    """How much of a record an excerpt holds.

    Attributes:
        size: how many entries the record has.
        entries: how many of them are here.
        gaps: the kinds of which numbers are missing, with how many are here and the highest number
            that is; of every other kind none is left out ahead of the last one here.
    """

    size: int
    entries: int
    gaps: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    @property
    def withheld(self) -> int:
        """How many entries its sender withheld."""
        return self.size - self.entries


@dataclass(frozen=True, slots=True)
class PackReport:
    """What is said of a pack alone: `excerpt` where it is one."""

    excerpt: ExcerptReport | None
    figures_match: str

    def as_json(self) -> dict[str, JsonValue]:
        """The field `pack` of the document."""
        cut = self.excerpt
        excerpt: dict[str, JsonValue] | None = None
        if cut is not None:
            gaps: dict[str, JsonValue] = {
                kind: {"here": here, "highest": highest}
                for kind, (here, highest) in cut.gaps.items()
            }
            excerpt = {
                "size": cut.size,
                "entries": cut.entries,
                "withheld": cut.withheld,
                "gaps": gaps,
            }
        return {"excerpt": excerpt, "figures_match": self.figures_match}


@dataclass(frozen=True, slots=True)
class RecordReport:
    """Steps 1 to 8 over a record; `not_signed_by`: keys that the reader named and no head has.

    `known` are the entries as they were read, where steps 1 to 4 were reached.
    """

    steps: tuple[StepReport, ...]
    case_id: str = ""
    sample: bool = False
    entries: int = 0
    root: str = ""
    first_bad_seq: int | None = None
    heads: int = 0
    signed_by: tuple[str, ...] = ()
    bad_heads: tuple[str, ...] = ()
    not_signed_by: tuple[str, ...] = ()
    witnesses: tuple[WitnessReport, ...] = ()
    originals: Originals = field(default_factory=Originals)
    excerpt: ExcerptReport | None = None
    known: tuple[Entry, ...] = field(default=(), repr=False)
    lines: tuple[bytes, ...] = field(default=(), repr=False)
    notes: tuple[str, ...] = field(default=(), repr=False)


@dataclass(frozen=True, slots=True)
class Report:
    """A whole check."""

    target: str
    record: RecordReport
    steps: tuple[StepReport, ...]
    signature: SignatureReport | None = None
    figures_match: str | None = None
    earlier: Comparison | None = None
    pack: PackReport | None = None

    @property
    def result(self) -> Result:
        """Changed if any step found a change, or what was shown earlier is in it no more.

        Incomplete if something is missing.
        """
        found = {step.found for step in self.steps}
        if not self.holds or (self.earlier is not None and self.earlier.contradicts):
            return Result.CHANGED
        return Result.INCOMPLETE if Found.MISSING in found else Result.UNCHANGED

    @property
    def holds(self) -> bool:
        """Whether no step found a change: what it says of itself, without any earlier state."""
        return all(step.found is not Found.CHANGED for step in self.steps)

    @property
    def only_withheld(self) -> bool:
        """Whether nothing is wrong but that entries were withheld: it is an excerpt."""
        missing = [step.n for step in self.steps if step.found is Found.MISSING]
        return self.result is Result.INCOMPLETE and missing == [1]

    @property
    def of_another_key(self) -> bool:
        """Whether nothing is wrong but that a key which the reader named signed no head of it.

        Nothing of it was changed then: it is another case's record, or one made anew by a stranger,
        and from within nobody can tell which. The result stays `changed` (4) either way: whoever
        was told a key asked for its record, and a program must not take this one for it.
        """
        changed = [step.n for step in self.steps if step.found is Found.CHANGED]
        return changed == [4] and bool(self.record.not_signed_by) and not self.record.bad_heads

    @property
    def exit_code(self) -> int:
        """The result's own; 2 where the earlier state is one of another record.

        Nothing was changed then: the two do not belong together.
        """
        if self.earlier is not None and self.earlier.relation is Relation.UNRELATED:
            return 4 if self.result is Result.CHANGED else 2
        return self.result.exit_code

    @property
    def anchor(self) -> WitnessReport | None:
        """The outsider's answer that bounds the most entries, the trusted ones first."""
        verified = [row for row in self.record.witnesses if row.trust is not None]
        order = {Trust.TRUSTED: 2, Trust.SAMPLE: 1, Trust.UNTRUSTED: 0}
        return max(
            verified,
            key=lambda row: (order.get(row.trust, 0) if row.trust else 0, row.size),
            default=None,
        )


def as_json(report: Report) -> dict[str, JsonValue]:
    """The document of OUTPUTS § 3."""
    record, anchor, signature = report.record, report.anchor, report.signature
    return {
        "target": report.target,
        "sample": record.sample,
        "result": report.result,
        "anchored_to": None
        if anchor is None
        else {"time": utc_text(anchor.time), "size": anchor.size, "trust": anchor.trust},
        "steps": [
            {"n": step.n, "name": step.name, "result": step.found, "detail": step.detail}
            for step in report.steps
        ],
        "ledger": {
            "case_id": record.case_id,
            "entries": record.entries,
            "root": record.root,
            "first_bad_seq": record.first_bad_seq,
        },
        "heads": {
            "count": record.heads,
            "signed_by": list(record.signed_by),
            "bad": list(record.bad_heads),
            "not_signed_by": list(record.not_signed_by),
        },
        "witnesses": [
            {
                "type": row.type,
                "size": row.size,
                "time": utc_text(row.time),
                "name": row.name,
                "trust": row.trust,
                "result": row.result,
            }
            for row in record.witnesses
        ],
        "originals": {
            "listed": record.originals.listed,
            "present": record.originals.present,
            "left_out": record.originals.left_out,
            "missing": list(record.originals.missing),
            "changed": list(record.originals.changed),
            "unnamed": list(record.originals.unnamed),
        },
        "dossier": None if signature is None else _signature(signature, report.figures_match),
        "pack": None if report.pack is None else report.pack.as_json(),
        "earlier": None if report.earlier is None else report.earlier.as_json(),
    }


def _signature(signature: SignatureReport, figures_match: str | None) -> dict[str, JsonValue]:
    return {
        "signer": signature.signer,
        "intact": signature.intact,
        "covers_whole_file": signature.covers_whole_file,
        "level": signature.level,
        "time": None if signature.time is None else utc_text(signature.time),
        "later_changes": list(signature.later_changes),
        "figures_match": figures_match,
    }


def listed(items: Sequence[str], most: int = 3) -> str:
    """The first few of many, and how many more there are."""
    shown = "; ".join(items[:most])
    return shown if len(items) <= most else f"{shown}; and {len(items) - most} more"
