"""Pictures with Content Credentials, signed on the spot by a sample authority, offline."""

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID


@dataclass(frozen=True)
class Signer:
    """A signer, the chain up to the sample authority, and that authority's certificate (PEM)."""

    chain: bytes
    key: bytes
    authority: bytes


def signer(name: str = "Lumen cameras", days: int = 365) -> Signer:
    """Certificates as C2PA 2.2 § 14.5.1 wants them."""
    at = datetime.now(UTC) - timedelta(days=2)
    root_key, own_key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    root = _certificate("Sample authority", root_key, "Sample authority", root_key, at, 3650)
    own = _certificate(name, own_key, "Sample authority", root_key, at, days, root=root)
    chain = own.public_bytes(Encoding.PEM) + root.public_bytes(Encoding.PEM)
    key = own_key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return Signer(chain, key, root.public_bytes(Encoding.PEM))


def _certificate(
    name: str, key: Any, by: str, by_key: Any, at: datetime, days: int, root: Any = None
) -> x509.Certificate:
    def named(text: str) -> x509.Name:
        return x509.Name(
            [
                x509.NameAttribute(NameOID.ORGANIZATION_NAME, text),
                x509.NameAttribute(NameOID.COMMON_NAME, text),
            ]
        )

    made = (
        x509.CertificateBuilder()
        .subject_name(named(name))
        .issuer_name(named(by))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at)
        .not_valid_after(at + timedelta(days=days))
        .add_extension(x509.BasicConstraints(ca=root is None, path_length=None), critical=True)
        .add_extension(
            x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False
        )
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(by_key.public_key()), critical=False
        )
        .add_extension(
            x509.KeyUsage(
                digital_signature=root is not None, content_commitment=False,
                key_encipherment=False, data_encipherment=False, key_agreement=False,
                key_cert_sign=root is None, crl_sign=root is None, encipher_only=False,
                decipher_only=False,
            ),
            critical=True,
        )
    )  # fmt: skip
    if root is not None:
        usage = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.EMAIL_PROTECTION])
        made = made.add_extension(usage, critical=False)
    return made.sign(by_key, hashes.SHA256())


TAKEN = "http://cv.iptc.org/newscodes/digitalsourcetype/digitalCapture"
FIRST = {"action": "c2pa.created", "digitalSourceType": TAKEN}
"""What a camera says that it did."""


def credited(
    picture: Path,
    out: Path,
    by: Signer,
    *,
    actions: Sequence[dict[str, Any]] = (FIRST,),
    remote: str | None = None,
    embedded: bool = True,
    more: Sequence[dict[str, Any]] = (),
) -> Path:
    """A copy of a JPEG with a manifest, embedded or only named by its address."""
    import c2pa

    manifest = {
        "claim_generator_info": [{"name": "Field 3", "version": "1.0"}],
        "title": picture.name,
        "format": "image/jpeg",
        "assertions": [{"label": "c2pa.actions.v2", "data": {"actions": list(actions)}}, *more],
    }
    info = c2pa.C2paSignerInfo(alg=b"es256", sign_cert=by.chain, private_key=by.key, ta_url=None)
    made = io.BytesIO()
    with c2pa.Signer.from_info(info) as signing, c2pa.Builder(json.dumps(manifest)) as builder:
        if remote is not None:
            builder.set_remote_url(remote)
        if not embedded:
            builder.set_no_embed()
        builder.sign(signing, "image/jpeg", io.BytesIO(picture.read_bytes()), made)
    out.write_bytes(made.getvalue())
    return out
