"""The one unit registry, and the decorator that lets a formula be written in plain numbers.

A public estimate takes and returns Quantities. Its decorator says in which unit each argument enters the formula and
which values make sense, so the body is plain numpy and reads like the formula:

    @units("N*m", force="N >= 0", radius="m > 0")
    def torque(force, radius):
        return force * radius

Text such as "8 mm" is taken wherever a Quantity is. A bare number is refused where a unit is due. Angles are counted as
if they were a dimension of their own: a turning rate must carry `turn` (turn/s, rpm), a stroke rate must not (1/min),
because the two differ by 2 pi and nothing else would tell them apart.
"""
import contextlib
import contextvars
import functools
import inspect
import re
import reprlib
import warnings

import numpy as np
import pint

from kit.base import words
from kit.base.quantities import Registry, powers
from kit.base.words import number, spread  # noqa: F401 (known as kit.units' of old)

ureg = Registry()
ureg.define("@alias turn = rev")
ureg.define("vickers = 9.80665 megapascal = HV")   # hardness number: kgf/mm2, so a pressure


@pint.register_unit_format("kit")
def _printed(unit, registry, **options):
    """Units print as `words.unit` says, whatever the version of pint."""
    return words.unit(registry.Unit(unit))


ureg.formatter.default_format = "kit"
# pint reads "mm" or "N*m" anew each time it meets the word, which took most of the time of a small verdict
ureg.parse_units_as_container = functools.lru_cache(4096)(ureg.parse_units_as_container)
pint.set_application_registry(ureg)
Q = ureg.Quantity


class OutOfRange(UserWarning):
    """An estimate was asked for outside the range in which its formula is known to hold."""


NUMBER = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")
BOUND = re.compile(r"(>=|<=|>|<)\s*(-?[\d.]+)")
FACTOR = re.compile(r"([^\W\d]+(?:_[^\W\d]+)*|%)(?:\^-?\d)?")   # one unit, with one small power at most
LONGEST = 40   # characters of a unit
HOLDS = {">": np.greater, ">=": np.greater_equal, "<": np.less, "<=": np.less_equal}


@functools.lru_cache(4096)
def read(text):
    """Quantity from text such as '8 mm', '0.5 N*m', '60/min', '20 degC' or '0.15'.

    >>> import kit
    >>> print(kit.units.read("0.5 N*m"))
    0.5 N·m
    """
    match = NUMBER.match(text)
    if not match or match[2][:1] in (",", ".", "_"):   # what is left of 0,5 or 1.5.2 is no unit
        raise ValueError(f"cannot read {_short(text)} as a number with its unit; write it like '8 mm' "
                         "(decimal point, one number, then the unit)")
    figures, unit = match.groups()
    try:
        return Q(float(figures), parse(unit))
    except Exception as error:   # pint has a dozen ways to say that a unit is of no use with a number
        raise ValueError(f"cannot read the unit {reprlib.repr(unit)} in {reprlib.repr(text)} ({error}); write it like "
                         "'8 mm'") from None


@functools.lru_cache(4096)
def parse(text):
    """Unit from its text: known words joined by * and /, each with one small power at most ('kg/m^3', '1/min').

    Looked at before pint sees it, which would work out any power of a power for ever, and passes over what it takes for
    a remark. Raises ValueError that says what is not understood.
    """
    plain = re.sub(r"\s*([*/^])\s*", r"\1", words.as_typed(text).replace("**", "^").strip())
    if len(plain) > LONGEST:
        raise ValueError(f"a unit has no more than {LONGEST} characters")
    plain = re.sub(r"/\(([^()]*)\)$", lambda found: "/" + found[1].replace("*", "/"), plain)   # mm^3/(N*m)
    body = plain.removeprefix("1/") if plain.startswith("1/") else plain.removeprefix("/")
    for factor in re.split(r"[*/]", body) if plain else ():
        found = FACTOR.fullmatch(factor)
        if not found or not (found[1] == "%" or ureg.parse_unit_name(found[1])):
            raise ValueError(f"{reprlib.repr(factor)} is no unit; take words like mm, N, min, joined by * and /, with "
                             f"a "
                             "power like m^2")
    return ureg.Unit(f"1/{body}" if plain.startswith(("/", "1/")) else plain)


@functools.lru_cache(4096)
def _kind(unit):
    """(dimensionality, power of angle) of a unit."""
    root = ureg.get_root_units(unit)[1]
    return unit.dimensionality, dict(root._units).get("radian", 0)


@functools.lru_cache(1024)
def _pure(unit):
    """Whether a plain number can be meant by it."""
    return _kind(unit) == _kind(ureg.Unit("")) and Q(1.0, unit).m_as("") == 1


@functools.lru_cache(1024)
def _rule(spec):
    unit = BOUND.sub("", spec).strip()
    return ureg.Unit(unit), [(op, float(limit)) for op, limit in BOUND.findall(spec)]


def _example(unit):
    return f"'{2 if unit.dimensionless else 8} {words.typed(unit)}'".replace(" '", "'")


