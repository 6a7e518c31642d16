"""Round wood: both formulas on solids of known volume."""

from math import pi

import numpy as np
import pytest

from drying.logs import huber_m3, logs_for, smalian_m3

RADIUS_MM = 200.0


def test_a_cylinder_is_what_it_is_by_both():
    volume = pi * 0.2**2 * 4
    assert float(huber_m3(2 * RADIUS_MM, 4)) == pytest.approx(volume)
    assert float(smalian_m3(2 * RADIUS_MM, 2 * RADIUS_MM, 4)) == pytest.approx(volume)


def test_both_are_exact_for_a_paraboloid():
    # Its area grows straight with the distance from its tip (geometry): butt d, top d/sqrt 2, mid d sqrt(3/4)
    butt, top = 400.0, 400.0 / np.sqrt(2)
    middle = 400.0 * np.sqrt(0.75)
    volume = pi / 4 * 0.4**2 * 0.75 * 5
    assert float(huber_m3(middle, 5)) == pytest.approx(volume)
    assert float(smalian_m3(top, butt, 5)) == pytest.approx(volume)


def test_of_a_cone_smalian_tells_too_much_and_huber_too_little():
    # Frustum of a cone, 300 to 400 mm: pi L (a² + ab + b²) / 12 (geometry); Huber misses half as much, the other way
    true = pi * 4 * (0.3**2 + 0.3 * 0.4 + 0.4**2) / 12
    more, less = float(smalian_m3(300, 400, 4)) - true, float(huber_m3(350, 4)) - true
    assert more > 0 > less
    assert more == pytest.approx(-2 * less)


def test_logs_are_counted_up():
    volume = float(huber_m3(350, 4))
    assert logs_for(3 * volume * 0.5, 350, 4, 0.5) == 3
    assert logs_for(3.01 * volume * 0.5, 350, 4, 0.5) == 4
    assert logs_for(0, 350, 4, 0.5) == 0


@pytest.mark.parametrize("share", [0.05, 0.95, float("nan")])
def test_a_yield_that_no_saw_has_is_refused(share):
    with pytest.raises(ValueError, match="yield"):
        logs_for(1, 350, 4, share)
