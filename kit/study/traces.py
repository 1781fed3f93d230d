"""Traces of a finished surface: a section taken round, or a profile along it; its lobes, and how rough it is.

From plain tables, which every instrument writes. There is no well-kept reader of the open container for areal data
(ISO 5436-2) among Python's packages; whoever has one writes its profile out as a table.
"""
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from kit.base import tables, words
from kit.base.units import Q, magnitude
from kit.estimates import gauging
from kit.study.studyfile import StudyError

ROUND_FIELDS = {"fields": [
    {"name": "angle_deg", "type": "number", "constraints": {"required": True}},
    {"name": "radius_mm", "type": "number", "constraints": {"minimum": 0}}, {"name": "deviation_um", "type": "number"}],
    "missingValues": [""]}
PROFILE_FIELDS = {"fields": [
    {"name": "x_mm", "type": "number", "constraints": {"required": True}},
    {"name": "z_um", "type": "number", "constraints": {"required": True}}], "missingValues": [""]}
WIDEST = 10.0    # degrees between readings, beyond which lobes could hide
FINEST = 15      # undulations a turn that are told
CUTOFF = Q(0.8, "mm")   # ISO 4288: for Ra of 0.1 to 2 um, from memory
LENGTHS = 5      # sampling lengths of a roughness profile
ALPHA = np.sqrt(np.log(2) / np.pi)   # of the Gaussian filter: half of a wave as long as the cutoff passes


@dataclass(frozen=True)
class Section:
    """A section taken round. out_of_round: peak to valley about the circle of least squares, um, and error, its
    standard error. lobes: amplitude of 0, 1, 2 ... undulations a turn, um; 2 is an oval. readings: how many."""
    out_of_round: Q
    error: Q
    lobes: Q
    readings: int
    name: str

    def reading(self, quantity):
        """The part of a row of contributed readings that it fills: quantity ("form.fluted reamer.out_of_round"), value,
        unit, error, readings."""
        return _reading(quantity, self.out_of_round, self.error)

    @property
    def said(self):
        """In a sentence."""
        most = int(np.argmax(self.lobes.m[2:])) + 2
        return (f"{self.name}: out of round by {_with_error(self)}, peak to valley; the largest wave has "
                f"{words.counted(most, 'lobe')}, {words.with_unit(words.number(self.lobes.m[most], 2), 'um')} high and "
                f"low of the mean; {words.counted(self.readings, 'reading')} round.")


@dataclass(frozen=True)
class Profile:
    """A profile along a surface, its form and waves longer than the cutoff taken off. rz: mean over the sampling
    lengths of highest peak to lowest valley; ra, rq: mean and root of the mean square of the heights; all um. error:
    standard error of rz. lengths: how many sampling lengths."""
    rz: Q
    ra: Q
    rq: Q
    error: Q
    lengths: int
    name: str

    def reading(self, quantity):
        """As `Section.reading`, of Rz: quantity is a roughness, such as "reamed.roughness"."""
        return _reading(quantity, self.rz, self.error)

    @property
    def said(self):
        """In a sentence."""
        fine = "; ".join(f"{what} {words.with_unit(words.number(each.m, 2), 'um')}" for what, each in
                         (("Ra", self.ra), ("Rq", self.rq)))
        return (f"{self.name}: Rz {words.with_unit(words.number(self.rz.m, 2), 'um')} ± "
                f"{words.with_unit(words.number(self.error.m, 1), 'um')}; {fine}; over "
                f"{words.counted(self.lengths, 'sampling length')}.")


def _reading(quantity, value, error):
    return {"quantity": quantity, "value": round(value.m_as("um"), 3), "unit": "um",
            "error": max(round(error.m_as("um"), 3), 1e-3), "readings": 1}


def _with_error(found):
    return (f"{words.with_unit(words.number(found.out_of_round.m, 2), 'um')} ± "
            f"{words.with_unit(words.number(found.error.m, 1), 'um')}")


def section(path, error):
    """A section from a CSV: angle_deg all round, and radius_mm, or deviation_um from any circle about the axis.

    error: of one reading, standard, the spindle's run-out in it ("0.3 um"); the kit takes no reading without. Waves are
    fitted by least squares, so the angles need not be even; peak to valley is told of the readings themselves, with
    mean and one wave a turn taken off, of radii about their circle of least squares (ISO 12181-1, from memory).
    Raises tables.TableError with line and column; StudyError for less than a turn, gaps above 10 degrees, fewer than 36
    readings, or both columns or neither.
    """
    path, error = Path(path), Q(magnitude(error, "um > 0", "error"), "um")
    rows = tables.read(path, ROUND_FIELDS)
    column = _one_of(path, rows, "radius_mm", "deviation_um")
    angle = np.array([row["angle_deg"] for row in rows], float) % 360
    if len(rows) < 36:
        raise StudyError(f"{path}: {words.counted(len(rows), 'reading')} round; 36 or more show the lobes")
    at = np.sort(angle)
    gaps = np.diff(at, append=at[0] + 360)
    if gaps.max() > WIDEST:
        place = f"after {words.with_unit(words.number(at[int(np.argmax(gaps))], 3), 'deg')}"
        raise StudyError(f"{path}, column 'angle_deg': {words.with_unit(words.number(gaps.max(), 3), 'deg')} without a "
                         f"reading {place}; a section goes all round, with no gap above "
                         f"{words.with_unit(words.exact(WIDEST), 'deg')}; are the angles in degrees?")
    turn = np.radians(angle)
    if column == "radius_mm":
        radius = np.array([row["radius_mm"] for row in rows])
        circle = gauging.least_squares_circle(x=Q(radius * np.cos(turn), "mm"), y=Q(radius * np.sin(turn), "mm"))
        x, y = radius * np.cos(turn) - circle.x.m_as("mm"), radius * np.sin(turn) - circle.y.m_as("mm")
        turn, height = np.arctan2(y, x), (np.hypot(x, y) - circle.radius.m_as("mm")) * 1e3
    else:
        height = np.array([row["deviation_um"] for row in rows])
    waves = np.arange(1, FINEST + 1)
    basis = np.column_stack([np.ones_like(turn), *np.cos(np.outer(waves, turn)), *np.sin(np.outer(waves, turn))])
    found = np.linalg.lstsq(basis, height, rcond=None)[0]
    off = [0, 1, FINEST + 1]   # mean, and the part's distance from the axis: no fault of its form
    height = height - basis[:, off] @ found[off]
    amplitude = np.hypot(found[1:FINEST + 1], found[FINEST + 1:])
    return Section(Q(float(np.ptp(height)), "um"), error * np.sqrt(2), Q(np.r_[abs(found[0]), amplitude], "um"),
                   len(rows), path.name)


