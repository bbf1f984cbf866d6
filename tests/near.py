"""A reader of pictures within the test's own process: starting the limited child takes a second."""

import logging
from pathlib import Path
from typing import Self

from evidence.photos.camera import CameraReading, read_camera
from evidence.photos.codes import CodesRead, read_codes
from evidence.photos.look import Look, look_at
from evidence.photos.previews import Preview, make_preview


class NearWorker:
    """Reads as the child does, without its limits; only for files that the test made itself."""

    def __enter__(self) -> Self:
        logging.getLogger("exifread").setLevel(logging.CRITICAL)  # the child's go nowhere
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def camera(self, path: Path) -> CameraReading:
        return read_camera(path)

    def look(self, path: Path) -> Look:
        return look_at(path)

    def codes(self, path: Path, start: str, longest: int) -> CodesRead:
        return read_codes(path, start, longest)

    def preview(self, path: Path, out: Path, longest_px: int = 1600) -> Preview:
        return make_preview(path, out, longest_px)
