"""What a file is: its media type by its first bytes, then by its name.

Sources: ISO 10918-1 (JPEG), ISO 15948 § 5.2 (PNG), TIFF 6.0 § 2, RFC 9649 (WebP), ISO 14496-12
§ 4.3 (the `ftyp` box of MP4), ISO 23008-12 § 10 (HEIF brands), AV1 Image File Format § 2.1, the
QuickTime File Format Specification, ISO 32000-2 § 7.5.2 (PDF).
"""

import mimetypes
from pathlib import PurePath

HEAD = 64
"""How many of a file's first bytes `media_type` wants to see."""

UNKNOWN = "application/octet-stream"

_STARTS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"II*\x00", "image/tiff"),
    (b"MM\x00*", "image/tiff"),
    (b"%PDF-", "application/pdf"),
)
_HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx"})
_HEIF_BRANDS = frozenset({b"mif1", b"msf1", b"mif2"})
_AVIF_BRANDS = frozenset({b"avif", b"avis"})
_AUDIO_BRANDS = frozenset({b"M4A ", b"M4B "})
_OLD_QUICKTIME = frozenset({b"moov", b"mdat", b"wide"})  # films from before the `ftyp` box


def media_type(head: bytes, name: str) -> str:
    """The media type of a file with these first bytes (`HEAD` of them) and this name."""
    for start, found in _STARTS:
        if head.startswith(start):
            return found
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "image/webp"
    if head[4:8] == b"ftyp":
        return _of_brands(head[8:12], head)
    if head[4:8] in _OLD_QUICKTIME:
        return "video/quicktime"
    return _by_name(name)


def _of_brands(major: bytes, head: bytes) -> str:
    """HEIF, AVIF and MP4 share one container; the brands tell them apart."""
    if major in _AVIF_BRANDS:
        return "image/avif"
    if major in _HEIC_BRANDS:
        return "image/heic"
    if major in _HEIF_BRANDS:
        size = int.from_bytes(head[:4], "big")
        compatible = {head[at : at + 4] for at in range(16, min(size, len(head)), 4)}
        if compatible & _AVIF_BRANDS:
            return "image/avif"
        return "image/heic" if compatible & _HEIC_BRANDS else "image/heif"
    if major == b"qt  ":
        return "video/quicktime"
    return "audio/mp4" if major in _AUDIO_BRANDS else "video/mp4"


def _by_name(name: str) -> str:
    # a fresh table holds Python's own types only, so every machine answers alike
    found, encoding = mimetypes.MimeTypes().guess_type("file" + PurePath(name).suffix.lower())
    return UNKNOWN if found is None or encoding is not None else found
