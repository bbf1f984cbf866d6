"""What `measure` answers, for a person and for a program."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own
from evidence.lengths import MM_PER_INCH, K, Length, Scene, Sheet, Way, sentence, told

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.measuring import Again, Shown
    from evidence.trade import Catalogue


@dataclass(frozen=True, slots=True)
class Measured:
    """A length, in which picture, and what it was reckoned from."""

    picture: "Shown"
    scene: Scene
    length: Length
    way: Way


def document(found: Measured, catalogue: "Catalogue") -> dict[str, object]:
    """The answer for a program; lengths are decimal strings."""
    from evidence.trade import Topic

    length, by, picture = found.length, found.scene.by, found.picture
    (mm, sure_mm), (inches, sure_in) = told(length), told(length, MM_PER_INCH)
    return {
        "picture": {
            "sha256": picture.sha256,
            "name": picture.name,
            "entry": picture.number,
            "size_px": list(picture.size),
        },
        "way": found.way,
        "length_mm": mm,
        "uncertainty_mm": sure_mm,
        "length_in": inches,
        "uncertainty_in": sure_in,
        "k": K,
        "standard_uncertainty_mm": {name: f"{mm:.3f}" for name, mm in _parts(length)},
        "points_px": {"from": list(found.scene.start), "to": list(found.scene.end)},
        "method": {
            "by": "corners" if isinstance(by, Sheet) else "rim",
            "name": by.name,
            "size_mm": list(by.size) if isinstance(by, Sheet) else [by.across],
            "basis": found.scene.basis,
            "points_px": [list(point) for point in by.marked],
        },
        "off_straight_deg": f"{length.tilt:.1f}",
        "px_per_mm": f"{length.px_per_mm:.2f}",
        "sentence": sentence(found.scene, length, found.way),
        "cannot_tell": own.claims_json(catalogue.practised(Topic.MEASURING)),
        "own_rows": own.changes_json(catalogue),
    }


def tell(found: Measured, catalogue: "Catalogue") -> None:
    """The answer for a person."""
    from evidence.trade import Topic

    length, by, picture = found.length, found.scene.by, found.picture
    (mm, sure_mm), (inches, sure_in) = told(length), told(length, MM_PER_INCH)
    said = f"{found.way.capitalize()} {mm} ± {sure_mm} mm, {inches} ± {sure_in} in (k = {K})."
    click.echo(click.style(said, bold=True))
    where = "not in the record yet" if picture.number is None else f"entry {picture.number}"
    common.tell(
        f"In {picture.name} ({where}), {picture.size[0]} × {picture.size[1]} pixels upright, by "
        f"{by.name}: {length.px_per_mm:.1f} pixels a millimetre there, {_seen(found)}."
    )
    click.echo()
    common.rows((f"{name:<9}", f"{mm:.2f} mm, standard uncertainty") for name, mm in _parts(length))
    common.heading("The sentence for the finding's note")
    common.tell(sentence(found.scene, length, found.way), indent=2)
    common.heading("What this does not tell")
    own.tell_claims(catalogue.practised(Topic.MEASURING), catalogue)
    own.tell_changes(catalogue)
    own.tell_foot(catalogue)


def tell_kept(case: Path, into: Path) -> None:
    """How the file goes into the record."""
    common.heading("For the record")
    common.tell(f"{into} holds the finding with its measure. Take it into the entry:")
    fields = ("when=DAY", "means=MEANS", "occasion=OCCASION", "zones=ZONE:GRADE")
    common.call("enter", case, "inspection", *fields, "--from", into)


def tell_again(record: "Record", *, as_json: bool) -> None:
    """The measures on record, reckoned again from their notes alone."""
    from evidence.measuring import measures

    found = list(measures(record))
    if as_json:
        common.emit([_again_document(one) for one in found])
        return
    if not found:
        common.tell("No finding of this record holds a measure with its points.")
    for one in found:
        common.heading(f"Entry {one.number}, finding {one.finding}: {_outcome(one)}")
        common.tell(one.kept.text, indent=2)


def _again_document(one: "Again") -> dict[str, object]:
    mm, sure = (None, None) if one.length is None else told(one.length)
    return {
        "entry": one.number,
        "finding": one.finding,
        "way": one.kept.way,
        "sentence": one.kept.text,
        "picture": None if one.picture is None else one.picture.sha256,
        "length_mm": mm,
        "uncertainty_mm": sure,
        "same": one.kept.holds,
        "why": one.why,
    }


def _outcome(one: "Again") -> str:
    if one.length is None:
        said = f"it would be refused: {one.why}"
    elif one.kept.holds:
        said = "the same comes out again"
    else:
        mm, sure = told(one.length)
        said = f"{mm} ± {sure} mm comes out of its points, not what it says"
    return said if one.picture is not None else f"{said}; its picture is not in the record"


def _parts(length: Length) -> Iterator[tuple[str, float]]:
    """Where the uncertainty comes from."""
    yield "reference", length.by_reference
    yield "points", length.by_points
    yield "size", length.by_size
    if length.by_tilt:
        yield "tilt", length.by_tilt


def _seen(found: Measured) -> str:
    tilt = f"{found.length.tilt:.0f}° off the straight look"
    return f"seen {tilt}" if isinstance(found.scene.by, Sheet) else f"at most {tilt}"
