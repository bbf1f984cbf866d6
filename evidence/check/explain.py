"""What a check means, step by step, for a reader who has never seen one (`check --explain`)."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from pydantic import JsonValue

from evidence.check.pack import NO_DOSSIER
from evidence.check.record import NOT_REACHED
from evidence.check.report import Found, Report, StepReport
from evidence.check.sealed import NONE_SEALED
from evidence.check.signing import FIRST_BY_NAMED
from evidence.resources import templates
from evidence.steps import steps
from evidence.witness import Trust


@dataclass(frozen=True, slots=True)
class Explained:
    """One step in plain words.

    Attributes:
        n: its number.
        title: its heading.
        plain: what it is about.
        found: what was found here.
        follows: what follows from that.
        cannot: what it cannot show, whatever was found.
        ask: what to ask the sender; empty where there is nothing to ask.
    """

    n: int
    title: str
    plain: str
    found: str
    follows: str
    cannot: str
    ask: str


@dataclass(frozen=True, slots=True)
class _Words:
    """What the template says of one step: what it is about, and each way in which it can end."""

    plain: str
    said: Mapping[str, Mapping[str, str]]


def explained(report: Report) -> tuple[str, tuple[Explained, ...]]:
    """The whole result in a few sentences, and every step."""
    rows = []
    for said in report.steps:
        words, step = _words()[said.n], next(step for step in steps() if step.n == said.n)
        ending = words.said[situation(report, said)]
        rows.append(
            Explained(
                said.n,
                step.title,
                words.plain,
                said.detail,
                ending["follows"],
                step.cannot,
                ending.get("ask", ""),
            )
        )
    return _results()[_whole(report)], tuple(rows)


def as_json(report: Report) -> dict[str, JsonValue]:
    """The same, as the field `explained` of the document."""
    whole, rows = explained(report)
    return {
        "result": whole,
        "steps": [
            {
                "n": row.n,
                "plain": row.plain,
                "follows": row.follows,
                "cannot": row.cannot,
                "ask": row.ask,
            }
            for row in rows
        ],
    }


def situation(report: Report, step: StepReport) -> str:
    """Which of the ways in which a step can end this one is: a `when` of the template."""
    if step.found is Found.NOT_CHECKED and step.detail == NOT_REACHED:
        return "not-reached"
    if step.found is Found.CHANGED:
        return "another-key" if step.n == 4 and report.of_another_key else "changed"
    special = {4: _keys, 5: _outsiders, 6: _clocks, 7: _files, 8: _sealed, 9: _signature}
    told = special[step.n](report, step) if step.n in special else ""
    return told or step.found.value


def _keys(_report: Report, step: StepReport) -> str:
    return "key-named" if step.found is Found.OK and FIRST_BY_NAMED in step.detail else ""


def _outsiders(report: Report, step: StepReport) -> str:
    if step.found is not Found.OK:
        return ""
    kinds = {row.trust for row in report.record.witnesses}
    for trust in (Trust.UNTRUSTED, Trust.SAMPLE, Trust.TRUSTED):  # the weakest names them all
        if trust in kinds:
            return trust.value
    return "none"


def _clocks(report: Report, step: StepReport) -> str:
    alone = all(row.trust is None for row in report.record.witnesses)
    return "no-outsider" if alone and step.found is Found.NAMED else ""


def _files(report: Report, step: StepReport) -> str:
    if step.found is not Found.OK:
        return ""
    if report.record.originals.left_out:
        return "left-out"
    return "" if report.record.originals.listed else "none"


def _sealed(_report: Report, step: StepReport) -> str:
    return "none" if step.detail == NONE_SEALED else ""


def _signature(report: Report, step: StepReport) -> str:
    if step.found is not Found.OK or report.target != "pack":
        return ""
    return "none" if step.detail == NO_DOSSIER else "pack"


def _whole(report: Report) -> str:
    if report.of_another_key:
        return "another-key"
    if report.only_withheld:
        return "excerpt"
    return report.result.value


@lru_cache(maxsize=1)
def _template() -> Mapping[str, object]:
    text = (templates() / "check" / "explain.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _results() -> Mapping[str, str]:
    results = _template()["results"]
    return results if isinstance(results, dict) else {}


@lru_cache(maxsize=1)
def _words() -> Mapping[int, _Words]:
    found = _template()["step"]
    rows = found if isinstance(found, list) else []
    return {
        row["n"]: _Words(row["plain"], {said["when"]: said for said in row["said"]}) for row in rows
    }
