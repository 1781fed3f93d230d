"""kit.__main__: the commands new, check, assess and register, in this process and as `python -m kit`."""
import functools
import io
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kit import __main__ as command
from kit import words as kit_words
from kit import claims, instructions, newstudy, study, worlds
from kit.worked_out import cited_trace

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

COMMANDS = ("new", "check", "assess", "register", "writeup", "handouts", "reach", "next", "sheets", "log", "pages")


@pytest.fixture
def run(capsys):
    """Runs a command here: (exit status, lines on stdout, lines on stderr)."""
    def ran(*words):
        try:
            status = command.main([str(word) for word in words])
        except SystemExit as end:   # what argparse refuses
            status = end.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out.splitlines(), err.splitlines()
    return ran


def shell(*words, cwd=None, code_page="utf-8"):
    root = str(Path(command.__file__).parents[1])
    done = subprocess.run([sys.executable, "-m", "kit", *map(str, words)], capture_output=True, text=True, encoding=code_page, cwd=cwd, stdin=subprocess.DEVNULL,
                          env=os.environ | {"PYTHONPATH": root, "PYTHONIOENCODING": code_page})
    assert "Traceback" not in done.stdout + done.stderr
    return done.returncode, done.stdout.splitlines(), done.stderr.splitlines()


@pytest.fixture
def copy(tmp_path):
    """A copy of the demo in a folder whose name asks for care."""
    folder = tmp_path / "Étude n° 1, my own"
    shutil.copytree(study.DEMO, folder)
    return folder


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def told(result, *words):
    """Bad input: status 2, one or few plain lines on stderr, nothing but them."""
    status, out, err = result
    assert status == 2 and out == [] and 1 <= len(err) <= 4, result
    for said in words:
        assert said in "\n".join(err), (said, err)


@pytest.fixture(autouse=True)
def few_worlds(monkeypatch):
    """A band of few worlds, but for the processes of their own: in full it takes seconds."""
    monkeypatch.setattr(worlds, "band", functools.partial(worlds.band, worlds=8, inner=16))


# --- as a process of its own ------------------------------------------------------------------------------------------------------------

@pytest.mark.slow
def test_from_nothing_to_a_registered_claim(tmp_path):
    """The commands one after the other, in a folder with blanks and accents in its name."""
    status, out, err = shell("new", "Flûte à moi", "--title", "Flûte", "--bore", "8 mm", cwd=tmp_path)
    assert (status, err) == (0, []) and out == ["Flûte à moi: a new study. Next: open study.toml in it, whose comments explain every line; "
                                                "then python -m kit check 'Flûte à moi'"]
    status, out, err = shell("check", "Flûte à moi", "--draws", 64, cwd=tmp_path)
    assert (status, err) == (0, []) and re.fullmatch(r"Nothing is wrong. Weak: \d+", out[0]) and len(out) == 2 + int(out[0].split()[-1])
    status, out, err = shell("register", "Flûte à moi", "--draws", 64, "--date", "2026-02-03", cwd=tmp_path)
    assert (status, err) == (0, []) and "registration.md: written" in out[0]
    text = (tmp_path / "Flûte à moi" / "registration.md").read_text(encoding="utf-8")
    assert text.startswith("# Registered before the trials: Flûte\n\nDate: 2026-02-03.") and "64 draws, seed 1" in text


def test_a_missing_folder_is_told_in_one_line():
    told(shell("assess", "no where"), "no where/study.toml: there is no such file; a study is a folder with a study.toml")


@pytest.mark.parametrize("code_page, micro", [("ascii", "um"), *(pytest.param(page, "µm", marks=pytest.mark.long) for page in ("cp437", "cp850", "cp1252", "utf-8"))])
def test_a_terminal_without_such_signs_gets_plain_ones(code_page, micro):
    """cp437 and cp850 are the old code pages of consoles; none of these but UTF-8 has the narrow space between groups of digits."""
    status, out, _ = shell("assess", study.DEMO, "--draws", 64, "--trace", "drilling thrust", code_page=code_page)
    text = "\n".join(out)
    assert status == 0 and "enters demand" in text and f" {micro}" in text and "?" not in text
    assert "16\u202f" in text if code_page == "utf-8" else "16 " in text and "\u202f" not in text


