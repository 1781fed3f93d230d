"""Figures: one function each; takes results, returns a matplotlib Figure; nothing is computed or judged here.

Widths are those of journals (90, 140, 190 mm), text 8 pt, lines told apart by style as well as hue and labelled where
they run. No pyplot: a figure belongs to whoever asked for it, and none stays open.
"""
import functools
import io
import os
import tempfile
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from kit.units import number

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
    axis.set_major_formatter(FuncFormatter(lambda value, _: number(value, 1) if value < 1e5 else f"{value:.0e}"))
    axis.set_major_locator(LogLocator(numticks=8))
    axis.set_minor_formatter(NullFormatter())


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
        hand = f", {line.by_hand:.0%} by hand" if line.by_hand >= 0.005 else ""
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
    """Demand and capacity of one criterion as two densities on one log axis: the overlap is where it fails."""
    figure, ax = axes(width, height, left=5, right=5, bottom=11, top=7, xscale="log", xlabel=f"{line.criterion} / {line.unit}")
    values = {"demand": np.maximum(line.demand, 1e-12), "capacity": np.maximum(line.capacity, 1e-12)}
    ends = np.concatenate([np.quantile(v, (0.001, 0.999)) for v in values.values()])
    edges = np.geomspace(max(ends.min(), ends.max() * 1e-5) / 1.2, ends.max() * 1.2, 70)
    tallest = 0
    for (name, v), hue, style in zip(values.items(), (VERMILION, BLUE), ("--", "-")):
        density = np.histogram(np.clip(v, edges[0], edges[-1]), edges)[0] / len(v)
        density = np.convolve(np.pad(density, 1, mode="edge"), (0.25, 0.5, 0.25), "valid")
        ax.stairs(density, edges, fill=True, color=hue, alpha=0.18)
        ax.stairs(density, edges, color=hue, ls=style, lw=1.2)
        tallest = max(tallest, density.max())
        ax.annotate(name, (np.median(v), density.max()), xytext=(0, 2), textcoords="offset points", ha="center", va="bottom", color=hue)
    ax.set(ylim=(0, tallest * 1.18), yticks=[], xlim=(edges[0], edges[-1]))
    ax.spines["left"].set_visible(False)
    _log_axis(ax.xaxis)
    ax.annotate(f"met in {line.chance:.0%} of draws", (0, 1), xycoords="axes fraction", xytext=(0, 4), textcoords="offset points", fontsize=8)
    return figure


def _band(ax, x, values, label, hue, style, side="right"):
    """Median and 5-95 % of draws (rows: x) as a line with a band, labelled at its end."""
    low, mid, high = np.quantile(np.atleast_2d(values), (0.05, 0.5, 0.95), axis=1)
    ax.fill_between(x, low, high, color=hue, alpha=0.15, lw=0)
    ax.plot(x, mid, color=hue, ls=style)
    at = -1 if side == "right" else 0
    ax.annotate(label, (x[at], mid[at]), xytext=(3 if side == "right" else -3, 0), textcoords="offset points", va="center",
                ha="left" if side == "right" else "right", color=hue, fontsize=7, annotation_clip=False)


@styled
def torque_by_tool(bores, torques, limits, width=140, height=80):
    """Torque of a pass against the bore, a band a tool, with what the drives give as level bands.

    bores: mm, shape (k,). torques: {tool: N*m, shape (k, n)}. limits: {drive: N*m, shape (n,)}.
    """
    figure, ax = axes(width, height, right=30, yscale="log", xlabel="bore / mm", ylabel="torque / N·m")
    for (name, values), hue, style in zip(torques.items(), HUES, STYLES):
        _band(ax, bores, values, name, hue, style)
    for name, values in limits.items():
        low, mid, high = np.quantile(values, (0.05, 0.5, 0.95))
        ax.axhspan(low, high, color="0.5", alpha=0.16, lw=0)
        ax.axhline(mid, color="0.3", lw=0.8)
        ax.annotate(name, (0.01, mid), xycoords=("axes fraction", "data"), xytext=(0, 2), textcoords="offset points", fontsize=7, color="0.2")
    ax.set_xlim(bores[0], bores[-1])
    _log_axis(ax.yaxis)
    return figure


@styled
def plan(table, limits, width=140, height=70):
    """Torque of each pass of a stock plan, with its spread, against what bow and wrench give. limits: {drive: N*m, draws}."""
    figure, ax = axes(width, height, right=25, yscale="log", xlabel="diameter after the pass / mm", ylabel="torque / N·m")
    for name, values in limits.items():
        low, mid, high = np.quantile(values, (0.05, 0.5, 0.95))
        ax.axhspan(low, high, color="0.5", alpha=0.16, lw=0)
        ax.axhline(mid, color="0.3", lw=0.8)
        ax.annotate(name, (1, mid), xycoords=("axes fraction", "data"), xytext=(3, 0), textcoords="offset points", va="center", fontsize=7, color="0.2")
    for _, row in table.iterrows():
        hue, marker = (BLUE, "o") if row["bore"] else (VERMILION, "s")
        ax.plot([row.diameter_mm] * 2, [row.torque_5, row.torque_95], color=hue, lw=2, solid_capstyle="butt")
        ax.plot(row.diameter_mm, row.torque_Nm, marker, color=hue, ms=4)
        ax.annotate(f"{number(row.diameter_mm)}", (row.diameter_mm, row.torque_95), xytext=(0, 3), textcoords="offset points", ha="center", fontsize=7)
    ax.annotate("● finishes a bore   ■ opens the way", (0, 1), xycoords="axes fraction", va="top", xytext=(3, -1), textcoords="offset points", fontsize=7)
    ax.margins(x=0.08)
    _log_axis(ax.yaxis)
    return figure


