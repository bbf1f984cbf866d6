from struct import pack
from types import SimpleNamespace

import pytest

from evidence.figures import style
from evidence.figures.style import (
    COPPER,
    COPPER_PALE,
    INK,
    MIDDLE_GREY,
    MUTED,
    PALE,
    PAPER,
    contrast,
    legible,
    register_fonts,
    runs,
    text_width,
)

PAGE = "#f7f8f6"  # ground of the web pages


def test_black_on_white_has_the_greatest_contrast_and_a_colour_on_itself_the_least():
    # WCAG 2.2, "contrast ratio": ranges from 1 to 21
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast(INK, INK) == 1


def test_a_grey_known_to_just_suffice_on_white_just_suffices():
    # #767676 on #ffffff is 4.54:1, #777777 is 4.48:1 (from memory: the usual example pair)
    assert contrast("#767676", PAPER) == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", PAPER) < 4.5


@pytest.mark.parametrize("colour", [INK, MUTED, COPPER])
@pytest.mark.parametrize("ground", [PAPER, PAGE, COPPER_PALE])
def test_every_colour_of_text_can_be_read_on_every_ground(colour, ground):
    assert contrast(colour, ground) >= 4.5


def test_text_that_would_be_faint_on_its_ground_turns_to_ink():
    assert legible(MUTED, PAPER) == MUTED
    assert legible(MUTED, PALE) == MUTED
    assert legible(MUTED, MIDDLE_GREY) == INK
    assert contrast(INK, MIDDLE_GREY) >= 4.5


def test_registering_the_fonts_twice_changes_nothing():
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    first = {name: pdfmetrics.getFont(name) for name in style.FONT_NAMES.values()}
    register_fonts()
    assert {name: pdfmetrics.getFont(name) for name in first} == first


def test_widths_are_those_that_the_pdf_will_draw():
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_fonts()
    for role, name in style.FONT_NAMES.items():
        assert text_width("Field, middle right 210 mm", role, 8.6) == pytest.approx(
            stringWidth("Field, middle right 210 mm", name, 8.6)
        )


def test_a_name_in_cyrillic_is_drawn_by_a_face_that_has_it():
    window, number = runs("Окно 1", "text")
    assert window.text == "Окно"
    assert window.font != style.FONT_NAMES["text"]
    assert number == (style.FONT_NAMES["text"], " 1")


def test_what_no_face_has_becomes_a_question_mark_and_is_measured_one_em_wide():
    assert runs("天窗 1", "text") == ((style.FONT_NAMES["text"], "?? 1"),)
    latin = text_width(" 1", "text", 10)
    assert text_width("天窗 1", "text", 10) == pytest.approx(20 + latin)


def test_trailing_glyphs_keep_their_advance_in_font_units():
    # hhea: numberOfHMetrics is the last of 18 shorts (OpenType, hhea); 2048 units an em
    face = SimpleNamespace(
        get_table=lambda _tag: bytes(34) + pack(">H", 2),
        hmetrics=[(1024, 10), (2048, 20), (1000.0, 30), (1000.0, 40)],
    )
    style._mend_metrics(face)
    assert face.hmetrics == [(1024, 10), (2048, 20), (2048, 30), (2048, 40)]


def test_a_missing_font_package_is_named_with_what_to_install(monkeypatch):
    import fontpkg

    from evidence.errors import MissingError

    def nothing(name, *_args, **_kwargs):
        raise fontpkg.FamilyNotInstalled(name)

    monkeypatch.setattr(fontpkg, "path", nothing)
    with pytest.raises(MissingError, match="fontpkg-atkinson-hyperlegible"):
        style._fonts.__wrapped__()
