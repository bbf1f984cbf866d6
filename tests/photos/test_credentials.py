"""Content Credentials: two facts, told apart; nothing fetched; hostile manifests cost one file."""

import json
import socket
from importlib import util
from threading import Thread

import pytest
from PIL import Image

from evidence.photos import Worker, credentials
from evidence.photos.credentials import Credentials, Held, Integrity, Trust, read_credentials
from tests.conftest import needed
from tests.crediting import FIRST, credited, signer


@pytest.fixture(scope="module")
def c2pa():
    needed(util.find_spec("c2pa") is not None, "c2pa-python")


@pytest.fixture(scope="module")
def lumen():
    return signer()


@pytest.fixture
def plain(tmp_path):
    path = tmp_path / "plain.jpg"
    Image.linear_gradient("L").convert("RGB").save(path, quality=90)
    return path


@pytest.fixture
def signed(c2pa, plain, lumen, tmp_path):
    return credited(plain, tmp_path / "signed.jpg", lumen)


def test_a_file_without_a_manifest_has_nothing_to_tell(worker, plain):
    assert worker.credentials(plain) == Credentials()


def test_a_manifest_that_fits_its_file_is_intact_and_its_signer_unknown(worker, signed):
    told = worker.credentials(signed)
    assert (told.held, told.integrity, told.trust) == (
        Held.EMBEDDED, Integrity.INTACT, Trust.UNTRUSTED,
    )  # fmt: skip
    assert told.codes == ("signingCredential.untrusted",)
    assert (told.signer, told.made_by, told.signed) == ("Lumen cameras", "Field 3 1.0", None)
    assert told.actions == ("created (digitalCapture)",)
    assert told.why is None


def test_a_signer_is_trusted_only_where_the_reader_names_his_authority(worker, signed, lumen):
    trusting = worker.credentials(signed, lumen.authority.decode())
    assert (trusting.integrity, trusting.trust, trusting.codes) == (
        Integrity.INTACT, Trust.TRUSTED, (),
    )  # fmt: skip
    stranger = worker.credentials(signed, signer().authority.decode())
    assert (stranger.integrity, stranger.trust) == (Integrity.INTACT, Trust.UNTRUSTED)


def test_changed_pixels_break_integrity_and_leave_trust_as_it_is(worker, signed, lumen, tmp_path):
    data = bytearray(signed.read_bytes())
    data[-300] ^= 1
    (tmp_path / "changed.jpg").write_bytes(data)
    told = worker.credentials(tmp_path / "changed.jpg", lumen.authority.decode())
    assert (told.integrity, told.trust) == (Integrity.BROKEN, Trust.TRUSTED)
    assert told.codes == ("assertion.dataHash.mismatch",)


def test_a_changed_claim_breaks_integrity(worker, signed, tmp_path):
    data = signed.read_bytes()
    at = data.index(b"digitalCapture")
    (tmp_path / "a.jpg").write_bytes(data[:at] + b"digitalCaptuRe" + data[at + 14 :])
    told = worker.credentials(tmp_path / "a.jpg")
    assert told.integrity is Integrity.BROKEN


@pytest.mark.parametrize("embedded", [True, False])
def test_an_address_in_a_manifest_is_never_asked(c2pa, plain, lumen, tmp_path, embedded):
    """A server stands there and listens: nobody comes."""
    came = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(1.5)

        def listen():
            try:
                came.append(server.accept())
            except TimeoutError:
                return

        thread = Thread(target=listen)
        thread.start()
        address = f"http://127.0.0.1:{server.getsockname()[1]}/manifest.c2pa"
        path = credited(plain, tmp_path / "a.jpg", lumen, remote=address, embedded=embedded)
        with Worker() as worker:
            told = worker.credentials(path)
        here = read_credentials(path)
        thread.join()
    assert came == []
    assert told == here
    if embedded:
        assert (told.held, told.integrity) == (Held.EMBEDDED, Integrity.INTACT)
    else:
        assert (told.held, told.integrity) == (Held.ELSEWHERE, None)
        assert told.why == "it is kept elsewhere, and nothing is fetched"


def test_without_the_reader_it_is_said_only_where_a_manifest_is(signed, plain, monkeypatch):
    monkeypatch.setattr(credentials.util, "find_spec", lambda _name: None)
    assert read_credentials(plain) == Credentials()
    told = read_credentials(signed)
    assert (told.held, told.integrity, told.trust, told.missing) == (
        Held.EMBEDDED, None, None, True,
    )  # fmt: skip
    assert "pip install 'roof-evidence[credentials]'" in told.why


