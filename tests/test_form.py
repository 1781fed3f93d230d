"""kit.form: other routes to the same numbers, scaling laws, limits and refusals."""
import inspect
import warnings

import numpy as np
import pytest
from common_checks import CommonChecks
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize

from kit import form, lapping
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)
LAP = {"pressure": "30 kPa", "bore": "10 mm", "length": "90 mm", "arbor_diameter": "8 mm", "modulus": "200 GPa"}
COVER = {"lap_length": "60 mm", "bore_length": "90 mm", "half_stroke": "35 mm"}
BORE = {"diameter": "8 mm", "bow": "7 um", "lobes": "4 um", "taper": "6 um"}
CALLS = {
    "seen_by_lap": {"bow": "7 um", "lap_length": "40 mm", "bore_length": "90 mm"},
    "lap_bend": LAP,
    "bow_left": {"bow": "7 um", "bend": "6 um"},
    "straightening_stock": {"bow": "7 um"},
    "lap_cover": COVER | {"motion": "harmonic"},
    "from_both_ends": {"offset": "0.2 mm", "exponent": 1.5},
    "error_copied": {"cutting_stiffness": "31 N/mm", "bar_stiffness": "240 N/mm"},
    "spring_cut": {"depth": "100 um", "cutting_stiffness": "31 N/mm", "work_stiffness": "240 N/mm", "cuts": 2},
    "inscribed_diameter": BORE,
    "circumscribed_diameter": BORE,
    "scratch_depth": {"grain": "15 um", "ratio": 110, "height": 6, "multiple": 1.2},
}
CHECKS = CommonChecks(
    form, CALLS, words=("motion",), one_by_one=lambda name, argument: argument != "cuts",
    other_unit={"mm": "inch", "um": "thou", "kPa": "psi", "GPa": "psi", "N/mm": "lbf/inch"})
call = CHECKS.call


def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "seen_by_lap(bow, lap_length, bore_length)", "lap_bend(pressure, bore, length, arbor_diameter, modulus)",
    "bow_left(bow, bend)", "straightening_stock(bow)",
    "lap_cover(lap_length, bore_length, half_stroke, motion='steady')", "from_both_ends(offset, exponent)",
    "error_copied(cutting_stiffness, bar_stiffness)",
    "inscribed_diameter(diameter, bow='0 um', lobes='0 um', taper='0 um')",
    "circumscribed_diameter(diameter, bow='0 um', lobes='0 um', taper='0 um')",
    "spring_cut(depth, cutting_stiffness, work_stiffness, cuts)",
    "scratch_depth(grain, ratio=100, height=6.5, multiple=1)"])
def test_names_that_operations_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(form, name))) == signature


# A lap and a bow

@quick
@given(st.floats(0.02, 1.0))
def test_what_a_straight_lap_spans_of_an_arc(share):
    """Sagitta of a chord of the same circle, without the parabola."""
    length, bow = 90.0, 0.05
    radius = (length**2 / 4 + bow**2) / (2 * bow)
    chord = share * length
    exact = radius - np.sqrt(radius**2 - chord**2 / 4)
    found = form.seen_by_lap(bow=Q(bow, "mm"), lap_length=Q(chord, "mm"), bore_length="90 mm").m_as("mm")
    assert found == pytest.approx(exact, rel=1e-4)


def test_a_lap_longer_than_the_bore_sees_the_whole_bow_and_no_more():
    assert call("seen_by_lap", lap_length="120 mm") == [7]


def test_the_bend_of_a_lap_by_its_differential_equation():
    """E I y'''' = q between two ends that turn freely, solved as a boundary value problem."""
    load, stiffness, length = 0.030 * 10, 200e3 * np.pi * 8**4 / 64, 90.0   # N/mm, N mm2, mm

    def slopes(x, y):
        return np.vstack([y[1], y[2], y[3], np.full_like(x, load / stiffness)])

    def ends(a, b):
        return np.array([a[0], a[2], b[0], b[2]])

    x = np.linspace(0, length, 21)
    solved = integrate.solve_bvp(slopes, ends, x, np.zeros((4, x.size)), tol=1e-9)
    assert solved.success
    assert form.lap_bend(**LAP).m_as("mm") == pytest.approx(solved.sol(length / 2)[0], rel=1e-6)


@pytest.mark.parametrize("changed, power", [
    ("pressure", 1), ("bore", 1), ("length", 4), ("modulus", -1), ("arbor_diameter", -4)])
def test_the_bend_of_a_lap_scales(changed, power):
    at = LAP | {"bore": "20 mm", "length": "180 mm"}
    magnitude, unit = at[changed].split()
    doubled = form.lap_bend(**at | {changed: Q(2 * float(magnitude), unit)}) / form.lap_bend(**at)
    assert doubled.m_as("") == pytest.approx(2.0**power, rel=1e-9)


