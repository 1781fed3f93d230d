"""Calibration honesty: of logs made from known truths, the 90 % intervals must cover about 90 %, neither fewer nor more.

Each log has a truth of its own, drawn from the prior, and readings with the error that bench.py counts on. 50 logs, or 200
with KIT_FULL=1 in the environment. The share of truths inside is set beside 0.9 by a Clopper-Pearson interval of 99.9 %: of
honest code each such check fails once in a thousand sets of logs or less, so the six of this file together at most once in
some 170; seeds are fixed, so it fails by a change of the code alone.
"""
import os

import numpy as np
import pytest
from scipy import stats

import kit
from kit import bench, evidence, tables, update

LOGS = 200 if os.environ.get("KIT_FULL") == "1" else 50
PARTICLES, LEVEL, SURE = 2**9, 0.9, 0.999
KEYS = ("drive.pull_one_minute", "drive.pull_sustained", "drive.stroke_frequency")
STEPS = ((1.5, 70), (6.0, 300), (20.0, 1000), (40.0, 2500))   # minutes bowed with a balance on the cord; strokes counted in another step

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def study():
    return kit.study.load(tables.DATA / "harbour-dial")


@pytest.fixture(scope="module")
def truths(study):
    """Plain random draws of all that the logs rest on, correlated as the study says: a value for each log."""
    return evidence.draw([study.assumptions[k] for k in KEYS], LOGS, 20, study.correlations, sampler="random")


def readings(truth, seed, error=0.1):
    """What a bench with this truth reads, by the formulas written out: [(kind, minutes, strokes, reading)]."""
    rng, found = np.random.default_rng(seed), []
    one, sustained, frequency = truth
    for minutes, strokes in STEPS:
        share = min(np.log(minutes) / np.log(30), 1)
        found += [("pull", minutes, None, (one + share * (sustained - one)) * np.exp(error * rng.standard_normal())),
                  ("minutes", None, strokes, strokes / frequency * np.exp(error * rng.standard_normal()))]
    return found


def measured(study, made):
    """The same as the list of Measured that a log makes of its rows."""
    groups = {}
    for i, (kind, minutes, strokes, reading) in enumerate(made):
        groups.setdefault(kind, []).append(({"trial": i, "step": kind, "minutes": minutes, "strokes": strokes}, reading, reading, reading))
    return [bench.Measured.of(study, kind, "", rows) for kind, rows in groups.items()]


def inside(study, truths, monkeypatch=None, told=None, error=0.1):
    """Of how many logs the posterior interval holds the truth, a count a key. told: error that the likelihood is told, where not the true one."""
    if told is not None:
        for kind in ("pull", "minutes"):
            unit, _, relative, predict = bench.KINDS[kind]
            monkeypatch.setitem(bench.KINDS, kind, (unit, told, relative, predict))
    count = dict.fromkeys(KEYS, 0)
    for i, truth in enumerate(np.transpose([truths[k].magnitude for k in KEYS])):
        found = bench.condition(study, measured(study, readings(truth, 100 + i, error)), particles=PARTICLES, seed=i).conditioned
        for key, true in zip(KEYS, truth):
            low, high = np.quantile(found[key], ((1 - LEVEL) / 2, (1 + LEVEL) / 2))
            count[key] += low <= true <= high
    return count


def honest(count, of):
    """Whether a share may be LEVEL, by its binomial interval."""
    interval = stats.binomtest(int(count), of).proportion_ci(SURE, method="exact")
    return interval.low <= LEVEL <= interval.high


def test_posterior_intervals_cover_the_truth(study, truths):
    """Three keys, so this test fails by chance for at most three sets of logs in a thousand."""
    for key, count in inside(study, truths).items():
        assert honest(count, LOGS), f"{key}: {count} of {LOGS} inside"


