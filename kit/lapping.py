"""Lapping: how fast loose grain takes metal off, which of two members gives way, how grain is sorted, what shines.

A wear coefficient K is the largest uncertainty here (a factor of three either way is usual for loose grain), and it is
only a number together with the form of the law it was measured with: see `form`.
"""
from dataclasses import dataclass

import numpy as np
import pint

from kit import tables
from kit.units import Q, units, warn_outside

STANDARD_GRAVITY = 9.80665   # m/s2
FORMS = {"H": 1, "3H": 3}    # what the hardness is multiplied by in the wear law


def _form(form):
    try:
        return FORMS[form]
    except (KeyError, TypeError):
        raise ValueError(f"form: unknown form of the wear law {form!r}; {tables.nearest(form, FORMS)}") from None


@units("mm^3/(N*m)", coefficient=">= 0", hardness="MPa > 0")
def specific_wear(coefficient, hardness, form="H"):
    """Volume worn off for each newton pressed and metre slid.

    coefficient: K of the wear law (number or array). hardness: of the worn surface as a pressure, "95 HV" or "1 GPa"
    (number or array); the hardness of the worked skin, not that of the annealed bulk.
    form: "H" for V = K W s / H, "3H" for V = K W s / (3 H). The same wear has a K three times larger in the second
    form, so a K is useless without the form it came from.
    Result: mm^3/(N*m); 1 mm^3/(N*m) = 1e-9 / Pa, the coefficient of Preston's polishing law.

    Formula: k = K / H, or K / (3 H).
    Range: any pair of surfaces in steady wear; V proportional to load and path. Repeat tests differ by 2 to 5 times.
    Raises ValueError for an unknown form.
    Source: from memory, believed to be in J. F. Archard, Contact and rubbing of flat surfaces, Journal of Applied
    Physics 24 (1953) 981, and in I. M. Hutchings, Tribology (1992), chapter 5.
    """
    return 1e3 * coefficient / (_form(form) * hardness)   # 1/MPa = mm2/N = 1e3 mm3/(N m)


@units("um/min", coefficient=">= 0", hardness="MPa > 0", pressure="MPa >= 0", speed="um/min >= 0")
def depth_rate(coefficient, hardness, pressure, speed, form="H"):
    """How fast a lapped surface falls, measured square to it (on the radius, not the diameter).

    coefficient, hardness, form: as in `specific_wear`. pressure: mean pressure on the area in contact (number or
    array). speed: sliding speed (number or array). Result: um/min while the lap is cutting; `hours_for` counts the
    pauses.

    Formula: K p v / H, or K p v / (3 H).
    Range: lapping pressures up to 172 kPa (25 lb/in2), to which the rate is proportional; beyond it warns.
    Raises ValueError for an unknown form.
    Source: from memory, believed to be in F. W. Preston, The theory and design of plate glass polishing machines,
    Journal of the Society of Glass Technology 11 (1927) 214; the range from memory, believed to be in Machinery's
    Handbook, "Lapping pressures".
    """
    warn_outside("pressure", pressure * 1e3, 0, 172.4, "kPa", "a rate proportional to pressure")
    return coefficient * pressure * speed / (_form(form) * hardness)


@units("", ratio=">= 0")
def hardness_factor(ratio):
    """Wear by a grain that is not much harder than the metal, as a share of the wear by a very hard grain.

    ratio: hardness of the metal (worked skin) over hardness of the grain (number or array). Result: 0 to 1.

    Formula: 1 for ratio <= 0.8; (3 / 5.3) ratio^-2.5 from 0.8 to 1.25; (3 / 2.43) ratio^-6 above. The printed constants
    leave steps of 1.1 % and 0.1 % at the joints.
    Range: two-body and three-body abrasion of metals by whole grains; a crumbling aggregate (rust flakes) does less
    than the hardness of its crystals says.
    Source: from memory, believed to be in E. Rabinowicz, The wear of hard surfaces by soft abrasives, Proceedings of
    the International Conference on Wear of Materials (1983) 12.
    """
    ratio = np.maximum(ratio, 0.1)   # far on the flat part; the powers below would overflow at 0
    return np.where(ratio <= 0.8, 1.0, np.where(ratio <= 1.25, 3 / 5.3 * ratio**-2.5, 3 / 2.43 * ratio**-6))[()]


def _heavier(grain_density, fluid_density):
    excess = grain_density - fluid_density
    if np.any(excess <= 0):
        raise ValueError("grain_density must be above fluid_density: a grain no denser than the fluid does not settle")
    return excess


_REYNOLDS = "Reynolds number"
_STOKES = "Stokes' law (the true grain falls more slowly)"


@units("s", depth="m > 0", grain="m > 0", grain_density="kg/m^3 > 0", fluid_density="kg/m^3 > 0", viscosity="Pa*s > 0")
def settling_time(depth, grain, grain_density, fluid_density, viscosity):
    """Time in which a grain of that size sinks through still fluid: after it, the fluid above holds only finer grain.

    depth: of fluid to clear. grain: diameter of the grain. grain_density, fluid_density: of mineral and fluid.
    viscosity: of the fluid. All numbers or arrays. Result: s.

    Formula: 18 viscosity depth / ((grain_density - fluid_density) g grain^2).
    Range: single round grains, Reynolds number up to 0.5 (warns beyond); a crowd of grains settles more slowly (1 % by
    volume about 5 %), flocculated grain faster.
    Raises ValueError where the grain is not denser than the fluid.
    Source: G. G. Stokes, On the effect of the internal friction of fluids on the motion of pendulums, Transactions of
    the Cambridge Philosophical Society 9 (1851) 8, from memory; in every textbook of fluid mechanics.
    """
    speed = _heavier(grain_density, fluid_density) * STANDARD_GRAVITY * grain**2 / (18 * viscosity)
    warn_outside(_REYNOLDS, fluid_density * speed * grain / viscosity, 0, 0.5, "", _STOKES)
    return depth / speed


