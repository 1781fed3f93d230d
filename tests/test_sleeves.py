"""kit.sleeves against independent routes, scaling laws and bad input."""
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

from kit import lapping, sleeves
from kit.units import OutOfRange, Q, read

quick = settings(max_examples=60)

OIL = {"load": "0.5 N", "viscosity": "0.084 Pa*s", "radius": "0.004 m", "length": "0.006 m",
       "radial_clearance": "5e-5 m"}
ROUGH = {"roughness_a": "0.8 um", "roughness_b": "0.6 um"}

# One honest call of every function, each physical argument given: the common checks below run over all of them.
CALLS = {
    "nest_count": {"arbor": "4 mm", "envelope": "10 mm", "wall": "0.5 mm", "clearance": "0.06 mm"},
    "nest_wall": {"arbor": "4 mm", "envelope": "10 mm", "count": 5, "clearance": "0.06 mm"},
    "boundary_torque": {"friction": 0.15, "radius": "4 mm", "load": "3 N"},
    "start_torque": {"friction": 0.15, "radius": "4 mm", "load": "3 N", "factor": 1.3},
    "interface_torque": {**OIL, **ROUGH, "friction": 0.1, "inner_rate": "0.1 rad/s", "outer_rate": "0.8 rad/s"},
    "unbalance_torque": {"mass": "0.004 kg", "arm": "25 mm"},
    "tilt": {"clearance": "0.06 mm", "length": "30 mm", "diameter": "8 mm"},
    "jamming_arm": {"length": "30 mm", "friction": 0.15},
    "pointer_play": {"clearance": "0.06 mm", "length": "30 mm", "arm": "60 mm"},
    "wear_depth": {"specific_wear": "1e-5 mm^3/(N*m)", "load": "3 N", "turns": "5000 turn", "length": "30 mm"},
}
STACKS = {   # sleeves along the first axis
    "nest_diameters": {"arbor": "4 mm", "walls": "0.5 mm", "clearances": "0.06 mm"},
    "interface_loads": {"weights": "0.2 N"},
    "stack_torque": {"torques": "0.3 N*mm", "ratios": 0.5, "efficiency": 0.9, "meshes": 2, "arbor_ratio": 0.1},
    "input_torque": {"torques": "0.3 N*mm", "ratios": 0.5, "efficiency": 0.9, "meshes": 2},
    "stack_tilt": {"clearances": "0.06 mm", "lengths": "30 mm"},
    "stack_runout": {"clearances": "0.06 mm", "eccentricities": "0.02 mm"},
}
EVERY = CALLS | STACKS | {"olive_oil_viscosity": {"temperature": "20 degC"}}
CHECKS = CommonChecks(
    sleeves, EVERY, words=("worn",), wrong="3 cd", offset=("temperature",),
    signed=("inner_rate", "outer_rate", "ratios", "arbor_ratio", "temperature",
            ("nest_diameters", "clearances"), ("input_torque", "torques")),   # told in plain words; not counted
    one_by_one=lambda name, argument: name in CALLS and argument != "count",
    other_unit={"m": "inch", "mm": "inch", "um": "thou", "N": "lbf", "Pa*s": "poise", "rad/s": "rpm", "kg": "g",
                "N*mm": "lbf*inch", "turn": "deg", "mm^3/(N*m)": "1/GPa"})
call = CHECKS.call


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", EVERY)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "boundary_torque(friction, radius, load)",
    "tilt(clearance, length, diameter=None)",
    "jamming_arm(length, friction)",
])
def test_names_that_notebooks_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(sleeves, name))) == signature


@pytest.mark.parametrize("name", [name for name in EVERY if name not in STACKS])
def test_scalars_in_scalars_out(name):
    assert all(np.ndim(value) == 0 for value in call(name))


def test_a_stroke_rate_is_refused_where_a_turning_rate_is_due():
    with pytest.raises(pint.DimensionalityError, match="'outer_rate'.*a turning rate or an angle must say so"):
        call("interface_torque", outer_rate="60/min")


@pytest.mark.parametrize("name, changed", [
    ("jamming_arm", {"friction": 0}), ("jamming_arm", {"length": "0 mm"}), ("nest_count", {"wall": "0 mm"}),
    ("nest_wall", {"count": 0}), ("start_torque", {"factor": 0.9}),
    ("input_torque", {"efficiency": 1.1}), ("stack_torque", {"efficiency": 0}),
    ("olive_oil_viscosity", {"temperature": "-25 degC"}), ("olive_oil_viscosity", {"temperature": "20 K"}),
])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


