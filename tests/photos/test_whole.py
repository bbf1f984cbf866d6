"""A picture that is cut short is noticed while the camera is at hand."""

from time import monotonic

import pytest

from evidence.errors import RefusedError
from evidence.photos import Worker, refuse_broken
from tests.making import picture


@pytest.fixture
def heic(tmp_path):
    import pillow_heif
    from PIL import Image

    pillow_heif.register_heif_opener()
    path = tmp_path / "whole.heic"
    Image.effect_noise((640, 480), 80).convert("RGB").save(path)
    return path


def test_a_whole_picture_is_taken(tmp_path, heic):
    with Worker() as worker:
        refuse_broken(picture(tmp_path / "a.jpg", None, None, 120), worker)
        refuse_broken(heic, worker)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.95])
def test_a_heic_cut_short_is_refused_though_its_decoder_fills_it_up(heic, share):
    data = heic.read_bytes()
    heic.write_bytes(data[: int(len(data) * share)])

    with Worker() as worker, pytest.raises(RefusedError, match="cut short"):
        refuse_broken(heic, worker)


def test_a_jpeg_cut_short_is_refused(tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 120)
    path.write_bytes(path.read_bytes()[:-600])

    with Worker() as worker, pytest.raises(RefusedError, match="truncated"):
        refuse_broken(path, worker)


def test_what_is_no_picture_is_taken_as_it_is(tmp_path):
    path = tmp_path / "note.txt"
    path.write_text("seen from the ladder", encoding="utf-8")

    with Worker() as worker:
        refuse_broken(path, worker)


def test_the_real_photographs_that_decode_are_taken(shared_photos):
    with Worker() as worker:
        for path in sorted((shared_photos / "open").iterdir()):
            if path.suffix.lower() in (".heic", ".avif"):
                refuse_broken(path, worker)


def test_a_heic_of_boxes_without_end_keeps_nobody_busy(heic):
    heic.write_bytes(heic.read_bytes() + b"\0\0\0\x08free" * 3_000_000)
    started = monotonic()
    with Worker() as worker, pytest.raises(RefusedError, match="its parts reach beyond its end"):
        refuse_broken(heic, worker)
    assert monotonic() - started < 2
