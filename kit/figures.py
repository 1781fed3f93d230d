"""Figures: one function each; takes results, returns a matplotlib Figure; nothing is computed or judged here.

Widths are those of journals (90, 140, 190 mm), text 8 pt, lines told apart by style as well as hue and labelled where
they run. No pyplot: a figure belongs to whoever asked for it, and none stays open.
"""
import functools
import io
import os
import tempfile
import textwrap
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib import patheffects
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from kit.criteria import CRITERIA
from kit.units import number, ureg
from kit.use import OF_A_TUBE, OF_THE_WHOLE

# Colour-blind-safe hues of Okabe and Ito (2008) that keep 3:1 against white
BLUE, VERMILION, GREEN, PURPLE, BLACK = "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000"
HUES, STYLES = (BLUE, VERMILION, GREEN, PURPLE, BLACK), ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
MM = 1 / 25.4
STYLE = {"font.family": "DejaVu Sans", "font.size": 8, "axes.labelsize": 8, "xtick.labelsize": 8, "ytick.labelsize": 8, "axes.linewidth": 0.6,
         "lines.linewidth": 1.0, "axes.spines.top": False, "axes.spines.right": False, "xtick.major.width": 0.6, "ytick.major.width": 0.6,
         "pdf.fonttype": 42, "svg.hashsalt": "ancient-method-kit", "mathtext.default": "regular"}


def styled(draw):
    """Decorator: the function draws in the kit's style, whatever the caller's settings are."""
    @functools.wraps(draw)
    def drawn(*args, **kwargs):
        with matplotlib.rc_context(STYLE):
            return draw(*args, **kwargs)
    return drawn


def axes(width, height, left=14, right=3, bottom=11, top=3, **kwargs):
    """Figure and axes with margins in mm; a fixed rectangle draws fastest and does not jump while a slider moves."""
    figure = Figure(figsize=(width * MM, height * MM))
    return figure, figure.add_axes((left / width, bottom / height, 1 - (left + right) / width, 1 - (bottom + top) / height), **kwargs)


def _log_axis(axis):
    """Plain numbers on a log axis; more of them where it spans little."""
    low, high = axis.get_view_interval()
    axis.set_major_formatter(FuncFormatter(lambda value, _: number(value, 1)))
    axis.set_major_locator(LogLocator(subs=(1, 2, 5) if high / low < 200 else (1,), numticks=9))
    axis.set_minor_formatter(NullFormatter())


def _halo():
    return [patheffects.withStroke(linewidth=2.2, foreground="white")]


def _apart(heights, gap, high):
    """Heights moved apart to at least `gap`, keeping their order and staying below `high`."""
    moved, order = np.array(heights, float), np.argsort(heights, kind="stable")
    for below, above in zip(order, order[1:]):
        moved[above] = max(moved[above], moved[below] + gap)
    for above in order[::-1]:
        moved[above] = min(moved[above], high)
        high = moved[above] - gap
    return moved


def _name_at_right(ax, names):
    """Names in the right margin, at the height where what they name ends, moved apart where they would touch.

    names: {text: (y in data, hue)}. The limits of the axes stay as they are from here on.
    """
    ax.set(xlim=ax.get_xlim(), ylim=ax.get_ylim())
    to_axes = ax.transData + ax.transAxes.inverted()
    heights = [to_axes.transform((ax.get_xlim()[1], y))[1] for y, _ in names.values()]
    points = ax.get_position().height * ax.figure.get_figheight() * 72
    for (text, (_, hue)), height in zip(names.items(), _apart(heights, 8.5 / points, 1.0)):
        ax.annotate(text, (1, height), xycoords="axes fraction", xytext=(3, 0), textcoords="offset points", va="center", fontsize=7, color=hue)


