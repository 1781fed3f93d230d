"""kit.lubrication against independent routes, scaling laws and bad input."""
import inspect
import warnings

import numpy as np
import pint
import pytest
import scipy.integrate
import scipy.optimize
import scipy.sparse
import scipy.sparse.linalg
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import lubrication, sleeves
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)

OIL = {"load": "0.5 N", "viscosity": "0.084 Pa*s", "radius": "0.004 m", "length": "0.006 m",
       "radial_clearance": "5e-5 m"}

# One honest call of every function, each physical argument given: the common checks below run over all of them.
CALLS = {
    "film_torque": {"viscosity": "0.084 Pa*s", "rate": "0.1 rad/s", "radius": "0.004 m", "length": "0.03 m",
                    "radial_clearance": "3e-5 m"},
    "hersey": {"viscosity": "0.084 Pa*s", "rate": "0.1 turn/s", "load": "0.5 N", "radius": "0.004 m",
               "length": "0.006 m"},
    "film_ratio": {"film": "1.5 um", "roughness_a": "0.8 um", "roughness_b": "0.6 um"},
    "short_bearing": {**OIL, "rate": "0.6 rad/s"},
    "journal_bearing": {**OIL, "rate": "0.6 rad/s"},
    "crossover_rate": {**OIL, "ratio": 3, "roughness_a": "0.8 um", "roughness_b": "0.6 um"},
    "regime": {"film_ratio": 1.5},
}
PLAIN = ["floating", "sheared"]   # of plain numbers, for estimates that build on them
CHECKS = CommonChecks(
    lubrication, CALLS, wrong="3 cd", one_by_one=lambda name, argument: name != "regime",
    other_unit={"m": "inch", "um": "thou", "N": "lbf", "Pa*s": "poise", "rad/s": "rpm", "turn/s": "rad/s"})
call = CHECKS.call


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == PLAIN


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("name", CALLS)
def test_they_are_known_as_those_of_the_sleeves_too(name):
    assert getattr(sleeves, name) is getattr(lubrication, name)


def test_names_that_notebooks_lean_on():
    assert str(inspect.signature(sleeves.film_torque)) == "(viscosity, rate, radius, length, radial_clearance)"


@pytest.mark.parametrize("name", CALLS)
def test_scalars_in_scalars_out(name):
    assert all(np.ndim(value) == 0 for value in call(name))


@pytest.mark.parametrize("name", ["film_torque", "hersey", "journal_bearing"])
def test_a_stroke_rate_is_refused_where_a_turning_rate_is_due(name):
    with pytest.raises(pint.DimensionalityError, match="'rate'.*a turning rate or an angle must say so"):
        call(name, rate="60/min")


@pytest.mark.parametrize("name, changed", [
    ("film_torque", {"radial_clearance": "0 m"}), ("journal_bearing", {"radial_clearance": "0 m"}),
    ("hersey", {"load": "0 N"}), ("film_ratio", {"roughness_a": "0 um"}),
])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


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
        found = lubrication.film_torque(viscosity="84 mPa*s", rate="10 rad/s", radius="4 mm", length="30 mm",
                                    radial_clearance=Q(share * 4, "mm")).m_as("N*m")
    assert exact / found == pytest.approx(1 + 1.5 * share, abs=share**2)
    outer, inner, gap = 4 * (1 + share), 4, 4 * share
    assert exact / found == pytest.approx(2 * gap * outer**2 / ((outer**2 - inner**2) * inner), rel=1e-9)


def test_a_wide_gap_warns():
    with pytest.warns(OutOfRange, match="radial clearance is 0.034 of the radius; .* at most 0.033"):
        lubrication.film_torque(viscosity="84 mPa*s", rate="10 rad/s", radius="100 mm", length="30 mm",
                                radial_clearance="3.4 mm")


@quick
@given(radius=st.floats(1, 20), clearance=st.floats(1e-3, 0.02), factor=st.floats(1.01, 1.5), rate=st.floats(0, 100))
def test_film_torque_grows_with_the_cube_of_the_radius_and_falls_with_the_gap(radius, clearance, factor, rate):
    def torque(radius, clearance, rate):
        return lubrication.film_torque(viscosity="84 mPa*s", rate=Q(rate, "rpm"), radius=Q(radius, "mm"), length="30 mm",
                                   radial_clearance=Q(clearance, "mm")).m_as("N*mm")

    one = torque(radius, clearance, rate)
    assert torque(radius * factor, clearance, rate) == pytest.approx(one * factor**3, rel=1e-9)
    assert torque(radius, clearance * factor, rate) == pytest.approx(one / factor, rel=1e-9)
    assert torque(radius, clearance, rate * factor) == pytest.approx(one * factor, rel=1e-9)


def test_at_rest_the_film_holds_nothing():
    assert lubrication.film_torque(viscosity="84 mPa*s", rate="0 rpm", radius="4 mm", length="30 mm",
                                   radial_clearance="20 um").magnitude == 0


