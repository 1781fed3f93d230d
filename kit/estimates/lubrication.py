"""A journal that turns in oil: the drag of its film, how far the film lifts the load, and where metal touches metal.

A sleeve is meant, and `length` is that of its oiled gap; kit.sleeves knows all of these functions as well.
"""
from dataclasses import dataclass

import numpy as np

from kit.base.units import Q, units, warn_outside

BOUNDARY, FULL_FILM = 1, 3   # film ratio up to which the metals touch, and from which they do not; both are soft
# radial clearance over radius, for warn_outside: there a gap rolled out flat gives 5 % too little torque
NARROW = (0, 0.033, "", "the radial clearance is {} of the radius; the formula for a narrow gap needs {} and "
          "underestimates here")


@dataclass(frozen=True)
class Journal:
    """How a turning journal floats: eccentricity (offset over radial clearance, 0 to 1) and the least film (um)."""
    eccentricity: Q
    least_film: Q


# ---------------------------------------------------------------------------------------------------- the film

@units("N*mm", viscosity="Pa*s >= 0", rate="rad/s >= 0", radius="m > 0", length="m > 0", radial_clearance="m > 0")
def film_torque(viscosity, rate, radius, length, radial_clearance):
    """Friction torque of a sleeve that floats in the middle of its oil.

    viscosity: of the oil. rate: of one surface against the other; 0 gives no torque, for oil does not hold at rest.
    radius: half the bore. length: of the oiled gap. radial_clearance: its width, half the diametral clearance. All
    numbers or arrays. Result: N*mm.

    Formula: 2 pi viscosity rate radius^3 length / radial_clearance.
    Range: laminar, concentric; eccentric it takes 1 / sqrt(1 - eccentricity^2) times as much. A wide gap takes more by
    the share 1.5 radial_clearance / radius; warns where that passes 5 %.
    Source: N. Petroff's law, in every textbook of lubrication; R. W. Fox, A. T. McDonald and P. J. Pritchard,
    Introduction to Fluid Mechanics, example 8.2.
    """
    warn_outside(radial_clearance / radius, *NARROW)
    return sheared(viscosity, rate, radius, length, radial_clearance)


def sheared(viscosity, rate, radius, length, clearance):
    """Torque of `film_torque`, N*mm, from plain numbers in Pa*s, rad/s and m: for estimates that build on it."""
    return 1e3 * 2 * np.pi * viscosity * rate * radius**3 * length / clearance


# --------------------------------------------------------------------------------- does the oil part the metals?

@units("", viscosity="Pa*s >= 0", rate="turn/s >= 0", load="N > 0", radius="m > 0", length="m > 0")
def hersey(viscosity, rate, load, radius, length):
    """Hersey number: how far speed and oil can lift the load.

    viscosity: of the oil. rate: of turning. load: sideways. radius: half the bore. length: of the sleeve. All numbers
    or arrays. Result: number.

    Formula: viscosity N / P, N in turns a second, P = load / (2 radius length).
    Range: it orders cases of the same clearance and finish; where the regimes part is asked of `film_ratio`.
    Source: from memory, believed to be in B. J. Hamrock, Fundamentals of Fluid Film Lubrication (1994).
    """
    return viscosity * rate * 2 * radius * length / load


@units("", film="um >= 0", roughness_a="um > 0", roughness_b="um > 0")
def film_ratio(film, roughness_a, roughness_b):
    """Least film over the roughness of both faces.

    film: least thickness, from `journal_bearing`. roughness_a, roughness_b: root mean square heights Rq of the two
    faces (about 1.1 to 1.25 Ra). All numbers or arrays. Result: number.

    Formula: film / sqrt(roughness_a^2 + roughness_b^2). Source: as `hersey`.
    """
    return film / np.hypot(roughness_a, roughness_b)


@units(film_ratio=">= 0")
def regime(film_ratio):
    """Word for what carries the load: "boundary" (metal), "mixed" or "film" (oil).

    film_ratio: from the function of that name (number or array). Result: word or array of words.

    Below 1 boundary, above 3 film; both limits are soft, and a run-in pair floats sooner. Source: as `hersey`.
    """
    return np.where(film_ratio < BOUNDARY, "boundary", np.where(film_ratio > FULL_FILM, "film", "mixed"))[()]


# What a film carries at eccentricity e and gap g = 1 - e (apart, since g may be far below the last digit of e), per
# viscosity, surface speed, length and (radius/clearance)^2; `slender` is length over radius.

def _short(e, g, slender):
    room = g * (1 + e)   # 1 - e^2
    return slender**2 / 4 * e / room**2 * np.sqrt(np.pi**2 * room + 16 * e**2)


def _long(e, g, slender):
    room = g * (1 + e)
    return 6 * e * np.sqrt(np.pi**2 * room + 4 * e**2) / ((2 + e**2) * room)


def _any_length(e, g, slender):
    return 1 / (1 / _short(e, g, slender) + 1 / _long(e, g, slender))


