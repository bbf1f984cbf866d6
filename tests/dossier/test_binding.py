"""Sheets bound into pages: head and foot, page numbers, anchors, the band of the first page."""

from io import BytesIO

from pypdf import PdfReader
from reportlab.platypus import PageBreak

from evidence.dossier import binding
from evidence.dossier import layout as lay
from tests.dossier.printing import squeezed

RUNNING = binding.Running(
    left="Roof record",
    sample="Sample case: invented",
    foot_left="Not advice.",
    foot_right="issued 3 November 2025",
    code="roof-evidence head 18 abcd",
    code_lines=("head of 18 entries", "abcd ef01", "key 1234"),
)


def bound(texts, running=RUNNING, paper="letter"):
    """One page for each text, with an anchor ahead of it; the first names the page of the last."""
    told: list[dict[str, int]] = []

    def story(pages, seen):
        told.append(dict(pages))
        flowables = []
        for nth, text in enumerate(texts):
            named = f" see page {pages.get('last', 0)}" if nth == 0 else ""
            name = "last" if nth == len(texts) - 1 else f"part-{nth}"
            flowables += [binding.Anchor(name, text, seen), lay.para(text + named), PageBreak()]
        return flowables[:-1]

    data = binding.build(story, running, lay.grid(paper), "A claim")
    return PdfReader(BytesIO(data)), told


def test_head_and_foot_run_on_every_page_and_pages_are_numbered():
    reader, _ = bound(["one", "two", "three"])
    for nth, page in enumerate(reader.pages, start=1):
        text = page.extract_text()
        assert f"page {nth} of 3" in text
        for said in (
            "Roof record",
            "Sample case: invented",
            "Not advice.",
            "issued 3 November 2025",
        ):
            assert said in text


def test_a_case_of_ones_own_bears_no_mark_of_a_sample():
    import dataclasses

    reader, _ = bound(["one"], dataclasses.replace(RUNNING, sample=""))
    assert "Sample" not in reader.pages[0].extract_text()


def test_without_a_code_there_is_no_band_and_the_first_page_has_its_room():
    import dataclasses

    bare = dataclasses.replace(RUNNING, code="", code_lines=())
    reader, _ = bound(["one"], bare)
    assert "head of 18 entries" not in reader.pages[0].extract_text()
    lines = [f"line {nth}" for nth in range(50)]
    whole, _ = bound(["\n".join(lines)], bare)
    banded, _ = bound(["\n".join(lines)])
    assert (len(whole.pages), len(banded.pages)) == (1, 2)


def test_the_band_with_the_head_of_the_record_stands_on_the_first_page_only():
    reader, _ = bound(["one", "two"])
    texts = [page.extract_text() for page in reader.pages]
    assert all(line in texts[0] for line in RUNNING.code_lines)
    assert not any(line in texts[1] for line in RUNNING.code_lines)


def test_a_page_can_name_the_page_of_a_later_part():
    reader, told = bound(["one", "two", "three"])
    assert "see page 3" in reader.pages[0].extract_text()
    assert told == [{}, {"part-0": 1, "part-1": 2, "last": 3}]


def test_every_part_stands_in_the_outline():
    reader, _ = bound(["one", "two", "three"])
    assert [entry.title for entry in reader.outline] == ["one", "two", "three"]


def test_the_same_sheets_bind_to_the_same_bytes():
    first, second = (bound(["one", "two"])[0].stream.getvalue() for _ in range(2))
    assert first == second


def test_the_signature_has_its_place_within_the_margins_of_either_paper():
    for paper in ("letter", "a4"):
        grid = lay.grid(paper)
        left, bottom, right, top = binding.signature_place(grid)
        assert right == grid.width - lay.MARGIN
        assert (right - left, top - bottom) == binding.BOX_SIZE
        assert bottom > binding.FOOT
        assert top < binding.FOOT + binding.BAND


def test_names_of_other_scripts_in_head_and_foot_stop_nothing():
    import dataclasses

    running = dataclasses.replace(RUNNING, left="Ελένη", foot_left="Надежда", foot_right="屋根")
    reader, _ = bound(["one"], running)
    assert squeezed("page 1 of 1") in squeezed(reader.pages[0].extract_text())
