"""Hostile containers, each refused before a member is used."""

import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.errors import ChangedError, RefusedError
from evidence.stored import StoredWriter, StoredZip
from evidence.stored.layout import DATE, MODE, UNIX, directory, placed

FILES = {"record.jsonl": b"one\ntwo\n", "heads.txt": b"note\n\n", "original-ab.jpg": b"\xff" * 300}


@pytest.fixture
def good(tmp_path: Path) -> Path:
    path = tmp_path / "good.zip"
    with StoredWriter(path) as writer:
        for name, data in FILES.items():
            writer.put(name, data)
    return path


def by_hand(path: Path, change: Callable[[zipfile.ZipInfo], None], name: str = "heads.txt") -> Path:
    """The same files by Python's writer, one member's header changed ahead of its writing."""
    with zipfile.ZipFile(path, "w") as made:
        for each, data in FILES.items():
            info = zipfile.ZipInfo(each, DATE)
            info.create_system, info.external_attr = UNIX, MODE
            if each == name:
                change(info)
            made.writestr(info, data)
    return path


def refused(path: Path) -> str:
    with pytest.raises(RefusedError) as caught:
        StoredZip.open(path)
    assert caught.value.exit_code == 2
    return caught.value.why


def test_a_good_one_is_opened(good):
    opened = StoredZip.open(good)

    assert {name: opened.read(name, 1000) for name in opened.by_name} == FILES


def test_by_hand_alone_makes_the_very_same(good, tmp_path):
    path = by_hand(tmp_path / "same.zip", lambda _info: None)

    assert path.read_bytes() == good.read_bytes()


def packed(info: zipfile.ZipInfo) -> None:
    info.compress_type = zipfile.ZIP_DEFLATED


def linked(info: zipfile.ZipInfo) -> None:
    info.external_attr = 0o120777 << 16


def folder(info: zipfile.ZipInfo) -> None:
    info.external_attr |= 0x10


def commented(info: zipfile.ZipInfo) -> None:
    info.comment = b"see here"


def dated(info: zipfile.ZipInfo) -> None:
    info.date_time = (2025, 6, 8, 17, 5, 0)


def extra(info: zipfile.ZipInfo) -> None:
    info.extra = struct.pack("<2H", 0x7075, 0)  # a second, Unicode name


def of_windows(info: zipfile.ZipInfo) -> None:
    info.create_system = 0


@pytest.mark.parametrize("change", [packed, linked, folder, commented, dated, extra, of_windows])
def test_a_member_put_in_in_any_other_way_is_refused(tmp_path, change):
    assert "is not put together as a pack is" in refused(by_hand(tmp_path / "a.zip", change))


@pytest.mark.parametrize(
    "name", ["../heads.txt", "/heads.txt", "a/heads.txt", "a\\heads.txt", "..", ".", "C:heads.txt",
             "hëads.txt", "heads.txt ", "heads\ntxt", "CON:", "x" * 201]
)  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused(tmp_path, name):
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as made:
        made.writestr(zipfile.ZipInfo(name, DATE), b"x")

    assert "no plain file name" in refused(tmp_path / "a.zip")


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("other", ["heads.txt", "HEADS.TXT", "Heads.txt"])
def test_two_files_of_one_name_are_refused_even_where_only_case_tells_them_apart(tmp_path, other):
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as made:
        for name in ("heads.txt", other):
            info = zipfile.ZipInfo(name, DATE)
            info.create_system, info.external_attr = UNIX, MODE
            made.writestr(info, b"x")

    assert "two of its files have one name" in refused(tmp_path / "a.zip")


@pytest.mark.parametrize("flag", [0, 3, 6, 11], ids=["secret", "later", "strong", "utf8"])
def test_a_member_that_bears_a_flag_is_refused(good, flag):
    data, member = bytearray(good.read_bytes()), StoredZip.open(good).members[0]
    ends = StoredZip.open(good).members[-1].ends
    for at in (member.offset + 6, ends + 8):  # general purpose flags, in both headers
        data[at : at + 2] = struct.pack("<H", 1 << flag)
    good.write_bytes(data)

    refused(good)


