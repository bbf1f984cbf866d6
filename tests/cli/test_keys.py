"""`key`, and what is asked for where a secret is needed."""

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, NoEncryption
from cryptography.hazmat.primitives.serialization.pkcs12 import serialize_key_and_certificates

from evidence.case import Record
from evidence.cli import common
from evidence.cli.common import PASSPHRASE
from evidence.cli.handed import PKCS12_PASSPHRASE, read_pkcs12
from evidence.cli.keys import RECOVERY_KEY
from evidence.ledger import Signer
from tests.cli.conftest import OPENING, WORDS, Run
from tests.near import NearWorker

SECRET = "three green gutters"


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr("evidence.ledger.pkcs8.ROUNDS", 1000)
    monkeypatch.setattr("evidence.photos.crew.Worker", NearWorker)
    monkeypatch.delenv(RECOVERY_KEY, raising=False)
    monkeypatch.delenv(PKCS12_PASSPHRASE, raising=False)


@pytest.fixture
def fresh(tmp_path, monkeypatch, run: Run) -> tuple[Path, str]:
    """A case started by hand, and the recovery key that was printed."""
    (tmp_path / "start.json").write_text(json.dumps(OPENING))
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    ran = run("start", tmp_path / "rig", "--from", tmp_path / "start.json", "--json")
    return tmp_path / "rig", ran.json["recovery_key"]


def listed(run: Run, case: Path) -> list[dict]:
    return run("key", case, "--json").json


def test_the_keys_that_stand_are_listed_with_where_they_are(fresh, run):
    case, _ = fresh
    rows = listed(run, case)
    assert [(row["on_this_device"], row["on_paper"]) for row in rows] == [
        (True, False),
        (False, True),
    ]
    said = run("key", case).said
    assert "on this device" in said
    assert "on paper" in said
    assert all(row["id"] in said for row in rows)


def test_the_key_to_be_told_is_the_one_that_the_record_was_started_with(fresh, run):
    case, _ = fresh
    first = listed(run, case)[0]["key"]
    assert run("key", case, "replace").code == 0
    assert first in run("key", case).said
    ran = run("check", case, "--key", first, "--json")
    assert ran.code == 0
    assert "the first head by the key that you named" in ran.json["steps"][3]["detail"]


def test_a_lost_laptop_is_recovered_from_the_paper_on_a_new_machine(
    fresh, run, tmp_path, monkeypatch
):
    """From the printed key to a signed entry, as a person does it."""
    case, paper = fresh
    moved = Path(shutil.copytree(case, tmp_path / "elsewhere" / "rig"))
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "new machine"))
    monkeypatch.setenv(PASSPHRASE, SECRET)
    assert run("enter", moved, "photos").code == 3

    assert run("key", moved, "recover").code == 2
    monkeypatch.setenv(RECOVERY_KEY, paper)
    ran = run("key", moved, "recover", "--lost", listed(run, moved)[0]["id"])
    assert ran.code == 0, ran.err
    assert "is added" in ran.said
    assert "is lost" in ran.said
    monkeypatch.delenv(RECOVERY_KEY)
    assert run("enter", moved, "photos").code == 0
    ran = run("key", moved, "paper", "--json")
    assert ran.code == 0
    assert ran.json["recovery_key"] != paper
    assert run("check", moved).code == 0
    assert "extends by" not in run("check", moved, "--earlier", case).said
    assert run("check", moved, "--earlier", case).code == 0

    for secret in (paper, paper.replace("-", ""), SECRET, ran.json["recovery_key"]):
        for path in (p for p in tmp_path.rglob("*") if p.is_file() and p.suffix != ".json"):
            assert secret.encode() not in path.read_bytes(), path


def test_a_recovery_marks_no_key_as_lost_that_was_not_named(fresh, run, tmp_path, monkeypatch):
    """A second device is set up from the paper, and the first one is healthy."""
    case, paper = fresh
    laptop = listed(run, case)[0]["id"]
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "tablet"))
    monkeypatch.setenv(RECOVERY_KEY, paper)
    ran = run("key", case, "recover")
    assert ran.code == 0, ran.err
    assert f"May still sign: {laptop}. If one is lost:" in ran.said
    assert laptop in [row["id"] for row in listed(run, case)]
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    assert run("enter", case, "photos").code == 0


def test_at_a_terminal_it_is_asked_which_keys_are_lost_and_the_paper_is_not_echoed(
    fresh, run, tmp_path, monkeypatch
):
    case, paper = fresh
    laptop = listed(run, case)[0]["id"]
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "tablet"))
    monkeypatch.setattr(common, "interactive", lambda: True)
    hidden = {}

    def prompt(text, *_, **named):
        hidden[text] = named.get("hide_input", False)
        return paper if text.startswith("Recovery key") else laptop

    monkeypatch.setattr(click, "prompt", prompt)
    ran = run("key", case, "recover")
    assert ran.code == 0, ran.err
    assert f"key {laptop} is lost" in ran.said
    assert list(hidden.values()) == [True, False]


