"""kit.gauging: other routes to every circle, geometry acted out, simulation, laws over whole ranges, bad input."""
import itertools

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, spatial, stats

from kit import gauging
from kit.units import OutOfRange, Q

CIRCLES = (gauging.least_squares_circle, gauging.minimum_zone_circle, gauging.maximum_inscribed_circle,
           gauging.minimum_circumscribed_circle)
TOUCHING = CIRCLES[1:]


def section(seed, count=24, radius=10.0, departure=0.02, lobes=3, even=True):
    """Points (mm) of a lobed, rough, off-centre section."""
    draw = np.random.default_rng(seed)
    angle = np.arange(count) * 2 * np.pi / count + (0 if even else draw.uniform(0, 2 / count, count))
    r = radius + departure * np.cos(lobes * angle + seed) + draw.normal(0, departure / 4, count)
    return 0.3 + r * np.cos(angle), -0.2 + r * np.sin(angle)


def fit(circle, x, y, unit="mm"):
    return circle(x=Q(x, unit), y=Q(y, unit))


def distances(circle, x, y):
    return np.hypot(x - circle.x.m_as("mm"), y - circle.y.m_as("mm"))


shapes = st.builds(section, seed=st.integers(0, 10_000), count=st.integers(7, 40), lobes=st.integers(2, 9),
                   even=st.booleans())
some = settings(max_examples=25)


# ----------------------------------------------------------------------------------------------------------- circles

@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("departure", [1e-4, 0.02, 1.0])
def test_least_squares_by_fitting_centre_and_radius_together(seed, departure):
    x, y = section(seed, departure=departure, lobes=2 + seed)
    got = fit(gauging.least_squares_circle, x, y)
    theirs = optimize.least_squares(lambda p: np.hypot(x - p[0], y - p[1]) - p[2], [0, 0, 8],
                                    xtol=1e-15, ftol=1e-15, gtol=1e-15)
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx(tuple(theirs.x), abs=2e-7 * max(departure, 0.01) / 0.01)
    left = distances(got, x, y)
    assert got.roundness.m_as("mm") == pytest.approx(left.max() - left.min(), abs=1e-12)


def test_least_squares_centre_is_where_the_sum_of_squares_is_flat():
    x, y = section(3, departure=0.5)
    got = fit(gauging.least_squares_circle, x, y)

    def squares(a, b):
        return np.var(np.hypot(x - a, y - b))

    here = squares(got.x.m, got.y.m)
    assert all(squares(got.x.m + 1e-3 * np.cos(t), got.y.m + 1e-3 * np.sin(t)) > here for t in range(7))


def centres_of_rings(x, y):
    """Every centre at which the ring may be narrowest: two points outside and two inside, or three of a kind."""
    p = np.stack([x, y], axis=1)
    pairs = list(itertools.combinations(range(len(x)), 2))

    def bisector(i, j):
        return p[j] - p[i], (p[j] @ p[j] - p[i] @ p[i]) / 2

    for one, other in itertools.combinations(pairs, 2):
        (n1, c1), (n2, c2) = bisector(*one), bisector(*other)
        matrix = np.array([n1, n2])
        if abs(np.linalg.det(matrix)) > 1e-9:
            yield np.linalg.solve(matrix, [c1, c2])


@pytest.mark.parametrize("seed", range(5))
def test_minimum_zone_by_trying_every_ring(seed):
    x, y = section(seed, count=9, lobes=2 + seed, even=seed % 2)
    narrowest = min(np.ptp(np.hypot(x - a, y - b)) for a, b in centres_of_rings(x, y))
    assert fit(gauging.minimum_zone_circle, x, y).roundness.m_as("mm") == pytest.approx(narrowest, abs=1e-9)


