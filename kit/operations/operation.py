"""What every operation is: steps that one tool does, the state of the tube before them, demands and capacities."""
from dataclasses import dataclass

import numpy as np

from kit.base.units import Q
from kit.operations import settle
from kit.operations.hold import SQUEEZING, held_torque, kind, out_of_round
from kit.operations.means import shared


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
    return Outcome(stack([_as_many(each.demand, len(each.places)) for each in outcomes], first.unit), capacity,
                   first.unit, places, by_hand)


def _as_many(quantity, rows):
    """The quantity in as many rows as there are places."""
    plain = np.atleast_2d(quantity.m)
    return Q(np.broadcast_to(plain, (rows, plain.shape[1])), quantity.units)


def asks(criterion, unit, felt=True, moves=True):
    """Marks a method that gives (demand, capacity) of an operation for a criterion; the first paragraph of its
    docstring is what the criterion asks, in words.

    Where the operation settles something at the bench (`bounds`), the method takes the settings, of shape (settings,
    rows, n), and all such methods settle it together; elsewhere None. felt: see settle.Limit. moves: whether the
    setting moves it; what it does not move is asked only of what was settled.
    """
    def mark(method):
        method.criterion, method.unit, method.felt, method.moves = criterion, unit, felt, moves
        return method
    return mark


def once(method):
    """Marks a method of an operation and a setting whose result several limits use: it is worked out once a setting."""
    def get(self, setting):
        key = method.__name__
        if self.last.get(key, (None,))[0] is not setting:
            self.last[key] = setting, method(self, setting)
        return self.last[key][1]

    get.__doc__ = method.__doc__
    return get


FORMING, RUBBING = "Casting, forming and fire", "Lapping and polishing"   # kinds of work on a bench sheet


class Operation:
    """One operation of a route: consecutive steps that one tool does.

    steps: of the route. tube: what is being made. found: the State that it finds. means: what the maker works with.
    earlier, later: the steps before and after it. elsewhere: the Operations done before it, in this tube and in those
    made before: their tools may be its own.
    A kind of operation says which keys its steps take in study.toml (`keys`: unit and bounds, words or a type), which
    of them they must have (`needs`), what may hold the work (`holds`, the first where the step does not say), how an
    entry of a route becomes steps (`expand`), and what it needs of the workshop: methods marked with `asks`, gathered
    in `outcomes` as {criterion: method}.
    """
    keys = {}
    needs = frozenset()
    holds = ()
    holds_shaft = ()   # what may hold a solid shaft, or its lap; none where it is no work on one
    has_tool = False   # of the study's table [tools]; else it is known by the workshop's edge or its own grain
    settles = ("", "")   # what is settled at the bench, and its unit
    read = ("minutes",)  # columns of the bench log that are read in its steps, in the order of the work
    work = "Other work"  # what its table on a bench sheet is called
    by_edge = False    # whether a bench log knows it without a tool: by the workshop's own edge
    caution = ""       # what to mind, where it can hurt somebody more than any bench work
    makes = False      # whether it makes the tube from something else, and so can only stand first
    looks_ahead = False   # whether what it does hangs on the steps after it
    trues = False      # whether it cuts the outside true to the bore, or by itself where the outside comes first
    outcomes = {}

    def __init_subclass__(cls):
        super().__init_subclass__()
        cls.outcomes = {method.criterion: name for base in reversed(cls.__mro__) for name, method in vars(base).items()
                        if hasattr(method, "criterion")}

    @classmethod
    def takes(cls, entry, alloy):
        """What a step rests on besides what every study does: (table, thing in it, prefix of the keys, key of
        study.toml that names it)."""
        return ()

    @classmethod
    def misplaced(cls, entry, before):
        """Why an entry of a route cannot follow those before it, and how to mend it; None where it can."""
        if "held_by" in entry and not cls.holds:
            return f"nothing holds the tube there, and {entry['held_by']!r} would burn or melt; take 'held_by' out"
        if cls.makes and before:
            return f"makes the tube, so nothing can be done to it before; put the step first, before the " \
                   f"{before[0].get('operation')!r}"

    def __init__(self, steps, tube, found, means, earlier=(), later=(), elsewhere=()):
        self.steps, self.tube, self.found, self.means = tuple(steps), tube, found, means
        self.earlier, self.later, self.elsewhere = tuple(earlier), tuple(later), tuple(elsewhere)
        self.known, self.last = {}, {}

    @classmethod
    def wearing(cls, steps, elsewhere):
        """Of the operations done before those that have worn the tool of these steps already."""
        return []

    @property
    def step(self):
        """Its first step, and of many operations the only one."""
        return self.steps[0]

    @property
    def name(self):
        return self.step.operation

    @property
    def worked(self):
        """Length over which its steps work: the whole tube's, where they do not say."""
        return self.tube.length if self.step.over is None else self.step.over

    @property
    def places(self):
        return tuple(step.name for step in self.steps)

    @property
    def leaves(self):
        """The State after it."""
        return self.found

    # --- what is settled at the bench
    @property
    def bounds(self):
        """(least, most, wish) of what is settled, Quantities of shape (rows, n) or what broadcasts; None where nothing
        is."""
        return None

    def limits(self, setting):
        """All limits that the settings move, at some settings, plain numbers in the unit of `settles`."""
        setting = Q(setting, self.settles[1])
        found = []
        for criterion, name in self.outcomes.items():
            method = getattr(self, name)
            if not method.moves:
                continue
            demand, capacity = method(setting)
            found.append(settle.Limit(criterion, method.unit, demand.m_as(method.unit), capacity.m_as(method.unit),
                                      method.felt))
        self.last.clear()   # it would keep the settings' arrays
        return found

    @shared
    def settling(self):
        """What was settled: a settle.Settled."""
        return self._settle(self.means.way)

    def _settle(self, way):
        low, high, wish = (np.atleast_1d(each.m_as(self.settles[1])) for each in self.bounds)
        shape, error = (len(self.steps), self.means.n), self.means["felt.error"].m_as("")
        return settle.settle(*(np.broadcast_to(each, shape) for each in (low, high, wish)), self.limits, way,
                             np.broadcast_to(error, shape[1:]), self.means.workshop.reserve)

    @property
    def setting(self):
        """What was settled, a row a step."""
        return Q(self.settling.value, self.settles[1])

    @property
    def settled(self):
        """What is chosen at the bench, as it turned out: {name: Quantity, one row for each step}."""
        return {self.settles[0]: self.setting} if self.bounds else {}

    def outcome(self, criterion):
        """The Outcome for one of `outcomes`."""
        method = getattr(self, self.outcomes[criterion])
        if not self.bounds or not method.moves:
            demand, capacity = method(None)
        else:
            demand, capacity, _ = self.settling.limits[criterion]
            demand, capacity = Q(demand, method.unit), Q(capacity, method.unit)
        return Outcome(demand, capacity, method.unit, self.places)

    # --- time
    @property
    def hours(self):
        """Time at the bench of each step, rests counted and setting up not: list of Quantities."""
        raise NotImplementedError

    @property
    def working(self):
        """Time bowing or working in each step, as a bench log counts it: rests, setting, measuring and the stone left
        out. List of Quantities."""
        return self.hours

    @property
    def bowed(self):
        """In which draws each step is bowed, and so has strokes to be counted: list of what broadcasts to (n,)."""
        return [False for _ in self.steps]

    @property
    def metal(self):
        """Metal put in, of an operation that makes the tube: a volume."""
        raise NotImplementedError

    @property
    def fuel(self):
        """Charcoal that each step burns: list of Quantities."""
        return [Q(0.0, "kg") for _ in self.steps]

    @property
    def torque(self):
        """Torque of each step, at what was settled."""
        raise NotImplementedError

    # --- what holds the work
    @property
    def held_by(self):
        """What holds the work in each step: a name in data/reference/holds.csv; "" where nothing need."""
        holds = self.holds_shaft if self.tube.solid else self.holds
        return self.step.held_by or (holds[0] if holds else "")

    @property
    def held_diameter(self):
        """Where the work is held."""
        raise NotImplementedError

    @shared
    def hold_torque(self):
        """Torque that the hold gives before the work slips in it, a row a step."""
        return held_torque(self.means, self.held_by, self.held_diameter, self.tube, self.found.strength)


