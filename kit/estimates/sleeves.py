"""Nested sleeves on an arbor: what fits into the nest, what torque turns it, how far it tilts, and when it jams.

`length` of a sleeve is the length on which it bears. Where something is given for each sleeve of a nest, the sleeves
stand along the first axis, from the inside out; a single value holds for all of them, and a second axis holds draws.
Friction in a dry or scantily oiled gap goes with the load, in a full film with the speed: `interface_torque` asks first
which of the two it is; what the film does stands in lubrication.py. How play changes with warmth is
`fits.clearance_change`.
"""
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q, number, units, warn_outside
from kit.estimates.lubrication import (  # noqa: F401 (what is known as kit.sleeves, gathered)
    BOUNDARY, FULL_FILM, NARROW, crossover_rate, film_ratio, film_torque, floating, hersey, journal_bearing, regime,
    sheared, short_bearing)

STANDARD_GRAVITY = 9.80665   # m/s2
WORN = {"all round": 1, "one side": np.pi}   # depth over that of wear spread evenly round the circle


@dataclass(frozen=True)
class Nest:
    """Diameters of the sleeves of a nest, from the inside out."""
    bores: Q
    outsides: Q


@dataclass(frozen=True)
class Interface:
    """Torque of one interface, what it would be with metal on metal (`boundary`) and in a full film (`film`), all N*mm,
    and the film ratio that decides between them (`regime` puts it into words)."""
    torque: Q
    boundary: Q
    film: Q
    film_ratio: Q


@dataclass(frozen=True)
class Drag:
    """Torque with which each sleeve must be driven (N*mm; below zero: its neighbours drag it along), and the torque
    that all of them together take at the input (N*mm)."""
    sleeves: Q
    input: Q


@dataclass(frozen=True)
class Play:
    """Play of a whole stack: `worst`, all in one direction, and `likely`, one standard deviation."""
    worst: Q
    likely: Q


def _rows(*values):
    """Arrays that broadcast, the sleeves along the first axis: those without draws get an axis for them."""
    axes = max(1, *(np.ndim(v) for v in values))
    return [np.reshape(v, np.shape(v) + (1,) * (axes - np.ndim(v))) if np.ndim(v) else np.asarray(v) for v in values]


def _draws(value):
    """What there is one of (arbor, teeth) has no axis for the sleeves: its only one is that of the draws."""
    return np.expand_dims(value, 0) if np.ndim(value) else np.asarray(value)


def _first(wrong, *values):
    """Texts of the values where `wrong` holds for the first time."""
    place = np.ravel(wrong).argmax()
    return [number(np.broadcast_to(v, np.shape(wrong)).ravel()[place]) for v in values]


# ---------------------------------------------------------------------------------------------------- the nest

def _room(arbor, envelope):
    wrong = np.asarray(arbor >= envelope)
    if wrong.any():
        inner, outer = _first(wrong, arbor, envelope)
        raise ValueError(f"arbor {inner} mm leaves no room in an envelope of {outer} mm; the arbor must be the smaller")
    return envelope - arbor


@units("", arbor="mm > 0", envelope="mm > 0", wall="mm > 0", clearance="mm >= 0")
def nest_count(arbor, envelope, wall, clearance):
    """How many sleeves of one wall fit round an arbor.

    arbor: its diameter. envelope: diameter that the outermost sleeve must not exceed. wall: of each sleeve.
    clearance: of each sleeve on what it turns on, diametral. All numbers or arrays. Result: a whole number, 0 and up.

    Formula: (envelope - arbor) / (2 wall + clearance), rounded down.
    Range: concentric, sleeves all alike. For a nest in a housing give its bore less the outermost clearance as the
    envelope.
    Raises ValueError where the arbor is not below the envelope.
    Source: geometry.
    """
    # a billionth of a sleeve: 6 mm of room for sleeves that take 1 mm is six, whatever the last binary digit says
    return np.floor(_room(arbor, envelope) / (2 * wall + clearance) + 1e-9)


