"""The pages of a claim, laid out without a case on disk."""

import re

import pytest

from evidence.dossier.exhibits import letter
from evidence.dossier.sheets import Carried
from evidence.dossier.sheets.context import gaps_listed
from evidence.photos.signals import Question, Signal
from evidence.trade import load_catalogue
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, crowded, incident, notice
from tests.dossier.printing import CARRIED, previews, printed, sheet, squeezed, texts
from tests.scenarios.build import LOOK_90, Told, finding, look, photo, tell

NAMES = {
    "one long word": ("x" * 3900, "y" * 3900),
    "many words": (("a corner of the roof " * 10).strip(), ("and on it went " * 260).strip()),
    "Greek": (("Νότια γωνία της στέγης " * 9).strip(), ("ρωγμή " * 300).strip()),
    "Cyrillic": (("Северный угол крыши " * 10).strip(), ("трещина " * 300).strip()),
    "Chinese and Japanese": ("屋根の天窓" * 40, "雨漏り" * 300),
    "markup": ("<b>&amp;</b> " * 15 + "end", "</para><font size=900>" * 60),
}


def full_story() -> list[Told]:
    """Something for every part: open before, a gap, a late log, a trip, a hand of pictures."""
    crack = finding("f1", "vent", 3, note="at the rear edge")
    soft = finding("f9", "field-mr", 3, type="D02", related=["f3"])
    return [
        look("2025-02-01", FIELD),
        tell("trip", {"id": "t0", "out": "2025-02-05", "back": "2025-02-10"},
             "2025-02-11T20:00:00Z"),
        look("2025-02-12", {"vent": 0}),
        look("2025-03-05", FIELD | {"skylight": 0, "vent": 3}, body={"findings": [crack]},
             witness=True),
        tell("wash", {"when": "2025-04-12", "zones": "all"}, "2025-05-20T20:00:00Z"),
        tell("trip", {"id": "t1", "out": "2025-05-01", "back": "2025-05-04"},
             "2025-05-21T20:00:00Z"),
        before(grades=FIELD | {"skylight": 0, "vent": 3}, witness=True),
        incident(zones=["field-mr", "skylight"]),
        after(files=[photo("2025:06:08 17:45:00", offset="-05:00", zone="field-mr", role="close",
                           name="close.jpg"),
                     photo("2025:06:08 17:46:00", offset="-05:00", zone="field-mr", role="wide",
                           name="wide.jpg"),
                     photo("2016:02:03 10:00:00", incidents=["i1"], name="undated.jpg")]),
        cover(logged="2025-06-08T23:40:00Z"),
        notice(),
        tell("deferral", {"when": "2025-09-20", "task": "inspection", "why": "ill"},
             "2025-09-20T20:00:00Z"),
        look("2025-10-01", FIELD | {"skylight": 0, "vent": 3}, body={"findings": [soft]}),
    ]  # fmt: skip


AFTER_TRIP = LOOK_90 | {"id": "after-trip", "task": "after-trip", "days": 7, "zones": ["vent"]}


def full(paper: str = "letter"):
    rule = RULE | {"zones": ["field-mr"]}
    standing, facts = claim(*full_story(), rules=[rule, AFTER_TRIP])
    return sheet(standing, facts, paper)


def cited_on(text: str) -> set[int]:
    """The entry numbers behind every "entry" and "entries" of a text."""
    found: set[int] = set()
    for numbers in re.findall(r"entr(?:y|ies) (\d+(?:, \d+)*)", text):
        found.update(int(number) for number in numbers.split(", "))
    return found


def table_of_entries(pages: list[str]) -> str:
    text = " ".join(pages)
    return text[text.index("Entries cited") : text.index("What this file can and cannot show")]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_every_statement_of_the_first_page_stands_on_the_first_two(paper):
    ctx = full(paper)
    pages = squeezed("".join(texts(printed(ctx))[:2]))
    assert [said for said in ctx.opening.sentences() if squeezed(said) not in pages] == []


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595.28, 841.89))])
def test_every_page_has_the_size_of_its_paper(paper, size):
    reader = printed(full(paper))
    assert len(reader.pages) > 3
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            size, abs=0.01
        )


