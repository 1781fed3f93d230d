"""The reamers that a nest needs, and the lathe that a bore needs."""
import numpy as np

from kit.base.units import Q, units
from kit.estimates import bow
from kit.operations.means import centre_torque, reference_draws, wrench_torque
from kit.operations.steps import Step
from kit.operations.tools import Passes, Tool


def torques(bores, stock_on_diameter, tools, draws):
    """Torque of one pass of each tool, at its minimum chip thickness, over a row of bores.

    Result: {name: N*m, shape (bores, n)}.

    bores: finished diameters. stock_on_diameter: of the pass. tools: {name: Tool}. draws: {key: Quantity}.
    """
    found = {}
    for name, tool in tools.items():
        steps = tuple(Step("ream", "", bore - stock_on_diameter, bore, tool=tool) for bore in bores)
        found[name] = Passes(steps).torque(draws)
    return found


def _chance(demand, capacity):
    return float(np.mean(capacity >= demand))


@units(start="mm > 0", bores="mm > 0", drive="N*m >= 0", chance="> 0 < 1", most_stock_on_diameter="mm > 0",
       length="mm > 0", feed="mm/turn > 0",
       rate="turn/min > 0")
def reamer_set(start, bores, drive, chance=0.9, tool="half-round bit", most_stock_on_diameter=None, length="60 mm",
               feed="0.03 mm/turn",
               rate="300 turn/min", alloy="tin bronze, cast", edge="freshly ground", draws=None):
    """The fewest reamers from a start hole to the finished bores such that no pass exceeds the drive.

    A nest shares its reamers: each tube is opened with the common set up to its own bore. From the start hole the
    largest step that the drive can take at the minimum chip thickness, with the chance asked, is taken again and again,
    and every finished bore gets its own reamer; no shorter list exists, because the torque grows with the diameter and
    the stock. The last pass before each bore is therefore the lightest.

    start [mm]: diameter of the start hole. bores [mm]: finished bores, a number or a list.
    drive [N*m]: torque of the drive, a number or draws. chance: wanted chance that a pass is within it, 0 to 1.
    tool: a cutting.TOOLS word or a Tool. most_stock_on_diameter [mm]: the most that the maker lets a pass take, for
    chips and finish, whatever the drive can do; no such rule where None. length [mm]: of the hole. feed
    [mm/turn]: wanted; the drive may take less. rate [turn/min]: useful turns. alloy, edge: names in the reference
    tables, used where `draws` is None.
    draws: {key: Quantity} as a study holds them, of the same number as `drive` where that is drawn.

    Returns a DataFrame, one row for each pass: tool, diameter_mm, stock_on_diameter_mm, torque_Nm (median, and 5 % and
    95 %), chance_bow, chance_wrench, feed_mm (that the drive takes with the chance asked), turns, minutes, bore
    (finished or not).
    Raises ValueError where a bore is not above the start hole, or no step at all is within the drive.
    Validity: that of cutting.pass_torque.
    """
    import pandas as pd
    tool = tool if isinstance(tool, Tool) else Tool(kind=tool)
    draws = draws or reference_draws(alloy, edge)
    drive, goals = Q(drive, "N*m"), sorted(np.atleast_1d(bores))
    if goals[0] <= start:
        raise ValueError(f"a bore of {goals[0]:g} mm is not above the start hole of {start:g} mm; start with a smaller "
                         f"drill")

    def one(before, after):
        return Passes((Step("ream", "", Q(before, "mm"), Q(after, "mm"), tool=tool),))

    def holds(before, after):
        return _chance(one(before, after).torque(draws)[0], drive) >= chance

    sizes, hole = [start], start
    while hole < goals[-1] - 1e-9:
        goal = min(next(g for g in goals if g > hole + 1e-9), hole + (most_stock_on_diameter or np.inf))
        if not holds(hole, goal):
            low, high = hole, goal
            for _ in range(40):   # bisection on the step: a thousandth of a micrometre after forty halvings
                middle = (low + high) / 2
                low, high = (middle, high) if holds(hole, middle) else (low, middle)
            if low - hole < 0.005:
                raise ValueError(f"from {hole:.2f} mm on, the drive cannot turn a {tool.kind} at any stock worth "
                                 f"taking with a chance "
                                 f"of {chance:g}; a larger pulley, a stronger arm, fewer edges, or the wrench")
            goal = low
        sizes.append(goal)
        hole = goal
    wrench, rows = wrench_torque(draws), []
    for before, after in zip(sizes, sizes[1:]):
        cut = one(before, after)
        torque, takes = cut.torque(draws)[0], cut.feed_for(drive, draws)[0].m_as("mm")
        takes = min(feed, float(np.quantile(takes, 1 - chance)))
        low, mid, high = np.quantile(torque.m_as("N*m"), (0.05, 0.5, 0.95))
        rows.append({"pass": len(rows) + 1, "tool": tool.kind, "diameter_mm": after,
                     "stock_on_diameter_mm": after - before,
                     "torque_Nm": mid, "torque_5": low, "torque_95": high, "chance_bow": _chance(torque, drive),
                     "chance_wrench": _chance(torque, wrench), "feed_mm": takes, "turns": length / takes,
                     "minutes": length / takes / rate, "bore": bool(np.isclose(after, goals).any())})
    return pd.DataFrame(rows).set_index("pass")


