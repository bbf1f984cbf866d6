import json
from dataclasses import replace

import pytest

from evidence.check.record import check_record
from evidence.check.report import Found
from evidence.ledger import Head, SignedNote, Signer, origin_of
from evidence.ledger.recovery import RecoveryKey
from tests.check.making import found, told
from tests.tampering import OPENING, Handed, altered, head_over, key_body, rechained, reworded

# An untouched record


def test_an_untouched_record_holds_in_every_step(handed, owner):
    report = check_record(handed)

    assert [step.n for step in report.steps] == list(range(1, 9))
    assert found(report) == {}
    assert report.entries == len(handed.lines)
    assert report.heads == len(handed.heads)
    assert report.signed_by == (owner.verifier.vkey,)
    assert report.sample
    assert report.first_bad_seq is None
    assert report.bad_heads == ()
    assert report.root == Head.parse(SignedNote.parse(handed.heads[-1]).text).root.hex()


def test_every_entry_written_later_keeps_it_whole(handed, owner):
    longer = handed.then("photos", {}, owner).then("photos", {"note": "more"}, owner)

    assert found(check_record(longer)) == {}


# Entries


def test_an_entry_reworded_is_found_by_the_chain_and_its_head(handed):
    seq = handed.of_kind("incident")[0]
    report = check_record(handed.with_line(seq, reworded(handed.lines[seq], stated_cause="hail")))

    assert found(report) == {2: Found.CHANGED, 3: Found.CHANGED}
    assert f"entry {seq + 2}" in told(report, 2)
    assert f"no head fits from entry {seq + 1} on" in told(report, 3)
    assert report.first_bad_seq == seq


def test_the_last_entry_reworded_is_found_by_its_head_alone(handed):
    last = len(handed.lines) - 1
    report = check_record(handed.with_line(last, reworded(handed.lines[last], means="drone")))

    assert found(report) == {3: Found.CHANGED}
    assert f"no head fits from entry {last + 1} on" in told(report, 3)
    assert report.first_bad_seq == last


def test_an_entry_of_the_opening_reworded_is_found_and_its_unit_named(handed):
    party = handed.of_kind("party")[0]
    changed = handed.with_line(party, reworded(handed.lines[party], name="B. Holder"))
    report = check_record(changed)

    assert {2, 3} <= found(report).keys()
    assert "no head fits from entry 1 on" in told(report, 3)


def test_an_entry_taken_out_is_missed_where_it_stood(handed):
    lines = (*handed.lines[:8], *handed.lines[9:])
    report = check_record(replace(handed, lines=lines))

    assert found(report)[1] is Found.CHANGED
    assert told(report, 1) == "entry 9: stands in the place of entry 10"
    assert report.first_bad_seq == 8


def test_two_entries_that_changed_places_are_found(handed):
    lines = list(handed.lines)
    lines[8], lines[10] = lines[10], lines[8]
    report = check_record(replace(handed, lines=tuple(lines)))

    assert told(report, 1) == "entry 9: stands in the place of entry 11"


def test_an_entry_taken_out_and_all_made_to_fit_again_contradicts_the_heads(handed):
    lines = rechained((*handed.lines[:8], *handed.lines[9:]))
    report = check_record(replace(handed, lines=lines))

    assert 1 not in found(report)
    assert 2 not in found(report)
    assert "no head fits from entry 9 on" in told(report, 3)
    assert report.first_bad_seq == 8


def test_what_cannot_be_read_is_named_and_the_rest_is_not_reached(handed):
    report = check_record(handed.with_line(7, handed.lines[7][:-1]))

    assert told(report, 1).startswith("entry 8: ")
    assert {n: f for n, f in found(report).items() if n > 2} == dict.fromkeys(
        range(3, 9), Found.NOT_CHECKED
    )
    assert report.first_bad_seq == 7
    assert report.case_id
    assert report.sample, "a damaged sample is still a sample"


@pytest.mark.parametrize(
    "change",
    [
        lambda line: altered(line, v=2),
        lambda line: altered(line, kind="guess"),
        lambda line: reworded(line, colour="red"),
        lambda line: line.replace(b'"by":', b' "by":'),
        lambda line: line + b"\n",
    ],
    ids=["version", "kind", "field", "blank", "newline"],
)
def test_an_entry_of_another_form_is_refused_whatever_its_chain_says(handed, owner, change):
    last = len(handed.lines) - 1
    lines = (*handed.lines[:last], change(handed.lines[last]))
    heads = (*handed.heads[:-1], head_over(lines, owner))

    assert found(check_record(replace(handed, lines=lines, heads=heads)))[1] is Found.CHANGED


