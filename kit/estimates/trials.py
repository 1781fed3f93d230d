"""The maker's own trials: what a count of successes shows, and how many more trials are needed.

A part made once shows that it can be made; it says next to nothing about how often. Chances, coverages and confidences
are numbers between 0 and 1, both excluded; counts are whole. All trials count, failures too, and they are taken
as independent and alike: trials that the maker learnt from, or that shared one blank, show less than they seem to.
"""
from dataclasses import dataclass

import numpy as np

from kit.base import tables, words
from kit.base.units import Q, magnitude, number, units

METHODS = ("clopper-pearson", "jeffreys")


def _check_whole(least, **counts):
    for name, value in counts.items():
        odd = np.ravel(value)[np.ravel(value != np.round(value))]
        if odd.size:
            raise ValueError(f"{name}: must be a whole number, not {number(odd[0], 4)}")
        if np.min(value) < least:
            raise ValueError(f"{name}: {np.min(value):g} is not enough; at least {least} is needed")


def _check_part(part, all_of, **counts):
    """That no more succeed than were tried."""
    few, many = np.broadcast_arrays(counts[part], counts[all_of])
    if np.any(few > many):
        worst = np.argmax(np.ravel(few - many))
        raise ValueError(f"{part}: {np.ravel(few)[worst]:g} of {np.ravel(many)[worst]:g} cannot be; "
                         f"{all_of} counts all of them, good and bad")


def _check_chance(**chances):
    for name, value in chances.items():
        wrong = np.ravel(value)[np.ravel((value <= 0) | (value >= 1))]
        if wrong.size:
            hint = "write 95 % as 0.95" if wrong[0] > 1 else "nothing here is certain or impossible"
            raise ValueError(f"{name}: {wrong[0]:g} does not lie between 0 and 1 (both excluded); {hint}")


# ------------------------------------------------------------------------------------------- counts of successes

@units(successes="", trials="", level="")
def success_interval(successes, trials, level=0.95, method="clopper-pearson"):
    """Range of true success rates that a count of successes is compatible with.

    successes, trials: counts. level: of confidence. Numbers or arrays. method: "clopper-pearson", which holds its level
    whatever the true rate and is therefore wide, or "jeffreys", which holds it on the average over rates and is
    narrower. Result: (low, high), plain numbers 0 to 1.

    Formula, with tail = (1 - level) / 2: Clopper-Pearson from the tail quantile of Beta(x, n - x + 1) to the 1 - tail
    quantile of Beta(x + 1, n - x); Jeffreys between those of Beta(x + 1/2, n - x + 1/2). Either way the low end is 0
    where none succeeded, the high end 1 where all did. The level is split evenly, so that 3 of 3 leave a low end lower
    than `all_good_lower_bound`, which spends it all on one side.
    Raises ValueError for no trials, more successes than trials, counts that are not whole and an unknown method.

    >>> import kit
    >>> low, high = kit.trials.success_interval(successes=7, trials=8)
    >>> f"{low:.3f} to {high:.3f}"
    '0.473 to 0.997'

    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404; L. D. Brown, T. T. Cai and A. DasGupta, Interval
    Estimation for a Binomial Proportion, Statistical Science 16 (2001) 101, for Jeffreys and the rule at its ends.
    """
    from scipy import stats

    _check_whole(0, successes=successes)
    _check_whole(1, trials=trials)
    _check_part("successes", "trials", successes=successes, trials=trials)
    _check_chance(level=level)
    if method not in METHODS:
        raise ValueError(f"method: unknown word {method!r}; {tables.nearest(method, METHODS)}")
    good, bad = successes, trials - successes
    a, b = (0, 1) if method == "clopper-pearson" else (0.5, 0.5)   # the high end is the low one of the failures
    low = stats.beta.ppf((1 - level) / 2, good + a, bad + b)
    high = stats.beta.isf((1 - level) / 2, good + b, bad + a)
    return np.where(good == 0, 0.0, low)[()], np.where(bad == 0, 1.0, high)[()]


