"""No call runs upwards, hidden ones included: what is really called while the kit does its work, floor by floor."""
import inspect
import sys
import warnings

import pytest

import kit
from kit import bench, figures, rivals, session, study

ROOM = {f"kit.{room}.{module}": height for height, (room, modules) in enumerate(kit.ROOMS.items()) for module in modules}
PASSES_ON = ("get", "call", "remembered")   # decorators at work: they call what they decorate, wherever it lives


def passes_on(code):
    return code.co_name in PASSES_ON or any(f"{name}.<locals>" in code.co_qualname for name in PASSES_ON)


def upward_calls(work):
    """(caller, called) of every named function of the kit that is called from a room below its own, while `work` runs.

    Functions handed down to be called back (lambdas and functions within functions) are what a lower floor is given to
    work with, and properties that Python reads for a comparison or a copy (with two underscores) are its own doing.
    """
    found = set()

    def watch(frame, event, _):
        if event != "call":
            return
        name, module = frame.f_code.co_qualname, frame.f_globals.get("__name__", "")
        if module not in ROOM or "<" in name or "__" in name or frame.f_code.co_name in PASSES_ON:
            return
        below = frame.f_back
        while below is not None and (below.f_globals.get("__name__") not in ROOM or passes_on(below.f_code)):
            if not below.f_globals.get("__name__", "").startswith(("kit", "functools")):
                return   # called by a library that it was handed to
            below = below.f_back
        if below is not None and ROOM[below.f_globals["__name__"]] < ROOM[module]:
            found.add((f"{below.f_globals['__name__']}.{below.f_code.co_qualname}", f"{module}.{name}"))

    sys.setprofile(watch)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            work()
    finally:
        sys.setprofile(None)
    return sorted(found)


def judged():
    demo = study.load()
    verdict = demo.assess(draws=64)
    assert verdict.words and len(verdict.table) and verdict.trace("lapping stock")
    one = demo.only("hours")
    one.sweep("wall", ["0.3 mm", "0.4 mm"], draws=16)
    one.sensitivity("tornado", criterion="least wall")
    rivals.compare([("bored from the bar", demo), "cast on a core and reamed"], n=64)


def logged():
    demo = study.load()
    log = bench.read(study.DEMO / "bench_log.csv")
    assert len(log.compare(demo, draws=64))


def published():
    demo = study.load()
    assert figures.margins(demo.assess(draws=64)) and figures.trace(demo.assess(draws=64).trace("cord"))


def taught():
    assert len(session.expected(study.load(kit.tables.DATA / "workshop-piece"), draws=64))


@pytest.mark.skipif(not hasattr(inspect.currentframe().f_code, "co_qualname"), reason="code objects name their class from Python 3.11 on")
@pytest.mark.parametrize("work", [judged, logged, published, taught])
def test_no_call_runs_upwards(work):
    assert upward_calls(work) == []


def test_an_upward_call_would_be_seen():
    """A study handed to an estimate that asks it for its verdict."""
    source = "def estimate(handed):\n    return handed.provenance(1, 1)\n"
    place = {"__name__": "kit.estimates.bow"}
    exec(compile(source, "bow.py", "exec"), place)
    demo = study.load()
    assert upward_calls(lambda: place["estimate"](demo)) == [("kit.estimates.bow.estimate", "kit.study.plan.Plan.provenance")]
