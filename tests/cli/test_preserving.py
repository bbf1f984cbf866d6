"""`enter` before an entry that takes away what can still be seen of an incident."""

import unicodedata

import pytest

from evidence.case import Record
from evidence.dossier.wording import wording
from evidence.upkeep.preserving import PHOTO_SET, Lost
from tests.cli.conftest import last, state
from tests.making import picture

PATCH = ["repair", "when=2025-09-01", "zones=field-mr", "what=patch"]
HAIL = ["incident", "id=h1", "stated_cause=hail", "when=2025-09-01", "known=seen"]
WASH = ["wash", "when=2025-09-03", "zones=all"]
ELSEWHERE = ["wash", "when=2025-09-03", "zones=rail-left"]


@pytest.mark.parametrize(
    ("words", "takes"),
    [
        (PATCH, "this takes the torn edge and the old bead away"),
        (
            ["reseal", "when=2025-09-01", "zones=field-mr", "extent=spot", "family=unknown"],
            "this takes the torn edge and the old bead away",
        ),
        (
            ["custody", "when=2025-09-01", "item=vent lid", "action=discarded"],
            "a part goes that incident i1 may still need",
        ),
    ],
)
def test_it_halts_with_2_in_three_lines_and_writes_nothing(words, takes, case, run):
    before = state(case)
    for more in ([], ["--check-only"]):
        ran = run("enter", case, *words, *more)
        assert (ran.code, ran.out, len(ran.err.splitlines())) == (2, "", 3)
        assert takes in ran.err
        assert "--despite-warning" in ran.err
    assert state(case) == before


def test_the_missing_pictures_are_named_by_zone_and_those_on_record_are_not(case, run):
    taken, missing, _ = run("enter", case, *PATCH).err.splitlines()
    assert taken == (
        "repair: incident i1 stands open, and this takes the torn edge and the old bead away"
    )
    assert missing == (
        "Not on record yet: wide, middle and close with a scale of Field, middle right; "
        "an insurer's answer or look."
    )


def test_a_wash_after_hail_names_a_few_zones_and_counts_the_rest(case, run):
    zones = "front-strip,rail-left,rail-right,field-ml,skylight-1"
    assert run("enter", case, *HAIL, f"zones={zones}").code == 0
    err = run("enter", case, "wash", "when=2025-09-03", f"zones={zones}").err
    assert "wash: incident h1 stands open, and a wash takes the spatter away" in err
    assert "close with a scale of Front strip; " in err
    assert "pictures of 2 zones more; a close picture of the spatter." in err
    assert "insurer" not in err


def test_of_two_incidents_a_wash_takes_from_each_what_that_one_left(case, run):
    assert run("enter", case, *HAIL, "zones=skylight-1").code == 0
    assert (
        "wash: incident i1 stands open, and a wash takes the bark and sap in a scrape away; "
        "incident h1 stands open, and a wash takes the spatter away\n"
    ) in run("enter", case, *WASH).err


def test_it_says_that_the_pictures_are_entered_first_and_why_those_of_the_deed_do_not_count(
    case, run
):
    err = run("enter", case, *PATCH).err
    assert "Take and enter the pictures first, as an entry of their own" in err
    assert "nothing would say that they were taken before it" in err


def test_despite_the_warning_it_is_written_and_the_warning_stands_ahead_of_it(case, run):
    warned = run("enter", case, *PATCH).err.splitlines()
    heads = len(Record.open(case).heads)
    ran = run("enter", case, *PATCH, "--despite-warning")
    assert ran.code == 0
    assert ran.said.startswith("Entry 19 keeps the warning that was shown. Entry 20 is written")
    record = Record.open(case)
    note, deed = record.entries[-2:]
    assert (note.kind, deed.kind) == ("photos", "repair")
    assert (note.by, note.files) == (deed.by, ())
    assert all(line.rstrip(".") in str(note.raw["note"]) for line in warned[:2])
    assert "written all the same" in str(note.raw["note"])
    assert len(record.heads) == heads + 1


def test_a_program_is_told_which_entry_is_the_deed_and_which_the_warning(case, run):
    answer = run("enter", case, *PATCH, "--despite-warning", "--json").json
    assert (answer["seq"], answer["warning"]) == (19, 18)
    assert answer["sha256"] == Record.open(case).entries[19].sha256
    assert "warning" not in run("enter", case, *ELSEWHERE, "--json").json


def test_a_rehearsal_despite_the_warning_writes_nothing(case, run):
    before = state(case)
    ran = run("enter", case, *PATCH, "--despite-warning", "--check-only")
    assert (ran.code, ran.out) == (0, "It could be written.\n")
    assert state(case) == before


def test_where_nothing_is_at_risk_the_flag_adds_no_entry(case, run):
    size = len(Record.open(case).entries)
    assert run("enter", case, *ELSEWHERE, "--despite-warning").code == 0
    assert len(Record.open(case).entries) == size + 1


def test_a_covering_and_an_entry_about_an_earlier_time_go_on(case, run):
    cover = ["cover", "when=2025-09-01", "zones=field-mr", "what=tarp", "incidents=i1"]
    assert run("enter", case, *cover).code == 0
    earlier = ["repair", "when=2025-06-01", "zones=field-mr", "what=patch"]
    assert run("enter", case, *earlier).code == 0


def test_once_the_pictures_and_the_answer_are_there_it_goes_on(case, run, tmp_path):
    look = ["inspection", "when=2025-06-09T09:30", "means=ladder", "occasion=follow-up"]
    shots = []
    for grey, role in ((90, "wide"), (100, "middle"), (110, "close-scale")):
        path = picture(tmp_path / f"{role}.jpg", "2025:06:09 09:30:10", "-05:00", grey)
        shots += ["--photo", f"{path},zone=field-mr,role={role}"]
    assert run("enter", case, *look, "zones=field-mr:4", *shots).code == 0
    assert "Not on record yet: an insurer's answer or look." in run("enter", case, *PATCH).err
    notice = ["notice", "when=2025-06-20", "direction=received", "party=insurer", "type=reply"]
    assert run("enter", case, *notice, "incidents=i1").code == 0
    assert run("enter", case, *PATCH).code == 0
    assert last(case)["kind"] == "repair"


def test_text_that_is_not_in_normal_form_is_weighed_as_it_would_be_written(case, run):
    item = unicodedata.normalize("NFD", "Lüfterdeckel")
    custody = ["custody", "when=2025-09-01", f"item={item}", "action=discarded"]
    assert "a part goes" in run("enter", case, *custody).err
    assert run("enter", case, *custody, "--despite-warning").code == 0
    assert last(case)["body"]["item"] == "Lüfterdeckel"


def test_whatever_is_lost_or_missing_has_its_word():
    sections = wording("preserving").sections
    assert set(sections["takes"]) == set(Lost)
    assert set(sections["shot"]) == set(PHOTO_SET)
