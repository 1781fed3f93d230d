"""kit.files: names that every system takes, and disks on which nothing may be written.

Windows and read-only folders are simulated here, by pathlib's pure paths and by errors put in the place of the system's own: no such machine was at hand.
"""
import errno
import os
import shutil
import time
import warnings
from pathlib import Path, PureWindowsPath

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kit import __main__ as command
from kit import files, groupfile, newstudy, study

WORDS = {"device": "is a name that Windows keeps for a device; give another", "sign": "which no name on Windows may; leave it out",
         "drive": r"counts from wherever drive C: stands; write C:\ and the whole way from there", "dot": "ends with a dot, which Windows leaves out",
         "blank": "ends with a blank, which Windows leaves out", "long": "characters is too long for Windows, which takes 259", "fine": ""}


@pytest.mark.parametrize("path, why", [
    ("CON", "device"), ("nul", "device"), ("Aux.txt", "device"), ("out/COM1", "device"), (r"C:\work\lpt9.csv", "device"), ("com¹", "device"), ("prn .x", "device"),
    ("console", "fine"), ("com10", "fine"), ("my.con", "fine"), ("group-CON.csv", "fine"),
    ("study.", "dot"), ("out /study", "blank"), ("..", "fine"), (r"..\study", "fine"), (".", "fine"), ("...", "dot"), (".hidden", "fine"),
    ("C:study", "drive"), (r"C:\study", "fine"), (r"\\server\share\study", "fine"), (r"\study", "fine"), (r"\\?\C:\study", "fine"),
    ("ab:c", "sign"), ("who?", "sign"), ("a|b", "sign"), ('say "x"', "sign"), ("x\x07", "sign"), ("déjà vu", "fine"), ("管", "fine"),
    ("a" * 139, "fine"), ("a" * 140, "long"), ("C:\\" + r"deep\down" * 30, "long")])
def test_what_windows_would_refuse_is_told_why(path, why):
    told = files.refused(path)
    assert told.endswith(WORDS[why]) if why in ("device", "sign", "drive", "fine") else WORDS[why] in told
    assert bool(told) == (why != "fine")


