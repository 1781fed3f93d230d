"""Thin walls: how jaws, fingers, torque and push load a tube, how slender work bends, and the wall that is left.

`radius` of a tube is its mean radius, halfway through the wall. Stresses come back in MPa.
"""
from dataclasses import dataclass

import numpy as np
import pint

from kit.base import tables
from kit.base.units import Q, number, units, warn_outside

PLACES = {"end": 0.5, "middle": 2.0}   # bending length over 1/beta: a point load at the free end, far from the ends
_THIN = "the wall is {} of its mean radius; the formula for a thin wall needs {}"   # for warn_outside
SUPPORTS = {"centres": 1 / 48, "chuck and centre": 1 / (48 * np.sqrt(5)), "overhang": 1 / 3}   # sag over F L^3 / (E I)


def _of_word(name, word, known):
    try:
        return known[word]
    except (KeyError, TypeError):
        raise ValueError(f"{name}: unknown word {word!r}; {tables.nearest(word, known)}") from None


def _check_below(smaller, larger, small_name, large_name):
    """The first must be below the second everywhere (plain numbers, mm)."""
    bad = np.asarray(smaller >= larger)
    if bad.any():
        small, large = (number(np.broadcast_to(x, bad.shape).ravel()[bad.argmax()]) for x in (smaller, larger))
        raise ValueError(f"{small_name} {small} mm is not below {large_name} {large} mm: no metal is left")


def _check_tube(radius, wall):
    """Half the wall must be below the mean radius everywhere (plain numbers, mm)."""
    bad = np.asarray(wall >= 2 * radius)
    if bad.any():
        thick, mean = (number(np.broadcast_to(x, bad.shape).ravel()[bad.argmax()]) for x in (wall, radius))
        raise ValueError(f"wall {thick} mm leaves no bore in a tube of radius {mean} mm (the mean radius)")


def _check_whole(value, name):
    odd = np.ravel(value)[np.ravel(value != np.round(value))]
    if odd.size:
        raise ValueError(f"{name}: must be a whole number, not {number(odd[0], 4)}")


@dataclass(frozen=True)
class Distortion:
    """A ring under equal jaws, all positive: `inward` shift under a jaw, `outward` shift midway, their sum
    `peak_to_valley` (all radial), and `stress`, the greatest bending stress (under a jaw)."""
    inward: pint.Quantity
    outward: pint.Quantity
    peak_to_valley: pint.Quantity
    stress: pint.Quantity