def test_every_entry_that_a_page_cites_stands_in_the_list_of_entries():
    ctx = full()
    pages = texts(printed(ctx))
    listed = {seq + 1 for seq in ctx.cited}
    assert len(cited_on(" ".join(pages))) > 10
    # the key that signs is named by the signature's words, not by the claim
    assert cited_on(" ".join(pages)) - listed <= {CARRIED.key_entry + 1}


def test_the_list_has_a_line_for_each_entry_cited():
    ctx = full()
    table = squeezed(table_of_entries(texts(printed(ctx))))
    from evidence.dossier.describe import describe

    for item in ctx.history.items:
        if item.seq in ctx.cited:
            line = describe(item, ctx.history, ctx.catalogue)
            assert squeezed(f"{item.entry.number} {line}") in table


def test_the_gaps_of_a_rule_for_looks_are_listed_with_the_look_that_ends_each():
    ctx = full()
    text = " ".join(texts(printed(ctx)))
    (measured,) = (row for row in ctx.rules if row.rule.id == "look-90")
    for gap in gaps_listed(measured):
        assert gap.closed_by is None or gap.closed_by in ctx.cited
        assert set(gap.deferrals) <= set(ctx.cited)
    assert "look-90: field, middle right" in text
    assert "115 days" in text  # 8 June to 1 October
    assert "25 days" in text
    assert "still open" in text


def test_a_duty_stands_with_its_event_and_how_it_was_met():
    ctx = full()
    text = " ".join(texts(printed(ctx)))
    assert "What had to follow an event" in text
    assert re.search(
        "after-trip entry 14 4 May 2025 11 May 2025 26 days looked at entry 15 no", text
    )


def test_what_was_seen_later_is_linked_with_its_days():
    """8 June to 1 October: 22 + 31 + 31 + 30 + 1 = 115 days."""
    text = " ".join(texts(printed(full())))
    assert "crack through, pinhole or bubble, field, middle right, grade 3: 115 days after" in text
    assert "A later finding is linked, never merged." in text


def test_an_entry_says_when_it_lies_between_which_answers_and_when_it_is_late():
    table = table_of_entries(texts(printed(full())))
    assert "5 Mar 2025 18:00 before 5 Mar 2025" in table or "before 5 Mar 2025" in table
    assert "38 days later" in table  # the wash of 12 April, logged on 20 May
    assert "after 30 May 2025" in table
    assert "5 Mar 2025 and 30 May 2025" in table


def test_without_an_outsider_no_entry_lies_between_any():
    standing, facts = claim(before(), incident(), after())
    table = table_of_entries(texts(printed(sheet(standing, facts))))
    assert table.count("nobody vouches for this date") == len(sheet(standing, facts).cited)


def test_a_zone_without_looks_is_said_to_have_none_on_either_side():
    standing, facts = claim(incident(zones=["vent"]), before())
    text = " ".join(texts(printed(sheet(standing, facts))))
    assert "no look before on record" in text
    assert "not looked at" in text


def test_a_look_before_that_was_logged_afterwards_is_shown_and_not_counted():
    standing, facts = claim(incident(), after(), before(logged="2025-06-20T12:00:00Z"))
    text = " ".join(texts(printed(sheet(standing, facts))))
    assert "no look before counts: logged only afterwards entry 9" in text


def test_a_claim_without_findings_has_no_page_of_findings():
    standing, facts = claim(
        before(), incident(), look("2025-06-09", FIELD, body={"incidents": ["i1"]})
    )
    text = " ".join(texts(printed(sheet(standing, facts))))
    assert "When each finding was first seen" not in text
    assert "Nothing further was seen in these zones" in text


def test_a_rule_that_another_replaced_is_listed_with_its_last_day():
    wider = RULE | {"days": 180, "applies_from": "2025-07-01"}
    standing, facts = claim(
        before(), incident(), after(), tell("rule", wider, "2025-07-01T12:00:00Z")
    )
    text = " ".join(texts(printed(sheet(standing, facts))))
    assert "In force until 30 Jun 2025." in text
    assert "inspection, 180 days" in text


