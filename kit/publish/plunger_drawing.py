"""Drawing of the plunger in its barrel, metal against metal or with a packing, and the gap between them magnified."""
from dataclasses import dataclass

from kit.base import words
from kit.base.units import told
from kit.publish.drawing import Says, drawing
from kit.publish.lathe_drawings import bars
from kit.publish.page import BLUE, VERMILION
from kit.publish.pair_drawings import LENS, PLUNGER, _cap, _lens
from kit.publish.sheet import BRONZE, IRON, LEATHER, OIL, View, box, nice, said_scale, in_mm, sized
from kit.study import use
from kit.study.studyfile import StudyError
from kit.study.typical import Typical


@dataclass(frozen=True)
class Seal:
    """What keeps the pressure in: what is within, air or liquid at which pressure; bars to be drawn; words."""
    within: str
    bars: list
    push: float
    message: str
    alt: str
    numbers: dict


def _metal(typical):
    wanted, held = typical.asked("plunger: hold")
    push, hand = typical.asked("plunger: slide")
    oiled = use.oiled(typical.case)
    return Seal(
        f"{words.planned(typical.plan.use['vacuum'])}\nwithin",
        [(f"wanted: {sized(wanted, 's')}", wanted, VERMILION if wanted > held else "0.35"),
         (f"holds {sized(held, 's')}", held, BLUE)],
        push, f"The plunger holds the vacuum for {sized(held, 's')}; {sized(wanted, 's')} are wanted",
        f"{'oil' if oiled else 'nothing'} in the gap. It holds the vacuum for {sized(held, 's')}, where "
        f"{sized(wanted, 's')} are wanted, and takes {sized(push, 'N')} to slide, where a hand gives "
        f"{sized(hand, 'N')}.",
        {"hold": (held, "s"), "hold wanted": (wanted, "s"), "push to slide": (push, "N")})


def _packed(typical):
    lost, most = typical.asked("packing: leak")
    push, hand = typical.asked("packing: push")
    packing = typical.tube.packing
    return Seal(
        f"{words.planned(typical.plan.use['pressure'])}\nwithin",
        [(f"push {sized(push, 'N')}", push, VERMILION if push > hand else "0.35"),
         (f"a hand gives {sized(hand, 'N')}", hand, BLUE)],
        push, f"The packing, {packing}, loses {words.percent(lost)} of a stroke; {words.percent(most)} may be lost",
        f"packed with {packing}. It loses {words.percent(lost)} of a stroke, where {words.percent(most)} may be "
        f"lost, and takes a push of {sized(push, 'N')}, where a hand gives {sized(hand, 'N')}.",
        {"share lost": (lost, ""), "share that may be lost": (most, ""), "push": (push, "N")})


def _draw_packing(sheet, view, typical, start, bore):
    """The packing at the plunger's head: a cup whose lip leans on the bore, or cord wound in a groove."""
    wound = use.is_wound(typical.case)
    long = typical.of(f"packing.{typical.tube.packing}.length", "mm") if wound else 0.3 * bore
    deep = typical.of(f"packing.{typical.tube.packing}.width", "mm") if wound else 0.07 * bore
    for side in (1, -1):
        if wound:
            shape = box(start + 0.1 * bore, start + 0.1 * bore + long, side * (bore / 2 - deep), side * bore / 2)
        else:   # a cup, its lip towards the pressure
            shape = [(start, side * (bore / 2 - 0.3 * deep)), (start - long, side * bore / 2),
                     (start - long, side * (bore / 2 - deep)), (start - deep, side * (bore / 2 - 1.6 * deep)),
                     (start - deep, 0), (start, 0)]
        sheet.cut(view(shape), LEATHER, 90 if wound else 30, 0.9, 0.6, zorder=3.5)


