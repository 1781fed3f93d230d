"""kit.forms: the forms of the session, filled and sent in the kernel, without a browser."""
import os
import re
from html import unescape

import pytest

from kit import answers, figures, forms, groupfile, page, session, study as studies, tables

STUDY = studies.load(groupfile.PIECE)
GOOD = {"wall": ("1.3", "1,45", "about 1.6 mm"), "strokes": ("200", "400", "900"), "minutes": ("4", "8", "20"), "clearance": ("5", "20 um", "60")}


def words_of(form):
    return unescape(re.sub(r"<[^>]*>", "", form.said.value))


def fill(form, answers):
    for key, texts in answers.items():
        for which, text in zip(("low", "value", "high"), texts):
            form.boxes[key, which].value = text


def controls(box):
    for child in getattr(box, "children", ()):
        yield from controls(child)
    if not hasattr(box, "children"):
        yield box


@pytest.fixture
def desk(tmp_path):
    made = forms.Desk(tmp_path / "out")
    made.code.value = "b7"
    made.begin.click()
    return made


def everything(desk):
    return [desk, forms.prediction(desk), forms.readings(desk), forms.verdict(desk, STUDY), forms.minute_card(desk), forms.Comparison(desk.folder, STUDY)]


# Sitting down

def test_a_code_begins_a_file(desk):
    assert desk.group.code == "B7" and desk.group.path.exists() and "Group B7: what you enter is kept in" in words_of(desk) and "row" not in words_of(desk)


def test_a_code_that_will_not_do_is_told_and_makes_no_file(tmp_path):
    desk = forms.Desk(tmp_path / "out")
    desk.code.value = "Ann & Bob"
    desk.begin.click()
    assert desk.group is None and "Not yet" in desk.said.value and "no names of people" in desk.said.value and not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())
    assert "Ann &amp; Bob" in desk.said.value and "role='alert'" in desk.said.value


def test_a_code_that_is_taken_offers_to_go_on_or_to_take_another(desk):
    other = forms.Desk(desk.folder)
    assert "On this machine already: B7" in words_of(other)
    other.code.value = "B7"
    other.begin.click()
    assert other.group is None and "go on with it; if not, take another code, for instance B72" in words_of(other)
    other.resume.click()
    assert other.group == desk.group


def test_a_form_without_a_desk_says_what_comes_first(tmp_path):
    for form in everything(forms.Desk(tmp_path))[1:5]:
        form.button.click()
        assert "first type the code of your group" in words_of(form)


# Predicting

def test_a_prediction_is_kept_locked_and_shown(desk):
    form = forms.prediction(desk)
    fill(form, GOOD)
    form.button.click()
    assert words_of(form) == "Locked, with the time. Now to the bench." and "role='status'" in form.said.value
    assert {k: r["value"] for k, r in groupfile.read(desk.group.path).predictions.items()} == {"wall": 1.45, "strokes": 400, "minutes": 8, "clearance": 20}
    assert all(box.disabled for box in form.boxes.values()) and form.boxes["wall", "high"].value == "1.6"
    form.button.click()
    assert "group B7 has predicted already, and that stands: wall: 1.30 to 1.60 mm" in words_of(form)


def test_what_cannot_be_taken_is_told_and_nothing_is_lost(desk):
    form = forms.prediction(desk)
    fill(form, GOOD | {"wall": ("thin", "1.45", ""), "minutes": ("4", "40", "20")})
    form.button.click()
    for words in ("wall: lowest: 'thin': I find no number", "highest: nothing is written here", "minutes: the best guess, 40.0 min, lies outside"):
        assert words in words_of(form).replace("&#x27;", "'")
    assert groupfile.read(desk.group.path).rows == () and form.boxes["wall", "low"].value == "thin" and not form.boxes["wall", "low"].disabled
    fill(form, GOOD | {"wall": ("1.6", "1.45", "1.3")})
    form.button.click()
    assert "Locked" in words_of(form) and "Note: wall: the lowest was above the highest" in words_of(form) and form.boxes["wall", "low"].value == "1.3"