def test_what_stood_open_beyond_the_first_page_is_listed_with_the_findings():
    many = [
        finding(f"f{n}", "vent", 1 + n % 3, type="D02", note=f"crack {n}") for n in range(10, 17)
    ]
    standing, facts = claim(
        before(grades=FIELD | {"vent": 3}, body={"findings": many}), incident(), after()
    )
    pages = texts(printed(sheet(standing, facts)))
    assert "And 3 more, listed with the findings." in pages[0]
    assert all(f"crack {n}." in " ".join(pages[1:]) for n in range(10, 17))


def test_files_left_out_are_counted_and_the_attached_listed():
    standing, facts = claim(before(), incident(), after())
    carried = Carried([("record.jsonl", 1_234_567, "the whole record")], 3, 1)
    text = " ".join(texts(printed(sheet(standing, facts), carried)))
    assert "Left out, listed with their sums in manifest.json: 3 files" in text
    assert "record.jsonl the whole record 1,234,567" in text


def test_the_care_pages_hold_every_caution_and_the_footer():
    text = squeezed(" ".join(texts(printed(full()))))
    catalogue = load_catalogue()
    assert [c.text for c in catalogue.cautions.values() if squeezed(c.text) not in text] == []
    assert squeezed(catalogue.footer) in text


def test_the_first_page_names_the_page_on_checking():
    pages = texts(printed(full()))
    named = int(re.search(r"page (\d+) says what that means", pages[0])[1])
    assert "How to check this file" in pages[named - 1]


def test_exhibits_are_lettered_after_the_first_page_and_stand_once(tmp_path):
    ctx = full()
    assert [exhibit.letter for exhibit in ctx.exhibits] == [
        letter(place) for place in range(4, 4 + len(ctx.exhibits))
    ]
    sums = [picture.file.sha256 for picture in ctx.pictures()]
    assert len(sums) == len(set(sums)) == 4
    shown = sheet(ctx.standing, ctx.facts, shown=previews(ctx, tmp_path))
    assert sum(len(page.images) for page in printed(shown).pages) == 4


def test_a_picture_that_cannot_be_shown_says_so():
    pages = texts(printed(full()))
    assert " ".join(pages[1:]).count("This file cannot be shown.") == 2


@pytest.mark.parametrize("kind", NAMES)
def test_a_crowded_roof_under_long_names_is_laid_out(kind, tmp_path):
    name, text = NAMES[kind]
    standing, facts = crowded(name, text)
    ctx = sheet(standing, facts, "a4")
    assert len(ctx.pictures()) == 60
    shown = sheet(standing, facts, "a4", previews(ctx, tmp_path))
    pages = texts(printed(shown))
    assert len(pages) > 15
    if kind != "Chinese and Japanese":  # no face has them: they are drawn as question marks
        opening = squeezed("".join(pages[:2]))
        assert [said for said in ctx.opening.sentences() if squeezed(said) not in opening] == []


def test_what_the_pictures_shown_leave_open_stands_below_them_in_two_parts():
    close = photo(
        "2025:06:08 17:45:00", offset="-05:00", zone="field-mr", role="close", name="a.jpg"
    )
    close["camera"] |= {"Software": "GIMP 2.10.36"}
    standing, facts = claim(before(), incident(), after(files=[close]))
    seen = (Question(Signal.BLURRED, close["sha256"], facts.zones[0].after.seq),)
    shown = squeezed(" ".join(texts(printed(sheet(standing, facts, seen=seen)))[1:]))
    said = [
        "What these pictures leave open",
        "No figure of this file changes by it.",
        "Its Software tag reads: GIMP 2.10.36.",
        "Asked of the pixels, on the machine of whoever issued this file.",
        "No part of it is sharp.",
    ]
    places = [shown.index(squeezed(text)) for text in said]
    assert places == sorted(places)


def test_pictures_that_raise_nothing_are_said_to():
    close = photo(
        "2025:06:08 17:45:00", offset="-05:00", zone="field-mr", role="close", name="a.jpg"
    )
    standing, facts = claim(before(), incident(), after(files=[close]))
    shown = squeezed(" ".join(texts(printed(sheet(standing, facts)))))
    assert squeezed("these pictures raise none") in shown