def _one_of(path, rows, *names):
    """Which of two columns every row holds."""
    held = [name for name in names if rows and all(row.get(name) is not None for row in rows)]
    if len(held) == 1 and all(row.get(name) is None for row in rows for name in names if name not in held):
        return held[0]
    for row in rows:
        there = [name for name in names if row.get(name) is not None]
        if len(there) != 1:
            raise StudyError(f"{path}, line {row['line']}: it holds {' and '.join(there) or 'neither ' + names[0]}"
                             f"{'' if there else ' nor ' + names[1]}; every row has {names[0]}, or every row "
                             f"{names[1]}")
    raise StudyError(f"{path}: some rows hold {names[0]} and some {names[1]}; give one of them throughout" if rows else
                     f"{path}: no reading")


def profile(path, error, cutoff=CUTOFF):
    """A roughness profile from a CSV: x_mm along the surface, even steps, and z_um, its height.

    error: of one height, standard ("0.02 um"). cutoff: wavelength that parts roughness from waviness ("0.8 mm").
    A straight line is taken off, then the mean line of the Gaussian filter; half a cutoff at either end is left out,
    and what is left is cut into as many sampling lengths as it holds, five at the most.
    Raises tables.TableError with line and column; StudyError for steps that are uneven or too coarse, and for a profile
    that holds no sampling length.
    Source: Gaussian filter ISO 16610-21, Ra, Rq, Rz ISO 4287, all from memory.
    """
    path = Path(path)
    error = Q(magnitude(error, "um > 0", "error"), "um")
    cutoff = magnitude(cutoff, "mm > 0", "cutoff")
    rows = tables.read(path, PROFILE_FIELDS)
    x, z = (np.array([row[name] for row in rows], float) for name in ("x_mm", "z_um"))
    step = (x[-1] - x[0]) / (len(x) - 1) if len(x) > 1 else 0.0
    if step <= 0 or np.abs(np.diff(x) - step).max() > 0.01 * step:
        at = int(np.argmax(np.abs(np.diff(x) - step))) + 1 if len(x) > 1 else 0
        line = f", line {rows[at]['line']}" if rows else ""
        raise StudyError(f"{path}{line}, column 'x_mm': the steps are uneven or go back; a profile has even steps")
    if step > cutoff / 50:
        raise StudyError(f"{path}: steps of {words.with_unit(words.number(1000 * step, 3), 'um')} are too coarse for a "
                         f"cutoff of {words.with_unit(words.exact(cutoff), 'mm')}; 50 or more to a cutoff show the "
                         "valleys")
    whole = (len(x) - 1) * step - cutoff   # half a cutoff at either end is lost to the filter
    lengths = min(LENGTHS, int(whole / cutoff + 1e-9))
    if lengths < 1:
        raise StudyError(f"{path}: {words.with_unit(words.number((len(x) - 1) * step, 3), 'mm')} long, and two cutoffs "
                         f"of {words.with_unit(words.exact(cutoff), 'mm')} are the least; give a longer profile, or a "
                         "shorter cutoff")
    z = z - np.polyval(np.polyfit(x, z, 1), x)
    far = int(np.ceil(cutoff / step))
    u = np.arange(-far, far + 1) * step / (ALPHA * cutoff)
    weight = np.exp(-np.pi * u**2)
    mean = np.convolve(z, weight, "same") / np.convolve(np.ones_like(z), weight, "same")
    first, each = int(round(cutoff / 2 / step)), int(round(cutoff / step))
    rough = (z - mean)[first:first + lengths * each]
    parts = np.array_split(rough, lengths)
    peaks = np.array([np.ptp(part) for part in parts])
    scatter = peaks.std(ddof=1) / np.sqrt(lengths) if lengths > 1 else 0.0
    return Profile(Q(float(peaks.mean()), "um"), Q(float(np.abs(rough).mean()), "um"),
                   Q(float(np.sqrt((rough**2).mean())), "um"),
                   Q(float(np.hypot(scatter, np.sqrt(2 / lengths) * error.m)), "um"), lengths, path.name)
