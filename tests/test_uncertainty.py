"""kit.uncertainty: exact answers, other routes to the same numbers, scaling laws, samplers and refusals."""
import re
import warnings

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import special, stats

from kit import evidence, uncertainty
from kit.evidence import Assumption, draw
from kit.uncertainty import equal_tail_interval, shortest_interval
from kit.units import OutOfRange, Q, units, warn_outside

SEED = 20250311
Z95 = stats.norm.ppf(0.95)
WEIGHTS = st.floats(0.1, 10) | st.floats(-10, -0.1)


def assumption(key="x", **given):
    return Assumption(key=key, grade="own-trial", source="own-trial",
                      **({"value": None, "low": None, "high": None, "unit": "", "shape": "uniform"} | given))


def fixed(key, value, unit=""):
    return assumption(key, value=value, shape="fixed", unit=unit)


def normal(key="x", mean=0.0, u=1.0, unit=""):
    return assumption(key, low=mean - Z95 * u, high=mean + Z95 * u, shape="normal", unit=unit)


def student(key="x", mean=0.0, u=1.0, dof=5):
    reach = stats.t(dof).ppf(0.95) * u
    return assumption(key, low=mean - reach, high=mean + reach, shape="student-t", dof=dof)


def identity(v):
    return v["x"]


def only(table):
    """The one row of a table of `propagate`."""
    assert list(table.index) == ["result"]
    return table.loc["result"]


PLAIN = (normal(),)


def propagate(model=identity, assumptions=PLAIN, n=2**12, seed=SEED, **options):
    return only(uncertainty.propagate(model=model, assumptions=assumptions, n=n, seed=seed, **options))


# Samplers of evidence.draw

MIXED = [assumption("wide", low=0, high=2), normal("round", 3, 0.5),
         assumption("skew", low=1, high=4, shape="lognormal")]


@pytest.mark.parametrize("sampler", evidence.SAMPLERS)
def test_samplers_keep_marginals_and_correlations(sampler):
    n = 2**14
    for links in (None, {("wide", "skew"): 0.7}):
        found = draw(MIXED, n=n, seed=SEED, correlations=links, sampler=sampler)
        for a in MIXED:
            p = np.linspace(0.01, 0.99, 99)
            inside = np.searchsorted(np.sort(found[a.key].magnitude), a.quantile(p)) / n
            # plain random shares stray by up to 0.005 either way, one standard deviation being 0.004 in the middle
            assert np.max(np.abs(inside - p)) < 0.015
        scores = {key: special.ndtri((stats.rankdata(q.magnitude) - 0.5) / n) for key, q in found.items()}
        assert np.corrcoef(scores["wide"], scores["skew"])[0, 1] == pytest.approx(0.7 if links else 0, abs=0.02)
        assert np.corrcoef(scores["wide"], scores["round"])[0, 1] == pytest.approx(0, abs=0.025)


@pytest.mark.parametrize("sampler", evidence.SAMPLERS)
def test_a_correlation_mixes_the_points_of_the_same_sampler(sampler):
    # the first of two linked keys, by the alphabet, keeps its own draws
    free, linked = (draw(MIXED, n=64, seed=SEED, correlations=links, sampler=sampler)["skew"].magnitude
                    for links in (None, {("wide", "skew"): 0.7}))
    np.testing.assert_allclose(free, linked, rtol=1e-9)


def test_latin_draws_have_one_in_each_slice_and_random_ones_have_not():
    n = 1000
    slices = {}
    for sampler in evidence.SAMPLERS:
        wide = draw(MIXED, n=n, seed=SEED, sampler=sampler)["wide"].magnitude
        slices[sampler] = len(np.unique(np.floor(wide / 2 * n)))
    assert slices["latin"] == n
    assert slices["random"] == pytest.approx(n * (1 - np.exp(-1)), abs=40)   # 1 - 1/e of the slices are hit


def test_samplers_differ_and_each_is_kept_apart():
    first = {s: draw(MIXED, n=64, seed=SEED, sampler=s)["wide"].magnitude for s in evidence.SAMPLERS}
    again = {s: draw(MIXED, n=64, seed=SEED, sampler=s)["wide"].magnitude for s in reversed(evidence.SAMPLERS)}
    for sampler, values in first.items():
        np.testing.assert_array_equal(values, again[sampler])
        afresh = evidence.points(3, 64, SEED, sampler)[sorted(a.key for a in MIXED).index("wide")]
        np.testing.assert_array_equal(values, MIXED[0].quantile(afresh))
    assert not np.any(first["sobol"] == first["latin"]) and not np.any(first["latin"] == first["random"])
    np.testing.assert_array_equal(first["sobol"], draw(MIXED, n=64, seed=SEED)["wide"].magnitude)


@pytest.mark.parametrize("sampler", evidence.SAMPLERS)
def test_order_of_the_keys_and_fixing_one_change_no_other_draw(sampler):
    base = draw(MIXED, n=64, seed=SEED, sampler=sampler)
    held = draw([MIXED[2], MIXED[0], fixed("round", 3)], n=64, seed=SEED, sampler=sampler)
    for key in ("wide", "skew"):
        np.testing.assert_array_equal(base[key].magnitude, held[key].magnitude)


def test_unknown_sampler():
    with pytest.raises(ValueError, match="^unknown sampler 'latin hypercube'; did you mean 'latin'\\?$"):
        draw(MIXED, n=64, seed=SEED, sampler="latin hypercube")
    with pytest.raises(ValueError, match="unknown sampler 'halton'"):
        propagate(sampler="halton")


# Intervals

