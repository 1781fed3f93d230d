"""The maker's own lathe: repeated bench readings that become assumptions of a study."""
from dataclasses import replace

import numpy as np

from kit.base import evidence, tables, words
from kit.base.units import magnitude
from kit.operations import means
from kit.study.measured import BenchError

OWN_LATHE = {"rest_tension": "N > 0", "cord_friction": "> 0", "stroke": "m > 0", "stall_torque": "N*m > 0",
             "centre_torque": "N*m > 0"}


def own_lathe(study, **readings):
    """The study on the maker's own lathe: repeated bench readings become its assumptions, graded own-trial.

    rest_tension (N, cord at rest), cord_friction (number: ln of the ratio of hung weights over the wrap angle),
    stroke (m, usable length of the bow), stall_torque (N*m at the spindle, pulled for a minute), centre_torque (N*m,
    both centres, by a weight on a thread, tool off), or any assumption of the study by its key (`**{"hand.pinch":
    [...]}`), in its unit: each a list of two or more readings as Quantities or text; any may be left out.
    Each becomes a lognormal whose 5 % and 95 % points are those of the next reading (Student's t on the logs, n - 1
    degrees of freedom). The stall torque is what the pull leaves after the drag of the centres: as
    measured, else the median of the study.
    Raises BenchError for an unknown reading, fewer than two of one kind (a single one shows no spread), or a study
    that a log has updated.
    """
    if study.conditioned:
        raise BenchError("this study has been updated by a log already; enter the readings first, then update the "
                         "study by the log")
    rows = dict(study.rows)
    found = {}
    for name, values in readings.items():
        if name not in OWN_LATHE and name not in study.keys:
            raise BenchError(f"no bench reading {name!r}; {tables.nearest(name, [*OWN_LATHE, *sorted(study.keys)])}")
        every = list(values) if isinstance(values, (list, tuple)) or np.ndim(values) else [values]
        plain = np.array([magnitude(v, OWN_LATHE.get(name) or f"{study.reference_rows[name].unit} > 0".strip(), name)
                          for v in every])
        if len(plain) < 2:
            raise BenchError(f"{name}: one reading shows no spread; take three or more")
        found[name] = plain
    half = study.workshop.pulley.m_as("m") / 2
    # the same torque as friction at a stated load and radius: T = 2 * (2/3) mu W R / sin 30
    if "centre_torque" in found:
        load, radius = 50.0, 1.5e-3
        rows |= {k: evidence.Assumption(k, v, None, None, u, "fixed", "own-trial", "own-trial",
                                        note="stands for the measured torque of both centres")
                 for k, v, u in (("centre.load", load, "N"), ("centre.radius", radius * 1e3, "mm"))}
        rows["centre.friction"] = _next_reading("centre.friction", found["centre_torque"] / (8 / 3 * load * radius), "",
                                                "centre torque", found["centre_torque"], "N*m")
    if "stall_torque" in found:
        middles = {k: a.middle for k, a in study.assumptions.items()}
        of_study = means.centre_torque(means.Means(None, middles, study.tubes[0].name)).m_as("N*m")
        drag = found["centre_torque"].mean() if "centre_torque" in found else of_study
        rows["drive.pull_one_minute"] = _next_reading("drive.pull_one_minute", (found["stall_torque"] + drag) / half,
                                                      "N",
                                                      "stall torque", found["stall_torque"], "N*m")
    for name, key, unit in (("rest_tension", "drive.rest_tension", "N"), ("cord_friction", "cord.friction", ""),
                            ("stroke", "drive.stroke_length", "m")):
        if name in found:
            rows[key] = _next_reading(key, found[name], unit, name.replace("_", " "), found[name], unit)
    for key in set(found) - set(OWN_LATHE):
        rows[key] = replace(_next_reading(key, found[key], study.reference_rows[key].unit, study.labels[key],
                                          found[key], study.reference_rows[key].unit),
                            drawn=study.reference_rows[key].drawn, each=study.reference_rows[key].each)
    changed = replace(study, rows=rows)
    changed.assumptions
    return changed


def _next_reading(key, values, unit, name, read, read_unit):
    """Assumption from values worked out from readings; the note gives the readings as they were taken."""
    from scipy import special
    logs, n = np.log(values), len(values)
    # a gauge reads to half a per cent at best
    reach = special.stdtrit(n - 1, 0.95) * max(logs.std(ddof=1), 0.005) * np.sqrt(1 + 1 / n)
    low, high = np.exp(logs.mean() - reach), np.exp(logs.mean() + reach)
    return evidence.Assumption(key, None, float(low), float(high), unit, "lognormal", "own-trial", "own-trial",
                               note=f"{name}, {n} readings, mean "
                               f"{words.with_unit(words.number(read.mean()), read_unit)}"
                               + "; 5 % and 95 % of the next reading")
