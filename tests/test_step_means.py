"""A step that has a drive, a pulley or a lubricant of its own: what it changes there, and that all else stays."""
from dataclasses import replace

import numpy as np
import pytest

from kit import settle, study
from kit.outcomes import cases_of
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 128


@pytest.fixture(scope="module")
def hours():
    demo = study.load(study.DEMO)
    return demo.only(demo.tubes[0].name)


def case_of(plan, first=None, way=settle.PLANNED, **more):
    """The tube with keys added to its first step, or to those of an operation."""
    steps = [step | more if (n == 0 if first is None else step["operation"] == first) else step
             for n, step in enumerate(plan.routes[plan.tubes[0].route])]
    plan = replace(plan, routes=plan.routes | {plan.tubes[0].route: steps})
    return cases_of(plan, plan.draws(N, 1), way)[0]


def test_a_step_s_own_drive_gives_its_own_torque_and_rate_and_only_there(hours):
    case = case_of(hours, lathe="drill bow", pulley=Q(12, "mm"))
    bow, lathe = case.done("drill")   # two drives: no longer side by side
    assert bow.means.workshop.pulley == Q(12, "mm") and lathe.means.workshop.pulley == hours.workshop.pulley
    assert np.median(bow.means.turning_rate.m) != np.median(lathe.means.turning_rate.m)
    np.testing.assert_array_equal(bow.means["drive.stroke_length"].m, case.means["drive.drill bow.stroke_length"].m)
    np.testing.assert_array_equal(lathe.means["drive.stroke_length"].m, case.means["drive.stroke_length"].m)
    plain = case_of(hours)
    assert plain.done("ream")[0].means.workshop == case.done("ream")[0].means.workshop


def test_a_larger_pulley_for_a_step_gives_it_more_torque_and_fewer_turns(hours):
    small, large = (case_of(hours, pulley=Q(d, "mm")).done("drill")[0].means for d in (20, 60))
    assert np.all(large.steady_torque.m > small.steady_torque.m)
    np.testing.assert_allclose(small.turning_rate.m / large.turning_rate.m, 3)


def test_what_a_step_s_own_means_rest_on_is_noted(hours):
    case = case_of(hours, lathe="drill bow")
    case.used = set()
    case.asked("drilling torque")
    assert "drive.drill bow.pull_one_minute" in case.used and "drive.pull_one_minute" in case.used   # the second drill's


def test_dry_reaming_rubs_harder_and_drilling_does_not_know(hours):
    oiled, dry = (case_of(hours, "ream", lubricant=word) for word in ("oiled", "dry"))
    pairs = [(a.torque_at(a.setting).m, b.torque_at(a.setting).m) for a, b in zip(oiled.done("ream"), dry.done("ream"))]
    assert all(np.median(b / a) > 1.01 for a, b in pairs)
    assert dry.done("ream")[0].means["guide.friction"] is dry.means["guide.dry.friction"]


@pytest.mark.parametrize("key, value, said", [("lathe", "drill bough", "drill bow"), ("lubricant", "water", "oiled"), ("pulley", "3 kg", "mm")])
def test_a_word_that_is_none_is_told_with_its_line(tmp_path, key, value, said):
    text = (study.DEMO / "study.toml").read_text(encoding="utf-8").replace('operation = "ream"\n', f'operation = "ream"\n{key} = "{value}"\n', 1)
    (tmp_path / "study.toml").write_text(text.partition("# --- on record")[0], encoding="utf-8")
    with pytest.raises(study.StudyError, match=said) as fault:
        study.load(tmp_path)
    assert "line" in str(fault.value)
