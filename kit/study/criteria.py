"""Criteria: for each step of the argument what it demands and what there is to give, in the same unit.

A criterion is a function of a `Case` (one tube, its steps, the workshop, the draws) that returns an Outcome, or None
where the route has no such step. Nothing here draws or judges: `study.py` does.
"""
from dataclasses import dataclass

import numpy as np

from kit.estimates import bow, cutting, lapping, walls
from kit.operations import routes
from kit.base.units import Q

SHEAR = 1 / np.sqrt(3)   # shear yield over tensile yield, von Mises
HALF_HOUR = Q(30, "min")


@dataclass(frozen=True)
class Outcome:
    """demand and capacity: Quantities of shape (places, n) or (n,). places: what the rows are. by_hand: share of draws
    in which the bow would not do and the wrench was taken."""
    demand: Q
    capacity: Q
    unit: str
    places: tuple = ()
    by_hand: float = 0.0


def shared(method):
    """A quantity that several criteria use: worked out once, and remembered with the assumptions that went in."""
    name = method.__name__

    def get(self):
        if name not in self.known:
            outer, self.used = self.used, set()
            self.known[name] = method(self), self.used
            self.used = outer
        value, used = self.known[name]
        self.used |= used
        return value

    get.__doc__ = method.__doc__
    return property(get)


