import io
import shutil
import subprocess
from dataclasses import replace

import pikepdf
import pytest
from PIL import Image
from pypdf import PdfReader

from evidence.case import Record
from evidence.errors import RefusedError
from evidence.paper import card_of, card_pdf, card_png
from evidence.photos import Worker
from evidence.witness.card import MAX_TEXT, START
from tests.conftest import needed
from tests.paper.printing import FOOTER, MM, PRINTED

PAPERS = {"letter": (612, 792), "a4": (595.28, 841.89)}


def said(pdf: bytes) -> str:
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(page.extract_text().split())


def read(path) -> tuple[str, ...]:
    with Worker() as worker:
        return worker.codes(path, START, MAX_TEXT).texts


def boxes(pdf: bytes) -> list[tuple[float, float, float, float]]:
    """Every subpath of four corners on the page, as left, bottom, right and top in points."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        (page,) = document.pages
        matrix, kept, points, found = pikepdf.Matrix(), [], [], []
        for operands, operator in pikepdf.parse_content_stream(page):
            values = [float(value) for value in operands if not isinstance(value, pikepdf.Object)]
            match str(operator):
                case "q":
                    kept.append(matrix)
                case "Q":
                    matrix = kept.pop()
                case "cm":
                    matrix = pikepdf.Matrix(*values) @ matrix
                case "m":
                    points = [matrix.transform(values)]
                case "l":
                    points.append(matrix.transform(values))
                case "h" if len(points) == 4:
                    xs, ys = zip(*points, strict=True)
                    found.append((min(xs), min(ys), max(xs), max(ys)))
        return found


@pytest.mark.parametrize("paper", PAPERS)
def test_the_corner_marks_stand_in_their_stated_size_on_either_paper(paper):
    pdf = card_pdf(PRINTED, paper, FOOTER)
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    assert [float(side) for side in page.mediabox[2:]] == pytest.approx(PAPERS[paper], abs=0.01)
    assert page.get("/UserUnit", 1) == 1

    left, bottom, right, top = zip(*boxes(pdf), strict=True)

    assert (max(right) - min(left)) / MM == pytest.approx(100, abs=0.01)
    assert (max(top) - min(bottom)) / MM == pytest.approx(70, abs=0.01)
    assert "100 × 70 mm between the outer edges of the corner marks" in said(pdf)


def test_the_line_to_measure_is_100_mm_long_and_below_the_corner_marks():
    from evidence.paper.card import _ruler

    ticks = sorted({item.x1 for item in _ruler().items if hasattr(item, "x1")})
    assert (ticks[-1] - ticks[0]) / MM == pytest.approx(100)
    assert len(ticks) == 11
    pdf = card_pdf(PRINTED, "letter", FOOTER)
    assert "Measure this line: 100 mm" in said(pdf)
    from evidence.dossier.layout import MARGIN

    assert min(left for left, *_ in boxes(pdf)) == pytest.approx(MARGIN + ticks[0], abs=0.01)


def test_the_picture_says_its_resolution_and_has_the_stated_size():
    picture = Image.open(io.BytesIO(card_png(PRINTED)))
    assert picture.info["dpi"] == pytest.approx((508, 508))
    across, down = (side / 508 * 25.4 for side in picture.size)
    assert (across, down) == pytest.approx((108, 78))
    dark = picture.convert("L").point(lambda value: 255 if value < 100 else 0)
    left, top, right, bottom = dark.getbbox()
    assert (left, top) == (4 * 20, 4 * 20)
    assert (right - left, bottom - top) == (100 * 20, 70 * 20)


def test_the_code_keeps_its_quiet_zone():
    """Four modules white on every side (ISO/IEC 18004 § 9.1)."""
    for zone in (None, "skylight-1", "a" * 40):
        print_ = replace(PRINTED, card=replace(PRINTED.card, zone=zone))
        page = Image.open(io.BytesIO(card_png(print_))).convert("L")
        start = (4 + 7) * 20
        row = [page.getpixel((x, start)) < 100 for x in range(start, start + 60 * 20)]
        finder = row.index(False)  # seven modules of the upper left mark
        module, side = finder / 7, 0
        modules = {None: 33, "skylight-1": 37}.get(zone, 41)
        side, quiet = round(module * modules), round(module * 4)
        for box in (
            (start - quiet, start - quiet, start, start + side + quiet),
            (start - quiet, start - quiet, start + side + quiet, start),
            (start + side, start - quiet, start + side + quiet, start + side + quiet),
            (start - quiet, start + side, start + side + quiet, start + side + quiet),
        ):
            assert page.crop(box).getextrema()[0] > 250, (zone, box)


def test_the_picture_reads_back(tmp_path):
    (tmp_path / "card.png").write_bytes(card_png(PRINTED))
    assert read(tmp_path / "card.png") == (PRINTED.card.text,)


@pytest.mark.parametrize("dots", [70, 150])
def test_the_printed_page_reads_back(tmp_path, dots):
    needed(shutil.which("pdftoppm") is not None, "pdftoppm")
    (tmp_path / "card.pdf").write_bytes(card_pdf(PRINTED, "a4", FOOTER))
    subprocess.run(
        ["pdftoppm", "-r", str(dots), "-gray", "-png", "card.pdf", "page"], cwd=tmp_path, check=True
    )
    assert read(next(tmp_path.glob("page*.png"))) == (PRINTED.card.text,)


def test_the_card_names_its_zone_its_day_its_letters_and_its_case():
    text = said(card_pdf(PRINTED, "letter", FOOTER))
    for part in (
        "Skylight over the bath",
        "skylight-1",
        "2 May 2025",
        "18:23 UTC, entry 12",
        "HTHT HTHT HTHT",
        "0001020304050607",
        "Answered on the clock of An invented authority:",
        "If you trust that clock: a photo that shows this card was taken after that.",
        "if you trust the clock of An invented authority",
        "A print can be pasted into a picture.",
        FOOTER,
    ):
        assert part in text


def test_a_sample_says_so_on_the_card_and_on_its_page():
    assert "Sample" not in said(card_pdf(PRINTED, "letter", FOOTER))
    text = said(card_pdf(replace(PRINTED, sample=True), "letter", FOOTER))
    assert "Sample: invented" in text
    assert "Sample case: invented" in text


def test_long_and_strange_names_stay_on_the_card():
    wild = "Über die ganze Länge " * 12 + "\u05d0\u4e2d"
    print_ = replace(PRINTED, label=wild, title=wild, name=wild)
    assert Image.open(io.BytesIO(card_png(print_))).size == (2160, 1560)
    assert "18:23 UTC" in said(card_pdf(print_, "letter", FOOTER))


def test_the_same_card_is_the_same_file():
    assert card_png(PRINTED) == card_png(PRINTED)
    assert card_pdf(PRINTED, "a4", FOOTER) == card_pdf(PRINTED, "a4", FOOTER)


def test_a_records_card_carries_its_newest_answer(built):
    record = Record.open(built)
    made = card_of(record, "skylight-1")
    *_, witness = [entry for entry in record.entries if entry.kind == "witness"]
    assert made.card.answer == witness.files[0].sha256
    assert made.card.case_id == record.case.case_id
    assert (made.seq, made.label, made.sample) == (witness.seq, "Skylight", True)


def test_a_zone_that_the_rig_does_not_have_is_refused(built):
    with pytest.raises(RefusedError, match="'attic': is not a zone of this rig"):
        card_of(Record.open(built), "attic")
