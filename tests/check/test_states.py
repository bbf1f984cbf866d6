"""Any two states of any two copies of a record: how they stand to each other."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.check.comparison import Relation
from evidence.check.earlier import SeenRecord, compare, seen_heads
from evidence.check.record import check_record
from tests.check.test_earlier import NOTE
from tests.tampering import head_over

OWN, OTHER = "written here", "written there"


@settings(max_examples=40, suppress_health_check=list(HealthCheck), deadline=None)
@given(common=st.integers(0, 3), here=st.integers(0, 3), there=st.integers(0, 3))
def test_two_copies_that_were_written_on(handed, owner, common, here, there):
    """So many entries in common beyond the record, then so many of each copy's own."""
    shared = handed
    for number in range(common):
        shared = shared.then("photos", {"note": f"before, {number}"}, owner)
    new, old = shared, shared
    for number in range(here):
        new = new.then("photos", {"note": f"{OWN}, {number}"}, owner)
    for number in range(there):
        old = old.then("photos", {"note": f"{OTHER}, {number}"}, owner)
    report = check_record(new)
    whole = compare(report, SeenRecord("case", report.case_id, old.lines))
    by_head = compare(report, seen_heads(NOTE, head_over(old.lines, owner).encode()))
    by_heads = compare(report, seen_heads(NOTE, "".join(f"{n}\n" for n in old.heads).encode()))

    size = len(shared.lines)
    expected = Relation.FORKS if here and there else Relation.SHORTENED
    expected = expected if there else Relation.EXTENDS
    assert whole.relation is by_heads.relation is expected
    if expected is Relation.FORKS:
        assert whole.fork == by_heads.fork == (size, size)
        # A head over more than is here cannot be compared with what is here.
        assert by_head.relation is (Relation.FORKS if there <= here else Relation.SHORTENED)
    else:
        assert by_head.relation is expected
    if expected is Relation.EXTENDS:
        assert [row.seq for row in whole.added] == list(range(size, size + here))
        assert by_head.added == whole.added