def test_minimum_zone_by_searching_the_plane():
    x, y = section(11, count=90, lobes=5)
    found = optimize.differential_evolution(lambda c: np.ptp(np.hypot(x - c[0], y - c[1])), [(0.2, 0.4), (-0.3, -0.1)],
                                            seed=1, tol=1e-12, popsize=30)
    assert fit(gauging.minimum_zone_circle, x, y).roundness.m_as("mm") == pytest.approx(found.fun, abs=1e-7)


@pytest.mark.parametrize("seed", range(8))
def test_maximum_inscribed_among_the_corners_of_the_voronoi_cells(seed):
    """The largest empty circle stands on such a corner, inside the part."""
    x, y = section(seed, count=30, lobes=2 + seed, even=seed % 2)
    points = np.stack([x, y], axis=1)
    corners = spatial.Voronoi(points).vertices
    corners = corners[np.hypot(*(corners - points.mean(axis=0)).T) < 5]
    largest = spatial.distance.cdist(corners, points).min(axis=1).max()
    assert fit(gauging.maximum_inscribed_circle, x, y).radius.m == pytest.approx(largest, abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_minimum_circumscribed_by_trying_every_two_and_three(seed):
    x, y = section(seed, count=12, lobes=2 + seed % 3, even=seed % 2, departure=0.02 if seed < 6 else 2.0)
    p = np.stack([x, y], axis=1)
    centres = [(p[i] + p[j]) / 2 for i, j in itertools.combinations(range(12), 2)]
    centres += [np.linalg.solve(2 * (p[[j, k]] - p[i]), (p[[j, k]]**2).sum(axis=1) - (p[i]**2).sum())
                for i, j, k in itertools.combinations(range(12), 3)]
    smallest = min(np.hypot(x - a, y - b).max() for a, b in centres)
    assert fit(gauging.minimum_circumscribed_circle, x, y).radius.m == pytest.approx(smallest, abs=1e-10)


def test_oval_is_carried_by_its_long_axis():
    """Two opposite points alone hold the circumscribed circle, so its centre hangs on second-order terms only."""
    angle = np.arange(36) * np.pi / 18
    x, y = 10.1 * np.cos(angle) + 3, 9.9 * np.sin(angle)
    got = fit(gauging.minimum_circumscribed_circle, x, y)
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx((3, 0, 10.1), abs=1e-12)
    assert fit(gauging.maximum_inscribed_circle, x, y).radius.m == pytest.approx(9.9, abs=0.01)
    assert fit(gauging.minimum_zone_circle, x, y).roundness.m == pytest.approx(200, abs=1e-6)


@pytest.mark.parametrize("circle", CIRCLES)
def test_round_points_give_their_circle(circle):
    angle = np.linspace(0, 2 * np.pi, 11)[:-1]
    got = fit(circle, 1000 + 4 * np.cos(angle), -2000 + 4 * np.sin(angle))
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx((1000, -2000, 4), abs=1e-9)
    assert got.roundness.m_as("mm") == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("circle", CIRCLES)
def test_three_points_settle_a_circle(circle):
    got = fit(circle, [3.0, -3.0, 0.0], [4.0, 4.0, -5.0])
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx((0, 0, 5), abs=1e-6)


@pytest.mark.parametrize("circle", CIRCLES)
@some
@given(shapes, st.floats(-50, 50), st.floats(0, 6.28))
def test_circle_moves_and_turns_with_the_part(circle, shape, shift, turn):
    x, y = shape
    still = fit(circle, x, y)
    c, s = np.cos(turn), np.sin(turn)
    moved = fit(circle, shift + c * x - s * y, -shift + s * x + c * y)
    assert moved.radius.m == pytest.approx(still.radius.m, abs=1e-6)
    assert moved.roundness.m_as("mm") == pytest.approx(still.roundness.m_as("mm"), abs=1e-6)
    a, b = still.x.m, still.y.m
    assert (moved.x.m, moved.y.m) == pytest.approx((shift + c * a - s * b, -shift + s * a + c * b), abs=1e-5)


@pytest.mark.parametrize("circle", CIRCLES)
@some
@given(shapes)
def test_circle_knows_its_unit_and_no_order_of_points(circle, shape):
    x, y = shape
    in_mm = fit(circle, x, y)
    in_m = fit(circle, x[::-1] / 1000, y[::-1] / 1000, unit="m")
    assert in_m.radius.m_as("mm") == pytest.approx(in_mm.radius.m_as("mm"), abs=1e-6)
    assert in_m.roundness.m_as("um") == pytest.approx(in_mm.roundness.m_as("um"), abs=1e-3)
    assert str(in_mm.roundness.units) == "µm" and str(in_mm.radius.units) == "mm"


@some
@given(shapes)
def test_circles_stand_in_order(shape):
    x, y = shape
    least, zone, inside, outside = (fit(circle, x, y) for circle in CIRCLES)
    assert inside.radius.m <= least.radius.m <= outside.radius.m
    assert inside.radius.m <= zone.radius.m <= outside.radius.m
    assert all(zone.roundness.m <= other.roundness.m + 1e-6 for other in (least, inside, outside))
    assert distances(inside, x, y).min() == pytest.approx(inside.radius.m, abs=1e-9)
    assert distances(outside, x, y).max() == pytest.approx(outside.radius.m, abs=1e-9)
    # the edges of the ring are themselves such circles
    assert outside.radius.m - inside.radius.m <= zone.roundness.m_as("mm") + 1e-9


def test_many_points_in_good_time():
    x, y = section(5, count=3600)
    assert fit(gauging.minimum_zone_circle, x, y).roundness < fit(gauging.least_squares_circle, x, y).roundness


# ------------------------------------------------------------------------------------------------------------ lobes

@given(st.integers(5, 60), st.integers(0, 1000))
def test_lobes_by_fitting_waves(count, seed):
    radii = 8 + np.random.default_rng(seed).normal(0, 0.01, count)
    got = gauging.lobes(radii=Q(radii, "mm")).m_as("mm")
    angle = np.arange(count) * 2 * np.pi / count
    assert len(got) == count // 2 + 1
    assert got[0] == pytest.approx(radii.mean())
    for n in range(1, (count - 1) // 2 + 1):
        waves = np.stack([np.cos(n * angle), np.sin(n * angle)], axis=1)
        assert got[n] == pytest.approx(np.hypot(*np.linalg.lstsq(waves, radii - 8)[0]), abs=1e-12)


@pytest.mark.parametrize("count", [11, 12])
def test_lobes_account_for_all_of_the_departure(count):
    radii = 5 + np.random.default_rng(count).normal(0, 0.01, count)
    amplitude = gauging.lobes(radii=Q(radii, "mm")).m_as("mm")
    power = amplitude[1:]**2 / 2
    if count % 2 == 0:
        power[-1] *= 2   # the finest wave is met at its crests only
    assert power.sum() == pytest.approx(np.var(radii))


@pytest.mark.parametrize("lobes", [1, 2, 3, 6])
def test_one_wave_stands_in_its_place(lobes):
    angle = np.arange(12) * np.pi / 6
    got = gauging.lobes(radii=Q(10 + 0.004 * np.cos(lobes * angle + (0.7 if lobes < 6 else 0)), "mm"))
    assert got.m_as("um")[lobes] == pytest.approx(4)
    assert np.delete(got.m_as("um"), [0, lobes]) == pytest.approx(0, abs=1e-9)


def test_offset_centre_shows_a_round_part_as_an_oval():
    angle, offset = np.arange(64) * np.pi / 32, 0.2
    radii = offset * np.cos(angle) + np.sqrt(10**2 - (offset * np.sin(angle))**2)
    got = gauging.lobes(radii=Q(radii, "mm")).m_as("mm")
    assert got[1] == pytest.approx(offset)
    assert got[2] == pytest.approx(offset**2 / 40, rel=0.001)


def settle(lobes, angle, amplitude=1e-3):
    """Readings of an indicator over a V-block as a lobed part (given by how far it reaches in each direction) turns
    in it."""
    half = np.radians(angle) / 2
    turned = np.linspace(0, 2 * np.pi, 4001)

    def reach(direction):
        return 1 + amplitude * np.cos(lobes * (direction - turned))

    # faces of the V: planes whose outward normals, seen from the part, point down to the left and to the right
    left, right = -np.pi / 2 - (np.pi / 2 - half), -np.pi / 2 + (np.pi / 2 - half)
    normals = np.array([[np.cos(left), np.sin(left)], [np.cos(right), np.sin(right)]])
    # the part rests on both: centre . normal + reach = distance of the face from the apex, 0
    centre = np.linalg.solve(normals, -np.stack([reach(left), reach(right)]))
    return centre[1] + reach(np.pi / 2)


@pytest.mark.parametrize("lobes", [2, 3, 4, 5, 7, 9, 12])
@pytest.mark.parametrize("angle", [60, 90, 108, 120])
def test_v_block_by_letting_parts_settle(lobes, angle):
    reading = np.ptp(settle(lobes, angle))
    assert gauging.v_block_factor(lobes=lobes, angle=Q(angle, "deg")).m == pytest.approx(reading / 2e-3, abs=1e-4)


@given(st.integers(2, 40))
def test_a_flat_anvil_sees_even_lobes_twice_and_odd_ones_not_at_all(lobes):
    assert gauging.v_block_factor(lobes=lobes, angle="180 deg").m == pytest.approx(0 if lobes % 2 else 2, abs=1e-9)


@pytest.mark.parametrize("lobes", [2, 3, 5, 8])
def test_calliper_by_measuring_across(lobes):
    angle = np.linspace(0, 2 * np.pi, 7201)
    across = 20 + 0.001 * (np.cos(lobes * angle) + np.cos(lobes * (angle + np.pi)))
    assert gauging.v_block_factor(lobes=lobes, angle="180 deg").m == pytest.approx(np.ptp(across) / 0.002, abs=1e-6)


def test_every_lobe_up_to_ten_is_seen_by_one_of_three_blocks():
    n = np.arange(2, 11)
    seen = gauging.v_block_factor(lobes=n, angle=Q([[60], [90], [108]], "deg")).m
    assert seen.shape == (3, 9) and (seen.max(axis=0) > 0.4).all() and (seen.min(axis=0) < 0.4)[[0, 2, 3]].all()


# --------------------------------------------------------------------------------------------------- taper and plugs

@given(st.integers(3, 20), st.integers(0, 1000))
def test_taper_as_scipy_has_it(count, seed):
    draw = np.random.default_rng(seed)
    stations, diameters = draw.uniform(0, 60, count), draw.normal(8, 0.01, count)
    got = gauging.taper(diameters=Q(diameters, "mm"), stations=Q(stations, "mm"))
    theirs = stats.linregress(stations, diameters)
    assert got.slope.m_as("mm/mm") == pytest.approx(theirs.slope, rel=1e-8, abs=1e-12)
    assert got.uncertainty.m_as("mm/mm") == pytest.approx(theirs.stderr, rel=1e-6, abs=1e-12)
    assert got.freedom == count - 2


def test_taper_uncertainty_by_simulation():
    stations = np.array([5.0, 20, 30, 55])
    draw = np.random.default_rng(2)
    diameters = 8 + 1e-3 * stations + draw.normal(0, 0.004, (4000, 4))
    found = [gauging.taper(diameters=Q(row, "mm"), stations=Q(stations, "mm")) for row in diameters]
    slopes = np.array([one.slope.m_as("um/mm") for one in found])
    claimed = np.sqrt(np.mean([one.uncertainty.m_as("um/mm")**2 for one in found]))
    assert slopes.mean() == pytest.approx(1, abs=4 * slopes.std() / np.sqrt(4000))
    assert claimed == pytest.approx(slopes.std(), rel=0.05)


def test_taper_knows_its_unit():
    got = gauging.taper(diameters=Q([0.008, 0.00801, 0.00802], "m"), stations=Q([0, 1, 2], "inch"))
    assert got.slope.m_as("mm/m") == pytest.approx(10 / 25.4)
    assert got.uncertainty.m == pytest.approx(0, abs=1e-9)


def test_plugs_bound_a_bore():
    low, high = gauging.plug_interval(passes=Q([8.00, 8.02, 8.01], "mm"), stops=Q([8.05, 8.04], "mm"))
    assert (low, high) == (Q(8.02, "mm"), Q(8.04, "mm"))
    low, high = gauging.plug_interval(passes="8.02 mm", stops="8.04 mm", tolerance="3 um")
    assert (low.m, high.m) == pytest.approx((8.017, 8.043))
    assert gauging.plug_interval(passes="8.02 mm") == (Q(8.02, "mm"), Q(np.inf, "mm"))
    assert gauging.plug_interval(stops="8.02 mm") == (Q(0, "mm"), Q(8.02, "mm"))


def test_plugs_that_disagree_within_their_tolerance_are_believed():
    low, high = gauging.plug_interval(passes="8.02 mm", stops="8.02 mm", tolerance="2 um")
    assert (low.m, high.m) == pytest.approx((8.018, 8.022))


@given(st.floats(7.9, 8.1), st.floats(0, 0.004), st.integers(0, 1000))
def test_plugs_hold_the_true_bore(bore, tolerance, seed):
    named = np.arange(7.88, 8.13, 0.01)
    real = named + np.random.default_rng(seed).uniform(-tolerance, tolerance, named.size)
    low, high = gauging.plug_interval(passes=Q(named[real < bore], "mm"), stops=Q(named[real >= bore], "mm"),
                                      tolerance=Q(tolerance, "mm"))
    assert low.m <= bore + 1e-12 and bore <= high.m + 1e-12
    assert high.m - low.m <= 0.01 + 4 * tolerance + 1e-9


def test_resolution_by_simulation():
    true = np.random.default_rng(3).uniform(0, 5, 400_000)
    error = true - np.round(true / 0.02) * 0.02
    assert gauging.resolution_uncertainty(step="0.02 mm").m_as("mm") == pytest.approx(error.std(), rel=0.005)


# ------------------------------------------------------------------------------------------------------ gauge study

NAMES = ("repeatability", "reproducibility", "gauge", "part", "total")


def readings_of(draw, parts, readers, repeats, part=1.0, reader=0.0, cross=0.0, repeat=0.1):
    return (draw.normal(0, part, (parts, 1, 1)) + draw.normal(0, reader, (1, readers, 1))
            + draw.normal(0, cross, (parts, readers, 1)) + draw.normal(0, repeat, (parts, readers, repeats)))


def left_over(values, *columns):
    """Sum of squares that a linear model with these groups of columns leaves."""
    design = np.concatenate([np.ones((values.size, 1)), *columns], axis=1)
    return ((values.ravel() - design @ np.linalg.lstsq(design, values.ravel())[0])**2).sum()


@pytest.mark.parametrize("cross", [0.0, 1.0])
def test_anova_by_fitting_linear_models(cross):
    values = readings_of(np.random.default_rng(8), 6, 3, 2, reader=3.0, cross=cross, repeat=0.2)
    part, reader, _ = np.indices(values.shape).reshape(3, -1)
    by_part, by_reader = np.eye(6)[part], np.eye(3)[reader]
    by_cell = np.eye(18)[part * 3 + reader]
    error = left_over(values, by_cell)
    interaction = left_over(values, by_part, by_reader) - error
    ms_part = (left_over(values, by_reader) - left_over(values, by_part, by_reader)) / 5
    ms_reader = (left_over(values, by_part) - left_over(values, by_part, by_reader)) / 2
    ms_cross, ms_error = interaction / 10, error / 18
    pooled = stats.f.sf(ms_cross / ms_error, 10, 18) > 0.05
    assert pooled == (cross == 0)   # the test takes both roads
    if pooled:
        ms_cross = ms_error = (interaction + error) / 28
    got = gauging.gauge_study(readings=Q(values, "um"))
    assert got.repeatability.m**2 == pytest.approx(ms_error)
    assert got.reproducibility.m**2 == pytest.approx((ms_reader - ms_cross) / 12 + (ms_cross - ms_error) / 2)
    assert got.part.m**2 == pytest.approx((ms_part - ms_cross) / 6)


@pytest.mark.parametrize("chance, pooled", [(0.0495, False), (0.0505, True)])
def test_an_interaction_is_taken_for_luck_from_one_chance_in_twenty_on(chance, pooled):
    """The interaction is made as large as has that chance by the F distribution."""
    draw, free = np.random.default_rng(9), (5 * 2, 6 * 3 * 1)
    repeats = draw.normal(size=(6, 3, 2))
    repeats = repeats - repeats.mean(axis=2, keepdims=True)
    cross = draw.normal(size=(6, 3, 1))
    cross = cross - cross.mean(axis=0) - cross.mean(axis=1, keepdims=True) + cross.mean()
    ms_repeat, ms_cross = (repeats**2).sum() / free[1], 2 * (cross**2).sum() / free[0]
    cross = cross * np.sqrt(stats.f.isf(chance, *free) * ms_repeat / ms_cross)
    got = gauging.gauge_study(readings=Q(np.arange(6.0)[:, None, None] + cross + repeats, "um"))
    together = (2 * (cross**2).sum() + (repeats**2).sum()) / sum(free)
    assert together > 1.2 * ms_repeat
    assert got.repeatability.m**2 == pytest.approx(together if pooled else ms_repeat)


@pytest.mark.parametrize("method", gauging.STUDIES)
def test_studies_find_what_was_put_in(method):
    draw = np.random.default_rng(6)
    found = [gauging.gauge_study(readings=readings_of(draw, 10, 3, 3, part=1, reader=0.3, repeat=0.2), method=method)
             for _ in range(600)]
    assert np.mean([one.repeatability.m for one in found]) == pytest.approx(0.2, rel=0.02)
    assert np.mean([one.part.m for one in found]) == pytest.approx(1, rel=0.06)
    assert np.sqrt(np.mean([one.reproducibility.m**2 for one in found])) == pytest.approx(0.3, rel=0.1)


def test_interaction_is_counted_with_the_readers():
    draw = np.random.default_rng(7)
    found = [gauging.gauge_study(readings=readings_of(draw, 10, 3, 3, cross=0.5, repeat=0.2)) for _ in range(300)]
    assert np.sqrt(np.mean([one.reproducibility.m**2 for one in found])) == pytest.approx(0.5, rel=0.1)
    assert np.mean([one.repeatability.m for one in found]) == pytest.approx(0.2, rel=0.03)


@pytest.mark.parametrize("method", gauging.STUDIES)
@some
@given(st.integers(2, 8), st.integers(2, 4), st.integers(2, 5), st.integers(0, 1000))
def test_study_adds_up_whatever_zero_and_order(method, parts, readers, repeats, seed):
    values = readings_of(np.random.default_rng(seed), parts, readers, repeats, reader=0.2)
    got = gauging.gauge_study(readings=Q(values, "um"), method=method)
    assert got.gauge.m == pytest.approx(np.hypot(got.repeatability.m, got.reproducibility.m))
    assert got.total.m == pytest.approx(np.hypot(got.gauge.m, got.part.m))
    assert got.shares == pytest.approx({name: getattr(got, name).m / got.total.m for name in NAMES})
    assert got.categories == int(1.41 * got.part.m / got.gauge.m)
    other = gauging.gauge_study(readings=Q(8 + values[::-1, ::-1, ::-1] / 1000, "mm"), method=method)
    for name in NAMES:
        assert getattr(other, name).m_as("um") == pytest.approx(getattr(got, name).m, rel=1e-6, abs=1e-6)


def test_readers_that_agree_too_well_count_as_nothing():
    values = readings_of(np.random.default_rng(1), 4, 2, 3)
    values -= values.mean(axis=(0, 2), keepdims=True)
    for method in gauging.STUDIES:
        assert gauging.gauge_study(readings=values, method=method).reproducibility.m == 0


def mean_range(n, power):
    """Mean of the range of n normal values, or of its square, from the distribution of the range."""
    w, x = np.linspace(0, 12, 601), np.linspace(-9, 9, 601)[:, None]
    others = stats.norm.cdf(x + w) - stats.norm.cdf(x)
    within = integrate.trapezoid(n * stats.norm.pdf(x) * others**(n - 1), x, axis=0)
    return integrate.simpson(power * w**(power - 1) * (1 - within), x=w)


@pytest.mark.parametrize("n", sorted(gauging.ONE_RANGE))
def test_constant_for_one_range(n):
    """1/d2* for a single range is one over the root of the mean square of the range; the table has four digits."""
    assert gauging.ONE_RANGE[n] == pytest.approx(1 / np.sqrt(mean_range(n, 2)), abs=0.00005)


@pytest.mark.parametrize("n", sorted(gauging.MANY_RANGES))
def test_constant_for_many_ranges(n):
    assert gauging.MANY_RANGES[n] == pytest.approx(1 / mean_range(n, 1), abs=0.00005)


# -------------------------------------------------------------------------------------------------------- bad input

ROUND = {"x": Q([1, 0, -1, 0], "mm"), "y": Q([0, 1, 0, -1], "mm")}
ARC = {"x": Q([36, 36, 19, 18, 33, 26], "mm"), "y": Q([14, 10, 28, 31, 18, 26], "mm")}


@pytest.mark.parametrize("wrong, said", [
    (lambda: gauging.least_squares_circle(x=Q([0, 1], "mm"), y=Q([1, 0], "mm")), "at least three different points"),
    (lambda: gauging.least_squares_circle(x=Q([0, 1, 1, 0], "mm"), y=Q([1, 0, 0, 1], "mm")), "three different points"),
    (lambda: gauging.least_squares_circle(x=Q([0, 1, 2], "mm"), y=Q([1, 0], "mm")), "two lists of the same length"),
    (lambda: gauging.least_squares_circle(x="1 mm", y="2 mm"), "two lists of the same length"),
    (lambda: gauging.least_squares_circle(x=Q([0, 1, 2, 3], "mm"), y=Q([1, 3, 5, 7], "mm")), "straight line"),
    (lambda: gauging.least_squares_circle(x=Q([0, 1, np.nan], "mm"), y=Q([1, 3, 5], "mm")), "x: not a finite number"),
    (lambda: gauging.minimum_zone_circle(**ARC), "cover 60 deg only"),
    (lambda: gauging.maximum_inscribed_circle(**ARC), "cover 60 deg only"),
    (lambda: gauging.minimum_circumscribed_circle(**ARC), "cover 60 deg only"),
    (lambda: gauging.lobes(radii=Q([8, 8], "mm")), "at least three"),
    (lambda: gauging.lobes(radii=Q([8, 8, 0], "mm")), "radii: 0 mm makes no sense"),
    (lambda: gauging.v_block_factor(lobes=2.5, angle="90 deg"), "lobes: must be a whole number, not 2.5"),
    (lambda: gauging.v_block_factor(lobes=1, angle="90 deg"), "lobes: 1 makes no sense"),
    (lambda: gauging.v_block_factor(lobes=3, angle="0 deg"), "angle: 0 .* makes no sense"),
    (lambda: gauging.v_block_factor(lobes=[2, 3.5], angle="90 deg"), "lobes: must be a whole number, not 3.5"),
    (lambda: gauging.taper(diameters=Q([8, 9], "mm"), stations=Q([1, 2], "mm")), "2 are not enough"),
    (lambda: gauging.taper(diameters=Q([8, 8, 8], "mm"), stations=Q([1, 1, 1], "mm")), "all at one place"),
    (lambda: gauging.taper(diameters=Q([8, 8, 8], "mm"), stations=Q([1, 2], "mm")), "two lists of the same length"),
    (lambda: gauging.plug_interval(), "give plugs that enter"),
    (lambda: gauging.plug_interval(passes="8.03 mm", stops="8.02 mm", tolerance="4 um"), "8.03 mm enters and 8.02"),
    (lambda: gauging.resolution_uncertainty(step="0 mm"), "step: 0 .* makes no sense"),
    (lambda: gauging.gauge_study(readings=np.ones((3, 2))), r"array of \(parts, readers, repeats\)"),
    (lambda: gauging.gauge_study(readings=np.ones((3, 1, 2))), "at least 2 of each"),
    (lambda: gauging.gauge_study(readings=np.ones((3, 2, 2))), "the repeats never differ"),
    (lambda: gauging.gauge_study(readings=np.arange(44).reshape(11, 2, 2), method="range"), "2 to 10 parts, not 11"),
    (lambda: gauging.gauge_study(readings=np.arange(36).reshape(3, 2, 6), method="range"), "2 to 5 repeats, not 6"),
    (lambda: gauging.gauge_study(readings=np.ones((3, 2, 2)), method="anovas"), "did you mean 'anova'"),
    (lambda: gauging.gauge_study(readings=np.full((3, 2, 2), np.nan)), "readings: not a finite number"),
])
def test_bad_input_is_told_in_clear_words(wrong, said):
    with pytest.raises(ValueError, match=said):
        wrong()


def arc_of(degrees):
    """Points of a circle over so much of the turn."""
    angle = np.radians(np.linspace(0, degrees, 19))
    return {"x": Q(8 * np.cos(angle), "mm"), "y": Q(8 * np.sin(angle), "mm")}


@pytest.mark.parametrize("circle", CIRCLES)
def test_half_a_turn_is_too_little_and_a_little_more_is_enough(circle):
    """The fit of least squares warns; the circles that touch are refused."""
    assert circle(**arc_of(181)).radius.m == pytest.approx(8)
    if circle is gauging.least_squares_circle:
        with pytest.warns(OutOfRange, match="cover 179° of the turn; .* 180 to 360°"):
            circle(**arc_of(179))
    else:
        with pytest.raises(ValueError, match="the points cover 179 deg only"):
            circle(**arc_of(179))


def test_lengths_need_their_unit():
    with pytest.raises(TypeError, match="x: .* has no unit"):
        gauging.least_squares_circle(x=[1, 2, 3], y=Q([1, 5, 3], "mm"))
    with pytest.raises(pint.DimensionalityError, match="angle"):
        gauging.v_block_factor(lobes=3, angle="60 mm")
    with pytest.raises(pint.DimensionalityError, match="stops"):
        gauging.plug_interval(passes="8 mm", stops="8 s")


def test_short_arcs_and_rough_sections_are_warned_about(recwarn):
    gauging.least_squares_circle(**ROUND)
    fit(gauging.minimum_zone_circle, *section(1))
    assert not recwarn.list
    with pytest.warns(OutOfRange, match="cover 60° of the turn"):
        gauging.least_squares_circle(**ARC)
    for circle in (gauging.minimum_zone_circle, gauging.maximum_inscribed_circle):
        with pytest.warns(OutOfRange, match="roundness .* of the radius"):
            fit(circle, *section(1, departure=1.5))
