"""The bench log: the maker's own trials, failures included, set beside what the study predicts; and a study updated by
them.

A log is a CSV that is only ever added to at the bench; reading never changes it. A bad row is refused, with line and
column, and the good rows are kept.
"""
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from kit.base import tables, words
from kit.base.units import told
from kit.estimates import trials

from kit.study.measured import (ALONE, KINDS, OF_THE_PART, STEP_TIME, BenchError, Error,  # noqa: F401 (kit.bench's)
                                Measured, NothingMeasured, gauged, predicted_from, readings, said)
from kit.study.disagreement import check
from kit.study.own_lathe import OWN_LATHE, own_lathe  # noqa: F401 (known as kit.bench's)
from kit.study.update import Disagreement, chance_error, condition, taught_words  # noqa: F401 (as kit.bench's)

SHEET_ROWS = 14
SHEET_STYLE = """@page { size: A4 landscape; margin: 8mm } body { font: 8pt sans-serif } \
table { border-collapse: collapse; width: 100%; table-layout: fixed }
th, td { border: 0.4pt solid #000; overflow: hidden } \
th { font-size: 5.5pt; padding: 1pt; word-break: break-all } td { height: 8mm }
ul { columns: 3; font-size: 6.5pt; padding-left: 3mm }"""
SHEET_RULE = "<p>Every trial, in order, none left out. A row that is not to count says why.</p>"


def schema():
    """Table Schema of a bench log."""
    return tables.shared_schema("bench_log.schema.json")


@dataclass(frozen=True)
class Trial:
    """One trial: its number, tube, and how it ended: 'success', 'partial', 'fail', or 'unfinished' where nothing went
    wrong but operations of the tube's route are lacking."""
    number: int
    tube: str
    outcome: str
    lacking: tuple = ()


