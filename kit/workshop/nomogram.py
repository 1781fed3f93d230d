"""A nomogram for the torque of a D-bit, beside what the bow gives: a chart for a ruler.

Laid from the stock to the bore, the ruler crosses the torque. The scales are placed by formula and drawn from the same
numbers, so that what is tested is what is printed.
"""
import functools
import io
import math
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, words
from kit.base.units import Q
from kit.workshop.paper import BOLD, FONT, fonts
from kit.study import routes
from kit.workshop.paper import A4, MM

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


def sheet():
    """Torque of a D-bit from bore and stock with a ruler, beside what the bow gives."""
    from reportlab.pdfgen.canvas import Canvas
    fonts()
    held = io.BytesIO()
    canvas = Canvas(held, pagesize=A4, invariant=1, lang="en", initialFontName=FONT)
    canvas.setAuthor("")
    canvas.setCreator("")
    canvas.setTitle("Nomogram: torque of a D-bit")
    canvas.setSubject("handout of a workshop session")
    canvas.scale(MM, MM)
    canvas.setLineCap(0)
    _draw_scales(canvas)
    _draw_bow(canvas)
    _draw_words(canvas)
    canvas.showPage()
    canvas.save()
    return held.getvalue()


def _write(canvas, x, y, text, size=8.5, font=FONT, align="left"):
    canvas.setFont(font, size / MM)   # the page is scaled to mm
    {"left": canvas.drawString, "right": canvas.drawRightString, "centre": canvas.drawCentredString}[align](x, y, text)


def _draw_scales(canvas):
    lengths, widths = (1.6, 2.8, 4.2), (0.09, 0.13, 0.2)   # mm, by rank
    for name, side in (("stock", -1), ("torque", -1), ("bore", 1)):
        scale = scales()[name]
        canvas.setLineWidth(0.28)
        canvas.line(scale.x, scale.at(scale.first), scale.x, scale.at(scale.last))
        for value, rank in ticks(name):
            y = float(scale.at(value))
            canvas.setLineWidth(widths[rank])
            canvas.line(scale.x, y, scale.x + side * lengths[rank], y)
            if rank == 2:
                _write(canvas, scale.x + side * 5.2, y - 1.05, f"{value:g}", 9, align="right" if side < 0 else "left")
    for name, lines in (("stock", ("stock on diameter", "mm")),
                        ("torque", ("torque of the cut alone", "N·mm  (1000 = 1 N·m)")),
                        ("bore", ("bore half-way", "through the cut, mm"))):
        scale = scales()[name]
        for i, line in enumerate(lines):
            _write(canvas, scale.x, BOTTOM - 7.5 - 3.7 * i - (2.6 if name == "torque" else 0), line, 9,
                   BOLD if i == 0 else FONT, align="centre")


def _draw_bow(canvas):
    torque = scales()["torque"]
    for i, (pulley, (low, mid, high)) in enumerate(bow_marks().items()):
        x = torque.x + 6 + 7.5 * i
        a, m, b = (float(torque.at(v)) for v in (max(low, torque.first), mid, min(high, torque.last)))
        canvas.setLineWidth(0.5)
        canvas.line(x, a, x, b)
        canvas.setLineWidth(0.28)
        canvas.line(x - 1.3, a, x + 1.3, a)
        canvas.line(x - 1.3, b, x + 1.3, b)
        canvas.setLineWidth(0.7)
        canvas.line(x - 1.9, m, x + 1.9, m)
        _write(canvas, x, b + 1.4, str(pulley), 9, BOLD, align="centre")
    top = float(torque.at(min(torque.last, max(high for _, _, high in bow_marks().values()))))
    for i, line in enumerate(("bow's torque for", "half an hour, by", "pulley in mm:", "5 %, middle, 95 %")):
        _write(canvas, torque.x + 4.5, top + 18.2 - 3.6 * i, line, 8.5)


