"""The band of a chance over a sweep and of thresholds, and of each line of a verdict."""
import numpy as np
import pandas as pd
import pytest

from kit import design, study, words, worlds
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
ONLY = ("least wall",)


@pytest.fixture(scope="module")
def one():
    return study.load(study.DEMO).only("hours")


@pytest.fixture(scope="module")
def band(one):
    return worlds.band(one, criteria=("least wall", "cord"), worlds=16, inner=16)


def test_the_short_way_to_the_ends_finds_what_the_band_has(one, band):
    assert worlds.ends(one, criteria=("least wall", "cord"), worlds=16, inner=16) == (band.low, band.high)


def test_each_line_has_a_band_of_its_own_which_that_of_all_never_exceeds(one, band):
    assert set(band.lines) == {("hours", "least wall"), ("hours", "cord")}
    for low, high in band.lines.values():
        assert band.low <= low <= high <= 1 and band.high <= high
    alone = worlds.band(one, criteria=ONLY, worlds=16, inner=16)
    assert alone.lines["hours", "least wall"] == (alone.low, alone.high)


def test_a_sweep_has_the_band_where_asked_and_says_of_how_many_worlds(one):
    walls = [Q(0.2, "mm"), Q(0.6, "mm")]
    table = one.sweep("wall", walls, draws=64, criteria=ONLY, worlds=16)
    for wall, row in zip(walls, table.itertuples()):
        assert (row.all_5, row.all_95) == worlds.ends(one.with_(wall=wall), criteria=ONLY, worlds=16, inner=16)
    assert table.attrs["worlds"] == 16
    told = design.for_reading(table)
    assert told["all together, low end over worlds"].tolist() == [words.chance(x) for x in table["all_5"]]
    plain = one.sweep("wall", walls, draws=64, criteria=ONLY)
    assert not {"all_5", "all_95"} & set(plain) and plain["all"].tolist() == table["all"].tolist()


def test_where_a_chance_passes_lies_straight_between_the_values():
    table = pd.DataFrame({"all": [0.9, 0.1, 0.5], "all_5": [0.2, 0.0, 0.1]}, index=[0.4, 0.2, 0.3])
    assert design.passes(table, 0.3) == [pytest.approx(0.25)] and design.passes(table, 0.7) == [pytest.approx(0.35)]
    assert design.passes(table, 0.95) == [] and design.passes(table, 0.15, "all_5") == [pytest.approx(0.35)]


def test_a_threshold_has_the_band_of_its_value(one):
    table = one.thresholds("wall", chances=(0.5,), low="0.1 mm", high="0.9 mm", draws=128, seeds=[1], points=9, criteria=ONLY, worlds=32)
    row = table.loc[0.5]
    assert row["at_95"] < row["value"] < row["at_5"]   # the kinder worlds allow a thinner wall
    assert "at_5" not in one.thresholds("wall", chances=(0.5,), low="0.1 mm", high="0.9 mm", draws=64, seeds=[1], points=3, criteria=ONLY)
    never = one.thresholds("wall", chances=(0.5,), low="0.05 mm", high="0.1 mm", draws=64, seeds=[1], points=3, criteria=ONLY, worlds=8)
    assert np.isnan(never.loc[0.5, "at_5"])
