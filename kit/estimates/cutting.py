"""Cutting with an edge: the torque of a pass, and what the tool's shank withstands.

Every force comes from Kienzle's rule: force = kc * area of the chip, kc = kc11 * h^-m with the chip thickness h in mm.
`kc11` (MPa = N/mm2) is the specific force at h = 1 mm, `exponent` is m. The pair is fitted to chips of 0.05 to 2.5 mm
(from memory, believed to be in Koenig and Klocke, Fertigungsverfahren 1). Almost every hand cut is thinner: there the
single exponent is extrapolation and the true force is more likely higher, since the edge is no longer sharp compared
with the chip. A warning comes only below 0.001 mm or above 2.5 mm.

`stock` and `advance` are radial. An angle between edge and feed (`approach_angle`, `lead_angle`, half the
`point_angle`) sets the chip: feed * sin(angle); 90 deg is a square shoulder. A feed is per turn.
"""
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q, units, warn_outside

TOOLS = ("two-lip drill", "half-round bit", "fluted reamer", "polygon broach")

# for warn_outside
KIENZLE = (0.001, 2.5, "mm", "the chip is {} thick; Kienzle's rule, fitted from 0.05 mm, is "
           "used for {}")
CHISEL = (0.03, 0.40, "", "the chisel edge over the drill's diameter is {}; the handbook's table covers {}")


@dataclass(frozen=True)
class Drilling:
    """Torque (N*m) and thrust (N) of a drill."""
    torque: Q
    thrust: Q


@dataclass(frozen=True)
class Chisel:
    """What the chisel edge of a drill does: factors of its torque, of the thrust that grows with the feed, and of the
    thrust that presses the chisel edge in whatever the feed (pure numbers: A, B and J of the handbook)."""
    torque: Q
    thrust: Q
    indentation: Q


@dataclass(frozen=True)
class Engagement:
    """How a tool meets the metal.

    width: all edge in cut (mm). arm: mean distance of the cutting force from the axis (mm).
    feed_per_chip: feed per turn for one unit of chip thickness (feed = chip * feed_per_chip).
    """
    width: Q
    arm: Q
    feed_per_chip: Q


def _specific(kc11, exponent, chip):
    return kc11 * chip**-exponent


def _held(chip, least_chip):
    """Chip thickness at which the specific force is taken."""
    return chip if least_chip is None else np.maximum(chip, least_chip)


def _check_within_radius(diameter, stock):
    over = np.max(stock - diameter / 2 * (1 + 1e-9))   # rounding of units may put stock a hair above the radius
    if over > 0:
        raise ValueError(f"stock and diameter contradict each other: the radial stock exceeds half the diameter by "
                         f"{over:.3g} mm; stock is counted on the radius")


@units("MPa", kc11="MPa > 0", exponent=">= 0 < 1", chip_thickness="mm > 0", least_chip="mm > 0")
def specific_force(kc11, exponent, chip_thickness, least_chip=None):
    """Cutting force per area of chip (Kienzle).

    kc11 (MPa), exponent (number), chip_thickness (mm), least_chip (mm, may be left out): numbers or arrays.
    Result: MPa (= N/mm2 = mJ/mm3). Formula: kc = kc11 * h^-m, h = chip thickness in mm, held at least_chip below it: a
    chip thinner than a part of the edge radius does not form, so the rule does not apply there.
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation (see the module). Warns below 0.001 and above 2.5 mm.

    >>> import kit
    >>> kit.units.show(kit.cutting.specific_force(kc11="900 MPa", exponent=0.25, chip_thickness="0.05 mm"))
    '1900 MPa'

    Source: O. Kienzle, VDI-Zeitschrift 94 (1952), pp. 299-305 (from memory); holding it below least_chip: assumption of
    this kit.
    """
    held = _held(chip_thickness, least_chip)
    warn_outside(held, *KIENZLE)
    return _specific(kc11, exponent, held)


@units("N*m", diameter="mm > 0", feed="mm/turn > 0", kc11="MPa > 0", exponent=">= 0 < 1", point_angle="deg > 0 <= 180",
       start_diameter="mm >= 0")
