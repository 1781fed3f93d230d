"""What holds the work: fingers, strap, clamp, taper arbor, cement and split chuck, and how hard each squeezes the wall.

Each gives the greatest torque at which the bare round work just does not turn in it. `diameter` is where it is held.
"""
import numpy as np

from kit.base import tables
from kit.base.units import units, warn_outside

# Torque of a clamp over friction, force and diameter: sum of the normal forces over twice the force of the clamp
CLAMPS = {"flat jaws": 1.0, "vees": np.sqrt(2), "split block": np.pi / 2}
FINGER, FALLS = 0.83, 0.206   # friction of a fingertip on smooth metal at 1 N, and the power by which it falls
_THIN = "the wall is {} of the diameter; the formula for a thin wall needs {}"   # for warn_outside


@units("", force="N > 0", factor="> 0")
def finger_friction(force, factor=1):
    """Friction of a dry fingertip on bare smooth metal, which falls as the finger presses harder.

    force: of the one finger, square to the metal. factor: of the person and the day, and of what is on the skin, 1 for
    the mean of people. Numbers or arrays. Result: number.

    Formula: 0.83 force^-0.206 factor, force in N.
    Range: 1 to 40 N, beyond it warns; dry metal, held over a radius of 11 mm or flat: thinner work is extrapolation.
    Oiled metal does not follow it. A surface that grips better adds less to the torque than to the friction.
    Source: fitted by us to N. J. Seo and T. J. Armstrong, Friction coefficients in a longitudinal direction between the
    finger pad and selected materials, Ergonomics 52 (2009) 609-616, abstract: mean 0.6 on aluminium at 1, 10 and 20 N,
    46 % less at 20 N than at 1 N.
    """
    warn_outside(force, 1, 40, "N", "the finger presses with {}; the friction was measured at {}")
    return FINGER * force**-FALLS * factor


@units("N*m", force="N >= 0", diameter="m > 0", friction=">= 0")
def pinch_torque(force, diameter, friction):
    """Torque that finger and thumb hold on a bare round piece.

    force: of each of the two. diameter: where they hold. friction: at that force, from `finger_friction`. Numbers or
    arrays. Result: N*m.

    Formula: friction force diameter.
    Range: two opposite pads, no push along the axis. With a push F as well, (2 T / d)^2 + F^2 may reach
    (2 friction force)^2. How the pinch bends a thin wall: `walls.pinch_moment`.

    >>> import kit
    >>> kit.units.show(kit.holding.pinch_torque(force="20 N", diameter="8 mm", friction=0.45))
    '0.0720 N·m'

    Source: statics.
    """
    return friction * force * diameter


@units("N", torque="N*m >= 0", diameter="m > 0", factor="> 0")
def pinch_for_torque(torque, diameter, factor=1):
    """Force of each of finger and thumb that just holds a torque on a bare dry piece.

    torque: to be held. diameter: where they hold. factor: as in `finger_friction`. Numbers or arrays. Result: N.

    Formula: (torque / (0.83 factor diameter))^(1 / (1 - 0.206)), the inverse of `pinch_torque` with `finger_friction`:
    the friction falls as the fingers press, so the force grows faster than the torque.
    Range, source: as `finger_friction`.

    >>> import kit
    >>> kit.units.show(kit.holding.pinch_for_torque(torque="0.0718 N*m", diameter="8 mm"))
    '20.1 N'
    """
    return (torque / (FINGER * factor * diameter))**(1 / (1 - FALLS))


@units("N*m", tension="N >= 0", diameter="m > 0", friction=">= 0", wrap="rad >= 0")
def strap_torque(tension, diameter, friction, wrap):
    """Torque that a strap holds, laid round the work and pulled at one end while the work pulls at the other.

    tension: of the pulled end, the tighter. diameter: of the work. friction: of strap on work. wrap: angle of strap on
    the work ("1 turn"). Numbers or arrays. Result: N*m.

    Formula: diameter / 2 tension (1 - exp(-friction wrap)), never above tension diameter / 2.
    Range: a limp strap that is thin against the work, the slack end held by the work's friction alone.
    Source: the capstan rule, as `bow.capstan_ratio`.
    """
    return diameter / 2 * tension * -np.expm1(-friction * wrap)


