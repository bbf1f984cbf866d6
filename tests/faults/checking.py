"""`check` as a person runs it: exit code, document, and what it writes to standard error."""

import json
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

from evidence.cli import _run
from evidence.ledger import guards


@dataclass(frozen=True)
class Answer:
    """What the program said: its exit code, its document, and what it wrote to standard error."""

    code: int
    document: dict[str, Any]
    errors: str

    @property
    def changed(self) -> dict[int, str]:
        """What the steps say that found a change, by number."""
        steps = self.document["steps"]
        return {step["n"]: step["detail"] for step in steps if step["result"] == "changed"}

    @property
    def where(self) -> str:
        return "\n".join(self.changed.values())


def checked(path: Path) -> Answer:
    guards._examined.clear()  # as a program does that was started just now
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = _run(["check", str(path), "--json"])
    return Answer(code, json.loads(out.getvalue() or "{}"), err.getvalue())


def assert_changed(answer: Answer) -> None:
    assert (answer.code, answer.document.get("result")) == (4, "changed"), answer.errors
    assert answer.changed
    assert answer.errors == ""
