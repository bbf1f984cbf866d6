import json
import shutil
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.report import Found, Result, as_json
from evidence.errors import ChangedError, RefusedError
from evidence.keeping import FileDraft
from evidence.ledger import Head, SignedNote
from evidence.story import build_story
from evidence.witness import Anchors, read_timestamp, sample_authority
from tests.check.making import found, told
from tests.dossier.making import pages
from tests.forging import Unsigned, as_bytes, issued, issued_with_false_page, key_of_a_stranger
from tests.making import RIG, story, write_story
from tests.tampering import Handed, owner_of, reworded


@pytest.fixture(scope="module")
def unsigned(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Unsigned:
    folder = tmp_path_factory.mktemp("unsigned")
    case = Path(shutil.copytree(built, folder / "case"))
    return Unsigned.of(case, folder / "claim.pdf")


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "claim.pdf"


def test_an_untouched_dossier_holds_in_all_ten_steps(dossier):
    report = check_path(dossier)

    assert [step.n for step in report.steps] == list(range(1, 11))
    assert found(report) == {}
    assert report.result is Result.UNCHANGED
    said = as_json(report)
    assert said["target"] == "dossier"
    assert said["sample"] is True
    assert said["dossier"]["figures_match"] == "yes"
    assert said["dossier"]["level"] == "B-B"
    assert said["dossier"]["signer"] == "A. Holder"
    assert said["anchored_to"]["trust"] == "sample"
    assert (
        said["originals"]["left_out"] == said["originals"]["listed"] - said["originals"]["present"]
    )


def test_checking_writes_nothing_and_says_nothing_of_its_own(dossier, capfd):
    before = dossier.read_bytes()
    check_path(dossier)

    assert dossier.read_bytes() == before
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("more", [{"attach_cited": False}, {"paper": "a4"}, {"most_bytes": 4000}])
def test_it_holds_however_it_was_ordered(case, out, more):
    report = check_path(issued(case, out, **more))

    assert found(report) == {}
    assert report.record.originals.missing == ()


def test_it_holds_on_an_earlier_day_than_the_records_last(case, out):
    report = check_path(issued(case, out, date(2025, 6, 20)))

    assert found(report) == {}


def test_it_holds_where_a_name_has_characters_that_no_face_can_draw(tmp_path, out):
    told = story()
    name = "“Kestrel” Ж 日本 🚐 <b>&amp; é\nsecond line"
    told["entries"][1]["body"] = {**RIG, "name": name}
    build_story(write_story(tmp_path / "told", told), tmp_path / "case")

    assert found(check_path(issued(tmp_path / "case", out))) == {}


def test_it_holds_with_more_open_findings_than_the_page_has_room_for(tmp_path, out):
    told = story()
    look = told["entries"][6]["body"]
    look["findings"] = [
        {"id": f"many-{n}", "zone": "vent-1", "type": "D01", "grade": 1, "note": "a crack"}
        for n in range(9)
    ]
    look["zones"] = [{**row, "grade": 1} for row in look["zones"]]
    build_story(write_story(tmp_path / "told", told), tmp_path / "case")

    assert found(check_path(issued(tmp_path / "case", out))) == {}


def let_another_answer(case: Path, folder: Path) -> bytes:
    """An authority that is no sample's answers for the newest head; its root certificate."""
    record, at = Record.open(case), datetime(2025, 9, 1, 12, tzinfo=UTC)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sample_authority, "SAMPLE_ORGANIZATION", "Another authority")
        authority = sample_authority.SampleAuthority.create(at)
    size, note = max(record.notes.items())
    answer = authority.answer(note.encode(), at)
    (folder / "answer.tsr").write_bytes(answer)
    body = {
        "type": "rfc3161", "size": size, "root": Head.parse(SignedNote.parse(note).text).root.hex(),
        "time": "2025-09-01T12:00:00Z", "name": read_timestamp(answer, note.encode()).name,
    }  # fmt: skip
    draft = Draft("witness", body, "owner", (FileDraft(folder / "answer.tsr"),))
    record.write([draft], owner_of(case), clock=lambda: at)
    return authority.root_der


