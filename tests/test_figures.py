"""kit.figures: every figure on every page it may have, text that can be read, no pyplot, the same bytes twice, whole
files or none."""
import errno
import hashlib
import inspect
import itertools
import os
import re
import subprocess
import sys
from collections import Counter
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.path import Path as Outline
from matplotlib.text import Text
from matplotlib.transforms import Affine2D

import kit
from kit import bench, criteria, figures, lap, means, routes, score, study, trials, words, worlds
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def parts(demo):
    """What the figures take, made once."""
    draws, made = demo.draws(512, seed=1), {}
    at_bench = means.Means(demo.workshop, draws, demo.tubes[0].name)   # the draws as they are for one tube
    made["verdict"] = demo.assess(draws=512)
    # everything at its worst: names, places and labels crowd, the wrench is used, something fails altogether
    made["hard"] = demo.with_(wall="0.1 mm", pulley="10 mm", edge="used").assess(draws=512)
    made["sweep"] = demo.sweep("wall", Q(np.linspace(0.05, 0.6, 8), "mm"), draws=256, worlds=16)
    made["band"] = worlds.band(demo, worlds=16, inner=16)
    made["steep"] = demo.with_(edge="used").sweep("pulley", Q(np.linspace(8, 60, 8), "mm"), draws=256)
    made["outside"] = demo.with_(order="outside first").sweep("wall", Q(np.linspace(0.05, 0.6, 8), "mm"), draws=256)
    made["bores"] = np.linspace(4, 12, 5)
    made["torques"] = {kind: np.array([routes.Passes((routes.Step("ream", "", Q(b - 0.5, "mm"), Q(b, "mm"),
                                                                  tool=routes.Tool(
        kind, lead_angle=Q(2 if kind == "polygon broach" else 45, "deg"))),)).torque(at_bench)[0].m_as("N*m")
                                       for b in made["bores"]])
        for kind in ("half-round bit", "fluted reamer", "polygon broach")}
    bow = routes.bow_torque(at_bench, pulley="40 mm")
    made["limits"] = {"bow": bow.m_as("N*m"), "wrench, two hands": routes.wrench_torque(at_bench).m_as("N*m")}
    nest = Q(np.array([5, 6.015, 7.03]), "mm")
    made["plan"] = routes.reamer_set(start="4.5 mm", bores=nest, drive=bow, draws=at_bench,
                                     most_stock_on_diameter="0.52 mm")
    made["crowded"] = routes.reamer_set(start="4.5 mm", bores=nest, drive=bow * 0.3, draws=at_bench, tool="fluted reamer")
    case = criteria.Case(demo.tubes[0], demo.steps(demo.tubes[0]), demo.workshop, draws)
    made["hours"] = np.linspace(0.25, 24, 20)
    rates = {step.abrasive: 2 * lap.removal_rate(case.means, step) * case["drive.attended"] for step in case.of("lap")}
    made["stages"] = {name: rate.m_as("um/h") * made["hours"][:, None] for name, rate in rates.items()}
    made["need"] = case.done("lap")[0].to_take.m_as("um")
    made["sleeves"] = [t for t in demo.tubes if t.route == "sleeve"]
    sleeves = demo.only(*(t.name for t in made["sleeves"]))
    made["tornado"] = sleeves.sensitivity("tornado")
    made["sobol"] = sleeves.only("hours").sensitivity("sobol", criterion="least wall", n=2**4, seed=1)
    walls, pinches = Q(np.array([0.1, 0.2, 0.3, 0.4, 0.6]), "mm"), Q(np.array([1.0, 4, 8, 15]), "N")
    made["map"] = sleeves.only("hours").map("wall", walls, "hand.pinch", pinches, draws=128,
                                            criteria=("wall: pinch", "least wall"))
    made["tested"] = pd.DataFrame({"wall / mm": [0.2, 0.58, 0.4], "hand.pinch / N": [4.0, 9.0, 12.0],
                                   "outcome": ["success", "fail", "partial"]})
    log = bench.read(study.DEMO / "bench_log.csv")
    made["compared"] = log.compare(demo, draws=128, seed=1)
    made["before"] = {k: q.magnitude for k, q in draws.items() if np.ndim(q.magnitude)}
    made["before"] = {k: made["before"][k] for k in list(made["before"])[:22]}
    made["after"] = {k: v[: 100 + 10 * i] * (1 + 0.01 * i) for i, (k, v) in enumerate(made["before"].items())}
    made["reach"] = sleeves.only("feasts").reach(0.6, choices=("wall", "clearance", "outside.held_by"), draws=64, confirm=64)
    made["measure"] = sleeves.only("feasts").next_trials(readings=(3, 6), worlds=32, inner=4, truths=16)
    made["ties"] = made["measure"].assign(rank=np.where(made["measure"].index % 4 < 2, 1.0, np.nan))
    made["critical"] = sleeves.only("feasts").critical("wall", points=7, draws=128)
    made["routes"] = routes.compare([("bored from the bar", sleeves), "cast on a core and reamed",
                                     "wrapped from sheet and soldered",
                                     "drawn or hammered on a mandrel"], n=64, seed=1)
    good, n = log.successes("drill")
    made["success"] = good, n, trials.success_interval(successes=good, trials=n)
    made["record"], made["long record"] = record(9, 4), record(25, 12)
    return made


