"""kit.intervals: exact answers, the ranks of the standard, scaling laws and refusals."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import intervals, uncertainty
from kit.intervals import equal_tail, shortest

SEED = 20250311


@given(values=st.lists(st.floats(-1e6, 1e6), min_size=25, max_size=200), level=st.floats(0.5, 0.95))
def test_intervals_hold_their_share_and_the_shortest_is_no_longer(values, level):
    widths = {}
    for interval in (equal_tail, shortest):
        low, high = interval(ordered=np.sort(values), level=level)
        widths[interval] = high - low
        assert low in values and high in values
        assert np.mean((np.array(values) >= low) & (np.array(values) <= high)) >= level
    assert widths[shortest] <= widths[equal_tail]


@given(seed=st.integers(0, 99), stretch=st.floats(0.1, 10), shift=st.floats(-100, 100))
def test_intervals_move_with_the_draws(seed, stretch, shift):
    values = np.sort(np.random.default_rng(seed).gamma(2, size=300))
    for interval in (equal_tail, shortest):
        before = interval(ordered=values, level=0.9)
        after = interval(ordered=shift + stretch * values, level=0.9)
        np.testing.assert_allclose(after, shift + stretch * np.array(before), rtol=1e-9, atol=1e-9)


def test_intervals_of_an_exponential():
    # the density falls all the way: the shortest interval starts at 0
    values = -np.log1p(-(np.arange(10**5) + 0.5) / 10**5)
    assert shortest(ordered=values, level=0.95) == pytest.approx((0, -np.log(0.05)), abs=1e-3)
    assert equal_tail(ordered=values, level=0.95) == pytest.approx((-np.log(0.975), -np.log(0.025)), abs=1e-3)


@pytest.mark.parametrize(("n", "level", "rank"), [(10**4, 0.95, 250), (10**5, 0.95, 2500), (10**4, 0.99, 50),
                                                  (11, 0.95, 1), (1001, 0.9, 50)])
def test_equal_tails_are_the_ranks_of_the_standard(n, level, rank):
    # JCGM 101:2008, 7.7.2, from memory: r = (M - q) / 2, or the whole part of (M - q + 1) / 2; q likewise of p M
    low, high = equal_tail(ordered=np.arange(1, n + 1), level=level)
    assert low == rank and high == rank + int(level * n + 0.5)


@pytest.mark.parametrize("interval", [equal_tail, shortest])
def test_intervals_refused(interval):
    with pytest.raises(ValueError, match="^10 draws are too few for an interval of level 0.95; draw 11 or more$"):
        interval(ordered=np.arange(10), level=0.95)
    interval(ordered=np.arange(11), level=0.95)


@pytest.mark.parametrize("level", [0, 1, -0.1, 95, np.nan])
def test_levels_refused(level):
    with pytest.raises(ValueError, match=f"^level: a share inside lies between 0 and 1, not at {level}$"):
        intervals.check_level(level)


@pytest.mark.parametrize(("u", "digits", "tolerance"), [
    (0.0996, 2, 0.005), (0.0994, 2, 0.0005), (0.996, 2, 0.05), (0.994, 2, 0.005), (35, 1, 5), (1234, 3, 5), (0, 2, 0)])
def test_numerical_tolerance(u, digits, tolerance):
    assert intervals.numerical_tolerance(u=u, digits=digits) == pytest.approx(tolerance, rel=1e-12)
    assert uncertainty.numerical_tolerance is intervals.numerical_tolerance


def test_numerical_tolerance_refused():
    for digits in (0, 1.5, -1):
        with pytest.raises(ValueError, match="^digits: a whole number above 0, not "):
            intervals.numerical_tolerance(u=1, digits=digits)
