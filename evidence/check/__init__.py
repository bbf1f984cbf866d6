"""Verifies what somebody else hands over."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.check.working import Progress, silent
from evidence.errors import ChangedError, RefusedError
from evidence.witness import NOBODY, Anchors

if TYPE_CHECKING:
    from evidence.check.earlier import Seen
    from evidence.check.report import Report
    from evidence.ledger import Verifier

__all__ = ["check_path", "format_page"]


def check_path(
    path: Path,
    anchors: Anchors = NOBODY,
    *,
    named: "Sequence[Verifier]" = (),
    earlier: Path | bytes | None = None,
    progress: Progress = silent,
) -> "Report":
    """Verify a case folder, a pack or a dossier (OUTPUTS § 3).

    Args:
        path: the folder, the ZIP, or the PDF.
        anchors: the outsiders whom the reader trusts.
        named: log keys that the reader was told by another way than the record.
        earlier: an earlier state to compare with: a case, a pack, a dossier, a head or a
            `heads.txt`; bytes are those of a head or a `heads.txt`.
        progress: told of what is looked at, how much of it is done, and how much there is.

    Raises:
        RefusedError: there is nothing there that this program can check, or to compare with.
    """
    report = _checked(path, anchors, named, progress)
    if earlier is None:
        return report
    from evidence.check.earlier import compare

    return replace(report, earlier=compare(report.record, _seen(earlier, progress), named))


def format_page() -> str:
    """What a case, a dossier and a pack are, and how they are checked: a page in Markdown."""
    return Path(__file__).with_name("FORMAT.md").read_text(encoding="utf-8")


def _checked(
    path: Path, anchors: Anchors, named: "Sequence[Verifier]", progress: Progress
) -> "Report":
    from evidence.packed import is_pack
    from evidence.trade import load_catalogue

    if path.is_dir():
        return _check_case(path, anchors, named, progress)
    if not path.is_file():
        raise RefusedError(str(path), "is not there", "Name a case folder, a pack or a dossier.")
    if is_pack(path):
        from evidence.check.pack import check_pack

        return check_pack(path, load_catalogue(), anchors, named, progress)
    from evidence.check.dossier import check_dossier

    return check_dossier(path, load_catalogue(), anchors, named, progress)


def _check_case(
    folder: Path, anchors: Anchors, named: "Sequence[Verifier]", progress: Progress
) -> "Report":
    from evidence.case import Record
    from evidence.check.material import CaseMaterial
    from evidence.check.record import check_record, unreadable
    from evidence.check.report import Report

    try:
        record = check_record(CaseMaterial(Record.open(folder)), anchors, named, progress)
    except ChangedError as error:
        record = unreadable(error)
    return Report("case", record, record.steps)


def _seen(path: Path | bytes, progress: Progress) -> "Seen":
    """The earlier state, verified: what each form of it begins with tells them apart."""
    from evidence.check.earlier import seen_heads, seen_record
    from evidence.packed import is_pack

    if isinstance(path, bytes):
        return seen_heads("standard input", path)
    if path.is_dir() or is_pack(path):
        return seen_record(path, _checked(path, NOBODY, (), progress))
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
    if data.startswith(b"%PDF-"):
        return seen_record(path, _checked(path, NOBODY, (), progress))
    return seen_heads(str(path), data)
