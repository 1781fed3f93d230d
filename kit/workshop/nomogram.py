"""A nomogram for the torque of a D-bit, beside what the bow gives: a chart for a ruler.

Laid from the stock to the bore, the ruler crosses the torque. The scales are placed by formula and drawn from the same
numbers, so that what is tested is what is printed.
"""
import functools
import math
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, words
from kit.base.units import Q
from kit.study import routes
from kit.workshop.paper import BOLD, FONT, at, gap, heading, paragraph, pdf, ruled, sketch, strong

DRAWS, SEED = 2**12, 1

BORES, STOCKS, TORQUES = (3.0, 20.0), (0.05, 1.0), (2.0, 2000.0)   # ends of the scales: mm, mm on diameter, N*mm
FEED, ALLOY, EDGE, GUIDE = Q(0.03, "mm"), "tin bronze, cast", "freshly ground", "steel on bronze, oiled"
OTHER_ALLOYS = (ALLOY, "tin bronze, worked", "leaded bronze, cast", "brass, annealed", "copper, annealed")
OTHER_FEEDS = (0.01, 0.02, 0.03, 0.05)   # mm a turn
EDGES = ("stoned", "freshly ground", "used")
PULLEYS = (20, 30, 40, 60)               # mm, to the cord's middle
LEFT, RIGHT, BOTTOM, TALL = 40.0, 172.0, 52.0, 137.0   # of the scales on the page, mm


@dataclass(frozen=True)
class Scale:
    """A vertical logarithmic scale on the page, in mm from its lower left corner. first, last: its ends; origin: the
    value at `y`."""
    x: float
    y: float
    origin: float
    decade: float
    first: float
    last: float

    def at(self, value):
        """Height of a value on the page."""
        return self.y + self.decade * np.log10(np.asarray(value) / self.origin)

    def read(self, height):
        """Value at a height: the inverse of `at`."""
        return self.origin * 10 ** ((np.asarray(height) - self.y) / self.decade)


def _middle(table, of, key):
    return evidence.reference(table, of, "it")[f"it.{key}"].middle


def force_per_width(alloy=ALLOY, feed=FEED):
    """Cutting force for a millimetre of edge, sharp (N/mm): kc11 * f^(1 - m), with the reference table's medians."""
    kc11, exponent = _middle("alloys", alloy, "kc11").m_as("MPa"), _middle("alloys", alloy, "exponent").m_as("")
    return float(kc11 * Q(feed, "mm").m ** (1 - exponent))


@functools.cache
def scales():
    """The three scales of the nomogram: {"stock": Scale, "torque": Scale, "bore": Scale}.

    D-bit, cut alone: M = kc * f * t * (D - t)/2 (cutting.half_round_torque without friction). With the stock
    on diameter s = 2 t and the bore half-way through the cut B = D - t, it is M = kc * f * s * B / 4, a product: so
    log M = log s + log B + constant, and parallel logarithmic scales give it exactly. With decades of length a (stock)
    and b (bore) the torque scale stands at a/(a + b) of the way from stock to bore, with a decade of
    a b/(a + b).
    """
    a, b = (TALL / math.log10(last / first) for first, last in (STOCKS, BORES))
    least = force_per_width() * STOCKS[0] * BORES[0] / 4
    return {"stock": Scale(LEFT, BOTTOM, STOCKS[0], a, *STOCKS), "bore": Scale(RIGHT, BOTTOM, BORES[0], b, *BORES),
            "torque": Scale(LEFT + (RIGHT - LEFT) * a / (a + b), BOTTOM, least, a * b / (a + b), *TORQUES)}


@functools.cache
def _allowances():
    """What is added or multiplied by hand: edges (added), back (multiplied), and the whole torque, 5 % to 95 %, over
    the result worked by hand."""
    base = force_per_width()
    added = {edge: float(_middle("edges", edge, "edge_force").m_as("N/mm")) / base for edge in EDGES}
    back = 1 + float(_middle("friction", GUIDE, "friction").m_as(""))
    d = routes.reference_draws(alloy=ALLOY, edge=EDGE, n=DRAWS, seed=SEED)
    cut = d["alloy.kc11"].m_as("MPa") * FEED.m_as("mm") ** (1 - d["alloy.exponent"].m_as(""))
    force = cut + d["edge.edge_force"].m_as("N/mm")
    true = d["model.cutting_torque"].m_as("") * force * (1 + d["guide.friction"].m_as(""))
    return added, back, tuple(np.quantile(true / (base * (1 + added[EDGE]) * back), (0.05, 0.95)))


