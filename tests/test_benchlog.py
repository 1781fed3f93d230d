"""Readings entered at the bench: saved at once, read again as typed, undone and never lost, whatever is typed."""
import io
import multiprocessing
import shutil

import numpy as np
import pytest
from pypdf import PdfReader

from kit import __main__ as command
from kit import answers, bench, bench_form, benchlog, study, tables

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
DEMO = study.load(study.DEMO)


@pytest.fixture(scope="module")
def steps():
    return benchlog.steps(DEMO)


@pytest.fixture
def file(tmp_path):
    return benchlog.BenchFile(tmp_path / "bench_log.csv")


def step_of(steps, tube, operation, place=0):
    return [step for step in steps if step.tube == tube and step.operation == operation][place]


def test_every_step_of_every_route_is_there_with_what_is_expected(steps):
    for tube in DEMO.tubes:
        mine = [step for step in steps if step.tube == tube.name]
        assert [s.operation for s in mine] == [s.operation for s in DEMO.steps(tube)] + ["test"]
        assert all(step.expected["minutes"][0] < step.expected["minutes"][2] for step in mine[:-1])


def test_minutes_are_those_of_bowing_and_strokes_the_turns_of_the_feed(steps):
    """The log's minutes leave rests out: less than the time at the bench of the verdict's instructions. The strokes by
    hand: length over the feed settled on, over the turns that cut in a stroke."""
    from kit.outcomes import cases_of
    values = DEMO.draws(benchlog.DRAWS, benchlog.SEED)
    drill = next(case for case in cases_of(DEMO, values) if case.tube.name == "hours").operations[0]
    a_stroke = (2 * values["drive.stroke_length"] / (np.pi * DEMO.workshop.pulley)   # push and pull
                * values["drive.duty"]).m_as("")
    strokes = (drill.tube.length / drill.setting).m_as("")[0] / a_stroke
    step = step_of(steps, "hours", "drill")
    assert step.expected["strokes"] == pytest.approx(np.quantile(strokes, (0.05, 0.5, 0.95)), rel=1e-6)
    assert step.expected["minutes"][1] == pytest.approx(np.median(strokes / values["drive.stroke_frequency"].m_as("1/min")), rel=1e-6)
    told = DEMO.assess(benchlog.DRAWS).instructions.set_index(["tube", "step"])["minutes"]
    for each in (step, step_of(steps, "hours", "ream"), step_of(steps, "hours", "turn"), step_of(steps, "hours", "lap")):
        at_the_bench = told[("hours", DEMO.steps(DEMO.tubes[0])[each.number - 1].name)]
        assert 0.2 * at_the_bench < each.expected["minutes"][1] < 0.7 * at_the_bench   # half the shift is worked, by assumption


def test_two_torques_of_one_step_are_told_apart(steps, capsys):
    """A verdict tells the demand where there is the most to spare, the log what is met at the feed that is settled on."""
    line, = (each for each in DEMO.assess(benchlog.DRAWS, criteria=("drilling torque",)).lines if each.tube == "hours")
    assert np.median(line.demand) < 0.7 * step_of(steps, "hours", "drill", 1).expected["torque_Nm"][1]
    assert command.main(["log", str(study.DEMO), "--tube", "hours"]) == 0
    listed = capsys.readouterr().out
    assert command.main(["assess", str(study.DEMO), "--draws", "64"]) == 0
    for said in (listed, capsys.readouterr().out):
        assert "settled by feel" in said and "most to spare" in said


def test_the_demo_s_own_log_lies_where_it_is_expected(steps):
    """Its readings were made for another arm and pace, so not every one inside, but minutes of the same kind."""
    found = {(step.tube, step.operation, step.known.get("diameter_mm")): step.expected["minutes"] for step in steps if step.number}
    held = [low <= row["minutes"] <= high for row in bench.read(DEMO.folder / "bench_log.csv").counted
            if row["operation"] != "test" and row["outcome"] == "success"
            for low, _, high in [found[row["tube"], row["operation"], row["diameter_mm"]]] if row["operation"] != "lap"]
    assert len(held) > 30 and sum(held) / len(held) > 0.8


def test_no_strokes_are_expected_of_a_wrench_and_sizes_are_said_as_planned():
    broach = step_of(benchlog.steps(study.load(tables.DATA / "copper-sleeves"), draws=64), "swivel sleeve", "ream")
    assert "strokes" not in broach.expected and broach.expects("measured_mm") == "expected 4.05"


