"""Drawings of what runs in the bore: the lap with its grain, and the nest of sleeves with its pointers."""

import numpy as np

from kit.base import words
from kit.base.units import told
from kit.operations.lap import PAIR, RING
from kit.publish.drawing import Says, drawing
from kit.publish.lathe_drawings import bars
from kit.publish.page import BLUE, HUES, VERMILION
from kit.publish.sheet import BRONZE, HEIGHT, IRON, View, box, nice, said_scale, in_mm, sized
from kit.publish.tube_drawings import pieces, stepped
from kit.study import use
from kit.study.studyfile import StudyError
from kit.study.typical import Typical

PLUNGER = "#EED9A8"
LAP = "#E8B99A"  # copper or lead
AXIS = 34.0  # mm of the page: height of the nest's axis
LENS = 15.5  # mm: radius of a circle that shows a place magnified


def _two(along, across):
    """What scales a drawing has that is drawn larger across than along."""
    if along == across:
        return said_scale(along)
    times = f"{words.exact(across)} {'of' if across < 1 else 'times'} theirs"
    return f"lengths {said_scale(along).replace('its', 'their')},\ndiameters {'at ' if across < 1 else ''}{times}"


def _starts(tubes):
    """Where each sleeve of a nest begins, mm: clear of what stands out at the near end of the one inside it."""
    starts = [0.0]
    for inner, outer in zip(tubes, tubes[1:]):
        clear = 0.0
        for begins, ends, _, outside in pieces(inner):
            if outside < outer.bore.m_as("mm"):
                break
            clear = ends
        starts.append(starts[-1] + clear)
    return starts


def _lens(sheet, centre, times, from_):
    """A circle that shows a place larger: its patch. from_: the place, (x, y) of the page."""
    patch = sheet.circle(centre, LENS, "white", 0, zorder=1)
    away = np.array(centre) - from_
    sheet.line([from_, np.array(centre) - away / np.hypot(*away) * LENS], 0.5, "0.3", zorder=7)
    sheet.circle(from_, 0.9, "none", 0.7, zorder=8)
    sheet.say(f"{words.exact(times)} times its size", (centre[0], centre[1] - LENS - 2), va="top")
    return patch


def _cap(sheet, centre, level, up, fill, angle, ripple=0.0):
    """The body above (up 1) or below (-1) a level within the circle that magnifies; ripple: height of its roughness."""
    bend = np.arcsin(np.clip(level / LENS, -1, 1))
    turn = np.linspace(bend, np.pi - bend, 80)
    arc = np.column_stack([np.cos(turn), np.sin(turn)]) * LENS
    x = np.linspace(arc[-1, 0], arc[0, 0], 160)
    face = np.column_stack([x, level + ripple / 2 * np.sin(x * 2.2) * (0.6 + 0.4 * np.sin(x * 0.7))])
    return sheet.cut(np.concatenate([arc, face]) * (1, up) + centre, fill, angle, 1.3, zorder=2)


