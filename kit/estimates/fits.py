"""Limits and fits, press fits of nested tubes, and the change of clearance with temperature.

A class such as H7 is a letter (where the tolerance lies: its deviation nearest to the nominal size) and a grade (how
wide it is); capitals are holes, small letters shafts. The numbers stand in the tables it_grades and shaft_deviations;
the standard's formulas only explain them and miss nearly a third of the cells. Holes are worked out from the shafts.

A pair that was fitted by hand has the play of a class without its sizes: `nearest_fit` names it by its measured play.
"""
import functools
import re
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q, magnitude, units, ureg, warn_outside

CLASS = re.compile(r"([A-Za-z]+)([0-9]+)")
CODE = re.compile(rf"\s*[øØ⌀]?\s*([0-9]*\.?[0-9]+)\s*(?:mm)?\s*{CLASS.pattern}\s*(?:/\s*{CLASS.pattern}\s*)?")

# a Quantity made with a Unit costs a tenth of one made with its name
MM, UM, MPA, NEWTON, NEWTON_METRE = (ureg.Unit(unit) for unit in ("mm", "um", "MPa", "N", "N*m"))

SHAFT_K = ("IT4", "IT5", "IT6", "IT7")                        # k starts above the nominal size in these grades only
NOT_TO_1_MM = ("IT14", "IT15", "IT16", "IT17", "IT18")
FIRST_DELTA = "IT3"                                           # the standard gives Delta from this grade on
LAST_DELTA = {"k": "IT8", "m": "IT8", "n": "IT8"}             # IT7 for p to u
J_GRADES = {"j": ("IT5", "IT6", "IT7", "IT8"), "J": ("IT6", "IT7", "IT8")}   # the table has a column for each


@dataclass(frozen=True)
class Limits:
    """Least and greatest permitted size of a part."""
    lower: Q
    upper: Q


@dataclass(frozen=True)
class Fit:
    """Limits of both parts, the diametral clearance (negative: interference) and its kind."""
    hole: Limits
    shaft: Limits
    clearance_min: Q
    clearance_max: Q
    kind: str


@dataclass(frozen=True)
class PreferredFit:
    """A preferred fit: its functional name, its use, both codes, and the limits of the hole-basis one."""
    name: str
    use: str
    hole_basis: str
    shaft_basis: str
    fit: Fit


@dataclass(frozen=True)
class Press:
    """Pressure between two pressed tubes, their hoop stresses (tension positive) and changes of diameter."""
    pressure: Q
    bore_hoop: Q
    inner_interface_hoop: Q
    outer_interface_hoop: Q
    outside_hoop: Q
    bore_change: Q
    outside_change: Q


@dataclass(frozen=True)
class Grip:
    """What friction in a press fit holds, along the axis and round it."""
    axial_force: Q
    torque: Q


# ---------------------------------------------------------------------------------------------------- the tables

def _columns(table, key, value):
    """Upper ends of the size steps in mm, and the values of each key, one a step; NaN where the table has none."""
    rows = tables.load(table)
    tops = np.array(sorted({row["up_to_mm"] for row in rows}))
    found = {row[key]: np.full(tops.size, np.nan) for row in rows}
    for row in rows:
        found[row[key]][np.searchsorted(tops, row["up_to_mm"])] = row[value]
    return tops, found


@functools.cache
def _grades():
    return _columns("it_grades", "it", "tolerance_um")


@functools.cache
def _shafts():
    which = {row["letter"]: row["which"] for row in tables.load("shaft_deviations")}
    return *_columns("shaft_deviations", "letter", "deviation_um"), which


def _rounded(size):
    """To the nanometre: 50 mm that came by way of inches must not slip over a boundary."""
    return np.round(size, 6)


def _step(size, tops):
    """Index of the size step; a size on a boundary belongs to the step below it."""
    size = _rounded(size)
    if np.any(size > tops[-1]):
        raise ValueError(f"size: {np.max(size):g} mm is over {tops[-1]:g} mm, where the tables of limits and fits end")
    return np.searchsorted(tops, size)


def _tolerance(size, grade):
    tops, grades = _grades()
    if str(grade) not in grades:
        raise ValueError(f"grade: the tables have no {grade!r}; {tables.nearest(grade, grades)}")
    if grade in NOT_TO_1_MM and np.any(_rounded(size) <= 1):
        raise ValueError(f"grade: {grade} is not given for sizes up to 1 mm; IT13 is the coarsest there")
    return grades[grade][_step(size, tops)]


