"""kit.study: a folder that is read and judged, and every way in which it can be wrong."""
import re
import shutil
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import criteria, evidence, judge, stopping, study, tables, words
from kit.study import StudyError, worlds
from kit.units import Q
from kit.verdict import MATTERS, Line, first_of_each_kind

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

TOML = '''title = "Two sleeves"
invented = true
claim = "It could be made."

[part]
alloy = "tin bronze, cast"
bore = "5 mm"
wall = "0.4 mm"
clearance = "20 um"
length = "60 mm"

[[part.sleeves]]
name = "inner"
length = "80 mm"

[[part.sleeves]]
name = "outer"
wall = "0.5 mm"

[[part.barrels]]
name = "barrel"
bore = "16 mm"
wall = "2 mm"
core = "14 mm"

[workshop]
drive = "bow lathe"
pulley = "40 mm"
wrap = "2 turn"
cord = "gut on wood"
edge = "freshly ground"
tool_metal = "bloomery steel, not hardened"
edge_metal = "steel, hardened and tempered"
drilling = "half-round bit, work turning"
push = "lever"
arbor_metal = "wrought iron, worked"
blank_stock = "4 mm"
start_length = "25 mm"
jaws = 3
order = "bore first"
left_on = "10 um"

[tools.drill]
kind = "two-lip drill"
point = "flat drill, stoned thin"

[tools."half-round bit"]
kind = "half-round bit"
shank = "half-round"

[tools.reamer]
kind = "fluted reamer"
teeth = 6

[[routes.sleeve]]
operation = "drill"
held_by = "wooden clamp, fitted"
tool = "drill"
to = "4 mm"
feed = "0.02 mm"

[[routes.sleeve]]
operation = "ream"
held_by = "wooden clamp, fitted"
tool = "half-round bit"
to = "bore - 0.1 mm"
stock = "0.5 mm"
feed = "0.03 mm"
drive = "bow or hand"

[[routes.sleeve]]
operation = "ream"
held_by = "wooden clamp, fitted"
tool = "reamer"
to = "bore"
feed = "0.05 mm"
drive = "bow or hand"

[[routes.sleeve]]
operation = "turn"
held_by = "rosin with brick dust"
to = "outside"
depth = "0.1 mm"
feed = "0.03 mm"

[[routes.sleeve]]
operation = "lap"
held_by = "wooden clamp, fitted"
abrasive = "emery, coarse"
pressure = "30 kPa"
hours = "8 h"

[[routes.barrel]]
operation = "ream"
held_by = "wooden clamp, fitted"
tool = "half-round bit"
to = "bore"
stock = "1 mm"
feed = "0.03 mm"

[[correlations]]
keys = ["drive.pull_one_minute", "drive.pull_sustained"]
r = 0.7
'''
HEAD = "key,value,low,high,limits,unit,shape,dof,grade,source,drawn,note\n"
KC = "alloy.kc11,,900,1100,,MPa,lognormal,,own-trial,own-trial,,\n"


@pytest.fixture
def write(tmp_path):
    """Writes a study folder and loads it."""
    def written(text=TOML, rows=None, bib="", package=None):
        (tmp_path / "study.toml").write_text(text, encoding="utf-8")
        for name, content in (("assumptions.csv", rows), ("sources.bib", bib), ("datapackage.json", package)):
            if content is not None:
                (tmp_path / name).write_text(content, encoding="utf-8")
        return study.load(tmp_path)
    return written


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    folder = tmp_path_factory.mktemp("two")
    (folder / "study.toml").write_text(TOML, encoding="utf-8")
    return study.load(folder)


@pytest.fixture(scope="module")
def verdict(two):
    return two.assess(draws=2048, seed=1)


def line_of(fragment, text=TOML, nth=1):
    """Number of the nth line that holds the fragment."""
    return [i for i, line in enumerate(text.split("\n"), 1) if fragment in line][nth - 1]


# --- reading --------------------------------------------------------------------------------------------------------------------

def test_each_bore_is_the_last_outside_and_the_clearance(two):
    inner, outer, barrel = two.tubes
    assert [t.name for t in two.tubes] == ["inner", "outer", "barrel"]
    assert inner.bore.m_as("mm") == 5 and inner.outside.m_as("mm") == pytest.approx(5.8)
    assert outer.bore.m_as("mm") == pytest.approx(5.82) and outer.outside.m_as("mm") == pytest.approx(6.82)
    assert barrel.bore.m_as("mm") == 16 and barrel.core.m_as("mm") == 14 and inner.core.m_as("mm") == 0
    assert [t.length.m_as("mm") for t in two.tubes] == [80, 60, 60]   # its own, else that of the part
    assert [t.route for t in two.tubes] == ["sleeve", "sleeve", "barrel"]
    assert two.title == "Two sleeves" and two.invented and two.workshop.jaws == 3


def test_the_demo_loads_and_says_that_it_is_invented():
    demo = study.load()
    assert demo.invented and len(demo.tubes) == 5 and demo.folder.name == "harbour-dial"


def test_the_environment_may_name_the_study(two, monkeypatch):
    monkeypatch.setenv("KIT_STUDY", str(two.folder))
    assert study.load().title == "Two sleeves"


def test_the_steps_are_those_of_the_route(two):
    names = [s.name for s in two.steps(two.tubes[0])]
    assert names == ["drill to 4.00 mm", "half-round bit to 4.45 mm", "half-round bit to 4.90 mm", "reamer to 5.00 mm", "turn to 5.80 mm", "emery, coarse"]
    assert [s.name for s in two.steps(two.tubes[2])] == ["half-round bit to 15.00 mm", "half-round bit to 16.00 mm"]


def test_a_mark_before_the_first_letter_is_no_harm(tmp_path):
    (tmp_path / "study.toml").write_bytes(b"\xef\xbb\xbf" + TOML.encode())
    assert study.load(tmp_path).title == "Two sleeves"


def test_an_own_row_stands_instead_of_the_reference(write, two):
    own = write(rows=HEAD + KC)
    assert (own.assumptions["alloy.kc11"].low, own.assumptions["alloy.kc11"].grade) == (900, "own-trial")
    assert own.assumptions["alloy.hardness"] == two.assumptions["alloy.hardness"]
    assert np.std(own.draws(512, seed=1)["alloy.kc11"].m) < np.std(two.draws(512, seed=1)["alloy.kc11"].m)


