"""Parts as people make them: an alloy of a tube's own, fits by turning, draw tubes, packed plungers; and what is told where a part cannot be judged."""
import re
import shutil

import numpy as np
import pytest

from kit import claims, controls, newstudy, outcomes, study, support, tables
from kit.__main__ import main
from kit.study import StudyError
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
SIGHT, PUMP, COPPER = (tables.DATA / name for name in ("surveyors-sight", "dosing-pump", "copper-sleeves"))


@pytest.fixture
def changed(tmp_path):
    """A copy of a study with one text in study.toml changed: its folder."""
    def change(folder, old, new):
        made = tmp_path / "changed"
        shutil.copytree(folder, made)
        text = (made / "study.toml").read_text(encoding="utf-8")
        assert text.count(old) == 1, (old, text.count(old))
        (made / "study.toml").write_text(text.replace(old, new), encoding="utf-8")
        return made
    return change


def line(verdict, criterion, tube=None):
    return next(each for each in verdict.lines if each.criterion == criterion and tube in (None, each.tube))


# --- alloys -------------------------------------------------------------------------------------------------------------------------------

def test_a_tube_of_another_alloy_rests_on_rows_of_its_own_and_the_others_on_the_common_ones():
    sight = study.load(SIGHT)
    verdict = sight.assess(draws=64, criteria=("wall: twist", "tool hard enough"))
    eye, body = (line(verdict, "wall: twist", tube).used for tube in ("eye tube", "sight body"))
    assert "alloy.yield_strength" in eye and "alloy.leaded bronze, cast.yield_strength" in body and not eye & {k for k in body if k.startswith("alloy.")}
    assert "chip.leaded bronze, cast.hardness" in line(verdict, "tool hard enough", "sight body").used
    common = sight.with_(alloy="copper, annealed").assess(draws=64, criteria=("wall: twist", "tool hard enough"))
    for criterion in ("wall: twist", "tool hard enough"):
        assert np.array_equal(line(common, criterion, "sight body").margin, line(verdict, criterion, "sight body").margin)
        assert not np.array_equal(line(common, criterion, "eye tube").margin, line(verdict, criterion, "eye tube").margin)


def test_an_own_alloy_that_is_the_common_one_gives_the_numbers_of_the_common_one():
    """One melt: with the alloy's numbers pinned alike, its own rows and the common ones cannot differ."""
    sight = study.load(SIGHT)
    common, own = (sight.with_(**change).assess(draws=256) for change in ({"alloy": "leaded bronze, cast"}, {"sight body.alloy": "brass, annealed"}))
    assert common.chances.keys() == own.chances.keys()
    strong, weak = (sight.with_(**{"alloy.leaded bronze, cast.yield_strength": y}).assess(draws=64, criteria=("wall: push",)) for y in ("300 MPa", "30 MPa"))
    assert (line(strong, "wall: push", "sight body").capacity > line(weak, "wall: push", "sight body").capacity).all()


def test_an_alloy_without_data_is_told_with_its_place(changed):
    [fault] = study.faults(changed(SIGHT, 'alloy = "leaded bronze, cast"', 'alloy = "pewter"'))
    assert re.search(r"study.toml, line \d+, alloy: the table 'alloys' has nothing on 'pewter'; known: 'tin bronze, cast'", fault)


# --- fits -------------------------------------------------------------------------------------------------------------------------------

def test_a_fit_by_turning_has_the_clearance_wanted_and_what_the_maker_cannot_tell():
    verdict = study.load(SIGHT).assess(draws=256, criteria=("clearance left",))
    told = verdict.draws["told.difference@sight body"].m_as("um")
    assert line(verdict, "clearance left").demand == pytest.approx(100 + told)
    blunt = study.load(SIGHT).with_(told_by="finger and eye").assess(draws=256, criteria=("clearance left",))
    assert blunt.chance < 0.5 < verdict.chance   # 40 to 150 um are not told by eye, and 60 are allowed


def test_a_shaft_left_under_size_leaves_the_laps_the_rest_of_the_clearance_and_no_more():
    """Left 90 um small of a clearance of 100 um, 10 um are lapped besides the form: as much as a clearance of 10 um of a shaft left at the bore's size."""
    made = study.load().only("hours").with_(clearance="10 um", left_on="0 um")
    wide = study.load().only("hours").with_(clearance="100 um", left_on="-90 um")
    asked = [line(each.assess(draws=64, criteria=("lapping stock",)), "lapping stock").typical[0] for each in (made, wide)]
    whole = line(study.load().only("hours").with_(clearance="100 um", left_on="0 um").assess(draws=64, criteria=("lapping stock",)), "lapping stock").typical[0]
    assert asked[1] == pytest.approx(asked[0], rel=0.3) and whole > asked[1] + 60


