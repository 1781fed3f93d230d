"""The package as a whole: what importing costs, which floor stands on which, and what the wheel carries."""
import ast
import doctest
import importlib
import importlib.metadata
import os
import pickle
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import kit

ROOT = Path(__file__).parents[1]
FILES = {path.stem: path for path in (ROOT / "kit").rglob("*.py") if path.stem not in ("__init__", "__main__")}
ORDER = {module: height for height, module in enumerate(m for modules in kit.ROOMS.values() for m in modules)}


def python(code, **environment):
    """What a fresh interpreter prints, started outside the repository."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False,
                          cwd=environment.pop("cwd", None), env=os.environ | environment)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def run_module(*command):
    """Runs python -m command in the repository; a failure shows what it printed."""
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


# Importing

def test_import_kit_loads_nothing_heavy(tmp_path):
    code = "import sys, kit; print(sorted({'pandas', 'matplotlib', 'scipy', 'pint'} & set(sys.modules)))"
    assert python(code, cwd=tmp_path) == "[]"


@pytest.mark.parametrize("module", sorted(set(kit.ROOMS["estimates"]) - {"uncertainty"}))
def test_estimates_load_no_pandas_scipy_or_matplotlib(module, tmp_path):
    # pint itself looks at the bare scipy package; what it loads is not the estimate's doing
    code = f"""
import sys, numpy, pint
before = set(sys.modules)
import kit.{module}
print(sorted(m for m in set(sys.modules) - before if m.split('.')[0] in ('pandas', 'scipy', 'matplotlib')))
"""
    assert python(code, cwd=tmp_path) == "[]"


def test_every_module_stands_in_one_room():
    there = {path.stem: path.parent.name for path in FILES.values()}
    assert len(there) == len(FILES) == len(list((ROOT / "kit").rglob("*.py"))) - len(kit.ROOMS) - 2   # less each __init__, and __main__
    assert there == {module: room for room, modules in kit.ROOMS.items() for module in modules}


@pytest.mark.parametrize("module", sorted(set(FILES) - {"study"}))
def test_short_and_long_name_are_one_module(module):
    long = importlib.import_module(f"{kit.LIVES_IN[module]}.{module}")
    assert importlib.import_module(f"kit.{module}") is long is getattr(kit, module)
    assert long.__spec__.name == long.__name__ == f"{kit.LIVES_IN[module]}.{module}"


def test_by_short_name_first_in_a_fresh_interpreter():
    assert python("from kit.units import Q; import kit.base.units as own; print(Q is own.Q, own.__spec__.name)") == "True kit.base.units"


def test_results_survive_pickling():
    made = kit.fits.fit("25 H7/g6"), kit.study.load().tubes, kit.trials.success_interval(successes=3, trials=9), kit.units.Q(3, "mm")
    assert pickle.loads(pickle.dumps(made)) == made


def test_import_kit_loads_next_to_nothing():
    """What keeps it well under ten milliseconds: no room, and of the standard library only what imports."""
    code = "import sys; before = set(sys.modules); import kit; print(sorted(set(sys.modules) - before))"
    assert set(eval(python(code))) <= {"kit", "importlib", "importlib._bootstrap", "importlib._bootstrap_external", "importlib.machinery", "warnings"}


def test_unknown_name_lists_the_known():
    with pytest.raises(AttributeError, match=r"kit has no 'cuting'; it has files, .*units, .*cutting.*, Q, ureg, OutOfRange"):
        kit.__getattr__("cuting")


def test_names_of_kit():
    assert kit.Q is kit.units.Q and kit.ureg is kit.units.ureg and kit.OutOfRange is kit.units.OutOfRange
    assert set(kit.__all__) < set(dir(kit))


SHOWN = ("fits.fit fits.tolerance cutting.half_round_torque cutting.reamer_torque bow.stroke bow.cord_limit lapping.depth_rate "
         "walls.jaw_distortion sleeves.jamming_arm pistons.hold_time trials.success_interval units.read units.show evidence.likelihood "
         "uncertainty.converge gauging.gauge_study").split()


def test_examples_in_docstrings_run_as_they_are_printed():
    """Those of the package, of every module and of every function that shows one."""
    tried, texts = {}, {}
    for name in ("", *kit.LIVES_IN):
        module = importlib.import_module(f"kit.{name}".rstrip("."))
        for example in doctest.DocTestFinder(exclude_empty=True).find(module, name):
            runner = doctest.DocTestRunner(verbose=False)   # prints what it found and what was printed
            tried[example.name], texts[example.name] = runner.run(example), example.docstring
    assert [name for name, done in tried.items() if done.failed] == []
    # a trace quotes what follows the word as the source
    assert [name for name, text in texts.items() if ">>>" in text.partition("Source: ")[2]] == []
    assert {"", *SHOWN} <= {name for name, done in tried.items() if done.attempted}


# Floors

def imported(path):
    """Modules of kit that a file imports, wherever in it, by their short names; a room that is named stands for itself."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path.name}: a relative import; name the room"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        assert "kit" not in names, f"{path.name} imports the package as a whole: name the module"
        found |= {_module(name.split(".")) for name in names if name.startswith("kit.")}
    return found - {"__version__"}


