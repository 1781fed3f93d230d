"""What the maker settles at the bench, told to the maker: a row a step, and a card for every tool that must be made."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import edges
from kit.operations import settle
from kit.operations.chain import OPERATIONS
from kit.operations.operation import Bowed
from kit.operations.tools import same_tool, stonings_in, to_stone
from kit.study.outcomes import cases_of

# the ways to settle a step: as a sentence has each, and what it means
WAYS = {
    settle.FEEL: ("settled by feel", "The maker sets each step by what the hand feels, with an error and a reserve: "
                  "the headline."),
    settle.PLANNED: ("all as planned", "Feed and pressure as the plan wishes them, come what may."),
    settle.BEST: ("at the best single setting of each step, each chosen by itself",
                  "One setting a step, chosen beforehand as the one that does most often, "
                  "and kept whatever the metal and the arm turn out to be. Each step's is chosen by "
                  "its own limits alone, the plan's among them, so that all steps together may come out a little below "
                  "the plan."),
    settle.HINDSIGHT: ("with hindsight, a bound that nobody reaches", "Each time the setting that turns out to meet "
                       "every limit, where there is one: what lies above by feel is what better feeling could gain.")}


def _three(draws):
    return tuple(float(x) for x in np.quantile(draws, (0.05, 0.5, 0.95)))


def instructions(plan, values, adapt):
    """DataFrame, a row for each step of each tube: what is settled (feed a turn in mm, pressure in kPa) with its median
    and 5 % and 95 % points, minutes at the bench, how often the edge goes to the stone, share of draws by wrench, what
    holds the work; where a step has a drive of its own, its name, and where it burns charcoal, how much (kg). plan,
    values, adapt: as for `outcomes.outcomes`."""
    import pandas as pd
    rows = []
    for case in cases_of(plan, values, adapt):
        for each in case.operations:
            name, unit = each.settles
            for row, (step, hours, burnt) in enumerate(zip(each.steps, each.hours, each.fuel)):
                found = {"tube": case.tube.name, "step": step.name, "settles": name, "unit": unit}
                if each.bounds:
                    found |= dict(zip(("low_5", "median", "high_95"), _three(each.setting.m[row])))
                found |= dict(zip(("minutes_5", "minutes", "minutes_95"), _three(hours.m_as("min"))))
                if hasattr(each, "regrinds"):
                    found |= dict(zip(("regrinds_5", "regrinds", "regrinds_95"), _three(each.regrinds.m[row])))
                if step.over is not None:
                    found["over_mm"] = step.over.m_as("mm")
                if step.lathe:
                    found["lathe"] = step.lathe
                if np.any(burnt.m > 0):
                    found |= dict(zip(("fuel_5", "fuel", "fuel_95"), _three(burnt.m_as("kg"))))
                by_hand = each.settling.by_hand if each.bounds else None
                wrench = 0.0 if by_hand is None else float(by_hand[row].mean())
                rows.append(found | {"by_wrench": wrench if isinstance(each, Bowed) else np.nan,
                                     "held_by": each.held_by})
    return pd.DataFrame(rows)


def _turned_by(wrench, lathe):
    """By what the work is turned, from the share of draws by wrench and the step's own drive; "" where nothing turns
    it."""
    if np.isnan(wrench):
        return ""
    if wrench > 0.005:
        return "wrench in " + words.percent(wrench)
    return lathe if isinstance(lathe, str) else "bow"


# of the demand and capacity in a verdict, see settle.settle
TOLD_AT = ("Where a step passes, demand and capacity are told at the feed or pressure with the most to spare within "
           "the bounds. The maker goes on from there, as near to the limit as the reserve allows: at what is settled "
           "by feel, as the drawings and the bench log's expectations have it, a step asks more torque and pull, and a "
           "lap takes more.")


def cautions(plan):
    """Usual cautions for what the routes do, each once, in order: {operation: what to mind}. Local rules and licensed
    practice come first."""
    found = {}
    for tube in plan.parts:
        for step in plan.steps(tube):
            if said := OPERATIONS[step.operation].caution:
                found.setdefault(step.operation, said)
        if tube.lengths:
            found["shoulder"] = SHOULDER
    return found


SHOULDER = ("At a shoulder the stress is greater, the more the sharper its corner, and a burr stands at its edge: "
            "round the corner, and take the burr off before anything is fitted or a finger goes in. The estimate "
            "counts neither.")


def for_reading(table):
    """The same in words: 'feed 12 (8.1 to 30) µm a turn'."""
    import pandas as pd
    rows = []
    for row in table.itertuples():
        settled, turns = "", " a turn" if row.settles == "feed" else ""
        if row.settles and np.isfinite(getattr(row, "median", np.nan)):
            settled = f"{row.settles} {words.ranged(row.low_5, row.median, row.high_95, row.unit)}{turns}"
        stoned = words.ranged(row.regrinds_5, row.regrinds, row.regrinds_95) if np.isfinite(
            getattr(row, "regrinds", np.nan)) else ""
        charcoal = getattr(row, "fuel", np.nan)
        fired = {} if "fuel" not in table else {"charcoal": "" if np.isnan(charcoal) else words.ranged(
            row.fuel_5, charcoal, row.fuel_95, "kg")}
        over = getattr(row, "over_mm", np.nan)
        worked = {} if "over_mm" not in table else {"over": "" if np.isnan(over) else f"{words.exact(over)} mm"}
        rows.append({"tube": row.tube, "step": row.step} | worked | {"settled at the bench": settled,
                     "time at the bench": words.ranged(row.minutes_5, row.minutes, row.minutes_95, "min"),
                     "back to the stone, times": stoned,
                     "turned by": _turned_by(row.by_wrench, getattr(row, "lathe", None)),
                     "held by": row.held_by} | fired)
    return pd.DataFrame(rows)


def cards_for_reading(table):
    """The tool cards of `tools` in words."""
    import pandas as pd
    rows = []
    for row in table.itertuples():
        shape = ""
        if np.isfinite(row.teeth):
            shape = f"{row.teeth:.0f} {'sides' if row.tool == 'polygon broach' else 'teeth'}"
        if np.isfinite(row.lead_deg):
            shape += f", lead angle {words.exact(row.lead_deg)}°"
        rows.append({"tool": row.tool, "diameter when new": f"{words.exact(row.diameter_mm)} mm",
                     "shank": f"{row.shank}, {words.number(row.shank_mm)} mm", "teeth": shape,
                     "hardness of the edge": words.ranged(row.hardness_5, row.hardness, row.hardness_95, "HV"),
                     "way of cut for the whole part": words.ranged(row.cut_m_5, row.cut_m, row.cut_m_95, "m"),
                     "stonings that it takes": words.ranged(row.stonings_5, row.stonings, row.stonings_95),
                     "that it has in it": (words.ranged(row.in_it_5, row.in_it, row.in_it_95)
                                           if np.isfinite(getattr(row, "in_it", np.nan)) else "no end"),
                     "smaller by each after": (words.ranged(row.smaller_um_5, row.smaller_um, row.smaller_um_95, "um")
                                               if row.smaller_um else "")})
    return pd.DataFrame(rows)


def tools(plan, values, adapt):
    """DataFrame, a card for every tool that must be made: what it is, its diameter new, shank, teeth and lead angle,
    hardness of the edge, the way of cut that the whole part asks of it, how often it goes to the stone for that, how
    often it can go there before it cuts under size (blank where that has no end), and how much smaller a stoning makes
    it from then on (each 5 %, median, 95 %)."""
    import pandas as pd
    cards = {}
    for case in cases_of(plan, values, adapt):
        for each in (e for e in case.operations if e.has_tool):
            ways = each.cut.cut_length(each.worked, each.setting)
            for row, step in enumerate(each.steps):
                key = same_tool(step)
                way = ways[row] + (cards[key][1] if key in cards else 0 * ways[row])
                cards[key] = step, way, case.means
    rows = []
    for (kind, diameter), (step, way, means) in sorted(cards.items(), key=lambda card: card[0]):
        tool, found = step.tool, {}
        told = {"hardness": means["edge_metal.hardness"].m_as("HV"), "cut_m": way.m_as("m"),
                "stonings": (way / to_stone(means)).m_as(""), "in_it": stonings_in(means, kind).m_as(""),
                "smaller_um": _smaller(means, tool).m_as("um")}
        for name, draws in told.items():
            if np.all(np.isfinite(draws)):
                found |= dict(zip((f"{name}_5", name, f"{name}_95"), _three(draws)))
        rows.append({"tool": kind, "diameter_mm": diameter, "shank": tool.shank,
                     "shank_mm": diameter * tool.shank_ratio,
                     "teeth": tool.teeth if kind in ("fluted reamer", "polygon broach") else np.nan,
                     "lead_deg": tool.lead_angle.m_as("deg") if kind == "fluted reamer" else np.nan} | found)
    return pd.DataFrame(rows)


def _smaller(means, tool):
    """How much smaller on diameter a stoning makes a tool whose spare is used up."""
    of = f"sharpened.{tool.kind}"
    if tool.kind == "fluted reamer":
        return edges.reamer_shrinkage(stoned=means[f"{of}.stoned"], clearance_angle=means[f"{of}.clearance_angle"])
    if tool.kind == "polygon broach":
        return edges.broach_shrinkage(stoned=means[f"{of}.stoned"], sides=tool.teeth)
    return Q(0.0, "um")
