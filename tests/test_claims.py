"""kit.claims: how strong a claim may be put, what is weak in a study, and what is registered before the trials."""
import csv
import dataclasses
import datetime
import functools
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from kit import bench, claims, evidence, study, tables, words, worlds
from kit.claims import RUNGS
from kit.strength import RESTS_ON
from kit.verdict import Line, Verdict, counted

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

OPERATIONS = ("drill", "ream", "turn", "file", "lap")   # of the demo's sleeves
DONE = ("drilling", "reaming", "turning", "filing", "lapping")
KC11 = "specific cutting force of cast tin bronze"
PAST, BY_TRIAL, ELSE = ("find", "trace", "text", "image"), ("living-craft", "own-trial", "modern-substitute"), ("handbook", "recalled", "model-only", "conjecture")


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def assessed(demo):
    return demo.assess(draws=2**9, seed=1)


@pytest.fixture(autouse=True)
def in_small(monkeypatch):
    """A band of few worlds and a log held against few draws: in full each takes seconds."""
    monkeypatch.setattr(worlds, "band", functools.partial(worlds.band, worlds=8, inner=16))
    compare = bench.Log.compare
    monkeypatch.setattr(bench.Log, "compare", lambda log, study, draws=2**8, **given: compare(log, study, draws, **given))


def line(criterion, margins):
    margins = np.array(margins, float)
    return Line("hours", criterion, "N", np.ones_like(margins), margins, margins, "", 0.0, frozenset(), (1.0, 1.0))


def verdict(demo, record=None, **margins):
    """A verdict with these margins of made-up criteria, on the demo's first sleeve; all of them safe where none is given."""
    lines = tuple(line(name, values) for name, values in (margins or {"cut": [2.0] * 100}).items())
    one = dataclasses.replace(demo.only("hours"), record=record or {})
    return Verdict(one, lines, len(lines[0].margin), 1, {}, counted(lines), ())


def support(*operations, grade="image"):
    return [{"step": o, "grade": grade, "source": "common-practice", "shows": "it"} for o in operations]


def row(trial, operation="drill", outcome="success", counted="yes", substitute="no"):
    written = {"trial": trial, "tube": "hours", "operation": operation, "outcome": outcome, "counted": counted, "substitute": substitute, "line": trial + 1}
    return {f["name"]: None for f in bench.schema()["fields"]} | written


def log(*rows):
    return bench.Log(Path("bench_log.csv"), rows, ())


def tried(good, n, operations=OPERATIONS, **more):
    """A log of n trials, each through all operations, of which the first `good` went well throughout."""
    return log(*(row(t, o, "success" if t <= good or o != operations[-1] else "fail", **more) for t in range(1, n + 1) for o in operations))


STRONG = {"support": support(*OPERATIONS), "success_level": 0.3}   # with enough good trials, probable
MET = [2.0] * 100


def reached(chance, n=100):
    """Margins of n draws of which that share is met."""
    good = round(chance * n)
    return [2.0] * good + [0.5] * (n - good)


# --- the rungs ----------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("chance, rung", [(1.0, "probable"), (0.90, "probable"), (0.89, "plausible"), (0.66, "plausible"), (0.65, "possible"), (0.06, "possible"), (0.0, "not shown")])
def test_the_chance_of_a_criterion_decides_at_the_published_words_ends(demo, chance, rung):
    strength = claims.strength(verdict(demo, STRONG, cut=reached(chance)), tried(8, 8))
    assert strength.rung == rung and [row[2] for row in strength.steps if row[0] == "cut"] == [rung]


def test_not_shown_is_where_even_the_best_draws_fall_short(demo):
    """The 95 % point of the margin decides: a twentieth of draws that reach it is chance, more is possible."""
    for best, rung in ((0.99, "not shown"), (1.0, "possible"), (1.01, "possible")):
        assert claims.strength(verdict(demo, STRONG, cut=[0.5] * 80 + [best] * 20), tried(8, 8)).rung == rung
    assert claims.strength(verdict(demo, STRONG, cut=[0.5] * 96 + [5.0] * 4), tried(8, 8)).rung == "not shown"
    assert "'cut' has a margin of no more than 0.50 even at its 95 % point" in claims.strength(verdict(demo, STRONG, cut=[0.5] * 100), tried(8, 8)).words


