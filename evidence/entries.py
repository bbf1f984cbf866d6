"""What can be written down: one strict model for every kind of RECORD § 4.

Unknown fields are refused, so the format is whole. A model checks what one entry can be checked
for on its own; what depends on the entries before it stands in `evidence/upkeep/admission.py`.
"""

from collections.abc import Mapping
from hashlib import sha256
from typing import Annotated, Literal

from pydantic import Field, JsonValue, model_validator

from evidence import words as w
from evidence.shapes import (
    Clause,
    Defect,
    Description,
    Finding,
    FindingRecheck,
    Ids,
    Place,
    Sealed,
    Signature,
    Strict,
    Zone,
    in_order,
    once,
)

Zones = tuple[w.Slug, ...]
SomeZones = Annotated[Zones, Field(min_length=1)]
ZonesOrAll = SomeZones | Literal["all"]
Seqs = tuple[w.Seq, ...]


class Body(Strict):
    """What every kind's body is."""


class Deed(Body):
    """What was done: it may carry findings and settle earlier ones."""

    findings: tuple[Finding, ...] | None = None
    settles: Ids | None = None


class Case(Body):
    """seq 0."""

    case_id: w.CaseId
    title: w.Text
    sample: bool


class Rig(Body):
    id: w.Slug
    name: w.Text
    maker: w.Text | None = None
    model: w.Text | None = None
    model_year: Annotated[int, Field(ge=1900, le=2199)] | None = None
    serial: w.Text | Sealed | None = None
    built: w.Day | None = None
    surface: w.Surface
    length_mm: Annotated[int, Field(ge=500, le=30_000)]
    width_mm: Annotated[int, Field(ge=500, le=6_000)]
    home_zone: w.ZoneKey
    travels: tuple[w.ZoneKey, ...] | None = None
    walkable: Literal["yes", "no", "unknown"]
    zones: Annotated[tuple[Zone, ...], Field(min_length=1)]


class Party(Body):
    id: w.Slug
    name: w.Text
    role: w.Role


class Key(Body):
    party: w.Slug
    event: w.KeyEvent
    key: w.Text
    use: w.KeyUse
    cert: w.Sha256 | None = None
    why: w.Text | None = None


class Rule(Body):
    id: w.Slug
    task: w.Task
    days: Annotated[int, Field(ge=0, le=36_525)]
    from_days: Annotated[int, Field(ge=0, le=36_525)] | None = None
    zones: Annotated[tuple[w.Slug | w.ZoneType, ...], Field(min_length=1)] | None = None
    means: tuple[w.Means, ...] | None = None
    authority: w.Text
    basis: w.RuleBasis
    paper: w.Seq | None = None
    wording: w.Text | None = None
    applies_from: w.Day
    applies_to: w.Day | None = None
    required: bool

    @model_validator(mode="after")
    def _ordered(self) -> "Rule":
        in_order("applies_from", self.applies_from, "applies_to", self.applies_to)
        if self.from_days is not None and self.from_days > self.days:
            raise ValueError("'from_days' is more than 'days'")
        return self


class Photos(Body):
    note: w.Text | None = None


class Label(Description, Body):
    of: Annotated[tuple[w.Sha256, ...], Field(min_length=1)]
    original_of: w.Sha256 | None = None


class Ownership(Body):
    id: w.Slug
    party: w.Slug
    from_: w.Day = Field(alias="from")
    to: w.Day | None = None
    known_by: w.KnownBy

    @model_validator(mode="after")
    def _ordered(self) -> "Ownership":
        in_order("from", self.from_, "to", self.to)
        return self


class ZoneGrade(Strict):
    zone: w.Slug
    grade: w.GivenGrade
    note: w.Text | None = None


class Inspection(Deed):
    when: w.When
    means: w.Means
    occasion: w.Occasion
    zones: Annotated[tuple[ZoneGrade, ...], Field(min_length=1)]
    rechecks: tuple[FindingRecheck, ...] | None = None
    incidents: Ids | None = None

    @model_validator(mode="after")
    def _each_once(self) -> "Inspection":
        once("zones", [row.zone for row in self.zones])
        once("rechecks", [row.finding for row in self.rechecks or ()])
        return self


class Wash(Deed):
    when: w.When
    zones: ZonesOrAll
    product: w.Text | None = None
    method: w.Text | None = None


class Treatment(Deed):
    when: w.When
    zones: ZonesOrAll
    product: w.Text
    treats: Literal["uv", "other"]


class Reseal(Deed):
    when: w.When
    zones: SomeZones
    extent: w.Extent
    family: w.Family
    product: w.Text | None = None
    lot: w.Text | None = None
    expires: w.Day | None = None
    primer: w.Text | None = None
    old_bead: w.OldBead | None = None
    old_family: w.Family | None = None
    air_dC: w.DeciCelsius | None = None
    surface_dC: w.DeciCelsius | None = None
    humidity_pct: w.Percent | None = None
    dry_check: w.Text | None = None
    last_wet: w.When | None = None
    next_rain: w.When | None = None


class Repair(Deed):
    when: w.When
    zones: SomeZones
    what: w.RepairWork
    detail: w.Text | None = None
    new_surface: w.Surface | None = None


