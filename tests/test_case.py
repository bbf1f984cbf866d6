import unicodedata
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from PIL import Image

from evidence.case import Draft, Record, user_keys
from evidence.check import check_path
from evidence.errors import MissingError, RefusedError
from evidence.keeping import FileDraft
from evidence.ledger import Head, KeyStore, SignedNote, Signer
from evidence.photos import Worker
from evidence.witness import Trust
from tests.making import RIG, ZONES, picture
from tests.tampering import key_body, owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


def autumn() -> datetime:
    return AUTUMN


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


@pytest.fixture
def signer(case: Path) -> Signer:
    return owner_of(case)


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    return picture(tmp_path / "new.jpg", "2025:09:01 06:30:00", "-05:00", 90)


def wash(**more: object) -> Draft:
    return Draft("wash", {"when": "2025-09-01", "zones": "all", **more}, "owner")


def with_file(path: Path, **described: object) -> Draft:
    return Draft("photos", {}, "owner", (FileDraft(path, described),))


def state(record: Record) -> tuple[object, ...]:
    """Everything that a refused entry must leave as it was."""
    fresh = Record.open(record.folder)
    return (fresh.lines, fresh.heads, sorted(path.name for path in record.originals.iterdir()))


@pytest.fixture
def untouched(record: Record):
    """The test leaves the case as it was."""
    before = state(record)
    yield
    assert state(record) == before


# Opening and reading


def test_a_folder_without_a_ledger_is_no_case(tmp_path):
    with pytest.raises(RefusedError, match="is not a case"):
        Record.open(tmp_path)


def test_a_case_knows_its_title_home_and_the_date_there(record):
    assert record.case.title == "Kestrel"
    assert record.home == "America/Chicago"
    late = datetime(2025, 6, 9, 4, 59, tzinfo=UTC)
    assert record.today(lambda: late) == date(2025, 6, 8)


def test_a_ledger_without_entries_has_no_case_entry(tmp_path):
    from evidence.ledger import Store

    Store.create(tmp_path / "ledger.sqlite").close()

    with pytest.raises(RefusedError, match="is not a case entry"):
        _ = Record.open(tmp_path).case


def test_the_root_of_a_day_is_that_of_the_head_which_stood_at_its_end(record):
    heads = [Head.parse(SignedNote.parse(note).text) for note in record.heads]
    entries = record.entries
    for head in heads[1:-1]:
        last, following = entries[head.size - 1], entries[head.size]
        day = last.logged.astimezone(UTC).date()
        if following.logged.date() > day:
            assert record.root_on(day) == head.root.hex()
    assert record.root_on(date(2030, 1, 1)) == heads[-1].root.hex()


def test_the_root_and_the_history_of_a_day_count_the_same_entries_after_a_clock_was_reset(
    record, signer
):
    """The order of the chain is surer than a clock that ran ahead for a while."""
    ahead = datetime(2027, 1, 1, tzinfo=UTC)
    record.write([Draft("photos", {}, "owner")], signer, clock=lambda: ahead)
    body = {"was": "2027-01-01T00:00:00Z", "is": "2025-09-01T12:00:00Z", "why": "ran ahead"}
    record.write([Draft("clock", body, "owner")], signer, clock=autumn)
    written = record.write([wash()], signer, clock=autumn)

    assert record.history(AUTUMN.date()).size == len(record.lines)
    assert record.root_on(AUTUMN.date()) == written.head.root.hex()


def test_how_far_each_answer_is_trusted_is_known_by_its_entry(record):
    seqs = [entry.seq for entry in record.entries if entry.kind == "witness"]

    trust = {seq: answer.trust for seq, answer in record.answers().items()}
    assert trust == dict.fromkeys(seqs, Trust.SAMPLE)


def test_when_the_certificate_of_an_answer_ends_stands_in_the_history(record):
    answers = record.answers()

    vouched = record.history(AUTUMN.date()).vouched

    assert vouched
    assert {row.seq: row.certificate_ends for row in vouched} == {
        row.seq: answers[row.seq].certificate_ends for row in vouched
    }


def test_an_answer_that_is_gone_or_changed_bounds_nothing(record):
    first, second, *others = [entry for entry in record.entries if entry.kind == "witness"]
    record.original(first.files[0].sha256).unlink()
    record.original(second.files[0].sha256).write_bytes(b"not an answer")

    assert list(record.answers()) == [entry.seq for entry in others]


def test_an_original_is_found_by_its_sum_and_missed_by_name(record):
    ref = next(entry for entry in record.entries if entry.files).files[0]

    assert record.original(ref.sha256).stem == ref.sha256
    with pytest.raises(MissingError, match="is not among the originals"):
        record.original("0" * 64)


# Writing


def test_an_entry_is_written_under_a_signed_head_and_the_case_still_checks(record, signer):
    before = len(record.lines)
    written = record.write([wash()], signer, clock=autumn)

    assert [entry.seq for entry in written.entries] == [before]
    assert written.head.size == before + 1
    assert record.entries[-1] == written.entries[-1]
    assert record.entries[-1].logged == AUTUMN
    assert check_path(record.folder).result == "unchanged"


