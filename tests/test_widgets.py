"""kit.widgets: controls, panels and cards, without a browser; those of the notebooks are moved in test_notebooks.py."""
import base64
import gc
import json
import math
import os
import re
import warnings
from html import unescape
from pathlib import Path

import ipywidgets
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure

from kit import controls, drawings, evidence, figures, study, tables, widgets
from kit.units import OutOfRange, Q

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
BEGAN = {"wall": Q(1, "mm"), "order": "first"}
NEST = study.load(study.DEMO).tubes[:2]


def shown(mm, word="x", **more):
    """A small figure that looks different for every number."""
    data = pd.DataFrame({"mm": [mm], "word": [word]}).set_index("mm")
    return widgets.Shown(figures.nest(NEST, arbor=mm), f"caption: {mm:g} mm, {word} & <b>", data, **more)


def words_of(panel):
    return panel.words.value


def image_of(panel):
    return base64.b64decode(re.search(r"base64,([^']+)'", panel.picture.value)[1])


@pytest.fixture(autouse=True)
def as_before():
    yield
    controls.NOTEBOOK.inch = controls.NOTEBOOK.large = False


@pytest.fixture
def calls():
    return []


@pytest.fixture
def make(calls, tmp_path):
    """Makes the same panel again and again, as a rerun of its cell does."""
    def draw(wall, order):
        calls.append((wall, order))
        if wall > Q(2, "mm"):
            raise study.StudyError("wall: <too> thick; give less")
        if order == "broken":
            raise KeyError("no such thing")
        return shown(wall.m_as("mm"), order)

    def made(order=("first", "last", "broken"), **more):
        return widgets.panel(draw, save_as="fig", out=tmp_path / "out", order=widgets.choice("order", order),
                             wall=widgets.slider("wall", 1, 0.5, 3, 0.05, "mm", evidence=(0.3, 2.4)), **more)
    return made


@pytest.fixture
def panel(make):
    return make()


# Sliders

@pytest.fixture
def wall():
    return widgets.slider("wall", 0.4, 0.05, 0.8, 0.01, "mm", evidence=(0.2, 0.6))


def test_a_slider_names_its_unit_and_the_range_of_the_evidence(wall):
    assert (wall.value, wall.unit, wall.track.min, wall.track.max) == (0.4, "mm", 0.05, 0.8)
    assert math.isclose(wall.track.step, 0.01) and wall.box.description == "wall / mm" and wall.box.value == "0.40"
    assert "<div>evidence for 0.2 to 0.6 mm</div>" in wall.mark.value
    assert "margin-left:20.0%;width:53.3%" in wall.mark.value   # where on the track that is: 0.15 and 0.40 of 0.75
    plain = widgets.slider("share", 1, 0, 3, 1)
    assert plain.box.description == "share" and plain.unit == "" and plain.mark.value == ""


def test_a_slider_says_when_it_leaves_the_evidence(wall):
    for value, outside in ((0.6, False), (0.61, True), (0.2, False), (0.19, True)):
        wall.value = value
        assert ("<b>outside the evidence</b>, which is for 0.2 to 0.6 mm" in wall.mark.value) == outside


def test_slider_and_box_move_together_and_go_back(wall):
    wall.track.value = 0.55
    assert (wall.value, wall.box.value) == (0.55, "0.55")
    wall.box.value = "0.31"
    assert (wall.value, wall.track.value) == (0.31, 0.31)
    assert wall.back.tooltip == "Reset wall to 0.40 mm"
    wall.back.click()
    assert (wall.value, wall.track.value, wall.box.value) == (0.4, 0.4, "0.40")


@pytest.mark.parametrize("step, text", [(1, "5"), (5, "5"), (0.5, "5.0"), (0.05, "5.00"), (0.001, "5.000")])
def test_a_box_shows_as_many_places_as_the_step_has(step, text):
    assert widgets.slider("x", 5, 0, 10, step).box.value == text


@pytest.mark.parametrize("typed, value", [
    ("0.3", 0.3), ("0,3", 0.3), (" .3 ", 0.3), (",3", 0.3), ("0.3 mm", 0.3), ("0,3mm", 0.3), ("300 um", 0.3),
    ("3e-1", 0.3), ("0.01 in", 0.25), ("12 thou", 0.3), ("0.80", 0.8)])
def test_a_box_understands(wall, typed, value):
    wall.box.value = typed
    assert wall.value == value and wall.box.value == f"{value:.2f}"


