"""Which assumption carries a verdict."""
import warnings

import numpy as np

from kit.base import tables
from kit.base.units import OutOfRange, Q
from kit.estimates import uncertainty
from kit.study.judge import assess, lines
from kit.study.studyfile import StudyError


def sensitivity(plan, method="tornado", criterion=None, n=2**9, seed=1):
    """Which assumption carries the verdict: the log of the least margin, or of one criterion's, taken apart.

    method: "tornado" (each assumption alone from its 5 % to its 95 % point), "morris" (elementary effects, n
    trajectories) or "sobol" (shares of variance, n a power of two). criterion: a name of EVERY; all where None.
    Returns the DataFrame of the function of that name in `uncertainty`, for log10 of the margin (limited to between
    0.01 and 100, beyond which the answer is plain), with grade and source of each assumption beside. What is drawn for
    each tube has a row for each tube ('key@tube'). morris (at most 64 trajectories) and sobol take the assumptions as
    independent, correlations of the study left out.
    Raises StudyError for a study that a bench log has updated: its draws are correlated, and cannot be varied one at a
    time.
    """
    if plan.conditioned:
        raise StudyError("this study has been updated by a log, so its assumptions no longer vary one by one; take the "
                         "study as it was loaded, "
                         "or read `carried_by` and `share` in the table of this one's verdict")
    n = min(n, 64) if method == "morris" else n
    known = {"tornado": lambda m, a: uncertainty.tornado(m, a), "morris": lambda m,
             a: uncertainty.morris(m, a, n, seed),
             "sobol": lambda m, a: uncertainty.sobol(m, a, n, seed)}
    if method not in known:
        raise StudyError(f"no method {method!r}; {tables.nearest(method, known)}")
    criteria = None if criterion is None else (criterion,)
    used = frozenset().union(*(line.used for line in assess(plan, 2**10, seed, criteria).lines))
    rows = [row for key, row in plan.assumptions.items() if key in used]
    middles = {key: row.middle for key, row in plan.assumptions.items()}

    def model(values):
        size = max(np.size(q.magnitude) for q in values.values())
        # the verdict has reported them; the corners looked at here mean nothing by themselves
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", OutOfRange)
            found, _ = lines(plan, middles | values, size, criteria)
        return Q(np.log10(np.clip(np.min([line.margin for line in found], axis=0), 1e-2, 1e2)), "")

    table = known[method](model, rows)
    table.insert(0, "assumption", [plan.labels[k] for k in table.index])
    table["grade"] = [plan.assumptions[k].grade for k in table.index]
    table["source"] = [plan.assumptions[k].source for k in table.index]
    table.attrs = plan.provenance(n, seed) | {"method": method, "criterion": criterion or "all"}
    return table
