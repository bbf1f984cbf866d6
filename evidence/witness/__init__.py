"""Outsiders' clocks over a head."""

from evidence.witness.sample_authority import SampleAuthority
from evidence.witness.timestamp import Timestamp, read_timestamp
from evidence.witness.trust import Trust

__all__ = ["SampleAuthority", "Timestamp", "Trust", "read_timestamp"]
