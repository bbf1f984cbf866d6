"""Content Credentials (C2PA) in a file. Runs inside the limited child, and fetches nothing.

A device or a program may put a signed manifest into what it makes: who signed, with which program,
what was done. Two facts are told of it, and kept apart. *Integrity*: the signature and every hash
fit the bytes of this very file. *Trust*: the signer's certificate leads to one that the reader
gave. Neither says that what the picture shows was not staged.

That a file bears a manifest is seen by its bytes alone. Reading it takes the optional `c2pa-python`
(the extra `credentials`). A manifest kept elsewhere is named and never fetched.

C2PA is the Technical Specification of the Coalition for Content Provenance and Authenticity, 2.2.
"""

import json
from collections.abc import Iterator, Mapping
from enum import StrEnum
from importlib import util
from pathlib import Path

from evidence.photos.pictures import reason
from evidence.shapes import Strict

INSTALL = "pip install 'roof-evidence[credentials]'"
"""What gives a machine the reader."""

VERSION = 1
"""Counts up with every change of what is told: older answers are asked for again."""

_EMBEDDED = b"jumdc2pa\x00\x11\x00\x10\x80\x00\x00\xaa\x00\x38\x9b\x71"
"""A JUMBF description box of the type of a manifest store (C2PA § 11.1.4.2, ISO 19566-5 § A.3)."""
_ELSEWHERE = b"dcterms:provenance"
"""The name under which XMP gives a manifest's address (C2PA § 11.5)."""
_BLOCK = 1 << 20

_SETTINGS: Mapping[str, Mapping[str, object]] = {
    "verify": {"remote_manifest_fetch": False, "ocsp_fetch": False, "verify_trust": True},
    "core": {"allowed_network_hosts": []},
}
_OF_TRUST = ("signingCredential.", "timeStamp.", "claimSignature.outsideValidity")
"""Codes that tell of the signer or his clock, not of the bytes (C2PA § 15.2.2)."""
_UNKNOWN_SIGNER = "signingCredential.untrusted"
_MOST_ACTIONS = 12
_MOST_CODES = 8
_MOST_TEXT = 80


class Held(StrEnum):
    """Where a file's manifest is."""

    EMBEDDED = "embedded"
    ELSEWHERE = "elsewhere"


class Integrity(StrEnum):
    """Whether signature and hashes fit the bytes."""

    INTACT = "intact"
    BROKEN = "broken"


class Trust(StrEnum):
    """Whether the signer's certificate leads to one that the reader gave."""

    TRUSTED = "trusted"
    UNTRUSTED = "untrusted"


class Credentials(Strict):
    """What is told of one file's manifest; without `held` it has none.

    Attributes:
        held: where the manifest is.
        why: why it was not read, as the end of a sentence; None where it was.
        missing: it was not read because the reader is not installed.
        integrity: None where it was not read.
        trust: the same.
        codes: what does not hold, in the words of C2PA § 15.2.2.
        signer: as the certificate names him: his own word unless `trust` says more.
        signed: when the signature's time stamp says; None where it has none.
        made_by: the program that made the claim, by its own name.
        actions: what the claim says was done, as `created (digitalCapture)`.
    """

    version: int = VERSION
    held: Held | None = None
    why: str | None = None
    missing: bool = False
    integrity: Integrity | None = None
    trust: Trust | None = None
    codes: tuple[str, ...] = ()
    signer: str | None = None
    signed: str | None = None
    made_by: str | None = None
    actions: tuple[str, ...] = ()

    @property
    def of_bytes(self) -> tuple[str, ...]:
        """The codes for what does not fit the bytes."""
        return tuple(code for code in self.codes if not code.startswith(_OF_TRUST))

    @property
    def of_signer(self) -> tuple[str, ...]:
        """The codes of signer and clock besides the one for a signer who is not known."""
        return tuple(
            code for code in self.codes if code.startswith(_OF_TRUST) and code != _UNKNOWN_SIGNER
        )