def test_the_weakest_step_decides_and_is_named(demo):
    strength = claims.strength(verdict(demo, STRONG, strong=MET, weak=reached(0.7), weaker=reached(0.5)), tried(8, 8))
    assert strength.rung == "possible" and strength.words == ("Strength of the claim: possible. "
                                                              "It can go no higher because 'weaker' is met with a chance of 0.50; "
                                                              "all of them together are met in one draw with a chance of 0.50.")
    assert list(strength.table["rung"]) == sorted((row[2] for row in strength.steps), key=RUNGS.index)
    assert list(strength.table.columns) == ["step", "looked_at", "rung", "why"] and strength.table.iloc[0]["step"] == "weaker"


def test_steps_that_are_each_likely_may_not_be_so_together(demo):
    """Each of two is met in seven draws of ten, both in four."""
    one, other = [2.0] * 70 + [0.5] * 30, [0.5] * 30 + [2.0] * 70
    strength = claims.strength(verdict(demo, STRONG, one=one, other=other), tried(8, 8))
    assert [row[2] for row in strength.steps[:3]] == ["plausible", "plausible", "possible"] and strength.rung == "possible"
    assert strength.words.endswith("because all of them together are met in one draw with a chance of 0.40.")


def test_a_criterion_counts_by_the_draws_in_which_every_tube_meets_it(demo):
    """Each of two tubes is met in nine draws of ten, both in eight: that is no nine of ten."""
    lines = tuple(dataclasses.replace(line("cut", margins), tube=tube) for tube, margins in (
        ("hours", [0.5] * 10 + [2.0] * 90), ("tide", [2.0] * 10 + [0.5] * 10 + [2.0] * 80)))
    both = dataclasses.replace(verdict(demo, STRONG), lines=lines, counts=counted(lines))
    assert claims.strength(both, tried(8, 8)).rung == "plausible"


@pytest.mark.parametrize("grade", evidence.GRADES)
def test_the_evidence_of_an_operation_decides_its_rung(demo, grade):
    wanted = "probable" if grade in PAST else "plausible" if grade in BY_TRIAL else "possible"
    record = STRONG | {"support": support("ream", "turn", "file", "lap") + support("drill", grade=grade)}
    tries = tried(7, 8, operations=("ream", "turn", "file", "lap", "drill"))
    others = log(*(r for r in tries.rows if r["operation"] != "drill" or r["outcome"] == "fail"))   # the drill tried, without success
    strength = claims.strength(verdict(demo, record), others)
    assert strength.rung == wanted and [row[2] for row in strength.steps if row[0] == "drill"] == [wanted]
    [why] = [row[3] for row in strength.steps if row[0] == "drill"]
    assert why == f"rests on {RESTS_ON[grade]}" + ("" if wanted == "probable" else " alone")
    assert set(RESTS_ON) == set(evidence.GRADES) and len(set(RESTS_ON.values())) == len(RESTS_ON)


def test_an_operation_of_which_nothing_is_known_is_possible_at_most(demo):
    strength = claims.strength(verdict(demo, STRONG | {"support": support("ream", "turn", "file", "lap")}), tried(8, 8, operations=("ream", "turn", "file", "lap")))
    assert strength.rung == "possible" and "drilling has no record from the period or from today" in strength.words


@pytest.mark.parametrize("rows, why, rung", [
    ((row(1),), "rests on the author's own trials alone", "plausible"),
    ((row(1, substitute="yes"),), "rests on trials with modern substitutes alone", "plausible"),
    ((row(1, substitute="yes"), row(2)), "rests on the author's own trials alone", "plausible"),
    ((row(1, outcome="fail"),), "has no record", "possible"), ((row(1, outcome="partial"),), "has no record", "possible"),
    ((row(1, counted="no"),), "has no record", "possible"), ((row(1, operation="ream"),), "has no record", "possible")])
def test_own_trials_support_an_operation_where_they_succeed_and_count(demo, rows, why, rung):
    strength = claims.strength(verdict(demo, {"support": support("ream", "turn", "file", "lap")}), log(*rows))
    [drill] = [row for row in strength.steps if row[0] == "drill"]
    assert drill[2] == rung and why in drill[3]


def test_the_best_evidence_of_an_operation_counts(demo):
    record = STRONG | {"support": support(*OPERATIONS) + support("drill", grade="conjecture")}
    assert claims.strength(verdict(demo, record), tried(8, 8)).rung == "probable"


def test_only_a_find_of_the_whole_process_attests(demo):
    whole = support("whole process", grade="find")
    found = claims.strength(verdict(demo, {"support": whole}, cut=reached(0.5)))
    assert found.rung == "attested" and found.words == "Strength of the claim: attested, because a find shows the process itself."
    for short in (support("whole process", grade="text"), support(*OPERATIONS, grade="find")):
        assert claims.strength(verdict(demo, STRONG | {"support": short}), tried(8, 8)).rung == "probable"


