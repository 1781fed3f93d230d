"""What becomes of a piece that misses a criterion, how many blanks to cast, and what the tool cards say."""
import numpy as np
import pytest
from scipy import stats

from kit import outcomes, rework, study, tables, tools
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.OutOfRange")


@pytest.fixture(scope="module")
def verdict():
    return study.load().assess(draws=2**9)


def test_every_criterion_has_its_row_and_those_that_cannot_be_saved_say_what_is_lost():
    rows = tables.load("rework")
    assert {row["criterion"] for row in rows} == set(outcomes.EVERY)
    assert all(row["by"] if row["saved"] == "yes" else row["by"] or row["spoils"] for row in rows)


def test_what_is_missed_most_stands_first(verdict):
    table = verdict.rework
    assert table["missed"].is_monotonic_decreasing and set(table["criterion"]) == {n for n, c in verdict.chances.items() if c < 1}
    assert table["missed"].iloc[0] == pytest.approx(1 - min(verdict.chances.values()))


def test_blanks_are_enough_and_one_less_is_not(verdict):
    """Against the binomial distribution of scipy."""
    spoilt = np.quantile(verdict.draws[rework.SPOILT].m, (0.05, 0.5, 0.95))
    good = len(verdict.study.tubes)
    for n, each in zip(rework.blanks(verdict), spoilt):
        chance = 1 / (1 + each)
        assert stats.binom.sf(good - 1, n, chance) >= 0.9 and (n == good or stats.binom.sf(good - 1, n - 1, chance) < 0.9)
    assert "blanks are to be cast" in rework.said(verdict)


def test_tool_cards_count_what_labour_counts_and_say_how_long_a_tool_lasts(verdict):
    cards = verdict.tools
    cases = outcomes.cases_of(verdict.study, verdict.draws)
    assert len(cards) == len({tools.same_tool(step) for case in cases for step in case.steps if step.tool})
    by_kind = cards.groupby("tool")
    assert by_kind.get_group("two-lip drill")["in_it"].isna().all() and (by_kind.get_group("half-round bit")["in_it"] > 1).all()
    reamers = by_kind.get_group("fluted reamer")
    assert (reamers["smaller_um_5"] < reamers["smaller_um"]).all() and (reamers["smaller_um"] < reamers["smaller_um_95"]).all()


def test_stonings_in_a_tool_are_its_spare_over_what_one_takes():
    draws = {"sharpened.half-round bit.spare": Q(30.0, "um"), "sharpened.half-round bit.stoned": Q(2.0, "um")}
    assert tools.stonings_in(draws, "half-round bit").m == pytest.approx(15)
    assert np.isinf(tools.stonings_in(draws, "two-lip drill").m).all()
