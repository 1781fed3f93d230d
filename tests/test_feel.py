"""kit.feel against independent routes, scaling laws and bad input."""
import inspect
import warnings

import numpy as np
import pint
import pytest
import scipy.integrate
import scipy.optimize
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import feel, pistons
from kit.units import OutOfRange, Q

quick = settings(max_examples=60, deadline=None)

PLUG = {"weight": "0.196 N", "diameter": "8 mm", "length": "20 mm", "travel": "30 mm", "viscosity": "1.81e-5 Pa*s", "eccentricity": 0.5}
CALLS = {
    "caliper_drag": {"weber": 0.07, "force": "1 N", "stiffness": "10 N/mm"},
    "caliper_rock": {"width": "1 mm", "diameter": "8 mm"},
    "plug_shake": {"threshold": "50 um", "arm": "200 mm", "length": "20 mm"},
    "fall_time": PLUG | {"radial_clearance": "15 um"},
    "clearance_from_fall": PLUG | {"time": "19.8 s"},
    "rolled_bow": {"light_gap": "8 um", "flat_error": "3 um"},
    "eccentricity_told": {"light_gap": "15 um", "lever": 5},
}
CHECKS = CommonChecks(feel, CALLS, other_unit={"mm": "inch", "um": "mm", "N": "gf", "s": "min", "Pa*s": "mPa*s", "N/mm": "lbf/inch"})
call = CHECKS.call


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "caliper_drag(weber, force, stiffness)", "caliper_rock(width, diameter)", "plug_shake(threshold, arm, length)",
    "fall_time(weight, diameter, length, radial_clearance, travel, viscosity, eccentricity=0)",
    "clearance_from_fall(weight, diameter, length, time, travel, viscosity, eccentricity=0)",
    "rolled_bow(light_gap, flat_error='0 um')", "eccentricity_told(light_gap, lever=1)"])
def test_names_that_operations_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(feel, name))) == signature


@pytest.mark.parametrize("name, changed", [
    ("caliper_drag", {"weber": 0}), ("caliper_drag", {"weber": 1}), ("caliper_drag", {"stiffness": "0 N/mm"}),
    ("caliper_rock", {"diameter": "0 mm"}), ("plug_shake", {"arm": "0 mm"}), ("fall_time", {"radial_clearance": "0 um"}),
    ("fall_time", {"eccentricity": 1.01}), ("fall_time", {"weight": "0 N"}), ("clearance_from_fall", {"time": "0 s"}),
    ("eccentricity_told", {"lever": 0}), ("rolled_bow", {"light_gap": "0 um"})])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


def test_a_mass_is_no_weight():
    with pytest.raises(pint.DimensionalityError, match="'weight'"):
        call("fall_time", weight="20 g")


def test_warnings_stand_at_the_ends_of_the_ranges():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        call("caliper_rock", width="2.4 mm")
        call("fall_time", radial_clearance="0.79 mm")
    with pytest.warns(OutOfRange, match="the swing is 0.31 of the diameter"):
        call("caliper_rock", width="2.5 mm")
    with pytest.warns(OutOfRange, match="of the radius; the formula for a narrow gap"):
        call("fall_time", radial_clearance="0.81 mm")
    with pytest.warns(OutOfRange, match="of the radius; the formula for a narrow gap"):
        call("clearance_from_fall", time="1 us")


# Independent routes

def rocked(width, bore):
    """Bore less gauge, exactly: a chord from one fixed point of the circle, its free end touching `width` apart."""
    angle = scipy.optimize.brentq(lambda a: bore * np.sin(2 * a) - width, 0, np.pi / 4)
    return bore * (1 - np.cos(angle))


@pytest.mark.parametrize("width, within", [(0.2, 0.001), (1, 0.005), (2.4, 0.031)])
def test_rock_against_the_chord_of_a_circle(width, within):
    exact = rocked(width, 8) * 1000
    got = feel.caliper_rock(width=Q(width, "mm"), diameter="8 mm").m_as("um")
    assert exact * (1 - within) < got < exact


def test_rock_is_three_percent_too_small_at_its_limit():
    got = feel.caliper_rock(width="2.4 mm", diameter="8 mm").m_as("um")
    assert got == pytest.approx(rocked(2.4, 8) * 1000 * 0.97, rel=0.002)


@pytest.mark.parametrize("eccentricity", [0, 0.4, 1])
@pytest.mark.parametrize("clearance", [3, 15, 50])
def test_a_falling_plug_displaces_what_leaks_past_it(clearance, eccentricity):
    plug = PLUG | {"eccentricity": eccentricity}
    face = np.pi / 4 * Q(8, "mm")**2
    leak = pistons.leak(diameter="8 mm", radial_clearance=Q(clearance, "um"), length="20 mm", pressure_drop=Q("0.196 N") / face,
                        viscosity=PLUG["viscosity"], eccentricity=eccentricity)
    time = feel.fall_time(**plug, radial_clearance=Q(clearance, "um"))
    assert time.m_as("s") == pytest.approx((Q("30 mm") / (leak / face)).m_as("s"), rel=1e-9)