@units(jaws=">= 2", load="N >= 0", radius="mm > 0", wall="mm > 0", width="mm > 0", modulus="MPa > 0")
def jaw_distortion(jaws, load, radius, wall, width, modulus):
    """Out-of-round of a ring pressed by equal jaws, evenly spaced.

    jaws: how many, a whole number from 2 (two fingers, a three-jaw grip, a collet of eight). load: of each jaw, radial.
    radius: mean radius. wall: thickness. width: axial length that really bends, for a short grip on a long tube
    `bending_length`. modulus: of elasticity. All numbers or arrays. Result: Distortion in um and MPa.

    A bore cut round in the clamped wall springs to this out-of-round, seen from the other side, when the jaws let go. A
    grip that follows up (spring, wedge, hand) leaves what its load does to the finished wall; a grip set before cutting
    (screw) leaves what it did to the wall at the start. A two-point gauge does not see three lobes.

    Formula, with h = pi / jaws, s = sin h, c = cos h, I = width wall^3 / 12:
    inward = W R^3 / (2 E I) ((h + s c) / (2 s^2) - 1 / h); outward = W R^3 / (2 E I) (1 / h - (s + h c) / (2 s^2));
    stress = 6 M / (width wall^2), M = W R / 2 (1 / h - c / s).
    Range: thin ring, handbook limit radius / wall >= 10. Shear across the wall is left out; it adds about a third of
    (jaws wall / radius)^2 to peak_to_valley, so the result is an underestimate for a thick wall or many jaws. Warns
    where the arc between jaws is below 12 walls and that share about a tenth or more. The even shrinking of the whole
    ring, which leaves it round, is not counted, nor its even stress.
    For a ring much wider than its wall, put modulus / (1 - poisson^2) for the modulus.
    Raises ValueError for a number of jaws that is not whole, and where the wall leaves no bore.

    >>> import kit
    >>> ring = kit.walls.jaw_distortion(jaws=3, load="50 N", radius="10 mm", wall="1 mm", width="20 mm",
    ...                                 modulus="100 GPa")
    >>> kit.units.show(ring.peak_to_valley)
    '9.06 µm'

    Source: from memory, believed to be in W. C. Young and R. G. Budynas, Roark's Formulas for Stress and Strain, 7th
    ed. (2002), table 9.2, cases 1 and 7, and S. Timoshenko, Strength of Materials, part II.
    """
    _check_whole(jaws, "jaws")
    _check_tube(radius, wall)
    warn_outside(2 * np.pi * radius / (jaws * wall), 12, np.inf, "", "the arc between jaws is {} wall thicknesses; the "
                 "thin-ring formula needs {} and underestimates here")
    h = np.pi / jaws
    s, c = np.sin(h), np.cos(h)
    scale = load * radius**3 / (2 * modulus * width * wall**3 / 12)
    inward = scale * ((h + s * c) / (2 * s**2) - 1 / h)
    outward = scale * (1 / h - (s + h * c) / (2 * s**2))
    moment = load * radius / 2 * (1 / h - c / s)
    return Distortion(inward=Q(inward * 1e3, "um"), outward=Q(outward * 1e3, "um"),
                      peak_to_valley=Q((inward + outward) * 1e3, "um"), stress=Q(6 * moment / (width * wall**2), "MPa"))


ARCS = np.linspace(1e-6, np.pi / 2, 1001)   # half of what a half of the block touches
ARC_SHARES = ARCS / np.sin(ARCS) / (np.pi / 2)


@units("um", force="N >= 0", radius="mm > 0", wall="mm > 0", width="mm > 0", modulus="MPa > 0", grip_share="> 0 <= 1")
def clamp_distortion(force, radius, wall, width, modulus, grip_share):
    """Out-of-round of a ring in a block that was bored to it and split, peak to valley.

    force: that draws the halves together. radius, wall, width, modulus: as for `jaw_distortion`. grip_share: torque
    that the block holds, over that of a block which touches all round (`holding.clamp_torque`): 2 / pi where it touches
    on two lines, 1 where it presses evenly and leaves the ring round; less than 2 / pi counts as two lines. All
    numbers or arrays. Result: um.

    Formula: each half presses evenly over an arc of half-angle a, where a / sin a = grip_share pi / 2; the oval is that
    of two jaws times cos a, the wave of two lobes in the pressure over that of two points.
    Range: as `jaw_distortion` with two jaws; the waves of four lobes and more are left out, under 2 % of two points'.
    A block that touches nearly all round presses a little less evenly than this: about 13 % low there.
    Raises ValueError where the wall leaves no bore.

    >>> import kit
    >>> kit.units.show(kit.walls.clamp_distortion(force="50 N", radius="10 mm", wall="1 mm", width="20 mm",
    ...                                           modulus="100 GPa", grip_share=0.75))
    '24.0 µm'

    Source: Fourier's series of the pressure on a thin ring; no published source for the block.
    """
    points = jaw_distortion(jaws=2, load=Q(force, "N"), radius=Q(radius, "mm"), wall=Q(wall, "mm"),
                            width=Q(width, "mm"), modulus=Q(modulus, "MPa")).peak_to_valley.m_as("um")
    return points * np.cos(np.interp(grip_share, ARC_SHARES, ARCS))


