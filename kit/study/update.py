"""A study taught by measurements: its draws conditioned on what a bench log holds."""
from dataclasses import replace

import numpy as np

from kit.base.units import Q
from kit.study.measured import BenchError

UPDATES = ("pull", "minutes", "torque", "mass lost")   # a bore measures one reamed hole, nothing that is drawn once


def condition(study, measured, particles=2**12, seed=1, least=0.1):
    """Study whose once-drawn assumptions are conditioned on a list of Measured (see Log.update).

    Measurements count as impossible where the best of the draws still lies further from both the prior and the
    measurements than chance allows (prior predictive check: G. E. P. Box, Sampling and Bayes' inference in scientific
    modelling and robustness, J. R. Stat. Soc. A 143 (1980) 383-430, from memory; the distance is exact where all is
    normal).
    """
    from scipy import special, stats
    if study.conditioned:
        raise BenchError("this study has been updated by a log already; put all rows into one log and update the study "
                         "as it was loaded")
    measured = [m for m in measured if m.kind in UPDATES]
    assumed = study.assumptions
    keys = _linked([k for k in _asked(study, measured) if assumed[k].shape != "fixed"],
                   [pair for pair in study.correlations if all(assumed[k].shape != "fixed" for k in pair)])
    if all("@" in k for k in keys):
        raise BenchError("the measurements say nothing of any assumption that is drawn: all that they rest on is "
                         "pinned")
    mix, rng, rest = _mixing(keys, study.correlations), np.random.default_rng(seed), study.draws(particles, seed)
    unmix = np.linalg.inv(mix)

    def quantities(scores):
        uniform = np.clip(special.ndtr(scores), 1e-12, 1 - 1e-12)
        return {k: assumed[k].quantile(u) for k, u in zip(keys, uniform)}

    def likelihood(scores):
        values = rest | {k: Q(v, assumed[k].unit) for k, v in quantities(scores).items()}
        return sum(m.log_likelihood(m.predict(values)) for m in measured)

    def prior(scores):
        return -0.5 * np.sum((unmix @ scores) ** 2, axis=0)

    scores = mix @ rng.standard_normal((len(keys), particles))
    fits, heat, stages, reach = likelihood(scores), 0.0, 0, 2.38 / np.sqrt(len(keys))
    while heat < 1:
        stages += 1
        heat, weights = _next_heat(heat, fits, particles)
        chosen = _systematic(weights, rng)
        scores, fits = scores[:, chosen], fits[chosen]
        start = scores
        shape, moved = np.linalg.cholesky(np.cov(scores) + 1e-6 * np.eye(len(keys))), np.zeros(particles)
        for _ in range(MOST_MOVES):
            proposed = scores + reach * (shape @ rng.standard_normal(scores.shape))
            new = likelihood(proposed)
            take = np.log(rng.random(particles)) < heat * (new - fits) + prior(proposed) - prior(scores)
            scores, fits = np.where(take, proposed, scores), np.where(take, new, fits)
            moved += take
            reach = float(np.clip(reach * np.exp(take.mean() - 0.25), 0.02, 2))
            if moved.mean() >= MOVES:
                break
        if stages > MOST_STAGES:
            raise BenchError("the measurements pull the draws too far for the update to be trusted: some range in the "
                             "study leaves out what was measured; "
                             "look at Log.compare and widen it")
    strain = np.min(np.sum((unmix @ scores) ** 2, axis=0) - 2 * fits)
    if strain > stats.chi2.isf(IMPOSSIBLE, sum(len(m.value) for m in measured)):
        raise BenchError("the measurements are next to impossible under the ranges of the study: some range leaves out "
                         "what was measured, a reading "
                         "or its unit is wrong, or readings scatter more than the error of measuring says; look at "
                         "Log.compare, mend the log or widen "
                         "the range")
    effective = min(_effective(start, scores, np.bincount(chosen)), len(np.unique(scores[0])))
    if effective < least * particles:
        raise BenchError(f"the update leaves no more than {effective} of {particles} draws that are worth one each: "
                         f"too few to trust; take more particles, or "
                         "look at Log.compare for what the study cannot explain")
    # what belongs to one tube says nothing about the next
    held = {k: v for k, v in quantities(scores).items() if "@" not in k}
    learnt = tuple(k for k in held if held[k].std() < LEARNT * assumed[k].quantile((np.arange(512) + 0.5) / 512).std())
    return replace(study, conditioned=held, conditioned_on={"measurements": sum(len(m.value) for m in measured),
                                                            "effective": effective,
                                                            "particles": particles, "stages": stages, "seed": seed,
                                                            "learnt": learnt})


def _effective(start, end, families):
    """Upper bound of the effective sample: draws that descend from the same draw of the last resampling are alike by
    the square of the correlation that the moves have left, taken for the worst assumption. What earlier resamplings
    left is not seen."""
    start, end = (x - x.mean(axis=1, keepdims=True) for x in (start, end))
    kept = np.clip((start * end).sum(axis=1) / np.sqrt((start**2).sum(axis=1) * (end**2).sum(axis=1)), 0, 1)
    sizes = families[families > 0]
    return int(np.min([np.sum(sizes / (1 + (sizes - 1) * r**2)) for r in kept]))


LEARNT = 0.7    # an assumption whose spread falls below this share of what it was rests on the trials from then on
IMPOSSIBLE = 1e-9   # chance of measurements as far off, under the ranges of the study, below which they are refused
# moves that each particle should make at each degree, on average; and when to give up
MOVES, MOST_MOVES, MOST_STAGES = 4, 40, 60


def _asked(study, measured):
    """Keys of the assumptions that the predictions ask for."""
    asked = set()

    class Asking(dict):
        def __getitem__(self, key):
            asked.add(key)
            return super().__getitem__(key)

    values = Asking(study.draws(2, 1))
    for m in measured:
        m.predict(values)
    return sorted(asked)


def _linked(keys, pairs):
    """The keys, and those that correlations tie to them, directly or through others."""
    found = set(keys)
    while more := {k for pair in pairs if found & set(pair) for k in pair} - found:
        found |= more
    return sorted(found)


def _mixing(keys, correlations):
    matrix = np.eye(len(keys))
    for (a, b), r in correlations.items():
        if a in keys and b in keys:
            matrix[keys.index(a), keys.index(b)] = matrix[keys.index(b), keys.index(a)] = r
    return np.linalg.cholesky(matrix)


def _next_heat(heat, fits, particles):
    """How much of the likelihood may be let in so that half of the particles stay effective; and their weights."""
    def weights(to):
        w = np.exp((to - heat) * (fits - fits.max()))
        return w / w.sum()

    low, high = heat, 1.0
    if 1 / np.sum(weights(1.0) ** 2) >= particles / 2:
        return 1.0, weights(1.0)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if 1 / np.sum(weights(middle) ** 2) >= particles / 2 else (low, middle)
    return low, weights(low)


def _systematic(weights, rng):
    places = (rng.random() + np.arange(len(weights))) / len(weights)
    return np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)
