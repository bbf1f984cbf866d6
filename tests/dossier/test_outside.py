from datetime import UTC, date, datetime

import pytest

from evidence.dossier.outside import bracket_line, bracket_words, card_words, known_since
from evidence.upkeep import read_history
from evidence.upkeep.carded import cards_seen
from evidence.witness import Trust
from tests.dossier.claims import after, before, claim, incident
from tests.dossier.printing import printed, sheet, texts
from tests.scenarios.build import build, history, photo, starter, tell
from tests.upkeep.test_carded import ANSWERS, NEW, OLD, STRANGE, answer, carded

FIRST = datetime(2025, 5, 2, 18, 23, 41, tzinfo=UTC)
LAST = datetime(2025, 6, 9, 23, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((FIRST, LAST), "2 May 2025 18:23Z to 9 Jun 2025 23:05Z"),
        ((FIRST, None), "after 2 May 2025 18:23Z"),
        ((None, LAST), "by 9 Jun 2025 23:05Z"),
        ((None, None), "nobody vouches for this date"),
    ],
)
def test_a_bracket_is_said_as_far_as_outsiders_say_it(ends, words):
    assert bracket_words(ends) == words
    named = f"Outsiders: {words}." if any(ends) else "Nobody vouches for this date."
    assert bracket_line(ends) == named


def untrusted(*told):
    entries = build([*starter(), *told])
    trust = {entry.seq: Trust.UNTRUSTED for entry in entries if entry.kind == "witness"}
    return read_history(entries, on=date(2025, 11, 3), trust=trust)


def test_who_first_knew_is_said_and_that_another_record_may_stand_beside_it():
    first, parallel = known_since(history([*ANSWERS], "2025-11-03"))
    assert first == "An outsider first knew of this record on 2 Mar 2025 12:00Z (entry 7): Sample."
    assert parallel == "That another record was kept beside this one cannot be excluded."


def test_a_clock_set_back_is_said_to_people():
    back = {"was": "2025-06-10T12:00:00Z", "is": "2023-06-01T12:00:00Z", "why": "ran ahead"}
    told = [tell("photos", {}, back["was"]), tell("clock", back, back["is"])]
    _, step, _ = known_since(history(told, "2025-11-03"))
    assert step.startswith(
        "The writer's clock was set back from 10 Jun 2025 12:00Z to 1 Jun 2023 12:00Z (entry 8)"
    )
    assert "written later than 10 Jun 2025 12:00Z" in step


def test_answers_that_nobody_trusts_are_counted_and_bound_nothing():
    said = list(known_since(untrusted(*ANSWERS)))
    assert said[0] == "No outsider vouches for any date here."
    assert said[1].startswith("2 answers in the record, by outsiders whom nobody has named")


def words(*told, given=history):
    told_by = given(told, "2025-11-03") if given is history else given(*told)
    (seen,) = cards_seen(told_by)
    return card_words(seen)


def test_a_card_is_said_to_show_what_it_shows():
    assert words(*ANSWERS, carded(NEW)) == (
        "its card: not taken before 2 May 2025 18:23Z, on an outsider's clock"
    )
    assert words(*ANSWERS, carded(OLD)).endswith("; an older card, 1 newer answer by then")
    assert words(*ANSWERS, carded(NEW, read_by="person")).endswith("; as a person read it")
    assert words(*ANSWERS, carded(NEW, "2025:04:01 09:00:00")).endswith(
        "; the clock beside it says an earlier time"
    )


def test_a_card_that_is_not_relied_on_says_so():
    for given in (
        words(*ANSWERS, carded(STRANGE)),
        words(*ANSWERS, carded(NEW), given=untrusted),
    ):
        assert given.endswith("not relied on")


CARD = {"answer": NEW, "read_by": "machine"}


def with_card(card):
    file = photo("2025:06:08 17:41:00", offset="-05:00", zone="field-mr", role="close",
                 name="after.jpg", card=card)  # fmt: skip
    return claim(*ANSWERS, before(), answer("0d" * 32, "2025-05-31T12:00:00Z"), incident(),
                 after(files=[file]))  # fmt: skip


def test_a_dossier_says_what_a_card_shows_and_that_a_print_can_be_pasted():
    text = " ".join(texts(printed(sheet(*with_card(CARD)))))
    assert "its card: not taken before 2 May 2025 18:23Z, on an outsider's clock" in text
    assert "One picture shows a card with an outside answer" in text
    assert text.count("A print can be pasted into a picture.") == 2


def test_a_dossier_with_an_unknown_card_says_so_and_relies_on_none():
    text = " ".join(texts(printed(sheet(*with_card(CARD | {"answer": STRANGE})))))
    assert "its card shows an answer that this record does not hold" in text
    assert "shows a card with an outside answer" not in text


def test_a_dossier_without_cards_says_nothing_of_cards():
    text = " ".join(texts(printed(sheet(*claim(*ANSWERS, before(), incident(), after())))))
    assert "its card" not in text
    assert "pasted" not in text


def test_the_entries_page_says_who_first_knew():
    text = " ".join(texts(printed(sheet(*claim(*ANSWERS, before(), incident(), after())))))
    assert "An outsider first knew of this record on 2 Mar 2025 12:00Z (entry 7)" in text
    assert "That another record was kept beside this one cannot be excluded." in text
