"""The figures of a write-up: which there are, in what order, with caption, words for those who cannot see, and data."""
from dataclasses import dataclass, field, replace

import numpy as np

from kit.base import words
from kit.publish import figures, page
from kit.publish.writeup_texts import trials_said
from kit.study import bench, next_trials, reach
from kit.study.design import passes

LEAST, ROWS = 0.1, 12   # a step whose chance never falls by more is left out of the sweep; bars of the sensitivity
NOWHERE = "no value looked at"
NAMES = ("verdict", "sweep", "part", "sensitivity", "what-to-change", "what-to-measure", "limiting-step",
         "outside-checks", "rivals", "bench-log", "trace")   # of all figures that some study has, in order
LIKELY = 0.66           # chance whose wall the sweep's caption tells


@dataclass(frozen=True)
class Plate:
    """A figure of the write-up: draw(width in mm) gives it; data: the table that drew it."""
    name: str
    draw: callable
    caption: str
    alt: str
    data: object
    kept: dict = field(default_factory=dict, repr=False, compare=False)

    def drawn(self, width):
        """The figure of that width, mm, drawn once."""
        if width not in self.kept:
            self.kept[width] = self.draw(width)
        return self.kept[width]

    def printed(self, width, end):
        """Its bytes in a format (of page.FORMATS), made once."""
        if (width, end) not in self.kept:
            self.kept[width, end] = page.printed(self.drawn(width), end, self.alt)
        return self.kept[width, end]


def plates(worked):
    """The figures of a write-up, in order, as Plates; captions in the author's words where there are any.

    worked: a WorkedOut.
    """
    found = [_verdict(worked), _sweep(worked), _part(worked), _sensitivity(worked), _reach(worked),
             _to_measure(worked), _limiting_step(worked), _outside_checks(worked), _rivals(worked),
             _bench_log(worked), _trace(worked)]
    return tuple(plate for plate in found if plate)


def _plate(worked, name, draw, caption, alt, data):
    generated = caption + (" Invented study." if worked.study.invented else "")
    return Plate(name, draw, worked.worded(f"caption {name}", generated), alt, data)


def _counted(worked):
    return f" {trials_said(worked)}" if worked.log else ""


def _verdict(worked):
    verdict, table = worked.verdict, worked.verdict_table
    worst = table.sort_values(["chance", "margin"]).drop_duplicates("criterion").head(4)
    least = "; ".join(f"{r.criterion}, chance {words.chance(r.chance)}" for r in worst.itertuples())
    finished = " and of the finished part" if worked.study.use else ""
    return _plate(
        worked, "verdict", lambda width: figures.margins(verdict, width=width, band=verdict.worlds),
        f"The margin of each step{finished}, capacity over demand, for the tube with the least chance. Bars: 5 % to "
        "95 % of draws; tick: median; an arrow where it goes on; to the right of 1 the step is within reach. Beside "
        "each bar: the chance that the step is met, and the tube. Above: the chance of all together, and its band over "
        f"worlds of what is weakly known. {worked.made_of}.{_counted(worked)}",
        f"Bars of the margin of each criterion. Least certain: {least}. All together: chance "
        f"{words.chance(verdict.chance)}, {verdict.worlds.said}.", table)


def _sweep(worked):
    """None where no other wall than the planned one can be had."""
    sweep = worked.sweep
    if len(sweep) <= 1:
        return None
    ends = sweep.sort_index()
    chance, (thin, *_, thick) = ends["all"], ends.index
    return _plate(
        worked, "sweep", lambda width: figures.chances(sweep, sweep.attrs["now"], LEAST, width),
        "Probability that each step is met, against wall thickness in mm: all together (heavy line), and each step "
        f"that ever falls below {words.chance(1 - LEAST)}; dashed: as planned; light band: all together in nine of ten "
        f"worlds of what is weakly known. {passing_said(sweep)} "
        f"{words.counted(sweep.attrs['n'], 'draw')} a point, for the band {sweep.attrs['worlds']} worlds of "
        f"{sweep.attrs['worlds']} draws, seed {worked.seed}, the same for all points.",
        f"Chance of all steps together: {words.chance(chance.iloc[0])} at a wall of {words.exact(thin)} mm, "
        f"{words.chance(chance.max())} at most, {words.chance(chance.iloc[-1])} at {words.exact(thick)} mm.", sweep)


def passing_said(sweep):
    """At which wall all together gets likely, and at which the ends of its band do."""
    told = []
    for column, which in (("all", "the chance of all"), ("all_95", "the upper end of its band"),
                          ("all_5", "the lower end")):
        at = " and ".join(words.with_unit(words.number(wall, 2), "mm") for wall in passes(sweep, LIKELY, column))
        told.append(f"by {which} at {at or NOWHERE}")
    if all(said.endswith(NOWHERE) for said in told):
        return f"Neither the chance of all nor its band passes {LIKELY} (likely) at any value looked at."
    return f"A chance of {LIKELY} (likely) is passed {'; '.join(told)}."


def _part(worked):
    """None where there is no sleeve."""
    study, sleeves = worked.study, [t for t in worked.study.tubes if t.position is not None]
    if not sleeves:
        return None
    sizes = "; ".join(f"{t.said}, bore {words.planned(t.bore)}, outside {words.planned(t.outside)}, "
                      f"{words.planned(t.length)} long" for t in sleeves)
    return _plate(
        worked, "part", lambda width: figures.nest(sleeves, arbor=sleeves[0].bore.m_as("mm"), width=width),
        f"{study.title}: the sleeves in half section on their arbor, lengths and radii to different scales; sizes as "
        "planned.",
        f"Half section of {sizes}.", study.dimensions)


