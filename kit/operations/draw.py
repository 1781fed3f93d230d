"""Drawing: a tube on its mandrel pulled through a plate; its wall thins, its bore becomes the mandrel's."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import annealing, drawplate
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import FORMING, Operation, asks, stack
from kit.operations.state import STRAIGHT
from kit.operations.steps import TINY, Step, diameter_of, passed_on

MOST = 0.12            # share of the section a pass takes, where the plan says no other: 5 to 15 % by hand
HALF_ANGLE = Q(10, "deg")
REACH = Q(100, "mm")   # over which the tables give a bow


class Draw(Operation):
    """Passes through ever smaller holes of a plate, on one mandrel that goes along. The metal hardens by its strain;
    the unevenness of the wall stays in proportion."""
    keys = {"to": str, "outside": str, "reduction_most": "> 0 < 0.6", "half_angle": "deg > 0 < 60",
            "men": range(1, 20), "windlass": bool}
    needs = frozenset({"to", "outside"})
    work, read = FORMING, ("minutes", "pull_N", "measured_mm")
    caution = ("A tube that breaks or slips its tongs throws men and irons back: stand aside of the line of pull, and "
               "nobody at the windlass lets go of a bar under load.")

    @classmethod
    def takes(cls, entry, alloy):
        yield from fire.of_metal(alloy)
        yield "forming", "drawn", "drawn", "=drawn"

    @classmethod
    def misplaced(cls, entry, before):
        done = [step.get("operation") for step in before]
        if "lap" in done:
            return "drawing makes the bore anew, and a lapped fit is lost; draw before the first 'lap'"
        return super().misplaced(entry, before)

    @staticmethod
    def expand(entry, place, sizes):
        found = sizes.hole, sizes.round
        bore, outside = thinned(entry, place, sizes)
        before, after = section_of(*found), section_of(bore, outside)
        count = int(drawplate.passes(before=before, after=after, most=entry.get("reduction_most", MOST)).m)
        sections = before * (after / before).m_as("")**(np.arange(count + 1) / count)
        bores = [found[0]] + [bore] * count   # the mandrel fits from the first pass on
        outsides = [(bored**2 + 4 / np.pi * section)**0.5 for bored, section in zip(bores, sections)]
        outsides[-1] = outside
        passed = {key: value for key, value in passed_on(entry).items() if key != "outside"}
        return [Step("draw", f"draw to {o.m_as('mm'):.2f} mm", b, bore, outside_before=u,
                     outside=o, **passed) for b, u, o in zip(bores, outsides, outsides[1:])]

    @property
    def step(self):
        return self.steps[0]

    @property
    def sections(self):
        """Of the metal, before and after."""
        step = self.step
        return section_of(step.before, step.outside_before), section_of(step.diameter, step.outside)

    @property
    def strain(self):
        before, after = self.sections
        return Q(float(np.log((before / after).m_as(""))), "")

    @shared
    def harder(self):
        """How many times as hard and strong the pass makes the metal."""
        return annealing.hardening(strain=self.strain, earlier=self.found.strain, exponent=self.means["metal.exponent"])

    @property
    def leaves(self):
        found, means, step, tube = self.found, self.means, self.step, self.tube
        before, after = self.sections
        thinner = ((step.outside - step.diameter) / (step.outside_before - step.before)).m_as("")
        return found.then(
            hole=lambda: step.diameter, outside=lambda: step.outside, oversize=lambda: means["drawn.play"],
            lobes=lambda: means["drawn.out_of_round"], taper=lambda: (means["drawn.taper"] * tube.length).to("um"),
            bow=lambda: (means["drawn.bow"] * (tube.length / REACH)**2).to("um"), step=lambda: STRAIGHT,
            roughness=lambda: means["drawn.roughness"], outside_form=lambda: means["drawn.out_of_round"],
            wander=lambda: thinner * found.wander,
            eccentricity=lambda: thinner * (found.eccentricity + found.outside_lost),
            hardness=lambda: found.hardness * self.harder, strength=lambda: found.strength * self.harder,
            strain=lambda: found.strain + self.strain, skin=lambda: Q(1.0, ""), to_clear=lambda: STRAIGHT,
            mouth=lambda: STRAIGHT, outside_lost=lambda: STRAIGHT)

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


def section_of(bore, outside):
    """Of the metal of a tube."""
    return (np.pi / 4 * (outside**2 - bore**2)).to("mm^2")


def thinned(entry, place, sizes):
    """Bore and outside of a step that works the tube thinner on a mandrel, checked against the tube as it comes.

    Raises ValueError where there is no hole, either would grow, the outside would pass the finished one, or the section
    would not become less.
    """
    bore, outside = (diameter_of(entry[key], sizes.bore, sizes.outside) for key in ("to", "outside"))
    if sizes.hole <= TINY:
        raise ValueError(f"{place}: there is no hole for the mandrel; cast on a core, wrap or bore the tube first")
    if bore > sizes.hole + TINY or outside > sizes.round + TINY:
        raise ValueError(f"{place}: bore {words.planned(bore)} and outside {words.planned(outside)} are not within "
                         f"the tube as it comes, {words.planned(sizes.hole)} and {words.planned(sizes.round)}; a "
                         f"mandrel within only lets it become smaller")
    if outside < sizes.outside - TINY:
        raise ValueError(f"{place}: {entry['outside']!r} is {words.planned(outside)}, under the finished outside "
                         f"{words.planned(sizes.outside)}; write 'outside', or more")
    before, after = (section_of(*each) for each in ((sizes.hole, sizes.round), (bore, outside)))
    if after >= before:
        raise ValueError(f"{place}: the section would grow from {words.planned(before)} to {words.planned(after)}; "
                         "work only makes it less: write a smaller outside")
    sizes.hole, sizes.round, sizes.bored = bore, outside, True
    return bore, outside
