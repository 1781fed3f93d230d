"""What cutting with an edge and a feed shares, in the hole or on the outside: the feed is settled at the bench."""
import numpy as np

from kit.base.units import Q
from kit.operations.means import shared
from kit.operations.operation import Bowed, asks
from kit.operations.tools import chip_hardness


class Fed(Bowed):
    """Steps with a feed a turn, between the least chip that the edge forms and the plan's most."""
    keys = {"feed": "mm/turn > 0", "feed_least": "mm/turn > 0", "feed_most": "mm/turn > 0"}
    settles = "feed", "mm"

    def column(self, name, otherwise=None):
        """A length of every step, shape (steps, 1). otherwise: name of what stands in where a step has none, 0 where
        None."""
        lengths = [getattr(s, name) or (getattr(s, otherwise) if otherwise else Q(0.0, "mm")) for s in self.steps]
        return Q(np.array([[each.m_as("mm")] for each in lengths]), "mm")

    def least_feed(self, radius):
        """Feed a turn at which an edge of this radius only just bites."""
        raise NotImplementedError

    def worn(self, feed):
        """Radius of the edge when a cut ends, or when it goes back to the stone."""
        raise NotImplementedError

    @shared
    def bounds(self):
        """No less than the edge needs to bite, dull as the wish would leave it; no more than the plan's."""
        wish = self.column("feed")
        bites = self.least_feed(self.worn(wish))
        return (np.maximum(bites, self.column("feed_least")), np.maximum(self.column("feed_most", "feed"), bites), wish)

    @asks("tool hard enough", "MPa", felt=False, moves=False)
    def hardness_asked(self, _):
        """Hardness that an edge must have to cut the metal, worked to the full in the chip, against the tool's."""
        return self.means["edge_life.least_ratio"] * chip_hardness(self.means), self.means["edge_metal.hardness"]
