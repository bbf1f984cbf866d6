"""Cards in pictures, as part of step 6: what each shows is compared with the record."""

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from evidence.check.material import Material
from evidence.check.report import Found, StepReport, WitnessReport, listed
from evidence.envelope import Entry
from evidence.errors import EvidenceError
from evidence.photos import Worker
from evidence.shapes import FileRef
from evidence.upkeep import read_history
from evidence.upkeep.carded import CardState, cards_seen
from evidence.witness import Card
from evidence.witness.card import MAX_TEXT, START


def with_cards(
    step: StepReport,
    material: Material,
    entries: Sequence[Entry],
    witnesses: Sequence[WitnessReport],
) -> StepReport:
    """Step 6 with what there is to be named of cards; a record without any has nothing.

    Named, and no change: a card whose answer the record does not hold, a card that a clock
    contradicts, and one that a machine is said to have read and does not read again.
    """
    named = [*_told(entries, witnesses), *_not_read_again(material, entries)]
    if not named or step.found not in (Found.OK, Found.NAMED):
        return step
    return replace(step, found=Found.NAMED, detail=f"{step.detail}; {listed(named)}")


def _told(entries: Sequence[Entry], witnesses: Sequence[WitnessReport]) -> Iterator[str]:
    if not any(file.card for entry in entries for file in entry.files):
        return
    trust = {row.seq: row.trust for row in witnesses if row.trust is not None}
    on = entries[-1].logged.date() + timedelta(days=1)
    try:
        history = read_history(entries, on=on, trust=trust)
    except EvidenceError:
        return  # what does not fit together is told by the steps before
    for seen in cards_seen(history):
        number = seen.item.entry.number
        if seen.state is CardState.UNKNOWN:
            yield f"entry {number}: a card shows an answer that this record does not hold"
        elif seen.contradicted:
            yield f"entry {number}: a clock says an earlier time than the card beside it"


def _not_read_again(material: Material, entries: Sequence[Entry]) -> Iterator[str]:
    """Pictures at hand in which no machine reads the card that one is said to have read."""
    claimed = [
        (entry.number, file)
        for entry in entries
        for file in entry.files
        if file.card is not None and file.card.read_by == "machine"
    ]
    if not claimed:
        return
    with Worker() as worker, tempfile.TemporaryDirectory() as place:
        for number, file in claimed:
            data = material.read(file)
            if data is None:
                continue
            path = Path(place) / "picture"
            path.write_bytes(data)
            if not _shows(file, worker.codes(path, START, MAX_TEXT).texts):
                yield f"entry {number}: its card is not read again in the picture"


def _shows(file: FileRef, texts: Sequence[str]) -> bool:
    """Whether one of the codes is a card with the answer that the entry names."""
    for text in texts:
        try:
            card = Card.parse(text)
        except EvidenceError:
            continue
        if file.card is not None and card.answer == file.card.answer:
            return True
    return False
