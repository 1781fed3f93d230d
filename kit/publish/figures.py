"""Figures: one function each; takes results, returns a matplotlib Figure; nothing is computed or judged here.

How the page looks stands in `page.py`; `WIDTHS`, `png` and `save` are taken from there.
"""
import re

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle, StepPatch

from kit.study.criteria import CRITERIA
from kit.publish.page import FORMATS, WIDTHS, png, save  # noqa: F401 (they belong to a figure as its function does)
from kit.publish.page import (BLACK, BLUE, GREY, HUES, INK, LINE, MM, MOST_HEIGHT, NARROW, STYLES, VERMILION, apart, axes, halo, in_lines, in_mm, label_room,
                      log_axis, name_at_right, named_axes, rows_of, styled, thread, unit_of, words_along, wrapped, write)
from kit.base.units import number
from kit.study.use import OF_A_TUBE, OF_THE_WHOLE


# --- verdicts -----------------------------------------------------------------------------------------------------

@styled
def margins(verdict, width=140):
    """Every criterion's margin, capacity over demand: 5 % to 95 % with its median, for the tube with the least."""
    lines = {}
    for line in verdict.lines:
        held = lines.get(line.criterion)
        if held is None or (line.chance, np.median(line.margin)) < (held.chance, np.median(held.margin)):
            lines[line.criterion] = line
    lines = list(lines.values())
    low, high = 0.02, 200
    beside = [f"{line.chance:.2f}  {line.tube}" + (f"\nby hand in {line.by_hand:.0%}" if line.by_hand >= 0.005 else "")
              for line in lines]
    names = [line.criterion for line in lines]
    figure, ax = rows_of(width, names, beside, "chance, tube", pitch=6.2, size=8, bold=names.index(verdict.limiting),
                       xscale="log", xlim=(low, high), xlabel="margin: capacity / demand")
    a, mid, b = np.clip(np.transpose([line.quantiles("margin") for line in lines]), low, high)
    # one collection for all rows: a figure under a slider has no time for a line object each
    for start, end, hue, wide, style in ((np.maximum(a, 1), np.maximum(b, 1), BLUE, 3.2, "-"),
                                         (np.minimum(a, 1), np.minimum(b, 1), VERMILION, 1.6, (0, (1.2, 0.6)))):
        there = np.flatnonzero(end > start)
        ax.add_collection(LineCollection([((start[i], i), (end[i], i)) for i in there], colors=hue, linewidths=wide,
                                         linestyles=[style]), autolim=False)
    ax.plot(mid, range(len(lines)), "|", color=BLACK, ms=8, mew=1.2, ls="none")
    ax.axvline(1, color=BLACK, lw=0.8, zorder=1)
    for text, hue, x, side in (("fails", VERMILION, -4, "right"), ("met", BLUE, 4, "left")):
        write(ax, text, (1, 1), (x, 1), ("data", "axes fraction"), ha=side, color=INK[hue])
    log_axis(ax.xaxis)
    return figure


@styled
def against(line, width=90, height=55):
    """Demand and capacity of one criterion as two densities on one log axis, a line where it does not vary: the overlap
    is where it fails."""
    figure, ax = axes(width, height, left=5, right=5, bottom=11, top=7, xscale="log",
                      xlabel=f"{line.criterion} / {unit_of(line.unit)}")
    values = {"demand": line.demand, "capacity": line.capacity}
    ends = np.concatenate([np.quantile(v[v > 0], (0.001, 0.999)) for v in values.values() if np.any(v > 0)])
    edges = np.geomspace(max(ends.min(), ends.max() * 1e-5) / 1.3, ends.max() * 1.3, 70)   # zeros stand at the left end
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
    close = abs(np.log(peaks["demand"][0] / peaks["capacity"][0])) < 0.25 * np.log(edges[-1] / edges[0])
    for name, (x, y, hue) in peaks.items():   # side by side where the peaks are close
        ha = "center" if not close else "right" if x == min(peak[0] for peak in peaks.values()) else "left"
        write(ax, name, (x, y), (0, 2), "data", 8, ha=ha, va="bottom", color=INK[hue], path_effects=halo())
    ax.set(ylim=(0, max(peak[1] for peak in peaks.values()) * 1.18), yticks=[], xlim=(edges[0], edges[-1]))
    ax.spines["left"].set_visible(False)
    log_axis(ax.xaxis)
    write(ax, f"met in {line.chance:.0%} of draws", (0, 1), (0, 4), size=8)
    return figure


