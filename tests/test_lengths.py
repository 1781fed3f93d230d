"""Tubes with a shoulder: lengths of another bore or outside, the steps that make them, and what is told where none does."""
import shutil
from dataclasses import replace

import numpy as np
import pytest

from kit import criteria, drawings, instructions, study, tables
from kit.operations import part as kit_part
from kit.outcomes import cases_of
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N, PUMP = 128, tables.DATA / "dosing-pump"
COLLAR = '[[part.barrels.lengths]]\nlength = "6 mm"\noutside = "38 mm"\nend = "near"\n\n'
OUTLET = '[[part.barrels.lengths]]\nlength = "12 mm"\nbore = "8 mm"\n\n'
SOLID = ('core = "21.5 mm"                      # hole that the core leaves in the casting\n', "")
DRILL = '[[routes.barrel]]\noperation = "drill"\ntool = "flat drill"\nto = "{0}"\nfeed = "0.02 mm"\n{1}\n\n'
TURN = '[[routes.barrel]]\noperation = "turn"\nto = "{0}"\ndepth = "0.2 mm"\nfeed = "0.08 mm"\nheld_by = "rosin with brick dust"\n{1}\n\n'
WHOLE_TURN = '[[routes.barrel]]\noperation = "turn"\nto = "outside"\ndepth = "0.2 mm"\nfeed = "0.08 mm"\nheld_by = "rosin with brick dust"\n\n'


@pytest.fixture
def pump(tmp_path):
    """The pump with texts of its study.toml changed: its folder. lengths: put under its barrel."""
    def write(lengths, *changes):
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        shutil.copytree(PUMP, folder)
        text = (folder / "study.toml").read_text(encoding="utf-8")
        for old, new in (("# --- how the finished part", lengths + "# --- how the finished part"), *changes):
            assert text.count(old) == 1, (old, text.count(old))
            text = text.replace(old, new)
        (folder / "study.toml").write_text(text, encoding="utf-8")
        return folder
    return write


def case_of(plan):
    [case] = cases_of(plan, plan.draws(N, 1), "planned")
    return case


def collared(pump, over='over = "89 mm"'):
    return pump(COLLAR, (WHOLE_TURN, TURN.format("38 mm", "") + TURN.format("outside", over)))


def bored(pump, *order):
    """The barrel from solid, its outlet drilled through before the wide bore, or beyond it afterwards."""
    through = {"through first": DRILL.format("8 mm", "") + DRILL.format("21.5 mm", 'over = "83 mm"'),
               "wide first": DRILL.format("21.5 mm", 'over = "83 mm"') + DRILL.format("8 mm", 'over = "12 mm"')}[order[0]]
    tool = ('[tools."half-round bit"]\n', '[tools."flat drill"]\nkind = "two-lip drill"\npoint = "flat drill, stoned thin"\n\n[tools."half-round bit"]\n')
    text = (PUMP / "study.toml").read_text(encoding="utf-8")
    route = text[text.index("[[routes.barrel]]"):text.index("# --- on record")]
    cut = route.replace('to = "bore - 0.3 mm"\n', 'to = "bore - 0.3 mm"\nover = "83 mm"\n').replace('to = "bore"\n', 'to = "bore"\nover = "83 mm"\n').replace(
        'abrasive = "emery, fine"\n', 'abrasive = "emery, fine"\nover = "83 mm"\n')
    return pump(OUTLET, SOLID, tool, (route, through + cut))


# --- what is made ----------------------------------------------------------------------------------------------------------

