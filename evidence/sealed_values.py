"""Values that the record holds only as a salted sum: sealed, kept, revealed (RECORD § 7).

    sealed = SHA-256(salt ‖ value)      salt: 32 random bytes; value: its RFC 8785 canonical JSON

The salt keeps anybody from trying out values: a serial number has few digits. Salt and value lie in
the case's `private/` as `<sealed>.json`, for their owner alone to read, and nowhere else; whoever
loses that file can never reveal the value.
"""

import hmac
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from secrets import token_bytes
from typing import get_args

from pydantic import JsonValue, TypeAdapter, ValidationError

from evidence.carried import json_bytes
from evidence.case import Draft, Record
from evidence.entries import BODIES
from evidence.envelope import Entry, read_body
from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import dumps, parse
from evidence.ledger.disk import PRIVATE_FOLDER, plain_words, sync_folder, write_private
from evidence.normal import nfc_fields
from evidence.shapes import Sealed, Strict
from evidence.words import Seq, Sha256

REVEALED_NAME = "revealed.json"
"""The file of revealed values in a dossier or a pack."""

SALT_BYTES = 32


@dataclass(frozen=True, slots=True)
class Secret:
    """A value and its salt, and the sum that stands for both."""

    salt: bytes
    value: JsonValue

    @property
    def sealed(self) -> str:
        """SHA-256 of salt ‖ value, in hex."""
        return sha256(self.salt + dumps(self.value)).hexdigest()

    def keep(self, private: Path) -> None:
        """Write it where only its owner may read.

        Raises:
            RefusedError: the disk refuses.
        """
        path = _place(private, self.sealed)
        with plain_words(path):
            private.mkdir(mode=PRIVATE_FOLDER, exist_ok=True)
            write_private(path, json_bytes({"salt": self.salt.hex(), "value": self.value}))
            sync_folder(private)


def sealable(kind: str) -> tuple[str, ...]:
    """The fields of a kind that may be sealed (§ in RECORD § 4)."""
    fields = BODIES[kind].model_fields.items() if kind in BODIES else ()
    return tuple(
        about.alias or name for name, about in fields if Sealed in get_args(about.annotation)
    )


def conceal(
    draft: Draft, fields: Iterable[str], salt: Callable[[int], bytes] = token_bytes
) -> tuple[Draft, tuple[Secret, ...]]:
    """The draft with values replaced by their sums, and what has to be kept before it is written.

    Raises:
        RefusedError: a field cannot be sealed, has no value, or a value that its kind refuses.
    """
    told = nfc_fields(draft.body)
    body, secrets = dict(told), []
    for name in dict.fromkeys(fields):
        where = f"{draft.kind}: field {name!r}"
        if name not in sealable(draft.kind):
            may = ", ".join(sealable(draft.kind)) or "none of this kind"
            raise RefusedError(where, "cannot be sealed", f"May be sealed: {may}.")
        if body.get(name) is None or _sum_in(body[name]) is not None:
            raise RefusedError(where, "has no value to seal", f"Give it: {name}=VALUE.")
        secret = Secret(salt(SALT_BYTES), body[name])
        secrets.append(secret)
        body[name] = {"sealed": secret.sealed}
    if secrets:
        read_body(draft.kind, told)  # nobody could mend a wrong value once it is sealed
    return Draft(draft.kind, body, draft.by, draft.files), tuple(secrets)


def keep_all(secrets: Iterable[Secret], private: Path) -> None:
    """Keep values before the entry that names their sums: one that none came to name harms nothing.

    Raises:
        RefusedError: the disk refuses.
    """
    for secret in secrets:
        secret.keep(private)


# In the record


@dataclass(frozen=True, slots=True)
class SealedField:
    """A place in the record at which a sum stands: entry, path of the field, the sum."""

    seq: int
    field: str
    sealed: str

    @property
    def name(self) -> str:
        """As a person names it to reveal it: `2.serial`, with the entry's number."""
        return f"{self.seq + 1}.{self.field}"


