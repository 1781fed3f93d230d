"""How fast is a verdict, and a sweep? Ratios taken in one run:

(a) a verdict against the same without units and checks: what `units.magnitude` and the arithmetic of Quantities take of it, by
    the profiler, which makes small calls look dearer than they are (aim: at most 1.2 times as long at very many draws);
(b) a verdict and a sweep of forty walls against the same of another commit, each in a process of its own, by turns (aim:
    the sweep at most 0.35 times as long as at a5cfa44, where the model asked less; the verdict no longer).

    python tests/benchmarks/assess.py [COMMIT [REPEATS]]

Time is that of the processor, so that a busy machine spoils less. (b) needs the repository's history.
"""
import cProfile
import io
import json
import os
import platform
import pstats
import statistics
import subprocess
import sys
import tarfile
import tempfile
import time
import warnings
from pathlib import Path

import kit

ROOT = Path(__file__).resolve().parents[2]
UNITS = ("units.py", "quantities.py", os.sep + "pint" + os.sep)
VERDICT, SWEEP, WALLS = 2**14, 2**12, 40
TIMED = """
import json, time, warnings, kit
warnings.simplefilter("ignore")
study = kit.study.load()
walls = [str(round(0.1 + 0.01 * i, 2)) + " mm" for i in range(WALLS)]
study.assess(draws=64)
def seconds(call):
    start = time.process_time(); call(); return time.process_time() - start
print(json.dumps([seconds(lambda: study.assess(draws=DRAWS, seed=1)), seconds(lambda: study.sweep("wall", walls, draws=SWEPT, seed=1))]))
"""


def units_share(study, draws):
    """Share of a verdict's processor time that goes into units and checks."""
    profile = cProfile.Profile(time.process_time)
    profile.runcall(study.assess, draws=draws, seed=1)
    stats = pstats.Stats(profile)
    own = sum(each[2] for (path, _, _), each in stats.stats.items() if path.endswith(UNITS[:2]) or UNITS[2] in path)
    reduced = sum(callers[path_line][2] for (path, _, name), (*_, callers) in stats.stats.items() if path == "~" and "ufunc" in name
                  for path_line in callers if path_line[0].endswith(UNITS[:2]))   # least and greatest of each argument
    return (own + reduced) / stats.total_tt


def timed(root, draws=VERDICT, swept=SWEEP):
    """Seconds of processor for a verdict and a sweep by the kit in that folder."""
    told = subprocess.run([sys.executable, "-c", f"WALLS, DRAWS, SWEPT = {WALLS}, {draws}, {swept}\n{TIMED}"], capture_output=True, text=True, check=True, cwd=root,
                          env=os.environ | {"PYTHONPATH": str(root)})
    return json.loads(told.stdout.splitlines()[-1])


def against(commit, repeats, draws=VERDICT, swept=SWEEP):
    """Median ratios (verdict, sweep) of this kit to that of a commit, and the seconds of both."""
    packed = subprocess.run(["git", "archive", commit, "kit", "data"], cwd=ROOT, capture_output=True)
    if packed.returncode:
        raise SystemExit(f"commit {commit} is not at hand; run this in a full clone")
    with tempfile.TemporaryDirectory() as folder:
        with tarfile.open(fileobj=io.BytesIO(packed.stdout)) as archive:
            archive.extractall(folder)   # our own history: nothing in it to be wary of
        pairs = [(timed(ROOT, draws, swept), timed(folder, draws, swept)) for _ in range(repeats)]
    return [(statistics.median(here[i] / there[i] for here, there in pairs), *(statistics.median(each[i] for each in side) for side in zip(*pairs)))
            for i in (0, 1)]


def main(commit=None, repeats=3):
    warnings.simplefilter("ignore", kit.OutOfRange)
    study = kit.study.load(kit.tables.DATA / "harbour-dial")
    study.assess(draws=64)   # tables and imports
    print(f"{platform.machine()}, Python {platform.python_version()}")
    for draws in (2**12, 2**14, 2**17):
        share = units_share(study, draws)
        print(f"(a) {draws} draws: units and checks take {100 * share:.0f} % of a verdict, {1 / (1 - share):.2f} times as long as without")
    if commit:
        for what, (ratio, here, there) in zip((f"verdict, {VERDICT} draws", f"sweep, {WALLS} walls of {SWEEP} draws"), against(commit, int(repeats))):
            print(f"(b) {what}: {here:.2f} s, at {commit} {there:.2f} s: {ratio:.2f} times as long")


if __name__ == "__main__":
    main(*sys.argv[1:])