@given(values=st.lists(st.floats(-1e6, 1e6), min_size=25, max_size=200), level=st.floats(0.5, 0.95))
def test_intervals_hold_their_share_and_the_shortest_is_no_longer(values, level):
    widths = {}
    for interval in (equal_tail_interval, shortest_interval):
        low, high = (q.magnitude for q in interval(values=np.array(values), level=level))
        widths[interval] = high - low
        assert low in values and high in values
        assert np.mean((np.array(values) >= low) & (np.array(values) <= high)) >= level
    assert widths[shortest_interval] <= widths[equal_tail_interval]


@given(seed=st.integers(0, 99), stretch=st.floats(0.1, 10), shift=st.floats(-100, 100))
def test_intervals_move_with_the_draws(seed, stretch, shift):
    values = np.random.default_rng(seed).gamma(2, size=300)
    for interval in (equal_tail_interval, shortest_interval):
        before = [q.magnitude for q in interval(values=values, level=0.9)]
        after = [q.magnitude for q in interval(values=shift + stretch * values, level=0.9)]
        np.testing.assert_allclose(after, shift + stretch * np.array(before), rtol=1e-9, atol=1e-9)


def test_intervals_of_an_exponential():
    # the density falls all the way: the shortest interval starts at 0
    values = Q(-np.log1p(-(np.arange(10**5) + 0.5) / 10**5), "mm")
    for interval, ends in ((shortest_interval, (0, -np.log(0.05))),
                           (equal_tail_interval, (-np.log(0.975), -np.log(0.025)))):
        found = interval(values=values, level=0.95)
        assert [str(q.units) for q in found] == ["mm", "mm"]
        assert [q.m_as("mm") for q in found] == pytest.approx(ends, abs=1e-3)


@pytest.mark.parametrize(("n", "level", "rank"), [(10**4, 0.95, 250), (10**5, 0.95, 2500), (10**4, 0.99, 50),
                                                  (11, 0.95, 1), (1001, 0.9, 50)])
def test_equal_tails_are_the_ranks_of_the_standard(n, level, rank):
    # JCGM 101:2008, 7.7.2, from memory: r = (M - q) / 2, or the whole part of (M - q + 1) / 2; q likewise of p M
    values = np.random.default_rng(SEED).permutation(np.arange(1, n + 1))
    low, high = equal_tail_interval(values=values, level=level)
    assert low == rank and high == rank + int(level * n + 0.5)


@pytest.mark.parametrize("interval", [equal_tail_interval, shortest_interval])
def test_intervals_refused(interval):
    for level in (0, 1, -0.1, 95, np.nan):
        with pytest.raises(ValueError, match=f"^level: a share inside lies between 0 and 1, not at {level}$"):
            interval(values=Q(np.arange(100), "mm"), level=level)
    with pytest.raises(ValueError, match="^10 draws are too few for an interval of level 0.95; draw 11 or more$"):
        interval(values=Q(np.arange(10), "mm"), level=0.95)
    interval(values=Q(np.arange(11), "mm"), level=0.95)


@pytest.mark.parametrize(("u", "digits", "tolerance"), [
    (0.0996, 2, 0.005), (0.0994, 2, 0.0005), (0.996, 2, 0.05), (0.994, 2, 0.005), (35, 1, 5), (1234, 3, 5), (0, 2, 0)])
def test_numerical_tolerance(u, digits, tolerance):
    assert uncertainty.numerical_tolerance(u=u, digits=digits) == pytest.approx(tolerance, rel=1e-12)


def test_numerical_tolerance_refused():
    for digits in (0, 1.5, -1):
        with pytest.raises(ValueError, match="^digits: a whole number above 0, not "):
            uncertainty.numerical_tolerance(u=1, digits=digits)


# First order

SHAPES = {
    "uniform, ends": {"low": 2, "high": 6, "limits": "ends"},
    "uniform, points": {"low": 2, "high": 6, "limits": "p5_p95"},
    "triangular": {"value": 3, "low": 2, "high": 6, "limits": "ends", "shape": "triangular"},
    "triangular, points": {"value": 3, "low": 2, "high": 6, "shape": "triangular"},
    "pert": {"value": 3, "low": 2, "high": 6, "limits": "ends", "shape": "pert"},
    "pert, points": {"value": 3, "low": 2, "high": 6, "shape": "pert"},
    "normal": {"low": 2, "high": 6, "shape": "normal"}, "lognormal": {"low": 2, "high": 20, "shape": "lognormal"},
    "student-t": {"low": 2, "high": 6, "shape": "student-t", "dof": 2e4},
    "arcsine": {"low": 2, "high": 6, "shape": "arcsine"}, "trapezoid": {"low": 2, "high": 6, "shape": "trapezoid"},
    "rayleigh": {"high": 6, "shape": "rayleigh"}}


@pytest.mark.parametrize("name", SHAPES)
def test_mean_and_deviation_of_each_shape(name):
    made = assumption(**SHAPES[name])
    values = made.quantile((np.arange(2 * 10**5) + 0.5) / (2 * 10**5))
    row = propagate(assumptions=[made])
    assert row["gum"] == pytest.approx(values.mean(), rel=1e-5)
    assert row["gum_u"] == pytest.approx(values.std(), rel=1e-3)   # of 20 000 degrees of freedom a t is all but normal


def test_columns_of_the_draws_are_theirs():
    made = assumption(low=1, high=50, shape="lognormal")
    drawn, row = draw([made], n=20, seed=SEED)["x"].magnitude, propagate(assumptions=[made], n=20)
    assert [row["median"], row["mean"], row["u"]] == pytest.approx(
        [np.median(drawn), np.mean(drawn), np.std(drawn, ddof=1)], rel=1e-12)
    assert [row["low"], row["high"]] == [min(drawn), max(drawn)]   # 95 % of 20 stands 19 steps apart


