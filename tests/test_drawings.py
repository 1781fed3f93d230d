"""Drawings: nothing runs into anything else, they are to the scale that they say, follow the study, and make stills that a hall can read."""
import io
import itertools

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import PathPatch, Polygon
from PIL import Image

from kit import drawings, study
from kit.study import StudyError
from kit.tables import DATA
from kit.typical import Typical
from kit.units import Q

OF_DEMO = [(name, {}) for name in drawings.EVERY] + [("tool", {"kind": "two-lip drill"}), ("tool", {"kind": "half-round bit"}),
                                                     ("hold", {"step": "turn"}), ("hold", {"step": "drill"}), ("long section", {"tube": "lamp-oil barrel"}),
                                                     ("lap", {"abrasive": "haematite, levigated"}), ("pinch", {"tube": "lamp-oil barrel"})]


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def piece():
    return study.load(DATA / "workshop-piece")


def boxes(shown):
    """Words and their box on the page, in inches."""
    figure = shown.figure
    canvas = FigureCanvasAgg(figure).get_renderer()
    return [(text, text.get_window_extent(canvas).transformed(figure.dpi_scale_trans.inverted()).frozen())
            for ax in figure.axes for text in ax.texts if text.get_text()]


def clear(shown):
    """No words run into others or off the page, none is under 8 pt, and the sheet says its scale."""
    found = boxes(shown)
    wide, high = shown.figure.get_size_inches()
    for text, box in found:
        assert box.x0 > -0.01 and box.x1 < wide + 0.01 and box.y0 > -0.01 and box.y1 < high + 0.01, text.get_text()
        assert text.get_fontsize() >= 8
    for (a, one), (b, other) in itertools.combinations(found, 2):
        meets = min(one.x1, other.x1) - max(one.x0, other.x0), min(one.y1, other.y1) - max(one.y0, other.y0)
        assert min(meets) < 0.02, (a.get_text(), b.get_text())
    assert any("size" in text.get_text() for text, _ in found)


@pytest.mark.parametrize(("name", "choices"), OF_DEMO, ids=[f"{name} {' '.join(choices.values())}".strip() for name, choices in OF_DEMO])
def test_words_keep_apart_and_on_the_page(name, choices, demo):
    for talk in (False, True):
        clear(drawings.EVERY[name](demo, talk=talk, draws=2**6, **choices))


@pytest.mark.parametrize("changed", [{"wall": "0.08 mm"}, {"wall": "1.2 mm", "bore": "12 mm"}, {"order": "outside first", "pulley": "80 mm"}], ids=str)
def test_words_keep_apart_as_the_study_changes(changed, demo):
    other = demo.with_(**changed)
    for name, draw in drawings.EVERY.items():
        clear(draw(other, draws=2**6, worst="least wall" if name != "plunger" else None))


def test_other_studies_are_drawn(piece):
    for name, draw in drawings.EVERY.items():
        if name != "nest":
            clear(draw(piece, draws=2**6, **({"step": "ream"} if name == "hold" else {})))
    with pytest.raises(StudyError, match="no sleeves"):
        drawings.nest(piece)


def test_long_section_is_to_the_scale_that_it_says(demo):
    shown = drawings.long_section(demo, draws=2**6)
    size = shown.data["value"]
    words = " ".join(text.get_text() for text, _ in boxes(shown))
    scale = float(words.split("drawn ")[1].split(" times")[0])
    times = float(words.split("walls and offset")[1].split()[0])
    cuts = [patch.get_xy() for patch in shown.figure.axes[0].patches if isinstance(patch, Polygon) and len(patch.get_xy()) > 200]
    true, magnified = cuts[:2], cuts[2:4]
    assert np.ptp(np.concatenate(true)[:, 0]) == pytest.approx(scale * size["length"])
    assert np.ptp(np.concatenate(true)[:, 1]) == pytest.approx(scale * (size["bore"] + 2 * size["wall"]))
    upper = magnified[0]
    x, y = upper[:121], upper[121:242][::-1]
    thinnest = np.abs(x[:, 1] - y[:, 1]).min()
    assert thinnest == pytest.approx(times * size["thin side"])
    assert size["thin side"] == pytest.approx(size["wall"] - size["offset"] - size["bore over its tool, on radius"])


def test_lobes_and_gap_are_magnified_alike(demo):
    shown = drawings.section_across(demo, draws=2**6)
    size, words = shown.data["value"], " ".join(text.get_text() for text, _ in boxes(shown))
    times = float(words.split("lobes and gap ")[1].split()[0].replace("\u202f", ""))
    rings = [patch.get_path().vertices for patch in shown.figure.axes[0].patches if isinstance(patch, PathPatch)]
    reamed = rings[-2][181:]   # the inner outline
    radius = np.hypot(*(reamed - [76, 40]).T)
    # out-of-round on diameter: largest less smallest circle
    assert 2 * np.ptp(radius) == pytest.approx(times * size["bore out of round, as reamed"] / 1e3, rel=0.01)