def test_several_entries_are_one_unit_under_one_head(record, signer):
    heads = len(record.heads)
    incident = {
        "id": "i2", "stated_cause": "hail", "when": "2025-08-31", "known": "found-later",
        "zones": ["vent-1"],
    }  # fmt: skip
    cover = {"when": "2025-09-01", "zones": ["vent-1"], "what": "tarp", "incidents": ["i2"]}
    drafts = [Draft("incident", incident, "owner"), Draft("cover", cover, "owner")]
    record.write(drafts, signer, clock=autumn)

    assert [entry.kind for entry in record.entries[-2:]] == ["incident", "cover"]
    assert len(record.heads) == heads + 1


def test_a_file_is_sealed_with_its_size_type_name_and_what_its_camera_wrote(record, signer, photo):
    draft = with_file(photo, role="close", zone="vent-1", via="camera-card")
    (entry,) = record.write([draft], signer, clock=autumn).entries

    (ref,) = entry.files
    assert record.original(ref.sha256).read_bytes() == photo.read_bytes()
    assert (ref.bytes, ref.type, ref.name) == (photo.stat().st_size, "image/jpeg", "new.jpg")
    assert (ref.role, ref.zone, ref.via) == ("close", "vent-1", "camera-card")
    assert ref.camera is not None
    assert ref.camera.DateTimeOriginal == "2025:09:01 06:30:00"
    assert ref.camera.OffsetTimeOriginal == "-05:00"


def test_text_is_brought_to_normal_form(record, signer):
    apart = unicodedata.normalize("NFD", "Élan, früh")
    (entry,) = record.write([wash(product=apart)], signer, clock=autumn).entries

    assert entry.raw["product"] == "Élan, früh"


def test_a_writer_who_comes_second_writes_behind_the_first(record, signer):
    other = Record.open(record.folder)
    assert len(other.entries) == len(record.entries)
    first = record.write([wash()], signer, clock=autumn)
    second = other.write([wash()], signer, clock=autumn)

    assert second.entries[0].seq == first.entries[0].seq + 1
    assert check_path(record.folder).result == "unchanged"


def test_an_id_that_another_writer_took_meanwhile_is_refused_under_the_lock(record, signer):
    other = Record.open(record.folder)
    trip = Draft("trip", {"id": "t1", "out": "2025-08-25"}, "owner")
    assert other.entries
    record.write([trip], signer, clock=autumn)

    with pytest.raises(RefusedError, match="'t1' is taken"):
        other.write([trip], signer, clock=autumn)
    assert check_path(record.folder).result == "unchanged"


# Refusing: the record and the originals stay as they were

LOOK = {
    "when": "2025-09-01", "means": "on-roof", "occasion": "routine",
    "zones": [{"zone": "vent-1", "grade": 0}],
}  # fmt: skip


def a_look(**more: object) -> Callable[[Path], Draft]:
    return lambda photo: Draft("inspection", {**LOOK, **more}, "owner", (FileDraft(photo),))


def a_file(at: str = "new.jpg", **described: object) -> Callable[[Path], Draft]:
    return lambda photo: with_file(photo.parent / at, **described)


REFUSED: dict[str, tuple[Callable[[Path], Draft], str]] = {
    "unknown kind": (lambda _: Draft("guess", {}, "owner"), "kind 'guess'"),
    "unknown party": (lambda _: Draft("photos", {}, "nobody"), "'nobody' is not known"),
    "unknown field": (a_look(colour="red"), "'colour'"),
    "unknown zone": (a_look(zones=[{"zone": "x", "grade": 0}]), "'x' is not known"),
    "grade 9": (a_look(zones=[{"zone": "vent-1", "grade": 9}]), "grade"),
    "future": (a_look(when="2031-01-01"), "lies ahead"),
    "reversed": (a_look(when="2025-08-02/2025-08-01"), "when"),
    "float": (a_look(zones=[{"zone": "vent-1", "grade": 1.0}]), "float"),
    "no clean text": (a_look(zones=[{"zone": "vent-1", "grade": 0, "note": "\x07"}]), "control"),
    "folder": (a_file("."), "is a folder"),
    "no such file": (a_file("none.jpg"), "cannot be read"),
    "cut short": (a_file("cut.jpg"), "is damaged or cut short"),
    "file in an unknown zone": (a_file(zone="x"), "'x' is not known"),
    "file with an unknown field": (a_file(colour="red"), "'colour'"),
    "told hash": (a_file(sha256="0" * 64), "'sha256': cannot be told"),
    "told size": (a_file(bytes=1), "'bytes': cannot be told"),
    "told name": (a_file(name="other.jpg"), "'name': cannot be told"),
    "told tags": (a_file(camera={"DateTimeOriginal": "2025:08:31 10:00:00"}), "'camera': cannot"),
}