def test_what_was_not_looked_at_is_not_shown(demo):
    """A verdict on some criteria alone says nothing of the claim as a whole."""
    part = demo.assess(draws=64, seed=1, criteria=("cord",))
    strength = claims.strength(part)
    assert strength.rung == "not shown" and "every other criterion was not looked at in this verdict" in strength.words


# --- the trials ---------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("good, n", [(3, 3), (5, 5), (8, 8), (7, 10), (3, 5), (1, 20), (29, 30)])
def test_the_lower_bound_of_the_success_rate_is_held_against_the_level(demo, good, n):
    """Clopper and Pearson's bound is a quantile of a beta distribution: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413."""
    bound = stats.beta.ppf(0.025, good, n - good + 1)
    for level, rung in ((bound - 1e-6, "probable"), (bound + 1e-6, "plausible")):
        strength = claims.strength(verdict(demo, STRONG | {"success_level": float(level)}), tried(good, n))
        assert strength.rung == rung and strength.steps[-1][:3] == ("trials", "count", rung)
        assert f"{good} of {n} trials succeeded throughout" in strength.steps[-1][3]


def test_no_trial_or_no_level_is_plausible_at_most(demo):
    assert claims.strength(verdict(demo, STRONG)).steps[-1][2:] == ("plausible", "no trial is on record")
    assert claims.strength(verdict(demo, STRONG), log()).steps[-1][2:] == ("plausible", "no trial is on record")
    without = claims.strength(verdict(demo, {"support": support(*OPERATIONS)}), tried(30, 30))
    assert without.rung == "plausible" and "no level was fixed beforehand" in without.words
    assert claims.strength(verdict(demo, STRONG), tried(0, 8)).steps[-1][2] == "plausible"


def test_a_rate_of_part_of_the_route_is_plausible_at_most(demo):
    """Drilling well forty times makes no tube."""
    strength = claims.strength(verdict(demo, STRONG), tried(40, 40, operations=("drill", "ream", "turn")))
    assert strength.rung == "plausible" and "no whole route was tried: filing, lapping stands in no counted trial" in strength.words
    uncounted = log(*tried(40, 40, operations=("drill", "ream", "turn", "lap")).rows, row(41, "file", counted="no"))
    assert claims.untried(demo.only("hours"), uncounted) == ["file"]


def test_a_trial_is_good_where_every_counted_row_of_it_is():
    rows = [row(1), row(1, "ream"), row(2), row(2, "ream", "fail"), row(3), row(3, "ream", "partial"), row(4), row(4, "ream", "fail", counted="no"),
            row(5, counted="no"), row(6, outcome="fail"), row(6, "ream")]
    assert claims.trial_counts(log(*rows)) == (2, 5)   # trials 1 and 4 of 1 to 4 and 6
    assert claims.trial_counts(log(*reversed(rows))) == (2, 5)
    assert claims.trial_counts(None) == claims.trial_counts(log()) == (0, 0)


grades, steps = st.sampled_from(evidence.GRADES), st.sampled_from((*OPERATIONS, "whole process"))
supports = st.lists(st.builds(lambda step, grade: support(step, grade=grade)[0], steps, grades), max_size=8)
rows_ = st.lists(st.builds(row, st.integers(1, 6), st.sampled_from(OPERATIONS), st.sampled_from(["success", "partial", "fail"]),
                           st.sampled_from(["yes", "no"]), st.sampled_from(["yes", "no"])), max_size=20)
chances = st.sampled_from([0.0, 0.5, 0.7, 0.95])
levels = st.sampled_from([None, 0.05, 0.3, 0.6])


@settings(max_examples=60)
@given(supports, rows_, chances, levels, st.builds(lambda step, grade: support(step, grade=grade), steps, grades), st.lists(st.sampled_from(OPERATIONS), min_size=1, max_size=5))
def test_more_support_and_more_successes_never_lower_the_rung(demo, had, rows, chance, level, more, done):
    def rung(entries, written):
        record = {"support": entries} | ({"success_level": level} if level else {})
        return RUNGS.index(claims.strength(verdict(demo, record, cut=reached(chance)), log(*written)).rung)

    before = rung(had, rows)
    assert rung(had + more, rows) >= before
    assert rung(had, rows + [row(7, operation) for operation in done]) >= before   # a further trial, good throughout


