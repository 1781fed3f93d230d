"""Which assumption carries a result: one at a time, screened, or by its share of the variance.

What may serve as a model is described in kit.model.
"""
import numpy as np

from kit.base import evidence, words
from kit.estimates.intervals import check_level
from kit.estimates.model import joined, one_at_a_time, outputs_of, quantities, varying

BATCH = 2**16                 # draws a call of the model, where many calls can be joined
UNBOUNDED = ("normal", "lognormal", "student-t", "rayleigh")
CUT = 0.005                   # Morris: where the shapes without ends are cut, both sides


def tornado(model, assumptions, low=0.05, high=0.95):
    """Each assumption alone at its low and its high point, the others at their medians.

    model: see kit.model. assumptions: evidence.Assumptions; fixed ones are left out. low, high: chances of the points.
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
    free, tables = varying(assumptions), {}
    points = np.array([a.quantile([0.5, low, high]) for a in free]).T
    outputs = outputs_of(model, quantities(assumptions, one_at_a_time(free, *points)), 2 * len(free) + 1)
    for name, output in outputs.items():
        y = output.magnitude
        table = pd.DataFrame({"at_low": y[1::2], "at_high": y[2::2], "swing": y[2::2] - y[1::2], "middle": y[0],
                              "unit": words.unit(output.units)}, pd.Index([a.key for a in free], name="key"))
        tables[name] = table.sort_values("swing", key=np.abs, ascending=False, kind="stable")
    return joined(tables)


def morris(model, assumptions, n, seed, levels=4):
    """Elementary effects: the cheap screening of many assumptions.

    model: see kit.model. assumptions: evidence.Assumptions, taken as independent; fixed ones are left out.
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
    free, tables, rng = varying(assumptions), {}, np.random.default_rng(seed)
    shape = (int(n), len(free))
    start = rng.integers(levels, size=shape)
    moved = (start + levels // 2) % levels   # with an even number of levels each has just one partner half a grid away
    turn = rng.permuted(np.tile(np.arange(len(free)), (int(n), 1)), axis=1)   # at which step of the path an input moves
    step = np.arange(len(free) + 1)[:, None]
    grid = np.where(turn[:, None] < step, moved[:, None], start[:, None]).reshape(-1, len(free)) / (levels - 1)
    columns = {}
    for a, share in zip(free, grid.T):
        columns[a.key] = a.quantile(CUT + (1 - 2 * CUT) * share if a.shape in UNBOUNDED else share)
    outputs = outputs_of(model, quantities(assumptions, columns), len(grid))
    for name, output in outputs.items():
        changes = np.diff(output.magnitude.reshape(-1, len(step)), axis=1)
        effects = np.take_along_axis(changes, turn, axis=1) * (levels - 1) / (moved - start)
        table = pd.DataFrame({"mu": effects.mean(axis=0), "mu_star": np.abs(effects).mean(axis=0),
                              "sigma": effects.std(axis=0, ddof=1), "unit": words.unit(output.units)},
                             pd.Index([a.key for a in free], name="key"))
        tables[name] = table.sort_values("mu_star", ascending=False, kind="stable")
    return joined(tables)


def sobol(model, assumptions, n, seed, resamples=100, level=0.95):
    """Sobol indices: the share of an output's variance that each assumption carries.

    model: see kit.model. assumptions: evidence.Assumptions, which must be independent; fixed ones are left out.
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
    check_level(level)
    if not (n >= 2 and n % 1 == 0 and int(n).bit_count() == 1):
        below = 2**int(np.log2(n)) if 2 < n < np.inf else 2
        raise ValueError(f"n: {n} is no power of two above 1; the nearest are {below} and {2 * below}")
    if not (resamples >= 2 and resamples % 1 == 0):
        raise ValueError(f"resamples: a whole number from 2, not {resamples}")
    assumptions, n = list(assumptions), int(n)
    free, tables = varying(assumptions), {}
    keys = [a.key for a in free]
    cube = evidence.points(2 * len(free), n, seed)
    one, two = ({a.key: a.quantile(p) for a, p in zip(free, half)} for half in np.split(cube, 2))
    base = outputs_of(model, quantities(assumptions, {k: np.concatenate([one[k], two[k]]) for k in keys}), 2 * n)
    mixed, together = {name: [] for name in base}, max(BATCH // n, 1)
    for at in range(0, len(keys), together):
        swapped = keys[at:at + together]
        columns = {k: np.concatenate([two[k] if k == other else one[k] for other in swapped]) for k in keys}
        outputs = outputs_of(model, quantities(assumptions, columns), n * len(swapped))
        for name, pages in mixed.items():
            pages.append(outputs[name].m_as(base[name].units).reshape(-1, n))
    counts = _resampled(n, int(resamples), seed)
    z = special.ndtri((1 + level) / 2)
    for name, output in base.items():
        # arrays of their own: scipy takes the mean off them where they lie
        f_a, f_b, f_ab = *map(np.array, np.split(output.magnitude, 2)), np.concatenate(mixed[name])
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
    return joined(tables)


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
