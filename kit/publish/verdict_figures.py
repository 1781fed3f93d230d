"""Figures of a verdict: the margins of every criterion; demand and capacity of one, set against each other."""
import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle, StepPatch

from kit.base import words
from kit.publish.page import (BLACK, BLUE, INK, MM, NARROW, VERMILION, axes, halo, log_axis, rows_of, styled,
                              wrapped, write)

LOW, HIGH = 0.02, 200   # ends of the axis of margins; what lies beyond has an arrow


@styled
def margins(verdict, width=140, band=None):
    """Every criterion's margin, capacity over demand: 5 % to 95 % with its median, for the tube with the least.

    band: worlds.Band of the verdict (`verdict.worlds`, which takes some seconds), to stand above as a light bar beside
    the chance of all; left out where None. A bar that goes on beyond the axis has an arrow at its end.
    """
    lines = {}
    for line in verdict.lines:
        held = lines.get(line.criterion)
        if held is None or (line.chance, np.median(line.margin)) < (held.chance, np.median(held.margin)):
            lines[line.criterion] = line
    lines = list(lines.values())
    beside = [f"{words.chance(line.chance)}  {line.tube}"
              + (f"\nby hand in {words.percent(line.by_hand)}" if line.by_hand >= 0.005 else "") for line in lines]
    names = [line.criterion for line in lines]
    figure, ax = rows_of(width, names, beside, "chance, tube", pitch=6.2, size=8, bold=names.index(verdict.limiting),
                         top=6 if band is None else 6 + STRIP, xscale="log", xlim=(LOW, HIGH),
                         xlabel="margin: capacity / demand")
    told = np.nan_to_num(np.transpose([line.quantiles("margin") for line in lines]), nan=np.inf, posinf=np.inf)
    a, mid, b = np.clip(told, LOW, HIGH)
    # one collection for all rows: a figure under a slider has no time for a line object each
    for start, end, hue, wide, style in ((np.maximum(a, 1), np.maximum(b, 1), BLUE, 3.2, "-"),
                                         (np.minimum(a, 1), np.minimum(b, 1), VERMILION, 1.6, (0, (1.2, 0.6)))):
        there = np.flatnonzero(end > start)
        ax.add_collection(LineCollection([((start[i], i), (end[i], i)) for i in there], colors=hue, linewidths=wide,
                                         linestyles=[style]), autolim=False)
    ax.plot(mid, range(len(lines)), "|", color=BLACK, ms=8, mew=1.2, ls="none")
    for beyond, at, mark in ((told[0] < LOW, LOW, "<"), (told[2] > HIGH, HIGH, ">")):
        rows = np.flatnonzero(beyond)
        ax.plot(np.full(len(rows), at), rows, mark, color=VERMILION if mark == "<" else BLUE, ms=5, ls="none",
                clip_on=False)
    ax.axvline(1, color=BLACK, lw=0.8, zorder=1)
    for text, hue, x, side in (("fails", VERMILION, -4, "right"), ("met", BLUE, 4, "left")):
        write(ax, text, (1, 1), (x, 1), ("data", "axes fraction"), ha=side, color=INK[hue])
    log_axis(ax.xaxis)
    if band is not None:
        _strip(figure, width, verdict.chance, band)
    return figure


STRIP = 16   # mm at the top, for the chance of all and its band


def _strip(figure, width, chance, band):
    """The chance of all together on a scale from 0 to 1 at the top of the page, its band a light bar, words above."""
    height = figure.get_figheight() / MM
    left, right = (5, 5) if width < NARROW else (8, 8)
    ax = figure.add_axes((left / width, 1 - (STRIP - 3.5) / height, 1 - (left + right) / width, 3.5 / height),
                         xlim=(0, 1), ylim=(0, 1), xticks=[], yticks=[])
    ax.spines["left"].set_visible(False)
    ax.add_patch(Rectangle((band.low, 0.12), band.high - band.low, 0.76, color=BLUE, alpha=0.3, lw=0))
    ax.plot([chance, chance], [0, 1], color=BLACK, lw=1.4, solid_capstyle="butt")
    for at, name in ((0, "0"), (0.33, "0.33"), (0.66, "0.66 likely"), (0.9, "0.9"), (1, "1")):
        ax.plot([at, at], [0, 0.3], color=BLACK, lw=0.6)
        write(ax, name, (at, 0), (0, -2), ha="center", va="top")
    room = width - left - right
    told = f"all together: chance {words.chance(chance)} (tick); light bar: {band.said}"
    write(ax, wrapped(told, room), (0, 1), (0, 2), va="bottom")


STEP = 0.1   # of a hill's height, a share of the draws


@styled
def against(line, width=90, height=55):
    """Demand and capacity of one criterion as two densities on one log axis, a line where it does not vary: the overlap
    is where it fails. The axes end at half decades and steps of STEP, so that they seldom move under a slider."""
    figure, ax = axes(width, height, left=5, right=5, bottom=11, top=7, xscale="log",
                      xlabel=" / ".join(filter(None, (line.criterion, words.unit(line.unit)))))
    values = {"demand": line.demand, "capacity": line.capacity}
    ends = np.concatenate([np.quantile(v[v > 0], (0.005, 0.995)) for v in values.values() if np.any(v > 0)])
    # zeros stand at the left end
    low, high = np.log10([max(ends.min(), ends.max() * 1e-5) / 1.1, ends.max() * 1.1]) * 2
    edges = 10**np.linspace(np.floor(low) / 2, np.ceil(high) / 2, 70)
    peaks, tallest = {}, 0.1
    for (name, v), hue, style in sorted(zip(values.items(), (VERMILION, BLUE), ("--", "-")),
                                        key=lambda given: np.ptp(given[0][1]) == 0):
        if np.ptp(v) == 0:   # one number for all draws: a line, not a hill
            ax.plot([v[0], v[0]], [0, tallest], color=hue, ls=style, lw=1.6)
            peaks[name] = (max(v[0], edges[0]), tallest, hue)
            continue
        density = np.histogram(np.clip(v, edges[0], edges[-1]), edges)[0] / len(v)
        density = np.convolve(np.pad(density, 1, mode="edge"), (0.25, 0.5, 0.25), "valid")
        # not by ax.stairs, which searches the hill for its limits: they are set below
        for look in ({"fill": True, "alpha": 0.18, "lw": 0}, {"fill": False, "ls": style, "lw": 1.2}):
            ax.add_artist(StepPatch(density, edges, color=hue, **look))
        tallest = density.max()
        peaks[name] = (np.sqrt(edges[density.argmax()] * edges[density.argmax() + 1]), tallest, hue)
    along = {name: np.log(peak[0] / edges[0]) / np.log(edges[-1] / edges[0]) for name, peak in peaks.items()}
    close = abs(along["demand"] - along["capacity"]) < 0.25
    for name, (x, y, hue) in peaks.items():   # side by side where the peaks are close, and within the page
        ha = "center" if not close else "right" if along[name] == min(along.values()) else "left"
        ha = "right" if along[name] > 0.88 else "left" if along[name] < 0.12 else ha
        write(ax, name, (x, y), (0, 2), "data", 8, ha=ha, va="bottom", color=INK[hue], path_effects=halo())
    top = np.ceil(max(peak[1] for peak in peaks.values()) * 1.18 / STEP) * STEP
    ax.set(ylim=(0, top), yticks=[], xlim=(edges[0], edges[-1]))
    ax.spines["left"].set_visible(False)
    log_axis(ax.xaxis)
    write(ax, f"met with a chance of {words.chance(line.chance)}", (0, 1), (0, 4), size=8)
    return figure
