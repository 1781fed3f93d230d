"""Measuring what was made: circles and lobes, V-blocks and callipers, taper, plug gauges, and how good the gauge itself
is.

Roundness is the peak-to-valley deviation of the radius from a reference circle (RONt); it depends on which circle. A
gauge with two contacts sees only even numbers of lobes, a V-block some numbers too large and others not at all: the
three lobes of a hand-held reamer pass every calliper.
"""
import itertools
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q, magnitude, number, units, warn_outside


@dataclass(frozen=True)
class Circle:
    """A reference circle: its centre and radius (mm), and the peak-to-valley departure of the points from it (um)."""
    x: Q
    y: Q
    radius: Q
    roundness: Q


@dataclass(frozen=True)
class Taper:
    """Change of diameter along the axis (mm/m, both sides together), its standard uncertainty, degrees of freedom."""
    slope: Q
    uncertainty: Q
    freedom: int


@dataclass(frozen=True)
class GaugeStudy:
    """Standard deviations in the unit of the readings: one reader's repeats, differences between readers, both together
    (gauge), the parts, and all (total); shares of the total, by the same names; and into how many kinds the gauge can
    sort these parts. Shares are of standard deviations, so their squares add up to 1, not they.
    """
    repeatability: Q
    reproducibility: Q
    gauge: Q
    part: Q
    total: Q
    shares: dict
    categories: int


# ---------------------------------------------------------------------------------------------------------- circles

# for warn_outside
NEARLY_ROUND = (0, 0.1, "", "the roundness is {} of the radius; the circle found is sure to be the best for {}")


def _points(x, y):
    """Checked points of a circle, plain."""
    if np.ndim(x) != 1 or np.shape(x) != np.shape(y):
        raise ValueError("x, y: two lists of the same length are needed, one place each for every point; "
                         f"they have shapes {np.shape(x)} and {np.shape(y)}")
    if len(np.unique(np.stack([x, y]), axis=1).T) < 3:
        raise ValueError("x, y: a circle needs at least three different points")
    spans = np.linalg.svd(np.stack([x - x.mean(), y - y.mean()]), compute_uv=False)
    if spans[1] < 1e-6 * spans[0]:
        raise ValueError("x, y: these points lie on a straight line; no circle goes through them")
    return x, y


def _reach(x, y, a, b):
    """Distances of the points from a centre."""
    return np.hypot(x - a, y - b)


def _arc(x, y, a, b):
    """Degrees of the turn that the points cover, seen from a centre: all but the widest gap."""
    angles = np.sort(np.degrees(np.arctan2(y - b, x - a)))
    return 360 - np.diff(angles, append=angles[0] + 360).max()


