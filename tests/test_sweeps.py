"""Sweeps, maps, thresholds, sensitivities, long runs and provenance of a study; and the figures that show them."""
import contextlib
import subprocess
import sys
import tracemalloc
import warnings
from collections import Counter
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

import kit
from kit import Q, bench, design, figures, judge, page, stopping, tables, trials, words
from kit import study as study_module
from kit.criteria import CRITERIA, Case

stopping_in_notebook = stopping.in_notebook   # as it is, before a test says otherwise
QUICK = dict(draws=2**9, criteria=("least wall",))


@pytest.fixture(scope="module")
def study():
    return kit.study.load(tables.DATA / "harbour-dial")


@pytest.fixture(scope="module")
def one(study):
    """A single sleeve: a verdict in a few milliseconds."""
    return study.only("hours")


@pytest.fixture(scope="module")
def learned(study):
    return bench.read(study.folder / "bench_log.csv").update(study, particles=2**8, seed=1)


def mm(*values):
    return [Q(v, "mm") for v in values]


def stops_after(calls):
    """A progress callback that presses the stop button when it is called for the n-th time."""
    told = []

    def progress(done, total):
        told.append((done, total))
        if len(told) > calls:
            raise KeyboardInterrupt
    progress.told = told
    return progress


@contextlib.contextmanager
def stopped(words):
    """The work is stopped, says so, and does not let the interrupt through, which would end the tests."""
    with pytest.warns(UserWarning, match=words):
        try:
            yield
        except KeyboardInterrupt:
            pytest.fail("the interrupt went through, and what was done is lost")


@pytest.fixture(autouse=True)
def at_a_notebook(monkeypatch):
    monkeypatch.setattr(stopping, "in_notebook", lambda: True)


# --- long runs ------------------------------------------------------------------------------------------------------------

def test_draws_in_chunks_are_counted_exactly(one, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 256)
    told = []
    verdict = one.assess(draws=700, seed=5, progress=lambda *at: told.append(at))
    parts = [one.assess(draws=n, seed=5 + start) for n, start in ((256, 0), (256, 256), (188, 512))]
    assert verdict.counts == dict(sum((Counter(p.counts) for p in parts), Counter())) and verdict.n == 700
    assert verdict.chance == sum(p.chance * p.n for p in parts) / 700
    assert verdict.chances == {name: verdict.counts[name] / 700 for name in verdict.met}
    assert len({p.counts["all"] for p in parts}) > 1   # so that a chunk counted twice would show
    assert verdict.sample == 256 and np.array_equal(verdict.least_margin, parts[0].least_margin)
    assert told == [(256, 700), (512, 700), (700, 700)]
    assert "700 draws, seed 5" in verdict.words


def test_chunks_differ_from_each_other(one, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 128)
    drawn = []
    monkeypatch.setattr(study_module.Study, "draws", lambda self, n, seed, made=study_module.Study.draws: drawn.append(made(self, n, seed)) or drawn[-1])
    one.assess(draws=384, criteria=("least wall",))
    first, *others = (d["alloy.kc11"].magnitude for d in drawn)
    assert len(others) == 2 and not any(np.isin(first, other).any() for other in others)


def test_a_run_that_fits_one_chunk_is_the_plain_verdict(one, monkeypatch):
    plain = one.assess(draws=256, seed=2)
    monkeypatch.setattr(judge, "CHUNK", 256)
    assert one.assess(draws=256, seed=2).counts == plain.counts


def test_interrupted_run_gives_the_verdict_on_what_is_done(one, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 256)
    progress = stops_after(calls=1)
    with stopped("stopped by hand after 512 of 2560 draws"):
        verdict = one.assess(draws=2560, seed=5, progress=progress)
    assert verdict.n == 512 and progress.told == [(256, 2560), (512, 2560)]
    assert verdict.counts == one.assess(draws=512, seed=5).counts
    assert 0 < verdict.chance <= 1 and verdict.provenance["n"] == 512


def test_interrupted_in_the_middle_of_a_chunk(one, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 256)
    made, calls = judge.outcomes, []

    def outcomes(*given):
        calls.append(1)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return made(*given)
    monkeypatch.setattr(judge, "outcomes", outcomes)
    with stopped("stopped by hand after 512 of 2560 draws"):
        assert one.assess(draws=2560, seed=5).n == 512