@styled
def margins(verdict, width=140):
    """Every criterion's margin, capacity over demand, 5 % to 95 % with its median, for the tube on which it is least."""
    lines = {}
    for line in verdict.lines:
        held = lines.get(line.criterion)
        if held is None or (line.chance, np.median(line.margin)) < (held.chance, np.median(held.margin)):
            lines[line.criterion] = line
    lines = list(lines.values())
    height = 17 + 6.2 * len(lines)
    figure, ax = axes(width, height, left=33, right=34, bottom=11, top=6, xscale="log", xlabel="margin: capacity / demand", ylim=(len(lines) - 0.4, -0.6))
    low, high = 0.02, 200
    for row, line in enumerate(lines):
        a, mid, b = np.clip(line.quantiles("margin"), low, high)
        ax.plot([max(a, 1), max(b, 1)], [row, row], color=BLUE, lw=3.2, solid_capstyle="butt")
        ax.plot([min(a, 1), min(b, 1)], [row, row], color=VERMILION, lw=1.6, ls=(0, (1.2, 0.6)))
        ax.plot(mid, row, "|", color=BLACK, ms=9, mew=1.2)
        hand = f"\nby hand in {line.by_hand:.0%}" if line.by_hand >= 0.005 else ""
        ax.annotate(f"{line.chance:.2f}  {line.tube}{hand}", (1.02, row), xycoords=("axes fraction", "data"), va="center", fontsize=7)
    ax.annotate("chance, tube", (1.02, 1.0), xycoords="axes fraction", va="bottom", fontsize=7, style="italic")
    ax.axvline(1, color=BLACK, lw=0.8)
    ax.annotate("fails", (1, 1.0), xycoords=("data", "axes fraction"), xytext=(-4, 1), textcoords="offset points", ha="right", fontsize=7, color=VERMILION)
    ax.annotate("met", (1, 1.0), xycoords=("data", "axes fraction"), xytext=(4, 1), textcoords="offset points", fontsize=7, color=BLUE)
    ax.set_xlim(low, high)
    _log_axis(ax.xaxis)
    ax.set_yticks(range(len(lines)), [line.criterion for line in lines])
    ax.tick_params(axis="y", length=0)
    bold = next(i for i, line in enumerate(lines) if line.criterion == verdict.limiting)
    ax.get_yticklabels()[bold].set_fontweight("bold")
    return figure


@styled
def against(line, width=90, height=55):
    """Demand and capacity of one criterion as two densities on one log axis, a line where it does not vary: the overlap is where it
    fails."""
    figure, ax = axes(width, height, left=5, right=5, bottom=11, top=7, xscale="log", xlabel=f"{line.criterion} / {ureg.Unit(line.unit):~P}")
    values = {"demand": line.demand, "capacity": line.capacity}
    ends = np.concatenate([np.quantile(v[v > 0], (0.001, 0.999)) for v in values.values() if np.any(v > 0)])
    edges = np.geomspace(max(ends.min(), ends.max() * 1e-5) / 1.3, ends.max() * 1.3, 70)   # zeros stand at the left end
    peaks, tallest = {}, 0.1
    for (name, v), hue, style in sorted(zip(values.items(), (VERMILION, BLUE), ("--", "-")), key=lambda given: np.ptp(given[0][1]) == 0):
        if np.ptp(v) == 0:   # one number for all draws: a line, not a hill
            ax.plot([v[0], v[0]], [0, tallest], color=hue, ls=style, lw=1.6)
            peaks[name] = (max(v[0], edges[0]), tallest, hue)
            continue
        density = np.histogram(np.clip(v, edges[0], edges[-1]), edges)[0] / len(v)
        density = np.convolve(np.pad(density, 1, mode="edge"), (0.25, 0.5, 0.25), "valid")
        ax.stairs(density, edges, fill=True, color=hue, alpha=0.18)
        ax.stairs(density, edges, color=hue, ls=style, lw=1.2)
        tallest = density.max()
        peaks[name] = (np.sqrt(edges[density.argmax()] * edges[density.argmax() + 1]), tallest, hue)
    close = abs(np.log(peaks["demand"][0] / peaks["capacity"][0])) < 0.25 * np.log(edges[-1] / edges[0])
    for name, (x, y, hue) in peaks.items():   # side by side where the peaks are close
        ha = "center" if not close else "right" if x == min(peak[0] for peak in peaks.values()) else "left"
        ax.annotate(name, (x, y), xytext=(0, 2), textcoords="offset points", ha=ha, va="bottom", color=hue, path_effects=_halo())
    ax.set(ylim=(0, max(peak[1] for peak in peaks.values()) * 1.18), yticks=[], xlim=(edges[0], edges[-1]))
    ax.spines["left"].set_visible(False)
    _log_axis(ax.xaxis)
    ax.annotate(f"met in {line.chance:.0%} of draws", (0, 1), xycoords="axes fraction", xytext=(0, 4), textcoords="offset points", fontsize=8)
    return figure


