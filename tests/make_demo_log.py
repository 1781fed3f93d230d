"""Makes the invented bench log of the demo, data/harbour-dial/bench_log.csv, for the route that its study.toml has now.

    python tests/make_demo_log.py

Nobody has made the harbour dial, so its log is made from a bench with known truths, and notebooks and tests ask
whether the kit finds again what was put in. Every assumption of the study is at its median, but for TRUTH: the arm is
weaker than the reference table thinks. Each blank has its own draws of what differs from piece to piece. Feeds,
pressures and times are those that the kit settles by feel for that bench; readings stray from them by SCATTER.
Failures, what was not counted and the remarks are a story (TRIALS). Where the route or the tables change, run it
again: the seed makes the same bench.
"""
import csv
import warnings
from datetime import date, timedelta

import numpy as np
from scipy import special

import kit
from kit import Q, bench, criteria, judge, lap, ream
from kit.study.study import DEMO

SEED = 20260507
TRUTH = {"drive.pull_sustained": 16, "drive.pull_one_minute": 45, "drive.stroke_frequency": 52}   # N, N, 1/min
# standard deviations of the logarithm: of one reading, of what a day does to the arm and its pace, of a blank's mass
SCATTER = {"pull": 0.07, "pace": 0.05, "torque": 0.08, "pressure": 0.03, "mass": 0.05, "test": 0.05, "day": 0.05,
           "blank": 0.03}
MICROMETER, SCALE = 0.003, 0.005   # mm, g: of one reading
PLUGS = 0.01   # mm from one plug gauge to the next

# the story: (trial, first day, tube, operator, {step: what befell}); a failure ends the trial
TRIALS = (
    (1, date(2026, 5, 7), "hours", "A", {}),
    (2, date(2026, 5, 10), "hours", "A", {"drill 2.50": {"outcome": "fail", "failure": "drill broke in the bore",
                                                         "remark": "blank given up"}}),
    (3, date(2026, 5, 13), "hours", "B", {}),
    (4, date(2026, 5, 16), "tide", "A", {}),
    (5, date(2026, 5, 19), "tide", "A", {"turn outside": {"outcome": "fail", "failure": "wall dented",
                                                          "remark": "pinched off the arbor by mistake"}}),
    (6, date(2026, 5, 22), "moon", "B", {"lap, emery, fine": {"outcome": "partial", "failure": "bell-mouthed ends",
                                                              "remark": "ends trimmed"}}),
    (7, date(2026, 5, 25), "feasts", "A", {}),
    (8, date(2026, 5, 28), "lamp-oil barrel", "A", {"ream 15.90": {"by_wrench": True,
                                                                   "remark": "the bow stalled: by wrench"}}),
)
BY_PLUGS = (4, 6, 8)   # trials whose reamed bore is told by plug gauges, not by micrometer
DAYS_AFTER = {"drill": 0, "ream": 0, "turn": 1, "file": 1, "lap": 2, "test": 3}
NOT_COUNTED = {"trial": 9, "date": date(2026, 6, 3), "tube": "moon", "step": "drill 2.50", "operation": "drill",
               "tool": "flat drill", "operator": "B", "diameter_mm": 2.5, "stock_mm": 2.5, "minutes": 6,
               "outcome": "success", "counted": "no", "substitute": "yes",
               "why_not": "a modern twist drill in an electric drill, to save the day"}


class Bench:
    """The bench as it is: true values of all that the study assumes, and readings that stray from them."""

    def __init__(self, study, seed=SEED):
        self.study, self.rng, self.days = study, np.random.default_rng(seed), {}

    def strays(self, what):
        return float(np.exp(SCATTER[what] * self.rng.standard_normal()))

    def of_day(self, day):
        """(factor on the arm, factor on its pace) of one day."""
        return self.days.setdefault(day, (self.strays("day"), self.strays("day")))

    def values(self):
        """True values for one blank: medians, TRUTH, and the blank's own part of what differs from piece to piece."""
        found = {}
        for key, row in self.study.assumptions.items():
            if key in TRUTH:
                found[key] = Q(np.full(1, float(TRUTH[key])), row.unit)
            else:
                own = np.sqrt(row.each) * self.rng.standard_normal() if row.shape != "fixed" else 0.0
                found[key] = Q(np.reshape(row.quantile(special.ndtr(own)), 1), row.unit)
        return found


def sized(number, digits=3):
    """A number as an instrument gives it: so many digits."""
    return float(f"{number:.{digits}g}")


def first(quantity, unit, row=0):
    return float(np.ravel(np.atleast_2d(quantity.m_as(unit))[row])[0])


def logged(number, day, tube, operator, operation):
    """What every row says."""
    return {"trial": number, "date": day + timedelta(DAYS_AFTER[operation]), "tube": tube, "operation": operation,
            "operator": operator, "outcome": "success", "counted": "yes", "substitute": "no"}


