"""Files that the program makes for people: whole under their name, or not there at all.

This is the one door for them. None goes among the files of a case, where it could take the place
of what was sealed, and none takes the place of a file of another kind. A dossier, a pack, and what
is handed to an outsider, takes the place of nothing: somebody may have been given what lies there.
"""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from evidence.errors import RefusedError

LEDGER = "ledger.sqlite"
"""A folder that holds it is a case (HOUSE)."""
ISSUED = "issued"
"""The folder of a case that may take a new file."""
MAKER = "roof-evidence"
"""How the program names itself within a file; the kind of file follows."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file that the program makes: its name, and how one made earlier is known."""

    name: str
    made: Callable[[bytes], bool]


def _bearing(start: bytes, *marks: str) -> Callable[[bytes], bool]:
    signs = tuple(mark.encode() for mark in marks)
    return lambda data: data.startswith(start) and all(sign in data for sign in signs)


def _never(_: bytes) -> bool:
    return False


CALENDAR_PRODUCT = f"-//{MAKER}//due//EN"
SHEET_CREATOR = f"{MAKER} sheet"
DOSSIER_PRODUCER = f"{MAKER} dossier"
PICTURE_SOFTWARE = f"{MAKER} card"

CALENDAR = Kind("calendar", _bearing(b"BEGIN:VCALENDAR", f"PRODID:{CALENDAR_PRODUCT}"))
SHEET = Kind("sheet (PDF)", _bearing(b"%PDF-", f"/Creator ({SHEET_CREATOR})"))
DOSSIER = Kind("dossier", _never)
PACK = Kind("pack", _never)
HANDED_OUT = Kind("file", _never)
PICTURE = Kind("card (PNG)", _bearing(b"\x89PNG\r\n\x1a\n", PICTURE_SOFTWARE))


def issued_name(form: str, sha256: str) -> str:
    """Under which name a case keeps a copy of a dossier that left."""
    return f"{form}-{sha256[:16]}.pdf"


@contextmanager
def beside(out: Path, kind: Kind) -> Iterator[Path]:
    """A passing name in the folder of `out`, gone again unless it was renamed.

    Asked for first, so that a place that cannot be written is told before any work.

    Raises:
        RefusedError: `out` is a folder, lies among the files of a case, is there and may not be
            replaced, or cannot be written.
    """
    _see_that_it_may_go_there(out, kind)
    try:
        handle, name = tempfile.mkstemp(prefix=".making-", suffix=".part", dir=out.parent)
        os.close(handle)
        Path(name).chmod(0o644)  # it is made to be handed on
    except OSError as error:
        raise RefusedError(str(out), f"cannot be written: {error.strerror}") from error
    place = Path(name)
    try:
        yield place
    except OSError as error:
        raise RefusedError(str(out), f"cannot be written: {error.strerror}") from error
    finally:
        place.unlink(missing_ok=True)


def put(data: bytes, out: Path, kind: Kind) -> None:
    """Write a file in one step.

    Raises:
        RefusedError: it cannot be written there, or may not be.
    """
    with beside(out, kind) as place:
        place.write_bytes(data)
        place.replace(out)


def _see_that_it_may_go_there(out: Path, kind: Kind) -> None:
    if out.is_dir():
        raise RefusedError(str(out), "is a folder", "Name a file in it.")
    case = _case_around(out)
    there = os.path.lexists(out)
    if case is not None and (there or out.parent.resolve() != case / ISSUED):
        raise RefusedError(
            str(out), f"lies among the files of the case {case.name}", "Name a place outside it."
        )
    if there and kind.made is _never:
        raise RefusedError(
            str(out), "is there already", "Name another file, or move that one away."
        )
    if there and not _is_one(out, kind):
        raise RefusedError(
            str(out), f"is there and is no {kind.name} of this program", "Name another file."
        )


def _case_around(out: Path) -> Path | None:
    """The case in whose folder a place lies, links followed."""
    folder = out.parent.resolve()
    return next((at for at in (folder, *folder.parents) if (at / LEDGER).exists()), None)


def _is_one(out: Path, kind: Kind) -> bool:
    if not out.is_file():  # a pipe, a device, a link to nowhere: not to be read
        return False
    try:
        return kind.made(out.read_bytes())
    except OSError as error:
        raise RefusedError(str(out), f"cannot be read: {error.strerror}") from error
