"""Entering readings at the bench: the steps of a route with what is expected, rows saved at once, a sheet to print.

A row is added to the log's file, or it is not: the file is put in its place whole, one writer at a time. Undoing takes
away the last row that was added here, and keeps it in a file beside.
"""
import csv
import datetime
import io
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from kit.base import files, tables, words
from kit.base.units import told
from kit.study import bench
from kit.study.outcomes import cases_of
from kit.workshop.answers import AnswerError, answer, cleaned, quoted
from kit.workshop.paper import FREE, fill_in, gap, heading, page_break, paragraph, pdf, ruled, title
from kit.workshop.workpiece import title_of, tool_of

PATIENCE = 10   # s; how long one waits for another who is writing
DRAWS, SEED = 2**9, 1
MOSTLY = 0.5    # share of draws by bow below which no strokes are expected
TEST = "test"   # of the finished part: no operation of a route
READ_IN_TEST = "hold_s", "slide_N", "clearance_um"
LABELS = {"measured_mm": "measured, mm", "passes_mm": "plug that enters, mm", "stops_mm": "plug that does not, mm",
          "torque_Nm": "torque, N·m", "pull_N": "pull it took, N", "pull_most_N": "most the arm kept up, N",
          "pressure_kPa": "pressure, kPa", "mass_before_g": "mass before, g", "mass_after_g": "mass after, g",
          "stock_mm": "taken off, on diameter, mm", "hold_s": "hold, s", "slide_N": "push to slide, N",
          "clearance_um": "clearance, µm"}
UNITS = {"minutes": "min", "strokes": "strokes"} | {
    name: {"Nm": "N*m"}.get(name.rpartition("_")[2], name.rpartition("_")[2]) for name in LABELS}
OUTCOMES = ("success", "partial", "fail")


def label(column):
    """What a column is called on a form and on paper."""
    return LABELS.get(column, column)


@dataclass(frozen=True)
class BenchStep:
    """A step of a route as the bench meets it. number: in its route, from 1; None for the test of the finished tube.
    known: cells of the log that the route gives. columns: what is read in it. work: kind of work, in words. expected:
    {column: (5 %, median, 95 %)}, in the column's unit; three times the size that is wanted."""
    tube: str
    number: int | None
    operation: str
    tool: str
    known: dict
    columns: tuple
    work: str
    expected: dict

    @property
    def name(self):
        return f"{self.number} {self.operation}, {self.tool}" if self.number else "test of the finished part"

    @property
    def said(self):
        size = f" to {words.exact(self.known['diameter_mm'])} mm" if "diameter_mm" in self.known else ""
        return f"{self.tube}: {self.name}{size}"

    def expects(self, column):
        """What is expected of a reading, in words; "" where the study says nothing of it."""
        if column not in self.expected:
            return ""
        low, mid, high = self.expected[column]
        return f"expected {words.exact(mid) if low == high else words.ranged(low, mid, high)}"


def steps(study, draws=DRAWS, seed=SEED):
    """Every step of every tube of a study, as BenchSteps, in order; and a test of each tube. What is expected is taken
    from so many draws, by feel."""
    found, values = [], study.draws(draws, seed)
    with told():   # a verdict tells what lies outside
        cases = cases_of(study, values)
    for case in cases:
        number = 0
        for each in case.operations:
            with told():
                working, bowed = each.working, each.bowed
                torque = each.torque if "torque_Nm" in each.read else None
            for row, step in enumerate(each.steps):
                number += 1
                known = {} if each.by_edge else {"tool": tool_of(step)}
                if each.has_tool:
                    known |= {"diameter_mm": _mm(step.diameter), "stock_mm": _mm(step.diameter - step.before)}
                minutes = np.broadcast_to(working[row].m_as("min"), (draws,))
                expected = {"minutes": _three(minutes)}
                by_bow = np.broadcast_to(bowed[row], (draws,))
                if "strokes" in each.read and by_bow.mean() >= MOSTLY:   # the turns of the feed settled on
                    strokes = minutes * each.means["drive.stroke_frequency"].m_as("1/min")
                    expected["strokes"] = _three(strokes[by_bow])
                if torque is not None:
                    expected["torque_Nm"] = _three(np.atleast_2d(torque.m_as("N*m"))[row])
                if "pressure_kPa" in each.read:
                    expected["pressure_kPa"] = _three(each.setting.m_as("kPa")[row])
                if "stock_mm" in each.read:
                    expected["stock_mm"] = _three(np.atleast_2d(each.stock.m_as("mm"))[0])
                if step.operation in ("ream", "turn", "file"):
                    expected["measured_mm"] = (_mm(step.diameter),) * 3
                found.append(BenchStep(case.tube.name, number, each.name, tool_of(step), known, each.read, each.work,
                                       expected))
        if not case.tube.solid:
            found.append(BenchStep(case.tube.name, None, TEST, "", {}, READ_IN_TEST, "Test of the finished part", {}))
    return found