def drill_torque(diameter, feed, kc11, exponent, point_angle="118 deg", start_diameter="0 mm"):
    """Torque of a two-lip drill, from solid or opening a hole.

    diameter (mm), feed (mm/turn), kc11 (MPa), exponent (number), point_angle (deg, whole), start_diameter (mm, hole
    already there): numbers or arrays. Result: N*m.
    Formula: M = kc * f * (D^2 - d0^2) / 8, kc at the chip of one lip h = f/2 * sin(point_angle/2). Chisel edge and
    margins are left out; from solid they add about a fifth (A. Ghosh and A. K. Mallik, Manufacturing Science, p. 230,
    take 0.6 * D * force of a lip, where this rule has 0.5).
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm.
    Raises ValueError where start_diameter exceeds diameter.
    Source: H. El-Hofy, Fundamentals of Machining Processes, p. 133 (area of chip, force of a lip at D/4, enlarging).
    """
    if np.any(start_diameter > diameter):
        raise ValueError("start_diameter and diameter contradict each other: the hole to be opened exceeds the drill")
    chip = feed / 2 * np.sin(np.radians(point_angle / 2))
    warn_outside(chip, *KIENZLE)
    return _specific(kc11, exponent, chip) * feed * (diameter**2 - start_diameter**2) / 8 / 1000


def _chisel(ratio):
    rest = (1 + ratio)**0.2
    return (1 - ratio**2) / rest + 3.2 * ratio**1.8, (1 - ratio) / rest + 2.2 * ratio**0.8, ratio**2


@units(ratio=">= 0 < 1")
def chisel_factors(ratio):
    """What the chisel edge of a drill point adds to torque and thrust, by its length.

    ratio (number or array): length of the chisel edge over the drill's diameter. Result: Chisel; its three numbers
    multiply torque, the thrust that grows with the feed, and the thrust that does not (see `handbook_drill`). A pilot
    hole as wide as the chisel edge is long takes away the third, and the last terms of the other two.
    Formula: A = (1-q^2)/(1+q)^0.2 + 3.2 q^1.8; B = (1-q)/(1+q)^0.2 + 2.2 q^0.8; J = q^2.
    Valid for ratios of 0.03 to 0.40, the extent of the handbook's table; warns outside. The table is for ground points
    of twist drills; no measurement of a flat drill's chisel edge was found.

    >>> import kit
    >>> kit.units.show(kit.cutting.chisel_factors(ratio=0.27).indentation)
    '0.0729'

    Source: M. C. Shaw and C. J. Oxford, On the drilling of metals 2: the torque and thrust in drilling, Transactions of
    the ASME 79 (1957) 139 (from memory); the factors agree with Machinery's Handbook, 31st ed., p. 1152, table 7.
    """
    warn_outside(ratio, *CHISEL)
    torque, thrust, indentation = _chisel(ratio)
    return Chisel(torque=Q(torque, ""), thrust=Q(thrust, ""), indentation=Q(indentation, ""))


@units("", thickness="mm > 0", diameter="mm > 0")
def blade_chisel(thickness, diameter):
    """Length of the chisel edge of a flat drill over its diameter, by the thickness of the blade.

    thickness (mm, of the blade at the point), diameter (mm, of the drill): numbers or arrays. Result: a pure number,
    the ratio that `chisel_factors` and `handbook_drill` take.
    Formula: thickness / sin(60 deg) / diameter: the edge runs aslant through the blade, at 60 deg to its faces.
    Valid for a point bevelled as the usual drill is; other bevels turn the chisel edge and lengthen or shorten it.
    Raises ValueError where the chisel edge would be as long as the drill is wide.
    Source: geometry; the web of the drills of Machinery's Handbook, 31st ed., p. 1152, table 7, is that share of their
    chisel edge.
    """
    ratio = thickness / np.sin(np.pi / 3) / diameter
    if np.any(ratio >= 1):
        raise ValueError("thickness and diameter contradict each other: the chisel edge, thickness / 0.866, would be "
                         "as long as the drill is wide; give the thickness of the blade at its point")
    return ratio


# Machinery's Handbook, table 7: A (torque), B and J (thrust of lips and of chisel edge) by the grinding of the point.
POINTS = {"standard": (1.085, 1.355, 0.030), "split": (1.000, 1.100, 0.001)}


