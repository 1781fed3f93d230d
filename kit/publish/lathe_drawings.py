"""Drawings of the lathe and of what holds the work: the bow lathe with its forces, and each way of holding a tube."""

import numpy as np

from kit.base.units import told
from kit.operations import hold as holds
from kit.publish.drawing import Says, drawing
from kit.publish.page import BLACK, BLUE, VERMILION
from kit.publish.sheet import IRON, LEATHER, WOOD, View, box, nice, said_scale, sized
from kit.study.studyfile import StudyError

CENTRE = 51.0  # mm of the page: height of the lathe's axis
BOW = 12.0  # of the pulley in the lower view


def bars(sheet, at, room, rows):
    """Bars on one scale, one below the other, each with its words above it. rows: (words, value, hue)."""
    if sheet.plain:
        return
    x, y = at
    most = room / max(value for _, value, _ in rows)
    for text, value, hue in rows:
        sheet.say(text, (x, y + 3.4), "left", "bottom", color=hue if hue != "0.35" else BLACK)
        sheet.body(box(x, x + value * most, y, y + 2.8), hue, 0)
        y -= 9.2


@drawing
def bow_lathe(sheet, typical):
    """The bow lathe while the bore is made: along its axis, with the push on the tool; and pulley and bow, with
    the pull that the step asks, what the arm keeps up, and where the cord slips."""
    found = typical.step("drill") or typical.step("ream")
    if found is None:
        raise StudyError(f"the route of the {typical.tube.said} has no step in which the bow makes a hole")
    operation, row, step = found
    means, tube, shop = operation.means, typical.tube, typical.plan.workshop
    length, pulley = tube.length.m_as("mm"), shop.pulley.m_as("mm")
    blank, hole = (tube.outside + shop.blank_stock).m_as("mm"), step.diameter.m_as("mm")
    torque = typical.torque(operation, row)
    with told():
        asks = typical.mid(means.pull_for(operation.torque), "N", row)
        gives = typical.mid(means.pull(operation.minutes), "N", row)
        slips = typical.mid(means.cord_limit, "N")
        push = typical.mid(operation.thrust_at(operation.setting), "N", row) if step.operation == "drill" else None
    turns = "tool turning" not in shop.drilling
    stroke = typical.of("drive.stroke_length", "mm")

    scale = nice(min(128 / (length + 170), 22 / (pulley + 10)))
    view = View(8, CENTRE, scale)
    # the bed, and from the left: post with its centre, pulley, clamp with the blank, drill in its guide, lever
    bed = CENTRE - (pulley / 2 + 12) * scale
    end = 8 + (length + 172) * scale
    sheet.body(box(4, end + 8, bed - 3.5, bed), WOOD, 0.7, zorder=1)

    def post(x, wide, top=9.0):
        sheet.body(view(box(x, x + wide, (bed - CENTRE) / scale, top)), WOOD, 0.7, zorder=1.5)

    post(-4, 16)
    sheet.body(view([(12, 3), (20, 0), (12, -3)]), IRON, 0.7, zorder=3)
    sheet.body(view(box(20, 88, 5, -5)), IRON, 0.7)
    sheet.body(view(box(30, 64, pulley / 2, -pulley / 2)), WOOD, 0.8, zorder=3)
    for k in range(int(round(shop.wrap.m_as("turn")))):  # the cord, aslant round the pulley
        x = 40 + 7 * k
        sheet.line(view([(x, -pulley / 2), (x + 6, pulley / 2)]), 1.3, "#7A5A2E", zorder=3.5)
    clamp = blank + 22
    sheet.body(view(box(80, 104, clamp / 2, -clamp / 2)), WOOD, 0.8, zorder=3)
    start, stop = 90.0, 90.0 + length
    depth = 0.55 * length  # how far the drill has come, as drawn
    tip = stop - depth
    for side in (1, -1):
        y = side * np.array([hole, hole, 0, 0, blank, blank]) / 2
        sheet.cut(view(np.column_stack([[stop, tip, tip, start, start, stop], y])), pitch=1.0, lw=0, zorder=3.4)
        sheet.line(view([(start, side * blank / 2), (stop, side * blank / 2)]), 0.8, zorder=3.6)
        sheet.line(view([(stop, side * blank / 2), (stop, side * hole / 2)]), 0.8, zorder=3.6)
    sheet.line(view([(80, 0), (80, clamp / 2)]), 0.5)
    sheet.body(
        view([(tip - hole * 0.3, 0), (tip, hole / 2), (stop + 62, hole / 2), (stop + 62, -hole / 2), (tip, -hole / 2)]),
        IRON,
        0.6,
        zorder=4,
    )
    for side in (1, -1):
        sheet.edge(view([(tip - hole * 0.3, 0), (tip, side * hole / 2)]))
    post(stop + 22, 14)
    sheet.body(view(box(stop + 62, stop + 68, 22, (bed - CENTRE) / scale)), WOOD, 0.8, zorder=3)
    sheet.axis([(4, CENTRE), (view.along(stop + 75), CENTRE)])
    spin = (24, 0) if turns else (stop + 48, 0)
    sheet.turn(view([spin])[0], 5, -65, 65, flat=1.7)
    right = view.along(stop + 68)
    if push is not None:
        sheet.force((right + 13, CENTRE), (right + 1.5, CENTRE), sized(push, "N"), (right + 7, CENTRE - 3.6))
    top = CENTRE + max(clamp, pulley) / 2 * scale + 3
    sheet.say("pulley", (view.along(47), top), va="bottom")
    sheet.say("clamp", (view.along(92), CENTRE - clamp / 2 * scale - 0.8), va="top")
    sheet.say("blank", (view.along((104 + stop) / 2 + 2), CENTRE + blank / 2 * scale + 1.2), va="bottom")
    sheet.point(
        "drill" if step.operation == "drill" else step.tool.kind,
        (view.along(stop + 12), CENTRE - 8),
        view.at(stop + 8, 0),
        "center",
        "top",
    )
    sheet.say("guide", (view.along(stop + 29), CENTRE + 9 * scale + 1.2), va="bottom")
    sheet.say(shop.push, (right + 1.2, CENTRE + 22 * scale), "left", "top")
    sheet.bar(view, (5, bed - 7), 24)

    # the pulley from its end, with the bow
    small = nice(46 / stroke)
    centre, r = np.array([34.0, BOW]), pulley / 2 * small
    left, far = 34 - stroke * small / 2 - 3, 34 + stroke * small / 2 + 3
    sheet.circle(centre, r, WOOD, 0.8, zorder=3)
    sheet.circle(centre, 0.6, IRON, 0.5, zorder=3)
    sheet.line([(left, BOW + r), (far, BOW + r)], 1.1, "#7A5A2E", zorder=2.5)
    sheet.circle(centre, r + 0.35, "none", 1.1, "#7A5A2E", zorder=3.2)
    bend = np.linspace(0, 1, 40)
    stick = np.column_stack([left + bend * (far - left), BOW + r - 4 * bend * (1 - bend) * 7.5 - 0.2])
    sheet.line(stick, 2.6, "#B48A58", zorder=1)
    sheet.line([(far, BOW + r), (far + 6, BOW + r)], 3.2, "#B48A58", zorder=2.6)
    sheet.force((far + 8, BOW + r), (far + 15, BOW + r))
    sheet.turn(centre, r + 3, 20, 150)
    sheet.say(f"{sized(torque, 'N·m')}", (34, BOW + r + 5.5), "center", "bottom", color=BLUE)
    sheet.say(f"bow: {said_scale(small)}", (left, 1.2), "left", "bottom")
    weak = asks > min(gives, slips)
    bars(
        sheet,
        (84, 20.5),
        50,
        [
            (f"the step asks a pull of {sized(asks, 'N')}", asks, VERMILION if weak else "0.35"),
            (f"the arm keeps up {sized(gives, 'N')}", gives, BLUE),
            (f"the cord slips at {sized(slips, 'N')}", slips, "#009E73"),
        ],
    )
    return Says(
        f"The step asks a pull of {sized(asks, 'N')}; the arm keeps up {sized(gives, 'N')}, the cord slips at "
        f"{sized(slips, 'N')}",
        f"The lathe at '{step.name}', at the feed settled by feel: along its axis, {said_scale(scale)}; below, pulley "
        f"and bow from their end.",
        f"A bow lathe: the {'blank' if turns else 'drill'} turns, driven by a cord wound round a pulley of "
        f"{sized(pulley, 'mm')}. "
        f"At '{step.name}', at the feed settled by feel, the torque is {sized(torque, 'N·m')}; it asks a pull of "
        f"{sized(asks, 'N')} at the bow, where the arm "
        f"keeps up {sized(gives, 'N')} and the cord slips at {sized(slips, 'N')}."
        + (f" The drill is pushed with {sized(push, 'N')}." if push is not None else ""),
        {
            "pulley": (pulley, "mm"),
            "torque": (torque, "N*m"),
            "pull asked": (asks, "N"),
            "pull kept up": (gives, "N"),
            "slip": (slips, "N"),
        }
        | ({"push": (push, "N")} if push is not None else {}),
    )