def test_signs_have_plain_stand_ins():
    text = "16\u202f384 µm, 5 N·m, 2 mm³/min, ∞ and −∞, 10⁻¹², 20 °C, é, 中"
    assert text.encode("ascii", "kit.plain_signs") == b"16 384 um, 5 N*m, 2 mm^3/min, inf and -inf, 10^-12, 20 deg C, e, ?"
    assert text.encode("utf-8", "kit.plain_signs").decode() == text


@pytest.mark.skipif(os.name != "posix", reason="the shell's pipe")
def test_a_reader_that_has_seen_enough_is_no_fault(tmp_path):
    """As when it is piped into a pager that is left."""
    read, write = os.pipe()
    os.close(read)
    root = str(Path(command.__file__).parents[1])
    done = subprocess.run([sys.executable, "-m", "kit", "check", study.DEMO, "--draws", "16"], stdout=write, stderr=subprocess.PIPE, text=True,
                          env=os.environ | {"PYTHONPATH": root, "PYTHONUNBUFFERED": "1"})
    os.close(write)
    assert done.returncode == 0 and done.stderr == ""


# --- assess: 0 whatever the verdict --------------------------------------------------------------------------------------------------------

def test_the_verdict_is_a_table_and_words(run):
    status, out, err = run("assess", study.DEMO, "--draws", 128, "--seed", 3)
    verdict = study.load(study.DEMO).assess(draws=128, seed=3)
    assert (status, err) == (0, []) and out[0] == "The harbour dial (invented)" and out[2].split()[:3] == ["tube", "criterion", "where"]
    assert verdict.words in out and sum(line.startswith(("hours ", "tide ", "moon ", "feasts ", "lamp-oil barrel ", "whole part ")) for line in out) == len(verdict.lines)
    assert any(line.startswith("Strength of the claim: ") for line in out)
    assert verdict.worlds.told() in out and verdict.ways_said in out and not any("Tools to be made" in line for line in out)
    assert [line for line in out if line.startswith("- ")] == [f"- {said}: {meaning}" for said, meaning in instructions.WAYS.values()]
    assert "margin (5 % to 95 %)" in out[2] and any(" N·m " in line for line in out) and not any("N*m" in line for line in out)
    assert [line.removeprefix("warning: ") for line in out if line.startswith("warning: ")] == list(verdict.warnings)


def test_what_the_maker_settles_and_the_tools_to_be_made_are_told_where_asked(run):
    status, out, err = run("assess", study.DEMO, "--draws", 64, "--bench")
    verdict = study.load(study.DEMO).assess(draws=64)
    assert (status, err) == (0, [])
    at, cards = (next(i for i, line in enumerate(out) if line.startswith(head)) for head in ("Settled at the bench, by feel: median (5 % to 95 %); 64 draws, seed 1", "Tools to be made, and how often each can be stoned before it cuts under size"))
    assert out[at + 2].split()[:2] == ["tube", "step"] and cards - at - 5 == len(verdict.instructions) and len(out) - cards - 4 == len(verdict.tools)
    assert any(re.search(r"^hours +flat drill to 2.50 mm +feed .* mm a turn .* min .* bow +wooden clamp, fitted$", line) for line in out[at:cards])
    assert any(re.search(r"^fluted reamer +5 mm +round, .* mm +6 teeth, lead angle 45° .* HV .* µm$", line) for line in out[cards:])


def test_a_verdict_that_nothing_could_be_made_is_no_fault_of_the_command(copy, run):
    change(copy / "study.toml", 'hours = "350 h"', 'hours = "1 h"')
    status, out, err = run("assess", copy, "--draws", 64)
    assert (status, err) == (0, []) and any("it is exceptionally unlikely (chance <0.01, <0.01 to <0.01 in nine of ten worlds" in line for line in out) and any("not shown" in line for line in out)


def test_a_number_is_traced_where_asked(run):
    status, out, _ = run("assess", study.DEMO, "--draws", 64, "--trace", "cord")
    loaded = study.load(study.DEMO)
    trace = loaded.assess(draws=64, seed=1).trace("cord")
    assert status == 0 and "\n".join(out).endswith(str(cited_trace(trace, loaded)))
    printed = "\n".join(out)
    assert all(ground.label in printed and ground.key not in printed for ground in trace.assumptions)
    assert "; assumption of the kit's tables" in printed and "; from-memory" not in printed
    status, _, err = run("assess", study.DEMO, "--draws", 64, "--trace", "corde")
    assert status == 2 and err == ["this verdict has no criterion 'corde'; did you mean 'cord'?"]


