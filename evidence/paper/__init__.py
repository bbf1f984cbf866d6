"""What is printed besides a dossier: the card for the next photos, and the slip for a keeper."""

from evidence.paper.card import card_of, card_pdf, card_png
from evidence.paper.face import CardPrint
from evidence.paper.slip import Slip, slip_of, slip_pdf

__all__ = ["CardPrint", "Slip", "card_of", "card_pdf", "card_png", "slip_of", "slip_pdf"]
