"""What a person does with the checking page, and what it then says."""

import json
from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from evidence.check.report import Report, as_json

ANSWERED = "#report:not([hidden]) #answer"
NOT_HERE = {9, 10}
"""The steps that the page leaves to others, in whole or in part."""


class Elsewhere:
    """An object of Playwright's, used in a thread of its own.

    Playwright keeps an event loop running where it is used, and no other can run there meanwhile:
    pyHanko needs one.
    """

    def __init__(self, target: object, thread: Executor) -> None:
        self._target, self._thread = target, thread

    def __getattr__(self, name: str) -> Any:
        return self._wrapped(self._thread.submit(getattr, self._target, name).result())

    def _wrapped(self, found: Any) -> Any:
        if callable(found):
            return lambda *given, **named: self._wrapped(
                self._thread.submit(found, *given, **named).result()
            )
        if type(found).__module__.startswith("playwright."):
            return Elsewhere(found, self._thread)
        return found


@dataclass(frozen=True)
class Checking:
    """The page, open."""

    page: Any

    def choose(self, files: Iterable[Path] | Path, by: str = "files") -> str:
        """Choose files; what the answer is."""
        paths = [files] if isinstance(files, Path) else list(files)
        self.page.set_input_files(f"#{by}", paths)
        self.page.wait_for_selector(ANSWERED, timeout=60_000)
        return str(self.page.get_attribute(".answer", "data-result"))

    def document(self, files: Iterable[Path] | Path, by: str = "files") -> dict[str, Any]:
        """Choose files; the report that the page makes for programs."""
        result = self.choose(files, by)
        assert result != "refused", self.page.inner_text(".answer")
        made: dict[str, Any] = json.loads(self.page.text_content("#json-text") or "")
        assert made["result"] == result
        return made


def steps(document: dict[str, Any]) -> dict[int, str]:
    """What was found by each step."""
    return {step["n"]: step["result"] for step in document["steps"]}


def assert_agree(document: dict[str, Any], report: Report) -> None:
    """The page says what `check` says of all that it looks at, and of the rest that it did not."""
    told = as_json(report)
    by_page, by_check = steps(document), steps(told)
    for n, found in by_check.items():
        allowed = {found, "not-checked"} if n in NOT_HERE else {found}
        assert by_page[n] in allowed, (n, document["steps"][n - 1], told["steps"][n - 1])
    beyond = {n for n, found in by_check.items() if found in {"changed", "missing"}} - {
        n for n, found in by_page.items() if found in {"changed", "missing"}
    }
    if not beyond:
        assert document["result"] == told["result"]
    for name in ("sample", "anchored_to", "ledger", "witnesses", "originals"):
        assert document[name] == told[name], (name, document[name], told[name])
    assert document["heads"]["count"] == told["heads"]["count"]
    assert document["heads"]["signed_by"] == told["heads"]["signed_by"]
