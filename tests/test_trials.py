"""kit.trials: definitions worked out another way, laws over whole ranges, simulation, bad input."""
import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from kit import trials
from kit.units import Q

counts = st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
methods = st.sampled_from(trials.METHODS)
chances = st.floats(0.02, 0.98)


# ---------------------------------------------------------------------------------------------- so many of so many

@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.999])
def test_clopper_pearson_as_scipy_inverts_the_test(level):
    for n in (1, 2, 7, 40):
        for x in range(n + 1):
            low, high = trials.success_interval(successes=x, trials=n, level=level)
            theirs = stats.binomtest(x, n).proportion_ci(confidence_level=level, method="exact")
            assert (low, high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_clopper_pearson_by_its_definition():
    low, high = trials.success_interval(successes=3, trials=11, level=0.9)
    assert stats.binom.sf(2, 11, low) == pytest.approx(0.05)     # were the rate low, 3 or more would be this rare
    assert stats.binom.cdf(3, 11, high) == pytest.approx(0.05)   # were it high, 3 or fewer


@pytest.mark.parametrize("n", [2, 4, 9])
def test_clopper_pearson_holds_its_level_at_every_rate(n):
    low, high = trials.success_interval(successes=np.arange(n + 1), trials=n, level=0.9)
    rates = np.linspace(0.001, 0.999, 997)[:, None]
    covered = (stats.binom.pmf(np.arange(n + 1), n, rates) * ((low <= rates) & (rates <= high))).sum(axis=1)
    assert covered.min() >= 0.9
    assert covered.mean() < 0.995   # and is not simply everything


def test_jeffreys_by_integrating_likelihood_and_prior():
    def weight(p):
        return p**4 * (1 - p)**2 / np.sqrt(p * (1 - p))   # 4 of 6 with prior 1/sqrt(p (1 - p))

    low, high = trials.success_interval(successes=4, trials=6, level=0.8, method="jeffreys")
    whole = integrate.quad(weight, 0, 1)[0]
    assert integrate.quad(weight, 0, low)[0] / whole == pytest.approx(0.1, abs=1e-7)
    assert integrate.quad(weight, high, 1)[0] / whole == pytest.approx(0.1, abs=1e-7)


def test_jeffreys_holds_its_level_on_the_average():
    low, high = trials.success_interval(successes=np.arange(11), trials=10, level=0.95, method="jeffreys")
    rates = np.linspace(0.0005, 0.9995, 1000)[:, None]
    covered = (stats.binom.pmf(np.arange(11), 10, rates) * ((low <= rates) & (rates <= high))).sum(axis=1)
    assert covered.mean() == pytest.approx(0.95, abs=0.01)
    assert covered.min() < 0.95


@given(counts, methods, chances)
def test_interval_holds_the_share_seen(count, method, level):
    low, high = trials.success_interval(successes=count[0], trials=count[1], level=max(level, 0.5), method=method)
    assert 0 <= low <= count[0] / count[1] <= high <= 1
    assert (low == 0) == (count[0] == 0) and (high == 1) == (count[0] == count[1])


@given(counts, methods, chances)
def test_interval_of_failures_mirrors_that_of_successes(count, method, level):
    x, n = count
    low, high = trials.success_interval(successes=x, trials=n, level=level, method=method)
    low_bad, high_bad = trials.success_interval(successes=n - x, trials=n, level=level, method=method)
    assert (low, high) == pytest.approx((1 - high_bad, 1 - low_bad), abs=1e-12)


@given(counts, methods, st.integers(2, 5))
def test_interval_shrinks_with_n_and_grows_with_level(count, method, times):
    x, n = count

    def width(x, n, level):
        low, high = trials.success_interval(successes=x, trials=n, level=level, method=method)
        return high - low

    assert width(times * x, times * n, 0.95) < width(x, n, 0.95) < width(x, n, 0.99)


@given(counts, chances)
def test_jeffreys_lies_inside_clopper_pearson(count, level):
    wide, narrow = (trials.success_interval(successes=count[0], trials=count[1], level=level, method=method)
                    for method in trials.METHODS)
    assert wide[0] <= narrow[0] and narrow[1] <= wide[1]


def test_arrays_broadcast_and_scalars_stay_scalars():
    low, high = trials.success_interval(successes=[0, 2, 4], trials=4)
    assert np.shape(low) == np.shape(high) == (3,)
    assert (low[1], high[1]) == trials.success_interval(successes=2, trials=4)
    assert np.ndim(trials.success_interval(successes=2, trials=4)[0]) == 0


@given(st.integers(1, 200), chances)
def test_all_good_bound_is_the_one_sided_exact_limit(n, level):
    theirs = stats.binomtest(n, n, alternative="greater").proportion_ci(confidence_level=level, method="exact").low
    assert trials.all_good_lower_bound(trials=n, level=level) == pytest.approx(theirs, abs=1e-9)


@given(st.integers(1, 50))
def test_two_sided_interval_of_all_good_is_the_more_careful(n):
    assert trials.success_interval(successes=n, trials=n)[0] < trials.all_good_lower_bound(trials=n)


@pytest.mark.parametrize("successes, n, said", [
    (1, 1, "1 of 1 succeeded: with that alone the true rate may be as low as 3 % (95 %, Clopper-Pearson); n = 1"),
    (0, 10, "0 of 10 succeeded: with that alone the true rate may be as high as 31 % (95 %, Clopper-Pearson); n = 10"),
    (3, 5, "3 of 5 succeeded: with that alone the true rate may lie anywhere from 15 % to 95 % (95 %, Clopper-P"),
])
def test_success_words(successes, n, said):
    words = trials.success_words(successes=successes, trials=n)
    assert words.startswith(said) and words.endswith(f"; n = {n}")


def test_success_words_claim_no_certainty():
    assert "as low as >99 %" in trials.success_words(successes=1_000_000, trials=1_000_000)
    assert "as high as <1 %" in trials.success_words(successes=0, trials=1_000_000)


# ------------------------------------------------------------------------------------------------- how many to start

@given(st.integers(1, 12), st.floats(0.05, 0.95), chances)
def test_blanks_are_just_enough(good, chance, confidence):
    n = trials.blanks_needed(good=good, chance=chance, confidence=confidence)
    assert stats.binom.sf(good - 1, n, chance) >= confidence - 1e-12
    assert n == good or stats.binom.sf(good - 1, n - 1, chance) < confidence


def test_blanks_where_the_confidence_is_met_to_the_letter():
    assert trials.blanks_needed(good=1, chance=0.5, confidence=0.75) == 2
    assert trials.blanks_needed(good=2, chance=0.5, confidence=0.25) == 2
    assert trials.blanks_needed(good=2, chance=0.5, confidence=0.6875) == 4   # 11/16
    assert trials.blanks_needed(good=[1, 2], chance=0.5, confidence=0.75).tolist() == [2, 5]   # 11/16, then 26/32


def test_rolled_yield_by_simulation():
    steps = [0.9, 0.7, 0.95]
    through = (np.random.default_rng(1).random((100_000, 3)) < steps).all(axis=1).mean()
    assert trials.rolled_yield(chances=steps) == pytest.approx(through, abs=4 * np.sqrt(0.6 * 0.4 / 100_000))


def test_rolled_yield_of_draws():
    assert trials.rolled_yield(chances=[[0.5, 0.6], [0.5, 0.1]]).tolist() == pytest.approx([0.25, 0.06])
    assert trials.rolled_yield(chances=0.3) == trials.rolled_yield(chances=[0.3]) == 0.3


@pytest.mark.parametrize("n, coverage, confidence", [(2, 0.8, 0.75), (4, 0.9, 0.95), (12, 0.99, 0.5)])
@pytest.mark.parametrize("sides", [1, 2])
def test_tolerance_factor_by_simulation(n, coverage, confidence, sides):
    k = trials.tolerance_factor(n=n, coverage=coverage, confidence=confidence, sides=sides)
    parts = np.random.default_rng(n).normal(size=(200_000, n))
    mean, s = parts.mean(axis=1), parts.std(axis=1, ddof=1)
    held = stats.norm.cdf(mean + k * s) - (stats.norm.cdf(mean - k * s) if sides == 2 else 0)
    share = (held >= coverage).mean()
    assert share == pytest.approx(confidence, abs=4 * np.sqrt(confidence * (1 - confidence) / 200_000))


def test_one_sided_factor_by_integration():
    k = trials.tolerance_factor(n=7, coverage=0.9, confidence=0.8, sides=1)
    z = stats.norm.ppf(0.9)

    def both(s):   # chance that mean + k s reaches z, weighed with the density of s
        return stats.norm.sf((z - k * s) * np.sqrt(7)) * stats.chi.pdf(s * np.sqrt(6), 6) * np.sqrt(6)

    assert integrate.quad(both, 0, 6)[0] == pytest.approx(0.8, abs=1e-8)


def test_two_sided_factor_by_integrating_over_the_spread():
    """The other order: for each sample spread the sample means whose limits still hold the coverage."""
    k = trials.tolerance_factor(n=5, coverage=0.9, confidence=0.8, sides=2)

    def both(s):
        def short(u):
            return stats.norm.cdf(u + k * s) - stats.norm.cdf(u - k * s) - 0.9
        if short(0) < 0:
            return 0
        reach = optimize.brentq(short, 0, 60)
        return (2 * stats.norm.cdf(reach * np.sqrt(5)) - 1) * stats.chi.pdf(s * 2, 4) * 2

    least = stats.norm.ppf(0.95) / k
    assert integrate.quad(both, least, 6, limit=200)[0] == pytest.approx(0.8, abs=1e-6)


@given(st.integers(2, 30), chances, chances, st.sampled_from([1, 2]))
def test_tolerance_factor_grows_with_what_is_asked(n, coverage, confidence, sides):
    def k(**other):
        asked = {"n": n, "coverage": coverage, "confidence": confidence, "sides": sides} | other
        return trials.tolerance_factor(**asked)

    assert k(coverage=coverage + 0.01) > k() and k(confidence=confidence + 0.01) > k()
    assert k(sides=2) > k(sides=1)
    if confidence > 0.9 and coverage > 0.7:
        assert k(n=n + 1) < k()


def test_tolerance_factor_tends_to_the_normal_quantile():
    for sides, limit in ((1, stats.norm.ppf(0.95)), (2, stats.norm.ppf(0.975))):
        k = trials.tolerance_factor(n=1_000_000, coverage=0.95, confidence=0.5, sides=sides)
        assert k == pytest.approx(limit, abs=1e-4)
    assert trials.tolerance_factor(n=[4, 5], coverage=0.9, confidence=0.9, sides=2).shape == (2,)


@given(chances, chances)
def test_distribution_free_n_is_just_enough(coverage, confidence):
    n = trials.distribution_free_n(coverage=coverage, confidence=confidence)
    assert 1 - coverage**n >= confidence - 1e-12
    assert n == 1 or 1 - coverage**(n - 1) < confidence


def test_distribution_free_n_where_it_is_met_to_the_letter():
    assert trials.distribution_free_n(coverage=0.9, confidence=0.19) == 2
    assert trials.distribution_free_n(coverage=0.5, confidence=[0.5, 0.75, 0.875]).tolist() == [1, 2, 3]


@given(st.integers(1, 100), chances)
def test_distribution_free_n_undoes_the_all_good_bound(n, level):
    bound = trials.all_good_lower_bound(trials=n, level=level)
    if 0 < bound < 1:
        assert trials.distribution_free_n(coverage=bound, confidence=level) == n


# ------------------------------------------------------------------------------------------------ what is to come

@given(counts, st.floats(0.3, 5), st.floats(0.3, 5))
def test_posterior_by_integrating_likelihood_and_prior(count, a, b):
    x, n = count
    known = trials.beta_update(successes=x, trials=n, prior=(a, b))
    p = np.linspace(0, 1, 20_001)[1:-1]
    weight = stats.beta.pdf(p, a, b) * stats.binom.pmf(x, n, p)
    weight /= weight.sum()
    if min(known.alpha, known.beta) > 1:   # else the density has a pole that the grid misses
        assert known.mean == pytest.approx((weight * p).sum(), abs=1e-4)
        assert known.sd == pytest.approx(np.sqrt((weight * (p - known.mean)**2).sum()), abs=1e-4)
        low, high = known.interval(level=0.9)
        assert weight[p < low].sum() == pytest.approx(0.05, abs=1e-3)
        assert weight[p > high].sum() == pytest.approx(0.05, abs=1e-3)


@given(counts, counts)
def test_trials_may_be_added_in_two_goes(first, second):
    half = trials.beta_update(successes=first[0], trials=first[1])
    twice = trials.beta_update(successes=second[0], trials=second[1], prior=(half.alpha, half.beta))
    assert twice == trials.beta_update(successes=first[0] + second[0], trials=first[1] + second[1])


@given(counts, st.integers(1, 25))
def test_prediction_by_integration_over_the_rate(count, more):
    known = trials.beta_update(successes=count[0], trials=count[1])
    at_least = more // 2
    got = trials.predict(posterior=known, more=more, at_least=at_least)
    density = stats.beta(known.alpha, known.beta)
    theirs = integrate.quad(lambda p: stats.binom.sf(at_least - 1, more, p) * density.pdf(p), 0, 1,
                            points=[known.mean], limit=200)[0]
    assert got == pytest.approx(theirs, abs=1e-6)


@given(counts, st.integers(1, 25))
def test_all_good_is_the_last_of_the_predictions(count, more):
    known = trials.beta_update(successes=count[0], trials=count[1])
    all_good = trials.predict_all_good(posterior=known, more=more)
    assert trials.predict(posterior=known, more=more, at_least=more) == pytest.approx(all_good, rel=1e-6, abs=1e-12)
    assert trials.predict(posterior=known, more=more, at_least=0) == pytest.approx(1)
    assert trials.predict_all_good(posterior=known, more=1) == pytest.approx(known.mean)
    if more > 1:
        assert all_good > known.mean**more   # a doubtful rate is more forgiving than its mean


def test_prediction_takes_arrays():
    known = trials.beta_update(successes=3, trials=5)
    chance = trials.predict(posterior=known, more=4, at_least=np.arange(5))
    assert chance.shape == (5,) and (np.diff(chance) < 0).all()
    assert trials.predict_all_good(posterior=known, more=[1, 2]).shape == (2,)


# ---------------------------------------------------------------------------------------------- few measured values

@given(st.lists(st.floats(-50, 50), min_size=2, max_size=12), chances)
def test_mean_interval_as_scipy_has_it(readings, level):
    if np.std(readings) < 1e-6:
        return
    theirs = stats.ttest_1samp(readings, 0).confidence_interval(level)
    got = trials.mean_interval(readings=readings, level=level)
    assert got == pytest.approx((theirs.low, theirs.high), rel=1e-6, abs=1e-6)


def test_spread_interval_holds_its_level_by_simulation():
    sample = np.random.default_rng(4).normal(scale=3.0, size=(4000, 4))
    held = [low <= 3 <= high for low, high in (trials.spread_interval(readings=row, level=0.8) for row in sample)]
    below = [high < 3 for _, high in (trials.spread_interval(readings=row, level=0.8) for row in sample)]
    assert np.mean(held) == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / 4000))
    assert np.mean(below) == pytest.approx(0.1, abs=4 * np.sqrt(0.09 / 4000))


