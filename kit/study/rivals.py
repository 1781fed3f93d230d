"""Rival ways of making the part: taken through the same chain on the same draws where there are operations for them,
judged where there are none; what each needs, costs and leaves behind, side by side."""
import re
from collections import Counter
from dataclasses import replace

import numpy as np

from kit.base import evidence, tables, words
from kit.base.units import Q, unheard
from kit.operations import chain, fire, settle
from kit.operations.solder import is_hard
from kit.operations.tools import Tool
from kit.study import worlds
from kit.study.outcomes import cases_of
from kit.study.studyfile import STEP, StudyError, value_of
from kit.study.use import LABOUR
from kit.study.judge import lines
from kit.study.verdict import Verdict, counted

BORED, CAST, WRAPPED, DRAWN, HAMMERED = (
    "bored from the bar", "cast on a core and reamed", "wrapped from sheet and soldered",
    "drawn through a plate on a mandrel", "drawn or hammered on a mandrel")
OWN, COMPUTED, JUDGED = "this study", "computed", "judged"
WORLDS = 32, 32   # of the band of each route, and draws in each
WROUGHT = "wrap", "draw", "hammer"   # operations that want wrought metal


# --- the table of routes ----------------------------------------------------------------------------------------------

def rival(name):
    """Steps of a rival route from the reference table, in order, each a dict (chances, hours, metal, plan, traces,
    removes).

    Raises tables.TableError for an unknown route, with the nearest names, and ValueError for a step that cannot follow
    the last.
    """
    known = tables.load("rival_routes")
    steps = [row for row in known if row["route"] == name]
    if not steps:
        raise tables.TableError(f"there is no route {name!r}; "
                                f"{tables.nearest(name, dict.fromkeys(r['route'] for r in known))}")
    told = []
    for row in steps:
        told.append(row | _seen(row, traces_left(told)) if row.get("plan") else row)
    check_order(told)
    return told


def _seen(row, before):
    """Traces and removes of a row whose steps are operations: theirs, of the table of traces. before: to be seen."""
    known = {each["operation"]: each for each in tables.load("traces")}
    done = []
    for text in row["plan"].split("|"):
        _, word, keys = STEP_OF_PLAN.match(text.strip()).groups()
        done.append(known[_kind({"operation": word, **dict(part.strip().split(" = ", 1) for part in
                                                           (keys or "").split("&")[0].split(";") if part.strip())})])
    return {"traces": "; ".join(traces_left(done)),
            "removes": "; ".join(trace for trace in before
                                 if any(trace in _words(each["removes"]) for each in done))}


def check_order(steps):
    """Raises ValueError where a step needs one that has not come before."""
    done = []
    for step in steps:
        if step["needs"] and step["needs"] not in done:
            raise ValueError(f"{step['step']!r} cannot follow {done[-1] if done else 'nothing'!r}: it needs "
                             f"{step['needs']!r} before it; put that step first")
        done.append(step["step"])


def traces_left(steps):
    """What can still be seen on the finished part: traces of the steps, less what later steps remove, in order."""
    seen = []
    for step in steps:
        gone = _words(step["removes"])
        seen = [t for t in seen if t not in gone]
        seen += [t for t in _words(step["traces"]) if t not in seen]
    return seen


def _words(text):
    return [word.strip() for word in (text or "").split(";") if word.strip()]


def steps_for_reading(name, plan):
    """The steps of a route as a page shows them: chances and hours believed, found or judged, traces; of a study's own
    way that the table does not know, its operations alone. plan: the study."""
    import pandas as pd
    known = tables.load("rival_routes")
    if name == own_route(plan) and name not in {row["route"] for row in known}:
        done = plan.routes[plan.tubes[0].route]
        return pd.DataFrame({"step": [step["operation"] for step in done]}).set_index("step")
    steps = pd.DataFrame(rival(name)).set_index("step")
    for of in ("chance", "hours"):
        steps[of] = [f"{words.exact(low)} to {words.exact(high)}"
                     for low, high in steps[[f"{of}_low", f"{of}_high"]].to_numpy()]
    steps["found"] = ["computed" if row else "judged" for row in steps["plan"]]
    return steps[["needs", "found", "chance", "hours", "traces", "removes", "note"]].fillna("")


# --- which way a study's own is ---------------------------------------------------------------------------------------

def own_route(plan):
    """What the study's own way of making the part is called: [record] own_route, or told from the steps of most of its
    tubes."""
    return plan.record.get("own_route") or Counter(_way(plan, tube) for tube in plan.tubes).most_common(1)[0][0]


