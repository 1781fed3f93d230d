"""The bench log: the maker's own trials, failures included, set beside what the study predicts; and a study updated by them.

A log is a CSV that is only ever added to at the bench; reading never changes it. A bad row is refused, with line and
column, and the good rows are kept.
"""
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from kit import bow, criteria, cutting, evidence, routes, tables, trials
from kit.units import Q, magnitude, number

SHEET_ROWS = 14


class BenchError(ValueError):
    """A log that cannot be used for what was asked; the message says why and what to do."""


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
        left_out = len(self.rows) - len(self.counted)
        return trials.success_words(good, n) + (f" {left_out} further rows are in the log but not counted; each says why." if left_out else "")

    def measurements(self, study):
        """Everything in the counted rows that the study predicts, as Measurements."""
        found = []
        for row in self.counted:
            found += _measurements(row, study, self.path)
        if not found:
            raise BenchError(f"{self.path}: no counted row measures anything that this study predicts (torque_Nm, pull_N, minutes with "
                             "strokes, mass before and after lapping, a diameter or plugs after a cut)")
        return found

    def compare(self, study, draws=2**12, seed=1, level=0.9):
        """Predicted interval against measurement, a row a measured quantity.

        Returns a DataFrame: trial, step, quantity, unit, low, median, high (prediction with the error of measuring, at
        `level`), measured (or measured_low, measured_high from plugs), inside. An interval counts as inside where it meets
        the predicted one. `.attrs` holds level, inside, n, and the binomial interval of the share inside
        (Clopper-Pearson, 95 %): where that leaves out `level`, the study's ranges are too narrow, too wide, or off.
        """
        import pandas as pd
        values = study.draws(draws, seed)
        noise = np.random.default_rng(seed)
        rows = []
        for m in self.measurements(study):
            predicted = m.with_error(m.predict(values), noise.standard_normal(draws))
            low, mid, high = np.quantile(predicted, ((1 - level) / 2, 0.5, (1 + level) / 2))
            rows.append({"trial": m.trial, "step": m.step, "quantity": m.quantity, "unit": m.unit, "low": low, "median": mid, "high": high,
                         "measured": m.value, "measured_low": m.low, "measured_high": m.high, "inside": bool(m.low <= high and m.high >= low)})
        table = pd.DataFrame(rows)
        inside = int(table["inside"].sum())
        table.attrs = {"level": level, "inside": inside, "n": len(table), "share_interval": trials.success_interval(inside, len(table)),
                       "draws": draws, "seed": seed}
        return table

    def update(self, study, particles=2**12, seed=1, least=0.1):
        """The study with its draws conditioned on the measurements: (Study.conditioned holds them, with their correlations).

        A sequential scheme: the likelihood is let in by degrees (each step keeps half of the particles effective), then
        the particles are resampled and moved by a walk that keeps the prior (preconditioned Crank-Nicolson; Cotter,
        Roberts, Stuart and White 2013, Statistical Science 28, p. 424). Plain re-weighting would leave a handful of draws.
        particles: their number. least: smallest share of distinct particles, in the end, that is still trusted.
        What differs from tube to tube (drawn "each") is not updated: it enters as spread of the measurement.
        Raises BenchError where the effective sample is too small to trust.
        """
        measured = self.measurements(study)
        return condition(study, measured, particles, seed, least)


@dataclass(frozen=True)
class Measurement:
    """One measured quantity: its value (or the interval low to high that plugs leave), the error of measuring as a standard
    deviation (relative where `relative`), and how the study predicts it from draws (plain numbers in `unit`)."""
    trial: int
    step: str
    quantity: str
    unit: str
    value: float | None
    low: float
    high: float
    error: float
    relative: bool
    predict: callable

    def with_error(self, predicted, deviate):
        return predicted * np.exp(self.error * deviate) if self.relative else predicted + self.error * deviate

    def log_likelihood(self, predicted):
        """Of each draw's prediction; an interval counts by the chance of a reading inside it."""
        from scipy import special
        scale = np.log if self.relative else np.asarray
        at = scale(np.maximum(predicted, 1e-300)) if self.relative else predicted
        if self.value is not None:
            return -0.5 * ((scale(self.value) - at) / self.error) ** 2
        below = (scale(self.low) - at) / self.error if np.isfinite(self.low) and (self.low > 0 or not self.relative) else np.full(np.shape(at), -np.inf)
        above = (scale(self.high) - at) / self.error if np.isfinite(self.high) else np.full(np.shape(at), np.inf)
        flip = below > 0   # the far tail is computed on the side where it does not cancel
        a, b = np.where(flip, -above, below), np.where(flip, -below, above)
        high, low = special.log_ndtr(b), special.log_ndtr(a)
        return high + np.log1p(-np.exp(np.minimum(low - high, -1e-12)))


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


