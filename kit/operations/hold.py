"""What holds the work at a step, and the torque that it gives before the work slips."""
import numpy as np

from kit.estimates import holding

FINGERS = ["fingers, dry", "fingers, oiled"]
CLAMPS = ["wooden clamp, fitted", "strap, leather"]
CEMENTS = ["pitch", "rosin and wax", "shellac (a declared substitute)"]
ARBOR = "arbor, driven"
OF_BLANK = ["jaws", "wooden clamp, fitted", *CEMENTS]       # while the hole is made
OF_OUTSIDE = [ARBOR, *CEMENTS]                              # while the outside is made, from within
OF_SLEEVE = [*FINGERS, *CLAMPS, *CEMENTS]                   # against its lap, from outside


def finger_torque(means, held_by, diameter):
    """Torque that finger and thumb hold, squeezing as hard as they keep up."""
    force = means[f"hold.{held_by}.force"]
    return holding.pinch_torque(force=force, diameter=diameter, friction=_friction(means, held_by, force))


def _friction(means, held_by, force):
    if held_by == "fingers, dry":
        return holding.finger_friction(force=force, factor=means[f"hold.{held_by}.friction_factor"])
    return means[f"hold.{held_by}.friction"]


def finger_force(means, held_by, torque, diameter):
    """Force of finger and thumb that holds a torque, and no more than they keep up: dry friction falls as they press, so
    it is found from the force that they do keep up."""
    most = means[f"hold.{held_by}.force"]
    share = np.minimum((torque / finger_torque(means, held_by, diameter)).m_as(""), 1.0)
    exponent = 1 / (1 - 0.206) if held_by == "fingers, dry" else 1.0   # of holding.finger_friction
    return most * share**exponent


def held_torque(means, held_by, diameter, tube):
    """Torque that the hold gives, Quantity of shape (n,). diameter: where it holds."""
    def of(name):
        return means[f"hold.{held_by}.{name}"]

    if held_by in FINGERS:
        return finger_torque(means, held_by, diameter)
    if held_by == "strap, leather":
        return holding.strap_torque(tension=of("force"), diameter=diameter, friction=of("friction"), wrap="1 turn")
    if held_by == "wooden clamp, fitted":
        return holding.clamp_torque(force=of("force"), diameter=diameter, friction=of("friction"), kind="split block")
    if held_by == "jaws":
        return (means.workshop.jaws * means["jaws.load"] * of("friction") * diameter / 2).to("N*m")
    if held_by == ARBOR:
        wall, bore = tube.wall, tube.bore
        most = holding.arbor_stretch_limit(diameter=bore, yield_strength=means["alloy.yield_strength"],
                                           modulus=means["alloy.modulus"])
        return holding.arbor_torque(stretch=np.minimum(of("stretch"), most), taper=of("taper"), wall=wall,
                                    modulus=means["alloy.modulus"], friction=of("friction"), length=tube.length)
    return holding.cement_torque(shear_strength=of("shear_strength"), diameter=tube.bore, length=tube.length)
