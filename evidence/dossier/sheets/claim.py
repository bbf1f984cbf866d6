"""A claim: one incident, what was there before it, what was found after it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from reportlab.platypus import Flowable

from evidence.dossier.challenged import Said, challenged
from evidence.dossier.exhibits import pair, pictures_of
from evidence.dossier.sheets import proof, zones
from evidence.dossier.sheets.annex import annex
from evidence.dossier.sheets.context import Carried, Part, Sheet
from evidence.dossier.sheets.first import first_page
from evidence.dossier.sheets.record import last_parts
from evidence.dossier.summary import Summary, claim_summary, open_before
from evidence.dossier.wording import wording
from evidence.upkeep import Item, Picture
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.incidents import IncidentFacts
from evidence.words import Form


@dataclass(frozen=True, kw_only=True)
class ClaimSheet(Sheet):
    """One claim; `with_challenge` says whether the case against the record is printed."""

    form: ClassVar[Form] = Form.CLAIM

    facts: IncidentFacts
    with_challenge: bool = True

    @cached_property
    def opening(self) -> Summary:
        """What the first page says."""
        return claim_summary(self.standing, self.facts, self.catalogue)

    @property
    def incident(self) -> IncidentFacts:
        """The incident that the drawings mark."""
        return self.facts

    def first_page(self, checking_page: int) -> list[Flowable]:
        """Figures, the pair, the plan, what stood open, the strip."""
        return first_page(self, checking_page)

    def parts(self, carried: Carried) -> Sequence[Part]:
        """Zones, findings, rules, pictures, then what every dossier ends with, and the annex."""
        return (
            self.part("zones", "before_after_heading", lambda: zones.before_and_after(self)),
            self.part("findings", "onset_heading", lambda: proof.findings(self)),
            self.part("rules", "rule_heading", lambda: proof.rules(self)),
            self.part("pictures", "pictures_heading", lambda: proof.pictures(self)),
            *last_parts(self, carried),
            Part("challenge", wording("challenge").say("challenge_page", "heading"), self._annex),
        )

    def _annex(self) -> list[Flowable]:
        return annex(self)

    # What it cites and shows

    @cached_property
    def pair(self) -> tuple[Picture | None, Picture | None]:
        """The pictures before and after, as set side by side on the first page."""
        zone = self.opening.pair_zone
        return pair(zone.before, zone.after, zone.zone)

    def paired(self) -> Sequence[Picture | None]:
        """A and B."""
        return self.pair

    @property
    def drawings(self) -> int:
        """C is the plan, D the strip."""
        return 2

    def chosen(self) -> Sequence[tuple[Item, Picture]]:
        """Of the entries cited, in the zones named or of a finding."""
        used = [picture.file.sha256 for picture in self.pair if picture is not None]
        return pictures_of(self.history, self.facts, self.cited, used)

    @cached_property
    def challenged(self) -> tuple[Said, ...]:
        """What an opposing reader will say; empty where that part is left out."""
        if not self.with_challenge:
            return ()
        return challenged(self.standing, self.facts, self.catalogue, self.seen)

    def cited_by_pages(self) -> Iterator[Sequence[int]]:
        """The incident, its zones, findings, rules, challenges, and all that names it."""
        yield [self.facts.item.seq]
        yield from (row.cites for row in self.challenged)
        for zone in self.facts.zones:
            yield [look.seq for look in (zone.before, zone.after) if look is not None]
            yield (*zone.claimed_before, *zone.straddling)
        yield from self.cited_by_findings(self.findings_shown())
        yield from self.cited_by_rules()
        yield [item.seq for item in self.history.items if self._about(item)]

    def _about(self, item: Item) -> bool:
        """Whether an entry names the incident."""
        return self.facts.id in (getattr(item.body, "incidents", None) or ())

    def findings_shown(self) -> Sequence[FindingFacts]:
        """What stood open, what was found, what was seen later, and all in the zones named."""
        named = set(self.facts.incident.zones)
        ids = {finding for zone in self.facts.zones for finding in zone.found}
        ids |= {finding for finding, _ in self.facts.later}
        ids |= {finding.id for finding in open_before(self.standing, self.facts)}
        return [f for f in self.standing.findings if f.id in ids or f.zone in named]
