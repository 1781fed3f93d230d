"""Walls of a find: readings by calliper, or a scanned mesh; its axis, its wall over the surface, its thin places."""
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from kit.base import tables, words
from kit.base.units import Q
from kit.study.studyfile import StudyError

CALLIPER = 0.02    # mm, standard error of a reading whose row says none: outside, by vernier; no published source
FIELDS = {"fields": [
    {"name": "station_mm", "type": "number"}, {"name": "angle_deg", "type": "number"},
    {"name": "wall_mm", "type": "number", "constraints": {"required": True, "minimum": 0}},
    {"name": "error_mm", "type": "number", "constraints": {"minimum": 0}},
    {"name": "note", "type": "string"}], "missingValues": [""]}
STATIONS, ANGLES = 24, 36   # of the grid on which a scan's wall is taken
POINTS = 200_000            # on the surface of a scan, by area
SIDE = 0.5                  # of a normal's length across the axis, for a face to belong to the side
EMPTY = 0.25                # share of the grid without a wall from which a scan is refused
ROUND = 0.2                 # out-of-round over radius from which it is no tube
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "um": 1e-3}
SIZES = (0.5, 1000.0)       # mm, diameters that a tube of a find may have


@dataclass(frozen=True)
class Walls:
    """Walls of a find, mm. value, error: of each reading, (k,). station, angle: where, mm and degrees; nan where it was
    not written down. of: what they come from."""
    value: np.ndarray
    error: np.ndarray
    station: np.ndarray
    angle: np.ndarray
    of: str

    def draws(self, n, seed=1):
        """n draws of the wall, as a Quantity, for `Study.sweep_over`: a place at random, and the error of its
        reading."""
        rng = np.random.default_rng(seed)
        at = rng.integers(len(self.value), size=int(n))
        return Q(np.maximum(self.value[at] + self.error[at] * rng.standard_normal(int(n)), 1e-3), "mm")

    def thin(self, most=5):
        """DataFrame of the thinnest places: where, wall, error, mm."""
        import pandas as pd
        order = np.argsort(self.value)[:most]
        return pd.DataFrame({"station_mm": self.station[order], "angle_deg": self.angle[order],
                             "wall_mm": self.value[order], "error_mm": self.error[order]})

    @property
    def said(self):
        """In a sentence."""
        low, mid, high = np.quantile(self.value, (0.05, 0.5, 0.95))
        return (f"{words.counted(len(self.value), 'wall')} ({self.of}): {words.ranged(low, mid, high, 'mm')}; thinnest "
                f"{words.with_unit(words.number(self.value.min(), 2), 'mm')}, error of one "
                f"{words.with_unit(words.number(1000 * float(np.median(self.error)), 2), 'um')}.")


def calliper(path):
    """Walls from a CSV of calliper readings: wall_mm, and where they are known station_mm, angle_deg, error_mm.

    A reading without error gets that of a vernier calliper, 0.02 mm (assumption). Raises tables.TableError with line
    and column, StudyError for fewer than two readings or a wall of nought.
    """
    rows = tables.read(path, FIELDS)
    if len(rows) < 2:
        raise StudyError(f"{path}: {words.counted(len(rows), 'reading')}; two or more show how even the wall is")
    for row in rows:
        if not row["wall_mm"] > 0:
            raise StudyError(f"{path}, line {row['line']}, column 'wall_mm': a wall of 0 is a hole; leave the row out, "
                             "and say so in a note of another")

    def column(name, missing):
        return np.array([missing if row.get(name) is None else row[name] for row in rows], float)

    return Walls(column("wall_mm", np.nan), column("error_mm", CALLIPER), column("station_mm", np.nan),
                 column("angle_deg", np.nan), f"calliper readings, {Path(path).name}")


