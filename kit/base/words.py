"""How a thing is said: a number, a unit, a range, a chance, a share, a count, a key, a column, a place.

Whatever a person reads takes its words from here, so that one thing is told one way, on every Python and with every
version of the libraries below.
"""
import functools
import math
import re
from decimal import Decimal

import numpy as np

from kit.base import tables

THIN = "\u202f"   # narrow no-break space: between groups of three digits

# --- units ------------------------------------------------------------------------------------------------------------

PREFIXES = {"micro": "µ", "milli": "m", "centi": "c", "kilo": "k", "mega": "M", "giga": "G", "nano": "n"}
# in the order in which a product is written: N·m, mPa·s
SYMBOLS = {"newton": "N", "pascal": "Pa", "volt": "V", "ampere": "A", "ohm": "Ω",
           "vickers": "HV", "joule": "J", "watt": "W", "bar": "bar", "gram": "g",
           "pound": "lb", "mole": "mol", "liter": "L", "meter": "m", "inch": "in", "second": "s", "minute": "min",
           "hour": "h", "day": "d", "year": "a", "hertz": "Hz", "kelvin": "K", "degree_Celsius": "°C",
           "degree_Fahrenheit": "°F", "delta_degree_Celsius": "K", "radian": "rad", "degree": "°",
           "revolutions_per_minute": "rpm", "standard_gravity": "g₀", "percent": "%"}
PLACES = {name: place for place, name in enumerate(SYMBOLS)}
UP, DOWN = "⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-"
RAISED, LOWERED = str.maketrans(DOWN, UP), str.maketrans(UP, DOWN)


def _parts(name):
    """Prefix and bare name of a unit: 'micrometer' is a 'micro' 'meter'."""
    prefix = next((p for p in PREFIXES if name.startswith(p) and name.removeprefix(p) in SYMBOLS), "")
    return prefix, name.removeprefix(prefix)


def symbol(name):
    """Symbol of a unit from its full name: 'micrometer' is µm; a name without one is its own ('turn')."""
    prefix, bare = _parts(name)
    return PREFIXES.get(prefix, "") + SYMBOLS.get(bare, bare)


def unit(of):
    """A unit as print has it: N·m, µm, kg/m³, 1/min; "" for a pure number.

    of: Unit, Quantity, or its text in a table.
    """
    if isinstance(of, str):
        return _printed(of)
    return _unit(tuple(dict(getattr(of, "units", of)._units).items()))


@functools.lru_cache(1024)
def _unit(powers):
    powers = sorted(powers, key=lambda item: PLACES.get(_parts(item[0])[1], len(PLACES)))
    over = [symbol(name) + _raised(power) for name, power in powers if power > 0]
    under = [symbol(name) + _raised(-power) for name, power in powers if power < 0]
    if not under:
        return "·".join(over)
    below = "·".join(under)
    return f"{'·'.join(over) or 1}/{below if len(under) == 1 else f'({below})'}"


def _raised(power):
    return "" if power == 1 else f"{power:g}".translate(RAISED)


@functools.lru_cache(1024)
def _printed(text):
    """The unit of a table or a study file, as print has it."""
    text = re.sub(r"(?:\*\*|\^)(-?\d+)", lambda found: found[1].translate(RAISED), text.strip().replace("um", "µm"))
    text = re.sub(r"\bdeg([CF])\b", r"°\1", text)
    return re.sub(r"\bdeg\b", "°", text.replace("*", "·"))


def typed(of):
    """A unit as it is typed in a study file: N*m, um, kg/m^3."""
    return as_typed(unit(of)).replace("µ", "u")


def as_typed(text):
    """A unit's text with the signs of print as they are typed: · ² ° are * ^2 deg."""
    text = text.replace("·", "*").replace("°C", "degC").replace("°F", "degF").replace("°", "deg")
    return re.sub(f"[{UP}]+", lambda found: "^" + found[0].translate(LOWERED), text)


def spelt_out(of):
    """A unit in whole names, as digests of what is planned have it: newton*meter, turn/hour, kilogram/meter**3."""
    powers = dict(getattr(of, "units", of)._units).items()
    over = "*".join(f"{name}**{power:g}" if power != 1 else name for name, power in powers if power > 0)
    under = "".join(f"/{name}**{-power:g}" if power != -1 else f"/{name}" for name, power in powers if power < 0)
    return f"{over or (1 if under else '')}{under}" or "dimensionless"


# --- numbers ----------------------------------------------------------------------------------------------------------

def number(value, digits=3):
    """A number with that many significant digits, and no power of ten."""
    value = float(value)
    if not math.isfinite(value) or value == 0:
        return {math.inf: "∞", -math.inf: "−∞", 0: "0"}.get(value, "nan")
    exponent = int(f"{value:.{digits - 1}e}".split("e")[1])   # of the rounded number: 9.996 to three digits is 10.0
    rounded = round(value, digits - 1 - exponent)
    return grouped(f"{rounded:.{max(digits - 1 - exponent, 0)}f}")


def exact(value):
    """A number as it was planned or read: no digit added, none lost that anybody could hold."""
    return grouped(format(Decimal(f"{float(value):.9g}"), "f"))


def grouped(text):
    """Digits before the point in groups of three, from five on: 16 384, but 4096."""
    whole, point, rest = text.partition(".")
    sign, whole = whole[:len(whole) - len(whole.lstrip("-"))], whole.lstrip("-")
    if len(whole) > 4:
        whole = THIN.join([whole[:len(whole) % 3]] * bool(len(whole) % 3)
                          + [whole[i:i + 3] for i in range(len(whole) % 3, len(whole), 3)])
    return sign + whole + point + rest


def count(n):
    """A whole number of things."""
    return grouped(f"{int(n)}")