@units("um", depth="m > 0", time="s > 0", grain_density="kg/m^3 > 0", fluid_density="kg/m^3 > 0", viscosity="Pa*s > 0")
def cut_size(depth, time, grain_density, fluid_density, viscosity):
    """Largest grain still afloat above that depth after that time: what a decanted powder is finer than.

    The inverse of `settling_time`, with its arguments, range, error and source. time: of settling (number or array).
    Result: um. One decanting removes the coarse grain from the liquor, but leaves fines in the sediment.

    Formula: sqrt(18 viscosity depth / ((grain_density - fluid_density) g time)).
    """
    grain = np.sqrt(18 * viscosity * depth / (_heavier(grain_density, fluid_density) * STANDARD_GRAVITY * time))
    warn_outside(_REYNOLDS, fluid_density * depth / time * grain / viscosity, 0, 0.5, "", _STOKES)
    return grain * 1e6


@dataclass(frozen=True)
class Shares:
    """What the shaft gives when shaft and bore are lapped together.

    shaft_volume_share: of the volume worn. shaft_depth_share: of the radial clearance gained.
    depth_ratio: fall of the shaft's radius over growth of the bore's.
    """
    shaft_volume_share: pint.Quantity
    shaft_depth_share: pint.Quantity
    depth_ratio: pint.Quantity


@units(shaft_coefficient="> 0", shaft_hardness="MPa > 0", shaft_length="mm > 0",
       bore_coefficient="> 0", bore_hardness="MPa > 0", swept_length="mm > 0")
def shares(shaft_coefficient, shaft_hardness, shaft_length, bore_coefficient, bore_hardness, swept_length):
    """How the removal is split when a shaft and its bore are lapped together.

    shaft_coefficient, bore_coefficient: K of each member, in the same form of the law; the member that grit beds in is
    worn like a lap (small K) and its mate like two-body abrasion (about ten times that). shaft_hardness, bore_hardness:
    as in `specific_wear`. shaft_length: of shaft that wears; swept_length: of bore over which the shaft is moved.
    All numbers or arrays. Result: Shares.

    Formula: both see the same load and path, so volumes go as K / H and depths as K / (H length).
    Range: even wear along each member, same diameter.
    Source: two wear laws side by side (see `specific_wear`); no published source for the pair.
    """
    shaft, bore = shaft_coefficient / shaft_hardness, bore_coefficient / bore_hardness
    shaft_depth, bore_depth = shaft / shaft_length, bore / swept_length
    return Shares(shaft_volume_share=Q(shaft / (shaft + bore), ""),
                  shaft_depth_share=Q(shaft_depth / (shaft_depth + bore_depth), ""),
                  depth_ratio=Q(shaft_depth / bore_depth, ""))


@units("", roughness="nm >= 0", wavelength="nm > 0")
def specular_ratio(roughness, wavelength):
    """Share of the mirror reflection that a rough surface keeps: how fine a polish a usable mirror implies.

    roughness: root mean square height Rq, not Ra (number or array). wavelength: of the light (number or array).
    Result: reflectance over that of the same metal perfectly smooth, 0 to 1, for light square to the surface.

    Formula: exp(-(4 pi Rq / wavelength)^2).
    Range: heights of normal distribution, Rq small against the wavelength (warns beyond a tenth of it, a limit of this
    kit's own); stray light near the mirror direction is not counted.
    Source: H. E. Bennett and J. O. Porteus, Relation between surface roughness and specular reflectance at normal
    incidence, Journal of the Optical Society of America 51 (1961) 123 (range from its abstract, formula from memory).
    """
    warn_outside("roughness", roughness / wavelength, 0, 0.1, "wavelengths", "a surface nearly smooth")
    return np.exp(-(4 * np.pi * roughness / wavelength)**2)


@units("N*m", friction=">= 0", pressure="Pa >= 0", diameter="m > 0", length="m > 0")
def lap_torque(friction, pressure, diameter, length):
    """Torque to turn a lap that bears all round.

    friction: coefficient, of the order of 0.5 on coarse fresh grain, 0.3 to 0.4 on fine clogged grain. pressure: on the
    whole surface of contact. diameter, length: of that surface. All numbers or arrays. Result: N*m.

    Formula: friction pressure (pi diameter length) diameter / 2.
    Range: uniform pressure all round; a lap that bears on a part of the round asks for that part of the torque.
    Source: statics. Friction: abstract of Avient, Goddard and Wilman on friction and wear during the abrasion of
    metals, from memory in Proceedings of the Royal Society A 258 (1960) 159.
    """
    return friction * pressure * np.pi * diameter * length * diameter / 2


@units("h", stock="um >= 0", rate="um/min > 0", share="> 0 <= 1")
def hours_for(stock, rate, share=1):
    """Hours in which lapping takes that stock off one member.

    stock: to take, on the diameter (number or array). rate: at which the radius of that member falls, from `depth_rate`
    (number or array). share: of the time in which the lap cuts, the rest going to recharging, measuring and the return
    of the bow (number or array, above 0, at most 1). Result: h.

    Formula: stock / (2 rate share).
    Range: a steady rate; grain that breaks down slows it, so count each charge of grain by its own rate.
    Source: arithmetic.
    """
    return stock / (2 * rate * share) / 60
