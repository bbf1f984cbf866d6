"""Verifies what somebody else hands over."""

from pathlib import Path
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, RefusedError
from evidence.witness import NOBODY, Anchors

if TYPE_CHECKING:
    from evidence.check.report import Report

__all__ = ["check_path"]


def check_path(path: Path, anchors: Anchors = NOBODY) -> "Report":
    """Verify a case folder or a dossier (OUTPUTS § 3).

    Args:
        path: the folder, or the PDF.
        anchors: the outsiders whom the reader trusts.

    Raises:
        RefusedError: there is nothing there that this program can check.
    """
    from evidence.trade import load_catalogue

    if path.is_dir():
        return _check_case(path, anchors)
    if not path.is_file():
        raise RefusedError(str(path), "is not there", "Name a case folder or a dossier.")
    from evidence.check.dossier import check_dossier

    return check_dossier(path, load_catalogue(), anchors)


def _check_case(folder: Path, anchors: Anchors) -> "Report":
    from evidence.case import Record
    from evidence.check.material import CaseMaterial
    from evidence.check.record import check_record, unreadable
    from evidence.check.report import Report

    try:
        record = check_record(CaseMaterial(Record.open(folder)), anchors)
    except ChangedError as error:
        record = unreadable(error)
    return Report("case", record, record.steps)
