"""A tube as it usually comes out, or as it does where things go badly: one size for each quantity, for drawings."""
import numpy as np

from kit.base import tables, words
from kit.base.units import told
from kit.study.criteria import CRITERIA, Case
from kit.study.studyfile import StudyError
from kit.study.use import OF_A_TUBE

ASKED = CRITERIA | OF_A_TUBE
SHARE = 0.05   # of the draws, that count as bad


class Typical:
    """One tube of a plan with every quantity at its median, over all draws or over the worst of them.

    plan: study or variant. tube: its name; the first where None. worst: a criterion; the medians are then those of the
    draws in which this tube's margin is least, `share` of them. draws, seed: as for `assess`.
    A median for each quantity is no draw that ever came up, but it neither jitters nor depends on one odd draw.
    Raises StudyError for a tube or a criterion that the plan has not.
    """

    def __init__(self, plan, tube=None, worst=None, share=SHARE, draws=2**10, seed=1):
        known = {each.name: each for each in plan.tubes}
        if tube is not None and tube not in known:
            raise StudyError(f"tube: {tube!r} is none of this study's: {', '.join(known)}")
        self.plan, self.tube = plan, known[tube] if tube else plan.tubes[0]
        self.n, self.seed, self.worst, self.share = draws, seed, worst, share
        with told():   # the verdict tells what lies outside a formula's range
            self.case = Case(self.tube, plan.steps(self.tube), plan.workshop, plan.draws(draws, seed), plan.use)
            self.at = slice(None) if worst is None else self._worst(worst)

    def _worst(self, criterion):
        found = self._outcome(criterion)
        if found is None:
            raise StudyError(f"worst: nothing is asked of the {self.tube.said} under {criterion!r}; "
                             f"{tables.nearest(criterion, ASKED)}")
        demand, capacity = (np.atleast_2d(q.m_as(found.unit)) for q in (found.demand, found.capacity))
        margin = np.broadcast_to((capacity / np.maximum(demand, 1e-300)).min(axis=0), self.n)
        return np.argsort(margin, kind="stable")[:max(1, round(self.share * self.n))]

    def _outcome(self, criterion):
        return ASKED[criterion](self.case) if criterion in ASKED else None

    def mid(self, quantity, unit, row=-1):
        """The median of a Quantity over these draws, a plain number in `unit`; of its last row where it has several."""
        plain = np.asarray(quantity.m_as(unit), float)
        plain = plain[row] if plain.ndim > 1 else plain
        return float(np.median(plain[self.at] if plain.size > 1 else plain))

    def of(self, key, unit=""):
        """The median of an assumption."""
        return self.mid(self.case[key], unit)

    def form(self, name, unit="mm"):
        """A quantity of the finished tube, a name of state.HOLDS."""
        with told():
            return self.mid(getattr(self.case.state, name), unit)

    def asked(self, criterion, row=0):
        """(demand, capacity) of a criterion at their medians, at one of its places; None where it is not asked of this
        tube."""
        with told():
            found = self._outcome(criterion)
        return None if found is None else tuple(self.mid(q, found.unit, row) for q in (found.demand, found.capacity))

    def step(self, *names):
        """The last step of these operations or tools: (Operation, its row, Step); None where the route has none."""
        for each in reversed(self.case.operations):
            for row in reversed(range(len(each.steps))):
                step = each.steps[row]
                if each.name in names or step.tool is not None and step.tool.kind in names:
                    return each, row, step
        return None

    def settled(self, operation, row):
        """What is settled at the bench for a step, in the unit of the operation."""
        with told():
            return self.mid(operation.setting, operation.settles[1], row)

    def torque(self, operation, row):
        """Torque of a step, N*m."""
        with told():
            return self.mid(operation.torque, "N*m", row)

    @property
    def said(self):
        """What the drawn sizes are."""
        which = f"among the {words.percent(self.share)} of draws with the least margin of '{self.worst}'"
        return (f"The {self.tube.said}; each size at its median{f' {which}' if self.worst else ''} "
                f"({words.draws(self.n, self.seed)}).")
