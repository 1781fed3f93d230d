"""Assumptions: a number with its range, its source and the grade of that source; and draws from them."""
import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from kit.base import tables, words
from kit.base.units import Q, parse

# The kind of evidence, nearest to the past first. A working order of this kit, not a published scale. "handbook" is a
# number looked up in print; "recalled" one from memory, or of common practice without print.
GRADES = ("find", "trace", "text", "image", "living-craft", "own-trial", "updated by the log", "modern-substitute",
          "handbook", "recalled", "model-only", "conjecture")
TAUGHT = "updated by the log"   # given by an update alone: no table may say it
SHAPES = ("fixed", "uniform", "triangular", "pert", "normal", "lognormal", "student-t", "arcsine", "trapezoid",
          "rayleigh")
SAMPLERS = ("sobol", "latin", "random")
PLAIN_SOURCES = ("common-practice", "from-memory", "assumption", "own-trial")   # the rest are keys of a sources.bib
UNPRINTED = PLAIN_SOURCES[:2]   # where a handbook's number can come from without a page: it is recalled, then

# Intergovernmental Panel on Climate Change, Guidance Note for Lead Authors of the Fifth Assessment Report on
# Consistent Treatment of Uncertainties (2010), table 1. The words overlap there; here each chance gets the narrowest.
LIKELIHOOD = ((0.99, "virtually certain"), (0.90, "very likely"), (0.66, "likely"), (0.33, "about as likely as not"),
              (0.10, "unlikely"), (0.01, "very unlikely"), (0.0, "exceptionally unlikely"))

Z95 = 1.6448536269514722   # normal deviate of 95 %


def likelihood(chance):
    """The published probability word for a chance between 0 and 1 (IPCC 2010, table 1).

    >>> import kit
    >>> kit.evidence.likelihood(0.7)
    'likely'
    """
    if not 0 <= chance <= 1:
        raise ValueError(f"a chance lies between 0 and 1, not at {chance}")
    return next(word for least, word in LIKELIHOOD if chance >= least)


def counted_grades(grades):
    """How many numbers have which grade, nearest to the past first: '23 handbook, 14 recalled'. grades: of GRADES.

    >>> import kit
    >>> kit.evidence.counted_grades(["recalled", "handbook", "recalled"])
    '1 handbook, 2 recalled'
    """
    grades = list(grades)
    return ", ".join(f"{grades.count(grade)} {grade}" for grade in GRADES if grade in grades)