def test_elsewhere_than_at_a_notebook_an_interrupt_stops_for_good(one, monkeypatch):
    monkeypatch.setattr(stopping, "in_notebook", lambda: False)
    monkeypatch.setattr(judge, "CHUNK", 256)
    with pytest.raises(KeyboardInterrupt):
        one.assess(draws=2560, seed=5, progress=stops_after(calls=1))
    with pytest.raises(KeyboardInterrupt):
        one.sweep("wall", mm(0.2, 0.3, 0.4), progress=stops_after(calls=1), **QUICK)


def test_a_test_runner_is_no_notebook():
    assert stopping_in_notebook() is False


@pytest.mark.slow
@pytest.mark.long
def test_memory_is_that_of_a_chunk_or_two(one, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 2**17)   # above what evidence.draw keeps for sliders
    one.assess(draws=64)   # imports and tables
    peaks = {}
    for chunks in (1, 4):
        tracemalloc.start()
        one.assess(draws=chunks * 2**17)
        peaks[chunks] = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert peaks[4] < 2.5 * peaks[1]   # the first is kept for its margins while another is worked on; four would be 4


# --- sweep and map --------------------------------------------------------------------------------------------------------

def test_sweep_is_one_verdict_a_value_on_the_same_draws(one):
    told = []
    table = one.sweep("wall", mm(0.2, 0.3, 0.4), draws=2**9, seed=4, progress=lambda *at: told.append(at))
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert table.index.tolist() == [0.2, 0.3, 0.4] and table.index.name == "wall / mm"
    for value, row in table.iterrows():
        verdict = one.with_(wall=Q(value, "mm")).assess(draws=2**9, seed=4)
        assert row["all"] == verdict.chance and row["limiting"] == verdict.limiting
        assert row[list(verdict.chances)].to_dict() == verdict.chances
        assert row[["margin_5", "margin", "margin_95"]].tolist() == pytest.approx(np.quantile(verdict.least_margin, (0.05, 0.5, 0.95)))
    assert table["all"].is_monotonic_increasing   # shared draws: more wall cannot be worse by chance
    assert table.attrs["n"] == 2**9 and table.attrs["seed"] == 4 and table.attrs["key"] == "wall"


def test_sweep_over_texts_words_counts_and_assumptions(one):
    assert one.sweep("wall", ["0.3 mm", "400 um"], **QUICK).index.tolist() == pytest.approx([0.3, 0.4])
    words = one.sweep("order", ["bore first", "outside first"], **QUICK)
    assert words.index.tolist() == ["bore first", "outside first"] and words.index.name == "order"
    assert one.sweep("jaws", [3, 6], draws=2**8).index.tolist() == [3, 6]
    pinch = one.sweep("hand.pinch", [Q(2, "N"), Q(20, "N")], **QUICK)
    assert pinch.index.name == "hand.pinch / N" and pinch["all"].iloc[0] > pinch["all"].iloc[1]
    array = one.sweep("wall", Q(np.array([0.3, 0.4]), "mm"), **QUICK)
    assert array.index.tolist() == [0.3, 0.4]
    with pytest.raises(study_module.StudyError, match="no values to sweep"):
        one.sweep("wall", [])
    with pytest.raises(study_module.StudyError, match="'wal' is neither.*did you mean 'wall'"):
        one.sweep("wal", mm(0.3))


def test_map_is_one_verdict_a_pair(one):
    told = []
    table = one.map("wall", mm(0.2, 0.4), "hand.pinch", [Q(2, "N"), Q(6, "N"), Q(0.012, "kN")], **QUICK, seed=4, progress=lambda *at: told.append(at))
    assert told == [(i, 6) for i in range(7)]
    assert table["wall / mm"].tolist() == [0.2, 0.4] * 3 and table["hand.pinch / N"].tolist() == pytest.approx([2, 2, 6, 6, 12, 12])
    for _, row in table.iterrows():
        verdict = one.with_(**{"wall": Q(row["wall / mm"], "mm"), "hand.pinch": Q(row["hand.pinch / N"], "N")}).assess(**QUICK, seed=4)
        assert row["all"] == verdict.chance and row["limiting"] == "least wall"
        assert row["margin"] == pytest.approx(np.median(verdict.least_margin))
    assert len(set(table["all"])) > 4 and (table.attrs["x"], table.attrs["y"]) == ("wall / mm", "hand.pinch / N")


