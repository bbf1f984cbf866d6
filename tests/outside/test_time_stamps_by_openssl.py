"""Time stamps by hands not ours: `openssl ts` reads requests, answers them, verifies answers."""

import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from asn1crypto import tsp
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from evidence.case import Record
from evidence.check import check_path
from evidence.entries import Witness
from evidence.errors import EvidenceError
from evidence.witness import Anchors, SampleAuthority, read_timestamp
from evidence.witnessing import ask_authority, keep, newest, request_of, take_reply
from tests.conftest import needed
from tests.serving import replying, served
from tests.tampering import owner_of

AT = datetime(2025, 9, 1, 12, tzinfo=UTC)
HELLO = b"hello"


@pytest.fixture(autouse=True)
def _tools(monkeypatch: pytest.MonkeyPatch) -> None:
    needed(shutil.which("openssl") is not None, "openssl")
    monkeypatch.setenv("no_proxy", "*")


def openssl(folder: Path, *arguments: object) -> str:
    """What it prints, on either stream."""
    command = ["openssl", *(str(argument) for argument in arguments)]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def accepts(folder: Path, answer: bytes, message: bytes, chain: bytes, at: datetime) -> bool:
    """Whether `openssl ts -verify` takes an answer, with these certificates (PEM), at that time."""
    (folder / "a.tsr").write_bytes(answer)
    (folder / "message").write_bytes(message)
    (folder / "chain.pem").write_bytes(chain)
    said = openssl(
        folder, "ts", "-verify", "-data", "message", "-in", "a.tsr", "-CAfile", "chain.pem",
        "-untrusted", "chain.pem", "-attime", int(at.timestamp()),
    )  # fmt: skip
    return "Verification: OK" in said


def kept(record: Record) -> list[tuple[Witness, bytes]]:
    return [
        (entry.body, record.original(entry.files[0].sha256).read_bytes())
        for entry in record.entries
        if isinstance(entry.body, Witness)
    ]


def root_in(answer: bytes) -> bytes:
    """The self-signed certificate that a sample's answer carries."""
    held = tsp.TimeStampResp.load(answer)["time_stamp_token"]["content"]["certificates"]
    loaded = [x509.load_der_x509_certificate(one.chosen.dump()) for one in held]
    return next(c for c in loaded if c.issuer == c.subject).public_bytes(Encoding.PEM)


def test_it_accepts_every_token_that_a_case_keeps(built, tmp_path):
    record = Record.open(built)
    answers = kept(record)

    assert len(answers) == 3
    for body, answer in answers:
        at, note = datetime.fromisoformat(body.time), record.notes[body.size].encode()
        assert accepts(tmp_path, answer, note, root_in(answer), at)
        assert not accepts(tmp_path, answer, note + b"\n", root_in(answer), at)


def test_it_accepts_the_token_that_came_online(case, tmp_path):
    authority, record = SampleAuthority.create(AT), Record.open(case)
    note = newest(record)
    with served(replying(lambda query: authority.reply(query, AT))) as url:
        keep(record, [ask_authority(record, url)], "owner", owner_of(case), clock=lambda: AT)
    _, answer = kept(record)[-1]

    assert accepts(tmp_path, answer, note.encode(), root_in(answer), AT)


FIXTURES = [
    ("sigstage/response-sha256.tsr", True),
    ("sigstage/response-sha384.tsr", True),
    ("sigstage/response-sha512.tsr", True),
    ("sigstage/response-invalid-signature.tsr", False),
    ("sigstage/response-no-embedded-cert.tsr", None),  # openssl finds it in -untrusted
    ("test_tsa/response.tsr", True),
    ("test_tsa/response-injected-certs.tsr", True),
    ("test_tsa/other_response.tsr", False),
]


