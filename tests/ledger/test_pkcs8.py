"""The lock of a private key, opened by programs that are not ours."""

import shutil
import subprocess

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key as generate_rsa
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from evidence.ledger.pkcs8 import ROUNDS, locked_pem
from tests.conftest import needed

KEYS = [
    Ed25519PrivateKey.generate(),
    generate_private_key(SECP256R1()),
    generate_rsa(65537, 2048),
]


@pytest.mark.parametrize("key", KEYS, ids=["Ed25519", "P-256", "RSA"])
def test_cryptography_opens_the_lock_with_the_passphrase(key):
    opened = load_pem_private_key(locked_pem(key, "kühle Dächer".encode()), "kühle Dächer".encode())

    assert opened.public_key() == key.public_key()


@pytest.mark.parametrize("key", KEYS, ids=["Ed25519", "P-256", "RSA"])
def test_another_passphrase_does_not_open_it(key):
    with pytest.raises(ValueError, match="decrypt"):
        load_pem_private_key(locked_pem(key, b"right"), b"wrong")


def test_the_same_key_is_never_locked_the_same_way_twice():
    assert locked_pem(KEYS[0], b"words") != locked_pem(KEYS[0], b"words")


def test_openssl_reads_the_form_and_the_number_of_rounds(tmp_path):
    needed(shutil.which("openssl") is not None, "openssl")
    path = tmp_path / "key.pem"
    path.write_bytes(locked_pem(KEYS[1], b"open sesame"))

    shown = subprocess.run(
        ["openssl", "asn1parse", "-in", path], capture_output=True, text=True, check=True
    ).stdout
    opened = subprocess.run(
        ["openssl", "pkey", "-in", path, "-passin", "pass:open sesame", "-noout"], check=False
    )

    assert f":{ROUNDS:06X}" in shown
    assert ":hmacWithSHA256" in shown
    assert ":aes-256-cbc" in shown
    assert opened.returncode == 0
