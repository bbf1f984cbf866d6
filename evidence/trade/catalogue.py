"""The words and tables of the trade, read from `templates/catalogue/*.toml`.

The keeper may change or add rows with one TOML file of their own, whose tables are named after the
files (`[findings.D02]`). It changes only the fields that it gives, must say on what it rests, and
every field that it touches is listed in `Catalogue.changes`, beside the shipped one, to be printed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from pydantic import Field, ValidationError

from evidence import words as w
from evidence.errors import RefusedError
from evidence.resources import templates
from evidence.shapes import Strict
from evidence.trade import rows as r
from evidence.trade import working as k
from evidence.trade.files import NEEDED, Change, Files, as_json, read_files

_WHERE = {
    w.Slope.FLAT: "on a flat place",
    w.Slope.SLOPED: "on a sloped place",
    w.Slope.VERTICAL: "on a vertical place",
    None: "on a slope that is not on record",
}
_SAYS = {
    r.Letter.Y: "suitable",
    r.Letter.C: "only where the label says so",
    r.Letter.N: "not suitable",
}


@dataclass(frozen=True, slots=True)
class Fit:
    """A letter of the fit table, why it is that one, and what the deciding columns rest on."""

    letter: r.Letter
    reason: str
    source: str


class Catalogue(Strict):
    r"""The trade's tables by id, immutable.

    `sha256` is over one line a file, `<SHA-256 of its bytes>  <name>\n`, in byte order of the
    names; the keeper's own file counts as `override.toml`. By hand, in the folder:
    `LC_ALL=C sha256sum *.toml | sha256sum`.

    `overrides` are the rows changed or added by the keeper's own file, as `findings.D02`,
    `changes` its fields beside the shipped ones, and `own_file` is its text.
    """

    surfaces: r.Rows[w.Surface, r.SurfaceRow]
    families: r.Rows[w.Family, r.FamilyRow] = Field(alias="sealants")
    zone_types: r.Rows[w.ZoneType, r.ZoneRow] = Field(alias="zones")
    findings: r.Rows[w.FindingType, r.FindingRow]
    tasks: r.Rows[w.Task, r.TaskRow] = Field(alias="rules")
    observations: r.Rows[w.Slug, r.ObservationRow]
    caution_rows: r.Rows[w.Slug, r.CautionRow] = Field(alias="cautions")
    sources: r.Rows[r.SourceId, r.SourceRow]
    grades: r.Rows[w.Grade, r.GradeRow]
    limits: r.Rows[k.Limit, k.LimitRow]
    profiles: r.Rows[k.Profile, k.ProfileRow]
    packages: r.Rows[w.Slug, k.PackageRow]
    practice: r.Rows[w.Slug, k.PracticeRow]
    moisture_bands: r.Rows[k.Band, k.BandRow] = Field(alias="moisture")
    corrections: r.Rows[k.CorrectionRule, k.CorrectionRow]
    editors: r.Rows[w.Slug, r.EditorRow]
    sizes: r.Rows[w.Slug, k.SizeRow]
    sha256: w.Sha256
    overrides: tuple[str, ...]
    changes: tuple[Change, ...]
    own_file: str | None

    @property
    def cautions(self) -> Mapping[str, r.CautionRow]:
        """The cautions in order, without the footer."""
        return MappingProxyType({k: v for k, v in self.caution_rows.items() if k != "footer"})

    @property
    def footer(self) -> str:
        """The sentence at the foot of every care page."""
        return self.caution_rows["footer"].text

    def cautions_for(self, task: w.Task, means: w.Means | None = None) -> tuple[r.CautionRow, ...]:
        """What is shown before a task; `means` is None where it is not yet chosen."""
        return tuple(row for row in self.cautions.values() if row.goes_with(task, means))

    def named(self, rests_on: str) -> str:
        """What a row rests on, the sources by their titles: for a person."""
        parts = rests_on.split("; ")
        return "; ".join(self.sources[p].title if p in self.sources else p for p in parts)

    def practised(
        self, topic: k.Topic, extent: w.Extent | None = None
    ) -> tuple[k.PracticeRow, ...]:
        """The sentences of practice on a topic; `extent` leaves out those of other work."""
        return tuple(
            row
            for row in self.practice.values()
            if row.topic == topic and (extent is None or not row.extents or extent in row.extents)
        )

    def band(self, value_pct10: int) -> k.Band:
        """The band of a wood-moisture value in tenths of a per cent."""
        return next(
            band
            for band, row in self.moisture_bands.items()
            if row.up_to_pct10 is None or value_pct10 <= row.up_to_pct10
        )

    def fit(
        self,
        family: w.Family,
        surface: w.Surface,
        slope: w.Slope | None,
        over: w.Family | None = None,
    ) -> Fit:
        """How a sealant suits a place: the worse of the slope and the surface column (TRADE § 2).

        A column on which the table is silent is left out of the count, and the reason says so:
        an unknown surface, a slope that is not on record (None) where the letter depends on it,
        a family without letters. If both are silent the letter is C, since what is not known is
        neither cleared nor refused. `over` is the family of an old bead that stays.

        Raises:
            RefusedError: a family, surface or slope that the catalogue does not have.
        """
        sealant = _row(self.families, family, "family of sealants")
        place = _row(self.surfaces, surface, "surface")
        columns = (
            (_row(_WHERE, slope, "slope"), sealant.on_slope(slope)),
            (f"on {place.label}", _laid_over(sealant.surfaces.get(surface), over)),
        )
        reason = "; ".join(f"{where}: {_said(cell)}" for where, cell in columns)
        letters = list(r.Letter)
        cells = [cell for _, cell in columns if cell is not None]
        if not cells:
            return Fit(r.Letter.C, f"{sealant.label} {reason}; the label decides", sealant.rests_on)
        worst = max((cell.letter for cell in cells), key=letters.index)
        deciding = [cell.rests_on or sealant.rests_on for cell in cells if cell.letter == worst]
        return Fit(worst, f"{sealant.label} {reason}", "; ".join(dict.fromkeys(deciding)))

    def act_within(self, finding_type: str, grade: int) -> int:
        """Days from first sight within which a finding wants action (TRADE § 4).

        A finding with two grades has the days of the graver one from that grade on. The days go
        with the finding: a grade that its row does not foresee does not change them.

        Raises:
            RefusedError: a finding that the catalogue does not have.
        """
        finding = _row(self.findings, finding_type, "finding")
        graver = finding.grade_if
        if graver is not None and grade >= graver.grade:
            return graver.act_within_days
        return finding.act_within_days


def load_catalogue(folder: Path | None = None, override: Path | bytes | None = None) -> Catalogue:
    """Read and check the whole catalogue; the shipped one is read once.

    Args:
        folder: the TOML files; None takes those that came with the program.
        override: the keeper's own file, or its bytes, laid over them.

    Raises:
        RefusedError: a file is missing, unknown, not TOML or not whole; it names file, row, field.
    """
    if folder is None and override is None:
        return _shipped()
    return _load(folder or templates() / "catalogue", override)


@lru_cache(maxsize=1)
def _shipped() -> Catalogue:
    return _load(templates() / "catalogue", None)


def _load(folder: Path, override: Path | bytes | None) -> Catalogue:
    files = read_files(folder, override)
    whole = {
        **files.tables,
        "sha256": files.sha256,
        "overrides": files.overrides,
        "changes": [asdict(change) for change in files.changes],
        "own_file": files.own_file,
    }
    try:
        catalogue = Catalogue.model_validate_json(as_json(whole))
    except ValidationError as error:
        raise files.refusal(error) from error
    _check_rows(files)
    _check_citations(files)
    _check_zones(files, catalogue)
    _check_bands(files, catalogue)
    return catalogue


def _check_rows(files: Files) -> None:
    for table, needed in NEEDED.items():
        for row in sorted(needed - files.tables[table].keys()):
            raise files.refuse(table, row, "", "is missing")


def _check_citations(files: Files) -> None:
    known = files.tables["sources"].keys()
    for table, rows in files.tables.items():
        for row, fields in rows.items():
            for source in _cited(fields):
                if source not in known:
                    raise files.refuse(table, row, "source", f"{source} is not among the sources")


def _cited(node: object) -> Iterator[str]:
    """Every id under a `source` key, at any depth of a row."""
    if isinstance(node, dict):
        yield from node.get("source", ())
        for inner in node.values():
            yield from _cited(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from _cited(inner)


def _check_zones(files: Files, catalogue: Catalogue) -> None:
    for zone, row in catalogue.zone_types.items():
        if row.on_roof != (zone in w.ROOF_ZONES):
            raise files.refuse("zones", zone, "on_roof", "must be true for Z01 to Z24 alone")


def _check_bands(files: Files, catalogue: Catalogue) -> None:
    *edged, (last, open_end) = catalogue.moisture_bands.items()
    below = -1
    for band, row in edged:
        if row.up_to_pct10 is None or row.up_to_pct10 <= below:
            raise files.refuse("moisture", band, "up_to_pct10", "must be above the band before it")
        below = row.up_to_pct10
    if open_end.up_to_pct10 is not None:
        raise files.refuse("moisture", last, "up_to_pct10", "the last band has no upper edge")


def _row(rows: Mapping[r.K, r.V], key: r.K, kind: str) -> r.V:
    if key not in rows:
        raise RefusedError(f"{kind} {key}", "is not in the catalogue", "Choose one that is.")
    return rows[key]


def _laid_over(cell: r.Cell | None, over: w.Family | None) -> r.Cell | None:
    if cell is None or over is None or over not in cell.never_over:
        return cell
    return cell.model_copy(update={"letter": r.Letter.N})


def _said(cell: r.Cell | None) -> str:
    if cell is None:
        return "the table is silent"
    return _SAYS[cell.letter] + (f" ({cell.note})" if cell.note else "")
