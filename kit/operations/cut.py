"""What drilling and reaming share: passes in a hole, bowed or by wrench."""
import numpy as np

from kit.estimates import cutting, edges
from kit.operations import hold
from kit.operations.fed import Fed
from kit.operations.means import shared
from kit.operations.operation import asks, once
from kit.operations.state import STRAIGHT
from kit.operations.steps import DRIVES, opened
from kit.operations.tools import Passes, to_stone, worn_radius


class Cut(Fed):
    """Passes of one tool in the hole."""
    keys = Fed.keys | {"tool": str, "to": str, "stock_on_diameter": "mm > 0", "drive": list(DRIVES), "held_by": str,
                       "ends": ["one", "both"], "lubricant": ["oiled", "dry"]}
    needs = frozenset({"tool", "to", "feed"})
    holds = hold.OF_BLANK
    in_bore = True
    has_tool = True
    work, read = "Drilling and reaming", ("minutes", "strokes", "torque_Nm", "pull_N", "pull_most_N")
    expand = staticmethod(opened)

    @property
    def leaves(self):
        means, of = self.means, f"form.{self.cut.tool.kind}"
        rough = "drilled" if self.cut.tool.kind == "two-lip drill" else "reamed"
        return self.found.then(
            hole=lambda: self.steps[-1].diameter, step=lambda: STRAIGHT, lobes=lambda: 2 * means[f"{of}.out_of_round"],
            taper=lambda: (means[f"{of}.taper"] * self.worked).to("um"),
            oversize=lambda: means[f"{of}.oversize"], mouth=lambda: means[f"{of}.bell_mouth"],
            roughness=lambda: means[f"{rough}.roughness"], skin=lambda: means["skin.hardening"],
            to_clear=lambda: STRAIGHT)

    def off_outside(self, wander):
        """Offset of the hole's axis from that of the outside: its wander, where the outside was finished first."""
        return self.found.eccentricity if self.means.bore_first else wander

    @shared
    def cut(self):
        return Passes(self.steps)

    def least_feed(self, radius):
        return self.cut.least_feed(self.means, radius)

    @once
    def worn(self, feed):
        """Radius of the edge at the end of each pass, or when it goes back to the stone."""
        return worn_radius(self.means, self.cut.cut_length(self.worked, feed))

    @once
    def torque_at(self, feed):
        return self.cut.torque(self.means, chip=feed / self.cut.feed_per_chip, radius=self.worn(feed))

    @once
    def minutes_at(self, feed):
        """Of cutting, a row a pass."""
        return self.means.minutes(self.worked, feed)

    @once
    def given_at(self, feed):
        """Torque that the bow gives for as long as each pass takes."""
        return self.means.bow_torque(self.minutes_at(feed))

    @property
    def held_diameter(self):
        return self.found.outside if self.means.bore_first else self.tube.outside

    @property
    def jerk(self):
        """Greatest over mean torque of the drive."""
        return self.means["drive.peak"]

    # --- what the feed leads to
    @shared
    def minutes(self):
        return self.minutes_at(self.setting)

    @shared
    def regrinds(self):
        """How often the edge goes back to the stone in each pass: it comes to it sharp."""
        return np.floor(edges.regrinds(cut_length=self.cut.cut_length(self.worked, self.setting),
                                       length_to_stone=to_stone(self.means)))

    @shared
    def extra_minutes(self):
        """Minutes at the stone, and of clearing chips, of each pass."""
        means, tool = self.means, self.cut.tool
        sharpening = means[f"sharpened.{tool.kind}.sharpening"]
        if tool.kind != "two-lip drill":   # chips of a reamer lie in its flutes
            return [sharpening * often for often in self.regrinds]
        first, then = (means[f"point.{tool.point}.{name}"] for name in ("first_peck", "next_peck"))
        cleared = [edges.peck_minutes(depth=self.worked, diameter=s.diameter, first=first, then=then,
                                      clear_time=means["chips.time"], speed=means["chips.speed"]) for s in self.steps]
        return [sharpening * often + clear for often, clear in zip(self.regrinds, cleared)]

    @property
    def working(self):
        return list(self.minutes)

    @property
    def hours(self):
        return [minutes / self.means["drive.attended"] + extra
                for minutes, extra in zip(self.minutes, self.extra_minutes)]

    @asks("wall: grip", "um", felt=False)
    def grip_asked(self, feed):
        """Out-of-round that the hold leaves in the bore, against half the radial clearance."""
        return self.squeeze_at(feed)

    @asks("tool shank", "N*m", felt=False)
    def shank_asked(self, feed):
        """Torque of each cut with the drive's peak, against the torque that yields the tool's shank."""
        tool = self.cut.tool
        yields = cutting.shank_torque(diameter=self.cut.diameter * tool.shank_ratio,
                                      shear_yield=self.means["tool.shear_yield"], section=tool.shank)
        return self.jerk * self.torque_at(feed), yields
