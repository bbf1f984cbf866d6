"""What every sheet of a claim draws from: the facts, the pictures, the words, the paper."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.exhibits import (
    Exhibit,
    clock_words,
    file_name,
    letter,
    pair,
    pictures_of,
)
from evidence.dossier.summary import Summary, claim_summary
from evidence.dossier.weak import weak_points
from evidence.dossier.wording import wording
from evidence.trade import Catalogue
from evidence.upkeep import History, Item, Picture, Standing
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.incidents import IncidentFacts
from evidence.words import Grade


@dataclass(frozen=True)
class Sheet:
    """One claim on one paper.

    `previews` are pictures without metadata, by the SHA-256 of their originals.
    """

    standing: Standing
    facts: IncidentFacts
    catalogue: Catalogue
    previews: Mapping[str, Path]
    grid: lay.Grid

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

    def label(self, zone_id: str) -> str:
        """A zone's name."""
        return self.history.place(zone_id).zone.label

    def word(self, grade: int) -> str:
        """A grade's word."""
        return self.catalogue.grades[Grade(grade)].word

    def preview(self, picture: Picture | None) -> Path | None:
        """The picture to print; None where the file cannot be shown."""
        return None if picture is None else self.previews.get(picture.file.sha256)

    @cached_property
    def cited(self) -> tuple[int, ...]:
        """Every entry that a page cites; each has its place in the list of entries."""
        seqs: set[int] = {self.facts.item.seq}
        for figure in self.page_one.figures:
            seqs.update(figure.cites)
        for row in self.page_one.open_rows:
            seqs.update(row.cites)
        for zone in self.facts.zones:
            looks = [look.seq for look in (zone.before, zone.after) if look is not None]
            seqs.update([*looks, *zone.claimed_before, *zone.straddling])
        for weakness in weak_points(self.standing, self.facts):
            seqs.update(weakness.cites)
        for finding in self.findings_shown():
            ends = (finding.opened, finding.first_seen.seq, finding.settled)
            seqs.update(seq for seq in ends if seq is not None)
        for measured in self.standing.rules:
            seqs.add(measured.item.seq)
        seqs.update(answer.seq for answer in self.history.vouched)
        seqs.update(item.seq for item in self.history.items if self._about(item))
        return tuple(sorted(seqs))

    def _about(self, item: Item) -> bool:
        """Whether an entry names the incident."""
        return self.facts.id in (getattr(item.body, "incidents", None) or ())

    def findings_shown(self) -> list[FindingFacts]:
        """Findings in the zones named, those found, and what was seen later."""
        named = set(self.facts.incident.zones)
        ids = {finding for zone in self.facts.zones for finding in zone.found}
        ids |= {finding for finding, _ in self.facts.later}
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

    def caption(
        self, exhibit: str, item: Item, picture: Picture | None, zone_id: str, grade: int | None
    ) -> Flowable:
        """Letter, zone, grade, what the clock supports, when it was sealed, entry, file."""
        words = [self.label(zone_id)]
        if grade is not None:
            words.append(f"grade {grade}, {self.word(grade)}")
        if picture is not None:
            words.append(clock_words(picture, self.history))
        sealed = say.short_moment(item.entry.logged, self.history.home)
        words.append(f"sealed {sealed}")
        refs = say.entries([item.seq])
        if picture is not None:
            refs += f", {file_name(picture)}"
        return lay.para("; ".join(words) + ".", "small", refs=refs, lead=exhibit)
