"""The corpus: good and tampered cases, packs and dossiers, each with what a check must find.

    python -m tests.corpus.make FOLDER        (from the checkout: makes all of them, to look at)

`items(folder)` makes them one after the other; what must be found stands in `expected.toml`. A
record that somebody forged is made twice: as a case, and as a pack that fits it.
"""

import sys
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from tests.corpus import answers, heads
from tests.corpus.bases import Bases
from tests.corpus.dossiers import DOSSIERS
from tests.corpus.packs import CASES, PACKS
from tests.corpus.records import RECORDS

TABLE = Path(__file__).with_name("expected.toml")


FORGED = (heads, answers)
"""What adds to the records besides, by being imported."""

TARGETS = ("case", "pack", "dossier")


@dataclass(frozen=True)
class Expected:
    """What a check must find.

    Attributes:
        result: `unchanged`, `incomplete`, `changed`, or `refused` (nothing is looked at).
        steps: by number those that end as `changed`, `missing` or `named`. All others are `ok`, or
            `not-checked` where there was nothing to look at.
        why: words of a step that tells of it.
    """

    result: str
    steps: Mapping[int, str] = field(default_factory=dict)
    why: str = ""

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> "Expected":
        """A row of the table."""
        steps = {int(n): word for n, word in row.get("steps", {}).items()}
        return cls("refused" if row.get("refused") else result_of(steps), steps, row.get("why", ""))


def result_of(steps: Mapping[int, str]) -> str:
    """What follows from the words of some steps."""
    words = set(steps.values())
    return "changed" if "changed" in words else "incomplete" if "missing" in words else "unchanged"


class Item(NamedTuple):
    """One of the corpus; its name is that of the target and of the row, `pack/dropped-line`."""

    name: str
    path: Path
    expected: Expected


def names() -> list[str]:
    """Every item's name."""
    made = {"case": {**RECORDS, **CASES}, "pack": {**RECORDS, **PACKS}, "dossier": DOSSIERS}
    return [f"{target}/{name}" for target in TARGETS for name in made[target]]


def item(name: str, bases: Bases, folder: Path) -> Item:
    """Make one item in `folder`."""
    target, _, row = name.partition("/")
    out = folder / f"{target}-{row}"
    if target != "dossier" and row in RECORDS:
        handed, table_of = RECORDS[row](bases), "records"
        path = bases.as_case(handed, out) if target == "case" else bases.as_pack(handed, out)
    else:
        made = {"case": CASES, "pack": PACKS, "dossier": DOSSIERS}[target]
        path, table_of = made[row](bases, out), f"{target}s"
    return Item(name, path, Expected.of(table()[table_of][row]))


@cache
def table() -> dict[str, dict[str, Any]]:
    """The rows by what they are about: `records`, `cases`, `packs` and `dossiers`."""
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))


def items(folder: Path, bases: Bases | None = None) -> Iterator[Item]:
    """Make every item, one after the other.

    Args:
        folder: an empty folder.
        bases: what they are made of, where that was made already.
    """
    made = bases or Bases.make(folder)
    return (item(name, made, folder) for name in names())


if __name__ == "__main__":
    for one in items(Path(sys.argv[1])):
        print(f"{one.expected.result:10} {one.name:50} {one.path}")
