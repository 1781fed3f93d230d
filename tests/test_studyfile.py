"""kit.studyfile and study.faults: everything that is wrong in a study folder, at once; and load, which stops at the first."""
import json
import os
import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import bench as bench_log
from kit import study, studyfile, tables
from kit.studyfile import StudyError

FILES = ("study.toml", "assumptions.csv", "sources.bib", "datapackage.json")
DEMO = {name: (study.DEMO / name).read_text(encoding="utf-8") for name in FILES}
TOML = DEMO["study.toml"]
HEAD = "key,value,low,high,limits,unit,shape,dof,grade,source,drawn,note\n"


def changed(*changes, text=TOML):
    """The text with each (old, new) put in its place, once; old must be there."""
    for old, new in changes:
        assert old in text, f"{old!r} is not there"
        text = text.replace(old, new, 1)
    return text


def line_of(words, text):
    return next(i for i, line in enumerate(text.split("\n"), 1) if words in line)


@pytest.fixture
def folder(tmp_path):
    """A copy of the demo's four files; folder(name=text) writes over some of them."""
    def written(**texts):
        for name in FILES:
            text = texts.get(name.partition(".")[0], DEMO[name])
            (tmp_path / name).unlink(missing_ok=True)
            if text is not None:
                (tmp_path / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        return tmp_path
    return written


def stopped(folder):
    """What load says, or None where it loads."""
    try:
        study.load(folder)
    except (StudyError, tables.TableError) as fault:
        return str(fault)


def test_what_is_fine_has_no_faults_and_loads(folder):
    assert study.faults(folder()) == [] and stopped(folder()) is None
    assert study.load(folder()).record["success_level"] == 0.2


# --- many faults at once ------------------------------------------------------------------------------------------------------------

# (what stands there, what is put instead, what must be said, what stands in the line that is named)
SLIPS = [
    ("invented = true", "invnted = true", "unknown key 'invnted'; did you mean 'invented'", "invnted"),
    ('rate = "1 turn/h"', 'rate = "1/h"', "a turning rate or an angle must say so", "rate ="),
    ('pulley = "40 mm"', 'pulley = "40 N"', "argument 'pulley' takes a unit like mm, for example pulley='8 mm'", "pulley ="),
    ('jaws = 3                              # that hold the blank\n', "", "[workshop]: 'jaws' is missing; add it there", "[workshop]"),
    ('feed_most = "0.3 mm"\ndrive = "bow or hand"', 'feed_most = "0.3 mm"\ndrive = "bow or hands"',
     "[routes.sleeve, step 4]: drive: 'bow or hands' is not one of its words; did you mean 'bow or hand'", '"bow or hands"'),
    ('tool = "fluted reamer"', 'tool = "fluted remer"', "no tool 'fluted remer'; did you mean 'fluted reamer'?", "remer"),
    ('keys = ["drive.pull_one_minute", ', "keys = [", "a correlation joins two keys, not 1", "keys ="),
    ('stage = "experiment"', 'stage = "trial run"', "'trial run' is not one of its words; known: 'pre-test', 'experiment'", "stage ="),
    ('"cast on a core and reamed"', '"cast on a cor and reamed"', "there is no route 'cast on a cor and reamed'; did you mean 'cast on a core and reamed'", "rivals ="),
    ('grade = "image"', 'grade = "imge"', "[record.support, number 1]: grade: 'imge' is not one of its words; did you mean 'image'?", '"imge"'),
    ('source = "invented_relief"', 'source = "invented_releif"', "[record.support, number 1]: 'invented_releif' is not in", "releif"),
    ('why = "to save the day"\n', "", "[record.deviations, number 1]: 'why' is missing; add it there", "[[record.deviations]]"),
]
ROWS = HEAD + ("alloy.kc11,,900,1100,,MPa,lognormal,,text,nobody_1900,,\n"
               "alloy.hardness,81,80,120,,HV,lognormal,,own-trial,own-trial,,\n"
               "alloy.density,,8,9,,g/cm^3,lognorm,,own-trial,own-trial,,\n"
               "drive.peak,,1.2,2,,,lognormal,,own-trial,own-trial,,\n"
               "drive.peak,,1.2,2,,,lognormal,,own-trial,own-trial,,\n")
SAID_OF_ROWS = [("cites 'nobody_1900', which is not in", 2), ("value 81 contradicts low 80 and high 120 HV", 3),
                ("'lognorm' is not one of its words; did you mean 'lognormal'", 4), ("drive.peak stands already in line 5; keep one of the two", 6)]


@pytest.fixture
def many(folder):
    return folder(study=changed(*((old, new) for old, new, *_ in SLIPS)), assumptions=ROWS)


def test_every_fault_is_told_at_once_each_once_with_file_line_and_remedy(many):
    faults, text = study.faults(many), (many / "study.toml").read_text(encoding="utf-8")
    for _, _, said, at in SLIPS:
        place = f"{many / 'study.toml'}, line {line_of(at, text)}"
        told = [fault for fault in faults if fault.startswith((place + ",", place + ":")) and said in fault]
        assert len(told) == 1, (place, said)
    for said, line in SAID_OF_ROWS:
        assert len([fault for fault in faults if fault.startswith(f"{many / 'assumptions.csv'}, line {line}") and said in fault]) == 1, said
    assert len(faults) == len(SLIPS) + len(SAID_OF_ROWS) == len(set(faults))
    for fault in faults:
        assert "\n" not in fault and "; " in fault and len(fault) < 1000


def test_the_order_is_the_same_each_time_and_load_stops_at_the_first(many):
    faults = study.faults(many)
    assert study.faults(many) == faults and stopped(many) == faults[0]
    # what is offered comes in one order too, whatever that of a set is today
    [offered] = [fault.partition("known: ")[2].split(", ") for fault in faults if "cites 'nobody_1900'" in fault]
    assert len(offered) > 20 and offered == sorted(offered)


def test_mended_one_by_one_each_is_gone_and_the_others_stay(many, folder):
    before = len(study.faults(many))
    for left_out in range(len(SLIPS)):
        left = [slip for i, slip in enumerate(SLIPS) if i != left_out]
        faults = study.faults(folder(study=changed(*((old, new) for old, new, *_ in left)), assumptions=ROWS))
        assert len(faults) == before - 1
        assert not any(SLIPS[left_out][2] in fault for fault in faults), SLIPS[left_out]


def test_words_that_no_reference_table_knows_are_told_together(folder):
    faults = study.faults(folder(study=changed(('alloy = "tin bronze, cast"', 'alloy = "tin bronse, cast"'), ('cord = "gut on wood"', 'cord = "gut on glass"'),
                                               ('lubricant = "olive oil"', 'lubricant = "olive"'), ('abrasive = "emery, fine"', 'abrasive = "emry, fine"'))))
    for said in ("alloy: the table 'alloys' has nothing on 'tin bronse, cast'; did you mean 'tin bronze, cast'", "nothing on 'gut on glass'; did you mean 'gut on wood'",
                 "[use]: there is no lubricant 'olive'; did you mean 'olive oil'?", "abrasive: the table 'abrasives' has nothing on 'emry, fine'; did you mean 'emery, fine'"):
        assert sum(said in fault for fault in faults) == 1, said
    assert len(faults) == 4


def test_rows_and_routes_that_do_not_fit_the_study_are_told_together(folder):
    rows = HEAD + ("alloy.kc1,,900,1100,,MPa,lognormal,,own-trial,own-trial,,\nalloy.kc11,,900,1100,,mm,lognormal,,own-trial,own-trial,,\n")
    faults = study.faults(folder(study=changed(('to = "2.5 mm"', 'to = "5.5 mm"'), ('to = "4 mm"', 'to = "5.6 mm"'), ('core = "14 mm"', 'core = "17 mm"')), assumptions=rows))
    for said in ("'alloy.kc1' is no assumption of this study; did you mean 'alloy.kc11'", "argument 'alloy.kc11' takes a unit like MPa",
                 "route 'sleeve' for 'hours': step 1 (drill): '5.5 mm'", "route 'barrel' for 'lamp-oil barrel': step 1 (ream)"):
        assert sum(said in fault for fault in faults) == 1, said
    assert len(faults) == 4   # the other sleeves are wide enough for such drills


CONTRADICTING = '''
[[correlations]]
keys = ["alloy.kc11", "alloy.hardness"]
r = 0.9
[[correlations]]
keys = ["alloy.kc11", "alloy.yield_strength"]
r = -0.9
[[correlations]]
keys = ["alloy.hardness", "alloy.yield_strength"]
r = 0.9
'''


def test_correlations_that_contradict_each_other_are_told(folder):
    faults = study.faults(folder(study=TOML + CONTRADICTING))
    assert len(faults) == 1 and "[correlations]" in faults[0] and "contradict each other" in faults[0] and stopped(folder(study=TOML + CONTRADICTING)) == faults[0]
    mended = TOML + CONTRADICTING.replace("-0.9", "0.9")
    assert study.faults(folder(study=mended)) == []


# --- places -----------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("cut, key, heading, nth", [
    ('order = "bore first"', "order", "[workshop]", 1), ('name = "moon"', "name", "[[part.sleeves]]", 3), ('kind = "fluted reamer"', "kind", '[tools."fluted reamer"]', 1),
    ('torque = "0.15 N*mm"', "torque", "[use]", 1), ('family = "Nobody"', "family", "[[record.authors]]", 1), ("r = 0.7", "r", "[[correlations]]", 1)])