def test_every_shape_has_its_moments():
    assert {made.get("shape", "uniform") for made in SHAPES.values()} == set(evidence.SHAPES) - {"fixed"}


def test_scale_of_a_student_t_counts_and_its_dof():
    row = propagate(assumptions=[student(mean=3, u=0.2, dof=4)], n=2**16, level=0.9)
    assert [row["gum"], row["gum_u"], row["gum_dof"]] == pytest.approx([3, 0.2, 4], rel=1e-6)
    assert row["gum_high"] == pytest.approx(3 + 0.2 * stats.t(4).ppf(0.95), rel=1e-6)
    assert row["u"] == pytest.approx(0.2 * np.sqrt(4 / 2), rel=0.02)


@given(a=WEIGHTS, b=WEIGHTS, c=st.floats(-10, 10), r=st.floats(-0.9, 0.9))
def test_linear_model_is_exact(a, b, c, r):
    inputs = [normal("x", 5, 0.3, "mm"), normal("y", 2, 0.2, "mm")]
    variance = (a * 0.3)**2 + (b * 0.2)**2 + 2 * r * a * b * 0.3 * 0.2
    assume(variance > 1e-4)
    row = propagate(lambda v: a * v["x"] + b * v["y"] + Q(c, "mm"), inputs, correlations={("y", "x"): r})
    mean, u = 5 * a + 2 * b + c, np.sqrt(variance)
    assert row["unit"] == "mm" and row["warning"] == "" and np.isinf(row["gum_dof"])
    assert row["gum"] == pytest.approx(mean, abs=1e-9)
    assert row["gum_u"] == pytest.approx(u, rel=1e-6)
    assert row["u"] == pytest.approx(u, rel=0.02)
    for low, high, near in (("gum_low", "gum_high", 1e-6), ("low", "high", 0.1),
                            ("shortest_low", "shortest_high", 0.4)):
        assert [row[low], row[high]] == pytest.approx([mean - 1.959964 * u, mean + 1.959964 * u], abs=near * u)


@given(one=st.floats(1, 30), two=st.floats(1, 30), weight=st.floats(0.01, 100))
def test_effective_degrees_of_freedom(one, two, weight):
    row = propagate(lambda v: v["x"] + v["y"], [student("x", 0, 1, one), student("y", 0, weight, two)])
    assert row["gum_dof"] == pytest.approx((1 + weight**2)**2 / (1 / one + weight**4 / two), rel=1e-5)
    assert min(one, two) * (1 - 1e-5) <= row["gum_dof"] <= (one + two) * (1 + 1e-5)
    whole = np.floor(row["gum_dof"] * (1 + 1e-9))
    assert (row["gum_high"] - row["gum"]) / row["gum_u"] == pytest.approx(stats.t(whole).ppf(0.975), rel=1e-5)


def test_less_than_one_degree_of_freedom_is_not_cut_to_none():
    row = propagate(assumptions=[student(dof=0.5)], n=2**8)
    assert row["gum_high"] == pytest.approx(stats.t(0.5).ppf(0.975), rel=1e-6)


def test_scaling_the_model_scales_the_row_and_names_the_unit():
    inputs = [assumption("x", low=1, high=2, unit="mm"), normal("y", 5, 1, "N")]
    small, large = (propagate(lambda v, k=k: k * v["x"] * v["y"], inputs) for k in (1, 1000))
    assert small["unit"] == "mm·N"
    for column in ("median", "mean", "u", "low", "high", "shortest_low", "shortest_high", "gum", "gum_u", "gum_low",
                   "gum_high"):
        assert large[column] == pytest.approx(1000 * small[column], rel=1e-9)


def test_several_outputs_and_a_fixed_input():
    inputs = [assumption("x", low=1, high=2, unit="mm"), fixed("wall", 3, "mm")]

    def model(v):
        return {"outside": v["x"] + 2 * v["wall"], "wall": v["wall"], "ratio": v["x"] / v["wall"]}

    table = uncertainty.propagate(model=model, assumptions=inputs, n=1000, seed=SEED)
    assert list(table.index) == ["outside", "wall", "ratio"] and list(table["unit"]) == ["mm", "mm", ""]
    assert list(table["n"]) == [1000] * 3 and list(table["seed"]) == [SEED] * 3
    wall = table.loc["wall"]
    assert [wall[c] for c in ("median", "low", "high", "gum", "gum_low", "gum_high")] == [3] * 6
    assert [wall["u"], wall["gum_u"], wall["warning"]] == [0, 0, ""]
    assert table.loc["outside", "gum"] == pytest.approx(7.5)
    assert table.loc["ratio", "high"] == pytest.approx((1 + 0.975) / 3, abs=0.002)


def test_all_fixed():
    row = propagate(assumptions=[fixed("x", 2, "mm")], n=100)
    assert [row["mean"], row["u"], row["gum"], row["gum_u"], row["warning"]] == [2, 0, 2, 0, ""]


def test_same_seed_same_row_other_seed_another():
    first, again, other = (propagate(lambda v: v["x"]**2, seed=seed) for seed in (1, 1, 2))
    assert first.equals(again)
    assert first["mean"] != other["mean"] and first["gum"] == other["gum"]


def test_the_model_is_called_once_with_draws_and_once_with_few_numbers():
    sizes = []

    def model(v):
        sizes.append(v["x"].size)
        return v["x"] + v["y"]

    propagate(model, [normal("x"), normal("y")], n=500)
    assert sizes == [500, 5]


