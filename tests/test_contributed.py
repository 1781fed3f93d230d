"""Readings of several workshops: pooled by what they say and how far they differ; what cannot be pooled is told."""
import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import ndtr as phi

from kit import contributed, pooling, study, tables
from kit.study import StudyError

DEMO = study.load(study.DEMO)
EXAMPLE = tables.DATA / "contributed" / "readings.csv"   # invented


def test_the_example_narrows_what_was_conjectured():
    found = contributed.read(EXAMPLE)
    assert found.faults == () and len(found.rows) == 6 and all("invented" in row["remark"] for row in found.rows)
    table = found.pooled(DEMO).set_index("key")
    pinch = table.loc["hand.pinch"]
    assert pinch["workshops"] == 3 and pinch["readings"] == 40
    rest = table.loc["drive.rest_tension"]
    assert rest["before_95"] / rest["before_5"] > rest["high_95"] / rest["low_5"]
    assert pinch["low_5"] < 3.3 and pinch["high_95"] > 7.2   # the next may be as far as these are apart
    mine = found.update(DEMO)
    row = mine.register.loc["hand.pinch"]
    assert row["grade"] == "own-trial" and row["low_5"] == pytest.approx(pinch["low_5"]) and "3 workshops" in row["note"] and "CC-BY" in row["note"]
    assert mine.assess(2**7).chance != DEMO.assess(2**7).chance


def test_next_workshop_against_integration_in_two_dimensions():
    """The same model integrated over mean and spread by scipy."""
    y, u, m0, s0 = np.array([1.0, 1.6, 0.8]), np.array([0.1, 0.2, 0.15]), 0.5, 0.8

    def joint(mu, tau):
        s = np.hypot(u, tau)
        return np.exp(-0.5 * ((mu - m0) / s0)**2 - 0.5 * (tau / s0)**2 - 0.5 * np.sum(((y - mu) / s)**2)) / np.prod(s)

    whole, _ = integrate.dblquad(joint, 0, 2.4, -0.5, 2.5, epsabs=1e-4)
    made = pooling.next_workshop(y, u, m0, s0)
    for point, p in ((made.low, 0.05), (made.high, 0.95)):
        below, _ = integrate.dblquad(lambda mu, tau: joint(mu, tau) * phi((point - mu) / max(tau, 1e-9)), 0, 2.4, -0.5, 2.5, epsabs=1e-4)
        assert below / whole == pytest.approx(p, abs=0.005)


def test_next_workshop_s_moments_against_integration_at_another_scale():
    """Errors as large as the spread, and a prior_sd that is far from 1: mean, error and spread by scipy, which takes
    the mean of all as one more unknown of a joint normal density and integrates it out by itself."""
    y, u, m0, s0 = np.array([30.0, 52.0, 11.0, 44.0]), np.array([14.0, 9.0, 21.0, 6.0]), 20.0, 16.0

    tau, mu = np.linspace(0, 3 * s0, 601)[:, None], np.linspace(m0 - 6 * s0, m0 + 6 * s0, 1001)
    joint = np.exp(-0.5 * (tau / s0)**2) * stats.norm.pdf(mu, m0, s0)
    for each, error in zip(y, u):
        joint = joint * stats.norm.pdf(each, mu, np.hypot(error, tau))

    def moment(of):
        return integrate.simpson(integrate.simpson(of * joint, x=mu, axis=1), x=tau[:, 0])

    mean = moment(mu) / moment(1)
    made = pooling.next_workshop(y, u, m0, s0)
    assert made.mean == pytest.approx(mean, rel=1e-4)
    assert made.error == pytest.approx((moment((mu - mean)**2) / moment(1))**0.5, rel=1e-4)
    assert made.spread == pytest.approx(moment(tau) / moment(1), rel=1e-4)


def test_no_workshop_leaves_the_belief_and_many_alike_narrow_it():
    none = pooling.next_workshop([], [], 2.0, 0.5)
    assert none.median == pytest.approx(2.0, abs=1e-6) and none.low < 2 - 1.645 * 0.5
    widths = [np.subtract(*(lambda n: (n.high, n.low))(pooling.next_workshop([2.2] * k, [0.05] * k, 2.0, 0.5))) for k in (1, 3, 10)]
    assert widths[0] > widths[1] > widths[2] and none.high - none.low > widths[0]
    apart = pooling.next_workshop([1.8, 2.6, 2.0, 2.5], [0.05] * 4, 2.0, 0.5)
    assert apart.high - apart.low > 2 * (widths[1] + widths[2]) / 2   # those that differ leave it wide


def test_workshops_that_agree_show_no_spread():
    assert pooling.between([1.0, 1.01, 0.99], [0.1] * 3) == 0 == pooling.between([1.0, 1.01, 0.99], [0.1] * 3, "dersimonian-laird")
    assert pooling.between([1, 2], [1e-6, 1e-6]) == pytest.approx(np.std([1, 2], ddof=1))


@pytest.mark.parametrize("column, value, said", [
    ("error", "", "a reading without its error"), ("error", "0", "a reading without its error"), ("value", "-3", "not above 0"), ("unit", "Nn*x", "nobody knows the unit"), ("error", "1e9", "column 'error': 1e+09 of a reading"), ("error", "1e-200", "finer than any gauge"),
    ("place", "elsewhere", "give each workshop a name of its own"), ("licence", "", "licence"), ("readings", "0", "readings")])
def test_a_bad_row_is_refused_and_the_good_ones_kept(column, value, said, tmp_path):
    import csv
    rows = list(csv.DictReader(EXAMPLE.open()))
    rows[1] |= {column: value}
    path = tmp_path / "readings.csv"
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    found = contributed.read(path)
    assert any(said in fault and "line 3" in fault for fault in found.faults) and len(found.rows) == 5


def test_a_quantity_that_the_study_does_not_rest_on_is_told(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(EXAMPLE.read_text().replace("hand.pinch", "hand.pinsh"))
    with pytest.raises(StudyError, match=r"readings\.csv, line 2, column 'quantity': .*did you mean 'hand.pinch'"):
        contributed.read(path).pooled(DEMO)
    path.write_text(EXAMPLE.read_text().replace(",N,", ",mm,"))
    with pytest.raises(StudyError, match=r"readings\.csv, line 2, column 'unit': 'mm' is no unit of 'hand\.pinch', which the kit has in N; give"):
        contributed.read(path).update(DEMO)


@pytest.mark.parametrize("given, said", [(([1.0], [0.1]), "two or more"), (([1, 2], [0.1, 0]), "above 0"), (([1, 2], [0.1]), "its own"), (([1, 2], [1, 1], "mean"), "no method")])
def test_what_shows_no_spread_is_told(given, said):
    with pytest.raises(ValueError, match=said):
        pooling.between(*given)
