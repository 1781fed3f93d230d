"""The write-up of a study: figures, tables, text, report and archive, in one folder that is there whole or not at all.

    kit.writeup.bundle(study, "out")          # or: python -m kit writeup FOLDER --out DIR

All is made from the record. The same study, log and seed give the same tables and figures, byte for byte; only the date of the archive
is of the day. Text and captions may be put into your own words in `wording.toml` of the study's folder (see `reword`).
"""
import datetime
import errno
import hashlib
import json
import os
import shutil
import tempfile
import tomllib
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np

from kit import __version__
from kit.base import evidence, references, tables
from kit.estimates import trials
from kit.study import bench, routes
from kit.publish import archive, claims, figures, report, tabular
from kit.study.newstudy import slug
from kit.publish.report import Bullets, Heading, Note, Paragraph, Picture, Table
from kit.study.outcomes import EVERY
from kit.study.studyfile import StudyError
from kit.base.units import number, show, ureg
from kit.study.use import WHOLE

FORMATS = ("pdf", "svg", "png")   # and "tiff", where a journal wants it
WIDTHS = tuple(figures.WIDTHS.values())   # mm
WORDING = "wording.toml"
ROUTE = "bored from the bar"   # what a study's own route is called among its rivals
KITS = "assumption of the kit's tables"
CARE = ("Spinning work, cords under tension, swarf, files without handles, lead-bearing bronze, metal and abrasive dust, and rags with drying oils can hurt. "
        "Local rules and qualified supervision come first.")


# --- what is worked out, once ---------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Case:
    """A study worked out for print: its verdict, and what else is asked of it, each once. draws, seed: of the verdict. words: {name: text}
    of the author's that stand before those in `wording.toml`."""
    study: object
    draws: int = 2**17
    seed: int = 1
    words: dict = field(default_factory=dict)

    @cached_property
    def log(self):
        """The bench log of the study's folder; None where there is none, or no row in it."""
        path = self.study.folder / "bench_log.csv"
        log = bench.read(path) if path.exists() else None
        return log if log and (log.rows or log.faults) else None

    @cached_property
    def verdict(self):
        return self.study.assess(self.draws, self.seed)

    @cached_property
    def strength(self):
        return claims.strength(self.verdict, self.log)

    @cached_property
    def trace(self):
        return self.verdict.trace(self.verdict.limiting, self.verdict.limiting_line.tube)

    @cached_property
    def sources(self):
        """BibTeX files, the study's own last: it stands before the reference tables'."""
        own = self.study.folder / "sources.bib"
        return (tables.REFERENCE / "sources.bib", *([own] if own.exists() else []))

    @cached_property
    def cited(self):
        """{source: how it is cited} of all that the verdict and the record rest on."""
        keys = [*self.register["source"], *(s["source"] for s in self.study.record.get("support", ()))]
        return references.citations(keys, *self.sources)

    @cached_property
    def register(self):
        """The assumptions that some criterion asked for."""
        return self.study.register.loc[sorted(self.verdict.asked)]

    @cached_property
    def sweep(self):
        """Chances over the wall, from a quarter to twice what is planned."""
        sleeves = [t for t in self.study.tubes if t.position is not None]
        line = self.verdict.limiting_line
        tube = sleeves[0] if sleeves else next((t for t in self.study.tubes if t.name == line.tube), self.study.tubes[0])
        key = "wall" if sleeves else f"{tube.name}.wall"
        values = []
        for share in (0.25, 0.35, 0.5, 0.625, 0.75, 0.875, 1, 1.25, 1.5, 2):
            try:
                self.study.with_(**{key: share * tube.wall})
            except StudyError:   # so thin that nothing is left of it
                continue
            values.append(share * tube.wall)
        table = self.study.sweep(key, values, 2**12, self.seed)
        table.attrs["now"] = tube.wall.m_as("mm")
        return table

    @cached_property
    def tornado(self):
        return self.study.sensitivity("tornado")

    @cached_property
    def compared(self):
        """The log set beside the study; None where it measures nothing that the study predicts."""
        try:
            return self.log.compare(self.study, seed=self.seed) if self.log else None
        except bench.NothingMeasured:
            return None

    @cached_property
    def rivals(self):
        named = self.study.record.get("rivals", ())
        return routes.compare([(ROUTE, self.study), *named], seed=self.seed) if named else None

    @cached_property
    def weak(self):
        """What a reviewer will ask about; places without the folder, which may move."""
        here = f"{self.study.folder}{os.sep}"
        return [claims.Weakness(w.place.replace(here, ""), w.what.replace(here, ""), w.remedy) for w in claims.weaknesses(self.verdict, self.log)]

    @property
    def made_of(self):
        """n, seed, inputs and version, as every caption says them."""
        return f"{self.verdict.n} draws, seed {self.seed}, inputs {self.verdict.provenance['inputs']}, kit {__version__}"

    @cached_property
    def wording(self):
        """{name: {text, of}}: what the author has put into words of their own."""
        path = self.study.folder / WORDING
        try:
            kept = tomllib.loads(path.read_text(encoding="utf-8-sig")) if path.exists() else {}
            return kept | {name: {"text": text} for name, text in self.words.items() if text.strip()}
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise StudyError(f"{path}: not readable as TOML: {error}; mend it, or take the file away to have the generated text back") from None

    def worded(self, name, generated):
        """The author's own words of that name, else the generated ones."""
        return self.wording.get(name, {}).get("text", "").strip() or generated

    @property
    def outdated(self):
        """Names of the texts that were put into own words before the study or its log last changed."""
        return [name for name, entry in self.wording.items() if entry.get("of") not in (None, _basis(self.study))]