@drawing
def lap(sheet, typical, abrasive=None):
    """The lap in the bore, and the grain between the two, magnified; what it has to take against what it takes in the
    hours granted. abrasive: of the lap; the first of the route where None."""
    laps = [each for each in typical.case.done("lap") if abrasive in (None, each.step.abrasive)]
    if not laps:
        raise StudyError(f"abrasive: the route of the {typical.tube.said} has no lap with {abrasive or 'any grain'}")
    each, tube = laps[0], typical.tube
    length, bore, wall = (getattr(tube, name).m_as("mm") for name in ("length", "bore", "wall"))
    with told():
        stock, gone = typical.mid(each.stock, "um"), typical.mid(each.removed_at(each.setting), "um", 0)
        rough = typical.mid(each.leaves.roughness, "um")
    # for those who are to find out what comes of it, what the plan says; else where a maker's feel comes to rest
    pressure = each.step.pressure.m_as("kPa") if sheet.plain else typical.settled(each, 0)
    pressed = f"pressed with {sized(pressure, 'kPa')}, {'as planned' if sheet.plain else 'settled by feel'}"
    grain = typical.of(f"abrasive.{each.step.abrasive}.grain", "um")
    pair = each.kind == PAIR
    own = 1.0 if each.kind == RING else min(typical.of(f"lap.{each.kind}.length_share"), 1.4)
    core = 1.0 if each.kind == RING else typical.of(f"lap.{each.kind}.arbor_share")

    scale, thick = nice(min(64 / length, 22 / (bore + 2 * wall))), nice(20 / (bore + 2 * wall))
    view = View(12, 46, scale, thick)
    for side in (1, -1):
        sheet.cut(view(box(0, length, side * bore / 2, side * (bore / 2 + wall))), pitch=1.0)
    long = own * length
    start = (length - long) / 2 + 0.06 * length  # the lap is drawn on its way through
    soft = bore * 0.985 / 2
    sheet.body(view(box(start, start + long, soft, -soft)), IRON if pair else LAP, 0.8, zorder=2.5)
    if not pair:
        r = core * bore / 2
        sheet.body(
            view(
                [
                    (start - 6 / scale, r * 0.94),
                    (start + long + 8 / scale, r),
                    (start + long + 8 / scale, -r),
                    (start - 6 / scale, -r * 0.94),
                ]
            ),
            IRON,
            0.7,
            zorder=2.8,
        )
        for y in (soft * 0.99, -soft * 0.99):
            sheet.line(view([(start + 2 / scale, y * 0.96), (start + long * 0.96, y * 0.96)]), 0.4, "0.4")
    sheet.axis([(12 + min(start, 0) * scale - 9, 46), (12 + max(start + long, length) * scale + 11, 46)])
    for x in np.linspace(0.15, 0.85, 5) * length:
        for side in (1, -1):
            ((px, py),) = view([(x, side * (bore / 2 + wall))])
            sheet.force((px, py + side * 6.5), (px, py + side * 0.8))
    high = 46 + (bore / 2 + wall) * thick
    sheet.say(pressed, (12 + length * scale / 2, high + 8), va="bottom", color=BLUE)
    sheet.say(f"{each.kind}; {each.step.abrasive}", (12, 27), "left")
    sheet.say(_two(scale, thick), (4, 3), "left", "bottom")
    sheet.bar(view, (5, 68.5), 18)

    # the grain between bore and lap
    times = nice(7 / (grain / 1e3))
    centre = np.array([118.0, 46.0])
    _lens(sheet, centre, times, view.at(length * 0.92, bore / 2))
    g = grain / 1e3 * times
    rng = np.random.default_rng(1)  # the same grains in every picture
    _cap(sheet, centre, g / 2, 1, BRONZE, 45, rough / 1e3 * times)
    _cap(sheet, centre, g / 2, -1, IRON if pair else LAP, -45)
    for at in np.arange(-LENS + 0.55 * g, LENS - 0.5 * g, g * 1.2):
        turn = np.sort(rng.uniform(0, 2 * np.pi, 7))
        shape = np.column_stack([np.cos(turn), np.sin(turn)]) * g / 2 * rng.uniform(0.8, 1.0)
        sheet.body(shape + centre + (at, 0), "0.35", 0.3, zorder=3)
    sheet.circle(centre, LENS, "none", 1.0, zorder=8)
    sheet.say("bore", (centre[0], centre[1] + 11))
    sheet.say("lap" if not pair else "shaft", (centre[0], centre[1] - 11))
    sheet.say(f"grain {sized(grain, 'µm')}", (centre[0], centre[1] + LENS + 1.5), va="bottom")
    bars(
        sheet,
        (60, 17),
        44,
        [
            (f"to take, on diameter: {sized(stock, 'µm')}", stock, VERMILION if stock > gone else "0.35"),
            (f"taken in {words.planned(each.step.hours)}, if need be: {sized(gone, 'µm')}", gone, BLUE),
        ],
    )
    return Says(
        f"{each.step.abrasive.capitalize()} has {sized(stock, 'µm')} to take, and takes {sized(gone, 'µm')} in "
        f"{words.planned(each.step.hours)}",
        f"{'The shaft lapped' if pair else 'The lap'} in the bore of the {tube.said}, and the grain between the two "
        f"{words.exact(times)} times its size.",
        f"{'A shaft' if pair else f'A lap ({each.kind})'} with {each.step.abrasive} of {sized(grain, 'µm')} in the "
        f"bore of the {tube.said}, {pressed}."
        + ("" if sheet.plain else f" It has {sized(stock, 'µm')} to take on diameter and takes {sized(gone, 'µm')} "
           "in the hours granted."),
        {
            "grain": (grain, "um"),
            "pressure": (pressure, "kPa"),
            "stock": (stock, "um"),
            "taken in the hours": (gone, "um"),
        },
    )


