"""Ed25519 public keys under which a signature proves nothing.

A point of low order makes some signatures verify for *every* text. Such keys are no keys; libraries
differ in taking them, so they are refused wherever a key is to be trusted.
"""

from evidence.errors import RefusedError

PUBLIC_KEY_BYTES = 32

_P_MINUS_1 = "ec" + 30 * "ff" + "7f"  # p = 2^255 - 19, little-endian
_P = "ed" + 30 * "ff" + "7f"
_P_PLUS_1 = "ee" + 30 * "ff" + "7f"
_SIGN_BIT = 0x80

# The y-coordinates of the eight points, and y = 0 and 1 spelled as p and p + 1: from the list in
# C2SP/CCTV ed25519/README.md, "Low-order edwards25519 point encodings". With either sign bit they
# make its 14 encodings, the non-canonical ones (x = -0, y >= p) included.
_LOW_ORDER_Y = frozenset(
    bytes.fromhex(y)
    for y in (
        32 * "00",  # order 4
        "01" + 31 * "00",  # order 1
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",  # order 8
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",  # order 8
        _P_MINUS_1,  # order 2
        _P,  # order 4
        _P_PLUS_1,  # order 1
    )
)


def refuse_low_order(public_key: bytes) -> None:
    """Refuse an Ed25519 public key whose point has order 1, 2, 4 or 8, however it is spelled.

    Raises:
        RefusedError: such a point, or not 32 bytes.
    """
    if len(public_key) != PUBLIC_KEY_BYTES:
        raise RefusedError("Ed25519 key", f"is {len(public_key)} bytes long, not 32")
    y = public_key[:-1] + bytes([public_key[-1] & ~_SIGN_BIT])
    if y in _LOW_ORDER_Y:
        raise RefusedError("Ed25519 key", "has low order: anybody could sign with it")
