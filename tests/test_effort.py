"""kit.effort against independent routes, scaling laws and bad input."""
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

from kit import bow, effort
from kit.units import OutOfRange, Q

quick = settings(max_examples=60, deadline=None)

CALLS = {
    "endurance": {"share": 0.3, "joint": "grip"},
    "share_for": {"minutes": "4 min", "joint": "elbow"},
    "pinch_for": {"minutes": "4 min", "strength": "68.8 N"},
    "power": {"minutes": "30 min"},
    "one_arm_power": {"minutes": "30 min", "arms_share": 0.65, "one_arm_share": 0.58},
    "pull_limit": {"power": "36 W", "stroke_length": "0.45 m", "frequency": "60 1/min", "loaded_share": 0.5},
    "push_share": {"minutes": "3 min", "long_share": 0.65},
    "lean_push": {"weight": "686 N", "lean": "10 deg", "centre_height": "1 m", "pad_height": "1.25 m"},
}
CHECKS = CommonChecks(effort, CALLS, words=("joint",), other_unit={
    "min": "hour", "N": "lbf", "W": "N*m/min", "m": "inch", "1/min": "1/s", "deg": "turn"})
call = CHECKS.call
JOINTS = ("grip", "elbow", "shoulder")


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "endurance(share, joint='grip')", "share_for(minutes, joint='grip')", "pinch_for(minutes, strength)", "power(minutes)",
    "one_arm_power(minutes, arms_share, one_arm_share)", "pull_limit(power, stroke_length, frequency, loaded_share)",
    "push_share(minutes, long_share)", "lean_push(weight, lean, centre_height, pad_height)"])
def test_names_that_operations_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(effort, name))) == signature


@pytest.mark.parametrize("name", ["endurance", "share_for"])
@pytest.mark.parametrize("joint, said", [("elbows", "did you mean 'elbow'"), ("knee", "elbow"), (None, "grip"), (["grip"], "grip")])
def test_an_unknown_joint_is_answered_with_the_words(name, joint, said):
    with pytest.raises(ValueError, match=f"joint: unknown word .*{said}"):
        call(name, joint=joint)


@pytest.mark.parametrize("name, changed", [
    ("endurance", {"share": 0}), ("endurance", {"share": 1.01}), ("share_for", {"minutes": "0 min"}), ("power", {"minutes": "0 min"}),
    ("one_arm_power", {"arms_share": 0}), ("one_arm_power", {"one_arm_share": 1.1}), ("pull_limit", {"frequency": "0/min"}),
    ("pull_limit", {"loaded_share": 0}), ("push_share", {"long_share": 0}), ("lean_push", {"lean": "90 deg"}),
    ("lean_push", {"pad_height": "0 m"})])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


def test_a_turning_rate_is_no_stroke_rate():
    with pytest.raises(pint.DimensionalityError, match="'frequency'.*must not carry an angle"):
        call("pull_limit", frequency="60 rpm")


def test_a_mass_is_no_weight():
    with pytest.raises(pint.DimensionalityError, match="'weight'"):
        call("lean_push", weight="70 kg")


@pytest.mark.parametrize("name, changed, said", [
    ("endurance", {"share": 0.099}, "0.099 of the greatest force"), ("share_for", {"minutes": "50 min"}, "of the greatest force"),
    ("pinch_for", {"minutes": "24 min"}, "of the greatest force"), ("power", {"minutes": "3.9 min"}, "the work lasts 3.9 min.*4 to 480 min"),
    ("one_arm_power", {"minutes": "9 hour"}, "the work lasts 540 min"), ("push_share", {"minutes": "61 min"}, "the push lasts 61 min")])
def test_warnings_outside_the_ranges(name, changed, said):
    with pytest.warns(OutOfRange, match=said):
        call(name, **changed)


def test_no_warnings_inside_the_ranges():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        for joint, longest in (("grip", 22.7), ("elbow", 48.6), ("shoulder", 16.7)):
            effort.endurance(share=np.array([0.1, 1.0]), joint=joint)
            effort.share_for(minutes=Q([0.01, longest], "min"), joint=joint)
        effort.power(minutes=Q([4, 480], "min"))
        effort.push_share(minutes=Q([0.001, 60], "min"), long_share=0.5)


# Independent routes

@pytest.mark.parametrize("joint", JOINTS)
@pytest.mark.parametrize("minutes", [1, 5, 16])
def test_share_is_where_the_endurance_is_so_long(joint, minutes):
    share = scipy.optimize.brentq(lambda x: effort.endurance(share=x, joint=joint).m_as("min") - minutes, 0.1, 1)
    assert effort.share_for(minutes=Q(minutes, "min"), joint=joint).m == pytest.approx(share, rel=1e-9)


