"""kit.evidence: distributions against an independent library, contradictions refused, and the joint draws."""
import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import special, stats

from kit import evidence, tables, words
from kit.evidence import Assumption, draw, likelihood
from kit.units import Q

P = np.array([0.001, 0.01, 0.05, 0.1, 0.16, 0.25, 0.4, 0.5, 0.6, 0.75, 0.84, 0.9, 0.95, 0.99, 0.999])


def assumption(key="wall", **given):
    plain = {"value": None, "low": None, "high": None, "unit": "mm", "shape": "uniform", "grade": "own-trial",
             "source": "own-trial"}
    return Assumption(key=key, **(plain | given))


# Each shape against scipy.stats, which has its own code for all of them

def reach(shape):
    """Distance from the middle to the 95 % point of a symmetric scipy shape on -1 to 1."""
    return shape(loc=-1, scale=2).ppf(0.95)


def trapezoid(loc, scale):
    return stats.trapezoid(0.25, 0.75, loc=loc, scale=scale)


ENDS = {"low": 2, "high": 6, "limits": "ends"}
POINTS = {"low": 2, "high": 6, "limits": "p5_p95"}
INDEPENDENT = {
    "uniform, ends": (ENDS | {"shape": "uniform"}, stats.uniform(2, 4)),
    "uniform, points": (POINTS | {"shape": "uniform"}, stats.uniform(4 - 2 / 0.9, 4 / 0.9)),
    "triangular, ends": (ENDS | {"value": 3, "shape": "triangular"}, stats.triang(0.25, 2, 4)),
    "triangular, mode at its low end": (ENDS | {"value": 2, "shape": "triangular"}, stats.triang(0, 2, 4)),
    "pert, ends": (ENDS | {"value": 3, "shape": "pert"}, stats.beta(2, 4, 2, 4)),
    "pert, mode at its high end": (ENDS | {"value": 6, "shape": "pert"}, stats.beta(5, 1, 2, 4)),
    "normal": (POINTS | {"shape": "normal"}, stats.norm(4, 2 / stats.norm.ppf(0.95))),
    "lognormal": ({"low": 2, "high": 8, "shape": "lognormal"},
                  stats.lognorm(s=np.log(2) / stats.norm.ppf(0.95), scale=4)),
    "student-t": (POINTS | {"shape": "student-t", "dof": 3}, stats.t(3, 4, 2 / stats.t(3).ppf(0.95))),
    "arcsine, ends": (ENDS | {"shape": "arcsine"}, stats.arcsine(2, 4)),
    "arcsine, points": (POINTS | {"shape": "arcsine"},
                        stats.arcsine(4 - 2 / reach(stats.arcsine), 4 / reach(stats.arcsine))),
    "trapezoid, ends": (ENDS | {"shape": "trapezoid"}, trapezoid(2, 4)),
    "trapezoid, points": (POINTS | {"shape": "trapezoid"},
                          trapezoid(4 - 2 / reach(trapezoid), 4 / reach(trapezoid))),
    "rayleigh": ({"low": 0, "high": 6, "shape": "rayleigh"}, stats.rayleigh(scale=6 / stats.rayleigh.ppf(0.95))),
}


@pytest.mark.parametrize("name", INDEPENDENT)
def test_quantiles_agree_with_another_library(name):
    numbers, other = INDEPENDENT[name]
    np.testing.assert_allclose(assumption(**numbers).quantile(P), other.ppf(P), rtol=1e-9)
    np.testing.assert_allclose(assumption(**numbers).at_scores(stats.norm.ppf(P)), other.ppf(P), rtol=1e-9)


def test_every_shape_is_compared():
    assert {numbers["shape"] for numbers, _ in INDEPENDENT.values()} == set(evidence.SHAPES) - {"fixed"}


