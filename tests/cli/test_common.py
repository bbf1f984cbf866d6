"""What every command shares: sentences and columns on a terminal, files that are read."""

import io
import sys

import pytest

from evidence.cli import common
from evidence.errors import RefusedError


def test_sentences_are_wrapped_to_the_terminal_and_at_most_as_wide_as_an_eye_follows(
    capsys, monkeypatch
):
    for columns, widest in (("60", 60), ("200", 88), ("10", 40)):
        monkeypatch.setenv("COLUMNS", columns)
        common.tell("one two three four " * 20)
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= widest
        assert max(map(len, lines)) > widest - 6


def test_what_runs_on_below_an_indented_sentence_is_indented_further(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    common.tell("one two three four " * 5, indent=2)
    first, *rest = capsys.readouterr().out.splitlines()
    assert first.startswith("  one")
    assert all(line.startswith("    ") for line in rest)


def test_a_path_is_never_broken(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    path = "/home/" + "long-name/" * 12
    common.tell(f"It lies at {path} now.")
    common.rows([("1", f"at {path}")])
    assert capsys.readouterr().out.count(path) == 2


def test_a_call_stands_on_one_line_and_can_be_copied(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    common.call("check", "my rig/" + "claim" * 20 + ".pdf")
    assert capsys.readouterr().out == f"  roof-evidence check 'my rig/{'claim' * 20}.pdf'\n"


def test_columns_are_aligned_and_the_last_one_wraps_below_itself(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    common.rows([("1", "short", "words " * 12), ("12", "longer cell", "end")])
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("  1   short        words")
    assert lines[1].startswith(" " * 19 + "words")
    assert lines[-1] == "  12  longer cell  end"
    assert max(map(len, lines)) <= 60


def test_no_rows_print_nothing(capsys):
    common.rows([])
    assert capsys.readouterr().out == ""


def test_json_keeps_its_signs(capsys):
    common.emit({"name": "Łódź"})
    assert capsys.readouterr().out == '{\n  "name": "Łódź"\n}\n'


def test_nobody_sits_at_a_pipe(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    assert common.interactive() is False
    assert common.passphrase() is None


def test_a_passphrase_is_taken_from_the_environment_first(monkeypatch):
    monkeypatch.setenv(common.PASSPHRASE, "seven wet ladders")
    monkeypatch.setattr(common, "interactive", lambda: True)
    assert common.passphrase() == "seven wet ladders"


@pytest.mark.parametrize(
    ("text", "said"),
    [("[1]", "is not a JSON object"), ("{", ""), ('{"a": 1, "a": 2}', ""), ("\xff", "")],
)
def test_json_is_read_strictly(text, said, tmp_path):
    path = tmp_path / "given.json"
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(RefusedError) as refused:
        common.read_json(path)
    assert said in str(refused.value)


def test_a_file_that_cannot_be_read_names_itself(tmp_path):
    with pytest.raises(RefusedError, match=r"nowhere\.json: cannot be read: No such file"):
        common.read_json(tmp_path / "nowhere.json")


def test_progress_is_silent_where_nobody_looks(capsys):
    with common.progress("sealing") as advance:
        advance(1, 2)
    with common.stages() as told:
        told("laying out the pages")
    with common.progress("sealing", quiet=True) as advance:
        advance(2, 2)
    assert capsys.readouterr() == ("", "")


def test_progress_is_shown_on_a_terminal(monkeypatch):
    shown = io.StringIO()
    shown.isatty = lambda: True  # type: ignore[method-assign]
    monkeypatch.setattr(sys, "stderr", shown)
    with common.progress("sealing") as advance:
        advance(1, 2)
    assert "sealing" in shown.getvalue()
    with common.stages() as told:
        told("laying out the pages")
    assert "laying out the pages" in shown.getvalue()
