"""Outsiders' clocks over a head."""

from evidence.witness.trust import Trust

__all__ = ["Trust"]
