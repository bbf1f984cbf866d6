"""Start a case: the folder, its keys, and its first entries as one unit (RECORD § 2).

The unit is case, keys, party, rig and rules, so that the first signed head already binds them all.
The recovery key is a second log key that exists on paper only.
"""

import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from secrets import token_hex

from pydantic import JsonValue

from evidence.case import KEYS, Clock, Draft, FileDraft, Record, now
from evidence.errors import RefusedError
from evidence.keyring import ON_PAPER
from evidence.ledger import KeyPair, KeyStore, RecoveryKey, Store, origin_of
from evidence.ledger.certificate import OwnCertificate
from evidence.sealed_values import Secret, keep_all

FIRST_KINDS = ("party", "rig", "rule")
"""What belongs to the first unit, besides the case and its keys."""


@dataclass(frozen=True, slots=True)
class Started:
    """A new case, its keys, and the recovery key: shown once and kept nowhere."""

    record: Record
    keys: KeyPair
    recovery: RecoveryKey


def start(  # noqa: PLR0913 - all but the first by name
    folder: Path,
    *,
    title: str,
    first: Sequence[Draft],
    store: KeyStore | None,
    passphrase: str | None,
    sample: bool = False,
    own: OwnCertificate | None = None,
    secrets: Sequence[Secret] = (),
    clock: Clock = now,
) -> Started:
    """Make a case folder with its first entries.

    Args:
        folder: must not exist, or be empty.
        title: the case's title.
        first: the party, the rig and the rules, in this order.
        store: where the private keys are kept; None keeps them inside the case's private folder.
        passphrase: encrypts them; None only for a sample.
        sample: demo data: every page and every check then says so, for good.
        own: a certificate of the user's own for signing dossiers, in place of a self-signed one.
        secrets: what the first entries seal, to be kept in the private folder.
        clock: the writer's clock.

    Raises:
        RefusedError: the folder is taken, or an entry is not as its kind asks; nothing is left.
    """
    writer = next((draft for draft in first if draft.kind == "party"), None)
    if writer is None or not any(draft.kind == "rig" for draft in first):
        raise RefusedError("the start", "needs a party and a rig", "Give both, and the rules.")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedError(str(folder), "exists and is not empty", "Choose a new folder.")
    case_id = token_hex(16)
    recovery = RecoveryKey.generate()
    building = _make_folder(folder)
    kept = store or KeyStore(building / "private" / KEYS)
    try:
        name = str(writer.body.get("name", writer.by))[:64]
        keys = kept.create(case_id, common_name=name, passphrase=passphrase, own=own)
        record = Record(building)
        certificate = building / "private" / "certificate.cer"
        certificate.write_bytes(keys.certificate_der)
        opening = _opening(case_id, title, writer.by, keys, recovery, certificate, sample=sample)
        keep_all(secrets, record.private)
        with Store.create(record.ledger):
            pass
        record.write([*opening, *first], keys.signer, clock=clock)
        certificate.unlink()
        if folder.exists():
            folder.rmdir()
        building.rename(folder)
    except BaseException:
        shutil.rmtree(building, ignore_errors=True)
        kept.discard(case_id)
        raise
    return Started(Record.open(folder), keys, recovery)


def _make_folder(folder: Path) -> Path:
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(prefix=".starting-", dir=folder.parent))
        building.chmod(0o755)
        for name in ("originals", "private", "issued"):
            (building / name).mkdir()
        (building / "private").chmod(0o700)
    except OSError as error:
        raise RefusedError(str(folder), f"cannot be made: {error.strerror}") from error
    return building


def _opening(
    case_id: str,
    title: str,
    by: str,
    keys: KeyPair,
    recovery: RecoveryKey,
    certificate: Path,
    *,
    sample: bool,
) -> list[Draft]:
    """The case entry and the two keys that may sign its heads."""
    log_key: Mapping[str, JsonValue] = {
        "party": by,
        "event": "added",
        "key": keys.signer.verifier.vkey,
        "use": "log",
        "cert": sha256(keys.certificate_der).hexdigest(),
        "why": "made at the start",
    }
    paper_key: Mapping[str, JsonValue] = {
        "party": by,
        "event": "added",
        "key": recovery.signer(origin_of(case_id)).verifier.vkey,
        "use": "log",
        "why": f"recovery key, printed at the start and {ON_PAPER}",
    }
    return [
        Draft("case", {"case_id": case_id, "title": title, "sample": sample}, by),
        Draft("key", log_key, by, (FileDraft(certificate, {"role": "other"}),)),
        Draft("key", paper_key, by),
    ]
