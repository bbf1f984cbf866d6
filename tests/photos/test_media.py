import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.photos.media import HEAD, media_type


def box(major: bytes, *compatible: bytes) -> bytes:
    """A `ftyp` box (ISO 14496-12 § 4.3): size, type, major brand, version, compatible brands."""
    size = 16 + 4 * len(compatible)
    return size.to_bytes(4, "big") + b"ftyp" + major + bytes(4) + b"".join(compatible)


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        (b"\xff\xd8\xff\xe1rest", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "image/png"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8X", "image/webp"),
        (b"II*\x00\x08\x00\x00\x00", "image/tiff"),
        (b"MM\x00*\x00\x00\x00\x08", "image/tiff"),
        (b"%PDF-1.7\n", "application/pdf"),
        (box(b"heic", b"mif1"), "image/heic"),
        (box(b"heix", b"mif1"), "image/heic"),
        (box(b"mif1", b"mif1", b"heic"), "image/heic"),
        (box(b"mif1", b"avif", b"miaf"), "image/avif"),
        (box(b"mif1", b"miaf"), "image/heif"),
        (box(b"avif", b"mif1"), "image/avif"),
        (box(b"qt  ", b"qt  "), "video/quicktime"),
        (box(b"isom", b"mp42"), "video/mp4"),
        (box(b"M4A ", b"mp42"), "audio/mp4"),
        (b"\x00\x00\x00\x08wide\x00\x00\x10\x00mdat", "video/quicktime"),
    ],
)
def test_the_first_bytes_tell_the_type_whatever_the_name(head, expected):
    assert media_type(head, "name.txt") == expected


def test_brands_behind_the_end_of_the_box_are_not_its_own():
    assert media_type(box(b"mif1", b"miaf") + b"avif", "a") == "image/heif"


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("receipt.TXT", "text/plain"),
        ("letter.eml", "message/rfc822"),
        ("pack.tar.gz", "application/octet-stream"),
        ("no ending", "application/octet-stream"),
        ("data:text/html,x", "application/octet-stream"),
    ],
)
def test_else_the_name_tells_and_else_nobody(name, expected):
    assert media_type(b"plain words", name) == expected


@given(st.binary(max_size=HEAD), st.text())
def test_every_answer_is_a_media_type_that_the_record_takes(head, name):
    assert re.fullmatch(r"[a-z0-9.+-]+/[a-z0-9.+-]+", media_type(head, name))
