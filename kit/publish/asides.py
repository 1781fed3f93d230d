"""What pages work out beside their figures: short tables and sentences, each a function of a study."""
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, tables, words
from kit.base.units import Q, told, unheard
from kit.estimates import fits, lapping, sleeves, uncertainty
from kit.operations import means
from kit.study import criteria, design, routes, use

DRAWS, SEED = 2**12, 1
DRAWN = words.draws(DRAWS, SEED)
LIGHT = 450, 550, 650   # nm: blue, green, red
YEARS, TURNS = 20, 2    # of service, and turns a day, for the wear of a sleeve


def tools_compared(study, tools):
    """A pass of 0.5 mm on diameter at 10 mm by each tool, in the study and in its corner (used edges, a pulley of
    30 mm): (DataFrame of chance by bow and margin by wrench, {(where, tool): chance by bow})."""
    import pandas as pd
    lines, by_bow = [], {}
    for word, tried, pulley in (("corner", study.with_(edge="used"), Q(30, "mm")),
                                ("study", study, study.workshop.pulley)):
        values = means.Means(tried.workshop, tried.draws(DRAWS, seed=SEED), tried.tubes[0].name)
        with unheard():   # chips thinner than the rule was fitted to: the page tells of it among its limits
            torques = routes.torques(bores=Q(np.array([10.]), "mm"), stock_on_diameter=Q(0.5, "mm"), tools=tools,
                                     draws=values)
        bow, wrench = routes.bow_torque(draws=values, pulley=pulley), routes.wrench_torque(values)
        for name, torque in torques.items():
            by_bow[word, name] = float(np.mean(torque[0] <= bow))
            lines.append({"edges and pulley": f"{tried.workshop.edge}, {words.planned(pulley)}", "tool": name,
                          "chance by bow": words.chance(by_bow[word, name]),
                          "margin by wrench": words.quantity((wrench / torque[0]).to(""))})
    return pd.DataFrame(lines).set_index(["edges and pulley", "tool"]), by_bow


@dataclass(frozen=True)
class ReamerSets:
    """How few reamers open a study's sleeves. said: from where to where, a sentence; counts: {kind of set: how many};
    fluted: the set of fluted reamers, of routes.reamer_set; limits: {what turns them: torque, N*m, draws}; values: the
    draws at the bench."""
    said: str
    counts: dict
    fluted: object
    limits: dict
    values: object


def reamer_sets(study):
    """ReamerSets for the study's own sleeves (its barrels, where it has none), with used edges."""
    used = study.with_(edge="used")
    tubes = [t for t in used.tubes if t.position is not None] or used.tubes
    start = next(step.before for step in used.steps(tubes[0]) if step.operation == "ream")
    values = means.Means(used.workshop, used.draws(DRAWS, seed=SEED), used.tubes[0].name)
    goals = Q(np.array([t.bore.m_as("mm") for t in tubes]), "mm")
    bow = routes.bow_torque(draws=values, pulley=used.workshop.pulley)
    given = {"start": start, "bores": goals, "draws": values, "length": tubes[0].length, "drive": bow}
    sets = {"D-bits, by torque alone": routes.reamer_set(tool="half-round bit", **given),
            "D-bits, no more than half a millimetre a pass": routes.reamer_set(
                tool="half-round bit", most_stock_on_diameter="0.5 mm", **given),
            "fluted reamers, by torque alone": routes.reamer_set(tool="fluted reamer", **given)}
    return ReamerSets(f"from {words.planned(start)} to bores of {', '.join(map(words.exact, goals.m))} mm ({DRAWN})",
                      {name: len(each) for name, each in sets.items()}, sets["fluted reamers, by torque alone"],
                      {"bow": bow.m_as("N*m"), "two hands\non a wrench": routes.wrench_torque(values).m_as("N*m")},
                      values)


def reamers_told(fluted):
    """The set of fluted reamers in words."""
    torque = [words.ranged(*row) for row in fluted[["torque_5", "torque_Nm", "torque_95"]].to_numpy()]
    chances = fluted[["chance_bow", "chance_wrench"]].map(words.chance)
    sizes = fluted[["diameter_mm", "stock_on_diameter_mm"]].round(3).map(words.exact)
    return words.headed(sizes.assign(torque_Nm=torque, **chances))


def polish_grades():
    """From the file to a mirror: each grade clears what the one before it left. DataFrame, a row a grade: grain, stock,
    Ra left, time, and the share of light that the face mirrors, by wavelength in nm; medians of the reference table,
    a bronze of 90 HV under 30 kPa at 0.15 m/s."""
    import pandas as pd
    rows, before = [], Q(10, "um")   # Rz of fine filing
    powder = {name: [evidence.reference("abrasives", name, "a")[f"a.{key}"].middle for key in
                     ("grain", "wear_coefficient")] for name in ("emery, fine", "haematite, levigated")}
    powder["haematite, last wash"] = [Q(1.0, "um"), powder["haematite, levigated"][1]]
    for name, (grain, coefficient) in powder.items():
        stock = lapping.scratch_stock(previous_roughness=before)
        rate = lapping.depth_rate(coefficient=coefficient, hardness="90 HV", pressure="30 kPa", speed="0.15 m/s")
        roughness = lapping.roughness_from_grain(grain=grain)
        before = 6 * roughness   # Rz of a lapped face is about six times Ra
        with unheard():   # of a face too rough to mirror the law says none, which is right
            mirrored = {each: lapping.specular_ratio(roughness=1.25 * roughness, wavelength=f"{each} nm").m_as("")
                        for each in LIGHT}
        rows.append({"grade": name, "grain": grain.to("um"), "stock": stock.to("um"), "Ra left": roughness.to("um"),
                     "time": lapping.polish_minutes(stock=stock, rate=rate).to("min")} | mirrored)
    return pd.DataFrame(rows).set_index("grade")


