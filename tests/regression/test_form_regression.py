"""kit.form: values worked out by ourselves. They show that a result has moved and are no evidence."""
import pytest

from kit import form
from kit.units import Q


@pytest.mark.parametrize("share, seen", [(0.25, 6), (0.33, 11), (0.5, 25), (0.67, 45), (1, 100)])
def test_bow_under_a_short_lap(share, seen):
    found = form.seen_by_lap(bow="100 um", lap_length=Q(share, "m"), bore_length="1 m").m_as("um")
    assert found == pytest.approx(seen, abs=0.5)


@pytest.mark.parametrize("arbor, modulus, bend", [(6, 200, 20), (8, 200, 6.4), (8, 110, 11.6), (10, 200, 2.6)])
def test_bend_of_a_lap(arbor, modulus, bend):
    # 30 kPa on one side of a bore of 10 mm, 90 mm long; steel 200 GPa, copper alloy 110
    found = form.lap_bend(pressure="30 kPa", bore="10 mm", length="90 mm", arbor_diameter=Q(arbor, "mm"),
                          modulus=Q(modulus, "GPa"))
    assert found.m_as("um") == pytest.approx(bend, rel=0.01)


@pytest.mark.parametrize("lap, half_stroke, motion, cover", [
    (1.5, 0.25, "steady", 1.00), (1, 0.33, "steady", 0.5), (0.67, 0.39, "steady", 0.34),
    (0.67, 0.39, "harmonic", 0.55)])
def test_ends_over_middle(lap, half_stroke, motion, cover):
    found = form.lap_cover(lap_length=Q(lap, "m"), bore_length="1 m", half_stroke=Q(half_stroke, "m"), motion=motion)
    assert found.m_as("") == pytest.approx(cover, abs=0.005)


@pytest.mark.parametrize("exponent, lean, step", [(1, 0.5, 0.71), (2, 0.25, 0.35)])
def test_both_ends(exponent, lean, step):
    halves = form.from_both_ends(offset="1 mm", exponent=exponent)
    assert halves.lean.m_as("mm") == pytest.approx(lean) and halves.step.m_as("mm") == pytest.approx(step, abs=0.005)


@pytest.mark.parametrize("stiffness, left", [(1.12, (2.7, 0.08)), (0.241, (11.5, 1.3, 0.15)), (0.037, (46, 21, 9.8))])
def test_spring_cuts(stiffness, left):
    # steel arbors 8 x 120, 8 x 200 and 5 x 200 mm; 1800 MPa, feed 0.05 mm, radial share 0.35: 31.5 N/mm
    for cuts, percent in enumerate(left, 1):
        found = form.spring_cut(depth="100 um", cutting_stiffness="31.5 N/mm", work_stiffness=Q(stiffness, "N/um"),
                                cuts=cuts)
        assert found.m_as("um") == pytest.approx(percent, rel=0.07)


def test_a_lap_that_bends_as_much_as_the_bow_takes_half_of_it():
    assert form.bow_left(bow="7 um", bend="7 um").m_as("um") == pytest.approx(3.5)


def test_beam_under_an_even_load():
    # R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), table A-9, simple
    # supports, uniform load: y = 5 w l^4 / (384 E I) (from memory). A shaft of 1 in, 30 in long, 30 Mpsi, 10 lb a
    # inch:
    inertia = 3.14159265 / 64
    expected = 5 * 10 * 30**4 / (384 * 30e6 * inertia)
    found = form.lap_bend(pressure="10 psi", bore="1 inch", length="30 inch", arbor_diameter="1 inch",
                          modulus=Q(30e6, "psi"))
    assert found.m_as("inch") == pytest.approx(expected, rel=1e-6)