@pytest.mark.parametrize("typed, column, value", [
    ("3,7", "minutes", 3.7), ("about 12 min", "minutes", 12), ("222 s", "minutes", 3.7), ("ca. 181", "strokes", 181),
    ("210 N·mm", "torque_Nm", 0.21), ("0.21 Nm", "torque_Nm", 0.21), ("3.2 kgf", "pull_N", 31.3813), ("4.9 mm", "measured_mm", 4.9)])
def test_numbers_as_people_type_them(steps, file, typed, column, value):
    row, taken = file.add(step_of(steps, "hours", "ream"), {column: typed}, "A")
    assert taken[column] == pytest.approx(value) and file.rows()[0][column] == pytest.approx(value)


def test_rows_come_back_as_the_log_reads_them_and_teach_the_study(steps, file):
    for number, minutes in enumerate((3.7, 4.1, 3.9), 1):
        file.add(step_of(steps, "hours", "ream"), {"minutes": str(minutes), "strokes": "180", "torque_Nm": "0.2"}, "A", trial=number)
    file.add(step_of(steps, "hours", "lap"), {"minutes": "60", "mass_before_g": "5.28", "mass_after_g": "5.03"}, "B")
    file.add(step_of(steps, "lamp-oil barrel", "test"), {"clearance_um": "17"}, "B")
    log = bench.read(file.path)
    assert log.faults == () and len(log.rows) == 5
    assert {m.kind for m in log.measurements(DEMO)} == {"minutes", "torque", "mass lost", "clearance"}
    assert log.rows[3]["trial"] == 3 and log.rows[4]["trial"] == 4   # the same piece goes on; another tube is another trial


def test_a_failure_ends_the_trial(steps, file):
    drill = step_of(steps, "tide", "drill")
    file.add(drill, {"minutes": "5"}, "A", "fail", failure="tool broke")
    row, _ = file.add(step_of(steps, "tide", "ream"), {"minutes": "5"}, "A")
    assert row["trial"] == 2


@pytest.mark.parametrize("typed, more, said", [
    ({"minutes": "soon"}, {}, "I find no number"), ({"minutes": "-3"}, {}, "below zero"), ({"hold_s": "3"}, {}, "is not read when you ream"),
    ({"minutes": "3"}, {"operator": " "}, "nobody is named"), ({"minutes": "3"}, {"outcome": "failed"}, "did you mean 'fail'"),
    ({"minutes": "3"}, {"outcome": "fail"}, "must say of what kind"), ({"passes_mm": "5.1", "stops_mm": "5.0"}, {}, "must be larger"),
    ({"pull_N": "40", "pull_most_N": "30", "minutes": "3"}, {}, "cannot take more"), ({"minutes": "0"}, {}, "minutes"), ({"torque_Nm": "3 mm"}, {}, "no unit of a torque")])
def test_what_cannot_be_taken_is_told_and_nothing_written(steps, file, typed, more, said):
    file.add(step_of(steps, "hours", "drill"), {"minutes": "5"}, "A")
    before = file.path.read_bytes()
    with pytest.raises(answers.AnswerError, match=said):
        file.add(step_of(steps, "hours", "ream"), typed, **({"operator": "A"} | more))
    assert file.path.read_bytes() == before


def test_undoing_takes_the_last_row_and_keeps_it(steps, file):
    first, second = step_of(steps, "hours", "drill"), step_of(steps, "hours", "drill", 1)
    file.add(first, {"minutes": "5"}, "A", remark="=1+1, \"quoted\",\nover two lines")
    whole = file.path.read_bytes()
    file.add(second, {"minutes": "6"}, "A")
    last = file.path.read_bytes().decode().splitlines()[-1]
    assert file.undo() == ("A", last) and file.path.read_bytes() == whole and last in file.undone.read_text()
    assert not file.rows()[0]["remark"].startswith("=")
    file.undo()
    assert file.rows() == () and len(bench.read(file.undone).rows) == 2   # both are kept, and can be read
    with pytest.raises(answers.AnswerError, match="no row that could be undone"):
        file.undo()