def test_model_warnings_are_told_once_and_with_the_share_of_the_draws():
    @units("mm", x="mm")
    def narrow(x):
        warn_outside(x, 0, 10, "mm", "x is {}; the test takes {}")
        return x

    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        propagate(lambda v: narrow(x=v["x"]), [normal("x", 9.9995, 1, "mm")], n=1024)
    assert [w.category for w in caught] == [OutOfRange]
    assert str(caught[0].message).endswith("the test takes at most 10 mm (50 % of draws lie outside)")


# Where the first order misleads

def warning_of(model, inputs, **options):
    return propagate(model, inputs, n=2**14, **options)["warning"]


def test_zero_weight_at_the_mean_is_told():
    said = warning_of(lambda v: v["x"]**2 + v["y"], [normal("x"), normal("y", 0, 0.5)])
    assert said.startswith("no weight at the means, yet it moves the draws: x; strong curvature or interaction: ")
    assert re.search(r"most through x;", said) and "y" not in said.split("strong")[0][-4:]
    missed = float(re.search(r"misses ([\d.]+) %", said)[1])
    assert missed == pytest.approx(100 * 2 / 2.25, abs=1)   # variance of the square 2, of y a quarter


def test_product_about_zero_names_both():
    said = warning_of(lambda v: v["x"] * v["y"] + v["z"], [normal("x"), normal("y"), normal("z")])
    assert set(re.match("no weight at the means, yet it moves the draws: (.*?);", said)[1].split(", ")) == {"x", "y"}


def test_curvature_is_told_with_the_input_that_bends():
    said = warning_of(lambda v: v["gap"]**3 * v["length"], [normal("gap", 20, 5), normal("length", 10, 0.1)])
    assert re.match(r"strong curvature or interaction: the tangent misses \d+ % of the variance of the draws, "
                    "most through gap; ends", said)


def test_the_input_that_bends_most_is_named_first():
    said = warning_of(lambda v: v["x"]**2 + 3 * v["y"]**2 + 2 * v["z"]**2, [normal("x"), normal("y"), normal("z")])
    assert said.startswith("no weight at the means, yet it moves the draws: y, z, x;")


@pytest.mark.parametrize(("bend", "told"), [(0.15, False), (0.18, True)])
def test_curvature_is_told_from_a_twentieth_of_the_variance(bend, told):
    # x + bend x^2 of a standard normal: variance 1 + 2 bend^2, of which the tangent misses 2 bend^2: 4.3 and 6.1 %
    assert ("curvature" in warning_of(lambda v: v["x"] + bend * v["x"]**2, [normal("x")])) == told


@pytest.mark.parametrize(("slope", "told"), [(0.005, True), (0.05, False)])
def test_no_weight_means_less_than_a_hundredth(slope, told):
    # u of y and x^2 together 1.7; slope x is 0.3 or 3 % of it
    said = warning_of(lambda v: v["y"] + slope * v["x"] + v["x"]**2, [normal("x"), normal("y")])
    assert ("no weight at the means, yet it moves the draws: x;" in said) == told


def test_mild_curvature_is_not_told():
    # product of two with spreads of 10 and 20 %: the interaction carries 0.8 % of the variance
    assert "curvature" not in warning_of(lambda v: v["x"] * v["y"], [normal("x", 1, 0.1), normal("y", 1, 0.2)])


def test_ends_that_differ_are_told_with_how_much():
    # one uniform, u = 10: the ends of the draws lie at 0.95 half-widths, 16.45; those of the first order at 19.60
    half = 10 * np.sqrt(3)
    said = warning_of(identity, [assumption("x", low=-half, high=half, unit="um")])
    assert said == "ends of the first-order interval lie -3.1 and 3.1 µm from those of the draws (tolerance 0.5)"


def test_ends_within_the_tolerance_are_not_told():
    # sum of four uniforms: 0.04 apart, half a unit in the second digit of u = 2.0 is 0.05
    parts = [assumption(key, low=-np.sqrt(3), high=np.sqrt(3)) for key in "abcd"]
    row = propagate(lambda v: v["a"] + v["b"] + v["c"] + v["d"], parts, n=2**18)   # enough for chance not to excuse it
    assert row["warning"] == "" and row["gum_high"] - row["high"] > 0.035


@pytest.mark.parametrize("n", [100, 1000, 10**4])
def test_no_false_alarm_from_few_random_draws(n):
    inputs = [normal("x"), normal("y")]
    told = [propagate(lambda v: v["x"] + v["y"], inputs, n=n, seed=seed, sampler="random")["warning"]
            for seed in range(100)]
    assert np.mean([said != "" for said in told]) < 0.1   # each of two ends strays by two deviations in one of twenty


def test_heavy_tails_and_linked_degrees_of_freedom_are_told():
    heavy = warning_of(identity, [student(dof=2)])
    assert "with 2 degrees of freedom or fewer (x) u of the draws settles at nothing" in heavy
    assert "degrees of freedom" not in warning_of(identity, [student(dof=3)])
    pair, link = [student("x", dof=9), student("y", dof=9), normal("z")], {("x", "z"): 0.5}
    said = warning_of(lambda v: v["x"] + v["y"] + v["z"], pair, correlations=link)
    assert "effective degrees of freedom are meant for independent inputs, not for x" in said
    assert "effective" not in warning_of(lambda v: v["x"] + v["y"] + v["z"], pair)


# Draws until the ends stand still

