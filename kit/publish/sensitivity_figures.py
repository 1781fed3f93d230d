"""Figures of what a verdict rests on: which assumptions move the least margin, and by how much."""
import numpy as np

from kit.publish.page import BLACK, BLUE, INK, NARROW, VERMILION, log_axis, rows_of, styled, words_along, write

SHARES = "first", "total", "total_low", "total_high"


@styled
def tornado(table, rows=12, width=140):
    """Each assumption alone from its 5 % to its 95 % point, and what the least margin then is; the grade of its
    evidence beside.

    table: of Study.sensitivity("tornado"), in log10 of the margin.
    """
    table = table.iloc[:rows]
    narrow = width < NARROW
    figure, ax = rows_of(width, list(table["assumption"]), list(table["grade"]), "evidence",
                         bottom=16 if narrow else 11, top=9, xscale="log",
                         xlabel="least margin: capacity / demand")
    middle = 10 ** table["middle"].iloc[0]
    for i, (key, row) in enumerate(table.iterrows()):
        for end, hue, style in (("at_low", VERMILION, (0, (1.2, 0.6))), ("at_high", BLUE, "-")):
            ax.plot([middle, 10 ** row[end]], [i + (0.14 if end == "at_high" else -0.14)] * 2, color=hue, lw=2.6,
                    ls=style, solid_capstyle="butt")
    ax.axvline(middle, color="0.3", lw=0.8)
    ax.axvline(1, color=BLACK, lw=0.8, ls=(0, (4, 2)))
    ax.margins(x=0.08)
    low, high = np.log(ax.get_xlim())
    # one above the other: they may be close
    for x, words, hue, up in ((1, "limit", BLACK, 1), (middle, "all at medians", "0.3", 10)):
        late = np.log(x) > (low + high) / 2
        write(ax, words, (x, 1), (2 if late else -2, up), ("data", "axes fraction"), ha="right" if late else "left",
              color=hue)
    dashed, solid = ("dashed: at its 5 % point", VERMILION), ("solid: at its 95 % point", BLUE)
    ways = ((*dashed, 0, (0, -42), "left"), (*solid, 1, (0, -42), "right")) if narrow else (
        (*dashed, 0, (-4, -19), "right"), (*solid, 0, (-4, -28), "right"))
    for words, hue, x, shift, side in ways:
        write(ax, words, (x, 0), shift, ha=side, color=INK[hue])
    log_axis(ax.xaxis)
    return figure


@styled
def indices(table, rows=10, width=140):
    """Sobol indices, share of the variance that each assumption carries: in all (line) and by itself (dot). table: of
    Study.sensitivity("sobol"). A share lies between 0 and 1: an interval that sampling takes beyond is cut there."""
    table = table.iloc[:rows]
    table = table.assign(**table[[*SHARES]].clip(0, 1))
    figure, ax = rows_of(width, list(table["assumption"]), list(table["grade"]), "evidence", top=9,
                         xlabel="share of the variance of the log margin", xlim=(-0.05, 1.05))
    for i, (key, row) in enumerate(table.iterrows()):
        ax.plot([row["total_low"], row["total_high"]], [i] * 2, color=BLUE, lw=1)
        ax.plot([0, row["total"]], [i] * 2, color=BLUE, lw=3, solid_capstyle="butt")
        ax.plot(row["first"], i, "o", color=VERMILION, ms=3.5)
    words_along(ax, (("bar: in all", BLUE), ("line: its interval", BLUE), ("dot: by itself", VERMILION)), y=10)
    return figure
