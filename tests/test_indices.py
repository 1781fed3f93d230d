"""kit.indices: exact answers, other routes to the same numbers, scaling laws and refusals."""
import numpy as np
import pytest
from assumed import LINE, SHAPES, assumption, fixed, line, normal
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from kit import indices, uncertainty
from kit.units import Q

SEED = 20250311
WEIGHTS = st.floats(0.1, 10) | st.floats(-10, -0.1)


def test_they_are_known_as_those_of_uncertainty_too():
    assert [getattr(uncertainty, name) for name in ("tornado", "morris", "sobol")] == [
        indices.tornado, indices.morris, indices.sobol]


# Tornado

def test_tornado():
    table = indices.tornado(model=line, assumptions=LINE)
    assert list(table.index) == ["b", "a", "idle"] and table.index.name == "key"
    assert set(table["unit"]) == {"mm"}
    np.testing.assert_allclose(table["at_low"], [7 + 1 - 0.15, 7 - 1.5 + 0.1, 6.5])
    np.testing.assert_allclose(table["at_high"], [7 + 1 - 2.85, 7 - 1.5 + 1.9, 6.5])
    np.testing.assert_allclose(table["swing"], [-2.7, 1.8, 0], atol=1e-12)
    np.testing.assert_allclose(table["middle"], 6.5)


def test_tornado_keeps_the_others_at_their_medians():
    skew = [assumption("x", low=1, high=9, shape="lognormal"), assumption("y", low=1, high=100, shape="lognormal")]
    table = indices.tornado(model=lambda v: v["x"] * v["y"], assumptions=skew, low=0.5, high=0.95)
    assert table.loc["y", "at_high"] == pytest.approx(3 * 100)
    assert table.loc["x", "at_high"] == pytest.approx(10 * 9)
    assert table.loc["x", "at_low"] == table.loc["x", "middle"] == pytest.approx(30)


@pytest.mark.parametrize("ends", [(0.95, 0.05), (0, 0.95), (0.05, 1), (0.5, 0.5), (5, 95)])
def test_tornado_refuses_points_out_of_order(ends):
    with pytest.raises(ValueError, match="^low and high are chances in order between 0 and 1, not "):
        indices.tornado(model=line, assumptions=LINE, low=ends[0], high=ends[1])


# Morris

def test_morris_of_a_line_is_exact():
    # uniform on 0 to 1, so the effects are the slopes themselves, the same everywhere
    table = indices.morris(model=line, assumptions=LINE, n=10, seed=SEED)
    assert list(table.index) == ["b", "a", "idle"] and set(table["unit"]) == {"mm"}
    np.testing.assert_allclose(table[["mu", "mu_star", "sigma"]], [[-3, 3, 0], [2, 2, 0], [0, 0, 0]], rtol=0, atol=1e-9)