def test_pull_that_spends_the_power_over_the_strokes():
    """Twenty strokes followed in time: force along the way in the loaded half of each, nothing in the other."""
    pull = effort.pull_limit(power="36 W", stroke_length="0.45 m", frequency="60/min", loaded_share=0.5).m_as("N")
    time = np.linspace(0, 20, 200001)   # s, a stroke each
    speed = 0.45 / 2 * 2 * np.pi * np.cos(2 * np.pi * time)
    work = scipy.integrate.trapezoid(np.where(speed > 0, pull * speed, 0), time)
    assert work / 20 == pytest.approx(36, rel=1e-5)
    assert pull * bow.stroke(length="0.45 m", pulley_diameter="30 mm", frequency="60/min").mean_speed.m_as("m/s") / 2 == pytest.approx(36)


def test_lean_as_the_balance_of_moments_about_the_feet():
    along, pad, lean = 1.0 / np.cos(np.radians(10)), 1.25 / np.cos(np.radians(10)), np.radians(10)
    push = scipy.optimize.brentq(lambda f: 686 * along * np.sin(lean) - f * pad * np.cos(lean), 0, 686)
    assert call("lean_push")[0] == pytest.approx(push)


# Laws

minutes_ = st.floats(0.05, 60)


@quick
@given(st.sampled_from(JOINTS), st.floats(0.1, 1), st.floats(0.1, 1))
def test_a_greater_share_is_held_less_long(joint, one, other):
    low, high = sorted((one, other))
    times = [effort.endurance(share=x, joint=joint).m for x in (low, high)]
    assert times[0] >= times[1]
    assert effort.share_for(minutes=Q(times[0], "min"), joint=joint).m == pytest.approx(low)


@quick
@given(st.sampled_from(JOINTS), st.floats(0.001, 16), st.floats(1, 200))
def test_no_share_is_above_all(joint, minutes, strength):
    share = effort.share_for(minutes=Q(minutes, "min"), joint=joint).m
    assert 0.1 <= share <= 1
    pinch = effort.pinch_for(minutes=Q(minutes, "min"), strength=Q(strength, "N")).m_as("N")
    assert 0 < pinch <= strength
    if joint == "grip":
        assert pinch == pytest.approx(share * strength)


@quick
@given(minutes_, minutes_, st.floats(0.01, 1))
def test_a_push_falls_smoothly_from_all_to_what_is_kept_up(one, other, kept):
    early, late = (effort.push_share(minutes=Q(m, "min"), long_share=kept).m for m in sorted((one, other)))
    assert kept - 1e-12 <= late <= early <= 1
    assert effort.push_share(minutes=Q(0.1, "min"), long_share=kept).m == pytest.approx(1)
    assert effort.push_share(minutes=Q([10, 60], "min"), long_share=kept).m == pytest.approx(np.array([kept, kept]))
    assert effort.push_share(minutes="1 min", long_share=kept).m == pytest.approx((1 + kept) / 2)   # the middle in the logarithm


def test_the_push_has_no_corner_anywhere():
    time = np.logspace(-2, 2, 4001)
    with pytest.warns(OutOfRange):
        share = effort.push_share(minutes=Q(time, "min"), long_share=0.5).m
    slope = np.gradient(share, np.log(time))
    assert np.abs(np.diff(slope)).max() < 2e-3 * np.abs(slope).max() * 4


@quick
@given(st.floats(4, 480), st.floats(4, 480), st.floats(0.1, 1), st.floats(0.1, 1))
def test_power_falls_with_the_time_and_one_arm_gives_its_share(one, other, arms, single):
    early, late = (effort.power(minutes=Q(m, "min")).m for m in sorted((one, other)))
    assert early >= late > 0
    got = effort.one_arm_power(minutes=Q(max(one, other), "min"), arms_share=arms, one_arm_share=single).m
    assert got == pytest.approx(late * arms * single)


@quick
@given(st.floats(0.1, 10))
def test_pull_limit_laws(k):
    assert call("pull_limit", power=Q(36 * k, "W"))[0] == pytest.approx(k * call("pull_limit")[0])
    assert call("pull_limit", frequency=Q(60 * k, "1/min"))[0] == pytest.approx(call("pull_limit")[0] / k)
    assert call("lean_push", weight=Q(686 * k, "N"))[0] == pytest.approx(k * call("lean_push")[0])


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
def test_power_is_never_below_nothing():
    assert effort.power(minutes="10 day").m == 0