@dataclass(frozen=True)
class Scan:
    """A scanned tube. axis: direction; middle: a point on it, mm; length, outside, bore: mm. wall: mm, on a grid of
    stations and angles, nan where a surface is lacking. scatter: of the points in a cell about its mean, mm, and the
    number of points: what its error is made of. holes: edges of the mesh that only one face has. unit: in which it was
    read."""
    axis: np.ndarray
    middle: np.ndarray
    length: float
    outside: float
    bore: float
    wall: np.ndarray
    error: np.ndarray
    stations: np.ndarray
    angles: np.ndarray
    holes: int
    unit: str
    name: str

    @cached_property
    def walls(self):
        """Its Walls, one a cell of the grid."""
        there = np.isfinite(self.wall)
        station, angle = np.broadcast_arrays(self.stations[:, None], self.angles)
        return Walls(self.wall[there], self.error[there], station[there], angle[there], f"scan, {self.name}")

    @property
    def eccentricity(self):
        """Offset of the bore from the outside, mm: half the swing of the wall round it, mean over stations."""
        around = np.nanmean(self.wall, axis=0)
        waves = np.nanmean((around - np.nanmean(around)) * np.exp(-1j * np.radians(self.angles)))
        return float(2 * abs(waves))


def scan(path, unit="mm", stations=STATIONS, angles=ANGLES, seed=1):
    """A scanned tube from a mesh (STL, PLY, OBJ; needs the extra `scan`): a Scan.

    unit: of the mesh, which its file does not say. stations, angles: of the grid; no fewer than 3 and 8. The axis is
    that to which the normals of the side are square; the wall is the distance between outside and bore along the
    radius, which is the thickness to second order of the offset between them. Facets, and points of one cell that lie
    about its mean, set the resolution: `error` says it.
    Raises StudyError for a file that cannot be read, a mesh that is no tube, has too many holes, or a size that no
    tube has: is the unit right?
    """
    try:
        import trimesh
    except ImportError:
        raise StudyError("reading a mesh needs a library that is not here; pip install 'ancient-method-kit[scan]', or "
                         "pip install trimesh") from None
    path = Path(path)
    if unit not in UNITS:
        raise StudyError(f"unit {unit!r} of the mesh; {tables.nearest(unit, UNITS)}")
    try:
        mesh = trimesh.load_mesh(path, process=False)
        mesh.merge_vertices()
        triangles = np.asarray(mesh.triangles, float) * UNITS[unit]
    except Exception as fault:
        raise StudyError(f"{path}: not readable as a mesh ({type(fault).__name__}); give an STL, PLY or OBJ of its "
                         "surface") from None
    if len(triangles) < 50:
        raise StudyError(f"{path}: {words.counted(len(triangles), 'face')} are too few for a scanned tube")
    if not np.isfinite(triangles).all():
        raise StudyError(f"{path}: a corner of the mesh is no number; export it again")
    _, counts = np.unique(np.sort(mesh.edges, axis=1), axis=0, return_counts=True)
    holes = int((counts == 1).sum())
    points, normals, area = _points(triangles, np.random.default_rng(seed))
    axis, middle, side = _axis(points, normals)
    along = (points - middle) @ axis
    across = points - middle - along[:, None] * axis
    u, v = _square(axis)
    x, y = across @ u, across @ v
    outward = np.sign(((x * (normals @ u) + y * (normals @ v)) / np.maximum(np.hypot(x, y), 1e-12)))
    reach = [np.hypot(x, y)[side & (outward * way > 0)] for way in (1, -1)]
    if len(reach[1]) and (not len(reach[0]) or reach[1].mean() > reach[0].mean()):
        outward = -outward   # the faces look inward
    outer, inner = side & (outward > 0), side & (outward < 0)
    _is_tube(path, x, y, outer, inner, unit, holes)
    cx, cy, outside = _circle(x[outer], y[outer])
    x, y, middle = x - cx, y - cy, middle + cx * u + cy * v
    radius, angle = np.hypot(x, y), np.degrees(np.arctan2(y, x)) % 360
    low, high = np.quantile(along[outer], (0.0, 1.0))
    rows, columns = max(3, int(stations)), max(8, int(angles))
    cells = np.minimum(((along - low) / max(high - low, 1e-9) * rows).astype(int).clip(0), rows - 1) * columns + (
        angle / 360 * columns).astype(int) % columns
    (mean_out, sd_out), (mean_in, sd_in) = (_in_cells(cells[of], radius[of], rows * columns) for of in (outer, inner))
    wall, error = mean_out - mean_in, np.hypot(sd_out, sd_in)
    lacking = float(np.mean(~np.isfinite(wall)))
    if lacking > EMPTY:
        raise StudyError(f"{path}: {words.percent(lacking)} of the surface has no wall that could be taken, outside or "
                         f"bore lacking there ({words.counted(holes, 'open edge')}); close the holes, or scan the bore "
                         "as well")
    return Scan(axis, middle, float(high - low), 2 * outside, 2 * _circle(x[inner], y[inner])[2],
                wall.reshape(rows, columns), error.reshape(rows, columns), low + (np.arange(rows) + 0.5) / rows
                * (high - low), (np.arange(columns) + 0.5) * 360 / columns, holes, unit, path.name)