@units(diameter="mm > 0", feed="mm/turn > 0", material_factor="> 0", wear_factor=">= 1", chisel_ratio=">= 0 < 1",
       rake_factor="> 0")
def handbook_drill(diameter, feed, material_factor, wear_factor=1, point="standard", chisel_ratio=None, rake_factor=1):
    """Torque and thrust of a drill from solid, by a machine-shop handbook, chisel edge included.

    diameter (mm), feed (mm/turn), material_factor (number Kd of the handbook), wear_factor (number W, 1 sharp): numbers
    or arrays; point: "standard" (chisel edge 0.18 of the diameter) or "split" (0.03), as the handbook prints them;
    chisel_ratio (number or array, chisel edge over diameter, as of `blade_chisel`), where given, takes the place of
    point; rake_factor (number or array, cutting force of these lips over that of a twist drill's: a flat drill has less
    rake; the chisel edge has none in either). Result: Drilling(torque, thrust).
    Formula: M = 0.000025 * Kd * f^0.8 * D^1.8 * A * W * r (N*m);
    T = 0.05 * Kd * f^0.8 * D^0.8 * B * W * r + 0.007 * Kd * D^2 * J * W (N), f and D in mm, r the rake_factor. The
    powers replace the handbook's tables of factors, whose entries they reproduce; A, B and J of a chisel_ratio from
    `chisel_factors`.
    Kd, from memory, believed to be in the same handbook, table 6: most brasses 14,000, leaded brass 7,000,
    free-machining mild steel 12,000 to 18,000, steel of 200 HB 24,000; no row for bronze or copper. W, from memory,
    believed to be in table 3: 1.3 ordinary, 1.5 heavy use.
    Valid for machine drills of about 1.6 to 110 mm at 0.01 to 1.5 mm/turn (extent of the tables from memory) with a
    chisel_ratio of 0.03 to 0.40; warns outside. Raises ValueError for another point.
    Source: Machinery's Handbook, 31st ed., pp. 1152-1153, equations 4 and 5, tables 7 to 9.
    """
    if point not in POINTS:
        raise ValueError(f"point: unknown word {point!r}; {tables.nearest(point, POINTS)}")
    warn_outside(diameter, 1.6, 110, "mm", "the drill's diameter is {}; the handbook's drill table covers {}")
    warn_outside(feed, 0.01, 1.5, "mm", "the feed a turn is {}; the handbook's feed table covers {}")
    if chisel_ratio is not None:
        warn_outside(chisel_ratio, *CHISEL)
    A, B, J = POINTS[point] if chisel_ratio is None else _chisel(chisel_ratio)
    torque = 0.000025 * material_factor * feed**0.8 * diameter**1.8 * A * wear_factor * rake_factor
    lips = 0.05 * material_factor * feed**0.8 * diameter**0.8 * B * wear_factor * rake_factor
    chisel = 0.007 * material_factor * diameter**2 * J * wear_factor
    return Drilling(torque=Q(torque, "N*m"), thrust=Q(lips + chisel, "N"))


@units("N*m", diameter="mm > 0", stock="mm > 0", feed="mm/turn > 0", kc11="MPa > 0", exponent=">= 0 < 1",
       friction=">= 0")
def half_round_torque(diameter, stock, feed, kc11, exponent, friction=0):
    """Torque of a D-bit (half-round bit): one square end lip, the back bearing on the bore it has made.

    diameter (mm, finished), stock (mm, radial; half the diameter from solid), feed (mm/turn), kc11 (MPa), exponent
    (number), friction (number, back of the bit on the bore): numbers or arrays. Result: N*m.
    Formula: M = kc * f * t * ((D - t)/2 + mu * D/2), kc at h = f. The reaction on the back is about the cutting force.
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm.
    Raises ValueError where stock exceeds the radius.

    >>> import kit
    >>> torque = kit.cutting.half_round_torque(diameter="7 mm", stock="0.25 mm", feed="0.04 mm/turn", kc11="900 MPa",
    ...                                        exponent=0.25, friction=0.15)
    >>> kit.units.show(torque)
    '0.0785 N·m'

    Source: mean-arm geometry with Kienzle's rule, common practice; size of the reaction: assumption of this kit.
    """
    _check_within_radius(diameter, stock)
    warn_outside(feed, *KIENZLE)
    return _specific(kc11, exponent, feed) * feed * stock * ((diameter - stock) / 2 + friction * diameter / 2) / 1000


