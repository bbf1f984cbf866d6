"""The values inside the bodies: what several kinds share."""

import json

import pytest
from pydantic import ValidationError

from evidence.shapes import Camera, FileRef, Finding, Sealed, in_order, once
from tests import examples


def test_a_shape_is_frozen():
    sealed = Sealed(sealed="ab" * 32)
    with pytest.raises(ValidationError, match="frozen"):
        sealed.sealed = "cd" * 32


def test_a_shape_takes_no_other_field_and_no_other_type():
    with pytest.raises(ValidationError, match="Extra inputs"):
        Sealed.model_validate({"sealed": "ab" * 32, "salt": "x"})
    with pytest.raises(ValidationError, match="valid integer"):
        FileRef.model_validate_json('{"sha256":"' + "ab" * 32 + '","bytes":"1"}')


def test_the_tags_are_those_of_the_contract():
    """RECORD § 5."""
    assert list(Camera.model_fields) == [
        *("DateTimeOriginal", "OffsetTimeOriginal", "SubSecTimeOriginal", "DateTimeDigitized"),
        *("DateTime", "OffsetTime", "GPSDateStamp", "GPSTimeStamp", "GPSLatitude"),
        *("GPSLongitude", "Make", "Model", "BodySerialNumber", "Software", "ImageUniqueID"),
        *("ExposureTime", "FNumber", "ISOSpeedRatings", "Orientation"),
        *("PixelXDimension", "PixelYDimension"),
    ]


@pytest.mark.parametrize("attribution", ["undetermined", ["i1", "i2"], None])
def test_a_finding_is_of_named_incidents_of_none_or_undetermined(attribution: object):
    given = examples.FINDING | {"attribution": attribution}
    found = Finding.model_validate_json(json.dumps(given))
    assert found.attribution == (
        tuple(attribution) if isinstance(attribution, list) else attribution
    )


def test_no_other_word_attributes_a_finding():
    with pytest.raises(ValidationError):
        Finding.model_validate(examples.FINDING | {"attribution": "the dealer"})


def test_days_stand_in_order_and_ids_once():
    in_order("since", "2025-01-01", "until", "2025-01-01")
    in_order("since", "2025-01-01", "until", None)
    once("zones", ["a", "b"])
    with pytest.raises(ValueError, match="'until' lies before 'since'"):
        in_order("since", "2025-01-02", "until", "2025-01-01")
    with pytest.raises(ValueError, match="'a' stands twice in 'zones'"):
        once("zones", ["a", "b", "a"])
