"""The ten steps of verification (OUTPUTS § 3), by number, as every page and report names them."""

import tomllib
from dataclasses import dataclass
from functools import lru_cache

from evidence.resources import templates


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what it does, what it cannot show, and what of it the checking page leaves out."""

    n: int
    name: str
    title: str
    does: str
    cannot: str
    page: str = ""


@lru_cache(maxsize=1)
def steps() -> tuple[Step, ...]:
    """The steps in order."""
    text = (templates() / "check" / "steps.toml").read_text(encoding="utf-8")
    return tuple(Step(**row) for row in tomllib.loads(text)["step"])
