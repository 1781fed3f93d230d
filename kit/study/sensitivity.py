"""Which assumption carries a verdict."""
import warnings

import numpy as np

from kit.base import evidence, tables
from kit.base.evidence import Assumption
from kit.base.units import OutOfRange, Q
from kit.estimates import uncertainty
from kit.study import shares
from kit.study.judge import assess, lines
from kit.study.studyfile import StudyError

TOGETHER = shares.TAUGHT   # the row that stands for all that a bench log has updated


def sensitivity(plan, method="sobol", criterion=None, n=2**9, seed=1):
    """Which assumption carries the verdict: the log of the least margin, or of one criterion's, taken apart.

    method: "sobol" (shares of variance, correlations kept: see `shares.shares`), "tornado" (each assumption alone from
    its 5 % to its 95 % point) or "morris" (elementary effects, n trajectories). criterion: a name of EVERY; all where
    None.
    Returns the DataFrame of that function, or of the one of that name in `uncertainty`, for log10 of the margin
    (limited to between 0.01 and 100, in sobol of all criteria to between 1/3 and 3, beyond which the answer is plain),
    with grade and source of each assumption beside. What is drawn for each tube counts together in sobol; elsewhere it
    has a row for each tube ('key@tube').
    morris (at most 64 trajectories) takes the assumptions as independent, correlations of the study left out.
    Of a study that a bench log has updated, the draws of what it updated go together, so they have one row, TOGETHER:
    they are taken as whole rows of the update, put in order of the margin that they give with all else at its median,
    and varied as one. tornado tells each of them as well: the median margin where it is near its own 5 % and 95 %
    point, the others going with it as the log has tied them.
    """
    n = min(n, 64) if method == "morris" else n
    known = {"tornado": lambda m, a: uncertainty.tornado(m, a), "morris": lambda m,
             a: uncertainty.morris(m, a, n, seed),
             "sobol": None}
    if method not in known:
        raise StudyError(f"no method {method!r}; {tables.nearest(method, known)}")
    if method == "sobol":
        return _shares(plan, criterion, n, seed)
    criteria = None if criterion is None else (criterion,)
    used = frozenset().union(*(line.used for line in assess(plan, 2**10, seed, criteria).lines))
    held = {key: Q(draws, plan.assumptions[key].unit) for key, draws in (plan.conditioned or {}).items()
            if key in used and key.partition("@")[0] not in plan.fixed}
    rows = [row for key, row in plan.assumptions.items() if key in used and key not in held]
    middles = {key: row.middle for key, row in plan.assumptions.items()} | {k: np.median(q) for k, q in held.items()}
    order = None
    if held:
        rows.append(Assumption(TOGETHER, None, 0, 1, "", "uniform", evidence.TAUGHT, "own-trial",
                               label="what the log has updated, together"))

    def model(values):
        if order is not None:
            at = np.minimum((values[TOGETHER].m * len(order)).astype(int), len(order) - 1)
            values = values | {key: q[order[at]] for key, q in held.items()}
        size = max(np.size(q.magnitude) for q in values.values())
        # the verdict has reported them; the corners looked at here mean nothing by themselves
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", OutOfRange)
            found, _ = lines(plan, middles | values, size, criteria)
        return Q(np.log10(np.clip(np.min([line.margin for line in found], axis=0), 1e-2, 1e2)), "")

    if held:
        taught = np.broadcast_to(model(held).m, np.size(next(iter(held.values()))))
        order = np.argsort(taught, kind="stable")
    table = known[method](model, rows)
    if held and method == "tornado":
        table = _with_each(table, held, taught)
    about = plan.assumptions | {row.key: row for row in rows}
    table.insert(0, "assumption", [plan.labels.get(k, about[k].said) for k in table.index])
    table["grade"] = [about[k].grade for k in table.index]
    table["source"] = [about[k].source for k in table.index]
    table.attrs = plan.provenance(n, seed) | {"method": method, "criterion": criterion or "all"}
    return table


def _shares(plan, criterion, n, seed):
    """The table of `shares.shares` with what each group is called, and the weakest grade and the sources in it."""
    table = shares.shares(plan, criterion, n, seed)
    known = plan.assumptions
    parts = {name: sorted({key.partition("@")[0] for key in keys}) for name, keys in table["keys"].items()}
    table.insert(0, "assumption", ["what the log has updated, together" if name == TOGETHER
                                   else " and ".join(plan.labels[key] for key in parts[name]) for name in table.index])
    table["grade"] = [max((known[key].grade for key in keys), key=evidence.GRADES.index) for keys in table["keys"]]
    table["source"] = [", ".join(sorted({known[key].source for key in keys})) for keys in table["keys"]]
    table = table.drop(columns="keys")
    table.attrs = plan.provenance(n, seed) | {"method": "sobol", "criterion": criterion or "all"}
    return table


def _with_each(table, held, margins):
    """A tornado with a row for each updated assumption: the median margin of the draws nearest its 5 % and its 95 %
    point, a tenth of them all at either."""
    import pandas as pd
    tenth, found = max(1, len(margins) // 10), {}
    for key, draws in held.items():
        along = margins[np.argsort(draws.m, kind="stable")]
        low, high = np.median(along[:tenth]), np.median(along[-tenth:])
        found[key] = {"at_low": low, "at_high": high, "swing": high - low}
    each = pd.DataFrame.from_dict(found, orient="index").assign(middle=table["middle"].iloc[0],
                                                                 unit=table["unit"].iloc[0])
    return pd.concat([table, each]).rename_axis("key").sort_values("swing", key=np.abs, ascending=False, kind="stable")
