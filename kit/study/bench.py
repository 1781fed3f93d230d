"""The bench log: the maker's own trials, failures included, set beside what the study predicts; and a study updated by them.

A log is a CSV that is only ever added to at the bench; reading never changes it. A bad row is refused, with line and
column, and the good rows are kept.
"""
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from kit.base import evidence, tables
from kit.estimates import bow, cutting, trials
from kit.operations import means
from kit.operations.lap import removal_rate
from kit.operations.steps import Step
from kit.operations.tools import Passes, least_chip
from kit.base.units import Q, magnitude, number

SHEET_ROWS = 14


class BenchError(ValueError):
    """A log that cannot be used for what was asked; the message says why and what to do."""


class NothingMeasured(BenchError):
    """No counted row of a log measures anything that the study predicts."""


def schema():
    """Table Schema of a bench log."""
    return tables.shared_schema("bench_log.schema.json")


@dataclass(frozen=True)
class Log:
    """A bench log. rows: its good rows as dicts. faults: one line of words for each row that was refused."""
    path: Path
    rows: tuple
    faults: tuple

    @property
    def counted(self):
        """The rows that count: excluded ones stay in the log, with their reason."""
        return tuple(r for r in self.rows if r["counted"] == "yes")

    def successes(self, operation=None):
        """(successes, trials) of the counted rows, of one operation or of all. A 'partial' is no success."""
        rows = [r for r in self.counted if operation in (None, r["operation"])]
        return sum(r["outcome"] == "success" for r in rows), len(rows)

    def words(self, operation=None):
        """What the count of successes says, and does not say."""
        good, n = self.successes(operation)
        left_out = sum(r["counted"] == "no" and operation in (None, r["operation"]) for r in self.rows)
        return trials.success_words(good, n) + (f". Further rows in the log that are not counted, each with its reason: {left_out}" if left_out else "")

    def measurements(self, study):
        """Everything in the counted rows that the study predicts, as a list of Measured, one a kind and tool or tube."""
        groups = {}
        for row in self.counted:
            for kind, which, reading in _readings(row, study, f"{self.path}, line {row['line']}"):
                groups.setdefault((kind, which), []).append((row, *reading))
        if not groups:
            raise NothingMeasured(f"{self.path}: no counted row measures anything that this study predicts (torque_Nm, pull_N with minutes, minutes with "
                             "strokes, mass before and after lapping, a diameter or plugs after reaming)")
        return [Measured.of(study, kind, which, rows) for (kind, which), rows in groups.items()]

    def compare(self, study, draws=2**12, seed=1, level=0.9):
        """Predicted interval against measurement, a row a measured quantity.

        Returns a DataFrame: trial, step, quantity, unit, low, median, high (prediction with the error of measuring, at
        `level`), measured (or measured_low, measured_high from plugs), inside. An interval counts as inside where it meets
        the predicted one. `.attrs` holds level, inside, measurements, the binomial interval of the share inside
        (share_interval: Clopper-Pearson, 95 %, as if rows were independent), the share to expect of a log like this one
        (share_expected: 5 % to 95 %, by the study's own draws, whose rows share an arm and a metal), and the provenance.
        Where the share found lies outside what is to be expected, the study's ranges are too narrow, too wide, or off.
        """
        import pandas as pd
        values, noise, rows, within = study.draws(draws, seed), np.random.default_rng(seed), [], []
        for group in self.measurements(study):
            predicted = group.with_error(np.broadcast_to(group.predict(values), (len(group.places), draws)), noise)
            ends = np.quantile(predicted, ((1 - level) / 2, 0.5, (1 + level) / 2), axis=1).T
            within.append((predicted >= ends[:, :1]) & (predicted <= ends[:, 2:]))
            for (trial, step), value, a, b, (low, mid, high) in zip(group.places, group.value, group.low, group.high, ends):
                rows.append({"trial": trial, "step": step, "quantity": group.kind, "unit": group.unit, "low": low, "median": mid, "high": high,
                             "measured": value, "measured_low": a, "measured_high": b, "inside": bool(a <= high and b >= low)})
        table = pd.DataFrame(rows).sort_values(["trial", "quantity"], kind="stable", ignore_index=True)
        inside = int(table["inside"].sum())
        expected = np.quantile(np.concatenate(within).mean(axis=0), (0.05, 0.95))
        table.attrs = {"level": level, "inside": inside, "share_expected": tuple(map(float, expected)),
                       "share_interval": tuple(map(float, trials.success_interval(successes=inside, trials=len(table)))),
                       "measurements": len(table)} | study.provenance(draws, seed)
        return table

    def update(self, study, particles=2**12, seed=1, least=0.1):
        """The study with its draws conditioned on the measurements (Study.conditioned holds them, with their correlations).

        A sequential scheme: the likelihood is let in by degrees, each leaving half of the particles effective; then the
        particles are resampled, and each is moved by a random walk whose steps are shaped by the cloud itself, until most
        have moved several times (N. Chopin, A sequential particle filter method for static models, Biometrika 89 (2002)
        539-551; P. Del Moral, A. Doucet and A. Jasra, Sequential Monte Carlo samplers, J. R. Stat. Soc. B 68 (2006) 411-436).
        Plain re-weighting would leave a handful of draws.
        particles: their number. least: smallest effective share of them, in the end, that is still trusted.
        What differs from tube to tube (drawn "each") is not updated: it enters as spread of the measurement. What a
        correlation of the study ties to an updated assumption is updated with it.
        Raises BenchError where the effective sample is too small to trust, or where the measurements are next to impossible
        under the ranges of the study.
        """
        measured = self.measurements(study)
        return condition(study, measured, particles, seed, least)


