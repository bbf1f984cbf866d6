"""Outsiders' clocks over a head."""

from evidence.witness.card import Card, letters_of
from evidence.witness.sample_authority import SampleAuthority
from evidence.witness.timestamp import Timestamp, read_timestamp
from evidence.witness.trust import Trust

__all__ = ["Card", "SampleAuthority", "Timestamp", "Trust", "letters_of", "read_timestamp"]
