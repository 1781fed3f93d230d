"""kit.uncertainty against the outside world: printed value, printed precision and source beside each.

GUM: Joint Committee for Guides in Metrology, Evaluation of Measurement Data: Guide to the Expression of Uncertainty in
Measurement, JCGM 100:2008. JCGM 101: its Supplement 1, Propagation of Distributions Using a Monte Carlo Method,
JCGM 101:2008. A result that was not looked up says "from memory": it is believed to stand in the place that is named.

SALib and uncertainties are libraries with their own code for the same questions; the versions at hand were 1.6.0 and
3.2.3.
"""
import re

import numpy as np
import pytest
import uncertainties
from SALib.analyze import morris as analyze_morris
from SALib.analyze import sobol as analyze_sobol
from SALib.sample import sobol as sample_sobol
from scipy import stats
from transcribed import ERRORS, KEYS, MEANS, R
from uncertainties import umath

from kit import evidence, uncertainty
from kit.evidence import Assumption
from kit.units import Q

Z95 = stats.norm.ppf(0.95)


def assumption(key, **given):
    return Assumption(key=key, grade="handbook", source="from-memory", **({"value": None} | given))


def fixed(key, value, unit):
    return assumption(key, value=value, low=None, high=None, shape="fixed", unit=unit)


def normal(key, mean, u, unit=""):
    return assumption(key, low=mean - Z95 * u, high=mean + Z95 * u, shape="normal", unit=unit)


def student(key, mean, u, dof, unit=""):
    reach = stats.t(dof).ppf(0.95) * u
    return assumption(key, low=mean - reach, high=mean + reach, shape="student-t", dof=dof, unit=unit)


def uniform(key, low, high, unit=""):
    return assumption(key, low=low, high=high, shape="uniform", unit=unit)


# --- GUM H.1, end gauge --------------------------------------------------------------------------------------------
# Inputs of H.1.3 to H.1.6; the expansion coefficient is uniform, u = 1.2e-6 / K.

GAUGE = {"standard": (50_000_623, 25, 18, "nm"), "difference": (215, 9.7, 25.6, "nm"),
         "temperature": (-0.1, 0.41, None, "K"), "expansion": (11.5e-6, 1.2e-6, None, "1/K"),
         "expansion_difference": (0, 0.58e-6, 50, "1/K"), "temperature_difference": (0, 0.029, 2, "K")}


def end_gauge(v):
    expansion = v["expansion_difference"] * v["temperature"] + v["expansion"] * v["temperature_difference"]
    return v["standard"] + v["difference"] - v["standard"] * expansion


def gauge(*, only=None, dof=True):
    """The assumptions of H.1; of one input alone, or all without their degrees of freedom."""
    made = []
    for key, (mean, u, freedom, unit) in GAUGE.items():
        if only not in (None, key):
            made.append(fixed(key, mean, unit))
        elif key == "expansion":
            made.append(uniform(key, mean - u * np.sqrt(3), mean + u * np.sqrt(3), unit))
        else:
            made.append(student(key, mean, u, freedom, unit) if freedom and dof else normal(key, mean, u, unit))
    return made


def test_end_gauge():
    # GUM H.1.6, H.1.7: l = 50.000 838 mm, u = 32 nm, 16 degrees of freedom, U99 = 93 nm
    row = uncertainty.propagate(end_gauge, gauge(), n=2**12, seed=1, level=0.99).loc["result"]
    assert row["unit"] == "nm"
    assert row["gum"] == pytest.approx(50_000_838, abs=0.5)
    assert row["gum_u"] == pytest.approx(32, abs=0.5)
    assert int(row["gum_dof"]) == 16
    assert (row["gum_high"] - row["gum_low"]) / 2 == pytest.approx(93, abs=0.5)


@pytest.mark.parametrize(("key", "part"), [("standard", 25), ("difference", 9.7), ("expansion_difference", 2.9),
                                           ("temperature_difference", 16.6), ("temperature", 0), ("expansion", 0)])
def test_end_gauge_contributions(key, part):
    # GUM table H.1, u_i(l) in nm. The 16.6 is cut: 11.5e-6 / K x 0.029 K x 50.000 623 mm is 16.675 nm
    row = uncertainty.propagate(end_gauge, gauge(only=key), n=2**12, seed=1).loc["result"]
    assert row["gum_u"] == pytest.approx(part, abs=0.1)