class Case:
    """One tube, its steps, the workshop's choices, how it is used, and the draws: all that a criterion may ask about.

    `case["alloy.kc11"]` gives the draws of an assumption, fresh ones for this tube where they differ from tube to tube,
    and notes in `used` that it was asked for.
    """

    def __init__(self, tube, steps, workshop, draws, use=None):
        self.tube, self.steps, self.workshop, self.draws, self.use = tube, steps, workshop, draws, use
        self.known, self.used = {}, set()
        self.drills, self.reams = routes.passes(steps, "drill"), routes.passes(steps, "ream")

    def __getitem__(self, key):
        own = f"{key}@{self.tube.name}"
        key = own if own in self.draws else key
        self.used.add(key)
        return self.draws[key]

    def of(self, *operations):
        return [s for s in self.steps if s.operation in operations]

    @property
    def bore_first(self):
        return self.workshop.order == "bore first"

    @property
    def radius(self):
        """Mean radius of the finished tube."""
        return (self.tube.bore + self.tube.wall) / 2

    @shared
    def centre_torque(self):
        return routes.centre_torque(self)

    @shared
    def turning_rate(self):
        """Mean rate of the spindle while the bow moves, either way round."""
        return bow.stroke(length=self["drive.stroke_length"], pulley_diameter=self.workshop.pulley,
                          frequency=self["drive.stroke_frequency"]).mean_rate

    @shared
    def turns_per_minute(self):
        """Turns of the spindle that cut, one way, in a minute of bowing."""
        return bow.turns_per_minute(length=self["drive.stroke_length"], pulley_diameter=self.workshop.pulley,
                                    frequency=self["drive.stroke_frequency"], duty=self["drive.duty"])

    def bow_torque(self, minutes):
        pull = bow.pull(minutes=minutes, one_minute=self["drive.pull_one_minute"], sustained=self["drive.pull_sustained"])
        return bow.spindle_torque(pull=pull, pulley_diameter=self.workshop.pulley, centre_torque=self.centre_torque)

    @shared
    def steady_torque(self):
        """What the bow gives for half an hour and longer."""
        return self.bow_torque(HALF_HOUR)

    def minutes(self, feed):
        return Q((self.tube.length / feed).m_as("") / self.turns_per_minute.m_as("turn/min"), "min")

    def pull_for(self, torque):
        return bow.pull_for(torque=torque, pulley_diameter=self.workshop.pulley, centre_torque=self.centre_torque)

    @shared
    def cord_limit(self):
        return bow.cord_limit(rest_tension=self["drive.rest_tension"], friction=self["cord.friction"], wrap=self.workshop.wrap)

    @shared
    def drilling(self):
        """(torque, what the bow gives), a row a drilling step."""
        torque = [cut.torque(self) for cut in self.drills]
        given = [self.bow_torque(self.minutes(np.maximum(cut.column("feed"), cut.least_feed(self)))) for cut in self.drills]
        return stack(torque), stack(given)

    @shared
    def thrust(self):
        """Thrust of each drill: chisel edge and lips from solid, the lips alone where it opens a hole."""
        found = []
        for cut in self.drills:
            least = cut.least_feed(self)
            for row, step in enumerate(cut.steps):
                feed = least[row] if least.ndim == 2 else least
                if step.before > 0:
                    push = cutting.lip_thrust(diameter=step.diameter, stock=(step.diameter - step.before) / 2, feed=feed, kc11=self["alloy.kc11"],
                                              exponent=self["alloy.exponent"], point_angle=step.tool.point_angle)
                    edge = 0.5 * self["edge.edge_force"] * (step.diameter - step.before)   # both lips, half of the edge force pushes back
                    found.append(self["model.drill_thrust"] * (push + edge).to("N"))
                else:
                    found.append(self["model.drill_thrust"] * cutting.handbook_drill(
                        diameter=step.diameter, feed=feed, material_factor=self["alloy.material_factor"],
                        wear_factor=self["edge.wear_factor"]).thrust)
        return stack(found)

    @shared
    def reaming(self):
        """(torque, what the bow gives, whether it is done by hand), a row a pass."""
        torque, given, hand = [], [], []
        slips = bow.spindle_torque(pull=self.cord_limit, pulley_diameter=self.workshop.pulley, centre_torque=self.centre_torque)
        for cut in self.reams:
            need = cut.torque(self)
            gives = self.bow_torque(self.minutes(np.maximum(cut.column("feed"), cut.least_feed(self))))
            allowed = np.array([[s.drive != "bow"] for s in cut.steps])
            only = np.array([[s.drive == "hand"] for s in cut.steps])
            fails = np.minimum(gives, slips) < need
            torque.append(need), given.append(gives), hand.append(Q(allowed & (only | fails), ""))
        return stack(torque), stack(given), stack(hand).m

    @shared
    def turning_torque(self):
        """Torque of turning and filing the outside, a row a step; at the size that the step finds, the worst."""
        torque = []
        for step in self.of("turn", "file"):
            if step.operation == "turn":
                force = self["model.cutting_torque"] * (
                    cutting.turning_force(depth=step.depth, feed=step.feed, kc11=self["alloy.kc11"], exponent=self["alloy.exponent"])
                    + self["edge.edge_force"] * step.depth)
            else:
                force = self["file.friction"] * self["hand.file_push"]
            torque.append(force * step.before / 2)
        return stack(torque, "N*m")

    @shared
    def lapping_torque(self):
        return stack([lapping.lap_torque(friction=self["grain.friction"], pressure=s.pressure, diameter=s.diameter,
                                         length=self.tube.length) for s in self.of("lap")])

    @shared
    def drift(self):
        """How far the bore's axis has left its start at the far end, radial."""
        return self["model.drift"] * self["drift.drift"] * self.tube.length + self["drift.entry_error"]

    @shared
    def eccentricity(self):
        """Offset of the bore's axis from that of the outside, at its worst place."""
        if not self.bore_first:
            return self.drift
        bowed = walls.bore_bow(drift=self["model.drift"] * self["drift.drift"], length=self.tube.length, share=self["arbor.bow_share"])
        return (self["arbor.play"] + self["arbor.runout"]) / 2 + bowed

    @shared
    def lap_stock(self):
        """Stock on diameter from the turned or filed shaft to the wanted clearance.

        The maker leaves the shaft `left_on` too large for the bore, by calipers that ride on the peaks of the roughness
        (so that layer is inside this stock) but feel the mean of a form error: the tight places stand half the form
        errors of both prouder than that.
        """
        return self.workshop.left_on + self.tube.clearance + (self["turned.form_error"] + self["reamed.form_error"]) / 2

    @shared
    def thin_side(self):
        """Thinnest wall over nominal wall; nothing is left where the bore breaks out."""
        return np.maximum(1 - (self.eccentricity / self.tube.wall).to(""), 1e-9)

    @shared
    def shear_capacity(self):
        buckling = walls.torsion_buckling(radius=self.radius, wall=self.tube.wall, length=self.tube.length,
                                          modulus=self["alloy.modulus"], poisson=self["alloy.poisson"])
        return self["model.wall_strength"] * np.minimum(SHEAR * self["alloy.yield_strength"], buckling)


def stack(quantities, unit=None):
    """Arrays of shape (places, n), (n,) or single numbers, one under the other."""
    if not quantities:
        return None
    unit = unit or quantities[0].units
    plain = [np.atleast_1d(q.m_as(unit)) for q in quantities]
    if len(plain) == 1:
        return Q(np.atleast_2d(plain[0]), unit)
    n = max(p.shape[-1] for p in plain)
    return Q(np.concatenate([np.broadcast_to(p, (p.shape[0] if p.ndim == 2 else 1, n)) for p in plain]), unit)


def names(steps):
    return tuple(s.name for s in steps)


def _cut_steps(groups):
    return names(s for cut in groups for s in cut.steps)


# --- one function a criterion, in the order of the argument -----------------------------------------------------------

def drilling_torque(case):
    """Torque of the two-lip drill at the least viable chip, against what the bow gives for as long as the hole takes."""
    if case.drills:
        torque, given = case.drilling
        return Outcome(torque, given, "N*m", _cut_steps(case.drills))