ONE_BODY = ("arbor", "arbor_ratio", "efficiency")


@pytest.mark.parametrize("fixed", ["none", "the bodies there are one of", "the sleeves", "one of the sleeves' values"])
@pytest.mark.parametrize("name", STACKS)
def test_a_column_of_draws_is_the_same_as_one_nest_after_another(name, fixed):
    rng, nest = np.random.default_rng(4), {}
    for place, (argument, value) in enumerate(STACKS[name].items()):
        value = read(value) if isinstance(value, str) else Q(value, "")
        body = argument in ONE_BODY
        still = fixed == ("the bodies there are one of" if body else "the sleeves") or (
            fixed.startswith("one") and not body and place == len(STACKS[name]) - 1)
        size = (() if body else (3, 1)) if still else (4,) if body else (3, 4)
        nest[argument] = value * rng.uniform(0.99, 1.0, size)
        if still and not body:
            nest[argument] = nest[argument][:, 0]
    sole = [{a: v[..., i] if v.ndim == (1 if a in ONE_BODY else 2) else v for a, v in nest.items()} for i in range(4)]
    single = [call(name, **one) for one in sole]
    for place, values in enumerate(call(name, **nest)):
        expected = np.stack([s[place] for s in single], -1)
        np.testing.assert_allclose(np.broadcast_to(np.reshape(values, np.shape(values) + (1,) * (
            expected.ndim - np.ndim(values))), expected.shape), expected, rtol=1e-12)


# The nest

lengths, plays = st.floats(0.1, 3), st.floats(0, 0.2)


@quick
@given(arbor=st.floats(1, 20), room=st.floats(0.1, 30), wall=lengths, clearance=plays)
def test_nest_count_is_sleeves_put_on_one_by_one(arbor, room, wall, clearance):
    outside, counted = arbor, 0
    while outside + clearance + 2 * wall <= (arbor + room) * (1 + 1e-12):
        outside, counted = outside + clearance + 2 * wall, counted + 1
    found = sleeves.nest_count(arbor=Q(arbor, "mm"), envelope=Q(arbor + room, "mm"), wall=Q(wall, "mm"),
                               clearance=Q(clearance, "mm"))
    assert found.m_as("") == counted


@pytest.mark.parametrize("count", range(1, 40))
def test_as_many_sleeves_as_just_fit_are_counted(count):   # 0.1 has no exact binary form
    found = sleeves.nest_count(arbor="4 mm", envelope=Q(4 + count * 0.3, "mm"), wall="0.1 mm", clearance="0.1 mm")
    assert found.m_as("") == count


@quick
@given(arbor=st.floats(1, 20), room=st.floats(5, 30), count=st.integers(1, 12), clearance=plays)
def test_nest_wall_fills_the_envelope(arbor, room, count, clearance):
    nest = {"arbor": Q(arbor, "mm"), "envelope": Q(arbor + room, "mm"), "clearance": Q(clearance, "mm")}
    wall = sleeves.nest_wall(count=count, **nest)
    assert sleeves.nest_count(wall=wall, **nest).m_as("") == count
    made = sleeves.nest_diameters(arbor=nest["arbor"], walls=Q(np.full(count, wall.m_as("mm")), "mm"),
                                  clearances=nest["clearance"])
    assert made.outsides[-1].m_as("mm") == pytest.approx(arbor + room, rel=1e-12)


def test_nest_diameters_are_worked_out_from_the_inside():
    nest = sleeves.nest_diameters(arbor="4 mm", walls=Q([0.5, 0.4, 0.3], "mm"), clearances=Q([0.02, 0.03, 0.04], "mm"))
    assert nest.bores.m_as("mm") == pytest.approx([4.02, 5.05, 5.89])
    assert nest.outsides.m_as("mm") == pytest.approx([5.02, 5.85, 6.49])