def trial(at, number, day, name, operator, befalls):
    """Rows of one trial, to its end or to the failure that ends it."""
    tube = next(t for t in at.study.tubes if t.name == name)
    values = at.values()
    case = criteria.Case(tube, at.study.steps(tube), at.study.workshop, values, at.study.use)
    metal = values["alloy.density"] * np.pi / 4 * (tube.outside**2 - tube.bore**2) * tube.length
    rows, mass = [], first(metal, "g") * at.strays("blank")
    for each in case.operations:
        for place, step in enumerate(each.steps):
            if each.name == "ream" and place + 1 < len(each.steps) and step.diameter < tube.bore - Q(0.15, "mm"):
                continue   # of several passes of the D-bit the last one is logged
            row = logged(number, day, name, operator, each.name)
            arm, pace = at.of_day(row["date"])
            if each.name in ("drill", "ream"):
                row |= cut(at, case, each, place, arm, pace, befalls, number)
            elif each.name == "lap":
                row |= lapped(at, case, each, pace, mass)
                mass = row["mass_after_g"]
            else:
                row |= {"step": f"{each.name} outside",
                        "minutes": round(first(each.working[place], "min") * at.strays("pace"))}
            row |= {key: said for key, said in befalls.get(row["step"], {}).items() if key != "by_wrench"}
            rows.append(row)
            if row["outcome"] == "fail":
                return rows
    return rows


def cut(at, case, each, place, arm, pace, befalls, number):
    """What is read while a hole is drilled or reamed."""
    step, means = each.steps[place], case.means
    size, name = step.diameter.m_as("mm"), next(n for n, tool in at.study.tools.items() if tool == step.tool)
    row = {"step": f"{each.name} {size:.2f}", "tool": name, "diameter_mm": round(size, 3),
           "stock_mm": round((step.diameter - step.before).m_as("mm"), 3)}
    by_wrench = befalls.get(row["step"], {}).get("by_wrench", bool(np.any(getattr(each, "hand", False))))
    if by_wrench:
        each = ream.ByWrench(each.steps, each.tube, each.found, each.means, each.earlier, each.later)
    minutes = first(each.minutes_at(each.setting) if by_wrench else each.minutes, "min", place)
    torque = first(each.torque, "N*m", place)
    if befalls.get(row["step"], {}).get("outcome") == "fail":   # half way
        minutes, row["length_mm"] = minutes / 2, round(first(each.tube.length, "mm") / 2)
    row["minutes"] = sized(minutes / pace * at.strays("pace"))
    if not by_wrench:
        row["strokes"] = round(minutes * first(means["drive.stroke_frequency"], "1/min"))
        most = first(means.pull(Q(minutes, "min")), "N") * arm
        row["pull_most_N"] = sized(most * at.strays("pull"), 2)
    if each.name == "ream":
        row["torque_Nm"] = sized(torque * at.strays("torque"), 2)
        if not by_wrench:
            took = first(means.pull_for(Q(torque, "N*m")), "N") * at.strays("pull")
            row["pull_N"] = min(sized(took, 2), row["pull_most_N"])
    if step.diameter >= each.tube.bore - Q(1e-6, "mm"):
        bore = size + first(means[f"form.{step.tool.kind}.oversize"], "mm")
        if number in BY_PLUGS:
            passes = np.floor(bore / PLUGS + 1e-9) * PLUGS
            row |= {"passes_mm": round(passes, 2), "stops_mm": round(passes + PLUGS, 2)}
        else:
            row["measured_mm"] = round(bore + MICROMETER * at.rng.standard_normal(), 3)
    return row


def lapped(at, case, each, pace, mass):
    """What is read of a lap: pressure, time, and the mass before and after."""
    means, step, pressure = case.means, each.step, each.setting
    share = min(first(each.stock / each.removed_at(pressure), ""), 1.0)
    minutes = share * first(step.hours * means["drive.attended"], "min")
    depth = lap.removal_rate(means, step, pressure) * Q(minutes, "min")
    lost = first(depth * np.pi * each.tube.bore * each.tube.length * means["alloy.density"], "g") * at.strays("mass")
    before, after = (round(m + SCALE * at.rng.standard_normal(), 2) for m in (mass, mass - lost))
    return {"step": f"lap, {step.abrasive}", "tool": step.abrasive,
            "pressure_kPa": sized(first(pressure, "kPa") * at.strays("pressure"), 2),
            "minutes": sized(minutes / pace * at.strays("pace")),
            "strokes": round(minutes * TRUTH["drive.stroke_frequency"]),
            "mass_before_g": before, "mass_after_g": min(after, before)}


def tested(at):
    """The test of the finished barrel with its plunger."""
    number, day, name, operator, _ = TRIALS[-1]
    values, found = at.values(), {}
    for column, criterion, side in bench.OF_THE_PART.values():
        lines, _ = judge.lines(at.study, values, 1, (criterion,))
        line = next(each for each in lines if each.tube == name)
        found[column] = sized(float(getattr(line, side)[0]) * at.strays("test"), 2)
    return logged(number, day, name, operator, "test") | {"step": "test of the plunger", "remark": "dry"} | found


def made(study=None):
    """All rows of the log, as dicts."""
    at = Bench(study or kit.study.load(DEMO))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return [row for told in TRIALS for row in trial(at, *told)] + [tested(at), NOT_COUNTED]


def main():
    names = [field["name"] for field in bench.schema()["fields"]]
    with open(DEMO / "bench_log.csv", "w", newline="", encoding="utf-8") as file:
        out = csv.DictWriter(file, names, lineterminator="\n")
        out.writeheader()
        out.writerows(made())


if __name__ == "__main__":
    main()