def test_a_reserved_kind_in_a_record_is_told_with_what_to_look_for(handed, owner):
    report = check_record(handed.then("rehash", {}, owner))

    assert found(report)[1] is Found.CHANGED
    assert "kind 'rehash': is reserved" in told(report, 1)
    assert f"entry {len(handed.lines) + 1}" in told(report, 1)


def test_no_entries_are_no_record():
    report = check_record(Handed((), ()))

    assert told(report, 1) == "there are no entries"
    assert found(report)[1] is Found.CHANGED
    assert report.first_bad_seq == 0


def test_a_record_that_does_not_begin_with_its_case_is_none(handed, owner):
    lines = rechained(handed.lines[1:])
    report = check_record(replace(handed, lines=lines, heads=(head_over(lines, owner),)))

    assert told(report, 1) == "entry 1: a record begins with its case entry, and has one"
    assert found(report)[1] is Found.CHANGED


def test_a_second_case_entry_is_refused(handed, owner):
    case = json.loads(handed.lines[0])["body"]
    report = check_record(handed.then("case", case | {"sample": False}, owner))

    assert found(report)[1] is Found.CHANGED
    assert report.sample


def test_a_clock_that_ran_back_without_a_word_is_found(handed, owner):
    line = altered(handed.lines[-1], logged="2025-01-06T00:00:00Z")
    lines = (*handed.lines[:-1], line)
    report = check_record(
        replace(handed, lines=lines, heads=(*handed.heads[:-1], head_over(lines, owner)))
    )

    assert found(report) == {2: Found.CHANGED, 6: Found.NAMED}
    assert "was logged at" in told(report, 2)


# Heads


def test_the_end_cut_off_with_its_heads_is_an_older_state_and_nothing_more_is_claimed(handed):
    older = replace(handed, lines=handed.lines[:-2], heads=handed.heads[:-2])
    report = check_record(older)

    assert found(report) == {}
    assert report.entries == len(handed.lines) - 2
    assert told(report, 1) == f"{report.entries} entries, none missing between them"
    assert not any(
        "complete" in step.detail or "all entries" in step.detail for step in report.steps
    )


def test_the_end_cut_off_without_its_heads_is_found(handed):
    size = len(handed.lines)
    report = check_record(replace(handed, lines=handed.lines[:-1]))

    assert found(report) == {3: Found.CHANGED}
    assert told(report, 3) == f"head of {size}: the entries from {size} on are not here"


def test_an_entry_that_nobody_signed_for_is_found(handed):
    size = len(handed.lines) + 1
    report = check_record(handed.then("photos", {}, None))

    assert f"no signed head stands over entry {size}" in told(report, 3)
    assert report.first_bad_seq == size - 1


def test_a_head_that_is_no_note_is_named_by_its_place(handed):
    heads = (handed.heads[0], handed.heads[1].replace("\n\n", "\n"), *handed.heads[2:])
    report = check_record(replace(handed, heads=heads))

    assert told(report, 3).startswith("head 2: ")
    assert report.bad_heads
    assert report.first_bad_seq is None, "later heads vouch for the entries"


def test_a_head_of_another_record_is_found(handed, built):
    other = Signer.generate(origin_of("0" * 32))
    report = check_record(
        replace(handed, heads=(*handed.heads[:-1], head_over(handed.lines, other)))
    )

    assert f"head of {len(handed.lines)}: is of another record" in told(report, 3)


def test_a_head_that_stands_twice_is_found(handed):
    report = check_record(replace(handed, heads=(*handed.heads, handed.heads[-1])))

    assert "is not in order of size" in told(report, 3)


def test_a_head_over_other_entries_is_found(handed, owner):
    other = head_over((*handed.lines[:-1], b"{}"), owner)
    report = check_record(replace(handed, heads=(*handed.heads[:-1], other)))

    assert "its root is not that of the entries" in told(report, 3)


# Keys


def test_a_head_signed_by_a_stranger_is_found(handed, stranger):
    report = check_record(handed.then("photos", {}, stranger))

    assert found(report) == {4: Found.CHANGED}
    assert (
        told(report, 4) == f"head of {len(handed.lines) + 1}: is signed by none of the known keys"
    )


