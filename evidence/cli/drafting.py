"""An entry as a person describes it: typed fields, a file, pictures new and held already."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Draft, Record, now
from evidence.cli import common
from evidence.cli.asking import ask_missing
from evidence.cli.fields import body_of, model_of, photo_of
from evidence.entries import Party
from evidence.envelope import refuse_reserved
from evidence.errors import RefusedError
from evidence.held import Held
from evidence.keeping import FileDraft
from evidence.times import utc_text
from evidence.words import Role

_MADE = {
    "witness": "Use `roof-evidence witness`: it verifies the outsider's answer first.",
    "issued": "`roof-evidence dossier` writes it, of the very file that it makes.",
}
"""The kinds that only the program writes, and which command does."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed behind `enter`: `photos` and `sealed` as `NAME,zone=…`, `source` a file."""

    fields: Sequence[str] = ()
    by: str | None = None
    photos: Sequence[str] = ()
    sealed: Sequence[str] = ()
    source: Path | None = None


def draft_of(record: Record, kind: str, typed: Typed) -> Draft:
    """The entry that the arguments describe, with what a person at the terminal adds.

    Raises:
        RefusedError: a part is unknown or of another form.
    """
    model_of(kind)
    refuse_reserved(kind)
    if kind in _MADE:
        raise RefusedError(f"kind {kind!r}", "is not written by hand", _MADE[kind])
    source, held = typed.source, Held(record)
    given = {} if source is None else dict(common.read_json(source))
    body = given.get("body", given)
    listed = given.get("files", []) if "body" in given else []
    if not isinstance(body, dict) or not isinstance(listed, list):
        raise RefusedError(str(source), "has a body or files of another form than expected")
    if "body" in given and given.get("kind", kind) != kind:
        raise RefusedError(f"kind {kind!r}", f"{source} is of kind {given['kind']!r}", "Name that.")
    body = {**_known_before(record, kind), **body, **body_of(kind, typed.fields, record.home)}
    if common.interactive() and source is None:
        body = ask_missing(kind, body, record)
    if kind == "label":
        body = _with_sums(body, held)
    base = Path() if source is None else source.parent
    files = [file_listed(item, base, held) for item in listed]
    for path, described in map(photo_of, typed.photos):
        files.append(FileDraft(Path(path), described))
    for name, described in map(photo_of, typed.sealed):
        files.append(held.draft(name, described, "--held"))
    said = str(given["by"]) if "by" in given and "body" in given else None
    return Draft(kind, body, typed.by or said or only_owner(record), tuple(files))


def _known_before(record: Record, kind: str) -> dict[str, JsonValue]:
    """What nobody needs to be asked: both sides of a clock's jump."""
    if kind != "clock":
        return {}
    return {"was": utc_text(record.entries[-1].logged), "is": utc_text(now())}


def _with_sums(body: dict[str, JsonValue], held: Held) -> dict[str, JsonValue]:
    """A label's files by their sums, where they were named otherwise."""
    named = ("of", "original_of")
    sums = {name: held.sums(body[name], f"label: field {name!r}") for name in named if name in body}
    return {**body, **sums}


def file_listed(item: object, base: Path, held: Held) -> FileDraft:
    """An item of `files`: a new one by its path, one that the record holds by its sum."""
    if not isinstance(item, dict):
        raise RefusedError("files", "has an item without a path")
    path, digest = item.get("path"), item.get("sha256")
    if isinstance(path, str):  # a sum beside it would be told, and is refused
        described = {name: value for name, value in item.items() if name != "path"}
        return FileDraft(base / path, described)
    if not isinstance(digest, str):
        raise RefusedError(
            "files", "has an item without a path", "Give a path, or the sha256 of a sealed file."
        )
    told = ("sha256", "name")  # the name stands there for people; the record has it
    described = {name: value for name, value in item.items() if name not in told}
    return held.draft(digest, described, "files")


def only_owner(record: Record) -> str:
    """The one party who owns the rig.

    Raises:
        RefusedError: there are several, or none.
    """
    parties = {e.body.id: e.body for e in record.entries if isinstance(e.body, Party)}
    owners = [party.id for party in parties.values() if party.role is Role.OWNER]
    if len(owners) != 1:
        raise RefusedError(
            "--by", "is needed: who says it cannot be told", f"Known: {', '.join(parties)}."
        )
    return owners[0]
