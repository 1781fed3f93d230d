"""Drawings of a tool in its bore, the edge that cuts drawn heavy: two-lip drill, D-bit, fluted reamer, broach."""

import numpy as np

from kit.base import words
from kit.base.units import told
from kit.publish.drawing import Says, drawing
from kit.publish.page import BLUE, VERMILION
from kit.publish.sheet import IRON, View, nice, said_scale, in_mm
from kit.study.studyfile import StudyError

SIDES = 5  # of a polygon broach as drawn


def _ring(radius, n=181):
    turn = np.linspace(0, 2 * np.pi, n)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


@drawing
def tool(sheet, typical, kind=None, stock=None):
    """A tool in the bore that it cuts: along the axis and from the end, its edges heavy, with torque and feed. kind: of
    the tool, "two-lip drill", "half-round bit", "fluted reamer" or "polygon broach"; the last that cuts the bore where
    None. stock: on diameter, a Quantity, that it is drawn taking in place of the plan's; its torque is then not
    told."""
    found = typical.step(*((kind,) if kind else ("ream", "drill")))
    if found is None:
        raise StudyError(f"kind: the route of the {typical.tube.said} has no {kind or 'tool that cuts the bore'}")
    operation, row, step = found
    before, after = (getattr(step, name).m_as("mm") for name in ("before", "diameter"))
    if stock is not None:
        before = max(after - stock.m_as("mm"), 0.0)
    # for those who are to find out what comes of it, what the plan says; else where a maker's feel comes to rest
    planned = sheet.plain or stock is not None
    feed = step.feed.m_as("mm") if planned else typical.settled(operation, row)
    torque = typical.torque(operation, row)
    fed = (f"feed {words.exact(step.feed.m_as('mm'))} mm a turn, as planned" if planned else
           f"feed {in_mm(feed)} a turn, settled by feel")
    with told():
        hand = operation.settling.by_hand
    by_hand = hand is not None and np.mean(hand[row]) > 0.5
    blank = typical.tube.outside.m_as("mm") + typical.plan.workshop.blank_stock.m_as("mm")

    scale, middle, face = nice(min(15 / after, 30 / blank, 8)), 38.0, 42.0
    view = View(face, middle, scale)
    deep, ahead = 36 / scale, 22 / scale  # of the hole behind the edge and of the metal in front of it, mm
    for side in (1, -1):  # the blank, opened behind the edge and with the old hole in front of it
        y = side * np.array([after, after, before, before, blank, blank]) / 2
        sheet.cut(view(np.column_stack([[deep, 0, 0, -ahead, -ahead, deep], y])), lw=0)
        sheet.line(view(np.column_stack([[deep, 0], [side * after / 2] * 2])), 0.8)
        sheet.line(view(np.column_stack([[deep, -ahead], [side * blank / 2] * 2])), 0.8)
        if before:
            sheet.line(view(np.column_stack([[0, -ahead], [side * before / 2] * 2])), 0.8)
    sheet.line(view([(deep, after / 2), (deep, blank / 2)]), 0.8)
    sheet.line(view([(deep, -after / 2), (deep, -blank / 2)]), 0.8)
    sheet.axis([(face - ahead * scale - 3, middle), (face + 56, middle)])
    end = np.array([129.0, middle])
    sheet.ring(end, min(blank / 2 * scale, 20), after / 2 * scale)
    name = DRAWN[step.tool.kind](sheet, view, end, scale, step, before, after)

    left = face - ahead * scale
    if before:
        sheet.across(
            left - 4,
            *view([(0, -before / 2), (0, before / 2)])[:, 1],
            f"{in_mm(before)}",
            beside=(left, left),
            ha="right",
        )
    else:
        sheet.say("solid", (left - 3, middle), "right")
    sheet.across(
        face + 56, *view([(0, -after / 2), (0, after / 2)])[:, 1], f"{in_mm(after)}", beside=(face + deep * scale,) * 2
    )
    high = middle + blank / 2 * scale
    sheet.force((face + 56, 14), (face + 42, 14), fed, (face + 40, 14), "right")
    # seen from the end the faces of the edges look up at the right: the tool turns that way, or the blank the other
    works = "tool turning" not in typical.plan.workshop.drilling and not by_hand
    around = min(blank / 2 * scale, 20) + 2.5
    sheet.turn(end, around, *((135, 50) if works else (50, 135)))
    sheet.say(
        f"{'blank' if works else 'tool'} turns"
        + ("\n" if planned else f": {words.number(torque, 2)} N·m\n")
        + ("by wrench" if by_hand else "by bow"),
        (end[0], middle + around + 1.5),
        "center",
        "bottom",
        color=BLUE,
    )
    sheet.point(
        name, (face - 12, high + 8), view.at(0.02, (before + (after - before) * 0.5) / 2), "left", "bottom", VERMILION
    )
    sheet.say(f"{step.name}; {said_scale(scale)}", (4, 3), "left", "bottom")
    sheet.bar(view, (5, 68), 22)
    sheet.say("from the end", (end[0], middle - min(blank / 2 * scale, 20) - 3), va="top")
    taken = f"{in_mm((after - before) / 2)} of stock on radius" if before else "the whole hole"
    return Says(
        f"The {step.tool.kind} takes {taken}"
        + ("" if planned else f": {words.number(torque, 2)} N·m at {in_mm(feed)} a turn"),
        f"{step.tool.kind.capitalize()} in the bore of the {typical.tube.said}, the edge that cuts heavy: {step.name}.",
        f"A {step.tool.kind} opens the hole from {in_mm(before) if before else 'solid metal'} to "
        f"{in_mm(after)} in a blank of "
        f"{in_mm(blank)}. It takes {taken}, "
        + (f"{fed}." if planned else f"with {words.number(torque, 2)} N·m at a {fed}."),
        {
            "hole before": (before, "mm"),
            "hole after": (after, "mm"),
            "feed a turn": (feed, "mm"),
        }
        | ({} if planned else {"torque": (torque, "N*m")}),
    )


