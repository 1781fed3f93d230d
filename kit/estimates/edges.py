"""Edges that wear: how far an edge recedes in the metal it cuts, when it wants the stone, and what sharpening costs.

Nothing printed was found on edges of iron or carbon steel in any copper alloy at the speed of a hand: the law below is
the common law of wear laid on an edge, and its coefficient a guess with a range of a hundred, to be measured first
(metres cut; edge before and after, under a lens). Taylor's law of tool life must not be carried down to these speeds:
it is about edges that heat softens.

The metal at the edge is the chip, sheared to a strain of 2 and more (E. M. Trent, Wear 128 (1988) 41): its hardness is
that of the fully hardened metal, however soft the bar was annealed.
"""
import numpy as np

from kit.base.units import units, warn_outside

WEDGE = (1.4, np.inf, "", "the edge is {} times as hard as the chip; a wedge that keeps its shape needs {}, and a "
         "softer one turns over before it wears")   # for warn_outside


def _for_each_length(coefficient, work_hardness, tool_hardness):
    """Recession over length cut, both in one unit."""
    warn_outside(tool_hardness / work_hardness, *WEDGE)
    return coefficient * work_hardness / tool_hardness


@units("m", diameter="m > 0", turns="turn >= 0")
def cut_length(diameter, turns):
    """Way that an edge travels through the metal.

    diameter: of the cut. turns: while the edge is in cut ("300 turn"); of a tool that cuts both ways of the bow, both
    ways. Numbers or arrays. Result: m of each edge; each lip of a drill travels all of it.

    Formula: pi diameter turns.
    Range: feed small against the way round. The outer corner of a drill, which travels most, sets its life.

    >>> import kit
    >>> kit.units.show(kit.edges.cut_length(diameter="8 mm", turns="1000 turn"))
    '25.1 m'

    Source: geometry.
    """
    return np.pi * diameter * turns


@units("um", coefficient=">= 0", cut_length="um >= 0", work_hardness="MPa > 0", tool_hardness="MPa > 0")
def recession(coefficient, cut_length, work_hardness, tool_hardness):
    """How far an edge has receded after a length of cut, square to its flank; its radius grows by about as much.

    coefficient: of wear (number or array); some 1e-7 in modern tools, more with casting skin, hard oxide in the metal
    or slag in the iron. cut_length: from `cut_length`. work_hardness: of the chip, that is of fully hardened metal,
    "230 HV". tool_hardness: of the edge. All numbers or arrays. Result: um.

    Formula: coefficient cut_length work_hardness / tool_hardness: wear under a pressure equal to the hardness of what
    is cut.
    Range: steady wear; a new edge loses its first few um faster. Warns where the edge is less than 1.4 times as hard as
    the chip: there it turns over, and the result is too hopeful.

    >>> import kit
    >>> worn = kit.edges.recession(coefficient=5e-7, cut_length="60 m", work_hardness="230 HV", tool_hardness="550 HV")
    >>> kit.units.show(worn)
    '12.5 µm'

    Source: worked out from J. F. Archard's law (see `lapping.specific_wear`); no published law or coefficient for such
    edges was found. The least ratio from memory, believed to be in G. I. Granovsky and in T. N. Loladze on the strength
    and wear of cutting tools.
    """
    return _for_each_length(coefficient, work_hardness, tool_hardness) * cut_length


@units("um/m", land="um > 0", clearance_angle="deg > 0 < 45", cut_length="m > 0", work_hardness="MPa > 0",
       tool_hardness="MPa > 0")
def wear_from_land(land, clearance_angle, cut_length, work_hardness, tool_hardness):
    """Coefficient of wear of an edge, from the land that a trial has worn on its flank.

    land: what its width grew by. clearance_angle: between flank and way of the cut. cut_length: from `cut_length`.
    work_hardness, tool_hardness: as for `recession`; with those that a study assumes, the coefficient is good for that
    study, whatever they really are. Numbers or arrays. Result: um/m.

    Formula: land sin(clearance_angle) / cut_length * tool_hardness / work_hardness: the land lies along the cut, and
    the flank behind it slants away, so that the edge has receded by land sin(clearance_angle) square to the flank.
    Range: as `recession`; an edge that wore evenly, none of it chipped off or turned over.

    >>> import kit
    >>> worn = kit.edges.wear_from_land(land="0.1 mm", clearance_angle="8 deg", cut_length="30 m",
    ...                                 work_hardness="230 HV", tool_hardness="550 HV")
    >>> kit.units.show(worn)
    '1.11 µm/m'

    Source: geometry; else as `recession`.
    """
    return land * np.sin(np.radians(clearance_angle)) / cut_length / _for_each_length(1.0, work_hardness, tool_hardness)


@units("m", coefficient="> 0", allowed="m > 0", work_hardness="MPa > 0", tool_hardness="MPa > 0")
def length_to_stone(coefficient, allowed, work_hardness, tool_hardness):
    """Length of cut after which an edge wants the stone.

    The inverse of `recession`, with its arguments, range and warning. allowed: recession at which the maker
    sharpens, some 10 um: from a stoned edge of 5 um to a dull one of 15 (number or array). Result: m.

    Formula: allowed tool_hardness / (coefficient work_hardness).
    Source: as `recession`.
    """
    return allowed / _for_each_length(coefficient, work_hardness, tool_hardness)


