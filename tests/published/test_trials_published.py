"""kit.trials against printed values; the source stands beside each."""
import numpy as np
import pytest

from kit import trials
from kit.units import Q

# BOOST below: J. Maddock, P. A. Bristow et al., Boost.Math documentation, statistical tutorial.


# ---------------------------------------------------------------------------------------------- so many of so many

# BOOST, "Calculating confidence limits on the frequency of occurrence for a binomial distribution", output of the
# example: confidence, then Clopper-Pearson and Jeffreys limits. (A draft of 2006 had other lower limits, put right
# since.)
FOUR_OF_20 = [(0.5, 0.12840, 0.29588, 0.14974, 0.26916), (0.75, 0.09775, 0.34633, 0.11653, 0.31861),
              (0.9, 0.07135, 0.40103, 0.08734, 0.37274), (0.95, 0.05733, 0.43661, 0.07152, 0.40823),
              (0.99, 0.03576, 0.50661, 0.04655, 0.47859), (0.999, 0.01905, 0.58632, 0.02634, 0.55960),
              (0.9999, 0.01042, 0.64997, 0.01530, 0.62495)]
FORTY_OF_200 = [(0.5, 0.17949, 0.22259, 0.18190, 0.22001), (0.95, 0.14689, 0.26223, 0.14910, 0.25951),
                (0.9999, 0.10489, 0.32652, 0.10677, 0.32366)]
FOUR_HUNDRED_OF_2000 = [(0.5, 0.19382, 0.20638, 0.19406, 0.20613), (0.95, 0.18267, 0.21821, 0.18291, 0.21796)]


@pytest.mark.parametrize("x, n, rows", [(4, 20, FOUR_OF_20), (40, 200, FORTY_OF_200),
                                        (400, 2000, FOUR_HUNDRED_OF_2000)])
def test_one_in_five(x, n, rows):
    for level, low, high, low_jeffreys, high_jeffreys in rows:
        count = {"successes": x, "trials": n, "level": level}
        assert trials.success_interval(**count) == pytest.approx((low, high), abs=0.000005)
        got = trials.success_interval(method="jeffreys", **count)
        assert got == pytest.approx((low_jeffreys, high_jeffreys), abs=0.000005)


# Values from memory, believed to be in Documenta Geigy, Scientific Tables, exact 95 % limits for p in percent, n = 10.
@pytest.mark.parametrize("x, low, high", [(0, 0, 30.85), (1, 0.25, 44.50), (2, 2.52, 55.61), (3, 6.67, 65.25),
                                          (4, 12.16, 73.76), (5, 18.71, 81.29)])
def test_exact_limits_in_ten(x, low, high):
    got = trials.success_interval(successes=x, trials=10)
    assert (100 * got[0], 100 * got[1]) == pytest.approx((low, high), abs=0.005)


def test_rule_of_three():
    """E. Eypasch, R. Lefering, C. K. Kum, H. Troidl, British Medical Journal 311 (1995) 619: no failure in n trials
    leaves at most 3/n, good for n above 30."""
    for n in (31, 100, 3000):
        assert round(n * (1 - trials.all_good_lower_bound(trials=n))) == 3
    assert round(5 * (1 - trials.all_good_lower_bound(trials=5))) == 2   # and not good for few


# ------------------------------------------------------------------------------------------------- how many to start

# BOOST, "Negative binomial sales quota example", after D. Evans: five sales wanted, 0.4 at each house; the house by
# which they are made with that confidence, printed with decimals and to be rounded up (21 printed for 0.95).
@pytest.mark.parametrize("confidence, houses", [
    (0.05, 6.2), (0.1, 7.06), (0.5, 11.3), (0.9, 17.8), (0.95, 20.1), (0.99, 24.8), (0.999, 31.1)])
def test_sales_quota(confidence, houses):
    assert trials.blanks_needed(good=5, chance=0.4, confidence=confidence) == np.ceil(houses)