@pytest.mark.parametrize(("name", "holds"), FIXTURES)
def test_it_and_we_agree_on_answers_of_others(shared_vectors, tmp_path, name, holds):
    path = shared_vectors / "rfc3161" / name
    answer, chain = path.read_bytes(), (path.parent / "ts_chain.pem").read_bytes()
    anchors = [c.public_bytes(Encoding.DER) for c in x509.load_pem_x509_certificates(chain)]
    try:
        ours = read_timestamp(answer, HELLO, anchors=anchors).trust == "trusted"
    except EvidenceError:
        ours = False
    stamped = tsp.TimeStampResp.load(answer)["time_stamp_token"]["content"]
    at = stamped["encap_content_info"]["content"].parsed["gen_time"].native

    assert ours is bool(holds)
    if holds is not None:
        assert accepts(tmp_path, answer, HELLO, chain, at) is holds


CONFIG = """
[tsa]
default_tsa = ours
[ours]
serial = ./serial
crypto_device = builtin
signer_digest = sha256
default_policy = 2.999.1
digests = sha256
ess_cert_id_chain = no
ess_cert_id_alg = sha256
[ext]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
"""


@pytest.fixture
def other(tmp_path: Path) -> Path:
    """An authority made with OpenSSL alone: a P-256 root, and a certificate for time stamps."""
    folder = tmp_path / "authority"
    folder.mkdir()
    (folder / "tsa.cnf").write_text(CONFIG)
    (folder / "serial").write_text("01\n")
    curve = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
    openssl(
        folder, "req", "-x509", *curve, "-keyout", "root.key", "-out", "root.pem", "-days", 30,
        "-subj", "/O=Invented Time/CN=Root",
    )  # fmt: skip
    openssl(
        folder, "req", *curve, "-keyout", "tsa.key", "-out", "tsa.csr",
        "-subj", "/O=Invented Time/CN=Stamp",
    )  # fmt: skip
    openssl(
        folder, "x509", "-req", "-in", "tsa.csr", "-CA", "root.pem", "-CAkey", "root.key",
        "-CAcreateserial", "-out", "tsa.pem", "-days", 30, "-extfile", "tsa.cnf",
        "-extensions", "ext",
    )  # fmt: skip
    assert (folder / "tsa.pem").stat().st_size
    return folder


def answered(folder: Path, query: bytes) -> bytes:
    (folder / "query.tsq").write_bytes(query)
    said = openssl(
        folder, "ts", "-reply", "-config", "tsa.cnf", "-queryfile", "query.tsq", "-signer",
        "tsa.pem", "-inkey", "tsa.key", "-chain", "root.pem", "-out", "reply.tsr",
    )  # fmt: skip
    assert (folder / "reply.tsr").is_file(), said
    return (folder / "reply.tsr").read_bytes()


def root_of(folder: Path) -> bytes:
    root = x509.load_pem_x509_certificate((folder / "root.pem").read_bytes())
    return root.public_bytes(Encoding.DER)


def test_an_authority_made_of_openssl_answers_us_online_and_a_reader_trusts_it(case, other):
    record = Record.open(case)
    with served(replying(lambda query: answered(other, query))) as url:
        keep(record, [ask_authority(record, url)], "owner", owner_of(case))
    last = check_path(case, Anchors((root_of(other),))).record.witnesses[-1]

    assert (last.name, last.trust, last.result) == ("Invented Time (Stamp)", "trusted", "ok")
    assert abs(last.time - datetime.now(UTC)) < timedelta(minutes=5)
    assert check_path(case).record.witnesses[-1].trust == "untrusted"


def test_it_reads_the_request_that_is_carried_and_we_take_its_reply(case, other, tmp_path):
    record = Record.open(case)
    (tmp_path / "head.tsq").write_bytes(request_of(record))
    said = openssl(tmp_path, "ts", "-query", "-in", "head.tsq", "-text")

    assert "Hash Algorithm: sha256" in said
    assert "Nonce: unspecified" in said
    assert "Certificate required: yes" in said
    answer = take_reply(record, answered(other, request_of(record)))
    assert answer.head.size == len(record.lines)
