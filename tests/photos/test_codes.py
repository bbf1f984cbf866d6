import pytest
import segno
from PIL import Image

from evidence.card_size import module_of
from evidence.photos.codes import MOST, read_codes
from evidence.witness.card import MAX_TEXT, START
from tests.carding import face, laid, saved, stranger
from tests.paper.printing import PRINTED


def codes(worker, path):
    return worker.codes(path, START, MAX_TEXT)


def code(text: str, path, scale: int = 4, **how):
    segno.make(text, micro=False, **how).save(str(path), scale=scale)
    return path


CODE_SIDE = 41 * module_of(41)
"""Of this card's code, a version 6 of 41 modules, in mm."""


@pytest.mark.parametrize(
    "how",
    [
        {},
        {"px_per_mm": 55 / CODE_SIDE},  # PHOTOS: 55 px a side, at 60 degrees, blurred by 3 px
        {"px_per_mm": 55 / CODE_SIDE, "turned": 30},
        {"tilted": 60},
        {"blurred": 3, "px_per_mm": 4},
        {"px_per_mm": 1.4},
        {"px_per_mm": 20, "size": (2400, 1800)},
        {"turned": 17},
        {"turned": 180, "tilted": 30},
        {"tilted": 45, "turned": 250},
        {"tilted": 60, "px_per_mm": 2.5},
        {"blurred": 1},
        {"blurred": 1.5, "px_per_mm": 2.5},
        {"blurred": 3, "px_per_mm": 6},
        {"blurred": 1, "noise": 60},
    ],
    ids=str,
)
def test_a_card_is_read_from_where_a_person_stands(worker, card, tmp_path, how):
    """At 1.5 m a picture of 12 megapixels has 2.1 pixels a millimetre: see `laid`."""
    path = saved(laid(card, **how), tmp_path / "a.jpg")
    assert codes(worker, path).texts == (PRINTED.card.text,)


def test_a_picture_of_twelve_megapixels_is_read_within_its_time(worker, card, tmp_path):
    path = saved(laid(card, size=(4000, 3000), turned=5, blurred=1), tmp_path / "a.jpg")
    assert codes(worker, path).texts == (PRINTED.card.text,)


@pytest.mark.parametrize("px_per_mm", [1.4, 2.1, 3])
def test_a_faint_card_is_read(worker, card, tmp_path, px_per_mm):
    """At a contrast of 0.3."""
    faint = laid(card, px_per_mm=px_per_mm).point(lambda value: 128 + round((value - 128) * 0.3))
    assert codes(worker, saved(faint, tmp_path / "a.jpg")).texts == (PRINTED.card.text,)


@pytest.mark.parametrize(("mode", "name"), [("RGBA", "a.png"), ("I;16", "a.tif"), ("1", "b.png")])
def test_a_card_is_read_in_whatever_way_a_picture_keeps_its_pixels(
    worker, card, tmp_path, mode, name
):
    picture = laid(card, px_per_mm=4)
    if mode == "I;16":
        picture = picture.convert("I").point(lambda value: value * 256)
    picture.convert(mode).save(tmp_path / name)
    assert codes(worker, tmp_path / name).texts == (PRINTED.card.text,)


def test_two_cards_in_one_picture_are_both_read(worker, card, tmp_path):
    from dataclasses import replace

    both = Image.new("L", (1600, 700), 128)
    for at, print_ in enumerate((PRINTED, replace(PRINTED, card=stranger()))):
        both.paste(face(print_).resize((756, 546)), (20 + at * 790, 60))
    assert set(codes(worker, saved(both, tmp_path / "a.jpg")).texts) == {
        PRINTED.card.text,
        stranger().text,
    }


@pytest.mark.parametrize(
    "text",
    [
        "https://example.org/menu",
        "WIFI:T:WPA;S=camp;P=secret;;",
        "BEGIN:VCARD\nN:Invented\nEND:VCARD",
        "card1/lower",
        "\x00\x01\x02",
        " CARD1/AB",
        START + "A\x07B",
        START + "\u202eABC",
        START + "\N{SNOWMAN}",
        START + "A\nB",
        START + "A" * MAX_TEXT,
        START + "A" * 2000,
    ],
    ids=ascii,
)
def test_codes_of_other_programs_and_hostile_ones_are_passed_over(worker, tmp_path, text):
    found = codes(worker, code(text, tmp_path / "a.png"))
    assert (found.texts, found.unreadable) == ((), None)


def test_a_stranger_who_shows_very_many_codes_is_not_told_in_full(worker, tmp_path):
    sheet = Image.new("L", (1200, 300), 255)
    for n in range(8):
        piece = Image.open(code(f"{START}{n}", tmp_path / "one.png")).convert("L")
        sheet.paste(piece, (n * 140, 60))
    sheet.save(tmp_path / "a.png")
    assert len(codes(worker, tmp_path / "a.png").texts) == MOST


def test_a_picture_without_a_code_has_none(worker, shared_photos):
    for path in sorted((shared_photos / "open").glob("*.jpg"))[:6]:
        assert codes(worker, path).texts == ()


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0 cut short"])
def test_what_is_no_picture_says_why(worker, tmp_path, data):
    (tmp_path / "a.jpg").write_bytes(data)
    found = codes(worker, tmp_path / "a.jpg")
    assert found.texts == ()
    assert found.unreadable


def test_a_very_large_picture_is_read_smaller(card, tmp_path):
    path = tmp_path / "a.png"
    laid(card, px_per_mm=20, size=(5000, 5000)).save(path)
    assert read_codes(path, START, MAX_TEXT).texts == (PRINTED.card.text,)
