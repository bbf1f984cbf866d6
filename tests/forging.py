"""Dossiers made through the program's own door, some of them with a lie told on the way."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from evidence.case import Record
from evidence.dossier import issue as door
from evidence.dossier.attachments import Attachment
from evidence.ledger.certificate import self_signed
from evidence.trade import load_catalogue
from evidence.words import Form

ON = date(2025, 11, 3)


def issued(case: Path, out: Path, on: date = ON, **more: Any) -> Path:
    """A dossier on the one incident of the small case."""
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    order = door.Order(**({"form": Form.CLAIM, "incident": "i1", "on": on} | more))
    return door.issue(record, order, load_catalogue(), keys, out).path


def issued_with_false_page(case: Path, out: Path, change: Callable[[Any], Any]) -> Path:
    """The same, but page 1 states what `change` makes of its summary."""
    from evidence.dossier.sheets import claim

    true = claim.claim_summary
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(claim, "claim_summary", lambda *given: change(true(*given)))
        return issued(case, out)


@dataclass(frozen=True)
class Unsigned:
    """A dossier just before it is finished: its pages, what it carries, and the right key."""

    pages: bytes
    attachments: tuple[Attachment, ...]
    described: Mapping[str, Any]
    signing: Mapping[str, Any]

    @classmethod
    def of(cls, case: Path, out: Path) -> "Unsigned":
        """Caught on its way through the door."""
        caught: dict[str, Any] = {}
        finish, sign = door.finish, door.sign

        def finishing(pages: bytes, attachments: Any, **described: Any) -> bytes:
            caught.update(pages=pages, attachments=tuple(attachments), described=described)
            return finish(pages, attachments, **described)

        def signing(pdf: bytes, **named: Any) -> bytes:
            caught.update(signing=named)
            return sign(pdf, **named)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(door, "finish", finishing)
            patch.setattr(door, "sign", signing)
            issued(case, out)
        return cls(**caught)

    def attached(self, name: str) -> bytes:
        return next(part.data for part in self.attachments if part.name == name)

    def measured(self) -> dict[str, Any]:
        return json.loads(self.attached("standing.json"))

    def manifest(self) -> dict[str, Any]:
        return json.loads(self.attached("manifest.json"))

    def signed(self, out: Path, other: Mapping[str, bytes | None], **signing: Any) -> Path:
        """The dossier, signed, with attachments exchanged, added or (None) left out by name.

        The manifest is made to fit, unless it is exchanged itself.
        """
        parts = {part.name: part for part in self.attachments}
        like = parts["standing.json"]
        exchanged = {**other} if "manifest.json" in other else {**other, **self._manifest(other)}
        for name, data in exchanged.items():
            parts[name] = replace(parts.get(name, like), name=name, data=data or b"")
        kept = [part for part in parts.values() if exchanged.get(part.name, b"") is not None]
        pdf = door.finish(self.pages, kept, **self.described)
        out.write_bytes(door.sign(pdf, **{**self.signing, **signing}))
        return out

    def _manifest(self, other: Mapping[str, bytes | None]) -> dict[str, bytes]:
        data = {part.name: part.data for part in self.attachments if part.name != "manifest.json"}
        files = {
            name: {"sha256": hashlib.sha256(given).hexdigest(), "bytes": len(given)}
            for name, given in {**data, **other}.items()
            if given is not None
        }
        return {"manifest.json": as_bytes(self.manifest() | {"files": files})}


def as_bytes(document: object) -> bytes:
    return json.dumps(document).encode()


def key_of_a_stranger() -> dict[str, Any]:
    """What another signs with who takes the owner's name."""
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = self_signed(key, "A. Holder", datetime(2025, 1, 1, tzinfo=UTC))
    return {"key": key, "certificate_der": certificate}