# --- what holds the work ----------------------------------------------------------------------------------------------


def _tube(sheet, centre, scale, outer, inner):
    if inner > 0:
        sheet.ring(centre, outer / 2 * scale, inner / 2 * scale, zorder=3)
    else:
        sheet.ring(centre, outer / 2 * scale, 0.01, zorder=3)


def _clamp(sheet, centre, scale, outer, _, of):
    x, y = centre
    r, half, gap = outer / 2 * scale, outer / 2 * scale + 9, 1.0
    for way in (1, -1):
        a = np.arcsin(min(gap / r, 0.9))
        arc = np.column_stack(
            [np.cos(np.linspace(np.pi - a, a, 60)) * r, way * np.sin(np.linspace(np.pi - a, a, 60)) * r]
        )
        block = np.concatenate([arc, [(half, way * gap), (half, way * half), (-half, way * half), (-half, way * gap)]])
        sheet.cut(block + (x, y), WOOD, 90 if way > 0 else 90, 1.8)
        for side in (-1, 1):
            sheet.force(
                (x + side * half * 0.72, y + way * (half + 7)), (x + side * half * 0.72, y + way * (half + 0.8))
            )
    sheet.say(f"drawn together with {sized(of('force', 'N'), 'N')}", (x, y + half + 9), va="bottom", color=BLUE)
    return "two halves of wood, bored to the work and split"


