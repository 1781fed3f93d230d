"""Choices of the steps that form a tube: each can be made, changes what it says, and costs what geometry and tables say."""
from dataclasses import replace

import numpy as np
import pytest

from kit import choices, search, study
from kit.outcomes import cases_of
from kit.studyfile import StudyError
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 2**8
SLEEVES, PUMP, SIGHT = (study.load(study.DEMO.parent / name) for name in ("copper-sleeves", "dosing-pump", "surveyors-sight"))
FORMING = "core", "cast", "wrap", "solder", "anneal", "draw", "hammer", "polish"
# the outside stays; edges that butt have no overlap; without a fire there is nothing to choose of it
OF_FIRE = {"anneal.heat", "anneal.minutes", "anneal.cover"}
GO_TOGETHER = {"wrap.left": {"wrap.sheet_left"}, "wrap.seam": {"wrap.overlap"}, "draw.annealed": OF_FIRE, "hammer.annealed": OF_FIRE}

WRAP = {"operation": "wrap", "name": "wrap", "to": "bore - 0.3 mm", "sheet": "wall + 0.25 mm", "seam": "scarf", "overlap": Q(2, "mm")}
HARD = {"operation": "solder", "name": "solder", "solder": "two silver, one copper"}
FIRE = {"operation": "anneal", "name": "anneal", "temperature": Q(600, "degC"), "minutes": Q(5, "min")}
CAST = {"operation": "cast", "name": "cast", "to": "bore - 2 mm", "outside": "outside + 2 mm"}
DRAW = {"operation": "draw", "name": "draw", "to": "bore - 0.5 mm", "outside": "outside + 0.2 mm"}
BEAT = {"operation": "hammer", "name": "hammer", "to": "bore - 0.4 mm", "outside": "outside + 0.4 mm"}
POLISH = {"operation": "polish", "name": "polish", "abrasive": "pumice, powdered", "hours": Q(2, "h")}


def formed(plan, *first, after=(), skip=0):
    """A study whose first steps are formed in place of bored; the demo studies have blanks that come cast, or as rod."""
    (name, route), = plan.routes.items()
    part = {kind: [{k: v for k, v in e.items() if k != "core"} for e in plan.part.get(kind, ())] for kind in ("sleeves", "barrels")}
    return replace(plan, routes={name: [*first, *route[skip:], *after]}, part=plan.part | {k: v for k, v in part.items() if v})


WRAPPED = formed(SLEEVES, WRAP, HARD, FIRE, skip=2)
DRAWN = formed(PUMP, CAST | {"to": "bore - 0.5 mm", "outside": "outside + 4 mm"}, FIRE, DRAW)
BEATEN = formed(SIGHT, CAST | {"to": "bore - 0.4 mm"}, BEAT, after=[POLISH])
CASES = {"wrapped copper": WRAPPED, "drawn barrel": DRAWN, "beaten sight": BEATEN, "cored pump": PUMP}


def forming(plan):
    return {c.key: c for c in choices.choices(plan) if c.key.partition(".")[0] in FORMING and c.key != "wrap"}


def change(plan, key, value):
    return choices.changed(plan, forming(plan)[key], value)


def made(plan):
    return cases_of(plan, plan.draws(N, 1))


@pytest.mark.parametrize("name", CASES)
def test_each_forming_choice_moves_one_thing(name):
    plan = CASES[name]
    found = forming(plan)
    for choice in found.values():
        tried = 0
        for value in choice.options or [choice.tidied(choice.high), choice.tidied(choice.low)]:
            try:
                other = choices.changed(plan, choice, value)
                [other.steps(tube) for tube in other.tubes]
            except StudyError:
                continue   # of one way or word there may be no such plan: the next test says why
            now = {key: c.sizes for key, c in forming(other).items()}
            moved = {key for key in found if found[key].sizes != now.get(key)}
            assert choice.key in moved and moved <= {choice.key} | GO_TOGETHER.get(choice.key, set()), (choice.key, value)
            tried += 1
        assert tried, choice.key


def test_every_forming_row_of_the_table_is_tried_on_some_study():
    rows = {row["choice"] for row in choices.tables.load("choices") if row["choice"].partition(".")[0] in FORMING}
    assert rows - {"wrap"} <= set().union(*map(forming, CASES.values()))


def test_what_cannot_follow_is_told_and_left_out():
    """Tin melts in the fire that comes after it."""
    with pytest.raises(StudyError, match="melts long before the tube is soft"):
        change(WRAPPED, "solder.solder", "tin")
    tried = search.Search(WRAPPED, list(forming(WRAPPED).values()), N, 1, None)
    assert tried.judge({"solder.solder": "tin"}) is None and "melts" in tried.left_out[tried.said({"solder.solder": "tin"})]