@units("mm", arbor="mm > 0", envelope="mm > 0", count=">= 1", clearance="mm >= 0")
def nest_wall(arbor, envelope, count, clearance):
    """How thick a wall a number of sleeves allow, all alike: the inverse of `nest_count`.

    arbor, envelope, clearance: as there. count: of sleeves, a whole number from 1 (number or array). Result: mm.

    Formula: ((envelope - arbor) / count - clearance) / 2. Range and source as `nest_count`.
    Raises ValueError for a count that is not whole, where the arbor is not below the envelope, and where the clearances
    alone fill the room.
    """
    odd = np.asarray(count != np.round(count))
    if odd.any():
        raise ValueError(f"count: must be a whole number, not {_first(odd, count)[0]}")
    wall = (_room(arbor, envelope) / count - clearance) / 2
    full = np.asarray(wall <= 0)
    if full.any():
        many, play, inner, outer = _first(full, count, clearance, arbor, envelope)
        raise ValueError(f"{many} clearances of {play} mm alone fill the room from {inner} to {outer} mm: the sleeves "
                         "would overlap; take fewer sleeves, less clearance or a larger envelope")
    return wall


def _check_play(play):
    """Diametral clearances of a nest (plain numbers, mm, sleeves along the first axis): none may be below zero."""
    wrong = np.asarray(play < 0)
    if wrong.any():
        sleeve = np.argwhere(wrong)[0][0] + 1
        within = f"sleeve {sleeve - 1}" if sleeve > 1 else "the arbor"
        raise ValueError(f"sleeve {sleeve} overlaps {within} by {_first(wrong, -play)[0]} mm on diameter; give it a "
                         "wider bore, or the one within a smaller outside")


@units(arbor="mm > 0", walls="mm > 0", clearances="mm")
def nest_diameters(arbor, walls, clearances):
    """Bores and outsides of a nest.

    arbor: its diameter (number, or array of draws). walls: of the sleeves, from the inside out. clearances: of each
    sleeve on what it turns on, diametral (single value or one a sleeve). Result: Nest, in mm.

    Formula: bore = outside of the one within + clearance; outside = bore + 2 wall.
    Raises ValueError, naming the sleeve, for a clearance below zero: it overlaps what it should turn on.

    >>> import kit
    >>> nest = kit.sleeves.nest_diameters(arbor="5 mm", walls=kit.Q([0.5, 0.4], "mm"), clearances="0.02 mm")
    >>> print(nest.bores.round(2), nest.outsides.round(2))
    [5.02 6.04] mm [6.02 6.84] mm

    Source: geometry.
    """
    arbor, walls, clearances = _rows(_draws(arbor), np.atleast_1d(walls), clearances)
    walls, clearances = np.broadcast_arrays(walls, clearances)
    _check_play(clearances)
    outsides = arbor + np.cumsum(2 * walls + clearances, axis=0)
    return Nest(bores=Q(outsides - 2 * walls, "mm"), outsides=Q(outsides, "mm"))


# ------------------------------------------------------------------------------------------- torque of one interface

@units("N*mm", friction=">= 0", radius="mm > 0", load="N >= 0")
def boundary_torque(friction, radius, load):
    """Friction torque of a turning sleeve while metal rubs on metal, dry or with a trace of oil.

    friction: coefficient while it slides. radius: where it rubs, half the bore. load: sideways on the interface, from
    `interface_loads` with whatever the train adds. All numbers or arrays. Result: N*mm.

    Formula: friction load radius.
    Range: play enough that the sleeve rides on a line; there it is too high by the factor sqrt(1 + friction^2), 1 % at
    0.15 (friction circle). A bore that hugs its shaft over half the circle takes up to 4/pi times as much.
    Source: F. P. Beer and others, Vector Mechanics for Engineers: Statics, chapter 8, journal bearings.
    """
    return friction * load * radius


@units("N*mm", friction=">= 0", radius="mm > 0", load="N >= 0", factor=">= 1")
def start_torque(friction, radius, load, factor=1.2):
    """Torque that sets a sleeve going after a rest.

    friction, radius, load: as in `boundary_torque`. factor: friction at rest over friction while sliding (number or
    array); 1.1 to 1.3 is usual. Result: N*mm.

    Formula: factor friction load radius. Oil does not carry at rest, so an oiled sleeve starts with its boundary
    friction. Congealed oil and seizure are not counted. Source: as `boundary_torque`; the factor from memory.
    """
    return factor * friction * load * radius


@units(friction=">= 0", load="N >= 0", radius="m > 0", length="m > 0", radial_clearance="m > 0",
       viscosity="Pa*s >= 0", inner_rate="rad/s", outer_rate="rad/s", roughness_a="um > 0", roughness_b="um > 0")
