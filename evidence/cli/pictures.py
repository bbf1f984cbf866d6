"""`photos`: each picture's capture interval and why, and the questions that it raises."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common

if TYPE_CHECKING:
    from pydantic import JsonValue

    from evidence.photos import Look
    from evidence.photos.signals import Question
    from evidence.upkeep import History, Item, Picture


@click.command
@common.case_argument
@common.on_option
@common.trust_option
@common.json_option
def photos(case: Path, on: str | None, trusted: tuple[Path, ...], as_json: bool) -> None:
    """Each picture: when it can have been taken, and the questions that it raises.

    A question proves nothing by itself and changes no figure; what else it may mean stands below.

    Example:  roof-evidence photos my-rig
    """
    from evidence.looking import look_at_pictures
    from evidence.photos.seen import asked_of_looks
    from evidence.trade import load_catalogue
    from evidence.upkeep.asked import asked, is_shot, shots

    record = common.open_to_read(case)
    history = record.history(common.day_given(on, record), common.read_anchors(trusted))
    taken = shots(history)
    with common.progress("looking", quiet=as_json) as advance:
        looks = look_at_pictures(record, (shot.sha256 for shot in taken), advance)
    questions: dict[tuple[int, str], list[Question]] = defaultdict(list)
    for question in (*asked(history, load_catalogue()), *asked_of_looks(taken, looks)):
        questions[question.seq, question.sha256].append(question)
    rows = [
        _Row(item, picture, looks.get(picture.file.sha256), questions[_key(item, picture)])
        for item, picture in history.pictures()
        if is_shot(picture)
    ]
    if as_json:
        common.emit([_document(row) for row in rows])
        return
    if history.case.sample:
        common.tell("This is a sample: an invented case.")
    _tell(history, rows)


@dataclass(frozen=True, slots=True)
class _Row:
    item: "Item"
    picture: "Picture"
    look: "Look | None"
    questions: "Sequence[Question]"


def _key(item: "Item", picture: "Picture") -> tuple[int, str]:
    return item.seq, picture.file.sha256


def _document(row: _Row) -> "dict[str, JsonValue]":
    """One picture as OUTPUTS has it; without a look nothing says by which route it was read."""
    from evidence.dossier.questions import with_alarm

    file, capture, look = row.picture.file, row.picture.capture, row.look
    span = capture.span
    ends = {"earliest": None, "latest": None} if span is None else span.as_json()
    return {
        "sha256": file.sha256,
        "name": file.name if isinstance(file.name, str) else file.name.model_dump(),
        "seq": row.item.seq,
        "zone": file.zone,
        "camera": {} if file.camera is None else file.camera.model_dump(exclude_none=True),
        "read_by": None if look is None else str(look.read_by),
        "capture": {
            "rule": str(capture.rule),
            **ends,
            "relied_on": capture.relied_on,
            "why": capture.why,
        },
        "questions": [{"signal": str(q.signal), "text": with_alarm(q)} for q in row.questions],
        "card": None if file.card is None else file.card.model_dump(exclude_none=True),
        "not_shown": "its original is not here" if look is None else look.why,
    }


# For a person


def _tell(history: "History", rows: Sequence[_Row]) -> None:
    from evidence.cli.taken import tell_cards
    from evidence.upkeep.carded import cards_seen

    if not rows:
        common.tell("No pictures are in the record yet: see `roof-evidence intake --help`.")
        return
    of_entry: dict[int, list[_Row]] = defaultdict(list)
    for row in rows:
        of_entry[row.item.seq].append(row)
    for of_one in of_entry.values():
        _tell_entry(history, of_one)
    shown = {row.picture.file.sha256 for row in rows}
    tell_cards([seen for seen in cards_seen(history) if seen.picture.file.sha256 in shown])
    _tell_meanings(rows)
    _tell_counts(rows, len(of_entry))


def _tell_entry(history: "History", rows: Sequence[_Row]) -> None:
    """The intervals first, then the questions."""
    from evidence.dossier import say
    from evidence.dossier.exhibits import file_name
    from evidence.dossier.questions import question_words

    item = rows[0].item
    when = "" if item.span is None else f", {say.on_or_between(item.span, item.home)}"
    common.heading(f"Entry {item.entry.number}, {item.entry.kind}{when}")
    common.rows((file_name(row.picture), _clock(row, history)) for row in rows)
    asked = [
        (file_name(row.picture), question_words(question))
        for row in rows
        for question in row.questions
    ]
    if asked:
        common.tell("Asked:", indent=2)
        common.rows(asked, indent=4)


def _clock(row: _Row, history: "History") -> str:
    """When it can have been taken and by which rule, or why nothing is relied on."""
    from evidence.dossier import say
    from evidence.dossier.wording import wording

    capture, look = row.picture.capture, row.look
    if capture.span is None:
        said = capture.why
    else:
        rule = wording("claim").say("clock", capture.rule)
        said = f"{say.span(capture.span, history.home)}; {rule}."
    hidden = "The original is not here." if look is None else ""
    if look is not None and look.why is not None:
        hidden = f"{say.sentence(look.why.removeprefix('cannot be shown: '))}: not shown."
    return f"{said} {hidden}".strip()


def _tell_meanings(rows: Sequence[_Row]) -> None:
    """What each question may also mean, and which ones the record alone cannot answer again."""
    from evidence.dossier import say
    from evidence.dossier.questions import in_order, may_mean, signal_words
    from evidence.dossier.wording import wording
    from evidence.photos.signals import FROM_PIXELS

    signals = in_order(question.signal for row in rows for question in row.questions)
    if not signals:
        return
    common.heading("What a question may also mean")
    for signal in signals:
        common.tell(f"{say.sentence(signal_words(signal))}: {may_mean(signal)}", indent=2)
    seen = [signal_words(signal) for signal in signals if signal in FROM_PIXELS]
    if seen:
        here = wording("photos").say("photos_page", "here", signals="; ".join(seen))
        common.tell(here, indent=2)


def _tell_counts(rows: Sequence[_Row], entries: int) -> None:
    from evidence.dossier import say
    from evidence.dossier.questions import in_order, signal_words
    from evidence.dossier.wording import wording
    from evidence.photos import CaptureRule

    common.heading("Counts")
    rules = Counter(row.picture.capture.rule for row in rows)
    common.tell(f"{_many(len(rows), 'picture')} in {_entries(entries)}.", indent=2)
    common.rows(
        [
            (str(rules[rule]), "nothing relied on" if rule is CaptureRule.NONE else
             wording("claim").say("clock", rule))
            for rule in CaptureRule
            if rules[rule]
        ],
        indent=4,
    )  # fmt: skip
    signals = Counter(question.signal for row in rows for question in row.questions)
    if not signals:
        common.tell(wording("photos").say("photos_page", "none"), indent=2)
        return
    asked = sum(1 for row in rows if row.questions)
    common.tell(
        f"{say.sentence(_many(sum(signals.values()), 'question'))} about"
        f" {_many(asked, 'picture')}; no figure changes by any of them.",
        indent=2,
    )
    common.rows([(str(signals[one]), signal_words(one)) for one in in_order(signals)], indent=4)


def _many(count: int, unit: str) -> str:
    from evidence.dossier import say

    return say.counted((count, count), unit)


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"
