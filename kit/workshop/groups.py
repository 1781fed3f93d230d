"""Groups of learners compared: what each predicted against what it measured, and how often the ranges held."""
from dataclasses import dataclass

import numpy as np

from kit.base import words
from kit.estimates import gauging, trials
from kit.workshop.answers import ASKED
from kit.workshop.expectation import expected


def combined(readings, gauge=0.0):
    """Mean and standard uncertainty of the readings of each group: {group: (mean, uncertainty, readers, readings)}.

    readings: {group: {reader: [values]}}, plain numbers of one quantity. gauge: standard uncertainty from the gauge's
    step (gauging.resolution_uncertainty), in their unit.

    A small nested estimate: each group has its own readers, so the differences between readers are pooled over the
    groups, and the differences between one reader's repeats over all readers. With mean squares B (readers within
    groups, each with about r readings) and W (repeats), a mean over k readers with n readings each has u^2 = max((B -
    W) / r, 0) / k + W / (k n) + gauge^2. A component that no group shows (one reader each, one reading each) counts as
    0; where neither is shown the uncertainty is NaN. An error common to all readers, such as a gauge that reads wrong,
    is not included.
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
    """Predicted against measured, one row for each group and quantity that it predicted or read.

    groups: of `collect`. The rest as `expected`.
    Returns a DataFrame: group, quantity, unit; low, best, high as predicted; measured, uncertainty (standard),
    readers, readings (see `combined`); inside: whether the measured mean lies in the group's range, None where one of
    the two is missing; kit_low, kit_median, kit_high (of `expected`); kit_inside, likewise. The uncertainty is only
    shown: `inside` goes by the mean. `.attrs`: those of `expected`, and that table itself under `expected`.
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
    """A table of `compare` or `expected` for reading: headings in words, three digits, empty where nothing is known."""
    def cell(value, column):
        if value is None or value != value:
            return ""
        if isinstance(value, (bool, np.bool_)):
            return "yes" if value else "no"
        if column == "unit":
            return words.unit(value)
        if isinstance(value, float):
            return words.percent(value) if column in ("share", "next_share") else words.number(value)
        return value

    shown = table.drop(columns="key", errors="ignore").astype(object)
    shown = shown.apply(lambda column: column.map(lambda value: cell(value, column.name)))
    return words.headed(shown).rename_axis(index=lambda name: name and words.heading(name))


@dataclass(frozen=True)
class Hits:
    """How many of n ranges held what was measured; low, high: the true rates compatible with that (95 %,
    Clopper-Pearson); words: the same as a sentence, and what it does not show."""
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
    says = ("this is compatible with nine in ten, and with much else" if low <= 0.9 <= high else
            "the ranges were too narrow to hold nine times in ten" if high < 0.9 else
            "the ranges were wider than nine times in ten requires")
    return Hits(held, n, low, high, (
        f"{held} of {n} of the {'kit' if kit else 'groups'}'{'s' if kit else ''} ranges held what was measured "
        f"({words.percent(held / n)}). If they were independent, the true rate could lie anywhere from "
        f"{words.percent(low)} to {words.percent(high)} (95 %, Clopper-Pearson); {says}. They are not independent: "
        f"those of one group share its hands and its room{', and the kit gives every group the same' if kit else ''}. "
        f"n = {n} is an exercise in how sure to be, not a measurement of anybody."))
