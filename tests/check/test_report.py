import json
from datetime import UTC, datetime

import pytest

from evidence.check.pdf_signature import SignatureReport
from evidence.check.report import (
    Found,
    Originals,
    RecordReport,
    Report,
    Result,
    StepReport,
    WitnessReport,
    as_json,
    listed,
)
from evidence.witness import Trust

NOON = datetime(2025, 6, 1, 12, tzinfo=UTC)


def report_of(*found: Found) -> Report:
    steps = tuple(StepReport(n, how, "") for n, how in enumerate(found, start=1))
    return Report("case", RecordReport(steps), steps)


def witness(size: int, trust: Trust | None, seq: int = 9) -> WitnessReport:
    result = Found.CHANGED if trust is None else Found.OK
    return WitnessReport(seq, "rfc3161", size, NOON, "Authority", trust, result)


@pytest.mark.parametrize(
    ("found", "result", "code"),
    [
        ((Found.OK, Found.OK), Result.UNCHANGED, 0),
        ((Found.OK, Found.NAMED), Result.UNCHANGED, 0),
        ((Found.OK, Found.NOT_CHECKED), Result.UNCHANGED, 0),
        ((Found.OK, Found.MISSING), Result.INCOMPLETE, 3),
        ((Found.OK, Found.CHANGED), Result.CHANGED, 4),
        ((Found.CHANGED, Found.MISSING), Result.CHANGED, 4),
        ((Found.MISSING, Found.NAMED), Result.INCOMPLETE, 3),
    ],
)
def test_the_gravest_step_decides_the_result_and_its_exit_code(found, result, code):
    report = report_of(*found)

    assert report.result is result
    assert report.result.exit_code == code


def test_a_step_bears_the_name_that_it_has_everywhere():
    named = [StepReport(n, Found.OK, "").name for n in range(1, 11)]

    assert named == [
        "entries",
        "chain",
        "heads",
        "keys",
        "witnesses",
        "brackets",
        "originals",
        "sealed values",
        "dossier signature",
        "figures",
    ]  # OUTPUTS § 3


@pytest.mark.parametrize(
    ("rows", "size"),
    [
        ([], None),
        ([witness(9, None)], None),
        ([witness(3, Trust.SAMPLE), witness(9, Trust.SAMPLE)], 9),
        ([witness(3, Trust.TRUSTED), witness(9, Trust.UNTRUSTED)], 3),
        ([witness(3, Trust.TRUSTED), witness(9, Trust.SAMPLE)], 3),
        ([witness(3, Trust.SAMPLE), witness(9, Trust.UNTRUSTED)], 3),
        ([witness(3, Trust.UNTRUSTED), witness(9, None)], 3),
    ],
)
def test_the_anchor_is_the_widest_answer_of_those_trusted_most(rows, size):
    anchor = Report("case", RecordReport((), witnesses=tuple(rows)), ()).anchor

    assert (None if anchor is None else anchor.size) == size


def test_the_document_of_a_case_has_every_field_of_the_contract():
    record = RecordReport(
        (),
        case_id="0" * 32,
        sample=True,
        entries=41,
        root="ab",
        first_bad_seq=None,
        heads=40,
        signed_by=("key",),
        witnesses=(witness(38, Trust.SAMPLE),),
        originals=Originals(57, 12, 44, ("aa",), ()),
    )
    document = as_json(Report("case", record, (StepReport(1, Found.OK, "41 entries"),)))

    assert json.loads(json.dumps(document)) == {
        "target": "case",
        "sample": True,
        "result": "unchanged",
        "anchored_to": {"time": "2025-06-01T12:00:00Z", "size": 38, "trust": "sample"},
        "steps": [{"n": 1, "name": "entries", "result": "ok", "detail": "41 entries"}],
        "ledger": {"case_id": "0" * 32, "entries": 41, "root": "ab", "first_bad_seq": None},
        "heads": {"count": 40, "signed_by": ["key"], "bad": [], "not_signed_by": []},
        "witnesses": [
            {
                "type": "rfc3161",
                "size": 38,
                "time": "2025-06-01T12:00:00Z",
                "name": "Authority",
                "trust": "sample",
                "result": "ok",
            }
        ],
        "originals": {
            "listed": 57,
            "present": 12,
            "left_out": 44,
            "missing": ["aa"],
            "changed": [],
            "unnamed": [],
        },
        "dossier": None,
        "pack": None,
        "earlier": None,
    }  # OUTPUTS § 3


def test_the_document_of_a_dossier_tells_of_its_signature():
    signature = SignatureReport(
        is_dossier=True,
        signed=True,
        intact=True,
        covers_whole_file=True,
        signer="A. Holder",
        certificate_sha256="0" * 64,
        level="B-B",
        time=NOON,
    )
    document = as_json(Report("dossier", RecordReport(()), (), signature, "yes"))

    assert document["dossier"] == {
        "signer": "A. Holder",
        "intact": True,
        "covers_whole_file": True,
        "level": "B-B",
        "time": "2025-06-01T12:00:00Z",
        "later_changes": [],
        "figures_match": "yes",
    }
    assert document["anchored_to"] is None


def test_a_list_is_cut_after_three_and_says_how_many_more_there_are():
    assert listed(["a", "b", "c"]) == "a; b; c"
    assert listed(["a", "b", "c", "d", "e"]) == "a; b; c; and 2 more"
    assert listed([]) == ""
