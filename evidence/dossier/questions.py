"""The questions that pictures raise, in words that accuse nobody."""

from collections.abc import Iterable

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.photos.signals import Question, Signal


def question_words(question: Question) -> str:
    """What is asked, with its figures; texts out of the file as far as a line has room."""
    figures = {
        name: say.clipped(figure) if isinstance(figure, str) else figure
        for name, figure in question.about.items()
    }
    return wording("photos").say("question", question.signal, **figures)


def may_mean(signal: Signal) -> str:
    """When the question comes up for honest pictures."""
    return wording("photos").say("false_alarm", signal)


def signal_words(signal: Signal) -> str:
    """The question in a few words, without figures."""
    return wording("photos").say("signal", signal)


def with_alarm(question: Question) -> str:
    """The question and its known false alarm, for a reader of one line."""
    alarm = wording("photos").say("photos_page", "may_mean", alarm=may_mean(question.signal))
    return f"{question_words(question)} {alarm}"


def in_order(signals: Iterable[Signal]) -> list[Signal]:
    """Each once, in the order of the list of signals."""
    given = set(signals)
    return [signal for signal in Signal if signal in given]
