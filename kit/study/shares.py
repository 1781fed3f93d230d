"""Shares of a verdict's variance by groups of assumptions that go together, correlations kept."""
import numpy as np

from kit.base.units import Q, told
from kit.study.judge import lines
from kit.study.studyfile import StudyError

NEAR, FAR = 3, 100   # margins between the inverse and this are told apart: of all criteria together, and of one
BATCH = 2**13   # draws judged at once
TAUGHT = "bench log"   # the group of all that a bench log has updated


def groups(plan, used, drawn):
    """What goes together: {name: keys}. The draws of one assumption for several tubes; assumptions that the study
    correlates; and all that a bench log has updated, whose draws are whole rows of the update. used: keys that the
    verdict asked for. drawn: those that are drawn."""
    of = {}
    for key in sorted(used & drawn):
        of.setdefault(key.partition("@")[0], set()).add(key)
    bare = {name: {name} for name in of}
    for pair in plan.correlations:
        joined = set().union(*(bare.get(key.partition("@")[0], set()) for key in pair))
        for name in joined:
            bare[name] = joined
    taught = {key.partition("@")[0] for key in plan.conditioned or ()} & set(of) - set(plan.fixed)
    found = {}
    for name, joined in bare.items():
        if joined & taught:
            joined = taught | set().union(*(bare[each] for each in taught))
            found[TAUGHT] = set().union(*(of[each] for each in joined))
        else:
            found[" + ".join(sorted(joined))] = set().union(*(of[each] for each in joined))
    return found


def shares(plan, criterion=None, n=2**9, seed=1, resamples=100):
    """Share of the variance of the log of the least margin, or of one criterion's, that each group of assumptions
    carries: DataFrame indexed by group, the greatest total first.

    n: base count; the verdict sees n (groups + 2) draws. Columns first (the group alone), total (with all that it does
    together with others), each with _low and _high (95 %, by resampling), keys. Margins are limited to between 0.01
    and 100; the least of all criteria to between 1 / NEAR and NEAR: further off the answer is plain, and a few hopeless
    draws of one criterion would carry half the variance. Small negative values are noise.

    Method: two independent sets of the study's own draws, marginals and correlations and all; each group in turn is
    taken from the other set, so nothing is made independent that is not. Estimators of A. Saltelli et al., Computer
    Physics Communications 181 (2010) 259-270, table 2 (b) and (f); groups after I. M. Sobol' (from memory).
    Raises StudyError where nothing is drawn.
    """
    import pandas as pd
    criteria = None if criterion is None else (criterion,)
    one, two = plan.draws(n, seed), plan.draws(n, seed + 2**16)
    mix = np.random.default_rng(seed).permutation(n)   # even points of two seeds go together, one by one, in order
    two = {key: Q(q.m[mix], q.units) if np.ndim(q.m) else q for key, q in two.items()}
    base, used = _margins(plan, {k: _joined(one[k], two[k]) for k in one}, 2 * n, criteria)
    found = groups(plan, used, {k for k, q in one.items() if np.ndim(q.m)})
    if not found:
        raise StudyError("nothing is drawn that the verdict rests on: there is no variance to share out")
    centre, names, mixed = base.mean(), list(found), []
    together = max(BATCH // n, 1)
    for at in range(0, len(names), together):
        some = names[at:at + together]
        values = {k: _joined(*(two[k] if k in found[name] else one[k] for name in some)) for k in one}
        mixed.append(_margins(plan, values, n * len(some), criteria)[0].reshape(len(some), n))
    own, other, mixed = base[:n] - centre, base[n:] - centre, np.concatenate(mixed) - centre
    rows = np.random.default_rng(seed).integers(n, size=(resamples, n))
    table = {}
    for name, swapped in zip(names, mixed):
        first, total = other * (swapped - own), 0.5 * (own - swapped) ** 2
        spread = np.mean(np.concatenate([own, other]) ** 2)
        row = {"keys": tuple(sorted(found[name]))}
        for kind, terms in (("first", first), ("total", total)):
            value = terms.mean() / spread if spread > 0 else 0.0
            again = (terms[rows].mean(axis=1) / (0.5 * (own[rows]**2 + other[rows]**2)).mean(axis=1) if spread > 0
                     else np.zeros(resamples))
            row |= {kind: float(value), f"{kind}_low": float(value - 1.96 * again.std()),
                    f"{kind}_high": float(value + 1.96 * again.std())}
        table[name] = row
    return pd.DataFrame.from_dict(table, orient="index").rename_axis("key").sort_values("total", ascending=False,
                                                                                        kind="stable")


def _joined(*quantities):
    """Arrays of draws one after the other; a single number stays one."""
    return quantities[0] if not np.ndim(quantities[0].m) else np.concatenate(quantities)


def _margins(plan, values, n, criteria):
    """Log10 of the least margin of each draw, limited; and the keys that were asked for."""
    with told():   # the verdict has reported what lies outside a formula's range
        found, _ = lines(plan, values, n, criteria)
    used = frozenset().union(*(line.used for line in found))
    most = NEAR if criteria is None else FAR
    return np.log10(np.clip(np.min([line.margin for line in found], axis=0), 1 / most, most)), used
