"""kit.routes: steps of a route, the reamers a nest needs, the lathe a bore needs."""
import re
import warnings

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import chain, cutting, routes, tables
from kit.means import Means
from kit.routes import Passes, Step, Tool
from kit.study import Tube
from kit.units import OutOfRange, Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")   # every hand cut is thinner than the rule was fitted to

BORE, OUTSIDE = Q(5, "mm"), Q(5.8, "mm")
DRILL, BIT, REAMER = Tool("two-lip drill"), Tool("half-round bit"), Tool("fluted reamer")


@pytest.fixture(scope="module")
def draws():
    return routes.reference_draws(n=1024, seed=3)


@pytest.fixture(scope="module")
def one(draws):
    """One draw: every assumption a single number, near the middle."""
    return {key: Q(float(np.median(q.m)), q.units) for key, q in draws.items()}


def pass_of(tool, before, after):
    return Passes((Step("ream", "", Q(before, "mm"), Q(after, "mm"), tool=tool),))


def torque(tool, before, after, draws):
    """N*m of one pass, from its own definition in cutting.py."""
    return pass_of(tool, before, after).torque(draws)[0].m_as("N*m")


# What a diameter may be called

@pytest.mark.parametrize("text, mm", [
    ("4.5 mm", 4.5), ("0.25 inch", 6.35), ("bore", 5), ("outside", 5.8), ("bore - 0.1 mm", 4.9), ("bore-0.1 mm", 4.9),
    ("  outside + 100 um ", 5.9), ("bore + 0 mm", 5)])
def test_diameters_in_words(text, mm):
    assert routes.diameter_of(text=text, bore=BORE, outside=OUTSIDE).m_as("mm") == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize("text, said", [
    ("boar", "cannot read 'boar'"), ("bore * 2", "cannot read 'bore * 2'"), ("bore - ", "cannot read"), ("bore - -0.1 mm", "must be >= 0"),
    ("-3 mm", "must be > 0"), ("0 mm", "must be > 0")])
def test_what_is_no_diameter_is_told(text, said):
    with pytest.raises(ValueError, match="^diameter: ") as caught:
        routes.diameter_of(text=text, bore=BORE, outside=OUTSIDE)
    assert said in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["4.5", "bore - 0.1", "5 N", "bore - 1 N"])
def test_a_diameter_without_its_unit_is_refused(text):
    with pytest.raises(pint.DimensionalityError, match="argument 'diameter' takes a unit like mm"):
        routes.diameter_of(text=text, bore=BORE, outside=OUTSIDE)


# From a route to single steps

def entry(operation, to=None, **more):
    made = {"operation": operation, "name": more.pop("name", operation)} | more
    return made if to is None else made | {"to": to}


def expand(*route, hole="0 mm", bore=BORE, outside=OUTSIDE, blank="10 mm"):
    return routes.expand(route=route, bore=bore, outside=outside, blank=Q(blank), hole=Q(hole))


def test_each_step_finds_what_the_one_before_left():
    steps = expand(entry("drill", "2.5 mm", tool=DRILL, feed=Q(0.01, "mm")), entry("drill", "4.5 mm", tool=DRILL), entry("ream", "bore", tool=REAMER),
                   entry("turn", "outside + 0.1 mm", depth=Q(0.1, "mm")), entry("file", "outside"), entry("lap", abrasive="emery, fine", stock=Q(6, "um")))
    mm = [(s.operation, round(s.before.m_as("mm"), 9), round(s.diameter.m_as("mm"), 9)) for s in steps]
    assert mm == [("drill", 0, 2.5), ("drill", 2.5, 4.5), ("ream", 4.5, 5), ("turn", 10, 5.9), ("file", 5.9, 5.8), ("lap", 5, 5)]
    assert steps[0].feed == Q(0.01, "mm") and steps[0].tool is DRILL and steps[3].depth == Q(0.1, "mm")
    assert steps[5].abrasive == "emery, fine" and steps[5].stock_on_diameter == Q(6, "um")
    assert steps[2].name == "ream to 5.00 mm"


