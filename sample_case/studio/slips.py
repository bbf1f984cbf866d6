"""The papers of the sample case; every shop, number and price is invented."""

from PIL import Image

from studio import indoors, papers

CARE = (
    (
        "7.1",
        (
            "Look at every bead of sealant, every fitting and the whole of the membrane at least "
            "every 90 days. This goes on while the trailer is stored."
        ),
    ),
    ("7.2", "Look at the roof again after each trip, before the next one."),
    (
        "7.3",
        (
            "Wash the membrane with mild soap and a soft brush when it is dirty. Do not use "
            "solvents or a pressure washer."
        ),
    ),
    (
        "7.4",
        "The membrane needs no treatment against sunlight. A treatment made for EPDM does no harm.",
    ),
    (
        "7.5",
        (
            "Seal a crack or an open edge within days. Use self-levelling lap sealant on flat "
            "places and the non-sag kind on rails and corners."
        ),
    ),
    (
        "7.6",
        (
            "Keep off a wet, icy or hot roof. If you cannot reach it safely, use a camera on a "
            "pole, or ask your dealer."
        ),
    ),
)
"""Section 7 of the care booklet."""


WORK = (
    "Cut back torn EPDM on the right side beside the A/C to sound rubber, 232 x 92 mm. "
    "Deck plywood firm. Left open under a fan until the pin meter read 12 %."
)
"""What the technician wrote."""


def sealant_receipt(seed: int) -> Image.Image:
    """Two tubes of lap sealant, bought the day before they were used."""
    slip = papers.receipt(
        ("MILLRACE TRAILER SUPPLY", "County Road K", "03/29/2024   4:47 PM   Reg 2"),
        (
            ("LAP SEAL S/L WHITE 10.3 OZ", ""),
            ("  2 @ 11.49", "22.98"),
            ("PLASTIC SCRAPER 2 PK", "3.79"),
            ("-", ""),
            ("SUBTOTAL", "26.77"),
            ("TAX 5.5 %", "1.47"),
            ("TOTAL", "28.24"),
        ),
        ("Returns with slip, 30 days", "0329-2-1184"),
        seed,
    )
    return indoors.on_the_table(slip, 80, seed, turn=2)


def wash_receipt(seed: int) -> Image.Image:
    """The soap and the brush of the wash that was written down five months later."""
    slip = papers.receipt(
        ("BLUFF ROAD FARM & HOME", "Hwy 18 at Bluff Road", "04/26/2025   8:41 AM   Reg 1"),
        (
            ("RUBBER ROOF WASH 1 QT", "18.99"),
            ("SOFT BRUSH 10 IN", "14.49"),
            ("PAIL 5 GAL", "4.98"),
            ("-", ""),
            ("SUBTOTAL", "38.46"),
            ("TAX 5.5 %", "2.12"),
            ("TOTAL", "40.58"),
        ),
        ("Thank you, neighbor", "1-04260-0077"),
        seed,
    )
    return indoors.on_the_table(slip, 80, seed, turn=-4)


def tarp_receipt(seed: int) -> Image.Image:
    """What the second, heavier cover cost."""
    slip = papers.receipt(
        ("BLUFF ROAD FARM & HOME", "Hwy 18 at Bluff Road", "07/15/2025   7:52 AM   Reg 1"),
        (
            ("TARP HD BLUE 10 X 12", "34.99"),
            ("SEAM TAPE 4 IN WHITE", "16.79"),
            ("SAND BAG FILLED", ""),
            ("  4 @ 4.25", "17.00"),
            ("-", ""),
            ("SUBTOTAL", "68.78"),
            ("TAX 5.5 %", "3.78"),
            ("TOTAL", "72.56"),
        ),
        ("Thank you, neighbor", "1-07150-0012"),
        seed,
    )
    return indoors.on_the_table(slip, 80, seed, turn=3)


def repair_invoice(seed: int) -> Image.Image:
    """The technician's invoice for the patch and the lid."""
    sheet = papers.invoice(
        (
            "Three Elms Trailer Sales & Service",
            "County Road K, at the three elms",
            "Sales, service, mobile repair",
        ),
        (
            ("Invoice", "25-0723-2"),
            ("Date", "July 23, 2025"),
            ("For", "M. Hollowell and G. Renner"),
            ("Trailer", "Quillmark Saltbox 24, 2022"),
            ("Worked at", "owners' yard, 9:20 to 12:50"),
        ),
        (
            ("-", ""),
            (WORK, ""),
            ("EPDM cover patch 252 x 138 mm, primed and rolled, edges sealed.", ""),
            ("Replaced 14 in vent lid over the galley. Old pieces left with owner.", ""),
            ("-", ""),
            ("Labor 3.5 h at 118.00", "413.00"),
            ("Mobile call", "45.00"),
            ("Cover patch, primer", "64.00"),
            ("Lap sealant, self-levelling, 2 tubes at 12.90", "25.80"),
            ("Vent lid", "38.50"),
            ("Tax 5.5 % on parts", "7.06"),
            ("-", ""),
            ("Total USD", "593.36"),
        ),
        (
            "Paid by check, July 23, 2025.",
            "We describe what we found and what we did. We do not judge what caused it.",
        ),
        seed,
    )
    return papers.scanned(sheet, seed, turn=0.5, size=(1100, 1400))


def booklet_page(seed: int) -> Image.Image:
    """Page 31 of the care booklet that came with the trailer."""
    sheet = papers.page(
        "Quillmark Coaches   |   Owner's care booklet   |   2021 edition",
        "7   The roof",
        CARE,
        "31",
        seed,
    )
    return papers.scanned(sheet, seed, turn=-0.6, size=(1000, 1340))
