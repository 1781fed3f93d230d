"""Rival routes: their table, what can follow what, what can still be seen, the comparison; and the figures `traces` and `over`."""
import itertools
import re

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from kit import figures, page, routes, study, tables

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

BORED, CAST, WRAPPED, DRAWN, PLATE = NAMES = ("bored from the bar", "cast on a core and reamed", "wrapped from sheet and soldered",
                                              "drawn or hammered on a mandrel", "drawn through a plate on a mandrel")


def words(text):
    return [word.strip() for word in (text or "").split(";") if word.strip()]


def step(name, needs=None, traces="", removes="", **more):
    return {"route": "made up", "step": name, "needs": needs, "traces": traces, "removes": removes, "chance_low": 0.5, "chance_high": 0.9, "hours_low": 1.0,
            "hours_high": 3.0, "metal": None, "grade": "conjecture", "source": "assumption", "note": ""} | more


@pytest.fixture
def tabled(monkeypatch):
    """Sets steps in place of the reference table."""
    return lambda *steps: monkeypatch.setattr(tables, "load", lambda name: {"rival_routes": tuple(steps)}[name])


@pytest.fixture(scope="module")
def table():
    return routes.compare(NAMES, n=4096, seed=1)


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


# --- the table ------------------------------------------------------------------------------------------------------------------

def test_the_table_holds_the_routes_and_says_that_they_are_judgement():
    rows = tables.load("rival_routes")
    assert tuple(dict.fromkeys(row["route"] for row in rows)) == NAMES
    assert all(row["grade"] == "conjecture" and row["source"] == "assumption" for row in rows)
    for row in rows:
        assert 0 < row["chance_low"] < row["chance_high"] < 1 and 0 < row["hours_low"] < row["hours_high"], row["step"]
        assert not (row["plan"] and (row["traces"] or row["removes"])), "what operations leave stands in traces.csv"
    for name in NAMES:   # a route is computed whole, or judged whole
        assert len({bool(row["plan"]) for row in rows if row["route"] == name}) == 1


@pytest.mark.parametrize("name", NAMES)
def test_each_row_of_the_table_has_something_to_refer_to(name):
    """What a step needs is a step of its route; what it removes has been left by an earlier one."""
    steps, left = routes.rival(name), set()
    assert steps[0]["needs"] is None and all(s["needs"] in {e["step"] for e in steps} for s in steps[1:])
    for row in steps:
        assert set(words(row["removes"])) <= left, row["step"]
        left |= set(words(row["traces"]))
    assert sum(row["metal"] is not None for row in steps) == 1


def test_the_metal_of_a_bored_tube_is_that_of_its_blank():
    """A solid blank 4 mm thicker than a tube of 5 by 0.4 mm, and a casting with 1 mm to take off outside and inside, all on diameter."""
    tube = 5.8**2 - 5**2
    assert routes.rival(BORED)[0]["metal"] == round(9.8**2 / tube) == 11
    assert routes.rival(CAST)[0]["metal"] == round((6.8**2 - 4**2) / tube, 1) == 3.5


# --- what can follow what, what can still be seen --------------------------------------------------------------------------------

@pytest.mark.parametrize("name", NAMES)
def test_steps_in_another_order_are_refused(name):
    steps = routes.rival(name)
    routes.check_order(steps)
    for order in itertools.permutations(steps):
        if list(order) != steps:   # each needs the one before it: one order alone is left
            with pytest.raises(ValueError, match="cannot follow"):
                routes.check_order(order)


def test_the_refusal_says_what_is_missing():
    steps = [step("lap", needs="bore"), step("bore")]
    with pytest.raises(ValueError) as fault:
        routes.check_order(steps)
    assert str(fault.value) == "'lap' cannot follow 'nothing': it needs 'bore' before it; put that step first"
    with pytest.raises(ValueError, match="'lap' cannot follow 'cast': it needs 'bore' before it; put that step first"):
        routes.check_order([step("cast"), steps[0]])
    routes.check_order(steps[::-1])
    routes.check_order([step("cast"), step("bore"), step("turn"), step("lap", needs="bore")])   # not only the very last


