"""What every sheet of a dossier draws from: measured record, pictures, words, paper."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import ClassVar

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.brief import Opening
from evidence.dossier.exhibits import Exhibit, clock_words, file_name, letter
from evidence.dossier.linked import link_words
from evidence.dossier.outside import card_words
from evidence.dossier.wording import wording
from evidence.photos import Credentials
from evidence.photos.signals import Question
from evidence.trade import Catalogue
from evidence.upkeep import History, Item, Picture, Standing
from evidence.upkeep.carded import card_seen
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import Gap, RuleGaps
from evidence.upkeep.incidents import IncidentFacts
from evidence.words import Form, Grade, Task

CHECKING = "check"
"""The part whose page the first page names."""


def gaps_listed(measured: RuleGaps) -> tuple[Gap, ...]:
    """The gaps that the pages list of a rule: of the worst zone, where it asks for looks."""
    if measured.rule.task is not Task.INSPECTION or measured.worst is None:
        return ()
    return measured.worst.gaps


@dataclass(frozen=True, slots=True)
class Part:
    """A part behind the first page: its name in the outline, its heading, what stands in it."""

    name: str
    heading: str
    content: Callable[[], list[Flowable]]


@dataclass(frozen=True, slots=True)
class Carried:
    """What the pages say about the file itself: attachments and the key that signs."""

    attached: Sequence[tuple[str, int, str]]
    left_out: int
    key_entry: int


@dataclass(frozen=True, kw_only=True)
class Sheet(ABC):
    """One dossier on one paper.

    `previews` are pictures without metadata, by the SHA-256 of their originals; `seen` are the
    questions that the pixels raise where the originals lie, and `credentials` what is told there of
    Content Credentials, by the same sums.
    """

    form: ClassVar[Form]

    standing: Standing
    grid: lay.Grid
    previews: Mapping[str, Path] = field(default_factory=dict)
    seen: tuple[Question, ...] = ()
    credentials: Mapping[str, Credentials] = field(default_factory=dict)

    @property
    @abstractmethod
    def opening(self) -> Opening:
        """What the first page says."""

    @abstractmethod
    def first_page(self, checking_page: int) -> list[Flowable]:
        """The first page; `checking_page` is where the page on checking is."""

    @abstractmethod
    def parts(self, carried: Carried) -> Sequence[Part]:
        """What stands behind it, in order."""

    @abstractmethod
    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """The entries that the parts cite."""

    @property
    def incident(self) -> IncidentFacts | None:
        """The incident that the drawings mark; None where the form is about none."""
        return None

    def findings_shown(self) -> Sequence[FindingFacts]:
        """The findings that the pages list."""
        return self.standing.findings

    def paired(self) -> Sequence[Picture | None]:
        """Pictures that the first page shows, one for each of the first letters."""
        return ()

    @property
    def drawings(self) -> int:
        """How many letters the first page gives to its drawings."""
        return 0

    def chosen(self) -> Sequence[tuple[Item, Picture]]:
        """Pictures that the pages show behind the first."""
        return ()

    @property
    def catalogue(self) -> Catalogue:
        """The tables that the record was measured with."""
        return self.standing.catalogue

    @property
    def history(self) -> History:
        """The record behind the facts."""
        return self.standing.history

    def say(self, section: str, key: str, /, **figures: object) -> str:
        """A sentence of the form's wording."""
        return wording(self.form).say(section, key, **figures)

    def part(self, name: str, heading: str, content: Callable[[], list[Flowable]]) -> Part:
        """A part under a heading of the wording."""
        return Part(name, self.say("pages", heading), content)

    def heads(self, table: str) -> tuple[str, ...]:
        """The heads of a table's columns."""
        return tuple(head.strip() for head in self.say("heads", table).split("|"))

    def label(self, zone_id: str) -> str:
        """A zone's name."""
        return say.name(self.history.place(zone_id).zone.label)

    def word(self, grade: int) -> str:
        """A grade's word."""
        return self.catalogue.grades[Grade(grade)].word

    def finding_words(self, facts: FindingFacts) -> str:
        """A finding by its words and grade."""
        words = self.catalogue.findings[facts.type].words
        return self.say("findings", "words", words=words, grade=facts.grade)

    @property
    def rules(self) -> tuple[RuleGaps, ...]:
        """Every rule, those that a later one replaced included."""
        return (*self.standing.rules, *self.standing.superseded_rules)

    def preview(self, picture: Picture | None) -> Path | None:
        """The picture to print; None where the file cannot be shown."""
        return None if picture is None else self.previews.get(picture.file.sha256)

    def card(self, item: Item, picture: Picture) -> list[str]:
        """What follows from the card in a picture, and what the picture is linked to."""
        seen = card_seen(self.history, item, picture)
        words = [] if seen is None else [card_words(seen)]
        return [*words, *link_words(picture, self.history)]

    @cached_property
    def cited(self) -> tuple[int, ...]:
        """Every entry that a page cites; each has its place in the list of entries."""
        seqs = {*self.opening.cites, *(answer.seq for answer in self.history.vouched)}
        seqs.update(*self.cited_by_pages())
        return tuple(sorted(seqs))

    @cached_property
    def exhibits(self) -> tuple[Exhibit, ...]:
        """The pictures behind the first page, under the letters that it leaves."""
        first = len(self.paired()) + self.drawings
        return tuple(
            Exhibit(letter(place), picture, item)
            for place, (item, picture) in enumerate(self.chosen(), start=first)
        )

    def pictures(self) -> list[Picture]:
        """Every picture that a page shows, in the order of its pages."""
        first = [picture for picture in self.paired() if picture is not None]
        return [*first, *(exhibit.picture for exhibit in self.exhibits)]

    @cached_property
    def lettered(self) -> tuple[Exhibit, ...]:
        """Every picture that a page shows, under its letter."""
        named = [
            Exhibit(letter(place), picture, item)
            for place, picture in enumerate(self.paired())
            if picture is not None and (item := self.history.item(picture.seq)) is not None
        ]
        return (*named, *self.exhibits)

    def cited_by_rules(self) -> Iterator[Sequence[int]]:
        """The entries that the tables of rules, gaps and duties cite."""
        for measured in self.rules:
            yield [measured.item.seq]
            for gap in gaps_listed(measured):
                yield gap.deferrals if gap.closed_by is None else (*gap.deferrals, gap.closed_by)
        for duty in self.standing.duties:
            yield [duty.trigger] if duty.done is None else [duty.trigger, duty.done]

    def cited_by_findings(self, shown: Sequence[FindingFacts]) -> Iterator[Sequence[int]]:
        """The entries that the table of findings cites."""
        for finding in shown:
            yield [finding.opened, finding.first_seen.seq]
            yield [] if finding.settled is None else [finding.settled]

    def caption_words(
        self, item: Item, picture: Picture | None, zone_id: str, grade: int | None
    ) -> str:
        """Zone, grade, what the clock supports and when it was sealed."""
        words = [self.label(zone_id)]
        if grade is not None:
            words.append(self.say("picture", "grade", grade=grade, word=self.word(grade)))
        if picture is not None:
            words.append(clock_words(picture, self.history))
            words += self.card(item, picture)
        sealed = say.short_moment(item.entry.logged, self.history.home)
        words.append(self.say("picture", "sealed", when=sealed))
        return "; ".join(words) + "."

    def caption(
        self, exhibit: str, item: Item, picture: Picture | None, zone_id: str, grade: int | None
    ) -> Flowable:
        """Letter, what `caption_words` says, entry, file."""
        words = self.caption_words(item, picture, zone_id, grade)
        refs = say.entries([item.seq])
        if picture is not None:
            refs += f", {file_name(picture)}"
        return lay.para(words, "small", refs=refs, lead=exhibit)
