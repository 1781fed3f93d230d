"""Choices of the maker, of the workshop and of the steps: what each is now, its bounds, a plan with another."""
import re
from dataclasses import dataclass, replace

import numpy as np

from kit.base import tables, words
from kit.base.units import Q
from kit.operations.cast import CORES, MOULDS
from kit.operations.chain import OPERATIONS
from kit.operations.draw import HALF_ANGLE, MOST
from kit.operations.fire import AIR, COVERS
from kit.operations.lap import PAIR
from kit.operations.wrap import SEAMS
from kit.study.studyfile import StudyError

# which steps of a route a choice is about, by the first part of its key
STEPS = {"bore": ("drill", "ream"), "outside": ("turn", "file"), "drill": ("drill",), "ream": ("ream",),
         "turn": ("turn",), "lap": ("lap",), "first_lap": ("lap",), "last_lap": ("lap",),
         **{each: (each,) for each in ("cast", "wrap", "solder", "anneal", "draw", "hammer", "polish")}}
OF_TOOL = {"point": "two-lip drill", "teeth": "fluted reamer", "lead_angle": "fluted reamer"}   # and of which
YES, NO = "yes", "no"
ANNEALED = "annealed"   # whether the tube comes to a step from the fire
UNSAID = {"ends": "one", "lap": PAIR, "spring_cuts": 0, "mould": MOULDS[0], "core": CORES[0], "lies": False,
          "seam": SEAMS[0], "cover": COVERS[0], "men": 1, "windlass": False,
          "reduction_most": MOST, "half_angle": HALF_ANGLE}   # what a step has that does not say
OVERLAP = Q(3, "mm")   # of a seam that had none: as the error says that asks for one
# what is left by a word of the study file, as in "bore - 0.4 mm": its key, what it counts from, and the sign; of the
# key `to` by operation
LEFT = {"outside_left": ("outside", "outside", "+"), "sheet_left": ("sheet", "wall", "+")}
FROM_BORE = "drill", "ream", "cast", "wrap", "draw", "hammer"


@dataclass(frozen=True)
class Choice:
    """One choice of a plan. key, label: of data/reference/choices.csv. low, high: bounds, times the plan's own sizes.
    options: of a choice in words, the others that are looked at; () for a size. sizes: the plan's own, one for each
    tube or step that has it."""
    key: str
    label: str
    low: float | None
    high: float | None
    options: tuple
    sizes: tuple

    @property
    def now(self):
        """As the plan has it."""
        return self.said(1.0) if not self.options else " and ".join(dict.fromkeys(map(str, self.sizes)))

    def said(self, value):
        """A value as words: a size as it would be planned, of several unlike ones as so many times each."""
        if self.options:
            return str(value)
        several = dict.fromkeys(_planned(value * size) for size in self.sizes)
        if len(several) == 1:
            return next(iter(several))
        return "as planned" if value == 1 else f"{words.number(value, 2)} times as planned"

    def tidied(self, factor):
        """A factor that makes the size one that people write down: two figures, rounded away from the plan's own."""
        if factor == 1:
            return factor
        size = abs(_plain(self.sizes[0]))
        exact = factor * size
        step = 10.0 ** (np.floor(np.log10(exact)) - 1)
        to = (np.ceil(exact / step - 1e-9) if factor > 1 else np.floor(exact / step + 1e-9)) * step
        return float(np.clip(to / size, self.low, self.high))


def _plain(size):
    return float(size.m) if isinstance(size, Q) else float(size)


def _planned(size):
    if isinstance(size, Q):
        return words.planned(Q(float(f"{size.m:.4g}"), size.units))
    return words.number(size, 3)


def choices(plan, bounds=None):
    """The choices that a plan has, as Choices, in the order of the table.

    bounds: {key: (low, high)} in times the plan's own size, or {key: list of words}, in place of the table's; with it
    only these are looked at where it is a list of keys.
    Raises StudyError for a choice that the table or the plan does not have, or bounds the wrong way round.
    """
    known = {row["choice"]: row for row in tables.load("choices")}
    wanted = list(known if bounds is None else bounds)
    own = bounds if isinstance(bounds, dict) else {}
    found = []
    for key in wanted:
        if key not in known:
            raise StudyError(f"there is no choice {key!r} that could be changed; {tables.nearest(key, known)}")
        choice = _choice(plan, known[key], own.get(key))
        if choice is not None:
            found.append(choice)
        elif bounds is not None:
            raise StudyError(f"{known[key]['label']} ({key!r}): this plan has none, so there is nothing to change")
    return found


