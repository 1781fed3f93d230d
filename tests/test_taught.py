"""What a bench log on some pieces teaches of the next: in the measure that a row is shared, and never less sure in a band."""
from dataclasses import replace

import make_demo_log
import numpy as np
import pytest
from scipy import stats

import kit
from kit import Q, bench, tables, taught, update, worlds

KEY = "model.cutting_torque"   # lognormal, a share of it different from piece to piece
MEASURED, OTHER = f"{KEY}@hours", f"{KEY}@moon"
READINGS, ERROR = np.array([1.5, 1.7, 1.6]), 0.1


@pytest.fixture(scope="module")
def study():
    return kit.study.load(tables.DATA / "harbour-dial")


def sharing(study, each, key=KEY):
    """The study with so large a share of the row different from piece to piece."""
    return replace(study, rows=study.rows | {key: replace(study.reference_rows[key], each=each)})


def measured(readings, predict, error=ERROR):
    value, k = np.array(readings, float), len(readings)
    return bench.Measured("torque", "N*m", tuple((i, "") for i in range(k)), value, value, value, bench.Error(error, dof=np.inf), predict,
                          ("2026-05-07",) * k, ("A",) * k)


def of(*keys):
    return lambda values: np.prod(np.broadcast_arrays(*(np.atleast_2d(values[k].magnitude) for k in keys)), axis=0)


def scores(study, values, key):
    """Normal scores of draws of a lognormal."""
    row = study.assumptions[key]
    low, high = np.log(row.low), np.log(row.high)
    return (np.log(values[key].magnitude) - (low + high) / 2) / ((high - low) / 2 / stats.norm.ppf(0.95))


# --- a log on one tube teaches the others as far as the row is shared ------------------------------------------------------

@pytest.mark.parametrize("each", [0.5, *(pytest.param(each, marks=pytest.mark.long) for each in (0.1, 0.9))])
def test_a_log_on_one_tube_teaches_the_others_as_far_as_they_share(study, each):
    """Normal scores: x of the piece measured, the shared part S, y of a next piece of any tube: corr(x, y) = 1 - each. Normal prior and
    normal error of the logarithm, so x, S and y given the readings are normal, and known."""
    part = sharing(study, each)
    found = update.condition(part, [measured(READINGS, of(MEASURED))], particles=2**13, seed=1)
    row = part.assumptions[MEASURED]
    middle, spread = (np.log(row.low) + np.log(row.high)) / 2, (np.log(row.high) - np.log(row.low)) / 2 / stats.norm.ppf(0.95)
    precision = 1 + len(READINGS) * (spread / ERROR)**2
    score = (np.log(READINGS) - middle).sum() / spread * (spread / ERROR)**2 / precision
    common = 1 - each
    mean, variance = common * score, common * (common / precision + each) + each
    draws = found.draws(2**15, 3)
    y = {tube.name: scores(part, draws, f"{KEY}@{tube.name}") for tube in part.tubes}
    for told in y.values():   # a next piece of the tube that was measured is a new piece too
        assert told.mean() == pytest.approx(mean, abs=0.04) and told.std() == pytest.approx(np.sqrt(variance), rel=0.03)
    between = np.cov(y["moon"], y["tide"])[0, 1]
    assert between == pytest.approx(variance - each, abs=0.03)   # what two next pieces still share
    kept = {k: Q(v, "") for k, v in found.conditioned.items()}
    assert set(kept) == {f"{KEY}@{t.name}" for t in part.tubes}
    assert scores(part, kept, OTHER).mean() == pytest.approx(mean, abs=0.05)


def test_the_prior_of_an_update_is_that_of_the_draws(study):
    """A reading without weight leaves copies of one row as evidence.draw has them: correlation 1 - each."""
    part = sharing(study, 0.4)
    found = update.condition(part, [measured([1.0], of(MEASURED, OTHER), 1e6)], particles=2**13)
    for plan in (part, found):
        draws = plan.draws(2**14, 1)
        one, other = (scores(part, draws, key) for key in (MEASURED, OTHER))
        assert np.corrcoef(one, other)[0, 1] == pytest.approx(0.6, abs=0.03)
        np.testing.assert_allclose([one.mean(), one.std()], [0, 1], atol=0.04)
    assert found.conditioned_on["learnt"] == ()


