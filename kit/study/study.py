"""A study: part, workshop, route and assumptions in one folder; its variants, and what they are asked.

    study = kit.study.load("data/harbour-dial")
    verdict = study.assess()
    verdict.words, verdict.table
"""
import os
import re
import warnings
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from kit.base import evidence, tables
from kit.operations import routes
from kit.study import studyfile
from kit.study.criteria import CRITERIA, Case
from kit.study.studyfile import PART, TUBE, USE, WORKSHOP, StudyError, Written, value_of
from kit.base.units import OutOfRange, Q, magnitude, number, show, watched
from kit.study.use import OF_A_TUBE, OF_THE_WHOLE, Whole
from kit.study.verdict import Line, Verdict, counted, first_of_each_kind

CHUNK = 2**17    # draws held in memory at once


# Where the assumptions of a study come from: prefix of their keys, reference table, and the choice that names the row
# (a key of [workshop] or [part]) or the row itself. A row of the same key in the study's assumptions.csv stands instead.
TAKES = (("alloy", "alloys", "alloy"), ("arbor_metal", "alloys", "arbor_metal"), ("tool", "tool_metals", "tool_metal"),
         ("edge", "edges", "edge"), ("drive", "drives", "drive"), ("cord", "friction", "cord"), ("drift", "drift", "drilling"),
         ("push", "hands", "push"), ("guide", "friction", "=steel on bronze, oiled"), ("grain", "friction", "=loose grain"),
         ("file", "friction", "=file on bronze"), ("hand", "hands", "=hand"), ("wrench", "hands", "=two-handed wrench"),
         ("centre", "workshop", "=centres"), ("jaws", "workshop", "=jaws"), ("arbor", "workshop", "=arbor"),
         ("turned", "workshop", "=turned"), ("reamed", "workshop", "=reamed"), ("blank", "workshop", "=hammered or cast blank"),
         ("pointer", "workshop", "=pointer"), ("margins", "workshop", "=margins"))

# what the finished part rests on besides, where the study has a table [use]; {state} is "dry" or "oiled"
USE_TAKES = (("rub", "friction", "=bronze on bronze, {state}"), ("rub_arbor", "friction", "=bronze on iron, {state}"), ("rest", "workshop", "=after a rest"),
             ("teeth", "workshop", "=teeth cut by hand"), ("spent", "workshop", "=spent grain"), ("lapped", "workshop", "=lapped"),
             ("washed", "workshop", "=washed"), ("filed", "workshop", "=filed"), ("setup", "workshop", "=setting up"))
EVERY = CRITERIA | OF_A_TUBE | OF_THE_WHOLE


@dataclass(frozen=True)
class Tube:
    """One tube of the part. clearance: wanted, diametral, between its bore and what runs in it. route: name of its route.
    core: diameter of the hole as cast, none where it is drilled from solid. plunger: length of the plunger that runs in it,
    None where it is a sleeve. position: of a sleeve in the nest, 0 the innermost; None outside it."""
    name: str
    bore: Q
    wall: Q
    length: Q
    clearance: Q
    route: str
    core: Q = Q(0.0, "mm")
    plunger: Q | None = None
    position: int | None = None

    @property
    def outside(self):
        return self.bore + 2 * self.wall


@dataclass(frozen=True)
class Workshop:
    """Choices of the maker; each is a key of [workshop] in study.toml, explained in the demo study."""
    drive: str
    pulley: Q
    wrap: Q
    cord: str
    edge: str
    tool_metal: str
    drilling: str
    push: str
    arbor_metal: str
    blank_stock: Q
    start_length: Q
    jaws: int
    order: str
    left_on: Q


KNOWN_BY = ("name", "route", "position", "operation", "tool", "abrasive", "before", "diameter")   # what names a thing is no choice


class Noting:
    """Stands for a tube, a step, the workshop or the use, and notes which choices are asked for."""

    def __init__(self, thing, asked, prefix=""):
        self._thing, self._asked, self._prefix = thing, asked, prefix

    def _noted(self, name, value):
        if name not in KNOWN_BY and value is not None:
            self._asked[self._prefix + name] = value
        return value

    def __getattr__(self, name):
        return self._noted(name, getattr(self._thing, name))

    def __getitem__(self, name):
        return self._noted(name, self._thing[name])