@pytest.mark.parametrize("mode", [2, 2.01, 2.5, 3, 4, 5.9, 6])
def test_skewed_shapes_from_points_agree_with_another_library(mode):
    triangular = assumption(value=mode, low=2, high=6, shape="triangular")
    start, end = triangular.quantile([0, 1])
    assert start < 2 and end > 6
    other = stats.triang((mode - start) / (end - start), start, end - start)
    np.testing.assert_allclose(triangular.quantile(P), other.ppf(P), rtol=1e-8)
    np.testing.assert_allclose(other.ppf([0.05, 0.95]), [2, 6], rtol=1e-8)
    pert = assumption(value=mode, low=2, high=6, shape="pert")
    start, end = pert.quantile([0, 1])
    share = (mode - start) / (end - start)
    other = stats.beta(1 + 4 * share, 5 - 4 * share, start, end - start)
    np.testing.assert_allclose(pert.quantile(P), other.ppf(P), rtol=1e-8)
    np.testing.assert_allclose(other.ppf([0.05, 0.95]), [2, 6], rtol=1e-8)


@given(low=st.floats(-1e3, 1e3), width=st.floats(1e-3, 1e3), share=st.floats(0, 1),
       shape=st.sampled_from([s for s in evidence.SHAPES if s != "fixed"]))
def test_points_are_the_points(low, width, share, shape):
    if shape == "lognormal":
        low = abs(low) + 0.1
    high = low + width
    value = min(low + share * width, high) if shape in ("triangular", "pert") else None
    if shape == "rayleigh":
        low, high = None, width
    assume(low is None or low < high)
    quantile = assumption(value=value, low=low, high=high, shape=shape, limits="p5_p95",
                          dof=4 if shape == "student-t" else None).quantile
    tolerance = 1e-6 * width
    if low is not None:
        assert quantile(0.05) == pytest.approx(low, abs=tolerance)
    assert quantile(0.95) == pytest.approx(high, abs=tolerance)
    assert np.all(np.diff(quantile(P)) > 0)


@pytest.mark.parametrize("shape", ["uniform", "triangular", "pert", "arcsine", "trapezoid"])
def test_ends_are_the_ends(shape):
    bounded = assumption(**ENDS, value=3 if shape in ("triangular", "pert") else None, shape=shape)
    np.testing.assert_allclose(bounded.quantile([0, 1]), [2, 6], rtol=1e-12)
    wider = replace(bounded, limits="p5_p95").quantile([0, 1])
    assert wider[0] < 2 and wider[1] > 6


def test_limits_left_out_are_ends_for_uniform_and_points_for_the_others():
    assert assumption(low=1, high=2).limits == "ends"
    for shape in set(evidence.SHAPES) - {"uniform", "fixed", "student-t", "rayleigh"}:
        assert assumption(value=1.45, low=1, high=2, shape=shape).limits == "p5_p95"


def test_rayleigh_starts_at_zero():
    assert assumption(high=6, shape="rayleigh").quantile(0) == 0


def test_fixed_is_its_value_at_any_probability():
    np.testing.assert_array_equal(assumption(value=3, shape="fixed").quantile([0.05, 0.5, 0.95]), [3, 3, 3])


def test_middle():
    assert assumption(low=2, high=6).middle.m_as("um") == pytest.approx(4000)
    assert assumption(low=2, high=8, shape="lognormal").middle.m_as("mm") == pytest.approx(4)
    assert assumption(value=3, shape="fixed", unit="").middle == 3


# Numbers that contradict each other, and words that are not known

