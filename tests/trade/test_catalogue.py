"""The catalogue against rows retyped by hand from the trade sheet (TRADE §§ 1-8)."""

import re

import pytest
from pydantic import ValidationError

from evidence import words as w
from evidence.errors import EvidenceError
from evidence.resources import templates
from evidence.trade import Letter, PointsTo, load_catalogue
from evidence.trade.rows import Borne

SHIPPED = templates() / "catalogue"
TABLES = (
    "surfaces",
    "families",
    "zone_types",
    "findings",
    "tasks",
    "observations",
    "caution_rows",
    "grades",
    "limits",
    "profiles",
    "packages",
    "practice",
    "moisture_bands",
    "corrections",
    "sizes",
)

# TRADE § 2, columns horizontal, vertical or sloped, EPDM, TPO, PVC, gelcoat, aluminium, coated.
FIT = {
    "self-levelling": "YNYYCYYC",
    "non-sag": "CYYYCYYC",
    "silicone": "NNNNNCCC",
    "polyurethane": "CYCCCYYC",
    "hybrid": "CYCCCYYC",
    "butyl-tape": "YYYYYYYC",
    "putty-tape": "--NNNCCC",
    "faced-tape": "YCYYCYYC",
    "household-acrylic": "NNNNNNNN",
}
SURFACES = ("epdm", "tpo", "pvc", "gelcoat", "aluminium", "coated")

# TRADE § 4: grade and days; after a slash the second grade and its days.
FINDINGS = """
D01 1 90 | D02 3 7 | D03 3 7 | D04 3 7 | D05 3 3 | D06 2 14 | D07 3 7 | D08 3 7 | D09 2 60 / 3 7
D10 1 90 | D11 3 7 | D12 4 1 | D13 3 7 | D14 1 90 / 3 7 | D15 2 30 | D16 1 60 | D17 4 7 | D18 2 30
D19 4 1 | D20 3 7 | D21 3 7 | D22 1 30 | D23 2 30 | D24 2 7 / 3 7 | D25 1 90 / 3 7
D26 2 30 / 3 7 | D27 2 14 | D28 4 1 | D29 3 7 | D30 4 7
"""

# TRADE, "Sources": the numbers that are listed there.
LISTED = {
    f"S{number}"
    for number in (
        *range(1, 11),
        *range(12, 17),
        *range(18, 23),
        *(24, 26, 27, 28, 29, 31, 32, 33, 34, 35, 36, 38, 39, 40, 41, 42, 44, 46, 47),
        *range(49, 60),
        *range(61, 65),
    )
}
# What SUMS names: the sums rest on these.
SUMMED = {
    "heat-index",
    "alduchov-eskridge",
    "cartridge-sizes",
    "coating-practice",
    "gtr-229",
    "id-1",
    "james",
    "kiln-manual",
    "meter-manual",
    "simpson",
    "us-mint",
    "waste-guide",
    "wood-handbook-4",
}


# --- what it holds ---------------------------------------------------------------------------


def test_the_tables_have_the_rows_that_the_record_can_name():
    catalogue = load_catalogue()
    assert list(catalogue.zone_types) == [f"Z{number:02}" for number in range(1, 28)]
    assert list(catalogue.findings) == [f"D{number:02}" for number in range(1, 31)]
    assert list(catalogue.surfaces) == list(w.Surface)
    assert list(catalogue.families) == list(w.Family)
    assert set(catalogue.tasks) == set(w.Task)
    assert {grade: row.word for grade, row in catalogue.grades.items()} == {
        0: "sound",
        1: "watch",
        2: "maintain",
        3: "open path",
        4: "urgent",
    }
    assert all(row.word == w.Grade(grade).word for grade, row in catalogue.grades.items())


def test_no_word_of_a_grade_says_more_than_each_of_its_findings():
    """TRADE § 4: grade 4 is leaking, structural or unsafe; a soft spot was not seen to leak."""
    catalogue = load_catalogue()
    soft = catalogue.findings["D17"]
    assert (soft.words, soft.grade) == ("soft spot", 4)
    assert "leak" not in catalogue.grades[w.Grade.URGENT].word
    assert "Leaking, structural or unsafe" in catalogue.grades[w.Grade.URGENT].sentence


def test_every_row_says_what_it_rests_on():
    catalogue = load_catalogue()
    rows = [row for table in TABLES for row in getattr(catalogue, table).values()]
    assert len(rows) > 100
    assert all(isinstance(row, Borne) and row.rests_on for row in rows)
    marks = {
        match
        for path in SHIPPED.glob("*.toml")
        for match in re.findall(r'basis = "(.*?)"', path.read_text(encoding="utf-8"))
    }
    assert marks == {"common practice, no source", "from memory"}


