"""What a study folder may say: study.toml, assumptions.csv and sources.bib, read into checked plain values.

A fault is told with file, line and remedy. The first one stops the reading, unless a list is given to collect them.
"""
import reprlib
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from kit.base import evidence, tables, words
from kit.estimates import cutting
from kit.operations.chain import OPERATIONS
from kit.operations.lap import RING
from kit.operations.tools import SHANKS, Tool
from kit.study.tomlreading import KINDS, Reading, StudyError, checked, value_of  # noqa: F401 (known from here)


# --- what a study.toml may say: key -> unit and bounds, a list of words, a range of whole numbers, or a type ----------
FORMAT = 1   # of a study.toml; a study without the key is of the first
TOP = {"format": range(1, 1000), "title": str, "invented": bool, "claim": str, "fails_if": str, "notes": str,
       "part": dict, "use": dict,
       "workshop": dict, "tools": dict,
       "routes": dict, "correlations": list, "record": dict}
PART = {"alloy": str, "bore": "mm > 0", "wall": "mm > 0", "length": "mm > 0", "clearance": "um > 0",
        "sleeves": list, "barrels": list}
TUBE = {"name": str, "bore": "mm > 0", "wall": "mm > 0", "length": "mm > 0", "clearance": "um > 0", "route": str,
        "core": "mm > 0",
        "plunger": "mm > 0", "alloy": str, "overlap": "mm > 0", "empty": bool, "packing": str,
        "shaft_route": str, "lengths": list}
LENGTH = {"length": "mm > 0", "bore": "mm > 0", "outside": "mm > 0", "end": ["far", "near"]}   # of a tube
WORKSHOP = {"drive": str, "pulley": "mm > 0", "wrap": "turn > 0", "cord": str, "edge": str, "tool_metal": str,
            "drilling": str, "push": str,
            "arbor_metal": str, "blank_stock": "mm > 0", "start_length": "mm > 0", "jaws": range(2, 100),
            "order": ["bore first", "outside first"],
            "left_on": "um"}
MAY = {"edge_metal": str, "reserve": ">= 1 < 10", "told_by": str}   # in [workshop] besides, each with a default
TOOL = {"kind": list(cutting.TOOLS), "teeth": range(1, 100), "lead_angle": "deg > 0 <= 90",
        "point_angle": "deg > 0 <= 180",
        "shank": list(SHANKS), "shank_ratio": "> 0 <= 1", "point": str}
STEP = {"operation": list(OPERATIONS), "stock": "mm > 0"}   # stock: another word for stock_on_diameter
for _kind in OPERATIONS.values():
    STEP |= _kind.keys
USE = {"lubricant": str, "temperature": "degC", "rate": "turn/h > 0", "ratios": list, "meshes": list,
       "torque": "N*mm > 0", "pointer_mass": "g >= 0",
       "pointer_arm": "mm >= 0", "pointer_reach": "mm > 0", "tip_play": "mm > 0", "push_arm": "mm >= 0",
       "clearance_most": "um > 0", "volume": "cm^3 > 0",
       "vacuum": "kPa > 0", "vacuum_end": "kPa > 0", "hold": "s > 0", "plunger_push": "N > 0", "hours": "h > 0"}
USE_MAY = {"wheel_mass": "g >= 0", "stray_most": "mm > 0",   # in [use] besides
           "pressure": "kPa > 0", "leak_most": "> 0 < 1"}
# What each criterion of the finished part needs of [use]: (what the part must have, keys by which it is wanted, keys
# that it then needs besides)
WANTED = {
    "running": ("sleeves", ("rate", "ratios", "meshes", "torque", "pointer_mass", "pointer_arm"),
                ("lubricant", "temperature")),
    "pointer shake": ("sleeves", ("pointer_reach", "tip_play"), ()),
    "nest stray": ("sleeves", ("stray_most",), ()),
    "jamming": ("sleeves", ("push_arm",), ("lubricant",)),
    "plunger: hold": ("plunger", ("volume", "vacuum_end", "hold"), ("vacuum", "lubricant", "temperature")),
    "plunger: slide": ("plunger", ("plunger_push",), ("vacuum", "lubricant")),
    "packing: push": ("packing", ("plunger_push",), ("pressure",)),
    "packing: leak": ("packing", ("leak_most",), ()),
    "packing: tight": ("packing", ("pressure",), ()),
    "clearance left": ("", ("clearance_most",), ()),
    "told at the bench": ("", ("clearance_most",), ()),
    "labour": ("", ("hours",), ())}
