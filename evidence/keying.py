"""The keys of a case in the course of its life: added, retired, replaced, lost (RECORD § 4 `key`).

Every change is an entry under a head that a standing key signs; `keyring` says what follows from
it. A key is known to people by its ID, 8 hex digits, which pages print as `1a2b-3c4d`.
"""

import tempfile
from base64 import b64encode
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Clock, Draft, Record, Written, now
from evidence.entries import Key, Party
from evidence.errors import EvidenceError, RefusedError
from evidence.keeping import FileDraft
from evidence.keyring import ON_PAPER, cosign_keys, log_keys, shown_id
from evidence.ledger import (
    KeyPair,
    KeyStore,
    RecoveryKey,
    Signer,
    Verifier,
    b64decode_strict,
    origin_of,
    parse,
)
from evidence.ledger.certificate import OwnCertificate
from evidence.words import KeyEvent, KeyUse

_MOST_BYTES = 100_000
"""Of an offer: a key and a certificate."""


@dataclass(frozen=True, slots=True)
class StandingKey:
    """A key that stands: its verifier key, and the entry that last named it."""

    vkey: str
    body: Key
    seq: int

    @property
    def id(self) -> str:
        """Its ID as pages print it."""
        return shown_id(self.vkey)

    @property
    def on_paper(self) -> bool:
        """Whether it is a recovery key, as the record says; those have no certificate."""
        bare = self.body.use is KeyUse.LOG and self.body.cert is None
        return bare and (self.body.why or "").endswith(ON_PAPER)

    @property
    def on_device(self) -> bool:
        """Whether it is a device's key, for all that the record says."""
        return self.body.use is KeyUse.LOG and not self.on_paper


@dataclass(frozen=True, slots=True)
class Offer:
    """The public halves of a device's keys, to be added by one that may sign."""

    vkey: str
    certificate_der: bytes

    def format(self) -> dict[str, JsonValue]:
        """As it is handed over: a JSON object that holds no secret."""
        return {"key": self.vkey, "cert": b64encode(self.certificate_der).decode()}

    @classmethod
    def read(cls, data: bytes, name: str) -> "Offer":
        """Read what `format` made.

        Raises:
            RefusedError: it is something else, or a key that anybody could sign with.
        """
        value = parse(data) if len(data) <= _MOST_BYTES else None
        if not isinstance(value, dict) or value.keys() != {"key", "cert"}:
            raise RefusedError(name, "is not the offer of a key")
        key, cert = value["key"], value["cert"]
        if not isinstance(key, str) or not isinstance(cert, str):
            raise RefusedError(name, "is not the offer of a key")
        return cls(Verifier.parse(key).vkey, b64decode_strict(cert))

    @classmethod
    def of(cls, pair: KeyPair) -> "Offer":
        """The public halves of a pair."""
        return cls(pair.signer.verifier.vkey, pair.certificate_der)


def standing(record: Record) -> tuple[StandingKey, ...]:
    """The keys that stand now: those that sign heads, then cosigners'."""
    ring = {**log_keys(record.entries), **cosign_keys(record.entries)}
    last = {e.body.key: e.seq for e in record.entries if isinstance(e.body, Key)}
    return tuple(StandingKey(vkey, body, last[vkey]) for vkey, body in ring.items())


def first_key(record: Record) -> str:
    """The verifier key that the record was started with: it signed the first head for good."""
    return next(e.body.key for e in record.entries if isinstance(e.body, Key))


def settle(record: Record, store: KeyStore) -> None:
    """Put the device's keys that wait in their place, if the record names them by now."""
    ids = [row.id.replace("-", "") for row in standing(record) if row.body.use is KeyUse.LOG]
    store.settle(record.case.case_id, ids)


