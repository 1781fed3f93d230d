"""Panels of the pages: each a function of a study that gives controls beside the drawing and the figure that they move.

A panel draws by `panel.draw(...)`, with the names of its controls; `panel.still(...)` is its static twin.
"""
import numpy as np

from kit.base import units, words
from kit.base.units import Q
from kit.estimates import trials
from kit.operations import means
from kit.publish import drawings, figures, widgets
from kit.study import criteria, outcomes, routes

DRAWS, SEED = 2**10, 1        # of a panel: as many as a moving hand can wait for
DRAWN = words.draws(DRAWS, SEED)
EDGES, ORDERS = ("stoned", "freshly ground", "used"), ("bore first", "outside first")
BORES = Q(np.array([4., 5, 6, 7, 8, 9, 10, 12, 14, 16]), "mm")
HOURS = np.geomspace(0.25, 24, 25).round(2)


def _judged(plan, touched):
    with units.unheard():   # what lies outside a formula's range is told by the verdict, which is judged once
        return plan.assess(draws=DRAWS, seed=SEED, criteria=touched)


def _margin(line):
    return words.ranged(*line.quantiles("margin"))


def _within_reach(tried):
    """The caption of a verdict on what the controls move."""
    return (f"Chance {words.chance(tried.chance)} that what these move ({', '.join(tried.chances)}) is within reach; "
            f"least certain is '{tried.limiting}' of {tried.place(tried.limiting_line)}, margin "
            f"{_margin(tried.limiting_line)}; {tried.drawn}.")


def _quantiles(bands, index):
    """5 %, 50 % and 95 % of each band of draws, over the index: the data of a figure of bands."""
    import pandas as pd
    return pd.DataFrame({f"{name}, {words.percent(q)}": np.quantile(band, q, axis=1) for name, band in bands.items()
                         for q in (0.05, 0.5, 0.95)}, index=index)


def walls_and_pulley(study):
    """The margins of what wall and pulley move."""
    touched = ("lapping torque", "lapping stock", "least wall", "wall: pinch")
    first = next((tube for tube in study.tubes if tube.position is not None), study.tubes[0])

    def draw(wall, pulley):
        tried = _judged(study.with_(**{study.key("wall"): wall}, pulley=pulley), touched)
        return widgets.Shown(figures.margins(tried), _within_reach(tried), lambda: tried.table,
                             drawing=drawings.long_section(tried.study, draws=2**10))

    name = f"{study.folder.name}-margins"
    return widgets.panel(draw, save_as=name, keep=name, wall=widgets.around("wall", first.wall, 0.05, 0.8, 0.01, "mm"),
                         pulley=widgets.around("pulley", study.workshop.pulley, 15, 80, 1, "mm"))


def claim(study):
    """The margins of what part and workshop move most."""
    touched = ("drilling thrust", "edge life", "holding", "lapping torque", "lapping stock", "least wall", "wall: grip")
    first = study.tubes[0]
    thick, wide = round(first.wall.m_as("mm"), 2), round(first.bore.m_as("mm"), 1)

    def draw(wall, bore, pulley, order, edge):
        sizes = {study.key("wall"): wall, study.key("bore"): bore}
        tried = _judged(study.with_(**sizes, pulley=pulley, order=order, edge=edge), touched)
        return widgets.Shown(figures.margins(tried), _within_reach(tried), lambda: tried.table,
                             drawing=drawings.long_section(tried.study))

    return widgets.panel(draw, save_as="claim-margins", keep=f"{study.folder.name}-claim",
                         wall=widgets.slider("wall", thick, 0.05, max(0.8, 2 * thick), 0.01, "mm"),
                         bore=widgets.slider("first bore", wide, round(0.94 * wide, 1), round(2.4 * wide, 1), 0.1,
                                             "mm"),
                         pulley=widgets.around("pulley", study.workshop.pulley, 15, 80, 1, "mm"),
                         order=widgets.choice("order of work", ORDERS, study.workshop.order),
                         edge=widgets.choice("state of the edges", EDGES, study.workshop.edge))


def step(verdict, first):
    """One step of a verdict closely: its demand against its capacity. first: the step that stands there at first."""
    lines = {f"{line.criterion}, {line.tube}": line for line in verdict.lines}

    def draw(step):
        line = lines[step]
        said = (f"{step}: {outcomes.said(line.criterion)} What moves the margin: {verdict.moved_by(line)}. "
                f"{verdict.drawn}.")
        return widgets.Shown(figures.against(line, width=140), said, lambda: verdict.table)

    return widgets.panel(draw, save_as="claim-step", keep=f"{verdict.study.folder.name}-step",
                         step=widgets.choice("step", lines, first))


