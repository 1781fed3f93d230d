"""Routes: the steps by which a tube is made, the reamers a nest needs, the lathe a bore needs."""
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import evidence, tables
from kit.estimates import bow, cutting
from kit.base.units import Q, magnitude, read, units

OPERATIONS = ("drill", "ream", "turn", "file", "lap")
DRIVES = ("bow", "hand", "bow or hand")
SHANKS = tuple(cutting.SECTIONS)


@dataclass(frozen=True)
class Tool:
    """A cutting tool: its kind (cutting.TOOLS) and the shape its maker gave it. shank_ratio: shank over cutting diameter."""
    kind: str
    teeth: int = 6
    lead_angle: Q = read("45 deg")
    point_angle: Q = read("118 deg")
    shank: str = "round"
    shank_ratio: float = 0.8


@dataclass(frozen=True)
class Step:
    """One step of a route, as expanded for one tube. Lengths are diameters; `before` is what the step finds."""
    operation: str
    name: str
    before: Q
    diameter: Q
    feed: Q | None = None        # a turn
    drive: str = "bow"
    tool: Tool | None = None
    depth: Q | None = None       # turning: radial depth of cut
    abrasive: str | None = None
    pressure: Q | None = None
    hours: Q | None = None
    stock: Q | None = None       # lapping: on diameter; None takes what is left to take


@dataclass(frozen=True)
class Passes:
    """Steps that one kind of tool does, side by side: lengths of shape (passes, 1) that meet draws of shape (n,)."""
    steps: tuple

    @cached_property
    def tool(self):
        return self.steps[0].tool

    def column(self, name):
        return Q(np.array([[getattr(s, name).m_as("mm")] for s in self.steps]), "mm")

    @cached_property
    def diameter(self):
        return self.column("diameter")

    @cached_property
    def stock(self):
        """Radial stock of each pass."""
        return (self.diameter - self.column("before")) / 2

    @cached_property
    def shape(self):
        """The arguments by which cutting.py knows the tool and its cut."""
        t = self.tool
        return dict(tool=t.kind, diameter=self.diameter, stock=self.stock, teeth=t.teeth, lead_angle=t.lead_angle,
                    point_angle=t.point_angle)

    def load(self, draws):
        """What a turn costs besides the chip thickness: arguments for cutting.pass_torque and cutting.pass_chip."""
        load = dict(kc11=draws["alloy.kc11"], exponent=draws["alloy.exponent"], edge_force=draws["edge.edge_force"])
        if self.tool.kind == "half-round bit":
            load["guide_friction"] = draws["guide.friction"]
        if self.tool.kind in ("fluted reamer", "polygon broach"):
            load["friction_torque"] = cutting.margin_friction_torque(
                friction=draws["guide.friction"], pressure=draws["margins.pressure"], margin_width=draws["margins.width"],
                contact_length=draws["margins.length"], teeth=self.tool.teeth, diameter=self.diameter)
        if self.tool.kind == "polygon broach":
            load["rake_factor"] = draws["model.broach_rake"]
        return load

    def least_feed(self, draws):
        """Feed a turn at which the edge only just bites: the least viable chip on every edge."""
        return least_chip(draws) * cutting.engagement(**self.shape).feed_per_chip

    def torque(self, draws, chip=None):
        """Torque of each pass, shape (passes, n), at a chip thickness, or at the least viable one where None."""
        factor = draws["model.cutting_torque"]
        if self.tool.kind == "two-lip drill":
            factor = factor * draws["model.drill_chisel_and_margins"]
        chip = least_chip(draws) if chip is None else chip
        return factor * cutting.pass_torque(chip=chip, **self.shape, **self.load(draws))

    def feed_for(self, torque, draws):
        """Feed a turn that a drive of this torque can take, 0 where it cannot even drag the edges round."""
        factor = draws["model.cutting_torque"]
        if self.tool.kind == "two-lip drill":
            factor = factor * draws["model.drill_chisel_and_margins"]
        chip = cutting.pass_chip(torque=torque / factor, **self.shape, **self.load(draws))
        return chip * cutting.engagement(**self.shape).feed_per_chip


def least_chip(draws):
    """The thinnest chip that still comes off: a share of the edge's radius."""
    return draws["edge.least_chip_ratio"] * draws["edge.edge_radius"]


TINY = Q(1e-6, "mm")   # two roads to one diameter differ by rounding
DIAMETER = re.compile(r"\s*(bore|outside)\s*(?:([+-])\s*(.+))?$")