def _measurements(row, study, path):
    tube = next((t for t in study.tubes if t.name == row["tube"]), None)
    place = f"{path}, line {row['line']}"
    if tube is None:
        raise BenchError(f"{place}, column 'tube': the study has no tube {row['tube']!r}; {tables.nearest(row['tube'], [t.name for t in study.tubes])}")
    found = []

    def add(quantity, unit, predict, value=None, low=None, high=None, spread=0.0):
        error, relative = ERRORS[quantity]
        found.append(Measurement(row["trial"], row["step"], quantity, unit, value, value if low is None else low, value if high is None else high,
                                 float(np.hypot(error, spread)), relative, predict))

    def case(values):
        return criteria.Case(tube, study.steps(tube), study.workshop, values)

    if row["pull_N"] is not None and row["minutes"] is not None:
        add("pull", "N", lambda v: bow.pull(minutes=Q(row["minutes"], "min"), one_minute=v["drive.pull_one_minute"],
                                            sustained=v["drive.pull_sustained"]).m_as("N"), row["pull_N"])
    if row["minutes"] is not None and row["strokes"] is not None:
        add("minutes", "min", lambda v: row["strokes"] / v["drive.stroke_frequency"].m_as("1/min"), row["minutes"])
    if row["operation"] in ("drill", "ream"):
        if row["torque_Nm"] is not None:
            found_cut = _pass(row, study, tube, place)
            add("torque", "N*m", lambda v: _torque(found_cut, row, study, tube, v), row["torque_Nm"])
        if row["operation"] == "ream" and row["diameter_mm"] is not None:
            grown = study.assumptions[f"reamed.oversize@{tube.name}"] if f"reamed.oversize@{tube.name}" in study.assumptions else None
            plugs = row["passes_mm"] is not None or row["stops_mm"] is not None
            if grown is not None and (row["measured_mm"] is not None or plugs):
                own = f"reamed.oversize@{tube.name}"
                reading = row["measured_mm"]
                add("bore", "mm", lambda v: row["diameter_mm"] + v[own].m_as("mm"), reading,
                    *((None, None) if reading is not None else (row["passes_mm"] or -np.inf, row["stops_mm"] or np.inf)))
    if row["operation"] == "lap" and row["mass_after_g"] is not None and row["minutes"] is not None:
        step = next((s for s in study.steps(tube) if s.operation == "lap" and s.abrasive == row["tool"]), None)
        if step is None:
            known = [s.abrasive for s in study.steps(tube) if s.operation == "lap"]
            raise BenchError(f"{place}, column 'tool': the route of {tube.name!r} does not lap with {row['tool']!r}; {tables.nearest(row['tool'], known)}")
        area = np.pi * tube.bore * tube.length
        add("mass lost", "g", lambda v: (criteria.removal_rate(case(v), step) * Q(row["minutes"], "min") * area * v["alloy.density"]).m_as("g"),
            row["mass_before_g"] - row["mass_after_g"])
    return found


# Error of measuring at the bench, as a standard deviation: (size, relative?). Assumption; own gauge studies replace it.
ERRORS = {"pull": (0.10, True), "torque": (0.10, True), "minutes": (0.10, True), "mass lost": (0.02, False), "bore": (0.005, False)}


def _pass(row, study, tube, place):
    if row["tool"] not in study.tools:
        raise BenchError(f"{place}, column 'tool': the study has no tool {row['tool']!r}; {tables.nearest(row['tool'], study.tools)}")
    for name in ("diameter_mm", "stock_mm", "strokes"):
        if row[name] is None:
            raise BenchError(f"{place}, column {name!r}: a torque can only be compared where diameter_mm, stock_mm (on diameter) and strokes are given")
    after = Q(row["diameter_mm"], "mm")
    step = routes.Step(row["operation"], row["step"], after - Q(row["stock_mm"], "mm"), after, tool=study.tools[row["tool"]])
    return routes.Passes((step,))


def _torque(cut, row, study, tube, values):
    """Torque at the feed that the strokes give: cut length over the turns that cut."""
    turn = bow.turns_per_minute(length=values["drive.stroke_length"], pulley_diameter=study.workshop.pulley,
                                frequency=values["drive.stroke_frequency"], duty=values["drive.duty"])
    turns = turn.m_as("turn/min") / values["drive.stroke_frequency"].m_as("1/min") * row["strokes"]
    feed = Q((row["length_mm"] or tube.length.m_as("mm")) / turns, "mm")
    chip = np.maximum(feed / cutting.engagement(**cut.shape).feed_per_chip, routes.least_chip(values))
    return cut.torque(values, chip)[0].m_as("N*m")


