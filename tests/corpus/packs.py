"""Packs, and cases, of which the record is sound: what is around it was exchanged, or is shown."""

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from evidence.carried import MANIFEST_NAME, RECORD_NAME
from evidence.packed import PROOFS_NAME
from evidence.stored import StoredZip
from tests.carding import photo
from tests.corpus.bases import Bases
from tests.corpus.records import RECORDS, SECRET, ref
from tests.packing import exchanged, packed, with_json
from tests.tampering import Handed, flipped, opened_by_force, reworded

Make = Callable[[Bases, Path], Path]
Files = dict[str, bytes]

CASES: dict[str, Make] = {}
PACKS: dict[str, Make] = {}

COST = {"when": "2025-09-01", "amount": "31.50", "currency": "USD", "what": "campground"}


def case(make: Make) -> Make:
    """A case by its name."""
    CASES[make.__name__.removeprefix("case_").replace("_", "-")] = make
    return make


def pack(make: Make) -> Make:
    """A pack by its name."""
    PACKS[make.__name__.replace("_", "-")] = make
    return make


def change(bases: Bases, out: Path, how: Callable[[Files], Any], *, fitted: bool = True) -> Path:
    """The pack of the case with its dossier, something in it exchanged."""
    return exchanged(bases.whole_pack, out.with_suffix(".zip"), how, fitted=fitted)


def damaged(bases: Bases, out: Path, begins: str) -> Path:
    """The same pack, one byte of a member turned and its CRC left."""
    member = next(m for m in StoredZip.open(bases.whole_pack).members if m.name.startswith(begins))
    data = bases.whole_pack.read_bytes()
    return written(out, flipped(data, 8 * (member.begins + 20)))


def written(out: Path, data: bytes) -> Path:
    path = out.with_suffix(".zip")
    path.write_bytes(data)
    return path


def a_name(files: Files, begins: str) -> str:
    return next(name for name in files if name.startswith(begins))


# Cases


@case
def with_a_card(bases, out):
    """A picture in which a machine reads the newest answer."""
    path = photo(bases_record(bases), bases.folder / "card.jpg", "2025:08:30 09:00:00")
    seq = bases.handed.of_kind("witness")[-1]
    newest = json.loads(bases.handed.lines[seq])["files"][0]["sha256"]
    file = ref(path.read_bytes()) | {"type": "image/jpeg"}
    file["card"] = {"answer": newest, "read_by": "machine"}
    files = {**bases.handed.files, file["sha256"]: path.read_bytes()}
    shown = replace(bases.handed, files=files).then("photos", {}, bases.owner, [file])
    return bases.as_case(shown, out)


def bases_record(bases: Bases):
    from evidence.case import Record

    return Record.open(bases.case)


@case
def with_a_dossier(bases, out):
    return Path(shutil.copytree(bases.whole, out))


@case
def without_a_trigger(bases, out):
    bases.as_case(bases.handed, out)
    with opened_by_force(out) as ledger:
        ledger.execute("CREATE TABLE more (said TEXT)")
    return out


@case
def without_a_ledger(bases, out):
    bases.as_case(bases.handed, out)
    (out / "ledger.sqlite").unlink()
    return out


# Packs


@pack
def with_everything(bases, out):
    return shutil.copy(bases.whole_pack, out.with_suffix(".zip")) and out.with_suffix(".zip")


@pack
def without_originals(bases, out):
    return packed(bases.whole, out.with_suffix(".zip"), with_originals=False).path


@pack
def revealed(bases, out):
    return bases.as_pack(telling(bases), out)


def telling(bases: Bases, **other: Any) -> Handed:
    """A record with a sealed value, and that value as it is told."""
    handed = RECORDS["sealed"](bases)
    row = {"seq": len(handed.lines) - 1, "field": "number", "salt": SECRET.salt.hex()}
    row |= {"value": SECRET.value, **other}
    return replace(handed, revealed=json.dumps([row]).encode())


@pack
def revealed_otherwise(bases, out):
    return bases.as_pack(telling(bases, value="K-20/312"), out)


@pack
def revealed_with_another_salt(bases, out):
    return bases.as_pack(telling(bases, salt="0" * 64), out)


@pack
def revealed_where_nothing_is_sealed(bases, out):
    return bases.as_pack(telling(bases, field="title"), out)


@pack
def revealed_twice(bases, out):
    handed = telling(bases)
    rows = json.loads(handed.revealed) * 2
    return bases.as_pack(replace(handed, revealed=json.dumps(rows).encode()), out)


@pack
def revealed_with_a_field_more(bases, out):
    return bases.as_pack(telling(bases, note="?"), out)


@pack
def figures_changed(bases, out):
    def other(files: Files) -> None:
        with_json(files, "standing.json", lambda s: s["case"].update(entries=99))

    return change(bases, out, other)


@pack
def figures_taken_out(bases, out):
    return change(bases, out, lambda files: files.pop("standing.json"))


@pack
def dossier_changed(bases, out):
    def other(files: Files) -> None:
        name = a_name(files, "dossier-")
        files[name] += b"\n% added"

    return change(bases, out, other)


@pack
def manifest_gone(bases, out):
    return change(bases, out, lambda files: files.pop(MANIFEST_NAME))


@pack
def manifest_of_another_sum(bases, out):
    def other(files: Files) -> None:
        with_json(files, MANIFEST_NAME, lambda m: m["files"]["heads.txt"].update(bytes=7))

    return change(bases, out, other, fitted=False)


@pack
def manifest_lists_no_words(bases, out):
    def other(files: Files) -> None:
        with_json(files, MANIFEST_NAME, lambda m: m["files"].pop("HOW-TO-CHECK.txt"))

    return change(bases, out, other, fitted=False)