def interrupted(one, what, **stop):
    if what == "sweep":
        return one.sweep("wall", mm(0.2, 0.3, 0.4, 0.5), **QUICK, **stop)
    return one.map("wall", mm(0.2, 0.4), "hand.pinch", [Q(2, "N"), Q(8, "N")], **QUICK, **stop)


@pytest.mark.parametrize("what", ["sweep", "map"])
def test_interrupted_between_values_gives_those_that_are_done(one, what):
    whole = interrupted(one, what)
    with stopped("stopped by hand after 2 of 4 values"):
        part = interrupted(one, what, progress=stops_after(calls=2))
    assert part.equals(whole.iloc[:2]) and part.attrs == whole.attrs
    with stopped("stopped by hand after 0 of 4 values"):
        assert interrupted(one, what, progress=stops_after(calls=0)).empty


@pytest.mark.parametrize("what", ["sweep", "map"])
def test_interrupted_in_the_middle_of_the_work(one, what, monkeypatch):
    """The stop button hardly ever falls between two values: nearly all of the time is spent in a verdict."""
    whole = interrupted(one, what)
    made, calls = design.assess, []

    def assess(*given, **named):
        calls.append(1)
        if len(calls) == 4:
            raise KeyboardInterrupt
        return made(*given, **named)
    monkeypatch.setattr(design, "assess", assess)
    with stopped("stopped by hand after 3 of 4 values"):
        assert interrupted(one, what).equals(whole.iloc[:3])


# --- thresholds -----------------------------------------------------------------------------------------------------------

@pytest.mark.long
def test_threshold_against_a_fine_grid(one):
    grid = np.arange(0.15, 0.6, 0.004)
    curve = np.array([one.with_(wall=Q(w, "mm")).assess(**QUICK).chance for w in grid])
    for chance in (0.8 * curve.max(), 0.4 * curve.max()):
        found = one.threshold("wall", chance=chance, low="0.1 mm", high="0.6 mm", **QUICK)
        at = np.flatnonzero((curve[:-1] < chance) != (curve[1:] < chance))
        assert found.units == Q(1, "mm").units
        assert all(np.any((grid[at] - 1e-4 <= each) & (each <= grid[at + 1] + 1e-4)) for each in np.atleast_1d(found.m) if grid[0] < each < grid[-1])


def test_threshold_names_all_crossings(one):
    """A pulley that is too small gives no torque, one that is too large turns too slowly to lap in the hours granted."""
    found = one.threshold("pulley", chance=0.35, low="5 mm", high="125 mm", draws=2**9)
    assert np.shape(found.m) == (2,) and 5 < found.m[0] < 30 < 35 < found.m[1] < 125
    curve = [one.with_(pulley=Q(p, "mm")).assess(draws=2**9).chance for at in found.m for p in (at - 2, at + 2)]   # 512 draws: the curve has steps
    assert curve[0] < 0.35 < curve[1] and curve[2] > 0.35 > curve[3]


def test_threshold_of_an_assumption_and_of_one_tube(study):
    pair = study.only("hours", "tide")
    pinch = pair.threshold("hand.pinch", chance=0.5, high="30 N", **QUICK)
    assert pinch.units == Q(1, "N").units
    beyond = [pair.with_(**{"hand.pinch": pinch * f}).assess(**QUICK).chance for f in (0.97, 1.03)]
    assert beyond[0] > 0.5 > beyond[1]
    own = pair.threshold("tide.wall", chance=0.5, low="0.1 mm", **QUICK)
    assert 0.1 < own.m_as("mm") < 0.6
    drift = pair.threshold("drift.drift", chance=0.3, low="1 mm/m", high="40 mm/m", **QUICK)   # one that is drawn for each tube
    assert 1 < drift.m_as("mm/m") < 40


