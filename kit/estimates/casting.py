"""Casting on a core: how the core lifts, sags and shrinks, how long thin metal stays liquid, whether a wall is tight,
and what heat and fuel a melt takes.

Molten metal, hot moulds and their damp can kill: local rules and licensed practice decide how a melt is made.
"""
import numpy as np

from kit.base.units import units, warn_outside

GRAVITY = 9.80665


@units("N", volume="cm^3 >= 0", metal_density="g/cm^3 > 0", core_density="g/cm^3 > 0")
def core_lift(volume, metal_density, core_density="1.6 g/cm^3"):
    """Force with which the metal lifts a core that it surrounds.

    volume: of the core within the metal. metal_density, core_density: of the melt and of the core (sand 1.6, fired clay
    about 1.9 g/cm^3). Numbers or arrays. Result: N; below nothing for a core heavier than the metal.

    Formula: V (metal - core) g. Range: a core wholly in the metal.

    >>> import kit
    >>> kit.units.show(kit.casting.core_lift(volume="1875 cm^3", metal_density="11.3 g/cm^3"))
    '178 N'

    Source: M. P. Groover, Fundamentals of Modern Manufacturing, sec. 11.1.3.
    """
    return volume * 1e-6 * (metal_density - core_density) * 1e3 * GRAVITY


@units("mm", length="mm > 0", diameter="mm > 0", metal_density="g/cm^3 > 0", core_density="g/cm^3 > 0",
       modulus="GPa > 0")
def core_sag(length, diameter, metal_density, modulus="2 GPa", core_density="1.9 g/cm^3"):
    """How far the lift bends a core that lies, held at its two ends, in the middle.

    length, diameter: of the core between its holds. metal_density, core_density: see `core_lift`. modulus: of
    elasticity of the dried or fired clay. Numbers or arrays. Result: mm; none where the core stands on end.

    Formula: 5 w L^4 / (384 E I), w = (metal - core) g pi d^2/4, I = pi d^4/64: as L^4/d^2.
    Range: elastic; a long thin core breaks before it sags by a tenth of its diameter, beyond which it warns.
    Source: beam under an even load, in every textbook of strength of materials; the modulus is an assumption.
    """
    load = (metal_density - core_density) * 1e-6 * GRAVITY * np.pi * diameter**2 / 4   # N/mm
    sag = 5 * load * length**4 / (384 * modulus * 1e3 * np.pi * diameter**4 / 64)
    warn_outside(np.abs(sag) / diameter, 0, 0.1, "", "the core sags by {} of its diameter; clay breaks beyond {}")
    return sag


@units("mm", size="mm > 0", allowance=">= 0 < 0.2")
def pattern_size(size, allowance):
    """Size of the pattern for a casting: larger by what the metal shrinks.

    size: wanted, of the cold casting. allowance: by which the metal shrinks, over the cold size: bronze 5/32 in a foot,
    1.30 %; brass 3/16, 1.56 %; yellow brass, lead 7/32, 1.82 %. Numbers or arrays. Result: mm.

    Formula: size (1 + allowance). Range: a core resists: a long tube shrinks more in length than across. A clay mould
    shrinks in firing as well, by as much as a tenth.
    Source: W. H. Dooley, Applied Science for Metal Workers (1919), sec. 426.
    """
    return size * (1 + allowance)


@units("s", volume="cm^3 > 0", area="cm^2 > 0", constant="min/cm^2 > 0", exponent="> 0")
def freezing_time(volume, area, constant, exponent=2):
    """How long a casting takes to freeze.

    volume: of metal; for a wall, its thickness over two is volume over area. area: through which its heat leaves.
    constant: of mould and metal, found from one casting. exponent: 2. Numbers or arrays. Result: s.

    Formula: constant (volume/area)^exponent, Chvorinov's rule. Range: like metal in a like mould at a like heat: the
    constant of steel in cold sand (3.26 min/cm^2) is too short for bronze in a hot mould.

    >>> import kit
    >>> kit.units.show(kit.casting.freezing_time(volume="187.5 cm^3", area="267.5 cm^2", constant="3.26 min/cm^2"))
    '96.1 s'

    Source: M. P. Groover, Fundamentals of Modern Manufacturing, eq. 10.7.
    """
    return 60 * constant * (volume / area)**exponent


@units("", area="cm^2 >= 0", wall="mm > 0", per_area="1/cm^2 >= 0", of_wall="mm > 0", exponent=">= 0")
def through_holes(area, wall, per_area, of_wall="2 mm", exponent=1.5):
    """How many pores are to be expected that go through a cast wall.

    area: of the wall. wall: as it is finished. per_area: through pores for an area of a wall `of_wall` thick, by trial.
    exponent: by which they grow as the wall is cut thinner. Numbers or arrays. Result: a number.

    Formula: per_area area (of_wall/wall)^exponent. Range: pores far apart; as thick as the trial to a quarter of it,
    outside it warns. Source: an assumption of this kit: bring `per_area` by a trial of your own.
    """
    warn_outside(of_wall / wall, 0.5, 4, "", "the trial's wall is {} times this one; holes are carried over for {}")
    return per_area * area * (of_wall / wall)**exponent


@units("MJ/kg", solid_heat="kJ/(kg*K) > 0", melting="degC > -273.15", latent_heat="kJ/kg >= 0",
       liquid_heat="kJ/(kg*K) > 0", pouring="degC > -273.15", ambient="degC > -273.15")
def melt_heat(solid_heat, melting, latent_heat, liquid_heat, pouring, ambient="20 degC"):
    """Heat that a kilogram of metal takes from the cold to pouring.

    solid_heat, liquid_heat: specific heats below and above melting. melting, pouring, ambient: temperatures.
    latent_heat: of melting. Numbers or arrays. Result: MJ/kg.

    Formula: C_s (T_m - T_0) + H_f + C_l (T_p - T_m).
    Range: what the metal takes; a small hearth gives it 1 to 5 % of what its fuel holds.
    Raises ValueError where it is poured below its melting point.
    Source: M. P. Groover, Fundamentals of Modern Manufacturing, eq. 10.1.
    """
    if np.any(np.asarray(pouring) < np.asarray(melting)):
        raise ValueError("pouring and melting contradict each other: metal is poured above its melting point; exchange "
                         "them, or pour hotter")
    return (solid_heat * (melting - ambient) + latent_heat + liquid_heat * (pouring - melting)) / 1e3


@units("kg", heat="MJ/kg >= 0", mass="kg >= 0", efficiency="> 0 <= 1", fuel_heat="MJ/kg > 0")
def fuel(heat, mass, efficiency, fuel_heat="29 MJ/kg"):
    """Charcoal that a melt burns, the heating-up of the hearth not counted.

    heat: of `melt_heat`. mass: of metal. efficiency: share of the fuel's heat that reaches the metal, 0.01 to 0.05 in a
    small hearth. fuel_heat: of the charcoal. Numbers or arrays. Result: kg.

    Formula: heat mass / (efficiency fuel_heat). Range: the efficiency is from memory.
    Source: by its definition.
    """
    return heat * mass / (efficiency * fuel_heat)
