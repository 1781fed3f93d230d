"""The bench log: reading without loss, prediction against measurement, the update against cases solved otherwise."""
import csv
import re
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

import kit
from kit import Q, bench, disagreement, evidence, gauging, means, routes, tables, update

NAMES = [f["name"] for f in bench.schema()["fields"]]
GOOD = {"trial": 1, "date": "2026-05-07", "tube": "hours", "step": "one", "operation": "turn", "operator": "A", "outcome": "success",
        "counted": "yes", "substitute": "no"}
REAMED = {"operation": "ream", "tool": "half-round bit", "diameter_mm": 4.9, "stock_mm": 0.45, "strokes": 900}
LAPPED = {"operation": "lap", "tool": "emery, fine", "pressure_kPa": 40, "minutes": 60, "mass_before_g": 10}


@pytest.fixture(scope="module")
def study():
    return kit.study.load(tables.DATA / "harbour-dial")


@pytest.fixture(scope="module")
def once(study):
    """The demo with factors of its formulas that are one for all tubes: cases with them can be solved by hand."""
    keys = ("model.removal", "model.wall_strength", "model.cutting_torque")
    return replace(study, rows=study.rows | {k: replace(study.reference_rows[k], each=0.0) for k in keys})


@pytest.fixture(scope="module")
def demo(study):
    return bench.read(study.folder / "bench_log.csv")


@pytest.fixture(scope="module")
def learned(study, demo):
    return demo.update(study, particles=2**11, seed=1)


@pytest.fixture
def write(tmp_path):
    """Writes a log, a row for each dict; its steps are numbered where they have no name."""
    def written(*rows, name="log.csv"):
        path = tmp_path / name
        with open(path, "w", newline="", encoding="utf-8") as file:
            out = csv.DictWriter(file, NAMES)
            out.writeheader()
            out.writerows(GOOD | {"step": f"step {i}"} | row for i, row in enumerate(rows, 1))
        return path
    return written


def lognormal(key, low, high, **changes):
    return evidence.Assumption(**{"key": key, "value": None, "low": low, "high": high, "unit": "", "shape": "lognormal", "grade": "conjecture",
                                  "source": "assumption"} | changes)


def scale(low, high):
    """Mean and standard deviation of the logarithm of a lognormal with these 5 % and 95 % points."""
    return (np.log(low) + np.log(high)) / 2, (np.log(high) - np.log(low)) / 2 / stats.norm.ppf(0.95)


def measured(readings, predict, error=0.1, relative=True, low=None, high=None):
    """Readings of one thing, or intervals where a reading is NaN. error: an Error, or the scatter of one that is known for certain."""
    value = np.array(readings, float)
    if not isinstance(error, bench.Error):
        error = bench.Error(error, relative=relative, dof=np.inf)
    return bench.Measured("pull", "N", tuple((i, "") for i in range(len(value))), value, value if low is None else np.array(low, float),
                          value if high is None else np.array(high, float), error, predict, ("2026-05-07",) * len(value), ("A",) * len(value))


def of(*keys):
    """Prediction: the product of these assumptions."""
    return lambda values: np.prod(np.broadcast_arrays(*(np.atleast_2d(values[k].magnitude) for k in keys)), axis=0)


def ends(values, level=0.9):
    return np.quantile(values, ((1 - level) / 2, (1 + level) / 2))


# --- reading ------------------------------------------------------------------------------------------------------------

def test_reading_never_changes_the_file(write, study):
    path = write({}, {"minutes": "12 mm"}, {"outcome": "splendid"}, {"outcome": "fail", "failure": "stalled"})
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\r\n", b"\r\n\r\n", 1))
    path.chmod(0o444)
    before, stamp = path.read_bytes(), path.stat().st_mtime_ns
    log = bench.read(path)
    assert (len(log.rows), len(log.faults)) == (2, 2)
    log.words()
    assert path.read_bytes() == before and path.stat().st_mtime_ns == stamp
    assert [p.name for p in path.parent.iterdir()] == ["log.csv"]


@pytest.mark.parametrize("wrong, column, words", [
    ({"date": "2026-02-30"}, "date", "no day of the calendar"),
    ({"date": "07.05.2026"}, "date", "yyyy-mm-dd"),
    ({"minutes": "12,5"}, "minutes", "decimal point as a point"),
    ({"measured_mm": "12 mm"}, "measured_mm", "write the bare number"),
    ({"torque_Nm": "0.4 N*cm"}, "torque_Nm", "write the bare number"),
    ({"pull_N": "nan"}, "pull_N", "not a finite number"),
    ({"minutes": -3}, "minutes", "beyond the minimum"),
    ({"strokes": 12.5}, "strokes", "whole number"),
    ({"trial": 0}, "trial", "beyond the minimum"),
    ({"outcome": "worked"}, "outcome", "known"),
    ({"operation": "reem"}, "operation", "'ream'"),
    ({"counted": ""}, "counted", "nothing there"),
    ({"operator": " "}, "operator", "nothing there"),
    ({"counted": "no"}, "why_not", "must say why"),
    ({"outcome": "fail"}, "failure", "of what kind"),
    ({"mass_before_g": 5, "mass_after_g": 5.1}, "mass_after_g", "more than before"),
    ({"mass_after_g": 5.1}, "mass_after_g", "no mass before"),
    ({"passes_mm": 5.02, "stops_mm": 5.02}, "stops_mm", "must be larger"),
    ({"pull_N": 20, "pull_most_N": 19, "minutes": 5}, "pull_N", "more than the most"),
    ({"pull_most_N": 19}, "minutes", "for how long"),
    ({"hold_s": 60}, "hold_s", "a row of its own, operation 'test'"),
])
def test_bad_row_refused_with_line_and_column_and_the_good_ones_kept(write, wrong, column, words):
    log = bench.read(write({"remark": "before"}, wrong, {"remark": "after"}))
    assert [row["remark"] for row in log.rows] == ["before", "after"]
    (fault,) = log.faults
    assert "log.csv, line 3," in fault and f"column '{column}'" in fault and words in fault


def test_trial_and_step_given_twice(write):
    log = bench.read(write({"step": "ream"}, {"step": "ream", "remark": "again"}, {"step": "ream", "trial": 2}))
    assert [(row["trial"], row["remark"]) for row in log.rows] == [(1, None), (2, None)]
    (fault,) = log.faults
    assert "line 3: 1 / ream stands already in line 2" in fault