def _ripple(lobes, poisson):
    """1/beta of `bending_length` over radius sqrt(radius / wall)."""
    return (48 * (1 - poisson**2))**0.25 / (lobes * np.sqrt(lobes**2 - 1))


@units("mm", radius="mm > 0", wall="mm > 0", lobes=">= 2", poisson=">= 0 < 0.5")
def bending_length(radius, wall, lobes=2, poisson=0.34, place="end"):
    """Axial length of a long tube that bends together with a short squeeze: the width to give `jaw_distortion`.

    radius: mean radius. wall: thickness. lobes: how many, a whole number from 2, as many as fingers or jaws.
    poisson: ratio of the metal. Numbers or arrays. place: "end" for a squeeze at a free end, "middle" for one far from
    both ends. Result: mm.

    Formula: 1/beta = R sqrt(R / t) (48 (1 - poisson^2))^(1/4) / (lobes sqrt(lobes^2 - 1)); 1/(2 beta) at a free end,
    2/beta in the middle. It equates the shift under the load with that of a ring of that length.
    Range: lobes^2 wall / radius up to 1.5, there within 15 % of complete thin shell theory (8 % for 2 or 3 lobes and
    radius over wall from 10); beyond it warns, a longer stretch bends. A grip short against 1/beta with about 3/beta of
    tube beside it; a shorter tube cannot bend over more than its own length. A pointed squeeze raises finer ripples as
    well: peak to valley is then up to 1.15 times, the shift under the point up to 1.35 times that of the ring of this
    length.
    Raises ValueError for lobes that are not whole, an unknown place, and where the wall leaves no bore.
    Source: none published for this length. Semi-membrane shell theory (axial strain and bending round the ring alone)
    leads to a beam on an elastic foundation, whose point-load answers are in M. Hetenyi, Beams on Elastic Foundation
    (1946), from memory.
    """
    _check_whole(lobes, "lobes")
    _check_tube(radius, wall)
    warn_outside(lobes**2 * wall / radius, 0, 1.5, "", "the square of the number of lobes times wall over radius is "
                 "{}; the bending length needs {}, and a longer stretch bends here")
    return _of_word("place", place, PLACES) * radius * np.sqrt(radius / wall) * _ripple(lobes, poisson)


@units("N*mm", force="N >= 0", radius="mm > 0")
def pinch_moment(force, radius):
    """Bending moment in a tube wall under each of two opposite fingers, over the whole length that bends.

    force: of each finger (number or array). radius: mean radius (number or array). Result: N*mm.

    Formula: force radius / pi.
    Range: thin ring; a fingertip spreads the load and lowers it.
    Source: as `jaw_distortion`, two jaws.
    """
    return force * radius / np.pi


@units("N*mm", wall="mm > 0", length="mm > 0", yield_strength="MPa > 0")
def plastic_moment(wall, length, yield_strength):
    """Moment at which a flat wall folds for good, 1.5 times that of first yield.

    wall: thickness. length: that bends together, from `bending_length`. yield_strength: of the metal. All numbers or
    arrays. Result: N*mm.

    Formula: yield_strength wall^2 length / 4.
    Range: metal that yields at a steady stress; hardening is not counted.
    Source: from memory, in every textbook of plastic bending, as S. Timoshenko, Strength of Materials, part II.
    """
    return yield_strength * wall**2 * length / 4


@units("mm", force="N >= 0", radius="mm > 0", yield_strength="MPa > 0", poisson=">= 0 < 0.5")
def least_wall_for_pinch(force, radius, yield_strength, poisson=0.34):
    """Wall that finger and thumb just dent at the free end of a bare tube.

    force: of each finger. radius: mean radius. yield_strength, poisson: of the metal. Numbers or arrays. Result: mm.

    Formula: the wall t at which `pinch_moment` equals `plastic_moment` over the `bending_length` of two lobes at a free
    end, t = (8 force / (pi yield_strength a sqrt(radius)))^(2/3), a = (48 (1 - poisson^2))^(1/4) / (2 sqrt(3)).
    Range: as those three; warns where radius / wall comes out below 5. The moment is taken as even over the bending
    length: right under a fingertip it is higher, so keep a margin.
    Source: none published; limit analysis with the three formulas named.
    """
    wall = (8 * force / (np.pi * yield_strength * _ripple(2, poisson) * np.sqrt(radius)))**(2 / 3)
    warn_outside(wall / radius, 0, 0.2, "", _THIN)
    return wall


