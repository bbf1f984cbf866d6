"""What is handed over on the command line: files, keys and certificates; a key shown once."""

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from evidence.cli import common
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.ledger import Verifier
    from evidence.ledger.certificate import OwnCertificate

F = TypeVar("F", bound=Callable[..., Any])

_MOST_BYTES = 1_000_000

PKCS12_PASSPHRASE = "ROOF_EVIDENCE_PKCS12_PASSPHRASE"  # noqa: S105 - the variable's name


def pkcs12_option(command: F) -> F:
    """`--pkcs12 FILE`: a certificate of one's own."""
    return click.option(
        "--pkcs12",
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE",
        help="Sign dossiers with your own certificate (P-256 or RSA), from this file. Its "
        f"passphrase is asked for, or read from {PKCS12_PASSPHRASE}.",
    )(command)


def read_pkcs12(path: Path) -> "OwnCertificate":
    """The certificate and key in a PKCS#12 file; what locks it is asked for, or in the environment.

    Raises:
        RefusedError: it cannot be read, or holds nothing that dossiers can be signed with.
    """
    from evidence.ledger.certificate import from_pkcs12
    from evidence.ledger.disk import plain_words

    with plain_words(path):
        data = path.read_bytes()
    phrase = os.environ.get(PKCS12_PASSPHRASE)
    if phrase is None and common.interactive():
        phrase = click.prompt(
            f"Passphrase of {path.name}", hide_input=True, default="", show_default=False, err=True
        )
    return from_pkcs12(data, phrase or None, path.name)


def tell_recovery_key(text: str) -> None:
    """The recovery key, once."""
    common.heading("Recovery key: write it on paper now. It is shown once and kept nowhere.")
    click.echo(f"\n  {text}\n")
    common.tell(
        "Whoever holds it can sign for this case. Keep it away from the case and its pictures."
    )


def read_keys(texts: Iterable[str]) -> "tuple[tuple[Verifier, ...], tuple[str, ...]]":
    """Verifier keys as they are told: those that sign heads, and cosigners' in text form.

    Raises:
        RefusedError: one is neither, or anybody could sign with it.
    """
    from evidence.ledger import Verifier
    from evidence.ledger.vkeys import kind_of
    from evidence.witness import Cosigner
    from evidence.witness.cosign import COSIGNATURE

    named, cosigners = [], []
    for text in texts:
        if kind_of(text) == COSIGNATURE:
            cosigners.append(Cosigner.parse(text).vkey)
        else:
            named.append(Verifier.parse(text))
    return tuple(named), tuple(cosigners)


def read_heads() -> bytes:
    """A signed head, or a `heads.txt`, from standard input; a byte more than any is let pass."""
    from evidence.check.earlier import MOST_BYTES

    with click.open_file("-", "rb") as file:
        data: bytes = file.read(MOST_BYTES + 1)
    return data


def read_small(path: Path) -> bytes:
    """A file's bytes, `-` for standard input; never more than an honest one has.

    Raises:
        RefusedError: it cannot be read, or is too large.
    """
    name = "standard input" if str(path) == "-" else str(path)
    try:
        with click.open_file(str(path), "rb") as file:
            data: bytes = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise RefusedError(name, f"cannot be read: {error.strerror}") from error
    if len(data) > _MOST_BYTES:
        raise RefusedError(name, f"is larger than {_MOST_BYTES} bytes")
    return data
