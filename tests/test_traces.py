"""kit.traces: sections and profiles with known lobes and roughness are found again; what cannot be read is told with its place."""
import csv

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import contributed, study, tables, traces
from kit.study import StudyError

TURN = np.arange(0, 360, 2.0)


def table(path, **columns):
    path.write_text("\n".join([",".join(columns), *(",".join(f"{v:.9g}" for v in row) for row in zip(*columns.values()))]) + "\n", encoding="utf-8")
    return path


def waved(turn, *waves):
    return sum(height * np.cos(number * np.radians(turn) + 0.3 * number) for number, height in waves)


# --- sections -------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("turn", [TURN, np.sort(np.random.default_rng(1).uniform(0, 360, 400))], ids=["even", "uneven"])
def test_known_lobes_are_found_again_off_centre(tmp_path, turn):
    height = waved(turn, (2, 3.0), (3, 1.5), (7, 0.4))
    off = waved(turn, (1, 25.0))   # the part lies 25 um off the spindle
    by_height = traces.section(table(tmp_path / "a.csv", angle_deg=turn, deviation_um=height + off + 4), error="0.2 um")
    by_radius = traces.section(table(tmp_path / "b.csv", angle_deg=turn, radius_mm=6 + (height + off) / 1e3), error="0.2 um")
    for found in (by_height, by_radius):
        assert found.lobes.m[[2, 3, 7]] == pytest.approx([3.0, 1.5, 0.4], abs=0.05) and found.lobes.m[[4, 5, 9]] == pytest.approx(0, abs=0.05)
        assert found.out_of_round.m == pytest.approx(np.ptp(height), abs=0.15)
        assert found.error.m == pytest.approx(0.2 * np.sqrt(2)) and found.readings == len(turn)
    assert by_height.said.startswith("a.csv: out of round by ") and "has 2 lobes, 3.0 µm high" in by_height.said


@given(st.floats(0.1, 10), st.floats(0, 6), st.integers(2, 10))
def test_twice_the_lobes_twice_out_of_round(tmp_path_factory, height, phase, number):
    folder = tmp_path_factory.mktemp("s")
    one, two = (traces.section(table(folder / f"{k}.csv", angle_deg=TURN, deviation_um=k * height * np.cos(number * np.radians(TURN) + phase)), "0.1 um")
                for k in (1, 2))
    assert two.out_of_round.m == pytest.approx(2 * one.out_of_round.m, rel=1e-4) and two.lobes.m[number] == pytest.approx(2 * height, rel=1e-4)


@pytest.mark.parametrize("columns, said", [
    (dict(angle_deg=TURN[:90], deviation_um=TURN[:90]), "column 'angle_deg': 182° without a reading after 178°"),
    (dict(angle_deg=np.radians(TURN), deviation_um=TURN), "are the angles in degrees"),
    (dict(angle_deg=TURN[::6], deviation_um=TURN[::6]), "30 readings round; 36 or more"),
    (dict(angle_deg=TURN), "line 2: it holds neither radius_mm nor deviation_um"),
    (dict(angle_deg=TURN, radius_mm=TURN, deviation_um=TURN), "line 2: it holds radius_mm and deviation_um")])
def test_a_section_that_is_none_is_told(tmp_path, columns, said):
    with pytest.raises((StudyError, tables.TableError), match="(?i)" + said.replace("(", r"\(")):
        traces.section(table(tmp_path / "s.csv", **columns), error="0.2 um")


def test_a_reading_without_its_error_or_that_is_no_number_is_told(tmp_path):
    path = table(tmp_path / "s.csv", angle_deg=TURN, deviation_um=TURN)
    with pytest.raises(TypeError, match="error"):
        traces.section(path, error=0.2)
    path.write_text(path.read_text().replace("\n4,4\n", "\n4,four\n"))
    with pytest.raises(tables.TableError, match="line 4.*deviation_um"):
        traces.section(path, error="0.2 um")


