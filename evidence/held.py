"""Files that the record holds, found by what a person has at hand: a name, or a sum's beginning."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence

from pydantic import JsonValue

from evidence.case import Record
from evidence.errors import RefusedError
from evidence.keeping import FileDraft
from evidence.shapes import FileRef
from evidence.words import nearest

SHORTEST = 6
"""Digits of a sum that may stand for all of it."""

_SUM = re.compile(rf"[0-9a-f]{{{SHORTEST},64}}", re.ASCII)
_FEW = 4


class Held:
    """The files of a record by sum and by name, each as the first entry that names it has it."""

    def __init__(self, record: Record) -> None:
        self._record = record
        self._files: dict[str, FileRef] = {}
        self._entries: dict[str, int] = {}
        self._named: dict[str, list[str]] = defaultdict(list)
        for entry in record.entries:
            for file in entry.files:
                if file.sha256 not in self._files:
                    self._files[file.sha256], self._entries[file.sha256] = file, entry.number
                if isinstance(file.name, str) and file.sha256 not in self._named[file.name]:
                    self._named[file.name].append(file.sha256)

    def find(self, text: str, where: str) -> FileRef:
        """The file that a name, a sum, or a sum's first digits stand for.

        Args:
            text: as typed.
            where: the field or option, for the answer.

        Raises:
            RefusedError: none, or several; these are named with their entries and sums.
        """
        found = self._named.get(text) or self._of_sum(text.lower())
        if not found:
            raise RefusedError(f"{where}: {text!r}", "is no file of this record", self._hint(text))
        if len(found) > 1:
            listed = ", ".join(f"{digest[:12]} (entry {self._entries[digest]})" for digest in found)
            raise RefusedError(
                f"{where}: {text!r}", f"is the name of {len(found)} files", f"Say which: {listed}."
            )
        return self._files[found[0]]

    def sums(self, given: JsonValue, where: str) -> JsonValue:
        """The sums that texts stand for; what is no text is left to the model."""
        if isinstance(given, str):
            return self.find(given, where).sha256
        if isinstance(given, list):
            return [self.sums(one, where) for one in given]
        return given

    def draft(self, text: str, described: Mapping[str, JsonValue], where: str) -> FileDraft:
        """A file of the record to be named by a further entry, under the name it came with.

        Raises:
            RefusedError: the record has no such file.
            MissingError: it has, and the original is gone.
        """
        file = self.find(text, where)
        return FileDraft(self._record.original(file.sha256), described, held=file)

    def _of_sum(self, text: str) -> Sequence[str]:
        if _SUM.fullmatch(text) is None:
            return ()
        return [digest for digest in self._files if digest.startswith(text)]

    def _hint(self, text: str) -> str:
        """The name that may be meant; a large record's names are not all told."""
        close = nearest(text, self._named)
        if self._named and (len(self._named) <= _FEW or close.startswith("Did")):
            return close
        return f"Give a name as `photos` lists it, or {SHORTEST} digits or more of its SHA-256."
