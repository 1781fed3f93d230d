"""What may be said: the strength of a claim, what is weak in a study, and the text that is registered before the trials.

A chance says that capacity exceeds demand in the model. Whether a claim may be called plausible or probable also asks for
evidence of the past and for trials, and the weakest step decides.
"""
import datetime
import hashlib
import re
from dataclasses import dataclass
from functools import cached_property

from kit.base import evidence, tables
from kit.estimates import trials
from kit.study import bench
from kit.study.studyfile import written_rows
from kit.base.units import Q, number
from kit.study.verdict import MATTERS

# A ladder of this kit's own, after the rules in J. Coles, Archaeology by Experiment (1973), pp. 15-18: that it can be done is
# no proof that it was done. A step is ... and so a claim is no more than:
RUNGS = ("not shown", "possible", "plausible", "probable", "attested")
PLAUSIBLE, PROBABLE = 0.66, 0.90   # chances of every step, at least
LADDER = (f"The ladder is this kit's own, and the weakest step decides. Possible: no step's margin stays below 1 over its whole range (5 % to 95 %). Plausible: "
          f"each step is met in {100 * PLAUSIBLE:.0f} % of draws or more, and each operation was done by the maker, or is done in a living craft. Probable: {100 * PROBABLE:.0f} % or more, "
          "each operation is seen in the period (find, trace, text or image), and the lower bound (95 %) of the trials' rate of success is above a level "
          "fixed beforehand. Attested: a find shows the process itself.")
FEW = 5   # trials of an operation, below which their spread is known to a third at best (JCGM 100:2008, table E.1)
IN_THE_PAST, BY_TRIAL = ("find", "trace", "text", "image"), ("living-craft", "own-trial", "modern-substitute")


@dataclass(frozen=True)
class Strength:
    """How strong a claim may be put. steps: (step, what was looked at, rung, why), a row a criterion, operation and count of trials."""
    steps: tuple

    @property
    def rung(self):
        return min((row[2] for row in self.steps), key=RUNGS.index)

    @cached_property
    def table(self):
        """DataFrame: step, looked at, rung, why; the weakest first."""
        import pandas as pd
        rows = sorted(self.steps, key=lambda row: RUNGS.index(row[2]))
        return pd.DataFrame(rows, columns=["step", "looked_at", "rung", "why"])

    @property
    def words(self):
        """The rung, and what keeps it from the next."""
        held = [row for row in self.steps if row[2] == self.rung]
        if self.rung == RUNGS[-1]:
            return "Strength of the claim: attested, for a find shows the process itself."
        said = "; ".join(f"{step}: {why}" for step, _, _, why in held[:3]) + (f"; and {len(held) - 3} more" if len(held) > 3 else "")
        return f"Strength of the claim: {self.rung}. What holds it there: {said}."


def strength(verdict, log=None):
    """The rung that a claim has earned, the weakest step deciding.

    possible: no step's margin stays below 1 over its whole range (5 % to 95 %). plausible: every step is met in 66 % of draws or
    more, and each operation has been done, by this maker (counted successes in the log) or in a living craft. probable: 90 % or more,
    the operation is seen in the period (find, trace, text or image, in [[record.support]]), and the lower bound (95 %) of the success
    rate of the trials, which together went through every operation, is above a level fixed beforehand (success_level). attested: a find
    shows the whole process.
    verdict: of a Study. log: its bench log, None where there is none. Returns a Strength.
    """
    study, steps = verdict.study, []
    support = study.record.get("support", ())
    if any(s["step"] == "whole process" and s["grade"] == "find" for s in support):
        return Strength((("whole process", "evidence", "attested", "a find shows it"),))
    for criterion, chance in verdict.chances.items():
        line = verdict.hardest(criterion)
        reach = float(line.quantiles("margin")[2])
        rung = ("probable" if chance >= PROBABLE else "plausible" if chance >= PLAUSIBLE else "possible" if reach >= 1 else "not shown")
        steps.append((criterion, "chance", rung, f"met in {percent(chance)} of draws" if rung != "not shown" else
                      f"margin {number(reach, 2)} even at its 95 % point"))
    if verdict.criteria is not None:
        steps.append(("every other criterion", "chance", "not shown", "this verdict did not look at it"))
    for operation in _operations(study):
        seen = [s for s in support if s["step"] in (operation, "whole process")]
        grades = [s["grade"] for s in seen] + _tried(log, operation)
        best = min(grades, key=evidence.GRADES.index, default=None)
        rung = "probable" if best in IN_THE_PAST else "plausible" if best in BY_TRIAL else "possible"
        why = f"best support is {best}" if best else "nothing on record that it was done, then or now"
        steps.append((operation, "evidence", rung, why))
    steps.append(_of_the_trials(study, log))
    return Strength(tuple(steps))