def test_rows_that_are_right_to_the_edge_are_kept(write):
    log = bench.read(write({"mass_before_g": 5, "mass_after_g": 5}, {"passes_mm": 5.01, "stops_mm": 5.02}, {"passes_mm": 5.03},
                           {"counted": "no", "why_not": "cold day"}, {"outcome": "partial"}))
    assert len(log.rows) == 5 and not log.faults


def test_unreadable_as_a_whole(tmp_path):
    (tmp_path / "empty.csv").write_text("")
    with pytest.raises(tables.TableError, match="the file is empty.*trial, date"):
        bench.read(tmp_path / "empty.csv")
    with pytest.raises(tables.TableError, match="there is no such file"):
        bench.read(tmp_path / "none.csv")
    (tmp_path / "old.csv").write_text(",".join(n.replace("minutes", "minuts") for n in NAMES))
    with pytest.raises(tables.TableError, match="unknown column 'minuts'; did you mean 'minutes'"):
        bench.read(tmp_path / "old.csv")


# --- counting -----------------------------------------------------------------------------------------------------------

def test_partial_and_excluded_are_no_success(write):
    rows = [{}, {"outcome": "partial"}, {"outcome": "fail", "failure": "stalled"}, {"counted": "no", "why_not": "cold"},
            {"operation": "file"}, {"operation": "file", "counted": "no", "why_not": "dark"}]
    log = bench.read(write(*(row | {"trial": i} for i, row in enumerate(rows, 1))))
    assert log.successes() == (2, 4) and log.successes("turn") == (1, 3) and log.successes("file") == (1, 1)
    assert "not counted, each with its reason: 2" in log.words() and "reason: 1" in log.words("file")
    assert "not counted" not in bench.read(write({})).words()


def test_words_refuse_a_bare_yes(write):
    words = bench.read(write({}, {"trial": 2}, {"trial": 3})).words()
    assert "3 of 3 succeeded" in words and "as low as 29 %" in words and "n = 3" in words   # 0.025 ** (1 / 3)


def test_a_success_counts_whole_trials(write, study):
    """The route of a sleeve drills, reams, turns, files and laps; a trial without one of them has not come to an end."""
    whole = [{"operation": name} for name in ("drill", "ream", "turn", "file", "lap")]
    log = bench.read(write(*whole, *({"trial": 2} | row for row in whole[:4]), *({"trial": 3} | row for row in whole[:1]),
                           {"trial": 3, "operation": "ream", "outcome": "fail", "failure": "stalled"},
                           *({"trial": 4} | row | ({"counted": "no", "why_not": "modern"} if row["operation"] == "file" else {}) for row in whole)))
    ends = {t.number: (t.outcome, t.lacking) for t in log.trials(study)}
    assert ends == {1: ("success", ()), 2: ("unfinished", ("lap",)), 3: ("fail", ()), 4: ("unfinished", ("file",))}
    assert log.successes(study=study) == (1, 2) and log.successes() == (3, 4) and log.successes("drill", study) == (4, 4)
    said = log.words(study=study)
    assert "1 of 2 succeeded" in said and "2 trials, in which no row says file or lap" in said
    alone = bench.read(write({"operation": "drill"}, name="alone.csv"))
    assert alone.words(study=study).startswith("no trial has come to an end. Unfinished")


def test_nothing_tried(write):
    for log in (bench.read(write()), bench.read(write({"counted": "no", "why_not": "cold"}))):
        assert log.successes() == (0, 0)
        with pytest.raises(ValueError, match="trials: 0 is not enough"):
            log.words()


# --- what a row measures ------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("row, words", [
    ({"tube": "hour"}, "column 'tube': the study has no tube 'hour'; did you mean 'hours'"),
    ({"tube": "pointer"}, "column 'tube': the study has no tube 'pointer'; known: 'hours'"),
    (REAMED | {"tool": "half round", "torque_Nm": 0.1}, "column 'tool': the study has no tool 'half round'; did you mean 'half-round bit'"),
    (REAMED | {"tool": "", "torque_Nm": 0.1}, "column 'tool'"),
    (REAMED | {"torque_Nm": 0.1, "stock_mm": ""}, "column 'stock_mm': nothing there"),
    (REAMED | {"torque_Nm": 0.1, "strokes": ""}, "column 'strokes': nothing there"),
    (LAPPED | {"tool": "emery", "mass_after_g": 9}, "column 'tool': the route of 'hours' does not lap with 'emery'; did you mean 'emery"),
])
def test_row_that_the_study_does_not_know(write, study, row, words):
    log = bench.read(write({"minutes": 20, "strokes": 1000}, row))
    assert not log.faults
    for ask in (log.compare, log.update):
        with pytest.raises(bench.BenchError, match="log.csv, line 3") as told:
            ask(study)
        assert words in str(told.value)


def test_log_that_measures_nothing(write, study):
    for log in (bench.read(write()), bench.read(write({"minutes": 20}, {"pull_N": 20})),
                bench.read(write({"minutes": 20, "strokes": 1000, "counted": "no", "why_not": "modern drill"}))):
        with pytest.raises(bench.BenchError, match="no counted row measures anything"):
            log.compare(study)


# --- compare ------------------------------------------------------------------------------------------------------------

