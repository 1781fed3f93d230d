"""What every public estimate must do with each of its arguments: one walk a function, and all faults told at once.

The decorator that does it is tested by itself in test_units.py. Here it is asked whether each function has told it of
each argument: the unit, the values that make sense, the name in the message; and whether arrays go through the formula
as single numbers do.
"""
import inspect
import re
from dataclasses import dataclass, fields, is_dataclass

import numpy as np
import pint

from kit.units import Q, read


def numbers(result):
    """Magnitudes of a result, whether one Quantity, several in a dataclass, or words."""
    if is_dataclass(result):
        return [getattr(result, f.name).magnitude for f in fields(result)]
    return [getattr(result, "magnitude", result)]


def quantity(given):
    return read(given) if isinstance(given, str) else given


@dataclass
class CommonChecks:
    """module: whose functions are meant. calls: one honest call of each, every physical argument given.

    words: arguments that are no quantities. other_unit: {unit of the calls: another one}. wrong: a quantity of a dimension
    that no argument has. offset: arguments with a zero of their own (a temperature). signed: arguments that may be below
    zero, or (function, argument). one_by_one: (function, argument) -> whether arrays may be tried. several: factors of
    the array.
    """
    module: object
    calls: dict
    other_unit: dict
    words: tuple = ()
    wrong: str = "3 kg"
    offset: tuple = ()
    signed: tuple = ()
    one_by_one: object = lambda name, argument: True
    several: tuple = (0.9, 1.0, 1.1)

    def function(self, name):
        return getattr(self.module, name)

    def call(self, name, **changed):
        return numbers(self.function(name)(**(self.calls[name] | changed)))

    def arguments(self, name):
        return [argument for argument in self.calls[name] if argument not in self.words]

    def tries(self, name):
        """(argument, what is tried, what is wrong or None) of everything that is tried on one function."""
        for argument in self.arguments(name):
            given = self.calls[name][argument]
            missing = Q(np.nan, read(given).units) if isinstance(given, str) else np.nan
            refusals = [("a wrong dimension", self.wrong, pint.DimensionalityError, f"'{argument}'"),
                        ("a missing value", missing, ValueError, f"{argument}: not a finite number")]
            if not {argument, (name, argument)} & set(self.signed):
                refusals.append(("a negative value", -quantity(given), ValueError, f"{argument}: .*makes no sense"))
            if isinstance(given, str) and argument not in self.offset:
                refusals.append(("no unit", read(given).magnitude, TypeError, f"{argument}: .*has no unit"))
                yield argument, "another unit", self._other_unit(name, argument)
            for what, value, error, said in refusals:
                yield argument, what, self._refused(name, argument, value, error, said)
            if self.one_by_one(name, argument):
                yield argument, "an array", self._array(name, argument)

    def faults(self, name):
        return [f"{name}, {argument}, {what}: {wrong}" for argument, what, wrong in self.tries(name) if wrong]

    def _refused(self, name, argument, value, error, said):
        try:
            found = self.call(name, **{argument: value})
        except error as caught:
            return None if re.search(said, str(caught)) else f"refused with {str(caught)!r}, which has no {said!r}"
        except Exception as caught:   # told with the other faults
            return f"{type(caught).__name__} {str(caught)!r} where a {error.__name__} is due"
        return f"taken; it gives {found}"

    def _other_unit(self, name, argument):
        given = self.calls[name][argument]
        other = read(given).to(self.other_unit[given.split(" ", 1)[1]])
        return _apart(self.call(name, **{argument: other}), self.call(name), rtol=1e-9)

    def _array(self, name, argument):
        several = np.array(self.several) * quantity(self.calls[name][argument])
        single = [self.call(name, **{argument: one}) for one in several]
        together = [np.broadcast_to(values, len(several)) for values in self.call(name, **{argument: several})]
        return _apart(together, [list(values) for values in zip(*single, strict=True)], rtol=1e-12)

    def untold(self):
        """Public functions that are not under the checks, and arguments that no call names."""
        own = {name for name, f in vars(self.module).items() if inspect.isfunction(f) and not name.startswith("_")
               and f.__module__ == self.module.__name__}
        for name in sorted(own ^ set(self.calls)):
            yield name
        for name in sorted(own & set(self.calls)):
            named = set(inspect.signature(self.function(name)).parameters)
            for argument in sorted(named - set(self.calls[name]) - set(self.words)):
                yield f"{name}, {argument}"


def _apart(found, expected, rtol):
    """What differs, or None."""
    try:
        assert len(found) == len(expected), f"{len(found)} results, not {len(expected)}"
        for one, other in zip(found, expected):
            np.testing.assert_allclose(one, other, rtol=rtol)
    except AssertionError as differs:
        return " ".join(str(differs).split())