@dataclass(frozen=True)
class Log:
    """A bench log. rows: its good rows as dicts. faults: one line of words for each row that was refused. gauges: what
    a gauge study found, {kind: see `measured.gauged`}."""
    path: Path
    rows: tuple
    faults: tuple
    gauges: dict = field(default_factory=dict)

    @property
    def counted(self):
        """The rows that count: excluded ones stay in the log, with their reason."""
        return tuple(r for r in self.rows if r["counted"] == "yes")

    @property
    def notes(self):
        """How the log is read where that is not plain: one line of words each."""
        bounds = sum(r["pull_N"] is not None and r["pull_most_N"] is None and r["minutes"] is not None
                     for r in self.counted)
        return (f"{words.counted(bounds, 'row')} with a pull that the step took (column pull_N) and no most that the "
                "arm kept up (column pull_most_N): the arm gives at least that. Where it was the most, move it to "
                "column pull_most_N: it then teaches more",) if bounds else ()

    def trials(self, study=None):
        """Every trial that has a counted row, as a tuple of Trial.

        study: where it is given, a trial without failure counts as finished only if each operation of its tube's route
        stands in it; where None, as far as it went.
        """
        rows = {}
        for row in self.counted:
            rows.setdefault(row["trial"], []).append(row)
        return tuple(_trial(number, each, study) for number, each in rows.items())

    def successes(self, operation=None, study=None):
        """(successes, trials): of one operation its counted rows; of all, whole trials that came to an end. A success
        is one in every step, and where a study is given through its whole route; a 'partial' is none."""
        if operation is not None:
            ends = [r["outcome"] for r in self.counted if r["operation"] == operation]
        else:
            ends = [t.outcome for t in self.trials(study) if t.outcome != "unfinished"]
        return ends.count("success"), len(ends)

    def words(self, operation=None, study=None):
        """What the count of successes says, and does not say. As `successes`; unfinished trials are told beside."""
        good, n = self.successes(operation, study)
        left_out = sum(r["counted"] == "no" and operation in (None, r["operation"]) for r in self.rows)
        open_ = [t for t in self.trials(study) if t.outcome == "unfinished"] if operation is None else []
        said = trials.success_words(good, n) if n or not open_ else "no trial has come to an end"
        if open_:
            lacking = sorted({name for t in open_ for name in t.lacking})
            said += (f". Unfinished, and neither success nor failure: {words.counted(len(open_), 'trial')}, in which "
                     f"no row says {' or '.join(lacking)}")
        return said + (f". Further rows in the log that are not counted, each with its reason: {left_out}"
                       if left_out else "")

    def measurements(self, study):
        """Everything in the counted rows that the study predicts, as a list of Measured, one a kind."""
        kinds, trial = {}, {}
        for row in self.counted:
            trial.setdefault((row["trial"], row["tube"]), []).append(row)
        for row in self.counted:
            for kind, which, reading in readings(row, study, f"{self.path}, line {row['line']}",
                                                 trial[row["trial"], row["tube"]]):
                kinds.setdefault(kind, {}).setdefault(which, []).append((row, *reading))
        if not kinds:
            raise NothingMeasured(
                f"{self.path}: no counted row measures anything that this study predicts (torque_Nm, pull_most_N or "
                "pull_N with minutes, minutes with strokes or of a step in a whole piece, mass before and after "
                "lapping, a diameter or plugs after reaming)")
        found = [Measured.of(study, kind, groups) for kind, groups in kinds.items()]
        return [replace(m, error=gauged(m, self.gauges[m.kind])) if m.kind in self.gauges else m for m in found]

    def compare(self, study, draws=2**12, seed=1, level=0.9):
        """Predicted interval against measurement, one row for each measured quantity.

        Returns a DataFrame: trial, step, quantity, unit, low, median, high (prediction with the error of measuring, at
        `level`), measured (or measured_low, measured_high from plug gauges), inside, predicted_from (the plan alone, or
        something of the row as well, which tests less). An interval counts as
        inside where it meets the predicted one. `.attrs` holds level, inside, measurements, the binomial interval of
        the share inside (share_interval: Clopper-Pearson, 95 %, as if rows were independent), the share to expect of a
        log like this one (share_expected: 5 % to 95 %, by the study's own draws, whose rows share an arm and a metal),
        p (chance of measurements as far off in some quantity), which quantities disagree where that is small, and the
        provenance.
        Where the share found lies outside what is to be expected, the study's ranges are too narrow, too wide, or off.
        """
        import pandas as pd
        values, noise, rows, within = study.draws(draws, seed), np.random.default_rng(seed), [], []
        with told():   # what lies outside a formula's range, the verdict tells
            measured = self.measurements(study)
            true = [np.broadcast_to(group.predict(values), (len(group.places), draws)) for group in measured]
        checked = check(measured, true, seed)
        for group, at in zip(measured, true):
            predicted = group.with_error(at, noise)
            ends = np.quantile(predicted, ((1 - level) / 2, 0.5, (1 + level) / 2), axis=1).T
            # a bound from one side is met more easily than a reading; it is no test of the other
            bound = (np.isinf(group.low) | np.isinf(group.high))[:, None]
            within.append(bound | (predicted >= ends[:, :1]) & (predicted <= ends[:, 2:]))
            for (trial, step), value, a, b, (low, mid, high) in zip(group.places, group.value, group.low, group.high,
                                                                    ends):
                rows.append({"trial": trial, "step": step, "quantity": group.kind, "unit": group.unit, "low": low,
                             "median": mid, "high": high,
                             "measured": value, "measured_low": a, "measured_high": b,
                             "inside": bool(a <= high and b >= low), "predicted_from": predicted_from(group.kind)})
        table = pd.DataFrame(rows).sort_values(["trial", "quantity"], kind="stable", ignore_index=True)
        inside = int(table["inside"].sum())
        expected = np.quantile(np.concatenate(within).mean(axis=0), (0.05, 0.95))
        table.attrs = {"level": level, "inside": inside, "share_expected": tuple(map(float, expected)),
                       "share_interval": tuple(map(float, trials.success_interval(successes=inside,
                                                                                  trials=len(table)))),
                       "measurements": len(table), "p": checked.p,
                       "disagrees": checked.disagrees} | study.provenance(draws, seed)
        return table

    def update(self, study, particles=2**12, seed=1, least=0.1):
        """The study with its draws conditioned on the measurements (Study.conditioned holds them, with their
        correlations).

        Readings stray from the prediction by a scatter that the log itself helps to find, and by errors that all
        readings of a gauge, a day or (where there are several) an operator share; both are integrated out, so that a
        balance that reads too high, or an arm's good day, widens the answer and does not bend it beyond that
        (reading_errors.Likelihood). A pull in pull_N is a lower bound of what the arm gives, in pull_most_N a value.

        A sequential scheme: the likelihood is let in by degrees, each leaving half of the particles effective; then the
        particles are resampled, and each is moved until it no longer resembles the one that it was copied from
        (N. Chopin, A sequential particle filter method for static models, Biometrika 89 (2002) 539-551; P. Del Moral,
        A. Doucet and A. Jasra, Sequential Monte Carlo samplers, J. R. Stat. Soc. B 68 (2006) 411-436). Plain
        re-weighting would leave a handful of draws.
        particles: their number. least: smallest effective share of them, in the end, that is still trusted.
        What differs from piece to piece (`each`) is not updated: it enters as spread of the measurement, as large for
        the next piece as ever; what pieces share of a row is learnt, and goes to every tube. What a
        correlation of the study ties to an updated assumption is updated with it. `conditioned_on` holds the effective
        number of draws, and p, how surprising the measurements are under the study (disagreement.check); below 0.05 a
        Disagreement warns and names what disagrees.
        Raises BenchError where nothing can be said: the effective sample is too small to trust, nothing that is drawn
        was measured, or a kind of measurement lies beyond all that the study allows, whatever the gauge did.
        """
        with told():   # what lies outside a formula's range, the verdict tells
            return condition(study, self.measurements(study), particles, seed, least)


