"""A shaft or plunger as a part of its own: its route, what it feeds in the tube around it, and what is told where it cannot be made."""
import shutil

import numpy as np
import pytest

from kit import benchlog, claims, cutting, hold, study, tables, use, writeup_tables
from kit.outcomes import cases_of

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 256
TURN = '[[routes.{0}]]\noperation = "turn"\nto = "outside"\ndepth = "0.2 mm"\nfeed = "0.05 mm"\n\n'
RING = '[[routes.{0}]]\noperation = "lap"\nlap = "ring lap"\nabrasive = "emery, fine"\npressure = "20 kPa"\nhours = "6 h"\nheld_by = "strap, leather"\n\n'


@pytest.fixture
def written(tmp_path):
    """A study of the kit's with steps added before its record, and one text changed: its folder."""
    def write(steps, old="", new="", of=study.DEMO):
        text = (of / "study.toml").read_text(encoding="utf-8")
        assert not old or text.count(old) == 1
        text = (text.replace(old, new) if old else text).replace("# --- on record", steps + "# --- on record", 1)
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        shutil.copytree(of, folder)
        (folder / "study.toml").write_text(text, encoding="utf-8")
        return folder
    return write


def case_of(plan, name):
    return next(case for case in cases_of(plan, plan.draws(N, 1)) if case.tube.name == name)


def test_a_study_that_says_nothing_of_it_has_its_tubes_alone():
    demo = study.load(study.DEMO)
    assert demo.parts == demo.tubes and not any(key.startswith("shaft.") for key in demo.keys)


def test_a_plunger_is_turned_from_the_rod_to_the_size_that_its_laps_ask_and_costs_hours(written):
    plan = study.load(written(TURN.format("plunger")))
    barrel, plunger = plan.parts[-2:]
    assert plunger.name == "lamp-oil barrel plunger" and plunger.solid and plunger.length == barrel.plunger
    assert plunger.outside == barrel.bore + plan.workshop.left_on
    case = case_of(plan, plunger.name)
    [turned] = case.operations
    assert turned.held_by == hold.CENTRES and np.all(np.isinf(turned.hold_torque.m))
    means, feed = turned.means, turned.setting
    force = cutting.turning_force(depth="0.2 mm", feed=feed, kc11=means["alloy.kc11"], exponent=means["alloy.exponent"])
    chip = (means["model.cutting_torque"] * force * turned.step.before / 2).m_as("N*m")
    assert np.all(turned.torque.m_as("N*m") > chip) and np.median(turned.torque.m_as("N*m") / chip) < 2   # the edge ploughs besides
    verdict = plan.assess(draws=N)
    asked = {line.criterion for line in verdict.lines if line.tube == plunger.name}
    assert asked == {"tool hard enough", "turning the outside", "cord", "holding", "blank allowance"}
    values = plan.draws(N, 1)
    cases = cases_of(plan, values)
    without, whole = (use.labour(use.Whole(each, plan.use, values)).demand.m_as("h") for each in ([c for c in cases if not c.tube.solid], cases))
    own = (sum(turned.hours) + means["setup.minutes"]).m_as("h") * (1 + values["spoilt.for_each_good"].m)   # and no arbor
    np.testing.assert_allclose(whole - without, own)


def test_the_form_of_the_plunger_goes_into_the_stock_of_its_barrel_s_laps_and_its_bow_into_the_play(written):
    turned, ringed = (study.load(written(steps)) for steps in (TURN.format("plunger"), (TURN + RING).format("plunger")))
    stocks, forms = [], []
    for plan in (turned, ringed):
        case = case_of(plan, "lamp-oil barrel")
        forms.append(case.shaft.state.outside_form.m_as("um"))
        stocks.append(case.done("lap")[0].to_take.m_as("um"))
        bow = case.shaft.state.bow.m_as("um")
        np.testing.assert_allclose(stocks[-1], (plan.workshop.left_on + case.tube.clearance + (
            case.done("lap")[0].found.lobes + case.done("lap")[0].found.taper) / 2).m_as("um") + forms[-1] / 2)
        assert np.median(bow) == pytest.approx(11 * 0.3**2, rel=0.2)   # of 100 mm in the table; the plunger has 30
    assert np.median(forms[1]) < np.median(forms[0]) / 3 and np.median(stocks[1]) < np.median(stocks[0])
    lines = {line.criterion: line for line in turned.assess(draws=N).lines if line.tube == "lamp-oil barrel"}
    straight = {line.criterion: line for line in turned.with_(**{"shaft.bow": "0.001 um"}).assess(draws=N).lines if line.tube == "lamp-oil barrel"}
    for criterion in ("clearance left", "least running clearance"):
        assert np.all(lines[criterion].demand > straight[criterion].demand)
    assert np.median(lines["plunger: hold"].capacity) < np.median(straight["plunger: hold"].capacity)
    assert any(key.startswith("shaft.bow") for key in lines["clearance left"].used)


