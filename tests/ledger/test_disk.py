"""Writing to disk, and what the operating system says in words for people."""

import errno
import os
import stat
from pathlib import Path

import pytest

from evidence.errors import EvidenceError, MissingError, RefusedError
from evidence.ledger.disk import plain_words, sync_file, sync_folder, write_private


@pytest.mark.parametrize(
    ("code", "kind", "why"),
    [
        (errno.ENOENT, RefusedError, "is not there"),
        (errno.ENOSPC, RefusedError, "the disk is full"),
        (errno.EDQUOT, RefusedError, "the disk is full"),
        (errno.EACCES, RefusedError, "may not do that"),
        (errno.EROFS, RefusedError, "may not do that"),
        (errno.EEXIST, RefusedError, "is there already"),
        (errno.EISDIR, RefusedError, "is a directory"),
    ],
)
def test_what_the_operating_system_refuses_is_told_in_plain_words(code, kind, why):
    with pytest.raises(EvidenceError) as told, plain_words(Path("case")):
        raise OSError(code, os.strerror(code))
    assert type(told.value) is kind
    assert told.value.what == "case"
    assert why in told.value.why


def test_what_ought_to_be_there_is_missing_and_not_mistyped():
    with pytest.raises(MissingError), plain_words(Path("keys"), MissingError):
        raise FileNotFoundError(errno.ENOENT, "")


def test_a_private_file_is_new_and_its_owner_s_alone(tmp_path):
    path = tmp_path / "secret"
    write_private(path, b"bytes")
    assert path.read_bytes() == b"bytes"
    if os.name != "nt":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    with pytest.raises(FileExistsError):
        write_private(path, b"others")
    assert path.read_bytes() == b"bytes"


def test_what_is_not_there_cannot_be_waited_for(tmp_path):
    sync_folder(tmp_path)
    with pytest.raises(FileNotFoundError):
        sync_file(tmp_path / "absent")
    with pytest.raises(FileNotFoundError):
        sync_folder(tmp_path / "absent")


def test_where_a_folder_cannot_be_waited_for_nobody_does(tmp_path, monkeypatch):
    absent = tmp_path / "absent"
    with monkeypatch.context() as on:
        on.setattr(os, "name", "nt")  # Windows opens no folders
        assert sync_folder(absent) is None
