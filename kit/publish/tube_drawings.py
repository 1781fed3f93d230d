"""Drawings of a tube: its long section with bow and eccentricity, the section across with lobes and clearance, and the
pinch of finger and thumb."""

import numpy as np

from kit.base import words
from kit.base.units import told
from kit.publish.drawing import Says, drawing
from kit.publish.page import BLUE, VERMILION
from kit.publish.sheet import IRON, View, box, nice, said_scale, in_mm, sized
from kit.study import use

TURN = np.linspace(0, 2 * np.pi, 361)


def offsets(typical, along):
    """How far the bore's axis lies off that of the outside, mm, at shares of the length. Trued on an arbor: play and
    run-out all along, and the bow in the middle; outside finished first: the drift, which grows to the far end, with
    the bow on its way."""
    eccentricity, bow = typical.form("eccentricity"), typical.form("bow")
    bent = 4 * along * (1 - along) * bow
    if typical.plan.workshop.order == "bore first":
        return eccentricity - bow + bent
    return eccentricity * along - bent


def made_wall(typical):
    """The wall as it comes out all round, mm: the bore is larger than its tool, and wider at its mouth; scale went off
    the outside. What the bore's offset takes is apart."""
    missing = typical.form("oversize") / 2 + typical.form("mouth") / 2 + typical.form("outside_lost")
    return max(typical.tube.wall.m_as("mm") - missing, 0.0)


def pieces(tube):
    """The tube from its near end to the far one: (start, end, bore, outside) of each length, mm."""
    near, far = ([each for each in tube.lengths if each.end == end] for end in ("near", "far"))
    rest = tube.length - sum((each.length for each in tube.lengths), 0 * tube.length)
    sized = [(each.length, *tube.sizes(each)) for each in near] + [(rest, tube.bore, tube.outside)]
    sized += [(each.length, *tube.sizes(each)) for each in reversed(far)]
    found, at = [], 0.0
    for long, bore, outside in sized:
        found.append((at, at + long.m_as("mm"), bore.m_as("mm"), outside.m_as("mm")))
        at = found[-1][1]
    return found


