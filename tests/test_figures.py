"""kit.figures: size, text inside the canvas, no pyplot, the same bytes twice, and files that are whole or not there."""
import hashlib
import os
import re
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from kit import criteria, figures, routes, study
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def parts(demo):
    """What the figures take, made once."""
    draws, made = demo.draws(512, seed=1), {}
    made["verdict"] = demo.assess(draws=512)
    # everything at its worst: names, places and labels crowd, the wrench is used, something fails altogether
    made["hard"] = demo.with_(wall="0.1 mm", pulley="10 mm", edge="used").assess(draws=512)
    made["sweep"] = demo.sweep("wall", Q(np.linspace(0.05, 0.6, 8), "mm"), draws=256)
    made["steep"] = demo.with_(edge="used").sweep("pulley", Q(np.linspace(8, 60, 8), "mm"), draws=256)
    made["outside"] = demo.with_(order="outside first").sweep("wall", Q(np.linspace(0.05, 0.6, 8), "mm"), draws=256)
    made["bores"] = np.linspace(4, 12, 5)
    made["torques"] = {kind: np.array([routes.Passes((routes.Step("ream", "", Q(b - 0.5, "mm"), Q(b, "mm"), tool=routes.Tool(
        kind, lead_angle=Q(2 if kind == "polygon broach" else 45, "deg"))),)).torque(draws)[0].m_as("N*m") for b in made["bores"]])
        for kind in ("half-round bit", "fluted reamer", "polygon broach")}
    bow = routes.bow_torque(draws, pulley="40 mm")
    made["limits"] = {"bow": bow.m_as("N*m"), "wrench, two hands": routes.wrench_torque(draws).m_as("N*m")}
    nest = Q(np.array([5, 6.015, 7.03]), "mm")
    made["plan"] = routes.reamer_set(start="4.5 mm", bores=nest, drive=bow, draws=draws, most_stock="0.52 mm")
    made["crowded"] = routes.reamer_set(start="4.5 mm", bores=nest, drive=bow * 0.3, draws=draws, tool="fluted reamer")
    case = criteria.Case(demo.tubes[0], demo.steps(demo.tubes[0]), demo.workshop, draws)
    made["hours"] = np.linspace(0.25, 24, 20)
    made["stages"] = {step.abrasive: (2 * criteria.removal_rate(case, step) * case["drive.attended"]).m_as("um/h") * made["hours"][:, None]
                      for step in case.of("lap")}
    made["need"] = case.lap_stock.m_as("um")
    made["sleeves"] = [t for t in demo.tubes if t.route == "sleeve"]
    return made


MAKERS = {
    "margins": (140, lambda p, s: figures.margins(p["verdict"])),
    "margins, hard": (190, lambda p, s: figures.margins(p["hard"], width=190)),
    "margins, hard, narrower": (140, lambda p, s: figures.margins(p["hard"])),
    "torque by tool": (140, lambda p, s: figures.torque_by_tool(p["bores"], p["torques"], p["limits"])),
    "plan": (140, lambda p, s: figures.plan(p["plan"], p["limits"])),
    "plan, crowded": (140, lambda p, s: figures.plan(p["crowded"], p["limits"])),
    "chances": (140, lambda p, s: figures.chances(p["sweep"], mark=0.4)),
    "chances, many": (140, lambda p, s: figures.chances(p["steep"])),
    "chances, some at nothing": (140, lambda p, s: figures.chances(p["outside"])),
    "chances, wide": (190, lambda p, s: figures.chances(p["sweep"], width=190)),
    "removal": (140, lambda p, s: figures.removal(p["hours"], p["stages"], p["need"])),
    "nest": (140, lambda p, s: figures.nest(p["sleeves"], 5)),
    "nest, thin": (140, lambda p, s: figures.nest([t for t in s.with_(wall="0.05 mm").tubes if t.route == "sleeve"], 5)),
    **{f"against, {name}": (90, lambda p, s, name=name: figures.against(next(x for x in p["verdict"].lines if x.criterion == name)))
       for name in criteria.CRITERIA},
    "against, hard": (140, lambda p, s: figures.against(p["hard"].limiting_line, width=140))}