def _trial(number, rows, study):
    ends, tube = {row["outcome"] for row in rows}, rows[0]["tube"]
    for outcome in ("fail", "partial"):
        if outcome in ends:
            return Trial(number, tube, outcome)
    known = {t.name: t for t in study.parts} if study else {}
    route = dict.fromkeys(step.operation for step in study.steps(known[tube])) if tube in known else ()
    lacking = tuple(name for name in route if name not in {row["operation"] for row in rows})
    return Trial(number, tube, "unfinished" if lacking else "success", lacking)


def score_words(table):
    """How many measurements of a table of `Log.compare` lie inside, in one sentence: those predicted from the plan
    alone, and those of which another reading of the same row was told."""
    alone = table["predicted_from"] == ALONE
    parts = [f"{words.count(int(rows['inside'].sum()))} of {len(rows)} {how}" for how, rows in (
        ("that the plan alone predicts", table[alone]), ("predicted with another reading of the same row given",
                                                         table[~alone])) if len(rows)]
    return (f"Inside their {words.percent(table.attrs['level'])} interval lie " + ", and ".join(parts)
            + " (strokes for minutes, minutes for a pull or a mass: that tests less)" * bool((~alone).any()))


def for_reading(table):
    """A table of `Log.compare` in words: predicted range and measurement, each with its unit, and from what it was
    predicted; from plug gauges the two sizes between which it lies."""
    import pandas as pd
    rows = table.set_index("trial")
    return words.headed(pd.DataFrame({
        "step": rows["step"], "quantity": rows["quantity"].map(said),
        "predicted from": rows["predicted_from"],
        f"predicted, median ({words.percent(table.attrs['level'])} interval)": [
            words.ranged(row.low, row.median, row.high, row.unit,
                         digits=3 + (len(f"{row.median:.0f}") if row.unit == "mm" else 0))   # to the micrometre
            for row in rows.itertuples()],
        "measured": [_measured(row) for row in rows.itertuples()],
        "inside": rows["inside"].map({True: "yes", False: "no"})}))