# --- text -----------------------------------------------------------------------------------------------------------------

def verdict_text(case):
    """The verdict as a paragraph to edit: probability word and scale, what limits, trials, strength, rivals not excluded, what it does not show."""
    verdict, line = case.verdict, case.verdict.limiting_line
    low, mid, high = (number(x, 2) for x in line.quantiles("margin"))
    place = line.tube if line.tube == WHOLE else f"{line.tube} tube"
    where = f" ({line.where})" if line.where else ""
    said = [f"With the tools and choices listed, it is {evidence.likelihood(verdict.chance)} (chance {verdict.chance:.2f}, in the probability words of "
            f"the Intergovernmental Panel on Climate Change) that every step is within reach of this workshop, under the ranges assumed; {case.made_of}.",
            f"The limiting step is '{line.criterion}' of the {place}{where}: margin {mid} (5 % to 95 %: {low} to {high}), met in {claims.percent(line.chance)} of draws."]
    if verdict.weakest_evidence:
        grade, key, criterion = verdict.weakest_evidence
        said.append(f"The weakest evidence that matters is '{key}' ({grade}), in '{criterion}'.")
    said += [_trials_said(case), *_measured_said(case), case.strength.words]
    if case.rivals is not None:
        own, others = case.rivals.loc[ROUTE], case.rivals.index.drop(ROUTE)
        tells = own["tells"].replace("; ", ", ")
        apart = f"it would leave what they do not: {tells}" if tells else "it leaves no trace that they do not"
        said.append(f"This does not exclude other ways of making it ({'; '.join(others)}); {apart}.")
    else:
        said.append("No rival way of making it was held against it.")
    said.append("It is the chance that capacity exceeds demand in the model; it does not say that the part was made so.")
    return " ".join(said)


def _trials_said(case):
    good, n = claims.trial_counts(case.log)
    if not n:
        return "No trial is on record."
    low, high = trials.success_interval(successes=good, trials=n)
    left_out = len(case.log.rows) - len(case.log.counted)
    excluded = f"; {left_out} row{'s' if left_out > 1 else ''} not counted, with the reason in the table" if left_out else ""
    missing = claims.untried(case.study, case.log)
    return (f"In {good} of {n} trials every counted step was a success (95 % interval of the rate: {claims.percent(low)} to {claims.percent(high)}, Clopper-Pearson{excluded})"
            + (f"; no counted trial of: {', '.join(missing)}." if missing else "."))


def _measured_said(case):
    """What the log's measurements say of the predictions, as a list of one sentence or none."""
    if case.compared is None:
        return []
    held, low_high = case.compared.attrs, [claims.percent(x) for x in case.compared.attrs["share_interval"]]
    few, many = (claims.percent(x) for x in held["share_expected"])
    return [f"Of {held['measurements']} measurements {held['inside']} fell inside the predicted {claims.percent(held['level'])} intervals (95 % interval of that share, "
            f"Clopper-Pearson: {' to '.join(low_high)}; by the model {few} to {many} were to be expected)."]


