"""Flat named files with a manifest (OUTPUTS § 4): what a dossier and a pack have in common."""

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from pydantic import JsonValue

from evidence.carried import (
    HEADS_NAME,
    MANIFEST_NAME,
    RECORD_NAME,
    split_lines,
    split_notes,
)
from evidence.check.report import Found, StepReport, listed
from evidence.errors import ChangedError, EvidenceError
from evidence.ledger import parse
from evidence.sealed_values import REVEALED_NAME
from evidence.stored import Sum


class Filed(ABC):
    """The files that came with a record.

    Raises:
        ChangedError: a part that each of them carries is not there or not readable.
    """

    @property
    @abstractmethod
    def names(self) -> Collection[str]:
        """The names of the files at hand."""

    @abstractmethod
    def part(self, name: str) -> bytes:
        """A file that is read whole.

        Raises:
            ChangedError: it is not there, or damaged.
        """

    @abstractmethod
    def sum_of(self, name: str) -> Sum | None:
        """The sum of a file at hand; None where it cannot be read."""

    @cached_property
    def lines(self) -> Sequence[bytes]:
        """The entries' bytes in order: `record.jsonl`, each line ended by a newline."""
        return split_lines(self.part(RECORD_NAME))

    @cached_property
    def heads(self) -> Sequence[str]:
        """The signed heads by size: `heads.txt`, one empty line after each."""
        try:
            return split_notes(self.part(HEADS_NAME).decode())
        except UnicodeDecodeError as error:
            raise ChangedError(HEADS_NAME, "is not UTF-8") from error

    @property
    def revealed(self) -> bytes | None:
        """The revealed values, where any came with the record."""
        return self.part(REVEALED_NAME) if REVEALED_NAME in self.names else None

    @cached_property
    def manifest(self) -> Mapping[str, JsonValue]:
        """`manifest.json`; empty where it cannot be read, and then `misfiled` says so."""
        try:
            return self.document(MANIFEST_NAME)
        except ChangedError:
            return {}

    def document(self, name: str) -> Mapping[str, JsonValue]:
        """A JSON object among the files."""
        data = self.part(name)
        try:
            value = parse(data)
        except EvidenceError as error:
            raise ChangedError(name, f"{error.what} {error.why}") from error
        if not isinstance(value, dict):
            raise ChangedError(name, "is not a JSON object")
        return value

    @cached_property
    def left_out(self) -> frozenset[str]:
        """SHA-256 of the files that the manifest lists as left out."""
        listed = self.manifest.get("left_out", [])
        rows = listed if isinstance(listed, list) else []
        return frozenset(
            str(row["sha256"]) for row in rows if isinstance(row, dict) and "sha256" in row
        )

    def misfiled(self) -> list[str]:
        """Files that are not as the manifest lists them, or that it does not list."""
        listed = self.manifest.get("files")
        if not isinstance(listed, dict):
            return [MANIFEST_NAME]
        wrong = [name for name in self.names if name not in (MANIFEST_NAME, *listed)]
        for name, row in listed.items():
            found = self.sum_of(name) if name in self.names else None
            if found is None or row != {"sha256": found.sha256, "bytes": found.bytes}:
                wrong.append(name)
        return wrong


def with_sums(steps: Iterable[StepReport], filed: Filed) -> tuple[StepReport, ...]:
    """The record's steps, step 7 widened by the manifest's sums."""
    wrong = filed.misfiled()
    if not wrong:
        return tuple(steps)
    detail = f"not as {MANIFEST_NAME} lists it: {listed(sorted(wrong))}"
    return tuple(
        replace(step, found=Found.CHANGED, detail=detail) if step.n == 7 else step for step in steps
    )
