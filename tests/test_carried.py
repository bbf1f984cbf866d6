import json

import pytest

from evidence import carried
from evidence.case import Record
from evidence.errors import ChangedError, MissingError
from evidence.stored import Sum


@pytest.fixture
def record(case):
    return Record.open(case)


def test_the_record_and_its_heads_are_read_back_as_they_were_written(record):
    assert carried.split_lines(carried.record_bytes(record.lines)) == record.lines
    assert carried.split_notes(carried.heads_bytes(record.heads).decode()) == record.heads


def test_what_was_cut_off_is_told():
    with pytest.raises(ChangedError, match="does not end with a newline"):
        carried.split_lines(b"{}\n{")
    with pytest.raises(ChangedError, match="does not end with an empty line"):
        carried.split_notes("a\nb\nc\n\n- d\n")


def test_the_same_value_makes_the_same_document():
    assert carried.json_bytes({"b": 1, "a": "é"}) == carried.json_bytes({"a": "é", "b": 1})
    assert carried.json_bytes({"a": "é"}) == '{\n "a": "é"\n}\n'.encode()


def test_answers_bear_the_number_of_their_entry(record):
    found = list(carried.answers(record, record.entries))

    assert [answer.name for answer in found] == [
        "witness-10.tsr", "witness-12.tsr", "witness-16.tsr",
    ]  # fmt: skip
    second = carried.Answer(found[0].entry, found[0].body, 1, found[0].ref, found[0].path)
    assert second.name == "witness-10-2.tsr"


def test_an_answer_that_is_gone_is_missing(record):
    next(carried.answers(record, record.entries)).path.unlink()

    with pytest.raises(MissingError):
        list(carried.answers(record, record.entries))


def test_originals_are_every_other_file_once(record):
    answered = {answer.ref.sha256 for answer in carried.answers(record, record.entries)}
    named = [ref.sha256 for entry in record.entries for ref in entry.files]

    found = carried.originals([*record.entries, *record.entries])

    assert list(found) == [sha256 for sha256 in named if sha256 not in answered]


def test_an_original_is_named_by_its_sum_and_its_ending(record):
    sha256 = next(iter(carried.originals(record.entries)))
    path = carried.original_path(record, sha256)

    assert carried.original_name(sha256, path) == f"original-{sha256}.cer"
    assert path is not None
    path.unlink()
    assert carried.original_path(record, sha256) is None
    assert carried.original_name(sha256, None) == f"original-{sha256}.bin"


def test_the_manifest_has_the_form_of_the_contract(record):
    (ref,) = list(carried.originals(record.entries).values())[:1]
    row = carried.left_out_row(ref, cited=True)

    told = json.loads(carried.manifest_bytes("ab", {"a": Sum("cd", 5)}, [row], pack={"on": None}))

    assert told == {
        "catalogue": "ab",
        "files": {"a": {"sha256": "cd", "bytes": 5}},
        "left_out": [{"sha256": ref.sha256, "bytes": ref.bytes, "cited": True}],
        "pack": {"on": None},
    }  # OUTPUTS § 5
