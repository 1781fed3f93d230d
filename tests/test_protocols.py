"""Protocols: every sheet prints on one page with all that it needs, and whoever follows one fills a log that the kit reads."""
import io

import pytest
from pypdf import PdfReader

from kit import bench, benchlog, protocol_sheets, protocols, study, tables

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
DEMO = study.load(study.DEMO)
STEPS = benchlog.steps(DEMO, draws=64)


@pytest.mark.parametrize("name", list(protocols.protocols()))
def test_a_sheet_is_one_page_and_says_all(name):
    each, pages = protocols.protocol(name), PdfReader(io.BytesIO(protocol_sheets.sheet(name))).pages
    text = " ".join(pages[0].extract_text().split())
    assert len(pages) == 1
    for said in (each.title, each.purpose, each.cautions, each.steps[0], each.steps[-1], "Needed", "Error to expect", "How the kit reads it"):
        assert " ".join(said.split()) in text, said
    assert len(each.steps) >= 4 and each.repeats >= 3
    assert protocol_sheets.sheet(name) == protocol_sheets.sheet(name)   # the same bytes each time


WORDED = ("who", "which", "held by", "person", "tool (its name)", "grain (its name)")   # that no unit belongs to


@pytest.mark.parametrize("name", list(protocols.protocols()))
def test_a_sheet_speaks_in_words_and_units(name):
    """Code and raw names are no words of a workshop: a name stands on a sheet only where it must be typed, in its box."""
    from test_said_one_way import faults
    each = protocols.protocol(name)
    text = " ".join(PdfReader(io.BytesIO(protocol_sheets.sheet(name))).pages[0].extract_text().split())
    for column in filter(None, (column for _, column in each.columns)):
        assert f"column {column}" in text
        text = text.replace(f"column {column}", "")
    if each.key:
        assert f"key {each.key}" in text and each.key in DEMO.keys
        text = text.replace(f"key {each.key}", "")
    assert faults(text) == []
    for code in ("_", "**", "[...]", "(study", "kit.", "bench.", "N*m"):
        assert code not in text.replace("bench_log.csv", "").replace("assumptions.csv", ""), code
    for said, _ in each.columns:
        assert " in " in said or "(a count)" in said or "(a number)" in said or said.startswith(WORDED), said


def test_moments_on_the_sheets_count_the_lever_s_own_weight():
    """A uniform lever held at the axis adds its whole weight at half its length (statics); a lever that is lifted, takes it
    off. A pinch is read with the thumb off the plate, or the scale would show the difference of two like forces."""
    steps = {name: " ".join(protocols.protocol(name).steps) for name in ("stall", "torque", "hold", "pinch")}
    assert "own beside: its mass in kg x 9.81 x half its length" in steps["stall"] and "half the lever" not in steps["stall"]
    for name in ("torque", "hold"):
        assert "less the lever's own: its mass in kg x 9.81 x half its length" in steps[name]
    assert "thumb below the table's top" in steps["pinch"]


@pytest.mark.parametrize("name", list(protocols.protocols()))
def test_nothing_of_a_drawing_leaves_its_room(name):
    from matplotlib import textpath   # in DejaVu Sans, as the sheets are
    for kind, x, y, *rest in protocol_sheets.DRAWINGS[name]:
        right = x + textpath.TextPath((0, 0), rest[0], size=9).get_extents().x1 * 25.4 / 72 if kind == "text" else x + rest[0] if kind == "box" else x
        assert 0 <= x and right <= protocol_sheets.WIDE and 0 <= y <= protocol_sheets.HIGH, (kind, x, y, rest)


def test_what_a_protocol_teaches_is_known_to_the_kit():
    from kit.measured import KINDS
    keys = DEMO.keys
    for each in protocols.protocols().values():
        about, _, what = each.teaches.partition(" ")
        assert about in ("log", "key", "hold", "drill") and (about != "log" or what in KINDS) and (about != "key" or what in keys), each
        if about == "log":   # what is written down are columns of the log
            assert "bench_log.csv" in each.read_by


OPERATION = {"pull": "drill", "strokes": "ream", "torque": "ream", "lap-mass": "lap", "lap-plug": "lap", "fall": "test", "oversize": "ream"}
READ = {   # what an afternoon may read (invented), by the column that the sheet names
    "minutes": "10", "strokes": "480", "pull_most_N": "31", "diameter_mm": "4.9", "stock_mm": "0.45", "torque_Nm": "0.21",
    "mass_before_g": "5.28", "mass_after_g": "5.03", "pressure_kPa": "30", "clearance_um": "17", "passes_mm": "4.91", "stops_mm": "4.92"}
TAUGHT = {name: protocols.protocol(name).teaches.removeprefix("log ") for name in OPERATION} | {"oversize": "bore"}