def record(assumptions, formulas):
    """What Verdict.trace gives; the shares fall from 40 % and the fourth assumption is the weakest that matters."""
    shares, source = 0.4 * 0.6 ** np.arange(assumptions), "from memory, believed to be in a workshop handbook"
    key = ("abrasive.emery, fine.quantity_{}@lamp-oil barrel", "drive.quantity_{}", "edge.quantity_{}")
    label = ("quantity {} of fine emery (lamp-oil barrel)", "quantity {} of the bow lathe", "quantity {} of the edge")
    made = [SimpleNamespace(key=key[i % 3].format(i), label=label[i % 3].format(i), low=0.5, median=1.0, high=2.25, unit=("N*m", "", "MPa")[i % 3],
                            grade=("conjecture", "living-craft", "handbook")[i % 3],
                            source=("Kienzle 1952", source)[i % 2], share=share, matters=share >= 0.05,
                            weakest=i == 3, cited="", feeds=("demand", "capacity", "both")[i % 3])
            for i, share in enumerate(shares)]
    called = [SimpleNamespace(name=f"pistons.clearance_for_hold_{i}", source=source,
                              says="Clearance at which a vacuum holds for the time wanted, with the plunger aside.")
              for i in range(formulas)]
    claim = "A nest of four sleeves and a plunger can be made with bow, reamer and lap by one pair of hands; " * 2
    return SimpleNamespace(claim=claim, tube="lamp-oil barrel", criterion="reaming pass", where="pass to 12.00 mm",
                           unit="N*m", demand=(0.021, 0.052, 0.11), capacity=(0.2, 0.65, 1.3),
                           margin=(5.2, 12.9, np.inf), chance=0.984, n=16384, seed=1,
                           formulas=tuple(called), assumptions=tuple(made[::-1]),
                           choices={"pulley": "40 mm", "metal of the tools": "bloomery steel, hardened",
                                    "order of work": "bore first"})


def changed(given, **fields):
    return SimpleNamespace(**(vars(given) | fields))


X = np.geomspace(1, 100, 12)
FIGURES = {
    "margins": lambda p, s, **page: figures.margins(p["verdict"], **page),
    "margins, band": lambda p, s, **page: figures.margins(p["verdict"], band=p["band"], **page),
    "margins, hard": lambda p, s, **page: figures.margins(p["hard"], **page),
    "torque by tool": lambda p, s, **page: figures.torque_by_tool(p["bores"], p["torques"], p["limits"], **page),
    "plan": lambda p, s, **page: figures.plan(p["plan"], p["limits"], **page),
    "plan, crowded": lambda p, s, **page: figures.plan(p["crowded"], p["limits"], **page),
    "chances": lambda p, s, **page: figures.chances(p["sweep"], mark=0.4, **page),
    "chances, no band": lambda p, s, **page: figures.chances(p["sweep"].drop(columns=["all_5", "all_95"]), mark=0.4, **page),
    "chances, many": lambda p, s, **page: figures.chances(p["steep"], **page),
    "chances, some at nothing": lambda p, s, **page: figures.chances(p["outside"], **page),
    "removal": lambda p, s, **page: figures.removal(p["hours"], p["stages"], p["need"], **page),
    "nest": lambda p, s, **page: figures.nest(p["sleeves"], 5, **page),
    "nest, thin": lambda p, s, **page: figures.nest([t for t in s.with_(wall="0.05 mm").tubes if t.route == "sleeve"],
                                                    5, **page),
    "against, hard": lambda p, s, **page: figures.against(p["hard"].limiting_line, **page),
    "margin band": lambda p, s, **page: figures.margin_band(p["sweep"], **page),
    "margin band, many": lambda p, s, **page: figures.margin_band(
        p["sweep"].assign(limiting=["least wall", "lapping stock"] * 4), **page),
    "tornado": lambda p, s, **page: figures.tornado(p["tornado"], **page),
    "indices": lambda p, s, **page: figures.indices(p["sobol"], **page),
    "chance map": lambda p, s, **page: figures.chance_map(p["map"], **page),
    "chance map, tested": lambda p, s, **page: figures.chance_map(p["map"], tested=p["tested"], **page),
    "compared": lambda p, s, **page: figures.compared(p["compared"], **page),
    "scored": lambda p, s, **page: figures.scored(score.score().table, **page),
    "learnt": lambda p, s, **page: figures.learnt(p["before"], p["after"], s.labels, **page),
    "success": lambda p, s, **page: figures.success(*p["success"], **page),
    "over": lambda p, s, **page: figures.over(X, {"dry": 3e5 / X**3, "oiled,\nas long as it takes": 1e5 / X},
                                              "clearance / µm",
                                              "time it holds / s", {"wanted": 5}, log=(True, True), **page),
    "critical": lambda p, s, **page: figures.critical(p["critical"], mark=0.4, **page),
    "moved": lambda p, s, **page: figures.moved(p["critical"].moved_by(), **page),
    "reached": lambda p, s, **page: figures.reached(p["reach"], **page),
    "to measure": lambda p, s, **page: figures.to_measure(p["measure"], **page),
    "to measure, ties": lambda p, s, **page: figures.to_measure(p["ties"], **page),
    "traces": lambda p, s, **page: figures.traces(p["routes"], **page),
    "trace": lambda p, s, **page: figures.trace(p["record"], **page),
    "trace, long": lambda p, s, **page: figures.trace(p["long record"], **page)}
