"""A plan over a range of values: sweeps, maps, and the values at which the chance passes a level."""
import warnings

import numpy as np

from kit.base import stopping, words
from kit.base.units import Q, magnitude, read, unheard
from kit.study import worlds as worlds_of
from kit.study.judge import assess
from kit.study.studyfile import TUBE, StudyError

BAND = "all_5", "all_95"   # columns of a sweep with the ends of the band of the chance of all


def sweep(plan, key, values, draws=2**13, seed=1, criteria=None, progress=None, worlds=0):
    """Chance of each criterion and of all, over values of one key (see `with_`), on the same draws.

    Returns a DataFrame indexed by the value (in the unit of the first; `.attrs["label"]` says it in words), a column
    for each criterion: the chance that every tube meets it; `all`: that all are met in one draw; `limiting`: the
    criterion of least chance; `margin`, `margin_5`, `margin_95`: the least margin of each draw, median and ends.
    worlds: where given, so many worlds of what is weakly known, with as many draws in each, are looked at too:
    `all_5` and `all_95` are then the ends of the chance's band (see worlds.ends). `.attrs` holds the provenance;
    `for_reading` tells it in words.
    progress: called with (done, total). Interrupted in a notebook, it returns the values that are done.
    """
    import pandas as pd
    if not len(values):
        raise StudyError(f"{key}: no values to sweep; give at least one")
    unit = _unit_of(values[0])

    def judge(value):
        with unheard():   # what lies outside is told of a plan, not of each point
            verdict = assess(plan.with_(**{key: value}), draws, seed, criteria)
        low, mid, high = np.quantile(verdict.least_margin, (0.05, 0.5, 0.95))
        band = {}
        if worlds:
            band = dict(zip(BAND, worlds_of.ends(verdict.study, seed, criteria, worlds=worlds, inner=worlds)))
        return value if unit is None else magnitude(value, f"{unit}", key), verdict.chances | {
            "all": verdict.chance} | band | {
            "limiting": verdict.limiting, "margin": mid, "margin_5": low, "margin_95": high}

    table = pd.DataFrame.from_dict(dict(_each(judge, values, progress)), orient="index")
    table.index.name = _with_unit(key, unit)
    table.attrs = plan.provenance(draws, seed) | {"key": key, "label": _with_unit(plan.said(key), unit),
                                                  "worlds": worlds}
    return table


def passes(table, chance, column="all"):
    """Where a chance of a `sweep` table passes a level: values in the unit of its index, straight between the swept
    ones; empty where it does not. column: "all", or "all_5" and "all_95", the ends of its band."""
    table = table.sort_index()
    return _crossings(table.index.to_numpy(float), table[column].to_numpy(), chance)


def sweep_over(plan, key, values, points=9, draws=2**12, seed=1, criteria=None, progress=None):
    """The claim with a size that is itself uncertain, as that of a corroded find before it corroded.

    key: a part key (see `with_`). values: Quantity, draws of what it may have been. points: equally likely values that
    stand for them.
    Returns the DataFrame of `sweep` at those values; `.attrs["chance"]` is the chance over all of them.
    """
    middles = np.quantile(values.magnitude, (np.arange(points) + 0.5) / points)
    table = sweep(plan, key, [Q(v, values.units) for v in middles], draws, seed, criteria, progress)
    table.attrs["chance"] = float(table["all"].mean())
    return table


def map(plan, x_key, xs, y_key, ys, draws=2**12, seed=1, criteria=None, progress=None):
    """Chance that all is met over two keys at once, on the same draws.

    Returns a DataFrame, one row for each pair: the two values (in the unit of the first of each), `all`, `limiting`,
    `margin` (median of the least margin). `.attrs` holds the provenance. progress, interruption: as `sweep`.
    """
    import pandas as pd
    units_ = {k: _unit_of(v[0]) for k, v in ((x_key, xs), (y_key, ys))}
    names = {k: _with_unit(k, u) for k, u in units_.items()}

    def judge(pair):
        pair = dict(zip((x_key, y_key), pair))
        verdict = assess(plan.with_(**pair), draws, seed, criteria)
        at = {names[k]: v if units_[k] is None else magnitude(v, f"{units_[k]}", k) for k, v in pair.items()}
        return at | {"all": verdict.chance, "limiting": verdict.limiting,
                     "margin": float(np.median(verdict.least_margin))}

    table = pd.DataFrame(_each(judge, [(x, y) for y in ys for x in xs], progress))
    table.attrs = plan.provenance(draws, seed) | {
        "x": names[x_key], "y": names[y_key], "x_label": _with_unit(plan.said(x_key), units_[x_key]),
        "y_label": _with_unit(plan.said(y_key), units_[y_key])}
    return table


def for_reading(table):
    """A table of `sweep` in words: chances as print tells them, its margins left out."""
    shown = table.drop(columns=[name for name in table if name.startswith("margin")])
    shown = shown.map(lambda cell: cell if isinstance(cell, str) else words.chance(cell))
    return words.headed(shown.set_axis(shown.index.map(_as_chosen)).rename_axis(table.attrs["label"]))


def _as_chosen(value):
    return value if isinstance(value, str) else words.exact(value)