def test_fall_by_the_slot_followed_round_the_plug():
    """Plane slot flow h^3 dp / (12 viscosity length) summed round an offset plug, the air closed in below."""
    clearance, offset, viscosity = 15e-6, 0.5, 1.81e-5
    pressure = 0.196 / (np.pi / 4 * 0.008**2)
    flow = scipy.integrate.quad(lambda a: (clearance * (1 + offset * np.cos(a)))**3 * pressure / (12 * viscosity * 0.02) * 0.004, 0, 2 * np.pi)[0]
    assert call("fall_time")[0] == pytest.approx(0.03 / (flow / (np.pi / 4 * 0.008**2)), rel=1e-9)


def test_air_that_slips_lets_the_plug_fall_faster_as_the_docstring_says():
    """First order: 1 + 6 Knudsen numbers, of the gap."""
    for gap, share in ((3e-6, 0.13), (10e-6, 0.04)):
        assert 6 * pistons.MEAN_FREE_PATH / 101325 / gap == pytest.approx(share, abs=0.005)


def test_shake_as_the_tilt_of_a_plug_between_two_corners():
    """A plug that touches at both ends of its length turns by clearance over length; the tip shows that at its arm."""
    told = call("plug_shake")[0] * 1e-3   # mm
    turned = scipy.optimize.brentq(lambda a: 8 * np.cos(a) + 20 * np.sin(a) - 8 - told, 0, 0.1)
    assert 200 * turned == pytest.approx(0.050, rel=1e-3)


def test_bow_of_a_rolled_tube_is_its_light():
    """A parabola of sagitta s on a flat, its ends down: light under the middle, s of it; its middle down: none."""
    x = np.linspace(-1, 1, 201)
    axis = 11 * (1 - x**2)
    for up, most in ((axis, 11), (-axis, 0)):
        ends_down = up - min(up[0], up[100])
        assert ends_down[100] == pytest.approx(most)
    assert call("rolled_bow")[0] == 11


def test_eccentricity_by_the_swing_of_the_surface():
    turn = np.linspace(0, 2 * np.pi, 361)
    offset = call("eccentricity_told")[0]
    assert 5 * np.ptp(offset * np.cos(turn)) == pytest.approx(15)


# Laws

clearances = st.floats(1, 100)


@quick
@given(clearances, st.floats(0, 1))
def test_the_clearance_comes_back_from_the_time(clearance, eccentricity):
    plug = PLUG | {"eccentricity": eccentricity}
    time = feel.fall_time(**plug, radial_clearance=Q(clearance, "um"))
    assert feel.clearance_from_fall(**plug, time=time).m_as("um") == pytest.approx(clearance)


@quick
@given(clearances, st.floats(0, 1))
def test_read_as_centred_a_clearance_is_too_large_by_up_to_its_bound(clearance, eccentricity):
    time = feel.fall_time(**PLUG | {"eccentricity": eccentricity}, radial_clearance=Q(clearance, "um"))
    read = feel.clearance_from_fall(**PLUG | {"eccentricity": 0}, time=time).m_as("um")
    assert clearance * (1 - 1e-9) <= read <= 2.5**(1 / 3) * clearance * (1 + 1e-9)
    assert 2.5**(1 / 3) == pytest.approx(1.36, abs=0.005)


@quick
@given(st.floats(0.5, 2))
def test_fall_laws(k):
    base = call("fall_time")[0]
    for name, given_, power in (("radial_clearance", 15, -3), ("diameter", 8, 3), ("length", 20, 1), ("travel", 30, 1)):
        unit = "um" if name == "radial_clearance" else "mm"
        assert call("fall_time", **{name: Q(given_ * k, unit)})[0] == pytest.approx(base * k**power)
    assert call("fall_time", weight=Q(0.196 * k, "N"))[0] == pytest.approx(base / k)


@quick
@given(st.floats(0.1, 10))
def test_told_laws(k):
    assert call("caliper_drag", stiffness=Q(10 * k, "N/mm"))[0] == pytest.approx(call("caliper_drag")[0] / k)
    assert call("plug_shake", arm=Q(200 * k, "mm"))[0] == pytest.approx(call("plug_shake")[0] / k)
    assert call("eccentricity_told", lever=5 * k)[0] == pytest.approx(call("eccentricity_told")[0] / k)
    assert call("caliper_rock", width=Q(0.2 * k, "mm"))[0] == pytest.approx(call("caliper_rock", width="0.2 mm")[0] * k**2)


def test_a_tenth_of_the_time_is_a_thirtieth_of_the_clearance():
    longer = call("clearance_from_fall", time=Q(19.8 * 1.1, "s"))[0]
    assert 1 - longer / call("clearance_from_fall")[0] == pytest.approx(1 / 30, rel=0.07)