def test_a_key_that_came_by_entry_is_not_said_to_be_on_paper(fresh, run):
    """Somebody enters a key that he made elsewhere; nobody printed it."""
    case, _ = fresh
    origin = Record.open(case).entries[1].raw["key"].partition("+")[0]
    vkey = Signer.generate(origin).verifier.vkey
    ran = run("enter", case, "key", "party=owner", "event=added", f"key={vkey}", "use=log")
    assert ran.code == 0, ran.err
    row = listed(run, case)[-1]
    assert (row["on_paper"], row["on_this_device"]) == (False, False)
    assert "named without a certificate" in run("key", case).said


def test_no_entry_takes_away_the_last_key_that_may_sign(fresh, run, tmp_path):
    case, _ = fresh
    own, paper = (row["key"] for row in listed(run, case))
    gone = ("party=owner", "event=lost", "use=log")
    assert run("enter", case, "key", f"key={paper}", *gone).code == 0
    body = {"party": "owner", "event": "lost", "use": "log", "key": own}
    (tmp_path / "last.json").write_text(json.dumps(body))
    for ran in (
        run("enter", case, "key", f"key={own}", *gone),
        run("enter", case, "key", "--from", tmp_path / "last.json"),
    ):
        assert ran.code == 2
        assert "is the last one that may sign" in ran.err
    assert run("enter", case, "photos").code == 0


def test_a_mistyped_recovery_key_is_refused_without_being_told(fresh, run, monkeypatch):
    case, paper = fresh
    typed = ("B" if paper[0] == "A" else "A") + paper[1:]
    monkeypatch.setenv(RECOVERY_KEY, typed)
    ran = run("key", case, "recover")
    assert ran.code == 2
    assert "group by group" in ran.err
    assert typed not in ran.err
    assert len(Record.open(case).heads) == 1


def test_a_second_device_offers_its_key_and_signs_once_it_is_added(
    fresh, run, tmp_path, monkeypatch
):
    case, _ = fresh
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "tablet"))
    monkeypatch.setenv(PASSPHRASE, SECRET)
    ran = run("key", case, "offer", tmp_path / "offer.json")
    assert ran.code == 0
    assert run("key", case, "offer", tmp_path / "offer.json").code == 2

    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    ran = run("key", case, "add", tmp_path / "offer.json", "--json")
    assert ran.code == 0
    assert ran.json["entries"][0]["event"] == "added"

    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "tablet"))
    monkeypatch.setenv(PASSPHRASE, SECRET)
    assert run("enter", case, "photos").code == 0
    here = [row["on_this_device"] for row in listed(run, case)]
    assert here == [False, False, True]
    laptop = listed(run, case)[0]["id"]
    assert run("key", case, "lost", laptop, "--why", "left on a train").code == 0
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    ran = run("enter", case, "photos")
    assert ran.code == 2
    assert "none that the record allows" in ran.err
    assert run("check", case).code == 0


def test_new_keys_on_the_same_device_ask_once_for_the_passphrase(fresh, run, monkeypatch):
    case, _ = fresh
    monkeypatch.delenv(PASSPHRASE)
    monkeypatch.setattr(common, "interactive", lambda: True)
    asked = []
    monkeypatch.setattr(click, "prompt", lambda text, **_: asked.append(text) or WORDS)
    before = listed(run, case)[0]["key"]

    assert run("key", case, "replace", "--why", "somebody looked on").code == 0
    assert asked == ["Passphrase"]
    assert before not in [row["key"] for row in listed(run, case)]


def test_a_wrong_passphrase_is_forgotten_and_never_told(fresh, run, monkeypatch, caplog):
    case, _ = fresh
    monkeypatch.delenv(PASSPHRASE)
    monkeypatch.setattr(common, "interactive", lambda: True)
    monkeypatch.setattr(click, "prompt", lambda *_, **__: SECRET)
    ran = run("key", case, "replace")
    assert ran.code == 2
    assert SECRET not in ran.out + ran.err + caplog.text
    assert common._given_once == {}


@pytest.mark.parametrize(
    "words",
    [
        ("offer",),
        ("add",),
        ("retire",),
        ("list", "x"),
        ("paper", "x"),
        ("replace", "--lost", "0000-0000"),
        ("recover", "--pkcs12", "x"),
        ("steal",),
        ("retire", "0000-0000"),
        ("add", "absent.json"),
        ("offer", "absent/offer.json"),
    ],
)
def test_what_makes_no_sense_is_wrong_use_and_changes_nothing(fresh, run, words):
    case, _ = fresh
    before = Record.open(case).contents
    ran = run("key", case, *words)
    assert ran.code in (2, 3), ran.err
    assert len(ran.err.splitlines()) <= 3
    assert Record.open(case).contents == before


# A certificate of one's own