def threshold(plan, key, chance=0.9, low=None, high=None, draws=2**12, seed=1, criteria=None, points=25):
    """Value of a key at which the chance that all is met passes `chance`.

    key: a part key, a choice with a unit or an assumption (see `with_`). chance: wanted, between 0 and 1. low, high:
    where to look; a tenth of to three times the present value where None. points: of the first, even search; two
    crossings closer than that may be missed.
    Returns a Quantity: one number, or an array where the chance passes there more than once.
    Raises StudyError where it does not pass at all, saying between which chances it stays.
    """
    from scipy import optimize
    if not 0 < chance < 1:
        raise StudyError(f"chance: {chance} must lie between 0 and 1")
    low, high, unit = search_range(plan, key, low, high)
    grid = np.linspace(low, high, points)

    def above(value):
        return assess(plan.with_(**{key: Q(value, unit)}), draws, seed, criteria).chance - chance

    found = np.array([above(v) for v in grid])
    crossings = [optimize.brentq(above, a, b, xtol=(high - low) * 1e-4) for a, b, fa,
                 fb in zip(grid, grid[1:], found, found[1:]) if (fa < 0) != (fb < 0)]
    if not crossings:
        raise StudyError(f"{key}: the chance does not pass {chance:g} between {words.number(low)} and "
                         f"{words.number(high)} "
                         f"{words.unit(unit)}; it stays between "
                         f"{found.min() + chance:.2f} and {found.max() + chance:.2f}")
    return Q(crossings[0] if len(crossings) == 1 else np.array(crossings), unit)


def thresholds(plan, key, chances=(0.9, 0.66, 0.5), low=None, high=None, draws=2**12, seeds=range(1, 9), criteria=None,
               points=17, worlds=0):
    """The values at which the chance passes each of `chances`, with their own uncertainty from the draws.

    Each seed is an independent scrambled set of draws.
    Returns a DataFrame indexed by chance: value, standard_error, unit, crossings (in how many of the seeds it passes at
    all; the least such value counts). On a grid of `points`, straight between them. worlds: where given, as for
    `sweep`: `at_5` and `at_95` are then the least values at which the ends of the chance's band pass (first seed).
    """
    import pandas as pd
    low, high, unit = search_range(plan, key, low, high)
    grid, found = np.linspace(low, high, points), {c: [] for c in chances}
    for seed in seeds:
        curve = np.array([assess(plan.with_(**{key: Q(v, unit)}), draws, seed, criteria).chance for v in grid])
        for c in chances:
            found[c] += _crossings(grid, curve, c)[:1]
    rows = {c: {"value": np.mean(v) if v else np.nan, "standard_error": np.std(v, ddof=1) / np.sqrt(len(v))
                if len(v) > 1 else np.nan,
                "unit": words.unit(unit), "crossings": len(v)} for c, v in found.items()}
    if worlds:
        ends = [worlds_of.ends(plan.with_(**{key: Q(v, unit)}), seeds[0], criteria, worlds=worlds, inner=worlds)
                for v in grid]
        for name, curve in zip(("at_5", "at_95"), np.transpose(ends)):
            for c in chances:
                rows[c][name] = next(iter(_crossings(grid, curve, c)), np.nan)
    table = pd.DataFrame.from_dict(rows, orient="index").rename_axis("chance")
    table.attrs = plan.provenance(draws, tuple(seeds)) | {"key": key}
    return table


def _crossings(x, curve, level):
    """Where a curve passes a level, straight between its points."""
    at = np.flatnonzero((curve[:-1] < level) != (curve[1:] < level))
    return [float(x[i] + (level - curve[i]) / (curve[i + 1] - curve[i]) * (x[i + 1] - x[i])) for i in at]


def search_range(plan, key, low, high, least=0.1):
    """(low, high, unit) of a search over a key: as given, or `least` of to three times the present value.

    Raises StudyError for an unknown key, one without a size, or ends the wrong way round.
    """
    present = (plan.part | plan.choices | (plan.use or {})).get(key)
    tube, _, which = key.rpartition(".")
    if key in plan.keys:
        row = plan.assumptions.get(key) or plan.assumptions[f"{key}@{plan.tubes[0].name}"]
        present = Q(float(row.quantile(0.5)), row.unit)
    elif tube in {t.name for t in plan.tubes} and which in TUBE:
        present = getattr(next(t for t in plan.tubes if t.name == tube), which)
    if not isinstance(present, Q):
        plan.with_(**{key: present})   # an unknown key is reported here, with the nearest
        raise StudyError(f"{key!r} is a word, not a size: there is no value at which a chance could pass")
    ends = [end if given is None else magnitude(given, f"{present.units}", key)
            for given, end in ((low, least * present.m), (high, 3 * present.m))]
    if not ends[0] < ends[1]:
        raise StudyError(f"{key}: low {ends[0]:g} is not below high {ends[1]:g} {words.unit(present)}")
    return *ends, present.units


def _each(judge, values, progress):
    """What `judge` finds for each value, with the progress told; a keyboard interrupt (the notebook's stop button) ends
    it in order; elsewhere it stops for good."""
    found = []
    try:
        for value in values:
            if progress:
                progress(len(found), len(values))
            found.append(judge(value))
        if progress:
            progress(len(values), len(values))
    except KeyboardInterrupt:
        if not stopping.in_notebook():
            raise
        warnings.warn(f"stopped by hand after {len(found)} of {len(values)} values; those are returned", stacklevel=3)
    return found


def _with_unit(name, unit):
    """'wall / mm'; the name alone of a word or a pure number."""
    return " / ".join(filter(None, (name, words.unit(unit) if unit is not None else "")))


def _unit_of(value):
    """Unit of a Quantity, a number or a text like '0.3 mm'; None for a word."""
    if not isinstance(value, str):
        return Q(value).units
    try:
        return read(value).units
    except ValueError:
        return None