# --- what is weak -----------------------------------------------------------------------------------------------------------------------

ROW_HEAD = "key,value,low,high,limits,unit,shape,dof,grade,source,drawn,note\n"


@pytest.fixture
def copy(tmp_path):
    shutil.copytree(study.DEMO, tmp_path, dirs_exist_ok=True)
    return tmp_path


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def weak(folder, with_log=True, draws=2**8):
    log = bench.read(folder / "bench_log.csv") if with_log else None
    return claims.weaknesses(study.load(folder).assess(draws=draws, seed=1), log)


def having(found, words):
    return [w for w in found if words in w.what]


def line_at(place):
    """The line of the file that a place names."""
    file, number = re.fullmatch(r"(.+), line (\d+)", place).groups()
    path = tables.DATA.parent / file if file.startswith("data/") else Path(file)
    return path.read_text(encoding="utf-8").split("\n")[int(number) - 1]


def test_each_weakness_reads_as_place_what_and_remedy(copy):
    found = weak(copy)
    assert len(found) > 10
    for w in found:
        assert str(w) == f"{w.place}: {w.what}; {w.remedy}" and "\n" not in str(w) and w.what and w.remedy and w.place
    assert len({str(w) for w in found}) == len(found)


def test_the_places_of_reference_rows_are_those_very_lines(copy):
    carried = [w for w in weak(copy) if "carries" in w.what]
    assert len(carried) > 5 and any("models.csv" in w.place for w in carried) and any("abrasives.csv" in w.place for w in carried)
    for w in carried:
        assert w.place.startswith("data/reference/")
        label, kind = re.match(r"(.+) \((conjecture|recalled, not looked up|an assumption without a source)\) carries ", w.what).groups()
        [cells] = csv.reader([line_at(w.place)])
        assert label in cells and kind.removeprefix("an ").split()[0].strip(",") in cells


def test_conjecture_that_carries_a_margin_is_gone_when_it_is_measured(copy):
    [pinch] = having(weak(copy), "pinch of finger and thumb (conjecture) carries")
    assert "measure it, or cite somebody who has, in assumptions.csv" == pinch.remedy
    share = int(re.search(r"carries (\d+) %", pinch.what)[1])
    assert 5 <= share <= 100
    (copy / "assumptions.csv").write_text(ROW_HEAD + "pointer.service_torque,0.03,0.018,0.05,p5_p95,N*m,lognormal,,conjecture,assumption,once,\n"
                                          "hand.pinch,,1.5,10,p5_p95,N,lognormal,,own-trial,own-trial,once,\n", encoding="utf-8")
    assert having(weak(copy), "pinch of finger and thumb") == []


def test_a_number_recalled_that_carries_a_margin_is_to_be_looked_up(copy):
    """The same range from memory, then from print: told once, and gone once a page is cited."""
    row = "hand.pinch,,1.5,10,p5_p95,N,lognormal,,{},once,\n"
    (copy / "assumptions.csv").write_text(ROW_HEAD + row.format("recalled,from-memory"), encoding="utf-8")
    [pinch] = having(weak(copy), "pinch of finger and thumb (recalled, not looked up) carries")
    assert pinch.remedy.startswith("find it in print") and pinch.place == f"{copy / 'assumptions.csv'}, line 2"
    (copy / "assumptions.csv").write_text(ROW_HEAD + row.format("handbook,callister_2008"), encoding="utf-8")
    assert having(weak(copy), "pinch of finger and thumb") == []


@pytest.mark.parametrize("grade, source", [("handbook", "common-practice"), ("handbook", "from-memory"), ("living-craft", "common-practice")])
def test_a_study_of_before_that_grades_memory_as_print_loads_and_is_told(copy, grade, source):
    """The grade is younger than some studies, and than the datapackage.json that they carry."""
    package = (copy / "datapackage.json").read_text(encoding="utf-8")
    (copy / "datapackage.json").write_text(package.replace('        "recalled",\n', ""), encoding="utf-8")
    row = "alloy.kc11,,900,1100,,MPa,lognormal,,{},once,\n"
    (copy / "assumptions.csv").write_text(ROW_HEAD + row.format(f"{grade},{source}"), encoding="utf-8")
    [told] = having(weak(copy), f"{KC11}: graded {grade}, though no print is cited")
    assert told.place == f"{copy / 'assumptions.csv'}, line 2" and told.remedy == "cite the page, or grade it 'recalled'"
    (copy / "assumptions.csv").write_text(ROW_HEAD + row.format(f"recalled,{source}"), encoding="utf-8")
    assert having(weak(copy), f"graded {grade}") == []