# the narrowest and the widest that journals print; what lies between is run apart
PAGES = [(name, width) for name in FIGURES for width in (80, 190)] + [(f"against, {name}", 80) for name in criteria.CRITERIA]
BETWEEN = [(name, width) for name in FIGURES for width in (90, 140)] + [(f"against, {name}", 140) for name in criteria.CRITERIA]
MAKERS = {name for module in kit.ROOMS["publish"]
          if module.endswith(("_figure", "_figures")) and module != "writeup_figures"   # which puts these together
          for name, f in inspect.getmembers(getattr(kit, module), inspect.isfunction)
          if inspect.unwrap(f).__module__.endswith(f".{module}") and not name.startswith("_")}


@pytest.fixture(params=[*PAGES, *(pytest.param(page, marks=pytest.mark.long) for page in BETWEEN)],
                ids=lambda page: f"{page[0]}, {page[1]} mm", scope="module")
def drawn(request, parts, demo):
    name, width = request.param
    if name in FIGURES:
        figure = FIGURES[name](parts, demo, width=width)
    else:
        line = next((x for x in parts["verdict"].lines if x.criterion == name[9:]), None)
        if line is None:
            pytest.skip("the demo has no such step")
        figure = figures.against(line, width=width)
    return width, draw(figure)


def draw(figure):
    FigureCanvasAgg(figure).draw()   # places the texts
    return figure


def texts(figure):
    """All texts that are drawn; an axis also keeps labels of ticks beyond its ends, which are not."""
    hidden = set()
    for ax in figure.axes:
        for i, axis in enumerate((ax.xaxis, ax.yaxis)):
            low, high = sorted(axis.get_view_interval())
            slack = 1e-9 * (high - low)
            hidden |= {t for t in axis.get_ticklabels(which="both") if not ax.axison
                       or not low - slack <= t.get_position()[i] <= high + slack}
    return [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip() and t not in hidden]


def said(figure):
    return {" ".join(t.get_text().split()) for t in texts(figure)}


def boxes(figure):
    """{text: where it stands, in dots}; of an annotation without its line."""
    renderer = figure.canvas.get_renderer()
    return {t: Text.get_window_extent(t, renderer) for t in texts(figure)}


def covers(figure, text, box):
    """Outline of what a text covers, turned as it is, one dot less on each side."""
    angle = text.get_rotation()
    text.set_rotation(0)
    flat = Text.get_window_extent(text, figure.canvas.get_renderer())
    text.set_rotation(angle)
    half, centre = np.array([flat.width / 2 - 1, flat.height / 2 - 1]), np.array([box.x0 + box.x1, box.y0 + box.y1]) / 2
    corners = half * [(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]
    return Outline(Affine2D().rotate_deg(angle).transform(corners) + centre, closed=True)


def clashes(figure):
    """Pairs of texts that touch."""
    shapes = [(t.get_text(), box, covers(figure, t, box)) for t, box in boxes(figure).items()]
    return [(a, b) for (a, box, shape), (b, other, second) in itertools.combinations(shapes, 2)
            if box.overlaps(other) and shape.intersects_path(second, filled=True)]


def off_the_page(figure):
    page = figure.bbox
    return [t.get_text() for t, box in boxes(figure).items() if box.x0 < -0.5 or box.y0 < -0.5
            or box.x1 > page.x1 + 0.5 or box.y1 > page.y1 + 0.5]


def test_every_figure_is_looked_at_here():
    source = inspect.getsource(sys.modules[__name__])
    assert MAKERS and {f"figures.{name}(" for name in MAKERS} <= set(re.findall(r"figures\.\w+\(", source))
    assert {name for name, _ in inspect.getmembers(figures, inspect.isfunction)} == MAKERS | {"png", "save"}


def test_a_figure_is_a_matplotlib_figure_of_the_exact_width(drawn):
    width, figure = drawn
    assert type(figure) is Figure and figure.get_figwidth() * 25.4 == pytest.approx(width, abs=1e-9)
    assert figure.get_figheight() * 25.4 <= 222 + 1e-9
    assert not any(ax.get_title() for ax in figure.axes)   # the caption says it


def test_every_text_lies_on_the_page(drawn):
    _, figure = drawn
    assert texts(figure) and off_the_page(figure) == []


def test_no_text_covers_another(drawn):
    _, figure = drawn
    assert clashes(figure) == []


def test_names_in_the_margin_do_not_hang_below_the_axes(drawn):
    _, figure = drawn
    frame = figure.axes[0].get_window_extent()
    assert all(box.y0 > frame.y0 - 8 for box in boxes(figure).values() if box.x0 > frame.x1)


def test_no_text_is_smaller_than_seven_points(drawn):
    _, figure = drawn
    assert {t.get_fontsize() for t in texts(figure)} <= {7, 8}


def test_every_axis_says_its_unit(drawn):
    _, figure = drawn
    ratios = {"margin: capacity / demand", "share of draws that pass", "chance of being met", "least margin of all",
              "least margin: capacity / demand", "true rate of success", "width of the band of the chance",
              # have none
              "share of the variance of the log margin", "measured over predicted median", "over the median before", "edge life"}
    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            label = axis.get_label_text()
            numbered = ax.axison and any(re.fullmatch(r"[−\d.\u202f]+", t.get_text()) for t in axis.get_ticklabels()
                                         if t.get_visible())
            assert not numbered or label in ratios or re.search(r" / (mm|µm|N·m|N·mm|N|MPa|h|min|cm³|Pa|kPa|s)\b",
                                                                label), label
            assert "um" not in label.split(" / ")[-1] and "*" not in label


def contrast(hue):
    """Against white, as in W3C, Web Content Accessibility Guidelines 2.1 (2018); held against print in
    tests/published."""
    hue = to_hex(hue)
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055)**2.4
              for c in (int(hue[i:i + 2], 16) / 255 for i in (1, 3, 5))]
    return 1.05 / (np.dot(linear, (0.2126, 0.7152, 0.0722)) + 0.05)


