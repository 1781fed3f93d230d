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


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_every_notebook_runs_on_it(path, mine, tmp_path, monkeypatch):
    monkeypatch.setenv("KIT_STUDY", str(mine))
    page = nbformat.read(path, 4)
    NotebookClient(page, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}).execute()
    told = "".join(output.get("text", "") for cell in page.cells for output in cell.get("outputs", ()))
    if path.stem in ("05_nested_sleeves", "06_plunger", "07_bench_log"):
        assert "which 'A tube of mine' does not have: what follows shows the invented demo instead" in told


def test_a_study_that_lacks_what_a_page_is_about_makes_room_for_the_demo(mine):
    with pytest.warns(UserWarning, match="a plunger and the use of the part"):
        assert study.load(mine, needs=("sleeves", "a plunger", "the use of the part")).is_demo
    assert not study.load(mine, needs=("sleeves", "lapping")).is_demo
    with open(mine / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write(f"1,2026-07-01{',' * 22}{os.linesep}")
    assert not study.load(mine, needs=("a bench log",)).is_demo
