"""What the record asks of its pictures; and that no figure rests on it."""

from datetime import date

from evidence.photos.signals import Question, Signal
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, read_history
from evidence.upkeep.asked import asked, shots
from evidence.upkeep.challenge import Answer, Grave, How, Kind, Step, challenge
from tests.dossier.claims import after, before, claim, incident
from tests.scenarios.build import build, photo, starter, tell
from tests.upkeep.test_purity import reached


def tagged(name, local="2025:05:30 12:10:05", *, role="close", **tags):
    taken = photo(local, offset="-05:00", zone="field-mr", role=role, name=name)
    return taken | {"camera": taken["camera"] | {"Make": "Lumen"} | tags}


EDITED = tagged("edited.jpg", Software="GIMP 2.10.36")
PLAIN = tagged("plain.jpg", "2025:05:30 12:11:05")


def history_of(*told):
    return claim(*told)[0].history


def test_questions_stand_by_entry_and_picture():
    late = tagged("late.jpg", "2025:06:08 17:42:00", DateTime="2025:06:10 09:00:00")
    found = asked(history_of(before(files=[PLAIN, EDITED]), incident(), after(files=[late])),
                  load_catalogue())  # fmt: skip
    assert [(q.signal, q.seq) for q in found] == [(Signal.EDITOR, 6), (Signal.CHANGED_LATER, 8)]


def test_scans_and_papers_are_not_asked():
    scan = tagged("scan.jpg", role="scan", Software="GIMP 2.10.36")
    paper = {**EDITED, "name": "a.pdf", "type": "application/pdf"}
    assert shots(history_of(before(files=[scan, paper]), incident(), after())) == ()


def test_a_file_sealed_at_intake_and_told_in_a_look_is_no_file_used_twice():
    sealed = tell("photos", {}, "2025-05-30T17:30:00Z", files=[PLAIN])
    assert asked(history_of(sealed, before(files=[PLAIN]), incident(), after()),
                 load_catalogue()) == ()  # fmt: skip


def test_a_file_of_one_day_in_a_look_of_another_is():
    found = asked(
        history_of(before(files=[PLAIN]), incident(), after(files=[PLAIN])), load_catalogue()
    )
    assert [(q.signal, q.seq, q.about) for q in found] == [(Signal.USED_TWICE, 8, {"other": 7})]


def against(*told, seen=()):
    standing, facts = claim(*told)
    rows = challenge(standing, facts, load_catalogue(), seen)
    return {row.kind: row for row in rows if "signal" in row.about}


def test_a_question_of_the_record_is_held_against_it_and_another_picture_answers():
    (found,) = against(before(files=[EDITED, PLAIN]), incident(), after()).values()
    assert (found.kind, found.grave, found.entries) == (
        Kind.PICTURE_QUESTION, Grave.QUESTION, (6,)
    )  # fmt: skip
    assert found.about == {"signal": "editor", "alarm": "editor", "names": ("edited.jpg",)}
    assert found.answers == (Answer(How.OTHER_PICTURE, (6,)),)
    assert found.today == (Step.ASK_ORIGINAL,)


def test_without_another_picture_there_is_no_answer():
    (found,) = against(before(files=[EDITED]), incident(), after()).values()
    assert found.answers == ()


def test_what_pixels_raise_is_a_kind_of_its_own_and_stands_last():
    told = (before(files=[EDITED, PLAIN]), incident(), after())
    seen = (Question(Signal.BLURRED, PLAIN["sha256"], 6),)
    found = against(*told, seen=seen)
    assert list(found) == [Kind.PICTURE_QUESTION, Kind.PIXEL_QUESTION]
    blurred = found[Kind.PIXEL_QUESTION]
    assert (blurred.about["signal"], blurred.today) == ("blurred", (Step.LOOK_NOW,))
    assert blurred.answers == ()  # the other picture raises a question of its own


def test_without_the_originals_the_rest_of_the_case_is_the_same():
    standing, facts = claim(before(files=[EDITED, PLAIN]), incident(), after())
    seen = (Question(Signal.BLURRED, PLAIN["sha256"], 6),)
    catalogue = load_catalogue()
    whole = challenge(standing, facts, catalogue, seen)
    assert whole[:-1] == challenge(standing, facts, catalogue)


def test_no_figure_can_reach_a_question():
    """By the sources: nothing that `measure` or its document uses leads to a signal."""
    for start in (("evidence.upkeep.standing", "measure"), ("evidence.upkeep.shown", "as_json")):
        modules = {module for module, _ in reached(start)}
        assert "evidence.photos.clock" in modules or "evidence.upkeep.gaps" in modules
        asking = {"signals", "diary", "seen", "look", "likeness", "light", "asked"}
        assert {m for m in modules if m.rpartition(".")[2] in asking} == set()


def test_the_figures_are_the_same_whatever_a_picture_raises():
    def figures(*files):
        standing, _ = claim(before(files=[*files]), incident(), after())
        return {k: v for k, v in as_json(standing).items() if k != "case"}

    doubted = {**EDITED, "camera": EDITED["camera"] | {"DateTime": "2025:06:10 09:00:00"}}
    plain = {**EDITED, "camera": {k: v for k, v in EDITED["camera"].items() if k != "Software"}}
    assert asked(history_of(before(files=[doubted]), incident(), after()), load_catalogue())
    assert figures(doubted) == figures(plain)


def test_a_cut_history_asks_of_what_had_been_written_by_then():
    entries = build([*starter(), before(files=[EDITED]), incident(), after()])
    early, late = (read_history(entries, on=date(2025, *day)) for day in ((5, 29), (6, 30)))
    assert asked(early, load_catalogue()) == ()
    assert asked(late, load_catalogue()) != ()
