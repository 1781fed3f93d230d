"""Wrapping: a tube bent from hammered sheet round a mandrel, its seam still open; the first operation of a route."""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import annealing, seams
from kit.operations import fire
from kit.operations.means import shared
from kit.operations.operation import FORMING, Operation, asks, stack
from kit.operations.state import STRAIGHT, bow_over
from kit.operations.steps import TINY, Step, diameter_of, passed_on, thickness_of

SEAMS = ["butt", "lap", "scarf"]


class Wrap(Operation):
    """Sheet beaten, cut, bent and bound with wire. The wall is uneven as the sheet is, and the metal keeps the spring
    of the bend until a fire takes it out."""
    keys = {"to": str, "sheet": str, "seam": SEAMS, "overlap": "mm > 0", "at_once": range(1, 200)}
    needs = frozenset({"to", "sheet"})
    makes = True
    work, read = FORMING, ("minutes", "measured_mm")
    caution = fire.CAUTION

    @classmethod
    def takes(cls, entry, alloy):
        yield from fire.rows(alloy)
        yield "forming", "sheet", "sheet", "=sheet"
        yield "forming", "wrapped", "wrapped", "=wrapped"

    @classmethod
    def misplaced(cls, entry, before):
        if entry.get("seam", SEAMS[0]) != "butt" and "overlap" not in entry:
            return f"a seam that is a {entry['seam']} needs its 'overlap'; add it, for example overlap = \"3 mm\""
        if entry.get("seam", SEAMS[0]) == "butt" and "overlap" in entry:
            return "edges that butt do not overlap; take 'overlap' out, or write seam = \"lap\""
        return super().misplaced(entry, before)

    @staticmethod
    def expand(entry, place, sizes):
        hole, sheet = diameter_of(entry["to"], sizes.bore, sizes.outside), thickness_of(entry["sheet"], sizes)
        outside = hole + 2 * sheet
        if sizes.hole > TINY:
            raise ValueError(f"{place}: the tube has a core of {words.planned(sizes.hole)}, and nothing is cast here; "
                             f"take 'core' out of [part]")
        if outside < sizes.outside - TINY:
            raise ValueError(f"{place}: sheet of {words.planned(sheet)} round a hole of {words.planned(hole)} "
                             f"makes an outside of {words.planned(outside)}, under the finished "
                             f"{words.planned(sizes.outside)}; take thicker sheet, as in sheet = \"wall + 0.6 mm\"")
        sizes.hole, sizes.round, sizes.bored = hole, outside, True
        return [Step("wrap", f"wrap to {words.planned(hole)}", Q(0.0, "mm"), hole, outside=outside,
                     **passed_on(entry) | {"sheet": sheet})]

    @property
    def radius(self):
        """To the middle of the sheet."""
        return (self.step.diameter + self.step.sheet) / 2

    @shared
    def gap(self):
        """How far the sheet springs open at the seam, bent further than the mandrel to make up for most of it."""
        kept = seams.springback(radius=self.radius, thickness=self.step.sheet,
                                yield_strength=self.means["alloy.yield_strength"], modulus=self.means["alloy.modulus"])
        return self.means["wrapped.left_open"] * seams.gap(radius=self.radius, kept=np.maximum(kept, 0.05))

    def closing(self, gap):
        """Pull that draws a gap shut, for each length of seam."""
        return seams.closing_force(gap=gap, radius=self.radius, thickness=self.step.sheet,
                                   modulus=self.means["alloy.modulus"])

    @property
    def leaves(self):
        means, step, tube = self.means, self.step, self.tube
        lapped = step.sheet if step.seam == "lap" else STRAIGHT
        return self.found.then(
            hole=lambda: step.diameter, outside=lambda: step.outside, wander=lambda: STRAIGHT,
            bow=lambda: bow_over(tube.length, means["wrapped.bow"]),
            lobes=lambda: means["wrapped.out_of_round"],
            taper=lambda: (means["wrapped.taper"] * tube.length).to("um"), step=lambda: STRAIGHT,
            oversize=lambda: STRAIGHT, roughness=lambda: means["wrapped.roughness"],
            outside_roughness=lambda: means["wrapped.roughness"],
            outside_form=lambda: means["wrapped.out_of_round"], skin=lambda: Q(1.0, ""),
            eccentricity=lambda: (means["sheet.spread"] * step.sheet).to("mm"), to_clear=lambda: lapped.to("um"),
            seam=lambda: Q(0.0, "mm"), sprung=lambda: self.closing(self.gap))

    @property
    def area(self):
        """Of the sheet."""
        width = seams.strip_width(outside=self.step.outside, thickness=self.step.sheet)
        return (width + (self.step.overlap or Q(0.0, "mm"))) * self.tube.length

    @property
    def metal(self):
        """Offcuts, which are melted again, are not counted."""
        return self.area * self.step.sheet

    @property
    def anneals(self):
        """That the sheet wants on its way from the plate."""
        return np.ceil(annealing.anneals_needed(before=np.maximum(self.means["sheet.plate"], self.step.sheet),
                                                after=self.step.sheet, between=self.means["sheet.between"]).m)

    @property
    def hours(self):
        of = self.means
        heats = self.anneals * (of["hearth.minutes"] / self.step.at_once + of["hearth.pickling"])
        return [(of["sheet.rate"] * self.area).to("h") + heats.to("h") + of["wrapped.hours"]]

    @property
    def fuel(self):
        return [self.anneals * self.means["hearth.fuel"] / self.step.at_once]

    @asks("bend radius", "mm", felt=False)
    def bend_asked(self, _):
        """Least radius to which such sheet bends before it cracks, against that of the mandrel."""
        worked = "worked.strain" in self.means
        left = self.means["metal.hard_reduction" if worked else "metal.soft_reduction"]
        least = seams.least_bend_radius(thickness=self.step.sheet, area_reduction=left)
        return stack([least], "mm"), self.step.diameter / 2

    @asks("seam gap", "mm")
    def gap_asked(self, _):
        """How far the sheet springs open at its seam, against the gap that the binding wires draw shut."""
        wires = self.means["wrapped.wire_force"] / self.means["wrapped.wire_spacing"]
        return stack([self.gap], "mm"), (wires / (self.closing(Q(1.0, "mm")) / Q(1.0, "mm"))).to("mm")
