"""A model that someone else wrote: what it is given, what it must return, and the faults of what it returned.

A model is a function that takes a dict of Quantities, one for each assumption, and returns a Quantity or a dict of
them. It is called with arrays (a number for each draw) and must treat an array as it treats a number; a fixed
assumption comes as a single number. One that returns a bare number is refused with a TypeError, a wrong shape or a
number that is not finite with a ValueError. Where the result spans powers of ten, let it return the logarithm.
"""
from collections.abc import Mapping

import numpy as np

from kit.base.units import Q, number

RESULT = "result"             # name of the output of a model that returns one Quantity


def quantities(assumptions, columns):
    """What the model is given: a column for each assumption that varies, a single number for a fixed one."""
    return {a.key: Q(a.value if a.shape == "fixed" else columns[a.key], a.unit) for a in assumptions}


def outputs_of(model, values, n):
    """{name: Quantity of shape (n,)} that the model makes of n values of its inputs, checked."""
    returned = model(values)
    outputs = returned if isinstance(returned, Mapping) else {RESULT: returned}
    if not outputs:
        raise ValueError("the model returned an empty dict; return a Quantity, or a dict of them")
    checked = {}
    for name, output in outputs.items():
        if not isinstance(output, Q):
            raise TypeError(f"the model's {name} is a bare {type(output).__name__}; give it its unit, as in "
                            "Q(x, 'mm'), or Q(x, '') where it is a pure number")
        numbers = np.asarray(output.magnitude, float)
        if numbers.shape not in ((), (n,)):
            raise ValueError(f"the model's {name} has shape {numbers.shape}; given arrays of {n} values it must return "
                             f"a number for each, shape ({n},)")
        bad = np.mean(~np.isfinite(numbers))
        if bad:
            raise ValueError(f"the model's {name} is not a finite number at {number(100 * bad, 2)} % of the points; "
                             "narrow the assumptions, or let the model return something bounded")
        checked[name] = Q(np.broadcast_to(numbers, (n,)), output.units)
    return checked


def varying(assumptions):
    """The assumptions that vary. Raises ValueError for repeated keys, and where none varies."""
    keys = [a.key for a in assumptions]
    for key in keys:
        if keys.count(key) > 1:
            raise ValueError(f"{key!r} is there twice; keep one of the two")
    free = [a for a in assumptions if a.shape != "fixed"]
    if not free:
        raise ValueError("every assumption is fixed: there is nothing to vary")
    return free


def one_at_a_time(free, middle, lower, upper):
    """Columns: all at the middle, then each in turn at its lower and its upper value, the others at the middle."""
    columns, i = np.tile(np.asarray(middle, float)[:, None], 2 * len(free) + 1), np.arange(len(free))
    columns[i, 2 * i + 1], columns[i, 2 * i + 2] = lower, upper
    return {a.key: column for a, column in zip(free, columns)}


def joined(tables):
    """One DataFrame of one for each output: that of a single result as it is, several under (output, key)."""
    import pandas as pd
    return tables[RESULT] if set(tables) == {RESULT} else pd.concat(tables, names=["output", "key"])