def issued_to(name: str, key, *, days: int = 30, signing: bool = True) -> x509.Certificate:
    """What an invented authority issues; its own certificate goes nowhere."""
    authority = ec.generate_private_key(ec.SECP256R1())
    begins = datetime.now(UTC) - timedelta(days=10)
    usage = dict.fromkeys(
        ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign",
         "encipher_only", "decipher_only"), False,
    )  # fmt: skip
    common_name = x509.NameOID.COMMON_NAME
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(common_name, name)]))
        .issuer_name(x509.Name([x509.NameAttribute(common_name, "Invented Authority")]))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=days))
        .add_extension(
            x509.KeyUsage(digital_signature=True, content_commitment=signing, **usage),
            critical=True,
        )
        .sign(authority, hashes.SHA256())
    )


def pkcs12(path: Path, key, certificate, secret: str | None = SECRET) -> Path:
    locked = NoEncryption() if secret is None else BestAvailableEncryption(secret.encode())
    path.write_bytes(serialize_key_and_certificates(b"own", key, certificate, None, locked))
    return path


@pytest.fixture(params=["P-256", "RSA"])
def own_p12(request, tmp_path) -> Path:
    p256 = request.param == "P-256"
    key = ec.generate_private_key(ec.SECP256R1()) if p256 else rsa.generate_private_key(65537, 2048)
    return pkcs12(tmp_path / "own.p12", key, issued_to("A. Holder (certified)", key))


@pytest.mark.parametrize("when", ["at the start", "later"])
def test_dossiers_are_signed_with_the_user_s_own_certificate(
    run, tmp_path, monkeypatch, own_p12, when
):
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    monkeypatch.setenv(PKCS12_PASSPHRASE, SECRET)
    (tmp_path / "start.json").write_text(json.dumps(OPENING))
    case, at_start = tmp_path / "rig", ("--pkcs12", own_p12) if when == "at the start" else ()
    ran = run("start", case, "--from", tmp_path / "start.json", *at_start)
    assert ran.code == 0, ran.err
    if when == "later":
        assert run("key", case, "replace", "--pkcs12", own_p12).code == 0
    monkeypatch.delenv(PKCS12_PASSPHRASE)
    incident = ("id=b1", "stated_cause=branch", "when=2025-06-08", "known=seen", "zones=vent-1")
    assert run("enter", case, "incident", *incident).code == 0

    out = tmp_path / "claim.pdf"
    ran = run("dossier", case, "--out", out, "--json")
    assert ran.code == 0, ran.err
    ran = run("check", out, "--json")
    assert ran.code == 0, ran.out
    assert ran.json["dossier"]["signer"] == "A. Holder (certified)"
    assert ran.json["dossier"]["level"] == "B-B"
    for folder in (case, tmp_path / "laptop"):
        for path in (path for path in folder.rglob("*") if path.is_file()):
            assert SECRET.encode() not in path.read_bytes(), path


def test_a_certificate_that_cannot_sign_a_dossier_is_refused_before_a_case_is_made(
    run, tmp_path, monkeypatch
):
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "laptop"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    monkeypatch.setenv(PKCS12_PASSPHRASE, SECRET)
    (tmp_path / "start.json").write_text(json.dumps(OPENING))
    p256 = ec.generate_private_key(ec.SECP256R1())
    good = issued_to("A. Holder", p256)
    short = rsa.generate_private_key(65537, 1024)
    p384 = ec.generate_private_key(ec.SECP384R1())
    files = {
        "not opened": pkcs12(tmp_path / "1", p256, good, "other words"),
        "RSA key of 1024 bits": pkcs12(tmp_path / "2", short, issued_to("A. Holder", short)),
        "curve secp384r1": pkcs12(tmp_path / "3", p384, issued_to("A. Holder", p384)),
        "not in force": pkcs12(tmp_path / "4", p256, issued_to("A. Holder", p256, days=5)),
        "not for signing": pkcs12(
            tmp_path / "5", p256, issued_to("A. Holder", p256, signing=False)
        ),
        "both a key": pkcs12(tmp_path / "6", p256, None),
        "is no PKCS#12": tmp_path / "start.json",
    }
    for said, path in files.items():
        ran = run("start", tmp_path / "rig", "--from", tmp_path / "start.json", "--pkcs12", path)
        assert ran.code == 2
        assert said in ran.err, (said, ran.err)
        assert SECRET not in ran.err
        assert not (tmp_path / "rig").exists()
        assert not (tmp_path / "laptop").exists()
    ran = run("start", tmp_path / "rig", "--pkcs12", tmp_path / "absent.p12")
    assert ran.code in (2, 3)


def test_a_pkcs12_file_without_a_passphrase_is_taken(run, tmp_path, monkeypatch):
    key = ec.generate_private_key(ec.SECP256R1())
    path = pkcs12(tmp_path / "own.p12", key, issued_to("A. Holder", key), None)
    own = read_pkcs12(path)
    assert own.key.private_numbers() == key.private_numbers()