def floating(load, viscosity, rate, radius, length, clearance, carried=_any_length):
    """Journal of `journal_bearing` from plain numbers in N, Pa*s, rad/s and m: for estimates that build on it.

    carried: what the film carries, by eccentricity, gap and slenderness. At rest the journal lies on the metal.
    """
    turning = np.asarray(viscosity * rate > 0)
    strength = np.where(turning, viscosity * rate, 1) * radius * length * (radius / clearance)**2
    wanted = np.log(np.clip(load / strength, 1e-30, 1e30))   # beyond these the film is nothing, or all of the clearance
    place = wanted   # ln(e/g): ln(carried) grows with it nearly straight, so that a few of Newton's steps will do
    for _ in range(6):
        here, beyond = (np.log(carried(1 / (1 + np.exp(-p)), 1 / (1 + np.exp(p)), length / radius))
                        for p in (place, place + 1e-4))
        place = place - (here - wanted) * 1e-4 / (beyond - here)
    gap = np.where(turning, 1 / (1 + np.exp(place)), 0)[()]
    return Journal(eccentricity=Q(1 - gap, ""), least_film=Q(1e6 * gap * clearance, "um"))


@units(load="N >= 0", viscosity="Pa*s >= 0", rate="rad/s >= 0", radius="m > 0", length="m > 0",
       radial_clearance="m > 0")
def short_bearing(load, viscosity, rate, radius, length, radial_clearance):
    """Eccentricity and least film of a short sleeve that turns in oil.

    load: sideways, of fixed direction. viscosity: of the oil. rate: of the one surface that turns; where both do, the
    sum of their rates, which is nothing between neighbours that turn in opposite ways alike. radius: half the bore.
    length: of the sleeve. radial_clearance: half the diametral one. All numbers or arrays. Result: Journal.

    Formula: the e at which load = viscosity rate radius length^3 / (4 c^2) e / (1 - e^2)^2 sqrt(pi^2 (1 - e^2) +
    16 e^2); least film = c (1 - e). At rest e = 1: no film.
    Range: length well below the diameter; beyond the diameter it warns. Where the film is thin it overestimates:
    at e = 0.9 it carries 1.4 times the true load with a length of a quarter, 6 times with one of a whole diameter.
    `journal_bearing` corrects that.
    Source: F. W. Ocvirk, Short-bearing approximation for full journal bearings, NACA Technical Note 2808 (1952); the
    formula from memory.
    """
    warn_outside(length / (2 * radius), 0, 1, "", "the sleeve is {} diameters long; the short-bearing formula needs {} "
                 "and gives too thick a film here")
    return floating(load, viscosity, rate, radius, length, radial_clearance, carried=_short)


@units(load="N >= 0", viscosity="Pa*s >= 0", rate="rad/s >= 0", radius="m > 0", length="m > 0",
       radial_clearance="m > 0")
def journal_bearing(load, viscosity, rate, radius, length, radial_clearance):
    """Eccentricity and least film of a sleeve of any length that turns in oil.

    Arguments and result as `short_bearing`.

    Formula: 1 / load = 1 / short + 1 / long at one e, with the load of `short_bearing` and that of the infinitely long
    bearing without suction, viscosity rate radius length (radius/c)^2 6 e sqrt(pi^2 (1 - e^2) + 4 e^2) /
    ((2 + e^2) (1 - e^2)).
    Range: within 16 % of the load and 11 % of the film of the full Reynolds equation from a quarter to two diameters of
    length; a longer sleeve carries more than this. Oil enough, the sleeve not tilted: a tilted one touches at its end
    long before.
    Source: both formulas from memory, believed to be in B. J. Hamrock, Fundamentals of Fluid Film Lubrication (1994);
    this combination is this kit's choice, which the tables of A. A. Raimondi and J. Boyd (1958) confirm.
    """
    return floating(load, viscosity, rate, radius, length, radial_clearance)


@units("turn/s", ratio="> 0", roughness_a="um > 0", roughness_b="um > 0", load="N >= 0", viscosity="Pa*s > 0",
       radius="m > 0", length="m > 0", radial_clearance="m > 0")
def crossover_rate(ratio, roughness_a, roughness_b, load, viscosity, radius, length, radial_clearance):
    """Rate of turning at which the film ratio reaches a value.

    ratio: 1 for the rate up to which the metals rub, 3 for that above which the oil alone carries. roughness_a,
    roughness_b: Rq of both faces. load, viscosity, radius, length, radial_clearance: as in `journal_bearing`. All
    numbers or arrays. Result: turn/s; infinite where the gap itself is too narrow for such a film.

    Formula: `journal_bearing` solved for the rate. Range and source as there.
    """
    gap = 1e-6 * ratio * np.hypot(roughness_a, roughness_b) / radial_clearance
    fits = np.asarray(gap < 1)
    gap = np.where(fits, gap, 0.5)
    carried = viscosity * radius * length * (radius / radial_clearance)**2 * _any_length(1 - gap, gap, length / radius)
    return np.where(fits, load / carried / (2 * np.pi), np.inf)[()]