def test_readings_on_two_tubes_teach_more_of_a_third_than_as_many_on_one(study):
    part = sharing(study, 0.5)
    one = update.condition(part, [measured([1.6] * 6, of(MEASURED))], particles=2**12)
    two = update.condition(part, [measured([1.6] * 3, of(MEASURED)), measured([1.6] * 3, of(f"{KEY}@tide"))], particles=2**12)
    left = [scores(part, plan.draws(2**14, 1), OTHER) for plan in (one, two)]
    assert left[1].std() < 0.95 * left[0].std() and left[1].mean() > 1.1 * left[0].mean()


def test_what_is_all_a_pieces_own_teaches_nothing_of_the_next(study):
    with pytest.raises(bench.BenchError, match="all that they rest on is pinned"):
        update.condition(sharing(study, 1.0), [measured(READINGS, of(MEASURED))], particles=64)


def test_a_shared_row_is_graded_pinned_and_dropped_like_any_other(study):
    part = sharing(study, 0.2)
    found = update.condition(part, [measured([1.5] * 8, of(MEASURED), 0.05)], particles=2**11)
    assert found.conditioned_on["learnt"] == (KEY,) and found.register.loc[KEY, "grade"] == "updated by the log"
    same = found.with_(wall="0.5 mm")
    assert same.conditioned_on["learnt"] == (KEY,) and np.array_equal(same.draws(64, 1)[OTHER].m, found.draws(64, 1)[OTHER].m)
    pinned = found.with_(**{KEY: 1.0})
    assert (np.asarray(pinned.draws(64, 1)[OTHER].m) == 1.0).all()
    assert set(found.only("moon").draws(64, 1)) == set(part.only("moon").draws(64, 1))
    assert "log" not in found.provenance(1, 1) and found.provenance(1, 1)["inputs"] != part.provenance(1, 1)["inputs"]


@pytest.mark.parametrize("extreme", ["all", "nothing"])
def test_tubes_that_share_all_or_nothing_keep_what_was_learnt(study, extreme):
    part = sharing(study, 0.5)
    once = "abrasive.emery, fine.hardness"   # one for all tubes, but for those that share nothing
    group = [measured([1.6] * 4, of(MEASURED)), measured([1900.0] * 4, of(once), 0.02)]
    found = replace(update.condition(part, group, particles=2**12), sharing=extreme)
    draws, learnt = found.draws(2**13, 1), found.draws(2**13, 2)
    keys = {"all": (KEY, once), "nothing": (OTHER, f"{once}@moon")}[extreme]
    assert set(keys) <= set(draws) and set(draws) == set(replace(part, sharing=extreme).draws(2, 1)) == set(learnt)
    assert np.median(draws[keys[0]].m) > 1.15 and np.median(draws[keys[1]].m) == pytest.approx(1880, rel=0.03)
    if extreme == "nothing":
        assert abs(np.corrcoef(draws[f"{once}@moon"].m, draws[f"{once}@tide"].m)[0, 1]) < 0.05


# --- the band of an updated study ------------------------------------------------------------------------------------------

def band(plan, outer=None, seed=1):
    return worlds.band(plan.only("hours"), seed=seed, criteria=("least wall", "lapping stock", "reaming pass"), worlds=64, inner=64, outer=outer)