def test_an_own_row_may_cite_the_studys_own_source(write):
    own = write(rows=HEAD + KC.replace("own-trial,own-trial", "text,someone_1900"), bib="@book{someone_1900,\n title={T}}\n")
    assert own.assumptions["alloy.kc11"].source == "someone_1900"


# --- what is wrong with a study.toml: place and remedy in one line ---------------------------------------------------------------

def change(old, new, nth=1, text=TOML):
    """The text with its nth `old` replaced, and the number of that line."""
    parts = text.split(old)
    assert len(parts) > nth, f"{old!r} is not there"
    return old.join(parts[:nth]) + new + old.join(parts[nth:])


def wrong(old, new, *said, nth=1, line=None, id=None):
    """A study.toml with one change; the words that must be said; the line of `line`, if one must be named."""
    return pytest.param(change(old, new, nth), said, line, id=id or f"{old.strip()} -> {new.strip()}"[:60].replace("\n", " "))


TABLES = re.sub(r"\[\[routes.*?(?=\[\[corr)", "", TOML, flags=re.S)
WRONG = [
    # a typo in a key: its line, its table, the nearest key
    wrong("pulley =", "pully =", "unknown key 'pully' in [workshop]; did you mean 'pulley'?", line="pully ="),
    wrong("title =", "titel =", "unknown key 'titel'; did you mean 'title'?", line="titel ="),
    wrong("alloy =", "aloy =", "unknown key 'aloy' in [part]; did you mean 'alloy'", line="aloy ="),
    wrong('wall = "0.5 mm"', 'wal = "0.5 mm"', "unknown key 'wal' in [part.sleeves, number 2]; did you mean 'wall' or 'alloy'?", line="wal ="),
    wrong("teeth =", "tooth =", "unknown key 'tooth' in [tools.reamer]; did you mean 'teeth'?", line="tooth ="),
    wrong("depth =", "dept =", "unknown key 'dept' in [routes.sleeve, step 4]; did you mean 'depth'", line="dept ="),
    wrong("r = 0.7", "rr = 0.7", "unknown key 'rr' in [correlations, number 1]", line="rr ="),
    wrong("[[part.barrels]]", "[[part.barels]]", "unknown key 'barels' in [part]; did you mean 'barrels'"),
    wrong("[workshop]", "[workshp]", "unknown key 'workshp'; did you mean 'workshop'?"),
    # a key that is missing
    wrong('title = "Two sleeves"\n', "", "at the top: 'title' is missing; add it there"),
    wrong('jaws = 3\n', "", "[workshop]: 'jaws' is missing; add it there"),
    wrong('name = "outer"\n', "", "[part.sleeves, number 2]: 'name' is missing"),
    wrong('kind = "fluted reamer"\n', "", "[tools.reamer]: 'kind' is missing"),
    wrong('operation = "turn"\n', "", "[routes.sleeve, step 4]: 'operation' is missing"),
    wrong('depth = "0.1 mm"\n', "", "[routes.sleeve, step 4]: a step that is to 'turn' needs 'depth'; add it there", line='operation = "turn"'),
    wrong('bore = "5 mm"\n', "", "[part]: give the first bore, for example bore = \"5 mm\""),
    wrong('wall = "0.4 mm"\n', "", "'inner' has no wall; give it there or in [part]", line='name = "inner"'),
    wrong('bore = "16 mm"\n', "", "[part.barrels, number 1]: 'bore' is missing"),
    # a value without its unit, of another kind, or that makes no sense: the line of that very table
    wrong('pulley = "40 mm"', "pulley = 40", "[workshop]: pulley: 40 has no unit; expected one like mm, for example pulley='8 mm'", line="pulley ="),
    wrong('pulley = "40 mm"', 'pulley = "40"', "[workshop]: pulley: Cannot convert from 'dimensionless' (dimensionless) to 'mm'", "for example pulley='8 mm'", line="pulley ="),
    wrong('pulley = "40 mm"', 'pulley = "40 N"', "argument 'pulley' takes a unit like mm, for example pulley='8 mm'", line="pulley ="),
    wrong('pulley = "40 mm"', 'pulley = "-40 mm"', "pulley: -40 mm makes no sense here; it must be > 0", line="pulley ="),
    wrong('pulley = "40 mm"', "pulley = nan", "pulley: nan has no unit", line="pulley ="),
    wrong('pulley = "40 mm"', 'pulley = "0,4 m"', "cannot read '0,4 m' as a number with its unit; write it like '8 mm' (decimal point", line="pulley ="),
    wrong('pulley = "40 mm"', 'pulley = ["40 mm"]', "pulley: ", line="pulley ="),
    wrong('wall = "0.5 mm"', 'wall = "0.5 kg"', "[part.sleeves, number 2]: wall: Cannot convert", line='wall = "0.5 kg"'),
    wrong('feed = "0.03 mm"', "feed = 0.03", "[routes.sleeve, step 4]: feed: 0.03 has no unit", nth=2, line="feed = 0.03"),
    wrong('to = "bore"', "to = 5", "[routes.sleeve, step 3]: to: expected text in quotes, got 5", line="to = 5"),
    wrong('tool = "reamer"', "tool = 5", "[routes.sleeve, step 3]: tool: expected text in quotes, got 5", line="tool = 5"),
    wrong("jaws = 3", "jaws = 1", "[workshop]: jaws: expected a whole number from 2 to 99, got 1", line="jaws ="),
    wrong("jaws = 3", "jaws = 3.5", "jaws: expected a whole number from 2 to 99, got 3.5", line="jaws ="),
    wrong("jaws = 3", "jaws = 3.0", "jaws: expected a whole number from 2 to 99, got 3.0", line="jaws ="),
    wrong("teeth = 6", "teeth = true", "teeth: expected a whole number from 1 to 99, got True", line="teeth ="),
    wrong("teeth = 6", "teeth = 0", "[tools.reamer]: teeth: expected a whole number from 1 to 99, got 0", line="teeth ="),
    wrong("invented = true", "invented = 1", "invented: expected true or false, got 1", line="invented ="),
    wrong('title = "Two sleeves"', "title = 5", "title: expected text in quotes, got 5", line="title ="),
    wrong("r = 0.7", 'r = "0.7"', "[correlations, number 1]: r: expected a number, got '0.7'", line='r = "0.7"'),
    # a word that is none of the known ones
    wrong('operation = "turn"', 'operation = "tun"', "[routes.sleeve, step 4]: operation: 'tun' is not one of its words; did you mean 'turn'?", line='"tun"'),
    wrong('tool = "reamer"', 'tool = "remer"', "[routes.sleeve, step 3]: no tool 'remer'; did you mean 'reamer'?", line='"remer"'),
    wrong('drive = "bow or hand"', 'drive = "bow or hands"', "[routes.sleeve, step 3]: drive: 'bow or hands' is not one of its words; did you mean 'bow or hand'",
          nth=2, line='"bow or hands"'),
    wrong('kind = "fluted reamer"', 'kind = "fluted"', "[tools.reamer]: kind: 'fluted' is not one of its words; did you mean 'fluted reamer'?", line='"fluted"'),
    wrong('shank = "half-round"', 'shank = "square"', "[tools.half-round bit]: shank: 'square' is not one of its words; known: 'round', 'half-round'",
          line='"square"'),
    wrong('order = "bore first"', 'order = "bore last"', "order: 'bore last' is not one of its words; did you mean 'bore first'", line="order ="),
    wrong('"tin bronze, cast"', '"tin bronse, cast"', "alloy: the table 'alloys' has nothing on 'tin bronse, cast'; did you mean 'tin bronze, cast'"),
    wrong('drive = "bow lathe"', 'drive = "bow lath"', "drive: the table 'drives' has nothing on 'bow lath'; did you mean 'bow lathe'"),
    wrong('abrasive = "emery, coarse"', 'abrasive = "emry, coarse"', "abrasive: the table 'abrasives' has nothing on 'emry, coarse'; did you mean 'emery, coarse'"),
    wrong('name = "outer"', 'name = "outer"\nroute = "sleev"', "tube 'outer' takes the route 'sleev', which is not there; did you mean 'sleeve'?"),
    # a route that cannot be
    wrong('to = "4 mm"', 'to = "4.95 mm"', "route 'sleeve' for 'inner': step 2 (ream): 'bore - 0.1 mm' is 4.9 mm, but the hole is 4.95 mm already; "
          "put the steps in order of size, or leave this one out"),
    wrong('to = "bore"', 'to = "bore + 1 mm"', "step 3 (ream): 'bore + 1 mm' is 6 mm, larger than the finished bore 5 mm; write 'bore', or less"),
    wrong('to = "outside"', 'to = "outside - 1 mm"', "step 4 (turn): 'outside - 1 mm' is 4.8 mm, smaller than the finished outside 5.8 mm"),
    wrong('to = "outside"', 'to = "20 mm"', "step 4 (turn): '20 mm' is 20 mm, but the outside is 9.8 mm already; put the steps in order"),
    wrong('to = "bore"', 'to = "bohr"', "route 'sleeve' for 'inner': diameter: cannot read 'bohr'"),
    wrong('to = "bore - 0.1 mm"', 'to = "bore - 0.1"', "route 'sleeve' for 'inner': Cannot convert", "argument 'diameter' takes a unit like mm"),
    wrong('core = "14 mm"', 'core = "17 mm"', "route 'barrel' for 'barrel': step 1 (ream): 'bore' is 16 mm, but the hole is 17 mm already"),
    # tubes
    wrong('name = "outer"', 'name = "inner"', "[part]: two tubes are called 'inner'; give each its own name"),
    wrong('name = "outer"', 'name = "outer"\nbore = "9 mm"', "sleeve 'outer' has a bore of its own; only the first bore is given, in [part]", line='name = "outer"'),
    wrong('clearance = "20 um"', 'clearance = "2 mm"', "'inner': a clearance of 2000 µm leaves no wall of 0.4 mm; give less clearance, or a thicker wall",
          id="clearance"),
    # correlations
    wrong('"drive.pull_sustained"', '"drive.pull_sustain"', "[correlations]: a correlation names 'drive.pull_sustain', which is not drawn; did you mean 'drive.pull_sustained'"),
    wrong("r = 0.7", "r = 1.2", "[correlations]: correlation of 'drive.pull_one_minute' with 'drive.pull_sustained' is 1.2: it must lie between -1 and 1"),
    wrong('"drive.pull_one_minute", ', "", "[correlations, number 1]: a correlation joins two keys, not 1", line="keys ="),
    wrong('"drive.pull_one_minute"', "3", "[correlations, number 1]: keys: expected text in quotes, got 3", line="keys ="),
    wrong("r = 0.7", 'r = 0.7\n[[correlations]]\nkeys = ["drive.pull_one_minute", "drive.pull_sustained"]\nr = 0.1', "stands twice; keep one of the two", id="twice"),
    # not TOML, or not the tables that are wanted
    wrong('pulley = "40 mm"', "pulley = 40 mm", "not readable as TOML", f"line {line_of('pulley =')}", "put text in double quotes"),
    wrong("[[correlations]]", "[correlations]", "correlations: expected a list, each entry under a heading in [[double brackets]]"),
    pytest.param(re.sub(r"\[\[part\..*?(?=\[workshop)", "", TOML, flags=re.S), ("[part]: no sleeves and no barrels; there is nothing to make",), None, id="no tubes"),
    pytest.param(TABLES, ("at the top: 'routes' is missing; add it there",), None, id="no routes"),
    pytest.param("routes = 3\n" + TABLES, ("routes: expected a table, its heading in [brackets], got 3",), "routes =", id="routes = 3"),
    pytest.param(TABLES + "[routes]\nsleeve = 3\n", ("routes.sleeve: expected a list, each entry under a heading in [[double brackets]], got 3",), None, id="route = 3"),
    pytest.param(TABLES + "[routes]\nsleeve = [3]\nbarrel = [4]\n", ("[routes.sleeve, step 1]: expected a table of keys and values, got 3",), None, id="step = 3"),
    pytest.param(TOML + "[workshop]\n", ("not readable as TOML",), None, id="table twice"),
    pytest.param("", ("at the top: 'title' is missing",), None, id="empty file"),
]


