"""What a study's own rows may reach: the ends of their distributions, tried one by one."""
import numpy as np

from kit.base import words
from kit.base.units import Q, told

ENDS = (1e-9, 1 - 1e-9)   # shares of a distribution, beyond which no run of any length goes
DRAWS = 4


def impossible(study):
    """Faults of own rows whose distribution reaches a value that some estimate refuses: list of lines, each with file,
    line and remedy. The others stay where a few draws put them."""
    found = []
    for key, row in study.rows.items():
        if row.shape == "fixed":
            continue
        for share, value in zip(ENDS, row.quantile(np.array(ENDS))):
            why = _refused(study, key, Q(float(value), row.unit))
            if why:
                found.append(f"{study.row_place(key)}: {key!r} as a {row.shape} from {words.number(row.low or 0.0)} to "
                             f"{words.with_unit(words.number(row.high), row.unit)} can fall as far as "
                             f"{words.quantity(Q(float(value), row.unit))}, which is impossible: {why}; give a shape "
                             "that ends before (limits 'ends', or a lognormal), or a narrower range")
    return found


def _refused(study, key, value):
    """Why the estimates refuse a study with this value, "" where they do not."""
    try:
        with told(), np.errstate(all="ignore"):
            verdict = study.with_(**{key: value}).assess(draws=DRAWS)
    except (ValueError, TypeError) as fault:
        return str(fault).partition("; into it go the study's own rows")[0]
    lost = next((line for line in verdict.lines if np.isnan(line.margin).any()), None)
    return f"'{lost.criterion}' of {lost.tube!r} has no answer there" if lost else ""