@dataclass(frozen=True)
class Measured:
    """Measurements of one kind, on one tool or tube: their values, or the intervals that plugs leave, in `unit`, shape (k,).

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
        return cls(kind, unit, tuple((r["trial"], r["step"]) for r in logged), *(np.array(x, float) for x in (value, low, high)), error, relative,
                   lambda values: predict(study, which, logged, values))

    def with_error(self, predicted, rng):
        deviate = rng.standard_normal(predicted.shape)
        return predicted * np.exp(self.error * deviate) if self.relative else predicted + self.error * deviate

    def log_likelihood(self, predicted):
        """Of each draw, all measurements together, over that of the best fit there could be; an interval counts by the chance of a
        reading inside it."""
        from scipy import special
        scale = np.log if self.relative else np.asarray
        with np.errstate(divide="ignore"):   # a plug that is not there is a limit at minus infinity
            low, value, high = (scale(x)[:, None] for x in (self.low, self.value, self.high))
        at = scale(np.maximum(predicted, 1e-300)) if self.relative else predicted
        below, above = (low - at) / self.error, (high - at) / self.error
        flip = below > 0   # in the far tail the difference is taken on the side where it does not cancel
        near, far = special.log_ndtr(np.where(flip, -below, above)), special.log_ndtr(np.where(flip, -above, below))
        with np.errstate(divide="ignore"):   # where low and high are one there is a value
            best = np.log(special.erf((high - low) / self.error / np.sqrt(8)))
        between = near + np.log1p(-np.exp(np.minimum(far - near, -1e-12))) - best
        return np.where(np.isnan(value), between, -0.5 * ((value - at) / self.error) ** 2).sum(axis=0)


def read(path):
    """Log from a CSV: good rows kept, bad ones refused with line and column (see Log.faults); the file is never changed."""
    faults = []
    rows = tables.read(path, schema(), faults)
    good = []
    for row in rows:
        fault = _contradiction(row)
        if fault:
            faults.append(f"{path}, line {row['line']}, {fault}")
        else:
            good.append(row)
    return Log(Path(path), tuple(good), tuple(faults))


def _contradiction(row):
    if row["counted"] == "no" and not row["why_not"]:
        return "column 'why_not': a row that is not counted must say why"
    if row["outcome"] == "fail" and not row["failure"]:
        return "column 'failure': a failure must say of what kind"
    if row["mass_after_g"] is not None and (row["mass_before_g"] is None or row["mass_after_g"] > row["mass_before_g"]):
        return "column 'mass_after_g': more than before, or no mass before"
    if row["passes_mm"] is not None and row["stops_mm"] is not None and row["passes_mm"] >= row["stops_mm"]:
        return "column 'stops_mm': the plug that stops must be larger than the one that passes"
    return None


# --- what a row measures, and how a study predicts it --------------------------------------------------------------------

def _readings(row, study, place):
    """(kind, which tool or tube, (value, low, high)) of everything in a row that can be predicted."""
    tubes = {t.name: t for t in study.tubes}
    if row["tube"] not in tubes:
        raise BenchError(f"{place}, column 'tube': the study has no tube {row['tube']!r}; {tables.nearest(row['tube'], tubes)}")
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
                raise BenchError(f"{place}, column {name!r}: nothing there; a torque is compared where diameter_mm, stock_mm (on diameter) and strokes are given")
        if row["tool"] not in study.tools:
            raise BenchError(f"{place}, column 'tool': the study has no tool {row['tool']!r}; {tables.nearest(row['tool'], study.tools)}")
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
            raise BenchError(f"{place}, column 'tool': the route of {tube.name!r} does not lap with {row['tool']!r}; {tables.nearest(row['tool'], known)}")
        add("mass lost", (tube.name, row["tool"]), row["mass_before_g"] - row["mass_after_g"])
    return found


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
    cut = Passes(tuple(Step("ream", r["step"], b, a, tool=study.tools[tool]) for r, a, b in zip(rows, after[:, 0], before[:, 0])))
    a_minute = bow.turns_per_minute(length=values["drive.stroke_length"], pulley_diameter=study.workshop.pulley,
                                    frequency=values["drive.stroke_frequency"], duty=values["drive.duty"]).m_as("turn/min")
    turns = a_minute / values["drive.stroke_frequency"].m_as("1/min") * _column(rows, "strokes")
    length = np.array([[r["length_mm"] or tubes[r["tube"]].length.m_as("mm")] for r in rows])
    chip = Q(length / turns, "mm") / cutting.engagement(**cut.shape).feed_per_chip
    return cut.torque(values, np.maximum(chip, least_chip(values))).m_as("N*m")


def _bore(study, tube, rows, values):
    """The reamer's diameter and what it cuts too large; a tube has one draw of that, a row its own."""
    grown = study.assumptions[f"reamed.oversize@{tube}"]
    rng = np.random.default_rng(len(rows))
    n = max(np.size(q.magnitude) for q in values.values())
    fresh = grown.quantile(rng.random((len(rows), n)))
    return _column(rows, "diameter_mm") + Q(fresh, grown.unit).m_as("mm")


