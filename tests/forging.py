"""Dossiers issued through the program's own door, some of them with a lie told on the way."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from evidence.case import Record
from evidence.dossier import issue as door
from evidence.dossier.attachments import Attachment
from evidence.dossier.contents import Contents
from evidence.ledger.certificate import self_signed
from evidence.trade import load_catalogue
from evidence.words import Form

ON = date(2025, 11, 3)


def issued(case: Path, out: Path, on: date = ON, **more: Any) -> Path:
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    order = door.Order(Form.CLAIM, "i1", on, **more)
    return door.issue(record, order, load_catalogue(), keys, out).path


class Forger:
    """Lies told while a dossier is made. It is signed with the right key all the same."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._patch = monkeypatch

    def measures(self, change: Callable[[dict[str, Any]], None]) -> None:
        """`standing.json` says something else."""
        true = door.as_json

        def falsified(standing: Any) -> dict[str, Any]:
            document = json.loads(json.dumps(true(standing)))
            change(document)
            return document

        self._patch.setattr(door, "as_json", falsified)

    def states(self, change: Callable[[Any], Any]) -> None:
        """Page 1 says something else."""
        from evidence.dossier.sheets import context

        true = context.claim_summary
        self._patch.setattr(context, "claim_summary", lambda *given: change(true(*given)))

    def attaches(self, **other: bytes | None) -> None:
        """Attachments by name, with `_` for their stop, are exchanged, added or left out.

        The manifest is made to fit, unless it is exchanged itself.
        """
        exchanged = {name.replace("_", "."): data for name, data in other.items()}
        true = door.contents

        def falsified(*given: Any, **named: Any) -> Contents:
            carried = true(*given, **named)
            return replace(carried, attachments=_with(carried.attachments, exchanged))

        self._patch.setattr(door, "contents", falsified)

    def signs_with_a_certificate_of_his_own(self) -> None:
        true = door.sign
        key = ec.generate_private_key(ec.SECP256R1())
        certificate = self_signed(key, "A. Holder", datetime(2025, 1, 1, tzinfo=UTC))

        def by_another(pdf: bytes, **named: Any) -> bytes:
            return true(pdf, **named | {"key": key, "certificate_der": certificate})

        self._patch.setattr(door, "sign", by_another)


def _with(
    attachments: tuple[Attachment, ...], exchanged: dict[str, bytes | None]
) -> tuple[Attachment, ...]:
    kept = {part.name: part for part in attachments}
    like = kept["standing.json"]
    for name, data in exchanged.items():
        if data is None:
            del kept[name]
        else:
            kept[name] = replace(kept.get(name, like), name=name, data=data)
    if "manifest.json" not in exchanged:
        manifest = json.loads(kept["manifest.json"].data)
        manifest["files"] = {
            name: {"sha256": hashlib.sha256(part.data).hexdigest(), "bytes": len(part.data)}
            for name, part in kept.items()
            if name != "manifest.json"
        }
        data = json.dumps(manifest).encode()
        kept["manifest.json"] = replace(kept["manifest.json"], data=data)
    return tuple(kept.values())