CORRELATION = {"keys": list, "r": float, "note": str}
# What is on record beside the numbers: used in no estimate, but for what may be claimed and in the write-up
STAGES = ["pre-test", "experiment", "repeat", "demonstration"]
RECORD = {"stage": STAGES, "period": str, "region": str, "success_level": "> 0 < 1", "trials_planned": range(1, 10000),
          "stop_rule": str, "own_route": str, "rivals": list, "licence": str, "csl": str, "reference_docx": str,
          "authors": list, "support": list, "deviations": list}
AUTHOR = {"family": str, "given": str, "affiliation": str, "orcid": str}
SUPPORT = {"step": [*OPERATIONS, "whole process"], "grade": list(evidence.GRADES), "source": str, "shows": str,
           "does_not_show": str}
DEVIATION = {"step": str, "planned": str, "done": str, "why": str, "effect": str}

@dataclass(frozen=True)
class Written:
    """A study folder as written, each value checked by itself; whether its parts fit together is checked by Study."""
    folder: Path
    title: str
    invented: bool
    claim: str
    fails_if: str
    part: dict
    choices: dict                    # [workshop]
    tools: dict
    routes: dict
    use: dict | None                 # [use]; without it running, shake, plunger and labour are not judged
    rows: dict                       # the study's own assumptions, which replace the reference ones
    correlations: dict = field(default_factory=dict)
    # own rows that do not say whether they are drawn once or for each tube
    drawn_as_reference: frozenset = frozenset()
    record: dict = field(default_factory=dict)    # [record]: stage, rivals, support, deviations, authors


def read(folder, faults=None):
    """A study folder as Written. faults: a list to which every fault is added, where the reading is not to stop at the
    first.

    Raises StudyError or tables.TableError; with `faults`, it returns what could be read, or None where nothing can.
    """
    folder = Path(folder)
    path = folder / "study.toml"
    here = Reading(path, "", faults)
    try:
        here.text = tables.text_of(path, absent="a study is a folder with a study.toml")
        raw = tomllib.loads(here.text)
    except tables.TableError as error:
        return here.fault(str(error))
    except tomllib.TOMLDecodeError as error:
        return here.fault(f"{path}: not readable as TOML: {error}; put text in double quotes")
    except RecursionError:
        return here.fault(f"{path}: lists within lists go deeper than anybody can follow; a study needs two levels")
    raw = checked(raw, TOP, here, "", required=("title", "claim", "part", "workshop", "routes"))
    if raw.get("format", 1) > FORMAT:
        here.fault(f"{here.at('format', '')}: format {raw['format']} is of a later kit than this, which reads up to "
                   f"{FORMAT}; "
                   "install a newer one")
    part = _part(raw.get("part", {}), here)
    tools = {}
    for name in (*raw.get("tools", ()), *raw.get("routes", ())):
        if hidden := tables.unseen(name):
            here.fault(f"{path}: the name {name!r} of a tool or route: {hidden}")
    for name, entry in raw.get("tools", {}).items():
        found = checked(entry, TOOL, here, f"tools.{name}", required=("kind",))
        tools[name] = Tool(**found) if "kind" in found else None
    rows, drawn_as_reference = _own_rows(folder, here)
    of_shafts = {route for _, _, route in shafts(part, raw.get("routes", {}))}
    use = checked(raw["use"], USE | USE_MAY, here, "use") if "use" in raw else None
    if use is not None:
        check_use(use, raw["use"], part, lambda key: f"{here.at(key, 'use')}, [use]", here.fault)
    return Written(
        folder, raw.get("title", ""), raw.get("invented", False), raw.get("claim", ""), raw.get("fails_if", ""), part,
        checked(raw.get("workshop", {}), WORKSHOP | MAY, here, "workshop",
                required=WORKSHOP if "workshop" in raw else ()), tools,
        {name: _route(steps, tools, here, name, name in of_shafts) for name, steps in raw.get("routes", {}).items()},
        use, rows,
        _correlations(raw.get("correlations", []), here), drawn_as_reference, _record(raw.get("record", {}), here))