def test_a_table_out_of_order_is_refused_on_reading(tabled):
    tabled(step("lap", needs="bore"), step("bore"))
    for call in (lambda: routes.rival("made up"), lambda: routes.compare(["made up"])):
        with pytest.raises(ValueError, match="'lap' cannot follow 'nothing'"):
            call()


@pytest.mark.parametrize("wrong, near", [("bored from a bar", BORED), ("cast on a core", CAST), ("hammered on a mandrel", DRAWN), ("soldered sheet", WRAPPED)])
def test_an_unknown_route_is_told_with_the_nearest(wrong, near):
    for call in (lambda: routes.rival(wrong), lambda: routes.compare([BORED, wrong]), lambda: routes.compare([(wrong, None)])):
        with pytest.raises(tables.TableError, match=re.escape(f"there is no route '{wrong}'; did you mean ")) as fault:
            call()
        assert repr(near) in str(fault.value)
    with pytest.raises(tables.TableError, match="known: " + ", ".join(map(repr, NAMES))):
        routes.rival("zzz")


def test_what_a_later_step_removes_is_gone():
    steps = [step("a", traces="seam; burr"), step("b", traces="scratches; seam", removes="burr"), step("c", removes="scratches", traces="grit")]
    assert routes.traces_left(steps[:1]) == ["seam", "burr"]
    assert routes.traces_left(steps[:2]) == ["seam", "scratches"]   # once, where it was first left
    assert routes.traces_left(steps) == ["seam", "grit"]
    assert routes.traces_left([]) == []


def test_a_trace_left_again_by_the_step_that_removes_it_stays():
    assert routes.traces_left([step("a", traces="scratches"), step("b", removes="scratches", traces="scratches")]) == ["scratches"]
    assert routes.traces_left([step("a", removes="scratches"), step("b", traces="scratches")]) == ["scratches"]   # removed before it was there


def test_what_lapping_and_truing_take_away():
    left = {name: set(routes.traces_left(routes.rival(name))) for name in NAMES}
    assert not {"helical marks in the bore", "chatter in the bore"} & set().union(*left.values())
    assert not {"hammer facets outside", "bore as smooth as the mandrel", "fine grain at the core"} & left[DRAWN]
    assert "fine grain at the core" in left[CAST]
    everywhere = set.intersection(*left.values())
    assert {"fine concentric scratches", "grit in the bore"} <= everywhere   # which tell nothing


def test_every_route_with_a_red_heat_after_work_leaves_one_and_the_same_trace_of_it():
    """Worked metal that is annealed comes out with new, twinned grain, whatever the work and whatever the fire was for."""
    left = {name: routes.traces_left(routes.rival(name)) for name in NAMES}
    assert {name for name in NAMES if "grain made new by the fire" in left[name]} == {WRAPPED, DRAWN, PLATE}
    assert not {trace for traces in left.values() for trace in traces if "twin" in trace}


# --- the comparison --------------------------------------------------------------------------------------------------------------

def test_a_tell_is_left_by_one_route_alone_and_every_route_has_one(table):
    left = {name: words(row["traces"]) for name, row in table.iterrows()}
    for name, row in table.iterrows():
        tells, others = words(row["tells"]), set().union(*(left[other] for other in table.index if other != name))
        assert tells and tells == [t for t in left[name] if t not in others]
        assert left[name] == routes.traces_left(routes.rival(name))


def test_tells_are_among_the_routes_compared(table):
    """The fewer rivals, the more tells; against none everything tells."""
    alone = routes.compare([CAST], n=64)
    assert alone.loc[CAST, "tells"] == alone.loc[CAST, "traces"] == table.loc[CAST, "traces"]
    pair = routes.compare([CAST, WRAPPED], n=64)
    assert set(words(table.loc[CAST, "tells"])) <= set(words(pair.loc[CAST, "tells"])) < set(words(pair.loc[CAST, "traces"]))
    drawn = routes.compare([WRAPPED, PLATE], n=64).loc[WRAPPED, "tells"]
    assert "seam along the tube" not in drawn and "seam along the tube" in pair.loc[WRAPPED, "tells"]   # both have one


