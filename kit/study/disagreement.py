"""Whether measurements are such as a study expects: how surprising they are, and which quantity disagrees."""
from dataclasses import dataclass

import numpy as np

WARNED = 0.05        # chance of measurements as far off below which it is said
BEYOND = 6.1         # standard deviations of the error beyond all that a study allows: 1e-9, were it normal


@dataclass(frozen=True)
class Check:
    """p: chance, under the ranges of the study, of measurements as far off in some quantity. each: (kind, what is off,
    its own p), the least first. beyond: kinds that lie beyond all that the study allows, whatever gauge and day did."""
    p: float
    each: tuple
    beyond: tuple

    @property
    def disagrees(self):
        """One line of words for each quantity that disagrees; none where p is not small."""
        if self.p >= WARNED:
            return ()
        least = self.each[0][2]
        return tuple(f"{kind}: {what}" for kind, what, p in self.each if p in (least,) or p * len(self.each) < WARNED)


def check(measured, predicted, seed):
    """Check of a list of Measured against draws of what the study predicts, a list of arrays of shape (k, n).

    Each kind is asked for its level (mean of reading over the predicted median, on the scale on which errors add) and
    for its scatter about that; a reading that is only bounded, for the chance of one inside its bound. Their chances
    come from readings simulated by the study's own draws and the error of measuring, so they are as small as 1/(n + 1)
    at the least; p is the least of them times their number (Bonferroni), which is rather too large than too small.
    Source: G. E. P. Box, Sampling and Bayes' inference in scientific modelling and robustness, J. R. Stat. Soc. A 143
    (1980) 383-430, from memory.
    """
    rng, found, beyond = np.random.default_rng(seed), [], []
    for m, at in zip(measured, predicted):
        found += _surprises(m, at, rng)
        if _beyond(m, at):
            beyond.append(m.kind)
    found.sort(key=lambda one: one[2])
    return Check(min(1.0, found[0][2] * len(found)), tuple(found), tuple(beyond))


def p_said(p):
    """A chance of this kind in words: two digits, and no more zeros than simulation can tell."""
    return f"p = {p:.2g}" if p >= 0.001 else "p below 0.001"


def _surprises(m, predicted, rng):
    """[(kind, what is off, chance of being as far off)]."""
    read = m.error.scaled(np.maximum(m.with_error(predicted, rng), 1e-300 if m.error.relative else -np.inf))
    n, found, valued = read.shape[1], [], m.valued

    def share(as_far):
        return (1 + np.count_nonzero(as_far)) / (n + 1)

    if valued.any():
        middle = np.median(read[valued], axis=1, keepdims=True)
        off, others = (x - middle for x in (m.error.scaled(m.value[valued])[:, None], read[valued]))
        level, levels = off.mean(), others.mean(axis=0)
        high, low = share(levels >= level), share(levels <= level)
        found.append((m.kind, f"the readings lie {'higher' if high < low else 'lower'} than the study expects",
                      min(1.0, 2 * min(high, low))))
        if valued.sum() > 1:
            found.append((m.kind, "the readings scatter more than their error and the study's ranges say",
                          share(others.std(axis=0) >= off.std())))
    if not valued.all():
        with np.errstate(divide="ignore"):
            ends = [m.error.scaled(x[~valued])[:, None] for x in (m.low, m.high)]
        above, below = ((1 + np.count_nonzero(inside, axis=1)) / (n + 1)
                        for inside in (read[~valued] >= ends[0], read[~valued] <= ends[1]))
        high = above.min() <= below.min()
        found.append((m.kind, f"some bound lies {'higher' if high else 'lower'} than the study expects",
                      min(1.0, 2 * len(above) * min(above.min(), below.min()))))
    return found


def _beyond(m, predicted):
    """Whether the measurements lie beyond every draw by more than the error of measuring can do."""
    error, valued = m.error, m.valued
    shared = error.bias**2 + error.day**2 + error.operator**2
    at = error.scaled(np.maximum(predicted, 1e-300) if error.relative else predicted)
    if valued.any():
        off = error.scaled(m.value[valued])[:, None] - at[valued]
        level, scatter = off.mean(axis=0), np.maximum(off.std(axis=0), error.scatter) / np.sqrt(valued.sum())
        if level.min() > 0 or level.max() < 0:
            nearest = np.abs(level).argmin()
            if abs(level[nearest]) > BEYOND * np.hypot(np.sqrt(shared), scatter[nearest]):
                return True
    if not valued.all():
        with np.errstate(divide="ignore"):
            low, high = (error.scaled(x[~valued])[:, None] for x in (m.low, m.high))
        gap = np.maximum(low - at[~valued], at[~valued] - high).min(axis=1)
        return bool((gap > BEYOND * np.hypot(np.sqrt(shared), error.scatter)).any())
    return False
