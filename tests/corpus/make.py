"""The corpus: good and tampered cases, packs and dossiers, each with what a check must find.

    python -m tests.corpus.make FOLDER        (from the checkout: makes all of them, to look at)

`items(folder)` makes them one after the other; what must be found stands in `expected.toml`. A
record that somebody forged is made twice: as a case, and as a pack that fits it.
"""

import sys
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from tests.corpus.bases import Bases
from tests.corpus.dossiers import DOSSIERS
from tests.corpus.packs import CASES, PACKS
from tests.corpus.records import RECORDS

TABLE = Path(__file__).with_name("expected.toml")


@dataclass(frozen=True)
class Expected:
    """What a check must find.

    Attributes:
        result: `unchanged`, `incomplete`, `changed`, or `refused` (nothing is looked at).
        steps: by number those that end as `changed`, `missing` or `named`. All others are `ok`, or
            `not-checked` where there was nothing to look at.
        why: words of the step that found it.
    """

    result: str
    steps: Mapping[int, str] = field(default_factory=dict)
    why: str = ""

    @classmethod
    def of(cls, row: Mapping[str, object], target: str) -> "Expected":
        """A row of the table; what is true of one kind of target alone stands under its name."""
        told = {**row, **row.get(target, {})}  # type: ignore[dict-item]
        steps = {int(n): word for n, word in told.get("steps", {}).items()}
        found = [word for word in ("changed", "missing") if word in steps.values()]
        result = {"changed": "changed", "missing": "incomplete"}[found[0]] if found else "unchanged"
        return cls("refused" if told.get("refused") else result, steps, str(told.get("why", "")))


class Item(NamedTuple):
    """One of the corpus: `name` is that of the target and of the row, `pack/dropped-line`."""

    name: str
    path: Path
    expected: Expected


def table() -> dict[str, dict[str, dict[str, object]]]:
    """The rows by what they are about: `records`, `cases`, `packs` and `dossiers`."""
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))


def items(folder: Path, bases: Bases | None = None) -> Iterator[Item]:
    """Make every item in `folder`.

    Args:
        folder: an empty folder.
        bases: what they are made of, where that was made already.
    """
    bases = bases or Bases.make(folder)
    rows = table()
    for target in ("case", "pack"):
        for name, forge in RECORDS.items():
            out = folder / f"{target}-{name}"
            handed = forge(bases)
            path = bases.as_case(handed, out) if target == "case" else bases.as_pack(handed, out)
            yield Item(f"{target}/{name}", path, Expected.of(rows["records"][name], target))
    makers: Mapping[str, Mapping[str, Callable[[Bases, Path], Path]]]
    makers = {"case": CASES, "pack": PACKS, "dossier": DOSSIERS}
    for target, made in makers.items():
        for name, make in made.items():
            row = rows[f"{target}s"][name]
            path = make(bases, folder / f"{target}-{name}")
            yield Item(f"{target}/{name}", path, Expected.of(row, target))


if __name__ == "__main__":
    for item in items(Path(sys.argv[1])):
        print(f"{item.expected.result:11} {item.name}  {item.path}")