def test_what_is_missing_is_looked_for_under_its_heading(folder, cut, key, heading, nth):
    lines = TOML.split("\n")
    text = "\n".join(line for line in lines if not line.startswith(cut))
    line = [i for i, words in enumerate(text.split("\n"), 1) if words.startswith(heading)][nth - 1]
    [fault] = study.faults(folder(study=text))
    assert fault.startswith(f"{folder(study=text) / 'study.toml'}, line {line}, ") and f"{key!r} is missing; add it there" in fault


def test_a_table_within_braces_has_the_line_of_no_heading(folder):
    """There is no better place then than the file; but the table is named."""
    text = changed(('[tools."flat drill"]\nkind = "two-lip drill"\npoint_angle = "110 deg"\npoint = "flat drill, stoned thin"     # data/reference/drill_points.csv: a thick point only squeezes\n'
                    'shank = "round"\nshank_ratio = 0.8', "[tools]\n"
                    '"flat drill" = {kind = "two-lip dril", shank_ratio = 0.8}'))
    [fault] = study.faults(folder(study=text))
    assert fault.startswith(f"{folder(study=text) / 'study.toml'}, [tools.flat drill]: kind: 'two-lip dril'")


# --- [record] ---------------------------------------------------------------------------------------------------------------------

def test_the_record_is_kept_as_it_is_written(folder):
    record = study.load(folder()).record
    assert record["stage"] == "experiment" and record["trials_planned"] == 8 and record["stop_rule"] == "Eight blanks, whatever becomes of them."
    assert [s["step"] for s in record["support"]] == ["drill", "turn", "file"] and record["support"][2]["source"] == "common-practice"
    assert record["authors"] == [{"family": "Nobody", "given": "Invented"}] and record["deviations"][0]["effect"] == "that step is not counted"


