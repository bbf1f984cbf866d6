"""The structure tree as data (ISO 32000-1 § 14.7.2).

What each piece of a page is, in the order in which it is read.
"""

from dataclasses import dataclass, field

Box = tuple[float, float, float, float]
"""Left, bottom, right and top on the page, in points."""

FORM = "Form"
"""The element that waits for the signature's field."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A marked piece of a page's content: the page, from 0, and its number there (its MCID)."""

    page: int
    number: int


@dataclass(slots=True, eq=False)
class Element:
    """One element: a standard type (ISO 32000-1 § 14.8.4) and what is in it.

    Attributes:
        tag: `P`, `Table`, `Figure`… A heading `H1` to `H6` comes with the depth that its look
            speaks of and is given the one that it has among the headings before it: none is left
            out.
        alt: what a figure shows, for somebody who does not see it.
        scope: of a header cell, `Column` or `Row`.
        columns: how many columns a cell spans.
        box: where a figure stands.
        kids: filled while the pages are drawn.
        placed: whether it has its place in the tree. One that goes on over the page has one place.
    """

    tag: str
    alt: str = ""
    scope: str = ""
    columns: int = 1
    box: Box | None = None
    kids: list["Element | Mark"] = field(default_factory=list)
    placed: bool = False

    @property
    def depth(self) -> int:
        """Of a heading its depth, from 1; 0 of anything else."""
        return int(self.tag[1:]) if self.tag[0] == "H" and self.tag[1:].isdecimal() else 0