@units("N*m", diameter="mm > 0", stock="mm > 0", feed="mm/turn > 0", teeth=">= 1", lead_angle="deg > 0 <= 90",
       kc11="MPa > 0", exponent=">= 0 < 1", least_chip="mm > 0", edge_force="N/mm >= 0", friction_torque="N*m >= 0")
def reamer_torque(diameter, stock, feed, teeth, lead_angle, kc11, exponent, least_chip=None, edge_force="0 N/mm",
                  friction_torque="0 N*m"):
    """Torque of a reamer with several teeth.

    diameter (mm, finished), stock (mm, radial), feed (mm/turn), teeth (number), lead_angle (deg, lead edge to axis),
    kc11 (MPa), exponent (number), least_chip (mm, specific force held below it; may be left out), edge_force (N/mm of
    edge in cut, ploughing, always added), friction_torque (N*m, margins; see `margin_friction_torque`): numbers or
    arrays. Result: N*m.
    Formula: M = (kc * f * t + edge_force * z * t/sin(lead)) * (D - t)/2 + friction_torque, kc at h = f/z * sin(lead).
    A long taper cuts so thin (6 teeth, 1 deg, 0.2 mm/turn: 0.6 um) that it burnishes: give least_chip and edge_force.
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm (h, or least_chip if
    that is more).
    Raises ValueError where stock exceeds the radius.

    >>> import kit
    >>> torque = kit.cutting.reamer_torque(diameter="8 mm", stock="0.05 mm", feed="0.2 mm/turn", teeth=6,
    ...                                    lead_angle="45 deg", kc11="900 MPa", exponent=0.25)
    >>> kit.units.show(torque)
    '0.0913 N·m'

    Source: mean-arm geometry with Kienzle's rule, common practice; edge force in the manner of Y. Altintas,
    Manufacturing Automation (from memory).
    """
    _check_within_radius(diameter, stock)
    sine = np.sin(np.radians(lead_angle))
    chip = feed / teeth * sine
    held = _held(chip, least_chip)
    warn_outside(held, *KIENZLE)
    force = _specific(kc11, exponent, held) * feed * stock + edge_force * teeth * stock / sine
    return force * (diameter - stock) / 2 / 1000 + friction_torque


@units("N*m", diameter="mm > 0", sides=">= 3", contact_length="mm > 0", advance="mm/turn > 0", kc11="MPa > 0",
       exponent=">= 0 < 1", least_chip="mm > 0", rake_factor="> 0", edge_force="N/mm >= 0")
def broach_torque(diameter, sides, contact_length, advance, kc11, exponent, least_chip=None, rake_factor=1,
                  edge_force="0 N/mm"):
    """Torque of a slender tapered broach of regular polygon section, turned in a hole.

    diameter (mm, across the corners), sides (number), contact_length (mm of the hole's wall touched), advance (mm/turn,
    radial: how much the radius grows), kc11 (MPa), exponent (number), least_chip (mm, specific force held below it; may
    be left out), rake_factor (number that multiplies kc: the corner of a pentagon has a rake of -54 deg, for which 1.5
    to 2.5 is a fair guess), edge_force (N/mm of edge in cut, ploughing, always added): numbers or arrays. Result: N*m.
    Formula: M = (rake_factor * kc * a/n + edge_force) * n * L * D/2, kc at h = a/n. Stock small against the diameter.
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm (h, or least_chip if
    that is more).

    >>> import kit
    >>> torque = kit.cutting.broach_torque(diameter="5 mm", sides=5, contact_length="10 mm", advance="0.005 mm/turn",
    ...                                    kc11="900 MPa", exponent=0.25, rake_factor=2)
    >>> kit.units.show(torque)
    '1.27 N·m'

    Source: geometry of the polygon with Kienzle's rule, no published source; rake factor: assumption of this kit.
    """
    chip = advance / sides
    held = _held(chip, least_chip)
    warn_outside(held, *KIENZLE)
    per_width = rake_factor * _specific(kc11, exponent, held) * chip + edge_force
    return per_width * sides * contact_length * diameter / 2 / 1000


