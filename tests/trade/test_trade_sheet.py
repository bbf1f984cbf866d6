"""The catalogue against the trade sheet itself: its tables are read row by row."""

import re

import pytest

from evidence import words as w
from evidence.trade import load_catalogue

CATALOGUE = load_catalogue()
COLUMNS = {
    "EPDM": "epdm",
    "TPO": "tpo",
    "PVC": "pvc",
    "gelcoat": "gelcoat",
    "aluminium": "aluminium",
    "coated": "coated",
}
FAMILIES = {
    "self-levelling lap": "self-levelling",
    "non-sag lap": "non-sag",
    "silicone": "silicone",
    "polyurethane": "polyurethane",
    "silyl-ended hybrid": "hybrid",
    "butyl tape, under a flange only": "butyl-tape",
    "oil-based putty tape": "putty-tape",
    "faced repair tape": "faced-tape",
    "household acrylic caulk": "household-acrylic",
}
SOURCE = re.compile(r"\bS\d+\b")


@pytest.fixture(scope="module")
def sheet(shared_trade):
    return (shared_trade / "TRADE.md").read_text(encoding="utf-8")


def table(sheet, head):
    """The rows below the table's head, as lists of cells."""
    lines = iter(sheet.splitlines())
    first = next(line for line in lines if line.startswith(f"| {head}"))
    next(lines)
    found = [[cell.strip() for cell in first.strip("|\n ").split("|")]]
    for line in lines:
        if not line.startswith("|"):
            break
        found.append([cell.strip() for cell in line.strip("|\n ").split("|")])
    return found


def cell_as_told(cell):
    """Letter and note of a cell such as `N (bleeds oil) [S20]`; None where it is a dash."""
    told = SOURCE.sub("", cell).replace("[]", "").strip()
    if told == "–":
        return None
    if told == "silicone coats only":
        return ("C", told)
    letter, _, note = told.partition(" ")
    if letter.endswith(";"):
        return (letter[0], note)
    return (letter, note.strip("()") or None)


def test_every_cell_of_the_fit_table_is_in_the_catalogue(sheet):
    head, *rows = table(sheet, "family | horizontal")
    assert len(rows) == len(FAMILIES)
    for name, *cells in rows:
        family = CATALOGUE.families[w.Family(FAMILIES[name])]
        for column, text in zip(head[1:], cells, strict=True):
            if column == "horizontal":
                ours = family.horizontal
            elif column == "vertical or sloped":
                ours = family.vertical_or_sloped
            else:
                ours = family.surfaces[w.Surface(COLUMNS[column])]
            told = cell_as_told(text)
            assert (ours and (ours.letter, ours.note)) == told, (name, column)
            if ours:
                assert list(ours.source) == SOURCE.findall(text), (name, column)


def test_every_finding_is_in_the_catalogue_with_its_grade_and_days(sheet):
    _, *rows = table(sheet, "id | finding")
    assert [row[0] for row in rows] == list(CATALOGUE.findings)
    for key, _, _, grades, _, days in rows:
        row = CATALOGUE.findings[key]
        first, _, second = grades.partition(";")
        assert int(first) == row.grade
        assert (row.grade_if is not None) == bool(second)
        counts = [int(part) for part in days.split(";")]
        assert counts[0] == row.act_within_days
        if row.grade_if is not None:
            grade, when = second.split(maxsplit=1)
            assert int(grade) == row.grade_if.grade
            assert when.removeprefix("if ") == row.grade_if.when
            assert counts[-1] == row.grade_if.act_within_days


def test_every_source_of_a_surface_is_in_the_catalogue(sheet):
    _, *rows = table(sheet, "surface (spec)")
    assert len(rows) == len(CATALOGUE.surfaces) - 1
    for told, row in zip(rows, CATALOGUE.surfaces.values(), strict=False):
        for text, claims in zip(
            told[1:], (row.life, row.care, row.avoid, row.tell_tale), strict=True
        ):
            cited = {source for claim in claims for source in claim.source}
            assert cited == set(SOURCE.findall(text)), (row.label, text)
            memory = any("from memory" in (claim.basis or "") for claim in claims)
            assert memory == ("[M]" in text or "[M:" in text), (row.label, text)


def test_every_observation_is_in_the_catalogue_with_its_pitfall(sheet):
    _, *rows = table(sheet, "seen | points to sudden")
    abouts = {row.about for row in CATALOGUE.observations.values()}
    assert {row[0] for row in rows} == abouts
    for about, *told, _ in rows:
        cited = {
            s for row in CATALOGUE.observations.values() if row.about == about for s in row.source
        }
        assert cited == set(SOURCE.findall(" ".join(told)))
    assert all(row.pitfall for row in CATALOGUE.observations.values())


def test_every_zone_is_in_the_catalogue(sheet):
    part = sheet.partition("## 3. Zones")[2].partition("## 4.")[0]
    assert set(re.findall(r"Z\d\d", part)) == set(CATALOGUE.zone_types)


def test_every_source_is_in_the_catalogue(sheet):
    listed = sheet.partition("## Sources")[2]
    singles = set(SOURCE.findall(listed))
    for first, last in re.findall(r"\bS(\d+)–S(\d+)\b", listed):
        singles |= {f"S{number}" for number in range(int(first), int(last) + 1)}
    ours = {source for source in CATALOGUE.sources if SOURCE.fullmatch(source)}
    assert ours == singles


def test_the_bands_of_moisture_are_those_of_the_sheet(sheet):
    part = sheet.partition("## 5. Intervals")[2].partition("## 6.")[0]
    edges = re.search(r"0–(\d+) normal, \1–(\d+) re-test, \2–(\d+) investigate, over \3", part)
    assert edges is not None
    ours = [row.up_to_pct10 for row in CATALOGUE.moisture_bands.values()]
    assert ours == [*(int(edge) * 10 for edge in edges.groups()), None]
