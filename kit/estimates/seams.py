"""Tubes wrapped from sheet: the strip they take, how far it springs open, how tight it bends, and what the soldered
seam bears at once and for long."""
import numpy as np

from kit.base.units import units, warn_outside


@units("mm", outside="mm > 0", thickness="mm > 0")
def strip_width(outside, thickness):
    """Width of the strip that wraps into a tube, edge to edge.

    outside: diameter of the tube. thickness: of the sheet. Numbers or arrays. Result: mm; a lap comes on top.

    Formula: pi (outside - thickness): the middle of the sheet keeps its length.
    Range: sheet thin beside the tube. Raises ValueError where the sheet is as thick as the tube's radius.
    Source: geometry.
    """
    if np.any(np.asarray(thickness) >= np.asarray(outside) / 2):
        raise ValueError("thickness: the sheet fills the tube; give sheet thinner than half its outside")
    return np.pi * (outside - thickness)


@units("mm", width="mm > 0", thickness="mm > 0")
def closing_outside(width, thickness):
    """Outside of the tube into which a strip closes edge to edge: drawn through smaller holes, its edges press.

    width, thickness: of the strip. Numbers or arrays. Result: mm. The inverse of `strip_width`.

    Formula: width / pi + thickness. Range, source: as there.

    >>> import kit
    >>> kit.units.show(kit.seams.closing_outside(width="3.28 mm", thickness="0.17 mm"))
    '1.21 mm'
    """
    return width / np.pi + thickness


@units("", radius="mm > 0", thickness="mm > 0", yield_strength="MPa > 0", modulus="MPa > 0")
def springback(radius, thickness, yield_strength, modulus):
    """Radius of a bend while it is held round the mandrel, over that after it is let go.

    radius: to the middle of the sheet, bent. thickness: of the sheet. yield_strength, modulus: of the metal. Numbers or
    arrays. Result: 0 to 1; 1 for a bend that stays, 0 for one that springs back straight.

    Formula: 4 x^3 - 3 x + 1, x = R Y / (E t). Range: an ideally plastic sheet bent round; x up to 1/2, where the bend
    is elastic alone and all of it springs back.

    >>> import kit
    >>> kept = kit.seams.springback(radius="4 mm", thickness="0.4 mm", yield_strength="150 MPa", modulus="105 GPa")
    >>> kept.m.round(3)
    np.float64(0.957)

    Source: believed to be in S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, sec. 16.5 (from
    memory).
    """
    x = np.minimum(radius * yield_strength / (modulus * thickness), 0.5)
    return 4 * x**3 - 3 * x + 1


@units("mm", radius="mm > 0", kept="> 0 <= 1")
def gap(radius, kept):
    """How far a full turn of sheet springs open at its seam.

    radius: to the middle of the sheet, as bent. kept: of `springback`. Numbers or arrays. Result: mm along the girth.

    Formula: 2 pi radius (1/kept - 1). Range: a turn that closed round the mandrel.
    Source: geometry: the strip's length stays.
    """
    return 2 * np.pi * radius * (1 / kept - 1)


@units("N/mm", gap="mm >= 0", radius="mm > 0", thickness="mm > 0", modulus="MPa > 0")
def closing_force(gap, radius, thickness, modulus):
    """Force along the girth, for each length of seam, that draws an open turn of sheet shut; a seam made so bears it.

    gap: at the seam. radius: to the middle of the sheet. thickness: of it. modulus: of elasticity. Numbers or arrays.
    Result: N/mm; at the seam it pulls straight across, at the side opposite it bends.

    Formula: gap E t^3 / (36 pi radius^3): of a ring slit at one place, drawn together by its ends.
    Range: thin, elastic. A tube annealed while it is bound keeps none of it.
    Source: bending of a curved beam, in every textbook of strength of materials; as in R. J. Roark, Formulas for Stress
    and Strain (from memory).
    """
    return gap * modulus * thickness**3 / (36 * np.pi * radius**3)


@units("mm", thickness="mm > 0", area_reduction="> 0 < 1")
def least_bend_radius(thickness, area_reduction):
    """Least inside radius to which sheet bends before it cracks.

    thickness: of the sheet. area_reduction: of its section in a tensile test, at the break. Numbers or arrays. Result:
    mm, 0 for metal that loses half its section or more.

    Formula: thickness (0.50 / area_reduction - 1). Range: along the grain it is worse; burrs make cracks of their own.
    Source: believed to be in S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, sec. 16.5 (from
    memory).
    """
    return thickness * np.maximum(0.5 / area_reduction - 1, 0)


@units("N/mm", width="mm > 0", strength="MPa > 0", long_share="> 0 <= 1")
def seam_strength(width, strength, long_share=1):
    """What a seam bears for each length of it.

    width: over which solder holds: the sheet's thickness where the edges butt, the overlap where they lap, the slope of
    a scarf. strength: of the solder in tension (butt) or in shear (lap, scarf), at once. long_share: of that which it
    bears for thousands of hours, 1 for a load of minutes. Numbers or arrays. Result: N/mm.

    Formula: width strength long_share. Range: a seam that solder filled; soft solder to 50 degC or so. The shear is
    taken as even over the width: in a lap that is wide beside its sheet the ends bear more than the middle, so that
    this is the most. Warns over 30 mm.
    Source: strength over area; shares in F. J. Maupin and W. H. Swanger, Strength of Soft-Soldered Joints in Copper
    Tubing, NBS BMS 58 (1940), abstract: a load borne for 10000 h is 1/18 of that at once for 50 Sn 50 Pb.
    """
    warn_outside(width, 0, 30, "mm", "the seam is {} wide; solder has been tried in seams of {}")
    return width * strength * long_share


@units("N/mm", pressure="MPa >= 0", diameter="mm > 0")
def load_of_pressure(pressure, diameter):
    """Pull across a seam along a tube, from a pressure within.

    pressure: within over that outside. diameter: of the bore. Numbers or arrays. Result: N/mm.

    Formula: p D / 2. Range: thin walls. Source: hoop stress, in every textbook of strength of materials.
    """
    return pressure * diameter / 2


@units("N/mm", torque="N*mm >= 0", radius="mm > 0")
def load_of_torque(torque, radius):
    """Shear along a seam that runs the length of a tube, from a torque on it.

    torque: on the tube. radius: of its middle line. Numbers or arrays. Result: N/mm.

    Formula: T / (2 pi radius^2), Bredt's shear flow. Range: thin walls. Source: as for `load_of_pressure`.
    """
    return torque / (2 * np.pi * radius**2)