@pytest.mark.parametrize("asked, words", [
    (dict(key="wall", low="0.05 mm", high="0.08 mm"), r"the chance does not pass 0.9 between 0.0500 and 0.0800 mm; it stays between \d.\d\d and \d.\d\d"),
    (dict(key="order"), "'order' is a word, not a size"),
    (dict(key="alloy"), "'alloy' is a word, not a size"),
    (dict(key="wal"), "'wal' is neither.*did you mean 'wall'"),
    (dict(key="wall", low="0.5 mm", high="0.2 mm"), "low 0.5 is not below high 0.2 mm"),
    (dict(key="wall", low="0.5 mm", high="500 um"), "low 0.5 is not below high 0.5 mm"),
    (dict(key="wall", chance=1.0), "chance: 1.0 must lie between 0 and 1"),
    (dict(key="wall", chance=0), "chance: 0 must lie between 0 and 1"),
])
def test_threshold_refusals(one, asked, words):
    with pytest.raises(study_module.StudyError, match=words):
        one.threshold(**asked, **QUICK)


def test_threshold_with_a_wrong_unit(one):
    with pytest.raises(TypeError, match="wall"):
        one.threshold("wall", low="0.1 N", **QUICK)


@pytest.mark.long
def test_thresholds_have_the_standard_error_of_their_seeds(one):
    asked = dict(key="wall", chances=(0.8, 0.5), low="0.1 mm", high="0.6 mm", points=21, draws=2**7, criteria=("least wall",))
    singles = [one.thresholds(**asked, seeds=[seed]) for seed in range(1, 7)]
    together = one.thresholds(**asked, seeds=range(1, 7))
    for chance in (0.8, 0.5):
        values = [s.loc[chance, "value"] for s in singles]
        assert together.loc[chance, "value"] == pytest.approx(np.mean(values))
        assert together.loc[chance, "standard_error"] == pytest.approx(np.std(values, ddof=1) / np.sqrt(6))
        exact = one.threshold("wall", chance=chance, low="0.1 mm", high="0.6 mm", draws=2**7, seed=1, criteria=("least wall",))
        assert singles[0].loc[chance, "value"] == pytest.approx(exact.m_as("mm"), abs=0.01)   # straight between grid points 0.025 apart
    assert (together["crossings"] == 6).all() and (together["unit"] == "mm").all() and np.isnan(singles[0].loc[0.8, "standard_error"])
    assert together.attrs["seed"] == tuple(range(1, 7))


@pytest.mark.long
def test_standard_error_shrinks_with_more_seeds(one):
    asked = dict(key="wall", chances=(0.9, 0.5), low="0.1 mm", high="0.6 mm", points=13, draws=2**6, criteria=("least wall",))
    few, many = (one.thresholds(**asked, seeds=range(1, 1 + n)) for n in (8, 72))
    assert ((many["standard_error"] / few["standard_error"]).between(1 / 6, 1 / 1.7)).all()   # a third, give or take


def test_threshold_that_is_never_passed_is_missing(one):
    table = one.thresholds("wall", chances=(0.5,), low="0.5 mm", high="0.8 mm", seeds=[1, 2], **QUICK)
    assert table.loc[0.5, "crossings"] == 0 and np.isnan(table.loc[0.5, "value"])


# --- sensitivity ----------------------------------------------------------------------------------------------------------

COLUMNS = {"tornado": {"at_low", "at_high", "swing", "middle"}, "morris": {"mu", "mu_star", "sigma"},
           "sobol": {"first", "total", "first_low", "first_high", "total_low", "total_high"}}


@pytest.mark.parametrize("method", COLUMNS)
def test_sensitivity_columns_grades_and_pinned(one, method):
    pinned = one.with_(**{"hand.pinch": "4 N"})
    free, held = (s.sensitivity(method, criterion="least wall", n=2**4) for s in (one, pinned))
    assert COLUMNS[method] | {"grade", "source"} <= set(free.columns)
    pinch = "hand.pinch" if method == "sobol" else "hand.pinch@hours"
    assert set(free.index) - set(held.index) == {pinch} and "alloy.yield_strength" in held.index
    assert "alloy.kc11" not in free.index   # a wall is left whatever the cutting force
    for key, row in free.iterrows():
        known = one.assumptions.get(key) or one.assumptions[f"{key}@hours"]
        assert (row["grade"], row["source"]) == (known.grade, known.source)
    assert free.index[0] == pinch and free.attrs["criterion"] == "least wall" and free.attrs["method"] == method
    assert free.attrs["n"] == 2**4 and held.attrs["inputs"] != free.attrs["inputs"]