def believed(steps, low, high, n=2**19):
    """Plain random numbers, even between ends whose 5 % and 95 % points are those of the table, one column a step."""
    low, high = (np.array([row[name] for row in steps]) for name in (low, high))
    beyond = (high - low) / 18   # nine tenths lie between the points, a twentieth beyond each
    return np.random.default_rng(7).uniform(low - beyond, high + beyond, (n, len(steps)))


def test_chances_by_hand(table):
    """That one blank comes through every step: the product. The printed range is that of what is believed."""
    chance = believed(routes.rival(BORED), "chance_low", "chance_high").prod(axis=1)
    row = table.loc[BORED]
    assert row["chance"] == pytest.approx(0.915 * 0.825 * 0.885 * 0.915, abs=0.001)   # means of independent factors
    assert row["chance"] == pytest.approx(chance.mean(), abs=0.001)
    assert (row["chance_5"], row["chance_95"]) == pytest.approx(tuple(np.quantile(chance, (0.05, 0.95))), abs=0.005)   # 0.485 and 0.752
    assert 0.7 * 0.85 * 0.8 * 0.85 < row["chance_5"] < row["chance"] < row["chance_95"] < 0.98 * 0.95 * 0.97 * 0.98


@pytest.mark.parametrize("name", NAMES)
def test_hours_by_hand(table, name):
    hours = believed(routes.rival(name), "hours_low", "hours_high").sum(axis=1)
    row = table.loc[name]
    assert (row["hours_5"], row["hours"], row["hours_95"]) == pytest.approx(tuple(np.quantile(hours, (0.05, 0.5, 0.95))), abs=0.15)


@pytest.mark.parametrize("low, high", [(0.2, 1.0), (0.0, 0.8)])
def test_a_chance_stays_a_chance(tabled, low, high):
    """Even between ends a little beyond the points, but held at 0 and 1: what lies beyond counts as none, or as certain."""
    ends = low - (high - low) / 18, high + (high - low) / 18
    inside = min(ends[1], 1)**2 / 2 - max(ends[0], 0)**2 / 2 + max(ends[1] - 1, 0)
    tabled(step("a", chance_low=low, chance_high=high))
    row = routes.compare(["made up"], n=2**14).iloc[0]
    assert row["chance"] == pytest.approx(inside / (ends[1] - ends[0]), abs=2e-4)   # 0.5989 and 0.4011; without holding 0.6 and 0.4


def test_metal_and_grade_are_those_of_the_worst_step(tabled):
    tabled(step("a", metal=1.5, grade="living-craft"), step("b", metal=3.0, grade="handbook"), step("c", grade="text"))
    assert routes.compare(["made up"], n=16)[["metal", "weakest_evidence"]].iloc[0].tolist() == [3.0, "handbook"]
    tabled(step("a"))
    assert routes.compare(["made up"], n=16)["metal"].iloc[0] == 1   # nothing said: no waste


def test_one_more_step_costs_chance_and_hours(tabled):
    tabled(step("a"), step("b"))
    two = routes.compare(["made up"], n=4096).iloc[0]
    tabled(step("a"))
    one = routes.compare(["made up"], n=4096).iloc[0]
    assert (one["chance"], two["chance"]) == pytest.approx((0.7, 0.49), abs=0.002)
    assert (one["hours"], two["hours"]) == pytest.approx((2, 4), abs=0.02)


def test_nothing_is_ranked(table):
    """Rows in the order asked for, whatever the chance and the hours; no column says which is first."""
    assert list(table.columns) == ["how", "within_reach", "chance", "chance_5", "chance_95", "limiting", "hours", "hours_5", "hours_95", "fuel", "fuel_5", "fuel_95",
                                   "metal", "traces", "tells", "refutes", "weakest_evidence"]
    assert list(table.index) == list(NAMES) and table.index.name == "route"
    for order in itertools.permutations(NAMES):
        again = routes.compare(order, n=256)
        assert tuple(again.index) == order
    pd.testing.assert_frame_equal(routes.compare(NAMES[::-1], n=4096, seed=1).loc[list(NAMES)], table)


def test_a_route_that_stands_twice_is_refused(demo):
    for twice in ([BORED, CAST, BORED], [BORED, (BORED, demo)]):
        with pytest.raises(ValueError, match=f"'{BORED}' stands twice; compare each route once"):
            routes.compare(twice)


