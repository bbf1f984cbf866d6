"""`witness` and `cosign` as people call them."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from evidence.case import Record, now
from evidence.witness import SampleAuthority
from tests.cli.conftest import Run, last
from tests.mailing import Draft as Letter
from tests.mailing import KEY_NAME, key_record, looked_up
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


def test_nothing_is_written_over_a_file_that_is_there(run: Run, own, tmp_path):
    (tmp_path / "head.tsq").write_bytes(b"mine")
    ran = run("witness", own, "--request", tmp_path / "head.tsq")

    assert ran.code == 2
    assert "is there already" in ran.err
    assert (tmp_path / "head.tsq").read_bytes() == b"mine"


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
    run("witness", own, "--note", head)

    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "friend"))
    ran = run("cosign", head, "--out", back, "--json")
    assert ran.code == 0
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
    assert run("cosign", tmp_path / "proved.txt", "--out", again).code == 0
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(owners))
    assert run("witness", own, "--cosigned", again).code == 0
    assert run("check", own).code == 0


def test_a_cosigning_key_needs_a_passphrase(run: Run, own, tmp_path, friends, monkeypatch):
    run("witness", own, "--note", tmp_path / "head.txt")
    monkeypatch.delenv("ROOF_EVIDENCE_PASSPHRASE")
    ran = run("cosign", tmp_path / "head.txt", "--out", tmp_path / "back.txt")

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