def test_nest_diameters_of_draws():
    arbor, walls, plays = np.array([4.0, 4.1]), np.array([[0.5, 0.6], [0.4, 0.3]]), np.array([[0.02, 0.03], [0, 0.05]])
    nest = sleeves.nest_diameters(arbor=Q(arbor, "mm"), walls=Q(walls, "mm"), clearances=Q(plays, "mm"))
    bores, outsides = nest.bores.m_as("mm"), nest.outsides.m_as("mm")
    np.testing.assert_allclose(bores - [arbor, outsides[0]], plays, atol=1e-12)   # on what each turns on
    np.testing.assert_allclose((outsides - bores) / 2, walls, atol=1e-12)


@pytest.mark.parametrize("call_, words", [
    (lambda: sleeves.nest_count(arbor="10 mm", envelope="9 mm", wall="0.5 mm", clearance="0 mm"),
     "arbor 10.0 mm leaves no room in an envelope of 9.00 mm"),
    (lambda: sleeves.nest_wall(arbor="4 mm", envelope=Q([10, 4], "mm"), count=2, clearance="0 mm"),
     "arbor 4.00 mm leaves no room in an envelope of 4.00 mm"),
    (lambda: sleeves.nest_wall(arbor="4 mm", envelope="5 mm", count=10, clearance="0.1 mm"),
     "10.0 clearances of 0.100 mm alone fill the room from 4.00 to 5.00 mm: the sleeves would overlap; take fewer"),
    (lambda: sleeves.nest_wall(arbor="4 mm", envelope="10 mm", count=2.5, clearance="0.1 mm"),
     "count: must be a whole number, not 2.50"),
    (lambda: sleeves.nest_diameters(arbor="4 mm", walls=Q([0.5, 0.5], "mm"), clearances=Q([0.02, -0.01], "mm")),
     "sleeve 2 overlaps sleeve 1 by 0.0100 mm on diameter; give it a wider bore"),
    (lambda: sleeves.nest_diameters(arbor="4 mm", walls="0.5 mm", clearances="-0.01 mm"),
     "sleeve 1 overlaps the arbor by 0.0100 mm"),
])
def test_a_nest_that_cannot_be_is_refused_in_plain_words(call_, words):
    with pytest.raises(ValueError, match=words):
        call_()


# One interface

def test_at_rest_the_metals_touch():
    found = sleeves.interface_torque(**(CALLS["interface_torque"] | {"inner_rate": "0 rpm", "outer_rate": "0 rpm"}))
    assert found.film_ratio.magnitude == 0 and sleeves.regime(film_ratio=found.film_ratio) == "boundary"
    assert found.torque.m_as("N*mm") == pytest.approx(0.1 * 0.5 * 4, rel=1e-12) and found.film.magnitude == 0


def test_a_wide_gap_warns():
    with pytest.warns(OutOfRange, match="a narrow gap"):
        call("interface_torque", radial_clearance="0.2 mm")


def interface(rate, **changed):
    still = CALLS["interface_torque"] | {"inner_rate": "0 rpm"} | changed
    return sleeves.interface_torque(outer_rate=rate, **{k: v for k, v in still.items() if k != "outer_rate"})


@pytest.mark.parametrize("ratio", [1, 3])
def test_the_regimes_join_without_a_step(ratio):
    rate = sleeves.crossover_rate(ratio=ratio, **OIL, **ROUGH)
    below, above = interface(rate * (1 - 1e-7)), interface(rate * (1 + 1e-7))
    assert below.film_ratio.magnitude < ratio < above.film_ratio.magnitude
    assert below.torque.magnitude == pytest.approx(above.torque.magnitude, rel=1e-5)
    pure = below.boundary if ratio == 1 else above.film
    assert below.torque.magnitude == pytest.approx(pure.magnitude, rel=1e-5)


def test_halfway_in_the_logarithm_the_torque_is_the_geometric_mean():
    rate = sleeves.crossover_rate(ratio=np.sqrt(3), **OIL, **ROUGH)
    found = interface(rate)
    assert found.torque.magnitude == pytest.approx(np.sqrt(found.boundary.magnitude * found.film.magnitude), rel=1e-6)


def test_boundary_below_and_film_above():
    assert interface("1e-4 rpm").torque == interface("1e-4 rpm").boundary
    fast = interface("600 rpm")
    assert fast.film_ratio.magnitude > 3 and fast.torque == fast.film