@pytest.fixture(params=MAKERS, scope="module")
def drawn(request, parts, demo):
    width, make = MAKERS[request.param]
    if request.param.startswith("against, ") and request.param[9:] not in {x.criterion for x in parts["verdict"].lines} | {"hard"}:
        pytest.skip("the demo has no such step")
    figure = make(parts, demo)
    FigureCanvasAgg(figure).draw()   # places the texts
    return width, figure


def texts(figure):
    """All texts that are drawn; an axis also keeps labels of ticks beyond its ends, which are not."""
    hidden = set()
    for ax in figure.axes:
        for i, axis in enumerate((ax.xaxis, ax.yaxis)):
            low, high = sorted(axis.get_view_interval())
            slack = 1e-9 * (high - low)
            hidden |= {t for t in axis.get_ticklabels(which="both") if not low - slack <= t.get_position()[i] <= high + slack}
    return [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip() and t not in hidden]


def boxes(figure):
    renderer = figure.canvas.get_renderer()
    return {t: t.get_window_extent(renderer) for t in texts(figure)}


def test_a_figure_is_a_matplotlib_figure_of_the_exact_width(drawn):
    width, figure = drawn
    assert type(figure) is Figure and figure.get_figwidth() * 25.4 == pytest.approx(width, abs=1e-9)
    assert not any(ax.get_title() for ax in figure.axes)   # the caption says it


def test_every_text_lies_on_the_canvas(drawn):
    _, figure = drawn
    page, found = figure.bbox, boxes(figure)
    assert found
    for text, box in found.items():
        assert box.x0 >= -0.5 and box.y0 >= -0.5 and box.x1 <= page.x1 + 0.5 and box.y1 <= page.y1 + 0.5, text.get_text()


def test_names_in_the_margin_do_not_touch(drawn):
    """Names set beside the axes; those within have a halo, and a line may run below them."""
    _, figure = drawn
    frame = figure.axes[0].get_window_extent()
    beside = [(t.get_text(), b) for t, b in boxes(figure).items() if b.x0 > frame.x1]
    for i, (a, first) in enumerate(beside):
        assert first.y0 > frame.y0 - 8, f"{a!r} lies below the axes"
        for b, second in beside[i + 1:]:
            assert not first.overlaps(second) or min(first.y1, second.y1) - max(first.y0, second.y0) < 2, f"{a!r} covers {b!r}"


def test_no_text_is_smaller_than_seven_points(drawn):
    _, figure = drawn
    for text in texts(figure):
        assert text.get_fontsize() >= 7, text.get_text()


def test_every_axis_says_its_unit(drawn):
    _, figure = drawn
    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            label = axis.get_label_text()
            numbered = any(re.search(r"\d", t.get_text()) for t in axis.get_ticklabels() if t.get_visible())
            plain = ("margin: capacity / demand", "chance of being met")   # ratios have none
            assert not numbered or label in plain or re.search(r" / (mm|µm|N·m|N·mm|N|MPa|h|min|cm³|Pa|kPa|s)\b", label), label
            assert "um" not in label.split(" / ")[-1] and "*" not in label


def luminance(hue):
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055)**2.4 for c in (int(hue[i:i + 2], 16) / 255 for i in (1, 3, 5))]
    return np.dot(linear, (0.2126, 0.7152, 0.0722))


@pytest.mark.parametrize("hue", figures.HUES)
def test_hues_keep_a_contrast_of_three_against_white(hue):
    """Relative luminance and contrast ratio as in W3C, Web Content Accessibility Guidelines 2.1 (2018), success criterion 1.4.11: 3:1 for graphics."""
    assert 1.05 / (luminance(hue) + 0.05) >= 3


def test_lines_are_told_apart_without_colour(parts):
    figure = figures.chances(parts["steep"])
    named = [line for line in figure.axes[0].lines if len(line.get_xdata()) == 8]
    looks = [(line.get_color(), str(line._dash_pattern), line.get_linewidth()) for line in named]
    assert len(named) > 5 and len(set(looks)) == len(looks)
    figure = figures.torque_by_tool(parts["bores"], parts["torques"], parts["limits"])
    styles = [line.get_linestyle() for line in figure.axes[0].lines if line.get_linewidth() == 1.0 and len(line.get_xdata()) == 5]
    assert len(styles) == 3 and len(set(styles)) == 3