@units("mm", torque="N*mm >= 0", radius="mm > 0", shear_yield="MPa > 0")
def least_wall_for_torque(torque, radius, shear_yield):
    """Wall that a torque just brings to yield in shear.

    torque: through the tube. radius: mean radius. shear_yield: of the metal, about 0.58 of its yield strength.
    All numbers or arrays. Result: mm.

    Formula: torque / (2 pi radius^2 shear_yield).
    Range: thin wall (within 2 % for radius / wall above 25, within 10 % above 5, below it warns); buckling is apart,
    `torsion_buckling`.
    Source: R. Bredt's formula, in every textbook of strength of materials.
    """
    wall = torque / (2 * np.pi * radius**2 * shear_yield)
    warn_outside(wall / radius, 0, 0.2, "", _THIN)
    return wall


@units("MPa", radius="mm > 0", wall="mm > 0", length="mm > 0", modulus="MPa > 0", poisson=">= 0 < 0.5",
       knockdown="> 0 <= 1")
def torsion_buckling(radius, wall, length, modulus, poisson, knockdown=0.67):
    """Shear stress at which a twisted thin tube buckles elastically.

    radius: mean radius. wall: thickness. length: between the ends that are held round. modulus, poisson: of the metal.
    knockdown: factor on the stress for the dents of a real tube. All numbers or arrays. Result: MPa. Short stiff tubes
    yield first: compare with the shear yield.

    Formula: knockdown times the greater of 0.747 E (t/R)^(5/4) (R/L)^(1/2), for a moderately long tube, and
    E / (3 sqrt(2) (1 - poisson^2)^(3/4)) (t/R)^(3/2), the floor to which a very long one falls.
    Range: elastic, R/t above about 10; Z = sqrt(1 - poisson^2) L^2 / (R t) from 50; below it warns (the true stress of
    so short a tube is higher).
    Raises ValueError where the wall leaves no bore.
    Source: from memory, believed to be in NASA SP-8007, Buckling of Thin-Walled Circular Cylinders (1968), section on
    torsion, which recommends the 0.67; the very long tube from memory, believed to be in S. Timoshenko and J. Gere,
    Theory of Elastic Stability (1961), chapter 11.
    """
    _check_tube(radius, wall)
    warn_outside(np.sqrt(1 - poisson**2) * length**2 / (radius * wall), 50, np.inf, "", "the length parameter Z is {}; "
                 "the formula for a moderately long tube needs {} and underestimates here")
    moderate = 0.747 * modulus * (wall / radius)**1.25 * np.sqrt(radius / length)
    very_long = modulus / (3 * np.sqrt(2) * (1 - poisson**2)**0.75) * (wall / radius)**1.5
    return knockdown * np.maximum(moderate, very_long)


def _axial_knockdown(slenderness):
    return 1 - 0.901 * (1 - np.exp(-np.sqrt(slenderness) / 16))


_AXIAL = "the radius is {} wall thicknesses; the tests behind the knockdown had {}"


