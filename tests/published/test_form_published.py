"""kit.form against what others printed. No measurement of a bow before and after lapping or reaming was found."""
import pytest

from kit import form
from kit.units import Q


@pytest.mark.parametrize("size, straightness", [(12.0, 0.04), (16.0, 0.1), (8.0, 0.007)])
def test_virtual_size_of_a_bent_shaft_and_of_a_bent_hole(size, straightness):
    # ANSI Y14.5M, Dimensioning and Tolerancing (edition of 1982 or 1994 from memory), section on straightness of an
    # axis: size and form together produce a boundary equal to the size at maximum material plus the straightness
    # tolerance, the width of the cylinder in which the axis lies (for a hole, less it: ISO 2692, from memory). An
    # axis bent by a sagitta s lies in a cylinder of diameter s.
    bent = {"diameter": Q(size, "mm"), "bow": Q(straightness, "mm")}
    assert form.circumscribed_diameter(**bent).m_as("mm") == pytest.approx(size + straightness, abs=1e-9)
    assert form.inscribed_diameter(**bent).m_as("mm") == pytest.approx(size - straightness, abs=1e-9)


@pytest.mark.parametrize("lobes", [0.002, 0.010])
def test_envelope_of_a_lobed_section(lobes):
    # ISO 1101 and ISO 12181-1 (from memory): roundness is the difference in radius of two circles, one in the other,
    # that hold the section; a section of even lobes about its mean has half of it either way, on the radius.
    found = form.circumscribed_diameter(diameter="10 mm", lobes=Q(lobes, "mm")) - form.inscribed_diameter(
        diameter="10 mm", lobes=Q(lobes, "mm"))
    assert found.m_as("mm") / 2 == pytest.approx(lobes, abs=1e-9)


def test_a_lap_somewhat_longer_than_the_hole():
    # Machinery's Handbook, 31st ed., p. 1339: the lap should be somewhat longer than the hole. One as long as the hole
    # leaves the ends less worn than the middle at any stroke; a longer one makes them even at a short stroke.
    hole = {"bore_length": "75 mm", "half_stroke": "12 mm"}
    equal, longer = (form.lap_cover(lap_length=Q(lap, "mm"), **hole).m_as("") for lap in (75, 100))
    assert equal == pytest.approx(0.5) and longer == pytest.approx(1)