def _mm(quantity):
    return round(quantity.m_as("mm"), 4)


def _three(values):
    return tuple(float(x) for x in np.quantile(values, (0.05, 0.5, 0.95)))


# --- the file --------------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class BenchFile:
    """The file of a bench log, to which rows are added as they come. path: it need not be there yet."""
    path: Path

    @property
    def undone(self):
        """Where rows that were undone are kept."""
        return self.path.with_name(f"{self.path.stem}_undone.csv")

    @classmethod
    def of(cls, study):
        """That of a study: in its folder, but for the demo, whose log stays as it is, in the folder `out` here."""
        return cls(Path("out" if study.is_demo else study.folder) / "bench_log.csv")

    def rows(self):
        """Its good rows."""
        return bench.read(self.path).rows if self.path.exists() else ()

    def trial(self, step):
        """The number of the trial that a row of this step belongs to: the last one of that tube where the step is not
        in it yet and nothing has failed, else the next."""
        rows = self.rows()
        mine = [row for row in rows if row["tube"] == step.tube]
        last = [row for row in mine if row["trial"] == mine[-1]["trial"]]
        done = any(row["outcome"] == "fail" or row["step"] == step.name or row["operation"] == step.operation
                   and row["tool"] == step.known.get("tool")
                   and row["diameter_mm"] == step.known.get("diameter_mm") for row in last)
        return last[0]["trial"] if last and not done else max((row["trial"] for row in rows), default=0) + 1

    def add(self, step, typed, operator, outcome="success", trial=None, date=None, failure="", why_not="",
            substitute=False, remark=""):
        """Add a row as it was typed: (the row as the file has it, {column: what was understood}).

        step: a BenchStep. typed: {column: text}, numbers as people type them, units allowed; empty ones are left out.
        operator: who, or a code. outcome: one of OUTCOMES. trial: number; found where None. date: today where None.
        why_not: why it is not to count; it counts where empty.
        Raises AnswerError for what cannot be taken, all of it at once: nothing is written then; OSError where the file
        cannot be written.
        """
        taken, faults = dict(step.known), []
        for column, text in typed.items():
            if cleaned(text):
                try:
                    taken[column] = self._number(step, column, text)
                except AnswerError as fault:
                    faults.append(f"{label(column)}: {fault}")
        if not str(operator or "").strip():
            faults.append("nobody is named; write who did it, or a code")
        if outcome not in OUTCOMES:
            faults.append(f"outcome {quoted(outcome)} is none; {tables.nearest(outcome, OUTCOMES)}")
        if faults:
            raise AnswerError("; ".join(faults))
        if step.operation == "lap" and "stock_mm" not in typed:
            taken.pop("stock_mm", None)
        with alone(self.path):
            trial = trial or self.trial(step)
            names = {row["step"] for row in self.rows() if row["trial"] == trial}
            name, again = step.name, 1
            while name in names:   # a step that is repeated gets a row of its own
                again += 1
                name = f"{step.name}, time {again}"
            row = {"trial": trial, "date": (date or datetime.date.today()).isoformat(), "tube": step.tube, "step": name,
                   "operation": step.operation, "operator": operator, "outcome": outcome, "failure": failure,
                   "counted": "no" if why_not else "yes", "why_not": why_not,
                   "substitute": "yes" if substitute else "no", "remark": remark}
            row |= {column: _text(value) for column, value in taken.items() if value is not None}
            self._append(row)
        return row, {column: taken[column] for column in typed if column in taken}

    @staticmethod
    def _number(step, column, text):
        if column not in step.columns:
            raise AnswerError(f"is not read when you {step.operation}; {tables.nearest(column, step.columns)}")
        value = answer(text, UNITS[column])
        return int(round(value)) if column == "strokes" else value

    def _append(self, row):
        """Put the row at the end of the file, which is checked with it before it is put in its place."""
        fields = [field["name"] for field in bench.schema()["fields"]]
        before = self.path.read_bytes() if self.path.exists() else (",".join(fields) + "\n").encode()
        names = tables.header(self.path) if self.path.exists() else fields
        if lacking := [name for name, value in row.items() if value not in ("", None) and name not in names]:
            raise AnswerError(f"{self.path}, line 1: the log has no column {lacking[0]!r}; add it to the first line "
                              "(nothing was written)")
        end = b"\r\n" if b"\r\n" in before else b"\n"
        line = io.StringIO()
        csv.writer(line, lineterminator="").writerow([_cell(row.get(name)) for name in names])
        ended = b"" if before.endswith((b"\n", b"\r")) or not before else end
        made = before + ended + line.getvalue().encode() + end
        _checked(made, self.path)
        files.put(self.path, made)

    def undo(self, operator=None):
        """Take away the last row, of one who writes here where an operator is given; it is kept in the file beside:
        (who wrote it, the row as text).

        Raises AnswerError where there is none."""
        with alone(self.path):
            if not self.rows():
                raise AnswerError(f"{self.path}: there is no row that could be undone")
            text = self.path.read_bytes().decode("utf-8-sig")
            mark = b"\xef\xbb\xbf" if self.path.read_bytes().startswith(b"\xef\xbb\xbf") else b""
            lines = _records(text)
            while lines and not lines[-1].strip():
                lines.pop()
            who = self._writers(lines)
            mine = [place for place, name in enumerate(who) if operator is None or name == _cell(operator)]
            if not mine:
                names = [name for name in dict.fromkeys(who) if name]
                others = f"of {quoted(operator)}; {tables.nearest(operator, names)}" if who else "that could be undone"
                raise AnswerError(f"{self.path}: there is no row {others}")
            last = lines.pop(mine[-1] + 1)
            kept = self.undone.read_text(encoding="utf-8") if self.undone.exists() else lines[0]
            files.put(self.undone, kept + last.rstrip("\r\n") + "\n")   # first, so that it is never in neither file
            files.put(self.path, mark + "".join(lines).encode())
        return who[mine[-1]], last.strip()

    def _writers(self, records):
        """Who wrote each row of the file, without its first; "" where a line says nothing of it."""
        place = tables.header(self.path).index("operator")
        _, *rows = csv.reader(io.StringIO("".join(records), newline=""))
        return ["".join(row[place:place + 1]) for row in rows]