def drilling_thrust(case):
    """Thrust of the drill at the least viable chip, against the push of hand, breast or lever."""
    if case.drills:
        return Outcome(case.thrust, case["push.push"], "N", _cut_steps(case.drills))


def drill_as_column(case):
    """Thrust against the Euler load of the drill's shank: short and free at the start, long and guided in the hole."""
    if not case.drills:
        return None
    loads = []
    for cut in case.drills:
        shank = cut.diameter * cut.tool.shank_ratio
        free = cutting.column_load(diameter=shank, length=case.workshop.start_length, modulus=case["tool.modulus"], end_factor=2)
        guided = cutting.column_load(diameter=shank, length=case.tube.length + case.workshop.start_length / 2,
                                     modulus=case["tool.modulus"], end_factor=0.7)
        loads.append(np.minimum(free, guided))
    return Outcome(case.thrust, stack(loads), "N", _cut_steps(case.drills))


def reaming_pass(case):
    """Torque of each pass against the bow; where that fails and the step allows it, against two hands on a wrench."""
    if not case.reams:
        return None
    torque, given, hand = case.reaming
    capacity = Q(np.where(hand, routes.wrench_torque(case).m_as("N*m"), given.m_as("N*m")), "N*m") if hand.any() else given
    return Outcome(torque, capacity, "N*m", _cut_steps(case.reams), by_hand=float(hand.any(axis=0).mean()))


def tool_shank(case):
    """Torque of each cut with the drive's peak, against the torque that yields the tool's shank."""
    groups, torques = [*case.drills, *case.reams], []
    if case.drills:
        torques.append(case.drilling[0])
    if case.reams:
        torques.append(case.reaming[0])
    if groups:
        strength = [cutting.shank_torque(diameter=cut.diameter * cut.tool.shank_ratio, shear_yield=case["tool.shear_yield"],
                                         section=cut.tool.shank) for cut in groups]
        return Outcome(case["drive.peak"] * stack(torques), stack(strength), "N*m", _cut_steps(groups))


def turning_outside(case):
    """Tangential force of tool or file times radius, against the torque that the bow keeps up."""
    if case.of("turn", "file"):
        return Outcome(case.turning_torque, case.steady_torque, "N*m", names(case.of("turn", "file")))


def lapping_torque(case):
    """Friction of the charged lap at the hand's pressure, against the torque that the bow keeps up."""
    if case.of("lap"):
        return Outcome(case.lapping_torque, case.steady_torque, "N*m", names(case.of("lap")))


def cord(case):
    """Pull that each bowed step needs, against the pull at which the cord slips on its pulley."""
    torques, places = [], []
    if case.drills:
        torques.append(case.drilling[0]), places.extend(_cut_steps(case.drills))
    if case.reams:
        torque, _, hand = case.reaming
        torques.append(Q(np.where(hand, 0, torque.m), torque.units)), places.extend(_cut_steps(case.reams))
    for torque, steps in ((case.turning_torque, case.of("turn", "file")), (case.lapping_torque, case.of("lap"))):
        if steps:
            torques.append(torque), places.extend(names(steps))
    if torques:
        return Outcome(case.pull_for(stack(torques)), case.cord_limit, "N", tuple(places))


def blank_allowance(case):
    """Wander of the bore, start error and cleaning-up cut, against the stock on the blank's outside before it is trued."""
    wander = case.drift if case.bore_first else Q(0.0, "mm")
    return Outcome(wander + case["blank.cleanup"], case.workshop.blank_stock / 2, "mm")


def wall_left(case):
    """Least wall that use needs, with the lapping stock, against the nominal wall less the eccentricity.

    The least wall follows from a finger-and-thumb pinch on the free end and from the torque of setting the pointer.
    Outside trued on an arbor in the bore: the eccentricity is the arbor's play and run-out and the bow of the bore,
    which truing cannot remove. Outside finished first: it is the whole drift of the bore.
    """
    strength = case["model.wall_strength"] * case["alloy.yield_strength"]
    pinch = walls.least_wall_for_pinch(force=case["hand.pinch"], radius=case.radius, yield_strength=strength, poisson=case["alloy.poisson"])
    turn = walls.least_wall_for_torque(torque=case["pointer.service_torque"], radius=case.radius, shear_yield=SHEAR * strength)
    left = np.maximum(case.tube.wall - case.eccentricity, Q(0, "mm"))
    return Outcome(np.maximum(pinch, turn) + case.lap_stock / 2, left, "mm")