def test_tornado_is_the_verdict_with_one_assumption_moved(one):
    table = one.sensitivity("tornado")
    middles = {key.partition("@")[0]: row.middle for key, row in one.assumptions.items()}
    for key in ("hand.pinch@hours", "push.push"):
        for column, p in (("at_low", 0.05), ("at_high", 0.95), ("middle", 0.5)):
            moved = middles | {key.partition("@")[0]: Q(float(one.assumptions[key].quantile(p)), one.assumptions[key].unit)}
            margin = one.with_(**moved).assess(draws=1).least_margin[0]
            assert table.loc[key, column] == pytest.approx(np.log10(margin), abs=1e-9)
    assert (table["swing"] == table["at_high"] - table["at_low"]).all()
    assert table["swing"].abs().is_monotonic_decreasing


def test_morris_says_how_many_trajectories_it_ran(one):
    assert one.sensitivity("morris", criterion="least wall", n=2**9).attrs["n"] == 64


@pytest.mark.filterwarnings("ignore::kit.OutOfRange")
def test_sobol_shares_as_salib_finds_them(one):
    """The same model driven by another library, on its own points and with its own estimators."""
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample
    table = one.sensitivity("sobol", criterion="least wall", n=2**11, seed=1)
    (tube,) = one.tubes
    table.index = [key if key in one.assumptions else f"{key}@{tube.name}" for key in table.index]
    keys = sorted(table.index)
    problem = {"num_vars": len(keys), "names": keys, "bounds": [[0, 1]] * len(keys)}
    points = sample.sample(problem, 2**11, calc_second_order=False, seed=7)
    values = {k: row.middle for k, row in one.assumptions.items()} | {
        k: Q(one.assumptions[k].quantile(np.clip(p, 1e-9, 1 - 1e-9)), one.assumptions[k].unit) for k, p in zip(keys, points.T)}
    outcome = CRITERIA["least wall"](Case(tube, one.steps(tube), one.workshop, values))
    margin = np.log10(np.clip((outcome.capacity / outcome.demand).m_as(""), 1e-2, 1e2))
    theirs = analyze.analyze(problem, margin, calc_second_order=False, seed=7)
    np.testing.assert_allclose(table.loc[keys, "first"], theirs["S1"], atol=0.08)
    np.testing.assert_allclose(table.loc[keys, "total"], theirs["ST"], atol=0.08)
    assert table["total"].iloc[0] > 0.5 and table["total"].iloc[1] > 0.03   # shares that a mix-up would change


@pytest.mark.parametrize("asked, words", [(dict(method="sobel"), "no method 'sobel'; did you mean 'sobol'"),
                                          (dict(criterion="least wal"), "no criterion 'least wal'; did you mean 'least wall'")])
def test_sensitivity_refusals(one, asked, words):
    with pytest.raises(study_module.StudyError, match=words):
        one.sensitivity(**asked)


def test_sensitivity_of_an_updated_study_takes_what_the_log_tied_together_as_one(learned):
    """Its share of the variance, against plain pick-freeze with draws of the update (A. Saltelli et al., Global Sensitivity
    Analysis: The Primer (2008), section 4.6, from memory): half the mean square of the change when only that is drawn anew. The
    draws of another seed are shuffled, for sets of even points are alike from one place to the next, whatever their seed."""
    plan, criterion = learned.only("hours"), "lapping stock"
    table = plan.sensitivity("sobol", criterion=criterion, n=2**10)
    row = table.loc["bench log"]
    assert not set(table.index) & set(learned.conditioned)
    n, rng = 2**13, np.random.default_rng(3)
    one, other = plan.draws(n, 11), plan.draws(n, 12)
    shuffled = rng.permutation(n)
    mixed = {k: other[k][shuffled] if k in plan.conditioned else q for k, q in one.items()}
    y, anew, apart = (np.log10(np.clip(judge.lines(plan, v, n, (criterion,))[0][0].margin, 1e-2, 1e2)) for v in (one, mixed, other))
    assert row["total"] == pytest.approx(((y - anew)**2).mean() / 2 / np.var([y, apart]), abs=0.06) and row["total"] > 0.1
    for method in COLUMNS:
        found = plan.sensitivity(method, criterion=criterion, n=2**5 if method == "morris" else 2**6)
        assert "bench log" in found.index and found["assumption"].loc["bench log"] == "what the log has updated, together"
    tornado = plan.sensitivity("tornado", criterion=criterion)
    assert tornado.loc["bench log", "grade"] == "updated by the log"
    assert {"model.removal@hours", "abrasive.emery, fine.wear_coefficient@hours"} & set(tornado.index)
    assert "model.removal@hours" not in plan.with_(**{"model.removal": 1.0}).sensitivity("tornado", criterion=criterion).index


