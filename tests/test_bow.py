"""kit.bow against independent routes, scaling laws and bad input."""
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

from kit import bow
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)

# One honest call of every function, each physical argument given: the common checks below run over all of them.
CALLS = {
    "capstan_ratio": {"friction": 0.25, "wrap": "360 deg"},
    "cord_limit": {"rest_tension": "25 N", "friction": 0.25, "wrap": "360 deg"},
    "rest_tension_for": {"pull": "30 N", "friction": 0.25, "wrap": "360 deg", "safety": 1.3},
    "stroke": {"length": "0.45 m", "pulley_diameter": "0.03 m", "frequency": "60 1/min"},
    "turns_per_minute": {"length": "0.45 m", "pulley_diameter": "0.03 m", "frequency": "60 1/min", "duty": 0.48},
    "centre_torque": {"load": "50 N", "radius": "0.0015 m", "half_angle": "30 deg", "friction": 0.12,
                      "contact": "uniform wear", "inner_radius": "0.0005 m"},
    "hold_time": {"fraction": 0.5},
    "pull": {"minutes": "7 min", "one_minute": "70 N", "sustained": "28 N"},
    "spindle_torque": {"pull": "30 N", "pulley_diameter": "0.03 m", "centre_torque": "0.03 N*m"},
    "pull_for": {"torque": "0.4 N*m", "pulley_diameter": "0.03 m", "centre_torque": "0.03 N*m"},
}
CHECKS = CommonChecks(bow, CALLS, words=("contact",), other_unit={
    "m": "inch", "N": "lbf", "deg": "turn", "1/min": "1/s", "min": "hour", "N*m": "lbf*inch"})
call = CHECKS.call


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "capstan_ratio(friction, wrap)",
    "cord_limit(rest_tension, friction, wrap)",
    "stroke(length, pulley_diameter, frequency)",
    "centre_torque(load, radius, half_angle, friction, contact='uniform pressure', inner_radius='0 mm')",
    "hold_time(fraction)",
    "pull(minutes, one_minute, sustained)",
    "spindle_torque(pull, pulley_diameter, centre_torque='0 N*m')",
    "pull_for(torque, pulley_diameter, centre_torque='0 N*m')",
    "rest_tension_for(pull, friction, wrap, safety=1.0)",
    "turns_per_minute(length, pulley_diameter, frequency, duty=0.5)",
])
def test_names_that_notebooks_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(bow, name))) == signature


@pytest.mark.parametrize("name", CALLS)
def test_scalars_in_scalars_out(name):
    assert all(np.ndim(value) == 0 for value in call(name))


@pytest.mark.parametrize("name", ["stroke", "turns_per_minute"])
@pytest.mark.parametrize("rate", ["60 rpm", "1 turn/s", "6 rad/s"])
def test_a_turning_rate_is_refused_where_a_stroke_rate_is_due(name, rate):
    with pytest.raises(pint.DimensionalityError, match="'frequency'.*must not carry an angle"):
        call(name, frequency=rate)


def test_rates_leave_as_turns_so_that_rpm_is_right():
    result = bow.stroke(**CALLS["stroke"])
    turns_a_minute = result.turns.m_as("turn") * 2 * 60   # two ways of the bow a stroke
    assert result.mean_rate.m_as("rpm") == pytest.approx(turns_a_minute, rel=1e-12)


@pytest.mark.parametrize("word, meant", [("wear", "uniform wear"), ("uniform presure", "uniform pressure")])
def test_an_unknown_contact_is_answered_with_the_nearest(word, meant):
    with pytest.raises(ValueError, match=f"contact: unknown word '{word}'; did you mean '{meant}'"):
        call("centre_torque", contact=word)


def test_an_inner_radius_beyond_the_outer_is_refused():
    with pytest.raises(ValueError, match="inner_radius and radius contradict each other"):
        call("centre_torque", inner_radius="0.0016 m")


@pytest.mark.parametrize("name, changed", [
    ("hold_time", {"fraction": 0}), ("hold_time", {"fraction": 1.01}), ("turns_per_minute", {"duty": 1.1}),
    ("centre_torque", {"half_angle": "91 deg"}), ("centre_torque", {"half_angle": "0 deg"}),
    ("rest_tension_for", {"wrap": "0 deg"}), ("rest_tension_for", {"friction": 0}),
    ("stroke", {"pulley_diameter": "0 m"}), ("pull", {"minutes": "0 min"}), ("pull_for", {"pulley_diameter": "0 m"}),
])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


def test_hold_time_warns_where_the_curve_was_not_measured():
    with pytest.warns(OutOfRange, match="Rohmert"):
        bow.hold_time(fraction=0.19)
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        bow.hold_time(fraction=np.array([0.2, 1.0]))


# Independent routes