def by_the_clause(batches, level, digits):
    """Does JCGM 101:2008, 7.9.4, steps g to k, hold for these batches? (from memory)"""
    h, m = len(batches), len(batches[0])
    q = int(level * m + 0.5)
    r = (m - q) // 2 if (m - q) % 2 == 0 else (m - q + 1) // 2
    ordered = [sorted(b) for b in batches]
    four = {"y": [np.mean(b) for b in batches], "u": [np.sqrt(np.sum((b - np.mean(b))**2) / (m - 1)) for b in batches],
            "low": [b[r - 1] for b in ordered], "high": [b[r + q - 1] for b in ordered]}
    u = np.std(np.concatenate(batches), ddof=1)
    delta = 0.5 * 10.0**(np.floor(np.log10(u)) - digits + 1)
    strays = [np.sqrt(sum((x - np.mean(xs))**2 for x in xs) / (h * (h - 1))) for xs in four.values()]
    return all(2 * s <= delta for s in strays)


@pytest.mark.parametrize(("level", "size", "digits"), [(0.95, 10**4, 2), (0.999, 10**5, 1)])
def test_converge_stops_where_the_clause_says(level, size, digits):
    seen = []

    def model(v):
        y = 100 + 0.3 * v["x"]**2 + v["y"]
        seen.append(y.magnitude)
        return y

    row = only(uncertainty.converge(model=model, assumptions=[normal("x"), normal("y")], seed=SEED, digits=digits,
                                    level=level))
    batches = [y for y in seen if len(y) > 100]   # the rest are the few points of the tangent
    assert {len(y) for y in batches} == {size}
    stops = [by_the_clause(batches[:h], level, digits) for h in range(2, len(batches) + 1)]
    assert stops == [False] * (len(stops) - 1) + [True]
    assert row["converged"] and row["n"] == size * len(batches)
    pooled = np.sort(np.concatenate(batches))
    assert row["mean"] == pytest.approx(pooled.mean(), rel=1e-12)
    assert row["low"] == pooled[round((1 - level) / 2 * len(pooled)) - 1]


def test_batches_are_independent():
    seen = []
    uncertainty.converge(model=lambda v: seen.append(v["x"].magnitude) or v["x"], assumptions=[normal()], seed=SEED,
                         digits=3, most=10**5)
    batches = [x for x in seen if len(x) == 10**4]
    assert len(batches) == 10
    # plain random means stray by 1 in 100 of u; those of evenly spread points would by far less
    assert np.std([x.mean() for x in batches], ddof=1) == pytest.approx(0.01, rel=0.7)
    assert np.max(np.abs(np.corrcoef(batches) - np.eye(10))) < 0.05


def test_converge_takes_more_draws_for_more_digits_and_says_when_it_gives_up():
    inputs = [normal("x", 0, 1.5)]
    one, two, three = (only(uncertainty.converge(model=identity, assumptions=inputs, seed=SEED, digits=digits,
                                                 most=2 * 10**5)) for digits in (1, 2, 3))
    assert one["n"] == 2 * 10**4 <= two["n"] <= three["n"] == 2 * 10**5
    assert one["converged"] and two["converged"] and not three["converged"]
    assert abs(two["high"] - two["gum_high"]) < 0.1


def test_converge_of_several_outputs_waits_for_the_last():
    table = uncertainty.converge(model=lambda v: {"same": Q(2, "mm"), "plain": v["x"], "steep": v["x"]**4},
                                 assumptions=[normal()], seed=SEED, digits=2, most=3 * 10**4)
    assert list(table.index) == ["same", "plain", "steep"] and list(table["n"]) == [3 * 10**4] * 3
    assert table.loc["same", "converged"] and not table.loc["steep", "converged"]
    assert list(table.columns) == [*uncertainty.propagate(identity, [normal()], n=100, seed=1).columns, "converged"]


def test_converge_with_correlations_and_seeds():
    inputs, link = [normal("x"), normal("y")], {("x", "y"): 0.8}
    rows = [only(uncertainty.converge(model=lambda v: v["x"] + v["y"], assumptions=inputs, seed=seed, digits=1,
                                      correlations=link)) for seed in (1, 1, 2)]
    assert rows[0].equals(rows[1]) and rows[0]["mean"] != rows[2]["mean"]
    assert rows[0]["u"] == pytest.approx(np.sqrt(3.6), rel=0.02)


def test_converge_refused():
    with pytest.raises(ValueError, match="^most: 19999 draws are less than two batches of 10000; allow 20000 or more$"):
        uncertainty.converge(model=identity, assumptions=[normal()], seed=1, most=19999)
    with pytest.raises(ValueError, match="less than two batches of 1000000;"):
        uncertainty.converge(model=identity, assumptions=[normal()], seed=1, level=0.9999)
    for level in (0, 1, 95):
        with pytest.raises(ValueError, match="^level: "):
            uncertainty.converge(model=identity, assumptions=[normal()], seed=1, level=level)
    with pytest.raises(ValueError, match="^digits: "):
        uncertainty.converge(model=identity, assumptions=[normal()], seed=1, digits=0)


# Tornado

LINE = [assumption("a", low=0, high=1, unit="mm"), assumption("b", low=0, high=1, unit="mm"),
        assumption("idle", low=0, high=1), fixed("offset", 7, "mm")]


def line(v):
    return 2 * v["a"] - 3 * v["b"] + v["offset"]