def test_after_a_restart_the_form_shows_what_is_locked(desk):
    first = forms.prediction(desk)
    fill(first, GOOD)
    first.button.click()
    again = forms.Desk(desk.folder)
    form = forms.prediction(again)
    assert not any(box.disabled for box in form.boxes.values())
    again.code.value = "B7"
    again.resume.click()
    assert all(box.disabled for box in form.boxes.values()) and form.boxes["clearance", "value"].value == "20"
    again.code.value = "C1"   # another group at the same laptop
    again.begin.click()
    assert not any(box.disabled or box.value for box in form.boxes.values())


def test_what_a_cut_file_has_lost_may_be_given_again(desk):
    form = forms.prediction(desk)
    fill(form, GOOD)
    form.button.click()
    whole = desk.group.path.read_bytes()
    desk.group.path.write_bytes(whole[:whole.index(b"clearance") + 20])
    again = forms.Desk(desk.folder)
    form, again.code.value = forms.prediction(again), "B7"
    again.resume.click()
    assert "cut short" in words_of(again) and form.boxes["minutes", "low"].disabled and not form.boxes["clearance", "low"].disabled
    fill(form, {"clearance": ("5", "20", "60")})
    form.button.click()
    assert "Locked" in words_of(form) and set(groupfile.read(desk.group.path).predictions) == set(answers.ASKED)


# Reading

def read_off(form, key, who, *values, instead=""):
    form.boxes["quantity"].value, form.boxes["who"].value, form.boxes["instead"].value = key, who, instead
    for place, value in zip(forms.READINGS, values):
        form.boxes[place].value = value
    form.button.click()


def test_readings_stay_covered_until_a_second_reader_has_read(desk):
    form = forms.readings(desk)
    shown = form.children[3]
    read_off(form, "wall", "a", "1.44", "1,45", "1.46 mm")
    assert words_of(form) == "Kept: three readings of the wall, by A." and "A: 3 kept, covered" in shown.value and "1.4" not in shown.value
    assert [form.boxes[place].value for place in forms.READINGS] == ["", "", ""]
    read_off(form, "wall", "B", "1.47")
    assert "wall / mm: A: 1.44, 1.45, 1.46; B: 1.47" in shown.value and "take three" in words_of(form)
    read_off(form, "strokes", "A", "412")
    assert words_of(form) == "Kept: one reading of the strokes, by A."


def test_readings_that_cannot_be_taken_stay_in_their_boxes(desk):
    form = forms.readings(desk)
    read_off(form, "clearance", "A", "18", "wide", "20")
    assert "reading 2" in words_of(form) and form.boxes[1].value == "18" and groupfile.read(desk.group.path).rows == ()
    read_off(form, "clearance", "A", "18", "19", "20")
    read_off(form, "clearance", "A", "28")
    assert "A has read the clearance already" in words_of(form) and form.boxes[1].value == "28"
    read_off(form, "clearance", "A", "28", instead="looked at the wrong line")
    assert groupfile.read(desk.group.path).readings["clearance"] == {"A": [28]} and form.boxes["instead"].value == ""


# Arguing

def test_a_verdict_is_composed_weighed_and_kept(desk):
    form = forms.verdict(desk, STUDY)
    form.boxes["good"].value, form.boxes["n"].value, form.boxes["word"].value = "3", "4", "likely"
    form.button.click()
    assert "no rival is named" in words_of(form)
    form.boxes["rival"].value, form.boxes["because"].value, form.boxes["same"].value = "cast on a core and reamed", "the lapping", False
    form.button.click()
    assert "3 of 4 pieces" in words_of(form) and "We consider it likely" in words_of(form) and "is among them" in words_of(form) and "other traces" in words_of(form)
    assert groupfile.read(desk.group.path).words("verdict") == {"word": "likely", "rival": "cast on a core and reamed", "because": "the lapping"}


@pytest.mark.parametrize(("good", "n", "says"), [("4", "3", "are the two exchanged?"), ("2.5", "4", "no whole number"), ("", "4", "pieces made, of all groups: nothing is no whole number"),
                                                 ("0", "0", "no group has measured"), ("three", "4", "write it like 3")])
def test_counts_that_cannot_be_are_told(desk, good, n, says):
    form = forms.verdict(desk, STUDY)
    form.boxes["good"].value, form.boxes["n"].value, form.boxes["rival"].value = good, n, "casting"
    form.button.click()
    assert says in words_of(form) and groupfile.read(desk.group.path).rows == ()


