import gc
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.packed import PackedRecord, is_pack
from evidence.shapes import FileRef
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure
from tests.packing import exchanged, members, packed, put_together

ON = date(2025, 11, 3)


@pytest.fixture(scope="module")
def pack(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return packed(built, tmp_path_factory.mktemp("packed") / "a.zip").path


@pytest.fixture
def opened(pack: Path) -> PackedRecord:
    return PackedRecord.open(pack)


def first_photo(record: Record) -> FileRef:
    return next(ref for entry in record.entries for ref in entry.files if ref.camera)


def test_a_pack_reads_as_the_case_that_it_was_made_of(built, opened):
    own = Record.open(built)

    assert (opened.lines, opened.heads, opened.case) == (own.lines, own.heads, own.case)
    assert opened.notes == own.notes
    assert opened.answers() == own.answers()


def test_the_same_figures_come_out_of_it(built, opened):
    def figures(record: Record) -> object:
        return as_json(measure(record.history(ON), load_catalogue(), record.root_on(ON)))

    assert figures(opened) == figures(Record.open(built))


def test_only_the_file_that_is_asked_for_is_unpacked(built, opened):
    ref = first_photo(opened)

    path = opened.original(ref.sha256)

    assert path.read_bytes() == Record.open(built).original(ref.sha256).read_bytes()
    assert path.suffix == ".jpg"
    assert list(path.parent.iterdir()) == [path]
    assert opened.original(ref.sha256) == path


def unpacked(record) -> list[Path]:
    return [path for path in record.originals.rglob("*") if path.is_file()]


def test_each_thread_has_a_file_of_its_own_unpacked(opened):
    first, second = [ref.sha256 for entry in opened.entries for ref in entry.files][:2]
    mine = opened.original(first)
    with ThreadPoolExecutor(1) as thread:
        other = thread.submit(opened.original, second).result()
    assert mine.is_file()
    assert other.is_file()


def test_no_more_than_one_file_is_unpacked_at_a_time(opened):
    sums = [ref.sha256 for entry in opened.entries for ref in entry.files]

    paths = {opened.original(sha256) for sha256 in sums}

    assert len(paths) == len(set(sums))
    assert unpacked(opened) == [opened.original(sums[-1])]


def test_a_record_that_is_let_go_leaves_nothing_behind(pack):
    record = PackedRecord.open(pack)
    path = record.original(first_photo(record).sha256)

    del record
    gc.collect()

    assert not path.exists()


def test_a_file_that_it_does_not_hold_is_missing(opened):
    with pytest.raises(MissingError, match="is not in the pack"):
        opened.original("0" * 64)


def test_a_file_that_was_changed_is_never_handed_out_under_its_name(pack, tmp_path):
    sha256 = first_photo(PackedRecord.open(pack)).sha256

    def change(files: dict[str, bytes]) -> None:
        files[f"original-{sha256}.jpg"] += b"x"

    record = PackedRecord.open(exchanged(pack, tmp_path / "b.zip", change))
    with pytest.raises(ChangedError, match="is not what was sealed"):
        record.original(sha256)
    assert unpacked(record) == []


def test_nothing_is_written_into_it(opened):
    before = opened.folder.read_bytes()
    draft = Draft("photos", {}, "owner")

    for act in (
        lambda: opened.rehearse([draft]),
        lambda: opened.write([draft], None),  # type: ignore[arg-type]
        lambda: opened.key_store,
    ):
        with pytest.raises(RefusedError, match="it can be read, not written"):
            act()
    opened.mend()
    assert opened.folder.read_bytes() == before


@pytest.mark.parametrize("name", ["record.jsonl", "heads.txt"])
def test_a_zip_without_a_record_is_no_pack(pack, tmp_path, name):
    files = {each: data for each, data in members(pack).items() if each != name}

    with pytest.raises(RefusedError, match=f"holds no {name}"):
        PackedRecord.open(put_together(files, tmp_path / "b.zip"))


def test_an_excerpt_is_not_read_as_a_case(built, tmp_path):
    path = packed(built, tmp_path / "e.zip", incident="i1").path

    with pytest.raises(RefusedError, match="no gap and no last look can be told"):
        PackedRecord.open(path)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("record.jsonl", b"branch", b"debris"),
        ("record.jsonl", b"}\n{", b"}\n\n{"),
        ("heads.txt", b"\n18\n", b"\n17\n"),
    ],
)
def test_entries_that_do_not_hold_together_are_not_read(pack, tmp_path, name, old, new):
    def change(files: dict[str, bytes]) -> None:
        assert old in files[name]
        files[name] = files[name].replace(old, new, 1)

    record = PackedRecord.open(exchanged(pack, tmp_path / "b.zip", change))
    with pytest.raises(ChangedError, match="not those under its newest head"):
        _ = record.entries


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("record.jsonl", b"{}", "does not end with a newline"),
        ("heads.txt", b"\xff\n\n", "is not UTF-8"),
        ("heads.txt", b"a note", "does not end with an empty line"),
        ("heads.txt", b"", "not those under its newest head"),
    ],
)
def test_texts_of_another_form_are_refused(pack, tmp_path, name, data, why):
    record = PackedRecord.open(
        exchanged(pack, tmp_path / "b.zip", lambda files: files.update({name: data}))
    )
    with pytest.raises(ChangedError, match=why):
        _ = record.lines


def test_a_pack_is_known_by_how_it_begins(pack, tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7\n")

    assert is_pack(pack)
    assert not is_pack(tmp_path / "a.pdf")
    assert not is_pack(tmp_path)
    assert not is_pack(tmp_path / "none")


def test_an_answer_that_is_not_there_bounds_nothing(pack, tmp_path):
    def change(files: dict[str, bytes]) -> None:
        files["witness-10.tsr"] = b"not an answer"

    record = PackedRecord.open(exchanged(pack, tmp_path / "b.zip", change))

    assert sorted(record.answers()) == [11, 15]
