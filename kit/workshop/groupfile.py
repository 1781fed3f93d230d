"""The file of a group of learners: what it predicts, reads and concludes, row by row.

A group's file is a CSV to which rows are only ever added. Each row carries a digest of itself and of the row before,
so that a row changed later shows. That reveals an honest slip or a second thought; a determined cheat can rewrite the
whole chain.

Several pages may write one file at once: each waits for its turn, and reads again before it writes. A file tells its
format in its first column; one without that column is of format 1, and is continued in it.
"""
import csv
import datetime
import functools
import hashlib
import io
import json
import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from kit.base import evidence, files, tables, words
from kit.workshop.answers import ASKED, AnswerError, answer, cleaned, predicted, quoted, sized
from kit.workshop.workpiece import PIECE

INSTEAD = "instead: "   # begins the note of a reading that replaces the same reader's earlier ones
CODE = re.compile(r"[A-Z0-9]{1,8}")
FORMAT = 2   # of the files that are begun; 1 had no column for it
PATIENCE = 10   # s; how long one waits for another who is writing
# {probability word: (least, greatest chance)}, the strongest first
WORD_BANDS = {word: (least, most) for (least, word), most in
              zip(evidence.LIKELIHOOD, (1.0, *(least for least, _ in evidence.LIKELIHOOD)))}


class Taken(AnswerError):
    """A group code that has a file on this machine already."""


class Locked(AnswerError):
    """A second prediction of a quantity that is predicted already."""


class Busy(AnswerError):
    """A file that somebody else has been writing for too long."""


@functools.cache
def schema():
    """Table Schema of a group's file."""
    return json.loads((PIECE / "group.schema.json").read_text(encoding="utf-8"))


def columns(format=FORMAT):
    """Names of the columns of a file of that format."""
    return [field["name"] for field in schema()["fields"]][0 if format > 1 else 1:]


def format_of(first_line):
    """Number of the format that has this first line (bytes), None where there is none."""
    return next((n for n in range(1, FORMAT + 1) if _line(columns(n)).strip().encode() == first_line), None)


def alone(path):
    """While this lasts nobody else writes the group's file: see files.alone. Raises Busy where somebody else holds it
    for longer than PATIENCE."""
    return files.alone(path, PATIENCE, lambda said: Busy(
        f"{said} now. What you typed is still here: close other pages of this group, then press the button again; if "
        "that does not help, call the leader"))


def _in_turn(method):
    """A method of Group during which nobody else writes its file."""
    @functools.wraps(method)
    def waiting(group, *args, **kwargs):
        with alone(group.path):
            return method(group, *args, **kwargs)
    return waiting


def coded(text, what="a group's code"):
    """A code of one to eight letters and digits, in capitals. Raises AnswerError otherwise."""
    made = "".join(str(text or "").split()).upper()
    if not CODE.fullmatch(made):
        typed = quoted(text) if made else "an empty box"
        raise AnswerError(f"{typed} cannot be {what}: one to eight letters (a to z) and digits, for example B7; "
                          "and please no names of people")
    return made


def argued(word, rival):
    """Check a verdict's word and rival. Raises AnswerError for a word that is not on the scale, and where no rival is
    named."""
    if word not in WORD_BANDS:
        raise AnswerError(f"{quoted(word)} is not on the scale; {tables.nearest(word, WORD_BANDS)}")
    if not on_one_line(rival):
        raise AnswerError("no rival is named; name one other way in which such a part could have been made")


def asked_for(key):
    if key not in ASKED:
        raise AnswerError(f"nothing is asked about {quoted(key)}; {tables.nearest(key, ASKED)}")
    return ASKED[key]


def on_one_line(text):
    """Text on one line: a row is a line, so that a file cut short loses no more than its last row."""
    text = "".join(c if c.isprintable() else " " for c in str(text or ""))
    return " ".join(text.encode("utf-8", "replace").decode("utf-8").split())[:600]


def clock(time):
    return time[11:16] if re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d.*", time) else time


