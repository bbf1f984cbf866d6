"""What outsiders' clocks say, in words: brackets of entries, and cards in pictures."""

from collections.abc import Iterator

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.upkeep import History
from evidence.upkeep.behind import set_back
from evidence.upkeep.brackets import Ends, first_known
from evidence.upkeep.carded import CardSeen, CardState
from evidence.witness import letters_of


def bracket_words(ends: Ends) -> str:
    """`2 May 2025 18:23Z to 9 Jun 2025 15:04Z`, or that nobody vouches for this date."""
    first, last = (None if end is None else say.utc(end) for end in ends)
    if first is None:
        key = "nobody" if last is None else "before"
    else:
        key = "after" if last is None else "between"
    return wording("entries").say("outside", key, first=first, last=last)


def bracket_line(ends: Ends) -> str:
    """The same as a sentence of its own."""
    words = bracket_words(ends)
    if any(ends):
        words = wording("entries").say("outside", "line", words=words)
    return f"{say.sentence(words)}."


def known_since(history: History) -> Iterator[str]:
    """When an outsider first knew of the record, what its writer's clock did, and a reservation.

    The reservation: that another record may have been kept beside it.
    """
    words, first = wording("entries"), first_known(history)
    if first is not None:
        yield words.say(
            "outside",
            "first",
            when=say.utc(first.time),
            number=say.entries([first.seq]),
            name=say.name(first.name).rstrip("."),
        )
    else:
        yield words.say("outside", "nobody_yet")
    uncounted = sum(not answer.counts for answer in history.vouched)
    if uncounted:
        answers = say.counted((uncounted, uncounted), "more answer" if first else "answer")
        yield words.say("outside", "not_counted", answers=answers)
    for ahead, entry in set_back([item.entry for item in history.items]):
        was, back = say.utc(ahead.logged), say.utc(entry.logged)
        number = say.entries([entry.seq])
        yield words.say("outside", "set_back", was=was, back=back, number=number)
    yield words.say("outside", "parallel")


def card_words(seen: CardSeen) -> str:
    """What follows from a card in a picture, as the end of a caption."""
    words, card = wording("entries"), seen.card
    number = "" if seen.named_by is None else say.entries([seen.named_by])
    parts = [
        words.say(
            "card",
            seen.state,
            when="" if seen.answer is None else say.utc(seen.answer.time),
            number=number,
            letters=letters_of(card.answer),
        )
    ]
    if seen.state is CardState.COUNTS and seen.newer:
        newer = say.counted((seen.newer, seen.newer), "newer answer")
        parts.append(words.say("card", "replayed", newer=newer))
    if card.read_by == "person":
        parts.append(words.say("card", "person"))
    if seen.contradicted:
        parts.append(words.say("card", "contradicted"))
    return "; ".join(parts)
