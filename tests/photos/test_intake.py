import hashlib
import os
import stat
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from evidence.errors import RefusedError
from evidence.photos import Shelf, check_readable, intake, seal, walk
from evidence.shapes import Hex
from tests.examples import file_ref

ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
"""SHA-256 of "abc" (FIPS 180-4, example B.1)."""


@pytest.fixture
def originals(tmp_path: Path) -> Path:
    folder = tmp_path / "originals"
    folder.mkdir()
    return folder


def written(path: Path, data: bytes = b"abc") -> Path:
    path.write_bytes(data)
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_file_is_copied_under_its_hash_and_left_where_it_was(tmp_path, originals):
    source = written(tmp_path / "Note.TXT")
    sealed = seal(source, originals)
    assert sealed.path == originals / f"{ABC}.txt"
    assert (sealed.sha256, sealed.bytes, sealed.type) == (ABC, 3, "text/plain")
    assert (sealed.name, sealed.already_held) == ("Note.TXT", False)
    assert sealed.path.read_bytes() == source.read_bytes() == b"abc"
    assert names(originals) == [f"{ABC}.txt"]


def test_a_large_file_is_hashed_over_all_its_blocks(tmp_path, originals):
    data = b"\xff\xd8\xff" + os.urandom(3 * 2**20)
    sealed = seal(written(tmp_path / "a.bmp", data), originals)
    assert sealed.type == "image/jpeg"
    assert sealed.sha256 == hashlib.sha256(data).hexdigest()
    assert sealed.bytes == len(data)
    assert sealed.path.read_bytes() == data


def test_an_empty_file_is_a_file(tmp_path, originals):
    sealed = seal(written(tmp_path / "empty.jpg", b""), originals)
    assert (sealed.bytes, sealed.type) == (0, "image/jpeg")


@pytest.mark.parametrize(
    ("name", "suffix"),
    [
        ("a.JPEG", ".jpeg"),
        ("noending", ".bin"),
        (".hidden", ".bin"),
        ("a.b c", ".bin"),
        ("a.ümlaut", ".bin"),
        ("a.ninechars", ".bin"),
        ("a.tar.gz", ".gz"),
    ],
)
def test_the_stored_name_takes_a_plain_ending_or_bin(tmp_path, originals, name, suffix):
    assert seal(written(tmp_path / name), originals).path.name == ABC + suffix


def test_what_is_already_held_is_kept_whatever_its_name_now(tmp_path, originals):
    first = seal(written(tmp_path / "a.txt"), originals)
    before = first.path.stat()
    again = seal(written(tmp_path / "b.md"), originals)
    assert again.already_held
    assert (again.path, again.name) == (first.path, "b.md")
    assert first.path.stat().st_ino == before.st_ino
    assert names(originals) == [f"{ABC}.txt"]


@pytest.mark.parametrize("name", ["a.txt", "a.md"])
def test_a_held_file_whose_bytes_changed_is_replaced_in_its_place(tmp_path, originals, name):
    damaged = written(originals / f"{ABC}.txt", b"abd")
    sealed = seal(written(tmp_path / name), originals)
    assert (sealed.already_held, sealed.path) == (False, damaged)
    assert damaged.read_bytes() == b"abc"
    assert names(originals) == [damaged.name]


def test_the_same_file_sealed_from_two_threads_is_held_once(tmp_path, originals):
    source = written(tmp_path / "a.txt", os.urandom(2**20))
    with ThreadPoolExecutor(4) as pool:
        sealed = list(pool.map(lambda _: seal(source, originals), range(8)))
    assert len({each.path for each in sealed}) == 1
    assert len(names(originals)) == 1


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="names there are always text")
def test_a_name_that_is_no_text_is_kept_as_its_bytes(tmp_path, originals):
    source = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.jpg"))
    assert seal(written(source), originals).name == Hex(hex=b"caf\xe9.jpg".hex())


def test_a_sealed_file_is_a_file_as_an_entry_writes_it(tmp_path, originals):
    sealed = seal(written(tmp_path / "a.pdf", b"%PDF-1.7"), originals)
    fields = {"sha256": sealed.sha256, "bytes": sealed.bytes, "type": sealed.type, "name": "a.pdf"}
    assert file_ref(fields).type == "application/pdf"


def test_what_could_be_sealed_is_readable_and_nothing_is_written(tmp_path, originals):
    check_readable(written(tmp_path / "a.txt"))
    assert names(originals) == []


def test_what_could_not_be_sealed_is_refused_beforehand(tmp_path):
    with pytest.raises(RefusedError, match="is a folder"):
        check_readable(tmp_path)
    with pytest.raises(RefusedError, match=r"gone\.jpg: cannot be read"):
        check_readable(tmp_path / "gone.jpg")


def test_a_missing_file_is_refused_by_name(tmp_path, originals):
    with pytest.raises(RefusedError, match=r"gone\.jpg: cannot be read: No such file"):
        seal(tmp_path / "gone.jpg", originals)
    assert names(originals) == []


