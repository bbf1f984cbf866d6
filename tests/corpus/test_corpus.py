"""Everything in the corpus, by the program and by a second reader who knows its page alone."""

from functools import cache

import pytest

from evidence.check import check_path
from evidence.check.report import Report
from evidence.errors import RefusedError
from tests.corpus import make
from tests.corpus.bases import Bases
from tests.outside import second_reader
from tests.saving import saved

ALL = make.names()

ABSTAINS = {
    "letter": {5, 6},
    "letter-reworded": {5, 6},
    "cosigner": {5, 6},
    "cosigner-unknown": {5, 6},
    "cosigner-is-the-owner": {5, 6},
    "cosigner-of-another-time": {5, 6},
    "card-of-a-person": {6},
    "with-a-card": {6},
}
"""Where the second reader says that it could not look, though the program can: by row, no more."""


@cache
def made(name: str, bases: Bases) -> make.Item:
    return make.item(name, bases, bases.folder)


@cache
def checked(name: str, bases: Bases) -> Report | str:
    """What the program finds; its words where it refuses to look."""
    try:
        return check_path(made(name, bases).path)
    except RefusedError as error:
        return str(error)


def test_there_is_a_row_for_each_item_and_an_item_for_each_row():
    rows = make.table()
    wanted = {f"{of}/{row}" for row in rows["records"] for of in ("case", "pack")}
    wanted |= {f"{of}/{row}" for of in make.TARGETS for row in rows[f"{of}s"]}

    assert len(ALL) == len(set(ALL)) >= 40
    assert set(ALL) == wanted


@pytest.mark.parametrize("name", ALL)
def test_it_is_found_to_be_what_it_is(name, bases):
    expected, report = made(name, bases).expected, checked(name, bases)

    if isinstance(report, str):
        assert expected.result == "refused"
        assert expected.why in report
        return
    passed = ("ok", "not-checked")
    assert {s.n: s.found for s in report.steps if s.found not in passed} == expected.steps
    assert report.result == expected.result
    assert any(expected.why in step.detail for step in report.steps)


@pytest.mark.parametrize("name", ALL)
def test_a_second_reader_finds_the_same_in_every_step_that_he_takes(name, bases, tmp_path):
    item, report = made(name, bases), checked(name, bases)
    path = item.path if item.path.suffix != ".pdf" else saved(item.path, tmp_path)

    result, found = second_reader.check(path)

    if isinstance(report, str):
        assert result == "refused"
        return
    theirs = {step.n: step.found for step in report.steps if step.n in found}
    abstains = {n for n in found if found[n] == "not-checked" != theirs[n]}
    assert abstains == ABSTAINS.get(name.partition("/")[2], set())
    taken = {n: word for n, word in theirs.items() if n not in abstains}
    assert {n: word for n, word in found.items() if n not in abstains} == taken
    assert result == make.result_of(taken)
