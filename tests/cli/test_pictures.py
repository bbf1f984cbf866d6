"""`photos`, as a person and as a program are answered."""

import pytest

from evidence.case import Record, now
from evidence.witnessing import newest
from tests.carding import photo
from tests.mailing import Draft as Letter
from tests.mailing import looked_up
from tests.making import picture


@pytest.fixture
def taken(own, run, tmp_path):
    """Four files: an ordinary picture, one changed later, one too dark, and a letter."""
    from PIL import Image

    card = tmp_path / "DCIM"
    picture(card / "LF_0001.jpg", "2025:05:30 12:10:05", "-05:00", 180)
    path = picture(card / "LF_0002.jpg", "2025:05:30 12:11:05", "-05:00", 170)
    with Image.open(path) as image:
        exif = image.getexif()
        exif[0x0132], exif[0x0131] = "2025:06:02 09:00:00", "GIMP 2.10.36"
        image.save(path, exif=exif)
    picture(card / "LF_0003.jpg", None, None, 4)
    (card / "letter.pdf").write_bytes(b"%PDF-1.7")
    ran = run("intake", own, card)
    assert ran.code == 0, ran.err
    return own


def test_a_program_gets_one_row_for_each_picture_in_the_shape_of_the_contract(taken, run):
    rows = run("photos", taken, "--json").json
    assert [row["name"] for row in rows] == ["LF_0001.jpg", "LF_0002.jpg", "LF_0003.jpg"]
    first = rows[0]
    assert first.keys() == {
        "sha256", "name", "seq", "zone", "camera", "read_by", "capture", "questions", "card",
        "credentials", "not_shown", "xmp_date", "copies", "original",
    }  # fmt: skip
    assert first["capture"] == {
        "rule": "offset",
        "earliest": "2025-05-30T17:10:05Z",
        "latest": "2025-05-30T17:10:05Z",
        "relied_on": True,
        "why": "The camera wrote its time zone, -05:00, beside the time.",
    }
    assert (first["camera"]["Model"], first["read_by"], first["card"]) == (
        "Field 3", "exifread", None
    )  # fmt: skip
    assert (first["questions"], first["not_shown"]) == ([], None)
    assert {q["signal"] for q in rows[1]["questions"]} == {"editor", "changed-later"}
    assert all("It may also mean: " in q["text"] for row in rows for q in row["questions"])
    assert rows[2]["capture"]["rule"] == "none"
    assert rows[2]["camera"] == {}


def test_a_person_reads_intervals_first_then_questions_then_counts(taken, run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    ran = run("photos", taken)
    assert ran.code == 0
    assert max(map(len, ran.lines)) <= 80
    order = [
        "Entry 7, photos",
        "30 May 2025, 12:10; zone by the camera.",
        "Asked:",
        "Its Software tag reads: GIMP 2.10.36.",
        "What a question may also mean",
        "Counts",
        "3 pictures in 1 entry.",
        "no figure changes by any of them",
    ]
    places = [ran.said.index(text) for text in order]
    assert places == sorted(places)
    assert "Asked of the pixels on this machine" in ran.said


def test_an_original_that_is_gone_is_said_to_be(taken, run):
    for path in (taken / "originals").glob("*.jpg"):
        path.unlink()
    for path in (taken / "previews").glob("*.look.json"):
        path.unlink()
    rows = run("photos", taken, "--json").json
    assert {row["not_shown"] for row in rows} == {"its original is not here"}
    assert {row["read_by"] for row in rows} == {None}
    assert "The original is not here." in run("photos", taken).said


def test_a_case_without_pictures_says_so(own, run):
    assert "No pictures are in the record yet" in run("photos", own).said
    assert run("photos", own, "--json").json == []


def test_intake_hints_at_once_at_what_to_take_again(own, run, tmp_path):
    picture(tmp_path / "DCIM" / "LF_0003.jpg", None, None, 4)
    picture(tmp_path / "DCIM" / "LF_0004.jpg", None, None, 180)
    document = run("intake", own, tmp_path / "DCIM", "--json").json
    assert [(hint["name"], hint["signal"]) for hint in document["hints"]] == [
        ("LF_0003.jpg", "dark")
    ]
    picture(tmp_path / "more" / "LF_0005.jpg", None, None, 5)
    said = run("intake", own, tmp_path / "more").said
    assert "Look at these again while you are still on the roof LF_0005.jpg It is so dark" in said


def test_the_other_side_is_told_which_questions_need_the_originals(case, run):
    before = run("challenge", case, "--on", "2025-11-03", "--json").json
    assert all(row["kind"] != "pixel-question" for row in before if "alike" in row["text"])
    assert run("challenge", case, "--on", "2025-11-03").code == 0


def test_the_cards_in_pictures_are_told_in_the_words_of_intake(case, run, tmp_path):
    record = Record.open(case)
    photo(record, tmp_path / "new.jpg", "2025:08:30 09:00:00")
    photo(record, tmp_path / "odd.jpg", "2025:08:30 09:00:00", answer="ab" * 32)
    told = run("intake", case, tmp_path / "new.jpg", tmp_path / "odd.jpg").said
    words = told.partition("Cards in the pictures")[2].partition("What could be entered")[0]
    assert "odd.jpg: its card shows an answer that this record does not hold" in words

    ran = run("photos", case)
    assert ran.code == 0
    assert words.strip() in ran.said


def test_a_card_counts_for_the_reader_who_trusts_its_outsider(own, run, tmp_path):
    """The letter's key was looked up by the reader himself, and handed over with --trust."""
    note = newest(Record.open(own))
    sent = (("t", str(int(now().timestamp()))),)
    (tmp_path / "sent.eml").write_bytes(Letter(note, tags=sent).message())
    (tmp_path / "key.txt").write_bytes(looked_up())
    run("witness", own, "--letter", tmp_path / "sent.eml", "--dns-record", tmp_path / "key.txt")
    run("intake", own, photo(Record.open(own), tmp_path / "new.jpg"))

    assert "by an outsider whom no reader has named as trusted" in run("photos", own).said
    trusting = run("photos", own, "--trust", tmp_path / "key.txt").said
    assert "not taken before" in trusting
    assert "whom no reader has named" not in trusting
