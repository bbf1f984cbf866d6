"""What a `key` entry may say next (RECORD § 4): no way in passes by the guards of the keys."""

import pytest

from evidence.errors import RefusedError
from evidence.ledger import Signer, origin_of
from evidence.ledger.vkeys import write_vkey
from evidence.witness.cosign import COSIGNATURE
from tests.scenarios.build import START, Told, build, starter, tell

ORIGIN = origin_of("0" * 32)
OWN = Signer.from_seed(ORIGIN, bytes(32)).verifier
PAPER = Signer.from_seed(ORIGIN, bytes([1]) * 32).verifier
FRIEND = write_vkey(
    "friend", COSIGNATURE, Signer.from_seed("x", bytes([2]) * 32).verifier.public_key
)


def key(vkey: str, event: str = "added", use: str = "log") -> Told:
    return tell("key", {"party": "owner", "event": event, "key": vkey, "use": use}, START)


FOUNDED = [key(OWN.vkey), key(PAPER.vkey), *starter()]


def refused(*told: Told) -> str:
    with pytest.raises(RefusedError) as caught:
        build([*FOUNDED, *told])
    return str(caught.value)


@pytest.mark.parametrize("event", ["lost", "retired", "replaced"])
def test_the_last_key_that_may_sign_cannot_be_taken_away(event: str):
    """An owner enters both keys as lost, one after the other: nobody could ever write again."""
    paper_gone = key(PAPER.vkey, event)
    build([*FOUNDED, paper_gone])
    answer = refused(paper_gone, key(OWN.vkey, event))
    assert "is the last one that may sign: nobody could ever write on" in answer


def test_a_successor_in_the_same_unit_makes_the_last_one_free_to_go():
    build([key(OWN.vkey), *starter(), key(PAPER.vkey), key(OWN.vkey, "replaced")])


def test_a_key_that_was_ended_twice_takes_nothing_away():
    """Retired, then found to be lost: both are worth saying."""
    build([*FOUNDED, key(PAPER.vkey, "retired"), key(PAPER.vkey, "lost")])


@pytest.mark.parametrize(
    ("vkey", "use", "why"),
    [
        ("foo", "log", "is not of the form"),
        ("foo", "cosign", "is not of the form"),
        (write_vkey(ORIGIN, b"\x01", bytes(32)), "log", "low order"),
        (write_vkey("anybody", COSIGNATURE, bytes(32)), "cosign", "low order"),
        (FRIEND, "log", "is not a key that signs heads (type 01"),
        (OWN.vkey, "cosign", "is not a cosigner's key (type 04"),
        (f"{OWN.vkey[:-4]}AAAA", "log", "an ID that is not its own"),
        (write_vkey("a b", COSIGNATURE, PAPER.public_key), "cosign", "holds a space"),
    ],
)
def test_what_is_no_key_of_its_use_is_not_added(vkey: str, use: str, why: str):
    assert why in refused(key(vkey, use=use))


def test_a_key_that_signs_heads_cosigns_none_under_whatever_name():
    own = write_vkey("a-friend", COSIGNATURE, OWN.public_key)
    assert "both signs the record's own heads and cosigns them" in refused(key(own, use="cosign"))
    gone = key(OWN.vkey, "retired")
    assert "both signs" in refused(gone, key(own, use="cosign"))


def test_a_cosigners_key_does_not_come_to_sign_heads():
    same = Signer.from_seed(ORIGIN, bytes([2]) * 32).verifier.vkey
    assert "both signs" in refused(key(FRIEND, use="cosign"), key(same))


def test_a_log_key_bears_the_name_of_this_case_and_is_added_once():
    other = Signer.from_seed(origin_of("1" * 32), bytes([3]) * 32).verifier.vkey
    assert "was made for another case" in refused(key(other))
    assert "stands in the record already" in refused(key(OWN.vkey))
    build([*FOUNDED, key(PAPER.vkey, "lost"), key(PAPER.vkey)])


@pytest.mark.parametrize("event", ["lost", "retired", "replaced"])
def test_a_key_that_was_never_added_for_its_use_has_no_end(event: str):
    assert "was never added with use=cosign" in refused(key(FRIEND, event, "cosign"))
    stranger = Signer.from_seed(ORIGIN, bytes([4]) * 32).verifier.vkey
    answer = refused(key(stranger, event))
    assert "was never added with use=log" in answer
    assert f"Standing: {OWN.key_id.hex()[:4]}-" in answer