def test_a_study_without_a_record_loads_with_an_empty_one(folder):
    bare = re.sub(r"(?s)\[record\].*?(?=# --- what goes together)", "", TOML)
    assert study.load(folder(study=bare)).record == {"authors": [], "support": [], "deviations": []}


@pytest.mark.parametrize("old, new, said", [
    ("success_level = 0.2", "success_level = 20", "success_level: 20 makes no sense here; it must be < 1"),
    ("success_level = 0.2", "success_level = 1", "success_level: 1 makes no sense here; it must be < 1"),
    ("success_level = 0.2", "success_level = 0", "success_level: 0 makes no sense here; it must be > 0"),
    ("trials_planned = 8", 'trials_planned = "8"', "trials_planned: expected a whole number from 1 to 9999, got '8'"),
    ("trials_planned = 8", "trials_planned = 0", "trials_planned: expected a whole number from 1 to 9999, got 0"),
    ('step = "drill"                        # an operation', 'step = "dril"  # an operation', "step: 'dril' is not one of its words; did you mean 'drill'"),
    ('shows = "A man bows', 'show = "A man bows', "unknown key 'show' in [record.support, number 1]; did you mean 'shows'"),
    ('planned = "a flat drill', "planned = 3 # ", "[record.deviations, number 1]: planned: expected text in quotes, got 3"),
    ('[[record.authors]]\nfamily', '[record.authors]\nfamily', "authors: expected a list, each entry under a heading in [[double brackets]]"),
    ('family = "Nobody"', 'famly = "Nobody"', "unknown key 'famly'"),
    ('rivals = ["cast on a core and reamed", ', "rivals = [3, ", "there is no route 3"),
    ('period = "invented"', "period = 1200", "period: expected text in quotes, got 1200")])
