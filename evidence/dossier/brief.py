"""What the first page of a dossier says, as text.

A form's text is a pure function of the measured record. The page lays the sentences out; `check`
makes them again from the attached record and looks for each one on the page.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.upkeep import Standing
from evidence.upkeep.carded import count_dated
from evidence.witness import Trust
from evidence.words import Surface

_ACRONYMS = (Surface.EPDM, Surface.TPO, Surface.PVC)


class Opening(Protocol):
    """The first page of any form."""

    @property
    def title(self) -> str:
        """What the dossier is about; also the file's title."""

    @property
    def cites(self) -> Sequence[int]:
        """Every entry that the page names."""

    def sentences(self) -> Iterator[str]:
        """Every statement of the page, in its order."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One large figure, its unit, its sentence and the entries that it rests on."""

    value: str
    unit: str
    text: str
    cites: tuple[int, ...]

    @property
    def statement(self) -> str:
        """The figure with its unit, as it is read."""
        return f"{self.value} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence, the entries that it rests on, and the grade mark before it, if it has one."""

    text: str
    cites: tuple[int, ...] = ()
    grade: int | None = None


@dataclass(frozen=True, slots=True)
class Passage:
    """Some lines under a heading; `note` says what they leave unsaid, or that there is nothing."""

    heading: str
    lines: tuple[Line, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Brief:
    """A first page of figures and passages, with how far to trust it at the end."""

    title: str
    subtitle: str
    figures: tuple[Figure, ...]
    passages: tuple[Passage, ...]
    trust: tuple[str, ...]

    @property
    def cites(self) -> Sequence[int]:
        """Every entry that the page names."""
        named = [figure.cites for figure in self.figures]
        named += [line.cites for passage in self.passages for line in passage.lines]
        return [seq for cites in named for seq in cites]

    def sentences(self) -> Iterator[str]:
        """Every statement of the page, in its order."""
        yield self.title
        yield self.subtitle
        for figure in self.figures:
            yield figure.statement
            yield figure.text
        for passage in self.passages:
            yield passage.heading
            yield from (line.text for line in passage.lines)
            yield passage.note
        yield from self.trust


def trust_words(standing: Standing, limits: str = "limits_any") -> Iterator[str]:
    """How far the dates can be trusted: whose clocks vouch for them, and what that cannot show.

    Args:
        standing: the measured record.
        limits: which sentence of the wording says what the record cannot show.
    """
    words, history = wording("common"), standing.history
    counted = [answer for answer in history.vouched if answer.counts]
    yield words.say("trust", "marks")
    if counted:
        first = min(answer.time for answer in counted).astimezone(history.home).date()
        key = "outside" if len(counted) > 1 else "outside_one"
        yield words.say("trust", key, count=len(counted), first=say.day(first))
    else:
        yield words.say("trust", "nobody")
    if any(answer.trust is Trust.SAMPLE for answer in counted):
        yield words.say("trust", "sample")
    cards = count_dated(history)
    if cards:
        key = "trust_one" if cards == 1 else "trust_more"
        yield wording("entries").say("card", key, count=cards)
    yield words.say("trust", limits)


def rig_words(standing: Standing) -> str:
    """`Wren, 7.4 × 2.4 m, EPDM roof.`: which rig a page is about."""
    rig = standing.history.rig
    return wording("common").say(
        "summary",
        "rig",
        rig=say.name(rig.name),
        length=say.metres(rig.length_mm),
        width=say.metres(rig.width_mm),
        surface=rig.surface.upper() if rig.surface in _ACRONYMS else rig.surface,
    )