def _band(ax, x, values, hue, style):
    """Median and 5-95 % of draws (rows: x) as a line with a band; where the line ends."""
    low, mid, high = np.quantile(np.atleast_2d(values), (0.05, 0.5, 0.95), axis=1)
    ax.fill_between(x, low, high, color=hue, alpha=0.12, lw=0)
    ax.plot(x, np.transpose([low, high]), color=hue, lw=0.3)
    ax.plot(x, mid, color=hue, ls=style)
    return mid[-1], hue


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
    figure, ax = axes(width, height, right=32, yscale="log", xlabel="bore / mm", ylabel="torque / N·m")
    names = {name: _band(ax, bores, values, hue, style) for (name, values), hue, style in zip(torques.items(), HUES, STYLES)}
    names |= {name: _level(ax, values) for name, values in limits.items()}
    ax.set_xlim(bores[0], bores[-1])
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
    return figure


@styled
def plan(table, limits, width=140, height=70):
    """Torque of each pass of a stock plan, with its spread, against what bow and wrench give. limits: {drive: N*m, draws}."""
    figure, ax = axes(width, height, right=32, top=7, yscale="log", xlabel="diameter after the pass / mm", ylabel="torque / N·m")
    names = {name: _level(ax, values) for name, values in limits.items()}
    crowded = np.ptp(table.diameter_mm) > 12 * np.diff(np.sort(table.diameter_mm), append=np.inf).min()
    for _, row in table.iterrows():
        hue, marker = (BLUE, "o") if row["bore"] else (VERMILION, "s")
        ax.plot([row.diameter_mm] * 2, [row.torque_5, row.torque_95], color=hue, lw=2, solid_capstyle="butt")
        ax.plot(row.diameter_mm, row.torque_Nm, marker, color=hue, ms=4)
        ax.annotate(f"{row.diameter_mm:.2f}", (row.diameter_mm, row.torque_95), xytext=(0, 3), textcoords="offset points", ha="center", fontsize=7,
                    rotation=90 if crowded else 0, path_effects=_halo())
    for at, text, hue in ((0, "● finishes a bore", BLUE), (0.3, "■ opens the way", VERMILION)):
        ax.annotate(text, (at, 1), xycoords="axes fraction", xytext=(0, 4), textcoords="offset points", fontsize=7, color=hue)
    ax.margins(x=0.08, y=0.12 if crowded else 0.05)
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
    return figure


