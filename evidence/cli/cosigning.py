"""`cosign`: one's own word on the head of somebody else's record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.cosigning import Asked, CosignerStore
    from evidence.ledger import Head
    from evidence.witness import CosigningKey

_FILE = click.Path(path_type=Path)


@click.command
@click.argument("note", type=_FILE, required=False)
@click.option("--out", type=_FILE, metavar="FILE", help="The cosigned head.")
@click.option(
    "--key",
    "log_key",
    metavar="VKEY",
    help="The key that signs the record's heads, as its keeper told you; needed the first time.",
)
@click.option(
    "--forget",
    metavar="ORIGIN",
    help="Forget what you cosigned of a record (roof-evidence/…), and sign nothing.",
)
@common.json_option
def cosign(
    note: Path | None, out: Path | None, log_key: str | None, forget: str | None, as_json: bool
) -> None:
    """Cosign the head of somebody else's record, with a key of your own and your own clock.

    You say that this is the largest head of that record that you have seen; a later one is cosigned
    only with the proof that it continues it. What you sign is shown first. Your key is made at the
    first call.

    \b
    Example:
      roof-evidence cosign head.txt --key roof-evidence/0f0e…+1a2b3c4d+AX… --out cosigned.txt
      roof-evidence cosign later.txt --out cosigned.txt
      roof-evidence cosign --forget roof-evidence/0f0e…
    """  # noqa: D301 - click reads the character itself
    from evidence.case import now, user_folder
    from evidence.cosigning import CosignerStore
    from evidence.placing import HANDED_OUT, beside

    store = CosignerStore(user_folder())
    if forget is not None:
        if note is not None or out is not None or log_key is not None:
            raise click.UsageError("--forget goes alone.")
        _forget(store, forget, as_json=as_json)
        return
    if note is None or out is None:
        raise click.UsageError("Give the head, and --out FILE for it cosigned.")
    asked = store.look(handed.read_small(note), log_key)
    if not as_json:
        _tell_asked(asked)
    with beside(out, HANDED_OUT) as place:  # before it is signed: what is signed is remembered
        key = _cosigning_key(store)
        place.write_bytes(store.cosign(asked, key, now()).format().encode())
        place.replace(out)
    if as_json:
        common.emit({"file": str(out), "key": key.cosigner.vkey, "head": _head_json(asked.head)})
        return
    common.tell(f"{out} is written: hand it back. Your key, to be given with it:")
    click.echo(f"  {key.cosigner.vkey}")
    common.tell("Give the key to whoever will read the record, too: it is yours to vouch for.")


def _head_json(head: "Head") -> dict[str, object]:
    return {"origin": head.origin, "size": head.size, "root": head.root.hex()}


def _forget(store: "CosignerStore", origin: str, *, as_json: bool) -> None:
    head = store.forget(origin)
    if as_json:
        common.emit({"forgotten": _head_json(head)})
    else:
        common.tell(
            f"Forgotten: {origin} with {head.size} entries. Its next head is cosigned as if it were"
            " the first that you see."
        )


def _tell_asked(asked: "Asked") -> None:
    """What is about to be signed, and by which key it is the record's own."""
    head = asked.head
    common.tell("You cosign this head:")
    common.rows([("record", head.origin), ("entries", str(head.size)), ("root", head.root.hex())])
    if asked.before is None:
        common.tell(
            "It is the first of this record that you cosign. Its key is remembered from now on;"
            " whose key it is, nobody vouches for but the person who gave it to you:"
        )
        click.echo(f"  {asked.log_key.vkey}")
    elif asked.before.log_key != asked.log_key:
        common.tell(
            "It is signed by another key than the head before, by the one that you named:"
            " that one is remembered from now on."
        )
    else:
        common.tell("It is signed by the key that you know of this record.")


def _cosigning_key(store: "CosignerStore") -> "CosigningKey":
    """One's own key, made where there is none."""
    new = not store.has_key
    phrase = common.passphrase(new=new)
    if new and phrase is None:
        raise RefusedError(
            "passphrase",
            "is needed: it locks your cosigning key",
            f"Run on a terminal, or set {common.PASSPHRASE}.",
        )
    return store.create(phrase) if new else store.load(phrase)