@pytest.mark.parametrize("text, said, line", WRONG)
def test_a_fault_is_told_in_one_line_with_place_and_remedy(tmp_path, text, said, line):
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    with pytest.raises(StudyError) as caught:
        study.load(tmp_path)
    message = str(caught.value)
    assert message.startswith(f"{tmp_path / 'study.toml'}") and "\n" not in message
    for told in said:
        assert told in message
    if line:
        assert message.startswith(f"{tmp_path / 'study.toml'}, line {line_of(line, text)}")


def test_a_file_that_is_no_text_or_not_there_is_told(tmp_path):
    with pytest.raises(StudyError, match="there is no such file; a study is a folder with a study.toml"):
        study.load(tmp_path / "nowhere")
    (tmp_path / "study.toml").write_bytes(TOML.encode() + b"# \xe9\n")
    with pytest.raises(StudyError, match=r"study\.toml: not UTF-8 text \(byte \d+\); save the file in UTF-8"):
        study.load(tmp_path)
    with pytest.raises(StudyError, match="there is no such file"):
        study.load(tmp_path / "study.toml")   # the file in place of its folder


@pytest.mark.parametrize("rows, bib, said", [
    ("", "", "assumptions.csv: the file is empty; its first line must name the columns: key, label, value, low"),
    (HEAD.replace("shape", "shap") + KC, "", "assumptions.csv, line 1: unknown column 'shap'; did you mean 'shape'?"),
    (HEAD.replace("shape,", "") + KC.replace("lognormal,", ""), "", "assumptions.csv, line 1: column 'shape' is missing; add it to the first line"),
    (HEAD + KC.replace("kc11", "kc1"), "", "assumptions.csv, line 2: 'alloy.kc1' is no assumption of this study; did you mean 'alloy.kc11'"),
    (HEAD + KC.replace("own-trial,own-trial", "own-trial,"), "", "assumptions.csv, line 2, column 'source': nothing there"),
    (HEAD + KC.replace("own-trial,own-trial", "text,someone_1900"), "@book{someone_1901,\n}", "'alloy.kc11' cites 'someone_1900', which is not in"),
    (HEAD + KC.replace("own-trial,own-trial", "text,someone_1900"), "@book{someone_1901,\n}", "did you mean 'someone_1901'"),
    (HEAD + KC, None, "sources.bib: there is no such file; an empty one will do where nothing is cited"),
    (HEAD + KC.replace(",,900", ",2000,900"), "", "assumptions.csv, line 2: alloy.kc11: value 2000 lies outside low 900 to high 1100 MPa"),
    (HEAD + KC.replace(",,900", ",910,900"), "", "line 2: alloy.kc11: value 910 contradicts low 900 and high 1100 MPa"),
    (HEAD + KC.replace("900,1100", "1100,900"), "", "line 2: alloy.kc11: low 1100 is not below high 900 MPa"),
    (HEAD + KC.replace("MPa", ""), "", "assumptions.csv, line 2: Cannot convert from 'dimensionless' (dimensionless) to 'MPa'"),
    (HEAD + KC.replace("MPa", "mm"), "", "argument 'alloy.kc11' takes a unit like MPa"),
    (HEAD + KC.replace("MPa", "MPz"), "", "line 2: alloy.kc11: cannot read the unit 'MPz' ('MPz' is no unit"),
    (HEAD + KC.replace("lognormal", "lognorm"), "", "line 2, column 'shape': 'lognorm' is not one of its words; did you mean 'lognormal'"),
    (HEAD + KC.replace("own-trial,own-trial", "guess,own-trial"), "", "line 2, column 'grade': 'guess' is not one of its words"),
    (HEAD + KC + KC, "", "assumptions.csv, line 3: alloy.kc11 stands already in line 2; keep one of the two"),
    (HEAD + KC.replace("900", "nine"), "", "line 2, column 'low': 'nine' is not a number"),
    (HEAD + KC.replace(",,\n", ",\n"), "", "line 2: 11 cells, but 12 columns")])
