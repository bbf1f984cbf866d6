"""The door of the program: help, exit codes, and what it says when something goes wrong."""

import re
import shlex
import subprocess
import sys

import click
import pytest

from evidence import cli
from evidence.case import Record
from evidence.errors import ChangedError, MissingError, RefusedError
from tests.conftest import PROJECT

COMMANDS = list(cli._COMMANDS)
README = (PROJECT / "README.md").read_text(encoding="utf-8")


def command(name: str) -> click.Command:
    found = cli.cli.get_command(click.Context(cli.cli), name)
    assert found is not None, name
    return found


def calls() -> list[list[str]]:
    """Every call of the program in the README's code blocks, without prompt and comment."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    found = []
    for line in lines:
        words = shlex.split(line, comments=True)
        for at, word in enumerate(words):
            if word.endswith("roof-evidence"):
                found.append(words[at + 1 :])
    return found


def test_the_readme_calls_the_program():
    assert {words[0] for words in calls()} == set(COMMANDS)


@pytest.mark.parametrize("words", calls(), ids=" ".join)
def test_every_call_of_the_readme_is_one_that_the_program_understands(words):
    known = {name for param in command(words[0]).params for name in param.opts}
    assert [word for word in words if word.startswith("--") and word not in known] == []
    # what stands there is taken by the command's own parser
    command(words[0]).make_context(words[0], words[1:])


def test_the_environment_that_the_readme_names_is_read():
    named = set(re.findall(r"ROOF_EVIDENCE_\w+", README))
    code = "\n".join(p.read_text(encoding="utf-8") for p in (PROJECT / "evidence").rglob("*.py"))
    assert named
    assert all(name in code for name in named)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_every_command_has_an_example_of_itself(name, run):
    ran = run(name, "--help")
    assert ran.code == 0
    assert f"roof-evidence {name}" in ran.said.partition("Example")[2]
    assert "\\b" not in ran.out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_says_what_it_is_for(name):
    options = [param for param in command(name).params if isinstance(param, click.Option)]
    assert [option.name for option in options if not option.help] == []


def test_the_help_lists_every_command_with_its_sentence(run):
    ran = run("--help")
    assert ran.code == 0
    for name, (_, sentence) in cli._COMMANDS.items():
        assert f"{name} {sentence}" in ran.said
    assert "roof-evidence demo" in ran.out
    assert "\\b" not in ran.out


def test_the_version_is_that_of_the_package(run):
    from importlib.metadata import version

    assert version("roof-evidence") in run("--version").out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["stand"], "No such command 'stand'"),
        (["due"], "Missing argument 'CASE'"),
        (["due", "case", "--onn", "2025-01-01"], "No such option"),
        (["dossier", "case"], "Missing option '--out'"),
        (["dossier", "case", "--out", "x.pdf", "--max-mb", "-1"], "is not in the range"),
        (["dossier", "case", "--out", "x.pdf", "--paper", "folio"], "'folio' is not one of"),
    ],
)
def test_wrong_use_is_told_in_three_lines_at_most_and_leaves_with_2(words, said, run):
    ran = run(*words)
    assert ran.code == 2
    assert said in ran.err
    assert ran.out == ""
    assert len(ran.err.splitlines()) <= 3


@pytest.mark.parametrize("name", ["due", "standing", "check", "export", "intake", "dossier"])
def test_a_folder_that_is_no_case_is_refused_by_name(name, run, tmp_path):
    more = {
        "export": ["--to", tmp_path / "out"],
        "intake": [tmp_path],
        "dossier": ["--out", "x.pdf"],
    }
    ran = run(name, tmp_path / "nowhere", *more.get(name, []))
    assert ran.code == 2
    assert "nowhere" in ran.err
    assert len(ran.err.splitlines()) <= 3


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (RefusedError("entry 17", "is not as its kind asks", "Mend it."), 2),
        (MissingError("file ab", "is not there"), 3),
        (ChangedError("file ab", "was changed"), 4),
    ],
)
def test_an_error_leaves_with_the_code_of_its_class(error, code, run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(error))
    ran = run("due", "case")
    assert (ran.code, ran.err.splitlines()[0]) == (code, f"{error.what}: {error.why}")


def raising(error: BaseException):
    def raises(**_given):
        raise error

    return raises


def test_an_error_never_takes_more_than_three_lines(run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(RefusedError("a\nb\nc\nd", "e", "f")))
    assert len(run("due", "case").err.splitlines()) == 3


def test_a_fault_of_the_program_is_told_as_one_without_a_traceback(run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(ZeroDivisionError("secret")))
    ran = run("due", "case")
    assert ran.code == 1
    assert ran.err.startswith("A fault of the program itself: ZeroDivisionError.")
    assert "Traceback" not in ran.err


def test_a_fault_claims_nothing_of_the_record_that_nobody_looked_at(run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(ZeroDivisionError("here")))
    ran = run("enter", "case", "wash")
    assert ran.code == 1
    assert len(ran.err.splitlines()) == 3
    assert "was not changed" not in ran.err
    assert "What was written before stands" in ran.err


def test_whoever_mends_the_program_can_see_where(run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(ZeroDivisionError("here")))
    monkeypatch.setenv("ROOF_EVIDENCE_DEBUG", "1")
    with pytest.raises(ZeroDivisionError, match="here"):
        run("due", "case")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_whoever_stops_it_is_told_no_more_than_is_certain(error, run, monkeypatch):
    monkeypatch.setattr(cli.cli, "main", raising(error))
    ran = run("enter", "case", "wash")
    assert ran.code == 2
    assert ran.err.startswith("Stopped. What was written before stands")


def test_whoever_stops_it_behind_the_write_is_not_told_that_nothing_was_written(
    case, run, monkeypatch
):
    """Ctrl-C while the tables for reading are made anew: the entry stands already."""
    error = KeyboardInterrupt()
    monkeypatch.setattr("evidence.cli.common.refresh_index", lambda _: raising(error)())
    before = len(Record.open(case).lines)
    ran = run("enter", case, "photos")
    assert ran.code == 2
    assert "nothing was written" not in ran.err
    assert len(Record.open(case).lines) == before + 1


def test_the_help_starts_without_the_heavy_libraries():
    heavy = ("reportlab", "pikepdf", "pyhanko", "PIL", "exifread", "pypdf", "cryptography", "rich")
    code = (
        "import sys\n"
        "from evidence.cli import _run\n"
        "_run(['--help'])\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                          cwd=PROJECT)  # fmt: skip
    assert done.stdout.splitlines()[-1] == "[]"


def test_main_leaves_with_the_code_of_the_command(monkeypatch):
    monkeypatch.setattr(cli, "_run", lambda _given: 3)
    with pytest.raises(SystemExit) as left:
        cli.main(["check", "case"])
    assert left.value.code == 3


def test_a_console_that_lacks_a_sign_does_not_stop_a_look():
    done = subprocess.run(
        [sys.executable, "-m", "evidence", "enter", "--help"],
        capture_output=True, text=True, check=False, cwd=PROJECT,
        env={"PYTHONIOENCODING": "latin-1", "PATH": ""},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "[NAME=VALUE]?" in done.stdout
