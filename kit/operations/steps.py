"""Steps: a route as the study writes it, resolved to diameters and passes for one tube."""
import re
from dataclasses import dataclass

import numpy as np

from kit.base import words
from kit.base.units import Q, magnitude
from kit.operations.tools import Tool

DRIVES = ("bow", "hand", "bow or hand")


@dataclass(frozen=True)
class Step:
    """One step of a route, as expanded for one tube. Lengths are diameters; `before` is what the step finds."""
    operation: str
    name: str
    before: Q
    diameter: Q
    feed: Q | None = None        # a turn
    drive: str = "bow"
    tool: Tool | None = None
    depth: Q | None = None       # turning: radial depth of cut
    abrasive: str | None = None
    pressure: Q | None = None
    hours: Q | None = None
    stock_on_diameter: Q | None = None   # lapping; None takes what is left to take
    feed_least: Q | None = None  # bounds of what is settled at the bench
    feed_most: Q | None = None
    pressure_least: Q | None = None
    pressure_most: Q | None = None
    over: Q | None = None        # length that it works, from the end; None for the whole
    aside: bool = False          # works a length that what runs in the bore does not meet: the rest stays as it was
    lathe: str | None = None     # its drive, a name in data/reference/drives.csv; None is the workshop's
    pulley: Q | None = None
    lubricant: str | None = None
    held_by: str | None = None   # what holds the work; None is the operation's own
    ends: str = "one"            # from which the hole is made
    lap: str | None = None
    spring_cuts: int | None = None
    outside_before: Q | None = None   # of an operation that changes bore and outside together, and its `outside` after
    outside: Q | None = None
    mould: str | None = None     # casting
    core: str | None = None      # how the core is held in the mould
    lies: bool = False           # whether it is poured lying
    at_once: int = 1             # how many pieces share a fire or a melt
    sheet: Q | None = None       # wrapping: thickness; in study.toml also 'wall + 0.6 mm'
    seam: str | None = None
    overlap: Q | None = None
    solder: str | None = None
    temperature: Q | None = None   # annealing
    minutes: Q | None = None
    cover: str | None = None
    half_angle: Q | None = None  # drawing
    men: int = 1
    windlass: bool = False


def lengthened(steps):
    """How many times as long all those steps make a tube: the metal stays, its section becomes less."""
    worked = [step for step in steps if step.outside_before is not None]
    return float(np.prod([(section_of(step.before, step.outside_before)
                           / section_of(step.diameter, step.outside)).m_as("") for step in worked]))


def section_of(bore, outside):
    """Of the metal of a tube."""
    return (np.pi / 4 * (outside**2 - bore**2)).to("mm^2")


TINY = Q(1e-6, "mm")   # the same diameter reached in two ways differs by rounding
DIAMETER = re.compile(r"\s*(bore|outside)\s*(?:([+-])\s*(.+))?$")


def diameter_of(text, bore, outside):
    """Diameter from text: a length ('4.5 mm'), or 'bore' or 'outside' with a length added or taken off ('bore - 0.1
    mm')."""
    match = DIAMETER.match(text)
    if not match:
        return Q(magnitude(text, "mm > 0", "diameter"), "mm")
    base = {"bore": bore, "outside": outside}[match[1]]
    if match[2]:
        change = Q(magnitude(match[3], "mm >= 0", "diameter"), "mm")
        base = base + change if match[2] == "+" else base - change
    return base


def thickness_of(text, sizes):
    """Thickness from text: a length ('1.2 mm'), or 'wall' with a length added or taken off ('wall + 0.6 mm')."""
    before, found, rest = text.strip().partition("wall")
    if before or not found:
        return Q(magnitude(text, "mm > 0", "sheet"), "mm")
    return diameter_of(f"bore{rest}", (sizes.outside - sizes.bore) / 2, None)


@dataclass
class Sizes:
    """Diameters while a route is resolved: of the finished tube, and of hole and outside as the next step finds
    them."""
    bore: Q
    outside: Q
    hole: Q
    round: Q
    lengths: tuple = ()     # of another bore or outside, see part.Length
    deep: Q | None = None   # the hole beyond what a step opened over a part of the length; None for the hole itself
    bored: bool = False     # whether a step works in the hole
    trued: bool = False     # whether a step works on the outside