def _choice(plan, row, own):
    sizes = tuple(_present(plan, row["choice"]))
    if not sizes or not row["words"] and any(_plain(size) == 0 for size in sizes):   # of nothing no multiple is more
        return None
    low, high, options = row["low"], row["high"], ()
    if row["words"]:
        listed = [word.strip() for word in row["words"].split(";")] if own is None else [str(word) for word in own]
        typed = [int(word) if word.isdecimal() else word for word in listed]
        options = tuple(word for word in typed if {word} != set(sizes))
        if not options:
            raise StudyError(f"{row['choice']}: nothing but what the plan has already; give other words")
    elif own is not None:
        low, high = (float(end) for end in own)
        if not 0 < low <= 1 <= high or low == high:
            raise StudyError(f"{row['choice']}: bounds {low:g} to {high:g} are times the plan's own size, which must "
                             f"lie between them; for example (0.5, 2)")
    return Choice(row["choice"], row["label"], low, high, options, sizes)


def changed(plan, choice, value):
    """The plan with another value of a Choice: a word of its options, or for a size a factor.

    Raises StudyError, or ValueError where an estimate cannot take it.
    """
    about, _, what = choice.key.partition(".")
    if not what:
        return _in_workshop(plan, choice, value)
    routes = {}
    for name, steps in plan.routes.items():
        if what == ANNEALED:
            routes[name] = _annealed(plan, steps, STEPS[about], value == YES)
        else:
            fits = _fits(plan, name, what)
            routes[name] = [_step(step, what, value) if fits and _about(about, what, step, steps) else step
                            for step in steps]
    return _rerouted(plan, routes)


# --- the workshop, and the part ---------------------------------------------------------------------------------------

def _in_workshop(plan, choice, value):
    tubes = {t.name: t for t in plan.tubes}
    if choice.key in ("wall", "clearance"):
        return plan.with_(**{f"{name}.{choice.key}": value * getattr(tubes[name], choice.key)
                             for name in _sized(plan, choice.key)})
    if choice.key == "core":
        return plan.with_(**{f"{t.name}.core": t.bore - value * (t.bore - t.core) for t in _cored(plan)})
    return plan.with_(**{choice.key: value if choice.options else value * choice.sizes[0]})


def _cored(plan):
    """Tubes whose blank comes with a hole."""
    return [t for t in plan.tubes if t.core.m > 0]


def _sized(plan, key):
    """Names of the tubes whose wall or clearance is changed together."""
    sleeves = [t.name for t in plan.tubes if t.position is not None]
    return sleeves if key == "wall" and sleeves else [t.name for t in plan.tubes]


def _present(plan, key):
    """What the plan has of a choice, one for each tube or step that has it."""
    about, _, what = key.partition(".")
    if not what:
        if key in ("wall", "clearance"):
            return [getattr(t, key) for t in plan.tubes if t.name in _sized(plan, key)]
        if key == "core":
            return [t.bore - t.core for t in _cored(plan)]
        if key == "hours":
            return [plan.use["hours"]] if plan.use else []
        if key == "edge_metal" and plan.workshop.edge_metal is None:
            return [plan.workshop.tool_metal]
        return [getattr(plan.workshop, key)] if plan.choices else []
    taken = {t.route for t in plan.parts}
    found = [_of_step(step, what) if what != ANNEALED else _from_fire(steps, i)
             for name, steps in plan.routes.items() if name in taken and _fits(plan, name, what)
             for i, step in enumerate(steps) if _about(about, what, step, steps)]
    return [value for value in found if value is not None]


# --- the steps --------------------------------------------------------------------------------------------------------

def _fits(plan, route, what):
    """Whether a choice in words that is made for tubes can be made in a route: a shaft is held and lapped its own
    way."""
    return what not in ("held_by", "lap") or route not in {part.route for part in plan.parts if part.solid}


def _about(about, what, step, steps):
    """Whether a step is one of those that a choice is about."""
    if step["operation"] not in STEPS[about] or what in OF_TOOL and getattr(
            step.get("tool"), "kind", None) != OF_TOOL[what]:
        return False
    last = max((i for i, each in enumerate(steps) if each["operation"] == "lap"), default=None)
    if about == "first_lap":
        return step is not steps[last]
    return about != "last_lap" or step is steps[last]


def _of_step(step, what):
    if what in OF_TOOL:
        return getattr(step["tool"], what)
    if what in ("left", *LEFT):
        key, _, sign = _left(step, what)
        left = _LEFT.match(step.get(key, ""))
        return Q(left[3]).to("mm") if left and left[2] == sign else None
    if what == "heat":
        return Q(step["temperature"].m_as("degC") - AIR.m, "K")
    if what == "core" and "to" not in step:   # cast solid, or on the core that the tube has already
        return None
    if what in ("feed_most", "pressure_most"):
        return step.get(what) or step.get(what.removesuffix("_most"))
    if what == "held_by":
        return step.get(what) or (OPERATIONS[step["operation"]].holds or (None,))[0]
    value = step.get(what, UNSAID.get(what))
    return {True: YES, False: NO}[value] if isinstance(value, bool) else value


