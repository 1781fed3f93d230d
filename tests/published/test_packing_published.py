"""kit.packing against print: the friction of leather packings. Where a value is from memory, it says so."""
import numpy as np
import pytest

from kit import packing
from kit.units import Q


@pytest.mark.parametrize("leather, percent", [("good", 4.0), ("new or dry", 6.0)])
@pytest.mark.parametrize("inches", [1.0, 4.0, 20.0])
def test_the_share_of_the_load_that_a_leather_takes(leather, percent, inches):
    """J. Hick's trials, as in W. C. Unwin, The Elements of Machine Design, and W. Kent, The Mechanical Engineer's Pocket-Book, under hydraulic
    presses (from memory, pages not seen): friction 4 % of the load over the diameter in inches where the leather is good, 6 % new or dry."""
    diameter, pressure = Q(inches, "inch"), Q(1000, "lbf/inch^2")
    load = pressure * np.pi / 4 * diameter**2
    rubs = packing.cup_friction(diameter=diameter, pressure=pressure, drag_length=packing.hick_drag_length(leather))
    assert (100 * rubs / load).m_as("") == pytest.approx(percent / inches, abs=0.05 / inches)   # as printed, to a tenth


@pytest.mark.parametrize("leather, coefficient", [("good", 0.0314), ("new or dry", 0.0471)])
def test_the_printed_coefficient(leather, coefficient):
    """The same books (from memory): F = C d p in lb, inches and lb a square inch, C 0.0314 and 0.0471."""
    rubs = packing.cup_friction(diameter=Q(3, "inch"), pressure=Q(500, "lbf/inch^2"), drag_length=packing.hick_drag_length(leather))
    assert rubs.m_as("lbf") == pytest.approx(coefficient * 3 * 500, rel=1e-6)


def test_a_bore_of_20_mm_at_100_kpa():
    """Worked from the same coefficients: 1.6 to 2.4 N, 5.1 to 7.6 % of the load."""
    found = [packing.cup_friction(diameter="20 mm", pressure="100 kPa", drag_length=packing.hick_drag_length(word)).m_as("N") for word in packing.HICK]
    assert found == pytest.approx([1.6, 2.4], abs=0.05)
    assert [100 * each / (0.1 * np.pi * 100) for each in found] == pytest.approx([5.1, 7.6], abs=0.06)