def _least_squares_centre(x, y):
    from scipy import optimize

    origin, size = np.array([x.mean(), y.mean()]), np.hypot(x.std(), y.std())
    u, v = (x - origin[0]) / size, (y - origin[1]) / size
    # start: the circle of least squares of r^2, a linear problem; then the true distances, whose mean is the radius
    start = np.linalg.lstsq(np.stack([2 * u, 2 * v, np.ones_like(u)], axis=1), u**2 + v**2)[0][:2]

    def departures(centre):
        reach = _reach(u, v, *centre)
        return reach - reach.mean()

    def slopes(centre):
        towards = np.stack([centre[0] - u, centre[1] - v], axis=1) / _reach(u, v, *centre)[:, None]
        return towards - towards.mean(axis=0)

    found = optimize.least_squares(departures, start, slopes, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return origin + size * found.x


def _all_round(x, y):
    """Least-squares centre of points that must go round, or the circles that touch them mean nothing."""
    a, b = _least_squares_centre(x, y)
    if _arc(x, y, a, b) <= 180:
        raise ValueError(f"x, y: the points cover {_arc(x, y, a, b):.0f} deg only; a circle that touches them inside "
                         "or outside needs points all round (least_squares_circle does not)")
    return np.array([a, b])


def _circle(x, y, centre, radius_of):
    reach = _reach(x, y, *centre)
    return Circle(x=Q(centre[0], "mm"), y=Q(centre[1], "mm"), radius=Q(radius_of(reach), "mm"),
                  roundness=Q(np.ptp(reach) * 1e3, "um"))


@units(x="mm", y="mm")
def least_squares_circle(x, y):
    """Circle from which the points depart least in the sum of squares (LSCI), measured square to the circle.

    x, y: of the points, lists. Result: Circle.

    Formula: least sum of (distance to the centre - radius)^2; the radius is the mean distance.
    Range: an arc below half a turn leaves centre and radius poorly known: warns.
    Raises ValueError for fewer than three points, lists of unlike length and points on a straight line.
    Source: ISO 12181-1, least squares reference circle, from memory; W. Gander, G. H. Golub and R. Strebel,
    Least-Squares Fitting of Circles and Ellipses, BIT 34 (1994) 558, for the distances square to the circle.
    """
    x, y = _points(x, y)
    centre = _least_squares_centre(x, y)
    warn_outside(_arc(x, y, *centre), 180, 360, "deg",
                 "the points cover {} of the turn; a well-determined circle needs {}")
    return _circle(x, y, centre, np.mean)


@units(x="mm", y="mm")
def minimum_zone_circle(x, y):
    """Middle of the narrowest ring that holds all points (MZCI): the roundness of ISO 1101.

    x, y: of the points, lists. Result: Circle; its roundness is the width of the ring, its radius the ring's mean.

    Formula: the centre with the least difference of greatest and least distance. Solved exactly for these points: about
    each centre the distances are straight-line functions of a small shift (the limacon), whose best shift is a linear
    programme; repeated until the true ring gets no narrower.
    Range: nearly round parts, for which there is one such ring; beyond a tenth of the radius it warns, as there may be
    a narrower ring elsewhere.
    Raises ValueError as `least_squares_circle`, and where the points cover half a turn or less.
    Source: ISO 12181-1, minimum zone reference circles, from memory.
    """
    x, y = _points(x, y)
    centre = _shifted(x, y, _all_round(x, y), cost=(0, 0, 1, -1), height=np.ptp)
    ring = _circle(x, y, centre, lambda reach: (reach.max() + reach.min()) / 2)
    warn_outside((ring.roundness / ring.radius).m_as(""), *NEARLY_ROUND)
    return ring


@units(x="mm", y="mm")
def maximum_inscribed_circle(x, y):
    """Largest circle with no point inside it (MICI): the largest plug gauge that enters a bore of this section.

    x, y: of the points, lists. Result: Circle.

    Formula: the centre with the greatest least distance; solved exactly as `minimum_zone_circle`.
    Range and errors as `minimum_zone_circle`.
    Source: ISO 12181-1, maximum inscribed reference circle, from memory.
    """
    x, y = _points(x, y)
    centre = _shifted(x, y, _all_round(x, y), cost=(0, 0, 0, -1), height=lambda reach: -reach.min())
    plug = _circle(x, y, centre, np.min)
    warn_outside((plug.roundness / plug.radius).m_as(""), *NEARLY_ROUND)
    return plug


def _shifted(x, y, centre, cost, height):
    """The centre moved until `height` of the distances is least.

    cost: of (shift x, shift y, outer, inner), with inner <= distance <= outer for every point.
    """
    from scipy import optimize

    while True:
        reach = _reach(x, y, *centre)
        middle, scale = reach.mean(), max(np.ptp(reach), 1e-12 * reach.mean())   # the solver works to 1e-7 of 1
        departure = (reach - middle) / scale
        away = np.stack([x - centre[0], y - centre[1]], axis=1) / reach[:, None]
        ones, zeros = np.ones((len(x), 1)), np.zeros((len(x), 1))
        rows = np.block([[-away, -ones, zeros], [away, zeros, ones]])
        found = optimize.linprog(cost, rows, np.concatenate([-departure, departure]), bounds=(None, None))
        step, best = found.x[:2] * scale, height(reach)
        while height(_reach(x, y, *(centre + step))) >= best:
            step = step / 2   # a long step leaves the range of the straight lines
            if np.hypot(*step) < 1e-9 * scale:
                return centre
        centre = centre + step


@units(x="mm", y="mm")
def minimum_circumscribed_circle(x, y):
    """Smallest circle with no point outside it (MCCI): the smallest ring that goes over a shaft of this section.

    x, y: of the points, lists. Result: Circle.

    Formula: the centre with the least greatest distance. Exact: two points or three carry that circle; the smallest
    circle that holds the few at hand is taken and the point farthest outside it joins them, until none is outside.
    Raises ValueError as `minimum_zone_circle`.

    >>> import kit, math
    >>> turn = [2 * math.pi * i / 36 for i in range(36)]
    >>> radii = [5 + 0.01 * math.cos(3 * a) for a in turn]   # three lobes of 10 um
    >>> ring = kit.gauging.minimum_circumscribed_circle(x=kit.Q([r * math.cos(a) for r, a in zip(radii, turn)], "mm"),
    ...                                                 y=kit.Q([r * math.sin(a) for r, a in zip(radii, turn)], "mm"))
    >>> kit.units.show(2 * ring.radius, 5), kit.units.show(ring.roundness)
    ('10.020 mm', '20.0 µm')

    Source: ISO 12181-1, minimum circumscribed reference circle, from memory.
    """
    x, y = _points(x, y)
    centre = _all_round(x, y)
    carriers, radius = [], 0.0
    while True:
        reach = _reach(x, y, *centre)
        farthest = int(reach.argmax())
        if carriers and (farthest in carriers or reach[farthest] <= radius * (1 + 1e-13)):
            return _circle(x, y, centre, np.max)
        held = [*carriers, farthest]
        subsets = [list(some) for size in (1, 2, 3) for some in itertools.combinations(held, size)]
        radius, carriers, centre = min((_holding(x, y, held, some) for some in subsets), key=lambda found: found[0])


def _holding(x, y, held, some):
    """(radius, carriers, centre) of the circle about the middle of `some` points that holds all of `held`."""
    corner = x[some[0]], y[some[0]]
    u, v = x[some] - corner[0], y[some] - corner[1]
    # equally far from all of `some`, and no farther than need be: the least solution of 2 u a + 2 v b = u^2 + v^2
    centre = np.linalg.lstsq(2 * np.stack([u, v], axis=1), u**2 + v**2)[0] + corner
    return _reach(x[held], y[held], *centre).max(), some, centre


# ------------------------------------------------------------------------------------------------------------ lobes

def _check_lobes(lobes):
    odd = np.ravel(lobes)[np.ravel(lobes != np.round(lobes))]
    if odd.size:
        raise ValueError(f"lobes: must be a whole number, not {number(odd[0], 4)}")


@units("um", radii="mm > 0")
def lobes(radii):
    """Amplitude of each number of lobes in a section, from its radii.

    radii: from one centre at equal angles all round, the first not repeated; a list of at least 3. Result: um, an array
    whose place n holds the amplitude of n undulations a turn, half their peak-to-valley. Place 0 holds the mean radius,
    place 1 how far the centre of measuring lies off the part's; 2 is oval, 3 three-lobed. The last place is half the
    number of radii: finer lobes than that are folded back into the others.

    Formula: Fourier series, r = r0 + sum of A_n cos(n angle - phase).
    Range: an offset centre shows a round part as an oval of amplitude offset^2 / (4 radius), so centre it well.
    Raises ValueError for fewer than three radii.
    Source: ISO 12181-1, undulations per revolution, from memory; the Fourier series in every textbook.
    """
    if np.ndim(radii) != 1 or len(radii) < 3:
        raise ValueError("radii: a list of at least three is needed, equally spaced all round")
    amplitude = 2 * np.abs(np.fft.rfft(radii)) / len(radii)
    amplitude[0] /= 2
    if len(radii) % 2 == 0:
        amplitude[-1] /= 2   # the finest wave has no partner of opposite turning
    return amplitude * 1e3


@units("", lobes=">= 2", angle="deg > 0 <= 180")
def v_block_factor(lobes, angle):
    """How much a V-block with an indicator on its middle line shows of the true roundness.

    lobes: undulations a turn, whole numbers from 2. angle: included angle of the V; 180 deg is a flat anvil, so a
    calliper, which sees even lobes twice, on either side, and odd ones not at all. Numbers or arrays. Result: number,
    the peak-to-valley reading in a turn over the peak-to-valley of the radius; the sign, which says only whether the
    reading rises with the lobe, is dropped. 0 where the V is blind.

    Formula: |1 + cos(n (90 deg + alpha)) / sin(alpha)|, alpha half the included angle.
    Range: one number n of lobes, of an amplitude below radius / n^2, so that no hollows lie between them.
    Raises ValueError for lobes that are not whole.
    Source: Journal of the Japan Society of Precision Engineering 43 (1977) 1167, abstract, which gives
    1 + cos n(90 deg + theta/2) / sin(theta/2) as the magnifying power; ISO 4292 tabulates it, from memory.
    """
    _check_lobes(lobes)
    half = np.radians(angle) / 2
    return np.abs(1 + np.cos(lobes * (np.pi / 2 + half)) / np.sin(half))


# --------------------------------------------------------------------------------------------------- taper and plugs

@units(diameters="mm > 0", stations="mm")
def taper(diameters, stations):
    """How fast a diameter changes along the axis, and how sure that is.

    diameters: measured, a list from 3. stations: places along the axis, one each. Result: Taper; positive where the
    diameter grows with the station. With t of its degrees of freedom the uncertainty makes an interval.

    Formula: least squares line; uncertainty sqrt(sum of squared departures / (n - 2) / sum of (station - mean)^2).
    Range: a straight taper, stations known far better than diameters. A barrel or a bell mouth shows as uncertainty.
    Raises ValueError for fewer than three, lists of unlike length and stations that are all one place.
    Source: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, H.3.
    """
    if np.ndim(diameters) != 1 or np.shape(diameters) != np.shape(stations):
        raise ValueError("diameters, stations: two lists of the same length are needed, one station for each diameter")
    if len(diameters) < 3:
        raise ValueError(f"diameters: {len(diameters)} are not enough; a line goes through any two, and only from the "
                         "third on does it show how sure it is")
    along = stations - stations.mean()
    if np.ptp(stations) == 0:
        raise ValueError("stations: all at one place; a taper needs some length")
    slope = along @ diameters / (along @ along)
    left = diameters - diameters.mean() - slope * along
    freedom = len(diameters) - 2
    uncertainty = np.sqrt(left @ left / freedom / (along @ along))
    return Taper(slope=Q(slope * 1e3, "mm/m"), uncertainty=Q(uncertainty * 1e3, "mm/m"), freedom=freedom)


@units(passes="mm > 0", stops="mm > 0", tolerance="mm >= 0")
def plug_interval(passes=None, stops=None, tolerance="0 mm"):
    """Size of a bore from stepped plug gauges: those that enter and those that do not.

    passes, stops: sizes of plugs that enter and of plugs that do not, each a number, a list or left out (not both).
    tolerance: by how much any plug may be larger or smaller than its size says. Result: (low, high) in mm, 0 and
    infinite where nothing bounds it. For a shaft and rings swap the two: rings that do not go over bound it below.

    Formula: greatest that passes less tolerance, least that stops plus tolerance.
    Range: rigid, full plugs as long as the bore: the size is that of the `maximum_inscribed_circle` over the length,
    smaller than any diameter of an odd-lobed or bent bore. What the hand takes for "enters" adds its own error.
    Raises ValueError where a plug passes that is larger, tolerances counted, than one that stops.
    Source: W. Taylor's principle of gauging (1905), ISO/R 1938, from memory.
    """
    if passes is None and stops is None:
        raise ValueError("passes, stops: give plugs that enter, plugs that do not, or both")
    low = 0.0 if passes is None else max(np.max(passes) - tolerance, 0.0)
    high = np.inf if stops is None else np.min(stops) + tolerance
    if low >= high:
        raise ValueError(f"passes, stops: {np.max(passes):g} mm enters and {np.min(stops):g} mm does not; "
                         f"with a tolerance of {tolerance:g} mm that cannot be")
    return Q(low, "mm"), Q(high, "mm")


@units("um", step="um > 0")
def resolution_uncertainty(step):
    """Standard uncertainty of a reading that is only known to lie somewhere in a step.

    step: of the scale or display, or the width between the two plugs of a `plug_interval`; number or array. Result: um.

    Formula: step / sqrt(12), any place in the step being equally likely.
    Source: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, F.2.2.1, from memory.
    """
    return step / np.sqrt(12)


# ------------------------------------------------------------------------------------------------------ gauge study

# One over the mean range of so many normal values in standard deviations: K1, by repeats, for many ranges averaged
# (1/d2), and K2 = K3, by readers or parts, for a single range (1/d2*). Automotive Industry Action Group, Measurement
# Systems Analysis, 4th ed. (2010), from memory: K1 for 2 and 3, K2 and K3; K1 for more from Shewhart's d2.
MANY_RANGES = {2: 0.8862, 3: 0.5908, 4: 0.4857, 5: 0.4299}
ONE_RANGE = {2: 0.7071, 3: 0.5231, 4: 0.4467, 5: 0.4030, 6: 0.3742, 7: 0.3534, 8: 0.3375, 9: 0.3249, 10: 0.3146}
STUDIES = ("anova", "range")
POOLED_FROM = 0.05   # chance of so large an interaction by luck, above which it is taken for repeatability


def gauge_study(readings, method="anova"):
    """How much of the scatter of measured parts is the gauge's and its readers'.

    readings: array (parts, readers, repeats), at least 2 of each, with or without a unit; every reader measures every
    part as often, in blind order. method: "anova", or "range", the sum on paper. Result: GaugeStudy. A single maker
    counts as two readers on two days.

    Formula, s for standard deviations: gauge^2 = repeatability^2 + reproducibility^2, total^2 = gauge^2 + part^2,
    categories = 1.41 part / gauge, cut to a whole number.
    anova: mean squares of parts P, readers R, interaction I and repeats E with p parts, k readers, r repeats, all taken
    as random draws. repeatability^2 = E; reproducibility^2 = (R - I)/(p r) + (I - E)/r; part^2 = (P - I)/(k r); a
    negative term is 0. Where the F test does not find the interaction at 5 %, I and E are pooled and stand for both.
    range: repeatability = K1 mean range of the repeats; reproducibility^2 = (K2 range of the readers' means)^2 -
    repeatability^2/(p r), not below 0; part = K3 range of the parts' means.
    Range: normal scatter alike for all parts; K1 is meant for 15 ranges and more (3 % high for ten ranges of two
    repeats). A gauge below 10 % of the total is taken for good, above 30 % for useless; 5 categories are wanted.
    Raises ValueError for another shape, an unknown method, readings that never differ in the repeats (the gauge's step
    hides its scatter: see `resolution_uncertainty`), and more than the range method has constants for.

    >>> import kit
    >>> read = kit.Q([[[5.01, 5.02], [5.02, 5.02]], [[5.06, 5.05], [5.06, 5.07]], [[4.97, 4.98], [4.99, 4.98]]], "mm")
    >>> study = kit.gauging.gauge_study(readings=read)   # three parts, two readers, two readings each
    >>> kit.units.show(study.gauge.to("um")), study.categories
    ('7.91 µm', 7)

    Source: Automotive Industry Action Group, Measurement Systems Analysis, 4th ed. (2010), chapter III, from memory.
    """
    if method not in STUDIES:
        raise ValueError(f"method: unknown word {method!r}; {tables.nearest(method, STUDIES)}")
    unit = readings.units if isinstance(readings, Q) else ""
    values = magnitude(readings.magnitude if isinstance(readings, Q) else readings, "", "readings")
    if np.ndim(values) != 3 or min(values.shape) < 2:
        raise ValueError("readings: an array of (parts, readers, repeats) with at least 2 of each is needed, not "
                         f"{np.shape(values)}; a single reader may count as two, on two days")
    if not np.ptp(values, axis=2).any():
        raise ValueError("readings: the repeats never differ, so the gauge's step hides its scatter; read it finer, "
                         "or take resolution_uncertainty")
    repeats, readers, part = (_by_anova if method == "anova" else _by_ranges)(values)
    gauge = np.hypot(repeats, readers)
    total = np.hypot(gauge, part)
    found = {"repeatability": repeats, "reproducibility": readers, "gauge": gauge, "part": part, "total": total}
    return GaugeStudy(**{name: Q(value, unit) for name, value in found.items()}, categories=int(1.41 * part / gauge),
                      shares={name: float(value / total) for name, value in found.items()})


def _constant(known, count, of):
    if count not in known:
        raise ValueError(f"readings: the range method has constants for 2 to {max(known)} {of}, not {count}; "
                         "take the anova")
    return known[count]


def _by_ranges(values):
    parts, readers, repeats = values.shape
    repeatability = _constant(MANY_RANGES, repeats, "repeats") * np.ptp(values, axis=2).mean()
    between = _constant(ONE_RANGE, readers, "readers") * np.ptp(values.mean(axis=(0, 2)))
    reproducibility = np.sqrt(max(between**2 - repeatability**2 / (parts * repeats), 0))
    return repeatability, reproducibility, _constant(ONE_RANGE, parts, "parts") * np.ptp(values.mean(axis=(1, 2)))


def _by_anova(values):
    from scipy import stats

    parts, readers, repeats = values.shape
    cells, mean = values.mean(axis=2), values.mean()
    by_part, by_reader = values.mean(axis=(1, 2)) - mean, values.mean(axis=(0, 2)) - mean
    free_cross, free_repeat = (parts - 1) * (readers - 1), parts * readers * (repeats - 1)
    cross_sum = repeats * ((cells - mean - by_part[:, None] - by_reader)**2).sum()
    repeat_sum = ((values - cells[:, :, None])**2).sum()
    ms_part = readers * repeats * (by_part**2).sum() / (parts - 1)
    ms_reader = parts * repeats * (by_reader**2).sum() / (readers - 1)
    ms_cross, ms_repeat = cross_sum / free_cross, repeat_sum / free_repeat
    if stats.f.sf(ms_cross / ms_repeat, free_cross, free_repeat) > POOLED_FROM:
        ms_cross = ms_repeat = (cross_sum + repeat_sum) / (free_cross + free_repeat)
    reproducibility = (max(ms_reader - ms_cross, 0) / (parts * repeats) + max(ms_cross - ms_repeat, 0) / repeats)
    return np.sqrt(ms_repeat), np.sqrt(reproducibility), np.sqrt(max(ms_part - ms_cross, 0) / (readers * repeats))
