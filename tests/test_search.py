"""Plans judged side by side: the same numbers as each judged by itself; and what changes promise together, beside what they do."""
import numpy as np
import pytest

from kit import choices, search, study, words
from kit.outcomes import cases_of

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
PUMP = study.load(study.DEMO.parent / "dosing-pump")
N = 2**9


@pytest.fixture(scope="module")
def found():
    return {c.key: c for c in choices.choices(PUMP)}


@pytest.fixture(scope="module")
def side(found):
    return search.Search(PUMP, list(found.values()), N, 1, None)


def margins(plan, values):
    from kit.judge import lines
    return {(line.tube, line.criterion): line.margin for line in lines(plan, values, N)[0]}


@pytest.mark.parametrize("changes", [{}, {"pulley": 1.5}, {"last_lap.hours": 2.0}, {"turn.depth": 0.5}, {"ream.stock": 0.5},
                                     {"turn.depth": 0.5, "last_lap.abrasive": "pumice, powdered"}, {"drive": "bow lathe"}])
def test_what_is_taken_from_another_plan_is_what_it_would_be_anew(changes, side, found):
    """Operations taken from the plan as it is, against the whole chain worked out for this plan alone, on the same draws."""
    side.judge({})
    judged = side.judge(changes)
    plan = PUMP
    for key, value in changes.items():
        plan = choices.changed(plan, found[key], value)
    alone = margins(plan, judged.values)
    for row, name in zip(judged.logs, side.names):
        if name in alone:
            assert np.allclose(row, np.clip(np.log(alone[name]), -search.FAR, search.FAR), atol=1e-5), name
    assert judged.chance == np.logical_and.reduce([m >= 1 for m in alone.values()]).mean()


def test_early_operations_are_taken_over_and_late_ones_are_not(found):
    values = PUMP.draws(64, 1)
    now = cases_of(PUMP, values)
    lapped = cases_of(choices.changed(PUMP, found["last_lap.hours"], 2.0), values, like=now)[0].operations
    shared = [a is b for a, b in zip(now[0].operations, lapped)]
    assert shared[:-1] == [True] * (len(shared) - 1) and not shared[-1]
    wider = cases_of(choices.changed(PUMP, found["pulley"], 2.0), values, like=now)[0].operations
    assert not any(a is b for a, b in zip(now[0].operations, wider))


def test_all_plans_share_their_draws(side):
    """What a change does not touch is drawn the same, whatever rows the change brings along."""
    one, other = side.judge({}), side.judge({"last_lap.abrasive": "pumice, powdered"})
    same = [key for key in one.values if key in other.values and not key.startswith("abrasive")]
    assert len(same) > 100 and all(np.array_equal(one.values[key].m, other.values[key].m) for key in same)


def test_margins_of_changes_add_up_where_they_are_powers(side, found):
    """Two changes together, predicted by the margins of each alone, beside the two judged together: within two hundredths
    of the chance, where one does not settle what the other asks."""
    now, (a, b) = side.judge({}), ({"hours": 2.0}, {"last_lap.hours": 2.0})
    both = side.judge(a | b)
    promised = search.all_met(side.judge(a).logs + side.judge(b).logs - now.logs).mean()
    assert promised == pytest.approx(both.chance, abs=0.02)


def test_the_hours_and_the_metal_are_those_of_the_plan(side):
    judged = side.judge({"blank_stock": 2.0})
    plan = choices.changed(PUMP, side.choices["blank_stock"], 2.0)
    verdict = plan.assess(2**12, seed=5)
    labour = next(line for line in verdict.lines if line.criterion == "labour")
    assert judged.hours == pytest.approx(np.median(labour.demand), rel=0.05)
    tube, = plan.tubes
    ring = np.pi / 4 * ((tube.outside + plan.workshop.blank_stock)**2 - tube.core**2) * tube.length
    assert judged.metal == pytest.approx((ring * np.median(verdict.draws["alloy.density"])).m_as("g"), rel=0.02)


def test_a_search_makes_no_warnings_and_its_proposals_do(side):
    from kit.units import told, unheard, warn_outside
    with told() as heard, unheard():
        warn_outside(5.0, 0, 1, "mm", "{} outside {}")
    with told() as aloud:
        warn_outside(5.0, 0, 1, "mm", "{} outside {}")
    assert not heard and len(aloud) == 1 and words.with_unit("5.0", "mm") in aloud[0]
