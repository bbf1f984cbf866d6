"""What a dossier carries inside (OUTPUTS § 4): the record, its proof, the cited originals."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Record
from evidence.dossier.attachments import OWN_ROWS, Attachment, Relationship
from evidence.dossier.wording import wording
from evidence.entries import Witness
from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.resources import templates
from evidence.shapes import FileRef
from evidence.trade import Catalogue

HOW_TO_CHECK = "HOW-TO-CHECK.txt"


@dataclass(frozen=True, slots=True)
class Contents:
    """The attachments in order, and how many cited files were left out for size."""

    attachments: tuple[Attachment, ...]
    left_out: int


def contents(
    record: Record,
    *,
    standing: Mapping[str, JsonValue],
    about: Mapping[str, JsonValue],
    catalogue: Catalogue,
    cited: Iterable[FileRef],
    most_bytes: int,
) -> Contents:
    """Everything that goes into a dossier.

    Args:
        record: the case.
        standing: the document of OUTPUTS § 2 that the pages were made from.
        about: what `check` needs to make the pages' figures again: form, incident, date.
        catalogue: the tables; the issuer's own rows go with it.
        cited: files that the pages cite, in order of their first place.
        most_bytes: how many bytes of originals may be attached.

    Raises:
        MissingError: an outsider's answer is not among the originals.
        ChangedError: a file is not what was sealed.
    """
    parts = [
        _part("record.jsonl", b"".join(line + b"\n" for line in record.lines), "the whole record"),
        _part("heads.txt", "".join(f"{note}\n" for note in record.heads).encode(), "signed heads"),
        *_answers(record),
        _part("standing.json", _json(standing), "the record measured"),
        _part(HOW_TO_CHECK, _how_to_check(), "commands to check with"),
    ]
    if catalogue.own_file is not None:
        own = catalogue.own_file.encode()
        parts.append(_part(OWN_ROWS, own, "the issuer's own rows of the catalogue"))
    originals, left_out = _originals(record, cited, most_bytes, {part.name for part in parts})
    parts += originals
    manifest = {
        "catalogue": catalogue.sha256,
        "dossier": dict(about),
        "files": {
            part.name: {
                "sha256": hashlib.sha256(part.data).hexdigest(),
                "bytes": len(part.data),
            }
            for part in parts
        },
        "left_out": left_out,
    }
    parts.append(_part("manifest.json", _json(manifest), "sums of all these files"))
    cited_out = sum(1 for row in left_out if row["cited"])
    return Contents(tuple(parts), cited_out)


def _part(name: str, data: bytes, what: str) -> Attachment:
    kinds = {
        "jsonl": "application/jsonl",
        "json": "application/json",
        "txt": "text/plain",
        "toml": "application/toml",
    }
    kind = kinds.get(name.rsplit(".", 1)[-1], "application/octet-stream")
    return Attachment(name, data, kind, what, Relationship.DATA)


def _json(value: Mapping[str, object]) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True).encode() + b"\n"


def _how_to_check() -> bytes:
    return (templates() / "check" / HOW_TO_CHECK).read_bytes()


def _answers(record: Record) -> list[Attachment]:
    """Outsiders' answers; the number in the name is the entry's, as people count.

    What an answer is verified with, such as the key record of a letter, follows as `-2`.
    """
    found = []
    for entry in record.entries:
        if not isinstance(entry.body, Witness):
            continue
        kind = wording("entries").say("outsider", entry.body.type)
        over = f"{kind.lower()}, over {entry.body.size} entries"
        for place, ref in enumerate(entry.files):
            path = record.original(ref.sha256)
            name = f"witness-{entry.number}{f'-{place + 1}' if place else ''}{path.suffix}"
            what = f"belongs to: {over}" if place else over
            found.append(Attachment(name, _sealed(path, ref), ref.type, what, Relationship.DATA))
    return found


def _originals(
    record: Record, cited: Iterable[FileRef], most_bytes: int, taken: set[str]
) -> tuple[list[Attachment], list[dict[str, JsonValue]]]:
    """Cited originals while there is room; every other file of the record is listed."""
    refs = {ref.sha256: ref for ref in cited}
    answers = {ref.sha256 for e in record.entries if isinstance(e.body, Witness) for ref in e.files}
    attached: list[Attachment] = []
    left_out: list[dict[str, JsonValue]] = []
    room = most_bytes
    for ref in (*refs.values(), *_others(record, {*refs, *answers})):
        path = _path(record, ref)
        name = f"original-{ref.sha256}{'.bin' if path is None else path.suffix}"
        if ref.sha256 in refs and path is not None and ref.bytes <= room and name not in taken:
            room -= ref.bytes
            what = f"original, {ref.name}" if isinstance(ref.name, str) else "original"
            data = _sealed(path, ref)
            attached.append(Attachment(name, data, ref.type, what, Relationship.SOURCE))
        else:
            left_out.append({"sha256": ref.sha256, "bytes": ref.bytes, "cited": ref.sha256 in refs})
    return attached, left_out


def _others(record: Record, seen: set[str]) -> Sequence[FileRef]:
    refs = {ref.sha256: ref for entry in record.entries for ref in entry.files}
    return [ref for sha256, ref in refs.items() if sha256 not in seen]


def _sealed(path: Path, ref: FileRef) -> bytes:
    """The bytes that were sealed: a file that was changed since never leaves under its old name."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
    if hashlib.sha256(data).hexdigest() != ref.sha256:
        raise ChangedError(str(path), "is not what was sealed", "Put the sealed file back.")
    return data


def _path(record: Record, ref: FileRef) -> Path | None:
    try:
        return record.original(ref.sha256)
    except MissingError:
        return None
