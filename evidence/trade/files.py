"""From the catalogue's TOML files to its tables: reading, hashing, and the keeper's own rows."""

import hashlib
import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from evidence import words as w
from evidence.errors import RefusedError
from evidence.trade.rows import Borne
from evidence.trade.working import Band, CorrectionRule, Limit, Profile

Fields = dict[str, object]
Tables = dict[str, Fields]
"""What the files say, not yet checked: name of the file without `.toml` → row id → row."""

NEEDED: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "surfaces": frozenset(w.Surface),
        "sealants": frozenset(w.Family),
        "zones": frozenset(f"Z{number:02}" for number in range(1, 28)),
        "findings": frozenset(f"D{number:02}" for number in range(1, 31)),
        "rules": frozenset(w.Task),
        "observations": frozenset(),
        "cautions": frozenset({"footer"}),
        "sources": frozenset(),
        "grades": frozenset(str(int(grade)) for grade in w.Grade),
        "limits": frozenset(Limit),
        "profiles": frozenset(Profile),
        "packages": frozenset(),
        "practice": frozenset(),
        "moisture": frozenset(Band),
        "corrections": frozenset(CorrectionRule),
        "editors": frozenset(),
        "sizes": frozenset(),
    }
)
"""The files, and the rows that each must have: the record (RECORD § 4) or a sum can name them."""

# Grades carry meaning, zones decide which looks count, a correction's formula is the program's, and
# a source's name is not the keeper's to change. In the closed tables a row that the record cannot
# name would be dead.
_MAY_CHANGE = frozenset(
    {"surfaces", "sealants", "findings", "rules", "observations", "cautions"}
    | {"limits", "profiles", "packages", "practice", "moisture", "editors", "sizes"}
)
_MAY_ADD = frozenset(
    {"observations", "cautions", "sources", "packages", "practice", "editors", "sizes"}
)

_BEARING = ("source", "basis")
_STATEMENT = {"letter", "text"}
"""What a cell or a sentence within a row says, and bears itself where it names its basis."""
_OWN = "override.toml"
_MEND = "Correct the file and try again."


@dataclass(frozen=True, slots=True)
class Change:
    """One field of the keeper's own file: the shipped value, None where the row is new, and theirs.

    `row` as `findings.D02`, `field` as `act_within_days` or, within a cell of the fit table,
    `surfaces.epdm.letter`; the values as JSON writes them. A field that they leave as it was
    shipped is no change.
    """

    row: str
    field: str
    built_in: str | None
    own: str

    @property
    def words(self) -> tuple[str | None, str]:
        """Both values as a person reads them."""
        return None if self.built_in is None else _spoken(self.built_in), _spoken(self.own)


def _spoken(value: str) -> str:
    return _said(json.loads(value)) or "nothing"