@pytest.mark.parametrize("typed, told", [
    ("abc", "'abc' is not understood here: write a number, or one with its unit, like 5 mm. It is still 0.40 mm"),
    ("", "'' is not understood here"), ("3 kg", "'3 kg' is not understood here"),
    ("1,2,3", "'1,2,3' is not understood here"), ("nan", "'nan' is not understood here"),
    ("<b>", "'<b>' is not understood here"),
    ("9", "9 is beyond 0.05 to 0.80 mm. It is still 0.40 mm"), ("-0.1", "-0.1 is beyond 0.05 to 0.80 mm")])
def test_a_box_says_what_it_cannot_take_and_stays(wall, typed, told):
    wall.box.value = typed
    assert wall.value == 0.4 and wall.box.value == "0.40"
    assert told in unescape(wall.mark.value) and "<b>" not in wall.mark.value
    wall.track.value = 0.5   # and the words go with the next move
    assert "still" not in wall.mark.value


def test_what_lies_between_two_steps_is_taken_to_the_nearest_and_that_is_said(wall):
    wall.box.value = "0.333"
    assert wall.value == 0.33 and "0.333 lies between two steps; this is the nearest" in wall.mark.value


def test_a_slider_without_a_unit_takes_a_bare_number_only():
    share = widgets.slider("share", 0.5, 0, 1, 0.1)
    share.box.value = "0,7"
    assert share.value == 0.7
    share.box.value = "0.3 mm"
    assert share.value == 0.7 and "write a number." in share.mark.value


def test_a_slider_that_begins_between_its_steps_is_refused():
    with pytest.raises(ValueError, match="wall: 0.425 mm is none of the steps of 0.05 from 0.2 to 1"):
        widgets.slider("wall", 0.425, 0.2, 1, 0.05, "mm")


# Inch and Fahrenheit

@pytest.mark.parametrize("unit, low, step, name, text", [
    # value from memory, believed to be in NIST Special Publication 811 (2008), appendix B.8: 1 in = 25.4 mm, exact;
    # 1 lbf = 4.448 222 N; 1 psi = 6.894 757 kPa; degrees Fahrenheit = 1.8 x degrees Celsius + 32, exact
    ("mm", 25.4, 0.1, "in", "1.000"), ("um", 25.4, 1, "thou", "1.00"), ("degC", 20, 0.5, "°F", "68.0"),
    ("N", 4.448, 0.5, "lbf", "1.0"), ("kPa", 6.895, 1, "psi", "1.0"), ("s", 5, 0.5, "s", "5.0"),
    ("", 5, 0.5, "", "5.0")])
def test_inch_and_fahrenheit_at_a_switch(unit, low, step, name, text):
    made = widgets.slider("x", low, low, low + 10 * step, step, unit)
    controls.NOTEBOOK.inch = True
    assert made.box.description == (f"x / {name}" if name else "x") and made.box.value == text
    assert made.value == low and made.unit == unit   # underneath nothing has moved
    controls.NOTEBOOK.inch = False
    assert made.box.description == {"": "x", "um": "x / µm", "degC": "x / °C"}.get(unit, f"x / {unit}")


@settings(max_examples=40)
@given(low=st.integers(0, 300), steps=st.integers(1, 300), unit=st.sampled_from([*controls.INCH, "s", ""]),
       step=st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1, 0.5, 1, 5]), at=st.floats(0, 1))
def test_shown_in_inches_every_step_comes_back_as_itself(low, steps, unit, step, at):
    low = round(low * step, 10)
    high, value = round(low + steps * step, 10), round(low + round(at * steps) * step, 10)
    made = widgets.slider("x", value, low, high, step, unit)
    controls.NOTEBOOK.inch = True
    text, track = made.box.value, made.track.value
    for moved in ("box", "track"):
        made.value = high if value != high else low
        setattr(getattr(made, moved), "value", text if moved == "box" else track)
        assert made.value == value, moved
    controls.NOTEBOOK.inch = False


def test_in_inches_the_box_takes_inches_and_says_so(wall):
    controls.NOTEBOOK.inch = True
    wall.box.value = "0.012"
    assert wall.value == 0.3 and wall.box.value == "0.0118"
    assert "evidence for 0.0079 to 0.0236 in" in wall.mark.value
    wall.box.value = "0.5 mm"
    assert wall.value == 0.5
    wall.box.value = "3"
    assert "3 is beyond 0.0020 to 0.0315 in. It is still 0.0197 in" in wall.mark.value and wall.value == 0.5


