"""The first page of each form of dossier as text: what the issuer prints and `check` looks for."""

from collections.abc import Callable, Mapping

from evidence.dossier import say
from evidence.dossier.brief import Brief, Opening
from evidence.dossier.forms.warranty import warranty_brief
from evidence.dossier.forms.year import year_brief
from evidence.dossier.summary import claim_summary
from evidence.errors import RefusedError
from evidence.upkeep import Standing
from evidence.upkeep.standing import incident_asked
from evidence.words import Form

BRIEFS: Mapping[Form, Callable[[Standing], Brief]] = {
    Form.WARRANTY: warranty_brief,
    Form.YEAR: year_brief,
}
"""The forms that are about the whole record."""

_ABOUT_AN_INCIDENT = (Form.CLAIM,)
MADE = (*_ABOUT_AN_INCIDENT, *BRIEFS)
"""The forms that can be asked for."""


def incident_of(form: Form, standing: Standing, named: str | None) -> str | None:
    """The id of the incident that a form is about; None where it is about none.

    Raises:
        RefusedError: it is about one, and none is to be had; or it is about none, and one is named;
            or it is a form that is not made.
    """
    if form not in MADE:
        raise RefusedError(
            f"form {form.value!r}", "is not made yet", f"Forms made: {say.listed(MADE)}."
        )
    if form in _ABOUT_AN_INCIDENT:
        return incident_asked(standing, named).id
    if named is not None:
        raise RefusedError(
            f"incident {named!r}",
            f"is no part of the form {form.value!r}",
            "Leave it out, or ask for a claim.",
        )
    return None


def opening(form: Form, standing: Standing, incident: str | None) -> Opening:
    """What the first page of a form says.

    Raises:
        RefusedError: the form is not made, or the incident is not on record.
    """
    incident_of(form, standing, incident)
    if form is Form.CLAIM:
        return claim_summary(standing, incident_asked(standing, incident), standing.catalogue)
    return BRIEFS[form](standing)