def _short(value):
    return " ".join(reprlib.repr(value).split())   # an array of draws would fill the screen


def magnitude(value, spec, name="value"):
    """Plain number or array of `value` in the unit of `spec`, checked.

    spec: the unit and the values that make sense, as "mm > 0", "MPa", ">= 0 <= 1". A feed ("mm/turn") may also be
    given as a plain length, a turn being understood.
    Raises TypeError for a bare number where a unit is due, pint.DimensionalityError for a wrong dimension, ValueError
    for text that cannot be read and for NaN, infinite or senseless values; each names the argument.
    """
    unit, bounds = _rule(spec)
    if isinstance(value, str):
        try:
            value = read(value)
        except ValueError as error:
            raise ValueError(f"{name}: {error}") from None
    if isinstance(value, pint.Quantity):
        if value._REGISTRY is not ureg:
            raise ValueError(f"{name}: {words.quantity(value)} is of another unit registry; make it with kit.Q or "
                             f"write '8 mm'")
        result, factor = value.magnitude, _factor(powers(value._units), spec, name)
        if factor is None:
            result = value.m_as(unit)
        elif factor != 1:
            result = result * factor
    elif isinstance(value, (bool, np.bool_)) or not isinstance(value, (int, float, np.number, np.ndarray, list, tuple)):
        raise TypeError(f"{name}: expected a quantity like {_example(unit)}, got {_short(value)}")
    elif not _pure(unit):   # mm/m is none either: 1 would be a thousand of them
        example = f"Q([8, 9], '{words.typed(unit)}')" if isinstance(value, (list, tuple)) else _example(unit)
        raise TypeError(f"{name}: {_short(value)} has no unit; expected one like {words.typed(unit)}, "
                        f"for example {name}={example}")
    else:
        result = value
    try:
        result = np.asarray(result, float) if np.ndim(result) else float(result)
    except (TypeError, ValueError):
        raise TypeError(f"{name}: expected numbers, got {_short(value)}") from None
    _check_values(result, bounds, unit, name)
    return result


@functools.lru_cache(8192)
def _factor(given, spec, name):
    """What a number in units of these powers is multiplied by to enter the formula; None where an offset is
    involved."""
    unit, given = _rule(spec)[0], ureg.Unit(ureg.UnitsContainer(dict(given)))
    dimension, angle = _kind(unit)
    if unit == ureg.Unit("mm/turn") and _kind(given) == (dimension, 0):
        unit = ureg.Unit("mm")
    elif _kind(given) != (dimension, angle):
        takes = "a pure number" if unit.dimensionless and not angle else f"a unit like {words.typed(unit)}"
        why = f"; argument {name!r} takes {takes}, for example {name}={_example(unit)}"
        if given.dimensionality == dimension and angle:
            why += "; a turning rate or an angle must say so (turn/s, rpm, deg, turn)"
        elif given.dimensionality == dimension:
            why += "; this one must not carry an angle (turn, cycle, rad): write a stroke rate as 60/min"
        raise pint.DimensionalityError(given, unit, given.dimensionality, dimension, extra_msg=why)
    offsets = [not Q(1, u)._is_multiplicative for u in (given, unit)]
    if offsets[0] and not offsets[1]:
        why = f"; argument {name!r} is a difference of temperature: write it in K or delta_degC"
        raise pint.DimensionalityError(given, unit, given.dimensionality, dimension, extra_msg=why)
    return None if any(offsets) else Q(1.0, given).m_as(unit)


def _check_values(result, bounds, unit, name):
    if isinstance(result, float):
        low = high = result
    else:
        if result.size == 0:
            raise ValueError(f"{name}: the array is empty")
        low, high = result.min(), result.max()
    # min and max of an array with a NaN are NaN: two passes find every fault
    if not np.isfinite(low) or not np.isfinite(high):
        found = low if not np.isfinite(low) else high
        raise ValueError(f"{name}: not a finite number ({found}); a value is missing or overflowed")
    for op, limit in bounds:
        worst = low if op[0] == ">" else high
        if not HOLDS[op](worst, limit):
            given = f"{worst:.9g} {words.unit(unit)}".rstrip()
            raise ValueError(f"{name}: {given} makes no sense here; it must be {op} {limit:g}")


def _joined(faults):
    """One error that says everything: whoever mends the call should need to read it once."""
    first, also = faults[0], "".join(f"; also: {fault}" for fault in faults[1:])
    if isinstance(first, pint.DimensionalityError):
        first.extra_msg += also
        return first
    return type(first)(f"{first}{also}")


_watching = []   # of those who want to know what is called


@contextlib.contextmanager
def watched():
    """Gathers the estimates that are called meanwhile, each once, in the order of first call: a dict of functions."""
    called = {}
    _watching.append(called)
    try:
        yield called
    finally:
        _watching[:] = [other for other in _watching if other is not called]


