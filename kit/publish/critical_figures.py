"""Figures of the least size that each draw needs: at which sizes how many draws pass, and what moves the least."""
import numpy as np

from kit.base import words
from kit.publish.page import (BLACK, BLUE, INK, VERMILION, axes, halo, log_axis, rows_of, styled, words_along,
                              write)


WIDE = 130   # mm, from which a sentence stands in one line


@styled
def critical(found, mark=None, width=140, height=70):
    """Share of the draws that pass at each value of what was varied; hatched: those that pass at none. found: of
    Study.critical. mark: value to mark with a line."""
    figure, ax = axes(width, height, xscale="log", xlabel=found.label, ylabel="share of draws that pass",
                      xlim=(found.grid[0], found.grid[-1]), ylim=(0, 1))
    somewhere = float(found.passes.any(axis=0).mean())
    ax.fill_between(found.grid, somewhere, 1, fc="0.93", ec="0.75", hatch="////", lw=0)
    ax.plot(found.grid, np.full(len(found.grid), somewhere), color=BLACK, lw=0.8, ls=(0, (4, 2)))
    ax.fill_between(found.grid, 0, found.chances, color=BLUE, alpha=0.15, lw=0)
    ax.plot(found.grid, found.chances, color=BLUE, lw=1.8)
    if somewhere < 0.97:
        high = (1 + somewhere) / 2 if somewhere < 0.86 else somewhere
        write(ax, f"{words.percent(1 - somewhere)} of draws pass at none of these", (0.02, high), (0, -3),
              path_effects=halo(), size=8, va="bottom" if high == somewhere else "baseline")
    inside = found.least[np.isfinite(found.least)]
    if len(inside):   # the least value of the others, along the bottom
        low, middle, high = np.quantile(inside, (0.05, 0.5, 0.95))
        ax.plot([low, high], [0.04, 0.04], color=VERMILION, lw=2.4, solid_capstyle="butt")
        ax.plot(middle, 0.04, "|", color=VERMILION, ms=11, mew=1.6)
        parts = "what the others need at least:", "nine in ten, and the middle"
        starts = np.log(low / found.grid[0]) < 0.35 * np.log(found.grid[-1] / found.grid[0])
        ax.annotate((" " if width >= WIDE else "\n").join(parts), (low if starts else high, 0.04), (0, 7),
                    textcoords="offset points", fontsize=8, color=INK[VERMILION], path_effects=halo(),
                    ha="left" if starts else "right")
    if mark is not None and found.grid[0] <= mark <= found.grid[-1]:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
        write(ax, "in the study", (mark, 1), (3, -10), ("data", "axes fraction"), color="0.3", path_effects=halo())
    log_axis(ax.xaxis)
    return figure


@styled
def moved(table, rows=8, width=140):
    """The least value in the lowest and in the highest tenth of each assumption, and the grade of its evidence. table:
    of `Critical.moved_by`."""
    table = table.iloc[:rows]
    figure, ax = rows_of(width, list(table["assumption"]), list(table["grade"]), "evidence", top=11, xscale="log",
                         xlabel=f"least {table.attrs['label']}, median of the draws that pass")
    for i, (low, high) in enumerate(zip(table["lowest tenth"], table["highest tenth"])):
        ax.plot([low, high], [i, i], color="0.5", lw=1.2, zorder=1)
        ax.plot(low, i, "o", color=VERMILION, mfc="white", mew=1.2, ms=5)
        ax.plot(high, i, "o", color=BLUE, ms=5)
    ax.margins(x=0.08)
    log_axis(ax.xaxis)
    words_along(ax, (("open: its lowest tenth", VERMILION), ("filled: its highest", BLUE)), y=6)
    return figure
