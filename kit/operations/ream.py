"""Reaming: a hole opened by D-bit, fluted reamer or broach, by bow or by two hands on a wrench."""
from dataclasses import replace
from functools import reduce

import numpy as np

from kit.base.units import Q
from kit.estimates import edges
from kit.operations import settle
from kit.operations.cut import Cut
from kit.operations.means import noted, shared, wrench_torque
from kit.operations.operation import asks, stack
from kit.operations.state import STRAIGHT, apart, followed, own_line
from kit.operations.tools import BIT, same_tool, stonings_in, to_stone

PASS = "reaming pass"
FELT = PASS, "cord", "holding"   # a stall, a slip of the cord, a slip of the work: the wrench is taken


class Ream(Cut):
    """A hole reamed. A D-bit led true at the mouth keeps some of its own line; reamers and broaches follow the hole
    that was there."""
    read = *Cut.read, "measured_mm", "passes_mm", "stops_mm"

    @shared
    def line(self):
        """Of each pass in turn: (offset of the tool from the hole that it finds, wander left, bow left).

        The first D-bit is led true at the mouth; the next ones find a hole that such a bit has led, and follow it.
        """
        means, passes = self.means, []
        wander, bow = self.found.wander, self.found.bow
        leads = self.cut.tool.kind == BIT and not any(step.tool and step.tool.kind == BIT for step in self.earlier)
        share, cosine = means[f"form.{self.cut.tool.kind}.left"], means["direction.cosine"]
        for step in self.steps:
            if leads:
                own, own_bow = own_line(self.tube, means, "drift", self.step.over)
                off = (1 - share) * apart(wander, own, cosine)
                wander, bow = followed(share, wander, own, cosine), followed(share, bow, own_bow, cosine)
                leads = False
            elif step.tool.kind == BIT:
                off = STRAIGHT
            else:
                off, wander, bow = (1 - share) * wander, share * wander, share * bow
            passes.append((off, wander, bow))
        return passes

    @property
    def leaves(self):
        return super().leaves.then(wander=lambda: self.line[-1][1], bow=lambda: self.line[-1][2],
                                   eccentricity=lambda: self.off_outside(self.line[-1][1]))

    # --- by hand, where the bow is too weak
    def _settle(self, way):
        bowed = super()._settle(way)
        allowed = np.array([[step.drive != "bow"] for step in self.steps])
        if not allowed.any():
            return bowed
        only = np.array([[step.drive == "hand"] for step in self.steps])
        names = bowed.limits if way == settle.HINDSIGHT else FELT   # what breaks is known too late to change over
        stalls = reduce(np.logical_or, [bowed.limits[name][1] < bowed.limits[name][0] for name in names])
        by_hand = np.broadcast_to(allowed & (only | stalls), bowed.value.shape)
        if not by_hand.any():
            return bowed
        wrench = ByWrench(self.steps, self.tube, self.found, self.means, self.earlier, self.later,
                          self.elsewhere)
        wrench.known["hold_torque"] = self.known.setdefault("hold_torque", (self.hold_torque, set()))
        return bowed.instead(wrench._settle(way), by_hand)

    def outcome(self, criterion):
        """The Outcome; that of the pass says where the wrench was taken in place of the bow."""
        found, by_hand = super().outcome(criterion), self.settling.by_hand
        return found if by_hand is None or criterion != PASS else replace(found, by_hand=by_hand.any(axis=0))

    @shared
    def minutes(self):
        bowed, by_hand = self.means.minutes(self.worked, self.setting), self.settling.by_hand
        if by_hand is None:
            return bowed
        return Q(np.where(by_hand, self.means.by_wrench(self.worked, self.setting).m_as("min"), bowed.m_as("min")),
                 "min")

    @property
    def bowed(self):
        by_hand = self.settling.by_hand
        return super().bowed if by_hand is None else list(~by_hand)

    @asks(PASS, "N*m")
    def pass_asked(self, feed):
        """Torque of each pass against the bow; where that fails and the step allows it, against two hands on a
        wrench."""
        return self.torque_at(feed), self.given_at(feed)

    def stonings_at(self, feed):
        """How often each pass sends its tool to the stone, unrounded."""
        return edges.regrinds(cut_length=self.cut.cut_length(self.worked, feed),
                              length_to_stone=to_stone(self.means))

    @classmethod
    def wearing(cls, steps, elsewhere):
        tools = {same_tool(step) for step in steps}
        return [each for each in elsewhere if isinstance(each, Ream) and tools & {same_tool(s) for s in each.steps}]

    @shared
    def stoned_before(self):
        """How often the tool of each pass went to the stone already, in passes before with the same one; None where all
        come new to it."""
        rows, found = [Q(0.0, "")] * len(self.steps), False
        for other in self.wearing(self.steps, self.elsewhere):
            for row, step in enumerate(self.steps):
                for at in (n for n, each in enumerate(other.steps) if same_tool(each) == same_tool(step)):
                    rows[row], found = rows[row] + noted(self.means, other.means, lambda: other.at_setting[at]), True
        return stack(rows, "") if found else None

    @shared
    def at_setting(self):
        return self.stonings_at(self.setting)

    @asks("edge life", "")
    def edge_life_asked(self, feed):
        """How often each pass sends its tool to the stone, earlier passes and tubes counted where the tool is one and
        the same, against how often the tool can go there before it cuts under size."""
        stonings = self.stonings_at(feed)
        if self.stoned_before is not None:
            stonings = stonings + self.stoned_before
        return stonings, stonings_in(self.means, self.cut.tool.kind)

    @asks("cleaned up", "mm", felt=False, moves=False)
    def cleaned_asked(self, _):
        """How far the tool leaves the line of the hole that it finds, with the lobes of that hole and what stands in it
        (cast skin, scale, solder), against the stock on radius that each pass takes: what is less leaves a patch of the
        old hole."""
        found, of, n = self.found, f"form.{self.cut.tool.kind}", self.setting.shape[-1]
        later = self.means[f"{of}.out_of_round"], self.means[f"{of}.oversize"]
        asked, gone = [], []
        for row, (off, _, _) in enumerate(self.line):
            lobes, oversize = later if row else (found.lobes / 2 + found.step + found.to_clear, found.oversize)
            asked.append(np.broadcast_to((off + lobes).m_as("mm"), (n,)))
            gone.append(np.broadcast_to(oversize.m_as("mm") / 2, (n,)))
        return Q(np.stack(asked), "mm"), Q(np.maximum(self.cut.radial_stock.m_as("mm") - np.stack(gone), 0), "mm")


class ByWrench(Ream):
    """The same by two hands on a wrench: no bow, no cord."""

    def _settle(self, way):
        return super(Ream, self)._settle(way)

    jerk = 1.0

    def given_at(self, feed):
        return wrench_torque(self.means)

    def minutes_at(self, feed):
        return self.means.by_wrench(self.worked, feed)

    @asks("cord", "N")
    def cord_asked(self, feed):
        """No cord."""
        return Q(np.zeros((1, 1)), "N"), self.means.cord_limit

    @asks("holding", "N*m")
    def holding_asked(self, feed):
        """Torque of each step, without a jerk."""
        return self.torque_at(feed), self.hold_torque
