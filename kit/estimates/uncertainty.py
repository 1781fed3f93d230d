"""How sure a result is, and which assumption carries it: draws, first-order propagation, sensitivities.

A model is a function that takes a dict of Quantities, one for each assumption, and returns a Quantity or a dict of
them. It is called with arrays (a number for each draw) and must do to an array what it does to a number; a fixed
assumption comes as a single number. One that returns a bare number is refused with a TypeError, a wrong shape or a
number that is not finite with a ValueError. Where the result spans powers of ten, let it return the logarithm.

GUM stands for the Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008; JCGM 101 for its Supplement 1,
Propagation of Distributions using a Monte Carlo Method, JCGM 101:2008. Clauses are from memory.
"""
import warnings
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from kit.base import evidence
from kit.base.units import OutOfRange, Q, number

MATTERS = 0.05                # share of the variance of the draws from which a fault of the tangent is told
LOOKED_AT = 2**12             # draws that are set beside the tangent; more would only sharpen the shares
BATCH = 2**16                 # draws a call of the model, where many calls can be joined
UNBOUNDED = ("normal", "lognormal", "student-t", "rayleigh")
CUT = 0.005                   # Morris: where the shapes without ends are cut, both sides
RESULT = "result"             # name of the output of a model that returns one Quantity


# --- intervals ------------------------------------------------------------------------------------------------------

def equal_tail_interval(values, level=0.95):
    """Interval that leaves equal shares of the draws on both sides: (low, high), Quantities.

    values: draws, array Quantity (plain numbers count as dimensionless). level: share inside, between 0 and 1.
    Formula: q = int(level n + 1/2), r = int((n - q + 1) / 2); the r-th and the (r + q)-th of the sorted draws.
    Raises ValueError for a level outside 0 to 1 or draws too few for it.
    Source: JCGM 101, 7.7.
    """
    return _interval(_equal_tail, values, level)


def shortest_interval(values, level=0.95):
    """Shortest interval that holds a share of the draws: (low, high), Quantities.

    values: draws, array Quantity (plain numbers count as dimensionless). level: share inside, between 0 and 1.
    Formula: of all pairs that lie q = int(level n + 1/2) apart among the sorted draws, the closest. Differs from the
    equal-tail interval where the draws are skewed: say which one is quoted. Of one hump only: where the draws have two,
    one interval covers the gap as well.
    Raises ValueError for a level outside 0 to 1 or draws too few for it.
    Source: JCGM 101, 7.7.
    """
    return _interval(_shortest, values, level)


def _interval(ends, values, level):
    _check_level(level)
    values = Q(values)
    return tuple(Q(end, values.units) for end in ends(np.sort(np.asarray(values.magnitude, float).ravel()), level))


def _check_level(level):
    if not 0 < level < 1:
        raise ValueError(f"level: a share inside lies between 0 and 1, not at {level}")


def _inside(n, level):
    """How many steps apart the ends stand among n sorted draws."""
    inside = int(level * n + 0.5)
    if inside >= n:
        least = int(round(0.5 / (1 - level), 6)) + 1
        raise ValueError(f"{n} draws are too few for an interval of level {level:g}; draw {least} or more")
    return inside


def _equal_tail(ordered, level):
    inside = _inside(len(ordered), level)
    first = (len(ordered) - inside + 1) // 2 - 1
    return ordered[first], ordered[first + inside]


def _shortest(ordered, level):
    inside = _inside(len(ordered), level)
    first = np.argmin(ordered[inside:] - ordered[:-inside])
    return ordered[first], ordered[first + inside]


def numerical_tolerance(u, digits=2):
    """Half a unit in the last of the digits to which an uncertainty is stated, in the unit of u.

    u: standard uncertainty (a number, 0 or more). digits: significant digits that are meant, 1 or more.
    Formula: u = c 10^l with c a whole number of that many digits; tolerance 10^l / 2.
    Source: JCGM 101, 7.9.2.
    """
    if not (digits >= 1 and digits % 1 == 0):
        raise ValueError(f"digits: a whole number above 0, not {digits}")
    last = int(f"{u:.{int(digits) - 1}e}".split("e")[1]) - digits + 1
    return 0.5 * 10.0**last if u else 0.0


# --- the model ------------------------------------------------------------------------------------------------------