def _way(plan, tube):
    """The way of making one tube, told from the steps of its route."""
    done = [step["operation"] for step in plan.routes[tube.route]]
    for word, way in (("draw", DRAWN), ("hammer", HAMMERED)):
        if word in done:
            return way
    if "wrap" in done:
        return WRAPPED
    cored = tube.core > 0 or any(step["operation"] == "cast" and "to" in step for step in plan.routes[tube.route])
    return CAST if cored else BORED


def own_traces(plan):
    """What the study's own steps leave on the tubes that are made its way."""
    own = plan.record.get("own_route")
    tubes = [t for t in plan.tubes if own or _way(plan, t) == own_route(plan)]
    left = [traces_left(_steps_with_traces(plan.routes[t.route], t.core > 0)) for t in tubes]
    return list(dict.fromkeys(trace for each in left for trace in each))


def _steps_with_traces(route, cored):
    """Steps of a route as dicts of what they leave and remove; a blank that no step casts was cast all the same."""
    known = {row["operation"]: row for row in tables.load("traces")}
    names = [_kind(step) for step in route]
    if not names or not names[0].startswith(("cast", "wrap")):
        names.insert(0, "cast on a core" if cored else "cast solid")
    elif cored and names[0] == "cast solid":
        names[0] = "cast on a core"
    return [known[name] for name in names]


def _kind(step):
    """What the table of traces calls a step."""
    if step["operation"] == "cast":
        return "cast on a core" if "to" in step else "cast solid"
    if step["operation"] == "solder":
        return "solder hard" if is_hard(step["solder"]) else "solder soft"
    return step["operation"]


# --- a rival as a plan ------------------------------------------------------------------------------------------------

STEP_OF_PLAN = re.compile(r"(own or )?(\w+)(?::\s*(.*))?$", re.S)


def plan_of(plan, name):
    """The same part by a rival route, as a plan: same sizes, workshop and use. Where the study has steps of an
    operation of its own (its reaming, turning, lapping), the rival's maker works as well; the rest is from the table.

    Returns None where a step of the route has no operation. Raises StudyError where the route cannot make such a tube.
    """
    steps = rival(name)
    if not all(step.get("plan") for step in steps):
        return None
    routes, part = dict(plan.routes), dict(plan.part)
    wanted = [text.strip() for step in steps for text in step["plan"].split("|")]
    wrought = any(STEP_OF_PLAN.match(text)[2] in WROUGHT for text in wanted)
    for tube in plan.tubes:
        routes[f"{name}, {tube.name}"] = _route(plan, tube, wanted)
    for kind in ("sleeves", "barrels"):
        if kind in part:
            part[kind] = [{key: value for key, value in entry.items() if key != "core"}
                          | {"route": f"{name}, {entry['name']}"} | _wrought(entry.get("alloy"), wrought)
                          for entry in part[kind]]
    return replace(plan, part=part | _wrought(part["alloy"], wrought), routes=routes)


def _wrought(alloy, wanted):
    """The alloy as hammered and annealed sheet or tube, where that is wanted and in the table."""
    soft = fire.annealed(alloy) if wanted else None
    return {"alloy": soft} if soft else {}


def _route(plan, tube, wanted):
    """Entries of a route for one tube, as studyfile reads them."""
    route = []
    sizes = _sizes(tube.bore.m_as("mm"), tube.wall.m_as("mm"))
    for text in wanted:
        own, word, keys = STEP_OF_PLAN.match(text).groups()
        mine = [step for step in plan.routes[tube.route] if step["operation"] == word]
        if own and mine and _fits(plan, tube, route + mine):
            route += mine
        elif keys:
            route += [_entry(plan, word, each, sizes) for each in keys.split("&")]
    return route


def _sizes(bore, wall):
    """What the words of the table's routes stand for at a bore and wall in mm, by rules of proposals.csv."""
    pilot, core, loose, drilled, overlap = (
        {row["key"]: row["value"] for row in tables.rows_of("proposals", of)} for of in
        ("pilot hole", "core of a rival", "hole cast to be closed in", "drilled hole", "overlap of a seam"))
    return {"pilot": f"{min(pilot['most'], pilot['bore_share'] * bore):.1f} mm",
            "core": f"{max(core['bore_share'] * bore, bore - core['less']):.2f} mm",
            "loose": f"{bore + loose['more']:.2f} mm",
            "drilled": f"{min(drilled['most'], bore - drilled['less_share'] * bore):.2f} mm",
            "overlap": f"{overlap['times'] * (wall + overlap['more']):.1f} mm"}