def test_pull_torque_minutes_and_mass_by_hand(write, study):
    """The predicted intervals of four kinds, written out again in plain numbers: the error of a reading is Student's t with four
    degrees of freedom, and a normal one for what the gauge and the day do to all."""
    log = bench.read(write({"pull_most_N": 20, "minutes": 8, "strokes": 400}, REAMED | {"torque_Nm": 0.05, "length_mm": 60},
                           LAPPED | {"mass_after_g": 9.5, "minutes": 60}))
    n = 2**14
    table = log.compare(study, draws=n, seed=3).set_index("quantity")
    plain = {k: q.to_base_units().magnitude for k, q in study.draws(n, 5).items()}   # another seed: nothing is shared
    rng = np.random.default_rng(8)

    def noise(bias, day, scatter=0.1):
        return np.exp(scatter * rng.standard_t(4, n) + np.hypot(bias, day) * rng.standard_normal(n))

    share = np.log(8) / np.log(30)
    pull = (plain["drive.pull_one_minute"] * (1 - share) + plain["drive.pull_sustained"] * share) * noise(0.15, 0.15)
    minutes = 400 / plain["drive.stroke_frequency"] / 60 * noise(0.03, 0.15)

    def own(key):   # what is drawn for each tube
        return plain[f"{key}@hours"]

    turns = 2 * plain["drive.stroke_length"] * 900 * plain["drive.duty"] / (np.pi * 0.040)
    chips = np.maximum(plain["chip.hardness"], plain["alloy.hardness"])
    way = np.pi * 0.0049 * turns
    lost = own("edge_life.wear_coefficient") * chips / plain["edge_metal.hardness"] * way   # Archard, over the hardness of the edge
    radius = own("edge.edge_radius") + np.minimum(lost, own("edge_life.allowed_recession"))
    chip = np.maximum(0.060 / turns, plain["edge.least_chip_ratio"] * radius)   # one edge, square to the feed
    per_width = (plain["alloy.kc11"] * (chip / 1e-3)**(-plain["alloy.exponent"]) * chip
                 + own("edge.edge_force") * radius / own("edge.edge_radius"))
    arm = (0.0049 - 0.000225) / 2 + plain["guide.friction"] * 0.0049 / 2
    torque = own("model.cutting_torque") * per_width * 0.000225 * arm * noise(0.15, 0.05)

    hardness = plain["alloy.hardness"] * own("skin.hardening")
    ratio = hardness / plain["abrasive.emery, fine.hardness"]
    assert np.quantile(ratio, 0.99) < 0.8   # so the grain is hard enough not to mind
    speed = 2 * plain["drive.stroke_length"] * plain["drive.stroke_frequency"] / 0.040 * 0.005
    depth = own("model.removal") * own("abrasive.emery, fine.wear_coefficient") * 40e3 / hardness * speed * 3600
    mass = depth * np.pi * 0.005 * 0.090 * plain["alloy.density"] * 1e3 * noise(0.02, 0.10, np.hypot(0.10, 0.02 / 0.5))

    assert len(table) == 4   # the lapping row counts no strokes, the reaming row no minutes
    for kind, values in {"pull": pull, "minutes": minutes, "torque": torque, "mass lost": mass}.items():
        np.testing.assert_allclose(table.loc[kind, ["low", "median", "high"]].to_numpy(float), np.quantile(values, (0.05, 0.5, 0.95)), rtol=0.04,
                                   err_msg=kind)
    assert table.loc["pull", "measured"] == 20 and table.loc["mass lost", "measured"] == pytest.approx(0.5)
    assert dict(table["unit"]) == {"pull": "N", "minutes": "min", "torque": "N*m", "mass lost": "g"}


def test_pull_that_the_step_took_is_a_bound(write, study):
    """An arm that gave 40 N for twenty minutes gives at least that; one that gave 4 N may give anything."""
    strong, weak = (bench.read(write({"pull_N": pull, "minutes": 20}, {"pull_N": pull, "minutes": 25}, name=f"{pull}.csv")) for pull in (40, 4))
    key, before = "drive.pull_sustained", study.assumptions["drive.pull_sustained"].quantile([0.05, 0.5, 0.95])
    held = [np.quantile(log.update(study, particles=2**11).conditioned[key], [0.05, 0.5, 0.95]) for log in (strong, weak)]
    assert held[0][0] > 1.2 * before[0] and held[0][2] >= 0.97 * before[2]
    np.testing.assert_allclose(held[1], before, rtol=0.04)
    most = bench.read(write({"pull_N": 3, "pull_most_N": 17, "minutes": 20}, {"pull_most_N": 17, "minutes": 25}, name="most.csv"))
    assert np.quantile(most.update(study, particles=2**11).conditioned[key], 0.95) < 0.8 * before[2]
    (note,) = strong.notes
    assert "2 rows with a pull that the step took (column pull_N)" in note and "at least that" in note and most.notes == ()
    table = weak.compare(study)
    assert table["inside"].all() and table["measured"].isna().all() and (table["measured_low"] == 4).all()
    assert bench.for_reading(table)["measured"].tolist() == ["above 4 N"] * 2


def test_a_log_from_before_the_new_columns_loads(tmp_path, study):
    """Columns that came later may be missing; its pulls are bounds."""
    later = {"pull_most_N", *(column for column, _, _ in bench.OF_THE_PART.values())}
    names = [n for n in NAMES if n not in later]
    row = GOOD | {"step": "a", "minutes": 20, "strokes": 1000, "pull_N": 21}
    (tmp_path / "old.csv").write_text(",".join(names) + "\n" + ",".join(str(row.get(n, "")) for n in names) + "\n")
    log = bench.read(tmp_path / "old.csv")
    assert not log.faults and len(log.notes) == 1
    assert log.compare(study)["quantity"].tolist() == ["minutes", "pull"] and "drive.pull_sustained" in log.update(study, particles=256).conditioned


def test_a_test_of_the_finished_part_is_predicted_by_its_criteria(write, study, demo):
    part = {"operation": "test", "tube": "lamp-oil barrel", "hold_s": 200, "slide_N": 4, "clearance_um": 15}
    table = bench.read(write(part)).compare(study, draws=2**12).set_index("quantity")
    assert set(table.index) == set(bench.OF_THE_PART) and (table["trial"] == 1).all()
    verdict = study.assess(draws=2**12, criteria=("plunger: hold", "plunger: slide", "least running clearance"))
    for kind, (_, criterion, side) in bench.OF_THE_PART.items():
        line = next(x for x in verdict.lines if (x.tube, x.criterion) == ("lamp-oil barrel", criterion))
        assert table.loc[kind, "median"] == pytest.approx(np.median(getattr(line, side)), rel=0.04)   # the error skews it and table.loc[kind, "unit"] == line.unit
    far = bench.read(write(part | {"hold_s": 5, "slide_N": 40, "clearance_um": 60}, name="far.csv")).compare(study)
    assert not far["inside"].any()
    sleeve = bench.read(write(part | {"tube": "hours"}, name="sleeve.csv")).compare(study)   # no plunger in a sleeve
    assert sleeve["quantity"].tolist() == ["clearance"]
    unused = replace(study, use=None)
    with pytest.raises(bench.NothingMeasured):   # nothing is said of its use, so nothing is predicted
        bench.read(write(part)).compare(unused)
    assert set(demo.compare(study)["quantity"]) > set(bench.OF_THE_PART)
    with pytest.raises(bench.BenchError, match="all that they rest on is pinned"):   # it tells of one piece
        bench.read(write(part)).update(study)


