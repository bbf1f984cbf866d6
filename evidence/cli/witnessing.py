"""`witness`: an outsider's word on a head, asked for and taken."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed
from evidence.cli.paper import slip_option, write_slip

if TYPE_CHECKING:
    from evidence.case import Record, Written
    from evidence.witnessing import Answer

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
    from evidence.cli.drafting import only_owner
    from evidence.witnessing import keep, refuse_unknown_party

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
    refuse_unknown_party(record, writer)
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
    from evidence.placing import HANDED_OUT, put
    from evidence.witnessing import newest, request_of, signed_by, to_cosign

    if is_request:
        data, holds = request_of(record), "a hash, and nothing else of the record"
    else:
        data = (to_cosign(record, seen) if seen else newest(record)).encode()
        proof = ", the sums that prove it continues the earlier one" if seen else ""
        holds = (
            "the case's id, the number of its entries, the root over them and the owner's "
            f"signature{proof}; nothing that an entry says"
        )
    put(data, out, HANDED_OUT)
    _tell_written(out, holds, as_json=as_json)
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
        common.call(
            "cosign",
            out,
            "--key",
            signed_by(record),
            "--out",
            out.with_stem(f"{out.stem}-cosigned"),
        )


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
        return (ways.take_reply(record, handed.read_small(reply)),)
    if letter is not None and dns_record is not None:
        return (ways.take_letter(record, handed.read_small(letter), handed.read_small(dns_record)),)
    return ways.take_cosigned(record, b"" if cosigned is None else handed.read_small(cosigned))


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