def sealed_fields(entries: Iterable[Entry]) -> list[SealedField]:
    """Every sealed value of the record, in order."""
    return [
        SealedField(entry.seq, ".".join(path), found)
        for entry in entries
        for path, found in _sums(entry.raw)
    ]


def _sums(
    value: JsonValue | Mapping[str, JsonValue], *path: str
) -> Iterator[tuple[tuple[str, ...], str]]:
    found = _sum_in(value)
    if found is not None:
        yield path, found
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _sums(inner, *path, name)
    elif isinstance(value, list):
        for at, inner in enumerate(value):
            yield from _sums(inner, *path, str(at))


def _sum_in(value: object) -> str | None:
    with suppress(ValidationError):
        return Sealed.model_validate(value).sealed
    return None


# Revealed


class _Opened(Strict):
    """A file of the private folder."""

    salt: Sha256
    value: JsonValue

    @property
    def secret(self) -> Secret:
        """The value with its salt."""
        return Secret(bytes.fromhex(self.salt), self.value)


class Revealed(_Opened):
    """A row of `revealed.json`: the value that was sealed at a field of an entry, and its salt."""

    seq: Seq
    field: str


_ROWS = TypeAdapter(tuple[Revealed, ...])


def reveal(record: Record, names: Iterable[str], among: Sequence[Entry]) -> tuple[Revealed, ...]:
    """The values that their keeper names, to go with a dossier or a pack.

    Args:
        record: the case.
        names: `serial` reveals every sealed value of that field, `2.serial` that of entry 2.
        among: the entries that go with it; no other's value does.

    Raises:
        RefusedError: a name is that of no sealed value.
        MissingError: a value is not in the private folder.
        ChangedError: what lies there is not what was sealed.
    """
    known = sealed_fields(among)
    wanted: dict[SealedField, None] = {}
    for name in names:
        found = [one for one in known if name in (one.field, one.name)]
        if not found:
            may = ", ".join(one.name for one in known) or "none"
            raise RefusedError(f"--reveal {name}", "names no sealed value", f"Sealed: {may}.")
        wanted.update(dict.fromkeys(found))
    rows = []
    for one in sorted(wanted, key=lambda one: one.seq):
        secret = _kept(record.private, one)
        salt = secret.salt.hex()
        rows.append(Revealed(seq=one.seq, field=one.field, salt=salt, value=secret.value))
    return tuple(rows)


def revealed_bytes(rows: Iterable[Revealed]) -> bytes:
    """`revealed.json`."""
    return json_bytes([row.model_dump(mode="json") for row in rows])


def read_revealed(data: bytes) -> tuple[Revealed, ...]:
    """The rows of anybody's `revealed.json`.

    Raises:
        ChangedError: it is not such a file.
    """
    try:
        parse(data)  # refuses names that stand twice, and numbers that are no integers
        return _ROWS.validate_json(data)
    except (EvidenceError, ValidationError) as error:
        raise ChangedError(REVEALED_NAME, "is no list of revealed values") from error


def misfits(rows: Sequence[Revealed], known: Iterable[SealedField]) -> list[str]:
    """What is wrong with revealed values: empty where each is the very value that was sealed."""
    sums = {(one.seq, one.field): one.sealed for one in known}
    wrong, seen = [], set()
    for row in rows:
        place = (row.seq, row.field)
        where = f"entry {row.seq + 1}, {row.field[:40]}"
        if place not in sums:
            wrong.append(f"{where}: nothing is sealed there")
        elif place in seen:
            wrong.append(f"{where}: is revealed twice")
        elif not hmac.compare_digest(row.secret.sealed, sums[place]):
            wrong.append(f"{where}: is not the value that was sealed")
        seen.add(place)
    return wrong


def _kept(private: Path, one: SealedField) -> Secret:
    path = _place(private, one.sealed)
    with plain_words(path, MissingError):
        data = path.read_bytes()
    with suppress(EvidenceError, ValidationError):
        parse(data)
        secret = _Opened.model_validate_json(data).secret
        if secret.sealed == one.sealed:
            return secret
    raise ChangedError(str(path), "is not what was sealed", "Put the file back as it was.")


def _place(private: Path, sealed: str) -> Path:
    return private / f"{sealed}.json"
