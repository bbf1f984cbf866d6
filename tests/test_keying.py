"""The keys of a case in the course of its life, each change a story."""

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.report import Result
from evidence.errors import EvidenceError, MissingError, RefusedError
from evidence.keying import Device, Offer, settle, standing
from evidence.keyring import log_keys, shown_id
from evidence.ledger import KeyStore, RecoveryKey, origin_of
from evidence.starting import Started, start
from evidence.words import KeyEvent
from tests.making import RIG, RULE
from tests.near import NearWorker

WORDS = "seven wet ladders"
OTHER_WORDS = "nine dry gutters"
OWNER = {"id": "owner", "name": "A. Holder", "role": "owner"}
FIRST = (
    Draft("party", OWNER, "owner"),
    Draft("rig", RIG, "owner"),
    Draft("rule", RULE, "owner"),
)


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr("evidence.ledger.pkcs8.ROUNDS", 1000)
    monkeypatch.setattr("evidence.photos.crew.Worker", NearWorker)


@pytest.fixture
def begun(tmp_path: Path) -> Started:
    return start(
        tmp_path / "rig", title="Kestrel", first=FIRST, store=store(tmp_path), passphrase=WORDS
    )


def store(folder: Path, device: str = "laptop") -> KeyStore:
    return KeyStore(folder / "keys" / device)


def keys(record: Record, at: KeyStore, words: str = WORDS):
    settle(record, at)
    return at.load(record.case.case_id, words)


def note(record: Record, at: KeyStore, words: str = WORDS) -> None:
    """Something is written, as on any other day."""
    record.write([Draft("photos", {}, "owner")], keys(record, at, words).signer)


def holds(record: Record) -> bool:
    return check_path(record.folder).result is Result.UNCHANGED


def test_the_laptop_is_lost_and_the_paper_makes_a_new_one_that_goes_on_signing(begun, tmp_path):
    """The case was copied elsewhere; the keys were on the laptop alone."""
    paper = begun.recovery.text()
    old = begun.keys.signer
    case = Path(shutil.copytree(begun.record.folder, tmp_path / "new machine" / "rig"))
    record, new = Record.open(case), store(tmp_path, "new")
    with pytest.raises(MissingError, match="recovery key"):
        keys(record, new)

    device = Device(record, new, "owner")
    lost = shown_id(old.verifier.vkey)
    written = device.recover(RecoveryKey.parse(paper.lower()), OTHER_WORDS, [lost])

    assert [entry.raw["event"] for entry in written.entries] == ["added", "lost"]
    assert written.entries[1].raw["key"] == old.verifier.vkey
    note(record, new, OTHER_WORDS)
    assert holds(record)
    with pytest.raises(RefusedError, match="none that the record allows"):
        record.write([Draft("photos", {}, "owner")], old)


def test_after_a_recovery_dossiers_are_signed_with_a_certificate_that_the_record_names(
    begun, tmp_path
):
    from hashlib import sha256

    record, new = begun.record, store(tmp_path, "new")
    lost = [shown_id(begun.keys.signer.verifier.vkey)]
    Device(record, new, "owner").recover(begun.recovery, WORDS, lost)

    certificate = keys(record, new).certificate_der
    assert {key.cert for key in log_keys(record.entries).values()} == {
        sha256(certificate).hexdigest(),
        None,  # the paper's
    }
    assert record.original(sha256(certificate).hexdigest()).read_bytes() == certificate


def test_a_recovery_key_of_another_case_makes_nothing(begun, tmp_path):
    new = store(tmp_path, "new")
    with pytest.raises(RefusedError, match="none that may sign"):
        Device(begun.record, new, "owner").recover(RecoveryKey.generate(), WORDS)
    assert not new.holds(begun.record.case.case_id)
    assert len(begun.record.heads) == 1