def _fingers(sheet, centre, scale, outer, typical, _):
    x, y = centre
    size = min(scale, 26 / 15)
    for way in (1, -1):
        lean = np.radians(35)
        tip = np.array([x, y + way * (outer / 2 * scale - 0.6)]) + 7.5 * size * np.array(
            [-np.cos(lean), way * (1 - np.sin(lean))]
        )
        sheet.finger(tip, way * 35, size, way)
        sheet.force((x - 7, y + way * (outer / 2 * scale + 18)), (x - 4.5, y + way * (outer / 2 * scale + 8)))
    with told():
        force = typical.mid(holds.finger_force(typical.case.means), "N")
    sheet.say(
        f"finger and thumb keep up {sized(force, 'N')} each",
        (x + 6, y + outer / 2 * scale + 27),
        va="bottom",
        color=BLUE,
    )
    return "finger and thumb"


def _strap(sheet, centre, scale, outer, _, of):
    x, y = centre
    r = outer / 2 * scale
    turn = np.radians(np.linspace(-80, 250, 120))
    for k in (0.6, 1.7):
        sheet.line(np.column_stack([np.cos(turn), np.sin(turn)]) * (r + k) + centre, 2.4, LEATHER, zorder=3.5)
    sheet.line(
        [(x + (r + 1.2) * np.cos(turn[0]), y + (r + 1.2) * np.sin(turn[0])), (x + r + 18, y - r - 1)],
        2.6,
        LEATHER,
        zorder=3.4,
    )
    sheet.force((x + r + 18, y - r - 1), (x + r + 27, y - r - 0.8))
    sheet.say(f"pulled with {sized(of('tension', 'N'), 'N')}", (x, y + r + 8), va="bottom", color=BLUE)
    return "a strap laid round the work"


def _jaws(sheet, centre, scale, outer, typical, _):
    count, r = typical.plan.workshop.jaws, outer / 2 * scale
    for k in range(count):
        a = np.pi / 2 + 2 * np.pi * k / count
        way, over = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
        sheet.cut(
            [
                np.array(centre) + way * d + over * w
                for d, w in ((r, -1.5), (r + 8, -4), (r + 12, -4), (r + 12, 4), (r + 8, 4), (r, 1.5))
            ],
            IRON,
            20,
        )
        sheet.force(np.array(centre) + way * (r + 18), np.array(centre) + way * (r + 12.6))
    sheet.say(
        f"{count} jaws, {sized(typical.of('jaws.load', 'N'), 'N')} each",
        (centre[0], centre[1] + r + 19.5),
        va="bottom",
        color=BLUE,
    )
    return f"{count} jaws"


