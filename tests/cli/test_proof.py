"""`dossier` and `check`: what leaves the house, and what a stranger does with it."""

import json
import shutil
from hashlib import sha256

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from evidence.case import Record
from evidence.cli.checked import _anchored
from evidence.ledger import Signer, origin_of
from evidence.witness import Trust
from tests.cli.conftest import ON, last, state
from tests.packing import packed

# dossier


def test_a_dossier_is_signed_written_down_and_told(case, run, tmp_path):
    out = tmp_path / "claim.pdf"
    ran = run(
        "dossier", case, "--incident", "i1", "--on", ON, "--for", "the adjuster", "--out", out
    )
    assert ran.code == 0, ran.err
    digest = sha256(out.read_bytes()).hexdigest()
    assert f"{out} is signed and written down as entry 19." in ran.said
    assert f"Its SHA-256 is {digest}." in ran.said
    assert f"  roof-evidence check {out}\n" in ran.out
    assert last(case)["body"]["file"] == digest
    assert last(case)["body"]["for"] == "the adjuster"


def test_a_program_is_answered_with_file_sum_and_seq(case, run, tmp_path):
    out = tmp_path / "claim.pdf"
    document = run("dossier", case, "--on", ON, "--out", out, "--json").json
    assert document == {
        "file": str(out),
        "sha256": sha256(out.read_bytes()).hexdigest(),
        "seq": 18,
    }


def test_attach_and_max_mb_decide_what_goes_with_it(case, run, tmp_path):
    from evidence.dossier.attachments import extract

    def originals(*options: str) -> int:
        out = tmp_path / f"claim{'-'.join(options)}.pdf"
        assert run("dossier", case, "--on", ON, *options, "--out", out).code == 0
        return sum(name.startswith("original-") for name in extract(out.read_bytes()))

    assert originals() == 3
    assert originals("--attach", "none") == 0
    assert originals("--max-mb", "0") == 0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--form", "poem"], "Forms: claim"),
        (["--form", "letter"], "Forms made: claim"),
        (["--incident", "i2"], "On record: i1."),
        (["--on", "yesterday"], "is not a date"),
        (["--trust", "nowhere.pem"], "nowhere.pem"),
    ],
)
def test_what_cannot_be_issued_is_refused_and_nothing_is_written(
    options, said, case, run, tmp_path
):
    before = state(case)
    ran = run("dossier", case, *options, "--out", tmp_path / "claim.pdf")
    assert ran.code == 2
    assert said in ran.err
    assert len(ran.err.splitlines()) <= 3
    assert state(case) == before
    assert not (tmp_path / "claim.pdf").exists()


def test_a_folder_in_the_files_place_is_refused_before_anything_is_written(case, run, tmp_path):
    before = state(case)
    ran = run("dossier", case, "--on", ON, "--out", tmp_path)
    assert (ran.code, "is a directory" in ran.err) == (2, True)
    assert state(case) == before


def test_a_case_without_an_incident_has_nothing_to_claim(own, run, tmp_path):
    ran = run("dossier", own, "--out", tmp_path / "claim.pdf")
    assert (ran.code, "none; enter it first" in ran.err) == (2, True)


# check


def test_a_case_and_a_dossier_that_nobody_touched_are_unchanged(built, dossier, run):
    for path, steps in ((built, 8), (dossier, 10)):
        ran = run("check", path)
        assert ran.code == 0
        assert ran.lines[0] == "Unchanged: all of it is as it was sealed."
        numbers = [line.split()[0] for line in ran.lines if line[:5].strip().isdigit()]
        assert numbers == [str(n) for n in range(1, steps + 1)]


def test_the_result_is_told_with_its_anchor(built, run):
    said = run("check", built).said
    assert "This is a sample: an invented case." in said
    assert (
        "The sample's own outsider, who vouches for nothing, answers that the first 15 entries "
        "existed on 2025-06-08 22:51 UTC"
    ) in said


def test_without_an_outsider_nobody_vouches(own, run):
    ran = run("check", own)
    assert "Nobody but the owner vouches for any date here." in ran.out
    assert "sample" not in ran.out.lower()
    assert run("check", own, "--json").json["anchored_to"] is None


