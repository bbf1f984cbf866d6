"""How far a reader may lean on an outsider's clock."""

from enum import StrEnum


class Trust(StrEnum):
    """On whom an outsider's word rests (OUTPUTS § 3)."""

    TRUSTED = "trusted"
    """It chains to an anchor that the reader gave."""
    UNTRUSTED = "untrusted"
    """It is whole, but nobody whom the reader named vouches for who gave it."""
    SAMPLE = "sample"
    """It was given by a sample authority, in a sample case. It vouches for nothing."""
