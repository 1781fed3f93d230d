"""Ancient-method feasibility: demand against capacity for fine metal tubes, sleeves and pistons.

Importing the package loads nothing heavy; each module is imported when it is first named, and is known as `kit.NAME`
whatever room it lives in:

>>> import kit
>>> kit.cutting.turning_force(depth="0.1 mm", feed="0.05 mm", kc11="1000 MPa", exponent=0.2).m_as("N").round(2)
np.float64(9.1)
"""
import importlib
import sys
from importlib.machinery import ModuleSpec, PathFinder

__version__ = "0.1.0"

# The house from the ground up: rooms, and the modules in each. A module imports only from what stands before it.
ROOMS = {
    "base": ("files", "stopping", "tables", "words", "quantities", "units", "evidence", "references"),
    "estimates": ("fits", "cutting", "edges", "bow", "effort", "lapping", "form", "walls", "holding", "feel",
                  "lubrication", "annealing", "casting", "seams", "drawplate", "raising", "sleeves", "pistons",
                  "packing", "gauging", "trials", "learning", "pooling", "score", "model", "intervals", "indices",
                  "uncertainty"),
    "operations": ("part", "settle", "means", "tools", "hold", "steps", "state", "operation", "fed", "cut", "drill",
                   "ream", "turn", "file", "lap", "fire", "cast", "wrap", "solder", "anneal", "thinned", "draw",
                   "hammer", "polish", "chain", "reamers"),
    "study": ("criteria", "use", "tomlreading", "studyfile", "taught", "partchecks", "takes", "plan", "outcomes",
              "instructions", "worlds", "rework", "trace", "verdict", "judge", "typical", "design", "factors",
              "critical", "shares", "sensitivity", "rivals", "routes", "choices", "kept", "search", "reach",
              "reading_errors", "measured", "disagreement", "update", "own_lathe", "bench", "protocols",
              "next_trials", "contributed", "skill", "finds", "traces", "study", "support", "planner", "newstudy"),
    "publish": ("tabular", "page", "asides", "strength", "registration", "weaknesses", "claims", "verdict_figures",
                "quantity_figures", "sweep_figures", "part_figures", "sensitivity_figures", "bench_figures",
                "score_figures", "trace_figure", "critical_figures", "reach_figures", "figures", "sheet", "drawing",
                "tube_drawings", "tool_drawings", "lathe_drawings", "pair_drawings", "plunger_drawing", "drawings",
                "controls", "front", "widgets", "panels", "kiosk", "blocks", "pandoc", "citing", "tree", "typeset",
                "report", "archive", "wording", "worked_out", "writeup_texts", "writeup_figures", "writeup_tables",
                "short_tables", "writeup_document", "writeup", "together", "terms", "pages", "proofs"),
    "workshop": ("answers", "workpiece", "groupfile", "expectation", "groups", "argument", "session", "paper",
                 "nomogram", "programme", "learner_sheets", "leader_sheets", "protocol_sheets", "benchlog",
                 "handouts", "board", "forms", "leader_form", "bench_form",
                 "commands"),
}
LIVES_IN = {module: f"{__name__}.{room}" for room, modules in ROOMS.items() for module in modules}
LIVES_IN["study"] = __name__    # the room is the public module: kit.study.load
FROM_UNITS = ("Q", "ureg", "OutOfRange")

__all__ = [*LIVES_IN, *FROM_UNITS]


def __getattr__(name):
    if name in LIVES_IN:
        return importlib.import_module(f"{LIVES_IN[name]}.{name}")
    if name in FROM_UNITS:
        return getattr(importlib.import_module(f"{__name__}.base.units"), name)
    raise AttributeError(f"kit has no {name!r}; it has {', '.join(__all__)}")


def __dir__():
    return sorted([*__all__, "__version__"])


class ByShortName:
    """Lets `from kit.units import Q` find the module where it lives; it is the same module by either name."""

    @staticmethod
    def find_spec(name, path=None, target=None):
        package, _, module = name.rpartition(".")
        if package == __name__ and module in LIVES_IN:
            return ModuleSpec(name, ByShortName)

    @staticmethod
    def create_module(spec):
        module = spec.name.rpartition(".")[2]
        return importlib.import_module(f"{LIVES_IN[module]}.{module}")

    @staticmethod
    def exec_module(module):   # it has run already; only its own papers are given back
        room = sys.modules[module.__package__]
        module.__spec__ = PathFinder.find_spec(module.__name__, room.__path__)


sys.meta_path.append(ByShortName)
