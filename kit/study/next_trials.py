"""Which measurement to make next: how much n readings would narrow the verdict, and what they cost in hours."""
import datetime
import warnings
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, stopping, words
from kit.base.units import Q, told
from kit.operations import settle
from kit.study import bench
from kit.study.worlds import weak_rows
from kit.study.measured import Measured
from kit.study.measured import readings as readings_in
from kit.study.outcomes import cases_of, outcomes
from kit.study.protocols import protocols
from kit.study.studyfile import StudyError
from kit.study.update import UPDATES

READINGS = (3, 6, 12)
WORLDS, INNER, TRUTHS = 256, 64, 64   # worlds, draws in each, and truths that readings are imagined of
AGAIN = 60        # resamplings of the worlds and truths, for errors
FEW_LEFT = 12     # effective worlds below which a width is not to be trusted
SHOWN = 2         # standard errors by which two must differ to be ranked
BOWED = 10.0      # minutes of a pull, or of a count of strokes
LAPPED = 60.0     # minutes of lapping between two weighings


@dataclass(frozen=True)
class Reading:
    """What a protocol would read of this study. said: of what. log: what it predicts for each draw, on the scale of
    logarithms, shape (n,). scatter, bias, day: standard deviations there. own: spread from piece to piece that further
    pieces average out."""
    protocol: object
    said: str
    log: np.ndarray
    scatter: float
    bias: float
    day: float
    own: float = 0.0

    def error(self, n):
        """Standard deviation of the mean of n readings of one gauge on one day."""
        return float(np.sqrt(self.bias**2 + self.day**2 + (self.scatter**2 + self.own**2) / n))


def next_trials(plan, hours=None, readings=READINGS, worlds=WORLDS, inner=INNER, truths=TRUTHS, seed=1,
                criteria=None, progress=None):
    """Which measurement would narrow the verdict most: a DataFrame, a row a measurement and number of readings.

    hours: at most so many for one measurement; any where None. readings: numbers of readings looked at. worlds, inner:
    worlds of what is weakly known, and draws in each, as for the band of a verdict. truths: draws that are taken as
    true in turn, of which readings are imagined. criteria: as for `assess`. progress: called with (done, total).

    For each truth the mean of n readings is imagined, with the scatter of the protocol over the root of n and the error
    that all readings of one gauge and one day share, which n does not lessen; the worlds are weighted by how likely
    they make that mean, and the 5 % to 95 % band of the chance of all is taken anew; within a world the next pieces
    vary as ever. (The preposterior analysis of H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory
    (1961), from memory.) Errors are relative; the scatter is taken as known, all readings as made in one afternoon.
    Columns: protocol, measurement, readings, hours, width_now, width (expected after), error (standard error of the
    narrowing, by resampling worlds and truths), narrower (what the band loses of its width), word_changes (chance
    that the probability word of the chance of all is another), per_hour (narrowing an hour), rank (of each
    measurement at its best number of readings; those that cannot be told apart share one, and what narrows nothing
    that shows has none), worlds_left (effective number of worlds, on average). `.attrs`: said, teach_nothing
    (protocols of which the next piece learns nothing, and why), provenance.
    Raises StudyError for no measurement that fits, or no readings.
    """
    import pandas as pd
    if not len(readings) or min(readings) < 1:
        raise StudyError(f"readings: {list(readings)} must be whole numbers from 1, such as (3, 6, 12)")
    outer = weak_rows(plan)
    values = plan.draws(worlds * inner, seed, (worlds, outer))
    met = _met(plan, values, criteria)
    asked, nothing = possible(plan, values, outer, (worlds, inner))
    asked = [(r, n) for r in asked for n in readings if hours is None or r.protocol.hours(n) <= hours]
    if not asked:
        raise StudyError(f"no measurement fits into {words.number(hours or 0)} h; give more, or fewer readings")
    rows, gains = [], []
    try:
        for done, (reading, n) in enumerate(asked):
            if progress:
                progress(done, len(asked))
            row, gained = _judged(reading, n, met.reshape(worlds, inner), truths, seed)
            rows.append(row)
            gains.append(gained)
    except KeyboardInterrupt:
        if not stopping.in_notebook() or not rows:
            raise
        warnings.warn(f"stopped by hand after {len(rows)} of {len(asked)} measurements; those are returned",
                      stacklevel=2)
    table = pd.DataFrame(rows)
    table["rank"] = _ranks(table, np.array(gains))
    order = table.assign(last=table["rank"].fillna(np.inf)).groupby("measurement")["last"].transform("min")
    table = table.assign(order=order).sort_values(["order", "measurement", "readings"], ignore_index=True)
    table = table.drop(columns="order")
    table.attrs = plan.provenance(worlds * inner, seed) | {
        "worlds": worlds, "inner": inner, "truths": truths, "teach_nothing": nothing, "hours": hours}
    table.attrs["said"] = said(table)
    return table


