"""A study taught by measurements: its draws conditioned on what a bench log holds."""
import warnings
from dataclasses import replace

import numpy as np

from kit.base import words
from kit.base.evidence import SHARED
from kit.base.units import Q
from kit.study.disagreement import WARNED, check, p_said
from kit.study.measured import BenchError

# what teaches; a bore or a test of the finished part tells of one piece, nothing that is drawn once
UPDATES = ("pull", "minutes", "torque", "mass lost", "stock lapped")
LEARNT = 0.7    # an assumption whose normal scores for certain spread less than this, before 1, is taught by the log
ALIKE = 0.3     # correlation with where it started at which a draw has moved far enough
MOST_MOVES, MOST_STAGES = 60, 60   # when to give up


class Disagreement(UserWarning):
    """Measurements that the ranges of the study make unlikely."""


def condition(study, measured, particles=2**12, seed=1, least=0.1):
    """Study whose assumptions, as far as tubes share them, are conditioned on a list of Measured (see Log.update)."""
    if study.conditioned:
        raise BenchError("this study has been updated by a log already; put all rows into one log and update the study "
                         "as it was loaded")
    measured = [m for m in measured if m.kind in UPDATES]
    assumed = study.assumptions
    keys = _linked([k for k in _asked(study, measured) if assumed[k].shape != "fixed"],
                   [pair for pair in study.correlations if all(assumed[k].shape != "fixed" for k in pair)])
    keys += sorted({SHARED + k.partition("@")[0] for k in keys if _in_part(assumed[k], study.correlations)})
    if all("@" in k for k in keys):
        raise BenchError("the measurements say nothing of any assumption that is drawn: all that they rest on is "
                         "pinned")
    rest = study.draws(particles, seed)
    checked = check(measured, [np.broadcast_to(m.predict(rest), (len(m.places), particles)) for m in measured], seed)
    if checked.beyond:
        raise BenchError(f"the measurements are next to impossible under the ranges of the study, whatever gauge and "
                         f"day did to them: {', '.join(checked.beyond)}. Some range leaves out what was measured, or a "
                         "reading or its unit is wrong; look at Log.compare, mend the log or widen the range")
    scores, effective, stages = _sampled(_target(assumed, keys, study.correlations, measured, rest), particles, seed)
    if effective < least * particles:
        raise BenchError(f"the update leaves no more than {effective} of {particles} draws that are worth one each: "
                         f"too few to trust; take more particles, or "
                         "look at Log.compare for what the study cannot explain")
    # what belongs to one piece says nothing about the next
    shared = {k[len(SHARED):]: score for k, score in zip(keys, scores) if k.startswith(SHARED)}
    held = {k: v for k, v in _quantities(assumed, keys, scores).items() if "@" not in k}
    held |= _next_pieces(assumed, shared, seed)
    left = _spread_left(assumed, keys, scores)
    sure = 1 + 1.645 / np.sqrt(2 * effective)   # of a standard deviation from so many draws
    if checked.disagrees:
        warnings.warn(_told(checked), Disagreement, stacklevel=3)
    return replace(study, conditioned=held, conditioned_shared=shared, conditioned_on={
        "measurements": sum(len(m.value) for m in measured), "effective": effective, "particles": particles,
        "stages": stages, "seed": seed, "p": checked.p, "disagrees": checked.disagrees,
        "learnt": tuple(k for k, share in left.items() if share * sure < LEARNT)})


def _told(checked):
    return (f"the study makes measurements like these unlikely ({p_said(checked.p)}): "
            f"{'; '.join(checked.disagrees)}. Look at the readings and at the ranges before you trust the update")


