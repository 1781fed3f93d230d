"""kit.session: what learners type, the file of a group, the kit's own answers, and the groups compared."""
import math
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, strategies as st

from kit import answers, evidence, expectation, groupfile, session, study as studies, tables, trials
from kit.answers import AnswerError, answer, interval
from kit.groupfile import Locked, Taken
from kit.units import Q

STUDY = studies.load(groupfile.PIECE)
GUESS = {"wall": ("1.3", "1.45", "1.6"), "strokes": ("200", "400", "900"), "minutes": ("4", "8", "20"), "clearance": ("5", "20", "60")}


# What a learner types

@pytest.mark.parametrize(("text", "unit", "value"), [
    ("5", "mm", 5), ("about 5", "mm", 5), ("ca. 5", "mm", 5), ("ca 5", "mm", 5), ("~5", "mm", 5), ("≈ 5", "mm", 5), ("5,0", "mm", 5), ("5 mm", "mm", 5),
    ("5mm", "mm", 5), ("0.2in", "mm", 5.08), ('0.2"', "mm", 5.08), ("12 thou", "mm", 0.3048), ("1/8 in", "mm", 3.175), ("1 1/2 mm", "mm", 1.5),
    ("2½", "mm", 2.5), ("½ mm", "mm", 0.5), (",5", "mm", 0.5), (".5", "mm", 0.5), ("5.", "mm", 5), ("5?", "mm", 5), ("5 or so", "mm", 5), ("5ish", "mm", 5),
    ("about ca. ~ 5 mm, roughly", "mm", 5), ("approx. 1,45 MM", "mm", 1.45), ("+5", "mm", 5), ("5e-1", "mm", 0.5), ("1,234.5", "um", 1234.5),
    ("1.234,5", "um", 1234.5), ("1,234,567", "um", 1234567), ("0,012", "mm", 0.012), ("20 µm", "um", 20), ("20 μm", "um", 20), ("0.02 mm", "um", 20),
    ("20 microns", "mm", 0.02), ("1 thou", "um", 25.4), ("12 min", "min", 12), ("90 s", "min", 1.5), ("0.5 h", "min", 30), ("300 strokes", "strokes", 300),
    ("300 turns", "strokes", 300), ("0", "um", 0), (7, "mm", 7), (7.5, "mm", 7.5), ("٥", "mm", 5)])
def test_answers_as_people_write_them(text, unit, value):
    assert answer(text=text, unit=unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "says"), [
    ("", "nothing is written here"), ("   ", "nothing is written here"), (None, "nothing is written here"), ("about", "nothing is written here"),
    ("thick", "'thick': I find no number"), ("5 6", "more than one number"), ("5-6", "more than one number"), ("5 mm 6", "more than one number"),
    ("-5", "below zero"), ("−5", "below zero"), ("minus 5", "below zero"), ("5 kg", "'kg' after the number is no unit of a size in mm; I know mm, µm"),
    ("5 min", "no unit of a size"), ("5,000", "may mean 5000 or 5.000"), ("1.5.2", "where its decimal point is"), ("1/0", "divided by 0"),
    ("1e999", "too large"), ("1e308 in", "too large"), ("9" * 5000, "too large"), ("9" * 5000 + "/" + "9" * 5000, "too large"), ("nan", "no number"), ("inf", "no number")])
def test_what_cannot_be_taken_is_told_kindly(text, says):
    with pytest.raises(AnswerError, match=re.escape(says)):
        answer(text=text, unit="mm")


@pytest.mark.parametrize("text", ["1.500", "about 1.500 strokes", "1,500", "20.000"])
def test_a_count_with_a_separator_of_thousands_is_asked_for_again(text):
    with pytest.raises(AnswerError, match="may mean (1500 or 1.5|20000 or 20).*; write the (whole number alone|one you mean)"):
        answer(text=text, unit="strokes")
    assert answer(text="1500", unit="strokes") == 1500 and answer(text="1.500", unit="mm") == 1.5 and answer(text="1.500", unit="min") == 1.5


def test_a_complaint_shows_what_would_be_understood():
    for unit, example_ in (("mm", "1,5 mm"), ("um", "0.02 mm"), ("min", "about 12 min"), ("strokes", "about 300")):
        with pytest.raises(AnswerError, match=re.escape(example_)):
            answer(text="words", unit=unit)
        for text in re.search(r"for example (.*)$", str(pytest.raises(AnswerError, answer, "words", unit).value))[1].split(", or "):
            assert answer(text=text, unit=unit) > 0   # and it is understood


DRESSED = st.sampled_from(["{}", " {} ", "about {}", "ca. {}", "~{}", "{} {unit}", "{}{unit}", "about {} {unit}?", "{} {unit} or so", "+{}"])


@given(value=st.floats(0, 1e15), dress=DRESSED, unit=st.sampled_from(["mm", "um", "min", "strokes"]), comma=st.booleans())
@example(value=1e-5, dress="{}", unit="mm", comma=True)
@example(value=1.125, dress="about {}", unit="strokes", comma=False)
@example(value=5e-324, dress="{} {unit}", unit="um", comma=False)
def test_any_number_comes_back(value, dress, unit, comma):
    text = repr(value).replace(".", ",") if comma else repr(value)
    if comma and re.match(r"[1-9]\d{0,2},\d{3}(e|$)", text):   # 5,123 may mean two things, and is refused
        with pytest.raises(AnswerError, match="may mean"):
            answer(text=dress.format(text, unit=unit), unit=unit)
    elif unit == "strokes" and re.match(r"[1-9]\d{0,2}\.\d{3}(e|$)", text):   # so may 1.500 of what is counted
        with pytest.raises(AnswerError, match="may mean"):
            answer(text=dress.format(text, unit=unit), unit=unit)
    else:
        assert answer(text=dress.format(text, unit=unit), unit=unit) == value