def test_a_log_that_says_nothing_leaves_the_band_as_it_was(study):
    """Also of rows that are no part of it: kept to one draw a world, a metal's strength would widen it."""
    keys = ("alloy.yield_strength", "hand.pinch@hours", "drive.pull_sustained", "alloy.hardness", "model.wall_strength@hours",
            "model.removal@hours", "abrasive.emery, fine.wear_coefficient@hours", "pointer.service_torque")
    found = update.condition(study, [measured([1.0], of(*keys), 1e6)], particles=2**11)
    before, after = band(study), band(found)
    assert before.high - before.low > 0.2   # there is something to widen
    assert after.low == pytest.approx(before.low, abs=0.08) and after.high == pytest.approx(before.high, abs=0.08)
    weak = worlds.weak_rows(study)
    strong = [k for k in keys if k.partition("@")[0] not in weak]
    assert strong
    held, free = (b.chances.var() for b in (band(found, weak | {k.partition("@")[0] for k in found.conditioned}), after))
    assert held > free   # the check can fail: kept to one draw a world, they do widen it


def test_a_log_narrows_the_band(study):
    """Readings at the medians of what the band rests on: nothing moves, and less is open."""
    keys = ("model.wall_strength@hours", "hand.pinch@hours", "model.removal@hours", "abrasive.emery, fine.wear_coefficient@hours")
    rows = study.assumptions
    part = study
    for key in keys:
        part = sharing(part, 0.0, key.partition("@")[0])
    group = [measured([float(rows[k].middle.m)] * 4, of(k.partition("@")[0]), 0.02) for k in keys]
    found = update.condition(part, group, particles=2**11)
    before, after = band(part), band(found)
    assert after.high - after.low < 0.8 * (before.high - before.low)
    assert before.low - 0.02 <= after.low and after.high <= before.high + 0.02


def test_within_a_world_the_others_vary_as_the_log_left_them():
    """Held: x, y with correlation 0.8. x kept to one draw a world, y varies beside it as a normal of that x; all in all both are as
    before."""
    rng, known = np.random.default_rng(1), kit.study.load(tables.DATA / "harbour-dial").assumptions
    x = rng.standard_normal(2**12)
    y = 0.8 * x + 0.6 * rng.standard_normal(2**12)
    keys = ("alloy.kc11", "alloy.density")
    values, given = taught.drawn(dict(zip(keys, (x, y))), {}, known, 2**14, 1, (128, {"alloy.kc11"}))
    one, other = (values[key].reshape(128, -1) for key in keys)
    assert given == {} and (one == one[:, :1]).all()
    assert other.std(axis=1).mean() == pytest.approx(0.6, abs=0.03)
    assert np.polyfit(one[:, 0], other.mean(axis=1), 1)[0] == pytest.approx(0.8, abs=0.05)
    whole, _ = taught.drawn(dict(zip(keys, (x, y))), {}, known, 2**14, 1)
    assert set(zip(*(whole[key] for key in keys))) <= set(zip(x, y))   # whole rows where there are no worlds


# --- the demo's own log ----------------------------------------------------------------------------------------------------

def test_the_demo_log_is_of_the_route_as_it_is(study):
    """The log in the folder tells the trials that make_demo_log.py makes of the present route; run that where they differ."""
    log, made = bench.read(study.folder / "bench_log.csv"), make_demo_log.made(study)
    assert not log.faults

    def trials(rows):
        return [(r["trial"], str(r["date"]), r["tube"], r["step"], r["operator"], r["outcome"], r["counted"], r.get("stops_mm") is None)
                for r in rows]

    assert trials(log.rows) == trials(made)
    for one, other in zip(log.rows, made):
        for name in ("minutes", "diameter_mm", "torque_Nm", "pull_most_N", "pressure_kPa"):
            if other.get(name):
                assert one[name] == pytest.approx(other[name], rel=0.5), (one["trial"], one["step"], name)
    for trial in log.trials(study):
        assert trial.outcome != "unfinished", trial
    used = {(r["tube"], r["tool"]) for r in log.counted if r["operation"] == "lap"}
    assert {("hours", s.abrasive) for s in study.steps(study.tubes[0]) if s.operation == "lap"} <= used
    assert {r["outcome"] for r in log.counted} == {"success", "partial", "fail"} and {r["operator"] for r in log.rows} == {"A", "B"}
    assert [r["strokes"] for r in log.counted if r["torque_Nm"] and r["strokes"] is None] == [None]   # one by wrench