# --- quantities over a swept value --------------------------------------------------------------------------------

def _bands(ax, x, bands, beside):
    """Each of the bands as a line through its medians with its 5-95 %; {name beside it: (where the line ends, hue)}.

    bands: {name: draws of shape (k, n), or single values of shape (k,)}.
    """
    names = {}
    for (name, values), hue, style in zip(bands.items(), HUES, STYLES):
        low, mid, high = np.quantile(np.asarray(values, float).reshape(len(x), -1), (0.05, 0.5, 0.95), axis=1)
        ax.fill_between(x, low, high, color=hue, alpha=0.12, lw=0)
        ax.plot(x, np.transpose([low, high]), color=hue, lw=0.3)
        ax.plot(x, mid, color=hue, ls=style)
        names[beside[name]] = mid[-1], hue
    return names


def _level(ax, values):
    """Median and 5-95 % of draws as a level line with a grey band; the median, and the hue of its name."""
    low, mid, high = np.quantile(values, (0.05, 0.5, 0.95))
    ax.axhspan(low, high, color="0.5", alpha=0.16, lw=0)
    ax.axhline(mid, color="0.3", lw=0.8)
    return mid, "0.2"


@styled
def torque_by_tool(bores, torques, limits, width=140, height=80):
    """Torque of a pass against the bore, a band a tool, with what the drives give as level bands.

    bores: mm, shape (k,). torques: {tool: N*m, shape (k, n)}. limits: {drive: N*m, shape (n,)}.
    """
    figure, ax, beside = named_axes(width, height, [*torques, *limits], yscale="log", xlabel="bore / mm",
                                     ylabel="torque / N·m")
    names = _bands(ax, bores, torques, beside)
    names |= {beside[name]: _level(ax, values) for name, values in limits.items()}
    ax.set_xlim(bores[0], bores[-1])
    name_at_right(ax, names)
    log_axis(ax.yaxis)
    return figure


@styled
def plan(table, limits, width=140, height=70):
    """Torque of each pass of a stock plan, with its spread, against what bow and wrench give. limits: {drive: N*m,
    draws}."""
    figure, ax, beside = named_axes(width, height, limits, top=7, yscale="log", xlabel="diameter after the pass / mm",
                                     ylabel="torque / N·m")
    names = {beside[name]: _level(ax, values) for name, values in limits.items()}
    for _, row in table.iterrows():
        hue, marker = (BLUE, "o") if row["bore"] else (VERMILION, "s")
        ax.plot([row.diameter_mm] * 2, [row.torque_5, row.torque_95], color=hue, lw=2, solid_capstyle="butt")
        ax.plot(row.diameter_mm, row.torque_Nm, marker, color=hue, ms=4)
    words_along(ax, (("● finishes a bore", BLUE), ("■ opens the way", VERMILION)))
    ax.margins(x=0.08, y=0.12)
    _sizes_above(ax, table)
    name_at_right(ax, names)
    log_axis(ax.yaxis)
    return figure


