"""The sample case, end to end: build it, issue its dossiers, pack it, check them all."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from evidence.bundle import PackOrder, pack
from evidence.case import Record, now
from evidence.check import check_path
from evidence.check.report import Report
from evidence.dossier.issue import Order, issue
from evidence.entries import Incident
from evidence.errors import RefusedError
from evidence.index import refresh_index
from evidence.resources import sample_case
from evidence.story import build_story
from evidence.times import zone
from evidence.trade import load_catalogue
from evidence.words import Form

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Shown:
    """What the demo made."""

    case: Path
    record: Record
    dossiers: tuple[Path, ...]
    pack: Path
    reports: tuple[Report, ...]


def run_demo(
    folder: Path, story: Path | None = None, progress: Progress = lambda _done, _all: None
) -> Shown:
    """Build a case from a story, issue a claim dossier for each incident, pack it, and check all.

    Args:
        folder: where it all goes; must not exist, or be empty.
        story: the story; the sample case's where none is given.
        progress: told of entries written.

    Raises:
        RefusedError: the folder is taken, or the story cannot be told.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedError(str(folder), "exists and is not empty", "Choose another with --into.")
    case = folder / "case"
    record = build_story(story or sample_case() / "story.json", case, progress)
    last = record.entries[-1].logged
    keys = record.key_store.load(record.case.case_id, None)
    dossiers = []
    for entry in record.entries:
        if isinstance(entry.body, Incident):
            order = Order(Form.CLAIM, entry.body.id, last.astimezone(zone(record.home)).date())
            out = folder / f"claim-{entry.body.id}.pdf"
            # The story's last day may lie ahead of this machine's clock.
            issue(record, order, load_catalogue(), keys, out, clock=lambda: max(now(), last))
            dossiers.append(out)
    refresh_index(record)
    packed = pack(record, PackOrder(), load_catalogue(), folder / "case.zip").path
    reports = tuple(check_path(path) for path in (case, *dossiers, packed))
    return Shown(case, record, tuple(dossiers), packed, reports)