def test_rows_of_the_log_that_cannot_be_used_are_not_passed_over(copy, run):
    change(copy / "bench_log.csv", "2026-05-10", "2026-13-10")
    status, out, _ = run("assess", copy, "--draws", 64)
    assert status == 0 and f"warning: 1 row of {copy / 'bench_log.csv'} cannot be used; python -m kit check says why" in out


# --- bad input: 2, in plain words ----------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", ["check", "assess", "register"])
def test_what_is_no_study_folder_is_told(tmp_path, run, name):
    (tmp_path / "file").write_text("no folder")
    for folder, words in ((tmp_path / "nowhere", "nowhere/study.toml: there is no such file"), (tmp_path / "file", "file/study.toml: there is no such file"),
                          (tmp_path, "study.toml: there is no such file; a study is a folder with a study.toml")):
        status, out, err = run(name, folder)
        assert status == 2 and words in "\n".join(out + err) and len(out + err) <= 2
    assert os.listdir(tmp_path) == ["file"]


@pytest.mark.parametrize("name", ["check", "assess", "register"])
@pytest.mark.parametrize("file", ["study.toml", "bench_log.csv"])
def test_a_file_that_may_not_be_read_is_named(copy, run, monkeypatch, name, file):
    opened = Path.read_text

    def forbidden(path, *args, **kwargs):
        if path == copy / file:
            raise PermissionError(13, "Permission denied", str(path))
        return opened(path, *args, **kwargs)

    monkeypatch.setattr(Path, "read_text", forbidden)
    status, out, err = run(name, copy, "--draws", 16)
    assert status == 2 and any(str(copy / file) in line and "permission denied" in line and ";" in line for line in out + err) and len(out + err) <= 2
    assert not (copy / "registration.md").exists()


@pytest.mark.parametrize("words", [("assess", "--draws", "0"), ("assess", "--draws", "-5"), ("check", "--draws", "many"), ("register", "--draws", "1.5"), ("assess", "--draws", "")])
def test_a_number_of_draws_that_is_none_is_told(run, words):
    told(run(words[0], study.DEMO, *words[1:]), f"argument --draws: expected a whole number above 0, got {words[-1]!r}")


@pytest.mark.parametrize("words, said", [
    (("assess", study.DEMO, "--seed", "-1"), "argument --seed: expected a whole number from 0, got '-1'"), (("assess", study.DEMO, "--seed", "x"), "expected a whole number from 0, got 'x'"),
    (("register", study.DEMO, "--date", "3.2.2026"), "argument --date: expected a day written yyyy-mm-dd, got '3.2.2026'"),
    (("register", study.DEMO, "--date", "2026-02-30"), "expected a day written yyyy-mm-dd"),
    (("chek", study.DEMO), "invalid choice: 'chek'"), ((), "COMMAND"), (("assess",), "FOLDER"), (("log", study.DEMO, "--date", "1.5.2026"), "a day written yyyy-mm-dd"), (("open", "--port", "999999"), "a port, 1 to 65535"), (("open", "--port", "x"), "a port"), (("new",), "FOLDER"), (("assess", study.DEMO, "--drawn", "5"), "--drawn")])
def test_words_that_the_command_does_not_know_are_told(run, words, said):
    status, out, err = run(*words)
    assert status == 2 and out == [] and said in err[-1] and err[0].startswith("usage: python -m kit")