def methods_text(case):
    """The methods paragraph, to edit."""
    study, verdict, used = case.study, case.verdict, case.register
    grades = used["grade"].value_counts()
    kinds = ", ".join(f"{grades[g]} {g}" for g in evidence.GRADES if g in grades)
    each = int((used["drawn"] == "each").sum())
    versions = case.verdict.provenance["versions"]
    said = [f"Feasibility was judged step by step. Each of {len(verdict.chances)} criteria holds a demand (a torque, force, wall, stock, time) against the capacity of "
            "workshop, tool or metal for it, in the same unit; the margin is capacity over demand, and a step is within reach where it is 1 or more. "
            f"{len(used)} assumptions entered as distributions ({kinds}), {each} of them afresh for each tube; how far each formula may be off was drawn as well. "
            f"They were sampled together {verdict.n} times (scrambled Sobol points mapped by inverse distributions, seed {case.seed}), and all criteria were "
            "evaluated on the same draws, so that the chance of all together counts what they share.",
            f"The maker's choices (order of work: {study.choices['order']}; drive: {study.choices['drive']}; pulley {show(study.choices['pulley'])}) were held as planned.",
            "An assumption's grade is that of its evidence; it counts toward the wording where it carries 5 % or more of the variance of a margin (squared rank correlation)."]
    if verdict.warnings:
        said.append(f"{len(verdict.warnings)} estimates were used outside the range for which their formula is known to hold; they are listed.")
    if case.log:
        substitutes = sum(r["substitute"] == "yes" for r in case.log.rows)
        said.append("Every trial on record is listed, failures included"
                    + (f"; {substitutes} row{'s' if substitutes > 1 else ''} used a modern tool or material." if substitutes else "."))
        if case.compared is not None:
            held = case.compared.attrs
            said.append(f"What was measured was set beside the {claims.percent(held['level'])} interval that the study predicts for it, the error of measuring included "
                        f"({held['n']} draws, seed {held['seed']}).")
    if claims.registered(study):
        same, (day, before) = claims.registered(study) == claims.plan_digest(study), claims.registered_when(study)
        said.append(f"Claim and plan were registered {day}, {'before any trial was on record' if before else 'when trials stood on record already'} "
                    f"(digest {claims.registered(study)}" + (")." if same else "), and have changed since: see deviations."))
    said.append(f"Computed with ancient-method-kit {versions['kit']} on Python {versions['python']}, numpy {versions['numpy']} and scipy {versions['scipy']}; "
                f"digest of all inputs {verdict.provenance['inputs']}.")
    return " ".join(said)


# --- figures --------------------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Plate:
    """A figure of the write-up: draw(width in mm) gives it; data: the table that drew it."""
    name: str
    draw: callable
    caption: str
    alt: str
    data: object


def plates(case):
    """The figures of a write-up, in order, as Plates; captions in the author's words where there are any."""
    study, verdict = case.study, case.verdict
    sleeves, made = [t for t in study.tubes if t.position is not None], []
    invented = " Invented study." if study.invented else ""
    counted = f" {_trials_said(case)}" if case.log else ""

    def add(name, draw, caption, alt, data):
        made.append(Plate(name, draw, case.worded(f"caption {name}", caption + invented), alt, data))

    table = verdict.table
    worst = table.sort_values(["chance", "margin"]).drop_duplicates("criterion")
    add("verdict", lambda width: figures.margins(verdict, width=width),
        f"What there is to give over what is asked, for each step{' and for the finished part' if study.use else ''}, on the tube that finds it hardest. Bars: 5 % to 95 % of "
        f"draws; tick: median; right of 1 it is within reach. At the right the chance of being met. {case.made_of}.{counted}",
        "Bars of the margin of each criterion. Least certain: " + "; ".join(f"{r.criterion}, {claims.percent(r.chance)} of draws" for r in worst.head(4).itertuples()) +
        f". All together {claims.percent(verdict.chance)}.", table)
    sweep = case.sweep
    if len(sweep) > 1:
        ends = sweep.sort_index()
        add("sweep", lambda width: figures.chances(sweep, mark=sweep.attrs["now"], width=width),
            f"Chance of being met over the wall, in mm: all together (heavy line) and each step that falls below certainty; dashed: as planned. "
            f"{sweep.attrs['n']} draws a point, seed {case.seed}, the same for all points.",
            f"Chance of all steps together: {ends['all'].iloc[0]:.2f} at a wall of {number(ends.index[0])} mm, {ends['all'].max():.2f} at most, "
            f"{ends['all'].iloc[-1]:.2f} at {number(ends.index[-1])} mm.", sweep)
    if sleeves:
        add("part", lambda width: figures.nest(sleeves, arbor=sleeves[0].bore.m_as("mm"), width=width),
            f"{study.title}: the sleeves in half section on their arbor, lengths and radii to different scales; sizes as planned.",
            "Half section of " + "; ".join(f"{t.name}, bore {show(t.bore)}, outside {show(t.outside)}, {show(t.length)} long" for t in sleeves), study.dimensions)
    tornado = case.tornado
    first = tornado.index[0].partition("@")[0]
    add("sensitivity", lambda width: figures.tornado(tornado, width=width),
        "The least margin of all. Bars: from one assumption's 5 % point to its 95 % point, the others at their medians (no draws); at the right the grade of its evidence. "
        f"Inputs {verdict.provenance['inputs']}.", f"Bars of the twelve assumptions that move the least margin most; the first is {first}.", tornado)
    line = verdict.limiting_line
    add("limiting-step", lambda width: figures.against(line, width=width),
        f"What the limiting step asks and what there is to give: '{line.criterion}' of {line.tube}, at the place that is worst in each draw; shares of draws. {case.made_of}.",
        f"Two densities, demand and capacity of {line.criterion}; met in {claims.percent(line.chance)} of draws.", _spread_of(line))
    trace = case.trace
    add("trace", lambda width: figures.trace(trace, width=width),
        f"Where the limiting number comes from: claim, criterion, estimates and assumptions of '{trace.criterion}' ({trace.tube}); the weakest evidence that "
        f"matters is outlined. {case.made_of}.",
        "From claim to assumptions; " + "; ".join(f"{g.key} carries {claims.percent(g.share)} ({g.grade})" for g in trace.assumptions if g.matters), _grounds(case))
    if case.compared is not None:
        held = case.compared.attrs
        add("bench-log", lambda width: figures.compared(case.compared, width=width),
            f"Measured over predicted median (dots). Bars: the predicted {claims.percent(held['level'])} interval, the error of measuring included ({held['n']} draws, seed "
            f"{held['seed']}); {held['inside']} of {held['measurements']} inside.{counted}",
            f"{held['inside']} of {held['measurements']} measurements lie inside the predicted interval.", case.compared)
    if case.rivals is not None:
        add("rivals", lambda width: figures.traces(case.rivals, width=width),
            "Which way of making the part leaves which trace; filled: only that one leaves it. Judgement, row by row.",
            "Table of traces; " + "; ".join(f"only {route} leaves {row['tells']}" for route, row in case.rivals.iterrows() if row["tells"]), case.rivals)
    return tuple(made)


