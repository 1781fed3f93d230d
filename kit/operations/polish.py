"""Polishing: the outside rubbed with a fine grain on leather while the bow turns it."""
import numpy as np

from kit.base.units import Q
from kit.operations.lap import removal_rate
from kit.operations.means import shared
from kit.operations.operation import RUBBING, asks, stack
from kit.operations.steps import DRIVES, Step, passed_on
from kit.operations.turn import Outside


class Polish(Outside):
    """A leather charged with grain, pressed round the turning work and moved along. It takes off the marks of the tool
    before it, and no form: what it takes, the wall has less."""
    keys = {"abrasive": str, "hours": "h > 0", "drive": list(DRIVES), "held_by": str}
    needs = frozenset({"abrasive", "hours"})
    trues = False
    work, read = RUBBING, ("minutes", "strokes")

    @classmethod
    def takes(cls, entry, alloy):
        yield from super().takes(entry, alloy)
        yield "forming", "polished", "polished", "=polished"

    @staticmethod
    def expand(entry, place, sizes):
        return [Step("polish", f"polish with {entry['abrasive']}", sizes.round, sizes.round, **passed_on(entry))]

    @shared
    def taken(self):
        """What it takes off the radius: the marks that it finds, or as much of them as the hours allow."""
        return np.minimum(self.found.outside_roughness, self.removed)

    @property
    def leaves(self):
        found = self.found
        return found.then(outside_lost=lambda: found.outside_lost + self.taken,
                          outside_roughness=lambda: found.outside_roughness - self.taken)

    @property
    def pressure(self):
        """Of the leather, half round the work."""
        means = self.means
        return (means["polished.force"] / (means["polished.width"] * self.step.diameter)).to("kPa")

    def torque_at(self, _):
        return stack([(self.means["grain.friction"] * np.pi / 2 * self.means["polished.force"]
                       * self.step.diameter / 2).to("N*m")], "N*m")

    def given_at(self, _):
        return self.means.steady_torque

    @shared
    def removed(self):
        """What it takes off the radius in the hours granted, over the whole length."""
        means = self.means
        share = np.minimum(means["polished.width"] / self.worked, 1) / 2   # of the turns, under half the girth
        cut = self.found.hardness * means["skin.hardening"]   # the outside was turned or filed before
        rate = removal_rate(means, self.step, self.pressure, cut) * means["drive.attended"]
        return (rate * share * self.step.hours).to("um")

    @shared
    def hours(self):
        share = np.minimum((self.found.outside_roughness / self.removed).m_as(""), 1.0)
        return [Q(share * self.step.hours.m_as("h"), "h")]

    @property
    def working(self):
        return [hours * self.means["drive.attended"] for hours in self.hours]

    @asks("polished", "um")
    def polish_asked(self, _):
        """Depth of the marks that the tool before left on the outside, against what the leather takes off in the hours
        granted."""
        return stack([self.found.outside_roughness], "um"), self.removed
