"""What holds of every form that is about the whole record."""

import pytest

from evidence.check import check_path
from evidence.check.report import Result
from evidence.dossier import layout
from evidence.dossier.openings import BRIEFS, MADE
from evidence.dossier.sheets import Sheet, sheet_for
from evidence.words import Form
from tests.dossier.claims import claim
from tests.dossier.printing import CARRIED, printed, squeezed, texts
from tests.dossier.test_sheets import cited_on, full_story
from tests.forging import issued
from tests.scenarios.build import measured, starter

FORMS = sorted(BRIEFS)


def sheet(form: Form, paper: str = "letter") -> Sheet:
    standing, _ = claim(*full_story())
    return sheet_for(form, standing, None, layout.grid(paper))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("form", FORMS)
def test_every_statement_of_the_first_page_stands_on_it(form, paper):
    ctx = sheet(form, paper)
    first = squeezed(texts(printed(ctx))[0])

    assert [said for said in ctx.opening.sentences() if squeezed(said) not in first] == []


@pytest.mark.parametrize("form", FORMS)
def test_every_entry_that_a_page_cites_stands_in_the_list_of_entries(form):
    ctx = sheet(form)
    listed = {seq + 1 for seq in ctx.cited}
    cited = cited_on(" ".join(texts(printed(ctx))))

    assert cited
    assert cited - listed <= {CARRIED.key_entry + 1}


@pytest.mark.parametrize("form", FORMS)
def test_no_page_judges(form):
    said = " ".join(texts(printed(sheet(form)))).lower()

    for word in ("neglect", "admissible", "verified damage", "caused by", "score", "failed"):
        assert word not in said, word


@pytest.mark.parametrize("form", FORMS)
def test_what_leaves_is_found_unchanged_its_figures_computed_again(form, case, tmp_path):
    report = check_path(issued(case, tmp_path / f"{form}.pdf", form=form, incident=None))

    assert report.result is Result.UNCHANGED
    assert report.figures_match == "yes"


@pytest.mark.parametrize("form", FORMS)
def test_a_record_with_nothing_but_its_beginning_has_its_pages_too(form):
    standing = measured(starter(), "2025-11-03")
    ctx = sheet_for(form, standing, None, layout.grid("letter"))
    first = squeezed(texts(printed(ctx))[0])

    assert [said for said in ctx.opening.sentences() if squeezed(said) not in first] == []


def test_the_forms_made_are_those_of_the_contract():
    assert set(MADE) <= set(Form)
