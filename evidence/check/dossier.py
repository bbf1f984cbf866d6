"""Steps 1 to 10 over a dossier: its attached record, its signature, its figures."""

from collections.abc import Sequence
from pathlib import Path

from evidence.check.figures import FiguresMatch, check_figures
from evidence.check.filed import with_sums
from evidence.check.material import DossierMaterial
from evidence.check.pdf_signature import SignatureReport, read_signature
from evidence.check.record import check_record, entries_read, not_reached, unreadable
from evidence.check.report import Found, Report, StepReport, listed
from evidence.check.working import Progress, silent
from evidence.dossier.attachments import extract
from evidence.envelope import Entry
from evidence.errors import EvidenceError, RefusedError
from evidence.keyring import log_keys
from evidence.ledger import Verifier
from evidence.trade import Catalogue
from evidence.witness import NOBODY, Anchors


def check_dossier(
    path: Path,
    catalogue: Catalogue,
    anchors: Anchors = NOBODY,
    named: Sequence[Verifier] = (),
    progress: Progress = silent,
) -> Report:
    """Verify a dossier.

    Args:
        path: the PDF.
        catalogue: the trade's tables, with which the figures are computed again.
        anchors: the outsiders whom the reader trusts.
        named: log keys that the reader was told by another way than the record.
        progress: told of what is looked at.

    Raises:
        RefusedError: the file cannot be read, or it is no dossier.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
    signature = read_signature(data)
    if not signature.is_dossier:
        raise RefusedError(str(path), "is not a dossier: it bears no signature of this program")
    try:
        damaged: set[str] = set()
        material = DossierMaterial(extract(data, damaged=damaged), damaged)
        record = check_record(material, anchors, named, progress)
    except EvidenceError as error:
        record = unreadable(error)
        steps = (*record.steps, _signature_step(signature, ()), *not_reached((10,)))
        return Report("dossier", record, steps, signature, FiguresMatch.NOT_CHECKABLE)
    entries = entries_read(record)
    progress("figures", 0, 1)
    match, figures = check_figures(data, material, record, entries, catalogue)
    steps = (*with_sums(record.steps, material), _signature_step(signature, entries), figures)
    return Report("dossier", record, steps, signature, match)


def _signature_step(signature: SignatureReport, entries: Sequence[Entry]) -> StepReport:
    wrong = [*signature.faults, *signature.later_changes]
    if wrong or not signature.unchanged:
        return StepReport(9, Found.CHANGED, listed(wrong) or "the signature does not hold")
    if signature.certificate_sha256 not in {key.cert for key in log_keys(entries).values()}:
        detail = "signed with a certificate that the record does not name"
        return StepReport(9, Found.CHANGED, detail)
    detail = f"signed by {signature.signer}, not one byte changed since ({signature.level})"
    return StepReport(9, Found.OK, detail)