def diameter_of(text, bore, outside):
    """Diameter from text: a length ('4.5 mm'), or 'bore' or 'outside' with a length added or taken off ('bore - 0.1 mm')."""
    match = DIAMETER.match(text)
    if not match:
        return Q(magnitude(text, "mm > 0", "diameter"), "mm")
    base = {"bore": bore, "outside": outside}[match[1]]
    if match[2]:
        change = Q(magnitude(match[3], "mm >= 0", "diameter"), "mm")
        base = base + change if match[2] == "+" else base - change
    return base


def expand(route, bore, outside, blank, hole):
    """Steps of a route for one tube: names resolved to diameters, and long cuts split into passes.

    route: list of dicts as in study.toml, already checked for keys and words (see study.py). bore, outside: of the
    finished tube; blank: outside of the blank; hole: cast in the blank, 0 for none (all Quantities). A reaming step with
    `stock` (on diameter) is split into the fewest equal passes of no more than that. A step that finds the hole at its
    own size already is left out.
    Raises ValueError for a hole that would get smaller or pass the bore, or an outside that would get larger or pass the
    finished one, with the step's number; and where either ends short of its finished size.
    """
    steps, round_ = [], blank
    for position, entry in enumerate(route, 1):
        place, operation = f"step {position} ({entry['operation']})", entry["operation"]
        common = {k: entry[k] for k in ("feed", "drive", "tool", "depth", "abrasive", "pressure", "hours") if k in entry}
        if operation in ("drill", "ream"):
            target = diameter_of(entry["to"], bore, outside)
            if target > bore + TINY:
                raise ValueError(f"{place}: {entry['to']!r} is {target:.3f~P}, larger than the finished bore {bore:.3f~P}; "
                                 "write 'bore', or less")
            if target < hole - TINY:
                raise ValueError(f"{place}: {entry['to']!r} is {target:.3f~P}, but the hole is {hole:.3f~P} already; "
                                 "put the steps in order of size, or leave this one out")
            passes = 1
            if "stock" in entry and hole > 0:
                passes = max(1, int(np.ceil(((target - hole) / entry["stock"]).m_as("") - 1e-9)))
            sizes = np.linspace(hole.m_as("mm"), target.m_as("mm"), passes + 1)
            for before, after in zip(sizes, sizes[1:]):
                if after - before > 1e-6:
                    steps.append(Step(operation, f"{entry['name']} to {after:.2f} mm", Q(before, "mm"), Q(after, "mm"), **common))
            hole = target
        elif operation in ("turn", "file"):
            target = diameter_of(entry["to"], bore, outside)
            if target < outside - TINY:
                raise ValueError(f"{place}: {entry['to']!r} is {target:.3f~P}, smaller than the finished outside {outside:.3f~P}; "
                                 "write 'outside', or more")
            if target > round_ + TINY:
                raise ValueError(f"{place}: {entry['to']!r} is {target:.3f~P}, but the outside is {round_:.3f~P} already; "
                                 "put the steps in order of size, or leave a larger blank (blank_stock)")
            steps.append(Step(operation, f"{entry['name']} to {target.m_as('mm'):.2f} mm", round_, target, **common))
            round_ = target
        else:
            steps.append(Step(operation, entry["name"], bore, bore, stock=entry.get("stock"), **common))
    operations = {entry["operation"] for entry in route}
    if operations & {"drill", "ream"} and hole < bore - TINY:
        raise ValueError(f"the hole ends at {hole:.3f~P}, short of the finished bore {bore:.3f~P}; end with a step to 'bore'")
    if operations & {"turn", "file"} and round_ > outside + TINY:
        raise ValueError(f"the outside ends at {round_:.3f~P}, short of the finished {outside:.3f~P}; end with a step to 'outside'")
    return tuple(steps)


def passes(steps, *operations):
    """The steps of these operations, grouped by tool into Passes, in order of first use."""
    groups = {}
    for step in steps:
        if step.operation in operations:
            groups.setdefault(step.tool, []).append(step)
    return [Passes(tuple(group)) for group in groups.values()]


def reference_draws(alloy="tin bronze, cast", edge="freshly ground", drive="bow lathe", n=4096, seed=1):
    """Draws of all that a cut and a bow rest on, from the reference tables alone: {key: Quantity}."""
    rows = {}
    for prefix, table, of in (("alloy", "alloys", alloy), ("edge", "edges", edge), ("drive", "drives", drive),
                              ("guide", "friction", "steel on bronze, oiled"), ("cord", "friction", "gut on wood"),
                              ("margins", "workshop", "margins"), ("centre", "workshop", "centres"),
                              ("wrench", "hands", "two-handed wrench")):
        rows |= evidence.reference(table, of, prefix)
    return evidence.draw([*rows.values(), *model_factors().values()], n, seed)