def test_a_conjecture_of_ones_own_stands_in_ones_own_file(copy):
    (copy / "assumptions.csv").write_text(ROW_HEAD + "\n" + "drive.peak,,1.2,2,,,lognormal,,own-trial,own-trial,,\n" +
                                          "hand.pinch,,1.5,10,p5_p95,N,lognormal,,conjecture,assumption,once,\n", encoding="utf-8")
    [pinch] = having(weak(copy), "pinch of finger and thumb (conjecture)")
    assert pinch.place == f"{copy / 'assumptions.csv'}, line 4" and line_at(pinch.place).startswith("hand.pinch,")


def test_what_is_certain_anyway_is_not_complained_of(copy):
    """However much of a margin a conjecture carries: a criterion met in every draw asks for nothing."""
    safe = study.load(copy).assess(draws=512, seed=1)
    for w in claims.weaknesses(safe):
        if "carries" in w.what:
            criterion, tube = re.search(r"margin of '(.+?)' \((.+?)\)", w.what).groups()
            assert next(line.chance for line in safe.lines if (line.criterion, line.tube) == (criterion, tube)) < 0.995


@pytest.mark.parametrize("cells, what, mended", [
    ("alloy.kc11,,9000,11000,,MPa,lognormal,,own-trial,own-trial,,", f"{KC11}: the range of 9000 to 11{words.THIN}000 MPa does not meet the reference range of", "alloy.kc11,,900,1100,,MPa,lognormal,,own-trial,own-trial,,"),
    ("alloy.kc11,,0.09,0.11,,GPa,lognormal,,own-trial,own-trial,,", f"{KC11}: the range of 90.0 to 110 MPa does not meet", "alloy.kc11,,0.9,1.1,,GPa,lognormal,,own-trial,own-trial,,"),
    ("alloy.kc11,,999,1001,,MPa,lognormal,,own-trial,own-trial,,", f"{KC11}: given to within 0.20 %, and people's ranges are too narrow", "alloy.kc11,,900,1100,,MPa,lognormal,,own-trial,own-trial,,"),
    ("alloy.kc11,,999,1001,,MPa,lognormal,,own-trial,own-trial,,", "too narrow", "alloy.kc11,,999,1001,,MPa,lognormal,,handbook,callister_2008,,"),
    ("alloy.kc11,,999,1001,,MPa,lognormal,,recalled,common-practice,,", "too narrow", "alloy.kc11,,999,1001,,MPa,lognormal,,handbook,callister_2008,,")])
def test_a_range_that_cannot_be_believed_is_told_with_its_line(copy, cells, what, mended):
    (copy / "assumptions.csv").write_text(f"{ROW_HEAD}drive.peak,,1.2,2,,,lognormal,,own-trial,own-trial,,\n{cells}\n", encoding="utf-8")
    [told] = having(weak(copy), what)
    assert told.place == f"{copy / 'assumptions.csv'}, line 3" and line_at(told.place) == cells
    (copy / "assumptions.csv").write_text(f"{ROW_HEAD}{mended}\n", encoding="utf-8")
    assert having(weak(copy), "does not meet") == having(weak(copy), "too narrow") == []


def test_a_single_number_has_no_range_to_believe(copy):
    (copy / "assumptions.csv").write_text(f"{ROW_HEAD}alloy.kc11,9000,,,,MPa,fixed,,own-trial,own-trial,,\n", encoding="utf-8")
    assert having(weak(copy), "does not meet") == having(weak(copy), "too narrow") == []


def test_readings_that_stand_in_no_file_are_told_as_such(copy):
    """bench.own_lathe makes rows that are in no CSV; where they leave the reference, that is said all the same."""
    strong = bench.own_lathe(study.load(copy), stroke=["3 m", "3.1 m", "3.05 m"])
    [told] = having(claims.weaknesses(strong.assess(draws=256, seed=1)), "usable length of the bow, bow lathe: the range of")
    assert told.place.startswith("readings at the bench (stroke, 3 readings, mean 3.05 m")