def test_the_same_seed_gives_the_same_table_and_another_does_not(table):
    pd.testing.assert_frame_equal(routes.compare(NAMES, n=4096, seed=1), table)
    other = routes.compare(NAMES, n=4096, seed=2)
    assert not np.array_equal(other["chance_5"], table["chance_5"]) and other["chance"].to_numpy() == pytest.approx(table["chance"].to_numpy(), abs=0.003)


# --- with a study ------------------------------------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def nest(demo):
    return demo.only("hours", "tide")   # two of its sleeves are enough


@pytest.fixture(scope="module")
def beside(nest):
    return routes.compare([(BORED, nest), *NAMES[1:]], n=512, seed=3)


def test_a_study_and_its_rivals_stand_side_by_side_and_say_how_they_were_found(beside, table):
    assert beside["how"].tolist() == ["this study", *["computed"] * 4]
    assert not beside["within_reach"].isna().any()
    computed = beside[beside["how"] != "judged"]
    assert np.all(computed["chance"] == computed["within_reach"])
    assert np.all((computed["chance_5"] <= computed["chance"] + 0.05) & (computed["chance_5"] < computed["chance_95"]))
    assert np.all(computed["limiting"] != "")
    assert table["within_reach"].isna().all() and set(table["how"]) == {"judged"}   # without a study nothing can be computed


def test_the_study_s_own_row_is_its_verdict_of_one_tube(nest, beside):
    """By other draws: those of its own rows alone, so within their error."""
    verdict = nest.assess(2**12, 3)
    one = np.mean([np.mean(np.all([line.met for line in verdict.lines if line.tube == t.name], axis=0)) for t in nest.tubes])
    assert beside.loc[BORED, "within_reach"] == pytest.approx(one, abs=0.04)
    labour = next(line for line in verdict.lines if line.criterion == "labour").demand / len(nest.tubes)
    blank = beside.loc[BORED, "hours"] - np.median(labour)   # the casting of the blank, which the study leaves out
    assert 3 < blank < 16 and beside.loc[BORED, "fuel"] > 0


def test_rivals_share_the_draws_of_all_that_they_share(nest, monkeypatch):
    from kit import rivals
    seen = {}
    asked = rivals.lines

    def spy(plan, values, n, *more):
        seen.setdefault(next(iter(plan.routes[plan.tubes[0].route]))["operation"], values)
        return asked(plan, values, n, *more)

    monkeypatch.setattr(rivals, "lines", spy)
    one = nest.only("hours")
    routes.compare([(BORED, one), CAST, WRAPPED], n=64, seed=3)
    assert set(seen) == {"drill", "cast", "wrap"}
    for key in ("drive.pull_sustained", "hand.pinch@hours", "lapped.overrun@hours"):
        np.testing.assert_array_equal(seen["drill"][key].m, seen["cast"][key].m)
        np.testing.assert_array_equal(seen["drill"][key].m, seen["wrap"][key].m)


def test_a_rival_keeps_the_part_and_takes_the_study_s_own_steps_where_it_has_them(nest):
    cast = routes.plan_of(nest, CAST)
    for before, after in zip(nest.tubes, cast.tubes):
        assert (before.bore, before.wall, before.length, before.clearance) == (after.bore, after.wall, after.length, after.clearance)
        route = cast.routes[after.route]
        assert route[0]["operation"] == "cast"
        assert [step for step in route if step["operation"] == "lap"] == [step for step in nest.routes[before.route] if step["operation"] == "lap"]
    wrapped = routes.plan_of(nest, WRAPPED)
    assert wrapped.part["alloy"] == "tin bronze, annealed" and cast.part["alloy"] == nest.part["alloy"]