def test_an_eccentric_film_drags_by_the_mean_of_one_over_the_gap():
    turning = OIL | {"rate": "60 rpm"}
    e = sleeves.journal_bearing(**turning).eccentricity.magnitude
    mean = scipy.integrate.quad(lambda x: 1 / (1 + e * np.cos(x)), 0, 2 * np.pi)[0] / (2 * np.pi)
    centred = sleeves.film_torque(**{k: v for k, v in turning.items() if k != "load"})
    assert 0.5 < e < 0.9 and mean > 1.2
    assert interface("60 rpm").film.m_as("N*mm") == pytest.approx(centred.m_as("N*mm") * mean, rel=1e-9)


def test_neighbours_that_turn_against_each_other_draw_in_no_oil():
    against = interface("60 rpm", inner_rate="-60 rpm")
    assert against.film_ratio.magnitude == 0 and against.torque == against.boundary
    alike = interface("60 rpm", inner_rate="60 rpm")
    assert alike.film.magnitude == 0
    assert alike.film_ratio.magnitude == pytest.approx(interface("120 rpm").film_ratio.magnitude, rel=1e-12)
    backward, forward = interface("-20 rpm", inner_rate="-50 rpm"), interface("20 rpm", inner_rate="50 rpm")
    assert backward.torque.magnitude == pytest.approx(forward.torque.magnitude, rel=1e-12)


# Cold oil

def test_temperatures_are_read_as_they_are_written():
    found = sleeves.olive_oil_viscosity(temperature="20 degC").m_as("mPa*s")
    for same in (Q(20, "degC"), Q(293.15, "K"), "68 degF"):
        assert sleeves.olive_oil_viscosity(temperature=same).m_as("mPa*s") == pytest.approx(found, rel=1e-12)
    with pytest.raises(pint.DimensionalityError):
        sleeves.olive_oil_viscosity(temperature="20 delta_degC")
    with pytest.raises(TypeError, match="temperature: 20 has no unit"):
        sleeves.olive_oil_viscosity(temperature=20)


def test_oil_stiffens_in_the_cold_and_clouds_below_twelve_degrees():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        warm = sleeves.olive_oil_viscosity(temperature=Q(np.arange(12.0, 71), "degC")).magnitude
    assert np.all(np.diff(warm) < 0)
    for outside in ("11.9 degC", "71 degC"):
        with pytest.warns(OutOfRange, match="12 to 70 °C .below that it clouds"):
            sleeves.olive_oil_viscosity(temperature=outside)


# The stack

def test_each_interface_carries_what_lies_outside_it():
    found = sleeves.interface_loads(weights=Q([0.1, 0.2, 0.4], "N"))
    assert found.m_as("N") == pytest.approx([0.7, 0.6, 0.4])


rates = st.lists(st.floats(-2, 2), min_size=1, max_size=6)


@quick
@given(ratios=rates, arbor=st.floats(-1, 1), seed=st.integers(0, 99))
def test_what_the_sleeves_are_given_is_what_rubbing_eats(ratios, arbor, seed):
    """Power: all drives together, the arbor's with them, equal friction torque times rate of rubbing."""
    torques = np.random.default_rng(seed).uniform(0, 3, len(ratios))
    found = sleeves.stack_torque(torques=Q(torques, "N*mm"), ratios=ratios, efficiency=1, meshes=1, arbor_ratio=arbor)
    rubbing = np.diff([arbor, *ratios])
    arbor_drive = torques[0] * np.sign(arbor - ratios[0]) * arbor
    given_ = np.sum(found.sleeves.m_as("N*mm") * np.abs(ratios)) + arbor_drive
    assert given_ == pytest.approx(np.sum(torques * np.abs(rubbing)), abs=1e-9)
    assert found.input.m_as("N*mm") >= given_ - arbor_drive - 1e-9   # help is not counted


def test_contrary_neighbours_add_and_like_ones_relieve():
    torques, mesh = Q([1.0, 0.6, 0.2], "N*mm"), {"efficiency": 1, "meshes": 0}
    contrary = sleeves.stack_torque(torques=torques, ratios=[1, -1, 1], **mesh)
    assert contrary.sleeves.m_as("N*mm") == pytest.approx([1.6, 0.8, 0.2])
    outrun = sleeves.stack_torque(torques=torques, ratios=[1, 2, 3], **mesh)   # the next drags each along
    assert outrun.sleeves.m_as("N*mm") == pytest.approx([0.4, 0.4, 0.2])
    assert outrun.input.m_as("N*mm") == pytest.approx(0.4 + 2 * 0.4 + 3 * 0.2)
    dragged = sleeves.stack_torque(torques=Q([0.2, 1.0], "N*mm"), ratios=[1, 2], **mesh)
    assert dragged.sleeves.m_as("N*mm") == pytest.approx([-0.8, 1.0])
    assert dragged.input.m_as("N*mm") == pytest.approx(2.0)   # not 1.2: a train driven backwards helps little


