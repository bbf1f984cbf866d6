"""The limited child process: reads what strangers' files hold, so that a bad one costs one file.

`python -m evidence.photos.child`: one JSON request a line on standard input, one JSON answer a
line on standard output. It ends with its input. `worker.Worker` is the parent.
"""

import json
import os
import signal
import sys
from contextlib import suppress
from pathlib import Path

from evidence.photos.camera import read_camera
from evidence.photos.codes import read_codes
from evidence.photos.credentials import read_credentials
from evidence.photos.look import look_at
from evidence.photos.marks import read_marks
from evidence.photos.previews import make_preview
from evidence.shapes import Strict

MAX_MEMORY = 1536 * 2**20
"""Bytes of address space; a preview of a 50-megapixel picture takes less than half."""

SECONDS_ALONE = 120
"""After so long over one file it ends by itself: its parent, which waits less, is gone."""

READY = b"ready"


def main() -> None:
    """Answer requests until the input ends."""
    _limit()
    # libraries may print; the answers keep a channel of their own
    answers = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)
    answers.write(READY + b"\n")
    for line in sys.stdin.buffer:
        _end_after(SECONDS_ALONE)
        answer = _answer(json.loads(line)).model_dump_json(exclude_none=True)
        _end_after(0)  # it may wait for the next file for as long as it likes
        answers.write(answer.encode() + b"\n")


def _answer(request: dict[str, str]) -> Strict:
    path = Path(request["path"])
    if request["job"] == "camera":
        return read_camera(path)
    if request["job"] == "look":
        return _look(path)
    if request["job"] == "codes":
        return read_codes(path, request["start"], int(request["longest"]))
    if request["job"] == "marks":
        return read_marks(path, request["start"], int(request["longest"]))
    if request["job"] == "credentials":
        return read_credentials(path, request["anchors"])
    return make_preview(path, Path(request["out"]), int(request["longest_px"]))


def _look(path: Path) -> Strict:
    """Pixels and the route by which the tags are read, in one answer."""
    return look_at(path).model_copy(update={"read_by": read_camera(path).read_by})


def _limit() -> None:
    """Cap the memory and leave no core file; only where the system can (not on Windows)."""
    try:
        import resource
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_AS, MAX_MEMORY), (resource.RLIMIT_CORE, 0)):
        with suppress(OSError, ValueError):  # a lower limit set by the system stands
            resource.setrlimit(what, (most, most))


def _end_after(seconds: int) -> None:
    """Let the system end this process, whatever it is busy with; 0 calls it off."""
    if hasattr(signal, "alarm"):  # not on Windows
        signal.alarm(seconds)


if __name__ == "__main__":
    main()
