"""How long `check` takes where there is much to check, beside the bare cost of the arithmetic.

Run: python -m tests.benchmarks.bench_check [entries] [bytes]   (100000 and 3000000000 by default)

Two cases are made, the same each time. One has many entries and a signed head over each; the other
has many bytes of originals. Each is measured in turns with the bare work, several rounds in one
run, and the least of each is taken: a machine that others use shows its own speed in the best
round only (as `timeit` advises).

- entries: SHA-256 of each entry (the chain) and of each leaf, the Merkle root, and one Ed25519
  verification for each head, in one thread. Nothing is read, parsed or compared in it.
- originals: `openssl dgst -sha256` over the same files, in one thread.

`check` is timed as a person runs it: a process of its own, from its start to its end.
"""

import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path
from time import perf_counter
from typing import NamedTuple

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from evidence.case import Record
from evidence.ledger import SignedNote, leaf_hash, tree_root
from tests.benchmarks.large import many_bytes, many_entries, signer

AIM_ENTRIES = 3.0
AIM_BYTES = 0.7
AIM_MIB = 250
ROUNDS = 3


class Took(NamedTuple):
    """Seconds by the clock, and of processor time in this process and its children."""

    clock: float
    processor: float


def main(sizes: Sequence[int]) -> int:
    """Print both comparisons; 1 where an aim was missed."""
    entries, whole = (*sizes, *(100_000, 3_000_000_000)[len(sizes) :])
    with tempfile.TemporaryDirectory() as place:
        missed = of_entries(many_entries(Path(place) / "entries", entries))
        missed |= of_bytes(many_bytes(Path(place) / "bytes", whole))
    return int(missed)


def of_entries(case: Path) -> bool:
    """Entries and heads; whether the aim was missed."""
    record = Record.open(case)
    lines = record.lines
    notes = [SignedNote.parse(note) for note in record.heads]
    heads = [(note.text.encode(), note.signatures[0].signature) for note in notes]
    del record, notes
    ours, bare = in_turns(lambda: check(case), lambda: bare_cost(lines, heads))
    print(f"{len(lines):,} entries and {len(heads):,} heads, seconds by the clock (processor):")
    told(ours, bare, "check", "bare")
    return ours.clock / bare.clock > AIM_ENTRIES


def bare_cost(lines: Sequence[bytes], heads: Sequence[tuple[bytes, bytes]]) -> None:
    """The hashes and signatures, and nothing else."""
    key = Ed25519PublicKey.from_public_bytes(signer().verifier.public_key)
    for line in lines:
        sha256(line).digest()
    tree_root(map(leaf_hash, lines))
    for text, signature in heads:
        key.verify(signature, text)


def of_bytes(case: Path) -> bool:
    """Originals; whether an aim was missed."""
    files = sorted((case / "originals").iterdir())
    openssl = [shutil.which("openssl") or "openssl", "dgst", "-sha256", *map(str, files)]
    ours, bare = in_turns(lambda: check(case), lambda: run(openssl))
    print(f"{sum(f.stat().st_size for f in files):,} bytes in {len(files)} originals:")
    told(ours, bare, "check", "openssl")
    most = memory(case)
    print(f"  memory of check: {most} MiB at most; aim: {AIM_MIB}")
    return ours.clock / bare.clock > AIM_BYTES or most > AIM_MIB


def check(case: Path) -> None:
    """The command, in a process of its own."""
    run([sys.executable, "-m", "evidence", "check", str(case), "--json"])


def run(command: Sequence[str]) -> None:
    """Run a command to its end; its exit code is not asked for: files may be missing by design."""
    subprocess.run(command, stdout=subprocess.DEVNULL, check=False)


def memory(case: Path) -> int:
    """The most memory that `check` held at once, in MiB, its children aside."""
    code = (
        "import resource, sys\nfrom evidence.cli import _run\n_run(sys.argv[1:])\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "check", str(case), "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return int(done.stderr.split()[-1])


def in_turns(ours: Callable[[], None], bare: Callable[[], None]) -> tuple[Took, Took]:
    """Both, in turns; the least of each."""
    rounds = [(timed(ours), timed(bare)) for _ in range(ROUNDS)]
    best = [Took(*map(min, zip(*took, strict=True))) for took in zip(*rounds, strict=True)]
    return best[0], best[1]


def timed(work: Callable[[], None]) -> Took:
    """How long it took."""
    clock, processor = perf_counter(), used()
    work()
    return Took(perf_counter() - clock, used() - processor)


def used() -> float:
    """Seconds of processor time so far, in this process and in those that it waited for."""
    usages = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


def told(ours: Took, bare: Took, name: str, beside: str) -> None:
    """Both, and the one by the other."""
    for what, took in ((name, ours), (beside, bare)):
        print(f"  {what:8} {took.clock:7.2f} ({took.processor:.2f})")
    ratio, work = ours.clock / bare.clock, ours.processor / bare.processor
    print(f"  {name} / {beside}: {ratio:.2f} by the clock, {work:.2f} in processor time")


if __name__ == "__main__":
    sys.exit(main([int(word) for word in sys.argv[1:]]))
