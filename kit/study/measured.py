"""What a row of a bench log measures, and how a study predicts it."""
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from kit.base import tables
from kit.base.units import Q, told
from kit.operations.lap import removal_rate
from kit.operations.means import Means
from kit.operations.operation import stack
from kit.operations.steps import Step
from kit.operations.tools import Passes, least_chip, worn_radius
from kit.study import judge
from kit.study.criteria import Case
from kit.study.outcomes import cases_of
from kit.study.reading_errors import Error, Likelihood, between


SAME_SIZE = 0.005   # mm by which a size in a log may differ from the plan's: it is written to fewer digits


class BenchError(ValueError):
    """A log that cannot be used for what was asked; the message says why and what to do."""


class NothingMeasured(BenchError):
    """No counted row of a log measures anything that the study predicts."""


@dataclass(frozen=True)
class Measured:
    """Measurements of one kind: their values, or the intervals in which they lie, in `unit`, shape (k,).

    places: (trial, step) of each. days, operators: of each; what one day or one person does, its readings share.
    error: of measuring. predict: plain numbers of shape (k, n) from draws.
    """
    kind: str
    unit: str
    places: tuple
    value: np.ndarray      # NaN where only an interval is known
    low: np.ndarray
    high: np.ndarray
    error: Error
    predict: callable
    days: tuple
    operators: tuple

    @classmethod
    def of(cls, study, kind, groups, error=None):
        """groups: {which tool or tube: [(row, value, low, high)]}. error: in place of the kit's own of that kind."""
        unit, known, predict = KINDS[kind]
        logged, value, low, high = zip(*(row for rows in groups.values() for row in rows))
        each = [(which, [row for row, *_ in rows]) for which, rows in groups.items()]

        def every(values):
            found = [predict(study, which, rows, OfRows(values, rows)) for which, rows in each]
            n = max(np.shape(x)[-1] for x in found)
            return np.concatenate([np.broadcast_to(x, (len(rows), n)) for x, (_, rows) in zip(found, each)])

        return cls(kind, unit, tuple((r["trial"], r["step"]) for r in logged),
                   *(np.array(x, float) for x in (value, low, high)), error or known, every,
                   tuple(str(r["date"]) for r in logged), tuple(r["operator"] for r in logged))

    @cached_property
    def valued(self):
        """Which measurements have a value."""
        return ~np.isnan(self.value)

    @property
    def typical(self):
        """A size of each: its value, or an end of its interval."""
        ends = np.where(np.isfinite(self.low), self.low, self.high)
        return np.where(self.valued, self.value, ends)

    def with_error(self, predicted, rng):
        """What would be read where `predicted` is right, shape (k, n)."""
        strays = self.error.draws(self.days, self.operators, self.typical, predicted.shape[1], rng)
        return predicted * np.exp(strays) if self.error.relative else predicted + strays

    @cached_property
    def _of_values(self):
        days, operators = (np.array(x)[self.valued] for x in (self.days, self.operators))
        return Likelihood(self.error, days, operators, self.value[self.valued])

    def residuals(self, predicted):
        """Reading less prediction of the measurements that have a value, on the scale on which errors add."""
        at = self.error.scaled(np.maximum(predicted, 1e-300) if self.error.relative else predicted)
        return self.error.scaled(self.value[self.valued])[:, None] - at[self.valued]

    def log_likelihood(self, predicted):
        """For each draw, of all measurements together, but for a constant; an interval counts by the chance of a
        reading inside it."""
        found = self._of_values(self.residuals(predicted)) if self.valued.any() else 0.0
        return found + self.of_intervals(predicted)

    def of_intervals(self, predicted):
        """For each draw, log of the chance of readings inside the intervals; 0 where there are none."""
        there = ~self.valued
        if not there.any():
            return np.zeros(predicted.shape[1])
        with np.errstate(divide="ignore"):   # no lower plug: a limit at minus infinity
            low, high = (self.error.scaled(np.maximum(x[there], 0) if self.error.relative else x[there])[:, None]
                         for x in (self.low, self.high))
        at = self.error.scaled(np.maximum(predicted[there], 1e-300) if self.error.relative else predicted[there])
        return between(self.error, low, high, at)


def gauged(measured, found):
    """Error of a Measured, with what a gauge study found (see bench.read) in place of the kit's own scatter, and of its
    bias where the gauge was checked against a standard. That a step scatters more than its gauge is still found from
    the log."""
    found, checked = found if isinstance(found, tuple) else (found, None)
    changed = {"scatter": _share(measured, getattr(found, "gauge", found))}
    if checked is not None:
        changed["bias"] = _share(measured, checked)
    return replace(measured.error, **changed)


