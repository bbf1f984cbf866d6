"""Sealing and small pictures against the bare work, as ratios in one run.

Run: python -m tests.benchmarks.bench_photos [FILES] [ROUNDS]

Sealing (files kept under their hash and on the disk, their cameras' tags read) stands beside the
same files copied with `cp` and summed with `openssl dgst -sha256`, once without and once with a
`sync` behind the bare copy. Previews stand beside Pillow's `draft` and `thumbnail` in as many bare
processes as there are cores. Last comes the most memory that this process, and any child of its,
held while ten times as many small files were sealed, read and looked at for cards.

The sides take turns and the least time of each counts: whatever else a machine does, it only makes
them longer.
"""

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from io import BytesIO
from pathlib import Path
from time import perf_counter

from PIL import Image

from evidence.keeping import FileDraft, keep, seal_all
from evidence.photos import Crew, Shelf, Worker
from evidence.photos.crew import cores

FILES, ROUNDS = 1_000, 5
BYTES = 3_000_000
SHOWN = 200
AIM_SEALING, AIM_PREVIEWS, AIM_MEBIBYTES = 1.3, 1.15, 300


def main() -> int:
    """Print the ratios; 1 where an aim was missed."""
    count, rounds = (int(word) for word in (*sys.argv[1:], FILES, ROUNDS)[:2])
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        files = pictures(folder / "camera", count, BYTES)
        bare, synced, ours = sealing(files, folder, rounds)
        plain, shown = previews(files[:SHOWN], folder, rounds)
        shutil.rmtree(folder / "camera")
        memory = held(pictures(folder / "small", 10 * count, 0, (640, 480)), folder)
    print(
        f"{count} files of 3 MB: bare {bare:.1f} s, with sync {synced:.1f} s, sealed {ours:.1f} s"
    )
    print(
        f"sealing: {ours / bare:.2f} times bare, {ours / synced:.2f} with sync; aim {AIM_SEALING}"
    )
    print(
        f"previews: {shown / plain:.2f} times bare ({len(files[:SHOWN]) / shown:.0f} a second); "
        f"aim {AIM_PREVIEWS}"
    )
    print(
        f"{10 * count} files: {memory[0]:.0f} MiB at most here, {memory[1]:.0f} in a child; "
        f"aim {AIM_MEBIBYTES}"
    )
    missed = (
        ours / bare > AIM_SEALING,
        shown / plain > AIM_PREVIEWS,
        max(memory) > AIM_MEBIBYTES,
    )
    return int(any(missed))


def pictures(
    folder: Path, count: int, size: int, pixels: tuple[int, int] = (4000, 3000)
) -> list[Path]:
    """JPEG files with tags, each with bytes of its own, filled up to `size`."""
    folder.mkdir()
    noise = Image.frombytes("L", (100, 75), os.urandom(7500)).resize(pixels)
    tags = Image.Exif()
    tags[0x0110] = "Bench 1"  # Model
    tags.get_ifd(0x8769)[0x9003] = "2025:05:30 12:10:31"  # DateTimeOriginal
    drawn = BytesIO()
    noise.convert("RGB").save(drawn, "JPEG", quality=85, exif=tags)
    data = drawn.getvalue()
    made = []
    for number in range(count):
        path = folder / f"P{number:05}.jpg"
        path.write_bytes(data + number.to_bytes(8) + os.urandom(max(0, size - len(data) - 8)))
        made.append(path)
    return made


def turns(rounds: int, *sides: Callable[[], float]) -> list[float]:
    """The least seconds of each side; they take turns."""
    told = [[side() for side in sides] for _ in range(rounds)]
    return [min(times) for times in zip(*told, strict=True)]


def fresh(folder: Path) -> Path:
    """An empty folder, and a disk with nothing left to write."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    os.sync()
    return folder


def sealing(files: Sequence[Path], place: Path, rounds: int) -> list[float]:
    """Seconds of copy and sum, of these with a sync, and of sealing."""

    def copied(*, sync: bool) -> float:
        folder = fresh(place / "bare")
        start = perf_counter()
        subprocess.run(["cp", "-t", folder, *files], check=True)
        copies = sorted(folder.iterdir())
        quiet = subprocess.DEVNULL
        subprocess.run(["openssl", "dgst", "-sha256", *copies], check=True, stdout=quiet)
        if sync:
            os.sync()
        return perf_counter() - start

    def sealed() -> float:
        folder = fresh(place / "originals")
        start = perf_counter()
        with Crew() as crew:
            kept = seal_all(files, Shelf(folder))
            list(crew.each(lambda file, worker: worker.camera(file.path), kept))
        return perf_counter() - start

    return turns(rounds, lambda: copied(sync=False), lambda: copied(sync=True), sealed)


def previews(files: Sequence[Path], place: Path, rounds: int) -> list[float]:
    """Seconds of the bare small pictures, and of ours; both start their processes ahead."""
    with ProcessPoolExecutor(cores()) as bare, Crew() as crew:
        list(bare.map(shrunk, [(path, place / "warm.jpg") for path in files[:4]]))
        list(crew.each(lambda path, worker: worker.camera(path), files[:8]))

        def plain() -> float:
            folder = fresh(place / "bare")
            start = perf_counter()
            list(bare.map(shrunk, [(path, folder / path.name) for path in files]))
            return perf_counter() - start

        def ours() -> float:
            folder = fresh(place / "previews")
            start = perf_counter()

            def show(path: Path, worker: Worker) -> bool:
                return worker.preview(path, folder / path.name, 640).shown

            assert all(crew.each(show, files))
            return perf_counter() - start

        return turns(rounds, plain, ours)


def shrunk(paths: tuple[Path, Path]) -> None:
    """What Pillow's own documentation does to make a small picture of a large one."""
    source, out = paths
    with Image.open(source) as picture:
        picture.draft("RGB", (640, 640))
        picture.thumbnail((640, 640))
        picture.save(out, "JPEG", quality=82)


def held(files: Sequence[Path], place: Path) -> tuple[float, float]:
    """Mebibytes that this process, and the largest of its children so far, held at most."""
    drafts = [FileDraft(path) for path in files]
    with Crew() as crew:
        folder = fresh(place / "many")
        keep(drafts, folder, (), crew, lambda _file, _trouble: None, take_broken=True)
    here, child = (
        resource.getrusage(who).ru_maxrss / 1024
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return here, child


if __name__ == "__main__":
    sys.exit(main())
