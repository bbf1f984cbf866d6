"""Writing so that a crash leaves the old state or the new one, and nothing half done."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from evidence.errors import EvidenceError, RefusedError

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700


@contextmanager
def plain_words(path: Path, absent: type[EvidenceError] = RefusedError) -> Iterator[None]:
    """Turn what the operating system says about `path` into an error that a person can act on.

    Args:
        path: what is read or written.
        absent: what it is if the path is not there: a name mistyped, unless `MissingError` says
            that something which ought to be there is gone.
    """
    try:
        yield
    except OSError as error:
        raise _in_plain_words(path, error, absent) from error


def _in_plain_words(path: Path, error: OSError, absent: type[EvidenceError]) -> EvidenceError:
    """The operating system's refusal, with what to do."""
    match error.errno:
        case errno.ENOENT:
            return absent(str(path), "is not there", "Check the name and the folder.")
        case errno.ENOSPC | errno.EDQUOT:
            return RefusedError(str(path), "the disk is full", "Make room, then try again.")
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return RefusedError(
                str(path), "this user may not do that here", "Check who owns the folder."
            )
        case errno.EEXIST | errno.ENOTEMPTY:
            return RefusedError(str(path), "is there already", "Nothing was written over it.")
    return RefusedError(str(path), (error.strerror or "cannot be used").lower())


def write_private(path: Path, data: bytes) -> None:
    """Write a new file that only its owner may read, and wait until the disk holds it.

    Raises:
        OSError: the file exists already, or cannot be written.
    """
    # The mode is given when the file is made: a later chmod would leave a moment in between.
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    with open(descriptor, "wb") as file:  # noqa: PTH123 - pathlib opens no descriptors
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sync_file(path: Path) -> None:
    """Wait until the disk holds the file's bytes."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until the disk holds the folder's list of names; Windows has no way to ask for it."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
