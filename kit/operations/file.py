"""Filing: the outside filed to size on the turning work."""
import numpy as np

from kit.operations.turn import Outside


class File(Outside):
    """The outside filed."""

    def force(self, step):
        return self.means["file.friction"] * self.means["hand.file_push"]

    @property
    def hours(self):
        return [np.pi / 4 * (s.before**2 - s.diameter**2) * self.tube.length / self.means["filed.rate"]
                for s in self.steps]