def _fundamental(size, letter, grade):
    """(fundamental deviation in um, whether it is the upper one)."""
    tops, shafts, which = _shafts()
    letters = sorted([*filter(str.isalpha, shafts), "j", "js"])
    holes = [shaft.upper() for shaft in letters]
    if str(letter) not in (*letters, *holes):
        same_case, part = (holes, "hole") if str(letter)[:1].isupper() else (letters, "shaft")
        raise ValueError(f"letter: the tables have no {part} {letter!r}; {tables.nearest(letter, same_case)}")
    tolerance = _tolerance(size, grade)
    shaft = letter.lower()
    if shaft == "js":
        return tolerance / 2, True
    if shaft == "j":
        return _j(size, letter, grade, tolerance), letter == "J"
    beyond = shafts[shaft][_step(size, tops)]
    if np.any(np.isnan(beyond)):
        start = tops[np.isnan(shafts[shaft])].max()
        others = [c for c in (letters if letter == shaft else holes) if c not in "tT"]   # only t has gaps
        raise ValueError(f"letter: {letter!r} is given over {start:g} mm only; up to there, "
                         f"{tables.nearest(letter, others)}")
    if letter == shaft:
        return (0 * beyond if letter == "k" and grade not in SHAFT_K else beyond), which[shaft] == "es"
    if which[shaft] == "es":
        return 0 - beyond, False
    return _hole_upper(size, shaft, grade, tolerance, beyond), True


def _j(size, letter, grade, tolerance):
    """ei of the shaft j, or ES of the hole J: about the nominal size, each grade with a column of its own."""
    tops, shafts, _ = _shafts()
    step = _step(size, tops)
    if grade not in J_GRADES[letter] or (letter, grade) == ("j", "IT8") and np.any(step > 0):
        given, other = ("IT5 to IT7, and up to 3 mm in IT8", "js") if letter == "j" else ("IT6 to IT8", "JS")
        raise ValueError(f"letter: {letter!r} is given in {given}, not in {grade} here; {other!r} lies about the "
                         "nominal size in every grade")
    own = shafts[f"j{grade[2:]}"][step]
    if letter == "j":
        return own
    finer = shafts[f"j{int(grade[2:]) - 1}"][step]   # the hole is one grade coarser than the shaft that it mirrors
    return np.where(step > 0, _delta(size, grade, tolerance) - finer, -own)[()]


def _delta(size, grade, tolerance):
    """IT(n) - IT(n-1), over 3 mm."""
    tops, grades = _grades()
    names = list(grades)
    return tolerance - grades[names[names.index(grade) - 1]][_step(size, tops)]


def _hole_upper(size, shaft, grade, tolerance, beyond):
    """ES of the holes K to U: the shaft's deviation mirrored, in the finer grades moved up by Delta = IT(n) - IT(n-1).

    Delta makes the hole-basis fit and its mirror image (H7/p6 and P7/h6) give the same play, each with a hole one grade
    coarser than its shaft.
    """
    tops, grades = _grades()
    names = list(grades)
    place, over_3_mm = names.index(grade), _step(size, tops) > 0
    if place > names.index(LAST_DELTA.get(shaft, "IT7")):
        if shaft == "k":
            return 0 * beyond
        return np.where(over_3_mm, 0, -beyond)[()] if shaft == "n" else -beyond
    if place < names.index(FIRST_DELTA) and np.any(over_3_mm):
        raise ValueError(f"grade: over 3 mm the holes K to U are given from {FIRST_DELTA} on, not in {grade}")
    return np.where(over_3_mm, _delta(size, grade, tolerance), 0)[()] - beyond


def _deviations(size, letter, grade):
    """(lower, upper) deviation in um."""
    first, is_upper = _fundamental(size, letter, grade)
    tolerance = _tolerance(size, grade)
    return (first - tolerance, first) if is_upper else (first, first + tolerance)


def _single(**sizes):
    for name, value in sizes.items():
        if np.ndim(value):
            raise ValueError(f"{name}: one value at a time, not an array")