def _operations(study):
    return list(dict.fromkeys(s.operation for tube in study.tubes for s in study.steps(tube)))


def untried(study, log):
    """Operations of the plan that no counted row of the log holds: a rate of success says nothing of them."""
    done = {row["operation"] for row in log.counted} if log else set()
    return [operation for operation in _operations(study) if operation not in done]


def _tried(log, operation):
    """Grades that the counted successes of an operation earn."""
    rows = [r for r in log.counted if r["operation"] == operation and r["outcome"] == "success"] if log else []
    return ["own-trial" if r["substitute"] == "no" else "modern-substitute" for r in rows]


def trial_counts(log):
    """(good, all) of the counted trials: a trial is good where every counted row of it is a success."""
    outcome = {}
    for row in log.counted if log else ():
        outcome[row["trial"]] = outcome.get(row["trial"], True) and row["outcome"] == "success"
    return sum(outcome.values()), len(outcome)


def _of_the_trials(study, log):
    good, n = trial_counts(log)
    level = study.record.get("success_level")
    if not n:
        return "trials", "count", "plausible", "no trial is on record"
    low, high = trials.success_interval(successes=good, trials=n)
    counted = f"{good} of {n} trials good throughout, so a rate of {percent(low)} to {percent(high)} (95 %)"
    if missing := untried(study, log):
        return "trials", "count", "plausible", f"{counted}, but of no whole route: no counted trial of {', '.join(missing)}"
    if level is None:
        return "trials", "count", "plausible", f"{counted}; no level was fixed beforehand (success_level in [record])"
    if low > level:
        return "trials", "count", "probable", f"{counted}, above the level of {percent(level)} fixed beforehand"
    return "trials", "count", "plausible", f"{counted}; the level fixed beforehand is {percent(level)}"


# --- what is weak -----------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Weakness:
    """Something that a reviewer will ask about: where it stands, what it is, how to mend it."""
    place: str
    what: str
    remedy: str

    def __str__(self):
        return f"{self.place}: {self.what}; {self.remedy}"


def weaknesses(verdict, log=None):
    """What is weak in a study that loads, as a list of Weakness, the heaviest first.

    Looks at: assumptions that carry a margin and are conjecture or have no source; own ranges that the reference tables do not
    meet, or that are too narrow to be believed; fewer than FEW trials, or no failure among many; estimates outside their range; what
    the record leaves open. verdict: of the study. log: its bench log, None where there is none.
    """
    return [*_off(verdict, log), *_carried(verdict), *_ranges(verdict.study), *_few(verdict.study, log), *_outside(verdict), *_open(verdict.study, log)]


def _off(verdict, log):
    """A log that the study's predictions miss more often than they should."""
    try:
        held = log.compare(verdict.study).attrs if log else None
    except bench.BenchError:   # nothing in it that the study predicts, or rows that check tells of
        return
    if held and held["inside"] < held["share_expected"][0] * held["measurements"]:
        yield Weakness(str(verdict.study.folder / "bench_log.csv"), f"{held['inside']} of {held['measurements']} measurements lie inside the predicted "
                       f"{percent(held['level'])} intervals, where {percent(held['share_expected'][0])} or more were to be expected",
                       "find out which quantity is off and why; then mend its assumptions, or let the log teach the study (notebook 07)")


def _carried(verdict):
    """Conjecture and unsourced numbers that carry a criterion which is not certain."""
    study, found = verdict.study, {}
    for line in sorted(verdict.lines, key=lambda each: each.chance):
        for key, share in verdict.influence(line).items():
            known = study.assumptions[key]
            if share >= MATTERS and line.chance < 0.995 and (known.grade == "conjecture" or known.source == "assumption"):
                found.setdefault(key.partition("@")[0], (known, line, share))
    for key, (known, line, share) in found.items():
        kinds = "conjecture" if known.grade == "conjecture" else "an assumption without a source"
        yield Weakness(_place(study, key), f"{key} is {kinds} and carries {percent(share)} of the margin of '{line.criterion}' ({line.tube}), "
                       f"met in {percent(line.chance)} of draws", "measure it, or cite somebody who has, in assumptions.csv")


def _ranges(study):
    for key, row in study.rows.items():
        known = study.reference_rows[key]
        if row.shape == "fixed" or known.shape == "fixed":
            continue
        own, theirs = ([float(x) for x in a.quantile([0.05, 0.5, 0.95])] for a in (row, known))
        low, mid, high = (Q(x, row.unit).m_as(known.unit) for x in own)
        if high < theirs[0] or low > theirs[2]:
            yield Weakness(_place(study, key), f"{key} at {number(low)} to {number(high)} {known.unit} does not meet the reference range of "
                           f"{number(theirs[0])} to {number(theirs[2])} {known.unit}".rstrip(), "check the unit and the decimal point, or say in the note why")
        elif high - low < 0.02 * abs(mid) and row.grade not in ("handbook", "find"):
            yield Weakness(_place(study, key), f"{key} is given to within {100 * abs((high - low) / mid):.1f} %: people's ranges are too narrow",
                           "ask what would surprise you, and widen low and high")