@given(value=st.floats(1e-3, 1e6), given_=st.sampled_from([("in", 25.4), ("thou", 0.0254), ("cm", 10), ("um", 1e-3), ("mm", 1)]))
def test_other_units_of_length_are_turned_into_the_one_asked(value, given_):
    word, millimetres = given_
    assert answer(text=f"{value!r} {word}", unit="mm") == pytest.approx(value * millimetres, rel=1e-12)
    assert answer(text=f"{value!r}{word}", unit="um") == pytest.approx(value * millimetres * 1e3, rel=1e-12)


ANYTHING = st.one_of(st.text(max_size=40), st.text(alphabet="0123456789.,-+/ eE±~mincutho\"'", max_size=20), st.none(), st.floats(), st.integers())


@given(text=ANYTHING, unit=st.sampled_from(["mm", "um", "min", "strokes"]))
def test_arbitrary_text_gives_a_number_or_a_kind_word(text, unit):
    try:
        value = answer(text=text, unit=unit)
    except AnswerError as told:
        assert 10 < len(str(told)) < 400
    else:
        assert math.isfinite(value) and value >= 0


@given(low=ANYTHING, best=ANYTHING, high=ANYTHING)
def test_arbitrary_boxes_give_an_ordered_range_or_a_kind_word(low, best, high):
    try:
        found = interval(low=low, best=best, high=high, unit="mm")
    except AnswerError as told:
        assert str(told)
    else:
        assert 0 <= found.low <= found.best <= found.high < math.inf and found.low < found.high


def test_a_range_the_wrong_way_round_is_turned_and_told():
    found = interval(low="1.6", best="1.5", high="1.3", unit="mm")
    assert (found.low, found.best, found.high) == (1.3, 1.5, 1.6) and "they were exchanged" in found.told[0]
    assert interval(low="1.3", best="1.5", high="1.6", unit="mm").told == ()


@pytest.mark.parametrize(("text", "low", "best", "high"), [
    ("5-6", 5, 5.5, 6), ("5 – 6 mm", 5, 5.5, 6), ("5 to 6", 5, 5.5, 6), ("between 5 and 6 mm", 5, 5.5, 6), ("5 ± 1", 4, 5, 6), ("5 +/- 1 mm", 4, 5, 6),
    ("0.2-0.3 in", 5.08, 6.35, 7.62), ("6-5", 5, 5.5, 6), ("about 5,2-5,4", 5.2, 5.3, 5.4)])
def test_a_whole_range_may_stand_in_one_box(text, low, best, high):
    for boxes in ((text, "", ""), ("", text, None), ("", " ", text)):
        found = interval(low=boxes[0], best=boxes[1], high=boxes[2], unit="mm")
        assert (found.low, found.best, found.high) == pytest.approx((low, best, high)) and "was taken as" in found.told[0]


def test_one_number_is_no_range():
    with pytest.raises(AnswerError, match="^lowest: nothing is written here; highest: nothing is written here$"):
        interval(low="", best="5e-3", high="", unit="mm")
    with pytest.raises(AnswerError, match="^nothing is written here; what is asked is a size in mm, for example"):   # once, not thrice
        interval(low="", best=None, high=" ", unit="mm")


def test_a_missing_best_guess_is_the_middle_and_is_told():
    found = interval(low="4", best="", high="8", unit="min")
    assert found.best == 6 and "middle" in found.told[0]


def test_contradictions_in_a_range_are_told():
    with pytest.raises(AnswerError, match="best guess, 9.00 mm, lies outside its own range, 4.00 to 8.00 mm"):
        interval(low="4", best="9", high="8", unit="mm")
    with pytest.raises(AnswerError, match="leave some room"):
        interval(low="4", best="4", high="4", unit="mm")
    with pytest.raises(AnswerError, match="lowest: 'low'.*best guess: 'mid'.*highest: 'high'"):   # all at once
        interval(low="low", best="mid", high="high", unit="mm")


def test_a_number_that_the_piece_cannot_give_asks_for_the_unit():
    with pytest.raises(AnswerError, match="1300 mm is not possible for this piece .0.05 to 10 mm, or 0: broken through.*is the unit right"):
        answers.predicted(answers.ASKED["wall"], "1300", "1450", "1600")
    with pytest.raises(AnswerError, match="0.0200 µm .*or 0: it does not go in yet"):
        answers.predicted(answers.ASKED["clearance"], "0.02", "0.03", "0.04")
    assert answers.predicted(answers.ASKED["clearance"], "0", "10", "40").low == 0
    with pytest.raises(AnswerError):
        answers.predicted(answers.ASKED["minutes"], "0", "10", "40")


# The file of a group

@pytest.fixture
def group(tmp_path):
    return groupfile.start(folder=tmp_path / "été of groups", group="b 7")


def full(group):
    group, _ = group.predict(GUESS)
    group = group.measure("wall", "A", ["1.44", "1,45", "1.44 mm"]).measure("wall", "B", ["1.46", "1.45", "1.47"])
    group = group.measure("strokes", "A", ["412"]).measure("clearance", "A", ["18", "20", "19"])
    return group.argue(word="likely", rival="cast on a core, then \"lapped\"", because="lapping, slow\nbut sure").card(learnt="to wait", question="")


def test_a_group_begins_with_its_code_in_capitals(group):
    assert group.code == "B7" and group.path.name == "group-B7.csv" and group.rows == group.faults == ()


@pytest.mark.parametrize("text", ["", None, "Ann Smith-Jones", "a/b", "..", "né", "123456789"])
def test_a_code_is_letters_and_digits(text, tmp_path):
    with pytest.raises(AnswerError, match="no names of people"):
        groupfile.start(folder=tmp_path, group=text)
    assert list(tmp_path.iterdir()) == []


def test_what_is_entered_is_kept(group):
    group = full(group)
    assert group == groupfile.read(group.path) and group.faults == ()
    assert {k: (r["low"], r["value"], r["high"], r["unit"]) for k, r in group.predictions.items()} == {
        "wall": (1.3, 1.45, 1.6, "mm"), "strokes": (200, 400, 900, "strokes"), "minutes": (4, 8, 20, "min"), "clearance": (5, 20, 60, "um")}
    assert group.readings == {"wall": {"A": [1.44, 1.45, 1.44], "B": [1.46, 1.45, 1.47]}, "strokes": {"A": [412]}, "clearance": {"A": [18, 20, 19]}}
    assert group.words("verdict") == {"word": "likely", "rival": 'cast on a core, then "lapped"', "because": "lapping, slow but sure"}
    assert group.words("minute-card") == {"learnt": "to wait"}
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d", row["time"]) for row in group.rows)


