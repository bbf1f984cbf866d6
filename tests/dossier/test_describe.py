"""One line for each kind of entry: its facts, and what became of it."""

import pytest

from evidence.dossier.describe import describe, zone_names
from evidence.entries import BODIES
from evidence.trade import load_catalogue
from evidence.upkeep import History
from tests import examples
from tests.scenarios.build import RIG, Told, finding, history, look, photo, starter, tell

HOUSE: Told = RIG | {
    "name": "Wren",
    "zones": [
        {"id": "skylight-1", "type": "Z11", "label": "skylight"},
        {"id": "ceiling-1", "type": "Z25", "label": "galley ceiling"},
        {"id": "vent", "type": "Z13", "label": "ceiling vent"},
        {"id": "rail-left", "type": "Z05", "label": "left rail"},
    ],
}
ON = "2027-12-31"
CRACK = "crack through, pinhole or bubble"


def told(*entries: Told) -> History:
    return history([*starter(rig=HOUSE), *entries], ON, admitted=False)


RENAMED = {"of": 4, "set": {"name": "Wren II"}, "why": "the day was mistyped"}
"""Of the rig, which is entry 5 of the story."""


def line(kind: str, body: Told, **more: object) -> str:
    known = told(tell(kind, body, "2026-06-20T12:00:00Z", **more))
    return describe(known.items[-1], known, load_catalogue())


LINES = {
    "case": "Case opened: Wren's roof",
    "rig": "Rig stated: Wren, skylight",
    "party": "Party: M. Ashdown, owner",
    "key": "Key added, for log, the first",
    "rule": "Rule look-90: inspection within 90 days, maker's booklet, p. 14",
    "photos": "1 file sealed. from the camera's card",
    "label": "1 file described",
    "ownership": "Held by M. Ashdown from 1 Jul 2023 to 15 Aug 2025",
    "inspection": "Look, pole-camera, follow-up: skylight. "
    f"Found: {CRACK}, skylight. Looked at again: f0, gone, grade 0. Settled: f0",
    "wash": f"Wash: all zones, with soap. soft brush. Found: {CRACK}, skylight. Settled: f0",
    "treatment": "Treatment with a protectant: skylight",
    "reseal": "Reseal, strip, self-levelling: skylight, with lap sealant. Settled: f1",
    "repair": "Repair, new-roof: skylight. by a workshop",
    "cover": "Cover: skylight. sheet and tape",
    "trip": "Trip t1: out 1 Jun 2025, back 8 Jun 2025. to the lake",
    "storage": "Storage s1: from 1 Nov 2025 to 1 Mar 2026, open yard",
    "end": "End of t1",
    "incident": "Incident stated: branch; skylight. heard from inside",
    "reading": "Reading 24.0 % (wood-mc, pin) at galley ceiling, left of the skylight, "
    "against 11.0 %",
    "paper": "Paper, warranty: booklet, dated 1 Mar 2023 to 31 Mar 2023",
    "handover": "Hand-over, delivery: Ferndale Trailers to M. Ashdown",
    "deferral": "Deferred: inspection, unsafe: skylight. ice on the ladder",
    "custody": "Custody, kept: the torn piece; a box in the shed",
    "cost": "Cost: 234.50 USD. patch",
    "notice": "Notice sent, loss: Larkfield Mutual. A branch tore the roof",
    "weather": "Weather record, preliminary: storm reports",
    "correction": "Correction of entry 5: the day was mistyped",
    "clock": "Clock reset from 31 Dec 2025 18:00 to 31 May 2025 19:00: the clock ran ahead",
    "witness": "Time stamp, over 4 entries: a sample authority",
    "rehash": "The whole record hashed again",
    "issued": "Issued: claim dossier, for the adjuster",
}


def test_every_kind_has_its_line():
    assert LINES.keys() == BODIES.keys()


@pytest.mark.parametrize("kind", [kind for kind in LINES if kind != "rehash"])
def test_the_line_of_a_kind_holds_its_facts(kind):
    body = RENAMED if kind == "correction" else examples.BODIES[kind]
    files = [photo("2026:05:30 12:10:31", name="a.jpg")] if kind == "photos" else []
    assert line(kind, body, files=files) == LINES[kind]


