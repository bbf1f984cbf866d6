"""Steps 1 to 10 over a dossier: its attached record, its signature, its figures."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path

from pydantic import JsonValue

from evidence.check.material import DossierMaterial
from evidence.check.pdf_signature import SignatureReport, read_signature
from evidence.check.record import check_record, keys_at
from evidence.check.report import Found, RecordReport, Report, StepReport, listed
from evidence.dossier.attachments import extract
from evidence.dossier.summary import claim_summary
from evidence.envelope import Entry, read_entry
from evidence.errors import EvidenceError, RefusedError
from evidence.ledger import leaf_hash, tree_root
from evidence.times import local_day, parse_day, zone
from evidence.trade import Catalogue
from evidence.upkeep import Standing, as_json, measure, read_history
from evidence.witness import Trust


def check_dossier(path: Path, catalogue: Catalogue, anchors: Sequence[bytes] = ()) -> Report:
    """Verify a dossier.

    Args:
        path: the PDF.
        catalogue: the trade's tables, with which the figures are computed again.
        anchors: certificates (DER) of outsiders that the reader trusts.

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
        material = DossierMaterial(extract(data))
        record = check_record(material, anchors)
        filed = _filed(material, record)
    except EvidenceError as error:
        return _unreadable(signature, error)
    entries = _entries(material)
    figures = _Figures(data, material, entries, catalogue).step()
    steps = (*filed, _signature_step(signature, entries), figures[1])
    return Report("dossier", record, steps, signature, figures[0])


def _unreadable(signature: SignatureReport, error: EvidenceError) -> Report:
    """A dossier whose attachments cannot be read: something in it was changed."""
    first = StepReport(1, Found.CHANGED, f"{error.what}: {error.why}")
    rest = [StepReport(n, Found.NOT_CHECKED, "not reached") for n in range(2, 9)]
    steps = (first, *rest, _signature_step(signature, ()), _not_reached())
    return Report("dossier", RecordReport(()), steps, signature, "not-checkable")


def _not_reached() -> StepReport:
    return StepReport(10, Found.NOT_CHECKED, "not reached: the record cannot be read")


def _filed(material: DossierMaterial, record: RecordReport) -> tuple[StepReport, ...]:
    """The record's steps, step 7 widened by the manifest's sums."""
    wrong = material.misfiled()
    if not wrong:
        return record.steps
    detail = f"not as manifest.json lists it: {listed(sorted(wrong))}"
    return tuple(
        replace(step, found=Found.CHANGED, detail=detail) if step.n == 7 else step
        for step in record.steps
    )


def _entries(material: DossierMaterial) -> tuple[Entry, ...]:
    try:
        return tuple(read_entry(line) for line in material.lines)
    except EvidenceError:
        return ()


def _signature_step(signature: SignatureReport, entries: Sequence[Entry]) -> StepReport:
    wrong = [*signature.faults, *signature.later_changes]
    if wrong or not (signature.signed and signature.intact and signature.covers_whole_file):
        return StepReport(9, Found.CHANGED, listed(wrong) or "the signature does not hold")
    keys = keys_at(entries, len(entries))
    if signature.certificate_sha256 not in {key.cert for key in keys.values()}:
        return StepReport(
            9, Found.CHANGED, "signed with a certificate that the record does not name"
        )
    return StepReport(
        9, Found.OK, f"signed by {signature.signer}, not one byte changed since ({signature.level})"
    )


class _Figures:
    """Step 10: the pages' figures, computed again from the attached record."""

    def __init__(
        self,
        data: bytes,
        material: DossierMaterial,
        entries: Sequence[Entry],
        catalogue: Catalogue,
    ) -> None:
        self.data = data
        self.material = material
        self.entries = entries
        self.catalogue = catalogue

    def step(self) -> tuple[str, StepReport]:
        """`figures_match` and the step."""
        if not self.entries:
            return "not-checkable", _not_reached()
        try:
            if self.material.manifest.get("catalogue") != self.catalogue.sha256:
                detail = "made with another catalogue than this program's; not compared"
                return "not-checkable", StepReport(10, Found.NOT_CHECKED, detail)
            wrong = self._differences()
        except EvidenceError as error:
            return "no", StepReport(10, Found.CHANGED, f"{error.what}: {error.why}")
        if wrong:
            return "no", StepReport(10, Found.CHANGED, listed(wrong))
        return "yes", StepReport(10, Found.OK, "computed again; the pages state the same")

    def _differences(self) -> list[str]:
        about = self.material.manifest.get("dossier")
        stated = self.material.document("standing.json")
        if not isinstance(about, dict):
            return ["manifest.json does not say what the dossier is about"]
        standing = self._measured(date_of(about), stated)
        computed = as_json(standing)
        wrong = [f"standing.json: {name} differs" for name in _differing(computed, stated)]
        facts = standing.incident(str(about.get("incident")))
        if facts is None:
            return [*wrong, "the incident of the pages is not in the record"]
        summary = claim_summary(standing, facts, self.catalogue)
        page = _squeezed(_opening_text(self.data))
        missing = [said for said in summary.sentences() if _squeezed(said) not in page]
        return [*wrong, *(f"the summary does not state: {said[:70]}" for said in missing)]

    def _measured(self, on: date, stated: Mapping[str, JsonValue]) -> Standing:
        """The record measured, with the outsiders trusted as the issuer trusted them."""
        trust = _stated_trust(stated)
        history = read_history(self.entries, on=on, trust=trust)
        _, ends = local_day(on, zone(history.rig.home_zone))
        lines = [
            line
            for line, entry in zip(self.material.lines, self.entries, strict=True)
            if entry.logged <= ends
        ]
        root = tree_root([leaf_hash(line) for line in lines]).hex()
        return measure(history, self.catalogue, root)


def date_of(about: Mapping[str, JsonValue]) -> date:
    """The day that the pages speak of."""
    return parse_day(str(about.get("on")))


def _stated_trust(stated: Mapping[str, JsonValue]) -> dict[int, Trust]:
    case = stated.get("case")
    rows = case.get("witnesses") if isinstance(case, dict) else None
    trust = {}
    for row in rows if isinstance(rows, list) else []:
        if isinstance(row, dict) and isinstance(row.get("seq"), int):
            trust[int(str(row["seq"]))] = Trust(str(row.get("trust")))
    return trust


def _differing(computed: Mapping[str, JsonValue], stated: Mapping[str, JsonValue]) -> list[str]:
    """The parts of `standing.json` that differ; the same document has none."""
    names = dict.fromkeys([*computed, *stated])
    return [name for name in names if _plain(computed.get(name)) != _plain(stated.get(name))]


def _plain(value: JsonValue) -> JsonValue:
    """The value as JSON reads it back (words of a list are plain text there)."""
    import json

    plain: JsonValue = json.loads(json.dumps(value))
    return plain


def _opening_text(data: bytes) -> str:
    """The text of page 1, and of page 2 where a long summary runs over."""
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        pages = PdfReader(BytesIO(data)).pages
        return "".join(page.extract_text() for page in pages[:_OPENING_PAGES])
    except (PyPdfError, IndexError, KeyError, ValueError) as error:
        raise RefusedError("page 1", f"its text cannot be read: {error}") from error


_OPENING_PAGES = 2


def _squeezed(text: str) -> str:
    """Text without white space: a page breaks lines where it must."""
    return "".join(text.split())