@units("", radius="mm > 0", wall="mm > 0")
def axial_knockdown(radius, wall):
    """Factor by which the dents of a real thin tube lower its axial buckling stress.

    radius: mean radius. wall: thickness. Numbers or arrays. Result: 0 to 1, a lower bound to tests.

    Formula: 1 - 0.901 (1 - exp(-sqrt(R/t) / 16)).
    Range: R/t up to 1500 (warns beyond).
    Raises ValueError where the wall leaves no bore.
    Source: from memory, believed to be in NASA SP-8007, Buckling of Thin-Walled Circular Cylinders (1968), section on
    axial compression; the constants agree with public programs that cite it.
    """
    _check_tube(radius, wall)
    warn_outside(radius / wall, 0, 1500, "", _AXIAL)
    return _axial_knockdown(radius / wall)


@units("MPa", radius="mm > 0", wall="mm > 0", modulus="MPa > 0", poisson=">= 0 < 0.5", knockdown="> 0 <= 1")
def axial_buckling(radius, wall, modulus, poisson, knockdown=None):
    """Compressive stress at which the wall of a tube pushed endwise crumples elastically.

    radius: mean radius. wall: thickness. modulus, poisson: of the metal. knockdown: factor on the stress, by default
    `axial_knockdown`. All numbers or arrays. Result: MPa; compare with the yield strength, which usually comes first.

    Formula: knockdown E t / (R sqrt(3 (1 - poisson^2))).
    Range: as `axial_knockdown`; a slender tube bows as a column before.
    Raises ValueError where the wall leaves no bore.
    Source: as `axial_knockdown`; the classical stress in S. Timoshenko and J. Gere, Theory of Elastic Stability (1961),
    chapter 11, from memory.
    """
    _check_tube(radius, wall)
    warn_outside(radius / wall, 0, 1500, "", _AXIAL)
    if knockdown is None:
        knockdown = _axial_knockdown(radius / wall)
    return knockdown * modulus * wall / (radius * np.sqrt(3 * (1 - poisson**2)))


@units("MPa", torque="N*mm >= 0", outside="mm > 0", bore="mm >= 0")
def twist_stress(torque, outside, bore):
    """Greatest shear stress in a round tube or rod under torque.

    torque: through it. outside: diameter. bore: diameter, 0 for a solid rod. All numbers or arrays. Result: MPa, at the
    outside.

    Formula: 16 torque outside / (pi (outside^4 - bore^4)).
    Range: elastic, bore concentric. With an eccentric bore the thinnest place carries the mean stress times wall over
    (wall - eccentricity).
    Raises ValueError where the bore is not below the outside.
    Source: F. P. Beer, E. R. Johnston and J. T. DeWolf, Mechanics of Materials, chapter 3 (example 3.01, p. 150).
    """
    _check_below(bore, outside, "bore", "outside")
    return 16 * torque * outside / (np.pi * (outside**4 - bore**4))


@units("mm", force="N >= 0", length="mm > 0", diameter="mm > 0", modulus="MPa > 0")
def sag(force, length, diameter, modulus, support="centres"):
    """How far a solid round rod bends sideways under the tool; the diameter left is larger by about twice that.

    force: sideways (number or array). length: between supports, or free length of an overhang. diameter: of the rod.
    modulus: of elasticity. support: "centres" (both ends turn freely, force in the middle), "chuck and centre" (one end
    held fast, force in the middle) or "overhang" (one end held fast, force at the free end). Result: mm, where it is
    greatest.

    Formula: F L^3 / (E I) times 1/48, 1/(48 sqrt(5)) or 1/3, I = pi diameter^4 / 64.
    Range: elastic, centres and chuck that do not give; length from 5 diameters, where shear adds 9 % between centres,
    about twice that with a chuck; below it warns.
    Raises ValueError for an unknown support.
    Source: in every textbook of strength of materials, as S. Timoshenko, Strength of Materials, part I; from memory.
    """
    warn_outside(length / diameter, 5, np.inf, "",
                 "the rod is {} diameters long; the formula for a slender rod needs {} and underestimates here")
    return _of_word("support", support, SUPPORTS) * force * length**3 / (modulus * np.pi * diameter**4 / 64)


