"""The command line killed or stopped at any moment: nothing half under a whole name, no leftover after the next start.

Real processes, random times. KIT_KILLS sets how many of each (a few here; hundreds by hand), KIT_KILLS_SEED where they begin.
"""
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from kit import files, study

KILLS, SEED = int(os.environ.get("KIT_KILLS", 2)), int(os.environ.get("KIT_KILLS_SEED", 0))
ROOT = Path(__file__).parents[1]
pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name == "nt", reason="signals of another kind there")]


def started(*words):
    """A command of the kit that heeds an interrupt, even where the tests themselves run in the background and do not."""
    return subprocess.Popen([sys.executable, "-m", "kit", *map(str, words)], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                            env=os.environ | {"PYTHONPATH": str(ROOT)}, preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))


def hidden(folder):
    return [path.name for path in folder.rglob(".kit-*")] if folder.exists() else []


def whole(folder):
    """What stands under its own name."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file() and not any(p.startswith(".") for p in path.parts)) \
        if folder.exists() else []


# command, its words for a place, how long it takes at the most, what is made
COMMANDS = {
    "new": (lambda here: ("new", here / "made"), 3.0, lambda here: here / "made"),
    "register": (lambda here: ("register", here / "study", "--draws", 400_000), 5.0, lambda here: here / "study"),
    "writeup": (lambda here: ("writeup", here / "study", "--out", here / "out", "--draws", 256, "--width", 90), 25.0, lambda here: here / "out")}


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("how", ["killed", "stopped"])
def test_nothing_is_half_done_and_nothing_stays(command, how, tmp_path):
    words, longest, made = COMMANDS[command]
    rng = random.Random(f"{SEED}:{command}:{how}")
    for number in range(KILLS):
        here = tmp_path / str(number)
        here.mkdir()
        shutil.copytree(study.DEMO, here / "study")
        before = whole(made(here))
        running = started(*words(here))
        time.sleep(rng.uniform(0.3, longest))
        running.send_signal(signal.SIGKILL if how == "killed" else signal.SIGINT)
        running.communicate(timeout=120)
        after, done = whole(made(here)), running.returncode == 0
        assert done or after == before or command == "writeup" and any(path.endswith("archive.zip") for path in after), (number, after)
        if how == "stopped":   # it tidies up itself, and says by its exit status that it was stopped
            assert running.returncode in (0, 130) and hidden(here) == [], (number, running.returncode, hidden(here))
        for folder in (here, here / "study", here / "out"):
            files.clear(folder)
        assert hidden(here) == []
        if command == "register" and not done:
            assert not (here / "study" / "registration.md").exists()
        shutil.rmtree(here)


def test_of_two_who_register_at_once_one_wins_and_the_other_is_told(tmp_path):
    folder = tmp_path / "study"
    shutil.copytree(study.DEMO, folder)
    both = [started("register", folder, "--draws", 64, "--seed", seed) for seed in (1, 2)]
    said = [process.communicate(timeout=120) for process in both]
    assert sorted(process.returncode for process in both) == [0, 2]
    assert "is there already" in next(err for process, (_, err) in zip(both, said) if process.returncode == 2)
    text = (folder / "registration.md").read_text(encoding="utf-8")
    assert f"seed {1 if both[0].returncode == 0 else 2}," in text and hidden(folder) == []


def test_a_draft_of_a_living_process_is_let_be(tmp_path):
    mine, dead = tmp_path / f".kit-{os.getpid()}-a", tmp_path / ".kit-999999999-b.part"
    mine.mkdir()
    dead.write_text("half")
    files.put(tmp_path / "x.txt", "whole")
    assert mine.exists() and not dead.exists() and (tmp_path / "x.txt").read_text() == "whole"