def test_a_manifest_across_the_edge_of_two_blocks_is_seen(tmp_path, monkeypatch):
    mark = credentials._EMBEDDED
    for edge in range(len(mark) + 1):
        (tmp_path / "a.bin").write_bytes(b"x" * (64 - edge) + mark + b"y" * 70)
        monkeypatch.setattr(credentials, "_BLOCK", 64)
        assert credentials._held(tmp_path / "a.bin") is Held.EMBEDDED


def test_a_manifest_that_breaks_its_reader_costs_that_file_alone(worker, signed, tmp_path):
    """Every twentieth byte of the manifest turned over, one at a time, and cut short."""
    data = signed.read_bytes()
    start = data.index(credentials._EMBEDDED)
    for at in range(start, len(data) - 400, max(20, (len(data) - start) // 150)):
        (tmp_path / "a.jpg").write_bytes(data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :])
        told = worker.credentials(tmp_path / "a.jpg")
        padding = data[at] == 0  # behind a signature, and covered by none (C2PA § 13.2.1)
        assert told.integrity is not Integrity.INTACT or padding
    (tmp_path / "a.jpg").write_bytes(data[: start + 200])
    told = worker.credentials(tmp_path / "a.jpg")
    assert (told.held, told.integrity) == (Held.EMBEDDED, None)
    assert told.why.startswith("it cannot be read: ")
    assert worker.credentials(signed).integrity is Integrity.INTACT


def test_a_huge_manifest_is_told_in_few_words(worker, plain, lumen, tmp_path, c2pa):
    long = {"action": "org.example." + "long" * 40, "digitalSourceType": "http://x/" + "y" * 900}
    more = [{"label": "org.example.blob", "data": {"text": "z" * 400_000}}]
    path = credited(plain, tmp_path / "a.jpg", lumen, actions=[FIRST, *[long] * 400], more=more)
    assert path.stat().st_size > 800_000
    told = worker.credentials(path)
    assert len(told.model_dump_json()) < 10_000
    assert len(told.actions) <= 12


@pytest.mark.parametrize(
    "store",
    [
        None, [], "x", {}, {"active_manifest": 3}, {"active_manifest": "a", "manifests": []},
        {"active_manifest": "a", "manifests": {"a": {"assertions": 1, "signature_info": []}}},
        {"active_manifest": "a", "manifests": {"a": {
            "claim_generator_info": [None], "signature_info": {"issuer": 7, "time": "\x1b\x07"},
            "assertions": [None, {"label": 1}, {"label": "c2pa.actions", "data": {"actions": [1]}}],
        }}, "validation_results": {"activeManifest": {"failure": [3], "success": "x"}}},
    ],
)  # fmt: skip
def test_a_store_of_any_shape_is_read_and_never_counts_as_intact(store):
    told = credentials._told(json.loads(json.dumps(store)))
    assert (told.integrity, told.trust) == (Integrity.BROKEN, Trust.UNTRUSTED)
    assert (told.signed, told.actions) == (None, ())


def test_an_expired_certificate_is_a_fact_of_trust_not_of_the_bytes():
    failed = [{"code": "signingCredential.untrusted"}, {"code": "signingCredential.expired"}]
    results = {"failure": failed, "success": [{"code": "claimSignature.validated"}]}
    told = credentials._told({"validation_results": {"activeManifest": results}})
    assert (told.integrity, told.trust) == (Integrity.INTACT, Trust.UNTRUSTED)


def test_real_files_of_others_say_what_their_makers_meant(c2pa, worker, shared_photos):
    """Files of c2pa-python's and C2PA's own test sets; XCA was changed after it was signed."""
    told = {
        path.name: found
        for path in sorted((shared_photos / "open").iterdir())
        if (found := worker.credentials(path)).held is not None
    }
    assert {name: str(one.integrity) for name, one in told.items()} == {
        "c2pa-python__C.jpg": "intact",
        "c2pa-python__CA_ct.jpg": "intact",
        "c2pa-python__XCA.jpg": "broken",
        "c2pa-python__boxhash.jpg": "intact",
        "public-testfil__adobe-20220124-CACA.jpg": "intact",
        "public-testfil__nikon-20221019-building.jpeg": "intact",
    }
    assert {one.trust for one in told.values()} == {Trust.UNTRUSTED}
    assert told["c2pa-python__C.jpg"].signed == "2023-09-29T17:40:14+00:00"
    nikon = told["public-testfil__nikon-20221019-building.jpeg"]
    assert nikon.signer == "NIKON CORPORATION"
    assert "signingCredential.expired" in nikon.codes
