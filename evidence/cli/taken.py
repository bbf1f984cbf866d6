"""What `intake` answers: what was sealed, by visits, and what each camera's clock supports."""

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from pydantic import JsonValue

from evidence.cards import cards_in
from evidence.cli import common
from evidence.cli.proposing import proposals_json
from evidence.dossier import say
from evidence.dossier.exhibits import file_name
from evidence.dossier.outside import card_words
from evidence.dossier.questions import with_alarm
from evidence.dossier.wording import wording
from evidence.hints import Trouble
from evidence.photos.whose import Whose
from evidence.times import Basis, Span, utc_text, zone
from evidence.upkeep.shown import card_json

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.hints import Hint
    from evidence.intake import Intake
    from evidence.photos import Visit
    from evidence.upkeep import Picture
    from evidence.upkeep.carded import CardSeen

_FEW = 3


def intake_document(record: "Record", taken: "Intake") -> dict[str, JsonValue]:
    """The document of OUTPUTS, `intake --json`."""
    return {
        "sealed": [picture.file.sha256 for picture in taken.sealed],
        "already_held": list(taken.already_held),
        "unreadable": [{"name": row.name, "why": row.why} for row in taken.unreadable],
        "visits": [
            {
                "earliest": None if visit.earliest is None else utc_text(visit.earliest),
                "latest": None if visit.latest is None else utc_text(visit.latest),
                "files": list(visit.files),
                "camera": visit.camera,
                "zone": visit.zone,
            }
            for visit in taken.visits
        ],
        "seq": taken.seq,
        "hints": hints_json(taken.hints),
        "cards": [card_json(seen) for seen in _cards(record, taken)],
        "cleared": list(taken.cleared),
        "left_out": [
            {"name": one.name, "sha256": one.sha256, "why": str(one.why)} for one in taken.left_out
        ],
        "proposals": proposals_json(taken.proposals),
    }


def hints_json(hints: "Sequence[Hint]") -> list[JsonValue]:
    """What to take again, one row for each reason."""
    return [
        {
            "sha256": hint.picture.file.sha256,
            "name": file_name(hint.picture),
            "signal": str(hint.signal),
            "text": _hint_words(hint),
        }
        for hint in hints
    ]


def tell_hints(hints: "Sequence[Hint]", *, err: bool = False) -> None:
    """What to take again while still on the roof; nothing where there is nothing."""
    if hints:
        common.tell(f"{wording('photos').say('photos_page', 'hint')}:", err=err)
    for hint in hints:
        common.tell(f"{file_name(hint.picture)}: {_hint_words(hint)}", indent=2, err=err)


def _hint_words(hint: "Hint") -> str:
    question, why = hint.question, hint.picture.capture.why
    if question is not None:
        return with_alarm(question)
    if hint.signal == Trouble.NO_CLOCK:
        return wording("intake").say("trouble", "no-clock", why=why)
    return wording("intake").say("trouble", "card-unread")


def _cards(record: "Record", taken: "Intake") -> "list[CardSeen]":
    return cards_in(record, {picture.file.sha256 for picture in taken.sealed})


def tell_cards(cards: "Sequence[CardSeen]") -> None:
    """What follows from the cards in pictures, by what is said of them; of each picture once."""
    said: dict[str, list[str]] = defaultdict(list)
    told = {(card_words(seen), seen.picture.file.sha256): seen.picture for seen in reversed(cards)}
    for (words, _), picture in reversed(told.items()):
        said[words].append(file_name(picture))
    if said:
        common.heading("Cards in the pictures")
    for words, names in said.items():
        common.tell(f"{_named(names)}: {words}.", indent=2)


def tell_intake(record: "Record", taken: "Intake") -> None:
    """The same for a person."""
    if taken.cleared:
        common.tell(
            f"{_files(taken.cleared)} left over from a write that was cut off: no entry names "
            f"{'it' if len(taken.cleared) == 1 else 'them'}. Removed: {', '.join(taken.cleared)}."
        )
    if taken.seq is None:
        if taken.already_held or not taken.left_out:
            common.tell(f"Nothing new: {_files(taken.already_held)} in the record already.")
        _tell_left_out(record, taken)
        return
    common.tell(f"{_files(taken.sealed)} sealed as entry {taken.seq + 1}.")
    if taken.already_held:
        common.tell(f"{_files(taken.already_held)} in the record already.")
    _tell_left_out(record, taken)
    if taken.hints:
        common.heading(wording("photos").say("photos_page", "hint"))
        common.rows((file_name(hint.picture), _hint_words(hint)) for hint in taken.hints)
    common.heading("Visits, by camera and time")
    for visit in taken.visits:
        common.tell(_visit(record, visit), indent=2)
    common.heading("What each camera's clock supports")
    for why, names in _by_reason(taken.sealed).items():
        common.tell(f"{why.rstrip('.')}: {_named(names)}.", indent=2)
    tell_cards(_cards(record, taken))
    if taken.unreadable:
        common.heading("Sealed, but damaged or not readable")
        for row in taken.unreadable:
            common.tell(f"{row.name}: {row.why}", indent=2)


def _tell_left_out(record: "Record", taken: "Intake") -> None:
    """What was not sealed, by the reason, and how a person takes it all the same."""
    if not taken.left_out:
        return
    words = wording("intake")
    reasons: dict[str, list[str]] = defaultdict(list)
    for one in taken.left_out:
        reasons[words.say("left_out", one.why)].append(one.name)
    common.heading(words.say("left_out", "heading"))
    for why, names in reasons.items():
        common.tell(f"{why}: {', '.join(names)}.", indent=2)
    unsure = [one.path for one in taken.left_out if one.why is not Whose.ITS_CARD]
    if unsure:
        common.tell(words.say("left_out", "take"), indent=2)
        common.call("intake", record.folder, unsure[0], "--despite-cards")


def _named(names: Sequence[str]) -> str:
    """The first few of many names, and how many more."""
    rest = f" and {len(names) - _FEW} more" if len(names) > _FEW else ""
    return f"{', '.join(names[:_FEW])}{rest}"


def _files(files: Sequence[object]) -> str:
    count = len(files)
    return f"{say.counted((count, count), 'file')} {'is' if count == 1 else 'are'}"


def _visit(record: "Record", visit: "Visit") -> str:
    files = say.counted((len(visit.files), len(visit.files)), "file")
    at = "" if visit.zone is None else f", {visit.zone}"
    if visit.latest is None:  # of any camera: they are not told apart without a time
        return f"Time unknown{at}; {files}"
    when = say.span(Span(visit.earliest, visit.latest, Basis.CAMERA), zone(record.home))
    return f"{visit.camera or 'Camera unknown'}{at}: {when}; {files}"


def _by_reason(pictures: "Sequence[Picture]") -> dict[str, list[str]]:
    """The files by what their clock supports; a date that is not relied on is shown raw."""
    reasons: dict[str, list[str]] = defaultdict(list)
    for picture in pictures:
        name = file_name(picture)
        _, distrusted, doubt = picture.capture.why.partition(" is not relied on: ")
        if distrusted and picture.file.camera is not None:
            name = f"{name} ({picture.file.camera.DateTimeOriginal})"
        reasons[f"Not relied on, {doubt}" if distrusted else picture.capture.why].append(name)
    return reasons