def test_columns_of_ones_own_are_no_harm(copy):
    package = json.loads((copy / "datapackage.json").read_text(encoding="utf-8"))
    resource = next(r for r in package["resources"] if r["name"] == "assumptions")
    resource["schema"] = tables.shared_schema("assumptions.schema.json")
    resource["schema"]["fields"].append({"name": "asked of", "type": "string"})
    (copy / "datapackage.json").write_text(json.dumps(package), encoding="utf-8")
    (copy / "assumptions.csv").write_text(ROW_HEAD.strip() + ",asked of\nhand.pinch,,1.5,10,p5_p95,N,lognormal,,conjecture,assumption,once,,A\n", encoding="utf-8")
    [told] = having(weak(copy), "pinch of finger and thumb (conjecture)")
    assert line_at(told.place).startswith("hand.pinch,")


def test_no_trial_is_told_with_or_without_a_log(copy):
    for found in (weak(copy, with_log=False), claims.weaknesses(study.load(copy).assess(draws=64), log())):
        [told] = having(found, "no trial is on record: the verdict rests on the model alone")
        assert told.place == str(copy / "bench_log.csv")
    assert having(weak(copy), "no trial is on record") == []


def test_fewer_than_five_trials_of_an_operation_are_told(demo, assessed):
    def few(*rows):
        return [w.what.split(":")[0] for w in having(claims.weaknesses(assessed, log(*rows)), "tell little of the spread")]

    four = [row(t, o) for t in range(1, 5) for o in OPERATIONS]
    assert few(*four) == [f"{o} was tried 4 times" for o in DONE]
    assert few(*four, *(row(5, o, "fail") for o in OPERATIONS)) == []
    assert few(*four, *(row(5, o, counted="no") for o in OPERATIONS)) == [f"{o} was tried 4 times" for o in DONE]
    assert few(*four, *(row(4, o) for o in OPERATIONS))[0] == "drilling was tried 4 times"   # twice in one trial is one
    assert few(row(1)) == ["drilling was tried 1 time"]
    never = having(claims.weaknesses(assessed, log(row(1), row(1, "lap", counted="no"))), "no counted trial of")
    assert [(w.what, w.remedy) for w in never] == [(f"no counted trial of {o} is on record", "make 5") for o in DONE[1:]]


def test_many_trials_without_a_failure_are_doubted(assessed):
    def doubted(*rows):
        return [w.what for w in having(claims.weaknesses(assessed, log(*rows)), "no failure among them")]

    five = [row(t) for t in range(1, 6)]
    assert doubted(*five) == ["5 trials and no failure among them"] and doubted(*five[:4]) == [] and doubted(*five, row(6, outcome="partial")) == []


def test_a_substitute_without_a_deviation_is_told_with_its_row(copy):
    logged = next(x for x in (copy / "bench_log.csv").read_text(encoding="utf-8").splitlines() if ",hours,turn outside," in x)
    assert logged.endswith(",yes,,no,")
    change(copy / "bench_log.csv", logged, logged.removesuffix("no,") + "yes,")
    assert having(weak(copy), "modern tool or material") == []   # the demo says what it deviated in
    change(copy / "study.toml", "[[record.deviations]]", "[[record.authors]]\nfamily = \"N\"\n[ignored]")
    text = (copy / "study.toml").read_text(encoding="utf-8")
    (copy / "study.toml").write_text(re.sub(r"(?s)\[ignored\].*?(?=# --- what goes)", "", text), encoding="utf-8")
    [told] = having(weak(copy), "1 row with a modern tool or material")
    assert line_at(told.place).startswith(logged.removesuffix("no,")) and "[[record.deviations]]" in told.remedy


def test_a_log_that_the_predictions_miss_is_told(copy):
    """Ten times the minutes at every step: few rows stay inside, and nobody who reads the verdict should have to find out."""
    assert having(weak(copy), "measurements lie inside") == []
    log_ = copy / "bench_log.csv"
    written = list(csv.DictReader(log_.open(encoding="utf-8")))
    for each in written:
        each["minutes"] = each["minutes"] and str(10 * float(each["minutes"]))
    with log_.open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, written[0])
        out.writeheader()
        out.writerows(written)
    [told] = having(weak(copy), "measurements lie inside the predicted 90 % intervals")
    assert told.place == str(log_) and "or more were to be expected" in told.what


def test_estimates_outside_their_range_are_told(copy, assessed):
    told = [w for w in weak(copy) if w.place == "estimates"]
    assert told and all(re.match("'.+' of .+: the .* is .*; .*", w.what) for w in told)
    assert [w.what for w in claims.weaknesses(assessed) if w.place == "estimates"] == list(assessed.warnings)
    assert not [w for w in claims.weaknesses(dataclasses.replace(assessed, warnings=())) if w.place == "estimates"]