def test_lines_and_words_stand_out_from_the_paper(drawn):
    _, figure = drawn
    ruling = {to_hex("0.85"), to_hex("0.9")}   # between rows: says nothing
    hues = [line.get_color() for ax in figure.axes for line in ax.lines]
    hues += [hue for ax in figure.axes for many in ax.collections if type(many).__name__ == "LineCollection"
             for hue in many.get_color()]
    assert all(contrast(hue) >= 3 for hue in map(to_hex, hues) if hue not in ruling)
    for text in texts(figure):
        assert contrast(text.get_color()) >= 4.5, (text.get_text(), text.get_color())


# The page

@pytest.mark.parametrize("width", [79.9, 190.6, 0, -90, float("nan"), "90 mm", None, True])
def test_a_width_that_no_journal_prints_is_refused(parts, demo, width):
    told = r"^width: .*; give a number of mm from 80 to 190\.5 \(journals print 90, 140 or 190\)$"
    for make in FIGURES.values():
        with pytest.raises(ValueError, match=told):
            make(parts, demo, width=width)


@pytest.mark.parametrize("height", [24, 223, "80"])
def test_a_height_that_no_page_holds_is_refused(parts, height):
    with pytest.raises(ValueError, match="^height: .*; give a number of mm from 25 to 222 "):
        figures.chances(parts["sweep"], height=height)


def test_a_page_does_not_grow_higher_than_it_may_be(parts, demo):
    for name in ("margin band, many", "nest", "chances, many"):
        assert FIGURES[name](parts, demo, width=80, height=222).get_figheight() * 25.4 == pytest.approx(222)


def test_the_widths_of_journals_have_names():
    assert figures.WIDTHS == {"single": 90, "mid": 140, "full": 190}


@pytest.mark.parametrize("width", [100.5, *(pytest.param(width, marks=pytest.mark.long) for width in (119.9, 120, 190.5))])
def test_any_width_between_can_be_read(parts, demo, width):
    for name, make in FIGURES.items():
        figure = draw(make(parts, demo, width=width))
        assert (off_the_page(figure), clashes(figure)) == ([], []), name


LONG = "outermost sleeve of the hour hand, remade twice, $second$ of its name"


@pytest.mark.parametrize("width", [80, 140, 190])
def test_long_names_are_shortened_and_not_cut_off(parts, width):
    from dataclasses import replace
    verdict = replace(parts["hard"], lines=tuple(replace(line, tube=LONG) for line in parts["hard"].lines))
    table = parts["tornado"].assign(assumption=lambda t: [f"{label} of {LONG} ({LONG})" for label in t["assumption"]])
    sleeves = [replace(tube, name=f"{i} {LONG}") for i, tube in enumerate(parts["sleeves"])]
    for figure in (figures.margins(verdict, width=width), figures.tornado(table, width=width),
                   figures.nest(sleeves, 5, width=width),
                   figures.over(X, {LONG: X, LONG[::-1]: X}, "x / mm", "y / mm", {"a" * 60: 3.0}, width=width)):
        assert (off_the_page(draw(figure)), clashes(figure)) == ([], [])
        frame = figure.axes[0].get_position()
        assert frame.width * width > 0.3 * width and any("…" in text or "$second$" in text for text in said(figure))


def test_words_of_a_row_stand_above_it_on_a_narrow_page_and_beside_it_on_a_wide_one(parts):
    narrow, wide = (draw(figures.margins(parts["verdict"], width=width)) for width in (90, 140))
    line = parts["verdict"].limiting_line
    for figure, beside in ((narrow, False), (wide, True)):
        frame, found = figure.axes[0].get_window_extent(), {t.get_text(): b for t, b in boxes(figure).items()}
        assert bool(found[line.criterion].x1 < frame.x0) is beside
        assert any(text.startswith(f"{words.chance(line.chance)} ") and line.tube in text
                   and bool(box.x0 > frame.x1) is beside for text, box in found.items())
    assert narrow.axes[0].get_position().width > 0.8


def test_a_wider_page_gives_its_width_to_the_axes(parts, demo):
    for name in ("margins", "chances", "tornado", "plan", "nest", "compared", "learnt", "traces"):
        room = [FIGURES[name](parts, demo, width=width).axes[0].get_position().width * width for width in (140, 190)]
        assert room[1] - room[0] > 35, name


def test_lines_are_told_apart_without_colour(parts):
    figure = figures.chances(parts["steep"])
    named = [line for line in figure.axes[0].lines if len(line.get_xdata()) == 8]
    looks = [(line.get_color(), str(line._dash_pattern), line.get_linewidth()) for line in named]
    assert len(named) > 5 and len(set(looks)) == len(looks)
    figure = figures.torque_by_tool(parts["bores"], parts["torques"], parts["limits"])
    styles = [line.get_linestyle() for line in figure.axes[0].lines if line.get_linewidth() == 1.0
              and len(line.get_xdata()) == 5]
    assert len(styles) == 3 and len(set(styles)) == 3


