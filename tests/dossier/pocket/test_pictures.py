"""Small grey pictures for the sheet."""

from io import BytesIO

from PIL import Image

from evidence.case import Record
from evidence.dossier.pocket import next_round, print_round
from evidence.dossier.pocket.pictures import small_pictures
from evidence.trade import load_catalogue
from tests.cli.conftest import measured


def test_the_newest_picture_of_a_zone_is_shown_small_and_grey(built):
    """Of the three pictures of the middle right field the one after the strike is darkest."""
    record = Record.open(built)
    pictures = small_pictures(record, next_round(measured(built), load_catalogue()))
    assert list(pictures) == ["field-mr"]
    with Image.open(BytesIO(pictures["field-mr"])) as image:
        assert image.mode == "L"
        assert image.size[0] <= 230
        assert image.size[1] <= 172
        assert abs(image.getpixel((5, 5)) - 150) < 8


def test_a_picture_that_is_gone_leaves_the_zone_without_one(case):
    record = Record.open(case)
    for original in record.originals.glob("*.jpg"):
        original.unlink()
    for preview in record.previews.glob("*"):
        preview.unlink()
    standing = measured(case)
    planned = next_round(standing, load_catalogue())
    assert small_pictures(record, planned) == {}
    pages = print_round(record, standing, planned, load_catalogue(), "a4")
    assert pages.startswith(b"%PDF-")
