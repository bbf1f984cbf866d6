import json
import shutil
import stat
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.sealed_values import (
    Secret,
    conceal,
    keep_all,
    misfits,
    read_revealed,
    reveal,
    revealed_bytes,
    sealable,
    sealed_fields,
)
from tests.tampering import owner_of

AUTUMN = datetime(2025, 10, 1, 12, tzinfo=UTC)
SALT = bytes(range(32))
POLICY = {"type": "policy", "title": "Policy", "number": "K-20/311"}
PLACE = {"lat": "44.5", "lon": "-93.1", "radius_m": 200, "text": "a campground"}


def paper(**more: object) -> Draft:
    return Draft("paper", {**POLICY, **more}, "owner")


@pytest.fixture
def record(case: Path) -> Record:
    """A case with a policy whose number is sealed, and its value kept."""
    record = Record.open(case)
    draft, secrets = conceal(paper(), ["number"], lambda _count: SALT)
    keep_all(secrets, record.private)
    record.write([draft], owner_of(case), clock=lambda: AUTUMN)
    return record


def test_the_fields_of_the_contract_alone_can_be_sealed():
    kinds = ("rig", "paper", "incident", "inspection", "party", "nothing")

    assert [sealable(kind) for kind in kinds] == [("serial",), ("number",), ("place",), (), (), ()]


def test_a_sum_is_over_salt_and_canonical_value():
    text, place = Secret(SALT, "K-20/311"), Secret(SALT, PLACE)

    assert text.sealed == sha256(SALT + b'"K-20/311"').hexdigest()
    canonical = b'{"lat":"44.5","lon":"-93.1","radius_m":200,"text":"a campground"}'
    assert place.sealed == sha256(SALT + canonical).hexdigest()


def test_two_seals_of_one_value_have_nothing_in_common():
    (first, _), (second, _) = conceal(paper(), ["number"]), conceal(paper(), ["number"])

    assert first.body["number"] != second.body["number"]


def test_the_value_stands_nowhere_in_the_record_and_nowhere_beside_it(record):
    entry = record.entries[-1]
    kept = record.private / f"{entry.raw['number']['sealed']}.json"
    assert json.loads(kept.read_bytes()) == {"salt": SALT.hex(), "value": "K-20/311"}

    kept.unlink()

    files = [path for path in record.folder.rglob("*") if path.is_file()]
    assert not [path for path in files if b"K-20/311" in path.read_bytes()]


def test_only_its_owner_may_read_what_is_kept(record):
    for path in record.private.glob("*.json"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_private_folder_is_made_where_there_is_none(tmp_path):
    keep_all([Secret(SALT, "x")], tmp_path / "private")

    assert stat.S_IMODE((tmp_path / "private").stat().st_mode) == 0o700
    with pytest.raises(RefusedError, match="is there already"):
        keep_all([Secret(SALT, "x")], tmp_path / "private")


@pytest.mark.parametrize(
    ("draft", "field", "why"),
    [
        (paper(), "title", "cannot be sealed"),
        (paper(number=None), "number", "has no value to seal"),
        (paper(number={"sealed": "0" * 64}), "number", "has no value to seal"),
        (paper(number=7), "number", "Input should be"),
        (Draft("wash", {"when": "2025-01-01", "zones": "all"}, "owner"), "zones", "none of this"),
    ],
)
def test_what_cannot_be_sealed_is_refused(draft, field, why):
    with pytest.raises(RefusedError) as caught:
        conceal(draft, [field])
    assert why in str(caught.value)


def test_without_a_field_to_seal_a_draft_stays_as_it_is():
    assert conceal(paper(), []) == (paper(), ())


def test_a_value_is_put_into_normal_form_before_it_is_sealed():
    composed = conceal(paper(number="Zo\u00eb"), ["number"], lambda _: SALT)[1]
    decomposed = conceal(paper(number="Zoe\u0308"), ["number"], lambda _: SALT)[1]

    assert composed == decomposed


@pytest.mark.parametrize("name", ["number", "19.number"])
def test_what_is_revealed_is_what_was_sealed(record, name):
    rows = reveal(record, [name, name], record.entries)

    assert [(row.seq, row.field, row.value) for row in rows] == [(18, "number", "K-20/311")]
    assert misfits(rows, sealed_fields(record.entries)) == []
    assert read_revealed(revealed_bytes(rows)) == rows


def test_a_name_of_nothing_sealed_is_refused_with_those_that_are(record):
    with pytest.raises(RefusedError, match=r"Sealed: 19\.number") as caught:
        reveal(record, ["serial"], record.entries)
    assert "names no sealed value" in caught.value.why


def test_an_entry_that_does_not_go_with_it_is_not_revealed(record):
    with pytest.raises(RefusedError, match="Sealed: none"):
        reveal(record, ["number"], record.entries[:-1])


def test_a_value_that_is_gone_or_changed_is_not_revealed(record):
    (kept,) = record.private.glob("*.json")
    for wrong in (b"{}", b"[]", b"not JSON", b'{"salt":"' + b"0" * 64 + b'","value":"K-20/311"}'):
        kept.write_bytes(wrong)
        with pytest.raises(ChangedError, match="is not what was sealed"):
            reveal(record, ["number"], record.entries)
    kept.unlink()
    with pytest.raises(MissingError):
        reveal(record, ["number"], record.entries)


def test_a_sealed_value_in_a_correction_is_named_by_its_path(record):
    sealed = {"sealed": "ab" * 32}
    body = {"of": 18, "set": {"number": sealed}, "why": "another policy"}
    record.write(
        [Draft("correction", body, "owner")], owner_of(record.folder), clock=lambda: AUTUMN
    )

    assert [one.name for one in sealed_fields(record.entries)] == ["19.number", "20.set.number"]


def test_every_way_in_which_a_revealed_value_does_not_fit_is_told(record):
    (row,) = reveal(record, ["number"], record.entries)
    known = sealed_fields(record.entries)

    assert misfits([row, row], known) == ["entry 19, number: is revealed twice"]
    for change, why in (
        ({"value": "K-20/312"}, "is not the value that was sealed"),
        ({"salt": "00" * 32}, "is not the value that was sealed"),
        ({"field": "title"}, "nothing is sealed there"),
        ({"seq": 3}, "nothing is sealed there"),
    ):
        (told,) = misfits([row.model_copy(update=change)], known)
        assert told.endswith(why)


@pytest.mark.parametrize(
    "data",
    [b"", b"{}", b'[{"seq":1}]', b'[{"seq":1,"field":"a","salt":"0","value":1}]',
     b'[{"seq":1,"field":"a","salt":"' + b"0" * 64 + b'","value":1.5}]',
     b'[{"seq":1,"field":"a","salt":"' + b"0" * 64 + b'","value":1,"more":2}]',
     b'[{"seq":1,"seq":2,"field":"a","salt":"' + b"0" * 64 + b'","value":1}]', b"\xff"],
)  # fmt: skip
def test_what_is_no_list_of_revealed_values_is_refused(data):
    with pytest.raises(ChangedError, match="is no list of revealed values"):
        read_revealed(data)


def test_a_case_that_was_copied_without_its_private_folder_still_holds(record, tmp_path):
    from evidence.check import check_path

    copy = shutil.copytree(record.folder, tmp_path / "copy")
    shutil.rmtree(copy / "private")

    assert check_path(copy).result == "unchanged"
