"""The file that `measure --into` makes: a finding with its measures, for `enter … --from`."""

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.errors import RefusedError
from evidence.lengths import kept_in, sentence
from evidence.placing import Kind, put

if TYPE_CHECKING:
    from pydantic import JsonValue

    from evidence.case import Record
    from evidence.cli.measuring_told import Measured

_LISTS = {"findings", "rechecks"}
Item = dict[str, "JsonValue"]


def keep(
    record: "Record", found: "Measured", name: str, said: "Mapping[str, JsonValue]", into: Path
) -> None:
    """Write the finding with its measure; into a file of this kind it is added.

    A finding that the record holds becomes a recheck of it. The picture goes along where the record
    does not hold it yet.

    Args:
        record: the case.
        found: the measure.
        name: the finding's id.
        said: what else is said of it: zone, type and grade of a new one, state and grade else.
        into: the file.

    Raises:
        RefusedError: the file is there and is none of this kind, or cannot be written.
    """
    body, files = _there(into)
    of_record = any(
        finding.id == name
        for entry in record.entries
        for finding in getattr(entry.body, "findings", None) or ()
    )
    listed = body.setdefault("rechecks" if of_record else "findings", [])
    key = "finding" if of_record else "id"
    item = next((one for one in listed if one.get(key) == name), None)
    if item is None:
        item = {key: name}
        listed.append(item)
    item.update(_typed(said))
    item["note"] = _noted(str(item.get("note", "")), found)
    if not of_record:
        item[f"{found.way}_mm"] = round(found.length.mm)
    _with_picture(files, found, name, said)
    document = {"body": body, "files": files}
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    put(text.encode(), into, Kind("file of a finding's measures", _made_here))


def _there(into: Path) -> tuple[dict[str, list[Item]], list[Item]]:
    """What the file holds already; what is no file of this kind is refused when it is written."""
    try:
        data = into.read_bytes()
    except OSError:
        return {}, []
    if not _made_here(data):
        return {}, []
    held = json.loads(data)
    return held["body"], held["files"]


def _made_here(data: bytes) -> bool:
    try:
        held = json.loads(data)
    except ValueError:
        return False
    if not isinstance(held, dict) or held.keys() != {"body", "files"}:
        return False
    body, files = held["body"], held["files"]
    if not isinstance(body, dict) or not isinstance(files, list) or not body.keys() <= _LISTS:
        return False
    return all(
        isinstance(item, dict) and any(kept_in(str(item.get("note", ""))))
        for items in body.values()
        for item in (items if isinstance(items, list) else [None])
    )


def _typed(said: "Mapping[str, JsonValue]") -> Item:
    """What was said, a grade as a number."""
    item = dict(said)
    grade = item.get("grade")
    if isinstance(grade, str):
        if not re.fullmatch(r"[0-4]", grade, re.ASCII):
            raise RefusedError(f"--finding: grade {grade!r}", "is no grade", "Write 0 to 4.")
        item["grade"] = int(grade)
    return item


def _noted(note: str, found: "Measured") -> str:
    """The note with this measure's sentence, in the place of an earlier one of the same size."""
    for kept in kept_in(note):
        if kept.way is found.way:
            note = note.replace(kept.text, "")
    return " ".join([*note.split(), sentence(found.scene, found.length, found.way)])


def _with_picture(
    files: list[Item], found: "Measured", name: str, said: "Mapping[str, JsonValue]"
) -> None:
    path = str(found.picture.path.resolve())
    if found.picture.number is not None or any(file.get("path") == path for file in files):
        return
    described: Item = {"path": path, "role": "close-scale", "finding": name}
    if "zone" in said:
        described["zone"] = said["zone"]
    files.append(described)
