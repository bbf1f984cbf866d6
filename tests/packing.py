"""Packs for tests: made of a case, and put together anew with something exchanged."""

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from evidence.bundle import Packed, PackOrder, pack
from evidence.carried import MANIFEST_NAME
from evidence.case import Record
from evidence.stored import StoredWriter, StoredZip
from evidence.trade import load_catalogue


def packed(case: Path, out: Path, **order: Any) -> Packed:
    """A pack of a case."""
    return pack(Record.open(case), PackOrder(**order), load_catalogue(), out)


def members(path: Path) -> dict[str, bytes]:
    """Every member of a pack, in order."""
    opened = StoredZip.open(path)
    return {member.name: opened.read(member.name, member.size) for member in opened.members}


def put_together(files: Mapping[str, bytes], out: Path, *, fitted: bool = True) -> Path:
    """A pack of these members; its manifest made to fit them, as a careful forger would."""
    with StoredWriter(out) as writer:
        for name, data in files.items():
            if name != MANIFEST_NAME:
                writer.put(name, data)
        if MANIFEST_NAME not in files:
            return out
        manifest = json.loads(files[MANIFEST_NAME])
        if fitted:
            manifest["files"] = {
                name: {"sha256": of.sha256, "bytes": of.bytes} for name, of in writer.sums.items()
            }
        writer.put(MANIFEST_NAME, json.dumps(manifest, indent=1, sort_keys=True).encode() + b"\n")
    return out


Change = Callable[[dict[str, bytes]], None]


def exchanged(path: Path, out: Path, change: Change, *, fitted: bool = True) -> Path:
    """The same pack after `change` had its way with the members."""
    files = members(path)
    change(files)
    return put_together(files, out, fitted=fitted)


def with_json(files: dict[str, bytes], name: str, change: Callable[[Any], None]) -> None:
    """Exchange something in a JSON member."""
    value = json.loads(files[name])
    change(value)
    files[name] = json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True).encode() + b"\n"
