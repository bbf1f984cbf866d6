"""Invented rigs and years that several tests draw, and what holds for every figure."""

from datetime import date, timedelta
from itertools import combinations

from evidence.figures import (
    Bar,
    Deed,
    Gap,
    IncidentWindow,
    Look,
    PlanZone,
    RoofPlan,
    Scene,
    StripRow,
    TimeStrip,
    WindowBar,
    draw_roof_plan,
    draw_time_strip,
    draw_window_bars,
    legend,
)
from evidence.figures.box import Box, text_box
from evidence.figures.scene import Circle, Hatch, Polygon, Rect, Text

STRIKE = IncidentWindow(date(2025, 6, 8), date(2025, 6, 8), "branch strike, 8 June 2025")


def nine_fields() -> list[PlanZone]:
    return [
        PlanZone(f"field-{a[0]}{b[0]}", f"field {a} {b}", "Z08", None, None, 40, 0)
        for a in ("front", "middle", "rear")
        for b in ("left", "centre", "right")
    ]


def edges() -> list[PlanZone]:
    return [
        PlanZone("front-strip", "front strip", "Z01", look_age_days=40, grade=0),
        PlanZone("rear-strip", "rear strip", "Z03", look_age_days=40, grade=3),
        PlanZone("left-rail", "left rail", "Z05", look_age_days=40, grade=2),
        PlanZone("right-rail", "right rail", "Z06", look_age_days=200, grade=0),
    ]


def kestrel() -> RoofPlan:
    boxes = [
        PlanZone("skylight-1", "skylight 1", "Z11", (1100, 950), (600, 500), 40, 1),
        PlanZone("ac", "air conditioner", "Z16", (2900, 830), (900, 550), 40, 0),
        PlanZone("vent-2", "vent 2", "Z12", (4150, 1020), (360, 360), 40, 0),
        PlanZone("solar", "solar", "Z19", (5900, 270), (700, 420), 200, 0),
        PlanZone("plumbing", "plumbing", "Z14", (6300, 1700), (400, 380)),
        PlanZone("tear", "field patch", "Z09", (3100, 1700), (600, 400), 9, 4, highlight=True),
    ]
    return RoofPlan(7400, 2400, (*edges(), *nine_fields(), *boxes), "Kestrel", "tear 210 mm")


def forty_zones() -> RoofPlan:
    """Every kind of place at once, crowded on purpose."""
    zones = [
        *edges(),
        *nine_fields(),
        PlanZone("corner-l", "front corner left", "Z02", look_age_days=5),
        PlanZone("corner-r", "front corner right", "Z02", look_age_days=5, grade=2),
        PlanZone("corners", "rear corners", "Z04", look_age_days=5),
        PlanZone("ceiling", "ceiling below vent 2", "Z25", grade=4),
    ]
    zones += [
        PlanZone(
            f"part-{n}",
            f"{('vent', 'antenna base', 'solar foot', 'refrigerator vent')[n % 4]} {n}",
            "Z12",
            (500 + 613 * n % 6300, 150 + 977 * n % 1800),
            (300, 250) if n % 3 else None,
            (5, 60, 120, 400, None)[n % 5],
            n % 5,
            highlight=n == 7,
        )
        for n in range(40 - len(zones))
    ]
    return RoofPlan(7400, 2400, tuple(zones), "Kestrel")


def two_years() -> TimeStrip:
    looks = tuple(
        Look(day, witnessed=nth % 2 == 0)
        for nth, day in enumerate(
            (date(2024, 1, 12), date(2024, 4, 1), date(2024, 6, 15), date(2025, 5, 30))
        )
    )
    return TimeStrip(
        date(2024, 1, 1),
        date(2025, 12, 31),
        (
            StripRow("looks", (*looks, Look(date(2025, 6, 8), late=True))),
            StripRow("wash", (Deed(date(2024, 4, 28), "wash"), Deed(date(2025, 4, 15), "wash"))),
            StripRow("reseal", (Deed(date(2024, 4, 2), "reseal"),)),
            StripRow("trips", (Bar(date(2025, 5, 15), date(2025, 5, 25), "trip"),)),
        ),
        (date(2024, 1, 13), date(2025, 6, 2)),
        STRIKE,
    )