@pack
def manifest_without_what_was_left_out(bases, out):
    path = packed(bases.case, out.with_suffix(".all.zip"), with_originals=False).path

    def other(files: Files) -> None:
        with_json(files, MANIFEST_NAME, lambda m: m.update(left_out=[]))

    return exchanged(path, out.with_suffix(".zip"), other)


@pack
def text_without_its_end(bases, out):
    return change(bases, out, lambda files: files.update({RECORD_NAME: files[RECORD_NAME][:-1]}))


@pack
def heads_of_no_text(bases, out):
    return change(bases, out, lambda files: files.update({"heads.txt": b"\xff\n\n"}))


@pack
def record_gone(bases, out):
    return change(bases, out, lambda files: files.pop(RECORD_NAME))


@pack
def picture_under_another_name(bases, out):
    def other(files: Files) -> None:
        files[f"original-{'0' * 64}.jpg"] = files.pop(a_name(files, "original-"))

    return change(bases, out, other)


@pack
def picture_damaged(bases, out):
    return damaged(bases, out, "original-")


@pack
def answer_damaged(bases, out):
    return damaged(bases, out, "witness-")


@pack
def record_damaged(bases, out):
    return damaged(bases, out, RECORD_NAME)


@pack
def bytes_behind(bases, out):
    return written(out, bases.whole_pack.read_bytes() + b"x")


@pack
def bytes_ahead(bases, out):
    return written(out, b"PK\x03\x04" + bases.whole_pack.read_bytes())


@pack
def cut_off(bases, out):
    return written(out, bases.whole_pack.read_bytes()[:-30])


@pack
def name_that_leads_away(bases, out):
    """Every byte of the container is as it has to be, but for what a name says."""
    data = bases.whole_pack.read_bytes()
    return written(out, data.replace(b"HOW-TO-CHECK.txt", b"../../../etc/pwd"))


@pack
def name_that_collides(bases, out):
    data = bases.whole_pack.read_bytes()
    return written(out, data.replace(b"standing.json", b"MANIFEST.JSON"))


# Excerpts


def costly(bases: Bases) -> Handed:
    """With an entry that no excerpt about the incident holds."""
    return bases.handed.then("cost", COST, bases.owner).then("photos", {}, bases.owner)


def cut(bases: Bases, out: Path) -> Path:
    """The excerpt about the incident."""
    folder = bases.as_case(costly(bases), out.with_suffix(".case"))
    return packed(folder, out.with_suffix(".cut.zip"), incident="i1").path


def cut_and(bases: Bases, out: Path, how: Callable[[Files], Any]) -> Path:
    return exchanged(cut(bases, out), out.with_suffix(".zip"), how)


def with_proofs(bases: Bases, out: Path, how: Callable[[dict[str, Any]], Any]) -> Path:
    """The excerpt, its proofs exchanged."""
    return cut_and(bases, out, lambda files: with_json(files, PROOFS_NAME, how))


def without_entry(files: Files, place: int) -> None:
    """An entry and its proof are taken out of an excerpt: it withholds one more."""
    lines = files[RECORD_NAME].split(b"\n")
    files[RECORD_NAME] = b"\n".join([*lines[:place], *lines[place + 1 :]])
    with_json(files, PROOFS_NAME, lambda proofs: proofs["inclusion"].pop(place))


@pack
def excerpt(bases, out):
    return cut(bases, out)


@pack
def excerpt_of_all(bases, out):
    return packed(bases.case, out.with_suffix(".zip"), incident="i1").path


@pack
def excerpt_that_withholds_a_look(bases, out):
    return cut_and(bases, out, lambda files: without_entry(files, 7))


@pack
def excerpt_that_withholds_a_key(bases, out):
    return cut_and(bases, out, lambda files: without_entry(files, 1))


@pack
def excerpt_that_withholds_another_key(bases, out):
    """Which keys may sign nobody can say; that the one that signed may, is here."""
    return cut_and(bases, out, lambda files: without_entry(files, 2))


@pack
def excerpt_without_its_case(bases, out):
    return cut_and(bases, out, lambda files: without_entry(files, 0))


@pack
def excerpt_reworded(bases, out):
    def other(files: Files) -> None:
        lines = files[RECORD_NAME].split(b"\n")
        files[RECORD_NAME] = b"\n".join(
            [*lines[:12], reworded(lines[12], stated_cause="hail"), *lines[13:]]
        )

    return cut_and(bases, out, other)


@pack
def excerpt_without_a_line(bases, out):
    def other(files: Files) -> None:
        lines = files[RECORD_NAME].split(b"\n")
        files[RECORD_NAME] = b"\n".join(lines[:7] + lines[8:])

    return cut_and(bases, out, other)


@pack
def excerpt_without_its_proofs(bases, out):
    return cut_and(bases, out, lambda files: files.pop(PROOFS_NAME))


@pack
def proofs_of_no_form(bases, out):
    return with_proofs(bases, out, lambda proofs: proofs.update(more=[]))


@pack
def proof_of_inclusion_forged(bases, out):
    return with_proofs(bases, out, lambda p: p["inclusion"][3]["proof"].__setitem__(0, "0" * 64))


@pack
def proof_of_inclusion_shortened(bases, out):
    return with_proofs(bases, out, lambda p: p["inclusion"][3]["proof"].pop())


@pack
def proof_of_consistency_forged(bases, out):
    return with_proofs(bases, out, lambda p: p["consistency"][1]["proof"].__setitem__(0, "0" * 64))


@pack
def proof_of_consistency_missing(bases, out):
    return with_proofs(bases, out, lambda p: p["consistency"].pop())


@pack
def proofs_of_another_size(bases, out):
    return with_proofs(bases, out, lambda p: p.update(size=p["size"] + 1))
