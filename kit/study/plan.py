"""A plan: part, workshop, route and assumptions of a study, their joint draws, and its variants."""
import re
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from kit.base import evidence, references, tables, words
from kit.base.units import Q, magnitude
from kit.operations import chain, means
from kit.operations.part import Length, Tube, Workshop
from kit.study import partchecks, studyfile, takes, taught, tomlreading
from kit.study.studyfile import MAY, PART, TUBE, USE, USE_MAY, WORKSHOP, StudyError, Written, value_of

# lathe, person, metal and use are one for all tubes, whatever else they share
ONE_IN_BOTH = ("alloy.", "arbor_metal.", "tool.", "edge_metal.", "chip.", "drive.", "cord.", "push.", "hand.", "pinch.",
               "wrench.", "centre.", "person.", "body.", "arms.", "one_arm.", "kept_up.", "stroke.", "felt.", "guide.",
               "grain.", "file.", "rub.", "rub_arbor.", "rest.", "teeth.", "oil.", "pointer.", "setup.", "spoilt.",
               "told.", "tool_made.", "metal.", "soft.", "worked.")

CHOICES, OF_USE = WORKSHOP | MAY, USE | USE_MAY


@dataclass(frozen=True)
class Plan(Written):
    """What is to be made, how and with what: tubes, steps, assumptions and their draws; `with_` makes a variant."""
    fixed: dict = field(default_factory=dict)   # assumptions pinned by with_: {key: Quantity}
    sharing: str | None = None       # "all" or "nothing": what tubes share, at either extreme (see worlds.py)
    kept: tuple = ()                 # names of the tubes looked at; all where empty
    conditioned: dict | None = None  # joint draws of what a bench log has updated: {key: plain numbers}
    conditioned_shared: dict | None = None   # of what tubes share in part, that part: {key: normal scores}
    conditioned_on: dict | None = None   # of how many measurements, with which effective sample

    @cached_property
    def workshop(self):
        return Workshop(**self.choices)

    @cached_property
    def tubes(self):
        """The sleeves from the inside out, then the barrels. Each sleeve's bore is the last outside plus its
        clearance."""
        sleeves, bore = [], self.part.get("bore")
        common = {k: self.part[k] for k in ("wall", "length", "clearance") if k in self.part}
        for entry in self.part.get("sleeves", ()):
            tube = Tube(**({"route": "sleeve"} | common | _stepped(entry) | {"bore": bore, "position": len(sleeves)}))
            sleeves.append(tube)
            bore = tube.outside + tube.clearance
        every = sleeves + [Tube(**({"route": "barrel"} | common | _stepped(entry)))
                           for entry in self.part.get("barrels", ())]
        runs = {entry["name"]: (kind, route) for entry, kind, route in studyfile.shafts(self.part, self.routes)}
        return tuple(self._with_shaft(t, *runs[t.name]) if t.name in runs else t for t in every
                     if not self.kept or t.name in self.kept)

    def _with_shaft(self, tube, kind, route):
        """The tube with its shaft or plunger as a part of its own: as large as the wanted clearance leaves it, or as it
        is left for the laps of its bore."""
        lapped = not tube.packing and any(step.get("operation") == "lap" for step in self.routes.get(tube.route, ()))
        diameter = tube.bore + self.workshop.left_on if lapped else tube.bore - tube.clearance
        return tube.around(kind, route, self.routes[route], diameter, self.alloy_of(kind, tube.alloy))

    def alloy_of(self, kind, alloy):
        """The alloy of a plunger is that of its barrel; the shaft in the innermost sleeve is of the arbor's metal."""
        return alloy if kind == "plunger" else self.choices.get("arbor_metal")

    @property
    def parts(self):
        """The tubes, each with the shaft that runs in it after it, where that has a route of its own."""
        return tuple(part for tube in self.tubes for part in (tube, tube.shaft) if part is not None)

    def steps(self, tube):
        """The route of one tube as single steps."""
        blank = tube.largest + self.workshop.blank_stock
        try:
            return chain.expand(self.routes[tube.route], tube.bore, tube.outside, blank, tube.core, tube.lengths,
                                tube.length)
        except (TypeError, ValueError) as error:   # a wrong dimension is a TypeError
            step = re.match(r"step (\d+) ", str(error))
            place = self.folder / "study.toml"
            if step:
                place = tomlreading.place(self.folder, "to", f"routes.{tube.route}, step {step[1]}")
            raise StudyError(f"{place}, route {tube.route!r} for {tube.name!r}: {error}") from None

    @cached_property
    def assumptions(self):
        """All that the study rests on: {key: Assumption}; those drawn for each tube appear once for every tube, as
        'key@tube'."""
        rows = self.reference_rows | {key: self._own_row(key) for key in self.rows}
        for key, value in self.fixed.items():
            plain = Q(value_of(value, rows[key].unit, key), rows[key].unit).m
            rows[key] = replace(rows[key], shape="fixed", value=plain, low=None, high=None)
        for key in self.conditioned_on["learnt"] if self.conditioned else ():
            rows[key] = replace(rows[key], grade=evidence.TAUGHT, source="own-trial")
        spread = {}
        for key, row in rows.items():
            if self.sharing and not key.startswith(ONE_IN_BOTH):
                row = replace(row, each=float(self.sharing == "nothing"))
            if row.drawn == "each":   # a pinned one too, so that all other draws stay the same
                spread |= {f"{key}@{t.name}": replace(row, key=f"{key}@{t.name}") for t in self.parts}
            else:
                spread[key] = row
        return spread

    @property
    def takes(self):
        """The reference rows that the choices ask for, of `takes.asked_by`."""
        return takes.asked_by(self)

    def _reference(self, table, of, prefix, choice):
        try:
            return evidence.reference(table, of, prefix)
        except tables.TableError as error:
            place = tomlreading.place(self.folder, choice.lstrip("="), self._table_that_names(of, choice))
            if choice == "lubricant":   # "dry" is none, and has no rows
                known = [*dict.fromkeys(row["of"] for row in tables.load(table)), "dry"]
                raise StudyError(f"{place}, [use]: there is no lubricant {of!r}; {tables.nearest(of, known)}") from None
            raise StudyError(f"{place}, {choice.lstrip('=')}: {error}") from None

    def _table_that_names(self, of, choice):
        """The table of study.toml in which a choice names a thing, as `studyfile.place` knows it."""
        steps = [(f"routes.{route}, step {n}", step) for route, steps in self.routes.items()
                 for n, step in enumerate(steps, 1)]
        tools = [(f"tools.{name}", vars(tool)) for name, tool in self.tools.items() if tool is not None]
        tubes = [(f"part.{kind}, number {n}", entry) for kind in ("sleeves", "barrels")
                 for n, entry in enumerate(self.part.get(kind, ()), 1)]
        for table, entry in steps + tools + tubes:
            if entry.get(choice) == of:
                return table
        return {"alloy": "part", "lubricant": "use"}.get(choice, "workshop")

    @cached_property
    def reference_rows(self):
        """What the reference tables say of all that the study rests on: {key: Assumption}."""
        rows = dict(means.model_factors())
        for take in self.takes:
            rows |= self._reference(*take)
        return rows

    def _own_row(self, key):
        """The study's own row for a key that the reference rows have, in a unit that fits."""
        known, row = self.reference_rows, self.rows[key]
        if key not in known:
            raise StudyError(f"{self.row_place(key)}: {key!r} is no assumption of this study; "
                             f"{tables.nearest(key, known)}")
        try:
            magnitude(Q(1, row.unit), known[key].unit, key)
        except TypeError as error:
            raise StudyError(f"{self.row_place(key)}: {error}") from None
        row = replace(row, label=row.label or known[key].label)
        return replace(row, each=known[key].each) if key in self.drawn_as_reference else row

    def row_place(self, key):
        """File and line of one of the study's own rows."""
        path = self.folder / "assumptions.csv"
        written = {row["key"]: row["line"] for row in studyfile.written_rows(self.folder)} if path.exists() else {}
        return f"{path}, line {written[key]}" if key in written else str(path)

    def words(self):
        """Whether the reference tables know what the choices name: functions that raise where they do not."""
        return [lambda take=take: self._reference(*take) for take in self.takes]

    def own_rows(self):
        """Whether the study's own rows replace reference rows, in a unit that fits: functions that raise where they do
        not."""
        return [lambda key=key: self._own_row(key) for key in self.rows]

    def checks(self):
        """Whether the parts of a study fit together, in stages: each a list of functions that raise where they do
        not."""
        yield [lambda: partchecks.check(self)]
        yield self.words()
        yield self.own_rows() + [lambda part=part: self.steps(part) for part in self.parts]
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
        return pd.DataFrame([{"tube": t.name, "bore_mm": t.bore.m_as("mm"), "wall_mm": t.wall.m_as("mm"),
                              "outside_mm": t.outside.m_as("mm"),
                              "length_mm": t.length.m_as("mm"), "clearance_um": t.clearance.m_as("um")}
                             for t in self.tubes]).set_index("tube")

    @property
    def register(self):
        """DataFrame of every assumption: its label, median, 5 % and 95 % points, unit, shape, grade, source, how often
        it is drawn, note."""
        import pandas as pd
        rows = {}
        for key, a in self.assumptions.items():
            low, mid, high, shape = *a.quantile([0.05, 0.5, 0.95]), a.shape
            if key in (self.conditioned or ()) and key not in self.fixed:
                low, mid, high, shape = *np.quantile(self.conditioned[key], [0.05, 0.5, 0.95]), "draws updated by a log"
            bare = key.partition("@")[0]
            rows[bare] = {"assumption": self.labels[bare], "median": mid, "low_5": low, "high_95": high,
                          "unit": a.unit, "shape": shape, "grade": a.grade, "source": a.source,
                          "drawn": a.drawn, "each": a.each,
                          "note": a.note}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis("key")

    def register_for_reading(self, keys=None):
        """The register in words: each assumption by its label, its median with 5 % to 95 % and the unit, grade and
        source.

        keys: which assumptions, in that order; all where None. A source of sources.bib is told by author and year.
        Raises StudyError for a key that the study does not have, tables.TableError for a source that is nowhere.
        """
        import pandas as pd
        register = self.register
        keys = list(register.index if keys is None else keys)
        for key in keys:
            if key not in register.index:
                raise StudyError(f"{key!r} is no assumption of this study; {tables.nearest(key, self.keys)}")
        rows = register.loc[keys]
        bibs = [path for path in (tables.REFERENCE / "sources.bib", self.folder / "sources.bib") if path.exists()]
        cited = references.citations(rows["source"], *bibs)
        kits = "assumption of the kit's tables"
        return pd.DataFrame({
            "assumption": [self.labels[key] for key in keys],
            "median (5 % to 95 %)": [words.ranged(row.low_5, row.median, row.high_95, row.unit)
                                     for row in rows.itertuples()],
            "grade": rows["grade"].to_list(),
            "source": [kits if source == "assumption" and key not in self.rows else cited[source]
                       for key, source in rows["source"].items()]}).set_index("assumption")

    def draws(self, n, seed, worlds=None, beside=()):
        """Joint draws of all assumptions: {key: Quantity}. worlds: see evidence.draw, and taught.drawn for what a log
        has taught. beside: Assumptions of other plans, drawn along, so that plans share what both rest on."""
        # a pinned assumption, or a row of a single number, is correlated with nothing
        still = set(self.fixed) | {key.partition("@")[0] for key, a in self.assumptions.items() if a.shape == "fixed"}
        held = {pair: r for pair, r in self.correlations.items() if not {k.partition("@")[0] for k in pair} & still}
        values, given = {}, None
        if self.conditioned:   # whole rows are taken, so the correlations from the log are kept
            values, given = taught.drawn(self.conditioned, self.conditioned_shared or {}, self.assumptions, n, seed,
                                         worlds)
        drawn = evidence.draw([*self.assumptions.values(), *beside], n, seed, held, worlds=worlds, given=given)
        return drawn | {key: Q(value, self.assumptions[key].unit) for key, value in values.items()}

    def with_(self, **changes):
        """A variant: a part key ('wall', 'bore', 'length', 'clearance', 'alloy', or one tube's, 'hours.wall'), a
        choice of the workshop ('pulley', 'order', ...), or an assumption by its key, pinned to one value.

        Keys with a dot are passed as `**{"alloy.kc11": "1200 MPa"}`. A changed 'wall' is the wall of all sleeves; the
        first bore is held, and outsides and later bores follow.
        Raises StudyError for a key that the study does not have (with the nearest), one that would change no tube, or a
        value that makes no sense.
        """
        part, choices, fixed, use = dict(self.part), dict(self.choices), dict(self.fixed), dict(self.use or {})
        tubes = {t.name: t for t in self.tubes}
        sleeves = [e["name"] for e in part.get("sleeves", ()) if e["name"] in tubes]
        for key, value in changes.items():
            name, _, which = key.rpartition(".")   # a tube may be called "no. 1"
            if key in PART and not isinstance(PART[key], type) or key == "alloy":
                part[key] = value_of(value, PART[key], key)
                if key in TUBE and not sleeves and (key == "bore" or all(key in e for e in part.get("barrels", ()))):
                    raise StudyError(f"{key!r} changes no tube here, for each has its own; name the tube, as in "
                                     f"'{next(iter(tubes))}.{key}'")
                if key in ("wall", "length", "clearance"):
                    part["sleeves"] = [{k: v for k, v in e.items() if k != key} for e in part.get("sleeves", ())]
            elif key in CHOICES:
                choices[key] = value_of(value, CHOICES[key], key)
            elif self.use and key in OF_USE:
                use[key] = value_of(value, OF_USE[key], key)
            elif name in sleeves and which == "bore":
                raise StudyError(f"{key!r} is not free: later bores are the last outside plus the clearance; change "
                                 f"the first one, 'bore'")
            elif name in tubes and which in TUBE:
                for kind in ("sleeves", "barrels"):
                    part[kind] = [e | {which: value_of(value, TUBE[which], key)} if e["name"] == name else e
                                  for e in part.get(kind, ())]
            elif key in self.keys:
                fixed[key] = value
            else:
                known = [*(k for k in PART if k not in ("sleeves", "barrels")), *CHOICES, *use,
                         *(f"{t}.wall" for t in tubes), *self.keys]
                raise StudyError(f"{key!r} is neither a part key, a choice of the workshop nor an assumption; "
                                 f"{tables.nearest(key, known)}")
        changed = replace(self, part=part, choices=choices, fixed=fixed, use=use or None)
        if self.conditioned:   # what a log shows of one alloy or lathe says nothing about another
            now = {prefix: of for _, of, prefix, _ in changed.takes}
            gone = tuple(f"{prefix}." for _, of, prefix, _ in self.takes if now.get(prefix) != of)
            kept = {k: v for k, v in self.conditioned.items() if not k.startswith(gone)}
            changed = replace(changed, conditioned=kept, conditioned_on=self.conditioned_on | {
                "learnt": tuple(k for k in self.conditioned_on["learnt"] if k in {x.partition("@")[0] for x in kept})})
        partchecks.check(changed)
        changed.assumptions   # a value that does not fit its unit is reported here, not in the middle of a sweep
        return changed

    @cached_property
    def labels(self):
        """{key: what the assumption is called in print}; of one tube's draw, where there are several, with the tube."""
        several = len(self.tubes) > 1
        found = {}
        for key, row in self.assumptions.items():
            bare, _, tube = key.partition("@")
            found[bare] = row.said.partition(" (")[0] if not row.label else row.label
            found[key] = f"{found[bare]} ({tube})" if tube and several else found[bare]
        return found

    def key(self, which):
        """The key of `with_` that changes a size of the tubes: 'wall' itself, of all sleeves; in a study of barrels
        alone, which have each their own, that of the first one, 'barrel.wall'."""
        return which if self.part.get("sleeves") else f"{self.tubes[0].name}.{which}"

    def said(self, key):
        """What a key of `with_` is called in print: an assumption by its label, a tube's own size with the tube."""
        name, _, which = key.rpartition(".")
        tube = {t.name: t for t in self.tubes}.get(name)
        return self.labels.get(key) or (f"{which} of the {tube.said}" if tube else words.choice(key))

    @cached_property
    def keys(self):
        """Keys of all assumptions, each once, whatever tube it is drawn for."""
        return {key.partition("@")[0] for key in self.assumptions}

    def only(self, *names):
        """The study with these tubes alone; the bores still follow from the whole nest."""
        known = {t.name: t for t in self.tubes}
        for name in names:
            if name not in known:
                raise StudyError(f"there is no tube {name!r}; {tables.nearest(name, known)}")
        return replace(self, kept=names)

    def provenance(self, n, seed):
        """What is needed to repeat it: n, seed, versions, and a digest of all inputs."""
        import hashlib
        import json
        import platform

        import scipy

        from kit import __version__
        said = json.dumps({"title": self.title, "claim": self.claim, "part": self.part, "workshop": self.choices,
                           "tools": self.tools, "routes": self.routes,
                           "use": self.use, "assumptions": [self.assumptions[k] for k in sorted(self.assumptions)],
                           "kept": self.kept,
                           "correlations": [[*pair, r] for pair, r in sorted(self.correlations.items())],
                           "log": self.conditioned_on,
                           "learnt": [[key, hashlib.sha256(held.tobytes()).hexdigest()]
                                      for key, held in sorted((self.conditioned or {}).items())]},
                          sort_keys=True, default=_plain)
        return {"n": n, "seed": seed, "inputs": hashlib.sha256(said.encode()).hexdigest()[:16],
                "versions": {"kit": __version__, "python": platform.python_version(), "numpy": np.__version__,
                             "scipy": scipy.__version__}}


def _stepped(entry):
    """What the study says of a tube, its lengths of another bore or outside as Lengths."""
    return entry | {"lengths": tuple(Length(**each) for each in entry.get("lengths", ()))}


def _plain(value):
    """Text or a list for what JSON cannot hold, the same whatever version of a library prints it."""
    if isinstance(value, Q):
        plain = value.m if isinstance(value.m, (int, float)) else float(value.m)
        return f"{plain!r} {words.spelt_out(value)}"
    if hasattr(value, "__dataclass_fields__"):   # names change no result
        return {name: held for name, held in vars(value).items() if name != "label"}
    return str(value)