@units(bore="mm > 0", stock_on_diameter="mm > 0", pulleys="mm > 0", wrap="turn > 0", chance="> 0 < 1", length="mm > 0",
       feed="mm/turn > 0")
def lathe_for(bore, stock_on_diameter="0.5 mm", tool="half-round bit", alloy="tin bronze, cast", edge="freshly ground",
              drive="bow lathe",
              pulleys=Q(np.array([20., 30, 40, 60, 80]), "mm"), wrap="2 turn", chance=0.9, length="60 mm",
              feed="0.03 mm/turn", draws=None):
    """What the lathe must have for a bore: pull, cord pre-tension and time for each pulley, at the chance asked.

    bore [mm]: finished diameter of the pass. stock_on_diameter [mm]: of the pass. tool, alloy, edge, drive: names in
    the reference tables. pulleys [mm]: pulleys to compare, to the cord's middle. wrap [turn]: cord on the pulley.
    chance: 0 to 1. length [mm]: of the hole. feed [mm/turn]: wanted (never below what the edge needs to bite).
    Returns a DataFrame, one row for each pulley: pulley_mm, torque_Nm (exceeded with 1 - chance), pull_N,
    rest_tension_N, turns_a_minute, minutes, chance_arm (that the arm gives that pull for that long), chance_cord (that
    a cord as usually strung holds).
    Validity: that of cutting.pass_torque and bow.cord_limit.
    """
    import pandas as pd
    tool = tool if isinstance(tool, Tool) else Tool(kind=tool)
    draws = draws or reference_draws(alloy, edge, drive)
    cut = Passes((Step("ream", "", Q(bore - stock_on_diameter, "mm"), Q(bore, "mm"), tool=tool),))
    torque, wrap, rows = cut.torque(draws)[0], Q(wrap, "turn"), []
    takes = np.maximum(feed, cut.least_feed(draws).m_as("mm"))
    for pulley in np.atleast_1d(pulleys):
        pulley = Q(pulley, "mm")
        rate = bow.turns_per_minute(length=draws["drive.stroke_length"], pulley_diameter=pulley,
                                    frequency=draws["drive.stroke_frequency"], duty=draws["drive.duty"])
        minutes = Q(length / takes / rate.m_as("turn/min"), "min")
        needed = bow.pull_for(torque=torque, pulley_diameter=pulley, centre_torque=centre_torque(draws))
        tension = bow.rest_tension_for(pull=needed, friction=draws["cord.friction"], wrap=wrap)
        given = bow.pull(minutes=minutes, one_minute=draws["drive.pull_one_minute"],
                         sustained=draws["drive.pull_sustained"])
        limit = bow.cord_limit(rest_tension=draws["drive.rest_tension"], friction=draws["cord.friction"], wrap=wrap)
        at = {name: float(np.quantile(q.m_as(unit), chance)) for name, q, unit in
              (("torque_Nm", torque, "N*m"), ("pull_N", needed, "N"), ("rest_tension_N", tension, "N"))}
        rows.append({"pulley_mm": pulley.m, **at, "turns_a_minute": float(np.median(rate.m_as("turn/min"))),
                     "minutes": float(np.median(minutes.m)), "chance_arm": _chance(needed, given),
                     "chance_cord": _chance(needed, limit)})
    return pd.DataFrame(rows).set_index("pulley_mm")
