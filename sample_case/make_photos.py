"""Make the sample case's pictures: `python make_photos.py [NAME…]` writes them to `photos/`.

Nothing here was photographed. Each picture is computed from noise, a little geometry and light,
always the same for the same seed, and written with the tags that its invented camera would write.
"""

import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PIL import Image
from studio import closeups, indoors, outdoors, slips, struck, wides
from studio.camera import DRONE, HOME, PHONE, POCKET, POLE, Camera, Exposure, save

FOLDER = Path(__file__).resolve().parent / "photos"


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture: what is seen, by which camera, and what that camera wrote."""

    name: str
    scene: Callable[[], Image.Image]
    camera: Camera | None = None
    exposure: Exposure | None = None


def _near(north: float, east: float) -> tuple[float, float]:
    """A position fix some metres from home."""
    return HOME[0] + north / 111_200, HOME[1] + east / 81_500


SHOTS = (
    Shot(
        "LF_0098.jpg",
        partial(wides.in_the_bay, 98),
        PHONE,
        Exposure("2024-01-06T10:44:31.207-06:00", 60, 250),
    ),
    Shot("booklet_p31.jpg", partial(slips.booklet_page, 31)),
    Shot(
        "K20_0031.jpg",
        partial(closeups.front_strip, closeups.NOON, 31, sealed=False),
        POCKET,
        Exposure("2024-03-24T11:26:40-05:00", 1000, 80),
    ),
    Shot(
        "LF_0187.jpg",
        partial(closeups.skylight_bead, closeups.NOON, 187, renewed=False),
        PHONE,
        Exposure("2024-03-24T11:41:18.512-05:00", 2100, 50, _near(3, -4)),
    ),
    Shot(
        "K20_0036.jpg",
        partial(closeups.front_strip, closeups.AFTERNOON, 36, sealed=True),
        POCKET,
        Exposure("2024-03-30T14:38:12-05:00", 800, 80),
    ),
    Shot(
        "LF_0192.jpg",
        partial(slips.sealant_receipt, 192),
        PHONE,
        Exposure("2024-03-30T15:20:44.090-05:00", 60, 320),
    ),
    Shot(
        "LF_0231.jpg",
        partial(wides.half_washed, closeups.MORNING, 231),
        PHONE,
        Exposure("2024-05-04T10:36:22.871-05:00", 2400, 50, _near(-2, 5)),
    ),
    Shot(
        "LF_0244.jpg",
        partial(closeups.skylight_bead, closeups.AFTERNOON, 244, renewed=True),
        PHONE,
        Exposure("2024-05-11T13:20:09.433-05:00", 2000, 50, _near(4, -3)),
    ),
    Shot(
        "LF_0263.jpg",
        partial(struck.galley_lid, closeups.EVENING, 263),
        PHONE,
        Exposure("2024-05-29T18:32:50.126-05:00", 900, 50, _near(1, 6)),
    ),
    Shot(
        "K20_0052.jpg",
        partial(closeups.rear_strip, closeups.MORNING, 52),
        POCKET,
        Exposure("2024-08-18T10:05:27-05:00", 1000, 80),
    ),
    Shot(
        "LF_0377.jpg",
        partial(wides.along_the_roof, outdoors.AUTUMN, closeups.MORNING, 377, dirt=1.6, leaves=34),
        PHONE,
        Exposure("2024-11-03T11:02:15.655-06:00", 1400, 50, _near(-3, 2)),
    ),
    Shot(
        "LF_0381.jpg",
        partial(indoors.ceiling, "10.8", 381),
        PHONE,
        Exposure("2024-11-03T11:34:40.018-06:00", 60, 400),
    ),
    Shot(
        "LF_0409.jpg",
        partial(wides.under_ice, 409),
        PHONE,
        Exposure("2025-02-01T09:52:33.702-06:00", 700, 50, _near(-5, 1), fix_age=3),
    ),
    Shot(
        "PR_0003.jpg",
        partial(wides.from_the_pole, 3, near=False),
        POLE,
        Exposure("2016-01-01T00:14:10-06:00", 640, 100),
    ),
    Shot(
        "PR_0006.jpg",
        partial(wides.from_the_pole, 6, near=True),
        POLE,
        Exposure("2016-01-01T00:16:52-06:00", 640, 100),
    ),
    Shot(
        "K20_0071.jpg",
        partial(closeups.plumbing, closeups.MORNING, 71, sealed=False),
        POCKET,
        Exposure("2025-05-18T09:48:55-05:00", 1000, 80),
    ),
    Shot(
        "K20_0074.jpg",
        partial(closeups.plumbing, closeups.NOON, 74, sealed=True),
        POCKET,
        Exposure("2025-05-24T11:10:31-05:00", 1250, 80),
    ),
    Shot(
        "LF_0512.jpg",
        partial(struck.struck_place, closeups.MORNING, 512),
        PHONE,
        Exposure("2025-07-05T09:44:10.318-05:00", 2300, 50, _near(2, 5)),
    ),
    Shot(
        "LF_0514.jpg",
        partial(struck.galley_lid, closeups.MORNING, 514),
        PHONE,
        Exposure("2025-07-05T09:52:37.940-05:00", 2300, 50, _near(1, 5)),
    ),
    Shot(
        "K20_0083.jpg",
        partial(closeups.right_rail, closeups.MORNING, 83),
        POCKET,
        Exposure("2025-07-05T10:04:13-05:00", 1250, 80),
    ),
    Shot(
        "K20_0084.jpg",
        partial(wides.along_the_roof, outdoors.SUMMER, closeups.MORNING, 84, view=wides.TREE_SIDE),
        POCKET,
        Exposure("2025-07-05T10:06:48-05:00", 1250, 80),
    ),
    Shot(
        "LF_0531.jpg",
        partial(struck.struck_place, closeups.STORM, 531, struck.torn, rule=3.2),
        PHONE,
        Exposure("2025-07-14T18:41:02.277-05:00", 240, 64, _near(3, 6)),
    ),
    Shot(
        "LF_0533.jpg",
        partial(struck.tear_close, closeups.STORM, 533),
        PHONE,
        Exposure("2025-07-14T18:44:38.804-05:00", 240, 64, _near(3, 6)),
    ),
    Shot(
        "LF_0534.jpg",
        partial(struck.galley_lid, closeups.STORM, 534, broken=True),
        PHONE,
        Exposure("2025-07-14T18:46:05.551-05:00", 220, 64, _near(2, 6)),
    ),
    Shot(
        "LF_0536.jpg",
        partial(struck.scraped, closeups.STORM, 536),
        PHONE,
        Exposure("2025-07-14T18:49:21.190-05:00", 200, 64, _near(3, 5)),
    ),
    Shot("message_1.jpg", partial(wides.limb_down, 1, size=(1024, 768))),
    Shot(
        "LF_0539.jpg",
        partial(struck.tarped, closeups.STORM, 539),
        PHONE,
        Exposure("2025-07-14T19:08:31.466-05:00", 160, 80, _near(3, 5)),
    ),
    Shot(
        "LF_0545.jpg",
        partial(indoors.ceiling, "16.2", 545),
        PHONE,
        Exposure("2025-07-15T18:52:10.733-05:00", 60, 400),
    ),
    Shot(
        "LF_0548.jpg",
        partial(slips.tarp_receipt, 548),
        PHONE,
        Exposure("2025-07-15T19:30:05.218-05:00", 60, 400),
    ),
    Shot(
        "LF_0551.jpg",
        partial(indoors.on_the_bench, 551),
        PHONE,
        Exposure("2025-07-15T19:41:27.064-05:00", 60, 500),
    ),
    Shot(
        "LF_0566.jpg",
        partial(struck.struck_place, closeups.MORNING, 566, struck.cut_open, rule=-1.0),
        PHONE,
        Exposure("2025-07-23T10:12:44.390-05:00", 2200, 50, _near(2, 6)),
    ),
    Shot(
        "LF_0570.jpg",
        partial(struck.struck_place, closeups.EVENING, 570, struck.patched(0.05), rule=1.0),
        PHONE,
        Exposure("2025-07-25T18:16:58.912-05:00", 1100, 50, _near(2, 5)),
    ),
    Shot("invoice_0723.jpg", partial(slips.repair_invoice, 723)),
    Shot(
        "LF_0611.jpg",
        partial(struck.struck_place, closeups.NOON, 611, struck.patched(0.25), rule=-2.0),
        PHONE,
        Exposure("2025-09-27T10:22:06.347-05:00", 2000, 50, _near(3, 4)),
    ),
    Shot(
        "LF_0615.jpg",
        partial(slips.wash_receipt, 615),
        PHONE,
        Exposure("2025-09-28T19:05:50.581-05:00", 50, 500),
    ),
    Shot(
        "LF_0650.jpg",
        partial(wides.along_the_roof, outdoors.WINTER, closeups.EVENING, 650, dirt=1.3, leaves=9),
        PHONE,
        Exposure("2025-11-08T14:36:11.098-06:00", 1000, 50, _near(-3, 3)),
    ),
    Shot(
        "DR_0012.jpg",
        partial(wides.from_the_drone, 12),
        DRONE,
        Exposure("2026-01-31T12:41:19-06:00", 800, 100, _near(6, 2), fix_age=0),
    ),
    Shot(
        "LF_0702.jpg",
        partial(indoors.ceiling, "23.8", 702, light=indoors.WINDOW, stain=1.0, dates=("3/21/26",)),
        PHONE,
        Exposure("2026-03-21T14:12:33.875-05:00", 60, 320),
    ),
    Shot(
        "LF_0711.jpg",
        partial(struck.soft_spot, closeups.MORNING, 711),
        PHONE,
        Exposure("2026-03-28T10:31:20.459-05:00", 1800, 50, _near(2, 5)),
    ),
    Shot(
        "LF_0729.jpg",
        partial(
            indoors.ceiling,
            "24.6",
            729,
            light=indoors.WINDOW,
            stain=1.05,
            dates=("3/21/26", "4/18"),
        ),
        PHONE,
        Exposure("2026-04-18T15:05:12.640-05:00", 60, 320),
    ),
)


def make(shot: Shot) -> str:
    """Make one picture and say what was written."""
    path = FOLDER / shot.name
    save(shot.scene(), path, shot.camera, shot.exposure)
    return f"{shot.name}: {path.stat().st_size // 1024} KiB"


def main(names: list[str]) -> None:
    """Make the pictures of these names, or all."""
    FOLDER.mkdir(exist_ok=True)
    chosen = [shot for shot in SHOTS if not names or shot.name in names]
    with ProcessPoolExecutor(max_workers=2) as workers:
        for said in workers.map(make, chosen):
            print(said)


if __name__ == "__main__":
    main(sys.argv[1:])
