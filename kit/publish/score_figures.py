"""Figures of the score of the kit: what others measured, beside what the reference tables predict."""
import numpy as np

from kit.publish.page import BLACK, BLUE, GREY, VERMILION, log_axis, rows_of, styled, words_along


@styled
def scored(table, width=140):
    """Published measurements over the predicted median, with the predicted interval, a row a reading.

    table: of score.Score; what no rule predicts is left out. Open marks are readings that are not scored.
    """
    table = table[table["within"] != ""].reset_index(drop=True)
    beside = ["scored" if row["scored"] == "yes" else "moved a range" if row["why_not"].startswith("moved") else
              "not scored" for _, row in table.iterrows()]
    figure, ax = rows_of(width, list(table["reading"]), beside, "counts", top=10, xscale="log",
                         xlabel="measured over predicted median")
    for i, row in table.iterrows():
        ax.plot(np.array([row["low_5"], row["high_95"]]) / row["median"], [i] * 2, color=GREY, lw=3,
                solid_capstyle="butt")
        hue, marker = (BLUE, "o") if row["within"] == "yes" else (VERMILION, "X")
        ax.plot(np.array([row["measured_low"], row["measured_high"]]) / row["median"], [i] * 2, color=hue, lw=1)
        ax.plot(row["measured"] / row["median"], i, marker, color=hue, ms=4.5,
                mfc=hue if row["scored"] == "yes" else "white")
    ax.axvline(1, color=BLACK, lw=0.8)
    ax.margins(x=0.08)
    words_along(ax, (("grey: predicted", "0.35"), ("● inside", BLUE), ("✖ outside", VERMILION),
                     ("open: not scored", BLACK)), y=10)
    log_axis(ax.xaxis)
    return figure