def test_a_figure_is_in_the_kits_style_whatever_the_callers_settings_are(parts):
    import matplotlib
    with matplotlib.rc_context({"font.size": 20, "lines.linewidth": 9, "axes.spines.top": True}):
        figure = figures.torque_by_tool(parts["bores"], parts["torques"], parts["limits"])
        assert {t.get_fontsize() for t in texts(figure)} <= {7, 8}
        assert figures.png(figure) == figures.png(figures.torque_by_tool(parts["bores"], parts["torques"],
                                                                         parts["limits"]))
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
    assert any(t.startswith(f"{words.chance(line.chance)}  {line.tube}") for t in beside)
    by_hand = [words.percent(line.by_hand) for line in verdict.lines if line.by_hand >= 0.005]
    assert by_hand and any(t.endswith(f"\nby hand in {share}") for t in beside for share in by_hand)


def test_the_band_of_the_chance_of_all_is_a_light_bar_and_is_told(parts):
    verdict, band = parts["verdict"], parts["band"]
    figure = figures.margins(verdict, band=band)
    scale, = (ax for ax in figure.axes if ax is not figure.axes[0])
    bar, = scale.patches
    assert (bar.get_x(), bar.get_x() + bar.get_width()) == pytest.approx((band.low, band.high)) and scale.get_xlim() == (0, 1)
    assert scale.lines[0].get_xdata().tolist() == [verdict.chance] * 2
    assert any(band.said in text and words.chance(verdict.chance) in text for text in said(figure))
    assert len(figures.margins(verdict).axes) == 1   # it takes seconds to work out, which a slider has not


def test_a_bar_that_goes_on_beyond_the_axis_has_an_arrow(parts):
    from dataclasses import replace
    verdict = parts["verdict"]
    n = len(verdict.lines[0].margin)
    ends = {"cord": np.full(n, 0.001), "labour": np.full(n, 1e4), "jamming": np.full(n, np.inf)}
    lines = tuple(replace(line, margin=ends.get(line.criterion, line.margin)) for line in verdict.lines)
    names = list(dict.fromkeys(line.criterion for line in lines))

    def arrows(lines):
        axes = figures.margins(replace(verdict, lines=lines)).axes[0]
        return {(names[int(row)], line.get_marker()) for line in axes.lines if line.get_marker() in "<>" for row in line.get_ydata()}
    assert {("cord", "<"), ("labour", ">"), ("jamming", ">")} <= arrows(lines)
    assert not {("cord", "<"), ("labour", ">")} & arrows(verdict.lines)


def test_every_criterion_stands_once_with_its_worst_tube(parts):
    verdict, figure = parts["verdict"], figures.margins(parts["verdict"])
    names = [t.get_text() for t in figure.axes[0].get_yticklabels()]
    assert sorted(names) == sorted(verdict.chances) and len(set(names)) == len(names)
    for name in names:
        worst = min(line.chance for line in verdict.lines if line.criterion == name)
        assert worst == verdict.hardest(name).chance
        assert any(text.startswith(f"{words.chance(worst)}  ") for text in (t.get_text() for t in texts(figure)))


def test_the_band_of_a_sweep_is_drawn_between_its_ends_and_named(parts):
    table = parts["sweep"]
    figure = figures.chances(table)
    band, = figure.axes[0].collections[:1]
    found = band.get_paths()[0].vertices
    for x, low, high in zip(table.index, table["all_5"], table["all_95"]):
        at = found[np.isclose(found[:, 0], x)][:, 1]
        assert (at.min(), at.max()) == pytest.approx((low, high))
    assert "all, in nine of ten worlds" in said(figure)
    assert "all, in nine of ten worlds" not in said(figures.chances(table.drop(columns=["all_5", "all_95"])))


def test_a_chance_plot_names_every_step_that_ever_fails_and_no_other(parts):
    table = parts["steep"]
    named = {t.get_text() for t in texts(figures.chances(table, least=0.02))}
    falls = {name for name in criteria.CRITERIA if name in table and table[name].min() < 0.98}
    assert falls and named & set(criteria.CRITERIA) == falls and "all together" in named


def test_a_sweep_from_high_to_low_is_drawn_from_low_to_high(parts):
    assert figures.png(figures.chances(parts["sweep"])) == figures.png(figures.chances(parts["sweep"].iloc[::-1]))


@pytest.mark.parametrize("met, told", [(512, ">0.99"), (510, ">0.99"), (256, "0.50"), (0, "<0.01")])
def test_a_density_plot_says_with_what_chance_it_is_met(parts, met, told):
    from dataclasses import replace
    line = parts["hard"].limiting_line
    line = replace(line, margin=np.r_[np.full(met, 2.0), np.full(512 - met, 0.5)])
    assert {"demand", "capacity", f"met with a chance of {told}"} <= said(figures.against(line))


def test_rows_of_assumptions_are_named_by_their_labels(parts, demo):
    """On a wide page, where a long one goes on in a second line; none is cut, and no key is seen."""
    for figure, labels in ((figures.tornado(parts["tornado"], width=190), parts["tornado"]["assumption"][:12]),
                           (figures.indices(parts["sobol"], width=190), parts["sobol"]["assumption"][:10]),
                           (figures.learnt(parts["before"], parts["after"], demo.labels, width=190),
                            [demo.labels[key.partition("@")[0]] for key in parts["after"]])):
        assert set(labels) <= said(figure)
    narrow = figures.indices(parts["sobol"], width=90)
    assert set(parts["sobol"]["assumption"][:10]) <= said(narrow)
    assert any("\n" in t.get_text() for t in texts(narrow))