def interface_torque(friction, load, radius, length, radial_clearance, viscosity, inner_rate, outer_rate, roughness_a,
                     roughness_b):
    """Running torque of an oiled interface, by what carries the load.

    friction: coefficient of the oiled metals while they rub. load, radius, length, radial_clearance, viscosity: as in
    `journal_bearing`. inner_rate, outer_rate: of the two bodies, signed (0 for a standing arbor). roughness_a,
    roughness_b: Rq of both faces. All numbers or arrays. Result: Interface.

    Formula: film ratio from `journal_bearing` at the sum of both rates, which draws in the oil. Up to a ratio of 1
    `boundary_torque`, t_b; from 3 on t_f, `film_torque` at the difference of the rates over sqrt(1 - e^2) for the
    eccentric gap; between them t_b^(1-s) t_f^s, s = ln(ratio) / ln(3).
    Range: as `journal_bearing`; above e = 0.8 the film takes up to a quarter more. At rest the boundary torque is what
    resists, and `start_torque` exceeds it.
    Source: as the functions named; how they are blended is this kit's assumption.
    """
    warn_outside(radial_clearance / radius, *NARROW)
    floats = floating(load, viscosity, np.abs(inner_rate + outer_rate), radius, length, radial_clearance)
    gap = floats.least_film.magnitude / (1e6 * radial_clearance)
    ratio = floats.least_film.magnitude / np.hypot(roughness_a, roughness_b)
    boundary = 1e3 * friction * load * radius
    turning = np.asarray(gap > 0)   # at rest or turning against each other the gap closes on one side
    film = sheared(viscosity, np.abs(outer_rate - inner_rate), radius, length, radial_clearance)
    film = film / np.sqrt(np.where(turning, gap * (2 - gap), 1))
    share = np.clip(np.log(np.maximum(ratio, BOUNDARY)) / np.log(FULL_FILM), 0, 1)
    return Interface(torque=Q(boundary**(1 - share) * film**share, "N*mm"), boundary=Q(boundary, "N*mm"),
                     film=Q(film, "N*mm"), film_ratio=Q(ratio, ""))


@units("mPa*s", temperature="degC > -20 < 300")
def olive_oil_viscosity(temperature):
    """Viscosity of olive oil, whose stiffness on a cold morning decides whether a nest turns.

    temperature: "20 degC" (number or array). Result: mPa*s.

    Formula: ln(viscosity) = -6.9519 + 2808.0 / (temperature + 226.48).
    Range: 10 to 70 degC, a tenth either way for variety and age; warns outside 12 to 70, since below 12 degC the oil
    clouds and its wax makes it stiffer than this.
    Source: this kit's fit to four values from memory, believed to be in CRC Handbook of Chemistry and Physics.
    """
    warn_outside(temperature, 12, 70, "°C", "the temperature is {}; the formula for clear olive oil holds for {} "
                 "(below that it clouds and stiffens)")
    return np.exp(-6.9519 + 2808.0 / (temperature + 226.48))


# ------------------------------------------------------------------------------------------------ the whole stack

@units("N", weights="N >= 0")
def interface_loads(weights):
    """Load on the inside of each sleeve of a nest on a level arbor: the weight of it and of all outside it.

    weights: of each sleeve with its wheel and pointer, from the inside out. Result: N, one a sleeve.

    Formula: sum of the weights from this sleeve outwards. Range: sleeves that reach the train by no other bearing;
    what the teeth push comes on top. Source: statics.
    """
    weights = np.atleast_1d(weights)
    return np.flip(np.cumsum(np.flip(weights, 0), 0), 0)