@pytest.mark.parametrize(("numbers", "said"), [
    ({"shape": "unifrom", "low": 1, "high": 2}, "wall: unknown shape 'unifrom'; did you mean 'uniform'?"),
    ({"grade": "handbok", "low": 1, "high": 2}, "wall: unknown grade 'handbok'; did you mean 'handbook'?"),
    ({"drawn": "eech", "low": 1, "high": 2}, "wall: unknown drawn 'eech'; did you mean 'each'?"),
    ({"source": "", "low": 1, "high": 2},
     "wall: no source; give a key of sources.bib or one of common-practice, from-memory, assumption, own-trial"),
    ({"limits": "min_max", "low": 1, "high": 2}, "wall: limits are 'ends' or 'p5_p95', not 'min_max'"),
    ({"unit": "mmm", "low": 1, "high": 2}, "wall: cannot read the unit 'mmm' ('mmm' is no unit; take words like mm, N, min, joined by * and /, with a power like m^2)"),
    ({"shape": "fixed"}, "wall: a fixed number needs its value"),
    ({"shape": "fixed", "value": 3, "low": 1, "high": 2},
     "wall: a fixed number has no low and high; empty them or choose another shape"),
    ({"low": 1}, "wall: a uniform needs low and high"),
    ({"high": 1, "shape": "normal"}, "wall: a normal needs low and high"),
    ({"shape": "rayleigh"}, "wall: a rayleigh needs high"),
    ({"low": 2, "high": 1}, "wall: low 2 is not below high 1 mm; put the smaller one first"),
    ({"low": 2, "high": 2}, "wall: low 2 is not below high 2 mm; put the smaller one first"),
    ({"low": 1, "high": np.inf}, "wall: high is not a finite number"),
    ({"low": np.nan, "high": 1}, "wall: low is not a finite number"),
    ({"shape": "fixed", "value": np.nan}, "wall: value is not a finite number"),
    ({"shape": "pert", "low": 1, "high": 2}, "wall: a pert needs its mode as value"),
    ({"shape": "triangular", "low": 1, "high": 2}, "wall: a triangular needs its mode as value"),
    ({"shape": "pert", "value": 3, "low": 1, "high": 2}, "wall: value 3 lies outside low 1 to high 2 mm"),
    ({"shape": "normal", "low": 1, "high": 2, "limits": "ends"},
     "wall: a normal has no ends; give its 5 % and 95 % points (limits p5_p95)"),
    ({"shape": "lognormal", "low": -1, "high": 2}, "wall: a lognormal must stay above zero, low is -1"),
    ({"shape": "lognormal", "low": 0, "high": 2}, "wall: a lognormal must stay above zero, low is 0"),
    ({"shape": "student-t", "low": 1, "high": 2}, "wall: a student-t needs its degrees of freedom (dof) above 0"),
    ({"shape": "student-t", "low": 1, "high": 2, "dof": 0},
     "wall: a student-t needs its degrees of freedom (dof) above 0"),
    ({"shape": "rayleigh", "low": 1, "high": 2}, "wall: a rayleigh starts at 0, not at low 1; leave low empty"),
    ({"shape": "normal", "value": 1.2, "low": 1, "high": 2}, (
        "wall: value 1.2 contradicts low 1 and high 2 mm: the median of that normal is 1.5; "
        "change the value, the range or the shape")),
    ({"shape": "lognormal", "value": 50, "low": 1, "high": 100}, (
        "wall: value 50 contradicts low 1 and high 100 mm: the median of that lognormal is 10; "
        "change the value, the range or the shape")),
    ({"shape": "rayleigh", "value": 1.9, "high": 2}, (
        "wall: value 1.9 contradicts low 0 and high 2 mm: the median of that rayleigh is 0.962; "
        "change the value, the range or the shape"))])
def test_refused(numbers, said):
    with pytest.raises(ValueError) as caught:
        assumption(**numbers)
    assert str(caught.value) == said


@pytest.mark.parametrize("numbers", [
    {"shape": "normal", "value": 1.55, "low": 1, "high": 2},   # a rounded median is no contradiction
    {"shape": "lognormal", "value": 11, "low": 1, "high": 100},
    {"shape": "rayleigh", "value": 1, "low": 0, "high": 2},
    {"shape": "student-t", "value": 1.5, "low": 1, "high": 2, "dof": 2},
    {"shape": "pert", "value": 1, "low": 1, "high": 2},
    {"shape": "uniform", "low": -2, "high": -1}])
def test_taken(numbers):
    made = assumption(**numbers)
    assert {name: getattr(made, name) for name in numbers} == numbers