def test_rolled_throughput_yield():
    """P. Keller, Six Sigma Demystified (2011), chapter 5: 99.7, 99.5, 95, 89, 92.3 and 94 % together give .728."""
    got = trials.rolled_yield(chances=[0.997, 0.995, 0.95, 0.89, 0.923, 0.94])
    assert got == pytest.approx(0.728, abs=0.0005)


# NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, one-sided factor by noncentral t for 90 % at 99 %.
@pytest.mark.parametrize("n, k", [(43, 1.8740), (6, 4.4111)])
def test_one_sided_factor_of_the_handbook(n, k):
    assert trials.tolerance_factor(n=n, coverage=0.90, confidence=0.99, sides=1) == pytest.approx(k, abs=0.00005)


# Values from memory, believed to be in M. G. Natrella, Experimental Statistics, NBS Handbook 91 (1963), table A-7, 95
# % at 95 %; its third decimal is one off in places, hence the width.
@pytest.mark.parametrize("n, k", [(3, 7.655), (4, 5.145), (5, 4.202), (6, 3.707), (7, 3.399), (8, 3.188), (9, 3.031),
                                  (10, 2.911), (20, 2.396)])
def test_one_sided_factor_of_the_old_table(n, k):
    assert trials.tolerance_factor(n=n, coverage=0.95, confidence=0.95, sides=1) == pytest.approx(k, abs=0.0015)


# P. M. Berthouex and L. C. Brown, Statistics for Environmental Engineers (edition from memory: 2nd, 2002), table
# 21.1: factors for two-sided 95 % confidence intervals (t / sqrt n) and tolerance intervals with p = 0.90, 0.95,
# 0.99.
TABLE = [(4, 1.59, 5.37, 6.34, 8.22), (5, 1.24, 4.29, 5.08, 6.60), (6, 1.05, 3.73, 4.42, 5.76),
         (7, 0.92, 3.39, 4.02, 5.24), (8, 0.84, 3.16, 3.75, 4.89), (9, 0.77, 2.99, 3.55, 4.63),
         (10, 0.72, 2.86, 3.39, 4.44), (12, 0.64, 2.67, 3.17, 4.16), (15, None, 2.49, 2.96, 3.89),
         (20, 0.47, 2.32, 2.76, 3.62), (25, 0.41, 2.22, 2.64, 3.46), (30, 0.37, 2.15, 2.55, 3.35),
         (40, 0.32, 2.06, 2.45, 3.22), (60, 0.26, 1.96, 2.34, 3.07)]
# left out at n = 15: the print as read has 0.50, where 2.145 / sqrt 15 is 0.55


@pytest.mark.parametrize("n, mean, factors", [(n, mean, factors) for n, mean, *factors in TABLE])
def test_two_sided_factors(n, mean, factors):
    got = [trials.tolerance_factor(n=n, coverage=p, confidence=0.95, sides=2) for p in (0.90, 0.95, 0.99)]
    assert got == pytest.approx(factors, abs=0.005)
    if mean is not None:
        low, high = trials.mean_interval(readings=readings(n=n, mean=0, spread=1), level=0.95)
        assert (low, high) == pytest.approx((-mean, mean), abs=0.005)


# Values from memory, believed to be in R. E. Odeh and D. B. Owen, Tables for Normal Tolerance Limits (1980), exact
# two-sided factors, 95 % at 95 %. The usual approximation (Howe) gives 37.67 at n = 2 and 5.09 at n = 5.
@pytest.mark.parametrize("n, k", [
    (2, 36.519), (3, 9.789), (4, 6.341), (5, 5.077), (6, 4.422), (10, 3.393), (15, 2.965)])
def test_two_sided_factor_to_three_decimals(n, k):
    assert trials.tolerance_factor(n=n, coverage=0.95, confidence=0.95, sides=2) == pytest.approx(k, abs=0.0005)