def _met(plan, values, criteria):
    """In which draws every criterion is met."""
    with told():   # by the verdict
        found, _ = outcomes(plan, values, criteria, settle.FEEL)
    n = max(np.size(q.m) for q in values.values())
    every = np.ones(n, bool)
    for _, _, outcome, _ in found:
        demand, capacity = (np.atleast_2d(q.m_as(outcome.unit)) for q in (outcome.demand, outcome.capacity))
        every &= np.broadcast_to((capacity >= demand).all(axis=0), n)
    return every


# --- what can be read ------------------------------------------------------------------------------------------------

def possible(plan, values, outer, shape):
    """(Readings of every protocol that fits the plan, {title of a protocol: why it teaches nothing})."""
    found, nothing = [], {}
    for each in protocols().values():
        about, _, what = each.teaches.partition(" ")
        with told():
            if about == "log":
                made = list(_of_log(plan, each, what, values))
            elif about == "key":
                made = list(_of_key(plan, each, what, values, outer, shape))
            else:
                made = list(_of_bench(plan, each, each.teaches, values))
        found += [r for r in made if isinstance(r, Reading)]
        if not any(isinstance(r, Reading) for r in made):
            nothing[each.title] = next((r for r in made if isinstance(r, str)), "nothing of this plan is read by it")
    return found, nothing


def _of_key(plan, each, key, values, outer, shape):
    """A reading of an assumption itself."""
    row = plan.assumptions.get(key) or plan.assumptions.get(f"{key}@{plan.tubes[0].name}")
    if row is None:
        return
    if row.shape == "fixed" or row.each == 1:
        yield "it is pinned" if row.shape == "fixed" else "each piece has its own, and the next one another"
        return
    at = values.get(key, values.get(f"{key}@{plan.tubes[0].name}")).m
    log, own = np.log(np.broadcast_to(at, shape[0] * shape[1])), 0.0
    if "@" in row.key and key in outer:   # the part that all pieces share is one in a world
        within = log.reshape(shape)
        own = float(np.sqrt(np.mean(within.var(axis=1))))
        log = np.repeat(within.mean(axis=1), shape[1])
    yield Reading(each, plan.labels[key], log, each.scatter, each.bias, each.day, own)


def _of_bench(plan, each, what, values):
    """The torque that each kind of hold gives, or the thrust of the first drill at a feed of its own."""
    seen = set()
    for case in cases_of(plan, values):
        for operation in case.operations:
            if what == "hold torque" and operation.holds and operation.held_by not in seen:
                seen.add(operation.held_by)
                log = np.log(np.broadcast_to(np.atleast_2d(operation.hold_torque.m_as("N*m"))[0], _n(values)))
                yield Reading(each, f"torque that {operation.held_by} holds", log, each.scatter, each.bias, each.day)
            if what == "drill thrust" and hasattr(operation, "thrust_at") and "drill" not in seen:
                seen.add("drill")
                feed = Q(np.median(operation.setting.m, axis=-1, keepdims=True) * np.ones(operation.setting.shape),
                         operation.setting.units)
                log = np.log(operation.thrust_at(feed).m_as("N")[0])
                yield Reading(each, f"thrust of the {operation.places[0]}", log, each.scatter, each.bias, each.day)


def _n(values):
    return max(np.size(q.m) for q in values.values())


def _of_log(plan, each, kind, values):
    """Readings that the bench log holds, predicted as the log's own comparison predicts them."""
    if kind not in UPDATES:
        yield "it tells of one piece, and of the next it teaches nothing"
        return
    for said_, measured in imagined(plan, kind, 1, values):
        at = np.broadcast_to(measured.predict(values), (1, _n(values)))[0]
        error = measured.error
        weight = float(np.hypot(1, error.least / (np.median(at) * error.scatter)))
        yield Reading(each, said_, np.log(np.maximum(at, 1e-300)), error.scatter * weight, error.bias, error.day)


