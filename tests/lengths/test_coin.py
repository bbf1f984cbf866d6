"""A length by a coin: one scale, near the coin, seen nearly straight."""

import math

import numpy as np
import pytest

from evidence.errors import RefusedError
from evidence.lengths.coin import MOST_TILT, Coin, ellipse_of, length_by
from evidence.lengths.plane import apart
from tests.viewing import View

ACROSS = 24.26  # United States Mint, a quarter dollar (SUMS § 4)
SIZE = (4000, 3000)


def looking(**how):
    return View(around=(0, 0), size=SIZE, **{"px_per_mm": 8, **how})


def rim(view, count=8, *, first=0.3, whole=math.tau):
    angles = [first + whole * at / count for at in range(count)]
    half = ACROSS / 2
    return tuple(view.pixel((half * math.cos(a), half * math.sin(a))) for a in angles)


def coin(points, sure=1.0):
    return Coin("a US quarter dollar", ACROSS, 0.1, tuple(points), sure)


def test_an_ellipse_is_found_from_places_on_its_rim():
    turn, long, short = math.radians(30), 120.0, 80.0
    points = [
        (
            500 + long * math.cos(a) * math.cos(turn) - short * math.sin(a) * math.sin(turn),
            300 + long * math.cos(a) * math.sin(turn) + short * math.sin(a) * math.cos(turn),
        )
        for a in (0.1, 1.4, 2.2, 3.9, 5.5, 6.0)
    ]
    found = ellipse_of(points)
    assert found.middle == pytest.approx((500, 300))
    assert found.radius == pytest.approx(math.sqrt(long * short))
    assert math.hypot(*found.shape) == pytest.approx((long**2 - short**2) / (long**2 + short**2))


def test_a_straight_look_gives_the_true_length():
    view = looking()
    found = length_by(coin(rim(view)), view.pixel((20, 0)), view.pixel((60, 30)), 1.0, SIZE)
    assert found.mm == pytest.approx(50, rel=1e-6)
    assert found.by_tilt > 0  # a rim read to a pixel does not exclude a small angle
    assert 2 * found.sure < 0.1 * found.mm


@pytest.mark.parametrize("tilted", [0, 7, 12])
@pytest.mark.parametrize("turned", [0, 75])
def test_twice_the_uncertainty_holds_the_truth_under_a_small_angle(tilted, turned):
    view = looking(tilted=tilted, turned=turned)
    rng = np.random.default_rng(tilted + turned)
    start, end = (15.0, -20.0), (50.0, 40.0)
    true, held, told = apart(start, end), 0, 0
    for _ in range(100):

        def read(point):
            return tuple(np.array(point) + rng.normal(size=2))

        points = [read(point) for point in rim(view)]
        ends = [read(view.pixel(point)) for point in (start, end)]
        try:
            found = length_by(coin(points), *ends, 1.0, SIZE)
        except RefusedError:
            continue
        told += 1
        held += abs(found.mm - true) <= 2 * found.sure
    assert told > 60
    assert held / told >= 0.94


def refusal(points, start=(2100, 1500), end=(2400, 1500), sure=1.0):
    with pytest.raises(RefusedError) as caught:
        length_by(coin(points, sure), start, end, 1.0, SIZE)
    return str(caught.value)


def test_a_coin_seen_at_an_angle_is_refused():
    said = refusal(rim(looking(tilted=30)))
    assert f"{MOST_TILT:.0f}° is the most: a coin gives a scale and no angle" in said


def test_a_coin_too_small_to_exclude_an_angle_is_refused():
    small = rim(looking(px_per_mm=2.2))
    assert "off the straight look" in refusal(small, (2010, 1500), (2050, 1500))
    assert "too small in this picture" in refusal(rim(looking(px_per_mm=1.2)))


def test_a_place_far_from_the_coin_is_refused():
    view = looking()
    assert "diameters from" in refusal(rim(view), (2000, 1500), view.pixel((110, 0)))


def test_a_rim_of_few_places_or_of_one_side_is_refused():
    view = looking()
    assert "has 4 points" in refusal(rim(view, 4))
    assert "one side alone" in refusal(rim(view, 7, whole=math.pi / 2))
    assert "one side alone" in refusal([(5, 5)] * 6)


def test_places_on_no_ellipse_are_refused():
    hyperbola = [(s * math.cosh(t) * 100, math.sinh(t) * 160) for s in (1, -1) for t in (-1, 0, 1)]
    assert "is no ellipse" in refusal(hyperbola)