def test_schema_of_the_tables_knows_the_same_words():
    schema = json.loads((tables.REFERENCE / "numbers.schema.json").read_text(encoding="utf-8"))
    enums = {f["name"]: tuple(f["constraints"]["enum"]) for f in schema["fields"] if "enum" in f.get("constraints", {})}
    assert enums == {"shape": evidence.SHAPES, "grade": tuple(g for g in evidence.GRADES if g != evidence.TAUGHT), "limits": ("ends", "p5_p95"),
                     "drawn": ("once", "each")}


def test_grades_are_counted_nearest_to_the_past_first():
    given = ["conjecture", "recalled", "handbook", "find", "recalled", "handbook", "handbook"]
    assert evidence.counted_grades(given) == "1 find, 3 handbook, 2 recalled, 1 conjecture"
    assert evidence.counted_grades([]) == ""


# From a table

ROW = {"of": "tin", "key": "density", "value": 7.3, "low": 7.2, "high": 7.4, "limits": None, "unit": "g/cm**3",
       "shape": "normal", "dof": None, "grade": "handbook", "source": "brown1990", "drawn": None, "note": None,
       "line": 7}


def test_from_row():
    made = evidence.from_row(ROW, "metals.csv")
    assert made == assumption(key="density", value=7.3, low=7.2, high=7.4, unit="g/cm**3", shape="normal",
                              grade="handbook", source="brown1990")
    assert (made.limits, made.drawn, made.note) == ("p5_p95", "once", "")
    each = evidence.from_row(ROW | {"unit": None, "drawn": "each", "note": "cast", "limits": "p5_p95"}, "metals.csv")
    assert (each.unit, each.drawn, each.note) == ("", "each", "cast")


def test_fault_in_a_row_says_file_and_line():
    with pytest.raises(tables.TableError, match=r"^metals\.csv, line 7: density: value 9 lies outside low 7\.2 to"):
        evidence.from_row(ROW | {"value": 9}, "metals.csv")


def test_reference_prefixes_the_keys(monkeypatch):
    monkeypatch.setattr(tables, "rows_of", lambda table, of: [ROW, ROW | {"key": "price"}])
    evidence.reference.cache_clear()
    try:
        found = evidence.reference("metals", "tin", "alloy")
    finally:
        evidence.reference.cache_clear()
    assert list(found) == ["alloy.density", "alloy.price"]
    assert all(key == a.key and a.value == 7.3 for key, a in found.items())


# Joint draws

N, SEED = 2**13, 20
PLAIN = [assumption("b", low=0, high=1, unit=""), assumption("a", low=2, high=8, shape="lognormal"),
         assumption("c", value=3, low=2, high=6, shape="pert", limits="ends"), assumption("f", value=5, shape="fixed")]
OTHERS = {"b": stats.uniform(0, 1), "a": INDEPENDENT["lognormal"][1], "c": INDEPENDENT["pert, ends"][1]}


def plain(**draws):
    return {key: quantity.magnitude for key, quantity in draws.items()}


def scores(values):
    """Normal scores by rank: they know nothing of the distribution that the values came from."""
    return special.ndtri((stats.rankdata(values) - 0.5) / len(values))


def test_draws_carry_units_and_fixed_stays_one_number():
    found = draw(PLAIN, n=8, seed=1)
    assert list(found) == ["b", "a", "c", "f"]
    assert {key: (words.unit(q), np.shape(q.magnitude)) for key, q in found.items()} == {
        "b": ("", (8,)), "a": ("mm", (8,)), "c": ("mm", (8,)), "f": ("mm", ())}
    assert found["f"].m_as("mm") == 5


def test_same_seed_same_draws_other_seed_others(fresh_draws):
    first = plain(**draw(PLAIN, n=1000, seed=SEED))
    evidence._kept_points.cache_clear()
    evidence._kept.cache_clear()
    again, other = plain(**draw(PLAIN, n=1000, seed=SEED)), plain(**draw(PLAIN, n=1000, seed=SEED + 1))
    for key in "abc":
        np.testing.assert_array_equal(first[key], again[key])
        assert not np.any(first[key] == other[key])


