"""Real files spoilt by chance, through the workers: a file costs itself and nothing else.

`--mutations N` for more of them. A number of those that broke the reader or were late spoils the
same file again: `mutated(sources, number % len(sources), number)`.
"""

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from time import monotonic

import pytest

from evidence.photos import Crew, Worker
from evidence.photos.child import MAX_MEMORY
from evidence.photos.worker import SECONDS_A_FILE
from evidence.shapes import Strict
from evidence.witness.card import MAX_TEXT, START
from tests.faults.mutating import mutated
from tests.photos.filming import film

_STARTING = 15.0
"""Seconds a child may need to start anew, twice, before it answers."""
_MOST_GROWTH = 64 * 2**20

Job = Callable[[Worker, Path], Strict]

JOBS: Mapping[str, Job] = {
    "look": lambda worker, path: worker.look(path),
    "preview": lambda worker, path: worker.preview(path, path.with_name(f"{path.stem}.out.jpg")),
    "codes": lambda worker, path: worker.codes(path, START, MAX_TEXT),
    "marks": lambda worker, path: worker.marks(path, START, MAX_TEXT),
    "credentials": lambda worker, path: worker.credentials(path),
}
"""One of them for each spoilt file, in turn; its tags are read of all."""


@dataclass(frozen=True)
class Told:
    """One spoilt file: which, what was asked, what came of it, seconds, bytes held at most."""

    number: int
    name: str
    job: str
    said: str
    seconds: float
    held: int
    resident: int


@pytest.fixture(scope="module")
def sources(
    shared_photos: Path, tmp_path_factory: pytest.TempPathFactory
) -> Sequence[tuple[str, bytes]]:
    """The real photos, and a film and the kinds of picture that none of them is, drawn here."""
    from PIL import Image

    place = tmp_path_factory.mktemp("sources")
    film(place / "a.mp4", datetime(2025, 5, 30))  # noqa: DTZ001 - a film's clock bears no zone
    film(place / "b.mov", datetime(2025, 5, 30), {"com.apple.quicktime.make": "Lumen"})  # noqa: DTZ001
    for name in ("c.gif", "d.bmp", "e.png", "f.webp"):
        Image.radial_gradient("L").save(place / name)
    (place / "g.pdf").write_bytes(b"%PDF-1.7\n%%EOF\n")
    paths = [*sorted((shared_photos / "open").iterdir()), *sorted(place.iterdir())]
    return [(path.name, path.read_bytes()) for path in paths]


def test_spoilt_files_cost_themselves_and_nothing_else(
    sources: Sequence[tuple[str, bytes]],
    tmp_path: Path,
    request: pytest.FixtureRequest,
    record_property: Callable[[str, object], None],
) -> None:
    many = request.config.getoption("--mutations")
    good = tmp_path / "good.jpg"
    good.write_bytes(dict(sources)["test-assets__tanners_ridge.jpg"])
    before = _resident()
    with Crew() as crew:
        told = list(_spoilt(sources, many, tmp_path, crew))
        after = list(crew.each(lambda path, worker: worker.camera(path), [good] * 2 * crew.size))
    grown = _resident() - before
    record_property("table", _table(told, grown))

    assert len({one.number for one in told}) == many
    assert max(one.seconds for one in told) < SECONDS_A_FILE + _STARTING
    assert max(one.held for one in told) <= MAX_MEMORY
    assert grown < _MOST_GROWTH
    assert {one.camera.DateTimeOriginal if one.camera else None for one in after} == {
        "2023:09:25 08:33:30"
    }
    assert [path.name for path in tmp_path.iterdir()] == ["good.jpg"]


def _spoilt(
    sources: Sequence[tuple[str, bytes]], many: int, place: Path, crew: Crew
) -> Iterator[Told]:
    contents = [data for _, data in sources]
    jobs = list(JOBS)

    def asked(number: int, worker: Worker) -> tuple[Told, ...]:
        at = number % len(sources)
        name = sources[at][0]
        path = place / f"{number}{Path(name).suffix}"
        path.write_bytes(mutated(contents, at, number))
        job = jobs[(number + number // len(sources)) % len(jobs)]
        try:
            return (
                _timed(number, name, "camera", lambda: worker.camera(path), worker),
                _timed(number, name, job, lambda: JOBS[job](worker, path), worker),
            )
        finally:
            for left in place.glob(f"{number}.*"):
                left.unlink()

    for pair in crew.each(asked, range(many)):
        yield from pair


def _timed(number: int, name: str, job: str, ask: Callable[[], Strict], worker: Worker) -> Told:
    start = monotonic()
    answer = ask()
    seconds = monotonic() - start
    return Told(number, name, job, _said(answer), seconds, *_memory(worker))


def _said(answer: Strict) -> str:
    why = getattr(answer, "unreadable", None) or getattr(answer, "why", None) or ""
    ends = {"reader broke": "broke", "took longer": "late", "more memory": "memory"}
    return next((told for part, told in ends.items() if part in why), "why" if why else "read")


def _memory(worker: Worker) -> tuple[int, int]:
    """The most address space and the most memory that the worker's child has held, in bytes."""
    if not sys.platform.startswith("linux") or worker._child is None:
        return 0, 0
    found = _status(worker._child.pid)
    return found["VmPeak"], found["VmHWM"]


def _resident() -> int:
    return _status("self")["VmRSS"] if sys.platform.startswith("linux") else 0


def _status(process: int | str) -> Counter[str]:
    """The figures of proc(5), `status`; nought for those of a process that is gone."""
    try:
        text = Path(f"/proc/{process}/status").read_text("ascii", "replace")
    except OSError:
        return Counter()
    rows = (line.split() for line in text.splitlines() if line.endswith(" kB"))
    return Counter({row[0].rstrip(":"): int(row[1]) * 1024 for row in rows})


ENDS = ("read", "why", "memory", "broke", "late")
"""Read; not read, for a reason; for want of memory; the reader broke; it took too long."""


def _table(told: Sequence[Told], grown: int) -> str:
    slow = max(told, key=lambda one: one.seconds)
    rows = [f"{'asked for':<12}" + "".join(f"{end:>8}" for end in ENDS)]
    for job in ("camera", *JOBS):
        found = Counter(one.said for one in told if one.job == job)
        rows.append(f"{job:<12}" + "".join(f"{found[end]:>8}" for end in ENDS))
    return "\n".join(
        [
            *rows,
            f"slowest: {slow.seconds:.1f} s, {slow.job} of {slow.name}, number {slow.number}",
            f"a child held {max(one.resident for one in told) / 2**20:.0f} MiB at most",
            f"this process grew by {grown / 2**20:.0f} MiB",
            *(
                f"{one.said}: {one.job} of {one.name}, number {one.number}"
                for one in told
                if one.said in {"broke", "late"}
            ),
        ]
    )