def test_the_file_reads_by_its_own_schema(group):
    rows = tables.read(full(group).path, groupfile.schema())
    assert len(rows) == len(groupfile.read(group.path).rows) == 18 and rows[0]["quantity"] == "wall" and rows[0]["value"] == 1.45


def test_a_prediction_is_locked_and_the_first_is_shown(group):
    group, told = group.predict(GUESS)
    assert told == []
    before = group.path.read_bytes()
    with pytest.raises(Locked, match=r"group B7 has predicted already, and that stands: wall: 1.30 to 1.60 mm, best guess 1.45, at \d\d:\d\d.*clearance: 5.00 to 60.0 µm"):
        group.predict({k: ("1", "2", "3") for k in GUESS})
    with pytest.raises(Locked):
        group.predict({"wall": ("1", "2", "3")})
    assert group.path.read_bytes() == before


def test_a_prediction_made_meanwhile_by_another_kernel_is_not_written_over(group):
    groupfile.read(group.path).predict(GUESS)
    with pytest.raises(Locked):
        group.predict(GUESS)   # `group` was read before
    assert len(groupfile.read(group.path).rows) == 4


def test_of_two_predictions_in_a_file_the_first_stands(group):
    group = group.predict(GUESS)[0]._with([{"kind": "prediction", "quantity": "wall", "low": 1, "value": 2, "high": 3, "unit": "mm"}])
    assert group.predictions["wall"]["value"] == 1.45 and len(group.rows) == 5


def test_all_of_a_prediction_is_kept_or_none(group):
    with pytest.raises(AnswerError, match="wall: the best guess.*strokes: lowest: 'many'"):
        group.predict(GUESS | {"wall": ("1", "5", "2"), "strokes": ("many", "400", "500")})
    assert groupfile.read(group.path).rows == ()
    with pytest.raises(AnswerError, match="did you mean 'wall'"):
        group.predict({"walls": ("1", "2", "3")})


def test_what_was_turned_round_is_told(group):
    _, told = group.predict(GUESS | {"wall": ("1.6", "1.45", "1.3"), "minutes": ("4-20", "", "")})
    assert len(told) == 2 and told[0].startswith("wall: the lowest was above the highest") and told[1].startswith("minutes: '4-20' was taken as")


def test_readings_are_added_and_never_replaced_unasked(group):
    group = group.measure("clearance", "a", ["18", "", "20"])
    with pytest.raises(AnswerError, match="A has read the clearance already"):
        group.measure("clearance", "A", ["8"])
    group = group.measure("clearance", "A", ["80", "82"], instead="typed the tens wrong").measure("clearance", "B", ["79"])
    assert group.readings["clearance"] == {"A": [80, 82], "B": [79]}
    assert [row["value"] for row in group.rows] == [18, 20, 80, 82, 79]   # what was first is still there
    assert group.rows[2]["note"] == "instead: typed the tens wrong" and group.rows[3]["note"] == ""


def test_readings_that_cannot_be_taken_are_told(group):
    with pytest.raises(AnswerError, match="reading 2: 'wide'.*reading 3: 5000 µm is not possible"):
        group.measure("clearance", "A", ["18", "wide", "5000"])
    with pytest.raises(AnswerError, match="no reading is written; type what A read, in µm"):
        group.measure("clearance", "A", ["", " "])
    with pytest.raises(AnswerError, match="a reader's code"):
        group.measure("clearance", "", ["18"])
    assert groupfile.read(group.path).rows == ()


def test_a_verdict_needs_a_word_of_the_scale_and_a_rival(group):
    with pytest.raises(AnswerError, match="did you mean .*'likely'"):
        group.argue(word="likly", rival="casting")
    with pytest.raises(AnswerError, match="no rival is named"):
        group.argue(word="likely", rival=" \n")
    with pytest.raises(AnswerError, match="the card is empty"):
        group.card(learnt=" ")
    assert groupfile.read(group.path).rows == ()


@given(note=st.text(max_size=60))
def test_any_words_come_back_on_one_line(note, tmp_path_factory):
    group = groupfile.start(folder=tmp_path_factory.mktemp("g"), group="A").card(learnt="x" + note, question=note or "?")
    assert group.faults == () and len(group.path.read_bytes().split(b"\n")) == 2 + len(group.rows)
    assert group.words("minute-card")["learnt"].split() == groupfile.on_one_line("x" + note).split()
    assert group.words("minute-card").get("question", "") == groupfile.on_one_line(note or "?")   # "=1+1" as well


def test_a_fresh_process_reads_the_same(group):
    group = full(group)
    code = f"from kit import groupfile; g = groupfile.read({str(group.path)!r}); print(len(g.rows), len(g.faults), sorted(g.predictions), g.rows[-1]['chain'])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == f"{len(group.rows)} 0 {sorted(GUESS)} {group.rows[-1]['chain']}"


def test_after_a_restart_the_prediction_stays_locked(group):
    group.predict(GUESS)
    again = groupfile.start(folder=group.path.parent, group="B7", resume=True)
    assert set(again.predictions) == set(GUESS)
    with pytest.raises(Locked):
        again.predict(GUESS)


def test_two_groups_with_one_code_on_one_machine(group):
    group = group.measure("strokes", "A", ["400"])
    with pytest.raises(Taken, match=r"group B7 is on this machine already, with 1 row, the first at \d\d:\d\d. If that is you, go on with it; if not, take another code, for instance B72"):
        groupfile.start(folder=group.path.parent, group="b7")
    assert groupfile.start(folder=group.path.parent, group="b7", resume=True) == group


def test_another_kernel_may_have_written_meanwhile(group):
    other = groupfile.read(group.path).measure("strokes", "A", ["400"])
    mine = group.measure("strokes", "B", ["401"])   # `group` was read before
    assert mine.readings["strokes"] == {"A": [400], "B": [401]} and mine.faults == other.faults == ()


