"""A route as a chain: what each operation finds and leaves, what it asks, and a new one added as a file would add it."""
import io
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader

from kit import benchlog, chain, operation, study, use
from kit.criteria import CRITERIA, Case
from kit.means import Means
from kit.operation import Outcome, asks, pooled
from kit.state import HOLDS, State
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 64


@pytest.fixture(scope="module")
def demo():
    return study.load()


@pytest.fixture
def case(demo):
    tube = demo.tubes[0]
    return Case(tube, demo.steps(tube), demo.workshop, demo.draws(N, seed=1), demo.use)


# --- the state ----------------------------------------------------------------------------------------------------------

def test_each_operation_finds_what_the_one_before_left(case):
    assert [each.name for each in case.operations] == ["drill", "ream", "ream", "turn", "file", "lap", "lap"]
    for before, after in zip(case.operations, case.operations[1:]):
        assert after.found.hole == before.leaves.hole and after.found.outside == before.leaves.outside
        np.testing.assert_array_equal(after.found.wander.m, before.leaves.wander.m)
    assert case.operations[0].found.hole == Q(0, "mm") and case.state.hole == case.tube.bore
    assert case.operations[0].found.outside == case.tube.outside + case.workshop.blank_stock
    assert case.state.outside.m_as("mm") == pytest.approx(case.tube.outside.m_as("mm"))


def test_what_laps_have_still_to_take_ends_at_nothing_or_beyond_it(case):
    first, last = (each for each in case.operations if each.name == "lap")
    np.testing.assert_allclose(last.found.lap_stock.m_as("um"), 6)   # its own stock, which the first one leaves to it
    np.testing.assert_allclose((first.planned[0] + last.found.lap_stock).m_as("um"), first.to_take.m_as("um"))
    left = case.state.lap_stock.m_as("um")
    np.testing.assert_allclose(left, 6 - np.broadcast_to(last.planned.m_as("um")[0], N))
    deep = left < 0   # what clears the scratches of the emery is more than the fit asks
    assert 0 < deep.sum() < N
    wider = use.made_clearance(case).m_as("um") - (case.tube.clearance + case["lapped.overrun"]).m_as("um")
    assert np.all(wider[deep] >= -left[deep] - 1e-9)   # and goes into the clearance


def test_a_lap_takes_no_less_than_clears_the_scratches_before_it(demo):
    """Scratches of coarse emery are deeper than 1 um: the lap that follows takes them off, whatever its plan says."""
    rough, fine = (dict(step) for step in demo.routes["sleeve"][-2:])
    rough |= {"abrasive": "emery, coarse", "name": "emery, coarse"}
    routes = demo.routes | {"sleeve": [*demo.routes["sleeve"][:-2], rough, fine | {"stock": Q(1, "um")}]}
    thin = replace(demo, routes=routes)
    last = Case(tube := thin.tubes[0], thin.steps(tube), thin.workshop, thin.draws(N, seed=1), thin.use).operations[-1]
    scratched = 2 * last.found.roughness.m_as("um")
    assert np.all(scratched > 1)
    assert np.all(last.planned.m_as("um")[0] >= scratched)


def test_a_quantity_is_worked_out_once_and_notes_what_it_rests_on_each_time():
    means, asked = Means(None, {"a.b": Q(2.0, "mm"), "c.d": Q(3.0, "mm")}), []

    def work_out():
        asked.append(1)
        return means["a.b"] + means["c.d"]

    state = State(means, wander=work_out).then(hole=lambda: Q(1, "mm"))
    for _ in range(2):
        means.used = set()
        assert state.wander == Q(5, "mm") and means.used == {"a.b", "c.d"}
    means.used = set()
    assert state.hole == Q(1, "mm") and means.used == set() and asked == [1]


def test_a_state_holds_what_it_says_and_nothing_else():
    with pytest.raises(AssertionError, match="does not hold"):
        State(Means(None, {}), colour=lambda: "red")
    with pytest.raises(AttributeError, match="colour"):
        State(Means(None, {})).colour
    assert all(isinstance(words, str) for words in HOLDS.values())


def test_what_fails_has_noted_what_it_asked_for():
    means = Means(None, {"a.b": Q(2.0, "mm")})
    means.used = {"before"}
    with pytest.raises(KeyError):
        State(means, wander=lambda: means["a.b"] + means["not there"]).wander
    assert means.used == {"before", "a.b", "not there"}


# --- what is asked ------------------------------------------------------------------------------------------------------

def test_every_criterion_of_an_operation_stands_among_all():
    """So that no outcome is worked out and never judged."""
    for kind in chain.OPERATIONS.values():
        assert kind.outcomes and set(kind.outcomes) <= set(CRITERIA)
        for criterion, method in kind.outcomes.items():
            assert getattr(kind, method).__doc__, criterion