def test_order_of_the_keys_and_fixing_one_change_no_other_draw():
    base = plain(**draw(PLAIN, n=64, seed=SEED))
    turned = plain(**draw(PLAIN[::-1], n=64, seed=SEED))
    held = replace(PLAIN[0], value=0.5, low=None, high=None, shape="fixed")
    fixed = plain(**draw([held, *PLAIN[1:]], n=64, seed=SEED))
    for key in "ac":
        np.testing.assert_array_equal(base[key], turned[key])
        np.testing.assert_array_equal(base[key], fixed[key])
    np.testing.assert_array_equal(base["b"], turned["b"])


def test_another_range_stretches_the_same_draws():
    base = draw(PLAIN, n=64, seed=SEED)["b"].magnitude
    wide = draw([replace(PLAIN[0], low=0, high=2), *PLAIN[1:]], n=64, seed=SEED)["b"].magnitude
    np.testing.assert_allclose(wide, 2 * base, rtol=1e-12)


@pytest.mark.parametrize("n", [N, 5000])
def test_marginals(n):
    found = plain(**draw(PLAIN, n=n, seed=SEED))
    for key, other in OTHERS.items():
        # evenly spread points keep within a few n-ths of the distribution; chance alone would stray by about 1/sqrt(n)
        assert stats.kstest(found[key], other.cdf).statistic < 5 / n


def test_pairs_not_named_are_independent():
    found = plain(**draw(PLAIN, n=N, seed=SEED))
    for one, two in ("ab", "ac", "bc"):
        assert abs(np.corrcoef(scores(found[one]), scores(found[two]))[0, 1]) < 0.01


def test_correlations_are_reproduced_and_keep_the_marginals():
    wanted = {("a", "b"): 0.8, ("c", "a"): -0.5}
    found = plain(**draw([*PLAIN, assumption("d", low=0, high=1)], n=N, seed=SEED, correlations=wanted))
    for (one, two), r in wanted.items():
        assert np.corrcoef(scores(found[one]), scores(found[two]))[0, 1] == pytest.approx(r, abs=0.01)
        # rank correlation of a joint normal: 6/pi asin(r/2); from memory, believed to be in K. Pearson, On Further
        # Methods of Determining Correlation, Drapers' Company Research Memoirs, Biometric Series IV, 1907
        by_rank = stats.spearmanr(found[one], found[two]).statistic
        assert by_rank == pytest.approx(6 / np.pi * np.arcsin(r / 2), abs=0.01)
    assert np.corrcoef(scores(found["b"]), scores(found["c"]))[0, 1] == pytest.approx(0, abs=0.01)
    assert np.corrcoef(scores(found["a"]), scores(found["d"]))[0, 1] == pytest.approx(0, abs=0.01)
    for key, other in OTHERS.items():
        assert stats.kstest(found[key], other.cdf).statistic < 0.01


def test_correlation_is_the_same_from_either_side():
    one, two = (draw(PLAIN, n=64, seed=SEED, correlations={pair: 0.7}) for pair in (("a", "b"), ("b", "a")))
    for key in "ab":
        np.testing.assert_array_equal(one[key].magnitude, two[key].magnitude)