_LEFT = re.compile(r"\s*(bore|outside|wall)\s*([+-])\s*(.+)$")


def _left(step, what):
    """(key of the step, what it counts from, sign) of what is left."""
    return LEFT.get(what) or (("to", "bore", "-") if step["operation"] in FROM_BORE else ("to", "outside", "+"))


def _mm(length):
    plain = length.m_as("mm")
    return f"{float(f'{plain:.6g}')!r} mm"


def _thicker(sheet, more):
    """A thickness as a study writes it, so much more: '1.4 mm', or 'wall + 0.6 mm'."""
    if "wall" not in sheet:
        return _mm(Q(sheet) + more)
    match = _LEFT.match(sheet)
    over = (Q(match[3]) if match[2] == "+" else -Q(match[3])) + more if match else more
    return f"wall {'-' if over.m < 0 else '+'} {_mm(abs(over))}"


def _from_fire(steps, i):
    return YES if i and steps[i - 1]["operation"] == "anneal" else NO


def _annealed(plan, steps, about, wanted):
    """A route with an anneal before each step of these operations, or with none there. One that is added is like the
    route's last before it; else at the heat that softens the metal in full, where the study has such rows."""
    made = []
    for i, step in enumerate(steps):
        if step["operation"] in about:
            there = _from_fire(steps, i) == YES
            if there and not wanted:
                made.pop()
            elif wanted and not there:
                like = [each for each in steps[:i] if each["operation"] == "anneal"]
                full = plan.assumptions.get("metal.full")
                if not like and full is None:
                    raise StudyError(f"{plan.folder / 'study.toml'}: no step of this study goes through a fire, so "
                                     "nothing tells at what heat to anneal")
                made.append(like[-1] if like else {"operation": "anneal", "name": "anneal", "temperature": full.middle})
        made.append(step)
    return made


def _step(step, what, value):
    """The step with another value: of a size a factor."""
    present = _of_step(step, what)
    if present is None:
        return step
    if what in OF_TOOL and isinstance(value, (str, int)):
        return step | {"tool": replace(step["tool"], **{what: value})}
    if isinstance(value, (str, int)):
        made = step | {what: value == YES if isinstance(UNSAID.get(what), bool) else value}
        if what == "abrasive" and step["operation"] == "lap":
            made["name"] = value
        if what == "seam":   # edges that butt do not overlap
            made.pop("overlap", None)
            made |= {} if value == SEAMS[0] else {"overlap": step.get("overlap", OVERLAP)}
        return made
    if what in OF_TOOL:
        return step | {"tool": replace(step["tool"], **{what: value * present})}
    if what in ("left", *LEFT):
        key, base, sign = _left(step, what)
        made = step | {key: f"{base} {sign} {_mm(value * present)}"}
        if what == "left" and "sheet" in step:   # a smaller mandrel wants thicker sheet: the outside stays
            made["sheet"] = _thicker(step["sheet"], (value - 1) * present / 2)
        return made
    if what == "heat":
        return step | {"temperature": Q(AIR.m + (value * present).m, "degC")}
    made = step | {what: value * present}
    if what.endswith("_most") and value < 1:   # the wish, and the least, come down with it
        for other in (what.removesuffix("_most"), what.replace("_most", "_least")):
            if made.get(other) is not None and made[other] > made[what]:
                made[other] = made[what]
    return made


def _rerouted(plan, routes):
    for name, steps in routes.items():
        for i, step in enumerate(steps):
            if why := OPERATIONS[step["operation"]].misplaced(step, steps[:i]):
                raise StudyError(f"route {name!r}, step {i + 1} ({step['operation']}): {why}")
    made = replace(plan, routes=routes)
    if made.conditioned:   # what a log shows of one grain says nothing about another
        there = set(made.reference_rows)
        kept = {key: held for key, held in made.conditioned.items() if key.partition("@")[0] in there}
        learnt = tuple(key for key in made.conditioned_on["learnt"] if key in there)
        made = replace(made, conditioned=kept, conditioned_on=made.conditioned_on | {"learnt": learnt})
    if unknown := [key for key in made.rows if key not in made.reference_rows]:
        raise StudyError(f"the study's own row {unknown[0]!r} is about what this would replace")
    return made
