"""Protocols: every sheet prints on one page with all that it needs, and whoever follows one fills a log that the kit reads."""
import io

import pytest
from pypdf import PdfReader

from kit import bench, protocol_sheets, protocols, study, tables

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
DEMO = study.load(study.DEMO)


@pytest.mark.parametrize("name", list(protocols.protocols()))
def test_a_sheet_is_one_page_and_says_all(name):
    each, pages = protocols.protocol(name), PdfReader(io.BytesIO(protocol_sheets.sheet(name))).pages
    text = " ".join(pages[0].extract_text().split())
    assert len(pages) == 1
    for said in (each.title, each.purpose, each.cautions, each.steps[0], each.steps[-1], "Needed", "Error to expect", "How the kit reads it"):
        assert " ".join(said.split()) in text, said
    assert len(each.steps) >= 4 and each.repeats >= 3
    assert protocol_sheets.sheet(name) == protocol_sheets.sheet(name)   # the same bytes each time


@pytest.mark.parametrize("name", list(protocols.protocols()))
def test_nothing_of_a_drawing_leaves_its_room(name):
    from reportlab.pdfbase.pdfmetrics import stringWidth
    from kit.paper import FONT, MM, fonts
    fonts()
    for kind, x, y, *rest in protocol_sheets.DRAWINGS[name]:
        right = x + stringWidth(rest[0], FONT, 9) / MM if kind == "text" else x + rest[0] if kind == "box" else x
        assert 0 <= x and right <= protocol_sheets.WIDE and 0 <= y <= protocol_sheets.HIGH, (kind, x, y, rest)


def test_what_a_protocol_teaches_is_known_to_the_kit():
    from kit.measured import KINDS
    keys = DEMO.keys
    for each in protocols.protocols().values():
        about, _, what = each.teaches.partition(" ")
        assert about in ("log", "key", "hold", "drill") and (about != "log" or what in KINDS) and (about != "key" or what in keys), each
        if about == "log":   # what is written down are columns of the log
            assert "bench_log.csv" in each.read_by


FOLLOWED = {   # what the last lines of a sheet hold after an afternoon (invented), as typed into the log
    "pull": {"operation": "drill", "minutes": 10, "pull_most_N": 31},
    "strokes": {"operation": "ream", "minutes": 10, "strokes": 480},
    "torque": {"operation": "ream", "tool": "half-round bit", "diameter_mm": 4.9, "stock_mm": 0.45, "strokes": 300, "torque_Nm": 0.21},
    "lap-mass": {"operation": "lap", "tool": "emery, fine", "minutes": 60, "mass_before_g": 5.28, "mass_after_g": 5.03, "pressure_kPa": 30},
    "lap-plug": {"operation": "lap", "tool": "emery, fine", "minutes": 60, "stock_mm": 0.012, "pressure_kPa": 30},
    "fall": {"operation": "test", "clearance_um": 17}}


@pytest.mark.parametrize("name", FOLLOWED)
def test_whoever_follows_a_sheet_fills_a_log_that_the_kit_reads(name, tmp_path):
    each = protocols.protocol(name)
    rows = [{"trial": n, "date": "2026-06-01", "tube": "lamp-oil barrel" if name == "fall" else "hours", "step": f"{name} {n}", "operator": "A",
             "outcome": "success", "counted": "yes", "substitute": "no"} | FOLLOWED[name] for n in range(1, each.repeats + 1)]
    columns = [field["name"] for field in bench.schema()["fields"]]
    path = tmp_path / "bench_log.csv"
    path.write_text("\n".join([",".join(columns), *(",".join(f'"{row.get(c, "")}"' for c in columns) for row in rows)]))
    log = bench.read(path)
    assert log.faults == ()
    kind = each.teaches.removeprefix("log ")
    measured, = (m for m in log.measurements(DEMO) if m.kind == kind)
    assert len(measured.value) == each.repeats
    table = log.compare(DEMO, draws=2**9)
    assert set(table["quantity"]) >= {kind}


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
