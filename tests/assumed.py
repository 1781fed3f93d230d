"""Assumptions for tests: of every shape, and a line of three of them."""
from scipy import stats

from kit.evidence import Assumption

Z95 = stats.norm.ppf(0.95)


def assumption(key="x", **given):
    return Assumption(key=key, grade="own-trial", source="own-trial",
                      **({"value": None, "low": None, "high": None, "unit": "", "shape": "uniform"} | given))


def fixed(key, value, unit=""):
    return assumption(key, value=value, shape="fixed", unit=unit)


def normal(key="x", mean=0.0, u=1.0, unit=""):
    return assumption(key, low=mean - Z95 * u, high=mean + Z95 * u, shape="normal", unit=unit)


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
LINE = [assumption("a", low=0, high=1, unit="mm"), assumption("b", low=0, high=1, unit="mm"),
        assumption("idle", low=0, high=1), fixed("offset", 7, "mm")]


def line(v):
    return 2 * v["a"] - 3 * v["b"] + v["offset"]
