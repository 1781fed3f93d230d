"""Values of kit.uncertainty that we worked out ourselves. No evidence: they only show that a result has moved.

The inputs of the first four are those of examples 9.2 to 9.5 of JCGM 101:2008, of which the published checks tell more.
"""
import numpy as np
import pytest
from scipy import stats

from kit import uncertainty
from kit.evidence import Assumption
from kit.units import Q

Z95 = stats.norm.ppf(0.95)


def assumption(key, low, high, **given):
    return Assumption(key=key, value=None, low=low, high=high, grade="conjecture", source="assumption",
                      **({"unit": "", "shape": "uniform"} | given))


def normal(key, mean, u, unit=""):
    return assumption(key, mean - Z95 * u, mean + Z95 * u, unit=unit, shape="normal")


def row(model, inputs, **options):
    return uncertainty.propagate(model=model, assumptions=inputs, seed=1, **({"n": 2**18} | options)).loc["result"]


def test_end_gauge_second_order():
    # first order 31.71 nm; with the products of two spreads, 11.9 and 1.7 nm, 33.91
    inputs = [normal("standard", 50_000_623, 25, "nm"), normal("difference", 215, 9.7, "nm"),
              normal("expansion", 11.5e-6, 1.2e-6, "1/K"), normal("temperature", -0.1, 0.41, "K"),
              normal("expansion_difference", 0, 0.58e-6, "1/K"), normal("temperature_difference", 0, 0.029, "K")]
    found = row(lambda v: v["standard"] * (1 - v["expansion_difference"] * v["temperature"]
                                           - v["expansion"] * v["temperature_difference"]) + v["difference"], inputs)
    assert found["gum_u"] == pytest.approx(31.71, abs=0.005)
    assert found["u"] == pytest.approx(33.91, abs=0.05)


def test_sum_of_four_uniform():
    # 95 % point of the sum, exactly: 2 sqrt(3) (2 - (3/5)^(1/4))
    inputs = [assumption(key, -np.sqrt(3), np.sqrt(3)) for key in "abcd"]
    found = row(lambda v: v["a"] + v["b"] + v["c"] + v["d"], inputs)
    assert [found["low"], found["high"]] == pytest.approx([-3.8794, 3.8794], abs=0.005)


def test_mass_calibration():
    # u 0.07548 in closed form
    inputs = [normal("reference", 100_000, 0.050, "mg"), normal("small", 1.234, 0.020, "mg"),
              assumption("air", 1.10, 1.30, unit="kg/m^3"), assumption("weight", 7000, 9000, unit="kg/m^3"),
              assumption("steel", 7950, 8050, unit="kg/m^3")]
    found = row(lambda v: (v["reference"] + v["small"]) * (1 + (v["air"] - Q(1.2, "kg/m^3"))
                                                           * (1 / v["weight"] - 1 / v["steel"])) - Q(1e5, "mg"), inputs)
    assert found["u"] == pytest.approx(0.07548, abs=2e-5)
    assert [found["low"], found["high"]] == pytest.approx([1.084, 1.384], abs=0.001)


@pytest.mark.parametrize(("x1", "low", "high", "shortest_high"), [(0, 1.27, 184.4, 149.8),
                                                                  (0.010, 8.55, 427.1, 366.0)])
def test_comparison_loss(x1, low, high, shortest_high):
    # x1^2 + x2^2 over u^2 is a noncentral chi-square of two degrees of freedom
    found = row(lambda v: 1e6 * (v["x1"]**2 + v["x2"]**2), [normal("x1", x1, 0.005), normal("x2", 0, 0.005)])
    exact = 25 * stats.ncx2(2, (x1 / 0.005)**2).ppf([0.025, 0.975])
    assert exact == pytest.approx([low, high], rel=0.005)
    assert [found["low"], found["high"]] == pytest.approx(exact, rel=0.005)
    assert found["shortest_high"] == pytest.approx(shortest_high, rel=0.005)


def test_leak_through_a_gap():
    # leak as the cube of a gap of 20 with u 5: the tangent 1.05 with u 0.79, the draws a mean of 1.26 and a long tail
    found = row(lambda v: 1.055 * (v["gap"] / Q(20, "um"))**3, [normal("gap", 20, 5, "um")])
    assert [found["gum"], found["gum_u"]] == pytest.approx([1.055, 0.791], abs=0.001)
    assert [found["median"], found["mean"]] == pytest.approx([1.055, 1.253], abs=0.002)
    assert [found["low"], found["high"]] == pytest.approx([0.140, 3.490], abs=0.005)


def test_screening_of_a_bent_function():
    # mean size of the effect over the whole grid of four levels, by listing its points
    keys = ("x1", "x2", "x3")

    def model(v):
        return np.sin(v["x1"]) + 7 * np.sin(v["x2"])**2 + 0.1 * v["x3"]**4 * np.sin(v["x1"])

    table = uncertainty.morris(model=model, assumptions=[assumption(k, -np.pi, np.pi) for k in keys], n=4000, seed=1)
    grid = np.linspace(-np.pi, np.pi, 4)
    bend = np.sin(grid[1]) - np.sin(grid[3])   # of x1 over a move of 2/3, either way round
    assert table.loc["x1", "mu_star"] == pytest.approx(1.5 * abs(bend) * np.mean(1 + 0.1 * grid**4), rel=0.02)
    assert table.loc["x2", "mu_star"] == pytest.approx(7.875, rel=1e-6)
    assert table.loc["x2", "mu"] == pytest.approx(0, abs=0.3)
    assert table.loc["x3", "mu_star"] == pytest.approx(6.25, rel=0.05)
