"""The sheet that a drawing is made on: millimetres of the page, sections hatched, dimensions, forces, words.

A drawing is laid out on a sheet of 150 mm, which is also a picture of 16:9 with room for one line above: 8 pt there are
36 of 1080 dots. A part is drawn through a `View`, which says where its zero lies and how many times its size it is.
"""

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, FancyArrowPatch, PathPatch, Polygon
from matplotlib.path import Path

from kit.base import words
from kit.publish.page import BLACK, BLUE, INK, MM, VERMILION, halo

WIDTH, HEIGHT = 150.5, 72.0  # mm of a drawing
BRONZE, IRON, WOOD, LEATHER, SKIN, OIL = "#F4E3BF", "#DCE3EA", "#EBDCC6", "#D9BFA0", "#F3D9C8", "#FBF6D8"
NICE = (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8)


def nice(most):
    """The largest plain number that is no more than `most`: 1, 1.5, 2, 2.5 ... times a power of ten."""
    power = 10.0 ** np.floor(np.log10(most))
    return max(step * power for step in NICE if step * power <= most * (1 + 1e-9))


def said_scale(scale):
    """How large a part is drawn: 'drawn 4 times its size', 'drawn at its size', 'drawn at 0.3 of its size'."""
    if abs(scale - 1) < 1e-6:
        return "drawn at its size"
    if scale > 1:
        return f"drawn {words.exact(scale)} times its size"
    return f"drawn at {words.exact(scale)} of its size"


def sized(value, unit):
    """A number to two digits with its unit, as a drawing has it beside what it shows."""
    return f"{words.number(value, 2)} {unit}"


def in_mm(value):
    """A size of the part, mm: to three digits from 1 mm on."""
    return f"{words.number(value, 2 if value < 1 else 3)} mm"


class View:
    """A part on the sheet: its zero at (x, y) mm of the page, drawn `scale` times its size, across `across` times."""

    def __init__(self, x, y, scale, across=None):
        self.x, self.y, self.scale, self.across = x, y, scale, scale if across is None else across

    def __call__(self, points):
        """Points in mm of the part as points in mm of the page."""
        points = np.asarray(points, float)
        return points * (self.scale, self.across) + (self.x, self.y)

    def at(self, x, y):
        """One point, as (x, y) of the page."""
        return self.x + self.scale * x, self.y + self.across * y

    def along(self, x):
        """How far along the page a point lies."""
        return self.x + self.scale * x


def box(left, right, low, high):
    """Corners of a rectangle."""
    return [(left, low), (right, low), (right, high), (left, high)]


