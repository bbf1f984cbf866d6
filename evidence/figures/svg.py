"""A scene as SVG 1.1, for the web pages: text stays text, the same scene gives the same bytes."""

import re
from hashlib import sha256
from xml.etree import ElementTree as ET

from evidence.figures.scene import (
    Circle,
    Close,
    CurveTo,
    Hatch,
    Item,
    Line,
    LineTo,
    MoveTo,
    Path,
    Point,
    Polygon,
    Rect,
    Scene,
    Step,
    Stroke,
    Text,
)
from evidence.figures.style import SVG_FAMILIES

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0, production 2, does not take as a character."""


def to_svg(scene: Scene) -> str:
    """One `<svg role="img">` element with `<title>` and `<desc>`, ready to stand in a page.

    The ids in it are made from the scene itself, so that several figures share a page.
    """
    key = sha256(repr(scene).encode("utf-8", "backslashreplace")).hexdigest()[:10]
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {_n(scene.width)} {_n(scene.height)}",
            "width": _n(scene.width),
            "height": _n(scene.height),
            "role": "img",
            "aria-labelledby": f"t{key} d{key}",
        },
    )
    ET.SubElement(root, "title", {"id": f"t{key}"}).text = _clean(scene.title)
    ET.SubElement(root, "desc", {"id": f"d{key}"}).text = _clean(scene.alt)
    for nth, item in enumerate(scene.items):
        _draw(root, item, f"h{key}-{nth}")
    return ET.tostring(root, encoding="unicode")


def _draw(root: ET.Element, item: Item, clip_id: str) -> None:
    match item:
        case Line():
            ends = {"x1": item.x1, "y1": item.y1, "x2": item.x2, "y2": item.y2}
            ET.SubElement(root, "line", _numbers(ends) | _stroke(item.stroke))
        case Rect():
            size = {"x": item.x, "y": item.y, "width": item.width, "height": item.height}
            if item.radius:
                size["rx"] = item.radius
            ET.SubElement(root, "rect", _numbers(size) | _paint(item.fill, item.stroke))
        case Circle():
            size = {"cx": item.x, "cy": item.y, "r": item.radius}
            ET.SubElement(root, "circle", _numbers(size) | _paint(item.fill, item.stroke))
        case Polygon():
            points = {"points": _points(item.points)}
            ET.SubElement(root, "polygon", points | _paint(item.fill, item.stroke))
        case Path():
            steps = {"d": "".join(_step(step) for step in item.steps)}
            ET.SubElement(root, "path", steps | _paint(item.fill, item.stroke))
        case Text():
            ET.SubElement(root, "text", _text(item)).text = _clean(item.text)
        case Hatch():
            clip = ET.SubElement(root, "clipPath", {"id": clip_id})
            ET.SubElement(clip, "polygon", {"points": _points(item.outline)})
            lines = "".join(
                f"M{_n(line.x1)} {_n(line.y1)}L{_n(line.x2)} {_n(line.y2)}" for line in item.lines()
            )
            drawn = {"d": lines, "clip-path": f"url(#{clip_id})"}
            ET.SubElement(root, "path", drawn | _paint(None, item.stroke))


def _text(item: Text) -> dict[str, str]:
    attributes = _numbers({"x": item.x, "y": item.y, "font-size": item.size})
    attributes["font-family"] = SVG_FAMILIES[item.role]
    attributes["fill"] = item.colour
    if item.role == "bold":
        attributes["font-weight"] = "700"
    if item.anchor != "start":
        attributes["text-anchor"] = item.anchor
    if item.rotation:
        attributes["transform"] = f"rotate({_n(item.rotation)} {_n(item.x)} {_n(item.y)})"
    return attributes


def _paint(fill: str | None, stroke: Stroke | None) -> dict[str, str]:
    paint = {"fill": fill or "none"}
    return paint if stroke is None else paint | _stroke(stroke)


def _stroke(stroke: Stroke) -> dict[str, str]:
    attributes = {"stroke": stroke.colour, "stroke-width": _n(stroke.width)}
    if stroke.dash:
        attributes["stroke-dasharray"] = " ".join(_n(length) for length in stroke.dash)
    if stroke.round_ends:
        attributes |= {"stroke-linecap": "round", "stroke-linejoin": "round"}
    return attributes


def _step(step: Step) -> str:
    match step:
        case MoveTo(x, y):
            return f"M{_n(x)} {_n(y)}"
        case LineTo(x, y):
            return f"L{_n(x)} {_n(y)}"
        case CurveTo(x1, y1, x2, y2, x, y):
            return f"C{_n(x1)} {_n(y1)} {_n(x2)} {_n(y2)} {_n(x)} {_n(y)}"
        case Close():
            return "Z"


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _numbers(values: dict[str, float]) -> dict[str, str]:
    return {name: _n(value) for name, value in values.items()}


def _n(value: float) -> str:
    """A hundredth of a point is finer than any printer; no exponent, no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _clean(text: str) -> str:
    return _NOT_XML.sub("?", text)
