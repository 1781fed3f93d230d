"""kit.groupfile on the disk: two processes that write one file, processes that are killed, a lock that is held too long, formats."""
import hashlib
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time

import pytest

from kit import answers, forms, groupfile, tables

WRITER = """
import sys, time
from kit import groupfile
group, who, end, n = groupfile.read(sys.argv[1]), sys.argv[2], time.monotonic() + float(sys.argv[3]), 0
print("ready", flush=True)
while time.monotonic() < end:
    n += 1
    group.card(learnt=f"{who} {n}", question=f"{who} {n}?")
    print("kept", who, n, flush=True)
"""
KILLS = int(os.environ.get("KIT_KILLS", 3))


def writer(path, who, seconds):
    return subprocess.Popen([sys.executable, "-c", WRITER, str(path), who, str(seconds)], stdout=subprocess.PIPE, text=True)


def told(process):
    """Rows of which the process said that they are kept."""
    return [line.removeprefix("kept ") for line in process.communicate()[0].splitlines() if line.startswith("kept ")]


def nothing_lost(path, kept):
    group = groupfile.read(path)
    notes = [row["note"] for row in group.rows]
    assert [each for each in kept if each not in notes or each + "?" not in notes] == []
    assert group.faults == () and len(notes) == len(set(notes))   # the chain of digests is whole, and nothing stands twice
    before = ""
    for line in path.read_text(encoding="utf-8").splitlines()[1:]:
        cells = line.split(",")
        assert cells[-1] == hashlib.sha256("\x1f".join([before, *cells[:-1]]).encode()).hexdigest()[:12]
        before = cells[-1]
    return len(notes)


def names(folder):
    """Files in a folder, without the locks, which stay."""
    return sorted(path.name for path in folder.iterdir() if not re.fullmatch(r"\.group-[A-Z0-9]+\.csv\.lock", path.name))


@pytest.mark.parametrize("seconds", [3, pytest.param(60, marks=pytest.mark.long)])
def test_two_processes_lose_no_row_that_was_told(tmp_path, seconds):
    path = groupfile.start(tmp_path, "B").path
    both = [writer(path, who, seconds) for who in "PQ"]
    kept = [told(process) for process in both]
    assert all(kept) and [process.returncode for process in both] == [0, 0]
    assert nothing_lost(path, sum(kept, [])) == 2 * len(sum(kept, []))
    assert names(tmp_path) == ["group-B.csv"] and [g.code for g in groupfile.collect(tmp_path).groups] == ["B"]
    assert groupfile.collect(tmp_path).told == ()   # the lock beside it is no group's file


def test_threads_of_one_page_lose_no_row(tmp_path):
    group = groupfile.start(tmp_path, "B")
    every = [threading.Thread(target=lambda who=who: [group.card(learnt=f"{who} {n}", question=f"{who} {n}?") for n in range(5)]) for who in "PQR"]
    for thread in every:
        thread.start()
    for thread in every:
        thread.join()
    assert nothing_lost(group.path, [f"{who} {n}" for who in "PQR" for n in range(5)]) == 30


def test_two_who_lock_predictions_at_once_do_not_both_succeed(tmp_path):
    group, guess, found = groupfile.start(tmp_path, "B"), {"wall": ("1", "2", "3")}, []

    def tries():
        try:
            found.append(group.predict(guess))
        except groupfile.Locked as fault:
            found.append(fault)
    every = [threading.Thread(target=tries) for _ in range(6)]
    for thread in every:
        thread.start()
    for thread in every:
        thread.join()
    assert sum(isinstance(each, groupfile.Locked) for each in found) == 5 and len(groupfile.read(group.path).rows) == 1


def test_a_process_killed_while_it_writes_loses_no_row_that_was_told(tmp_path):
    path, kept, chance = groupfile.start(tmp_path, "B").path, [], random.Random(1)
    for turn in range(KILLS):
        process = writer(path, f"W{turn}", 60)
        assert process.stdout.readline() == "ready\n"
        time.sleep(chance.uniform(0.05, 0.6))
        os.kill(process.pid, signal.SIGKILL)
        kept += told(process)
        assert process.returncode == -signal.SIGKILL
        nothing_lost(path, kept)
        groupfile.start(tmp_path, "B", resume=True)
        assert names(tmp_path) == ["group-B.csv"]
    assert kept and groupfile.read(path).card(learnt="after all").rows[-1]["note"] == "after all"