def test_the_sources_are_those_listed_and_every_citation_is_among_them():
    assert set(load_catalogue().sources) == LISTED | SUMMED
    for path in SHIPPED.glob("*.toml"):
        assert set(re.findall(r'"(S\d+)"', path.read_text(encoding="utf-8"))) <= LISTED


def test_no_word_judges_the_keeper():
    judging = re.compile(
        r"neglect|\bpass(es|ed)?\b|\bfail|\bscore|verified damage|admissible", re.IGNORECASE
    )
    for path in SHIPPED.glob("*.toml"):
        assert judging.search(path.read_text(encoding="utf-8")) is None, path.name


def test_only_the_roof_zones_are_closed_to_a_look_from_the_ground():
    zones = load_catalogue().zone_types
    assert {zone for zone, row in zones.items() if not row.on_roof} == {"Z25", "Z26", "Z27"}
    assert zones["Z11"].label == "skylight"
    assert zones["Z11"].usual_slopes == (w.Slope.FLAT,)


def test_default_days_are_those_of_the_trade():
    tasks = load_catalogue().tasks
    assert {task: row.days for task, row in tasks.items()} == {
        "inspection": 90,
        "wash": 365,
        "treatment": 365,
        "reseal": None,
        "moisture": 365,
        "after-trip": 7,
        "after-event": 2,
        "before-storage": 14,
        "out-of-storage": 14,
        "after-reseal": 3,
        "before-warranty-end": 30,
    }
    after_reseal = tasks[w.Task.AFTER_RESEAL]
    assert (after_reseal.from_days, after_reseal.again_at_days) == (1, 30)


def test_sealing_and_warranty_tasks_are_not_named_as_missing():
    tasks = load_catalogue().tasks
    assert {task for task, row in tasks.items() if not row.standard} == {
        "reseal",
        "after-reseal",
        "before-warranty-end",
    }


@pytest.mark.parametrize(
    ("key", "points_to", "source"),
    [
        ("tear-edge-sharp", "sudden", ("S39",)),
        ("tear-edge-weathered", "long-term", ("S39",)),
        ("path-single", "sudden", ()),
        ("ageing-everywhere", "long-term", ()),
        ("scrape-front-to-rear", "sudden", ()),
        ("scrape-vertical", "sudden", ()),
        ("scrape-bark-or-sap", "sudden", ()),
        ("neighbours-hit", "sudden", ()),
        ("neighbours-intact", "long-term", ()),
        ("fasteners-bright", "sudden", ()),
        ("fasteners-rusted", "long-term", ("S39",)),
        ("stain-single", "sudden", ()),
        ("stain-rings", "long-term", ("S40",)),
        ("wood-wet-firm", "sudden", ()),
        ("wood-soft", "long-term", ()),
        ("wood-dark-cubed", "long-term", ()),
        ("old-repair-none", "sudden", ()),
        ("old-beads-layered", "long-term", ()),
        ("hail-spatter", "sudden", ()),
        ("hail-fractures", "sudden", ("S41",)),
        ("hail-dents-old", "long-term", ("S42",)),
        ("wind-edge-lifted", "sudden", ()),
        ("wind-insert-blown", "sudden", ()),
        ("wind-adhesive-let-go", "long-term", ()),
    ],
)
def test_an_observation_points_where_the_trade_points(key, points_to, source):
    row = load_catalogue().observations[key]
    assert (row.points_to, row.source) == (PointsTo(points_to), source)
    assert row.pitfall


def test_the_footer_is_no_caution():
    catalogue = load_catalogue()
    assert catalogue.footer == (
        "Maker's manual, local code and licensed trades override this tool. "
        "Not legal or insurance advice."
    )
    assert "footer" not in catalogue.cautions
    assert len(catalogue.cautions) == 9


def test_cautions_go_with_the_task_and_the_means():
    catalogue = load_catalogue()

    def texts(task, means=None):
        shown = catalogue.cautions_for(task, means)
        return {key for key, row in catalogue.cautions.items() if row in shown}

    assert "ladder" in texts(w.Task.INSPECTION)
    assert texts(w.Task.INSPECTION, w.Means.DRONE) == {"not-comfortable"}
    assert texts(w.Task.RESEAL, w.Means.LADDER) >= {"ladder", "vapour"}
    assert "tree-or-line" in texts(w.Task.AFTER_EVENT)
    assert "tree-or-line" not in texts(w.Task.WASH)


# --- sealant fit -----------------------------------------------------------------------------


def worse(*letters):
    known = [letter for letter in letters if letter != "-"]
    return max(known, key="YCN".index)


@pytest.mark.parametrize("family", FIT)
def test_fit_is_the_worse_of_the_slope_and_the_surface_column(family):
    horizontal, vertical, *by_surface = FIT[family]
    fit = load_catalogue().fit
    for surface, letter in zip(SURFACES, by_surface, strict=True):
        here = w.Family(family), w.Surface(surface)
        assert fit(*here, w.Slope.FLAT).letter == worse(horizontal, letter)
        assert fit(*here, w.Slope.SLOPED).letter == worse(vertical, letter)
        assert fit(*here, w.Slope.VERTICAL).letter == worse(vertical, letter)