def test_of_several_who_write_each_undoes_a_row_of_their_own(steps, file):
    first, second = step_of(steps, "hours", "drill"), step_of(steps, "hours", "drill", 1)
    file.add(first, {"minutes": "5"}, "A", remark="over two\nlines")
    file.add(second, {"minutes": "6"}, "B")
    with pytest.raises(answers.AnswerError, match="no row of 'a'; did you mean 'A'|no row of 'a'; known: 'A', 'B'"):
        file.undo("a")
    who, row = file.undo("A")
    assert who == "A" and "over two lines" in row and [each["operator"] for each in file.rows()] == ["B"]
    assert file.undo()[0] == "B"


def test_a_log_of_other_columns_line_ends_and_mark_is_continued(steps, file):
    names = ["operator", "trial", "date", "tube", "step", "operation", "minutes", "outcome", "counted", "substitute", "failure"]
    file.path.write_bytes(b"\xef\xbb\xbf" + (",".join(names) + "\r\nB,1,2026-05-01,hours,own name,drill,4,success,yes,no,").encode())   # no last line end
    file.add(step_of(steps, "hours", "file"), {"minutes": "7"}, "A")
    made = file.path.read_bytes()
    assert made.startswith(b"\xef\xbb\xbf") and made.count(b"\r\n") == 3 and [row["minutes"] for row in file.rows()] == [4, 7]
    with pytest.raises(answers.AnswerError, match="no column 'strokes'"):
        file.add(step_of(steps, "hours", "file"), {"strokes": "7"}, "A")
    assert file.path.read_bytes() == made
    file.undo()
    assert len(file.rows()) == 1 and file.path.read_bytes().startswith(b"\xef\xbb\xbf")


def test_a_step_done_again_gets_a_row_of_its_own(steps, file):
    ream = step_of(steps, "hours", "ream")
    names = [file.add(ream, {"minutes": "3"}, "A", trial=1)[0]["step"] for _ in range(3)]
    assert len(set(names)) == 3 and len(file.rows()) == 3


def _write(path, who, count):
    every = benchlog.steps(DEMO, draws=8)
    for _ in range(count):
        benchlog.BenchFile(path).add(every[0], {"minutes": "3"}, who, trial=1)


@pytest.mark.slow
def test_two_who_write_at_once_lose_nothing(file):
    context = multiprocessing.get_context("spawn")
    both = [context.Process(target=_write, args=(file.path, who, 6)) for who in "AB"]
    for each in both:
        each.start()
    for each in both:
        each.join(120)
    assert sorted(row["operator"] for row in file.rows()) == ["A"] * 6 + ["B"] * 6


def test_the_form_saves_moves_on_and_undoes(tmp_path):
    form = bench_form.BenchForm(DEMO, tmp_path / "log.csv")
    form.boxes["minutes"].value, form.who.value = "84", "A"
    assert any("expected" in row.children[1].value for row in form.readings.children)
    form.save.click()
    assert "Saved" in form.said.value and form.which.value == 1 and len(form.file.rows()) == 1
    form.boxes["minutes"].value = "a while"
    form.save.click()
    assert "Not yet" in form.said.value and form.boxes["minutes"].value == "a while" and len(form.file.rows()) == 1
    form.file.add(form.steps[1], {"minutes": "6"}, "B")   # another page, meanwhile
    form.undo.click()
    assert "Undone, of A" in form.said.value and [row["operator"] for row in form.file.rows()] == ["B"]
    form.undo.click()
    assert "Not yet" in form.said.value


