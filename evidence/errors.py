"""One family of errors that a person can act on.

Every error a user can meet names the thing, what is wrong with it and what to do, in at most three
lines. The exit codes are the program's contract: 2 wrong use or unreadable input, 3 nothing changed
but something is missing, 4 the record or the dossier was changed.
"""


class EvidenceError(Exception):
    """Something a person can mend.

    Args:
        what: the thing, named as its owner knows it ("entry 17", "photos/a.jpg").
        why: what is wrong with it, in one sentence.
        what_to_do: the next step, in one sentence; empty where there is none.
    """

    exit_code = 2

    def __init__(self, what: str, why: str, what_to_do: str = "") -> None:
        super().__init__(what, why, what_to_do)
        self.what = what
        self.why = why
        self.what_to_do = what_to_do

    def __str__(self) -> str:
        lines = [f"{self.what}: {self.why}"]
        if self.what_to_do:
            lines.append(self.what_to_do)
        return "\n".join(lines)


class RefusedError(EvidenceError):
    """Wrong use, or input that cannot be taken. Nothing was written."""


class MissingError(EvidenceError):
    """Nothing was changed, but something that the record names is not there."""

    exit_code = 3


class ChangedError(EvidenceError):
    """The record, or a file of it, is not what was sealed."""

    exit_code = 4
