"""What is common practice in the trade, set beside what the kit says of the demo study.

Every test here: common practice, no published source. Each states in a comment the numbers that the kit gave when it was
written (draws 4096, seed 1), so that a change of a table or a formula is seen even where the statement still holds. A check is
no evidence: where the kit disagrees, the test says so, by how much, and which assumption decides.
"""

from dataclasses import replace

import numpy as np
import pytest

from kit import criteria, evidence, fits, lap, lapping, routes, study
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

LAPPING = ("lapping torque", "lapping stock")
FORMING = ("drilling torque", "drilling thrust", "drill buckling", "reaming pass", "tool shank", "turning the outside", "cord", "blank allowance",
           "least wall", "wall: grip", "wall: twist", "wall: pinch", "wall: push")
N = 4096
SMALL, LARGER = "25 mm", "40 mm"   # pulleys of a small bow lathe: 0.33 and 0.55 N*m at the spindle over half an hour


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def nest(demo):
    return demo.only("hours", "tide", "moon", "feasts")


@pytest.fixture(scope="module")
def half(nest):
    """Half-millimetre walls, all steps of making."""
    return nest.with_(wall="0.5 mm").assess(draws=N, criteria=FORMING + LAPPING)


# --- walls ----------------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("tubes", [("hours", "tide", "moon"), ("hours", "tide", "moon", "feasts")], ids=len)
@pytest.mark.parametrize("pulley", [SMALL, LARGER])
def test_at_half_a_millimetre_the_forming_of_a_nest_is_likely(demo, tubes, pulley):
    """Common practice, no published source: nests of three and of four sleeves."""
    nest = demo.only(*tubes).with_(wall="0.5 mm", pulley=pulley)
    verdict = nest.assess(draws=N, criteria=FORMING)
    # missed: 0.8 was asked. 0.50 and 0.53 with three sleeves on the small and the larger pulley, 0.45 and 0.48 with four. What decides is how hard finger
    # and thumb pinch the bare sleeve (3 to 20 N): nearly nine tenths of the spread of 'least wall'
    assert 0.4 < verdict.chance < 0.65
    assert verdict.limiting == "least wall" and verdict.moved_by(verdict.limiting_line).startswith("pinch of finger and thumb")
    gentle = nest.with_(**{"hand.pinch": "5 N"}).assess(draws=N, criteria=FORMING)
    assert gentle.chance > verdict.chance + 0.1 and gentle.limiting == "drilling thrust"   # 0.70 to 0.77: then the push on a flat drill decides, 0.83


def test_at_a_quarter_of_a_millimetre_it_is_more_likely_than_not_and_no_more(nest):
    """Common practice, no published source: walls of that order are made."""
    verdict = nest.with_(wall="0.25 mm").assess(draws=N, criteria=FORMING)
    # missed: 0.5 was asked, 0.11 is found; again the pinch decides. A hand that never presses harder than 2 N makes it 0.73, one of 3 N 0.54
    assert verdict.chance < 0.25 and verdict.limiting == "least wall"
    assert verdict.moved_by(verdict.limiting_line).startswith("pinch of finger and thumb")
    assert nest.with_(wall="0.25 mm", **{"hand.pinch": "2 N"}).assess(draws=N, criteria=FORMING).chance > 0.5


def test_at_a_twentieth_of_a_millimetre_it_is_out_of_reach(nest):
    """Common practice, no published source: no wall of that order is made so."""
    verdict = nest.with_(wall="0.05 mm").assess(draws=N, criteria=FORMING)
    assert verdict.chance < 0.01                        # 0.00
    assert verdict.chances["least wall"] < 0.01 and verdict.chances["wall: pinch"] < 0.05   # 0.00 and 0.00; torque is not what prevents it
    assert verdict.chances["reaming pass"] > 0.99 and verdict.chances["turning the outside"] > 0.98


def test_lapping_included_it_stays_likely(half):
    """Common practice, no published source."""
    # missed: 0.8 was asked, 0.45 is found. Lapping costs no more than a fifth: 'lapping stock' is met in 0.81, the wall in 0.76
    assert 0.35 < half.chance < 0.6 and half.limiting == "least wall"
    assert half.chances["lapping stock"] > 0.7 and half.chances["lapping torque"] > 0.98


# --- which tool stalls the lathe ----------------------------------------------------------------------------------------------------------