def test_tornado():
    table = uncertainty.tornado(model=line, assumptions=LINE)
    assert list(table.index) == ["b", "a", "idle"] and table.index.name == "key"
    assert set(table["unit"]) == {"mm"}
    np.testing.assert_allclose(table["at_low"], [7 + 1 - 0.15, 7 - 1.5 + 0.1, 6.5])
    np.testing.assert_allclose(table["at_high"], [7 + 1 - 2.85, 7 - 1.5 + 1.9, 6.5])
    np.testing.assert_allclose(table["swing"], [-2.7, 1.8, 0], atol=1e-12)
    np.testing.assert_allclose(table["middle"], 6.5)


def test_tornado_keeps_the_others_at_their_medians():
    skew = [assumption("x", low=1, high=9, shape="lognormal"), assumption("y", low=1, high=100, shape="lognormal")]
    table = uncertainty.tornado(model=lambda v: v["x"] * v["y"], assumptions=skew, low=0.5, high=0.95)
    assert table.loc["y", "at_high"] == pytest.approx(3 * 100)
    assert table.loc["x", "at_high"] == pytest.approx(10 * 9)
    assert table.loc["x", "at_low"] == table.loc["x", "middle"] == pytest.approx(30)


@pytest.mark.parametrize("ends", [(0.95, 0.05), (0, 0.95), (0.05, 1), (0.5, 0.5), (5, 95)])
def test_tornado_refuses_points_out_of_order(ends):
    with pytest.raises(ValueError, match="^low and high are chances in order between 0 and 1, not "):
        uncertainty.tornado(model=line, assumptions=LINE, low=ends[0], high=ends[1])


# Morris

def test_morris_of_a_line_is_exact():
    # uniform on 0 to 1, so the effects are the slopes themselves, the same everywhere
    table = uncertainty.morris(model=line, assumptions=LINE, n=10, seed=SEED)
    assert list(table.index) == ["b", "a", "idle"] and set(table["unit"]) == {"mm"}
    np.testing.assert_allclose(table[["mu", "mu_star", "sigma"]], [[-3, 3, 0], [2, 2, 0], [0, 0, 0]], rtol=0, atol=1e-9)


@pytest.mark.parametrize("levels", [2, 4, 8])
def test_morris_paths(levels):
    seen = []
    uncertainty.morris(model=lambda v: seen.append([v[k].magnitude for k in ("a", "b", "idle")]) or v["a"],
                       assumptions=LINE, n=50, seed=SEED, levels=levels)
    grid = np.array(seen[0]).T
    assert len(seen) == 1 and grid.shape == (50 * 4, 3)
    np.testing.assert_allclose(np.unique(grid), np.arange(levels) / (levels - 1), atol=1e-12)
    steps = np.diff(grid.reshape(50, 4, 3), axis=1)
    assert np.all(np.sum(steps != 0, axis=2) == 1)   # one at a time
    assert np.all(np.sum(steps != 0, axis=1) == 1)   # each once
    np.testing.assert_allclose(np.abs(steps[steps != 0]), levels / 2 / (levels - 1))
    orders = {tuple(np.argmax(path != 0, axis=1)) for path in steps}
    assert len(orders) == 6   # every order of the three inputs is taken


def test_morris_of_a_square_and_a_product():
    # all points of the grid of 4: x^2 changes by 4/9 or 8/9 over the move of 2/3; x y by y, of mean 1/2
    inputs = [assumption(key, low=0, high=1) for key in ("x", "y")]
    square = uncertainty.morris(model=lambda v: v["x"]**2, assumptions=inputs, n=4000, seed=SEED).loc["x"]
    assert square["mu"] == pytest.approx(1, abs=0.02)
    assert square["sigma"] == pytest.approx(1 / 3, abs=0.01)
    product = uncertainty.morris(model=lambda v: v["x"] * v["y"], assumptions=inputs, n=4000, seed=SEED).loc["x"]
    assert product["mu"] == pytest.approx(0.5, abs=0.03)
    assert product["sigma"] == pytest.approx(np.std([0, 1 / 3, 2 / 3, 1]), abs=0.01)


