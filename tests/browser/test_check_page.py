"""The checking page over packs, good and tampered with: it says what `check` says."""

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from evidence.check import check_path
from evidence.errors import RefusedError
from tests.browser.looking import assert_agree, steps
from tests.packing import Change, exchanged, members, with_json
from tests.tampering import flipped, reworded

Files = dict[str, bytes]


def test_a_pack_is_found_as_check_finds_it(checking, pack):
    document = checking.document(pack)

    assert_agree(document, check_path(pack))
    assert (document["target"], document["result"]) == ("pack", "unchanged")
    assert steps(document) == {
        **dict.fromkeys(range(1, 9), "ok"),
        9: "not-checked",
        10: "not-checked",
    }
    said = checking.page.inner_text(".answer")
    assert "The sample’s own outsider, who vouches for nothing, answers that the first" in said
    assert "Not checked here: steps 9, 10." in said
    assert checking.page.is_visible("#sample")


def test_an_excerpt_is_incomplete_and_says_how_much_was_withheld(checking, excerpt):
    report = check_path(excerpt)

    document = checking.document(excerpt)

    assert_agree(document, report)
    cut = report.record.excerpt
    assert document["result"] == "incomplete"
    assert document["pack"]["excerpt"]["withheld"] == cut.withheld > 0
    said = checking.page.inner_text(".answer")
    assert f"{cut.withheld} of {cut.size} entries withheld by the sender" in said


def test_the_files_of_a_pack_are_checked_as_the_pack_is(checking, pack, tmp_path):
    folder = tmp_path / "unpacked"
    with zipfile.ZipFile(pack) as opened:
        opened.extractall(folder)

    document = checking.document(folder, by="folder")

    assert (document["target"], document["result"]) == ("files", "unchanged")
    assert {n for n, found in steps(document).items() if found == "ok"} >= set(range(1, 9))


def test_of_files_chosen_one_by_one_the_others_are_missing(checking, pack, tmp_path):
    with zipfile.ZipFile(pack) as opened:
        opened.extractall(tmp_path)
    chosen = [tmp_path / name for name in ("record.jsonl", "heads.txt", "manifest.json")]

    document = checking.document(chosen)

    assert document["result"] == "incomplete"
    assert {n: steps(document)[n] for n in (4, 5, 7)} == {4: "ok", 5: "missing", 7: "missing"}
    assert "Nobody but the owner vouches for any date here." in checking.page.inner_text(".answer")


def member(name: str, change: Callable[[bytes], bytes | None]) -> Change:
    def exchange(files: Files) -> None:
        found = next(each for each in files if each.startswith(name))
        data = change(files[found])
        if data is None:
            del files[found]
        else:
            files[found] = data

    return exchange


def bit(at: int) -> Callable[[bytes], bytes]:
    return lambda data: flipped(data, at)


def line(number: int, change: Callable[[bytes], bytes]) -> Change:
    def reword(data: bytes) -> bytes:
        lines = data.split(b"\n")
        lines[number] = change(lines[number])
        return b"\n".join(lines)

    return member("record.jsonl", reword)