@pytest.mark.parametrize("name", COMMANDS)
def test_help_names_every_flag_and_says_what_it_is_for(run, name):
    status, out, err = run(name, "-h")
    text = "\n".join(out)
    flags = {"new": [f"--{q[0].replace('_', '-')}" for q in newstudy.QUESTIONS], "check": ["--draws", "--seed"], "assess": ["--draws", "--seed", "--bench", "--trace"],
             "register": ["--draws", "--seed", "--date"], "writeup": ["--out", "--width", "--document", "--tiff", "--date", "--draws", "--seed"],
             "handouts": ["--out", "--study", "--people", "--minutes", "--no-lathe", "--overwrite"],
             "reach": ["--chance", "--only", "--list", "--quick", "--keep", "--draws", "--seed"],
             "sheets": ["--out", "--only", "--overwrite"],
             "log": ["--tube", "--step", "--operator", "--outcome", "--failure", "--trial", "--date", "--not-counted", "--substitute", "--remark", "--undo", "--sheet"],
             "pages": ["--out", "--notebooks", "--only"],
             "next": ["--hours", "--readings", "--all", "--keep", "--seed"]}[name]
    assert (status, err) == (0, []) and out[0].startswith(f"usage: python -m kit {name}")
    described = text.partition("options:")[2]
    for flag in flags:
        assert re.search(rf"^  {flag}\b.*(\n {{4,}}\S.*)?", described, re.M), flag
    assert command.COMMANDS[name][0].__doc__.split(".")[0].split(":")[0][:40] in text


def test_help_alone_lists_the_commands(run):
    status, out, _ = run("-h")
    assert status == 0 and all(any(f"{line} ".startswith(f"    {name} ") for line in out) for name in COMMANDS)


# --- check: everything at once -------------------------------------------------------------------------------------------------------------------

def test_check_says_everything_that_is_wrong_at_once(copy, run):
    change(copy / "study.toml", "jaws = 3", "jaws = 1")
    change(copy / "study.toml", 'pulley = "40 mm"', 'pulley = "40"')
    change(copy / "bench_log.csv", "2026-05-10", "2026-13-10")
    change(copy / "assumptions.csv", "own-trial,own-trial", "own-trial,nobody_1900")
    status, out, _ = run("check", copy)
    assert status == 2 and out[0] == "Wrong: 4" and len(out) == 5 and all(line.startswith("- ") and ", line " in line for line in out[1:])
    for words in ("jaws: expected a whole number", "argument 'pulley' takes a unit like mm", "'2026-13-10' is no day of the calendar", "cites 'nobody_1900'"):
        assert sum(words in line for line in out) == 1, words
    assert out[1:-1] == [f"- {fault}" for fault in study.faults(copy)]


def test_check_says_which_rows_of_the_log_do_not_belong_to_the_study(copy, run):
    change(copy / "bench_log.csv", "2,2026-05-10,hours", "2,2026-05-10,ours")
    change(copy / "bench_log.csv", '"lap, emery, fine",lap,"emery, fine"', '"lap, emery, fine",lap,"emry, fine"')
    status, out, _ = run("check", copy)
    assert status == 2 and out[0] == "Wrong: 2"
    assert any("line 10, column 'tube': the study has no tube 'ours'; did you mean 'hours'?" in line for line in out)
    assert any("line 8, column 'tool': the route of 'hours' does not lap with 'emry, fine'; did you mean 'emery, fine'" in line for line in out)


def test_check_lists_what_is_weak_and_ends_well(copy, run):
    status, out, err = run("check", copy, "--draws", 256)
    verdict = study.load(copy).assess(draws=256, seed=1)
    weak = claims.weaknesses(verdict, command._log(copy))
    assert (status, err) == (0, []) and out[:-1] == [f"Nothing is wrong. Weak: {len(weak)}", *(f"- {w}" for w in weak)] and len(weak) > 10
    counts = verdict.study.register.loc[sorted(verdict.asked), "grade"].value_counts()
    assert out[-1].startswith(f"The verdict rests on {counts.sum()} assumptions: ")
    assert f"{counts['handbook']} handbook, {counts['recalled']} recalled, " in out[-1]


def test_check_of_a_study_without_a_log(copy, run):
    (copy / "bench_log.csv").unlink()
    status, out, _ = run("check", copy, "--draws", 64)
    assert status == 0 and any("no trial is on record" in line for line in out)


# --- register -----------------------------------------------------------------------------------------------------------------------------------------

