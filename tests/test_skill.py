"""Skill: curves as their authors have them, intervals that hold the truth, what a log shows, photographs filed with a trial."""
from types import SimpleNamespace

import numpy as np
import pytest

from kit import bench, learning, skill, study

DEMO = study.load(study.DEMO)


@pytest.mark.parametrize("rate, exponent", [(0.95, 0.074), (0.9, 0.152), (0.85, 0.234), (0.8, 0.322), (0.75, 0.415), (0.7, 0.515)])
def test_exponents_of_the_power_law(rate, exponent):
    """T. P. Wright's law; the exponents from memory, believed to be in every table of learning curves."""
    for n in (2, 10, 50):
        assert learning.wright(1, n, rate) == pytest.approx(n**-exponent, abs=0.002)
    assert learning.wright(7, 4, rate) == pytest.approx(7 * rate**2)   # two doublings


def test_a_floor_stays_and_without_it_the_laws_are_one():
    assert learning.de_jong(10, 1e9, 0.322, 0.25) == pytest.approx(2.5, rel=0.01)
    assert learning.de_jong(10, 6, -np.log2(0.8), 0) == pytest.approx(learning.wright(10, 6, 0.8))
    for wrong in (lambda: learning.wright(1, 0, 0.8), lambda: learning.wright(1, 2, 1.2), lambda: learning.de_jong(1, 2, 0.3, 1.5)):
        with pytest.raises(ValueError):
            wrong()


def test_nine_in_ten_intervals_of_the_next_piece_hold_it():
    """Makers drawn from what is believed of hand work, six tubes each: the seventh lies in its interval as often as it says."""
    rng, held, n, strays = np.random.default_rng(5), [], np.arange(1, 8), learning.believed("scatter")
    for _ in range(80):
        rate, floor = (rng.triangular(*ends) for ends in learning.believed("time").values())
        scatter = strays["median"] * np.exp(strays["spread"] * rng.standard_normal())
        t = learning.de_jong(40.0, n, -np.log2(rate), floor) * np.exp(scatter * rng.standard_normal(7))
        low, _, high = learning.learnt(t[:6]).following
        held.append(low <= t[6] <= high)
    assert 0.82 <= np.mean(held) <= 0.97   # 0.9 with the scatter of 80


def test_six_tubes_say_little_of_the_rate_and_sixty_say_more():
    t = learning.de_jong(40.0, np.arange(1, 61), 0.4, 0.2) * np.exp(0.15 * np.random.default_rng(1).standard_normal(60))
    few, many = learning.learnt(t[:6]), learning.learnt(t)
    spread = [x.ratio[2] / x.ratio[0] for x in (few, many)]
    assert spread[0] > spread[1] and few.rate[2] - few.rate[0] > 0.1
    assert many.first[0] < 40 < many.first[2] and many.practised[0] < 40 * (0.2 + 0.8 * 1000**-0.4) < many.practised[2]
    assert few.ratio[0] >= 1 and many.fell > 0.9


def test_a_piece_that_failed_or_was_not_timed_is_practice_all_the_same():
    """Times along a curve whose first piece took 40 min: those after twenty spoilt pieces are the end of it, not its beginning."""
    t = list(learning.de_jong(40.0, np.arange(21, 41), 0.4, 0.2) * np.exp(0.1 * np.random.default_rng(1).standard_normal(20)))
    spoilt, cut = learning.learnt([None] * 20 + t), learning.learnt(t)
    assert spoilt.trials == cut.trials == 20 and cut.first[2] < 40
    assert spoilt.first[0] < 40 < spoilt.first[2] and spoilt.following[1] == pytest.approx(t[-1], rel=0.25)


def test_the_log_hands_over_every_piece_in_order():
    def row(trial, minutes, outcome="success"):
        return {"operator": "A", "operation": "ream", "tool": "bit", "substitute": "no", "date": 1, "trial": trial, "line": trial, "minutes": minutes, "outcome": outcome}

    log = SimpleNamespace(counted=[row(1, 30.0), row(2, 3.0, "fail"), row(3, None), row(4, 20.0)])
    made, = skill.skills(log)
    assert made.times == learning.learnt([30.0, None, None, 20.0]) and made.failing.failed == 1


