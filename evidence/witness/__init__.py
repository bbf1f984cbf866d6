"""Outsiders' clocks over a head.

timestamp   a time-stamping authority's answer    request   asking one
letter      an e-mail that its domain signed       key_record   that domain's key
cosign      another person's signature             trust     whom the reader trusts
card        what is printed to lay in the next photos
"""

from evidence.witness.card import Card, letters_of
from evidence.witness.cosign import (
    Cosigner,
    CosigningKey,
    read_cosignatures,
    refuse_signing_key,
)
from evidence.witness.key_record import read_key_record
from evidence.witness.letter import Letter, read_letter
from evidence.witness.sample_authority import SampleAuthority
from evidence.witness.timestamp import Timestamp, find_stamped, read_timestamp
from evidence.witness.trust import NOBODY, Anchors, MailKey, Statement, Trust

__all__ = [
    "NOBODY",
    "Anchors",
    "Card",
    "Cosigner",
    "CosigningKey",
    "Letter",
    "MailKey",
    "SampleAuthority",
    "Statement",
    "Timestamp",
    "Trust",
    "find_stamped",
    "letters_of",
    "read_cosignatures",
    "read_key_record",
    "read_letter",
    "read_timestamp",
    "refuse_signing_key",
]
