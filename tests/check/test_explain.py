"""What `--explain` says: for each way in which a step can end, and for what was really found."""

import ast
import inspect
import tomllib
from dataclasses import replace

import pytest

from evidence.check import check_path, explain
from evidence.check.excerpt import check_excerpt
from evidence.check.explain import explained, situation
from evidence.check.record import check_record
from evidence.check.report import Found, Originals, Report
from evidence.resources import templates
from evidence.steps import steps
from tests.check.test_excerpt import cut_of
from tests.packing import packed
from tests.tampering import LATER, OPENING, keep_first

TEMPLATE = tomllib.loads((templates() / "check" / "explain.toml").read_text("utf-8"))


@pytest.fixture
def sample(built):
    return check_path(built)


def ways(report: Report) -> dict[int, str]:
    """How each step ended."""
    return {step.n: situation(report, step) for step in report.steps}


def test_every_step_is_explained_in_the_order_of_the_list():
    assert [row["n"] for row in TEMPLATE["step"]] == [step.n for step in steps()]


def test_every_ending_of_the_template_is_one_that_the_code_can_tell():
    """A row that nothing leads to would be read by nobody."""
    words = {
        node.value
        for node in ast.walk(ast.parse(inspect.getsource(explain)))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    told = words | {found.value for found in Found} | {"trusted", "untrusted", "sample"}
    assert {said["when"] for row in TEMPLATE["step"] for said in row["said"]} <= told
    assert set(TEMPLATE["results"]) <= told | {"unchanged", "incomplete"}


@pytest.mark.parametrize("n", range(1, 11))
@pytest.mark.parametrize("found", list(Found))
def test_no_ending_that_a_step_has_anywhere_is_without_words(sample, n, found):
    """Those that no check gives a step are told apart from those that lack their row."""
    never = {
        (1, "named"), (1, "not-checked"), (2, "named"), (2, "missing"), (2, "not-checked"),
        (3, "named"), (3, "missing"), (3, "not-checked"), (4, "missing"), (5, "ok"),
        (5, "not-checked"),
        (6, "missing"), (6, "changed"), (6, "not-checked"), (7, "not-checked"), (8, "named"),
        (8, "missing"), (9, "named"), (9, "missing"), (9, "not-checked"), (10, "named"),
        (10, "missing"),
    }  # fmt: skip
    ends = {said["when"] for said in TEMPLATE["step"][n - 1]["said"]}
    assert (found.value in ends) != ((n, found.value) in never)


def test_a_sample_is_said_to_have_an_outsider_who_vouches_for_nothing(sample):
    assert ways(sample)[5] == "sample"
    whole, rows = explained(sample)
    assert whole.startswith("What you were given holds together")
    assert [row.n for row in rows] == list(range(1, 9))
    assert "vouches for nothing" in rows[4].follows
    assert all(row.plain and row.follows and row.cannot and row.found for row in rows)


def test_a_record_that_no_outsider_saw_rests_on_its_keepers_word(case):
    keep_first(case, OPENING)
    report = check_path(case)

    assert (ways(report)[5], ways(report)[6]) == ("none", "no-outsider")
    _, rows = explained(report)
    assert "rest on its keeper's word and clock" in rows[4].follows
    assert "receipts" in rows[5].ask


def test_the_key_that_the_reader_was_told_is_worth_a_sentence(handed, owner, stranger):
    def told(report):
        return ways(Report("case", report, report.steps))[4]

    assert told(check_record(handed)) == "ok"
    assert told(check_record(handed, named=[owner.verifier])) == "key-named"
    assert told(check_record(handed, named=[stranger.verifier])) == "another-key"
    longer = handed.then("photos", {}, stranger, logged=LATER)
    assert told(check_record(longer)) == "changed"


def test_another_keys_record_is_told_in_the_first_sentence(handed, stranger):
    record = check_record(handed, named=[stranger.verifier])
    whole, _ = explained(Report("case", record, record.steps))

    assert "not signed with the key that you named" in whole


def test_steps_that_had_nothing_to_look_at_say_so(handed):
    record = check_record(replace(handed, lines=(b"no entry", *handed.lines[1:])))
    report = Report("case", record, record.steps)

    assert set(ways(report).values()) == {"changed", "not-reached"}
    assert explained(report)[1][2].follows == "Nothing: the entries could not be read."


def test_a_picture_that_is_gone_is_to_be_asked_for(case):
    next((case / "originals").glob("*.jpg")).unlink()
    report = check_path(case)
    whole, rows = explained(report)

    assert "not here" in whole
    assert (ways(report)[7], rows[6].ask[:3]) == ("missing", "Ask")


def test_a_dossier_is_explained_to_its_last_step(dossier, tmp_path):
    report = check_path(dossier)
    assert (ways(report)[9], ways(report)[10]) == ("ok", "ok")

    longer = tmp_path / "claim.pdf"
    longer.write_bytes(dossier.read_bytes() + b"\n")
    changed = check_path(longer)
    assert ways(changed)[9] == "changed"
    assert "not printed" in explained(changed)[1][8].ask


def test_a_pack_and_an_excerpt_are_told_apart(dossier, tmp_path):
    case = dossier.parent / "case"
    whole = check_path(packed(case, tmp_path / "whole.zip").path)
    part = check_path(packed(case, tmp_path / "part.zip", incident="i1").path)

    assert (ways(whole)[9], ways(part)[9], ways(part)[10]) == ("pack", "none", "not-checked")


def test_what_is_withheld_is_told_in_the_first_sentence(handed):
    kept = [seq for seq in range(len(handed.lines)) if seq != 8]
    record = check_excerpt(cut_of(handed, kept))
    part = Report("pack", record, record.steps)

    assert ways(part)[1] == "missing"
    assert explained(part)[0].startswith("You were given a part of a longer record")


def test_a_record_without_files_and_one_whose_files_were_left_out_are_no_case_of_all_is_here(
    sample,
):
    def told(**files):
        record = replace(sample.record, originals=Originals(**files))
        step = replace(next(step for step in sample.steps if step.n == 7), found=Found.OK)
        return situation(replace(sample, record=record), step)

    assert (told(), told(listed=3, present=3)) == ("none", "ok")
    assert told(listed=3, present=1, left_out=2) == "left-out"


def test_values_that_stay_sealed_are_the_keepers_right(sample):
    eighth = next(step for step in sample.steps if step.n == 8)
    sealed = replace(eighth, found=Found.NOT_CHECKED, detail="1 value stays sealed")

    assert situation(sample, eighth) == "none"
    assert situation(sample, sealed) == "not-checked"
