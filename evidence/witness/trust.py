"""How far an outsider's answer is trusted by whoever reads it."""

from enum import StrEnum


class Trust(StrEnum):
    """`trusted` chains to an anchor that the reader gave; `sample` is a demo's own authority."""

    TRUSTED = "trusted"
    UNTRUSTED = "untrusted"
    SAMPLE = "sample"