BROACH = routes.Tool("polygon broach", teeth=5, lead_angle=Q(2, "deg"))   # a slender taper of five sides
TOOLS = {"D-bit": routes.Tool("half-round bit"), "fluted reamer": routes.Tool("fluted reamer"), "polygon broach": BROACH}


def turned(demo, tool, radial_stock, edge="freshly ground", pulley=SMALL):
    """(chance that the bow turns a pass to 10 mm at the minimum chip thickness, margins of the wrench: 5 % and median)."""
    draws = routes.reference_draws(edge=edge, n=N, seed=1)
    cut = routes.Passes((routes.Step("ream", "", Q(10, "mm") - 2 * Q(radial_stock, "mm"), Q(10, "mm"), tool=TOOLS[tool]),))
    need, bow = cut.torque(draws)[0], routes.bow_torque(draws, pulley=pulley)
    return float(np.mean(bow >= need)), np.quantile((routes.wrench_torque(draws) / need).m_as(""), (0.05, 0.5))


@pytest.mark.parametrize("edge, stock, low, high", [
    ("freshly ground", 0.25, 0.7, 0.95),   # 0.84
    ("used", 0.125, 0.6, 0.9),             # 0.75
    ("used", 0.25, 0.15, 0.5)])            # 0.30
def test_a_fluted_reamer_of_ten_millimetres_may_stall_a_small_bow_lathe(demo, edge, stock, low, high):
    """Common practice, no published source: it stalls at times and not always; two hands on a wrench finish the same pass with ease."""
    turns, (wrench_5, wrench) = turned(demo, "fluted reamer", stock, edge)
    assert low < turns < high
    assert wrench_5 > 4 and wrench > 10    # margins of the wrench, 5 % and median: 13 and 31; 11 and 25; 5.4 and 13


def test_which_tools_stall_and_which_do_not(demo):
    """Common practice, no published source: the same pass, 0.25 mm of radial stock, freshly ground, small pulley."""
    chances = {tool: turned(demo, tool, 0.25)[0] for tool in TOOLS}
    assert chances["D-bit"] > 0.99              # 1.00: one edge, square to the bore, torque 0.02 N*m
    assert 0.7 < chances["fluted reamer"] < 0.95   # 0.84: six edges and the margins, 0.18 N*m
    assert chances["polygon broach"] < 0.01        # 0.00: five long edges that scrape, 3.8 N*m
    assert turned(demo, "D-bit", 0.25, edge="used")[0] > 0.98   # 0.99


def test_a_broach_is_for_thin_stock_and_for_the_hand(demo):
    """Common practice, no published source: with a broach two hands take the last hundredths of a millimetre, not a quarter."""
    bow, (wrench_5, wrench) = turned(demo, "polygon broach", 0.05)
    assert bow < 0.15 and wrench_5 > 2 and wrench > 5            # 0.05; 2.7 and 7.0
    _, (wrench_5, wrench) = turned(demo, "polygon broach", 0.25)
    assert wrench_5 < 1 and wrench < 2                           # 0.55 and 1.4: at the limit of two hands


# --- turning, filing, lapping -------------------------------------------------------------------------------------------------------------

def test_turning_and_filing_the_outside_ask_for_little(half):
    """Common practice, no published source: margin of 3 and more, and that in nineteen draws of twenty."""
    least = min(line.quantiles("margin")[0] for line in half.lines if line.criterion == "turning the outside")
    assert least >= 3                                            # 5.5 (5 %) and 16 (median), of the widest sleeve


def test_turning_and_filing_on_the_small_pulley(nest):
    """Common practice, no published source: with the small pulley the margin of 3 is that of the median."""
    verdict = nest.with_(wall="0.5 mm", pulley=SMALL).assess(draws=N, criteria=["turning the outside"])
    margins = np.array([line.quantiles("margin") for line in verdict.lines])
    assert margins[:, 1].min() >= 3 and margins[:, 0].min() >= 2   # 9.5 (median) and 3.2 (5 %)


def test_the_bow_turns_the_lap_at_the_planned_pressure(half, nest):
    """Common practice, no published source: any lathe that turns the work turns the lap."""
    assert all(step.pressure == Q(30, "kPa") for tube in nest.tubes for step in nest.steps(tube) if step.operation == "lap")   # the plan
    lines = [line for line in half.lines if line.criterion == "lapping torque"]
    assert min(line.chance for line in lines) > 0.99                     # 0.995
    assert min(line.quantiles("margin")[0] for line in lines) > 1.5      # 1.8 (5 %) and 5.1 (median), of the widest sleeve


