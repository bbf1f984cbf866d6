"""Files that the program makes for people: whole, or not there at all."""

import pytest

from evidence.errors import RefusedError
from evidence.placing import beside, put


def test_a_file_is_written_whole_and_never_over_another(tmp_path):
    out, gone = tmp_path / "a.pdf", tmp_path / "b.pdf"
    put(b"one", out)
    with pytest.raises(RefusedError, match="is there already"):
        put(b"two", out)
    gone.symlink_to(tmp_path / "nothing")
    with pytest.raises(RefusedError, match="is there already"):
        put(b"two", gone)
    assert out.read_bytes() == b"one"
    assert sorted(tmp_path.iterdir()) == [out, gone]


@pytest.mark.parametrize("name", ["missing/a.ics", "."])
def test_a_place_that_cannot_be_written_is_refused_by_name(tmp_path, name):
    with pytest.raises(RefusedError) as refused:
        put(b"one", tmp_path / name)
    assert str(tmp_path) in refused.value.what


def test_what_failed_half_way_leaves_nothing_behind(tmp_path):
    def write():
        with beside(tmp_path / "a.pdf") as place:
            place.write_bytes(b"half")
            raise OSError(28, "No space left on device")

    with pytest.raises(RefusedError, match="No space left on device"):
        write()
    assert list(tmp_path.iterdir()) == []
