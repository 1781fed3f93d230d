"""How sure a result is: by draws, by the first order, and where the first order misleads.

What may serve as a model is described in kit.model; kit.indices finds which assumption carries the result.

GUM stands for the Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008; JCGM 101 for its Supplement 1,
Propagation of Distributions using a Monte Carlo Method, JCGM 101:2008. Clauses are from memory.
"""
import warnings
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, words
from kit.base.units import OutOfRange, Q, number
from kit.estimates.indices import morris, sobol, tornado  # noqa: F401 (what is known as kit.uncertainty, gathered)
from kit.estimates.intervals import check_level, equal_tail, numerical_tolerance, shortest, steps_apart
from kit.estimates.model import one_at_a_time, outputs_of, quantities

MATTERS = 0.05                # share of the variance of the draws from which a miss of the tangent is told
LOOKED_AT = 2**12             # draws compared with the tangent; more would only sharpen the shares


def propagate(model, assumptions, n, seed, level=0.95, correlations=None, sampler="sobol"):
    """Spread of a model's outputs by draws, and beside it the first-order estimate of the GUM.

    model: see kit.model. assumptions: evidence.Assumptions. n: number of draws. seed: whole number.
    level: share inside the intervals. correlations, sampler: as in evidence.draw.

    Result: DataFrame, a row an output. Columns, in the output's `unit`: of the draws median, mean, u (standard
    deviation), low and high (equal tails), shortest_low and shortest_high; of the first order gum (the model at the
    means), gum_u, gum_dof (effective degrees of freedom), gum_low and gum_high; warning (empty, or why the first order
    misleads); n, seed.

    Formulas of the first order: u^2 = sum over i, j of c_i c_j r_ij u_i u_j (GUM 5.2.2), slopes c by central
    differences a thousandth of u either side of the means; effective degrees of freedom u^4 / (sum of
    (c_i u_i)^4 / dof_i) (GUM G.4.1), a student-t having its dof and the other shapes infinitely many; ends at
    gum -+ t u, t of the dof cut to a whole number (G.4.1). The u of a student-t is the scale that was measured, not the
    larger standard deviation of that distribution. r is taken as the plain correlation, which it is where both are
    normal.

    The warning names inputs that weigh nothing at the means and yet move the draws; says so where the tangent misses
    5 % or more of the variance of the draws (curvature, interaction), and where an end of the two intervals differs by
    more than half a unit in the second digit of u (JCGM 101, clause 8) and by more than the draws can stray by chance.
    Raises ValueError for what evidence.draw refuses, a level outside 0 to 1 and draws too few for it.
    Sources: GUM, JCGM 101.
    """
    check_level(level)
    assumptions = list(assumptions)
    values = evidence.draw(assumptions, n, seed, correlations, sampler)
    outputs = outputs_of(model, values, int(n))
    return _table(model, assumptions, values, outputs, seed, level, correlations, 2)


