"""The same notebooks on a study of one's own: a new one, of a single tube, without use, plunger or trials."""
import os
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from kit import newstudy, study

NOTEBOOKS = sorted((Path(__file__).parents[1] / "notebooks").glob("[01]*.ipynb"))


@pytest.fixture(scope="module")
def mine(tmp_path_factory):
    return newstudy.new(tmp_path_factory.mktemp("mine") / "a tube", title="A tube of mine", bore="8 mm")


@pytest.fixture(scope="module")
def ran(mine, tmp_path_factory):
    """{notebook: its outputs} of all notebooks, one after the other in one kernel, each from an empty namespace."""
    pages, cells = {path.stem: nbformat.read(path, 4).cells for path in NOTEBOOKS}, []
    for page in pages.values():
        cells += [nbformat.v4.new_code_cell("%reset -f"), *page]
    here = {"metadata": {"path": str(tmp_path_factory.mktemp("pages"))}}
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("KIT_STUDY", str(mine))
        NotebookClient(nbformat.v4.new_notebook(cells=cells), timeout=120, kernel_name="python3", resources=here, allow_errors=True).execute()
    return {name: [output for cell in page for output in cell.get("outputs", ())] for name, page in pages.items()}


@pytest.mark.slow
@pytest.mark.parametrize("name", [path.stem for path in NOTEBOOKS])
def test_every_notebook_runs_on_it(name, ran):
    assert [output["evalue"] for output in ran[name] if output["output_type"] == "error"] == [] != ran[name]
    if name in ("05_nested_sleeves", "06_plunger", "07_bench_log"):
        told = "".join(output.get("text", "") for output in ran[name])
        assert "which 'A tube of mine' does not have: what follows shows the invented demo instead" in told


def test_a_study_that_lacks_what_a_page_is_about_makes_room_for_the_demo(mine):
    with pytest.warns(UserWarning, match="a plunger and the use of the part"):
        assert study.load(mine, needs=("sleeves", "a plunger", "the use of the part")).is_demo
    assert not study.load(mine, needs=("sleeves", "lapping")).is_demo
    with open(mine / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write(f"1,2026-07-01{',' * 22}{os.linesep}")
    assert not study.load(mine, needs=("a bench log",)).is_demo