@units(torques="N*mm >= 0", ratios="", efficiency="> 0 <= 1", meshes=">= 0", arbor_ratio="")
def stack_torque(torques, ratios, efficiency, meshes, arbor_ratio=0):
    """Torque that turns a whole nest: at each sleeve, with the drag of its neighbours, and at the input.

    torques: friction of the interface inside each sleeve, from the inside out. ratios: rate of each sleeve over that of
    the input, below zero where it turns the other way. efficiency: of one mesh (number, or array of draws; 0.85 to 0.95
    for teeth cut by hand). meshes: how many lie between the input and each sleeve. arbor_ratio: rate of the arbor over
    that of the input (number, or array of draws). Result: Drag.

    Formula: an interface pulls each of its two bodies against the body's motion relative to the other: a faster
    neighbour drags along, a slower or contrary one holds back. Sleeve j must be given the sum over its two interfaces
    of torque times the sign of (its rate - the neighbour's), counted positive in its own direction of turning. Input:
    sum of sleeve torque |ratio| / efficiency^meshes over the sleeves that need driving.
    A sleeve that is dragged along would drive its train backwards; that help is not counted, for worn or hand-cut teeth
    lose most of it. A standing sleeve needs nothing from the input. Two bodies of one rate do not rub.
    Source: statics; the efficiency from memory.
    """
    torques, ratios, efficiency, meshes, arbor = _rows(np.atleast_1d(torques), np.atleast_1d(ratios),
                                                       _draws(efficiency), meshes, _draws(arbor_ratio))
    torques, ratios, arbor = np.broadcast_arrays(torques, ratios, arbor)
    inner = np.concatenate([arbor[:1], ratios[:-1]])
    on_outer = torques * np.sign(ratios - inner)   # what the body outside the interface must be given, signed
    needed = on_outer.copy()
    needed[:-1] -= on_outer[1:]
    needed *= np.sign(ratios)
    return Drag(sleeves=Q(needed, "N*mm"), input=Q(_reflected(needed, ratios, efficiency, meshes), "N*mm"))


@units("N*mm", torques="N*mm", ratios="", efficiency="> 0 <= 1", meshes=">= 0")
def input_torque(torques, ratios, efficiency, meshes):
    """Torques at the sleeves seen from the input, without any drag of neighbour on neighbour.

    torques: needed at each sleeve (friction, pointer out of balance); those below zero are not counted. ratios,
    efficiency, meshes: as in `stack_torque`. Result: N*mm, of all sleeves together.

    Formula: sum of torque |ratio| / efficiency^meshes. Source: as `stack_torque`.
    """
    torques, ratios, efficiency, meshes = _rows(np.atleast_1d(torques), ratios, _draws(efficiency), meshes)
    return _reflected(torques, ratios, efficiency, meshes)


def _reflected(torques, ratios, efficiency, meshes):
    return np.sum(np.maximum(torques, 0) * np.abs(ratios) / efficiency**meshes, axis=0)


@units("N*mm", mass="kg >= 0", arm="mm >= 0")
def unbalance_torque(mass, arm):
    """Torque of a pointer that is not balanced, on a level arbor: often more than all the friction.

    mass: of the pointer. arm: from the axis to its centre of gravity. Numbers or arrays. Result: N*mm, where the
    pointer stands level; it helps on the way down.

    Formula: mass g arm. Source: statics.
    """
    return mass * STANDARD_GRAVITY * arm


# ------------------------------------------------------------------------------------------ tilt, jamming and play

@units("mrad", clearance="mm >= 0", length="mm > 0", diameter="mm > 0")
def tilt(clearance, length, diameter=None):
    """How far a sleeve can lean from the true axis, either way, within its play.

    clearance: diametral. length: over which it is guided. diameter: of the part inside, for the full geometry. All
    numbers or arrays. Result: mrad.

    Formula: clearance / length; with the diameter the angle at which length sin(tilt) + diameter cos(tilt) = diameter +
    clearance: a short plug in a longer bore, which leans slightly more (a short sleeve on a longer arbor slightly
    less).
    Range: without the diameter small angles, warns where clearance / length passes 0.1.
    Raises ValueError where, with the diameter, the play is so wide that the part turns right over.
    Source: geometry.
    """
    if diameter is None:
        warn_outside(1e3 * clearance / length, 0, 100, "mrad", "the tilt is {}; the formula for small angles needs {}")
        return 1e3 * clearance / length
    spare = np.asarray(length**2 - clearance * (clearance + 2 * diameter))
    if (spare < 0).any():
        play, long, wide = _first(spare < 0, clearance, length, diameter)
        raise ValueError(f"clearance {play} mm does not guide a part of {wide} mm diameter and {long} mm length: it "
                         "turns right over; make it longer or fit it closer")
    return 2e3 * np.arctan(clearance / (length + np.sqrt(spare)))   # by the half angle: exact for the smallest play