@dataclass(frozen=True)
class Study(Written):
    """A study as loaded; `with_` makes a variant, `assess` judges it."""
    fixed: dict = field(default_factory=dict)   # assumptions pinned by with_: {key: Quantity}
    kept: tuple = ()                 # names of the tubes looked at; all where empty
    conditioned: dict | None = None  # joint draws of what a bench log has updated: {key: plain numbers}
    conditioned_on: dict | None = None   # of how many measurements, with which effective sample

    @property
    def is_demo(self):
        """Whether it is the invented demo, of which the notebooks assert what they say."""
        return self.folder.resolve() == DEMO.resolve()

    @cached_property
    def workshop(self):
        return Workshop(**self.choices)

    @cached_property
    def tubes(self):
        """The sleeves from the inside out, then the barrels. Each sleeve's bore is the last outside plus its clearance."""
        sleeves, bore = [], self.part.get("bore")
        common = {k: self.part[k] for k in ("wall", "length", "clearance") if k in self.part}
        for entry in self.part.get("sleeves", ()):
            tube = Tube(**({"route": "sleeve"} | common | entry | {"bore": bore, "position": len(sleeves)}))
            sleeves.append(tube)
            bore = tube.outside + tube.clearance
        every = sleeves + [Tube(**({"route": "barrel"} | common | entry)) for entry in self.part.get("barrels", ())]
        return tuple(t for t in every if not self.kept or t.name in self.kept)

    def steps(self, tube):
        """The route of one tube as single steps."""
        blank = tube.outside + self.workshop.blank_stock
        try:
            return routes.expand(self.routes[tube.route], tube.bore, tube.outside, blank, tube.core)
        except (TypeError, ValueError) as error:   # a wrong dimension is a TypeError
            step = re.match(r"step (\d+) ", str(error))
            place = studyfile.place(self.folder, "to", f"routes.{tube.route}, step {step[1]}") if step else self.folder / "study.toml"
            raise StudyError(f"{place}, route {tube.route!r} for {tube.name!r}: {error}") from None

    @cached_property
    def assumptions(self):
        """All that the study rests on: {key: Assumption}; those drawn for each tube stand once for every tube, as 'key@tube'."""
        rows = self.reference_rows | {key: self._own_row(key) for key in self.rows}
        for key, value in self.fixed.items():
            plain = Q(value_of(value, rows[key].unit, key), rows[key].unit).m
            rows[key] = replace(rows[key], shape="fixed", value=plain, low=None, high=None)
        for key in self.conditioned_on["learnt"] if self.conditioned else ():
            rows[key] = replace(rows[key], grade="own-trial", source="own-trial")
        spread = {}
        for key, row in rows.items():
            if row.drawn == "each":   # a pinned one too: to pin one moves no other draw
                spread |= {f"{key}@{t.name}": replace(row, key=f"{key}@{t.name}") for t in self.tubes}
            else:
                spread[key] = row
        return spread

    @property
    def takes(self):
        """The reference rows that the choices ask for: (table, thing in it, prefix of the keys, the choice)."""
        state = "dry" if self.use and self.use.get("lubricant") == "dry" else "oiled"
        for prefix, table, choice in TAKES + (USE_TAKES if self.use else ()):
            of = choice[1:].format(state=state) if choice.startswith("=") else (self.part | self.choices).get(choice)
            if of is not None:   # a faulty folder may lack it
                yield table, of, prefix, choice
        if state == "oiled" and self.use and "lubricant" in self.use:
            yield "lubricants", self.use["lubricant"], "oil", "lubricant"
        for name in sorted({e["abrasive"] for r in self.routes.values() for e in r if "abrasive" in e}):
            yield "abrasives", name, f"abrasive.{name}", "abrasive"

    def _reference(self, table, of, prefix, choice):
        try:
            return evidence.reference(table, of, prefix)
        except tables.TableError as error:
            place = studyfile.place(self.folder, choice.lstrip("="), "part" if choice == "alloy" else "use" if choice == "lubricant" else "workshop")
            if choice == "lubricant":   # "dry" is none, and has no rows
                known = [*dict.fromkeys(row["of"] for row in tables.load(table)), "dry"]
                raise StudyError(f"{place}, [use]: there is no lubricant {of!r}; {tables.nearest(of, known)}") from None
            raise StudyError(f"{place}, {choice.lstrip('=')}: {error}") from None

    @cached_property
    def reference_rows(self):
        """What the reference tables say of all that the study rests on: {key: Assumption}."""
        rows = dict(routes.model_factors())
        for take in self.takes:
            rows |= self._reference(*take)
        return rows

    def _own_row(self, key):
        """The study's own row, where there is one to stand instead of, in a unit that fits."""
        known, row = self.reference_rows, self.rows[key]
        if key not in known:
            raise StudyError(f"{self._row_place(key)}: {key!r} is no assumption of this study; {tables.nearest(key, known)}")
        try:
            magnitude(Q(1, row.unit), known[key].unit, key)
        except TypeError as error:
            raise StudyError(f"{self._row_place(key)}: {error}") from None
        return replace(row, drawn=known[key].drawn) if key in self.drawn_as_reference else row

    def _row_place(self, key):
        path = self.folder / "assumptions.csv"
        written = {row["key"]: row["line"] for row in studyfile.written_rows(self.folder)} if path.exists() else {}
        return f"{path}, line {written[key]}" if key in written else str(path)

    def _words(self):
        """Whether the reference tables know what the choices name: functions that raise where they do not."""
        return [lambda take=take: self._reference(*take) for take in self.takes]

    def _own(self):
        """Whether the study's own rows stand for something, in a unit that fits: functions that raise where they do not."""
        return [lambda key=key: self._own_row(key) for key in self.rows]

    def _checks(self):
        """What the parts of a study ask of each other, in stages: each a list of functions that raise where something is wrong."""
        yield [lambda: _check_part(self)]
        yield self._words()
        yield self._own() + [lambda tube=tube: self.steps(tube) for tube in self.tubes]
        yield [self._check_correlations]

    def _check_correlations(self):
        if self.correlations:
            try:
                self.draws(1, seed=1)
            except ValueError as error:
                raise StudyError(f"{self.folder / 'study.toml'}, [correlations]: {error}") from None

    @property
    def dimensions(self):
        """DataFrame of what is to be made: bore, wall, outside, length, clearance of every tube, in mm and um."""
        import pandas as pd
        return pd.DataFrame([{"tube": t.name, "bore_mm": t.bore.m_as("mm"), "wall_mm": t.wall.m_as("mm"), "outside_mm": t.outside.m_as("mm"),
                              "length_mm": t.length.m_as("mm"), "clearance_um": t.clearance.m_as("um")} for t in self.tubes]).set_index("tube")

    @property
    def register(self):
        """DataFrame of every assumption: median, 5 % and 95 % points, unit, shape, grade, source, how often it is drawn, note."""
        import pandas as pd
        rows = {}
        for key, a in self.assumptions.items():
            low, mid, high, shape = *a.quantile([0.05, 0.5, 0.95]), a.shape
            if key in (self.conditioned or ()) and key not in self.fixed:
                low, mid, high, shape = *np.quantile(self.conditioned[key], [0.05, 0.5, 0.95]), "draws updated by a log"
            rows[key.partition("@")[0]] = {"median": mid, "low_5": low, "high_95": high, "unit": a.unit, "shape": shape, "grade": a.grade,
                                           "source": a.source, "drawn": a.drawn, "note": a.note}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("key")

    def draws(self, n, seed):
        """Joint draws of all assumptions: {key: Quantity}."""
        # what is pinned goes with nothing any more
        held = {pair: r for pair, r in self.correlations.items() if not {k.partition("@")[0] for k in pair} & set(self.fixed)}
        values = evidence.draw(self.assumptions.values(), n, seed, held)
        if self.conditioned:   # rows are taken whole, so what the log has tied together stays together
            rows = np.random.default_rng(seed).integers(self.conditioned_on["particles"], size=int(n))
            values |= {k: Q(v[rows], self.assumptions[k].unit) for k, v in self.conditioned.items() if k.partition("@")[0] not in self.fixed}
        return values

    def with_(self, **changes):
        """A variant: a part key ('wall', 'bore', 'length', 'clearance', 'alloy', or one tube's, 'hours.wall'), a choice of
        the workshop ('pulley', 'order', ...), or an assumption by its key, pinned to one value.

        Keys with a dot are passed as `**{"alloy.kc11": "1200 MPa"}`. A changed 'wall' is the wall of all sleeves; the
        first bore is held, and outsides and later bores follow.
        Raises StudyError for a key that the study does not have (with the nearest), one that would change no tube, or a
        value that makes no sense.
        """
        part, choices, fixed, use = dict(self.part), dict(self.choices), dict(self.fixed), dict(self.use or {})
        tubes = {t.name: t for t in self.tubes}
        sleeves = [e["name"] for e in part.get("sleeves", ()) if e["name"] in tubes]
        for key, value in changes.items():
            name, _, which = key.partition(".")
            if key in PART and not isinstance(PART[key], type) or key == "alloy":
                part[key] = value_of(value, PART[key], key)
                if key in TUBE and not sleeves and (key == "bore" or all(key in e for e in part.get("barrels", ()))):
                    raise StudyError(f"{key!r} changes no tube here, for each has its own; name the tube, as in '{next(iter(tubes))}.{key}'")
                if key in ("wall", "length", "clearance"):
                    part["sleeves"] = [{k: v for k, v in e.items() if k != key} for e in part.get("sleeves", ())]
            elif key in WORKSHOP:
                choices[key] = value_of(value, WORKSHOP[key], key)
            elif self.use and key in USE:
                use[key] = value_of(value, USE[key], key)
            elif name in sleeves and which == "bore":
                raise StudyError(f"{key!r} is not free: later bores are the last outside plus the clearance; change the first one, 'bore'")
            elif name in tubes and which in TUBE:
                for kind in ("sleeves", "barrels"):
                    part[kind] = [e | {which: value_of(value, TUBE[which], key)} if e["name"] == name else e for e in part.get(kind, ())]
            elif key in self._keys:
                fixed[key] = value
            else:
                known = [*(k for k in PART if k not in ("sleeves", "barrels")), *WORKSHOP, *use, *(f"{t}.wall" for t in tubes), *self._keys]
                raise StudyError(f"{key!r} is neither a part key, a choice of the workshop nor an assumption; {tables.nearest(key, known)}")
        changed = replace(self, part=part, choices=choices, fixed=fixed, use=use or None)
        if self.conditioned:   # what a log taught of one alloy or one lathe says nothing of another
            gone = tuple(f"{prefix}." for prefix, _, choice in TAKES if choice in changes and (part | choices)[choice] != (self.part | self.choices)[choice])
            kept = {k: v for k, v in self.conditioned.items() if not k.startswith(gone)}
            changed = replace(changed, conditioned=kept, conditioned_on=self.conditioned_on | {
                "learnt": tuple(k for k in self.conditioned_on["learnt"] if k in kept)})
        _check_part(changed)
        changed.assumptions   # a value that does not fit its unit is told here, not in the middle of a sweep
        return changed

    @cached_property
    def _keys(self):
        return {key.partition("@")[0] for key in self.assumptions}

    def only(self, *names):
        """The study with these tubes alone; the bores still follow from the whole nest."""
        known = {t.name: t for t in self.tubes}
        for name in names:
            if name not in known:
                raise StudyError(f"there is no tube {name!r}; {tables.nearest(name, known)}")
        return replace(self, kept=names)

    def assess(self, draws=2**14, seed=1, criteria=None, progress=None):
        """The verdict: every criterion of every tube, on one shared set of draws.

        draws: their number. seed: whole number. criteria: names (of EVERY) to look at; all where None.
        progress: called with (done, total) after each chunk of a long run. More than CHUNK draws are taken in chunks, each
        an independent scrambled set: chances are then exact counts over all of them, while margins, quantiles and
        influences are those of the first chunk (Verdict.sample says how many). A long run that is interrupted gives the
        verdict on the chunks that are done.
        """
        if draws <= CHUNK:
            return self._assess(draws, seed, criteria)
        first, done = self._assess(CHUNK, seed, criteria), CHUNK
        counts = Counter(first.counts)
        try:
            while done < draws:
                if progress:
                    progress(done, draws)
                size = min(CHUNK, draws - done)
                counts.update(self._assess(size, seed + done, criteria).counts)   # a seed of its own for each chunk
                done += size
            if progress:
                progress(done, draws)
        except KeyboardInterrupt:
            warnings.warn(f"stopped by hand after {done} of {draws} draws; the verdict is on those", stacklevel=2)
        return replace(first, counts=dict(counts), n=int(done))

    def _assess(self, draws, seed, criteria):
        values, told = self.draws(draws, seed), []
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", OutOfRange)
            lines, wanted = self._lines(values, int(draws), criteria)   # 1e4 is whole, and allowed
        for warning in caught:
            if issubclass(warning.category, OutOfRange):
                told.append(str(warning.message))
            else:   # somebody else's warning is not ours to swallow
                warnings.warn_explicit(warning.message, warning.category, warning.filename, warning.lineno)
        return Verdict(self, tuple(lines), int(draws), seed, values, counted(lines), first_of_each_kind(told),
                       None if criteria is None else tuple(wanted))

    def look_into(self, criterion, place, values):
        """One criterion of one tube, or of the whole part, on given draws {key: Quantity}: (its Outcome, the keys of the assumptions
        it asked for, the estimates it called, the choices it asked for)."""
        asked, of_whole = {}, criterion in OF_THE_WHOLE
        use = self.use and Noting(self.use, asked)
        cases = []
        for tube in self.tubes:   # of the whole part the sizes of each tube are told, not every step's
            if of_whole:
                cases.append(Case(Noting(tube, asked, f"{tube.name}: "), self.steps(tube), Noting(self.workshop, asked), values, use))
            elif tube.name == place:
                steps = [Noting(step, asked, f"{step.name}: ") for step in self.steps(tube)]
                cases.append(Case(Noting(tube, asked), steps, Noting(self.workshop, asked), values, use))
        about = Whole(cases, use, values) if of_whole else cases[0]
        about.used = set()
        with warnings.catch_warnings(), watched() as called:
            warnings.simplefilter("ignore", OutOfRange)   # a verdict has told them
            outcome = EVERY[criterion](about)
        return outcome, about.used, list(called), asked

    def _lines(self, values, n, criteria):
        """Every criterion of every tube, and of the whole part, on given draws."""
        wanted, lines = list(EVERY) if criteria is None else list(criteria), []
        for name in wanted:
            if name not in EVERY:
                raise StudyError(f"there is no criterion {name!r}; {tables.nearest(name, EVERY)}")

        def ask(function, about, place):
            about.used = set()
            try:
                outcome = function(about)
            except (TypeError, ValueError) as error:   # the estimate says what is wrong; here is where
                raise StudyError(f"'{name}' of {place!r}: {error}") from error
            if outcome is not None:
                lines.append(Line.of(place, name, outcome, n, frozenset(about.used)))

        asked = CRITERIA | OF_A_TUBE if self.use else CRITERIA
        cases = [Case(tube, self.steps(tube), self.workshop, values, self.use) for tube in self.tubes]
        for case in cases:
            for name in wanted:
                if name in asked:
                    ask(asked[name], case, case.tube.name)
        whole = Whole(cases, self.use, values)
        for name in wanted:
            if self.use and name in OF_THE_WHOLE:
                ask(OF_THE_WHOLE[name], whole, whole.name)
        if not lines:
            raise StudyError(f"{self.folder / 'study.toml'}: no tube has a step that these criteria look at")
        return lines, wanted

    def sweep(self, key, values, draws=2**13, seed=1, criteria=None, progress=None):
        """Chance of each criterion and of all, over values of one key (see `with_`), on the same draws.

        Returns a DataFrame indexed by the value (in the unit of the first), a column a criterion: the chance that every
        tube meets it; `all`: that all are met in one draw; `limiting`: the criterion of least chance; `margin`,
        `margin_5`, `margin_95`: the least margin of each draw, median and ends. `.attrs` holds the provenance.
        progress: called with (done, total). Interrupted, it returns the values that are done.
        """
        import pandas as pd
        if not len(values):
            raise StudyError(f"{key}: no values to sweep; give at least one")
        unit = _unit_of(values[0])

        def judge(value):
            verdict = self.with_(**{key: value}).assess(draws, seed, criteria)
            low, mid, high = np.quantile(verdict.least_margin, (0.05, 0.5, 0.95))
            return value if unit is None else magnitude(value, f"{unit}", key), verdict.chances | {
                "all": verdict.chance, "limiting": verdict.limiting, "margin": mid, "margin_5": low, "margin_95": high}

        table = pd.DataFrame.from_dict(dict(_each(judge, values, progress)), orient="index")
        table.index.name = key if unit is None or not f"{unit:~P}" else f"{key} / {unit:~P}"
        table.attrs = self.provenance(draws, seed) | {"key": key}
        return table

    def sweep_over(self, key, values, points=9, draws=2**12, seed=1, criteria=None, progress=None):
        """The claim with a size that is itself uncertain, as that of a corroded find before it corroded.

        key: a part key (see `with_`). values: Quantity, draws of what it may have been. points: equally likely values that
        stand for them. Returns the DataFrame of `sweep` at those values; `.attrs["chance"]` is the chance over all of them.
        """
        middles = np.quantile(values.magnitude, (np.arange(points) + 0.5) / points)
        table = self.sweep(key, [Q(v, values.units) for v in middles], draws, seed, criteria, progress)
        table.attrs["chance"] = float(table["all"].mean())
        return table

    def map(self, x_key, xs, y_key, ys, draws=2**12, seed=1, criteria=None, progress=None):
        """Chance that all is met over two keys at once, on the same draws.

        Returns a DataFrame, a row a pair: the two values (in the unit of the first of each), `all`, `limiting`, `margin`
        (median of the least margin). `.attrs` holds the provenance. progress, interruption: as `sweep`.
        """
        import pandas as pd
        units_ = {k: _unit_of(v[0]) for k, v in ((x_key, xs), (y_key, ys))}
        names = {k: k if u is None or not f"{u:~P}" else f"{k} / {u:~P}" for k, u in units_.items()}

        def judge(pair):
            pair = dict(zip((x_key, y_key), pair))
            verdict = self.with_(**pair).assess(draws, seed, criteria)
            at = {names[k]: v if units_[k] is None else magnitude(v, f"{units_[k]}", k) for k, v in pair.items()}
            return at | {"all": verdict.chance, "limiting": verdict.limiting, "margin": float(np.median(verdict.least_margin))}

        table = pd.DataFrame(_each(judge, [(x, y) for y in ys for x in xs], progress))
        table.attrs = self.provenance(draws, seed) | {"x": names[x_key], "y": names[y_key]}
        return table

    def threshold(self, key, chance=0.9, low=None, high=None, draws=2**12, seed=1, criteria=None, points=25):
        """Value of a key at which the chance that all is met passes `chance`.

        key: a part key, a choice with a unit or an assumption (see `with_`). chance: wanted, between 0 and 1. low, high:
        where to look; a tenth of to three times the present value where None. points: of the first, even search; two
        crossings closer than that may be missed.
        Returns a Quantity: one number, or an array where the chance passes there more than once.
        Raises StudyError where it does not pass at all, saying between which chances it stays.
        """
        from scipy import optimize
        if not 0 < chance < 1:
            raise StudyError(f"chance: {chance} must lie between 0 and 1")
        low, high, unit = self._search_range(key, low, high)
        grid = np.linspace(low, high, points)

        def above(value):
            return self.with_(**{key: Q(value, unit)}).assess(draws, seed, criteria).chance - chance

        found = np.array([above(v) for v in grid])
        crossings = [optimize.brentq(above, a, b, xtol=(high - low) * 1e-4) for a, b, fa, fb in zip(grid, grid[1:], found, found[1:]) if (fa < 0) != (fb < 0)]
        if not crossings:
            raise StudyError(f"{key}: the chance does not pass {chance:g} between {number(low)} and {number(high)} {unit:~P}; it stays between "
                             f"{found.min() + chance:.2f} and {found.max() + chance:.2f}")
        return Q(crossings[0] if len(crossings) == 1 else np.array(crossings), unit)

    def thresholds(self, key, chances=(0.9, 0.66, 0.5), low=None, high=None, draws=2**12, seeds=range(1, 9), criteria=None, points=17):
        """The values at which the chance passes each of `chances`, with their own uncertainty from the draws.

        Each seed is an independent scrambled set of draws. Returns a DataFrame indexed by chance: value, standard_error,
        unit, crossings (in how many of the seeds it passes at all; the least such value counts). On a grid of `points`,
        straight between them.
        """
        import pandas as pd
        low, high, unit = self._search_range(key, low, high)
        grid, found = np.linspace(low, high, points), {c: [] for c in chances}
        for seed in seeds:
            curve = np.array([self.with_(**{key: Q(v, unit)}).assess(draws, seed, criteria).chance for v in grid])
            for c in chances:
                passes = np.flatnonzero((curve[:-1] < c) != (curve[1:] < c))
                if len(passes):
                    i = passes[0]
                    found[c].append(grid[i] + (c - curve[i]) / (curve[i + 1] - curve[i]) * (grid[i + 1] - grid[i]))
        rows = {c: {"value": np.mean(v) if v else np.nan, "standard_error": np.std(v, ddof=1) / np.sqrt(len(v)) if len(v) > 1 else np.nan,
                    "unit": f"{unit:~P}", "crossings": len(v)} for c, v in found.items()}
        table = pd.DataFrame.from_dict(rows, orient="index").rename_axis("chance")
        table.attrs = self.provenance(draws, tuple(seeds)) | {"key": key}
        return table

    def _search_range(self, key, low, high):
        present = (self.part | self.choices | (self.use or {})).get(key)
        tube, _, which = key.partition(".")
        if key in self._keys:
            row = self.assumptions.get(key) or self.assumptions[f"{key}@{self.tubes[0].name}"]
            present = Q(float(row.quantile(0.5)), row.unit)
        elif tube in {t.name for t in self.tubes} and which in TUBE:
            present = getattr(next(t for t in self.tubes if t.name == tube), which)
        if not isinstance(present, Q):
            self.with_(**{key: present})   # an unknown key is told here, with the nearest
            raise StudyError(f"{key!r} is a word, not a size: there is no value at which a chance could pass")
        ends = [end if given is None else magnitude(given, f"{present.units}", key)
                for given, end in ((low, 0.1 * present.m), (high, 3 * present.m))]
        if not ends[0] < ends[1]:
            raise StudyError(f"{key}: low {ends[0]:g} is not below high {ends[1]:g} {present.units:~P}")
        return *ends, present.units

    def sensitivity(self, method="tornado", criterion=None, n=2**9, seed=1):
        """Which assumption carries the verdict: the log of the least margin, or of one criterion's, taken apart.

        method: "tornado" (each assumption alone from its 5 % to its 95 % point), "morris" (elementary effects, n
        trajectories) or "sobol" (shares of variance, n a power of two). criterion: a name of EVERY; all where None.
        Returns the DataFrame of the function of that name in `uncertainty`, for log10 of the margin (held within a hundredth
        and a hundred, beyond which it is a plain no or yes), with grade and source
        of each assumption beside. What is drawn for each tube stands a tube a row ('key@tube').
        morris (at most 64 trajectories) and sobol take the assumptions as independent, correlations of the study left out.
        Raises StudyError for a study that a bench log has updated: its draws hang together, and no range of one alone stands for them.
        """
        from kit.estimates import uncertainty
        if self.conditioned:
            raise StudyError("this study has been updated by a log, so its assumptions no longer vary one by one; take the study as it was loaded, "
                             "or read `carried_by` and `share` in the table of this one's verdict")
        n = min(n, 64) if method == "morris" else n
        known = {"tornado": lambda m, a: uncertainty.tornado(m, a), "morris": lambda m, a: uncertainty.morris(m, a, n, seed),
                 "sobol": lambda m, a: uncertainty.sobol(m, a, n, seed)}
        if method not in known:
            raise StudyError(f"no method {method!r}; {tables.nearest(method, known)}")
        criteria = None if criterion is None else (criterion,)
        used = frozenset().union(*(line.used for line in self.assess(2**10, seed, criteria).lines))
        rows = [row for key, row in self.assumptions.items() if key in used]
        middles = {key: row.middle for key, row in self.assumptions.items()}

        def model(values):
            size = max(np.size(q.magnitude) for q in values.values())
            with warnings.catch_warnings():   # a verdict has told them; the corners that this looks at are of no use by themselves
                warnings.simplefilter("ignore", OutOfRange)
                lines, _ = self._lines(middles | values, size, criteria)
            return Q(np.log10(np.clip(np.min([line.margin for line in lines], axis=0), 1e-2, 1e2)), "")

        table = known[method](model, rows)
        table["grade"] = [self.assumptions[k].grade for k in table.index]
        table["source"] = [self.assumptions[k].source for k in table.index]
        table.attrs = self.provenance(n, seed) | {"method": method, "criterion": criterion or "all"}
        return table

    def provenance(self, n, seed):
        """What it takes to do it again: n, seed, versions, and a digest of all inputs."""
        import hashlib
        import json
        import platform

        import scipy

        from kit import __version__
        said = json.dumps({"title": self.title, "claim": self.claim, "part": self.part, "workshop": self.choices, "tools": self.tools, "routes": self.routes,
                           "use": self.use, "assumptions": [self.assumptions[k] for k in sorted(self.assumptions)], "kept": self.kept,
                           "correlations": [[*pair, r] for pair, r in sorted(self.correlations.items())], "log": self.conditioned_on,
                           "learnt": [[key, hashlib.sha256(held.tobytes()).hexdigest()] for key, held in sorted((self.conditioned or {}).items())]},
                          sort_keys=True, default=_plain)
        return {"n": n, "seed": seed, "inputs": hashlib.sha256(said.encode()).hexdigest()[:16],
                "versions": {"kit": __version__, "python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__}}


def _each(judge, values, progress):
    """What `judge` finds for each value, telling how far it is; a keyboard interrupt (the notebook's stop button) ends it in order."""
    found = []
    try:
        for value in values:
            if progress:
                progress(len(found), len(values))
            found.append(judge(value))
        if progress:
            progress(len(values), len(values))
    except KeyboardInterrupt:
        warnings.warn(f"stopped by hand after {len(found)} of {len(values)} values; those are returned", stacklevel=3)
    return found


def _plain(value):
    """Text or a list of what JSON has no word for, the same whatever version of a library prints it."""
    if isinstance(value, Q):
        return f"{value.m!r} {value.units:C}" if isinstance(value.m, (int, float)) else f"{float(value.m)!r} {value.units:C}"
    return vars(value) if hasattr(value, "__dataclass_fields__") else str(value)


def _unit_of(value):
    """Unit of a Quantity, a number or a text like '0.3 mm'; None for a word."""
    if not isinstance(value, str):
        return Q(value).units
    try:
        return routes.read(value).units
    except ValueError:
        return None


# --- reading a folder -----------------------------------------------------------------------------------------------

DEMO = tables.DATA / "harbour-dial"   # invented


def load(folder=None, needs=()):
    """Study from a folder: study.toml, and where it is there assumptions.csv with the sources.bib that it cites.

    folder: the study's; where None, the one that the environment variable KIT_STUDY names, else the invented demo.
    needs: words of HAS, what whoever asks is about; where the study lacks one, a warning says so and the demo stands in its place.
    Raises StudyError or tables.TableError, each with file, line or table, and the remedy. See `faults` for all at once.
    """
    study = Study(**vars(studyfile.read(folder or os.environ.get("KIT_STUDY") or DEMO)))
    for stage in study._checks():
        for check in stage:
            check()
    lacking = [what for what in needs if not HAS[what](study)]
    if lacking and not study.is_demo:
        warnings.warn(f"this is about {' and '.join(lacking)}, which {study.title!r} does not have: what follows shows the invented demo instead", stacklevel=2)
        return load(DEMO)
    return study


def _logged(study):
    """Whether a trial is on record: a line below the header."""
    path = study.folder / "bench_log.csv"
    return path.exists() and len(path.read_text(encoding="utf-8-sig", errors="replace").split()) > 1


HAS = {"sleeves": lambda study: any(t.position is not None for t in study.tubes),
       "nested sleeves": lambda study: sum(t.position is not None for t in study.tubes) > 1, "a plunger": lambda study: any(t.plunger for t in study.tubes),
       "the use of the part": lambda study: study.use is not None, "lapping": lambda study: any(s.operation == "lap" for s in study.steps(study.tubes[0])),
       "a bench log": _logged}


def faults(folder):
    """Everything that keeps a study folder from loading, as a list of lines: file, place, what is wrong, how to mend it.

    Later checks wait until earlier ones are clean: what is not readable cannot be judged.
    """
    found = []
    written = studyfile.read(folder, found)
    if written is not None:
        read = Study(**vars(written))
        stages = [read._words(), read._own()] if found else read._checks()   # what stands, where something is missing
        for stage in stages:
            before = len(found)
            for check in stage:
                try:
                    check()
                except (StudyError, tables.TableError) as error:
                    found.append(str(error))
            if len(found) > before:
                break
    return list(dict.fromkeys(found))


def _refuse(words):
    raise StudyError(words)


def _check_part(study):
    if study.use:
        studyfile.check_use(study.use, study.use, study.part, lambda key: f"{study.folder / 'study.toml'}, [use]", _refuse)
    names = [t.name for t in study.tubes]
    if not names:
        raise StudyError(f"{study.folder / 'study.toml'}, [part]: no sleeves and no barrels; there is nothing to make")
    for name in names:
        if names.count(name) > 1:
            raise StudyError(f"{study.folder / 'study.toml'}, [part]: two tubes are called {name!r}; give each its own name")
    for t in study.tubes:
        if t.route not in study.routes:
            raise StudyError(f"{study.folder / 'study.toml'}: tube {t.name!r} takes the route {t.route!r}, which is not there; "
                             f"{tables.nearest(t.route, study.routes)}")
        if t.plunger is not None and t.position is not None:
            raise StudyError(f"{study.folder / 'study.toml'}: sleeve {t.name!r} has a plunger; what a plunger runs in is a barrel, under [[part.barrels]]")
        if t.plunger is not None and t.plunger > t.length:
            raise StudyError(f"{study.folder / 'study.toml'}, {t.name!r}: a plunger of {show(t.plunger)} is longer than its bore of {show(t.length)}; shorten the one or lengthen the other")
        if t.clearance >= 2 * t.wall:
            raise StudyError(f"{study.folder / 'study.toml'}, {t.name!r}: a clearance of {show(t.clearance)} leaves no wall of {show(t.wall)}; "
                             "give less clearance, or a thicker wall")