# --- how many reamers a nest takes --------------------------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def bores(demo):
    return Q([t.bore.m_as("mm") for t in demo.with_(wall="0.5 mm").tubes[:3]], "mm")   # 5, 6.015 and 7.03 mm


def reamers(demo, bores, tool, pulley, edge="freshly ground", most_stock=None):
    draws = routes.reference_draws(edge=edge, n=N, seed=1)
    return routes.reamer_set(start="4.5 mm", bores=bores, drive=routes.bow_torque(draws, pulley=pulley), tool=tool, draws=draws, most_stock_on_diameter=most_stock)


def test_by_torque_alone_three_bores_take_three_d_bits(demo, bores):
    """No more D-bits than bores; a set of five, which is common practice (no published source), does not follow from torque."""
    assert len(reamers(demo, bores, "half-round bit", SMALL)) == 3            # 5.00 6.02 7.03
    assert len(reamers(demo, bores, "half-round bit", SMALL, "used")) == 3
    # fluted reamers on the small lathe come to five by torque alone, two of them between the bores
    assert len(reamers(demo, bores, "fluted reamer", SMALL)) == 5             # 5.00 5.78 6.02 6.67 7.03
    assert len(reamers(demo, bores, "fluted reamer", LARGER)) == 3            # 5.00 6.02 7.03
    assert 8 <= len(reamers(demo, bores, "fluted reamer", SMALL, "used")) <= 12   # 10: used edges


@pytest.mark.parametrize("tool", ["half-round bit", "fluted reamer"])
@pytest.mark.parametrize("pulley", [SMALL, LARGER])
def test_steps_of_about_half_a_millimetre_give_a_set_of_five(demo, bores, tool, pulley):
    """Common practice, no published source. The kit comes to five with such a rule for each pass, for the sake of chips and finish."""
    table = reamers(demo, bores, tool, pulley, most_stock="0.52 mm")
    assert len(table) == 5                                                    # 5.00 5.52 6.02 6.54 7.03, whatever tool and pulley
    assert table.bore.tolist() == [True, False, True, False, True]
    assert table.chance_wrench.min() > 0.99


# --- the order of work -----------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("wall, least_gap", [("0.4 mm", 0.2), ("0.25 mm", 0.02)])   # 0.38 against 0.09; 0.026 against 0.000
def test_boring_after_the_outside_is_finished_fails_at_thicker_walls(nest, wall, least_gap):
    """Common practice, no published source: ream in thick stock and true the outside on an arbor in that bore."""
    first, last = (nest.with_(wall=wall, order=order).assess(draws=N, criteria=FORMING) for order in ("bore first", "outside first"))
    assert first.chances["least wall"] - last.chances["least wall"] > least_gap   # the whole wander of the bore is in the wall
    assert last.chances["wall: grip"] < 0.5 < 0.99 < first.chances["wall: grip"]   # 0.36, 0.06 and 1.00: the clamp makes the thin wall oval
    assert last.chance < 0.05 and last.chance < 0.2 * first.chance               # 0.02 and 0.00; 0.27 and 0.02


def test_the_order_matters_more_the_thinner_the_wall(nest):
    """Common practice, no published source: even were the tube held without any squeeze."""
    held = [c for c in FORMING if c != "wall: grip"]
    chances = {(wall, order): nest.with_(wall=wall, order=order).assess(draws=N, criteria=held).chance
               for wall in ("0.5 mm", "0.4 mm", "0.25 mm") for order in ("bore first", "outside first")}
    ratio = [chances[wall, "outside first"] / chances[wall, "bore first"] for wall in ("0.5 mm", "0.4 mm", "0.25 mm")]
    assert ratio[0] > ratio[1] > ratio[2]        # 0.62, 0.37, 0.06
    # missed: that at half a millimetre the order hardly matters (0.9). What decides is the wander of a bore of 18 diameters
    assert 0.4 < ratio[0] < 0.9 and ratio[2] < 0.5


# --- what fit comes out -------------------------------------------------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def surfaces():
    """um on diameter: how much larger than its tool a bore comes out, and what stands proud of the mean."""
    rows = {}
    for of in ("drilled", "reamed", "turned", "lapped"):
        rows |= evidence.reference("workshop", of, of)
    for of, tool in (("drilled", "two-lip drill"), ("reamed", "half-round bit")):
        rows |= {key: row for key, row in evidence.reference("form", tool, of).items() if key.endswith("oversize")}
    return {key: q.m_as("um") for key, q in evidence.draw(rows.values(), N, seed=1).items()}


