"""The command line killed or stopped at any moment: nothing half under a whole name, no leftover after the next start.

Real processes, random times. KIT_KILLS sets how many of each (a few here; hundreds by hand), KIT_KILLS_SEED where they begin.
"""
import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

from kit import files, newstudy, study

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


def study_is_whole(folder):
    return study.faults(folder) == [] and len(whole(folder)) == 6


def registration_is_whole(folder):
    return (folder / "registration.md").read_text(encoding="utf-8").endswith("reported with its own interval.\n")


def bundle_is_whole(out):
    """All that its archive holds stands beside it, byte for byte."""
    [bundle] = out.iterdir()
    with zipfile.ZipFile(bundle / "archive.zip") as packed:
        held = {name: packed.read(name) for name in packed.namelist() if not name.endswith("/")}
    return sorted([*held, "archive.zip"]) == whole(bundle) and all((bundle / name).read_bytes() == held[name] for name in held)


# command: its words for a place, how long it takes at the most, and from its first draft on, what is made, and whether that is whole
COMMANDS = {
    "new": (lambda here: ("new", here / "made"), 3.0, 0.5, lambda here: here / "made", study_is_whole),
    "new in an empty folder": (lambda here: ("new", here / "empty"), 3.0, 0.5, lambda here: here / "empty", study_is_whole),
    "register": (lambda here: ("register", here / "study", "--draws", 400_000), 5.0, 0.05, lambda here: here / "study", registration_is_whole),
    "writeup": (lambda here: ("writeup", here / "study", "--out", here / "out", "--draws", 256, "--width", 90), 25.0, 25.0,
                lambda here: here / "out", bundle_is_whole)}


def ended(command, how, here, share, begun):
    """One run, ended at a share of its time: nothing half under a whole name, and nothing left over at the next start. Its exit status.

    begun: whether the time is counted from when the first draft is seen, and not from the start.
    """
    words, longest, writing, made, is_whole = COMMANDS[command]
    shutil.copytree(study.DEMO, here / "study")
    (here / "empty").mkdir()
    before = whole(made(here))
    running = started(*words(here))
    last = ".part" if command == "register" else ""   # its first draft only asks whether the folder can be written
    while begun and running.poll() is None and not any(name.endswith(last) for name in hidden(here)):
        time.sleep(0.001)
    time.sleep(share * writing if begun else 0.3 + share * (longest - 0.3))
    running.send_signal(signal.SIGKILL if how == "killed" else signal.SIGINT)
    said = running.communicate(timeout=240)
    if how == "stopped" and not begun and running.returncode not in (0, 130) and "in main\n" not in said[1]:
        assert whole(made(here)) == before and hidden(here) == []   # Python itself was still starting
    elif how == "stopped":   # it tidies up itself, and says by its exit status that it was stopped
        by_hand = running.returncode == -signal.SIGINT and said[1].startswith("stopped by hand")   # 130 to a shell as well
        assert (running.returncode in (0, 130) or by_hand) and hidden(here) == [], (running.returncode, hidden(here), said)
        assert "Traceback" not in said[1], said[1]
    if command.startswith("new"):
        with contextlib.suppress(FileExistsError):   # as it may be when it is whole: the next start itself
            newstudy.new(made(here))
        assert is_whole(made(here)), whole(made(here))
    for folder in (here, here / "study", here / "out"):
        files.clear(folder)
    assert hidden(here) == []
    assert is_whole(made(here)) if whole(made(here)) != before else running.returncode != 0, (running.returncode, whole(made(here)))
    return running.returncode


@pytest.mark.parametrize("command", [pytest.param(each, marks=[pytest.mark.long] * (each == "register")) for each in COMMANDS])
@pytest.mark.parametrize("how", ["killed", pytest.param("stopped", marks=pytest.mark.long)])
def test_nothing_is_half_done_and_nothing_stays(command, how, tmp_path):
    rng = random.Random(f"{SEED}:{command}:{how}")
    for number in range(KILLS):
        here = tmp_path / str(number)
        here.mkdir()
        ended(command, how, here, share=rng.random(), begun=bool(number % 2))
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