def test_register_writes_the_text_and_never_over_it(copy, run):
    status, out, _ = run("register", copy, "--draws", 64, "--date", "2026-02-03", "--seed", 2)
    path = copy / "registration.md"
    text = path.read_text(encoding="utf-8")
    assert status == 0 and out == [f"{path}: written. Send a copy of it to somebody, or deposit it, before the first trial."]
    assert "Date: 2026-02-03." in text and "64 draws, seed 2" in text and re.search(r"\d+ rows of trials were on record already", text)
    told(run("register", copy), f"{path} is there already", "[[record.deviations]]")
    assert path.read_text(encoding="utf-8") == text and not [p for p in os.listdir(copy) if p.startswith(".")]


@pytest.mark.parametrize("at", ["making", "writing", "renaming"])
def test_register_leaves_nothing_half_written(copy, run, monkeypatch, at):
    def fails(*args, **kwargs):
        raise PermissionError(13, "Permission denied", str(copy)) if at == "making" else OSError(28, "No space left on device")

    before = sorted(os.listdir(copy))
    monkeypatch.setattr(*{"making": (Path, "mkdir"), "writing": (os, "chmod"), "renaming": (os, "link")}[at], fails)
    told(run("register", copy, "--draws", 16), f"{copy}: permission denied; mend that, or give another folder" if at == "making" else "no space left on device: nothing half-written is left; make room")
    assert sorted(os.listdir(copy)) == before


# --- new ----------------------------------------------------------------------------------------------------------------------------------------------

class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def interview(monkeypatch):
    """Scripted answers, one a question; what was asked is returned."""
    def scripted(*answers):
        asked, left = [], iter(answers)

        def answer(question=""):
            asked.append(question)
            try:
                given = next(left)
            except StopIteration:
                raise EOFError from None
            if isinstance(given, type):
                raise given
            return given

        monkeypatch.setattr("builtins.input", answer)
        monkeypatch.setattr(sys, "stdin", Terminal())
        return asked
    return scripted


def test_an_interview_makes_a_study(tmp_path, run, interview):
    asked = interview("  My harp  ", 'It was "made" so.', "", "7 mm", "", "", "50 mm, 40 mm", "18 mm", "", "3 mm", "", "")
    status, out, err = run("new", tmp_path / "mine")
    assert (status, err) == (0, []) and len(out) == 1 and len(asked) == len(newstudy.QUESTIONS)
    assert asked[3] == "Bore of the innermost sleeve, or of the tube? [6 mm] " and asked[7].endswith("[none] ")
    loaded = study.load(tmp_path / "mine")
    assert (loaded.title, loaded.claim, loaded.part["alloy"]) == ("My harp", 'It was "made" so.', "tin bronze, cast")
    assert [t.bore.m_as("mm") for t in loaded.tubes][::2] == [7, 18] and len(loaded.tubes) == 3


def test_an_answer_that_cannot_be_used_is_asked_again(tmp_path, run, interview):
    asked = interview("", "", "gold", "", "7", "0,7 mm", "7 mm", "", "", "", "", "")
    status, out, _ = run("new", tmp_path / "mine")
    assert status == 0 and [q.startswith("Bore of the innermost") for q in asked].count(True) == 3
    assert out[0].startswith("alloy: the table 'alloys' has nothing on 'gold'; known: 'tin bronze, cast'") and not any("Length of that barrel" in q for q in asked)
    assert out[1].startswith("bore: Cannot convert from 'dimensionless'") and out[2].startswith("bore: cannot read '0,7 mm'") and study.load(tmp_path / "mine").tubes[0].bore.m_as("mm") == 7


@pytest.mark.parametrize("end", [EOFError, KeyboardInterrupt])
def test_an_interview_broken_off_leaves_nothing(tmp_path, run, interview, end):
    interview("My harp", end)
    status, out, err = run("new", tmp_path / "mine")
    assert status == 130 and err == ["stopped by hand; nothing half-written is left"] and os.listdir(tmp_path) == []


def test_nobody_is_asked_for_a_folder_that_is_refused_or_where_flags_say_it(tmp_path, run, interview):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("kept")
    asked = interview()
    told(run("new", tmp_path / "full"), "full is there already and holds something; give another name")
    status, _, _ = run("new", tmp_path / "mine", "--bore", "7 mm")
    assert status == 0 and asked == [] and study.load(tmp_path / "mine").title == "My part" and os.listdir(tmp_path / "full") == ["mine.txt"]