def test_a_gauge_study_takes_the_place_of_the_error(write, study):
    rows = [{"minutes": 20, "pull_most_N": 20}, {"minutes": 20, "pull_most_N": 22}]
    path = write(*rows)

    def error(gauge):
        (group,) = bench.read(path, gauges={"pull": gauge}).measurements(study)
        return group.error

    read = np.array([[[20.0, 20.4], [20.2, 20.1]], [[30.1, 30.3], [29.8, 30.0]], [[25.0, 25.2], [25.1, 24.9]]])
    found = gauging.gauge_study(readings=Q(read, "N"))
    assert error(found).scatter == pytest.approx(found.gauge.m_as("N") / 21) and error(found).bias == 0.15
    assert error(Q(1, "N")).scatter == pytest.approx(1 / 21) and error(0.03).scatter == 0.03
    assert error((0.03, Q(0.2, "N"))).bias == pytest.approx(0.2 / 21)
    wide, narrow = (bench.read(path, gauges=g).update(study, particles=2**11).conditioned["drive.pull_sustained"].std() for g in ({}, {"pull": (0.03, 0.01)}))
    assert narrow < 0.95 * wide
    for bad in (Q(3, "mm"), "good", -0.1, 3.0):
        with pytest.raises(bench.BenchError, match="gauges, 'pull': .* is no error of reading; give a gauge study"):
            error(bad)
    with pytest.raises(bench.BenchError, match="no kind of measurement is called 'pul'; did you mean 'pull'"):
        bench.read(path, gauges={"pul": 0.1})


def test_torque_of_a_fluted_reamer_counts_its_margins(write, study):
    rest = {"torque_Nm": 0.05, "diameter_mm": 5.0, "stock_mm": 0.1}
    log = bench.read(write(REAMED | rest | {"tool": "fluted reamer"}, REAMED | rest))
    fluted, half_round = log.compare(study, draws=2**11)["median"]
    assert fluted > 1.5 * half_round


def test_interval_data_are_inside_where_they_overlap(write, study):
    bore = REAMED | {"diameter_mm": 5.0, "strokes": ""}
    rows = [({"measured_mm": 5.01}, True), ({"measured_mm": 5.2}, False),
            ({"passes_mm": 5.01, "stops_mm": 5.2}, True), ({"passes_mm": 5.1, "stops_mm": 5.2}, False),
            ({"passes_mm": 4.9, "stops_mm": 5.01}, True), ({"passes_mm": 4.8, "stops_mm": 4.9}, False),
            ({"passes_mm": 4.8}, True), ({"passes_mm": 5.2}, False), ({"stops_mm": 5.2}, True), ({"stops_mm": 4.8}, False),
            ({"passes_mm": 4.0, "stops_mm": 6.0}, True)]
    table = bench.read(write(*(bore | row for row, _ in rows))).compare(study)
    assert list(table["step"]) == [f"step {i}" for i in range(1, 12)]
    assert table["inside"].tolist() == [inside for _, inside in rows]
    assert set(table["quantity"]) == {"bore"} and table["measured"].notna().sum() == 2
    # a D-bit cuts 3 to 40 um too large (5 % to 95 %, lognormal), read to 5 um: written out again
    mean, spread = scale(3, 40)
    rng = np.random.default_rng(4)
    by_hand = 5 + 1e-3 * (np.exp(mean + spread * rng.standard_normal(10**6)) + 5 * rng.standard_t(4, 10**6))
    np.testing.assert_allclose((table[["low", "median", "high"]].mean() - 5) * 1e3, (np.quantile(by_hand, (0.05, 0.5, 0.95)) - 5) * 1e3, atol=1.0)


def test_share_inside_has_its_binomial_interval(demo, study):
    table = demo.compare(study)
    inside, n = table.attrs["inside"], table.attrs["measurements"]
    assert n == len(table) > 100 and inside == table["inside"].sum() and table.attrs["level"] == 0.9
    exact = stats.binomtest(inside, n).proportion_ci(0.95, method="exact")
    assert table.attrs["share_interval"] == pytest.approx((exact.low, exact.high))
    assert {"n": 2**12, "seed": 1}.items() <= table.attrs.items() and len(table.attrs["inputs"]) == 16
    narrow = demo.compare(study, level=0.5)
    assert narrow.attrs["inside"] < inside and (narrow["high"] < table["high"]).all()


def test_the_time_of_a_step_is_predicted_from_the_plan_alone(demo, study):
    """Minutes and strokes three times as many agree with one another, so that minutes for the strokes see nothing; the
    time that the plan gives to each step does. Turning and filing, of which no strokes are logged, are in it."""
    table, times = demo.compare(study), bench.STEP_TIME
    read = table[table["quantity"] == times]
    assert {"turn outside", "file outside", "drill 2.50"} <= set(read["step"]) and (read["given"] == "").all()
    assert "drill 2.50" not in set(read.loc[read["trial"] == 2, "step"])   # it broke half way
    said = bench.score_words(table)
    alone = table[table["given"] == ""]
    assert f"{alone['inside'].sum()} of {len(alone)} that the plan alone predicts" in said and set(table["given"]) > {""}
    slow = replace(demo, rows=tuple(row | {"minutes": row["minutes"] and 3 * row["minutes"], "strokes": row["strokes"] and 3 * row["strokes"]}
                                    for row in demo.rows))
    off = slow.compare(study)
    held = off.groupby("quantity")["inside"].mean()
    assert held["minutes"] > 0.9 > 0.75 > held[times] and any(line.startswith(times) for line in off.attrs["disagrees"])


def test_an_hour_at_a_lap_is_no_whole_step(write, study):
    """A row by itself, as a protocol's sheet gives it, says nothing of how long the step takes; in a piece it does."""
    lapped = LAPPED | {"mass_after_g": 9.5}
    def kinds(*rows):
        return {m.kind for m in bench.read(write(*rows)).measurements(study)}
    before = [{"operation": "drill", "minutes": 26}, {"operation": "ream", "minutes": 3}, {"operation": "file", "minutes": 7}]
    assert kinds(lapped) == {"mass lost"}
    assert kinds(*before, {"minutes": 200}, lapped) == {"mass lost", bench.STEP_TIME}
    assert kinds(*(row | {"trial": n} for n, row in enumerate([*before, {"minutes": 200}, lapped], 1))) == {"mass lost"}


