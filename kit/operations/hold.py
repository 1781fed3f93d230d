"""What holds the work at a step, and the torque that it gives before the work slips."""
import numpy as np

from kit.base import tables
from kit.base.units import Q
from kit.estimates import effort, holding, walls

CENTRES = "centres and carrier"   # a solid shaft, driven at its end: it holds whatever the tool asks


def kind(held_by):
    """By what it grips: a word of data/reference/kinds.csv; "" where nothing holds, or only its end is driven."""
    return tables.kind("holds", held_by) or ""


def _that_hold(what):
    """What may hold that, in the order of the table."""
    return [row["of"] for row in tables.load("kinds") if what in (row["holds"] or "").split("; ")]


OF_BLANK = _that_hold("blank")       # while the hole is made
OF_OUTSIDE = _that_hold("outside")   # while the outside is made, from within
OF_SLEEVE = _that_hold("sleeve")     # against its lap, from outside
OF_SHAFT = [CENTRES, *_that_hold("shaft")]   # of a solid one, by its end
OF_RING = _that_hold("ring")         # a ring lap on a shaft that turns
SQUEEZING = "clamp", "jaws", "fingers"   # kinds that press a bore out of round while it is made
SHELL = 1.5   # square of the lobes times wall over radius, up to which a squeezed tube bends as a thin shell
HELD = Q(10, "min")   # for which fingers hold on before they are changed or rested


def finger_force(means):
    """Pinch that a man's finger and thumb keep up."""
    return effort.pinch_for(minutes=HELD, strength=means["pinch.pinch"])


def finger_torque(means, held_by, diameter):
    """Torque that finger and thumb hold, squeezing as hard as they keep up."""
    force = finger_force(means)
    friction = (holding.finger_friction(force=force, factor=means[f"hold.{held_by}.friction_factor"])
                if _by_the_person(means, held_by) else means[f"hold.{held_by}.friction"])
    return holding.pinch_torque(force=force, diameter=diameter, friction=friction)


def _by_the_person(means, held_by):
    """Whether the friction of fingers falls with their force, as the kit's fit has it, with a factor of the person."""
    return f"hold.{held_by}.friction_factor" in means


def finger_force_for(means, held_by, torque, diameter):
    """Pinch that holds a torque, and no more than is kept up."""
    if _by_the_person(means, held_by):
        force = holding.pinch_for_torque(torque=torque, diameter=diameter,
                                         factor=means[f"hold.{held_by}.friction_factor"])
    else:
        force = (torque / (means[f"hold.{held_by}.friction"] * diameter)).to("N")
    return np.minimum(force, finger_force(means))


def out_of_round(means, held_by, torque, outside, bore, length):
    """Out-of-round, peak to valley, that jaws, a clamp or fingers leave in a bore that was worked in them.

    Jaws are set once, and hold as they are set. A clamp is drawn together no more than the torque asks, with the
    maker's reserve; its block is as long as the tube. Fingers squeeze no more than the torque asks, and shift on the
    tube all the time, so that most of their oval is lapped away again. The thin-ring warning is kept where the wall is
    thick, although the shear that the formula leaves out is added: that is only the second term of a series.
    """
    radius, wall = (outside + bore) / 4, (outside - bore) / 2
    ring = {"radius": radius, "wall": wall, "modulus": means["alloy.modulus"]}
    lobes = means.workshop.jaws if kind(held_by) == "jaws" else 2
    if kind(held_by) != "clamp":
        bent = outside   # thick: the squeeze dies out within about a diameter
        if (lobes**2 * wall / radius).m_as("") < SHELL:
            bent = walls.bending_length(radius=radius, wall=wall, lobes=lobes, place="middle",
                                        poisson=means["alloy.poisson"])
        load, kept = means["jaws.load"], 1.0
        if kind(held_by) == "fingers":
            load = finger_force_for(means, held_by, means["drive.peak"] * torque, outside)
            kept = means[f"hold.{held_by}.oval_kept"]
        shape = kept * walls.jaw_distortion(jaws=lobes, load=load, width=np.minimum(bent, length),
                                            **ring).peak_to_valley
    else:
        force = means.workshop.reserve * (means["drive.peak"] * torque / clamp_grip(means, held_by, outside)).to("N")
        shape = walls.clamp_distortion(force=np.minimum(force, means[f"hold.{held_by}.force"]), width=length,
                                       grip_share=means[f"hold.{held_by}.grip_share"], **ring)
    return shape * (1 + (lobes * wall / radius).to("")**2 / 3)


def clamp_grip(means, held_by, diameter):
    """Torque that a fitted clamp gives for each unit of the force that draws it together."""
    def of(name):
        return means[f"hold.{held_by}.{name}"]

    one = Q(1.0, "N")
    return of("grip_share") * holding.clamp_torque(force=one, diameter=diameter, friction=of("friction"),
                                                   kind="split block") / one


def held_torque(means, held_by, diameter, tube, strength):
    """Torque that the hold gives, Quantity of shape (n,). diameter: where it holds. strength: at which the tube
    yields."""
    def of(name):
        return means[f"hold.{held_by}.{name}"]

    grips = kind(held_by)
    if grips == "fingers":
        return finger_torque(means, held_by, diameter)
    if grips == "strap":
        return holding.strap_torque(tension=of("tension"), diameter=diameter, friction=of("friction"), wrap="1 turn")
    if grips == "clamp":
        return (of("force") * clamp_grip(means, held_by, diameter)).to("N*m")
    if grips == "jaws":
        return (means.workshop.jaws * means["jaws.load"] * of("friction") * diameter / 2).to("N*m")
    if grips == "arbor":   # driven until it grips, but not until the bore keeps a bell mouth
        most = holding.arbor_stretch_limit(diameter=tube.bore, yield_strength=strength,
                                           modulus=means["alloy.modulus"])
        return holding.arbor_torque(stretch=np.minimum(of("stretch"), most), taper=of("taper"), wall=tube.wall,
                                    modulus=means["alloy.modulus"], friction=means["guide.friction"],
                                    length=tube.length)
    return holding.cement_torque(shear_strength=of("shear_strength"), diameter=diameter, length=tube.length)
