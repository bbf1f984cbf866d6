"""What `intake` proposes: told, written to files, or asked of the person at the terminal."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click
from pydantic import JsonValue

from evidence.case import Draft
from evidence.cli import common
from evidence.cli.asking import ask_missing
from evidence.cli.drafting import file_listed
from evidence.cli.fields import with_offset
from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.errors import RefusedError
from evidence.held import Held
from evidence.placing import PROPOSAL, beside, put
from evidence.proposing import AskKind, Proposal, labels_of
from evidence.times import parse_when, zone

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.ledger import Signer

LOOK, LABEL, NOTHING = "l", "d", "n"
"""What a person may answer: a look, a description, nothing."""


def proposals_json(proposals: Sequence[Proposal]) -> list[JsonValue]:
    """Each in the form that `enter --from` takes."""
    return [_document(proposal) for proposal in proposals]


def _document(proposal: Proposal) -> dict[str, JsonValue]:
    return proposal.as_json(_questions(proposal))


def _questions(proposal: Proposal) -> list[str]:
    words = wording("intake")
    return [words.say("ask", ask.kind, **ask.about) for ask in proposal.asks]


# Into files


def see_that_it_is_free(out: Path) -> None:
    """Refuse a place for proposals before anything is sealed.

    Raises:
        RefusedError: it lies in a case, cannot be written, or proposals are there already.
    """
    with beside(out, PROPOSAL):
        pass
    taken = next(iter(sorted(out.parent.glob(f"{out.stem}-*{out.suffix}"))), None)
    if taken is not None:
        raise RefusedError(
            str(taken), "is there already", "Name another file, or move that one away."
        )


def write_proposals(proposals: Sequence[Proposal], out: Path) -> list[Path]:
    """One proposal into `out`; of several each into a file of its own, numbered behind the name."""
    digits = len(str(len(proposals)))
    paths = [out.with_stem(f"{out.stem}-{n:0{digits}}") for n in range(1, len(proposals) + 1)]
    for proposal, path in zip(proposals, paths if len(paths) > 1 else [out], strict=False):
        text = json.dumps(_document(proposal), ensure_ascii=False, indent=2)
        put(f"{text}\n".encode(), path, PROPOSAL)
    return paths if len(paths) > 1 else [out][: len(paths)]


def tell_written(case: Path, proposals: Sequence[Proposal], paths: Sequence[Path]) -> None:
    """How each file is entered once a person has completed it."""
    words = wording("intake")
    common.heading(words.say("propose", "heading"))
    if not proposals:
        common.tell(words.say("propose", "again"), indent=2)
        return
    files = say.counted((len(paths), len(paths)), "file")
    common.tell(words.say("propose", "written", files=files), indent=2)
    for proposal, path in zip(proposals, paths, strict=True):
        common.call("enter", case, proposal.kind, "--from", path)


# To a person


def tell_proposals(record: "Record", proposals: Sequence[Proposal], paths: Sequence[Path]) -> None:
    """What could be entered of the files at `paths`, where there is nobody to ask."""
    if not proposals:
        return
    words = wording("intake")
    common.heading(words.say("propose", "heading"))
    for proposal in proposals:
        _tell(record, proposal, but=AskKind.OPEN)
    common.tell(words.say("propose", "nothing"), indent=2)
    common.call("intake", record.folder, *paths, "--propose", "look.json")


def offer(record: "Record", proposals: Sequence[Proposal], signer: "Signer") -> int:
    """Ask the person at the terminal of each; what he completes and confirms is written.

    Returns:
        How many entries were written.
    """
    if not proposals:
        return 0
    common.heading(wording("intake").say("propose", "heading"))
    written = 0
    for proposal in proposals:
        _tell(record, proposal)
        for chosen in _chosen(proposal):
            written += _confirmed(record, chosen, signer)
    return written


def _chosen(proposal: Proposal) -> Sequence[Proposal]:
    """What the person makes of it: by himself nobody gets further than to nothing."""
    if proposal.kind != "inspection":
        return [proposal] if click.confirm("  Enter this?", default=False) else []
    labels = labels_of(proposal)
    asked = "  Enter a [l]ook, only [d]escribe by zone, or [n]othing?" if labels else (
        "  Enter a [l]ook, or [n]othing?"
    )  # fmt: skip
    answers = [LOOK, LABEL, NOTHING] if labels else [LOOK, NOTHING]
    answer = click.prompt(asked, type=click.Choice(answers), default=NOTHING, show_choices=False)
    if answer == LABEL:
        return labels
    return [proposal] if answer == LOOK else []


def _confirmed(record: "Record", proposal: Proposal, signer: "Signer") -> bool:
    """Complete, show and write one entry; False where the person does not confirm it."""
    try:
        draft = _completed(record, proposal)
        record.rehearse([draft])
    except RefusedError as error:
        common.tell(*str(error).splitlines(), wording("intake").say("propose", "not"), indent=2)
        return False
    if not click.confirm("  Write it?", default=False):
        return False
    (entry,) = record.write([draft], signer).entries
    common.tell(f"Entry {entry.number} is written: {proposal.kind}.", indent=2)
    return True


def _completed(record: "Record", proposal: Proposal) -> Draft:
    body = dict(proposal.body)
    if proposal.kind == "inspection":
        when = click.prompt("when", default=str(body["when"]))
        body = ask_missing("inspection", {"when": with_offset(when, record.home)}, record)
    held = Held(record)
    files = tuple(file_listed(file, Path(), held) for file in proposal.files)
    return Draft(proposal.kind, body, proposal.by, files)


def _tell(record: "Record", proposal: Proposal, but: AskKind | None = None) -> None:
    words = wording("intake")
    if proposal.kind == "inspection":
        home = zone(record.home)
        when = say.on_or_between(parse_when(str(proposal.body["when"]), home), home)
        common.tell(f"{words.say('propose', 'look', when=when)}: {_zones(proposal)}.", indent=2)
    elif proposal.by_zone:
        common.tell(f"{words.say('propose', 'label')}: {_zones(proposal)}.", indent=2)
    else:
        common.tell(words.say("propose", "link"), indent=2)
    for ask in proposal.asks:
        if ask.kind is not but:
            common.tell(words.say("ask", ask.kind, **ask.about), indent=4)


def _zones(proposal: Proposal) -> str:
    none = wording("intake").say("propose", "no_zone")
    return "; ".join(
        f"{none if zone_id is None else zone_id}, {say.counted((len(sums), len(sums)), 'picture')}"
        for zone_id, sums in proposal.by_zone.items()
    )