def _part(raw, here):
    part = checked(raw, PART, here, "part", required=("alloy",))
    for kind, needs in (("sleeves", ("name",)), ("barrels", ("name", "bore"))):
        if kind not in part:
            continue
        part[kind] = [checked(e, TUBE, here, f"part.{kind}, number {i}", required=needs)
                      for i, e in enumerate(part[kind], 1)]
        number = 0
        for entry in part[kind]:
            for n, each in enumerate(entry.get("lengths", ())):
                number += 1
                entry["lengths"][n] = checked(each, LENGTH, here, f"part.{kind}.lengths, number {number}",
                                              required=("length",))
        for i, entry in enumerate(part[kind], 1):
            place, called = here.at("name", f"part.{kind}, number {i}"), repr(entry.get("name"))
            missing = [k for k in ("wall", "length", "clearance") if k not in raw[kind][i - 1] and k not in raw]
            if missing:
                here.fault(f"{place}: {called} has no {missing[0]}; give it there or in [part]")
            if kind == "sleeves" and "bore" in entry:
                here.fault(f"{place}: sleeve {called} has a bore of its own; only the first bore is given, "
                           "in [part]: each next one is the last outside plus the clearance")
    for i, entry in enumerate(part.get("barrels", ()), 1):
        if "packing" in entry and "plunger" not in entry:
            here.fault(f"{here.at('packing', f'part.barrels, number {i}')}: {entry.get('name')!r} has a packing and no "
                       "plunger that carries it; give the plunger's length")
    for i, entry in enumerate(part.get("sleeves", ()), 1):
        if "packing" in entry:
            here.fault(f"{here.at('packing', f'part.sleeves, number {i}')}: {entry.get('name')!r} is a sleeve; what is "
                       "packed is the plunger of a barrel, under [[part.barrels]]")
    if part.get("sleeves") and "bore" not in raw:
        here.fault(f"{here.at('bore', 'part')}, [part]: give the first bore, for example bore = \"5 mm\"")
    return part


def shafts(part, routes):
    """What runs in the tubes and has a route of its own: (entry of its tube, "plunger" or "shaft", name of the
    route)."""
    for entry in (*part.get("sleeves", ())[:1], *part.get("barrels", ())):
        kind = "plunger" if "plunger" in entry else "shaft"
        if not entry.get("empty") and (name := entry.get("shaft_route", kind)) in routes:
            yield entry, kind, name


def _route(steps, tools, here, name, of_shaft=False):
    """A route, its steps checked one by one. of_shaft: whether it makes a solid shaft, and no tube."""
    route, place = [], f"{here.path}, routes.{name}"
    piece = "shaft" if of_shaft else "tube"
    if not isinstance(steps, list):
        here.fault(f"{place}: expected {KINDS[list]}, got {reprlib.repr(steps)}")
        return route
    for position, entry in enumerate(steps, 1):
        place = f"routes.{name}, step {position}"
        step = checked(entry, STEP, here, place, required=("operation",))
        kind = OPERATIONS.get(step.get("operation"))
        missing = kind.needs - set(entry) if kind else ()
        if missing:
            here.fault(f"{here.at('operation', place)}, [{place}]: a step that is to {step['operation']!r} needs "
                       f"{sorted(missing)[0]!r}; add it there")
        if kind and (why := kind.misplaced(step, route)):
            here.fault(f"{here.at('operation', place)}, [{place}]: a step that is to {step['operation']!r} cannot "
                       f"stand here: {why}")
        if of_shaft and kind and (not kind.holds_shaft or kind is OPERATIONS["lap"] and step.get("lap") != RING):
            here.fault(f"{here.at('operation', place)}, [{place}]: a shaft is turned, filed, polished or lapped by a "
                       f"{RING!r}; what is lapped in the bore stands in the route of its tube")
            continue
        holds = kind and (kind.holds_shaft if of_shaft else kind.holds)
        if holds and step.get("held_by") not in (None, *holds):
            here.fault(f"{here.at('held_by', place)}, [{place}]: {step['held_by']!r} cannot hold a {piece} while it is "
                       f"to {step['operation']!r}; {tables.nearest(step['held_by'], holds)}")
            del step["held_by"]   # it is told, and asked for in no table
        for what in ("feed", "pressure"):
            least, wish, most = (step.get(key) for key in (f"{what}_least", what, f"{what}_most"))
            if least is not None and least > (most or wish or least):
                here.fault(f"{here.at(f'{what}_least', place)}, [{place}]: the least {what}, {words.planned(least)}, "
                           f"is above the greatest, {words.planned(most or wish)}, so no value is left; exchange them")
            if most is not None and wish is not None and most < wish:
                here.fault(f"{here.at(f'{what}_most', place)}, [{place}]: the greatest {what}, {words.planned(most)}, "
                           f"is below the {what} wished for, {words.planned(wish)}; raise the one or lower the other")
        if "abrasive" in step and not step["abrasive"].strip():
            here.fault(f"{here.at('abrasive', place)}, [{place}]: a lap without a grain takes nothing off; name one of "
                       "data/reference/abrasives.csv")
            del step["abrasive"]
        if "stock_on_diameter" in step:   # digests of a plan know it by its first name
            if "stock" in step:
                here.fault(f"{here.at('stock', place)}, [{place}]: 'stock' and 'stock_on_diameter' are one thing; keep "
                           f"one")
            step["stock"] = step.pop("stock_on_diameter")
        step["name"] = step.get("tool") or step.get("abrasive") or step.get("operation", "")
        if kind and kind.has_tool:
            if "tool" in step and step["tool"] not in tools:
                here.fault(f"{here.at('tool', place)}, [{place}]: no tool {step['tool']!r}; "
                           f"{tables.nearest(step['tool'], tools)}")
            step["tool"] = tools.get(step.get("tool"))
        elif "tool" in step:
            del step["tool"]   # a turning tool or file is known by its edge, in [workshop]
        route.append(step)
    takers = [n for n, step in enumerate(route, 1) if step.get("operation") == "lap" and "stock" not in step]
    if len(takers) > 1:
        here.fault(f"{here.at('operation', f'routes.{name}, step {takers[-1]}')}, [routes.{name}]: steps "
                   f"{' and '.join(map(str, takers))} lap without a 'stock_on_diameter': one of them takes what is "
                   f"left, "
                   "give the others theirs")
    return route


