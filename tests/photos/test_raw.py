import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.photos.raw import raw
from evidence.shapes import Camera, Hex


@pytest.mark.parametrize("text", ["IMG_0001.JPG", "Dach süd.jpg", " led by a blank", "屋根"])
def test_clean_text_is_kept_as_it_stands(text):
    assert raw(text.encode()) == text


@pytest.mark.parametrize(
    "data",
    [
        b"caf\xe9.jpg",  # Latin-1, not UTF-8
        "cafe\u0301.jpg".encode(),  # a letter and its accent apart: not NFC
        b"a\x07b",  # a control character
        b"",
    ],
)
def test_what_is_not_clean_text_is_kept_as_its_bytes(data):
    assert raw(data) == Hex(hex=data.hex())


def test_bytes_beyond_what_a_field_holds_are_cut():
    assert raw(b"x" * 5000) == Hex(hex="78" * 4000)


@given(st.binary(max_size=300))
def test_any_bytes_give_a_value_that_the_record_takes(data):
    camera = Camera(Model=raw(data))
    assert Camera.model_validate_json(camera.model_dump_json(exclude_none=True)) == camera
