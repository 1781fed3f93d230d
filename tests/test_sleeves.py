"""kit.sleeves against independent routes, scaling laws and bad input."""
import inspect
import warnings
from dataclasses import fields, is_dataclass

import numpy as np
import pint
import pytest
import scipy.integrate
import scipy.optimize
import scipy.sparse
import scipy.sparse.linalg
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import lapping, sleeves
from kit.units import OutOfRange, Q, read

quick = settings(max_examples=60)

OIL = {"load": "0.5 N", "viscosity": "0.084 Pa*s", "radius": "0.004 m", "length": "0.006 m",
       "radial_clearance": "5e-5 m"}

# One honest call of every function, each physical argument given: the common checks below run over all of them.
CALLS = {
    "nest_count": {"arbor": "4 mm", "envelope": "10 mm", "wall": "0.5 mm", "clearance": "0.06 mm"},
    "nest_wall": {"arbor": "4 mm", "envelope": "10 mm", "count": 5, "clearance": "0.06 mm"},
    "boundary_torque": {"friction": 0.15, "radius": "4 mm", "load": "1 N"},
    "start_torque": {"friction": 0.15, "radius": "4 mm", "load": "1 N", "factor": 1.3},
    "film_torque": {"viscosity": "0.084 Pa*s", "rate": "0.1 rad/s", "radius": "0.004 m", "length": "0.03 m",
                    "radial_clearance": "3e-5 m"},
    "hersey": {"viscosity": "0.084 Pa*s", "rate": "0.1 turn/s", "load": "0.5 N", "radius": "0.004 m",
               "length": "0.006 m"},
    "film_ratio": {"film": "1.5 um", "roughness_a": "0.8 um", "roughness_b": "0.6 um"},
    "short_bearing": {**OIL, "rate": "0.6 rad/s"},
    "journal_bearing": {**OIL, "rate": "0.6 rad/s"},
    "crossover_rate": {**OIL, "ratio": 3, "roughness_a": "0.8 um", "roughness_b": "0.6 um"},
    "interface_torque": {**OIL, "friction": 0.1, "inner_rate": "0.1 rad/s", "outer_rate": "0.8 rad/s",
                         "roughness_a": "0.8 um", "roughness_b": "0.6 um"},
    "unbalance_torque": {"mass": "0.004 kg", "arm": "25 mm"},
    "tilt": {"clearance": "0.06 mm", "length": "30 mm", "diameter": "8 mm"},
    "jamming_arm": {"length": "30 mm", "friction": 0.15},
    "pointer_play": {"clearance": "0.06 mm", "length": "30 mm", "arm": "60 mm"},
    "wear_depth": {"specific_wear": "1e-5 mm^3/(N*m)", "load": "1 N", "turns": "5000 turn", "length": "30 mm"},
}
STACKS = {   # sleeves along the first axis
    "nest_diameters": {"arbor": "4 mm", "walls": "0.5 mm", "clearances": "0.06 mm"},
    "nest_clearances": {"arbor": "4 mm", "bores": "4.06 mm", "outsides": "5 mm"},
    "interface_loads": {"weights": "0.2 N"},
    "stack_torque": {"torques": "0.3 N*mm", "ratios": 0.5, "efficiency": 0.9, "meshes": 2, "arbor_ratio": 0.1},
    "input_torque": {"torques": "0.3 N*mm", "ratios": 0.5, "efficiency": 0.9, "meshes": 2},
    "stack_tilt": {"clearances": "0.06 mm", "lengths": "30 mm"},
    "stack_runout": {"clearances": "0.06 mm", "eccentricities": "0.02 mm"},
}
EVERY = CALLS | STACKS | {"regime": {"film_ratio": 1.5}, "olive_oil_viscosity": {"temperature": "20 degC"}}
ARGUMENTS = [(name, argument) for name, call in EVERY.items() for argument in call]
WITH_UNIT = [(n, a) for n, a in ARGUMENTS if isinstance(EVERY[n][a], str) and a != "temperature"]
SIGNED = {"inner_rate", "outer_rate", "ratios", "arbor_ratio", "temperature"}
ANSWERED = {("nest_diameters", "clearances"), ("input_torque", "torques")}   # in plain words; not counted
OTHER_UNIT = {"m": "inch", "mm": "inch", "um": "thou", "N": "lbf", "Pa*s": "poise", "rad/s": "rpm", "turn/s": "rad/s",
              "kg": "g", "N*mm": "lbf*inch", "turn": "deg", "mm^3/(N*m)": "1/GPa"}


