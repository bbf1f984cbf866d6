"""What every command shares: opening a case, keys, output for people and for programs."""

import json
import os
import shlex
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from evidence.errors import EvidenceError, RefusedError

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.ledger import KeyPair
    from evidence.trade import Catalogue
    from evidence.upkeep import History, Standing
    from evidence.witness import Anchors, MailKey

F = TypeVar("F", bound=Callable[..., Any])

PASSPHRASE = "ROOF_EVIDENCE_PASSPHRASE"  # noqa: S105 - the variable's name
_WIDEST = 88


def json_option(command: F) -> F:
    """`--json`: one JSON document instead of sentences."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON document.")(command)


def case_argument(command: F) -> F:
    """The case folder; for what only reads, a pack, too."""
    return click.argument("case", type=click.Path(path_type=Path))(command)


def on_option(command: F) -> F:
    """`--on DATE`."""
    return click.option("--on", metavar="DATE", help="As of the end of this day (2025-11-03).")(
        command
    )


def trust_option(command: F) -> F:
    """`--trust FILE`: outsiders that the reader trusts, by certificate or by mail key record."""
    return click.option(
        "--trust",
        "trusted",
        multiple=True,
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="Certificate of an outsider you trust, or a mail domain's key record that you looked "
        "up yourself, as dig prints it with its name; may be given more than once.",
    )(command)


def paper_option(command: F) -> F:
    """`--paper letter|a4`."""
    return click.option(
        "--paper",
        type=click.Choice(["letter", "a4"]),
        default="letter",
        show_default=True,
        help="The size of the page.",
    )(command)


def emit(document: object) -> None:
    """Print one JSON document."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


def tell(*paragraphs: str, indent: int = 0, err: bool = False) -> None:
    """Print sentences, wrapped to the terminal, at most as wide as an eye follows.

    `err` prints on standard error: what is said at once, beside the answer.
    """
    width = min(_WIDEST, max(40, _terminal_width()))
    for text in paragraphs:
        click.echo(
            textwrap.fill(
                text,
                width,
                initial_indent=" " * indent,
                subsequent_indent=" " * (indent + (2 if indent else 0)),
                break_on_hyphens=False,
                break_long_words=False,
            ),
            err=err,
        )


def call(*words: object) -> None:
    """Print a call of the program on one line, to be copied."""
    click.echo(f"  roof-evidence {' '.join(shlex.quote(str(word)) for word in words)}")


def heading(text: str) -> None:
    """A heading with space above it, wrapped to the terminal."""
    click.echo()
    width = min(_WIDEST, max(40, _terminal_width()))
    click.echo(click.style(textwrap.fill(text, width, break_on_hyphens=False), bold=True))


def rows(cells: Iterable[Sequence[str]], indent: int = 2) -> None:
    """Columns aligned by spaces; the last one wraps."""
    table = [list(row) for row in cells]
    if not table:
        return
    widths = [max(len(row[at]) for row in table) for at in range(len(table[0]) - 1)]
    width = min(_WIDEST, max(40, _terminal_width()))
    for row in table:
        lead = " " * indent + "".join(
            f"{cell:<{room}}  " for cell, room in zip(row, widths, strict=False)
        )
        room = max(20, width - len(lead))
        lines = textwrap.wrap(row[-1], room, break_long_words=False, break_on_hyphens=False)
        lines = lines or [""]
        click.echo((lead + lines[0]).rstrip())
        for line in lines[1:]:
            click.echo(" " * len(lead) + line)


def _terminal_width() -> int:
    import shutil

    return shutil.get_terminal_size((_WIDEST, 24)).columns


def interactive() -> bool:
    """Whether somebody sits at a terminal who can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def open_to_read(path: Path) -> "Record":
    """Open what can be read as a case: a folder, or a pack of somebody's."""
    from evidence.packed import PackedRecord, is_pack

    return PackedRecord.open(path) if is_pack(path) else open_record(path)


def open_record(folder: Path) -> "Record":
    """Open a case folder of one's own; a write that a crash cut off is undone first.

    Raises:
        RefusedError: there is no case, or it is a pack.
    """
    from evidence.case import Record
    from evidence.packed import is_pack, read_only

    if is_pack(folder):
        raise read_only(folder)
    record = Record.open(folder)
    record.mend()
    return record


def refresh_index(record: "Record", done: str = "The entry is written.") -> None:
    """Make the tables for SQL anew; what was done stands without them, too, and `done` says so.

    A pack has none: they lie in the case's folder.
    """
    from evidence.index import refresh_index as refresh

    if not record.folder.is_dir():
        return
    try:
        refresh(record)
    except EvidenceError as error:
        click.echo(f"{done} {error}", err=True)


def day_given(on: str | None, record: "Record") -> date:
    """The date of `--on`, else today at home."""
    from evidence.times import parse_day

    return record.today() if on is None else parse_day(on)


def measured(
    case: Path, on: str | None, trusted: Iterable[Path], catalogue: "Catalogue"
) -> "Standing":
    """The record of a case folder or a pack, measured at the end of a day."""
    from evidence.upkeep import measure

    record = open_to_read(case)
    day = day_given(on, record)
    history = record.history(day, read_anchors(trusted))
    return measure(history, catalogue, record.root_on(day))


