"""A challenge in words: its sentence, its answers, and what could still be done."""

import json

from evidence.dossier.challenged import as_json, challenged
from evidence.dossier.wording import wording
from evidence.trade import load_catalogue
from evidence.upkeep.challenge import Grave, How, Kind, Step
from evidence.upkeep.preserving import WARNED
from tests.dossier.claims import RULE, after, before, claim, incident
from tests.dossier.printing import printed, sheet, squeezed, texts
from tests.scenarios.build import Told, finding, look, photo, tell


def said(*told: Told, **more: object):
    standing, facts = claim(*told, **more)
    return challenged(standing, facts, load_catalogue())


def points(*told: Told, **more: object) -> list[str]:
    return [row.point.text for row in said(*told, **more)]


def test_every_kind_answer_step_and_grade_has_its_sentence_and_no_other_has():
    sections = wording("challenge").sections
    assert sections["challenge"].keys() == set(Kind)
    assert sections["answer"].keys() == set(How)
    assert sections["today"].keys() == set(Step)
    assert sections["grave"].keys() == {str(int(grave)) for grave in Grave}


def test_a_gap_is_told_with_its_deed_its_days_and_its_deferral():
    put_off = {"when": "2025-04-10", "task": "inspection", "why": "ill"}
    rows = said(tell("deferral", put_off, "2025-04-10T20:00:00Z"), before(), incident(), after(),
                rules=[RULE | {"zones": ["field-mr"]}])  # fmt: skip
    (row,) = (row for row in rows if row.challenge.kind is Kind.GAP)
    assert row.point.text == (
        "145 days without a look at field, middle right, from 5 January 2025 to 30 May 2025: "
        "55 days over the rule of 90 days."
    )
    assert [answer.text for answer in row.answers] == [
        "A deferral says why; it does not close the gap."
    ]
    assert row.cites == (5, 7, 6)


def test_an_answer_for_one_of_several_zones_names_those_that_it_leaves_open():
    mended = {"when": "2025-06-10", "zones": ["field-mr"], "what": "patch"}
    torn = [finding("f3", "field-mr", 4, type="D12"), finding("f4", "vent", 4, type="D12")]
    body = {"occasion": "after-event", "findings": torn, "incidents": ["i1"]}
    rows = said(
        before(),
        incident(zones=["field-mr", "vent"]),
        look("2025-06-09", {"field-mr": 4, "vent": 4}, body=body),
        tell("repair", mended, "2025-06-10T23:00:00Z"),
    )
    (row,) = (row for row in rows if row.challenge.kind is Kind.NO_COVER)
    assert [answer.text for answer in row.answers] == [
        "It was repaired; of ceiling vent that says nothing."
    ]
    (shown,) = (one for one in as_json(rows) if one["kind"] == "no-cover")
    assert shown["answers"][0]["leaves"] == ["vent"]


def test_every_kind_of_what_came_after_the_work_has_its_whole_sentence():
    lot = {"when": "2025-06-12", "zones": ["field-mr"], "extent": "spot", "family": "unknown",
           "expires": "2025-05-01"}  # fmt: skip
    soft = finding("f9", "field-mr", 4, type="D17", related=["f3"])
    wet = {"when": "2026-03-21", "zone": "field-mr", "spot": "left", "value_pct10": 240,
           "scale": "wood-mc", "meter": "pin"}  # fmt: skip
    texts = points(
        before(),
        incident(),
        after(),
        tell(
            "photos", {"note": f"{WARNED} this takes the torn edge of i1"}, "2025-06-12T22:59:00Z"
        ),
        tell("reseal", lot, "2025-06-12T23:00:00Z"),
        look("2026-03-21", {"field-mr": 4}, body={"findings": [soft]}),
        tell("reading", wet, "2026-03-21T23:00:00Z"),
        on="2026-04-01",
    )
    assert {
        "Written all the same, although what it takes away was on the screen: reseal.",
        "Field, middle right: mended before any insurer's answer or look is on record.",
        "Sealed from a lot whose last day was 1 May 2025: field, middle right.",
        "Seen 286 days after the stated time: soft spot, field, middle right.",
        "Read as raised 286 days after the stated time: field, middle right, left.",
    } <= set(texts)


def test_what_nothing_answers_says_so():
    rows = said(before(), incident(), after())
    (row,) = (row for row in rows if row.challenge.kind is Kind.NO_COVER)
    assert [answer.text for answer in row.answers] == ["No answer."]
    assert row.today == ("Cover it now, with the time and the cost.",)


def test_of_many_pictures_a_few_are_named():
    many = [photo(f"2016:01:0{n} 00:00:00", name=f"{n}.jpg") for n in range(1, 7)]
    assert "The camera's clock is not relied on: 1.jpg, 2.jpg, 3.jpg, 4.jpg and 2 more." in points(
        before(files=many), incident(), after()
    )


def test_a_program_is_given_kind_gravity_entries_answers_and_steps():
    rows = said(before(), incident(), after())
    document = json.loads(json.dumps(as_json(rows)))
    assert len(document) == len(rows)
    assert document[0] == {
        "kind": "no-witness-before",
        "grave": 1,
        "text": "No outsider vouches for anything before the stated time.",
        "entries": [],
        "answers": [],
        "today": [
            {
                "step": "witness-now",
                "text": "Have an outsider witness the record now: "
                "it vouches from today on, not before.",
            }
        ],
        "about": {},
    }


def test_the_annex_prints_every_point_and_cites_its_entries():
    ctx = sheet(*claim(before(files=[]), incident(), after()))
    pages = squeezed("".join(texts(printed(ctx))))
    assert all(squeezed(row.point.text) in pages for row in ctx.challenged)
    assert {seq for row in ctx.challenged for seq in row.cites} <= set(ctx.cited)


def test_an_annex_that_is_left_out_says_so_and_says_nothing_else():
    from dataclasses import replace

    whole = sheet(*claim(before(files=[]), incident(), after()))
    bare = replace(whole, with_challenge=False)
    pages = squeezed("".join(texts(printed(bare))))
    assert squeezed("This part was left out by whoever issued this file.") in pages
    assert not any(squeezed(row.point.text) in pages for row in whole.challenged)