def numbers(result):
    """Magnitudes of a result, whether one Quantity or several in a dataclass."""
    if is_dataclass(result):
        return [getattr(result, f.name).magnitude for f in fields(result)]
    return [getattr(result, "magnitude", result)]


def call(name, **changed):
    return numbers(getattr(sleeves, name)(**(EVERY[name] | changed)))


# Every function

def test_every_public_function_is_under_the_common_checks():
    own = {n for n, f in vars(sleeves).items()
           if inspect.isfunction(f) and f.__module__ == "kit.estimates.sleeves" and not n.startswith("_")}
    assert own == set(EVERY)


@pytest.mark.parametrize("signature", [
    "boundary_torque(friction, radius, load)",
    "film_torque(viscosity, rate, radius, length, radial_clearance)",
    "tilt(clearance, length, diameter=None)",
    "jamming_arm(length, friction)",
])
def test_names_that_notebooks_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(sleeves, name))) == signature


@pytest.mark.parametrize("name", [name for name in EVERY if name not in STACKS])
def test_scalars_in_scalars_out(name):
    assert all(np.ndim(value) == 0 for value in call(name))


@pytest.mark.parametrize("name, argument", [(n, a) for n, a in ARGUMENTS if n in CALLS and a != "count"])
def test_an_array_is_the_same_as_one_call_after_another(name, argument):
    given = CALLS[name][argument]
    several = np.array([0.9, 1.0, 1.1]) * (read(given) if isinstance(given, str) else given)
    single = [call(name, **{argument: one}) for one in several]
    together = call(name, **{argument: several})
    for place, values in enumerate(together):
        np.testing.assert_allclose(np.broadcast_to(values, 3), [s[place] for s in single], rtol=1e-12)


@pytest.mark.parametrize("name, argument", WITH_UNIT)
def test_the_unit_given_does_not_matter(name, argument):
    given = EVERY[name][argument]
    other = read(given).to(OTHER_UNIT[given.split(" ", 1)[1]])
    for found, expected in zip(call(name, **{argument: other}), call(name), strict=True):
        np.testing.assert_allclose(found, expected, rtol=1e-9)


@pytest.mark.parametrize("name, argument", WITH_UNIT)
def test_a_number_without_its_unit_is_refused(name, argument):
    with pytest.raises(TypeError, match=f"{argument}: .*has no unit"):
        call(name, **{argument: read(EVERY[name][argument]).magnitude})


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_a_wrong_dimension_is_refused(name, argument):
    with pytest.raises(pint.DimensionalityError, match=f"'{argument}'"):
        call(name, **{argument: "3 cd"})


@pytest.mark.parametrize("name, argument", [(n, a) for n, a in ARGUMENTS if a not in SIGNED and (n, a) not in ANSWERED])
def test_a_negative_value_is_refused(name, argument):
    given = EVERY[name][argument]
    with pytest.raises(ValueError, match=f"{argument}: .*makes no sense"):
        call(name, **{argument: -(read(given) if isinstance(given, str) else given)})


@pytest.mark.parametrize("name, argument", ARGUMENTS)
def test_a_missing_value_is_refused(name, argument):
    given = EVERY[name][argument]
    missing = Q(np.nan, read(given).units) if isinstance(given, str) else np.nan
    with pytest.raises(ValueError, match=f"{argument}: not a finite number"):
        call(name, **{argument: missing})


@pytest.mark.parametrize("name, argument", [
    ("film_torque", "rate"), ("hersey", "rate"), ("journal_bearing", "rate"), ("interface_torque", "outer_rate"),
])
def test_a_stroke_rate_is_refused_where_a_turning_rate_is_due(name, argument):
    with pytest.raises(pint.DimensionalityError, match=f"'{argument}'.*a turning rate or an angle must say so"):
        call(name, **{argument: "60/min"})


