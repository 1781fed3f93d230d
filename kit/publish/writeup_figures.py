"""The figures of a write-up: which there are, in what order, with caption, words for those who cannot see, and data."""
from dataclasses import dataclass

import numpy as np

from kit.base import references
from kit.base.units import number, show
from kit.publish import figures
from kit.publish.tabular import percent
from kit.publish.writeup_texts import trials_said


@dataclass(frozen=True)
class Plate:
    """A figure of the write-up: draw(width in mm) gives it; data: the table that drew it."""
    name: str
    draw: callable
    caption: str
    alt: str
    data: object


def plates(worked):
    """The figures of a write-up, in order, as Plates; captions in the author's words where there are any.

    worked: a WorkedOut.
    """
    found = [_verdict(worked), _sweep(worked), _part(worked), _sensitivity(worked), _limiting_step(worked),
             _trace(worked), _bench_log(worked), _rivals(worked)]
    return tuple(plate for plate in found if plate)


def _plate(worked, name, draw, caption, alt, data):
    generated = caption + (" Invented study." if worked.study.invented else "")
    return Plate(name, draw, worked.worded(f"caption {name}", generated), alt, data)


def _counted(worked):
    return f" {trials_said(worked)}" if worked.log else ""


def _verdict(worked):
    verdict, table = worked.verdict, worked.verdict.table
    worst = table.sort_values(["chance", "margin"]).drop_duplicates("criterion").head(4)
    least = "; ".join(f"{r.criterion}, {percent(r.chance)} of draws" for r in worst.itertuples())
    finished = " and for the finished part" if worked.study.use else ""
    return _plate(
        worked, "verdict", lambda width: figures.margins(verdict, width=width),
        f"What there is to give over what is asked, for each step{finished}, on the tube that finds it hardest. "
        "Bars: 5 % to 95 % of draws; tick: median; right of 1 it is within reach. At the right the chance of being "
        f"met. {worked.made_of}.{_counted(worked)}",
        f"Bars of the margin of each criterion. Least certain: {least}. All together {percent(verdict.chance)}.", table)


def _sweep(worked):
    """None where no other wall than the planned one can be had."""
    sweep = worked.sweep
    if len(sweep) <= 1:
        return None
    ends = sweep.sort_index()
    chance, (thin, *_, thick) = ends["all"], ends.index
    return _plate(
        worked, "sweep", lambda width: figures.chances(sweep, mark=sweep.attrs["now"], width=width),
        "Chance of being met over the wall, in mm: all together (heavy line) and each step that falls below certainty; "
        f"dashed: as planned. {sweep.attrs['n']} draws a point, seed {worked.seed}, the same for all points.",
        f"Chance of all steps together: {chance.iloc[0]:.2f} at a wall of {number(thin)} mm, {chance.max():.2f} at "
        f"most, {chance.iloc[-1]:.2f} at {number(thick)} mm.", sweep)


def _part(worked):
    """None where there is no sleeve."""
    study, sleeves = worked.study, [t for t in worked.study.tubes if t.position is not None]
    if not sleeves:
        return None
    sizes = "; ".join(f"{t.name}, bore {show(t.bore)}, outside {show(t.outside)}, {show(t.length)} long"
                      for t in sleeves)
    return _plate(
        worked, "part", lambda width: figures.nest(sleeves, arbor=sleeves[0].bore.m_as("mm"), width=width),
        f"{study.title}: the sleeves in half section on their arbor, lengths and radii to different scales; sizes as "
        "planned.",
        f"Half section of {sizes}", study.dimensions)


def _sensitivity(worked):
    tornado = worked.tornado
    first = tornado.index[0].partition("@")[0]
    return _plate(
        worked, "sensitivity", lambda width: figures.tornado(tornado, width=width),
        "The least margin of all. Bars: from one assumption's 5 % point to its 95 % point, the others at their medians "
        f"(no draws); at the right the grade of its evidence. Inputs {worked.verdict.provenance['inputs']}.",
        f"Bars of the twelve assumptions that move the least margin most; the first is {first}.", tornado)


def _limiting_step(worked):
    line = worked.verdict.limiting_line
    return _plate(
        worked, "limiting-step", lambda width: figures.against(line, width=width),
        f"What the limiting step asks and what there is to give: '{line.criterion}' of {line.tube}, at the place that "
        f"is worst in each draw; shares of draws. {worked.made_of}.",
        f"Two densities, demand and capacity of {line.criterion}; met in {percent(line.chance)} of draws.",
        _spread_of(line))


def _spread_of(line):
    """DataFrame of the distributions of demand and capacity: the value below which a share of draws lies."""
    import pandas as pd
    shares = np.r_[0.001, 0.005, np.arange(1, 100) / 100, 0.995, 0.999]
    return pd.DataFrame({"share_below": shares, "asked": np.quantile(line.demand, shares),
                         "given": np.quantile(line.capacity, shares), "unit": line.unit})


def _trace(worked):
    trace = worked.trace
    carry = "; ".join(f"{g.key} carries {percent(g.share)} ({g.grade})" for g in trace.assumptions if g.matters)
    return _plate(
        worked, "trace", lambda width: figures.trace(trace, width=width),
        "Where the limiting number comes from: claim, criterion, estimates and assumptions of "
        f"'{trace.criterion}' ({trace.tube}); the weakest evidence that matters is outlined. {worked.made_of}.",
        f"From claim to assumptions; {carry}", _grounds(worked))


def _grounds(worked):
    """DataFrame of the assumptions that the limiting number comes from."""
    import pandas as pd
    labels = references.citations([g.source for g in worked.trace.assumptions], *worked.sources)
    rows = [{"key": g.key, "median": g.median, "low_5": g.low, "high_95": g.high, "unit": g.unit, "grade": g.grade,
             "source": labels[g.source], "share": g.share, "feeds": g.feeds} for g in worked.trace.assumptions]
    return pd.DataFrame(rows).set_index("key")


def _bench_log(worked):
    """None where the log measures nothing that the study predicts."""
    compared = worked.compared
    if compared is None:
        return None
    held = compared.attrs
    return _plate(
        worked, "bench-log", lambda width: figures.compared(compared, width=width),
        f"Measured over predicted median (dots). Bars: the predicted {percent(held['level'])} interval, the error of "
        f"measuring included ({held['n']} draws, seed {held['seed']}); {held['inside']} of {held['measurements']} "
        f"inside.{_counted(worked)}",
        f"{held['inside']} of {held['measurements']} measurements lie inside the predicted interval.", compared)


def _rivals(worked):
    """None where no rival is named."""
    rivals = worked.rivals
    if rivals is None:
        return None
    tell = "; ".join(f"only {route} leaves {row['tells']}" for route, row in rivals.iterrows() if row["tells"])
    return _plate(
        worked, "rivals", lambda width: figures.traces(rivals, width=width),
        "Which way of making the part leaves which trace; filled: only that one leaves it. Judgement, row by row.",
        f"Table of traces; {tell}", rivals)
