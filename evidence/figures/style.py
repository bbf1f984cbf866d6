"""Ink, paper, type and fonts: the one place where the look of figures and pages is set.

Sizes are in points. The fonts come as PyPI packages under the Open Font Licence: Atkinson
Hyperlegible for text, IBM Plex Mono for hashes, file names and entry references. A character that
the first face of a role lacks is taken from the next one in its chain; Greek, Cyrillic and arrows
are found in IBM Plex Sans where `fontpkg-ibm-plex-sans` is installed. What no face has (Chinese,
Japanese and Korean among others) is drawn as "?" in a PDF and left to the browser in an SVG.
"""

from collections.abc import Mapping
from functools import cache, lru_cache
from itertools import groupby
from struct import unpack
from typing import TYPE_CHECKING, Literal, NamedTuple

from evidence.errors import MissingError

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont, TTFontFace

INK = "#1d2422"
MUTED = "#5d6663"
HAIRLINE = "#c9cfcc"
FAINT = "#e3e7e5"
PALE = "#e9ece9"
COPPER = "#8a4b22"
PAPER = "#ffffff"
MIDDLE_GREY = "#b3bbb7"
"""For surfaces only (trips, the oldest looks): no text but INK stands on it."""
COPPER_PALE = "#f3e9e2"
"""The window of an incident, behind everything else."""

HEADLINE = 25.0
BODY = 11.0
SECOND = 9.5
SMALL = 8.6
LEADING = 1.2
"""Distance of baselines over type size in figures."""
CAP_HEIGHT = 0.668
"""Of Atkinson Hyperlegible, over type size (its OS/2 table, sCapHeight 668 of 1000)."""

LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3, for text of any size."""

Role = Literal["text", "bold", "mono"]

FONT_NAMES: Mapping[Role, str] = {
    "text": "Atkinson",
    "bold": "Atkinson-Bold",
    "mono": "PlexMono",
}
"""The names under which ReportLab knows the faces after `register_fonts()`."""

SVG_FAMILIES: Mapping[Role, str] = {
    # Arial is a little narrower than Atkinson: labels measured here still do not overlap.
    "text": "'Atkinson Hyperlegible', Arial, 'Liberation Sans', sans-serif",
    "bold": "'Atkinson Hyperlegible', Arial, 'Liberation Sans', sans-serif",
    "mono": "'IBM Plex Mono', Menlo, Consolas, 'Liberation Mono', monospace",
}


class Run(NamedTuple):
    """A piece of text that one face can draw."""

    font: str
    text: str


# name for ReportLab, family for fontpkg, weight
_FACES = (
    ("Atkinson", "Atkinson Hyperlegible", 400),
    ("Atkinson-Bold", "Atkinson Hyperlegible", 700),
    ("PlexMono", "IBM Plex Mono", 400),
    ("PlexSans", "IBM Plex Sans", 400),
)
_MAY_BE_ABSENT = frozenset({"PlexSans"})
_CHAINS: Mapping[Role, tuple[str, ...]] = {
    "text": ("Atkinson", "PlexSans", "PlexMono"),
    "bold": ("Atkinson-Bold", "PlexSans", "PlexMono"),
    "mono": ("PlexMono", "PlexSans"),
}


def contrast(colour: str, behind: str) -> float:
    """The contrast ratio of two `#rrggbb` colours, 1 to 21 (WCAG 2.2, "contrast ratio")."""
    lighter, darker = sorted((_luminance(colour), _luminance(behind)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def legible(colour: str, behind: str) -> str:
    """`colour` where it can be read on `behind`, else INK."""
    return colour if contrast(colour, behind) >= LEAST_CONTRAST else INK


def _luminance(colour: str) -> float:
    def linear(channel: int) -> float:
        share = channel / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(colour[i : i + 2], 16)) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def register_fonts() -> None:
    """Make the faces known to ReportLab under `FONT_NAMES`; a second call changes nothing.

    The family "Atkinson" is registered too, so that `<b>` works in a paragraph. Italics are drawn
    upright: no page uses them.

    Raises:
        MissingError: a font package is not installed.
    """
    from reportlab.pdfbase import pdfmetrics

    known = set(pdfmetrics.getRegisteredFontNames())
    fonts = _fonts()
    for name, font in fonts.items():
        if name not in known:
            pdfmetrics.registerFont(font)
    if "Atkinson" not in known:
        pdfmetrics.registerFontFamily(
            "Atkinson",
            normal="Atkinson",
            bold="Atkinson-Bold",
            italic="Atkinson",
            boldItalic="Atkinson-Bold",
        )


def runs(text: str, role: Role) -> tuple[Run, ...]:
    """The text cut into pieces by the face that draws them; "?" for what no face has."""
    first = _CHAINS[role][0]
    drawn = [(face, char) if face else (first, "?") for face, char in _with_faces(text, role)]
    return tuple(
        Run(face, "".join(char for _, char in piece))
        for face, piece in groupby(drawn, lambda pair: pair[0])
    )


@lru_cache(maxsize=4096)
def text_width(text: str, role: Role, size: float) -> float:
    """The width in points at `size`, without kerning.

    A character that no face has counts one em: as wide as a browser is likely to draw it.
    """
    fonts = _fonts()
    return sum(
        fonts[face].stringWidth(char, size) if face else size
        for face, char in _with_faces(text, role)
    )


def face_file(face: str) -> str:
    """The path of the file of a face, by its name in a `Run`."""
    return str(_fonts()[face].face.filename)


def _with_faces(text: str, role: Role) -> list[tuple[str | None, str]]:
    """Each character with the first face of the role's chain that has it."""
    fonts = _fonts()
    chain = [name for name in _CHAINS[role] if name in fonts]

    def face(char: str) -> str | None:
        return next((name for name in chain if ord(char) in fonts[name].face.charToGlyph), None)

    return [(face(char), char) for char in text]


@cache
def _fonts() -> dict[str, "TTFont"]:
    import fontpkg
    from reportlab.pdfbase.ttfonts import TTFont

    fonts: dict[str, TTFont] = {}
    for name, family, weight in _FACES:
        try:
            # "nearest": a variable font is drawn in its default weight
            path = fontpkg.path(family, weight, nearest=True)
        except fontpkg.FontpkgError as error:
            if name in _MAY_BE_ABSENT:
                continue
            package = f"fontpkg-{family.lower().replace(' ', '-')}"
            raise MissingError(
                f"the font {family}", "is not installed", f"Install {package} with pip."
            ) from error
        font = TTFont(name, str(path))
        _mend_metrics(font.face)
        fonts[name] = font
    return fonts


def _mend_metrics(face: "TTFontFace") -> None:
    """Give glyphs past numberOfHMetrics their advance in font units (OpenType, hmtx).

    ReportLab repeats the advance already scaled to 1000 units, which makes the width in a subset
    of a font with another em differ from the page's (ISO 19005-3, 6.2.11.5).
    """
    (long_ones,) = unpack(">H", face.get_table("hhea")[34:36])
    advance = face.hmetrics[long_ones - 1][0]
    face.hmetrics[long_ones:] = [(advance, bearing) for _, bearing in face.hmetrics[long_ones:]]
