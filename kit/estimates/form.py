"""Form of a hole and of what goes into it: what each operation copies, leaves and takes out, and what still passes.

`bow` is the sagitta of a bent axis over the length that is meant. `lobes` are radial, peak to valley. `taper` is the
difference of the diameters at the two ends. Sizes and stocks are on diameter.
"""
from dataclasses import dataclass

import numpy as np
import pint

from kit.base import tables
from kit.base.units import Q, units, warn_outside
from kit.estimates import lapping

MOTIONS = ("steady", "harmonic")


@dataclass(frozen=True)
class Halves:
    """A hole bored from both ends. lean: offset of each half where they meet. step: between the two halves there."""
    lean: pint.Quantity
    step: pint.Quantity


@units("um", bow="um >= 0", lap_length="mm > 0", bore_length="mm > 0")
def seen_by_lap(bow, lap_length, bore_length):
    """How much of a bore's bow lies under a stiff lap: all that the lap can take out.

    bow: sagitta over the whole bore. lap_length, bore_length: of the parts that touch. All numbers or arrays.
    Result: um; the whole bow for a lap as long as the bore or longer.

    Formula: bow (lap_length / bore_length)^2.
    Range: an even bend, a lap that does not bend (how far one does is `lap_bend`). What holds of the lap holds of a
    plug gauge.

    >>> import kit
    >>> kit.units.show(kit.form.seen_by_lap(bow="8 um", lap_length="45 mm", bore_length="90 mm"))
    '2.00 µm'

    Source: geometry of the arc.
    """
    return bow * np.minimum(lap_length / bore_length, 1)**2


@units("um", pressure="MPa >= 0", bore="mm > 0", length="mm > 0", arbor_diameter="mm > 0", modulus="MPa > 0")
def lap_bend(pressure, bore, length, arbor_diameter, modulus):
    """How far a lap bends in the middle when it bears on one side of a bent bore.

    pressure: of lap on bore, taken as acting on one side only, over the width of the bore and evenly along the length.
    bore: diameter. length: of the lap, borne at its two ends. arbor_diameter: of what makes the lap stiff. modulus: of
    elasticity of that. All numbers or arrays. Result: um.

    Formula: 5 q length^4 / (384 modulus I), q = pressure bore, I = pi arbor_diameter^4 / 64.
    Range: an order of size: the true load lies on the ends and the middle of opposite sides and eases as the bow goes.
    Elastic; length from 5 arbor diameters, below it warns that the bend is underestimated.
    Raises ValueError where the arbor is thicker than the bore.

    >>> import kit
    >>> bend = kit.form.lap_bend(pressure="20 kPa", bore="12 mm", length="100 mm", arbor_diameter="9 mm",
    ...                          modulus="200 GPa")
    >>> kit.units.show(bend)
    '4.85 µm'

    Source: beam under an even load, in every textbook of strength of materials; the load is an assumption of this kit.
    """
    over = np.max(arbor_diameter - bore * (1 + 1e-9))
    if over > 0:
        raise ValueError(f"arbor_diameter and bore contradict each other: the arbor is {over:.3g} mm thicker than the "
                         "bore; give the diameter of what makes the lap stiff")
    warn_outside(length / arbor_diameter, 5, np.inf, "", "the lap is {} arbor diameters long; the formula for a "
                 "slender beam needs {} and underestimates here")
    return 5e3 * pressure * bore * length**4 / (384 * modulus * np.pi * arbor_diameter**4 / 64)


@units("um", bow="um >= 0", bend="um >= 0")
def bow_left(bow, bend):
    """Bow that lapping leaves, where the lap itself bends.

    bow: that the lap sees, from `seen_by_lap`; what it does not see is left anyway. bend: from `lap_bend`. Numbers or
    arrays. Result: um.

    Formula: bow / (1 + bow / bend); nothing for a lap that does not bend, all for one that follows. Where both are
    alike, half is left.
    Range: an order of size, for lapping that goes on until the lap bears all along.
    Source: an assumption of this kit; no measurement of bow before and after lapping was found.
    """
    both = bow + bend
    return bow * bend / np.where(both > 0, both, 1)


@units("um", bow="um >= 0")
def straightening_stock(bow):
    """Stock on diameter that taking a bow out of a bore costs; the outside of a bent shaft likewise.

    bow: to be taken out (number or array). Result: um. The wall loses all of it at the thinnest place, half on average.

    Formula: bow. The straight bore that clears a bent one touches it in the middle on one side, at the ends on the
    other.
    Range: the least stock; roughness and lobes come on top.
    Source: geometry.
    """
    return 1.0 * bow   # an array of its own


