"""The verdict: each criterion on one set of draws, the chance, what limits it, what it rests on."""
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import evidence, words
from kit.base.tables import nearest
from kit.estimates.uncertainty import ranks
from kit.base.units import unheard
from kit.operations import settle
from kit.study import instructions, rework, worlds
from kit.study.outcomes import FORMER, outcomes
from kit.study.trace import trace

NO_LIMIT = "no limit"   # in a table for reading: of a capacity that has no end, as of an edge that is not blunted
MATTERS = 0.05   # share of the variance of a log margin from which an assumption's grade counts


def _met(lines):
    """{criterion: in which draws every tube meets it}."""
    met = {}
    for line in lines:
        met[line.criterion] = met.get(line.criterion, True) & line.met
    return met


def counted(lines):
    """In how many draws each criterion is met by every tube, and all together: {criterion: count, 'all': count}."""
    met = _met(lines)
    every = np.logical_and.reduce(list(met.values()))
    return {name: int(m.sum()) for name, m in met.items()} | {"all": int(every.sum())}


def first_of_each_kind(told):
    """Warnings that differ in their numbers alone, or in the criterion they are told of, are one warning."""
    return tuple({re.sub(r"^'[^']*' of [^:]*: |[<>]?[-\d.\u202f∞]+", "#", text): text
                  for text in reversed(told)}.values())[::-1]


def _margin(demand, capacity):
    """Capacity over demand; infinite where the demand is zero."""
    if demand.min() > 0:
        return capacity / demand
    return np.divide(capacity, demand, out=np.full(demand.shape, np.inf), where=demand > 0)


@dataclass(frozen=True)
class Line:
    """One criterion of one tube. demand, capacity, margin: draws of the place that is worst in each draw, in `unit`.
    where: the place that is worst most often; typical: median demand and capacity there."""
    tube: str
    criterion: str
    unit: str
    demand: np.ndarray
    capacity: np.ndarray
    margin: np.ndarray
    where: str
    by_hand: float
    used: frozenset
    typical: tuple

    @classmethod
    def of(cls, tube, criterion, outcome, n, used):
        demand, capacity = (np.atleast_2d(q.m_as(outcome.unit)) for q in (outcome.demand, outcome.capacity))
        rows = max(len(demand), len(capacity))
        demand, capacity = np.broadcast_to(demand, (rows, n)), np.broadcast_to(capacity, (rows, n))
        worst, least = np.zeros(n, np.int16), None
        for row in range(rows):   # searching the columns for their least and picking it out costs several times as much
            these = demand[row], capacity[row], _margin(demand[row], capacity[row])
            if least is None:
                least = these if rows == 1 else tuple(x.copy() for x in these)
                continue
            worse = these[2] < least[2]
            np.copyto(worst, row, where=worse, casting="unsafe")
            for kept, x in zip(least, these):
                np.copyto(kept, x, where=worse)
        place = np.bincount(worst).argmax()
        where = outcome.places[place] if outcome.places else ""
        return cls(tube, criterion, outcome.unit, *least, where, float(np.mean(outcome.by_hand)), used,
                   tuple(float(np.median(x[place])) for x in (demand, capacity)))

    @property
    def met(self):
        return self.margin >= 1

    @property
    def chance(self):
        return float(self.met.mean())

    def quantiles(self, name):
        values = getattr(self, name)
        if np.isfinite(values).all():
            return np.quantile(values, (0.05, 0.5, 0.95))
        return np.quantile(values, (0.05, 0.5, 0.95), method="inverted_cdf")   # a number, or no end


