"""Figures of quantities with their spread, over a size or a time or from pass to pass, and what limits them."""
import numpy as np

from kit.publish.page import (BLACK, BLUE, HUES, STYLES, VERMILION, halo, log_axis, name_at_right, named_axes, styled,
                              thread, words_along, write)


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