def test_a_fault_in_the_record_is_told_with_its_line(folder, old, new, said):
    text = changed((old, new))
    told = [fault for fault in study.faults(folder(study=text)) if said in fault]
    assert len(told) == 1 and re.match(re.escape(str(folder(study=text) / "study.toml")) + r", line \d+", told[0])


def test_support_may_cite_without_a_bibliography_of_ones_own(folder):
    plain = changed(('source = "invented_relief"', 'source = "common-practice"'), ('source = "invented_relief"', 'source = "from-memory"'))
    assert study.faults(folder(study=plain, sources=None, assumptions=None)) == []
    [fault] = study.faults(folder(study=changed(('source = "invented_relief"', 'source = "common-practice"')), sources=None, assumptions=None))
    assert "[record.support, number 2]: 'invented_relief' is not in" in fault


# --- files that cannot be read ------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_no_utf_8_is_named(folder, name):
    place = folder(**{name.partition(".")[0]: DEMO[name].encode() + b"\n# \xe9t\xe9\n"})
    [fault] = study.faults(place)
    assert fault.startswith(f"{place / name}: not UTF-8 text (byte ") and fault.endswith("in UTF-8") and stopped(place) == fault


@pytest.mark.parametrize("name", FILES)
def test_a_folder_in_place_of_a_file_is_named(folder, name):
    place = folder(**{name.partition(".")[0]: None})
    (place / name).mkdir()
    [fault] = study.faults(place)
    assert str(place / name) in fault and "is a directory" in fault and stopped(place) == fault


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_may_not_be_opened_is_named(folder, name, monkeypatch):
    place, opened = folder(), Path.read_text

    def forbidden(path, *args, **kwargs):
        if path == place / name:
            raise PermissionError(13, "Permission denied", str(path))
        return opened(path, *args, **kwargs)

    monkeypatch.setattr(Path, "read_text", forbidden)
    [fault] = study.faults(place)
    assert fault == f"{place / name}: cannot be read (permission denied); it must be a file that you may open" and stopped(place) == fault


@pytest.mark.parametrize("old, new, said", [
    ('name = "hours"', 'name = "ho\\nurs"', "[part.sleeves, number 1]: name: 'ho\\nurs' has an end of line in it; write it on one line"),
    ('name = "hours"', 'name = "ho\\u001b[31murs"', "name: its character 3 is a sign that cannot be seen (U+001B); take it out"),
    ('title = "The harbour dial"', 'title = "The \u202eharbour dial"', "title: its character 5 is a sign that cannot be seen (U+202E)"),
    ("[tools.auger]", '[tools."a\\u0007uger"]', "of a tool or route: its character 2 is a sign that cannot be seen (U+0007)")])