# A file that was changed, cut or copied

def test_a_row_changed_later_shows(group):
    group = full(group)
    lines = group.path.read_text(encoding="utf-8").split("\n")
    for place in range(1, len(lines) - 1):
        for old, new in (("0", "1"), ("B7", "C7")):
            cells = lines[place].rsplit(",", 1)
            changed = cells[0].replace(old, new, 1) + "," + cells[1]
            group.path.write_text("\n".join([*lines[:place], changed, *lines[place + 1:]]), encoding="utf-8")
            read = groupfile.read(group.path)
            assert len(read.rows) == len(group.rows) and any(f"line {place + 1} (" in fault and "changed" in fault for fault in read.faults)


def test_a_row_taken_out_or_put_in_or_moved_shows(group):
    group = full(group)
    lines = group.path.read_text(encoding="utf-8").split("\n")
    for made in ([*lines[:3], *lines[4:]], [*lines[:3], lines[2], *lines[3:]], [lines[0], lines[2], lines[1], *lines[3:]]):
        group.path.write_text("\n".join(made), encoding="utf-8")
        assert any("changed after it was written" in fault for fault in groupfile.read(group.path).faults)


def test_a_changed_digest_shows(group):
    group = group.measure("strokes", "A", ["400"])
    group.path.write_text(group.path.read_text(encoding="utf-8").replace(group.rows[0]["chain"], "0" * 12), encoding="utf-8")
    assert len(groupfile.read(group.path).faults) == 1


def test_a_file_cut_at_every_byte_keeps_the_good_rows_and_tells_the_loss(group):
    whole = full(group).path.read_bytes()
    every, header = groupfile.read(group.path).rows, whole.index(b"\n") + 1
    for cut in range(len(whole) + 1):
        group.path.write_bytes(whole[:cut])
        read = groupfile.read(group.path)
        complete = whole[header:cut].count(b"\n") if cut >= header else 0
        rest = whole[max(header, whole[:cut].rfind(b"\n") + 1):cut]
        lacks_its_end_alone = cut >= header and whole[cut:cut + 1] == b"\n" and rest   # nothing of that row is lost
        kept = complete + bool(lacks_its_end_alone)
        assert read.rows == every[:kept]
        lost = bool(rest) and not lacks_its_end_alone or 0 < cut < header - 1
        assert len(read.faults) == lost and all("cut short" in fault for fault in read.faults)


