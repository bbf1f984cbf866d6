"""The pages of the sheet: cautions first, the plan, the list of zones, the place for the card."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from io import BytesIO

from reportlab.platypus import Flowable

from evidence.case import Record
from evidence.dossier import binding, say
from evidence.dossier import layout as lay
from evidence.dossier.drawings import roof_plan
from evidence.dossier.pocket import marks
from evidence.dossier.pocket.pictures import small_pictures
from evidence.dossier.pocket.stops import SIZES, StopTable
from evidence.dossier.ways import ways_listed
from evidence.dossier.wording import wording
from evidence.figures import SceneFlowable, draw_roof_plan
from evidence.trade import Catalogue
from evidence.upkeep import Standing
from evidence.upkeep.rounds import Part, Round
from evidence.upkeep.ways import CLIMBS
from evidence.words import Means

_ROOF_MEANS = (Means.ON_ROOF, Means.LADDER, Means.PLATFORM, Means.POLE_CAMERA, Means.DRONE)
_PAGES = 2
"""One sheet of paper, both sides."""
_PLAN_WIDER = 100.0
"""How far the plan reaches beyond its column, in points."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the pages are made from.

    Attributes:
        standing: the measured record.
        planned: the round.
        catalogue: the words of the trade.
        pictures: small JPEGs, by the id of their zone.
        paper: `letter` or `a4`.
        case: the case's folder, as it is typed.
    """

    standing: Standing
    planned: Round
    catalogue: Catalogue
    pictures: Mapping[str, bytes]
    paper: str
    case: str


def print_round(
    record: Record, standing: Standing, planned: Round, catalogue: Catalogue, paper: str
) -> bytes:
    """The sheet as a PDF: the same record and paper give the same bytes.

    Args:
        record: the case, for its pictures.
        standing: the measured record.
        planned: the round.
        catalogue: the words of the trade.
        paper: `letter` or `a4`.
    """
    pictures = small_pictures(record, planned)
    return pages_of(Sheet(standing, planned, catalogue, pictures, paper, record.folder.name))


def pages_of(sheet: Sheet) -> bytes:
    """The pages: the largest pictures with which they are as few as can be.

    What fits both sides of one sheet is not tried any smaller.
    """
    tried: list[bytes] = []
    for size in SIZES:
        tried.append(_laid_out(sheet, size))
        if _count(tried[-1]) <= _PAGES:
            break
    return min(tried, key=_count)


def _count(data: bytes) -> int:
    from pypdf import PdfReader

    return len(PdfReader(BytesIO(data)).pages)


def _laid_out(sheet: Sheet, picture: tuple[float, float]) -> bytes:
    words, grid, history = wording("round"), lay.grid(sheet.paper), sheet.standing.history
    running = binding.Running(
        left=words.say("head", "form"),
        sample=words.say("head", "sample") if history.case.sample else "",
        foot_left=sheet.catalogue.footer,
        foot_right=words.say("head", "foot"),
        code="",
        code_lines=(),
    )
    page = _Pages(sheet, grid)

    def story(_pages: dict[str, int], _seen: Callable[[str, int], None]) -> list[Flowable]:
        stops = StopTable(sheet.planned, sheet.catalogue, sheet.pictures, sheet.paper, picture)
        return [*page.first(), stops.made(), *page.last()]

    return binding.build(story, running, grid, page.title)


class _Pages:
    """What stands before and behind the list."""

    def __init__(self, sheet: Sheet, grid: lay.Grid) -> None:
        self.sheet, self.grid = sheet, grid
        self.history, self.planned = sheet.standing.history, sheet.planned
        self.words = wording("round")

    @property
    def title(self) -> str:
        """The headline."""
        return self.words.say("head", "title", rig=say.name(self.history.rig.name))

    def first(self) -> Iterator[Flowable]:
        """Title, cautions, what is filled in, the plan and what the marks mean."""
        yield lay.para(self.title, "headline")
        yield lay.gap(2)
        yield lay.para(self._subtitle(), "subtitle")
        yield lay.gap(6)
        yield from self._cautions()
        yield lay.gap(6)
        say_ = self.words.say
        climb = self.planned.unsafe is None
        where = say_("first", "plan") if climb else say_("first", "plan-safe")
        start = say_("first", "start") if climb else say_("first", "start-safe")
        plan = [lay.para(where, "heading"), lay.gap(2), self._plan()]
        by_hand = [lay.para(say_("first", "by-hand"), "heading"), self._by_hand()]
        yield lay.columns(plan, by_hand, self.grid, _PLAN_WIDER)
        yield lay.para(start, "muted")
        yield lay.gap(5)

    def _subtitle(self) -> str:
        history = self.history
        again = sum(len(stop.recheck) for stop in self.planned.stops)
        none = self.words.say("head", "none")
        return self.words.say(
            "head",
            "subtitle",
            zones=say.counted((len(self.planned.stops),) * 2, "zone"),
            findings=say.counted((again, again), "finding") if again else none,
            day=say.day(history.on),
            entry=say.entries([history.size - 1]),
        )

    def _cautions(self) -> Iterator[Flowable]:
        yield lay.para(self.words.say("first", "cautions"), "heading")
        yield lay.gap(2)
        if self.planned.unsafe is not None:
            why = say.dated(self.planned.unsafe)
            yield lay.para(self.words.say("first", "unsafe", why=why), "heading")
        keep_off = [stop.keep_off for stop in self.planned.stops if stop.keep_off is not None]
        for said in keep_off:
            yield lay.para(say.sentence(said), "heading")
        ways = ways_listed(self.planned.ways)
        yield lay.para(self.words.say("first", "ways", ways=ways), "small")
        yield lay.gap(3)
        texts = tuple(text for text in self.planned.cautions if text not in keep_off)
        half = _even_split(texts)
        yield lay.columns(_spaced(texts[:half]), _spaced(texts[half:]), self.grid)

    def _by_hand(self) -> Flowable:
        lines = [self.words.say("first", key) for key in ("day", "from", "to", "who")]
        means = [wording("due").say("way", way) for way in self._means()]
        name, width = self.words.say("first", "means"), self.grid.column - _PLAN_WIDER
        put_off = self.words.say("first", "put-off")
        return marks.to_fill_in(lines, name, means, put_off, width)

    def _means(self) -> Iterator[Means]:
        """Those that may be marked: none that needs a climb where nobody should."""
        for means in _ROOF_MEANS:
            if self.planned.unsafe is None or means not in CLIMBS:
                yield means
        if any(stop.part is Part.BELOW for stop in self.planned.stops):
            yield Means.INSIDE

    def _plan(self) -> Flowable:
        numbers = {stop.place.id: stop.number for stop in self.planned.stops}
        plan = replace(roof_plan(self.sheet.standing, (), whole=True), numbers=numbers)
        return SceneFlowable(draw_roof_plan(plan, self.grid.column + _PLAN_WIDER))

    def last(self) -> Iterator[Flowable]:
        """What comes after the round, and the place for the card."""
        answer = self.planned.answer
        answered = None if answer is None else answer.time.astimezone(self.history.home).date()
        told: list[Flowable] = [lay.para(self.words.say("marks", "heading"), "heading")]
        for key in ("shots", "unseen", "recheck"):
            told += [lay.gap(2), lay.para(self.words.say("marks", key), "fine")]
        told += [
            lay.gap(6),
            lay.para(self.words.say("after", "heading"), "heading"),
            lay.gap(2),
            lay.para(self.words.say("after", "no-evidence"), "fine"),
            lay.gap(2),
            lay.para(self.words.say("after", "call", case=self.sheet.case), "mono"),
        ]
        yield lay.gap(8)
        yield lay.together(lay.columns(told, marks.card_place(answered), self.grid))


def _spaced(texts: tuple[str, ...]) -> list[Flowable]:
    """Paragraphs a little apart."""
    return [part for text in texts for part in (lay.para(text, "fine"), lay.gap(2.5))]


def _even_split(texts: tuple[str, ...]) -> int:
    """Where two columns of the texts are most alike in length."""
    whole = sum(map(len, texts))
    return min(range(len(texts) + 1), key=lambda at: abs(whole - 2 * sum(map(len, texts[:at]))))
