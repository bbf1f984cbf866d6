"""A dossier signed with a certificate that OpenSSL issued, in the hands of OpenSSL and Poppler."""

import shutil
import subprocess
from pathlib import Path

import pytest
from cryptography.x509 import load_der_x509_certificate

from evidence.check.pdf_signature import read_signature
from evidence.dossier.seal import byte_ranges
from evidence.errors import RefusedError
from evidence.ledger.certificate import OwnCertificate, from_pkcs12
from tests.conftest import needed
from tests.dossier.making import finished, flipped, signed

P256 = ("ec", "-pkeyopt", "ec_paramgen_curve:P-256")
KINDS = {"RSA 2048": ("rsa:2048",), "RSA 4096": ("rsa:4096",), "P-256": P256}
USAGE = "basicConstraints=critical,CA:FALSE\nkeyUsage=critical,digitalSignature,nonRepudiation\n"
WORDS = "three green gutters"


def openssl(folder: Path, *arguments: object) -> str:
    """What it prints, on either stream."""
    command = ["openssl", *(str(argument) for argument in arguments)]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


@pytest.fixture(scope="module")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an invented authority's certificate, as sellers of certificates have one."""
    needed(shutil.which("openssl") is not None, "openssl")
    folder = tmp_path_factory.mktemp("authority")
    openssl(
        folder, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "root.key",
        "-out", "root.pem", "-days", 30, "-subj", "/O=Invented Authority/CN=Root",
    )  # fmt: skip
    (folder / "usage").write_text(USAGE)
    return folder


def bought(authority: Path, *key: str) -> bytes:
    """The PKCS#12 file that it sells for a key of this kind, its own certificate within."""
    openssl(
        authority, "req", "-newkey", *key, "-nodes", "-keyout", "own.key", "-out", "own.csr",
        "-subj", "/C=NZ/O=A. Keeper Ltd/CN=A. Keeper",
    )  # fmt: skip
    openssl(
        authority, "x509", "-req", "-in", "own.csr", "-CA", "root.pem", "-CAkey", "root.key",
        "-CAcreateserial", "-out", "own.pem", "-days", 30, "-extfile", "usage",
    )  # fmt: skip
    said = openssl(
        authority, "pkcs12", "-export", "-inkey", "own.key", "-in", "own.pem",
        "-certfile", "root.pem", "-out", "own.p12", "-passout", f"pass:{WORDS}",
    )  # fmt: skip
    assert (authority / "own.p12").is_file(), said
    return (authority / "own.p12").read_bytes()


@pytest.fixture(scope="module", params=KINDS.values(), ids=KINDS.keys())
def own(request, authority) -> OwnCertificate:
    return from_pkcs12(bought(authority, *request.param), WORDS, "own.p12")


@pytest.fixture(scope="module")
def pdf(own) -> bytes:
    begins = load_der_x509_certificate(own.certificate_der).not_valid_before_utc
    return signed(finished(), key=own.key, certificate_der=own.certificate_der, signed_at=begins)


def verified(authority: Path, pdf: bytes) -> str:
    """What `openssl cms -verify` says of a dossier's signature under the authority's root."""
    (span,) = byte_ranges(pdf)
    (authority / "signature.der").write_bytes(span.contents(pdf))
    (authority / "signed").write_bytes(pdf[: span.start] + pdf[span.stop : span.end])
    return openssl(
        authority, "cms", "-verify", "-inform", "DER", "-in", "signature.der", "-binary",
        "-content", "signed", "-CAfile", "root.pem", "-purpose", "any", "-out", "verified",
    )  # fmt: skip


def test_openssl_follows_the_signature_to_the_authority_s_root(authority, pdf):
    assert "CMS Verification successful" in verified(authority, pdf)


def test_openssl_finds_one_changed_bit(authority, pdf):
    changed = flipped(pdf, pdf.index(b"/Type /Page") + 8, 0)
    assert "CMS Verification failure" in verified(authority, changed)


def test_pdfsig_finds_the_signature_valid_and_the_whole_file_signed(pdf, tmp_path):
    needed(shutil.which("pdfsig") is not None, "pdfsig")
    (tmp_path / "claim.pdf").write_bytes(pdf)
    done = subprocess.run(
        ["pdfsig", tmp_path / "claim.pdf"], capture_output=True, text=True, check=True
    )

    assert "Signature Validation: Signature is Valid." in done.stdout
    assert "Total document signed" in done.stdout
    assert "- Signing Hash Algorithm: SHA-256" in done.stdout
    assert "- Signer Certificate Common Name: A. Keeper" in done.stdout


def test_we_find_it_so_too_and_name_the_holder(pdf):
    report = read_signature(pdf)

    assert report.unchanged, report
    assert (report.signer, report.level) == ("A. Keeper", "B-B")
    assert not read_signature(flipped(pdf, pdf.index(b"/Type /Page") + 8, 0)).unchanged


def test_a_key_for_rsa_pss_alone_is_refused(authority):
    data = bought(authority, "rsa-pss", "-pkeyopt", "rsa_keygen_bits:2048")

    with pytest.raises(RefusedError, match="a key for RSA-PSS alone; dossiers are signed with"):
        from_pkcs12(data, WORDS, "own.p12")
