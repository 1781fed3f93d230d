"""Turning: the outside taken down with a pointed tool, between centres or on an arbor in the finished bore."""
import numpy as np

from kit.base.units import Q
from kit.estimates import cutting, edges, form, walls
from kit.operations import hold
from kit.operations.fed import Fed
from kit.operations.means import shared
from kit.operations.operation import Bowed, asks, once
from kit.operations.state import STRAIGHT, trued_on_arbor
from kit.operations.steps import DRIVES, reduced
from kit.operations.tools import least_chip, to_stone, worn_radius


class Outside(Bowed):
    """What turning and filing share: the outside, with the work turned by the bow."""
    marks = "turned"   # whose roughness it leaves
    keys = {"to": str, "drive": list(DRIVES), "held_by": str}
    needs = frozenset({"to"})
    work, read = "Turning and filing", ("minutes", "strokes", "measured_mm")
    holds, holds_shaft = hold.OF_OUTSIDE, hold.OF_SHAFT
    trues = True
    expand = staticmethod(reduced)

    @property
    def leaves(self):
        found, means = self.found, self.means
        return found.then(
            outside=lambda: self.steps[-1].diameter, outside_form=lambda: self.form, outside_lost=lambda: STRAIGHT,
            outside_roughness=lambda: means[f"{self.marks}.roughness"],
            eccentricity=lambda: (trued_on_arbor(means, found.bow) if means.bore_first and not self.tube.solid else
                                  found.eccentricity))

    @property
    def form(self):
        """Form error that it leaves, on diameter."""
        raise NotImplementedError

    @property
    def held_diameter(self):
        return self.tube.outside if self.tube.solid else self.tube.bore

    @shared
    def hold_torque(self):
        """Outside first, and of a shaft between centres: it is driven at its end, and holds whatever the tool asks."""
        driven = self.held_by == hold.CENTRES if self.tube.solid else not self.means.bore_first
        return Q(np.full((1, 1), np.inf), "N*m") if driven else super().hold_torque

    @asks("turning the outside", "N*m")
    def torque_asked(self, feed):
        """Tangential force of tool or file times radius, against the torque that the bow keeps up."""
        return self.torque_at(feed), self.given_at(feed)

    def given_at(self, feed):
        """Torque that the bow keeps up for as long as the step takes."""
        raise NotImplementedError


class Turn(Fed, Outside):
    """The outside turned, cut by cut."""
    keys = Outside.keys | Fed.keys | {"depth": "mm > 0", "spring_cuts": range(0, 20)}
    needs = Outside.needs | {"depth", "feed"}
    read, by_edge = ("minutes", "strokes", "pull_N", "measured_mm"), True

    def least_feed(self, radius):
        return least_chip(self.means, radius)

    @once
    def worn(self, feed):
        """Radius of the edge at the end of one cut over the length, or when it goes back to the stone."""
        turns = Q((self.worked / feed).m_as(""), "turn")
        return worn_radius(self.means, edges.cut_length(diameter=self.column("before"), turns=turns))

    @once
    def force_at(self, feed):
        """Tangential force of the tool."""
        means, depth = self.means, self.column("depth")
        dulled = (self.worn(feed) / means["edge.edge_radius"]).to("")
        chip = cutting.turning_force(depth=depth, feed=feed, kc11=means["alloy.kc11"], exponent=means["alloy.exponent"])
        return means["model.cutting_torque"] * (chip + means["edge.edge_force"] * dulled * depth)

    @once
    def torque_at(self, feed):
        """Of each step, at the size before it, where it is greatest."""
        return (self.force_at(feed) * self.column("before") / 2).to("N*m")

    def given_at(self, feed):
        return self.means.bow_torque(self.means.minutes(self.worked, feed))

    @property
    def cuts(self):
        return [int(np.ceil(((s.before - s.diameter) / 2 / s.depth).m_as("") - 1e-9)) + (s.spring_cuts or 0)
                for s in self.steps]

    @shared
    def regrinds(self):
        """How often the tool goes to the stone in each step, all its cuts together."""
        way = edges.cut_length(diameter=self.column("before"),
                               turns=Q((self.worked / self.setting).m_as(""), "turn")) * np.array([self.cuts]).T
        return np.floor(edges.regrinds(cut_length=way, length_to_stone=to_stone(self.means)))

    @property
    def form(self):
        """The turner's own, and what the slender work gave way under the tool, less what spring cuts took of it."""
        means, last = self.means, self.steps[-1]
        push = means["hand.tool_push"]
        sag = walls.sag(force=push, length=self.tube.length, diameter=last.diameter, modulus=means["alloy.modulus"],
                        support="centres")
        left = form.spring_cut(depth=last.depth, cutting_stiffness=push / last.depth, work_stiffness=push / sag,
                               cuts=1 + (last.spring_cuts or 0))
        return means["turned.form_error"] + 2 * left

    @property
    def working(self):
        return [n * each for n, each in zip(self.cuts, self.means.minutes(self.worked, self.setting))]

    @property
    def hours(self):
        means = self.means
        return [minutes / means["drive.attended"] + means["edge_life.sharpening"] * often
                for minutes, often in zip(self.working, self.regrinds)]