def test_capstan_ratio_is_the_integral_of_friction_along_the_arc():
    along = scipy.integrate.solve_ivp(lambda angle, tension: 0.25 * tension, (0, 3 * np.pi), [1.0], rtol=1e-9)
    assert bow.capstan_ratio(friction=0.25, wrap="1.5 turn").magnitude == pytest.approx(along.y[0, -1], rel=1e-6)


def test_cord_limit_is_where_the_two_runs_stand_in_the_capstan_ratio():
    ratio = bow.capstan_ratio(friction=0.25, wrap="200 deg").magnitude
    pull = scipy.optimize.brentq(lambda f: (25 + f / 2) - ratio * (25 - f / 2), 0, 50)
    assert bow.cord_limit(rest_tension="25 N", friction=0.25, wrap="200 deg").m_as("N") == pytest.approx(pull, rel=1e-9)


def test_stroke_against_a_sinusoid_followed_in_time():
    length, diameter, cycles = 0.45, 0.03, 1.0   # m, m, 1/s
    time = np.linspace(0, 1 / cycles, 200001)
    place = length / 2 * np.sin(2 * np.pi * cycles * time)
    path, speed = np.abs(np.diff(place)).sum(), np.abs(np.gradient(place, time))
    result = bow.stroke(length="0.45 m", pulley_diameter="30 mm", frequency="60/min")
    assert result.mean_speed.m_as("m/s") == pytest.approx(path * cycles, rel=1e-6)
    assert result.peak_speed.m_as("m/s") == pytest.approx(speed.max(), rel=1e-6)
    assert result.turns.m_as("turn") == pytest.approx(path / 2 / (np.pi * diameter), rel=1e-6)
    assert result.mean_rate.m_as("rad/s") == pytest.approx(path * cycles / (diameter / 2), rel=1e-6)
    assert result.peak_rate.m_as("rad/s") == pytest.approx(speed.max() / (diameter / 2), rel=1e-6)


def test_cutting_turns_of_a_minute_are_counted_stroke_by_stroke():
    one_way = bow.stroke(length="0.45 m", pulley_diameter="30 mm", frequency="60/min").turns.m_as("turn")
    counted = sum(one_way for _ in range(60))   # an edge that cuts on the pull only
    result = bow.turns_per_minute(length="0.45 m", pulley_diameter="30 mm", frequency="60/min")
    assert result.m_as("turn/min") == pytest.approx(counted, rel=1e-9)


@pytest.mark.parametrize("contact, pressure", [
    ("uniform pressure", lambda r: 50 / (np.pi * (1.5**2 - 0.5**2))),
    ("uniform wear", lambda r: 50 / (2 * np.pi * (1.5 - 0.5)) / r),   # pressure times radius is even
])
def test_centre_torque_is_the_friction_summed_over_the_cone(contact, pressure):
    # a ring of the cone has the area 2 pi r dr / sin(half angle); the pressure on it carries the load
    sine = np.sin(np.radians(30))
    carried = scipy.integrate.quad(lambda r: pressure(r) * 2 * np.pi * r, 0.5, 1.5)[0]
    moment = scipy.integrate.quad(lambda r: 0.12 * pressure(r) * 2 * np.pi * r / sine * r, 0.5, 1.5)[0]
    result = bow.centre_torque(load="50 N", radius="1.5 mm", inner_radius="0.5 mm", half_angle="30 deg", friction=0.12,
                               contact=contact)
    assert carried == pytest.approx(50, rel=1e-9)
    assert result.m_as("N*mm") == pytest.approx(moment, rel=1e-9)


@pytest.mark.parametrize("contact", bow.CONTACTS)
def test_a_narrow_ring_turns_at_its_radius(contact):
    result = bow.centre_torque(load="50 N", radius="1.5 mm", inner_radius="1.5 mm", half_angle="90 deg", friction=0.12,
                               contact=contact)
    assert result.m_as("N*mm") == pytest.approx(50 * 0.12 * 1.5, rel=1e-9)


@pytest.mark.parametrize("minutes, expected", [(0.2, 70), (1, 70), (np.sqrt(30), 49), (30, 28), (300, 28)])
def test_pull_goes_from_the_minute_to_the_half_hour(minutes, expected):   # sqrt(30) min lies halfway in the logarithm
    result = bow.pull(minutes=Q(minutes, "min"), one_minute="70 N", sustained="28 N")
    assert result.m_as("N") == pytest.approx(expected, rel=1e-12)


def test_a_pull_that_the_centres_eat_leaves_no_torque():
    torque = bow.spindle_torque(pull=Q([1.0, 2.0, 3.0], "N"), pulley_diameter="30 mm", centre_torque="0.03 N*m")
    assert torque.m_as("N*m") == pytest.approx([0, 0, 0.015], abs=1e-12)


# Scaling laws

frictions, wraps, pulls = st.floats(0.02, 0.6), st.floats(0.3, 25), st.floats(1, 200)


