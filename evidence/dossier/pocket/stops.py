"""The list of the round: each zone as it was left, with the boxes to mark beside it."""

from collections.abc import Iterator, Mapping
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, Image, Table, TableStyle

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.pocket import marks
from evidence.dossier.wording import wording
from evidence.figures import style
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.rounds import Part, Round, Stop
from evidence.words import Grade

SIZES = ((46.0, 34.5), (37.0, 27.75), (32.0, 24.0))
"""Width and height of the pictures, the best first: the smaller ones take fewer pages."""

_NUMBER, _NOTE, _PAD = 20.0, 76.0, 10.0


class StopTable:
    """One table over as many pages as it takes; a zone and its findings stay together."""

    def __init__(
        self,
        planned: Round,
        catalogue: Catalogue,
        pictures: Mapping[str, bytes],
        width: float,
        picture: tuple[float, float],
    ) -> None:
        self.planned, self.catalogue, self.pictures = planned, catalogue, pictures
        self.words, self.picture = wording("round"), picture
        framed, note = SIZES[0][0] + _PAD, _NOTE
        grades = marks.across(len(marks.GRADES)) + _PAD
        shots = marks.across(len(marks.SHOTS)) + _PAD
        zone = width - _NUMBER - framed - grades - shots - note
        self.widths = [_NUMBER, framed, zone, grades, shots, note]
        self.cells: list[list[lay.Cell]] = []
        self.rules: list[tuple[object, ...]] = []

    def made(self) -> Table:
        """The table."""
        self._head()
        part: Part | None = None
        for stop in self.planned.stops:
            first = len(self.cells)
            if stop.part is not part:
                part = stop.part
                self._part(part)
            self._stop(stop)
            for finding in stop.recheck:
                self._recheck(finding)
            last = len(self.cells) - 1
            self.rules.append(("NOSPLIT", (0, first), (-1, last)))
            self.rules.append(("LINEBELOW", (0, last), (-1, last), 0.4, HexColor(style.HAIRLINE)))
        table = Table(self.cells, colWidths=self.widths, repeatRows=1, hAlign="LEFT")
        table.setStyle(TableStyle([*_STYLE, *self.rules]))
        return table

    def _head(self) -> None:
        def said(key: str) -> Flowable:
            return lay.para(self.words.say("columns", key), "head")

        grade: list[Flowable] = [said("grade"), marks.bead_heads()]
        self.cells.append(["", said("picture"), said("zone"), grade, said("shots"), said("note")])

    def _part(self, part: Part) -> None:
        row = len(self.cells)
        self.cells.append([lay.para(self.words.say("walk", part), "heading"), *[""] * 5])
        self.rules += [("SPAN", (0, row), (-1, row)), ("TOPPADDING", (0, row), (-1, row), 4)]

    def _stop(self, stop: Stop) -> None:
        note = marks.writing_line(self.widths[-1])
        self.cells.append(
            [
                lay.para(str(stop.number), "heading"),
                self._picture(stop),
                list(self._zone(stop)),
                marks.box_row(marks.GRADES),
                marks.box_row(marks.SHOTS),
                note,
            ]
        )

    def _zone(self, stop: Stop) -> Iterator[Flowable]:
        yield lay.para(say.sentence(say.clipped(stop.place.zone.label, _LONGEST)), "fine")
        said = lay.para(last_seen(stop, self.planned, self.catalogue), "head")
        if stop.grade is None:
            yield said
        else:
            yield _beside(marks.small_bead(stop.grade), said, self.widths[2] - _PAD)

    def _picture(self, stop: Stop) -> Flowable:
        data = self.pictures.get(stop.place.id)
        if data is not None:
            return Image(BytesIO(data), *self.picture, kind="proportional", hAlign="LEFT")
        key = "no-picture" if stop.pictured is None else "not-shown"
        return lay.para(self.words.say("zone", key), "head")

    def _recheck(self, finding: FindingFacts) -> None:
        row = len(self.cells)
        said = recheck_words(finding, self.planned, self.catalogue)
        room = self.widths[1] + self.widths[2] - _PAD
        line = _beside(marks.small_bead(finding.grade), lay.para(said, "fine"), room)
        state = marks.state_row(sum(self.widths[3:]))
        self.cells.append(["", line, "", state, "", ""])
        self.rules += [
            ("SPAN", (1, row), (2, row)),
            ("SPAN", (3, row), (5, row)),
            ("TOPPADDING", (0, row), (-1, row), 0),
        ]


def _beside(mark: Flowable, words: Flowable, width: float) -> Table:
    """A small grade sign and what is said of it."""
    lead = marks.SMALL_BEAD + 5.0
    table = Table([[mark, words]], colWidths=[lead, width - lead], hAlign="LEFT")
    table.setStyle(TableStyle([*lay.BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]))
    return table


def last_seen(stop: Stop, planned: Round, catalogue: Catalogue) -> str:
    """`0 sound, 12 Oct 2025`."""
    words = wording("round")
    if stop.grade is None:
        return words.say("zone", "not-seen")
    word = catalogue.grades[Grade(stop.grade)].word
    if stop.look is None:
        return words.say("zone", "graded-only", grade=stop.grade, word=word)
    day = say.short_span(stop.look.time, planned.history.home)
    if stop.look.dates[0] == stop.look.dates[1]:
        day = say.short_day(stop.look.dates[0])
    return words.say("zone", "seen", grade=stop.grade, word=word, day=day)


def recheck_words(finding: FindingFacts, planned: Round, catalogue: Catalogue) -> str:
    """A finding with its size and grade, and since when it is known."""
    words = wording("round")
    sizes = [finding.finding.length_mm, finding.finding.width_mm]
    size = f" {words.say('zone', 'by-size')} ".join(str(mm) for mm in sizes if mm is not None)
    return words.say(
        "zone",
        "recheck",
        words=say.sentence(catalogue.findings[finding.type].words),
        size=words.say("zone", "size", size=size) if size else "",
        grade=finding.grade,
        word=catalogue.grades[Grade(finding.grade)].word,
        day=say.short_day(finding.first_seen.span.days(planned.history.home)[0]),
    )


_LONGEST = 60

_STYLE = [
    *lay.BARE,
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ("TOPPADDING", (0, 0), (-1, -1), 1.8),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
    ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(style.INK)),
]