def test_a_drawing_follows_the_study(demo):
    thin, thick = (drawings.long_section(demo.with_(wall=wall), draws=2**6).data["value"] for wall in ("0.2 mm", "0.5 mm"))
    assert thick["thin side"] - thin["thin side"] == pytest.approx(0.3, abs=0.002)
    small, large = (drawings.bow_lathe(demo.with_(pulley=pulley), draws=2**6).data["value"] for pulley in ("20 mm", "60 mm"))
    assert small["pull asked"] > 2 * large["pull asked"]


def test_the_worst_draws_are_worse_and_said_to_be(demo):
    usual, bad = Typical(demo), Typical(demo, worst="least wall")
    need, left = usual.asked("least wall")
    bad_need, bad_left = bad.asked("least wall")
    assert bad_need / bad_left > need / left
    assert "5 % of draws" in bad.said and "'least wall'" in bad.said and "1024 draws, seed 1" in usual.said
    verdict = demo.only("hours").assess(draws=2**10, criteria=("least wall",))
    assert usual.asked("least wall")[1] == pytest.approx(np.median(verdict.lines[0].capacity), rel=0.01)
    with pytest.raises(StudyError, match="none of this study's: hours"):
        Typical(demo, tube="ours")
    with pytest.raises(StudyError, match="did you mean|known"):
        Typical(demo, worst="leest wall")


def test_a_still_is_a_picture_for_a_hall(demo, tmp_path):
    shown = drawings.pinch(demo, talk=True, draws=2**6)
    picture = Image.open(io.BytesIO(drawings.dots(shown.figure)))
    assert picture.size == (1920, 1080)
    smallest = min(text.get_fontsize() for text, _ in boxes(shown)) / 72 * 1920 / shown.figure.get_figwidth()
    assert smallest / 3 >= 11.9   # dots that a letter's em has at a third of the size
    assert shown.message.split(";")[0].replace("\n", " ") in " ".join(text.get_text().replace("\n", " ") for text, _ in boxes(shown))
    paths = drawings.still(shown, tmp_path, "pinch")
    assert {path.name for path in paths} == {"pinch.png", "pinch.pdf", "pinch.svg", "pinch.txt", "pinch.csv", "pinch.alt.txt"}
    before = paths[0].read_bytes()
    again = drawings.still(drawings.pinch(demo, talk=True, draws=2**6), tmp_path / "again", "pinch")
    assert [path.read_bytes() for path in paths] == [path.read_bytes() for path in again]
    with pytest.raises(FileExistsError, match="pinch"):
        drawings.still(shown, tmp_path, "pinch")
    assert paths[0].read_bytes() == before


def test_what_a_route_has_not_is_told(demo):
    with pytest.raises(StudyError, match="no polygon broach"):
        drawings.tool(demo, kind="polygon broach")
    with pytest.raises(StudyError, match="no operation 'polish'"):
        drawings.held(demo, step="polish")


@pytest.mark.parametrize("folder", ["copper-sleeves", "dosing-pump", "surveyors-sight"])
def test_the_other_demo_studies_are_drawn(folder):
    other, lacking = study.load(DATA / folder), {"copper-sleeves": {"lap", "plunger"}, "dosing-pump": {"nest"}, "surveyors-sight": {"lap", "plunger"}}
    for name, draw in drawings.EVERY.items():
        if name in lacking[folder]:
            with pytest.raises(StudyError):
                draw(other, draws=2**6)
        else:
            clear(draw(other, draws=2**6))
    if folder == "dosing-pump":
        assert "leather cup" in drawings.plunger(other, draws=2**6).alt
    if folder == "surveyors-sight":   # its eye tube is hollow
        assert "hollow" in drawings.nest(other, draws=2**6).alt and "nothing runs" in drawings.section_across(other, draws=2**6).alt


def test_a_tool_is_drawn_taking_the_stock_that_is_asked_for(demo):
    """The hole before is smaller than the tool by the stock, whatever the plan has; the plan's torque is not told of another cut."""
    planned, asked = drawings.tool(demo, draws=2**6), drawings.tool(demo, stock=Q(0.5, "mm"), draws=2**6)
    size = asked.data["value"]
    assert size["hole after"] - size["hole before"] == pytest.approx(0.5) and planned.data["value"]["hole before"] == pytest.approx(4.9)
    said = " ".join(text.get_text() for text, _ in boxes(asked))
    assert "4.50 mm" in said and "as planned" in said and "N·m" not in said and "torque" not in size
    assert "settled by feel" in " ".join(text.get_text() for text, _ in boxes(planned))


def test_a_bore_is_rounder_after_its_lap_than_the_reamer_left_it(demo):
    """Of the demo's pieces the lap's own out-of-round is far below a reamer's: 0.3 to 2 um radial against 3 to 15 um."""
    size = drawings.section_across(demo, draws=2**8).data["value"]
    assert size["bore out of round at the end"] < 0.5 * size["bore out of round, as reamed"]


def test_tubes_that_slide_are_drawn_where_nobody_says_how_they_are_used():
    from dataclasses import replace
    sight = replace(study.load(study.DEMO.parent / "surveyors-sight"), use=None)
    assert "told.difference" not in sight.assumptions and drawings.nest(sight).caption
