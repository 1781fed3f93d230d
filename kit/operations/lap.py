"""Lapping: bore and shaft worn to the fit with a loose grain, one in the other or each with a lap of its own."""
import numpy as np

from kit.base.units import Q
from kit.estimates import form, lapping
from kit.operations import hold
from kit.operations.means import shared
from kit.operations.operation import RUBBING, Bowed, asks, once, stack
from kit.operations.state import STRAIGHT, stock_to_lap
from kit.operations.steps import DRIVES, Step, passed_on

PAIR = "shaft against bore"
RING = "ring lap"
LAPS = [PAIR, "split lap, wood", "split lap, copper or lead", RING]
LEAST_PRESSURE = 0.1   # of the wish, where the plan gives no least


def removal_rate(means, step, pressure=None, hardness=None):
    """Rate at which the radius falls under the abrasive of a step. hardness: of the face that is rubbed; where None,
    that of the alloy under the skin that cutting leaves, which is harder than its bulk."""
    grain = f"abrasive.{step.abrasive}"
    if hardness is None:
        hardness = means["alloy.hardness"] * means["skin.hardening"]
    bite = lapping.hardness_factor(ratio=hardness / means[f"{grain}.hardness"])
    return lapping.depth_rate(coefficient=means["model.removal"] * bite * means[f"{grain}.wear_coefficient"],
                              hardness=hardness, pressure=step.pressure if pressure is None else pressure,
                              speed=(means.turning_rate * step.diameter / 2).to("m/s"))


def grain_clearance(means, step):
    """Clearance that the broken-down grain of a step leaves between shaft and bore, if it goes on until it stops by
    itself."""
    grain = f"abrasive.{step.abrasive}"
    return lapping.clearance_left(grain=means[f"{grain}.grain"], spent_share=means[f"{grain}.spent_share"],
                                  bridging=means["spent.bridging"], shaft_roughness=means["lapped.roughness"],
                                  bore_roughness=means["lapped.roughness"])


def turns_from(means, form_error=None, shaft_roughness=None):
    """Least clearance at which a lapped pair turns: form, roughness of both, and the grit that washing leaves.
    form_error: of the two together, on diameter; what lapping one in the other leaves where None. shaft_roughness:
    where the shaft is not lapped as the bore is."""
    if form_error is None:
        form_error = means["lapped.form_error"]
    if shaft_roughness is not None:
        return form_error + means["lapped.roughness"] + shaft_roughness + means["washed.grit"]
    return form_error + 2 * means["lapped.roughness"] + means["washed.grit"]