def test_numbers_along_an_axis_are_plain_whatever_their_size():
    small, large = np.geomspace(1e-5, 1, 12), np.geomspace(1, 1e6, 12)
    figure = draw(figures.over(small, {"one": large}, "x / mm", "y / mm", log=(True, True)))
    shown = {t.get_text() for t in texts(figure)}
    assert {"0.00001", "0.1", "1000", f"100{words.THIN}000", f"1{words.THIN}000{words.THIN}000"} <= shown
    assert not [t for t in shown if re.search(r"\de|×", t)]
    figure = draw(figures.over(1e5 + 10 * np.arange(5), {"one": np.arange(5) * 1e-5}, "x / mm", "y / mm",
                               log=(False, False)))
    shown = {t.get_text() for t in texts(figure)}
    assert {f"100{words.THIN}010", "0.00002"} <= shown and not [t for t in shown if re.search(r"\de|[+×]", t)]


def test_draws_with_nothing_left_do_not_stretch_the_axis(parts):
    from dataclasses import replace
    line = parts["verdict"].lines[0]
    some = line.capacity.copy()
    some[:20] = 0.0
    limits = [figures.against(x).axes[0].get_xlim() for x in (line, replace(line, capacity=some))]
    assert limits[1] == pytest.approx(limits[0], rel=0.2)


def test_a_map_says_what_dark_and_light_mean(parts):
    figure = figures.chance_map(parts["map"])
    assert {"dark: chance 0", "light: chance 1"} <= said(figure)
    shades = [float(patch.get_facecolor()[0]) for patch in sorted(figure.artists, key=lambda patch: patch.get_x())]
    assert shades == sorted(shades) and len(set(shades)) == 10
    filled = figure.axes[0].collections[0]
    assert filled.get_facecolor()[:, 0] == pytest.approx(shades) and filled.levels == pytest.approx(np.linspace(0, 1,
                                                                                                                11))


def test_a_chance_of_one_is_light(parts):
    """Grey where the least chance is, white where all is met."""
    dots = []
    for chance in (0.0, 1.0):
        table = parts["map"].assign(all=chance)
        table.attrs = parts["map"].attrs
        figure = draw(figures.chance_map(table))
        frame = figure.axes[0].get_window_extent()
        dots.append(np.asarray(figure.canvas.buffer_rgba())[int(figure.bbox.y1 - (frame.y0 + frame.y1) / 2),
                                                            int((frame.x0 + frame.x1) / 2), 0])
    assert dots[0] < 150 and dots[1] == 255


# A number back to where it comes from

def frames(figure):
    """The boxes of a trace, from the top down and from the left: (outline, texts in it)."""
    words = [(t, t.get_position()) for t in texts(figure)]
    found = sorted((p for p in figure.axes[0].patches if isinstance(p, Rectangle)),
                   key=lambda p: (p.get_x() > figure.get_figwidth() * 25.4 / 2, p.get_y()))
    return [(p, [t for t, (x, y) in words if p.get_x() <= x <= p.get_x() + p.get_width()
                 and p.get_y() < y < p.get_y() + p.get_height()]) for p in found]


def in_words(found):
    return " ".join(t.get_text() for t in found).replace("\u00a0", " ")


@pytest.mark.parametrize("width", [90, 140, 190])
def test_a_trace_leads_from_the_claim_to_every_assumption_that_matters(parts, width):
    given = parts["record"]
    (claim, *_), (criterion, *_), *rest = [(in_words(found), patch) for patch,
                                           found in frames(figures.trace(given, width=width))]
    assert claim == given.claim.strip()
    for told in ("reaming pass, lamp-oil barrel, pass to 12.00 mm", "demand 0.052 (0.021 to 0.11) N·m",
                 "capacity 0.65 (0.20 to 1.3) N·m", "margin 13 (5.2 to ∞)",
                 f"met with a chance of 0.98; 16{words.THIN}384 draws, seed 1",
                 "pulley: 40 mm; metal of the tools: bloomery steel, hardened; order of work: bore first"):
        assert told in criterion
    formulas, assumptions = [w for w, p in rest if p.get_x() < width / 2], [w for w, p in rest if p.get_x() > width / 2]
    assert [w.startswith(words.key_label(f.name)) for w, f in zip(formulas, given.formulas,
                                                                    strict=True)] == [True] * 4
    matter = sorted((a for a in given.assumptions if a.matters), key=lambda a: -a.share)
    assert len(matter) == 5 and assumptions[5] == "and 4 that carry less than 5 % each" and len(assumptions) == 6
    for told, a in zip(assumptions, matter):
        for word in (f"{words.percent(a.share)} of the variance", a.grade.replace("-", " "), a.label, a.source[:11],
                     f"1.0 (0.50 to 2.2) {words.unit(a.unit)}".strip()):
            assert word in told
        assert ("enters demand and capacity" if a.feeds == "both" else f"enters {a.feeds}") in told
        assert told.startswith("weakest that matters ") == a.weakest


@pytest.mark.parametrize("width", [80, 140, 190])
@pytest.mark.parametrize("name", ["record", "long record"])
def test_words_stay_in_their_box_and_every_box_hangs_on_a_line(parts, width, name):
    figure = draw(figures.trace(parts[name], width=width))
    to_page, found = figure.axes[0].transData.inverted(), boxes(figure)
    ends = {(round(x, 6), round(y, 6)) for line in figure.axes[0].collections[0].get_segments() for x, y in line}
    for patch, inside in frames(figure):
        (x, y), wide, high = patch.get_xy(), patch.get_width(), patch.get_height()
        assert inside
        for text in inside:
            (x0, bottom), (x1, top) = to_page.transform(found[text].get_points())
            assert x <= x0 and x1 <= x + wide and y <= top and bottom <= y + high + 0.2, text.get_text()
        assert wide > width / 2 or (round(x, 6), round(y + high / 2, 6)) in ends