def test_the_anchor_says_how_far_the_outsider_can_be_trusted(built):
    from dataclasses import replace

    from evidence.check import check_path

    anchor = check_path(built).anchor
    assert anchor is not None
    assert _anchored(None) == "Nobody but the owner vouches for any date here."
    assert _anchored(replace(anchor, trust=Trust.TRUSTED)).startswith("An outsider whom you trust")
    assert "did not give" in _anchored(replace(anchor, trust=Trust.UNTRUSTED))


def test_the_report_as_json_is_the_document_of_the_contract(dossier, run):
    ran = run("check", dossier, "--json")
    document = ran.json
    assert document.keys() == {
        "target", "sample", "result", "anchored_to", "steps", "ledger", "heads", "witnesses",
        "originals", "dossier", "pack", "earlier",
    }  # fmt: skip
    assert (document["target"], document["sample"], document["result"]) == (
        "dossier",
        True,
        "unchanged",
    )
    assert [step["n"] for step in document["steps"]] == list(range(1, 11))
    assert document["dossier"]["figures_match"] == "yes"


def test_a_missing_original_leaves_with_3_and_is_named(case, run):
    victim = next((case / "originals").glob("*.jpg"))
    victim.unlink()
    ran = run("check", case)
    assert ran.code == 3
    assert ran.lines[0] == "Incomplete: nothing was changed, but something is missing."
    assert "originals MISSING" in ran.said
    assert run("check", case, "--json").json["originals"]["missing"] == [victim.stem]


def test_a_changed_original_leaves_with_4_and_is_named(case, run):
    victim = next((case / "originals").glob("*.jpg"))
    data = bytearray(victim.read_bytes())
    data[200] ^= 1
    victim.write_bytes(bytes(data))
    ran = run("check", case)
    assert ran.code == 4
    assert ran.lines[0] == "CHANGED: it is not what was sealed."
    assert "originals CHANGED" in ran.said
    assert run("check", case, "--json").json["originals"]["changed"] == [victim.stem]