def units(result=None, **specs):
    """Decorator: named arguments enter as plain numbers in the units given, the result leaves with its own.

    result: unit of what the function returns, or None when it builds its own Quantities.
    specs: for each physical argument the unit and the values that make sense (see `magnitude`); an argument whose
    default is None may be left out. Arguments without a spec are passed as they are.
    """
    out = None if result is None else ureg.Unit(result)
    for spec in specs.values():
        _rule(spec)   # a unit that does not exist fails when the module is imported, not in somebody's notebook

    def decorate(function):
        signature = inspect.signature(function)
        kinds = {each.kind for each in signature.parameters.values()}
        assert kinds <= {inspect.Parameter.POSITIONAL_OR_KEYWORD, inspect.Parameter.KEYWORD_ONLY}, function.__name__
        unknown = set(specs) - set(signature.parameters)
        assert not unknown, f"{function.__name__} has no argument {unknown}"
        defaults = {name: each.default for name, each in signature.parameters.items() if each.default is not each.empty}
        may_lack = {name for name in specs if defaults.get(name, ...) is None}

        @functools.wraps(function)
        def call(*args, **kwargs):
            given = defaults | kwargs
            if args or given.keys() != signature.parameters.keys():   # looked at by name: costs as much as the formula
                try:
                    bound = signature.bind(*args, **kwargs)
                except TypeError as error:
                    raise TypeError(f"{function.__name__}: {error}; it takes "
                                    f"{', '.join(signature.parameters)}") from None
                bound.apply_defaults()
                given = bound.arguments
            for called in _watching:
                called.setdefault(call)
            faults = []
            for name, spec in specs.items():
                if given[name] is None and name in may_lack:
                    continue
                try:
                    given[name] = magnitude(given[name], spec, name)
                except (TypeError, ValueError) as error:   # DimensionalityError is a TypeError
                    faults.append(error)
            if faults:
                raise _joined(faults)
            value = function(**given)
            return value if out is None else Q(value, out)

        return call

    return decorate


def warn_outside(value, low, high, unit, sentence):
    """Warn (OutOfRange) when any of `value` lies outside [low, high].

    value: number or array of draws. low, high: plain numbers; a low of 0 and a high of infinity are no bound. unit: of
    all three. sentence: with a place for the value and one for the range, as in "the feed is {}; the table covers {}".
    """
    if _told.get() is UNHEARD:
        return
    value = np.asarray(value)
    outside = np.mean((value < low) | (value > high))
    if outside:
        draws = value.ravel()[::max(1, value.size // 2**12)]   # enough of them for two digits
        given = spread(draws) if value.size > 1 else _outside(value.item(), low, high)
        share = f" ({words.percent(outside)} of draws lie outside)" if value.size > 1 else ""
        told = sentence.format(words.with_unit(given, unit), words.with_unit(_range(low, high), unit)) + share
        tell(told, stacklevel=5)


def tell(sentence, stacklevel=3):
    """Warn (OutOfRange) in this sentence, or add it to what is gathered by `told`."""
    collected = _told.get()
    if collected is None:
        warnings.warn(sentence, OutOfRange, stacklevel=stacklevel)
    elif collected is not UNHEARD:
        collected.append(sentence)


_told = contextvars.ContextVar("told", default=None)
UNHEARD = ()   # in place of what is gathered: nobody listens, and no sentence is made


@contextlib.contextmanager
def told():
    """Gathers what `warn_outside` says meanwhile, in this thread alone, in place of warnings: a list of sentences.

    Python's own gathering of warnings is one for all threads, and loses some where several judge at once.
    """
    if _told.get() is UNHEARD:
        yield UNHEARD
        return
    collected = []
    token = _told.set(collected)
    try:
        yield collected
    finally:
        _told.reset(token)


@contextlib.contextmanager
def unheard():
    """What `warn_outside` would say meanwhile, in this thread alone, is not even put into words: of many plans in a
    search, of which the one that is chosen is judged again. It costs a tenth of a verdict."""
    token = _told.set(UNHEARD)
    try:
        yield
    finally:
        _told.reset(token)


def _outside(value, low, high):
    """A number with as few digits, from two on and whole to the point, as show that it lies outside."""
    fewest = max(2, len(f"{abs(value):.0f}"))
    shown = (digits for digits in range(fewest, 9) if not low <= float(f"{value:.{digits - 1}e}") <= high)
    return number(value, next(shown, 9))


def _range(low, high):
    if high == np.inf:
        return f"at least {words.exact(low)}"
    return f"at most {words.exact(high)}" if low == 0 else f"{words.exact(low)} to {words.exact(high)}"


def show(quantity, digits=None):
    """Text of a Quantity, a number or a text with its unit, as `words.quantity` says it.

    >>> import kit
    >>> kit.units.show("0.8126 N*m"), kit.units.show(kit.Q(range(1, 101), "mm"))
    ('0.813 N·m', '50 (5.0 to 95) mm')
    """
    return words.quantity(Q(quantity) if not isinstance(quantity, str) else read(quantity), digits)
