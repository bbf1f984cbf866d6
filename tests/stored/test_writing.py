import zipfile
from pathlib import Path

import pytest

from evidence.errors import RefusedError
from evidence.stored import StoredWriter, StoredZip, Sum, layout, writing

HELLO = Sum("2cf24dba5fb0a30e26e83b2ac5b9e29e1b161e5c1fa7425e73043362938b9824", 5)
"""SHA-256 of "hello" (FIPS 180-4, as `printf hello | sha256sum` prints it)."""


def written(out: Path, source: Path) -> Path:
    with StoredWriter(out) as writer:
        writer.put("a.txt", b"hello")
        writer.put("empty", b"")
        writer.add("b.bin", source)
    return out


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "source"
    path.write_bytes(bytes(range(256)) * 9000)  # more than one piece
    return path


def test_what_is_written_is_summed_and_read_back_by_another_program(tmp_path, source):
    out = tmp_path / "a.zip"
    with StoredWriter(out) as writer:
        assert writer.put("a.txt", b"hello") == HELLO
        assert writer.add("b.bin", source).bytes == source.stat().st_size
        assert list(writer.sums) == ["a.txt", "b.bin"]

    with zipfile.ZipFile(out) as other:
        assert other.testzip() is None
        assert other.read("a.txt") == b"hello"
        assert other.read("b.bin") == source.read_bytes()


def test_the_same_members_make_the_same_bytes(tmp_path, source, monkeypatch):
    first = written(tmp_path / "a.zip", source).read_bytes()
    monkeypatch.setattr("time.time", lambda: 2_000_000_000.0)

    assert written(tmp_path / "b.zip", source).read_bytes() == first


def test_the_layout_is_what_python_s_own_writer_makes(tmp_path, source):
    path = written(tmp_path / "a.zip", source)
    rows = [(m.name, m.size, m.crc) for m in StoredZip.open(path).members]

    placed = layout.placed(rows)

    data = path.read_bytes()
    assert all(data[m.offset :].startswith(m.local_header) for m in placed)
    assert data[placed[-1].ends :] == layout.directory(placed, placed[-1].ends)


@pytest.mark.parametrize("largest", [0, 4, 60, 300])
@pytest.mark.parametrize("most", [1, 65_535])
def test_beyond_32_bits_and_16_it_is_so_too(tmp_path, source, monkeypatch, largest, most):
    monkeypatch.setattr(zipfile, "ZIP64_LIMIT", largest)
    monkeypatch.setattr(zipfile, "ZIP_FILECOUNT_LIMIT", most)
    monkeypatch.setattr(layout, "LARGEST", largest)
    monkeypatch.setattr(writing, "LARGEST", largest)
    monkeypatch.setattr(layout, "MOST_MEMBERS", most)

    opened = StoredZip.open(written(tmp_path / "a.zip", source))

    assert [member.name for member in opened.members] == ["a.txt", "empty", "b.bin"]
    assert b"".join(opened.pieces("b.bin")) == source.read_bytes()


def test_a_writer_of_many_gigabytes_would_place_them_so():
    (small, large, behind) = layout.placed([("s", 1, 7), ("l", 3 << 30, 8), ("b", 2, 9)])

    assert small.local_header[4:6] == b"\x14\x00"  # version 20
    assert large.local_header[4:6] == b"\x2d\x00"  # version 45
    assert large.ends - large.begins == 3 << 30
    assert len(behind.local_header) == 31  # its size is small, though it stands far behind
    assert len(behind.central_header) == 46 + 1 + 12


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "/a", "a\\b", "ä", "a b", "A.TXT", "c:a"])
def test_a_name_that_is_not_flat_or_is_taken_is_refused(tmp_path, name):
    with StoredWriter(tmp_path / "a.zip") as writer:
        writer.put("a.txt", b"hello")

        with pytest.raises(RefusedError, match="no plain name of its own"):
            writer.put(name, b"")


def test_a_file_that_is_not_there_is_told(tmp_path):
    with (
        StoredWriter(tmp_path / "a.zip") as writer,
        pytest.raises(RefusedError, match="cannot be read"),
    ):
        writer.add("a.txt", tmp_path / "gone")


def test_a_file_that_grows_or_shrinks_while_it_is_read_is_refused(tmp_path, source, monkeypatch):
    for off in (-1, 1):
        monkeypatch.setattr(writing, "_size", lambda path, off=off: path.stat().st_size + off)
        with (
            StoredWriter(tmp_path / "a.zip") as writer,
            pytest.raises(RefusedError, match="changed while it was read"),
        ):
            writer.add("a.bin", source)