@pytest.fixture
def photos(photo: Path) -> Path:
    """A good picture, and a broken one beside it."""
    photo.with_name("cut.jpg").write_bytes(photo.read_bytes()[:-200])
    return photo


@pytest.mark.usefixtures("untouched")
@pytest.mark.parametrize(("draft", "why"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_taken_leaves_no_trace(record, signer, photos, draft, why):
    with pytest.raises(RefusedError, match=why):
        record.write([draft(photos)], signer, clock=autumn)


@pytest.mark.usefixtures("untouched")
@pytest.mark.parametrize("name", ["unknown zone", "cut short", "told tags"])
def test_nor_does_what_stands_in_one_unit_with_it(record, signer, photos, name):
    draft, why = REFUSED[name]

    with pytest.raises(RefusedError, match=why):
        record.write([wash(), with_file(photos), draft(photos)], signer, clock=autumn)


@pytest.mark.usefixtures("untouched")
def test_rehearsing_refuses_the_same_and_writes_nothing(record, photos):
    for draft, why in REFUSED.values():
        if why != REFUSED["cut short"][1]:  # whether a picture is whole is asked when it is sealed
            with pytest.raises(RefusedError, match=why):
                record.rehearse([draft(photos)], autumn)
    record.rehearse([with_file(photos)], autumn)


@pytest.mark.usefixtures("untouched")
def test_a_clock_that_ran_back_is_refused_before_any_file_is_kept(record, signer, photo):
    spring = datetime(2025, 3, 1, tzinfo=UTC)

    with pytest.raises(RefusedError, match="is earlier than the entry before"):
        record.write([with_file(photo)], signer, clock=lambda: spring)


@pytest.mark.usefixtures("untouched")
def test_a_zone_with_an_open_finding_cannot_be_left_out_of_the_rig(record, signer):
    zones = [zone for zone in ZONES if zone["id"] != "skylight-1"]

    with pytest.raises(RefusedError, match="has the open finding 'f1'"):
        record.write([Draft("rig", {**RIG, "zones": zones}, "owner")], signer, clock=autumn)


@pytest.mark.usefixtures("untouched")
def test_a_key_of_another_case_signs_nothing(record, photo):
    with pytest.raises(RefusedError, match="is none that the record allows to sign"):
        record.write([with_file(photo)], Signer.generate("roof-evidence/other"), clock=autumn)


def test_a_key_signs_until_it_is_retired(record, signer):
    second = Signer.generate(signer.name)
    record.write([Draft("key", key_body(second), "owner")], signer, clock=autumn)
    record.write([Draft("key", key_body(signer, "retired"), "owner")], second, clock=autumn)
    record.write([wash()], second, clock=autumn)

    with pytest.raises(RefusedError, match="is none that the record allows to sign"):
        record.write([wash()], signer, clock=autumn)
    assert check_path(record.folder).result == "unchanged"


def test_a_broken_picture_is_taken_where_everything_is(record, signer, photos):
    broken = with_file(photos.with_name("cut.jpg"))
    (entry,) = record.write([broken], signer, clock=autumn, take_broken=True).entries

    assert entry.files[0].name == "cut.jpg"
    assert check_path(record.folder).result == "unchanged"


# Previews and keys


def test_a_preview_is_made_once_and_carries_nothing_but_pixels(record):
    ref = next(entry for entry in record.entries if entry.kind == "inspection" and entry.files)
    with Worker() as worker:
        first = record.preview(ref.files[0].sha256, worker)
        assert first is not None
        first.write_bytes(first.read_bytes())
        made = first.stat().st_mtime_ns
        assert record.preview(ref.files[0].sha256, worker) == first
    assert first.stat().st_mtime_ns == made
    with Image.open(first) as shown:
        assert not shown.getexif()
    assert b"Exif" not in first.read_bytes()


def test_what_cannot_be_shown_has_no_preview(record):
    answer = next(entry for entry in record.entries if entry.kind == "witness").files[0].sha256
    with Worker() as worker:
        assert record.preview(answer, worker) is None
        assert record.preview("0" * 64, worker) is None


def test_a_sample_keeps_its_keys_in_the_case_and_others_in_the_users_folder(
    record, tmp_path, monkeypatch
):
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "keys"))
    case_id = record.case.case_id
    assert record.key_store.holds(case_id)

    (record.private / "keys").rename(tmp_path / "keys")

    assert record.key_store.holds(case_id)
    assert user_keys().holds(case_id)


def test_without_the_variable_keys_are_kept_where_the_system_keeps_settings(monkeypatch, tmp_path):
    monkeypatch.delenv("ROOF_EVIDENCE_KEYS", raising=False)
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / name)
    KeyStore(tmp_path / "roof-evidence" / "keys").create(
        "0" * 32, common_name="A. Holder", passphrase=None
    )

    assert user_keys().holds("0" * 32)


def test_a_case_that_was_closed_well_needs_no_mending(record):
    before = record.ledger.read_bytes()
    record.mend()

    assert record.ledger.read_bytes() == before