def has(part):
    """What a part has that criteria of its use ask for: of "sleeves", "plunger" (metal in metal) and "packing"; ""
    always."""
    pumps = [e for e in part.get("barrels", ()) if "plunger" in e]
    return {"", *(["sleeves"] if part.get("sleeves") else ()),
            *(["packing" if "packing" in e else "plunger" for e in pumps])}


def wanted(use, part):
    """Criteria of the finished part that [use] asks for: those of which it gives a key, and that the part can have."""
    return [name for name, (of, by, _) in WANTED.items() if of in has(part) and any(key in use for key in by)]


def check_use(use, written, part, place, fault):
    """Every key that the criteria need of which one is there, with a ratio and a number of meshes for each sleeve.

    written: the keys that are there, good or bad. place: says where a key stands. fault: takes a complaint.
    """
    sleeves = len(part.get("sleeves", ()))
    each = f"each of the {sleeves} sleeves" if sleeves > 1 else "the one sleeve"
    asked = wanted(written, part)
    if not asked:
        may = [name for name, (of, _, _) in WANTED.items() if of in has(part)]
        keys = "; ".join(f"{name} by {' and '.join(map(repr, WANTED[name][1]))}" for name in may)
        fault(f"{place(next(iter(written), 'use'))}: no criterion of the finished part is left to judge; give the "
              f"keys of one ({keys}), or take the table away")
    missing = {}
    for name in asked:
        for key in (*WANTED[name][1], *WANTED[name][2]):
            if key not in written:
                missing.setdefault(key, []).append(name)
    for key in (k for k in USE | USE_MAY if k in missing):
        named = " and ".join(f"'{name}'" for name in missing[key])
        fault(f"{place(key)}: {key!r} is missing; add it there, for {named}")
    if "running" in asked and any(e.get("empty") for e in part["sleeves"]):
        fault(f"{place('rate')}: a sleeve whose bore is 'empty' turns on nothing; take 'empty' away in [part], or the "
              "keys of 'running' here")
    for key, least in (("ratios", -np.inf), ("meshes", 0)):
        values = use.get(key, ()) if sleeves else ()   # without sleeves none are needed
        if key in written and sleeves and (
                len(values) != sleeves or not all(type(v) in (int, float) and np.isfinite(v) and v >= least
                                                  for v in values)):
            fault(f"{place(key)}: {key} must be one number{' from 0' if least == 0 else ''} for {each}, from the "
                  f"inside "
                  f"out, not {values!r}")