def _said(value: object) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name} {_said(inner)}" for name, inner in value.items())
    if isinstance(value, list):
        return "; ".join(map(_said, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


@dataclass(frozen=True, slots=True)
class Files:
    """The tables with the keeper's own rows laid over them; `overrides` as `findings.D02`."""

    tables: Tables
    sha256: str
    overrides: tuple[str, ...]
    changes: tuple[Change, ...]
    own_name: str
    own_file: str | None

    def refusal(self, error: ValidationError) -> RefusedError:
        """The first fault that a model found, in terms of file, row and field."""
        loc, why = _first_fault(error)
        table, row = [*loc, ""][:2]
        return self.refuse(table, row, ".".join(loc[2:]), why)

    def refuse(self, table: str, row: str, field: str, why: str) -> RefusedError:
        """The same for a fault found otherwise, laid at the file in which the row was written."""
        own = f"{table}.{row}"
        if own in self.overrides:
            return refuse(self.own_name, own, field, why)
        return refuse(f"{table}.toml", row, field, why)


def _first_fault(error: ValidationError) -> tuple[list[str], str]:
    first = error.errors(include_url=False, include_context=False)[0]
    loc = [str(part) for part in first["loc"] if part != "[key]"]
    return loc, first["msg"].removeprefix("Value error, ")


def refuse(file: str, row: str, field: str, why: str) -> RefusedError:
    """An error that names file, row and field."""
    place = [file, *([f"row {row}"] if row else []), *([f"field {field}"] if field else [])]
    return RefusedError(", ".join(place), why, _MEND)


def as_json(value: object) -> str:
    """JSON of what TOML held; a date becomes an object, so that no text field can take it."""
    return json.dumps(
        value, ensure_ascii=False, default=lambda other: {type(other).__name__: str(other)}
    )


def read_files(folder: Path, override: Path | bytes | None) -> Files:
    """Read the folder's files and the keeper's own, from where it lies or from its bytes.

    Raises:
        RefusedError: a file is missing, unknown or not TOML, or an own row may not stand there.
    """
    held = {path.name: _bytes(path) for path in folder.glob("[!.]*.toml")}
    expected = {f"{table}.toml" for table in NEEDED}
    for name in sorted(held.keys() ^ expected):
        why = "is missing" if name in expected else "is not a file of the catalogue"
        raise RefusedError(str(folder / name), why, "Take the catalogue's folder as it came.")
    tables = {Path(name).stem: _parsed(name, data) for name, data in sorted(held.items())}
    own: Fields = {}
    own_name = _OWN
    if override is not None:
        held[_OWN] = override if isinstance(override, bytes) else _bytes(override)
        own_name = _OWN if isinstance(override, bytes) else override.name
        own = _parsed(own_name, held[_OWN])
    changes = [change for table in own for change in _lay_over(tables, table, own[table], own_name)]
    rows = dict.fromkeys(change.row for change in changes)
    own_file = held[_OWN].decode() if override is not None else None
    return Files(tables, _digest(held), tuple(rows), tuple(changes), own_name, own_file)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        why = f"cannot be read ({error.strerror})"
        raise RefusedError(str(path), why, "See that it is there and yours to read.") from error


def _parsed(name: str, data: bytes) -> Fields:
    try:
        return tomllib.loads(data.decode())
    except (ValueError, RecursionError) as error:
        raise RefusedError(name, f"is not TOML in UTF-8: {error}", _MEND) from error


def _digest(held: Mapping[str, bytes]) -> str:
    """As `Catalogue` defines it."""
    lines = (f"{hashlib.sha256(held[name]).hexdigest()}  {name}\n" for name in sorted(held))
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def _lay_over(tables: Tables, table: str, rows: object, file: str) -> list[Change]:
    """Lay the keeper's rows of one table over the shipped ones; what they change."""
    if table not in NEEDED:
        raise refuse(file, "", "", f"[{table}] is not a table of the catalogue")
    if not isinstance(rows, dict):
        raise refuse(file, "", "", f"{table} holds no rows; write [{table}.<row>]")
    laid = tables[table]
    changes: list[Change] = []
    for row, fields in rows.items():
        if table not in (_MAY_CHANGE if row in laid else _MAY_ADD):
            verb = "changed" if row in laid else "added"
            raise refuse(file, f"{table}.{row}", "", f"rows of {table} cannot be {verb}")
        if not isinstance(fields, dict):
            raise refuse(file, f"{table}.{row}", "", f"holds no fields; write [{table}.{row}]")
        shipped = laid.get(row)
        laid[row] = _changed(shipped, fields, f"{table}.{row}", file) if shipped else fields
        changes += _differences(f"{table}.{row}", shipped, fields)
    return changes


def _differences(row: str, shipped: object, own: Fields) -> list[Change]:
    was = shipped if isinstance(shipped, dict) else {}
    changes = [
        Change(row, name, None if before is None else as_json(before), as_json(value))
        for name, before, value in _leaves(was, own)
        if before != value
    ]
    if changes or was:
        return changes
    return [Change(row, "", None, as_json({}))]


def _leaves(was: Fields, own: Fields, above: str = "") -> Iterator[tuple[str, object, object]]:
    """Every field that the keeper gives, with the shipped one; of a table its own fields."""
    for name, value in own.items():
        before = was.get(name)
        if isinstance(value, dict) and (isinstance(before, dict) or above):
            inner = before if isinstance(before, dict) else {}
            yield from _leaves(inner, value, f"{above}{name}.")
        else:
            yield f"{above}{name}", before, value


def _over(was: object, own: object) -> object:
    """The keeper's value over the shipped one: of a table each field by itself.

    What bears a letter or a sentence, and its note, goes with it: another letter has its own.
    """
    if not (isinstance(was, dict) and isinstance(own, dict)):
        return own
    if _STATEMENT & own.keys():
        was = {name: value for name, value in was.items() if name not in (*_BEARING, "note")}
    return {**was, **{name: _over(was.get(name), value) for name, value in own.items()}}


def _changed(shipped: object, own: Fields, row: str, file: str) -> Fields:
    """The shipped row with the keeper's fields, its basis saying who bears which."""
    fields = [field for field in own if field not in _BEARING]
    if not fields:
        raise refuse(file, row, "", "changes no field")
    was = shipped if isinstance(shipped, dict) else {}
    if not set(_BEARING) & own.keys() and all(_bears_itself(own[field]) for field in fields):
        return {**was, **{field: _over(was.get(field), own[field]) for field in fields}}
    old, new = _bearing(was, row, f"{row.partition('.')[0]}.toml"), _bearing(own, row, file)
    laid = _over(was, own)
    return {
        **(laid if isinstance(laid, dict) else {}),
        "source": [*dict.fromkeys([*old.source, *new.source])],
        "basis": f"{new.rests_on} for {', '.join(fields)}; otherwise {old.rests_on}",
    }


def _bears_itself(value: object) -> bool:
    """Whether each statement in it names its own source or basis."""
    if not isinstance(value, dict) or not value:
        return False
    if _STATEMENT & value.keys():
        return bool(set(_BEARING) & value.keys())
    return all(map(_bears_itself, value.values()))


def _bearing(fields: Fields, row: str, file: str) -> Borne:
    said = {field: fields[field] for field in _BEARING if field in fields}
    try:
        return Borne.model_validate_json(as_json(said))
    except ValidationError as error:
        loc, why = _first_fault(error)
        raise refuse(file, row, ".".join(loc), why) from error
