"""The record for other programs: JSON Lines as they stand, and tables as CSV (RFC 4180)."""

import csv
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from evidence.carried import HEADS_NAME, RECORD_NAME, heads_bytes, record_bytes
from evidence.case import Record
from evidence.entries import Inspection
from evidence.errors import RefusedError
from evidence.times import utc_text
from evidence.upkeep.items import Item, build_items

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def export_record(record: Record, folder: Path) -> list[Path]:
    """Write `record.jsonl`, `heads.txt`, and `entries.csv`, `files.csv`, `looks.csv`.

    Times are UTC. A cell that a spreadsheet would run as a formula is written with a leading
    apostrophe.

    Raises:
        RefusedError: the folder cannot be written.
    """
    items = build_items(record.entries, record.atlas)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / RECORD_NAME).write_bytes(record_bytes(record.lines))
        (folder / HEADS_NAME).write_bytes(heads_bytes(record.heads))
        _table(folder / "entries.csv", _ENTRY_HEADS, map(_entry_row, items))
        _table(folder / "files.csv", _FILE_HEADS, (row for item in items for row in _files(item)))
        _table(folder / "looks.csv", _LOOK_HEADS, (row for item in items for row in _looks(item)))
    except OSError as error:
        raise RefusedError(str(folder), f"cannot be written: {error.strerror}") from error
    names = (RECORD_NAME, HEADS_NAME, "entries.csv", "files.csv", "looks.csv")
    return [folder / name for name in names]


_ENTRY_HEADS = (
    "seq", "kind", "nth", "by", "logged", "earliest", "latest", "basis", "conflict",
    "withdrawn_by", "sha256", "body",
)  # fmt: skip
_FILE_HEADS = (
    "seq", "sha256", "bytes", "type", "name", "role", "zone", "finding", "capture_rule",
    "capture_earliest", "capture_latest",
)  # fmt: skip
_LOOK_HEADS = ("seq", "zone", "grade", "means", "occasion", "earliest", "latest")


def _ends(item: Item) -> tuple[str, str]:
    if item.span is None:
        return "", ""
    earliest = item.span.earliest
    return "" if earliest is None else utc_text(earliest), utc_text(item.span.latest)


def _entry_row(item: Item) -> Sequence[object]:
    entry = item.entry
    return (
        entry.seq,
        entry.kind,
        entry.nth,
        entry.by,
        utc_text(entry.logged),
        *_ends(item),
        "" if item.span is None else item.span.basis,
        item.conflict,
        "" if item.withdrawn_by is None else item.withdrawn_by,
        entry.sha256,
        json.dumps(dict(entry.raw), ensure_ascii=False, sort_keys=True),
    )


def _files(item: Item) -> Iterable[Sequence[object]]:
    for picture in item.pictures:
        file, span = picture.file, picture.capture.span
        yield (
            item.seq,
            file.sha256,
            file.bytes,
            file.type,
            file.name if isinstance(file.name, str) else file.name.hex,
            file.role or "",
            file.zone or "",
            file.finding or "",
            picture.capture.rule,
            "" if span is None or span.earliest is None else utc_text(span.earliest),
            "" if span is None else utc_text(span.latest),
        )


def _looks(item: Item) -> Iterable[Sequence[object]]:
    body = item.body
    if isinstance(body, Inspection) and item.withdrawn_by is None:
        for row in body.zones:
            yield item.seq, row.zone, int(row.grade), body.means, body.occasion, *_ends(item)


def _table(path: Path, heads: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heads)
        writer.writerows([_cell(cell) for cell in row] for row in rows)


def _cell(value: object) -> object:
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return value
