"""kit.gauging: values worked out by ourselves, to show that a result has moved. They are no evidence that it was
right."""
import numpy as np
import pytest

from kit import gauging
from kit.units import Q

ANGLE = np.arange(12) * np.pi / 6
RADII = 10 + 0.020 * np.cos(ANGLE) - 0.035 * np.sin(ANGLE) + 0.004 * np.cos(3 * ANGLE)
POINTS = {"x": Q(RADII * np.cos(ANGLE), "mm"), "y": Q(RADII * np.sin(ANGLE), "mm")}


def test_twelve_radii_with_three_lobes():
    amplitude = gauging.lobes(radii=Q(RADII, "mm")).m_as("mm")
    assert amplitude[0] == pytest.approx(10)
    assert amplitude[1] == pytest.approx(np.hypot(0.020, 0.035))
    assert amplitude[3] == pytest.approx(0.004)
    assert np.ptp(RADII[:6] + RADII[6:]) == pytest.approx(0)   # no calliper sees them
    assert gauging.v_block_factor(lobes=3, angle="180 deg").m == pytest.approx(0, abs=1e-9)


def test_their_circle():
    """The points of an offset circle plotted as radii: limacon against circle, a second-order difference."""
    got = gauging.least_squares_circle(**POINTS)
    assert got.x.m == pytest.approx(0.01999995, abs=0.00000001)
    assert got.y.m == pytest.approx(-0.03499992, abs=0.00000001)
    assert got.radius.m == pytest.approx(10.0000406, abs=0.00000005)
    assert got.roundness.m_as("mm") == pytest.approx(0.0080612, abs=0.00000005)


def test_their_other_circles():
    zone, inside, outside = (circle(**POINTS) for circle in (
        gauging.minimum_zone_circle, gauging.maximum_inscribed_circle, gauging.minimum_circumscribed_circle))
    assert zone.roundness.m == pytest.approx(8.0407, abs=0.00005)
    assert inside.radius.m == pytest.approx(9.9960406, abs=0.00000005)
    assert outside.radius.m == pytest.approx(10.0040407, abs=0.00000005)


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
def test_ring_round_scattered_points():
    got = gauging.minimum_zone_circle(x=Q([9, 35, -13, 10, 23, 0], "mm"), y=Q([34, 10, 6, -14, 27, -10], "mm"))
    assert (got.x.m, got.y.m) == pytest.approx((10.25363, 9.27477), abs=0.000005)
    assert got.roundness.m_as("mm") == pytest.approx(2.92459, abs=0.000005)


@pytest.mark.parametrize("angle, factors", [
    (60, [0, 3, 0, 0, 3, 0]), (90, [1, 2, 0.41, 2, 1, 0]), (120, [1.58, 1, 0.42, 2, 0.15, 2])])
def test_v_blocks(angle, factors):
    got = gauging.v_block_factor(lobes=[2, 3, 4, 5, 6, 7], angle=Q(angle, "deg")).m
    assert got == pytest.approx(factors, abs=0.005)


def test_steps_of_a_scale():
    assert gauging.resolution_uncertainty(step="0.01 mm").m_as("um") == pytest.approx(2.9, abs=0.05)
    assert gauging.resolution_uncertainty(step="0.02 mm").m_as("um") == pytest.approx(5.8, abs=0.05)