@styled
def chances(table, mark=None, least=0.02, width=140, height=75):
    """Chance against a swept value: all criteria together, and each one that falls below certainty, labelled where it runs.

    table: of Study.sweep. mark: value to mark with a line. least: a criterion that never loses this much is left out.
    """
    figure, ax = axes(width, height, right=32, xlabel=table.index.name, ylabel="chance of being met", ylim=(-0.02, 1.04))
    x = table.index.to_numpy(float)
    for chance, word in ((0.9, "very likely"), (0.66, "likely"), (0.33, "")):
        ax.axhline(chance, color="0.75", lw=0.5, zorder=0)
        ax.annotate(word, (1, chance), xycoords=("axes fraction", "data"), xytext=(-2, 1), textcoords="offset points", ha="right", fontsize=7, color="0.35")
    names = [c for c in table.columns if c not in ("all", "limiting") and table[c].min() < 1 - least]
    names.sort(key=lambda c: table[c].sum())
    for i, name in enumerate(names):
        ax.plot(x, table[name], color=HUES[i % 4], ls=STYLES[1 + i % 4], lw=0.9)
    ax.plot(x, table["all"], color=BLACK, lw=1.8)
    label_where_apart(ax, x, {**{n: table[n].to_numpy() for n in names}, "all together": table["all"].to_numpy()},
                      {**{n: HUES[i % 4] for i, n in enumerate(names)}, "all together": BLACK})
    if mark is not None:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
    ax.set_xlim(x.min(), x.max())
    return figure


def label_where_apart(ax, x, lines, hues):
    """Labels in the right margin, spread so that none covers another, each tied to its line's middle crossing by a hair."""
    order = sorted(lines, key=lambda n: lines[n].mean())
    slots = np.linspace(0.03, 0.99, max(len(order), 2))[-len(order):] if len(order) > 8 else None
    previous = -1.0
    for i, name in enumerate(order):
        y = lines[name]
        target = y[-1] if y[-1] < 0.97 else None
        at = np.argmin(np.abs(y - 0.5)) if np.ptp(y) > 0.3 else len(y) // 2
        height = slots[i] if slots is not None else max(0.06 + 0.09 * i, previous + 0.075)
        previous = height
        ax.annotate(name, (x[at], y[at]) if target is None else (x[-1], target), xytext=(1.03, height), textcoords=("axes fraction", "data"), fontsize=7,
                    color=hues[name], va="center", annotation_clip=False,
                    arrowprops={"arrowstyle": "-", "lw": 0.35, "color": hues[name], "shrinkA": 0, "shrinkB": 0})


@styled
def removal(hours, stages, need, width=140, height=75):
    """Stock taken off on diameter against hours, a band a grain, with the stock that has to go as a level band.

    hours: shape (k,). stages: {grain: um, shape (k, n)}. need: um, shape (n,).
    """
    figure, ax = axes(width, height, right=32, xlabel="lapping time / h", ylabel="taken off on diameter / µm", yscale="log")
    low, mid, high = np.quantile(need, (0.05, 0.5, 0.95))
    ax.axhspan(low, high, color="0.5", alpha=0.18, lw=0)
    ax.axhline(mid, color="0.3", lw=0.8)
    ax.annotate("has to come off", (0.01, high), xycoords=("axes fraction", "data"), xytext=(0, 2), textcoords="offset points", fontsize=7, color="0.2")
    for (name, values), hue, style in zip(stages.items(), HUES, STYLES):
        _band(ax, hours, values, name, hue, style)
    ax.set_xlim(hours[0], hours[-1])
    _log_axis(ax.yaxis)
    return figure


@styled
def nest(tubes, arbor, width=140, height=45):
    """The nested tubes in half section, to scale, inside out. tubes: of Study.tubes (the sleeves). arbor: its diameter, mm."""
    longest = max(t.length.m_as("mm") for t in tubes)
    outermost = max(t.outside.m_as("mm") for t in tubes)
    figure, ax = axes(width, height, left=3, right=30, bottom=11, top=3, xlabel="mm", aspect="equal", xlim=(-4, longest + 4),
                      ylim=(-outermost * 0.62, outermost * 0.62), yticks=[])
    ax.spines["left"].set_visible(False)
    ax.fill_between([-4, longest + 4], -arbor / 2, arbor / 2, color="0.75", lw=0.4, ec="0.3")
    ax.annotate("arbor", (1, 0.5), xycoords="axes fraction", xytext=(3, 0), textcoords="offset points", va="center", fontsize=7)
    for i, tube in enumerate(tubes):
        bore, outside, length = (q.m_as("mm") for q in (tube.bore, tube.outside, tube.length))
        for sign in (1, -1):
            ax.fill_between([0, length], sign * bore / 2, sign * outside / 2, fc=HUES[i % 4], ec=BLACK, lw=0.4, hatch=("////", "\\\\\\\\", "....", "xxxx")[i % 4], alpha=0.55)
        ax.annotate(f"{tube.name}: {number(bore)} / {number(outside)}", (length, (bore + outside) / 4), xycoords="data",
                    xytext=(1.02, 0.5 + 0.5 * (i + 1) / (len(tubes) + 1)), textcoords="axes fraction", fontsize=7, va="center",
                    arrowprops={"arrowstyle": "-", "lw": 0.35, "color": "0.3"})
    return figure


def png(figure, dpi=110):
    """PNG bytes of a figure, for the page."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(buffer, format="png", dpi=dpi)
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
