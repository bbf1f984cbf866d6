"""The slip: one page with the signed head of a record, for somebody else to keep."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.figures.codes import code_rects, matrix_of, one_shape
from evidence.figures.raster import MM
from evidence.figures.scene import Line, Scene, Stroke, Text
from evidence.figures.style import INK, MUTED, SECOND
from evidence.ledger import Head, SignedNote, Verifier
from evidence.times import zone
from evidence.witnessing import newest, signed_by

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from evidence.case import Record
    from evidence.dossier.layout import Grid

_CODE_SIDE = 58.0
"""Of the code, in mm: at the most modules allowed each is a millimetre, or nearly."""
_MOST_CODED = 330
"""Bytes of a code of version 14 at level M (ISO/IEC 18004, table 7: 362) and some less."""
_LINE = 58
"""Characters of a line beside the code."""


@dataclass(frozen=True, slots=True)
class Slip:
    """What a slip says.

    Attributes:
        note: the newest signed head, in full.
        signer: the key that signed it.
        title: the case's title.
        day: the day of the newest entry, at home.
        sample: whether the case is an invented one.
    """

    note: str
    signer: Verifier
    title: str
    day: date
    sample: bool

    @property
    def head(self) -> Head:
        """The head that the note signs."""
        return Head.parse(SignedNote.parse(self.note).text)

    @property
    def coded(self) -> str:
        """What the code holds: the note, else its text alone (origin, size, root)."""
        whole = len(self.note.encode()) <= _MOST_CODED
        return self.note if whole else SignedNote.parse(self.note).text

    @property
    def key_name(self) -> str:
        """The key's ID in two groups, as a dossier has it."""
        digits = self.signer.key_id.hex()
        return f"{digits[:4]}-{digits[4:]}"


def slip_of(record: "Record") -> Slip:
    """The slip of a record's newest head.

    Raises:
        ChangedError: no key that the record names signed it.
    """
    note = newest(record)
    return Slip(
        note=note,
        signer=Verifier.parse(signed_by(record)),
        title=record.case.title,
        day=record.entries[-1].logged.astimezone(zone(record.home)).date(),
        sample=record.case.sample,
    )


def slip_pdf(slip: Slip, paper: str, footer: str) -> bytes:
    """The page.

    Args:
        slip: what it says.
        paper: `letter` or `a4`.
        footer: what runs at the foot of the page.
    """
    from evidence.dossier import binding, layout

    words, grid = wording("slip"), layout.grid(paper)
    running = binding.Running(
        left=words.say("slip_page", "form"),
        sample=wording("common").say("summary", "sample") if slip.sample else "",
        foot_left=footer,
        foot_right="",
    )
    title = f"{words.say('slip_page', 'file_title')}, {say.name(slip.title)}"
    return binding.build(lambda _pages, _seen: _page(slip, grid), running, grid, title)


def _page(slip: Slip, grid: "Grid") -> "list[Flowable]":
    from evidence.dossier import layout as lay
    from evidence.figures import SceneFlowable

    def told(key: str, **figures: object) -> str:
        return wording("slip").say("slip_page", key, **figures)

    def part(key: str, *texts: str) -> "list[Flowable]":
        made: list[Flowable] = [lay.para(told(f"{key}_heading"), "heading"), lay.gap(2)]
        for text in texts:
            made += [lay.para(text), lay.gap(4)]
        return [*made, lay.gap(6)]

    size = slip.head.size
    case = say.name(slip.title).rstrip(".")
    subtitle = told("subtitle", case=case, size=size, day=say.day(slip.day))
    left = [
        *part("serves", told("serves", size=size), told("private")),
        *part("cannot", told("cannot")),
    ]
    right = [
        *part("keep", told("keep")),
        *part("back", told("back")),
        *part("post", told("post")),
    ]
    return [
        lay.para(told("title"), "headline"),
        lay.gap(3),
        lay.para(subtitle, "subtitle"),
        lay.gap(14),
        lay.columns(_code(slip), _lines(slip), grid, wider_left=_CODE_SIDE * MM + 6 - grid.column),
        lay.gap(16),
        lay.columns(left, right, grid),
        lay.gap(8),
        SceneFlowable(_received(grid.text_width)),
    ]


def _received(width: float) -> Scene:
    """Where the keeper writes by hand when it reached him, and his name."""
    words, base, room = wording("slip"), 24.0, 62.0
    stroke = Stroke(INK, 0.5)
    items: list[Text | Line] = []
    for at, key in ((0.0, "received"), (width / 2 + 9, "by")):
        text = words.say("slip_page", key)
        items += [
            Text(at, base - 3, text, SECOND, colour=MUTED),
            Line(at + (room if at == 0 else 18), base, at + width / 2 - 9, base, stroke),
        ]
    return Scene(width, base + 4, tuple(items), "received", words.say("slip_page", "received"))


def _code(slip: Slip) -> "list[Flowable]":
    from evidence.dossier import layout as lay
    from evidence.figures import SceneFlowable

    words = wording("slip")
    matrix, side = matrix_of(slip.coded), _CODE_SIDE * MM
    drawn = one_shape(code_rects(matrix, 0, 0, side / len(matrix)))
    key = "code_note" if slip.coded == slip.note else "code_short"
    return [
        SceneFlowable(Scene(side, side, (drawn,), "QR", slip.coded)),
        lay.gap(5),
        lay.para(words.say("slip_page", key), "muted"),
    ]


def _lines(slip: Slip) -> "list[Flowable]":
    """The note in full, and the key."""
    from evidence.dossier import layout as lay

    words = wording("slip")
    made: list[Flowable] = [lay.para(words.say("slip_page", "head_heading"), "heading"), lay.gap(4)]
    made += [lay.verbatim(line) for line in _broken(slip.note)]
    public = say.grouped(sha256(slip.signer.public_key).hexdigest(), 8)
    made += [
        lay.gap(3),
        lay.para(words.say("slip_page", "over"), "muted"),
        lay.gap(10),
        lay.para(words.say("slip_page", "key_heading"), "heading"),
        lay.gap(2),
        lay.para(words.say("slip_page", "key", key=slip.key_name)),
        lay.gap(2),
        *(lay.verbatim(line) for line in textwrap.wrap(public, 40)),
        lay.gap(4),
        lay.para(words.say("slip_page", "key_whole")),
        lay.gap(2),
        *(lay.verbatim(line) for line in _broken(slip.signer.vkey)),
    ]
    return made


def _broken(text: str) -> Iterator[str]:
    """Lines as they stand, long ones run over and indented."""
    for line in text.rstrip("\n").split("\n"):
        first, *rest = [line[at : at + _LINE] for at in range(0, len(line), _LINE)] or [""]
        yield first
        yield from (f"    {piece}" for piece in rest)