def _place(study, key):
    """Where an assumption stands: file and line, the study's own or a reference table's."""
    if key in study.rows:
        path = study.folder / "assumptions.csv"
        written = {row["key"]: row["line"] for row in written_rows(study.folder)} if path.exists() else {}
        return f"{path}, line {written[key]}" if key in written else f"readings at the bench ({study.rows[key].note})"
    if key.startswith("model."):
        return f"data/reference/models.csv, line {_line_of(tables.load('models'), key.removeprefix('model.').replace('_', ' '), 'of')}"
    table, of, prefix, _ = next(take for take in study.takes if key.startswith(f"{take[2]}."))
    return f"data/reference/{table}.csv, line {_line_of(tables.rows_of(table, of), key.removeprefix(f'{prefix}.'))}"


def _line_of(rows, key, column="key"):
    return next(row["line"] for row in rows if row[column] == key)


def _few(study, log):
    folder = study.folder / "bench_log.csv"
    good, n = trial_counts(log)
    if not n:
        yield Weakness(str(folder), "no trial is on record: the verdict is the model's alone", "make trials, and write down every one")
        return
    done = {}
    for row in log.counted:
        done.setdefault(row["operation"], set()).add(row["trial"])
    for operation in _operations(study):
        times = len(done.get(operation, ()))
        if times < FEW:
            yield Weakness(str(folder), f"'{operation}' was tried {times} time{'s' if times != 1 else ''}: fewer than {FEW} tell little of the spread"
                           if times else f"no counted trial of '{operation}' is on record", f"make {FEW - times} more" if times else f"make {FEW}")
    if good == n and n >= FEW:
        yield Weakness(str(folder), f"{n} trials and no failure among them", "make sure that every trial is in the log, failures too")
    used = [row for row in log.counted if row["substitute"] == "yes"]
    if used and not study.record.get("deviations"):
        yield Weakness(f"{folder}, line {used[0]['line']}", f"{len(used)} row{'s' if len(used) > 1 else ''} with a modern tool or material in it",
                       "say what, why and to what effect, under [[record.deviations]] in study.toml")


def _outside(verdict):
    for words in verdict.warnings:
        yield Weakness("estimates", words, "treat that criterion as indicative, or test it at the bench")


def _open(study, log):
    toml, record = str(study.folder / "study.toml"), study.record
    if not study.fails_if:
        yield Weakness(toml, "nothing says what would show the claim wrong", "write 'fails_if', before the trials")
    for key, what, remedy in (("stage", "whether this is a pre-test, an experiment, a repeat or a demonstration is not said", "write 'stage'"),
                              ("rivals", "no rival way of making the part is named", "list 'rivals' (data/reference/rival_routes.csv)"),
                              ("success_level", "no rate of success was fixed beforehand", "write 'success_level'")):
        if key not in record:
            yield Weakness(toml, what, f"{remedy} in [record]" + (", before the trials" if key == "success_level" else ""))
    supported = {s["step"] for s in record.get("support", ()) if s["grade"] in IN_THE_PAST}
    without = [o for o in _operations(study) if o not in supported]
    if without and "whole process" not in supported:
        yield Weakness(toml, f"no evidence of the period is named for: {', '.join(without)}", "add [[record.support]]: step, grade, source, shows, does_not_show")
    told = registered(study)
    if told is not None and told != plan_digest(study):
        yield Weakness(str(study.folder / REGISTRATION), "the plan has changed since it was registered", "say what and why, under [[record.deviations]]")


# --- registering a claim before the trials --------------------------------------------------------------------------------

REGISTRATION = "registration.md"
BEFORE = "No trial was on record when this was written."
_SHAPES = {"two-lip drill": ("point_angle",), "half-round bit": (), "fluted reamer": ("teeth", "lead_angle"), "polygon broach": ("teeth", "lead_angle")}


def plan_digest(study):
    """Digest of claim, fail condition, part, workshop, tools, steps and what the record plans: of what is registered."""
    return hashlib.sha256(_plan(study).encode()).hexdigest()[:16]


