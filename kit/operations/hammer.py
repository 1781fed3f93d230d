"""Hammering out: a short thick tube beaten thinner on a mandrel, annealed in turns."""
import numpy as np

from kit.base.units import Q
from kit.estimates import annealing
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import asks, stack
from kit.operations.steps import Step, passed_on
from kit.operations.thinned import Thinned, sizes_after


class Hammer(Thinned):
    """Blows all round on a mandrel, until bore and outside are those of the step. As often as the metal has taken what
    it bears it is annealed; after the last heat some work is left in it. The wall is uneven by the blows."""
    keys = Thinned.keys | {"at_once": range(1, 200)}
    table = "hammered"
    caution = fire.CAUTION + " Hammering deafens slowly: ears covered."

    @classmethod
    def takes(cls, entry, alloy):
        yield from fire.rows(alloy)
        yield "forming", "hammered", "hammered", "=hammered"
        yield "forming", "sheet", "sheet", "=sheet"

    @staticmethod
    def expand(entry, place, sizes):
        found = {"before": sizes.hole, "outside_before": sizes.round}
        bore, outside = sizes_after(entry, place, sizes)
        passed = {key: value for key, value in passed_on(entry).items() if key != "outside"}
        return [Step("hammer", f"hammer out to {outside.m_as('mm'):.2f} mm", diameter=bore, outside=outside, **found,
                     **passed)]

    @shared
    def heats(self):
        """How often it is annealed on the way."""
        total = (self.found.strain + self.strain).m
        return np.maximum(np.ceil(total / self.means["sheet.between"].m - 1e-9) - 1, 0)

    @shared
    def left(self):
        """Cold work that is in it at the end."""
        return Q((self.found.strain + self.strain).m - self.heats * self.means["sheet.between"].m, "")

    def hardened(self, found, name):
        """A strength or hardness at the end: of the soft metal with the work since its last heat, or, where it never
        was in the fire, of what was found with all of it."""
        exponent = self.means["metal.exponent"]
        cold = found * annealing.hardening(strain=self.strain, earlier=self.found.strain, exponent=exponent)
        heated = fire.soft(self.means, name) * annealing.hardening(strain=self.left, exponent=exponent)
        return Q(np.where(self.heats > 0, heated.m_as(cold.units), cold.m), cold.units)

    @property
    def leaves(self):
        found, means, step = self.found, self.means, self.step
        wall = (step.outside - step.diameter) / 2
        return super().leaves.then(
            outside_form=lambda: means["hammered.facets"], sprung=lambda: Q(0.0, "N/mm"),
            eccentricity=lambda: ((self.thinner * found.eccentricity)**2 + (means["hammered.spread"] * wall)**2)**0.5,
            hardness=lambda: self.hardened(found.hardness, "hardness"),
            strength=lambda: self.hardened(found.strength, "yield_strength"), strain=lambda: self.left)

    @property
    def hours(self):
        of, step = self.means, self.step
        area = np.pi * (step.diameter + step.outside) / 2 * self.tube.length
        blows = (of["hammered.rate"] * area * self.strain).to("h")
        heat = (of["hearth.minutes"] / step.at_once + of["hearth.pickling"]).to("h")
        return [blows + self.heats * heat]

    @property
    def fuel(self):
        return [self.heats * self.means["hearth.fuel"] / self.step.at_once]

    @asks("cracking", "", felt=False)
    def cracking_asked(self, _):
        """Cold work from one heat to the next, against that at which such metal tears."""
        asked = np.minimum(self.means["sheet.between"].m, (self.found.strain + self.strain).m)
        return stack([Q(asked, "")], ""), Q(-np.log1p(-self.means["metal.soft_reduction"].m), "")