def test_a_collar_is_left_standing_and_costs_the_blank_its_size(pump):
    plan = study.load(collared(pump))
    first, second = (step for step in plan.steps(plan.tubes[0]) if step.operation == "turn")
    assert first.before == Q(38, "mm") + plan.workshop.blank_stock and (second.before, second.over) == (Q(38, "mm"), Q(89, "mm"))
    case, plain = case_of(plan), case_of(study.load(PUMP))
    collar, rest = case.done("turn")
    assert collar.worked == Q(95, "mm") and rest.worked == Q(89, "mm")
    np.testing.assert_allclose(rest.working[0].m / rest.cuts[0] / (collar.working[0].m / collar.cuts[0]), 89 / 95)   # one feed
    assert np.median(rest.torque.m / collar.torque.m) == pytest.approx(38 / 41)   # each at its own radius; the edge mostly dulls alike
    by_hand = np.pi / 4 * ((29**2 - 24**2) * 89 + (38**2 - 24**2) * 6)
    assert case.tube.volume.m_as("mm^3") == pytest.approx(by_hand) and case.metal > 1.5 * plain.metal
    found = criteria.least_wall(case)
    assert found.places == ("the rest", "38 mm outside")
    rest, at_collar = np.median(found.capacity.m_as("mm"), axis=1)
    assert at_collar == pytest.approx(rest + 4.5)   # one bore, off by as much in both


def test_each_length_has_a_wall_of_its_own_and_the_least_counts(pump):
    thin = '[[part.barrels.lengths]]\nlength = "5 mm"\noutside = "25 mm"\n\n'
    plan = study.load(pump(thin, (WHOLE_TURN, WHOLE_TURN + TURN.format("25 mm", 'over = "5 mm"'))))
    steps = plan.steps(plan.tubes[0])
    spigot = next(step for step in steps if step.diameter == Q(25, "mm"))
    assert spigot.aside and spigot.before == Q(29, "mm")
    verdict, plain = (each.assess(draws=N) for each in (plan, study.load(PUMP)))
    for criterion in ("least wall", "wall: twist"):
        line, before = (next(each for each in v.lines if each.criterion == criterion) for v in (verdict, plain))
        assert line.where == "25 mm outside" and np.median(line.margin) < 0.4 * np.median(before.margin), criterion
    assert case_of(plan).state.outside == case_of(study.load(PUMP)).state.outside   # what runs in it meets the rest
    assert instructions.cautions(plan)["shoulder"] and "shoulder" not in instructions.cautions(study.load(PUMP))


def test_a_narrow_end_is_drilled_before_the_wide_bore_or_after_it(pump):
    through, wide = (study.load(bored(pump, order)) for order in ("through first", "wide first"))
    first, then = ([(s.name, s.before.m, s.over, s.aside) for s in plan.steps(plan.tubes[0]) if s.operation == "drill"] for plan in (through, wide))
    assert first == [("flat drill to 8.00 mm", 0, None, False), ("flat drill to 21.50 mm", 8, Q(83, "mm"), False)]
    assert then == [("flat drill to 21.50 mm", 0, Q(83, "mm"), False), ("flat drill to 8.00 mm", 0, Q(12, "mm"), True)]
    a, b = case_of(through), case_of(wide)
    for case in (a, b):
        assert case.state.hole == Q(24, "mm")
        narrow = next(each for each in case.done("drill") if each.step.diameter == Q(8, "mm"))
        assert narrow.worked == (Q(95, "mm") if case is a else Q(12, "mm"))
        assert np.all(case.lost_of(case.tube.lengths[0]) >= narrow.leaves.wander)   # its own way off the axis counts in its wall
    assert np.median(b.done("drill")[0].torque.m) > 1.1 * np.median(a.done("drill")[1].torque.m)   # from solid, and not opened from 8 mm


def test_the_drawing_shows_the_shoulders(pump):
    said = drawings.long_section(study.load(collared(pump)))
    assert "6.00 mm of it 38 mm outside" in said.alt


