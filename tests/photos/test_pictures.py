"""The limit on pixels holds for whatever is asked of a picture, and in any format."""

import struct

import pytest

from evidence.witness.card import MAX_TEXT, START
from tests.photos.test_previews import bomb

SIDE = 30_000
"""900 million pixels."""

BOMBS = {
    "a.png": bomb(SIDE),
    # GIF89a § 18 and 20: logical screen, then the picture's own size
    "a.gif": b"GIF89a"
    + struct.pack("<HHBBB", SIDE, SIDE, 0x80, 0, 0)
    + bytes(6)
    + struct.pack("<cHHHHB", b",", 0, 0, SIDE, SIDE, 0)
    + b"\x02\x01\x2c\x00;",
    # BITMAPFILEHEADER and BITMAPINFOHEADER, 24 bits a pixel
    "a.bmp": b"BM"
    + struct.pack("<IHHI", 54, 0, 0, 54)
    + struct.pack("<IiiHHIIiiII", 40, SIDE, SIDE, 1, 24, 0, 0, 0, 0, 0, 0),
}

TOO_MANY = "it has more than 200 million pixels"


@pytest.mark.parametrize("name", BOMBS)
def test_more_pixels_than_a_camera_makes_are_refused_whatever_is_asked(worker, tmp_path, name):
    path = tmp_path / name
    path.write_bytes(BOMBS[name])
    said = (
        worker.camera(path).unreadable,
        worker.preview(path, tmp_path / "p.jpg").why,
        worker.look(path).why,
        worker.codes(path, START, MAX_TEXT).unreadable,
        worker.marks(path, START, MAX_TEXT).unreadable,
    )
    assert [why is not None and why.endswith(TOO_MANY) for why in said] == [True] * 5, said
    assert not (tmp_path / "p.jpg").exists()


@pytest.mark.parametrize("side", [None, 65_000])
def test_a_small_picture_in_the_tags_has_the_limit_too(worker, tmp_path, side):
    """A JPEG that bears a small picture, true or with another size written into its head."""
    from io import BytesIO

    from PIL import Image

    shades, drawn = Image.linear_gradient("L"), BytesIO()
    shades.resize((160, 120)).save(drawn, "JPEG")
    inside = bytearray(drawn.getvalue())
    if side is not None:
        at = inside.index(b"\xff\xc0") + 5  # ISO 10918-1 § B.2.2: lines and samples a line
        inside[at : at + 4] = struct.pack(">HH", side, side)
    # Exif 3.0 § 4.6: IFD0 without tags, IFD1 with JPEGInterchangeFormat and its length
    tags = struct.pack("<HIHHHIIHHIII", 0, 14, 2, 0x201, 4, 1, 44, 0x202, 4, 1, len(inside), 0)
    block = b"Exif\0\0II*\0\x08\0\0\0" + tags.ljust(44 - 8, b"\0") + bytes(inside)
    shades.resize((400, 300)).save(tmp_path / "a.jpg", exif=block)
    look = worker.look(tmp_path / "a.jpg")
    assert look.luma is not None
    assert look.thumbnail == (None if side else pytest.approx(1, abs=0.02))