@pytest.mark.parametrize("interval", [trials.mean_interval, trials.spread_interval])
def test_readings_keep_their_unit(interval):
    bare = interval(readings=[8.01, 8.03, 8.02])
    with_unit = interval(readings=Q([8.01, 8.03, 8.02], "mm"))
    other = interval(readings=Q([8.01, 8.03, 8.02], "mm").to("um"))
    assert [q.m_as("mm") for q in with_unit] == pytest.approx(bare)
    assert [q.m_as("mm") for q in other] == pytest.approx(bare)
    assert other[0].units == Q("1 um").units


# -------------------------------------------------------------------------------------------------------- bad input

KNOWN = trials.Posterior(alpha=4, beta=3)


@pytest.mark.parametrize("wrong, said", [
    (lambda: trials.success_interval(successes=0, trials=0), "trials: 0 is not enough; at least 1 is needed"),
    (lambda: trials.success_interval(successes=4, trials=3), "successes: 4 of 3 cannot be; trials counts all of them"),
    (lambda: trials.success_interval(successes=[1, 5], trials=[3, 4]), "successes: 5 of 4 cannot be"),
    (lambda: trials.success_interval(successes=-1, trials=3), "successes: -1 is not enough"),
    (lambda: trials.success_interval(successes=1.5, trials=3), "successes: must be a whole number, not 1.5"),
    (lambda: trials.success_interval(successes=1, trials=3, level=95), "level: 95 does not lie .* write 95 % as 0.95"),
    (lambda: trials.success_interval(successes=1, trials=3, level=1), "level: 1 does not lie .* certain or impossible"),
    (lambda: trials.success_interval(successes=1, trials=3, method="jefreys"), "did you mean 'jeffreys'"),
    (lambda: trials.success_interval(successes=float("nan"), trials=3), "successes: not a finite number"),
    (lambda: trials.all_good_lower_bound(trials=0), "trials: 0 is not enough"),
    (lambda: trials.success_words(successes=0, trials=0), "trials: 0 is not enough"),
    (lambda: trials.success_words(successes=[1, 1], trials=2), "one count of each"),
    (lambda: trials.blanks_needed(good=0, chance=0.5, confidence=0.9), "good: 0 is not enough"),
    (lambda: trials.blanks_needed(good=1, chance=1, confidence=0.9), "chance: 1 does not lie"),
    (lambda: trials.blanks_needed(good=1, chance=0, confidence=0.9), "chance: 0 does not lie"),
    (lambda: trials.blanks_needed(good=1, chance=0.5, confidence=1), "confidence: 1 does not lie"),
    (lambda: trials.rolled_yield(chances=[0.9, 1.0]), "chances: 1 does not lie"),
    (lambda: trials.tolerance_factor(n=1, coverage=0.9, confidence=0.9, sides=1), "n: 1 is not enough; at least 2"),
    (lambda: trials.tolerance_factor(n=5, coverage=0.9, confidence=0.9, sides="both"), "sides: 'both' is neither 1"),
    (lambda: trials.tolerance_factor(n=5, coverage=1, confidence=0.9, sides=2), "coverage: 1 does not lie"),
    (lambda: trials.distribution_free_n(coverage=0.9, confidence=0), "confidence: 0 does not lie"),
    (lambda: trials.beta_update(successes=0, trials=0), "trials: 0 is not enough"),
    (lambda: trials.beta_update(successes=1, trials=1, prior=(0, 1)), "prior: 0 makes no sense"),
    (lambda: trials.beta_update(successes=1, trials=1, prior=0.5), r"prior: two numbers \(alpha, beta\)"),
    (lambda: trials.predict(posterior=KNOWN, more=3, at_least=4), "at_least: 4 of 3 cannot be"),
    (lambda: trials.predict_all_good(posterior=KNOWN, more=0), "more: 0 is not enough"),
    (lambda: KNOWN.interval(level=0), "level: 0 does not lie"),
    (lambda: trials.mean_interval(readings=Q([8.0], "mm")), "readings: a list of at least 2"),
    (lambda: trials.spread_interval(readings=[1, float("inf")]), "readings: not a finite number"),
])
def test_bad_input_is_told_in_clear_words(wrong, said):
    with pytest.raises(ValueError, match=said):
        wrong()


def test_counts_carry_no_unit():
    with pytest.raises(pint.DimensionalityError, match="successes"):
        trials.success_interval(successes="2 mm", trials=3)
    with pytest.raises(TypeError, match="successes"):
        trials.success_interval(successes=True, trials=3)
