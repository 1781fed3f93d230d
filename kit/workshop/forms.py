"""Forms of the workshop session in a notebook: they take what a group types, and say in the page what was done with it.

Entries are kept in the group's file (groupfile.py), not in the page: a form shows what the file says, so a restart
loses nothing. Every box is labelled with its question, every form can be walked through with Tab and sent with Space on
its button, and nothing that is typed ends in a traceback.
"""
import re
from html import escape
from pathlib import Path

import ipywidgets

from kit.base import tables, words
from kit.publish.controls import WIDE
from kit.workshop import answers, argument, groupfile, session
from kit.workshop.board import LOOK, compared, picture, prose  # noqa: F401 (known as kit.forms, too)

ROW = {"flex_flow": "row wrap"}
LABELLED = {"description_width": "initial"}
READINGS = (1, 2, 3)
WRITTEN = ("rival", "because", "learnt", "question")   # boxes whose words are kept as they are


def _say(place, text, wrong=False):
    """Text into an HTML widget, which a screen reader reads out when it changes."""
    role, mark = ("alert", "<b>Not yet.</b> ") if wrong else ("status", "")
    first, *more = map(escape, text.split(" · "))
    listed = f"<ul>{''.join(f'<li>{each}</li>' for each in (first, *more))}</ul>" if more else first
    place.value = f"<div role='{role}' style='max-width:760px;line-height:1.4'>{mark}{listed}</div>"


def guarded(place, work):
    """A callback for a button: does the work and says in the page how it went, whatever happens."""
    def pressed(_):
        try:
            _say(place, work())
        except (answers.AnswerError, tables.TableError) as fault:
            _say(place, str(fault), wrong=True)
        except OSError as fault:
            _say(place, f"The group's file could not be read or written ({fault}). What you typed is still here: "
                        "call the leader, then press the button again.", wrong=True)
        except Exception as fault:   # raised from here it would end in a log that nobody reads
            _say(place, f"This did not work ({type(fault).__name__}: {fault}). Earlier entries are safe in the group's "
                        "file; show this to the leader.", wrong=True)
    return pressed


def _apostrophe(text):
    """What is said of words that a spreadsheet would take for a formula; "" of all others."""
    text = groupfile.on_one_line(text)
    if tables.safe_cell(text) == text:
        return ""
    return (f"{answers.quoted(text)} begins with '{text[0]}', as a formula in a spreadsheet does, so it is kept with "
            "an apostrophe before it in the file; here it is shown as you typed it.")


def _text(label, kind=ipywidgets.Text, layout=None, **options):
    return kind(description=label, style=LABELLED, layout=layout or {"width": "250px"}, **options)


def _button(label):
    return ipywidgets.Button(description=label, layout={"width": "auto", "align_self": "flex-start"})


def _row(*boxes):
    return ipywidgets.HBox(boxes, layout=ROW)


class Desk(ipywidgets.VBox):
    """Where a group begins: its code, and the file that it starts or continues. group: the groupfile.Group, None
    before.

    folder: where the groups' files are kept. The other forms of a page are given the desk, and follow its group:
    `leaving` is called when another group takes the place of one, `following` whenever the group has changed.
    """

    def __init__(self, folder="out/session"):
        self.folder, self.group, self.leaving, self.following = Path(folder), None, [], []
        self.code, self.said = _text("code of your group"), ipywidgets.HTML()
        self.begin, self.resume = _button("Begin"), _button("Go on with this code")
        self.begin.on_click(guarded(self.said, lambda: self.sit(resume=False)))
        self.resume.on_click(guarded(self.said, lambda: self.sit(resume=True)))
        super().__init__([_row(self.code, self.begin, self.resume), self.said])
        held = sorted(path.stem.removeprefix("group-") for path in self.folder.glob("group-*.csv"))
        _say(self.said, f"On this machine already: {', '.join(held)}. To continue after a pause, type your code and "
                        "go on with it." if held else
             "Letters and digits, such as B7: the leader gives you one. No names of people.")

    def sit(self, resume):
        self.take(groupfile.start(folder=self.folder, group=self.code.value, resume=resume))
        faults = "".join(f" About the file: {fault}." for fault in self.group.faults)
        n = len(self.group.rows)
        held = f" It has {words.counted(n, 'row', spelt=True)} already." if n else ""
        return f"Group {self.group.code}: what you enter is kept in {self.group.path}.{held}{faults}"

    def take(self, group):
        """Make this the desk's group, and have all forms show what its file says."""
        other = self.group is not None and group.path != self.group.path
        self.group = group
        for told in [*(self.leaving if other else ()), *self.following]:
            told()

    def agreed(self):
        """Raise AnswerError where the code in the box is not that of the group that sits here: whose words are they?"""
        typed = self.code.value.strip()
        if typed and groupfile.path_of(self.folder, typed) != self.group.path:
            raise answers.AnswerError(f"group {self.group.code} sits here, but the box of the code says "
                                      f"{answers.quoted(typed)}: type {self.group.code} again if that is you; "
                                      "otherwise press Begin, or go on with your code")