def test_end_gauge_second_order():
    # GUM H.1.7: with the terms of second order u = 34 nm. The model is bilinear, so the draws hold just these terms
    row = uncertainty.propagate(end_gauge, gauge(dof=False), n=2**16, seed=1).loc["result"]
    assert row["u"] == pytest.approx(34, abs=0.5)
    assert row["gum_u"] < 32.5
    assert "no weight at the means, yet it moves the draws: temperature;" in row["warning"]


@pytest.mark.parametrize(("level", "factor"), [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)])
def test_coverage_factors(level, factor):
    # GUM table G.2, row of 16 degrees of freedom
    row = uncertainty.propagate(lambda v: v["x"], [student("x", 0, 1, 16)], n=2**10, seed=1, level=level).loc["result"]
    assert row["gum_high"] == pytest.approx(factor, abs=0.005)
    assert row["gum_low"] == pytest.approx(-factor, abs=0.005)


# --- GUM H.2, resistance and reactance, correlated inputs (its readings in transcribed.py) ------------------------------------------------------------

CIRCUIT = [normal(key, mean, u, unit) for key, mean, u, unit in zip(KEYS, MEANS, ERRORS, ("V", "A", "rad"))]
LINKS = {(KEYS[i], KEYS[j]): R[i, j] for i, j in ((0, 1), (0, 2), (1, 2))}
IMPEDANCE = {"resistance": (127.732, 0.071), "reactance": (219.847, 0.295), "impedance": (254.260, 0.236)}


def circuit(v):
    impedance = v["potential"] / v["current"]
    return {"resistance": impedance * np.cos(v["phase"]), "reactance": impedance * np.sin(v["phase"]),
            "impedance": impedance}


@pytest.mark.parametrize("column", ["u", "gum_u"])
def test_circuit(column):
    # GUM table H.3, from memory: in ohm, with u. The u(X) is printed 0.295 and works out as 0.2956: one unit is allowed
    table = uncertainty.propagate(circuit, CIRCUIT, n=2**14, seed=1, correlations=LINKS)
    assert list(table["unit"]) == ["V/A"] * 3
    for name, (value, u) in IMPEDANCE.items():
        assert table.loc[name, "gum"] == pytest.approx(value, abs=0.0005)
        assert table.loc[name, "mean"] == pytest.approx(value, abs=0.001)
        assert table.loc[name, column] == pytest.approx(u, abs=0.001)


def test_circuit_correlations_of_the_results():
    # GUM table H.3, from memory: r(R, X) -0.588, r(R, Z) -0.485, r(X, Z) 0.993
    values = evidence.draw(CIRCUIT, n=2**16, seed=1, correlations=LINKS)
    found = np.corrcoef([q.magnitude for q in circuit(values).values()])
    np.testing.assert_allclose([found[0, 1], found[0, 2], found[1, 2]], [-0.588, -0.485, 0.993], rtol=0, atol=0.001)


# --- JCGM 101, clause 7.9.2 and examples 9.2 to 9.5 ------------------------------------------------------------------

@pytest.mark.parametrize(("u", "digits", "tolerance"), [(0.00035, 2, 0.000005), (0.00035, 1, 0.00005), (2, 1, 0.5)])
def test_numerical_tolerance(u, digits, tolerance):
    # JCGM 101, 7.9.2, examples 1 to 3, from memory: 0.000 35 g to two digits and to one; 2 K
    assert uncertainty.numerical_tolerance(u, digits=digits) == pytest.approx(tolerance, rel=1e-12)


@pytest.mark.parametrize("sampler", evidence.SAMPLERS)
def test_sum_of_four_uniform(sampler):
    # JCGM 101, table 3, from memory: u = 2.00, 95 % from -3.88 to 3.88; first order -3.92 to 3.92
    parts = [uniform(key, -np.sqrt(3), np.sqrt(3)) for key in "abcd"]
    row = uncertainty.propagate(lambda v: v["a"] + v["b"] + v["c"] + v["d"], parts, n=2**18, seed=1,
                                sampler=sampler).loc["result"]
    wide = 0.005 if sampler == "sobol" else 0.02   # the ends of the others stray by some 0.008
    assert [row["u"], row["low"], row["high"]] == pytest.approx([2.00, -3.88, 3.88], abs=wide)
    assert [row["gum_u"], row["gum_low"], row["gum_high"]] == pytest.approx([2.00, -3.92, 3.92], abs=0.005)


