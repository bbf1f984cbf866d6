"""`witness` and `cosign` as people call them."""

import base64
import re
import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from evidence.case import Draft, Record, now
from evidence.ledger import KeyStore
from evidence.witness import CosigningKey, SampleAuthority
from evidence.witnessing import signed_by
from tests.cli.conftest import WORDS, Run, last
from tests.mailing import KEY_NAME, key_record, looked_up
from tests.mailing import Draft as Letter
from tests.serving import replying, served


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("no_proxy", "*")


@pytest.fixture(scope="module")
def authority() -> SampleAuthority:
    return SampleAuthority.create(now())


@pytest.fixture
def friends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another person's machine: other keys."""
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "friend"))


def size(case: Path) -> int:
    return len(Record.open(case).lines)


def test_the_whole_online_path(run: Run, own, authority):
    before = size(own)
    with served(replying(lambda query: authority.reply(query, now()))) as url:
        ran = run("witness", own, "--tsa", url)

    assert (ran.code, ran.err) == (0, "")
    assert f"the first {before} entries existed on" in ran.said
    assert "once he has the authority's certificate from the authority" in ran.said
    assert last(own)["body"]["type"] == "rfc3161"
    checked = run("check", own, "--json")
    assert (checked.code, checked.json["result"]) == (0, "unchanged")
    (row,) = checked.json["witnesses"]
    assert (row["size"], row["trust"], row["result"]) == (before, "untrusted", "ok")


def test_a_reader_trusts_an_authority_whose_certificate_he_gives(run: Run, own, tmp_path):
    """A sample's certificate counts in samples alone, even as an anchor."""
    authority = SampleAuthority.create(now())
    with served(replying(lambda query: authority.reply(query, now()))) as url:
        run("witness", own, "--tsa", url)
    (tmp_path / "root.cer").write_bytes(authority.root_der)
    checked = run("check", own, "--trust", tmp_path / "root.cer", "--json")

    assert checked.json["witnesses"][0]["trust"] == "untrusted"


@pytest.mark.parametrize(
    ("answering", "why"),
    [
        (replying(lambda _: b"", status=500), "answers with status 500"),
        (replying(lambda _: b"hello", kind="text/html"), "not with a time stamp"),
        (replying(lambda _: b"hello"), "it cannot be read as an answer"),
    ],
)
def test_a_server_that_does_not_behave_leaves_the_record_as_it_was(run: Run, own, answering, why):
    lines = Record.open(own).lines
    with served(answering) as url:
        ran = run("witness", own, "--tsa", url)

    assert ran.code in (2, 4)
    assert why in ran.err
    assert len(ran.err.splitlines()) <= 3
    assert Record.open(own).lines == lines


def test_a_request_is_written_carried_and_its_reply_taken(run: Run, own, tmp_path, authority):
    before = size(own)
    request, reply = tmp_path / "head.tsq", tmp_path / "head.tsr"
    ran = run("witness", own, "--request", request)
    assert (ran.code, size(own)) == (0, before)
    assert f"witness {own} --reply {reply}" in ran.said

    reply.write_bytes(authority.reply(request.read_bytes(), now()))
    ran = run("witness", own, "--reply", reply, "--json")
    assert ran.code == 0
    (answer,) = ran.json["answers"]
    assert (answer["seq"], answer["size"], answer["type"]) == (before, before, "rfc3161")
    assert ran.json["head"]["size"] == before + 1


@pytest.mark.parametrize("way", ["--request", "--note", "--slip"])
def test_nothing_is_written_over_a_file_that_is_there(run: Run, own, tmp_path, way):
    (tmp_path / "head.pdf").write_bytes(b"mine")
    ran = run("witness", own, way, tmp_path / "head.pdf")

    assert ran.code == 2
    assert "is there" in ran.err
    assert (tmp_path / "head.pdf").read_bytes() == b"mine"


