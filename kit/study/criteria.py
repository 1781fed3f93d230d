"""Criteria: for each step of the argument a demand, and the capacity to meet it, in the same unit.

A criterion is a function of a `Case` that returns an Outcome, or None where the route has no such step. Those of
single steps belong to the operations themselves; those of the finished wall are defined here. Nothing here draws or
judges.
"""
import numpy as np

from kit.base.units import Q
from kit.estimates import holding, seams, walls
from kit.operations import chain, hold, settle
from kit.operations.means import Means, MeansOfShaft, shared
from kit.operations.operation import Bowed, Outcome, pooled, stack
from kit.operations.state import lost, thin_side
from kit.operations.steps import TINY

SHEAR = 1 / np.sqrt(3)   # shear yield over tensile yield, von Mises
POINTER = "pointer_mass", "pointer_reach"   # keys of [use] of a part that carries pointers
FIRST_YIELD = 2 / 3      # moment at first yield over plastic moment of a wall: a fit of some micrometres ends there


class Case:
    """One tube taken through its route: its operations in order, the state after the last, and how it is used.

    `case["alloy.kc11"]` gives the draws of an assumption, this tube's own where they differ from tube to tube, and
    notes in `used` that it was asked for. way: how what is adapted at the bench is settled (settle.WAYS). means: where
    None, the tube's own. elsewhere: Operations of the tubes made before, whose tools it may share. like: the Case of
    another plan; as far as tube, workshop, draws and steps are the same, its operations are taken from it. `shaft`: the
    Case of what runs in it, where that is a part of its own.
    """

    def __init__(self, tube, steps, workshop, draws, use=None, way=settle.FEEL, means=None, elsewhere=(), like=None):
        self.tube, self.steps, self.workshop, self.draws, self.use = tube, steps, workshop, draws, use
        alike = (like is not None and tube.shaft is None and draws is like.draws and way == like.means.way
                 and tube == like.tube and workshop == like.workshop)
        self.means, self.known = means or (like.means if alike else Means(workshop, draws, tube.name, way,
                                                                          tube.alloy)), {}
        self.shaft = tube.shaft and Case(tube.shaft, chain.shaft_steps(tube.shaft, workshop), workshop, draws, use, way,
                                         MeansOfShaft(self.means, tube.shaft))
        self.operations, self.state = chain.run(tube, steps, self.means, self.shaft and self.shaft.state, elsewhere,
                                                like.operations if alike else ())

    def __getitem__(self, key):
        return self.means[key]

    @property
    def used(self):
        return self.means.used

    @used.setter
    def used(self, keys):
        self.means.used = keys

    def of(self, *words):
        """Steps of these operations."""
        return [s for s in self.steps if s.operation in words]

    def done(self, *words):
        """These operations, in order."""
        return [each for each in self.operations if each.name in words]

    def torques(self, *words):
        """Torque of every step of these operations, one row each; None where there is none."""
        return stack([each.torque for each in self.done(*words)], "N*m")

    def asked(self, criterion):
        """The Outcomes of all operations for a criterion, as one; None where there is none."""
        return pooled([each.outcome(criterion) for each in self.operations if criterion in each.outcomes])

    @property
    def bore_first(self):
        return self.means.bore_first

    @property
    def radius(self):
        """Mean radius of the finished tube."""
        return (self.tube.bore + self.tube.wall) / 2

    @property
    def made_by(self):
        """The operation that made the tube, cast or wrapped; None where it comes as a blank."""
        return self.operations[0] if self.operations and self.operations[0].makes else None

    @property
    def trued_by(self):
        """The operation that first cuts the outside true: bore first, the first with a hole to go by. None where the
        outside is left as it was formed."""
        return next((each for each in self.operations
                     if each.trues and (each.found.hole > TINY or self.tube.solid or not self.bore_first)), None)

    @property
    def metal(self):
        """Volume of metal put in: by the operation that makes the tube, else that of its blank."""
        if self.made_by:
            return self.made_by.metal
        tube = self.tube
        outside = tube.largest if tube.lengths else tube.outside
        across = np.pi / 4 * ((outside + self.workshop.blank_stock)**2 - tube.core**2)
        return (across * tube.length).to("mm^3")

    @shared
    def lapped_off(self):
        """What lapping takes from the nominal wall, on the radius: all that the laps take, less what was left on for
        them."""
        laps = self.done("lap")
        if not laps:
            return Q(np.zeros(1), "um")
        left_on = np.maximum(self.workshop.left_on, Q(0.0, "um"))   # a shaft left under size is so by its plan
        return np.maximum(sum(lap.stock[0] for lap in laps) - left_on, Q(0.0, "um")) / 2

    @shared
    def thin_side(self):
        """Thinnest wall over nominal wall."""
        return thin_side(self.tube, self.state)

    def lost_of(self, length):
        """What is missing of the wall of one of its lengths at its thinnest place. A bore of its own may lie off the
        tube's by all that its tool wandered: the two are not led by one line."""
        state = self.state
        if length.bore is None:
            return lost(state)
        made = [each for each in self.operations if any(step.operation in ("drill", "ream") and abs(
            step.diameter - length.bore) < TINY for step in each.steps)]
        off = made[-1].leaves.wander + (state.eccentricity if self.bore_first else Q(0.0, "mm"))
        return off + (state.oversize + state.mouth) / 2 + state.outside_lost

    @shared
    def shear_capacity(self):
        return self.shear_of(self.radius, self.tube.wall, self.tube.length)

    def shear_of(self, radius, wall, length):
        """Shear at which a tube of that mean radius, wall and length yields or buckles."""
        buckling = walls.torsion_buckling(radius=radius, wall=wall, length=length,
                                          modulus=self["alloy.modulus"], poisson=self["alloy.poisson"])
        return self["model.wall_strength"] * np.minimum(SHEAR * self.state.strength, buckling)