@pytest.mark.parametrize("hole, to, stock, sizes", [
    ("4 mm", "bore", "0.5 mm", [4.5, 5]),                  # it fits exactly: no third pass for a rounding error
    ("4 mm", "bore", "0.4 mm", [4 + 1 / 3, 4 + 2 / 3, 5]),   # equal passes, not two full ones and a rest
    ("4 mm", "bore", "2 mm", [5]),
    ("4.1 mm", "bore", "0.1 mm", [4.2, 4.3, 4.4, 4.5, 4.6, 4.7, 4.8, 4.9, 5]),
    ("5 mm", "bore", "0.5 mm", [])])                       # it is there already
def test_a_long_cut_is_split_into_the_fewest_equal_passes(hole, to, stock, sizes):
    steps = expand(entry("ream", to, tool=BIT, stock=Q(stock)), hole=hole)
    assert [s.diameter.m_as("mm") for s in steps] == pytest.approx(sizes)
    assert [s.before.m_as("mm") for s in steps] == pytest.approx([Q(hole).m_as("mm"), *sizes][:len(sizes)])
    assert all((s.diameter - s.before) <= Q(stock) * (1 + 1e-9) for s in steps)


def test_without_a_stock_a_step_is_one_pass_and_so_is_a_cut_from_solid():
    assert len(expand(entry("ream", "bore", tool=BIT), hole="2 mm")) == 1
    assert len(expand(entry("drill", "bore", tool=DRILL, stock=Q(0.5, "mm")))) == 1


@pytest.mark.parametrize("step, said", [
    (entry("drill", "4.5 mm"), "the hole ends at 4.5 mm, short of the finished bore 5 mm; end with a step to 'bore'"),
    (entry("turn", "outside + 0.1 mm"), "the outside ends at 5.9 mm, short of the finished 5.8 mm; end with a step to 'outside'")])