@pytest.mark.parametrize("name, changed", [
    ("film_torque", {"radial_clearance": "0 m"}), ("journal_bearing", {"radial_clearance": "0 m"}),
    ("jamming_arm", {"friction": 0}), ("jamming_arm", {"length": "0 mm"}), ("nest_count", {"wall": "0 mm"}),
    ("nest_wall", {"count": 0}), ("start_torque", {"factor": 0.9}), ("hersey", {"load": "0 N"}),
    ("input_torque", {"efficiency": 1.1}), ("stack_torque", {"efficiency": 0}), ("film_ratio", {"roughness_a": "0 um"}),
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
        if name == "nest_clearances" and not body:
            nest[argument] = nest[argument] + Q([[0.05], [1.1], [2.2]], "mm")
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


def test_nest_clearances_undo_nest_diameters():
    arbor, walls, plays = Q([4.0, 4.1], "mm"), Q([[0.5, 0.6], [0.4, 0.3]], "mm"), Q([[0.02, 0.03], [0, 0.05]], "mm")
    nest = sleeves.nest_diameters(arbor=arbor, walls=walls, clearances=plays)
    found = sleeves.nest_clearances(arbor=arbor, bores=nest.bores, outsides=nest.outsides)
    np.testing.assert_allclose(found.m_as("mm"), plays.m_as("mm"), atol=1e-12)


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
    (lambda: sleeves.nest_clearances(arbor="4 mm", bores=Q([4.02, 4.95], "mm"), outsides=Q([5, 6], "mm")),
     "sleeve 2 overlaps sleeve 1 by 0.0500 mm"),
    (lambda: sleeves.nest_clearances(arbor="4 mm", bores=Q([4.02, 6.0], "mm"), outsides=Q([5, 6], "mm")),
     "sleeve 2: bore 6.00 mm is not below outside 6.00 mm: no metal is left"),
])
def test_a_nest_that_cannot_be_is_refused_in_plain_words(call_, words):
    with pytest.raises(ValueError, match=words):
        call_()


# Film torque

def annulus_torque(viscosity, rate, radius, length, clearance):
    """Torque across the round gap: the same at every radius, 2 pi r^3 L mu d(omega)/dr. SI numbers."""
    slip = scipy.integrate.quad(lambda r: r**-3, radius, radius + clearance, epsrel=1e-12)[0]
    return 2 * np.pi * length * viscosity * rate / slip


@pytest.mark.parametrize("share", [1e-4, 0.01, 0.033])
def test_film_torque_against_the_round_gap(share):
    exact = annulus_torque(0.084, 10, 0.004, 0.03, share * 0.004)
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        found = sleeves.film_torque(viscosity="84 mPa*s", rate="10 rad/s", radius="4 mm", length="30 mm",
                                    radial_clearance=Q(share * 4, "mm")).m_as("N*m")
    assert exact / found == pytest.approx(1 + 1.5 * share, abs=share**2)
    outer, inner, gap = 4 * (1 + share), 4, 4 * share
    assert exact / found == pytest.approx(2 * gap * outer**2 / ((outer**2 - inner**2) * inner), rel=1e-9)


def test_a_wide_gap_warns():
    with pytest.warns(OutOfRange, match="radial clearance is 0.034 of the radius; .* at most 0.033"):
        sleeves.film_torque(viscosity="84 mPa*s", rate="10 rad/s", radius="100 mm", length="30 mm",
                            radial_clearance="3.4 mm")
    with pytest.warns(OutOfRange, match="a narrow gap"):
        call("interface_torque", radial_clearance="0.2 mm")


@quick
@given(radius=st.floats(1, 20), clearance=st.floats(1e-3, 0.02), factor=st.floats(1.01, 1.5), rate=st.floats(0, 100))
def test_film_torque_grows_with_the_cube_of_the_radius_and_falls_with_the_gap(radius, clearance, factor, rate):
    def torque(radius, clearance, rate):
        return sleeves.film_torque(viscosity="84 mPa*s", rate=Q(rate, "rpm"), radius=Q(radius, "mm"), length="30 mm",
                                   radial_clearance=Q(clearance, "mm")).m_as("N*mm")

    one = torque(radius, clearance, rate)
    assert torque(radius * factor, clearance, rate) == pytest.approx(one * factor**3, rel=1e-9)
    assert torque(radius, clearance * factor, rate) == pytest.approx(one / factor, rel=1e-9)
    assert torque(radius, clearance, rate * factor) == pytest.approx(one * factor, rel=1e-9)


def test_at_rest_the_film_holds_nothing_and_the_metals_touch():
    assert sleeves.film_torque(viscosity="84 mPa*s", rate="0 rpm", radius="4 mm", length="30 mm",
                               radial_clearance="20 um").magnitude == 0
    found = sleeves.interface_torque(**(CALLS["interface_torque"] | {"inner_rate": "0 rpm", "outer_rate": "0 rpm"}))
    assert found.film_ratio.magnitude == 0 and sleeves.regime(film_ratio=found.film_ratio) == "boundary"
    assert found.torque.m_as("N*mm") == pytest.approx(0.1 * 0.5 * 4, rel=1e-12) and found.film.magnitude == 0