@dataclass(frozen=True)
class Assumption:
    """One number that the argument rests on, with its spread and where it comes from.

    key: its name. value: mode of triangular and pert, median of the others (may be None where low and high give it).
    low, high: in `unit`, as `limits` says: the very `ends`, or the `p5_p95` that a maker means by least and most.
    shape: one of SHAPES. dof: degrees of freedom of student-t. grade: one of GRADES. source: key of a sources.bib or
    one of PLAIN_SOURCES. each: share of the spread that differs from piece to piece, 0 (one value for all pieces) to 1
    (a fresh draw for each). drawn: the same in a word, "once" for 0 and "each" for more; "each" alone is 1. label: what
    it is called in print.

    The trapezoid is symmetric with a top half as wide as its base; the rayleigh starts at 0.
    Raises ValueError where the numbers contradict each other.
    """
    key: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    shape: str
    grade: str
    source: str
    limits: str | None = None
    dof: float | None = None
    note: str = ""
    drawn: str = "once"
    label: str = ""
    each: float | None = None

    def __post_init__(self):
        for name, known in (("shape", SHAPES), ("grade", GRADES), ("drawn", ("once", "each"))):
            given = getattr(self, name)
            if given not in known:
                raise ValueError(f"{self.key}: unknown {name} {given!r}; {tables.nearest(given, known)}")
        if self.each is None:
            object.__setattr__(self, "each", float(self.drawn == "each"))
        if not 0 <= self.each <= 1:
            raise ValueError(f"{self.key}: each is a share of the spread, from 0 to 1, not {self.each:g}")
        object.__setattr__(self, "drawn", "each" if self.each > 0 else "once")
        if not self.source:
            raise ValueError(f"{self.key}: no source; give a key of sources.bib or one of {', '.join(PLAIN_SOURCES)}")
        if self.limits is None:
            object.__setattr__(self, "limits", "ends" if self.shape == "uniform" else "p5_p95")
        if self.limits not in ("ends", "p5_p95"):
            raise ValueError(f"{self.key}: limits are 'ends' or 'p5_p95', not {self.limits!r}")
        try:
            parse(self.unit or "")
        except Exception as error:
            raise ValueError(f"{self.key}: cannot read the unit {self.unit!r} ({error})") from None
        self._check_numbers()

    def _check_numbers(self):
        low, value, high, shape = self.low, self.value, self.high, self.shape
        for name in ("value", "low", "high", "dof"):
            if getattr(self, name) is not None and not np.isfinite(getattr(self, name)):
                raise ValueError(f"{self.key}: {name} is not a finite number")
        if shape == "fixed":
            if value is None:
                raise ValueError(f"{self.key}: a fixed number needs its value")
            if low is not None or high is not None:
                raise ValueError(f"{self.key}: a fixed number has no low and high; empty them or choose another shape")
            return
        if shape == "rayleigh":
            if low:
                raise ValueError(f"{self.key}: a rayleigh starts at 0, not at low {low:g}; leave low empty")
            low = 0.0
        if low is None or high is None:
            raise ValueError(f"{self.key}: a {shape} needs {'high' if shape == 'rayleigh' else 'low and high'}")
        if not low < high:
            raise ValueError(f"{self.key}: low {low:g} is not below high {high:g} {self.unit}; "
                             "put the smaller one first")
        if shape in ("triangular", "pert") and value is None:
            raise ValueError(f"{self.key}: a {shape} needs its mode as value")
        if value is not None and not low <= value <= high:
            raise ValueError(f"{self.key}: value {value:g} lies outside low {low:g} to high {high:g} {self.unit}")
        if shape in ("normal", "lognormal", "student-t", "rayleigh") and self.limits == "ends":
            raise ValueError(f"{self.key}: a {shape} has no ends; give its 5 % and 95 % points (limits p5_p95)")
        if shape == "lognormal" and low <= 0:
            raise ValueError(f"{self.key}: a lognormal must stay above zero, low is {low:g}")
        if shape == "student-t" and not (self.dof and self.dof > 0):
            raise ValueError(f"{self.key}: a student-t needs its degrees of freedom (dof) above 0")
        if value is not None and shape not in ("triangular", "pert"):
            median, scale = float(self.quantile(0.5)), (np.log if shape == "lognormal" else float)
            least = max(low, 1e-12 if shape == "lognormal" else low)
            if abs(scale(value) - scale(median)) > 0.1 * (scale(high) - scale(least)):
                raise ValueError(f"{self.key}: value {value:g} contradicts low {low:g} and high {high:g} {self.unit}: "
                                 f"the median of that {shape} is {median:.3g}; change the value, the range or the "
                                 "shape")

    @property
    def said(self):
        """What it is called in print."""
        return self.label or words.key_label(self.key)

    @property
    def middle(self):
        """The median, as a Quantity."""
        return Q(float(self.quantile(0.5)), self.unit)

    def quantile(self, p):
        """Inverse distribution at probabilities p (0 to 1, any shape), plain numbers in `unit`."""
        p = np.asarray(p, float)
        if self.shape == "fixed":
            return np.broadcast_to(self.value, p.shape)
        if self.shape == "lognormal":
            return np.exp(_symmetric("normal", None, np.log(self.low), np.log(self.high), "p5_p95", p))
        if self.shape == "rayleigh":
            return self.high * np.sqrt(np.log1p(-p) / np.log(0.05))
        if self.shape in ("triangular", "pert"):
            low, high = self.low, self.high
            if self.limits != "ends":
                low, high = _ends(self.shape, low, self.value, high)
            return _skewed(self.shape, low, self.value, high, p)
        return _symmetric(self.shape, self.dof, self.low, self.high, self.limits, p)

    def at_scores(self, scores):
        """The same at normal scores: `quantile` at the probabilities that lie below them."""
        from scipy import special
        if self.shape == "lognormal":   # a normal or its exponential is a score, moved and stretched
            return np.exp(_stretched(np.log(self.low), np.log(self.high), _reach("normal", None, "p5_p95"), scores))
        if self.shape == "normal":
            return _stretched(self.low, self.high, _reach("normal", None, self.limits), scores)
        return self.quantile(special.ndtr(scores))