def test_signs_that_a_screen_would_obey_are_named(folder, old, new, said):
    text = changed((old, new)) if old in DEMO["study.toml"] else DEMO["study.toml"] + new + '\nkind = "two-lip drill"\n'
    faults = study.faults(folder(study=text))
    assert any(said in fault for fault in faults) and not any(tables.UNSEEN.search(fault) for fault in faults)


@pytest.mark.parametrize("old, new", [('wall = "0.4 mm"', f'wall = "{"x" * 5000} mm"'), ('wall = "0.4 mm"', f'{"x" * 5000} = 3'),
                                      ('pulley = "40 mm"', f'pulley = "4{"0" * 5000} mm"'), ('alloy = "', f'alloy = "{"[" * 300}')])
def test_thousands_of_letters_are_told_in_short(folder, old, new):
    faults = study.faults(folder(study=changed((old, new))))
    assert faults and max(map(len, faults)) < 1000


def test_a_folder_that_is_not_there_or_is_a_file(tmp_path):
    for place in (tmp_path / "nowhere", tmp_path / "study.toml"):
        (tmp_path / "study.toml").write_text(TOML, encoding="utf-8")
        assert study.faults(place) == [f"{place / 'study.toml'}: there is no such file; a study is a folder with a study.toml"]


def test_text_that_is_no_toml_is_told_with_its_line(folder):
    place = folder(study=changed(('pulley = "40 mm"', "pulley = 40 mm")))
    [fault] = study.faults(place)
    assert f"line {line_of('pulley =', TOML)}" in fault and fault.startswith(f"{place / 'study.toml'}: not readable as TOML") and stopped(place) == fault


# --- columns of one's own in assumptions.csv ----------------------------------------------------------------------------------------

def with_package(change):
    package = json.loads(DEMO["datapackage.json"])
    resource = next(r for r in package["resources"] if r["name"] == "assumptions")
    if isinstance(resource["schema"], str):
        resource["schema"] = tables.shared_schema(resource["schema"])
    change(resource)
    return json.dumps(package)


def test_a_column_of_ones_own_is_allowed_where_the_datapackage_names_it(folder):
    rows = HEAD.strip() + ",elicited by\ndrive.peak,,1.2,2,,,lognormal,,own-trial,own-trial,,,A\n"
    package = with_package(lambda resource: resource["schema"]["fields"].append({"name": "elicited by", "type": "string"}))
    assert study.load(folder(assumptions=rows, datapackage=package)).rows["drive.peak"].high == 2
    [fault] = study.faults(folder(assumptions=rows))
    assert "line 1: unknown column 'elicited by'" in fault


def test_the_columns_that_the_kit_needs_are_checked_whatever_the_datapackage_says(folder):
    def loosen(resource):
        resource["schema"]["fields"] = [{"name": f["name"], "type": "string"} for f in resource["schema"]["fields"] if f["name"] != "source"]
    [fault] = study.faults(folder(assumptions=HEAD + "drive.peak,,much,2,,,lognormal,,own-trial,own-trial,,\n", datapackage=with_package(loosen)))
    assert "line 2, column 'low': 'much' is not a number" in fault


@pytest.mark.parametrize("change", [lambda r: r["schema"].pop("fields"), lambda r: r["schema"]["fields"].append({"type": "string"}), lambda r: r["schema"].update(fields=3)])
def test_a_schema_that_is_none_is_told(folder, change):
    place = folder(datapackage=with_package(change))
    assert study.faults(place) == [f"{place / 'datapackage.json'}: the schema of 'assumptions' must list `fields`, each with a name, as the one of the demo study does"]


# --- nothing that can be written ends in a traceback ---------------------------------------------------------------------------------

