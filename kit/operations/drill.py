"""Drilling: a hole from solid, or a larger one, with a two-lip drill."""
import numpy as np

from kit.base.units import Q
from kit.estimates import cutting, form
from kit.operations.cut import Cut
from kit.operations.operation import asks, once
from kit.operations.state import STRAIGHT, followed, own_line

WEAR_FACTOR = Q(0.012, "1/um")   # growth of the thrust's wear factor with the edge's radius: 1.08 for a freshly ground
#                                  edge to 1.30 for a used one (edges.csv), whose radii are 7 and 24 um


class Drill(Cut):
    """A drilled hole, whose axis wanders according to how the tool is guided. A drill that opens a hole follows it.

    From both ends the two leans meet in the middle, each in a direction of its own: half their difference is the step,
    and half their sum, as large (root mean square), is how far the middle lies off the line through the ends.
    """

    @property
    def leaves(self):
        means, found, tube = self.means, self.found, self.tube

        def opened():   # what is left of the old hole's line, and what the drill adds of its own
            wander, bow = own_line(tube, means, "lead", self.step.over)
            if self.from_both_ends:   # true at both ends, off in the middle: the lean becomes a bow
                halves = form.from_both_ends(offset=wander, exponent=means["both_ends.exponent"])
                wander, bow = halves.lean, halves.step / 2
            if self.steps[0].before == 0:
                return wander, bow
            share = means["form.two-lip drill.left"]**len(self.steps)
            return followed(share, found.wander, wander, means["direction.cosine"]), share * found.bow

        def step():   # where the two halves meet
            if not self.from_both_ends:
                return STRAIGHT
            return form.from_both_ends(offset=own_line(tube, means, "lead", self.step.over)[0],
                                       exponent=means["both_ends.exponent"]).step

        return super().leaves.then(wander=lambda: opened()[0], bow=lambda: opened()[1], step=step,
                                   eccentricity=lambda: self.off_outside(opened()[0]))

    @property
    def from_both_ends(self):
        return any(step.ends == "both" for step in self.steps)

    @once
    def thrust_at(self, feed):
        """Of each drill: chisel edge and lips from solid, the lips alone where it opens a hole."""
        means, found = self.means, []
        grown = self.worn(feed) - means["edge.edge_radius"]
        wear = means["edge.wear_factor"] * (1 + (WEAR_FACTOR * grown).to(""))
        for row, step in enumerate(self.steps):
            at, dulled = feed[..., row, :], wear[..., row, :]
            cutting.guided_depth(thickness=self.worked, diameter=step.diameter,   # warns of thin sheet
                                 point_angle=step.tool.point_angle)
            rake = means[f"point.{step.tool.point}.rake_factor"]
            if step.before > 0:
                push = cutting.lip_thrust(diameter=step.diameter, stock=(step.diameter - step.before) / 2, feed=at,
                                          kc11=means["alloy.kc11"], exponent=means["alloy.exponent"],
                                          point_angle=step.tool.point_angle)
                # both lips, half of the edge force pushes back
                ploughing = means["edge.edge_force"] * (1 + (grown[..., row, :] / means["edge.edge_radius"]).to(""))
                found.append(means["model.drill_thrust"] * (rake * push + 0.5 * ploughing
                                                            * (step.diameter - step.before)).to("N"))
            else:
                found.append(means["model.drill_thrust"] * cutting.handbook_drill(
                    diameter=step.diameter, feed=at, material_factor=means["alloy.material_factor"],
                    wear_factor=dulled, chisel_ratio=means[f"point.{step.tool.point}.chisel_ratio"],
                    rake_factor=rake).thrust)
        return Q(np.stack([each.m_as("N") for each in found], axis=-2), "N")

    @asks("drilling torque", "N*m")
    def torque_asked(self, feed):
        """Torque of the two-lip drill at the feed settled on, against what the bow gives for as long as the hole
        takes."""
        return self.torque_at(feed), self.given_at(feed)

    @asks("drilling thrust", "N")
    def thrust_asked(self, feed):
        """Thrust of the drill at the feed settled on, against the push that hand, breast or lever keeps up for as long
        as the hole takes."""
        return self.thrust_at(feed), self.means.push(self.minutes_at(feed))

    @asks("drill buckling", "N", felt=False)
    def column_asked(self, feed):
        """Thrust against the Euler load of the drill's shank: short and free at the start, long and guided in the
        hole."""
        means, cut = self.means, self.cut
        shank, start = cut.diameter * cut.tool.shank_ratio, means.workshop.start_length
        free = cutting.column_load(diameter=shank, length=start, modulus=means["tool.modulus"], end_factor=2)
        guided = cutting.column_load(diameter=shank, length=self.tube.length + start / 2, modulus=means["tool.modulus"],
                                     end_factor=0.7)
        return self.thrust_at(feed), np.minimum(free, guided)
