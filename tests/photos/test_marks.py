"""The corners of a card in a picture, against a camera at a known place."""

import os

import numpy as np
import pytest
from PIL import Image

from evidence.card_size import HEIGHT, WIDTH
from evidence.lengths import Sheet
from evidence.lengths.length import length_on
from evidence.lengths.plane import apart
from evidence.photos.marks import CORNERS_SURE, read_marks
from evidence.witness.card import MAX_TEXT, START
from tests.carding import saved
from tests.paper.printing import PRINTED
from tests.viewing import OUTER, View


def marks(worker, path):
    return worker.marks(path, START, MAX_TEXT)


HOW = {"blurred": 0.7, "noise": 6.0}


@pytest.mark.parametrize("tilted", [0, 20, 40, 50])
@pytest.mark.parametrize("px_per_mm", [2.1, 4])
def test_the_corners_are_found_to_a_tenth_of_a_pixel(worker, card, tmp_path, tilted, px_per_mm):
    view = View(tilted=tilted, turned=tilted * 7 + 15, px_per_mm=px_per_mm, at=(-130.3, 77.7))
    seen = marks(worker, saved(view.photo(card, **HOW), tmp_path / "a.jpg"))
    assert seen.size == view.size
    (found,) = seen.cards
    assert found.text == PRINTED.card.text
    true = [view.pixel(corner) for corner in OUTER]
    assert np.abs(np.array(found.corners) - np.array(true)).max() < 0.1 < CORNERS_SURE


def test_lengths_beside_the_card_are_true_within_what_is_stated(worker, card, tmp_path, capsys):
    """Places read to a pixel, the card found by the program: 240 lengths in 24 drawn pictures."""
    rng = np.random.default_rng(4)
    held, all_of_them, worst = 0, 0, 0.0
    for tilted in (0, 15, 30, 45):
        for turned in range(0, 360, 60):
            view = View(tilted=tilted, turned=turned, px_per_mm=2.4)
            (found,) = marks(worker, saved(view.photo(card, **HOW), tmp_path / "a.jpg")).cards
            sheet = Sheet("it", (WIDTH, HEIGHT), 0.01, found.corners, CORNERS_SURE, True)
            for _ in range(10):
                start, end = rng.uniform((-150, -120), (250, 190), (2, 2))
                if apart(start, end) < 40:
                    continue
                ends = [
                    np.array(view.pixel(tuple(one))) + rng.normal(size=2) for one in (start, end)
                ]
                length = length_on(sheet, *map(tuple, ends), 1.0)
                off = abs(length.mm - apart(start, end))
                all_of_them += 1
                held += off <= 2 * length.sure
                worst = max(worst, off / length.mm)
    with capsys.disabled():
        print(f"\n{all_of_them} lengths: {held} within ±2u, the worst {worst:.1%} off")
    assert all_of_them > 150
    assert held / all_of_them >= 0.95
    assert worst < 0.05


def test_corners_are_those_of_the_upright_picture(worker, card, tmp_path):
    view = View(tilted=25, turned=10, px_per_mm=3, size=(1600, 1200))
    picture = view.photo(card, **HOW)
    plain = marks(worker, saved(picture, tmp_path / "plain.jpg"))
    turned = picture.transpose(Image.Transpose.ROTATE_90)  # as a camera held upright stores it
    exif = Image.Exif()
    exif[0x0112] = 6  # turn by 90° clockwise to show (Exif 3.0 § 4.6.5.1.4)
    turned.save(tmp_path / "turned.jpg", exif=exif, quality=95)
    again = marks(worker, tmp_path / "turned.jpg")
    assert again.size == plain.size == (1600, 1200)
    assert np.array(again.cards[0].corners) == pytest.approx(
        np.array(plain.cards[0].corners), abs=0.2
    )


def test_a_large_picture_is_looked_at_smaller_and_told_in_its_own_pixels(worker, card, tmp_path):
    view = View(tilted=10, turned=200, px_per_mm=6, size=(5200, 3900))
    (found,) = marks(worker, saved(view.photo(card), tmp_path / "a.jpg")).cards
    true = [view.pixel(corner) for corner in OUTER]
    assert np.abs(np.array(found.corners) - np.array(true)).max() < 0.2


def test_a_covered_corner_is_told_and_no_corner_is_made_up(worker, card, tmp_path):
    covered = card.copy()
    covered.paste(255, (covered.width - 260, 0, covered.width, 260))
    view = View(tilted=10, px_per_mm=3)
    (found,) = marks(worker, saved(view.photo(covered), tmp_path / "a.jpg")).cards
    assert found.corners is None
    assert found.why == "its four corner marks are not all to be seen"


def test_a_card_that_is_bent_is_told(worker, card, tmp_path):
    """Its right half stands up: seen narrower, marks and code no longer fit each other."""
    half = card.width // 2
    bent = Image.new("L", card.size, 255)
    bent.paste(card.crop((0, 0, half, card.height)), (0, 0))
    bent.paste(card.crop((half, 0, card.width, card.height)).resize((half * 15 // 16, card.height)),
               (half, 0))  # fmt: skip
    (found,) = marks(worker, saved(View(px_per_mm=3).photo(bent), tmp_path / "a.jpg")).cards
    assert found.corners is None
    assert "not flat" in found.why


def test_two_cards_are_two(worker, card, tmp_path):
    view = View(px_per_mm=3)
    picture = Image.new("L", (2000, 2400), 110)
    for top in (0, 1200):
        picture.paste(view.photo(card).crop((0, 150, 2000, 1350)), (0, top))
    assert len(marks(worker, saved(picture, tmp_path / "a.jpg")).cards) == 2


def test_without_a_text_to_seek_only_the_size_is_told(worker, card, tmp_path):
    path = saved(View(px_per_mm=3).photo(card), tmp_path / "a.jpg")
    seen = worker.marks(path, "", MAX_TEXT)
    assert (seen.size, seen.cards) == ((2000, 1500), ())


def test_what_is_no_picture_says_so_and_breaks_nothing(worker, tmp_path):
    (tmp_path / "a.jpg").write_bytes(os.urandom(400))
    seen = marks(worker, tmp_path / "a.jpg")
    assert seen.size is None
    assert "not a picture" in seen.unreadable
    assert read_marks(tmp_path / "gone.jpg", START, MAX_TEXT).unreadable
