"""Figures of the bench log: measured beside predicted, what it has taught, and what a count of successes says."""
import numpy as np

from kit.base import words
from kit.publish.page import (BLACK, BLUE, GREY, MOST_HEIGHT, NARROW, VERMILION, apart, axes, in_mm, log_axis, rows_of,
                              styled, words_along, wrapped, write)
from kit.study.measured import said


@styled
def compared(table, width=140):
    """Measured over predicted median, with the predicted interval, a row a measurement. table: of Log.compare."""
    table = table.assign(quantity=table["quantity"].map(said)).sort_values(["quantity", "trial"], ignore_index=True)
    level = words.percent(table.attrs["level"]) if "level" in table.attrs else "its"
    key = [f"grey: {level} interval predicted", "● inside   ✖ outside   |–| between bounds"]
    key = key if width < NARROW else [";  ".join(key)]
    groups = {wrapped(name, 0.2 * width, 8): rows.index.to_numpy() for name, rows in table.groupby("quantity")}
    bottom, top = 11, 3 + 3.2 * len(key)
    height = min(bottom + top + 1 + 2.6 * len(table), MOST_HEIGHT)
    figure, ax = axes(width, height, left=max(in_mm(name, 8) for name in groups) + 3, right=5, bottom=bottom, top=top,
                      xscale="log", xlabel="measured over predicted median", ylim=(len(table) - 0.3, -0.7))
    for i, row in table.iterrows():
        ax.plot(np.maximum([row["low"], row["high"]], 1e-9) / row["median"], [i] * 2, color=GREY, lw=1.8,
                solid_capstyle="butt")
        ends = np.array([row["measured_low"], row["measured_high"]]) / row["median"]
        hue, marker = (BLUE, "o") if row["inside"] else (VERMILION, "X")
        if np.isfinite(row["measured"]):
            ax.plot(row["measured"] / row["median"], i, marker, color=hue, ms=4 if marker == "o" else 5, mec="white",
                    mew=0.4)
        else:
            known = ends[np.isfinite(ends)]   # one plug gauge alone: open to the end of the predicted interval
            ax.plot(np.clip(ends, min(row["low"] / row["median"], *known), max(row["high"] / row["median"], *known)),
                    [i] * 2, color=hue, lw=1)
            ax.plot(known, [i] * len(known), "|", color=hue, ms=5)
    box = (height - bottom - top) / (len(table) + 0.4)   # mm a row
    names = list(groups)
    middles = apart([groups[name].mean() * box for name in names], [3.4 * (name.count("\n") + 1) for name in names],
                     height - top - bottom + 2)
    for name, middle in zip(names, middles):
        write(ax, name, (0, middle / box), (-4, 0), ("axes fraction", "data"), 8, ha="right", va="center")
        ax.axhline(groups[name][-1] + 0.5, color="0.85", lw=0.4)
    ax.axvline(1, color=BLACK, lw=0.8)
    write(ax, "\n".join(key), (0, 1), (0, 3))
    ax.set_yticks([])
    log_axis(ax.xaxis)
    return figure


@styled
def learnt(before, after, labels=None, width=140):
    """What a bench log has changed: 5 % to 95 % of each assumption before (grey) and after (blue), over its median
    before.

    before, after: {key: draws as plain numbers}. labels: {key: what it is called in print}, of a study; where None, the
    keys' own words.
    """
    def narrowed(key):
        return np.diff(np.quantile(after[key], (0.05, 0.95)))[0] / np.diff(np.quantile(before[key], (0.05, 0.95)))[0]

    pieces = {key.partition("@")[0]: key for key in reversed(after)}   # of what each tube has, one: they are alike
    keys = sorted(pieces.values(), key=narrowed)
    named = [labels[key.partition("@")[0]] if labels else words.key_label(key.partition("@")[0]) for key in keys]
    figure, ax = rows_of(width, named, [f"{words.percent(narrowed(key))} as wide" for key in keys], pitch=4.6,
                         xscale="log", xlabel="over the median before")
    for i, key in enumerate(keys):
        middle = np.median(before[key])
        for values, hue, drop, line in ((before[key], GREY, -0.13, 3), (after[key], BLUE, 0.13, 2)):
            low, mid, high = np.quantile(values, (0.05, 0.5, 0.95)) / middle
            ax.plot([low, high], [i + drop] * 2, color=hue, lw=line, solid_capstyle="butt")
            ax.plot(mid, i + drop, "|", color=BLACK, ms=5)
    ax.axvline(1, color="0.4", lw=0.6, zorder=1)
    words_along(ax, (("upper, grey: before", "0.35"), ("lower, blue: after the bench log", BLUE)))
    log_axis(ax.xaxis)
    return figure


@styled
def success(successes, trials, interval, width=90, height=32):
    """x of n as what it is: a range of true rates that such a count leaves open. interval: (low, high) at 95 %."""
    figure, ax = axes(width, height, left=10, right=10, top=10, xlabel="true rate of success", xlim=(0, 1),
                      ylim=(-1, 1), yticks=[])
    ax.spines["left"].set_visible(False)
    ax.plot(interval, [0, 0], color=BLUE, lw=4, solid_capstyle="butt")
    ax.plot(successes / trials, 0, "|", color=BLACK, ms=14, mew=1.4)
    for end, side in zip(interval, ("right", "left")):
        write(ax, words.percent(end), (end, 0), (-3 if side == "right" else 3, 0), "data", ha=side, va="center")
    write(ax, f"{successes} of {trials}: the true rate may lie here (95 %)", (0, 1), (0, 3), size=8)
    return figure
