"""The record beside the terms of a warranty, as text: clauses, the longest gap, materials."""

from collections.abc import Iterator, Sequence

from evidence.dossier import say
from evidence.dossier.answers import gap_figure, look_rule
from evidence.dossier.brief import Brief, Figure, Line, Passage, rig_words, trust_words
from evidence.dossier.forms.year import open_passage
from evidence.dossier.wording import Wording, wording
from evidence.entries import Deed, Paper, Reseal, Treatment, Wash
from evidence.shapes import Clause
from evidence.upkeep import Item, Standing
from evidence.upkeep.gaps import Met
from evidence.upkeep.papers import ClauseAnswer
from evidence.upkeep.period import measure_period
from evidence.upkeep.standing import told_from

_MOST_CLAUSES, _MOST_OPEN, _MOST_CITED = 7, 5, 6
_LAST_ANSWERS = 3

Material = tuple[Item, Deed, str]
"""An entry that used something up, and what that was."""


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


def materials_of(standing: Standing) -> Sequence[Material]:
    """What washes, treatments and reseals used, in order of time."""
    found: list[Material] = []
    for kind in (Wash, Treatment, Reseal):
        for item, body in standing.history.of(kind):
            used = getattr(body, "product", None) or _family(body)
            if used:
                found.append((item, body, used))
    return sorted(found, key=lambda row: (row[0].dates, row[0].seq))


def _family(body: Deed) -> str:
    return body.family.replace("-", " ") if isinstance(body, Reseal) else ""


def _answered(words: Wording, standing: Standing) -> Figure:
    rows = list(clauses_of(standing))
    if not rows:
        return Figure(words.say("clauses", "none_value"), "", words.say("clauses", "none"), ())
    measured = [answer for answer, _, _ in rows if answer.met_as_stated is not None]
    kept = sum(answer.met_as_stated is Met.YES for answer in measured)
    on_time = sum(answer.met_on_time is Met.YES for answer in measured)
    text = words.say(
        "clauses", "text", kept=kept, on_time=on_time, unmeasured=len(rows) - len(measured)
    )
    papers = tuple(dict.fromkeys(answer.paper for answer, _, _ in rows))
    return Figure(f"{kept} / {len(rows)}", words.say("clauses", "unit"), text, papers)


def _materials(words: Wording, standing: Standing) -> Figure:
    rows = materials_of(standing)
    if not rows:
        return Figure(words.say("materials", "none_value"), "", words.say("materials", "none"), ())
    receipts = sum(item.seq in standing.history.receipted for item, _, _ in rows)
    unfit = sum(row.fit == "N" for row in standing.reseals)
    text = words.say("materials", "text", receipts=receipts, count=len(rows), unfit=unfit)
    seqs = tuple(item.seq for item, _, _ in rows)[-_MOST_CITED:]
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
