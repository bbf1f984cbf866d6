"""Many files sealed side by side: in order, once each, and stopped at the first that cannot be."""

from pathlib import Path

import pytest

from evidence.errors import RefusedError
from evidence.keeping import seal_all
from evidence.photos import Shelf

MANY = 300


@pytest.fixture
def sources(tmp_path: Path) -> list[Path]:
    folder = tmp_path / "card"
    folder.mkdir()
    paths = [folder / f"{at:03}.txt" for at in range(MANY)]
    for at, path in enumerate(paths):
        path.write_text(str(at))
    return paths


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    (tmp_path / "originals").mkdir()
    return Shelf(tmp_path / "originals")


def test_many_files_are_sealed_in_the_order_in_which_they_were_handed_in(sources, shelf):
    sealed = seal_all(sources, shelf)
    assert [file.name for file in sealed] == [path.name for path in sources]
    assert [file.path.read_text() for file in sealed] == [path.read_text() for path in sources]
    assert len(list(shelf.folder.iterdir())) == MANY


def test_one_that_cannot_be_read_stops_it_and_no_copy_is_left_without_a_name(sources, shelf):
    sources[3].unlink()
    with pytest.raises(RefusedError, match=r"003\.txt"):
        seal_all(sources, shelf)
    names = [path.name for path in shelf.folder.iterdir()]
    assert len(names) < MANY // 2
    assert not [name for name in names if name.startswith(".")]


def test_a_disk_that_refuses_is_told_and_no_copy_is_left_without_a_name(
    sources, shelf, monkeypatch
):
    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("evidence.photos.intake.os.fsync", full)
    with pytest.raises(RefusedError, match="No space left"):
        seal_all(sources, shelf)
    assert list(shelf.folder.iterdir()) == []