def taught_words(study):
    """What an update rests on, in a few sentences: measurements, effective draws, how surprising they were, and what
    disagrees."""
    if not study.conditioned:
        raise BenchError("this study has not been updated by a log")
    on = study.conditioned_on
    off = "; ".join(on["disagrees"])
    return (f"{on['measurements']} measurements; {words.count(on['particles'])} draws kept, worth about "
            f"{words.count(on['effective'])} independent ones (seed {on['seed']}). Chance of measurements as far off "
            f"under the study as it was: {p_said(on['p'])}" + (f", below {WARNED}; what disagrees: {off}" if off
                                                                else ", no cause for alarm"))


def chance_error(verdict):
    """Monte Carlo standard error of the chance of all, at the most: as many draws as were judged, and of a study that a
    log has updated no more independent ones than its update holds. Plain number.

    Formula: sqrt(p (1 - p) (1/n + 1/effective)), as if all that decides were updated.
    """
    p, on = verdict.chance, verdict.study.conditioned_on if verdict.study.conditioned else None
    p = (p * verdict.n + 1) / (verdict.n + 2)   # no draw out of n is no certainty
    return float(np.sqrt(p * (1 - p) * (1 / verdict.n + (1 / on["effective"] if on else 0))))


def _in_part(row, correlations):
    """Whether the tubes share a part of an assumption's spread, as evidence.draw does: one that the study correlates
    by itself goes with that."""
    return "@" in row.key and 0 < row.each < 1 and not any(row.key in pair for pair in correlations)


def _next_pieces(assumed, shared, seed):
    """Draws of a next piece of each tube, {key@tube: plain numbers}: the part that pieces share as the log has left it,
    and a part of its own as fresh as ever."""
    from scipy import special
    rng, found = np.random.default_rng(seed + 1), {}
    for key, row in assumed.items():
        if (bare := key.partition("@")[0]) in shared and key != bare:
            own = rng.standard_normal(len(shared[bare]))
            found[key] = row.quantile(special.ndtr(np.sqrt(1 - row.each) * shared[bare] + np.sqrt(row.each) * own))
    return found


def _spread_left(assumed, keys, scores):
    """{key: standard deviation of its normal scores, where that was 1 before}: of what differs from piece to piece in
    part, that of a next piece."""
    each = {k.partition("@")[0]: row.each for k, row in assumed.items()}
    found = {}
    for key, score in zip(keys, scores):
        if "@" not in key:
            own = each[key[len(SHARED):]] if key.startswith(SHARED) else 0.0
            found[key.lstrip(SHARED)] = float(np.sqrt((1 - own) * score.var() + own))
    return found


def _quantities(assumed, keys, scores):
    from scipy import special
    uniform = np.clip(special.ndtr(scores), 1e-12, 1 - 1e-12)
    return {k: assumed[k].quantile(u) for k, u in zip(keys, uniform) if not k.startswith(SHARED)}


def _target(assumed, keys, correlations, measured, rest):
    """(mixing matrix of the prior's normal scores, log-likelihood of scores of shape (keys, n))."""

    def likelihood(scores):
        values = rest | {k: Q(v, assumed[k].unit) for k, v in _quantities(assumed, keys, scores).items()}
        n = scores.shape[1]
        return sum(m.log_likelihood(np.broadcast_to(m.predict(values), (len(m.places), n))) for m in measured)

    return _mixing(keys, correlations, assumed), likelihood