def _standard(shape, dof, p):
    """Inverse distribution of the symmetric shapes, centred on 0; the bounded ones end at -1 and 1."""
    from scipy import special   # costs a quarter of a second: only when something is drawn
    if shape == "uniform":
        return 2 * p - 1
    if shape == "normal":
        return special.ndtri(p)
    if shape == "student-t":
        return special.stdtrit(dof, p)
    if shape == "arcsine":
        return np.sin(np.pi * (p - 0.5))
    # trapezoid: flat from -1/2 to 1/2 (2/3 of the mass), straight flanks beyond
    q = np.minimum(p, 1 - p)
    return np.sign(p - 0.5) * np.where(q < 1 / 6, 1 - np.sqrt(1.5 * q), 1.5 * (0.5 - q))


@functools.cache
def _reach(shape, dof, limits):
    """How far the limits lie from the middle of the standard shape."""
    return 1.0 if limits == "ends" else float(_standard(shape, dof, np.asarray(0.95)))


def _stretched(low, high, reach, standard):
    return (low + high) / 2 + (high - low) / 2 / reach * standard


def _symmetric(shape, dof, low, high, limits, p):
    return _stretched(low, high, _reach(shape, dof, limits), _standard(shape, dof, p))


def _skewed(shape, low, mode, high, p):
    if shape == "triangular":
        below = (mode - low) / (high - low)
        return np.where(p < below, low + np.sqrt(p * (high - low) * (mode - low)),
                        high - np.sqrt((1 - p) * (high - low) * (high - mode)))
    from scipy import special
    a, b = 1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low)
    return low + (high - low) * special.betaincinv(a, b, p)


@functools.lru_cache(2048)   # three studies of some hundred assumptions
def _ends(shape, p5, mode, p95):
    """Ends of a triangular or pert whose 5 % and 95 % points are p5 and p95, the mode between them."""
    from scipy import optimize

    def miss(log_reach):   # the ends lie beyond the points: search over how far, on a log scale
        low, high = p5 - np.exp(log_reach[0]) * (p95 - p5), p95 + np.exp(log_reach[1]) * (p95 - p5)
        return (_skewed(shape, low, mode, high, np.array([0.05, 0.95])) - (p5, p95)) / (p95 - p5)

    found = optimize.root(miss, np.log([0.2, 0.2]), tol=1e-10)
    if not np.allclose(miss(found.x), 0, atol=1e-6):
        raise ValueError(f"no {shape} has its mode at {mode:g} and 5 % and 95 % points at {p5:g} and {p95:g}; "
                         "move the mode inward")
    return float(p5 - np.exp(found.x[0]) * (p95 - p5)), float(p95 + np.exp(found.x[1]) * (p95 - p5))


def from_row(row, place):
    """Assumption from a checked table row; `place` (file) and the row's line stand in any complaint."""
    names = ("key", "value", "low", "high", "shape", "grade", "source", "limits", "dof")
    try:
        return Assumption(unit=row["unit"] or "", note=row.get("note") or "", drawn=row.get("drawn") or "once",
                          each=row.get("each"), label=row.get("label") or "",
                          **{n: row[n] for n in names})
    except ValueError as error:
        raise tables.TableError(f"{place}, line {row['line']}: {error}") from None


@functools.cache
def reference(table, of, prefix):
    """Assumptions of one thing in a reference table, keys prefixed: {'alloy.kc11': Assumption, ...}."""
    found = (from_row(row, f"{table}.csv") for row in tables.rows_of(table, of))
    return {f"{prefix}.{a.key}": replace(a, key=f"{prefix}.{a.key}") for a in found}