@pytest.mark.parametrize(("correlations", "said"), [
    ({("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9},
     "the correlations of a, b, c contradict each other: no set of numbers can have them all"),
    ({("a", "bb"): 0.5}, "a correlation names 'bb', which is not drawn; did you mean 'b'?"),
    ({("a", "f"): 0.5}, "a correlation names 'f', which is not drawn; known: 'b', 'a', 'c'"),
    ({("a", "a"): 0.5}, "correlation of 'a' with 'a' is 0.5: it must lie between -1 and 1 and join two keys"),
    ({("a", "b"): 1}, "correlation of 'a' with 'b' is 1: it must lie between -1 and 1 and join two keys"),
    ({("a", "b"): np.nan}, "correlation of 'a' with 'b' is nan: it must lie between -1 and 1 and join two keys"),
    ({("a", "b"): 0.5, ("b", "a"): -0.5}, "the correlation of 'b' with 'a' stands twice; keep one of the two")])
def test_correlations_refused(correlations, said):
    with pytest.raises(ValueError) as caught:
        draw(PLAIN, n=64, seed=SEED, correlations=correlations)
    assert str(caught.value) == said


@pytest.mark.parametrize("n", [0, -3, 1.5, np.nan, np.inf])
def test_number_of_draws_refused(n):
    with pytest.raises(ValueError, match="the number of draws must be a whole number above 0, not "):
        draw(PLAIN, n=n, seed=SEED)


def test_repeated_key_refused():
    with pytest.raises(ValueError, match="^'b' is there twice; keep one of the two$"):
        draw([*PLAIN, PLAIN[0]], n=8, seed=SEED)


def test_one_draw_and_none_to_draw():
    assert draw(PLAIN, n=1, seed=SEED)["a"].shape == (1,)
    assert draw([PLAIN[3]], n=8, seed=SEED)["f"].m_as("mm") == 5


def test_draws_cannot_be_overwritten():
    for n in (64, 2**17 + 1):
        with pytest.raises(ValueError, match="read-only"):
            draw(PLAIN, n=n, seed=SEED)["b"].magnitude[0] = 9


@pytest.fixture
def fresh_draws():
    """No draws kept from before, and none left behind."""
    caches = (evidence._kept_points, evidence._kept)
    for kept in caches:
        kept.cache_clear()
    yield
    for kept in caches:
        kept.cache_clear()


def test_a_point_in_the_corner_of_the_cube_is_no_infinite_draw(monkeypatch, fresh_draws):
    class Corner:
        def __init__(self, columns, **options):
            self.columns = columns

        def random(self, n):
            return np.zeros((n, self.columns))

    monkeypatch.setattr(stats.qmc, "Sobol", Corner)
    found = draw([assumption("t", low=-1, high=1, shape="normal")], n=2, seed=SEED)["t"].magnitude
    assert np.all(np.isfinite(found)) and np.all(found < -4)


# Words

@pytest.mark.parametrize("chance", [-0.01, 1.01, np.nan])
def test_no_chance(chance):
    with pytest.raises(ValueError, match="a chance lies between 0 and 1"):
        likelihood(chance)


def test_of_a_large_set_what_is_asked_for_is_made_and_is_the_same():
    """Against draws of the same points that are all made at once."""
    rows = [Assumption("a", 1.0, 0.5, 2.0, "mm", "triangular", "conjecture", "assumption"),
            Assumption("b", 3.0, 1.0, 5.0, "N", "uniform", "conjecture", "assumption"),
            Assumption("c", 2.0, None, None, "mm", "fixed", "handbook", "assumption")]
    n = 2 * evidence.FEW
    large = draw(rows, n, 1)
    assert "a" in large and "z" not in large and list(large) == ["a", "b", "c"] and large._made == {}
    points = evidence.points(3, n, 1)
    assert np.array_equal(large["a"].m, rows[0].quantile(points[0])) and set(large._made) == {"a"} and large.n == n
    assert large["c"] == Q(2.0, "mm") and large["a"] is large["a"] and not large["a"].m.flags.writeable
    other = large | {"b": Q(7.0, "N")}
    assert other["b"] == Q(7.0, "N") and np.array_equal(other["a"].m, large["a"].m) and np.size(large["b"].m) == n
    with pytest.raises(KeyError):
        large["z"]


def test_points_made_in_blocks_are_those_made_at_once():
    from scipy.stats import qmc
    n = 2 * evidence.BLOCK
    assert np.array_equal(evidence.points(5, n, 3), np.clip(qmc.Sobol(5, scramble=True, seed=3).random(n).T, 1e-12, 1 - 1e-12))
