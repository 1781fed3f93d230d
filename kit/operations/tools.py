"""Tools and their passes: the torque of a cut, and the least feed at which the edge still bites."""
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base.units import Q, read
from kit.estimates import cutting

SHANKS = tuple(cutting.SECTIONS)


@dataclass(frozen=True)
class Tool:
    """A cutting tool: its kind (cutting.TOOLS) and the shape its maker gave it. shank_ratio: shank over cutting
    diameter."""
    kind: str
    teeth: int = 6
    lead_angle: Q = read("45 deg")
    point_angle: Q = read("118 deg")
    shank: str = "round"
    shank_ratio: float = 0.8


@dataclass(frozen=True)
class Passes:
    """Steps that one kind of tool does, side by side: lengths of shape (passes, 1) that meet draws of shape (n,)."""
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
    def shape(self):
        """The arguments by which cutting.py knows the tool and its cut."""
        t, radial_stock = self.tool, (self.diameter - self.column("before")) / 2
        return dict(tool=t.kind, diameter=self.diameter, stock=radial_stock, teeth=t.teeth, lead_angle=t.lead_angle,
                    point_angle=t.point_angle)

    def load(self, draws):
        """What the torque depends on besides the chip thickness: arguments for cutting.pass_torque and
        cutting.pass_chip."""
        load = dict(kc11=draws["alloy.kc11"], exponent=draws["alloy.exponent"], edge_force=draws["edge.edge_force"])
        if self.tool.kind == "half-round bit":
            load["guide_friction"] = draws["guide.friction"]
        if self.tool.kind in ("fluted reamer", "polygon broach"):
            load["friction_torque"] = cutting.margin_friction_torque(
                friction=draws["guide.friction"], pressure=draws["margins.pressure"],
                                                                     margin_width=draws["margins.width"],
                contact_length=draws["margins.length"], teeth=self.tool.teeth, diameter=self.diameter)
        if self.tool.kind == "polygon broach":
            load["rake_factor"] = draws["model.broach_rake"]
        return load

    def least_feed(self, draws):
        """Feed a turn at which the edge only just bites: the minimum chip thickness on every edge."""
        return least_chip(draws) * cutting.engagement(**self.shape).feed_per_chip

    def torque(self, draws, chip=None):
        """Torque of each pass, shape (passes, n), at a chip thickness, or at the minimum one where None."""
        factor = draws["model.cutting_torque"]
        if self.tool.kind == "two-lip drill":
            factor = factor * draws["model.drill_chisel_and_margins"]
        chip = least_chip(draws) if chip is None else chip
        return factor * cutting.pass_torque(chip=chip, **self.shape, **self.load(draws))

    def feed_for(self, torque, draws):
        """Feed a turn that a drive of this torque can take, 0 where it cannot even turn the edges against friction."""
        factor = draws["model.cutting_torque"]
        if self.tool.kind == "two-lip drill":
            factor = factor * draws["model.drill_chisel_and_margins"]
        chip = cutting.pass_chip(torque=torque / factor, **self.shape, **self.load(draws))
        return chip * cutting.engagement(**self.shape).feed_per_chip


def least_chip(draws):
    """Minimum chip thickness, at which a chip still forms: a share of the edge's radius."""
    return draws["edge.least_chip_ratio"] * draws["edge.edge_radius"]