def read_credentials(path: Path, anchors: str = "") -> Credentials:
    """What a file's manifest says, and whether it holds. No file makes this raise.

    Args:
        path: a file of any kind.
        anchors: certificates in PEM that the reader trusts; empty: nobody.
    """
    held = None
    try:
        held = _held(path)
        if held is Held.ELSEWHERE:
            return Credentials(held=held, why="it is kept elsewhere, and nothing is fetched")
        if held is None:
            return Credentials()
        if util.find_spec("c2pa") is None:
            why = f"the reader is not installed: {INSTALL}"
            return Credentials(held=held, why=why, missing=True)
        return _told(_manifests(path, anchors))
    except Exception as error:  # noqa: BLE001 - readers of strangers' files raise anything
        return Credentials(held=held, why=f"it cannot be read: {_reason(error)}")


def _held(path: Path) -> Held | None:
    """Where the manifest is, by the file's bytes."""
    elsewhere, end = False, b""
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            seen = end + block
            if _EMBEDDED in seen:
                return Held.EMBEDDED
            elsewhere = elsewhere or _ELSEWHERE in seen
            end = seen[-len(_EMBEDDED) :]
    return Held.ELSEWHERE if elsewhere else None


def _manifests(path: Path, anchors: str) -> object:
    """The manifest store as its reader tells it."""
    import c2pa

    settings = {**_SETTINGS, **({"trust": {"trust_anchors": anchors}} if anchors else {})}
    context = c2pa.Context(c2pa.Settings.from_dict(settings))
    with c2pa.Reader(str(path), context=context) as reader:
        return json.loads(reader.json())


def _told(store: object) -> Credentials:
    """What the active manifest says; its texts are a stranger's, and are taken as such."""
    active = _at(store, "active_manifest")
    manifest = _at(store, "manifests", active if isinstance(active, str) else "")
    results = _at(store, "validation_results", "activeManifest")
    failures = list(_codes(_at(results, "failure")))
    fine = list(_codes(_at(results, "success")))
    broken = [code for code in failures if not code.startswith(_OF_TRUST)]
    whole = not broken and "claimSignature.validated" in fine
    trusted = "signingCredential.trusted" in fine and len(failures) == len(broken)
    signature = _at(manifest, "signature_info")
    names = dict.fromkeys(
        filter(None, (_text(signature, "common_name"), _text(signature, "issuer")))
    )
    return Credentials(
        held=Held.EMBEDDED,
        integrity=Integrity.INTACT if whole else Integrity.BROKEN,
        trust=Trust.TRUSTED if trusted else Trust.UNTRUSTED,
        codes=tuple(failures[:_MOST_CODES]),
        signer=", ".join(names) or None,
        signed=_text(signature, "time"),
        made_by=_maker(manifest),
        actions=tuple(_actions(manifest)),
    )


def _maker(manifest: object) -> str | None:
    listed = _at(manifest, "claim_generator_info")
    first = listed[0] if isinstance(listed, list) and listed else None
    named = [_text(first, "name"), _text(first, "version")]
    return " ".join(filter(None, named)) or _text(manifest, "claim_generator")


def _actions(manifest: object) -> Iterator[str]:
    told = 0
    for assertion in _list(_at(manifest, "assertions")):
        if not (_text(assertion, "label") or "").startswith("c2pa.actions"):
            continue
        for action in _list(_at(assertion, "data", "actions")):
            name, source = _text(action, "action"), _text(action, "digitalSourceType")
            if name is None or told == _MOST_ACTIONS:
                continue
            told += 1
            name = name.removeprefix("c2pa.")
            yield name if source is None else f"{name} ({source.rpartition('/')[2]})"


def _codes(listed: object) -> Iterator[str]:
    for one in _list(listed):
        code = _text(one, "code")
        if code is not None:
            yield code


def _at(node: object, *keys: str) -> object:
    """What stands under the keys; None where it does not."""
    for key in keys:
        node = node.get(key) if isinstance(node, dict) else None
    return node


def _list(node: object) -> list[object]:
    return node if isinstance(node, list) else []


def _text(node: object, key: str) -> str | None:
    """A short printable text under a key; None where there is none."""
    value = _at(node, key)
    if not isinstance(value, str):
        return None
    clean = "".join(char for char in value if char.isprintable()).strip()
    return clean[:_MOST_TEXT] or None


def _reason(error: Exception) -> str:
    said = str(error) if type(error).__module__.startswith("c2pa") else reason(error)
    return "".join(char for char in said if char.isprintable())[:200]
