"""A pack: the record, its proof, its files and the checking page in one ZIP (OUTPUTS § 4).

The same case makes the same bytes: nothing of this machine's clock goes in, and the figures are
those of the day of the newest entry, unless another is asked for. A pack is a copy: nothing is
written down of it, for the record lists what was issued in its forms.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib import metadata
from pathlib import Path

from pydantic import JsonValue

from evidence import carried
from evidence.case import Record
from evidence.entries import Issued
from evidence.envelope import Entry
from evidence.errors import ChangedError
from evidence.index import newest_day
from evidence.ledger.disk import sync_file
from evidence.packed import PROOFS_NAME
from evidence.placing import PACK, beside, issued_name
from evidence.proving import Proofs, sizes_needed
from evidence.resources import templates
from evidence.sealed_values import REVEALED_NAME, reveal, revealed_bytes
from evidence.shapes import FileRef
from evidence.stored import StoredWriter, Sum
from evidence.times import tzdata_version
from evidence.trade import Catalogue
from evidence.upkeep import as_json, measure
from evidence.upkeep.excerpting import Excerpt, excerpt
from evidence.witness import NOBODY, Anchors

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class PackOrder:
    """What is asked for.

    Attributes:
        on: the day on whose end the record is measured; None for that of the newest entry.
        incident: an excerpt about this incident alone.
        with_originals: put the sealed files and the dossiers in.
        reveal: names of sealed values that are told.
        anchors: the outsiders whom the maker trusts.
    """

    on: date | None = None
    incident: str | None = None
    with_originals: bool = True
    reveal: Sequence[str] = ()
    anchors: Anchors = NOBODY


@dataclass(frozen=True, slots=True)
class Packed:
    """A pack that was made.

    Attributes:
        path: where it is.
        files: how many files it holds.
        bytes: its size.
        entries: how many entries it holds.
        size: how many the record has.
        originals: how many sealed files it holds.
        positions: how many of those bear the position of the camera.
        positions_told: how many files of its entries do: the entries name it, too.
        left_out: how many sealed files of its entries it does not hold, by choice.
        missing: sealed files that the case does not hold any more (SHA-256).
        revealed: the sealed values that it tells, as people name them.
    """

    path: Path
    files: int
    bytes: int
    entries: int
    size: int
    originals: int
    positions: int
    positions_told: int
    left_out: int
    missing: tuple[str, ...]
    revealed: tuple[str, ...]


def pack(
    record: Record,
    order: PackOrder,
    catalogue: Catalogue,
    out: Path,
    progress: Progress = lambda _done, _all: None,
) -> Packed:
    """Make a pack and put it where it was asked for.

    Args:
        record: the case.
        order: what is asked for.
        catalogue: the tables; the issuer's own rows go with it.
        out: where it goes; nothing is replaced.
        progress: told of bytes of sealed files.

    Raises:
        RefusedError: `out` cannot be written or is there, the incident or a sealed value is not.
        ChangedError: a sealed file is not what was sealed.
        MissingError: an outsider's answer is not among the originals.
    """
    with beside(out, PACK) as place:
        chosen = _chosen(record, order)
        revealed = reveal(record, order.reveal, chosen.entries)
        parts = [
            *_record_parts(record, chosen),
            *_answer_parts(record, chosen),
            *_figures(record, order, catalogue, chosen),
            *([_Part(REVEALED_NAME, revealed_bytes(revealed))] if revealed else ()),
            *_pages(),
            *_own_rows(catalogue),
            *_original_parts(record, chosen),
            *(_dossier_parts(record) if chosen.cut is None and order.with_originals else ()),
        ]
        with StoredWriter(place) as writer:
            _write(writer, parts, progress)
            manifest = carried.manifest_bytes(
                catalogue.sha256,
                writer.sums,
                [carried.left_out_row(ref, cited=False) for ref in chosen.left_out],
                pack=_about(record, order, chosen),
            )
            writer.put(carried.MANIFEST_NAME, manifest)
        sync_file(place)
        size = place.stat().st_size
        place.replace(out)
    held = {part.sealed.sha256: part.sealed for part in parts if part.original and part.sealed}
    return Packed(
        path=out,
        files=len(parts) + 1,
        bytes=size,
        entries=len(chosen.entries),
        size=len(record.entries),
        originals=len(held),
        positions=_positions(held.values()),
        positions_told=_positions(carried.originals(chosen.entries).values()),
        missing=tuple(sha256 for sha256 in chosen.files if sha256 not in held),
        left_out=len(chosen.left_out),
        revealed=tuple(f"{row.seq + 1}.{row.field}" for row in revealed),
    )


def _positions(refs: Iterable[FileRef]) -> int:
    return sum(1 for ref in refs if ref.camera and ref.camera.GPSLatitude)


# What goes in


@dataclass(frozen=True, slots=True)
class _Chosen:
    """The entries that go in, their sealed files, and those that stay behind; `cut` an excerpt."""

    entries: Sequence[Entry]
    files: Mapping[str, FileRef]
    left_out: Sequence[FileRef]
    cut: Excerpt | None


def _chosen(record: Record, order: PackOrder) -> _Chosen:
    entries: Sequence[Entry] = record.entries
    cut = None if order.incident is None else excerpt(entries, order.incident)
    if cut is not None:
        entries = [entry for entry in entries if entry.seq in cut.entries]
    elsewhere = frozenset[str]() if cut is None else cut.left_out
    files, left_out = {}, []
    for sha256, ref in carried.originals(entries).items():
        if order.with_originals and sha256 not in elsewhere:
            files[sha256] = ref
        else:
            left_out.append(ref)
    return _Chosen(entries, files, left_out, cut)


@dataclass(frozen=True, slots=True)
class _Part:
    """A member: its bytes, or a file on the disk with the sum that it must have."""

    name: str
    source: bytes | Path
    sealed: FileRef | None = None
    sha256: str | None = None
    original: bool = False


def _record_parts(record: Record, chosen: _Chosen) -> Iterator[_Part]:
    """Entries and heads; in an excerpt those that it needs, and the proofs."""
    if chosen.cut is None:
        yield _Part(carried.RECORD_NAME, carried.record_bytes(record.lines))
        yield _Part(carried.HEADS_NAME, carried.heads_bytes(record.heads))
        return
    kept = [entry.seq for entry in chosen.entries]
    sizes = sizes_needed(chosen.entries, sorted(record.notes))
    lines = record.lines[: sizes[-1]]
    yield _Part(carried.RECORD_NAME, carried.record_bytes(lines[seq] for seq in kept))
    yield _Part(carried.HEADS_NAME, carried.heads_bytes(record.notes[size] for size in sizes))
    yield _Part(PROOFS_NAME, Proofs.of(lines, kept, sizes[:-1]).data())


def _answer_parts(record: Record, chosen: _Chosen) -> Iterator[_Part]:
    for answer in carried.answers(record, chosen.entries):
        yield _Part(answer.name, answer.path, answer.ref, answer.ref.sha256)


def _figures(
    record: Record, order: PackOrder, catalogue: Catalogue, chosen: _Chosen
) -> Iterator[_Part]:
    """The record measured; not in an excerpt, in which nothing can be counted."""
    if chosen.cut is None:
        on = _day(record, order)
        standing = measure(record.history(on, order.anchors), catalogue, record.root_on(on))
        yield _Part(carried.STANDING_NAME, carried.json_bytes(as_json(standing)))


def _day(record: Record, order: PackOrder) -> date:
    return newest_day(record) if order.on is None else order.on


def _pages() -> Iterator[_Part]:
    for name in (carried.HOW_TO_CHECK, carried.CHECK_PAGE):
        if (templates() / "check" / name).is_file():
            yield _Part(name, carried.template_bytes(name))


def _own_rows(catalogue: Catalogue) -> Iterator[_Part]:
    if catalogue.own_file is not None:
        yield _Part(carried.OWN_ROWS, catalogue.own_file.encode())


def _original_parts(record: Record, chosen: _Chosen) -> Iterator[_Part]:
    """The sealed files that the case still holds: what is gone is missing in the pack, too."""
    for sha256, ref in chosen.files.items():
        path = carried.original_path(record, sha256)
        if path is not None:
            yield _Part(carried.original_name(sha256, path), path, ref, sha256, original=True)


def _dossier_parts(record: Record) -> Iterator[_Part]:
    """The dossiers that the record says were issued, as far as copies of them are kept."""
    named = {
        entry.body.file: entry.body for entry in record.entries if isinstance(entry.body, Issued)
    }
    for sha256, body in named.items():
        path = record.issued / issued_name(body.form, sha256)
        if path.is_file():
            yield _Part(f"{carried.DOSSIER}{path.name}", path, sha256=sha256)


def _about(record: Record, order: PackOrder, chosen: _Chosen) -> JsonValue:
    """What `check` needs to make the figures again, and what an excerpt is one of."""
    cut, size, program = chosen.cut, len(record.entries), metadata.version("roof-evidence")
    about: dict[str, JsonValue] = {"program": program, "tzdata": tzdata_version()}
    if cut is not None:
        held = len(chosen.entries)
        of: dict[str, JsonValue] = {"incident": cut.incident, "size": size, "entries": held}
        return {**about, "excerpt": {**of, "withheld": size - held}, "on": None}
    return {**about, "excerpt": None, "on": _day(record, order).isoformat()}


def _write(writer: StoredWriter, parts: Sequence[_Part], progress: Progress) -> None:
    """Write the members; what a file holds now must be what it is named for."""
    whole = sum(part.sealed.bytes for part in parts if part.sealed)
    done = 0
    for part in parts:
        if isinstance(part.source, bytes):
            writer.put(part.name, part.source)
            continue
        found: Sum = writer.add(part.name, part.source)
        if found.sha256 != part.sha256:
            raise ChangedError(
                str(part.source), "is not what was sealed", "Put the sealed file back."
            )
        done += found.bytes
        progress(min(done, whole), whole)