def test_a_route_that_no_operation_makes_is_judged_and_says_so(nest, monkeypatch):
    from kit import tables
    load = tables.load
    rows = tuple(step(name, traces=trace) for name, trace in (("grow it", "roots"), ("pick it", "a stalk")))
    monkeypatch.setattr(tables, "load", lambda name: rows if name == "rival_routes" else load(name))
    found = routes.compare([(BORED, nest.only("hours")), "made up"], n=64)
    assert routes.plan_of(nest, "made up") is None
    assert found["how"].tolist() == ["this study", "judged"] and found.loc["made up", "limiting"] == "" and np.isnan(found.loc["made up", "within_reach"])
    assert found.loc["made up", "tells"] == found.loc["made up", "refutes"] == "roots; a stalk"
    assert found.loc["made up", "chance"] == pytest.approx(0.7**2, abs=0.02)


def test_a_study_is_told_from_its_steps_or_says_what_it_is(demo, nest):
    from dataclasses import replace
    assert routes.own_route(nest) == BORED
    for name, kind in ((CAST, "cast"), (WRAPPED, "wrap"), (PLATE, "wrap"), (DRAWN, "cast")):
        other = routes.plan_of(nest, name)
        assert routes.own_route(other) == name and other.routes[other.tubes[0].route][0]["operation"] == kind
    assert routes.own_route(replace(nest, record={"own_route": "cast and turned"})) == "cast and turned"


def test_a_cast_barrel_leaves_its_own_traces_and_is_not_its_own_rival(nest):
    from dataclasses import replace
    cast = replace(routes.plan_of(nest, CAST).only("hours"), record={})
    found = routes.compare([(CAST, cast), BORED, WRAPPED], n=64)
    assert "core pins or their plugs" in found.loc[CAST, "tells"] and "dendrites across the whole wall" not in found.loc[CAST, "traces"]
    assert "dendrites across the whole wall" in found.loc[BORED, "refutes"] and found.loc[CAST, "refutes"] == ""
    assert found.loc[BORED, "how"] == "computed" and found.loc[BORED, "metal"] > found.loc[CAST, "metal"]


def test_a_study_that_names_its_own_route_as_a_rival_is_told(tmp_path):
    import shutil
    shutil.copytree(study.DEMO, tmp_path / "own")
    path = tmp_path / "own" / "study.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('rivals = ["cast on a core and reamed"', f'rivals = ["{BORED}"'), encoding="utf-8")
    with pytest.raises(study.StudyError, match="and so no rival; name another way") as fault:
        study.load(tmp_path / "own")
    assert "line" in str(fault.value)
    path.write_text(text.replace('rivals = ["cast on a core and reamed"', f'own_route = "bored, as in this study"\nrivals = ["{BORED}"'), encoding="utf-8")
    assert routes.own_route(study.load(tmp_path / "own")) == "bored, as in this study"


def test_a_route_that_cannot_make_such_a_tube_is_judged_and_says_why(nest):
    thick = nest.only("hours").with_(alloy="wrought iron, annealed")
    found = routes.compare([(BORED, thick), WRAPPED], n=64)
    assert found.loc[WRAPPED, "how"] == "judged" and "wrought iron" in found.attrs["why_judged"][WRAPPED]


# --- figures -----------------------------------------------------------------------------------------------------------------------

def drawn(figure):
    """{text: box} of all that can be read, and the page."""
    FigureCanvasAgg(figure).draw()
    hidden = set()
    for ax in figure.axes:
        for i, axis in enumerate((ax.xaxis, ax.yaxis)):   # an axis keeps labels of ticks beyond its ends, which are not drawn
            low, high = sorted(axis.get_view_interval())
            hidden |= {t for t in axis.get_ticklabels(which="both") if not low <= t.get_position()[i] <= high}
    seen = [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip() and t not in hidden]
    return {t: t.get_window_extent(figure.canvas.get_renderer()) for t in seen}


def check_page(figure, width):
    found, paper = drawn(figure), figure.bbox
    assert figure.get_figwidth() * 25.4 == pytest.approx(width, abs=1e-9)
    for text, box in found.items():
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= paper.x1 and box.y1 <= paper.y1, text.get_text()
        assert text.get_fontsize() >= 7, text.get_text()
    for (a, first), (b, second) in itertools.combinations(found.items(), 2):
        apart = max(first.x0, second.x0) - min(first.x1, second.x1), max(first.y0, second.y0) - min(first.y1, second.y1)
        assert max(apart) > -2, f"{a.get_text()!r} covers {b.get_text()!r}"
    return {text.get_text() for text in found}


