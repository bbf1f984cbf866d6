import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from evidence.errors import EvidenceError
from evidence.photos import Worker
from evidence.photos.camera import ReadBy
from tests.photos.moody import MOODY, moody_worker

NOON = {"DateTimeOriginal": "2025:05:30 12:10:05"}


@pytest.fixture
def moody():
    with moody_worker() as worker:
        yield worker


def test_many_files_are_read_by_one_child(make):
    path = make("a.jpg", NOON)
    with Worker() as worker:
        readings = [worker.camera(path) for _ in range(5)]
        child = worker._child
        assert worker.preview(path, path.with_name("p.jpg"))
        assert worker._child is child
    assert {reading.camera.DateTimeOriginal for reading in readings} == {"2025:05:30 12:10:05"}
    assert child.poll() is not None


def test_real_photos_are_read_and_shown_within_the_limits(shared_photos, tmp_path):
    with Worker() as worker:
        for name in ("exif-samples__iphone_13_pro_max.HEIC", "metadata-extra__Issue_649.avif"):
            assert worker.camera(shared_photos / "open" / name).read_by != ReadBy.NONE
            preview = worker.preview(shared_photos / "open" / name, tmp_path / "p.jpg")
            assert preview, preview.why


def test_what_cannot_be_shown_says_why(tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    with Worker() as worker:
        preview = worker.preview(tmp_path / "a.pdf", tmp_path / "p.jpg")
    assert (preview.shown, bool(preview)) == (False, False)
    assert preview.why == "cannot be shown: it is a PDF"


@pytest.mark.parametrize("mood", ["crash", "raise", "greedy"])
def test_a_file_that_breaks_the_child_costs_that_file_only(moody, make, mood):
    if mood == "greedy":
        pytest.importorskip("resource")
    good, bad = make("good.jpg", NOON), make(f"{mood}.jpg", NOON)
    assert moody.camera(good).camera
    assert "the reader broke" in moody.camera(bad).unreadable
    assert moody.camera(good).camera
    assert moody.preview(good, good.with_name("p.jpg"))


def test_a_hundred_files_share_a_child_and_only_what_breaks_it_costs_a_new_one(make, monkeypatch):
    started = []
    start = Worker._start
    monkeypatch.setattr(Worker, "_start", lambda worker: started.append(1) or start(worker))
    names = [f"{'crash' if at == 50 else 'good'}-{at}.jpg" for at in range(100)]
    with moody_worker() as worker:
        told = {name: worker.camera(make(name, NOON)) for name in names}
    assert [name for name, reading in told.items() if reading.unreadable] == ["crash-50.jpg"]
    assert all(told[name].camera for name in names if name != "crash-50.jpg")
    assert len(started) == 3  # once; again to see whether the file breaks a fresh one; and then on


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="read from /proc")
def test_the_childs_memory_does_not_grow_with_the_number_of_files(make):
    path = make("a.jpg", NOON, size=(1200, 900))

    def read(times):
        for _ in range(times):
            assert worker.camera(path).camera
            assert worker.preview(path, path.with_name("p.jpg"))
        status = Path(f"/proc/{worker._child.pid}/status").read_text()
        return int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) / 1024

    with Worker() as worker:
        before = read(20)
        assert read(200) < before + 8


def test_a_file_is_not_blamed_for_what_an_earlier_one_did_to_the_child(moody, make):
    poison, good = make("poison.jpg", NOON), make("good.jpg", NOON)
    assert moody.camera(poison).camera
    assert moody.camera(good).camera


@pytest.mark.skipif(sys.platform == "win32", reason="there a process cannot be killed so")
def test_a_child_that_was_killed_while_it_had_nothing_to_do_costs_no_file(moody, make):
    good = make("good.jpg", NOON)
    assert moody.camera(good).camera
    moody._child.kill()
    moody._child.wait()
    assert moody.camera(good).camera