def test_a_fault_in_the_assumptions_is_told(write, rows, bib, said):
    with pytest.raises((StudyError, tables.TableError)) as caught:
        write(rows=rows, bib=bib)
    assert said in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize("package, said", [
    ('{"resources": []}', "datapackage.json: it lists no resource 'assumptions'; add it, or remove the file"),
    ('{"resources": [', "datapackage.json, line 1: not JSON"), ('{"resource": []}', "datapackage.json: it must list `resources`")])
def test_a_fault_in_the_datapackage_is_told(write, package, said):
    with pytest.raises((StudyError, tables.TableError)) as caught:
        write(rows=HEAD + KC, package=package)
    assert said in str(caught.value) and "\n" not in str(caught.value)


DEMO_LINES = (study.DEMO / "study.toml").read_text(encoding="utf-8").split("\n")
KEYED = [i for i, line in enumerate(DEMO_LINES) if re.match(r"\s*[\w\"]+\s*=|\s*\[", line)]


@pytest.mark.slow
@settings(max_examples=60)
@given(at=st.sampled_from(KEYED), how=st.sampled_from(["delete", "misspell", "number", "nothing", "negative", "text", "list"]), letter=st.sampled_from("xqz0 ."))
def test_no_single_slip_of_the_pen_gets_past_or_ends_in_a_riddle(tmp_path_factory, at, how, letter):
    """Any line of the demo deleted or misspelt: it loads, or is refused in one line of plain words; never a KeyError."""
    lines = list(DEMO_LINES)
    key, equals, value = lines[at].partition("=")
    lines[at] = {"delete": None, "misspell": key.rstrip()[:-2] + letter + key.rstrip()[-2:] + " " + equals + value, "number": key + equals + " 7",
                 "nothing": key + equals + ' ""', "negative": key + equals + ' "-3 mm"', "text": key + equals + ' "some words"',
                 "list": key + equals + ' [1, "a"]'}[how]
    folder = tmp_path_factory.mktemp("slip")
    shutil.copytree(study.DEMO, folder, dirs_exist_ok=True)
    (folder / "study.toml").write_text("\n".join(line for line in lines if line is not None), encoding="utf-8")
    try:
        study.load(folder).assess(draws=4)
    except (StudyError, tables.TableError) as fault:
        assert "\n" not in str(fault) and len(str(fault)) > 30