class Sheet:
    """A figure whose coordinates are mm of the page, from its lower left corner."""

    def __init__(self, width=WIDTH, height=HEIGHT, plain=False):
        self.width, self.height, self.plain = width, height, plain   # plain: without what the kit expects
        self.figure = Figure(figsize=(width * MM, height * MM))
        self.ax = self.figure.add_axes((0, 0, 1, 1), xlim=(0, width), ylim=(0, height))
        self.ax.set_axis_off()

    # --- bodies
    def body(self, points, fill="white", lw=0.8, ec=BLACK, zorder=2, ls="-"):
        """An outline, filled."""
        patch = Polygon(
            np.asarray(points, float), closed=True, fc=fill, ec=ec, lw=lw, ls=ls, zorder=zorder, joinstyle="round"
        )
        return self.ax.add_patch(patch)

    def cut(self, points, fill=BRONZE, angle=45, pitch=1.3, lw=0.8, zorder=2):
        """A body in section: filled, and hatched at an angle, lines `pitch` mm apart."""
        patch = self.body(points, fill, lw, zorder=zorder)
        self._hatch(patch, np.asarray(points, float), angle, pitch, zorder)
        return patch

    def ring(self, centre, outer, inner, fill=BRONZE, angle=45, pitch=1.3, lw=0.8, zorder=2):
        """A ring in section; outer, inner: points of the two outlines, or radii."""
        turn = np.linspace(0, 2 * np.pi, 181)
        circle = np.column_stack([np.cos(turn), np.sin(turn)])
        outer, inner = (
            np.asarray(centre) + each * circle if np.ndim(each) == 0 else np.asarray(each) for each in (outer, inner)
        )
        codes = [Path.MOVETO, *[Path.LINETO] * (len(outer) - 2), Path.CLOSEPOLY]
        back = [Path.MOVETO, *[Path.LINETO] * (len(inner) - 2), Path.CLOSEPOLY]
        patch = self.ax.add_patch(
            PathPatch(Path(np.concatenate([outer, inner[::-1]]), codes + back), fc=fill, ec=BLACK, lw=lw, zorder=zorder)
        )
        self._hatch(patch, outer, angle, pitch, zorder)
        return patch

    def _hatch(self, patch, points, angle, pitch, zorder):
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        slope, middle = np.radians(angle), np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        along, over = np.array([np.cos(slope), np.sin(slope)]), np.array([-np.sin(slope), np.cos(slope)])
        far = np.hypot(x1 - x0, y1 - y0) / 2 + pitch
        # on one grid for the whole page, so that two walls of one part are hatched as one
        first = np.ceil((middle @ over - far) / pitch) * pitch - middle @ over
        ways = np.arange(first, far, pitch)
        lines = [(middle + way * over - far * along, middle + way * over + far * along) for way in ways]
        hatch = self.ax.add_collection(
            LineCollection(lines, colors="0.45", linewidths=0.35, zorder=zorder + 0.1), autolim=False
        )
        hatch.set_clip_path(patch)

    def circle(self, centre, radius, fill="white", lw=0.8, ec=BLACK, zorder=2, ls="-"):
        return self.ax.add_patch(Circle(centre, radius, fc=fill, ec=ec, lw=lw, zorder=zorder, ls=ls))

    # --- lines
    def line(self, points, lw=0.8, color=BLACK, ls="-", zorder=3):
        points = np.asarray(points, float)
        return self.ax.plot(
            points[:, 0],
            points[:, 1],
            color=color,
            lw=lw,
            ls=ls,
            zorder=zorder,
            solid_capstyle="round",
            solid_joinstyle="round",
        )[0]

    def edge(self, points):
        """An edge that cuts, drawn heavy."""
        return self.line(points, lw=2.6, color=VERMILION, zorder=6)

    def axis(self, points, lw=0.5):
        """A line of centres: long and short dashes."""
        return self.line(points, lw, "0.25", (0, (10, 2.5, 2, 2.5)), zorder=4)

    # --- words
    def say(self, text, at, ha="center", va="center", size=8, color=BLACK, weight="normal", zorder=9, rotation=0):
        """Words on the page, free of what lies under them."""
        return self.ax.text(
            *at,
            text,
            ha=ha,
            va=va,
            fontsize=size,
            color=INK.get(color, color),
            weight=weight,
            zorder=zorder,
            path_effects=halo(),
            rotation=rotation,
            linespacing=1.15,
        )

    def point(self, text, at, to, ha="left", va="center", color=BLACK, size=8):
        """Words at `at` with a thin line to what they name; it ends in a dot."""
        self.line([at, to], 0.4, INK.get(color, color), zorder=7)
        self.ax.plot(*to, "o", ms=2, color=INK.get(color, color), zorder=7)
        beside = {"left": 0.8, "right": -0.8, "center": 0}[ha]
        over = {"center": 0, "bottom": 0.6, "top": -0.6}[va]
        return self.say(text, (at[0] + beside, at[1] + over), ha, va, size, color)

    def across(self, x, low, high, text, beside=None, ha="left", color=BLACK, out=None, at=None):
        """A dimension up and down at x, from low to high; arrows stand outside where there is no room within. beside:
        (from, from) x of what is measured, for thin lines up to there. at: height of the words."""
        self._measured(
            (x, low),
            (x, high),
            color,
            [((b, y), (x + np.sign(x - b) * 1.2, y)) for b, y in zip(beside or (), (low, high))],
        )
        side = {"left": 1.2, "right": -1.2, "center": 0}[ha]
        return self.say(text, (x + side, (low + high) / 2 if at is None else at), ha, "center", color=color)

    def along(self, y, left, right, text, below=None, va="bottom", color=BLACK):
        """A dimension along the page at y. below: (y, y) of what is measured, for thin lines down or up to there."""
        self._measured(
            (left, y),
            (right, y),
            color,
            [((x, b), (x, y + np.sign(y - b) * 1.2)) for b, x in zip(below or (), (left, right))],
        )
        return self.say(
            text, ((left + right) / 2, y + {"bottom": 0.5, "top": -0.5, "center": 0}[va]), "center", va, color=color
        )

    def _measured(self, one, other, color, thin):
        ink = INK.get(color, color)
        for a, b in thin:
            self.line([a, b], 0.35, "0.35", zorder=5)
        (x0, y0), (x1, y1) = one, other
        long = np.hypot(x1 - x0, y1 - y0)
        if long >= 5:
            self._tip(one, other, ink, 0.5, 5, "<|-|>")
            return
        step = np.array([x1 - x0, y1 - y0]) / max(long, 1e-9)
        for tip, way in ((np.array(one), -step), (np.array(other), step)):  # from outside
            self._tip(tip + 4 * way, tip, ink, 0.5, 5)
        self.line([one, other], 0.5, ink, zorder=7)

    def _tip(self, one, other, color, lw, size, style="-|>", zorder=8):
        return self.ax.add_patch(
            FancyArrowPatch(
                tuple(one),
                tuple(other),
                arrowstyle=style,
                mutation_scale=size,
                lw=lw,
                color=color,
                shrinkA=0,
                shrinkB=0,
                zorder=zorder,
            )
        )

    # --- forces
    def force(self, one, other, text="", at=None, ha="center", va="center", color=BLUE):
        """A force from one place to another, with its words."""
        self._tip(one, other, color, 1.8, 11)
        if text:
            self.say(text, one if at is None else at, ha, va, color=color)

    def turn(self, centre, radius, start, end, color=BLUE, flat=1.0):
        """A turning, an arrow round a centre from `start` to `end`, degrees; flat: height over width, seen aslant."""
        self.ax.add_patch(
            Arc(
                centre,
                2 * radius,
                2 * radius * flat,
                theta1=min(start, end),
                theta2=max(start, end),
                lw=1.8,
                color=color,
                zorder=8,
            )
        )
        last = np.radians([end - np.sign(end - start) * 14, end])
        points = np.column_stack([np.cos(last) * radius, np.sin(last) * radius * flat]) + centre
        self._tip(points[0], points[1], color, 1.8, 11)

    def finger(self, tip, angle, scale, up=1, long=34.0, breadth=15.0):
        """A finger in side view that ends at `tip`, its axis at `angle` degrees, to scale; up: on which side the nail
        is."""
        r = breadth / 2 * scale
        bend = np.linspace(np.pi / 2, 3 * np.pi / 2, 40)
        shape = np.column_stack(
            [np.r_[long * scale, r * np.cos(bend) + r, long * scale], np.r_[r, r * np.sin(bend), -r]]
        )
        nail = np.column_stack(
            [
                np.linspace(0.35, 1.9, 20) * r,
                up * np.sqrt(np.maximum(r**2 - np.maximum(r - np.linspace(0.35, 1.9, 20) * r, 0) ** 2, 0)) * 0.86,
            ]
        )
        turn = np.radians(angle)
        spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        shape, nail = ((points - (0, 0)) @ spin.T + tip for points in (shape, nail))
        patch = self.body(shape, SKIN, 0.8, zorder=1.5)
        self.line(nail, 0.5, "0.35", zorder=1.6)
        return patch

    def bar(self, view, at, most=30):
        """A bar of a plain length of the part, and its words: what the eye needs where a page is shown at any size."""
        length = nice(most / view.scale)
        x, y = at
        end = x + length * view.scale
        self.line([(x, y), (end, y)], 1.6, BLACK, zorder=7).set_solid_capstyle("butt")
        for each in (x, end):
            self.line([(each, y - 0.8), (each, y + 0.8)], 0.7, zorder=7)
        self.say(f"{words.exact(length)} mm", (end + 1.2, y), "left")