def swap(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    def change(data: bytes) -> bytes:
        assert old in data
        return data.replace(old, new, 1)

    return change


TAMPERED: dict[str, Change] = {
    "a picture with another bit": member("original-", bit(1000)),
    "a picture taken out": member("original-", lambda _: None),
    "an entry reworded": line(12, lambda entry: reworded(entry, stated_cause="debris")),
    "the last entry reworded": line(-2, lambda entry: reworded(entry, note="otherwise")),
    "an entry taken out": member("record.jsonl", lambda data: b"\n".join(data.split(b"\n")[:7] + data.split(b"\n")[8:])),
    "two entries exchanged": member("record.jsonl", lambda data: b"\n".join([*(lines := data.split(b"\n"))[:7], lines[8], lines[7], *lines[9:]])),
    "the last entry cut off": member("record.jsonl", lambda data: b"\n".join(data.split(b"\n")[:-2]) + b"\n"),
    "the newest head cut off": member("heads.txt", lambda data: data[: data.rindex(b"roof-evidence/", 0, data.rindex(b"\n\n\xe2\x80\x94"))]),
    "no head at all": member("heads.txt", lambda _: b""),
    "a head's root": member("heads.txt", lambda data: bytes([*data[:50], *swap(b"A", b"B")(data[50:])])),
    "a head's signature": member("heads.txt", lambda data: data[:-12] + (b"A" if data[-12:-11] != b"A" else b"B") + data[-11:]),
    "a name twice in an entry": line(3, swap(b'{"body":', b'{"body":{},"body":')),
    "a fraction": line(3, swap(b'"seq":3', b'"seq":3.0')),
    "a blank in an entry": line(3, swap(b'"seq":3', b'"seq": 3')),
    "a field that its kind does not have": line(9, lambda entry: reworded(entry, colour="red")),
    "a grade beyond the last": line(8, lambda entry: entry.replace(b'"grade":0', b'"grade":9')),
    "an answer with another bit": member("witness-", bit(3000)),
    "an answer cut off": member("witness-", lambda data: data[:-3]),
    "an answer with a tail": member("witness-", lambda data: data + b"\0"),
    "an answer taken out": member("witness-", lambda _: None),
    "no newline at the end": member("record.jsonl", lambda data: data[:-1]),
    "an empty record": member("record.jsonl", lambda _: b""),
    "bytes that are no text": member("heads.txt", lambda data: b"\xff" + data),
    "a manifest that is none": member("manifest.json", lambda _: b"[]"),
    "a stranger's original": lambda files: files.update({f"original-{'ab' * 32}.jpg": b"jpeg"}),
    "a stranger's dossier": lambda files: files.update({"dossier-claim-0123456789abcdef.pdf": b"%PDF-1.7"}),
    "figures": member("standing.json", bit(8001)),
}  # fmt: skip


@pytest.mark.parametrize("fitted", [True, False], ids=["with sums that fit", "as it is"])
@pytest.mark.parametrize("name", TAMPERED)
def test_what_was_changed_is_found_by_the_same_step(checking, pack, tmp_path, name, fitted):
    if name == "a manifest that is none" and fitted:
        pytest.skip("sums cannot be fitted into it")
    path = exchanged(pack, tmp_path / "b.zip", TAMPERED[name], fitted=fitted)
    report = check_path(path)
    assert name in {"a stranger's original", "figures"} or report.exit_code in {3, 4}

    assert_agree(checking.document(path), report)


CUT: dict[str, Change] = {
    "an entry reworded": line(12, lambda entry: reworded(entry, stated_cause="debris")),
    "an entry taken out": member("record.jsonl", lambda data: b"\n".join(data.split(b"\n")[:8] + data.split(b"\n")[9:])),
    "a proof of another entry": lambda files: with_json(files, "proofs.json", lambda told: told["inclusion"][3].update(proof=told["inclusion"][4]["proof"])),
    "a proof too few": lambda files: with_json(files, "proofs.json", lambda told: told["inclusion"].pop()),
    "another size": lambda files: with_json(files, "proofs.json", lambda told: told.update(size=told["size"] + 1)),
    "an earlier head that is not continued": lambda files: with_json(files, "proofs.json", lambda told: told["consistency"][0].update(proof=told["consistency"][1]["proof"])),
    "no proofs that can be read": member("proofs.json", lambda _: b'{"size":1,"size":1}'),
    "without proofs": member("proofs.json", lambda _: None),
}  # fmt: skip


@pytest.mark.parametrize("name", CUT)
def test_a_forged_excerpt_is_found_by_the_same_step(checking, excerpt, tmp_path, name):
    path = exchanged(excerpt, tmp_path / "b.zip", CUT[name])
    report = check_path(path)
    assert report.exit_code == 4

    assert_agree(checking.document(path), report)


def damaged_file(path: Path, at: int) -> None:
    data = bytearray(path.read_bytes())
    data[at] ^= 1
    path.write_bytes(data)


@pytest.mark.parametrize(
    "name", ["record.jsonl", "heads.txt", "manifest.json", "original-", "HOW-"]
)
def test_a_member_that_is_not_as_the_zip_states_it_is_found(checking, pack, tmp_path, name):
    path = tmp_path / "b.zip"
    path.write_bytes(pack.read_bytes())
    found = next(each for each in members(pack) if each.startswith(name))
    with zipfile.ZipFile(pack) as opened:
        offset = opened.getinfo(found).header_offset
    damaged_file(path, offset + 30 + len(found) + 40)
    report = check_path(path)
    assert report.exit_code == 4

    assert_agree(checking.document(path), report)


def test_a_zip_of_another_make_is_refused_and_nothing_said_of_it(checking, pack, tmp_path):
    tricks: dict[str, Callable[[bytes], bytes]] = {
        "ahead": lambda data: b"PK\x03\x04" + data,
        "behind": lambda data: data + b"\0",
        "cut": lambda data: data[:-1],
        "time": lambda data: data[:10] + b"\1" + data[11:],
        "name": lambda data: data.replace(b"heads.txt", b"../ds.txt"),
        "flag": lambda data: data[:6] + b"\1" + data[7:],
        "twice": lambda data: data.replace(b"HOW-TO-CHECK.txt", b"how-to-check.txt", 1),
    }
    for name, trick in tricks.items():
        path = tmp_path / f"{name}.zip"
        path.write_bytes(trick(pack.read_bytes()))
        with pytest.raises(RefusedError):
            check_path(path)

        assert checking.choose(path) == "refused", name
        said = checking.page.inner_text(".answer")
        assert "is not put together as a pack is" in said
        assert "Nothing can be said of it" in said


def test_what_is_no_pack_is_refused_with_the_way_to_go_on(checking, dossier, tmp_path):
    other = tmp_path / "notes.txt"
    other.write_text("notes")

    assert checking.choose(dossier) == "refused"
    assert "Save its attached files into one folder" in checking.page.inner_text(".answer")
    assert checking.choose(other) == "refused"
    assert "There is no record.jsonl" in checking.page.inner_text(".answer")
