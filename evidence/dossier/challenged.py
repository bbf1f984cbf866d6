"""A challenge in words, for the annex of a dossier and for the terminal."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pydantic import JsonValue

from evidence.dossier import say
from evidence.dossier.describe import zone_names
from evidence.dossier.questions import may_mean, signal_words
from evidence.dossier.wording import wording
from evidence.photos.signals import Question, Signal
from evidence.times import Pair
from evidence.trade import Catalogue
from evidence.upkeep import Standing
from evidence.upkeep.challenge import Answer, Challenge, challenge
from evidence.upkeep.contest.kinds import Figure
from evidence.upkeep.custody import NOBODY
from evidence.upkeep.incidents import IncidentFacts
from evidence.words import Task

_FEW = 4
_FEW_FRAMES = 12

_CHOSEN: Mapping[str, Callable[[str], str]] = {
    "deed": lambda key: wording("common").say("deed", key),
    "left": lambda key: wording("challenge").say("left", key),
    "signal": lambda key: signal_words(Signal(key)),
    "alarm": lambda key: may_mean(Signal(key)),
}
"""Figures whose words stand in the templates under the figure itself."""


@dataclass(frozen=True, slots=True)
class Cited:
    """A sentence and the entries that it names."""

    text: str
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """One challenge in sentences; `answers` is never empty, it may say that there is none."""

    challenge: Challenge
    point: Cited
    answers: tuple[Cited, ...]
    today: tuple[str, ...]

    @property
    def cites(self) -> tuple[int, ...]:
        """Every entry that its sentences name."""
        named = (seq for cited in (self.point, *self.answers) for seq in cited.entries)
        return tuple(dict.fromkeys(named))


def challenged(
    standing: Standing,
    facts: IncidentFacts,
    catalogue: Catalogue,
    seen: tuple[Question, ...] = (),
) -> tuple[Said, ...]:
    """The whole case against a record in sentences, the gravest first.

    `seen` are the questions that the pixels raise where the originals lie.
    """
    words = _Words(standing, catalogue)
    return tuple(words.said(one) for one in challenge(standing, facts, catalogue, seen))


def as_json(rows: Sequence[Said]) -> list[JsonValue]:
    """The list that `challenge --json` prints; entries by their `seq`."""
    return [_row(row) for row in rows]


def _row(row: Said) -> dict[str, JsonValue]:
    one = row.challenge
    return {
        "kind": one.kind,
        "grave": int(one.grave),
        "text": row.point.text,
        "entries": list(one.entries),
        "answers": [
            {
                "how": given.how,
                "text": cited.text,
                "entries": list(given.entries),
                "leaves": list(given.leaves),
            }
            for given, cited in zip(one.answers, row.answers, strict=False)
        ],
        "today": [
            {"step": step, "text": text} for step, text in zip(one.today, row.today, strict=True)
        ],
        "about": {name: _plain(figure) for name, figure in one.about.items()},
    }


def _plain(figure: Figure) -> JsonValue:
    if isinstance(figure, tuple):
        return list(figure)
    return figure.isoformat() if isinstance(figure, date) else figure


@dataclass(frozen=True, slots=True)
class _Words:
    """The words for ids and counts, by the names under which a challenge gives them."""

    standing: Standing
    catalogue: Catalogue

    def said(self, one: Challenge) -> Said:
        words = wording("challenge")
        figures = {name: self._figure(name, figure) for name, figure in one.about.items()}
        text = words.say("challenge", one.kind, **figures)
        answers = [Cited(self._answered(given), given.entries) for given in one.answers]
        return Said(
            one,
            Cited(say.sentence(text), one.entries),
            tuple(answers) or (Cited(words.say("challenge_page", "no_answer"), ()),),
            tuple(words.say("today", step) for step in one.today),
        )

    def _answered(self, given: Answer) -> str:
        """What answers it, and of which zones that says nothing."""
        words = wording("challenge")
        text = words.say("answer", given.how)
        if not given.leaves:
            return words.say("challenge_page", "answered", answer=text)
        zones = zone_names(given.leaves, self.standing.history)
        return words.say("challenge_page", "answered_in_part", answer=text, zones=zones)

    def _figure(self, name: str, figure: Figure) -> str:
        if isinstance(figure, date):
            return say.day(figure)
        if isinstance(figure, tuple):
            return self._several(name, figure)
        return self._one(name, str(figure))

    def _one(self, name: str, key: str) -> str:
        if name in _CHOSEN:
            return _CHOSEN[name](key)
        match name:
            case "zone":
                return zone_names([key], self.standing.history)
            case "finding":
                return self.catalogue.findings[key].words
            case "task":
                return self.catalogue.tasks[Task(key)].words
            case "record":
                return wording("challenge").say("hands", "nobody" if key == NOBODY else key)
            case _:
                return say.clipped(key)

    def _several(self, name: str, figure: Pair | tuple[str, ...]) -> str:
        match figure:
            case (int() as low, int() as high):
                return _counted(name, (low, high))
            case _:
                names = [text for text in figure if isinstance(text, str)]
        if name == "means":
            return say.listed([wording("challenge").say("below", text) for text in names])
        if name == "zones":
            return zone_names(names, self.standing.history)
        page, most = wording("challenge"), _FEW_FRAMES if name == "frames" else _FEW
        shown = [say.name(text) or page.say("challenge_page", "unnamed") for text in names[:most]]
        if len(names) > most:
            more = len(names) - most
            return page.say("challenge_page", "few", names=", ".join(shown), count=more)
        return say.listed(shown)


def _counted(name: str, pair: Pair) -> str:
    if name == "minutes":
        return " ".join(say.duration(pair))
    return say.counted(pair, "zone" if name == "zones_more" else "day")