# --- the finished wall, in the order of the argument ------------------------------------------------------------------

def blank_allowance(case):
    """Wander of the bore, start error and cleaning-up cut, against the stock on the outside before it is first trued. A
    wall that was cast or wrapped uneven is off by no less than that."""
    trued = case.trued_by
    if trued is None:
        if case.made_by or case.tube.solid:
            return None   # formed to its size: nothing is cut off the outside
        found, stock = case.state, case.workshop.blank_stock   # the plan does not tell what trues it
    else:
        found = trued.found
        stock = found.outside - (case.tube.largest if case.tube.lengths else case.tube.outside)
    off = found.wander if case.bore_first else Q(0.0, "mm")
    if case.made_by:
        off = np.maximum(off, found.eccentricity)
    return Outcome(off + case["blank.cleanup"], stock / 2, "mm")


def least_wall(case):
    """Least wall that use needs, and what lapping takes, against the nominal wall less the eccentricity, and less what
    the bore is larger than its tool and at its mouth.

    The least wall follows from a finger-and-thumb pinch on the free end, up to the first yield, and from the torque of
    setting the pointer. Outside trued on an arbor in the bore: the eccentricity is the arbor's play and run-out and the
    bow of the bore, which truing cannot remove. Outside finished first: it is the whole drift of the bore. Each length
    of another bore or outside has a wall of its own; what stress a sharp shoulder adds is not counted.
    """
    turned = case.use is None or any(key in case.use for key in POINTER)   # nobody sets a pointer on a pump
    strength = case["model.wall_strength"] * case.state.strength

    def needed(radius):
        pinch = walls.least_wall_for_pinch(force=case["hand.pinch"], radius=radius,
                                           yield_strength=FIRST_YIELD * strength, poisson=case["alloy.poisson"])
        turn = walls.least_wall_for_torque(torque=case["pointer.service_torque"], radius=radius,
                                           shear_yield=SHEAR * strength) if turned else pinch
        return np.maximum(pinch, turn)

    asked = needed(case.radius) + case.lapped_off
    left = np.maximum(case.tube.wall - lost(case.state), Q(0, "mm"))
    if not case.tube.lengths:
        return Outcome(asked, left, "mm")
    rows = {REST: (asked, left)}
    for each, bore, outside in _stepped(case.tube):
        wants = needed((bore + outside) / 4)
        rows[each.said] = (wants + case.lapped_off if each.bore is None else wants,
                           np.maximum((outside - bore) / 2 - case.lost_of(each), Q(0, "mm")))
    return _of_lengths(rows, "mm")