@pytest.mark.parametrize("levels", [2, 4, 8])
def test_morris_paths(levels):
    seen = []
    indices.morris(model=lambda v: seen.append([v[k].magnitude for k in ("a", "b", "idle")]) or v["a"],
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
    square = indices.morris(model=lambda v: v["x"]**2, assumptions=inputs, n=4000, seed=SEED).loc["x"]
    assert square["mu"] == pytest.approx(1, abs=0.02)
    assert square["sigma"] == pytest.approx(1 / 3, abs=0.01)
    product = indices.morris(model=lambda v: v["x"] * v["y"], assumptions=inputs, n=4000, seed=SEED).loc["x"]
    assert product["mu"] == pytest.approx(0.5, abs=0.03)
    assert product["sigma"] == pytest.approx(np.std([0, 1 / 3, 2 / 3, 1]), abs=0.01)


@given(seed=st.integers(0, 99), scale=WEIGHTS, shift=st.floats(-100, 100))
def test_morris_scales_with_the_output_and_ignores_a_shift(seed, scale, shift):
    def model(v):
        return v["a"]**2 * v["b"]

    plain, moved = (indices.morris(model=m, assumptions=LINE, n=4, seed=seed)
                    for m in (model, lambda v: scale * model(v) + Q(shift, "mm**3")))
    moved = moved.loc[plain.index]
    np.testing.assert_allclose(moved["mu"], scale * plain["mu"], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(moved["mu_star"], abs(scale) * plain["mu_star"], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(moved["sigma"], abs(scale) * plain["sigma"], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("shape", indices.UNBOUNDED)
def test_morris_cuts_shapes_without_ends(shape):
    made = assumption("x", **SHAPES[shape])
    seen = []
    indices.morris(model=lambda v: seen.append(v["x"].magnitude) or v["x"], assumptions=[made], n=50, seed=SEED)
    np.testing.assert_allclose(np.unique(seen[0].round(9)), made.quantile([0.005, 0.335, 0.665, 0.995]).round(9))


def test_shapes_without_ends_are_known():
    with np.errstate(divide="ignore"):
        endless = {a.shape for a in (assumption(**made) for made in SHAPES.values()) if np.isinf(a.quantile(1))}
    assert endless == set(indices.UNBOUNDED)


def test_morris_refused():
    for n in (1, 0, 2.5, np.nan):
        with pytest.raises(ValueError, match="^n: the number of paths must be a whole number from 2, not "):
            indices.morris(model=line, assumptions=LINE, n=n, seed=1)
    for levels in (3, 0, 1, 2.5):
        with pytest.raises(ValueError, match="^levels: an even number from 2, not "):
            indices.morris(model=line, assumptions=LINE, n=4, seed=1, levels=levels)


# Sobol

def test_sobol_of_a_product():
    # means 1, u 0.1 and 0.2: V1 = 0.01, V2 = 0.04, V12 = 0.0004
    table = indices.sobol(model=lambda v: v["x"] * v["y"], assumptions=[normal("x", 1, 0.1), normal("y", 1, 0.2)],
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

    plain, moved = (indices.sobol(model=m, assumptions=inputs, n=2**12, seed=SEED)
                    for m in (model, lambda v: scale * model(v) + v["c"]))
    np.testing.assert_allclose(plain.loc[["a", "b"], "first"], shares, rtol=0, atol=0.01)
    np.testing.assert_allclose(plain.loc[["a", "b"], "total"], shares, rtol=0, atol=0.01)
    np.testing.assert_allclose(moved.loc[plain.index], plain, rtol=0, atol=1e-8)


def test_sobol_cost_and_what_is_swapped():
    points = []

    def model(v):
        points.append((v["a"].size, np.ndim(v["offset"].magnitude)))
        return line(v)

    indices.sobol(model=model, assumptions=LINE, n=64, seed=SEED)
    assert sum(size for size, _ in points) == 64 * (3 + 2)   # n (d + 2), the fixed one not counted
    assert {ndim for _, ndim in points} == {0}


def test_sobol_in_many_small_calls_gives_the_same(monkeypatch):
    whole = indices.sobol(model=line, assumptions=LINE, n=256, seed=SEED)
    monkeypatch.setattr(indices, "BATCH", 256)
    sizes = []
    parts = indices.sobol(model=lambda v: sizes.append(v["a"].size) or line(v), assumptions=LINE, n=256,
                              seed=SEED)
    assert sizes == [512, 256, 256, 256]
    assert whole.equals(parts)


def test_spread_of_the_indices_as_by_the_bootstrap_of_another_library():
    rng = np.random.default_rng(SEED)
    f_a, f_b, noise = rng.normal(size=256), rng.normal(size=256), rng.normal(size=(2, 256))
    f_ab = np.array([0.9 * f_a + 0.3 * noise[0], 0.7 * f_a + 0.6 * f_b + 0.2 * noise[1]])
    found = stats.sobol_indices(func={"f_A": f_a, "f_B": f_b, "f_AB": f_ab[:, None]}, n=256).bootstrap(n_resamples=1000)
    first, total = indices._spread(f_a, f_b, f_ab, indices._resampled(256, 1000, SEED))
    np.testing.assert_allclose(first, found.first_order.standard_error, rtol=0.1)   # each known to 2 %
    np.testing.assert_allclose(total, found.total_order.standard_error, rtol=0.1)


def test_sobol_intervals_hold_the_truth_no_less_often_than_they_say():
    a, b = normal("a", 1, 0.1), normal("b", 1, 0.2)
    truth = {("a", "first"): 0.01 / 0.0504, ("a", "total"): 0.0104 / 0.0504,
             ("b", "first"): 0.04 / 0.0504, ("b", "total"): 0.0404 / 0.0504}
    held = dict.fromkeys(truth, 0)
    for seed in range(60):
        table = indices.sobol(model=lambda v: v["a"] * v["b"], assumptions=[a, b], n=256, seed=seed, level=0.9)
        for (key, which), share in truth.items():
            held[key, which] += table.loc[key, f"{which}_low"] <= share <= table.loc[key, f"{which}_high"]
    assert min(held.values()) / 60 >= 0.9 - 0.08   # two standard deviations of a share of 60


def test_sobol_level_sets_the_width():
    tables = [indices.sobol(model=line, assumptions=LINE, n=256, seed=SEED, level=level)
              for level in (0.6827, 0.9545)]
    widths = [t["total_high"] - t["total_low"] for t in tables]
    np.testing.assert_allclose(widths[1], 2 * widths[0], rtol=1e-3, atol=1e-12)


def test_sobol_of_one_input_and_of_an_output_that_does_not_vary():
    table = indices.sobol(model=lambda v: {"y": v["x"]**3, "still": Q(0.1, "mm")},
                              assumptions=[assumption("x", low=1, high=2)], n=256, seed=SEED)
    assert list(table.index) == [("y", "x"), ("still", "x")] and table.index.names == ["output", "key"]
    assert table.loc[("y", "x"), ["first", "total"]].tolist() == pytest.approx([1, 1], abs=0.02)
    assert table.loc[("still", "x")].tolist() == [0] * 6


@pytest.mark.parametrize(("n", "near"), [(1000, (512, 1024)), (3, (2, 4)), (1025, (1024, 2048)), (0, (2, 4)),
                                         (1, (2, 4)), (-4, (2, 4)), (2.5, (2, 4)), (np.nan, (2, 4))])
def test_sobol_refuses_other_than_powers_of_two(n, near):
    with pytest.raises(ValueError) as caught:
        indices.sobol(model=line, assumptions=LINE, n=n, seed=1)
    assert str(caught.value) == f"n: {n} is no power of two above 1; the nearest are {near[0]} and {near[1]}"


def test_sobol_refused():
    for resamples in (0, 1, 2.5):
        with pytest.raises(ValueError, match="^resamples: a whole number from 2, not "):
            indices.sobol(model=line, assumptions=LINE, n=64, seed=1, resamples=resamples)
    with pytest.raises(ValueError, match="^level: a share inside lies between 0 and 1, not at 1.5$"):
        indices.sobol(model=line, assumptions=LINE, n=64, seed=1, level=1.5)