def test_compare_names_the_quantity_that_disagrees(write, study):
    rows = [{"minutes": 20, "strokes": 1200, "pull_most_N": pull} for pull in (2.0, 2.2, 1.9, 2.1)]
    held = bench.read(write(*rows)).compare(study).attrs
    assert held["p"] < 0.05 and [line for line in held["disagrees"] if line.startswith("pull: the readings lie lower")]
    assert not [line for line in held["disagrees"] if line.startswith("minutes")]
    fine = bench.read(write(*(row | {"pull_most_N": 25} for row in rows), name="fine.csv")).compare(study).attrs
    assert fine["p"] > 0.05 and fine["disagrees"] == ()


def test_excluded_rows_do_not_enter(write, study):
    rows = [{"pull_most_N": 45, "minutes": 8}, {"pull_most_N": 60, "minutes": 3}]
    mad = {"pull_most_N": 900, "minutes": 8, "counted": "no", "why_not": "an ox"}
    with_it, without = bench.read(write(*rows, mad)), bench.read(write(*rows, name="without.csv"))
    assert with_it.compare(study).equals(without.compare(study))
    one, two = (log.update(study, particles=256) for log in (with_it, without))
    assert all(np.array_equal(one.conditioned[k], two.conditioned[k]) for k in two.conditioned)
    counted = bench.read(write(*rows, mad | {"counted": "yes"}, name="counted.csv"))
    assert counted.compare(study).attrs["inside"] == 2 and len(counted.compare(study)) == 3


def test_what_rests_on_a_pinned_number_keeps_the_error_of_measuring(write, study):
    rng = np.random.default_rng(2)
    errors = 0.1 * rng.standard_t(4, 10**6) + np.hypot(0.03, 0.15) * rng.standard_normal(10**6)
    table = bench.read(write({"minutes": 20, "strokes": 1000})).compare(study.with_(**{"drive.stroke_frequency": "50/min"}), draws=2**14)
    np.testing.assert_allclose(table.loc[0, ["low", "median", "high"]].to_numpy(float), 20 * np.exp(np.quantile(errors, [0.05, 0.5, 0.95])), rtol=0.03)


# --- update: cases that can be solved otherwise -------------------------------------------------------------------------

KEY, LOW, HIGH = "model.removal", 0.5, 2.0   # a lognormal of the demo once


def test_one_lognormal_measured_with_lognormal_error(once):
    """Normal prior and normal error of the logarithm: the posterior is normal, its precision the sum of both."""
    readings, error = np.array([1.5, 1.7, 1.4]), 0.3
    found = bench.condition(once, [measured(readings, of(KEY), error)], particles=2**13, seed=2)
    mean, spread = scale(LOW, HIGH)
    precision = 1 / spread**2 + 3 / error**2
    middle = (mean / spread**2 + np.log(readings).sum() / error**2) / precision
    logs = np.log(found.conditioned[KEY])
    assert logs.mean() == pytest.approx(middle, abs=4 / np.sqrt(precision * 2**12))
    assert logs.std() == pytest.approx(precision**-0.5, rel=0.04)
    np.testing.assert_allclose(ends(logs), stats.norm.ppf([0.05, 0.95], middle, precision**-0.5), atol=0.015)
    assert stats.kstest((logs - middle) * precision**0.5, "norm").statistic < 0.025


def test_error_counts_as_it_is_told(once):
    """The same readings, gauged worse, teach less."""
    spread = [np.log(bench.condition(once, [measured([1.5], of(KEY), error)], particles=2**11).conditioned[KEY]).std() for error in (0.1, 0.3, 1.0)]
    prior = scale(LOW, HIGH)[1]
    np.testing.assert_allclose(spread, (prior**-2 + np.array([0.1, 0.3, 1.0])**-2)**-0.5, rtol=0.08)


def test_value_and_plug_interval_against_quadrature(once):
    """A triangular prior, absolute error, two readings, a plug pair and a plug that only stops: by quadrature."""
    key, error = "drive.pull_sustained", 4.0
    nan, inf = np.nan, np.inf
    group = measured([24, 27, nan, nan], of(key), error, relative=False, low=[24, 27, 20, -inf], high=[24, 27, 23, 30])
    found = bench.condition(once, [group], particles=2**13, seed=3).conditioned[key]
    p = (np.arange(200_000) + 0.5) / 200_000
    x = once.assumptions[key].quantile(p)
    weight = (stats.norm.pdf(24, x, error) * stats.norm.pdf(27, x, error) * (stats.norm.cdf(23, x, error) - stats.norm.cdf(20, x, error))
              * stats.norm.cdf(30, x, error))
    weight /= weight.sum()
    mean = weight @ x
    spread = np.sqrt(weight @ (x - mean)**2)
    assert found.mean() == pytest.approx(mean, abs=4 * spread / 2**6)
    assert found.std() == pytest.approx(spread, rel=0.04)
    expected = np.interp([0.05, 0.5, 0.95], np.cumsum(weight), x)
    np.testing.assert_allclose(np.quantile(found, [0.05, 0.5, 0.95]), expected, atol=0.12 * spread)


def test_several_kinds_of_measurement_come_together(once):
    """a measured, and a times b measured: two normals in the logarithms, solved as linear algebra."""
    a, b = "model.removal", "model.wall_strength"
    found = bench.condition(once, [measured([1.4, 1.3], of(a), 0.2), measured([1.9], of(a, b), 0.15)], particles=2**13, seed=4).conditioned
    means, spreads = np.transpose([scale(0.5, 2.0), scale(0.8, 1.25)])
    design, errors = np.array([[1, 0], [1, 0], [1, 1]]), np.array([0.2, 0.2, 0.15])
    precision = np.diag(spreads**-2) + design.T @ (design / errors[:, None]**2)
    middle = np.linalg.solve(precision, means / spreads**2 + design.T @ (np.log([1.4, 1.3, 1.9]) / errors**2))
    covariance = np.linalg.inv(precision)
    logs = np.log([found[a], found[b]])
    np.testing.assert_allclose(logs.mean(axis=1), middle, atol=0.008)
    np.testing.assert_allclose(logs.std(axis=1), np.sqrt(np.diag(covariance)), rtol=0.04)
    assert np.corrcoef(logs)[0, 1] == pytest.approx(covariance[0, 1] / np.sqrt(np.prod(np.diag(covariance))), abs=0.04)