def converge(model, assumptions, seed, digits=2, level=0.95, most=2**20, correlations=None):
    """As `propagate`, by plain random draws until mean, u and both ends are stable to the digits shown.

    model, assumptions, level, correlations: as in `propagate`. digits: significant digits of u that are meant. most:
    number of draws at which to stop all the same. The table has one column more: converged, true or false a row.

    Method: independent batches of M = max(10^4, 100 / (1 - level)) draws, two at least. Each gives a mean, a standard
    deviation and two ends (equal tails); twice the standard deviation of the average of each of the four over the h
    batches must not exceed the numerical tolerance of u of all draws together. The table rests on all draws.
    A few batches can agree by luck: of 40 runs of our own (sum of four uniforms) 33 ended with both ends within it.
    Raises ValueError where `most` is less than two batches, and as `propagate`.

    >>> import kit
    >>> pull = kit.evidence.Assumption("pull", None, 20, 40, "N", "normal", "own-trial", "own-trial")
    >>> arm = kit.evidence.Assumption("arm", None, 15, 20, "mm", "uniform", "own-trial", "own-trial")
    >>> found = kit.uncertainty.converge(lambda v: v["pull"] * v["arm"], [pull, arm], seed=1, digits=1).loc["result"]
    >>> f"{found['low']:.0f} to {found['high']:.0f} {found['unit']}, {found['n']} draws, {found['converged']}"
    '310 to 755 N·mm, 20000 draws, True'

    Source: JCGM 101, 7.9.
    """
    check_level(level)
    assumptions, tolerable = list(assumptions), {}
    size = max(10**4, int(np.ceil(round(100 / (1 - level), 6))))
    if most < 2 * size:
        raise ValueError(f"most: {most:g} draws are less than two batches of {size}; allow {2 * size} or more")
    batches, four = [], []
    for batch_seed in np.random.SeedSequence(seed).generate_state(int(most) // size, np.uint64):
        values = evidence.draw(assumptions, size, int(batch_seed), correlations, "random")
        outputs = outputs_of(model, values, size)
        if not batches:
            first, units = values, {name: output.units for name, output in outputs.items()}
        batches.append({name: outputs[name].m_as(unit) for name, unit in units.items()})
        four.append([[y.mean(), y.std(ddof=1), *equal_tail(np.sort(y), level)] for y in batches[-1].values()])
        if len(batches) == 1:
            continue
        together = {name: np.concatenate([batch[name] for batch in batches]) for name in units}
        stray = 2 * np.std(four, axis=0, ddof=1) / np.sqrt(len(four))
        tolerable = {name: bool(np.all(s <= numerical_tolerance(together[name].std(ddof=1), digits)))
                     for name, s in zip(units, stray)}
        if all(tolerable.values()):
            break
    together = {name: Q(y, units[name]) for name, y in together.items()}
    table = _table(model, assumptions, first, together, seed, level, correlations, digits)
    return table.assign(converged=[tolerable[name] for name in table.index])


@dataclass(frozen=True)
class _Tangent:
    """First order at the means, in the unit of the output. slopes, weights (slope times u): of each free input."""
    value: float
    slopes: np.ndarray
    weights: np.ndarray
    u: float
    dof: float


def _moments(a):
    """Mean of an assumption and its standard uncertainty as the GUM takes it, which for a student-t is its scale."""
    from scipy import special
    middle, plus = a.quantile([0.5, special.ndtr(1)])
    if a.shape == "normal":
        return middle, plus - middle
    if a.shape == "lognormal":
        variance = np.log(plus / middle)**2
        mean = middle * np.exp(variance / 2)
        return mean, mean * np.sqrt(np.expm1(variance))
    if a.shape == "student-t":
        return middle, (a.quantile(0.95) - middle) / special.stdtrit(a.dof, 0.95)
    if a.shape == "rayleigh":
        scale = a.quantile(1 - np.exp(-0.5))
        return scale * np.sqrt(np.pi / 2), scale * np.sqrt(2 - np.pi / 2)
    low, high = a.quantile([0, 1])
    if a.shape == "triangular":
        return (low + a.value + high) / 3, np.sqrt(((high - low)**2 - (a.value - low) * (high - a.value)) / 18)
    if a.shape == "pert":
        mean = (low + 4 * a.value + high) / 6
        return mean, np.sqrt((mean - low) * (high - mean) / 7)
    return middle, (high - low) / 2 * np.sqrt({"uniform": 1 / 3, "trapezoid": 5 / 24, "arcsine": 1 / 2}[a.shape])


def _tangents(model, assumptions, correlations, units):
    """Means of the inputs that vary, and {output: _Tangent}."""
    free = [a for a in assumptions if a.shape != "fixed"]
    keys = [a.key for a in free]
    means, u = np.array([_moments(a) for a in free], float).reshape(-1, 2).T
    columns = one_at_a_time(free, means, means - u / 1000, means + u / 1000)
    with warnings.catch_warnings():   # the draws have told it, and with the right share
        warnings.simplefilter("ignore", OutOfRange)
        outputs = outputs_of(model, quantities(assumptions, columns), 2 * len(free) + 1)
    steps = np.array([columns[key][2 * i + 2] - columns[key][2 * i + 1] for i, key in enumerate(keys)])
    dof = np.array([a.dof if a.shape == "student-t" else np.inf for a in free])
    linked = [(keys.index(one), keys.index(two), r) for (one, two), r in (correlations or {}).items()]
    tangents = {}
    for name, unit in units.items():
        y = outputs[name].m_as(unit)
        slopes = (y[2::2] - y[1::2]) / steps
        weights = slopes * u
        total = np.sqrt(max(np.sum(weights**2) + sum(2 * r * weights[i] * weights[j] for i, j, r in linked), 0))
        limited = np.sum(weights**4 / dof)
        tangents[name] = _Tangent(y[0], slopes, weights, total, total**4 / limited if limited else np.inf)
    return means, tangents


def _table(model, assumptions, values, outputs, seed, level, correlations, digits):
    """The table of `propagate`. values: the inputs of the first draws of the outputs."""
    import pandas as pd
    from scipy import special
    units = {name: output.units for name, output in outputs.items()}
    means, tangents = _tangents(model, assumptions, correlations, units)
    keys = [a.key for a in assumptions if a.shape != "fixed"]
    away = np.array([values[key].magnitude[:LOOKED_AT] - mean for key, mean in zip(keys, means)])
    far = ranks(np.abs(away))
    heavy = [a.key for a in assumptions if a.shape == "student-t" and a.dof <= 2]
    linked = {key for pair in correlations or () for key in pair}
    linked = [a.key for a in assumptions if a.shape == "student-t" and a.key in linked]
    rows = {}
    for name, output in outputs.items():
        y, tangent = output.magnitude, tangents[name]
        ordered, half = np.sort(y), (1 + level) / 2
        dof = np.floor(tangent.dof) or tangent.dof   # below 1 there is no whole number to cut it to
        factor = special.ndtri(half) if np.isinf(dof) else special.stdtrit(dof, half)
        gum = (tangent.value - factor * tangent.u, tangent.value + factor * tangent.u)
        doubts = [*_bent(tangent, keys, away, far, y[:LOOKED_AT]),
                  *_ends_apart(gum, ordered, level, digits, words.unit(output.units))]
        if heavy:
            doubts.append(f"with 2 degrees of freedom or fewer ({', '.join(heavy)}) u of the draws settles at nothing: "
                          "quote the interval")
        if linked:
            doubts.append(f"effective degrees of freedom are meant for independent inputs, not for {', '.join(linked)}")
        low, high = equal_tail(ordered, level)
        shortest_low, shortest_high = shortest(ordered, level)
        rows[name] = {
            "unit": words.unit(output.units), "median": np.median(ordered), "mean": y.mean(), "u": y.std(ddof=1),
            "low": low, "high": high, "shortest_low": shortest_low, "shortest_high": shortest_high,
            "gum": tangent.value, "gum_u": tangent.u, "gum_dof": tangent.dof, "gum_low": gum[0], "gum_high": gum[1],
            "warning": "; ".join(doubts), "n": len(y), "seed": seed}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("output")


def ranks(values):
    """Ranks along the last axis, scaled so that the product of two rows is their rank correlation."""
    n = values.shape[-1]
    ranks = np.empty(values.shape)
    np.put_along_axis(ranks, np.argsort(values, axis=-1), np.broadcast_to(np.arange(n), values.shape), axis=-1)
    return (ranks - (n - 1) / 2) / np.sqrt(n * (n**2 - 1) / 12)


def _bent(tangent, keys, away, far, y):
    """Where the tangent leaves too much of the spread of the draws unexplained: what, and through which inputs.

    away: of each input from its mean, shape (inputs, draws); far: ranks of its size.
    """
    missed = y - tangent.value - tangent.slopes @ away
    share = np.var(missed) / np.var(y) if np.ptp(y) else 0
    if share < MATTERS:
        return
    pull = far @ ranks(np.abs(missed))   # an input that bends the model makes the miss larger far from its mean
    guilty = [i for i in np.argsort(-pull) if pull[i] > 0.1]
    unseen = [keys[i] for i in guilty if abs(tangent.weights[i]) < 0.01 * np.std(y)]
    if unseen:
        yield f"no weight at the means, yet it moves the draws: {', '.join(unseen)}"
    through = f", most through {', '.join(keys[i] for i in guilty[:3])}" if guilty else ""
    yield ("strong curvature or interaction: the tangent misses "
           f"{number(100 * share, 2)} % of the variance of the draws{through}")


def _ends_apart(gum, ordered, level, digits, unit):
    """Where an end differs by more than the tolerance (JCGM 101, clause 8) and than the draws may stray by chance."""
    n, tolerance = len(ordered), numerical_tolerance(ordered.std(ddof=1), digits)
    ends = equal_tail(ordered, level)
    rank, by_chance = (n - steps_apart(n, level)) // 2, int(np.ceil(2 * np.sqrt(n * (1 - level**2) / 4)))
    if rank <= by_chance:
        return   # too few draws to tell
    low, high = ([ordered[i - by_chance], ordered[i + by_chance]] for i in (rank - 1, n - rank))
    if not all(a - tolerance <= end <= b + tolerance for end, (a, b) in zip(gum, (low, high))):
        apart = " and ".join(number(end - of_draws, 2) for end, of_draws in zip(gum, ends))
        yield f"ends of the first-order interval lie {apart} {unit}".rstrip() + (
            f" from those of the draws (tolerance {number(tolerance, 1)})")
