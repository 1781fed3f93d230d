"""kit.trials: values worked out by ourselves, to show that a result has moved. They are no evidence that it was
right."""
import pytest

from kit import trials


@pytest.mark.parametrize("x, n, low, high", [
    (1, 1, 0.0250, 1), (3, 3, 0.2924, 1), (3, 5, 0.1466, 0.9473), (5, 5, 0.4782, 1), (7, 10, 0.3475, 0.9333),
    (0, 10, 0, 0.3085)])
def test_clopper_pearson(x, n, low, high):
    assert trials.success_interval(successes=x, trials=n) == pytest.approx((low, high), abs=0.00005)


@pytest.mark.parametrize("x, n, low, high", [(1, 1, 0.1467, 1), (3, 5, 0.2094, 0.9056), (7, 10, 0.3942, 0.9073)])
def test_jeffreys(x, n, low, high):
    assert trials.success_interval(successes=x, trials=n, method="jeffreys") == pytest.approx((low, high), abs=0.00005)


@pytest.mark.parametrize("n, low", [(1, 0.0500), (3, 0.3684), (5, 0.5493), (10, 0.7411), (30, 0.9050)])
def test_all_good(n, low):
    assert trials.all_good_lower_bound(trials=n) == pytest.approx(low, abs=0.00005)


@pytest.mark.parametrize("good, chance, n", [(3, 0.5, 9), (3, 0.7, 6), (1, 0.3, 7)])
def test_blanks(good, chance, n):
    assert trials.blanks_needed(good=good, chance=chance, confidence=0.90) == n


def test_six_steps_at_nine_tenths():
    assert trials.rolled_yield(chances=[0.9] * 6) == pytest.approx(0.5314, abs=0.00005)


def test_tolerance_factors():
    assert trials.tolerance_factor(n=5, coverage=0.90, confidence=0.95, sides=1) == pytest.approx(3.407, abs=0.0005)
    assert trials.tolerance_factor(n=43, coverage=0.90, confidence=0.99, sides=2) == pytest.approx(2.2228, abs=0.00005)


def test_three_of_five_and_what_follows():
    known = trials.beta_update(successes=3, trials=5)
    assert (known.alpha, known.beta) == (4, 3)
    assert known.mean == pytest.approx(0.5714, abs=0.00005)
    assert known.sd == pytest.approx(0.1750, abs=0.00005)
    assert known.interval() == pytest.approx((0.2228, 0.8819), abs=0.00005)
    assert trials.predict_all_good(posterior=known, more=3) == pytest.approx(0.2381, abs=0.00005)


@pytest.mark.parametrize("good, n", [(1, 2), (2, 4), (3, 6)])
def test_blanks_at_an_even_chance(good, n):
    assert trials.blanks_needed(good=good, chance=0.5, confidence=0.65) == n
