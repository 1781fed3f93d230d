"""kit.edges: other routes to the same numbers, scaling laws, limits and refusals."""
import inspect
import warnings

import numpy as np
import pytest
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import edges
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)
WEAR = {"coefficient": 5e-7, "work_hardness": "230 HV", "tool_hardness": "550 HV"}
PECKS = {"depth": "90 mm", "diameter": "5 mm", "first": 4, "then": 1}
CALLS = {
    "cut_length": {"diameter": "8 mm", "turns": "300 turn"},
    "recession": WEAR | {"cut_length": "60 m"},
    "length_to_stone": WEAR | {"allowed": "10 um"},
    "wear_from_land": {key: value for key, value in WEAR.items() if key != "coefficient"} | {
        "land": "0.1 mm", "clearance_angle": "8 deg", "cut_length": "30 m"},
    "regrinds": {"cut_length": "300 m", "length_to_stone": "80 m"},
    "reamer_shrinkage": {"stoned": "30 um", "clearance_angle": "6 deg", "margin": "10 um"},
    "broach_shrinkage": {"stoned": "10 um", "sides": 5},
    "bit_stonings": {"spare": "25 um", "stoned": "2 um"},
    "pecks": PECKS,
    "peck_minutes": PECKS | {"clear_time": "12 s", "speed": "50 mm/s"},
}
CHECKS = CommonChecks(edges, CALLS, other_unit={
    "mm": "inch", "m": "ft", "um": "thou", "HV": "GPa", "turn": "rad", "deg": "rad", "s": "min", "mm/s": "inch/min"})
call = CHECKS.call


def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "cut_length(diameter, turns)", "recession(coefficient, cut_length, work_hardness, tool_hardness)",
    "length_to_stone(coefficient, allowed, work_hardness, tool_hardness)",
    "wear_from_land(land, clearance_angle, cut_length, work_hardness, tool_hardness)", "regrinds(cut_length, length_to_stone)",
    "reamer_shrinkage(stoned, clearance_angle, margin='0 mm')", "broach_shrinkage(stoned, sides)",
    "bit_stonings(spare, stoned)", "pecks(depth, diameter, first, then)",
    "peck_minutes(depth, diameter, first, then, clear_time, speed)"])
def test_names_that_operations_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(edges, name))) == signature


# Wear

@quick
@given(st.floats(0.1, 10), st.floats(1, 4))
def test_an_edge_recedes_with_the_length_and_with_the_hardness_of_what_it_cuts(times, harder):
    base = edges.recession(cut_length="50 m", **WEAR).m_as("um")
    assert edges.recession(cut_length=Q(50 * times, "m"), **WEAR).m_as("um") == pytest.approx(base * times, rel=1e-9)
    hard = WEAR | {"tool_hardness": Q(550 * harder, "HV")}
    assert edges.recession(cut_length="50 m", **hard).m_as("um") == pytest.approx(base / harder, rel=1e-9)


@quick
@given(st.floats(1e-8, 1e-5), st.floats(100, 300), st.floats(450, 900), st.floats(1, 50))
def test_the_length_to_stone_wears_the_edge_by_what_is_allowed(coefficient, work, tool, allowed):
    wear = {"coefficient": coefficient, "work_hardness": Q(work, "HV"), "tool_hardness": Q(tool, "HV")}
    length = edges.length_to_stone(allowed=Q(allowed, "um"), **wear)
    assert edges.recession(cut_length=length, **wear).m_as("um") == pytest.approx(allowed, rel=1e-9)
    assert edges.regrinds(cut_length=3.5 * length, length_to_stone=length).m_as("") == pytest.approx(3.5, rel=1e-9)


def test_wear_summed_turn_by_turn_over_a_reamed_hole():
    """Archard's law by hand: each mm of edge presses with the chip's hardness on a land that grows as it wears off."""
    K, work, tool = 5e-7, 230 * 9.80665e6, 550 * 9.80665e6   # Pa
    land, worn = 20e-6, 0.0                                  # of any width: it drops out
    for _ in range(1000):
        volume_per_width = K * (work * land) * (np.pi * 8e-3) / tool   # K W s / H for each metre of edge
        worn += volume_per_width / land
        land += 1e-9
    found = edges.recession(cut_length=edges.cut_length(diameter="8 mm", turns="1000 turn"), **WEAR)
    assert found.m_as("m") == pytest.approx(worn, rel=1e-9)


