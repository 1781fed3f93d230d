"""kit.newstudy: a new study folder is whole or absent, loads as it stands, teaches, and takes whatever is answered."""
import csv
import html
import json
import os
import re
import shutil
from unittest import mock
from pathlib import Path

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from kit import bench, files, newstudy, planner, references, study, tables
from kit.studyfile import StudyError

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

FILES = ["assumptions.csv", "bench_log.csv", "bench_sheet.html", "datapackage.json", "sources.bib", "study.toml"]


def listed(folder):
    return sorted(p.name for p in folder.iterdir())


@pytest.fixture
def made(tmp_path):
    return newstudy.new(tmp_path / "mine", barrel="16 mm")


def uncommented(text, start, end):
    """The text with the marks (#) taken away in front of the lines from `start` to before `end`."""
    head, start, rest = text.partition(start)
    block, end, tail = rest.partition(end)
    assert start and end
    return head + "\n".join(re.sub(r"^# ?", "", line) for line in (start + block).split("\n")) + end + tail


# --- what is there ----------------------------------------------------------------------------------------------------------------------

def test_a_new_folder_holds_everything_and_loads(made):
    assert listed(made) == FILES and study.faults(made) == []
    loaded = study.load(made)
    assert not loaded.invented and loaded.title == "My part" and loaded.claim == "A workshop with these tools could have made this part."
    assert [t.name for t in loaded.tubes] == ["sleeve 1", "barrel"] and loaded.fails_if == "" and loaded.rows == {} and loaded.use is None
    assert loaded.record["stage"] == "pre-test" and loaded.record["support"] == []
    assert 0 <= loaded.assess(draws=256, seed=1).chance <= 1


def test_what_is_answered_is_what_stands_there(tmp_path):
    loaded = study.load(newstudy.new(tmp_path / "a", title="Two", claim="So it was.", alloy="brass, annealed", bore="0.7 cm", wall="0.02 in", clearance="0.03 mm",
                                     lengths="50 mm, 4 cm", barrel="20 mm", barrel_length="70 mm"))
    first, second, barrel = loaded.tubes
    assert (loaded.title, loaded.claim, loaded.part["alloy"]) == ("Two", "So it was.", "brass, annealed")
    assert first.bore.m_as("mm") == pytest.approx(7) and first.wall.m_as("mm") == pytest.approx(0.508) and first.clearance.m_as("um") == pytest.approx(30)
    assert [t.length.m_as("mm") for t in loaded.tubes] == pytest.approx([50, 40, 70])
    assert second.bore.m_as("mm") == pytest.approx(7 + 2 * 0.508 + 0.03)
    assert barrel.bore.m_as("mm") == 20 and barrel.plunger.m_as("mm") == 35 and 0 < barrel.core < barrel.bore
    assert {"sleeve", "barrel"} == set(loaded.routes)


def test_without_a_barrel_there_is_none_and_no_route_of_one(tmp_path):
    loaded = study.load(newstudy.new(tmp_path / "a"))
    assert [t.name for t in loaded.tubes] == ["sleeve 1"] and set(loaded.routes) == {"sleeve"}


@pytest.mark.parametrize("size, metres", [("150000 um", 0.15), ("100 mm", 0.1), ("6.0 mm", 0.006), ("0.123456 mm", 0.000123456), ("1e5 um", 0.1), ("20 cm", 0.2)])
def test_no_size_changes_on_its_way_into_the_file(tmp_path, size, metres):
    """A nought at the end of a whole number is no rounding."""
    loaded = study.load(newstudy.new(tmp_path / "a", lengths=size, clearance="10 um"))
    assert loaded.tubes[0].length.m_as("m") == pytest.approx(metres, rel=1e-9)


def test_the_tables_have_the_columns_of_their_schemas(made):
    for name in ("assumptions", "bench_log"):
        with open(made / f"{name}.csv", encoding="utf-8", newline="") as file:
            assert list(csv.reader(file)) == [[f["name"] for f in tables.shared_schema(f"{name}.schema.json")["fields"]]]
    assert bench.read(made / "bench_log.csv") == bench.Log(made / "bench_log.csv", (), ())


def test_the_printed_sheet_has_the_columns_of_the_log(made):
    sheet = (made / "bench_sheet.html").read_text(encoding="utf-8")
    columns = (made / "bench_log.csv").read_text(encoding="utf-8").strip().split(",")
    assert re.findall(r"<th>(.*?)</th>", sheet) == columns and sheet.count("<td>") == len(columns) * bench.SHEET_ROWS
    assert "<title>Bench log: My part</title>" in sheet


