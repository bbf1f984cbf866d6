"""What was done to a dossier after it was signed, in plain words.

A PDF can be changed by adding to its end, so the signed state still lies in the file and the two
can be laid side by side. The list helps a reader to look; that anything was added is the finding.
"""

from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.ledger.strict import shown

if TYPE_CHECKING:
    from pikepdf import Page, Pdf


def later_changes(signed: bytes, whole: bytes) -> tuple[str, ...]:
    """How `whole` differs from `signed`, its own beginning.

    Args:
        signed: the file up to where its signature ends.
        whole: the file as it is.
    """
    added = len(whole) - len(signed)
    if added <= 0:
        return ()
    noun = "byte was" if added == 1 else "bytes were"
    return (f"{added:,} {noun} added after it was signed", *_seen(signed, whole))


def _seen(signed: bytes, whole: bytes) -> tuple[str, ...]:
    import pikepdf

    try:
        with pikepdf.open(BytesIO(signed)) as before, pikepdf.open(BytesIO(whole)) as after:
            return (*_pages(before, after), *_attachments(before, after))
    except Exception:  # noqa: BLE001 - what was added may be anything
        return ("what was added cannot be read",)


def _pages(before: "Pdf", after: "Pdf") -> list[str]:
    told = []
    if len(before.pages) != len(after.pages):
        told.append(f"it has {len(after.pages)} pages now, {len(before.pages)} when it was signed")
    for number, (old, new) in enumerate(zip(before.pages, after.pages, strict=False), start=1):
        if _drawn(old) != _drawn(new):
            told.append(f"page {number} shows something else than when it was signed")
        if _marks(old) != _marks(new):
            told.append(f"page {number} carries other notes or marks than when it was signed")
    return told


def _drawn(page: "Page") -> tuple[bytes, str]:
    from pikepdf import Array

    contents = page.get("/Contents")
    if contents is None:
        return b"", str(page.mediabox)
    streams = list(contents) if isinstance(contents, Array) else [contents]
    return b"\n".join(stream.read_bytes() for stream in streams), repr(page.mediabox)


def _marks(page: "Page") -> list[str]:
    return [
        f"{mark.get('/Subtype')} {mark.get('/Rect')!r} {mark.get('/Contents')}"
        for mark in page.get("/Annots", [])
    ]


def _attachments(before: "Pdf", after: "Pdf") -> list[str]:
    old, new = _digests(before), _digests(after)
    told = []
    for name in sorted(old.keys() | new.keys()):
        if old.get(name) != new.get(name):
            deed = "added" if name not in old else "removed" if name not in new else "replaced"
            told.append(f"the attachment {shown(name)} was {deed}")
    return told


def _digests(document: "Pdf") -> dict[str, bytes]:
    return {
        name: sha256(spec.get_file().read_bytes()).digest()
        for name, spec in document.attachments.items()
    }