REST = "the rest"   # of a tube with lengths of another bore or outside


def _stepped(tube):
    return [(each, *tube.sizes(each)) for each in tube.lengths]


def _of_lengths(rows, unit):
    """An Outcome with a row for each length, from {place: (demand, capacity)}."""
    return Outcome(stack([demand for demand, _ in rows.values()], unit),
                   stack([capacity for _, capacity in rows.values()], unit), unit, tuple(rows))


def wall_grip(case):
    """Out-of-round that jaws, a clamp or fingers leave in the bore that is made in them, against half the radial
    clearance."""
    return pooled([each.outcome("wall: grip") for each in case.operations
                   if "wall: grip" in each.outcomes and each.squeezed])


def wall_twist(case):
    """Shear in the wall from the step's torque, against yield or torsional buckling, whichever is less."""
    torque = case.torques(*(("turn", "file") if case.bore_first else ("ream",)))
    if torque is not None:
        stress = walls.twist_stress(torque=torque.max(axis=0), outside=case.tube.outside,
                                    bore=case.tube.bore) / case.thin_side
        if not case.tube.lengths:
            return Outcome(stress, case.shear_capacity, "MPa")
        rows = {REST: (stress, case.shear_capacity)}
        for each, bore, outside in _stepped(case.tube):
            wall = (outside - bore) / 2
            thin = np.maximum(1 - (case.lost_of(each) / wall).to(""), 1e-9)
            rows[each.said] = (walls.twist_stress(torque=torque.max(axis=0), outside=outside, bore=bore) / thin,
                               case.shear_of((outside + bore) / 4, wall, each.length))
        return _of_lengths(rows, "MPa")


def wall_pinch(case):
    """Bending moment from finger and thumb on the bare tube, in handling and where they hold it against its lap,
    against the moment at which the thin side of the wall first yields."""
    strength = FIRST_YIELD * case["model.wall_strength"] * case.state.strength
    thin = case.tube.wall * case.thin_side
    holds = {place: walls.plastic_moment(wall=thin, yield_strength=strength, length=np.minimum(walls.bending_length(
        radius=case.radius, wall=case.tube.wall, poisson=case["alloy.poisson"], place=place), case.tube.length))
             for place in ("end", "middle")}
    handled = walls.pinch_moment(force=case["hand.pinch"], radius=case.radius)
    rows = {"at the free end": (handled, holds["end"]), "in the middle": (handled, holds["middle"])}
    for lap in case.done("lap"):
        if hold.kind(lap.held_by) == "fingers":
            force = hold.finger_force_for(case.means, lap.held_by, lap.torque[0], lap.held_diameter)
            rows[f"held, {lap.places[0]}"] = walls.pinch_moment(force=force, radius=case.radius), holds["middle"]
    return Outcome(stack([demand for demand, _ in rows.values()]), stack([capacity for _, capacity in rows.values()]),
                   "N*mm", tuple(rows))