def _mass_lost(study, which, rows, values):
    """Mass of the metal that one member loses to this abrasive, bowing for the minutes given."""
    tube = next(t for t in study.tubes if t.name == which[0])
    step = next(s for s in study.steps(tube) if s.abrasive == which[1])
    rate = removal_rate(means.Means(study.workshop, values, tube.name), step)
    return (rate * Q(_column(rows, "minutes"), "min") * np.pi * tube.bore * tube.length * values["alloy.density"]).m_as("g")


# kind: unit, error of measuring (a standard deviation; an assumption of this kit, for own gauge studies to replace),
# whether that is relative, and how the study predicts it
KINDS = {"pull": ("N", 0.10, True, _pull), "minutes": ("min", 0.10, True, _minutes), "torque": ("N*m", 0.10, True, _torque),
         "bore": ("mm", 0.005, False, _bore), "mass lost": ("g", 0.02, False, _mass_lost)}
UPDATES = ("pull", "minutes", "torque", "mass lost")   # a bore tells of one reamed hole, not of anything drawn once


def condition(study, measured, particles=2**12, seed=1, least=0.1):
    """Study whose once-drawn assumptions are conditioned on a list of Measured (see Log.update).

    Measurements count as impossible where the best of the draws still lies further from both the prior and the
    measurements than chance allows (prior predictive check: G. E. P. Box, Sampling and Bayes' inference in scientific modelling
    and robustness, J. R. Stat. Soc. A 143 (1980) 383-430, from memory; the distance is exact where all is normal).
    """
    from scipy import special, stats
    if study.conditioned:
        raise BenchError("this study has been updated by a log already; put all rows into one log and update the study as it was loaded")
    measured = [m for m in measured if m.kind in UPDATES]
    assumed = study.assumptions
    keys = _linked([k for k in _asked(study, measured) if assumed[k].shape != "fixed"],
                   [pair for pair in study.correlations if all(assumed[k].shape != "fixed" for k in pair)])
    if all("@" in k for k in keys):
        raise BenchError("the measurements say nothing of any assumption that is drawn: all that they rest on is pinned")
    mix, rng, rest = _mixing(keys, study.correlations), np.random.default_rng(seed), study.draws(particles, seed)
    unmix = np.linalg.inv(mix)

    def quantities(scores):
        uniform = np.clip(special.ndtr(scores), 1e-12, 1 - 1e-12)
        return {k: assumed[k].quantile(u) for k, u in zip(keys, uniform)}

    def likelihood(scores):
        values = rest | {k: Q(v, assumed[k].unit) for k, v in quantities(scores).items()}
        return sum(m.log_likelihood(m.predict(values)) for m in measured)

    def prior(scores):
        return -0.5 * np.sum((unmix @ scores) ** 2, axis=0)

    scores = mix @ rng.standard_normal((len(keys), particles))
    fits, heat, stages, reach = likelihood(scores), 0.0, 0, 2.38 / np.sqrt(len(keys))
    while heat < 1:
        stages += 1
        heat, weights = _next_heat(heat, fits, particles)
        chosen = _systematic(weights, rng)
        scores, fits = scores[:, chosen], fits[chosen]
        start = scores
        shape, moved = np.linalg.cholesky(np.cov(scores) + 1e-6 * np.eye(len(keys))), np.zeros(particles)
        for _ in range(MOST_MOVES):
            proposed = scores + reach * (shape @ rng.standard_normal(scores.shape))
            new = likelihood(proposed)
            take = np.log(rng.random(particles)) < heat * (new - fits) + prior(proposed) - prior(scores)
            scores, fits = np.where(take, proposed, scores), np.where(take, new, fits)
            moved += take
            reach = float(np.clip(reach * np.exp(take.mean() - 0.25), 0.02, 2))
            if moved.mean() >= MOVES:
                break
        if stages > MOST_STAGES:
            raise BenchError("the measurements pull the draws too far for the update to be trusted: some range in the study leaves out what was measured; "
                             "look at Log.compare and widen it")
    strain = np.min(np.sum((unmix @ scores) ** 2, axis=0) - 2 * fits)
    if strain > stats.chi2.isf(IMPOSSIBLE, sum(len(m.value) for m in measured)):
        raise BenchError("the measurements are next to impossible under the ranges of the study: some range leaves out what was measured, a reading "
                         "or its unit is wrong, or readings scatter more than the error of measuring says; look at Log.compare, mend the log or widen "
                         "the range")
    effective = min(_effective(start, scores, np.bincount(chosen)), len(np.unique(scores[0])))
    if effective < least * particles:
        raise BenchError(f"the update leaves no more than {effective} of {particles} draws that are worth one each: too few to trust; take more particles, or "
                         "look at Log.compare for what the study cannot explain")
    held = {k: v for k, v in quantities(scores).items() if "@" not in k}   # one tube's own says nothing of the next
    learnt = tuple(k for k in held if held[k].std() < LEARNT * assumed[k].quantile((np.arange(512) + 0.5) / 512).std())
    return replace(study, conditioned=held, conditioned_on={"measurements": sum(len(m.value) for m in measured), "effective": effective,
                                                            "particles": particles, "stages": stages, "seed": seed, "learnt": learnt})