@pytest.mark.parametrize("issuer_trusts", [True, False])
@pytest.mark.parametrize("reader_trusts", [True, False])
def test_figures_are_compared_as_the_issuer_trusted_and_anchored_as_the_reader_trusts(
    case, tmp_path, out, issuer_trusts, reader_trusts
):
    root = let_another_answer(case, tmp_path)
    issued(case, out, anchors=Anchors((root,) if issuer_trusts else ()))
    report = check_path(out, Anchors((root,) if reader_trusts else ()))

    assert found(report) == {}
    assert report.record.witnesses[-1].trust == ("trusted" if reader_trusts else "untrusted")
    assert as_json(report)["anchored_to"]["trust"] == ("trusted" if reader_trusts else "sample")


# What is no dossier


def test_a_pdf_without_our_signature_is_refused(tmp_path):
    file = tmp_path / "other.pdf"
    file.write_bytes(pages("A letter"))

    with pytest.raises(RefusedError, match="bears no signature of this program"):
        check_path(file)


def test_a_path_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(RefusedError, match="is not there"):
        check_path(tmp_path / "gone.pdf")


# Signed with the right key, and yet not true


@pytest.mark.parametrize(
    ("change", "part"),
    [
        (lambda d: d["incidents"][0]["zones"][0]["before"].update(grade=3), "incidents"),
        (lambda d: d["rules"][0].update(met_on_time="no"), "rules"),
        (lambda d: d["case"].update(entries=99), "case"),
        (lambda d: d.update(on="2025-11-02"), "on"),
        (lambda d: d.pop("custody"), "custody"),
        (lambda d: d.update(verdict="fine"), "verdict"),
        (lambda d: d["case"]["witnesses"][0].update(trust="trusted"), "case"),
        (lambda d: d["case"]["witnesses"][0].update(trust="everybody"), "case"),
        (lambda d: d["case"].update(witnesses=[{"seq": []}, 5]), "case"),
        (lambda d: d["case"].update(witnesses=[]), "case"),
    ],
)
def test_a_false_measure_is_found_though_the_key_is_right(unsigned, out, change, part):
    document = unsigned.measured()
    change(document)
    report = check_path(unsigned.signed(out, {"standing.json": as_bytes(document)}))

    assert found(report) == {10: Found.CHANGED}
    assert f"standing.json: {part} differs" in told(report, 10)
    assert report.figures_match == "no"
    assert report.result is Result.CHANGED


def _first_figure(**other: str):
    def change(summary):
        first, *rest = summary.figures
        return replace(summary, figures=(replace(first, **other), *rest))

    return change


@pytest.mark.parametrize(
    "change",
    [
        lambda s: replace(s, title="Hail on 8 June 2025"),
        lambda s: replace(s, subtitle=s.subtitle.replace("16:40", "16:41")),
        _first_figure(value="2"),
        _first_figure(unit="hours before"),
        _first_figure(text="Field, middle right was looked at on 30 May 2025 and was perfect."),
        lambda s: replace(s, figures=(s.figures[1], s.figures[0], *s.figures[2:])),
        lambda s: replace(s, open_rows=()),
        lambda s: replace(s, trust=("Everything here is certain.",)),
    ],
    ids=["title", "subtitle", "value", "unit", "text", "order", "open", "trust"],
)
def test_a_false_sentence_on_page_1_is_found_though_the_key_is_right(case, out, change):
    report = check_path(issued_with_false_page(case, out, change))

    assert found(report) == {10: Found.CHANGED}
    assert told(report, 10).startswith("the summary does not state: ")
    assert as_json(report)["dossier"]["figures_match"] == "no"


def test_another_record_attached_contradicts_its_heads_and_its_pages(unsigned, out, built):
    lines = list(Handed.of(built).lines)
    seq = next(n for n, line in enumerate(lines) if json.loads(line)["kind"] == "incident")
    lines[seq] = reworded(lines[seq], stated_cause="hail")
    report = check_path(unsigned.signed(out, {"record.jsonl": _joined(lines)}))

    assert found(report) == dict.fromkeys((2, 3, 10), Found.CHANGED)
    assert "the summary does not state: Hail on 8 June 2025" in told(report, 10)