class Bowed(Operation):
    """An operation whose steps the bow turns, or another drive that its step names."""
    in_bore = False   # whether it makes the bore, and so makes it in the shape that the hold squeezes it into
    turned = {"lathe": str, "pulley": "mm > 0", "over": "mm > 0"}   # keys of every such step

    def __init_subclass__(cls):
        super().__init_subclass__()
        cls.keys = cls.keys | Bowed.turned

    @classmethod
    def takes(cls, entry, alloy):
        if "lathe" in entry:
            yield "drives", entry["lathe"], f"drive.{entry['lathe']}", "lathe"
        if entry.get("lubricant") == "dry":
            yield "friction", "steel on bronze, dry", "guide.dry", "lubricant"

    def torque_at(self, setting):
        """Torque of each step at some settings."""
        raise NotImplementedError

    @shared
    def torque(self):
        return self.torque_at(self.setting if self.bounds else None)

    @property
    def bowed(self):
        return [step.drive != "hand" for step in self.steps]

    @property
    def squeezed(self):
        """Whether its hold presses the bore out of round while it makes it."""
        return self.in_bore and kind(self.held_by) in SQUEEZING

    @property
    def bored(self):
        """The bore that it makes."""
        return self.leaves.hole

    def squeeze_at(self, setting):
        """Out-of-round that the hold leaves in the bore, against half the radial clearance."""
        shape = Q(np.zeros((1, 1)), "um")
        if self.squeezed:
            shape = out_of_round(self.means, self.held_by, self.torque_at(setting), self.held_diameter,
                                 self.bored, self.tube.length)
        return shape, stack([self.tube.clearance / 4], "um")

    @asks("cord", "N")
    def cord_asked(self, setting):
        """Pull that each bowed step needs, the jerk of the drive counted, against the pull at which the cord slips on
        its pulley."""
        return self.means.pull_for(self.means["drive.peak"] * self.torque_at(setting)), self.means.cord_limit

    @asks("holding", "N*m")
    def holding_asked(self, setting):
        """Torque of each step, the jerk of the drive counted, against the torque at which the work slips in what holds
        it."""
        return self.means["drive.peak"] * self.torque_at(setting), self.hold_torque