def test_the_outline_says_what_matters(parts):
    given = parts["record"]
    outlines = {in_words(found): patch.get_linewidth() for patch, found in frames(figures.trace(given))}
    heavy = [told for told, wide in outlines.items() if wide > 1.5]
    assert len(heavy) == 1 and heavy[0].startswith("weakest that matters quantity 3 of fine emery (lamp-oil barrel)")
    assert [told[:3] for told, wide in outlines.items() if wide < 0.5] == ["and"]


def test_where_hardly_anything_matters_the_three_that_move_it_most_are_shown_thin(parts):
    given = parts["record"]
    small = [changed(a, share=a.share / 50, matters=False, weakest=False) for a in given.assumptions]
    found = frames(figures.trace(changed(given, assumptions=tuple(small))))
    thin = [in_words(inside) for patch, inside in found if patch.get_linewidth() < 0.5]
    assert [re.search(r"quantity (\d)", told)[1] for told in thin[:3]] == ["0", "1", "2"] and len(thin) == 4
    assert thin[3] == "and 6 that carry less than 5 % each"


def test_one_assumption_left_over_is_told_so(parts):
    few = [a for a in parts["record"].assumptions if a.share > 0.03 or a.matters]
    assert "and 1 that carries less than 5 %" in said(figures.trace(changed(parts["record"],
                                                                            assumptions=tuple(few[-6:]))))


def test_a_number_that_rests_on_nothing_is_told_so_and_one_that_is_pinned_has_no_range(parts):
    alone = changed(parts["record"], formulas=(), assumptions=(), choices={}, where="", capacity=(2.0, 2.0, 2.0))
    _, criterion, *rest = [in_words(found) for _, found in frames(figures.trace(alone))]
    assert rest == ["none: as given", "none: nothing is drawn"] and "capacity 2.0 N·m" in criterion
    assert criterion.startswith("reaming pass, lamp-oil barrel demand")


def test_the_demo_can_be_traced(parts):
    for name in ("reaming pass", "running"):
        given = parts["verdict"].trace(name)
        figure = draw(figures.trace(given, width=90))
        assert (off_the_page(figure), clashes(figure)) == ([], [])
        weakest = next(a.label for a in given.assumptions if a.weakest)
        assert any(weakest in in_words(found) for patch, found in frames(figure) if patch.get_linewidth() > 1.5)


def test_what_a_full_page_cannot_show_is_folded_and_the_weakest_stays(parts):
    """Twenty that matter, the weakest of them the least."""
    source = "a handbook of workshop practice " * 4
    many = [changed(a, share=0.2 - 0.01 * i, matters=True, weakest=i == 19, source=source) for i,
            a in enumerate(record(20, 3).assumptions)]
    figure = draw(figures.trace(changed(parts["record"], assumptions=tuple(many)), width=90))
    told = [in_words(found) for _, found in frames(figure)]
    shown = [a for a in many if any(f" {words.percent(a.share)} of the variance" in w for w in told)]
    assert figure.get_figheight() * 25.4 <= 222 and off_the_page(figure) == [] and len(shown) < 20
    assert many[19] in shown and sum("weakest that matters" in w for w in told) == 1
    left, most = re.search(r"and (\d+) that carry less than (\d+)", told[-1]).groups()
    assert int(left) == 20 - len(shown) and int(most) == 1 + int(max(100 * a.share for a in many if a not in shown))


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
    assert imread(paths[".png"]).shape[1] == round(90 / 25.4 * 600)
    points = float(re.search(rb"/MediaBox \[ 0 0 ([\d.]+)", paths[".pdf"].read_bytes())[1])
    assert points / 72 * 25.4 == pytest.approx(90, abs=0.01)
    assert b"/Type3" not in paths[".pdf"].read_bytes()   # fonts that an editor can take up
    points = float(re.search(r'<svg[^>]* width="([\d.]+)pt"', paths[".svg"].read_text())[1])
    assert points / 72 * 25.4 == pytest.approx(90, abs=0.01)


def digests(folder):
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.iterdir()}


def test_the_same_figure_gives_the_same_bytes(parts, tmp_path, monkeypatch):
    for folder, moment in (("a", "1000000000"), ("b", None)):   # no date of any kind inside
        if moment:
            monkeypatch.setenv("SOURCE_DATE_EPOCH", moment)
        else:
            monkeypatch.delenv("SOURCE_DATE_EPOCH")
        made = figures.against(parts["verdict"].lines[0])
        figures.png(made)   # having been shown on the page changes nothing
        figures.save(made, tmp_path / folder, "f", "caption", DATA, alt="two hills", formats=figures.FORMATS)
    assert digests(tmp_path / "a") == digests(tmp_path / "b")
    assert set(digests(tmp_path / "a")) == {f"f.{end}" for end in (*ENDS, "tiff", "alt.txt")}