@functools.cache
def bow_marks():
    """What the bow gives for half an hour: {pulley in mm: (5 %, 50 %, 95 %) in N*mm}; 4096 draws, seed 1."""
    draws = routes.reference_draws(alloy=ALLOY, edge=EDGE, n=DRAWS, seed=SEED)
    return {p: tuple(map(float, np.quantile(routes.bow_torque(draws=draws, pulley=Q(p, "mm")).m_as("N*mm"),
                                            (0.05, 0.5, 0.95)))) for p in PULLEYS}


# Ticks: up to which value, the step of the finest, of the middle and of the labelled ones
TICKS = {"bore": ((10, 0.1, 0.5, 1), (20, 0.2, 1, 2)),
         "stock": ((0.1, 0.002, 0.01, 0.01), (0.2, 0.005, 0.01, 0.02), (0.5, 0.01, 0.05, 0.1), (1, 0.02, 0.1, 0.1)),
         "torque": tuple((end * ten, fine * ten, mid * ten, label * ten) for ten in (1, 10, 100, 1000)
                         for end, fine, mid, label in ((2, 0.1, 0.5, 1), (5, 0.2, 1, 1), (10, 0.5, 1, 2)))}


def ticks(name):
    """Ticks of a scale: a list of (value, rank), rank 2 labelled, 1 middle, 0 fine."""
    scale, found = scales()[name], []
    start = scale.first
    for end, *steps in TICKS[name]:
        if end <= scale.first:
            continue
        whole = [round(step / steps[0]) for step in steps]
        for k in range(round(start / steps[0]), round(min(end, scale.last) / steps[0]) + 1):
            rank = 2 if k % whole[2] == 0 else 1 if k % whole[1] == 0 else 0
            value = float(f"{k * steps[0]:.6g}")
            if not found or value > found[-1][0] * (1 + 1e-9):
                found.append((value, rank))
        start = end
        if end >= scale.last:
            break
    return found


def example():
    """The example worked on the sheet, from 6.5 to 7 mm in the base alloy and feed: (bore half-way in mm, stock in mm,
    torque of the cut in N*mm, that with friction and edge)."""
    added, back, _ = _allowances()
    before, after = 6.5, 7.0
    torque = force_per_width() * (after - before) * (before + after) / 2 / 4
    return (before + after) / 2, after - before, torque, torque * (1 + added[EDGE]) * back


def sheet():
    """Torque of a D-bit from bore and stock with a ruler, beside what the bow gives."""
    added, back, (low, high) = _allowances()
    halfway, stock, torque, allowed = example()
    edges = ", ".join(f"{edge} +{share:.2f}" for edge, share in added.items())
    how = ["1. Bore half-way through the cut: half the sum of the diameters before and after. "
           "2. Stock on diameter: their difference. 3. Lay the ruler across; read the middle scale. 4. Add up the "
           f"share of metal and feed (table at the right) and that of the edge ({edges}); multiply the reading by "
           f"the sum, and by {back:.1f} for the back that bears on the oiled bore. 5. Compare with the bow."]
    worked = [f" (dashes). From 6.5 to 7 mm, cast tin bronze, {FEED.m:g} mm a turn, edge freshly ground. "
              f"Half-way {halfway:g}, stock {stock:g}: the ruler crosses at {words.number(torque, 2)} N·mm. "
              f"Times (1.0 + {added[EDGE]:.2f}), times {back:.1f}: about {words.number(allowed, 2)} N·mm. "
              f"With a pulley of {PULLEYS[0]} mm the bow gives more than "
              f"{words.number(bow_marks()[PULLEYS[0]][0], 2)} N·mm in nineteen cases of twenty. It turns."]
    shares = [[alloy, *(f"{force_per_width(alloy, Q(feed, 'mm')) / force_per_width():.2f}" for feed in OTHER_FEEDS)]
              for alloy in OTHER_ALLOYS]
    drawn = routes.reference_draws(alloy=ALLOY, edge=EDGE, n=DRAWS, seed=SEED)
    wrench = np.median(routes.wrench_torque(drawn).m_as("N*mm"))
    minute, half_hour = (np.median(routes.bow_torque(draws=drawn, pulley=Q(40, "mm"), minutes=m).m_as("N*m"))
                         for m in ("1 min", "30 min"))
    kc11, exponent = _middle("alloys", ALLOY, "kc11").m_as("MPa"), _middle("alloys", ALLOY, "exponent").m_as("")
    valid = ["The middle scale is the cut alone, without friction and without the edge's "
             f"ploughing: M = kc·f·s·B/4 (Kienzle's rule), {ALLOY}, kc11 {words.number(kc11, 2)} MPa, exponent "
             f"{exponent:.2f}, {FEED.m:g} mm a turn, a D-bit with one square lip. The shares add friction and "
             "ploughing. The rule is fitted to chips of 0.05 to 2.5 mm and used down to 0.001 mm, for hand cuts are "
             f"thinner. Nine draws in ten lie between {low:.1f} and {high:.1f} times the result worked by hand "
             f"({words.draws(DRAWS, SEED)}, medians and ranges of the reference tables). Fluted reamers and tapers "
             "need more torque: not this chart. Bow: the arm's pull over half an hour, less the drag of the centres; "
             f"for a minute it gives about {minute / half_hour:.1f} times as much. Print at 100 %; a reading is good "
             "to a third of a millimetre on paper."]
    story = [
        *heading("What torque does a D-bit need?",
                 "A ruler laid from the stock to the bore crosses the torque. No laptop is needed."),
        at(12, 269, 63, paragraph([strong("How to use it. "), *how], 8.5, after=1.5),
           paragraph([strong("Example"), *worked], 8.5)),
        at(134, 269, 65, paragraph("share of metal and feed", 8.5, BOLD),
           ruled(("feed, mm a turn", *(f"{feed:g}" for feed in OTHER_FEEDS)), shares, (31, *[8.4] * len(OTHER_FEEDS)),
                 size=8, head_size=8), gap(1.5),
           paragraph(f"Two hands on a wrench, gently, give about {words.number(wrench, 1)} N·mm: far above the top of "
                     "the scale.", 8)),
        at(0, 297, 210, sketch([*_scale_marks(), *_bow_lines(), *_example_marks()], 210, 297, alt=(
            f"three upright scales: stock on diameter, {STOCKS[0]:g} to {STOCKS[1]:g} mm; torque of the cut alone, "
            f"{TORQUES[0]:g} to {TORQUES[1]:g} N·mm, with what the bow gives by pulley beside it; bore, {BORES[0]:g} "
            f"to {BORES[1]:g} mm"))),
        at(12, 36.5, 186, paragraph([strong("Range of validity. "), *valid], 8, lead=1.2))]
    return pdf("Nomogram: torque of a D-bit", "", story)