def test_a_recovery_leaves_the_keys_of_a_healthy_device_alone(begun, tmp_path):
    """The tablet was set up from the paper; the laptop lay at home and signs on."""
    record, laptop, tablet = begun.record, store(tmp_path), store(tmp_path, "tablet")
    written = Device(record, tablet, "owner").recover(begun.recovery, WORDS)

    assert [entry.raw["event"] for entry in written.entries] == ["added"]
    note(record, laptop)
    note(record, tablet)
    assert holds(record)


def test_of_several_devices_only_the_one_named_is_lost(begun, tmp_path):
    record, laptop, phone = begun.record, store(tmp_path), store(tmp_path, "phone")
    offered = Device(record, phone, "owner").offer(WORDS)
    Device(record, laptop, "owner").add(offered, begun.keys.signer, "phone")
    device = Device(record, store(tmp_path, "new"), "owner")

    with pytest.raises(RefusedError, match="is none that stands"):
        device.recover(begun.recovery, WORDS, ["0000-0000"])
    device.recover(begun.recovery, WORDS, [shown_id(offered.vkey)])

    assert begun.keys.signer.verifier.vkey in log_keys(record.entries)
    assert offered.vkey not in log_keys(record.entries)


def test_a_second_device_signs_once_the_first_has_added_it(begun, tmp_path):
    record, laptop, phone = begun.record, store(tmp_path), store(tmp_path, "phone")
    offered = Device(record, phone, "owner").offer(OTHER_WORDS)
    with pytest.raises(MissingError):
        keys(record, phone, OTHER_WORDS)

    Device(record, laptop, "owner").add(offered, begun.keys.signer, "a second device")

    note(record, phone, OTHER_WORDS)
    note(record, laptop)
    assert holds(record)
    report = check_path(record.folder)
    assert set(report.record.signed_by) == {begun.keys.signer.verifier.vkey, offered.vkey}


def test_an_offer_comes_back_as_it_was_handed_over(begun, tmp_path):
    import json

    offered = Device(begun.record, store(tmp_path, "phone"), "owner").offer(WORDS)
    data = json.dumps(offered.format()).encode()
    assert Offer.read(data, "offer.json") == offered
    assert b"PRIVATE" not in data


@pytest.mark.parametrize(
    "data",
    [b"{}", b"[]", b"no json", b'{"key":1,"cert":""}', b'{"key":"a","cert":""}', b"1" * 200_000],
)
def test_what_is_no_offer_is_refused(data):
    with pytest.raises(EvidenceError):
        Offer.read(data, "offer.json")


def test_an_offered_key_that_anybody_could_sign_with_is_refused(begun):
    import json

    from evidence.ledger.vkeys import write_vkey

    weak = write_vkey(origin_of(begun.record.case.case_id), b"\x01", bytes(32))
    data = json.dumps({"key": weak, "cert": ""}).encode()
    with pytest.raises(RefusedError, match="low order"):
        Offer.read(data, "offer.json")


def test_an_offer_for_another_case_or_of_a_standing_key_is_refused(begun, tmp_path):
    other = start(
        tmp_path / "other", title="Wren", first=FIRST, store=store(tmp_path), passphrase=WORDS
    )
    device = Device(begun.record, store(tmp_path), "owner")
    offered = Device(other.record, store(tmp_path, "phone"), "owner").offer(WORDS)
    with pytest.raises(RefusedError, match="another case"):
        device.add(offered, begun.keys.signer, "phone")
    with pytest.raises(RefusedError, match="already"):
        device.add(Offer.of(begun.keys), begun.keys.signer, "phone")
    with pytest.raises(RefusedError, match="has keys on this device"):
        device.offer(WORDS)


def test_new_keys_on_the_same_device_take_the_place_of_the_old(begun, tmp_path):
    record, laptop = begun.record, store(tmp_path)
    old = begun.keys.signer
    Device(record, laptop, "owner").replace(begun.keys, WORDS, "somebody saw the passphrase")

    fresh = keys(record, laptop)
    assert fresh.signer.verifier.vkey != old.verifier.vkey
    note(record, laptop)
    assert holds(record)
    with pytest.raises(RefusedError, match="none that the record allows"):
        record.write([Draft("photos", {}, "owner")], old)