# --- variants ----------------------------------------------------------------------------------------------------------------------

def bores(one):
    return [round(t.bore.m_as("mm"), 9) for t in one.tubes]


def test_a_changed_wall_is_that_of_all_sleeves_and_later_bores_follow(two):
    thin = two.with_(wall="0.3 mm")
    assert [t.wall.m_as("mm") for t in thin.tubes] == [0.3, 0.3, 2]   # the barrel keeps its own
    assert bores(thin) == [5, 5.62, 16] and bores(two) == [5, 5.82, 16]


def test_one_tubes_wall_is_its_own(two):
    assert [t.wall.m_as("mm") for t in two.with_(**{"inner.wall": "0.3 mm"}).tubes] == [0.3, 0.5, 2]
    assert bores(two.with_(**{"inner.wall": "0.3 mm"})) == [5, 5.62, 16]
    assert bores(two.with_(**{"barrel.bore": "17 mm"})) == [5, 5.82, 17]


def test_a_tube_may_have_a_point_in_its_name(write):
    named = write(TOML.replace('name = "inner"', 'name = "no. 1"'))
    assert [t.wall.m_as("mm") for t in named.with_(**{"no. 1.wall": "0.3 mm"}).tubes] == [0.3, 0.5, 2]
    assert list(named.sweep("no. 1.wall", ["0.3 mm", "0.4 mm"], draws=16).index) and named.said("no. 1.wall") == "wall of the no. 1 sleeve"


def test_a_changed_first_bore_moves_the_nest(two):
    assert bores(two.with_(bore="6 mm")) == [6, 6.82, 16]
    assert bores(two.with_(clearance="50 um")) == [5, 5.85, 16]


def test_several_changes_at_once_and_the_study_stays_what_it_was(two):
    changed = two.with_(wall="0.3 mm", pulley=Q(3, "cm"), order="outside first", **{"alloy.kc11": "1000 MPa"})
    assert changed.workshop.pulley.m_as("mm") == 30 and changed.workshop.order == "outside first"
    assert changed.assumptions["alloy.kc11"].shape == "fixed" and changed.assumptions["alloy.kc11"].value == 1000
    assert two.workshop.pulley.m_as("mm") == 40 and two.assumptions["alloy.kc11"].shape == "lognormal"
    assert two.with_(alloy="tin bronze, annealed").assumptions["alloy.hardness"] != two.assumptions["alloy.hardness"]


def test_a_pinned_assumption_is_one_number_and_moves_no_other_draw(two):
    pinned = two.with_(**{"drift.drift": "1 mm/m", "drive.pull_sustained": "30 N"})
    before, after = two.draws(256, seed=5), pinned.draws(256, seed=5)
    assert after["drift.drift@inner"] == Q(1, "mm/m") and after["drive.pull_sustained"] == Q(30, "N")
    for key in before:
        if key.partition("@")[0] not in ("drift.drift", "drive.pull_sustained", "drive.pull_one_minute"):
            assert np.array_equal(before[key].m, after[key].m), key
    # what was tied to the pinned one is drawn alone now, from its own range
    one_minute = after["drive.pull_one_minute"].m
    assert np.quantile(one_minute, (0.05, 0.95)) == pytest.approx(two.assumptions["drive.pull_one_minute"].quantile([0.05, 0.95]), rel=0.02)


@pytest.mark.parametrize("changes, said", [
    ({"wal": "1 mm"}, "'wal' is neither a part key, a choice of the workshop nor an assumption; did you mean 'wall'"),
    ({"alloy.kc1": "1 MPa"}, "did you mean 'alloy.kc11'"),
    ({"inner.wal": "1 mm"}, "did you mean 'inner.wall'"),
    ({"iner.wall": "1 mm"}, "did you mean 'inner.wall'"),
    ({"wall": "0.3"}, "wall: Cannot convert from 'dimensionless' (dimensionless)"),
    ({"wall": 0.3}, "wall: 0.3 has no unit; expected one like mm, for example wall='8 mm'"),
    ({"wall": "0.3 N"}, "argument 'wall' takes a unit like mm"),
    ({"wall": "-0.3 mm"}, "wall: -0.3 mm makes no sense here; it must be > 0"),
    ({"wall": Q(np.array([0.3, 0.4]), "mm")}, "wall: expected one value, got 2"),
    ({"inner.bore": "6 mm"}, "'inner.bore' is not free: later bores are the last outside plus the clearance; change the first one, 'bore'"),
    ({"inner.route": "slive"}, "tube 'inner' takes the route 'slive', which is not there; did you mean 'sleeve'"),
    ({"order": "outside frist"}, "order: 'outside frist' is not one of its words; did you mean 'outside first'"),
    ({"jaws": 1}, "jaws: expected a whole number from 2 to 99"),
    ({"drive": "bow lath"}, "did you mean 'bow lathe'"),
    ({"alloy": "tin bronz, cast"}, "did you mean 'tin bronze, cast'"),
    ({"alloy.kc11": 1000}, "alloy.kc11: 1000 has no unit; expected one like MPa"),
    ({"alloy.kc11": "1000 mm"}, "argument 'alloy.kc11' takes a unit like MPa"),
    ({"alloy.kc11": Q(np.array([900.0, 1000]), "MPa")}, "alloy.kc11: expected one value, got 2"),
    ({"clearance": "3 mm"}, "leaves no wall")])
def test_a_change_that_cannot_be_is_told(two, changes, said):
    with pytest.raises(StudyError) as caught:
        two.with_(**changes)
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_only_some_tubes_keep_their_place_in_the_nest(two):
    outer = two.only("outer")
    assert bores(outer) == [5.82] and [t.name for t in outer.tubes] == ["outer"]
    assert bores(outer.with_(wall="0.3 mm")) == [5.62]   # the wall of the one inside it too
    assert {line.tube for line in outer.assess(draws=64).lines} == {"outer"}
    with pytest.raises(StudyError, match="there is no tube 'oter'; did you mean 'outer'"):
        two.only("oter")


def test_a_change_that_would_change_nothing_is_refused(two):
    with pytest.raises(StudyError, match="'wall' changes no tube here, for each has its own; name the tube, as in 'barrel.wall'"):
        two.only("barrel").with_(wall="1 mm")
    with pytest.raises(StudyError, match="'bore' changes no tube here"):
        two.only("barrel").with_(bore="1 mm")