def test_a_signature_of_a_known_key_over_other_text_is_found(handed):
    lines = handed.heads[-1].splitlines(keepends=True)
    signature = handed.heads[-2].splitlines(keepends=True)[-1]
    report = check_record(
        replace(handed, heads=(*handed.heads[:-1], "".join((*lines[:-1], signature))))
    )

    assert found(report) == {4: Found.CHANGED}
    assert f"head of {len(handed.lines)}: does not belong to this text" in told(report, 4)


def test_whoever_adds_a_key_cannot_sign_for_it_with_that_key(handed, stranger):
    forged = handed.then("key", key_body(stranger), stranger).then("photos", {}, stranger)
    report = check_record(forged)

    assert found(report) == {4: Found.CHANGED}
    assert f"head of {len(handed.lines) + 1}" in told(report, 4)


def test_nor_by_throwing_away_every_other_head(handed, stranger):
    forged = replace(handed.then("key", key_body(stranger), None), heads=()).signed(stranger)

    assert found(check_record(forged))[4] is Found.CHANGED


def test_a_key_that_the_owner_adds_may_sign_from_then_on(handed, owner, stranger):
    second = stranger
    report = check_record(
        handed.then("key", key_body(second), owner)
        .then("photos", {}, second)
        .then("photos", {}, owner)
    )

    assert found(report) == {}
    assert report.signed_by == (owner.verifier.vkey, second.verifier.vkey)
    assert told(report, 4) == "signed by 2 keys that the record names"


def test_a_key_that_was_retired_signs_nothing_more(handed, owner, stranger):
    second = stranger
    changed = handed.then("key", key_body(second), owner).then(
        "key", key_body(owner, "retired"), second
    )

    assert found(check_record(changed)) == {}
    assert found(check_record(changed.then("photos", {}, owner)))[4] is Found.CHANGED


def test_a_key_for_cosigning_signs_no_heads(handed, owner, stranger):
    body = key_body(stranger) | {"use": "cosign"}
    report = check_record(handed.then("key", body, owner).then("photos", {}, stranger))

    assert found(report) == {4: Found.CHANGED}


def test_a_key_that_cannot_be_read_signs_nothing_and_harms_nothing(handed, owner):
    body = key_body(owner) | {"key": "not a key"}

    assert found(check_record(handed.then("key", body, owner).then("photos", {}, owner))) == {}


def test_the_key_on_paper_may_sign_from_the_start(handed, owner):
    paper = RecoveryKey.generate()
    _, second = handed.of_kind("key")
    line = reworded(handed.lines[second], key=paper.signer(owner.name).verifier.vkey)
    lines = rechained((*handed.lines[:second], line, *handed.lines[second + 1 : OPENING]))
    fresh = Handed(lines, (head_over(lines, owner),), handed.files)

    assert found(check_record(fresh.then("photos", {}, paper.signer(owner.name)))) == {
        6: Found.NAMED
    }


# Files and sealed values


def test_a_file_that_was_changed_or_is_gone_is_named_by_its_sum(handed):
    changed, gone, *_ = handed.files
    files = {name: data for name, data in handed.files.items() if name != gone}
    report = check_record(replace(handed, files={**files, changed: b"other"}))

    assert found(report)[7] is Found.CHANGED
    assert changed[:16] in told(report, 7)
    assert report.originals.changed == (changed,)
    assert report.originals.missing == (gone,)
    assert report.originals.present == report.originals.listed - 2


def test_a_file_whose_entry_names_another_size_is_found(handed, owner):
    held = json.loads(handed.lines[handed.of_kind("inspection")[1]])["files"][0]
    ref = {name: held[name] for name in ("sha256", "type", "name")} | {"bytes": held["bytes"] + 1}
    report = check_record(handed.then("photos", {}, owner, [ref]))

    assert found(report) == {7: Found.CHANGED}
    assert report.originals.changed == (held["sha256"],)
    assert report.originals.missing == ()


def test_sealed_values_are_counted_and_stay_sealed(handed, owner):
    rig = json.loads(handed.lines[handed.of_kind("rig")[0]])["body"]
    report = check_record(handed.then("rig", rig | {"serial": {"sealed": "0" * 64}}, owner))

    assert found(report) == {8: Found.NOT_CHECKED}
    assert told(report, 8) == "1 value stays sealed; none was revealed"
