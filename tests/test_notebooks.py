"""Every notebook from an empty namespace: on the demo, with every control moved; and on a study of one's own, of a single tube, without use,
plunger or trials. All in one kernel, which a worker starts once; a kernel of its own for each page is what the browser tests give."""
import json
import operator
import os
import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell, new_notebook

import kit
from kit import newstudy, study, tables

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("[01]*.ipynb"))
CODE = {p.stem: [cell.source for cell in nbformat.read(p, 4).cells if cell.cell_type == "code"] for p in NOTEBOOKS}

START = """%reset -f
import os
os.chdir({folder!r})
os.environ["KIT_STUDY"] = {study!r}
from kit import controls, widgets
controls.NOTEBOOK.inch = controls.NOTEBOOK.large = False
panels_before = len(widgets.panels())
"""
WALK = """
import json
from kit import widgets

def seen(panel):
    return panel.picture.value.partition("base64,")[2], panel.words.value

moves = []
for number, panel in enumerate(widgets.panels()[panels_before:]):
    start = seen(panel)
    for name, control in panel.controls.items():
        slides = isinstance(control, widgets.Slider)
        part, shows = (control.track, control.box) if slides else (control, control)
        began, label = part.value, shows.value
        steps = [began + by * control.step for by in (5, -5, 1, -1)] if slides else []
        others = steps or [o for o in control.options if o != began]
        for other in others:
            if slides and not control.low <= other <= control.high:
                continue
            part.value = other
            if not panel.fault:
                break
        now, changed = seen(panel), shows.value != label
        shows.value = label      # typed, or chosen: back to where it began
        moves.append({"panel": number, "control": name, "named": shows.description, "unit": getattr(control, "unit", ""),
                      "label": changed, "fault": panel.fault, "picture or words": now != start,
                      "back": seen(panel) == start})
print(json.dumps(moves))
"""


@pytest.fixture(scope="session")
def kernel(tmp_path_factory):
    here = {"metadata": {"path": str(tmp_path_factory.mktemp("pages"))}}
    client = NotebookClient(new_notebook(), timeout=300, kernel_name="python3", resources=here, allow_errors=True)
    with client.setup_kernel():
        yield client


@pytest.fixture
def run(kernel, tmp_path):
    """Runs a page, and what is wanted after it, in a folder of its own: what its cells gave, without an error."""
    def ran(name, chosen="", last=()):
        code = [START.format(folder=str(tmp_path), study=str(chosen)), *CODE[name], *last]
        kernel.nb = new_notebook(cells=[new_code_cell(source) for source in code])
        for place, cell in enumerate(kernel.nb.cells):
            kernel.execute_cell(cell, place)
        given = [output for cell in kernel.nb.cells for output in cell.outputs]
        assert [output["evalue"] for output in given if output["output_type"] == "error"] == [] != given
        return given
    return ran


def printed(given):
    return "".join(output.get("text", "") for output in given)


@pytest.mark.slow
@pytest.mark.parametrize("name", CODE)
def test_a_notebook_runs_and_every_control_moves_its_label_and_the_figure_or_its_words(name, run):
    code = "\n".join(CODE[name])
    paneled = "panels." in code
    given = run(name, last=[WALK] if paneled else [])
    html = "".join(output.get("data", {}).get("text/html", "") for output in given)
    makers = re.findall("made by <code>kit.([^<]+)</code>", html)   # of the pictures, one each
    assert len(makers) == html.count("<img ") and all(operator.attrgetter(maker)(kit) for maker in makers)
    printed = "".join(output.text for output in given if output.get("name") == "stdout") if paneled else "[]"   # a print may come in pieces
    moves = json.loads(printed.rstrip().rpartition("\n")[2])
    assert len({move["panel"] for move in moves}) == len(re.findall(r"\bpanels\.\w+\(", code)) and bool(moves) == paneled
    for move in moves:
        assert move["label"] and move["picture or words"] and move["back"] and not move["fault"], move
        assert not move["unit"] or move["named"].endswith(f" / {move['unit'].replace('um', 'µm')}"), move


@pytest.fixture(scope="session")
def mine(tmp_path_factory):
    return newstudy.new(tmp_path_factory.mktemp("mine") / "a tube", title="A tube of mine", bore="8 mm")


@pytest.mark.slow
@pytest.mark.parametrize("name", [pytest.param(name, marks=() if name in ("01_the_claim", "05_nested_sleeves") else pytest.mark.long)
                                  for name in CODE])
def test_a_notebook_runs_on_a_study_of_ones_own(name, mine, run):
    told = printed(run(name, chosen=mine))
    if name in ("05_nested_sleeves", "06_plunger", "07_bench_log"):
        assert "which 'A tube of mine' does not have: what follows shows the invented demo instead" in told


OTHERS = {"surveyors-sight": None, "dosing-pump": None, "copper-sleeves": None,   # the invented ones of other trades; and new ones
          "metal pump": dict(title="A metal pump", lengths="none", barrel="18 mm", wall="2.5 mm", clearance="15 um", barrel_length="70 mm"),
          "sliding": dict(title="Two that slide", alloy="leaded bronze, cast", bore="22 mm", wall="1 mm", clearance="0.1 mm", lengths="120 mm, 110 mm"),
          "small": dict(title="Two small ones", alloy="copper, worked", bore="3 mm", wall="0.5 mm", clearance="30 um", lengths="14 mm, 12 mm", drive="drill bow")}
IN_SHORT = "02_boring_and_reaming", "dosing-pump"


@pytest.mark.slow
@pytest.mark.parametrize("name, other", [pytest.param(name, other, marks=() if (name, other) == IN_SHORT else pytest.mark.long)
                                         for name in CODE if name < "11" for other in OTHERS])
def test_a_notebook_runs_on_studies_of_other_shapes(name, other, run, tmp_path):
    """A barrel alone, draw tubes with a tenth of play, 3 mm of bore: without an error, and about them where they have what the page is about."""
    answers = OTHERS[other]
    folder = tables.DATA / other if answers is None else newstudy.new(tmp_path / "a study", **answers)
    told = printed(run(name, chosen=folder))
    lacks = {"05_nested_sleeves": OTHERS, "06_plunger": [each for each in OTHERS if each != "metal pump"],
             "03_thin_wall": ["dosing-pump", "metal pump"]}.get(name, ())
    assert ("what follows shows the invented demo instead" in told) >= (other in lacks)


def test_a_study_that_lacks_what_a_page_is_about_makes_room_for_the_demo(tmp_path):
    mine = newstudy.new(tmp_path / "a tube", title="A tube of mine", bore="8 mm")
    with pytest.warns(UserWarning, match="a plunger and the use of the part"):
        assert study.load(mine, needs=("sleeves", "a plunger", "the use of the part")).is_demo
    assert not study.load(mine, needs=("sleeves", "lapping")).is_demo
    with open(mine / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write(f"1,2026-07-01{',' * 22}{os.linesep}")
    assert not study.load(mine, needs=("a bench log",)).is_demo
