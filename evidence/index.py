"""`index.sqlite`: the record as tables, so that anyone can ask with SQL.

Derived from the entries alone: nothing in the program reads it, no figure rests on it, and it may
be deleted at any time. It is made whole whenever the record has another head. A later entry can
change what an earlier one says (a correction, a label), so nothing is appended to it.
"""

import os
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from evidence.case import Record
from evidence.entries import Inspection
from evidence.errors import RefusedError
from evidence.ledger import leaf_hash, tree_root
from evidence.times import Span, utc_text, zone
from evidence.trade import Catalogue, load_catalogue
from evidence.upkeep import History, read_history
from evidence.upkeep.findings import FindingFacts, measure_findings
from evidence.upkeep.gaps import RuleGaps, coverings, measure_rules
from evidence.upkeep.items import Item, build_items

LAYOUT = 3
"""Counts up with every change of the tables: an index of another layout is made anew."""

Row = dict[str, str | int | None]
Columns = Mapping[str, type[str] | type[int]]

TABLES: Mapping[str, Columns] = {
    "entries": {
        "seq": int, "kind": str, "nth": int, "by": str, "logged": str,
        "earliest": str, "latest": str, "basis": str, "conflict": int, "within_24h": int,
        "corrected": int, "withdrawn_by": int, "sha256": str, "body": str,
    },
    "looks": {
        "seq": int, "zone": str, "grade": int, "means": str, "occasion": str, "covers": int,
        "earliest": str, "latest": str,
    },
    "findings": {
        "id": str, "zone": str, "type": str, "grade": int, "state": str, "opened": int,
        "settled": int, "onset_earliest": str, "onset_latest": str, "days_open_min": int,
        "days_open_max": int, "act_by": str,
    },
    "photos": {
        "seq": int, "sha256": str, "name": str, "type": str, "bytes": int, "role": str,
        "zone": str, "finding": str, "capture_rule": str, "capture_earliest": str,
        "capture_latest": str,
    },
    "gaps": {
        "rule": str, "rule_seq": int, "zone": str, "from_day": str, "to_day": str, "days_min": int,
        "days_max": int, "over_min": int, "over_max": int, "open": int, "closed_by": int,
        "means": str,
    },
    "index_state": {"layout": int, "size": int, "root": str, "on": str, "catalogue": str,
        "places": str,
    },
}  # fmt: skip
"""Columns by table. Moments are UTC text, days civil dates at home, yes and no are 1 and 0.

`body` is JSON with its corrections applied. `looks` leaves out what was withdrawn; `covers` is 0
for a look from the ground or from inside at a zone of the roof. `gaps` has every zone of every
periodic rule. `findings` and `gaps` are measured `on` the day of the newest entry.
"""

_KEYS = {"entries": "seq", "findings": "id", "index_state": "size"}
_SEARCHED = {"looks": ["zone", "seq"], "photos": ["seq"], "gaps": ["rule", "zone"]}
_PICTURES = ("image/", "video/")


@dataclass(frozen=True, slots=True)
class State:
    """Of which record the index is, on which day it was measured, by which tables and lookup."""

    layout: int
    size: int
    root: str
    on: str
    catalogue: str
    places: str | None


def refresh_index(record: Record) -> bool:
    """Make the case's index anew, unless it is of this very record; whether it was made.

    Raises:
        RefusedError: it cannot be written, or the record has no rig yet.
    """
    path, catalogue = record.folder / "index.sqlite", load_catalogue()
    state = _state(record, catalogue)
    if _read_state(path) == state:
        return False
    rows = _rows(record, date.fromisoformat(state.on), catalogue)
    rows["index_state"] = [asdict(state)]
    try:
        _replace(path, rows)
    except (OSError, sqlite3.Error) as error:
        raise RefusedError(
            str(path), f"cannot be written: {error}", "The record itself is not touched by it."
        ) from error
    return True


def newest_day(record: Record) -> date:
    """The day at home on which the newest entry was written: a later one changes no figure of it.

    Raises:
        RefusedError: the record has no rig yet.
    """
    newest = max(entry.logged for entry in record.entries)
    return newest.astimezone(zone(record.home)).date()


def _state(record: Record, catalogue: Catalogue) -> State:
    root = tree_root([leaf_hash(line) for line in record.lines])
    on = newest_day(record)
    places = None if record.atlas is None else record.atlas.source
    return State(LAYOUT, len(record.lines), root.hex(), on.isoformat(), catalogue.sha256, places)


def _read_state(path: Path) -> State | None:
    """What the index says that it is; None where there is none, or a damaged one."""
    if not path.is_file():
        return None
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as index:
            whole = index.execute("PRAGMA quick_check(1)").fetchall() == [("ok",)]
            tables = {name for (name,) in index.execute("SELECT name FROM sqlite_schema")}
            if not whole or not tables.issuperset(TABLES):
                return None
            (row,) = index.execute("SELECT * FROM index_state").fetchall()
            return State(*row)
    except (sqlite3.Error, TypeError, ValueError):
        return None