# --- what cannot be made -----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("lengths, changes, said", [
    (COLLAR, (), "no step makes the 6 mm of outside 38 mm; write one to \"38 mm\", before the step to 'outside'"),
    (COLLAR, ((WHOLE_TURN, TURN.format("38 mm", "") + WHOLE_TURN),), "turn to 29.00 mm would work the 6 mm of 38 mm as well; say with 'over'"),
    (COLLAR, ((WHOLE_TURN, TURN.format("38 mm", "") + TURN.format("outside", 'over = "99 mm"')),), r"step 4 \(turn\): it works 99 mm, and the tube is 95 mm"),
    (COLLAR.replace("6 mm", "95 mm"), (), "its lengths are 95 mm together, and the whole is 95 mm"),
    (COLLAR.replace('outside = "38 mm"\n', ""), (), "neither a bore nor an outside of its own"),
    (COLLAR.replace("38 mm", "20 mm"), (), "has a bore of 24 mm in an outside of 20 mm"),
    (OUTLET, (), "has a bore of 8 mm, and the core leaves a hole of 21.5 mm"),
    (COLLAR.replace("length =", "lenght ="), (), r"study.toml, line \d+.*unknown key 'lenght' in \[part.barrels.lengths, number 1\]; did you mean 'length'")])
def test_a_shoulder_that_nothing_makes_is_told_with_its_remedy(pump, lengths, changes, said):
    with pytest.raises(study.StudyError, match=said):
        study.load(pump(lengths, *changes))


HOURS, TIDE = 'name = "hours"\nlength = "90 mm"\n', 'name = "tide"\nlength = "80 mm"\n'
UNDER = '[[part.sleeves.lengths]]\nlength = "{0}"\n{1}\n'


def told_of_a_nest(tmp_path, *changes):
    """What is told of the demo with lengths under its sleeves: (sleeve's text, length, its size)."""
    shutil.copytree(study.DEMO, tmp_path / "nest", dirs_exist_ok=True)
    path = tmp_path / "nest" / "study.toml"
    text = path.read_text(encoding="utf-8")
    for sleeve, length, size in changes:
        assert text.count(sleeve) == 1
        text = text.replace(sleeve, sleeve + UNDER.format(length, size))
    path.write_text(text, encoding="utf-8")
    with pytest.raises(study.StudyError) as fault:
        study.load(tmp_path / "nest")
    return str(fault.value)


def test_a_collar_stands_clear_of_the_sleeve_that_runs_over_it(tmp_path):
    """90 mm of hours under 80 mm of tide: ten may stand out. What makes the collar is told where nothing is in the way."""
    said = told_of_a_nest(tmp_path / "a", (HOURS, "12 mm", 'outside = "8 mm"'))
    assert "'hours': what stands out on it leaves 78 mm free, and the sleeve 'tide'" in said and "runs over 80 mm of it" in said
    assert "no step makes" in told_of_a_nest(tmp_path / "b", (HOURS, "9 mm", 'outside = "8 mm"'))


def test_a_neck_lets_the_sleeve_inside_through(tmp_path):
    said = told_of_a_nest(tmp_path / "a", (TIDE, "5 mm", 'bore = "5.5 mm"'))
    assert "does not pass the length of bore 5.5 mm of the sleeve 'tide'" in said
    assert "no step makes" in told_of_a_nest(tmp_path / "b", (TIDE, "5 mm", 'bore = "5.5 mm"'), (HOURS, "5 mm", 'outside = "5.4 mm"'))


def test_the_nest_is_drawn_with_its_collars_and_what_runs_over_begins_clear_of_them():
    from kit.publish import pair_drawings
    plain = study.load().tubes[:3]
    collar = kit_part.Length(length=Q(6, "mm"), outside=Q(8, "mm"), end="near")
    assert pair_drawings._starts(plain) == [0, 0, 0]
    assert pair_drawings._starts([replace(plain[0], lengths=(collar,)), *plain[1:]]) == [0, 6, 6]
    low = replace(collar, outside=Q(5.5, "mm"))   # no collar: it goes into the next bore
    assert pair_drawings._starts([replace(plain[0], lengths=(low,)), *plain[1:]]) == [0, 0, 0]