@styled
def chances(table, mark=None, least=0.02, width=140, height=75):
    """Chance against a swept value: all criteria together, and each one that falls below certainty, labelled where it runs.

    table: of Study.sweep. mark: value to mark with a line. least: a criterion that never loses this much is left out.
    """
    figure, ax = axes(width, height, right=32, xlabel=table.index.name, ylabel="chance of being met", ylim=(-0.02, 1.04))
    table = table.sort_index()
    x = table.index.to_numpy(float)
    for chance, word in ((0.9, "very likely"), (0.66, "likely"), (0.33, "")):
        ax.axhline(chance, color="0.75", lw=0.5, zorder=0)
        ax.annotate(word, (0, chance), xycoords=("axes fraction", "data"), xytext=(2, 1), textcoords="offset points", fontsize=7, color="0.35",
                    path_effects=_halo())
    names = [c for c in table.columns if c in CRITERIA | OF_A_TUBE | OF_THE_WHOLE and table[c].min() < 1 - least]
    names.sort(key=lambda c: table[c].sum())
    for i, name in enumerate(names):
        ax.plot(x, table[name], color=HUES[i % 4], ls=STYLES[1 + (i + i // 4) % 4], lw=0.9)   # no two lines alike
    ax.plot(x, table["all"], color=BLACK, lw=1.8)
    if mark is not None:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
    ax.set_xlim(x.min(), x.max())
    _label_lines(ax, x, {**{n: table[n].to_numpy() for n in names}, "all together": table["all"].to_numpy()},
                 {**{n: HUES[i % 4] for i, n in enumerate(names)}, "all together": BLACK})
    return figure


def _label_lines(ax, x, lines, hues):
    """Each line's name beside it: where a steep one climbs, at the height where it covers least; at the right end of a flat one."""
    fine = np.linspace(x[0], x[-1], 400)
    curves = {name: np.interp(fine, x, y) for name, y in lines.items()}
    points = ax.get_position().width * ax.figure.get_figwidth() * 72 / np.ptp(x)   # of the page to a unit of x
    taken = [(x[0], x[0] + 50 / points, 0.93), (x[0], x[0] + 24 / points, 0.69)]   # by the words of likelihood
    steep = sorted((n for n in lines if np.ptp(lines[n]) > 0.3 and n != "all together"), key=lambda n: lines[n].mean())
    for name in steep:
        choices = []
        for level in np.arange(0.1, 0.95, 0.04):
            crossings = np.flatnonzero(np.diff(np.sign(curves[name] - level)))
            if crossings.size:
                left = fine[crossings[0]] + 4 / points
                right = left + 4.3 * len(name) / points
                under = (fine >= left - 2 / points) & (fine <= right)
                covered = sum(np.any(np.abs(curve[under] - level) < 0.035) for curve in curves.values())
                covered += 3 * sum(left < end and right > start and abs(level - at) < 0.06 for start, end, at in taken) + 3 * (right > x[-1])
                choices.append((covered, abs(level - 0.5), left, right, level))
        _, _, left, right, level = min(choices)
        taken.append((left, right, level))
        ax.annotate(name, (left, level), fontsize=7, color=hues[name], va="center", path_effects=_halo())
    _name_at_right(ax, {name: (y[-1], hues[name]) for name, y in lines.items() if name not in steep})


@styled
def removal(hours, stages, need, width=140, height=75):
    """Stock taken off on diameter against hours, a band a grain, with the stock that has to go as a level band.

    hours: shape (k,). stages: {grain: um, shape (k, n)}. need: um, shape (n,).
    """
    figure, ax = axes(width, height, left=16, right=34, xlabel="lapping time / h", ylabel="taken off on diameter / µm", yscale="log")
    names = {"has to come off": _level(ax, need)}
    names |= {name: _band(ax, hours, values, hue, style) for (name, values), hue, style in zip(stages.items(), HUES, STYLES)}
    ax.set_xlim(hours[0], hours[-1])
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
    return figure


@styled
def nest(tubes, arbor, width=140, height=60):
    """The nested tubes in half section above their axis; radii on a larger scale than lengths. tubes: the sleeves, from the
    inside out. arbor: diameter of what runs in the first, mm."""
    longest, outermost = (max(q.m_as("mm") for q in column) for column in ([t.length for t in tubes], [t.outside for t in tubes]))
    figure, ax = axes(width, height, right=34, xlabel="length / mm", ylabel="radius / mm", xlim=(-4, longest + 4), ylim=(0, outermost / 2 * 1.08))
    ax.fill_between([-4, longest + 4], 0, arbor / 2, fc="0.85", ec="0.3", lw=0.4)
    ax.annotate(f"arbor {number(arbor)} mm", (longest / 2, arbor / 4), ha="center", va="center", fontsize=7)
    ax.axhline(0, color=BLACK, lw=0.8, ls=(0, (8, 2, 2, 2)))
    names = {}
    for i, tube in enumerate(tubes):
        bore, outside, length = (q.m_as("mm") for q in (tube.bore, tube.outside, tube.length))
        ax.fill_between([0, length], bore / 2, outside / 2, fc="white", ec=HUES[i % 4], lw=0.6, hatch=("/////", "\\\\\\\\\\", "....", "xxxx")[i % 4])
        names[f"{tube.name}: {number(bore)} to {number(outside)} mm"] = ((bore + outside) / 4, HUES[i % 4])
        ax.plot([length, longest + 4], [(bore + outside) / 4] * 2, color=HUES[i % 4], lw=0.35)
    _name_at_right(ax, names)
    return figure


def _short(key):
    """An assumption's key as a label: 'abrasive.emery, fine.wear_coefficient@hours' becomes 'emery, fine: wear coefficient (hours)'."""
    key, _, tube = key.partition("@")
    prefix, _, rest = key.removeprefix("abrasive.").rpartition(".")
    key = f"{prefix}: {rest}".replace("_", " ") if prefix and prefix != rest else rest.replace("_", " ")
    return key + (f" ({tube})" if tube else "")


@styled
def margin_band(table, width=140, height=75):
    """The least margin against a swept value, 5 % to 95 % with its median, and which criterion limits where. table: of Study.sweep."""
    figure, ax = axes(width, height, top=9, yscale="log", xlabel=table.index.name, ylabel="least margin of all")
    table = table.sort_index()
    x = table.index.to_numpy(float)
    ax.fill_between(x, np.maximum(table["margin_5"], 1e-3), table["margin_95"], color=BLUE, alpha=0.15, lw=0)
    ax.plot(x, table["margin"], color=BLUE, lw=1.4)
    ax.axhline(1, color=BLACK, lw=0.8)
    ax.annotate("demand = capacity", (1, 1), xycoords=("axes fraction", "data"), xytext=(-2, 2), textcoords="offset points", ha="right", fontsize=7)
    limiting = table["limiting"].to_numpy()
    starts = [0, *(np.flatnonzero(limiting[1:] != limiting[:-1]) + 1), len(x)]
    for i, (a, b) in enumerate(zip(starts, starts[1:])):
        left, right = (x[a] if a == 0 else (x[a - 1] + x[a]) / 2), (x[-1] if b == len(x) else (x[b - 1] + x[b]) / 2)
        ax.plot([left, right], [1.02, 1.02], transform=ax.get_xaxis_transform(), color=HUES[i % 4], lw=2.5, solid_capstyle="butt", clip_on=False)
        ax.annotate(f"limited by {limiting[a]}" if i == 0 else limiting[a], ((left + right) / 2, 1.04), xycoords=ax.get_xaxis_transform(), ha="center",
                    fontsize=7, color=HUES[i % 4], annotation_clip=False)
    ax.set(xlim=(x[0], x[-1]), ylim=(max(0.02, table["margin_5"].min() * 0.8), table["margin_95"].max() * 1.3))
    _log_axis(ax.yaxis)
    return figure


@styled
def tornado(table, rows=12, width=140):
    """Each assumption alone from its 5 % to its 95 % point, and what the least margin then is; the grade of its evidence beside.

    table: of Study.sensitivity("tornado"), in log10 of the margin.
    """
    table = table.iloc[:rows]
    figure, ax = axes(width, 16 + 5.4 * len(table), left=52, right=30, top=6, xscale="log", xlabel="least margin: capacity / demand",
                      ylim=(len(table) - 0.4, -0.6))
    middle = 10 ** table["middle"].iloc[0]
    for i, (key, row) in enumerate(table.iterrows()):
        for end, hue, style in (("at_low", VERMILION, (0, (1.2, 0.6))), ("at_high", BLUE, "-")):
            ax.plot([middle, 10 ** row[end]], [i + (0.14 if end == "at_high" else -0.14)] * 2, color=hue, lw=2.6, ls=style, solid_capstyle="butt")
        ax.annotate(row["grade"], (1.02, i), xycoords=("axes fraction", "data"), va="center", fontsize=7)
    ax.axvline(middle, color="0.3", lw=0.8)
    ax.axvline(1, color=BLACK, lw=0.8, ls=(0, (4, 2)))
    ax.annotate("limit", (1, 1), xycoords=("data", "axes fraction"), xytext=(0, 1), textcoords="offset points", ha="center", fontsize=7)
    ax.annotate("all at medians", (middle, 1), xycoords=("data", "axes fraction"), xytext=(0, 1), textcoords="offset points", ha="right", fontsize=7, color="0.3")
    ax.annotate("evidence", (1.02, 1), xycoords="axes fraction", va="bottom", fontsize=7, style="italic")
    for words, hue, drop in (("dashed: at its 5 % point", VERMILION, -21), ("solid: at its 95 % point", BLUE, -30)):
        ax.annotate(words, (0, 0), xycoords="axes fraction", xytext=(-4, drop), textcoords="offset points", ha="right", fontsize=7, color=hue)
    ax.set_yticks(range(len(table)), map(_short, table.index), fontsize=7)
    ax.tick_params(axis="y", length=0)
    ax.margins(x=0.08)
    _log_axis(ax.xaxis)
    return figure


@styled
def indices(table, rows=10, width=140):
    """Sobol indices, share of the variance that each assumption carries: in all (line) and by itself (dot). table: of Study.sensitivity("sobol")."""
    table = table.iloc[:rows]
    figure, ax = axes(width, 16 + 5.4 * len(table), left=52, right=30, top=6, xlabel="share of the variance of the log margin",
                      ylim=(len(table) - 0.4, -0.6), xlim=(-0.05, 1.05))
    for i, (key, row) in enumerate(table.iterrows()):
        ax.plot([row["total_low"], row["total_high"]], [i] * 2, color=BLUE, lw=1)
        ax.plot([0, row["total"]], [i] * 2, color=BLUE, lw=3, solid_capstyle="butt")
        ax.plot(row["first"], i, "o", color=VERMILION, ms=3.5)
        ax.annotate(row["grade"], (1.02, i), xycoords=("axes fraction", "data"), va="center", fontsize=7)
    ax.annotate("bar: in all; line: its interval; dot: by itself", (0, 1), xycoords="axes fraction",
                xytext=(0, 2), textcoords="offset points", fontsize=7)
    ax.set_yticks(range(len(table)), map(_short, table.index), fontsize=7)
    ax.tick_params(axis="y", length=0)
    return figure


@styled
def chance_map(table, tested=None, width=140, height=90):
    """Chance that all is met over two keys, with the lines at 0.5, 0.66 and 0.9. table: of Study.map. tested: DataFrame with the two
    columns of the map and `outcome`, the trials of the bench log."""
    x_name, y_name = table.attrs["x"], table.attrs["y"]
    grid = table.pivot(index=y_name, columns=x_name, values="all")
    figure, ax = axes(width, height, right=8, xlabel=x_name, ylabel=y_name)
    x, y = grid.columns.to_numpy(float), grid.index.to_numpy(float)
    ax.contourf(x, y, grid.to_numpy(), np.linspace(0, 1, 11), cmap="Greys_r", alpha=0.55)
    lines = ax.contour(x, y, grid.to_numpy(), [0.5, 0.66, 0.9], colors=[VERMILION, BLACK, BLUE], linestyles=[":", "-", "--"], linewidths=1.2)
    ax.clabel(lines, fmt={0.5: "0.5", 0.66: "0.66 likely", 0.9: "0.9 very likely"}, fontsize=7)
    if tested is not None:
        for outcome, marker in (("success", "o"), ("partial", "D"), ("fail", "x")):
            these = tested[tested["outcome"] == outcome]
            ax.plot(these[x_name], these[y_name], marker, color=BLACK, ms=4, mew=1.2, ls="none", clip_on=False)
            for _, row in these.iterrows():
                ax.annotate(outcome, (row[x_name], row[y_name]), xytext=(4, 3), textcoords="offset points", fontsize=7)
    return figure


@styled
def compared(table, width=140):
    """Measured over predicted median, with the predicted interval, a row a measurement. table: of Log.compare."""
    figure, ax = axes(width, 18 + 2.6 * len(table), left=46, right=8, top=6, xscale="log", xlabel="measured over predicted median",
                      ylim=(len(table) - 0.3, -0.7))
    table = table.sort_values(["quantity", "trial"], ignore_index=True)
    for i, row in table.iterrows():
        ax.plot(np.maximum([row["low"], row["high"]], 1e-9) / row["median"], [i] * 2, color="0.7", lw=2.2, solid_capstyle="butt")
        ends = np.array([row["measured_low"], row["measured_high"]]) / row["median"]
        hue, marker = (BLUE, "o") if row["inside"] else (VERMILION, "X")
        if np.isfinite(row["measured"]):
            ax.plot(row["measured"] / row["median"], i, marker, color=hue, ms=3)
        else:
            known = ends[np.isfinite(ends)]   # one plug alone: open to the end of the predicted interval
            ax.plot(np.clip(ends, min(row["low"] / row["median"], *known), max(row["high"] / row["median"], *known)), [i] * 2, color=hue, lw=1)
            ax.plot(known, [i] * len(known), "|", color=hue, ms=5)
    for name, rows in table.groupby("quantity"):
        ax.annotate(name, (-0.02, rows.index.to_numpy().mean()), xycoords=("axes fraction", "data"), ha="right", va="center")
        ax.axhline(rows.index[-1] + 0.5, color="0.85", lw=0.4)
    ax.axvline(1, color=BLACK, lw=0.8)
    level = f"{table.attrs['level']:.0%}" if "level" in table.attrs else "its"
    ax.annotate(f"grey: {level} interval predicted;  ● inside   ✖ outside   |–| plugs", (0, 1), xycoords="axes fraction", xytext=(0, 3),
                textcoords="offset points", fontsize=7)
    ax.set_yticks([])
    _log_axis(ax.xaxis)
    return figure


@styled
def learnt(before, after, width=140):
    """What a bench log has changed: 5 % to 95 % of each assumption before (grey) and after (blue), over its median before.

    before, after: {key: draws as plain numbers}.
    """
    def narrowed(key):
        return np.diff(np.quantile(after[key], (0.05, 0.95)))[0] / np.diff(np.quantile(before[key], (0.05, 0.95)))[0]

    keys = sorted(after, key=narrowed)
    figure, ax = axes(width, 16 + 4.6 * len(keys), left=56, right=26, top=6, xscale="log", xlabel="over the median before", ylim=(len(keys) - 0.4, -0.6))
    for i, key in enumerate(keys):
        middle = np.median(before[key])
        for values, hue, drop, line in ((before[key], "0.65", -0.13, 3), (after[key], BLUE, 0.13, 2)):
            low, mid, high = np.quantile(values, (0.05, 0.5, 0.95)) / middle
            ax.plot([low, high], [i + drop] * 2, color=hue, lw=line, solid_capstyle="butt")
            ax.plot(mid, i + drop, "|", color=BLACK, ms=5)
        ax.annotate(f"{narrowed(key):.0%} as wide", (1.02, i), xycoords=("axes fraction", "data"), va="center", fontsize=7)
    ax.axvline(1, color="0.4", lw=0.6)
    ax.annotate("grey: before   blue: after the bench log", (0, 1), xycoords="axes fraction", xytext=(0, 3), textcoords="offset points", fontsize=7)
    ax.set_yticks(range(len(keys)), map(_short, keys), fontsize=7)
    ax.tick_params(axis="y", length=0)
    _log_axis(ax.xaxis)
    return figure


@styled
def success(successes, trials, interval, width=90, height=32):
    """x of n as what it is: a range of true rates that such a count leaves open. interval: (low, high) at 95 %."""
    figure, ax = axes(width, height, left=10, right=10, top=10, xlabel="true rate of success", xlim=(0, 1), ylim=(-1, 1), yticks=[])
    ax.spines["left"].set_visible(False)
    ax.plot(interval, [0, 0], color=BLUE, lw=4, solid_capstyle="butt")
    ax.plot(successes / trials, 0, "|", color=BLACK, ms=14, mew=1.4)
    for end, side in zip(interval, ("right", "left")):
        ax.annotate(f"{end:.0%}", (end, 0), xytext=(-3 if side == "right" else 3, 0), textcoords="offset points", ha=side, va="center", fontsize=7)
    ax.annotate(f"{successes} of {trials}: the true rate may lie here (95 %)", (0, 1), xycoords="axes fraction", xytext=(0, 3), textcoords="offset points")
    return figure


@styled
def over(x, bands, xlabel, ylabel, limits=None, log=(False, True), width=140, height=75):
    """Quantities with their spread over one swept value, with limit lines labelled where they run.

    x: shape (k,). bands: {label: draws of shape (k, n), or single values of shape (k,)}. limits: {label: value}. log: of x, of y.
    """
    figure, ax = axes(width, height, left=19, right=34, xscale="log" if log[0] else "linear", yscale="log" if log[1] else "linear",   # room for 100000
                      xlabel=xlabel, ylabel=ylabel)
    names = {name: _band(ax, x, np.asarray(values, float).reshape(len(x), -1), hue, style)
             for (name, values), hue, style in zip(bands.items(), HUES, STYLES)}
    for name, value in (limits or {}).items():
        ax.axhline(value, color=BLACK, lw=0.8, ls=(0, (4, 2)))
        names[name] = value, BLACK
    ax.set_xlim(x[0], x[-1])
    _name_at_right(ax, names)
    for axis, is_log in zip((ax.xaxis, ax.yaxis), log):
        if is_log:
            _log_axis(axis)
    return figure


@styled
def traces(table, width=190):
    """Which route leaves which trace; what only one leaves is filled. table: of routes.compare."""
    left = {route: [t for t in row["traces"].split("; ") if t] for route, row in table.iterrows()}
    every = list(dict.fromkeys(t for found in left.values() for t in found))
    names = [textwrap.fill(route, int((width - 64) / len(left) / 1.8), break_long_words=False) for route in left]   # a letter is up to 1.8 mm wide
    top = 4 + 3.6 * max(name.count("\n") + 1 for name in names)
    figure, ax = axes(width, top + 5 * len(every) + 6, left=58, right=6, top=top, bottom=6, xlim=(-0.5, len(left) - 0.5), ylim=(len(every) - 0.5, -0.5))
    for x, (route, found) in enumerate(left.items()):
        for y, trace in enumerate(every):
            if trace in found:
                alone = sum(trace in other for other in left.values()) == 1
                ax.plot(x, y, "s" if alone else "o", color=BLUE if alone else BLACK, mfc=BLUE if alone else "white", ms=6)
    ax.set_xticks(range(len(left)), names)
    ax.xaxis.tick_top()
    ax.set_yticks(range(len(every)), every)
    ax.tick_params(length=0)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    ax.grid(color="0.9", lw=0.5)
    for right, text, hue in ((0, "■ only this route leaves it", BLUE), (115, "○ others leave it too", BLACK)):
        ax.annotate(text, (0, 0), xycoords="axes fraction", xytext=(right, -3), textcoords="offset points", va="top", fontsize=7, color=hue)
    return figure


def png(figure, dpi=110, note=None):
    """PNG bytes of a figure, for the page; note: text that is kept inside the file."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(buffer, format="png", dpi=dpi, metadata={"Description": note} if note else None)
    return buffer.getvalue()


def save(figure, folder, name, caption, data, overwrite=False):
    """Save a figure as PDF, SVG and 600 dpi PNG, with its caption (txt) and the data that drew it (CSV); list of paths.

    The same figure gives the same bytes: no dates inside. Each file is written under another name and then put in place,
    so a fault leaves whole files only. Raises FileExistsError rather than lose a file, unless overwrite is True.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"{name}.{end}" for end in ("pdf", "svg", "png", "txt", "csv")]
    there = [p.name for p in paths if p.exists()]
    if there and not overwrite:
        raise FileExistsError(f"{folder} holds {', '.join(there)} already; give another name, or say overwrite=True")
    undated = {"pdf": {"CreationDate": None}, "svg": {"Date": None}, "png": {"Software": None}}
    with matplotlib.rc_context(STYLE):
        for path in paths:
            end = path.suffix[1:]
            handle, draft = tempfile.mkstemp(dir=folder, prefix=f".{name}-", suffix=path.suffix)
            os.close(handle)
            try:
                if end in undated:
                    figure.savefig(draft, format=end, dpi=600, metadata=undated[end])
                elif end == "txt":
                    Path(draft).write_text(caption.strip() + "\n", encoding="utf-8")
                else:
                    data.to_csv(draft, lineterminator="\n")
                os.chmod(draft, 0o644)
                os.replace(draft, path)
            finally:
                Path(draft).unlink(missing_ok=True)
    return paths
