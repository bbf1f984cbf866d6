"""The sheet for a round: cautions first, every zone with its boxes, no evidence."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from evidence.dossier.pocket.sheet import pages_of
from evidence.trade import load_catalogue
from evidence.words import Means
from tests.dossier.pocket.rigs import bare, forty_zones, looks, sheet, standing_of
from tests.dossier.printing import squeezed
from tests.scenarios.build import ZONES, Told, finding, look, tell

ZONES_40 = forty_zones()


def read(data: bytes) -> PdfReader:
    return PdfReader(BytesIO(data))


class Said:
    """What the pages say, whatever its line breaks and spaces."""

    def __init__(self, data: bytes) -> None:
        self.text = squeezed("".join(page.extract_text() for page in read(data).pages))

    def __contains__(self, words: str) -> bool:
        return squeezed(words) in self.text

    def index(self, words: str) -> int:
        return self.text.index(squeezed(words))


def said(data: bytes) -> Said:
    return Said(data)


def pages(*told: Told, zones: list[Told] = ZONES, paper: str = "letter", **rig: object) -> bytes:
    return pages_of(sheet(standing_of(zones, told=told, **rig), paper))


@pytest.mark.parametrize(("paper", "size"), [("letter", (612.0, 792.0)), ("a4", (595.28, 841.89))])
def test_forty_zones_with_pictures_flow_to_three_pages_of_either_paper(paper, size):
    standing = standing_of(ZONES_40, told=looks(ZONES_40))
    reader = read(pages_of(sheet(standing, paper, pictured=40)))
    assert len(reader.pages) == 3
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            size, abs=0.01
        )


def test_a_rig_of_twenty_six_zones_fits_both_sides_of_one_sheet():
    zones = [*ZONES_40[:24], *ZONES_40[-2:]]
    told = (look("2025-07-14", {zone["id"]: 0 for zone in zones}),)
    standing = standing_of(zones, told=told)
    assert len(read(pages_of(sheet(standing, pictured=14))).pages) == 2


@pytest.mark.parametrize("zones", [ZONES_40, bare(ZONES_40)], ids=["measured", "no measure"])
def test_every_zone_stands_in_the_list_once_with_its_number(zones):
    standing = standing_of(zones, told=looks(zones))
    made = sheet(standing)
    text = said(pages_of(made))
    for stop in made.planned.stops:
        label = stop.place.zone.label
        assert f"{stop.number} no picture {label[0].upper()}{label[1:]} " in text
    assert [stop.number for stop in made.planned.stops] == list(range(1, 41))


def test_the_cautions_stand_before_the_plan_and_the_list():
    text = said(pages())
    rows = load_catalogue().cautions
    for name in ("ladder", "factory-ladder", "wet-roof", "heat", "power", "flue",
                 "not-comfortable"):  # fmt: skip
        assert text.index(rows[name].text) < text.index("Where to walk")
    assert text.index("Where to walk") < text.index("Then the middle")


def test_it_says_on_every_page_that_it_is_no_evidence_and_what_overrides_it():
    for page in read(pages(*looks(ZONES_40), zones=ZONES_40)).pages:
        text = squeezed(page.extract_text())
        assert squeezed("a working sheet, no evidence") in text
        assert squeezed(load_catalogue().footer) in text
    assert "Nothing on this sheet is evidence" in said(pages())


@pytest.mark.parametrize(
    ("rig", "told", "why"),
    [
        ({"walkable": "unknown"}, (), "the roof is not on record as walkable"),
        (
            {},
            (tell("storage", {"id": "s", "from": "2025-08-01"}, "2025-08-01T22:00:00Z"),),
            "in storage since 1 August 2025 (entry 6)",
        ),
    ],
)
def test_where_nobody_should_climb_it_says_so_and_names_other_ways(rig, told, why):
    text = said(pages(*told, **rig))
    assert f"Nobody should climb: {why}." in text
    assert "pole camera, drone, a dealer's platform or a dated deferral." in text


def test_where_nobody_should_climb_no_walk_is_drawn_up_and_no_climb_can_be_marked():
    text, free = said(pages(walkable="no")), said(pages())
    for only in ("Where to look, from a safe place", "From safe places: first along the edge",
                 "an order of looking from safe places, no walk"):  # fmt: skip
        assert only in text
        assert only not in free
    for never in (
        "Where to walk",
        "First round the edge",
        "Walk along the edge",
        "on the roof ladder",
    ):
        assert never not in text
        assert never in free
    assert "by which means a dealer's platform pole camera drone" in text


@pytest.mark.parametrize("rig", [{}, {"walkable": "no"}])
def test_to_put_it_off_can_always_be_marked_with_its_reason(rig):
    assert "put off, because" in said(pages(**rig))


SOFT = look(
    "2025-06-10",
    {"field-mr": 4},
    body={"findings": [finding("s1", "field-mr", 4) | {"type": "D17"}]},
)


def test_a_soft_spot_is_kept_off_before_every_other_caution_and_at_its_own_stop():
    text, first = said(pages(SOFT)), "Nobody steps on it or climbs there"
    assert text.index(first) < text.index(load_catalogue().cautions["ladder"].text)
    assert (
        "KEEP OFF. Look from: pole camera, drone, a dealer's platform or a dated deferral." in text
    )
    gone = look(
        "2025-07-10",
        {"field-mr": 0},
        body={"rechecks": [{"finding": "s1", "state": "gone", "grade": 0}]},
    )
    after = said(pages(SOFT, gone))
    assert "KEEP OFF" not in after
    assert first not in after


def test_inside_there_is_a_box_for_it_and_a_line_for_a_reading():
    text = said(pages(zones=ZONES_40))
    assert "pole camera drone from inside put off, because" in text
    assert "moisture, % dry place, % air its humidity, %" in text
    outside = said(pages(zones=ZONES_40[:-2]))
    assert "from inside" not in outside
    assert "dry place, %" not in outside


def test_a_finding_is_listed_again_with_its_size_grade_and_day():
    text = said(pages(*looks(ZONES_40), zones=ZONES_40))
    assert "Crack through, pinhole or bubble, 1 9/16 × 1/8 in, 1 watch, since 14 Jul 2025" in text
    metric = said(pages(*looks(ZONES_40), zones=ZONES_40, paper="a4"))
    assert "Crack through, pinhole or bubble, 40 × 3 mm, 1 watch, since 14 Jul 2025" in metric
    assert "8 findings to look at again" in text
    assert "nothing to look at again" in said(pages())


def test_a_zone_that_was_never_looked_at_says_so_and_is_proposed_all_the_same():
    text = said(pages(look("2025-06-10", {"skylight": 1})))
    assert "Skylight 1 watch, 10 Jun 2025" in text
    assert "Ceiling vent not looked at yet" in text
    assert "Every zone of the rig is proposed again; none is taken as looked at" in text


def test_the_day_of_the_card_is_told_only_where_there_is_an_answer_to_put_on_it():
    assert "card of" not in said(pages())
    text = said(pages(look("2025-06-10", witness=True)))
    assert "Lay the card here card of 10 June 2025" in text


def test_the_means_to_tick_are_those_by_which_a_roof_may_be_looked_at():
    text = said(pages())
    assert "by which means on the roof ladder a dealer's platform pole camera drone" in text
    assert {Means.GROUND, Means.INSIDE} == set(Means) - {
        Means.ON_ROOF, Means.LADDER, Means.PLATFORM, Means.POLE_CAMERA, Means.DRONE,
    }  # fmt: skip


def test_every_font_on_it_is_embedded():
    made = sheet(standing_of(ZONES_40, told=looks(ZONES_40)), pictured=3)
    for page in read(pages_of(made)).pages:
        fonts = page["/Resources"]["/Font"]
        for font in fonts.values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_the_same_record_gives_the_same_pages():
    assert pages() == pages()


def test_a_name_of_any_length_and_letters_breaks_no_page():
    zones = [{**zone, "label": "屋根の上の 窓 & <b> " * 40} for zone in ZONES]
    assert "…" in said(pages(zones=zones))
