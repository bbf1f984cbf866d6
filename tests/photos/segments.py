"""What a JPEG file carries besides its pixels, segment by segment (ISO 10918-1 § B.1.1)."""

_PIXELS = frozenset({0xDB, 0xC0, 0xC1, 0xC2, 0xC4, 0xDA, 0xDD})
"""Tables, frame, scan, restart interval."""
_JFIF, _START_OF_SCAN, _END = 0xE0, 0xDA, b"\xff\xd9"
_JFIF_BYTES = 16
"""A JFIF segment without a small picture in it (ISO 10918-5 § 10.1)."""


def besides_pixels(jpeg: bytes) -> list[str]:
    """Each segment that is neither pixels nor a bare JFIF head, and what follows the end."""
    found, at = [], 2
    while jpeg[at] == 0xFF and jpeg[at + 1] != _START_OF_SCAN:
        marker, size = jpeg[at + 1], int.from_bytes(jpeg[at + 2 : at + 4], "big")
        bare = marker == _JFIF and size == _JFIF_BYTES
        if not bare and marker not in _PIXELS:
            found.append(f"{marker:#x} {jpeg[at + 4 : at + 20]!r}")
        at += 2 + size
    if not jpeg.startswith(b"\xff\xd8") or jpeg.find(_END, at) != len(jpeg) - 2:
        found.append("something before the start or behind the end")
    return found