def _fits(plan, tube, route):
    try:
        chain.expand(route, tube.bore, tube.outside, tube.largest + plan.workshop.blank_stock, Q(0.0, "mm"))
    except ValueError as error:
        return "ends at" in str(error)   # not yet at its size
    return True


def _entry(plan, word, keys, sizes):
    """One entry from the text of the table: 'to = bore - 1 mm; mould = clay, poured hot'."""
    entry = {"operation": word, "name": word}
    for text in keys.split(";"):
        key, _, value = (part.strip() for part in text.partition("="))
        value = value.format(**sizes)
        if key == "tool":
            tool = next((name for name, each in plan.tools.items() if each and each.kind == value), None)
            entry |= {"tool": plan.tools[tool] if tool else Tool(kind=value), "name": tool or value}
            continue
        rule = STEP[key]
        plain = int(value) if isinstance(rule, range) else value == "yes" if rule is bool else value
        entry[key] = value_of(plain, rule, key)
    if "stock_on_diameter" in entry:
        entry["stock"] = entry.pop("stock_on_diameter")
    return entry


# --- side by side -----------------------------------------------------------------------------------------------------

def compare(rivals, n=2**14, seed=1):
    """Rival routes side by side, one row each, in the order given: DataFrame.

    rivals: names of routes of the reference table, or (name, Study) for the way that has a study. With a study, every
    rival for whose steps there are operations is taken through the same chain: the same tubes, workshop and use, on the
    same draws. Columns: how (the row was found: "this study", "computed", or "judged" where no operation exists);
    chance, that one tube meets all of its criteria, with its 5 % and 95 % points over worlds of what is conjectured (of
    a judged route: that a practised maker brings a blank through, and what is believed of that); within_reach, the
    same where it is computed; limiting, the criterion met least often; hours and fuel (charcoal, kg) of one tube,
    median and 5 % and 95 %; metal, in over that of the finished tube; traces, left on the part; tells, those that no
    other route here leaves; refutes, those that the study's own way does not leave: found on the piece, they speak
    against its author; weakest_evidence. It ranks nothing: a route that is likelier or quicker is not the one that was
    taken.
    Validity: of a computed route that of its operations, whose rows are mostly conjecture; the judged chances and hours
    are judgement, and their steps taken as independent.
    Raises ValueError for a name that stands twice or a step that cannot follow, tables.TableError for an unknown route
    without a study.
    """
    import pandas as pd
    named = [(r, None) if isinstance(r, str) else r for r in rivals]
    names = [name for name, _ in named]
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"{name!r} stands twice; compare each route once")
    base = next((study for _, study in named if study is not None), None)
    plans, left, why = {}, {}, {}
    for name, study in named:
        if study is not None:
            plans[name], left[name] = study, own_traces(study)
            continue
        left[name] = traces_left(rival(name))
        if base is not None:
            try:
                plans[name] = plan_of(base, name)
                if plans[name]:
                    plans[name].assumptions, [plans[name].steps(tube) for tube in plans[name].tubes]
                    left[name] = own_traces(replace(plans[name], record={}))
            except (StudyError, tables.TableError) as error:
                plans[name], why[name] = None, str(error)
    every = [plan for plan in plans.values() if plan]
    every += [_with_blank(study) for _, study in named if study is not None]
    union = {key: row for plan in every for key, row in plan.assumptions.items()}
    own = set(left[next((name for name, study in named if study is not None), names[0])])
    rows = {}
    for name, study in named:
        if plan := plans.get(name):
            row = _computed(plan, union, n, seed) | {"how": COMPUTED if study is None else OWN}
        else:
            row = _judged(rival(name), n, seed) | {"how": JUDGED}
        others = {t for other in names if other != name for t in left[other]}
        rows[name] = {column: row.get(column, np.nan) for column in COLUMNS} | {
            "traces": "; ".join(left[name]), "tells": "; ".join(t for t in left[name] if t not in others),
            "refutes": "; ".join(t for t in left[name] if t not in own) if base is not None else ""}
    table = pd.DataFrame.from_dict(rows, orient="index").rename_axis("route")
    table.attrs["why_judged"] = why
    return table


COLUMNS = ("how", "within_reach", "chance", "chance_5", "chance_95", "limiting", "hours", "hours_5", "hours_95", "fuel",
           "fuel_5", "fuel_95", "metal", "traces", "tells", "refutes", "weakest_evidence")


def _three(name, draws):
    low, mid, high = np.quantile(draws, (0.05, 0.5, 0.95))
    return {name: mid, f"{name}_5": low, f"{name}_95": high}