def test_a_figure_is_in_the_kits_style_whatever_the_callers_settings_are(parts):
    import matplotlib
    with matplotlib.rc_context({"font.size": 20, "lines.linewidth": 9, "axes.spines.top": True}):
        figure = figures.torque_by_tool(parts["bores"], parts["torques"], parts["limits"])
        assert {t.get_fontsize() for t in texts(figure)} <= {7, 8}
        assert figures.png(figure) == figures.png(figures.torque_by_tool(parts["bores"], parts["torques"], parts["limits"]))
    assert not figure.axes[0].spines["top"].get_visible()


# What the figures say

def test_margins_show_the_hardest_tube_and_the_limiting_step_in_bold(parts):
    verdict = parts["hard"]
    figure = figures.margins(verdict)
    labels = figure.axes[0].get_yticklabels()
    assert [t.get_text() for t in labels] == list(dict.fromkeys(line.criterion for line in verdict.lines))
    assert [t.get_text() for t in labels if t.get_fontweight() == "bold"] == [verdict.limiting]
    beside = {t.get_text() for t in texts(figure)}
    line = verdict.limiting_line
    assert any(t.startswith(f"{line.chance:.2f}  {line.tube}") for t in beside)
    assert any("by hand in " in t for t in beside)


def test_a_chance_plot_names_every_step_that_ever_fails_and_no_other(parts):
    table = parts["steep"]
    named = {t.get_text() for t in texts(figures.chances(table, least=0.02))}
    falls = {name for name in criteria.CRITERIA if name in table and table[name].min() < 0.98}
    assert falls and named & set(criteria.CRITERIA) == falls and "all together" in named


def test_a_sweep_from_high_to_low_is_drawn_from_low_to_high(parts):
    assert figures.png(figures.chances(parts["sweep"])) == figures.png(figures.chances(parts["sweep"].iloc[::-1]))


def test_a_density_plot_says_in_how_many_draws_it_is_met(parts):
    line = parts["hard"].limiting_line
    words = {t.get_text() for t in texts(figures.against(line))}
    assert {"demand", "capacity", f"met in {line.chance:.0%} of draws"} <= words


def test_draws_with_nothing_left_do_not_stretch_the_axis(parts):
    from dataclasses import replace
    line = parts["verdict"].lines[0]
    some = line.capacity.copy()
    some[:20] = 0.0
    limits = [figures.against(x).axes[0].get_xlim() for x in (line, replace(line, capacity=some))]
    assert limits[1] == pytest.approx(limits[0], rel=0.2)


# Saving

@pytest.fixture
def figure(parts):
    return figures.against(parts["verdict"].lines[0])


DATA = pd.DataFrame({"wall_mm": [0.1, 0.2], "chance": [1 / 3, 0.5]}).set_index("wall_mm")
ENDS = {"pdf", "svg", "png", "txt", "csv"}


def test_five_files_are_saved_and_the_data_are_those_of_the_table(figure, tmp_path):
    paths = figures.save(figure, tmp_path / "deep" / "out", "fig.1", "  A caption, µm.\n", DATA)
    assert [p.name for p in paths] == ["fig.1.pdf", "fig.1.svg", "fig.1.png", "fig.1.txt", "fig.1.csv"]
    assert all(p.stat().st_size > 0 and p.stat().st_mode & 0o777 == 0o644 for p in paths)
    assert paths[3].read_text(encoding="utf-8") == "A caption, µm.\n"
    pd.testing.assert_frame_equal(pd.read_csv(paths[4], index_col="wall_mm"), DATA)
    assert set(os.listdir(tmp_path / "deep" / "out")) == {f"fig.1.{end}" for end in ENDS}