SPELT = "no one two three four five six seven eight nine ten eleven twelve".split()


def counted(n, thing, things=None, spelt=False):
    """'1 draw', '16 384 draws'; spelt: 'three readings', as in running words, up to twelve."""
    said = SPELT[n] if spelt and n < len(SPELT) else count(n)
    return f"{said} {thing if n == 1 else things or thing + 's'}"


def draws(n, seed):
    """What a number from draws carries with it: '16 384 draws, seed 1'."""
    return f"{counted(n, 'draw')}, seed {seed}"


def with_unit(text, of):
    """A number's text with its unit behind it; a percent or degree sign of its own kind stands close."""
    printed = unit(of)
    return f"{text}{'' if printed == '°' else ' '}{printed}".rstrip()


def quantity(value, digits=None):
    """A Quantity with its unit (3 digits); an array of draws as 'median (5 % to 95 %) unit' (2 digits)."""
    text = number(value.m, digits or 3) if np.ndim(value.m) == 0 else spread(value.m, digits or 2)
    return with_unit(text, value)


def planned(value):
    """A Quantity that somebody chose, as they chose it: 40 mm, not 40.0 mm; a length under a tenth of a mm in µm."""
    if unit(value) == "mm" and 0 < abs(value.m) < 0.1:
        value = value.to("um")
    return with_unit(exact(value.m), value)


def ranged(low, mid, high, of="", digits=2):
    """'3.9 (0.83 to 17) N·m'; the middle alone where there is no range."""
    low, mid, high = (number(x, digits) for x in (low, mid, high))
    return with_unit(mid if low == mid == high else f"{mid} ({low} to {high})", of)


def spread(values, digits=2):
    """A number, or an array of draws as 'median (5 % to 95 %)'."""
    values = np.asarray(values)
    if values.size == 1:
        return number(values.item(), digits)
    # no interpolation: half-way between a number and an infinite margin lies nothing
    low, mid, high = np.quantile(values, (0.05, 0.5, 0.95), method="inverted_cdf")
    return f"{number(mid, digits)} ({number(low, digits)} to {number(high, digits)})"


# --- chances and shares -----------------------------------------------------------------------------------------------

def chance(of):
    """A chance from draws, to two decimals; never 1.00 or 0.00, which no number of draws can show."""
    return ">0.99" if of >= 0.995 else "<0.01" if of < 0.005 else f"{of:.2f}"


def percent(share):
    """A share or a level in per cent: 97 %; all or none only where it is all or none."""
    if 0 < share <= 0.005:
        return "<1 %"
    return ">99 %" if 0.995 <= share < 1 else f"{100 * share:.0f} %"


# --- names ------------------------------------------------------------------------------------------------------------

def key_label(key):
    """A key as words, where nothing better is known: 'drive.stroke_frequency' is 'drive: stroke frequency'."""
    key, _, tube = key.partition("@")
    prefix, _, rest = key.removeprefix("abrasive.").rpartition(".")
    said = (f"{prefix}: {rest}" if prefix and prefix != rest else rest).replace("_", " ")
    return said + (f" ({tube})" if tube else "")


# choices of the maker: key in study.toml -> what it is called where its own words would not do
CHOICES = {
    "left_on": "lapping allowance", "blank_stock": "stock on the blank", "wrap": "wrap of the cord",
    "start_length": "free length of the first drill", "order": "order of work", "edge": "state of the edge",
    "drilling": "how the bore is led", "push": "what pushes the drill", "arbor_metal": "metal of the arbor",
    "tool_metal": "metal of the tools", "stock": "stock on diameter", "depth": "depth of cut", "feed": "feed a turn",
    "clearance_most": "greatest clearance allowed", "tip_play": "shake allowed at the pointer's tip",
    "push_arm": "arm of a sideways push", "pointer_reach": "reach of the pointer", "pointer_mass": "mass of a pointer",
    "pointer_arm": "pointer's centre of gravity off the axis", "rate": "turning rate of the input",
    "torque": "torque granted", "volume": "volume shut in", "vacuum": "pressure at the start",
    "vacuum_end": "pressure at the end", "hold": "hold time wanted", "plunger_push": "push granted to the plunger",
    "hours": "hours granted", "edge_metal": "metal of the edges", "reserve": "reserve kept by feel",
    "told_by": "how a fit is told", "feed_least": "least feed a turn", "feed_most": "greatest feed a turn",
    "pressure_least": "least pressure", "pressure_most": "greatest pressure", "held_by": "what holds the work",
    "ends": "ends it is bored from", "lap": "kind of lap", "wheel_mass": "mass of the wheel on a sleeve",
    "stray_most": "stray allowed", "over": "length worked, from the end"}


def choice(key):
    """A choice of the maker as words: 'fluted reamer to 5.00 mm: feed' is '...: feed a turn'."""
    place, mark, name = key.rpartition(": ")
    return place + mark + CHOICES.get(name, name.replace("_", " "))


@functools.cache
def _headings():
    return {row["column"]: row["heading"] for row in tables.load("columns")}


def heading(column):
    """What a column of a table is called in print: 'stock, µm' for stock_um."""
    if column in _headings():
        return _headings()[column]
    what, _, of = str(column).rpartition("_")
    if what and of in UNITS_OF_COLUMNS:
        return f"{what.replace('_', ' ')}, {UNITS_OF_COLUMNS[of]}"
    return str(column).replace("_", " ")


UNITS_OF_COLUMNS = {"mm": "mm", "um": "µm", "kPa": "kPa", "h": "h", "Nm": "N·m", "N": "N", "g": "g", "min": "min",
                    "s": "s"}


def headed(frame):
    """The DataFrame with its columns called as print calls them."""
    return frame.rename(columns=heading)