def _replace(path: Path, rows: Mapping[str, Iterable[Row]]) -> None:
    """Write a new file beside the old one and put it in its place: readers see one or the other."""
    handle, name = tempfile.mkstemp(prefix=".index-", dir=path.parent)
    os.close(handle)
    made = Path(name)
    try:
        _write(made, rows)
        for left in ("-journal", "-wal", "-shm"):  # of the old file: they must not meet the new one
            path.with_name(path.name + left).unlink(missing_ok=True)
        made.replace(path)
    finally:
        made.unlink(missing_ok=True)


def _write(path: Path, rows: Mapping[str, Iterable[Row]]) -> None:
    from sqlite_utils import Database

    with closing(sqlite3.connect(path)) as connection:
        # Plugins that somebody installed have no business here.
        index = Database(connection, execute_plugins=False)
        with index.atomic():
            for name, columns in TABLES.items():
                table = index.table(name)
                table.create(dict(columns), pk=_KEYS.get(name))
                table.insert_all(rows[name])
                if name in _SEARCHED:
                    table.create_index(_SEARCHED[name])


# Rows


def _rows(record: Record, on: date, catalogue: Catalogue) -> dict[str, Iterable[Row]]:
    history = read_history(record.entries, on=on, atlas=record.atlas)
    # a time some minutes ahead of the clock is listed, too
    items = build_items(record.entries, record.atlas)
    return {
        "entries": map(_entry, items),
        "looks": (row for item in items for row in _looks(item, history)),
        "findings": map(_finding, measure_findings(history, catalogue)),
        "photos": (row for item in items for row in _photos(item)),
        "gaps": (
            row for rule in measure_rules(coverings(history, catalogue)) for row in _gaps(rule)
        ),
    }


def _ends(span: Span | None, prefix: str = "") -> Row:
    ends = {"earliest": None, "latest": None} if span is None else span.as_json()
    return {prefix + name: text for name, text in ends.items()}


def _entry(item: Item) -> Row:
    entry = item.entry
    return {
        "seq": entry.seq,
        "kind": entry.kind,
        "nth": entry.nth,
        "by": entry.by,
        "logged": utc_text(entry.logged),
        **_ends(item.span),
        "basis": None if item.span is None else item.span.basis.value,
        "conflict": int(item.conflict),
        "within_24h": None if item.span is None else int(item.within_24h),
        "corrected": int(bool(item.changes)),
        "withdrawn_by": item.withdrawn_by,
        "sha256": entry.sha256,
        "body": item.body.model_dump_json(exclude_none=True),
    }


def _looks(item: Item, history: History) -> Iterator[Row]:
    body = item.body
    if not isinstance(body, Inspection) or item.withdrawn_by is not None:
        return
    for row in body.zones:
        yield {
            "seq": item.seq,
            "zone": row.zone,
            "grade": int(row.grade),
            "means": body.means.value,
            "occasion": body.occasion.value,
            "covers": int(history.place(row.zone).seen_by(body.means)),
            **_ends(item.span),
        }


def _photos(item: Item) -> Iterator[Row]:
    for picture in item.pictures:
        file = picture.file
        if file.type.startswith(_PICTURES):
            yield {
                "seq": item.seq,
                "sha256": file.sha256,
                "name": file.name if isinstance(file.name, str) else file.name.hex,
                "type": file.type,
                "bytes": file.bytes,
                "role": None if file.role is None else file.role.value,
                "zone": file.zone,
                "finding": file.finding,
                "capture_rule": str(picture.capture.rule),
                **_ends(picture.capture.span, "capture_"),
            }


def _finding(facts: FindingFacts) -> Row:
    earliest, latest = facts.onset
    return {
        "id": facts.id,
        "zone": facts.zone,
        "type": facts.type,
        "grade": facts.grade,
        "state": facts.state,
        "opened": facts.opened,
        "settled": facts.settled,
        "onset_earliest": None if earliest is None else utc_text(earliest),
        "onset_latest": utc_text(latest),
        "days_open_min": facts.days_open[0],
        "days_open_max": facts.days_open[1],
        "act_by": facts.act_by.isoformat(),
    }


def _gaps(measured: RuleGaps) -> Iterator[Row]:
    for row in measured.zones:
        for gap in row.gaps:
            yield {
                "rule": measured.rule.id,
                "rule_seq": measured.item.seq,
                "zone": gap.zone,
                "from_day": gap.from_.isoformat(),
                "to_day": gap.to.isoformat(),
                "days_min": gap.days[0],
                "days_max": gap.days[1],
                "over_min": gap.over[0],
                "over_max": gap.over[1],
                "open": int(gap.open),
                "closed_by": gap.closed_by,
                "means": gap.means,
            }
