"""What every sheet of a claim draws from: the facts, the pictures, the words, the paper."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.challenged import Said, challenged
from evidence.dossier.exhibits import (
    Exhibit,
    clock_words,
    file_name,
    letter,
    pair,
    pictures_of,
)
from evidence.dossier.linked import link_words
from evidence.dossier.outside import card_words
from evidence.dossier.summary import Summary, claim_summary, open_before
from evidence.dossier.wording import wording
from evidence.photos.signals import Question
from evidence.trade import Catalogue
from evidence.upkeep import History, Item, Picture, Standing
from evidence.upkeep.carded import card_seen
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import Gap, RuleGaps
from evidence.upkeep.incidents import IncidentFacts
from evidence.words import Grade, Task


def gaps_listed(measured: RuleGaps) -> tuple[Gap, ...]:
    """The gaps that the pages list of a rule: of the worst zone, where it asks for looks."""
    if measured.rule.task is not Task.INSPECTION or measured.worst is None:
        return ()
    return measured.worst.gaps


@dataclass(frozen=True)
class Sheet:
    """One claim on one paper.

    `previews` are pictures without metadata, by the SHA-256 of their originals; `with_challenge`
    says whether the case against the record is printed; `seen` are the questions that the pixels
    raise where the originals lie.
    """

    standing: Standing
    facts: IncidentFacts
    catalogue: Catalogue
    previews: Mapping[str, Path]
    grid: lay.Grid
    with_challenge: bool = True
    seen: tuple[Question, ...] = ()

    @property
    def history(self) -> History:
        """The record behind the facts."""
        return self.standing.history

    @cached_property
    def page_one(self) -> Summary:
        """What the first page says."""
        return claim_summary(self.standing, self.facts, self.catalogue)

    @cached_property
    def pair(self) -> tuple[Picture | None, Picture | None]:
        """The pictures before and after, as set side by side on the first page."""
        zone = self.page_one.pair_zone
        return pair(zone.before, zone.after, zone.zone)

    def say(self, section: str, key: str, /, **figures: object) -> str:
        """A sentence of the claim's wording."""
        return wording("claim").say(section, key, **figures)

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
    def challenged(self) -> tuple[Said, ...]:
        """What an opposing reader will say; empty where that part is left out."""
        if not self.with_challenge:
            return ()
        return challenged(self.standing, self.facts, self.catalogue, self.seen)

    @cached_property
    def cited(self) -> tuple[int, ...]:
        """Every entry that a page cites; each has its place in the list of entries."""
        seqs = {self.facts.item.seq, *(answer.seq for answer in self.history.vouched)}
        seqs.update(*self._cited_by_text(), *self._cited_by_tables())
        seqs.update(item.seq for item in self.history.items if self._about(item))
        return tuple(sorted(seqs))

    def _cited_by_text(self) -> Iterator[Sequence[int]]:
        yield from (figure.cites for figure in self.page_one.figures)
        yield from (row.cites for row in self.page_one.open_rows)
        yield from (row.cites for row in self.challenged)

    def _cited_by_tables(self) -> Iterator[Sequence[int]]:
        for zone in self.facts.zones:
            yield [look.seq for look in (zone.before, zone.after) if look is not None]
            yield (*zone.claimed_before, *zone.straddling)
        for finding in self.findings_shown():
            yield [finding.opened, finding.first_seen.seq]
            yield [] if finding.settled is None else [finding.settled]
        for measured in self.rules:
            yield [measured.item.seq]
            for gap in gaps_listed(measured):
                yield gap.deferrals if gap.closed_by is None else (*gap.deferrals, gap.closed_by)
        for duty in self.standing.duties:
            yield [duty.trigger] if duty.done is None else [duty.trigger, duty.done]

    def _about(self, item: Item) -> bool:
        """Whether an entry names the incident."""
        return self.facts.id in (getattr(item.body, "incidents", None) or ())

    def findings_shown(self) -> list[FindingFacts]:
        """What stood open, what was found, what was seen later, and all in the zones named."""
        named = set(self.facts.incident.zones)
        ids = {finding for zone in self.facts.zones for finding in zone.found}
        ids |= {finding for finding, _ in self.facts.later}
        ids |= {finding.id for finding in open_before(self.standing, self.facts)}
        return [f for f in self.standing.findings if f.id in ids or f.zone in named]

    @cached_property
    def exhibits(self) -> tuple[Exhibit, ...]:
        """A and B are the pair of the first page, C and D its drawings; then the other pictures."""
        shown = [picture for picture in self.pair if picture is not None]
        used = [picture.file.sha256 for picture in shown]
        rows = pictures_of(self.history, self.facts, self.cited, used)
        return tuple(
            Exhibit(letter(place), picture, item)
            for place, (item, picture) in enumerate(rows, start=4)
        )

    def pictures(self) -> list[Picture]:
        """Every picture that a page shows, in the order of its pages."""
        first = [picture for picture in self.pair if picture is not None]
        return [*first, *(exhibit.picture for exhibit in self.exhibits)]

    @cached_property
    def lettered(self) -> tuple[Exhibit, ...]:
        """Every picture that a page shows, under its letter."""
        named = [
            Exhibit(letter(place), picture, item)
            for place, picture in enumerate(self.pair)
            if picture is not None and (item := self.history.item(picture.seq)) is not None
        ]
        return (*named, *self.exhibits)

    def caption(
        self, exhibit: str, item: Item, picture: Picture | None, zone_id: str, grade: int | None
    ) -> Flowable:
        """Letter, zone, grade, what the clock supports, when it was sealed, entry, file."""
        words = [self.label(zone_id)]
        if grade is not None:
            words.append(self.say("picture", "grade", grade=grade, word=self.word(grade)))
        if picture is not None:
            words.append(clock_words(picture, self.history))
            words += self.card(item, picture)
        sealed = say.short_moment(item.entry.logged, self.history.home)
        words.append(self.say("picture", "sealed", when=sealed))
        refs = say.entries([item.seq])
        if picture is not None:
            refs += f", {file_name(picture)}"
        return lay.para("; ".join(words) + ".", "small", refs=refs, lead=exhibit)
