import pytest

from evidence.check.report import Found
from evidence.check.sealed import sealed_step
from evidence.envelope import read_entry
from evidence.sealed_values import Revealed, Secret, revealed_bytes

SECRET = Secret(bytes(32), "K-20/311")


@pytest.fixture
def entries(handed, owner):
    """A record with two sealed numbers of papers, the last two entries."""
    for salt in (SECRET.salt, bytes([1]) * 32):
        sealed = {"sealed": Secret(salt, SECRET.value).sealed}
        body = {"type": "policy", "title": "Policy", "number": sealed}
        handed = handed.then("paper", body, owner)
    return tuple(read_entry(line) for line in handed.lines)


def row(entries, place: int, **changes: object) -> Revealed:
    salt = SECRET.salt if place == 0 else bytes([1]) * 32
    whole = Revealed(
        seq=len(entries) - 2 + place, field="number", salt=salt.hex(), value="K-20/311"
    )
    return whole.model_copy(update=changes)


def test_without_any_there_is_nothing_to_look_at(entries):
    step = sealed_step(entries[:-2], None)

    assert (step.found, step.detail) == (Found.OK, "the record holds no sealed value")


def test_what_stays_sealed_is_counted(entries):
    assert sealed_step(entries[:-1], None).detail == "1 value stays sealed; none was revealed"
    step = sealed_step(entries, None)
    assert (step.found, step.detail) == (
        Found.NOT_CHECKED, "2 values stay sealed; none was revealed",
    )  # fmt: skip


def test_a_value_that_was_revealed_is_proven_to_be_the_one_sealed(entries):
    step = sealed_step(entries, revealed_bytes([row(entries, 0)]))

    assert step.found is Found.OK
    assert step.detail == (
        "revealed and the very value that was sealed: entry 19, number; 1 value stays sealed"
    )
    both = sealed_step(entries, revealed_bytes([row(entries, 0), row(entries, 1)]))
    assert both.detail.endswith("entry 19, number; entry 20, number")


@pytest.mark.parametrize(
    "change", [{"value": "K-20/312"}, {"salt": "01" * 32}, {"field": "title"}, {"seq": 1}]
)
def test_one_that_is_another_is_a_change(entries, change):
    step = sealed_step(entries, revealed_bytes([row(entries, 0, **change)]))

    assert step.found is Found.CHANGED


def test_a_file_of_them_that_cannot_be_read_is_a_change(entries):
    step = sealed_step(entries, b"[{}]")

    assert (step.found, step.detail) == (
        Found.CHANGED, "revealed.json is no list of revealed values",
    )  # fmt: skip
