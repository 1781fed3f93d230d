"""Soft packing: what a leather cup or a wound cord rubs, how tight a cord still presses at its far end, and what gap it
bridges."""
import numpy as np

from kit.base.units import Q, units

HICK = {"good": Q(0.0314, "inch"), "new or dry": Q(0.0471, "inch")}   # times diameter and pressure: the friction


@units("N", diameter="mm > 0", pressure="MPa >= 0", drag_length="mm >= 0", lip_force="N/mm >= 0")
def cup_friction(diameter, pressure, drag_length, lip_force="0 N/mm"):
    """Friction of a cup or collar of leather, which the pressure itself presses to the bore.

    diameter: of the bore. pressure: held back. drag_length: friction times the breadth that bears. lip_force: friction
    of the lip's own squeeze, for each mm of girth. All numbers or arrays. Result: N.

    Formula: pi diameter (drag_length pressure + lip_force). The depth of the leather does not count: only a narrow ring
    is pressed on.
    Range: drag_length 0.25 mm good, 0.38 mm new or dry, from trials at pressures of MPa; below about 0.1 MPa the lip's
    own squeeze rules, for which there is no print.
    Source: after J. Hick's trials of hydraulic presses, as in W. C. Unwin, The Elements of Machine Design, and in W.
    Kent, The Mechanical Engineer's Pocket-Book, "Hydraulic presses" (values from memory, pages not seen).
    """
    return np.pi * diameter * (drag_length * pressure + lip_force)


def hick_drag_length(leather="good"):
    """The drag length of `cup_friction` that Hick's coefficient stands for: (Quantity). leather: a word of HICK.

    Hick: friction in lb = C times diameter in inches times pressure in lb/sq. in.; C over pi is the drag length.
    Raises ValueError for another word. Source: as `cup_friction`.
    """
    if leather not in HICK:
        raise ValueError(f"leather: {leather!r} is not one of {', '.join(HICK)}")
    return (HICK[leather] / np.pi).to("mm")


@units("MPa", squeeze="MPa >= 0", length="mm >= 0", width="mm > 0", friction="> 0", lateral="> 0")
def gland_pressure(squeeze, length, width, friction, lateral):
    """Pressure with which a wound packing presses on the bore at a distance from the end at which it is squeezed.

    squeeze: along the axis, at that end. length: of packing between. width: of its section, radial. friction: on both
    walls. lateral: sideways pressure over the pressure along. All numbers or arrays. Result: MPa. It seals where the
    least of it, at the far end, is above the pressure held back.

    Formula: lateral squeeze exp(-2 lateral friction length / width), the balance of a slice.
    Range: an even packing without gaps at its turns. Source: statics, in the manner of H. A. Janssen's silo (1895);
    worked out for this kit.
    """
    return lateral * squeeze * np.exp(-2 * lateral * friction * length / width)


@units("N", diameter="mm > 0", squeeze="MPa >= 0", length="mm > 0", width="mm > 0", friction="> 0", lateral="> 0")
def gland_friction(diameter, squeeze, length, width, friction, lateral):
    """Friction of a wound packing on a bore.

    diameter: of the bore. Others as `gland_pressure`. Result: N.

    Formula: friction pi diameter times the pressure of `gland_pressure` summed over the length: pi diameter friction
    lateral squeeze (1 - exp(-beta length)) / beta, with beta = 2 lateral friction / width.
    Range and source: as `gland_pressure`.
    """
    beta = 2 * lateral * friction / width
    return np.pi * diameter * friction * lateral * squeeze * -np.expm1(-beta * length) / beta