def test_the_demos_own_log_is_left_alone(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    assert bench_form.BenchForm(DEMO).file.path.as_posix() == "out/bench_log.csv"
    before = sorted(path.name for path in DEMO.folder.iterdir()), (DEMO.folder / "bench_log.csv").read_bytes()
    line = ["log", str(study.DEMO), "--tube", "tide", "--operator", "A"]
    assert command.main([*line, "--step", "3", "--read", "minutes=3"]) == 0 and len(bench.read(tmp_path / "out" / "bench_log.csv").rows) == 1
    assert command.main(["log", str(study.DEMO), "--undo"]) == 0
    assert before == (sorted(path.name for path in DEMO.folder.iterdir()), (DEMO.folder / "bench_log.csv").read_bytes())


def test_the_command_line(tmp_path, capsys):
    folder = tmp_path / "mine"
    shutil.copytree(study.DEMO, folder)
    before = (folder / "bench_log.csv").read_bytes()
    assert command.main(["log", str(folder), "--tube", "tide"]) == 0 and "expected" in capsys.readouterr().out
    line = ["log", str(folder), "--tube", "tide", "--step", "3", "--operator", "A", "--read", "minutes=3,7", "strokes=181"]
    assert command.main(line) == 0 and "added" in capsys.readouterr().out
    assert (folder / "bench_log.csv").read_bytes().startswith(before) and len(bench.read(folder / "bench_log.csv").rows) == 54
    assert command.main(["log", str(folder), "--undo"]) == 0 and (folder / "bench_log.csv").read_bytes() == before
    for wrong, said in ((["--step", "3"], "which tube"), (["--tube", "tyde", "--step", "3"], "did you mean 'tide'"), (["--tube", "tide", "--step", "99"], "has steps 1 to 9"),
                        (["--tube", "tide", "--step", "1", "--read", "minutes"], "NAME=VALUE")):
        assert command.main(["log", str(folder), *wrong]) == 2 and said in capsys.readouterr().err
    assert command.main(["log", str(folder), "--sheet", str(tmp_path / "sheet.pdf")]) == 0
    assert command.main(["log", str(folder), "--sheet", str(tmp_path / "sheet.pdf")]) == 2


def test_the_command_line_drops_nothing_that_was_said(tmp_path, capsys):
    folder = tmp_path / "mine"
    shutil.copytree(study.DEMO, folder)
    before, capsys_ = (folder / "bench_log.csv").read_bytes(), capsys.readouterr
    step = ["--tube", "tide", "--step", "3", "--operator", "A"]
    for wrong, said in ((step, "nothing is read"), (["--read", "minutes=3"], "of which step"), (["--undo", "--operator", "Z"], "no row of 'Z'")):
        assert command.main(["log", str(folder), *wrong]) == 2 and said in capsys_().err
    for wrong, said in ((["--undo", "--sheet", "s.pdf"], "not allowed with"), (["--sheet", "s.txt"], "expected the name of a PDF")):
        with pytest.raises(SystemExit):
            command.main(["log", str(folder), *wrong])
        assert said in capsys_().err
    assert (folder / "bench_log.csv").read_bytes() == before
    assert command.main(["log", str(folder), *step, "--outcome", "success"]) == 0 and "added" in capsys_().out
    assert command.main(["log", str(folder), "--undo"]) == 0 and "a row of A" in capsys_().out


def test_the_sheet_is_filled_in_from_the_route_with_the_columns_that_a_step_needs():
    pages = PdfReader(io.BytesIO(benchlog.sheet(DEMO))).pages
    assert len(pages) == len(DEMO.tubes)
    text = " ".join(pages[0].extract_text().split())
    for step in DEMO.steps(DEMO.tubes[0]):
        assert (step.abrasive or step.name.rpartition(" to ")[0] or step.name) in text or step.operation in ("turn", "file")
    assert "mass before" in text and "hold, s" in text
    barrel = " ".join(pages[-1].extract_text().split())
    assert "flat drill" not in barrel   # cast on a core
    with pytest.raises(answers.AnswerError, match="no tube"):
        benchlog.sheet(DEMO, ["nobody"])


def test_a_tube_wrapped_and_soldered_is_entered_too(file, tmp_path):
    from test_formed_routes import ANNEAL, HARD, sheet_tube
    formed = sheet_tube(ANNEAL, HARD)
    steps = benchlog.steps(formed)
    assert [s.operation for s in steps][:3] == ["wrap", "anneal", "solder"] and steps[-1].operation == "test"
    for step in steps[:3]:
        file.add(step, {"minutes": "20"}, "A")
    log = bench.read(file.path)
    assert log.faults == () and [row["operation"] for row in log.rows] == ["wrap", "anneal", "solder"] and {row["trial"] for row in log.rows} == {1}
    assert b"%PDF" in benchlog.sheet(formed)[:8]


def test_every_operation_of_the_kit_can_be_entered_and_printed():
    from kit import chain, operation
    known = next(field for field in bench.schema()["fields"] if field["name"] == "operation")["constraints"]["enum"]
    assert {*chain.OPERATIONS, benchlog.TEST} <= set(known) and all(kind.work != operation.Operation.work for kind in chain.OPERATIONS.values())
    columns = {*benchlog.READ_IN_TEST, *(c for kind in chain.OPERATIONS.values() for c in kind.read)}
    assert columns <= set(benchlog.UNITS) <= {f["name"] for f in bench.schema()["fields"]}
