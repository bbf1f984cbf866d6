"""The annex: the strongest honest case against the record, or the word that it was left out."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable

from evidence.dossier import layout as lay
from evidence.dossier import say
from evidence.dossier.challenged import Said
from evidence.dossier.wording import wording

if TYPE_CHECKING:
    from evidence.dossier.sheets.claim import ClaimSheet


def annex(ctx: "ClaimSheet") -> list[Flowable]:
    """What an opposing reader will say, what answers it, what could still be done."""
    words = wording("challenge")
    if not ctx.with_challenge:
        return [lay.para(words.say("challenge_page", "left_out"))]
    if not ctx.challenged:
        return [lay.para(words.say("challenge_page", "none"))]
    parts: list[Flowable] = [lay.para(words.say("challenge_page", "intro"), "muted")]
    grave = None
    for row in ctx.challenged:
        if row.challenge.grave is not grave:
            grave = row.challenge.grave
            parts += [lay.gap(8), lay.para(words.say("grave", str(int(grave))), "heading")]
        parts += [lay.gap(4), lay.together(*_row(row))]
    return parts


def _row(row: Said) -> Iterator[Flowable]:
    yield lay.para(row.point.text, refs=say.entries(row.point.entries))
    for answer in row.answers:
        yield lay.para(answer.text, "small", refs=say.entries(answer.entries))
    if row.today:
        steps = " ".join(row.today)
        yield lay.para(wording("challenge").say("challenge_page", "today", steps=steps), "muted")