def _outside_checks(worked):
    score, table = worked.score, worked.score.table
    return _plate(
        worked, "outside-checks", lambda width: figures.scored(table, width=width),
        "Published measurements over the median that the reference tables predict. Bars: the predicted 5 % to 95 % "
        f"interval ({words.draws(score.n, score.seed)}); filled: scored; open: not scored, and why. {score.words}",
        f"{score.hits} of {words.counted(len(score.finds), 'find')} that are scored lie inside the predicted interval.",
        table)


def _sensitivity(worked):
    tornado = worked.tornado
    return _plate(
        worked, "sensitivity", lambda width: figures.tornado(tornado, ROWS, width),
        "The least margin of all, with one assumption at its 5 % point and at its 95 % point and the others at their "
        "medians (no draws). Beside each bar: the grade of the assumption's evidence. "
        f"Inputs {worked.verdict.provenance['inputs']}.",
        f"Bars of the {min(len(tornado), ROWS)} assumptions that move the least margin most; the first is the "
        f"{tornado['assumption'].iloc[0]}.", tornado)


def _limiting_step(worked):
    line = worked.verdict.limiting_line
    often = f" (most often: {line.where})" if line.where else ""
    return _plate(
        worked, "limiting-step", lambda width: figures.against(line, width=width),
        f"Demand and capacity of the limiting step, '{line.criterion}' of "
        f"{worked.verdict.place(replace(line, where=''))}, at the place that is worst in each draw{often}; shares of "
        f"draws. {worked.made_of}.",
        f"Two densities, demand and capacity of {line.criterion}; met with a chance of {words.chance(line.chance)}.",
        _spread_of(line))


def _spread_of(line):
    """DataFrame of the distributions of demand and capacity: the value below which a share of draws lies."""
    import pandas as pd
    shares = np.r_[0.001, 0.005, np.arange(1, 100) / 100, 0.995, 0.999]
    return pd.DataFrame({"share_below": shares, "asked": np.quantile(line.demand, shares),
                         "given": np.quantile(line.capacity, shares), "unit": line.unit})


def _trace(worked):
    trace = worked.trace
    carry = "; ".join(f"{g.label} carries {words.percent(g.share)} of the variance ({g.grade})"
                      for g in trace.assumptions if g.matters)
    return _plate(
        worked, "trace", lambda width: figures.trace(trace, width=width),
        "Where the limiting number comes from: claim, criterion, estimates and assumptions of "
        f"'{trace.criterion}' ({trace.tube}); the weakest evidence that affects the result has a heavy outline. "
        f"{worked.made_of}.",
        f"From claim to assumptions: {carry}.", _grounds(worked))


def _grounds(worked):
    """DataFrame of the assumptions that the limiting number comes from."""
    import pandas as pd
    rows = [{"key": g.key, "assumption": g.label, "median": g.median, "low_5": g.low, "high_95": g.high, "unit": g.unit,
             "grade": g.grade, "source": g.source, "share": g.share, "feeds": g.feeds}
            for g in worked.trace.assumptions]
    return pd.DataFrame(rows).set_index("key")


def _bench_log(worked):
    """None where the log measures nothing that the study predicts."""
    compared = worked.compared
    if compared is None:
        return None
    held = compared.attrs
    return _plate(
        worked, "bench-log", lambda width: figures.compared(compared, width=width),
        f"Measured over predicted median (dots). Bars: the predicted {words.percent(held['level'])} interval, the "
        f"error of reading included, with what gauge, day and person share "
        f"({words.draws(held['n'], held['seed'])}). {bench.score_words(compared)}.{_counted(worked)}",
        f"{held['inside']} of {held['measurements']} measurements lie inside the predicted interval.", compared)


def _rivals(worked):
    """None where no rival is named."""
    rivals = worked.rivals
    if rivals is None:
        return None
    tell = "; ".join(f"'{route}' alone leaves {row['tells'].replace('; ', ', ')}"
                     for route, row in rivals.iterrows() if row["tells"])
    return _plate(
        worked, "rivals", lambda width: figures.traces(rivals, width=width),
        "Which way of making the part leaves which trace; filled: no other way here leaves it. Judged, operation by "
        "operation.",
        f"Table of traces: {tell}.", rivals)


def _reach(worked):
    """None where it was not asked what to change."""
    table = worked.reach
    if table is None:
        return None
    return _plate(
        worked, "what-to-change", lambda width: figures.reached(table, width=width),
        "What each change would make of the chance of all: from the plan as it is to the tick; solid where "
        f"{words.chance(table.attrs['wanted'])} is reached, dashed where not; grey: the band over worlds of what is "
        "weakly known. Beside: the chance, and the hours more. "
        f"{words.draws(table.attrs['n'], table.attrs['seed'])}.",
        reach.said(table), table)


def _to_measure(worked):
    """None where it was not asked what to measure next, or the study has changed since."""
    table = worked.next_trials
    if table is None:
        return None
    return _plate(
        worked, "what-to-measure", lambda width: figures.to_measure(table, width=width),
        "How wide the 5 % to 95 % band of the chance of all would be after each kind of measurement, at the number of "
        "readings that narrows it most an hour: from its width now to the tick; grey: one standard error to either "
        "side; solid where the narrowing shows, dashed where it does not. Beside: the rank (=: not to be told apart), "
        f"and what the band loses an hour. {words.count(table.attrs['worlds'])} worlds of "
        f"{words.counted(table.attrs['inner'], 'draw')}, {words.counted(table.attrs['truths'], 'truth')}, seed "
        f"{table.attrs['seed']}.",
        next_trials.said(table), table)