BARE = {
    "key": ({"party": "owner", "event": "lost", "key": "k", "use": "log"}, "Key lost, for log"),
    "photos": ({}, "0 files sealed"),
    "ownership": (
        {"id": "o", "party": "owner", "from": "2023-07-01", "known_by": "scans"},
        "Held by M. Ashdown from 1 Jul 2023",
    ),
    "wash": ({"when": "2025-04-12", "zones": ["vent"]}, "Wash: ceiling vent"),
    "trip": ({"id": "t", "out": "2025-06-01T08:00-05:00"}, "Trip t: out 1 Jun 2025 08:00"),
    "storage": ({"id": "s", "from": "2025-11-01"}, "Storage s: from 1 Nov 2025"),
    "deferral": (
        {"when": "2025-12-01", "task": "wash", "why": "weather"},
        "Deferred: wash, weather",
    ),
    "issued": (
        {
            "form": "claim",
            "file": examples.SHA,
            "size": 4,
            "tallies": {},
            "catalogue": examples.SHA,
        },
        "Issued: claim dossier",
    ),
}


@pytest.mark.parametrize("kind", BARE)
def test_a_field_that_is_not_there_leaves_no_trace(kind):
    body, said = BARE[kind]
    assert line(kind, body) == said


def test_many_zones_are_counted_and_a_few_are_named():
    known = told()
    assert zone_names(["skylight-1", "vent"], known) == "skylight and ceiling vent"
    assert zone_names(["skylight-1", "vent", "rail-left", "ceiling-1"], known) == "4 zones"
    assert zone_names(["all"], known) == "all zones"


def test_a_correction_is_told_at_the_entry_and_its_line_says_the_corrected_facts():
    wash = tell("wash", {"when": "2025-04-12", "zones": ["vent"]}, "2025-04-12T23:00:00Z")
    change = {"of": 6, "set": {"zones": "all"}, "why": "the whole roof"}
    known = told(wash, tell("correction", change, "2025-04-13T12:00:00Z"))
    lines = [describe(item, known, load_catalogue()) for item in known.items[-2:]]
    assert lines == [
        "Wash: all zones. Corrected by entry 8",
        "Correction of entry 7: the whole roof",
    ]


def test_a_withdrawal_is_told_at_the_entry():
    wash = tell("wash", {"when": "2025-04-12", "zones": ["vent"]}, "2025-04-12T23:00:00Z")
    change = {"of": 6, "withdraw": True, "why": "another rig"}
    known = told(wash, tell("correction", change, "2025-04-13T12:00:00Z"))
    assert describe(known.items[-2], known, load_catalogue()) == (
        "Wash: ceiling vent. Withdrawn by entry 8"
    )


def known_findings() -> History:
    first = look(
        "2025-05-30",
        {"skylight-1": 3, "vent": 1},
        body={"findings": [finding("f1", "skylight-1"), finding("f2", "vent", 1, type="D01")]},
    )
    again = look(
        "2025-06-30",
        {"skylight-1": 4, "vent": 0},
        body={
            "rechecks": [
                {"finding": "f1", "state": "worse", "grade": 4},
                {"finding": "f2", "state": "gone", "grade": 0},
            ],
            "zones": [
                {"zone": "skylight-1", "grade": 4, "note": "wet below"},
                {"zone": "vent", "grade": 0},
            ],
        },
    )
    return told(first, again)


def test_what_is_looked_at_again_is_named_by_its_words():
    known = known_findings()
    assert describe(known.items[-1], known, load_catalogue()) == (
        f"Look, on-roof, routine: skylight and ceiling vent. Looked at again: {CRACK}, skylight, "
        "worse, grade 4; surface crazing, chalky bead, ceiling vent, gone, grade 0"
    )


def test_of_one_zone_a_look_says_its_grade_its_note_and_its_own_findings_only():
    known = known_findings()
    first, again = (
        describe(item, known, load_catalogue(), only="skylight-1") for item in known.items[-2:]
    )
    assert first == f"Look, on-roof, routine: grade 3, open path. Found: {CRACK}, skylight"
    assert again == (
        f"Look, on-roof, routine: grade 4, urgent (wet below). Looked at again: {CRACK}, "
        "skylight, worse, grade 4"
    )


def test_a_look_that_lists_another_zone_only_says_so():
    known = known_findings()
    assert describe(known.items[-1], known, load_catalogue(), only="rail-left") == (
        "Look, on-roof, routine: not among its zones"
    )


def test_a_sealed_value_is_not_shown():
    body = examples.BODIES["paper"] | {"number": {"sealed": examples.SHA}}
    assert examples.SHA not in line("paper", body)


def test_a_long_text_is_cut_to_its_beginning():
    body = RENAMED | {"why": "because " * 400}
    said = line("correction", body)
    assert said.startswith("Correction of entry 5: because because")
    assert len(said) < 300
