"""kit.widgets: controls and panels, without a browser."""
import base64
import re
import os
import warnings

import pandas as pd
import pytest

from kit import figures, study, widgets
from kit.units import OutOfRange, Q


def box_of(panel, kind):
    return next(child for child in panel.children if type(child).__name__ == kind)


def words_of(panel):
    return box_of(panel, "HTML").value


def image_of(panel):
    return bytes(box_of(panel, "Image").value)


def shown(mm, word="x"):
    """A small figure that looks different for every number."""
    return widgets.Shown(figures.nest(NEST, arbor=mm), f"caption: {mm:g} mm, {word} & <b>", pd.DataFrame({"mm": [mm], "word": [word]}).set_index("mm"))


NEST = study.load(study.DEMO).tubes[:2]


@pytest.fixture
def calls():
    return []


@pytest.fixture
def panel(calls, tmp_path):
    def draw(wall, order):
        calls.append((wall, order))
        if wall > Q(2, "mm"):
            raise study.StudyError("wall: <too> thick; give less")
        if order == "broken":
            raise KeyError("no such thing")
        return shown(wall.m_as("mm"), order)
    return widgets.panel(draw, save_as="fig", out=str(tmp_path / "out"), wall=widgets.slider("wall", 1, 0.5, 3, 0.05, "mm", evidence=(0.3, 2.4)),
                         order=widgets.choice("order", ["first", "last", "broken"]))


def control(panel, number):
    return panel.children[number]


# Controls

def test_a_slider_carries_its_unit_and_what_the_evidence_supports():
    made = widgets.slider("wall", 0.4, 0.05, 0.6, 0.05, "mm", evidence=(0.3, 0.5))
    assert (made.value, made.min, made.max, made.step) == (0.4, 0.05, 0.6, 0.05)
    assert made.description == made.tooltip == "wall / mm: evidence for 0.300 to 0.500" and made.unit == "mm"
    assert widgets.slider("share", 1, 0, 3, 1).description == "share" and widgets.slider("share", 1, 0, 3, 1).unit == ""


@pytest.mark.parametrize("step, places", [(1, ".0f"), (5, ".0f"), (0.5, ".1f"), (0.05, ".2f"), (0.001, ".3f")])
def test_a_slider_shows_as_many_places_as_its_step_has(step, places):
    assert widgets.slider("x", 0, 0, 10, step).readout_format == places


def test_a_choice_offers_its_words():
    made = widgets.choice("order", ("bore first", "outside first"), value="outside first")
    assert made.options == ("bore first", "outside first") and made.value == "outside first"
    assert widgets.choice("order", ("bore first", "outside first")).value == "bore first"


# A panel

def test_a_panel_draws_at_once_with_quantities_and_words(panel, calls):
    assert calls == [(Q(1, "mm"), "first")]
    assert image_of(panel).startswith(b"\x89PNG") and "caption: 1 mm, first" in words_of(panel)
    assert "&amp; &lt;b&gt;" in words_of(panel)   # a caption is text, not markup


def test_moving_a_control_changes_picture_and_caption(panel, calls):
    before = image_of(panel)
    control(panel, 0).value = 1.5
    assert calls[-1] == (Q(1.5, "mm"), "first") and image_of(panel) != before and "caption: 1.5 mm, first" in words_of(panel)
    control(panel, 1).value = "last"
    assert calls[-1] == (Q(1.5, "mm"), "last") and "last" in words_of(panel)
    control(panel, 0).value = 1
    control(panel, 1).value = "first"
    assert image_of(panel) == before   # the same values give the same bytes


def test_a_slider_without_a_unit_gives_a_pure_number():
    seen = []
    widgets.panel(lambda share: seen.append(share) or shown(1.0), share=widgets.slider("share", 0.5, 0, 1, 0.1))
    assert seen == [Q(0.5, "")]


def test_a_fault_is_told_in_words_and_the_last_picture_stays(panel):
    before = image_of(panel)
    control(panel, 0).value = 2.5
    assert words_of(panel) == "<b>Cannot be shown with these values:</b> wall: &lt;too&gt; thick; give less" and image_of(panel) == before
    control(panel, 0).value = 1.5
    assert "caption: 1.5 mm" in words_of(panel) and image_of(panel) != before   # and it goes on