def _spread_of(line):
    """DataFrame of the distributions of demand and capacity: the value below which a share of draws lies."""
    import pandas as pd
    shares = np.r_[0.001, 0.005, np.arange(1, 100) / 100, 0.995, 0.999]
    return pd.DataFrame({"share_below": shares, "asked": np.quantile(line.demand, shares), "given": np.quantile(line.capacity, shares), "unit": line.unit})


def _grounds(case):
    import pandas as pd
    labels = references.citations([g.source for g in case.trace.assumptions], *case.sources)
    rows = [{"key": g.key, "median": g.median, "low_5": g.low, "high_95": g.high, "unit": g.unit, "grade": g.grade, "source": labels[g.source], "share": g.share,
             "feeds": g.feeds} for g in case.trace.assumptions]
    return pd.DataFrame(rows).set_index("key")


# --- tables ---------------------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Sheet:
    """A table of the write-up. printed: the columns that print has room for; the frame itself where None. fields: for the data
    dictionary, name, type and description of each column, where the table of columns does not say."""
    name: str
    frame: object
    caption: str
    printed: object = None
    fields: list = field(default_factory=list)

    @property
    def print_(self):
        return tabular.shown(self.frame if self.printed is None else self.printed)


def sheets(case):
    """The tables of a write-up, in order, as Sheets."""
    import pandas as pd
    study, verdict = case.study, case.verdict
    sizes, plan = study.dimensions.reset_index(), stock_plan(study)
    found = [Sheet("verdict", verdict.table, "Demand against capacity of every step and tube: medians, where it is worst most often; margin at the worst place in each draw, median "
                   f"with its 5 % to 95 % range, so that it is not the quotient of the two; chance of being met; {case.made_of}",
                   verdict_in_print(verdict.table)),
             Sheet("strength", case.strength.table, "The highest rung that each step allows, the weakest first", _headed(case.strength.table)),
             Sheet("sizes", sizes, "Sizes as planned; clearance on diameter", _headed(_in_full(sizes))),
             Sheet("stock_plan", plan, "Stock plan: each step with the diameter it finds and leaves; stock on diameter", _headed(_in_full(plan)))]
    used = case.register.reset_index()
    used["source"] = [f"{case.cited[s]} (study)" if key in study.rows else KITS if s == "assumption" else case.cited[s] for key, s in zip(used["key"], used["source"])]
    found.append(Sheet("assumptions", used[["key", "median", "low_5", "high_95", "unit", "shape", "drawn", "grade", "source", "note"]],
                       "Assumptions that the verdict rests on: median with 5 % to 95 % range, grade of the evidence and source; (study): given by this study, the others "
                       "by the kit's reference tables. The CSV of this table says for each what it means, and where in the source it stands", _assumptions_in_print(used)))
    if case.log:
        fields = [f for f in bench.schema()["fields"] if any(row[f["name"]] is not None for row in case.log.rows)]
        rows = pd.DataFrame([{f["name"]: row[f["name"]] for f in fields} for row in case.log.rows], columns=[f["name"] for f in fields])
        rows = rows.astype({f["name"]: "Int64" for f in fields if f["type"] == "integer"})   # a gap makes no count a fraction
        printed = [c for c in ("trial", "tube", "step", "operator", "measured_mm", "torque_Nm", "pull_N", "minutes", "strokes", "outcome", "failure", "counted",
                               "why_not", "substitute") if c in rows]
        found.append(Sheet("trials", rows, "Every trial on record, in order; measurements as read", _headed(rows[printed].map(_as_read)),
                           [{k: f[k] for k in ("name", "type", "description")} for f in fields]))
    if case.compared is not None:
        found.append(Sheet("measured", case.compared, f"Predicted {claims.percent(case.compared.attrs['level'])} intervals and measurements", _measured_in_print(case.compared)))
    gone = deviations(case)
    if len(gone):
        found.append(Sheet("deviations", gone, "What was done otherwise than planned, or with a modern tool or material", _headed(gone)))
    if case.rivals is not None:
        found.append(Sheet("rivals", case.rivals.reset_index(), "Ways of making the part, side by side. Within reach: chance by this study, of one tube; chance: that a blank comes through, "
                           "and hours for one tube, medians of judgement; metal: in over that of the finished tube",
                           _headed(case.rivals.reset_index()[["route", "within_reach", "chance", "hours", "metal", "tells", "weakest_evidence"]])))
    found.append(Sheet("weak", pd.DataFrame([vars(w) for w in case.weak], columns=["place", "what", "remedy"]), "Weak points, each with its place and remedy"))
    return tuple(found)