# Values from memory, common practice in sampling plans after S. S. Wilks, Annals of Mathematical Statistics 12 (1941)
# 91: so many trials without failure show so much reliability.
@pytest.mark.parametrize("coverage, confidence, n", [
    (0.95, 0.95, 59), (0.90, 0.95, 29), (0.80, 0.95, 14), (0.90, 0.90, 22), (0.99, 0.90, 230), (0.99, 0.95, 299),
    (0.50, 0.95, 5)])
def test_success_run(coverage, confidence, n):
    assert trials.distribution_free_n(coverage=coverage, confidence=confidence) == n


# ------------------------------------------------------------------------------------------------ what is to come

def test_girls_among_births():
    """A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 2.4: 437 girls in 980 births, uniform prior:
    mean 0.446, standard deviation 0.016, central 95 % [0.415, 0.477]."""
    known = trials.beta_update(successes=437, trials=980)
    assert known.mean == pytest.approx(0.446, abs=0.0005)
    assert known.sd == pytest.approx(0.016, abs=0.0005)
    assert known.interval(level=0.95) == pytest.approx((0.415, 0.477), abs=0.0005)


def test_rule_of_succession():
    """P. S. Laplace (1774), as J. Weisberg tells it: 8 black ravens of 8, the next one 90 %; (k + 1)/(n + 2) in
    general. That all of as many again will follow, (n + 1)/(2 n + 1), is from memory, believed to be there too."""
    ravens = trials.beta_update(successes=8, trials=8)
    assert trials.predict_all_good(posterior=ravens, more=1) == pytest.approx(0.90)
    assert trials.predict_all_good(posterior=ravens, more=8) == pytest.approx(9 / 17)
    other = trials.beta_update(successes=2, trials=3)
    assert trials.predict(posterior=other, more=1, at_least=1) == pytest.approx(3 / 5)


# ---------------------------------------------------------------------------------------------- few measured values

def readings(n, mean, spread):
    """n readings with just that mean and sample standard deviation."""
    steps = np.arange(n) - (n - 1) / 2
    return mean + spread * steps / steps.std(ddof=1)


# BOOST, "Confidence intervals on the standard deviation": 95 % limits for a sample standard deviation of 1.
@pytest.mark.parametrize("n, low, high", [
    (2, 0.4461, 31.9102), (3, 0.5207, 6.2847), (4, 0.5665, 3.7285), (5, 0.5991, 2.8736), (10, 0.6878, 1.8256),
    (20, 0.7605, 1.4606), (100, 0.8780, 1.1617)])
def test_spread_interval(n, low, high):
    got = trials.spread_interval(readings=readings(n=n, mean=8, spread=1), level=0.95)
    assert got == pytest.approx((low, high), abs=0.00005)


# P. K. Hou, O. W. Lau, M. C. Wong, Analyst 108 (1983) 64, in J. C. Miller and J. N. Miller, Statistics for Analytical
# Chemistry, 3rd ed., pp. 54-55: three readings of mean 37.8 and standard deviation 0.9643650; limits as BOOST prints
# them.
@pytest.mark.parametrize("level, low, high", [
    (0.5, 37.34539, 38.25461), (0.9, 36.17422, 39.42578), (0.95, 35.40438, 40.19562), (0.99, 32.27408, 43.32592),
    (0.999, 20.20639, 55.39361)])
def test_three_readings_of_mercury(level, low, high):
    got = trials.mean_interval(readings=readings(n=3, mean=37.8, spread=0.9643650), level=level)
    assert got == pytest.approx((low, high), abs=0.000006)


def test_heat_flow_meter():
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2: 195 readings, mean 9.26146, standard deviation
    0.02278881; 95 % limits 9.25824 and 9.26468."""
    got = trials.mean_interval(readings=Q(readings(n=195, mean=9.26146, spread=0.02278881), "mm"), level=0.95)
    assert [end.m for end in got] == pytest.approx([9.25824, 9.26468], abs=0.000006)
