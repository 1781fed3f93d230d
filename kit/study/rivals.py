"""Rival ways of making the part: what each needs, costs and leaves behind, side by side."""
import numpy as np

from kit.base import evidence, tables
from kit.study.judge import assess
from kit.study.use import LABOUR


def rival(name):
    """Steps of a rival route from the reference table, in order, each a dict (chances, hours, metal, traces, removes).

    Raises tables.TableError for an unknown route, with the nearest names, and ValueError for a step that cannot follow
    the last.
    """
    known = tables.load("rival_routes")
    steps = [row for row in known if row["route"] == name]
    if not steps:
        raise tables.TableError(f"there is no route {name!r}; "
                                f"{tables.nearest(name, dict.fromkeys(r['route'] for r in known))}")
    check_order(steps)
    return steps


def check_order(steps):
    """Raises ValueError where a step needs one that has not come before."""
    done = []
    for step in steps:
        if step["needs"] and step["needs"] not in done:
            raise ValueError(f"{step['step']!r} cannot follow {done[-1] if done else 'nothing'!r}: it needs "
                             f"{step['needs']!r} before it; put that step first")
        done.append(step["step"])


def traces_left(steps):
    """What can still be seen on the finished part: traces of the steps, less what later steps remove, in order."""
    seen = []
    for step in steps:
        gone = _words(step["removes"])
        seen = [t for t in seen if t not in gone]
        seen += [t for t in _words(step["traces"]) if t not in seen]
    return seen


def _words(text):
    return [word.strip() for word in (text or "").split(";") if word.strip()]


def compare(rivals, n=2**12, seed=1):
    """Rival routes side by side: chance, hours, metal, and the traces by which they could be told apart.

    rivals: a list of names of routes (data/reference/rival_routes.csv), or of (name, study) pairs, where the study's
    verdict on one tube is added to the table's judgement, and its hours replace the table's. n, seed: of the draws.
    Returns a DataFrame, one row for each route: within_reach (the study's chance that capacity exceeds demand in every
    step of a tube; missing where there is no study), chance (judged: that one blank comes through every step; mean, 5 %
    and 95 % of what is believed; not the same as the former), hours (median, 5 %, 95 %), metal (in over out), traces
    (left on the part), tells (those that no other route here leaves), weakest_evidence. It ranks nothing: a route that
    is likelier or quicker is not the one that was taken, and only a trace that a rival does not leave speaks against
    the rival.
    Validity: the chances and hours of the table are judgement; steps are taken as independent.
    Raises ValueError for a name that stands twice or a step that cannot follow, tables.TableError for an unknown route.
    """
    import pandas as pd
    named = [(r, None) if isinstance(r, str) else r for r in rivals]
    names = [name for name, _ in named]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"{name!r} stands twice; compare each route once")
    left = {name: traces_left(rival(name)) for name in names}
    rows = {}
    for name, study in named:
        steps = rival(name)
        drawn = evidence.draw([a for i, step in enumerate(steps) for a in _judged(step, i)], n, seed)
        chance = np.prod([np.clip(drawn[f"chance {i}"].m, 0, 1) for i in range(len(steps))], axis=0)
        hours = np.sum([drawn[f"hours {i}"].m for i in range(len(steps))], axis=0)
        grade, within = max((step["grade"] for step in steps), key=evidence.GRADES.index), np.nan
        if study is not None:
            verdict = assess(study, n, seed)
            # one tube against one blank of a rival: what all tubes share is left out
            tubes = [t.name for t in study.tubes]
            within = float(np.mean([np.logical_and.reduce([line.met for line in verdict.lines if line.tube == name])
                                    for name in tubes]))
            worked = [line for line in verdict.lines if line.criterion == LABOUR]
            hours = worked[0].demand / len(study.tubes) if worked else hours
            grade = verdict.weakest_evidence[0] if verdict.weakest_evidence else ""
        low, mid, high = np.quantile(hours, (0.05, 0.5, 0.95))
        others = {t for other in names if other != name for t in left[other]}
        rows[name] = {"within_reach": within, "chance": chance.mean(), "chance_5": np.quantile(chance, 0.05),
                      "chance_95": np.quantile(chance, 0.95), "hours": mid, "hours_5": low,
                      "hours_95": high, "metal": max((step["metal"] or 1) for step in steps),
                      "traces": "; ".join(left[name]),
                      "tells": "; ".join(t for t in left[name] if t not in others), "weakest_evidence": grade}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("route")


def _judged(step, position):
    common = {"shape": "uniform", "grade": step["grade"], "source": step["source"], "limits": "p5_p95", "value": None}
    yield evidence.Assumption(f"chance {position}", low=step["chance_low"], high=step["chance_high"], unit="", **common)
    yield evidence.Assumption(f"hours {position}", low=step["hours_low"], high=step["hours_high"], unit="h", **common)