@pytest.mark.skipif(not hasattr(signal, "alarm"), reason="this system has no alarm")
def test_a_child_whose_parent_is_gone_does_not_stay_with_a_file_for_ever(make):
    bad = make("hang.jpg", NOON)
    script = MOODY.replace("child.main()", "child.SECONDS_ALONE = 1; child.main()")
    request = json.dumps({"job": "camera", "path": str(bad)}).encode() + b"\n"
    ended = subprocess.run(
        (sys.executable, "-c", script), input=request, capture_output=True, timeout=30, check=False
    )
    assert ended.returncode == -signal.SIGALRM
    assert ended.stdout == b"ready\n"


def test_a_file_that_takes_too_long_costs_that_file_only(make):
    good, bad = make("good.jpg", NOON), make("hang.jpg", NOON)
    with moody_worker(seconds=1.5) as worker:
        started = time.monotonic()
        assert worker.camera(bad).unreadable == (
            "its tags cannot be read: the reader took longer than 1.5 seconds"
        )
        assert time.monotonic() - started < 30
        assert worker.camera(good).camera


def test_what_a_library_prints_is_not_taken_for_an_answer(moody, make):
    assert moody.camera(make("chatty.jpg", NOON)).camera


def test_secrets_stay_with_the_parent(moody, make, monkeypatch):
    monkeypatch.setenv("ROOF_EVIDENCE_PASSPHRASE", "open sesame")
    names = moody.camera(make("secret.jpg")).unreadable.split(",")
    assert "PYTHONPATH" in names
    assert "ROOF_EVIDENCE_PASSPHRASE" not in names


@pytest.mark.parametrize("answer", ['{"camera":17}', "no JSON", "[]"])
def test_an_answer_of_another_shape_is_not_believed(make, answer):
    script = f"print('ready', flush=True); input(); print({answer!r}, flush=True); input()"
    with Worker(command=(sys.executable, "-c", script)) as worker:
        assert "the reader broke" in worker.camera(make("a.jpg", NOON)).unreadable


@pytest.mark.parametrize("script", ["", "print('hello')", "raise SystemExit(3)"])
def test_a_child_that_cannot_start_is_an_error_that_says_so(make, script):
    with (
        Worker(command=(sys.executable, "-c", script)) as worker,
        pytest.raises(EvidenceError, match="reader of pictures: cannot be started"),
    ):
        worker.camera(make("a.jpg"))


def test_a_command_that_is_not_there_is_an_error_that_says_so(make, tmp_path):
    with (
        Worker(command=(str(tmp_path / "nothing"),)) as worker,
        pytest.raises(EvidenceError, match="cannot be started"),
    ):
        worker.camera(make("a.jpg"))


def test_it_works_where_memory_cannot_be_limited(make):
    script = (
        "import sys; sys.modules['resource'] = None; from evidence.photos.child import main; main()"
    )
    with Worker(command=(sys.executable, "-c", script)) as worker:
        assert worker.camera(make("a.jpg", NOON)).camera


def test_the_child_is_found_from_any_folder_and_takes_nothing_from_it(make, tmp_path, monkeypatch):
    (tmp_path / "exifread.py").write_text("raise SystemExit(5)")
    monkeypatch.chdir(tmp_path)
    make("a.jpg", NOON)
    with Worker() as worker:
        assert worker.camera(Path("a.jpg")).camera


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="names there are always text")
def test_a_name_that_is_no_text_is_found(make, tmp_path):
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.jpg"))
    make("a.jpg", NOON).rename(odd)
    with Worker() as worker:
        assert worker.camera(odd).camera


def test_a_picture_that_breaks_the_reader_of_codes_costs_that_picture_only(moody, make):
    good = make("good.png")
    found = moody.codes(make("crash.png"), "CARD1/", 126)
    assert (found.texts, "the reader broke" in found.unreadable) == ((), True)
    assert moody.codes(good, "CARD1/", 126).unreadable is None