@dataclass(frozen=True)
class Group:
    """One group: its file, the good rows in it as dicts, and in words whatever is wrong with the file.

    label: its code, with a number where several files claim the same one. Each method that adds rows returns the group
    as the file then stands.
    """
    path: Path
    code: str
    rows: tuple
    faults: tuple
    label: str

    @property
    def predictions(self):
        """{key: row} of what is predicted, the first of each; these are locked."""
        found = {}
        for row in self.rows:
            if row["kind"] == "prediction":
                found.setdefault(row["quantity"], row)
        return found

    @property
    def readings(self):
        """{key: {reader: [values]}}: of each reader the values that stand."""
        found = {}
        for row in self.rows:
            if row["kind"] == "reading":
                by_reader = found.setdefault(row["quantity"], {})
                if row["note"].startswith(INSTEAD):
                    by_reader[row["who"]] = []
                by_reader.setdefault(row["who"], []).append(row["value"])
        return found

    def words(self, kind):
        """{quantity: words} of a verdict or a minute card: the last ones written."""
        return {row["quantity"]: row["note"] for row in self.rows if row["kind"] == kind}

    def reread(self):
        """The group as its file is now."""
        return replace(read(self.path), label=self.label)

    @_in_turn
    def predict(self, answers):
        """Lock predictions: {key of ASKED: (lowest, best guess, highest) as typed}. All of them are kept, or none.

        Returns (group, whatever was taken differently from what was typed). Raises Locked where one of them is
        predicted already, showing the first; AnswerError with everything that cannot be taken.
        """
        known = self.reread()
        first = [f"{key}: {words.number(row['low'])} to {sized(row['high'], row['unit'])}, best guess "
                 f"{words.number(row['value'])}, at {clock(row['time'])}"
                 for key, row in known.predictions.items() if key in answers]
        if first:
            raise Locked(f"group {self.code} has predicted already, and that stands: {'; '.join(first)}. "
                         "What you know now goes into the readings and the verdict.")
        taken, faults = {}, []
        for key, boxes in answers.items():
            try:
                taken[key] = predicted(asked_for(key), *boxes)
            except AnswerError as fault:
                faults.append(f"{key}: {fault}")
        if faults:
            raise AnswerError(" · ".join(faults))
        grown = known._with([{"kind": "prediction", "quantity": key, "low": r.low, "value": r.best, "high": r.high,
                              "unit": r.unit} for key, r in taken.items()])
        return grown, [f"{key}: {told}" for key, r in taken.items() for told in r.told]

    @_in_turn
    def measure(self, key, who, texts, instead=""):
        """Add readings as typed, those of one reader of one quantity.

        instead: why they replace the same reader's earlier ones, which stay in the file. Returns the group.
        Raises AnswerError for readings that cannot be taken, and where that reader has read it already.
        """
        asked, who, known = asked_for(key), coded(who, "a reader's code"), self.reread()
        texts, faults, values = [t for t in texts if cleaned(t)], [], []
        for position, text in enumerate(texts, 1):
            try:
                values.append(asked.checked(answer(text, asked.unit)))
            except AnswerError as fault:
                faults.append(f"reading {position}: {fault}")
        if not texts:
            faults.append(f"no reading is written; type what {who} read, in {words.unit(asked.unit)}")
        if faults:
            raise AnswerError("; ".join(faults))
        instead = on_one_line(instead)
        if who in known.readings.get(key, {}) and not instead:
            raise AnswerError(f"{who} has read the {key} already, and readings are only ever added; if the earlier "
                              "ones are wrong, say why in the box for that: they stay in the file, and these replace "
                              "them")
        notes = [INSTEAD + instead if instead else ""] + [""] * len(values)
        return known._with([{"kind": "reading", "quantity": key, "value": v, "unit": asked.unit, "who": who, "note": n}
                            for v, n in zip(values, notes)])

    def argue(self, word, rival, because=""):
        """Add the group's verdict: a probability word, the rival that is not excluded, and why. Returns the group."""
        argued(word, rival)
        return self._say("verdict", word=word, rival=rival, because=because)

    def card(self, learnt="", question=""):
        """Add a minute card: one thing learnt, one question left open. Returns the group."""
        if not on_one_line(learnt) and not on_one_line(question):
            raise AnswerError("the card is empty; write one thing learnt, or one question that is left")
        return self._say("minute-card", learnt=learnt, question=question)

    @_in_turn
    def _say(self, kind, **texts):
        return self.reread()._with([{"kind": kind, "quantity": key, "note": on_one_line(text)}
                                    for key, text in texts.items() if on_one_line(text)])

    def _with(self, entries):
        """The group with rows added to its file; a last line that was cut short stays before them, damaged as it is."""
        held = self.path.read_bytes()
        if any(_line(columns(n)).encode().startswith(held) for n in range(1, FORMAT + 1)):
            held = _line(columns()).encode()   # empty, or cut short in its first line, which holds no entry
        names = columns(format_of(_lines(held)[0]))
        lines, now = [held if held.endswith(b"\n") else held + b"\n"], datetime.datetime.now().astimezone()
        before = self.rows[-1]["chain"] if self.rows else ""
        for entry in entries:
            row = {"format": str(FORMAT), "time": now.isoformat(timespec="seconds"), "group": self.code, **entry}
            cells = [_cell(row.get(name)) for name in names[:-1]]
            before = _chained(before, cells)
            lines.append(_line([*cells, before]).encode())
        tables.put(self.path, b"".join(lines))
        return self.reread()


