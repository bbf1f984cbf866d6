"""What a reader that cannot see the page is told: the structure tree of a PDF."""

from evidence.tagging.canvas import TaggedCanvas, artifact, marked
from evidence.tagging.flowables import (
    DataTable,
    LaidOut,
    TaggedImage,
    TaggedParagraph,
    box_of,
    within,
)
from evidence.tagging.tree import FORM, Element

__all__ = [
    "FORM",
    "DataTable",
    "Element",
    "LaidOut",
    "TaggedCanvas",
    "TaggedImage",
    "TaggedParagraph",
    "artifact",
    "box_of",
    "marked",
    "within",
]