def test_every_flag_of_new_is_an_answer(tmp_path, run):
    given = {"title": "Pipe", "claim": "So.", "alloy": "brass, annealed", "bore": "9 mm", "wall": "0.6 mm", "clearance": "25 um", "lengths": "70 mm", "barrel": "17 mm", "barrel_length": "65 mm", "barrel_wall": "3 mm",
             "packing": "leather cup, oiled", "drive": "pole lathe"}
    assert set(given) == {q[0] for q in newstudy.QUESTIONS}
    status, _, _ = run("new", tmp_path / "a", *(word for name, text in given.items() for word in (f"--{name.replace('_', '-')}", text)))
    assert status == 0
    one, barrel = study.load(tmp_path / "a").tubes
    assert [kit_words.planned(getattr(one, k)) for k in ("bore", "wall", "clearance", "length")] == ["9 mm", "0.6 mm", "25 µm", "70 mm"] and barrel.length.m_as("mm") == 65
    newstudy.new(tmp_path / "b", **given)
    assert (tmp_path / "a" / "study.toml").read_bytes() == (tmp_path / "b" / "study.toml").read_bytes()


def test_what_conflicts_is_asked_again_and_nothing_else(tmp_path, run, interview):
    asked = interview("My part", "", "", "7 mm", "0.5 mm", "2 mm", "50 mm", "", "", "0.6 mm", "20 um")
    status, out, _ = run("new", tmp_path / "mine")
    assert status == 0 and out[0] == "'sleeve 1': a clearance of 2000 µm leaves no wall of 0.5 mm; give less clearance, or a thicker wall"
    assert sorted(q[:9] for q in asked[9:]) == ["Clearance", "Wall thic"] and study.load(tmp_path / "mine").tubes[0].clearance.m_as("um") == 20


def test_answers_from_a_pipe_are_taken_in_order(tmp_path, run, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO("A pump\n\n\n\n2.5 mm\n15 um\nnone\n18 mm\n70 mm\n"))
    assert run("new", tmp_path / "mine")[0] == 0
    made = study.load(tmp_path / "mine")
    [barrel] = made.tubes
    assert made.title == "A pump" and [kit_words.planned(getattr(barrel, k)) for k in ("bore", "wall", "clearance", "length")] == ["18 mm", "2.5 mm", "15 µm", "70 mm"]


@pytest.mark.parametrize("lines, said", [
    ("\n\ngold\n", "the answer to 'Of which alloy? A name in data/reference/alloys.csv.': alloy: the table 'alloys' has nothing on 'gold'"),
    ("\n" * 9 + "more\nthan enough\n", "11 lines of answers, but only 9 questions: nobody asks for 'more'"),
    ("\n\n\n\n\n\nnone\n", "no sleeve and no barrel: there is nothing to make")])
def test_a_bad_answer_from_a_pipe_is_told_and_leaves_nothing(tmp_path, run, monkeypatch, lines, said):
    monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
    told(run("new", tmp_path / "mine"), said)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("words, said", [
    (("--bore", "5"), "bore: Cannot convert from 'dimensionless'"), (("--alloy", "gold"), "the table 'alloys' has nothing on 'gold'; known: 'tin bronze, cast'"),
    (("--lengths", "60 mm;50 mm"), "lengths: cannot read the unit 'mm;50 mm'")])
def test_a_bad_flag_is_told_and_leaves_nothing(tmp_path, run, words, said):
    told(run("new", tmp_path / "deep" / "a", *words), said)
    assert os.listdir(tmp_path) == []


def test_a_folder_where_nothing_may_be_written_is_told(tmp_path, run, monkeypatch):
    def forbidden(*args, **kwargs):
        raise PermissionError(13, "Permission denied", str(tmp_path))

    monkeypatch.setattr(Path, "mkdir", forbidden)
    told(run("new", tmp_path / "a"), f"{tmp_path}: permission denied; mend that, or give another folder")
    assert os.listdir(tmp_path) == []


def test_a_file_in_place_of_a_folder_on_the_way_is_told(tmp_path, run):
    (tmp_path / "file").write_text("kept")
    told(run("new", tmp_path / "file" / "a"), str(tmp_path / "file"), "mend that, or give another folder")
    assert (tmp_path / "file").read_text() == "kept"
