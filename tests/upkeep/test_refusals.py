"""What somebody is told whose entry is not taken: the thing, what is wrong, what to do."""

from copy import deepcopy
from typing import Any

import pytest

from evidence.errors import RefusedError
from evidence.upkeep import Known, admit
from tests.examples import BODIES
from tests.scenarios.build import RIG, START, ZONES, Told, build, finding, look, starter, tell
from tests.upkeep.fitting import BEFORE, INCIDENT, NOW, with_body
from tests.upkeep.telling import handed_over

DIGEST = "ab" * 32
ENDS_EARLY = "Give the earlier time first."
AHEAD = "Write what was done, not what is planned; or mend the clock."
STARTS = "a record starts with its one case entry"


def refusal(*told: Told) -> tuple[str, str, str]:
    with pytest.raises(RefusedError) as caught:
        build([*deepcopy(BEFORE), *told])
    return caught.value.args


def correct(of: int, logged: str = NOW, **body: Any) -> Told:
    return tell("correction", {"of": of, "why": "mistyped", **body}, logged)


@pytest.mark.parametrize(
    ("told", "refused"),
    [
        (with_body("rehash"), ("kind 'rehash'",
         ("is reserved for a record hashed again with a newer algorithm; "
         "no record of format 1 holds one"),
         "Where somebody hands you one, look for a newer version of this program.")),
        (tell("case", BODIES["case"], NOW), ("kind 'case'", STARTS, "")),
        (look("2025-02-09") | {"by": "x"},
         ("field 'by'", "'x' is not known", "Known: dealer, insurer, owner.")),
        (tell("incident", INCIDENT, NOW),
         ("incident: field 'id'", "'i1' is taken", "Choose another id.")),
        (look("2025-02-09", body={"findings": [finding("f1")]}),
         ("inspection: field 'findings'", "'f1' is taken",
          "Use `rechecks` for a finding that was seen before.")),
        (look("2025-02-11", logged=NOW),
         ("inspection: field 'when'", "2025-02-11 lies ahead of the clock (2025-02-10T12:00:00Z)",
          AHEAD)),
        (with_body("trip", out="2025-02-08", back="2025-02-07"),
         ("trip: field 'back'", "2025-02-07 lies before its start, 2025-02-08", ENDS_EARLY)),
        (with_body("storage", to="2025-02-07"),
         ("storage: field 'to'", "2025-02-07 lies before its start, 2025-02-08", ENDS_EARLY)),
        (with_body("label", of=[DIGEST]),
         ("label: field 'of'", "no file abababababab… is in the record", "")),
        (with_body("label", camera={"Make": "A"}),
         ("label: field 'camera'",
          "a camera's tags are read from its file, nobody tells them", "")),
        (with_body("end", of="t9"),
         ("end: field 'of'", "'t9' is not known", "Known: t1.")),
        (with_body("end", when="2025-02-03"),
         ("end: field 'when'", "2025-02-03 lies before its start, 2025-02-04", ENDS_EARLY)),
        (tell("rig", RIG | {"id": "kestrel"}, NOW),
         ("rig: field 'id'", "this record is about the rig 'wren'", "Start another case.")),
        (tell("rig", RIG | {"zones": [*ZONES, ZONES[1]]}, NOW),
         ("rig: field 'zones'", "'skylight' stands there twice", "")),
        (correct(99, withdraw=True),
         ("correction: field 'of'", "99 is not known",
          "Known: 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10.")),
        (correct(0, set={"title": "x"}),
         ("correction: field 'of'", "a case entry is not corrected", "")),
        (correct(6, set={"wether": "x"}),
         ("correction: field 'set'", "inspection has no field 'wether'", "")),
        (correct(7, set={"id": "i2"}),
         ("correction: field 'set'", "'id' says what the entry is about and stays",
          "Withdraw the entry and write another.")),
        (correct(4, withdraw=True),
         ("correction: field 'withdraw'", "without its first rig the record is about nothing",
          "Correct its fields, or state the rig again.")),
        (correct(6, set={"when": "2025-02-05"}),
         ("correction of entry 7: field 'when'",
          "2025-02-05 lies ahead of the clock (2025-02-01T23:59:00Z)", AHEAD)),
        (correct(9, set={"back": "2025-02-01"}),
         ("correction of entry 10: field 'back'",
          "2025-02-01 lies before its start, 2025-02-04", ENDS_EARLY)),
        (correct(6, set={"incidents": ["i9"]}),
         ("correction of entry 7: field 'incidents'", "'i9' is not known", "Known: i1.")),
    ],
)  # fmt: skip
def test_it_is_told_what_is_wrong_and_what_to_do(told: Told, refused: tuple[str, str, str]):
    assert refusal(told) == refused


