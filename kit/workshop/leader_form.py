"""The leader's form in a notebook: how many learners, how long, with a lathe or not; what follows, and all sheets."""
import ipywidgets
import pandas as pd

from kit.base import words
from kit.workshop import answers, forms, handouts, programme

STATED = "Minutes and amounts are assumptions of this kit, until a session has been run."


def rotation_for_reading(people=12, minutes=150, live_lathe=True):
    """DataFrame: at which station each group works in each round."""
    found = programme.rotation(people=people, minutes=minutes, live_lathe=live_lathe)
    return pd.DataFrame.from_dict({f"group {group}": stations for group, stations in found.items()}, orient="index",
                                  columns=[f"round {turn + 1}" for turn in range(programme.rounds(minutes=minutes))])


def timing_for_reading(minutes=150, live_lathe=True):
    """DataFrame: the blocks of a session with the time at which each begins, as hours and minutes."""
    table = pd.DataFrame(programme.timing(minutes=minutes, live_lathe=live_lathe))
    table["start"] = table["start"].map(programme.clock)
    return words.headed(table.set_index("start"))


def printing_for_reading(people=12, minutes=150):
    """DataFrame: how many copies of each sheet, and for whom."""
    return pd.DataFrame(programme.printing(people=people, minutes=minutes),
                        columns=["sheet", "copies", "for"]).set_index("sheet")


def bringing_for_reading(people=12, live_lathe=True):
    """DataFrame: what to bring, and how much of it."""
    return words.headed(pd.DataFrame(programme.amounts(people=people, live_lathe=live_lathe)).set_index("item"))


class Leader(ipywidgets.VBox):
    """Three controls (learners, length, lathe), what follows from them, and a button that makes all sheets.

    live, by_hand: the piece as a Study, with a live lathe and without one. folder: where the sheets are put, in a
    folder of their own for each setting; nothing that is there is written over.
    """

    def __init__(self, live, by_hand, folder="out/handouts"):
        self.pieces, self.folder = {True: live, False: by_hand}, folder
        self.people = ipywidgets.BoundedIntText(value=12, min=1, max=200, description="learners", style=forms.LABELLED,
                                                layout={"width": "150px"})
        self.minutes = ipywidgets.Dropdown(options=[(f"{each} minutes", each) for each in programme.LENGTHS], value=150,
                                           description="length", style=forms.LABELLED, layout={"width": "200px"})
        self.lathe = ipywidgets.Checkbox(value=True, description="a lathe turns", indent=False)
        self.make, self.said, self.shown = (ipywidgets.Button(description="Make the sheets"), ipywidgets.HTML(),
                                            ipywidgets.HTML())
        self.make.on_click(forms.guarded(self.said, self._make))
        for control in (self.people, self.minutes, self.lathe):
            control.observe(lambda _: self._show(), "value")
        controls = ipywidgets.HBox([self.people, self.minutes, self.lathe, self.make], layout=forms.ROW)
        super().__init__([controls, self.said, self.shown])
        self._show()

    @property
    def study(self):
        """The piece that is made with or without a lathe, as chosen."""
        return self.pieces[self.lathe.value]

    def _show(self):
        people, minutes, lathe = self.people.value, self.minutes.value, self.lathe.value
        learners = words.counted(people, "learner", spelt=True)
        groups = words.counted(programme.groups(people=people), "group", spelt=True)
        parts = [(f"{learners[0].upper()}{learners[1:]} in {groups} of up to four, {minutes} minutes, "
                  f"{'with' if lathe else 'without'} a live lathe", None),
                 ("Who works where", rotation_for_reading(people=people, minutes=minutes, live_lathe=lathe)),
                 ("When", timing_for_reading(minutes=minutes, live_lathe=lathe)),
                 ("Print", printing_for_reading(people=people, minutes=minutes)),
                 ("Bring", bringing_for_reading(people=people, live_lathe=lathe))]
        self.shown.value = "".join(f"<h3>{said}</h3>{'' if table is None else forms.prose(table).data}"
                                   for said, table in parts) + f"<p>{STATED}</p>"

    def _make(self):
        lathe = "lathe" if self.lathe.value else "by-hand"
        folder = f"{self.folder}/{self.people.value}-learners-{self.minutes.value}-minutes-{lathe}"
        try:
            made = handouts.write(folder, study=self.study, people=self.people.value, minutes=self.minutes.value,
                                  live_lathe=self.lathe.value)
        except FileExistsError:
            return f"They are there already, in {folder}, and were left as they are."
        except OSError as fault:
            raise answers.AnswerError(str(fault)) from fault
        return f"{words.counted(len(made), 'sheet')} for print in {folder}."