@dataclass(frozen=True, slots=True)
class Device:
    """A party at one device: whose keys are changed, and where they are kept."""

    record: Record
    store: KeyStore
    by: str
    clock: Clock = now

    def offer(self, passphrase: str | None) -> Offer:
        """Make keys for this device, which wait until another one adds them to the record.

        Raises:
            RefusedError: this device has keys for the case.
        """
        case_id = self.record.case.case_id
        if self.store.holds(case_id):
            raise RefusedError(
                f"case {case_id}", "has keys on this device", "Use `replace` for new ones."
            )
        return Offer.of(self._made(passphrase, None))

    def add(self, offered: Offer, signer: Signer, why: str) -> Written:
        """Let the keys of another device sign from now on.

        Raises:
            RefusedError: it is a key for another case, or stands already.
        """
        return self._write(signer, offered, why, {})

    def replace(
        self,
        keys: KeyPair,
        passphrase: str | None,
        why: str,
        own: OwnCertificate | None = None,
    ) -> Written:
        """Make new keys for this device, which take the place of those it has.

        Args:
            keys: the device's present keys.
            passphrase: locks the new ones.
            why: the reason, for the record.
            own: a certificate of the user's own for signing dossiers.
        """
        ends = {keys.signer.verifier.vkey: KeyEvent.REPLACED}
        return self._succeed(keys.signer, passphrase, why, ends, own)

    def recover(
        self, recovery: RecoveryKey, passphrase: str | None, lost: Sequence[str] = ()
    ) -> Written:
        """Make keys for this device, signed for by the key on paper alone; those lost are out.

        Args:
            recovery: the key on paper.
            passphrase: locks the new keys.
            lost: IDs of the keys that are lost. No other is marked: one may be healthy elsewhere.

        Raises:
            RefusedError: the record does not know that paper, or a key that is named lost.
        """
        signer = recovery.signer(origin_of(self.record.case.case_id))
        if signer.verifier.vkey not in log_keys(self.record.entries):
            raise RefusedError(
                "recovery key",
                "is none that may sign for this record",
                "Is it another case's, or an older one that was replaced?",
            )
        gone = [_named(self.record, text) for text in lost]
        ends = dict.fromkeys((row.vkey for row in gone), KeyEvent.LOST)
        return self._succeed(signer, passphrase, "recovered with the key on paper", ends, None)

    def end(self, which: str, event: KeyEvent, signer: Signer, why: str) -> Written:
        """Write down that a key is retired or lost: it signs nothing more.

        Raises:
            RefusedError: there is no such key, or it is the last one that could sign.
        """
        row = _named(self.record, which)
        body = self._body(event, row.vkey, why, use=row.body.use)
        return self.record.write([Draft("key", body, self.by)], signer, clock=self.clock)

    def new_paper(self, signer: Signer) -> tuple[Written, RecoveryKey]:
        """Make a recovery key in place of every one that stands; it is shown once, kept nowhere."""
        recovery = RecoveryKey.generate()
        vkey = recovery.signer(origin_of(self.record.case.case_id)).verifier.vkey
        bodies = [self._body(KeyEvent.ADDED, vkey, f"recovery key, printed and {ON_PAPER}")]
        bodies += [
            self._body(KeyEvent.REPLACED, row.vkey, "another recovery key took its place")
            for row in standing(self.record)
            if row.on_paper
        ]
        drafts = [Draft("key", body, self.by) for body in bodies]
        return self.record.write(drafts, signer, clock=self.clock), recovery

    def _made(self, passphrase: str | None, own: OwnCertificate | None) -> KeyPair:
        return self.store.make_next(
            self.record.case.case_id,
            common_name=_name(self.record, self.by),
            passphrase=passphrase,
            own=own,
        )

    def _succeed(
        self,
        signer: Signer,
        passphrase: str | None,
        why: str,
        ends: Mapping[str, KeyEvent],
        own: OwnCertificate | None,
    ) -> Written:
        """New keys on the disk, then in the record, then in their place."""
        made = self._made(passphrase, own)
        try:
            written = self._write(signer, Offer.of(made), why, ends)
        except EvidenceError:
            self._drop_unless_named(made)
            raise
        settle(self.record, self.store)
        return written

    def _drop_unless_named(self, made: KeyPair) -> None:
        """A disk may refuse at the very end, when the entry stands already: look, then throw."""
        with suppress(EvidenceError):
            entries = Record.open(self.record.folder).entries
            if made.signer.verifier.vkey not in log_keys(entries):
                self.store.drop_next(self.record.case.case_id, made)

    def _write(
        self, signer: Signer, offered: Offer, why: str, ends: Mapping[str, KeyEvent]
    ) -> Written:
        with tempfile.TemporaryDirectory() as place:
            certificate = Path(place) / "certificate.cer"
            certificate.write_bytes(offered.certificate_der)
            cert = sha256(offered.certificate_der).hexdigest()
            body = self._body(KeyEvent.ADDED, offered.vkey, why, cert=cert)
            drafts = [Draft("key", body, self.by, (FileDraft(certificate, {"role": "other"}),))]
            drafts += [
                Draft("key", self._body(event, vkey, why), self.by) for vkey, event in ends.items()
            ]
            return self.record.write(drafts, signer, clock=self.clock)

    def _body(
        self,
        event: KeyEvent,
        vkey: str,
        why: str,
        *,
        use: KeyUse = KeyUse.LOG,
        **more: JsonValue,
    ) -> dict[str, JsonValue]:
        return {"party": self.by, "event": event, "key": vkey, "use": use, "why": why, **more}


def _name(record: Record, by: str) -> str:
    """The name that a certificate bears."""
    parties = {e.body.id: e.body.name for e in record.entries if isinstance(e.body, Party)}
    return parties.get(by, by)[:64]


def _named(record: Record, text: str) -> StandingKey:
    """The standing key that somebody means by an ID, or by the whole verifier key.

    Raises:
        RefusedError: none, or more than one.
    """
    rows = standing(record)
    plain = text.replace("-", "").lower()
    found = [row for row in rows if row.vkey == text or row.id.replace("-", "") == plain]
    if len(found) != 1:
        known = ", ".join(row.id for row in rows)
        raise RefusedError(f"key {text[:60]!r}", "is none that stands", f"Standing: {known}.")
    return found[0]