class Form(ipywidgets.VBox):
    """Boxes, a line that says what was done with them, and a button. boxes: {name: control}; button; said: that line,
    above the button, so that it is on the screen wherever the button is.

    work: function of the desk's group that returns (group, words). show: called when the group has changed.
    When another group sits down at the desk, what the one before has typed is cleared away, sent or not.
    """

    def __init__(self, desk, boxes, rows, label, work, show=lambda: None):
        self.boxes, self.button, self.said = boxes, _button(label), ipywidgets.HTML()

        def sent():
            if desk.group is None:
                raise answers.AnswerError("first type the code of your group in the box above, and press Begin")
            desk.agreed()
            noted = [_apostrophe(box.value) for name, box in boxes.items() if name in WRITTEN]
            group, words = work(desk.group)
            desk.take(group)
            return " ".join(filter(None, [words, *noted]))

        blank = {name: box.value for name, box in boxes.items()}

        def cleared():
            for name, box in boxes.items():
                box.value, box.disabled = blank[name], False
            self.said.value = ""

        self.button.on_click(guarded(self.said, sent))
        desk.leaving.append(cleared)
        desk.following.append(show)
        super().__init__([*rows, self.said, self.button])
        show()


def prediction(desk):
    """Four questions, three boxes each; once sent they are locked, and show what the file says."""
    boxes, rows = {}, []
    for key, asked in answers.ASKED.items():
        for which, label in (("low", "lowest"), ("value", "best guess"), ("high", "highest")):
            boxes[key, which] = _text(answers.with_unit(key, f", {label}"))
        rows += [ipywidgets.HTML(f"<b>{escape(asked.question)}</b>"), _row(*list(boxes.values())[-3:])]

    def show():
        known = desk.group.predictions if desk.group else {}
        for (key, which), box in boxes.items():
            if key in known:
                box.value = f"{known[key][which]:g}"
            elif box.disabled:   # the boxes held another group's
                box.value = ""
            box.disabled = key in known

    def work(group):
        left = [key for key in answers.ASKED if key not in group.predictions]   # of a file cut short some may be lost
        group, told = group.predict({key: tuple(boxes[key, which].value for which in ("low", "value", "high"))
                                     for key in left or answers.ASKED})
        return group, " ".join(["Locked, with the time. Now to the bench.", *(f"Note: {each}." for each in told)])

    return Form(desk, boxes, rows, "Lock these predictions", work, show)


def readings(desk):
    """Readings of one reader; they are shown only when two readers have read the quantity, so that the second reads
    blind."""
    boxes = {"quantity": ipywidgets.Dropdown(description="what was read", style=LABELLED,
                                             options=[(answers.with_unit(key), key) for key in answers.ASKED]),
             "who": _text("code of the reader, such as A"), **{place: _text(f"reading {place}") for place in READINGS},
             "instead": _text("only if these replace earlier ones: why", layout=WIDE)}
    read = ipywidgets.HTML()

    def show():
        lines = []
        for key, by_reader in (desk.group.readings if desk.group else {}).items():
            open_ = len(by_reader) > 1 or not answers.ASKED[key].step   # what is counted has one reader
            said = "; ".join(f"{who}: {', '.join(map(words.number, values))}" if open_ else
                             f"{who}: {len(values)} kept, covered until a second reader has read"
                             for who, values in by_reader.items())
            lines.append(f"<li>{escape(f'{answers.with_unit(key)}: {said}')}</li>")
        read.value = f"<ul>{''.join(lines)}</ul>" if lines else ""

    def work(group):
        key, who, typed = boxes["quantity"].value, boxes["who"].value, [boxes[place].value for place in READINGS]
        group = group.measure(key, who, typed, instead=boxes["instead"].value)
        for place in (*READINGS, "instead"):
            boxes[place].value = ""
        kept = sum(bool(text.strip()) for text in typed)
        alone = " One reading shows no spread; take three." if kept == 1 and answers.ASKED[key].step else ""
        taken = words.counted(kept, "reading", spelt=True)
        return group, f"Kept: {taken} of the {key}, by {groupfile.coded(who)}.{alone}"

    rows = [_row(boxes["quantity"], boxes["who"]), _row(*(boxes[place] for place in READINGS)), boxes["instead"], read]
    return Form(desk, boxes, rows, "Keep these readings", work, show)