def test_whoever_dies_between_the_record_and_the_swap_finds_the_new_keys(
    begun, tmp_path, monkeypatch
):
    record, laptop = begun.record, store(tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(KeyStore, "settle", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            Device(record, laptop, "owner").replace(begun.keys, WORDS, "new")

    note(record, laptop)
    assert holds(record)


def test_keys_that_the_record_did_not_take_are_thrown_away(begun, tmp_path):
    record, laptop = begun.record, store(tmp_path)
    before = sorted(path.name for path in (tmp_path / "keys" / "laptop").iterdir())
    past = Device(record, laptop, "owner", clock=lambda: datetime(2020, 1, 1, tzinfo=UTC))
    with pytest.raises(RefusedError, match="clock"):
        past.replace(begun.keys, WORDS, "new")

    assert sorted(path.name for path in (tmp_path / "keys" / "laptop").iterdir()) == before
    note(record, laptop)


def test_keys_that_the_record_took_are_kept_though_the_disk_refused_at_the_last(
    begun, tmp_path, monkeypatch
):
    """The entry stands; only the word of it was lost."""
    record, laptop = begun.record, store(tmp_path)
    write = Record.write

    def refusing(self, *given, **named):
        write(self, *given, **named)
        raise RefusedError("ledger.sqlite", "the disk refused")

    with monkeypatch.context() as patch:
        patch.setattr(Record, "write", refusing)
        with pytest.raises(RefusedError):
            Device(record, laptop, "owner").replace(begun.keys, WORDS, "new")

    note(record, laptop)
    assert holds(record)


def test_a_retired_and_a_lost_key_sign_nothing_more(begun, tmp_path):
    record, device = begun.record, Device(begun.record, store(tmp_path), "owner")
    paper = next(row for row in standing(record) if row.on_paper)
    device.end(paper.id, KeyEvent.LOST, begun.keys.signer, "the paper burnt")

    assert [row.on_device for row in standing(record)] == [True]
    with pytest.raises(RefusedError, match="the last one"):
        device.end(begun.keys.signer.verifier.vkey, KeyEvent.RETIRED, begun.keys.signer, "sold")
    _, recovery = device.new_paper(begun.keys.signer)
    own = next(row for row in standing(record) if row.on_device)
    device.end(own.id, KeyEvent.RETIRED, recovery.signer(begun.keys.signer.name), "sold")
    assert holds(record)
    with pytest.raises(RefusedError, match="none that the record allows"):
        note(record, store(tmp_path))


def test_a_key_that_does_not_stand_is_answered_with_those_that_do(begun, tmp_path):
    device = Device(begun.record, store(tmp_path), "owner")
    with pytest.raises(RefusedError) as refused:
        device.end("0000-0000", KeyEvent.LOST, begun.keys.signer, "lost")
    assert all(row.id in refused.value.what_to_do for row in standing(begun.record))


def test_a_new_paper_takes_the_place_of_the_old(begun, tmp_path):
    record, device = begun.record, Device(begun.record, store(tmp_path), "owner")
    _, fresh = device.new_paper(begun.keys.signer)

    with pytest.raises(RefusedError, match="none that may sign"):
        Device(record, store(tmp_path, "a"), "owner").recover(begun.recovery, WORDS)
    new = store(tmp_path, "b")
    Device(record, new, "owner").recover(fresh, WORDS)
    note(record, new)
    assert holds(record)


def test_a_key_signs_the_head_over_its_own_end_and_the_clock_may_stand(begun, tmp_path):
    """All within one second: the order of the entries decides, not their time."""
    record = begun.record
    moment = record.entries[-1].logged + timedelta(seconds=1)
    device = Device(record, store(tmp_path), "owner", clock=lambda: moment)
    device.replace(begun.keys, WORDS, "new")
    device.replace(keys(record, store(tmp_path)), WORDS, "new again")
    assert holds(record)