def _effective(start, end, families):
    """Effective sample, at most: draws that come from one and the same draw of the last resampling are alike by the square of
    the correlation that the moves have left; of the assumption where that is worst. What earlier resamplings left is not seen."""
    start, end = (x - x.mean(axis=1, keepdims=True) for x in (start, end))
    kept = np.clip((start * end).sum(axis=1) / np.sqrt((start**2).sum(axis=1) * (end**2).sum(axis=1)), 0, 1)
    sizes = families[families > 0]
    return int(np.min([np.sum(sizes / (1 + (sizes - 1) * r**2)) for r in kept]))


LEARNT = 0.7    # an assumption whose spread falls below this share of what it was rests on the trials from then on
IMPOSSIBLE = 1e-9   # chance of measurements as far off, under the ranges of the study, below which they are refused
MOVES, MOST_MOVES, MOST_STAGES = 4, 40, 60   # moves that each particle should make at each degree, on average; and when to give up


def _asked(study, measured):
    """Keys of the assumptions that the predictions ask for."""
    asked = set()

    class Asking(dict):
        def __getitem__(self, key):
            asked.add(key)
            return super().__getitem__(key)

    values = Asking(study.draws(2, 1))
    for m in measured:
        m.predict(values)
    return sorted(asked)


def _linked(keys, pairs):
    """The keys, and those that correlations tie to them, directly or through others."""
    found = set(keys)
    while more := {k for pair in pairs if found & set(pair) for k in pair} - found:
        found |= more
    return sorted(found)


