"""Skill in a bench log: trials in order, what they show of learning, and photographs filed with a trial."""
from dataclasses import dataclass
from pathlib import Path

from kit.base import tables, words
from kit.estimates import learning

PHOTOGRAPHS = "photographs.csv"
LARGEST = 50e6   # bytes of a photograph
PICTURES = ".png", ".jpg", ".jpeg", ".tif", ".tiff"
FIELDS = {"fields": [
    {"name": "file", "type": "string", "constraints": {"required": True}},
    {"name": "trial", "type": "integer", "constraints": {"required": True, "minimum": 1}},
    {"name": "step", "type": "string"},
    {"name": "scale", "type": "string", "constraints": {"required": True}},
    {"name": "shows", "type": "string", "constraints": {"required": True}},
    {"name": "tool_mark", "type": "string"},
    {"name": "by", "type": "string", "constraints": {"required": True}},
    {"name": "licence", "type": "string"}],
    "primaryKey": ["file"], "missingValues": [""]}


@dataclass(frozen=True)
class Skill:
    """One operator at one operation with one tool. trials: (number, minutes or None, whether it failed), in order.
    times: a learning.Learnt, None where fewer than two were timed. failing: a learning.Failures."""
    operator: str
    operation: str
    tool: str
    trials: tuple
    times: object
    failing: object

    @property
    def said(self):
        """In sentences, with what may be carried over to a practised hand."""
        at = f"{self.operator}, {self.operation}{f' with {self.tool}' if self.tool else ''}: "
        text = [at + words.counted(len(self.trials), "trial") + f", {self.failing.failed} failed."]
        if self.times:
            t = self.times
            text.append(f"The next takes {_said(t.following, 'min')}; each doubling leaves {_share(t.rate)} of what "
                        f"can be learnt ({words.counted(t.trials, 'timed trial')}, of which the rate learns little).")
            text.append(f"An assumption, not a finding: a practised hand with the same tools would take "
                        f"{_said(t.practised, 'min')}, so that the next piece takes {_said(t.ratio)} times as long.")
        text.append(f"The chance that the next fails is {_said(self.failing.following)}, that a practised hand's does "
                    f"{_said(self.failing.practised)} (judgement before the trials weighs much).")
        return " ".join(text)


def _said(three, unit=""):
    return words.ranged(*three, unit)


def _share(three):
    low, mid, high = (words.percent(x) for x in three)
    return f"{mid} ({low} to {high})"


def skills(log, seed=1):
    """What a bench log shows of skill: a tuple of Skills, one for each operator, operation and tool with two trials or
    more, in the order in which they appear. Rows that do not count, and modern substitutes, are left out.

    The pieces of one tool may differ in length: that is scatter here.
    """
    found = {}
    for row in log.counted:
        if row["substitute"] == "no" and row["operation"] != "test":
            found.setdefault((row["operator"], row["operation"], row["tool"] or ""), []).append(row)
    made = []
    for (operator, operation, tool), rows in found.items():
        rows = sorted(rows, key=lambda row: (row["date"], row["trial"], row["line"]))
        trials = tuple((row["trial"], row["minutes"], row["outcome"] == "fail") for row in rows)
        if len(trials) < learning.FEWEST:
            continue
        timed = [None if failed else minutes for _, minutes, failed in trials]   # a piece that failed was practice too
        times = (learning.learnt(minutes=timed, seed=seed)
                 if sum(each is not None for each in timed) >= learning.FEWEST else None)
        made.append(Skill(operator, operation, tool, trials, times,
                          learning.failures(ends=[failed for *_, failed in trials], seed=seed)))
    return tuple(made)


def table(found):
    """Skills as a DataFrame in words, for print."""
    import pandas as pd
    return pd.DataFrame([{
        "operator": each.operator, "operation": each.operation, "tool or grain": each.tool,
        "trials": len(each.trials), "failed": each.failing.failed,
        "minutes in order": ", ".join(f"{words.exact(m)}{' (failed)' if bad else ''}" if m else "not timed"
                                      for _, m, bad in each.trials),
        "time of the next": _said(each.times.following, "min") if each.times else "",
        "of a practised hand (assumption)": _said(each.times.practised, "min") if each.times else "",
        "chance that the next fails": _said(each.failing.following)} for each in found])


# --- photographs -----------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Photographs:
    """Photographs filed with trials. rows: the good ones as dicts. faults: a line of words for each refused one."""
    rows: tuple = ()
    faults: tuple = ()


def photographs(folder, log=None):
    """Photographs that `photographs.csv` of a study's folder lists: file (below the folder), trial, step, scale (what
    in the picture tells its size), what it shows, the tool mark, by whom, licence.

    Refused: a file that is not there, lies outside the folder, is no PNG, JPEG or TIFF by its name or is larger than
    50 MB, and, where a log is given, a trial that it does not have.
    """
    path = Path(folder) / PHOTOGRAPHS
    if not path.exists():
        return Photographs()
    faults, good, trials = [], [], {row["trial"] for row in log.rows} if log else None
    for row in tables.read(path, FIELDS, faults):
        there = (path.parent / row["file"])
        inside = there.resolve().is_relative_to(path.parent.resolve())
        if not inside or not there.is_file():
            faults.append(f"{path}, line {row['line']}, column 'file': {row['file']!r} is no file in the study's "
                          f"folder; put it there, for example into {path.parent / 'photographs'}")
        elif there.suffix.lower() not in PICTURES:
            faults.append(f"{path}, line {row['line']}, column 'file': {row['file']!r} is no picture; save the "
                          "photograph as PNG, JPEG or TIFF, and name that")
        elif there.stat().st_size > LARGEST:
            faults.append(f"{path}, line {row['line']}, column 'file': {row['file']!r} is larger than 50 MB; save it "
                          "smaller")
        elif trials is not None and row["trial"] not in trials:
            faults.append(f"{path}, line {row['line']}, column 'trial': the log has no trial {row['trial']}")
        else:
            good.append(row)
    return Photographs(tuple(good), tuple(faults))