def gap_of_fifty() -> TimeStrip:
    """TRADE § 10, case 5: looks on 1 March and 19 July 2025, rule 90 days."""
    first, last = date(2025, 3, 1), date(2025, 7, 19)
    return TimeStrip(
        date(2025, 1, 1),
        date(2025, 12, 31),
        (
            StripRow(
                "looks",
                (
                    Look(first),
                    Look(last),
                    Look((date(2025, 9, 1), date(2025, 9, 20))),
                    Gap(first, last, first + timedelta(days=90), 50),
                ),
            ),
            StripRow("cover, repair", (Deed(last, "cover"), Deed(date(2025, 8, 2), "repair"))),
            StripRow("storage", (Bar(date(2025, 10, 20), None, "storage"),)),
        ),
        (date(2025, 7, 20),),
        IncidentWindow(date(2025, 6, 2), date(2025, 7, 17), "hole, found later"),
    )


def ten_years() -> TimeStrip:
    looks: list[Look | Gap] = []
    day = date(2016, 2, 1)
    for nth in range(45):
        after = day + timedelta(days=(60, 84, 140, 75)[nth % 4])
        over = (after - day).days - 90
        looks += [
            Look(day, witnessed=nth % 3 == 0),
            Gap(day, after, day + timedelta(days=90) if over > 0 else None, max(0, over)),
        ]
        day = after
    quarters = tuple(date(year, month, 9) for year in range(2016, 2026) for month in (1, 4, 7, 10))
    row = StripRow("looks", tuple(looks))
    return TimeStrip(date(2016, 1, 1), date(2025, 12, 31), (row,), quarters, STRIKE)


def windows() -> tuple[WindowBar, ...]:
    seen = date(2025, 6, 8)
    return (
        WindowBar("crack through, skylight 1", date(2025, 3, 1), seen, seen, "entry 12"),
        WindowBar("soft spot, field rear left", None, date(2025, 4, 4), date(2025, 4, 4)),
        WindowBar("rusty screw, right rail", date(2023, 5, 1), date(2024, 9, 1), date(2024, 9, 1)),
    )


def all_figures() -> dict[str, Scene]:
    start, end = date(2024, 1, 1), date(2025, 12, 31)
    return {
        "legend": legend(),
        "narrow legend": legend(180),
        "plan": draw_roof_plan(kestrel(), 347),
        "forty zones": draw_roof_plan(forty_zones(), 534),
        "forty zones, narrow": draw_roof_plan(forty_zones(), 300),
        "two years": draw_time_strip(two_years(), 534),
        "gap": draw_time_strip(gap_of_fifty(), 534),
        "ten years": draw_time_strip(ten_years(), 534),
        "windows": draw_window_bars(windows(), start, end, 534, STRIKE),
        "narrow windows": draw_window_bars(windows(), start, end, 300),
    }


def words_of(scene: Scene) -> list[Text]:
    return [item for item in scene.items if isinstance(item, Text) and item.text]


def overlaps(scene: Scene) -> list[tuple[str, str]]:
    """Every pair of texts whose rectangles meet."""
    boxes = [(text.text, text_box(text)) for text in words_of(scene)]
    return [(a, b) for (a, first), (b, second) in combinations(boxes, 2) if first.meets(second)]


def beyond_the_edge(scene: Scene) -> list[str]:
    """Every text that leaves the drawing."""
    page = Box(-0.01, -0.01, scene.width + 0.01, scene.height + 0.01)
    return [text.text for text in words_of(scene) if not page.holds(text_box(text))]


def ground_of(scene: Scene, text: Text) -> str:
    """The fill of the last surface drawn under the middle of a text; paper where there is none."""
    x, y = text_box(text).centre
    colour = "#ffffff"
    for item in scene.items[: scene.items.index(text)]:
        match item:
            case Rect(fill=str(fill)):
                inside = item.x <= x <= item.x + item.width and item.y <= y <= item.y + item.height
                colour = fill if inside else colour
            case Circle(fill=str(fill)):
                inside = (item.x - x) ** 2 + (item.y - y) ** 2 <= item.radius**2
                colour = fill if inside else colour
            case Polygon() | Hatch():
                continue
    return colour