@drawing
def long_section(sheet, typical):
    """The tube along its axis, true and with the walls magnified: bow and offset of the bore, the thin side, and the
    wall that use needs. Of a stepped one the walls between its shoulders are magnified."""
    tube = typical.tube
    length, bore, wall = (getattr(tube, name).m_as("mm") for name in ("length", "bore", "wall"))
    along = np.linspace(0, 1, 121)
    off = offsets(typical, along)
    worst = int(np.argmax(off))
    made = made_wall(typical)
    thin, thick = max(made - off[worst], 0.0), made + off[worst]
    left_there = f"thin side {in_mm(thin)}" if thin else "the bore breaks out"
    need = typical.asked("least wall")
    need = need[0] if need else None

    # true
    largest = tube.largest.m_as("mm")
    scale, left = nice(min(110 / length, 12 / largest)), 5.0
    view = View(left, 57.5, scale)
    x = along * length
    for side in (1, -1):   # its outline, along the bore and back along the outside, shoulders and all
        within, without = [], []
        for start, end, inner, outer in pieces(tube):
            here = np.r_[start, x[(x > start) & (x < end)], end]
            within.append(np.column_stack([here, side * inner / 2 + np.interp(here, x, off)]))
            without.append(np.column_stack([here, np.full_like(here, side * outer / 2)]))
        sheet.cut(view(np.concatenate([*within, np.concatenate(without)[::-1]])), angle=45, pitch=1.0, lw=0.6)
    for at, across, there in ((0, pieces(tube)[0][2], off[0]), (length, pieces(tube)[-1][2], off[-1])):
        sheet.line(view([(at, -across / 2 + there), (at, across / 2 + there)]), 0.6)
    for (_, end, before, _), (_, _, after, _) in zip(pieces(tube), pieces(tube)[1:]):   # shoulders seen in the bore
        seen, there = max(before, after) / 2, float(np.interp(end, x, off))
        sheet.line(view([(end, -seen + there), (end, seen + there)]), 0.6)
    sheet.axis(view([(-3 / scale, 0), (length + 3 / scale, 0)]))
    right = left + length * scale
    sheet.across(
        right + 6,
        *view([(0, -bore / 2 - wall), (0, bore / 2 + wall)])[:, 1],
        f"{in_mm(bore + 2 * wall)}",
        beside=(right, right),
    )
    top = view([(0, largest / 2)])[0, 1]
    sheet.along(top + 2.5, left, right, "", below=(top, top))
    sheet.say(
        f"{in_mm(length)} long, bore {in_mm(bore)}, wall {in_mm(wall)}; {said_scale(scale)}",
        (left, top + 3),
        "left",
        "bottom",
    )

    if tube.lengths:
        sheet.say(stepped(tube).removeprefix("; "), (left, view([(0, -largest / 2)])[0, 1] - 2.5), "left")

    # magnified: the walls alone, the bore between them cut short
    times = across = nice(min(9 / wall, 15 / max(need or 0, wall)))
    high, low, stretch = 43.0, 5.0, nice(110 / length)
    upper, lower, right = View(left, high, stretch, across), View(left, low, stretch, across), left + length * stretch
    sheet.cut(upper(np.column_stack([np.r_[x, x[::-1]], np.r_[0 * x, (-made + off)[::-1]]])), lw=0.8)
    sheet.cut(lower(np.column_stack([np.r_[x, x[::-1]], np.r_[0 * x, (made + off)[::-1]]])), lw=0.8)
    middle = (high - wall * across + low + wall * across) / 2
    sheet.axis([(left - 3, middle), (right + 3, middle)])
    sheet.line(np.column_stack([left + x * stretch, middle + off * across]), 1.0, BLUE, (0, (5, 2)))
    for end in (left, right):  # broken: the bore is higher than drawn
        for a, b in ((low + (made + off[0]) * across, middle - 1.2), (middle + 1.2, high - (made - off[0]) * across)):
            sheet.line([(end, a), (end, b)], 0.5, "0.35")
    if need is not None:
        if need > thin:
            sheet.body(
                upper(np.column_stack([np.r_[x, x[::-1]], np.r_[-made + off, 0 * x - need]])), "#FBE3D3", 0, zorder=1
            )
        sheet.line(upper([(0, -need), (length, -need)]), 1.2, VERMILION, (0, (3, 1.5)), zorder=7)
    at, late = left + np.clip(along[worst], 0.01, 0.99) * length * stretch, along[worst] > 0.6
    sheet.across(at, high - thin * across, high, "", color=VERMILION)
    sheet.say(
        left_there,
        (at + (-1.5 if late else 1.5), high - thin * across / 2 if thin * across > 4.5 else high + 2.4),
        "right" if late else "left",
        color=VERMILION,
        weight="bold",
    )
    sheet.across(at, low, low + thick * across, f"{in_mm(thick)}", ha="right" if late else "left")
    sheet.say(f"axis of the bore, {sized(1e3 * off[worst], 'µm')} off", (left + 2, middle - 2.6), "left", color=BLUE)
    sheet.say("axis of the outside", (right - 2, middle - 2.6), "right", color="0.25")
    if need is not None:
        sheet.point(
            f"use and lapping\nneed {in_mm(need)}",
            (right + 4, high - need * across),
            (right, high - need * across),
            color=VERMILION,
        )
    sheet.say(
        f"walls and offset\n{words.exact(times)} times their\nsize; the bore\nis cut short", (right + 4, 11), "left"
    )
    enough = need is None or thin >= need
    message = (
        f"{in_mm(thin)} of wall is left on the thin side"
        if need is None
        else f"{in_mm(thin)} of wall is left on the thin side; use and lapping need {in_mm(need)}"
    )
    return Says(
        message,
        f"Long section of the {tube.said}, and its walls {words.exact(times)} times their size.",
        f"Long section of the {tube.said}: bore {in_mm(bore)}, wall {in_mm(wall)}, length {in_mm(length)}"
        f"{stepped(tube)}. The bore's "
        f"axis lies up to {sized(1e3 * off[worst], 'µm')} off that of the outside and is "
        f"{sized(1e3 * (wall - made), 'µm')} wider on the "
        f"radius than its tool, mouth and all, so that the thin side has {in_mm(thin)} left"
        + (
            "."
            if need is None
            else f"; use and lapping need {in_mm(need)}, which is {'there' if enough else 'not there'}."
        ),
        {
            "bore": (bore, "mm"),
            "wall": (wall, "mm"),
            "length": (length, "mm"),
            "offset": (off[worst], "mm"),
            "bore over its tool, on radius": (wall - made, "mm"),
            "bow": (typical.form("bow"), "mm"),
            "thin side": (thin, "mm"),
        }
        | ({"wall needed": (need, "mm")} if need else {}),
    )


def stepped(tube, between="; "):
    """Its lengths of another bore or outside, in words, each after `between`."""
    return "".join(f"{between}{in_mm(each.length.m_as('mm'))} of it {each.said}" for each in tube.lengths)