def _mixing(keys, correlations):
    matrix = np.eye(len(keys))
    for (a, b), r in correlations.items():
        if a in keys and b in keys:
            matrix[keys.index(a), keys.index(b)] = matrix[keys.index(b), keys.index(a)] = r
    return np.linalg.cholesky(matrix)


def _next_heat(heat, fits, particles):
    """How much of the likelihood may be let in so that half of the particles stay effective; and their weights."""
    def weights(to):
        w = np.exp((to - heat) * (fits - fits.max()))
        return w / w.sum()

    low, high = heat, 1.0
    if 1 / np.sum(weights(1.0) ** 2) >= particles / 2:
        return 1.0, weights(1.0)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if 1 / np.sum(weights(middle) ** 2) >= particles / 2 else (low, middle)
    return low, weights(low)


def _systematic(weights, rng):
    places = (rng.random() + np.arange(len(weights))) / len(weights)
    return np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)


OWN_LATHE = {"rest_tension": "N > 0", "cord_friction": "> 0", "stroke": "m > 0", "stall_torque": "N*m > 0", "centre_torque": "N*m > 0"}


def own_lathe(study, **readings):
    """The study on the maker's own lathe: repeated bench readings become its assumptions, graded own-trial.

    rest_tension (N, cord at rest), cord_friction (number: ln of the ratio of hung weights over the wrap angle),
    stroke (m, usable length of the bow), stall_torque (N*m at the spindle, pulled for a minute), centre_torque (N*m, both
    centres, by a weight on a thread, tool off): each a list of two or more readings as Quantities or text; any may be
    left out. Each becomes a lognormal whose 5 % and 95 % points are those of the next reading (Student's t on the logs,
    n - 1 degrees of freedom). The stall torque is what the pull leaves after the drag of the centres: as measured, else
    the median of the study.
    Raises BenchError for an unknown reading, fewer than two of one kind (a single one shows no spread), or a study that a log has updated.
    """
    if study.conditioned:
        raise BenchError("this study has been updated by a log already; enter the readings first, then update the study by the log")
    rows = dict(study.rows)
    found = {}
    for name, values in readings.items():
        if name not in OWN_LATHE:
            raise BenchError(f"no bench reading {name!r}; {tables.nearest(name, OWN_LATHE)}")
        every = list(values) if isinstance(values, (list, tuple)) or np.ndim(values) else [values]
        plain = np.array([magnitude(v, OWN_LATHE[name], name) for v in every])
        if len(plain) < 2:
            raise BenchError(f"{name}: one reading shows no spread; take three or more")
        found[name] = plain
    half = study.workshop.pulley.m_as("m") / 2
    if "centre_torque" in found:   # the same torque as friction at a stated load and radius: T = 2 * (2/3) mu W R / sin 30
        load, radius = 50.0, 1.5e-3
        rows |= {k: evidence.Assumption(k, v, None, None, u, "fixed", "own-trial", "own-trial", note="stands for the measured torque of both centres")
                 for k, v, u in (("centre.load", load, "N"), ("centre.radius", radius * 1e3, "mm"))}
        rows["centre.friction"] = _next_reading("centre.friction", found["centre_torque"] / (8 / 3 * load * radius), "",
                                                "centre torque", found["centre_torque"], "N*m")
    if "stall_torque" in found:
        middles = {k: a.middle for k, a in study.assumptions.items()}
        drag = found["centre_torque"].mean() if "centre_torque" in found else means.centre_torque(middles).m_as("N*m")
        rows["drive.pull_one_minute"] = _next_reading("drive.pull_one_minute", (found["stall_torque"] + drag) / half, "N",
                                                      "stall torque", found["stall_torque"], "N*m")
    for name, key, unit in (("rest_tension", "drive.rest_tension", "N"), ("cord_friction", "cord.friction", ""), ("stroke", "drive.stroke_length", "m")):
        if name in found:
            rows[key] = _next_reading(key, found[name], unit, name.replace("_", " "), found[name], unit)
    changed = replace(study, rows=rows)
    changed.assumptions
    return changed