class Cover(Deed):
    when: w.When
    zones: SomeZones
    what: w.Text
    incidents: Ids | None = None


class Trip(Body):
    id: w.Slug
    out: w.When
    back: w.When | None = None
    note: w.Text | None = None


class Storage(Body):
    id: w.Slug
    from_: w.When = Field(alias="from")
    to: w.When | None = None
    where: w.Text | None = None


class End(Body):
    of: w.Slug
    when: w.When


class Incident(Body):
    id: w.Slug
    stated_cause: w.Cause
    when: w.When
    known: w.Known
    zones: SomeZones
    place: Place | Sealed | None = None
    note: w.Text | None = None


class Reading(Body):
    when: w.When
    zone: w.Slug
    spot: w.Text
    value_pct10: w.TenthsPercent
    scale: w.Scale
    meter: w.Meter
    meter_id: w.Text | None = None
    setting: w.Text | None = None
    temp_dC: w.DeciCelsius | None = None
    humidity_pct: w.Percent | None = None
    reference_pct10: w.TenthsPercent | None = None
    finding: w.Slug | None = None
    incidents: Ids | None = None


class Paper(Body):
    type: w.PaperType
    dated: w.When | None = None
    title: w.Text
    number: w.Text | Sealed | None = None
    about: Seqs | None = None
    clauses: tuple[Clause, ...] | None = None
    incidents: Ids | None = None


class Handover(Body):
    when: w.When
    type: Literal["delivery", "sale"]
    from_: w.Slug = Field(alias="from")
    to: w.Slug
    writer: Literal["from", "to", "both"]
    zones: tuple[ZoneGrade, ...] | None = None
    defects: tuple[Defect, ...] | None = None
    explained: tuple[w.Task, ...] | None = None
    papers: Seqs | None = None
    statement: w.Text
    signatures: tuple[Signature, ...]

    @model_validator(mode="after")
    def _over_the_statement(self) -> "Handover":
        once("zones", [row.zone for row in self.zones or ()])
        once("defects", [row.finding for row in self.defects or ()])
        digest = sha256(self.statement.encode()).hexdigest()
        if any(signature.over != digest for signature in self.signatures):
            raise ValueError("a signature is over another text than the statement")
        return self


class Deferral(Body):
    when: w.When
    task: w.Task
    zones: SomeZones | None = None
    why: w.DeferralReason
    note: w.Text | None = None


class Custody(Body):
    when: w.When
    item: w.Text
    action: w.CustodyAction
    where: w.Text | None = None
    incidents: Ids | None = None


class Cost(Body):
    when: w.When
    amount: w.Decimal
    currency: w.Currency
    what: w.Text
    incidents: Ids | None = None
    papers: Seqs | None = None


class Notice(Body):
    when: w.When
    direction: Literal["sent", "received"]
    party: w.Slug
    type: w.NoticeType
    incidents: Ids | None = None
    text: w.Text | None = None


class Weather(Body):
    incident: w.Slug
    source: w.Text
    status: Literal["preliminary", "final"]
    recheck: w.Day | None = None
    reports: tuple[dict[w.Text, w.Text | int | None], ...]


class Correction(Body):
    of: w.Seq
    set: dict[w.Text, JsonValue] | None = None
    withdraw: bool | None = None
    why: w.Text

    @model_validator(mode="after")
    def _one_of_both(self) -> "Correction":
        if self.withdraw is False or (self.set is None) == (self.withdraw is None):
            raise ValueError("give either 'set' or 'withdraw: true'")
        return self


class Clock(Body):
    was: w.UtcTime
    is_: w.UtcTime = Field(alias="is")
    why: w.Text


class Witness(Body):
    """An outsider's word on the head of `size` entries; the answer itself is the entry's file."""

    type: Literal["rfc3161", "letter", "cosign"]
    size: Annotated[int, Field(ge=1)]
    root: w.Sha256
    time: w.UtcTime
    name: w.Text


class Rehash(Body):
    """Reserved: the whole record hashed again with a newer algorithm."""


class Issued(Body):
    form: w.Form
    file: w.Sha256
    size: Annotated[int, Field(ge=1)]
    tallies: dict[w.Text, w.Count]
    catalogue: w.Sha256
    incident: w.Slug | None = None
    for_: w.Text | None = Field(default=None, alias="for")


BODIES: Mapping[str, type[Body]] = {
    "case": Case,
    "rig": Rig,
    "party": Party,
    "key": Key,
    "rule": Rule,
    "photos": Photos,
    "label": Label,
    "ownership": Ownership,
    "inspection": Inspection,
    "wash": Wash,
    "treatment": Treatment,
    "reseal": Reseal,
    "repair": Repair,
    "cover": Cover,
    "trip": Trip,
    "storage": Storage,
    "end": End,
    "incident": Incident,
    "reading": Reading,
    "paper": Paper,
    "handover": Handover,
    "deferral": Deferral,
    "custody": Custody,
    "cost": Cost,
    "notice": Notice,
    "weather": Weather,
    "correction": Correction,
    "clock": Clock,
    "witness": Witness,
    "rehash": Rehash,
    "issued": Issued,
}
"""Every kind of entry, in the order of RECORD § 4."""