def test_the_switch_leaves_the_track_alone(wall, monkeypatch):
    """Given new ends, the page moves the handle to them and sends that back as if by hand."""
    sent, held = [], {name: getattr(wall.track, name) for name in ("min", "max", "step", "value")}
    monkeypatch.setattr(wall.track, "send_state", lambda key=None, **more: sent.append(key))
    controls.NOTEBOOK.inch = True
    assert sent == [] and held == {name: getattr(wall.track, name) for name in held}
    wall.track.value = 0.3   # what the page sends is in the track's own unit, whatever is shown
    assert wall.value == 0.3 and wall.box.value == "0.0118"


def test_the_switch_moves_no_figure(panel, calls):
    before, count = image_of(panel), len(calls)
    controls.NOTEBOOK.inch = True
    assert len(calls) == count and panel.values() == BEGAN and image_of(panel) == before
    panel.controls["wall"].box.value = "0.0394"
    assert len(calls) == count   # still the same step
    panel.controls["wall"].box.value = "0.06"
    assert calls[-1] == (Q(1.5, "mm"), "first")


# Choices

def test_a_choice_offers_its_words():
    made = widgets.choice("order", ("bore first", "outside first"), value="outside first")
    assert made.options == ("bore first", "outside first")
    assert made.value == "outside first" and made.description == "order"
    assert widgets.choice("order", {"bore first": 1, "outside first": 2}).value == "bore first"


def test_few_words_stand_open_and_many_drop_down():
    few, many = widgets.choice("x", "abcde"), widgets.choice("x", "abcdef")
    assert isinstance(few, ipywidgets.Select) and few.rows == 5 and isinstance(many, ipywidgets.Dropdown)


# A panel

def test_a_panel_draws_at_once_with_quantities_and_words(panel, calls):
    assert calls == [(Q(1, "mm"), "first")]
    assert image_of(panel).startswith(b"\x89PNG")
    assert words_of(panel) == "caption: 1 mm, first &amp; &lt;b&gt;"   # a caption is text, not markup
    assert panel.shown.caption == "caption: 1 mm, first & <b>" and widgets.panels()[-1] is panel


def test_the_picture_is_said_in_words_for_those_who_cannot_see_it(panel):
    assert "alt='caption: 1 mm, first &amp; &lt;b&gt;'" in panel.picture.value
    told = widgets.panel(lambda: shown(1.0, alt="two 'sleeves'"))
    assert "alt='two &#x27;sleeves&#x27;'" in told.picture.value and words_of(told).startswith("caption")


def test_moving_a_control_changes_picture_and_caption(panel, calls):
    before = image_of(panel)
    panel.controls["wall"].value = 1.5
    assert calls[-1] == (Q(1.5, "mm"), "first")
    assert image_of(panel) != before and "caption: 1.5 mm, first" in words_of(panel)
    panel.controls["order"].value = "last"
    assert calls[-1] == (Q(1.5, "mm"), "last") and "last" in words_of(panel)
    panel.controls["wall"].value = 1
    panel.controls["order"].value = "first"
    assert image_of(panel) == before   # the same values give the same bytes


def test_all_controls_go_back_in_one_move(panel, calls):
    before = image_of(panel)
    panel.controls["wall"].value, panel.controls["order"].value = 1.5, "last"
    count = len(calls)
    press(panel, "All to starting values")
    assert image_of(panel) == before and len(calls) == count + 1 and panel.values() == BEGAN


def test_a_slider_without_a_unit_gives_a_pure_number():
    seen = []
    widgets.panel(lambda share: seen.append(share) or shown(1.0), share=widgets.slider("share", 0.5, 0, 1, 0.1))
    assert seen == [Q(0.5, "")]


def test_a_fault_is_told_in_words_and_the_last_picture_stays_and_is_marked(panel):
    before = image_of(panel)
    panel.controls["wall"].value = 2.5
    assert words_of(panel) == "<b>Cannot be shown with these values:</b> wall: &lt;too&gt; thick; give less"
    assert image_of(panel) == before and panel.fault == "wall: <too> thick; give less"
    for mark in ("kit-stale", "<b>Not of the present values: the last figure that could be drawn</b>",
                 "alt='Not of the present values: caption"):
        assert mark in panel.picture.value
    widgets.larger()
    assert "kit-stale" in panel.picture.value
    panel.controls["wall"].value = 1.5   # and it goes on
    assert "caption: 1.5 mm" in words_of(panel) and image_of(panel) != before and panel.fault == ""
    assert "Not of the present" not in panel.picture.value and "kit-stale" not in panel.picture.value


