"""Figures of a study swept over one key or two: the chance of being met, the least margin, and what limits where."""
import numpy as np
from matplotlib.patches import Rectangle

from kit.publish.page import (BLACK, BLUE, DOTS, GREY,
                              HUES, INK, LINE, MM, MOST_HEIGHT, STYLES, VERMILION, axes, halo, in_mm,
                              log_axis, name_at_right, named_axes, styled, thread, write)
from kit.study.criteria import CRITERIA
from kit.study.design import BAND
from kit.study.use import OF_A_TUBE, OF_THE_WHOLE


@styled
def chances(table, mark=None, least=0.02, width=140, height=75):
    """Chance against a swept value: all criteria together, and each that falls below certainty, labelled where it runs.
    Where the table has the band of the chance of all, it is a light band.

    table: of Study.sweep. mark: value to mark with a line. least: a criterion that never loses this much is left out.
    """
    table = table.sort_index()
    x = table.index.to_numpy(float)
    names = [c for c in table.columns if c in CRITERIA | OF_A_TUBE | OF_THE_WHOLE and table[c].min() < 1 - least]
    names.sort(key=lambda c: table[c].sum())
    styles = STYLES[1:] + DOTS
    looks = {name: (HUES[i % 4], styles[(i + i // 4) % 6], 0.9) for i, name in enumerate(names)}   # no two alike
    looks["all together"] = BLACK, "-", 1.8
    lines = {name: table["all" if name == "all together" else name].to_numpy() for name in looks}
    steep = sorted((name for name in names if np.ptp(lines[name]) > 0.3), key=lambda name: lines[name].mean())
    figure, ax, beside = named_axes(width, height, [name for name in looks if name not in steep],
                                    xlabel=table.attrs.get("label", table.index.name), ylabel="chance of being met",
                                    ylim=(-0.02, 1.04), xlim=(x.min(), x.max()))
    for name, (hue, style, wide) in looks.items():
        ax.plot(x, lines[name], color=hue, ls=style, lw=wide)
    band = {}
    if set(BAND) <= set(table):
        band["all, in nine of ten worlds"] = ends = tuple(table[name].to_numpy() for name in BAND)
        ax.fill_between(x, *ends, color=BLACK, alpha=0.12, lw=0)
    for chance in (0.9, 0.66, 0.33):
        ax.axhline(chance, color=GREY, lw=0.4, zorder=0)
    if mark is not None:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
    _name_steep(ax, x, lines, {name: looks[name][0] for name in steep}, {"very likely": 0.9, "likely": 0.66}, band)
    name_at_right(ax, {beside[name]: (lines[name][-1], looks[name][0]) for name in beside})
    return figure


def _name_steep(ax, x, lines, steep, levels, band):
    """Names of steep lines beside them, on either side, where they cover least; names of levels at the left end, or
    where less runs through them; of a band within it. steep: {name: hue}. levels: {name: y}. band: {name: (low, high)}.
    All in points of the page."""
    size = ax.get_position().size * ax.figure.get_size_inches() * 72
    (x0, x1), (y0, y1) = ax.get_xlim(), ax.get_ylim()
    fine = np.linspace(x0, x1, 600)
    across = (fine - x0) / (x1 - x0) * size[0]
    up = {name: (np.interp(fine, x, y) - y0) / (y1 - y0) * size[1] for name, y in lines.items()}
    taken = []

    def cost(left, middle, wide):
        """How much a name there would cover: other names, the edge, lines."""
        under = (across >= left - 1) & (across <= left + wide + 1)
        found = sum(np.any(np.abs(y[under] - middle) < 4.5) for y in up.values())
        found += 20 * sum(left < b + 2 and left + wide > a - 2 and abs(middle - at) < 9 for a, b, at in taken)
        return found + 20 * (left < 1 or left + wide > size[0])

    def put(name, hue, choices):
        wide = in_mm(name) * 72 * MM
        found = [(cost(left, middle, wide) + 0.001 * far, left, middle) for left, middle, far in choices(wide)]
        _, left, middle = min(found)
        taken.append((left, left + wide, middle))
        write(ax, name, (left / size[0], middle / size[1]), color=hue, va="center", path_effects=halo())

    for name, level in levels.items():
        middle = (level - y0) / (y1 - y0) * size[1] + 4.5
        put(name, "0.35", lambda wide: [(left, middle, left) for left in np.arange(2, size[0] - wide, 4)])
    for name, hue in steep.items():
        def beside(wide):
            for middle in np.arange(0.06, 0.95, 0.03) * size[1]:
                for at in across[np.flatnonzero(np.diff(np.sign(up[name] - middle)))]:
                    yield from ((left, middle, abs(middle - size[1] / 2)) for left in (at + 4, at - 4 - wide))
        put(name, INK[hue], beside)
    for name, ends in band.items():
        low, high = ((np.interp(fine, x, y) - y0) / (y1 - y0) * size[1] for y in ends)

        def inside(wide):
            for left in np.arange(2, size[0] - wide, 4):
                under = (across >= left) & (across <= left + wide)
                a, b = low[under].max() + 5, high[under].min() - 5   # free of the band's edges all along
                for middle in np.linspace(a, b, 7) if a < b else [(a + b) / 2]:
                    yield left, middle, 0 if a < b else 1000 + a - b
        put(name, "0.25", inside)


@styled
def margin_band(table, width=140, height=75):
    """The least margin against a swept value, 5 % to 95 % with its median, and which criterion limits where. table: of
    Study.sweep."""
    table = table.sort_index()
    x, limiting = table.index.to_numpy(float), table["limiting"].to_numpy()
    starts = [0, *(np.flatnonzero(limiting[1:] != limiting[:-1]) + 1), len(x)]
    ends = [x[0], *((x[i - 1] + x[i]) / 2 for i in starts[1:-1]), x[-1]]
    names = [f"limited by {limiting[a]}" if a == 0 else limiting[a] for a in starts[:-1]]
    left, right = 14, 3
    middles, storeys = _storeys((np.array(ends) - x[0]) / np.ptp(x) * (width - left - right) + left, names, width)
    height = min(height + LINE * max(storeys), MOST_HEIGHT)
    figure, ax = axes(width, height, left, right, top=9 + LINE * max(storeys), yscale="log",
                      xlabel=table.attrs.get("label", table.index.name), ylabel="least margin of all")
    ax.fill_between(x, np.maximum(table["margin_5"], 1e-3), table["margin_95"], color=BLUE, alpha=0.15, lw=0)
    ax.plot(x, table["margin"], color=BLUE, lw=1.4)
    ax.axhline(1, color=BLACK, lw=0.8)
    write(ax, "demand = capacity", (1, 1), (-2, 2), ("axes fraction", "data"), ha="right", path_effects=halo())
    at_top = ax.get_xaxis_transform()
    for i, (name, middle, storey) in enumerate(zip(names, middles, storeys)):
        hue, centre = HUES[i % 4], (ends[i] + ends[i + 1]) / 2
        ax.plot(ends[i:i + 2], [1.02, 1.02], transform=at_top, color=hue, lw=2.5, solid_capstyle="butt", clip_on=False)
        text = write(ax, name, (middle / width, 1), (0, 7 + LINE * storey * 72 * MM),
                     ("figure fraction", "axes fraction"), ha="center", color=INK[hue], annotation_clip=False,
                     path_effects=halo())
        if storey:   # a thin line up to a name that had no room beside its neighbours
            ax.annotate("", (centre, 1.03), xycoords=at_top, xytext=(0.5, 0), textcoords=text, annotation_clip=False,
                        arrowprops=thread(hue))
    ax.set(xlim=(x[0], x[-1]), ylim=(max(0.02, table["margin_5"].min() * 0.8), table["margin_95"].max() * 1.3))
    log_axis(ax.yaxis)
    return figure


def _storeys(ends, names, width):
    """Where names stand above stretches of a line that is cut at `ends` (mm): their middles, and how many storeys up,
    so that none touches another or the edge of the page."""
    middles, storeys, taken = [], [], []
    for left, right, name in zip(ends, ends[1:], names):
        half = in_mm(name) / 2 + 0.7
        middle = min(max((left + right) / 2, half + 0.5), width - half - 0.5)
        in_the_way = {at for at, a, b in taken if middle - half < b and middle + half > a}
        storey = next(s for s in range(len(names)) if s not in in_the_way)
        middles.append(middle)
        storeys.append(storey)
        taken.append((storey, middle - half, middle + half))
    return middles, storeys


@styled
def chance_map(table, tested=None, width=140, height=90):
    """Chance that all is met over two keys, dark where it is small, with the lines at 0.5, 0.66 and 0.9.

    table: of Study.map. tested: DataFrame with the two columns of the map and `outcome`, the trials of the bench log.
    """
    x_name, y_name = table.attrs["x"], table.attrs["y"]
    grid = table.pivot(index=y_name, columns=x_name, values="all")
    figure, ax = axes(width, height, right=8, top=8, xlabel=table.attrs.get("x_label", x_name),
                      ylabel=table.attrs.get("y_label", y_name))
    x, y = grid.columns.to_numpy(float), grid.index.to_numpy(float)
    greys = [f"{grey:.3f}" for grey in np.linspace(0.55, 1, 10)]
    ax.contourf(x, y, grid.to_numpy(), np.linspace(0, 1, 11), colors=greys)
    lines = ax.contour(x, y, grid.to_numpy(), [0.5, 0.66, 0.9], colors=[VERMILION, BLACK, BLUE],
                       linestyles=[":", "-", "--"], linewidths=1.2)
    words = {0.5: "0.5", 0.66: "0.66 likely", 0.9: "0.9 very likely"}
    places = [_on_line(ax, pieces, share) for pieces, share in zip(lines.allsegs, (0.3, 0.5, 0.7))
              if sum(map(len, pieces))]
    ax.clabel(lines, fmt=words, fontsize=7, colors=[INK[VERMILION], BLACK, BLUE], manual=places)
    # the greys say what they mean above the map, from dark to light
    at, base = min(14, width - 70) / width, (height - 6) / height
    figure.text(at, base, dark := "dark: chance 0", fontsize=7)
    at += (in_mm(dark) + 1.5) / width
    for grey in greys:
        figure.add_artist(Rectangle((at, base - 0.5 / height), 2 / width, 3 / height, fc=grey, ec="0.4", lw=0.3,
                                    transform=figure.transFigure))
        at += 2 / width
    figure.text(at + 1.5 / width, base, "light: chance 1", fontsize=7)
    if tested is not None:
        for outcome, marker in (("success", "o"), ("partial", "D"), ("fail", "x")):
            these = tested[tested["outcome"] == outcome]
            ax.plot(these[x_name], these[y_name], marker, color=BLACK, ms=4, mew=1.2, ls="none", clip_on=False)
            for _, row in these.iterrows():
                late = row[x_name] > x[0] + 0.8 * np.ptp(x)   # near the right edge the word stands at the left
                write(ax, outcome, (row[x_name], row[y_name]), (-4 if late else 4, 3), "data",
                      ha="right" if late else "left", path_effects=halo())
    return figure


def _on_line(ax, pieces, share):
    """The point at that share of the way along the longest of the pieces, as they look on the page."""
    piece = max((ax.transData.transform(piece) for piece in pieces),
                key=lambda p: np.hypot(*np.diff(p, axis=0).T).sum())
    way = np.concatenate([[0.0], np.hypot(*np.diff(piece, axis=0).T).cumsum()])
    return tuple(ax.transData.inverted().transform([np.interp(share * way[-1], way, column) for column in piece.T]))