MASS = [normal("reference", 100_000, 0.050, "mg"), normal("small", 1.234, 0.020, "mg"),
        uniform("air", 1.10, 1.30, "kg/m^3"), uniform("weight", 7000, 9000, "kg/m^3"),
        uniform("steel", 7950, 8050, "kg/m^3")]


def mass(v):
    lift = (v["air"] - Q(1.2, "kg/m^3")) * (1 / v["weight"] - 1 / v["steel"])
    return (v["reference"] + v["small"]) * (1 + lift) - Q(100_000, "mg")


def test_mass_calibration():
    # Inputs JCGM 101, 9.3.1.4, table 5. Table 6, from memory: first order 1.2340, u 0.0539, 1.1285 to 1.3395; draws
    # 1.2340, u 0.0754, shortest 95 % 1.0834 to 1.3825 (an adaptive run of its own random numbers, hence the 0.002)
    table = uncertainty.converge(mass, MASS, seed=1, digits=2)
    row = table.loc["result"]
    assert row["converged"] and row["n"] > 100_000
    assert [row["gum"], row["gum_u"], row["gum_low"], row["gum_high"]] == pytest.approx(
        [1.2340, 0.0539, 1.1285, 1.3395], abs=0.00005)
    assert row["mean"] == pytest.approx(1.2340, abs=0.0003)
    assert row["u"] == pytest.approx(0.0754, abs=0.0003)
    assert [row["shortest_low"], row["shortest_high"]] == pytest.approx([1.0834, 1.3825], abs=0.002)
    # 9.3.2, from memory: at the best estimates the densities of air and of the weight have no first-order weight
    named, = re.findall("no weight at the means, yet it moves the draws: (.*?);", row["warning"])
    assert set(named.split(", ")) == {"air", "weight"}


@pytest.mark.parametrize(("x1", "mean", "u", "shortest", "first", "first_u"), [
    (0, 50, 50, (0, 150), 0, 0), (0.010, 150, 112, (0, 367), 100, 100)])
def test_comparison_loss(x1, mean, u, shortest, first, first_u):
    # JCGM 101, 9.4.2, table 8, from memory: in units of 1e-6. The upper end of the second is 366.0 by the closed form
    inputs = [normal("x1", x1, 0.005), normal("x2", 0, 0.005)]
    row = uncertainty.propagate(lambda v: 1e6 * (v["x1"]**2 + v["x2"]**2), inputs, n=2**18, seed=1).loc["result"]
    assert [row["mean"], row["u"]] == pytest.approx([mean, u], abs=0.5)
    assert [row["shortest_low"], row["shortest_high"]] == pytest.approx(shortest, abs=1.2)
    assert [row["gum"], row["gum_u"]] == pytest.approx([first, first_u], abs=0.5)
    assert "strong curvature" in row["warning"]


def test_gauge_block():
    # Inputs JCGM 101, 9.5.2, table 10; a curvilinear trapezoid is a uniform whose half-width is itself uniform.
    # Table 11, from memory: first order 838 nm, u 32; draws 838 nm, u 36 nm, 99 % from 745 to 932 nm
    inputs = [student("standard", 50_000_623, 25, 18, "nm"), student("difference", 215, 6, 24, "nm"),
              student("random", 0, 4, 5, "nm"), student("systematic", 0, 7, 8, "nm"),
              uniform("expansion", 9.5e-6, 13.5e-6, "1/K"), normal("mean", -0.1, 0.2, "K"),
              assumption("cycle", low=-0.5, high=0.5, limits="ends", shape="arcsine", unit="K"),
              uniform("expansion_half", 0.9e-6, 1.1e-6, "1/K"), uniform("expansion_place", -1, 1),
              uniform("temperature_half", 0.025, 0.075, "K"), uniform("temperature_place", -1, 1)]

    def length(v):
        expansion_difference = v["expansion_half"] * v["expansion_place"]
        temperature_difference = v["temperature_half"] * v["temperature_place"]
        drift = expansion_difference * (v["mean"] + v["cycle"]) + v["expansion"] * temperature_difference
        return v["standard"] * (1 - drift) + v["difference"] + v["random"] + v["systematic"] - Q(50, "mm")

    row = uncertainty.propagate(length, inputs, n=2**18, seed=1, level=0.99).loc["result"]
    assert row["unit"] == "nm"
    assert [row["mean"], row["u"]] == pytest.approx([838, 36], abs=0.5)
    assert [row["low"], row["high"]] == pytest.approx([745, 932], abs=1.5)
    assert row["gum_u"] == pytest.approx(32, abs=0.5)