def test_a_minute_card_is_kept(desk):
    form = forms.minute_card(desk)
    form.button.click()
    assert "the card is empty" in words_of(form)
    form.boxes["question"].value = "why is <bronze> so\nkind?"
    form.button.click()
    assert words_of(form) == "Kept. Thank you." and groupfile.read(desk.group.path).words("minute-card") == {"question": "why is <bronze> so kind?"}


# Comparing

def test_the_comparison_shows_picture_words_and_table(desk):
    form = forms.Comparison(desk.folder, STUDY)
    form.button.click()
    assert "Gathered: one group in" in words_of(form) and "Nothing has been predicted" in words_of(form) and form.shown.value == ""
    desk.take(desk.group.predict(GOOD)[0].measure("wall", "A", ["1.44", "1.46"]).measure("clearance", "A", ["80"]))
    (desk.folder / "other.csv").write_text("a,b\n")
    form.button.click()
    assert "left out" in words_of(form) and "other.csv" in words_of(form)
    assert "1 of 2 of the groups" in form.shown.value and "alt='1 of 2" in form.shown.value and "base64," in form.shown.value
    assert "<td>yes</td>" in form.shown.value and "<td>no</td>" in form.shown.value
    assert "Pieces made: 0 of 1 tried (the plunger goes in, with no more than 45 µm" in form.shown.value   # 80 µm is too much
    assert "of the kit's ranges" in unescape(form.shown.value) and "a learner's feed over the planned feed: feed of an unpractised hand" in unescape(form.shown.value)
    assert "<td>um</td>" not in form.shown.value and "<td>µm</td>" in form.shown.value


def test_what_was_counted_is_shown_and_what_was_read_is_covered(desk):
    form = forms.readings(desk)
    desk.take(desk.group.measure("strokes", "S", ["380"]).measure("wall", "A", ["1.44"]))
    shown = " ".join(c.value for c in controls(form) if isinstance(c, type(desk.said)))
    assert "strokes: S: 380" in shown and "wall / mm: A: 1 kept, covered" in shown and "1.44" not in shown


def test_what_a_form_says_stands_above_its_button(desk):
    for form in everything(desk)[1:5]:
        assert form.children[-2:] == (form.said, form.button)


def test_prose_is_flush_left_and_escaped():
    import pandas as pd
    assert "<td style='text-align:left'>a &lt;td&gt; b</td>" in forms.prose(pd.DataFrame({"x": ["a <td> b"]})).data


def test_the_kits_numbers_are_not_shown_before_the_prediction_is_locked(desk):
    form = forms.Comparison(desk.folder, STUDY, desk)
    form.button.click()
    assert "first lock your predictions" in words_of(form) and form.shown.value == ""
    desk.take(desk.group.predict({k: v for k, v in GOOD.items() if k != "wall"})[0])
    form.button.click()
    assert "first lock your predictions" in words_of(form) and form.shown.value == ""
    desk.take(desk.group.predict({"wall": GOOD["wall"]})[0])
    form.button.click()
    assert "size error of the outside" in form.shown.value and "4096 draws, seed 1" in form.shown.value
    assert not re.search(r"learner\.|driven_by|low_5|\d%", form.shown.value)


def test_the_picture_holds_every_group_and_says_inside_in_shape_and_hue(tmp_path):
    groups = []
    for name, wall in (("A", "1.45"), ("B", "1.9")):
        groups.append(groupfile.start(folder=tmp_path, group=name).predict(GOOD)[0].measure("wall", "R1", [wall, wall]))
    groups.append(groupfile.start(folder=tmp_path, group="C").measure("wall", "R1", ["1.5"]))
    table = session.compare(groups, STUDY, draws=2**8)
    for width in (90, 140, 190):
        figure = forms.picture(table, width=width)
        assert len(figure.axes) == 4 and [ax.get_xlabel() for ax in figure.axes] == ["wall / mm", "strokes", "minutes", "clearance / µm"]
        assert [t.get_text() for t in figure.axes[0].get_yticklabels()] == ["A", "B", "C"]
        marks = {(line.get_marker(), line.get_color()) for line in figure.axes[0].lines} & set((m, h) for h, m in forms.LOOK.values())
        assert marks == {("o", page.BLUE), ("X", page.VERMILION), ("D", page.GREEN)}
        assert min(text.get_fontsize() for text in figure.findobj(type(figure.texts[0]))) >= 7
        assert figure.get_figheight() * 25.4 <= page.MOST_HEIGHT
        figure.draw_without_rendering()
        ends = figure.get_window_extent()
        for text in [*figure.texts, *(t for ax in figure.axes for t in (*ax.get_yticklabels(), ax.xaxis.label))]:
            box = text.get_window_extent()
            assert box.x0 >= ends.x0 and box.x1 <= ends.x1 and box.y0 >= ends.y0 and box.y1 <= ends.y1
    assert figures.png(forms.picture(table)) == figures.png(forms.picture(table))


