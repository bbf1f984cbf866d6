import json
import struct
import subprocess
import zlib

import pytest
from PIL import Image

from evidence.photos.pictures import MAX_PIXELS
from evidence.photos.previews import make_preview
from tests.photos.segments import besides_pixels


def bomb(side: int) -> bytes:
    """A PNG that promises that many pixels a side and holds none (ISO 15948 § 11.2.2)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")


def shown(path, out, **options):
    preview = make_preview(path, out, **options)
    assert preview, preview.why
    with Image.open(out) as picture:
        picture.load()
        return picture


def test_the_longest_side_fits_and_the_shape_stays(make, tmp_path):
    picture = shown(make("a.jpg", size=(4000, 3000)), tmp_path / "p.jpg")
    assert (picture.format, picture.mode, picture.size) == ("JPEG", "RGB", (1600, 1200))


def test_a_small_picture_is_not_blown_up(make, tmp_path):
    assert shown(make("a.jpg", size=(40, 30)), tmp_path / "p.jpg").size == (40, 30)


@pytest.mark.parametrize(
    "name", ["a.png", "a.heic", "a.avif", "a.webp", "a.tiff", "a.gif", "a.bmp"]
)
def test_every_kind_of_picture_is_shown(make, tmp_path, name):
    assert shown(make(name, size=(64, 48)), tmp_path / "p.jpg", longest_px=32).size == (32, 24)


def test_every_real_photo_is_shown(shared_photos, tmp_path):
    for path in sorted((shared_photos / "open").iterdir()):
        assert max(shown(path, tmp_path / "p.jpg", longest_px=200).size) <= 200


def test_a_picture_lying_on_its_side_is_set_upright(tmp_path):
    # stored 40 by 30 with red on the left; orientation 6 turns it clockwise: red comes to the top
    lying = Image.new("RGB", (40, 30), "blue")
    lying.paste("red", (0, 0, 20, 30))
    exif = Image.Exif()
    exif[0x0112] = 6
    lying.save(tmp_path / "a.jpg", exif=exif, quality=95)
    picture = shown(tmp_path / "a.jpg", tmp_path / "p.jpg")
    assert picture.size == (30, 40)
    top, bottom = picture.getpixel((15, 5)), picture.getpixel((15, 35))
    assert top[0] > bottom[0] + 100
    assert bottom[2] > top[2] + 100


def test_what_is_transparent_becomes_white(make, tmp_path):
    picture = shown(make("a.png", mode="RGBA"), tmp_path / "p.jpg")
    assert picture.getpixel((5, 5)) == (255, 255, 255)


def test_ink_colours_become_screen_colours(tmp_path):
    Image.new("CMYK", (40, 30), (0, 255, 255, 0)).save(tmp_path / "a.jpg")
    red, green, blue = shown(tmp_path / "a.jpg", tmp_path / "p.jpg").getpixel((5, 5))
    assert red > 200
    assert max(green, blue) < 60


def test_grey_of_sixteen_bits_keeps_its_brightness(tmp_path):
    Image.new("I;16", (40, 30), 0x8000).save(tmp_path / "a.png")
    grey = shown(tmp_path / "a.png", tmp_path / "p.jpg").getpixel((5, 5))
    assert all(abs(part - 128) <= 2 for part in grey)


def laden(make, name="a.jpg"):
    """A picture with a place, a comment, a colour profile and XMP."""
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    tags = {"Model": "ACME", "GPSDateStamp": "2025:05:30"}
    return make(name, tags, comment=b"home", icc_profile=profile, xmp=b"<x:xmpmeta/>")


def test_a_preview_holds_nothing_but_pixels(make, tmp_path):
    source = laden(make)
    with Image.open(source) as before:
        assert {"exif", "icc_profile", "comment", "xmp"} <= set(before.info)
    picture = shown(source, tmp_path / "p.jpg")
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp", "a.tiff", "a.heic", "a.avif"])
def test_nothing_but_pixels_comes_out_of_any_kind_of_file(make, tmp_path, name):
    tags = {"Model": "ACME", "GPSDateStamp": "2025:05:30"}
    source = make(name, tags, size=(64, 48), comment=b"home")
    assert b"ACME" in source.read_bytes()
    shown(source, tmp_path / "p.jpg")
    assert besides_pixels((tmp_path / "p.jpg").read_bytes()) == []


def test_nothing_but_pixels_comes_out_of_any_real_photo(shared_photos, worker, tmp_path):
    laden = 0
    for path in sorted((shared_photos / "open").iterdir()):
        assert worker.preview(path, tmp_path / "p.jpg", 320), path.name
        assert besides_pixels((tmp_path / "p.jpg").read_bytes()) == [], path.name
        data = path.read_bytes()
        laden += path.suffix == ".jpg" and besides_pixels(data) != []
    assert laden > 20


def test_exiftool_finds_nothing_in_a_preview_either(make, tmp_path, exiftool):
    def groups(path):
        listed = subprocess.run([exiftool, "-j", "-G1", path], check=True, capture_output=True)
        return {key.partition(":")[0] for key in json.loads(listed.stdout)[0]} - {"SourceFile"}

    source, out = laden(make), tmp_path / "p.jpg"
    shown(source, out)
    bare = {"ExifTool", "System", "File", "JFIF", "Composite"}
    assert groups(source) - bare
    assert groups(out) <= bare


def test_a_picture_cut_off_is_not_shown_and_leaves_nothing(make, tmp_path):
    path = make("a.jpg", size=(400, 300))
    path.write_bytes(path.read_bytes()[:-40])
    preview = make_preview(path, tmp_path / "out" / "p.jpg")
    assert not preview
    assert preview.why.startswith("cannot be shown: ")
    before = tmp_path / "p.jpg"
    before.write_bytes(b"an earlier preview")
    assert not make_preview(path, before)
    assert before.read_bytes() == b"an earlier preview"
    assert not list(tmp_path.glob("*.part"))


def test_a_paper_is_not_shown_and_says_so(tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    preview = make_preview(tmp_path / "a.pdf", tmp_path / "p.jpg")
    assert preview.why == "cannot be shown: it is a PDF"


@pytest.mark.parametrize("side", [15_000, 30_000])
def test_a_picture_too_large_to_be_one_is_refused_before_it_is_decoded(tmp_path, side):
    assert side**2 > MAX_PIXELS
    (tmp_path / "a.png").write_bytes(bomb(side))
    preview = make_preview(tmp_path / "a.png", tmp_path / "p.jpg")
    assert preview.why == "cannot be shown: it has more than 200 million pixels"


def test_a_preview_that_cannot_be_written_says_so(make, tmp_path):
    preview = make_preview(make("a.jpg"), tmp_path / "nowhere" / "p.jpg")
    assert "No such file" in preview.why
