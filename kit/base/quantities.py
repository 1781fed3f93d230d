"""The registry's Quantity: pint's own, with a short way for what a verdict does most.

A verdict of few draws spent most of its time on pint's looking at units that it had looked at before. What units
become in a product, a quotient or a conversion is remembered here, for floats and arrays of them; everything else
(lists, whole numbers, an offset such as degC, decibels, a context, another registry) takes pint's own way. The numbers
are the same, to the last bit.
"""
import functools
import operator

import numpy as np
from pint.registry import Quantity as PintQuantity
from pint.registry import Unit, UnitRegistry
from pint.util import UnitsContainer

NUMBERS = float, int, np.float64   # that need no looking at


def _plain(magnitude):
    """Whether a magnitude is a float or an array of them."""
    kind = type(magnitude)
    return kind is float or kind is np.ndarray and magnitude.dtype.kind == "f" or kind is np.float64


def powers(container):
    """Units and their powers in their order, which print and digests keep: (("newton", 1), ("meter", 1))."""
    return tuple(container.unit_items())


def _container(registry, units):
    """The UnitsContainer of a Unit, of text or of such a container; None for anything else."""
    if type(units) is UnitsContainer:
        return units
    if isinstance(units, Unit):
        return units._units
    return registry.parse_units_as_container(units) if type(units) is str else None


class Quantity(PintQuantity):
    """A Quantity whose products, sums and conversions remember what they found out about their units."""

    def __new__(cls, value, units=None):
        if units is not None and _plain(value):
            container = _container(cls._REGISTRY, units)
            if container is not None:
                return cls._made(value, container)
        return super().__new__(cls, value, units)

    @classmethod
    def _made(cls, value, units):
        made = object.__new__(cls)
        made._magnitude, made._units = value, units
        return made

    def _joined(self, other, operation):
        """Product or quotient with `other`; None where pint is to see to it."""
        if _plain(self._magnitude):
            if type(other) is type(self):
                ends = powers(self._units), powers(other._units)
                units = _plain(other._magnitude) and _joint(self._REGISTRY, *ends, operation)
                if units is not False:
                    return self._made(operation(self._magnitude, other._magnitude), units)
            elif type(other) in NUMBERS or type(other) is np.ndarray and other.dtype.kind in "fi":
                if _multiplies(self._REGISTRY, powers(self._units)):
                    return self._made(operation(self._magnitude, other), self._units)
        return None

    def __mul__(self, other):
        made = self._joined(other, operator.mul)
        return super().__mul__(other) if made is None else made

    __rmul__ = __mul__

    def __truediv__(self, other):
        made = self._joined(other, operator.truediv)
        return super().__truediv__(other) if made is None else made

    def __array_ufunc__(self, ufunc, method, *inputs, **kwargs):
        if ufunc is np.multiply and method == "__call__" and not kwargs and inputs[1] is self:   # array * Quantity
            made = self._joined(inputs[0], operator.mul)
            if made is not None:
                return made
        return super().__array_ufunc__(ufunc, method, *inputs, **kwargs)

    def _add_sub(self, other, op):
        if type(other) is type(self) and _plain(self._magnitude) and _plain(other._magnitude):
            registry, own, others = self._REGISTRY, powers(self._units), powers(other._units)
            if own == others:
                if _multiplies(registry, own):
                    return self._made(op(self._magnitude, other._magnitude), self._units)
            elif not registry._active_ctx and not any(name.startswith("delta_") for name, _ in own):
                factor = _factor(registry, others, own)
                if factor is not None:
                    return self._made(op(self._magnitude, other._magnitude * factor), self._units)
        return super()._add_sub(other, op)

    def to(self, other=None, *contexts, **more):
        if not contexts and not more and _plain(self._magnitude) and not self._REGISTRY._active_ctx:
            units = other._units if isinstance(other, PintQuantity) else _container(self._REGISTRY, other)
            if units is not None:
                if units == self._units:
                    return self._made(self._magnitude, units)
                factor = _factor(self._REGISTRY, powers(self._units), powers(units))
                if factor is not None:
                    return self._made(self._magnitude * factor, units)
        return super().to(other, *contexts, **more)


class Registry(UnitRegistry):
    """pint's registry of units, whose Quantity is the one above."""
    Quantity = Quantity


@functools.lru_cache(8192)
def _multiplies(registry, units):
    """Whether the units have no offset and are no logarithm."""
    return registry.Quantity(1.0, registry.UnitsContainer(dict(units)))._is_multiplicative


@functools.lru_cache(8192)
def _joint(registry, units, others, operation):
    """Units of a product or a quotient; False where pint is to see to it."""
    if not (_multiplies(registry, units) and _multiplies(registry, others)):
        return False
    return operation(*(registry.UnitsContainer(dict(each)) for each in (units, others)))


@functools.lru_cache(8192)
def _factor(registry, given, wanted):
    """What a number in `given` is multiplied by to be in `wanted`; None where there is no such number."""
    if not (_multiplies(registry, given) and _multiplies(registry, wanted)):
        return None
    ends = [registry.UnitsContainer(dict(each)) for each in (given, wanted)]
    if registry.get_dimensionality(ends[0]) != registry.get_dimensionality(ends[1]):
        return None
    return float(registry.convert(1.0, *ends))
