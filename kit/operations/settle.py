"""What is settled at the bench: a feed or a pressure, within the plan's bounds, by what the hand feels.

A maker who stalls feeds less; one who could do more, does more. All limits of a step settle it together, and all that
the step asks for sees the one value: the quickest that keeps the reserve. Four ways are told apart (WAYS): as planned;
the best single setting for all draws; by feel; and with hindsight, each draw's quickest that meets every limit, which
nobody can do and which bounds the others.
"""
from dataclasses import dataclass
from functools import cached_property, reduce

import numpy as np

FEEL, PLANNED, BEST, HINDSIGHT = WAYS = ("feel", "planned", "best", "hindsight")
SETTINGS = 5   # between the bounds, at which the limits are worked out; between them the felt margin is interpolated


@dataclass(frozen=True)
class Limit:
    """A limit of a step at some settings: demand and capacity as plain numbers, (settings, rows, n) or what broadcasts.

    felt: whether the hand feels it near (a stall, a slip, tired arms) and may try again. What breaks without warning
    is not felt: the maker knows what tools like his usually stand, keeps the reserve to that, and gets one try.
    """
    criterion: str
    unit: str
    demand: np.ndarray
    capacity: np.ndarray
    felt: bool = True

    @cached_property
    def margin(self):
        if np.min(self.demand) > 0:
            return self.capacity / self.demand
        return np.where(self.demand > 0, self.capacity / np.maximum(self.demand, 1e-300), np.inf)

    def as_felt(self, asked, error, reserve):
        """How the margin stands to what the maker asks for: 1 or more contents him.

        Felt: `asked` (see `by_feel`). Not felt: his error in the demand, and the usual capacity in place of this one.
        """
        if self.felt:
            return self.margin / asked
        usual = np.median(self.capacity, axis=-1, keepdims=True)
        return usual * (error / reserve) / np.maximum(self.demand, 1e-300)


@dataclass(frozen=True)
class Settled:
    """A setting of each row and draw, and the limits there. value: (rows, n). limits: {criterion: (demand, capacity,
    unit)}, each (rows, n): at the setting where a limit fails, else where the least margin is greatest. by_hand: where
    the wrench was taken, (rows, n)."""
    value: np.ndarray
    limits: dict
    by_hand: np.ndarray | None = None

    def instead(self, other, by_hand):
        """These, and where `by_hand` (rows, n) the other ones."""
        return Settled(np.where(by_hand, other.value, self.value), {
            name: (np.where(by_hand, other.limits[name][0], demand), np.where(by_hand, other.limits[name][1], capacity),
                   unit) for name, (demand, capacity, unit) in self.limits.items()}, by_hand)

    @property
    def met(self):
        """In which rows and draws every limit is met."""
        return reduce(np.logical_and, [capacity >= demand for demand, capacity, _ in self.limits.values()])


def _least(limits):
    """The least margin over all limits."""
    return reduce(np.minimum, [limit.margin for limit in limits])


def _of(array, index):
    """Of an array (settings, rows, n), or what broadcasts to it, the setting that `index` (rows, n) names."""
    array = np.asarray(array)
    if array.ndim < 3 or len(array) == 1:   # the same at every setting
        return np.broadcast_to(array if array.ndim < 3 else array[0], index.shape)
    whole = np.broadcast_to(array, (len(array),) + index.shape)   # taken flat: take_along_axis is five times as long
    return whole.reshape(-1).take(index * index.size + np.arange(index.size).reshape(index.shape))


def quickest(grid, contents):
    """The largest setting at which all `contents`, arrays (settings, rows, n), are 1 or more, each interpolated to the
    next one on the grid; where there is none, that of the greatest least."""
    settings, least = len(grid), reduce(np.minimum, contents)
    enough = least >= 1
    last = settings - 1 - np.argmax(enough[::-1], axis=0)
    after, share = np.minimum(last + 1, settings - 1), 1.0
    for each in contents:   # those that fail at the next one say how far it may go
        here, beyond = (np.log(np.clip(_of(each, at), 1e-12, 1e12)) for at in (last, after))
        share = np.minimum(share, np.where(beyond < 0, here / np.maximum(here - beyond, 1e-12), 1.0))
    between = _of(grid, last) * (_of(grid, after) / _of(grid, last))**np.clip(share, 0, 1)
    return np.where(enough.any(axis=0), between, _of(grid, np.argmax(least, axis=0)))