@units(trials="", level="")
def all_good_lower_bound(trials, level=0.95):
    """Success rate below which a row of successes without a failure would be surprising.

    trials: all of them good. level: of confidence, one-sided. Numbers or arrays. Result: plain number 0 to 1.

    Formula: (1 - level)^(1 / trials). For long rows close to 1 - 3 / trials at 95 % (the rule of three).
    Raises ValueError for no trials.
    Source: the exact limit on one side, in every textbook of statistics; the rule of three in E. Eypasch et al.,
    British Medical Journal 311 (1995) 619.
    """
    _check_whole(1, trials=trials)
    _check_chance(level=level)
    return (1 - level)**(1 / trials)


@units(successes="", trials="")
def success_words(successes, trials):
    """A sentence on a count of successes, so that it is never told without its interval.

    successes, trials: counts, one of each. Result: text with the count, the rates that it is compatible with
    (Clopper-Pearson, 95 %) and n.

    Raises as `success_interval`. Source: as `success_interval`.
    """
    if np.ndim(successes) or np.ndim(trials):
        raise ValueError("successes, trials: one count of each, not an array")
    low, high = success_interval(successes=successes, trials=trials)
    if low == 0:
        said = f"be as high as {words.percent(high)}"
    elif high == 1:
        said = f"be as low as {words.percent(low)}"
    else:
        said = f"lie anywhere from {words.percent(low)} to {words.percent(high)}"
    return (f"{successes:.0f} of {trials:.0f} succeeded: with that alone the true rate may {said} "
            f"(95 %, Clopper-Pearson); n = {trials:.0f}")


# ------------------------------------------------------------------------------------------------ how many to start

@units(good="", chance="", confidence="")
def blanks_needed(good, chance, confidence):
    """Blanks to start so that enough good parts come out.

    good: parts wanted. chance: that one blank becomes a good part, taken as known. confidence: chance of reaching
    `good`. Numbers or arrays. Result: whole number, the least that does.

    Formula: least n with P(at least `good` of n succeed) >= confidence, binomial; found as `good` plus the quantile of
    the failures before the good-th success (negative binomial).
    Range: a chance known only from a few trials makes it too small; `predict` carries that doubt.
    Raises ValueError where good is below 1 or a chance is not between 0 and 1.
    Source: in every textbook of probability.
    """
    from scipy import stats

    _check_whole(1, good=good)
    _check_chance(chance=chance, confidence=confidence)
    return np.asarray(good + stats.nbinom.ppf(confidence, good, chance)).astype(int)[()]


@units(chances="")
def rolled_yield(chances):
    """Chance that a part comes through all steps, each of which it may fail.

    chances: one for each step, a list; or a list of arrays (draws) of one length. Result: plain number, or an array.

    Formula: their product.
    Range: steps that fail independently; steps that fail together (a bad blank) leave more.
    Raises ValueError where a chance is not between 0 and 1.

    >>> import kit
    >>> through = kit.trials.rolled_yield(chances=[0.9, 0.8, 0.95])
    >>> f"{through:.2f}", int(kit.trials.blanks_needed(good=4, chance=through, confidence=0.9))
    ('0.68', 8)

    Source: P. Keller, Six Sigma Demystified (2011), rolled throughput yield.
    """
    _check_chance(chances=chances)
    return np.prod(np.atleast_1d(chances), axis=0)[()]


@units(n="", coverage="", confidence="")
def tolerance_factor(n, coverage, confidence, sides):
    """How many sample standard deviations from the sample mean hold that share of all parts to come.

    n: parts measured, from 2. coverage: share of all parts. confidence: that the limits hold at least that share.
    Numbers or arrays. sides: 1 for one limit (mean + k s, or mean - k s), 2 for mean - k s to mean + k s.
    Result: k, plain number.

    Formula, exact: one-sided, the `confidence` quantile of noncentral t with n - 1 degrees of freedom and
    noncentrality z sqrt(n), over sqrt(n), z the normal quantile of coverage. Two-sided, the k at which
    E[P(chi2(n - 1) > (n - 1) r^2 / k^2)] = confidence, the mean over the sample mean u ~ N(0, 1/n), with r(u) the half
    width about u that holds the coverage; integrated numerically.
    Range: parts that scatter normally; where they do not, `distribution_free_n`.
    Raises ValueError for fewer than 2 parts, other sides, and chances not between 0 and 1.

    >>> import kit
    >>> f"{kit.trials.tolerance_factor(n=5, coverage=0.9, confidence=0.9, sides=2):.2f}"
    '3.50'

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, for one side; R. E. Odeh and D. B. Owen, Tables
    for Normal Tolerance Limits (1980), for the two-sided integral, from memory.
    """
    from scipy import stats

    _check_whole(2, n=n)
    _check_chance(coverage=coverage, confidence=confidence)
    if sides == 1:
        return stats.nct.ppf(confidence, n - 1, stats.norm.ppf(coverage) * np.sqrt(n)) / np.sqrt(n)
    if sides == 2:
        return np.vectorize(_two_sided, otypes=[float])(n, coverage, confidence)[()]
    raise ValueError(f"sides: {sides!r} is neither 1 (one limit) nor 2 (a limit on either side)")