def test_the_datapackage_describes_the_tables(made):
    package = tables.package(made)
    assert {name: path for name, (path, _) in package.items()} == {"assumptions": made / "assumptions.csv", "bench_log": made / "bench_log.csv"}
    for path, schema in package.values():
        assert tables.read(path, schema) == []
    said = json.loads((made / "datapackage.json").read_text(encoding="utf-8"))
    assert said["name"] == "my-part" and said["title"] == "My part" and "invented" not in json.dumps(said)


def test_the_bibliography_can_be_added_to(made):
    assert tables.source_keys(made / "sources.bib") == set()
    text = (made / "sources.bib").read_text(encoding="utf-8")
    assert "  book{" in text and "@" not in text   # Pandoc reads an entry wherever that sign stands
    (made / "sources.bib").write_text(text.replace("  book{", "  @book{"), encoding="utf-8")   # the example as it says
    assert tables.source_keys(made / "sources.bib") == {"surname_1999"} == set(references.read(made / "sources.bib"))


def test_the_comments_teach(made):
    text = (made / "study.toml").read_text(encoding="utf-8")
    for said in ("Every number carries its unit", "python -m kit check", "# a name in data/reference/alloys.csv", "# wanted, on diameter", "# when the claim fails; write it before the trials",
                 "# from the inside out", "data/reference/drives.csv", "[[record.support]]", "[[record.deviations]]", "rival_routes.csv"):
        assert said in text, said
    assert text.count("#") > 60 and "harbour" not in text.lower() and "invented" not in text and not re.search(r"[ \t]+$", text, re.M)


def test_the_same_answers_make_the_same_bytes(tmp_path):
    first, second = (newstudy.new(tmp_path / name, title="Pipe", bore="8 mm") for name in ("a", "b"))
    for name in FILES:
        assert (first / name).read_bytes() == (second / name).read_bytes() and b"\r" not in (first / name).read_bytes()


# --- whatever is answered ------------------------------------------------------------------------------------------------------------------

@settings(max_examples=6)
@given(bore=st.floats(1, 40), wall=st.floats(0.2, 3), length=st.floats(5, 200), sleeves=st.integers(1, 4), barrel=st.sampled_from(["", "5 mm", "38 mm"]))
@example(bore=1, wall=0.2, length=5, sleeves=1, barrel="")
@example(bore=40, wall=3, length=200, sleeves=4, barrel="38 mm")
@example(bore=1, wall=2, length=40, sleeves=4, barrel="")   # the last sleeve is cast on a core, the first drilled
def test_it_loads_and_can_be_judged_over_a_range_of_sizes(tmp_path_factory, bore, wall, length, sleeves, barrel):
    with mock.patch.object(planner, "TRIES", 1):   # whether it can be judged at all: the best plan is sought below
        folder = newstudy.new(tmp_path_factory.mktemp("sizes") / "a", bore=f"{bore:.2f} mm", wall=f"{wall:.2f} mm", lengths=", ".join([f"{length:.1f} mm"] * sleeves), barrel=barrel)
    loaded = study.load(folder)
    assert len(loaded.tubes) == sleeves + bool(barrel) and loaded.tubes[0].bore.m_as("mm") == pytest.approx(round(bore, 2), abs=0.0051)
    drills = [s for s in loaded.steps(loaded.tubes[0]) if s.operation == "drill"]
    if loaded.tubes[0].bore.m_as("mm") >= newstudy.cored()["from_bore"]:   # cast on a core
        assert drills == [] and 0 < loaded.tubes[0].core < loaded.tubes[0].bore
    else:
        assert len(drills) == 2 and drills[0].diameter < drills[1].diameter < loaded.tubes[0].bore
    verdict = loaded.assess(draws=4, seed=1)
    assert len(verdict.chances) >= 14 and 0 <= verdict.chance <= 1


PRINTABLE = st.text(st.one_of(st.sampled_from("\"'\\#={}[]%$~\n\t µéß漢字🪈\u2028,;:"), st.characters(exclude_categories=("Cc", "Cs"))), min_size=1, max_size=40)


