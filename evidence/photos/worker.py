"""The parent of the limited child process (`child.py`): sends files, keeps time, starts it anew."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from threading import Event, Timer
from types import TracebackType
from typing import Self, TypeVar

from evidence.errors import EvidenceError
from evidence.photos.camera import CameraReading
from evidence.photos.child import READY
from evidence.photos.codes import CodesRead
from evidence.photos.credentials import Credentials, Held
from evidence.photos.look import Look
from evidence.photos.marks import MarksRead
from evidence.photos.previews import Preview

COMMAND = (sys.executable, "-P", "-m", "evidence.photos.child")
SECONDS_A_FILE = 30.0
_SECONDS_TO_START = 60.0
_SECONDS_TO_END = 2.0

_ROOT = Path(__file__).resolve().parents[2]
_PASSED_ON = ("PATH", "HOME", "LD_LIBRARY_PATH", "SYSTEMROOT", "APPDATA", "TEMP", "TMP")
"""What Python and its libraries need to start. Nothing else: passphrases stay here."""

_KEEPING_MEMORY = {
    "MALLOC_MMAP_THRESHOLD_": str(32 * 2**20),
    "MALLOC_TRIM_THRESHOLD_": str(64 * 2**20),
}
"""Told to the GNU allocator (mallopt(3)), which else hands a picture's memory back to the system
before it takes it again for the next: a sixth of the time for a preview. Others pass it over."""

_LONGEST_ANSWER = 1 << 20  # bytes; a full set of tags is a few kilobytes

_Read = TypeVar("_Read")
_Answer = TypeVar("_Answer", CameraReading, CodesRead, Preview, Look, MarksRead, Credentials)


class _StoppedError(Exception):
    """The child ended without an answer; the message is the end of a sentence."""


class _BrokeError(_StoppedError):
    """It ended by itself, or gave an answer that is none."""


class Worker:
    """Reads many files in one child process; a file that breaks the child costs that file only.

    A file is blamed for what it does to a fresh child alone: where one that has read others breaks,
    the file is given to the next.

    Use it as a context manager, from one thread.

    Args:
        seconds: the time limit for one file.
        command: the child's command line.
    """

    def __init__(self, seconds: float = SECONDS_A_FILE, command: Sequence[str] = COMMAND) -> None:
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
            return self._ask({"job": "camera", "path": str(path.absolute())}, CameraReading)
        except _StoppedError as stopped:
            return CameraReading(unreadable=f"its tags cannot be read: {stopped}")

    def preview(self, path: Path, out: Path, longest_px: int = 1600) -> Preview:
        """Write a small JPEG of `path` to `out`; false, with the reason, where there is none.

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        request = {"job": "preview", "path": str(path.absolute()), "out": str(out.absolute())}
        try:
            return self._ask(request | {"longest_px": str(longest_px)}, Preview)
        except _StoppedError as stopped:
            return Preview(shown=False, why=f"cannot be shown: {stopped}")

    def look(self, path: Path) -> Look:
        """Measure the pixels of one file; without `luma`, and with the reason, where it cannot be.

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        try:
            return self._ask({"job": "look", "path": str(path.absolute())}, Look)
        except _StoppedError as stopped:
            return Look(why=f"cannot be shown: {stopped}")

    def codes(self, path: Path, start: str, longest: int) -> CodesRead:
        """The QR codes in a picture whose text begins with `start`; none where there are none.

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        request = {"job": "codes", "path": str(path.absolute()), "start": start}
        try:
            return self._ask(request | {"longest": str(longest)}, CodesRead)
        except _StoppedError as stopped:
            return CodesRead(unreadable=f"cannot be looked at: {stopped}")

    def marks(self, path: Path, start: str, longest: int) -> MarksRead:
        """The size of a picture upright, and the corners of the cards in it (`read_marks`).

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        request = {"job": "marks", "path": str(path.absolute()), "start": start}
        try:
            return self._ask(request | {"longest": str(longest)}, MarksRead)
        except _StoppedError as stopped:
            return MarksRead(unreadable=f"cannot be looked at: {stopped}")

    def credentials(self, path: Path, anchors: str = "") -> Credentials:
        """What the Content Credentials of one file say (`read_credentials`).

        Raises:
            EvidenceError: the child process cannot be started at all.
        """
        request = {"job": "credentials", "path": str(path.absolute()), "anchors": anchors}
        try:
            return self._ask(request, Credentials)
        except _StoppedError as stopped:
            return Credentials(held=Held.EMBEDDED, why=f"it cannot be read: {stopped}")

    def _ask(self, request: Mapping[str, str], answer: type[_Answer]) -> _Answer:
        # ASCII only: a file name that is no text travels as escaped surrogates
        line = json.dumps(request).encode("ascii") + b"\n"
        if self._child is not None:
            with suppress(_BrokeError):
                return self._exchange(self._child, line, self._seconds, answer.model_validate_json)
        return self._exchange(self._start(), line, self._seconds, answer.model_validate_json)

    def _start(self) -> subprocess.Popen[bytes]:
        environment = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
        try:
            self._child = child = subprocess.Popen(
                self._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment | _KEEPING_MEMORY | {"PYTHONPATH": str(_ROOT)},
            )
            self._exchange(child, b"", _SECONDS_TO_START, _greeted)
        except (OSError, _StoppedError) as error:
            raise EvidenceError(
                "the reader of pictures",
                f"cannot be started: {error}",
                "Install the program again, then repeat the command: nothing is lost.",
            ) from error
        return child

    def _exchange(
        self,
        child: subprocess.Popen[bytes],
        line: bytes,
        seconds: float,
        read: Callable[[bytes], _Read],
    ) -> _Read:
        """Send a line and read the answer; a child that is late or broken is ended."""
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
        if not late.is_set():
            # the child may have been taken over by a file: its answer is checked like one
            with suppress(ValueError):
                return read(answer)
        code = self._stop()
        if late.is_set():
            raise _StoppedError(f"the reader took longer than {seconds:g} seconds")
        raise _BrokeError(f"the reader broke (code {code})")

    def _stop(self) -> int | None:
        """End the child, if there is one; its exit code, negative for a signal."""
        child, self._child = self._child, None
        if child is None:
            return None
        with suppress(OSError), child:  # closes the pipes, whatever is left in them, and waits
            try:
                child.communicate(timeout=_SECONDS_TO_END)
            except subprocess.TimeoutExpired:
                child.kill()
        return child.returncode


def _answered(child: subprocess.Popen[bytes], line: bytes) -> bytes:
    """The child's answer to `line`; empty or cut short where it ended before."""
    if child.stdin is None or child.stdout is None:
        return b""
    try:
        child.stdin.write(line)
        child.stdin.flush()
        return child.stdout.readline(_LONGEST_ANSWER)
    except OSError:
        return b""


def _greeted(answer: bytes) -> None:
    if answer.strip() != READY:
        raise ValueError("this is not the child's greeting")
