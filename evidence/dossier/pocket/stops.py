"""The list of the round: each zone as it was left, with the boxes to mark beside it."""

from collections.abc import Iterator, Mapping
from io import BytesIO

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, TableStyle

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.pocket import marks
from evidence.dossier.ways import ways_listed
from evidence.dossier.wording import wording
from evidence.figures import style
from evidence.tagging import DataTable, LaidOut, TaggedImage
from evidence.trade import Catalogue
from evidence.trade.units import Unit, from_millimetres
from evidence.upkeep.covering import INSIDE_TYPES
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
        paper: str,
        picture: tuple[float, float],
    ) -> None:
        width, self.unit = lay.grid(paper).text_width, unit_of(paper)
        self.planned, self.catalogue, self.pictures = planned, catalogue, pictures
        self.words, self.picture = wording("round"), picture
        framed, note = SIZES[0][0] + _PAD, _NOTE
        grades = marks.across(len(marks.GRADES)) + _PAD
        shots = marks.across(len(marks.SHOTS)) + _PAD
        zone = width - _NUMBER - framed - grades - shots - note
        self.widths = [_NUMBER, framed, zone, grades, shots, note]
        self.cells: list[list[lay.Cell]] = []
        self.rules: list[tuple[object, ...]] = []

    def made(self) -> DataTable:
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
            if stop.place.zone.type in INSIDE_TYPES:
                self._reading()
            last = len(self.cells) - 1
            self.rules.append(("NOSPLIT", (0, first), (-1, last)))
            self.rules.append(("LINEBELOW", (0, last), (-1, last), 0.4, HexColor(style.HAIRLINE)))
        table = DataTable(self.cells, colWidths=self.widths, repeatRows=1, hAlign="LEFT")
        table.setStyle(TableStyle([*_STYLE, *self.rules]))
        return table

    def _head(self) -> None:
        def said(key: str) -> Flowable:
            return lay.para(self.words.say("columns", key), "head")

        grade: list[Flowable] = [said("grade"), marks.bead_heads()]
        self.cells.append(["", said("picture"), said("zone"), grade, said("shots"), said("note")])

    def _part(self, part: Part) -> None:
        row = len(self.cells)
        self.cells.append([lay.para(walk_words(self.planned, part), "heading"), *[""] * 5])
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
        if stop.keep_off is not None:
            yield lay.para(keep_off_words(stop), "heading")
        said = lay.para(last_seen(stop, self.planned, self.catalogue), "head")
        if stop.grade is None:
            yield said
        else:
            yield _beside(marks.small_bead(stop.grade), said, self.widths[2] - _PAD)

    def _picture(self, stop: Stop) -> Flowable:
        data = self.pictures.get(stop.place.id)
        if data is not None:
            return TaggedImage(BytesIO(data), *self.picture, kind="proportional", hAlign="LEFT")
        key = "no-picture" if stop.pictured is None else "not-shown"
        return lay.para(self.words.say("zone", key), "head")

    def _recheck(self, finding: FindingFacts) -> None:
        row = len(self.cells)
        said = recheck_words(finding, self.planned, self.catalogue, self.unit)
        room = self.widths[1] + self.widths[2] - _PAD
        line = _beside(marks.small_bead(finding.grade), lay.para(said, "fine"), room)
        state = marks.state_row(sum(self.widths[3:]), unit_words(self.unit))
        self.cells.append(["", line, "", state, "", ""])
        self._below(row)

    def _reading(self) -> None:
        row = len(self.cells)
        self.cells.append(["", "", "", marks.moisture_row(sum(self.widths[3:])), "", ""])
        self._below(row)

    def _below(self, row: int) -> None:
        """A row that belongs to the stop above it: what is known, then what is filled in."""
        self.rules += [
            ("SPAN", (1, row), (2, row)),
            ("SPAN", (3, row), (5, row)),
            ("TOPPADDING", (0, row), (-1, row), 0),
        ]


def _beside(mark: Flowable, words: Flowable, width: float) -> LaidOut:
    """A small grade sign and what is said of it."""
    lead = marks.SMALL_BEAD + 5.0
    table = LaidOut([[mark, words]], colWidths=[lead, width - lead], hAlign="LEFT")
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


def unit_of(paper: str) -> Unit:
    """In what a reader of that paper measures: Letter is the paper of those who use inches."""
    return Unit.INCH if paper == "letter" else Unit.MILLIMETRE


def unit_words(unit: Unit) -> str:
    """`in` or `mm`."""
    return wording("round").say("zone", "inches" if unit is Unit.INCH else "millimetres")


def walk_words(planned: Round, part: Part) -> str:
    """What stands over a part of the list: a walk, or an order of looking from safe places."""
    words = wording("round")
    return words.say("walk", part) if planned.unsafe is None else words.say("safe", part)


def keep_off_words(stop: Stop) -> str:
    """`KEEP OFF`, and by which means it may be looked at all the same."""
    return wording("round").say("zone", "keep-off", ways=ways_listed(stop.ways))


def recheck_words(
    finding: FindingFacts, planned: Round, catalogue: Catalogue, unit: Unit = Unit.MILLIMETRE
) -> str:
    """A finding with its size and grade, and since when it is known."""
    words = wording("round")
    sizes = [finding.finding.length_mm, finding.finding.width_mm]
    times = f" {words.say('zone', 'by-size')} "
    size = times.join(from_millimetres(mm, unit).figure for mm in sizes if mm is not None)
    return words.say(
        "zone",
        "recheck",
        words=say.sentence(catalogue.findings[finding.type].words),
        size=words.say("zone", "size", size=size, unit=unit_words(unit)) if size else "",
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