def _shank(sheet, view, start, radius):
    """The shank behind the cutting part: a plain rod that goes on out of the hole, broken off."""
    far = 53 / view.scale
    wave = np.linspace(-1, 1, 25)
    edge = far + 0.9 / view.scale * np.sin(wave * np.pi)
    sheet.body(
        view(np.column_stack([np.r_[start, start, edge], np.r_[radius, -radius, wave * radius]])), IRON, 0.8, zorder=3
    )


def _drill(sheet, view, end, scale, step, before, after):
    """A flat drill: a spade with two lips and a chisel edge between them."""
    half = step.tool.point_angle.m_as("rad") / 2
    radius, core = after / 2, 0.09 * after / 2
    tip = (radius - core) / np.tan(half)
    shank = radius * step.tool.shank_ratio
    blade = [
        (0, radius),
        (2.2 * after, radius * 0.97),
        (2.6 * after, shank),
        (2.6 * after, -shank),
        (2.2 * after, -radius * 0.97),
        (0, -radius),
        (-tip, -core),
        (-tip, core),
    ]
    _shank(sheet, view, 2.55 * after, shank)
    if not before:  # the cone of the hole's ground is cut away
        sheet.body(view([(0, radius), (-tip - 0.02, core), (-tip - 0.02, -core), (0, -radius)]), "white", 0, zorder=2.5)
    sheet.body(view(blade), IRON, 0.8, zorder=4)
    sheet.axis(view([(-tip, 0), (2.2 * after, 0)]))
    reach = before / 2
    for side in (1, -1):
        start = max(reach, core)
        at = -tip + (start - core) / np.tan(half)
        sheet.edge(view([(at, side * start), (0, side * radius)]))
    thick = after * 0.16 * scale / 2
    r = radius * scale
    up = np.sqrt(r**2 - thick**2)
    bend = np.arcsin(thick / r)
    for_arc = np.linspace(-bend, bend, 9)
    right = np.column_stack([np.cos(for_arc), np.sin(for_arc)]) * r
    sheet.body(np.concatenate([right, -right]) + end, IRON, 0.8, zorder=4)
    inner = max(reach * scale, thick)
    sheet.edge([end + (inner, thick), end + (up, thick)])
    sheet.edge([end - (inner, thick), end - (up, thick)])
    if not before:
        sheet.edge([end + (inner, thick), end - (inner, thick)])
    return "two lips cut"