def test_a_route_that_ends_short_is_refused(step, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        expand(step)


@pytest.mark.parametrize("route, said", [
    ([entry("drill", "4.5 mm"), entry("ream", "3 mm")], "step 2 (ream): '3 mm' is 3 mm, but the hole is 4.5 mm already; put the steps in order"),
    ([entry("ream", "bore + 0.1 mm")], "step 1 (ream): 'bore + 0.1 mm' is 5.1 mm, larger than the finished bore 5 mm; write 'bore'"),
    ([entry("turn", "11 mm")], "step 1 (turn): '11 mm' is 11 mm, but the outside is 10 mm already; put the steps in order"),
    ([entry("file", "outside"), entry("turn", "outside + 1 mm")], "step 2 (turn): 'outside + 1 mm' is 6.8 mm, but the outside is 5.8 mm already"),
    ([entry("turn", "outside - 0.1 mm")], "step 1 (turn): 'outside - 0.1 mm' is 5.7 mm, smaller than the finished outside 5.8 mm; write 'outside'"),
    ([entry("drill", "bore - 9 mm")], "step 1 (drill): 'bore - 9 mm' is -4 mm, but the hole is 0 mm already")])
def test_a_route_that_goes_backwards_is_told_with_its_step(route, said):
    with pytest.raises(ValueError) as caught:
        expand(*route)
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_two_roads_to_one_diameter_may_differ_by_rounding():
    bore = Q(5, "mm") + 2 * Q(0.4, "mm") + Q(15, "um") + 2 * Q(0.4, "mm")   # 6.615 and a hair
    assert bore != Q(6.615, "mm")
    for to in ("6.615 mm", "bore"):
        assert expand(entry("ream", "bore"), entry("ream", to), bore=bore, hole="6 mm", outside=Q(8, "mm"))[-1].diameter.m_as("mm") == pytest.approx(6.615)


def test_passes_go_together_by_tool():
    steps = expand(entry("drill", "2 mm", tool=DRILL), entry("ream", "3 mm", tool=BIT), entry("ream", "4 mm", tool=REAMER), entry("ream", "bore", tool=BIT))
    tube = Tube(name="t", bore=BORE, wall=(OUTSIDE - BORE) / 2, length=Q(60, "mm"), clearance=Q(15, "um"), route="")
    done, _ = chain.run(tube, (steps[0], steps[0], *steps[1:]), Means(None, {}))
    assert [[s.diameter.m_as("mm") for s in each.steps] for each in done] == [[2, 2], [3], [4], [5]]   # one after the other by one tool are one
    assert [each.cut.tool for each in done] == [DRILL, BIT, REAMER, BIT] and [each.name for each in done] == ["drill", "ream", "ream", "ream"]
    np.testing.assert_allclose(done[1].cut.shape["stock"].m_as("mm"), [[0.5]])   # radial, as the cutting functions take it


# One pass

@pytest.mark.parametrize("tool", [DRILL, BIT, REAMER, Tool("polygon broach", teeth=5, lead_angle=Q(2, "deg"))], ids=lambda t: t.kind)
def test_the_feed_that_a_torque_takes_costs_that_torque(tool, draws):
    cut = pass_of(tool, 4, 5)
    feed = 3 * cut.least_feed(draws)
    chip = feed / cutting.engagement(**cut.shape).feed_per_chip
    factor = draws["model.cutting_torque"] * (draws["model.drill_chisel_and_margins"] if tool is DRILL else 1)
    need = factor * cutting.pass_torque(chip=chip, **cut.shape, **cut.load(draws))
    np.testing.assert_allclose(cut.feed_for(need, draws).m_as("mm")[0], np.broadcast_to(feed.m_as("mm"), (1024,)), rtol=1e-9)
    assert np.all(cut.torque(draws)[0] < need[0])   # the least chip costs less


def test_a_drive_too_weak_to_drag_the_edges_takes_no_feed(draws):
    assert np.all(pass_of(REAMER, 9.5, 10).feed_for(Q(1e-4, "N*m"), draws) == Q(0, "mm"))


def test_the_least_feed_counts_the_edges(one):
    chip = (one["edge.least_chip_ratio"] * one["edge.edge_radius"]).m_as("um")
    assert pass_of(BIT, 4, 5).least_feed(one).m_as("um") == pytest.approx(chip)
    assert pass_of(DRILL, 4, 5).least_feed(one).m_as("um") == pytest.approx(2 * chip / np.sin(np.radians(59)))
    assert pass_of(REAMER, 4, 5).least_feed(one).m_as("um") == pytest.approx(6 * chip / np.sin(np.radians(45)))


def test_margins_rub_on_reamer_and_broach_alone(draws):
    smooth = draws | {"guide.friction": Q(0.0, "")}
    assert np.all(torque(DRILL, 4, 5, draws) == torque(DRILL, 4, 5, smooth))
    for tool in (BIT, REAMER, Tool("polygon broach")):
        assert np.all(torque(tool, 4, 5, draws) > torque(tool, 4, 5, smooth))


def test_every_margin_rubs(one):
    tool = Tool("fluted reamer", teeth=9)
    rubs = torque(tool, 4, 5, one) - torque(tool, 4, 5, one | {"guide.friction": Q(0.0, "")})
    by_hand = (one["guide.friction"].m * one["margins.pressure"].m_as("MPa") * one["margins.width"].m_as("mm") * one["margins.length"].m_as("mm")
               * 9 * 5 / 2 / 1000)
    assert rubs == pytest.approx(one["model.cutting_torque"].m * by_hand)


def test_a_long_taper_asks_for_far_more_than_a_square_shoulder(draws):
    at = [np.median(torque(Tool("fluted reamer", lead_angle=Q(angle, "deg")), 9.5, 10, draws)) for angle in (90, 45, 10, 2)]
    assert at == sorted(at) and at[3] > 10 * at[1]


# What the drives give

def test_the_wrench_is_two_hands_at_an_arm(one):
    assert routes.wrench_torque(one | {"wrench.force": Q(40, "N"), "wrench.arm": Q(80, "mm")}).m_as("N*m") == pytest.approx(6.4)


def test_what_the_bow_gives_by_hand(one):
    fixed = one | {"drive.pull_one_minute": Q(70, "N"), "drive.pull_sustained": Q(30, "N"), "centre.load": Q(60, "N"), "centre.radius": Q(2, "mm"),
                   "centre.friction": Q(0.1, "")}
    drag = 2 * (2 / 3) * 0.1 * 60 * 0.002 / 0.5   # two centres of 60 deg: 0.032 N*m
    assert routes.centre_torque(fixed).m_as("N*m") == pytest.approx(drag)
    assert routes.bow_torque(fixed, pulley="40 mm", minutes="30 min").m_as("N*m") == pytest.approx(30 * 0.02 - drag)
    assert routes.bow_torque(fixed, pulley="40 mm", minutes="1 min").m_as("N*m") == pytest.approx(70 * 0.02 - drag)
    half_way = np.sqrt(30)   # in the logarithm
    assert routes.bow_torque(fixed, pulley="40 mm", minutes=Q(half_way, "min")).m_as("N*m") == pytest.approx(50 * 0.02 - drag)


# The fewest reamers

NEST = Q(np.array([5.0, 6.015, 7.03]), "mm")


def plan(draws, drive, start="4.5 mm", bores=NEST, tool=REAMER, **more):
    return routes.reamer_set(start=start, bores=bores, drive=drive, tool=tool, draws=draws, **more)


def fewest_on_a_grid(start, bores, step, holds):
    """Fewest passes when every size must lie on a grid: all lists are tried, shortest first, by a search in breadth."""
    sizes = [start + i * step for i in range(1, round((bores[-1] - start) / step) + 1)]
    goals = [min(sizes, key=lambda s: abs(s - b)) for b in bores]
    reached, passes = {start}, 0
    while sizes[-1] not in reached:
        passes += 1
        reached = {after for before in reached for after in sizes if after > before and holds(before, after)
                   and not any(before < goal < after for goal in goals)}   # no bore may be skipped
        assert reached, "the grid is too coarse for this drive"
    return passes


@pytest.mark.parametrize("drive", [0.06, 0.1, 0.2, 0.4])
@pytest.mark.parametrize("tool", [BIT, REAMER], ids=lambda t: t.kind)
def test_no_shorter_list_exists(one, tool, drive):
    scale = 1 if tool is REAMER else 0.05   # a bit asks for far less
    start, bores, step = 4.0, [5.0, 6.0, 7.0], 0.05
    found = plan(one, Q(drive * scale, "N*m"), start=Q(start, "mm"), bores=Q(bores, "mm"), tool=tool)
    holds = {}

    def within(before, after):
        key = round(before, 6), round(after, 6)
        if key not in holds:
            holds[key] = torque(tool, before, after, one) <= drive * scale * (1 + 1e-12)
        return holds[key]

    brute = fewest_on_a_grid(start, bores, step, within)
    assert len(found) <= brute                  # else a shorter list exists
    assert brute <= len(found) + len(bores)     # the grid wastes less than a pass before each bore


@pytest.mark.parametrize("chance", [0.5, 0.9, 0.99])
def test_every_pass_is_within_the_drive_with_the_chance_asked(draws, chance):
    drive = routes.bow_torque(draws, pulley="30 mm")
    table = plan(draws, drive, chance=chance)
    for _, row in table.iterrows():
        need = torque(REAMER, row.diameter_mm - row.stock_on_diameter_mm, row.diameter_mm, draws)
        share = np.mean(drive.m_as("N*m") >= need)
        assert share >= chance and share == pytest.approx(row.chance_bow)
    opens = table[~table.bore]
    assert np.all(opens.chance_bow < chance + 0.005)   # a pass that only opens the way is as large as the drive allows


@settings(max_examples=8)
@given(weaker=st.floats(0.3, 1), drive=st.floats(0.08, 0.5))
def test_a_weaker_drive_never_needs_fewer(one, weaker, drive):
    assert len(plan(one, Q(drive * weaker, "N*m"))) >= len(plan(one, Q(drive, "N*m")))


def test_the_list_starts_at_the_hole_and_finishes_every_bore(draws):
    table = plan(draws, routes.bow_torque(draws, pulley="25 mm"))
    before = np.array([4.5, *table.diameter_mm[:-1]])
    np.testing.assert_allclose(table.diameter_mm - before, table.stock_on_diameter_mm)
    assert table.diameter_mm[table.bore].tolist() == pytest.approx([5, 6.015, 7.03])
    assert table.index.tolist() == list(range(1, len(table) + 1)) and table.index.name == "pass"


def test_bores_may_come_in_any_order_twice_or_alone(one):
    whole = plan(one, "0.2 N*m")
    assert whole.equals(plan(one, "0.2 N*m", bores=Q(np.array([7.03, 5, 6.015, 5]), "mm")))
    assert plan(one, "0.2 N*m", bores="5 mm").diameter_mm.iloc[-1] == pytest.approx(5)


@pytest.mark.parametrize("most", [0.3, 0.52, 3])
def test_no_pass_takes_more_than_the_maker_lets_it(one, most):
    table = plan(one, "2 N*m", most_stock_on_diameter=Q(most, "mm"))
    assert table.stock_on_diameter_mm.max() <= most + 1e-9
    assert len(table) == {0.3: 2 + 4 + 4, 0.52: 1 + 2 + 2, 3: 3}[most]   # 0.5, 1.015 and 1.015 mm to go


def test_the_columns_say_their_units_and_hang_together(draws):
    drive = routes.bow_torque(draws, pulley="25 mm")
    table = plan(draws, drive, length="80 mm", feed="0.04 mm/turn", rate="200 turn/min")
    assert list(table) == ["tool", "diameter_mm", "stock_on_diameter_mm", "torque_Nm", "torque_5", "torque_95", "chance_bow", "chance_wrench", "feed_mm",
                           "turns", "minutes", "bore"]
    assert np.all(table.torque_5 < table.torque_Nm) and np.all(table.torque_Nm < table.torque_95)
    assert np.all(table.feed_mm <= 0.04) and np.all(table.feed_mm > 0)
    np.testing.assert_allclose(table.turns, 80 / table.feed_mm)
    np.testing.assert_allclose(table.minutes, table.turns / 200)
    heaviest = table.chance_bow.idxmin()
    row = table.loc[heaviest]
    cut = pass_of(REAMER, row.diameter_mm - row.stock_on_diameter_mm, row.diameter_mm)
    takes = cut.feed_for(drive, draws)[0].m_as("mm")
    assert np.mean(takes >= row.feed_mm) == pytest.approx(0.9, abs=0.002)   # the feed that the drive takes with that chance
    wrench = routes.wrench_torque(draws)
    assert row.chance_wrench == np.mean(wrench >= cut.torque(draws)[0])


def test_a_tool_is_named_by_its_word_or_given_whole(one):
    assert plan(one, "0.2 N*m", tool="fluted reamer").equals(plan(one, "0.2 N*m"))
    assert len(plan(one, "0.2 N*m", tool=Tool("fluted reamer", teeth=12))) > len(plan(one, "0.2 N*m"))


def test_without_draws_the_reference_tables_stand_in():
    drive = "0.3 N*m"
    table = routes.reamer_set(start="4.5 mm", bores="5 mm", drive=drive, alloy="tin bronze, cast", edge="freshly ground")
    used = routes.reamer_set(start="4.5 mm", bores="5 mm", drive=drive, edge="used")
    assert table.torque_Nm.iloc[0] < used.torque_Nm.iloc[0]


@pytest.mark.parametrize("given, kind, said", [
    ({"start": "5 mm"}, ValueError, "a bore of 5 mm is not above the start hole of 5 mm; start with a smaller drill"),
    ({"start": "6 mm"}, ValueError, "a bore of 5 mm is not above the start hole of 6 mm"),
    ({"drive": "0.001 N*m"}, ValueError, "from 4.50 mm on, the drive cannot turn a fluted reamer at any stock worth taking with a chance of 0.9; a larger pulley"),
    ({"drive": "0 N*m"}, ValueError, "the drive cannot turn"),
    ({"tool": "fluted reemer"}, ValueError, "did you mean 'fluted reamer'"),
    ({"start": 4.5}, TypeError, "start: 4.5 has no unit"),
    ({"drive": "0.2 N"}, TypeError, "argument 'drive' takes a unit like N·m"),
    ({"bores": Q(np.array([5, np.nan]), "mm")}, ValueError, "bores: not a finite number"),
    ({"start": "-1 mm"}, ValueError, "start: -1 mm makes no sense here; it must be > 0"),
    ({"chance": 1}, ValueError, "chance: 1 makes no sense here; it must be < 1"),
    ({"most_stock_on_diameter": "0 mm"}, ValueError, "most_stock_on_diameter: 0 mm makes no sense here")])
def test_what_cannot_be_planned_is_told(one, given, kind, said):
    with pytest.raises(kind) as caught:
        routes.reamer_set(**({"start": "4.5 mm", "bores": NEST, "drive": "0.2 N*m", "tool": "fluted reamer", "draws": one} | given))
    assert said in str(caught.value).replace("*", "·") and "\n" not in str(caught.value)


# The lathe that a bore needs

@pytest.fixture(scope="module")
def lathe():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OutOfRange)
        return routes.lathe_for(bore="10 mm", tool="fluted reamer", pulleys=Q(np.array([20.0, 40, 80]), "mm"))