# --- draws ------------------------------------------------------------------------------------------------------------------------------

def test_what_differs_from_tube_to_tube_is_drawn_for_each(two):
    draws = two.draws(512, seed=1)
    for key in ("drift.drift", "drift.entry_error", "arbor.play", "arbor.runout", "turned.form_error", "form.half-round bit.oversize"):
        own = [draws[f"{key}@{t.name}"].m for t in two.tubes]
        assert key not in draws and not np.array_equal(own[0], own[1])
        r = np.corrcoef(own[0], own[1])[0, 1]   # where the range lies is one for both; each differs by half of its spread
        assert 0.3 < r < 0.65, key
    assert "alloy.kc11" in draws and not any(key.startswith("alloy.kc11@") for key in draws)   # one metal for all


def test_what_goes_together_goes_together(two):
    from scipy.stats import spearmanr
    draws = two.draws(4096, seed=1)
    r = spearmanr(draws["drive.pull_one_minute"].m, draws["drive.pull_sustained"].m).statistic
    assert r == pytest.approx(6 / np.pi * np.arcsin(0.7 / 2), abs=0.02)   # of normal scores with r = 0.7
    assert abs(spearmanr(draws["drive.pull_one_minute"].m, draws["drive.rest_tension"].m).statistic) < 0.03


def test_a_tube_more_changes_the_others_by_chance_alone(two, verdict):
    """The points are spread anew for another number of columns, so the draws differ; what they say must not."""
    alone = two.only("inner").assess(draws=2048)
    for line in alone.lines:
        same = next(x for x in verdict.lines if (x.tube, x.criterion) == (line.tube, line.criterion))
        assert line.chance == pytest.approx(same.chance, abs=0.02)
        assert np.median(line.margin) == pytest.approx(np.median(same.margin), rel=0.05)


# --- a verdict --------------------------------------------------------------------------------------------------------------------------

def test_the_same_seed_gives_the_same_verdict(two, verdict):
    again, other = two.assess(draws=2048, seed=1), two.assess(draws=2048, seed=2)
    assert all(np.array_equal(a.margin, b.margin) for a, b in zip(verdict.lines, again.lines))
    assert again.words == verdict.words and again.table.equals(verdict.table)
    assert not np.array_equal(verdict.lines[0].margin, other.lines[0].margin)
    assert other.chance == pytest.approx(verdict.chance, abs=0.03)


def test_the_chance_is_that_of_all_in_one_draw(verdict):
    every = np.ones(2048, bool)
    for line in verdict.lines:
        every &= line.capacity >= line.demand
    assert verdict.chance == every.mean()
    assert 0 < verdict.chance <= min(verdict.chances.values()) <= min(line.chance for line in verdict.lines)
    assert verdict.chance > np.prod(list(verdict.chances.values()))   # steps share their draws, so they fail together
    for name, chance in verdict.chances.items():
        assert chance == verdict.met[name].mean()
        assert chance == np.logical_and.reduce([line.met for line in verdict.lines if line.criterion == name]).mean()


def test_a_line_holds_the_worst_place_of_each_draw(two):
    draws = two.draws(128, seed=1)
    case = criteria.Case(two.tubes[0], two.steps(two.tubes[0]), two.workshop, draws)
    for name in ("tool shank", "cord", "wall: pinch", "blank allowance"):
        found = criteria.CRITERIA[name](case)
        demand, capacity = np.broadcast_arrays(*(np.atleast_2d(q.m_as(found.unit)) for q in (found.demand, found.capacity)))
        line = Line.of("inner", name, found, 128, frozenset())
        worst = (capacity / demand).argmin(axis=0)
        assert np.array_equal(line.demand, demand[worst, range(128)]) and np.array_equal(line.capacity, capacity[worst, range(128)])
        assert np.array_equal(line.margin, (capacity / demand).min(axis=0))
        if found.places:
            assert line.where == found.places[np.bincount(worst).argmax()]


def test_where_nothing_is_asked_the_margin_is_infinite():
    found = criteria.Outcome(Q(np.array([[0.0, 1, 0], [1, 1, 0]]), "N"), Q(np.array([2.0, 2, 0]), "N"), "N", ("a", "b"))
    line = Line.of("t", "c", found, 3, frozenset())
    assert line.margin.tolist() == [2, 2, np.inf] and line.met.all() and line.where in "ab"


def line_like(verdict, name, margin):
    first = verdict.lines[0]
    return type(first)("t", name, "N", np.ones_like(margin), margin, margin, "", 0.0, first.used, (1.0, 1.0))


def test_the_limiting_step_is_that_of_least_chance_ties_by_median_margin(verdict):
    from dataclasses import replace
    a, b, c = (line_like(verdict, name, np.array(m)) for name, m in (("a", [0.5, 3, 9, 9]), ("b", [0.9, 2, 2, 9]), ("c", [1.0, 1.1, 1.2, 1.3])))
    for lines, expected in (((a, c), "a"), ((c, a), "a"), ((a, b, c), "b"), ((b, a, c), "b"), ((c,), "c")):
        assert replace(verdict, lines=lines).limiting == expected


def test_demand_and_capacity_in_the_table_are_those_of_the_place_it_names():
    """Two places that are worst in turn: a median over both would belong to neither."""
    demand = np.array([[4.0, 5, 6, 7], [1, 1, 1, 90]])
    found = criteria.Outcome(demand=Q(demand, "um"), capacity=Q(np.full((2, 4), 10.0), "um"), unit="um", places=("first", "second"))
    line = Line.of("t", "c", found, 4, frozenset())
    assert line.where == "first" and line.typical == (5.5, 10)
    assert line.demand.tolist() == [4, 5, 6, 90]   # the worst of each draw, for the margin