@units("N", depth="mm > 0", feed="mm/turn > 0", kc11="MPa > 0", exponent=">= 0 < 1", approach_angle="deg > 0 <= 90")
def turning_force(depth, feed, kc11, exponent, approach_angle="90 deg"):
    """Tangential force of a turning or boring tool; times the radius at the cut it is the torque.

    depth (mm, radial), feed (mm/turn), kc11 (MPa), exponent (number), approach_angle (deg): numbers or arrays.
    Result: N. Formula: F = kc * depth * f, kc at h = f * sin(approach_angle). Feed force is about 0.4 to 0.5 of it,
    radial force 0.3 to 0.4 (from memory, common practice).
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm.
    Source: O. Kienzle, VDI-Zeitschrift 94 (1952), pp. 299-305 (from memory).
    """
    chip = feed * np.sin(np.radians(approach_angle))
    warn_outside(chip, *KIENZLE)
    return _specific(kc11, exponent, chip) * depth * feed


# Torque at yield over shear_yield * diameter^3. Half-round: Saint-Venant's torsion of a semicircle of radius r has
# torque = (pi/2 - 4/pi) G twist r^4 and its greatest stress 8/(3 pi) G twist r in the middle of the flat.
SECTIONS = {"round": np.pi / 16, "half-round": (3 * np.pi**2 / 16 - 3 / 2) / 8}


@units("N*m", diameter="mm > 0", shear_yield="MPa > 0")
def shank_torque(diameter, shear_yield, section="round"):
    """Torque at which a shank begins to yield.

    diameter (mm; of the full round also where half of it is cut away), shear_yield (MPa, 0.577 of the tensile yield):
    numbers or arrays; section: "round" or "half-round". Result: N*m.
    Formula: round tau * pi * d^3 / 16; half-round 0.351 * tau * (d/2)^3, 22 % of the round.
    Valid up to the first yield, for a shank long against its diameter, without notches. Raises ValueError for another
    section.
    Source: round: any textbook of strength of materials; half-round: S. Timoshenko and J. N. Goodier, Theory of
    Elasticity, torsion of a circular sector (from memory, rounded there to 0.35; solved anew in the tests).
    """
    if section not in SECTIONS:
        raise ValueError(f"section: unknown word {section!r}; {tables.nearest(section, SECTIONS)}")
    return SECTIONS[section] * shear_yield * diameter**3 / 1000


@units("N", diameter="mm > 0", length="mm > 0", modulus="GPa > 0", end_factor="> 0")
def column_load(diameter, length, modulus, end_factor):
    """End load at which a round shank bows out (Euler).

    diameter (mm), length (mm, free), modulus (GPa), end_factor (number K that multiplies the length: 2 tip free to
    wander as at entry, 0.7 tip guided and shank held, 1 both ends hinged): numbers or arrays. Result: N.
    Formula: F = pi^2 * E * I / (K L)^2, I = pi d^4 / 64. One third of it is a usual working load.
    Valid for slender shanks. Warns where K L / (d/4) is below 45: there even hard steel (1000 MPa) yields before it
    bows, and the result is an upper bound; soft iron (150 MPa) yields first below about 115.
    Source: L. Euler's column, any textbook of strength of materials.
    """
    warn_outside(4 * end_factor * length / diameter, 45, np.inf, "",
                 "the shank's slenderness is {}; Euler's formula needs {} and overestimates here")
    inertia = np.pi * diameter**4 / 64
    return np.pi**2 * modulus * 1000 * inertia / (end_factor * length)**2


def _engage(tool, diameter, stock, teeth, lead_angle, point_angle):
    """Width of edge (mm), arm of the cutting force (mm) and feed per chip, all plain numbers."""
    if tool not in TOOLS:
        raise ValueError(f"tool: unknown word {tool!r}; {tables.nearest(tool, TOOLS)}")
    _check_within_radius(diameter, stock)
    edges, angle = {"two-lip drill": (2, point_angle / 2), "half-round bit": (1, 90.0)}.get(tool, (teeth, lead_angle))
    feed_per_chip = edges / np.sin(np.radians(angle))
    return stock * feed_per_chip, (diameter - stock) / 2, feed_per_chip