def condition(study, measured, particles=2**12, seed=1, least=0.1):
    """Study whose once-drawn assumptions are conditioned on Measurements (see Log.update)."""
    from scipy import special
    assumed = study.assumptions
    asked = _asked(study, measured)
    keys = [k for k in asked if assumed[k].shape != "fixed" and "@" not in k]
    if not keys:
        raise BenchError("the measurements say nothing of any assumption that is drawn: all that they rest on is pinned")
    mix = _mixing(keys, study.correlations)
    rng = np.random.default_rng(seed)
    rest = study.draws(particles, seed)

    def likelihood(scores):
        uniform = np.clip(special.ndtr(scores), 1e-12, 1 - 1e-12)
        values = rest | {k: Q(assumed[k].quantile(u), assumed[k].unit) for k, u in zip(keys, uniform)}
        return sum(m.log_likelihood(m.predict(values)) for m in measured)

    scores = mix @ rng.standard_normal((len(keys), particles))
    fits, heat, stages, step = likelihood(scores), 0.0, 0, 0.5
    while heat < 1:
        stages += 1
        heat, weights = _next_heat(heat, fits, particles)
        chosen = _systematic(weights, rng)
        scores, fits = scores[:, chosen], fits[chosen]
        for _ in range(12):
            proposed = np.sqrt(1 - step**2) * scores + step * (mix @ rng.standard_normal(scores.shape))
            new = likelihood(proposed)
            take = np.log(rng.random(particles)) < heat * (new - fits)
            scores, fits = np.where(take, proposed, scores), np.where(take, new, fits)
            step = float(np.clip(step * np.exp(0.5 * (take.mean() - 0.25)), 0.01, 0.99))
        if stages > 200:
            raise BenchError("the measurements pull the draws too far for the update to be trusted: some range in the study leaves out what was measured; "
                             "look at Log.compare and widen it")
    distinct = len(np.unique(scores[0]))
    if distinct < least * particles:
        raise BenchError(f"only {distinct} of {particles} draws are distinct after the update: too few to trust; more particles, or look at Log.compare for "
                         "what the study cannot explain")
    uniform = np.clip(special.ndtr(scores), 1e-12, 1 - 1e-12)
    held = {k: assumed[k].quantile(u) for k, u in zip(keys, uniform)}
    return replace(study, conditioned=held, conditioned_on={"measurements": len(measured), "effective": distinct, "particles": particles, "stages": stages,
                                                            "seed": seed})


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
    n - 1 degrees of freedom).
    Raises BenchError for an unknown reading or fewer than two of one kind: a single one shows no spread.
    """
    rows = dict(study.rows)
    found = {}
    for name, values in readings.items():
        if name not in OWN_LATHE:
            raise BenchError(f"no bench reading {name!r}; {tables.nearest(name, OWN_LATHE)}")
        plain = np.array([magnitude(v, OWN_LATHE[name], name) for v in np.atleast_1d(np.asarray(values, object))])
        if len(plain) < 2:
            raise BenchError(f"{name}: one reading shows no spread; take three or more")
        found[name] = plain
    half = study.workshop.pulley.m_as("m") / 2
    if "centre_torque" in found:   # the same torque as friction at a stated load and radius: T = 2 * (2/3) mu W R / sin 30
        load, radius = 50.0, 1.5e-3
        rows |= {k: evidence.Assumption(k, v, None, None, u, "fixed", "own-trial", "own-trial", note="stands for the measured torque of both centres")
                 for k, v, u in (("centre.load", load, "N"), ("centre.radius", radius * 1e3, "mm"))}
        rows["centre.friction"] = _next_reading("centre.friction", found["centre_torque"] / (8 / 3 * load * radius), "", "centre torque")
    if "stall_torque" in found:
        drag = found.get("centre_torque", np.array([0.0])).mean()
        rows["drive.pull_one_minute"] = _next_reading("drive.pull_one_minute", (found["stall_torque"] + drag) / half, "N", "stall torque")
    for name, key, unit in (("rest_tension", "drive.rest_tension", "N"), ("cord_friction", "cord.friction", ""), ("stroke", "drive.stroke_length", "m")):
        if name in found:
            rows[key] = _next_reading(key, found[name], unit, name.replace("_", " "))
    changed = replace(study, rows=rows)
    changed.assumptions
    return changed


def _next_reading(key, values, unit, name):
    from scipy import special
    logs, n = np.log(values), len(values)
    reach = special.stdtrit(n - 1, 0.95) * max(logs.std(ddof=1), 0.005) * np.sqrt(1 + 1 / n)   # a gauge reads to half a per cent at best
    low, high = np.exp(logs.mean() - reach), np.exp(logs.mean() + reach)
    return evidence.Assumption(key, None, float(low), float(high), unit, "lognormal", "own-trial", "own-trial",
                               note=f"{name}, {n} readings, mean {number(values.mean())} {unit}; 5 % and 95 % of the next reading")


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
