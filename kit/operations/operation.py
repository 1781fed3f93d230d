"""What every operation is: steps that one tool does, the state of the tube before them, demands and capacities."""
from dataclasses import dataclass

import numpy as np

from kit.base.units import Q


@dataclass(frozen=True)
class Outcome:
    """Demand and capacity of a criterion: Quantities of shape (places, n) or (n,). places: what the rows are. by_hand:
    in which draws the bow was too weak and the wrench was taken."""
    demand: Q
    capacity: Q
    unit: str
    places: tuple = ()
    by_hand: np.ndarray | bool = False


def stack(quantities, unit=None):
    """Arrays of shape (places, n), (n,) or single numbers, one row each; None where there are none."""
    if not quantities:
        return None
    unit = unit or quantities[0].units
    plain = [np.atleast_1d(q.m_as(unit)) for q in quantities]
    if len(plain) == 1:
        return Q(np.atleast_2d(plain[0]), unit)
    n = max(p.shape[-1] for p in plain)
    rows = [np.broadcast_to(p, (p.shape[0] if p.ndim == 2 else 1, n)) for p in plain]
    return Q(np.concatenate(rows), unit)


def pooled(outcomes):
    """Outcomes of one criterion by several operations as one, their places in order; None where there are none."""
    if not outcomes:
        return None
    first, by_hand = outcomes[0], False
    for each in outcomes:
        by_hand = by_hand | each.by_hand
    places = tuple(place for each in outcomes for place in each.places)
    capacity = first.capacity
    if any(each.capacity is not capacity for each in outcomes):
        capacity = stack([_as_many(each.capacity, len(each.places)) for each in outcomes], first.unit)
    return Outcome(stack([each.demand for each in outcomes], first.unit), capacity, first.unit, places, by_hand)


def _as_many(quantity, rows):
    """The quantity in as many rows as there are places."""
    plain = np.atleast_2d(quantity.m)
    return Q(np.broadcast_to(plain, (rows, plain.shape[1])), quantity.units)


def asks(criterion):
    """Marks a method that gives an operation's Outcome for a criterion; the first paragraph of its docstring is what
    the criterion asks, in words."""
    def mark(method):
        method.criterion = criterion
        return method
    return mark


class Operation:
    """One operation of a route: consecutive steps that one tool does.

    steps: of the route. tube: what is being made. found: the State that it finds. means: what the maker works with.
    later: the steps that come after it.
    A kind of operation says which keys its steps take in study.toml (`keys`: unit and bounds, words or a type) and
    which of them they must have (`needs`), how an entry of a route becomes steps (`expand`), and what it needs of the
    workshop: methods marked with `asks`, gathered in `outcomes` as {criterion: method}.
    """
    keys = {}
    needs = frozenset()
    has_tool = False   # of the study's table [tools]; else it is known by the workshop's edge or its own grain
    outcomes = {}

    def __init_subclass__(cls):
        super().__init_subclass__()
        cls.outcomes = {method.criterion: name for base in reversed(cls.__mro__) for name, method in vars(base).items()
                        if hasattr(method, "criterion")}

    def __init__(self, steps, tube, found, means, later=()):
        self.steps, self.tube, self.found, self.means, self.later = tuple(steps), tube, found, means, tuple(later)
        self.known = {}

    @property
    def name(self):
        return self.steps[0].operation

    @property
    def places(self):
        return tuple(step.name for step in self.steps)

    @property
    def leaves(self):
        """The State after it."""
        return self.found

    @property
    def settled(self):
        """What is chosen at the bench, as it turned out: {name: Quantity, one row for each step}."""
        return {}

    @property
    def hours(self):
        """Time at the bench of each step, rests counted and setting up not: list of Quantities."""
        raise NotImplementedError

    def outcome(self, criterion):
        """The Outcome for one of `outcomes`."""
        return getattr(self, self.outcomes[criterion])()


class Bowed(Operation):
    """An operation whose steps the bow turns; it has a `torque`."""

    def bowed_torque(self):
        """What the bow has to turn, a row a step."""
        return self.torque

    @asks("cord")
    def cord_asked(self):
        """Pull that each bowed step needs, against the pull at which the cord slips on its pulley."""
        return Outcome(self.means.pull_for(self.bowed_torque()), self.means.cord_limit, "N", self.places)