@drawing
def nest(sheet, typical):
    """The nest of sleeves with its pointers, to scale, and a place of it with the walls magnified and the gaps more
    so."""
    plan = typical.plan
    tubes = [t for t in plan.tubes if t.position is not None]
    if not tubes:
        raise StudyError("this study has no sleeves that nest")
    each = [Typical(plan, t.name, typical.worst, typical.share, typical.n, typical.seed) for t in tubes]
    with told():
        gaps = [one.mid(use.made_clearance(one.case), "um") for one in each]
    sizes = [[getattr(t, name).m_as("mm") for name in ("bore", "outside", "length")] for t in tubes]
    starts = _starts(tubes)
    longest, arbor = max(start + size[2] for start, size in zip(starts, sizes)), sizes[0][0]
    outermost = max(outer for tube in tubes for *_, outer in pieces(tube))
    pointers = plan.use is not None and "pointer_arm" in plan.use

    scale, thick = nice(min(78 / (longest * 1.15), 16 / outermost, 2)), nice(20 / outermost)
    view = View(12, AXIS, scale, thick)
    runs = [not t.empty for t in tubes]   # whether something stands in it
    if runs[0]:
        sheet.body(view(box(-6 / scale, longest + 8 / scale, arbor / 2, -arbor / 2)), IRON, 0.6, zorder=1.5)
    for i, ((bore, outside, length), start) in enumerate(zip(sizes, starts)):
        for begins, ends, inner, outer in pieces(tubes[i]):
            for side in (1, -1):
                sheet.cut(
                    view(box(start + begins, start + ends, side * inner / 2, side * outer / 2)),
                    angle=(45, -45)[i % 2],
                    pitch=0.8,
                    lw=0.5,
                    zorder=2,
                )
        ((x, y),) = view([(start + length, outside / 2)])
        if pointers:  # the pointer sits on the end that stands out
            arm = 6 + 3.6 * (len(sizes) - 1 - i) + (outermost - outside) / 2 * thick
            x0 = x - min(3.0, 0.6 * 10 * scale)
            sheet.body(
                [(x0 - 0.6, y), (x0 + 0.6, y), (x0 + 0.5, y + arm), (x0 - 0.5, y + arm)], HUES[i % 4], 0.4, zorder=3
            )
            sheet.say(tubes[i].name, (x0, y + arm + 0.7), "center", "bottom", color=HUES[i % 4])
        else:
            sheet.say(tubes[i].name, (x, y + 2.5 + 3.5 * i), "right", "bottom", color=HUES[i % 4])
    sheet.axis([(3, AXIS), (12 + longest * scale + 12, AXIS)])
    low = AXIS - outermost / 2 * thick
    sheet.along(low - 4, 12, 12 + longest * scale, f"{in_mm(longest)}", below=(low, low), va="top")
    sheet.say(_two(scale, thick), (4, 3), "left", "bottom")
    sheet.bar(view, (5, 68.5), 22)

    # walls and gaps in the order in which they lie, from the arbor outwards
    walls = [(outside - bore) / 2 for bore, outside, _ in sizes]
    room = 56.0
    big = nice(0.56 * room / sum(walls))
    gaps = [gap if run else 0.0 for gap, run in zip(gaps, runs)]
    wide = nice(0.3 * room / max(sum(gaps) / 2e3, 1e-3))
    x0, x1, y = 104.0, 122.0, 6.0
    if runs[0]:
        sheet.cut(box(x0, x1, y - 4, y), IRON, -45, lw=0.6)
    sheet.say("arbor" if runs[0] else "hollow", (x0 - 1.5, y - 2), "right")
    for i, (wall, gap) in enumerate(zip(walls, gaps)):
        y += gap / 2e3 * wide
        if gap:
            sheet.point(sized(gap, "µm"), (x1 + 4, y - gap / 4e3 * wide), (x1 - 3, y - gap / 4e3 * wide), color=BLUE)
        sheet.cut(box(x0, x1, y, y + wall * big), angle=(45, -45)[i % 2], lw=0.6)
        sheet.say(f"{tubes[i].name}", (x0 - 1.5, y + wall * big / 2), "right", color=HUES[i % 4])
        sheet.say(f"{in_mm(wall)}", (x1 + 5, y + wall * big / 2), "left")
        y += wall * big
    sheet.say(f"walls {words.exact(big)}, gaps {words.exact(wide)} times their size", (146.5, HEIGHT - 3.5), "right")
    there = [gap for gap in gaps if gap] or [0.0]
    between = sized(there[0], "µm") if len(there) == 1 else f"{sized(min(there), 'µm')} to {sized(max(there), 'µm')}"
    return Says(
        f"{len(tubes)} tubes of {in_mm(min(walls))} wall and more, one in the other, with {between} between them",
        f"The nest{' on its arbor' if runs[0] else ''}, and at the right its walls and gaps magnified; clearances on "
        "diameter.",
        f"{len(tubes)} tubes one in the other{f' on an arbor of {in_mm(arbor)}' if runs[0] else ''}: "
        + "; ".join(
            f"{t.name}, {in_mm(size[0])} to {in_mm(size[1])}"
            + stepped(t, ", ") + (f", clearance {sized(gap, 'µm')}" if gap else ", hollow")
            for t, size, gap in zip(tubes, sizes, gaps)
        )
        + ".",
        {f"{t.name}: clearance": (gap, "um") for t, gap in zip(tubes, gaps)}
        | {f"{t.name}: wall": (w, "mm") for t, w in zip(tubes, walls)},
    )