def test_hersey_number_gives_petroffs_coefficient_of_friction():   # f = 2 pi^2 (mu N/P) (r/c)
    shared = {"viscosity": "84 mPa*s", "rate": "30 rpm", "radius": "4 mm", "length": "6 mm"}
    number = sleeves.hersey(load="2 N", **shared).m_as("")
    torque = sleeves.film_torque(radial_clearance="50 um", **shared).m_as("N*mm")
    assert torque / (2 * 4) == pytest.approx(2 * np.pi**2 * number * 4 / 0.05, rel=1e-12)


# How the journal floats

def reynolds_load(e, slender, around=180, along=24):
    """Load / (viscosity surface-speed length) * (c/r)^2 from Reynolds' equation in differences over half the length.

    The film breaks where its pressure would fall below nothing: nodes are let go and taken back until none changes.
    """
    angle = 2 * np.pi * np.arange(around) / around
    d, dz = angle[1], slender / 2 / along

    def gap(x):
        return 1 + e * np.cos(x)

    east, west, axial = gap(angle + d / 2)**3 / d**2, gap(angle - d / 2)**3 / d**2, gap(angle)**3 / dz**2
    size, at = around * along, np.arange(around * along).reshape(around, along)
    rows, columns, values = [], [], []
    for row, column, value in [
            (at, np.roll(at, -1, 0), east[:, None]), (at, np.roll(at, 1, 0), west[:, None]),
            (at, at, -(east + west + 2 * axial)[:, None]), (at[:, 1:], at[:, :-1], axial[:, None]),
            (at[:, :-1], at[:, 1:], axial[:, None] * np.where(np.arange(along - 1) == 0, 2, 1))]:   # mirrored half
        rows.append(row.ravel()), columns.append(column.ravel())
        values.append(np.broadcast_to(value, row.shape).ravel())
    matrix = scipy.sparse.csr_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))))
    drag = np.repeat(6 * (gap(angle + d / 2) - gap(angle - d / 2)) / d, along)
    wet, pressure = np.ones(size, bool), np.zeros(size)
    for _ in range(60):
        place = np.flatnonzero(wet)
        pressure[:] = 0
        pressure[place] = scipy.sparse.linalg.spsolve(matrix[place][:, place].tocsc(), drag[place])
        wants = np.where(wet, pressure >= 0, matrix @ pressure - drag > 1e-9 * np.abs(drag).max())
        if (wants == wet).all():
            break
        wet = wants
    pressure = pressure.reshape(around, along) * np.where(np.arange(along) == 0, 0.5, 1)
    along_line, across = (pressure * np.cos(angle)[:, None]).sum(), (pressure * np.sin(angle)[:, None]).sum()
    return np.hypot(along_line, across) * d * dz * 2 / slender


def bearing_at(function, length, load_number):
    """Journal under load_number * viscosity * speed * length * (r/c)^2: radius 10 mm, c 10 um, 1 Pa*s, 1 rad/s."""
    load = load_number * 1 * 0.010 * length * (0.010 / 1e-5)**2
    return function(load=Q(load, "N"), viscosity="1 Pa*s", rate="1 rad/s", radius="10 mm", length=Q(length, "m"),
                    radial_clearance="10 um")


def carried_at(function, e, slender, near):
    """Load at which the estimate has that eccentricity."""
    return scipy.optimize.brentq(
        lambda load: bearing_at(function, slender * 0.010, load).eccentricity.magnitude - e, near / 10, near * 10)


@pytest.mark.parametrize("slender, e", [
    (0.5, 0.4), (0.5, 0.9), (1, 0.1), (1, 0.9), (2, 0.1), (2, 0.8), (2, 0.97), (4, 0.1), (4, 0.9), (4, 0.97)])
def test_journal_bearing_against_reynolds_equation(slender, e):
    true = reynolds_load(e, slender)
    found = bearing_at(sleeves.journal_bearing, slender * 0.010, true).eccentricity.magnitude
    assert carried_at(sleeves.journal_bearing, e, slender, true) == pytest.approx(true, rel=0.16)
    assert 1 - found == pytest.approx(1 - e, rel=0.11)


