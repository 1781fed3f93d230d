"""A design: a study judged at many points, over any keys at once, on as many cores as there are, kept and resumed."""
import hashlib
import itertools
import json
import time
from concurrent.futures import BrokenExecutor, CancelledError, ThreadPoolExecutor
from pathlib import Path

import numpy as np

from kit.base import files, stopping, words
from kit.base.units import Q
from kit.operations import settle
from kit.study.judge import assess
from kit.study.studyfile import StudyError

MOST_HOURS = 1.0   # that a design may take without being asked for
GONE = BrokenExecutor, CancelledError, ConnectionError, OSError   # what an executor raises whose workers are gone,
GONE_BY_NAME = "KilledWorker", "FutureCancelledError"             # and a cluster's, which is no part of this kit


def design(plan, factors, draws=2**12, seed=1, criteria=None, adapt=settle.FEEL, executor=None, keep=None,
           progress=None, most_hours=MOST_HOURS):
    """The verdict at every point of a design, on the same draws: a tidy DataFrame, a row a point and criterion.

    factors: {key: values}, every combination of them (keys as in `with_`; "study" takes other studies), or a list of
    points, each {key: value}. draws, seed, criteria, adapt: as for `assess`. executor: any of concurrent.futures, also
    that of a cluster (`Client(...).get_executor()` of dask.distributed, extra `cluster`); two threads where None. keep:
    a folder in which each finished point is kept; a run that was stopped goes on from there.
    progress: called with (done, total). most_hours: that it may take; beyond it the time is told instead.

    Columns: the keys, criterion ("all" for all of them), chance with its standard_error (by the number of draws),
    margin, margin_5, margin_95 (of the worst tube; of the least margin for "all"), limiting. `.attrs`: provenance.
    Raises StudyError for no points, points that contradict each other, a folder of another design, an executor that
    dies, or more time than is allowed.
    """
    import pandas as pd
    points = _points(factors)
    asked = {"draws": int(draws), "seed": seed, "criteria": criteria and list(criteria), "adapt": adapt}
    store = _Kept(keep, plan, asked) if keep is not None else None
    found = {i: kept for i, point in enumerate(points) if store and (kept := store.read(point)) is not None}
    missing = [i for i in range(len(points)) if i not in found]
    if missing:
        begun = time.perf_counter()
        found[missing[0]] = _judged(plan, points[missing[0]], draws, seed, criteria, adapt)
        hours = (time.perf_counter() - begun) * len(missing) / 3600
        if hours > most_hours:
            raise StudyError(f"{words.count(len(missing))} points take about {words.number(hours)} h one after the "
                             f"other; give fewer points or draws, or allow it with most_hours")
        if store:
            store.write(points[missing[0]], found[missing[0]])
        _run(plan, points, missing[1:], (draws, seed, criteria, adapt), executor, store, found, progress)
    table = pd.DataFrame([row for i in sorted(found) for row in found[i]])
    table.attrs = plan.provenance(int(draws), seed) | {"points": len(found)}
    return table


def _points(factors):
    if isinstance(factors, dict):
        empty = [key for key, values in factors.items() if not len(values)]
        if not factors or empty:
            raise StudyError(f"a design without points: give at least one value for "
                             f"{empty[0] if empty else 'some key'}")
        points = [dict(zip(factors, values)) for values in itertools.product(*factors.values())]
    else:
        points = [dict(point) for point in factors]
        if not points:
            raise StudyError("a design without points: give at least one")
    if any(set(point) != set(points[0]) for point in points):
        raise StudyError("every point of a design names the same keys; fill in what one of them leaves out")
    for key in points[0]:
        tube, _, which = key.partition(".")
        if which and which in points[0]:
            raise StudyError(f"{key!r} and {which!r} contradict each other: the one is for all tubes, the other for "
                             f"{tube} alone; keep one of the two")
    return points


def _judged(plan, point, draws, seed, criteria, adapt):
    """Rows of one point. On a worker: everything it needs is in its arguments."""
    changes = {key: value for key, value in point.items() if key != "study"}
    plan = point.get("study", plan)
    verdict = assess(plan.with_(**changes), draws, seed, criteria, adapt=adapt)
    at = {key: _plain(value) for key, value in changes.items()}
    if "study" in point:
        at["study"] = plan.title

    def row(criterion, chance, margin):
        low, mid, high = np.quantile(margin, (0.05, 0.5, 0.95))
        return at | {"criterion": criterion, "chance": chance,
                     "standard_error": float(np.sqrt(chance * (1 - chance) / verdict.n)), "margin": float(mid),
                     "margin_5": float(low), "margin_95": float(high), "limiting": verdict.limiting}

    rows = [row("all", verdict.chance, verdict.least_margin)]
    for criterion, chance in verdict.chances.items():
        worst = np.min([line.margin for line in verdict.lines if line.criterion == criterion], axis=0)
        rows.append(row(criterion, chance, worst))
    return rows


def _plain(value):
    if isinstance(value, Q):
        return words.planned(value)
    return value if isinstance(value, (str, int, float)) else str(value)


def _run(plan, points, missing, how, executor, store, found, progress):
    """Judges what is missing, in the executor, and keeps each point as it is done."""
    own = executor is None
    executor = executor or ThreadPoolExecutor(2)
    waiting = {i: executor.submit(_judged, plan, points[i], *how) for i in missing}
    try:
        for i, future in waiting.items():
            found[i] = future.result()
            if store:
                store.write(points[i], found[i])
            if progress:
                progress(len(found), len(points))
    except KeyboardInterrupt:
        if not stopping.in_notebook():
            raise
    except Exception as error:
        if not isinstance(error, GONE) and type(error).__name__ not in GONE_BY_NAME:
            raise
        kept = f"; {len(found)} of {len(points)} points are kept in {store.folder}, and a new run goes on from there" \
            if store else "; give a folder to keep points in, and a new run goes on from there"
        raise StudyError(f"the workers stopped before the design was done ({type(error).__name__}){kept}") from None
    finally:
        for future in waiting.values():
            future.cancel()
        if own:
            executor.shutdown(cancel_futures=True)


class _Kept:
    """A folder that holds the finished points of one design, each a file of its own."""

    def __init__(self, folder, plan, asked):
        self.folder = Path(folder)
        self.inputs = {"inputs": plan.provenance(asked["draws"], asked["seed"])["inputs"]} | asked
        self.folder.mkdir(parents=True, exist_ok=True)
        said = self.folder / "design.json"
        if said.exists():
            try:
                there = json.loads(said.read_text(encoding="utf-8"))
            except ValueError:
                there = None
            if there != self.inputs:
                raise StudyError(f"{said}: the folder holds the points of another study, or of other draws; give each "
                                 "design a folder of its own")
        elif any(self.folder.iterdir()):
            raise StudyError(f"{self.folder}: not empty, and no design.json in it; give a new folder")
        else:
            files.put(said, json.dumps(self.inputs, indent=1, sort_keys=True) + "\n")

    def _file(self, point):
        said = json.dumps({key: value.provenance(1, 1)["inputs"] if key == "study" else _plain(value)
                           for key, value in point.items()}, sort_keys=True)
        return self.folder / f"{hashlib.sha256(said.encode()).hexdigest()[:16]}.json"

    def read(self, point):
        """The rows of a point that is done; None where it is not, or its file was cut short."""
        try:
            return json.loads(self._file(point).read_text(encoding="utf-8"))
        except (FileNotFoundError, ValueError):
            return None

    def write(self, point, rows):
        files.put(self._file(point), json.dumps(rows) + "\n")