def test_a_shorter_record_that_holds_is_not_the_one_of_the_pages(unsigned, out, built):
    handed = Handed.of(built)
    heads = "".join(f"{note}\n" for note in handed.heads[:-1]).encode()
    other = {"record.jsonl": _joined(handed.lines[:-1]), "heads.txt": heads}
    report = check_path(unsigned.signed(out, other))

    assert found(report) == {10: Found.CHANGED}
    assert "standing.json: case differs" in told(report, 10)


def _joined(lines: Iterable[bytes]) -> bytes:
    return b"".join(line + b"\n" for line in lines)


@pytest.mark.parametrize(
    ("other", "step", "why"),
    [
        ({"record.jsonl": None}, 1, "the dossier's record.jsonl: is not attached"),
        ({"record.jsonl": b'{"seq":0}'}, 1, "record.jsonl: does not end with a newline"),
        ({"record.jsonl": b""}, 1, "there are no entries"),
        ({"record.jsonl": b"[1]\n"}, 1, "entry 1: "),
        ({"heads.txt": None}, 1, "the dossier's heads.txt: is not attached"),
        ({"heads.txt": b"roof\n1\n"}, 1, "heads.txt: does not end with an empty line"),
        ({"heads.txt": b"\xff"}, 1, "heads.txt: is not UTF-8"),
        ({"heads.txt": b""}, 3, "no signed head stands over entry 18"),
        ({"standing.json": None}, 10, "the dossier's standing.json: is not attached"),
        ({"standing.json": b"[]"}, 10, "standing.json: is not a JSON object"),
        ({"standing.json": b"[" * 100_000}, 10, "standing.json: "),
        ({"standing.json": b'{"on":1,"on":1}'}, 10, "stands twice"),
        ({"manifest.json": None}, 7, "not as manifest.json lists it: manifest.json"),
        ({"manifest.json": b"{"}, 7, "not as manifest.json lists it: manifest.json"),
        ({"manifest.json": b'{"files":{}}'}, 7, "HOW-TO-CHECK.txt"),
        ({"manifest.json": b'{"files":{},"left_out":[7,{}]}'}, 7, "HOW-TO-CHECK.txt"),
    ],
)
def test_a_part_of_another_form_is_named_never_a_crash(unsigned, out, other, step, why):
    report = check_path(unsigned.signed(out, other))

    assert found(report)[step] is Found.CHANGED
    assert why in told(report, step)
    assert report.result is Result.CHANGED
    assert [step.n for step in report.steps] == list(range(1, 11))


def test_an_unlisted_file_is_named(unsigned, out):
    manifest = unsigned.attached("manifest.json")
    report = check_path(unsigned.signed(out, {"extra.txt": b"more", "manifest.json": manifest}))

    assert found(report) == {7: Found.CHANGED}
    assert told(report, 7) == "not as manifest.json lists it: extra.txt"


def _an_original(unsigned: Unsigned) -> str:
    return next(part.name for part in unsigned.attachments if part.name.startswith("original-"))


def test_a_file_neither_attached_nor_listed_as_left_out_is_missing(unsigned, out):
    name = _an_original(unsigned)
    report = check_path(unsigned.signed(out, {name: None}))

    assert found(report) == {7: Found.MISSING}
    assert name.removeprefix("original-")[:16] in told(report, 7)
    assert report.result is Result.INCOMPLETE


def test_an_original_exchanged_for_another_picture_is_found(unsigned, out):
    name = _an_original(unsigned)
    report = check_path(unsigned.signed(out, {name: b"another picture"}))

    assert found(report) == {7: Found.CHANGED}
    assert name.removeprefix("original-")[:16] in told(report, 7)


def test_figures_of_another_catalogue_are_not_compared(unsigned, out):
    manifest = as_bytes(unsigned.manifest() | {"catalogue": "0" * 64})
    report = check_path(unsigned.signed(out, {"manifest.json": manifest}))

    assert found(report) == {10: Found.NOT_CHECKED}
    assert as_json(report)["dossier"]["figures_match"] == "not-checkable"


