"""The questions that a dossier's pictures raise, and what signs them, below the pictures."""

from collections.abc import Iterator, Sequence

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.credited import credentials_words
from evidence.dossier.exhibits import Exhibit, file_name
from evidence.dossier.questions import in_order, may_mean, question_words, signal_words
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.wording import wording
from evidence.photos.signals import Question
from evidence.upkeep.asked import asked

_Raised = tuple[Exhibit, Question]


def questions(ctx: Sheet) -> list[Flowable]:
    """What is asked of the pictures shown: first what the record answers again, then the rest."""
    if not ctx.lettered:
        return []
    words = wording("photos")
    of_record = _raised(ctx, asked(ctx.history, ctx.catalogue))
    of_pixels = _raised(ctx, ctx.seen)
    parts: list[Flowable] = [lay.gap(4), lay.para(words.say("photos_page", "heading"), "heading")]
    if not of_record and not of_pixels:
        none = lay.para(words.say("photos_page", "none"), "muted")
        return [*parts, lay.gap(3), none, *_credited(ctx)]
    parts += [lay.gap(3), lay.para(words.say("photos_page", "intro"), "muted"), *_listed(of_record)]
    if of_pixels:
        parts += [lay.gap(6), lay.para(words.say("photos_page", "machine"), "muted")]
    return [*parts, *_listed(of_pixels), *_credited(ctx)]


def _credited(ctx: Sheet) -> Iterator[Flowable]:
    """What is told of the Content Credentials of the pictures shown; nothing where none has any."""
    rows = [
        _told(exhibit, credentials_words(ctx.credentials[exhibit.picture.file.sha256]))
        for exhibit in ctx.lettered
        if exhibit.picture.file.sha256 in ctx.credentials
    ]
    if not rows:
        return
    words = wording("photos")
    yield lay.gap(8)
    yield lay.together(
        lay.para(words.say("credentials", "heading"), "heading"),
        lay.gap(3),
        lay.para(words.say("credentials", "intro"), "muted"),
        lay.gap(3),
        rows[0],
    )
    yield from rows[1:]


def _raised(ctx: Sheet, found: Sequence[Question]) -> list[_Raised]:
    return [
        (exhibit, question)
        for exhibit in ctx.lettered
        for question in found
        if (question.seq, question.sha256) == (exhibit.item.seq, exhibit.picture.file.sha256)
    ]


def _listed(raised: Sequence[_Raised]) -> Iterator[Flowable]:
    """Under each signal, with what it may also mean, the pictures that raise it."""
    for signal in in_order(question.signal for _, question in raised):
        alarm = wording("photos").say("photos_page", "may_mean", alarm=may_mean(signal))
        first, *others = (_row(*one) for one in raised if one[1].signal is signal)
        heading = lay.para(f"{say.sentence(signal_words(signal))}. {alarm}", "small")
        yield lay.gap(5)
        yield lay.together(heading, lay.gap(2), first)
        yield from others


def _row(exhibit: Exhibit, question: Question) -> Flowable:
    return _told(exhibit, question_words(question))


def _told(exhibit: Exhibit, text: str) -> Flowable:
    refs = f"{say.entries([exhibit.item.seq])}, {file_name(exhibit.picture)}"
    return lay.para(text, "small", refs=refs, lead=exhibit.letter)
