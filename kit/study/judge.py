"""Judging a plan: draws, operations, outcomes and verdict, in that order."""
import warnings
from collections import Counter
from dataclasses import replace

from kit.base import stopping
from kit.base.tables import nearest
from kit.base.units import told
from kit.operations import settle
from kit.study.outcomes import outcomes
from kit.study.verdict import Line, Verdict, counted, first_of_each_kind

CHUNK = 2**17    # draws held in memory at once


def assess(plan, draws=2**14, seed=1, criteria=None, progress=None, adapt=settle.FEEL):
    """The verdict on a Plan: every criterion of every tube, on one shared set of draws.

    draws: their number. seed: whole number. criteria: names (of EVERY) to look at; all where None.
    progress: called with (done, total) after each chunk of a long run. More than CHUNK draws are taken in chunks, each
    an independent scrambled set: chances are then exact counts over all of them, while margins, quantiles and
    influences are those of the first chunk (Verdict.sample says how many). A long run that is interrupted in a
    notebook gives the verdict on the chunks that are done.
    adapt: how feed and pressure are settled at the bench: "feel", the headline; "planned"; "best", one setting for all
    draws; "hindsight", each draw's own, a bound that nobody reaches.
    Raises ValueError for another word.
    """
    if adapt not in settle.WAYS:
        raise ValueError(f"adapt: there is no way {adapt!r} to settle a step; {nearest(adapt, settle.WAYS)}")
    if draws <= CHUNK:
        return _assess(plan, draws, seed, criteria, adapt)
    first, done = _assess(plan, CHUNK, seed, criteria, adapt), CHUNK
    counts = Counter(first.counts)
    try:
        while done < draws:
            if progress:
                progress(done, draws)
            size = min(CHUNK, draws - done)
            counts.update(_assess(plan, size, seed + done, criteria, adapt).counts)   # a seed of its own for each chunk
            done += size
        if progress:
            progress(done, draws)
    except KeyboardInterrupt:
        if not stopping.in_notebook():
            raise
        warnings.warn(f"stopped by hand after {done} of {draws} draws; the verdict is on those", stacklevel=2)
    return replace(first, counts=dict(counts), n=int(done))


def lines(plan, values, n, criteria=None, adapt=settle.FEEL, cases=None):
    """A Line for every criterion of every tube on given draws, n of them; and the names that were wanted. cases: see
    `outcomes`."""
    found, wanted = outcomes(plan, values, criteria, adapt, cases)
    return [Line.of(place, name, outcome, n, used) for place, name, outcome, used in found], wanted


def _assess(plan, draws, seed, criteria, adapt):
    values = plan.draws(draws, seed)
    with told() as sentences:
        found, wanted = lines(plan, values, int(draws), criteria, adapt)   # 1e4 is whole, and allowed
    return Verdict(plan, tuple(found), int(draws), seed, values, counted(found), first_of_each_kind(sentences),
                   None if criteria is None else tuple(wanted), adapt)