def test_an_arbor_thicker_than_its_bore_is_refused_and_a_stubby_one_warns():
    with pytest.raises(ValueError, match="arbor_diameter and bore contradict each other.*0.5 mm thicker"):
        form.lap_bend(**LAP | {"arbor_diameter": Q([8, 10.5], "mm")})
    form.lap_bend(**LAP | {"arbor_diameter": Q(10, "mm").to("inch")})   # it may fill the bore, in any unit
    with pytest.warns(OutOfRange, match="arbor diameters long"):
        form.lap_bend(**LAP | {"length": "39 mm"})


@quick
@given(st.floats(0, 100), st.floats(0, 100))
def test_what_a_bending_lap_leaves_is_below_both_bow_and_bend(bow, bend):
    left = form.bow_left(bow=Q(bow, "um"), bend=Q(bend, "um")).m_as("um")
    assert 0 <= left <= min(bow, bend) * (1 + 1e-12)
    assert left == pytest.approx(form.bow_left(bow=Q(bend, "um"), bend=Q(bow, "um")).m_as("um"))


def test_limits_of_a_bending_lap():
    left = form.bow_left(bow=Q([7, 7, 7, 0, 0], "um"), bend=Q([0, 7, 1e9, 5, 0], "um")).m_as("um")
    assert left == pytest.approx([0, 3.5, 7, 0, 0])


# Cover

@quick
@given(st.floats(0.1, 2), st.floats(0.05, 1.5), st.sampled_from(form.MOTIONS))
def test_cover_is_that_of_a_lap_watched_through_a_stroke(lap, half_stroke, motion):
    time = (np.arange(200_000) + 0.5) / 200_000
    stand = half_stroke * (2 * time - 1 if motion == "steady" else np.sin(np.pi * (time - 0.5)))
    over_end, over_middle = (np.mean(np.abs(stand - place) <= lap / 2) for place in (0.5, 0))
    found = form.lap_cover(lap_length=Q(lap, "m"), bore_length="1 m", half_stroke=Q(half_stroke, "m"), motion=motion)
    assert found.m_as("") == pytest.approx(over_end / over_middle, abs=2e-3)


@quick
@given(st.floats(0.5, 2), st.floats(0.05, 1.5))
def test_even_cover_needs_a_lap_as_long_as_bore_and_stroke(lap, half_stroke):
    found = form.lap_cover(lap_length=Q(lap, "m"), bore_length="1 m", half_stroke=Q(half_stroke, "m")).m_as("")
    if lap >= 1 + 2 * half_stroke:
        assert found == pytest.approx(1)
    elif lap < 1 + 2 * half_stroke - 1e-9 and half_stroke <= (1 + lap) / 2:
        assert found < 1


def test_ends_that_the_lap_never_reaches_are_not_covered():
    assert call("lap_cover", half_stroke="14 mm") == [0]


def test_another_motion_is_answered_with_the_nearest():
    with pytest.raises(ValueError, match="motion: unknown word 'harmonics'; did you mean 'harmonic'"):
        form.lap_cover(**COVER | {"motion": "harmonics"})


# Copying

@quick
@given(st.floats(0.01, 1), st.floats(0.5, 3))
def test_boring_from_both_ends(offset, exponent):
    halves = form.from_both_ends(offset=Q(offset, "mm"), exponent=exponent)
    whole = offset * (np.array([0.5, 1.0])**exponent)   # the wander at half depth and at full depth
    assert halves.lean.m_as("mm") == pytest.approx(whole[0], rel=1e-9)


def test_the_step_is_the_root_mean_square_over_all_directions():
    angle = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    apart = np.hypot(1 - np.cos(angle), np.sin(angle))   # between two leans of 1 in any two directions
    halves = form.from_both_ends(offset="2 mm", exponent=1)
    assert halves.step.m_as("mm") == pytest.approx(np.sqrt(np.mean(apart**2)), rel=1e-9)


@quick
@given(st.floats(1, 500), st.floats(1, 5000), st.integers(0, 6))
def test_passes_over_springy_work(cutting, work, cuts):
    """Each pass in turn: force of the depth still left pushes the work away until force and spring agree."""
    left = 100.0
    for _ in range(cuts):
        left = optimize.brentq(lambda away, stood=left: cutting * (stood - away) - work * away, 0, left)
    stiffness = {"cutting_stiffness": Q(cutting, "N/mm")}
    found = form.spring_cut(depth="100 um", work_stiffness=Q(work, "N/mm"), cuts=cuts, **stiffness)
    assert found.m_as("um") == pytest.approx(left, rel=1e-6, abs=1e-9)
    copied = form.error_copied(bar_stiffness=Q(work, "N/mm"), **stiffness).m_as("")
    assert found.m_as("um") == pytest.approx(100 * copied**cuts, rel=1e-9)


def test_half_a_pass_is_refused():
    with pytest.raises(ValueError, match="cuts: must be whole numbers"):
        form.spring_cut(depth="100 um", cutting_stiffness="31 N/mm", work_stiffness="240 N/mm", cuts=[1, 1.5])