@units("N*m", force="N >= 0", diameter="m > 0", friction=">= 0")
def clamp_torque(force, diameter, friction, kind="flat jaws"):
    """Torque that a clamp or vice holds on a bare round piece.

    force: with which the two halves are drawn together. diameter: of the work. friction: of clamp on work. Numbers or
    arrays. kind: "flat jaws" (two lines), "vees" (two of 90 deg, four lines) or "split block" (bored to the work and
    split, touching all round). Result: N*m.

    Formula: friction force diameter times 1, sqrt(2) or pi / 2.
    Range: the block as if its pressure were the same all round; 4 / pi in place of pi / 2 where it falls off towards
    the split as the cosine, and down to 1 where a block bored too large touches on two lines.
    Raises ValueError for an unknown kind.
    Source: statics; no published source for the block.
    """
    try:
        share = CLAMPS[kind]
    except (KeyError, TypeError):
        raise ValueError(f"kind: unknown word {kind!r}; {tables.nearest(kind, CLAMPS)}") from None
    return share * friction * force * diameter


def _reach(stretch, taper):
    """Length over which a taper fades to no stretch; without end on a parallel arbor."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.equal(taper, 0), np.inf, np.divide(stretch, taper))[()]


@units("N*m", stretch="m >= 0", taper=">= 0 < 0.1", wall="m > 0", modulus="Pa > 0", friction=">= 0", length="m > 0")
def arbor_torque(stretch, taper, wall, modulus, friction, length):
    """Torque that a thin tube holds on a stiff, slowly tapered arbor that it was driven on.

    stretch: of the bore's diameter at the tight end. taper: of the arbor, on diameter over length, as "0.5 mm/m"; 0 for
    a parallel arbor. wall: thickness. modulus: of elasticity of the tube. friction: of tube on arbor. length: of the
    tube. Numbers or arrays. Result: N*m; the diameter drops out.

    Formula: friction pi E wall (stretch L - taper L^2 / 2) with L = length, or stretch / taper where the tube is longer
    than that.
    Range: elastic (`arbor_stretch_limit`); thin wall on an arbor that does not give: beside `fits.press` on iron it is
    2 to 3 % too high for a wall of a hundredth of the diameter, 12 to 16 % for a twentieth, 25 to 32 % for a tenth. The
    cut must push the work towards the large end.

    >>> import kit
    >>> kit.units.show(kit.holding.arbor_torque(stretch="3 um", taper="0.5 mm/m", wall="0.4 mm", modulus="100 GPa",
    ...                                         friction=0.12, length="30 mm"))
    '0.136 N·m'

    Source: worked out from the pressure 2 E wall stretch / diameter^2 that stretches a thin tube; no published source
    for the taper.
    """
    held = np.minimum(length, _reach(stretch, taper))
    return friction * np.pi * modulus * wall * held * (stretch - taper * held / 2)


@units("N", torque="N*m >= 0", diameter="m > 0")
def arbor_push(torque, diameter):
    """Push along the axis that drives a tube to its place on an arbor, or off it again.

    torque: that the tube then holds, from `arbor_torque`. diameter: where they meet. Numbers or arrays. Result: N.

    Formula: 2 torque / diameter.
    Range: the same friction along as round, and a taper far below it, as that of any arbor for turning: driving on
    takes more, and off less, by half the taper over the friction.
    Source: statics.
    """
    return 2 * torque / diameter


@units("um", diameter="um > 0", yield_strength="MPa > 0", modulus="MPa > 0")
def arbor_stretch_limit(diameter, yield_strength, modulus):
    """Stretch on diameter at which a thin tube driven on an arbor begins to yield, and keeps a bell mouth.

    diameter: of the tube. yield_strength, modulus: of its metal. Numbers or arrays. Result: um.

    Formula: yield_strength diameter / modulus.
    Range: thin wall, no other load.
    Source: Hooke's law.
    """
    return yield_strength * diameter / modulus


@units("mm", stretch="mm >= 0", taper="> 0 < 0.1")
def arbor_taper_left(stretch, taper):
    """Length from the tight end over which the outside, turned on the arbor, comes off small.

    stretch: of the bore's diameter at the tight end. taper: of the arbor, on diameter over length. Numbers or arrays.
    Result: mm; a tube shorter than that is small all along.

    Formula: stretch / taper. The outside is small by the whole stretch at the tight end and by none where this length
    ends; the wall stays even, so it is a taper and no eccentricity.
    Range: elastic, thin wall.
    Source: as `arbor_torque`.
    """
    return stretch / taper


@units("N*m", shear_strength="Pa >= 0", diameter="m > 0", length="m > 0")
def cement_torque(shear_strength, diameter, length):
    """Torque that a tube holds, cemented all over its bore on an arbor (or all over its outside in a chuck).

    shear_strength: of the cement on the metal. diameter: of the film. length: of the film. Numbers or arrays. Result:
    N*m.

    Formula: shear_strength pi diameter^2 length / 2.
    Range: cold, below the cement's softening, where it holds nothing; the film whole and about as thick everywhere. For
    pitch, which gives way at any load, see `cement_creep`.
    Source: statics.
    """
    return shear_strength * np.pi * diameter**2 * length / 2


@units("N", shear_strength="Pa >= 0", diameter="m > 0", length="m > 0")
def cement_push(shear_strength, diameter, length):
    """Push along the axis that a cemented tube holds: arguments, range and source as `cement_torque`. Result: N.

    Formula: shear_strength pi diameter length.
    Range: as `cement_torque`; with a torque as well, (T / cement_torque)^2 + (F / cement_push)^2 may reach 1.
    Source: as `cement_torque`.
    """
    return shear_strength * np.pi * diameter * length


@units("um/min", shear_stress="Pa >= 0", film="um >= 0", viscosity="Pa*s > 0")
def cement_creep(shear_stress, film, viscosity):
    """Speed at which work slides on a cement that flows, such as pitch.

    shear_stress: in the film. film: its thickness. viscosity: of the cement, cold. Numbers or arrays. Result: um/min,
    along the metal.

    Formula: shear_stress film / viscosity.
    Range: a cement that flows as a liquid does (pitch, roughly); its viscosity changes tenfold in some degrees.
    Source: Newton's law of viscosity.
    """
    return 60 * shear_stress * film / viscosity   # seconds to minutes


@units("N", push="N >= 0", cone_angle="deg >= 0 < 90", friction_angle="deg >= 0 < 90")
def split_chuck_force(push, cone_angle, friction_angle):
    """Radial forces, all together, with which a split chuck closes as a ring is driven up its cone.

    push: on the ring, along the axis. cone_angle: of the cone's side to the axis, half the angle between its sides.
    friction_angle: arctangent of the friction of ring on chuck. Angles; numbers or arrays. Result: N; the torque on the
    work is its friction times this times diameter / 2.

    Formula: push / tan(cone_angle + friction_angle).
    Range: segments that bend freely. The ring stays by itself where the cone is the smaller of the two angles.
    Raises ValueError where the two angles together leave nothing (none above 0 deg, and all below 90 deg).
    Source: the wedge with friction, in every textbook of statics.
    """
    together = np.asarray(cone_angle + friction_angle)
    if np.any((together <= 0) | (together >= 90)):
        raise ValueError("cone_angle and friction_angle: together they must lie above 0 deg and below 90 deg, as 3 deg "
                         f"and 15 deg do; they come to {together.min():g} deg" + (
                             f" to {together.max():g} deg" if together.size > 1 else ""))
    return push / np.tan(np.radians(cone_angle + friction_angle))


@units("MPa", torque="N*mm >= 0", diameter="mm > 0", length="mm > 0", friction="> 0", wall="mm > 0")
def hoop_stress(torque, diameter, length, friction, wall):
    """Hoop stress (compression) in a tube squeezed evenly all round just enough to hold a torque.

    torque: to be held. diameter: of the tube, outside. length: that is gripped. friction: of the grip on the tube.
    wall: thickness. Numbers or arrays. Result: MPa, to be compared with the yield strength: even pressure leaves the
    tube round.

    Formula: pressure diameter / (2 wall) with pressure = 2 torque / (friction pi diameter^2 length), together
    torque / (friction pi diameter length wall).
    Range: thin wall, up to a tenth of the diameter (warns beyond); nothing inside. A block split in two presses less
    evenly, a bare tube far thinner than a fiftieth of its diameter buckles inwards before it yields.
    Source: the thin tube under pressure, in every textbook of strength of materials.
    """
    warn_outside(wall / diameter, 0, 0.1, "", _THIN)
    return torque / (friction * np.pi * diameter * length * wall)


@units("MPa", tension="N >= 0", width="mm > 0", wall="mm > 0")
def strap_stress(tension, width, wall):
    """Hoop stress (compression) that a strap leaves in the wall under its tight end.

    tension: of the pulled end. width: of the strap. wall: thickness of the tube. Numbers or arrays. Result: MPa, to be
    compared with the yield strength.

    Formula: tension / (width wall).
    Range: thin wall, nothing inside, one layer of strap. The tension falls on its way round the work, so the squeeze is
    not quite even; on a whole turn or more it leaves little ovality.
    Source: as `hoop_stress`, with the pressure 2 tension / (width diameter) of a strap.
    """
    return tension / (width * wall)