def test_the_saved_picture_has_600_dots_an_inch_and_the_exact_width(figure, tmp_path):
    from matplotlib.image import imread
    paths = {p.suffix: p for p in figures.save(figure, tmp_path, "f", "c", DATA)}
    assert imread(paths[".png"]).shape[1] == int(90 / 25.4 * 600)
    points = float(re.search(rb"/MediaBox \[ 0 0 ([\d.]+)", paths[".pdf"].read_bytes())[1])
    assert points / 72 * 25.4 == pytest.approx(90, abs=0.01)
    assert b"/Type3" not in paths[".pdf"].read_bytes()   # fonts that an editor can take up
    assert float(re.search(r'<svg[^>]* width="([\d.]+)pt"', paths[".svg"].read_text())[1]) / 72 * 25.4 == pytest.approx(90, abs=0.01)


def digests(folder):
    return {p.suffix: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.iterdir()}


def test_the_same_figure_gives_the_same_bytes(parts, tmp_path, monkeypatch):
    for folder, moment in (("a", "1000000000"), ("b", None)):   # no date of any kind inside
        if moment:
            monkeypatch.setenv("SOURCE_DATE_EPOCH", moment)
        else:
            monkeypatch.delenv("SOURCE_DATE_EPOCH")
        made = figures.against(parts["verdict"].lines[0])
        figures.png(made)   # having been shown on the page changes nothing
        figures.save(made, tmp_path / folder, "f", "caption", DATA)
    assert digests(tmp_path / "a") == digests(tmp_path / "b") and set(digests(tmp_path / "a")) == {f".{end}" for end in ENDS}


@pytest.mark.parametrize("there", ["f.pdf", "f.csv"])
def test_no_file_is_lost(figure, tmp_path, there):
    (tmp_path / there).write_text("mine")
    with pytest.raises(FileExistsError, match=f"holds {re.escape(there)} already; give another name, or say overwrite=True"):
        figures.save(figure, tmp_path, "f", "c", DATA)
    assert os.listdir(tmp_path) == [there] and (tmp_path / there).read_text() == "mine"
    figures.save(figure, tmp_path, "f", "c", DATA, overwrite=True)
    assert set(os.listdir(tmp_path)) == {f"f.{end}" for end in ENDS} and (tmp_path / there).read_text(errors="replace") != "mine"


@pytest.mark.parametrize("what", ["replace", "savefig", "to_csv"])
def test_a_fault_leaves_whole_files_only(figure, tmp_path, monkeypatch, what):
    def faulty(*args, **kwargs):
        raise OSError("the disk is full")
    target = {"replace": (os, "replace"), "savefig": (type(figure), "savefig"), "to_csv": (pd.DataFrame, "to_csv")}[what]
    monkeypatch.setattr(*target, faulty)
    with pytest.raises(OSError, match="the disk is full"):
        figures.save(figure, tmp_path, "f", "c", DATA)
    left = set(os.listdir(tmp_path))
    assert left == ({f"f.{end}" for end in ("pdf", "svg", "png", "txt")} if what == "to_csv" else set())


def test_a_fault_while_overwriting_keeps_the_old_file(figure, tmp_path, monkeypatch):
    figures.save(figure, tmp_path, "f", "old caption", DATA)
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError("the disk is full")))
    with pytest.raises(OSError):
        figures.save(figure, tmp_path, "f", "new caption", DATA, overwrite=True)
    assert (tmp_path / "f.txt").read_text() == "old caption\n" and set(os.listdir(tmp_path)) == {f"f.{end}" for end in ENDS}


def test_neither_figures_nor_panels_touch_pyplot():
    code = ("import sys, kit; from kit import figures, widgets, study; import warnings; warnings.simplefilter('ignore');"
            "figures.png(figures.margins(study.load().assess(draws=16))); print('matplotlib.pyplot' in sys.modules)")
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"


def test_the_pictures_of_the_readme_show_the_demo_as_it_stands():
    from PIL import Image   # comes with matplotlib
    drawn = Image.open(study.DEMO / "verdict.png").text["Description"]
    chance = study.load(study.DEMO).assess().chance
    assert float(drawn) == pytest.approx(chance, abs=2e-4), "draw it again: the command stands in DEVELOPERS.md"