# --- sensitivity -----------------------------------------------------------------------------------------------------

ISHIGAMI = [uniform(key, -np.pi, np.pi) for key in ("x1", "x2", "x3")]


def ishigami(v):
    return np.sin(v["x1"]) + 7 * np.sin(v["x2"])**2 + 0.1 * v["x3"]**4 * np.sin(v["x1"])


def test_ishigami():
    # A. Saltelli et al., Global Sensitivity Analysis: The Primer, Wiley 2008: first order .3139, .4424, 0. Variances
    # from memory, believed to be in T. Ishigami, T. Homma, An importance quantification technique in uncertainty
    # analysis for computer models, ISUMA 1990: V1 = b pi^4 / 5 + b^2 pi^8 / 50 + 1/2, V2 = a^2 / 8,
    # V13 = 8 b^2 pi^8 / 225
    v1, v2, v13 = 0.1 * np.pi**4 / 5 + 0.01 * np.pi**8 / 50 + 0.5, 49 / 8, 8 * 0.01 * np.pi**8 / 225
    whole = v1 + v2 + v13
    table = uncertainty.sobol(ishigami, ISHIGAMI, n=2**14, seed=1).loc[["x1", "x2", "x3"]]
    np.testing.assert_allclose(table["first"], [0.3139, 0.4424, 0], rtol=0, atol=0.003)
    np.testing.assert_allclose(table["total"], np.array([v1 + v13, v2, v13]) / whole, rtol=0, atol=0.003)
    row = uncertainty.propagate(ishigami, ISHIGAMI, n=2**14, seed=1).loc["result"]
    assert row["mean"] == pytest.approx(3.5, abs=0.005)
    assert row["u"]**2 == pytest.approx(whole, rel=0.002)


@pytest.mark.parametrize("a", [(0, 1, 4.5, 9, 99, 99, 99, 99), (0, 0, 0)])
def test_g_function(a):
    # A. Saltelli et al., Global Sensitivity Analysis: The Primer, Wiley 2008, from memory: V_i = 1 / (3 (1 + a_i)^2),
    # V = product of (1 + V_i) - 1, total of i: V_i times the product of (1 + V_j) over the others
    a = np.array(a)
    keys = [f"x{i}" for i in range(len(a))]
    alone = 1 / (3 * (1 + a)**2)
    whole = np.prod(1 + alone) - 1

    def g(v):
        return np.prod([(abs(4 * v[k] - 2).magnitude + ai) / (1 + ai) for k, ai in zip(keys, a)], axis=0) * Q(1, "")

    table = uncertainty.sobol(g, [uniform(k, 0, 1) for k in keys], n=2**14, seed=1).loc[keys]
    np.testing.assert_allclose(table["first"], alone / whole, rtol=0, atol=0.005)
    np.testing.assert_allclose(table["total"], alone * (1 + whole) / (1 + alone) / whole, rtol=0, atol=0.005)


def sums(v):
    """Additive, bent, crossed and idle inputs, of several units."""
    return v["pull"] * v["arm"] + v["pull"]**2 * Q(0.01, "m/N") + 0 * v["idle"] * Q(1, "N")


SUMS = [uniform("pull", 10, 40, "N"), uniform("arm", 0.1, 0.4, "m"), uniform("idle", 1, 2, "m")]
PROBLEM = {"num_vars": 3, "names": ["pull", "arm", "idle"], "bounds": [[10, 40], [0.1, 0.4], [1, 2]]}


