"""The band beside a chance: against two plain loops, its limits, and what tubes share."""
from dataclasses import replace

import numpy as np
import pytest

from kit import evidence, study, worlds
from kit.study.outcomes import outcomes
from kit.units import told

CRITERIA = ("wall: pinch", "cord")


@pytest.fixture(scope="module")
def nest():
    return study.load().only("hours", "tide")


def _chance(plan, values, n):
    with told():
        found, _ = outcomes(plan, values, CRITERIA)
    met = np.ones(n, bool)
    for _, _, outcome, _ in found:
        demand, capacity = (np.atleast_2d(q.m_as(outcome.unit)) for q in (outcome.demand, outcome.capacity))
        met &= (capacity >= demand).all(axis=0)
    return met.mean()


def test_band_agrees_with_two_plain_loops(nest):
    """Outer: one point of the shared part of each weak row; inner: fresh draws of the rest, the shared part pinned by hand.

    Only rows that tubes share whole are put outside, so that pinning them is the whole of a world."""
    whole = frozenset(k for k in worlds.weak_rows(nest) if nest.reference_rows[k].each == 0)
    found = worlds.band(nest, seed=3, criteria=CRITERIA, worlds=64, inner=64, outer=whole)
    rows = {key: nest.reference_rows[key] for key in whole}
    outer, chances = np.random.default_rng(5).random((48, len(rows))), []
    for world, point in enumerate(outer):
        pinned = nest.with_(**{key: f"{float(row.quantile(p))!r} {row.unit}" if row.unit else float(row.quantile(p))
                               for (key, row), p in zip(rows.items(), point)})
        chances.append(_chance(pinned, pinned.draws(128, seed=100 + world), 128))
    plain = np.quantile(chances, (0.05, 0.95))
    errors = np.quantile(np.random.default_rng(1).choice(chances, (400, len(chances))), (0.05, 0.95), axis=1).std(axis=1)
    for side, error, ours, own in zip(plain, errors, (found.low, found.high), (found.low_error, found.high_error)):
        assert abs(side - ours) <= 3 * np.hypot(error, own) + 0.05, (plain, found.low, found.high)


def test_the_chance_lies_within_its_band_and_the_worlds_average_to_it(nest):
    verdict = nest.assess(draws=2**12, criteria=CRITERIA)
    band = verdict.worlds
    assert band.low <= verdict.chance <= band.high and verdict.band == (band.low, band.high)
    assert abs(band.chances.mean() - verdict.chance) < 4 * band.chances.std() / np.sqrt(len(band.chances)) + 0.01


def test_nothing_outside_leaves_no_band(nest):
    found = worlds.band(nest, criteria=CRITERIA, worlds=16, inner=256, outer=())
    assert found.chances.std() < 0.05   # the same inner draws in each world


def test_relabelled_row_stays_outside(nest):
    row = replace(nest.reference_rows["hand.pinch"], grade="find")
    assert "hand.pinch" in worlds.weak_rows(nest)
    assert "hand.pinch" in worlds.weak_rows(replace(nest, rows=nest.rows | {"hand.pinch": row}))


def test_what_tubes_share_orders_the_chance(nest):
    band = nest.assess(draws=2**10, criteria=("wall: pinch",)).worlds
    assert band.nothing_shared < band.all_shared, "two tubes that share nothing are met together less often"


@pytest.mark.parametrize("low, high, chance, said", [(0.7, 0.85, 0.8, "likely"),
                                                      (0.4, 0.95, 0.8, "from about as likely as not to very likely")])
def test_word_stands_alone_only_inside_its_band(low, high, chance, said):
    band = worlds.Band(low, high, 0.01, 0.01, 0.5, np.array([low, high]), 64, 1, frozenset(), low, high)
    assert worlds.likelihood(chance, band) == said


def test_shared_and_own_parts_of_a_spread():
    """Normal scores of two pieces correlate by 1 - each; the marginal is kept."""
    from scipy import special, stats
    rows = [evidence.Assumption(f"x@{piece}", None, 1.0, 4.0, "mm", "lognormal", "conjecture", "assumption", each=0.4)
            for piece in "ab"]
    drawn = evidence.draw(rows, 2**14, 1)
    a, b = (np.log(drawn[f"x@{piece}"].m) for piece in "ab")
    assert np.corrcoef(a, b)[0, 1] == pytest.approx(0.6, abs=0.02)
    assert np.quantile(drawn["x@a"].m, (0.05, 0.95)) == pytest.approx((1.0, 4.0), rel=0.02)
    assert stats.kstest(special.ndtr((a - a.mean()) / a.std()), "uniform").statistic < 0.01
