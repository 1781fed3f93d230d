"""What holds the work at a step, and the torque that it gives before the work slips."""
import numpy as np

from kit.base.units import Q
from kit.estimates import effort, holding

DRY, OILED = FINGERS = ["fingers, dry", "fingers, oiled"]
STRAPS = ["strap, leather", "strap, leather, oiled"]
CLAMP, JAWS, ARBOR = "wooden clamp, fitted", "jaws", "arbor, driven"
CEMENTS = ["pitch", "rosin and wax", "rosin with brick dust", "shellac (a declared substitute)"]
OF_BLANK = [JAWS, CLAMP, *CEMENTS]               # while the hole is made
OF_OUTSIDE = [ARBOR, *CEMENTS]                   # while the outside is made, from within
OF_SLEEVE = [*FINGERS, *STRAPS, CLAMP, *CEMENTS]   # against its lap, from outside
HELD = Q(10, "min")   # for which fingers hold on before they are changed or rested


def finger_force(means):
    """Pinch that a man's finger and thumb keep up."""
    return effort.pinch_for(minutes=HELD, strength=means["pinch.pinch"])


def finger_torque(means, held_by, diameter):
    """Torque that finger and thumb hold, squeezing as hard as they keep up."""
    force = finger_force(means)
    friction = (holding.finger_friction(force=force, factor=means[f"hold.{held_by}.friction_factor"])
                if held_by == DRY else means[f"hold.{held_by}.friction"])
    return holding.pinch_torque(force=force, diameter=diameter, friction=friction)


def finger_force_for(means, held_by, torque, diameter):
    """Pinch that holds a torque, and no more than is kept up."""
    if held_by == DRY:
        force = holding.pinch_for_torque(torque=torque, diameter=diameter,
                                         factor=means[f"hold.{held_by}.friction_factor"])
    else:
        force = (torque / (means[f"hold.{held_by}.friction"] * diameter)).to("N")
    return np.minimum(force, finger_force(means))


def held_torque(means, held_by, diameter, tube):
    """Torque that the hold gives, Quantity of shape (n,). diameter: where it holds."""
    def of(name):
        return means[f"hold.{held_by}.{name}"]

    if held_by in FINGERS:
        return finger_torque(means, held_by, diameter)
    if held_by in STRAPS:
        return holding.strap_torque(tension=of("tension"), diameter=diameter, friction=of("friction"), wrap="1 turn")
    if held_by == CLAMP:
        return of("grip_share") * holding.clamp_torque(force=of("force"), diameter=diameter, friction=of("friction"),
                                                       kind="split block")
    if held_by == JAWS:
        return (means.workshop.jaws * means["jaws.load"] * of("friction") * diameter / 2).to("N*m")
    if held_by == ARBOR:   # driven until it grips, but not until the bore keeps a bell mouth
        most = holding.arbor_stretch_limit(diameter=tube.bore, yield_strength=means["alloy.yield_strength"],
                                           modulus=means["alloy.modulus"])
        return holding.arbor_torque(stretch=np.minimum(of("stretch"), most), taper=of("taper"), wall=tube.wall,
                                    modulus=means["alloy.modulus"], friction=means["guide.friction"],
                                    length=tube.length)
    return holding.cement_torque(shear_strength=of("shear_strength"), diameter=diameter, length=tube.length)