@pytest.mark.parametrize(("model", "inputs"), [(ishigami, ISHIGAMI), (sums, SUMS)])
def test_sobol_as_in_salib(model, inputs):
    keys, bounds = [a.key for a in inputs], [[a.low, a.high] for a in inputs]
    problem = {"num_vars": 3, "names": keys, "bounds": bounds}
    points = sample_sobol.sample(problem, 2**13, calc_second_order=False, seed=5)
    outputs = model({a.key: Q(x, a.unit) for a, x in zip(inputs, points.T)}).magnitude
    theirs = analyze_sobol.analyze(problem, outputs, calc_second_order=False, num_resamples=100, seed=5)
    ours = uncertainty.sobol(model, inputs, n=2**13, seed=1).loc[keys]
    np.testing.assert_allclose(ours["first"], theirs["S1"], rtol=0, atol=0.01)
    np.testing.assert_allclose(ours["total"], theirs["ST"], rtol=0, atol=0.01)
    # both intervals are index -+ 1.96 standard deviations of 100 resamples, each of them known to about 7 %
    np.testing.assert_allclose((ours["first_high"] - ours["first_low"]) / 2, theirs["S1_conf"], rtol=0.35, atol=1e-9)
    np.testing.assert_allclose((ours["total_high"] - ours["total_low"]) / 2, theirs["ST_conf"], rtol=0.35, atol=1e-9)


@pytest.mark.parametrize("levels", [4, 6])
def test_morris_as_in_salib(levels):
    seen = []

    def watched(v):
        seen.append(np.column_stack([v[k].magnitude for k in PROBLEM["names"]]))
        return sums(v)

    ours = uncertainty.morris(watched, SUMS, n=20, seed=1, levels=levels).loc[PROBLEM["names"]]
    points, = seen
    outputs = sums({a.key: Q(x, a.unit) for a, x in zip(SUMS, points.T)}).magnitude
    theirs = analyze_morris.analyze(PROBLEM, points, outputs, num_levels=levels, seed=1)
    for column in ("mu", "mu_star", "sigma"):
        np.testing.assert_allclose(ours[column], np.asarray(theirs[column]), rtol=1e-9, atol=1e-9)


def test_first_order_as_in_uncertainties():
    inputs = [normal("a", 2, 0.1, "mm"), normal("b", 3, 0.4, "mm"), uniform("c", 0.1, 0.5)]
    u = [0.1, 0.4, 0.4 / np.sqrt(12)]
    links = {("a", "b"): 0.6, ("c", "b"): -0.3}
    covariance = np.outer(u, u) * [[1, 0.6, 0], [0.6, 1, -0.3], [0, -0.3, 1]]

    def ours(v):
        return v["a"]**3 * np.exp(v["c"]) / v["b"] + v["a"] * v["b"]

    for given, theirs in ((links, uncertainties.correlated_values([2, 3, 0.3], covariance)),
                          (None, [uncertainties.ufloat(m, s) for m, s in zip((2, 3, 0.3), u)])):
        a, b, c = theirs
        expected = a**3 * umath.exp(c) / b + a * b
        row = uncertainty.propagate(ours, inputs, n=2**10, seed=1, correlations=given).loc["result"]
        assert row["unit"] == "mm²"
        assert row["gum"] == pytest.approx(expected.nominal_value, rel=1e-9)
        assert row["gum_u"] == pytest.approx(expected.std_dev, rel=1e-5)


def test_circuit_as_in_uncertainties():
    volt, ampere, phase = uncertainties.correlated_values(MEANS, np.outer(ERRORS, ERRORS) * R)
    expected = {"resistance": volt / ampere * umath.cos(phase), "reactance": volt / ampere * umath.sin(phase),
                "impedance": volt / ampere}
    table = uncertainty.propagate(circuit, CIRCUIT, n=2**10, seed=1, correlations=LINKS)
    for name, value in expected.items():
        assert table.loc[name, "gum"] == pytest.approx(value.nominal_value, rel=1e-9)
        assert table.loc[name, "gum_u"] == pytest.approx(value.std_dev, rel=1e-5)