def model_factors():
    """How far each formula may be off: {'model.cutting_torque': Assumption, ...}."""
    from dataclasses import replace
    names = dict.fromkeys(row["of"] for row in tables.load("models"))
    return {(key := f"model.{of.replace(' ', '_')}"): replace(evidence.reference("models", of, "model")["model.factor"], key=key)
            for of in names}


def wrench_torque(draws):
    """Torque of two hands on a wrench, gently: for feel and for the tool, well under what they could."""
    return (2 * draws["wrench.force"] * draws["wrench.arm"]).to("N*m")


def centre_torque(draws, half_angle="30 deg"):
    """Drag of both centres."""
    return 2 * bow.centre_torque(load=draws["centre.load"], radius=draws["centre.radius"], half_angle=half_angle,
                                 friction=draws["centre.friction"])


def bow_torque(draws, pulley, minutes="30 min"):
    """Torque at the spindle that the arm gives for a step of so many minutes, the drag of the centres taken off.

    draws: {key: Quantity} of a study or of `reference_draws`. pulley: diameter to the cord's middle.
    """
    pull = bow.pull(minutes=minutes, one_minute=draws["drive.pull_one_minute"], sustained=draws["drive.pull_sustained"])
    return bow.spindle_torque(pull=pull, pulley_diameter=pulley, centre_torque=centre_torque(draws))


def torques(bores, stock, tools, draws):
    """Torque of one pass of each tool, at its least viable chip, over a row of bores: {name: N*m, shape (bores, n)}.

    bores: finished diameters. stock: radial. tools: {name: Tool}. draws: {key: Quantity}.
    """
    found = {}
    for name, tool in tools.items():
        steps = tuple(Step("ream", "", bore - 2 * stock, bore, tool=tool) for bore in bores)
        found[name] = Passes(steps).torque(draws)
    return found


def _chance(demand, capacity):
    return float(np.mean(capacity >= demand))


@units(start="mm > 0", bores="mm > 0", drive="N*m >= 0", chance="> 0 < 1", most_stock="mm > 0", length="mm > 0", feed="mm/turn > 0",
       rate="turn/min > 0")