def test_one_byte_of_a_dossier_leaves_with_4(dossier, run, tmp_path):
    data = bytearray(dossier.read_bytes())
    data[len(data) // 2] ^= 1
    (tmp_path / "claim.pdf").write_bytes(bytes(data))
    ran = run("check", tmp_path / "claim.pdf")
    assert ran.code == 4
    assert "dossier signature CHANGED" in ran.said


@pytest.mark.parametrize("kind", ["nowhere", "folder", "text", "unsigned"])
def test_what_is_no_case_and_no_dossier_is_wrong_use(kind, run, tmp_path):
    from tests.dossier.making import pages

    path = tmp_path / "given.pdf"
    if kind == "folder":
        path.mkdir()
    elif kind == "text":
        path.write_text("a letter")
    elif kind == "unsigned":
        path.write_bytes(pages("a letter"))
    ran = run("check", path)
    assert ran.code == 2
    assert len(ran.err.splitlines()) <= 3


# --trust


def authority(case) -> x509.Certificate:
    """The certificate that the sample's outsider answers with."""
    from rfc3161_client import decode_timestamp_response

    record = Record.open(case)
    entry = next(entry for entry in record.entries if entry.kind == "witness")
    answer = decode_timestamp_response(record.original(entry.files[0].sha256).read_bytes())
    certificates = [x509.load_der_x509_certificate(der) for der in answer.signed_data.certificates]
    return next(c for c in certificates if c.issuer == c.subject)


@pytest.mark.parametrize("encoding", [Encoding.PEM, Encoding.DER])
def test_an_outsider_whose_certificate_is_given_is_trusted(encoding, built, run, tmp_path):
    anchor = tmp_path / "outsider.cer"
    anchor.write_bytes(authority(built).public_bytes(encoding))
    document = run("check", built, "--trust", anchor, "--json").json
    assert document["anchored_to"]["trust"] in ("trusted", "sample")
    assert document["result"] == "unchanged"


def test_a_certificate_that_is_none_or_is_not_there_is_refused(built, run, tmp_path):
    (tmp_path / "letter.pem").write_text("a letter")
    (tmp_path / "cut.pem").write_text(
        "-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"
    )
    for name, said in (("letter.pem", "holds no certificate"), ("cut.pem", "holds no certificate"),
                       ("nowhere.pem", "cannot be read")):  # fmt: skip
        ran = run("check", built, "--trust", tmp_path / name)
        assert (ran.code, said in ran.err) == (2, True), name


def test_the_manifest_names_the_trust_that_the_figures_rest_on(dossier):
    from evidence.dossier.attachments import extract

    standing = json.loads(extract(dossier.read_bytes())["standing.json"])
    assert {row["trust"] for row in standing["case"]["witnesses"]} == {"sample"}


# An earlier state, and a key told by another way


def test_an_earlier_state_is_told_with_what_came_since(own, run, tmp_path):
    earlier = shutil.copytree(own, tmp_path / "earlier")
    assert run("enter", own, "photos").code == 0

    ran = run("check", own, "--earlier", earlier)
    number = len(Record.open(own).lines)
    assert ran.code == 0
    assert "The record extends the earlier state by 1 entry." in ran.said
    assert f"entry {number} photos" in ran.said
    ran = run("check", earlier, "--earlier", own, "--json")
    assert ran.code == 4
    assert (ran.json["result"], ran.json["earlier"]["result"]) == ("changed", "shortened")


def test_a_fork_is_told_to_be_no_merge_and_leaves_with_4(own, run, tmp_path):
    other = shutil.copytree(own, tmp_path / "other")
    run("enter", own, "photos", "note=here")
    run("enter", other, "photos", "note=there")

    ran = run("check", own, "--earlier", other)
    assert ran.code == 4
    assert "Neither is merged into the other" in ran.said
    assert "CHANGED: it does not continue what was shown earlier." in ran.said


def test_an_earlier_state_of_another_record_leaves_with_2(own, built, run):
    ran = run("check", own, "--earlier", built)
    assert ran.code == 2
    assert "is another record than the earlier one" in ran.said
    assert ran.said.startswith("UNRELATED: this is another record than the one")
    assert "Unchanged" not in ran.said


def test_the_key_of_another_case_is_not_said_to_find_a_change(own, run, tmp_path):
    """The reader has two cases of one keeper and gives the key of the other: nothing was changed,
    and it is not the record that he was told of."""
    other = Signer.generate(origin_of("1" * 32)).verifier.vkey
    ran = run("check", own, "--key", other)
    assert ran.code == 4
    assert ran.said.startswith("ANOTHER RECORD: this is not the record of the key that you named.")
    assert "not what was sealed" not in ran.said
    found = run("check", own, "--key", other, "--json").json
    assert found["heads"]["not_signed_by"] == [other]
    assert found["heads"]["bad"] == []


def test_originals_that_no_entry_names_are_a_note_and_no_change(own, run):
    """A write that was cut off, or somebody's copy: neither changes the record."""
    assert run("check", own, "--json").json["originals"]["unnamed"] == []
    stray = own / "originals" / f"{64 * 'a'}.jpg"
    stray.write_bytes(b"a picture")
    ran = run("check", own)
    assert ran.code == 0
    assert f"here, though no entry names it: {stray.name[:40]}" in ran.said
    assert run("check", own, "--json").json["originals"]["unnamed"] == [stray.name]


def test_a_pack_is_an_earlier_state_and_any_other_zip_is_none(own, run, tmp_path):
    pack = packed(own, tmp_path / "pack.zip").path
    assert run("check", own, "--earlier", pack).code == 0
    pack.write_bytes(b"PK\x03\x04" + bytes(60))
    ran = run("check", own, "--earlier", pack)
    assert ran.code == 2
    assert "is not put together as a pack is" in ran.err


def test_a_key_that_the_reader_was_told_is_looked_for(own, run):
    named = run("key", own, "--json").json[0]["key"]
    ran = run("check", own, "--key", named)
    assert ran.code == 0
    assert "the first head by the key that you named" in ran.said
    paper = run("key", own, "--json").json[1]["key"]
    ran = run("check", own, "--key", paper)
    assert ran.code == 4
    assert "no head is signed by the key that you named" in ran.said


@pytest.mark.parametrize("kind", [b"\x01", b"\x04"])
@pytest.mark.parametrize("weak", [bytes(32), bytes([1]) + bytes(31), b"\xec" + b"\xff" * 31])
def test_a_key_of_low_order_is_never_taken_on_trust(own, run, kind, weak):
    from evidence.ledger.vkeys import write_vkey

    ran = run("check", own, "--key", write_vkey("roof-evidence/x", kind, weak))
    assert ran.code == 2
    assert "low order" in ran.err


@pytest.mark.parametrize("text", ["", "abcd-1234", "a+b+c", "a+00000000+AQ=="])
def test_what_is_no_key_is_wrong_use(own, run, text):
    assert run("check", own, "--key", text).code == 2