@pytest.mark.parametrize(
    ("about", "why"),
    [
        (None, "does not say what the dossier is about"),
        ({"on": "never", "form": "claim", "incident": "i1"}, "never"),
        ({"on": "2025-11-03", "form": "tale"}, "not one of this program's"),
        ({"on": "2025-11-03", "form": "letter"}, "is not made yet"),
        ({"on": "2025-11-03", "form": "claim", "incident": "i9"}, "'i9': is not on record"),
        ({"on": "1999-01-01", "incident": "i1"}, "did not exist yet"),
    ],
)
def test_a_manifest_that_is_about_something_else_is_found(unsigned, out, about, why):
    manifest = as_bytes(unsigned.manifest() | {"dossier": about})
    report = check_path(unsigned.signed(out, {"manifest.json": manifest}))

    assert found(report) == {10: Found.CHANGED}
    assert why in told(report, 10)


# Signed by somebody else, or changed afterwards


def test_a_strangers_certificate_is_not_the_one_that_the_record_names(unsigned, out):
    report = check_path(unsigned.signed(out, {}, **key_of_a_stranger()))

    assert found(report) == {9: Found.CHANGED}
    assert told(report, 9) == "signed with a certificate that the record does not name"


def test_an_attachment_exchanged_after_signing_is_found_twice_over(dossier, out):
    with pikepdf.open(dossier) as document:
        record = document.attachments["record.jsonl"].get_file().read_bytes()
        changed = record.replace(b"branch", b"hail", 1)
        document.attachments["record.jsonl"] = pikepdf.AttachedFileSpec(
            document, changed, filename="record.jsonl"
        )
        document.save(out)
    report = check_path(out)

    assert found(report).keys() >= {2, 3, 7, 9}
    assert "record.jsonl" in told(report, 7)


def test_a_file_cut_off_in_the_middle_is_a_changed_dossier(dossier, out):
    data = dossier.read_bytes()
    out.write_bytes(data[: len(data) // 2])
    report = check_path(out)

    assert report.result is Result.CHANGED
    assert found(report)[1] is Found.CHANGED
    assert found(report)[9] is Found.CHANGED


def test_page_1_drawn_anew_and_all_saved_again_is_told_page_and_signature(dossier, out):
    with pikepdf.open(dossier) as document, pikepdf.open(BytesIO(pages("All is well"))) as other:
        document.pages[0] = other.pages[0]
        document.save(out)
    report = check_path(out)

    assert found(report).keys() == {9, 10}
    assert "the summary does not state: Branch strike" in told(report, 10)


def test_a_damaged_page_is_told_in_the_report_and_nowhere_else(dossier, out, capfd, caplog):
    with pikepdf.open(dossier) as document:
        text = document.pages[0].Contents.read_bytes().replace(b".", b"..")
        document.pages[0].Contents.write(text)
        document.save(out)
    report = check_path(out)

    assert found(report).keys() == {9, 10}
    assert caplog.records == []
    assert capfd.readouterr() == ("", "")


# What leaves the house


def test_a_file_that_was_changed_in_the_case_never_leaves_as_what_was_sealed(case, out):
    victim = next(path for path in (case / "originals").iterdir() if path.suffix == ".jpg")
    shutil.copy(next(p for p in (case / "originals").glob("*.jpg") if p != victim), victim)

    with pytest.raises(ChangedError, match="is not what was sealed"):
        issued(case, out)
    assert not out.exists()


def test_one_damaged_picture_leaves_the_rest_of_the_report_and_the_word_sample(dossier, tmp_path):
    data = bytearray(dossier.read_bytes())
    with pikepdf.open(dossier) as document:
        name = next(name for name in document.attachments if name.startswith("original-"))
        packed = document.attachments[name].obj.EF.F.read_raw_bytes()
    data[data.index(packed) + len(packed) // 2] ^= 1
    path = tmp_path / "damaged.pdf"
    path.write_bytes(data)

    report = check_path(path)

    assert report.result is Result.CHANGED
    assert report.record.sample
    found = {step.n: step.found for step in report.steps}
    assert {n for n, what in found.items() if what is Found.CHANGED} == {7, 9}
    assert name in next(step.detail for step in report.steps if step.n == 7)