def _sampled(target, particles, seed):
    """(scores of the posterior, effective sample size, stages): the sequential scheme of Log.update.

    Two moves in turn, each scaled until about a third to a quarter of the draws take it: a random walk shaped by the
    cloud, and a step that keeps the normal distribution fitted to the cloud (after S. L. Cotter, G. O. Roberts,
    A. M. Stuart and D. White, MCMC methods for functions, Statistical Science 28 (2013) 424-446, from memory), which
    where the cloud is nearly normal goes anywhere at once.
    """
    mix, likelihood = target
    rng, unmix = np.random.default_rng(seed), np.linalg.inv(mix)

    def prior(scores):
        return -0.5 * np.sum((unmix @ scores) ** 2, axis=0)

    scores = mix @ rng.standard_normal((len(mix), particles))
    fits, heat, stages, lineage = likelihood(scores), 0.0, 0, []
    walk, leap = 2.38 / np.sqrt(len(mix)), 0.5
    while heat < 1:
        stages += 1
        if stages > MOST_STAGES:
            raise BenchError("the measurements pull the draws too far for the update to be trusted: some range in the "
                             "study leaves out what was measured; look at Log.compare and widen it")
        heat, weights = _next_heat(heat, fits, particles)
        chosen = _systematic(weights, rng)
        scores, fits = scores[:, chosen], fits[chosen]
        lineage = [(start[:, chosen], family[chosen]) for start, family in lineage] + [(scores, chosen)]
        middle = scores.mean(axis=1, keepdims=True)
        shape = np.linalg.cholesky(np.cov(scores) + 1e-6 * np.eye(len(mix)))
        narrow = np.linalg.inv(shape)

        def fitted(scores):
            return -0.5 * np.sum((narrow @ (scores - middle)) ** 2, axis=0)

        for move in range(MOST_MOVES):
            steps = shape @ rng.standard_normal(scores.shape)
            if move % 2:
                proposed, tilt = scores + walk * steps, 0.0
            else:
                proposed = middle + np.sqrt(1 - leap**2) * (scores - middle) + leap * steps
                tilt = fitted(scores) - fitted(proposed)
            new = likelihood(proposed)
            take = np.log(rng.random(particles)) < heat * (new - fits) + prior(proposed) - prior(scores) + tilt
            scores, fits = np.where(take, proposed, scores), np.where(take, new, fits)
            if move % 2:
                walk = float(np.clip(walk * np.exp(take.mean() - 0.25), 0.02, 2))
            else:
                leap = float(np.clip(leap * np.exp(take.mean() - 0.35), 0.05, 0.999))
            if move and _kept(*lineage[-1], scores)[0].max() < ALIKE:
                break
    return scores, _effective(lineage, scores), stages


def _kept(start, family, end):
    """(correlation of each score with where it stood, sizes of the families that stood at one place)."""
    start, end = (x - x.mean(axis=1, keepdims=True) for x in (start, end))
    spread = np.sqrt((start**2).sum(axis=1) * (end**2).sum(axis=1))
    return np.clip((start * end).sum(axis=1) / np.maximum(spread, 1e-300), 0, 1), np.bincount(family)


def _effective(lineage, end):
    """Effective sample: draws that descend from one draw of a resampling are alike by the square of the correlation
    that the moves since have left; what all resamplings have left is added up, for the worst assumption. No more than
    the draws that differ."""
    n = end.shape[1]
    alike = np.full(len(end), 1 / n)
    for start, family in lineage:
        kept, sizes = _kept(start, family, end)
        alike = alike + kept**2 * (sizes * (sizes - 1.0)).sum() / n**2
    return int(min(1 / alike.max(), len(np.unique(end[0]))))


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


def _mixing(keys, correlations, assumed):
    """Cholesky factor of the prior's correlations: those of the study; and of what tubes share in part, 1 - each
    between two tubes, its root between a tube and the part that they share."""
    matrix, places = np.eye(len(keys)), {k: i for i, k in enumerate(keys)}
    for (a, b), r in correlations.items():
        if a in places and b in places:
            matrix[places[a], places[b]] = matrix[places[b], places[a]] = r
    for name in (k for k in keys if k.startswith(SHARED)):
        of = [i for k, i in places.items() if k.partition("@")[0] == name[len(SHARED):] and "@" in k
              and _in_part(assumed[k], correlations)]
        common = 1 - assumed[keys[of[0]]].each
        matrix[np.ix_(of, of)] = common + (1 - common) * np.eye(len(of))
        matrix[places[name], of] = matrix[of, places[name]] = np.sqrt(common)
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