@drawing
def section_across(sheet, typical):
    """The tube across its axis with the shaft in it: true, then its lobes and clearance magnified, before and after
    lapping; as reamed and as turned where nothing is lapped."""
    tube, plan = typical.tube, typical.plan
    bore, wall = tube.bore.m_as("mm"), tube.wall.m_as("mm")
    outside, off = bore + 2 * wall, typical.form("eccentricity")
    thin = max(made_wall(typical) - off, 0.0)
    lapped = bool(typical.case.of("lap"))
    with told():
        clearance = typical.mid(use.made_clearance(typical.case), "um")
    # the same thing before and after: what is out of round of the bore as the first lap finds and the last leaves it
    with told():
        lobes = typical.mid((typical.case.done("lap")[0].found if lapped else typical.case.state).lobes, "um")
    fine = typical.form("lobes", "um")
    tight = -plan.workshop.left_on.m_as("um") if lapped else clearance

    scale, middle = nice(34 / outside), 40.0
    here = np.array([24.0, middle])
    sheet.ring(
        here,
        outside / 2 * scale,
        np.column_stack([np.cos(TURN), np.sin(TURN)]) * bore / 2 * scale + here + (0, off * scale),
    )
    if not tube.empty:
        sheet.ring(here + (0, off * scale), bore / 2 * scale - 0.25, 0.01, IRON, -45)
    sheet.say(said_scale(scale), (24, middle - outside / 2 * scale - 4), va="top")
    top = middle + outside / 2 * scale
    sheet.point(
        f"thin side {in_mm(thin)}",
        (24, top + 5),
        (24, middle + (bore / 2 + off + (wall - off) / 2) * scale),
        "center",
        "bottom",
        VERMILION,
    )
    sheet.say("hollow" if tube.empty else "shaft", tuple(here), color="0.2")

    most = max([lobes] if tube.empty else [abs(tight), clearance, lobes]) / 2e3
    times = nice(4.2 / most)
    panels = [(76, "reamed, shaft filed" if lapped else "as it comes", lobes, tight)]
    if lapped:
        panels.append((125.5, "lapped to the fit", fine, clearance))
    base = 14.5
    for x, name, form, gap in panels:
        centre = np.array([x, middle])
        # the mean radius stands for the bore's nominal size; lobes: largest less smallest circle on diameter
        radius = base + times * form / 4e3 * np.cos(plan.workshop.jaws * (TURN - np.pi / 2))
        hole = centre + radius[:, None] * np.column_stack([np.cos(TURN), np.sin(TURN)])
        sheet.ring(centre, base + 5.2, hole)
        sheet.say(name, (x, middle + base + 8.6), weight="bold")
        if tube.empty:
            sheet.say(f"bore out of round {sized(form, 'µm')}", (x, middle - base - 7), va="top")
            continue
        shaft = base - times * gap / 2e3
        if gap > 0:
            sheet.circle(centre, shaft, IRON, 0.8, zorder=3)
        else:  # it does not enter: its outline over the bore's
            sheet.circle(centre, shaft, "none", 1.6, VERMILION, zorder=6, ls=(0, (3, 1.5)))
        fit = (
            f"clearance {sized(gap, 'µm')}"
            if gap > 0
            else f"shaft {sized(-gap, 'µm')} too large"
            if gap < 0
            else "shaft just too large"
        )
        sheet.say("shaft" if gap > 0 else "shaft\n(dashed)", tuple(centre), color="0.2" if gap > 0 else VERMILION)
        sheet.say(
            f"{fit}\nbore out of round {sized(form, 'µm')}",
            (x, middle - base - 7),
            va="top",
            color="0.1" if gap > 0 else VERMILION,
        )
    mid = np.mean([x for x, *_ in panels])
    sheet.say(f"lobes and gap {words.exact(times)} times their size; the radii are not", (mid, 2.5), va="bottom")
    if tube.empty:
        return Says(
            f"The bore of the {tube.said} is out of round by {sized(fine, 'µm')}",
            f"The {tube.said} across its axis: true, and its lobes {words.exact(times)} times their size.",
            f"Section across the {tube.said}, in which nothing runs: wall {in_mm(wall)}, on the thin side "
            f"{in_mm(thin)}; the bore is out of round by {sized(fine, 'µm')} on diameter.",
            {"bore": (bore, "mm"), "thin side": (thin, "mm"), "bore out of round, as reamed": (lobes, "um"),
             "bore out of round at the end": (fine, "um")},
        )
    return Says(
        f"Bore and shaft fit with {sized(clearance, 'µm')} between them"
        + (f" after lapping; filed, the shaft was {sized(-tight, 'µm')} too large" if lapped and tight < 0 else ""),
        f"The {tube.said} across its axis: true, and lobes and clearance {words.exact(times)} times their size.",
        f"Section across the {tube.said}: wall {in_mm(wall)}, on the thin side {in_mm(thin)}. As reamed "
        f"the bore is out "
        f"of round by {sized(lobes, 'µm')} on diameter"
        + (
            f" and the shaft {sized(-tight, 'µm')} too large; lapped, the clearance is "
            f"{sized(clearance, 'µm')} and the bore out of round by {sized(fine, 'µm')}."
            if lapped
            else f"; the clearance is {sized(clearance, 'µm')}."
        ),
        {
            "bore": (bore, "mm"),
            "thin side": (thin, "mm"),
            "bore out of round, as reamed": (lobes, "um"),
            "bore out of round at the end": (fine, "um"),
            "clearance": (clearance, "um"),
        },
    )