def _two_sided(n, coverage, confidence):
    from scipy import optimize, stats

    # sample mean in standard errors, the other half mirrors it; for a bell the plain sum over even steps is best
    u = np.linspace(0, 8, 101)
    weights = 2 * stats.norm.pdf(u) * (u[1] - u[0])
    weights[0] /= 2
    r_squared = stats.ncx2.ppf(coverage, 1, u**2 / n)

    def excess(k):
        return weights @ stats.chi2.sf((n - 1) * r_squared / k**2, n - 1) - confidence

    top = 1.0
    while excess(top) < 0:
        top *= 2
    return optimize.brentq(excess, 1e-6, top, xtol=1e-12)


@units(coverage="", confidence="")
def distribution_free_n(coverage, confidence):
    """Parts to measure so that the worst of them bounds a share of all parts, however they scatter.

    coverage: share of all parts that lie on the good side of the worst one measured. confidence: of that. Numbers or
    arrays. Result: whole number. The same number of trials, all good, shows a success rate of at least `coverage`.

    Formula: least n with coverage^n <= 1 - confidence.
    Raises ValueError where a chance is not between 0 and 1.
    Source: S. S. Wilks, Annals of Mathematical Statistics 12 (1941) 91, from memory.
    """
    _check_chance(coverage=coverage, confidence=confidence)
    exact = np.log1p(-confidence) / np.log(coverage)
    return np.ceil(exact * (1 - 1e-12)).astype(int)[()]   # a whole number must not round up to the next


# ------------------------------------------------------------------------------------------- what is to be expected

@dataclass(frozen=True)
class Posterior:
    """What is known of a success rate: a Beta(alpha, beta) distribution."""
    alpha: float
    beta: float

    @property
    def mean(self):
        """Expected rate, and the chance that the next one succeeds."""
        return self.alpha / (self.alpha + self.beta)

    @property
    def sd(self):
        """Standard deviation of the rate."""
        return np.sqrt(self.mean * (1 - self.mean) / (self.alpha + self.beta + 1))

    def interval(self, level=0.95):
        """(low, high) that holds the rate with the chance `level`, the rest split evenly."""
        from scipy import stats

        _check_chance(level=level)
        return (stats.beta.ppf((1 - level) / 2, self.alpha, self.beta),
                stats.beta.isf((1 - level) / 2, self.alpha, self.beta))


@units(successes="", trials="")
def beta_update(successes, trials, prior=(1, 1)):
    """What is known of a success rate after some trials.

    successes, trials: counts, numbers or arrays. prior: (alpha, beta) before them; (1, 1) holds all rates for equally
    likely, (0.5, 0.5) is Jeffreys's; the alpha and beta of an earlier Posterior carry on from there.
    Result: Posterior, with alpha, beta, mean, sd and interval(level).

    Formula: alpha + successes, beta + failures.
    Raises ValueError for no trials, more successes than trials, and a prior that is not two positive numbers.
    Source: A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 2.4.
    """
    _check_whole(0, successes=successes)
    _check_whole(1, trials=trials)
    _check_part("successes", "trials", successes=successes, trials=trials)
    if np.shape(prior) != (2,):
        raise ValueError(f"prior: two numbers (alpha, beta) are needed, not {prior!r}")
    alpha, beta = (magnitude(value, "> 0", "prior") for value in prior)
    return Posterior(alpha=alpha + successes, beta=beta + trials - successes)


