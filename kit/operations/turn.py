"""Turning: the outside taken down with a pointed tool, between centres or on an arbor in the finished bore."""
import numpy as np

from kit.estimates import cutting
from kit.operations.means import shared
from kit.operations.operation import Bowed, Outcome, asks, stack
from kit.operations.state import trued_on_arbor
from kit.operations.steps import DRIVES, reduced


class Outside(Bowed):
    """What turning and filing share: the outside, with the work turned by the bow."""
    keys = {"to": str, "drive": list(DRIVES)}
    needs = frozenset({"to"})
    expand = staticmethod(reduced)

    @property
    def leaves(self):
        found, means = self.found, self.means
        return found.then(
            outside=lambda: self.steps[-1].diameter,
            eccentricity=lambda: trued_on_arbor(self.tube, means) if means.bore_first else found.eccentricity)

    @shared
    def torque(self):
        """Of each step, at the size before it, where it is greatest."""
        return stack([self.force(step) * step.before / 2 for step in self.steps], "N*m")

    def force(self, step):
        """Tangential force of the tool."""
        raise NotImplementedError

    @asks("turning the outside")
    def torque_asked(self):
        """Tangential force of tool or file times radius, against the torque that the bow keeps up."""
        return Outcome(self.torque, self.means.steady_torque, "N*m", self.places)


class Turn(Outside):
    """The outside turned, cut by cut."""
    keys = Outside.keys | {"depth": "mm > 0", "feed": "mm/turn > 0"}
    needs = Outside.needs | {"depth", "feed"}

    def force(self, step):
        means = self.means
        chip = cutting.turning_force(depth=step.depth, feed=step.feed, kc11=means["alloy.kc11"],
                                     exponent=means["alloy.exponent"])
        return means["model.cutting_torque"] * (chip + means["edge.edge_force"] * step.depth)

    @property
    def hours(self):
        means = self.means
        cuts = [np.ceil(((s.before - s.diameter) / 2 / s.depth).m_as("") - 1e-9) for s in self.steps]
        return [n * means.minutes(self.tube.length, s.feed) / means["drive.attended"]
                for n, s in zip(cuts, self.steps)]
