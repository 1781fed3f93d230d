"""Plans that differ by a few choices, judged side by side on the same draws; and what changes promise together."""
import warnings
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from kit.base import tables
from kit.base.units import unheard
from kit.operations import settle
from kit.study import choices as choices_of
from kit.study import instructions
from kit.study.judge import assess, lines
from kit.study.outcomes import cases_of
from kit.study.studyfile import StudyError
from kit.study.use import LABOUR

FAR = 5.0   # log of a margin, beyond which it is as good as none, or as without end


@dataclass(frozen=True)
class Judged:
    """A plan judged in search. changes: {key: value} of Choices. chance: that all is met. limiting: the criterion of
    least chance. logs: of the margins of every line, rows in the order of the search's lines and a last one for the
    worst of all others, shape (rows, n). metal: mass of the blanks, g, median."""
    changes: dict
    plan: object
    values: dict = field(repr=False)
    chance: float
    limiting: str
    logs: np.ndarray = field(repr=False)
    metal: float
    labour: np.ndarray | None = field(repr=False, default=None)

    @cached_property
    def met(self):
        """In which draws all is met."""
        return all_met(self.logs)

    @cached_property
    def hours(self):
        """Median hours of the whole work; of its steps alone where the study has no table [use]."""
        labour = self.labour
        with unheard():
            if labour is None and self.plan.use:
                labour = lines(self.plan, self.values, self.logs.shape[1], (LABOUR,))[0][0].demand
            if labour is None:
                steps = instructions.instructions(self.plan, self.values, settle.FEEL)
                return float(steps["minutes"].sum() / 60)
        return float(np.median(labour))

    @property
    def cost(self):
        return round(self.hours, 6), round(self.metal, 6), sum(abs(np.log(x)) for x in self.changes.values()
                                                               if not isinstance(x, str) and x > 0)


def all_met(logs):
    """In which draws no margin is below 1."""
    return (logs >= 0).all(axis=0)


def pays(better, than):
    """Whether a plan does better on the same draws by more than one standard error of the difference."""
    gained = better.astype(float) - than
    return gained.mean() > max(gained.std() / np.sqrt(len(gained)), 0)


