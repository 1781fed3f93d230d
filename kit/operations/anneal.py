"""Annealing: the work in the metal is taken out in a charcoal fire, and scale goes off both sides."""
from kit.base import words
from kit.estimates import annealing
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import FORMING, Operation, asks, stack
from kit.operations.solder import is_hard
from kit.operations.steps import Step, passed_on


class Anneal(Operation):
    """A heat in a charcoal fire, by colour; then pickled. Hardness of bulk and worked skin fall by what the fire
    softens; a lap that follows meets softer metal, and thin walls bear less."""
    keys = {"temperature": "degC > 0 < 1200", "minutes": "min > 0", "cover": fire.COVERS, "at_once": range(1, 200)}
    needs = frozenset({"temperature"})
    work = FORMING
    caution = fire.CAUTION

    @classmethod
    def takes(cls, entry, alloy):
        return fire.rows(alloy)

    @classmethod
    def misplaced(cls, entry, before):
        done = [step.get("operation") for step in before]
        if "lap" in done:
            return "a fire after lapping spoils the fit, by scale and by warping; anneal before the first 'lap'"
        melts = [step for step in before if step.get("operation") == "solder" and not is_hard(step.get("solder"))]
        if melts:
            return (f"the seam is held by {melts[0].get('solder')!r}, which melts long before the tube is soft; anneal "
                    f"before the 'solder', or solder hard")
        return super().misplaced(entry, before)

    @staticmethod
    def expand(entry, place, sizes):
        return [Step("anneal", f"anneal at {words.planned(entry['temperature'])}", sizes.hole, sizes.hole,
                     **passed_on(entry))]

    @shared
    def reached(self):
        return fire.reached(self.means, self.step.temperature)

    @shared
    def softened(self):
        """Share of the work that the fire takes out."""
        return annealing.softened(temperature=self.reached, begins=self.means["metal.begins"],
                                  full=self.means["metal.full"])

    @shared
    def lost(self):
        """Metal that scale takes on one side."""
        minutes = self.step.minutes if self.step.minutes is not None else fire.usual_time(self.means)
        return fire.scale_lost(self.means, self.reached, minutes, self.step.cover or "in air")

    @property
    def leaves(self):
        return self.found.then(**fire.after(self.means, self.found, lambda: self.softened, lambda: self.lost))

    @property
    def hours(self):
        means = self.means
        return [(means["hearth.minutes"] / self.step.at_once + means["hearth.pickling"]).to("h")]

    @property
    def fuel(self):
        return [self.means["hearth.fuel"] / self.step.at_once]

    @asks("heat of the fire", "K")
    def heat_asked(self, _):
        """Heat of the fire over the air, as it comes by a judged colour, against that at which the metal begins to
        melt."""
        return stack([fire.above_air(self.reached)], "K"), fire.above_air(self.means["metal.solidus"])