def test_the_table_has_a_row_for_each_criterion_of_each_tube(verdict):
    table = verdict.table
    assert list(table)[:14] == ["tube", "criterion", "where", "unit", "demand", "capacity", "margin", "margin_5", "margin_95", "chance", "by_hand",
                                "carried_by", "share", "weakest_evidence"]
    assert len(table) == len(verdict.lines) and not table.duplicated(["tube", "criterion"]).any()
    assert np.all(table.margin_5 <= table.margin) and np.all(table.margin <= table.margin_95)
    row, line = table.iloc[3], verdict.lines[3]
    assert (row.demand, row.capacity) == line.typical and row.chance == line.chance
    assert (row.margin_5, row.margin, row.margin_95) == tuple(np.quantile(line.margin, q) for q in (0.05, 0.5, 0.95))
    assert set(table.weakest_evidence) <= set(evidence.GRADES)
    barrel = set(table[table.tube == "barrel"].criterion)
    assert "drilling torque" not in barrel and "turning the outside" not in barrel and "reaming pass" in barrel


def test_the_words_say_what_is_said_and_what_is_not(verdict):
    said = verdict.words
    assert said.startswith(f"Under these inputs it is {worlds.likelihood(verdict.chance, verdict.worlds)} (chance {words.chance(verdict.chance)}, "
                           f"{verdict.worlds.said}; 2048 draws, seed 1) that every step")
    assert f"The step that limits it is '{verdict.limiting}' of the {verdict.limiting_line.tube} sleeve" in said
    assert said.endswith("This is the chance that capacity exceeds demand in the model; it does not say that the part was made so.")
    grade, key, criterion = verdict.weakest_evidence
    assert re.search(rf"Of the weakest grade \({grade}\), \d+ assumptions carry 5 % or more of some margin; the least certain step rests on the "
                     rf"{re.escape(verdict.study.labels[key])}, in '{re.escape(criterion)}'\.", said)
    assert key not in said and f"{len(verdict.warnings)} estimates went outside the range" in said
    assert str(verdict) == said and "\n" not in said


def test_the_words_tell_what_was_looked_at_and_what_the_hand_did(two):
    some = two.assess(draws=256, criteria=["least wall", "cord"])
    assert "that what was looked at (least wall, cord) is within reach" in some.words and "every step" not in some.words
    assert {line.criterion for line in some.lines} == {"least wall", "cord"}
    weak = two.with_(pulley="8 mm", edge="used").assess(draws=256)
    assert re.search(r"Reaming is finished by hand, with a wrench, in up to >?\d+ % of draws", weak.words)
    assert "wrench" not in two.with_(pulley="200 mm").assess(draws=256).words


@pytest.mark.parametrize("name", ["wall lefft", "walls"])
def test_an_unknown_criterion_is_told_with_the_nearest(two, name):
    with pytest.raises(StudyError, match=f"there is no criterion '{name}'; did you mean 'wall"):
        two.assess(draws=4, criteria=[name])


def test_criteria_that_no_tube_has_are_told(two):
    with pytest.raises(StudyError, match="no tube has a step that these criteria look at"):
        two.only("barrel").assess(draws=4, criteria=["drilling torque"])


@pytest.mark.parametrize("draws", [0, -5, 2.5])
def test_a_number_of_draws_that_is_none_is_told(two, draws):
    with pytest.raises(ValueError, match="the number of draws must be a whole number above 0"):
        two.assess(draws=draws)


def test_a_whole_number_in_powers_of_ten_is_a_number_of_draws(two):
    assert two.assess(draws=1e2, criteria=["cord"]).n == 100


def test_everything_pinned_gives_a_plain_yes_or_no(two):
    pins = {row.key.partition("@")[0]: row.middle for row in two.assumptions.values()}
    sure = two.with_(**pins).assess(draws=8)
    assert sure.chance in (0, 1) and np.ptp(sure.least_margin) == 0 and sure.weakest_evidence is None
    for free in ("margins.width", "drift.drift", "drive.pull_one_minute"):   # one alone drawn: shapes of every kind meet
        two.with_(**{k: v for k, v in pins.items() if k != free}).assess(draws=8)


def test_a_range_that_makes_no_sense_is_told_with_its_criterion(write):
    """A normal spread wide enough to reach below zero is seen when it is drawn."""
    own = write(rows=HEAD + KC.replace("900,1100", "-700,1400").replace("lognormal", "normal"))
    with pytest.raises(StudyError, match=r"'drilling torque' of 'inner': kc11: -[\d.]+ MPa makes no sense here; it must be > 0"):
        own.assess(draws=256)


def test_more_draws_than_fit_in_memory_are_taken_in_chunks(two, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 256)
    told = []
    many = two.assess(draws=900, seed=1, progress=lambda done, total: told.append((done, total)))
    assert (many.n, many.sample) == (900, 256) and told[0] == (256, 900) and told[-1] == (900, 900)
    parts = [two.assess(draws=256, seed=1), *(two.assess(draws=n, seed=1 + done) for done, n in ((256, 256), (512, 256), (768, 132)))]
    assert many.counts["all"] == sum(part.counts["all"] for part in parts)
    assert many.chance == many.counts["all"] / 900


def test_a_long_run_that_is_stopped_keeps_what_is_done(two, monkeypatch):
    monkeypatch.setattr(judge, "CHUNK", 256)
    monkeypatch.setattr(stopping, "in_notebook", lambda: True)

    def stop(done, total):
        if done > 256:
            raise KeyboardInterrupt
    with pytest.warns(UserWarning, match="stopped by hand after 512 of 2000 draws"):
        assert two.assess(draws=2000, progress=stop).n == 512


# --- warnings -----------------------------------------------------------------------------------------------------------------------------

def test_estimates_out_of_their_range_are_listed_and_do_not_leak(two):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        listed = two.assess(draws=256).warnings
    assert any("handbook's feed table" in text for text in listed)
    assert all(re.fullmatch(r"'.+' of .+: the .+ is \S.*; .+( \(<?\d+ % of draws lie outside\))?", text) for text in listed)
    shapes = [re.sub(r"^[^:]+: |<?[-.\d]+", "#", text) for text in listed]
    assert len(set(shapes)) == len(shapes)   # the same complaint of three tubes is one


def test_warnings_that_differ_in_numbers_alone_are_one():
    said = "the feed is {} mm; the table covers 0.01 to 1.5 mm ({} of draws lie outside)".format
    told = said("0.0050 (0.0026 to 0.0094)", "<1 %"), "the gap is ∞", said("0.2 (0.1 to 16\u202f384)", "96 %"), "the gap is 3.2"
    assert first_of_each_kind(told) == (said("0.0050 (0.0026 to 0.0094)", "<1 %"), "the gap is ∞")