def written_rows(folder, faults=None):
    """Rows of a study's assumptions.csv, checked cell by cell; columns of its own are allowed where its
    datapackage.json names them.

    Raises StudyError or tables.TableError; where `faults` is a list, bad rows are left out and told there.
    """
    path, described = folder / "assumptions.csv", folder / "datapackage.json"
    schema = tables.shared_schema("assumptions.schema.json")
    if described.exists():
        package = tables.package(folder)
        if "assumptions" not in package:
            raise StudyError(f"{described}: it lists no resource 'assumptions'; add it, or remove the file")
        known = {f["name"] for f in schema["fields"]}
        try:
            more = [{"name": f["name"], "type": "string"} for f in package["assumptions"][1]["fields"]
                    if f["name"] not in known]
        except (KeyError, TypeError):
            raise StudyError(f"{described}: the schema of 'assumptions' must list `fields`, each with a name, as the "
                             f"one of the demo study does") from None
        schema = schema | {"fields": schema["fields"] + more}
    return tables.read(path, schema, faults)


def _own_rows(folder, here):
    """(the study's own assumptions, the keys of those that leave open how often they are drawn)."""
    path = folder / "assumptions.csv"
    if not path.exists():
        return {}, frozenset()
    try:
        written = written_rows(folder, here.faults)
        known = _sources(folder)
    except (StudyError, tables.TableError) as error:
        if here.faults is None:
            raise
        here.fault(str(error))
        return {}, frozenset()
    rows = {}
    for row in written:
        try:
            rows[row["key"]] = evidence.from_row(row, path)
        except tables.TableError as error:
            if here.faults is None:
                raise
            here.fault(str(error))
            continue
        if row["source"] not in known:
            here.fault(f"{path}, line {row['line']}: {row['key']!r} cites {row['source']!r}, which is not in "
                       f"{folder / 'sources.bib'}; "
                       f"{tables.nearest(row['source'], known)}")
    return rows, frozenset(row["key"] for row in written if row["drawn"] is None and row.get("each") is None)


def _sources(folder, has_own=True):
    """Keys that a study may cite: its own, those of the reference tables, and the plain words."""
    own = tables.source_keys(folder / "sources.bib") if has_own else set()
    return sorted(own | tables.source_keys(tables.REFERENCE / "sources.bib") | set(evidence.PLAIN_SOURCES))


def _correlations(entries, here):
    found = {}
    for i, entry in enumerate(entries, 1):
        name = f"correlations, number {i}"
        entry = checked(entry, CORRELATION, here, name, required=("keys", "r"))
        if not {"keys", "r"} <= set(entry):
            continue
        place = f"{here.at('keys', name)}, [{name}]"
        if len(entry["keys"]) != 2:
            here.fault(f"{place}: a correlation joins two keys, not {len(entry['keys'])}; write both, in one pair of "
                       f"brackets")
            continue
        odd = [key for key in entry["keys"] if not isinstance(key, str)]
        if odd:
            here.fault(f"{place}: keys: expected {KINDS[str]}, got {odd[0]!r}")
            continue
        pair = tuple(entry["keys"])
        if pair in found:
            here.fault(f"{place}: the correlation of {pair[0]!r} with {pair[1]!r} stands twice; keep one of the two")
        found[pair] = entry["r"]
    return found


def _record(raw, here):
    """[record]: what is known beside the numbers."""
    record = checked(raw, RECORD, here, "record")
    for name, rules, required in (("authors", AUTHOR, ("family",)),
                                  ("support", SUPPORT, ("step", "grade", "source", "shows")),
                                  ("deviations", DEVIATION, ("planned", "done", "why"))):
        record[name] = [checked(e, rules, here, f"record.{name}, number {i}", required)
                        for i, e in enumerate(record.get(name, ()), 1)]
    routes_known = list(dict.fromkeys(row["route"] for row in tables.load("rival_routes")))
    for rival in record.get("rivals", ()):
        if rival not in routes_known:
            here.fault(f"{here.at('rivals', 'record')}, [record]: there is no route {rival!r}; "
                       f"{tables.nearest(rival, routes_known)}")
    if record["support"]:
        own = here.path.parent / "sources.bib"
        try:
            known = _sources(here.path.parent, own.exists())
        except tables.TableError as error:
            here.fault(str(error))
            return record
        for i, entry in enumerate(record["support"], 1):
            if entry.get("source") is not None and entry["source"] not in known:
                name = f"record.support, number {i}"
                here.fault(f"{here.at('source', name)}, [{name}]: {entry['source']!r} is not in {own}; "
                           f"{tables.nearest(entry['source'], known)}")
    return record