def test_a_letter_is_taken_with_its_key_record(run: Run, own, tmp_path):
    run("witness", own, "--note", tmp_path / "head.txt")
    note = (tmp_path / "head.txt").read_text("utf-8")
    sent = (("t", str(int(now().timestamp()))),)
    (tmp_path / "sent.eml").write_bytes(Letter(note, tags=sent).message())
    (tmp_path / "key.txt").write_bytes(key_record())
    ran = run(
        "witness", own, "--letter", tmp_path / "sent.eml", "--dns-record", tmp_path / "key.txt"
    )

    assert (ran.code, ran.err) == (0, "")
    assert "answers post.example" in ran.said
    assert "nobody vouches that it was the domain's" in ran.said
    told = run("check", own)
    assert told.code == 0
    assert "A letter, by a mail key that its keeper gave" in told.said
    refused = run("check", own, "--trust", tmp_path / "key.txt", "--json")
    assert (refused.code, "without the name under which it stood" in refused.err) == (2, True)
    assert "dig +noall +answer TXT" in refused.err
    for name, trust in ((KEY_NAME, "trusted"), ("spring._domainkey.own.example", "untrusted")):
        (tmp_path / "dig.txt").write_bytes(looked_up(name))
        checked = run("check", own, "--trust", tmp_path / "dig.txt", "--json")
        assert checked.json["witnesses"][0]["trust"] == trust


def test_a_friend_cosigns_from_his_own_installation(run: Run, own, tmp_path, monkeypatch):
    owners = tmp_path / "own" / "keys"
    head, back, again = (tmp_path / name for name in ("head.txt", "back.txt", "again.txt"))
    told = run("witness", own, "--note", head)
    (vkey,) = re.findall(r"roof-evidence/[0-9a-f]{32}\+[0-9a-f]{8}\+\S+", told.said)

    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "friend"))
    refused = run("cosign", head, "--out", back)
    assert (refused.code, "--key VKEY" in refused.err) == (2, True)
    ran = run("cosign", head, "--key", vkey, "--out", back, "--json")
    assert ran.code == 0
    assert ran.json["head"]["size"] == size(own)
    key = ran.json["key"]

    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(owners))
    refused = run("witness", own, "--cosigned", back)
    assert (refused.code, "Enter the cosigner's party" in refused.err) == (2, True)
    run("enter", own, "party", "id=friend", "name=F. Friend", "role=witness")
    run("enter", own, "key", "party=friend", "event=added", f"key={key}", "use=cosign")
    ran = run("witness", own, "--cosigned", back)
    assert (ran.code, ran.err) == (0, "")
    assert "answers F. Friend (roof-evidence-cosigner/" in ran.said
    assert "A cosigner, by a key that the record alone names" in run("check", own).said

    # a later head wants the proof that it continues
    seen = size(own) - 3
    run("witness", own, "--note", tmp_path / "bare.txt")
    run("witness", own, "--note", tmp_path / "proved.txt", "--seen", seen)
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "friend"))
    refused = run("cosign", tmp_path / "bare.txt", "--out", again)
    assert (refused.code, f"--seen {seen}" in refused.err) == (2, True)
    ran = run("cosign", tmp_path / "proved.txt", "--out", again)
    assert ran.code == 0
    head, here = (
        Record.open(own).contents.heads[-1].split("\n")[:3],
        ran.said.partition("is written"),
    )
    assert all(line in here[0] for line in head[:2])
    assert base64.b64decode(head[2]).hex() in here[0]
    assert "signed by the key that you know of this record" in here[0]
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(owners))
    assert run("witness", own, "--cosigned", again).code == 0
    assert run("check", own).code == 0


def test_a_cosigning_key_needs_a_passphrase(run: Run, own, tmp_path, friends, monkeypatch):
    run("witness", own, "--note", tmp_path / "head.txt")
    vkey = signed_by(Record.open(own))
    monkeypatch.delenv("ROOF_EVIDENCE_PASSPHRASE")
    ran = run("cosign", tmp_path / "head.txt", "--key", vkey, "--out", tmp_path / "back.txt")

    assert ran.code == 2
    assert "locks your cosigning key" in ran.err
    assert not (tmp_path / "friend").exists()


def test_an_answer_ahead_of_this_machines_clock_is_not_taken(run: Run, own):
    ahead, lines = now() + timedelta(days=3), Record.open(own).lines
    authority = SampleAuthority.create(ahead)
    with served(replying(lambda query: authority.reply(query, ahead))) as url:
        ran = run("witness", own, "--tsa", url)

    assert ran.code == 2
    assert "later than this machine's clock" in ran.err
    assert Record.open(own).lines == lines


def test_a_clock_that_disagrees_is_told_at_once(run: Run, own):
    behind = now() - timedelta(days=3)
    authority = SampleAuthority.create(behind)
    with served(replying(lambda query: authority.reply(query, behind))) as url:
        ran = run("witness", own, "--tsa", url)

    assert ran.code == 0
    assert "clock and this machine's disagree" in ran.said


