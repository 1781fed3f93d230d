"""kit.evidence against the outside world: printed formula or value, printed precision and source beside each.

TN 1297: B. N. Taylor, C. E. Kuyatt, Guidelines for Evaluating and Expressing the Uncertainty of NIST Measurement
Results, NIST Technical Note 1297, 1994.
GUM: Joint Committee for Guides in Metrology, Evaluation of Measurement Data: Guide to the Expression of Uncertainty in
Measurement, JCGM 100:2008. What is quoted of the GUM and its supplement is from memory, believed to be in the clause
that is named.
"""
import numpy as np
import pytest

from kit.evidence import LIKELIHOOD, Assumption, likelihood


def assumption(**given):
    return Assumption(key="x", unit="mm", grade="handbook", source="from-memory", **({"value": None} | given))


def mean_and_deviation(made):
    """Mean and standard deviation, from evenly spaced probabilities."""
    values = made.quantile((np.arange(10**5) + 0.5) / 10**5)
    return values.mean(), values.std()


# GUM, type B evaluation: a is half the width between the ends. The clauses print formulas, so the agreement is exact
# but for the spacing of the probabilities.

@pytest.mark.parametrize(("shape", "variance", "source"), [
    ("uniform", 1 / 3, "GUM 4.3.7, equation (7): u^2 = a^2 / 3"),
    ("triangular", 1 / 6, "GUM 4.3.9, equation (9b): u^2 = a^2 / 6"),
    ("trapezoid", (1 + 0.5**2) / 6, "GUM 4.3.9, equation (9a): u^2 = a^2 (1 + beta^2) / 6, beta = top / base = 1/2"),
    ("arcsine", 1 / 2, "JCGM 101:2008 (supplement 1 to the GUM), 6.4.6: V = (b - a)^2 / 8 between the ends a and b")])
def test_type_b_divisors(shape, variance, source):
    half = 3.0
    mode = 10 if shape == "triangular" else None
    made = assumption(value=mode, low=10 - half, high=10 + half, limits="ends", shape=shape)
    mean, deviation = mean_and_deviation(made)
    assert mean == pytest.approx(10, rel=1e-9)
    assert deviation == pytest.approx(half * np.sqrt(variance), rel=1e-4), source


def test_resolution_of_an_indication():
    # GUM F.2.2.1: an indication of resolution d is uniform over d, u = 0.29 d
    _, deviation = mean_and_deviation(assumption(low=0, high=1, shape="uniform"))
    assert deviation == pytest.approx(0.29, abs=0.005)


@pytest.mark.parametrize(("level", "factor"), [(0.90, 1.645), (0.95, 1.960), (0.99, 2.576)])
def test_normal_factors(level, factor):
    # TN 1297, 4.3 and last line of table B.1
    made = assumption(low=-1.0, high=1.0, shape="normal")
    _, deviation = mean_and_deviation(made)
    assert made.quantile((1 + level) / 2) / deviation == pytest.approx(factor, abs=0.0005)


def test_normal_from_its_middle_half():
    # TN 1297, 4.4: where there is 1 chance out of 2 to lie within +-a, u = 1.48 a
    made = assumption(low=-1.0, high=1.0, shape="normal")
    _, deviation = mean_and_deviation(made)
    assert deviation / made.quantile(0.75) == pytest.approx(1.48, abs=0.005)


@pytest.mark.parametrize(("dof", "t90", "t95", "t99", "digit"), [
    (1, 6.31, 12.71, 63.66, 0.01), (2, 2.92, 4.30, 9.92, 0.01), (5, 2.02, 2.57, 4.03, 0.01),
    (16, 1.75, 2.12, 2.92, 0.01), (100, 1.660, 1.984, 2.626, 0.001)])
def test_student_t(dof, t90, t95, t99, digit):
    # TN 1297, table B.1: fractions 90, 95 and 99 percent; the column of 90 percent gives the 5 % and 95 % points here
    made = assumption(low=-t90, high=t90, shape="student-t", dof=dof)
    for level, factor in ((0.975, t95), (0.995, t99)):
        assert made.quantile(level) == pytest.approx(factor, abs=digit / 2 * (1 + factor / t90))   # both are rounded


# Three-point estimates

@pytest.mark.parametrize(("low", "mode", "high"), [(10, 12, 20), (0, 5, 6), (-1, -1, 3)])
def test_pert_mean(low, mode, high):
    # t_e = (a + 4m + b) / 6: from memory, believed to be in D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar,
    # Application of a Technique for Research and Development Program Evaluation, Operations Research 7 (1959) 646-669
    mean, _ = mean_and_deviation(assumption(value=mode, low=low, high=high, limits="ends", shape="pert"))
    assert mean == pytest.approx((low + 4 * mode + high) / 6, rel=1e-6)


@pytest.mark.parametrize(("low", "mode", "high"), [(10, 12, 20), (0, 5, 6), (-1, -1, 3)])
def test_triangular_moments(low, mode, high):
    # mean (a + m + b) / 3, variance (a^2 + m^2 + b^2 - am - ab - mb) / 18; from memory, believed to be in
    # M. Evans, N. Hastings, B. Peacock, Statistical Distributions, Wiley, 3rd ed. 2000, Triangular Distribution
    mean, deviation = mean_and_deviation(assumption(value=mode, low=low, high=high, limits="ends", shape="triangular"))
    assert mean == pytest.approx((low + mode + high) / 3, rel=1e-6)
    variance = (low**2 + mode**2 + high**2 - low * mode - low * high - mode * high) / 18
    assert deviation == pytest.approx(np.sqrt(variance), rel=1e-4)


# Likelihood of the outcome in percent, the scale of the IPCC's Climate Change 2013: The Physical Science Basis; from
# memory, believed to be in M. D. Mastrandrea et al., Guidance Note for Lead Authors of the IPCC Fifth Assessment Report
# on Consistent Treatment of Uncertainties, Intergovernmental Panel on Climate Change, 2010, table 1
IPCC = {"virtually certain": (99, 100), "very likely": (90, 100), "likely": (66, 100),
        "about as likely as not": (33, 66), "unlikely": (0, 33), "very unlikely": (0, 10),
        "exceptionally unlikely": (0, 1)}


def test_likelihood_words():
    for percent in np.linspace(0, 100, 2001):
        low, high = IPCC[likelihood(min(percent / 100, 1))]
        assert low <= percent <= high
        narrower = [word for word, (a, b) in IPCC.items() if a < percent < b and b - a < high - low]
        assert not narrower, f"{percent} % is also {narrower}"


@pytest.mark.parametrize(("chance", "word"), [
    (1, "virtually certain"), (0.995, "virtually certain"), (0.985, "very likely"), (0.91, "very likely"),
    (0.89, "likely"), (0.67, "likely"), (0.65, "about as likely as not"), (0.5, "about as likely as not"),
    (0.34, "about as likely as not"), (0.32, "unlikely"), (0.11, "unlikely"), (0.09, "very unlikely"),
    (0.02, "very unlikely"), (0.005, "exceptionally unlikely"), (0, "exceptionally unlikely")])
def test_likelihood_either_side_of_each_limit(chance, word):
    assert likelihood(chance) == word


def test_no_other_words():
    assert {word for _, word in LIKELIHOOD} == set(IPCC)
