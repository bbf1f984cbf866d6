"""`start`, `enter` and `intake`: what puts something into the record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from pydantic import JsonValue

    from evidence.case import Draft, Record
    from evidence.starting import Started


_seal_option = click.option(
    "--seal",
    "sealed",
    multiple=True,
    metavar="FIELD",
    help="Write only the salted sum of this field (a rig's serial, a paper's number, an incident's "
    "place); its value stays in the case's private folder until you reveal it.",
)


@click.command
@common.case_argument
@click.option(
    "--from",
    "source",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help='JSON with "title", "party", "rig" and "rules"; - reads standard input.',
)
@click.option(
    "--like",
    type=click.Path(path_type=Path),
    metavar="CASE",
    help="Take the rig and the rules of another case.",
)
@click.option(
    "--keys-in-case",
    is_flag=True,
    help="Keep the keys inside the case folder instead of your own configuration.",
)
@_seal_option
@handed.pkcs12_option
@common.json_option
def start(
    case: Path,
    source: Path | None,
    like: Path | None,
    keys_in_case: bool,
    sealed: tuple[str, ...],
    pkcs12: Path | None,
    as_json: bool,
) -> None:
    """Start a new case: asks on a terminal, or takes a file.

    Example:  roof-evidence start my-rig --from start.json
    """
    from evidence.case import user_keys
    from evidence.sealed_values import conceal
    from evidence.starting import start as begin

    title, drafts = _opening(source, like)
    hidden = [conceal(draft, sealed if draft.kind == "rig" else ()) for draft in drafts]
    own = None if pkcs12 is None else handed.read_pkcs12(pkcs12)
    phrase = common.needed_passphrase()
    started = begin(
        case,
        title=title,
        first=[draft for draft, _ in hidden],
        secrets=[secret for _, secrets in hidden for secret in secrets],
        store=None if keys_in_case else user_keys(),
        passphrase=phrase,
        own=own,
    )
    if as_json:
        common.emit(_started_json(started))
    else:
        _tell_started(case, started)


def _opening(source: Path | None, like: Path | None) -> "tuple[str, list[Draft]]":
    from evidence.cli.asking import ask_opening, opening_from, opening_like

    if source is not None:
        return opening_from(common.read_json(source))
    if like is not None:
        return opening_like(common.open_to_read(like))
    if common.interactive():
        return ask_opening()
    raise RefusedError(
        "start", "has nobody to ask", "Give --from FILE with title, party, rig and rules."
    )


def _started_json(started: "Started") -> dict[str, object]:
    return {
        "case_id": started.record.case.case_id,
        "entries": len(started.record.entries),
        "recovery_key": started.recovery.text(),
    }


def _tell_started(case: Path, started: "Started") -> None:
    common.tell(f"{case} is started, with {len(started.record.entries)} entries under one head.")
    handed.tell_recovery_key(started.recovery.text())
    common.tell("Next:")
    common.call("enter", case, "inspection")
    common.call("intake", case, "PICTURES")


_MADE = {
    "witness": "Use `roof-evidence witness`: it verifies the outsider's answer first.",
    "issued": "`roof-evidence dossier` writes it, of the very file that it makes.",
}
"""The kinds that only the program writes, and which command does."""


@click.command
@common.case_argument
@click.argument("kind")
@click.argument("fields", nargs=-1, metavar="[NAME=VALUE]…")
@click.option("--by", help="The party who says it; may be left out where there is one owner.")
@click.option(
    "--photo",
    "photos",
    multiple=True,
    metavar="FILE",
    help="A picture; FILE,zone=vent-1,role=close describes it at once.",
)
@click.option(
    "--from",
    "source",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help='JSON: the body, or {"body","by","files"}; - reads standard input.',
)
@_seal_option
@click.option("--check-only", is_flag=True, help="Say whether it could be written; write nothing.")
@click.option(
    "--despite-warning",
    is_flag=True,
    help="Write what takes away the traces of an incident; the warning is recorded with it.",
)
@common.json_option
def enter(
    case: Path,
    kind: str,
    fields: tuple[str, ...],
    by: str | None,
    photos: tuple[str, ...],
    source: Path | None,
    sealed: tuple[str, ...],
    check_only: bool,
    despite_warning: bool,
    as_json: bool,
) -> None:
    """Write one entry. On a terminal it asks for what is missing.

    With an incident open it halts before a wash, reseal, repair or discarded part that takes away
    what is not pictured yet, and names the pictures.

    \b
    Example:
      roof-evidence enter my-rig wash when=2025-05-30 zones=all product=soap
      roof-evidence enter my-rig inspection when=2025-05-30T12:10
        means=on-roof occasion=routine zones=front-strip:0,vent-1:1
        --photo a.jpg,zone=vent-1,role=close
      roof-evidence enter my-rig paper type=policy title="Policy" number=K-1 --seal number
    """  # noqa: D301 - click reads the character itself
    from evidence.cards import cards_in
    from evidence.cli.preserving import heed, tell_kept
    from evidence.cli.taken import tell_cards
    from evidence.sealed_values import conceal, keep_all
    from evidence.upkeep.shown import card_json

    record = common.open_record(case)
    draft, secrets = conceal(_draft(record, kind, fields, by, photos, source), sealed)
    drafts = heed(record, draft, despite=despite_warning)
    if check_only:
        record.rehearse(drafts)
        common.emit({"ok": True}) if as_json else common.tell("It could be written.")
        return
    signer = common.keys_of(record).signer
    if secrets:
        record.rehearse(drafts)
        keep_all(secrets, record.private)
    written = record.write(drafts, signer)
    common.refresh_index(record)
    *kept, entry = written.entries
    head, cards = written.head, cards_in(record, {file.sha256 for file in entry.files})
    if as_json:
        common.emit(
            {
                "seq": entry.seq,
                "sha256": entry.sha256,
                "head": {"size": head.size, "root": head.root.hex()},
                **({"warning": kept[0].seq} if kept else {}),
                **({"cards": [card_json(seen) for seen in cards]} if cards else {}),
            }
        )
    else:
        tell_kept(kept)
        common.tell(f"Entry {entry.number} is written: {kind}.")
        common.tell(f"The head now stands over {head.size} entries, root {head.root.hex()[:16]}….")
        tell_cards(cards)


def _draft(
    record: "Record",
    kind: str,
    fields: tuple[str, ...],
    by: str | None,
    photos: tuple[str, ...],
    source: Path | None,
) -> "Draft":
    """The entry that the arguments describe, with what a person at the terminal adds."""
    from evidence.case import Draft, FileDraft
    from evidence.cli.asking import ask_missing
    from evidence.cli.fields import body_of, model_of, photo_of
    from evidence.envelope import refuse_reserved

    model_of(kind)
    refuse_reserved(kind)
    if kind in _MADE:
        raise RefusedError(f"kind {kind!r}", "is not written by hand", _MADE[kind])
    given: dict[str, object] = {} if source is None else dict(common.read_json(source))
    body = given.get("body", given)
    listed = given.get("files", []) if "body" in given else []
    if not isinstance(body, dict) or not isinstance(listed, list):
        raise RefusedError(str(source), "has a body or files of another form than expected")
    body = {**_known_before(record, kind), **body, **body_of(kind, fields, record.home)}
    if common.interactive() and source is None:
        body = ask_missing(kind, body, record)
    base = Path() if source is None else source.parent
    files = [FileDraft(*_described(item, base)) for item in listed]
    for text in photos:
        path, described = photo_of(text)
        files.append(FileDraft(Path(path), described))
    writer = by or (str(given["by"]) if "by" in given and "body" in given else only_owner(record))
    return Draft(kind, body, writer, tuple(files))


def _known_before(record: "Record", kind: str) -> "dict[str, JsonValue]":
    """What nobody needs to be asked: both sides of a clock's jump."""
    from evidence.case import now
    from evidence.times import utc_text

    if kind != "clock":
        return {}
    return {"was": utc_text(record.entries[-1].logged), "is": utc_text(now())}