def test_hersey_number_gives_petroffs_coefficient_of_friction():   # f = 2 pi^2 (mu N/P) (r/c)
    shared = {"viscosity": "84 mPa*s", "rate": "30 rpm", "radius": "4 mm", "length": "6 mm"}
    number = lubrication.hersey(load="2 N", **shared).m_as("")
    torque = lubrication.film_torque(radial_clearance="50 um", **shared).m_as("N*mm")
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
    found = bearing_at(lubrication.journal_bearing, slender * 0.010, true).eccentricity.magnitude
    assert carried_at(lubrication.journal_bearing, e, slender, true) == pytest.approx(true, rel=0.16)
    assert 1 - found == pytest.approx(1 - e, rel=0.11)


@pytest.mark.parametrize("slender, factor", [(0.5, 1.4), (2, 6)])   # a quarter of the diameter, and all of it
def test_short_bearing_promises_too_much_by_what_its_description_says(slender, factor):
    true = reynolds_load(0.9, slender)
    assert carried_at(lubrication.short_bearing, 0.9, slender, true) / true == pytest.approx(factor, rel=0.06)


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
    found = bearing_at(lubrication.journal_bearing, slender * 0.010, load)
    assert found.eccentricity.magnitude == pytest.approx(e, rel=0.002)
    assert found.least_film.m_as("um") == pytest.approx(3, rel=0.005)


def test_short_bearing_against_its_own_pressure_summed_over_the_film():
    e = 0.85

    def pull(f):
        return scipy.integrate.dblquad(
            lambda z, x: 3 * e * np.sin(x) / (1 + e * np.cos(x))**3 * (0.5**2 - z**2) * f(x), 0, np.pi, -0.5, 0.5)[0]

    load = np.hypot(pull(np.cos), pull(np.sin))   # per viscosity, speed, L^3/c^2; here L = r = 10 mm
    found = bearing_at(lubrication.short_bearing, 0.010, load)
    assert found.eccentricity.magnitude == pytest.approx(e, rel=1e-8)
    assert found.least_film.m_as("um") == pytest.approx(1.5, rel=1e-7)


@quick
@given(exponent=st.floats(-6, 12), more=st.floats(1.01, 10), slender=st.floats(0.05, 2))
def test_a_heavier_load_sinks_deeper_down_to_the_thinnest_film(exponent, more, slender):
    light, heavy = (bearing_at(lubrication.journal_bearing, slender * 0.010, w).least_film.m_as("um")
                    for w in (10**exponent, 10**exponent * more))
    assert 0 < heavy < light <= 10
    short = bearing_at(lubrication.short_bearing, slender * 0.010, 10**exponent).least_film.m_as("um")
    assert short >= light * (1 - 1e-9)   # the ends drain both, the long way round drains only one
    if exponent > 8:   # there e is 1, and the film falls with the square root of the load
        deeper = bearing_at(lubrication.short_bearing, slender * 0.010, 10**exponent * 4).least_film.m_as("um")
        assert deeper == pytest.approx(short / 2, rel=1e-3)


def test_extremes_of_a_floating_journal():
    free = lubrication.journal_bearing(**(CALLS["journal_bearing"] | {"load": "0 N"}))
    assert free.eccentricity.magnitude == pytest.approx(0, abs=1e-12)
    assert free.least_film.m_as("um") == pytest.approx(50, rel=1e-12)
    for still in ({"rate": "0 rpm"}, {"viscosity": "0 Pa*s"}, {"rate": "0 rpm", "load": "0 N"}):
        for function in (lubrication.journal_bearing, lubrication.short_bearing):
            found = function(**(CALLS["journal_bearing"] | still))
            assert found.eccentricity.magnitude == 1 and found.least_film.magnitude == 0


def test_a_long_sleeve_warns_as_a_short_bearing_only():
    with pytest.warns(OutOfRange, match="the sleeve is 1.5 diameters long; .* at most 1 and gives too thick a film"):
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
    rate = lubrication.crossover_rate(ratio=ratio, **rough, **at)
    film = lubrication.journal_bearing(rate=rate, **at).least_film
    assert lubrication.film_ratio(film=film, **rough).m_as("") == pytest.approx(ratio, rel=1e-6)


def test_no_rate_lifts_a_film_thicker_than_the_gap():
    rate = lubrication.crossover_rate(**(CALLS["crossover_rate"] | {"ratio": Q([3, 49.9, 50.1], "")}))   # 1 um each, 50 um
    assert np.isfinite(rate.magnitude).tolist() == [True, True, False]


@pytest.mark.parametrize("ratio, word", [
    (0, "boundary"), (0.99, "boundary"), (1, "mixed"), (3, "mixed"), (3.01, "film")])
def test_words_of_the_regimes(ratio, word):
    assert lubrication.regime(film_ratio=ratio) == word
    assert lubrication.regime(film_ratio=[0.1, ratio, 9]).tolist() == ["boundary", word, "film"]