def _cell(value):
    if value is None:
        return ""
    return repr(float(value)) if isinstance(value, (int, float)) else tables.safe_cell(str(value))


def _chained(before, cells):
    return hashlib.sha256("\x1f".join([before, *cells]).encode()).hexdigest()[:12]


def _line(cells):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()


def _lines(held):
    """Lines of the bytes of a file; a spreadsheet's mark at the beginning and its ends of lines are taken off."""
    return held.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").split(b"\n")


def _row(line, before, format):
    """(row as a dict, whether it fits the chain). Raises ValueError for a line that is no row."""
    cells, names = next(csv.reader([line.decode("utf-8")], strict=True), []), columns(format)
    if len(cells) != len(names):
        raise ValueError(f"{len(cells)} cells instead of {len(names)}")
    row = {"format": str(format)} | dict(zip(names, cells))
    if row["format"] != str(format):
        raise ValueError(f"format: {row['format']!r}")
    for field in schema()["fields"]:
        name, rules = field["name"], field.get("constraints", {})
        if rules.get("required") and not row[name] or row[name] and row[name] not in rules.get("enum", (row[name],)):
            raise ValueError(f"{name}: {row[name]!r}")
        if field["type"] == "number":
            row[name] = float(row[name]) if row[name] else None
            if row[name] is not None and not 0 <= row[name] < np.inf:
                raise ValueError(f"{name}: {row[name]!r}")
    if not re.fullmatch("[0-9a-f]{12}", row["chain"]):
        raise ValueError("its end is missing")
    row |= {"who": tables.as_typed(row["who"]), "note": tables.as_typed(row["note"])}
    return row, row["chain"] == _chained(before, cells[:-1])


def _later(lines):
    """Number of the format of a file that a later kit wrote, None where none did."""
    named = re.match(rb"(\d{1,9}),", lines[1]) if len(lines) > 1 and lines[0].startswith(b"format,") else None
    return int(named[1]) if named and int(named[1]) > FORMAT else None