@units(diameter="mm > 0", stock="mm > 0", teeth=">= 1", lead_angle="deg > 0 <= 90", point_angle="deg > 0 <= 180")
def engagement(tool, diameter, stock, teeth=6, lead_angle="45 deg", point_angle="118 deg"):
    """Edge in cut, arm of the force and feed per chip of one tool in one pass.

    tool: one of TOOLS; diameter (mm, finished), stock (mm, radial; half the diameter for a drill from solid), teeth
    (number; sides of a broach), lead_angle (deg; reamer and broach), point_angle (deg; drill): numbers or arrays. What
    a tool does not have is ignored. Result: Engagement.
    Formula: feed_per_chip = edges/sin(angle), width = stock * feed_per_chip, arm = (D - stock)/2; edges and angle are
    2 and point_angle/2 for the drill, 1 and 90 deg for the D-bit, teeth and lead_angle for the others. A
    broach is a slender taper, its edges in cut over the length stock/tan(lead) that holds the stock.
    Raises ValueError for another tool and where stock exceeds the radius.
    Source: geometry; area and arm of the drill in H. El-Hofy, Fundamentals of Machining Processes, p. 133.
    """
    width, arm, feed_per_chip = _engage(tool, diameter, stock, teeth, lead_angle, point_angle)
    return Engagement(width=Q(width, "mm"), arm=Q(arm, "mm"), feed_per_chip=Q(feed_per_chip, ""))


def _width_and_lever(tool, diameter, stock, teeth, lead_angle, point_angle, guide_friction):
    """Width of edge (mm), and arm of the cutting force with that of friction on the back of a one-sided bit (mm)."""
    width, arm, _ = _engage(tool, diameter, stock, teeth, lead_angle, point_angle)
    return width, arm + (guide_friction * diameter / 2 if tool == "half-round bit" else 0)


PASS = {"diameter": "mm > 0", "stock": "mm > 0", "kc11": "MPa > 0", "exponent": ">= 0 < 1", "edge_force": "N/mm >= 0",
        "rake_factor": "> 0", "guide_friction": ">= 0", "friction_torque": "N*m >= 0", "teeth": ">= 1",
        "lead_angle": "deg > 0 <= 90", "point_angle": "deg > 0 <= 180"}


@units("N*m", chip="mm >= 0", **PASS)
def pass_torque(tool, diameter, stock, chip, kc11, exponent, edge_force="0 N/mm", rake_factor=1, guide_friction=0,
                friction_torque="0 N*m", teeth=6, lead_angle="45 deg", point_angle="118 deg"):
    """Torque of one pass at a chosen chip thickness, whatever the tool.

    chip (mm), kc11 (MPa), exponent (number), edge_force (N/mm of edge in cut, ploughing, always added), rake_factor
    (number that multiplies kc), guide_friction (number, back of a D-bit on the bore; other tools have none),
    friction_torque (N*m, margins): numbers or arrays; the rest as in `engagement`. Result: N*m.
    Formula: M = (rake_factor * kc11 * h^(1-m) + edge_force) * width * (arm + guide arm) + friction_torque; guide arm =
    guide_friction * D/2, since the D-bit bears on its back with about the cutting force.
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns for chips below 0.001 (0 apart: no cut, ploughing
    only) and above 2.5 mm. Raises ValueError as `engagement`.
    Source: as `drill_torque`, `half_round_torque` and `reamer_torque`, with which it agrees.
    """
    warn_outside(np.where(np.equal(chip, 0), 0.001, chip), *KIENZLE)
    width, lever = _width_and_lever(tool, diameter, stock, teeth, lead_angle, point_angle, guide_friction)
    return (rake_factor * kc11 * chip**(1 - exponent) + edge_force) * width * lever / 1000 + friction_torque


