"""kit.settle: how a feed or a pressure is settled at the bench, on small made-up limits; what may be settled, what is felt, what bounds what."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import settle
from kit.operations.settle import BEST, FEEL, HINDSIGHT, PLANNED, WAYS, Limit

RNG = np.random.default_rng(7)
N = 400
ERROR = np.exp(RNG.normal(0, 0.1, N))


def stall(strength, power=1.0, felt=True, name="stall"):
    """A demand that grows with the setting, against a strength: (settings, rows, n)."""
    return lambda setting: Limit(name, "N", setting**power, np.broadcast_to(strength, setting.shape[1:]), felt)


def tired(strength, name="tired"):
    """What gets easier the quicker it is done: a demand that falls with the setting."""
    return lambda setting: Limit(name, "N", 1 / setting, np.broadcast_to(strength, setting.shape[1:]), True)


def settled(*limits, way=FEEL, low=1.0, high=10.0, wish=5.0, error=1.0, reserve=1.2, n=1):
    error = np.broadcast_to(np.asarray(error, float), (n,))
    low, high, wish = (np.broadcast_to(np.asarray(x, float), (1, n)) for x in (low, high, wish))
    return settle.settle(low, high, wish, lambda setting: [limit(setting) for limit in limits], way, error, reserve)


def value(*limits, **given):
    return settled(*limits, **given).value[0, 0]


def chance(*limits, way, strength=None, **given):
    found = settled(*limits, way=way, error=ERROR, n=N, **given)
    return float(np.mean(found.met.all(axis=0)))


# --- the four ways ------------------------------------------------------------------------------------------------------

def test_as_planned_it_is_the_wish_whatever_comes_of_it():
    assert value(stall(2.0), way=PLANNED) == 5 and not settled(stall(2.0), way=PLANNED).met.any()
    assert value(stall(200.0), way=PLANNED) == 5


def test_by_feel_it_is_the_quickest_that_keeps_the_reserve():
    """Demand equal to the setting, strength 6: a reserve of a fifth is kept at 5. On a logarithmic grid a power law is interpolated exactly."""
    assert value(stall(6.0)) == pytest.approx(5, rel=1e-9)
    assert value(stall(6.0), reserve=1.5) == pytest.approx(4, rel=1e-9)
    assert value(stall(6.0, power=2.0)) == pytest.approx(np.sqrt(5), rel=1e-9)


def test_who_could_do_more_does_more_up_to_the_most():
    assert value(stall(100.0)) == 10 and value(stall(100.0), high=7.0) == 7


def test_where_nothing_contents_it_is_what_comes_nearest():
    assert value(stall(0.5)) == 1               # stalls at any feed: the least
    assert value(tired(0.05)) == 10             # too slow at any feed: the most
    assert not settled(stall(0.5)).met.any()


def test_all_limits_settle_one_value_together():
    both = settled(stall(6.0), stall(3.6, name="slips"))
    assert both.value[0, 0] == pytest.approx(3, rel=1e-9) and set(both.limits) == {"stall", "slips"}
    between = value(stall(6.0), tired(0.4))     # not below 2.5 for the one, not above 6 for the other: as quick as the reserve allows
    assert between == pytest.approx(5, rel=1e-9)


def test_the_best_single_setting_is_one_share_of_the_wish_for_all_draws():
    strength = np.linspace(1, 9, N)
    found = settled(stall(strength), way=BEST, n=N)
    assert len(set(found.value[0])) == 1
    assert found.met.mean() >= settled(stall(strength), way=PLANNED, n=N).met.mean()


def test_hindsight_is_each_draws_quickest_that_meets_all():
    strength = np.linspace(1.5, 9, N)
    found = settled(stall(strength), way=HINDSIGHT, n=N)
    assert found.met.all() and np.all(found.value[0] <= strength * (1 + 1e-9))
    assert np.all(found.value[0] >= settled(stall(strength), way=FEEL, n=N).value[0] - 1e-9)


@pytest.mark.parametrize("felt", [True, False])
@given(seed=st.integers(0, 10_000))
def test_hindsight_is_never_below_the_others(felt, seed):
    rng = np.random.default_rng(seed)
    limits = (stall(rng.lognormal(1.2, 0.8, N), rng.uniform(0.5, 2), felt), tired(rng.lognormal(-1, 0.5, N)),
              stall(rng.lognormal(1.5, 0.5, N), 1, True, "slips"))
    low, high, wish = sorted(rng.uniform(0.2, 20, 3))[0], None, None
    low, wish, high = sorted(rng.uniform(0.2, 20, 3))
    met = {way: settled(*limits, way=way, low=low, wish=wish, high=high, error=ERROR, n=N).met for way in WAYS}
    for way in WAYS:
        assert not np.any(met[way] & ~met[HINDSIGHT]), way   # draw by draw, not only in the mean


# --- what is felt and what is not ---------------------------------------------------------------------------------------

def test_a_felt_limit_gets_a_second_try():
    """A hand that feels too little (1 against 2) goes too far, feels the stall, and keeps the reserve at the second try; one that feels too much stays
    short, and has no cause to try again."""
    numb, tender = value(stall(6.0), error=2.0), value(stall(6.0), error=0.5)
    assert numb == pytest.approx(5, rel=1e-9)                      # not 10, where it stalls
    assert tender == pytest.approx(6 / (1.2 / 0.5), rel=1e-9)      # 2.5
    assert settled(stall(6.0), error=2.0).met.all()
    modest = value(stall(6.0), error=1.1)                          # still inside the reserve: nothing was felt to go too far
    assert modest == pytest.approx(6 / (1.2 / 1.1), rel=1e-9)


def test_what_is_not_felt_keeps_the_reserve_to_the_usual_capacity():
    """Half of the tools stand 3, half 12, and nobody can tell which: the median counts, and the weak ones break."""
    capacity = np.where(np.arange(N) % 2, 3.0, 12.0)
    blind = settled(stall(capacity, felt=False), n=N)
    usual = np.median(capacity)
    np.testing.assert_allclose(blind.value[0], usual / 1.2, rtol=1e-9)   # one and the same for all
    np.testing.assert_array_equal(blind.met[0], capacity >= usual / 1.2)
    seen = settled(stall(capacity), n=N)
    assert seen.met.all() and blind.met.mean() == 0.5


def test_what_is_not_felt_gets_one_try():
    assert value(stall(6.0, felt=False), error=1.3) == pytest.approx(6 * 1.3 / 1.2, rel=1e-9)   # too far, and broken
    assert not settled(stall(6.0, felt=False), error=1.3).met.any()


def test_more_reserve_breaks_less_and_goes_slower():
    capacity = np.exp(RNG.normal(1.5, 0.4, N))
    found = [settled(stall(capacity, felt=False), n=N, error=ERROR, reserve=reserve) for reserve in (1.0, 1.2, 2.0)]
    met, speed = [f.met.mean() for f in found], [f.value.mean() for f in found]
    assert met[0] < met[1] < met[2] and speed[0] > speed[1] > speed[2]


# --- bounds -------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("way", WAYS)
@given(seed=st.integers(0, 10_000))
def test_what_is_settled_stays_within_its_bounds(way, seed):
    rng = np.random.default_rng(seed)
    low = rng.uniform(0.1, 5, (1, N))
    high = low * rng.uniform(0.5, 8, (1, N))      # at times below the least: then the least
    wish = rng.uniform(0.01, 60, (1, N))          # and a wish outside both
    found = settled(stall(rng.lognormal(1, 1, N)), tired(rng.lognormal(-1, 1, N)), way=way, low=low, high=high, wish=wish, error=ERROR, n=N)
    assert np.all(found.value >= low * (1 - 1e-12)) and np.all(found.value <= np.maximum(low, high) * (1 + 1e-12))


def test_bounds_that_leave_one_value_leave_one_value():
    for way in WAYS:
        assert value(stall(100.0), way=way, low=4.0, high=4.0) == pytest.approx(4, rel=1e-12)


# --- what is told -------------------------------------------------------------------------------------------------------

def test_a_met_step_tells_its_margins_at_its_best_setting():
    """Settled at its limit by intent, it would always tell the reserve; what it could do is at the setting of the greatest least margin."""
    found = settled(stall(6.0))
    demand, capacity, unit = found.limits["stall"]
    assert (capacity / demand)[0, 0] == pytest.approx(6) and unit == "N"      # at the least feed of 1
    assert found.value[0, 0] == pytest.approx(5)


def test_a_failed_step_tells_its_margins_where_it_was_settled():
    capacity = np.where(np.arange(N) % 2, 3.0, 12.0)
    demand, told, _ = settled(stall(capacity, felt=False), n=N).limits["stall"]
    failed = told[0] < demand[0]
    np.testing.assert_allclose(demand[0][failed], 7.5 / 1.2, rtol=1e-9)
    assert np.all(told[0][failed] == 3)


@pytest.mark.parametrize("way", WAYS)
def test_telling_the_best_margin_turns_no_failure_into_a_success(way):
    strength = np.exp(RNG.normal(1, 0.7, N))
    found = settled(stall(strength, felt=False), tired(np.full(N, 0.4)), way=way, n=N, error=ERROR)
    at = found.value[0]
    really = (strength >= at) & (0.4 >= 1 / at)
    np.testing.assert_array_equal(found.met[0], really)


# --- one draw, one row --------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("way", [PLANNED, FEEL, HINDSIGHT])
def test_one_draw_alone_is_settled_as_among_others(way):
    strength = np.exp(RNG.normal(1, 0.6, N))
    together = settled(stall(strength), tired(np.full(N, 0.4)), way=way, n=N, error=ERROR)
    for i in range(0, N, 50):
        alone = settled(stall(strength[[i]]), tired(np.full(1, 0.4)), way=way, error=ERROR[[i]])
        assert alone.value[0, 0] == pytest.approx(together.value[0, i], rel=1e-9)
        assert alone.met[0, 0] == together.met[0, i]


def test_rows_are_settled_each_for_itself():
    strength = np.array([[2.4], [6.0], [600.0]])
    ask = lambda setting: [Limit("stall", "N", setting, strength)]   # noqa: E731
    shape = (3, 1)
    found = settle.settle(np.full(shape, 1.0), np.full(shape, 10.0), np.full(shape, 5.0), ask, FEEL, np.ones(1), 1.2)
    np.testing.assert_allclose(found.value[:, 0], [2, 5, 10], rtol=1e-9)


def test_a_demand_of_nothing_is_met_and_settles_nothing():
    nothing = lambda setting: Limit("idle", "N", 0 * setting, np.ones(setting.shape[1:]))   # noqa: E731
    found = settled(nothing)
    assert found.value[0, 0] == 10 and found.met.all()


def test_a_limit_that_the_setting_does_not_move_neither_helps_nor_hinders():
    """Given beside others it is met or not, whatever is settled; operations leave such limits out (operation.asks, moves=False)."""
    fixed = lambda setting: Limit("hard enough", "MPa", np.ones(setting.shape[1:]), np.full(setting.shape[1:], 5.0))   # noqa: E731
    with_it, without = settled(stall(6.0), fixed), settled(stall(6.0))
    assert with_it.value[0, 0] == pytest.approx(without.value[0, 0]) and with_it.met.all()