@pytest.mark.parametrize("old, new, what", [
    ('fails_if = "Any', 'notes = "Any', "nothing says when the claim fails"), ('stage = "experiment"', "", "the record does not say whether this is"),
    ("rivals =", "# rivals =", "no rival way of making the part is named"), ("success_level = 0.2", "", "no rate of success was fixed beforehand")])
def test_what_the_record_leaves_open_is_told_until_it_is_there(copy, old, new, what):
    assert having(weak(copy), what) == []
    change(copy / "study.toml", old, new)
    [told] = having(weak(copy), what)
    assert told.place == str(copy / "study.toml") and told.remedy.startswith(("write '", "list 'rivals'"))


def test_operations_without_evidence_are_listed_until_there_is_some(copy):
    [told] = having(weak(copy), "no evidence of the period is named for reaming, filing, lapping")   # a living craft is not the period
    change(copy / "study.toml", 'step = "turn"', 'step = "ream"')
    [told] = having(weak(copy), "no evidence of the period is named for turning, filing, lapping")
    change(copy / "study.toml", 'step = "ream"', 'step = "whole process"')
    assert having(weak(copy), "no evidence of the period") == []


# --- registration ---------------------------------------------------------------------------------------------------------------------

def digest(folder):
    return claims.plan_digest(study.load(folder))


PLANNED = [('could have made the four', 'could not have made the four'), ('fails_if = "Any one', 'fails_if = "Every'), ('wall = "0.4 mm"', 'wall = "0.41 mm"'),
           ('bore = "16 mm"', 'bore = "16.02 mm"'), ('alloy = "tin bronze, cast"', 'alloy = "tin bronze, annealed"'), ('length = "80 mm"', 'length = "81 mm"'),
           ('clearance = "15 um"', 'clearance = "16 um"'), ('core = "14 mm"', 'core = "14.02 mm"'), ('plunger = "30 mm"', 'plunger = "30.02 mm"'),
           ('pulley = "40 mm"', 'pulley = "41 mm"'), ('order = "bore first"', 'order = "outside first"'), ("jaws = 3", "jaws = 4"),
           ('feed = "0.02 mm"', 'feed = "0.022 mm"'), ('to = "2.5 mm"', 'to = "2.6 mm"'), ('pressure = "30 kPa"', 'pressure = "31 kPa"'), ('hours = "12 h"', 'hours = "9 h"'),
           ('stock_on_diameter = "6 um"', 'stock_on_diameter = "7 um"'), ('abrasive = "emery, fine"', 'abrasive = "emery, coarse"'), ("teeth = 6", "teeth = 4"), ('point_angle = "110 deg"', 'point_angle = "118 deg"'),
           ('shank_ratio = 0.75', 'shank_ratio = 0.7'), ('lubricant = "olive oil"', 'lubricant = "dry"'), ('hours = "350 h"', 'hours = "300 h"'),
           ('stage = "experiment"', 'stage = "repeat"'), ("trials_planned = 8", "trials_planned = 7"), ('stop_rule = "Eight', 'stop_rule = "Seven'),
           ("success_level = 0.2 ", "success_level = 0.205 "), ('rivals = ["cast on a core and reamed", ', "rivals = ["), ('region = "invented"', 'region = "harbour"')]


@pytest.mark.parametrize("old, new", PLANNED)
def test_the_digest_changes_with_whatever_is_planned(copy, old, new):
    before = digest(copy)
    change(copy / "study.toml", old, new)
    assert digest(copy) != before


def test_the_digest_stays_when_the_folder_moves_or_the_log_grows_or_a_deviation_is_told(copy, tmp_path_factory):
    before = digest(copy)
    assert re.fullmatch("[0-9a-f]{16}", before) and before == claims.plan_digest(study.load(study.DEMO))
    moved = tmp_path_factory.mktemp("elsewhere") / "étude 2"
    shutil.copytree(copy, moved)
    assert digest(moved) == before
    with open(moved / "bench_log.csv", "a", encoding="utf-8") as file:
        file.write("10,2026-06-04,moon,drill 4.5,drill,flat drill,B,4.5,2.0,,,,,,,6,,,,success,,yes,,no,\n")
    change(moved / "study.toml", 'effect = "that step is not counted"', 'effect = "none"')
    change(moved / "study.toml", 'family = "Nobody"', 'family = "Somebody"')
    change(moved / "study.toml", 'A harbour workshop with', 'A harbour   workshop\nwith')   # how its lines are broken is no plan
    assert digest(moved) == before


