"""Scatter that the readings themselves show: against a worked example in print."""
import numpy as np
import pytest

from kit.study.reading_errors import Error, Likelihood

# S. Newcomb's 66 times of light over 7442 m, deviations from 24 800 ns; S. M. Stigler, Do robust estimators work with real data?,
# Annals of Statistics 5 (1977) 1055-1098, table 5, from memory.
NEWCOMB = [28, 26, 33, 24, 34, -44, 27, 16, 40, -2, 29, 22, 24, 21, 25, 30, 23, 29, 31, 19, 24, 20, 36, 32, 36, 28, 25, 21, 28, 29, 37, 25, 28, 26, 30,
           32, 36, 26, 30, 22, 36, 23, 27, 27, 28, 27, 31, 27, 26, 33, 26, 32, 32, 24, 39, 28, 24, 25, 32, 25, 29, 27, 28, 29, 16, 23]


def test_speed_of_light():
    """A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 3.2, "Estimating the speed of light", from memory: mean 26.2,
    standard deviation 10.8, 95 % interval of the mean 23.6 to 28.8 with nothing known of the scatter beforehand."""
    read = np.array(NEWCOMB, float)
    assert len(read) == 66 and read.mean() == pytest.approx(26.2, abs=0.05) and read.std(ddof=1) == pytest.approx(10.8, abs=0.06)
    means = np.linspace(15, 38, 4601)
    told = Likelihood(Error(5.0, relative=False, dof=1e-3), ("",) * 66, ("",) * 66, read)(read[:, None] - means)
    share = np.cumsum(np.exp(told - told.max()))
    low, high = np.interp([0.025, 0.975], share / share[-1], means)
    assert (low, high) == pytest.approx((23.6, 28.8), abs=0.06)   # 28.85 before rounding
