"""The score of the kit: what the reference tables predict, beside what others measured and published."""
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, tables, words
from kit.base.units import Q, read
from kit.estimates import bow, cutting, trials

LEVEL = 0.90   # of the predicted intervals: 5 % to 95 % points, as the tables give their ranges
# What a verdict leans on, and how the path (table / thing / key) of the reference rows that hold it can be known
LEANS_ON = {"specific cutting force": " / kc11", "wear by loose grain": " / wear_coefficient",
            "wander of a bore": " / drift", "tension of the cord": " / rest_tension",
            "leak past a plunger": "models / leak / "}


def _row(row):
    """A row of the tables as it stands."""
    return row


def _rubbing_heat(load, radius, rate, friction):
    """Power of a flat bar that turns on a flat bottom, run in: friction torque times turning rate."""
    torque = bow.centre_torque(load=load, radius=radius, half_angle="90 deg", friction=friction, contact="uniform wear")
    return Q(torque.m_as("N*m") * rate.m_as("rad/s"), "W")


def _torque_ratio(feed, base, exponent):
    """Drilling torque at one feed over that at another: the rest of the rule falls out."""
    at, against = (cutting.drill_torque(diameter="10 mm", feed=f, kc11="1000 MPa", exponent=exponent)
                   for f in (feed, base))
    return (at / against).to("")


RULES = {"row": _row, "rubbing heat": _rubbing_heat, "torque ratio": _torque_ratio}


@dataclass(frozen=True)
class Reading:
    """A published measurement beside its prediction. low, value, high: measured, in `unit`, value the middle where a
    range was printed. predicted: 5 %, 50 %, 95 % point, None where no rule predicts it. why_not: why it is not scored;
    "" where it is. given: paths of the reference rows that the prediction draws on."""
    name: str
    find: str
    kind: str
    quantity: str
    conditions: str
    unit: str
    low: float
    value: float
    high: float
    predicted: tuple | None
    why_not: str
    given: tuple
    source: str
    note: str

    @property
    def hit(self):
        """Whether all of it lies inside the predicted interval; None where nothing predicts it."""
        if self.predicted is None:
            return None
        low, _, high = self.predicted
        return bool(low <= self.low and self.high <= high)

    @property
    def ratio(self):
        """Predicted median over measured; NaN where nothing predicts it."""
        return np.nan if self.predicted is None else self.predicted[1] / self.value


@dataclass(frozen=True)
class Score:
    """How the kit's intervals fare. readings: of the kinds asked for, scored or not. finds: {find: whether all its
    scored readings lie inside}. n, seed: of the draws."""
    readings: tuple
    finds: dict
    n: int
    seed: int

    @property
    def hits(self):
        return sum(self.finds.values())

    @property
    def interval(self):
        """Exact 95 % interval (Clopper and Pearson 1934) of the rate at which finds lie inside; (0, 1) without any."""
        if not self.finds:
            return 0.0, 1.0
        return trials.success_interval(successes=self.hits, trials=len(self.finds))

    @property
    def ratio(self):
        """Median over the finds of predicted over measured, each find by the median of its scored readings; NaN without
        any."""
        of = [np.median([r.ratio for r in self.readings if r.find == find and not r.why_not]) for find in self.finds]
        return float(np.median(of)) if of else np.nan

    @property
    def moved(self):
        """Readings that set or moved a range, and so are no check of it."""
        return [r for r in self.readings if r.why_not.startswith("moved")]

    @property
    def words(self):
        """How the intervals fare, how much that says, and what nobody outside has checked."""
        low, high = self.interval
        count, moved, open_ = len(self.finds), len(self.moved), unchecked()
        said = [f"Of {words.counted(count, 'find')} that others measured and published, for which the reference tables "
                f"are meant, {self.hits} {'lies' if self.hits == 1 else 'lie'} inside the predicted "
                f"{words.percent(LEVEL)} intervals (exact 95 % interval of that rate: {words.percent(low)} to "
                f"{words.percent(high)}, Clopper-Pearson; {words.draws(self.n, self.seed)})"]
        if self.finds:
            said[0] += f"; the median of predicted over measured is {words.number(self.ratio, 3)}"
        said[0] += "."
        if moved:
            said.append(f"{words.counted(moved, 'further reading')} set or moved a range and "
                        f"{'is' if moved == 1 else 'are'} no longer counted.")
        if open_:
            said.append(f"No outside check was found of: {', '.join(open_)}.")
        return " ".join(said)

    @property
    def table(self):
        """DataFrame, one row a reading: measured, predicted, whether it lies inside, whether it is scored."""
        import pandas as pd
        rows = []
        for r in self.readings:
            low, median, high = r.predicted or (np.nan,) * 3
            inside = {None: "", True: "yes", False: "no"}[r.hit]
            rows.append({"reading": r.name, "find": r.find, "quantity": r.quantity, "conditions": r.conditions,
                         "unit": r.unit, "measured_low": r.low, "measured": r.value, "measured_high": r.high,
                         "low_5": low, "median": median, "high_95": high, "within": inside, "ratio": r.ratio,
                         "scored": "no" if r.why_not else "yes", "why_not": r.why_not, "source": r.source,
                         "note": r.note})
        return pd.DataFrame(rows)