def readings_of(name):
    """{column: what is typed} of every column that the sheet has lines for."""
    lapped = OPERATION[name] == "lap"
    found = {column: READ.get(column) for _, column in protocols.protocol(name).columns if column}
    return found | ({"tool": "emery, fine" if lapped else "half-round bit"} if "tool" in found else {}) | (
        {"minutes": "60", "stock_mm": "0.012"} if lapped and "stock_mm" in found else {"minutes": "60"} if lapped else {})


def test_every_sheet_that_is_typed_into_the_log_is_followed():
    assert set(OPERATION) == {name for name, each in protocols.protocols().items() if "bench_log.csv" in each.read_by}
    assert all(any(column for _, column in protocols.protocol(name).columns) for name in OPERATION)


@pytest.mark.parametrize("name", OPERATION)
def test_whoever_follows_a_sheet_fills_a_log_that_the_kit_reads(name, tmp_path):
    """The sheet alone: the cells that it names, the operation that it says, and who, when, what every row has."""
    each = protocols.protocol(name)
    assert OPERATION[name] in each.read_by or "any step" in each.read_by
    rows = [{"trial": n, "date": "2026-06-01", "tube": "lamp-oil barrel" if name == "fall" else "hours", "step": f"{name} {n}", "operator": "A",
             "operation": OPERATION[name], "outcome": "success", "counted": "yes", "substitute": "no"} | readings_of(name)
            for n in range(1, each.repeats + 1)]
    columns = [field["name"] for field in bench.schema()["fields"]]
    path = tmp_path / "bench_log.csv"
    path.write_text("\n".join([",".join(columns), *(",".join(f'"{row.get(c, "")}"' for c in columns) for row in rows)]))
    log = bench.read(path)
    assert log.faults == ()
    measured, = (m for m in log.measurements(DEMO) if m.kind == TAUGHT[name])
    assert len(measured.value) == each.repeats
    table = log.compare(DEMO, draws=2**9)
    assert set(table["quantity"]) >= {TAUGHT[name]} and bench.STEP_TIME not in set(table["quantity"])


@pytest.mark.parametrize("name", OPERATION)
def test_kit_log_takes_what_a_sheet_reads(name, tmp_path):
    """The same, typed step by step as `kit log --read` takes it."""
    file, typed = benchlog.BenchFile(tmp_path / "bench_log.csv"), readings_of(name)
    tube = "lamp-oil barrel" if name == "fall" else "hours"
    step = next(s for s in STEPS if s.tube == tube and s.operation == OPERATION[name])
    given = {column: value for column, value in typed.items() if column in step.columns}
    assert set(typed) - set(given) <= {"tool", "diameter_mm", "stock_mm"}   # the route gives these
    for trial in (1, 2, 3):
        file.add(step, given, "A", trial=trial)
    log = bench.read(file.path)
    assert not log.faults and TAUGHT[name] in {m.kind for m in log.measurements(DEMO)}


def test_readings_of_one_own_assumption_narrow_it():
    before, mine = DEMO.register.loc["hand.pinch"], bench.own_lathe(DEMO, **{"hand.pinch": [f"{x} N" for x in (3, 4, 5, 4, 3.5, 4.4)]})
    after = mine.register.loc["hand.pinch"]
    assert after["grade"] == "own-trial" and after["high_95"] / after["low_5"] < before["high_95"] / before["low_5"]
    assert after["low_5"] < 4 < after["high_95"] and "6 readings" in after["note"]
    with pytest.raises(bench.BenchError, match="did you mean 'hand.pinch'"):
        bench.own_lathe(DEMO, **{"hand.pinc": ["3 N", "4 N"]})


def test_stock_lapped_by_plugs_is_the_depth_that_the_mass_says():
    """Two ways to read the same thing: on the demo's draws the one follows from the other by density and area."""
    from kit import next_trials
    (_, by_mass), *_ = next_trials.imagined(DEMO, "mass lost", 1)
    (_, by_plug), *_ = next_trials.imagined(DEMO, "stock lapped", 1)
    values = DEMO.draws(2**6, 1)
    tube = DEMO.tubes[0]
    area = 3.14159265 * tube.bore.m_as("cm") * tube.length.m_as("cm")
    assert by_mass.predict(values)[0] == pytest.approx(
        by_plug.predict(values)[0] / 2 * 1e-4 * area * values["alloy.density"].m_as("g/cm^3"), rel=1e-6)


def test_sheets_are_not_written_over(tmp_path):
    first = protocol_sheets.write(tmp_path, ["pull", "fall"])
    assert [path.name for path in first] == ["protocol-pull.pdf", "protocol-fall.pdf"]
    with pytest.raises(FileExistsError, match="nothing was written; .*--overwrite"):
        protocol_sheets.write(tmp_path)
    assert len(list(tmp_path.iterdir())) == 2
    with pytest.raises(tables.TableError, match="did you mean 'pinch'"):
        protocol_sheets.write(tmp_path, ["pinhc"])
