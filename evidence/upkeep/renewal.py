"""When the record wants a new outsider's answer: before a certificate in it ends.

An answer can be checked to the full while the certificate that signed it holds. A later answer over
a head that holds it takes it along (time-stamp renewal, RFC 4998 § 5), and only has to be given
while the old one can still be checked.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from evidence.upkeep.history import History
from evidence.upkeep.vouched import Vouched

LEAD_DAYS = 180
"""How long before the end a new answer is proposed: longer than a winter's storage, in which
nobody may look at a record, and long enough to find another authority. The count is ours."""


@dataclass(frozen=True, slots=True)
class Renewal:
    """The answer that ends first among those that no later one takes along.

    Attributes:
        answer: the answer.
        by: the day by which a new one is proposed.
        ends: the last day at home on which its certificate holds.
    """

    answer: Vouched
    by: date
    ends: date


def what_to_renew(history: History) -> Renewal | None:
    """The re-witnessing that the record wants first; None where no trusted answer ever ends.

    An answer whose certificate lives less than twice `LEAD_DAYS` from the answer on is proposed for
    renewal at half that time: sooner would ask for a new one on the day of the old one.
    """
    standing = sorted(_standing(history), key=lambda row: (row[0], -row[1].seq))
    if not standing:
        return None
    ends_at, answer = standing[0]
    ends = ends_at.astimezone(history.home).date()
    given = answer.time.astimezone(history.home).date()
    lead = min(LEAD_DAYS, (ends - given).days // 2)
    return Renewal(answer, ends - timedelta(days=lead), ends)


def _standing(history: History) -> Iterator[tuple[datetime, Vouched]]:
    """The answers that count and end, but for those that a later one takes further."""
    dated = [
        (answer.certificate_ends, answer)
        for answer in history.vouched
        if answer.counts and answer.certificate_ends is not None
    ]
    for ends, answer in dated:
        taken = any(later.size > answer.seq and end > ends for end, later in dated)
        if not taken:
            yield ends, answer