@pytest.mark.parametrize("slender, factor", [(0.5, 1.4), (2, 6)])   # a quarter of the diameter, and all of it
def test_short_bearing_promises_too_much_by_what_its_description_says(slender, factor):
    true = reynolds_load(0.9, slender)
    assert carried_at(sleeves.short_bearing, 0.9, slender, true) / true == pytest.approx(factor, rel=0.06)


@pytest.mark.parametrize("slender", [0.02, 60])
def test_journal_bearing_between_its_two_limits(slender):
    """A very short one is Ocvirk's; a very long one is Sommerfeld's without suction, integrated here along the gap."""
    e, gap = 0.7, lambda x: 1 + 0.7 * np.cos(x)
    if slender < 1:   # p (r c^2/mu U) = 3 (L^2/4 - z^2) e sin/(1 + e cos)^3 where it presses; summed over z, L^3/6
        parts = [scipy.integrate.quad(lambda x: 3 * e * np.sin(x) / gap(x)**3 * f(x), 0, np.pi)[0]
                 for f in (np.cos, np.sin)]
        load = np.hypot(*parts) / 6 * slender**2
    else:   # dp/dx = 6 (h - h0)/h^3, h0 such that p comes back to where it was
        level = np.divide(*(scipy.integrate.quad(lambda x: gap(x)**-n, 0, 2 * np.pi)[0] for n in (2, 3)))
        line = np.linspace(0, np.pi, 20001)
        pressure = scipy.integrate.cumulative_simpson(-6 * (gap(line) - level) / gap(line)**3, x=line, initial=0)
        load = np.hypot(*(scipy.integrate.simpson(pressure * f(line), x=line) for f in (np.cos, np.sin)))
    found = bearing_at(sleeves.journal_bearing, slender * 0.010, load)
    assert found.eccentricity.magnitude == pytest.approx(e, rel=0.002)
    assert found.least_film.m_as("um") == pytest.approx(3, rel=0.005)


def test_short_bearing_against_its_own_pressure_summed_over_the_film():
    e = 0.85

    def pull(f):
        return scipy.integrate.dblquad(
            lambda z, x: 3 * e * np.sin(x) / (1 + e * np.cos(x))**3 * (0.5**2 - z**2) * f(x), 0, np.pi, -0.5, 0.5)[0]

    load = np.hypot(pull(np.cos), pull(np.sin))   # per viscosity, speed, L^3/c^2; here L = r = 10 mm
    found = bearing_at(sleeves.short_bearing, 0.010, load)
    assert found.eccentricity.magnitude == pytest.approx(e, rel=1e-8)
    assert found.least_film.m_as("um") == pytest.approx(1.5, rel=1e-7)


@quick
@given(exponent=st.floats(-6, 12), more=st.floats(1.01, 10), slender=st.floats(0.05, 2))
def test_a_heavier_load_sinks_deeper_down_to_the_thinnest_film(exponent, more, slender):
    light, heavy = (bearing_at(sleeves.journal_bearing, slender * 0.010, w).least_film.m_as("um")
                    for w in (10**exponent, 10**exponent * more))
    assert 0 < heavy < light <= 10
    short = bearing_at(sleeves.short_bearing, slender * 0.010, 10**exponent).least_film.m_as("um")
    assert short >= light * (1 - 1e-9)   # the ends drain both, the long way round drains only one
    if exponent > 8:   # there e is 1, and the film falls with the square root of the load
        deeper = bearing_at(sleeves.short_bearing, slender * 0.010, 10**exponent * 4).least_film.m_as("um")
        assert deeper == pytest.approx(short / 2, rel=1e-3)


def test_extremes_of_a_floating_journal():
    free = sleeves.journal_bearing(**(CALLS["journal_bearing"] | {"load": "0 N"}))
    assert free.eccentricity.magnitude == pytest.approx(0, abs=1e-12)
    assert free.least_film.m_as("um") == pytest.approx(50, rel=1e-12)
    for still in ({"rate": "0 rpm"}, {"viscosity": "0 Pa*s"}, {"rate": "0 rpm", "load": "0 N"}):
        for function in (sleeves.journal_bearing, sleeves.short_bearing):
            found = function(**(CALLS["journal_bearing"] | still))
            assert found.eccentricity.magnitude == 1 and found.least_film.magnitude == 0


def test_a_long_sleeve_warns_as_a_short_bearing_only():
    with pytest.warns(OutOfRange, match="sleeve is 1.5 diameters long; .* at most 1"):
        call("short_bearing", length="12 mm")
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        call("journal_bearing", length="12 mm")
        call("short_bearing", length="8 mm")