def reamer_set(start, bores, drive, chance=0.9, tool="half-round bit", most_stock=None, length="60 mm", feed="0.03 mm/turn",
               rate="300 turn/min", alloy="tin bronze, cast", edge="freshly ground", draws=None):
    """The fewest reamers from a start hole to the finished bores such that no pass exceeds the drive.

    A nest shares its reamers: each tube is opened with the common set up to its own bore. From the start hole the
    largest step that the drive can take at the least viable chip, with the chance asked, is taken again and again, and
    every finished bore gets its own reamer; no shorter list exists, because the torque grows with the diameter and the
    stock. The last pass before each bore is therefore the lightest.

    start [mm]: diameter of the start hole. bores [mm]: finished bores, a number or a list.
    drive [N*m]: torque of the drive, a number or draws. chance: wanted chance that a pass is within it, 0 to 1.
    tool: a cutting.TOOLS word or a Tool. most_stock [mm]: on diameter, the most that the maker lets a pass take for the
    sake of chips and finish, whatever the drive can do; no such rule where None. length [mm]: of the hole. feed [mm/turn]: wanted; the drive may take less.
    rate [turn/min]: useful turns. alloy, edge: names in the reference tables, used where `draws` is None.
    draws: {key: Quantity} as a study holds them, of the same number as `drive` where that is drawn.

    Returns a DataFrame, a row a pass: tool, diameter_mm, stock_on_diameter_mm, torque_Nm (median, and 5 % and 95 %),
    chance_bow, chance_wrench, feed_mm (that the drive takes with the chance asked), turns, minutes, bore (finished or not).
    Raises ValueError where a bore is not above the start hole, or no step at all is within the drive.
    Validity: that of cutting.pass_torque.
    """
    import pandas as pd
    tool = tool if isinstance(tool, Tool) else Tool(kind=tool)
    draws = draws or reference_draws(alloy, edge)
    drive, goals = Q(drive, "N*m"), sorted(np.atleast_1d(bores))
    if goals[0] <= start:
        raise ValueError(f"a bore of {goals[0]:g} mm is not above the start hole of {start:g} mm; start with a smaller drill")

    def one(before, after):
        return Passes((Step("ream", "", Q(before, "mm"), Q(after, "mm"), tool=tool),))

    def holds(before, after):
        return _chance(one(before, after).torque(draws)[0], drive) >= chance

    sizes, hole = [start], start
    while hole < goals[-1] - 1e-9:
        goal = min(next(g for g in goals if g > hole + 1e-9), hole + (most_stock or np.inf))
        if not holds(hole, goal):
            low, high = hole, goal
            for _ in range(40):   # bisection on the step: a thousandth of a micrometre after forty halvings
                middle = (low + high) / 2
                low, high = (middle, high) if holds(hole, middle) else (low, middle)
            if low - hole < 0.005:
                raise ValueError(f"from {hole:.2f} mm on, the drive cannot turn a {tool.kind} at any stock worth taking with a chance "
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
        rows.append({"pass": len(rows) + 1, "tool": tool.kind, "diameter_mm": after, "stock_on_diameter_mm": after - before,
                     "torque_Nm": mid, "torque_5": low, "torque_95": high, "chance_bow": _chance(torque, drive),
                     "chance_wrench": _chance(torque, wrench), "feed_mm": takes, "turns": length / takes,
                     "minutes": length / takes / rate, "bore": bool(np.isclose(after, goals).any())})
    return pd.DataFrame(rows).set_index("pass")


@units(bore="mm > 0", stock="mm > 0", pulleys="mm > 0", wrap="turn > 0", chance="> 0 < 1", length="mm > 0", feed="mm/turn > 0")
def lathe_for(bore, stock="0.25 mm", tool="half-round bit", alloy="tin bronze, cast", edge="freshly ground", drive="bow lathe",
              pulleys=Q(np.array([20., 30, 40, 60, 80]), "mm"), wrap="2 turn", chance=0.9, length="60 mm", feed="0.03 mm/turn", draws=None):
    """What the lathe must have for a bore: pull, cord tension and time for each pulley, at the chance asked.

    bore [mm]: finished diameter of the pass. stock [mm]: radial. tool, alloy, edge, drive: names in the reference tables.
    pulleys [mm]: pulleys to compare, to the cord's middle. wrap [turn]: cord on the pulley. chance: 0 to 1.
    length [mm]: of the hole. feed [mm/turn]: wanted (never below what the edge needs to bite).
    Returns a DataFrame, a row a pulley: pulley_mm, torque_Nm (exceeded with 1 - chance), pull_N, rest_tension_N,
    turns_a_minute, minutes, chance_arm (that the arm gives that pull for that long), chance_cord (that a cord as usually strung holds).
    Validity: that of cutting.pass_torque and bow.cord_limit.
    """
    import pandas as pd
    tool = tool if isinstance(tool, Tool) else Tool(kind=tool)
    draws = draws or reference_draws(alloy, edge, drive)
    cut = Passes((Step("ream", "", Q(bore - 2 * stock, "mm"), Q(bore, "mm"), tool=tool),))
    torque, wrap, rows = cut.torque(draws)[0], Q(wrap, "turn"), []
    takes = np.maximum(feed, cut.least_feed(draws).m_as("mm"))
    for pulley in np.atleast_1d(pulleys):
        pulley = Q(pulley, "mm")
        rate = bow.turns_per_minute(length=draws["drive.stroke_length"], pulley_diameter=pulley,
                                    frequency=draws["drive.stroke_frequency"], duty=draws["drive.duty"])
        minutes = Q(length / takes / rate.m_as("turn/min"), "min")
        needed = bow.pull_for(torque=torque, pulley_diameter=pulley, centre_torque=centre_torque(draws))
        tension = bow.rest_tension_for(pull=needed, friction=draws["cord.friction"], wrap=wrap)
        given = bow.pull(minutes=minutes, one_minute=draws["drive.pull_one_minute"], sustained=draws["drive.pull_sustained"])
        limit = bow.cord_limit(rest_tension=draws["drive.rest_tension"], friction=draws["cord.friction"], wrap=wrap)
        at = {name: float(np.quantile(q.m_as(unit), chance)) for name, q, unit in
              (("torque_Nm", torque, "N*m"), ("pull_N", needed, "N"), ("rest_tension_N", tension, "N"))}
        rows.append({"pulley_mm": pulley.m, **at, "turns_a_minute": float(np.median(rate.m_as("turn/min"))),
                     "minutes": float(np.median(minutes.m)), "chance_arm": _chance(needed, given), "chance_cord": _chance(needed, limit)})
    return pd.DataFrame(rows).set_index("pulley_mm")


# --- rival ways of making the part --------------------------------------------------------------------------------------

def rival(name):
    """Steps of a rival route from the reference table, in order, each a dict (chances, hours, metal, traces, removes).

    Raises tables.TableError for an unknown route, with the nearest names, and ValueError for a step that cannot follow the last.
    """
    known = tables.load("rival_routes")
    steps = [row for row in known if row["route"] == name]
    if not steps:
        raise tables.TableError(f"there is no route {name!r}; {tables.nearest(name, dict.fromkeys(r['route'] for r in known))}")
    check_order(steps)
    return steps


def check_order(steps):
    """Raises ValueError where a step needs one that has not gone before."""
    done = []
    for step in steps:
        if step["needs"] and step["needs"] not in done:
            raise ValueError(f"{step['step']!r} cannot follow {done[-1] if done else 'nothing'!r}: it needs {step['needs']!r} before it; put that step first")
        done.append(step["step"])


def traces_left(steps):
    """What can still be seen on the finished part: traces of the steps, less what later steps remove, in order."""
    seen = []
    for step in steps:
        gone = _words(step["removes"])
        seen = [t for t in seen if t not in gone]
        seen += [t for t in _words(step["traces"]) if t not in seen]
    return seen


def _words(text):
    return [word.strip() for word in (text or "").split(";") if word.strip()]


def compare(rivals, n=2**12, seed=1):
    """Rival routes side by side: chance, hours, metal, and the traces by which they could be told apart.

    rivals: a list of names of routes (data/reference/rival_routes.csv), or of (name, study) pairs, where the study's
    verdict on one tube stands beside the table's judgement, and its hours instead of the table's. n, seed: of the draws.
    Returns a DataFrame, a row a route: within_reach (the study's chance that capacity exceeds demand in every step of a
    tube; missing where there is no study), chance (judged: that one blank comes through every step; mean, 5 % and 95 %
    of what is believed; another thing than the former), hours (median, 5 %, 95 %), metal (in over out), traces (left on the part), tells (those that no other
    route here leaves), weakest_evidence. It ranks nothing: a route that is likelier or quicker is not the one that was
    taken, and only a trace that a rival does not leave speaks against the rival.
    Validity: the chances and hours of the table are judgement; steps are taken as independent.
    Raises ValueError for a name that stands twice or a step that cannot follow, tables.TableError for an unknown route.
    """
    import pandas as pd
    named = [(r, None) if isinstance(r, str) else r for r in rivals]
    names = [name for name, _ in named]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"{name!r} stands twice; compare each route once")
    left = {name: traces_left(rival(name)) for name in names}
    rows = {}
    for name, study in named:
        steps = rival(name)
        drawn = evidence.draw([a for i, step in enumerate(steps) for a in _judged(step, i)], n, seed)
        chance = np.prod([np.clip(drawn[f"chance {i}"].m, 0, 1) for i in range(len(steps))], axis=0)
        hours = np.sum([drawn[f"hours {i}"].m for i in range(len(steps))], axis=0)
        grade, within = max((step["grade"] for step in steps), key=evidence.GRADES.index), np.nan
        if study is not None:
            verdict = study.assess(n, seed)
            tubes = [t.name for t in study.tubes]   # one tube against one blank of a rival: what all tubes share is left out
            within = float(np.mean([np.logical_and.reduce([line.met for line in verdict.lines if line.tube == name]) for name in tubes]))
            worked = [line for line in verdict.lines if line.criterion == "labour"]
            hours = worked[0].demand / len(study.tubes) if worked else hours
            grade = verdict.weakest_evidence[0] if verdict.weakest_evidence else ""
        low, mid, high = np.quantile(hours, (0.05, 0.5, 0.95))
        others = {t for other in names if other != name for t in left[other]}
        rows[name] = {"within_reach": within, "chance": chance.mean(), "chance_5": np.quantile(chance, 0.05), "chance_95": np.quantile(chance, 0.95), "hours": mid, "hours_5": low,
                      "hours_95": high, "metal": max((step["metal"] or 1) for step in steps), "traces": "; ".join(left[name]),
                      "tells": "; ".join(t for t in left[name] if t not in others), "weakest_evidence": grade}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("route")


def _judged(step, position):
    common = {"shape": "uniform", "grade": step["grade"], "source": step["source"], "limits": "p5_p95", "value": None}
    yield evidence.Assumption(f"chance {position}", low=step["chance_low"], high=step["chance_high"], unit="", **common)
    yield evidence.Assumption(f"hours {position}", low=step["hours_low"], high=step["hours_high"], unit="h", **common)