def points(columns, n, seed, sampler="sobol"):
    """Points in the unit cube, one row a column of draws: shape (columns, n), read-only. sampler: one of SAMPLERS."""
    import warnings
    from scipy.stats import qmc
    if sampler == "random":
        cube = np.random.default_rng(seed).random((columns, n))
    elif sampler == "latin":
        cube = np.ascontiguousarray(qmc.LatinHypercube(columns, seed=seed).random(n).T)
    else:
        with warnings.catch_warnings():   # n need not be a power of two: the points stay even, if less perfectly so
            warnings.filterwarnings("ignore", message="The balance properties of Sobol", category=UserWarning)
            sobol, cube = qmc.Sobol(columns, scramble=True, seed=seed), np.empty((columns, n))
            for at in range(0, n, BLOCK):
                cube[:, at:at + BLOCK] = sobol.random(min(BLOCK, n - at)).T
    np.clip(cube, 1e-12, 1 - 1e-12, out=cube)   # an inverse distribution at exactly 0 may be infinite
    cube.flags.writeable = False
    return cube


BLOCK = 2**12   # points made at a time: all in one go took three times the memory and six times as long
# The small sets that a slider asks for again and again are kept; large ones would fill the memory.
FEW = 2**15
_kept_points = functools.lru_cache(4)(points)


@functools.lru_cache(2048)   # three studies of some hundred assumptions
def _kept(assumption, own, shared, columns, n, seed, sampler):
    cube = _kept_points(columns, n, seed, sampler)
    return _drawn(assumption, cube, own, None if shared is None else _kept_scores(shared, columns, n, seed, sampler))


@functools.lru_cache(512)   # what all pieces share, of three studies
def _kept_scores(column, columns, n, seed, sampler):
    from scipy import special
    return special.ndtri(_kept_points(columns, n, seed, sampler)[column])


def _drawn(assumption, cube, own, shared):
    """Draws by the column of its own; mixed with the scores of what all pieces share, where there are any."""
    if shared is None:
        return assumption.quantile(cube[own])
    from scipy import special
    e = assumption.each
    return assumption.at_scores(np.sqrt(1 - e) * shared + np.sqrt(e) * special.ndtri(cube[own]))


