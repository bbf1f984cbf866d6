"""`start`, `enter` and `intake`: what puts something into the record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Draft
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
@click.option(
    "--held",
    multiple=True,
    metavar="NAME",
    help="A picture that the record holds already, by its name or the start of its SHA-256; "
    "described as with --photo.",
)
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
    held: tuple[str, ...],
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
    from evidence.cli.drafting import Typed, draft_of
    from evidence.cli.preserving import heed, tell_kept
    from evidence.cli.taken import hints_json, tell_cards, tell_hints
    from evidence.hints import all_hints, pictures_first_in
    from evidence.sealed_values import conceal, keep_all
    from evidence.upkeep.shown import card_json

    record = common.open_record(case)
    typed = Typed(fields, by, photos, held, source)
    draft, secrets = conceal(draft_of(record, kind, typed), sealed)
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
    hints = list(all_hints(record, pictures_first_in(record, entry)))
    if as_json:
        common.emit(
            {
                "seq": entry.seq,
                "sha256": entry.sha256,
                "head": {"size": head.size, "root": head.root.hex()},
                **({"warning": kept[0].seq} if kept else {}),
                **({"cards": [card_json(seen) for seen in cards]} if cards else {}),
                **({"hints": hints_json(hints)} if hints else {}),
            }
        )
    else:
        tell_hints(hints, err=True)
        tell_kept(kept)
        common.tell(f"Entry {entry.number} is written: {kind}.")
        common.tell(f"The head now stands over {head.size} entries, root {head.root.hex()[:16]}….")
        tell_cards(cards)


@click.command
@common.case_argument
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--by", help="The party who hands them in.")
@click.option("--note", help="A sentence about all of them.")
@click.option(
    "--propose",
    type=click.Path(path_type=Path),
    metavar="FILE.json",
    help="Write what could be entered of the pictures into FILE.json, of several proposals each "
    "into a file of its own (FILE-1.json …), in the form that `enter --from` takes.",
)
@click.option(
    "--despite-cards",
    is_flag=True,
    help="Take these files even where another record's card was pictured beside them.",
)
@common.json_option
def intake(
    case: Path,
    paths: tuple[Path, ...],
    by: str | None,
    note: str | None,
    propose: Path | None,
    despite_cards: bool,
    as_json: bool,
) -> None:
    """Seal pictures and other files at once; describe them later.

    Every file is taken as it is. What the record holds already is left out, and so is what may be
    of another rig, by the cards of another record among the pictures. What could be entered of the
    pictures is proposed; a person completes and confirms it.

    \b
    Example:
      roof-evidence intake my-rig /media/camera/DCIM
      roof-evidence intake my-rig /media/camera/DCIM --propose look.json
      roof-evidence enter my-rig inspection --from look.json
    """  # noqa: D301 - click reads the character itself
    from evidence.cli import proposing
    from evidence.cli.drafting import only_owner
    from evidence.cli.taken import intake_document, tell_intake
    from evidence.intake import take_in

    record = common.open_record(case)
    writer = by or only_owner(record)
    if propose is not None:
        proposing.see_that_it_is_free(propose)
    signer = common.keys_of(record).signer
    with common.progress("reading, sealing, then looking", quiet=as_json) as advance:
        taken = take_in(
            record,
            paths,
            writer,
            signer,
            note=note,
            despite_cards=despite_cards,
            progress=advance,
        )
    made = [] if propose is None else proposing.write_proposals(taken.proposals, propose)
    common.refresh_index(record)
    if as_json:
        common.emit(intake_document(record, taken))
        return
    tell_intake(record, taken)
    if propose is not None:
        proposing.tell_written(case, taken.proposals, made)
    elif common.interactive():
        if proposing.offer(record, taken.proposals, signer):
            common.refresh_index(record)
    elif taken.sealed:
        proposing.tell_proposals(record, taken.proposals, paths)