def test_a_shaft_left_smaller_than_its_clearance_leaves_nothing_to_lap(changed):
    [fault] = study.faults(changed(study.DEMO, 'left_on = "10 um"', 'left_on = "-20 um"'))
    assert re.search(r"study.toml, line \d+: what runs in 'hours' is left 20 µm under size, and its clearance is 15 µm: nothing is left to lap; leave it larger, or take the laps", fault)


def test_a_draw_tube_is_guided_over_what_stays_in_its_body():
    sight = study.load(SIGHT)
    for criterion, rises in (("pointer shake", False), ("jamming", True)):
        short, long = (line(sight.with_(**{"sight body.overlap": o}).assess(draws=64, criteria=(criterion,)), criterion) for o in ("30 mm", "60 mm"))
        assert np.allclose(long.capacity / long.demand, 2 * short.capacity / short.demand)   # both go with the length
    with pytest.raises(StudyError, match="'sight body': an overlap of 130 mm is more than its length of 120 mm"):
        sight.with_(**{"sight body.overlap": "130 mm"})


def test_nothing_is_asked_of_the_fit_of_a_bore_in_which_nothing_runs():
    verdict = study.load(SIGHT).assess(draws=16)
    of_fits = {"clearance left", "least running clearance", "told at the bench", "jamming"}
    assert not of_fits & {each.criterion for each in verdict.lines if each.tube == "eye tube"}
    assert of_fits <= {each.criterion for each in verdict.lines if each.tube == "sight body"}


# --- what is asked of the finished part -------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("folder, asked, not_asked", [
    (SIGHT, {"jamming", "pointer shake", "labour", "clearance left"}, {"running", "nest stray", "packing: leak", "plunger: hold"}),
    (PUMP, {"packing: push", "packing: leak", "packing: follows the bore", "bore smooth", "labour"}, {"running", "jamming", "pointer shake", "plunger: hold", "plunger: slide", "packing: tight"}),
    (COPPER, {"jamming", "clearance left", "labour"}, {"running", "pointer shake", "lapping stock", "packing: push"})])
def test_a_part_is_asked_for_what_it_is_used_for_and_for_nothing_else(folder, asked, not_asked):
    names = set(study.load(folder).assess(draws=16).chances)
    assert asked <= names and not not_asked & names


def test_a_criterion_half_given_is_told_with_what_it_needs(changed):
    [fault] = study.faults(changed(SIGHT, 'tip_play = "0.4 mm"', '# tip_play = "0.4 mm"'))
    assert re.search(r"study.toml, line \d+, \[use\]: 'tip_play' is missing; add it there, for 'pointer shake'$", fault)


def test_a_use_that_leaves_nothing_to_judge_is_told_with_the_keys_that_would(changed):
    folder = changed(COPPER, 'push_arm = "3 mm"', '# push_arm = "3 mm"')
    text = (folder / "study.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text(re.sub(r"(?m)^(clearance_most|hours) = .*\n", "", text, count=2), encoding="utf-8")
    [fault] = study.faults(folder)
    assert re.search(r"study.toml, line \d+, \[use\]: no criterion of the finished part is left to judge; give the keys of one \(.*labour by 'hours'\), or take the table away", fault)


def test_nobody_sets_a_pointer_on_a_pump():
    assert "pointer.service_torque" not in study.load(PUMP).assess(draws=16).asked
    assert "pointer.service_torque" in study.load().only("hours").assess(draws=16, criteria=("least wall",)).asked


# --- packing ------------------------------------------------------------------------------------------------------------------------------

def test_the_push_on_a_packed_plunger_by_hand():
    """25 kPa on a bore of 24 mm are 11.3 N; a leather of 0.25 mm and 0.1 N a mm of girth rubs pi 24 (0.25 0.025 + 0.1) = 8.0 N."""
    pump = study.load(PUMP).with_(**{"packing.leather cup, oiled.drag_length": "0.25 mm", "packing.leather cup, oiled.lip_force": "0.1 N/mm"})
    assert line(pump.assess(draws=4, criteria=("packing: push",)), "packing: push").demand == pytest.approx(11.31 + 8.01, abs=0.01)


def test_a_wound_cord_must_press_harder_than_what_it_holds_back(changed):
    cord = study.load(changed(PUMP, 'packing = "leather cup, oiled"', 'packing = "cord, flax and tallow"'))
    low, high = (line(cord.with_(pressure=p).assess(draws=256, criteria=("packing: tight",)), "packing: tight") for p in ("10 kPa", "200 kPa"))
    assert low.chance > 0.9 > 0.5 > high.chance and low.unit == "kPa"


def test_a_wide_gap_is_more_than_leather_bridges():
    chance = [study.load(PUMP).with_(**{"dye barrel.clearance": c}, clearance_most="3 mm").assess(draws=256, criteria=("packing: follows the bore",)).chance for c in ("0.2 mm", "0.6 mm", "1.5 mm")]
    assert chance[0] > chance[1] > chance[2] and chance[2] < 0.3


@pytest.mark.parametrize("old, new, says", [
    ('packing = "leather cup, oiled"', 'packing = "leather"', r"line \d+, packing: the table 'packings' has nothing on 'leather'; did you mean 'leather cup"),
    ('plunger = "18 mm"', '# plunger = "18 mm"', r"line \d+: 'dye barrel' has a packing and no plunger that carries it; give the plunger's length"),
    ('pressure = "25 kPa"', '# pressure = "25 kPa"', r"'pressure' is missing; add it there, for 'packing: push'")])
def test_a_packing_that_cannot_be_judged_is_told(changed, old, new, says):
    [fault, *_] = study.faults(changed(PUMP, old, new))
    assert re.search(says, fault), fault


# --- what the estimates would refuse ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("row, says", [
    ("drive.stroke_length,,0.25,0.05,0.6,p5_p95,m,triangular", "can fall as far as -0.0618 m, which is impossible: .*length: .* makes no sense here; it must be > 0; give a shape that ends before"),
    ("drive.duty,,,0.5,0.99,p5_p95,,normal", "can fall as far as 1.64, which is impossible"),
    ("drive.duty,,,0.4,0.5,ends,,uniform", ""), ("drive.stroke_length,,,0.2,0.6,p5_p95,m,lognormal", "")])