@quick
@given(friction=frictions, wrap=wraps, share=st.floats(0.05, 20))
def test_the_capstan_knows_only_friction_times_wrap(friction, wrap, share):
    one = bow.capstan_ratio(friction=friction, wrap=Q(wrap, "rad"))
    other = bow.capstan_ratio(friction=friction * share, wrap=Q(wrap / share, "rad"))
    assert one.magnitude == pytest.approx(other.magnitude, rel=1e-9)


@quick
@given(friction=frictions, first=wraps, second=wraps)
def test_wraps_one_after_another_multiply(friction, first, second):
    one, two, both = (bow.capstan_ratio(friction=friction, wrap=Q(w, "rad")).magnitude
                      for w in (first, second, first + second))
    assert both == pytest.approx(one * two, rel=1e-9)


@quick
@given(tension=st.floats(1, 200), friction=frictions, wrap=wraps, more=st.floats(1.05, 3))
def test_the_cord_carries_less_than_twice_its_rest_tension_and_more_with_more_wrap(tension, friction, wrap, more):
    one, two = (bow.cord_limit(rest_tension=Q(tension, "N"), friction=friction, wrap=Q(w, "rad")).m_as("N")
                for w in (wrap, wrap * more))
    assert 0 < one <= two <= 2 * tension
    if friction * wrap * more < 30:   # beyond, tanh is 1 to the last digit
        assert one < two < 2 * tension


@quick
@given(pull=pulls, friction=frictions, wrap=wraps, safety=st.floats(1, 2))
def test_rest_tension_for_undoes_cord_limit(pull, friction, wrap, safety):
    cord = {"friction": friction, "wrap": Q(wrap, "rad")}
    tension = bow.rest_tension_for(pull=Q(pull, "N"), safety=safety, **cord)
    assert bow.cord_limit(rest_tension=tension, **cord).m_as("N") == pytest.approx(safety * pull, rel=1e-9)


@quick
@given(torque=st.floats(0, 3), diameter=st.floats(5, 80), centres=st.floats(0, 0.2))
def test_pull_for_undoes_spindle_torque(torque, diameter, centres):
    drive = {"pulley_diameter": Q(diameter, "mm"), "centre_torque": Q(centres, "N*m")}
    needed = bow.pull_for(torque=Q(torque, "N*m"), **drive)
    assert bow.spindle_torque(pull=needed, **drive).m_as("N*m") == pytest.approx(torque, rel=1e-9, abs=1e-12)


@quick
@given(length=st.floats(0.1, 0.8), diameter=st.floats(8, 80), frequency=st.floats(20, 150), ratio=st.floats(1.1, 4))
def test_a_larger_pulley_turns_slower_and_the_cord_runs_the_same(length, diameter, frequency, ratio):
    small, large = (bow.stroke(length=Q(length, "m"), pulley_diameter=Q(d, "mm"), frequency=Q(frequency, "1/min"))
                    for d in (diameter, diameter * ratio))
    assert large.mean_speed.m_as("m/s") == pytest.approx(small.mean_speed.m_as("m/s"), rel=1e-9)
    for rate in ("turns", "mean_rate", "peak_rate"):
        assert getattr(large, rate).magnitude * ratio == pytest.approx(getattr(small, rate).magnitude, rel=1e-9)
    assert large.peak_rate / large.mean_rate == pytest.approx(np.pi / 2, rel=1e-9)


@quick
@given(inner=st.floats(0, 0.999))
def test_a_worn_centre_turns_easier_than_a_fitted_one(inner):
    ring = {"load": "50 N", "radius": "2 mm", "inner_radius": Q(2 * inner, "mm"), "half_angle": "30 deg",
            "friction": 0.1}
    worn, fitted = (bow.centre_torque(contact=c, **ring) for c in ("uniform wear", "uniform pressure"))
    assert 0.75 - 1e-9 <= (worn / fitted).magnitude < 1   # a full cone has exactly three quarters


@quick
@given(fraction=st.floats(0.2, 0.98), more=st.floats(0.005, 0.02))
def test_a_harder_pull_is_held_less_long(fraction, more):
    assert bow.hold_time(fraction=fraction + more) < bow.hold_time(fraction=fraction)


@quick
@given(minutes=st.floats(0.01, 600), more=st.floats(1, 10), one=st.floats(40, 110), sustained=st.floats(15, 39))
def test_pull_stays_between_its_two_figures_and_falls_with_time(minutes, more, one, sustained):
    arm = {"one_minute": Q(one, "N"), "sustained": Q(sustained, "N")}
    short, long = (bow.pull(minutes=Q(m, "min"), **arm).m_as("N") for m in (minutes, minutes * more))
    assert sustained - 1e-9 <= long <= short + 1e-9 <= one + 2e-9
