"""The parent of the limited child process (`child.py`): sends files, keeps time, starts it anew."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from threading import Event, Timer
from types import TracebackType
from typing import Self

from evidence.errors import EvidenceError
from evidence.photos.camera import CameraReading
from evidence.photos.child import READY
from evidence.photos.previews import Preview

COMMAND = (sys.executable, "-P", "-m", "evidence.photos.child")
SECONDS_A_FILE = 30.0
_SECONDS_TO_START = 60.0

_ROOT = Path(__file__).resolve().parents[2]
_PASSED_ON = ("PATH", "HOME", "LD_LIBRARY_PATH", "SYSTEMROOT", "APPDATA", "TEMP", "TMP")
"""What Python and its libraries need to start. Nothing else: passphrases stay here."""


class _StoppedError(Exception):
    """The child ended without an answer; the message is the end of a sentence."""


class Worker:
    """Reads many files in one child process; a file that breaks the child costs that file only.

    Use it as a context manager, from one thread.

    Args:
        seconds: the time limit for one file.
        command: the child's command line.
    """

    def __init__(
        self, seconds: float = SECONDS_A_FILE, command: Sequence[str] = COMMAND
    ) -> None:
        self._seconds = seconds
        self._command = command
        self._child: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop()

    def camera(self, path: Path) -> CameraReading:
        """The tags of one file; `unreadable` where it broke the reader.

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        try:
            answer = self._ask({"job": "camera", "path": str(path.absolute())})
        except _StoppedError as stopped:
            return CameraReading(unreadable=f"its tags cannot be read: {stopped}")
        return CameraReading.model_validate_json(answer)

    def preview(self, path: Path, out: Path, longest_px: int = 1600) -> Preview:
        """Write a small JPEG of `path` to `out`; false, with the reason, where there is none.

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        request = {"job": "preview", "path": str(path.absolute()), "out": str(out.absolute())}
        try:
            answer = self._ask(request | {"longest_px": str(longest_px)})
        except _StoppedError as stopped:
            return Preview(shown=False, why=f"cannot be shown: {stopped}")
        return Preview.model_validate_json(answer)

    def _ask(self, request: Mapping[str, str]) -> str:
        child = self._child or self._start()
        # ASCII only: a file name that is no text travels as escaped surrogates
        return self._exchange(child, json.dumps(request).encode("ascii") + b"\n", self._seconds)

    def _start(self) -> subprocess.Popen[bytes]:
        environment = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
        try:
            self._child = subprocess.Popen(
                self._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment | {"PYTHONPATH": str(_ROOT)},
            )
            if self._exchange(self._child, b"", _SECONDS_TO_START) == READY:
                return self._child
            why = "it answers strangely"
        except (OSError, _StoppedError) as error:
            why = str(error)
        self._stop()
        raise EvidenceError(
            "the reader of pictures",
            f"cannot be started: {why}",
            "Install the program again, then repeat the command: nothing is lost.",
        )

    def _exchange(self, child: subprocess.Popen[bytes], line: bytes, seconds: float) -> str:
        """Send a line and wait for the answer; a child that is late or broken is ended."""
        late = Event()

        def end() -> None:
            late.set()
            child.kill()

        timer = Timer(seconds, end)
        timer.start()
        try:
            answer = _answered(child, line)
        finally:
            timer.cancel()
            timer.join()
        if answer is not None and not late.is_set():
            return answer
        code = self._stop()
        why = f"took longer than {seconds:g} seconds" if late.is_set() else f"broke (code {code})"
        raise _StoppedError(f"the reader {why} and was started anew")

    def _stop(self) -> int | None:
        """End the child, if there is one; its exit code."""
        child, self._child = self._child, None
        if child is None:
            return None
        child.kill()
        with child:  # closes the pipes and waits
            pass
        return child.returncode


def _answered(child: subprocess.Popen[bytes], line: bytes) -> str | None:
    """The child's answer to `line`; None where it did not give a whole one."""
    if child.stdin is None or child.stdout is None:
        return None
    try:
        child.stdin.write(line)
        child.stdin.flush()
        answer = json.loads(child.stdout.readline())
    except (OSError, ValueError):
        return None
    return answer if isinstance(answer, str) else None