LINES = TOML.split("\n")
SAID = [i for i, line in enumerate(LINES) if line.strip() and not line.startswith("#")]
VALUES = [None, "", " 7", ' ""', ' "-3 mm"', ' "some words"', ' [1, "a"]', " {}", " {a = 1}", " [[]]", " true", ' "5 mm"', " -1.5", " nan", " 1979-05-27", ' "2 kg"', ' "1e400 mm"', ' "0,5 mm"']


def hold_together(place):
    """faults never raises, load raises nothing but what it says, and the two agree."""
    faults, told = study.faults(place), stopped(place)
    assert (told is None) == (faults == [])
    assert told is None or told in faults
    assert len(set(faults)) == len(faults) and all("\n" not in fault and len(fault) > 30 for fault in faults)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """One copy of the demo, written over by each example."""
    place = tmp_path_factory.mktemp("scrambled")
    for name in FILES:
        shutil.copy(study.DEMO / name, place)
    return place


@settings(max_examples=80)
@given(at=st.sampled_from(SAID), value=st.sampled_from(VALUES))
def test_any_line_left_out_or_any_value_scrambled(bench, at, value):
    lines = list(LINES)
    key, equals, _ = lines[at].partition("=")
    lines[at] = "" if value is None else key + equals + value
    (bench / "study.toml").write_text("\n".join(lines), encoding="utf-8")
    hold_together(bench)


@settings(max_examples=80)
@given(name=st.sampled_from(FILES), where=st.floats(0, 1), cut=st.sampled_from([0, 1, 1, 7, 60]),
       put=st.sampled_from([b"", b'"', b"[", b"]", b"\n", b",", b"{", b"}", b"\xff", b"\xc3\xa9", b"=", b"#", b"\x00", b"9"]))
def test_any_letter_lost_or_put_in_any_file(bench, name, where, cut, put):
    text = DEMO[name].encode()
    at = int(where * (len(text) - 1))
    for each in FILES:
        (bench / each).write_bytes(text[:at] + put + text[at + cut:] if each == name else DEMO[each].encode())
    hold_together(bench)


def test_the_environment_does_not_say_which_folder_is_checked(folder, monkeypatch):
    monkeypatch.setitem(os.environ, "KIT_STUDY", "/nowhere")
    assert study.faults(folder()) == []


@pytest.mark.parametrize("value, rule, found", [("8 mm", "mm > 0", "8 mm"), ("0.03 mm", "mm/turn > 0", "0.03 mm"), (3, range(2, 5), 3), (2, float, 2.0), ("a", ["a", "b"], "a")])
def test_a_value_is_what_its_rule_says(value, rule, found):
    said = studyfile.value_of(value, rule, "key")
    assert (said.m, f"{said.units:~}") == (float(found.split()[0]), found.split()[1]) if isinstance(rule, str) else (said == found and type(said) is type(found))


# --- two names of one key, formats, and what is too deep ----------------------------------------------------------------------------------

def altered(tmp_path, *pairs, name="study.toml"):
    folder = tmp_path / "study"
    shutil.copytree(study.DEMO, folder)
    path = folder / name
    text = path.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return folder


def test_stock_is_another_word_for_stock_on_diameter(tmp_path):
    same = study.load(altered(tmp_path, ("stock_on_diameter = ", "stock = ")))
    assert same.provenance(1, 1)["inputs"] == study.load().provenance(1, 1)["inputs"]


def test_both_words_at_once_are_a_fault(tmp_path):
    [fault] = study.faults(altered(tmp_path, ('stock_on_diameter = "0.9 mm"', 'stock_on_diameter = "0.9 mm"\nstock = "0.4 mm"')))
    assert "'stock' and 'stock_on_diameter' are one thing; keep one" in fault
    assert f"line {line_of('stock_on_diameter = ' + chr(34) + '0.9 mm', TOML) + 1}" in fault


