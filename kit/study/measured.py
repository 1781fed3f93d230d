"""What a row of a bench log measures, and how a study predicts it."""
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q
from kit.estimates import bow, cutting
from kit.operations.lap import removal_rate
from kit.operations.means import Means
from kit.operations.operation import stack
from kit.operations.steps import Step
from kit.operations.tools import Passes, least_chip


class BenchError(ValueError):
    """A log that cannot be used for what was asked; the message says why and what to do."""


class NothingMeasured(BenchError):
    """No counted row of a log measures anything that the study predicts."""


@dataclass(frozen=True)
class Measured:
    """Measurements of one kind, on one tool or tube: their values, or the intervals from plug gauges, in `unit`,
    shape (k,).

    places: (trial, step) of each. error: of measuring, a standard deviation, relative where `relative`.
    predict: plain numbers of shape (k, n) from draws.
    """
    kind: str
    unit: str
    places: tuple
    value: np.ndarray      # NaN where only an interval is known
    low: np.ndarray
    high: np.ndarray
    error: float
    relative: bool
    predict: callable

    @classmethod
    def of(cls, study, kind, which, rows):
        unit, error, relative, predict = KINDS[kind]
        logged, value, low, high = zip(*rows)
        return cls(kind, unit, tuple((r["trial"], r["step"]) for r in logged),
                   *(np.array(x, float) for x in (value, low, high)), error, relative,
                   lambda values: predict(study, which, logged, OfRows(values, logged)))

    def with_error(self, predicted, rng):
        deviate = rng.standard_normal(predicted.shape)
        return predicted * np.exp(self.error * deviate) if self.relative else predicted + self.error * deviate

    def log_likelihood(self, predicted):
        """For each draw, of all measurements together, relative to the best possible fit; an interval counts by the
        chance of a reading inside it."""
        from scipy import special
        scale = np.log if self.relative else np.asarray
        with np.errstate(divide="ignore"):   # a missing plug gauge is a limit at minus infinity
            low, value, high = (scale(x)[:, None] for x in (self.low, self.value, self.high))
        at = scale(np.maximum(predicted, 1e-300)) if self.relative else predicted
        below, above = (low - at) / self.error, (high - at) / self.error
        flip = below > 0   # in the far tail the difference is taken on the side where it does not cancel
        near, far = special.log_ndtr(np.where(flip, -below, above)), special.log_ndtr(np.where(flip, -above, below))
        with np.errstate(divide="ignore"):   # where low and high are one there is a value
            best = np.log(special.erf((high - low) / self.error / np.sqrt(8)))
        between = near + np.log1p(-np.exp(np.minimum(far - near, -1e-12))) - best
        return np.where(np.isnan(value), between, -0.5 * ((value - at) / self.error) ** 2).sum(axis=0)


def readings(row, study, place):
    """(kind, which tool or tube, (value, low, high)) of everything in a row that can be predicted."""
    tubes = {t.name: t for t in study.tubes}
    if row["tube"] not in tubes:
        raise BenchError(f"{place}, column 'tube': the study has no tube {row['tube']!r}; "
                         f"{tables.nearest(row['tube'], tubes)}")
    tube, found = tubes[row["tube"]], []

    def add(kind, which, value):
        found.append((kind, which, (value, value, value)))

    if row["pull_N"] is not None and row["minutes"] is not None:
        add("pull", "", row["pull_N"])
    if row["minutes"] is not None and row["strokes"] is not None:
        add("minutes", "", row["minutes"])
    if row["operation"] in ("drill", "ream") and row["torque_Nm"] is not None:
        for name in ("diameter_mm", "stock_mm", "strokes"):
            if row[name] is None:
                raise BenchError(f"{place}, column {name!r}: nothing there; a torque is compared where diameter_mm, "
                                 f"stock_mm (on diameter) and strokes are given")
        if row["tool"] not in study.tools:
            raise BenchError(f"{place}, column 'tool': the study has no tool {row['tool']!r}; "
                             f"{tables.nearest(row['tool'], study.tools)}")
        add("torque", row["tool"], row["torque_Nm"])
    if row["operation"] == "ream" and row["diameter_mm"] is not None:
        if row["measured_mm"] is not None:
            add("bore", tube.name, row["measured_mm"])
        elif row["passes_mm"] is not None or row["stops_mm"] is not None:
            found.append(("bore", tube.name, (np.nan, -np.inf if row["passes_mm"] is None else row["passes_mm"],
                                              np.inf if row["stops_mm"] is None else row["stops_mm"])))
    if row["operation"] == "lap" and row["mass_after_g"] is not None and row["minutes"] is not None:
        known = [s.abrasive for s in study.steps(tube) if s.operation == "lap"]
        if row["tool"] not in known:
            raise BenchError(f"{place}, column 'tool': the route of {tube.name!r} does not lap with {row['tool']!r}; "
                             f"{tables.nearest(row['tool'], known)}")
        add("mass lost", (tube.name, row["tool"]), row["mass_before_g"] - row["mass_after_g"])
    return found