def test_a_draft_of_a_dead_process_is_gone_after_the_next_start(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", "pass"])
    gone.wait()
    path = groupfile.start(tmp_path, "B").path
    (tmp_path / f".kit-{gone.pid}-abc.part").write_text("half")
    groupfile.start(tmp_path, "B", resume=True)
    assert names(tmp_path) == [path.name]


def test_a_file_held_too_long_is_told_and_what_was_typed_stays(tmp_path, monkeypatch):
    monkeypatch.setattr(groupfile, "PATIENCE", 0.2)
    desk = forms.Desk(tmp_path)
    desk.code.value = "B"
    desk.begin.click()
    form = forms.minute_card(desk)
    form.boxes["learnt"].value = "patience"
    with groupfile.alone(desk.group.path):
        form.button.click()
        with pytest.raises(groupfile.Busy, match="another page has been writing the file group-B.csv.*call the leader"):
            desk.group.card(learnt="x")
    assert "nothing was added" in form.said.value and "role='alert'" in form.said.value and form.boxes["learnt"].value == "patience"
    assert groupfile.read(desk.group.path).rows == ()
    form.button.click()
    assert "Kept" in form.said.value and issubclass(groupfile.Busy, answers.AnswerError)


# The format of a file

EXAMPLE = groupfile.PIECE / "example"


def test_files_without_a_format_are_read_and_continued_as_they_are(tmp_path):
    old = sorted(EXAMPLE.rglob("group-B.csv"))[0].read_bytes()
    assert not old.startswith(b"format")
    path = tmp_path / "group-B.csv"
    path.write_bytes(old)
    before = groupfile.start(tmp_path, "B", resume=True)
    after = before.card(learnt="=1+1")
    assert before.rows and after.rows[:-1] == before.rows and after.rows[-1]["note"] == "=1+1" and after.faults == before.faults == ()
    assert path.read_bytes().startswith(old) and {row["format"] for row in after.rows} == {"1"}


def test_a_new_file_says_its_format_in_its_first_column(tmp_path):
    group = groupfile.start(tmp_path, "B").card(learnt="x")
    lines = group.path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("format,time,group,") and lines[1].startswith("2,20") and group.rows[0]["format"] == "2"
    assert tables.read(group.path, groupfile.schema())[0]["format"] == groupfile.FORMAT == 2


def test_a_later_format_is_told_and_left_as_it_is(tmp_path):
    path = groupfile.start(tmp_path, "B").card(learnt="x").path
    for head in ("format,time,group,kind,quantity,low,value,high,unit,who,note,chain", "format,other"):
        path.write_text(f"{head}\n3,whatever\n")
        with pytest.raises(tables.TableError, match="has format 3, and this kit knows formats up to 2"):
            groupfile.start(tmp_path, "B", resume=True)
        assert path.read_text() == f"{head}\n3,whatever\n"
        assert groupfile.collect(tmp_path).groups == () and "format 3" in groupfile.collect(tmp_path).told[0]


# What is typed is safe to open in a spreadsheet

@pytest.mark.parametrize("typed", ["=1+1", "+SUM(A1)", "-2+3", "@cmd", "= HYPERLINK(\"x\")", "'=1", "''=1", "'tis so", "-5", "+3.2", "plain", "＝1"])
def test_words_that_begin_like_a_formula_come_back_as_typed(tmp_path, typed):
    group = groupfile.start(tmp_path, "B").card(learnt=typed).measure("strokes", "A", ["300"]).argue("likely", typed, typed)
    assert group.words("minute-card")["learnt"] == group.words("verdict")["because"] == typed and group.faults == ()
    for row in tables.read(group.path, groupfile.schema()):
        cell = row["note"] or ""
        assert not re.match(r"[=+\-@＝]", cell) or re.fullmatch(r"[+-][\d.]+", cell)
        assert row["value"] in (None, 300)


def test_any_text_survives_and_numbers_stay_numbers():
    for text in ("\t=1", "\r1", "\n1", " =1", "", "'", "'\t"):
        assert tables.as_typed(tables.safe_cell(text)) == text and tables.safe_cell(text)[:1] not in ("\t", "\r", "\n", "=")
    for value in (-5, -5.5, None, True, "-5", "+1e-3", "-0.5"):
        assert tables.safe_cell(value) is value
