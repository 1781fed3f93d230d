"""Lapping: how fast loose grain takes metal off, which of two members gives way, how grain is made and sorted, what
clearance and what shine it leaves; and what a corroded part measured before it corroded.

A wear coefficient K is the largest uncertainty here (a factor of three either way is usual for loose grain), and it is
only a number together with the form of the law it was measured with: see `form`.
"""
from dataclasses import dataclass

import numpy as np
import pint

from kit.base import tables
from kit.base.units import Q, units, warn_outside

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
    form, so a K is useless without its form.
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

    >>> import kit
    >>> kit.units.show(kit.lapping.depth_rate(coefficient=1e-3, hardness="95 HV", pressure="30 kPa", speed="0.2 m/s"))
    '0.386 µm/min'

    Source: from memory, believed to be in F. W. Preston, The theory and design of plate glass polishing machines,
    Journal of the Society of Glass Technology 11 (1927) 214; the range from memory, believed to be in Machinery's
    Handbook, "Lapping pressures".
    """
    warn_outside(pressure * 1e3, 0, 172.4, "kPa",
                 "the lapping pressure is {}; a rate proportional to pressure is known for {}")
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


# Hardness of the grain over that of the metal; `hardness_factor` takes it the other way round
SCRATCHES, SURELY = 1.2, 1.6


@dataclass(frozen=True)
class Scratch:
    """Whether a grain marks a metal. ratio: hardness of the grain over that of the metal. words: "too soft", "marginal"
    or "scratches" (text, or an array of texts)."""
    ratio: pint.Quantity
    words: str


@units(metal="MPa > 0", abrasive="MPa > 0")
def hard_enough(metal, abrasive):
    """Whether a grain is hard enough to scratch a metal, in words.

    metal: hardness of the worked skin, "240 HV". abrasive: hardness of the mineral, not of a crumbling lump of it.
    Numbers or arrays. Result: Scratch.

    Formula: "scratches" from 1.6 times the hardness of the metal, "too soft" below 1.2, "marginal" between, where
    hardnesses that are each uncertain by 15 % leave it open.
    Range: whole grains. Porous flakes crumble before they cut, however hard their crystals; how far wear falls off is
    `hardness_factor`.
    Source: 1.2 from the abstract of G. Pintaude, ASME Journal of Tribology 132 (2010) 034502; 1.6, also about a step of
    Mohs' scale, from memory, believed to be in D. Tabor, Proceedings of the Physical Society B 67 (1954) 249.
    """
    ratio = abrasive / metal
    words = np.select([ratio < SCRATCHES, ratio < SURELY], ["too soft", "marginal"], "scratches")
    return Scratch(ratio=Q(ratio, ""), words=words if words.ndim else words.item())


ATOMIC = {"Fe": 55.845, "O": 15.999, "H": 1.008}   # g/mol
GOETHITE = ATOMIC["Fe"] + 2 * ATOMIC["O"] + ATOMIC["H"]
HAEMATITE = 2 * ATOMIC["Fe"] + 3 * ATOMIC["O"]


@dataclass(frozen=True)
class Oxides:
    """What iron gives. rust: mass of goethite, FeO(OH). haematite: mass left when that is calcined, Fe2O3."""
    rust: pint.Quantity
    haematite: pint.Quantity


@units(iron="g >= 0")
def oxide_yields(iron):
    """Abrasive made from iron swarf: rust, and the haematite that calcining leaves of it.

    iron: mass that has wholly turned to rust (number or array). Result: Oxides, in g; washing into grades takes its
    losses from there.

    Formula: Fe -> FeO(OH), 2 FeO(OH) -> Fe2O3 + H2O, with the molar masses of iron, oxygen and hydrogen.
    Range: dry goethite or lepidocrocite; damp rust weighs more, and magnetite in it less.
    Source: stoichiometry; atomic weights of the International Union of Pure and Applied Chemistry, table of 2021.
    """
    moles = iron / ATOMIC["Fe"]
    return Oxides(rust=Q(moles * GOETHITE, "g"), haematite=Q(moles / 2 * HAEMATITE, "g"))


def _sinking(grain, grain_density, fluid_density, viscosity):
    """Speed of a grain by Stokes' law, m/s."""
    return _heavier(grain_density, fluid_density) * STANDARD_GRAVITY * grain**2 / (18 * viscosity)


def _heavier(grain_density, fluid_density):
    excess = grain_density - fluid_density
    if np.any(excess <= 0):
        raise ValueError("grain_density must be above fluid_density: a grain no denser than the fluid does not settle")
    return excess


# for warn_outside
_STOKES = (0, 0.5, "", "the grain's Reynolds number is {}; Stokes' law needs {}, and the true grain sinks more "
           "slowly here")


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
    speed = _sinking(grain, grain_density, fluid_density, viscosity)
    warn_outside(fluid_density * speed * grain / viscosity, *_STOKES)
    return depth / speed


