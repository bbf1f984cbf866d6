"""Dossiers: changed after they were signed, or signed with the right key and not true."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.corpus.bases import Bases
from tests.corpus.records import RECORDS
from tests.forging import as_bytes, key_of_a_stranger
from tests.tampering import Handed, flipped

Make = Callable[[Bases, Path], Path]

DOSSIERS: dict[str, Make] = {}


def dossier(make: Make) -> Make:
    """A dossier by its name."""
    DOSSIERS[make.__name__.replace("_", "-")] = make
    return make


def written(out: Path, data: bytes) -> Path:
    path = out.with_suffix(".pdf")
    path.write_bytes(data)
    return path


def signed(bases: Bases, out: Path, other: dict[str, bytes | None], **signing: Any) -> Path:
    """Signed by whoever holds the key, attachments exchanged and the manifest made to fit."""
    return bases.unsigned.signed(out.with_suffix(".pdf"), other, **signing)


def of_record(handed: Handed) -> dict[str, bytes | None]:
    """Another record in the place of the attached one."""
    heads = "".join(f"{note}\n" for note in handed.heads).encode()
    return {"record.jsonl": b"".join(line + b"\n" for line in handed.lines), "heads.txt": heads}


def an_original(bases: Bases) -> str:
    parts = bases.unsigned.attachments
    return next(part.name for part in parts if part.name.startswith("original-"))


@dossier
def plain(bases, out):
    return written(out, bases.dossier.read_bytes())


@dossier
def signed_again(bases, out):
    return signed(bases, out, {})


# After it was signed


@dossier
def page_changed(bases, out):
    """One bit within the first page's drawing."""
    data = bases.dossier.read_bytes()
    return written(out, flipped(data, 8 * (data.index(b"/Contents") + 400)))


@dossier
def bytes_added(bases, out):
    return written(out, bases.dossier.read_bytes() + b"\n% seen and found good\n")


@dossier
def signature_changed(bases, out):
    data = bases.dossier.read_bytes()
    at = data.index(b"/Contents <") + 200
    other = b"0" if data[at : at + 1] != b"0" else b"1"
    return written(out, data[:at] + other + data[at + 1 :])


@dossier
def of_another_program(bases, out):
    return written(out, b"%PDF-1.7\n1 0 obj\n<< >>\nendobj\ntrailer\n<< >>\n%%EOF\n")


# Signed with the key, and not true


@dossier
def figures_changed(bases, out):
    document = bases.unsigned.measured()
    document["rules"][0]["met_on_time"] = "no"
    return signed(bases, out, {"standing.json": as_bytes(document)})


@dossier
def signed_by_a_stranger(bases, out):
    return signed(bases, out, {}, **key_of_a_stranger())


@dossier
def record_reworded(bases, out):
    return signed(bases, out, of_record(RECORDS["field-body"](bases)))


@dossier
def record_chained_again_by_a_stranger(bases, out):
    return signed(bases, out, of_record(RECORDS["chained-again-by-a-stranger"](bases)))


@dossier
def record_cut_short(bases, out):
    return signed(bases, out, of_record(RECORDS["dropped-end"](bases)))


@dossier
def record_gone(bases, out):
    return signed(bases, out, {"record.jsonl": None})


@dossier
def heads_without_their_end(bases, out):
    return signed(bases, out, {"heads.txt": bases.unsigned.attached("heads.txt")[:-1]})


@dossier
def picture_exchanged(bases, out):
    return signed(bases, out, {an_original(bases): b"another picture"})


@dossier
def picture_gone(bases, out):
    return signed(bases, out, {an_original(bases): None})


@dossier
def picture_left_out(bases, out):
    name = an_original(bases)
    digest = name.removeprefix("original-").partition(".")[0]
    manifest = bases.unsigned.manifest()
    row = manifest["files"].pop(name)
    manifest["left_out"].append({**row, "sha256": digest, "cited": True})
    return signed(bases, out, {name: None, "manifest.json": json.dumps(manifest).encode()})


@dossier
def answer_gone(bases, out):
    return signed(bases, out, {"witness-10.tsr": None})


@dossier
def answer_swapped(bases, out):
    return signed(bases, out, {"witness-10.tsr": bases.unsigned.attached("witness-12.tsr")})


@dossier
def file_that_nobody_lists(bases, out):
    manifest = bases.unsigned.attached("manifest.json")
    return signed(bases, out, {"more.txt": b"more", "manifest.json": manifest})


@dossier
def manifest_gone(bases, out):
    return signed(bases, out, {"manifest.json": None})
