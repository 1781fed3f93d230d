"""Drawing: a tube on its mandrel pulled through a plate; its wall thins, its bore becomes the mandrel's."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import annealing, drawplate
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import asks, stack
from kit.operations.steps import MOST_PASSES, Step, passed_on, section_of
from kit.operations.thinned import Thinned, sizes_after

# The maker's choices where the plan says no other, so no assumptions
MOST = 0.12   # share of the section a pass takes: 5 to 15 % by hand
HALF_ANGLE = Q(10, "deg")   # of the plate's holes


class Draw(Thinned):
    """Passes through ever smaller holes of a plate, on one mandrel that goes along. The metal hardens by its strain;
    the unevenness of the wall stays in proportion.

    Pull and tearing compare two stresses of one law, K strain^n, which gives metal just annealed no strength at all; so
    the strength that the tube comes with and leaves with grows by the ratio of `annealing.hardening`.
    """
    keys = Thinned.keys | {"reduction_most": "> 0 < 0.6", "half_angle": "deg > 0 < 60", "men": range(1, 20),
                           "windlass": bool}
    table = "drawn"
    read = "minutes", "pull_N", "measured_mm"
    caution = ("A tube that breaks or slips its tongs throws men and irons back: stand aside of the line of pull, and "
               "nobody at the windlass lets go of a bar under load.")

    @classmethod
    def takes(cls, entry, alloy):
        yield from fire.of_metal(alloy)
        yield "forming", "drawn", "drawn", "=drawn"

    @staticmethod
    def expand(entry, place, sizes):
        found = sizes.hole, sizes.round
        bore, outside = sizes_after(entry, place, sizes)
        before, after = section_of(*found), section_of(bore, outside)
        count = int(drawplate.passes(before=before, after=after, most=entry.get("reduction_most", MOST)).m)
        if count > MOST_PASSES:
            raise ValueError(f"{place}: a reduction_most of {entry['reduction_most']} makes {words.count(count)} "
                             f"passes from {words.planned(before)} to {words.planned(after)} of metal; no maker "
                             f"takes more than {MOST_PASSES}: take more a pass")
        sections = before * (after / before).m_as("")**(np.arange(count + 1) / count)
        bores = [found[0]] + [bore] * count   # the mandrel fits from the first pass on
        outsides = [(bored**2 + 4 / np.pi * section)**0.5 for bored, section in zip(bores, sections)]
        outsides[-1] = outside
        passed = {key: value for key, value in passed_on(entry).items() if key != "outside"}
        return [Step("draw", f"draw to {o.m_as('mm'):.2f} mm", b, bore, outside_before=u,
                     outside=o, **passed) for b, u, o in zip(bores, outsides, outsides[1:])]

    @shared
    def harder(self):
        """How many times as hard and strong the pass makes the metal."""
        return annealing.hardening(strain=self.strain, earlier=self.found.strain, exponent=self.means["metal.exponent"])

    @property
    def leaves(self):
        found, means = self.found, self.means
        return super().leaves.then(
            outside_form=lambda: means["drawn.out_of_round"], eccentricity=lambda: self.thinner * found.eccentricity,
            hardness=lambda: found.hardness * self.harder, strength=lambda: found.strength * self.harder,
            strain=lambda: found.strain + self.strain)

    @shared
    def stress(self):
        """In the metal that leaves the plate."""
        means, (before, after) = self.means, self.sections
        flow = drawplate.mean_flow_stress(strain=self.strain, earlier=self.found.strain,
                                        coefficient=means["metal.coefficient"], exponent=means["metal.exponent"])
        return drawplate.draw_stress(before=before, after=after, flow_stress=flow, friction=means["drawn.friction"],
                                   half_angle=self.step.half_angle or HALF_ANGLE, uneven=means["drawn.uneven"].m,
                                   mandrel_friction=means["drawn.mandrel_friction"])

    @property
    def hours(self):
        return [self.means["drawn.hours"]]

    @asks("draw pull", "N")
    def pull_asked(self, _):
        """Pull of each pass through the plate, against that of the men at the draw bench, with a windlass where the
        step says so."""
        given = self.step.men * self.means["drawn.pull"] * (self.means["drawn.windlass"] if self.step.windlass else 1)
        return stack([(self.stress * self.sections[1]).to("N")], "N"), given

    @asks("draw tears", "MPa", felt=False)
    def tears_asked(self, _):
        """Stress in the tube that leaves the plate, against that at which it goes on stretching and tears."""
        means = self.means
        after = annealing.flow_stress(strain=self.found.strain + self.strain, coefficient=means["metal.coefficient"],
                                      exponent=means["metal.exponent"])
        return stack([self.stress], "MPa"), after