def test_a_likelihood_that_thinks_too_well_of_the_gauge_is_found_out(study, truths, monkeypatch):
    """The check above can fail: told a third of the true error, the intervals are too narrow (and the refusal of such logs is put off)."""
    monkeypatch.setattr(update, "IMPOSSIBLE", 0)
    count = inside(study, truths, monkeypatch, told=0.1 / 3)
    assert not honest(count["drive.stroke_frequency"], LOGS) and not honest(count["drive.pull_sustained"], LOGS), count
    assert max(count.values()) < 0.8 * LOGS


def compared(study, truths, tmp_path, error=0.1):
    """Which measurements lie inside their predicted interval, a row a log, written to a file and read again: counts of strokes, then pulls."""
    names, shares = [f["name"] for f in bench.schema()["fields"]], []
    for i, truth in enumerate(np.transpose([truths[k].magnitude for k in KEYS])):
        rows = []
        for j, (kind, minutes, strokes, reading) in enumerate(readings(truth, 100 + i, error)):
            row = {"trial": 1, "date": "2026-05-07", "tube": "hours", "step": j, "operation": "turn", "operator": "A", "outcome": "success",
                   "counted": "yes", "substitute": "no", "strokes": strokes, "minutes": reading if kind == "minutes" else minutes}
            rows.append(row | ({"pull_N": reading} if kind == "pull" else {}))
        path = tmp_path / f"{i}.csv"
        path.write_text("\n".join([",".join(names), *(",".join("" if row.get(n) is None else str(row[n]) for n in names) for row in rows)]))
        log = bench.read(path)
        assert not log.faults
        table = log.compare(study, draws=2**10, seed=1, level=LEVEL)
        assert table["quantity"].tolist() == ["minutes"] * len(STEPS) + ["pull"] * len(STEPS)
        shares.append(table["inside"].to_numpy())
    return np.array(shares)


def test_predicted_intervals_hold_the_measurements(study, truths, tmp_path):
    """Readings of one log share its truth and fall together, so each log counts once: its first pull, its first count of strokes, and the mean of all."""
    shares = compared(study, truths, tmp_path)
    for column, kind in ((0, "minutes"), (len(STEPS), "pull")):
        assert honest(shares[:, column].sum(), LOGS), f"{kind}: {shares[:, column].sum()} of {LOGS} inside"
    per_log = shares.mean(axis=1)
    reach = stats.t.ppf((1 + SURE) / 2, LOGS - 1) * per_log.std(ddof=1) / np.sqrt(LOGS)
    assert abs(per_log.mean() - LEVEL) <= reach < 0.12, f"{per_log.mean():.3f} of the measurements inside, give or take {reach:.3f}"


def test_readings_worse_than_said_are_found_out(study, truths, tmp_path):
    """The check above can fail: a balance and a clock off by 50 % instead of 10."""
    shares = compared(study, truths, tmp_path, error=0.5)
    assert not honest(shares[:, 0].sum(), LOGS)
    per_log = shares.mean(axis=1)
    assert per_log.mean() + stats.t.ppf((1 + SURE) / 2, LOGS - 1) * per_log.std(ddof=1) / np.sqrt(LOGS) < LEVEL


def test_own_factor_of_each_tube_is_covered_too(study):
    """A tube's own factor, shared by its readings and not kept, must not make the intervals too narrow."""
    once, each = "model.removal", "arbor.runout@hours"
    assumed, count = study.assumptions, 0
    truth = evidence.draw([assumed[once], assumed[each]], LOGS, 21, sampler="random")
    for i, (a, b) in enumerate(zip(truth[once].magnitude, truth[each].magnitude)):
        value = a * b * np.exp(0.1 * np.random.default_rng(300 + i).standard_normal(3))
        group = bench.Measured("pull", "N", ((1, ""),) * 3, value, value, value, 0.1, True,
                               lambda values: np.ones((3, 1)) * values[once].magnitude * values[each].magnitude)
        found = bench.condition(study, [group], particles=PARTICLES, seed=i).conditioned[once]
        count += np.quantile(found, (1 - LEVEL) / 2) <= a <= np.quantile(found, (1 + LEVEL) / 2)
    assert honest(count, LOGS), f"{count} of {LOGS} inside"
