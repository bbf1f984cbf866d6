"""Keys under which a signature proves nothing: the outside list, and the curve's own arithmetic."""

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from evidence.errors import RefusedError
from evidence.ledger.low_order import refuse_low_order

FF = "ff" * 30
# C2SP/CCTV ed25519/README.md, "Low-order edwards25519 point encodings": eight and six more.
ENCODINGS = [
    "00" * 32,
    f"ed{FF}7f",
    "00" * 31 + "80",
    f"ed{FF}ff",
    "01" + "00" * 31,
    "01" + "00" * 30 + "80",
    f"ee{FF}7f",
    f"ee{FF}ff",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
    f"ec{FF}7f",
    f"ec{FF}ff",
]

# RFC 8032 section 5.1: the field, the curve -x² + y² = 1 + d x² y², the group's order, the base.
P = 2**255 - 19
D = -121665 * pow(121666, -1, P) % P
L = 2**252 + 27742317777372353535851937790883648493
IDENTITY = (0, 1)


def plus(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    (x1, y1), (x2, y2) = a, b
    t = D * x1 * x2 * y1 * y2
    x3 = (x1 * y2 + x2 * y1) * pow(1 + t, -1, P)
    y3 = (y1 * y2 + x1 * x2) * pow(1 - t, -1, P)
    return x3 % P, y3 % P


def times(n: int, point: tuple[int, int]) -> tuple[int, int]:
    total = IDENTITY
    while n:
        if n & 1:
            total = plus(total, point)
        point, n = plus(point, point), n >> 1
    return total


def point_of(y: int) -> tuple[int, int] | None:
    """A point with this y, if there is one (RFC 8032 section 5.1.3, step 2)."""
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    return None if (x * x - square) % P else (x, y % P)


def low_order_points() -> set[tuple[int, int]]:
    """L times any point has an order that divides 8; one of order 8 yields all eight."""
    for y in range(2, 100):
        point = point_of(y)
        if point is not None:
            torsion = times(L, point)
            if times(4, torsion) != IDENTITY:
                return {times(n, torsion) for n in range(8)}
    raise AssertionError


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_low_order_encoding_is_refused(encoding):
    with pytest.raises(RefusedError, match="low order"):
        refuse_low_order(bytes.fromhex(encoding))


def test_the_list_is_complete_by_the_curve_s_own_arithmetic():
    points = low_order_points()
    assert len(points) == 8
    spellings = {
        (spelled | sign << 255).to_bytes(32, "little").hex()
        for _, y in points
        for spelled in (y, y + P)
        for sign in (0, 1)
        if spelled < 2**255
    }
    assert spellings == set(ENCODINGS)


def test_such_a_key_would_sign_every_text():
    # R = the identity and S = 0 satisfy S·B = R + k·A for every k, if A is the identity.
    identity = b"\x01" + bytes(31)
    key = Ed25519PublicKey.from_public_bytes(identity)
    for text in (b"sound", b"leaking"):
        key.verify(identity + bytes(32), text)


@pytest.mark.parametrize("length", [0, 31, 33, 64])
def test_a_key_of_another_length_is_refused(length):
    with pytest.raises(RefusedError, match="not 32"):
        refuse_low_order(bytes([7]) * length)


def test_an_honest_key_is_taken(signer):
    refuse_low_order(signer.verifier.public_key)
