"""`key`: the keys that may sign for a case, in the course of its life."""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Record, Written
    from evidence.keying import Device, StandingKey
    from evidence.ledger import RecoveryKey
    from evidence.words import KeyEvent

RECOVERY_KEY = "ROOF_EVIDENCE_RECOVERY_KEY"

_FILE = click.Path(path_type=Path, dir_okay=False)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What was asked for: the device, and the options."""

    device: "Device"
    which: str | None
    why: str | None
    lost: tuple[str, ...]
    pkcs12: Path | None
    as_json: bool

    @property
    def record(self) -> "Record":
        return self.device.record


@click.command
@common.case_argument
@click.argument(
    "action",
    type=click.Choice(["list", "offer", "add", "replace", "retire", "lost", "recover", "paper"]),
    default="list",
)
@click.argument("which", required=False, metavar="[FILE|ID]")
@click.option("--by", help="The party whose key it is; may be left out where there is one owner.")
@click.option("--why", help="The reason, for the record.")
@click.option("--lost", multiple=True, metavar="ID", help="With recover: a key that is lost.")
@handed.pkcs12_option
@common.json_option
def key(
    case: Path,
    action: str,
    which: str | None,
    by: str | None,
    why: str | None,
    lost: tuple[str, ...],
    pkcs12: Path | None,
    as_json: bool,
) -> None:
    """The keys that may sign for a case: list, add, replace, retire or recover them.

    \b
    list          the keys that stand, and which is on this device
    replace       new keys for this device in place of those it has
    offer FILE    on a second device: make its keys, write their public halves
    add FILE      on a device that may sign: take the second one's offer
    retire ID     a key that signs nothing more
    lost ID       the same, for one that somebody else may have now
    recover       on a new device: new keys, signed for by the recovery key on paper;
                  only the keys named with --lost sign nothing more
    paper         a new recovery key in place of the old one

    Write on one device at a time: a record that was continued on two forks. Without a terminal the
    recovery key is read from ROOF_EVIDENCE_RECOVERY_KEY.

    \b
    Example:
      roof-evidence key my-rig
      roof-evidence key my-rig recover
    """  # noqa: D301 - click reads the character itself
    from evidence.keying import Device

    _fitting(action, which, lost, pkcs12)
    record = common.open_record(case)
    if action == "list":
        _list(record, as_json=as_json)
        return
    from evidence.cli.drafting import only_owner

    device = Device(record, record.key_store, by or only_owner(record))
    _ACTIONS[action](_Asked(device, which, why, lost, pkcs12, as_json))


def _fitting(action: str, which: str | None, lost: Sequence[str], pkcs12: Path | None) -> None:
    takes = {"offer": "a file", "add": "a file", "retire": "a key's ID", "lost": "a key's ID"}
    if (which is None) == (action in takes):
        wanted = f"needs {takes[action]}" if action in takes else "takes no file and no ID"
        raise click.UsageError(f"{action} {wanted}.")
    if lost and action != "recover":
        raise click.UsageError("--lost goes with recover.")
    if pkcs12 is not None and action != "replace":
        raise click.UsageError("--pkcs12 goes with replace.")


def _list(record: "Record", *, as_json: bool) -> None:
    from evidence.keying import first_key, settle, standing

    settle(record, record.key_store)
    here = record.key_store.certificate_sum(record.case.case_id)
    rows = standing(record)
    if as_json:
        common.emit(
            [
                {
                    "id": row.id,
                    "key": row.vkey,
                    "party": row.body.party,
                    "use": row.body.use,
                    "seq": row.seq,
                    "on_paper": row.on_paper,
                    "on_this_device": _is_here(row, here),
                }
                for row in rows
            ]
        )
        return
    common.rows(
        (row.id, row.body.party, _place(row, here), f"since entry {row.seq + 1}") for row in rows
    )
    common.tell("The key that signed the first head; tell it to whoever will check (check --key):")
    click.echo(f"  {first_key(record)}")


def _place(row: "StandingKey", here: str | None) -> str:
    if row.on_paper:
        return "on paper"
    if not row.on_device:
        return "cosigns"
    if row.body.cert is None:
        return "named without a certificate"
    return "on this device" if _is_here(row, here) else "on another device"


def _is_here(row: "StandingKey", here: str | None) -> bool:
    return row.on_device and here is not None and row.body.cert == here


def _offer(asked: _Asked) -> None:
    import json

    from evidence.ledger.disk import plain_words

    out = Path(asked.which or "")
    with plain_words(out):
        out.touch(exist_ok=False)  # a place that cannot be written is told before a key is made
    try:
        offered = asked.device.offer(common.new_passphrase(asked.record))
    except BaseException:
        out.unlink(missing_ok=True)
        raise
    with plain_words(out):
        out.write_text(json.dumps(offered.format(), indent=1) + "\n", encoding="utf-8")
    if asked.as_json:
        common.emit({"file": str(out), "key": offered.vkey})
        return
    common.tell(f"{out} is written; it holds no secret. On a device that may sign:")
    common.call("key", asked.record.folder, "add", out)
    common.tell("Then bring the case back here, as it stands there.")


def _add(asked: _Asked) -> None:
    from evidence.keying import Offer
    from evidence.ledger.disk import plain_words

    path = Path(asked.which or "")
    with plain_words(path):
        data = path.read_bytes()
    offered = Offer.read(data, str(path))
    why = asked.why or "a further device"
    signer = common.keys_of(asked.record).signer
    _written(asked, asked.device.add(offered, signer, why))


def _replace(asked: _Asked) -> None:
    own = None if asked.pkcs12 is None else handed.read_pkcs12(asked.pkcs12)
    keys = common.keys_of(asked.record)
    why = asked.why or ("another certificate" if own else "new keys on the same device")
    phrase = common.passphrase_of(asked.record)
    _written(asked, asked.device.replace(keys, phrase, why, own))


def _retire(asked: _Asked) -> None:
    from evidence.words import KeyEvent

    _end(asked, KeyEvent.RETIRED, "no longer in use")


def _lost(asked: _Asked) -> None:
    from evidence.words import KeyEvent

    _end(asked, KeyEvent.LOST, "lost")


def _end(asked: _Asked, event: "KeyEvent", why: str) -> None:
    signer = common.keys_of(asked.record).signer
    _written(asked, asked.device.end(asked.which or "", event, signer, asked.why or why))


def _recover(asked: _Asked) -> None:
    recovery = _recovery_key()
    phrase = common.new_passphrase(asked.record)
    lost = asked.lost or _asked_lost(asked)
    written = asked.device.recover(recovery, phrase, lost)
    _written(asked, written)
    if not asked.as_json:
        others = [row.id for row in _on_devices(asked) if row.seq < written.entries[0].seq]
        if others:
            common.tell(f"May still sign: {', '.join(others)}. If one is lost:")
            common.call("key", asked.record.folder, "lost", "ID")
        common.tell("The paper was typed into a machine. Make another one when you can:")
        common.call("key", asked.record.folder, "paper")


def _asked_lost(asked: _Asked) -> tuple[str, ...]:
    """Which keys are lost, from the person at the terminal; nobody else can know."""
    devices = _on_devices(asked)
    if not devices or not common.interactive():
        return ()
    common.tell("Other devices may sign:")
    common.rows((row.id, row.body.party, f"since entry {row.seq + 1}") for row in devices)
    given = click.prompt("Which are lost (IDs; enter for none)", "", show_default=False, err=True)
    return tuple(str(given).replace(",", " ").split())


def _on_devices(asked: _Asked) -> "list[StandingKey]":
    from evidence.keying import standing

    return [row for row in standing(asked.record) if row.on_device]


def _paper(asked: _Asked) -> None:
    written, recovery = asked.device.new_paper(common.keys_of(asked.record).signer)
    if asked.as_json:
        common.emit({**_document(written), "recovery_key": recovery.text()})
        return
    handed.tell_recovery_key(recovery.text())
    common.tell("The old one signs nothing more: destroy it.")


def _recovery_key() -> "RecoveryKey":
    """From the environment, else from the person at the terminal; never from the command line."""
    from evidence.ledger import RecoveryKey

    given = os.environ.get(RECOVERY_KEY)
    if not given and common.interactive():
        given = click.prompt("Recovery key, as on the paper", hide_input=True, err=True)
    if not given:
        raise RefusedError(
            "recovery key", "is needed", f"Run on a terminal, or set {RECOVERY_KEY}."
        )
    return RecoveryKey.parse(given)


def _document(written: "Written") -> dict[str, object]:
    return {
        "entries": [{"seq": entry.seq, **entry.raw} for entry in written.entries],
        "head": {"size": written.head.size, "root": written.head.root.hex()},
    }


def _written(asked: _Asked, written: "Written") -> None:
    from evidence.entries import Key
    from evidence.keyring import shown_id

    common.refresh_index(asked.record)
    if asked.as_json:
        common.emit(_document(written))
        return
    for entry in written.entries:
        if isinstance(entry.body, Key):
            said = f"key {shown_id(entry.body.key)} is {entry.body.event}"
            common.tell(f"Entry {entry.number} is written: {said}.")


_ACTIONS: dict[str, Callable[[_Asked], None]] = {
    "offer": _offer,
    "add": _add,
    "replace": _replace,
    "retire": _retire,
    "lost": _lost,
    "recover": _recover,
    "paper": _paper,
}