@units(more="")
def predict_all_good(posterior, more):
    """Chance that all of the next parts are good.

    posterior: from `beta_update`. more: parts to come, number or array. Result: plain number 0 to 1.

    Formula: B(alpha + more, beta) / B(alpha, beta). It is more than mean^more: if the first come out well, the rate is
    likely to be high.
    Raises ValueError where more is below 1.
    Source: beta-binomial distribution, in every textbook of Bayesian statistics.
    """
    from scipy import special

    _check_whole(1, more=more)
    alpha, beta = posterior.alpha, posterior.beta
    return np.exp(special.betaln(alpha + more, beta) - special.betaln(alpha, beta))


@units(more="", at_least="")
def predict(posterior, more, at_least):
    """Chance that at least so many of the next parts are good.

    posterior: from `beta_update`. more: parts to come. at_least: good ones among them. Numbers or arrays.
    Result: plain number 0 to 1.

    Formula: sum of the beta-binomial chances from at_least to more.
    Raises ValueError where more is below 1 or at_least above more.
    Source: as `predict_all_good`.
    """
    from scipy import stats

    _check_whole(0, at_least=at_least)
    _check_whole(1, more=more)
    _check_part("at_least", "more", at_least=at_least, more=more)
    return stats.betabinom.sf(at_least - 1, more, posterior.alpha, posterior.beta)


# --------------------------------------------------------------------------------------------- few measured values

def _readings(readings):
    """(plain array, its unit or None, count) of readings with or without a unit."""
    unit = readings.units if isinstance(readings, Q) else None
    values = magnitude(readings if unit is None else readings.magnitude, "", "readings")
    if np.ndim(values) != 1 or len(values) < 2:
        raise ValueError("readings: a list of at least 2 is needed; one reading shows no spread")
    return values, unit, len(values)


def _interval(low, high, unit):
    return (low, high) if unit is None else (Q(low, unit), Q(high, unit))


@units(level="")
def mean_interval(readings, level=0.95):
    """Interval for the true mean of a few readings.

    readings: a list, with or without a unit, at least 2. level: of confidence. Result: (low, high) in their unit.

    Formula: mean -+ t s / sqrt(n), t of n - 1 degrees of freedom.
    Range: independent readings that scatter normally; an error common to all is not in it.
    Raises ValueError for fewer than 2 readings.

    >>> import kit
    >>> low, high = kit.trials.mean_interval(readings=kit.Q([5.01, 5.03, 5.02], "mm"))
    >>> kit.units.show(low, 4), kit.units.show(high, 4)
    ('4.995 mm', '5.045 mm')

    Source: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, annex G.
    """
    from scipy import stats

    _check_chance(level=level)
    values, unit, n = _readings(readings)
    half = stats.t.ppf((1 + level) / 2, n - 1) * values.std(ddof=1) / np.sqrt(n)
    return _interval(values.mean() - half, values.mean() + half, unit)


@units(level="")
def spread_interval(readings, level=0.95):
    """Interval for the true standard deviation behind a few readings.

    readings: a list, with or without a unit, at least 2. level: of confidence. Result: (low, high) in their unit.

    Formula: s sqrt((n - 1) / q), q the (1 + level) / 2 and (1 - level) / 2 quantiles of chi-square with n - 1 degrees
    of freedom.
    Range: independent readings that scatter normally.
    Raises ValueError for fewer than 2 readings.

    >>> import kit
    >>> low, high = kit.trials.spread_interval(readings=kit.Q([5.01, 5.03, 5.02], "mm"))
    >>> kit.units.show(low.to("um")), kit.units.show(high.to("um"))
    ('5.21 µm', '62.8 µm')

    Source: in every textbook of statistics.
    """
    from scipy import stats

    _check_chance(level=level)
    values, unit, n = _readings(readings)
    low, high = values.std(ddof=1) * np.sqrt((n - 1) / stats.chi2.ppf([(1 + level) / 2, (1 - level) / 2], n - 1))
    return _interval(low, high, unit)