@settings(max_examples=40)
@given(title=PRINTABLE, claim=PRINTABLE)
@example(title='My # part', claim="a # b")
@example(title='the "harp"', claim='It says """so""".')
@example(title="a\\nb\\", claim="ends with a backslash \\")
@example(title="two\nlines", claim='"')
@example(title="{bore} %s", claim='""""""')
@example(title="Flûte à bec 🪈", claim="line one\nline two # no comment\n\n[part]\nbore = 3")
@example(title="'''", claim="'''")
@example(title="]]] = 3", claim="\\\\\\\"")
def test_any_title_and_claim_come_back_as_they_were_given(tmp_path_factory, title, claim):
    assume(title.strip() and claim.strip())
    folder = newstudy.new(tmp_path_factory.mktemp("words") / "a", title=title, claim=claim)
    loaded = study.load(folder)
    assert loaded.title == " ".join(title.split()) and loaded.claim == "\n".join(claim.splitlines())
    assert loaded.fails_if == "" and loaded.tubes[0].bore.m_as("mm") == 6
    assert f"<title>Bench log: {html.escape(loaded.title)}</title>" in (folder / "bench_sheet.html").read_text(encoding="utf-8")
    assert re.fullmatch("[a-z0-9-]+", json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))["name"])


@pytest.mark.parametrize("text, name", [("Flûte à bec", "flute-a-bec"), ("  A/B: c  ", "a-b-c"), ("漢字", "study"), ("", "study"), ("x" * 80, "x" * 60)])
def test_a_name_for_files_is_plain(text, name):
    assert files.slug(text) == name


# --- refusals: nothing is written over, nothing is left behind -------------------------------------------------------------------------------

def test_a_folder_that_holds_something_is_refused_and_left_alone(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / ".hidden").write_text("kept")
    (tmp_path / "file").write_text("kept")
    for name in ("mine", "file"):
        with pytest.raises(FileExistsError, match=f"{name} is there already and holds something; give another name"):
            newstudy.new(tmp_path / name)
    assert listed(tmp_path) == ["file", "mine"] and listed(tmp_path / "mine") == [".hidden"] and (tmp_path / "file").read_text() == "kept"


def test_made_twice_the_first_stays(tmp_path):
    newstudy.new(tmp_path / "a", title="First")
    with pytest.raises(FileExistsError):
        newstudy.new(tmp_path / "a", title="Second")
    assert study.load(tmp_path / "a").title == "First" and listed(tmp_path) == ["a"]


def test_an_empty_folder_is_filled_also_where_one_stands_in_it(tmp_path, monkeypatch):
    (tmp_path / "empty").mkdir()
    assert newstudy.new(tmp_path / "empty") == tmp_path / "empty" and listed(tmp_path / "empty") == FILES
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    newstudy.new(".")
    assert listed(tmp_path / "here") == FILES and listed(tmp_path) == ["empty", "here"] and study.faults(".") == []


@pytest.mark.parametrize("answers, words", [
    ({"bore": "5"}, "bore: Cannot convert from 'dimensionless' (dimensionless) to 'mm'"), ({"bore": "0,5 mm"}, "bore: cannot read '0,5 mm' as a number with its unit"),
    ({"wall": "-1 mm"}, "wall: -1 mm makes no sense here; it must be > 0"), ({"clearance": "3 N"}, "clearance: Cannot convert from 'N'"),
    ({"lengths": "60 mm, 50"}, "lengths: Cannot convert from 'dimensionless'"), ({"lengths": "60 mm,"}, "lengths: cannot read ''"), ({"barrel": "wide"}, "barrel: cannot read 'wide'"),
    ({"alloy": "tin bronse, cast"}, "alloy: the table 'alloys' has nothing on 'tin bronse, cast'; did you mean 'tin bronze, cast'"),
    ({"clearance": "2 mm"}, "'sleeve 1': a clearance of 2000 µm leaves no wall of 0.5 mm; give less clearance, or a thicker wall"),
    ({"title": "a\x00b"}, "these answers do not make a study: study.toml: not readable as TOML"), ({"boor": "5 mm"}, "nobody asks for 'boor'; did you mean 'bore'")])
def test_a_bad_answer_is_told_and_leaves_nothing_behind(tmp_path, answers, words):
    with pytest.raises(StudyError) as told:
        newstudy.new(tmp_path / "deep" / "down" / "a", **answers)
    assert words in str(told.value) and "\n" not in str(told.value) and ".kit-" not in str(told.value)
    assert listed(tmp_path) == []