@given(seed=st.integers(0, 99), scale=WEIGHTS, shift=st.floats(-100, 100))
def test_morris_scales_with_the_output_and_ignores_a_shift(seed, scale, shift):
    def model(v):
        return v["a"]**2 * v["b"]

    plain, moved = (uncertainty.morris(model=m, assumptions=LINE, n=4, seed=seed)
                    for m in (model, lambda v: scale * model(v) + Q(shift, "mm**3")))
    moved = moved.loc[plain.index]
    np.testing.assert_allclose(moved["mu"], scale * plain["mu"], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(moved["mu_star"], abs(scale) * plain["mu_star"], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(moved["sigma"], abs(scale) * plain["sigma"], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("shape", uncertainty.UNBOUNDED)
def test_morris_cuts_shapes_without_ends(shape):
    made = assumption("x", **SHAPES[shape])
    seen = []
    uncertainty.morris(model=lambda v: seen.append(v["x"].magnitude) or v["x"], assumptions=[made], n=50, seed=SEED)
    np.testing.assert_allclose(np.unique(seen[0].round(9)), made.quantile([0.005, 0.335, 0.665, 0.995]).round(9))


def test_shapes_without_ends_are_known():
    with np.errstate(divide="ignore"):
        endless = {a.shape for a in (assumption(**made) for made in SHAPES.values()) if np.isinf(a.quantile(1))}
    assert endless == set(uncertainty.UNBOUNDED)


def test_morris_refused():
    for n in (1, 0, 2.5, np.nan):
        with pytest.raises(ValueError, match="^n: the number of paths must be a whole number from 2, not "):
            uncertainty.morris(model=line, assumptions=LINE, n=n, seed=1)
    for levels in (3, 0, 1, 2.5):
        with pytest.raises(ValueError, match="^levels: an even number from 2, not "):
            uncertainty.morris(model=line, assumptions=LINE, n=4, seed=1, levels=levels)


# Sobol

def test_sobol_of_a_product():
    # means 1, u 0.1 and 0.2: V1 = 0.01, V2 = 0.04, V12 = 0.0004
    table = uncertainty.sobol(model=lambda v: v["x"] * v["y"], assumptions=[normal("x", 1, 0.1), normal("y", 1, 0.2)],
                              n=2**13, seed=SEED)
    assert list(table.columns) == ["first", "total", "first_low", "first_high", "total_low", "total_high"]
    assert list(table.index) == ["y", "x"] and table.index.name == "key"
    np.testing.assert_allclose(table["first"], np.array([0.04, 0.01]) / 0.0504, rtol=0, atol=0.003)
    np.testing.assert_allclose(table["total"], np.array([0.0404, 0.0104]) / 0.0504, rtol=0, atol=0.003)


@settings(max_examples=25)
@given(a=WEIGHTS, b=WEIGHTS, scale=WEIGHTS, shift=st.floats(-10, 10))
def test_sobol_of_a_line_and_its_invariance(a, b, scale, shift):
    inputs = [assumption("a", low=0, high=1), normal("b", 3, 0.5), fixed("c", shift)]
    shares = np.array([a**2 / 12, b**2 / 4]) / (a**2 / 12 + b**2 / 4)

    def model(v):
        return a * v["a"] + b * v["b"]

    plain, moved = (uncertainty.sobol(model=m, assumptions=inputs, n=2**12, seed=SEED)
                    for m in (model, lambda v: scale * model(v) + v["c"]))
    np.testing.assert_allclose(plain.loc[["a", "b"], "first"], shares, rtol=0, atol=0.01)
    np.testing.assert_allclose(plain.loc[["a", "b"], "total"], shares, rtol=0, atol=0.01)
    np.testing.assert_allclose(moved.loc[plain.index], plain, rtol=0, atol=1e-8)


def test_sobol_cost_and_what_is_swapped():
    points = []

    def model(v):
        points.append((v["a"].size, np.ndim(v["offset"].magnitude)))
        return line(v)

    uncertainty.sobol(model=model, assumptions=LINE, n=64, seed=SEED)
    assert sum(size for size, _ in points) == 64 * (3 + 2)   # n (d + 2), the fixed one not counted
    assert {ndim for _, ndim in points} == {0}


def test_sobol_in_many_small_calls_gives_the_same(monkeypatch):
    whole = uncertainty.sobol(model=line, assumptions=LINE, n=256, seed=SEED)
    monkeypatch.setattr(uncertainty, "BATCH", 256)
    sizes = []
    parts = uncertainty.sobol(model=lambda v: sizes.append(v["a"].size) or line(v), assumptions=LINE, n=256,
                              seed=SEED)
    assert sizes == [512, 256, 256, 256]
    assert whole.equals(parts)


def test_spread_of_the_indices_as_by_the_bootstrap_of_another_library():
    rng = np.random.default_rng(SEED)
    f_a, f_b, noise = rng.normal(size=256), rng.normal(size=256), rng.normal(size=(2, 256))
    f_ab = np.array([0.9 * f_a + 0.3 * noise[0], 0.7 * f_a + 0.6 * f_b + 0.2 * noise[1]])
    found = stats.sobol_indices(func={"f_A": f_a, "f_B": f_b, "f_AB": f_ab[:, None]}, n=256).bootstrap(n_resamples=1000)
    first, total = uncertainty._spread(f_a, f_b, f_ab, uncertainty._resampled(256, 1000, SEED))
    np.testing.assert_allclose(first, found.first_order.standard_error, rtol=0.1)   # each known to 2 %
    np.testing.assert_allclose(total, found.total_order.standard_error, rtol=0.1)


def test_sobol_intervals_hold_the_truth_no_less_often_than_they_say():
    a, b = normal("a", 1, 0.1), normal("b", 1, 0.2)
    truth = {("a", "first"): 0.01 / 0.0504, ("a", "total"): 0.0104 / 0.0504,
             ("b", "first"): 0.04 / 0.0504, ("b", "total"): 0.0404 / 0.0504}
    held = dict.fromkeys(truth, 0)
    for seed in range(60):
        table = uncertainty.sobol(model=lambda v: v["a"] * v["b"], assumptions=[a, b], n=256, seed=seed, level=0.9)
        for (key, which), share in truth.items():
            held[key, which] += table.loc[key, f"{which}_low"] <= share <= table.loc[key, f"{which}_high"]
    assert min(held.values()) / 60 >= 0.9 - 0.08   # two standard deviations of a share of 60


def test_sobol_level_sets_the_width():
    tables = [uncertainty.sobol(model=line, assumptions=LINE, n=256, seed=SEED, level=level)
              for level in (0.6827, 0.9545)]
    widths = [t["total_high"] - t["total_low"] for t in tables]
    np.testing.assert_allclose(widths[1], 2 * widths[0], rtol=1e-3, atol=1e-12)


def test_sobol_of_one_input_and_of_an_output_that_does_not_vary():
    table = uncertainty.sobol(model=lambda v: {"y": v["x"]**3, "still": Q(0.1, "mm")},
                              assumptions=[assumption("x", low=1, high=2)], n=256, seed=SEED)
    assert list(table.index) == [("y", "x"), ("still", "x")] and table.index.names == ["output", "key"]
    assert table.loc[("y", "x"), ["first", "total"]].tolist() == pytest.approx([1, 1], abs=0.02)
    assert table.loc[("still", "x")].tolist() == [0] * 6


@pytest.mark.parametrize(("n", "near"), [(1000, (512, 1024)), (3, (2, 4)), (1025, (1024, 2048)), (0, (2, 4)),
                                         (1, (2, 4)), (-4, (2, 4)), (2.5, (2, 4)), (np.nan, (2, 4))])
def test_sobol_refuses_other_than_powers_of_two(n, near):
    with pytest.raises(ValueError) as caught:
        uncertainty.sobol(model=line, assumptions=LINE, n=n, seed=1)
    assert str(caught.value) == f"n: {n} is no power of two above 1; the nearest are {near[0]} and {near[1]}"


def test_sobol_refused():
    for resamples in (0, 1, 2.5):
        with pytest.raises(ValueError, match="^resamples: a whole number from 2, not "):
            uncertainty.sobol(model=line, assumptions=LINE, n=64, seed=1, resamples=resamples)
    with pytest.raises(ValueError, match="^level: a share inside lies between 0 and 1, not at 1.5$"):
        uncertainty.sobol(model=line, assumptions=LINE, n=64, seed=1, level=1.5)


# All of them

def tornado(model, assumptions):
    return uncertainty.tornado(model=model, assumptions=assumptions)


def morris(model, assumptions):
    return uncertainty.morris(model=model, assumptions=assumptions, n=8, seed=SEED)


def sobol(model, assumptions):
    return uncertainty.sobol(model=model, assumptions=assumptions, n=64, seed=SEED)


def spread(model, assumptions):
    return uncertainty.propagate(model=model, assumptions=assumptions, n=64, seed=SEED)


def converge(model, assumptions):
    return uncertainty.converge(model=model, assumptions=assumptions, seed=SEED, digits=1, most=2 * 10**4)


SENSITIVITIES, ALL = [tornado, morris, sobol], [tornado, morris, sobol, spread, converge]


@pytest.mark.parametrize("method", SENSITIVITIES)
def test_several_outputs_stand_under_their_names(method):
    together = method(lambda v: {"sum": line(v), "half": line(v) / 2}, LINE)
    alone = method(line, LINE)
    assert together.index.names == ["output", "key"] and alone.index.name == "key"
    assert together.loc["sum"].equals(alone)
    assert list(together.loc["half"].index) == list(alone.index)


@pytest.mark.parametrize("method", SENSITIVITIES)
def test_the_order_of_the_inputs_and_a_generator_do_not_matter_to_their_names(method):
    table = method(line, (a for a in LINE))
    assert set(table.index) == {"a", "b", "idle"}
    assert table.index[0] == "b" and table.index[-1] == "idle"


@pytest.mark.parametrize("method", [morris, sobol])
def test_same_seed_same_table(method):
    assert method(line, LINE).equals(method(line, LINE))


@pytest.mark.parametrize("method", ALL)
def test_bare_numbers_are_refused(method):
    with pytest.raises(TypeError, match=r"^the model's result is a bare ndarray; give it its unit, as in "
                                        r"Q\(x, 'mm'\), or Q\(x, ''\) where it is a pure number$"):
        method(lambda v: v["a"].m_as("mm"), LINE)
    with pytest.raises(TypeError, match="^the model's play is a bare float; "):
        method(lambda v: {"play": 3.0}, LINE)
    with pytest.raises(TypeError, match="^the model's result is a bare NoneType; "):
        method(lambda v: None, LINE)


@pytest.mark.parametrize("method", ALL)
def test_wrong_shapes_are_refused(method):
    with pytest.raises(ValueError, match=r"^the model's result has shape \(3,\); given arrays of \d+ values it must "
                                         r"return a number for each, shape \(\d+,\)$"):
        method(lambda v: v["a"][:3], LINE)
    with pytest.raises(ValueError, match=r"^the model's play has shape \(1, \d+\); "):
        method(lambda v: {"play": v["a"][None]}, LINE)
    with pytest.raises(ValueError, match="^the model returned an empty dict; "):
        method(lambda v: {}, LINE)


@pytest.mark.parametrize("method", ALL)
@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_numbers_that_are_none_are_refused(method, value):
    with pytest.raises(ValueError, match=r"^the model's result is not a finite number at [\d.]+ % of the points; nar"):
        method(lambda v: Q(np.where(v["a"].m_as("mm") > 0.5, value, 1.0), ""), LINE)


@pytest.mark.parametrize("method", ALL)
def test_repeated_keys_are_refused(method):
    with pytest.raises(ValueError, match="^'a' is there twice; keep one of the two$"):
        method(line, [*LINE, LINE[0]])


@pytest.mark.parametrize("method", SENSITIVITIES)
def test_nothing_to_vary_is_refused(method):
    with pytest.raises(ValueError, match="^every assumption is fixed: there is nothing to vary$"):
        method(lambda v: v["offset"], [LINE[3]])


def test_propagate_refused():
    for level in (0, 1, 95, np.nan):
        with pytest.raises(ValueError, match=f"^level: a share inside lies between 0 and 1, not at {level}$"):
            propagate(level=level)
    with pytest.raises(ValueError, match="^the number of draws must be a whole number above 0, not 0$"):
        propagate(n=0)
    with pytest.raises(ValueError, match="^8 draws are too few for an interval of level 0.95; draw 11 or more$"):
        propagate(n=8)
    with pytest.raises(ValueError, match="^a correlation names 'z', which is not drawn; "):
        propagate(correlations={("x", "z"): 0.5})


def test_inputs_are_left_as_they_were():
    inputs = list(LINE)
    for method in ALL:
        method(line, inputs)
    assert inputs == LINE
