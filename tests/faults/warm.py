"""A process that has everything imported, and forks a child for each command.

Reads one JSON request a line, answers with one. Started by `running.py`; not for itself.

    {"runs": [[command, …], …], "fault": [folder, nth, code, lasting] | null, "seconds": s | null,
     "user": uid | null, "preload": path of the library}

Each item of `runs` is a child; all of them start at the same moment. A child runs its commands one
after the other, and writes a line for each that came to its end: [exit code, output, errors].
"""

import ctypes
import json
import os
import select
import signal
import sys
import tempfile
import time
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

import evidence.case
import evidence.intake
import evidence.photos.crew
import evidence.witness.request
from evidence.case import Record
from evidence.cli import _run
from evidence.witness import SampleAuthority
from tests.near import NearWorker

Command = list[str]


def answered(case: Path) -> Command:
    """An authority on the spot answers for the newest head; the command takes its answer."""
    from evidence.witnessing import request_of

    handle, name = tempfile.mkstemp(suffix=".tsr")
    with os.fdopen(handle, "wb") as file:
        file.write(AUTHORITY.reply(request_of(Record.open(case)), evidence.case.now()))
    return ["witness", str(case), "--reply", name, "--json"]


def run(command: Command) -> tuple[int, str, str]:
    out, err = StringIO(), StringIO()
    words = answered(Path(command[1])) if command[:1] == command[:-1] == ["witness"] else command
    with redirect_stdout(out), redirect_stderr(err):
        code = _run(words)
    return code, out.getvalue(), err.getvalue()


def child(commands: list[Command], start: int, said: int, request: dict[str, Any]) -> None:
    """Never returns."""
    try:
        os.read(start, 1)
        if request["user"] is not None:
            os.setegid(request["user"])
            os.seteuid(request["user"])
        if request["fault"] is not None:
            folder, nth, code, lasting = request["fault"]
            LIBRARY.fault_arm(os.fsencode(folder), nth, code, lasting)
        for command in commands:
            answer = run(command)
            os.write(said, json.dumps(answer).encode() + b"\n")
        seen = LIBRARY.fault_seen() if LIBRARY else 0
        os.write(said, json.dumps(seen).encode() + b"\n")
    except BaseException as error:  # noqa: BLE001 - told to whoever asked
        os.write(2, f"{type(error).__name__}: {error}\n".encode())
        os._exit(70)
    os._exit(0)


def answer(request: dict[str, Any]) -> list[list[Any]]:
    """What each child said, line by line."""
    ready, go = os.pipe()
    children: dict[int, int] = {}
    for commands in request["runs"]:
        heard, said = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(heard)
            child(commands, ready, said, request)
        os.close(said)
        children[pid] = heard
    os.write(go, b"." * len(children))
    end = None if request["seconds"] is None else time.monotonic() + request["seconds"]
    said_by = dict.fromkeys(children.values(), b"")
    while said_by.keys() - DONE:
        left = None if end is None else max(0.0, end - time.monotonic())
        for heard in select.select(list(said_by.keys() - DONE), [], [], left)[0]:
            data = os.read(heard, 65536)
            said_by[heard] += data
            if not data:
                DONE.add(heard)
        if end is not None and time.monotonic() >= end:
            for pid in children:
                os.kill(pid, signal.SIGKILL)
            end = None
    for pid in children:
        os.waitpid(pid, 0)
    for descriptor in (ready, go, *said_by):
        os.close(descriptor)
    DONE.clear()
    # A line that was cut short was never said.
    return [[json.loads(line) for line in said.split(b"\n")[:-1]] for said in said_by.values()]


def main() -> None:
    """Import all that the commands need, then serve."""
    case = Path(sys.argv[1])
    for command in (
        ["enter", str(case), "photos", "--photo", __file__, "--json"],
        ["intake", str(case), sys.argv[0], "--json"],
        ["witness", str(case)],
        ["check", str(case), "--json"],
    ):
        code, out, err = run(command)
        if code:
            raise SystemExit(f"{command}: {code} {out} {err}")
    print("ready", flush=True)
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line))), flush=True)


DONE: set[int] = set()
LIBRARY = ctypes.CDLL(os.environ["LD_PRELOAD"]) if os.environ.get("LD_PRELOAD") else None
AUTHORITY = SampleAuthority.create(evidence.case.now())
evidence.photos.crew.Worker = NearWorker

if __name__ == "__main__":
    main()
