"""Where a number comes from: claim, criterion, demand and capacity, estimates called, assumptions, choices."""
import re
from dataclasses import dataclass

import numpy as np

from kit.base import references, tables, words
from kit.base.units import Q
from kit.study.outcomes import look_into, said


KITS = "assumption of the kit's tables"


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
        return cls(f"{function.__module__.rpartition('.')[2]}.{function.__name__}",
                   re.split(r"(?<=[.:]) ", said.strip())[0].rstrip(".:"), source.rstrip("."))


@dataclass(frozen=True)
class Ground:
    """An assumption behind a criterion: its range (median, 5 % and 95 % points, in `unit`), evidence and share.

    label: what it is called in print. share: of the variance of the log margin (see Verdict.influence). feeds: demand,
    capacity or both. matters: whether the share is 5 % or more. weakest: whether it is the weakest evidence among
    those that matter.
    """
    key: str
    label: str
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
    cited: str = ""   # the source as it is told: author and year, or its words

    @property
    def rests_on(self):
        """Grade and source, in words."""
        return f"{self.grade.replace('-', ' ')}; {self.cited or self.source}"


@dataclass(frozen=True)
class Trace:
    """Where a number comes from: claim, criterion, demand and capacity, estimates called, assumptions, choices of the
    maker.

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
        lines = [f"claim: {' '.join(self.claim.split())}",
                 f"  criterion '{self.criterion}' of {self.tube}{f', {self.where}' if self.where else ''}: {self.says}",
                 f"    median (5 % to 95 %): demand {words.ranged(*self.demand, self.unit)}; capacity "
                 f"{words.ranged(*self.capacity, self.unit)}; margin {words.ranged(*self.margin)}",
                 f"    chance of being met {words.chance(self.chance)}; {words.draws(self.n, self.seed)}",
                 f"    choices: {choices_said(self.choices)}",
                 "    estimates called:"]
        lines += [f"      {words.key_label(f.name)}: {f.says} [{f.source or 'no source given'}]" for f in self.formulas]
        lines.append("    assumptions, by their share of the margin's variance:")
        for g in self.assumptions:
            mark = "   <- weakest evidence that matters" if g.weakest else ""
            spread = words.ranged(g.low, g.median, g.high, g.unit, digits=3)
            lines.append(f"      {words.percent(g.share):>6}  {g.label}: {spread}, enters {g.feeds}; "
                         f"{g.rests_on}{mark}")
        return "\n".join(lines)


def choices_said(choices):
    """The maker's choices, {name: text}, in words; those alike of several steps once: 'bore: 5 mm; pressure: 30 kPa
    (emery, fine, haematite, levigated)'."""
    places = {}
    for name, text in choices.items():
        place, _, what = name.rpartition(": ")
        places.setdefault((what, text), []).append(place)
    return "; ".join(f"{what}: {text}" + (f" ({', '.join(filter(None, at))})" if any(at) else "")
                     for (what, text), at in places.items())


def trace(plan, line, draws, shares, weakest, matters, n, seed, adapt):
    """Where the numbers of a criterion come from.

    plan: a Plan. line: the verdict's on that criterion. draws: {key: Quantity}. shares: {key: share of the variance of
    the log margin}. weakest: key of the weakest evidence that matters, or None. matters: share from which an
    assumption's evidence counts. n, seed, adapt: of the verdict. The estimates are those really called, and an
    assumption feeds what moves when it goes to its 5 % or 95 % point, all others at their medians. Returns a Trace.
    """
    ends = {key: [float(x) for x in np.quantile(np.atleast_1d(draws[key].m), (0.05, 0.5, 0.95))] for key in draws}
    asked = sorted(line.used)
    moved = {key: Q(mid, draws[key].units) for key, (_, mid, _) in ends.items()}
    for i, key in enumerate(asked):   # all at their medians, then each alone at its two ends
        values = np.full(1 + 2 * len(asked), ends[key][1])
        values[[1 + 2 * i, 2 + 2 * i]] = ends[key][0], ends[key][2]
        moved[key] = Q(values, draws[key].units)
    outcome, _, called, choices = look_into(plan, line.criterion, line.tube, moved, adapt)
    feeds = {name: _moved_by(side.m_as(outcome.unit), asked)
             for name, side in (("demand", outcome.demand), ("capacity", outcome.capacity))}

    bibs = [path for path in (tables.REFERENCE / "sources.bib", plan.folder / "sources.bib") if path.exists()]
    cited = references.citations([plan.assumptions[key].source for key in asked], *bibs)

    def of(key):
        sides = [name for name, keys in feeds.items() if key in keys]
        known, share, own = plan.assumptions[key], shares.get(key, 0.0), {key, key.partition("@")[0]}
        low, mid, high = ends[key]
        return Ground(key, plan.labels[key], mid, low, high, words.unit(known.unit), known.grade, known.source,
                      known.note,
                      share, {2: "both", 1: sides[0] if sides else "", 0: "neither"}[len(sides)], share >= matters,
                      key == weakest, KITS if known.source == "assumption" and not own & plan.rows.keys() else
                      cited[known.source])

    grounds = sorted(map(of, asked), key=lambda g: -g.share)
    quantiles = {name: tuple(map(float, line.quantiles(name))) for name in ("demand", "capacity", "margin")}
    return Trace(plan.claim.strip(), line.tube, line.criterion, said(line.criterion), line.where, line.unit,
                 **quantiles, chance=line.chance, n=n, seed=seed, formulas=tuple(map(Formula.of, called)),
                 assumptions=tuple(grounds),
                 choices={words.choice(name): words.planned(value) if isinstance(value, Q) else str(value)
                          for name, value in choices.items()})


def _moved_by(values, keys):
    """Which of the keys move a quantity: column 0 has all at their medians, then two columns a key."""
    values = np.atleast_2d(values)
    if values.shape[1] == 1:
        return set()
    moved = np.any(np.abs(values - values[:, :1]) > 1e-12 * np.abs(values[:, :1]), axis=0)
    return {key for i, key in enumerate(keys) if moved[1 + 2 * i] or moved[2 + 2 * i]}
