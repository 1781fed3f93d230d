"""Skill: how the time for a piece and the failures fall with practice, and what a practised hand would not need."""
from dataclasses import dataclass

import numpy as np

from kit.base import tables

DRAWS = 2**15
FEWEST = 2


def believed(of):
    """What is believed of learning before any trial: {key: number}, of a triangular one (least, likeliest, most).

    of: "time", "scatter", "failures, first piece", "failures, after all practice" or "practised hand". Raises
    tables.TableError for another.

    >>> believed("time")["rate"]
    (0.7, 0.82, 0.95)

    Source: data/reference/learning.csv, where each number stands with its grade and reason.
    """
    return {row["key"]: (row["low"], row["value"], row["high"]) if row["shape"] == "triangular" else row["value"]
            for row in tables.rows_of("learning", of)}


def wright(first, n, rate):
    """Time of the n-th piece where every doubling of their number leaves the share `rate` of it.

    first: of the first piece, in any unit. n: 1 or more. rate: 0 to 1. Formula: T_n = T_1 n^(log2 rate).

    >>> round(float(wright(10, 8, 0.8)), 2)
    5.12

    Source: T. P. Wright, Factors affecting the cost of airplanes, Journal of the Aeronautical Sciences 3 (1936)
    122-128, from memory.
    """
    n, rate = _from_one(n), np.asarray(rate, float)
    if not np.all((rate > 0) & (rate <= 1)):
        raise ValueError("rate: the share of the time left at each doubling must lie above 0 and up to 1, such as 0.8")
    return first * n**np.log2(rate)


def de_jong(first, n, exponent, floor):
    """Time of the n-th piece where a share `floor` of the first one's time cannot be learnt away.

    exponent: of what can, 0.322 where a doubling leaves 80 % of that. floor: 0 to 1. Formula: T_n = T_1 (M + (1 - M)
    n^-b).

    >>> round(float(de_jong(1, 10, 0.322, 0.25)), 3)
    0.607

    Source: J. R. de Jong, The effects of increasing skill on cycle time, Ergonomics 1 (1957) 51-60, from memory:
    about 0.25 for work by hand, 0.5 where a machine sets the pace.
    """
    floor = np.asarray(floor, float)
    if not np.all((floor >= 0) & (floor <= 1)):
        raise ValueError("floor: the share that cannot be learnt away must lie between 0 and 1")
    return first * (floor + (1 - floor) * _from_one(n)**-np.asarray(exponent, float))


def _from_one(n):
    n = np.asarray(n, float)
    if not np.all(n >= 1):
        raise ValueError("n: pieces are counted from 1")
    return n


@dataclass(frozen=True)
class Learnt:
    """What trials in order show of learning; each a triple 5 %, median, 95 %. rate: share of the learnable time left at
    a doubling. first, following: time of the first piece, and of the next. practised: of a practised hand, of the same
    maker's tools. ratio: how much longer the next piece takes than that of a practised hand. trials: how many timed.
    effective: draws worth one each, of the prior's, that agree with them. fell: chance that the time falls at all
    faster than 95 % a doubling."""
    rate: tuple
    first: tuple
    following: tuple
    practised: tuple
    ratio: tuple
    trials: int
    effective: float
    fell: float


def learnt(minutes, seed=1):
    """What the times of pieces in order show of learning: a Learnt.

    minutes: one a piece, in the order in which they were made, above 0; None for a piece that failed or was not timed,
    which gives no time but practice all the same; two times or more. The curve is de_jong's; rate,
    floor and scatter are drawn from what is believed of hand work (`believed`; judgement) and weighted by
    the times; the first piece's time is left open, and integrated. A maker's six tubes say little of the rate: the
    answer says how little.
    Source of the method: A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 10.4, from memory.
    Raises ValueError for fewer than two times or a time that is not above 0.
    """
    minutes = list(minutes)
    made = len(minutes)
    n, t = (np.array([each[part] for each in enumerate(minutes, 1) if each[1] is not None], float) for part in (0, 1))
    if len(t) < FEWEST:
        raise ValueError(f"{len(t)} timed trial shows no learning; give two or more, in the order in which they were "
                         "made")
    if not np.all((t > 0) & np.isfinite(t)):
        raise ValueError("minutes: every time must be above 0; give None for a piece that was not timed")
    rng = np.random.default_rng(seed)
    time, strays = believed("time"), believed("scatter")
    rate, floor = (rng.triangular(*time[key], DRAWS) for key in ("rate", "floor"))
    scatter = strays["median"] * np.exp(strays["spread"] * rng.standard_normal(DRAWS))
    curve = np.log(floor[:, None] + (1 - floor[:, None]) * n**np.log2(rate)[:, None])
    off = np.log(t) - curve
    middle = off.mean(axis=1)
    fit = -(len(t) - 1) * np.log(scatter) - 0.5 * ((off - middle[:, None])**2).sum(axis=1) / scatter**2
    weight = np.exp(fit - fit.max())
    weight /= weight.sum()
    kept = rng.choice(DRAWS, DRAWS, p=weight)
    start = np.exp(middle[kept] + scatter[kept] / np.sqrt(len(t)) * rng.standard_normal(DRAWS))
    b = -np.log2(rate[kept])

    def at(piece):
        return de_jong(start, piece, b, floor[kept])

    following, practised = at(made + 1), at(believed("practised hand")["pieces"])
    return Learnt(*map(_three, (rate[kept], at(1), following * np.exp(scatter[kept] * rng.standard_normal(DRAWS)),
                                practised, following / practised)),
                  len(t), float(1 / np.sum(weight**2)), float(np.mean(at(made) < 0.95**np.log2(made) * at(1))))


@dataclass(frozen=True)
class Failures:
    """What trials in order show of failing; each a triple 5 %, median, 95 %. first, following, practised: chance that
    the first piece, the next and a practised hand's fails. trials, failed: how many."""
    first: tuple
    following: tuple
    practised: tuple
    trials: int
    failed: int


def failures(ends, seed=1):
    """What the ends of trials in order show of failing: a Failures.

    ends: True where a piece failed, in order; one or more. Formula: p_n = p_inf + (p_1 - p_inf) n^-b, with p_1,
    p_inf and b as `believed`: judgement, for no measured rate of scrap by hand was found.
    Raises ValueError for no trials.
    """
    failed = np.asarray(list(ends), bool)
    if not len(failed):
        raise ValueError("no trial, no chance to fail; give one or more, in the order in which they were made")
    rng, n = np.random.default_rng(seed), np.arange(1, len(failed) + 1)
    first, last = (rng.beta(told["failed"], told["sound"], DRAWS) for told in
                   (believed("failures, first piece"), believed("failures, after all practice")))
    last, b = np.minimum(first, last), -np.log2(rng.triangular(*believed("time")["rate"], DRAWS))

    def at(piece):
        return last[:, None] + (first - last)[:, None] * np.atleast_1d(piece)**-b[:, None]

    chance = at(n)
    weight = np.prod(np.where(failed, chance, 1 - chance), axis=1)
    kept = rng.choice(DRAWS, DRAWS, p=weight / weight.sum())
    following, practised = (at(n)[kept, 0] for n in (len(failed) + 1, believed("practised hand")["pieces"]))
    return Failures(*map(_three, (first[kept], following, practised)), len(failed), int(failed.sum()))


def _three(draws):
    return tuple(float(x) for x in np.quantile(draws, (0.05, 0.5, 0.95)))
