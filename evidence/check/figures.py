"""Step 10: what the pages state, computed again from the attached record."""

import logging
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from io import BytesIO

from pydantic import JsonValue

from evidence.carried import OWN_ROWS, STANDING_NAME
from evidence.check.filed import Filed
from evidence.check.record import not_reached
from evidence.check.report import Found, RecordReport, StepReport, listed
from evidence.dossier.summary import claim_summary
from evidence.envelope import Entry
from evidence.errors import EvidenceError, RefusedError
from evidence.ledger import leaf_hash, tree_root
from evidence.photos import Atlas, load_atlas
from evidence.photos.place import INSTALL
from evidence.times import parse_day, tzdata_version
from evidence.trade import Catalogue, load_catalogue
from evidence.upkeep import Standing, as_json, measure, read_history
from evidence.witness import Trust

_OPENING_PAGES = 2
"""The summary stands on page 1; a long one runs over."""


class FiguresMatch(StrEnum):
    """Whether the figures of the pages follow from the record (OUTPUTS § 3)."""

    YES = "yes"
    NO = "no"
    NOT_CHECKABLE = "not-checkable"


def check_figures(
    pdf: bytes,
    material: Filed,
    record: RecordReport,
    entries: Sequence[Entry],
    catalogue: Catalogue,
) -> tuple[FiguresMatch, StepReport]:
    """Measure the attached record again, and look for what comes out on the pages.

    Args:
        pdf: the dossier.
        material: its attachments.
        record: what steps 1 to 8 found.
        entries: the record, read; empty where it cannot be.
        catalogue: this program's tables.
    """
    return _checked(pdf, "dossier", material, record, entries, catalogue)


def check_standing(
    material: Filed, record: RecordReport, entries: Sequence[Entry], catalogue: Catalogue
) -> tuple[FiguresMatch, StepReport]:
    """Measure a pack's record again, and compare with its `standing.json`; see `check_figures`."""
    return _checked(None, "pack", material, record, entries, catalogue)


def _checked(
    pdf: bytes | None,
    form: str,
    material: Filed,
    record: RecordReport,
    entries: Sequence[Entry],
    catalogue: Catalogue,
) -> tuple[FiguresMatch, StepReport]:
    if not entries:
        (step,) = not_reached((10,))
        return FiguresMatch.NOT_CHECKABLE, step
    about = material.manifest.get(form)
    if not isinstance(about, dict):
        detail = f"manifest.json does not say what the {form} is about"
        return FiguresMatch.NO, StepReport(10, Found.CHANGED, detail)
    catalogue = _with_own_rows(material, catalogue)
    if material.manifest.get("catalogue") != catalogue.sha256:
        detail = "made with another catalogue than this program's; not compared"
        return FiguresMatch.NOT_CHECKABLE, StepReport(10, Found.NOT_CHECKED, detail)
    figures = _Figures(pdf, material, record, entries, catalogue)
    try:
        wrong = figures.differences(about)
    except _NoAtlasError as error:
        return FiguresMatch.NOT_CHECKABLE, StepReport(10, Found.NOT_CHECKED, str(error))
    except EvidenceError as error:
        wrong = [f"{error.what}: {error.why}"]
    if wrong:
        return FiguresMatch.NO, StepReport(10, Found.CHANGED, listed([*_older(about), *wrong]))
    said = STANDING_NAME if pdf is None else "the pages"
    detail = f"computed again; {said} state{'s' if pdf is None else ''} the same"
    if catalogue.overrides:
        detail += f". The issuer's own rows stand for the program's: {listed(catalogue.overrides)}"
    return FiguresMatch.YES, StepReport(10, Found.OK, detail)


class _NoAtlasError(Exception):
    """The figures rest on zones at positions that this machine cannot look up alike."""


def _older(about: Mapping[str, JsonValue]) -> list[str]:
    """That the rules of time zones are other ones here, which may be why figures differ."""
    made, here = about.get("tzdata"), tzdata_version()
    return [] if made == here else [f"made with tzdata {made}, here is {here}"]


def _with_own_rows(material: Filed, catalogue: Catalogue) -> Catalogue:
    """This program's tables with the issuer's rows laid over them, where such are attached.

    The manifest's hash, and so the signature, binds both. Rows that cannot be read leave the
    tables as they are: then the hash is another one.
    """
    if OWN_ROWS not in material.names:
        return catalogue
    try:
        return load_catalogue(override=material.part(OWN_ROWS))
    except EvidenceError:
        return catalogue


