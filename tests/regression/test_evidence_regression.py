"""Values of kit.evidence that we worked out ourselves. No evidence: they only show that a result has moved."""
import numpy as np
import pytest

from kit.evidence import Assumption


def assumption(**given):
    return Assumption(key="x", unit="", grade="conjecture", source="assumption", **({"value": None} | given))


@pytest.mark.parametrize(("shape", "quantiles", "digit"), [
    ("triangular", (11.00, 13.675, 18.00), 0.005), ("pert", (10.590, 12.767, 16.213), 0.0005)])
def test_three_points(shape, quantiles, digit):
    made = assumption(value=12, low=10, high=20, limits="ends", shape=shape)
    np.testing.assert_allclose(made.quantile([0.05, 0.5, 0.95]), quantiles, rtol=0, atol=digit)


@pytest.mark.parametrize(("shape", "mean", "deviation"), [("triangular", 14.0, 2.1602), ("pert", 13.0, 1.7321)])
def test_three_point_moments(shape, mean, deviation):
    made = assumption(value=12, low=10, high=20, limits="ends", shape=shape)
    values = made.quantile((np.arange(10**6) + 0.5) / 10**6)
    assert round(values.mean(), 4) == mean
    assert round(values.std(), 4) == deviation


def test_lognormal_from_its_points():
    logs = np.log(assumption(low=0.02, high=0.20, shape="lognormal").quantile([0.5, 0.8413447460685429]))
    assert np.exp(logs[0]) == pytest.approx(0.0632, abs=5e-5)
    assert logs[0] == pytest.approx(-2.7607, abs=5e-5)
    assert logs[1] - logs[0] == pytest.approx(0.6999, abs=5e-5)