def wall_push(case):
    """Stress from the push of the step, against yield or local buckling.

    Outside trued on an arbor: bending under the tool's push, and the knock that drives the tube off an arbor that it
    was driven on. Outside finished first: the thrust of the reamer.
    """
    section = np.pi * (case.tube.outside**2 - case.tube.bore**2) / 4
    rows = {}
    if case.bore_first:
        rows["under the tool"] = walls.bending_stress_on_arbor(
            force=case["hand.tool_push"], span=case.tube.length * 1.3, outside=case.tube.outside, bore=case.tube.bore,
            modulus=case["alloy.modulus"], arbor_modulus=case["arbor_metal.modulus"])
        driven = [each for each in case.done("turn", "file") if hold.kind(each.held_by) == "arbor"]
        if driven:
            rows["off the arbor"] = holding.arbor_push(torque=driven[0].hold_torque, diameter=case.tube.bore) / section
    elif case.of("ream"):
        rows["under the reamer"] = case["push.push"] / section
    else:
        return None
    buckling = walls.axial_buckling(radius=case.radius, wall=case.tube.wall, modulus=case["alloy.modulus"],
                                    poisson=case["alloy.poisson"])
    stress = stack([(each / case.thin_side).to("MPa") for each in rows.values()], "MPa")
    return Outcome(stress, case["model.wall_strength"] * np.minimum(case.state.strength, buckling), "MPa",
                   tuple(rows))


def seam_strength(case):
    """Load on each length of a soldered seam, at once from the torque of the steps after it and for long from the
    spring that the sheet keeps and the pressure within, against what the solder bears."""
    soldered = case.done("solder")
    if not soldered:
        return None
    seam, after = soldered[-1], case.operations[case.operations.index(soldered[-1]) + 1:]
    rows = {"for long, by the sheet's spring": (case.state.sprung, seam.bears(long=True))}
    for each in after:
        if isinstance(each, Bowed):
            load = seams.load_of_torque(torque=each.torque.max(axis=0), radius=case.radius)
            rows[f"at once, {each.places[-1]}"] = load, seam.bears()
    if case.use and "pressure" in case.use and case.tube.plunger is not None:
        load = case.state.sprung + seams.load_of_pressure(pressure=case.use["pressure"], diameter=case.tube.bore)
        rows["for long, spring and pressure"] = load, seam.bears(long=True)
    return Outcome(stack([demand for demand, _ in rows.values()], "N/mm"),
                   stack([capacity for _, capacity in rows.values()], "N/mm"), "N/mm", tuple(rows))


def tight(case):
    """Pores through the finished cast wall that are to be expected, against how many this casting's luck bears before
    there is one (a draw of chance: by a wall that leaks, no piston holds)."""
    cast = [each for each in case.done("cast") if each.cored]
    if cast and case.tube.plunger is not None:
        return Outcome(cast[0].through_holes, -np.log(case["casting.luck"]), "")


# --- all of them ------------------------------------------------------------------------------------------------------

def _of_steps(criterion):
    """The criterion of that name, gathered from every operation that has it."""
    def ask(case):
        return case.asked(criterion)

    method = next(getattr(kind, kind.outcomes[criterion]) for kind in chain.OPERATIONS.values()
                  if criterion in kind.outcomes)
    ask.__doc__ = method.__doc__
    return ask


IN_ORDER = (
    ("mould filled", None), ("bend radius", None), ("seam gap", None), ("heat of the fire", None),
    ("draw pull", None), ("draw tears", None), ("cracking", None),
    ("drilling torque", None), ("drilling thrust", None), ("drill buckling", None), ("reaming pass", None),
    ("tool shank", None), ("tool hard enough", None), ("edge life", None), ("cleaned up", None),
    ("turning the outside", None), ("polished", None), ("lapping torque", None), ("cord", None), ("holding", None),
    ("blank allowance", blank_allowance), ("least wall", least_wall), ("wall: grip", wall_grip),
    ("wall: twist", wall_twist), ("wall: pinch", wall_pinch), ("wall: push", wall_push), ("lapping stock", None),
    ("seam strength", seam_strength), ("tight", tight))
CRITERIA = {name: function or _of_steps(name) for name, function in IN_ORDER}
# asked of a solid shaft: it has no wall, and no bore
OF_SHAFT = {name for name, function in IN_ORDER if function in (None, blank_allowance)}