def _share(measured, given):
    """A standard deviation as the kind counts it: in its unit, or as a share of the typical reading."""
    relative, unit = measured.error.relative, measured.unit
    if isinstance(given, Q):
        size = given.m_as(unit) if given.is_compatible_with(unit) else np.nan
        size = size / np.median(measured.typical) if relative else size
    else:
        size = given if relative and isinstance(given, (int, float)) else np.nan
    if not 0 < size < np.inf or relative and size > 1:
        raise BenchError(f"gauges, {measured.kind!r}: {given} is no error of reading; give a gauge study, a standard "
                         f"deviation in {unit}" + (", or a share such as 0.03" if relative else ""))
    return float(size)


def readings(row, study, place, beside=()):
    """(kind, which tool or tube, (value, low, high)) of everything in a row that can be predicted. beside: all rows of
    its trial, which tell whether it is a whole step of a piece, or a measurement by itself."""
    tubes = {t.name: t for t in study.parts}
    if row["tube"] not in tubes:
        raise BenchError(f"{place}, column 'tube': the study has no tube {row['tube']!r}; "
                         f"{tables.nearest(row['tube'], tubes)}")
    tube, found = tubes[row["tube"]], []

    def add(kind, which, value):
        found.append((kind, which, (value, value, value)))

    if row["minutes"] is not None:
        if row["pull_most_N"] is not None:
            add("pull", "", row["pull_most_N"])
        elif row["pull_N"] is not None:   # what the step took: the arm gives that, and may be able to give more
            found.append(("pull", "", (np.nan, row["pull_N"], np.inf)))
    if row["minutes"] is not None and row["strokes"] is not None:
        add("minutes", "", row["minutes"])
    if row["minutes"] is not None and _whole(row, study.steps(tube), beside):
        add(STEP_TIME, "", row["minutes"])
    if row["operation"] in ("drill", "ream") and row["torque_Nm"] is not None:
        by_wrench = row["operation"] == "ream" and row["minutes"] is not None
        for name in ("diameter_mm", "stock_mm") + (() if by_wrench else ("strokes",)):
            if row[name] is None:
                raise BenchError(f"{place}, column {name!r}: nothing there; a torque is compared where diameter_mm, "
                                 f"stock_mm (on diameter) and strokes are given, or by wrench minutes in their place")
        _tool(row, study, place)
        add("torque", row["tool"], row["torque_Nm"])
    if row["operation"] == "ream" and row["diameter_mm"] is not None:
        ends = tuple(row[name] for name in ("measured_mm", "passes_mm", "stops_mm"))
        if any(end is not None for end in ends):
            which, (value, low, high) = (tube.name, _tool(row, study, place).kind), ends
            if f"form.{which[1]}.oversize" not in study.keys:
                raise BenchError(f"{place}, column 'tool': no route of the study uses {row['tool']!r}, so it does not "
                                 f"say how much wider than that tool a hole comes out")
            if value is not None:
                add("bore", which, value)
            else:
                found.append(("bore", which, (np.nan, -np.inf if low is None else low,
                                              np.inf if high is None else high)))
    if row["operation"] == "lap" and row["minutes"] is not None and (
            row["mass_after_g"] is not None or row["stock_mm"]):
        known = {s.abrasive: s for s in study.steps(tube) if s.operation == "lap"}
        if row["tool"] not in known:
            raise BenchError(f"{place}, column 'tool': the route of {tube.name!r} does not lap with {row['tool']!r}; "
                             f"{tables.nearest(row['tool'], known)}")
        usual = None if row["pressure_kPa"] else _usual_pressure(study, tube, known[row["tool"]])
        which = tube, known[row["tool"]], usual
        if row["mass_after_g"] is not None:
            lost, step = row["mass_before_g"] - row["mass_after_g"], KINDS["mass lost"][1].least
            found.append(("mass lost", which,   # no more than the scale can tell
                          (lost, lost, lost) if lost > step else (np.nan, 0.0, step)))
        if row["stock_mm"]:   # by plugs, on diameter
            add("stock lapped", which, row["stock_mm"] * 1000)
    for kind, (column, criterion, _) in OF_THE_PART.items():
        if row[column] is not None and _judged(study, tube.name, criterion):
            add(kind, (tube.name, kind), row[column])
    return found