def test_a_folder_is_refused(tmp_path, originals):
    with pytest.raises(RefusedError, match="is a folder"):
        seal(tmp_path, originals)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path, originals):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(RefusedError, match="pipe or a device"):
        seal(tmp_path / "pipe", originals)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_is_refused(originals):
    with pytest.raises(RefusedError, match="pipe or a device"):
        seal(Path("/dev/zero"), originals)


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="no such file here")
def test_a_file_that_breaks_off_while_it_is_read_is_refused_and_leaves_nothing(originals):
    with pytest.raises(RefusedError, match="mem: cannot be read to its end"):
        seal(Path("/proc/self/mem"), originals)
    assert names(originals) == []


def test_a_folder_of_originals_that_cannot_be_written_is_named(tmp_path):
    with pytest.raises(RefusedError, match=r"nowhere: cannot take a copy of 'a\.txt'"):
        seal(written(tmp_path / "a.txt"), tmp_path / "nowhere")


def test_a_disk_that_fills_up_leaves_no_half_file(tmp_path, originals, monkeypatch):
    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(intake.os, "fsync", full)
    with pytest.raises(RefusedError, match="No space left"):
        seal(written(tmp_path / "a.txt"), originals)
    assert names(originals) == []


def test_a_copy_has_no_name_until_it_is_taken(tmp_path, originals):
    shelf = Shelf(originals)
    copied = shelf.copy(written(tmp_path / "a.txt"))
    assert (copied.sha256, copied.size, copied.head) == (ABC, 3, b"abc")
    assert names(originals) == [copied.part.name]
    assert copied.part.name.startswith(".incoming-")
    assert shelf.place(ABC) is None

    assert shelf.take(copied).path == shelf.place(ABC) == originals / f"{ABC}.txt"
    assert names(originals) == [f"{ABC}.txt"]


def test_a_copy_is_on_the_disk_before_it_has_a_name_and_the_name_by_the_end(
    tmp_path, originals, monkeypatch
):
    said, fsync, replace = [], os.fsync, Path.replace

    def waited(handle):
        said.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "bytes")
        fsync(handle)

    def named(path, target):
        said.append("name")
        return replace(path, target)

    monkeypatch.setattr(intake.os, "fsync", waited)
    monkeypatch.setattr(Path, "replace", named)
    seal(written(tmp_path / "a.txt"), originals)
    assert said == ["bytes", "name", "folder"]


def test_a_copy_that_the_disk_refuses_at_the_end_is_not_left_behind(
    tmp_path, originals, monkeypatch
):
    shelf = Shelf(originals)
    copied = shelf.copy(written(tmp_path / "a.txt"))

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(intake.os, "fsync", full)
    with pytest.raises(RefusedError, match=r"cannot take a copy of 'a\.txt': No space left"):
        shelf.take(copied)
    assert names(originals) == []
    assert shelf.place(ABC) is None


def test_a_folder_that_the_disk_refuses_to_keep_is_named(tmp_path):
    with pytest.raises(RefusedError, match="gone: cannot take a copy"):
        Shelf(tmp_path / "gone").settle()


def test_one_shelf_takes_files_from_several_threads(tmp_path, originals):
    data = [os.urandom(1000 + at % 5) for at in range(10)]
    sources = [written(tmp_path / f"{at}.txt", data[at % 10]) for at in range(60)]
    shelf = Shelf(originals)
    with ThreadPoolExecutor(4) as pool:
        sealed = list(pool.map(shelf.seal, sources))
    digests = {hashlib.sha256(one).hexdigest() for one in data}
    assert {each.sha256 for each in sealed} == digests
    assert names(originals) == sorted(f"{digest}.txt" for digest in digests)
    assert all(shelf.place(digest) for digest in digests)


def test_what_another_hand_put_there_since_is_held(tmp_path, originals):
    shelf = Shelf(originals)
    written(originals / f"{ABC}.txt")
    assert shelf.place(ABC) is None
    assert shelf.seal(written(tmp_path / "a.txt")).already_held
    assert names(originals) == [f"{ABC}.txt"]


def test_what_was_cleared_away_since_has_no_place_and_is_put_back(tmp_path, originals):
    lying = written(originals / f"{ABC}.dat")
    shelf = Shelf(originals)
    assert shelf.place(ABC) == lying
    lying.unlink()
    assert shelf.place(ABC) is None
    assert not shelf.seal(written(tmp_path / "a.txt")).already_held
    assert names(originals) == [f"{ABC}.txt"]


def test_folders_are_walked_in_order_and_hidden_things_left_out(tmp_path):
    for name in ("b/2.jpg", "b/1.jpg", "a.jpg", ".hidden.jpg", ".cache/x.jpg", "b/Thumbs.db"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.touch()
    assert walk([tmp_path]) == [tmp_path / "a.jpg", tmp_path / "b/1.jpg", tmp_path / "b/2.jpg"]


def test_a_path_given_twice_counts_once_and_a_hidden_file_named_counts(tmp_path):
    hidden = written(tmp_path / ".hidden.jpg")
    plain = written(tmp_path / "a.jpg")
    assert walk([plain, hidden, tmp_path]) == [hidden, plain]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_what_is_no_file_is_left_out_of_a_folder(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert walk([tmp_path]) == []


def test_a_path_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(RefusedError, match=r"gone: cannot be read: No such file"):
        walk([tmp_path / "gone"])