def test_twice_the_pulley_halves_the_pull_and_the_turns(lathe):
    assert list(lathe) == ["torque_Nm", "pull_N", "rest_tension_N", "turns_a_minute", "minutes", "chance_arm", "chance_cord"]
    assert lathe.index.tolist() == [20, 40, 80] and lathe.index.name == "pulley_mm"
    for small, large in ((20, 40), (40, 80)):
        for name in ("pull_N", "rest_tension_N", "turns_a_minute"):
            assert lathe[name][small] / lathe[name][large] == pytest.approx(2)
        assert lathe.minutes[large] / lathe.minutes[small] == pytest.approx(2)
        assert lathe.torque_Nm[large] == lathe.torque_Nm[small]
        assert lathe.chance_cord[large] >= lathe.chance_cord[small]


def test_the_pull_covers_the_cut_and_the_centres(one):
    table = routes.lathe_for(bore="10 mm", tool="fluted reamer", pulleys="40 mm", draws=one, wrap="1 turn", length="60 mm", feed="0.05 mm/turn")
    cut, drag = torque(REAMER, 9.5, 10, one), routes.centre_torque(one).m_as("N*m")
    row = table.iloc[0]
    assert row.torque_Nm == pytest.approx(cut)
    assert row.pull_N == pytest.approx((cut + drag) / 0.020)
    assert row.rest_tension_N == pytest.approx(row.pull_N / (2 * np.tanh(one["cord.friction"].m * np.pi)))
    turns = 2 * one["drive.stroke_length"].m_as("m") * one["drive.stroke_frequency"].m_as("1/min") * one["drive.duty"].m / (np.pi * 0.040)
    assert row.turns_a_minute == pytest.approx(turns)
    assert row.minutes == pytest.approx(60 / 0.05 / turns)