def read(path):
    """Group from its file; whatever is wrong with the file is told in `faults`, and the good rows are kept.

    A last line cut short is lost, and that is told; whole rows missing at the end do not show. A row that was changed,
    or one taken out, breaks the chain, and that is told; a changed row is kept as it now is.
    Raises tables.TableError where the file is missing, is no group's file, or was written by a later kit.
    """
    path = Path(path)
    try:
        lines = _lines(path.read_bytes())
    except FileNotFoundError:
        raise tables.TableError(f"{path}: there is no such file; check its name and folder") from None
    from_name = re.sub(r"[^A-Z0-9]", "", path.stem.upper().removeprefix("GROUP-"))[:8] or "X"
    if later := _later(lines):
        raise tables.TableError(f"{path}: this file has format {later}, and this kit knows formats up to {FORMAT}; "
                                "read it with the kit that wrote it, or a later one; it was left as it is")
    format = format_of(lines[0])
    if not format:
        if len(lines) > 1 or not any(_line(columns(n)).encode().startswith(lines[0]) for n in range(1, FORMAT + 1)):
            raise tables.TableError(f"{path}: this is no group's file; its first line must name the columns "
                                    f"{', '.join(columns())}")
        told = ("the file is cut short in its first line; nothing that was entered is left in it",) if lines[0] else ()
        return Group(path, from_name, (), told, from_name)
    rows, faults, before = [], [], ""
    for place, line in enumerate(lines[1:], 2):
        last = place == len(lines)   # what stands behind the last end of a line: of a whole file nothing
        if not line.strip():
            continue
        try:
            row, fits = _row(line, before, format)
            if last and not fits:
                raise ValueError("its end is missing")
        except (ValueError, csv.Error):   # bytes that are no text are a ValueError too
            kept = words.counted(len(rows), "row")
            faults.append(f"line {place} is cut short or damaged, "
                          + (f"and lost; before it, {kept} kept" if last else "and left out"))
            continue
        if not fits:
            faults.append(f"line {place} ({row['kind']}, {row['quantity']}) or the line before it was changed after it "
                          "was written, or a line between them taken out (saving the file from a spreadsheet has the "
                          "same effect)")
        before = row["chain"]
        rows.append(row)
    claimed = rows[0]["group"] if rows else from_name
    if not CODE.fullmatch(claimed):
        faults.append(f"the group calls itself {quoted(claimed)}, which is no code; after its file's name it is called "
                      f"{from_name}")
        claimed = from_name
    return Group(path, claimed, tuple(rows), tuple(faults), claimed)


def path_of(folder, group):
    return Path(folder) / f"group-{coded(group)}.csv"


def start(folder, group, resume=False):
    """Begin a group's file in a folder, or go on with it.

    group: its code, letters and digits. resume: go on with the file that is there.
    Raises Taken where that code has a file already and is not resumed; AnswerError for a code that cannot be used.
    """
    path = path_of(folder, group)
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        tables.put(path, _line(columns()).encode(), new=True)   # this clears what dead processes left there, too
    except FileExistsError:
        held = read(path)
        if not resume:
            others = (f"{held.code[:6]}{n}" for n in range(2, 100))
            free = next(c for c in others if not path_of(folder, c).exists())
            begun = f", the first at {clock(held.rows[0]['time'])}" if held.rows else ""
            raise Taken(f"group {coded(group)} is on this machine already, with {words.counted(len(held.rows), 'row')}"
                        f"{begun}. If that is you, go on with it; if not, take another code, for instance {free}"
                        ) from None
    return read(path)


@dataclass(frozen=True)
class Collected:
    """The groups of all files in a folder, and in words whatever one should know about those files."""
    groups: tuple
    told: tuple


def collect(folder):
    """Every group's file in a folder and in its subfolders, one for each laptop.

    Two files that claim one code are both kept and told apart as 'A' and 'A (2)'; of two copies of one file the fuller
    is taken. Files of another kind are left out. All of this is told, with the faults within each file.
    """
    found, told, kept = [], [], []
    for path in sorted(Path(folder).rglob("*.csv")):
        try:
            found.append(read(path))
        except (tables.TableError, OSError) as fault:
            told.append(f"left out: {fault}")
    for group in sorted(found, key=lambda g: (g.code, -len(g.rows), g.rows[0]["time"] if g.rows else "", str(g.path))):
        chains = [row["chain"] for row in group.rows]
        same = [g for g in kept if g.code == group.code]
        fuller = next((g for g in same if chains and [row["chain"] for row in g.rows][:len(chains)] == chains), None)
        if fuller:
            told.append(f"{group.path} is a copy of {fuller.path}, or an earlier state of it; the fuller one is taken")
            continue
        label = group.code if not same else f"{group.code} ({len(same) + 1})"
        if same:
            told.append(f"two files claim the code {group.code}: {same[0].path} and {group.path}; "
                        f"the second is called {label}")
        told.extend(f"{label}, {group.path.name}: {fault}" for fault in group.faults)
        kept.append(replace(group, label=label))
    return Collected(tuple(kept), tuple(told))