@units("mm", drift=">= 0 <= 1", length="mm > 0", share=">= 0 <= 1")
def bore_bow(drift, length, share):
    """Bow (sagitta) of a bore that wandered, which truing the outside on a straight arbor cannot remove.

    drift: offset at the far end over the length, such as "2 mm/m"; a bare number is that pure ratio, 0.002.
    length: of the bore. share: of the end offset that was reached along a curve, the rest being a straight slant
    (0 to 1). All numbers or arrays. Result: mm.

    Formula: share drift length / 4: a parabola that leaves the axis by d at its end lies d/4 off its own chord in the
    middle.
    Range: a single smooth curve, small drift.
    Source: geometry; the share is an assumption.
    """
    return share * drift * length / 4


@units("MPa", force="N >= 0", span="mm > 0", outside="mm > 0", bore="mm > 0", modulus="MPa > 0",
       arbor_modulus="MPa > 0")
def bending_stress_on_arbor(force, span, outside, bore, modulus, arbor_modulus):
    """Greatest bending stress in a sleeve that is worked on a snug arbor between centres.

    force: sideways, in the middle. span: between the centres. outside, bore: diameters of the sleeve, the arbor filling
    the bore. modulus: of the sleeve. arbor_modulus: of the arbor. All numbers or arrays. Result: MPa.

    Formula: E_s M (outside / 2) / (E_a I_a + E_s I_s), M = force span / 4, I_a = pi bore^4 / 64,
    I_s = pi (outside^4 - bore^4) / 64.
    Range: elastic, sleeve and arbor bend as one or at least to the same curve; slender.
    Raises ValueError where the bore is not below the outside.
    Source: composite beam, in every textbook of strength of materials; from memory.
    """
    _check_below(bore, outside, "bore", "outside")
    arbor, sleeve = np.pi / 64 * bore**4, np.pi / 64 * (outside**4 - bore**4)
    return modulus * force * span / 4 * outside / 2 / (arbor_modulus * arbor + modulus * sleeve)


@units("", wall="mm > 0", least_wall="mm >= 0", spread="mm > 0")
def chance_below(wall, least_wall, spread):
    """Chance that the thinnest place of a tube is below a least wall.

    wall: nominal. least_wall: that the use needs, 0 for a bore that breaks out. spread: standard deviation of the
    offset of bore against outside along each of two axes. All numbers or arrays. Result: 0 to 1; 1 where the nominal
    wall is not above the least.

    Formula: exp(-(wall - least_wall)^2 / (2 spread^2)), the chance that a Rayleigh eccentricity eats the difference.
    Range: two independent normal offsets of the same spread and mean 0; a steady offset makes it worse.

    >>> import kit
    >>> kit.units.show(kit.walls.chance_below(wall="0.5 mm", least_wall="0.3 mm", spread="0.1 mm"))
    '0.135'

    Source: from memory, the Rayleigh distribution in every textbook of statistics.
    """
    return np.exp(-np.maximum(wall - least_wall, 0)**2 / (2 * spread**2))


@units("", wall="mm > 0", eccentricity="mm >= 0")
def eccentric_stiffness(wall, eccentricity):
    """Stiffness in twist of a tube with an eccentric bore, over that of the same tube with its bore in the middle.

    wall: mean thickness. eccentricity: offset of the bore's axis, a length. Numbers or arrays. Result: 0 to 1; 0 where
    the bore breaks out (eccentricity not below the wall).

    Formula: sqrt(1 - (eccentricity / wall)^2).
    Range: thin wall.

    >>> import kit
    >>> kit.units.show(kit.walls.eccentric_stiffness(wall="0.5 mm", eccentricity="0.2 mm"))
    '0.917'

    Source: worked out from R. Bredt's formula J = 4 A^2 / (integral of ds / t), with t = wall + eccentricity
    cos(angle); no published source for the ratio.
    """
    return np.sqrt(1 - np.minimum(eccentricity / wall, 1)**2)
