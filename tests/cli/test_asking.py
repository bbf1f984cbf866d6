"""What a new case opens with: from a file, like another case, by the catalogue's own rules."""

import pytest

from evidence.case import Record
from evidence.cli.asking import default_rules, opening_from, opening_like
from evidence.entries import Rule
from evidence.envelope import read_body
from evidence.errors import RefusedError
from evidence.trade import load_catalogue
from tests.cli.conftest import OPENING


def test_the_party_stands_first_and_says_all_of_it():
    title, drafts = opening_from(OPENING)
    assert title == "Kestrel"
    assert [(draft.kind, draft.by) for draft in drafts] == [
        ("party", "owner"), ("rig", "owner"), ("rule", "owner"),
    ]  # fmt: skip


def test_rules_may_be_left_out():
    _, drafts = opening_from({name: OPENING[name] for name in ("title", "party", "rig")})
    assert [draft.kind for draft in drafts] == ["party", "rig"]


@pytest.mark.parametrize("missing", ["title", "party", "rig"])
def test_title_party_and_rig_are_needed(missing):
    with pytest.raises(RefusedError, match="needs a title, a party and a rig"):
        opening_from({name: value for name, value in OPENING.items() if name != missing})


def test_a_part_that_is_not_known_is_refused():
    with pytest.raises(RefusedError, match="Known: title, party, rig, rules"):
        opening_from(OPENING | {"zones": []})


def test_the_catalogues_standard_tasks_become_rules_that_say_they_are_defaults():
    rules = [read_body("rule", rule) for rule in default_rules("2025-01-05")]
    catalogue = load_catalogue()
    standard = {task for task, row in catalogue.tasks.items() if row.standard and row.days}
    assert all(isinstance(rule, Rule) for rule in rules)
    assert {rule.task for rule in rules} == standard
    for rule in rules:
        assert rule.basis == "tool-default"
        assert rule.days == catalogue.tasks[rule.task].days
        assert rule.authority.startswith("this program's default")


def test_another_case_gives_what_it_last_stated_without_the_papers_it_holds(own, run):
    run("enter", own, "paper", "type=manual", "title=Booklet")
    run("enter", own, "rule", "id=look-90", "task=inspection", "days=60", "authority=Booklet",
        "basis=paper-on-file", "paper=6", "applies_from=2025-06-01", "required=yes")  # fmt: skip
    run("enter", own, "wash", "when=2025-05-30", "zones=all")
    title, drafts = opening_like(Record.open(own))
    assert title == "Kestrel"
    assert [draft.kind for draft in drafts] == ["party", "rig", "rule"]
    assert drafts[2].body["days"] == 60
    assert "paper" not in drafts[2].body