def sample_line(history: "History") -> None:
    """Say of a sample that it is one."""
    if history.case.sample:
        tell("This is a sample: an invented case.")


def keys_of(record: "Record") -> "KeyPair":
    """The case's keys; the passphrase is asked for only where one is needed.

    Raises:
        RefusedError: it is wrong, or there is nobody to ask.
    """
    from evidence.keying import settle

    store = record.key_store
    settle(record, store)
    try:
        return store.load(record.case.case_id, passphrase_of(record))
    except EvidenceError:
        _given_once.clear()  # whoever mistyped it is asked again
        raise


def passphrase_of(record: "Record") -> str | None:
    """What locks the case's keys; a sample's are open."""
    return None if record.case.sample else passphrase()


def new_passphrase(record: "Record") -> str | None:
    """What shall lock new keys of the case.

    Raises:
        RefusedError: there is nobody to ask.
    """
    return None if record.case.sample else needed_passphrase()


def needed_passphrase() -> str:
    """A passphrase for keys that are made now.

    Raises:
        RefusedError: there is nobody to ask.
    """
    phrase = passphrase(new=True)
    if phrase is None:
        raise RefusedError(
            "passphrase",
            "is needed: it locks the keys that sign the record",
            f"Run on a terminal, or set {PASSPHRASE}.",
        )
    return phrase


_given_once: dict[str, str] = {}
"""What a person typed: asked once a visit, and gone with the process."""


def passphrase(*, new: bool = False) -> str | None:
    """From the environment, else from the person at the terminal; None where there is neither."""
    given = os.environ.get(PASSPHRASE)
    if given:
        return given
    if not interactive():
        return None
    if PASSPHRASE not in _given_once:
        _given_once[PASSPHRASE] = click.prompt(
            "Choose a passphrase for the keys" if new else "Passphrase",
            hide_input=True,
            confirmation_prompt=new,
            err=True,
        )
    return _given_once[PASSPHRASE]


def read_json(path: Path) -> Mapping[str, Any]:
    """A JSON object from a file, or from standard input where the path is `-`.

    Raises:
        RefusedError: it cannot be read, or it is no JSON object.
    """
    from evidence.ledger import parse

    name = "standard input" if str(path) == "-" else str(path)
    try:
        data = sys.stdin.buffer.read() if str(path) == "-" else path.read_bytes()
    except OSError as error:
        raise RefusedError(name, f"cannot be read: {error.strerror}") from error
    value = parse(data)
    if not isinstance(value, dict):
        raise RefusedError(name, "is not a JSON object")
    return value


def read_anchors(paths: Iterable[Path]) -> "Anchors":
    """Whom a reader trusts: certificates in PEM or DER files, key records of mail domains.

    Raises:
        RefusedError: a file cannot be read or holds neither.
    """
    from cryptography.hazmat.primitives.serialization import Encoding
    from cryptography.x509 import load_der_x509_certificate, load_pem_x509_certificates

    from evidence.witness import Anchors

    found, mail_keys = [], []
    for path in paths:
        try:
            data = path.read_bytes()
            if b"-----BEGIN" in data:
                found += [c.public_bytes(Encoding.DER) for c in load_pem_x509_certificates(data)]
            elif b"DKIM1" in data:
                mail_keys.append(_mail_key(data, path))
            else:
                found.append(load_der_x509_certificate(data).public_bytes(Encoding.DER))
        except OSError as error:
            raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
        except ValueError as error:
            raise RefusedError(
                str(path), "holds no certificate (PEM or DER), nor a mail domain's key record"
            ) from error
    return Anchors(certificates=tuple(found), mail_keys=tuple(mail_keys))


def _mail_key(data: bytes, path: Path) -> "MailKey":
    """A mail domain's key as `dig` prints it, with the name under which it was looked up."""
    from evidence.witness import read_key_record

    record = read_key_record(data)
    if not record.name:
        raise RefusedError(
            str(path),
            "is a key record without the name under which it stood: any domain could be meant",
            "Give it as `dig +noall +answer TXT SELECTOR._domainkey.DOMAIN` prints it.",
        )
    return record.name, record.der


@contextmanager
def progress(what: str, *, quiet: bool = False) -> Iterator[Callable[[int, int], None]]:
    """A progress bar on a terminal; nothing elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield lambda _done, _all: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)

        def advance(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield advance


@contextmanager
def steps_told(*, quiet: bool = False) -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar for work in several steps, named as each begins; nothing elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield lambda _what, _done, _all: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

    columns = (TextColumn("{task.description:<10}"), BarColumn(), TaskProgressColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def told(what: str, done: int, total: int) -> None:
            bar.update(task, description=what, completed=done, total=total)

        yield told


@contextmanager
def stages(*, quiet: bool = False) -> Iterator[Callable[[str], None]]:
    """The stage that long work is at, on a terminal; nothing elsewhere."""
    if quiet or not sys.stderr.isatty():
        yield lambda _said: None
        return
    from rich.console import Console

    with Console(stderr=True).status("") as status:
        yield status.update