def test_only_what_is_asked_for_is_written(figure, tmp_path):
    paths = figures.save(figure, tmp_path, "Abb. 3 é", "c", DATA, formats=("tiff",))
    assert [p.name for p in paths] == ["Abb. 3 é.tiff", "Abb. 3 é.txt", "Abb. 3 é.csv"]
    assert set(os.listdir(tmp_path)) == {p.name for p in paths}
    (alone,) = figures.save(figure, tmp_path / "bare", "f", formats=("svg",), alt="two hills")   # no caption, no data
    assert os.listdir(tmp_path / "bare") == [alone.name] == ["f.svg"]


def test_those_who_cannot_see_it_are_told_what_it_shows(figure, tmp_path):
    from xml.etree import ElementTree
    alt = 'Demand & capacity: 0.2 < 0.3 mm, the "wall"'
    paths = figures.save(figure, tmp_path, "f", "c", DATA, alt=alt)
    assert paths[-1].name == "f.alt.txt" and paths[-1].read_text(encoding="utf-8") == alt + "\n"
    assert ElementTree.parse(tmp_path / "f.svg").find("{http://www.w3.org/2000/svg}title").text == alt
    with pytest.raises(FileExistsError, match="f.alt.txt"):
        figures.save(figure, tmp_path, "f", "c", DATA, alt="other")
    assert paths[-1].read_text(encoding="utf-8") == alt + "\n"


def test_a_tiff_is_rgb_packed_and_holds_the_dots_of_the_png(figure, tmp_path):
    from PIL import Image
    *_, png, tiff = figures.save(figure, tmp_path, "f", "c", DATA, formats=figures.FORMATS)[:4]
    with Image.open(png) as one, Image.open(tiff) as other:
        assert other.mode == one.mode == "RGB"
        assert other.info["compression"] == "tiff_lzw" and other.info["dpi"] == (600, 600)
        dots = np.asarray(one)
        assert np.array_equal(dots, np.asarray(other)) and len(np.unique(dots.reshape(-1, 3), axis=0)) > 20


def test_a_format_or_a_name_that_makes_no_file_is_refused(figure, tmp_path):
    told = r"^formats: 'tif' is not one that a figure is saved in; did you mean 'tiff'\?$"
    with pytest.raises(ValueError, match=told):
        figures.save(figure, tmp_path / "new", "f", "c", DATA, formats=("pdf", "tif"))
    for name in ("", "..", "a/b", "../f"):
        with pytest.raises(ValueError, match="^name: .* must be the name of a file"):
            figures.save(figure, tmp_path / "new", name, "c", DATA)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("there", ["f.pdf", "f.csv"])
def test_no_file_is_lost(figure, tmp_path, there):
    (tmp_path / there).write_text("mine")
    told = f"holds {re.escape(there)} already; give another name, or say overwrite=True"
    with pytest.raises(FileExistsError, match=told):
        figures.save(figure, tmp_path, "f", "c", DATA)
    assert os.listdir(tmp_path) == [there] and (tmp_path / there).read_text() == "mine"
    figures.save(figure, tmp_path, "f", "c", DATA, overwrite=True)
    assert set(os.listdir(tmp_path)) == {f"f.{end}" for end in ENDS}
    assert (tmp_path / there).read_text(errors="replace") != "mine"


FULL = OSError(errno.ENOSPC, "No space left on device")


def faulty(*args, **kwargs):
    raise FULL


@pytest.mark.parametrize("old", [True, False])
@pytest.mark.parametrize("what", ["savefig", "save", "to_csv", "write_bytes", "chmod", "replace"])
def test_a_full_disk_leaves_no_new_file_and_every_old_one(figure, tmp_path, monkeypatch, what, old):
    from pathlib import Path

    from PIL import Image
    every = dict(alt="a", formats=figures.FORMATS, overwrite=True)
    if old:
        figures.save(figure, tmp_path, "f", "old caption", DATA, **every)
    before = digests(tmp_path)
    target = {"savefig": type(figure), "save": Image.Image, "to_csv": pd.DataFrame, "write_bytes": Path, "chmod": os,
              "replace": os}[what]
    monkeypatch.setattr(target, what, faulty)
    with pytest.raises(OSError, match="No space left"):
        figures.save(figure, tmp_path, "f", "new caption", DATA * 2, **every)
    assert digests(tmp_path) == before and bool(before) is old


@pytest.mark.parametrize("room", [10, 2_000, 9_000, 50_000])
def test_a_file_that_the_system_stops_half_way_is_not_left(figure, tmp_path, room):
    resource = pytest.importorskip("resource", reason="only here can the size of a file be limited")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, hard))
    try:
        with pytest.raises(OSError, match="File too large"):
            figures.save(figure, tmp_path, "f", "c", pd.concat([DATA] * 5000), formats=figures.FORMATS)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert os.listdir(tmp_path) == []


def test_a_fault_while_files_are_put_in_place_leaves_whole_ones(figure, tmp_path, monkeypatch):
    put, done = os.replace, Counter()

    def second_fails(*args):
        done["times"] += 1
        if done["times"] == 2:
            raise FULL
        put(*args)
    monkeypatch.setattr(os, "replace", second_fails)
    with pytest.raises(OSError):
        figures.save(figure, tmp_path, "f", "c", DATA)
    assert os.listdir(tmp_path) == ["f.pdf"] and (tmp_path / "f.pdf").read_bytes().rstrip().endswith(b"%%EOF")


def test_neither_figures_nor_panels_touch_pyplot():
    code = ("import sys, warnings, kit; from kit import figures, widgets, study; warnings.simplefilter('ignore');"
            "figures.png(figures.margins(study.load().assess(draws=16))); print('matplotlib.pyplot' in sys.modules)")
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"
