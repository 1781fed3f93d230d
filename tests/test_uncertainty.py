"""kit.uncertainty: exact answers, other routes to the same numbers, scaling laws, samplers and refusals."""
import re
import warnings

import numpy as np
import pytest
from assumed import LINE, SHAPES, assumption, fixed, line, normal
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import special, stats

from kit import evidence, uncertainty
from kit.evidence import draw
from kit.units import OutOfRange, Q, units, warn_outside

SEED = 20250311
WEIGHTS = st.floats(0.1, 10) | st.floats(-10, -0.1)


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


# First order

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
    assert small["unit"] == "N·mm"
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