def _points(triangles, rng):
    """Points on the surface by area, with the normals of their faces; and the area."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    cross = np.cross(b - a, c - a)
    area = 0.5 * np.linalg.norm(cross, axis=1)
    which = rng.choice(len(area), POINTS, p=area / area.sum())
    s, t = rng.random((2, POINTS))
    over = s + t > 1
    s[over], t[over] = 1 - s[over], 1 - t[over]
    points = a[which] + s[:, None] * (b - a)[which] + t[:, None] * (c - a)[which]
    return points, cross[which] / (2 * area[which])[:, None], float(area.sum())


def _axis(points, normals):
    """(direction, a point on it, which points belong to the side): square to the normals of the side."""
    keep = np.ones(len(points), bool)
    for _ in range(6):
        axis = np.linalg.eigh(normals[keep].T @ normals[keep])[1][:, 0]
        keep = np.abs(normals @ axis) < SIDE
        if keep.sum() < 100:
            break
    axis = axis if axis[np.argmax(np.abs(axis))] > 0 else -axis
    return axis, points.mean(axis=0), keep


def _square(axis):
    """Two directions square to the axis and to each other."""
    u = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    u /= np.linalg.norm(u)
    return u, np.cross(axis, u)


def _circle(x, y):
    """Middle and radius of the circle of least squares (Kasa's, linear): x, y, radius."""
    found = np.linalg.lstsq(np.column_stack([x, y, np.ones(len(x))]), x**2 + y**2, rcond=None)[0]
    cx, cy = found[:2] / 2
    return float(cx), float(cy), float(np.sqrt(found[2] + cx**2 + cy**2))


def _in_cells(cells, radius, size):
    """(mean radius, standard error of it) of each cell; nan where fewer than five points lie."""
    count = np.bincount(cells, minlength=size)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.bincount(cells, radius, size) / count
        square = np.bincount(cells, radius**2, size) / count
        spread = np.sqrt(np.maximum(square - mean**2, 0))
    mean[count < 5] = np.nan
    return mean, spread   # the facets' and the scan's own, which more points of the same scan do not lessen


def _is_tube(path, x, y, outer, inner, unit, holes):
    """Raise StudyError where the points are those of no tube, or of none of a size that there is."""
    if outer.sum() < 0.1 * POINTS:
        raise StudyError(f"{path}: no tube: its faces lie square to no common axis")
    cx, cy, radius = _circle(x[outer], y[outer])
    off = np.hypot(x[outer] - cx, y[outer] - cy)
    if np.quantile(np.abs(off - radius), 0.9) > ROUND * radius:
        raise StudyError(f"{path}: no tube: its outside is off a circle by more than {words.percent(ROUND)} of its "
                         "radius; cut out the part that is a tube, and give that")
    size = 2 * radius
    if not SIZES[0] <= size <= SIZES[1]:
        likely = [name for name, by in UNITS.items() if SIZES[0] <= size / UNITS[unit] * by <= 200]
        raise StudyError(f"{path}: in {unit} it would be {words.number(size)} mm across, which no such tube is; is the "
                         f"unit right? In {' or '.join(likely) or 'none of the known'} it could be")
    if inner.sum() < 0.05 * POINTS:
        raise StudyError(f"{path}: no bore: the mesh has an outside alone ({words.counted(holes, 'open edge')}); a "
                         "rod, or a scan that did not reach into the bore")


def sweep_claim(study, walls, key="wall", points=9, draws=2**12, seed=1):
    """The claim over the walls of a find: the DataFrame of `Study.sweep_over`, at equally likely walls of it; its
    `.attrs["chance"]` is the chance over all of them. walls: Walls. key: as for `with_`, such as 'hours.wall'."""
    return study.sweep_over(key=key, values=walls.draws(2**12, seed), points=points, draws=draws, seed=seed)