def _measured(row):
    low, high = (words.exact(end) if np.isfinite(end) else "" for end in (row.measured_low, row.measured_high))
    between = f"{low} to {high}" if low and high else f"above {low}" if low else f"below {high}"
    return words.with_unit(low if low == high else between, row.unit)


def read(path, gauges=None):
    """Log from a CSV: good rows kept, bad ones refused with line and column (see Log.faults); the file is never
    changed.

    gauges: {kind of measurement: what a gauge study found}, in place of the kit's own error of reading: a GaugeStudy
    of `gauging.gauge_study`, a standard deviation with a unit, or a share of the reading (0.03); where the gauge was
    checked against a standard as well, (that, how far off it may still be, as a share or with the kind's unit).
    Raises BenchError for an unknown kind, or an error that is none.
    """
    faults, gauges = [], dict(gauges or {})
    for kind in gauges:
        if kind not in KINDS:
            raise BenchError(f"gauges: no kind of measurement is called {kind!r}; {tables.nearest(kind, KINDS)}")
    rows = tables.read(path, schema(), faults)
    good = []
    for row in rows:
        fault = _contradiction(row)
        if fault:
            faults.append(f"{path}, line {row['line']}, {fault}")
        else:
            good.append(row)
    return Log(Path(path), tuple(good), tuple(faults), gauges)


def _contradiction(row):
    if row["counted"] == "no" and not row["why_not"]:
        return "column 'why_not': a row that is not counted must say why"
    if row["outcome"] == "fail" and not row["failure"]:
        return "column 'failure': a failure must say of what kind"
    if row["mass_after_g"] is not None and (row["mass_before_g"] is None or row["mass_after_g"] > row["mass_before_g"]):
        return "column 'mass_after_g': more than before, or no mass before"
    if row["pull_most_N"] is not None and (row["pull_N"] or 0) > row["pull_most_N"]:
        return "column 'pull_N': the step cannot take more than the most that the arm could keep up, in pull_most_N"
    if row["pull_most_N"] is not None and row["minutes"] is None:
        return "column 'minutes': nothing there; the most that an arm keeps up depends on for how long"
    tested = [name for name, _, _ in OF_THE_PART.values() if row[name] is not None]
    if tested and row["operation"] != "test":
        return f"column {tested[0]!r}: that is read on the finished part; give it a row of its own, operation 'test'"
    if row["passes_mm"] is not None and row["stops_mm"] is not None and row["passes_mm"] >= row["stops_mm"]:
        return "column 'stops_mm': the plug that stops must be larger than the one that passes"
    return None


def sheet(path, title="Bench log", rows=SHEET_ROWS):
    """Write a printable sheet (HTML, A4 across) with the log's columns; refuses to overwrite."""
    path = Path(path)
    if path.exists():
        raise FileExistsError(f"{path} is there already; give another name")
    from html import escape
    fields = schema()["fields"]
    head = "".join(f"<th>{escape(f['name'])}</th>" for f in fields)
    notes = "".join(f"<li><b>{escape(f['name'])}</b>: {escape(f['description'])}</li>" for f in fields)
    empty = ("<tr>" + "<td></td>" * len(fields) + "</tr>") * rows
    path.write_text(f"""<!doctype html><html lang="en"><meta charset="utf-8"><title>{escape(title)}</title>
<style>{SHEET_STYLE}</style>
<h1 style="font-size: 11pt">{escape(title)}</h1>{SHEET_RULE}
<table><tr>{head}</tr>{empty}</table><ul>{notes}</ul></html>
""", encoding="utf-8")
    return path