def test_a_fit_by_turning_asks_more_play_of_a_shaft_with_more_form(written):
    """The copper sleeves are not lapped: the shaft is filed to them."""
    plans = [study.load(written(TURN.format("shaft"), of=tables.DATA / "copper-sleeves")).with_(**{"turned.form_error": f"{form} um"}) for form in (5, 25)]
    shaft = plans[0].parts[1]
    assert shaft.name == "spindle sleeve shaft" and shaft.alloy == plans[0].workshop.arbor_metal
    assert shaft.outside == plans[0].tubes[0].bore - plans[0].tubes[0].clearance
    asked = [next(line.demand for line in each.assess(draws=N, criteria=("least running clearance",)).lines) for each in plans]
    np.testing.assert_allclose(asked[1] - asked[0], 10)   # half of it, on diameter


def test_bench_and_write_up_tell_its_steps(written):
    plan = study.load(written((TURN + RING).format("plunger")))
    told = plan.assess(draws=N).instructions
    assert list(told[told["tube"] == "lamp-oil barrel plunger"]["held_by"]) == [hold.CENTRES, "strap, leather"]
    sheet = [step for step in benchlog.steps(plan, draws=64) if step.tube == "lamp-oil barrel plunger"]
    assert [step.operation for step in sheet] == ["turn", "lap"]   # and no test of the finished part, which is the barrel's
    stocks = writeup_tables.stock_plan(plan)
    assert list(stocks[stocks["tube"] == "lamp-oil barrel plunger"]["after_mm"]) == [16.01, 16.01]
    assert "- plunger, 1: turn, turn to 16.01 mm" in claims.registration(plan.assess(draws=64))
    trace = plan.assess(draws=N).trace("lapping stock", "lamp-oil barrel plunger")
    assert "ring lap" in str(trace)


@pytest.mark.parametrize("steps, old, new, said", [
    ('[[routes.plunger]]\noperation = "ream"\ntool = "half-round bit"\nto = "outside"\nfeed = "0.1 mm"\n\n', "", "", "a shaft is turned, filed, polished or lapped by a 'ring lap'"),
    (RING.format("plunger").replace('lap = "ring lap"\n', ""), "", "", "a shaft is turned, filed, polished"),
    (TURN.format("plunger").replace("depth", 'held_by = "pitch"\ndepth'), "", "", "cannot hold a shaft .*; known: 'centres and carrier'"),
    (TURN.format("turned rod"[:6]), 'plunger = "30 mm"', 'shaft_route = "turnd"\nplunger = "30 mm"', "'turnd', which is not there"),
    ("", 'name = "tide"', 'name = "tide"\nshaft_route = "sleeve"', "the sleeve inside it runs in it"),
    (RING.format("barrel") + TURN.format("plunger"), "", "", "has a 'ring lap', and what runs in it has a route of its own, 'plunger'; move"),
    (TURN.format("plunger").replace('"outside"', '"outside + 0.1 mm"'), "", "", "the outside ends at 16.11 mm, short of the finished 16.01 mm")])
def test_a_shaft_that_cannot_be_made_is_told_with_its_remedy(written, steps, old, new, said):
    if "routes.barrel" in steps:   # its two laps without a stock would be told first
        steps = steps.replace('pressure = "20 kPa"', 'pressure = "20 kPa"\nstock_on_diameter = "2 um"')
    with pytest.raises(study.StudyError, match=said):
        study.load(written(steps, old, new))


def test_no_other_tube_asks_for_what_the_shaft_rests_on(written):
    verdict = study.load(written(TURN.format("plunger"))).assess(draws=64)
    assert not any("plunger" in key or key.startswith("shaft.") for line in verdict.lines if line.tube in ("hours", "tide") for key in line.used)