def test_a_fault_of_any_kind_is_told(panel):
    control(panel, 1).value = "broken"
    assert words_of(panel) == "<b>Cannot be shown with these values:</b> KeyError: &#x27;no such thing&#x27;"


def test_a_panel_that_cannot_be_drawn_at_all_raises():
    """A notebook that is run as a test must fail where its panel does."""
    def draw(x):
        raise ValueError("no picture")
    with pytest.raises(ValueError, match="no picture"):
        widgets.panel(draw, x=widgets.slider("x", 1, 0, 2, 1))


def test_without_a_name_there_is_no_button():
    panel = widgets.panel(lambda x: shown(x.m), x=widgets.slider("x", 1, 0.5, 2, 0.5))
    assert not any(type(child).__name__ == "HBox" for child in panel.children)


# The save button

def press(panel):
    button, told = box_of(panel, "HBox").children
    button.click()
    return told.value


def files(tmp_path):
    return sorted(os.listdir(tmp_path / "out"))


def five(name):
    return sorted(f"{name}.{end}" for end in ("pdf", "svg", "png", "txt", "csv"))


def test_the_button_saves_five_files_and_never_overwrites(panel, tmp_path):
    assert press(panel).startswith("Saved: ") and files(tmp_path) == five("fig")
    first = (tmp_path / "out" / "fig.txt").read_text()
    assert first == "caption: 1 mm, first & <b>\n" and (tmp_path / "out" / "fig.csv").read_text() == "mm,word\n1.0,first\n"
    control(panel, 0).value = 1.5
    assert "fig-2.pdf" in press(panel) and files(tmp_path) == sorted(five("fig") + five("fig-2"))
    assert (tmp_path / "out" / "fig.txt").read_text() == first and "1.5 mm" in (tmp_path / "out" / "fig-2.txt").read_text()
    (tmp_path / "out" / "fig-3.csv").write_text("mine")   # one file of that name is enough
    press(panel)
    assert set(five("fig-4")) <= set(files(tmp_path)) and (tmp_path / "out" / "fig-3.csv").read_text() == "mine"


def test_what_is_saved_is_what_is_shown(panel, tmp_path):
    control(panel, 0).value = 2.5   # cannot be shown: the picture of before stays
    press(panel)
    assert (tmp_path / "out" / "fig.csv").read_text() == "mm,word\n1.0,first\n"


def test_a_folder_that_cannot_be_written_is_told(panel, tmp_path):
    (tmp_path / "out").write_text("a file stands in its way")
    assert press(panel).startswith("<b>Not saved:</b>")


def test_the_panel_of_a_verdict_runs(tmp_path):
    """As the notebooks have it, on few draws."""
    demo = study.load(study.DEMO).only("hours")

    def draw(wall, order):
        with warnings.catch_warnings():
            warnings.simplefilter("error", OutOfRange)
            verdict = demo.with_(wall=wall, order=order).assess(draws=64)
        return widgets.Shown(figures.margins(verdict), verdict.words, verdict.table)

    panel = widgets.panel(draw, wall=widgets.slider("wall", 0.4, 0.05, 0.6, 0.05, "mm"), order=widgets.choice("order", ["bore first", "outside first"]))
    before = image_of(panel), words_of(panel)
    control(panel, 0).value = 0.05
    assert "exceptionally unlikely" in words_of(panel) and (image_of(panel), words_of(panel)) != before


def test_a_still_picture_has_words_for_those_who_cannot_see_it():
    made = widgets.still(shown(1.0).figure, alt="two sleeves", width=300)
    picture = re.search(r"base64,([^']+)'", made.data)[1]
    assert base64.b64decode(picture).startswith(b"\x89PNG") and "width='300'" in made.data
    assert "alt='two sleeves'" in made.data and ">two sleeves</figcaption>" in made.data   # read to those who cannot see, and shown to those who can