def imagined(plan, kind, n, values=None):
    """[(of what, a Measured of n readings of that kind with the values that the plan expects)]: rows as a bench log
    would hold them, of one day and one person."""
    values = plan.draws(2**8, 1) if values is None else values
    found = []
    for of_what, cells in _cells(plan, kind):
        rows = [_row(trial, **cells) for trial in range(1, n + 1)]
        read = [next(each for each in readings_in(row, plan, "an imagined row") if each[0] == kind) for row in rows]
        which = read[0][1]
        blank = Measured.of(plan, kind, {which: [(row, 1.0, 1.0, 1.0) for row in rows]})
        expected = np.median(np.broadcast_to(blank.predict(values), (n, _n(values))), axis=1)
        found.append((of_what, Measured.of(plan, kind, {which: [(row, x, x, x) for row, x in zip(rows, expected)]})))
    return found


def _row(trial, **cells):
    blank = {field["name"]: None for field in bench.schema()["fields"]}
    return blank | {"trial": trial, "date": datetime.date(2000, 1, 1), "step": f"reading {trial}", "operator": "A",
                    "outcome": "success", "counted": "yes", "substitute": "no", "line": 0} | cells


def _cells(plan, kind):
    """[(of what, cells of a row)] for each thing of that kind that a log of this plan can hold."""
    tube = plan.tubes[0]
    first = {"tube": tube.name, "operation": plan.steps(tube)[0].operation}
    if kind == "pull":
        yield "pull that the arm keeps up", first | {"minutes": BOWED, "pull_most_N": 1.0}
    if kind == "minutes":
        rate = float(np.median(plan.draws(2**8, 1)["drive.stroke_frequency"].m_as("1/min")))
        yield "strokes a minute", first | {"minutes": BOWED, "strokes": round(BOWED * rate)}
    if kind == "torque":
        names = {id(tool): name for name, tool in plan.tools.items()}
        kinds = {(tool.kind, tool.shank_ratio): name for name, tool in plan.tools.items()}
        seen = set()
        values = plan.draws(2**8, 1)
        for case in cases_of(plan, values):
            for operation in (o for o in case.operations if o.name in ("drill", "ream")):
                step, row = operation.steps[-1], len(operation.steps) - 1
                name = names.get(id(step.tool)) or kinds.get((step.tool.kind, step.tool.shank_ratio))
                if name in seen or step.before <= 0 or name is None:
                    continue
                seen.add(name)
                turns = operation.worked / Q(float(np.median(operation.setting.m[row])), operation.settles[1])
                a_stroke = np.median((case.means.turns_per_minute / values["drive.stroke_frequency"]).to("turn").m)
                yield f"torque of the {step.name}", {
                    "tube": case.tube.name, "operation": operation.name, "tool": name,
                    "diameter_mm": step.diameter.m_as("mm"), "stock_mm": (step.diameter - step.before).m_as("mm"),
                    "strokes": max(1, round(turns.m_as("") / float(a_stroke))), "torque_Nm": 1.0}
    if kind in ("mass lost", "stock lapped"):
        seen = set()
        for tube in plan.parts:
            for step in (s for s in plan.steps(tube) if s.operation == "lap" and s.abrasive not in seen):
                seen.add(step.abrasive)
                cells = {"mass_before_g": 10.0, "mass_after_g": 9.0} if kind == "mass lost" else {"stock_mm": 0.01}
                yield f"{kind} under {step.abrasive}", cells | {
                    "tube": tube.name, "operation": "lap", "tool": step.abrasive, "minutes": LAPPED,
                    "pressure_kPa": step.pressure.m_as("kPa")}


# --- what it would teach ---------------------------------------------------------------------------------------------

def _judged(reading, n, met, truths, seed):
    """(a row of the table, narrowing in each resampling)."""
    rng = np.random.default_rng(seed)
    count, inner = met.shape
    error = reading.error(n)
    true = rng.permutation(met.size)[:truths]
    read = reading.log[true] + error * rng.standard_normal(len(true))
    fits = np.exp(-0.5 * ((read[:, None] - reading.log) / error)**2).reshape(len(true), count, inner)
    weight = fits.sum(axis=2) + 1e-300
    # within a world the next pieces vary as ever: what the one that was read is like teaches of the world alone
    chance = met.mean(axis=1)[None]
    now, after = Band(chance, np.ones((1, count))), Band(np.repeat(chance, len(true), axis=0), weight)
    width_now, width = now.width()[0], after.width()
    word = now.words()[0]
    changed = np.mean([each != word for each in after.words()])
    gained = []
    for _ in range(AGAIN):
        times = np.bincount(rng.integers(count, size=count), minlength=count).astype(float)
        which = rng.integers(len(true), size=len(true))
        gained.append(now.width(times)[0] - after.width(times)[which].mean())
    left = weight.sum(axis=1)**2 / (weight**2).sum(axis=1)
    hours = reading.protocol.hours(n)
    return {"protocol": reading.protocol.protocol, "measurement": reading.said, "readings": n, "hours": hours,
            "width_now": width_now, "width": float(width.mean()), "error": float(np.std(gained)),
            "narrower": width_now - float(width.mean()), "word_changes": float(changed),
            "per_hour": (width_now - float(width.mean())) / hours, "worlds_left": float(left.mean())}, gained


