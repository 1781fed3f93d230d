"""Intervals that hold a share of the draws, after JCGM 101.

JCGM 101: Evaluation of measurement data, Supplement 1 to the Guide to the Expression of Uncertainty in Measurement,
Propagation of distributions using a Monte Carlo method, JCGM 101:2008. Clauses are from memory.
"""
import numpy as np


def check_level(level):
    """Raises ValueError where a share inside does not lie between 0 and 1."""
    if not 0 < level < 1:
        raise ValueError(f"level: a share inside lies between 0 and 1, not at {level}")


def steps_apart(n, level):
    """How many steps apart the ends stand among n sorted draws: q = int(level n + 1/2).

    Raises ValueError where the draws are too few for it. Source: JCGM 101, 7.7.
    """
    steps = int(level * n + 0.5)
    if steps >= n:
        least = int(round(0.5 / (1 - level), 6)) + 1
        raise ValueError(f"{n} draws are too few for an interval of level {level:g}; draw {least} or more")
    return steps


def equal_tail(ordered, level):
    """(low, high) that leave equal shares of the draws on both sides.

    ordered: draws, sorted, plain numbers. level: share inside, between 0 and 1.
    Formula: q as in `steps_apart`, r = int((n - q + 1) / 2); the r-th and the (r + q)-th of the draws.
    Raises ValueError as `steps_apart`. Source: JCGM 101, 7.7.
    """
    steps = steps_apart(len(ordered), level)
    first = (len(ordered) - steps + 1) // 2 - 1
    return ordered[first], ordered[first + steps]


def shortest(ordered, level):
    """(low, high) of the shortest interval that holds a share of the draws.

    ordered: draws, sorted, plain numbers. level: share inside, between 0 and 1.
    Formula: of all pairs that lie q apart, as in `steps_apart`, the closest. Differs from the equal tails
    where the draws are skewed: say which one is quoted. Of one hump only: where the draws have two, one interval covers
    the gap as well.
    Raises ValueError as `steps_apart`. Source: JCGM 101, 7.7.
    """
    steps = steps_apart(len(ordered), level)
    first = np.argmin(ordered[steps:] - ordered[:-steps])
    return ordered[first], ordered[first + steps]


def numerical_tolerance(u, digits=2):
    """Half a unit in the last of the digits to which an uncertainty is stated, in the unit of u.

    u: standard uncertainty (a number, 0 or more). digits: significant digits that are meant, 1 or more.
    Formula: u = c 10^l with c a whole number of that many digits; tolerance 10^l / 2.
    Source: JCGM 101, 7.9.2.
    """
    if not (digits >= 1 and digits % 1 == 0):
        raise ValueError(f"digits: a whole number above 0, not {digits}")
    last = int(f"{u:.{int(digits) - 1}e}".split("e")[1]) - digits + 1
    return 0.5 * 10.0**last if u else 0.0