def test_after_a_cut_the_group_goes_on_and_nothing_that_was_there_is_lost(group):
    whole = full(group).path.read_bytes()
    for cut in (0, 5, whole.index(b"\n"), whole.index(b"\n") + 1, len(whole) // 2, len(whole) - 3, len(whole) - 1):
        group.path.write_bytes(whole[:cut])
        before = groupfile.read(group.path)
        after = before.measure("minutes", "A", ["9"])
        assert after.rows[:-1] == before.rows and after.readings["minutes"] == {"A": [9]}
        assert not any("changed" in fault for fault in after.faults)
        header = whole.index(b"\n") + 1
        if cut >= header:
            assert after.path.read_bytes().startswith(whole[:cut])   # the spoilt half line as well
        again = after.measure("minutes", "B", ["8"])
        assert again.rows[:-1] == after.rows


def test_a_prediction_lost_in_a_cut_may_be_given_again_and_the_kept_ones_stay_locked(group):
    whole = group.predict(GUESS)[0].path.read_bytes()
    group.path.write_bytes(whole[:whole.index(b"minutes") + 3])
    cut = groupfile.read(group.path)
    assert set(cut.predictions) == {"wall", "strokes"}
    with pytest.raises(Locked):
        cut.predict(GUESS)
    assert set(cut.predict({k: GUESS[k] for k in ("minutes", "clearance")})[0].predictions) == set(GUESS)


def test_spoilt_bytes_in_the_middle_are_told_and_left_out(group):
    group = full(group)
    lines = group.path.read_bytes().split(b"\n")
    for spoilt in (b"\xff\xfe\x00", b"a,b", b'"open', lines[3].replace(b"prediction", b"forecast"), lines[3].replace(b"4.0", b"-4.0"), lines[3].replace(b"4.0", b"inf")):
        group.path.write_bytes(b"\n".join([*lines[:3], spoilt, *lines[4:]]))
        read = groupfile.read(group.path)
        assert len(read.rows) == len(group.rows) - 1 and "line 4 is cut short or damaged, and left out" in read.faults


def test_a_spreadsheets_marks_are_no_fault(group):
    group = full(group)
    group.path.write_bytes(b"\xef\xbb\xbf" + group.path.read_bytes().replace(b"\n", b"\r\n"))
    read = groupfile.read(group.path)
    assert read.rows == group.rows and read.faults == () and read.measure("minutes", "A", ["9"]).faults == ()


def test_a_file_that_is_no_groups(tmp_path):
    path = tmp_path / "other.csv"
    path.write_text("a,b\n1,2\n")
    with pytest.raises(tables.TableError, match="no group's file"):
        groupfile.read(path)
    with pytest.raises(tables.TableError, match="no such file"):
        groupfile.read(tmp_path / "none.csv")


def test_a_crash_while_writing_loses_no_row(group, monkeypatch):
    group = full(group)
    before = group.path.read_bytes()
    for broken in ("replace", "fsync"):
        with monkeypatch.context() as patch:
            patch.setattr(os, broken, lambda *a: (_ for _ in ()).throw(OSError(28, "No space left on device")))
            with pytest.raises(OSError, match="No space"):
                group.measure("minutes", "A", ["9"])
        assert group.path.read_bytes() == before
        assert {p.name for p in group.path.parent.iterdir()} == {group.path.name, f".{group.path.name}.lock"}   # the lock stays, empty
    group.path.chmod(0o640)
    assert group.measure("minutes", "A", ["9"]).path.stat().st_mode & 0o777 == 0o640


# Files collected from several laptops

def test_two_files_that_claim_one_code_are_told_apart(tmp_path):
    one = groupfile.start(folder=tmp_path / "laptop 1", group="A").measure("strokes", "R1", ["400"])
    two = groupfile.start(folder=tmp_path / "laptop 2", group="A").measure("strokes", "R1", ["500"]).measure("minutes", "R1", ["5"])
    groupfile.start(folder=tmp_path / "laptop 2", group="C").measure("strokes", "R1", ["300"])
    found = groupfile.collect(tmp_path)
    assert {g.label: g.readings["strokes"]["R1"] for g in found.groups} == {"A": [500], "A (2)": [400], "C": [300]}
    assert len(found.told) == 1 and "two files claim the code A" in found.told[0] and str(one.path) in found.told[0] and str(two.path) in found.told[0]
    table = session.compare(found.groups, STUDY, draws=2**8)
    assert set(table["group"]) == {"A", "A (2)", "C"}


def test_copies_of_one_file_are_not_two_groups(tmp_path):
    group = groupfile.start(folder=tmp_path / "laptop", group="A").measure("strokes", "R1", ["400"])
    (tmp_path / "stick").mkdir()
    (tmp_path / "stick" / "early.csv").write_bytes(group.path.read_bytes())
    group = group.measure("minutes", "R1", ["5"])
    (tmp_path / "stick" / "same.csv").write_bytes(group.path.read_bytes())
    found = groupfile.collect(tmp_path)
    assert [g.label for g in found.groups] == ["A"] and len(found.groups[0].rows) == 2 and len(found.told) == 2


@pytest.mark.parametrize("code", ["<script>x</script>", "</td>", "{{x}}", "../../x", "$\\frac{$", "=1+1", ""])
def test_a_group_that_calls_itself_what_is_no_code_is_called_after_its_file(tmp_path, code):
    group = groupfile.start(folder=tmp_path, group="A")
    replace(group, code=code)._with([{"kind": "minute-card", "quantity": "learnt", "note": "x"}])
    found = groupfile.collect(tmp_path)
    if code:
        assert [(g.code, g.label) for g in found.groups] == [("A", "A")] and "which is no code" in found.told[0]
    else:
        assert "damaged" in found.told[0]   # a row without a group is none


def test_collecting_tells_of_faults_and_of_files_that_are_no_groups(tmp_path):
    group = groupfile.start(folder=tmp_path, group="A").measure("strokes", "R1", ["400"])
    group.path.write_bytes(group.path.read_bytes() + b"2026-01-")
    (tmp_path / "plan.csv").write_text("x,y\n")
    groupfile.start(folder=tmp_path, group="EMPTY")
    found = groupfile.collect(tmp_path)
    assert [g.code for g in found.groups] == ["A", "EMPTY"] and len(found.told) == 2
    assert any("plan.csv" in t and "no group's file" in t for t in found.told) and any(t.startswith("A, group-A.csv: line 3 is cut short") for t in found.told)
    assert groupfile.collect(tmp_path / "nowhere") == groupfile.Collected((), ())


# The kit's own answers

def pinned(**values):
    """The study, and the learners, with every assumption at its median, or at the value given: {key, without its tube: draws}."""
    rows = {k.partition("@")[0]: a.middle for k, a in (STUDY.assumptions | session.learners(STUDY)).items()}
    assert set(values) <= set(rows)
    return {k: Q(np.full(3, q.m), q.units) for k, q in (rows | values).items()}


def at(study=STUDY, **values):
    from kit.criteria import Case
    tube = study.tubes[0]
    case = Case(tube, study.steps(tube), study.workshop, pinned(**values), study.use)
    return {key: float(np.ravel(value)[0]) for key, (value, _) in expectation.quantities(case).items()}


def plain(key):
    return pinned()[key].m[0]


def test_strokes_and_minutes_worked_by_hand():
    """Two passes of 30 mm at 0.05 mm a turn: 600 turns each. A stroke, push and pull, is 2 L of cord, of which duty cuts."""
    turns = 2 * 30 / (0.05 * plain("learner.feed"))
    a_stroke = 2 * plain("drive.stroke_length") * 1000 / (math.pi * 40) * plain("drive.duty")
    found = at()
    assert found["strokes"] == pytest.approx(turns / a_stroke, rel=1e-9)
    assert found["minutes"] == pytest.approx(turns / a_stroke / plain("drive.stroke_frequency"), rel=1e-9)
    assert at(**{"learner.feed": Q(2 * plain("learner.feed"), "")})["strokes"] == pytest.approx(found["strokes"] / 2, rel=1e-9)


def test_by_hand_a_turn_of_the_wrench_is_a_stroke():
    by_hand = STUDY.with_(**{"piece.route": "by hand", "order": "outside first"})
    found = at(by_hand)
    assert found["strokes"] == pytest.approx(30 / (0.3 * plain("learner.feed")), rel=1e-9)   # one pass, 0.3 mm a turn
    assert found["minutes"] == pytest.approx(found["strokes"] / plain("learner.wrench_rate"), rel=1e-9)


def test_a_weak_arm_feeds_less_and_no_hand_feeds_less_than_bites():
    strong, weak = at(), at(**{"drive.pull_one_minute": Q(1.8, "N"), "drive.pull_sustained": Q(1.8, "N")})
    assert weak["strokes"] > 1.5 * strong["strokes"]
    timid = at(**{"learner.feed": Q(1e-3, "")})
    passes = 0   # one edge: feed a turn is the chip, and an edge that has come so far is no longer as sharp
    for diameter in (7.7, 8.0):
        way = math.pi * diameter * 30 / 0.05 * 1e-3   # m, at the feed planned
        lost = plain("edge_life.wear_coefficient") * way * max(plain("chip.hardness"), plain("alloy.hardness")) / plain("edge_metal.hardness")
        radius = plain("edge.edge_radius") + min(lost, plain("edge_life.allowed_recession"))
        passes += 30 / (plain("edge.least_chip_ratio") * radius * 1e-3)
    assert timid["strokes"] == pytest.approx(strong["strokes"] * passes / (2 * 30 / (0.05 * plain("learner.feed"))), rel=1e-9)


def test_wall_worked_by_hand():
    from kit import walls
    drift = {line: plain("model.drift") * plain(f"{line}.drift") * 1e-3 * 30 for line in ("lead", "drift")}
    own = {line: walls.bore_bow(drift=Q(each / 30, ""), length="30 mm", share=plain("arbor.bow_share")).m_as("mm") for line, each in drift.items()}
    play = (plain("arbor.play") + plain("arbor.runout")) / 2 * 1e-3
    share = plain("form.half-round bit.left")   # of the old hole's line; the rest is the bit's own, here square to it
    bowed = math.hypot(share * own["lead"], (1 - share) * own["drift"])
    lost = play + bowed + plain("form.half-round bit.oversize") / 2 * 1e-3 + plain("learner.form_error") / 4 * 1e-3
    assert at()["wall"] == pytest.approx(1.5 - lost, rel=1e-9)
    assert at(**{"learner.size_miss": Q(-0.1, "mm")})["wall"] == pytest.approx(1.45 - lost, rel=1e-9)
    assert at(**{"form.half-round bit.oversize": Q(5, "mm")})["wall"] == 0
    outside_first = at(STUDY.with_(**{"piece.route": "by hand", "order": "outside first"}))["wall"]
    off = {line: each + plain(f"{line}.entry_error") for line, each in drift.items()}   # all of it is left: nobody turned the outside
    wander = math.hypot(share * off["lead"], (1 - share) * off["drift"])
    assert outside_first == pytest.approx(1.5 - wander - plain("form.half-round bit.oversize") / 2 * 1e-3, rel=1e-9)


def test_clearance_worked_by_hand():
    """Archard: the radius falls by K p v / H; 30 min of which the attended share is spent, on both sides; the skin is harder."""
    speed = 2 * plain("drive.stroke_length") * plain("drive.stroke_frequency") / (math.pi * 0.040) / 60 * 2 * math.pi * 0.004   # m/s at 4 mm
    hardness = plain("alloy.hardness") * plain("skin.hardening") * 9.80665e6
    rate = plain("model.removal") * plain("abrasive.emery, fine.wear_coefficient") * 160e3 * speed / hardness   # emery is far harder than bronze
    removed = 2 * rate * plain("drive.attended") * 1800 * 1e6   # um, at the most that the plan lets the hand press
    from kit import criteria
    case = criteria.Case(STUDY.tubes[0], STUDY.steps(STUDY.tubes[0]), STUDY.workshop, pinned(), STUDY.use)
    lap = case.done("lap")[0]
    assert lap.setting.m_as("kPa").min() == pytest.approx(160)
    sag = 2 * (case.done("turn")[0].form - Q(plain("turned.form_error"), "um"))[0].m_as("um") / 2   # of the tube under the tool
    form = (plain("turned.form_error") + sag + 2 * plain("form.half-round bit.out_of_round") + plain("form.half-round bit.taper") * 30) / 2
    start = form + lap.straightened.m_as("um")[0]
    assert lap.straightened.m_as("um")[0] < lap.found.bow.m_as("um")[0]
    wanted = max(15 + plain("lapped.overrun"), lap.leaves.grain_clearance.m_as("um")[0]) + lap.leaves.bow.m_as("um")[0]
    slow = at(**{"drive.attended": Q(0.3, "")})["clearance"]
    assert slow == pytest.approx(removed * 0.3 / plain("drive.attended") - start, rel=1e-3) and 0 < slow < wanted   # stopped by the clock
    always = at(**{"drive.attended": Q(1, "")})["clearance"]
    assert removed / plain("drive.attended") - start > wanted and always == pytest.approx(wanted, rel=1e-9)   # stopped by the hand
    assert at(**{"drive.attended": Q(0.01, "")})["clearance"] == 0                                 # it does not go in


def test_expected_gives_ordered_numbers_their_unit_and_what_drives_them():
    table = session.expected(STUDY, draws=2**11, seed=1)
    assert list(table.index) == list(answers.ASKED) and list(table["unit"]) == ["mm", "strokes", "min", "um"]
    assert (table["low_5"] <= table["median"]).all() and (table["median"] < table["high_95"]).all()
    assert table.attrs["n"] == 2**11 and table.attrs["seed"] == 1 and table.attrs["tube"] == "piece"
    assert table.loc["wall", "key"] == "learner.size_miss" and table.loc["strokes", "key"] == "learner.feed"
    assert table.loc["clearance", "key"] == "abrasive.emery, fine.wear_coefficient"
    assert table.loc["clearance", "driven_by"] == "wear coefficient of fine emery" and table.loc["strokes", "driven_by"] == "a learner's feed over the planned feed"
    assert not {said for said in (*table["driven_by"], *table["next_by"]) if "_" in said or "." in said or "@" in said}, "a raw key"
    assert (table["share"] > table["next_share"]).all() and (table["grade"] != "").all()
    for key, asked in answers.ASKED.items():   # what is asked can be typed
        assert asked.checked(table.loc[key, "median"]) > 0
    assert session.expected(STUDY, draws=2**11, seed=1).equals(table)


def test_a_tidy_table_has_three_digits_and_is_in_words():
    table = session.expected(STUDY, draws=2**8)
    table.loc["strokes", "median"], table.loc["minutes", "high_95"] = 1016.928, np.nan
    shown = session.tidy(table)
    assert shown.loc["strokes", "median"] == "1020" and shown.loc["minutes", "95 %"] == "" and shown.loc["clearance", "5 %"] == "0"
    assert shown["unit"].tolist() == ["mm", "strokes", "min", "µm"] and "um" in table["unit"].tolist()
    assert list(shown.columns) == ["question", "unit", "5 %", "median", "95 %", "moved most by", "share of the variance", "grade", "and next by", "share of that"]
    assert all(re.fullmatch(r"\d+ %", share) for share in shown["share of the variance"])


def test_what_never_varies_is_driven_by_nothing():
    table = session.expected(STUDY.with_(**{"drive.attended": 0.001}), draws=2**8)   # no time to lap: it never goes in
    assert table.loc["clearance", ["low_5", "high_95", "driven_by", "share", "grade", "key"]].tolist() == [0, 0, "", 0, "", ""]


def test_the_shares_of_strokes_are_those_of_its_formula():
    """log strokes is a sum of independent logs, so with monotone ranks the share is near that of the variance of logs."""
    draws = STUDY.draws(2**12, 1)
    length, duty = (np.log(draws[k].magnitude).var() for k in ("drive.stroke_length", "drive.duty"))
    feed = ((math.log(2) - math.log(0.4)) / 2 / evidence.Z95) ** 2
    table = session.expected(STUDY, draws=2**12, seed=1)
    assert table.loc["strokes", "share"] == pytest.approx(feed / (feed + length + duty), abs=0.03)


def test_learners_are_drawn_independently_of_the_study():
    """Two scrambled Sobol sets of one length run in step; plain random draws do not."""
    values, ours = expectation.all_draws(STUDY, 2**12, 1), session.learners(STUDY)
    upper = {k: np.argsort(np.argsort(v.magnitude)) >= 2**11 for k, v in values.items() if np.ndim(v.magnitude)}
    assert set(ours) < set(upper)
    for key in ours:
        for other in upper.keys() - ours.keys():
            assert abs(np.corrcoef(upper[key], upper[other])[0, 1]) < 0.07


def test_any_study_with_a_reamed_and_lapped_tube_will_do():
    demo = studies.load(studies.DEMO)
    assert session.expected(demo, draws=2**8).attrs["tube"] == "hours"
    assert session.expected(demo, tube="lamp-oil barrel", draws=2**8).loc["wall", "median"] > 1.5
    with pytest.raises(ValueError, match="did you mean 'moon'"):
        session.expected(demo, tube="mon", draws=2**8)


def test_the_piece_loads_assesses_and_is_marked_as_invented():
    verdict = STUDY.assess(draws=2**10)
    assert STUDY.invented and "exercise" in STUDY.claim.lower() and verdict.limiting == "lapping stock" and 0.4 < verdict.chance < 0.9
    assert set(STUDY.routes) == {"at the lathe", "by hand"} and STUDY.tubes[0].plunger == Q(30, "mm")


# Readings put together, and groups compared

def test_combined_worked_by_hand():
    """Two readers, three readings each: readers' means 11 and 15, repeats' variance 1 and 1."""
    found = session.combined({"A": {"R1": [10, 11, 12], "R2": [14, 15, 16]}})
    # mean squares: readers 3 (2^2 + 2^2) / 1 = 24, repeats 1; between readers (24 - 1)/3; u^2 = 23/3/2 + 1/6 = 4
    assert found == {"A": (13.0, pytest.approx(2.0), 2, 6)}
    assert session.combined({"A": {"R1": [10, 11, 12], "R2": [14, 15, 16]}}, gauge=1.5)["A"][1] == pytest.approx(2.5)


def test_readers_are_pooled_over_groups_and_unequal_ones_weigh_alike():
    found = session.combined({"A": {"R1": [10, 12], "R2": [11, 13]}, "B": {"R1": [20, 22, 24]}, "C": {"R1": [7]}, "D": {}})
    assert set(found) == {"A", "B", "C"} and found["A"][0] == 11.5 and found["C"][0] == 7 and found["C"][2:] == (1, 1)
    repeats = (2 + 2 + 8) / 4
    assert found["B"][1] == pytest.approx(math.sqrt(repeats / 3))   # readers differ by less than their repeats: nothing apart
    assert found["C"][1] == pytest.approx(math.sqrt(repeats))


def test_one_reading_shows_no_spread():
    assert math.isnan(session.combined({"A": {"R1": [5]}, "B": {"R1": [6]}})["A"][1])


def test_the_uncertainty_is_that_of_the_mean_over_many_simulated_groups():
    rng = np.random.default_rng(3)
    reader, repeat = 3.0, 2.0
    told, missed = [], []
    for _ in range(300):
        readings = {g: {r: 50 + reader * rng.standard_normal() + repeat * rng.standard_normal(3) for r in "AB"} for g in range(4)}
        for mean, spread, _, _ in session.combined(readings).values():
            told.append(spread**2), missed.append(mean - 50)
    truth = reader**2 / 2 + repeat**2 / 6
    assert np.mean(told) == pytest.approx(truth, rel=0.08) and np.var(missed) == pytest.approx(truth, rel=0.1)


def row_of(table, key):
    return table.set_index("quantity").loc[key]


def test_compare_sets_prediction_reading_and_kit_side_by_side(group):
    table = session.compare([full(group)], STUDY, draws=2**10, seed=1)
    assert list(table["quantity"]) == ["wall", "strokes", "minutes", "clearance"] and tuple(table.columns) == session.COLUMNS
    wall, strokes, minutes, clearance = (row_of(table, k) for k in answers.ASKED)
    assert (wall.low, wall.best, wall.high) == (1.3, 1.45, 1.6) and wall.measured == pytest.approx(1.4516667) and wall.inside is True
    assert (wall.readers, wall.readings) == (2, 6) and 0 < wall.uncertainty < 0.02
    assert clearance.uncertainty >= 5 / math.sqrt(12)   # no better than the gauge's step
    assert strokes.measured == 412 and strokes.inside is True and math.isnan(strokes.uncertainty)
    assert minutes.inside is None and minutes.kit_inside is None and math.isnan(minutes.measured)
    own = table.attrs["expected"]
    assert clearance.kit_low == own.loc["clearance", "low_5"] and clearance.kit_inside is True


def test_what_lies_outside_is_outside(group):
    group, _ = group.predict(GUESS)
    group = group.measure("wall", "A", ["1.7"]).measure("clearance", "A", ["5"]).measure("strokes", "A", ["5000"])
    table = session.compare([group], STUDY, draws=2**10)
    assert row_of(table, "wall").inside is False and row_of(table, "wall").kit_inside is False
    assert row_of(table, "clearance").inside is True   # on the end of the range
    assert session.hits(table).held == 1 and session.hits(table).n == 3 and session.hits(table, "kit_inside").held == 1


def test_groups_that_only_predicted_or_only_read_are_shown_and_not_counted(tmp_path):
    one = groupfile.start(folder=tmp_path, group="A").predict(GUESS)[0]
    two = groupfile.start(folder=tmp_path, group="B").measure("wall", "R1", ["1.4"])
    table = session.compare([one, two, groupfile.start(folder=tmp_path, group="C")], STUDY, draws=2**8)
    assert list(table["group"]) == ["A"] * 4 + ["B"] and list(table["inside"]) == [None] * 5
    assert session.hits(table) is None and session.hits(table, "kit_inside").n == 1
    empty = session.compare([], STUDY, draws=2**8)
    assert len(empty) == 0 and session.hits(empty) is None and session.made(empty, STUDY) == (0, 0)


def test_hits_say_what_they_are():
    import pandas as pd
    told = session.hits(pd.DataFrame({"inside": [True] * 17 + [False] * 7 + [None]}))
    low, high = trials.success_interval(successes=17, trials=24)
    assert (told.held, told.n, told.low, told.high) == (17, 24, low, high)
    assert "17 of 24 of the groups' ranges held what was measured (71 %)" in told.words and "49 % to 87 %" in told.words and "too narrow" in told.words
    assert "this is compatible with nine in ten, and with much else" in session.hits(pd.DataFrame({"inside": [True] * 8 + [False]})).words
    assert "wider than" in session.hits(pd.DataFrame({"inside": [True] * 50})).words
    assert "the kit's ranges" in session.hits(pd.DataFrame({"kit_inside": [True, False]}), "kit_inside").words


@pytest.mark.long
def test_the_interval_of_the_hit_rate_covers_in_simulated_sessions(tmp_path):
    """Groups whose ranges hold nine times in ten: the 95 % interval must hold 0.9 in at least 95 of 100 sessions, and the rate
    must come out at 0.9."""
    rng, covered, rates = np.random.default_rng(5), 0, []
    sessions = 150
    for _ in range(sessions):
        groups = []
        for g in range(8):
            rows = []
            for key, (middle, spread) in {"wall": (1.5, 0.03), "strokes": (400, 80), "minutes": (10, 2), "clearance": (20, 4)}.items():
                best = middle + spread * rng.standard_normal()   # the group's error, as large as it says it may be
                rows += [{"kind": "prediction", "quantity": key, "low": best - evidence.Z95 * spread, "value": best, "high": best + evidence.Z95 * spread},
                         {"kind": "reading", "quantity": key, "who": "A", "value": middle, "note": ""}]
            groups.append(groupfile.Group(Path("none"), f"G{g}", tuple(rows), (), f"G{g}"))
        found = session.hits(session.compare(groups, STUDY, draws=16))
        covered, _ = covered + (found.low <= 0.9 <= found.high), rates.append(found.held / found.n)
    assert np.mean(rates) == pytest.approx(0.9, abs=3 * math.sqrt(0.09 / 32 / sessions))
    assert covered / sessions >= 0.95


# The verdict

def test_counts_carry_the_words_that_their_interval_meets():
    assert session.supported(good=3, n=4) == ("virtually certain", "very likely", "likely", "about as likely as not", "unlikely")   # 0.19 to 0.994
    assert session.supported(good=3, n=5) == ("very likely", "likely", "about as likely as not", "unlikely")   # 0.15 to 0.95
    assert session.supported(good=4, n=4)[0] == "virtually certain" and session.supported(good=0, n=4)[-1] == "exceptionally unlikely"
    assert session.supported(good=900, n=1000) == ("very likely", "likely")


def test_pieces_count_as_made_where_the_plunger_slides_closely_enough():
    import pandas as pd
    table = pd.DataFrame({"quantity": ["clearance"] * 5 + ["wall"], "measured": [20.0, 45.0, 46.0, 0.0, np.nan, 1.5]})
    assert session.made(table, STUDY) == (2, 4)


def test_the_verdict_sentence_names_means_counts_word_and_rival():
    found = session.verdict_sentence(STUDY, good=3, n=4, word="likely", rival="casting on a core.", because="the lapping", same_traces=False)
    assert [round(float(end), 2) for end in trials.success_interval(successes=3, trials=4)] == [0.19, 0.99]
    for words in ("bow lathe; half-round bit; turning tool; emery, fine; tin bronze, cast", "3 of 4 pieces", "no more than 45 µm", "between 19 % and 99 % (95 %, n = 4)",
                  "We consider it likely that", "What decided: the lapping.", "This shows that it can be done in this way; it does not show how it was done", "does not exclude casting on a core, though that would leave other traces"):
        assert words in found.text
    assert found.supported and "'likely' (66 to 90 %) is among them" in found.told
    by_hand = STUDY.with_(**{"piece.route": "by hand", "order": "outside first"})
    assert "(hands and a wrench; half-round bit; emery, coarse; tin" in session.verdict_sentence(by_hand, good=3, n=4, word="likely", rival="casting").text
    same = session.verdict_sentence(STUDY, good=3, n=4, word="likely", rival="casting")
    assert "What decided" not in same.text and "which would leave the same traces" in same.text


def test_a_word_that_the_counts_do_not_carry_is_told():
    found = session.verdict_sentence(STUDY, good=1, n=4, word="virtually certain", rival="casting")
    assert not found.supported and "'virtually certain' (99 to 100 %) is not among them: choose another, or name the evidence" in found.told
    assert "We consider it virtually certain" in found.text   # it is theirs to write
    none = session.verdict_sentence(STUDY, good=0, n=4, word="unlikely", rival="casting")
    assert none.supported and "did not succeed, and not that it cannot be done" in none.text and "can be done in this way" not in none.text
    for bad in ({"word": "sure"}, {"rival": ""}, {"rival": "Bored from the  bar."}, {"n": 0, "good": 0}):
        with pytest.raises(AnswerError):
            session.verdict_sentence(STUDY, **({"good": 1, "n": 4, "word": "likely", "rival": "casting"} | bad))
