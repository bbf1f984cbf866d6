"""What a dossier carries inside (OUTPUTS § 4): the record, its proof, the cited originals."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue

from evidence import carried
from evidence.case import Record
from evidence.dossier.attachments import Attachment, Relationship
from evidence.dossier.wording import wording
from evidence.errors import ChangedError, RefusedError
from evidence.shapes import FileRef
from evidence.stored import Sum
from evidence.trade import Catalogue


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
    how_to_check = carried.template_bytes(carried.HOW_TO_CHECK)
    parts = [
        _part(carried.RECORD_NAME, carried.record_bytes(record.lines), "the whole record"),
        _part(carried.HEADS_NAME, carried.heads_bytes(record.heads), "signed heads"),
        *_answers(record),
        _part(carried.STANDING_NAME, carried.json_bytes(standing), "the record measured"),
        _part(carried.HOW_TO_CHECK, how_to_check, "commands to check with"),
    ]
    if catalogue.own_file is not None:
        own = catalogue.own_file.encode()
        parts.append(_part(carried.OWN_ROWS, own, "the issuer's own rows of the catalogue"))
    originals, left_out = _originals(record, cited, most_bytes, {part.name for part in parts})
    parts += originals
    sums = {part.name: Sum(hashlib.sha256(part.data).hexdigest(), len(part.data)) for part in parts}
    rows = [carried.left_out_row(ref, cited=cited) for ref, cited in left_out]
    manifest = carried.manifest_bytes(catalogue.sha256, sums, rows, dossier=dict(about))
    parts.append(_part(carried.MANIFEST_NAME, manifest, "sums of all these files"))
    return Contents(tuple(parts), sum(cited for _, cited in left_out))


def _part(name: str, data: bytes, what: str) -> Attachment:
    kinds = {
        "jsonl": "application/jsonl",
        "json": "application/json",
        "txt": "text/plain",
        "toml": "application/toml",
    }
    kind = kinds.get(name.rsplit(".", 1)[-1], "application/octet-stream")
    return Attachment(name, data, kind, what, Relationship.DATA)


def _answers(record: Record) -> list[Attachment]:
    """Outsiders' answers, and what each is verified with, such as the key record of a letter."""
    found = []
    for answer in carried.answers(record, record.entries):
        kind = wording("entries").say("outsider", answer.body.type)
        over = f"{kind.lower()}, over {answer.body.size} entries"
        what = f"belongs to: {over}" if answer.place else over
        data = _sealed(answer.path, answer.ref)
        found.append(Attachment(answer.name, data, answer.ref.type, what, Relationship.DATA))
    return found


def _originals(
    record: Record, cited: Iterable[FileRef], most_bytes: int, taken: set[str]
) -> tuple[list[Attachment], list[tuple[FileRef, bool]]]:
    """Cited originals while there is room; every other file of the record, and if it is cited."""
    refs = {ref.sha256: ref for ref in cited}
    attached: list[Attachment] = []
    left_out: list[tuple[FileRef, bool]] = []
    room = most_bytes
    # Those cited first, and as they are cited.
    for sha256, ref in {**refs, **carried.originals(record.entries), **refs}.items():
        path = carried.original_path(record, sha256)
        name = carried.original_name(sha256, path)
        if sha256 in refs and path is not None and ref.bytes <= room and name not in taken:
            room -= ref.bytes
            what = f"original, {ref.name}" if isinstance(ref.name, str) else "original"
            data = _sealed(path, ref)
            attached.append(Attachment(name, data, ref.type, what, Relationship.SOURCE))
        else:
            left_out.append((ref, sha256 in refs))
    return attached, left_out


def _sealed(path: Path, ref: FileRef) -> bytes:
    """The bytes that were sealed: a file that was changed since never leaves under its old name."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
    if hashlib.sha256(data).hexdigest() != ref.sha256:
        raise ChangedError(str(path), "is not what was sealed", "Put the sealed file back.")
    return data
