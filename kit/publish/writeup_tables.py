"""The tables of a write-up, in order: in full for computing with, and as print has room for them."""
from dataclasses import dataclass, field

import numpy as np

from kit.base import words
from kit.publish import tabular
from kit.publish.strength import doing
from kit.publish.worked_out import source_said
from kit.study import bench, instructions, next_trials, reach, skill


@dataclass(frozen=True)
class Sheet:
    """A table of the write-up. printed: the columns that print has room for; the frame itself where None. fields: for
    the data dictionary, name, type and description of each column, where the table of columns does not say."""
    name: str
    frame: object
    caption: str
    printed: object = None
    fields: list = field(default_factory=list)

    @property
    def print_(self):
        return tabular.shown(self.frame if self.printed is None else self.printed)


def sheets(worked):
    """The tables of a write-up, in order, as Sheets. worked: a WorkedOut."""
    found = [_verdict(worked), _ways(worked), _strength(worked), _sizes(worked), _stock_plan(worked),
             _outside_checks(worked), _settled(worked), _tools(worked), _assumptions(worked), _trials(worked),
             _measured(worked), _deviations(worked), _rivals(worked), _weak(worked), _reach(worked),
             _next_trials(worked), _skill(worked), _photographs(worked)]
    return tuple(sheet for sheet in found if sheet)


def _verdict(worked):
    printed, table = worked.verdict.for_reading(), worked.verdict_table
    printed.insert(printed.columns.get_loc("chance") + 1, "chance in nine of ten worlds",
                   [f"{words.chance(row.chance_world_5)} to {words.chance(row.chance_world_95)}"
                    for row in table.itertuples()])
    return Sheet("verdict", table,
                 "Demand against capacity of every step and tube: medians, where it is worst most often; margin at the "
                 "worst place in each draw, median with its 5 % to 95 % range, so that it is not the quotient of the "
                 "two; chance of being met, and its 5 % to 95 % range over worlds of what is weakly known "
                 f"({worked.worlds_of}); {worked.made_of}", printed)


def _ways(worked):
    import pandas as pd
    verdict = worked.at_the_bench
    table = pd.DataFrame([{"way": way, "chance": chance, "meaning": instructions.WAYS[way][1]}
                          for way, chance in verdict.ways.items()])
    said = [instructions.WAYS[way][0] for way in table["way"]]
    printed = words.headed(table.assign(way=said, chance=table["chance"].map(words.chance)))
    return Sheet("ways", table, "Chance of all together by each way to settle what is settled at the bench, on the "
                 f"same draws ({verdict.drawn})", printed)


def _settled(worked):
    verdict = worked.at_the_bench
    return Sheet("settled", verdict.instructions, "What the maker settles at the bench, by feel: each step's feed or "
                 "pressure within the plan's bounds, its time and its visits to the stone; median with 5 % to 95 % "
                 f"range ({verdict.drawn})", instructions.for_reading(verdict.instructions))


def _tools(worked):
    """None where no step has a tool of the kit's."""
    verdict = worked.at_the_bench
    if not len(verdict.tools):
        return None
    return Sheet("tools", verdict.tools, "Tools that must be made, a card each: size when new, hardness of the edge, "
                 "the way of cut and the stonings that the whole part asks of it, how many it has in it before it cuts "
                 "under size, and how much smaller each makes it from then on; median with 5 % to 95 % range "
                 f"({verdict.drawn})", instructions.cards_for_reading(verdict.tools))


def _strength(worked):
    table = worked.strength.table
    return Sheet("strength", table, "The highest rung that each step allows, the weakest first",
                 words.headed(table.assign(step=table["step"].map(doing))))


def _sizes(worked):
    sizes = worked.study.dimensions.reset_index()
    return Sheet("sizes", sizes, "Sizes as planned; clearance on diameter", words.headed(as_planned(sizes)))


def _stock_plan(worked):
    plan = stock_plan(worked.study)
    return Sheet("stock_plan", plan, "Stock plan: each step with the diameter it finds and leaves; stock on diameter",
                 words.headed(as_planned(plan)))