@units("mm", length="mm > 0", friction="> 0")
def jamming_arm(length, friction):
    """Distance from the axis at which a push along it begins to jam a sleeve, however hard the push.

    length: over which the sleeve is guided. friction: coefficient. Numbers or arrays. Result: mm; pushed farther out,
    it jams. A drawer of width B, pushed at its edge, has the arm B/2 and jams below the length friction B.

    Formula: length / (2 friction).
    Range: contact at two opposite corners only; keep to half of it.

    >>> import kit
    >>> kit.units.show(kit.sleeves.jamming_arm(length="60 mm", friction=0.15))
    '200 mm'

    Source: F. P. Beer and others, Vector Mechanics for Engineers: Statics, sample problem 8.3.
    """
    return length / (2 * friction)


@units("mm", clearance="mm >= 0", length="mm > 0", arm="mm >= 0")
def pointer_play(clearance, length, arm):
    """How far the tip of a pointer strays to either side from tilt in the play of its sleeve.

    clearance: diametral. length: over which the sleeve is guided. arm: from the middle of that length to the tip.
    Numbers or arrays. Result: mm to either side; from stop to stop twice that.

    Formula: arm clearance / length. Range: small angles. The backlash of the teeth comes on top. Source: geometry.
    """
    return arm * clearance / length


@units(clearances="mm >= 0", lengths="mm > 0")
def stack_tilt(clearances, lengths):
    """Lean of the outermost sleeve of a nest in a given plane, all plays together.

    clearances: diametral, from the inside out. lengths: over which each sleeve is guided. Result: Play, in mrad to
    either side.

    Formula: worst, sum of clearance / length; likely, standard deviation if each lean falls anywhere between its stops:
    sqrt(sum of (clearance / length)^2 / 3).
    Source: geometry; a play that falls anywhere is an assumption.
    """
    clearances, lengths = _rows(np.atleast_1d(clearances), np.atleast_1d(lengths))
    leans = 1e3 * clearances / lengths
    return Play(worst=Q(leans.sum(axis=0), "mrad"), likely=Q(np.sqrt((leans**2).sum(axis=0) / 3), "mrad"))


@units(clearances="mm >= 0", eccentricities="mm >= 0")
def stack_runout(clearances, eccentricities):
    """How far the outermost sleeve runs off the arbor's axis in a given direction, walls and plays together.

    clearances: diametral, from the inside out. eccentricities: offset of each sleeve's bore from its outside (half of
    what a dial shows over a turn). Result: Play, in mm to either side.

    Formula: worst, sum of clearance / 2 + eccentricity; likely, standard deviation with each play anywhere between its
    stops and each eccentricity in any direction: sqrt(sum of clearance^2 / 12 + eccentricity^2 / 2).
    Source: geometry; that plays and angles fall anywhere is an assumption.
    """
    plays, offsets = _rows(np.atleast_1d(clearances), np.atleast_1d(eccentricities))
    return Play(worst=Q((plays / 2 + offsets).sum(axis=0), "mm"),
                likely=Q(np.sqrt((plays**2 / 12 + offsets**2 / 2).sum(axis=0)), "mm"))


@units("um", specific_wear="mm^3/(N*m) >= 0", load="N >= 0", turns="turn >= 0", length="mm > 0")
def wear_depth(specific_wear, load, turns, length, worn="all round"):
    """Depth that years of turning wear off one face, on the radius.

    specific_wear: volume per newton and metre, from `lapping.specific_wear`; retained grit multiplies it a hundredfold.
    load: sideways. turns: of one face against the other. length: that bears. All numbers or arrays. worn: "all round"
    for the face that turns against the load's direction, so all of its circle takes turns (area pi d L); "one side" for
    the face that stands still under it (projected area d L, the mean depth there). Result: um. The play grows by the
    depth of the bore and that of the shaft.

    Formula: k W (pi d turns) / area: k W turns / length, and pi times that on one side; the diameter cancels.
    Range: steady wear after running-in. Raises ValueError for another word.
    Source: the wear law as `lapping.specific_wear`; the areas are geometry.
    """
    try:
        return WORN[worn] * specific_wear * load * turns / length
    except (KeyError, TypeError):
        raise ValueError(f"worn: unknown word {worn!r}; {tables.nearest(worn, WORN)}") from None