def _step_of(row, steps):
    """Place in a route of the one step that a row is of, by its operation, tool and diameter; None where it is of none,
    or of several that the row does not tell apart."""
    fits = [place for place, step in enumerate(steps) if step.operation == row["operation"]
            and (row["tool"] is None or row["operation"] in ("turn", "file")
                 or row["tool"] in (step.abrasive, step.name.rpartition(" to ")[0], step.name))
            and (row["diameter_mm"] is None or abs(step.diameter.m_as("mm") - row["diameter_mm"]) < SAME_SIZE)]
    return fits[0] if len(fits) == 1 else None


def _whole(row, steps, beside):
    """Whether a row is a step of the route from its beginning to its end: it succeeded over the whole length, is told
    apart and written once, all operations before it stand in its trial, and the piece went on or is finished."""
    place, known = _step_of(row, steps), {each["operation"] for each in beside}
    if place is None or row["outcome"] != "success" or row["length_mm"] is not None:
        return False
    order = [step.operation for step in steps]
    later = set(order[place:]) - {row["operation"]}
    return (known >= set(order[:place]) and (not later or bool(known & later))
            and sum(_step_of(each, steps) == place for each in beside) == 1)


def _tool(row, study, place):
    if row["tool"] not in study.tools:
        raise BenchError(f"{place}, column 'tool': the study has no tool {row['tool']!r}; "
                         f"{tables.nearest(row['tool'], study.tools)}")
    return study.tools[row["tool"]]


def _usual_pressure(study, tube, step):
    """The pressure, in kPa, that a maker settles a lap at by feel, in half of all cases less: for rows that tell
    none."""
    with told():   # a verdict tells what lies outside
        case = Case(tube, study.steps(tube), study.workshop, study.draws(2**8, 1), study.use)
        lap = next(each for each in case.done("lap") if each.steps[0] == step)
        return float(np.median(lap.setting.m_as("kPa")))


def _judged(study, tube, criterion, values=None, n=2):
    """The line of a criterion of one tube on draws; None where the study does not judge it."""
    if study.use is None:
        return None
    with told():   # a verdict tells what lies outside
        found, _ = judge.lines(study, study.draws(n, 1) if values is None else values, n, (criterion,))
    return next((line for line in found if line.tube == tube), None)


class OfRows:
    """Draws as the rows of a log meet them: of a key that is drawn for each tube, a row of draws for each row's
    tube."""

    def __init__(self, values, rows):
        self.values, self.rows = values, rows

    def __getitem__(self, key):
        if key in self.values:
            return self.values[key]
        return stack([self.values[f"{key}@{row['tube']}"] for row in self.rows])

    def __contains__(self, key):
        return key in self.values


def _column(rows, name):
    return np.array([[row[name]] for row in rows], float)


def _pull(study, which, rows, values):
    """What the arm gives for as long as the step took, by its strength and by the power of a person."""
    return Means(study.workshop, values).pull(Q(_column(rows, "minutes"), "min")).m_as("N")


def _minutes(study, which, rows, values):
    return _column(rows, "strokes") / values["drive.stroke_frequency"].m_as("1/min")


def _step_time(study, which, rows, values):
    """Minutes of working that the plan gives to a step, at the feed or pressure that is settled by feel; by wrench
    where the bow of that draw is too weak. Nothing that was read goes into it."""
    found, one = [], values.values
    tubes = {t.name: t for t in study.parts}
    with told():   # a verdict tells what lies outside
        wanted = dict.fromkeys(row["tube"] for row in rows)
        working = {case.tube.name: [each for operation in case.operations for each in operation.working]
                   for case in cases_of(study, one) if case.tube.name in wanted}
        for row in rows:
            found.append(working[row["tube"]][_step_of(row, study.steps(tubes[row["tube"]]))])
    return np.stack(np.broadcast_arrays(*(np.atleast_1d(each.m_as("min")) for each in found)))


def _torque(study, tool, rows, values):
    """Torque at the end of a pass, where the edge is dullest, at the feed that the strokes give, or by wrench the
    minutes: length cut over the turns that cut."""
    tubes = {t.name: t for t in study.tubes}
    after = Q(_column(rows, "diameter_mm"), "mm")
    before = after - Q(_column(rows, "stock_mm"), "mm")
    cut = Passes(tuple(Step("ream", r["step"], b, a, tool=study.tools[tool]) for r, a,
                       b in zip(rows, after[:, 0], before[:, 0])))
    by_wrench = [r["strokes"] is None for r in rows]
    a_stroke = None if all(by_wrench) else (Means(study.workshop, values).turns_per_minute
                                            / values["drive.stroke_frequency"])
    turns = stack([values["wrench.rate"] * Q(r["minutes"], "min") if hand else a_stroke * r["strokes"]
                   for r, hand in zip(rows, by_wrench)], "turn").m_as("turn")
    length = np.array([[r["length_mm"] or tubes[r["tube"]].length.m_as("mm")] for r in rows])
    feed = Q(length / turns, "mm")
    worn = worn_radius(values, cut.cut_length(Q(length, "mm"), feed))
    chip = np.maximum(feed / cut.feed_per_chip, least_chip(values, worn))
    return cut.torque(values, chip, worn).m_as("N*m")