# --- provenance -----------------------------------------------------------------------------------------------------------

def test_digest_changes_with_any_input_and_with_nothing_else(study):
    def digest(s):
        return s.provenance(2**10, 1)["inputs"]

    key = "alloy.kc11"
    route = {name: [dict(step) for step in steps] for name, steps in study.routes.items()}
    route["sleeve"][0]["feed"] = route["sleeve"][0]["feed"] * 1.000001
    tools = dict(study.tools, **{"flat drill": replace(study.tools["flat drill"], shank_ratio=0.81)})
    row = study.assumptions[key]
    others = [study.with_(wall="0.400001 mm"), study.with_(**{"tide.length": "81 mm"}), study.with_(pulley="41 mm"), study.with_(order="outside first"),
              study.with_(alloy="brass, worked"), study.with_(hold="61 s"), study.with_(**{key: "1000 MPa"}), study.with_(**{key: "1001 MPa"}),
              study.with_(**{"drift.drift": "1 mm/m"}), study.only("tide"), replace(study, correlations={}), replace(study, routes=route),
              replace(study, tools=tools), replace(study, rows={key: replace(row, high=1401.0)}), replace(study, rows={key: replace(row, grade="find")}),
              replace(study, title="Another")]
    digests = [digest(study), *map(digest, others)]
    assert len(set(digests)) == len(digests)
    assert digest(kit.study.load(study.folder)) == digest(study)
    assert digest(study.with_(wall="0.4 mm")) == digest(study) or study.part["wall"] != Q(0.4, "mm")
    one, two = study.provenance(2**10, 1), study.provenance(2**11, 2)
    assert one["inputs"] == two["inputs"] and (two["n"], two["seed"]) == (2**11, 2)
    assert set(one["versions"]) == {"kit", "python", "numpy", "scipy"} and one["versions"]["kit"] == kit.__version__


def test_digest_changes_with_what_the_log_said(study, learned):
    """Even where another log leaves as many draws effective in as many steps."""
    other = replace(learned, conditioned={k: v * (1 + 1e-9) for k, v in learned.conditioned.items()})
    same = replace(learned, conditioned={k: v.copy() for k, v in learned.conditioned.items()})
    digests = [s.provenance(1, 1)["inputs"] for s in (study, learned, other, same)]
    assert len(set(digests[:3])) == 3 and digests[3] == digests[1]


def test_digest_is_the_same_in_another_process(study):
    """A set or a memory address in it would not be."""
    code = "import kit; print(kit.study.load(kit.tables.DATA / 'harbour-dial').provenance(1, 1)['inputs'])"
    said = {subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": str(seed)},
                           cwd=tables.DATA.parent).stdout.strip() for seed in (1, 2)}
    assert said == {study.provenance(1, 1)["inputs"]}


# --- draws of an updated study --------------------------------------------------------------------------------------------

def test_updated_draws_go_everywhere(study, learned):
    """sweep, assess and chunks of an updated study all rest on its draws."""
    held = learned.conditioned["drive.stroke_frequency"]
    for n, seed in ((100, 1), (1000, 2)):
        drawn = learned.draws(n, seed)["drive.stroke_frequency"].magnitude
        assert drawn.shape == (n,) and np.isin(drawn, held).all()
    unmoved = set(study.assumptions) - set(learned.conditioned)
    before, after = study.draws(64, 1), learned.draws(64, 1)
    assert all(np.array_equal(before[k].magnitude, after[k].magnitude) for k in unmoved)
    sustained = [s.only("hours").assess(draws=2**10, criteria=("turning the outside",)).lines[0].quantiles("capacity") for s in (study, learned)]
    assert sustained[1][2] - sustained[1][0] < 0.6 * (sustained[0][2] - sustained[0][0])
    assert not learned.sweep("wall", mm(0.3), draws=2**9)["margin"].equals(study.sweep("wall", mm(0.3), draws=2**9)["margin"])