def _read(code, parts):
    """Size in mm and the (letter, grade) of each of the parts in a code such as '25 H7' or '25 H7/g6'."""
    example, other = ("25 H7", "'fit' takes both") if parts == 1 else ("25 H7/g6", "'limits' takes one")
    if not isinstance(code, str):
        raise TypeError(f"code: expected text like {example!r}, got {code!r}")
    match = CODE.fullmatch(code)
    if not match:
        size = re.search(r"^\W*([0-9.]*[0-9])", code)
        known = [row["hole_basis"] for row in tables.load("preferred_fits")]
        if parts == 1:
            known = list(dict.fromkeys(one for both in known for one in both.split("/")))
        near = tables.nearest(code, [f"{size[1] if size else 25} {one}" for one in known])
        raise ValueError(f"code: cannot read {code!r}; write the size in mm and then the class, like {example!r}; "
                         f"{near}")
    size, *words = match.groups()
    found = [(letter, f"IT{grade}") for letter, grade in (words[:2], words[2:]) if letter]
    if len(found) != parts:
        named = "1 part" if len(found) == 1 else "2 parts"
        raise ValueError(f"code: {code!r} names {named}, not {parts} as in {example!r}; {other}")
    return magnitude(f"{size} mm", "mm > 0", "size"), found


def _limits(size, lower, upper):
    """Limits of size from deviations in um."""
    return Limits(Q(_rounded(size + lower / 1000), MM), Q(_rounded(size + upper / 1000), MM))


def _fit(size, hole, shaft):
    hole_lower, hole_upper = _deviations(size, *hole)
    shaft_lower, shaft_upper = _deviations(size, *shaft)
    least, greatest = hole_lower - shaft_upper, hole_upper - shaft_lower
    kind = "interference" if greatest <= 0 else "clearance" if least >= 0 else "transition"
    return Fit(_limits(size, hole_lower, hole_upper), _limits(size, shaft_lower, shaft_upper),
               Q(least, UM), Q(greatest, UM), kind)


# ---------------------------------------------------------------------------------------------- limits and fits

@units("um", size="mm > 0")
def tolerance(size, grade):
    """Width of the standard tolerance (micrometres) of a grade, "IT01" (finest) to "IT18".

    size: nominal diameter, number or array, over 0 to 120 mm; a size on a boundary belongs to the step below it
    (10 mm is in 6 to 10 mm). grade: "IT7", letters included.
    Raises ValueError for an unknown grade, over 120 mm, and for IT14 to IT18 up to 1 mm.

    >>> import kit
    >>> kit.units.show(kit.fits.tolerance(size="25 mm", grade="IT7"))
    '21.0 µm'

    Source: ISO 286-1:2010, table of standard tolerances; the limit of IT14 to IT18 from memory, believed to be in it.
    """
    return _tolerance(size, grade)


@units("um", size="mm > 0")
def deviation(size, letter, grade):
    """Fundamental deviation (micrometres, with sign): the limit nearest to the nominal size, less the nominal size.

    size: nominal diameter, number or array, over 0 to 120 mm. letter: shaft c d e f g h j js k m n p r s t u or the
    same in capitals for a hole. grade: "IT7".
    What is returned: for shafts the upper deviation es (c to h) or the lower one ei (j to u); for holes the lower one
    EI (C to H) or the upper one ES (J to U); for js and JS, which have none, the upper one, +IT/2 (not rounded).
        holes C to H: EI = -es
        K M N to IT8, P to U to IT7, over 3 mm: ES = -ei + Delta, Delta = IT(n) - IT(n-1)
        coarser ones, and all up to 3 mm: ES = -ei
        k: ei as tabled in IT4 to IT7, else 0; K above IT8: 0; N above IT8: 0 over 3 mm
        j: ei as tabled in IT5 to IT7; J in IT6 to IT8: ES = -ei of j one grade finer + Delta, up to 3 mm -ei of its own
    Raises ValueError for letters that are not tabled (a b v x y z ...), j and J in other grades, t up to 24 mm, grades
    below IT3 in the holes K to U over 3 mm, and as `tolerance` does.
    Source: ISO 286-1:2010, tables of fundamental deviations; rules after ISO 286-1:1988, annex A, and K. L. Narayana,
    P. Kannaiah, K. Venkata Reddy, Machine Drawing, 3rd ed. (2006), pp. 221-222.
    """
    return _fundamental(size, letter, grade)[0]


def limits(code):
    """Limits of size of one part: "25 H7" -> Limits(lower 25.000 mm, upper 25.021 mm).

    code: nominal size in mm (one number, at most 120) and class; "25H7", "25 mm H7" and "ø25 H7" read the same.
    Raises TypeError for anything but text, ValueError for a code that cannot be read or a class that is not tabled.
    Source: as `deviation`.
    """
    size, (part,) = _read(code, 1)
    return _limits(size, *_deviations(size, *part))


