"""kit.feel: values worked out by ourselves, to show that a result has moved; no evidence that it was right."""
import numpy as np
import pytest

from kit import evidence, feel
from kit.units import Q


@pytest.mark.parametrize("clearance, seconds", [(3, 2480), (5, 535), (10, 66.8), (15, 19.8), (20, 8.4), (30, 2.5), (50, 0.5)])
def test_fall_of_a_plug_of_twenty_grams_in_air(clearance, seconds):
    got = feel.fall_time(weight="0.1961 N", diameter="8 mm", length="20 mm", radial_clearance=Q(clearance, "um"), travel="30 mm", viscosity="18.1 uPa*s")
    assert got.m_as("s") == pytest.approx(seconds, rel=0.02 if seconds > 1 else 0.08)


def test_drag_of_a_calliper():
    got = feel.caliper_drag(weber=0.07, force="1 N", stiffness=Q([5, 20], "N/mm")).m_as("um")
    assert got == pytest.approx(np.array([14, 3.5]))


def test_a_quarter_inch_of_rock_on_twelve_inches():
    assert feel.caliper_rock(width="0.25 inch", diameter="12 inch").m_as("um") == pytest.approx(16.5, abs=0.05)
    assert feel.caliper_rock(width="0.5 inch", diameter="12 inch").m_as("um") == pytest.approx(66, abs=0.2)
    assert feel.caliper_rock(width="1.414 mm", diameter="25 mm").m_as("um") == pytest.approx(10, abs=0.01)


def test_shake_bow_and_eccentricity():
    assert feel.plug_shake(threshold=Q([25, 75], "um"), arm="200 mm", length="20 mm").m_as("um") == pytest.approx(np.array([2.5, 7.5]))
    assert feel.rolled_bow(light_gap="5 um").m_as("um") == 5
    assert 2 * feel.eccentricity_told(light_gap=Q([10, 25], "um"), lever=5).m_as("um") == pytest.approx(np.array([2, 5]))


def ends(of, key):
    row = evidence.reference(table="feel", of=of, prefix="it")[f"it.{key}"]
    return Q(row.quantile(np.array([0.05, 0.95])), row.unit)


def test_table_of_what_is_told_says_what_the_formulas_say():
    told = feel.caliper_drag(weber=0.07, force="1 N", stiffness=Q([20, 5], "N/mm"))
    assert ends("caliper, compared", "difference").m_as("um") == pytest.approx(told.m_as("um"))
    told = feel.plug_shake(threshold=ends("plug gauge, shake", "threshold"), arm=Q([10, 5], "mm"), length="1 mm")
    assert ends("plug gauge, shake", "difference").m_as("um") == pytest.approx(told.m_as("um"))
    low, high = ends("falling plug", "difference").m_as("um")
    assert low == pytest.approx(20 * 0.1 / 3, rel=0.15) and high == pytest.approx(20 * (1 - 2.5**(-1 / 3)), rel=0.15)