@pytest.mark.parametrize(
    "options",
    [
        [],
        ["--tsa", "http://tsa.example/", "--reply", "a.tsr"],
        ["--letter", "a.eml"],
        ["--dns-record", "key.txt", "--note", "a"],
        ["--request", "a.tsq", "--seen", "3"],
    ],
)
def test_one_way_at_a_time(run: Run, own, options):
    ran = run("witness", own, *options)

    assert ran.code == 2
    assert "roof-evidence witness --help" in ran.err


def test_a_file_that_is_not_there_is_told(run: Run, own):
    ran = run("witness", own, "--reply", own / "none.tsr")

    assert (ran.code, "cannot be read" in ran.err) == (2, True)


def test_an_older_copy_of_the_case_is_told_by_an_answer_over_the_newer(
    run: Run, own, tmp_path, authority
):
    older = Path(shutil.copytree(own, tmp_path / "older"))
    run("enter", own, "photos", "note=one more")
    run("witness", own, "--request", tmp_path / "head.tsq")
    (tmp_path / "a.tsr").write_bytes(authority.reply((tmp_path / "head.tsq").read_bytes(), now()))
    ran = run("witness", older, "--reply", tmp_path / "a.tsr")

    assert ran.code == 2
    assert "no head that this record holds" in ran.err
    assert "an older copy" in ran.err


def test_nobody_is_asked_for_a_party_that_the_record_does_not_have(run: Run, own, authority):
    """An answer that was asked for and paid for would be lost for a word."""
    asked = []
    with served(
        replying(lambda query: asked.append(query) or authority.reply(query, now()))
    ) as url:
        ran = run("witness", own, "--tsa", url, "--by", "nobody")

    assert (ran.code, "nobody" in ran.err, "owner" in ran.err) == (2, True, True)
    assert asked == []


def test_what_is_handed_out_is_said_in_full(run: Run, own, tmp_path):
    """A note is more than a hash: who gets it can tell the case again, and how long it is."""
    ran = run("witness", own, "--note", tmp_path / "head.txt")
    assert (
        "the case's id, the number of its entries, the root over them and the owner's" in ran.said
    )
    assert "a hash, and nothing else" not in ran.said
    ran = run("witness", own, "--request", tmp_path / "head.tsq")
    assert "a hash, and nothing else of the record" in ran.said


def test_a_slip_is_printed_of_a_record_with_a_cosigners_key(run: Run, own, tmp_path, friends):
    """A neighbour's key stands in the record. The slip is signed by the owner's alone."""
    key = CosigningKey.generate().cosigner.vkey
    record = Record.open(own)
    added = Draft("key", {"party": "owner", "event": "added", "key": key, "use": "cosign"}, "owner")
    keys = KeyStore(tmp_path / "own" / "keys").load(record.case.case_id, WORDS)
    record.write([added], keys.signer)
    ran = run("witness", own, "--slip", tmp_path / "slip.pdf")

    assert (ran.code, ran.err) == (0, "")
    assert (tmp_path / "slip.pdf").read_bytes().startswith(b"%PDF")


def test_what_is_cosigned_is_shown_first_and_may_be_forgotten(run: Run, own, tmp_path, friends):
    run("witness", own, "--note", tmp_path / "head.txt")
    record = Record.open(own)
    origin, vkey = f"roof-evidence/{record.case.case_id}", signed_by(record)
    ran = run("cosign", tmp_path / "head.txt", "--key", vkey, "--out", tmp_path / "back.txt")
    assert ran.code == 0
    shown = ran.said.partition("is written")[0]
    assert "It is the first of this record that you cosign. Its key is remembered" in shown
    assert "nobody vouches for but the person who gave it to you" in shown
    assert all(part in shown for part in (origin, str(size(own)), vkey))

    ran = run("cosign", "--forget", origin)
    assert (ran.code, f"Forgotten: {origin} with {size(own)} entries" in ran.said) == (0, True)
    assert run("cosign", "--forget", origin).code == 2
    assert run("cosign", "--forget", origin, "--out", "a.txt").code == 2
    assert run("cosign", tmp_path / "head.txt").code == 2


def test_a_place_that_is_taken_is_told_before_anything_is_signed(run: Run, own, tmp_path, friends):
    """What is signed is remembered: the head would count as cosigned, and nobody have it."""
    run("witness", own, "--note", tmp_path / "head.txt")
    vkey = signed_by(Record.open(own))
    ran = run("cosign", tmp_path / "head.txt", "--key", vkey, "--out", tmp_path / "head.txt")

    assert (ran.code, "is there already" in ran.err) == (2, True)
    assert not (tmp_path / "friend").exists()