def fit(code):
    """Limits, diametral clearance (micrometres) and kind of a fit: "25 H7/g6".

    code: nominal size in mm, hole (capital letter), slash, shaft (small letter).
        least clearance = least hole - greatest shaft; greatest clearance = greatest hole - least shaft
        kind: "interference" if the greatest is <= 0, "clearance" if the least is >= 0, else "transition"
    Raises as `limits` does, and ValueError where the two are not hole and shaft in that order.

    >>> import kit
    >>> sliding = kit.fits.fit("25 H7/g6")
    >>> sliding.kind, kit.units.show(sliding.clearance_min), kit.units.show(sliding.clearance_max)
    ('clearance', '7.00 µm', '41.0 µm')

    Source: as `deviation`; the terms from ISO 286-1:2010.
    """
    size, (hole, shaft) = _read(code, 2)
    if hole[0].islower() or shaft[0].isupper():
        raise ValueError(f"code: {code!r} is not hole/shaft: first the hole with a capital letter, then the shaft "
                         "with a small one, like '25 H7/g6'")
    return _fit(size, hole, shaft)


@units(size="mm > 0")
def preferred(size):
    """The ten preferred fits at a size, loosest first, each with its functional name, use and hole-basis limits.

    size: nominal diameter, one number, over 0 to 120 mm.
    Raises ValueError for an array or over 120 mm.
    Source: R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), table 7-9, after
    ANSI B4.2-1978; the uses are told in other words.
    """
    _single(size=size)
    found = []
    for row in tables.load("preferred_fits"):
        hole, shaft = ((letter, f"IT{grade}") for letter, grade in CLASS.findall(row["hole_basis"]))
        found.append(PreferredFit(name=row["name"], use=row["use"], hole_basis=row["hole_basis"],
                                  shaft_basis=row["shaft_basis"], fit=_fit(size, hole, shaft)))
    return found


@units(size="mm > 0", clearance="um")
def nearest_fit(size, clearance):
    """The preferred fit whose play lies nearest to a measured one.

    size: nominal diameter, one number, over 0 to 120 mm. clearance: measured diametral clearance, one number, negative
    for interference.
    Rule: of the fits whose range of clearance holds the measured one, that with the nearest middle; where none does,
    that with the nearest end; the looser of two that are equally near. It says nothing of the sizes: a lapped pair may
    have the play of a sliding fit at any odd diameter.
    Warns where the clearance lies beyond all preferred fits. Raises as `preferred` does.
    Source: the rule is this kit's own; the fits as `preferred`.
    """
    _single(clearance=clearance)
    fits = preferred(size=Q(size, MM))
    ranges = [(one.fit.clearance_min.magnitude, one.fit.clearance_max.magnitude) for one in fits]   # both in um
    warn_outside(clearance, min(ranges)[0], max(high for _, high in ranges), "um",
                 "the clearance is {}; the preferred fits cover {}")
    miss = [(max(low - clearance, clearance - high, 0), abs(clearance - (low + high) / 2)) for low, high in ranges]
    return fits[miss.index(min(miss))]


# --------------------------------------------------------------------------------- interference, grip and warmth

def _in_order(smaller, small, larger, large):
    small, large = np.broadcast_arrays(small, large)
    wrong = small >= large
    if wrong.any():
        raise ValueError(f"{smaller} {small[wrong][0]:g} mm must be less than {larger} {large[wrong][0]:g} mm")


@units(bore="mm >= 0", interface="mm > 0", outside="mm > 0", interference="mm >= 0", inner_modulus="MPa > 0",
       outer_modulus="MPa > 0", inner_poisson=">= 0 <= 0.5", outer_poisson=">= 0 <= 0.5")
