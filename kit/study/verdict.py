"""The verdict: every criterion's demand against capacity on one set of draws, the chance, what limits it, what it rests on."""
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import evidence
from kit.study.criteria import CRITERIA
from kit.base.tables import nearest
from kit.base.units import Q, number, show, ureg
from kit.study.use import OF_A_TUBE, OF_THE_WHOLE, WHOLE

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
    return {name: int(m.sum()) for name, m in met.items()} | {"all": int(np.logical_and.reduce(list(met.values())).sum())}


def first_of_each_kind(told):
    """Warnings that differ in their numbers alone are one warning."""
    return tuple({re.sub(r"[-+.\d]+(e[-+]?\d+)?", "#", text): text for text in reversed(told)}.values())[::-1]


def _margin(demand, capacity):
    """Capacity over demand; infinite where nothing is asked."""
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
        for row in range(rows):   # to search the columns for their least, and pick it out, costs several times as much
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
        return cls(tube, criterion, outcome.unit, *least, where, outcome.by_hand, used, tuple(float(np.median(x[place])) for x in (demand, capacity)))

    @property
    def met(self):
        return self.margin >= 1

    @property
    def chance(self):
        return float(self.met.mean())

    def quantiles(self, name):
        return np.quantile(getattr(self, name), (0.05, 0.5, 0.95))


@dataclass(frozen=True)
class Formula:
    """An estimate that a criterion calls: its name, what it says of itself in one sentence, and its source."""
    name: str
    says: str
    source: str

    @classmethod
    def of(cls, function):
        text = " ".join(line.strip() for line in (function.__doc__ or "").splitlines())
        said, _, after = text.partition("Source: ")
        source = re.split(r"(?:^|(?<=\. ))(?:Raises |Validity: |Errors: )", after)[0].strip()
        return cls(f"{function.__module__.removeprefix('kit.')}.{function.__name__}", re.split(r"(?<=[.:]) ", said.strip())[0].rstrip(".:"), source.rstrip("."))


@dataclass(frozen=True)
class Ground:
    """An assumption behind a criterion: its range (median, 5 % and 95 % points, in `unit`), evidence and share.

    share: of the variance of the log margin (see Verdict.influence). feeds: demand, capacity or both. matters: whether the share is
    5 % or more. weakest: whether it is the weakest evidence among those that matter.
    """
    key: str
    median: float
    low: float
    high: float
    unit: str
    grade: str
    source: str
    note: str
    share: float
    feeds: str
    matters: bool
    weakest: bool