@drawing
def plunger(sheet, typical):
    """The plunger in its barrel with the pressure that it holds, the gap magnified, and how well it seals: metal on
    metal, or with a packing."""
    if typical.tube.plunger is None:   # the first tube that has one
        name = next((t.name for t in typical.plan.tubes if t.plunger is not None), None)
        if name is None or typical.plan.use is None:
            raise StudyError("this study has no plunger, or does not say how it is used")
        typical = Typical(typical.plan, name, typical.worst, typical.share, typical.n, typical.seed)
    tube, packed = typical.tube, typical.tube.packing is not None
    length, bore, wall, body = (getattr(tube, name).m_as("mm") for name in ("length", "bore", "wall", "plunger"))
    with told():
        gap = typical.mid(use.made_clearance(typical.case), "um")
    asked = ("packing: leak", "packing: push") if packed else ("plunger: hold", "plunger: slide")
    if any(typical.asked(each) is None for each in asked):
        raise StudyError(f"nothing is asked of the plunger of the {tube.said}: see [use] in study.toml")
    seal = (_packed if packed else _metal)(typical)
    filled = packed or use.oiled(typical.case)

    start = max(0.35 * length, 0.92 * length - body)   # of the plunger
    scale = nice(min(80 / (start + 1.9 * body), 30 / (bore + 2 * wall)))
    view, out = View(10, 40, scale), bore / 2 + wall
    for side in (1, -1):
        sheet.cut(view(box(0, length, side * bore / 2, side * out)), pitch=1.1)
    sheet.cut(view(box(-wall, 0, -out, out)), BRONZE, 45, 1.1)
    sheet.body(view(box(0, length, -bore / 2, bore / 2)), "#EAF3F9", 0, zorder=1)
    if filled and not packed:
        sheet.body(view(box(start, length, -bore / 2, bore / 2)), OIL, 0, zorder=1.2)
    sheet.cut(view(box(start, start + body, -bore / 2, bore / 2)), PLUNGER, -45, 1.6, zorder=3)
    if packed:
        _draw_packing(sheet, view, typical, start, bore)
    rod = start + 1.8 * body
    sheet.body(view(box(start + body, rod, -bore * 0.13, bore * 0.13)), IRON, 0.7, zorder=3)
    sheet.axis([(4, 40), (view.along(rod) + 3, 40)])
    sheet.say(seal.within, view.at(start * 0.42 if packed else start / 2, 0), color=BLUE)
    x, y = view.at(rod, 0)
    ends = ((x + 11, y), (x + 1, y)) if packed else ((x + 1, y), (x + 11, y))
    sheet.force(*ends, sized(seal.push, "N"), (x + 6, y - 4))
    high, low = 40 + out * scale, 40 - out * scale
    sheet.along(high + 3, view.along(start), view.along(start + body), f"plunger {in_mm(body)}", below=(high, high))
    sheet.along(low - 3, 10, 10 + length * scale, f"barrel {in_mm(length)}, bore {in_mm(bore)}", below=(low, low),
                va="top")
    sheet.say(f"{tube.packing}; {said_scale(scale)}" if packed else said_scale(scale), (4, 3), "left", "bottom")
    sheet.bar(view, (5, 68.5), 18)

    times, centre = nice(8 / (gap / 1e3)), (124.0, 50.0)
    _lens(sheet, centre, times, view.at(start + body * 0.7, bore / 2))
    half = gap / 2e3 * times
    if filled and not packed:
        sheet.circle(centre, LENS, OIL, 0, zorder=1.5)
    _cap(sheet, centre, half, 1, BRONZE, 45)
    _cap(sheet, centre, half, -1, PLUNGER, -45)
    sheet.circle(centre, LENS, "none", 1.0, zorder=8)
    if not packed:   # the way that the air takes
        sheet.force((centre[0] + 10, centre[1]), (centre[0] - 9, centre[1]), color=VERMILION)
    place = "behind the packing" if packed else "at its widest"
    sheet.say(f"gap {place} {sized(gap, 'µm')}", (centre[0], centre[1] + LENS + 1.2), va="bottom")
    bars(sheet, (100, 18), 42, seal.bars)
    return Says(
        seal.message,
        f"The plunger in its barrel, and the gap {words.exact(times)} times its size, the plunger lying on the bore.",
        f"A plunger of {in_mm(body)} in a barrel of {in_mm(bore)} bore, clearance {sized(gap, 'µm')}, {seal.alt}",
        {"clearance": (gap, "um")} | seal.numbers)
