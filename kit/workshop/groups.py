"""Groups of learners compared: what each predicted against what it measured, and how often the ranges held it."""
from dataclasses import dataclass

import numpy as np

from kit.base.units import number
from kit.estimates import gauging, trials
from kit.workshop.answers import ASKED, MICRO
from kit.workshop.expectation import expected


def combined(readings, gauge=0.0):
    """Mean and standard uncertainty of what each group read: {group: (mean, uncertainty, readers, readings)}.

    readings: {group: {reader: [values]}}, plain numbers of one quantity. gauge: standard uncertainty that the gauge's
    step leaves (gauging.resolution_uncertainty), in their unit.

    A small nested estimate: the readers of one group are not those of another, so what sets readers apart is pooled
    over the groups, and what sets one reader's repeats apart over all readers. With mean squares B (readers within
    groups, each with about r readings) and W (repeats), a mean over k readers with n readings each has u^2 = max((B -
    W) / r, 0) / k + W / (k n) + gauge^2. A part that no group shows (one reader each, one reading each) counts as 0,
    and where neither is shown the uncertainty is NaN: readers and readings stand beside. What all readers share, as a
    gauge that is off, is not in it.
    Source: nested analysis of variance, in every textbook of statistics.
    """
    groups = {group: [np.asarray(v, float) for v in of.values()] for group, of in readings.items() if of}
    readers = [values for of in groups.values() for values in of]
    free, free_readers = sum(len(v) - 1 for v in readers), sum(len(of) - 1 for of in groups.values())
    repeats = sum(((v - v.mean()) ** 2).sum() for v in readers) / free if free else 0.0
    apart = 0.0
    if free_readers:
        middles = {group: np.concatenate(of).mean() for group, of in groups.items()}
        square = sum(len(v) * (v.mean() - middles[group]) ** 2 for group, of in groups.items() for v in of)
        apart = max(square / free_readers - repeats, 0.0) / np.mean([len(v) for v in readers])
    found = {}
    for group, of in groups.items():
        square = apart / len(of) + repeats * sum(1 / len(v) for v in of) / len(of) ** 2 + gauge**2
        spread = float(np.sqrt(square)) if free or free_readers else np.nan
        found[group] = float(np.mean([v.mean() for v in of])), spread, len(of), sum(map(len, of))
    return found


COLUMNS = ("group", "quantity", "unit", "low", "best", "high", "measured", "uncertainty", "readers", "readings",
           "inside", "kit_low", "kit_median", "kit_high", "kit_inside")


def compare(groups, study, tube=None, draws=2**12, seed=1):
    """Predicted against measured, a row a group and quantity that it predicted or read.

    groups: of `collect`. The rest as `expected`.
    Returns a DataFrame: group, quantity, unit; low, best, high as predicted; measured, uncertainty (standard),
    readers, readings (see `combined`); inside: whether the measured mean lies in the group's range, None where one of
    the two is missing; kit_low, kit_median, kit_high (of `expected`); kit_inside, likewise. The uncertainty is for the
    eye: inside asks for the mean alone. `.attrs`: that of `expected`, which stands there itself as `expected`.
    """
    import pandas as pd
    own, rows = expected(study, tube, draws, seed), []
    found = {}
    for key, asked in ASKED.items():
        gauge = gauging.resolution_uncertainty(step=asked.step).m_as(asked.unit) if asked.step else 0.0
        found[key] = combined({g.label: g.readings.get(key, {}) for g in groups}, gauge)
    for group in groups:
        for key, asked in ASKED.items():
            said = group.predictions.get(key)
            mean, spread, readers, n = found[key].get(group.label, (np.nan, np.nan, 0, 0))
            if not said and not n:
                continue
            low, best, high = (said["low"], said["value"], said["high"]) if said else (np.nan,) * 3
            kit_low, kit_median, kit_high = (float(own.loc[key, c]) for c in ("low_5", "median", "high_95"))
            rows.append((group.label, key, asked.unit, low, best, high, mean, spread, readers, n,
                         bool(low <= mean <= high) if said and n else None, kit_low, kit_median, kit_high,
                         bool(kit_low <= mean <= kit_high) if n else None))
    table = pd.DataFrame(rows, columns=COLUMNS).astype({"inside": object, "kit_inside": object})
    table.attrs = own.attrs | {"expected": own}
    return table


def tidy(table):
    """A table of `compare` or `expected` as a person reads it: three digits, µm, and nothing where nothing is known."""
    def cell(value):
        if value is None or value != value:
            return ""
        return number(value) if isinstance(value, float) else MICRO.get(value, value)

    return table.astype(object).map(cell)


@dataclass(frozen=True)
class Hits:
    """How many of so many ranges held what was measured; low, high: true rates that this is compatible with (95 %,
    Clopper-Pearson); words: that, and what it does not show."""
    held: int
    n: int
    low: float
    high: float
    words: str


def hits(table, whose="inside"):
    """Hit rate of the groups' ranges ("inside") or of the kit's ("kit_inside") over all rows of `compare` that have
    both.

    Returns Hits, None where nothing can be counted yet.
    """
    found = [bool(v) for v in table[whose] if v is not None]
    if not found:
        return None
    held, n, kit = sum(found), len(found), whose == "kit_inside"
    low, high = (float(end) for end in trials.success_interval(successes=held, trials=n))
    says = ("nine in ten lies within that, and much else besides" if low <= 0.9 <= high else
            "they were too narrow to hold nine times in ten" if high < 0.9 else
            "they were wider than nine times in ten needs")
    return Hits(held, n, low, high, (
        f"{held} of {n} of {'the kit' if kit else 'the groups'}'{'s' if kit else ''} ranges held what was measured "
        f"({held / n:.0%}). Were they independent, the true rate might lie anywhere from {low:.0%} to {high:.0%} "
        f"(95 %, Clopper-Pearson): {says}. They are not independent: a group's share its hands and its room"
        f"{', and the kit says the same to every group' if kit else ''}. n = {n} teaches how sure to be; it is no "
        "measurement of anybody."))