@dataclass(frozen=True, slots=True)
class _Figures:
    pdf: bytes | None
    material: Filed
    record: RecordReport
    entries: Sequence[Entry]
    catalogue: Catalogue

    def differences(self, about: Mapping[str, JsonValue]) -> list[str]:
        """What the pages and `standing.json` state otherwise than the record has it."""
        stated = self.material.document(STANDING_NAME)
        places = _places(stated)
        atlas, here = self._atlas(places), load_atlas()
        standing = self._measured(parse_day(str(about.get("on"))), _trusted(stated), atlas)
        wrong = self._compared(standing, stated, about)
        # with other boundaries a zone may be another one: that is no change of the figures
        if wrong and standing.history.places_by and here is not None and here.source != places:
            raise _NoAtlasError(f"zones were looked up with {places}; here is {here.source}")
        return wrong

    def _compared(
        self,
        standing: Standing,
        stated: Mapping[str, JsonValue],
        about: Mapping[str, JsonValue],
    ) -> list[str]:
        differing = _differing(as_json(standing), stated)
        wrong = [f"{STANDING_NAME}: {name} differs" for name in differing]
        if self.pdf is None:
            return wrong
        facts = standing.incident(str(about.get("incident")))
        if facts is None:
            return [*wrong, "the incident of the pages is not in the record"]
        sentences = claim_summary(standing, facts, self.catalogue).sentences()
        unsaid = _unsaid(sentences, _opening_text(self.pdf))
        return [*wrong, *(f"the summary does not state: {said[:70]}" for said in unsaid)]

    def _atlas(self, places: str | None) -> Atlas | None:
        """The lookup to measure with, as the issuer did: none where the issuer used none.

        Raises:
            _NoAtlasError: the issuer used one, pictures have positions, and none is here.
        """
        placed = any(
            file.camera and file.camera.GPSLatitude for e in self.entries for file in e.files
        )
        if places is None or not placed:
            return None
        here = load_atlas()
        if here is None:
            raise _NoAtlasError(f"zones at positions were looked up with {places}: {INSTALL}")
        return Atlas(places, here.zone_at)

    def _measured(self, on: date, trusted: set[int], atlas: Atlas | None) -> Standing:
        trust = self._trust(trusted)
        history = read_history(self.entries, on=on, trust=trust, atlas=atlas)
        root = tree_root([leaf_hash(line) for line in self.material.lines[: history.size]])
        return measure(history, self.catalogue, root.hex())

    def _trust(self, trusted: set[int]) -> dict[int, Trust]:
        """How far the issuer trusted each answer.

        Whom to trust is the issuer's to say. Whether an answer verifies, and whether a sample's
        own authority gave it, is not.
        """
        return {
            row.seq: row.trust
            if row.trust is Trust.SAMPLE
            else Trust.TRUSTED
            if row.seq in trusted
            else Trust.UNTRUSTED
            for row in self.record.witnesses
            if row.trust is not None
        }


def _places(stated: Mapping[str, JsonValue]) -> str | None:
    """What the issuer looked up zones at positions with, as `standing.json` has it."""
    case = stated.get("case")
    places = case.get("places") if isinstance(case, dict) else None
    return places if isinstance(places, str) else None


def _trusted(stated: Mapping[str, JsonValue]) -> set[int]:
    """The seq of every answer that the issuer trusted, as `standing.json` has it."""
    case = stated.get("case")
    rows = case.get("witnesses") if isinstance(case, dict) else None
    return {
        seq
        for row in (rows if isinstance(rows, list) else ())
        if isinstance(row, dict)
        and row.get("trust") == Trust.TRUSTED
        and isinstance(seq := row.get("seq"), int)
    }


def _differing(computed: Mapping[str, JsonValue], stated: Mapping[str, JsonValue]) -> list[str]:
    """The parts of `standing.json` that differ; the same document has none."""
    names = dict.fromkeys([*computed, *stated])
    return [name for name in names if computed.get(name) != stated.get(name)]


def _unsaid(sentences: Iterable[str], page: str) -> list[str]:
    """The sentences that the page does not state in their order: as few as can be."""
    given, text = list(sentences), _squeezed(page)
    # By how many sentences are stated: where the last of them ends at the earliest, and which.
    stated: list[tuple[int, tuple[str, ...]]] = [(0, ())]
    for said in given:
        pattern = re.compile(_as_drawn(said))
        for count, (place, before) in reversed(list(enumerate(stated))):
            found = pattern.search(text, place)
            longer = stated[count + 1 : count + 2]
            if found and (not longer or found.end() < longer[0][0]):
                stated[count + 1 : count + 2] = [(found.end(), (*before, said))]
    return [said for said in given if said not in stated[-1][1]]


def _as_drawn(said: str) -> str:
    """A pattern for a sentence on a page: a character that no face has is drawn as "?"."""
    return "".join(
        re.escape(char) if char.isascii() else f"(?:{re.escape(char)}|\\?)"
        for char in _squeezed(said)
    )


def _squeezed(text: str) -> str:
    """Text without white space: a page breaks lines where it must."""
    return "".join(text.split())


def _opening_text(pdf: bytes) -> str:
    from pypdf import PdfReader

    log = logging.getLogger("pypdf")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)  # what it stumbles over is told in the report
    try:
        pages = PdfReader(BytesIO(pdf)).pages
        return "".join(page.extract_text() for page in pages[:_OPENING_PAGES])
    except Exception as error:  # a stranger's page may trip the reader in any way
        raise RefusedError("page 1", "its text cannot be read") from error
    finally:
        log.setLevel(level)
