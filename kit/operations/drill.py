"""Drilling: a hole from solid, or a larger one, with a two-lip drill."""
import numpy as np

from kit.estimates import cutting
from kit.operations.cut import Cut
from kit.operations.means import shared
from kit.operations.operation import Outcome, asks, stack
from kit.operations.state import wander


class Drill(Cut):
    """A drilled hole, whose axis wanders according to how the tool is guided."""

    @property
    def leaves(self):
        return super().leaves.then(wander=lambda: wander(self.tube, self.means))

    @shared
    def thrust(self):
        """Of each drill: chisel edge and lips from solid, the lips alone where it opens a hole."""
        found, means, least = [], self.means, self.least_feed
        for row, step in enumerate(self.steps):
            feed = least[row] if least.ndim == 2 else least
            cutting.guided_depth(thickness=self.tube.length, diameter=step.diameter,   # warns of thin sheet
                                 point_angle=step.tool.point_angle)
            if step.before > 0:
                push = cutting.lip_thrust(diameter=step.diameter, stock=(step.diameter - step.before) / 2, feed=feed,
                                          kc11=means["alloy.kc11"], exponent=means["alloy.exponent"],
                                          point_angle=step.tool.point_angle)
                # both lips, half of the edge force pushes back
                edge = 0.5 * means["edge.edge_force"] * (step.diameter - step.before)
                found.append(means["model.drill_thrust"] * (push + edge).to("N"))
            else:
                found.append(means["model.drill_thrust"] * cutting.handbook_drill(
                    diameter=step.diameter, feed=feed, material_factor=means["alloy.material_factor"],
                    wear_factor=means["edge.wear_factor"]).thrust)
        return stack(found)

    @asks("drilling torque")
    def torque_asked(self):
        """Torque of the two-lip drill at the least viable chip, against what the bow gives for as long as the hole
        takes."""
        return Outcome(self.torque, self.given, "N*m", self.places)

    @asks("drilling thrust")
    def thrust_asked(self):
        """Thrust of the drill at the least viable chip, against the push of hand, breast or lever."""
        return Outcome(self.thrust, self.means["push.push"], "N", self.places)

    @asks("drill buckling")
    def column_asked(self):
        """Thrust against the Euler load of the drill's shank: short and free at the start, long and guided in the
        hole."""
        means, cut = self.means, self.cut
        shank, start = cut.diameter * cut.tool.shank_ratio, means.workshop.start_length
        free = cutting.column_load(diameter=shank, length=start, modulus=means["tool.modulus"], end_factor=2)
        guided = cutting.column_load(diameter=shank, length=self.tube.length + start / 2, modulus=means["tool.modulus"],
                                     end_factor=0.7)
        return Outcome(self.thrust, np.minimum(free, guided), "N", self.places)