def _records(text):
    """The records of a CSV as text, each with its end of line; a cell may hold ends of line."""
    found, begun = [], ""
    for line in text.splitlines(keepends=True):
        begun += line
        if begun.count('"') % 2 == 0:
            found.append(begun)
            begun = ""
    return [*found, begun] if begun else found


def _checked(content, path):
    """Raise AnswerError where the last row of a log, as it would be written, could not be read again."""
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "bench_log.csv"
        draft.write_bytes(content)
        faults = bench.read(draft).faults
        last = content.decode("utf-8-sig").count("\n")
    mine = [fault for fault in faults if (place := re.search(r"line (\d+)", fault)) and int(place[1]) >= last]
    if mine:
        said = re.sub(r"^.*?bench_log\.csv, line \d+, ?", "", mine[-1])
        raise AnswerError(f"{said} (nothing was written to {path.name})")


def alone(path):
    """While this lasts nobody else writes the log here: see files.alone."""
    return files.alone(path, PATIENCE, lambda said: AnswerError(f"{said}; close it, and save again"))


def _cell(value):
    """As the file has it: on one line, and nothing that a spreadsheet would work out."""
    return tables.safe_cell(" ".join(str("" if value is None else value).split()))


def _text(value):
    return f"{value:.9g}" if isinstance(value, float) else str(value)


# --- on paper --------------------------------------------------------------------------------------------------------

ROOM = 273   # mm across


def sheet(study, tubes=None):
    """Bytes of a PDF: for each tube the steps of its route with tools and diameters, a table for each kind of work with
    only the columns that it needs, and the names under which the log has them. tubes: names; all where None."""
    found, story = steps(study), []
    wanted = list(dict.fromkeys(step.tube for step in found)) if tubes is None else list(tubes)
    for tube in wanted:
        mine = [step for step in found if step.tube == tube]
        if not mine:
            raise AnswerError(f"there is no tube {tube!r}; {tables.nearest(tube, {step.tube for step in found})}")
        story += [*([page_break()] if story else []), *heading(f"Bench sheet: {tube}"),
                  fill_in(("trial no.", 40), ("date", 50), ("who", 60), ("modern tool or material? yes / no", 100),
                          height=9), gap(1)]
        for work in dict.fromkeys(step.work for step in mine):
            rows = [step for step in mine if step.work == work]
            columns = list(dict.fromkeys(c for step in rows for c in step.columns))
            head = ["step", "to, mm", *(f"{label(c)}" for c in columns), "success, partial, fail", "remark"]
            fixed, last = (52, 16), (22, 40)
            wide = (ROOM - sum(fixed) - sum(last)) / len(columns)
            story += [title(work, 11, after=0), ruled(
                head, [[step.name, words.exact(step.known["diameter_mm"]) if "diameter_mm" in step.known else "",
                        *(FREE if c in step.columns else "–" for c in columns), FREE, FREE] for step in rows],
                (*fixed, *[wide] * len(columns), *last), size=9, height=min(8.5, 76 / len(mine)), head_size=7.5),
                gap(1)]
        story += [paragraph("Write every step as it happens, failures too, and why a row is not to count. "
                            "Strokes: push and pull as one. Minutes: rests left out. Blank: not measured. Then type "
                            "it in, in the form of notebook 07 or by python -m kit log.", 9)]
    return pdf("Bench sheet", title_of(study), story, wide=True)