def by_feel(grid, limits, error, reserve):
    """The quickest setting that keeps the reserve, as far as it is felt.

    Where a limit is felt, the maker first goes as far as feels like the reserve, an error of his hand in it; where that
    turned out too far, he has felt it, and keeps the reserve at the second try.
    """
    shape = grid.shape[:1] + np.broadcast_shapes(grid.shape[1:], np.shape(error))
    asked = np.where(error > reserve, reserve, reserve / error)
    return quickest(grid, [np.broadcast_to(limit.as_felt(asked, error, reserve), shape) for limit in limits])


def best_single(low, wish, limits):
    """One setting for all draws: of some shares of the wish the one that meets every limit most often, the quickest of
    equals. No draw goes below its own least setting."""
    shares = np.geomspace(0.05, 1, SETTINGS)[:, None, None]
    grid = np.maximum(shares * wish, low)
    chance = (_least(limits(grid)) >= 1).mean(axis=-1)
    index = SETTINGS - 1 - np.argmax(chance[::-1], axis=0)
    return np.take_along_axis(grid, np.broadcast_to(index[None, :, None], (1,) + grid.shape[1:]), axis=0)[0]


def with_hindsight(candidates, least):
    """Of some settings the largest that meets every limit; where none does, that of the greatest least margin."""
    order = np.argsort(candidates, axis=0)
    met = np.take_along_axis(least >= 1, order, axis=0)
    last = len(candidates) - 1 - np.argmax(met[::-1], axis=0)
    return _of(candidates, np.where(met.any(axis=0), _of(order, last), np.argmax(least, axis=0)))


def settle(low, high, wish, limits, way, error, reserve):
    """A setting within its bounds, by one of the WAYS: a Settled.

    low, high, wish: plain numbers, (rows, n) or what broadcasts. limits: function of settings (k, rows, n) that gives a
    list of Limits. error: of the hand, (n,). reserve: that the maker keeps, 1 or more.
    The value settled stays within low and high; a wish outside them is drawn to the nearer one. The margins told are
    those at the setting whose least margin is greatest, for the settled one is at its limit by intent; where the
    settled one fails, they are its own.
    """
    low, high, wish = np.broadcast_arrays(*(np.atleast_2d(x) for x in (low, np.maximum(high, low), wish)))
    wish = np.clip(wish, low, high)
    if way == PLANNED:
        return _at(wish, limits)
    if way == BEST:
        return _at(np.clip(best_single(low, wish, limits), low, high), limits)
    grid = low * (high / low)**np.linspace(0, 1, SETTINGS)[:, None, None]
    on_grid = limits(grid)
    value = by_feel(grid, on_grid, error, reserve)
    if way == HINDSIGHT:
        more = np.array([value, wish, np.clip(best_single(low, wish, limits), low, high)])
        value = with_hindsight(np.concatenate([grid, more]), np.concatenate([_least(on_grid), _least(limits(more))]))
    settled, least = limits(value[None]), _least(on_grid)
    best = np.argmax(least, axis=0)
    better = (_least(settled)[0] >= 1) & (_of(least, best) >= 1)
    there, here = _told(on_grid, best), _told(settled, np.zeros(value.shape, int))
    return Settled(value, {name: (np.where(better, there[name][0], demand), np.where(better, there[name][1], capacity),
                                  unit) for name, (demand, capacity, unit) in here.items()})


def _at(value, limits):
    """Settled at a value (rows, n), whatever its limits say."""
    return Settled(value, _told(limits(value[None]), np.zeros(value.shape, int)))


def _told(limits, index):
    """{criterion: (demand, capacity, unit)} at the settings named by the index."""
    return {limit.criterion: (_of(limit.demand, index), _of(limit.capacity, index), limit.unit) for limit in limits}