@pytest.mark.parametrize("names", [NAMES, NAMES[::-1], NAMES[:2], NAMES[3:]], ids=len)
@pytest.mark.parametrize("width", [140, 190])
def test_traces_can_be_read(names, width):
    compared = routes.compare(names, n=16)
    told = check_page(figures.traces(compared, width=width), width)
    assert {" ".join(text.split()) for text in told} == set(names) | {t for row in compared["traces"] for t in words(row)} | {
        "■ only this route leaves it", "○ others leave it too"}


def test_traces_mark_what_is_left_and_fill_what_tells(table):
    ax = figures.traces(table).axes[0]
    rows = [label.get_text() for label in ax.get_yticklabels()]
    marks = {(rows[int(y)], NAMES[int(x)]): (line.get_marker(), line.get_markerfacecolor())
             for line in ax.lines for x, y in zip(*line.get_data())}
    assert set(marks) == {(t, name) for name in NAMES for t in words(table.loc[name, "traces"])}
    for (trace, name), look in marks.items():
        assert look == (("s", page.BLUE) if trace in words(table.loc[name, "tells"]) else ("o", "white")), (trace, name)
    assert len(rows) == len(set(rows)) and [" ".join(label.get_text().split()) for label in ax.get_xticklabels()] == list(NAMES)


X = np.geomspace(1, 100, 12)
RISING = {"dry": 3e5 / X**3, "oiled,\nas long as it takes": 1e5 / X}
OVERS = {
    "from hundredths to a hundred thousand": (RISING, {"wanted": 5}, dict(log=(True, True))),
    "draws": ({"one": np.exp(np.random.default_rng(1).normal(size=(12, 200))) * X[:, None]}, {"limit": 20.0}, dict()),
    "straight": ({"one": X, "two": X + 0.01, "three": X + 0.02}, None, dict(log=(False, False))),
    "two limits side by side": ({"one": X}, {"granted": 10.0, "granted too": 10.1}, dict()),
    "far above": ({"one": X}, {"limit": 3e4}, dict(log=(False, False))),
    "narrow": ({"one": X}, {"limit": 30.0}, dict(width=90)),
    "wide": ({"one": X}, {"limit": 30.0}, dict(width=190))}


@pytest.mark.parametrize("name", OVERS)
def test_quantities_over_one_value_can_be_read(name):
    bands, limits, more = OVERS[name]
    told = check_page(figures.over(X, bands, "clearance / µm", "time it holds / s", limits, **more), more.get("width", 140))
    assert {"clearance / µm", "time it holds / s", *bands, *(limits or {})} <= told


def test_a_band_is_the_median_with_nine_draws_in_ten():
    draws = np.exp(np.random.default_rng(1).normal(size=(12, 999))) * X[:, None]
    ax = figures.over(X, {"one": draws}, "x / mm", "y / mm", {"limit": 20.0}).axes[0]
    lines = {(line.get_linewidth(), line.get_linestyle()): line for line in ax.lines}
    np.testing.assert_allclose(lines[1.0, "-"].get_ydata(), np.median(draws, axis=1))
    corners = ax.collections[0].get_paths()[0].vertices
    assert (corners[:, 1].min(), corners[:, 1].max()) == pytest.approx((np.quantile(draws, 0.05, axis=1).min(), np.quantile(draws, 0.95, axis=1).max()))
    assert any(np.all(np.asarray(line.get_ydata()) == 20.0) for line in ax.lines)


def test_single_values_are_drawn_as_they_are():
    ax = figures.over(X, {"one": list(X**2)}, "x / mm", "y / mm").axes[0]
    np.testing.assert_allclose(ax.lines[-1].get_ydata(), X**2)
    assert ax.get_xlim() == (X[0], X[-1]) and ax.get_yscale() == "log" and ax.get_xscale() == "linear"


def test_a_study_that_says_nothing_of_use_counts_the_hours_of_its_steps(nest):
    from dataclasses import replace
    silent = replace(nest.only("hours"), use=None)
    found = routes.compare([(BORED, silent), CAST], n=64)
    assert np.all(found["hours"] > 5) and found["how"].tolist() == ["this study", "computed"]