@units("", cut_length="m >= 0", length_to_stone="m > 0")
def regrinds(cut_length, length_to_stone):
    """How many sharpenings a length of cut uses up, parts of one included.

    cut_length, length_to_stone: from the functions of these names. Numbers or arrays. Result: a number; its fraction is
    wear that the next piece finds. A tool that comes sharp to a single cut is sharpened in it as often as the whole
    number below says.

    Formula: cut_length / length_to_stone.
    Range: as `length_to_stone`.
    Source: arithmetic.
    """
    return cut_length / length_to_stone


@units("um", stoned="um >= 0", clearance_angle="deg >= 0 < 90", margin="um >= 0")
def reamer_shrinkage(stoned, clearance_angle, margin="0 mm"):
    """Diameter that a fluted reamer loses as the faces of its teeth are stoned.

    stoned: depth taken off each face, all sharpenings together. clearance_angle: of the land behind the edge (6 to 8
    deg are usual). margin: width of the land behind the edge that was left round, without clearance. All numbers or
    arrays. Result: um, on the diameter.

    Formula: 2 (stoned - margin) tan(clearance_angle), and nothing until the margin is used up.
    Range: faces stoned flat and square, depth small against the diameter; crests are not touched. A reamer stoned on
    its crests loses twice what is taken off.

    >>> import kit
    >>> kit.units.show(kit.edges.reamer_shrinkage(stoned="10 um", clearance_angle="6 deg"))
    '2.10 µm'

    Source: geometry.
    """
    return 2 * np.maximum(stoned - margin, 0) * np.tan(np.radians(clearance_angle))


@units("um", stoned="um >= 0", sides=">= 3")
def broach_shrinkage(stoned, sides):
    """Diameter, across the corners, that a polygon broach loses as all its flats are stoned.

    stoned: depth taken off each flat, all sharpenings together. sides: number of flats. Numbers or arrays.
    Result: um.

    Formula: 2 stoned / cos(180 deg / sides).
    Range: a regular polygon. A tapered broach only goes deeper for it: the size of its hole is not touched.
    Source: geometry.
    """
    return 2 * stoned / np.cos(np.pi / sides)


@units("", spare="um >= 0", stoned="um > 0")
def bit_stonings(spare, stoned):
    """How often the flat of a D-bit can be stoned before the bit cuts under its size.

    spare: height of the flat above the middle of the round that may still go. stoned: depth of one stoning. Numbers or
    arrays. Result: a number; whole stonings are those below it. Grinding on the end costs no height.

    Formula: spare / stoned.
    Range: the corner of the lip stays on the round land, so the size hardly changes meanwhile.
    Source: arithmetic. A flat left 0.001 in above half the diameter when new: common practice, no published source.
    """
    return spare / stoned


def _clearings(depth, diameter, first, then):
    """How often the tool is drawn out before the hole is through, all in mm; the last way out is no loss of time."""
    return np.maximum(np.ceil((depth - first * diameter) / (then * diameter) - 1e-9), 0)


PECKS = {"depth": "mm > 0", "diameter": "mm > 0", "first": "> 0", "then": "> 0"}


@units("", **PECKS)
def pecks(depth, diameter, first, then):
    """How often a drill is drawn out to clear its chips before the hole is through.

    depth: of the hole. diameter: of the drill. first: depth of the first withdrawal, then: of each further step, both
    in diameters. All numbers or arrays. Result: a whole number, 0 for a hole no deeper than the first.

    Formula: (depth - first diameter) / (then diameter), rounded up.
    Range: even steps; usual practice shortens them as the hole deepens (3, 2, 1, last 0.5 diameters, from memory,
    believed to be in Metal Cutting Tool Handbook).
    Source: arithmetic. First withdrawal at 4 diameters, 8 to 10 in free-cutting brass: P. Moring, Cutting Tool
    Engineering (1995); no figure for a flat drill, whose chips do not climb out, was found.
    """
    return _clearings(depth, diameter, first, then)


@units("min", clear_time="min >= 0", speed="mm/min > 0", **PECKS)
def peck_minutes(depth, diameter, first, then, clear_time, speed):
    """Time lost in drawing a drill out to clear its chips, and running it in again.

    depth, diameter, first, then: as in `pecks`. clear_time: to clear drill and hole, each time. speed: at which the
    drill is drawn out and run in. All numbers or arrays. Result: min, the cutting not included.

    Formula: the sum over all withdrawals, at depth z, of clear_time + 2 z / speed.
    Range: as `pecks`.

    >>> import kit
    >>> lost = kit.edges.peck_minutes(depth="90 mm", diameter="5 mm", first=1, then=0.5, clear_time="12 s",
    ...                               speed="50 mm/s")
    >>> kit.units.show(lost)
    '7.85 min'

    Source: as `pecks`.
    """
    n = _clearings(depth, diameter, first, then)
    ways = n * first * diameter + then * diameter * n * (n - 1) / 2   # sum of the depths at which it is drawn out
    return n * clear_time + 2 * ways / speed