@pytest.mark.parametrize("fault", ["disk full", "no folder", "no renaming", "stopped"])
@pytest.mark.parametrize("there", [False, True])
def test_a_fault_in_the_middle_leaves_nothing_behind(tmp_path, monkeypatch, fault, there):
    folder = tmp_path / "a" if there else tmp_path / "deep" / "a"
    if there:
        folder.mkdir()

    def fails(*args, **kwargs):
        raise KeyboardInterrupt if fault == "stopped" else OSError(28, "No space left on device", str(folder))

    renamed = []

    def third_fails(old, new, place=os.link if there else os.rename):
        renamed.append(new)
        return fails() if len(renamed) == 3 or not there else place(old, new)

    at = {"disk full": (Path, "write_text"), "no folder": (Path, "mkdir"), "no renaming": (os, "link" if there else "rename"), "stopped": (bench, "sheet")}[fault]
    with monkeypatch.context() as patched:
        patched.setattr(*at, third_fails if fault == "no renaming" else fails)
        with pytest.raises((OSError, KeyboardInterrupt)):
            newstudy.new(folder)
    assert listed(tmp_path) == (["a"] if there else []) and (not there or listed(folder) == [])
    assert newstudy.new(folder) == folder and listed(folder) == FILES   # and then it can be made after all


def test_an_empty_folder_has_its_study_last(tmp_path, monkeypatch):
    """Whoever looks meanwhile finds no study that is half there."""
    order, link = [], os.link
    monkeypatch.setattr(os, "link", lambda old, new: (order.append(Path(new).name), link(old, new)))
    (tmp_path / "a").mkdir()
    newstudy.new(tmp_path / "a")
    assert order == FILES and order[-1] == "study.toml"


class Killed(BaseException):
    """Stands for an end after which nothing of a process is done any more."""


@pytest.mark.parametrize("placed", range(len(FILES) + 1))
@pytest.mark.parametrize("changed", [None, FILES[0]])
def test_what_a_killed_process_has_put_into_an_empty_folder_is_taken_back_at_the_next_start(tmp_path, monkeypatch, placed, changed):
    order, link = [], os.link

    def ends(old, new):
        if len(order) == placed:
            raise Killed
        order.append(link(old, new))

    with monkeypatch.context() as patched:   # nothing tidied up, and its number is nobody's any more
        patched.setattr(os, "link", ends)
        patched.setattr(os, "getpid", lambda: 999_999_999)
        patched.setattr(shutil, "rmtree", lambda *_, **__: None)
        patched.setattr(files, "_take_back", lambda *_: None)
        if placed == len(FILES):
            newstudy.new(tmp_path)
        else:
            with pytest.raises(Killed):
                newstudy.new(tmp_path)
    held = [name for name in listed(tmp_path) if not name.startswith(".kit-")]
    assert held == FILES[:placed] and len(listed(tmp_path)) > placed
    if changed in held:
        (tmp_path / changed).write_text("mine")
    if placed == len(FILES) or changed in held:   # whole, or somebody has worked in it: left as it is
        with pytest.raises(FileExistsError, match="is there already and holds something"):
            newstudy.new(tmp_path)
        assert listed(tmp_path) == (FILES if placed == len(FILES) else [changed])
        assert changed not in held or (tmp_path / changed).read_text() == "mine"
    else:
        assert newstudy.new(tmp_path) == tmp_path and listed(tmp_path) == FILES and study.faults(tmp_path) == []


def test_of_two_who_fill_one_empty_folder_the_first_keeps_all_its_files(tmp_path, monkeypatch):
    """The same answers make the same bytes; still the second takes nothing of the first's away."""
    inner = files.fill

    def late(folder, draft, last):
        monkeypatch.setattr(files, "fill", inner)
        shutil.copytree(draft, folder, dirs_exist_ok=True)
        inner(folder, draft, last)

    monkeypatch.setattr(files, "fill", late)
    with pytest.raises(FileExistsError, match="is there already; it was left as it is"):
        newstudy.new(tmp_path)
    assert listed(tmp_path) == FILES


# --- what uncommenting needs is told kindly ------------------------------------------------------------------------------------------------------

def test_the_use_of_the_part_uncommented_is_judged(made):
    path = made / "study.toml"
    text = uncommented(path.read_text(encoding="utf-8"), "# [use]", "# --- the workshop")
    path.write_text(text, encoding="utf-8")
    assert study.faults(made) == []
    assert {"running", "jamming", "labour", "plunger: hold"} <= set(study.load(made).assess(draws=16).chances)
    path.write_text(text.replace("ratios = [1]", "ratios = [1, 2]"), encoding="utf-8")
    [fault] = study.faults(made)
    assert "[use]: ratios must be one number for the one sleeve, from the inside out" in fault


