"""What stands on each page of a dossier."""

from evidence.dossier.layout import Grid
from evidence.dossier.sheets.claim import ClaimSheet
from evidence.dossier.sheets.context import Carried, Sheet
from evidence.dossier.sheets.story import story
from evidence.dossier.sheets.warranty import WarrantySheet
from evidence.dossier.sheets.year import YearSheet
from evidence.photos.signals import Question
from evidence.upkeep import Standing
from evidence.upkeep.standing import incident_asked
from evidence.words import Form

__all__ = ["Carried", "ClaimSheet", "Sheet", "sheet_for", "story"]

_SHEETS: dict[Form, type[Sheet]] = {Form.WARRANTY: WarrantySheet, Form.YEAR: YearSheet}
"""The forms that are about the whole record."""


def sheet_for(
    form: Form,
    standing: Standing,
    incident: str | None,
    grid: Grid,
    *,
    seen: tuple[Question, ...] = (),
    with_challenge: bool = True,
) -> Sheet:
    """The pages of a form, without their pictures.

    Raises:
        RefusedError: the form is not made, or the incident is not on record.
    """
    if form is Form.CLAIM:
        return ClaimSheet(
            standing=standing,
            grid=grid,
            seen=seen,
            facts=incident_asked(standing, incident),
            with_challenge=with_challenge,
        )
    return _SHEETS[form](standing=standing, grid=grid, seen=seen)
