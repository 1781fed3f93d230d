"""A route as a chain of operations: each takes the state that the one before it left.

To add an operation: a file beside these with its class, and its row in OPERATIONS.
"""
from dataclasses import replace
from itertools import groupby

from kit.base import words
from kit.operations.anneal import Anneal
from kit.operations.cast import Cast
from kit.operations.draw import Draw
from kit.operations.drill import Drill
from kit.operations.file import File
from kit.operations.hammer import Hammer
from kit.operations.lap import RING, Lap
from kit.operations.means import as_found, of_step
from kit.operations.polish import Polish
from kit.operations.ream import Ream
from kit.operations.solder import Solder
from kit.operations.state import blank
from kit.operations.steps import TINY, Sizes, lengthened
from kit.operations.turn import Turn
from kit.operations.wrap import Wrap

# word of the study file -> its class
OPERATIONS = {"drill": Drill, "ream": Ream, "turn": Turn, "file": File, "lap": Lap,
              "cast": Cast, "wrap": Wrap, "solder": Solder, "anneal": Anneal, "draw": Draw, "hammer": Hammer,
              "polish": Polish}


def expand(route, bore, outside, blank, hole, lengths=(), length=None):
    """Steps of a route for one tube: names resolved to diameters, and long cuts split into passes.

    route: list of dicts as in study.toml, already checked for keys and words. bore, outside: of the finished tube;
    blank: outside of the blank; hole: cast in the blank, 0 for none (all Quantities). lengths: those of another bore or
    outside, which some step must make. length: of the whole tube. A step in the hole with `stock`
    (on diameter) is split into the fewest equal passes of no more than that. One that finds the hole at its own size
    already is left out.
    Raises ValueError for a hole that would get smaller or pass the bore, or an outside that would get larger or pass
    the finished one, with the step's number; and where either ends short of its finished size.
    """
    steps, sizes = [], Sizes(bore, outside, hole, blank, tuple(lengths))
    for position, entry in enumerate(route, 1):
        place = f"step {position} ({entry['operation']})"
        if "over" in entry and length is not None and entry["over"] > length + TINY:
            raise ValueError(f"{place}: it works {words.planned(entry['over'])}, and the tube is "
                             f"{words.planned(length)} long; write less, or take 'over' out")
        steps += OPERATIONS[entry["operation"]].expand(entry, place, sizes)
    if sizes.bored and sizes.hole < bore - TINY:
        raise ValueError(f"the hole ends at {words.planned(sizes.hole)}, short of the finished bore "
                         f"{words.planned(bore)}; end with a "
                         f"step "
                         "to 'bore'")
    if sizes.hole > bore + TINY:
        raise ValueError(f"the hole ends at {words.planned(sizes.hole)}, above the finished bore "
                         f"{words.planned(bore)}; begin with a smaller one")
    if sizes.trued and sizes.round > outside + TINY:
        raise ValueError(f"the outside ends at {words.planned(sizes.round)}, short of the finished "
                         f"{words.planned(outside)}; end with a "
                         "step to 'outside'")
    for each in lengths:
        _made(each, steps)
        _kept(each, steps)
    return tuple(steps)


def _made(length, steps):
    """Raises ValueError where no step makes the bore or the outside of a length."""
    for what, size, kinds in (("bore", length.bore, ("drill", "ream")), ("outside", length.outside, ("turn", "file"))):
        if size is not None and not any(step.operation in kinds and abs(step.diameter - size) < TINY for step in steps):
            how = "before the step to 'outside'" if what == "outside" else "in order of size"
            raise ValueError(f"no step makes the {words.planned(length.length)} of {what} {words.planned(size)}; write "
                             f"one to \"{words.planned(size)}\", {how}, with 'over' where it works a part alone")


def _kept(length, steps):
    """Raises ValueError where a step that works the whole tube takes a length with it."""
    for step in (each for each in steps if each.over is None and not each.aside):
        opened = step.operation in ("drill", "ream", "lap") and length.bore is not None and step.lap != RING
        turned = step.operation in ("turn", "file") and length.outside is not None
        if opened and step.diameter > length.bore + TINY or turned and step.diameter < length.outside - TINY:
            size = length.bore if opened else length.outside
            raise ValueError(f"{step.name} would work the {words.planned(length.length)} of {words.planned(size)} as "
                             f"well; say with 'over' how far it goes from the other end")


def shaft_steps(shaft, workshop):
    """Steps of what runs in a tube as a part of its own."""
    return expand(shaft.entries, shaft.bore, shaft.outside, shaft.outside + workshop.blank_stock, shaft.core)


def run(tube, steps, means, shaft=None, elsewhere=(), like=()):
    """The operations of a route in order, steps that one tool does one after the other as one: (operations, last
    state).

    Each operation is given the tube as long as it leaves it: shorter than the finished one by what later steps draw
    out. shaft: State of what runs in it, where that is a part of its own. elsewhere: Operations of the tubes made
    before. like: operations of another route of the same tube with the same means; those before the first step that
    differs are taken from it, with all that is worked out of them already.
    """
    found, steps, done, like = [], list(steps), 0, list(like)
    state = blank(_as_long(tube, steps), means, shaft)
    for (word, _), group in groupby(steps, key=_together):
        group = list(group)
        before, done = steps[:done], done + len(group)
        longer, ended, other = _as_long(tube, steps[done:]), (*elsewhere, *found), like.pop(0) if like else None
        if other is not None and _the_same(other, group, longer, steps[done:], ended):
            found.append(other)
        else:
            like = []   # what comes after finds another state
            found.append(OPERATIONS[word](group, longer, state, as_found(of_step(means, group[0]), state), before,
                                          steps[done:], ended))
        if not group[0].aside:   # what is worked aside leaves the rest as it was
            state = found[-1].leaves
    return tuple(found), state


def _the_same(other, group, tube, later, elsewhere):
    """Whether an operation that finds the same state is that of these steps, by tools as worn."""
    return (other.steps == tuple(group) and other.tube == tube
            and (not other.looks_ahead or other.later == tuple(later))
            and [*map(id, other.wearing(group, other.elsewhere))] == [*map(id, other.wearing(group, elsewhere))])


def _as_long(tube, later):
    """The tube before those steps, as long as it is then."""
    longer = lengthened(later)
    return tube if longer == 1 else replace(tube, length=tube.length / longer)


def _together(step):
    """Steps of one operation by one tool are computed together; a lap is always by itself."""
    alike = step.tool, step.held_by, step.lathe, step.pulley, step.lubricant, step.over, step.aside
    return step.operation, alike if step.tool is not None else id(step)
