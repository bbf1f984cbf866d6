import stat
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from cryptography import x509

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.entries import Key
from evidence.errors import RefusedError
from evidence.ledger import KeyStore, origin_of
from evidence.starting import Started, start
from tests.making import RIG, RULE

PASSPHRASE = "correct horse battery staple"
PARTY = {"id": "owner", "name": "A. Holder", "role": "owner"}
FIRST = (
    Draft("party", PARTY, "owner"),
    Draft("rig", RIG, "owner"),
    Draft("rule", RULE, "owner"),
)
NOON = datetime(2025, 6, 1, 12, tzinfo=UTC)


@pytest.fixture
def keys(tmp_path: Path) -> Path:
    return tmp_path / "keys"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "rigs" / "kestrel"


def begin(folder: Path, keys: Path | None, first=FIRST, **more) -> Started:
    said = {"title": "Kestrel", "passphrase": None, "sample": True, "clock": lambda: NOON}
    store = None if keys is None else KeyStore(keys)
    return start(folder, first=first, store=store, **(said | more))


def left_over(folder: Path) -> list[str]:
    """What stands in the folder that the case would have gone to."""
    return sorted(path.name for path in folder.parent.iterdir()) if folder.parent.exists() else []


def test_the_first_head_binds_case_keys_party_rig_and_rules_as_one_unit(folder, keys):
    record = begin(folder, keys).record

    assert [entry.kind for entry in record.entries] == [
        "case",
        "key",
        "key",
        "party",
        "rig",
        "rule",
    ]
    assert len(record.heads) == 1
    assert {entry.logged for entry in record.entries} == {NOON}
    assert check_path(folder).result == "unchanged"


def test_the_first_key_names_the_certificate_with_which_dossiers_are_signed(folder, keys):
    started = begin(folder, keys)
    entry = started.record.entries[1]
    body = entry.body
    assert isinstance(body, Key)

    certificate = started.record.original(entry.files[0].sha256).read_bytes()
    assert body.key == started.keys.signer.verifier.vkey
    assert body.cert == sha256(certificate).hexdigest() == entry.files[0].sha256
    name = x509.load_der_x509_certificate(certificate).subject
    assert name.get_attributes_for_oid(x509.NameOID.COMMON_NAME)[0].value == "A. Holder"


def test_the_second_key_is_the_one_on_paper_and_it_can_sign(folder, keys):
    started = begin(folder, keys)
    paper = started.recovery.signer(origin_of(started.record.case.case_id))
    body = started.record.entries[2].body
    assert isinstance(body, Key)

    assert body.key == paper.verifier.vkey
    started.record.write([Draft("photos", {}, "owner")], paper, clock=lambda: NOON)
    assert check_path(folder).result == "unchanged"


def test_the_recovery_key_is_kept_nowhere(folder, keys):
    started = begin(folder, keys, passphrase=PASSPHRASE, sample=False)
    secret, words = started.recovery.seed, started.recovery.text().encode()

    for path in (*folder.rglob("*"), *keys.rglob("*")):
        if path.is_file():
            data = path.read_bytes()
            assert secret not in data, path.name
            assert words not in data, path.name


def test_private_keys_are_locked_and_lie_outside_the_case(folder, keys):
    started = begin(folder, keys, passphrase=PASSPHRASE, sample=False)
    case_id = started.record.case.case_id

    assert not started.record.case.sample
    assert list((folder / "private").iterdir()) == []
    assert KeyStore(keys).load(case_id, PASSPHRASE).signer.name == origin_of(case_id)
    with pytest.raises(RefusedError, match="are locked"):
        KeyStore(keys).load(case_id, None)


def test_they_may_lie_inside_the_case_where_that_is_asked_for(folder):
    begin(folder, None)
    record = Record.open(folder)

    assert record.key_store.holds(record.case.case_id)


def test_the_private_folder_is_for_its_owner_alone(folder, keys):
    begin(folder, keys)

    assert stat.S_IMODE((folder / "private").stat().st_mode) == 0o700
    assert sorted(path.name for path in folder.iterdir()) == [
        "issued",
        "ledger.sqlite",
        "originals",
        "private",
    ]


def test_an_empty_folder_is_taken(folder, keys):
    folder.mkdir(parents=True)

    assert begin(folder, keys).record.folder == folder


def test_two_cases_never_share_an_id(tmp_path, keys):
    ids = {begin(tmp_path / name, keys).record.case.case_id for name in "ab"}

    assert len(ids) == 2


@pytest.mark.parametrize("taken", ["a file", "a folder with something in it"])
def test_a_place_that_is_taken_is_refused_and_left_alone(folder, keys, taken):
    folder.mkdir(parents=True)
    (folder / "diary.txt").write_text("dear diary")
    place = folder if taken.startswith("a folder") else folder / "diary.txt"

    with pytest.raises(RefusedError, match="exists and is not empty"):
        begin(place, keys)
    assert (folder / "diary.txt").read_text() == "dear diary"
    assert not keys.exists()


ZONE_TWICE = {**RIG, "zones": [RIG["zones"][0], RIG["zones"][0]]}


@pytest.mark.parametrize(
    ("first", "why"),
    [
        (FIRST[:1], "needs a party and a rig"),
        (FIRST[1:], "needs a party and a rig"),
        ((FIRST[0], Draft("rig", {**RIG, "surface": "thatch"}, "owner")), "surface"),
        ((FIRST[0], Draft("rig", {**RIG, "home_zone": "Mars/Base"}, "owner")), "home_zone"),
        ((FIRST[0], Draft("rig", ZONE_TWICE, "owner")), "twice"),
        ((*FIRST, Draft("rule", {**RULE, "zones": ["attic"]}, "owner")), "'attic'"),
        ((Draft("party", {**PARTY, "colour": "red"}, "owner"), FIRST[1]), "'colour'"),
        ((Draft("party", {**PARTY, "name": ""}, "owner"), FIRST[1]), "name"),
    ],
)
def test_what_cannot_be_taken_leaves_neither_case_nor_keys(folder, keys, first, why):
    with pytest.raises(RefusedError, match=why):
        begin(folder, keys, first)
    assert left_over(folder) == []
    assert not keys.exists() or list(keys.iterdir()) == []


def test_a_start_that_is_interrupted_leaves_neither_case_nor_keys(folder, keys):
    def stopped() -> datetime:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        begin(folder, keys, clock=stopped)
    assert left_over(folder) == []
    assert list(keys.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_an_error_in_plain_words(tmp_path, keys):
    (tmp_path / "file").write_text("")

    with pytest.raises(RefusedError, match="cannot be made"):
        begin(tmp_path / "file" / "kestrel", keys)
    assert not keys.exists()