@units("um", depth="m > 0", time="s > 0", grain_density="kg/m^3 > 0", fluid_density="kg/m^3 > 0", viscosity="Pa*s > 0")
def cut_size(depth, time, grain_density, fluid_density, viscosity):
    """Largest grain still afloat above that depth after that time: what a decanted powder is finer than.

    The inverse of `settling_time`, with its arguments, range, error and source. time: of settling (number or array).
    Result: um. One decanting removes the coarse grain from the liquor, but leaves fines in the sediment.

    Formula: sqrt(18 viscosity depth / ((grain_density - fluid_density) g time)).
    """
    grain = np.sqrt(18 * viscosity * depth / (_heavier(grain_density, fluid_density) * STANDARD_GRAVITY * time))
    warn_outside(fluid_density * depth / time * grain / viscosity, *_STOKES)
    return grain * 1e6


@units("", grain="m > 0", depth="m > 0", time="s > 0", passes=">= 0", grain_density="kg/m^3 > 0",
       fluid_density="kg/m^3 > 0", viscosity="Pa*s > 0")
def fines_left(grain, depth, time, passes, grain_density, fluid_density, viscosity):
    """Share of the grain of one size that is still in the sediment after washing over and over.

    grain: diameter of the size asked about. depth: of liquor poured off. time: of settling before each pouring. passes:
    how often it is stirred up, left and poured off (whole numbers). grain_density, fluid_density, viscosity: as in
    `settling_time`. All numbers or arrays. Result: 0 to 1; 1 for grain that has time to sink all the way.

    Formula: (speed time / depth)^passes, at most 1: the grains that started within speed time of the bottom.
    Range, and error for a floating grain: as `settling_time`; stirred up evenly, poured off to the sediment and no
    deeper.
    Raises ValueError for passes that are not whole.

    >>> import kit
    >>> emery = {"grain_density": "4000 kg/m^3", "fluid_density": "998 kg/m^3", "viscosity": "1 mPa*s"}
    >>> kit.units.show(kit.lapping.fines_left(grain="5 um", depth="100 mm", time="8 min", passes=3, **emery))
    '0.00756'

    Source: Stokes' law; no published source for repeated pouring.
    """
    if np.any(passes != np.round(passes)):
        raise ValueError("passes: must be whole numbers: count the pourings")
    speed = _sinking(grain, grain_density, fluid_density, viscosity)
    warn_outside(fluid_density * speed * grain / viscosity, *_STOKES)
    return np.minimum(speed * time / depth, 1)**passes


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


@units("um", grain="um > 0", spent_share="> 0 <= 1", bridging="> 0", shaft_roughness="um >= 0",
       bore_roughness="um >= 0")
def clearance_left(grain, spent_share, bridging, shaft_roughness, bore_roughness):
    """Clearance, on the diameter, that a shaft and bore have when their common lapping comes to an end.

    The grain cuts as long as it bridges the gap. grain: size of the last grade, its coarse tail. spent_share: of that
    size once it has broken down, about 0.2 to 0.5. bridging: how many broken-down grains the clearance spans: 1
    where the pair bears on one side, 2 for one on each side, up to 4 where grains roll over each other.
    shaft_roughness, bore_roughness: Rz of each, which washing and running in lay open. All numbers or arrays.
    Result: um.

    Formula: bridging spent_share grain + shaft_roughness + bore_roughness.
    Range: bridging 1 to 4 (warns outside).
    Source: an assumption of this kit; no published rule was found. To be calibrated by the bench log.
    """
    warn_outside(bridging, 1, 4, "",
                 "the clearance spans {} broken-down grains; the model of clearance left holds for {}")
    return bridging * spent_share * grain + shaft_roughness + bore_roughness


@units("um", grain="um > 0", ratio="> 0")
def roughness_from_grain(grain, ratio=100):
    """Roughness Ra that lapping with a loose grain leaves.

    grain: size (number or array). ratio: of grain to Ra (number or array), 40 to 300 for nine in ten. Result: um, Ra;
    Rz is about 5 to 8 times that, Rq about 1.25 times (heights of normal distribution).

    Formula: grain / ratio. One grain bears on the square of its size, so that its dent grows with it.
    Range: ratio 40 to 300 (warns outside); fresh surface wholly worked over by this grain.
    Source: an assumption of this kit, common practice between fixed and loose grain.
    """
    warn_outside(ratio, 40, 300, "", "the grain is {} times the roughness Ra; loose grain on bronze gives {}")
    return grain / ratio