@dataclass(frozen=True)
class Verdict:
    """Every criterion's demand against capacity on one set of draws, and what follows."""
    study: object
    lines: tuple
    n: int
    seed: int
    draws: dict
    counts: dict                    # in how many of n draws each criterion is met by every tube, and 'all'
    warnings: tuple
    criteria: tuple | None = None   # that were looked at; None for all
    adapt: str = settle.FEEL        # how what is settled at the bench was settled

    @cached_property
    def met(self):
        """{criterion: in which draws of the sample every tube meets it}."""
        return _met(self.lines)

    @property
    def asked(self):
        """Keys of the assumptions that some criterion used."""
        return {key.partition("@")[0] for line in self.lines for key in line.used}

    @property
    def chances(self):
        """{criterion: chance that every tube meets it}."""
        return {name: count / self.n for name, count in self.counts.items() if name != "all"}

    @property
    def chance(self):
        """Chance that all criteria are met in the same draw, under these inputs."""
        return self.counts["all"] / self.n

    @property
    def sample(self):
        """Number of draws that margins, quantiles and influences are taken from."""
        return len(self.lines[0].margin)

    @cached_property
    def ways(self):
        """Chance of all criteria, on the sample's draws, by each way to settle what is settled at the bench: {"feel":
        chance, "planned", "best", "hindsight"}. Hindsight is a bound: never below the others."""
        found = {}
        for way in settle.WAYS:
            lines = self.lines
            if way != self.adapt:
                with unheard():   # the verdict has reported its own
                    asked, _ = outcomes(self.study, self.draws, self.criteria, way)
                lines = [Line.of(place, name, outcome, self.sample, used) for place, name, outcome, used in asked]
            found[way] = counted(lines)["all"] / self.sample
        return found

    @cached_property
    def gains(self):
        """{criterion: how far the chance of all would rise, were it met in every draw of the sample}, largest first."""
        every, found = np.logical_and.reduce(list(self.met.values())).mean(), {}
        for name in self.met:
            others = [met for other, met in self.met.items() if other != name]
            found[name] = float((np.logical_and.reduce(others).mean() if others else 1.0) - every)
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    @cached_property
    def worlds(self):
        """The chance over worlds of what is weakly known, and over what tubes share: a worlds.Band."""
        return worlds.band(self.study, self.seed, self.criteria, self.adapt)

    @property
    def band(self):
        """(5 %, 95 %) points of the chance over worlds of what is weakly known."""
        return self.worlds.low, self.worlds.high

    @property
    def ways_said(self):
        """The four ways in a sentence."""
        told = "; ".join(f"{instructions.WAYS[way][0]} {words.chance(chance)}" for way, chance in self.ways.items())
        return f"Chance of all, {told} ({words.draws(self.sample, self.seed)})."

    @cached_property
    def instructions(self):
        """What the maker settles at the bench, a row a step (see instructions.instructions)."""
        with unheard():   # the verdict has reported its own
            return instructions.instructions(self.study, self.draws, self.adapt)

    @cached_property
    def rework(self):
        """What becomes of a piece that misses a criterion (see rework.rework)."""
        return rework.rework(self)

    @cached_property
    def tools(self):
        """A card for every tool that must be made (see instructions.tools)."""
        with unheard():   # the verdict has reported its own
            return instructions.tools(self.study, self.draws, self.adapt)

    @cached_property
    def least_margin(self):
        """The least margin of each draw, over all criteria and tubes."""
        return np.min([line.margin for line in self.lines], axis=0)

    @cached_property
    def provenance(self):
        return self.study.provenance(self.n, self.seed)

    @cached_property
    def limiting_line(self):
        return min(self.lines, key=lambda line: (line.chance, float(np.median(line.margin))))

    @property
    def limiting(self):
        """Criterion of least chance; ties go to the smaller median margin."""
        return self.limiting_line.criterion

    def influence(self, line):
        """Share of the variance of the log margin's ranks that goes with each assumption, largest first: {key: share}.

        Squared rank correlation on at most 4096 draws: a first look, which misses what acts only together with others.
        """
        keep = slice(0, min(self.sample, 4096))
        margin = ranks(line.margin[keep])
        shares = {key: float(margin @ self._ranked(key, keep)) ** 2 for key in line.used
                  if np.ndim(self.draws[key].magnitude)}
        return dict(sorted(shares.items(), key=lambda item: -item[1]))

    def _ranked(self, key, keep):
        cache = self.__dict__.setdefault("_rank_cache", {})
        if key not in cache:
            cache[key] = ranks(self.draws[key].magnitude[keep])
        return cache[key]

    def weakest(self, line):
        """The weakest grade among the assumptions that matter to a line, and one assumption that has it: (grade, key)
        or None."""
        known = self.study.assumptions
        matter = [key for key, share in self.influence(line).items() if share >= MATTERS]
        if not matter:
            return None
        key = max(matter, key=lambda k: evidence.GRADES.index(known[k].grade))
        return known[key].grade, key

    def hardest(self, criterion):
        """The line of the tube with the least chance of a criterion. Raises ValueError for one that this verdict does
        not have."""
        criterion = FORMER.get(criterion, criterion)
        lines = [line for line in self.lines if line.criterion == criterion]
        if not lines:
            raise ValueError(f"this verdict has no criterion {criterion!r}; {nearest(criterion, self.chances)}")
        return min(lines, key=lambda line: (line.chance, float(np.median(line.margin))))

    def trace(self, criterion, tube=None):
        """Where the numbers of a criterion come from: a Trace, which prints as a tree and which `figures.trace` draws.

        tube: name; the one with the least chance where None. See `trace.trace`.
        Raises ValueError for a criterion or tube that this verdict does not have.
        """
        line = self.hardest(criterion)
        if tube is not None:
            of = {each.tube: each for each in self.lines if each.criterion == line.criterion}
            if tube not in of:
                raise ValueError(f"'{criterion}' is not asked of {tube!r}; {nearest(tube, of)}")
            line = of[tube]
        weakest = self.weakest(line)
        return trace(self.study, line, self.draws, self.influence(line), weakest and weakest[1], MATTERS, self.n,
                     self.seed, self.adapt)

    @cached_property
    def table(self):
        """DataFrame, one row for each criterion of a tube: where it is worst most often, demand and capacity there
        (medians), margin (worst place in each draw), chance, evidence."""
        import pandas as pd
        rows = []
        for line in self.lines:
            low, mid, high = line.quantiles("margin")
            influence, weakest = self.influence(line), self.weakest(line)
            carried_by, share = next(((key, share) for key, share in influence.items() if share >= 0.01), ("", 0.0))
            rows.append({"tube": line.tube, "criterion": line.criterion, "where": line.where, "unit": line.unit,
                         "demand": line.typical[0], "capacity": line.typical[1],
                         "margin": mid, "margin_5": low, "margin_95": high, "chance": line.chance,
                         "by_hand": line.by_hand, "carried_by": carried_by.partition("@")[0], "share": share,
                         "weakest_evidence": weakest[0] if weakest else ""})
        return pd.DataFrame(rows)

    @cached_property
    def weakest_evidence(self):
        """(grade, key, criterion) of the weakest evidence that matters anywhere, looking at the least certain criteria
        first."""
        found = None
        for line in sorted(self.lines, key=lambda line: line.chance):
            grade, key = self.weakest(line) or (None, None)
            if grade and (found is None or evidence.GRADES.index(grade) > evidence.GRADES.index(found[0])):
                found = grade, key.partition("@")[0], line.criterion
            if grade == evidence.GRADES[-1]:   # nothing is weaker: no need to look at the rest
                break
        return found

    def for_reading(self, hardest=False):
        """The table in words: values with their units, the margin with its range, chances, assumptions by their names.

        hardest: of each criterion only the tube with the least chance.
        """
        import pandas as pd
        shown = [self.hardest(name) for name in self.chances] if hardest else self.lines
        table = self.table.set_index(["tube", "criterion"])
        rows = []
        for line in shown:
            row = table.loc[(line.tube, line.criterion)]
            rows.append({
                "tube": line.tube, "criterion": line.criterion, "where": line.where,
                "demand": words.with_unit(words.number(row["demand"]), line.unit),
                "capacity": (words.with_unit(words.number(row["capacity"]), line.unit)
                             if np.isfinite(row["capacity"]) else NO_LIMIT),
                "margin (5 % to 95 %)": (words.ranged(row["margin_5"], row["margin"], row["margin_95"])
                                         if np.isfinite(row["margin_5"]) else NO_LIMIT),
                "chance": words.chance(line.chance),
                "moved most by": self.study.labels.get(row["carried_by"], "next to nothing"),
                "weakest evidence": row["weakest_evidence"] or "none"})
        return pd.DataFrame(rows)

    def place(self, line):
        """Where a line stands, in a sentence: 'the hours sleeve, emery, coarse'; 'the whole part'."""
        tubes = {tube.name: tube.said for tube in self.study.parts}
        return f"the {tubes.get(line.tube, line.tube)}" + (f" ({line.where})" if line.where else "")

    def moved_by(self, line, most=3):
        """What moves a line's margin most, each with its share of the variance (see `influence`): 'pinch of finger and
        thumb 86 %, ...'; 'next to nothing' where no share reaches a hundredth."""
        own = f"@{line.tube}"   # the line says of which tube it is
        shares = [(self.study.labels[key.removesuffix(own)], share) for key, share in self.influence(line).items()]
        told = [f"{label} {words.percent(share)}" for label, share in shares[:most] if share >= 0.01]
        return ", ".join(told) or "next to nothing"

    @property
    def drawn(self):
        """What its numbers carry with them: '16 384 draws, seed 1'."""
        return words.draws(self.n, self.seed)

    def weakest_said(self):
        """The weakest evidence that affects the result, as a sentence; "" where none does."""
        if not self.weakest_evidence:
            return ""
        grade, key, criterion = self.weakest_evidence
        alike = {each.partition("@")[0] for line in self.lines for each, share in self.influence(line).items()
                 if share >= MATTERS and self.study.assumptions[each].grade == grade}
        first = f"the {self.study.labels[key]}, in '{criterion}'"
        if len(alike) == 1:
            return f"The weakest evidence that affects the result is {first} ({grade})."
        return (f"Of the weakest grade ({grade}), {words.count(len(alike))} assumptions carry "
                f"{words.percent(MATTERS)} or more of some margin; the least certain step rests on {first}.")

    @property
    def words(self):
        """The verdict in words: chance with its published word, what limits it, what it rests on, what it does not
        say."""
        line = self.limiting_line
        looked_at = "every step" if self.criteria is None else f"what was looked at ({', '.join(self.criteria)})"
        text = [f"Under these inputs it is {worlds.likelihood(self.chance, self.worlds)} (chance "
                f"{words.chance(self.chance)}, {self.worlds.said}; {self.drawn}) that {looked_at} is within reach of "
                "this workshop.",
                f"The step that limits it is '{line.criterion}' of {self.place(line)}: margin "
                f"{words.ranged(*line.quantiles('margin'))}, met with a chance of {words.chance(line.chance)}."]
        most, gain = next(iter(self.gains.items()))
        if len(self.gains) > 1 and gain >= 0.005:
            text.append(f"Most would be gained if '{most}' were always met: the chance of all would be "
                        f"{words.chance(self.chance + gain)}.")
        by_hand = max(self.lines, key=lambda each: each.by_hand)
        if by_hand.by_hand >= 0.005:
            text.append(f"Reaming is finished by hand, with a wrench, in up to {words.percent(by_hand.by_hand)} of "
                        f"draws "
                        f"({by_hand.tube}).")
        text += filter(None, [self.weakest_said()])
        if self.warnings:
            text.append(f"{words.counted(len(self.warnings), 'estimate')} went outside the range of the formula: see "
                        "warnings.")
        text.append("This is the chance that capacity exceeds demand in the model; it does not say that the part was "
                    "made so.")
        return " ".join(text)

    def __str__(self):
        return self.words