def verdict(desk, study):
    """The group's verdict: counts of the whole room, the word chosen, the rival named; the sentence is composed and
    kept."""
    scale = [(f"{word} ({argument.band(word)})", word) for word in groupfile.WORD_BANDS]
    boxes = {"good": _text("pieces made, of all groups"), "n": _text("pieces tried"),
             "word": ipywidgets.Dropdown(description="the word that you choose", style=LABELLED, options=scale,
                                         value="about as likely as not", layout={"width": "420px"}),
             "rival": _text("another way it could have been made", ipywidgets.Combobox, WIDE,
                            options=argument.rivals()),
             "same": ipywidgets.Checkbox(description="that way would leave the same traces", value=True, indent=False),
             "because": _text("what decided, in your words", ipywidgets.Textarea, WIDE)}

    def count(name):
        typed = boxes[name].value.strip()
        if not re.fullmatch("[0-9]{1,4}", typed):
            given = answers.quoted(typed) if typed else "nothing"
            raise answers.AnswerError(f"{boxes[name].description}: {given} is no whole number of pieces; "
                                      "write it like 3")
        return int(typed)

    def work(group):
        good, n = count("good"), count("n")
        word, rival, same, because = (boxes[name].value for name in ("word", "rival", "same", "because"))
        if good > n:
            raise answers.AnswerError(f"{good} pieces made of {n} tried is not possible; are the two exchanged?")
        made = session.verdict_sentence(study, good, n, word, rival, because, same_traces=same)
        return group.argue(word, rival, because), f"{made.text} (About your word: {made.told})"

    rows = [_row(boxes["good"], boxes["n"]), *(boxes[name] for name in ("word", "rival", "same", "because"))]
    return Form(desk, boxes, rows, "Write our verdict", work)


def minute_card(desk):
    """One thing learnt, one question still open."""
    boxes = {"learnt": _text("one thing we learnt", ipywidgets.Textarea, WIDE),
             "question": _text("one question that is still open", ipywidgets.Textarea, WIDE)}

    def work(group):
        return group.card(boxes["learnt"].value, boxes["question"].value), "Kept. Thank you."

    return Form(desk, boxes, list(boxes.values()), "Hand in the card", work)


class Comparison(ipywidgets.VBox):
    """A button that gathers all groups' files of a folder, and shows what they predicted against what was measured.

    desk: where given, nothing is shown until its group has locked its predictions, since the kit's own are shown too.
    """

    def __init__(self, folder, study, desk=None):
        self.button, self.said, self.shown = _button("Compare the groups"), ipywidgets.HTML(), ipywidgets.HTML()

        def compare():
            if desk and not (desk.group and set(answers.ASKED) <= set(desk.group.predictions)):
                raise answers.AnswerError("the kit's own numbers are shown beside yours: first lock your predictions")
            found = groupfile.collect(folder)
            table = session.compare(found.groups, study)
            told = [f"Gathered: {words.counted(len(found.groups), 'group', spelt=True)} in {folder}.",
                    *(f"Note: {each}." for each in found.told)]
            self.shown.value = compared(table, study) if len(table) else ""
            return " ".join(told if len(table) else [*told, "Nothing has been predicted or measured there yet."])

        def cleared():
            self.said.value = self.shown.value = ""

        self.button.on_click(guarded(self.said, compare))
        if desk:
            desk.leaving.append(cleared)
        super().__init__([self.button, self.said, self.shown])