def stock_plan(study):
    """DataFrame: each step of each tube, what it finds and leaves on diameter, and the choices of the maker."""
    import pandas as pd

    def as_number(value, unit):
        return np.nan if value is None else value.m_as(unit)

    rows = []
    for tube in study.parts:
        for i, step in enumerate(study.steps(tube), 1):
            before, after = step.before.m_as("mm"), step.diameter.m_as("mm")
            stock = (as_number(step.stock_on_diameter, "um") if step.operation == "lap" else
                     abs(before - after) * 1000)
            rows.append({"tube": tube.name, "number": i, "operation": step.operation, "with": step.name,
                         "before_mm": before, "after_mm": after, "stock_um": round(stock, 6),
                         "feed_mm": as_number(step.feed, "mm"), "pressure_kPa": as_number(step.pressure, "kPa"),
                         "hours_h": as_number(step.hours, "h"), "drive": step.drive})
    return pd.DataFrame(rows)


def _assumptions(worked):
    used = worked.register.reset_index()

    used["source"] = [source_said(worked.study, key, source, worked.cited)
                      + (" (study)" if key in worked.study.rows else "")
                      for key, source in zip(used["key"], used["source"])]
    ranges = used[["low_5", "median", "high_95", "unit"]].itertuples(index=False)
    printed = used[["assumption", "grade", "source"]].copy()
    printed.insert(1, "median (5 % to 95 %)", [words.ranged(*row, digits=3) for row in ranges])
    columns = ["key", "assumption", "median", "low_5", "high_95", "unit", "shape", "drawn", "each", "grade",
               "source", "note"]
    return Sheet("assumptions", used[columns],
                 "Assumptions that the verdict rests on: median with 5 % to 95 % range, grade of the evidence and "
                 "source; (study): given by this study, the others by the kit's reference tables. The CSV of this "
                 "table says for each what it means, and where in the source it stands", printed)


def _outside_checks(worked):
    table = worked.score.table
    table["source"] = [worked.cited[source] for source in table["source"]]
    return Sheet("outside_checks", table,
                 "What others measured and published, beside the 5 % to 95 % intervals that the reference tables "
                 "predict; a reading that moved a range, or that the tables are not meant for, is not scored",
                 outside_checks_for_reading(table))


def outside_checks_for_reading(table):
    """The table of a score in words: what was measured and predicted with its unit, inside or not, scored or why not.

    table: of score.Score.
    """
    import pandas as pd
    rows = []
    for row in table.itertuples():
        ends = row.measured_low, row.measured_high
        measured = words.exact(row.measured) if ends[0] == ends[1] else " to ".join(map(words.exact, ends))
        predicted = "" if np.isnan(row.median) else words.ranged(row.low_5, row.median, row.high_95, row.unit)
        rows.append({"quantity": row.quantity, "conditions": row.conditions,
                     "measured": words.with_unit(measured, row.unit), "predicted (5 % to 95 %)": predicted,
                     "inside": row.within, "scored": row.why_not and f"no: {row.why_not}" or "yes",
                     "source": row.source})
    return pd.DataFrame(rows)


def _trials(worked):
    """None where there is no log."""
    import pandas as pd
    if not worked.log:
        return None
    logged = worked.log.rows
    fields = [f for f in bench.schema()["fields"] if any(row[f["name"]] is not None for row in logged)]
    names = [f["name"] for f in fields]
    rows = pd.DataFrame([{name: row[name] for name in names} for row in logged], columns=names)
    # a gap makes no count a fraction
    rows = rows.astype({f["name"]: "Int64" for f in fields if f["type"] == "integer"})
    printed = [c for c in ("trial", "tube", "step", "operator", "measured_mm", "torque_Nm", "pull_N",
                           "pull_most_N", "minutes", "strokes", "outcome", "failure", "counted", "why_not",
                           "substitute") if c in rows]
    return Sheet("trials", rows, "Every trial on record, in order; measurements as read",
                 words.headed(rows[printed].map(_as_read)),
                 [{k: f[k] for k in ("name", "type", "description")} for f in fields])


def _as_read(value):
    """A reading as it was written down; other cells as they are."""
    return words.exact(value) if isinstance(value, float) and not np.isnan(value) else value


def _measured(worked):
    """None where the log measures nothing that the study predicts."""
    table = worked.compared
    if table is None:
        return None
    return Sheet("measured", table, f"Predicted {words.percent(table.attrs['level'])} intervals and measurements",
                 bench.for_reading(table))


def _deviations(worked):
    """None where there are none."""
    gone = deviations(worked)
    if not len(gone):
        return None
    return Sheet("deviations", gone, "What was done otherwise than planned, or with a modern tool or material",
                 words.headed(gone))