def test_a_standing_sleeve_and_one_that_goes_with_its_neighbour():
    found = sleeves.stack_torque(torques=Q([1.0, 0.6, 0.2], "N*mm"), ratios=[0, 1, 1], efficiency=1, meshes=0)
    assert found.sleeves.m_as("N*mm") == pytest.approx([0, 0.6, 0])
    turning_arbor = sleeves.stack_torque(torques=Q([1.0], "N*mm"), ratios=[1], arbor_ratio=1, efficiency=1, meshes=0)
    assert turning_arbor.input.m_as("N*mm") == 0


def test_each_mesh_on_the_way_takes_its_share():
    lossless = sleeves.stack_torque(torques=Q([1.0, 0.6], "N*mm"), ratios=[1, -0.5], efficiency=1, meshes=2)
    found = sleeves.stack_torque(torques=Q([1.0, 0.6], "N*mm"), ratios=[1, -0.5], efficiency=0.9, meshes=[2, 3])
    parts = lossless.sleeves.m_as("N*mm") * [1, 0.5]
    assert found.input.m_as("N*mm") == pytest.approx(parts[0] / 0.9**2 + parts[1] / 0.9**3, rel=1e-12)
    assert sleeves.input_torque(torques=lossless.sleeves, ratios=[1, -0.5], efficiency=0.9, meshes=[2, 3]).m_as(
        "N*mm") == pytest.approx(found.input.m_as("N*mm"), rel=1e-12)


def test_starting_takes_more_than_turning():
    dry = {"friction": 0.2, "radius": "4 mm", "load": "3 N"}
    assert sleeves.boundary_torque(**dry).m_as("N*mm") == pytest.approx(2.4)
    assert sleeves.start_torque(**dry).m_as("N*mm") == pytest.approx(2.88)
    assert sleeves.start_torque(factor=1, **dry) == sleeves.boundary_torque(**dry)


def test_a_pointer_out_of_balance_outweighs_the_friction_of_its_sleeve():
    """A strip of bronze 60 x 3 x 0.8 mm on one side, summed along its length."""
    line = np.linspace(0, 0.06, 10001)
    moment = scipy.integrate.simpson(8800 * 0.003 * 0.0008 * 9.80665 * line, x=line) * 1e3   # N*mm
    mass = 8800 * 0.06 * 0.003 * 0.0008
    found = sleeves.unbalance_torque(mass=Q(mass, "kg"), arm="30 mm")
    assert found.m_as("N*mm") == pytest.approx(moment, rel=1e-9)
    assert found > sleeves.boundary_torque(friction=0.2, radius="4 mm", load="0.1 N")


# Tilt, jamming, play

@pytest.mark.parametrize("clearance, length, diameter", [(0.06, 30, 8), (0.5, 10, 8), (1, 5, 8), (2, 9, 8), (0, 3, 8)])
def test_tilt_is_where_the_corners_of_a_plug_touch(clearance, length, diameter):
    def over(angle):
        return length * np.sin(angle) + diameter * np.cos(angle) - diameter - clearance

    true = scipy.optimize.brentq(over, 0, np.arctan2(length, diameter))
    found = sleeves.tilt(clearance=Q(clearance, "mm"), length=Q(length, "mm"), diameter=Q(diameter, "mm"))
    assert found.m_as("rad") == pytest.approx(true, abs=1e-11)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OutOfRange)
        assert found >= sleeves.tilt(clearance=Q(clearance, "mm"), length=Q(length, "mm"))


def test_tilt_of_a_loose_part():
    with pytest.raises(ValueError, match="3.00 mm does not guide a part of 8.00 mm diameter and 7.00 mm length"):
        sleeves.tilt(clearance="3 mm", length="7 mm", diameter="8 mm")
    with pytest.warns(OutOfRange, match="tilt is 101 mrad; .* at most 100 mrad"):
        sleeves.tilt(clearance="1.01 mm", length="10 mm")


