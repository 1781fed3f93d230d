"""The band beside a chance: how far it goes over what is weakly known, and over what the tubes share.

Weakly known is what the reference tables grade recalled, model-only or conjecture. Its ranges are no frequencies. So
the shared part of every such row is drawn once for a world, everything else many times within it; the chance of each
world is one number, and the band holds nine worlds in ten.
"""
from dataclasses import dataclass, field, replace

import numpy as np

from kit.base import evidence, words
from kit.base.units import unheard
from kit.operations import settle
from kit.study.outcomes import outcomes

WEAK = ("recalled", "model-only", "conjecture")
WORLDS, INNER = 128, 64   # worlds, and draws in each: an even set that takes a second or two
SHARING = 2**12           # draws for the chance if tubes shared all or nothing
LIKELY = 0.66              # IPCC 2010: from here on a thing is likely


@dataclass(frozen=True)
class Band:
    """The chance over the worlds. low, high: their 5 % and 95 % points; low_error, high_error: standard errors of these
    by the number of worlds. share_likely: of the worlds in which it is likely (0.66 or more). chances: of each world.
    outer: keys that were drawn once for a world, or what whoever narrowed them calls them. nothing_shared, all_shared:
    the one chance if tubes share nothing but lathe, person, metal and use; or everything. lines: (low, high) of each
    (tube, criterion) by itself."""
    low: float
    high: float
    low_error: float
    high_error: float
    share_likely: float
    chances: np.ndarray
    inner: int
    seed: int
    outer: frozenset
    nothing_shared: float
    all_shared: float
    lines: dict = field(default_factory=dict)

    @property
    def said(self):
        """The band in words: '0.02 to 0.71 in nine of ten worlds of what is weakly known'."""
        return (f"{words.chance(self.low)} to {words.chance(self.high)} in nine of ten worlds of what is weakly "
                f"known")

    def told(self):
        """All of it, in sentences."""
        return (f"Over {words.count(len(self.chances))} worlds of what is conjectured, recalled or taken from a model, "
                f"the chance runs from {words.chance(self.low)} (standard error {self.low_error:.2f}) to "
                f"{words.chance(self.high)} "
                f"(standard error {self.high_error:.2f}) in nine of ten, and is likely in "
                f"{words.count(round(self.share_likely * len(self.chances))) if self.share_likely else 'none'} of them "
                f"({words.count(self.inner)} draws in each, seed {self.seed}). It would be "
                f"{words.chance(self.nothing_shared)} if the tubes shared nothing but lathe, person, metal and use, "
                f"and {words.chance(self.all_shared)} if they shared everything.")


def likelihood(chance, band):
    """The published probability word for a chance, alone where the whole band has it, else from the lowest to the
    highest of the band: 'from very unlikely to likely'."""
    low, high = (evidence.likelihood(each) for each in (band.low, band.high))
    if low == high == evidence.likelihood(chance):
        return low
    return f"from {low} to {high}"


def weak_rows(plan):
    """Keys of the rows that the reference tables grade as no more than model-only, recalled or conjecture, whatever
    the study's own rows say: a row with another label on it stays outside."""
    return frozenset(key for key, row in plan.reference_rows.items() if row.grade in WEAK and key not in plan.fixed)


def band(plan, seed=1, criteria=None, adapt=settle.FEEL, worlds=WORLDS, inner=INNER, outer=None):
    """The Band of a plan's chance that all criteria are met.

    worlds: their number, a power of two for even points. inner: draws in each. outer: keys that are drawn once for a
    world; those of `weak_rows` where None.
    """
    outer = weak_rows(plan) if outer is None else frozenset(outer)
    n = worlds * inner
    met = _met(plan, plan.draws(n, seed, (worlds, outer)), n, criteria, adapt)
    lines = {name: _ends(each, worlds) for name, each in met.items()}
    chances = _every(met).reshape(worlds, inner).mean(axis=1)
    again = np.random.default_rng(seed).integers(worlds, size=(500, worlds))
    ends = np.quantile(chances[again], (0.05, 0.95), axis=1)
    low, high = np.quantile(chances, (0.05, 0.95))
    extremes = {}
    for sharing in ("nothing", "all"):
        other = replace(plan, sharing=sharing)
        few = min(n, SHARING)
        extremes[sharing] = float(_every(_met(other, other.draws(few, seed), few, criteria, adapt)).mean())
    return Band(float(low), float(high), *map(float, ends.std(axis=1)), float(np.mean(chances >= LIKELY)), chances,
                inner, seed, outer, extremes["nothing"], extremes["all"], lines)


def ends(plan, seed=1, criteria=None, adapt=settle.FEEL, worlds=INNER, inner=INNER):
    """(low, high) of a plan's band alone, from half the worlds: for sweeps, where each point wants one.

    Three seeds gave 0.47 to 0.68 for the demo's upper end, and 0.45 to 0.56 with the worlds of a verdict.
    """
    n = worlds * inner
    values = plan.draws(n, seed, (worlds, weak_rows(plan)))
    return _ends(_every(_met(plan, values, n, criteria, adapt)), worlds)


def _ends(met, worlds):
    low, high = np.quantile(met.reshape(worlds, -1).mean(axis=1), (0.05, 0.95))
    return float(low), float(high)


def _every(met):
    """In which draws every criterion of every tube is met."""
    return np.logical_and.reduce(list(met.values()))


def _met(plan, values, n, criteria, adapt):
    """{(tube, criterion): in which of n draws it is met}."""
    met = {}
    with unheard():   # the verdict has told it already
        found, _ = outcomes(plan, values, criteria, adapt)
    for place, name, outcome, _ in found:
        demand, capacity = (np.atleast_2d(q.m_as(outcome.unit)) for q in (outcome.demand, outcome.capacity))
        met[place, name] = np.broadcast_to((capacity >= demand).all(axis=0), n)
    return met
