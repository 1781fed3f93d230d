"""kit.holding against printed values; the source stands beside each."""
import pytest

from kit import holding
from kit.units import OutOfRange, Q


def test_friction_of_two_fingers_on_aluminium():
    """B. Buchholz, L. J. Frederick and T. J. Armstrong, An investigation of human palmar skin friction and the effects of
    materials, pinch force and moisture, Ergonomics 31 (1988) 317-325: aluminium, two-finger pinches of 19.6 and 39.2 N, dry
    and moist together, 0.38 with a standard deviation of 0.13. The kit's fit comes from other people in another laboratory."""
    friction = holding.finger_friction(force=Q([19.6, 39.2], "N")).m
    assert ((friction > 0.38 - 0.13) & (friction < 0.38 + 0.13)).all()
    assert friction.mean() == pytest.approx(0.38, abs=0.05)


@pytest.mark.parametrize("diameter", [7, 10])
def test_fingers_that_turn_a_small_driver_as_hard_as_they_can(diameter):
    """Journal of Oral Implantology 35 (2009) no. 4, p. 185, abstract: 50 people, moist gloves, 11 to 38 N cm with a finger
    driver (its diameter, 7 to 10 mm, is from memory). Tip pinch of men 68.8 N, of women 48.0 N: C. W. Stegink Jansen and others,
    Journal of Hand Therapy 16 (2003) 326-336 (15.46 and 10.79 lb). Beyond the 40 N of the fit."""
    for pounds in (15.46, 10.79):
        force = Q(pounds, "lbf")
        with pytest.warns(OutOfRange):
            friction = holding.finger_friction(force=force)
        assert 11 < holding.pinch_torque(force=force, diameter=Q(diameter, "mm"), friction=friction).m_as("N*cm") < 38


@pytest.mark.parametrize("source, tight, friction, wrap, diameter, rate, power, print_", [
    ("example 11.5, p. 343", "9 kN", 0.25, "2.5 turn", "300 mm", "20 rpm", 2.772, 0.0005),
    ("example 11.4, p. 342", "2500 N", 0.25, "160 deg", "600 mm", "200 rpm", 7.89, 0.005)])
def test_drag_of_a_rope_or_belt_that_slips(source, tight, friction, wrap, diameter, rate, power, print_):
    """R. S. Khurmi and J. K. Gupta, Theory of Machines, as recalculated in the open companion: power at the point of slipping."""
    torque = holding.strap_torque(tension=tight, diameter=diameter, friction=friction, wrap=wrap)
    assert (torque * Q(rate)).m_as("kW*rad") == pytest.approx(power, abs=print_), source

