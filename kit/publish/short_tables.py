"""The short tables of a report, which a reader takes in at a glance; in full they stand in the annex."""
import re

import numpy as np

from kit.base import words
from kit.publish.blocks import Table

SIDE_BY_SIDE = 6   # tubes that get a column each
LEAST_CERTAIN = 8  # criteria whose ground is told


def plan(worked, annexed):
    """The maker's table: a row a step, the diameter that each tube leaves it with, what is settled at the bench, the
    time. worked: a WorkedOut. annexed: {name of a sheet: its number in the annex}."""
    import pandas as pd
    study, bench = worked.study, worked.at_the_bench.instructions
    settled = {(row.tube, row.step): row for row in bench.itertuples()}
    rows, tubes, orders = {}, study.parts, []
    for tube in tubes:
        seen = []
        for step in study.steps(tube):
            name = re.sub(r" to [\d.]+ mm$", "", step.name)
            seen.append((name, sum(earlier == name for earlier, _ in seen)))
            rows.setdefault(seen[-1], {})[tube.name] = step, settled.get((tube.name, step.name))
        orders.append(seen)
    told = []
    for (name, _), found in ((key, rows[key]) for key in _in_order(orders)):
        row = {"step": name}
        sizes = [words.exact(round(found[t.name][0].diameter.m_as("mm"), 4)) if t.name in found else "" for t in tubes]
        if len(tubes) <= SIDE_BY_SIDE:
            row |= {f"{t.name}, mm": size for t, size in zip(tubes, sizes)}
        else:
            row["leaves, mm"] = ", ".join(filter(None, sizes))
        there = [at for _, at in found.values() if at is not None]
        told.append(row | {"settled by feel": _settled(there), "minutes a tube": _minutes(there)})
    return Table(pd.DataFrame(told), "Table 2. The plan for the bench: each step, the diameter that it leaves on each "
                 "tube (a lap: the size it is lapped at), feed or pressure as settled by feel (median; least 5 % to "
                 "greatest 95 % point of the tubes), and minutes for one tube (medians, least to greatest). In full: "
                 f"annex, tables {annexed['stock_plan']} and {annexed['settled']}", "plan")


def _in_order(orders):
    """Steps as a maker meets them: those of the first tube, and what each further one alone has, after what it comes
    after."""
    order = []
    for steps in orders:
        at = 0
        for key in steps:
            if key not in order:
                order.insert(at, key)
            at = order.index(key) + 1
    return order


def _settled(steps):
    there = [row for row in steps if row.settles and np.isfinite(row.median)]
    if not there:
        return ""
    return (f"{there[0].settles} " + words.ranged(min(row.low_5 for row in there),
                                                  float(np.median([row.median for row in there])),
                                                  max(row.high_95 for row in there), there[0].unit)
            + (" a turn" if there[0].settles == "feed" else ""))


def _minutes(steps):
    if not steps:
        return ""
    low, high = (words.number(pick(row.minutes for row in steps), 2) for pick in (min, max))
    return low if low == high else f"{low} to {high}"


def rests_on(worked, annexed):
    """The least certain criteria, each once at its worst tube, and the assumption that moves each margin most."""
    import pandas as pd
    table = worked.verdict_table.sort_values(["chance", "margin"]).drop_duplicates("criterion").head(LEAST_CERTAIN)
    grades = worked.register["grade"]
    sources = {key: worked.cited[source] for key, source in worked.register["source"].items()}
    rows = [{"criterion": row.criterion, "of": row.tube, "chance": words.chance(row.chance),
             "rests most on": row.assumption, "share of variance": words.percent(row.share),
             "grade": grades.get(_bare(row.carried_by), ""), "source": sources.get(_bare(row.carried_by), "")}
            for row in table.itertuples()]
    return Table(pd.DataFrame(rows), f"Table 1. The {len(rows)} least certain criteria, each at its worst tube, and "
                 "the assumption that moves its margin most: its share of the variance of the margin, the grade of its "
                 f"evidence, its source. All assumptions: annex, table {annexed['assumptions']}; all criteria: table "
                 f"{annexed['verdict']}", "rests-on")


def _bare(key):
    return str(key).partition("@")[0]