def test_places_stand_in_the_order_of_the_route(case):
    names = [s.name for s in case.steps]
    assert list(CRITERIA["cord"](case).places) == names
    assert list(CRITERIA["lapping stock"](case).places) == names[-2:]


def test_hours_and_settled_values_have_a_row_a_step(case):
    for each in case.operations:
        assert len(each.hours) == len(each.steps) and all(np.all(h.m_as("h") > 0) for h in each.hours)
        assert all(len(np.atleast_2d(q.m)) == len(each.steps) for q in each.settled.values())


def test_what_is_settled_lies_within_its_bounds(case):
    for each in (one for one in case.operations if one.bounds):
        low, high, _ = (np.broadcast_to(q.m_as(each.settles[1]), each.setting.shape) for q in each.bounds)
        assert np.all(each.setting.m >= low * (1 - 1e-12)) and np.all(each.setting.m <= high * (1 + 1e-12)), each.name
        assert list(each.settled) == [each.settles[0]]


def test_no_feed_is_settled_below_what_bites(case):
    """A chip forms from a share of the edge's radius on; the feed is never less, dull as the edge is by then."""
    for each in case.done("drill", "ream"):
        least = each.cut.least_feed(case.means, case["edge.edge_radius"]).m_as("mm")
        assert np.all(each.bounds[0].m_as("mm") >= least * (1 - 1e-12))


def test_pooled_outcomes_keep_capacity_with_its_places():
    a = Outcome(Q(np.ones((2, 3)), "N"), Q(5.0, "N"), "N", ("a", "b"))
    b = Outcome(Q(np.full((1, 3), 2.0), "N"), Q(np.array([7.0, 8, 9]), "N"), "N", ("c",), by_hand=np.array([True, False, False]))
    both = pooled([a, b])
    assert both.places == ("a", "b", "c") and both.demand.shape == both.capacity.shape == (3, 3)
    np.testing.assert_array_equal(both.capacity.m, [[5, 5, 5], [5, 5, 5], [7, 8, 9]])
    np.testing.assert_array_equal(both.by_hand, [True, False, False])
    assert pooled([]) is None and pooled([a]).capacity is a.capacity


# --- a new operation ----------------------------------------------------------------------------------------------------

class Burnish(operation.Operation):
    """The outside rubbed smooth: a file and a row of OPERATIONS is all that it takes."""
    keys = {"to": str, "pressure": "kPa > 0"}
    needs = frozenset({"to"})
    expand = staticmethod(chain.OPERATIONS["file"].expand)

    @property
    def hours(self):
        return [Q(0.5, "h") for _ in self.steps]

    @asks("turning the outside", "N*m")
    def torque_asked(self, _):
        """Torque of rubbing, against what the bow keeps up."""
        return Q(0.01, "N*m") * np.ones((len(self.steps), N)), self.means.steady_torque


def test_an_operation_is_added_by_a_class_and_a_row(demo, monkeypatch):
    monkeypatch.setitem(chain.OPERATIONS, "burnish", Burnish)
    entry = {"operation": "burnish", "name": "burnish", "to": "outside"}
    tube = demo.tubes[0]
    steps = chain.expand([*demo.routes["sleeve"][:6], entry, *demo.routes["sleeve"][6:]], tube.bore, tube.outside,
                         tube.outside + demo.workshop.blank_stock, tube.core)
    made = Case(tube, steps, demo.workshop, demo.draws(N, seed=1), demo.use)
    assert [each.name for each in made.operations][5] == "burnish"
    places = CRITERIA["turning the outside"](made).places
    assert [place.split()[0] for place in places] == ["turn", "file", "burnish"]
    plain = Case(tube, demo.steps(tube), demo.workshop, demo.draws(N, seed=1), demo.use)
    np.testing.assert_array_equal(CRITERIA["least wall"](made).capacity.m, CRITERIA["least wall"](plain).capacity.m)


def test_an_operation_that_is_added_stands_on_the_bench_sheet(demo, monkeypatch):
    monkeypatch.setitem(chain.OPERATIONS, "burnish", Burnish)
    entry = {"operation": "burnish", "name": "burnish", "to": "outside"}
    routes = demo.routes | {"sleeve": [*demo.routes["sleeve"][:6], entry, *demo.routes["sleeve"][6:]]}
    more = replace(demo, routes=routes).only("hours")
    step = next(step for step in benchlog.steps(more, draws=N) if step.operation == "burnish")
    assert step.columns == ("minutes",) and step.expected["minutes"][1] == pytest.approx(30)
    assert "Other work" in PdfReader(io.BytesIO(benchlog.sheet(more))).pages[0].extract_text()