def test_the_quantities_are_exceeded_with_the_chance_that_is_left(draws):
    table = routes.lathe_for(bore="10 mm", tool="fluted reamer", pulleys="30 mm", draws=draws, chance=0.8)
    assert np.mean(torque(REAMER, 9.5, 10, draws) <= table.torque_Nm.iloc[0]) == pytest.approx(0.8, abs=0.002)
    assert table.torque_Nm.iloc[0] < routes.lathe_for(bore="10 mm", tool="fluted reamer", pulleys="30 mm", draws=draws, chance=0.95).torque_Nm.iloc[0]


def test_the_chances_are_those_of_arm_and_cord(draws):
    row = routes.lathe_for(bore="10 mm", stock_on_diameter="1 mm", tool="fluted reamer", edge="used", pulleys="15 mm", draws=draws, wrap="0.5 turn").iloc[0]
    needed = (torque(REAMER, 9, 10, draws) + routes.centre_torque(draws).m_as("N*m")) / 0.0075
    tension, friction = draws["drive.rest_tension"].m_as("N"), draws["cord.friction"].m
    assert row.chance_cord == np.mean(2 * tension * np.tanh(friction * np.pi / 2) >= needed)
    length, frequency, duty = draws["drive.stroke_length"].m_as("m"), draws["drive.stroke_frequency"].m_as("1/min"), draws["drive.duty"].m
    feed = np.maximum(0.03, pass_of(REAMER, 9, 10).least_feed(draws).m_as("mm"))
    minutes = 60 / feed / (2 * length * frequency * duty / (np.pi * 0.015))
    share = np.clip(np.log(minutes) / np.log(30), 0, 1)
    minute, steady = (draws[f"drive.pull_{name}"].m_as("N") for name in ("one_minute", "sustained"))
    assert row.chance_arm == np.mean(minute + share * (steady - minute) >= needed)
    assert 0.05 < row.chance_cord < 0.45 < row.chance_arm < 0.95