def _inside(sheet, centre, scale, outer, typical, film, fill, words_):
    """A tube on something within it, along its axis: arbor or cement."""
    x, y = centre
    tube = typical.tube
    length, bore = tube.length.m_as("mm"), tube.bore.m_as("mm")
    s = min(74 / length, scale)
    view = View(x - length * s / 2, y, s, scale)
    for side in (1, -1):
        sheet.cut(view(box(0, length, side * bore / 2, side * outer / 2)), zorder=3)
    thick = film / scale
    sheet.body(view(box(0, length, bore / 2, -bore / 2)), fill, 0.4, zorder=2)
    r = bore / 2 - thick
    sheet.body(
        view(
            [
                (-8 / s, r),
                (length + 8 / s, r * (1 if film else 0.985)),
                (length + 8 / s, -r * (1 if film else 0.985)),
                (-8 / s, -r),
            ]
        ),
        IRON,
        0.8,
        zorder=2.5,
    )
    sheet.axis([(x - length * s / 2 - 11, y), (x + length * s / 2 + 11, y)])
    sheet.say(words_, (x, y + outer / 2 * scale + 5), va="bottom", color=BLUE)


def _arbor(sheet, centre, scale, outer, typical, of):
    _inside(
        sheet,
        centre,
        scale,
        outer,
        typical,
        0,
        IRON,
        f"pressed up a taper until the bore stretches {sized(of('stretch', 'um'), 'µm')};\nthe taper is too "
        f"small to be seen",
    )
    return "a tapered arbor in the bore"


def _cement(sheet, centre, scale, outer, typical, of):
    _inside(
        sheet,
        centre,
        scale,
        outer,
        typical,
        0.9,
        "#8A4B2A",
        f"cement holds {sized(of('shear_strength', 'MPa'), 'MPa')} in shear;\nits film is drawn thicker than it is",
    )
    return "cement between arbor and bore"


KINDS = {
    "fingers": _fingers,
    "strap": _strap,
    "clamp": _clamp,
    "jaws": _jaws,
    "arbor": _arbor,
    "cement": _cement,
}


@drawing
def held(sheet, typical, step=None):
    """How a step holds the tube: what grips it, and the torque that it holds against that which the step asks. step: an
    operation; the lap, or else the last that makes the bore, where None."""
    found = next(filter(None, map(typical.step, (step,) if step else ("lap", "ream", "drill", "turn"))), None)
    if found is None:
        raise StudyError(f"step: the route of the {typical.tube.said} has no operation {step or 'that holds it'!r}")
    operation, row, entry = found
    step = entry.operation
    by = operation.held_by
    with told():
        jerk = getattr(operation, "jerk", operation.means["drive.peak"])
        asked, given = (typical.mid(q, "N*m", row) for q in (jerk * operation.torque, operation.hold_torque))
        outer = (
            typical.mid(operation.found.outside, "mm") if step in ("drill", "ream") else typical.tube.outside.m_as("mm")
        )
    inner = 0.0 if step == "drill" else typical.tube.bore.m_as("mm")

    def of(name, unit):
        return typical.of(f"hold.{by}.{name}", unit)

    grips = holds.kind(by)
    long = grips in ("arbor", "cement")
    scale, centre = (
        nice(min((14 if long else 22) / outer, 0.8 if grips == "fingers" else 6)),
        (51.0 if long else 46.0, 34.0),
    )
    what = KINDS[grips](sheet, centre, scale, outer, typical, of)
    if not long:
        _tube(sheet, centre, scale, outer, inner)
        sheet.turn(centre, max(inner, outer * 0.45) / 2 * scale * 0.62, 130, -140)
    else:
        end = typical.tube.length.m_as("mm") * min(74 / typical.tube.length.m_as("mm"), scale) / 2 + 8   # of the arbor
        sheet.turn((centre[0] + end + 1, centre[1]), 5, -65, 65, flat=1.6)
    sheet.say(f"{by}: {said_scale(scale)}{' across' if long else ''}", (4, 3), "left", "bottom")
    sheet.bar(View(0, 0, scale), (5, 68), 18)
    bars(
        sheet,
        (107 if long else 95, 38),
        38 if long else 46,
        [
            (f"the step asks {sized(asked, 'N·m')}", asked, VERMILION if asked > given else "0.35"),
            (f"it holds {sized(given, 'N·m')}", given, BLUE),
        ],
    )
    return Says(
        f"{by.capitalize()} holds {sized(given, 'N·m')}; the step asks {sized(asked, 'N·m')}",
        f"How the tube is held at '{entry.name}': {by}.",
        f"At '{entry.name}' the tube is held by {what}. The step asks {sized(asked, 'N·m')}, the jerk of the "
        f"drive counted; the "
        f"hold gives {sized(given, 'N·m')} before the work slips.",
        {"held diameter": (outer, "mm"), "torque asked": (asked, "N*m"), "torque held": (given, "N*m")},
    )