def test_a_fault_of_any_kind_is_told(panel):
    panel.controls["order"].value = "broken"
    assert words_of(panel) == "<b>Cannot be shown with these values:</b> KeyError: &#x27;no such thing&#x27;"


def test_a_figure_that_cannot_be_painted_is_a_fault_too(panel, monkeypatch):
    before = image_of(panel)
    real = figures.png

    def torn(figure, dpi):
        monkeypatch.setattr(figures, "png", real)
        raise RuntimeError("no ink")
    monkeypatch.setattr(figures, "png", torn)
    panel.controls["wall"].value = 1.5
    assert panel.fault == "RuntimeError: no ink" and image_of(panel) == before and "kit-stale" in panel.picture.value
    assert panel.shown.caption.startswith("caption: 1 mm")   # what the save button would save is what is shown


def test_garbage_waits_until_a_figure_is_drawn():
    seen = []

    def draw(x):
        seen.append(gc.isenabled())
        if x.m == 3:
            raise ValueError("no")
        return shown(x.m)
    x = widgets.panel(draw, x=widgets.slider("x", 1, 1, 3, 1)).controls["x"]
    for value in (2, 3):
        x.value = value
        assert seen[-1] is False and gc.isenabled()


def test_a_panel_that_cannot_be_drawn_at_all_raises():
    """A notebook that is run as a test must fail where its panel does."""
    def draw(x):
        raise ValueError("no picture")
    with pytest.raises(ValueError, match="no picture"):
        widgets.panel(draw, x=widgets.slider("x", 1, 0, 2, 1))


def test_larger_letters_and_pictures_in_every_panel(panel, make):
    small = image_of(panel)
    widgets.larger()
    later = make()
    for each in (panel, later):
        assert "kit-large" in each._dom_classes and len(image_of(each)) > len(small)
    widgets.larger(False)
    assert image_of(panel) == small and "kit-large" not in panel._dom_classes


def foot(panel):
    """Buttons and switches by their words."""
    def inside(box):
        for child in box.children:
            yield from inside(child) if isinstance(child, ipywidgets.Box) else [child]
    kinds = ipywidgets.Button, ipywidgets.Checkbox
    return {part.description: part for part in inside(panel) if isinstance(part, kinds)}


def press(panel, words="Save figure, caption and data"):
    foot(panel)[words].click()
    return panel.told.value


def test_the_switches_of_one_panel_hold_for_all(panel, make):
    other = make()
    foot(panel)["inch, °F, lbf"].value = foot(other)["larger"].value = True
    assert other.controls["wall"].box.description == "wall / in" and "kit-large" in panel._dom_classes
    assert foot(other)["inch, °F, lbf"].value
    timed = widgets.panel(lambda x: shown(1.0), x=widgets.slider("x", 1, 0, 2, 1, "s"))
    assert "inch, °F, lbf" not in foot(timed)   # nothing to switch


def test_without_a_name_there_is_no_save_button():
    panel = widgets.panel(lambda x: shown(x.m), x=widgets.slider("x", 1, 0.5, 2, 0.5))
    assert "Save figure, caption and data" not in foot(panel)


# The save button

def files(tmp_path):
    return sorted(os.listdir(tmp_path / "out"))


def five(name):
    return sorted(f"{name}.{end}" for end in ("pdf", "svg", "png", "txt", "csv"))


def test_the_button_saves_five_files_and_never_overwrites(panel, tmp_path):
    assert press(panel).startswith("Saved: ") and files(tmp_path) == five("fig")
    first = (tmp_path / "out" / "fig.txt").read_text()
    assert first == "caption: 1 mm, first & <b>\n"
    assert (tmp_path / "out" / "fig.csv").read_text() == "mm,word\n1.0,first\n"
    panel.controls["wall"].value = 1.5
    assert "fig-2.pdf" in press(panel) and files(tmp_path) == sorted(five("fig") + five("fig-2"))
    assert (tmp_path / "out" / "fig.txt").read_text() == first
    assert "1.5 mm" in (tmp_path / "out" / "fig-2.txt").read_text()
    (tmp_path / "out" / "fig-3.csv").write_text("mine")   # one file of that name is enough
    (tmp_path / "out" / "fig-4.alt.txt").write_text("mine")
    press(panel)
    assert set(five("fig-5")) <= set(files(tmp_path)) and (tmp_path / "out" / "fig-3.csv").read_text() == "mine"


