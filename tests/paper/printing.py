"""A card and a slip to print, and what stands on a page."""

from datetime import UTC, date, datetime

from evidence.ledger import Head, Signer, origin_of, sign_head
from evidence.paper import CardPrint, Slip
from evidence.witness import Card

CASE_ID = "000102030405060708090a0b0c0d0e0f"
FOOTER = "A footer."
MM = 72 / 25.4

PRINTED = CardPrint(
    card=Card("5e" * 32, CASE_ID, "skylight-1"),
    title="Kestrel",
    label="Skylight over the bath",
    answered=datetime(2025, 5, 2, 18, 23, 41, tzinfo=UTC),
    name="An invented authority",
    seq=11,
    sample=False,
)

SIGNER = Signer.from_seed(origin_of(CASE_ID), b"k" * 32)
NOTE = sign_head(Head(origin_of(CASE_ID), 41, b"r" * 32), SIGNER).format()
SLIP = Slip(NOTE, SIGNER.verifier, "Kestrel", date(2025, 5, 2), sample=False)
