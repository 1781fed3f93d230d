"""What is read of a study: its register, sweeps, drivers and comparisons in words, without a raw key or column name."""
import re

import pytest

from kit import bench, claims, design, study, tables
from kit.study import DEMO

RAW = re.compile(r"\w\.[a-z]|_|\bum\b|\binf\b|\bnan\b|\d%|\d[eE][-+]?\d")


@pytest.fixture(scope="module")
def demo():
    return study.load(DEMO)


@pytest.fixture(scope="module")
def verdict(demo):
    return demo.assess(draws=2**10, criteria=("least wall", "running", "lapping torque"))


def told(frame):
    return frame.to_csv()


def test_the_register_in_words_says_name_value_grade_and_source(demo):
    keys = ["lapped.overrun", "hand.pinch", "rub.friction", "pointer.service_torque"]
    shown = demo.register_for_reading(keys)
    assert shown.index.tolist() == [demo.labels[key] for key in keys]
    row = shown.loc["pinch of finger and thumb"]
    assert row.tolist() == ["7.7 (3.0 to 20) N", "conjecture", "assumption of the kit's tables"]
    assert shown.iloc[0].tolist() == ["1.4 (0.50 to 4.0) µm", "conjecture", "assumption of the kit's tables"]
    assert shown["source"].tolist()[2:] == ["Bourne 1856", "own trial"]
    assert not RAW.search(told(shown))


def test_an_edge_that_is_not_blunted_has_no_limit_in_words():
    copper = study.load(tables.DATA / "copper-sleeves").assess(draws=2**7, criteria=("edge life",)).for_reading()
    row = copper[copper["where"].str.contains("broach")].iloc[0]
    assert (row["capacity"], row["margin (5 % to 95 %)"]) == ("no limit", "no limit")
    assert (row["moved most by"], row["weakest evidence"]) == ("next to nothing", "none")
    assert not copper.map(lambda cell: "∞" in str(cell)).any(axis=None)


def test_a_chance_over_several_tubes_is_told_as_that(demo, verdict):
    """Of the hours sleeve alone, and of all tubes in one draw, are two numbers; the sentence says which."""
    of_one, of_all = verdict.hardest("least wall").chance, verdict.chances["least wall"]
    assert of_one > of_all + 0.05
    why = claims.strength(verdict).table.set_index("step")["why"]
    assert why["least wall"].startswith("is met in all tubes at once with a chance of ")
    assert "tubes at once" not in claims.strength(demo.only("hours").assess(draws=2**8, criteria=("least wall", "running"))).words


def test_the_best_single_setting_is_told_as_chosen_step_by_step(verdict):
    assert "at the best single setting of each step, each chosen by itself" in verdict.ways_said


def test_all_of_the_register_has_words(demo):
    shown = demo.register_for_reading()
    assert len(shown) == len(demo.register) and not RAW.search(told(shown))


def test_a_pinned_assumption_has_no_range(demo):
    shown = demo.with_(**{"hand.pinch": "5 N"}).register_for_reading(["hand.pinch"])
    assert shown.iloc[0, 0] == "5.0 N"


def test_an_assumption_that_is_not_there_is_told_with_the_nearest(demo):
    with pytest.raises(study.StudyError, match="'hand.punch' is no assumption of this study.*hand.pinch"):
        demo.register_for_reading(["hand.punch"])


def test_what_moves_a_margin_most_comes_first_and_with_its_share(verdict):
    said = verdict.moved_by(verdict.hardest("least wall"))
    assert re.fullmatch(r"pinch of finger and thumb \d\d %, [^,]+ \d+ %, [^,]+ \d+ %", said)
    shares = [int(share) for share in re.findall(r"(\d+) %", said)]
    assert shares == sorted(shares, reverse=True)
    assert verdict.moved_by(verdict.hardest("least wall"), most=1) == said.partition(",")[0]


def test_the_tube_of_a_line_is_not_named_again(verdict):
    line = verdict.hardest("least wall")
    assert f"arbor.runout@{line.tube}" in line.used and verdict.study.labels[f"arbor.runout@{line.tube}"].endswith(")")
    shares = {f"arbor.runout@{line.tube}": 0.9, "hand.pinch": 0.005}
    told = type(verdict).moved_by(type("Stub", (), {"study": verdict.study, "influence": lambda _, __: shares})(), line)
    assert told == f"{verdict.study.labels['arbor.runout']} 90 %"


def test_where_nothing_moves_a_margin_that_is_said(demo):
    pinned = {key: demo.assumptions.get(key, demo.assumptions.get(f"{key}@hours")).middle for key in demo.keys}
    verdict = demo.with_(**pinned).assess(draws=64, criteria=("least wall",))
    assert verdict.moved_by(verdict.lines[0]) == "next to nothing"


def test_a_sweep_in_words(demo):
    table = demo.only("hours").sweep("wall", ["0.05 mm", "0.4 mm"], draws=2**9,
                                     criteria=("least wall", "wall: pinch"))
    shown = design.for_reading(table)
    assert shown.index.tolist() == ["0.05", "0.4"] and shown.index.name == "wall / mm"
    assert shown.columns.tolist() == ["least wall", "wall: pinch", "all together", "least certain"]
    assert shown.loc["0.05", "least wall"] == "<0.01" and 0.5 < float(shown.loc["0.4", "wall: pinch"]) < 1
    assert not RAW.search(told(shown))


def test_a_sweep_over_words_keeps_them(demo):
    shown = design.for_reading(demo.only("hours").sweep("order", ["bore first", "outside first"], draws=2**8,
                                                        criteria=("least wall",)))
    assert shown.index.tolist() == ["bore first", "outside first"] and shown.index.name == "order of work"


def test_measurements_in_words_have_units_and_plug_gauges_their_two_sizes(demo):
    log = bench.read(DEMO / "bench_log.csv")
    shown = bench.for_reading(log.compare(demo, draws=2**8))
    assert shown.columns.tolist() == ["step", "quantity", "predicted from", "predicted, median (90 % interval)", "measured",
                                      "inside the prediction"]
    by_strokes = shown[shown["quantity"] == "minutes for the strokes"]["predicted from"]
    assert set(by_strokes) == {"the plan, and the strokes of its row"} and "the plan alone" in set(shown["predicted from"])
    bores = shown[shown["quantity"] == "bore"]["measured"]
    [read, plugs] = [next(r for r in log.rows if r[name]) for name in ("measured_mm", "passes_mm")]
    assert f"{read['measured_mm']:g} mm" in bores.tolist() and f"{plugs['passes_mm']:g} to {plugs['stops_mm']:g} mm" in bores.tolist()
    assert set(shown["inside the prediction"]) <= {"yes", "no"} and not RAW.search(told(shown))


@pytest.mark.parametrize("passes, stops, said", [("5.00", "", "above 5 mm"), ("", "5.04", "below 5.04 mm")])
def test_one_plug_gauge_alone_leaves_one_side_open(demo, tmp_path, passes, stops, said):
    lines = (DEMO / "bench_log.csv").read_text(encoding="utf-8").splitlines()
    names = lines[0].split(",")
    row = next(line.split(",") for line in lines[1:] if ",ream 5.00," in line)
    row[names.index("measured_mm")], row[names.index("passes_mm")], row[names.index("stops_mm")] = "", passes, stops
    (tmp_path / "log.csv").write_text("\n".join([lines[0], ",".join(row)]) + "\n", encoding="utf-8")
    shown = bench.for_reading(bench.read(tmp_path / "log.csv").compare(demo, draws=2**8))
    assert shown[shown["quantity"] == "bore"]["measured"].tolist() == [said]