def test_a_range_that_reaches_the_impossible_is_told_by_its_support_not_by_luck(tmp_path, row, says):
    shutil.copytree(COPPER, tmp_path / "a")
    with open(tmp_path / "a" / "assumptions.csv", "a", encoding="utf-8") as file:
        file.write(f"{row},,conjecture,assumption,once,,tried\n")
    found = support.impossible(study.load(tmp_path / "a"))
    assert bool(found) == bool(says) and (not says or any(re.search(rf"assumptions.csv, line \d+: .*{says}", each) for each in found)), found


def test_check_tells_what_a_write_up_would_refuse_each_with_its_line(changed, capsys):
    folder = changed(COPPER, 'licence = ""', 'licence = "mine"')
    text = (folder / "study.toml").read_text(encoding="utf-8").replace('given = "Invented"', 'given = "Invented"\norcid = "0000-0001"')
    (folder / "study.toml").write_text(text, encoding="utf-8")
    with open(folder / "sources.bib", "a", encoding="utf-8") as bib:
        bib.write("\n@book{open_1999, title = {never closed\n")
    assert main(["check", str(folder)]) == 2
    told = capsys.readouterr().out
    for line, says in ((r"study.toml, line \d+, \[record\]", "unknown licence 'mine'"), (r"study.toml, line \d+, \[record.authors, number 1\]", "'0000-0001' is no ORCID"),
                       (r"sources.bib, line 3", "is not BibTeX")):
        assert re.search(f"{line}: .*{says}", told), told


def test_what_is_not_judged_is_told():
    said = [str(each) for each in claims.weaknesses(study.load(COPPER).assess(draws=64))]
    assert any("of the finished part 'running', 'pointer shake', 'nest stray' are not judged, for [use] has no key of it" in each for each in said)


@pytest.mark.parametrize("start, low, high, begins, ends", [("40 mm", 15, 80, 40, (15, 80)), ("90 mm", 15, 80, 90, (15, 180)), ("8 mm", 15, 80, 8, (4, 80))])
def test_a_slider_around_a_studys_own_value_begins_there_whatever_it_is(start, low, high, begins, ends):
    slider = controls.around("pulley", Q(start), low, high, 1, "mm")
    assert slider.value == begins and (slider.low, slider.high) == ends


# --- the three studies: verdicts, and why whoever makes such things would believe them ----------------------------------------------------------

@pytest.mark.parametrize("folder, words, limits, why", [
    (SIGHT, (0.4, 0.9), "labour", "draw tubes with a tenth of play are everyday work of a brass turner: every fit and wall has room, and what runs out is the time for two cored castings and their reamers"),
    (PUMP, (0.3, 0.8), "packing: leak", "any founder bores a barrel good enough for leather; that a leather gives the same measure to a sixteenth, stroke after stroke, is what a dyer would doubt"),
    (COPPER, (0.3, 0.8), "drilling thrust", "3 mm in soft copper is easy to bore and hard to start: a small drill pushed by the bare hand is where bow drilling of metal fails")])
def test_verdicts_that_a_maker_would_believe(folder, words, limits, why):
    verdict = study.load(folder).assess(draws=2**11, seed=1)
    assert words[0] < verdict.chance < words[1] and verdict.limiting == limits, (verdict.chance, verdict.limiting, why)


@pytest.mark.parametrize("folder", [SIGHT, PUMP, COPPER])
def test_each_says_that_it_is_invented_and_loads_without_a_fault(folder):
    made = study.load(folder)
    assert study.faults(folder) == [] and made.invented and "invented" in (folder / "study.toml").read_text(encoding="utf-8").split("\n")[0]
    assert outcomes.asked_of(made) and newstudy.described(made.title)["resources"]
    assert made.tubes[0].length > Q(0, "mm")
