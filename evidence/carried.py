"""What every dossier and every pack carries, under the same names (OUTPUTS § 4).

Here stands how the record becomes files that a stranger reads, and how they are read back; the
dossier attaches them, the pack stores them.
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Record
from evidence.entries import Witness
from evidence.envelope import Entry
from evidence.errors import ChangedError, MissingError
from evidence.resources import templates
from evidence.shapes import FileRef
from evidence.stored import Sum

RECORD_NAME = "record.jsonl"
HEADS_NAME = "heads.txt"
STANDING_NAME = "standing.json"
MANIFEST_NAME = "manifest.json"
HOW_TO_CHECK = "HOW-TO-CHECK.txt"
CHECK_PAGE = "check.html"
ANSWER, ORIGINAL, DOSSIER = "witness-", "original-", "dossier-"
"""How the names of outsiders' answers, of sealed files and of dossiers in a pack begin."""
OWN_ROWS = "catalogue-own.toml"
"""The issuer's own rows of the catalogue, where the figures were worked out with any."""


def record_bytes(lines: Iterable[bytes]) -> bytes:
    """`record.jsonl`: one entry a line, each line ended by a newline."""
    return b"".join(line + b"\n" for line in lines)


def split_lines(data: bytes) -> tuple[bytes, ...]:
    """The entries of a `record.jsonl`.

    Raises:
        ChangedError: it does not end with a newline.
    """
    lines = data.split(b"\n")
    if lines.pop():
        raise ChangedError(RECORD_NAME, "does not end with a newline")
    return tuple(lines)


def heads_bytes(notes: Iterable[str]) -> bytes:
    """`heads.txt`: the signed notes, one empty line after each."""
    return "".join(f"{note}\n" for note in notes).encode()


def split_notes(text: str) -> tuple[str, ...]:
    """The notes of a `heads.txt`.

    Raises:
        ChangedError: it does not end with an empty line.
    """
    notes = []
    while text:
        # A note is three lines, an empty line and its signatures; then comes the separator.
        end = text.find("\n\n", text.find("\n\n") + 2)
        if end < 0:
            raise ChangedError(HEADS_NAME, "does not end with an empty line")
        notes.append(text[: end + 1])
        text = text[end + 2 :]
    return tuple(notes)


def json_bytes(value: Mapping[str, object] | Sequence[object]) -> bytes:
    """A JSON document for people and programs: the same value makes the same bytes."""
    return json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True).encode() + b"\n"


def template_bytes(name: str) -> bytes:
    """A file that goes with every dossier or pack as it is."""
    return (templates() / "check" / name).read_bytes()


@dataclass(frozen=True, slots=True)
class Answer:
    """A file of an outsider's answer; `place` 0 is the answer, what follows is verified with it."""

    entry: Entry
    body: Witness
    place: int
    ref: FileRef
    path: Path

    @property
    def name(self) -> str:
        """The number in the name is the entry's, as people count."""
        part = f"-{self.place + 1}" if self.place else ""
        return f"{ANSWER}{self.entry.number}{part}{self.path.suffix}"


def answers(record: Record, entries: Iterable[Entry]) -> Iterator[Answer]:
    """The outsiders' answers that `entries` hold.

    Raises:
        MissingError: one is not among the originals.
    """
    for entry in entries:
        if isinstance(body := entry.body, Witness):
            for place, ref in enumerate(entry.files):
                yield Answer(entry, body, place, ref, record.original(ref.sha256))


def originals(entries: Iterable[Entry]) -> dict[str, FileRef]:
    """Every file that `entries` name but the outsiders' answers, by its SHA-256, in order."""
    kept = list(entries)
    answered = {ref.sha256 for e in kept if isinstance(e.body, Witness) for ref in e.files}
    refs = (ref for entry in kept for ref in entry.files)
    return {ref.sha256: ref for ref in refs if ref.sha256 not in answered}


def original_name(sha256: str, path: Path | None) -> str:
    """`original-<sha256>.<ext>`, the extension as it is kept; `.bin` where it is not at hand."""
    return f"{ORIGINAL}{sha256}{'.bin' if path is None else path.suffix}"


def original_path(record: Record, sha256: str) -> Path | None:
    """Where a sealed file lies; None where it is gone."""
    try:
        return record.original(sha256)
    except MissingError:
        return None


def manifest_bytes(
    catalogue: str,
    sums: Mapping[str, Sum],
    left_out: Sequence[JsonValue],
    **about: JsonValue,
) -> bytes:
    """`manifest.json` (OUTPUTS § 5).

    Args:
        catalogue: SHA-256 of the tables.
        sums: every other file, by its name.
        left_out: a row for each file of the record that does not go with it by choice.
        about: what `check` needs to make the figures again, under `dossier` or `pack`.
    """
    files = {name: {"sha256": of.sha256, "bytes": of.bytes} for name, of in sums.items()}
    return json_bytes({"catalogue": catalogue, "files": files, "left_out": left_out, **about})


def left_out_row(ref: FileRef, *, cited: bool) -> JsonValue:
    """A file that stays behind, as the manifest lists it."""
    return {"sha256": ref.sha256, "bytes": ref.bytes, "cited": cited}