def deviations(worked):
    """DataFrame of what was done otherwise than planned: as the record says it, and each row of the log with a modern
    substitute, its remark as a remark. worked: a WorkedOut."""
    import pandas as pd
    names = ["step", "planned", "done", "why", "effect", "remark"]
    rows = [{name: entry.get(name, "") for name in names} | {"stands_in": "study.toml"}
            for entry in worked.study.record.get("deviations", ())]
    for row in worked.log.rows if worked.log else ():
        if row["substitute"] == "yes":
            effect = "counted" if row["counted"] == "yes" else f"not counted: {row['why_not'] or 'not said why'}"
            rows.append({"step": row["step"], "planned": "", "done": "with a modern tool or material", "why": "",
                         "effect": effect, "remark": row["remark"] or "",
                         "stands_in": f"bench_log.csv, line {row['line']}"})
    return pd.DataFrame(rows, columns=[*names, "stands_in"])


def _rivals(worked):
    """None where no rival is named."""
    if worked.rivals is None:
        return None
    rivals = worked.rivals.reset_index()
    printed = rivals[["route", "how", "chance", "hours", "fuel", "metal", "tells", "refutes"]].copy()
    printed["chance"] = [f"{words.chance(row.chance)} ({words.chance(row.chance_5)} to {words.chance(row.chance_95)})"
                         for row in rivals.itertuples()]
    printed["fuel"] = ["" if np.isnan(fuel) else words.number(fuel) for fuel in printed["fuel"]]
    return Sheet("rivals", rivals,
                 "Ways of making the part, side by side. Chance: that one tube meets all of its criteria, by the same "
                 "chain of operations on the same draws, with its 5 % to 95 % range over what is weakly known; "
                 "where no operation exists, a judgement of how many blanks come through; hours and charcoal for one "
                 "tube, its casting counted; metal: in over that of the finished tube", words.headed(printed))


def _reach(worked):
    """None where it was not asked what to change, or the study has changed since."""
    table = worked.reach
    if table is None:
        return None
    return Sheet("what_to_change", table, f"What to change so that a chance of {words.chance(table.attrs['wanted'])} "
                 f"is reached: each choice alone, two of them, and the best plan found within the bounds. "
                 f"{reach.said(table)}", reach.for_reading(table))


def _skill(worked):
    """None where nobody did a thing twice."""
    if not worked.skills:
        return None
    frame = skill.table(worked.skills)
    fields = [{"name": name, "type": "integer" if name in ("trials", "failed") else "string", "description": name}
              for name in frame]
    return Sheet("skill", frame, "Trials in order, by operator, operation and tool: minutes, "
                 "failures, and what they show of learning; 5 % to 95 % range. What a practised hand would take is an "
                 "assumption: a learning curve of hand work (judgement), weighted by these few trials", fields=fields)


def _photographs(worked):
    """None where none is filed."""
    import pandas as pd
    if not worked.photographs.rows:
        return None
    frame = pd.DataFrame([{name: row[name] or "" for name in (
        "file", "trial", "step", "scale", "shows", "tool_mark", "by", "licence")} for row in worked.photographs.rows])
    return Sheet("photographs", frame, "Photographs and tool marks filed with trials; the files are in the archive",
                 words.headed(frame))


def _next_trials(worked):
    """None where it was not asked what to measure next, or the study has changed since."""
    table = worked.next_trials
    if table is None:
        return None
    ranked = table[table["rank"].notna()]
    return Sheet("what_to_measure", table, "What to measure next: how wide the band of the chance would be after so "
                 f"many readings, by the hours that they take. {next_trials.said(table)}",
                 next_trials.for_reading(ranked if len(ranked) else table))


def _weak(worked):
    import pandas as pd
    weak = pd.DataFrame([vars(w) for w in worked.weak], columns=["place", "what", "remedy"])
    return Sheet("weak", weak, "Weak points, each with its place and remedy", words.headed(weak))


def as_planned(frame):
    """The frame with what was planned as text in full: what is planned to 10.225 mm is no 10.2 mm."""
    planned = [name for name in frame if frame[name].dtype.kind == "f"]
    return frame.assign(**{name: ["" if np.isnan(v) else words.exact(v) for v in frame[name]] for name in planned})