def test_a_hand_over_is_corrected_by_a_new_one():
    told = (handed_over("dealer", "owner"), correct(11, "2025-06-12T12:00:00Z", withdraw=True))
    assert refusal(*told) == (
        "correction: field 'of'",
        "a hand-over was signed by both sides",
        "Write a new hand-over that both sign.",
    )


def test_an_entry_ahead_of_the_case_is_refused():
    with pytest.raises(RefusedError) as caught:
        admit(Known(), build([look("2025-01-05") | {"logged": START}], admitted=False)[1])
    assert caught.value.args == ("kind 'inspection'", STARTS, "")


@pytest.mark.parametrize("stated", ["again", "by a correction"])
def test_a_zone_with_an_open_finding_is_settled_first(stated: str):
    without = [zone for zone in ZONES if zone["id"] != "skylight"]
    change = (
        tell("rig", RIG | {"zones": without}, NOW)
        if stated == "again"
        else correct(4, set={"zones": without})
    )
    *written, last = build([*deepcopy(BEFORE), change])
    with pytest.raises(RefusedError) as caught:
        admit(Known.of(written), last, open_findings={"f1": "skylight"})
    assert caught.value.args == (
        "rig: field 'zones'",
        "'skylight' has the open finding 'f1' and cannot be dropped",
        "Settle the finding first, or keep the zone.",
    )


@pytest.mark.parametrize("between", [[], [with_body("cost")]])
def test_a_correction_of_an_earlier_rig_drops_no_zone_of_the_one_stated_since(between: list[Told]):
    without = [zone for zone in ZONES if zone["id"] != "skylight"]
    told = [*starter(rules=[]), *between, tell("rig", RIG, NOW), correct(4, set={"zones": without})]
    *written, last = build(told)
    admit(Known.of(written), last, open_findings={"f1": "skylight"})


def test_a_correction_may_relate_the_findings_that_it_adds_to_each_other():
    added = [finding("f1"), finding("f2", related=["f3"]), finding("f3")]
    assert len(build([*deepcopy(BEFORE), correct(6, set={"findings": added})])) == 12


def test_what_stands_ahead_of_the_rig_may_be_corrected_before_it_is_stated():
    told = [starter()[0], correct(1, START, set={"name": "M. Ashdowne"})]
    assert [entry.kind for entry in build(told)] == ["case", "party", "correction"]


def test_where_nothing_is_known_yet_the_answer_says_so():
    with pytest.raises(RefusedError) as caught:
        build([*starter(), with_body("cost", papers=[3])])
    assert caught.value.args == ("cost: field 'papers'", "3 is not known", "Known: none yet.")


def test_of_many_that_are_known_twelve_are_listed():
    parties = [
        tell("party", {"id": f"p{n:02}", "name": f"P {n}", "role": "owner"}, NOW) for n in range(12)
    ]
    _, _, known = refusal(*parties, with_body("notice", party="x"))
    assert known == f"Known: dealer, insurer, owner, {', '.join(f'p{n:02}' for n in range(9))}."