def test_the_picture_of_many_groups_still_fits_a_page(tmp_path):
    groups = [groupfile.start(folder=tmp_path, group=f"GROUP{n}").predict(GOOD)[0] for n in range(30)]
    for width in (90, 140):
        figure = forms.picture(session.compare(groups, STUDY, draws=2**8), width=width)
        assert figure.get_figheight() * 25.4 <= page.MOST_HEIGHT + 1e-9
    assert len(forms.picture(session.compare([], STUDY, draws=2**8)).axes) == 4


# A second group at one laptop

def sits(desk, code):
    desk.code.value = code
    desk.begin.click()


def test_a_second_group_finds_nothing_of_the_first(desk):
    guess, read, word, card = (made(desk) for made in (forms.prediction, forms.readings, lambda d: forms.verdict(d, STUDY), forms.minute_card))
    board = forms.Comparison(desk.folder, STUDY, desk)
    fresh = [{name: box.value for name, box in form.boxes.items()} for form in (guess, read, word, card)]
    fill(guess, GOOD)
    guess.button.click()
    read.boxes["who"].value, read.boxes[1].value, read.boxes["instead"].value, read.boxes["quantity"].value = "A", "1.44", "slipped", "clearance"
    word.boxes["good"].value, word.boxes["n"].value, word.boxes["word"].value, word.boxes["rival"].value, word.boxes["because"].value, word.boxes["same"].value = (
        "3", "4", "likely", "cast on a core and reamed", "the lapping", False)
    word.button.click()
    card.boxes["learnt"].value, card.boxes["question"].value = "to wait", "why?"
    card.button.click()
    board.button.click()
    assert "We consider it likely" in words_of(word) and card.boxes["learnt"].value == "to wait" and board.shown.value
    first = desk.group.path.read_bytes()
    sits(desk, "C1")
    assert [{name: box.value for name, box in form.boxes.items()} for form in (guess, read, word, card)] == fresh
    assert not any(box.disabled for box in guess.boxes.values())
    assert board.shown.value == "" and all(form.said.value == "" for form in (guess, read, word, card, board))   # the kit's own numbers are covered again
    for form in (word, card):
        form.button.click()
    assert groupfile.read(desk.group.path).rows == () and (desk.folder / "group-B7.csv").read_bytes() == first


def test_what_is_typed_before_the_first_group_sits_down_stays(tmp_path):
    desk = forms.Desk(tmp_path)
    card = forms.minute_card(desk)
    card.boxes["learnt"].value = "patience"
    card.button.click()
    sits(desk, "B7")
    card.button.click()
    assert groupfile.read(desk.group.path).words("minute-card") == {"learnt": "patience"}


def test_words_are_not_filed_for_a_group_other_than_the_code_in_the_box(desk):
    groupfile.start(folder=desk.folder, group="C1")
    card = forms.minute_card(desk)
    sits(desk, "C1")   # taken, so that B7 still sits here
    card.boxes["learnt"].value = "patience"
    card.button.click()
    assert "group B7 sits here, but the box of the code says 'C1'" in words_of(card)
    assert [groupfile.read(desk.folder / f"group-{code}.csv").rows for code in ("B7", "C1")] == [(), ()]


def test_the_sessions_own_route_is_no_rival(desk):
    form = forms.verdict(desk, STUDY)
    assert form.boxes["rival"].options and "bored from the bar" not in form.boxes["rival"].options
    form.boxes["good"].value, form.boxes["n"].value, form.boxes["rival"].value = "3", "4", "Bored from the bar"
    form.button.click()
    assert "is how this session makes it, and so no rival" in words_of(form) and groupfile.read(desk.group.path).rows == ()


