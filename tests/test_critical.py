"""The wall that each draw needs: against a fine grid, and a verdict's shares by groups against plain ones."""
import numpy as np
import pytest

from kit import study
from kit.study import StudyError

PINCH = ("wall: pinch",)


@pytest.fixture(scope="module")
def one():
    return study.load().only("hours")


@pytest.fixture(scope="module")
def found(one):
    return one.critical("wall", low="0.1 mm", high="1 mm", draws=2**10, criteria=PINCH)


def test_thresholds_agree_with_a_fine_grid(one, found):
    walls = np.geomspace(0.15, 0.8, 40)
    curve = [one.with_(wall=f"{wall} mm").assess(2**10, criteria=PINCH).chance for wall in walls]
    for chance in (0.5, 0.66):
        value, error = found.threshold(chance)
        fine = np.interp(chance, curve, walls)
        assert abs(value.m_as("mm") - fine) < 2 * error.m_as("mm"), (chance, value, fine, error)


def test_least_wall_of_each_draw_passes_and_a_thinner_one_does_not(one, found):
    draw = int(np.flatnonzero(np.isfinite(found.least))[7])
    margins = [one.with_(wall=f"{found.least[draw] * by} mm").assess(2**10, criteria=PINCH).least_margin[draw]
               for by in (0.97, 1.03)]
    assert margins[0] < 1 < margins[1]


def test_shares_of_draws_are_told_and_add_up(found):
    assert sum(found.shares.values()) == pytest.approx(1)
    assert "need at least" in found.said and "mm" in found.said


def test_pinch_moves_the_wall_that_a_pinch_needs(found):
    table = found.moved_by()
    assert table.index[0] == "hand.pinch" and table["share"].iloc[0] > 0.5
    assert table["lowest tenth"].iloc[0] < table["highest tenth"].iloc[0]


def test_level_never_reached_is_told(found):
    with pytest.raises(StudyError, match="does not pass"):
        found.threshold(1 - 1e-9)


def test_groups_of_a_variance_keep_what_goes_together(one):
    table = one.sensitivity(criterion="cord", n=2**7)
    pair = next(name for name in table.index if "drive.pull_one_minute" in name or "drive.stroke_length" in name)
    assert " + " in pair, "correlated assumptions are one group"
    assert not any("@" in name for name in table.index), "one row for all tubes"
    assert (table["total"] - table["first"] > -0.2).all() and table["total"].max() <= 1.3


def test_single_group_carries_everything(one):
    from kit import shares
    free = {"hand.pinch"}
    line = next(line for line in one.assess(64, criteria=PINCH).lines)
    middles = {key.partition("@")[0]: one.assumptions[key].middle for key in line.used}
    pinned = one.with_(**{key: q for key, q in middles.items() if key not in free and one.reference_rows[key].shape != "fixed"})
    table = shares.shares(pinned, criterion=PINCH[0], n=2**8)
    assert list(table.index) == ["hand.pinch"]
    assert table["total"].iloc[0] == pytest.approx(1, abs=0.15) and table["first"].iloc[0] == pytest.approx(1, abs=0.25)


def test_figures_show_the_share_that_passes_nowhere_and_what_moves_the_rest(found):
    from matplotlib.colors import to_hex
    from kit import critical, figures
    curve = figures.critical(found, mark=0.4).axes[0]
    assert f"{100 * found.shares['nowhere']:.0f} % of draws pass at none" in [t.get_text() for t in curve.texts][0] or found.shares["nowhere"] < 0.03
    assert any(np.allclose(line.get_ydata(), found.chances) for line in curve.lines if len(line.get_ydata()) == len(found.grid))
    table = found.moved_by(5)
    dots = [line for line in figures.moved(table).axes[0].lines if line.get_marker() == "o"]
    assert [line.get_xdata()[0] for line in dots[::2]] == table["lowest tenth"].tolist()
    assert {to_hex(line.get_color()) for line in dots[::2]}.isdisjoint(to_hex(line.get_color()) for line in dots[1::2])
    assert all(cell.endswith(" mm") for cell in critical.for_reading(table)["least wall, lowest tenth"])