def test_more_cord_on_the_pulley_needs_less_tension(one):
    tension = [routes.lathe_for(bore="10 mm", pulleys="30 mm", draws=one, wrap=Q(turns, "turn")).rest_tension_N.iloc[0] for turns in (0.5, 1, 2, 4)]
    assert tension == sorted(tension, reverse=True)


@pytest.mark.parametrize("given, kind, said", [
    ({"bore": 10}, TypeError, "bore: 10 has no unit"),
    ({"bore": "0.4 mm"}, ValueError, "the radial stock exceeds half the diameter"),
    ({"tool": "half round bit"}, ValueError, "did you mean 'half-round bit'"),
    ({"alloy": "tin bronse, cast"}, tables.TableError, "did you mean 'tin bronze, cast'"),
    ({"drive": "bow lath"}, tables.TableError, "did you mean 'bow lathe'"),
    ({"edge": "freshly grind"}, tables.TableError, "did you mean 'freshly ground'"),
    ({"wrap": "2"}, TypeError, "wrap"),
    ({"pulleys": Q(np.array([20, -3]), "mm")}, ValueError, "pulleys: -3 mm makes no sense here")])
def test_what_no_lathe_can_be_is_told(given, kind, said):
    with pytest.raises(kind) as caught:
        routes.lathe_for(**({"bore": "10 mm"} | given))
    assert said in str(caught.value) and "\n" not in str(caught.value)


# Draws from the reference tables alone

def test_reference_draws_are_those_of_their_seed():
    first, again, other = (routes.reference_draws(n=64, seed=seed) for seed in (1, 1, 2))
    assert all(np.array_equal(first[k].m, again[k].m) for k in first)
    assert not np.array_equal(first["alloy.kc11"].m, other["alloy.kc11"].m)
    assert first["alloy.kc11"].shape == (64,)


def test_every_formula_has_its_factor():
    factors = routes.model_factors()
    assert set(factors) == {f"model.{row['of'].replace(' ', '_')}" for row in tables.load("models")}
    assert all(key == row.key for key, row in factors.items())