# from the entry to its steps as they are
MOST_PASSES = 200   # of one step, beyond which a unit is wrong
PASSED_ON = ("feed", "drive", "tool", "depth", "abrasive", "pressure", "hours", "feed_least", "feed_most",
             "pressure_least", "pressure_most", "held_by", "ends", "lap", "spring_cuts",
             "mould", "core", "lies", "at_once", "sheet", "seam", "overlap", "solder", "temperature", "minutes",
             "cover", "half_angle", "men", "windlass", "lathe", "pulley", "lubricant", "over")


def passed_on(entry):
    return {key: entry[key] for key in PASSED_ON if key in entry}


def opened(entry, place, sizes):
    """Steps that open the hole to what the entry says; with `stock` (on diameter) in the fewest equal passes of no
    more.

    A step that finds the hole at its own size already is left out.
    Raises ValueError for a hole that would get smaller or pass the bore.
    """
    target = diameter_of(entry["to"], sizes.bore, sizes.outside)
    deep = sizes.hole if sizes.deep is None else sizes.deep
    found = deep if target < sizes.hole else sizes.hole
    if "over" in entry and of_a_length(sizes, "bore", target) and (
            found - TINY <= target < sizes.hole - TINY or target > sizes.bore + TINY):
        return _passes(entry, place, found, target, aside=True)   # narrower beyond the wide bore, or wider at its end
    if target > sizes.bore + TINY:
        raise ValueError(f"{place}: {entry['to']!r} is {words.planned(target)}, larger than the finished bore "
                         f"{words.planned(sizes.bore)}; write 'bore', or less")
    if target < sizes.hole - TINY:
        raise ValueError(f"{place}: {entry['to']!r} is {words.planned(target)}, but the hole is "
                         f"{words.planned(sizes.hole)} already; "
                         "put the steps in order of size, or leave this one out")
    made = _passes(entry, place, sizes.hole, target)
    sizes.deep = deep if "over" in entry else None
    sizes.hole, sizes.bored = target, True
    return made


def of_a_length(sizes, what, size):
    """Whether one of the tube's lengths has that bore or outside. what: which of the two."""
    return any(own is not None and abs(own - size) < TINY for own in (getattr(each, what) for each in sizes.lengths))


def _passes(entry, place, found, target, aside=False):
    """Steps that open a hole as found to the target, in the fewest equal passes of no more than the entry's stock."""
    passes = 1
    if "stock" in entry and found > 0:
        passes = max(1, int(np.ceil(((target - found) / entry["stock"]).m_as("") - 1e-9)))
    if passes > MOST_PASSES:
        raise ValueError(f"{place}: a stock of {words.planned(entry['stock'])} makes {words.count(passes)} passes from "
                         f"{words.planned(found)} to {words.planned(target)}; no maker takes more than "
                         f"{MOST_PASSES}: look at its unit")
    ends = np.linspace(found.m_as("mm"), target.m_as("mm"), passes + 1)
    return [Step(entry["operation"], f"{entry['name']} to {after:.2f} mm", Q(before, "mm"), Q(after, "mm"),
                 aside=aside, **passed_on(entry))
            for before, after in zip(ends, ends[1:]) if after - before > 1e-6]


def reduced(entry, place, sizes):
    """The step that takes the outside down to what the entry says.

    Raises ValueError for an outside that would get larger or pass the finished one.
    """
    target = diameter_of(entry["to"], sizes.bore, sizes.outside)
    if "over" in entry and target < sizes.outside - TINY and of_a_length(sizes, "outside", target):   # a spigot
        return [Step(entry["operation"], f"{entry['name']} to {target.m_as('mm'):.2f} mm", sizes.round, target,
                     aside=True, **passed_on(entry))]
    if target < sizes.outside - TINY:
        raise ValueError(f"{place}: {entry['to']!r} is {words.planned(target)}, smaller than the finished outside "
                         f"{words.planned(sizes.outside)}; write 'outside', or more")
    if target > sizes.round + TINY:
        raise ValueError(f"{place}: {entry['to']!r} is {words.planned(target)}, but the outside is "
                         f"{words.planned(sizes.round)} already; "
                         "put the steps in order of size, or leave a larger blank (blank_stock)")
    before, sizes.round, sizes.trued = sizes.round, target, True
    return [Step(entry["operation"], f"{entry['name']} to {target.m_as('mm'):.2f} mm", before, target,
                 **passed_on(entry))]