class Band:
    """Bands of chances over weighted worlds: chances and weights of shape (bands, worlds)."""

    def __init__(self, chances, weights):
        order = np.argsort(chances, axis=1)
        self.chances, self.order = np.take_along_axis(chances, order, axis=1), order
        self.weights = np.take_along_axis(np.broadcast_to(weights, chances.shape), order, axis=1)
        self.mean = (self.chances * self.weights).sum(axis=1) / self.weights.sum(axis=1)

    def ends(self, times=None):
        """(5 %, 95 %) points. times: how often each world counts, in a resampling."""
        weights = self.weights if times is None else self.weights * times[self.order]
        share = np.cumsum(weights, axis=1) / weights.sum(axis=1, keepdims=True)
        # no interpolation: it would reach from a world that is all but certain to one that is ruled out
        at = [np.argmax(share >= p - 1e-12, axis=1)[:, None] for p in (0.05, 0.95)]
        return np.array([np.take_along_axis(self.chances, each, axis=1)[:, 0] for each in at])

    def width(self, times=None):
        low, high = self.ends(times)
        return high - low

    def words(self):
        """The probability word of the chance itself, over all worlds: the words of a band's ends flutter where one
        lies near a limit."""
        return [evidence.likelihood(mean) for mean in self.mean]


def _ranks(table, gains):
    """Rank of each measurement at the number of readings that narrows most an hour: one for all that cannot be told
    apart from the best of them; none for other numbers of readings, and for what narrows nothing that shows."""
    found = np.full(len(table), np.nan)
    best = table.groupby("measurement")["per_hour"].idxmax().to_list()
    shown = [i for i in best if table.loc[i, "narrower"] > SHOWN * table.loc[i, "error"]
             and table.loc[i, "worlds_left"] >= FEW_LEFT]
    shown.sort(key=lambda i: -table.loc[i, "per_hour"])
    rates = gains / table["hours"].to_numpy()[:, None]
    rank, leader = 0, None
    for place, i in enumerate(shown, 1):
        apart = leader is None or (table.loc[leader, "per_hour"] - table.loc[i, "per_hour"]
                                   > SHOWN * np.std(rates[leader] - rates[i]))
        if apart:
            rank, leader = place, i
        found[i] = rank
    return found


# --- in words --------------------------------------------------------------------------------------------------------

def said(table):
    """What a table of `next_trials` comes to, in sentences."""
    ranked = table[table["rank"].notna()].sort_values(["rank", "per_hour"], ascending=[True, False])
    drawn = (f"{words.count(table.attrs['worlds'])} worlds of {words.counted(table.attrs['inner'], 'draw')}, "
             f"{words.counted(table.attrs['truths'], 'truth')}, seed {table.attrs['seed']}")
    now = words.number(table["width_now"].iloc[0], 2)
    if not len(ranked):
        return f"No measurement here would narrow the band of the chance, {now} wide, by what can be shown ({drawn})."
    first = ranked[ranked["rank"] == 1]
    text = [f"The band of the chance is {now} wide ({drawn})."]
    told_ = [f"{row.measurement} ({words.counted(row.readings, 'reading')}, {words.number(row.hours, 2)} h: "
             f"{words.number(row.width, 2)} wide, standard error {words.number(row.error, 1)})"
             for row in first.itertuples()]
    text.append("Most would be settled an hour by " + "; or, not to be told apart, by ".join(told_) + ".")
    return " ".join(text)


def for_reading(table):
    """A table of `next_trials` in words."""
    import pandas as pd
    rows = [{"rank": "" if np.isnan(row.rank) else f"{row.rank:.0f}", "measurement": row.measurement,
             "readings": words.count(row.readings), "hours": words.number(row.hours, 2),
             "band now": words.number(row.width_now, 2),
             "band after, expected": f"{words.number(row.width, 2)} (error {words.number(row.error, 1)})",
             "chance that the word changes": words.chance(row.word_changes),
             "how": protocols()[row.protocol].title}
            for row in table.itertuples()]
    return pd.DataFrame(rows)