def play(surfaces, bore):
    """Play between the mean surfaces where the shaft is turned until its proudest places have the size of the tool that made the bore:
    the bore's oversize, half the shaft's form error, and the layer of roughness on both sides."""
    return surfaces[f"{bore}.oversize"] + surfaces["turned.form_error"] / 2 + surfaces["turned.roughness"]


def fit_of(size, um):
    return fits.nearest_fit(size=size, clearance=Q(float(um), "um")).name


def test_as_drilled_the_hole_gives_a_free_running_fit_or_looser(surfaces):
    """Common practice, no published source: with a shaft of the drill's size."""
    um = play(surfaces, "drilled")
    assert fit_of("10 mm", np.median(um)) == "free running"                      # 108 um
    assert fit_of("5 mm", np.median(um)) in ("free running", "loose running")    # loose running
    assert np.quantile(um, 0.05) > 30                                            # 49 um: there is play in any case (to 275)


def test_reamed_bore_and_turned_shaft_give_a_close_running_fit(surfaces):
    """Common practice, no published source."""
    um = play(surfaces, "reamed")
    for size in ("5 mm", "7 mm", "10 mm", "16 mm"):
        assert fit_of(size, np.median(um)) == "close running"                    # 32 um (16 to 69)
    assert np.quantile(um, 0.95) < 80 < np.median(play(surfaces, "drilled"))


def test_the_lapping_allowance_is_a_light_interference_and_the_lapped_fit_sliding(demo):
    """Common practice, no published source."""
    left, wanted = demo.workshop.left_on.m_as("um"), demo.tubes[0].clearance.m_as("um")
    before, after = (fits.nearest_fit(size="5 mm", clearance=Q(um, "um")) for um in (-left, wanted))
    assert left > 0 and before.fit.clearance_min.m_as("um") < 0                  # 10 um larger than the bore: locational interference
    assert after.name == "sliding"                                               # 15 um


def test_the_hours_of_lapping_and_why_a_coarser_grain_comes_first(demo):
    """Common practice, no published source: the oxide alone may take days, so a coarser grain takes the bulk."""
    *before, first, last = demo.routes["sleeve"]
    coarse_first = replace(demo, routes=demo.routes | {"sleeve": [*before, first | {"abrasive": "emery, coarse", "name": "emery, coarse"}, last]})
    tube = coarse_first.tubes[0]
    case = criteria.Case(tube, coarse_first.steps(tube), demo.workshop, coarse_first.draws(N, seed=1), demo.use)
    stock = case.done("lap")[0].to_take
    hours = {each.step.abrasive: (stock / (2 * lap.removal_rate(case.means, each.step) * case["drive.attended"])).m_as("h") for each in case.done("lap")}
    coarse, oxide = hours["emery, coarse"], hours["haematite, levigated"]
    # the skin is harder than the metal, and bore and file leave more form to take out: 49 um (39 to 66) where it was 35
    assert np.median(coarse) < 4 and np.quantile(coarse, 0.95) < 16              # 2.7 h (0.5 to 13)
    assert 8 < np.median(oxide) < 30 and np.quantile(oxide, 0.95) > 60           # 15 h (1.9 to 122)
    assert np.mean(oxide > 8) > 0.5 and np.mean(oxide > 24) > 0.2                # more than a day in two draws of three, than three in every third


def test_the_last_grain_must_be_fine(demo, surfaces):
    """Common practice, no published source: coarse grain, even broken down, keeps the pair further apart than a sliding fit allows."""
    def left(abrasive):
        rows = evidence.reference("abrasives", abrasive, "grain") | evidence.reference("workshop", "spent grain", "spent")
        drawn = evidence.draw(rows.values(), N, seed=1)
        return lapping.clearance_left(grain=drawn["grain.grain"], spent_share=drawn["grain.spent_share"], bridging=drawn["spent.bridging"],
                                      shaft_roughness=Q(surfaces["lapped.roughness"], "um"), bore_roughness=Q(surfaces["lapped.roughness"], "um")).m_as("um")
    wanted = demo.tubes[0].clearance.m_as("um")
    assert np.mean(left("haematite, levigated") < wanted) > 0.99                 # 1.00: 5 um (3 to 10)
    assert np.mean(left("emery, coarse") < wanted) < 0.05                        # 0.00: 43 um (24 to 75)
    assert fit_of("5 mm", np.median(left("emery, coarse"))) not in ("sliding", "close running")
