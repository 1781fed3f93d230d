"""kit.holding: values worked out by ourselves, to show that a result has moved; no evidence that it was right."""
import numpy as np
import pytest

from kit import holding
from kit.units import OutOfRange, Q

SIZES = np.array([4, 6, 8, 10, 12, 16, 20])   # mm


def test_fit_gives_back_what_it_was_fitted_to():
    """N. J. Seo and T. J. Armstrong, Ergonomics 52 (2009) 609-616, abstract: mean 0.6 on aluminium, 46 % less at 20 N than at 1 N."""
    friction = holding.finger_friction(force=Q([1, 10, 20], "N")).m
    assert friction.mean() == pytest.approx(0.6, abs=0.005) and 1 - friction[2] / friction[0] == pytest.approx(0.46, abs=0.005)


@pytest.mark.parametrize("force, table", [
    (68.8, [96, 144, 192, 240, 288, 384, 480]), (48.0, [72, 108, 144, 180, 216, 288, 360]),
    (20, [36, 54, 72, 90, 108, 144, 180]), (10, [21, 31, 41, 52, 62, 83, 104])])
@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
def test_dry_pinch(force, table):
    friction = holding.finger_friction(force=Q(force, "N"))
    got = holding.pinch_torque(force=Q(force, "N"), diameter=Q(SIZES, "mm"), friction=friction).m_as("N*mm")
    assert got == pytest.approx(np.array(table), rel=0.007, abs=0.6)   # the first row worked out with 24.0 N


def test_oiled_pinch():
    got = holding.pinch_torque(force="20 N", diameter=Q(SIZES, "mm"), friction=0.15).m_as("N*mm")
    assert got == pytest.approx(np.array([12, 18, 24, 30, 36, 48, 60]))


@pytest.mark.parametrize("friction, table", [
    (0.56, [194, 291, 388, 485, 582, 776, 970]), (0.23, [153, 229, 306, 382, 459, 611, 764]),
    (0.15, [122, 183, 244, 305, 366, 488, 610])])
def test_leather_strap_of_one_turn(friction, table):
    got = holding.strap_torque(tension="100 N", diameter=Q(SIZES, "mm"), friction=friction, wrap="1 turn").m_as("N*mm")
    assert got == pytest.approx(np.array(table), abs=0.6)


@pytest.mark.parametrize("friction, table", [(0.4, [503, 754, 1005, 1257, 1508, 2011, 2513]),
                                             (0.15, [188, 283, 377, 471, 565, 754, 942])])
def test_fitted_wooden_clamp(friction, table):
    got = holding.clamp_torque(force="200 N", diameter=Q(SIZES, "mm"), friction=friction, kind="split block").m_as("N*mm")
    assert got == pytest.approx(np.array(table), abs=0.6)


@pytest.mark.parametrize("stretch, held, torque, push, stress", [
    (2, 4, 0.060, 15, (50, 25, 10)), (3, 6, 0.136, 34, (75, 38, 15)), (5, 10, 0.377, 94, (125, 63, 25)),
    (8, 16, 0.965, 241, (200, 100, 40))])
def test_arbor_of_one_in_two_thousand(stretch, held, torque, push, stress):
    arbor = {"stretch": Q(stretch, "um"), "taper": "0.5 mm/m"}
    got = holding.arbor_torque(**arbor, wall="0.4 mm", modulus="100 GPa", friction=0.12, length="60 mm")
    assert holding.arbor_taper_left(**arbor).m_as("mm") == pytest.approx(held)
    assert got.m_as("N*m") == pytest.approx(torque, abs=0.0005)
    assert holding.arbor_push(torque=got, diameter="8 mm").m_as("N") == pytest.approx(push, abs=0.5)
    for diameter, hoop in zip((4, 8, 20), stress):
        limit = holding.arbor_stretch_limit(diameter=Q(diameter, "mm"), yield_strength=Q(hoop, "MPa"), modulus="100 GPa")
        assert limit.m_as("um") == pytest.approx(stretch, rel=0.02)


def test_cement_creep_and_chuck():
    film = {"shear_strength": "0.3 MPa", "diameter": "8 mm", "length": "20 mm"}
    assert holding.cement_torque(**film).m_as("N*m") == pytest.approx(0.60, abs=0.005)
    assert holding.cement_push(**film).m_as("N") == pytest.approx(151, abs=0.5)
    assert holding.cement_creep(shear_stress="50 kPa", film="0.2 mm", viscosity="1e9 Pa*s").m_as("um/min") == pytest.approx(0.6)
    assert holding.split_chuck_force(push="100 N", cone_angle="3 deg", friction_angle="15 deg").m_as("N") == pytest.approx(308, abs=0.5)


def test_stress_under_a_strap():
    assert holding.strap_stress(tension="100 N", width="20 mm", wall="0.4 mm").m_as("MPa") == pytest.approx(12.5)


def test_pinch_that_a_lapping_torque_asks():
    """0.062 N m on 6 mm at a friction of 0.5 asks 21 N."""
    got = holding.pinch_torque(force="20.7 N", diameter="6 mm", friction=0.5).m_as("N*mm")
    assert got == pytest.approx(62, abs=0.5)
    with pytest.warns(OutOfRange):
        holding.finger_friction(force="70 N")