def test_an_alt_text_of_its_own_is_saved_too(tmp_path):
    panel = widgets.panel(lambda: shown(1.0, alt="two sleeves"), save_as="fig", out=tmp_path / "out")
    press(panel)
    assert files(tmp_path) == sorted([*five("fig"), "fig.alt.txt"])
    assert (tmp_path / "out" / "fig.alt.txt").read_text() == "two sleeves\n"


def test_a_figure_says_which_function_made_it():
    drawn, figure = drawings.long_section(study.load(study.DEMO)), figures.nest(NEST, arbor=4)
    made = widgets.panel(lambda: widgets.Shown(figure, "a nest", None, drawing=drawn))
    for html in (widgets.still(figure, alt="a nest").data + widgets.still(drawn).data, made.maker.value):
        assert sorted(re.findall("(?:by|and) <code>([^<]+)</code>", html)) == ["kit.drawings.long_section", "kit.figures.nest"]
    assert "made by" not in widgets.still(Figure(), alt="a figure of one's own").data


def test_data_may_be_made_when_they_are_saved(tmp_path):
    made = []

    def table():
        made.append(1)
        if len(made) > 1:
            raise RuntimeError("gone")
        return pd.DataFrame({"a": [1]}, index=pd.Index([2], name="b"))
    panel = widgets.panel(lambda: widgets.Shown(shown(1.0).figure, "a caption", table), save_as="late",
                          out=tmp_path / "out")
    assert not made
    press(panel)
    assert made == [1] and (tmp_path / "out" / "late.csv").read_text() == "b,a\n2,1\n"
    assert press(panel) == "<b>Not saved:</b> RuntimeError: gone"


def test_what_is_saved_is_what_is_shown(panel, tmp_path):
    panel.controls["wall"].value = 2.5   # cannot be shown: the picture of before stays
    press(panel)
    assert (tmp_path / "out" / "fig.csv").read_text() == "mm,word\n1.0,first\n"


def test_a_folder_that_cannot_be_written_is_told(make, tmp_path):
    (tmp_path / "out").write_text("a file stands in its way")
    panel = make(keep="walls")
    assert press(panel).startswith("<b>Not saved:</b>")
    panel.controls["wall"].value = 1.5
    assert panel.told.value.startswith("<b>The values are not kept:</b>") and "caption: 1.5 mm" in words_of(panel)


# Values that a rerun takes up again

def test_a_rerun_takes_up_the_values_that_were_kept(make, tmp_path, calls):
    first = make(keep="walls")
    assert not (tmp_path / "out").exists()   # nothing was moved yet
    first.controls["wall"].value, first.controls["order"].value = 1.35, "last"
    assert files(tmp_path) == ["walls.values.json"]   # and no draft beside it
    controls.NOTEBOOK.inch = True   # as another notebook session may have it
    calls.clear()
    again = make(keep="walls")
    assert calls == [(Q(1.35, "mm"), "last")] and again.told.value == "" and again.controls["wall"].value == 1.35
    press(again, "All to starting values")
    assert make(keep="walls").values() == BEGAN
    assert make(keep="others").values() == make().values() == BEGAN


@pytest.mark.parametrize("content", [b"", b'{"panel": {"wall": "1.3', b"[1, 2]", b'{"panel": [1]}', b"\xff\xfe\x00",
                                     b'{"title": "mine"}'])
def test_a_file_that_is_no_panels_is_told_and_left_as_it_is(make, tmp_path, content):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "walls.values.json").write_bytes(content)
    panel = make(keep="walls")
    assert "walls.values.json does not hold the values of a panel: it is left as it is" in panel.told.value
    panel.controls["wall"].value = 1.5
    assert "caption: 1.5 mm" in words_of(panel)
    assert (tmp_path / "out" / "walls.values.json").read_bytes() == content


@pytest.mark.parametrize("kept, told, values", [
    ({"wall": "9 mm", "order": "last"}, "'wall': 9 mm is beyond 0.50 to 3.00 mm; this is the starting value",
     (1, "last")),
    ({"wall": "2 kg", "order": "last"}, "'wall': '2 kg' is not understood here", (1, "last")),
    ({"wall": 7, "order": "last"}, "'wall': ", (1, "last")),
    ({"wall": "1.5 mm", "order": "sideways"}, "'order': ", (1.5, "first")),
    ({"wall": "1.5 mm", "bore": "2 mm"}, "there is no 'bore' here any more", (1.5, "first")),
    ({"wall": "2.5 mm", "order": "last"},
     "nothing can be drawn with the values kept there (wall: <too> thick; give less), so these are the starting values",
     (1, "first"))])
