"""Soldering the seam of a wrapped tube, soft or hard."""
import numpy as np

from kit.base import tables
from kit.base.units import Q
from kit.estimates import seams
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import FORMING, Operation, asks, stack
from kit.operations.steps import Step, passed_on

HARD = 450   # degC, liquidus over which a filler is called hard: ISO 857-2:2005 (from memory); it anneals the tube
CAUTION = fire.CAUTION + (" Lead and its fume poison: no food, no bare hands, hands washed, nothing for drinking "
                          "soldered with it. Fluxes and their smoke burn eyes and lungs: outside, or under a hood.")


def is_hard(solder):
    """Whether it is a hard solder of the reference table, which anneals the tube."""
    return any(row["low"] > HARD for row in tables.load("solders")
               if row["of"] == solder and row["key"] == "liquidus")


class Solder(Operation):
    """The seam run full of solder, bound round a chalked mandrel. A bead is left in the bore, which the next tool there
    has to take; hard solder softens the tube and takes its spring out."""
    keys = {"solder": str, "at_once": range(1, 200)}
    needs = frozenset({"solder"})
    work = FORMING
    caution = CAUTION

    @classmethod
    def takes(cls, entry, alloy):
        yield from fire.rows(alloy)
        if "solder" in entry:
            yield "solders", entry["solder"], "solder", "solder"

    @classmethod
    def misplaced(cls, entry, before):
        done = [step.get("operation") for step in before]
        if "wrap" not in done:
            return "there is no seam to solder: a tube with a seam begins with a step that is to 'wrap'; put one first"
        if "lap" in done:
            return "a fire and a bead of solder spoil a lapped fit; solder before the first 'lap'"
        if "solder" in done:
            return "the seam is soldered already; take one of the two out"
        return super().misplaced(entry, before)

    @staticmethod
    def expand(entry, place, sizes):
        return [Step("solder", f"solder with {entry['solder']}", sizes.hole, sizes.hole, **passed_on(entry))]

    @property
    def hard(self):
        return is_hard(self.step.solder)

    @shared
    def reached(self):
        """Heat that the tube comes to: the solder runs, and a fire is judged by its colour."""
        liquid = Q(self.means["solder.liquidus"].m_as("degC") + self.means["solder.over"].m_as("K"), "degC")
        return fire.reached(self.means, liquid) if self.hard else liquid

    @shared
    def lost(self):
        """Metal that scale takes on one side: under flux, no more than under charcoal."""
        return fire.scale_lost(self.means, self.reached, fire.usual_time(self.means), "under charcoal")

    @property
    def width(self):
        """Over which the solder holds: the sheet's thickness where edges butt, else the overlap."""
        wrapped = [step for step in self.earlier if step.operation == "wrap"][-1]
        return wrapped.overlap if wrapped.overlap is not None else wrapped.sheet

    @property
    def leaves(self):
        found, means = self.found, self.means
        changes = fire.after(means, found, lambda: Q(1.0, ""), lambda: self.lost) if self.hard else {}
        return found.then(**changes | dict(seam=lambda: self.width.to("mm"),
                                           to_clear=lambda: found.to_clear + means["solder.bead"].to("um")))

    def bears(self, long=False):
        """What the seam bears for each length of it, at once or for long."""
        return seams.seam_strength(width=self.width, strength=self.means["solder.shear"],
                                   long_share=np.minimum(self.means["solder.long_share"], 1) if long else 1)

    @property
    def hours(self):
        return [self.means["solder.hours"]]

    @property
    def fuel(self):
        return [self.means["solder.fuel"] / self.step.at_once]

    @asks("heat of the fire", "K")
    def heat_asked(self, _):
        """Heat of the fire over the air, as the solder wants it and as it comes, against that at which the metal begins
        to melt."""
        return stack([fire.above_air(self.reached)], "K"), fire.above_air(self.means["metal.solidus"])