def _scale_marks():
    """The scales with their ticks, numbers and names, as marks of `paper.sketch`."""
    lengths, widths = (1.6, 2.8, 4.2), (0.09, 0.13, 0.2)   # mm, by rank
    for name, side, lines in (("stock", -1, ("stock on diameter", "mm")),
                              ("torque", -1, ("torque of the cut alone", "N·mm  (1000 = 1 N·m)")),
                              ("bore", 1, ("bore half-way", "through the cut, mm"))):
        scale = scales()[name]
        yield "line", scale.x, float(scale.at(scale.first)), scale.x, float(scale.at(scale.last)), 0.28
        for value, rank in ticks(name):
            y = float(scale.at(value))
            yield "line", scale.x, y, scale.x + side * lengths[rank], y, widths[rank]
            if rank == 2:
                yield "text", scale.x + side * 5.2, y - 1.05, f"{value:g}", 9, FONT, int(side < 0)
        for i, line in enumerate(lines):
            y = BOTTOM - 7.5 - 3.7 * i - (2.6 if name == "torque" else 0)
            yield "text", scale.x, y, line, 9, FONT if i else BOLD, 0.5


def _bow_lines():
    """What the bow gives, beside the torque."""
    torque = scales()["torque"]
    for i, (pulley, (low, mid, high)) in enumerate(bow_marks().items()):
        x = torque.x + 6 + 7.5 * i
        a, m, b = (float(torque.at(v)) for v in (max(low, torque.first), mid, min(high, torque.last)))
        yield "line", x, a, x, b, 0.5
        for y, half, width in ((a, 1.3, 0.28), (b, 1.3, 0.28), (m, 1.9, 0.7)):
            yield "line", x - half, y, x + half, y, width
        yield "text", x, b + 1.4, str(pulley), 9, BOLD, 0.5
    top = float(torque.at(min(torque.last, max(high for _, _, high in bow_marks().values()))))
    for i, line in enumerate(("bow's torque for", "half an hour, by", "pulley in mm:", "5 %, middle, 95 %")):
        yield "text", torque.x + 4.5, top + 18.2 - 3.6 * i, line, 8.5


def _example_marks():
    """The ruler of the example, and where it meets the scales."""
    halfway, stock, torque, _ = example()
    met = [(scales()[name].x, float(scales()[name].at(value)))
           for name, value in (("stock", stock), ("torque", torque), ("bore", halfway))]
    yield "line", *met[0], *met[2], 0.16, True
    for x, y in met:
        yield "circle", x, y, 0.9
