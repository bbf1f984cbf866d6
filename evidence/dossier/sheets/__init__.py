"""What stands on each page of a dossier."""

from evidence.dossier.sheets.claim import claim_story
from evidence.dossier.sheets.context import Sheet
from evidence.dossier.sheets.record import Carried

__all__ = ["Carried", "Sheet", "claim_story"]