class Lap(Bowed):
    """A lap with one grain. It takes its own stock where it has one, else all that later laps do not take. The pressure
    is settled at the bench, and it goes on until the stock is off, or the hours are over. On a shaft by itself a ring
    takes the form and the marks of the tool, no more."""
    keys = {"abrasive": str, "pressure": "kPa > 0", "pressure_least": "kPa > 0", "pressure_most": "kPa > 0",
            "hours": "h > 0", "stock_on_diameter": "mm > 0", "drive": list(DRIVES), "lap": LAPS,
            "held_by": str}
    needs = frozenset({"abrasive", "pressure", "hours"})
    work, read = RUBBING, ("minutes", "strokes", "pressure_kPa", "mass_before_g", "mass_after_g", "stock_mm",
                           "passes_mm", "stops_mm")
    holds, holds_shaft = hold.OF_SLEEVE, hold.OF_RING
    settles = "pressure", "kPa"
    looks_ahead = True

    @staticmethod
    def expand(entry, place, sizes):
        size = sizes.bore if sizes.bore > 0 else sizes.outside   # of a solid shaft its outside is lapped
        return [Step(entry["operation"], entry["name"], size, size,
                     stock_on_diameter=entry.get("stock"), **passed_on(entry))]

    @property
    def kind(self):
        return self.step.lap or PAIR

    @property
    def in_bore(self):
        """Whether it works the bore, and not the shaft alone."""
        return self.kind != RING

    @property
    def bounds(self):
        wish = self.step.pressure
        return (self.step.pressure_least or LEAST_PRESSURE * wish), (self.step.pressure_most or wish), wish

    @property
    def leaves(self):
        found, means = self.found, self.means
        changes = dict(lap_stock=lambda: self.to_take - self.planned[0], to_clear=lambda: STRAIGHT,
                       bow=lambda: found.bow - self.straightened,
                       roughness=lambda: form.scratch_depth(
                           grain=means[f"abrasive.{self.step.abrasive}.grain"],
                           multiple=means[f"lap.{self.kind}.scratch_multiple"]))
        of = f"lap.{self.kind}"
        rounded, tapered = (lambda: 2 * means[f"{of}.out_of_round"],
                            lambda: (means[f"{of}.taper"] * self.worked).to("um"))
        if not self.in_bore:
            changes |= dict(outside_form=lambda: rounded() + tapered())
            if self.tube.solid:
                changes |= dict(outside_roughness=changes["roughness"])
        else:
            changes |= dict(lobes=rounded, taper=tapered,
                            mouth=lambda: np.maximum(found.mouth, means[f"{of}.bell_mouth"]))
        if self.kind == PAIR:
            changes["grain_clearance"] = lambda: np.maximum(found.grain_clearance, grain_clearance(means, self.step))
        return found.then(**changes)

    # --- what it has to take
    @shared
    def to_take(self):
        """What this lap and those after it have to take toward the fit."""
        lapped = any(s.operation == "lap" for s in self.earlier)
        if lapped:
            return self.found.lap_stock
        if self.tube.solid:
            return self.found.outside_form + self.found.outside_roughness
        return stock_to_lap(self.tube, self.means, self.found) + 2 * self.found.to_clear

    @shared
    def planned(self):
        """Stock on diameter toward the fit: its own, but no less than clears the scratches of the lap before; or what
        later laps do not take. The last lap of a pair goes on until the pair turns."""
        scratches = Q(0.0, "um")
        if any(s.operation == "lap" for s in self.earlier):
            scratches = 2 * lapping.scratch_stock(previous_roughness=self.found.roughness).to("um")
        if self.step.stock_on_diameter is not None:
            return stack([np.maximum(self.step.stock_on_diameter, scratches) + self.until_it_turns], "um")
        kept = sum((s.stock_on_diameter for s in self.later if s.operation == "lap"), Q(0.0, "um"))
        return stack([np.maximum(np.maximum(self.to_take - kept, scratches), Q(1e-3, "um")) + self.until_it_turns],
                     "um")

    @property
    def until_it_turns(self):
        """What the last lap of a pair takes beyond the clearance wanted, where the pair would not turn with that."""
        if self.kind != PAIR or any(s.operation == "lap" for s in self.later):
            return STRAIGHT
        return np.maximum(turns_from(self.means) - self.tube.clearance, STRAIGHT).to("um")

    @shared
    def straightened(self):
        """How much of the bore's bow it takes out: what a lap of its length has under it, less what the lap bends.

        The lap bends by the pressure wished for: the one settled on changes little, and would make the wall rest on all
        that the arm rests on.
        """
        if not self.in_bore:
            return STRAIGHT
        means, of, tube = self.means, f"lap.{self.kind}", self.tube
        length = np.minimum(means[f"{of}.length_share"], 1.0) * self.worked
        core = means["arbor_metal.modulus"] if self.kind == PAIR else means[f"{of}.modulus"]
        seen = form.seen_by_lap(bow=self.found.bow, lap_length=length, bore_length=self.worked)
        bend = form.lap_bend(pressure=self.step.pressure, bore=tube.bore, length=length,
                             arbor_diameter=means[f"{of}.arbor_share"] * tube.bore, modulus=core)
        return seen - form.bow_left(bow=seen, bend=bend)

    @shared
    def stock(self):
        """What it is to take, on diameter, the straightening counted."""
        return self.planned + form.straightening_stock(bow=self.straightened)

    # --- what it asks
    @once
    def torque_at(self, pressure):
        return lapping.lap_torque(friction=self.means["grain.friction"], pressure=pressure, diameter=self.step.diameter,
                                  length=self.worked)

    @property
    def held_diameter(self):
        return self.tube.outside

    @property
    def bored(self):
        return self.tube.bore

    @once
    def removed_at(self, pressure):
        """What it takes in the hours granted, on diameter."""
        rate = removal_rate(self.means, self.step, pressure, self.found.hardness * self.found.skin)
        return (2 * rate * self.means["drive.attended"] * self.step.hours).to("um")

    @shared
    def rubbing(self):
        """Until the stock is off, and no more than granted, rests counted."""
        share = np.minimum((self.stock / self.removed_at(self.setting)).m_as(""), 1.0)
        return Q(share * self.step.hours.m_as("h"), "h")

    @property
    def working(self):
        return list(self.rubbing * self.means["drive.attended"])

    @shared
    def hours(self):
        """That of rubbing; a lap of its own is made, and trued as it wears."""
        hours = self.rubbing
        if self.kind != PAIR:
            means, of = self.means, f"lap.{self.kind}"
            trued = (hours * means["drive.attended"] / means[f"{of}.life"]).to("")
            hours = hours + means[f"{of}.making"] + trued * means[f"{of}.truing"]
        return list(hours + self.means["washed_off.minutes"])   # or this grain scratches under the next

    @asks("lapping torque", "N*m")
    def torque_asked(self, pressure):
        """Friction of the charged lap at the pressure settled on, against the torque that the bow keeps up."""
        return self.torque_at(pressure), self.means.steady_torque

    @asks("lapping stock", "um")
    def stock_asked(self, pressure):
        """Stock on diameter that each abrasive has to take, against what it removes in the hours granted."""
        return self.stock, self.removed_at(pressure)

    @asks("wall: grip", "um", felt=False)
    def grip_asked(self, pressure):
        """Out-of-round that the hold leaves in the bore, against half the radial clearance."""
        return self.squeeze_at(pressure)
