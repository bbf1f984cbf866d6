"""Which picture is meant, which card, and what a note says reckoned again."""

import shutil

import pytest

from evidence.case import Draft, Record
from evidence.errors import MissingError, RefusedError
from evidence.keeping import FileDraft
from evidence.lengths import Way, sentence
from evidence.lengths.length import length_on
from evidence.lengths.measured import Scene
from evidence.measuring import PRINTED_BASIS, card_in, measures, shown
from tests.carding import face, printed_for, saved, stranger
from tests.viewing import View

VIEW = View(tilted=20, turned=30, px_per_mm=2.4)
TEAR = ((120.0, 20.0), (150.0, 110.0))


@pytest.fixture
def record(case) -> Record:
    return Record.open(case)


@pytest.fixture
def taken(record, tmp_path):
    """A photo with the record's card, not in the record yet."""
    return saved(VIEW.photo(face(printed_for(record)), blurred=0.6), tmp_path / "IMG_0412.jpg")


def keys(record):
    return record.key_store.load(record.case.case_id, None)


def sealed(record, *paths):
    drafts = [Draft("photos", {}, "owner", tuple(FileDraft(path) for path in paths))]
    record.write(drafts, keys(record).signer)
    return record


def test_a_picture_is_meant_by_path_name_or_the_start_of_its_sum(record, taken, tmp_path):
    fresh = shown(record, str(taken), seek_cards=False)
    assert (fresh.number, fresh.name, fresh.size, fresh.cards) == (
        None, "IMG_0412.jpg", VIEW.size, (),
    )  # fmt: skip
    sealed(record, taken)
    number = record.entries[-1].number
    assert shown(record, str(taken), seek_cards=False).number == number
    taken.rename(tmp_path / "gone.jpg")
    for named in ("IMG_0412.jpg", fresh.sha256, fresh.sha256[:6]):
        again = shown(record, named, seek_cards=False)
        assert (again.number, again.sha256, again.path.parent) == (
            number, fresh.sha256, record.originals,
        )  # fmt: skip


def test_a_name_of_two_pictures_or_of_none_is_refused(record, taken, tmp_path):
    other = saved(VIEW.photo(face(printed_for(record))), tmp_path / "other" / "IMG_0412.jpg")
    sealed(record, taken, other)
    with pytest.raises(RefusedError, match="the name of 2 pictures"):
        shown(record, "IMG_0412.jpg", seek_cards=False)
    with pytest.raises(RefusedError, match="neither a file nor a picture of this case"):
        shown(record, "IMG_9999.jpg", seek_cards=False)
    with pytest.raises(RefusedError, match="neither a file"):
        shown(record, "abc", seek_cards=False)


def test_what_is_no_picture_or_is_gone_is_refused(record, taken, tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    with pytest.raises(RefusedError, match="is no picture"):
        shown(record, str(tmp_path / "a.pdf"), seek_cards=False)
    (tmp_path / "b.jpg").write_bytes(b"\xff\xd8\xff broken")
    with pytest.raises(RefusedError, match="cannot be measured in"):
        shown(record, str(tmp_path / "b.jpg"), seek_cards=False)
    sealed(record, taken)
    taken.unlink()
    shutil.rmtree(record.originals)
    record.originals.mkdir()
    with pytest.raises(MissingError):
        shown(record, "IMG_0412.jpg", seek_cards=False)


def test_the_card_in_a_picture_measures_beside_itself(record, taken):
    picture = shown(record, str(taken), seek_cards=True)
    card = card_in(picture, record)
    assert card.name == f"the card {printed_for(record).card.letters} of this case"
    found = length_on(card, *map(VIEW.pixel, TEAR), 1.0)
    assert found.mm == pytest.approx(94.87, abs=0.3)  # √(30² + 90²)
    assert 2 * found.sure < 5


def test_a_card_printed_too_small_measures_by_its_own_size(record, taken):
    picture = shown(record, str(taken), seek_cards=True)
    found = length_on(card_in(picture, record, (97.0, 67.9)), *map(VIEW.pixel, TEAR), 1.0)
    assert found.mm == pytest.approx(94.87 * 0.97, abs=0.3)


def test_the_card_of_another_case_measures_all_the_same_and_is_named_so(record, tmp_path):
    from dataclasses import replace

    card = replace(printed_for(record), card=stranger())
    picture = shown(record, str(saved(VIEW.photo(face(card)), tmp_path / "a.jpg")), seek_cards=True)
    assert card_in(picture, record).name.endswith("of another case")


def test_without_one_whole_card_nothing_is_guessed(record, taken, tmp_path):
    bare = saved(VIEW.photo(face(printed_for(record)).point(lambda _: 90)), tmp_path / "a.jpg")
    with pytest.raises(RefusedError, match="shows no card of this program"):
        card_in(shown(record, str(bare), seek_cards=True), record)
    covered = face(printed_for(record))
    covered.paste(255, (covered.width - 260, 0, covered.width, 260))
    hidden = saved(VIEW.photo(covered), tmp_path / "b.jpg")
    with pytest.raises(RefusedError, match="corner marks are not all to be seen"):
        card_in(shown(record, str(hidden), seek_cards=True), record)


def noted(record, note, kind="findings"):
    item = {"id": "f9", "zone": "vent-1", "type": "D02", "grade": 2, "note": note}
    if kind == "rechecks":
        item = {"finding": "f9", "state": "same", "grade": 2, "note": note}
    body = {
        "when": "2025-09-01", "means": "on-roof", "occasion": "routine",
        "zones": [{"zone": "vent-1", "grade": 2}], kind: [item],
    }  # fmt: skip
    record.write([Draft("inspection", body, "owner")], keys(record).signer)


def test_measures_on_record_come_out_of_their_notes_again(record, taken):
    sealed(record, taken)
    picture = shown(record, "IMG_0412.jpg", seek_cards=True)
    start, end = (tuple(round(x, 2) for x in VIEW.pixel(one)) for one in TEAR)
    scene = Scene(
        picture.sha256, picture.size, start, end, 1.0, card_in(picture, record), PRINTED_BASIS
    )
    text = sentence(scene, scene.length(), Way.LENGTH)
    noted(record, f"A tear. {text}")
    noted(record, text.replace("Length 94.", "Length 64."), "rechecks")
    noted_elsewhere = text.replace(picture.sha256[:12], "0123456789ab")
    noted(record, noted_elsewhere.replace("(97", "(9700"), "rechecks")
    first, changed, gone = measures(record)
    assert (first.finding, first.kept.holds, first.picture.sha256) == ("f9", True, picture.sha256)
    assert first.number == record.entries[-3].number
    assert (changed.kept.holds, changed.length) == (False, first.length)
    assert gone.picture is None


def test_a_note_that_no_longer_makes_a_card_says_why(record):
    noted(
        record,
        "Length 5 ± 1 mm (k = 2) by the four corners of a card, 85.6 × 53.98 mm known to 0.05 mm"
        " (x), at (1, 1) (9, 9) (9, 1) (1, 9) read to 1 px; from (1, 1) to (5, 5) read to 1 px,"
        " from the upper left of the upright picture 0123456789ab, 40 × 30 px.",
    )
    (only,) = measures(record)
    assert (only.kept.holds, only.length) == (False, None)
    assert "do not stand around a card" in only.why
