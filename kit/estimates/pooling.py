"""Readings of several workshops taken together: how far workshops differ, and what the next one may find."""
from dataclasses import dataclass

import numpy as np

METHODS = ("paule-mandel", "dersimonian-laird")
STEPS = 200     # of the spread between workshops that is integrated over


def between(values, errors, method="paule-mandel"):
    """Standard deviation between workshops, by the moments of their results.

    values: plain numbers, one a workshop, two or more. errors: standard error of each, in the same unit.
    method: "paule-mandel", the spread at which the weighted squares come to their number less one;
    "dersimonian-laird", one step of that from a spread of nothing. 0 where the results differ by no more than their
    errors.

    >>> round(between([10, 12, 11], [0.5, 0.5, 0.5]), 3)
    0.866

    Source: R. Kacker, Combining information from interlaboratory evaluations using a random effects model, Metrologia
    41 (2004) 132-136, after R. C. Paule and J. Mandel, J. Res. NBS 87 (1982) 377-385, and R. DerSimonian and N. Laird,
    Controlled Clinical Trials 7 (1986) 177-188.
    Raises ValueError for fewer than two values, an error that is not above 0, or an unknown method.
    """
    from scipy.optimize import brentq   # slow to load, and of use to few
    y, u = _checked(values, errors)
    if len(y) < 2:
        raise ValueError(f"{len(y)} workshop shows no spread between workshops; give two or more")
    if method not in METHODS:
        raise ValueError(f"no method {method!r}; known: {', '.join(METHODS)}")
    if method == "dersimonian-laird":
        w = u**-2
        q = np.sum(w * (y - np.average(y, weights=w))**2)
        return float(np.sqrt(max(q - (len(y) - 1), 0) / (w.sum() - np.sum(w**2) / w.sum())))

    def excess(tau):
        w = 1 / (u**2 + tau**2)
        return np.sum(w * (y - np.average(y, weights=w))**2) - (len(y) - 1)

    high = float(np.ptp(y)) or 1.0
    if excess(0.0) <= 0:
        return 0.0
    while excess(high) > 0:
        high *= 2
    return float(brentq(excess, 0.0, high, xtol=1e-14 * high))


@dataclass(frozen=True)
class Next:
    """What the next workshop may find: 5 %, 50 %, 95 % points. mean, error: of all workshops. spread: between them,
    the mean of what is believed."""
    low: float
    median: float
    high: float
    mean: float
    error: float
    spread: float


def next_workshop(values, errors, prior_mean, prior_sd):
    """What the next workshop may find, after those that have measured: a Next.

    values, errors: as `between`; one, or none, will do. prior_mean, prior_sd: what was believed before of the mean of
    all workshops, normal, in the same unit; the spread between workshops is believed to be half-normal with the same
    standard deviation. Both are integrated: the mean in closed form, the spread on a grid.
    Formula: for a spread t, weights 1 / (u^2 + t^2) and 1 / prior_sd^2 give mean m and variance v of the mean of all;
    the next is normal with mean m and variance v + t^2, weighted over t by the likelihood of the values.
    Source: A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 5.4, from memory.
    Raises ValueError for an error or a prior_sd that is not above 0.
    """
    y, u = _checked(values, errors)
    if not 0 < prior_sd < np.inf:
        raise ValueError(f"prior_sd: {prior_sd} must be above 0")
    tau = 3 * prior_sd * (np.arange(STEPS)[:, None] + 0.5) / STEPS   # middles of the steps
    v = u**2 + tau**2
    precision = prior_sd**-2 + (1 / v).sum(axis=1)
    mean = (prior_mean * prior_sd**-2 + (y / v).sum(axis=1)) / precision
    fit = (-0.5 * np.log(v).sum(axis=1) - 0.5 * np.log(precision) + 0.5 * precision * mean**2
           - 0.5 * (y**2 / v).sum(axis=1) - 0.5 * (tau[:, 0] / prior_sd)**2)
    weight = np.exp(fit - fit.max())
    weight /= weight.sum()
    sd = np.sqrt(1 / precision + tau[:, 0]**2)
    every = float(weight @ mean)
    error = float(np.sqrt(weight @ (1 / precision + (mean - every)**2)))
    points = [_quantile(p, mean, sd, weight) for p in (0.05, 0.5, 0.95)]
    return Next(*points, every, error, float(weight @ tau[:, 0]))


def _quantile(p, mean, sd, weight):
    """Of a mixture of normals."""
    from scipy.optimize import brentq
    from scipy.special import ndtr
    low, high = float((mean - 12 * sd).min()), float((mean + 12 * sd).max())
    return float(brentq(lambda x: weight @ ndtr((x - mean) / sd) - p, low, high, xtol=1e-14 * (high - low)))


def _checked(values, errors):
    y, u = np.atleast_1d(np.asarray(values, float)), np.atleast_1d(np.asarray(errors, float))
    if y.shape != u.shape:
        raise ValueError(f"{len(y)} values with {len(u)} errors; give each value its own")
    if not np.all((u > 0) & np.isfinite(u)) or not np.isfinite(y).all():
        raise ValueError("every value needs a standard error above 0: a reading without one says nothing of how near "
                         "it is")
    return y, u
