"""Content Credentials in `photos` and in a dossier: two facts beside the pictures."""

from importlib import util

import pytest

from evidence.photos import credentials
from tests.conftest import needed
from tests.crediting import credited, signer
from tests.making import picture


@pytest.fixture(scope="module")
def lumen():
    needed(util.find_spec("c2pa") is not None, "c2pa-python")
    return signer()


@pytest.fixture
def taken(own, run, tmp_path, lumen):
    """Three pictures in the record: without, with, and with spoilt credentials."""
    card = tmp_path / "DCIM"
    plain = picture(card / "LF_0001.jpg", "2025:05:30 12:10:05", "-05:00", 180)
    good = credited(plain, card / "LF_0002.jpg", lumen)
    data = bytearray(good.read_bytes())
    data[-100] ^= 1
    (card / "LF_0003.jpg").write_bytes(data)
    ran = run("intake", own, card)
    assert ran.code == 0, ran.err
    return own


def facts(ran):
    return {
        row["name"]: (told := row["credentials"]) and (told["integrity"], told["trust"])
        for row in ran.json
    }  # fmt: skip


def test_a_program_gets_the_two_facts_in_a_field_of_their_own(taken, run, tmp_path, lumen):
    assert facts(run("photos", taken, "--json")) == {
        "LF_0001.jpg": None,
        "LF_0002.jpg": ("intact", "untrusted"),
        "LF_0003.jpg": ("broken", "untrusted"),
    }
    (tmp_path / "authority.pem").write_bytes(lumen.authority)
    trusting = run("photos", taken, "--trust", tmp_path / "authority.pem", "--json")
    assert facts(trusting)["LF_0002.jpg"] == ("intact", "trusted")
    again = run("photos", taken, "--json")
    assert facts(again)["LF_0002.jpg"] == ("intact", "untrusted")


def test_a_person_reads_two_sentences_and_what_the_manifest_says(taken, run):
    said = run("photos", taken).said
    assert "Content Credentials: LF_0002.jpg" in said
    assert "Integrity: signature and hashes fit the bytes of this file." in said
    assert "Trust: no certificate that was named as trusted leads to the signer." in said
    assert "Signed as Lumen cameras. Claimed by Field 3 1.0." in said
    assert "Said to be done: created (digitalCapture)." in said
    assert "they do not fit the bytes of this file (assertion.dataHash.mismatch)." in said
    assert "signingCredential" not in said


def test_the_answer_is_kept_and_taken_again_where_the_original_tells_anew(taken, run, monkeypatch):
    first = facts(run("photos", taken, "--json"))
    asked = []
    monkeypatch.setattr(
        "evidence.photos.worker.Worker.credentials",
        lambda _self, path, _anchors="": asked.append(path) or credentials.Credentials(),
    )
    assert facts(run("photos", taken, "--json")) == first
    assert asked == []
    for kept in (taken / "previews").glob("*.credentials.json"):
        kept.write_text("{}x")
    assert set(facts(run("photos", taken, "--json")).values()) == {None}
    assert len(asked) == 3


def test_without_the_reader_only_those_files_say_what_to_install(taken, run, monkeypatch):
    def missing(_self, path, _anchors=""):
        held = credentials._held(path)
        why = None if held is None else f"the reader is not installed: {credentials.INSTALL}"
        return credentials.Credentials(held=held, why=why, missing=held is not None)

    monkeypatch.setattr("evidence.photos.worker.Worker.credentials", missing)
    said = run("photos", taken).said
    told = "It bears a signed manifest; the reader is not installed: pip install"
    assert said.count(told) == 2
    monkeypatch.undo()
    assert "Integrity: signature and hashes fit" in run("photos", taken).said


def test_a_dossier_tells_them_below_the_pictures_that_bear_some(case, run, tmp_path, lumen):
    from pypdf import PdfReader

    plain = picture(tmp_path / "plain.jpg", "2025:06:08 17:40:00", "-05:00", 150)
    good = credited(plain, tmp_path / "LF_0900.jpg", lumen)
    fields = ("when=2025-06-09T09:00", "means=on-roof", "occasion=follow-up",
              "zones=field-mr:4", "incidents=i1")  # fmt: skip
    ran = run("enter", case, "inspection", *fields, "--photo", f"{good},zone=field-mr,role=close")
    assert ran.code == 0, ran.err
    out = tmp_path / "claim.pdf"
    ran = run("dossier", case, "--incident", "i1", "--out", out)
    assert ran.code == 0, ran.err
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "Content Credentials in these files" in text
    assert "Integrity: signature and hashes fit the bytes of this file." in text
    assert "Trust: no certificate that was named as trusted leads to the signer." in text
    assert run("check", out).code in (0, 3)