def _computed(plan, union, n, seed):
    """A row of a plan, drawn beside all rows of the others, so that they share their draws."""
    beside = [row for key, row in union.items() if key not in plan.assumptions]
    values = plan.draws(n, seed, beside=beside)
    with unheard():
        found, _ = lines(plan, values, n)
        inner = plan.draws(WORLDS[0] * WORLDS[1], seed, (WORLDS[0], worlds.weak_rows(plan)), beside)
        over = _one_tube(plan, lines(plan, inner, WORLDS[0] * WORLDS[1])[0])
        cases = cases_of(plan, values, settle.FEEL)
    met, share = _one_tube(plan, found), 1 / len(plan.tubes)
    of_tubes = {}
    for line in found:
        if line.tube in {part.name for part in plan.parts}:
            of_tubes.setdefault(line.criterion, []).append(line.chance)
    blanks = [case.operations[0] for case in cases_of(_with_blank(plan), values) if not _made(plan, case.tube)]
    verdict = Verdict(plan, tuple(found), n, seed, values, counted(found), (), None, settle.FEEL)
    labour = [line.demand * share for line in found if line.criterion == LABOUR]
    if not labour:   # without use, tools, arbors and spoilt blanks are not counted
        labour = [share * sum(time.m_as("h") for case in cases for each in case.operations for time in each.hours)]
    worked = labour[0] + share * sum(blank.hours[0].m_as("h") for blank in blanks)
    burners = [each for case in cases for each in case.operations] + blanks
    fuel = share * sum(burnt.m_as("kg") for each in burners for burnt in each.fuel)
    low, high = np.quantile(over.reshape(WORLDS[0], -1).mean(axis=1), (0.05, 0.95))
    return {"within_reach": met.mean(), "chance": met.mean(), "chance_5": low, "chance_95": high,
            "limiting": min(of_tubes, key=lambda name: np.mean(of_tubes[name])),
            "metal": float(np.median(_metal(cases))),
            "weakest_evidence": verdict.weakest_evidence[0] if verdict.weakest_evidence else ""} | _three(
        "hours", np.broadcast_to(worked, n)) | _three("fuel", np.broadcast_to(fuel, n))


def _made(plan, tube):
    """Whether the first step of a tube's route makes it."""
    route = plan.routes[tube.route]
    return bool(route) and chain.OPERATIONS[route[0]["operation"]].makes


def _with_blank(plan):
    """The plan with the casting of its blanks, where its routes begin with a blank: for their hours and fuel."""
    cast = {"operation": "cast", "name": "cast", "at_once": 4}
    begun = {tube.route for tube in plan.tubes if not _made(plan, tube)}
    return replace(plan, routes={name: [cast, *route] if name in begun else route
                                 for name, route in plan.routes.items()})


def _one_tube(plan, found):
    """Of each draw, the share of the tubes that meet all of their own criteria, and those of a shaft of their own: one
    tube against one blank of a rival, so what all tubes share is left out."""
    return np.mean([np.logical_and.reduce([line.met for line in found if line.tube in
                                           (tube.name, tube.shaft and tube.shaft.name)])
                    for tube in plan.tubes], axis=0)


def _metal(cases):
    """Metal in, over that of the finished tubes; gates and what is melted again are not counted."""
    put = made = 0
    for case in cases:
        tube = case.tube
        finished = tube.volume.m_as("mm^3")
        put, made = put + case.metal.m_as("mm^3"), made + finished
    return put / made


def _judged(steps, n, seed):
    """A row of a route that is judged step by step."""
    drawn = evidence.draw([a for i, step in enumerate(steps) for a in _believed(step, i)], n, seed)
    chance = np.prod([np.clip(drawn[f"chance {i}"].m, 0, 1) for i in range(len(steps))], axis=0)
    worked = np.sum([drawn[f"hours {i}"].m for i in range(len(steps))], axis=0)
    return {"chance": chance.mean(), "chance_5": np.quantile(chance, 0.05), "chance_95": np.quantile(chance, 0.95),
            "limiting": "", "metal": max((step["metal"] or 1) for step in steps),
            "weakest_evidence": max((step["grade"] for step in steps), key=evidence.GRADES.index)} | _three(
        "hours", worked)


def _believed(step, position):
    common = {"shape": "uniform", "grade": step["grade"], "source": step["source"], "limits": "p5_p95", "value": None}
    yield evidence.Assumption(f"chance {position}", low=step["chance_low"], high=step["chance_high"], unit="", **common)
    yield evidence.Assumption(f"hours {position}", low=step["hours_low"], high=step["hours_high"], unit="h", **common)