def _ranged(low, mid, high, digits=2):
    return number(mid, digits) if low == high else f"{number(mid, digits)} ({number(low, digits)} to {number(high, digits)})"


def verdict_in_print(table):
    """The table of a verdict as print has room for it: values with their units, the margin with its 5 % to 95 % range."""
    printed = table[["tube", "criterion", "where"]].copy()
    for side in ("demand", "capacity"):
        printed[side] = [f"{number(v)} {ureg.Unit(u):~P}" for v, u in zip(table[side], table["unit"])]
    printed["margin"] = [_ranged(*row) for row in table[["margin_5", "margin", "margin_95"]].itertuples(index=False)]
    printed["chance"] = [_chance(c) for c in table["chance"]]
    return printed.assign(evidence=table["weakest_evidence"])


def _chance(share):
    """A chance to two decimals; 1.00 and 0.00 only where it is all or none."""
    return ">0.99" if 0.995 <= share < 1 else "<0.01" if 0 < share < 0.005 else f"{share:.2f}"


_UNITS = {"mm": "mm", "um": "µm", "kPa": "kPa", "h": "h", "Nm": "N·m", "N": "N", "g": "g"}
_HEADS = {"with": "tool or grain", "number": "step", "why_not": "why not counted", "tells": "traces of no other", "stands_in": "on record in", "minutes": "time, min"}


def _headed(frame):
    """The frame with its columns called as print calls them: 'stock, µm' for stock_um."""
    def called(name):
        what, _, unit = name.rpartition("_")
        return _HEADS.get(name) or (f"{what.replace('_', ' ')}, {_UNITS[unit]}" if what and unit in _UNITS else name.replace("_", " "))

    return frame.rename(columns=called)


def _in_full(frame):
    """The frame with its lengths in mm as text to the micrometre: what is planned to 10.225 mm is no 10.2 mm."""
    return frame.assign(**{name: [f"{v:.3f}" for v in frame[name]] for name in frame if name.endswith("_mm") and name != "feed_mm"})


def _as_read(value):
    """A reading as it was written down; other cells as they are."""
    return f"{value:.9g}" if isinstance(value, float) and not np.isnan(value) else value


def _measured_in_print(table):
    def shown(value, unit):
        return f"{value:.3f}" if unit == "mm" else number(value)

    units = table["unit"]
    ends = [" to ".join(dict.fromkeys((shown(a, u), shown(b, u)))) for a, b, u in zip(table["measured_low"], table["measured_high"], units)]
    spread = [f"{shown(m, u)} ({shown(a, u)} to {shown(b, u)})" for a, m, b, u in zip(table["low"], table["median"], table["high"], units)]
    return table[["trial", "step", "quantity"]].assign(unit=[f"{ureg.Unit(u):~P}" for u in units], predicted=spread, measured=ends, inside=table["inside"])


def _assumptions_in_print(used):
    units = [f"{ureg.Unit(u):~P}" for u in used["unit"]]
    values = [_ranged(*row, digits=3) for row in used[["low_5", "median", "high_95"]].itertuples(index=False)]
    return used[["key"]].assign(value=[f"{v} {u}".strip() for v, u in zip(values, units)], grade=used["grade"], source=used["source"])


def stock_plan(study):
    """DataFrame: each step of each tube, what it finds and leaves on diameter, and the choices of the maker."""
    import pandas as pd
    rows = []
    for tube in study.tubes:
        for i, step in enumerate(study.steps(tube), 1):
            before, after = step.before.m_as("mm"), step.diameter.m_as("mm")
            stock = abs(before - after) * 1000 if step.operation != "lap" else step.stock_on_diameter.m_as("um") if step.stock_on_diameter is not None else np.nan
            rows.append({"tube": tube.name, "number": i, "operation": step.operation, "with": step.name, "before_mm": before, "after_mm": after, "stock_um": round(stock, 6),
                         "feed_mm": step.feed.m_as("mm") if step.feed is not None else np.nan,
                         "pressure_kPa": step.pressure.m_as("kPa") if step.pressure is not None else np.nan,
                         "hours_h": step.hours.m_as("h") if step.hours is not None else np.nan, "drive": step.drive})
    return pd.DataFrame(rows)