def test_what_differs_from_tube_to_tube_is_spread(once):
    """A factor drawn for each tube is shared by the readings on that tube: it does not average out, and is not kept."""
    of_all, own = "model.removal", "arbor.play@hours"
    assert once.assumptions[own].each == 1
    mean, spread = scale(3, 25)
    readings = np.exp(mean) * np.array([1.6, 1.8, 1.5, 1.7])
    found = bench.condition(once, [measured(readings, of(of_all, own), 0.1)], particles=2**13, seed=5).conditioned
    assert set(found) == {of_all}
    prior_mean, prior_spread = scale(LOW, HIGH)
    nuisance = spread**2 + 0.1**2 / 4
    precision = prior_spread**-2 + 1 / nuisance
    middle = (prior_mean / prior_spread**2 + (np.log(readings).mean() - mean) / nuisance) / precision
    logs = np.log(found[of_all])
    assert logs.mean() == pytest.approx(middle, abs=0.02)
    assert logs.std() == pytest.approx(precision**-0.5, rel=0.05)


def test_correlated_prior_kept_where_the_data_say_nothing(once):
    """The arm's two pulls go together, r = 0.7; a reading without weight leaves them so."""
    one, two = "drive.pull_one_minute", "drive.pull_sustained"
    found = bench.condition(once, [measured([60], of(one, two), error=1e3)], particles=2**13)
    for draws in (found.conditioned, {k: q.magnitude for k, q in found.draws(2**14, 1).items()}):
        assert stats.spearmanr(draws[one], draws[two]).statistic == pytest.approx(6 / np.pi * np.arcsin(0.35), abs=0.03)
        for key in (one, two):
            np.testing.assert_allclose(np.quantile(draws[key], [0.05, 0.5, 0.95]), once.assumptions[key].quantile([0.05, 0.5, 0.95]), rtol=0.03)
    assert found.conditioned_on["learnt"] == ()


def test_what_a_correlation_ties_to_a_measured_assumption_is_updated_with_it(once):
    a, b, c, r = "model.removal", "model.wall_strength", "model.cutting_torque", 0.8
    tied = replace(once, correlations={(a, b): r, (b, c): 0.6, (a, c): 0.48})
    readings, error = [1.7, 1.9], 0.1
    found = bench.condition(tied, [measured(readings, of(a), error)], particles=2**13, seed=6)
    assert set(found.conditioned) == {a, b, c}
    mean, spread = scale(LOW, HIGH)
    precision = 1 / spread**2 + 2 / error**2
    score = ((mean / spread**2 + np.log(readings).sum() / error**2) / precision - mean) / spread   # of a, in units of its prior
    held = precision**-0.5 / spread
    draws = found.draws(2**15, 1)
    for key, ends_, tie in ((b, (0.8, 1.25), r), (c, (0.67, 1.5), 0.48)):
        middle, wide = scale(*ends_)
        logs = (np.log(draws[key].magnitude) - middle) / wide
        assert logs.mean() == pytest.approx(tie * score, abs=0.05)
        assert logs.std() == pytest.approx(np.sqrt(1 - tie**2 + tie**2 * held**2), rel=0.04)


def test_pinned_key_frees_what_was_tied_to_it(once):
    one, two = "drive.pull_one_minute", "drive.pull_sustained"
    found = bench.condition(once.with_(**{one: "60 N"}), [measured([60 * 25], of(one, two), error=0.2)], particles=64)
    assert set(found.conditioned) == {two}


def test_update_is_reproducible(once, write):
    log = bench.read(write({"pull_most_N": 25, "minutes": 8}, {"pull_most_N": 30, "minutes": 3}))
    one, same, other = (log.update(once, particles=512, seed=seed) for seed in (1, 1, 2))
    assert all(np.array_equal(one.conditioned[k], same.conditioned[k]) for k in one.conditioned)
    assert one.provenance(1, 1) == same.provenance(1, 1)
    assert not any(np.array_equal(one.conditioned[k], other.conditioned[k]) for k in one.conditioned)


def test_effective_draws_are_not_overstated(once):
    """Over 40 seeds the mean of what is updated scatters as that of so many independent draws, or less (chi-square, 99.9 %)."""
    rng = np.random.default_rng(1)
    group = [measured(1.5 * np.exp(0.1 * rng.standard_normal(12)), of(KEY), bench.Error(0.1, bias=0.1)),
             measured(1.9 * np.exp(0.1 * rng.standard_normal(12)), of(KEY, "model.wall_strength"), bench.Error(0.1, bias=0.1))]
    found = [bench.condition(once, group, particles=256, seed=seed) for seed in range(40)]
    worth = np.array([f.conditioned_on["effective"] for f in found])
    assert (0.3 * 256 < worth).all() and (worth <= 256).all()
    for key in found[0].conditioned:
        logs = [np.log(f.conditioned[key]) for f in found]
        told = np.mean([x.var() for x in logs] / worth)
        assert np.var([x.mean() for x in logs], ddof=1) < told * stats.chi2.ppf(0.999, 39) / 39


def test_error_of_an_updated_chance_counts_the_draws_that_the_update_holds(once, learned):
    before, after = (s.only("hours").assess(draws=2**10) for s in (once, learned))
    for verdict, worth in ((before, np.inf), (after, learned.conditioned_on["effective"])):
        p = (verdict.chance * 2**10 + 1) / (2**10 + 2)
        assert bench.chance_error(verdict) == pytest.approx(np.sqrt(p * (1 - p) * (2**-10 + 1 / worth)))
    assert "worth about" in bench.taught_words(learned) and "no cause for alarm" in bench.taught_words(learned)
    with pytest.raises(bench.BenchError, match="has not been updated"):
        bench.taught_words(once)


# --- update: surprises and refusals ---------------------------------------------------------------------------------------------------

def test_too_few_distinct_draws_are_refused(once, monkeypatch):
    group = [measured([1.5, 1.7], of(KEY), 0.02)]
    bench.condition(once, group, particles=512)
    monkeypatch.setattr(update, "MOST_MOVES", 0)   # resampled only, never moved: copies of a few
    with pytest.raises(bench.BenchError, match="of 512 draws that are worth one each"):
        bench.condition(once, group, particles=512)


@pytest.mark.parametrize("key, reading", [("drive.pull_sustained", 250.0), ("model.removal", 1500.0), ("wrench.arm", 4000.0)])
def test_impossible_measurements_are_refused(once, key, reading):
    with pytest.raises(bench.BenchError, match="next to impossible.*Log.compare"):
        bench.condition(once, [measured([reading] * 3, of(key))], particles=512)
    with pytest.raises(bench.BenchError, match="next to impossible"):   # between plugs just as well
        bench.condition(once, [measured([np.nan], of(key), low=[reading], high=[1.1 * reading])], particles=512)


