"""kit.packing: which way it moves, its limits, and the sum over a wound packing against a plain integration."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from kit import packing
from kit.units import Q

GLAND = {"squeeze": "0.3 MPa", "width": "3 mm", "friction": 0.09, "lateral": 0.7}


def test_the_friction_of_a_gland_is_its_pressure_summed_over_its_length():
    def a_slice(x):
        return 0.09 * np.pi * 20 * packing.gland_pressure(length=Q(x, "mm"), **GLAND).m_as("MPa")
    summed, _ = integrate.quad(a_slice, 0, 12)
    assert packing.gland_friction(diameter="20 mm", length="12 mm", **GLAND).m_as("N") == pytest.approx(summed, rel=1e-9)


def test_a_long_gland_rubs_no_more_than_its_squeeze_allows():
    """However long: all of the squeeze on the ring's section goes into friction on both walls, half of it on the bore."""
    endless = packing.gland_friction(diameter="20 mm", length="1 m", **GLAND)
    assert endless.m_as("N") == pytest.approx(0.3 * np.pi * 20 * 3 / 2, rel=1e-6)


def test_at_the_squeezed_end_it_presses_with_its_share_of_the_squeeze():
    assert packing.gland_pressure(length="0 mm", **GLAND).m_as("MPa") == pytest.approx(0.7 * 0.3)


@given(factor=st.floats(1.1, 10), pressure=st.floats(1, 1e4))
def test_a_cups_friction_goes_with_girth_and_with_pressure(factor, pressure):
    def rubs(d, p, lip="0 N/mm"):
        return packing.cup_friction(diameter=Q(d, "mm"), pressure=Q(p, "kPa"), drag_length="0.25 mm", lip_force=lip).m_as("N")
    assert rubs(20 * factor, pressure) == pytest.approx(factor * rubs(20, pressure)) == pytest.approx(rubs(20, factor * pressure))
    assert rubs(20, 0, "0.1 N/mm") == pytest.approx(2 * np.pi)


def test_bad_words_and_sizes_are_told():
    with pytest.raises(ValueError, match="'old' is not one of good, new or dry"):
        packing.hick_drag_length("old")
    with pytest.raises(ValueError, match="diameter"):
        packing.cup_friction(diameter="0 mm", pressure="1 kPa", drag_length="0.2 mm")
    with pytest.raises(TypeError, match="pressure"):
        packing.cup_friction(diameter="5 mm", pressure=3, drag_length="0.2 mm")