@units("mm", torque="N*m >= 0", **PASS)
def pass_chip(torque, tool, diameter, stock, kc11, exponent, edge_force="0 N/mm", rake_factor=1, guide_friction=0,
              friction_torque="0 N*m", teeth=6, lead_angle="45 deg", point_angle="118 deg"):
    """Thickest chip that a torque can take: the inverse of `pass_torque`.

    torque (N*m, what the drive gives at the spindle): number or array; the rest as in `pass_torque`. Result: mm; 0
    where the torque does not even cover edge force and friction. Feed = chip * feed_per_chip of `engagement`.
    Formula: h = (((M - friction_torque)/(width * (arm + guide arm)) - edge_force) / (rake_factor * kc11))^(1/(1-m)).
    The result is a limit, to be set beside the chip that the maker chooses and the least that forms; it is not checked
    against the range of Kienzle's rule. Raises ValueError as `engagement`.
    Source: as `pass_torque`.
    """
    width, lever = _width_and_lever(tool, diameter, stock, teeth, lead_angle, point_angle, guide_friction)
    per_width = (torque - friction_torque) * 1000 / (width * lever) - edge_force
    return (np.maximum(per_width, 0) / (rake_factor * kc11))**(1 / (1 - exponent))


@units("N", diameter="mm > 0", stock="mm > 0", feed="mm/turn > 0", kc11="MPa > 0", exponent=">= 0 < 1",
       point_angle="deg > 0 <= 180")
def lip_thrust(diameter, stock, feed, kc11, exponent, point_angle="118 deg"):
    """Thrust of the lips alone, for a two-lip drill that opens a hole (no chisel edge in cut).

    diameter (mm, finished), stock (mm, radial), feed (mm/turn), kc11 (MPa), exponent (number), point_angle (deg,
    whole): numbers or arrays. Result: N. From solid the chisel edge adds as much again or more: use `handbook_drill`.
    Formula: T = 0.5 * kc * stock * f * sin(point_angle/2), kc at h = f/2 * sin(point_angle/2).
    Valid for h from 0.05 to 2.5 mm; thinner is extrapolation. Warns below 0.001 and above 2.5 mm.
    Raises ValueError where stock exceeds the radius.
    Source: common practice, from memory (written there for the full drill, stock = D/2).
    """
    _check_within_radius(diameter, stock)
    sine = np.sin(np.radians(point_angle / 2))
    chip = feed / 2 * sine
    warn_outside(chip, *KIENZLE)
    return 0.5 * _specific(kc11, exponent, chip) * stock * feed * sine


@units("mm", thickness="mm > 0", diameter="mm > 0", point_angle="deg > 0 <= 180")
def guided_depth(thickness, diameter, point_angle="118 deg"):
    """How deep the margins of a two-lip drill are in the hole when its point breaks through.

    thickness (mm, of the metal along the hole), diameter (mm), point_angle (deg, whole): numbers or arrays. Result: mm,
    at least 0.
    Formula: thickness - diameter / (2 tan(point_angle/2)), the length of the point taken off.
    Range: any; but warns below a thickness of one diameter: the drill catches in such sheet as it breaks through, and
    the ranges for size and form of a drilled hole (`form.csv`) do not hold.
    Source: geometry; one diameter: common practice, no published source (a 6 mm drill is told to have left a hole half
    a millimetre too wide in 3 mm of sheet, see `measured.csv`).
    """
    warn_outside(thickness / diameter, 1, np.inf, "",
                 "the metal is {} drill diameters thick; size and form of a drilled hole are known for {}")
    return np.maximum(thickness - diameter / 2 / np.tan(np.radians(point_angle / 2)), 0)


@units("N*m", friction=">= 0", pressure="MPa >= 0", margin_width="mm >= 0", contact_length="mm >= 0", teeth=">= 1",
       diameter="mm > 0")
def margin_friction_torque(friction, pressure, margin_width, contact_length, teeth, diameter):
    """Torque of the margins of a reamer or drill rubbing on the bore.

    friction (number), pressure (MPa, margin on bore), margin_width (mm), contact_length (mm), teeth (number), diameter
    (mm): numbers or arrays. Result: N*m. Formula: M = mu * p * w * L * z * D/2.
    Valid while the pressure is even along the margins. Friction of steel on bronze, from memory, believed to be in
    Bowden and Tabor: dry 0.2 to 0.35, fat or oil 0.08 to 0.15.
    Source: Coulomb friction, common practice, no published source.
    """
    return friction * pressure * margin_width * contact_length * teeth * diameter / 2 / 1000