def test_surprising_measurements_are_not_refused(once):
    """Three standard deviations off: that a range is wrong is what an update is for, but it is said."""
    mean, spread = scale(LOW, HIGH)
    with pytest.warns(bench.Disagreement, match="pull: the readings lie higher than the study expects"):
        found = bench.condition(once, [measured([np.exp(mean + 3 * spread)] * 5, of(KEY))], particles=512)
    assert found.conditioned_on["p"] < 0.05 and "what disagrees: pull" in bench.taught_words(found)
    assert found.conditioned[KEY].mean() > 1.6 * np.exp(mean)
    bench.condition(once, [measured([np.nan] * 4, of(KEY), 0.1, low=[1.000] * 4, high=[1.001] * 4)], particles=512)   # narrow plugs, no surprise


def test_p_is_the_chance_of_measurements_as_far_off(once):
    """Of logs that the once's own draws and errors make, one in twenty or fewer is warned of (Bonferroni errs to that side)."""
    error, low = bench.Error(0.1, bias=0.1), 0
    prior, rng = once.draws(2**10, 1), np.random.default_rng(5)
    predicted = of(KEY)(prior) * np.ones((6, 1))
    for one in range(200):
        truth = once.assumptions[KEY].quantile(rng.random())
        made = truth * np.exp(error.draws(("",) * 6, ("",) * 6, np.ones(6), 1, rng)[:, 0])
        low += disagreement.check([measured(made, of(KEY), error)], [predicted], one).p < 0.05
    assert low <= stats.binom.ppf(0.999, 200, 0.05)


@pytest.mark.parametrize("readings, words", [([0.22] * 6, "lie lower"), ([4.5] * 6, "lie higher"), ([0.1, 10, 0.1, 10, 1, 1], "scatter more")])
def test_the_quantity_that_disagrees_is_named(once, readings, words):
    good = measured([1.0, 1.05, 0.97], of("model.wall_strength"), bench.Error(0.1))
    off = replace(measured(readings, of(KEY), bench.Error(0.1, bias=0.1)), kind="torque")
    with pytest.warns(bench.Disagreement, match=f"torque: the readings {words}") as told:
        found = bench.condition(once, [good, off], particles=256)
    assert all(line.startswith("torque: ") for line in found.conditioned_on["disagrees"]) and len(told) == 1


def test_measurements_of_pinned_things_are_refused(once, write):
    log = bench.read(write({"minutes": 20, "strokes": 1000}))
    with pytest.raises(bench.BenchError, match="all that they rest on is pinned"):
        log.update(once.with_(**{"drive.stroke_frequency": "50/min"}))
    bore = bench.read(write(REAMED | {"strokes": "", "measured_mm": 5.0}, name="bore.csv"))
    with pytest.raises(bench.BenchError, match="all that they rest on is pinned"):   # a bore tells of one hole
        bore.update(once)


def test_updated_twice_is_refused(demo, learned):
    with pytest.raises(bench.BenchError, match="updated by a log already"):
        demo.update(learned, particles=64)


# --- the demo log: what was put in wrong is found ------------------------------------------------------------------------

def test_demo_log_finds_the_weak_arm(study, learned):
    """The invented log was made with a pull of 16 N kept up, 45 N in a minute, and 52 strokes a minute. Its pulls are read by one balance,
    which may be off, so less is learnt of the arm than 26 readings would say by themselves."""
    truth = {"drive.pull_sustained": 16, "drive.pull_one_minute": 45, "drive.stroke_frequency": 52}
    draws = learned.draws(2**14, 3)
    for key, true in truth.items():
        low, high = ends(draws[key].magnitude)
        before = ends(study.assumptions[key].quantile((np.arange(2**12) + 0.5) / 2**12))
        assert low < true < high, key
        assert high - low < 0.65 * (before[1] - before[0])
        assert high < study.assumptions[key].middle.m or key != "drive.pull_sustained"   # weaker than was thought
    assert set(truth) <= set(learned.conditioned_on["learnt"])
    assert learned.conditioned_on["measurements"] == 90 and 0.3 * 2**11 < learned.conditioned_on["effective"] < 2**11
    assert learned.conditioned_on["p"] > 0.05 and learned.conditioned_on["disagrees"] == ()


def test_learnt_assumptions_are_updated_by_the_log_in_the_register(study, learned):
    register, before = learned.register, study.register
    taught = {key.partition("@")[0]: key for key in learned.conditioned}   # of what each tube has, the last one stands in the register
    assert {"model.removal", "drive.duty"} <= set(taught)
    for bare, key in taught.items():
        row = register.loc[bare]
        assert row[["low_5", "median", "high_95"]].tolist() == pytest.approx(np.quantile(learned.conditioned[key], (0.05, 0.5, 0.95)))
        known = ("updated by the log", "own-trial") if bare in learned.conditioned_on["learnt"] else (before.loc[bare, "grade"], before.loc[bare, "source"])
        assert (row["grade"], row["source"]) == known
    rest = [key for key in before.index if key not in taught]
    assert register.loc[rest].equals(before.loc[rest])


def test_the_updated_study_predicts_the_log_better(demo, study, learned):
    before, after = demo.compare(study), demo.compare(learned)
    again = after["quantity"].isin(update.UPDATES)   # the rest tells of one piece
    assert ((after["high"] - after["low"]) <= 1.05 * (before["high"] - before["low"]))[again].all()
    off = [np.log(table["measured"] / table["median"])[table["quantity"] == "pull"].mean() for table in (before, after)]
    assert off[0] < -0.4 and -0.25 < off[1] < 0   # the rest is left to the balance and to the day
    low, high = after.attrs["share_interval"]
    assert low < 0.9 < high or after.attrs["inside"] >= 0.9 * len(after)


