"""Cards in pictures: a "not before" beside the capture interval, never in it."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from evidence.upkeep import as_json, read_history
from evidence.upkeep.carded import CardState, card_seen, cards_seen, count_dated
from evidence.witness import Trust
from tests.scenarios.build import ROOT, Told, build, history, look, measured, photo, starter, tell

OLD, NEW, STRANGE = "0a" * 32, "0b" * 32, "0c" * 32


def answer(digest: str, time: str, size: int = 3) -> Told:
    body = {"type": "rfc3161", "size": size, "root": ROOT, "time": time, "name": "Sample"}
    file = {"sha256": digest, "bytes": 9, "type": "application/timestamp-reply", "name": "a.tsr"}
    return tell("witness", body, time, files=[file])


def carded(digest: str, taken: str | None = "2025:05:30 12:10:31", **more: str) -> Told:
    """A look with one picture in which a card is read."""
    card = {"answer": digest, "read_by": more.get("read_by", "machine")}
    file = photo(taken, offset="-05:00", zone="skylight", role="close", name="a.jpg", card=card)
    return look("2025-05-30", files=[file])


ANSWERS = (answer(OLD, "2025-03-02T12:00:00Z"), answer(NEW, "2025-05-02T18:23:41Z"))


def only(*told: Told):
    (seen,) = cards_seen(history(told, "2025-11-03"))
    return seen


def test_a_picture_was_taken_after_the_answer_that_its_card_shows():
    seen = only(*ANSWERS, carded(NEW))
    assert seen.state is CardState.COUNTS
    assert seen.not_before == datetime(2025, 5, 2, 18, 23, 41, tzinfo=UTC)
    assert (seen.newer, seen.contradicted) == (0, False)


def test_the_capture_interval_and_the_effective_time_are_not_touched_by_a_card():
    plain = measured([*ANSWERS, carded(NEW)], "2025-11-03")
    told = [*ANSWERS, carded(STRANGE)]
    for other in (measured(told, "2025-11-03"),):
        for mine, theirs in zip(plain.history.items, other.history.items, strict=True):
            assert mine.span == theirs.span
            assert [p.capture for p in mine.pictures] == [p.capture for p in theirs.pictures]


def test_an_old_card_shows_no_more_than_that_the_picture_is_younger_than_the_old_answer():
    seen = only(*ANSWERS, carded(OLD))
    assert seen.not_before == datetime(2025, 3, 2, 12, tzinfo=UTC)
    assert seen.newer == 1


def test_a_card_with_an_answer_that_the_record_does_not_hold_is_not_relied_on():
    seen = only(*ANSWERS, carded(STRANGE))
    assert (seen.state, seen.not_before, seen.named_by) == (CardState.UNKNOWN, None, None)
    assert not seen.contradicted


@pytest.mark.parametrize(
    ("trust", "state"),
    [
        ({}, CardState.UNVERIFIED),
        (Trust.UNTRUSTED, CardState.UNTRUSTED),
        (Trust.TRUSTED, CardState.COUNTS),
        (Trust.SAMPLE, CardState.COUNTS),
    ],
)
def test_only_an_answer_that_counts_bounds_a_picture(trust, state):
    entries = build([*starter(), *ANSWERS, carded(NEW)])
    seqs = [entry.seq for entry in entries if entry.kind == "witness"]
    given = dict.fromkeys(seqs, trust) if trust else {}
    (seen,) = cards_seen(read_history(entries, on=date(2025, 11, 3), trust=given))
    assert seen.state is state
    assert (seen.not_before is None) is (state is not CardState.COUNTS)
    assert seen.named_by == seqs[-1]


def test_a_camera_whose_clock_lies_wholly_before_the_answer_is_contradicted():
    assert only(*ANSWERS, carded(NEW, "2025:04:30 12:10:31")).contradicted
    # local 13:23:41 at -05:00 is the second of the answer itself
    assert not only(*ANSWERS, carded(NEW, "2025:05:02 13:23:41")).contradicted
    assert only(*ANSWERS, carded(NEW, "2025:05:02 13:23:40")).contradicted


def test_without_a_camera_clock_the_writers_clock_is_compared():
    assert not only(*ANSWERS, carded(NEW, None)).contradicted
    late = answer(NEW, "2025-06-02T12:00:00Z")
    early = [look("2025-05-30", files=carded(NEW, None)["files"]), late]
    assert only(ANSWERS[0], *early).contradicted


def test_a_contradiction_is_said_of_an_answer_that_nobody_trusts_too():
    entries = build([*starter(), *ANSWERS, carded(NEW, "2025:04:30 12:10:31")])
    trust = {entry.seq: Trust.UNTRUSTED for entry in entries if entry.kind == "witness"}
    (seen,) = cards_seen(read_history(entries, on=date(2025, 11, 3), trust=trust))
    assert (seen.contradicted, seen.not_before) == (True, None)


def test_a_picture_without_a_card_has_none_and_a_withdrawn_entrys_is_left_out():
    bare = look("2025-05-30", files=[photo("2025:05:30 12:10:31")])
    plain = history([*ANSWERS, bare], "2025-11-03")
    (item, picture) = next(plain.pictures())
    assert [seen for seen in (card_seen(plain, item, picture),) if seen] == []
    gone = tell("correction", {"of": 8, "withdraw": True, "why": "w"}, "2025-06-01T12:00:00Z")
    whole = [*ANSWERS, carded(NEW), gone]
    assert build([*starter(), *whole])[8].kind == "inspection"
    assert list(cards_seen(history(whole, "2025-11-03"))) == []


def test_what_a_person_reads_on_a_card_is_told_as_his_reading():
    label = tell(
        "label",
        {"of": [photo(None, name="a.jpg")["sha256"]],
         "card": {"answer": NEW, "read_by": "person"}},
        "2025-06-01T12:00:00Z",
    )  # fmt: skip
    bare = look("2025-05-30", files=[photo("2025:05:30 12:10:31", name="a.jpg")])
    seen = only(*ANSWERS, bare, label)
    assert (seen.card.read_by, seen.state) == ("person", CardState.COUNTS)


def test_a_card_stands_in_the_json():
    (row,) = as_json(measured([*ANSWERS, carded(OLD)], "2025-11-03"))["cards"]
    assert row == {
        "seq": 8,
        "sha256": photo(None, name="a.jpg")["sha256"],
        "answer": OLD,
        "read_by": "machine",
        "zone": None,
        "state": "counts",
        "not_before": "2025-03-02T12:00:00Z",
        "newer_answers": 1,
        "contradicted": False,
    }


def test_on_a_day_before_the_answer_was_entered_the_card_is_unknown():
    seen = only(*ANSWERS, carded(NEW))
    earlier = history([carded(NEW), answer(NEW, "2025-06-02T12:00:00Z")], "2025-05-31")
    assert seen.state is CardState.COUNTS
    assert [card.state for card in cards_seen(earlier)] == [CardState.UNKNOWN]
    assert replace(seen, answer=None).not_before is None


def test_a_picture_in_two_entries_counts_once_and_so_does_a_copy_with_its_original():
    told = [*ANSWERS, carded(NEW), carded(NEW)]
    assert count_dated(history(told, "2025-11-03")) == 1
    card = {"answer": NEW, "read_by": "machine"}
    copy = photo(None, name="copy.jpg", via="messenger", card=card)
    told.append(tell("photos", {}, "2025-06-10T12:00:00Z", files=[copy]))
    assert count_dated(history(told, "2025-11-03")) == 2
    original = photo("2025:05:30 12:10:31", offset="-05:00", name="a.jpg")
    label = {"of": [original["sha256"]], "original_of": copy["sha256"]}
    told.append(tell("label", label, "2025-06-10T12:00:00Z"))
    assert count_dated(history(told, "2025-11-03")) == 1