def test_a_use_begun_says_what_else_it_needs(made):
    path = made / "study.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('# [use]\n# lubricant = "olive oil"', '[use]\nlubricant = "olive oil"'), encoding="utf-8")
    faults = study.faults(made)
    assert len(faults) == 1 and re.search(r", line \d+, \[use\]: no criterion of the finished part is left to judge; give the keys of one \(running by 'rate' and ", faults[0])
    path.write_text(path.read_text(encoding="utf-8").replace('# hold = ', "hold = "), encoding="utf-8")
    faults = study.faults(made)
    assert [re.search(r", line \d+, \[use\]: '(\w+)' is missing; add it there, for 'plunger: hold'$", fault)[1] for fault in faults] == ["temperature", "volume", "vacuum", "vacuum_end"]


def test_the_record_uncommented_says_what_is_still_blank(made):
    path = made / "study.toml"
    path.write_text(uncommented(path.read_text(encoding="utf-8"), "# period", "# --- what goes together"), encoding="utf-8")
    [fault] = study.faults(made)
    assert re.search(r", line \d+, \[record.support, number 1\]: '' is not in .*sources.bib; ", fault)
    path.write_text(path.read_text(encoding="utf-8").replace('source = ""', 'source = "common-practice"'), encoding="utf-8")
    assert study.faults(made) == []
    record = study.load(made).record
    assert record["rivals"] == ["cast on a core and reamed"] and record["trials_planned"] == 5 and record["success_level"] == 0.3 and record["deviations"][0]["step"] == "drill"


SHAPES = {   # what somebody who makes such a thing would answer: nothing but sizes, metal, drive
    "sliding tubes": dict(alloy="leaded bronze, cast", bore="22 mm", wall="1 mm", clearance="0.1 mm", lengths="120 mm, 110 mm", drive="strap lathe"),
    "packed pump": dict(lengths="none", barrel="24 mm", wall="2.5 mm", clearance="0.4 mm", barrel_length="95 mm", packing="leather cup, oiled", drive="pole lathe"),
    "metal pump": dict(lengths="none", barrel="18 mm", wall="2.5 mm", clearance="15 um", barrel_length="70 mm"),
    "two of copper": dict(alloy="copper, worked", bore="3 mm", wall="0.5 mm", clearance="30 um", lengths="14 mm, 12 mm", drive="drill bow"),
    "one of bronze": dict(bore="8 mm", wall="0.6 mm")}


@pytest.mark.slow
@pytest.mark.parametrize("shape", SHAPES)
def test_the_plan_proposed_is_one_that_works(tmp_path, shape):
    """Each is a thing that such workshops made: a plan by which it is hopeless would be the kit's fault, not the maker's."""
    made = study.load(newstudy.new(tmp_path / "a", **SHAPES[shape]))
    verdict = made.assess(draws=2**10, seed=2)   # other draws than those on which the plan was sought
    assert verdict.chance > 0.5 and min(verdict.chances.values()) > 0.7, (verdict.chance, verdict.limiting)


def test_a_play_of_a_tenth_is_turned_not_lapped_and_a_barrel_has_the_wall_that_was_answered(tmp_path):
    sight = study.load(newstudy.new(tmp_path / "a", **SHAPES["sliding tubes"]))
    assert not any(s.operation == "lap" for t in sight.tubes for s in sight.steps(t)) and all(t.core for t in sight.tubes)
    pump = study.load(newstudy.new(tmp_path / "b", **SHAPES["packed pump"]))
    [barrel] = pump.tubes
    assert barrel.wall.m_as("mm") == 2.5 and barrel.packing == "leather cup, oiled" and "bore" not in pump.part
    with pytest.raises(StudyError, match="a packing, and no barrel whose plunger it seals; give the bore of a barrel"):
        newstudy.new(tmp_path / "c", packing="leather cup, oiled")


def test_a_barrel_alone(tmp_path):
    folder = newstudy.new(tmp_path / "pump", lengths="none", barrel="16 mm")
    made = study.load(folder)
    assert [t.name for t in made.tubes] == ["barrel"] and set(made.routes) == {"barrel"}
    with pytest.raises(StudyError, match="no sleeve and no barrel"):
        newstudy.new(tmp_path / "nothing", lengths="none")