def deviations(case):
    """DataFrame of what was done otherwise than planned: as the record says it, and each row of the log with a modern substitute."""
    import pandas as pd
    rows = [{name: entry.get(name, "") for name in ("step", "planned", "done", "why", "effect")} | {"stands_in": "study.toml"}
            for entry in case.study.record.get("deviations", ())]
    for row in case.log.rows if case.log else ():
        if row["substitute"] == "yes":
            rows.append({"step": row["step"], "planned": "", "done": row["remark"] or "a modern tool or material", "why": row["why_not"] or "",
                         "effect": "counted" if row["counted"] == "yes" else "not counted", "stands_in": f"bench_log.csv, line {row['line']}"})
    return pd.DataFrame(rows, columns=["step", "planned", "done", "why", "effect", "stands_in"])


# --- the report -----------------------------------------------------------------------------------------------------------

def document(case, width=140):
    """The report as blocks: claim, verdict, part, method, evidence, trials, rivals, what is weak, references."""
    study, plate, sheet = case.study, {p.name: (i, p) for i, p in enumerate(plates(case), 1)}, {s.name: (i, s) for i, s in enumerate(sheets(case), 1)}

    def picture(name):
        if name not in plate:
            return []
        i, drawn = plate[name]
        return [Picture(drawn.draw(width), f"Figure {i}. {drawn.caption}", drawn.alt, f"figure-{name}")]

    def table(name):
        if name not in sheet:
            return []
        i, found = sheet[name]
        return [Table(found.print_, f"Table {i}. {found.caption}", name)]

    blocks = [Note("Invented: no such part, workshop or find is known. Everything here shows how a study is written.")] if study.invented else []
    blocks += [Heading("The claim"), Paragraph(" ".join(study.claim.split())), Paragraph(f"Shown wrong if: {study.fails_if or 'not said.'}"),
               Heading("The verdict"), Paragraph(case.worded("verdict", verdict_text(case))), *picture("verdict"), *picture("sweep"), *table("verdict"),
               Heading("How strong the claim is"), Paragraph(claims.LADDER), *table("strength"),
               Heading("The part and the plan"), *picture("part"), *table("sizes"), *table("stock_plan"),
               Heading("Methods"), Paragraph(case.worded("methods", methods_text(case))), Note(CARE),
               Heading("What it rests on"), *picture("sensitivity"), *picture("limiting-step"), *picture("trace"), *table("assumptions")]
    if case.verdict.warnings:
        blocks += [Paragraph("Estimates used outside the range for which their formula is known to hold:"), Bullets(tuple(case.verdict.warnings))]
    support = study.record.get("support", ())
    if support:
        blocks += [Heading("What speaks for it, in the period or in a living craft"), Bullets(tuple(
            f"{s['step']} ({s['grade']}; {case.cited[s['source']]}): {s['shows']}" + (f" Does not show: {s['does_not_show']}" if s.get("does_not_show") else "") for s in support))]
    if case.log:
        blocks += [Heading("Trials"), Paragraph(" ".join([_trials_said(case), *_measured_said(case)])), *picture("bench-log"), *table("trials"), *table("measured")]
        if case.log.faults:
            blocks += [Paragraph("Rows of the log that could not be read, and are not in the table:"), Bullets(tuple(_here(study, f) for f in case.log.faults))]
    if "deviations" in sheet:
        blocks += [Heading("Deviations and modern substitutes"), *table("deviations")]
    if "rivals" in sheet:
        blocks += [Heading("Other ways of making it"), *picture("rivals"), *table("rivals")]
    blocks += [Heading("What a reviewer will ask about"), *table("weak"), Heading("References"), Bullets(tuple(_references(case))),
               Heading("How to do it again"), Paragraph(
        f"python -m kit writeup FOLDER --out DIR --draws {case.verdict.n} --seed {case.seed}, FOLDER being the folder 'study' of the archive; inputs "
        f"{case.verdict.provenance['inputs']}; " + ", ".join(f"{k} {v}" for k, v in case.verdict.provenance["versions"].items()) + ".")]
    return blocks


def _here(study, text):
    return text.replace(f"{study.folder}{os.sep}", "")


def _references(case):
    return references.listed([s for s in case.cited if s not in evidence.PLAIN_SOURCES], *case.sources)


# --- the folder -----------------------------------------------------------------------------------------------------------

