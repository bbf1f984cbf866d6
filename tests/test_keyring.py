from collections.abc import Sequence

from evidence.entries import Case
from evidence.envelope import Entry, read_entry
from evidence.keyring import log_keys, may_sign
from evidence.ledger import Tip, seal
from evidence.ledger.log import Link

PHOTOS = ("photos", {})


def key(name: str, event: str = "added", use: str = "log") -> tuple[str, dict[str, str]]:
    return "key", {"party": "owner", "event": event, "key": name, "use": use}


def entries(*told: tuple[str, dict[str, str]]) -> Sequence[Entry]:
    case = ("case", {"case_id": "0" * 32, "title": "Wren", "sample": True})
    tip, read = Tip(), []
    for kind, body in (case, *told):
        line = seal(tip, kind, body, "owner", [], "2025-01-01T00:00:00Z")
        read.append(read_entry(line))
        tip = tip.after(Link.read(line))
    assert isinstance(read[0].body, Case)
    return read


def test_a_key_stands_from_its_entry_on_until_it_is_retired_replaced_or_lost():
    for end in ("retired", "replaced", "lost"):
        record = entries(key("a"), key("b"), PHOTOS, key("a", end))

        assert list(log_keys(record[:3])) == ["a", "b"]
        assert list(log_keys(record)) == ["b"]


def test_a_key_added_again_stands_again():
    assert list(log_keys(entries(key("a"), key("a", "lost"), key("a")))) == ["a"]


def test_the_end_of_a_key_that_never_stood_is_no_matter():
    assert log_keys(entries(key("a", "lost"))) == {}


def test_a_key_for_cosigning_is_no_log_key():
    assert log_keys(entries(key("a", use="cosign"))) == {}


def test_the_keys_before_anything_else_may_sign_the_first_head():
    assert list(may_sign(entries(key("a"), key("b"), PHOTOS), 0)) == ["a", "b"]


def test_a_key_behind_anything_else_may_not_sign_until_a_head_holds_it():
    record = entries(key("a"), PHOTOS, key("b"), PHOTOS)

    assert list(may_sign(record, 0)) == ["a"]
    assert list(may_sign(record, 3)) == ["a"]
    assert list(may_sign(record, 4)) == ["a", "b"]


def test_a_key_signs_the_head_over_its_own_end_and_none_after():
    record = entries(key("a"), PHOTOS, key("a", "retired"), PHOTOS)

    assert list(may_sign(record, 3)) == ["a"]
    assert list(may_sign(record, 4)) == []
