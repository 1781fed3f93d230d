"""What can be told without modern gauges: by calliper and plug gauge, by light under an edge, by a plug that falls.

Each says how large a difference must be, or what is read, before eye and hand are sure of it. What is told on diameter
is diametral; `radial_clearance` is the gap on one side. `light_gap` is the narrowest gap that is seen as light.
"""
import numpy as np

from kit.base.units import units, warn_outside

_NARROW = (0, 0.2, "", "the radial clearance is {} of the radius; the formula for a narrow gap needs {}")


@units("um", weber="> 0 < 1", force="N > 0", stiffness="N/um > 0")
def caliper_drag(weber, force, stiffness):
    """Smallest difference of diameter told by how hard a calliper drags over the work.

    weber: smallest share by which a drag must change to be felt. force: of the calliper's points on the work.
    stiffness: of the calliper, force for each length by which its points are spread. Numbers or arrays. Result: um.

    Formula: weber force / stiffness; the drag changes by the same share as the force.
    Range: two pieces compared, one straight after the other, same oil, same speed; no absolute size is told so.

    >>> import kit
    >>> kit.units.show(kit.feel.caliper_drag(weber=0.07, force="1 N", stiffness="10 N/mm"))
    '7.00 µm'

    Source: Hooke's law and Weber's law.
    """
    return weber * force / stiffness


@units("um", width="mm >= 0", diameter="mm > 0")
def caliper_rock(width, diameter):
    """How much larger a bore is than an inside calliper or pin gauge that can be rocked in it.

    width: over which its free point swings in all, from touching on one side to touching on the other. diameter: of the
    bore. Numbers or arrays. Result: um, bore less gauge.

    Formula: width^2 / (8 diameter).
    Range: swings up to 0.3 of the diameter, where it is 3 % too small (warns beyond); the other point stays where it
    is, pointed ends.

    >>> import kit
    >>> kit.units.show(kit.feel.caliper_rock(width="1 mm", diameter="8 mm"))
    '15.6 µm'

    Source: geometry of the chord, worked out by ourselves.
    """
    warn_outside(width / diameter, 0, 0.3, "", "the swing is {} of the diameter; the formula for a small one needs {}")
    return 1e3 * width**2 / (8 * diameter)


@units("um", threshold="um > 0", arm="mm > 0", length="mm > 0")
def plug_shake(threshold, arm, length):
    """Smallest clearance told by shaking a plug in its bore.

    threshold: smallest play that is seen or felt at the far end. arm: from the middle of the bore to there. length: of
    plug in the bore. Numbers or arrays. Result: um, diametral.

    Formula: threshold length / arm: the plug tilts by clearance over length.
    Range: straight bore and plug, arm well above half the length; a bow of the bore or a bell mouth is told as
    clearance too little or too much.
    Source: geometry.
    """
    return threshold * length / arm


def _fall(weight, diameter, length, travel, viscosity, eccentricity):
    """Time of the fall times the cube of the radial clearance; SI."""
    return 3 * np.pi * viscosity * length * diameter**3 * travel / (4 * weight * (1 + 1.5 * eccentricity**2))


@units("s", weight="N > 0", diameter="m > 0", length="m > 0", radial_clearance="m > 0", travel="m > 0",
       viscosity="Pa*s > 0", eccentricity=">= 0 <= 1")
def fall_time(weight, diameter, length, radial_clearance, travel, viscosity, eccentricity=0):
    """Time in which a plug falls in an upright bore whose lower end is shut, by the air or oil that it displaces.

    weight: of the plug, a force ("0.196 N" for 20 g), less what it displaces. diameter: of plug and bore. length: of
    plug in the bore. travel: way of the fall. viscosity: of what is displaced. eccentricity: offset of the plug over
    the radial clearance, 0 centred, 1 lying on the bore. Numbers or arrays. Result: s.

    Formula: travel / v, v = 4 weight clearance^3 (1 + 1.5 eccentricity^2) / (3 pi viscosity length diameter^3).
    Range: radial_clearance up to 0.2 radii (warns beyond); clean, dry (or full of oil), round and straight, the plug
    wholly in the bore all the way, a tight seal below. Air below is first squeezed by a few percent, and that part of
    the way is quick. In a gap of 3 um air slips on the walls and the plug falls 13 % faster, at 10 um 4 % (66 nm mean
    free path, first order, from memory).

    >>> import kit
    >>> kit.units.show(kit.feel.fall_time(weight="0.196 N", diameter="8 mm", length="20 mm", travel="30 mm",
    ...                                   radial_clearance="15 um", viscosity="18.1 uPa*s"))
    '19.8 s'

    Source: the slot flow of `pistons.leak`, with the plug's weight over its face as pressure.
    """
    warn_outside(2 * radial_clearance / diameter, *_NARROW)
    return _fall(weight, diameter, length, travel, viscosity, eccentricity) / radial_clearance**3


@units("um", weight="N > 0", diameter="m > 0", length="m > 0", time="s > 0", travel="m > 0", viscosity="Pa*s > 0",
       eccentricity=">= 0 <= 1")
def clearance_from_fall(weight, diameter, length, time, travel, viscosity, eccentricity=0):
    """Radial clearance of a plug, from the time in which it falls: the inverse of `fall_time`.

    time: of the fall. All else as `fall_time`. Numbers or arrays. Result: um, radial. How far off the middle the plug
    falls is not known: with 0 the reading is too large, by up to 1.36 times, with 1 it is the least that it can be.

    Formula: (3 pi viscosity length diameter^3 travel / (4 weight (1 + 1.5 eccentricity^2) time))^(1/3); a tenth of the
    time is a thirtieth of the clearance.
    Range: as `fall_time`.
    Source: as `fall_time`.
    """
    clearance = np.cbrt(_fall(weight, diameter, length, travel, viscosity, eccentricity) / time)
    warn_outside(2 * clearance / diameter, *_NARROW)
    return 1e6 * clearance


@units("um", light_gap="um > 0", flat_error="um >= 0")
def rolled_bow(light_gap, flat_error="0 um"):
    """Smallest bow of a tube told by rolling it on a flat and looking for light beneath.

    light_gap: narrowest that is seen. flat_error: how far the flat itself is out over the tube's length. Numbers or
    arrays. Result: um, the sagitta of the bow.

    Formula: light_gap + flat_error; as it rolls, the gap under the middle goes from none to the whole sagitta.
    Range: a single smooth bow, a round tube that lies by its own weight without bending.
    Source: geometry.
    """
    return light_gap + flat_error


@units("um", light_gap="um > 0", lever="> 0")
def eccentricity_told(light_gap, lever=1):
    """Smallest eccentricity told by turning the work past a fixed edge and watching the light between.

    light_gap: smallest change of the gap that is seen. lever: long arm over short, where a stick on a pivot rides on
    the work and its far end is watched; 1 without. Numbers or arrays. Result: um, offset of the axes.

    Formula: light_gap / (2 lever): in a turn the surface comes and goes by twice the eccentricity.
    Range: round work on steady centres; lobes are told as eccentricity.
    Source: geometry; the lever after E. E. Hall, Staff Making and Pivoting, chapter VI.
    """
    return light_gap / (2 * lever)