def _plan(study):
    record = study.record
    rows = [("claim", _in_a_line(study.claim)), ("shown wrong if", _in_a_line(study.fails_if) or "not said"), ("kind of work", record.get("stage", "not said")),
            ("period, region", ", ".join(filter(None, (record.get("period"), record.get("region")))) or "not said"),
            ("rival ways of making it", ", ".join(record.get("rivals", ())) or "none named"),
            ("trials planned", record.get("trials_planned", "not said")), ("stop rule", _in_a_line(record.get("stop_rule", "")) or "not said"),
            ("rate of success to be exceeded (lower bound, 95 %)", f"{100 * record['success_level']:.9g} %" if "success_level" in record else "not said")]
    lines = [f"- {name}: {text}" for name, text in rows] + ["", "## The part", ""]
    lines += [f"- alloy: {study.part['alloy']}"] + [f"- {t.name}: {_listed(t, 'bore', 'wall', 'length', 'clearance', 'core', 'plunger', 'route')}" for t in study.tubes]
    lines += ["", "## The workshop", ""] + [f"- {name.replace('_', ' ')}: {_exact(value)}" for name, value in study.choices.items()]
    if study.use:
        lines += ["", "## How it is used", ""] + [f"- {name.replace('_', ' ')}: {_exact(value)}" for name, value in study.use.items()]
    lines += ["", "## The tools", ""] + [f"- {name}: {_listed(tool, 'kind', *_SHAPES[tool.kind], 'shank', 'shank_ratio')}" for name, tool in study.tools.items()]
    lines += ["", "## The steps", ""]
    for route in dict.fromkeys(t.route for t in study.tubes):
        tube = next(t for t in study.tubes if t.route == route)
        for i, step in enumerate(study.steps(tube), 1):
            stock = [] if step.stock_on_diameter is None else [f"stock {_exact(step.stock_on_diameter)}"]
            rest = _listed(step, "feed", "depth", "pressure", "hours", "drive")
            lines.append(f"- {route}, {i}: {step.operation}, {step.name}, {', '.join([*stock, rest])}")
    return "\n".join(lines) + "\n"


def _in_a_line(text):
    return " ".join(text.split())


def _listed(thing, *names):
    """What a tube, tool or step has of these, in words; what it has not is left out."""
    said = {name: getattr(thing, name, None) for name in names}
    return ", ".join(f"{name.replace('_', ' ')} {_exact(value)}" for name, value in said.items() if value is not None)


def _exact(value):
    """A planned value, to more digits than any workshop holds: what is registered is not rounded."""
    return f"{value.m:.9g} {value.units:~P}".strip() if isinstance(value, Q) else str(value)


def percent(share):
    """A share in per cent; none or all of them only where it is none or all."""
    if 0.9999 < share < 1:
        return "more than 99.99 %"
    if 0 < share < 0.0001:
        return "less than 0.01 %"
    return f"{100 * share:.0f} %" if share in (0, 1) or 0.005 < share < 0.995 else f"{100 * share:.2f} %"


def registration(verdict, date=None, log=None):
    """Text (Markdown) of the claim and plan, to be registered before the trials, with its digest and date.

    verdict: of the study as planned; its chance stands as the prediction. date: a datetime.date; today where None.
    """
    study, date = verdict.study, date or datetime.date.today()
    said = verdict.provenance
    rows = len(log.rows) + len(log.faults) if log else 0   # a row that is refused is on record all the same
    before = (BEFORE if not rows else
              f"{rows} row{'s' if rows > 1 else ''} of trials stood on record already when this was written: it registers what follows, not those.")
    predicted = [f"- {name}: met in {percent(chance)} of draws" for name, chance in verdict.chances.items()]
    return "\n".join([
        f"# Registered {'before the trials' if not rows else 'with trials on record'}: {_in_a_line(study.title)}", "", f"Date: {date.isoformat()}. Digest of claim and plan: {plan_digest(study)}.", before, "",
        "## Claim and test", "", _plan(study), "## What the kit predicts", "",
        f"All steps within reach in {percent(verdict.chance)} of draws ({evidence.likelihood(verdict.chance)}); {said['n']} draws, seed {said['seed']}, inputs {said['inputs']}, "
        f"kit {said['versions']['kit']}.", "", *predicted, "", "## Analysis", "",
        "Every trial is counted, or excluded with a reason written before its result is known. Success rate: Clopper-Pearson, 95 %. "
        "Measurements are held against the predicted 90 % intervals; the share inside is reported with its own interval.", ""])


def registered(study):
    """Digest in the study folder's registration, or None where there is none."""
    path = study.folder / REGISTRATION
    if not path.exists():
        return None
    found = re.search(r"Digest of claim and plan: ([0-9a-f]{16})", path.read_text(encoding="utf-8"))
    return found[1] if found else ""


def registered_when(study):
    """(date, whether no trial was on record) as the study folder's registration says it."""
    text = (study.folder / REGISTRATION).read_text(encoding="utf-8")
    found = re.search(r"Date: (\d{4}-\d\d-\d\d)", text)
    return found[1] if found else "without a date", BEFORE in text