def test_what_it_says_goes_into_a_study_by_the_table_of_readings(tmp_path):
    """Three sections of reamed holes, filled in beside who, where and when: the study's own row comes nearer to them."""
    key, about = "form.fluted reamer.out_of_round", {"workshop": "Quay (invented)", "place": "invented", "operator": "A", "date": "2026-04-02",
                                                     "protocol": "", "licence": "CC-BY-4.0", "remark": "invented"}
    rows = [about | {"conditions": f"bronze, 5 mm, hole {n}"} | traces.section(table(tmp_path / f"{n}.csv", angle_deg=TURN, deviation_um=waved(TURN, (2, 1.2), (3, 0.1 * n))), "0.2 um").reading(key)
            for n in range(3)]
    path = tmp_path / "readings.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [field["name"] for field in tables.shared_schema("contributed.schema.json")["fields"]])
        writer.writeheader()
        writer.writerows(rows)
    demo, read = study.load(), contributed.read(path)
    assert read.faults == () and len(read.rows) == 3
    before, after = (plan.assumptions[f"{key}@hours"].quantile(0.5) if f"{key}@hours" in plan.assumptions else plan.assumptions[key].quantile(0.5)
                     for plan in (demo, read.update(demo)))
    assert 2.4 < after < before


# --- profiles -------------------------------------------------------------------------------------------------------------

X = np.arange(0, 6.4001, 0.002)


def test_half_of_a_wave_as_long_as_the_cutoff_passes(tmp_path):
    """ISO 16610-21, from memory: the filter passes half the amplitude at the cutoff. Ra of a cosine of height h is 2 h / pi, Rq h / sqrt 2."""
    found = traces.profile(table(tmp_path / "p.csv", x_mm=X, z_um=4 * np.cos(2 * np.pi * X / 0.8)), error="0.01 um")
    assert found.rq.m == pytest.approx(0.5 * 4 / np.sqrt(2), rel=0.01) and found.ra.m == pytest.approx(0.5 * 4 * 2 / np.pi, rel=0.01)


def test_short_waves_pass_and_long_ones_do_not(tmp_path):
    short, long = (traces.profile(table(tmp_path / f"{wave}.csv", x_mm=X, z_um=2 * np.sin(2 * np.pi * X / wave) + 3 * X), error="0.01 um") for wave in (0.05, 8.0))
    assert short.rz.m == pytest.approx(4, rel=0.02) and short.lengths == 5 and long.rz.m < 0.2
    assert short.said.startswith("0.05.csv: Rz 4.0 µm ± ") and "5 sampling lengths" in short.said


def test_a_random_surface_has_the_spread_it_was_given(tmp_path):
    heights = np.random.default_rng(2).normal(0, 0.5, len(X))   # no step like the next: nearly all of it is roughness
    found = traces.profile(table(tmp_path / "p.csv", x_mm=X, z_um=heights), error="0.01 um")
    assert found.rq.m == pytest.approx(0.5, rel=0.05) and found.ra.m == pytest.approx(0.5 * np.sqrt(2 / np.pi), rel=0.05)
    assert 2.5 < found.rz.m < 5 and found.error.m > 0.01


@pytest.mark.parametrize("x, given, said", [
    (np.r_[X[:50], X[60:]], {}, "line 52, column 'x_mm': the steps are uneven"),
    (X[::-1], {}, "the steps are uneven or go back"),
    (np.arange(0, 64.0, 0.05), {}, "steps of 50.0 µm are too coarse for a cutoff of 0.8 mm"),
    (X[:500], {}, "0.998 mm long, and two cutoffs of 0.8 mm are the least")])
def test_a_profile_that_is_none_is_told(tmp_path, x, given, said):
    with pytest.raises(StudyError, match=said):
        traces.profile(table(tmp_path / "p.csv", x_mm=x, z_um=0 * x), error="0.01 um", **given)
