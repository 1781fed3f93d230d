"""The wall that each draw needs, or another size: at which values it passes, and which assumptions move the least."""
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import words
from kit.base.units import Q, told
from kit.estimates.uncertainty import ranks
from kit.study.design import search_range
from kit.study.judge import lines
from kit.study.studyfile import StudyError


@dataclass(frozen=True)
class Critical:
    """The values of a key at which each draw passes, over a range that was looked at.

    key, label: what was varied, and what it is called. grid: values looked at, in `unit`. margins: least margin of each
    draw at each, shape (values, draws). least: the smallest value at which a draw passes, between the grid's values;
    nan where it passes nowhere, or everywhere from the start of the range. greatest: the largest. n, seed: draws.
    """
    study: object
    key: str
    label: str
    unit: str
    grid: np.ndarray
    margins: np.ndarray
    draws: dict
    used: frozenset
    n: int
    seed: int

    @cached_property
    def passes(self):
        return self.margins >= 1

    @cached_property
    def least(self):
        return self._crossing(self.passes, self.margins, self.grid)

    @cached_property
    def greatest(self):
        return self._crossing(self.passes[::-1], self.margins[::-1], self.grid[::-1])

    @staticmethod
    def _crossing(passes, margins, grid):
        first, draws = np.argmax(passes, axis=0), np.arange(passes.shape[1])
        before = np.maximum(first - 1, 0)
        here, there = (np.log(np.clip(margins[i, draws], 1e-6, 1e6)) for i in (first, before))
        share = np.where(here > there, here / np.maximum(here - there, 1e-12), 0.0).clip(0, 1)
        crossing = grid[first] - share * (grid[first] - grid[before])
        return np.where(passes.any(axis=0), np.where(first == 0, grid[0], crossing), np.nan)

    @property
    def shares(self):
        """{how a draw passes: its share}: nowhere; over one stretch of values; over several; everywhere."""
        rises = (self.passes[1:] & ~self.passes[:-1]).sum(axis=0) + self.passes[0]
        everywhere, nowhere = self.passes.all(axis=0), ~self.passes.any(axis=0)
        return {"nowhere": float(nowhere.mean()), "everywhere": float(everywhere.mean()),
                "over one stretch": float(((rises == 1) & ~everywhere).mean()),
                "over several": float((rises > 1).mean())}

    @property
    def chances(self):
        """Chance that a value passes, at each of the grid."""
        return self.passes.mean(axis=1)

    def threshold(self, chance):
        """(value at which the chance first passes `chance`, its standard error by the number of draws), Quantities.

        Raises StudyError where it does not pass within the range.
        """
        curve = self.chances
        at = np.flatnonzero((curve[:-1] < chance) != (curve[1:] < chance))
        if not len(at):
            raise StudyError(f"{self.key}: the chance does not pass {chance:g} between {words.number(self.grid[0])} "
                             f"and {words.number(self.grid[-1])} {words.unit(self.unit)}; it stays between "
                             f"{curve.min():.2f} and {curve.max():.2f}")
        i = int(at[0])
        slope = (curve[i + 1] - curve[i]) / (self.grid[i + 1] - self.grid[i])
        value = self.grid[i] + (chance - curve[i]) / slope
        error = np.sqrt(chance * (1 - chance) / self.n) / abs(slope)
        return Q(float(value), self.unit), Q(float(error), self.unit)

    def moved_by(self, most=10):
        """DataFrame: the assumptions that move the least value most: the median of it in the lowest and the highest
        tenth of each assumption, and the share of its variance (ranks, from the draws that pass somewhere)."""
        import pandas as pd
        inside = np.isfinite(self.least)
        if inside.sum() < 20:
            raise StudyError(f"{self.key}: fewer than 20 of {words.count(self.n)} draws pass anywhere between "
                             f"{words.number(self.grid[0])} and {words.number(self.grid[-1])} {words.unit(self.unit)}; "
                             "look at a wider range, or take more draws")
        least, ranked, rows = self.least[inside], ranks(self.least[inside]), []
        copies = {}
        for key in sorted(self.used):
            if np.ndim(self.draws[key].m):
                copies.setdefault(key.partition("@")[0], []).append(ranks(self.draws[key].m[inside]))
        for key, columns in copies.items():   # an assumption drawn for each tube counts once, all its draws together
            columns = np.array(columns)
            fitted = np.linalg.lstsq(columns.T, ranked, rcond=None)[0] @ columns
            together = columns.mean(axis=0)
            low, high = np.quantile(together, (0.1, 0.9))
            rows.append({"key": key, "assumption": self.study.labels[key],
                         "lowest tenth": float(np.median(least[together <= low])),
                         "highest tenth": float(np.median(least[together >= high])),
                         "share": float(fitted @ fitted / (ranked @ ranked)),
                         "grade": self.study.register.loc[key, "grade"]})
        table = pd.DataFrame(rows).set_index("key").sort_values("share", ascending=False).head(most)
        table.attrs = {"unit": self.unit, "n": self.n, "seed": self.seed, "label": self.label}
        return table

    @property
    def said(self):
        """In a sentence: where the draws pass, and the middle of their least value."""
        shares, inside = self.shares, self.least[np.isfinite(self.least)]
        nowhere = f"{words.percent(shares['nowhere'])} of draws pass at no {self.label.partition(' / ')[0]} in between"
        if not len(inside):
            return f"{nowhere} ({words.draws(self.n, self.seed)})."
        ends = words.ranged(*np.quantile(inside, (0.05, 0.5, 0.95)), self.unit)
        return (f"{nowhere} {words.number(self.grid[0])} and {words.number(self.grid[-1])} {words.unit(self.unit)}; "
                f"the others need at least {ends} ({words.draws(self.n, self.seed)}).")


def critical(plan, key="wall", low=None, high=None, points=13, draws=2**12, seed=1, criteria=None):
    """The values of a key at which each draw passes: a Critical.

    key: a part key, a choice with a unit or an assumption (see `with_`). low, high: the range looked at; a quarter of
    to three times the present value where None. points: looked at, evenly on a log scale; a stretch narrower than their
    distance may be missed. draws, seed, criteria: as for `assess`; every point has the same draws.
    """
    low, high, unit = search_range(plan, key, low, high, least=0.25)
    grid = np.geomspace(low, high, points)
    values, margins, used = plan.draws(draws, seed), [], frozenset()
    with told():   # what lies outside a formula's range at the ends of the search means nothing by itself
        for value in grid:
            found, _ = lines(plan.with_(**{key: Q(value, unit)}), values, int(draws), criteria)
            margins.append(np.min([line.margin for line in found], axis=0))
            used |= frozenset().union(*(line.used for line in found))
    name = f"{plan.said(key)} / {words.unit(unit)}"
    return Critical(plan, key, name, str(unit), grid, np.array(margins), values, used - {key}, int(draws), seed)


def for_reading(table):
    """A table of `Critical.moved_by` in words: the least value among an assumption's lowest and highest tenth, and the
    share of its variance."""
    import pandas as pd
    label, of = table.attrs["label"].partition(" / ")[0], table.attrs["unit"]
    ends = {f"least {label}, {end}": [words.with_unit(words.number(value, 2), of) for value in table[end]]
            for end in ("lowest tenth", "highest tenth")}
    return pd.DataFrame({"assumption": table["assumption"].to_list()} | ends
                        | {"share of its variance": [words.percent(share) for share in table["share"]],
                           "evidence": table["grade"].to_list()}).set_index("assumption")
