"""What to measure next: the estimate against readings that are really simulated, taught and judged; and what is told."""
import warnings
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from kit import choices, figures, next_trials, study, worlds
from kit.protocols import protocols
from kit.study import StudyError
from kit.update import Disagreement, condition

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
DEMO = study.load(study.DEMO)
LAPPING = ("lapping stock",)


@pytest.fixture(scope="module")
def short_of_hours():
    """One sleeve of the demo with few hours for its laps: whether they do hangs on grain, strokes and arm."""
    one = DEMO.only("feasts")
    laps, = choices.choices(one, {"first_lap.hours": (0.05, 1)})
    return choices.changed(one, laps, 0.1)


@pytest.fixture(scope="module")
def table(short_of_hours):
    return short_of_hours.next_trials(readings=(3, 12), worlds=128, inner=16, truths=32, criteria=LAPPING)


def simulated(plan, kind, n, truths, seed=1, count=128, inner=64):
    """Widths of the band after n readings of a kind, each time simulated from a truth, taught and judged anew."""
    measured = next(m for said, m in next_trials.imagined(plan, kind, n) if "haematite" not in said)
    values, rng, widths = plan.draws(truths, seed + 100), np.random.default_rng(seed), []
    at = np.broadcast_to(measured.predict(values), (n, truths))
    read = measured.with_error(at, rng)
    for j in range(truths):
        each = replace(measured, value=read[:, j], low=read[:, j], high=read[:, j])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Disagreement)
            taught = condition(plan, [each], particles=2**10, seed=j + 1)
        low, high = worlds.ends(taught, seed=j + 1, criteria=LAPPING, worlds=count, inner=inner)
        widths.append(high - low)
    return np.array(widths)


@pytest.mark.long
def test_the_estimate_against_brute_force(short_of_hours):
    """Three kinds of reading, six each: readings simulated from drawn truths, the study updated by the log's own scheme,
    its band measured. Within 25 % or two standard errors; and the same kind first, where they are apart."""
    told = short_of_hours.next_trials(readings=(6,), criteria=LAPPING).set_index("measurement")
    rows = {"mass lost": "mass lost under emery, fine", "minutes": "strokes a minute", "pull": "pull that the arm keeps up"}
    found = {kind: simulated(short_of_hours, kind, 6, 24) for kind in rows}
    for kind, name in rows.items():
        width, error = found[kind].mean(), found[kind].std(ddof=1) / np.sqrt(len(found[kind]))
        print(f"{kind}: {width:.3f} +- {error:.3f}; estimated {told.loc[name, 'width']:.3f} +- {told.loc[name, 'error']:.3f}")
        assert abs(told.loc[name, "width"] - width) < max(0.25 * width, 2 * np.hypot(error, told.loc[name, "error"])), kind
    best = min(found, key=lambda kind: found[kind].mean())
    assert told.loc[[*rows.values()], "width"].idxmin() == rows[best] == "mass lost under emery, fine"


def test_weighing_the_lap_narrows_what_lapping_decides(table):
    """And bowing strokes do less; a reading that has nothing to do with it, nothing that shows."""
    told = table.set_index(["measurement", "readings"])
    weighed, counted = told.loc[("mass lost under emery, fine", 12)], told.loc[("strokes a minute", 12)]
    assert weighed["narrower"] > 3 * weighed["error"] and weighed["narrower"] > counted["narrower"]
    pinched = told.loc[("pinch of finger and thumb", 12)]
    assert abs(pinched["narrower"]) < 3 * pinched["error"] + 0.02 and np.isnan(pinched["rank"])


def test_more_readings_cost_more_and_a_shared_bias_stays(table):
    reading = next_trials.Reading(protocols()["pull"], "", np.zeros(1), 0.1, 0.15, 0.15)
    assert reading.error(10**6) == pytest.approx(np.hypot(0.15, 0.15), rel=1e-6)   # no number of readings gets below it
    assert reading.error(1) > reading.error(4) > reading.error(100)
    for _, rows in table.groupby("measurement"):
        assert rows.sort_values("readings")["hours"].is_monotonic_increasing


def test_what_cannot_be_told_apart_shares_a_rank(table):
    ranked = table[table["rank"].notna()]
    assert 1 in set(ranked["rank"]) and ranked["measurement"].is_unique
    assert table["rank"].isna().any()


def test_one_truth_a_world_without_noise_is_found_out():
    """The bands themselves, on a case that can be worked out: four worlds, the readings know which it is."""
    chances = np.array([[0.1, 0.3, 0.6, 0.9]] * 4)
    assert next_trials.Band(chances, np.eye(4) + 1e-12).width() == pytest.approx(np.zeros(4), abs=1e-6)
    even = next_trials.Band(chances[:1], np.ones((1, 4)))
    assert even.ends()[:, 0] == pytest.approx([0.1, 0.9])
    many = np.linspace(0, 1, 2001)[None]
    assert next_trials.Band(many, np.ones_like(many)).width()[0] == pytest.approx(0.9, abs=1e-3)


def test_an_afternoon_leaves_out_what_takes_longer(short_of_hours):
    found = short_of_hours.next_trials(hours=2, readings=(3,), worlds=32, inner=4, truths=8, criteria=LAPPING)
    assert found["hours"].max() <= 2 and "mass lost under emery, fine" not in set(found["measurement"])
    assert any("next it teaches nothing" in why for why in found.attrs["teach_nothing"].values())
    with pytest.raises(StudyError, match=r"fits into 0\.100 h"):
        short_of_hours.next_trials(hours=0.1, worlds=32, inner=4, truths=8, criteria=LAPPING)
    with pytest.raises(StudyError, match="readings"):
        short_of_hours.next_trials(readings=())


def test_what_lies_outside_a_formula_is_told_by_the_verdict_and_not_again_by_every_reading():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        study.load(study.DEMO.parent / "copper-sleeves").next_trials(readings=(3,), worlds=32, inner=4, truths=8)


def test_the_write_up_shows_what_was_kept(table):
    from kit import writeup_figures, writeup_tables
    sheet = writeup_tables._next_trials(SimpleNamespace(next_trials=table))
    assert "mass lost under emery, fine" in sheet.print_.to_string() and "band" in sheet.caption
    assert writeup_tables._next_trials(SimpleNamespace(next_trials=None)) is None
    plate = writeup_figures._to_measure(SimpleNamespace(next_trials=table, study=DEMO, worded=lambda name, text: text))
    assert plate.name in writeup_figures.NAMES and plate.alt == table.attrs["said"]
    assert "128 worlds of 16 draws, 32 truths, seed 1" in plate.caption and "standard error" in plate.caption
    assert writeup_figures._to_measure(SimpleNamespace(next_trials=None)) is None


def test_the_figure_goes_from_the_band_now_to_the_band_after_and_tells_ties(table):
    from matplotlib.text import Text
    tied = table.assign(rank=np.where(table["readings"] == 12, 1.0, np.nan))
    figure = figures.to_measure(tied, rows=3)
    texts = [t.get_text() for t in figure.findobj(Text)]
    assert sum(text.startswith("1 =: ") for text in texts) == 3
    shown = tied[tied["rank"] == 1].sort_values("per_hour", ascending=False).head(3)
    bars = [line.get_xdata() for line in figure.axes[0].lines if len(line.get_xdata()) == 2 and line.get_linewidth() == 3.2]
    assert np.allclose(bars, shown[["width_now", "width"]].to_numpy())


def test_in_words_no_key_shows(table):
    text = next_trials.for_reading(table).to_string() + table.attrs["said"]
    assert "hand.pinch" not in text and "word_changes" not in text and "nan" not in text