def _next_reading(key, values, unit, name, read, read_unit):
    """Assumption from values worked out from readings; the note gives the readings as they were taken."""
    from scipy import special
    logs, n = np.log(values), len(values)
    reach = special.stdtrit(n - 1, 0.95) * max(logs.std(ddof=1), 0.005) * np.sqrt(1 + 1 / n)   # a gauge reads to half a per cent at best
    low, high = np.exp(logs.mean() - reach), np.exp(logs.mean() + reach)
    return evidence.Assumption(key, None, float(low), float(high), unit, "lognormal", "own-trial", "own-trial",
                               note=f"{name}, {n} readings, mean {number(read.mean())} {read_unit}".rstrip() + "; 5 % and 95 % of the next reading")


def sheet(path, title="Bench log", rows=SHEET_ROWS):
    """Write a printable sheet (HTML, A4 across) with the log's columns; refuses to overwrite."""
    path = Path(path)
    if path.exists():
        raise FileExistsError(f"{path} is there already; give another name")
    from html import escape
    fields = schema()["fields"]
    head = "".join(f"<th>{escape(f['name'])}</th>" for f in fields)
    notes = "".join(f"<li><b>{escape(f['name'])}</b>: {escape(f['description'])}</li>" for f in fields)
    path.write_text(f"""<!doctype html><html lang="en"><meta charset="utf-8"><title>{escape(title)}</title>
<style>@page {{ size: A4 landscape; margin: 8mm }} body {{ font: 8pt sans-serif }} table {{ border-collapse: collapse; width: 100%; table-layout: fixed }}
th, td {{ border: 0.4pt solid #000; overflow: hidden }} th {{ font-size: 5.5pt; padding: 1pt; word-break: break-all }} td {{ height: 8mm }}
ul {{ columns: 3; font-size: 6.5pt; padding-left: 3mm }}</style>
<h1 style="font-size: 11pt">{escape(title)}</h1><p>Every trial, in order, none left out. A row that is not to count says why.</p>
<table><tr>{head}</tr>{('<tr>' + '<td></td>' * len(fields) + '</tr>') * rows}</table><ul>{notes}</ul></html>
""", encoding="utf-8")
    return path
