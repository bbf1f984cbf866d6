"""Figures: geometry once, drawn as SVG for the web pages and as a flowable for the PDFs.

`SceneFlowable` is loaded when it is first asked for: it alone needs ReportLab's page machinery.
"""

from typing import TYPE_CHECKING

from evidence.figures.axis import day_text
from evidence.figures.incident import IncidentWindow
from evidence.figures.marks import DeedKind, bead_mark, grade_words, legend
from evidence.figures.plan_zones import PlanZone
from evidence.figures.roof_plan import RoofPlan, draw_roof_plan
from evidence.figures.scene import Scene
from evidence.figures.strip_items import Bar, Deed, Gap, Look, StripItem
from evidence.figures.style import register_fonts, text_width
from evidence.figures.svg import to_svg
from evidence.figures.time_strip import StripRow, TimeStrip, draw_time_strip
from evidence.figures.window_bars import WindowBar, draw_window_bars

if TYPE_CHECKING:
    from evidence.figures.flowable import SceneFlowable

__all__ = [
    "Bar",
    "Deed",
    "DeedKind",
    "Gap",
    "IncidentWindow",
    "Look",
    "PlanZone",
    "RoofPlan",
    "Scene",
    "SceneFlowable",
    "StripItem",
    "StripRow",
    "TimeStrip",
    "WindowBar",
    "bead_mark",
    "day_text",
    "draw_roof_plan",
    "draw_time_strip",
    "draw_window_bars",
    "grade_words",
    "legend",
    "register_fonts",
    "text_width",
    "to_svg",
]


def __getattr__(name: str) -> object:
    if name != "SceneFlowable":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from evidence.figures.flowable import SceneFlowable

    return SceneFlowable