@given(st.sampled_from(["con", "PRN", "aux.txt", "nul.tar.gz", "com0", "Com7", "lpt²", "conin$", "comb", "lpt", "null", "x.nul", "a"]))
def test_devices_are_those_that_pathlib_knows(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        known = PureWindowsPath(name).is_reserved()
    assert ("device" in files.refused(name)) == known or name == "com0"   # which Windows keeps as well, and pathlib forgets in some versions


def test_the_way_to_a_folder_counts_from_where_one_stands():
    assert files.refused("study", here="C:\\" + "a" * 120) == "" and "too long" in files.refused("study", here="C:\\" + "a" * 140)


@given(st.text())
@example("CON")
@example("Nul.")
@example("  ")
@example("a" * 500)
@example("../../etc/passwd")
def test_whatever_a_title_is_the_names_made_of_it_are_names_everywhere(title):
    name = files.slug(title)
    made = PureWindowsPath(f"{name}-0123456789ab")   # as a bundle is called
    assert files.refused(str(made)) == "" and made.name == str(made) and len(name) <= 60 and name == name.lower()


@pytest.mark.parametrize("code", ["CON", "nul", "com1", "a1", "b "])
def test_whatever_a_group_calls_itself_its_file_has_a_name_everywhere(tmp_path, code):
    name = groupfile.start(tmp_path, code).path.name
    assert files.refused(name) == files.refused(f".{name}.lock") == "" and name == PureWindowsPath(name).name


def test_no_two_names_differ_by_capitals_alone(tmp_path):
    """On Windows, and on many a shared folder, they would be one file."""
    first = groupfile.start(tmp_path, "b7")
    with pytest.raises(ValueError):
        groupfile.start(tmp_path, "B7")
    assert first.path.name == "group-B7.csv"
    made = [path.name for path in newstudy.new(tmp_path / "s").iterdir()]
    assert len({name.casefold() for name in made}) == len(made) and not any(files.refused(name) for name in made)


# As on Windows: no process can be asked whether it lives, and links are refused on some disks

def test_as_on_windows_drafts_of_today_are_let_be_and_those_of_yesterday_go(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "WINDOWS", True)
    for age, name in ((0, ".kit-999999999-new.part"), (2 * files.OLD, ".kit-999999999-old.part")):
        (tmp_path / name).write_text("half")
        os.utime(tmp_path / name, (time.time() - age,) * 2)
    files.put(tmp_path / "x.txt", "whole")
    assert sorted(os.listdir(tmp_path)) == [".kit-999999999-new.part", "x.txt"]


@pytest.mark.parametrize("there", [False, True])
def test_without_links_a_study_is_made_all_the_same_and_nothing_is_written_over(tmp_path, monkeypatch, there):
    def none(*_):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    if there:
        (tmp_path / "a").mkdir()
    assert study.faults(newstudy.new(tmp_path / "a")) == []
    with pytest.raises(FileExistsError):
        files.put(tmp_path / "a" / "study.toml", "other", new=True)
    assert "other" not in (tmp_path / "a" / "study.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [("new", "CON"), ("check", "nul"), ("writeup", "s", "--out", "out."), ("register", "C:s"), ("handouts", "--out", "a|b")])
def test_as_on_windows_the_command_line_refuses_such_a_name_first(words, monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(files, "WINDOWS", True)
    with pytest.raises(SystemExit) as ended:
        command.main(list(words))
    said = capsys.readouterr().err.strip().splitlines()[-1]
    assert ended.value.code == 2 and os.listdir(tmp_path) == [] and any(why and why.split(";")[0] in said for why in WORDS.values())


# A folder or disk in which nothing may be written

@pytest.fixture(params=[errno.EROFS, errno.EACCES], ids=["read-only disk", "no right to write"])
def read_only(request, tmp_path, monkeypatch):
    """A folder with a study in it; whatever would write there is refused, as the system refuses it."""
    shutil.copytree(study.DEMO, tmp_path / "study")

    def guarded(function, writes=lambda *_: True):
        def call(*given, dir=None, **more):
            place = Path(dir or given[0]).absolute()
            if place.is_relative_to(tmp_path) and writes(*given):
                raise OSError(request.param, os.strerror(request.param), str(place))
            return function(*given, **more if dir is None else more | {"dir": dir})
        return call

    for module, name in ((Path, "mkdir"), (os, "link"), (os, "replace"), (os, "rename")):
        monkeypatch.setattr(module, name, guarded(getattr(module, name)))
    monkeypatch.setattr("builtins.open", guarded(open, writes=lambda _, mode="r", *rest: set(mode) & set("wax+")))
    monkeypatch.setattr(os, "open", guarded(os.open, writes=lambda _, flags, *rest: flags & (os.O_WRONLY | os.O_RDWR)))
    return tmp_path


def listed(folder):
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("words", [("new", "study/fresh"), ("register", "study"), ("writeup", "study", "--out", "study/out"), ("writeup", "study", "--out", "."),
                                   ("handouts", "--out", "study/out")])
def test_where_nothing_may_be_written_it_is_told_before_the_work(read_only, words, monkeypatch, capsys):
    def works(of, draws, *rest, assess=study.Study.assess, **more):
        assert draws <= 64, "hours of work come first"   # a few draws may say what is cited
        return assess(of, draws, *rest, **more)

    monkeypatch.chdir(read_only)
    monkeypatch.setattr("kit.study.study.Study.assess", works)
    before = listed(read_only)
    assert command.main(list(words)) == 2
    [said] = capsys.readouterr().err.strip().splitlines()
    assert ("read-only file system" in said.lower() or "permission denied" in said.lower()) and "folder" in said and "Errno" not in said
    assert listed(read_only) == before


@pytest.mark.parametrize("words", [("check", "study", "--draws", "16"), ("assess", "study", "--draws", "16")])
def test_what_only_reads_works_in_a_folder_where_nothing_may_be_written(read_only, words, monkeypatch):
    monkeypatch.chdir(read_only)
    before = listed(read_only)
    assert command.main(list(words)) == 0 and listed(read_only) == before


def test_a_group_is_told_where_nothing_may_be_written(read_only):
    with pytest.raises(OSError) as told:
        groupfile.start(read_only, "B")
    assert told.value.errno in (errno.EROFS, errno.EACCES) and not list(read_only.glob("*.csv"))