def _paragraph(canvas, x, top, width, text, size=8.5, font=FONT):
    """Draws marked text in a column on the page that is scaled to mm; returns the height where it ends."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph
    paragraph = Paragraph(text, ParagraphStyle("kit", fontName=font, fontSize=size, leading=1.28 * size))
    _, high = paragraph.wrap(width * MM, 1000)
    canvas.saveState()
    canvas.scale(1 / MM, 1 / MM)
    paragraph.drawOn(canvas, x * MM, top * MM - high)
    canvas.restoreState()
    return top - high / MM


def example():
    """The example worked on the sheet, from 6.5 to 7 mm in the base alloy and feed: (bore half-way in mm, stock in mm,
    torque of the cut in N*mm, that with friction and edge)."""
    added, back, _ = _allowances()
    before, after = 6.5, 7.0
    torque = force_per_width() * (after - before) * (before + after) / 2 / 4
    return (before + after) / 2, after - before, torque, torque * (1 + added[EDGE]) * back


def _draw_words(canvas):
    added, back, (low, high) = _allowances()
    halfway, stock, torque, allowed = example()
    scale = scales()
    canvas.setLineWidth(0.16)
    canvas.setDash(1.2, 0.9)
    ends = [(scale["stock"].x, float(scale["stock"].at(stock))), (scale["bore"].x, float(scale["bore"].at(halfway)))]
    canvas.line(*ends[0], *ends[1])
    canvas.setDash()
    for x, y in (*ends, (scale["torque"].x, float(scale["torque"].at(torque)))):
        canvas.circle(x, y, 0.9, stroke=1, fill=0)
    _write(canvas, 12, 281, "What torque does a D-bit need?", 16, BOLD)
    _write(canvas, 12, 275.5, "A ruler laid from the stock to the bore crosses the torque. No laptop is needed.", 10)
    edges = ", ".join(f"{edge} +{share:.2f}" for edge, share in added.items())
    y = _paragraph(canvas, 12, 271, 63, (
        "<b>How to use it.</b> 1. Bore half-way through the cut: half the sum of the diameters before and after. "
        "2. Stock on diameter: their difference. 3. Lay the ruler across; read the middle scale. 4. Add up the share "
        f"of metal and feed (table at the right) and that of the edge ({edges}); multiply the reading by the sum, and "
        f"by {back:.1f} for the back that bears on the oiled bore. 5. Compare with the bow."))
    bow = bow_marks()[PULLEYS[0]]
    _paragraph(canvas, 12, y - 1.5, 63, (
        f"<b>Example</b> (dashes). From 6.5 to 7 mm, cast tin bronze, {FEED.m:g} mm a turn, edge freshly ground. "
        f"Half-way {halfway:g}, stock {stock:g}: the ruler crosses at {words.number(torque, 2)} N·mm. "
        f"Times (1.0 + {added[EDGE]:.2f}), times {back:.1f}: about {words.number(allowed, 2)} N·mm. "
        f"With a pulley of {PULLEYS[0]} mm the bow gives more than {words.number(bow[0], 2)} N·mm in nineteen cases of "
        "twenty. It turns."))
    x, y = 134, 267
    _write(canvas, x, y, "share of metal and feed", 8.5, BOLD)
    _write(canvas, x, y - 4.4, "feed, mm a turn", 8)
    columns = [x + 37 + 9 * i for i in range(len(OTHER_FEEDS))]
    for at, feed in zip(columns, OTHER_FEEDS):
        _write(canvas, at, y - 4.4, f"{feed:g}", 8, BOLD, align="right")
    canvas.setLineWidth(0.2)
    canvas.line(x, y - 5.8, columns[-1] + 0.5, y - 5.8)
    for row, alloy in enumerate(OTHER_ALLOYS):
        _write(canvas, x, y - 10 - 4.4 * row, alloy, 8)
        for at, feed in zip(columns, OTHER_FEEDS):
            _write(canvas, at, y - 10 - 4.4 * row, f"{force_per_width(alloy, Q(feed, 'mm')) / force_per_width():.2f}",
                   8, align="right")
    drawn = routes.reference_draws(alloy=ALLOY, edge=EDGE, n=DRAWS, seed=SEED)
    wrench = np.median(routes.wrench_torque(drawn).m_as("N*mm"))
    minute, half_hour = (np.median(routes.bow_torque(draws=drawn, pulley=Q(40, "mm"), minutes=m).m_as("N*m"))
                         for m in ("1 min", "30 min"))
    kc11, exponent = _middle("alloys", ALLOY, "kc11").m_as("MPa"), _middle("alloys", ALLOY, "exponent").m_as("")
    _paragraph(canvas, x, y - 34, 62, (f"Two hands on a wrench, gently, give about {words.number(wrench, 1)} N·mm: far "
                                       "above the top of the scale."), 8)
    _paragraph(canvas, 12, 35, 186, (
        "<b>Range of validity.</b> The middle scale is the cut alone, without friction and without the edge's "
        f"ploughing: M = kc·f·s·B/4 (Kienzle's rule), {ALLOY}, kc11 {words.number(kc11, 2)} MPa, exponent "
        f"{exponent:.2f}, {FEED.m:g} mm a turn, a D-bit with one square lip. The shares add friction and ploughing. "
        "The rule is fitted to chips of 0.05 to 2.5 mm and used down to 0.001 mm, for hand cuts are "
        "thinner. Nine draws in ten lie between "
        f"{low:.1f} and {high:.1f} times the result worked by hand ({words.draws(DRAWS, SEED)}, medians and ranges of "
        "the reference tables). Fluted reamers and tapers need more torque: not this chart. Bow: the arm's pull over "
        "half an hour, less the drag of the centres; for a minute it gives about "
        f"{minute / half_hour:.1f} times as much. Print at 100 %; a reading is good to a third of a millimetre on "
        "paper."), 8)
