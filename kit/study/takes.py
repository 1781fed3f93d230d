"""What of the reference tables a study rests on: by the choices of its part and workshop, its use, and its steps."""
from kit.operations import chain, fire, hold, lap, means
from kit.operations.part import Workshop
from kit.study import studyfile

# Where the assumptions of a study come from: prefix of their keys, reference table, and the choice that names the row
# (a key of [workshop] or [part]) or the row itself. A row of the same key in the study's assumptions.csv
# replaces it.
TAKES = (
    ("alloy", "alloys", "alloy"), ("arbor_metal", "alloys", "arbor_metal"), ("tool", "tool_metals", "tool_metal"),
    ("edge", "edges", "edge"), ("drive", "drives", "drive"), ("cord", "friction", "cord"),
    ("drift", "drift", "drilling"), ("push", "hands", "push"), ("guide", "friction", "=steel on bronze, oiled"),
    ("grain", "friction", "=loose grain"), ("file", "friction", "=file on bronze"), ("hand", "hands", "=hand"),
    ("wrench", "hands", "=two-handed wrench"), ("centre", "workshop", "=centres"), ("jaws", "workshop", "=jaws"),
    ("arbor", "workshop", "=arbor"), ("turned", "workshop", "=turned"), ("reamed", "workshop", "=reamed"),
    ("blank", "workshop", "=hammered or cast blank"), ("pointer", "workshop", "=pointer"),
    ("margins", "workshop", "=margins"), ("filed", "workshop", "=filed"), ("drilled", "workshop", "=drilled"),
    ("edge_metal", "tool_metals", "edge_metal"), ("lead", "drift", "lead"), ("edge_life", "edge_life", "=edge"),
    ("chip", "edge_life", "chip"), ("skin", "workshop", "=worked skin"), ("felt", "workshop", "=felt"),
    ("body", "effort", "=whole body"), ("person", "effort", "=person"), ("arms", "effort", "=both arms"),
    ("one_arm", "effort", "=one arm"), ("kept_up", "effort", "=push kept up"),
    ("stroke", "effort", "=stroke, cutting one way"), ("pinch", "holds", "=tip pinch of a man"),
    ("direction", "workshop", "=direction"), ("washed_off", "workshop", "=washed off"),
    ("washed", "workshop", "=washed"),
    ("chips", "drill_points", "=clearing chips"), ("both_ends", "workshop", "=bored from both ends"),
    ("spent", "workshop", "=spent grain"), ("lapped", "workshop", "=lapped"), ("setup", "workshop", "=setting up"))

# how a two-lip drill is guided, where the choice `drilling` tells of the D-bit that follows it
LEADS = {"half-round bit, work turning": "work turning, tool still"}

# the same for the finished part, where the study has a table [use]; {state} is "dry" or "oiled"
USE_TAKES = (
    ("rub", "friction", "={metal} on {metal}, {state}"), ("rub_arbor", "friction", "={metal} on iron, {state}"),
    ("rest", "workshop", "=after a rest"), ("teeth", "workshop", "=teeth cut by hand"),
    ("told", "feel", "told_by"), ("arbor_made", "workshop", "=arbor made"),
    ("tool_made", "workshop", "=tool made"), ("spoilt", "workshop", "=spoilt blanks"))