def press(bore, interface, outside, interference, inner_modulus, outer_modulus, inner_poisson, outer_poisson):
    """Pressure, hoop stresses and changes of diameter of a tube pressed into another (Lame, plane stress).

    bore: diameter inside the inner tube, 0 for a solid shaft. interface: diameter where they meet. outside: diameter
    outside the outer tube. interference: DIAMETRAL, shaft less hole before pressing. inner_modulus, outer_modulus:
    Young's moduli; inner_poisson, outer_poisson: Poisson's ratios. All numbers or arrays.
    Result (Press): pressure; hoop stresses (tension positive) at the bore, on either side of the interface, and at the
    outside; bore_change and outside_change of the diameters (micrometres; the bore shrinks, so its change is negative).
        p = delta / { d/Eo [(do2 + d2)/(do2 - d2) + nuo] + d/Ei [(d2 + di2)/(d2 - di2) - nui] }      (2: squared)
        outer tube: +p (do2 + d2)/(do2 - d2) at the interface, +2 p d2/(do2 - d2) outside
        inner tube: -p (d2 + di2)/(d2 - di2) at the interface, -2 p d2/(d2 - di2) at the bore; solid: -p throughout
        change of a free diameter = diameter x hoop stress there / E
    Valid for elastic, round tubes free to shorten; a long pair of one material held at its ends has p / (1 - nu2). It
    does not know the yield stress: compare the hoop stresses with it. Warns above 2.5 thousandths of the diameter,
    where shop allowances for forced fits end (F. D. Jones, Turning and Boring, 1914).
    Raises ValueError unless bore < interface < outside.
    Source: R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), eqs 7-39 to 7-47;
    the changes of the free diameters from Hooke's law.
    """
    _in_order("bore", bore, "interface", interface)
    _in_order("interface", interface, "outside", outside)
    warn_outside(interference / interface, 0, 0.0025, "", "the interference is {} of the diameter; shop allowances for "
                 "forced fits (Jones 1914) are {}, and the metal may yield here")
    outer = (outside**2 + interface**2) / (outside**2 - interface**2)
    inner = (interface**2 + bore**2) / (interface**2 - bore**2)
    pressure = interference / (interface / outer_modulus * (outer + outer_poisson)
                               + interface / inner_modulus * (inner - inner_poisson))
    # a hole, however small, doubles the stress beside it: the solid shaft is a case of its own
    at_bore = np.where(np.equal(bore, 0), -pressure, -2 * pressure * interface**2 / (interface**2 - bore**2))[()]
    at_outside = 2 * pressure * interface**2 / (outside**2 - interface**2)
    return Press(pressure=Q(pressure, MPA), bore_hoop=Q(at_bore, MPA),
                 inner_interface_hoop=Q(-pressure * inner, MPA), outer_interface_hoop=Q(pressure * outer, MPA),
                 outside_hoop=Q(at_outside, MPA), bore_change=Q(1000 * bore * at_bore / inner_modulus, UM),
                 outside_change=Q(1000 * outside * at_outside / outer_modulus, UM))


@units(pressure="MPa >= 0", interface="mm > 0", length="mm > 0", friction=">= 0")
def grip(pressure, interface, length, friction):
    """Axial force and torque at which a press fit slips.

    pressure: between the parts, as `press` gives it. interface: diameter where they meet. length: of contact.
    friction: coefficient. All numbers or arrays.
        force = friction pi d L p;  torque = force d / 2
    Valid for an even pressure over the whole length and one friction for both directions; ends and taper are left out.
    Source: R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), eq. 7-49 (its form
    from memory).
    """
    force = friction * np.pi * interface * length * pressure
    return Grip(axial_force=Q(force, NEWTON), torque=Q(force * interface / 2 / 1000, NEWTON_METRE))


@units("um", size="mm > 0", hole_expansion="ppm/K >= 0 < 1000", shaft_expansion="ppm/K >= 0 < 1000",
       temperature_change="delta_degC")
def clearance_change(size, hole_expansion, shaft_expansion, temperature_change):
    """Change of the diametral clearance (micrometres; positive: more play) when both parts warm alike.

    size: common diameter. hole_expansion, shaft_expansion: coefficients of linear expansion of the part with the hole
    and of the shaft ("18 ppm/K" or "18e-6/K"). temperature_change: in K or delta_degC, negative for cooling. All
    numbers or arrays.
        change = d (alpha hole - alpha shaft) change of temperature
    Valid where both parts have one and the same temperature; a sleeve warmed alone by the hand is the case of
    shaft_expansion 0. Warns beyond 100 K, since the usual coefficients hold near room temperature.
    Source: common practice, the definition of the coefficient.
    """
    warn_outside(temperature_change, -100, 100, "K",
                 "the temperature changes by {}; coefficients for room temperature hold for {}")
    return size * (hole_expansion - shaft_expansion) * temperature_change / 1000   # mm ppm is nm
