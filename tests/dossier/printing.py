"""A claim laid out without a case on disk, and its text page by page."""

import re
from collections.abc import Mapping
from datetime import date
from io import BytesIO
from pathlib import Path

from pypdf import PdfReader

from evidence.dossier import binding, issue, layout
from evidence.dossier.sheets import Carried, ClaimSheet, Sheet, story
from evidence.photos.signals import Question
from evidence.upkeep import Standing
from evidence.upkeep.incidents import IncidentFacts
from tests.making import picture

CARRIED = Carried([("record.jsonl", 12_345, "the whole record")], 0, 1)


def sheet(
    standing: Standing,
    facts: IncidentFacts,
    paper: str = "letter",
    shown: Mapping[str, Path] | None = None,
    seen: tuple[Question, ...] = (),
) -> Sheet:
    return ClaimSheet(
        standing=standing,
        facts=facts,
        previews=shown or {},
        grid=layout.grid(paper),
        seen=seen,
    )


def printed(ctx: Sheet, carried: Carried = CARRIED) -> PdfReader:
    running = issue._running(ctx, "abcd-1234", date(2025, 11, 3))
    data = binding.build(story(ctx, carried), running, ctx.grid, "A claim")
    return PdfReader(BytesIO(data))


def texts(reader: PdfReader) -> list[str]:
    """The text of each page in one line, white space as a single blank."""
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def squeezed(text: str) -> str:
    """As `check` compares: without any white space."""
    return re.sub(r"\s+", "", text)


def previews(ctx: Sheet, folder: Path) -> dict[str, Path]:
    """A picture of its own for every one that the pages show."""
    sums = [picture.file.sha256 for picture in ctx.pictures()]
    return {
        digest: picture(folder / f"{nth}.jpg", None, None, nth % 256)
        for nth, digest in enumerate(sums)
    }
