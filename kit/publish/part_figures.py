"""Figures of the part: its nested tubes in section, and the traces on it that tell one route from another."""
import numpy as np

from kit.base import words
from kit.publish.page import (BLACK, BLUE, HUES, INK, MM, NARROW, in_mm, label_room, name_at_right, named_axes, rows_of,
                              styled, wrapped, write)


@styled
def nest(tubes, arbor, width=140, height=60):
    """The nested tubes in half section above their axis; radii on a larger scale than lengths. tubes: the sleeves, from
    the inside out. arbor: diameter of what runs in the first, mm."""
    sizes = [[q.m_as("mm") for q in (tube.bore, tube.outside, tube.length)] for tube in tubes]
    _, outermost, longest = np.max(sizes, axis=0)
    labels = [f"{tube.name}: {words.exact(bore)} to {words.exact(outside)} mm"
              for tube, (bore, outside, _) in zip(tubes, sizes)]
    figure, ax, beside = named_axes(width, height, labels, xlabel="length / mm", ylabel="radius / mm",
                                    xlim=(-4, longest + 4), ylim=(0, outermost / 2 * 1.08))
    ax.fill_between([-4, longest + 4], 0, arbor / 2, fc="0.85", ec="0.3", lw=0.4)
    ax.annotate(f"arbor {words.exact(arbor)} mm", (longest / 2, arbor / 4), ha="center", va="center", fontsize=7)
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
    for alone, look in ((True, {"marker": "s", "color": BLUE}),
                        (False, {"marker": "o", "color": BLACK, "mfc": "white"})):
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
