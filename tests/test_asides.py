"""kit.asides: what pages work out beside their figures, by how it must behave; the pages' own asserts hold the demo's story."""
import numpy as np
import pytest

from kit import asides, criteria, routes, study, units, use, words
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")


@pytest.fixture(scope="module")
def demo():
    return study.load()


def test_each_grade_clears_what_the_one_before_left_and_the_finest_mirrors_most():
    grades = asides.polish_grades()
    stock, left = ([each.m_as("um") for each in grades[column]] for column in ("stock", "Ra left"))
    assert stock == sorted(stock, reverse=True) and left == sorted(left, reverse=True)
    assert stock[1] == pytest.approx(3 * 6 * left[0])   # three times the depth of the scratches, of which Rz is six times Ra
    for nm in asides.LIGHT:
        assert list(grades[nm]) == sorted(grades[nm])
    assert (grades[450] <= grades[650]).all()   # a rougher face still mirrors red
    said = asides.polish_told(grades)
    assert list(said.columns)[-3:] == ["mirrored at 450 nm", "mirrored at 550 nm", "mirrored at 650 nm"] and said["grain"].str.contains("µm").all()


def test_tools_are_compared_in_the_study_and_in_its_corner(demo):
    tools = {"D-bit": routes.Tool("half-round bit"), "fluted": routes.Tool("fluted reamer")}
    table, by_bow = asides.tools_compared(demo, tools)
    assert len(table) == 4 and set(by_bow) == {(where, tool) for where in ("corner", "study") for tool in tools}
    assert by_bow["corner", "fluted"] < by_bow["study", "fluted"] and table["chance by bow"].tolist() == [words.chance(each) for each in by_bow.values()]


def test_a_smaller_pulley_needs_no_fewer_reamers_and_the_set_ends_at_the_widest_bore(demo):
    with units.unheard():
        few, many = asides.reamer_sets(demo), asides.reamer_sets(demo.with_(pulley=demo.workshop.pulley / 2))
    assert all(many.counts[name] >= count for name, count in few.counts.items())
    widest = max(t.bore.m_as("mm") for t in demo.tubes if t.position is not None)
    assert few.fluted["diameter_mm"].max() == pytest.approx(widest) and len(few.fluted) == few.counts["fluted reamers, by torque alone"]
    assert len(asides.reamers_told(few.fluted)) == len(few.fluted) and np.median(few.limits["bow"]) > 0


def test_a_nest_strays_more_than_its_outermost_sleeve_alone_and_grit_wears_more_than_oil(demo):
    nest = demo.only(*(t.name for t in demo.tubes if t.position is not None))
    said, stray, alone, worn, play = asides.nest_stray(nest, nest.assess(draws=256, seed=1))
    assert stray.worst > alone.worst and stray.worst >= stray.likely and play.m > 0
    clean, grit = worn.values()
    assert grit.m_as("um") == pytest.approx(200 * clean.m_as("um"))   # as their wear coefficients
    assert any(line.startswith("pointer shake: ") for line in said) and all("µm" in line or "mm" in line or "mrad" in line for line in said)


def test_the_hold_of_a_lapped_pair_over_a_reamed_one_is_by_the_law_it_is_given(demo):
    barrel = next(t for t in demo.tubes if t.plunger is not None)
    said, gain = asides.lapped_or_reamed(demo, barrel, lambda clearance: {"dry": Q(1.0, "s") / (clearance / Q(1.0, "um")).to("")**3})
    _, linear = asides.lapped_or_reamed(demo, barrel, lambda clearance: {"dry": Q(1.0, "s") / (clearance / Q(1.0, "um")).to("")})
    np.testing.assert_allclose(gain, linear**3)
    assert "lapped by this plan" in said[0] and said[1].endswith("4096 draws, seed 1)")


def test_a_drilled_fit_is_wider_than_a_reamed_one_and_the_lapped_one_is_the_plans(demo):
    case = criteria.Case(demo.tubes[0], demo.steps(demo.tubes[0]), demo.workshop, demo.draws(asides.DRAWS, seed=1), demo.use)
    table, found = asides.fits_by_making(case)
    drilled, reamed, lapped = (np.median(found[name].m_as("um")) for name in table.index)
    assert drilled > reamed > lapped == pytest.approx(np.median(use.made_clearance(case).m_as("um")))
    assert table["nearest preferred fit"].map(bool).all()


def test_the_faster_it_turns_the_more_the_oil_carries():
    said, regimes = asides.film_regimes()
    order = ("boundary", "mixed", "film")
    places = [order.index(each) for each in regimes.values()]
    assert places == sorted(places) and places[0] == 0 and places[-1] == 2 and said[-1].startswith("the oil begins to carry at ")


def test_two_budgets_agree_on_the_uncertainty_and_not_on_the_low_end(demo):
    table, budget = asides.two_budgets(demo)
    assert budget["gum_u"] == pytest.approx(budget["u"], rel=0.1) and budget["gum_low"] < budget["low"]
    assert list(table.columns) == ["by draws", "by slopes"] and table.map(lambda cell: cell.endswith(" N·m")).all(axis=None)


@pytest.mark.slow
def test_metals_of_a_name_are_compared_at_half_the_wall(demo):
    nest = demo.only("hours")
    table, chances = asides.metals_compared(nest)
    assert len(table) > 1 and all(name.startswith("tin bronze") for name in table.index)
    half = nest.with_(wall=nest.tubes[0].wall / 2).assess(draws=asides.DRAWS, seed=1)
    assert chances[demo.part["alloy"]]["all together"] == half.chance


@pytest.mark.slow
def test_a_wall_that_wore_was_thicker(demo):
    said, over = asides.worn_find(demo.only("hours"), "0.30 mm")
    assert said[0].startswith("wall measured 0.30 mm; wall as made 0.4") and min(map(float, over.index)) > 0.30