def draw(assumptions, n, seed, correlations=None, sampler="sobol", worlds=None, given=None):
    """n joint draws of the assumptions: {key: Quantity of shape (n,)}; a fixed one stays a single number.

    assumptions: Assumptions with distinct keys. Those of one thing for several pieces are called `key@piece`: where
    `each` is between 0 and 1 their normal scores have a part that is the pieces' own and one that they share.
    n: number of draws. seed: whole number; the same seed, the same draws.
    correlations: {(key, key): r} between normal scores (Gaussian copula), |r| < 1; pairs not named are independent.
    sampler: "sobol" (scrambled Sobol points: evenest, the usual choice), "latin" (Latin hypercube) or "random" (plain).
    worlds: (number, keys without piece): the shared part of these is drawn so many times only, and the rest n / number
    times for each: the draws of one world follow one another.
    given: {key without piece: shares of one, shape (n,)}: the shared part of these is at that share of its distribution
    in each draw, and not drawn.
    Draws are one set of points mapped by the inverse distributions, so two studies with the same keys share them
    and a picture does not jitter while a slider moves.
    Raises ValueError for n < 1, repeated or unknown keys, an unknown sampler, or correlations that no set of numbers
    can have.
    """
    assumptions = list(assumptions)
    keys = [a.key for a in assumptions]
    if not (n >= 1 and n % 1 == 0):
        raise ValueError(f"the number of draws must be a whole number above 0, not {n}")
    if sampler not in SAMPLERS:
        raise ValueError(f"unknown sampler {sampler!r}; {tables.nearest(sampler, SAMPLERS)}")
    for key in keys:
        if keys.count(key) > 1:
            raise ValueError(f"{key!r} is there twice; keep one of the two")
    free = {a.key: a for a in assumptions if a.shape != "fixed"}
    # fixed ones too: the others then keep their draws
    shared = {a.key: SHARED + a.key.partition("@")[0] for a in assumptions if 0 < a.each < 1 and "@" in a.key}
    names = sorted(keys) + sorted({*shared.values()})
    columns = {name: i for i, name in enumerate(names)}
    few = n <= FEW and not worlds and not given
    cube = (_kept_points if few else points)(len(names), int(n) if not worlds else int(n) // worlds[0], seed, sampler)
    if worlds:
        cube = _in_worlds(cube, columns, free, *worlds, seed, sampler)
    if given:
        cube = np.array(cube)
        for key, share in given.items():
            cube[columns[SHARED + key]] = np.clip(share, 1e-12, 1 - 1e-12)
    common = {key: columns[name] for key, name in shared.items()}
    if few:
        values = {key: _kept(a, columns[key], common.get(key), len(names), int(n), seed, sampler)
                  for key, a in free.items()}
    else:
        from scipy import special
        scores = functools.cache(lambda column: special.ndtri(cube[column]))

        def make(key):
            return _drawn(free[key], cube, columns[key], scores(common[key]) if key in common else None)

        values = {key: functools.partial(make, key) for key in free}
    if correlations:
        values |= _correlated(correlations, free, cube, columns)
    if not few:
        return Drawn({a.key: values.get(a.key, a.value) for a in assumptions}, {a.key: a.unit for a in assumptions},
                     cube.shape[1] if free else 1)
    for drawn in values.values():   # they are shared: nobody may write into them
        drawn.flags.writeable = False
    return {a.key: Q(a.value if a.shape == "fixed" else values[a.key], a.unit) for a in assumptions}


class Drawn(Mapping):
    """Draws by key, each made when it is first asked for: of a large set most are not, and to make them took longer
    than to judge."""

    def __init__(self, values, units, n, made=()):
        """values: {key: the draws, or a function that makes them}. units: {key: of the draws}. n: their number."""
        self._values, self._units, self.n, self._made = values, units, n, dict(made)

    def __getitem__(self, key):
        if key not in self._made:
            value = self._values[key]
            value = value() if callable(value) else value
            if np.ndim(value):
                value.flags.writeable = False   # they are shared: nobody may write into them
            self._made[key] = Q(value, self._units[key])
        return self._made[key]

    def __contains__(self, key):   # without making them
        return key in self._values

    def __iter__(self):
        return iter(self._values)

    def __len__(self):
        return len(self._values)

    def __or__(self, other):
        """These, and others in place of those of the same key."""
        return Drawn(self._values | dict.fromkeys(other), self._units, self.n, self._made | dict(other))


SHARED = "~"   # before the name of the column that holds the part of a score which all pieces share


def _in_worlds(cube, columns, free, number, outer, seed, sampler):
    """Points of an inner set for each of so many worlds, the shared part of the outer keys held within a world."""
    inner, named = cube.shape[1], {key.partition("@")[0]: a for key, a in free.items()}
    cube = np.tile(cube, number)
    held = sorted(key for key in outer if key in named and named[key].each < 1)
    if held:
        worlds = points(len(held), number, seed + 1, sampler)
        for row, key in enumerate(held):
            name = key if key in columns else SHARED + key
            cube[columns[name]] = np.repeat(worlds[row], inner)
    return cube


def _correlated(correlations, free, cube, columns):
    from scipy import special
    named = sorted({k for pair in correlations for k in pair})
    for key in named:
        if key not in free:
            raise ValueError(f"a correlation names {key!r}, which is not drawn; {tables.nearest(key, free)}")
    matrix = np.eye(len(named))
    for (a, b), r in correlations.items():
        if a == b or not -1 < r < 1:
            raise ValueError(f"correlation of {a!r} with {b!r} is {r}: it must lie between -1 and 1 and join two keys")
        if matrix[named.index(a), named.index(b)]:
            raise ValueError(f"the correlation of {a!r} with {b!r} stands twice; keep one of the two")
        matrix[named.index(a), named.index(b)] = matrix[named.index(b), named.index(a)] = r
    try:
        mix = np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        raise ValueError(f"the correlations of {', '.join(named)} contradict each other: no set of numbers can have "
                         "them all") from None
    scores = mix @ special.ndtri(cube[[columns[k] for k in named]])
    return {key: free[key].quantile(special.ndtr(score)) for key, score in zip(named, scores)}