def _bore(study, which, rows, values):
    """The reamer's diameter and its oversize, which every hole has anew."""
    tube, kind = which
    known, key = study.assumptions, f"form.{kind}.oversize"
    grown = known.get(f"{key}@{tube}") or known[key]
    rng = np.random.default_rng(len(rows))
    n = max(np.size(q.magnitude) for q in values.values.values())
    fresh = grown.quantile(rng.random((len(rows), n)))
    return _column(rows, "diameter_mm") + Q(fresh, grown.unit).m_as("mm")


def _mass_lost(study, which, rows, values):
    """Mass of the metal that the bore loses to this abrasive, bowing for the minutes given under the pressure that the
    row tells, or the usual one."""
    tube, step, _ = which
    deep = Q(_stock_lapped(study, which, rows, values) / 2, "um")
    length = tube.length if step.over is None else step.over
    density = Means(study.workshop, values.values, tube.name, alloy=tube.alloy)["alloy.density"]
    return (deep * np.pi * step.diameter * length * density).m_as("g")


def _stock_lapped(study, which, rows, values):
    """What the bore gains on diameter under this abrasive, bowing for the minutes given under the pressure that the row
    tells, or the usual one."""
    tube, step, usual = which
    pressure = Q(np.array([[row["pressure_kPa"] or usual] for row in rows]), "kPa")
    rate = removal_rate(Means(study.workshop, values.values, tube.name, alloy=tube.alloy), step, pressure)
    return (2 * rate * Q(_column(rows, "minutes"), "min")).m_as("um")


def _of_the_part(study, which, rows, values):
    """What a criterion of the finished part gives or asks, the same for every test of that tube."""
    tube, kind = which
    _, criterion, side = OF_THE_PART[kind]
    n = max(np.size(q.magnitude) for q in values.values.values())
    return np.tile(getattr(_judged(study, tube, criterion, values.values, n), side), (len(rows), 1))


# what a test of the finished part reads: its column, and the criterion with the side of it that predicts the reading
OF_THE_PART = {"hold time": ("hold_s", "plunger: hold", "capacity"),
               "push to slide": ("slide_N", "plunger: slide", "demand"),
               "clearance": ("clearance_um", "least running clearance", "capacity")}

# kind: unit, error of reading it (assumptions of this kit, no published source; a gauge study replaces the scatter),
# and how the study predicts it. An arm has its day, and a spring balance may read a seventh too high in every row.
STEP_TIME = "time of the step"
KINDS = {"pull": ("N", Error(0.10, bias=0.15, day=0.15, operator=0.20), _pull),
         "minutes": ("min", Error(0.10, bias=0.03, day=0.15, operator=0.15), _minutes),
         STEP_TIME: ("min", Error(0.10, bias=0.03, day=0.15, operator=0.15), _step_time),
         "torque": ("N*m", Error(0.10, bias=0.15, day=0.05), _torque),
         "bore": ("mm", Error(0.005, relative=False), _bore),
         "mass lost": ("g", Error(0.10, bias=0.02, day=0.10, operator=0.10, least=0.02), _mass_lost),
         "stock lapped": ("um", Error(0.10, bias=0.02, day=0.10, operator=0.10, least=3), _stock_lapped),
         "hold time": ("s", Error(0.10, bias=0.03, day=0.10, least=1), _of_the_part),
         "push to slide": ("N", Error(0.10, bias=0.15, day=0.10), _of_the_part),
         "clearance": ("um", Error(3, bias=3, relative=False), _of_the_part)}

# kinds of which the row itself gives something to the prediction; all others are predicted from the plan alone
GIVEN = {"pull": "the minutes of its row", "minutes": "the strokes of its row",
         "torque": "the strokes of its row, or by wrench the minutes",
         "mass lost": "minutes and pressure of its row", "stock lapped": "minutes and pressure of its row"}
SAID = {"minutes": "minutes for the strokes", STEP_TIME: "minutes of the step"}   # in print, where two are alike

ALONE = "the plan alone"


def predicted_from(kind):
    """What a prediction of this kind comes from, in words."""
    return f"the plan, and {GIVEN[kind]}" if kind in GIVEN else ALONE


def said(kind):
    """A kind of measurement in print."""
    return SAID.get(kind, kind)