def polish_told(grades):
    """The table of `polish_grades` in words."""
    said = grades.map(lambda cell: words.quantity(cell, 2) if isinstance(cell, Q) else words.percent(cell))
    return said.rename(columns={each: f"mirrored at {each} nm" for each in LIGHT})


def nest_stray(nest, verdict):
    """How far the outermost sleeve of a nest leans and runs out on all those inside it, what the verdict asks of that,
    and what years of turning wear: (sentences, run-out of the stack, run-out alone on the arbor, {with what: wear},
    least play)."""
    values = nest.draws(DRAWS, seed=SEED)
    cases = [criteria.Case(t, nest.steps(t), nest.workshop, values, nest.use) for t in nest.tubes]

    def middle(of, unit):
        return Q(np.array([np.median(of(case).m_as(unit)) for case in cases]), unit)

    with told():   # the verdict tells of what lies outside a formula's range
        gaps, off = middle(use.play, "um"), middle(lambda case: case.state.eccentricity, "um")
    tilt = sleeves.stack_tilt(clearances=gaps, lengths=Q(np.array([t.length.m_as("mm") for t in nest.tubes]), "mm"))
    stray = sleeves.stack_runout(clearances=gaps, eccentricities=off)
    alone = sleeves.stack_runout(clearances=gaps[-1:], eccentricities=off[-1:])
    said = [f"outermost sleeve, medians: play {words.quantity(gaps[-1])}, bore off the outside "
            f"{words.quantity(off[-1])}",
            f"its pointer leans {words.quantity(tilt.likely, 2)} (one standard deviation), "
            f"{words.quantity(tilt.worst, 2)} at worst",
            f"it runs out {words.quantity(stray.likely.to('um'), 2)} (one standard deviation), "
            f"{words.quantity(stray.worst.to('um'), 2)} at worst; alone on the arbor "
            f"{words.quantity(alone.worst.to('um'), 2)} at worst"]
    for name in (name for name in ("pointer shake", "nest stray") if name in verdict.chances):
        line = verdict.hardest(name)
        said.append(f"{name}: {words.spread(line.demand)} mm with all to one side, against "
                    f"{words.number(np.median(line.capacity))} mm allowed; met with a chance of "
                    f"{words.chance(line.chance)} ({verdict.drawn})")
    worn = {word: sleeves.wear_depth(specific_wear=wear, load="0.1 N", turns=Q(TURNS * 365.25 * YEARS, "turn"),
                                     length="70 mm").to("um")
            for word, wear in (("oiled and clean", "1e-5 mm^3/N/m"), ("with grit left in", "2e-3 mm^3/N/m"))}
    said += [f"twenty years at two turns a day, {word}: the bore wears by {words.quantity(depth, 2)}"
             for word, depth in worn.items()]
    return said, stray, alone, worn, gaps.min()


def plays(tools):
    """Clearance that a hole by each tool and a turned shaft leave, draws: {tool: Quantity}. tools: words of form.csv.
    Mean of the shaft's form error, and its roughness, for callipers ride on the peaks."""
    turned, found = evidence.reference("workshop", "turned", "turned"), {}
    for tool in tools:
        over = evidence.reference("form", tool, tool)[f"{tool}.oversize"]
        values = evidence.draw([over, turned["turned.form_error"], turned["turned.roughness"]], DRAWS, seed=SEED)
        found[tool] = (values[over.key] + values["turned.form_error"] / 2 + values["turned.roughness"]).to("um")
    return found


def fits_by_making(case):
    """The clearance of a pair as drilled, as reamed and as this plan laps it: (DataFrame with the nearest preferred
    fit, {how: draws}). case: of the tube."""
    import pandas as pd
    drilled, reamed = plays(("two-lip drill", "half-round bit")).values()
    with told():   # the verdict tells of what lies outside a formula's range
        lapped = use.made_clearance(case).to("um") + Q(np.zeros(DRAWS), "um")
    found = {"as drilled": drilled, "reamed": reamed, "lapped by this plan": lapped}
    nearest = {name: fits.nearest_fit(size=case.tube.bore, clearance=np.median(each)).name
               for name, each in found.items()}
    said = {name: words.quantity(each) for name, each in found.items()}
    return pd.DataFrame({"clearance, median (5 % to 95 %)": said, "nearest preferred fit": nearest}), found


