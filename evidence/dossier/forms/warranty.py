"""The record beside the terms of a warranty, as text: clauses, the longest gap, materials."""

from collections.abc import Iterator

from evidence.dossier import say
from evidence.dossier.answers import gap_figure, look_rule
from evidence.dossier.brief import Brief, Figure, Line, Passage, rig_words, trust_words
from evidence.dossier.forms.year import open_passage
from evidence.dossier.wording import Wording, wording
from evidence.entries import Paper
from evidence.shapes import Clause
from evidence.upkeep import Standing
from evidence.upkeep.materials import count_receipts, materials
from evidence.upkeep.papers import ClauseAnswer, tally_clauses
from evidence.upkeep.period import measure_period
from evidence.upkeep.sealing import UNFIT
from evidence.upkeep.standing import told_from

_MOST_CLAUSES, _MOST_OPEN, _MOST_CITED = 7, 5, 6
_LAST_ANSWERS = 3


def warranty_brief(standing: Standing) -> Brief:
    """The first page."""
    words, history = wording("warranty"), standing.history
    whole = measure_period(standing, told_from(history))
    return Brief(
        title=words.say("warranty", "title"),
        subtitle=f"{rig_words(standing)} {words.say('warranty', 'on', day=say.day(history.on))}",
        figures=(
            _answered(words, standing),
            gap_figure(standing, look_rule(standing)),
            _materials(words, standing),
            _open(words, standing),
        ),
        passages=(_clauses(words, standing), open_passage(standing, whole, _MOST_OPEN)),
        trust=tuple(trust_words(standing)),
    )


def clauses_of(standing: Standing) -> Iterator[tuple[ClauseAnswer, Paper, Clause]]:
    """Every clause on file with what answers it, in the order of the papers."""
    for answer in standing.clauses:
        item = standing.history.item(answer.paper)
        paper = None if item is None else item.body
        if isinstance(paper, Paper):
            clauses = paper.clauses or ()
            clause = next((one for one in clauses if one.ref == answer.ref), None)
            if clause is not None:
                yield answer, paper, clause


def _answered(words: Wording, standing: Standing) -> Figure:
    rows = list(clauses_of(standing))
    if not rows:
        return Figure(words.say("clauses", "none_value"), "", words.say("clauses", "none"), ())
    tally = tally_clauses(standing.clauses)
    text = words.say(
        "clauses",
        "text",
        kept=tally.as_stated,
        on_time=tally.on_time,
        unmeasured=tally.unmeasured,
    )
    papers = tuple(dict.fromkeys(answer.paper for answer, _, _ in rows))
    return Figure(
        f"{tally.as_stated} / {tally.clauses}", words.say("clauses", "unit"), text, papers
    )


def _materials(words: Wording, standing: Standing) -> Figure:
    rows = materials(standing.history)
    if not rows:
        return Figure(words.say("materials", "none_value"), "", words.say("materials", "none"), ())
    unfit = sum(row.fit == UNFIT for row in standing.reseals)
    receipts = count_receipts(rows)
    text = words.say("materials", "text", receipts=receipts, count=len(rows), unfit=unfit)
    seqs = tuple(row.item.seq for row in rows)[-_MOST_CITED:]
    return Figure(str(len(rows)), words.say("materials", "unit"), text, seqs)


def _open(words: Wording, standing: Standing) -> Figure:
    found = [facts for facts in standing.findings if facts.state == "open"]
    owned = [facts for facts in found if facts.responsible is not None]
    text = words.say("open", "text", settled=len(standing.findings) - len(found), owned=len(owned))
    cites = tuple(sorted({facts.opened for facts in found}))[:_MOST_CITED]
    return Figure(str(len(found)), words.say("open", "unit"), text, cites)


def _clause(words: Wording, answer: ClauseAnswer, paper: Paper) -> str:
    title, ref = say.clipped(paper.title, 48), say.clipped(answer.ref, 16)
    if answer.met_as_stated is None or answer.met_on_time is None:
        return words.say("clause", "unmeasured", paper=title, ref=ref)
    return words.say(
        "clause",
        "row",
        paper=title,
        ref=ref,
        as_stated=words.say("rules", answer.met_as_stated),
        on_time=words.say("rules", answer.met_on_time),
        entries=len(answer.answered_by),
    )


def _clauses(words: Wording, standing: Standing) -> Passage:
    rows = list(clauses_of(standing))
    lines = []
    for answer, paper, _ in rows[:_MOST_CLAUSES]:
        cites = (answer.paper, *answer.answered_by[-_LAST_ANSWERS:])
        lines.append(Line(_clause(words, answer, paper), cites))
    left = len(rows) - len(lines)
    note = words.say("clause", "more", count=left) if left else ""
    return Passage(
        words.say("clause", "heading"),
        tuple(lines),
        note if lines else words.say("clauses", "none"),
    )