@units("um", previous_roughness="um >= 0", factor=">= 1", form_error="um >= 0")
def scratch_stock(previous_roughness, factor=3, form_error="0 um"):
    """Stock that a grade must take to clear what the grade before it left, square to the face (twice that on diameter).

    previous_roughness: Rz of the stage before. factor: how many times the depth of its scratches the metal is torn and
    strained. form_error: waves and flats to be worked out as well, peak to valley. All numbers or arrays. Result: um.

    Formula: the greater of factor previous_roughness and previous_roughness + form_error.
    Range: soft metals are strained deeper; polish by pressing over hides scratches that etching or corrosion shows.
    Source: common practice; the factor from memory, believed to be in L. E. Samuels, Metallographic Polishing by
    Mechanical Methods.
    """
    return np.maximum(factor * previous_roughness, previous_roughness + form_error)


@units("min", stock="um >= 0", rate="um/min > 0", share="> 0 <= 1")
def polish_minutes(stock, rate, share=1):
    """Minutes in which a grade takes its stock off a face.

    stock: square to the face, from `scratch_stock`. rate: from `depth_rate`, over the whole face. share: of the time in
    which it cuts. All numbers or arrays. Result: min.

    Formula: stock / (rate share). A face worked piece by piece takes as many times that as it has pieces.
    Range: as `hours_for`, which counts the stock of a round part on its diameter.
    Source: arithmetic.
    """
    return stock / (rate * share)


@units("", refractive_index="> 0", extinction=">= 0")
def reflectance(refractive_index, extinction):
    """Share of the light that a perfectly smooth metal throws back, square to its face.

    refractive_index, extinction: n and k of the metal at one wavelength, the complex index being n + i k (numbers or
    arrays, as over a spectrum). Result: 0 to 1. A polished mirror gives this times `specular_ratio`.

    Formula: ((n - 1)^2 + k^2) / ((n + 1)^2 + k^2).
    Range: clean bare metal in air; tarnish and a skin strained by polishing lower it.
    Source: A. Fresnel's formula for an absorbing medium, in every textbook of optics. For n and k: brass, M. R. Querry,
    Optical constants, Contractor Report CRDC-CR-85034 (1985); copper, silver and gold, P. B. Johnson and R. W. Christy,
    Optical constants of the noble metals, Physical Review B 6 (1972) 4370.
    """
    return ((refractive_index - 1)**2 + extinction**2) / ((refractive_index + 1)**2 + extinction**2)


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
    warn_outside(roughness / wavelength, 0, 0.1, "",
                 "the roughness is {} wavelengths; the formula for a nearly smooth face needs {}")
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


# A corroded find: what is measured, and the metal lost from each face since it was made. A loss is depth square to the
# face: of metal eaten away below the first surface, or less than nothing where a crust stands above it.

@units("mm", measured="mm >= 0", inner_loss="mm", outer_loss="mm")
def original_wall(measured, inner_loss, outer_loss):
    """Wall of a tube before it corroded.

    measured: wall of sound metal now. inner_loss, outer_loss: depth of metal lost from the bore and from the outside,
    negative for a crust measured with the wall. All numbers or arrays (a loss known as a range is drawn). Result: mm.

    Formula: measured + inner_loss + outer_loss.
    Range: losses at the place of the measurement.
    Source: geometry.
    """
    return measured + inner_loss + outer_loss


@units("mm", measured="mm > 0", loss="mm")
def original_bore(measured, loss):
    """Diameter of a bore before it corroded.

    measured: diameter now. loss: depth of metal lost all round, negative for a crust. Numbers or arrays. Result: mm.

    Formula: measured - 2 loss; for the outside of a shaft give the loss with the other sign.
    Raises ValueError where the loss leaves no bore.

    >>> import kit
    >>> kit.units.show(kit.lapping.original_bore(measured="5.3 mm", loss="0.1 mm"))
    '5.10 mm'

    Source: geometry.
    """
    if np.any(2 * loss >= measured):
        raise ValueError("loss must be below half the measured bore: give it as a depth on one side")
    return measured - 2 * loss


@units("mm", measured="mm", shaft_loss="mm", bore_loss="mm")
def original_clearance(measured, shaft_loss, bore_loss):
    """Clearance, on the diameter, of a pair before it corroded.

    measured: clearance now, bore less shaft. shaft_loss, bore_loss: depth of metal lost all round from each, negative
    for a crust. All numbers or arrays. Result: mm; a draw below zero says that with such losses the parts did not go
    together.

    Formula: measured - 2 (shaft_loss + bore_loss). The difference of two far larger lengths: its spread is theirs.

    >>> import kit
    >>> as_made = kit.lapping.original_clearance(measured="0.32 mm", shaft_loss="0.06 mm", bore_loss="0.08 mm")
    >>> kit.units.show(as_made)
    '0.0400 mm'

    Source: geometry.
    """
    return measured - 2 * (shaft_loss + bore_loss)
