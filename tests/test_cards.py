"""Cards on intake: what is read, what is taken from it, what is refused."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
import segno

from evidence.cards import cards_in, newest_answer, next_card
from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.errors import RefusedError
from evidence.intake import take_in
from evidence.keeping import FileDraft
from evidence.ledger import Signer
from evidence.upkeep.carded import CardState
from tests.carding import face, laid, photo, printed_for, saved, stranger
from tests.making import ZONES, picture
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)
TAKEN = "2025:08:30 09:00:00"


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


@pytest.fixture
def signer(case: Path) -> Signer:
    return owner_of(case)


def answers(record: Record) -> list[str]:
    return [entry.files[0].sha256 for entry in record.entries if entry.kind == "witness"]


def handed(record: Record, signer: Signer, *paths: Path, **more: bool):
    return take_in(record, paths, "owner", signer, clock=lambda: AUTUMN, **more)


def only(found):
    (picture,) = found.sealed
    return picture.file.card


def test_the_next_card_carries_the_newest_answer_that_verifies(record):
    card, answer = next_card(record, "vent-1")
    assert (card.answer, card.case_id, card.zone) == (
        answers(record)[-1], record.case.case_id, "vent-1",
    )  # fmt: skip
    assert answer.name.startswith("Sample")
    record.original(answers(record)[-1]).write_bytes(b"no answer")
    assert newest_answer(record).sha256 == answers(record)[-2]


def test_without_an_answer_that_verifies_there_is_no_card(record):
    for digest in answers(record):
        record.original(digest).unlink()
    with pytest.raises(RefusedError, match="needs an outsider's answer") as refused:
        next_card(record)
    assert "roof-evidence witness" in str(refused.value)
    assert refused.value.exit_code == 2


def test_a_folder_with_a_picture_of_a_card_is_taken_in_and_the_card_read(record, signer, tmp_path):
    picture(tmp_path / "DCIM" / "a.jpg", TAKEN, "-05:00", 10)
    photo(record, tmp_path / "DCIM" / "b.jpg", TAKEN, "skylight-1")
    (tmp_path / "DCIM" / "notes.txt").write_text("CARD1/ in a text")
    found = handed(record, signer, tmp_path / "DCIM")

    cards = {str(p.file.name): p.file.card for p in found.sealed}
    assert cards["a.jpg"] is cards["notes.txt"] is None
    assert cards["b.jpg"].model_dump() == {
        "answer": answers(record)[-1], "read_by": "machine", "zone": "skylight-1",
    }  # fmt: skip
    (seen,) = cards_in(record, {p.file.sha256 for p in found.sealed})
    assert (seen.state, seen.contradicted) == (CardState.COUNTS, False)
    assert check_path(record.folder).result == "unchanged"


def test_the_zone_of_a_card_names_the_visit(record, signer, tmp_path):
    found = handed(record, signer, photo(record, tmp_path / "a.jpg", TAKEN, "vent-1"))
    assert [visit.zone for visit in found.visits] == ["vent-1"]


def test_an_entry_with_a_photo_reads_its_card_too(record, signer, tmp_path):
    path = photo(record, tmp_path / "a.jpg", TAKEN)
    draft = Draft("photos", {}, "owner", (FileDraft(path, {"role": "card"}),))
    (entry,) = record.write([draft], signer, clock=lambda: AUTUMN).entries
    assert entry.files[0].card.answer == answers(record)[-1]
    assert entry.files[0].card.zone is None


def test_a_replayed_card_shows_the_old_answer_and_nothing_newer(record, signer, tmp_path):
    """An old card of this very case is photographed today.

    Whoever keeps the first card and lays it down years later has a picture that is younger than
    the first answer. It does not become a picture of then, nor one of today.
    """
    old = answers(record)[0]
    found = handed(record, signer, photo(record, tmp_path / "a.jpg", TAKEN, answer=old))
    (seen,) = cards_in(record, {found.sealed[0].file.sha256})
    assert seen.not_before == datetime(2025, 3, 7, 17, 31, tzinfo=UTC)
    assert seen.newer == 2


def test_a_backdated_picture_is_named_by_the_card_in_it(record, signer, tmp_path):
    """A camera is set back to May, and the card of June lies in the picture."""
    found = handed(record, signer, photo(record, tmp_path / "a.jpg", "2025:05:01 09:00:00"))
    (seen,) = cards_in(record, {found.sealed[0].file.sha256})
    assert seen.contradicted


def test_the_card_of_another_case_is_kept_as_unknown_and_its_zone_is_nobodys_word(
    record, signer, tmp_path
):
    card = stranger(zone="skylight-1")
    path = photo(record, tmp_path / "a.jpg", TAKEN, "vent-1", answer=card.answer,
                 case_id=card.case_id)  # fmt: skip
    assert handed(record, signer, path).sealed == ()
    found = handed(record, signer, path, despite_cards=True)
    assert only(found).model_dump() == {
        "answer": card.answer, "read_by": "machine", "zone": None,
    }  # fmt: skip
    (seen,) = cards_in(record, {found.sealed[0].file.sha256})
    assert (seen.state, seen.not_before) == (CardState.UNKNOWN, None)


def test_a_zone_that_the_rig_does_not_have_stops_no_intake(record, signer, tmp_path):
    """A stranger's code must not be able to refuse somebody's pictures."""
    from dataclasses import replace

    print_ = printed_for(record, "vent-1")
    odd = replace(print_, card=replace(print_.card, zone="attic"))
    found = handed(record, signer, saved(laid(face(odd)), tmp_path / "a.jpg", TAKEN))
    assert only(found).zone is None
    assert "attic" not in [zone["id"] for zone in ZONES]


def test_of_two_cards_the_one_with_the_newest_known_answer_is_taken(record, signer, tmp_path):
    from PIL import Image

    both = Image.new("L", (1700, 1300), 128)
    digests = (answers(record)[0], answers(record)[2], "ab" * 32)
    for at, digest in enumerate(digests):
        one = face(printed_for(record, answer=digest)).resize((756, 546))
        both.paste(one, (40 + at % 2 * 830, 60 + at // 2 * 620))
    found = handed(record, signer, saved(both, tmp_path / "a.jpg", TAKEN))
    assert only(found).answer == digests[1]


@pytest.mark.parametrize("text", ["CARD1/", "CARD1/" + "A" * 79, "https://example.org/CARD1/"])
def test_a_code_that_only_looks_like_a_card_is_none(record, signer, tmp_path, text):
    segno.make(text, micro=False).save(str(tmp_path / "a.png"), scale=6)
    assert only(handed(record, signer, tmp_path / "a.png")) is None


def test_nobody_tells_what_a_machine_read(record, signer, tmp_path):
    path = picture(tmp_path / "a.jpg", TAKEN, "-05:00", 10)
    card = {"answer": answers(record)[-1], "read_by": "machine"}
    before = (record.lines, sorted(record.originals.iterdir()))
    for draft in (
        Draft("photos", {}, "owner", (FileDraft(path, {"card": card}),)),
        Draft("label", {"of": [record.entries[8].files[0].sha256], "card": card}, "owner"),
    ):
        with pytest.raises(RefusedError, match="field 'card'"):
            record.write([draft], signer, clock=lambda: AUTUMN)
    assert (Record.open(record.folder).lines, sorted(record.originals.iterdir())) == before


def test_a_person_may_tell_what_he_read_where_a_machine_reads_nothing(record, signer, tmp_path):
    path = picture(tmp_path / "a.jpg", TAKEN, "-05:00", 10)
    card = {"answer": answers(record)[-1], "read_by": "person"}
    draft = Draft("photos", {}, "owner", (FileDraft(path, {"card": card}),))
    (entry,) = record.write([draft], signer, clock=lambda: AUTUMN).entries
    assert entry.files[0].card.read_by == "person"


def test_what_a_machine_reads_stands_whatever_a_person_told(record, signer, tmp_path):
    path = photo(record, tmp_path / "a.jpg", TAKEN)
    card = {"answer": "cd" * 32, "read_by": "person"}
    draft = Draft("photos", {}, "owner", (FileDraft(path, {"card": card}),))
    (entry,) = record.write([draft], signer, clock=lambda: AUTUMN).entries
    assert entry.files[0].card.answer == answers(record)[-1]


def test_a_record_without_cards_is_not_measured_for_them(record):
    assert cards_in(record, {"ab" * 32}) == []