@dataclass(frozen=True)
class Trace:
    """Where a number comes from: claim, criterion, what is asked and given, estimates called, assumptions, choices of the maker.

    demand, capacity, margin: (5 %, median, 95 %), the first two in `unit`, of the place that is worst in each draw.
    """
    claim: str
    tube: str
    criterion: str
    says: str
    where: str
    unit: str
    demand: tuple
    capacity: tuple
    margin: tuple
    chance: float
    n: int
    seed: int
    formulas: tuple
    assumptions: tuple
    choices: dict

    def __str__(self):
        def three(values, unit=""):
            low, mid, high = (number(v) for v in values)
            return f"{mid}{f' {unit}' if unit else ''} (5 % to 95 %: {low} to {high})"

        unit = f"{ureg.Unit(self.unit):~P}"
        lines = [f"claim: {' '.join(self.claim.split())}",
                 f"  criterion '{self.criterion}' of {self.tube}{f', {self.where}' if self.where else ''}: {self.says}",
                 f"    demand {three(self.demand, unit)}; capacity {three(self.capacity, unit)}; margin {three(self.margin)}; "
                 f"met in {self.chance:.0%} of {self.n} draws, seed {self.seed}",
                 "    choices: " + "; ".join(f"{name} {text}" for name, text in self.choices.items()), "    estimates called:"]
        lines += [f"      {f.name}: {f.says} [{f.source or 'no source given'}]" for f in self.formulas]
        lines.append("    assumptions, by their share of the margin's variance:")
        for g in self.assumptions:
            mark = "   <- weakest evidence that matters" if g.weakest else ""
            spread = number(g.median) if g.low == g.high else f"{number(g.median)} ({number(g.low)} to {number(g.high)})"
            lines.append(f"      {g.share:5.1%}  {g.key} = {spread} {g.unit}".rstrip() + f", into {g.feeds}; {g.grade}; {g.source}{mark}")
        return "\n".join(lines)


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
    criteria: tuple | None = None   # that were asked for; None for all

    @cached_property
    def met(self):
        """{criterion: in which draws of the sample every tube meets it}."""
        return _met(self.lines)

    @property
    def asked(self):
        """Keys of the assumptions that some criterion asked for."""
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
        margin = _ranks(line.margin[keep])
        shares = {key: _correlation(margin, self._ranked(key, keep)) ** 2 for key in line.used if np.ndim(self.draws[key].magnitude)}
        return dict(sorted(shares.items(), key=lambda item: -item[1]))

    def _ranked(self, key, keep):
        cache = self.__dict__.setdefault("_rank_cache", {})
        if key not in cache:
            cache[key] = _ranks(self.draws[key].magnitude[keep])
        return cache[key]

    def weakest(self, line):
        """The weakest grade among the assumptions that matter to a line, and one assumption that has it: (grade, key) or None."""
        known = self.study.assumptions
        matter = [key for key, share in self.influence(line).items() if share >= MATTERS]
        if not matter:
            return None
        key = max(matter, key=lambda k: evidence.GRADES.index(known[k].grade))
        return known[key].grade, key

    def hardest(self, criterion):
        """The line of the tube that finds a criterion hardest. Raises ValueError for one that this verdict does not have."""
        lines = [line for line in self.lines if line.criterion == criterion]
        if not lines:
            raise ValueError(f"this verdict has no criterion {criterion!r}; {nearest(criterion, self.chances)}")
        return min(lines, key=lambda line: (line.chance, float(np.median(line.margin))))

    def trace(self, criterion, tube=None):
        """Where the numbers of a criterion come from: a Trace, which prints as a tree and which `figures.trace` draws.

        tube: name; the one that finds the criterion hardest where None. The estimates are those really called, and an assumption
        feeds what moves when it goes to its 5 % or 95 % point, all others at their medians.
        Raises ValueError for a criterion or tube that this verdict does not have.
        """
        line = self.hardest(criterion)
        if tube is not None:
            of = {each.tube: each for each in self.lines if each.criterion == criterion}
            if tube not in of:
                raise ValueError(f"'{criterion}' is not asked of {tube!r}; {nearest(tube, of)}")
            line = of[tube]
        study, influence, weakest = self.study, self.influence(line), self.weakest(line)
        ends = {key: [float(x) for x in np.quantile(np.atleast_1d(self.draws[key].m), (0.05, 0.5, 0.95))] for key in self.draws}
        asked = sorted(line.used)
        moved = {key: Q(mid, self.draws[key].units) for key, (_, mid, _) in ends.items()}
        for i, key in enumerate(asked):   # all at their medians, then each alone at its two ends
            values = np.full(1 + 2 * len(asked), ends[key][1])
            values[[1 + 2 * i, 2 + 2 * i]] = ends[key][0], ends[key][2]
            moved[key] = Q(values, self.draws[key].units)
        outcome, _, called, choices = study.look_into(criterion, line.tube, moved)
        feeds = {name: _moved_by(side.m_as(outcome.unit), asked) for name, side in (("demand", outcome.demand), ("capacity", outcome.capacity))}

        def of(key):
            sides = [name for name, keys in feeds.items() if key in keys]
            known = study.assumptions[key]
            return Ground(key, ends[key][1], ends[key][0], ends[key][2], f"{ureg.Unit(known.unit):~P}", known.grade, known.source, known.note,
                          influence.get(key, 0.0), {2: "both", 1: sides[0] if sides else "", 0: "neither"}[len(sides)],
                          influence.get(key, 0.0) >= MATTERS, bool(weakest) and key == weakest[1])

        grounds = sorted(map(of, asked), key=lambda g: -g.share)
        quantiles = {name: tuple(map(float, line.quantiles(name))) for name in ("demand", "capacity", "margin")}
        return Trace(study.claim.strip(), line.tube, criterion, said(criterion), line.where, line.unit, **quantiles, chance=line.chance, n=self.n,
                     seed=self.seed, formulas=tuple(map(Formula.of, called)), assumptions=tuple(grounds),
                     choices={name: show(value) if isinstance(value, Q) else str(value) for name, value in choices.items()})

    @cached_property
    def table(self):
        """DataFrame, a row a criterion of a tube: where it is worst most often, demand and capacity there (medians), margin (worst place in each draw), chance, evidence."""
        import pandas as pd
        rows = []
        for line in self.lines:
            low, mid, high = line.quantiles("margin")
            influence, weakest = self.influence(line), self.weakest(line)
            carried = next(((key, share) for key, share in influence.items() if share >= 0.01), None)
            rows.append({"tube": line.tube, "criterion": line.criterion, "where": line.where, "unit": line.unit,
                         "demand": line.typical[0], "capacity": line.typical[1],
                         "margin": mid, "margin_5": low, "margin_95": high, "chance": line.chance, "by_hand": line.by_hand,
                         "carried_by": carried[0].partition("@")[0] if carried else "", "share": carried[1] if carried else 0.0,
                         "weakest_evidence": weakest[0] if weakest else ""})
        return pd.DataFrame(rows)

    @cached_property
    def weakest_evidence(self):
        """(grade, key, criterion) of the weakest evidence that matters anywhere, looking at the least certain criteria first."""
        found = None
        for line in sorted(self.lines, key=lambda line: line.chance):
            grade, key = self.weakest(line) or (None, None)
            if grade and (found is None or evidence.GRADES.index(grade) > evidence.GRADES.index(found[0])):
                found = grade, key.partition("@")[0], line.criterion
            if grade == evidence.GRADES[-1]:   # nothing is weaker: no need to look at the rest
                break
        return found

    @property
    def words(self):
        """The verdict in words: the chance with its published word, what limits it, what it rests on, what it does not say."""
        line = self.limiting_line
        low, mid, high = (number(x, 2) for x in line.quantiles("margin"))
        where = f", {line.where}" if line.where else ""
        place = line.tube if line.tube == WHOLE else f"{line.tube} tube"
        looked_at = "every step" if self.criteria is None else f"what was looked at ({', '.join(self.criteria)})"
        text = [f"Under these inputs it is {evidence.likelihood(self.chance)} (chance {self.chance:.2f}; {self.n} draws, seed {self.seed}) "
                f"that {looked_at} is within reach of this workshop.",
                f"The step that limits it is '{line.criterion}' of the {place}{where}: margin {mid} "
                f"(5 % to 95 %: {low} to {high}), met in {line.chance:.0%} of draws."]
        if line.by_hand >= 0.005:
            text.append(f"In {line.by_hand:.0%} of draws two hands on a wrench did it, not the bow.")
        by_hand = max(self.lines, key=lambda each: each.by_hand)
        if by_hand is not line and by_hand.by_hand >= 0.005:
            text.append(f"Reaming is finished by hand, with a wrench, in up to {by_hand.by_hand:.0%} of draws ({by_hand.tube} tube).")
        if self.weakest_evidence:
            grade, key, criterion = self.weakest_evidence
            text.append(f"The weakest evidence that matters is '{key}' ({grade}), in '{criterion}'.")
        if self.warnings:
            text.append(f"{len(self.warnings)} estimate{'s' if len(self.warnings) > 1 else ''} went outside the range of the formula: see warnings.")
        text.append("This is the chance that capacity exceeds demand in the model; it does not say that the part was made so.")
        return " ".join(text)

    def __str__(self):
        return self.words


def said(criterion):
    """What a criterion asks, in its own words."""
    return " ".join((CRITERIA | OF_A_TUBE | OF_THE_WHOLE)[criterion].__doc__.split("\n\n")[0].split())


def _moved_by(values, keys):
    """Which of the keys move a quantity: column 0 has all at their medians, then two columns a key."""
    values = np.atleast_2d(values)
    if values.shape[1] == 1:
        return set()
    moved = np.any(np.abs(values - values[:, :1]) > 1e-12 * np.abs(values[:, :1]), axis=0)
    return {key for i, key in enumerate(keys) if moved[1 + 2 * i] or moved[2 + 2 * i]}


def _ranks(values):
    order = np.empty(len(values))
    order[np.argsort(values)] = np.arange(len(values))
    return order


def _correlation(a, b):
    a, b = a - a.mean(), b - b.mean()
    scale = np.sqrt((a @ a) * (b @ b))
    return float(a @ b / scale) if scale > 0 else 0.0