@quick
@given(length=st.floats(1, 100), friction=st.floats(0.02, 1.2), share=st.floats(0.05, 3))
def test_a_push_beyond_the_jamming_arm_meets_more_friction_than_it_gives(length, friction, share):
    arm = share * sleeves.jamming_arm(length=Q(length, "mm"), friction=friction).m_as("mm")
    # push 1 N: two equal corner contacts hold its moment, both rub; friction of both sides cancels about the axis
    contact = np.linalg.solve([[1, -1], [length / 2, length / 2]], [0, 1 * arm])
    assert (friction * contact.sum() < 1) == (share < 1) or share == pytest.approx(1)


@quick
@given(length=st.floats(1, 100), friction=st.floats(0.02, 1.2), more=st.floats(1.01, 3))
def test_longer_and_smoother_sleeves_jam_later(length, friction, more):
    def arm(length, friction):
        return sleeves.jamming_arm(length=Q(length, "mm"), friction=friction)

    assert arm(length * more, friction) > arm(length, friction) > arm(length, friction * more)


def test_a_drawer_pushed_at_its_edge_jams_below_friction_times_its_width():
    width, friction = 300, 0.4
    arm = sleeves.jamming_arm(length=Q(friction * width, "mm"), friction=friction)
    assert arm.m_as("mm") == pytest.approx(width / 2)


def test_pointer_play_is_the_tip_of_a_shaft_leaning_from_stop_to_stop():
    clearance, length, arm = 0.06, 30, 60
    ends = np.array([(a, b) for a in (-1, 1) for b in (-1, 1)]) * clearance / 2   # of the axis, at the guide's ends
    tip = ends.mean(axis=1) + (ends[:, 1] - ends[:, 0]) / length * arm
    found = sleeves.pointer_play(clearance="0.06 mm", length="30 mm", arm="60 mm").m_as("mm")
    assert found == pytest.approx(tip.max()) and -found == pytest.approx(tip.min())
    lean = sleeves.tilt(clearance="0.06 mm", length="30 mm")
    assert found == pytest.approx(lean.m_as("rad") * arm)


def test_likely_play_of_a_stack_against_many_stacks():
    rng, n = np.random.default_rng(7), 200_000
    plays, long, offsets = np.array([0.06, 0.05, 0.04]), np.array([30, 40, 50]), np.array([0.03, 0.01, 0.02])
    leans = (rng.uniform(-1, 1, (n, 3)) * plays / long).sum(axis=1) * 1e3
    found = sleeves.stack_tilt(clearances=Q(plays, "mm"), lengths=Q(long, "mm"))
    assert found.likely.m_as("mrad") == pytest.approx(leans.std(), rel=0.01)
    assert found.worst.m_as("mrad") == pytest.approx((plays / long).sum() * 1e3)
    assert np.abs(leans).max() <= found.worst.m_as("mrad")
    run = (rng.uniform(-1, 1, (n, 3)) * plays / 2 + offsets * np.cos(rng.uniform(0, 2 * np.pi, (n, 3)))).sum(axis=1)
    found = sleeves.stack_runout(clearances=Q(plays, "mm"), eccentricities=Q(offsets, "mm"))
    assert found.likely.m_as("mm") == pytest.approx(run.std(), rel=0.01)
    assert found.worst.m_as("mm") == pytest.approx(0.075 + 0.06)
    assert np.abs(run).max() <= found.worst.m_as("mm")


# Wear

@pytest.mark.parametrize("worn, area", [("all round", np.pi * 8 * 30), ("one side", 8 * 30)])
def test_wear_is_the_worn_volume_over_the_area(worn, area):
    specific = lapping.specific_wear(coefficient=2e-3, hardness="100 HV")
    volume = specific.m_as("mm^3/(N*m)") * 3 * 5000 * np.pi * 0.008   # 3 N on 8 mm diameter
    found = sleeves.wear_depth(specific_wear=specific, load="3 N", turns="5000 turn", length="30 mm", worn=worn)
    assert found.m_as("mm") == pytest.approx(volume / area, rel=1e-9)


@pytest.mark.parametrize("word, meant", [("one sided", "one side"), ("round", "all round")])
def test_an_unknown_word_is_answered_with_the_nearest(word, meant):
    with pytest.raises(ValueError, match=f"worn: unknown word '{word}'; did you mean '{meant}'"):
        sleeves.wear_depth(**(CALLS["wear_depth"] | {"worn": word}))
