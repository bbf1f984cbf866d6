"""Files that the program makes for people: whole under their name, or not there at all.

None is written over another: what lies there may be the one that somebody else was given.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from evidence.errors import RefusedError


@contextmanager
def beside(out: Path) -> Iterator[Path]:
    """A passing name in the folder of `out`, gone again unless it was renamed.

    Asked for first, so that a place that cannot be written is told before any work.

    Raises:
        RefusedError: `out` is a folder, is there already, or cannot be written.
    """
    if out.is_dir():
        raise RefusedError(str(out), "is a folder", "Name a file in it.")
    if os.path.lexists(out):
        raise RefusedError(
            str(out), "is there already", "Name another file, or move that one away."
        )
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


def put(data: bytes, out: Path) -> None:
    """Write a file in one step.

    Raises:
        RefusedError: a file is there already, or it cannot be written.
    """
    with beside(out) as place:
        place.write_bytes(data)
        place.replace(out)