def bundle(study, out, draws=2**17, seed=1, widths=WIDTHS, formats=FORMATS, date=None, only=None, words=None):
    """Write the whole write-up of a study into a new folder of `out`; its path.

    study: a Study, loaded from a folder. draws, seed: of the verdict. widths: of the figures, mm. formats: of figures.FORMATS. date: of the
    archive, a datetime.date; today where None. only: names of the figures wanted; all where None. words: {name: text} in place of
    generated ones, as in `reword`.
    The folder is called by the study's title and a digest of all that goes in, and appears whole or not at all: where it is there
    already, it is left as it is and its path returned. Nothing is ever written over.
    Raises StudyError or tables.TableError for a study that cannot be written up (a source key in no file, say), ValueError for an
    unknown figure or format or a width no journal takes, OSError where the folder cannot be written.
    """
    case, out, date = Case(study, draws, seed, words or {}), Path(out), date or datetime.date.today()
    for name in formats:
        if name not in figures.FORMATS:
            raise ValueError(f"no format {name!r}; {tables.nearest(name, figures.FORMATS)}")
    target = out / f"{slug(study.title)}-{_inputs(case, widths, formats, only)}"
    if target.exists():
        return target
    _references(Case(study, draws=2**6))   # a missing source, or a folder that cannot be written, is told before the work and not after
    out.mkdir(parents=True, exist_ok=True)
    known = plates(case)
    for name in only or ():
        if name not in {p.name for p in known}:
            raise ValueError(f"there is no figure {name!r} for this study; {tables.nearest(name, [p.name for p in known])}")
    chosen = [(i, p) for i, p in enumerate(known, 1) if only is None or p.name in only]   # numbered as in the report
    draft = Path(tempfile.mkdtemp(dir=out, prefix=".unfinished-"))
    try:
        made = draft / "bundle"
        made.mkdir()
        _fill(made, case, widths, formats, chosen, date)
        archive.pack(made, draft / "archive.zip")
        os.replace(draft / "archive.zip", made / "archive.zip")
        try:
            os.rename(made, target)
        except OSError as error:
            if error.errno not in (errno.EEXIST, errno.ENOTEMPTY):
                raise   # else somebody else was first: the same inputs make the same folder, and theirs stands
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return target


def _inputs(case, widths, formats, only):
    """Digest of all that goes into a bundle, but for where the study's folder lies and for the day."""
    words = case.study.folder / WORDING
    return _digest(json.dumps([_basis(case.study), int(case.draws), case.seed, __version__, sorted(map(float, widths)), sorted(formats), only and sorted(only),
                               words.read_text(encoding="utf-8") if words.exists() else "", case.words], sort_keys=True))[:12]


def _basis(study):
    """Digest of what every sentence about a study rests on: its inputs, its record and the files of its folder."""
    files = {name: hashlib.sha256((study.folder / name).read_bytes()).hexdigest() for name in STUDY_FILES if name != WORDING and (study.folder / name).exists()}
    return _digest(json.dumps([study.provenance(0, 0)["inputs"], files, study.fails_if, str(study.record)], sort_keys=True))


def _digest(text):
    return hashlib.sha256(text.encode()).hexdigest()[:16]


STUDY_FILES = ("study.toml", "assumptions.csv", "bench_log.csv", "sources.bib", "datapackage.json", WORDING, claims.REGISTRATION)