def film_regimes():
    """What carries a sleeve of 70 mm by its rate of turning, in olive oil: (sentences, {rate: regime})."""
    film = {"load": "0.1 N", "viscosity": "84 mPa*s", "radius": "3 mm", "length": "70 mm", "radial_clearance": "8 um"}
    rough, regimes, said = {"roughness_a": "0.3 um", "roughness_b": "0.3 um"}, {}, []
    for turns in ("2 turn/day", "1 turn/hour", "1 turn/min", "1 turn/s"):
        ratio = sleeves.film_ratio(film=sleeves.journal_bearing(rate=turns, **film).least_film, **rough)
        regimes[turns] = sleeves.regime(ratio)
        said.append(f"{words.unit(turns):12} film ratio {words.quantity(ratio)}: {regimes[turns]}")
    begins = sleeves.crossover_rate(ratio=1, **rough, **film).to("turn/hour")
    return [*said, f"the oil begins to carry at {words.quantity(begins)}"], regimes


def two_budgets(nest):
    """The torque of one pass by a D-bit at 7 mm, its uncertainty by draws and by slopes: (DataFrame in words, row of
    uncertainty.propagate)."""
    import pandas as pd
    keys = ("alloy.kc11", "alloy.exponent", "edge.edge_force", "edge.edge_radius", "edge.least_chip_ratio",
            "guide.friction", "model.cutting_torque")
    known = nest.reference_rows | nest.rows
    cut = routes.Passes((routes.Step("ream", "", Q(6.5, "mm"), Q(7, "mm"), tool=routes.Tool("half-round bit")),))
    with unheard():   # chips thinner than the rule was fitted to, as always here
        budget = uncertainty.propagate(lambda values: cut.torque(values)[0].to("N*m"), [known[key] for key in keys],
                                       n=2**14, seed=SEED).iloc[0]
    table = pd.DataFrame({"by draws": budget[["mean", "u", "low", "high"]].to_numpy(),
                          "by slopes": budget[["gum", "gum_u", "gum_low", "gum_high"]].to_numpy()},
                         index=["mean", "standard uncertainty", "2.5 %", "97.5 %"])
    return table.map(lambda number: f"{words.number(number, 2)} N·m"), budget


TRIED = "least wall", "wall: pinch", "drilling thrust", "tool hard enough", "edge life", "lapping stock"


def metals_compared(nest):
    """A nest at half its wall in each state of its metal: (DataFrame of chances in words, {alloy: {criterion:
    chance}})."""
    import pandas as pd
    rows, limits = {}, {}
    metal = nest.part["alloy"].partition(",")[0]
    for alloy in dict.fromkeys(row["of"] for row in tables.load("alloys") if row["of"].startswith(metal)):
        verdict = nest.with_(alloy=alloy, wall=nest.tubes[0].wall / 2).assess(draws=DRAWS, seed=SEED)
        limits[alloy] = verdict.limiting
        rows[alloy] = {"all together": verdict.chance} | {name: verdict.chances[name] for name in TRIED
                                                          if name in verdict.chances}
    return pd.DataFrame(rows).T.map(words.chance).assign(**{"least certain": limits}), rows


def worn_find(nest, measured="0.22 mm"):
    """A wall measured on a find, and the claim over what it may have been before it wore: (sentences, DataFrame of
    chances in words). measured: the wall today; what either face has lost is a conjecture."""
    lost = [evidence.Assumption(f"lost {face}", None, 0.03, most, "mm", "lognormal", "conjecture", "assumption")
            for face, most in (("inside", 0.15), ("outside", 0.2))]
    values = evidence.draw(lost, DRAWS, seed=SEED)
    first = lapping.original_wall(measured=measured, inner_loss=values["lost inside"],
                                  outer_loss=values["lost outside"])
    over = nest.sweep_over("wall", first, points=9, draws=2**11)
    over.index = over.index.to_series().round(2)
    return ([f"wall measured {measured}; wall as made {words.quantity(first)} (median, 5 % to 95 %; {DRAWN})",
             "chance that such a nest was within reach, over what the wall may have been: "
             f"{words.chance(over.attrs['chance'])} ({words.draws(2**11, SEED)})"],
            design.for_reading(over)[["least wall", "wall: pinch", "all together", "least certain"]])


def lapped_or_reamed(study, barrel, hold_at):
    """A pair as lapped by the plan beside one that is only reamed and turned: (sentences, factor by which the dry hold
    changes, draws). hold_at: function of a clearance that gives {"dry": time}."""
    [play] = plays(["half-round bit"]).values()
    case = criteria.Case(barrel, study.steps(barrel), study.workshop, study.draws(DRAWS, seed=SEED), study.use)
    with told():   # the verdict tells of what lies outside a formula's range
        lapped = use.made_clearance(case).to("um")
    gain = (hold_at(lapped)["dry"] / hold_at(play)["dry"]).m_as("")
    made = "lapped by this plan" if case.of("lap") else "turned to fit by this plan"
    return ([f"clearance, reamed and turned: {words.quantity(play)}; {made}: {words.quantity(lapped)}",
             "against a pair that is only reamed and turned, the hold is changed by a factor of "
             f"{words.spread(gain)} (median, 5 % to 95 %; {DRAWN})"], gain)