def test_words_that_begin_like_a_formula_are_told_kindly(desk):
    form = forms.minute_card(desk)
    form.boxes["learnt"].value, form.boxes["question"].value = "=1+1", "why?"
    form.button.click()
    assert words_of(form).startswith("Kept. Thank you. '=1+1' begins with '=', as a formula in a spreadsheet does") and "role='status'" in form.said.value
    assert groupfile.read(desk.group.path).words("minute-card") == {"learnt": "=1+1", "question": "why?"}
    assert ",'=1+1," in desk.group.path.read_text(encoding="utf-8")


HOSTILE = ["<script>x</script>", "</td></table>", "{{ x }}", "../../x", "<img src=x onerror=y>"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_words_are_shown_and_not_run(desk, text):
    import pandas as pd
    made = everything(desk)
    for form in made[1:5]:
        for box in form.boxes.values():
            if isinstance(box.value, str) and not hasattr(box, "index"):
                box.value = text
        form.button.click()
    made[3].boxes["good"].value, made[3].boxes["n"].value = "1", "2"
    made[3].button.click()
    assert groupfile.read(desk.group.path).words("verdict")["rival"] == text
    row = {"kind": "reading", "quantity": "wall", "value": 1.4, "unit": "mm", "who": text, "note": text}   # as a file from elsewhere may hold
    desk.take(desk.group._with([row, row | {"who": "B"}]))
    (desk.folder / "x<b>.csv").write_text(f"{text}\n")
    made[5].button.click()
    page_ = "".join(c.value for form in made for c in controls(form) if type(c).__name__ == "HTML") + made[5].shown.value
    notes = forms.prose(pd.DataFrame({text: desk.group.words("verdict")})).data
    for raw in ("<script", "</td></table", "<img src=x", "x<b>"):
        assert raw not in page_ and raw not in notes
    assert sorted(path.name for path in desk.folder.iterdir()) == sorted([desk.group.path.name, f".{desk.group.path.name}.lock", "x<b>.csv"])
    assert not (desk.folder.parent / "x").exists()


# What holds for all forms

def test_every_control_has_a_name_of_its_own_to_be_read_out(desk):
    for form in everything(desk):
        names = [c.description for c in controls(form) if hasattr(c, "description") and not type(c).__name__ == "HTML"]
        assert names and all(names) and len(set(names)) == len(names)
        for control in controls(form):   # a label that is cut off with dots is no label
            if hasattr(control, "style") and hasattr(control.style, "description_width"):
                assert type(control).__name__ in ("HTML", "Checkbox") or control.style.description_width == "initial"


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyError("odd"), RuntimeError("<b>odd</b>")])
def test_whatever_goes_wrong_is_said_in_the_page(desk, monkeypatch, fault, capsys):
    def fails(*args, **kwargs):
        raise fault
    made = everything(desk)
    fill(made[1], GOOD)
    made[2].boxes["who"].value, made[2].boxes[1].value = "A", "1.4"
    made[3].boxes["good"].value, made[3].boxes["n"].value, made[3].boxes["rival"].value = "1", "2", "casting"
    made[4].boxes["learnt"].value = "patience"
    monkeypatch.setattr(tables, "put", fails)
    monkeypatch.setattr(groupfile, "collect", fails)
    for form in made[1:]:
        form.button.click()
        assert "role='alert'" in form.said.value and "<b>odd" not in form.said.value
        assert ("No space left" in form.said.value and "What you typed is still here" in form.said.value) if isinstance(fault, OSError) else "show this to the leader" in form.said.value
    assert made[1].boxes["wall", "low"].value == "1.3" and not made[1].boxes["wall", "low"].disabled
    monkeypatch.undo()
    made[1].button.click()   # and it can be done once the fault is mended
    assert "Locked" in words_of(made[1]) and "Traceback" not in "".join(capsys.readouterr())


def test_a_file_taken_away_in_the_middle_is_told(desk):
    form = forms.minute_card(desk)
    form.boxes["learnt"].value = "patience"
    os.unlink(desk.group.path)
    form.button.click()
    assert "there is no such file" in words_of(form)


def test_odd_characters_are_shown_and_not_run(desk):
    form = forms.prediction(desk)
    fill(form, GOOD | {"wall": ("<script>x</script>", "1.45", "1.6")})
    form.button.click()
    assert "<script>" not in form.said.value and "&lt;script&gt;" in form.said.value
