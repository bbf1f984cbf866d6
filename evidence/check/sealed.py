"""Step 8: each value that was revealed is the one that the record sealed (RECORD § 7)."""

from collections.abc import Sequence

from evidence.check.report import Found, StepReport, listed
from evidence.envelope import Entry
from evidence.errors import ChangedError
from evidence.sealed_values import misfits, read_revealed, sealed_fields

NONE_SEALED = "the record holds no sealed value"


def sealed_step(entries: Sequence[Entry], revealed: bytes | None) -> StepReport:
    """Step 8.

    Args:
        entries: the record.
        revealed: `revealed.json`, where it came with the record.
    """
    known = sealed_fields(entries)
    if revealed is None:
        if not known:
            return StepReport(8, Found.OK, NONE_SEALED)
        return StepReport(8, Found.NOT_CHECKED, f"{_stay(len(known))}; none was revealed")
    try:
        rows = read_revealed(revealed)
    except ChangedError as error:
        return StepReport(8, Found.CHANGED, f"{error.what} {error.why}")
    wrong = misfits(rows, known)
    if wrong:
        return StepReport(8, Found.CHANGED, listed(wrong))
    left = len(known) - len(rows)
    places = listed([f"entry {row.seq + 1}, {row.field}" for row in rows])
    said = f"revealed and the very value that was sealed: {places or 'none'}"
    return StepReport(8, Found.OK, f"{said}; {_stay(left)}" if left else said)


def _stay(count: int) -> str:
    return "1 value stays sealed" if count == 1 else f"{count} values stay sealed"