def test_kept_values_that_are_of_no_use_are_told(make, tmp_path, kept, told, values):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "walls.values.json").write_text(json.dumps({"panel": kept}))
    panel = make(keep="walls")
    assert told in unescape(panel.told.value) and "<too>" not in panel.told.value
    assert panel.values() == {"wall": Q(values[0], "mm"), "order": values[1]}
    assert f"caption: {values[0]:g} mm, {values[1]}" in words_of(panel)


def test_a_draft_that_cannot_be_put_in_place_leaves_the_file_whole(make, tmp_path, monkeypatch):
    panel = make(keep="walls")
    panel.controls["wall"].value = 1.5
    before = (tmp_path / "out" / "walls.values.json").read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")
    monkeypatch.setattr(os, "replace", full)
    panel.controls["wall"].value = 2
    assert "No space left on device" in panel.told.value and "caption: 2 mm" in words_of(panel)
    assert files(tmp_path) == ["walls.values.json"]
    assert (tmp_path / "out" / "walls.values.json").read_bytes() == before


# Cards and still pictures

def test_the_card_of_an_assumption():
    card = widgets.card(evidence.Assumption("hand.thumb_pinch", None, 1.5, 10, "N", "lognormal", "living-craft",
                                            "common-practice", note="light & <gentle>")).data
    # the median of a lognormal is the geometric mean of its 5 % and 95 % points: sqrt(1.5 x 10) = 3.873
    for words in ("<b>hand: thumb pinch</b>", "3.87 N (5 % to 95 %: 1.50 to 10.0 N)", "living craft",
                  "common practice, no published source", "light &amp; &lt;gentle&gt;"):
        assert words in card
    fixed = widgets.card(evidence.Assumption("tool.teeth", 6, None, None, "", "fixed", "find", "own-trial")).data
    assert ">6.00</dd>" in fixed and "5 %" not in fixed and "note" not in fixed


def test_a_card_cites_by_author_and_date(tmp_path):
    demo = study.load(study.DEMO)
    row = demo.register.loc[demo.register["source"].str.contains("_")].iloc[0]
    assert re.search(r"source</dt><dd style='margin:0'>[A-Z].* \d{4}", widgets.card(row).data)
    with pytest.raises(tables.TableError, match="nobody_1900"):
        widgets.card(evidence.Assumption("hand.pinch", None, 1, 2, "N", "uniform", "find", "nobody_1900"))


def test_a_card_is_named_by_the_label_of_its_row():
    """Of the row that it shows: a used edge is none freshly ground, whatever study the page began with."""
    demo = study.load(study.DEMO)
    for choice in ("freshly ground", "used"):
        card = widgets.card(demo.with_(edge=choice).register.loc["edge.edge_force"], demo).data
        assert f"<b>edge force of a {choice} edge</b>" in card and "edge_force" not in card and " N/mm (5 % to 95 %" in card


def test_a_still_picture_has_words_for_those_who_cannot_see_it():
    made = widgets.still(shown(1.0).figure, alt="two sleeves", width=300)
    picture = re.search(r"base64,([^']+)'", made.data)[1]
    assert base64.b64decode(picture).startswith(b"\x89PNG") and "width='300'" in made.data
    # read to those who cannot see, and shown to those who can
    assert "alt='two sleeves'" in made.data and ">two sleeves</figcaption>" in made.data


def test_the_panel_of_a_verdict_runs():
    """As the notebooks have it, on few draws."""
    demo = study.load(study.DEMO).only("hours")

    def draw(wall, order):
        with warnings.catch_warnings():
            warnings.simplefilter("error", OutOfRange)
            verdict = demo.with_(wall=wall, order=order).assess(draws=64)
        return widgets.Shown(figures.margins(verdict), verdict.words, verdict.table)

    panel = widgets.panel(draw, wall=widgets.slider("wall", 0.4, 0.05, 0.6, 0.05, "mm"),
                          order=widgets.choice("order", ["bore first", "outside first"]))
    before = image_of(panel), words_of(panel)
    panel.controls["wall"].value = 0.05
    assert "exceptionally unlikely" in words_of(panel) and (image_of(panel), words_of(panel)) != before