def readings(n=2**14, seed=1):
    """Every row of `measured.csv` beside what the reference tables predict for it, as a tuple of Readings.

    n, seed: of the draws (scrambled Sobol points). Prediction: a rule of RULES on the ranges that `given` names.
    Raises tables.TableError for a rule or a reference row that is not there, with the line.
    """
    return tuple(_reading(row, n, seed) for row in tables.load("measured"))


def score(kind="publication", n=2**14, seed=1):
    """How often published measurements lie inside the 5 % to 95 % intervals that the reference tables predict: a Score.

    A reading is scored where the tables are meant for such a case, a rule predicts it, and it moved no range. Finds are
    counted, not readings of one find: a find is a hit where all its scored readings are. kind: "publication", or
    "data file" for data of public repositories, which are told apart: one row there is one experiment, and whoever
    scored them knew the ranges. n, seed: as `readings`.
    Raises ValueError for another kind.
    """
    found = readings(n, seed)
    if kind not in {r.kind for r in found}:
        raise ValueError(f"kind: unknown word {kind!r}; {tables.nearest(kind, sorted({r.kind for r in found}))}")
    found = tuple(r for r in found if r.kind == kind)
    scored = [r for r in found if not r.why_not]
    finds = {r.find: all(other.hit for other in scored if other.find == r.find) for r in scored}
    return Score(found, finds, n, seed)


def unchecked():
    """What a verdict leans on and no scored reading touches: names of LEANS_ON, as a list."""
    touched = [path for r in readings(n=16) if not r.why_not for path in r.given]
    return [said for said, part in LEANS_ON.items() if not any(part in path for path in touched)]


def _reading(row, n, seed):
    place = f"measured.csv, line {row['line']}"
    least, value, most = row["low"], row["value"], row["high"]
    value = (least + most) / 2 if value is None else value
    given = dict(part.split(" = ", 1) for part in (row["given"] or "").split("; ") if part)
    predicted = None
    if row["predicts"]:
        if row["predicts"] not in RULES:
            raise tables.TableError(f"{place}, column 'predicts': no rule {row['predicts']!r}; "
                                    f"{tables.nearest(row['predicts'], RULES)}")
        drawn = _drawn(given, n, seed, place)
        values = RULES[row["predicts"]](**drawn).m_as(row["unit"] or "")
        predicted = tuple(float(x) for x in np.quantile(values, (0.05, 0.5, 0.95)))
    why_not = (f"moved a range: {row['moved'].split(' / ')[1]}" if row["moved"] else
               row["left_out"] or ("out of domain" if row["domain"] == "out" else "") or
               ("" if row["predicts"] else "no rule predicts it"))
    paths = tuple(text for text in given.values() if " / " in text)
    return Reading(row["reading"], row["find"], row["kind"], row["quantity"], row["conditions"], row["unit"] or "",
                   value if least is None else least, value, value if most is None else most, predicted, why_not, paths,
                   row["source"], row["note"] or "")


def _drawn(given, n, seed, place):
    """What a rule is given: quantities as written, and draws of the reference rows that are named."""
    rows = {}
    for name, text in given.items():
        if " / " in text:
            table, of, key = text.split(" / ")
            known = evidence.reference(table, of, name)
            if f"{name}.{key}" not in known:
                raise tables.TableError(f"{place}, column 'given': {of!r} has no {key!r} in {table}.csv; "
                                        f"{tables.nearest(key, [k.partition('.')[2] for k in known])}")
            rows[name] = known[f"{name}.{key}"]
    draws = evidence.draw(rows.values(), n, seed) if rows else {}
    return {name: draws[rows[name].key] if name in rows else read(text) for name, text in given.items()}
