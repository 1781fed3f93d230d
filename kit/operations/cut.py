"""What drilling and reaming share: passes in a hole, bowed or by wrench."""
import numpy as np

from kit.estimates import cutting
from kit.operations.means import shared
from kit.operations.operation import Bowed, Outcome, asks
from kit.operations.steps import DRIVES, opened
from kit.operations.tools import Passes


class Cut(Bowed):
    """Passes of one tool in the hole."""
    keys = {"tool": str, "to": str, "feed": "mm/turn > 0", "stock_on_diameter": "mm > 0", "drive": list(DRIVES)}
    needs = frozenset({"tool", "to", "feed"})
    has_tool = True
    expand = staticmethod(opened)

    @property
    def leaves(self):
        return self.found.then(hole=lambda: self.steps[-1].diameter)

    @shared
    def cut(self):
        return Passes(self.steps)

    @shared
    def least_feed(self):
        return self.cut.least_feed(self.means)

    @shared
    def settled(self):
        """The feed: as planned, but no less than the edge needs to bite."""
        return {"feed": np.maximum(self.cut.column("feed"), self.least_feed)}

    @shared
    def minutes(self):
        """Of bowing, a row a pass."""
        return self.means.minutes(self.tube.length, self.settled["feed"])

    @shared
    def torque(self):
        """Of each pass, at the least viable chip."""
        return self.cut.torque(self.means)

    @shared
    def given(self):
        """Torque that the bow gives for as long as each pass takes."""
        return self.means.bow_torque(self.minutes)

    @property
    def hours(self):
        return [minutes / self.means["drive.attended"] for minutes in self.minutes]

    @asks("tool shank")
    def shank_asked(self):
        """Torque of each cut with the drive's peak, against the torque that yields the tool's shank."""
        tool = self.cut.tool
        yields = cutting.shank_torque(diameter=self.cut.diameter * tool.shank_ratio,
                                      shear_yield=self.means["tool.shear_yield"], section=tool.shank)
        return Outcome(self.means["drive.peak"] * self.torque, yields, "N*m", self.places)