def _module(parts):
    """Short name of the module in a dotted name: the last part that is one, within the room that is named."""
    if parts[1] == "study" and (len(parts) == 2 or parts[2] not in kit.ROOMS["study"]):
        return "study"
    return parts[2] if parts[1] in kit.ROOMS and len(parts) > 2 else parts[1]


@pytest.mark.parametrize("module", sorted(FILES))
def test_imports_go_downwards(module):
    not_lower = {name for name in imported(FILES[module]) if ORDER[name] >= ORDER[module]}
    assert not not_lower, f"kit.{module} imports {', '.join(sorted(not_lower))}, which does not stand before it in kit.ROOMS"


@pytest.mark.parametrize(("line", "modules"), [
    ("import kit.study", {"study"}), ("import numpy, kit.estimates.bow as b", {"bow"}),
    ("from kit import study", {"study"}), ("from kit import __version__", set()),
    ("from kit.study import Study", {"study"}), ("from kit.study.study import Study", {"study"}), ("from kit.study import verdict", {"verdict"}),
    ("from kit.estimates.bow import stroke", {"bow"}), ("from kit.bow import stroke", {"bow"}),
    ("def late():\n    from kit.publish import figures", {"figures"}), ("from scipy import stats", set())])
def test_imports_are_seen_however_written(line, modules, tmp_path):
    (tmp_path / "some.py").write_text(line)
    assert imported(tmp_path / "some.py") == modules


# What is imported besides

def brought(requirements):
    """Distributions that come with these requirements here, and with what they require in turn."""
    found, left = set(), [Requirement(each) for each in requirements]
    while left:
        one = left.pop()
        name = canonicalize_name(one.name)
        if name in found or one.marker and not one.marker.evaluate({"extra": ""}):
            continue
        found.add(name)
        left += map(Requirement, importlib.metadata.requires(name) or ())
    return found


def libraries(path):
    """(name, whether its lack is met on the spot) of every import of a file that is neither the kit's nor Python's."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    met = {inner for node in ast.walk(tree) if isinstance(node, ast.Try)
           and {"ImportError", "ModuleNotFoundError"} & {ast.unparse(h.type) for h in node.handlers if h.type}
           for each in node.body for inner in ast.walk(each)}
    for node in ast.walk(tree):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else [node.module] if isinstance(node, ast.ImportFrom) else []
        yield from ((top, node in met) for name in names if (top := name.split(".")[0]) not in {"kit", *sys.stdlib_module_names})


def test_the_kit_imports_only_what_a_plain_install_brings():
    """What an extra brings may be imported where its lack is met on the spot, in words."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    plain = brought(project["dependencies"])
    extra = brought(each for name, needs in project["optional-dependencies"].items() if name != "test" for each in needs)
    homes = importlib.metadata.packages_distributions()
    lacking = {(path.name, name) for path in (ROOT / "kit").rglob("*.py") for name, met in libraries(path)
               if not {canonicalize_name(home) for home in homes.get(name, ())} & (plain | (extra if met else set()))}
    assert lacking == set()


# Tidiness and the installed wheel

def test_ruff_is_clean():
    run_module("ruff", "check", "kit", "tests")


@pytest.mark.slow
def test_installed_wheel_carries_every_table(tmp_path):
    run_module("hatchling", "build", "-t", "wheel", "-d", str(tmp_path))
    wheel, = tmp_path.glob("*.whl")
    installed = tmp_path / "installed"
    run_module("pip", "install", "--quiet", "--no-index", "--no-deps", "--target", str(installed), str(wheel))
    code = """
import kit
from kit import tables
print(kit.__file__)
print(tables.DATA)
names = list(tables.package(tables.REFERENCE))
print(sum(len(tables.load(name)) > 0 for name in names), len(names))
print(len(tables.source_keys(tables.REFERENCE / "sources.bib")) > 0)
"""
    where, data, loaded, sources = python(code, cwd=tmp_path, PYTHONPATH=str(installed)).splitlines()
    assert where == str(installed / "kit" / "__init__.py")   # not the clone's
    assert data == str(installed / "kit" / "data")
    full, listed = loaded.split()
    assert full == listed and int(listed) >= 12
    assert sources == "True"