def torque_by_tool(study, tools):
    """The torque that each tool asks for over the bore, against bow and wrench. tools: {name: routes.Tool}."""
    import pandas as pd

    def draw(stock, pulley, edge):
        tried = study.with_(pulley=pulley, edge=edge)
        values = means.Means(tried.workshop, tried.draws(DRAWS, seed=SEED), tried.tubes[0].name)
        with units.told() as outside:   # told in the caption below
            found = routes.torques(bores=BORES, stock_on_diameter=stock, tools=tools, draws=values)
        torques = {name: torque.m_as("N*m") for name, torque in found.items()}
        limits = {"bow": routes.bow_torque(draws=values, pulley=pulley).m_as("N*m"),
                  "two hands on a wrench": routes.wrench_torque(values).m_as("N*m")}
        at = BORES.m.tolist().index(10)
        chances = {name: " and ".join(words.chance(np.mean(torque[at] <= limit)) for limit in limits.values())
                   for name, torque in torques.items()}
        told = "; ".join(f"{name} {met}" for name, met in chances.items())
        said = (f"Torque at the minimum chip thickness against the bore: {words.planned(stock)} on diameter, edges "
                f"{edge}, pulley {words.planned(pulley)}. Chance at 10 mm, by bow and by wrench: {told}. Median, 5 % "
                f"to 95 %; {DRAWN}." + "".join(f" At the edge of the rule: {each}." for each in outside[:1]))
        return widgets.Shown(figures.torque_by_tool(BORES.m, torques, limits), said,
                             lambda: _quantiles(torques, pd.Index(BORES.m, name="bore, mm")),
                             drawing=drawings.tool(tried, stock=stock))

    return widgets.panel(draw, save_as="torque-by-tool", keep="torque-by-tool",
                         stock=widgets.slider("stock on diameter", 0.5, 0.02, 1.0, 0.02, "mm"),
                         pulley=widgets.around("pulley", study.workshop.pulley, 15, 80, 1, "mm"),
                         edge=widgets.choice("state of the edges", EDGES, study.workshop.edge))


def thin_wall(sleeves):
    """What loads the wall of the sleeves, one step at a time."""
    def draw(wall, order, step):
        tried = sleeves.with_(wall=wall, order=order)
        verdict = _judged(tried, (step,))
        line = verdict.limiting_line
        said = (f"{step} of {verdict.place(line)}, wall {words.planned(wall)}, {order}: margin {_margin(line)}, met "
                f"with a chance of {words.chance(line.chance)} ({verdict.drawn}). What moves it: "
                f"{verdict.moved_by(line)}.")
        drawn = (drawings.pinch if step == "wall: pinch" else drawings.long_section)(tried, tube=line.tube)
        return widgets.Shown(figures.against(line, width=140), said, lambda: verdict.table, drawing=drawn)

    loads = ("least wall", "wall: pinch", "wall: grip", "wall: twist", "wall: push")
    return widgets.panel(draw, save_as="thin-wall", keep="thin-wall",
                         wall=widgets.around("wall of the sleeves", sleeves.tubes[0].wall, 0.05, 0.8, 0.01, "mm"),
                         order=widgets.choice("order of work", ORDERS, sleeves.workshop.order),
                         step=widgets.choice("step", loads))


def lapping_hours(study, case, rates):
    """The stock that each grain takes off over the hours. case: of the tube. rates: {grain: on diameter, draws}."""
    import pandas as pd
    tube, laps = case.tube, {each.step.abrasive: each for each in case.done("lap")}

    def draw(pressure, clearance):
        varied = study.with_(**{f"{tube.name}.clearance": clearance})
        same = next(each for each in varied.tubes if each.name == tube.name)
        tried = criteria.Case(same, case.steps, study.workshop, case.draws)
        taken = {name: np.outer(HOURS, (pressure / laps[name].step.pressure).m_as("") * rate.m_as("um/hour"))
                 for name, rate in rates.items()}
        need = tried.done("lap")[0].to_take.m_as("um")
        alone = "; ".join(f"{name} {words.spread(need / (grown[-1] / HOURS[-1]))}" for name, grown in taken.items())
        said = (f"Stock taken off on diameter against hours, bore {words.planned(tube.bore)}, "
                f"{words.planned(pressure)}, clearance wanted {words.planned(clearance)}, bow left aside. Hours with "
                f"that grain alone: {alone}. 5 % to 95 %; {DRAWN}.")
        return widgets.Shown(figures.removal(HOURS, taken, need), said,
                             lambda: _quantiles(taken, pd.Index(HOURS, name="time, h")),
                             drawing=drawings.section_across(varied))

    first = case.done("lap")[0].step
    return widgets.panel(draw, save_as="lapping-hours", keep="lapping-hours",
                         pressure=widgets.around("pressure of the lap", first.pressure, 2, 200, 1, "kPa",
                                                 evidence=(0, 172)),
                         clearance=widgets.around("clearance wanted, on diameter", tube.clearance, 3, 60, 1, "um"))


