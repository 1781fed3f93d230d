"""What the maker settles at the bench, told to the maker: a row a step, and a card for every tool that must be made."""
import numpy as np

from kit.base import words
from kit.estimates import edges
from kit.operations import settle
from kit.operations.tools import to_stone
from kit.study.outcomes import cases_of

STONED = "5 um"   # off a face at one stoning, by which a tool's card counts how many it has in it

# the ways to settle a step: as a sentence has each, and what it means
WAYS = {
    settle.FEEL: ("settled by feel", "The maker sets each step by what the hand feels, with an error and a reserve: "
                  "the headline."),
    settle.PLANNED: ("all as planned", "Feed and pressure as the plan wishes them, come what may."),
    settle.BEST: ("at the best single setting of each step", "One setting a step, chosen beforehand as the one that "
                  "does most often, and kept whatever the metal and the arm turn out to be."),
    settle.HINDSIGHT: ("with hindsight, a bound that nobody reaches", "Each time the setting that turns out to meet "
                       "every limit, where there is one: what lies above by feel is what better feeling could gain.")}


def _three(draws):
    return tuple(float(x) for x in np.quantile(draws, (0.05, 0.5, 0.95)))


def instructions(plan, values, adapt):
    """DataFrame, a row for each step of each tube: what is settled (feed a turn in mm, pressure in kPa) with its median
    and 5 % and 95 % points, minutes at the bench, how often the edge goes to the stone, share of draws by wrench, what
    holds the work. plan, values, adapt: as for `outcomes.outcomes`."""
    import pandas as pd
    rows = []
    for case in cases_of(plan, values, adapt):
        for each in case.operations:
            name, unit = each.settles
            for row, (step, hours) in enumerate(zip(each.steps, each.hours)):
                found = {"tube": case.tube.name, "step": step.name, "settles": name, "unit": unit}
                if each.bounds:
                    found |= dict(zip(("low_5", "median", "high_95"), _three(each.setting.m[row])))
                found |= dict(zip(("minutes_5", "minutes", "minutes_95"), _three(hours.m_as("min"))))
                if hasattr(each, "regrinds"):
                    found |= dict(zip(("regrinds_5", "regrinds", "regrinds_95"), _three(each.regrinds.m[row])))
                hand = getattr(each, "hand", None)
                each_hand = each.by_hand if hand is None else each.hand[row]
                rows.append(found | {"by_wrench": float(np.mean(each_hand)), "held_by": each.held_by})
    return pd.DataFrame(rows)


def for_reading(table):
    """The same in words: 'feed 12 (8.1 to 30) µm a turn'."""
    import pandas as pd
    rows = []
    for row in table.itertuples():
        settled, turns = "", " a turn" if row.settles == "feed" else ""
        if row.settles and np.isfinite(row.median):
            settled = f"{row.settles} {words.ranged(row.low_5, row.median, row.high_95, row.unit)}{turns}"
        stoned = words.ranged(row.regrinds_5, row.regrinds, row.regrinds_95) if np.isfinite(
            getattr(row, "regrinds", np.nan)) else ""
        rows.append({"tube": row.tube, "step": row.step, "settled at the bench": settled,
                     "time at the bench": words.ranged(row.minutes_5, row.minutes, row.minutes_95, "min"),
                     "back to the stone, times": stoned,
                     "turned by": "wrench in " + words.percent(row.by_wrench) if row.by_wrench > 0.005 else "bow",
                     "held by": row.held_by})
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
        smaller = f"{words.number(row.smaller_um, 2)} µm" if row.smaller_um else "nothing"
        rows.append({"tool": row.tool, "diameter when new": f"{words.exact(row.diameter_mm)} mm",
                     "shank": f"{row.shank}, {words.number(row.shank_mm)} mm", "teeth": shape,
                     "hardness of the edge": words.ranged(row.hardness_5, row.hardness, row.hardness_95, "HV"),
                     "way of cut for the whole part": words.ranged(row.cut_5_m, row.cut_m, row.cut_95_m, "m"),
                     "stonings that it takes": words.ranged(row.stonings_5, row.stonings, row.stonings_95),
                     "smaller by each": smaller})
    return pd.DataFrame(rows)


def tools(plan, values, adapt):
    """DataFrame, a card for every tool that must be made: what it is, its diameter new, shank, teeth and lead angle,
    hardness of the edge (5 %, median, 95 %), the way of cut that the whole part asks of it, how often it goes to the
    stone for that, and how much smaller each stoning of its faces makes it."""
    import pandas as pd
    from kit.base.units import Q
    cards = {}
    for case in cases_of(plan, values, adapt):
        for each in (e for e in case.operations if e.has_tool):
            ways = each.cut.cut_length(case.tube.length, each.setting)
            for row, step in enumerate(each.steps):
                key = step.tool.kind, round(step.diameter.m_as("mm"), 4)   # to a tenth of a µm one tool
                way = ways[row] + (cards[key][1] if key in cards else 0 * ways[row])
                cards[key] = step, way, to_stone(case.means), case.means["edge_metal.hardness"]
    rows = []
    for (kind, diameter), (step, way, life, hardness) in sorted(cards.items()):
        tool, stoned = step.tool, Q(STONED)
        smaller = {"fluted reamer": edges.reamer_shrinkage(stoned=stoned, clearance_angle="7 deg"),
                   "polygon broach": edges.broach_shrinkage(stoned=stoned, sides=tool.teeth)}.get(kind, 0 * stoned)
        rows.append({"tool": kind, "diameter_mm": diameter, "shank": tool.shank,
                     "shank_mm": diameter * tool.shank_ratio,
                     "teeth": tool.teeth if kind in ("fluted reamer", "polygon broach") else np.nan,
                     "lead_deg": tool.lead_angle.m_as("deg") if kind == "fluted reamer" else np.nan,
                     **dict(zip(("hardness_5", "hardness", "hardness_95"), _three(hardness.m_as("MPa") / 9.807))),
                     **dict(zip(("cut_5_m", "cut_m", "cut_95_m"), _three(way.m_as("m")))),
                     **dict(zip(("stonings_5", "stonings", "stonings_95"), _three((way / life).m_as("")))),
                     "smaller_um": smaller.m_as("um")})
    return pd.DataFrame(rows)
