"""The package as a whole: what importing costs, which floor stands on which, and what the wheel carries."""
import ast
import doctest
import os
import subprocess
import sys
from pathlib import Path

import pytest

import kit

ROOT = Path(__file__).parents[1]
FILES = {path.stem: path for path in (ROOT / "kit").glob("*.py") if path.stem != "__init__"}

# Low to high; a module imports from lower floors only, never from its own.
FLOORS = (
    ("units",),
    ("tables",),
    ("evidence",),
    ("fits", "cutting", "bow", "lapping", "walls", "sleeves", "pistons", "gauging", "trials", "references", "tabular", "answers"),
    ("routes", "uncertainty"),
    ("criteria",),   # a criterion looks at the steps of a route
    ("use",),        # criteria of the finished part
    ("verdict",),
    ("studyfile",),  # what a study folder may say
    ("study",),
    ("bench", "page"),
    ("groupfile", "claims", "figures"),
    ("session",),
    ("widgets", "report", "archive", "newstudy"),
    ("writeup", "nomogram"),
    ("handouts", "forms", "proofs"),
    ("__main__",),
)
FLOOR = {module: height for height, floor in enumerate(FLOORS) for module in floor}


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


@pytest.mark.parametrize("module", sorted({"fits", "cutting", "bow", "lapping", "walls"} | set(FLOORS[3]) & set(FILES)))
def test_estimates_load_no_pandas_scipy_or_matplotlib(module, tmp_path):
    # pint itself looks at the bare scipy package; what it loads is not the estimate's doing
    code = f"""
import sys, numpy, pint
before = set(sys.modules)
import kit.{module}
print(sorted(m for m in set(sys.modules) - before if m.split('.')[0] in ('pandas', 'scipy', 'matplotlib')))
"""
    assert python(code, cwd=tmp_path) == "[]"


def test_every_module_is_reached_from_kit():
    assert set(kit.MODULES) == {name for name in FILES if not name.startswith("_")}


def test_unknown_name_lists_the_known():
    with pytest.raises(AttributeError, match=r"kit has no 'cuting'; it has units, .*cutting.*, Q, ureg, OutOfRange"):
        kit.__getattr__("cuting")


def test_names_of_kit():
    assert kit.Q is kit.units.Q and kit.ureg is kit.units.ureg and kit.OutOfRange is kit.units.OutOfRange
    assert set(kit.__all__) < set(dir(kit))


def test_example_in_the_docstring_of_kit():
    done = doctest.testmod(kit)
    assert (done.failed, done.attempted > 0) == (0, True)


# Floors

def imported(path):
    """Modules of kit that a file imports, wherever in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = "kit" + (f".{node.module}" if node.module else "") if node.level else node.module
            names = [f"{base}.{alias.name}" for alias in node.names] if base == "kit" else [base]
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("kit.")}
        assert "kit" not in names, f"{path.name} imports the package as a whole: name the module"
    return {"units" if name in kit.FROM_UNITS else name for name in found - {"__version__"}}


def test_every_module_has_a_floor():
    assert set(FILES) <= set(FLOOR)


@pytest.mark.parametrize("module", sorted(FILES))
def test_imports_go_downwards(module):
    not_lower = {name for name in imported(FILES[module]) if FLOOR[name] >= FLOOR[module]}
    assert not not_lower, f"kit.{module} imports {', '.join(sorted(not_lower))}, which is not on a lower floor"


@pytest.mark.parametrize(("line", "modules"), [
    ("import kit.study", {"study"}), ("import numpy, kit.bow as b", {"bow"}),
    ("from kit import study, Q", {"study", "units"}), ("from kit import __version__", set()),
    ("from kit.study import Study", {"study"}), ("from . import bow", {"bow"}), ("from .bow import stroke", {"bow"}),
    ("def late():\n    from kit import figures", {"figures"}), ("from scipy import stats", set())])
def test_imports_are_seen_however_written(line, modules, tmp_path):
    (tmp_path / "some.py").write_text(line)
    assert imported(tmp_path / "some.py") == modules


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