def _quantities(assumptions, columns):
    """What the model is given: a column for each assumption that varies, a single number for a fixed one."""
    return {a.key: Q(a.value if a.shape == "fixed" else columns[a.key], a.unit) for a in assumptions}


def _outputs(model, values, n):
    """{name: Quantity of shape (n,)} that the model makes of n values of its inputs, checked."""
    returned = model(values)
    outputs = returned if isinstance(returned, Mapping) else {RESULT: returned}
    if not outputs:
        raise ValueError("the model returned an empty dict; return a Quantity, or a dict of them")
    checked = {}
    for name, output in outputs.items():
        if not isinstance(output, Q):
            raise TypeError(f"the model's {name} is a bare {type(output).__name__}; give it its unit, as in "
                            "Q(x, 'mm'), or Q(x, '') where it is a pure number")
        numbers = np.asarray(output.magnitude, float)
        if numbers.shape not in ((), (n,)):
            raise ValueError(f"the model's {name} has shape {numbers.shape}; given arrays of {n} values it must return "
                             f"a number for each, shape ({n},)")
        bad = np.mean(~np.isfinite(numbers))
        if bad:
            raise ValueError(f"the model's {name} is not a finite number at {number(100 * bad, 2)} % of the points; "
                             "narrow the assumptions, or let the model return something bounded")
        checked[name] = Q(np.broadcast_to(numbers, (n,)), output.units)
    return checked


def _free(assumptions):
    """The assumptions that vary."""
    keys = [a.key for a in assumptions]
    for key in keys:
        if keys.count(key) > 1:
            raise ValueError(f"{key!r} is there twice; keep one of the two")
    free = [a for a in assumptions if a.shape != "fixed"]
    if not free:
        raise ValueError("every assumption is fixed: there is nothing to vary")
    return free


def _one_at_a_time(free, middle, lower, upper):
    """Columns: all at the middle, then each in turn at its lower and its upper value, the others at the middle."""
    columns, i = np.tile(np.asarray(middle, float)[:, None], 2 * len(free) + 1), np.arange(len(free))
    columns[i, 2 * i + 1], columns[i, 2 * i + 2] = lower, upper
    return {a.key: column for a, column in zip(free, columns)}


def _joined(tables):
    """One table: of a single result as it is, of several under (output, key)."""
    import pandas as pd
    return tables[RESULT] if set(tables) == {RESULT} else pd.concat(tables, names=["output", "key"])


# --- propagation ----------------------------------------------------------------------------------------------------

