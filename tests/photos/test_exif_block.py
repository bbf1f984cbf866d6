import struct
import zlib
from time import monotonic

import pytest

from evidence.photos.camera import read_camera
from evidence.photos.exif_block import exif_block

NOON = {"DateTimeOriginal": "2025:05:30 12:10:05"}


@pytest.fixture
def block(make) -> bytes:
    return exif_block(make("block.jpg", NOON))


def test_the_block_starts_at_its_byte_order_mark(block):
    assert block[:2] in (b"II", b"MM")


def test_a_picture_without_one_has_an_empty_block(make):
    assert exif_block(make("a.png")) == b""


def profile(name: str, data: bytes) -> str:
    lines = [data.hex()[at : at + 72] for at in range(0, len(data.hex()), 72)]
    return "\n".join(["", name, f"{len(data):8}", *lines, ""])


@pytest.mark.parametrize("kind", ["exif", "APP1"])
@pytest.mark.parametrize("packed", [True, False])
def test_a_png_may_carry_it_as_hex_in_a_text_chunk(tmp_path, block, kind, packed):
    from PIL import Image, PngImagePlugin

    info = PngImagePlugin.PngInfo()
    text = profile("exif" if kind == "exif" else "generic", b"Exif\0\0" + block)
    info.add_text(f"Raw profile type {kind}", text, zip=packed)
    Image.new("RGB", (40, 30)).save(tmp_path / "a.png", pnginfo=info)

    assert exif_block(tmp_path / "a.png") == block
    assert read_camera(tmp_path / "a.png").camera.DateTimeOriginal == NOON["DateTimeOriginal"]


def test_a_text_chunk_that_is_no_profile_is_none(tmp_path):
    from PIL import Image, PngImagePlugin

    info = PngImagePlugin.PngInfo()
    info.add_text("Raw profile type exif", "soon")
    Image.new("RGB", (40, 30)).save(tmp_path / "a.png", pnginfo=info)
    assert exif_block(tmp_path / "a.png") == b""


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def test_a_png_may_carry_it_behind_its_pixels(make, block):
    path = make("a.png")
    whole, end = path.read_bytes()[:-12], path.read_bytes()[-12:]
    path.write_bytes(whole + chunk(b"eXIf", block) + end)
    assert exif_block(path) == block


@pytest.mark.parametrize("prefix", [b"", b"Exif\0\0", b"Exif\0\0Exif\0\0"])
def test_a_webp_may_carry_it_with_and_without_the_prefix(make, block, prefix):
    from PIL import Image

    path = make("a.webp")
    with Image.open(path) as picture:
        picture.save(path, exif=prefix + block)
    assert exif_block(path) == block
    assert read_camera(path).camera.DateTimeOriginal == NOON["DateTimeOriginal"]


def test_heif_of_the_brand_heix_is_read(make):
    path = make("a.heic", NOON)
    path.write_bytes(path.read_bytes().replace(b"ftypheic", b"ftypheix"))
    assert read_camera(path).camera.DateTimeOriginal == NOON["DateTimeOriginal"]


def test_a_raw_file_that_is_a_tiff_is_read_and_shown_by_its_small_picture(make, tmp_path):
    from evidence.photos.media import media_type
    from evidence.photos.worker import Worker

    path = make("a.dng", NOON, format="TIFF")  # DNG 1.7 § 2: a TIFF with further tags
    assert media_type(path.read_bytes()[:64], path.name) == "image/tiff"
    assert read_camera(path).camera.DateTimeOriginal == NOON["DateTimeOriginal"]
    with Worker() as worker:
        assert worker.preview(path, tmp_path / "a.jpg")


def test_a_text_made_to_keep_the_reader_busy_takes_no_time(make):
    from PIL import PngImagePlugin

    text = PngImagePlugin.PngInfo()
    text.add_text("Raw profile type exif", "exif" + " " * 9 + "1" + " " * 500_000 + "!")
    path = make("a.png", pnginfo=text)
    started = monotonic()
    assert exif_block(path) == b""
    assert monotonic() - started < 5