def test_failures_fall_with_practice_only_where_trials_show_it():
    early, late = learning.failures([True] * 3 + [False] * 9), learning.failures([False] * 6 + [True] * 6)
    never = learning.failures([False] * 12)
    assert never.following[1] < early.following[1] < late.following[1] - 0.05 and early.first[1] > early.following[1]
    none = learning.failures([False])
    assert none.first[0] < none.first[1] < none.first[2] and none.failed == 0
    for what in (lambda: learning.failures([]), lambda: learning.learnt([3]), lambda: learning.learnt([3, 0]), lambda: learning.learnt([3, np.nan])):
        with pytest.raises(ValueError):
            what()


def test_the_log_of_the_demo_in_order():
    log = bench.read(DEMO.folder / "bench_log.csv")
    found = skill.skills(log)
    drilled = next(each for each in found if each.operation == "drill" and each.operator == "A")
    rows = [r for r in log.counted if r["operator"] == "A" and r["operation"] == "drill" and r["substitute"] == "no"]
    assert len(drilled.trials) == len(rows) and drilled.failing.failed == sum(r["outcome"] == "fail" for r in rows)
    assert [n for n, *_ in drilled.trials] == sorted(n for n, *_ in drilled.trials)
    assert "An assumption, not a finding" in drilled.said and "nan" not in skill.table(found).to_string()


PICTURES = """file,trial,step,scale,shows,tool_mark,by,licence
photographs/bore.png,1,drill 2.50,ruler in mm beside it,spiral marks in the bore,flat drill,A,CC-BY-4.0
photographs/gone.png,1,,none,nothing,,A,
../outside.png,1,,none,nothing,,A,
study.toml,1,,none,nothing,,A,
photographs/other.png,99,,coin of 20 mm,an edge,,A,
photographs/bore.png,1,,ruler,again,,A,
"""


def test_photographs_are_listed_and_what_is_not_there_is_told(tmp_path):
    (tmp_path / "photographs").mkdir()
    for name in ("photographs/bore.png", "photographs/other.png", "../outside.png"):
        (tmp_path / name).write_bytes(b"\x89PNG invented")
    (tmp_path / "study.toml").write_text("invented = true")
    (tmp_path / "photographs.csv").write_text(PICTURES)
    log = bench.read(DEMO.folder / "bench_log.csv")
    found = skill.photographs(tmp_path, log)
    assert [row["file"] for row in found.rows] == ["photographs/bore.png"] and len(found.faults) == 5
    told = " ".join(found.faults)
    assert all(said in told for said in ("'photographs/gone.png' is no file", "'../outside.png' is no file", "'study.toml' is no picture", "no trial 99", "stands already"))
    from kit import writeup_tables
    sheet = writeup_tables._photographs(SimpleNamespace(photographs=found))
    assert "spiral marks in the bore" in sheet.print_.to_string() and "tool mark" in sheet.print_.columns
    assert skill.photographs(tmp_path / "photographs") == skill.Photographs()


@pytest.mark.long
def test_photographs_and_skill_are_in_the_write_up_and_its_archive(tmp_path):
    import shutil
    import zipfile
    from kit import writeup
    folder = tmp_path / "mine"
    shutil.copytree(study.DEMO, folder)
    (folder / "photographs").mkdir()
    (folder / "photographs" / "bore.png").write_bytes(b"\x89PNG invented")
    (folder / "photographs.csv").write_text("\n".join(PICTURES.splitlines()[:2]) + "\n")
    made = writeup.bundle(study.load(folder), tmp_path / "out", draws=2**7, widths=(90,), formats=("svg",), only=["part"])
    assert "spiral marks in the bore" in (made / "report.html").read_text(encoding="utf-8")
    assert (made / "tables" / "skill.csv").exists()
    with zipfile.ZipFile(made / "archive.zip") as packed:
        assert any(name.endswith("study/photographs/bore.png") for name in packed.namelist())