@quick
@given(ratio=st.floats(0.5, 5), load=st.floats(0.01, 20), clearance=st.floats(15, 60), length=st.floats(1, 40))
def test_at_the_crossover_rate_the_film_has_that_ratio(ratio, load, clearance, length):
    at = {"load": Q(load, "N"), "viscosity": "84 mPa*s", "radius": "4 mm", "length": Q(length, "mm"),
          "radial_clearance": Q(clearance, "um")}
    rough = {"roughness_a": "0.8 um", "roughness_b": "0.6 um"}
    rate = sleeves.crossover_rate(ratio=ratio, **rough, **at)
    film = sleeves.journal_bearing(rate=rate, **at).least_film
    assert sleeves.film_ratio(film=film, **rough).m_as("") == pytest.approx(ratio, rel=1e-6)


def test_no_rate_lifts_a_film_thicker_than_the_gap():
    rate = sleeves.crossover_rate(**(CALLS["crossover_rate"] | {"ratio": Q([3, 49.9, 50.1], "")}))   # 1 um each, 50 um
    assert np.isfinite(rate.magnitude).tolist() == [True, True, False]


@pytest.mark.parametrize("ratio, word", [
    (0, "boundary"), (0.99, "boundary"), (1, "mixed"), (3, "mixed"), (3.01, "film")])
def test_words_of_the_regimes(ratio, word):
    assert sleeves.regime(film_ratio=ratio) == word
    assert sleeves.regime(film_ratio=[0.1, ratio, 9]).tolist() == ["boundary", word, "film"]


# One interface

def interface(rate, **changed):
    still = CALLS["interface_torque"] | {"inner_rate": "0 rpm"} | changed
    return sleeves.interface_torque(outer_rate=rate, **{k: v for k, v in still.items() if k != "outer_rate"})


@pytest.mark.parametrize("ratio", [1, 3])
def test_the_regimes_join_without_a_step(ratio):
    rate = sleeves.crossover_rate(**(CALLS["crossover_rate"] | {"ratio": ratio}))
    below, above = interface(rate * (1 - 1e-7)), interface(rate * (1 + 1e-7))
    assert below.film_ratio.magnitude < ratio < above.film_ratio.magnitude
    assert below.torque.magnitude == pytest.approx(above.torque.magnitude, rel=1e-5)
    pure = below.boundary if ratio == 1 else above.film
    assert below.torque.magnitude == pytest.approx(pure.magnitude, rel=1e-5)


def test_halfway_in_the_logarithm_the_torque_is_the_geometric_mean():
    rate = sleeves.crossover_rate(**(CALLS["crossover_rate"] | {"ratio": np.sqrt(3)}))
    found = interface(rate)
    assert found.torque.magnitude == pytest.approx(np.sqrt(found.boundary.magnitude * found.film.magnitude), rel=1e-6)


def test_boundary_below_and_film_above():
    assert interface("1e-4 rpm").torque == interface("1e-4 rpm").boundary
    fast = interface("600 rpm")
    assert fast.film_ratio.magnitude > 3 and fast.torque == fast.film


def test_an_eccentric_film_drags_by_the_mean_of_one_over_the_gap():
    turning = {k: CALLS["journal_bearing"][k] for k in OIL} | {"rate": "60 rpm"}
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
    dry = {"friction": 0.2, "radius": "4 mm", "load": "1 N"}
    assert sleeves.boundary_torque(**dry).m_as("N*mm") == pytest.approx(0.8)
    assert sleeves.start_torque(**dry).m_as("N*mm") == pytest.approx(0.96)
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
    volume = specific.m_as("mm^3/(N*m)") * 1 * 5000 * np.pi * 0.008   # 1 N on 8 mm diameter
    found = sleeves.wear_depth(specific_wear=specific, load="1 N", turns="5000 turn", length="30 mm", worn=worn)
    assert found.m_as("mm") == pytest.approx(volume / area, rel=1e-9)


@pytest.mark.parametrize("word, meant", [("one sided", "one side"), ("round", "all round")])
def test_an_unknown_word_is_answered_with_the_nearest(word, meant):
    with pytest.raises(ValueError, match=f"worn: unknown word '{word}'; did you mean '{meant}'"):
        sleeves.wear_depth(**(CALLS["wear_depth"] | {"worn": word}))
