"""README and DEVELOPERS say what is there: commands, notebooks, modules, and pictures of the demo as it now stands."""
import re
from pathlib import Path

import pytest
from redraw_readme import pictures, with_rooms

from kit import __main__ as command
from kit.chain import OPERATIONS
from kit.operation import Bowed
from kit.study import DEMO

ROOT = Path(__file__).parents[1]
README, DEVELOPERS = ((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))


def test_every_notebook_is_named():
    named = set(re.findall(r"`(\d\d_\w+)`", README))
    assert named == {p.stem for p in (ROOT / "notebooks").glob("*.ipynb")}


def test_the_plan_of_the_house_is_as_it_stands():
    assert with_rooms(DEVELOPERS) == DEVELOPERS, "draw it anew: .venv/bin/python tests/redraw_readme.py"


def test_the_commands_are_those_of_the_kit():
    used = re.findall(r"python -m kit (\w+)", README)
    assert set(used) == set(command.COMMANDS)


def test_files_that_are_named_are_there():
    for name in re.findall(r"`((?:data|notebooks|tests)/[\w./-]+)`", README + DEVELOPERS):
        assert (ROOT / name).exists(), name


def test_the_job_then_two_commands_come_first():
    head, opens, tests = README.split("<!-- open -->")[0], README.index("<!-- open -->"), README.index("<!-- test -->")
    assert len([p for p in head.split("\n\n") if p.strip() and not p.startswith("#")]) == 2   # the job, and what the first command does
    assert opens < tests < README.index("\n## ")


@pytest.mark.parametrize("name", ["verdict.png", "sweep.png"])
def test_the_pictures_are_of_the_demo_as_it_stands(name):
    from PIL import Image
    assert Image.open(DEMO / name).text["Description"] == pictures()[name][1], "draw it anew: see DEVELOPERS.md"


def test_the_table_of_steps_names_every_operation_with_what_it_needs_and_may_say():
    table = README.partition("<!-- steps -->")[2].partition("<!-- /steps -->")[0]
    told = {}
    for line in table.strip().splitlines()[2:]:
        names, says = line.strip("| ").split(" | ", 1)
        for name in re.findall(r"`(\w+)`", names):
            told[name] = set(re.findall(r"\*\*`(\w+)`\*\*", says)), set(re.findall(r"`(\w+)`", says))
    assert set(told) == set(OPERATIONS)
    for name, kind in OPERATIONS.items():
        needs, keys = told[name]
        assert needs == set(kind.needs), name
        assert keys == set(kind.keys) - set(Bowed.turned), name   # which the sentence above the table tells
    above = README.partition("<!-- steps -->")[0]
    assert all(f"`{key}`" in above for key in Bowed.turned)