# --- figures ----------------------------------------------------------------------------------------------------------------

def texts(figure):
    return [t.get_text() for t in figure.axes[0].texts]


def drawn(figure):
    """The figure as PNG bytes; whatever is odd about it warns or fails here."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return figures.png(figure)


def lines(figure):
    return [line.get_xydata() for line in figure.axes[0].lines]


@pytest.fixture(scope="module")
def swept(one):
    return one.sweep("wall", mm(0.1, 0.15, 0.2, 0.3, 0.4), draws=2**8)


def test_margin_band_shows_the_table_whatever_its_order(swept):
    figure = figures.margin_band(swept)
    x = swept.index.to_numpy()
    assert any(np.array_equal(xy, np.column_stack([x, swept["margin"]])) for xy in lines(figure))
    assert f"limited by {swept['limiting'].iloc[0]}" in texts(figure) and figure.axes[0].get_xlabel() == "wall / mm"
    assert drawn(figure) == drawn(figures.margin_band(swept.iloc[[3, 0, 4, 1, 2]]))
    bar = [line for line in figure.axes[0].lines if line.get_ydata()[0] == 1.02]
    changes = (swept["limiting"] != swept["limiting"].shift()).sum()
    assert len(bar) == changes and bar[0].get_xdata()[0] == x[0] and bar[-1].get_xdata()[-1] == x[-1]


def test_margin_band_with_margins_of_nothing(one):
    drawn(figures.margin_band(one.sweep("pulley", mm(5, 10, 20), draws=2**8)))


def test_tornado_shows_grades_and_ends(one):
    table = one.sensitivity("tornado")
    figure = figures.tornado(table, rows=5)
    drawn(figure)
    said = texts(figure)
    assert [t for t in said if t in table["grade"].unique()] == table["grade"].iloc[:5].tolist()
    bars = [xy for xy in lines(figure) if len(xy) == 2 and abs(xy[0, 1] - round(xy[0, 1])) == pytest.approx(0.14)]
    expected = 10 ** table.iloc[:5][["at_low", "at_high"]].to_numpy().ravel()
    assert [xy[1, 0] for xy in bars] == pytest.approx(expected) and {xy[0, 0] for xy in bars} == {10 ** table["middle"].iloc[0]}


def test_indices_show_first_and_total(one):
    table = one.sensitivity("sobol", criterion="least wall", n=2**5)
    figure = figures.indices(table, rows=3)
    drawn(figure)
    dots = [xy[0] for xy in lines(figure) if len(xy) == 1]
    assert [d[0] for d in dots] == pytest.approx(table["first"].iloc[:3].clip(0, 1))
    assert min(table["total"].iloc[0], 1) in [xy[1, 0] for xy in lines(figure) if len(xy) == 2 and xy[0, 0] == 0]
    assert table["grade"].iloc[0] in texts(figure)


def test_chance_map_with_the_trials_on_it(one):
    table = one.map("wall", mm(0.1, 0.2, 0.4), "hand.pinch", [Q(1, "N"), Q(4, "N"), Q(15, "N")], draws=2**8)
    tested = pd.DataFrame({"wall / mm": [0.2, 0.3], "hand.pinch / N": [3.0, 9.0], "outcome": ["success", "fail"]})
    figure = figures.chance_map(table, tested=tested)
    drawn(figure)
    assert figure.axes[0].get_xlabel() == "wall / mm" and figure.axes[0].get_ylabel() == "pinch of finger and thumb / N"
    assert {"success", "fail"} <= set(texts(figure)) and [3.0] in [xy[:, 1].tolist() for xy in lines(figure)]


def test_chance_map_that_was_stopped_or_never_passes(one):
    table = one.map("wall", mm(0.1, 0.2, 0.4), "hand.pinch", [Q(1, "N"), Q(4, "N"), Q(15, "N")], draws=2**8)
    part = table.iloc[:7]
    part.attrs = table.attrs
    drawn(figures.chance_map(part))
    certain = table.assign(all=1.0)
    certain.attrs = table.attrs
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        drawn(figures.chance_map(certain))


def test_compared_marks_what_is_outside(study):
    table = bench.read(study.folder / "bench_log.csv").compare(study)
    figure = figures.compared(table)
    drawn(figure)
    marks = Counter(line.get_marker() for line in figure.axes[0].lines)
    points = table["measured"].notna()
    assert marks["X"] == (points & ~table["inside"]).sum() and marks["o"] == (points & table["inside"]).sum() and marks["|"] == (~points).sum()
    assert any(t.startswith("grey: 90 %") for t in texts(figure)) and {"pull", "bore"} <= set(texts(figure))


def test_compared_with_a_single_plug(study):
    table = bench.read(study.folder / "bench_log.csv").compare(study)
    some = table[table["quantity"] == "bore"].reset_index(drop=True)
    some.attrs = table.attrs
    some.loc[0, ["measured", "measured_low", "measured_high"]] = [np.nan, 5.02, np.inf]
    some.loc[1, ["measured", "measured_low", "measured_high"]] = [np.nan, -np.inf, 5.02]
    figure = figures.compared(some)
    drawn(figure)
    one_sided = [xy for line, xy in zip(figure.axes[0].lines, lines(figure)) if line.get_color() in (page.BLUE, page.VERMILION)
                 and line.get_linestyle() == "-" and len(xy) == 2]
    assert all(np.isfinite(xy).all() for xy in one_sided)   # a line to infinity is not drawn at all


def test_learnt_puts_the_most_taught_first(study, learned):
    """A row for each assumption; for one that differs from tube to tube in part, that of one tube: they are alike."""
    before = {k: q.magnitude for k, q in study.draws(2**8, 1).items() if k in learned.conditioned}
    figure = figures.learnt(before, learned.conditioned)
    drawn(figure)
    shares = [int(t.split("%")[0].strip().lstrip("<>")) for t in texts(figure) if t.endswith("as wide")]
    rows = {k.partition("@")[0] for k in learned.conditioned}
    assert shares == sorted(shares) and len(shares) == len(rows) < len(learned.conditioned) and shares[0] < 55
    wide = {k: np.ptp(np.quantile(after, (0.05, 0.95))) / np.ptp(np.quantile(before[k], (0.05, 0.95))) for k, after in learned.conditioned.items()}
    assert figure.axes[0].get_yticklabels()[0].get_text() == words.key_label(min(wide, key=wide.get).partition("@")[0])


@pytest.mark.parametrize("good, n", [(0, 3), (2, 3), (3, 3), (34, 37)])
def test_success_shows_the_range_and_no_bare_yes(good, n):
    low, high = trials.success_interval(successes=good, trials=n)
    figure = figures.success(good, n, (low, high))
    drawn(figure)
    bar = [xy for xy in lines(figure) if len(xy) == 2]
    assert [xy[:, 0].tolist() for xy in bar] == [[low, high]]
    assert f"{good} of {n}" in texts(figure)[-1] and {words.percent(low), words.percent(high)} <= set(texts(figure))
    canvas, paper = FigureCanvasAgg(figure), figure.bbox
    canvas.draw()
    for text in figure.axes[0].texts:   # the ends stay on the page
        box = text.get_window_extent(canvas.get_renderer())
        assert box.x0 >= paper.x0 and box.x1 <= paper.x1
    with pytest.raises(TypeError):
        figures.success(good, n)


# --- a claim that is itself a range -----------------------------------------------------------------------------------------------

def test_an_uncertain_wall_gives_the_mean_of_the_chances_it_may_have_had(study):
    walls = Q(np.random.default_rng(1).uniform(0.1, 0.4, 4001), "mm")
    over = study.sweep_over("wall", walls, points=3, draws=2**9)
    assert over.index.to_numpy() == pytest.approx([0.15, 0.25, 0.35], abs=0.005)
    plain = [study.with_(wall=Q(w, "mm")).assess(draws=2**9, seed=1).chance for w in over.index]
    assert over.attrs["chance"] == pytest.approx(np.mean(plain)) and over["all"].tolist() == plain
    assert plain[0] < over.attrs["chance"] < plain[-1]