def test_silicone_on_a_flat_tpo_skylight_is_not_suitable():
    # TRADE § 10, case 6.
    fit = load_catalogue().fit(w.Family.SILICONE, w.Surface.TPO, w.Slope.FLAT)
    assert fit.letter is Letter.N
    assert fit.reason == "silicone on a flat place: not suitable; on TPO: not suitable"
    assert fit.source == "common practice, no source"


@pytest.mark.parametrize(
    ("family", "surface", "slope", "note", "source"),
    [
        ("self-levelling", "epdm", "vertical", "(runs)", "common practice, no source"),
        ("polyurethane", "tpo", "vertical", "(primer)", "common practice, no source"),
        ("putty-tape", "epdm", "flat", "(bleeds oil)", "S20"),
        ("silicone", "coated", "flat", "(silicone coats only)", "common practice, no source"),
        ("faced-tape", "coated", "flat", "(N over silicone)", "common practice, no source"),
        ("silicone", "epdm", "flat", "not suitable", "common practice, no source; S2"),
        ("butyl-tape", "epdm", "flat", "under a flange only", "common practice, no source; S20"),
    ],
)
def test_the_reason_keeps_the_note_and_the_deciding_source(family, surface, slope, note, source):
    fit = load_catalogue().fit(w.Family(family), w.Surface(surface), w.Slope(slope))
    assert note in fit.reason
    assert fit.source == source


def test_an_unknown_surface_leaves_the_slope_to_decide_and_says_so():
    fit = load_catalogue().fit(w.Family.SELF_LEVELLING, w.Surface.UNKNOWN, w.Slope.VERTICAL)
    assert fit.letter is Letter.N
    assert fit.reason.endswith("on a surface that is not known: the table is silent")


def test_an_unrecorded_slope_counts_only_where_every_slope_has_the_same_letter():
    fit = load_catalogue().fit
    assert fit(w.Family.SILICONE, w.Surface.GELCOAT, None).letter is Letter.N
    depends = fit(w.Family.NON_SAG, w.Surface.EPDM, None)
    assert depends.letter is Letter.Y
    assert "on a slope that is not on record: the table is silent" in depends.reason


@pytest.mark.parametrize(
    ("family", "surface"),
    [("unknown", "tpo"), ("unknown", "unknown"), ("putty-tape", "unknown")],
)
def test_where_the_table_is_silent_the_label_decides(family, surface):
    fit = load_catalogue().fit(w.Family(family), w.Surface(surface), w.Slope.FLAT)
    assert fit.letter is Letter.C
    assert fit.reason.endswith("the label decides")
    assert fit.source == "common practice, no source"


def test_a_word_that_the_catalogue_lacks_is_refused():
    catalogue = load_catalogue()
    with pytest.raises(EvidenceError, match="surface slate"):
        catalogue.fit(w.Family.SILICONE, "slate", w.Slope.FLAT)
    with pytest.raises(EvidenceError, match="finding D31"):
        catalogue.act_within("D31", 3)


# --- findings --------------------------------------------------------------------------------


@pytest.mark.parametrize("row", re.split(r"[|\n]", FINDINGS.strip()))
def test_grades_and_days_are_those_of_the_trade(row):
    catalogue = load_catalogue()
    first, _, second = row.partition("/")
    key, grade, days = first.split()
    finding = catalogue.findings[key]
    assert finding.grade == int(grade)
    assert catalogue.act_within(key, int(grade)) == int(days)
    assert (finding.grade_if is not None) == bool(second)
    if second:
        grade, days = second.split()
        assert finding.grade_if.grade == int(grade)
        assert catalogue.act_within(key, int(grade)) == int(days)


def test_a_grade_above_the_second_has_the_days_of_the_second():
    assert load_catalogue().act_within("D14", 4) == 7


def test_a_grade_that_the_row_does_not_foresee_keeps_its_days():
    assert load_catalogue().act_within("D01", 3) == 90


@pytest.mark.parametrize(
    ("key", "when"),
    [
        ("D09", "lifting"),
        ("D14", "growing"),
        ("D24", "fractured"),
        ("D25", "open"),
        ("D26", "split"),
    ],
)
def test_the_graver_grade_names_its_condition(key, when):
    assert load_catalogue().findings[key].grade_if.when == when


def test_nothing_in_the_catalogue_can_be_changed():
    catalogue = load_catalogue()
    with pytest.raises(TypeError):
        catalogue.findings["D01"] = catalogue.findings["D02"]
    with pytest.raises(TypeError):
        catalogue.families[w.Family.SILICONE].surfaces[w.Surface.TPO] = None
    with pytest.raises(ValidationError):
        catalogue.findings["D01"].grade = w.Grade.SOUND
