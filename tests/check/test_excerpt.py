"""An excerpt in memory: what it proves, and every way in which one may be forged."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import pytest

from evidence.check.excerpt import check_excerpt
from evidence.check.report import Found, RecordReport
from evidence.ledger import Head, SignedNote, Signer
from evidence.proving import ConsistencyRow, InclusionRow, Proofs
from tests.check.making import found, told
from tests.tampering import Handed, altered, head_over, key_body, reworded


@dataclass(frozen=True)
class Cut(Handed):
    """An excerpt as `check` takes one: anything in it may be exchanged."""

    proofs: bytes = b""

    def part(self, name: str) -> bytes:
        assert name == "proofs.json"
        return self.proofs


def cut_of(handed: Handed, kept: Iterable[int], sizes: Sequence[int] | None = None) -> Cut:
    """The excerpt that holds some entries of a record, and the heads of these sizes."""
    notes = {Head.parse(SignedNote.parse(note).text).size: note for note in handed.heads}
    held, shown = sorted(kept), sorted(notes if sizes is None else sizes)
    return Cut(
        tuple(handed.lines[seq] for seq in held),
        tuple(notes[size] for size in shown),
        handed.files,
        proofs=Proofs.of(handed.lines, held, shown[:-1]).data(),
    )


WITHHELD = {8, 13}
"""The look of March, and the look after the strike."""


@pytest.fixture
def kept(handed: Handed) -> list[int]:
    return [seq for seq in range(len(handed.lines)) if seq not in WITHHELD]


@pytest.fixture
def cut(handed: Handed, kept: list[int]) -> Cut:
    return cut_of(handed, kept)


def without(report: RecordReport) -> dict[int, Found]:
    """What was found besides that entries are withheld."""
    return {n: what for n, what in found(report).items() if n != 1}


def proofs_with(cut: Cut, **changes: object) -> Cut:
    whole = Proofs.read(cut.proofs)
    return replace(cut, proofs=whole.model_copy(update=changes).data())


def test_an_honest_excerpt_holds_in_every_step_and_says_what_is_withheld(cut, handed, owner):
    report = check_excerpt(cut)

    assert [step.n for step in report.steps] == list(range(1, 9))
    assert found(report) == {1: Found.MISSING}
    assert told(report, 1) == "2 of 18 entries withheld by the sender"
    assert "left out in part: inspection (3 of at least 5)" in told(report, 2)
    assert report.excerpt is not None
    assert (report.excerpt.size, report.excerpt.entries, report.excerpt.withheld) == (18, 16, 2)
    assert report.excerpt.gaps == {"inspection": (3, 5)}
    assert report.signed_by == (owner.verifier.vkey,)
    assert report.root == Head.parse(SignedNote.parse(handed.heads[-1]).text).root.hex()
    assert report.sample


def test_one_that_withholds_nothing_says_so(handed):
    report = check_excerpt(cut_of(handed, range(len(handed.lines))))

    assert found(report) == {}
    assert told(report, 1) == "0 of 18 entries withheld by the sender"
    assert report.excerpt is not None
    assert report.excerpt.gaps == {}


def test_what_is_withheld_at_the_end_leaves_no_trace_in_the_numbers(handed):
    report = check_excerpt(cut_of(handed, range(len(handed.lines) - 1)))

    assert report.excerpt is not None
    assert (report.excerpt.gaps, report.excerpt.withheld) == ({}, 1)


# 1 entries


def test_entries_out_of_order_twice_or_without_their_case_are_found(cut):
    for lines in (
        (cut.lines[1], cut.lines[0], *cut.lines[2:]),
        (*cut.lines[:3], cut.lines[2], *cut.lines[3:]),
        cut.lines[1:],
        (),
        (*cut.lines[:4], b"{}", *cut.lines[4:]),
        (*cut.lines[:4], cut.lines[4] + b" ", *cut.lines[5:]),
    ):
        report = check_excerpt(replace(cut, lines=lines))
        assert found(report)[1] is Found.CHANGED
        assert found(report)[3] is Found.NOT_CHECKED


def test_an_entry_beyond_the_size_is_found(cut):
    report = check_excerpt(proofs_with(cut, size=17))

    assert told(report, 1) == "entry 18 stands behind entry 17 of 17"
    assert report.first_bad_seq == 17


def test_a_second_case_entry_is_found(cut):
    line = altered(cut.lines[0], seq=5, nth=2)

    report = check_excerpt(replace(cut, lines=(*cut.lines[:5], line, *cut.lines[6:])))

    assert told(report, 1) == "a record begins with its case entry, and has one"


# 2 chain and 3 heads


def test_an_entry_reworded_is_not_proven_to_be_in_the_record(cut, kept):
    place = kept.index(12)
    line = reworded(cut.lines[place], stated_cause="debris")

    report = check_excerpt(replace(cut, lines=(*cut.lines[:place], line, *cut.lines[place + 1 :])))

    assert told(report, 3) == "entry 13: is not proven to be in the record"


def test_neighbours_whose_sums_do_not_meet_are_found(handed, owner):
    line = altered(handed.lines[4], prev="0" * 64)
    lines = (*handed.lines[:4], line, *handed.lines[5:])
    forged = replace(handed, lines=lines, heads=(head_over(lines, owner),))

    report = check_excerpt(cut_of(forged, [*range(4), 4, 6]))

    assert told(report, 2) == "entry 5: does not hold the hash of the entry before"
    assert 3 not in found(report)


def test_a_first_entry_that_names_one_before_it_is_found(handed, owner):
    lines = (altered(handed.lines[0], prev="ab" * 32), *handed.lines[1:])
    forged = replace(handed, lines=lines, heads=(head_over(lines, owner),))

    report = check_excerpt(cut_of(forged, [0, *range(2, len(lines))]))

    assert told(report, 2) == "entry 1: names an entry before it"


def test_an_entry_logged_before_its_neighbour_is_found(handed, owner):
    line = altered(handed.lines[-1], logged="2025-01-06T00:00:00Z")
    lines = (*handed.lines[:-1], line)
    forged = replace(handed, lines=lines, heads=(head_over(lines, owner),))

    report = check_excerpt(cut_of(forged, range(len(lines))))

    assert "was logged before the entry ahead of it" in told(report, 2)


@pytest.mark.parametrize(("nth", "fits"), [(3, False), (4, True), (5, True), (6, False)])
def test_a_number_that_what_is_withheld_leaves_no_room_for_is_found(handed, owner, nth, fits):
    """The fifth look; the fourth is withheld, so this may be the fourth or the fifth."""
    lines = (*handed.lines[:-1], altered(handed.lines[-1], nth=nth))
    forged = replace(handed, lines=lines, heads=(head_over(lines, owner),))
    kept = [seq for seq in range(len(lines)) if seq != 13]

    report = check_excerpt(cut_of(forged, kept))

    assert (2 not in found(report)) is fits
    assert (f"cannot be number {nth} of kind 'inspection'" in told(report, 2)) is not fits


def test_a_proof_of_another_entry_proves_nothing(cut):
    rows = list(Proofs.read(cut.proofs).inclusion)
    rows[3] = InclusionRow(seq=rows[3].seq, proof=rows[4].proof)

    assert found(check_excerpt(proofs_with(cut, inclusion=tuple(rows))))[3] is Found.CHANGED


@pytest.mark.parametrize("change", ["cut", "twice", "more", "reversed"])
def test_there_is_one_proof_for_each_entry(cut, change):
    rows = Proofs.read(cut.proofs).inclusion
    wrong = {
        "cut": rows[:-1], "twice": (*rows, rows[-1]), "reversed": rows[::-1],
        "more": (*rows, InclusionRow(seq=8, proof=rows[7].proof)),
    }  # fmt: skip

    report = check_excerpt(proofs_with(cut, inclusion=wrong[change]))

    assert told(report, 3) == "there is not one proof for each entry"


def test_there_is_one_proof_for_each_earlier_head(cut):
    rows = Proofs.read(cut.proofs).consistency

    report = check_excerpt(proofs_with(cut, consistency=rows[1:]))

    assert told(report, 3) == "there is not one proof for each earlier head"


def test_an_earlier_head_that_the_newest_does_not_continue_is_found(cut, handed, owner):
    other = head_over((*handed.lines[:5], b"{}"), owner)

    report = check_excerpt(replace(cut, heads=(other, *cut.heads[1:])))

    assert told(report, 3) == "head of 6: is not proven to be continued by the newest"


def test_a_consistency_proof_of_other_nodes_proves_nothing(cut):
    rows = list(Proofs.read(cut.proofs).consistency)
    rows[1] = ConsistencyRow(size=rows[1].size, proof=rows[2].proof)

    assert found(check_excerpt(proofs_with(cut, consistency=tuple(rows))))[3] is Found.CHANGED


def test_without_the_newest_head_there_is_nothing_to_prove_by(cut):
    for heads in (cut.heads[:-1], (), ("no note\n",)):
        report = check_excerpt(replace(cut, heads=heads))
        assert "no head of 18 entries is here to prove by" in told(report, 3)


def test_heads_out_of_order_or_of_another_record_are_found(cut, handed):
    stranger = Signer.generate("roof-evidence/" + "0" * 32)
    for heads, why in (
        (cut.heads[::-1], "is not in order of size"),
        ((head_over(handed.lines[:2], stranger), *cut.heads), "is of another record"),
    ):
        assert why in told(check_excerpt(replace(cut, heads=heads)), 3)


def test_proofs_that_cannot_be_read_are_a_change(cut):
    from evidence.errors import ChangedError

    with pytest.raises(ChangedError):
        check_excerpt(replace(cut, proofs=b"{}"))


# 4 keys


def test_a_head_signed_by_a_stranger_is_found(cut, handed, stranger):
    note = head_over(handed.lines, stranger)

    report = check_excerpt(replace(cut, heads=(*cut.heads[:-1], note)))

    assert found(report)[4] is Found.CHANGED
    assert report.bad_heads


def test_a_key_that_was_added_signs_what_follows_and_not_its_own_head(handed, owner, stranger):
    longer = handed.then("key", key_body(stranger), owner).then("photos", {}, stranger)
    kept = [seq for seq in range(len(longer.lines)) if seq not in WITHHELD]
    early = handed.then("key", key_body(stranger), stranger)

    assert without(check_excerpt(cut_of(longer, kept))) == {}
    assert found(check_excerpt(cut_of(early, kept[:-1])))[4] is Found.CHANGED


def test_where_an_entry_on_keys_is_withheld_nobody_says_that_they_hold(handed, owner, stranger):
    longer = handed.then("key", key_body(stranger), owner)
    longer = longer.then("key", key_body(stranger, "lost"), owner)
    kept = [seq for seq in range(len(longer.lines)) if seq != len(handed.lines)]

    report = check_excerpt(cut_of(longer, kept))

    assert found(report)[4] is Found.NOT_CHECKED


def test_a_key_that_the_reader_was_told_is_looked_for(cut, owner, stranger):
    assert found(check_excerpt(cut, named=[owner.verifier])).keys() == {1}
    report = check_excerpt(cut, named=[stranger.verifier])
    assert found(report)[4] is Found.CHANGED
    assert report.not_signed_by == (stranger.verifier.vkey,)


def test_an_entry_ahead_of_the_keys_that_was_withheld_gives_them_no_founding_right(handed):
    """Keys that stand behind a hole may sign nothing until a head holds them."""
    report = check_excerpt(cut_of(handed, [0, *range(2, len(handed.lines))]))

    assert found(report)[4] in (Found.CHANGED, Found.NOT_CHECKED)


# 5 to 7


def test_outsiders_answer_for_what_lies_under_their_heads(cut):
    report = check_excerpt(cut)

    assert [row.seq for row in report.witnesses] == [9, 11, 15]
    assert {row.result for row in report.witnesses} == {Found.OK}


def test_an_answer_whose_head_was_left_out_does_not_verify(handed, kept):
    report = check_excerpt(cut_of(handed, kept, [6, 9, 18]))

    assert found(report)[5] is Found.CHANGED


def test_files_are_compared_as_in_a_whole_record(cut):
    gone = {sum_: data for sum_, data in cut.files.items() if not data.startswith(b"\xff\xd8")}

    assert found(check_excerpt(replace(cut, files=gone)))[7] is Found.MISSING


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_kept_an_honest_excerpt_holds(handed, seed):
    import random

    chosen = random.Random(seed)
    kinds = [json.loads(line)["kind"] for line in handed.lines]
    whole = ("case", "key", "party", "rig", "rule", "witness")
    kept = [s for s, kind in enumerate(kinds) if kind in whole or chosen.random() < 0.5]

    report = check_excerpt(cut_of(handed, kept))

    assert without(report) == {}
