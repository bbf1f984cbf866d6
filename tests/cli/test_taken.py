"""`intake`: many files sealed at once, and what each camera's clock supports."""

from hashlib import sha256

import pytest

from tests.cli.conftest import last, state
from tests.making import picture


@pytest.fixture
def card(tmp_path):
    """A camera's folder: two visits, a clock without a zone, a wrong one, a text, a broken file."""
    folder = tmp_path / "DCIM"
    picture(folder / "1.jpg", "2025:05:30 12:10:05", "-05:00", 10)
    picture(folder / "2.jpg", "2025:05:30 12:20:05", "-05:00", 20)
    picture(folder / "3.jpg", "2025:07:01 09:00:00", "-05:00", 30)
    picture(folder / "zoneless.jpg", "2025:10:12 14:03:22", None, 40)
    picture(folder / "wrong.jpg", "2016:02:03 10:00:00", "-05:00", 50)
    (folder / "notes.txt").write_text("dry, no wind")
    (folder / "broken.jpg").write_bytes(b"no picture at all")
    return folder


def test_files_are_sealed_and_told_by_visit_and_by_what_their_clock_supports(own, run, card):
    ran = run("intake", own, card)
    assert ran.code == 0, ran.err
    assert ran.lines[0] == "7 files are sealed as entry 7."
    assert "Field 3: 30 May 2025, 12:10 to 12:20; 2 files" in ran.out
    assert "Field 3: 1 July 2025, 09:00; 1 file" in ran.out
    assert "Field 3: 11 October 2025, 19:03 to 12 October 2025, 21:03; 1 file" in ran.out
    assert (
        "The camera wrote its time zone, -05:00, beside the time: 1.jpg, 2.jpg, 3.jpg." in ran.said
    )
    assert (
        "Not relied on, it lies before the rig was built: wrong.jpg (2016:02:03 10:00:00)."
    ) in ran.said
    assert "  Time unknown; 3 files\n" in ran.out
    assert "Sealed, but damaged or not readable" in ran.out
    assert "broken.jpg: " in ran.out.rpartition("readable")[2]
    assert last(own)["kind"] == "photos"
    assert {file["name"] for file in last(own)["files"]} == {path.name for path in card.iterdir()}


def test_a_program_is_answered_with_the_keys_of_the_contract(own, run, card):
    document = run("intake", own, card, "--json").json
    assert document.keys() == {
        "sealed", "already_held", "unreadable", "visits", "seq", "hints", "cards", "cleared",
        "left_out", "proposals",
    }  # fmt: skip
    sums = {sha256(path.read_bytes()).hexdigest() for path in card.iterdir()}
    assert set(document["sealed"]) == sums
    assert (document["already_held"], document["seq"]) == ([], 6)
    first = document["visits"][0]
    assert first.keys() == {"earliest", "latest", "files", "camera", "zone"}
    assert sum(len(visit["files"]) for visit in document["visits"]) == 7


def test_files_are_kept_byte_for_byte(own, run, card):
    run("intake", own, card)
    kept = {path.stem: path.read_bytes() for path in (own / "originals").iterdir()}
    for path in card.iterdir():
        assert kept[sha256(path.read_bytes()).hexdigest()] == path.read_bytes()


def test_what_the_record_holds_already_is_left_out(own, run, card):
    run("intake", own, card / "1.jpg")
    ran = run("intake", own, card)
    assert ran.lines[:2] == ["6 files are sealed as entry 8.", "1 file is in the record already."]
    before = state(own)
    again = run("intake", own, card)
    assert (again.code, again.lines) == (0, ["Nothing new: 7 files are in the record already."])
    assert run("intake", own, card, "--json").json["seq"] is None
    assert state(own) == before


def test_a_note_and_the_one_who_hands_them_in_are_written_down(own, run, card):
    run("enter", own, "party", "id=dealer", "name=Dealer", "role=dealer")
    run("intake", own, card / "1.jpg", "--note", "from the camera's card", "--by", "dealer")
    assert last(own)["body"] == {"note": "from the camera's card"}
    assert last(own)["by"] == "dealer"


def test_many_names_are_counted_behind_the_first_three(own, run, tmp_path):
    for n in range(6):
        picture(tmp_path / "many" / f"{n}.jpg", "2025:05:30 12:10:05", "-05:00", n)
    assert (
        "beside the time: 0.jpg, 1.jpg, 2.jpg and 3 more."
        in run("intake", own, tmp_path / "many").said
    )


@pytest.mark.parametrize("name", ["nowhere", "empty"])
def test_a_path_without_files_is_refused(name, own, run, tmp_path):
    (tmp_path / "empty").mkdir()
    before = state(own)
    ran = run("intake", own, tmp_path / name)
    assert (ran.code, name in ran.err) == (2, True)
    assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


def test_the_cards_in_pictures_are_told_with_what_follows_from_them(case, run, tmp_path):
    from evidence.case import Record
    from tests.carding import photo

    record = Record.open(case)
    old = next(entry for entry in record.entries if entry.kind == "witness").files[0].sha256
    for name, changed in (("new", {}), ("old", {"answer": old}), ("odd", {"answer": "ab" * 32})):
        photo(record, tmp_path / "DCIM" / f"{name}.jpg", "2025:08:30 09:00:00", **changed)
    ran = run("intake", case, tmp_path / "DCIM")
    told = ran.said.partition("Cards in the pictures")[2]
    assert "new.jpg: its card: not taken before 8 Jun 2025 22:51Z, on an outsider's clock." in told
    assert "old.jpg: its card: not taken before 7 Mar 2025 17:31Z" in told
    assert "an older card, 2 newer answers by then." in told
    assert "odd.jpg: its card shows an answer that this record does not hold" in told


def test_a_program_is_told_of_the_cards_too(case, run, tmp_path):
    from evidence.case import Record
    from tests.carding import photo

    path = photo(Record.open(case), tmp_path / "a.jpg", "2025:08:30 09:00:00")
    (card,) = run("intake", case, path, "--json").json["cards"]
    assert (card["state"], card["read_by"], card["contradicted"]) == ("counts", "machine", False)


def test_pictures_without_cards_say_nothing_of_cards(own, run, card):
    assert "Cards" not in run("intake", own, card).out
