"""`witness` and `cosign`: an outsider's word on a head, asked for and given."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common
from evidence.cli.paper import slip_option, write_slip
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Record, Written
    from evidence.witnessing import Answer

_MOST_BYTES = 1_000_000

_FILE = click.Path(path_type=Path)


@click.command
@common.case_argument
@click.option("--tsa", metavar="URL", help="Ask this time-stamping authority now.")
@click.option("--request", type=_FILE, metavar="OUT.tsq", help="Write a request to carry by hand.")
@click.option("--reply", type=_FILE, metavar="FILE.tsr", help="Take the authority's answer to it.")
@click.option("--note", type=_FILE, metavar="OUT", help="Write the head, for a letter or cosigner.")
@click.option(
    "--seen",
    type=click.IntRange(min=1),
    metavar="SIZE",
    help="With --note: the size that the cosigner cosigned last; its proof goes along.",
)
@click.option(
    "--letter",
    type=_FILE,
    metavar="FILE.eml",
    help="Take back an e-mail with the head in it; all of it then stands in the record.",
)
@click.option(
    "--dns-record",
    type=_FILE,
    metavar="FILE",
    help="With --letter: the TXT record of its mail domain's key.",
)
@click.option("--cosigned", type=_FILE, metavar="FILE", help="Take the head back, cosigned.")
@slip_option
@common.paper_option
@click.option("--by", help="The party who hands it in; may be left out where there is one owner.")
@common.json_option
def witness(
    case: Path,
    tsa: str | None,
    request: Path | None,
    reply: Path | None,
    note: Path | None,
    seen: int | None,
    letter: Path | None,
    dns_record: Path | None,
    cosigned: Path | None,
    slip: Path | None,
    paper: str,
    by: str | None,
    as_json: bool,
) -> None:
    """Let an outsider vouch that the record existed, as it stands, by his own clock.

    Only --tsa uses the network; it sends a hash to the address that you name. An answer is verified
    before it is taken.

    \b
    Example:
      roof-evidence witness my-rig --tsa https://tsa.example/
      roof-evidence witness my-rig --request head.tsq    # carry it to an authority
      roof-evidence witness my-rig --reply head.tsr      # what came back
      roof-evidence witness my-rig --note head.txt       # put its text in an e-mail
      roof-evidence witness my-rig --letter sent.eml --dns-record key.txt
      roof-evidence witness my-rig --cosigned cosigned.txt
      roof-evidence witness my-rig --slip slip.pdf       # for an insurer or a friend to keep
    """  # noqa: D301 - click reads the character itself
    from evidence.cli.writing import only_owner
    from evidence.witnessing import keep

    handed_out = {"request": request, "note": note, "slip": slip}
    _one_way(tsa=tsa, reply=reply, letter=letter, cosigned=cosigned, **handed_out)
    _together(letter=letter, dns_record=dns_record, note=note, seen=seen)
    record = common.open_record(case)
    if slip is not None:
        write_slip(record, slip, paper)
        _tell_written(slip, "a page with the head, for somebody else to keep", as_json=as_json)
        return
    out = request or note
    if out is not None:
        _hand_out(record, out, is_request=request is not None, seen=seen or 0, as_json=as_json)
        return
    writer = by or only_owner(record)
    signer = common.keys_of(record).signer  # before anybody is asked: no answer is lost for a word
    answers = _answers(record, tsa, reply, letter, dns_record, cosigned)
    written = keep(record, answers, writer, signer)
    common.refresh_index(record)
    if as_json:
        common.emit(_document(written))
    else:
        _tell_taken(record, written)


def _one_way(**ways: object) -> None:
    given = [name for name, value in ways.items() if value is not None]
    if len(given) != 1:
        raise click.UsageError(f"Give one of {', '.join(f'--{name}' for name in ways)}.")


def _together(
    *, letter: Path | None, dns_record: Path | None, note: Path | None, seen: int | None
) -> None:
    if (letter is None) != (dns_record is None):
        raise click.UsageError("--letter and --dns-record go together.")
    if seen is not None and note is None:
        raise click.UsageError("--seen goes with --note.")


def _hand_out(record: "Record", out: Path, *, is_request: bool, seen: int, as_json: bool) -> None:
    """Write what an outsider is to see; nothing is written into the record."""
    from evidence.witnessing import newest, request_of, to_cosign

    if is_request:
        data = request_of(record)
    else:
        data = (to_cosign(record, seen) if seen else newest(record)).encode()
    _write_new(out, data)
    _tell_written(out, "a hash, and nothing else of the record", as_json=as_json)
    if as_json:
        return
    if is_request:
        common.tell("Carry it to a time-stamping authority, for example:")
        click.echo(
            f'  curl -H "Content-Type: application/timestamp-query" --data-binary @{out} URL'
            f" > {out.with_suffix('.tsr')}"
        )
        common.tell("Then:")
        common.call("witness", record.folder, "--reply", out.with_suffix(".tsr"))
    else:
        common.tell(
            "Send its text by e-mail, and keep the message as it was sent; or have it cosigned:"
        )
        common.call("cosign", out, "--out", out.with_stem(f"{out.stem}-cosigned"))


def _tell_written(out: Path, holds: str, *, as_json: bool) -> None:
    if as_json:
        common.emit({"file": str(out)})
    else:
        common.tell(f"{out} is written. It holds {holds}.")


def _answers(
    record: "Record",
    tsa: str | None,
    reply: Path | None,
    letter: Path | None,
    dns_record: Path | None,
    cosigned: Path | None,
) -> "Sequence[Answer]":
    from evidence import witnessing as ways

    if tsa is not None:
        with common.stages() as told:
            told(f"asking {tsa}")
            return (ways.ask_authority(record, tsa),)
    if reply is not None:
        return (ways.take_reply(record, _read(reply)),)
    if letter is not None and dns_record is not None:
        return (ways.take_letter(record, _read(letter), _read(dns_record)),)
    return ways.take_cosigned(record, b"" if cosigned is None else _read(cosigned))


def _document(written: "Written") -> dict[str, object]:
    head = written.head
    return {
        "answers": [{"seq": e.seq, "sha256": e.sha256, **e.raw} for e in written.entries],
        "head": {"size": head.size, "root": head.root.hex()},
    }


_RESTS_ON = {
    "rfc3161": "A reader trusts it once he has the authority's certificate from the authority "
    "(check --trust).",
    "letter": "The key record was given by you: nobody vouches that it was the domain's. A reader "
    "trusts it once he has looked the record up himself (check --trust).",
    "cosign": "A reader trusts it once he has the cosigner's key from the cosigner.",
}


def _tell_taken(record: "Record", written: "Written") -> None:
    from evidence.entries import Witness
    from evidence.times import parse_utc

    for entry in written.entries:
        body = entry.body
        if not isinstance(body, Witness):
            continue
        common.tell(
            f"Entry {entry.number} is written: the first {body.size} entries existed on "
            f"{body.time}, answers {body.name}.",
            _RESTS_ON[body.type],
        )
        last = record.entries[body.size - 1]
        if not last.logged <= parse_utc(body.time) <= entry.logged:
            common.tell("His clock and this machine's disagree; check names the entries between.")
    common.tell(f"The head now stands over {written.head.size} entries.")


@click.command
@click.argument("note", type=_FILE)
@click.option("--out", type=_FILE, required=True, metavar="FILE", help="The cosigned head.")
@common.json_option
def cosign(note: Path, out: Path, as_json: bool) -> None:
    """Cosign the head of somebody else's record, with a key of your own and your own clock.

    You say that this is the largest head of that record that you have seen; a later one is cosigned
    only with the proof that it continues it. The key is made at the first call.

    Example:  roof-evidence cosign head.txt --out cosigned.txt
    """
    from evidence.case import now, user_folder
    from evidence.cosigning import CosignerStore

    data = _read(note)
    store = CosignerStore(user_folder())
    new = not store.has_key
    phrase = common.passphrase(new=new)
    if new and phrase is None:
        raise RefusedError(
            "passphrase",
            "is needed: it locks your cosigning key",
            f"Run on a terminal, or set {common.PASSPHRASE}.",
        )
    key = store.create(phrase) if new else store.load(phrase)
    _write_new(out, store.cosign(data, key, now()).format().encode())
    if as_json:
        common.emit({"file": str(out), "key": key.cosigner.vkey})
        return
    common.tell(f"{out} is written: hand it back. Your key, to be given with it:")
    click.echo(f"  {key.cosigner.vkey}")
    common.tell("Give the key to whoever will read the record, too: it is yours to vouch for.")


def _read(path: Path) -> bytes:
    """A file's bytes, `-` for standard input; never more than an honest one has."""
    name = "standard input" if str(path) == "-" else str(path)
    try:
        with click.open_file(str(path), "rb") as file:
            data: bytes = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise RefusedError(name, f"cannot be read: {error.strerror}") from error
    if len(data) > _MOST_BYTES:
        raise RefusedError(name, f"is larger than {_MOST_BYTES} bytes")
    return data


def _write_new(path: Path, data: bytes) -> None:
    """Write a file that was not there."""
    from evidence.ledger.disk import plain_words

    with plain_words(path), path.open("xb") as file:
        file.write(data)