class OfRows:
    """Draws as the rows of a log meet them: of a key that is drawn for each tube, a row of draws for each row's
    tube."""

    def __init__(self, values, rows):
        self.values, self.rows = values, rows

    def __getitem__(self, key):
        if key in self.values:
            return self.values[key]
        return stack([self.values[f"{key}@{row['tube']}"] for row in self.rows])


def _column(rows, name):
    return np.array([[row[name]] for row in rows], float)


def _pull(study, which, rows, values):
    """What the arm gives for as long as the step took."""
    return bow.pull(minutes=Q(_column(rows, "minutes"), "min"), one_minute=values["drive.pull_one_minute"],
                    sustained=values["drive.pull_sustained"]).m_as("N")


def _minutes(study, which, rows, values):
    return _column(rows, "strokes") / values["drive.stroke_frequency"].m_as("1/min")


def _torque(study, tool, rows, values):
    """Torque at the feed that the strokes give: length cut over the turns that cut."""
    tubes = {t.name: t for t in study.tubes}
    after = Q(_column(rows, "diameter_mm"), "mm")
    before = after - Q(_column(rows, "stock_mm"), "mm")
    cut = Passes(tuple(Step("ream", r["step"], b, a, tool=study.tools[tool]) for r, a,
                       b in zip(rows, after[:, 0], before[:, 0])))
    a_minute = bow.turns_per_minute(length=values["drive.stroke_length"], pulley_diameter=study.workshop.pulley,
                                    frequency=values["drive.stroke_frequency"],
                                    duty=values["drive.duty"]).m_as("turn/min")
    turns = a_minute / values["drive.stroke_frequency"].m_as("1/min") * _column(rows, "strokes")
    length = np.array([[r["length_mm"] or tubes[r["tube"]].length.m_as("mm")] for r in rows])
    chip = Q(length / turns, "mm") / cutting.engagement(**cut.shape).feed_per_chip
    return cut.torque(values, np.maximum(chip, least_chip(values))).m_as("N*m")


def _bore(study, tube, rows, values):
    """The reamer's diameter and its oversize; a tube has one draw of that, a row its own."""
    known = study.assumptions
    grown = known.get(f"reamed.oversize@{tube}") or known["reamed.oversize"]
    rng = np.random.default_rng(len(rows))
    n = max(np.size(q.magnitude) for q in values.values.values())
    fresh = grown.quantile(rng.random((len(rows), n)))
    return _column(rows, "diameter_mm") + Q(fresh, grown.unit).m_as("mm")


def _mass_lost(study, which, rows, values):
    """Mass of the metal that one member loses to this abrasive, bowing for the minutes given."""
    tube = next(t for t in study.tubes if t.name == which[0])
    step = next(s for s in study.steps(tube) if s.abrasive == which[1])
    rate = removal_rate(Means(study.workshop, values.values, tube.name), step)
    return (rate * Q(_column(rows, "minutes"),
                     "min") * np.pi * tube.bore * tube.length * values["alloy.density"]).m_as("g")


# kind: unit, error of measuring (a standard deviation; an assumption of this kit, to be replaced by a gauge study),
# whether that is relative, and how the study predicts it
KINDS = {"pull": ("N", 0.10, True, _pull), "minutes": ("min", 0.10, True, _minutes),
         "torque": ("N*m", 0.10, True, _torque),
         "bore": ("mm", 0.005, False, _bore), "mass lost": ("g", 0.02, False, _mass_lost)}