class Search:
    """Plans judged on the same draws, each once: those of all that any of them rests on, drawn together, so that a
    change moves nothing but what rests on it. Of a plan that differs late in its routes only what differs is worked
    out.

    plan: a Plan. found: its Choices. draws, seed, criteria: as for `assess`. progress: see `reach.reach`.
    """

    def __init__(self, plan, found, draws, seed, criteria, progress=None):
        self.plan, self.choices = plan, {choice.key: choice for choice in found}
        self.n, self.seed, self.criteria, self.progress = int(draws), seed, criteria, progress
        self.done, self.planned, self.left_out = 0, 1, {}
        self.known, self.drawn, self.cases, self.names = {}, {}, {}, None
        self.rows = dict(plan.assumptions)
        for choice in found:
            for option in choice.options:
                other = self.changed({choice.key: option})
                for key, row in (other.assumptions.items() if other is not None else ()):
                    self.rows.setdefault(key, row)

    def changed(self, changes):
        """The plan with these changes; None where it cannot be made so, and why stands in `left_out`."""
        try:
            plan = self.plan
            for name, value in changes.items():
                plan = choices_of.changed(plan, self.choices[name], value)
            plan.assumptions   # a name that no table has is reported here
            return plan
        except (StudyError, tables.TableError, ValueError, TypeError) as error:
            self.left_out[self.said(changes)] = str(error)

    @staticmethod
    def key(changes):
        """By which a set of changes is known."""
        return tuple(sorted((key, str(value)) for key, value in changes.items()))

    def judge(self, changes, like=None):
        """Judged; None where the plan cannot be made so. like: a Judged of this search, most of whose work is the
        same; the plan as it is where None."""
        key = self.key(changes)
        if key not in self.known:
            self.done += 1
            if self.progress:
                self.progress(self.done, max(self.planned, self.done))
            plan = self.changed(changes)
            try:
                self.known[key] = plan and self._judged(dict(changes), plan, self.key(like.changes) if like else ())
            except (StudyError, tables.TableError, ValueError, TypeError) as error:
                self.left_out[self.said(changes)] = str(error)
                self.known[key] = None
        return self.known[key]

    def _judged(self, changes, plan, like):
        values = self._values(plan)
        with unheard():   # the plan that is chosen is judged again
            cases = cases_of(plan, values, like=self.cases.get(like, ()))
            found = lines(plan, values, self.n, self.criteria, cases=cases)[0]
            metal = sum(float(np.median((case.metal * case["alloy.density"]).m_as("g"))) for case in cases)
        self.cases = {key: held for key, held in self.cases.items() if key in ((), like)}   # few: they are large
        self.cases[self.key(changes)] = cases
        of = {(line.tube, line.criterion): _logs(line.margin) for line in found}
        self.names = self.names or list(of)
        others = [logs for name, logs in of.items() if name not in self.names]
        without = np.full(self.n, FAR, np.float32)
        logs = np.stack([of.get(name, without) for name in self.names] + [np.min([without, *others], axis=0)])
        limiting = min(found, key=lambda line: (line.chance, float(np.median(line.margin)))).criterion
        labour = next((line.demand for line in found if line.criterion == LABOUR), None)
        return Judged(changes, plan, values, float(all_met(logs).mean()), limiting, logs, metal, labour)

    def _values(self, plan):
        """Draws of all that any plan of the search rests on, this plan's own where it has others."""
        own = plan.assumptions
        other = frozenset((key, row) for key, row in own.items() if self.rows.get(key) != row), frozenset(
            plan.conditioned or ())
        if other not in self.drawn:
            beside = [row for key, row in self.rows.items() if key not in own]
            self.drawn[other] = plan.draws(self.n, self.seed, beside=beside)
        return self.drawn[other]

    def fresh(self, changes, draws):
        """The verdict on the plan with these changes, on draws of their own."""
        self.done += 1
        return assess(self.changed(changes), draws, self.seed + 1, self.criteria)

    def said(self, changes):
        told = []
        for key, value in changes.items():
            choice = self.choices[key]
            instead = "" if choice.now == "as planned" else f" in place of {choice.now}"
            told.append(f"{choice.label}: {choice.said(value)}{instead}")
        return "; ".join(told)

    # --- what changes promise together
    def moves(self, now):
        """{key: [(value, what it adds to the logs)]} of each choice, by what was judged of it alone; of a size also
        half way from each to the next, as margins go by powers of sizes."""
        found = {}
        for judged in filter(None, self.known.values()):
            if len(judged.changes) == 1:
                (key, value), = judged.changes.items()
                found.setdefault(key, []).append((value, judged.logs - now.logs))
        for key, options in found.items():
            if self.choices[key].options:
                continue
            known = sorted([*options, (1.0, np.zeros(1, now.logs.dtype))], key=lambda each: each[0])
            for (low, less), (high, more) in zip(known, known[1:]):
                half = self.choices[key].tidied(float(np.sqrt(low * high)))
                if low < half < high:
                    share = np.float32(np.log(half / low) / np.log(high / low))
                    options.append((half, less + share * (more - less)))
        return found

    def promising(self, moves, base, sweeps=4):
        """Changes that promise most together with those of `base`, a Judged, if logs of margins add up: {key: value},
        choice by choice until none gains."""
        changes, logs = dict(base.changes), base.logs
        for _ in range(sweeps):
            before = dict(changes)
            for key, options in moves.items():
                rest = logs - _added(options, changes.get(key), logs)
                tried = [(None, rest)] + [(value, rest + added) for value, added in options]
                value, best = max(tried, key=lambda each: _score(each[1]))
                if value != changes.get(key) and _score(best) > _score(logs) + 1 / self.n:
                    changes, logs = _with(changes, key, value), best
            if changes == before:
                break
        return changes

    def learn(self, moves, base, tried):
        """Put into `moves` what one more change, or another value of one, really did beside those of `base`."""
        key, *more = [key for key in base.changes | tried.changes
                      if base.changes.get(key) != tried.changes.get(key)]
        if more:
            return
        added = tried.logs - base.logs + _added(moves.get(key, []), base.changes.get(key), base.logs)
        if key in tried.changes:
            moves[key] = [each for each in moves.get(key, []) if each[0] != tried.changes[key]] + [
                (tried.changes[key], added)]

    def next_moves(self, moves, base, least):
        """Single changes beside those of `base`, as changes, those that promise most first; none that do nothing to
        the draws that fail, or are thought to lose more than `least` of the chance."""
        found = []
        for key, options in moves.items():
            rest = base.logs - _added(options, base.changes.get(key), base.logs)
            found += [(_score(logs), _with(base.changes, key, value))
                      for value, logs in [(None, rest)] + [(value, rest + added) for value, added in options]
                      if value != base.changes.get(key)]
        now = _score(base.logs)
        return [changes for score, changes in sorted(found, key=lambda each: -each[0])
                if score > now - least and abs(score - now) > 1e-9]

    def around(self, moves, base):
        """Single changes beside those of `base`, [(key, value)]: of each choice the one that promises most, those first
        that move the margins of the draws that fail most, either way."""
        fails, found = ~base.met, []
        if not fails.any():
            return found
        for key, options in moves.items():
            rest = base.logs - _added(options, base.changes.get(key), base.logs)
            value, logs = max(((value, rest + added) for value, added in options if value != base.changes.get(key)),
                              key=lambda each: _score(each[1]), default=(None, base.logs))
            moved = np.abs(logs[:, fails] - base.logs[:, fails]).mean()
            if value is not None and moved > 0:
                found.append((moved, key, value))
        return [(key, value) for _, key, value in sorted(found, key=lambda each: -each[0])]

    def worth(self, moves, base, key):
        """What the chance of `base` is expected to lose without one of its changes."""
        without = base.logs - _added(moves.get(key, []), base.changes[key], base.logs)
        return base.chance - float(all_met(without).mean())


def _with(changes, key, value):
    """Changes with another value of one; taken back where None."""
    return {k: v for k, v in changes.items() if k != key} | ({} if value is None else {key: value})


def _logs(margin):
    with warnings.catch_warnings(), np.errstate(divide="ignore", invalid="ignore"):
        return np.nan_to_num(np.clip(np.log(margin), -FAR, FAR), nan=-FAR).astype(np.float32)


def _added(options, value, logs):
    """What a value adds, by the nearest that is known of it; nothing where None."""
    if value is None:
        return np.zeros(1, logs.dtype)
    exact = [added for other, added in options if other == value]
    if exact or not options or isinstance(value, str):
        return exact[0] if exact else np.zeros(1, logs.dtype)
    near, added = min(options, key=lambda each: abs(np.log(each[0] / value)))
    return added * np.float32(np.log(value) / np.log(near))


def _score(logs):
    """Chance that all is met, and, as a hundredth of it, how near those draws come that fail."""
    least = logs.min(axis=0)
    return float((least >= 0).mean() + 0.01 * np.minimum(least, 0).mean() / FAR)
