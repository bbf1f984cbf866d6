"""Steps 1 to 10 over a pack: its record or excerpt, its files, its dossiers, its figures."""

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from evidence.carried import DOSSIER, HEADS_NAME, ORIGINAL, RECORD_NAME, STANDING_NAME
from evidence.check.excerpt import check_excerpt
from evidence.check.figures import FiguresMatch, check_standing
from evidence.check.filed import Filed, with_sums
from evidence.check.material import FileState, compared
from evidence.check.pdf_signature import read_signature
from evidence.check.record import check_record, entries_read, not_reached, unreadable
from evidence.check.report import Found, PackReport, RecordReport, Report, StepReport, listed
from evidence.check.working import Progress, silent
from evidence.entries import Issued, Key
from evidence.envelope import Entry
from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.ledger import Verifier
from evidence.packed import MOST_ANSWER, MOST_DOCUMENT, MOST_TEXT, PROOFS_NAME, PackedFiles
from evidence.shapes import FileRef
from evidence.stored import StoredZip, Sum
from evidence.trade import Catalogue
from evidence.witness import NOBODY, Anchors

NO_DOSSIER = "no dossier came with it"

_MOST_DOSSIER = 512 << 20
"""Of a dossier, which is looked at in memory (as `attachments.MAX_ATTACHED_BYTES`)."""


class PackMaterial(Filed):
    """The files of a pack; a sealed file is summed a piece at a time, and once."""

    def __init__(self, files: PackedFiles) -> None:
        self.files = files
        self._sums: dict[str, Sum | None] = {}

    @property
    def names(self) -> Collection[str]:
        """The names of the members."""
        return self.files.pack.by_name.keys()

    def part(self, name: str) -> bytes:
        """A member that is read whole."""
        if name not in self.names:
            raise ChangedError(f"the pack's {name}", "is not there")
        most = MOST_TEXT if name in (RECORD_NAME, HEADS_NAME) else MOST_DOCUMENT
        try:
            return self.files.pack.read(name, most)
        except RefusedError as error:
            raise ChangedError(error.what, error.why) from error

    def sum_of(self, name: str) -> Sum | None:
        """A member's sum; None where the ZIP itself says that it is damaged."""
        if name not in self._sums:
            try:
                self._sums[name] = self.files.pack.sum(name)
            except ChangedError:
                self._sums[name] = None
        return self._sums[name]

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of a sealed file that is small enough to be read at once."""
        name = self.files.name_of(ref.sha256)
        try:
            return None if name is None else self.files.pack.read(name, MOST_ANSWER)
        except EvidenceError:
            return None

    def state(self, ref: FileRef) -> FileState:
        """Whether the sealed file is here, and still what was sealed."""
        name = self.files.name_of(ref.sha256)
        if name is None:
            return FileState.LEFT_OUT if ref.sha256 in self.left_out else FileState.MISSING
        found = self.sum_of(name)
        return FileState.CHANGED if found is None else compared(ref, found.sha256, found.bytes)

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """The names of originals in the pack whose SHA-256 is not among `named`."""
        return tuple(
            name
            for name in self.names
            if name.startswith(ORIGINAL)
            and name.removeprefix(ORIGINAL).partition(".")[0] not in named
        )


def check_pack(
    path: Path,
    catalogue: Catalogue,
    anchors: Anchors = NOBODY,
    named: Sequence[Verifier] = (),
    progress: Progress = silent,
) -> Report:
    """Verify a pack.

    Args:
        path: the ZIP.
        catalogue: the trade's tables, with which the figures are computed again.
        anchors: the outsiders whom the reader trusts.
        named: log keys that the reader was told by another way than the record.
        progress: told of what is looked at.

    Raises:
        RefusedError: the file cannot be read, is not put together as a pack is, or is none.
    """
    material = PackMaterial(PackedFiles(StoredZip.open(path)))
    for name in (RECORD_NAME, HEADS_NAME):
        if name not in material.names:
            raise RefusedError(str(path), f"is no pack: it holds no {name}")
    whole = PROOFS_NAME not in material.names
    checked = check_record if whole else check_excerpt
    try:
        record = checked(material, anchors, named, progress)
    except ChangedError as error:
        record = unreadable(error)
    entries = entries_read(record)
    progress("figures", 0, 1)
    match, figures = _figures(material, record, entries, catalogue)
    steps = (*with_sums(record.steps, material), _dossiers_step(material, entries), figures)
    return Report("pack", record, steps, pack=PackReport(record.excerpt, match))


def _figures(
    material: PackMaterial, record: RecordReport, entries: Sequence[Entry], catalogue: Catalogue
) -> tuple[FiguresMatch, StepReport]:
    """Step 10."""
    if record.excerpt is not None:
        detail = "an excerpt: no gap and no last look can be counted in it"
    elif STANDING_NAME not in material.names:
        detail = "it states no figures"
    else:
        return check_standing(material, record, entries, catalogue)
    return FiguresMatch.NOT_CHECKABLE, StepReport(10, Found.NOT_CHECKED, detail)


def _dossiers_step(material: PackMaterial, entries: Sequence[Entry]) -> StepReport:
    """Step 9: the dossiers in the pack; each can be checked by itself for all that it states."""
    names = sorted(name for name in material.names if name.startswith(DOSSIER))
    if not names:
        return StepReport(9, Found.OK, NO_DOSSIER)
    if not entries:
        (step,) = not_reached((9,))
        return step
    wrong = [f"{name}: {why}" for name in names for why in _faults(material, name, entries)]
    if wrong:
        return StepReport(9, Found.CHANGED, listed(wrong))
    many = "1 dossier is" if len(names) == 1 else f"{len(names)} dossiers are"
    detail = f"{many} signed, unchanged since, and named by an entry; what is stated there is not"
    return StepReport(9, Found.OK, f"{detail} looked at here: check each by itself")


def _faults(material: PackMaterial, name: str, entries: Sequence[Entry]) -> Iterator[str]:
    """What is wrong with one dossier."""
    issued = {entry.body.file for entry in entries if isinstance(entry.body, Issued)}
    found = material.sum_of(name)
    if found is None or found.sha256 not in issued:
        yield "no entry names this file as one that was issued"
        return
    try:
        signature = read_signature(material.files.pack.read(name, _MOST_DOSSIER))
    except EvidenceError as error:
        yield error.why
        return
    if not signature.unchanged or signature.faults or signature.later_changes:
        yield "its signature does not hold"
    elif signature.certificate_sha256 not in _certificates(entries):
        yield "it is signed with a certificate that the record does not name"


def _certificates(entries: Sequence[Entry]) -> set[str | None]:
    """Every certificate that the record ever named: a dossier outlives the key that signed it."""
    return {entry.body.cert for entry in entries if isinstance(entry.body, Key)}
