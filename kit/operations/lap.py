"""Lapping: bore and shaft worn into each other with a loose grain, to the fit."""
import numpy as np

from kit.base.units import Q
from kit.estimates import lapping
from kit.operations.means import shared
from kit.operations.operation import Bowed, Outcome, asks, stack
from kit.operations.steps import DRIVES, Step, passed_on


def removal_rate(means, step):
    """Rate at which the shaft's radius falls under the abrasive of a step."""
    grain = f"abrasive.{step.abrasive}"
    bite = lapping.hardness_factor(ratio=means["alloy.hardness"] / means[f"{grain}.hardness"])
    return lapping.depth_rate(
        coefficient=means["model.removal"] * bite * means[f"{grain}.wear_coefficient"],
                              hardness=means["alloy.hardness"],
        pressure=step.pressure, speed=(means.turning_rate * step.diameter / 2).to("m/s"))


class Lap(Bowed):
    """A lap with one grain. It takes its own stock where it has one, else all that later laps do not take."""
    keys = {"abrasive": str, "pressure": "kPa > 0", "hours": "h > 0", "stock_on_diameter": "mm > 0",
            "drive": list(DRIVES)}
    needs = frozenset({"abrasive", "pressure", "hours"})

    @staticmethod
    def expand(entry, place, sizes):
        return [Step(entry["operation"], entry["name"], sizes.bore, sizes.bore,
                     stock_on_diameter=entry.get("stock"), **passed_on(entry))]

    @property
    def leaves(self):
        return self.found.then(lap_stock=lambda: self.found.lap_stock - self.stock[0])

    @shared
    def stock(self):
        """What it is to take, on diameter."""
        step, = self.steps
        if step.stock_on_diameter is not None:
            return stack([step.stock_on_diameter], "um")
        kept = sum((s.stock_on_diameter for s in self.later if s.operation == "lap"), Q(0.0, "um"))
        return stack([np.maximum(self.found.lap_stock - kept, Q(1e-3, "um"))], "um")

    @shared
    def torque(self):
        return stack([lapping.lap_torque(friction=self.means["grain.friction"], pressure=s.pressure,
                                         diameter=s.diameter,
                                         length=self.tube.length) for s in self.steps])

    @property
    def settled(self):
        return {"pressure": stack([s.pressure for s in self.steps]), "hours": stack(self.hours)}

    @property
    def hours(self):
        return [step.hours for step in self.steps]

    @asks("lapping torque")
    def torque_asked(self):
        """Friction of the charged lap at the hand's pressure, against the torque that the bow keeps up."""
        return Outcome(self.torque, self.means.steady_torque, "N*m", self.places)

    @asks("lapping stock")
    def stock_asked(self):
        """Stock on diameter that each abrasive has to take, against what it removes in the hours granted."""
        stock = self.stock
        removed = [2 * removal_rate(self.means, s) * self.means["drive.attended"] * s.hours for s in self.steps]
        return Outcome(stock, stack(removed, "um"), "um", self.places)
