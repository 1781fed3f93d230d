"""The form of the bench log in a notebook: a step is chosen, what is expected stands beside, rows saved at once."""
import ipywidgets

from kit.base import words
from kit.publish.controls import WIDE
from kit.workshop import benchlog
from kit.workshop.answers import AnswerError
from kit.workshop.forms import _button, guarded, _row, _say, _text


class BenchForm(ipywidgets.VBox):
    """Boxes for one step of a study's route, and what was saved. Nothing that is typed is cleared before it is saved.

    study: whose steps they are. path: of the log; where None as `BenchFile.of` has it.
    """

    def __init__(self, study, path=None):
        self.file = benchlog.BenchFile.of(study) if path is None else benchlog.BenchFile(benchlog.Path(path))
        self.steps, self.saved = benchlog.steps(study), []   # who saved each row here
        self.which = ipywidgets.Dropdown(options=[(step.said, i) for i, step in enumerate(self.steps)],
                                         description="step", layout=WIDE)
        self.who = _text("who, or a code")
        self.outcome = ipywidgets.Dropdown(options=benchlog.OUTCOMES, description="outcome")
        self.failure, self.why_not = _text("if it failed: how"), _text("if it is not to count: why")
        self.remark = _text("remark", layout={"width": "510px"})
        self.substitute = ipywidgets.Checkbox(description="a modern tool or material was in it", indent=False)
        self.readings, self.said = ipywidgets.VBox(), ipywidgets.HTML()
        self.save, self.undo = _button("Save this row"), _button("Undo the last row")
        self.save.on_click(guarded(self.said, self._save))
        self.undo.on_click(guarded(self.said, self._undo))
        self.which.observe(lambda _: self._boxes(), "value")
        super().__init__([self.which, self.readings, _row(self.outcome, self.failure), _row(self.who, self.why_not),
                          self.remark, self.substitute, self.said, _row(self.save, self.undo)])
        self._boxes()
        _say(self.said, f"Rows are saved in {self.file.path}, one at a time, as you press the button; there are "
                        f"{words.counted(len(self.file.rows()), 'row')} in it.")

    @property
    def step(self):
        return self.steps[self.which.value]

    def _boxes(self):
        """Boxes of the step that is chosen, what is expected beside each."""
        self.boxes = {column: _text(benchlog.label(column)) for column in self.step.columns}
        self.readings.children = [_row(box, ipywidgets.HTML(self.step.expects(column)))
                                  for column, box in self.boxes.items()]

    def _save(self):
        row, taken = self.file.add(
            self.step, {column: box.value for column, box in self.boxes.items()}, self.who.value, self.outcome.value,
            failure=self.failure.value, why_not=self.why_not.value, substitute=self.substitute.value,
            remark=self.remark.value)
        self.saved.append(row["operator"])
        for box in (*self.boxes.values(), self.failure, self.why_not, self.remark):
            box.value = ""
        self.outcome.value, self.substitute.value = benchlog.OUTCOMES[0], False
        read = ", ".join(f"{benchlog.label(column)} {words.exact(value)}" for column, value in taken.items())
        said = f"Saved: trial {row['trial']}, {self.step.said}, {row['outcome']}{f'; {read}' if read else ''}."
        if self.which.value + 1 < len(self.steps) and self.steps[self.which.value + 1].tube == self.step.tube:
            self.which.value += 1
        return said

    def _undo(self):
        if not self.saved:
            raise AnswerError("no row has been saved here since the page was opened; earlier ones are for an editor, "
                              "with a reason")
        who, row = self.file.undo(self.saved[-1])
        self.saved.pop()
        return f"Undone, of {who}, and kept in {self.file.undone.name}: {row}"
