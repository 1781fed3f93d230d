"""Tools and their passes: the torque of a cut, the least feed at which the edge still bites, and how the edge wears."""
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base.units import Q, read
from kit.estimates import cutting, edges
from kit.operations.means import FORGED

SHANKS = tuple(cutting.SECTIONS)
BIT = "half-round bit"
SPARE = {BIT: "spare", "fluted reamer": "margin"}   # what stoning uses up before a tool cuts under size


@dataclass(frozen=True)
class Tool:
    """A cutting tool: its kind (cutting.TOOLS) and the shape its maker gave it. shank_ratio: shank over cutting
    diameter. point: of a two-lip drill, a name in data/reference/drill_points.csv."""
    kind: str
    teeth: int = 6
    lead_angle: Q = read("45 deg")
    point_angle: Q = read("118 deg")
    shank: str = "round"
    shank_ratio: float = 0.8
    point: str = FORGED


@dataclass(frozen=True)
class Passes:
    """Steps that one kind of tool does, side by side: lengths of shape (passes, 1) that meet draws of shape (n,), or
    settings of shape (settings, passes, n)."""
    steps: tuple

    @cached_property
    def tool(self):
        return self.steps[0].tool

    def column(self, name):
        return Q(np.array([[getattr(s, name).m_as("mm")] for s in self.steps]), "mm")

    @cached_property
    def diameter(self):
        return self.column("diameter")

    @cached_property
    def radial_stock(self):
        return (self.diameter - self.column("before")) / 2

    @cached_property
    def shape(self):
        """The arguments by which cutting.py knows the tool and its cut."""
        t = self.tool
        return dict(tool=t.kind, diameter=self.diameter, stock=self.radial_stock, teeth=t.teeth,
                    lead_angle=t.lead_angle, point_angle=t.point_angle)

    @cached_property
    def feed_per_chip(self):
        return cutting.engagement(**self.shape).feed_per_chip

    def load(self, draws, radius=None):
        """What the torque depends on besides the chip thickness: arguments for cutting.pass_torque and
        cutting.pass_chip. radius: of the edge as worn; fresh where None."""
        load = dict(kc11=draws["alloy.kc11"], exponent=draws["alloy.exponent"],
                    edge_force=draws["edge.edge_force"] * _dulled(draws, radius))
        if self.tool.kind == "half-round bit":
            load["guide_friction"] = draws["guide.friction"]
        if self.tool.kind in ("fluted reamer", "polygon broach"):
            load["friction_torque"] = cutting.margin_friction_torque(
                friction=draws["guide.friction"], pressure=draws["margins.pressure"],
                margin_width=draws["margins.width"], contact_length=draws["margins.length"], teeth=self.tool.teeth,
                diameter=self.diameter)
        if self.tool.kind == "two-lip drill":
            load["rake_factor"] = draws[f"point.{self.tool.point}.rake_factor"]
        if self.tool.kind == "polygon broach":
            load["rake_factor"] = draws["model.broach_rake"]
        return load

    def least_feed(self, draws, radius=None):
        """Feed a turn at which the edge only just bites: the minimum chip thickness on every edge."""
        return least_chip(draws, radius) * self.feed_per_chip

    def _factor(self, draws):
        factor = draws["model.cutting_torque"]
        return factor * draws["model.drill_chisel_and_margins"] if self.tool.kind == "two-lip drill" else factor

    def torque(self, draws, chip=None, radius=None):
        """Torque of each pass, shape (passes, n) or (settings, passes, n), at a chip thickness; at the minimum one
        where None. radius: of the edge as worn."""
        chip = least_chip(draws, radius) if chip is None else chip
        return self._factor(draws) * cutting.pass_torque(chip=chip, **self.shape, **self.load(draws, radius))

    def feed_for(self, torque, draws):
        """Feed a turn that a drive of this torque can take, 0 where it cannot even turn the edges against friction."""
        chip = cutting.pass_chip(torque=torque / self._factor(draws), **self.shape, **self.load(draws))
        return chip * self.feed_per_chip

    def cut_length(self, length, feed):
        """Way of the edge through the metal, over a hole of this length."""
        return edges.cut_length(diameter=self.diameter, turns=Q((length / feed).m_as(""), "turn"))


def least_chip(draws, radius=None):
    """Minimum chip thickness, at which a chip still forms: a share of the edge's radius."""
    return draws["edge.least_chip_ratio"] * (draws["edge.edge_radius"] if radius is None else radius)


def _dulled(draws, radius):
    """How many times the fresh edge's radius the edge has; what it ploughs grows with that."""
    return 1.0 if radius is None else (radius / draws["edge.edge_radius"]).to("")


def worn_radius(draws, cut_length):
    """Radius of an edge that has cut so far: it loses what wear takes, and is stoned when it has lost what the maker
    lets it lose."""
    lost = edges.recession(coefficient=draws["edge_life.wear_coefficient"], cut_length=cut_length,
                           work_hardness=chip_hardness(draws), tool_hardness=draws["edge_metal.hardness"])
    return draws["edge.edge_radius"] + np.minimum(lost, draws["edge_life.allowed_recession"])


def to_stone(draws):
    """Way of an edge through the metal between one stoning and the next."""
    return edges.length_to_stone(coefficient=draws["edge_life.wear_coefficient"],
                                 allowed=draws["edge_life.allowed_recession"], work_hardness=chip_hardness(draws),
                                 tool_hardness=draws["edge_metal.hardness"])


def chip_hardness(draws):
    """Hardness of the metal at the edge: a chip is worked to the full, whatever the bar was; never below the bar's."""
    return np.maximum(draws["chip.hardness"], draws["alloy.hardness"])


def stonings_in(draws, kind):
    """How often a tool of this kind can go to the stone before it cuts under size; without end for a drill, which keeps
    its diameter, and for a tapered broach, which only goes deeper."""
    if kind not in SPARE:
        return Q(np.full((1, 1), np.inf), "")
    return (draws[f"sharpened.{kind}.{SPARE[kind]}"] / draws[f"sharpened.{kind}.stoned"]).to("")


def same_tool(step):
    """What steps that one and the same tool can do have in common: kind, and diameter to a hundredth of a mm."""
    return step.tool.kind, round(step.diameter.m_as("mm"), 2)