def propagate(model, assumptions, n, seed, level=0.95, correlations=None, sampler="sobol"):
    """Spread of a model's outputs by draws, and beside it the first-order estimate of the GUM.

    model: see the module. assumptions: evidence.Assumptions. n: number of draws. seed: whole number.
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
    _check_level(level)
    assumptions = list(assumptions)
    values = evidence.draw(assumptions, n, seed, correlations, sampler)
    outputs = _outputs(model, values, int(n))
    return _table(model, assumptions, values, outputs, seed, level, correlations, 2)


def converge(model, assumptions, seed, digits=2, level=0.95, most=2**20, correlations=None):
    """As `propagate`, by plain random draws until mean, u and both ends stand still to the digits shown.

    model, assumptions, level, correlations: as in `propagate`. digits: significant digits of u that are meant. most:
    number of draws at which to stop all the same. The table has one column more: converged, true or false a row.

    Method: independent batches of M = max(10^4, 100 / (1 - level)) draws, two at least. Each gives a mean, a standard
    deviation and two ends (equal tails); twice the standard deviation of the average of each of the four over the h
    batches must not exceed the numerical tolerance of u of all draws together. The table rests on all draws.
    A few batches can agree by luck: of 40 runs of our own (sum of four uniforms) 33 ended with both ends within it.
    Raises ValueError where `most` is less than two batches, and as `propagate`.
    Source: JCGM 101, 7.9.
    """
    _check_level(level)
    assumptions, tolerable = list(assumptions), {}
    size = max(10**4, int(np.ceil(round(100 / (1 - level), 6))))
    if most < 2 * size:
        raise ValueError(f"most: {most:g} draws are less than two batches of {size}; allow {2 * size} or more")
    batches, four = [], []
    for batch_seed in np.random.SeedSequence(seed).generate_state(int(most) // size, np.uint64):
        values = evidence.draw(assumptions, size, int(batch_seed), correlations, "random")
        outputs = _outputs(model, values, size)
        if not batches:
            first, units = values, {name: output.units for name, output in outputs.items()}
        batches.append({name: outputs[name].m_as(unit) for name, unit in units.items()})
        four.append([[y.mean(), y.std(ddof=1), *_equal_tail(np.sort(y), level)] for y in batches[-1].values()])
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
    columns = _one_at_a_time(free, means, means - u / 1000, means + u / 1000)
    with warnings.catch_warnings():   # the draws have told it, and with the right share
        warnings.simplefilter("ignore", OutOfRange)
        outputs = _outputs(model, _quantities(assumptions, columns), 2 * len(free) + 1)
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
    far = _ranks(np.abs(away))
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
                  *_ends_apart(gum, ordered, level, digits, f"{output.units:~P}")]
        if heavy:
            doubts.append(f"with 2 degrees of freedom or fewer ({', '.join(heavy)}) u of the draws settles at nothing: "
                          "quote the interval")
        if linked:
            doubts.append(f"effective degrees of freedom are meant for independent inputs, not for {', '.join(linked)}")
        low, high = _equal_tail(ordered, level)
        shortest_low, shortest_high = _shortest(ordered, level)
        rows[name] = {
            "unit": f"{output.units:~P}", "median": np.median(ordered), "mean": y.mean(), "u": y.std(ddof=1),
            "low": low, "high": high, "shortest_low": shortest_low, "shortest_high": shortest_high,
            "gum": tangent.value, "gum_u": tangent.u, "gum_dof": tangent.dof, "gum_low": gum[0], "gum_high": gum[1],
            "warning": "; ".join(doubts), "n": len(y), "seed": seed}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("output")


def _ranks(values):
    """Ranks along the last axis, scaled so that the product of two rows is their rank correlation."""
    n = values.shape[-1]
    ranks = np.argsort(np.argsort(values, axis=-1), axis=-1)
    return (ranks - (n - 1) / 2) / np.sqrt(n * (n**2 - 1) / 12)


def _bent(tangent, keys, away, far, y):
    """Where the tangent leaves too much of the spread of the draws unexplained: what, and through which inputs.

    away: of each input from its mean, shape (inputs, draws); far: ranks of its size.
    """
    missed = y - tangent.value - tangent.slopes @ away
    share = np.var(missed) / np.var(y) if np.ptp(y) else 0
    if share < MATTERS:
        return
    pull = far @ _ranks(np.abs(missed))   # an input that bends the model makes the miss larger far from its mean
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
    ends = _equal_tail(ordered, level)
    rank, by_chance = (n - _inside(n, level)) // 2, int(np.ceil(2 * np.sqrt(n * (1 - level**2) / 4)))
    if rank <= by_chance:
        return   # too few draws to tell
    low, high = ([ordered[i - by_chance], ordered[i + by_chance]] for i in (rank - 1, n - rank))
    if not all(a - tolerance <= end <= b + tolerance for end, (a, b) in zip(gum, (low, high))):
        apart = " and ".join(number(end - of_draws, 2) for end, of_draws in zip(gum, ends))
        yield f"ends of the first-order interval lie {apart} {unit}".rstrip() + (
            f" from those of the draws (tolerance {number(tolerance, 1)})")


# --- sensitivity ----------------------------------------------------------------------------------------------------

def tornado(model, assumptions, low=0.05, high=0.95):
    """Each assumption alone at its low and its high point, the others at their medians.

    model: see the module. assumptions: evidence.Assumptions; fixed ones are left out. low, high: chances of the points.
    Result: DataFrame indexed by key, or (output, key) where the model has several outputs. Columns, in the output's
    `unit`: at_low, at_high, swing (at_high - at_low), middle (all at their medians); the greatest swing first.
    An input that acts through its square, or only together with another that is near zero, shows no swing here.
    Raises ValueError for points that are not in order between 0 and 1, repeated keys or nothing to vary.
    Source: common practice, no published source.
    """
    import pandas as pd
    if not 0 < low < high < 1:
        raise ValueError(f"low and high are chances in order between 0 and 1, not {low} and {high}")
    assumptions = list(assumptions)
    free, tables = _free(assumptions), {}
    points = np.array([a.quantile([0.5, low, high]) for a in free]).T
    outputs = _outputs(model, _quantities(assumptions, _one_at_a_time(free, *points)), 2 * len(free) + 1)
    for name, output in outputs.items():
        y = output.magnitude
        table = pd.DataFrame({"at_low": y[1::2], "at_high": y[2::2], "swing": y[2::2] - y[1::2], "middle": y[0],
                              "unit": f"{output.units:~P}"}, pd.Index([a.key for a in free], name="key"))
        tables[name] = table.sort_values("swing", key=np.abs, ascending=False, kind="stable")
    return _joined(tables)


def morris(model, assumptions, n, seed, levels=4):
    """Elementary effects: the cheap screening of many assumptions.

    model: see the module. assumptions: evidence.Assumptions, taken as independent; fixed ones are left out.
    n: number of paths, 2 or more (10 to 50 are usual); the model sees n (d + 1) points for d inputs.
    seed: whole number. levels: of the grid, an even number.
    Result: DataFrame indexed by key, or (output, key) where the model has several outputs. Columns, in the output's
    `unit`: mu (mean effect), mu_star (mean size of the effect), sigma (standard deviation of the effect: large beside
    mu_star where the input bends or interacts); the greatest mu_star first.

    Method: each path starts at a point of the grid 0, 1/(p - 1), ..., 1 in every input and moves each input once, in
    random order, by p / (2 (p - 1)) of the unit cube; effect = change of the output / move. The cube is mapped by the
    inverse distributions; for a shape without ends the grid runs from its 0.5 % to its 99.5 % point.
    Raises ValueError for n below 2, levels that are odd or below 2, repeated keys or nothing to vary.
    Sources: from memory, believed to be in M. D. Morris, Factorial sampling plans for preliminary computational
    experiments, Technometrics 33 (1991) 161-174; mu_star: F. Campolongo, J. Cariboni, A. Saltelli, An effective
    screening design for sensitivity analysis of large models, Environmental Modelling & Software 22 (2007) 1509-1518.
    """
    import pandas as pd
    if not (n >= 2 and n % 1 == 0):
        raise ValueError(f"n: the number of paths must be a whole number from 2, not {n}")
    if not (levels >= 2 and levels % 2 == 0):
        raise ValueError(f"levels: an even number from 2, not {levels}")
    assumptions = list(assumptions)
    free, tables, rng = _free(assumptions), {}, np.random.default_rng(seed)
    shape = (int(n), len(free))
    start = rng.integers(levels, size=shape)
    moved = (start + levels // 2) % levels   # with an even number of levels each has just one partner half a grid away
    turn = rng.permuted(np.tile(np.arange(len(free)), (int(n), 1)), axis=1)   # at which step of the path an input moves
    step = np.arange(len(free) + 1)[:, None]
    grid = np.where(turn[:, None] < step, moved[:, None], start[:, None]).reshape(-1, len(free)) / (levels - 1)
    columns = {}
    for a, share in zip(free, grid.T):
        columns[a.key] = a.quantile(CUT + (1 - 2 * CUT) * share if a.shape in UNBOUNDED else share)
    outputs = _outputs(model, _quantities(assumptions, columns), len(grid))
    for name, output in outputs.items():
        changes = np.diff(output.magnitude.reshape(-1, len(step)), axis=1)
        effects = np.take_along_axis(changes, turn, axis=1) * (levels - 1) / (moved - start)
        table = pd.DataFrame({"mu": effects.mean(axis=0), "mu_star": np.abs(effects).mean(axis=0),
                              "sigma": effects.std(axis=0, ddof=1), "unit": f"{output.units:~P}"},
                             pd.Index([a.key for a in free], name="key"))
        tables[name] = table.sort_values("mu_star", ascending=False, kind="stable")
    return _joined(tables)


def sobol(model, assumptions, n, seed, resamples=100, level=0.95):
    """Sobol indices: the share of an output's variance that each assumption carries.

    model: see the module. assumptions: evidence.Assumptions, which must be independent; fixed ones are left out.
    n: base count, a power of two (1024 or more); the model sees n (d + 2) points for d inputs. seed: whole number.
    resamples, level: of the bootstrap intervals.
    Result: DataFrame indexed by key, or (output, key) where the model has several outputs. Columns first (alone),
    total (with all interactions), first_low, first_high, total_low, total_high; the greatest total first. Small
    negative values are noise. An output that does not vary has indices 0.

    Method: scipy.stats.sobol_indices on scrambled Sobol points; the model is called with about 65 000 points at a time,
    so memory does not grow with the number of inputs squared. Intervals: index -+ z times its standard deviation over
    resampled points; points spread more evenly than chance, so they are rather too wide than too narrow.
    Raises ValueError where n is no power of two (with the nearest), for fewer than 2 resamples, a level outside 0 to 1,
    repeated keys or nothing to vary.
    Source: A. Saltelli et al., Variance based sensitivity analysis of model output. Design and estimator for the total
    sensitivity index, Computer Physics Communications 181 (2010) 259-270, table 2 (b) and (f).
    """
    import pandas as pd
    from scipy import special, stats
    _check_level(level)
    if not (n >= 2 and n % 1 == 0 and int(n).bit_count() == 1):
        below = 2**int(np.log2(n)) if 2 < n < np.inf else 2
        raise ValueError(f"n: {n} is no power of two above 1; the nearest are {below} and {2 * below}")
    if not (resamples >= 2 and resamples % 1 == 0):
        raise ValueError(f"resamples: a whole number from 2, not {resamples}")
    assumptions, n = list(assumptions), int(n)
    free, tables = _free(assumptions), {}
    keys = [a.key for a in free]
    cube = evidence.points(2 * len(free), n, seed)
    one, two = ({a.key: a.quantile(p) for a, p in zip(free, half)} for half in np.split(cube, 2))
    base = _outputs(model, _quantities(assumptions, {k: np.concatenate([one[k], two[k]]) for k in keys}), 2 * n)
    mixed, together = {name: [] for name in base}, max(BATCH // n, 1)
    for at in range(0, len(keys), together):
        swapped = keys[at:at + together]
        columns = {k: np.concatenate([two[k] if k == other else one[k] for other in swapped]) for k in keys}
        outputs = _outputs(model, _quantities(assumptions, columns), n * len(swapped))
        for name, pages in mixed.items():
            pages.append(outputs[name].m_as(base[name].units).reshape(-1, n))
    counts = _resampled(n, int(resamples), seed)
    z = special.ndtri((1 + level) / 2)
    for name, output in base.items():
        f_a, f_b, f_ab = *np.split(output.magnitude, 2), np.concatenate(mixed[name])
        pages = f_ab if len(keys) > 1 else np.concatenate([f_ab, f_ab])   # scipy 1.17 fails on a single input
        found = stats.sobol_indices(func={"f_A": f_a, "f_B": f_b, "f_AB": pages[:, None]}, n=n)
        columns = {}
        spreads = _spread(f_a, f_b, f_ab, counts)
        for which, index, spread in zip(("first", "total"), (found.first_order, found.total_order), spreads):
            index = index[:len(keys)]
            columns |= {which: index, f"{which}_low": index - z * spread, f"{which}_high": index + z * spread}
        order = ["first", "total", "first_low", "first_high", "total_low", "total_high"]
        table = pd.DataFrame(columns, pd.Index(keys, name="key"))[order]
        tables[name] = table.sort_values("total", ascending=False, kind="stable")
    return _joined(tables)


def _resampled(n, resamples, seed):
    """How often each point comes up in each resample, shape (resamples, n); float: the sums are matrix products."""
    rng = np.random.default_rng(seed)
    return np.array([np.bincount(rng.integers(n, size=n), minlength=n) for _ in range(resamples)], float)


def _spread(f_a, f_b, f_ab, counts):
    """Standard deviations of first and total indices over the resamples.

    The bootstrap of scipy.stats (1.17) leaves out each point in turn for its bias correction, so its time grows with
    n squared.
    """
    n, middle = len(f_a), np.mean([f_a, f_b])
    f_a, f_b, f_ab = f_a - middle, f_b - middle, f_ab - middle
    variance = counts @ (f_a**2 + f_b**2) / (2 * n) - (counts @ (f_a + f_b) / (2 * n))**2
    with np.errstate(divide="ignore", invalid="ignore"):   # an output that does not vary
        first = counts @ (f_b * (f_ab - f_a)).T / n / variance[:, None]
        total = counts @ (f_ab - f_a).T**2 / (2 * n) / variance[:, None]
    return np.nan_to_num(first.std(axis=0, ddof=1)), np.nan_to_num(total.std(axis=0, ddof=1))