# What still passes

def searched(diameter, bow, lobes, taper, count=3, turn=0.0):
    """Diameter of the greatest straight cylinder in a bent, lobed, tapered bore, by linear programming.

    The axis may lie and lean anywhere (four unknowns); no point of the wall may come nearer to it than the radius. The
    errors are small against the radius, so a distance is its part along the wall's normal.
    """
    along = np.linspace(-1, 1, 101)
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    z, a = (grid.ravel() for grid in np.meshgrid(along, angle))
    wall = diameter / 2 + taper / 4 * z + lobes / 2 * np.cos(count * (a - turn))
    wall = wall + bow * (1 - z**2) * np.cos(a)
    rows = np.column_stack([np.cos(a), z * np.cos(a), np.sin(a), z * np.sin(a), np.ones_like(a)])
    result = optimize.linprog([0, 0, 0, 0, -1], A_ub=rows, b_ub=wall, bounds=[(None, None)] * 5, method="highs")
    assert result.success
    return 2 * result.x[4]


ERRORS = st.floats(0, 0.04)   # mm


def um(**errors):
    return {name: Q(value, "mm") for name, value in errors.items()}


@settings(max_examples=15, deadline=None)
@given(ERRORS, st.floats(0, 0.12))
@example(0.030, 0.105)   # a taper of 3.5 bows, and one of 4.5: on either side of where the small end begins to rule
@example(0.024, 0.108)
def test_a_plug_in_a_bent_cone_is_the_one_that_a_search_finds(bow, taper):
    found = form.inscribed_diameter(diameter="8 mm", **um(bow=bow, taper=taper)).m_as("mm")
    assert found == pytest.approx(searched(8, bow, 0, taper), abs=5e-5)   # the search stands at 101 places only


@pytest.mark.parametrize("count", [2, 3, 5])
def test_a_plug_in_a_straight_lobed_bore_is_the_one_that_a_search_finds(count):
    found = form.inscribed_diameter(diameter="8 mm", lobes="20 um").m_as("mm")
    assert found == pytest.approx(searched(8, 0, 0.020, 0, count), abs=1e-5)


@settings(max_examples=15, deadline=None)
@given(ERRORS, ERRORS, ERRORS, st.integers(2, 7), st.floats(0, 6.3))
def test_with_lobes_in_a_bent_bore_the_plug_is_a_lower_bound(bow, lobes, taper, count, turn):
    found = form.inscribed_diameter(diameter="8 mm", **um(bow=bow, lobes=lobes, taper=taper)).m_as("mm")
    best = searched(8, bow, lobes, taper, count, turn)
    assert found <= best + 5e-5
    assert best <= form.inscribed_diameter(diameter="8 mm", **um(bow=bow, taper=taper)).m_as("mm") + lobes + 5e-5


@quick
@given(ERRORS, ERRORS, ERRORS)
def test_ring_over_a_shaft_mirrors_plug_in_a_bore(bow, lobes, taper):
    errors = um(bow=bow, lobes=lobes, taper=taper)
    plug, ring = (find(diameter="8 mm", **errors).m_as("mm")
                  for find in (form.inscribed_diameter, form.circumscribed_diameter))
    assert (plug + ring) / 2 == pytest.approx(8, rel=1e-12) and plug <= 8 <= ring


@quick
@given(st.floats(0.001, 0.04), ERRORS, st.sampled_from(["bow", "lobes", "taper"]))
def test_more_of_any_error_never_lets_a_thicker_plug_pass(error, other, which):
    base = {"bow": other, "lobes": other, "taper": other}
    less, more = (form.inscribed_diameter(diameter="8 mm", **um(**base | {which: other + extra})).m_as("mm")
                  for extra in (0, error))
    assert more <= less + 1e-12


def test_a_perfect_bore_passes_its_own_size_and_form_errors_may_come_as_draws():
    assert form.inscribed_diameter(diameter="8 mm").m_as("mm") == 8
    drawn = form.inscribed_diameter(diameter="8 mm", bow=Q([0, 0, 5], "um"), taper=Q([0, 8, 20], "um")).m_as("mm")
    assert drawn == pytest.approx([8, 8 - 0.004, 8 - 0.010], rel=1e-12)   # at four bows both forms agree


def test_errors_larger_than_the_bore_are_refused():
    with pytest.raises(ValueError, match="exceed the diameter.*look to their units"):
        form.inscribed_diameter(diameter="8 mm", lobes="8 mm")


# Scratches

def test_scratches_are_the_roughness_of_lapping():
    found = form.scratch_depth(grain="12 um", ratio=80, height=5).m_as("um")
    assert found == pytest.approx(5 * lapping.roughness_from_grain(grain="12 um", ratio=80).m_as("um"), rel=1e-12)
    with pytest.warns(OutOfRange, match="times the roughness"):
        form.scratch_depth(grain="12 um", ratio=20)


def test_inside_their_range_all_are_silent():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        for name in CALLS:
            call(name)