def test_sheet_costs_the_metal_that_its_development_says():
    """Strip: mid-wall girth and the overlap, times length and thickness."""
    for factor in (1.0, 2.0):
        plan = change(WRAPPED, "wrap.overlap", factor)
        for case in made(plan):
            tube = case.tube
            sheet = (tube.wall + Q(0.25, "mm")).m_as("mm")
            girth = np.pi * (tube.bore.m_as("mm") - 0.3 + sheet) + 2 * factor
            assert case.metal.m_as("mm^3") == pytest.approx(girth * sheet * tube.length.m_as("mm"), rel=1e-9)


def test_a_smaller_mandrel_wants_thicker_sheet():
    smaller = change(WRAPPED, "wrap.left", 2.0)
    for one, other in zip(made(WRAPPED), made(smaller)):
        assert other.steps[0].outside.m_as("mm") == pytest.approx(one.steps[0].outside.m_as("mm"))
        assert other.steps[0].diameter.m_as("mm") == pytest.approx(one.steps[0].diameter.m_as("mm") - 0.3)


@pytest.mark.parametrize("factor", [0.5, 1.0, 2.0])
def test_passes_of_the_draw_bench_follow_from_the_reduction(factor):
    """n passes leave (1 - r)^n of the section; each pass costs its time and its setting."""
    plan = change(DRAWN, "draw.reduction_most", factor)
    case, = made(plan)
    passes = case.of("draw")
    bore, outside = case.tube.bore.m_as("mm"), case.tube.outside.m_as("mm")
    before, after = ((outside + 4)**2 - (bore - 0.5)**2, (outside + 0.2)**2 - (bore - 0.5)**2)
    assert len(passes) == int(np.ceil(np.log(before / after) / -np.log(1 - 0.12 * factor)))
    hours = [np.median(h.m_as("h")) for each in case.done("draw") for h in each.hours]
    assert len(hours) == len(passes) and hours[0] == pytest.approx(np.median(case["drawn.hours"].m_as("h")))


def test_an_anneal_before_drawing_costs_a_heat_and_spares_a_pull():
    bare = replace(DRAWN, routes={name: [s for s in steps if s["operation"] != "anneal"] for name, steps in DRAWN.routes.items()})
    fired = change(bare, "draw.annealed", "yes")
    assert [s["operation"] for s in fired.routes["barrel"]][:3] == ["cast", "anneal", "draw"]
    assert change(fired, "draw.annealed", "no").routes == bare.routes
    (cold,), (soft,) = made(bare), made(fired)
    heat, = soft.done("anneal")
    assert np.median(heat.hours[0].m_as("h")) == pytest.approx(
        np.median((soft["hearth.minutes"] + soft["hearth.pickling"]).m_as("h")))
    assert (soft.done("draw")[-1].leaves.strain.m <= cold.done("draw")[-1].leaves.strain.m + 1e-12).all()


def test_the_core_of_a_cast_blank_costs_reaming_and_metal():
    """Metal: the ring between the blank's outside and the core."""
    less = change(PUMP, "core", 2.0)
    (now,), (other,) = made(PUMP), made(less)
    assert other.tube.core.m_as("mm") == pytest.approx(24 - 2 * 2.5)
    core = np.pi / 4 * (21.5**2 - 19.0**2) * 95
    assert (other.metal - now.metal).m_as("mm^3") == pytest.approx(core, rel=1e-9)
    assert len(other.of("ream")) > len(now.of("ream"))


def test_a_heat_is_counted_from_the_air_and_stays_a_temperature():
    hotter = change(WRAPPED, "anneal.heat", 1.1)
    assert hotter.routes["sleeve"][2]["temperature"].m_as("degC") == pytest.approx(20 + 1.1 * 580)
    assert forming(hotter)["anneal.heat"].said(1.0) == "638 K"


def test_reach_proposes_forming_where_it_mends_what_fails():
    """Sheet no thicker than leaves a tenth for the tool cannot be cleaned up outside: thicker sheet is what is proposed,
    and it costs the metal of the sheet."""
    table = WRAPPED.reach(0.9, choices=["wrap.sheet_left", "anneal.cover"], draws=N, confirm=N, criteria=["blank allowance"],
                          pairs=False, best=False)
    row = table[table["kind"] == "alone"].iloc[0]
    assert "thickness of the sheet" in row["change"] and row["chance"] > table.iloc[0]["chance"] + 0.5 and row["metal_more_g"] > 0
