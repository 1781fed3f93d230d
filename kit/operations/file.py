"""Filing: the outside filed to size on the turning work."""
import numpy as np

from kit.operations.operation import stack
from kit.operations.turn import Outside


class File(Outside):
    """The outside filed. Nothing is settled: the push on the file is drawn."""
    marks, by_edge = "filed", True

    def torque_at(self, _):
        force = self.means["file.friction"] * self.means["hand.file_push"]
        return stack([force * step.before / 2 for step in self.steps], "N*m")

    def given_at(self, _):
        return self.means.steady_torque

    @property
    def form(self):
        """Of the file, whatever the turner left: it is checked with callipers or a ring."""
        return self.means["filed.form_error"]

    @property
    def hours(self):
        return [np.pi / 4 * (s.before**2 - s.diameter**2) * self.worked / self.means["filed.rate"]
                for s in self.steps]