def running(nest):
    """The torque that turns a nest, against what is granted."""
    def draw(pointer_arm, clearance, lubricant):
        tried = nest.with_(pointer_arm=pointer_arm, clearance=clearance, lubricant=lubricant)
        verdict = _judged(tried, ("running", "least running clearance"))
        line = verdict.hardest("running")
        said = (f"Torque at the input to start and turn the nest, {lubricant}, clearance {words.planned(clearance)}, "
                f"pointers {words.planned(pointer_arm)} out of balance: margin {_margin(line)}. Chance that the "
                "clearance is enough to turn: "
                f"{words.chance(verdict.chances['least running clearance'])}. {verdict.drawn}.")
        return widgets.Shown(figures.against(line, width=140), said, lambda: verdict.table,
                             drawing=drawings.nest(tried))

    return widgets.panel(draw, save_as="running", keep="running",
                         pointer_arm=widgets.around("pointer out of balance", nest.use["pointer_arm"], 0, 30, 0.5,
                                                    "mm"),
                         clearance=widgets.around("clearance, on diameter", nest.tubes[0].clearance, 4, 60, 1, "um"),
                         lubricant=widgets.choice("lubricant", ("olive oil", "dry", "water", "tallow")))


def plunger(study, barrel):
    """How long the plunger of a barrel holds a vacuum, against the time wanted."""
    def draw(clearance, hold, lubricant):
        tried = study.with_(**{f"{barrel.name}.clearance": clearance}, hold=hold, lubricant=lubricant)
        verdict = _judged(tried, ("plunger: hold", "plunger: slide"))
        line = verdict.lines[0]
        said = (f"Time that the vacuum holds, {lubricant}, clearance {words.planned(clearance)}: "
                f"{words.spread(line.capacity)} s (median, 5 % to 95 %) against {words.planned(hold)} wanted; met with "
                f"a chance of {words.chance(line.chance)} ({verdict.drawn}).")
        return widgets.Shown(figures.against(line, width=140), said, lambda: verdict.table,
                             drawing=drawings.plunger(tried))

    return widgets.panel(draw, save_as="plunger", keep="plunger",
                         clearance=widgets.around("clearance, on diameter", barrel.clearance, 4, 80, 1, "um"),
                         hold=widgets.around("hold wanted", study.use["hold"], 0.5, 60, 0.5, "s"),
                         lubricant=widgets.choice("lubricant", ("olive oil", "dry", "water")))


def successes():
    """What a count of successes says of the true rate."""
    import pandas as pd

    def draw(of, good):
        n, x = int(of.m), int(good.m)
        if x > n:
            raise ValueError(f"{x} successes in {n} trials cannot be; give more trials or fewer successes")
        interval = trials.success_interval(successes=x, trials=n)
        return widgets.Shown(figures.success(x, n, interval), trials.success_words(x, n),
                             pd.DataFrame([{"successes": x, "trials": n}]))

    return widgets.panel(draw, save_as="success", keep="success", of=widgets.slider("trials", 3, 1, 30, 1),
                         good=widgets.slider("successes", 3, 0, 30, 1))


def two_kits(nest, asked):
    """The study's own tools beside another kit, on the same draws. asked: criteria that the nest is asked."""
    import pandas as pd
    two = ("drilling torque", "drilling thrust", "lapping torque", "lapping stock")   # moved most, where they are
    touched = tuple(name for name in two if name in asked) or ("turning the outside", "edge life")
    own = _judged(nest, touched)

    def draw(edge, pulley):
        other = _judged(nest.with_(edge=edge, pulley=pulley), touched)
        pair = {"the study's own kit": own, "the other kit": other}
        table = pd.DataFrame({name: each.chances | {"all together": each.chance} for name, each in pair.items()})
        said = (f"Chance that {', '.join(own.chances)} are within reach: with the study's own kit "
                f"{words.chance(own.chance)}; with edges {edge}, pulley {words.planned(pulley)}: "
                f"{words.chance(other.chance)}, "
                f"limited by '{other.limiting}'. {other.drawn}, the same for both. Drawn is the other kit.")
        return widgets.Shown(figures.margins(other), said, table, drawing=drawings.bow_lathe(other.study))

    return widgets.panel(draw, save_as="two-kits", keep="two-kits",
                         edge=widgets.choice("state of the edges", EDGES, "used"),
                         pulley=widgets.around("pulley", nest.workshop.pulley, 15, 80, 1, "mm"))


def rival_route(nest, table):
    """What each way of making the tube leaves on it, the chosen one first. table: of routes.compare."""
    def draw(route):
        first = table.loc[[route] + [other for other in table.index if other != route]]
        return widgets.Shown(figures.traces(first, width=140),
                             f"{route}: still to be seen on the finished tube: {table.loc[route, 'traces']}.",
                             lambda: routes.steps_for_reading(route, nest).reset_index())

    return widgets.panel(draw, save_as="rival-route", keep="rival-route", route=widgets.choice("route", table.index))
