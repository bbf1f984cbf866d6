"""Records whose heads or keys are not in order, and one whose keys came and went."""

from dataclasses import replace

from evidence.ledger import Head, NoteSignature, SignedNote, Signer, key_id, sign_head
from evidence.ledger.vkeys import write_vkey
from tests.corpus.records import record
from tests.tampering import head_over, key_body


@record
def another_key(bases):
    second = bases.stranger
    added = bases.handed.then("key", key_body(second), bases.owner)
    gone = added.then("key", key_body(bases.owner, "replaced", why="a new machine"), second)
    return gone.then("photos", {}, second)


@record
def head_of_the_end_removed(bases):
    return replace(bases.handed, heads=bases.handed.heads[:-1])


@record
def head_of_an_answer_removed(bases):
    size = "\n15\n"
    return replace(bases.handed, heads=tuple(n for n in bases.handed.heads if size not in n))


@record
def no_heads(bases):
    return replace(bases.handed, heads=())


@record
def heads_out_of_order(bases):
    *others, one, two = bases.handed.heads
    return replace(bases.handed, heads=(*others, two, one))


@record
def head_by_a_stranger(bases):
    return replace(
        bases.handed,
        heads=(*bases.handed.heads[:-1], head_over(bases.handed.lines, bases.stranger)),
    )


@record
def head_over_more(bases):
    longer = bases.handed.then("photos", {}, bases.owner)
    return replace(longer, lines=bases.handed.lines)


@record
def head_of_another_root(bases):
    head = Head(bases.owner.name, len(bases.handed.lines), bytes(32))
    note = sign_head(head, bases.owner).format()
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], note))


@record
def head_of_another_record(bases):
    other = Signer(f"roof-evidence/{'0' * 32}", bases.owner.private_key)
    return replace(
        bases.handed, heads=(*bases.handed.heads[:-1], head_over(bases.handed.lines, other))
    )


@record
def head_with_one_bit_turned(bases):
    note = bases.handed.heads[-1].encode()
    text, _, line = note.rpartition(b" ")
    at = 20
    other = b"A" if line[at : at + 1] != b"A" else b"B"
    forged = text + b" " + line[:at] + other + line[at + 1 :]
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], forged.decode()))


@record
def head_with_a_line_more(bases):
    head = bases.handed.heads[-1].replace("\n\n", "\nand more\n\n", 1)
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], head))


@record
def key_signs_before_it_is_added(bases):
    return bases.handed.then("key", key_body(bases.stranger), bases.stranger)


@record
def key_signs_after_it_is_gone(bases):
    second = bases.stranger
    added = bases.handed.then("key", key_body(second), bases.owner)
    gone = added.then("key", key_body(bases.owner, "lost"), second)
    return gone.then("photos", {}, bases.owner)


@record
def key_of_low_order(bases):
    """Under the neutral point a signature without any secret holds for every text."""
    name, point = bases.owner.name, b"\x01" + bytes(31)
    body = key_body(bases.owner) | {"key": write_vkey(name, b"\x01", point)}
    longer = bases.handed.then("key", body, bases.owner).then("photos", {}, None)
    head = Head.parse(SignedNote.parse(head_over(longer.lines, bases.owner)).text)
    line = NoteSignature(name, key_id(name, b"\x01", point), point + bytes(32))
    return replace(longer, heads=(*longer.heads, SignedNote(head.text(), (line,)).format()))