def _half_round(sheet, view, end, scale, step, before, after):
    """A D-bit: a rod filed to half, one edge at its end."""
    radius, shank = after / 2, after / 2 * step.tool.shank_ratio
    far = 2.6 * after
    _shank(sheet, view, far, shank)
    sheet.body(view([(0, radius), (far, radius), (far, -radius), (0.02 * after, -radius)]), IRON, 0.8, zorder=4)
    sheet.body(
        view([(0.0, radius), (far * 0.97, radius), (far, radius * 0.6), (far, 0), (0, 0)]), "#F1F4F7", 0.6, zorder=4.1
    )
    sheet.axis(view([(-1, 0), (far, 0)]))
    sheet.edge(view([(0, before / 2), (0, radius)]))
    r = radius * scale
    turn = np.linspace(np.pi, 2 * np.pi, 91)
    sheet.body(np.column_stack([np.cos(turn), np.sin(turn)]) * r + end, IRON, 0.8, zorder=4)
    sheet.edge([end + (max(before / 2 * scale, 0), 0), end + (r, 0)])
    return "one edge cuts, the round back guides"


def _fluted(sheet, view, end, scale, step, before, after):
    """A fluted reamer: teeth all round, each cuts on its lead."""
    radius, start = after / 2, before / 2
    lead = (radius - start) / np.tan(step.tool.lead_angle.m_as("rad")) if step.tool.lead_angle.m_as("deg") < 89.9 else 0
    run = min(max(lead, 0.02 * after), 1.2 * after)
    far, shank = 2.6 * after, radius * step.tool.shank_ratio
    core = radius * 0.72
    nose = start - 0.04 * after
    _shank(sheet, view, far, shank)
    sheet.body(
        view(
            [
                (-0.15 * after, nose),
                (0, start),
                (run, radius),
                (far, radius),
                (far, -radius),
                (run, -radius),
                (0, -start),
                (-0.15 * after, -nose),
            ]
        ),
        IRON,
        0.8,
        zorder=4,
    )
    for y in (0.36, -0.36, 0.8, -0.8):  # flutes in side view
        sheet.line(
            view([(-0.1 * after, y * start * 0.97), (run, y * radius), (far, y * radius)]), 0.5, "0.35", zorder=4.2
        )
    sheet.axis(view([(-1, 0), (far, 0)]))
    for side in (1, -1):
        sheet.edge(view([(0, side * start), (run, side * radius)]))
    n, shape = step.tool.teeth, []
    for k in range(n):
        a = -2 * np.pi * k / n
        for turn, r in ((0.0, radius), (0.10, radius), (0.35, core), (0.8, core), (0.999, core * 1.02)):
            shape.append((r * np.cos(a - turn * 2 * np.pi / n), r * np.sin(a - turn * 2 * np.pi / n)))
    sheet.body(np.array(shape) * scale + end, IRON, 0.8, zorder=4)
    for k in range(n):
        a = 2 * np.pi * k / n
        way = np.array([np.cos(a), np.sin(a)])
        sheet.edge([end + way * max(start * scale, radius * scale - 2.2), end + way * radius * scale])
    return f"{n} teeth cut, each on its lead"


def _broach(sheet, view, end, scale, _, before, after):
    """A polygon broach: a tapered bar whose corners scrape."""
    radius, far = after / 2, 2.6 * after
    start = max(before / 2, 0.6 * radius)
    slim = start * 0.9
    _shank(sheet, view, far, radius * 0.9)
    sheet.body(
        view(
            [
                (-0.6 * after, slim),
                (0, start),
                (far * 0.75, radius),
                (far, radius),
                (far, -radius),
                (far * 0.75, -radius),
                (0, -start),
                (-0.6 * after, -slim),
            ]
        ),
        IRON,
        0.8,
        zorder=4,
    )
    sheet.line(view([(-0.6 * after, slim * 0.3), (far, radius * 0.3)]), 0.5, "0.35", zorder=4.2)
    sheet.axis(view([(-1, 0), (far, 0)]))
    for side in (1, -1):
        sheet.edge(view([(0, side * start), (far * 0.75, side * radius)]))
    corners = _ring(radius * scale, SIDES + 1) @ np.array([[0, 1], [-1, 0]]) + end
    sheet.body(corners, IRON, 0.8, zorder=4)
    for corner in corners[:-1]:
        sheet.edge([corner, corner + (end - corner) * 0.06])
    return "the corners scrape, all along"


DRAWN = {"two-lip drill": _drill, "half-round bit": _half_round, "fluted reamer": _fluted, "polygon broach": _broach}