def _described(item: object, base: Path) -> "tuple[Path, dict[str, JsonValue]]":
    if not isinstance(item, dict) or not isinstance(item.get("path"), str):
        raise RefusedError("files", "has an item without a path")
    return base / item["path"], {name: value for name, value in item.items() if name != "path"}


def only_owner(record: "Record") -> str:
    """The one party who owns the rig.

    Raises:
        RefusedError: there are several, or none.
    """
    from evidence.entries import Party
    from evidence.words import Role

    parties = {e.body.id: e.body for e in record.entries if isinstance(e.body, Party)}
    owners = [party.id for party in parties.values() if party.role is Role.OWNER]
    if len(owners) != 1:
        raise RefusedError(
            "--by", "is needed: who says it cannot be told", f"Known: {', '.join(parties)}."
        )
    return owners[0]


@click.command
@common.case_argument
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--by", help="The party who hands them in.")
@click.option("--note", help="A sentence about all of them.")
@common.json_option
def intake(
    case: Path, paths: tuple[Path, ...], by: str | None, note: str | None, as_json: bool
) -> None:
    """Seal pictures and other files at once; describe them later.

    Every file is taken as it is. What the record holds already is left out.

    Example:  roof-evidence intake my-rig /media/camera/DCIM
    """
    from evidence.cli.taken import intake_document, tell_intake
    from evidence.intake import take_in

    record = common.open_record(case)
    writer = by or only_owner(record)
    signer = common.keys_of(record).signer
    with common.progress("sealing, then looking", quiet=as_json) as advance:
        taken = take_in(record, paths, writer, signer, note=note, progress=advance)
    common.refresh_index(record)
    if as_json:
        common.emit(intake_document(record, taken))
    else:
        tell_intake(record, taken)