def test_the_digest_is_the_same_in_another_process(demo):
    asked = "from kit import claims, study; print(claims.plan_digest(study.load(study.DEMO)))"
    other = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True, env=os.environ | {"PYTHONHASHSEED": "7", "PYTHONPATH": str(Path(study.__file__).parents[2])})
    assert other.stdout.strip() == claims.plan_digest(demo)


DAY = datetime.date(2026, 2, 3)


def test_the_text_holds_date_digest_claim_plan_and_prediction(demo, assessed):
    text, band = claims.registration(assessed, DAY), assessed.worlds
    assert text.startswith("# Registered before the trials: The harbour dial\n\nDate: 2026-02-03. Digest of claim and plan: " + claims.plan_digest(demo))
    assert "No trial was on record when this was written." in text
    for said in (" ".join(demo.claim.split()), f"- shown wrong if: {demo.fails_if}", "- stop rule: Eight blanks, whatever becomes of them.", "- trials planned: 8",
                 "(lower bound, 95 %): 20 %", "- alloy: tin bronze, cast", "- lamp-oil barrel: bore 16 mm", "- pulley: 40 mm",
                 "- sleeve, 8: lap, haematite, levigated, stock 0.006 mm", f"with a chance of {words.chance(assessed.chance)} ({worlds.likelihood(assessed.chance, band)}; {band.said}); 512 draws, seed 1, inputs "
                 f"{assessed.provenance['inputs']}"):
        assert said in text, said
    for name, chance in assessed.chances.items():
        assert f"- {name}: met with a chance of {words.chance(chance)}\n" in text
    assert text.endswith("\n") and claims.registration(assessed, DAY) == text
    assert f"Date: {datetime.date.today().isoformat()}." in claims.registration(assessed)


def test_nothing_planned_runs_over_into_the_next_line(copy):
    """A stop rule or fail condition in several lines stays one entry of the list."""
    change(copy / "study.toml", 'stop_rule = "Eight blanks', 'stop_rule = "Eight\\n\\n# blanks')
    text = claims.registration(study.load(copy).assess(draws=16), DAY)
    assert text.startswith("# Registered before the trials: The harbour dial\n") and "- stop rule: Eight # blanks, whatever becomes of them.\n" in text


def test_rows_already_on_record_are_told_good_or_bad(assessed):
    assert "2 rows of trials were on record already" in claims.registration(assessed, DAY, log(row(1), row(2, counted="no")))
    assert "1 row of trials was on record already" in claims.registration(assessed, DAY, log(row(1)))
    assert "No trial was on record" in claims.registration(assessed, DAY, log())
    refused = dataclasses.replace(log(), faults=("bench_log.csv, line 2: ...",))
    assert "1 row of trials was on record already" in claims.registration(assessed, DAY, refused)


def test_a_plan_that_changed_since_is_told(copy):
    assert claims.registered(study.load(copy)) is None and having(weak(copy), "the plan has changed") == []
    path = copy / claims.REGISTRATION
    path.write_text(claims.registration(study.load(copy).assess(draws=16), DAY), encoding="utf-8")
    assert claims.registered(study.load(copy)) == digest(copy) and having(weak(copy), "the plan has changed") == []
    change(copy / "study.toml", 'pulley = "40 mm"', 'pulley = "45 mm"')
    [told] = having(weak(copy), "the plan has changed since it was registered")
    assert told.place == str(path) and "[[record.deviations]]" in told.remedy
    path.write_text("lost\n", encoding="utf-8")
    assert claims.registered(study.load(copy)) == "" and having(weak(copy), "the plan has changed")


@pytest.mark.parametrize("share, rate", [(1.0, "100 %"), (0.999, ">99 %"), (0.99999, ">99 %"), (0.9949, "99 %"), (0.005, "<1 %"), (0.006, "1 %"),
                                         (0.004, "<1 %"), (0.00001, "<1 %"), (0.0, "0 %"), (0.66, "66 %")])
def test_all_is_said_only_where_it_is_all(share, rate):
    assert words.percent(share) == rate


def test_a_registration_says_whether_trials_stood_on_record_already(demo, copy):
    day, assessed = datetime.date(2026, 2, 3), demo.assess(draws=64, seed=1)
    for written, before in ((log(), True), (log(row(1)), False)):
        text = claims.registration(assessed, day, written)
        (copy / claims.REGISTRATION).write_text(text, encoding="utf-8")
        assert claims.registered_when(study.load(copy)) == ("2026-02-03", before)
        assert text.startswith("# Registered before the trials: ") == before
