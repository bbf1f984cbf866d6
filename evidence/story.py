"""A case told in one file (RECORD § 8): the sample case and every scenario are built from stories.

A story sets `logged`, so its case is a sample and there is no way to clear that. Nothing else in
the program sets it.
"""

import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from pydantic import JsonValue, ValidationError

from evidence.case import Draft, Record, Written
from evidence.errors import RefusedError
from evidence.keeping import FileDraft
from evidence.ledger import Signer, parse
from evidence.photos import Crew
from evidence.shapes import Strict
from evidence.starting import FIRST_KINDS, start
from evidence.times import parse_utc, utc_text
from evidence.witness import SampleAuthority, read_timestamp
from evidence.words import Slug, Text, UtcTime

WITNESSED_AFTER = timedelta(seconds=60)


class _Title(Strict):
    title: Text


class _Told(Strict):
    """One entry of a story."""

    logged: UtcTime
    by: Slug
    kind: str
    body: dict[str, JsonValue]
    files: tuple[str | dict[str, JsonValue], ...] = ()
    witness: bool = False
    id: Text | None = None


class _Story(Strict):
    case: _Title
    entries: tuple[_Told, ...]


@dataclass(frozen=True, slots=True)
class _Teller:
    """A story being written down."""

    folder: Path
    record: Record
    signer: Signer
    crew: Crew
    authority: SampleAuthority
    seqs: dict[str, int]

    def tell(self, told: _Told) -> None:
        """Write one entry, and let it be witnessed if the story says so."""
        written = self._write(_draft(told, self.folder, self.seqs), parse_utc(told.logged))
        if told.id is not None:
            self.seqs[told.id] = written.entries[0].seq
        if told.witness:
            self._witness(told, written)

    def _write(self, draft: Draft, logged: datetime) -> Written:
        return self.record.write([draft], self.signer, clock=lambda: logged, crew=self.crew)

    def _witness(self, told: _Told, written: Written) -> None:
        """Let the sample's own authority answer for the head after an entry."""
        at = parse_utc(told.logged) + WITNESSED_AFTER
        note = self.record.notes[written.head.size]
        with tempfile.TemporaryDirectory() as place:
            answer = Path(place) / "answer.tsr"
            stamp = self.authority.answer(note.encode(), at)
            answer.write_bytes(stamp)
            body: dict[str, JsonValue] = {
                "type": "rfc3161",
                "size": written.head.size,
                "root": written.head.root.hex(),
                "time": utc_text(at),
                "name": read_timestamp(stamp, note.encode(), sample=True).name,
            }
            self._write(Draft("witness", body, told.by, (FileDraft(answer),)), at)


def build_story(
    path: Path, folder: Path, progress: Callable[[int, int], None] = lambda _done, _all: None
) -> Record:
    """Build the case of a story; its key needs no passphrase and stays inside the case.

    Args:
        path: the story file; its files' paths are beside it.
        folder: the new case.
        progress: called with the entries written and their number.

    Raises:
        RefusedError: the story or one of its entries cannot be taken; nothing is left.
    """
    story = _read(path)
    opening = [told for told in story.entries if _opens(told, story.entries[0])]
    first_logged = parse_utc(opening[0].logged)
    started = start(
        folder,
        title=story.case.title,
        first=[_draft(told, path.parent, {}) for told in opening],
        store=None,
        passphrase=None,
        sample=True,
        clock=lambda: first_logged,
    )
    first_seq = len(started.record.entries) - len(opening)
    seqs = {told.id: first_seq + at for at, told in enumerate(opening) if told.id is not None}
    rest = [told for told in story.entries if told not in opening]
    authority = SampleAuthority.create(first_logged)
    try:
        with Crew() as crew:
            teller = _Teller(
                path.parent, started.record, started.keys.signer, crew, authority, seqs
            )
            for done, told in enumerate(rest, start=len(opening) + 1):
                teller.tell(told)
                progress(done, len(story.entries))
    except BaseException as error:
        shutil.rmtree(folder, ignore_errors=True)
        if isinstance(error, RefusedError):
            raise RefusedError(f"{path.name}, {error.what}", error.why, error.what_to_do) from error
        raise
    return started.record


def _opens(told: _Told, first: _Told) -> bool:
    """Whether an entry belongs to the unit that starts the case."""
    return told.kind in FIRST_KINDS and told.logged == first.logged and not told.witness


def _read(path: Path) -> _Story:
    try:
        data = path.read_bytes()
        parse(data)  # two values under one name, or a float, would tell two stories
        story = _Story.model_validate_json(data)
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
    except RefusedError as error:
        raise RefusedError(f"{path.name}: {error.what}", error.why, error.what_to_do) from error
    except ValidationError as error:
        fault = error.errors(include_url=False)[0]
        where = ".".join(str(part) for part in fault["loc"])
        raise RefusedError(f"{path.name}: {where or 'story'}", str(fault["msg"])) from error
    if not story.entries or not _opens(story.entries[0], story.entries[0]):
        raise RefusedError(
            path.name, "has no party, rig and rules at its start", "A story begins with them."
        )
    ids = [told.id for told in story.entries if told.id is not None]
    twice = next((name for name in ids if ids.count(name) > 1), None)
    if twice is not None:
        raise RefusedError(f"{path.name}: id {twice!r}", "is borne by two entries")
    return story


def _draft(told: _Told, folder: Path, seqs: Mapping[str, int]) -> Draft:
    body = _resolved(told.body, seqs)
    if not isinstance(body, dict):
        raise RefusedError(f"{told.kind} entry", "has a body that is only a reference")
    files = tuple(_file(item, folder) for item in told.files)
    return Draft(told.kind, body, told.by, files)


def _file(item: str | Mapping[str, JsonValue], folder: Path) -> FileDraft:
    described = {} if isinstance(item, str) else {k: v for k, v in item.items() if k != "path"}
    named = item if isinstance(item, str) else item.get("path")
    if not isinstance(named, str):
        raise RefusedError("files", "has an item without a path")
    path = (folder / named).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise RefusedError(f"files: {named!r}", "leaves the story's folder")
    return FileDraft(path, described)


def _resolved(value: JsonValue, seqs: Mapping[str, int]) -> JsonValue:
    """References `{"entry": "<id>"}` replaced by the seq of the entry that bears the id."""
    if isinstance(value, dict):
        if set(value) == {"entry"}:
            name = value["entry"]
            if not isinstance(name, str) or name not in seqs:
                raise RefusedError(f"reference to {name!r}", "names no earlier entry of the story")
            return seqs[name]
        return {key: _resolved(inner, seqs) for key, inner in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_resolved(inner, seqs) for inner in value]
    return value