@drawing
def pinch(sheet, typical):
    """Finger and thumb on the free end of the bare tube: where they press, how it gives; the bending against that at
    which the thin side first yields."""
    tube = typical.tube
    bore, wall, length = (getattr(tube, name).m_as("mm") for name in ("bore", "wall", "length"))
    outside, force = bore + 2 * wall, typical.of("hand.pinch", "N")
    asked, given = typical.asked("wall: pinch")
    given = given if given > 1e-4 * asked else 0.0   # where the bore breaks out, nothing is left
    off, made = typical.form("eccentricity"), made_wall(typical)

    scale = nice(min(56 / length, 22 / outside, 0.6))
    end = 62.0
    view = View(end - length * scale, 36, scale)
    for side in (1, -1):
        y0, y1 = sorted((side * bore / 2, side * outside / 2))
        sheet.cut(view(box(0, length, y0, y1)), pitch=1.0, lw=0.7)
    for x in (0, length):
        sheet.line(view([(x, -bore / 2), (x, bore / 2)]), 0.7)
    sheet.axis([(end - length * scale - 2, 36), (end + 3, 36)])
    at, edge = end - 6 * scale, outside / 2 * scale
    for way in (1, -1):  # their pads a little flattened by the tube, which is drawn over them
        lean = np.radians(40)
        tip = np.array([at, 36 + way * (edge - 0.5)]) + 7.5 * scale * np.array(
            [-np.cos(lean), way * (1 - np.sin(lean))]
        )
        sheet.finger(tip, way * 40, scale, up=way)
        sheet.force((at - 2, 36 + way * (edge + 14 * scale + 9)), (at - 2, 36 + way * (edge + 14 * scale)))
    sheet.say(f"{sized(force, 'N')} each", (at - 5, 36 + edge + 14 * scale + 5), "right", color=BLUE)
    sheet.say(said_scale(scale), (4, 3), "left", "bottom")
    sheet.bar(view, (5, 68), 25)

    # the end, as it gives
    centre = np.array([98.0, 36.0])
    big = nice(26 / outside)
    give = 0.10  # of the radius: how much is not to scale, and said
    radius = outside / 2 * big * (1 - give * np.cos(2 * (TURN - np.pi / 2)))
    points = np.column_stack([np.cos(TURN), np.sin(TURN)])
    inner = radius - (made - off * np.sin(TURN)) * big
    sheet.circle(centre, outside / 2 * big, "none", 0.5, "0.5", zorder=1, ls=(0, (3, 2)))
    sheet.ring(centre, centre + radius[:, None] * points, centre + inner[:, None] * points)
    for way in (1, -1):
        y = centre[1] + way * radius[90]
        sheet.force((centre[0], y + way * 11), (centre[0], y + way * 1.2))
    fails = asked > given
    arc = (TURN > np.pi / 2 - 0.35) & (TURN < np.pi / 2 + 0.35)
    sheet.line(centre + inner[arc, None] * points[arc], 2.6, VERMILION, zorder=7)
    sheet.point(
        f"yields here first:\nthin side {in_mm(made - off)}",
        (110, 62),
        tuple(centre + (0.8, inner[90])),
        color=VERMILION,
    )
    sheet.say("how it gives,\ndrawn much larger", (centre[0], 3), "center", "bottom")

    # what is asked and what there is, as two bars
    x0, most = 121.0, 24 / max(asked, given)
    for y, value, name, hue in (
        (40, asked, "bending asked", VERMILION if fails else "0.35"),
        (27, given, "first yield at", BLUE),
    ):
        sheet.body(box(x0, x0 + value * most, y, y + 3.4), hue, 0)
        sheet.say(f"{name}\n{words.number(value, 2)} N·mm", (x0, y - 0.8), "left", "top")
    return Says(
        f"A pinch of {sized(force, 'N')} asks {words.number(asked, 2)} N·mm of the wall; it first yields at "
        f"{words.number(given, 2)} N·mm",
        f"Finger and thumb on the free end of the {tube.said}; at the right its end as it gives, and the bending.",
        f"Finger and thumb press with {sized(force, 'N')} each on the bare end of the {tube.said}, wall "
        f"{in_mm(wall)}. That bends the "
        f"wall by {words.number(asked, 2)} N·mm; its thin side of {in_mm(made - off)} first yields at "
        f"{words.number(given, 2)} N·mm, so it {'yields' if fails else 'holds'}.",
        {
            "pinch": (force, "N"),
            "thin side": (made - off, "mm"),
            "bending asked": (asked, "N*mm"),
            "first yield": (given, "N*mm"),
        },
    )
