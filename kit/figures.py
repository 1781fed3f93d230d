"""Figures: one function each; takes results, returns a matplotlib Figure; nothing is computed or judged here.

Widths are those of journals (90, 140, 190 mm, or any from 80 to 190.5), text 8 pt and never under 7, lines told apart
by style as well as hue and labelled where they run. On a page under 120 mm the label of a row stands above it instead
of at its left; names beside the axes are broken into lines that take no more than a quarter of any page. No pyplot: a
figure belongs to whoever asked for it, and none stays open.
"""
import functools
import inspect
import io
import numbers
import os
import re
import tempfile
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib import patheffects
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle
from matplotlib.textpath import text_to_path
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from kit.criteria import CRITERIA
from kit.tables import nearest
from kit.units import number, ureg
from kit.use import OF_A_TUBE, OF_THE_WHOLE

# Colour-blind-safe hues of Okabe and Ito (2008) that keep 3:1 against white, as lines need; for words, which need
# 4.5:1, the same hues darkened
BLUE, VERMILION, GREEN, PURPLE, BLACK = "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000"
INK = {BLUE: BLUE, VERMILION: "#BE5300", GREEN: "#00845F", PURPLE: "#A15E83", BLACK: BLACK}
GREY = "0.57"   # the lightest that keeps 3:1
HUES, STYLES = (BLUE, VERMILION, GREEN, PURPLE, BLACK), ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
WIDTHS = {"single": 90, "mid": 140, "full": 190}   # mm: one column, one and a half, the page
LEAST_WIDTH, MOST_WIDTH, LEAST_HEIGHT, MOST_HEIGHT = 80, 190.5, 25, 222   # mm
NARROW = 120      # mm: on a page less wide, labels of rows stand above them
LINE = 3.1        # mm from line to line of 7 pt text
MM = 1 / 25.4
FONT = "DejaVu Sans"   # comes with matplotlib, so a figure looks the same on every machine
# SVG: letters as outlines, for the labels are fitted to this font and another would make them touch; PDF: as letters,
# with the font inside, for those who want to search or edit them
STYLE = {"font.family": FONT, "font.size": 8, "axes.labelsize": 8, "xtick.labelsize": 8, "ytick.labelsize": 8,
         "axes.linewidth": 0.6, "lines.linewidth": 1.0, "xtick.major.width": 0.6, "ytick.major.width": 0.6,
         "axes.spines.top": False, "axes.spines.right": False,
         "text.hinting": "no_hinting",   # letters as wide on a screen as in print: what fits the one fits the other
         "text.parse_math": False,       # a name with two $ in it is a name
         "pdf.fonttype": 42, "svg.fonttype": "path", "svg.hashsalt": "ancient-method-kit"}


# --- the page -----------------------------------------------------------------------------------------------------

def _check_page(width=NARROW, height=LEAST_HEIGHT):
    for name, value, low, high, why in (
            ("width", width, LEAST_WIDTH, MOST_WIDTH, "journals print 90, 140 or 190"),
            ("height", height, LEAST_HEIGHT, MOST_HEIGHT, "what a page holds with its caption")):
        if not isinstance(value, numbers.Real) or not low <= value <= high:
            raise ValueError(f"{name}: {value!r}; give a number of mm from {low} to {high} ({why})")


def styled(draw):
    """Decorator: the function draws in the kit's style, whatever the caller's settings are, and on a page that can be
    printed: a width outside 80 to 190.5 mm, or a height outside 25 to 222 mm, is a ValueError."""
    signature = inspect.signature(draw)

    @functools.wraps(draw)
    def drawn(*args, **kwargs):
        given = signature.bind(*args, **kwargs)
        given.apply_defaults()
        _check_page(**{name: given.arguments[name] for name in ("width", "height") if name in given.arguments})
        with matplotlib.rc_context(STYLE):
            return draw(*args, **kwargs)
    return drawn


def axes(width, height, left=14, right=3, bottom=11, top=3, **kwargs):
    """Figure and axes with margins in mm; a fixed rectangle draws fastest and does not jump while a slider moves."""
    figure = Figure(figsize=(width * MM, height * MM))
    return figure, figure.add_axes((left / width, bottom / height, 1 - (left + right) / width,
                                    1 - (bottom + top) / height), **kwargs)