def test_what_was_learnt_of_one_alloy_says_nothing_of_another(study, learned):
    other = learned.with_(alloy="brass, worked")
    assert {k for k in learned.conditioned if k.startswith("alloy.")} == {"alloy.kc11", "alloy.exponent", "alloy.hardness", "alloy.density"}
    assert set(other.conditioned) == {k for k in learned.conditioned if not k.startswith(("alloy.", "chip."))}
    fresh = study.with_(alloy="brass, worked")
    assert other.register.loc["alloy.kc11"].equals(fresh.register.loc["alloy.kc11"])
    assert np.array_equal(other.draws(256, 1)["alloy.kc11"].magnitude, fresh.draws(256, 1)["alloy.kc11"].magnitude)
    assert np.array_equal(other.draws(256, 1)["drive.pull_sustained"].magnitude, learned.draws(256, 1)["drive.pull_sustained"].magnitude)
    sharp = learned.with_(edge="stoned", drive="bow lathe")
    assert not [k for k in sharp.conditioned if k.startswith("edge.")] and "edge.edge_force" not in sharp.conditioned_on["learnt"]
    assert set(learned.with_(alloy=study.part["alloy"], wall="0.5 mm").conditioned) == set(learned.conditioned)   # the same alloy as before


def test_rows_of_the_update_are_taken_whole(learned):
    """What the log has tied together stays tied: both pulls of the arm are as much off as the balance."""
    keys = ("drive.pull_one_minute", "drive.pull_sustained")
    draws = learned.draws(500, 7)
    rows = np.transpose([draws[k].magnitude for k in keys])
    known = {tuple(row) for row in np.transpose([learned.conditioned[k] for k in keys])}
    assert all(tuple(row) in known for row in rows) and len({tuple(row) for row in rows}) > 300
    assert stats.spearmanr(*rows.T).statistic > 0.85   # 0.7 before
    products = [learned.conditioned_shared[key] for key in ("model.removal", "abrasive.emery, fine.wear_coefficient")]
    assert stats.spearmanr(*products).statistic < -0.2   # weighings tell of their product
    pinned = learned.with_(**{keys[0]: "60 N"})
    assert np.ndim(pinned.draws(500, 7)[keys[0]].magnitude) == 0 and pinned.register.loc[keys[0], "median"] == 60


# --- own lathe ------------------------------------------------------------------------------------------------------------

READINGS = dict(rest_tension=["38 N", "44 N", "41 N"], cord_friction=[0.24, 0.27, 0.26], stroke=["0.42 m", "45 cm", "0.43 m"],
                stall_torque=["0.895 N*m", "0.905 N*m", "0.900 N*m"], centre_torque=["0.0240 N*m", "0.0242 N*m", "0.0238 N*m"])


def test_five_readings_become_own_trial_rows(study):
    mine = bench.own_lathe(study, **READINGS)
    changed = {"drive.rest_tension", "cord.friction", "drive.stroke_length", "drive.pull_one_minute", "centre.friction", "centre.load", "centre.radius"}
    assert set(mine.rows) - set(study.rows) == changed and not changed & set(study.rows)
    register = mine.register
    assert set(register.index[register["source"] == "own-trial"]) == changed | set(study.rows)
    assert (register.loc[sorted(changed), "grade"] == "own-trial").all()
    for key, values in (("drive.rest_tension", [38, 44, 41]), ("cord.friction", [0.24, 0.27, 0.26]), ("drive.stroke_length", [0.42, 0.45, 0.43])):
        logs = np.log(values)
        reach = stats.t.ppf(0.95, 2) * logs.std(ddof=1) * np.sqrt(4 / 3)   # of the next reading
        row = register.loc[key]
        assert [row["low_5"], row["high_95"]] == pytest.approx(np.exp([logs.mean() - reach, logs.mean() + reach]))
        assert "3 readings" in row["note"]


@pytest.mark.parametrize("left_out", [(), ("centre_torque",)])
def test_bow_torque_at_one_minute_gives_back_the_stall_torque(study, left_out):
    mine = bench.own_lathe(study, **{k: v for k, v in READINGS.items() if k not in left_out})
    middles = means.Means(mine.workshop, {key: row.middle for key, row in mine.assumptions.items()}, "hours")
    torque = routes.bow_torque(middles, pulley=study.workshop.pulley, minutes=Q(1, "min"))
    assert torque.m_as("N*m") == pytest.approx(0.9, rel=1e-3)
    drag = routes.centre_torque(middles).m_as("N*m")
    assert drag == pytest.approx(0.024, rel=1e-3) if not left_out else drag > 0.01   # so leaving it out would have been seen


def test_readings_as_quantities_and_arrays(study):
    key = "drive.rest_tension"
    text, listed, array = (bench.own_lathe(study, rest_tension=v).register.loc[key, "median"]
                           for v in (["38 N", "44 N"], [Q(38, "N"), Q(44, "N")], Q(np.array([0.038, 0.044]), "kN")))
    assert text == pytest.approx(np.sqrt(38 * 44)) and listed == pytest.approx(text) and array == pytest.approx(text)


@pytest.mark.parametrize("readings, words", [
    ({"rest_tension": ["38 N"]}, "rest_tension: one reading shows no spread"),
    ({"rest_tension": "38 N"}, "rest_tension: one reading shows no spread"),
    ({"cord_friction": 0.25}, "cord_friction: one reading shows no spread"),
    ({"stal_torque": ["0.9 N*m", "0.8 N*m"]}, "no bench reading 'stal_torque'; did you mean 'stall_torque'"),
])
def test_readings_refused(study, readings, words):
    with pytest.raises(bench.BenchError, match=words):
        bench.own_lathe(study, **readings)


def test_readings_with_a_wrong_unit_name_the_reading(study):
    with pytest.raises(TypeError, match="stall_torque"):
        bench.own_lathe(study, stall_torque=["9 N", "8 N"])
    with pytest.raises(TypeError, match="rest_tension.*no unit"):
        bench.own_lathe(study, rest_tension=[38, 44])
    with pytest.raises(ValueError, match="cord_friction"):
        bench.own_lathe(study, cord_friction=[0.0, 0.2])


def test_readings_come_before_the_log(learned):
    with pytest.raises(bench.BenchError, match="enter the readings first"):
        bench.own_lathe(learned, rest_tension=["38 N", "44 N"])


# --- the sheet ------------------------------------------------------------------------------------------------------------

def test_sheet_has_the_columns_of_the_log_and_is_not_written_over(tmp_path):
    path = bench.sheet(tmp_path / "sheet.html", title="Bench <2>", rows=5)
    text = path.read_text(encoding="utf-8")
    assert re.findall("<th>(.*?)</th>", text) == NAMES
    assert text.count("<tr>") == 6 and text.count("<td>") == 5 * len(NAMES) and "Bench &lt;2&gt;" in text
    with pytest.raises(FileExistsError, match="give another name"):
        bench.sheet(path, title="another")
    assert path.read_text(encoding="utf-8") == text