@pytest.mark.parametrize("tool, warns", [("321 HV", True), ("322.1 HV", False)])   # 1.4 times 230
@pytest.mark.parametrize("name", ["recession", "length_to_stone"])
def test_an_edge_too_soft_to_keep_its_shape_warns(name, tool, warns):
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        call(name, tool_hardness=tool)
    assert [w.category for w in caught] == [OutOfRange] * warns
    assert not warns or "times as hard as the chip" in str(caught[0].message)


def test_a_cut_of_no_length_wears_nothing_and_asks_for_no_sharpening():
    assert call("recession", cut_length="0 m") == [0] and call("regrinds", cut_length="0 m") == [0]


# Size

def test_a_reamer_keeps_its_size_while_it_has_a_margin():
    stoned = Q([0, 5, 150, 160], "um")
    lost = edges.reamer_shrinkage(stoned=stoned, clearance_angle="6 deg", margin="0.15 mm").m_as("um")
    assert lost == pytest.approx([0, 0, 0, 2 * 10 * np.tan(np.radians(6))])


def test_the_corners_of_a_stoned_polygon():
    """The corner is where two flats meet: both moved in by s, found as a crossing of two lines."""
    for sides in (3, 4, 5, 6, 8):
        half = np.pi / sides
        apothem, s = 2.0 * np.cos(half), 0.01
        normals = np.array([[np.cos(half), np.sin(half)], [np.cos(-half), np.sin(-half)]])
        corner = np.linalg.norm(np.linalg.solve(normals, [apothem - s] * 2))
        lost = edges.broach_shrinkage(stoned="10 um", sides=sides).m_as("mm")
        assert lost == pytest.approx(2 * (2.0 - corner), rel=1e-9)


def test_a_clearance_of_none_loses_nothing():
    assert edges.reamer_shrinkage(stoned="1 mm", clearance_angle="0 deg").m_as("um") == 0


# Pecks

def counted(depth, diameter, first, then):
    """Depths at which the drill is drawn out, one after another."""
    z, out = first * diameter, []
    while z < depth - 1e-9 * depth:
        out.append(z)
        z += then * diameter
    return out


@quick
@given(st.floats(5, 200), st.floats(2, 12), st.floats(0.5, 10), st.floats(0.3, 4))
def test_pecks_are_those_counted_one_by_one(depth, diameter, first, then):
    out = counted(depth, diameter, first, then)
    hole = {"depth": Q(depth, "mm"), "diameter": Q(diameter, "mm"), "first": first, "then": then}
    assert edges.pecks(**hole).m_as("") == len(out)
    lost = edges.peck_minutes(clear_time="12 s", speed="50 mm/s", **hole).m_as("s")
    assert lost == pytest.approx(sum(12 + 2 * z / 50 for z in out), rel=1e-6)


@pytest.mark.parametrize("depth", ["20 mm", "19 mm", "0.1 mm"])
def test_a_shallow_hole_is_never_cleared(depth):
    assert call("pecks", depth=depth) == [0] and call("peck_minutes", depth=depth) == [0]


def test_a_step_that_fits_exactly_is_counted_once():
    for depth in np.linspace(30, 130, 21):   # 4 diameters of 5 mm, then steps of 5 mm: no half hair decides
        hole = PECKS | {"depth": Q(depth, "mm").to("inch")}
        assert edges.pecks(**hole).m_as("") == (depth - 20) / 5


@pytest.mark.parametrize("name, changed", [
    ("pecks", {"then": 0}), ("peck_minutes", {"speed": "0 mm/s"}), ("length_to_stone", {"coefficient": 0}),
    ("broach_shrinkage", {"sides": 2}), ("reamer_shrinkage", {"clearance_angle": "90 deg"}),
    ("bit_stonings", {"stoned": "0 um"}), ("recession", {"tool_hardness": "0 HV"})])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


def test_the_coefficient_from_a_land_wears_the_edge_back_to_that_land():
    """A land of 0.1 mm at 8 degrees is a recession of 0.1 sin 8 = 13.9 um, as the sheet of the edge has it."""
    way = edges.cut_length(diameter="4 mm", turns="2400 turn")
    hard = {"work_hardness": "230 HV", "tool_hardness": "550 HV"}
    found = edges.wear_from_land(land="0.1 mm", clearance_angle="8 deg", cut_length=way, **hard)
    assert edges.recession(coefficient=found, cut_length=way, **hard).m_as("um") == pytest.approx(13.917, abs=0.001)