def test_other_peoples_warnings_pass_through(two, monkeypatch):
    cord = criteria.CRITERIA["cord"]

    def complains(case):
        warnings.warn("the sky is falling", RuntimeWarning, stacklevel=1)
        return cord(case)
    monkeypatch.setitem(criteria.CRITERIA, "cord", complains)
    with pytest.warns(RuntimeWarning, match="the sky is falling"):
        assert not any("sky" in text for text in two.assess(draws=16, criteria=["cord"]).warnings)


# --- what carries it ------------------------------------------------------------------------------------------------------------------------

def test_influence_is_the_squared_rank_correlation(verdict):
    from scipy.stats import spearmanr
    line = next(x for x in verdict.lines if x.criterion == "wall: pinch")
    influence = verdict.influence(line)
    assert set(influence) == line.used and list(influence.values()) == sorted(influence.values(), reverse=True)
    for key, share in influence.items():
        assert share == pytest.approx(spearmanr(line.margin, verdict.draws[key].m).statistic**2, abs=1e-9)
    assert next(iter(influence)) == f"hand.pinch@{line.tube}" and 0.9 < sum(influence.values()) < 1.1


def test_an_own_row_is_drawn_as_often_as_the_reference_row_unless_it_says_otherwise(write):
    """A range of one's own for the drift of a bore is still one for each bore."""
    silent = write(rows=HEAD + "drift.drift,,0.5,2,,mm/m,lognormal,,own-trial,own-trial,,\n")
    said = write(rows=HEAD + "drift.drift,,0.5,2,,mm/m,lognormal,,own-trial,own-trial,once,\n")
    assert "drift.drift" not in silent.assumptions and any(key.startswith("drift.drift@") for key in silent.assumptions)
    assert "drift.drift" in said.assumptions


@pytest.mark.parametrize("low, high, weakest", [(5, 30, ("conjecture", "hand.pinch@inner")), (11.9, 12.1, ("handbook", "alloy.yield_strength"))])
def test_weak_evidence_counts_only_where_it_matters(write, low, high, weakest):
    """The pinch of the fingers is a conjecture; where its range is narrow it carries nothing, and the grade of the metal counts."""
    one = write(rows=HEAD + f"hand.pinch,,{low},{high},,N,lognormal,,conjecture,assumption,,\n")
    pins = {row.key.partition("@")[0]: row.middle for row in one.assumptions.values()} | {"model.wall_strength": 1}
    loose = one.with_(**{k: v for k, v in pins.items() if k not in ("hand.pinch", "alloy.yield_strength")})
    verdict = loose.assess(draws=1024, criteria=["wall: pinch"])
    assert verdict.weakest(verdict.lines[0]) == weakest
    assert verdict.weakest_evidence == (weakest[0], weakest[1].partition("@")[0], "wall: pinch")
    share = verdict.influence(verdict.lines[0])["hand.pinch@inner"]
    assert (share >= MATTERS) == (weakest[0] == "conjecture")


def test_the_weakest_evidence_of_all_is_that_of_any_step(write):
    one = write(rows=HEAD + "hand.pinch,12,,,,N,fixed,,recalled,from-memory,,\n")
    loose = one.with_(**{row.key.partition("@")[0]: row.middle for row in one.assumptions.values()
                         if row.key.partition("@")[0] not in ("alloy.yield_strength", "blank.cleanup") and row.shape != "fixed"})
    verdict = loose.assess(draws=512, criteria=["wall: pinch", "blank allowance"])
    assert {line.criterion: verdict.weakest(line)[0] for line in verdict.lines} == {"wall: pinch": "handbook", "blank allowance": "conjecture"}
    assert verdict.weakest_evidence == ("conjecture", "blank.cleanup", "blank allowance")


# --- sweeps ----------------------------------------------------------------------------------------------------------------------------------

def test_a_sweep_is_the_verdicts_one_by_one(two):
    table = two.sweep("wall", ["0.2 mm", "0.4 mm", "600 um"], draws=512, seed=3)
    assert table.index.tolist() == pytest.approx([0.2, 0.4, 0.6]) and table.index.name == "wall / mm"
    for value in (0.2, 0.4):
        one = two.with_(wall=Q(value, "mm")).assess(draws=512, seed=3)
        row = table.loc[value]
        assert row["all"] == one.chance and row["limiting"] == one.limiting and row["least wall"] == one.chances["least wall"]
        assert row["margin"] == np.median(one.least_margin)
    assert table["least wall"].is_monotonic_increasing and table["drilling torque"].nunique() == 1   # on the same draws
    assert table.attrs["n"] == 512 and table.attrs["seed"] == 3 and table.attrs["key"] == "wall"


@pytest.mark.parametrize("key, values, name, index", [
    ("order", ["bore first", "outside first"], "order", ["bore first", "outside first"]),
    ("jaws", [3, 4], "jaws", [3, 4]),
    ("model.removal", [0.5, 2], "model.removal", [0.5, 2]),
    ("pointer.service_torque", ["0.02 N*m", "50 N*mm"], "pointer.service_torque / N·m", [0.02, 0.05]),
    ("drift.drift", Q(np.array([0.5, 1.0]), "mm/m"), "drift.drift / mm/m", [0.5, 1]),
    ("drive", ["bow lathe", "turns"], "drive", ["bow lathe", "turns"])])
def test_whatever_can_be_changed_can_be_swept(two, key, values, name, index):
    table = two.sweep(key, values, draws=64)
    assert table.index.name == name and table.index.tolist() == index


@pytest.mark.parametrize("key, values, said", [
    ("wall", [], "wall: no values to sweep; give at least one"), ("wal", ["1 mm"], "did you mean 'wall'"), ("wall", ["1 mm", "2 N"], "takes a unit like mm"),
    ("wall", [0.3, 0.4], "wall: 0.3 has no unit"), ("order", ["bore last"], "did you mean 'bore first'")])
def test_a_sweep_that_cannot_be_is_told(two, key, values, said):
    with pytest.raises(StudyError) as caught:
        two.sweep(key, values, draws=16)
    assert said in str(caught.value) and "\n" not in str(caught.value)