def test_a_step_of_thousands_of_passes_is_a_fault_with_its_line(tmp_path):
    found = study.faults(altered(tmp_path, ('stock_on_diameter = "0.9 mm"', 'stock_on_diameter = "0.9 um"')))
    assert found and all("makes" in fault and "look at its unit" in fault and ", line " in fault for fault in found)


def test_a_later_format_is_told_and_the_first_needs_no_word(tmp_path):
    [fault] = study.faults(altered(tmp_path, ('title = "The harbour dial"', 'format = 2\ntitle = "The harbour dial"')))
    assert "format 2 is of a later kit than this, which reads up to 1" in fault
    assert study.load(altered(tmp_path / "b", ('title = "The harbour dial"', 'format = 1\ntitle = "The harbour dial"')))


@pytest.mark.parametrize("text", ["x = " + "[" * 5000 + "]" * 5000, "correlations = " + "[" * 5000 + "]" * 5000])
def test_what_is_nested_out_of_sight_is_told(tmp_path, text):
    (tmp_path / "study.toml").write_text(text)
    assert "study.toml" in " ".join(study.faults(tmp_path))


@pytest.mark.parametrize("value", ["9" * 400, "1" + "0" * 400])
def test_numbers_of_hundreds_of_digits_are_told(tmp_path, value):
    folder = altered(tmp_path, ("r = 0.7", f"r = {value}"))
    assert all(len(fault) < 400 and "study.toml" in fault for fault in study.faults(folder)) and study.faults(folder)


# --- own rows that no formula can take ----------------------------------------------------------------------------------------------------

def test_a_row_of_a_single_number_is_correlated_with_nothing(tmp_path):
    """The demo ties the stroke's rate to its length; whoever knows the rate need not take that out."""
    folder = altered(tmp_path, name="assumptions.csv")
    with open(folder / "assumptions.csv", "a", encoding="utf-8") as file:
        file.write("drive.stroke_frequency,,60,,,,1/min,fixed,,own-trial,own-trial,,,\n")
    draws = study.load(folder).draws(256, seed=1)
    assert draws["drive.stroke_frequency"].m_as("1/min") == 60 and np.ptp(draws["drive.stroke_length"].m_as("m")) > 0.1


def test_long_strokes_of_the_demo_are_slow_ones():
    from scipy import stats
    draws = study.load().draws(2**12, seed=1)
    rank = stats.spearmanr(draws["drive.stroke_length"].m, draws["drive.stroke_frequency"].m).statistic
    assert rank == pytest.approx(-0.5, abs=0.03)


def test_an_absurd_own_range_is_told_with_its_row(tmp_path):
    folder = altered(tmp_path, name="assumptions.csv")
    with open(folder / "assumptions.csv", "a", encoding="utf-8") as file:
        file.write("drive.stroke_frequency,,0,,,,1/min,fixed,,own-trial,own-trial,,,\n")
    with pytest.raises(StudyError, match=r"stroke_frequency \(.*assumptions.csv, line \d+\)"):
        study.load(folder).assess(draws=64)


def test_an_own_row_drawn_for_each_tube_goes_through_the_log(tmp_path):
    folder = altered(tmp_path, name="assumptions.csv")
    with open(folder / "assumptions.csv", "a", encoding="utf-8") as file:
        file.write("drive.pull_one_minute,,,40,110,,N,lognormal,,own-trial,own-trial,each,,\n")
        file.write("alloy.kc11,,,800,1300,,MPa,lognormal,,own-trial,own-trial,each,,\n")
    text = (folder / "study.toml").read_text()
    (folder / "study.toml").write_text(text[:text.index("[[correlations]]")])   # it ties what is drawn once
    part = study.load(folder)
    log = bench_log.read(folder / "bench_log.csv")
    assert len(log.compare(part, draws=64)) == len(log.compare(study.load(), draws=64))
    assert part.assess(draws=64).chance >= 0
