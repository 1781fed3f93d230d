"""Reaming: a hole opened by D-bit, fluted reamer or broach, by bow or by two hands on a wrench."""
import numpy as np

from kit.base.units import Q
from kit.operations.cut import Cut
from kit.operations.means import shared, wrench_torque
from kit.operations.operation import Outcome, asks


class Ream(Cut):
    """A hole reamed: it follows the hole that was there."""

    @shared
    def by_hand(self):
        """Whether two hands on a wrench do it, a row a pass: where the step says so, or allows it and the bow fails."""
        allowed = np.array([[step.drive != "bow"] for step in self.steps])
        only = np.array([[step.drive == "hand"] for step in self.steps])
        fails = np.minimum(self.given, self.means.slip_torque) < self.torque
        return allowed & (only | fails)

    def bowed_torque(self):
        return Q(np.where(self.by_hand, 0, self.torque.m), self.torque.units)

    @asks("reaming pass")
    def pass_asked(self):
        """Torque of each pass against the bow; where that fails and the step allows it, against two hands on a
        wrench."""
        hand, given = self.by_hand, self.given
        if hand.any():
            given = Q(np.where(hand, wrench_torque(self.means).m_as("N*m"), given.m_as("N*m")), "N*m")
        return Outcome(self.torque, given, "N*m", self.places, by_hand=hand.any(axis=0))
