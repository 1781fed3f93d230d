"""Readings contributed by several workshops: read from a table, pooled with the reference range, put into a study."""
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pint

from kit.base import evidence, tables, words
from kit.base.units import Q
from kit.estimates import pooling
from kit.study.studyfile import StudyError

LEAST_ERROR = 1e-6   # of a reading, as a share of it: far below what any gauge of a workshop reads


@dataclass(frozen=True)
class Contributed:
    """Readings of several workshops. rows: the good ones as dicts. faults: a line of words for each refused one."""
    path: Path
    rows: tuple
    faults: tuple

    @property
    def quantities(self):
        """Keys of what was measured, in order."""
        return tuple(dict.fromkeys(row["quantity"] for row in self.rows))

    def results(self, key, unit):
        """{workshop: (logarithm of its value, standard error of that)}: its readings weighted by their errors, and no
        surer than they agree. Raises StudyError, with its place, for a reading in a unit of another quantity."""
        found = {}
        for name in dict.fromkeys(row["workshop"] for row in self.rows if row["quantity"] == key):
            mine = [row for row in self.rows if (row["workshop"], row["quantity"]) == (name, key)]
            at = np.log([self._value(row, unit) for row in mine])
            u = np.array([row["error"] / row["value"] for row in mine])
            weight = u**-2
            mean = float(np.average(at, weights=weight))
            chi = float(np.sum(weight * (at - mean)**2) / max(len(at) - 1, 1))
            found[name] = mean, float(weight.sum()**-0.5 * max(1, chi)**0.5)
        return found

    def pooled(self, study):
        """DataFrame, a row a quantity: workshops, readings, the range of the reference and that which the next workshop
        may find (5 %, median, 95 %, in the study's unit), and the spread between workshops by Paule and Mandel, as a
        share. Raises StudyError, with its place in the file, for a quantity that the study does not rest on, or a unit
        that does not fit."""
        import pandas as pd
        rows = []
        for key in self.quantities:
            known, found, made = self._taken(study, key)
            values, errors = zip(*found.values())
            low, high = known.quantile([0.05, 0.95])
            rows.append({"key": key, "assumption": study.labels[key], "workshops": len(found),
                         "readings": sum(row["readings"] for row in self.rows if row["quantity"] == key),
                         "unit": known.unit, "before_5": float(low), "before_95": float(high),
                         "low_5": float(np.exp(made.low)), "median": float(np.exp(made.median)),
                         "high_95": float(np.exp(made.high)),
                         "between": pooling.between(values=values, errors=errors) if len(found) > 1 else np.nan})
        return pd.DataFrame(rows)

    def update(self, study):
        """The study with each quantity's row replaced by what the next workshop may find, graded own-trial: the
        reference range, as what was believed of workshops before, and the workshops' results, pooled with the spread
        between them (pooling.next_workshop, on logarithms).

        Raises StudyError as `pooled`, and for a study that a log has updated."""
        if study.conditioned:
            raise StudyError("this study has been updated by a log already; put in what others have measured first")
        rows = dict(study.rows)
        for key in self.quantities:
            known, found, made = self._taken(study, key)
            licences = dict.fromkeys(row["licence"] for row in self.rows if row["quantity"] == key)
            rows[key] = evidence.Assumption(
                key, None, float(np.exp(made.low)), float(np.exp(made.high)), known.unit, "lognormal", "own-trial",
                "own-trial", drawn=study.reference_rows[key].drawn, each=study.reference_rows[key].each,
                note=f"pooled from {words.counted(len(found), 'workshop')}: {', '.join(found)}; licence "
                     f"{', '.join(licences)}; 5 % and 95 % of the next workshop")
        changed = replace(study, rows=rows)
        changed.assumptions
        return changed

    def _taken(self, study, key):
        """Of a quantity: its reference row, the workshops' results, and what the next one may find."""
        known = self._known(study, key)
        found = self.results(key, known.unit)
        low, high = np.log(known.quantile([0.05, 0.95]))
        values, errors = zip(*found.values())
        return known, found, pooling.next_workshop(values=values, errors=errors, prior_mean=(low + high) / 2,
                                                   prior_sd=(high - low) / (2 * 1.645))

    def _known(self, study, key):
        at = self._place(next(row for row in self.rows if row["quantity"] == key), "quantity")
        if key not in study.reference_rows:
            raise StudyError(f"{at}{key!r} is no assumption of this study; {tables.nearest(key, study.reference_rows)}")
        row = study.reference_rows[key]
        if row.shape == "fixed" or float(row.quantile(0.05)) <= 0:
            raise StudyError(f"{at}{key!r} is a fixed number or may be nought; only what is above nought is pooled. "
                             "Leave its rows out")
        return row

    def _value(self, row, unit):
        try:
            return Q(row["value"], row["unit"] or "").m_as(unit)
        except pint.DimensionalityError:
            raise StudyError(f"{self._place(row, 'unit')}{row['unit'] or 'no unit'!r} is no unit of "
                             f"{row['quantity']!r}, which the kit has in {words.unit(unit) or 'no unit'}; give the "
                             "reading and its error in that, or mend the quantity") from None

    def _place(self, row, column):
        return f"{self.path}, line {row['line']}, column {column!r}: "


def read(path):
    """Contributed from a CSV with the columns of data/reference/contributed.schema.json; the file is never changed.

    Refused, with line and remedy: a reading not above nought, one without error, or with one that none can have, a unit
    that nobody knows, and rows of two workshops that have one name (in different places).
    """
    faults, good, places = [], [], {}
    for row in tables.read(path, tables.shared_schema("contributed.schema.json"), faults):
        fault = _fault(row)
        first = places.setdefault(row["workshop"], row)
        if not fault and first["place"] != row["place"]:
            fault = (f"column 'workshop': {row['workshop']!r} is in {first['place']!r} in line {first['line']} and in "
                     f"{row['place']!r} here; give each workshop a name of its own, or mend the place")
        if fault:
            faults.append(f"{path}, line {row['line']}, {fault}")
        else:
            good.append(row)
    return Contributed(Path(path), tuple(good), tuple(faults))


def _fault(row):
    if not row["error"]:
        return ("column 'error': nothing there, and a reading without its error cannot be weighed against others; give "
                "the standard error of the mean, the gauge's own included")
    if not row["value"] > 0:
        return f"column 'value': {row['value']:g} is not above 0; give what was read, or leave the row out"
    share = row["error"] / row["value"]
    if not LEAST_ERROR <= share <= 1:
        than = "is larger than the reading itself" if share > 1 else "is finer than any gauge reads"
        return (f"column 'error': {row['error']:g} of a reading of {row['value']:g} {than}; give the standard error of "
                "the mean, in the unit of the reading")
    try:
        Q(1.0, row["unit"] or "")
    except Exception:
        return f"column 'unit': nobody knows the unit {row['unit']!r}; write it as N, N*m, mm, um, 1/min"
    return None