def _time_within(reach, half_stroke, motion):
    """Share of the time in which the lap stands within `reach` of the middle of its stroke, to either side."""
    share = np.clip(reach / half_stroke, 0, 1)
    return share if motion == "steady" else 2 / np.pi * np.arcsin(share)


@units("", lap_length="mm > 0", bore_length="mm > 0", half_stroke="mm > 0")
def lap_cover(lap_length, bore_length, half_stroke, motion="steady"):
    """How long the ends of a bore lie under the lap, over how long its middle does.

    lap_length, bore_length: of the parts that touch. half_stroke: how far the lap goes either way from the middle. All
    numbers or arrays. motion: "steady" (one speed throughout) or "harmonic" (slower toward the ends, as an arm swings).
    Result: a number. Below 1 the ends are left tight by cover alone: a bore is covered evenly only by a lap as long as
    bore and stroke together. A short lap that an arm swings beyond the ends may dwell there: above 1.

    Formula: share of the time in which the lap reaches the end, over that in which it lies over the middle. Steady:
    (half_stroke - (bore_length - lap_length)/2) / (2 half_stroke), over lap_length / (2 half_stroke), each share from 0
    to 1.
    Range: wear by time alone; that fewer square millimetres in touch mean more pressure is not counted, nor the tilt,
    the slurry and the pressed edges that wear the ends wide (bell mouth).
    Raises ValueError for another motion.
    Source: geometry. A lap "somewhat longer than the hole": Machinery's Handbook, 31st ed., p. 1339.
    """
    if motion not in MOTIONS:
        raise ValueError(f"motion: unknown word {motion!r}; {tables.nearest(motion, MOTIONS)}")
    short, long = (bore_length - lap_length) / 2, (bore_length + lap_length) / 2
    over_end = np.where(short > 0, (1 - _time_within(short, half_stroke, motion)) / 2,
                        (1 + _time_within(-short, half_stroke, motion)) / 2)
    beyond = np.where(half_stroke > long, (1 - _time_within(long, half_stroke, motion)) / 2, 0)   # gone past the end
    return (over_end - beyond) / _time_within(lap_length / 2, half_stroke, motion)


@units(offset="mm >= 0", exponent="> 0")
def from_both_ends(offset, exponent):
    """What boring from both ends makes of a wander that grows with depth.

    offset: at the far end, had the hole been bored all the way from one end. exponent: by which the offset grows with
    depth: 1 for a straight lean, 2 for a steady curve. Numbers or arrays. Result: Halves, in mm.

    Formula: lean = offset / 2^exponent; step = sqrt(2) lean, for two leans in directions that know nothing of each
    other (root mean square; at worst 2 lean).
    Range: both halves start on the axis; a start error of each comes on top. The step is left in the middle of the
    hole: the stock on the radius of the next pass must reach beyond it.

    >>> import kit
    >>> kit.units.show(kit.form.from_both_ends(offset="0.20 mm", exponent=2).step)
    '0.0707 mm'

    Source: geometry.
    """
    lean = offset / 2**exponent
    return Halves(lean=Q(lean, "mm"), step=Q(np.sqrt(2) * lean, "mm"))


@units("", cutting_stiffness="N/mm >= 0", bar_stiffness="N/mm > 0")
def error_copied(cutting_stiffness, bar_stiffness):
    """Share of a hole's lean, bow or out-of-round that one pass of a boring bar copies into the next hole.

    cutting_stiffness: radial cutting force for each mm of depth of cut. bar_stiffness: sideways force for each mm that
    tool and work give. Numbers or arrays. Result: 0 to 1. n passes leave the n-th power of it.

    Formula: K / (K + bar_stiffness), K = cutting_stiffness.
    Range: a tool whose path does not depend on the hole; a reamer or drill follows its hole instead. The force grows in
    proportion with the depth, chip above the least that forms.
    Source: worked out: the bar gives by the force of the depth that is left. Error copying is in every textbook of
    machining, from memory.
    """
    return cutting_stiffness / (cutting_stiffness + bar_stiffness)


