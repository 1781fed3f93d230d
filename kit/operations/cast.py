"""Casting: a tube on a core, or a solid blank; the first operation of a route."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import casting
from kit.operations.means import shared
from kit.operations.operation import FORMING, Operation, asks, stack
from kit.operations.state import STRAIGHT, bow_over
from kit.operations.steps import TINY, Step, diameter_of, lengthened, passed_on

CORES = ["on pins", "unpinned"]
MOULDS = ["clay, poured hot", "sand or cold clay"]
CAUTION = ("A damp mould or core throws molten metal: fire both, and pour over dry sand. Eyes, feet and hands "
           "covered, nobody alone, a way out kept free. Fumes of zinc and lead harm: outside or under a hood, upwind. "
           "Local rules and licensed practice decide whether and how.")


class Cast(Operation):
    """A casting, as thick outside as its step or else the blank stock makes it. On a core its hole lies off centre by
    the core's shift and bends as the core does; what follows finds a hole with a hard skin."""
    keys = {"to": str, "outside": str, "core": CORES, "mould": MOULDS, "lies": bool, "at_once": range(1, 200)}
    makes = True
    looks_ahead = True
    work = FORMING
    caution = CAUTION

    @classmethod
    def takes(cls, entry, alloy):
        yield "forming", f"core, {entry.get('core', CORES[0])}", "core", "core"
        yield "forming", f"mould, {entry.get('mould', MOULDS[0])}", "mould", "mould"
        yield "forming", "casting", "casting", "=casting"
        if entry.get("lies"):
            yield "forming", "lying core", "lying", "=lying core"

    @staticmethod
    def expand(entry, place, sizes):
        hole = diameter_of(entry["to"], sizes.bore, sizes.outside) if "to" in entry else sizes.hole
        if "to" in entry and sizes.hole > TINY and abs(hole - sizes.hole) > TINY:
            raise ValueError(f"{place}: the tube has a core of {words.planned(sizes.hole)} and the step casts one of "
                             f"{words.planned(hole)}; keep one of the two")
        if "outside" in entry:
            sizes.round = diameter_of(entry["outside"], sizes.bore, sizes.outside)
            if sizes.round < sizes.outside - TINY:
                raise ValueError(f"{place}: {entry['outside']!r} is {words.planned(sizes.round)}, under the finished "
                                 f"outside {words.planned(sizes.outside)}; write 'outside' and what is to come off")
        sizes.hole, sizes.bored = hole, sizes.bored or bool(hole > TINY)
        name = f"cast on a core of {words.planned(hole)}" if hole > TINY else "cast solid"
        return [Step("cast", name, Q(0.0, "mm"), hole, outside=sizes.round, **passed_on(entry))]

    @property
    def cored(self):
        return self.step.diameter > TINY

    @shared
    def bow(self):
        """Of the cored hole: the core's own bend, and how far it sags where it lies."""
        means, length = self.means, self.tube.length
        bend = bow_over(length, means["core.bend"])
        if not self.step.lies:
            return bend
        return bend + casting.core_sag(length=length, diameter=self.step.diameter,
                                       metal_density=means["alloy.density"], modulus=means["lying.modulus"],
                                       core_density=means["lying.density"]).to("um")

    @property
    def leaves(self):
        if not self.cored:
            return self.found.then(hole=lambda: self.step.diameter, outside=lambda: self.step.outside)
        means = self.means
        return self.found.then(
            hole=lambda: self.step.diameter, outside=lambda: self.step.outside,
            wander=lambda: means["core.shift"], bow=lambda: self.bow,
            eccentricity=lambda: means["core.shift"], lobes=lambda: means["core.out_of_round"],
            taper=lambda: (means["core.taper"] * self.tube.length).to("um"), oversize=lambda: means["core.oversize"],
            roughness=lambda: means["mould.roughness"], outside_roughness=lambda: means["mould.roughness"],
            to_clear=lambda: means["mould.skin"].to("um"),
            skin=lambda: Q(1.0, ""), outside_form=lambda: means["core.out_of_round"], step=lambda: STRAIGHT)

    @property
    def hours(self):
        of = self.means
        own = of["casting.core_work"] + of["casting.fettling"]
        return [own + (of["casting.mould_work"] + of["casting.melting"]) / self.step.at_once]

    @property
    def metal(self):
        """Gates and what is melted again are not counted."""
        return np.pi / 4 * (self.step.outside**2 - self.step.diameter**2) * self.tube.length

    @property
    def fuel(self):
        return [self.means["casting.fuel"] / self.step.at_once]

    @shared
    def through_holes(self):
        """Pores through the finished wall that are to be expected."""
        tube, means = self.tube, self.means
        length = tube.length * lengthened(self.later)
        return casting.through_holes(area=(np.pi * (tube.bore + tube.wall) * length).to("cm^2"), wall=tube.wall,
                                     per_area=means["casting.holes"], exponent=means["casting.holes_grow"])

    @asks("mould filled", "mm", felt=False)
    def filled_asked(self, _):
        """Least wall that metal fills in such a mould, against the wall as cast where the core has shifted nearest."""
        thick = (self.step.outside - self.step.diameter) / 2
        if self.cored:
            thick = np.maximum(thick - self.means["core.shift"], Q(0.0, "mm"))
        return stack([self.means["mould.least_wall"]], "mm"), thick