def asked_by(plan):
    """The reference rows that the choices ask for: (table, thing in it, prefix of the keys, the key of study.toml
    that names it, or the thing itself after "=")."""
    state = "dry" if plan.use and plan.use.get("lubricant") == "dry" else "oiled"
    chosen = plan.part | plan.choices
    drilling, alloy = chosen.get("drilling"), chosen.get("alloy")
    named_by = {"lead": "drilling", "chip": "alloy", "edge_metal": "edge_metal" if "edge_metal" in chosen else
                "tool_metal"}   # where another key decides
    chosen |= {"edge_metal": chosen.get("edge_metal", chosen.get("tool_metal")),
               "lead": LEADS.get(drilling, drilling), "told_by": chosen.get("told_by", Workshop.told_by)}
    metal = "bronze"
    if of := fire.known(alloy):   # of an alloy that is none nothing more is asked
        chosen["chip"], metal = of["chip"], of["rubs_as"]
    for prefix, table, choice in TAKES + (USE_TAKES if plan.use else ()):
        of = choice[1:].format(state=state, metal=metal) if choice.startswith("=") else chosen.get(choice)
        if of is not None:   # missing in a faulty folder
            yield table, of, prefix, named_by.get(choice, choice)
    if state == "oiled" and plan.use and "lubricant" in plan.use:
        yield "lubricants", plan.use["lubricant"], "oil", "lubricant"
    own = {e["alloy"] for kind in ("sleeves", "barrels") for e in plan.part.get(kind, ()) if "alloy" in e}
    runs = list(studyfile.shafts(plan.part, plan.routes))
    own |= {plan.alloy_of(kind, entry.get("alloy")) for entry, kind, _ in runs} - {None}
    if runs:
        yield "workshop", "turned shaft", "shaft", "=turned shaft"
    for alloy in sorted(own):
        yield "alloys", alloy, f"alloy.{alloy}", "alloy"
        if of := fire.known(alloy):
            yield "edge_life", of["chip"], f"chip.{alloy}", "alloy"
    packings = {e["packing"] for e in plan.part.get("barrels", ()) if "packing" in e} if plan.use else ()
    for packing in sorted(packings):
        yield "packings", packing, f"packing.{packing}", "packing"
    yield from _of_steps(plan, chosen.get("alloy"))
    for prefix, table, key, names in _named_in_routes(plan):
        for name in sorted(names):
            yield table, name, f"{prefix}.{name}", key


def _of_steps(plan, common):
    """What single steps rest on besides what every study does, for the alloys of the tubes that take them."""
    of_routes = {}
    for kind, usual in (("sleeves", "sleeve"), ("barrels", "barrel")):
        for entry in plan.part.get(kind, ()):
            of_routes.setdefault(entry.get("route", usual), set()).add(entry.get("alloy"))
    for entry, kind, name in studyfile.shafts(plan.part, plan.routes):
        of_routes.setdefault(name, set()).add(plan.alloy_of(kind, entry.get("alloy")))
    for name, route in plan.routes.items():
        for own in sorted(of_routes.get(name, {None}), key=str):
            for step in route:
                if step.get("operation") not in chain.OPERATIONS or common is None:
                    continue
                for table, of, prefix, key in chain.OPERATIONS[step["operation"]].takes(step, own or common):
                    alloys_own = own is not None and f"{prefix}." in means.OF_ALLOY
                    yield table, of, f"{prefix}.{own}" if alloys_own else prefix, key


def _named_in_routes(plan):
    """What the steps of the routes name, or take where they name nothing: (prefix, table, key that names it,
    names)."""
    kinds = [(name, step, chain.OPERATIONS[step["operation"]]) for name, route in plan.routes.items()
             for step in route if step.get("operation") in chain.OPERATIONS]
    steps = [step for _, step, _ in kinds]
    yield "abrasive", "abrasives", "abrasive", {step["abrasive"] for step in steps if "abrasive" in step}
    runs = {route for _, _, route in studyfile.shafts(plan.part, plan.routes)}
    held = [(step, kind.holds_shaft if name in runs else kind.holds) for name, step, kind in kinds]
    yield "hold", "holds", "held_by", {step.get("held_by", by[0]) for step, by in held if by} - {hold.CENTRES}
    yield "lap", "laps", "lap", {step.get("lap", lap.PAIR) for step in steps if step["operation"] == "lap"}
    tools = {step["tool"].kind for step in steps if step.get("tool") is not None}
    yield "form", "form", "kind", tools
    yield "sharpened", "edge_life", "kind", tools
    yield "point", "drill_points", "point", {step["tool"].point for step in steps
                                             if step["operation"] == "drill" and step.get("tool") is not None}