@functools.lru_cache(maxsize=4096)
def _mm(text, size=7, bold=False):
    """Width of a text on the page, mm; of its widest line."""
    font = FontProperties(family=FONT, size=size, weight="bold" if bold else "normal")
    return max(text_to_path.get_text_width_height_descent(line, font, False)[0]
               for line in text.split("\n")) / 72 * 25.4


def _cut(text, room, size=7, bold=False):
    """The text; letters are left out of its middle where it is wider than the room, mm."""
    shown, kept = text, len(text)
    while _mm(shown, size, bold) > room and kept > 4:
        kept -= 1
        shown = text[:kept - kept // 3].rstrip() + "…" + text[len(text) - kept // 3:].lstrip()
    return shown


def _lines(text, room, size=7, bold=False):
    """The words of a text in lines of at most `room` mm; a word that is wider is cut."""
    lines = []
    for word in (_cut(word, room, size, bold) for word in re.split("[ \n]+", text.strip(" \n")) if word):
        if lines and _mm(f"{lines[-1]} {word}", size, bold) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@functools.lru_cache(maxsize=1024)
def _wrapped(text, room, size=7):
    """The text as it is where it fits the room, mm; else broken into as few lines as do, of about one length."""
    if _mm(text, size) <= room:
        return text
    lines = _lines(text, room, size)
    while room > 5 and len(narrower := _lines(text, room - 1, size)) == len(lines) and "…" not in "".join(narrower):
        lines, room = narrower, room - 1
    return "\n".join(lines)


def _log_axis(axis):
    """Plain numbers on a log axis; more of them where it spans little."""
    low, high = axis.get_view_interval()
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    at = (1, 1.5, 2, 3, 5, 7) if high / low < 8 else (1, 2, 5) if high / low < 200 else (1,)
    axis.set_major_locator(LogLocator(subs=at, numticks=9))
    axis.set_minor_formatter(NullFormatter())


def _thread(hue):
    """A thin line from a text to its place."""
    return {"arrowstyle": "-", "lw": 0.4, "color": hue, "shrinkA": 0, "shrinkB": 0}


def _halo():
    return [patheffects.withStroke(linewidth=2.2, foreground="white")]


def _note(ax, text, at, shift=(0, 0), within="axes fraction", size=7, **look):
    """A text at a place, in fractions of the axes unless `within` says otherwise, shifted by so many points."""
    return ax.annotate(text, at, xycoords=within, xytext=shift, textcoords="offset points", fontsize=size, **look)


def _apart(middles, sizes, high):
    """Middles of things of those sizes, moved until they do not touch, in their order and all below `high`."""
    moved, order = np.array(middles, float), np.argsort(middles, kind="stable")
    for below, above in zip(order, order[1:]):
        moved[above] = max(moved[above], moved[below] + (sizes[below] + sizes[above]) / 2)
    for above in order[::-1]:
        moved[above] = min(moved[above], high - sizes[above] / 2)
        high = moved[above] - sizes[above] / 2
    return moved


def _unit(text):
    return f"{ureg.Unit(text):~P}"


# --- labels -------------------------------------------------------------------------------------------------------

def _named_axes(width, height, names, left=14, bottom=11, top=3, **kwargs):
    """Figure, axes and {name: the name as it fits beside them}; the page grows where the names need more height."""
    beside = {name: _wrapped(name, width / 4) for name in names}
    tall = bottom + top + LINE * sum(text.count("\n") + 1 for text in beside.values())
    height = min(max(height, tall), MOST_HEIGHT)
    return *axes(width, height, left, max(map(_mm, beside.values()), default=0) + 5, bottom, top, **kwargs), beside


def _name_at_right(ax, names):
    """Names in the right margin, at the height where what they name ends; moved apart, with a thin line to that height,
    where they would touch.

    names: {text: (y in data, hue)}. The limits of the axes stay as they are from here on.
    """
    ax.set(xlim=ax.get_xlim(), ylim=ax.get_ylim())
    to_axes, box = ax.transData + ax.transAxes.inverted(), ax.get_position()
    heights = np.clip([to_axes.transform((ax.get_xlim()[1], y))[1] for y, _ in names.values()], 0, 1)
    line = LINE * MM / (box.height * ax.figure.get_figheight())
    moved = _apart(heights, [line * (text.count("\n") + 1) for text in names], 1 + line / 2)
    mm = MM / (box.width * ax.figure.get_figwidth())
    for (text, (_, hue)), height in zip(names.items(), moved):
        ax.text(1 + 2.8 * mm, height, text, transform=ax.transAxes, va="center", fontsize=7, color=INK.get(hue, hue))
    ax.add_collection(LineCollection([((1, a), (1 + 2 * mm, b)) for a, b in zip(heights, moved)],
                                     colors=[hue for _, hue in names.values()],
                                     linewidths=0.4, transform=ax.transAxes, clip_on=False), autolim=False)


def _label_room(labels, width, size=7, bold=False):
    """mm at the left of the axes for the labels of rows, which may take over a third of the page; a small margin on a
    narrow one."""
    return 5 if width < NARROW else min(max(_mm(label, size, bold) for label in labels), 0.37 * width) + 3


def _rows(width, labels, beside=(), heading="", pitch=5.4, size=7, bold=None, bottom=11, top=6, **kwargs):
    """Figure and axes with a row a label, from the top down, and words beside it; on a narrow page both stand above.

    beside: a text a row. pitch: mm from row to row. bold: which label is so. The page is as high as the rows need, or
    as it may be.
    """
    narrow, count = width < NARROW, len(labels)
    left = _label_room(labels, width, size, bold is not None)
    right = 5 if narrow or not beside else min(max(*map(_mm, beside), _mm(heading)), 0.25 * width) + 3
    pitch = min(max(pitch, 7.4) if narrow else pitch, (MOST_HEIGHT - bottom - top) / count)
    figure, ax = axes(width, bottom + top + pitch * count, left, right, bottom, top,
                      ylim=(count - 0.5, -0.8 if narrow else -0.6), **kwargs)
    rows = ax.get_yaxis_transform()
    if not narrow:
        ax.set_yticks(range(count), [_cut(label, left - 2.5, size, bold is not None) for label in labels],
                      fontsize=size)
        ax.tick_params(axis="y", length=0)
        at = 1 + 1.5 / (width - left - right)
        for i, text in enumerate(beside):
            ax.text(at, i, "\n".join(_cut(line, right - 2) for line in text.split("\n")), transform=rows, va="center",
                    fontsize=7)
        _note(ax, heading, (at, 1), (0, 1), style="italic")
        if bold is not None:
            ax.get_yticklabels()[bold].set_fontweight("bold")
        return figure, ax
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    above = dict(shift=(0, 5), within=rows, va="bottom", bbox={"fc": "white", "ec": "none", "pad": 0})
    beside = [" ".join(text.replace("\n", ", ").split()) for text in beside] or [""] * count
    for i, (label, text) in enumerate(zip(labels, beside)):
        text = _cut(text, 0.55 * width)
        label = _cut(label, width - left - right - _mm(text) - 3, size, i == bold)
        _note(ax, label, (0, i), size=size, weight="bold" if i == bold else "normal", **above)
        _note(ax, text, (1, i), ha="right", **above)
    _note(ax, heading, (1, 1), (0, 1), ha="right", style="italic")
    return figure, ax


def _words_along(ax, words, x=0.0, y=3.0):
    """Words one after another along the top left edge of the axes: (text, hue) each. x, y: mm from its corner."""
    for text, hue in words:
        _note(ax, text, (0, 1), (x * 72 * MM, y), color=INK.get(hue, hue))
        x += _mm(text) + 4


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
    figure, ax = _rows(width, names, beside, "chance, tube", pitch=6.2, size=8, bold=names.index(verdict.limiting),
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
        _note(ax, text, (1, 1), (x, 1), ("data", "axes fraction"), ha=side, color=INK[hue])
    _log_axis(ax.xaxis)
    return figure


@styled
def against(line, width=90, height=55):
    """Demand and capacity of one criterion as two densities on one log axis, a line where it does not vary: the overlap
    is where it fails."""
    figure, ax = axes(width, height, left=5, right=5, bottom=11, top=7, xscale="log",
                      xlabel=f"{line.criterion} / {_unit(line.unit)}")
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
        ax.stairs(density, edges, fill=True, color=hue, alpha=0.18)
        ax.stairs(density, edges, color=hue, ls=style, lw=1.2)
        tallest = density.max()
        peaks[name] = (np.sqrt(edges[density.argmax()] * edges[density.argmax() + 1]), tallest, hue)
    close = abs(np.log(peaks["demand"][0] / peaks["capacity"][0])) < 0.25 * np.log(edges[-1] / edges[0])
    for name, (x, y, hue) in peaks.items():   # side by side where the peaks are close
        ha = "center" if not close else "right" if x == min(peak[0] for peak in peaks.values()) else "left"
        _note(ax, name, (x, y), (0, 2), "data", 8, ha=ha, va="bottom", color=INK[hue], path_effects=_halo())
    ax.set(ylim=(0, max(peak[1] for peak in peaks.values()) * 1.18), yticks=[], xlim=(edges[0], edges[-1]))
    ax.spines["left"].set_visible(False)
    _log_axis(ax.xaxis)
    _note(ax, f"met in {line.chance:.0%} of draws", (0, 1), (0, 4), size=8)
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
    figure, ax, beside = _named_axes(width, height, [*torques, *limits], yscale="log", xlabel="bore / mm",
                                     ylabel="torque / N·m")
    names = _bands(ax, bores, torques, beside)
    names |= {beside[name]: _level(ax, values) for name, values in limits.items()}
    ax.set_xlim(bores[0], bores[-1])
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
    return figure


@styled
def plan(table, limits, width=140, height=70):
    """Torque of each pass of a stock plan, with its spread, against what bow and wrench give. limits: {drive: N*m,
    draws}."""
    figure, ax, beside = _named_axes(width, height, limits, top=7, yscale="log", xlabel="diameter after the pass / mm",
                                     ylabel="torque / N·m")
    names = {beside[name]: _level(ax, values) for name, values in limits.items()}
    for _, row in table.iterrows():
        hue, marker = (BLUE, "o") if row["bore"] else (VERMILION, "s")
        ax.plot([row.diameter_mm] * 2, [row.torque_5, row.torque_95], color=hue, lw=2, solid_capstyle="butt")
        ax.plot(row.diameter_mm, row.torque_Nm, marker, color=hue, ms=4)
    _words_along(ax, (("● finishes a bore", BLUE), ("■ opens the way", VERMILION)))
    ax.margins(x=0.08, y=0.12)
    _sizes_above(ax, table)
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
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
        _note(ax, f"{size:.2f}", (x, top), (0, up), "figure points", ha="center", va="bottom",
              rotation=90 if upright else 0, path_effects=_halo(), arrowprops=_thread("0.4") if up > 3 else None)


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
    figure, ax, beside = _named_axes(width, height, [name for name in looks if name not in steep],
                                     xlabel=table.index.name, ylabel="chance of being met", ylim=(-0.02, 1.04),
                                     xlim=(x.min(), x.max()))
    for name, (hue, style, wide) in looks.items():
        ax.plot(x, lines[name], color=hue, ls=style, lw=wide)
    for chance in (0.9, 0.66, 0.33):
        ax.axhline(chance, color=GREY, lw=0.4, zorder=0)
    if mark is not None:
        ax.axvline(mark, color="0.3", lw=0.8, ls=(0, (2, 2)))
    _name_steep(ax, x, lines, {name: looks[name][0] for name in steep}, {"very likely": 0.9, "likely": 0.66})
    _name_at_right(ax, {beside[name]: (lines[name][-1], looks[name][0]) for name in beside})
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
        wide = _mm(name) * 72 * MM
        found = [(cost(left, middle, wide) + 0.001 * far, left, middle) for left, middle, far in choices(wide)]
        _, left, middle = min(found)
        taken.append((left, left + wide, middle))
        _note(ax, name, (left / size[0], middle / size[1]), color=hue, va="center", path_effects=_halo())

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
    figure, ax, beside = _named_axes(width, height, [wanted, *stages], left=16, xlabel="lapping time / h",
                                     ylabel="taken off on diameter / µm", yscale="log")
    names = {beside[wanted]: _level(ax, need)}
    names |= _bands(ax, hours, stages, beside)
    ax.set_xlim(hours[0], hours[-1])
    _name_at_right(ax, names)
    _log_axis(ax.yaxis)
    return figure


@styled
def over(x, bands, xlabel, ylabel, limits=None, log=(False, True), width=140, height=75):
    """Quantities with their spread over one swept value, with limit lines labelled where they run.

    x: shape (k,). bands: {label: draws of shape (k, n), or single values of shape (k,)}. limits: {label: value}. log:
    of x, of y.
    """
    limits = limits or {}
    # room for 100000
    figure, ax, beside = _named_axes(width, height, [*bands, *limits], left=19, xscale="log" if log[0] else "linear",
                                     yscale="log" if log[1] else "linear", xlabel=xlabel, ylabel=ylabel)
    names = _bands(ax, x, bands, beside)
    for name, value in limits.items():
        ax.axhline(value, color=BLACK, lw=0.8, ls=(0, (4, 2)))
        names[beside[name]] = value, BLACK
    ax.set_xlim(x[0], x[-1])
    _name_at_right(ax, names)
    for axis, is_log in zip((ax.xaxis, ax.yaxis), log):
        if is_log:
            _log_axis(axis)
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
    _note(ax, "demand = capacity", (1, 1), (-2, 2), ("axes fraction", "data"), ha="right", path_effects=_halo())
    at_top = ax.get_xaxis_transform()
    for i, (name, middle, storey) in enumerate(zip(names, middles, storeys)):
        hue, centre = HUES[i % 4], (ends[i] + ends[i + 1]) / 2
        ax.plot(ends[i:i + 2], [1.02, 1.02], transform=at_top, color=hue, lw=2.5, solid_capstyle="butt", clip_on=False)
        text = _note(ax, name, (middle / width, 1), (0, 7 + LINE * storey * 72 * MM),
                     ("figure fraction", "axes fraction"), ha="center", color=INK[hue], annotation_clip=False,
                     path_effects=_halo())
        if storey:   # a thin line up to a name that had no room beside its neighbours
            ax.annotate("", (centre, 1.03), xycoords=at_top, xytext=(0.5, 0), textcoords=text, annotation_clip=False,
                        arrowprops=_thread(hue))
    ax.set(xlim=(x[0], x[-1]), ylim=(max(0.02, table["margin_5"].min() * 0.8), table["margin_95"].max() * 1.3))
    _log_axis(ax.yaxis)
    return figure


def _storeys(ends, names, width):
    """Where names stand above stretches of a line that is cut at `ends` (mm): their middles, and how many storeys up,
    so that none touches another or the edge of the page."""
    middles, storeys, taken = [], [], []
    for left, right, name in zip(ends, ends[1:], names):
        half = _mm(name) / 2 + 0.7
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
    at += (_mm(dark) + 1.5) / width
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
                _note(ax, outcome, (row[x_name], row[y_name]), (-4 if late else 4, 3), "data",
                      ha="right" if late else "left", path_effects=_halo())
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
    labels = [f"{tube.name}: {number(bore)} to {number(outside)} mm" for tube, (bore, outside, _) in zip(tubes, sizes)]
    figure, ax, beside = _named_axes(width, height, labels, xlabel="length / mm", ylabel="radius / mm",
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
    _name_at_right(ax, names)
    return figure


@styled
def traces(table, width=190):
    """Which route leaves which trace; what only one leaves is filled. table: of routes.compare."""
    left = {route: [t for t in row["traces"].split("; ") if t] for route, row in table.iterrows()}
    every = list(dict.fromkeys(t for found in left.values() for t in found))
    size = 7 if width < NARROW else 8
    room = (width - _label_room(every, width, size) - 5) / len(left) - 1.5
    names = [_wrapped(route, room, size) for route in left]
    top = 3 + 3.5 * max(name.count("\n") + 1 for name in names)
    figure, ax = _rows(width, every, size=size, pitch=5, top=top, bottom=6, xlim=(-0.5, len(left) - 0.5))
    for x, (route, found) in enumerate(left.items()):
        for y, trace in enumerate(every):
            if trace in found:
                alone = sum(trace in other for other in left.values()) == 1
                ax.plot(x, y, "s" if alone else "o", color=BLUE if alone else BLACK, mfc=BLUE if alone else "white",
                        ms=6)
    ax.set_xticks(range(len(left)), names, fontsize=size)
    ax.xaxis.tick_top()
    ax.tick_params(length=0)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    ax.hlines(range(len(every)), -0.5, len(left) - 0.5, color="0.9", lw=0.5, zorder=0)
    ax.vlines(range(len(left)), -0.6, len(every) - 0.5, color="0.9", lw=0.5, zorder=0)
    at = 0
    for text, hue in (("■ only this route leaves it", BLUE), ("○ others leave it too", BLACK)):
        _note(ax, text, (0, 0), (at, -3), va="top", color=INK[hue])
        at += (_mm(text) + 6) * 72 * MM
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
    figure, ax = _rows(width, [_short(key) for key in table.index], list(table["grade"]), "evidence",
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
        _note(ax, words, (x, 1), (2 if late else -2, up), ("data", "axes fraction"), ha="right" if late else "left",
              color=hue)
    dashed, solid = ("dashed: at its 5 % point", VERMILION), ("solid: at its 95 % point", BLUE)
    ways = ((*dashed, 0, (0, -42), "left"), (*solid, 1, (0, -42), "right")) if narrow else (
        (*dashed, 0, (-4, -19), "right"), (*solid, 0, (-4, -28), "right"))
    for words, hue, x, shift, side in ways:
        _note(ax, words, (x, 0), shift, ha=side, color=INK[hue])
    _log_axis(ax.xaxis)
    return figure


@styled
def indices(table, rows=10, width=140):
    """Sobol indices, share of the variance that each assumption carries: in all (line) and by itself (dot). table: of
    Study.sensitivity("sobol")."""
    table = table.iloc[:rows]
    figure, ax = _rows(width, [_short(key) for key in table.index], list(table["grade"]), "evidence", top=9,
                       xlabel="share of the variance of the log margin", xlim=(-0.05, 1.05))
    for i, (key, row) in enumerate(table.iterrows()):
        ax.plot([row["total_low"], row["total_high"]], [i] * 2, color=BLUE, lw=1)
        ax.plot([0, row["total"]], [i] * 2, color=BLUE, lw=3, solid_capstyle="butt")
        ax.plot(row["first"], i, "o", color=VERMILION, ms=3.5)
    _words_along(ax, (("bar: in all", BLUE), ("line: its interval", BLUE), ("dot: by itself", VERMILION)), y=10)
    return figure


@styled
def compared(table, width=140):
    """Measured over predicted median, with the predicted interval, a row a measurement. table: of Log.compare."""
    table = table.sort_values(["quantity", "trial"], ignore_index=True)
    level = f"{table.attrs['level']:.0%}" if "level" in table.attrs else "its"
    key = [f"grey: {level} interval predicted", "● inside   ✖ outside   |–| plugs"]
    key = key if width < NARROW else [";  ".join(key)]
    groups = {_wrapped(name, 0.2 * width, 8): rows.index.to_numpy() for name, rows in table.groupby("quantity")}
    bottom, top = 11, 3 + 3.2 * len(key)
    height = min(bottom + top + 1 + 2.6 * len(table), MOST_HEIGHT)
    figure, ax = axes(width, height, left=max(_mm(name, 8) for name in groups) + 3, right=5, bottom=bottom, top=top,
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
    middles = _apart([groups[name].mean() * box for name in names], [3.4 * (name.count("\n") + 1) for name in names],
                     height - top - bottom + 2)
    for name, middle in zip(names, middles):
        _note(ax, name, (0, middle / box), (-4, 0), ("axes fraction", "data"), 8, ha="right", va="center")
        ax.axhline(groups[name][-1] + 0.5, color="0.85", lw=0.4)
    ax.axvline(1, color=BLACK, lw=0.8)
    _note(ax, "\n".join(key), (0, 1), (0, 3))
    ax.set_yticks([])
    _log_axis(ax.xaxis)
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
    figure, ax = _rows(width, [_short(key) for key in keys], [f"{narrowed(key):.0%} as wide" for key in keys],
                       pitch=4.6, xscale="log",
                       xlabel="over the median before")
    for i, key in enumerate(keys):
        middle = np.median(before[key])
        for values, hue, drop, line in ((before[key], GREY, -0.13, 3), (after[key], BLUE, 0.13, 2)):
            low, mid, high = np.quantile(values, (0.05, 0.5, 0.95)) / middle
            ax.plot([low, high], [i + drop] * 2, color=hue, lw=line, solid_capstyle="butt")
            ax.plot(mid, i + drop, "|", color=BLACK, ms=5)
    ax.axvline(1, color="0.4", lw=0.6, zorder=1)
    _words_along(ax, (("upper, grey: before", "0.35"), ("lower, blue: after the bench log", BLUE)))
    _log_axis(ax.xaxis)
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
        _note(ax, f"{end:.0%}", (end, 0), (-3 if side == "right" else 3, 0), "data", ha=side, va="center")
    _note(ax, f"{successes} of {trials}: the true rate may lie here (95 %)", (0, 1), (0, 3), size=8)
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
    return f"{mid if low == high else f'{mid} ({low} to {high})'}\u00a0{_unit(unit)}".strip()


def _source(of):
    return f"source: {of.source}".replace("`", "") if of.source else ""


def _broken(name, room):
    """A function's name, with a place to break after its module where it is too wide for a box."""
    return name if _mm(name, 7, True) <= room - 2 * PAD else name.replace(".", ". ", 1)


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
        lines = _lines(text, room - 2 * PAD, 7, bold)
        if len(lines) > most > 0:
            while _mm(f"{lines[most - 1]} …", 7, bold) > room - 2 * PAD:
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


# --- files --------------------------------------------------------------------------------------------------------

def png(figure, dpi=110, note=None):
    """PNG bytes of a figure, for the page; note: text that is kept inside the file."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(buffer, format="png", dpi=dpi, metadata={"Description": note} if note else None)
    return buffer.getvalue()


FORMATS = ("pdf", "svg", "png", "tiff")
DPI = 600


def save(figure, folder, name, caption=None, data=None, overwrite=False, alt=None, formats=("pdf", "svg", "png")):
    """Save a figure in its formats, with its caption (txt) and the data that drew it (CSV); list of paths.

    formats: of "pdf" (letters with their font inside), "svg" (letters as outlines), "png" and "tiff" (600 dots an inch,
    RGB without transparency, TIFF packed by LZW). alt: what the figure shows, for those who cannot see it; kept as the
    title of the SVG and, beside a caption, as `name.alt.txt`. A caption or data that is None is left out.
    The same figure gives the same bytes: no dates inside. All files are written in a folder of their own and put in
    place when every one is whole, so a fault leaves none or, at worst, some whole ones. Raises FileExistsError rather
    than lose a file, unless overwrite is True; ValueError for a format that is not known or a name that is none for a
    file.
    """
    for end in formats:
        if end not in FORMATS:
            raise ValueError(f"formats: {end!r} is not one that a figure is saved in; {nearest(end, FORMATS)}")
    if not name or Path(name).name != name or name == "..":
        raise ValueError(f"name: {name!r} must be the name of a file, without folder or ending")
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    words = {"txt": caption, "csv": None if data is None else data.to_csv(lineterminator="\n"),
             "alt.txt": None if caption is None else alt}
    words = {end: said.strip() + "\n" for end, said in words.items() if said is not None}
    paths = {end: folder / f"{name}.{end}" for end in (*formats, *words)}
    there = [path.name for path in paths.values() if path.exists()]
    if there and not overwrite:
        raise FileExistsError(f"{folder} holds {', '.join(there)} already; give another name, or say overwrite=True")
    with tempfile.TemporaryDirectory(dir=folder, prefix=f".{name}-") as drafts:
        for end, path in paths.items():
            draft = Path(drafts, path.name)
            draft.write_bytes(words[end].encode() if end in words else _printed(figure, end, alt))
            os.chmod(draft, 0o644)
        for path in paths.values():
            os.replace(Path(drafts, path.name), path)
    return list(paths.values())


def _printed(figure, end, alt):
    """The figure's bytes in one format; made before any file is opened, so that a full disk is told as what it is."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        if end == "pdf":
            figure.savefig(buffer, format=end, metadata={"CreationDate": None})
        elif end == "svg":
            figure.savefig(buffer, format=end, metadata={"Date": None}
                           | ({"Title": alt.strip()} if alt is not None else {}))
        else:
            from PIL import Image   # comes with matplotlib
            # a hair more: a part of a dot is left off, and 90 mm are 2125.98
            figure.savefig(buffer, format="png", dpi=DPI * (1 + 2e-5))
            dots, buffer = Image.open(buffer).convert("RGB"), io.BytesIO()
            dots.save(buffer, format=end, dpi=(DPI, DPI), **{"compression": "tiff_lzw"} if end == "tiff" else {})
    return buffer.getvalue()