@units("um", depth="um >= 0", cutting_stiffness="N/mm >= 0", work_stiffness="N/mm > 0", cuts=">= 0")
def spring_cut(depth, cutting_stiffness, work_stiffness, cuts):
    """Depth that slender work still keeps after so many passes at one setting of the tool.

    depth: set, on the radius. cutting_stiffness: as in `error_copied`. work_stiffness: sideways force for each mm that
    the work gives (force over `walls.sag`). cuts: passes, the first one counted (a whole number). All numbers or
    arrays. Result: um, on the radius.

    Formula: depth (K / (K + work_stiffness))^cuts, K = cutting_stiffness.
    Range: down to the least chip that the edge forms, about 0.2 to 0.4 of its radius; there the tool only rubs.
    Raises ValueError for cuts that are not whole.
    Source: as `error_copied`.
    """
    if np.any(cuts != np.round(cuts)):
        raise ValueError("cuts: must be whole numbers: count the passes, the first one as well")
    return depth * (cutting_stiffness / (cutting_stiffness + work_stiffness))**cuts


def _lost_to_bend_and_taper(bow, taper):
    """Diameter between a bent cone and the straight cylinder that just goes through it or over it, all in mm.

    The cylinder leans against the taper as far as that helps: for a bow s and a taper t up to 4 s it touches at both
    ends on one side and inside on the other, s + t^2 / (16 s); beyond that the small end alone stops it, t / 2.
    """
    bent = bow + taper**2 / (16 * np.where(bow > 0, bow, 1))
    return np.where(taper <= 4 * bow, bent, taper / 2)


ENVELOPE = {"diameter": "mm > 0", "bow": "mm >= 0", "lobes": "mm >= 0", "taper": "mm >= 0"}


@units("mm", **ENVELOPE)
def inscribed_diameter(diameter, bow="0 um", lobes="0 um", taper="0 um"):
    """Greatest straight round plug that passes through a bore.

    diameter: of the bore, the mean all round and along. bow: sagitta over the whole length. lobes: radial, peak to
    valley. taper: difference of the end diameters. All numbers or arrays. Result: mm.

    Formula: diameter - lobes - e, with e = bow + taper^2 / (16 bow) for a taper up to four times the bow, else
    taper / 2. So a straight shaft loses the whole bow on diameter; a taper beside it costs less than its half.
    Range: a plug at least as long as the bore, free to lean; for a shorter one take for bow what `seen_by_lap` says.
    Exact without lobes; with lobes on a bent bore a lower bound, the plug finding room in a valley. A bell mouth is not
    felt by a plug. Lobes from the mean to either side alike; one deep scratch is not a lobe.
    Raises ValueError where nothing passes.

    >>> import kit
    >>> plug = kit.form.inscribed_diameter(diameter="8 mm", bow="7 um", lobes="4 um", taper="6 um")
    >>> kit.units.show(plug, 5)
    '7.9887 mm'

    Source: geometry of a bent cone and a straight cylinder, worked out; checked by a search in the tests.
    """
    left = diameter - lobes - _lost_to_bend_and_taper(bow, taper)
    if np.any(left <= 0):
        raise ValueError("bow, lobes and taper exceed the diameter: no plug would pass; look to their units")
    return left


@units("mm", **ENVELOPE)
def circumscribed_diameter(diameter, bow="0 um", lobes="0 um", taper="0 um"):
    """Least straight round ring that passes over a shaft.

    diameter: of the shaft, the mean all round and along. bow, lobes, taper: as in `inscribed_diameter`. All numbers or
    arrays. Result: mm. Least running clearance of a pair is `inscribed_diameter` of the bore less this of the shaft.

    Formula: diameter + lobes + e, e as in `inscribed_diameter`.
    Range: as there, for a ring at least as long as the shaft; with lobes on a bent shaft an upper bound.
    Source: as `inscribed_diameter`.
    """
    return diameter + lobes + _lost_to_bend_and_taper(bow, taper)


@units("um", grain="um > 0", ratio="> 0", height="> 0", multiple="> 0")
def scratch_depth(grain, ratio=100, height=6.5, multiple=1):
    """Depth of the scratches that a loose grain leaves, peak to valley (Rz), in a lapped face.

    grain: size. ratio: of grain to Ra, as in `lapping.roughness_from_grain`. height: Rz over Ra, 5 to 8 on lapped
    faces. multiple: by which this lap scratches deeper than others (a hard one drives the grain in, a soft one swallows
    it). All numbers or arrays. Result: um. The next grade must take more than that: `lapping.scratch_stock`.

    Formula: multiple height grain / ratio.
    Range, warning: as `lapping.roughness_from_grain`.
    Source: as there; height and multiple are assumptions of this kit.
    """
    return multiple * height * lapping.roughness_from_grain(grain=Q(grain, "um"), ratio=ratio).m_as("um")