def _sizes_above(ax, table):
    """The size of each pass above its bar: upright where they have no room side by side, raised where a bar or a size
    stands in the way."""
    ax.set(xlim=ax.get_xlim(), ylim=ax.get_ylim())
    (across, tops), (_, feet) = ((ax.transData.transform(table[["diameter_mm", end]]) * 72 / ax.figure.dpi).T   # points
                                 for end in ("torque_95", "torque_5"))
    upright = np.diff(np.sort(across), prepend=-np.inf).min() < 22
    wide, high = (9, 19) if upright else (22, 9)
    # what stands in the way: middle, how near it may be, from, to; first the bars
    taken = [(x, (wide + 3) / 2, foot, top) for x, foot, top in zip(across, feet, tops)]
    for size, x, top in zip(table.diameter_mm, across, tops):
        up = 3
        while any(abs(x - at) < near and top + up < end and top + up + high > start for at, near, start, end in taken):
            up += 1
        taken.append((x, wide, top + up, top + up + high))
        write(ax, f"{size:.2f}", (x, top), (0, up), "figure points", ha="center", va="bottom",
              rotation=90 if upright else 0, path_effects=halo(), arrowprops=thread("0.4") if up > 3 else None)


@styled
def chances(table, mark=None, least=0.02, width=140, height=75):
    """Chance against a swept value: all criteria together, and each that falls below certainty, labelled where it runs.

    table: of Study.sweep. mark: value to mark with a line. least: a criterion that never loses this much is left out.
    """
    table = table.sort_index()
    x = table.index.to_numpy(float)
    names = [c for c in table.columns if c in CRITERIA | OF_A_TUBE | OF_THE_WHOLE and table[c].min() < 1 - least]
    names.sort(key=lambda c: table[c].sum())
    looks = {name: (HUES[i % 4], STYLES[1 + (i + i // 4) % 4], 0.9) for i, name in enumerate(names)}   # no two alike
    looks["all together"] = BLACK, "-", 1.8
    lines = {name: table["all" if name == "all together" else name].to_numpy() for name in looks}
    steep = sorted((name for name in names if np.ptp(lines[name]) > 0.3), key=lambda name: lines[name].mean())
    figure, ax, beside = named_axes(width, height, [name for name in looks if name not in steep],
                                     xlabel=table.index.name, ylabel="chance of being met", ylim=(-0.02, 1.04),
                                     xlim=(x.min(), x.max()))
    for name, (hue, style, wide) in looks.items():
        ax.plot(x, lines[name], color=hue, ls=style, lw=wide)
    for chance in (0.9, 0.66, 0.33):
        ax.axhline(chance, color=GREY, lw=0.4, zorder=0)
    if mark is not None:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
    _name_steep(ax, x, lines, {name: looks[name][0] for name in steep}, {"very likely": 0.9, "likely": 0.66})
    name_at_right(ax, {beside[name]: (lines[name][-1], looks[name][0]) for name in beside})
    return figure


def _name_steep(ax, x, lines, steep, levels):
    """Names of steep lines beside them, on either side, where they cover least; names of levels at the left end, or
    where less runs through them. steep: {name: hue}. levels: {name: y}. All in points of the page."""
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


@styled
def removal(hours, stages, need, width=140, height=75):
    """Stock taken off on diameter against hours, a band a grain, with the stock that has to go as a level band.

    hours: shape (k,). stages: {grain: um, shape (k, n)}. need: um, shape (n,).
    """
    wanted = "has to come off"
    figure, ax, beside = named_axes(width, height, [wanted, *stages], left=16, xlabel="lapping time / h",
                                     ylabel="taken off on diameter / µm", yscale="log")
    names = {beside[wanted]: _level(ax, need)}
    names |= _bands(ax, hours, stages, beside)
    ax.set_xlim(hours[0], hours[-1])
    name_at_right(ax, names)
    log_axis(ax.yaxis)
    return figure


@styled
def over(x, bands, xlabel, ylabel, limits=None, log=(False, True), width=140, height=75):
    """Quantities with their spread over one swept value, with limit lines labelled where they run.

    x: shape (k,). bands: {label: draws of shape (k, n), or single values of shape (k,)}. limits: {label: value}. log:
    of x, of y.
    """
    limits = limits or {}
    # room for 100000
    figure, ax, beside = named_axes(width, height, [*bands, *limits], left=19, xscale="log" if log[0] else "linear",
                                     yscale="log" if log[1] else "linear", xlabel=xlabel, ylabel=ylabel)
    names = _bands(ax, x, bands, beside)
    for name, value in limits.items():
        ax.axhline(value, color=BLACK, lw=0.8, ls=(0, (4, 2)))
        names[beside[name]] = value, BLACK
    ax.set_xlim(x[0], x[-1])
    name_at_right(ax, names)
    for axis, is_log in zip((ax.xaxis, ax.yaxis), log):
        if is_log:
            log_axis(axis)
    return figure


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
    figure, ax = axes(width, height, left, right, top=9 + LINE * max(storeys), yscale="log", xlabel=table.index.name,
                      ylabel="least margin of all")
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
    figure, ax = axes(width, height, right=8, top=8, xlabel=x_name, ylabel=y_name)
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


# --- the part -----------------------------------------------------------------------------------------------------

@styled
def nest(tubes, arbor, width=140, height=60):
    """The nested tubes in half section above their axis; radii on a larger scale than lengths. tubes: the sleeves, from
    the inside out. arbor: diameter of what runs in the first, mm."""
    sizes = [[q.m_as("mm") for q in (tube.bore, tube.outside, tube.length)] for tube in tubes]
    _, outermost, longest = np.max(sizes, axis=0)
    labels = [f"{tube.name}: {number(bore, 4)} to {number(outside, 4)} mm" for tube, (bore, outside, _) in zip(tubes, sizes)]
    figure, ax, beside = named_axes(width, height, labels, xlabel="length / mm", ylabel="radius / mm",
                                     xlim=(-4, longest + 4), ylim=(0, outermost / 2 * 1.08))
    ax.fill_between([-4, longest + 4], 0, arbor / 2, fc="0.85", ec="0.3", lw=0.4)
    ax.annotate(f"arbor {number(arbor)} mm", (longest / 2, arbor / 4), ha="center", va="center", fontsize=7)
    ax.axhline(0, color=BLACK, lw=0.8, ls=(0, (8, 2, 2, 2)))
    names = {}
    for i, (label, (bore, outside, length)) in enumerate(zip(labels, sizes)):
        ax.fill_between([0, length], bore / 2, outside / 2, fc="white", ec=HUES[i % 4], lw=0.6,
                        hatch=("/////", "\\\\\\\\\\", "....", "xxxx")[i % 4])
        names[beside[label]] = ((bore + outside) / 4, HUES[i % 4])
        ax.plot([length, longest + 4], [(bore + outside) / 4] * 2, color=HUES[i % 4], lw=0.35)
    name_at_right(ax, names)
    return figure


@styled
def traces(table, width=190):
    """Which route leaves which trace; what only one leaves is filled. table: of routes.compare."""
    left = {route: [t for t in row["traces"].split("; ") if t] for route, row in table.iterrows()}
    every = list(dict.fromkeys(t for found in left.values() for t in found))
    size = 7 if width < NARROW else 8
    room = (width - label_room(every, width, size) - 5) / len(left) - 1.5
    names = [wrapped(route, room, size) for route in left]
    top = 3 + 3.5 * max(name.count("\n") + 1 for name in names)
    figure, ax = rows_of(width, every, size=size, pitch=5, top=top, bottom=6, xlim=(-0.5, len(left) - 0.5))
    places = [(x, y, sum(trace in other for other in left.values()) == 1) for x, found in enumerate(left.values())
              for y, trace in enumerate(every) if trace in found]
    for alone, look in ((True, {"marker": "s", "color": BLUE}), (False, {"marker": "o", "color": BLACK, "mfc": "white"})):
        ax.plot([x for x, _, which in places if which is alone], [y for _, y, which in places if which is alone],
                ls="none", ms=6, **look)
    ax.set_xticks(range(len(left)), names, fontsize=size)
    ax.xaxis.tick_top()
    ax.tick_params(length=0)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    ax.hlines(range(len(every)), -0.5, len(left) - 0.5, color="0.9", lw=0.5, zorder=0)
    ax.vlines(range(len(left)), -0.6, len(every) - 0.5, color="0.9", lw=0.5, zorder=0)
    at = 0
    for text, hue in (("■ only this route leaves it", BLUE), ("○ others leave it too", BLACK)):
        write(ax, text, (0, 0), (at, -3), va="top", color=INK[hue])
        at += (in_mm(text) + 6) * 72 * MM
    return figure


# --- what it rests on ---------------------------------------------------------------------------------------------

def _short(key):
    """An assumption's key as a label: 'abrasive.emery, fine.wear_coefficient@hours' becomes 'emery, fine: wear
    coefficient (hours)'."""
    key, _, tube = key.partition("@")
    prefix, _, rest = key.removeprefix("abrasive.").rpartition(".")
    key = f"{prefix}: {rest}".replace("_", " ") if prefix and prefix != rest else rest.replace("_", " ")
    return key + (f" ({tube})" if tube else "")


@styled
def tornado(table, rows=12, width=140):
    """Each assumption alone from its 5 % to its 95 % point, and what the least margin then is; the grade of its
    evidence beside.

    table: of Study.sensitivity("tornado"), in log10 of the margin.
    """
    table = table.iloc[:rows]
    narrow = width < NARROW
    figure, ax = rows_of(width, [_short(key) for key in table.index], list(table["grade"]), "evidence",
                       bottom=16 if narrow else 11, top=9,
                       xscale="log", xlabel="least margin: capacity / demand")
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
    Study.sensitivity("sobol")."""
    table = table.iloc[:rows]
    figure, ax = rows_of(width, [_short(key) for key in table.index], list(table["grade"]), "evidence", top=9,
                       xlabel="share of the variance of the log margin", xlim=(-0.05, 1.05))
    for i, (key, row) in enumerate(table.iterrows()):
        ax.plot([row["total_low"], row["total_high"]], [i] * 2, color=BLUE, lw=1)
        ax.plot([0, row["total"]], [i] * 2, color=BLUE, lw=3, solid_capstyle="butt")
        ax.plot(row["first"], i, "o", color=VERMILION, ms=3.5)
    words_along(ax, (("bar: in all", BLUE), ("line: its interval", BLUE), ("dot: by itself", VERMILION)), y=10)
    return figure


@styled
def compared(table, width=140):
    """Measured over predicted median, with the predicted interval, a row a measurement. table: of Log.compare."""
    table = table.sort_values(["quantity", "trial"], ignore_index=True)
    level = f"{table.attrs['level']:.0%}" if "level" in table.attrs else "its"
    key = [f"grey: {level} interval predicted", "● inside   ✖ outside   |–| plugs"]
    key = key if width < NARROW else [";  ".join(key)]
    groups = {wrapped(name, 0.2 * width, 8): rows.index.to_numpy() for name, rows in table.groupby("quantity")}
    bottom, top = 11, 3 + 3.2 * len(key)
    height = min(bottom + top + 1 + 2.6 * len(table), MOST_HEIGHT)
    figure, ax = axes(width, height, left=max(in_mm(name, 8) for name in groups) + 3, right=5, bottom=bottom, top=top,
                      xscale="log",
                      xlabel="measured over predicted median", ylim=(len(table) - 0.3, -0.7))
    for i, row in table.iterrows():
        ax.plot(np.maximum([row["low"], row["high"]], 1e-9) / row["median"], [i] * 2, color=GREY, lw=1.8,
                solid_capstyle="butt")
        ends = np.array([row["measured_low"], row["measured_high"]]) / row["median"]
        hue, marker = (BLUE, "o") if row["inside"] else (VERMILION, "X")
        if np.isfinite(row["measured"]):
            ax.plot(row["measured"] / row["median"], i, marker, color=hue, ms=4 if marker == "o" else 5, mec="white",
                    mew=0.4)
        else:
            known = ends[np.isfinite(ends)]   # one plug alone: open to the end of the predicted interval
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
def learnt(before, after, width=140):
    """What a bench log has changed: 5 % to 95 % of each assumption before (grey) and after (blue), over its median
    before.

    before, after: {key: draws as plain numbers}.
    """
    def narrowed(key):
        return np.diff(np.quantile(after[key], (0.05, 0.95)))[0] / np.diff(np.quantile(before[key], (0.05, 0.95)))[0]

    keys = sorted(after, key=narrowed)
    figure, ax = rows_of(width, [_short(key) for key in keys], [f"{narrowed(key):.0%} as wide" for key in keys],
                       pitch=4.6, xscale="log",
                       xlabel="over the median before")
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
        write(ax, f"{end:.0%}", (end, 0), (-3 if side == "right" else 3, 0), "data", ha=side, va="center")
    write(ax, f"{successes} of {trials}: the true rate may lie here (95 %)", (0, 1), (0, 3), size=8)
    return figure


# --- where a number comes from ------------------------------------------------------------------------------------

PLAIN, THIN, HEAVY = (0.6, BLACK), (0.3, "0.5"), (1.8, BLACK)   # outlines of boxes: points, hue
PAD, BETWEEN = 1.0, 1.5   # mm: around the words of a box; from box to box


@styled
def trace(record, width=140):
    """Where a number comes from, in boxes joined by thin lines: the claim, the criterion, the formulas, the
    assumptions.

    The assumptions that matter are shown, the largest share of the variance of the log margin first, and the rest are
    folded into one box. The weakest that matters has a heavy outline and says so. Where the page would be too high,
    formulas say less, and more assumptions are folded.
    record: of Verdict.trace.
    """
    edge, step, gap = 1.0, 3.0, 7.0   # mm: to the edge, from a column's line to its boxes, between the columns
    full = width - 2 * edge
    half = (full - step - gap) / 2
    tube = ", ".join(filter(None, (record.criterion, record.tube, record.where)))
    choices = "; ".join(f"{name} {text}".replace("_", " ") for name, text in record.choices.items())
    choices = re.sub(r"(?<=\d) ", "\u00a0", choices)   # no line ends before a unit
    asked, given = _spread(record.demand, record.unit), _spread(record.capacity, record.unit)
    said = [(tube, True, 2), (f"demand {asked}; capacity {given}", False, 3),
            (f"margin {_spread(record.margin)}; met in {record.chance:.0%} of {record.n} draws, seed {record.seed}",
             False, 3),
            (f"the maker's choices: {choices}" if choices else "", False, 4)]
    claim, criterion = _box([(record.claim, False, 6)], full), _box(said, full)
    above = edge + 3 * (LINE + 1) + _stack([claim]) + _stack([criterion]) + 2 * BETWEEN
    room = MOST_HEIGHT - above - edge
    for detail in (3, 2, 1, 0):
        formulas = [_box([(_broken(f.name, half), True, 2), (f.says.replace("`", ""), False, detail),
                          (_source(f), False, max(detail, 1))], half) for f in record.formulas]
        formulas = formulas or [_box([("none: as given", False, 1)], half)]
        if _stack(formulas) <= room:
            break
    by_share = sorted(record.assumptions, key=lambda a: -a.share)
    # where hardly anything matters, the three that move it most
    for count in range(max(sum(a.matters for a in by_share), 3), -1, -1):
        shown = [a for i, a in enumerate(by_share) if i < count or a.weakest]
        assumptions = [_box(_what_it_says(a), half) for a in shown] + _folded([a for a in by_share if a not in shown],
                                                                              half)
        if _stack(assumptions) <= room:
            break
    assumptions = assumptions or [_box([("none: nothing is drawn", False, 1)], half)]
    outlines = [HEAVY if a.weakest else PLAIN if a.matters else THIN for a in shown] + [THIN]

    height = above + max(_stack(formulas), _stack(assumptions)) + edge
    figure, ax = axes(width, height, 0, 0, 0, 0, xlim=(0, width), ylim=(height, 0))
    ax.set_axis_off()
    spine, second = edge + 1, edge + step + half + gap   # where lines run down: at the left edge, between the columns
    y = edge
    for name, box in (("claim", claim), ("criterion; numbers are medians (5 % to 95 %)", criterion)):
        y = _column(ax, edge, y, full, name, [box], [PLAIN], step)[-1] + _high(box) / 2 + BETWEEN
    left = _column(ax, edge + step, y, half, "formulas and their sources", formulas, [PLAIN] * len(formulas))
    right = _column(ax, second, y, half, "assumptions", assumptions, outlines)
    middle = second - step
    lines = [((spine, edge + 2 * LINE), (spine, left[-1])), ((middle, min(left[0], right[0])),
                                                             (middle, max(left[-1], right[-1])))]
    lines += [((spine, at), (edge + step, at)) for at in left] + [((edge + step + half, at), (middle, at))
                                                                  for at in left]
    lines += [((middle, at), (second, at)) for at in right]
    ax.add_collection(LineCollection(lines, colors="0.4", linewidths=0.5, zorder=0), autolim=False)
    return figure


def _spread(quantiles, unit=""):
    low, mid, high = (number(x, 2) for x in quantiles)
    return f"{mid if low == high else f'{mid} ({low} to {high})'}\u00a0{unit_of(unit)}".strip()


def _source(of):
    return f"source: {of.source}".replace("`", "") if of.source else ""


def _broken(name, room):
    """A function's name, with a place to break after its module where it is too wide for a box."""
    return name if in_mm(name, 7, True) <= room - 2 * PAD else name.replace(".", ". ", 1)


def _what_it_says(a):
    """What the box of an assumption says: (text, bold, most lines) each."""
    feeds = "demand and capacity" if a.feeds == "both" else a.feeds
    return [("weakest that matters" if a.weakest else "", True, 1), (_short(a.key), True, 2),
            (_spread((a.low, a.median, a.high), a.unit), False, 2),
            (f"{a.grade}; {a.share:.0%} of the variance; feeds {feeds}", False, 3), (_source(a), False, 2)]


def _folded(rest, room):
    """One box for the assumptions that are not shown, or none."""
    if not rest:
        return []
    most = max(5, int(100 * max(a.share for a in rest)) + 1)
    carry, each = ("carry", " each") if len(rest) > 1 else ("carries", "")
    return [_box([(f"and {len(rest)} that {carry} less than {most}\u00a0%{each}", False, 2)], room)]


def _box(parts, room):
    """The lines of a box as (text, bold), from parts of (text, bold, most lines)."""
    box = []
    for text, bold, most in parts:
        lines = in_lines(text, room - 2 * PAD, 7, bold)
        if len(lines) > most > 0:
            while in_mm(f"{lines[most - 1]} …", 7, bold) > room - 2 * PAD:
                lines[most - 1] = lines[most - 1].rpartition(" ")[0]
            lines[most - 1] += " …"
        box += [(line, bold) for line in lines[:most]]
    return box


def _high(box):
    return LINE * len(box) + 2 * PAD


def _stack(boxes):
    return sum(map(_high, boxes)) + BETWEEN * (len(boxes) - 1)


def _column(ax, x, y, room, heading, boxes, outlines, indent=0):
    """A column of boxes from (x, y) down, with its heading; the heights (mm) of their middles."""
    ax.text(x + indent, y + LINE - 0.5, heading, fontsize=7, style="italic")
    y, middles = y + LINE + 1, []
    for box, (wide, hue) in zip(boxes, outlines):
        ax.add_patch(Rectangle((x, y), room, _high(box), fc="white", ec=hue, lw=wide))
        for i, (text, bold) in enumerate(box):
            ax.text(x + PAD, y + PAD + LINE * (i + 0.75), text, fontsize=7, weight="bold" if bold else "normal")
        middles.append(y + _high(box) / 2)
        y += _high(box) + BETWEEN
    return middles