def wall_grip(case):
    """Out-of-round that the jaws leave in the bore, against half the radial clearance.

    The thin ring's warning stays where the blank is thick, though the shear that it leaves out is added: a second term of a
    series is not the whole of it.
    """
    if case.bore_first:   # bored in the thick blank: the squeeze dies out within about a diameter
        outside = case.tube.outside + case.workshop.blank_stock
        wall, radius, bent = (outside - case.tube.bore) / 2, (outside + case.tube.bore) / 4, outside
    else:
        wall, radius = case.tube.wall, case.radius
        bent = walls.bending_length(radius=radius, wall=wall, lobes=case.workshop.jaws, place="middle", poisson=case["alloy.poisson"])
    width = np.minimum(bent, case.tube.length)
    shape = walls.jaw_distortion(jaws=case.workshop.jaws, load=case["jaws.load"], radius=radius, wall=wall, width=width,
                                 modulus=case["alloy.modulus"])
    thick = 1 + (case.workshop.jaws * wall / radius).to("")**2 / 3   # shear, which the thin ring leaves out (see walls.jaw_distortion)
    return Outcome(shape.peak_to_valley * thick, case.tube.clearance / 4, "um")


def wall_twist(case):
    """Shear in the wall from the step's torque, against yield or torsional buckling, whichever is less."""
    torque = case.turning_torque if case.bore_first else case.reaming[0] if case.reams else None
    if torque is not None:
        stress = walls.twist_stress(torque=torque.max(axis=0), outside=case.tube.outside, bore=case.tube.bore) / case.thin_side
        return Outcome(stress, case.shear_capacity, "MPa")


def wall_pinch(case):
    """Bending moment from finger and thumb on the bare tube, against the plastic moment of the wall."""
    moment = walls.pinch_moment(force=case["hand.pinch"], radius=case.radius)
    strength = case["model.wall_strength"] * case["alloy.yield_strength"]
    holds = [walls.plastic_moment(wall=case.tube.wall, yield_strength=strength, length=np.minimum(walls.bending_length(
        radius=case.radius, wall=case.tube.wall, poisson=case["alloy.poisson"], place=place), case.tube.length)) for place in ("end", "middle")]
    return Outcome(moment, stack(holds), "N*mm", ("at the free end", "in the middle"))


def wall_push(case):
    """Stress from the push of the step, against yield or local buckling.

    Outside trued on an arbor: bending under the tool's push. Outside finished first: the thrust of the reamer.
    """
    if case.bore_first:
        stress = walls.bending_stress_on_arbor(force=case["hand.tool_push"], span=case.tube.length * 1.3, outside=case.tube.outside,
                                               bore=case.tube.bore, modulus=case["alloy.modulus"], arbor_modulus=case["arbor_metal.modulus"])
    elif case.reams:
        section = np.pi * (case.tube.outside**2 - case.tube.bore**2) / 4
        stress = case["push.push"] / section
    else:
        return None
    buckling = walls.axial_buckling(radius=case.radius, wall=case.tube.wall, modulus=case["alloy.modulus"], poisson=case["alloy.poisson"])
    return Outcome((stress / case.thin_side).to("MPa"), case["model.wall_strength"] * np.minimum(case["alloy.yield_strength"], buckling), "MPa")


def removal_rate(case, step):
    """Rate at which the shaft's radius falls under this abrasive."""
    grain = f"abrasive.{step.abrasive}"
    bite = lapping.hardness_factor(ratio=case["alloy.hardness"] / case[f"{grain}.hardness"])
    return lapping.depth_rate(coefficient=case["model.removal"] * bite * case[f"{grain}.wear_coefficient"], hardness=case["alloy.hardness"],
                              pressure=step.pressure, speed=(case.turning_rate * step.diameter / 2).to("m/s"))


def lapping_stock(case):
    """Stock on diameter that each abrasive has to take, against what it removes in the hours granted."""
    steps = case.of("lap")
    if not steps:
        return None
    later = sum((s.stock for s in steps if s.stock is not None), Q(0.0, "um"))
    demand = [s.stock if s.stock is not None else np.maximum(case.lap_stock - later, Q(1e-3, "um")) for s in steps]
    removed = [2 * removal_rate(case, s) * case["drive.attended"] * s.hours for s in steps]
    return Outcome(stack(demand, "um"), stack(removed, "um"), "um", names(steps))


CRITERIA = {
    "drilling torque": drilling_torque,
    "drilling thrust": drilling_thrust,
    "drill as a column": drill_as_column,
    "reaming pass": reaming_pass,
    "tool shank": tool_shank,
    "turning the outside": turning_outside,
    "lapping torque": lapping_torque,
    "cord": cord,
    "blank allowance": blank_allowance,
    "wall left": wall_left,
    "wall: grip": wall_grip,
    "wall: twist": wall_twist,
    "wall: pinch": wall_pinch,
    "wall: push": wall_push,
    "lapping stock": lapping_stock,
}
