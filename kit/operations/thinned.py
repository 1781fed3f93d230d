"""What drawing and hammering out share: a tube worked thinner and longer on a mandrel, its metal hardening by it."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.operations.operation import FORMING, Operation
from kit.operations.state import STRAIGHT, bow_over
from kit.operations.steps import TINY, diameter_of, section_of


class Thinned(Operation):
    """The bore becomes the mandrel's, the outside what the plate or the blows leave.

    It is worked to size after each of its heats, so what their scale took is made up by the length.
    """
    keys = {"to": str, "outside": str}
    needs = frozenset(keys)
    work, read = FORMING, ("minutes", "measured_mm")
    table = ""   # prefix of its assumptions: form and roughness that it leaves

    @classmethod
    def misplaced(cls, entry, before):
        if "lap" in [step.get("operation") for step in before]:
            return "the bore is made anew by it, and a lapped fit is lost; put it before the first 'lap'"
        return super().misplaced(entry, before)

    @property
    def sections(self):
        """Of the metal, before and after."""
        step = self.step
        return section_of(step.before, step.outside_before), section_of(step.diameter, step.outside)

    @property
    def strain(self):
        """True strain of the work."""
        before, after = self.sections
        return Q(float(np.log((before / after).m_as(""))), "")

    @property
    def thinner(self):
        """Wall after over wall before."""
        step = self.step
        return ((step.outside - step.diameter) / (step.outside_before - step.before)).m_as("")

    @property
    def leaves(self):
        found, means, step, of = self.found, self.means, self.step, self.table
        return found.then(
            hole=lambda: step.diameter, outside=lambda: step.outside, oversize=lambda: means[f"{of}.play"],
            lobes=lambda: means[f"{of}.out_of_round"],
            taper=lambda: (means[f"{of}.taper"] * self.tube.length).to("um"),
            bow=lambda: bow_over(self.tube.length, means[f"{of}.bow"]), step=lambda: STRAIGHT, mouth=lambda: STRAIGHT,
            roughness=lambda: means[f"{of}.roughness"], outside_roughness=lambda: means[f"{of}.roughness"],
            wander=lambda: self.thinner * found.wander, skin=lambda: Q(1.0, ""), to_clear=lambda: STRAIGHT,
            outside_lost=lambda: STRAIGHT)


def sizes_after(entry, place, sizes):
    """Bore and outside of such a step, checked against the tube as it comes.

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
