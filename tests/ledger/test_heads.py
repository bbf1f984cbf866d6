"""C2SP checkpoints: the signed head of the record."""

import json

import pytest

from evidence.errors import RefusedError
from evidence.ledger.heads import Head, origin_of, sign_head
from evidence.ledger.notes import SignedNote, Signer, open_note

ROOT = bytes(range(32))
ROOT_TEXT = "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="


def test_a_head_is_three_lines():
    head = Head("roof-evidence/00", 41, ROOT)
    assert head.text() == f"roof-evidence/00\n41\n{ROOT_TEXT}\n"
    assert Head.parse(head.text()) == head


def test_the_checkpoints_printed_elsewhere_are_read(shared_vectors):
    # C2SP/C2SP tlog-checkpoint.md (parse only: its signature is another log's) and the Go checksum
    # database's head, in transparency-dev/formats.
    rows = json.loads((shared_vectors / "c2sp_notes.json").read_text("utf-8"))
    sizes = {
        row["name"]: Head.parse(SignedNote.parse(row["note"]).text).size
        for row in rows["verify"] + rows["parse_only_or_reject"]
        if "checkpoint" in row["name"] or row["name"] == "cosignature-v1-real"
    }
    assert sizes == {
        "checkpoint-three-signers": 6476701,
        "cosignature-v1-real": 1432088532,
        "c2sp-checkpoint-doc-example": 20852163,
    }


def test_a_signed_head_is_opened_by_its_key(signer):
    head = Head(signer.name, 5, ROOT)
    note = SignedNote.parse(sign_head(head, signer).format())
    assert Head.parse(note.text) == head
    assert open_note(note, [signer.verifier]) == [signer.verifier]


def test_a_key_of_another_name_does_not_sign(signer):
    with pytest.raises(RefusedError, match="does not sign for"):
        sign_head(Head(signer.name, 5, ROOT), Signer.from_seed("other", bytes(32)))


def test_two_cases_have_two_origins():
    assert origin_of("0" * 32) == f"roof-evidence/{'0' * 32}"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n",
        f"name\n1\n{ROOT_TEXT}",  # no newline at the end
        f"name\n1\n{ROOT_TEXT}\nmore",
        f"\n1\n{ROOT_TEXT}\n",
        f"name\n\n{ROOT_TEXT}\n",
        f"name\n01\n{ROOT_TEXT}\n",
        f"name\n+1\n{ROOT_TEXT}\n",
        f"name\n-1\n{ROOT_TEXT}\n",
        f"name\n1_0\n{ROOT_TEXT}\n",
        f"name\n٣\n{ROOT_TEXT}\n",
        f"name\r\n1\n{ROOT_TEXT}\n",
        f"name\n1\n{ROOT_TEXT[:-1]}\n",
        f"name\n1\n{ROOT_TEXT[:-2]}9=\n",
        "name\n1\nAAAA\n",
        "name\n1\n\n",
    ],
)
def test_another_form_is_refused(text):
    with pytest.raises(RefusedError):
        Head.parse(text)


@pytest.mark.parametrize("extension", ["more", ""])
def test_extension_lines_are_refused_by_name(extension):
    with pytest.raises(RefusedError, match="extension lines"):
        Head.parse(f"name\n1\n{ROOT_TEXT}\n{extension}\n")


@pytest.mark.parametrize(("size", "root"), [(-1, ROOT), (1, ROOT[:-1]), (1, b"")])
def test_a_head_without_a_size_or_a_root_cannot_be_made(size, root):
    with pytest.raises(RefusedError):
        Head("name", size, root)


def test_an_origin_may_hold_a_space_and_a_record_may_be_empty():
    head = Head("my log", 0, bytes(32))
    assert Head.parse(head.text()) == head


def test_what_is_no_head_is_named_with_the_reason(signer):
    root = bytes(32)
    for origin in ("", "a\tb"):
        with pytest.raises(RefusedError) as told:
            Head(origin, 1, root)
        assert str(told.value) == f"origin {origin!r}: is empty or not clean text"
    with pytest.raises(RefusedError) as told:
        Head("log", -1, root)
    assert str(told.value) == "head: has a size below 0, or a root that is not 32 bytes"
    with pytest.raises(RefusedError) as told:
        sign_head(Head("log", 1, root), signer)
    assert str(told.value) == f"key {signer.name!r}: does not sign for 'log'"