def test_a_bomb_of_packed_zeros_is_refused_unread(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.zip", "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("original-ab.bin", bytes(50_000_000))

    assert "original-ab.bin does not end ahead of the directory" in refused(tmp_path / "a.zip")


def test_bytes_ahead_of_the_first_and_behind_the_last_are_refused(good):
    data = good.read_bytes()
    for wrong in (b"x" + data, data + b"x", data + data, b"MZ" + bytes(40) + data):
        good.write_bytes(wrong)
        refused(good)


def test_bytes_between_two_members_are_refused(good):
    data, opened = good.read_bytes(), StoredZip.open(good)
    second = opened.members[1].offset
    good.write_bytes(data[:second] + b"hidden" + data[second:])

    refused(good)


def test_a_file_that_is_cut_off_anywhere_is_refused(good):
    data = good.read_bytes()
    for end in range(len(data)):
        good.write_bytes(data[:end])
        refused(good)


def forged(
    path: Path, rows: list[tuple[str, int, int]], body: bytes, at: int | None = None
) -> Path:
    """A directory of one's own over bytes of one's own."""
    members = placed(rows)
    path.write_bytes(body + directory(members, len(body) if at is None else at))
    return path


def test_members_that_overlap_are_refused(tmp_path):
    (member,) = placed([("a", 100, zlib.crc32(bytes(100)))])
    body = member.local_header + bytes(100)
    twice = [("a", 100, member.crc), ("b", 100, member.crc)]

    assert "b does not end ahead of the directory" in refused(
        forged(tmp_path / "a.zip", twice, body)
    )


def test_a_directory_that_names_the_same_bytes_twice_is_refused(good):
    data = good.read_bytes()
    members = StoredZip.open(good).members
    first, ends = members[0], members[-1].ends
    again = type(first)("again.jsonl", first.size, first.crc, first.offset)
    good.write_bytes(data[:ends] + directory([*members, again], ends))

    refused(good)


@pytest.mark.parametrize("size", [0, 99, 101, 2**31, 2**40, 2**63])
def test_a_size_that_is_not_the_member_s_is_refused(tmp_path, size):
    (member,) = placed([("a", 100, zlib.crc32(bytes(100)))])
    body = member.local_header + bytes(100)

    refused(forged(tmp_path / "a.zip", [("a", size, member.crc)], body))


@pytest.mark.parametrize("at", [0, 1, 2**31 + 5, 2**40])
def test_a_directory_that_lies_about_its_own_place_is_refused(tmp_path, at):
    (member,) = placed([("a", 100, zlib.crc32(bytes(100)))])

    refused(
        forged(tmp_path / "a.zip", [("a", 100, member.crc)], member.local_header + bytes(100), at)
    )


def test_a_directory_of_an_unheard_of_size_is_refused_unread(tmp_path, monkeypatch):
    monkeypatch.setattr("evidence.stored.reading._LARGEST_DIRECTORY", 100)
    path = tmp_path / "a.zip"
    with StoredWriter(path) as writer:
        writer.put("a", b"")
        writer.put("b", b"")
        writer.put("c", b"")

    assert "its directory has 141 bytes" in refused(path)


def test_64_bits_where_32_would_do_are_refused(good, monkeypatch):
    rows = [(m.name, m.size, m.crc) for m in StoredZip.open(good).members]
    monkeypatch.setattr("evidence.stored.layout.LARGEST", 10)
    wide = placed(rows)
    body = b"".join(m.local_header + FILES[m.name] for m in wide)
    good.write_bytes(body + directory(wide, len(body)))
    assert StoredZip.open(good).members == wide

    monkeypatch.undo()

    refused(good)


def test_no_zip_and_an_empty_file_are_refused(tmp_path):
    for data in (b"", b"PK\x03\x04", b"%PDF-1.7\n", bytes(500)):
        (tmp_path / "a").write_bytes(data)
        assert "does not end as a ZIP does" in refused(tmp_path / "a")
    with pytest.raises(RefusedError, match="cannot be read"):
        StoredZip.open(tmp_path / "none")


def test_a_changed_byte_in_a_member_is_found_by_the_zip_s_own_sum(good):
    data = bytearray(good.read_bytes())
    data[StoredZip.open(good).members[0].begins] ^= 1
    good.write_bytes(data)

    opened = StoredZip.open(good)
    with pytest.raises(ChangedError, match="not as the ZIP itself states"):
        opened.sum("record.jsonl")


def test_a_member_is_never_read_beyond_what_the_reader_allows(good):
    with pytest.raises(RefusedError, match="too large"):
        StoredZip.open(good).read("original-ab.jpg", 299)


def test_a_file_that_goes_away_meanwhile_is_told(good):
    opened = StoredZip.open(good)
    good.unlink()

    with pytest.raises(RefusedError, match="cannot be read"):
        opened.sum("heads.txt")


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_no_flip_and_no_cut_of_a_container_is_taken_for_the_same_files(good, data):
    whole = good.read_bytes()
    at = data.draw(st.integers(0, len(whole) * 8 - 1))
    changed = bytearray(whole)
    changed[at // 8] ^= 1 << at % 8
    path = good.with_name("flipped.zip")
    path.write_bytes(changed)

    with pytest.raises((RefusedError, ChangedError)):
        read_whole(path)


def read_whole(path: Path) -> None:
    opened = StoredZip.open(path)
    for name in opened.by_name:
        opened.sum(name)