def _fill(folder, case, widths, formats, chosen, date):
    """Write every file of a bundle, and what describes them."""
    study, described, fields = case.study, {}, {}

    def put(path, content, name, description, made=True):
        path = folder / path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        described[path.relative_to(folder).as_posix()] = (name, description, made)

    for number_, plate in chosen:
        stem, name = f"figures/figure-{number_}-{plate.name}", f"Figure {number_}: {plate.name}"
        for width in widths:
            for path in figures.save(plate.draw(width), folder / "figures", f"{Path(stem).name}-{width:g}mm", alt=plate.alt, formats=formats):
                described[path.relative_to(folder).as_posix()] = (name, f"{width:g} mm wide", True)
        put(f"{stem}.txt", f"Figure {number_}. {plate.caption}\n", name, "its caption")
        put(f"{stem}.alt.txt", f"{plate.alt}\n", name, "what it shows, in words, for those who cannot see it")
        put(f"{stem}.csv", tabular.as_csv(plate.data), name, "the data that drew it")
        fields[f"{stem}.csv"] = (f"Data of figure {number_}: {plate.name}", _fields(plate.data))
    for sheet in sheets(case):
        put(f"tables/{sheet.name}.csv", tabular.as_csv(sheet.frame), sheet.caption, "table, every column")
        put(f"tables/{sheet.name}.md", tabular.as_markdown(sheet.print_, sheet.caption), sheet.caption, "for print, as Markdown")
        put(f"tables/{sheet.name}.tex", tabular.as_latex(sheet.print_, sheet.caption, f"tab:{sheet.name}"), sheet.caption, "for print, as LaTeX (booktabs, longtable)")
        fields[f"tables/{sheet.name}.csv"] = (sheet.caption, sheet.fields or _fields(sheet.frame))
    texts = {"verdict": verdict_text(case), "methods": methods_text(case)}
    for name, text in texts.items():
        put(f"text/{name}.md", case.worded(name, text) + "\n", f"{name.capitalize()} paragraph", "generated from the record, or as edited in wording.toml")
    put("text/references.md", "\n".join(f"- {line}" for line in _references(case)) + "\n", "Reference list", "author and date")
    put("text/trace.txt", f"{case.trace}\n", "Where the limiting number comes from", "claim, criterion, estimates, assumptions, sources")
    blocks = document(case)
    put("report.html", report.html(blocks, study.title), "Report", "one page, opens without a network")
    put("report.pdf", report.pdf(blocks, study.title), "Report", "the same, for print")
    for name in STUDY_FILES:
        if (study.folder / name).exists():
            put(f"study/{name}", (study.folder / name).read_bytes(), name, "the study as it was loaded", made=False)
    for name in ("assumptions", "bench_log"):
        if f"study/{name}.csv" in described:
            schema = tables.shared_schema(f"{name}.schema.json")
            fields[f"study/{name}.csv"] = (f"{name.replace('_', ' ').capitalize()} of the study, as written", schema["fields"])
    record = study.record
    people, licence = record.get("authors", ()), record.get("licence", "")
    summary = f"{' '.join(study.claim.split())} {verdict_text(case)}"
    put("CITATION.cff", archive.citation(study.title, people, date.isoformat(), "1.0.0", "If you use these data, please cite them.", abstract=summary,
                                         keywords=KEYWORDS, licence=licence), "How to cite this archive", "Citation File Format 1.2.0")
    put("datapackage.json", _json(archive.dictionary(fields, study.title)), "Data dictionary", "every CSV, every column")
    listing = "\n".join(f"{path}\n    {name}: {what}" for path, (name, what, _) in sorted(described.items()))
    warning = "".join(f"\nThe study has changed since the text '{name}' was edited: read it again.\n" for name in case.outdated)
    put("README.txt", f"{study.title}{' (invented)' if study.invented else ''}\n\n{case.worded('verdict', texts['verdict'])}\n\n{case.made_of}; written up {date.isoformat()}.\n"
        f"{warning}\nFiles\n-----\n{listing}\narchive.zip\n    all of these in one file, for deposit\n", "What is here", "start with this")
    files = [{"path": path, "name": name, "description": what, "size": (folder / path).stat().st_size, "made": made} for path, (name, what, made) in described.items()]
    versions = dict(case.verdict.provenance["versions"])
    (folder / archive.METADATA).write_text(_json(archive.crate(
        study.title, summary, date.isoformat(), files, people, licence, software={"name": "ancient-method-kit", "version": versions.pop("kit")},
        libraries=versions, run={"draws": case.verdict.n, "seed": case.seed, "inputs": case.verdict.provenance["inputs"]}, keywords=KEYWORDS)), encoding="utf-8")


KEYWORDS = ("experimental archaeology", "feasibility", "bow lathe", "lapping", "uncertainty")


def _json(value):
    return json.dumps(value, indent=1, ensure_ascii=False) + "\n"


def _fields(frame):
    """What the columns of a frame hold, for the data dictionary: an index that has a name comes first, as in its CSV."""
    from pandas.api.types import is_numeric_dtype
    columns = frame.reset_index() if any(frame.index.names) else frame
    known = {row["column"]: row for row in tables.load("columns")}

    def said(name):
        numeric = is_numeric_dtype(columns[name])
        if name in known:
            return {"name": name, "type": known[name]["type"], "description": known[name]["holds"]}
        return {"name": str(name), "type": "number" if numeric else "string",
                "description": "chance that every tube meets this criterion" if name in EVERY else "value that was swept"}

    return [said(name) for name in columns.columns]


def reword(study, overwrite=False, **texts):
    """Keep the author's own words in `wording.toml` of the study's folder: reword(study, verdict="...", methods="...").

    texts: by name: 'verdict', 'methods', or 'caption NAME' of a figure (as **{"caption verdict": "..."}). An empty text gives the
    generated one back. Each is kept with a digest of the study and its log as they stand, so that a later change is told.
    Raises FileExistsError for a text that is there already in other words, unless overwrite is True.
    """
    kept, path = dict(Case(study).wording), study.folder / WORDING
    for name, text in texts.items():
        if not overwrite and name in kept and kept[name].get("text", "").strip() != text.strip():
            raise FileExistsError(f"{path} holds other words for {name!r} already; say overwrite=True to put yours in their place")
        kept.pop(name, None)
        if text.strip():
            kept[name] = {"text": text.strip(), "of": _basis(study)}
    lines = ["# The author's own words, in place of the generated ones. `of` says for which state of the study they were written.\n"]
    for name, entry in sorted(kept.items()):
        words = entry["text"].replace("\\", "\\\\").replace('"""', '\\"\\"\\"')
        lines.append(f'[{json.dumps(name, ensure_ascii=False)}]\n' + (f'of = "{entry["of"]}"\n' if "of" in entry else "") + f'text = """\n{words}\n"""\n')
    return tables.put(path, "\n".join(lines))
