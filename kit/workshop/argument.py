"""What the counts of a session support: pieces made, the probability words that fit, and the learners' verdict."""
from dataclasses import dataclass

import numpy as np

from kit.base import tables, words
from kit.estimates import trials
from kit.workshop.answers import AnswerError
from kit.workshop.groupfile import WORD_BANDS, argued, on_one_line
from kit.workshop.workpiece import tool_of

OWN_ROUTE = "bored from the bar"   # of data/reference/rival_routes.csv: what the session itself does, and so no rival


def rivals():
    """The ways of making such a part that a session may name as rivals; its own is none."""
    return tuple(dict.fromkeys(row["route"] for row in tables.load("rival_routes") if row["route"] != OWN_ROUTE))


def made(table, study):
    """(made, tried): how many groups measured a clearance that lets the plunger in and is no more than the study's use
    allows, and how many measured one at all."""
    most = study.use["clearance_most"].m_as("um")
    found = [bool(0 < v <= most) for v in table.loc[table["quantity"] == "clearance", "measured"] if np.isfinite(v)]
    return sum(found), len(found)


def supported(good, n):
    """The probability words whose bands overlap the 95 % interval (Clopper-Pearson) of a success rate, the strongest
    first."""
    low, high = trials.success_interval(successes=good, trials=n)
    return tuple(word for word, (least, most) in WORD_BANDS.items() if least <= high and most >= low)


def band(word):
    """The chances that a probability word of the published scale stands for: '66 to 90 %'."""
    least, most = WORD_BANDS[word]
    return f"{100 * least:.0f} to {100 * most:.0f} %"


@dataclass(frozen=True)
class Argued:
    """A verdict sentence; supported: whether the counts support its word; told: in words, what they support."""
    text: str
    supported: bool
    told: str


def verdict_sentence(study, good, n, word, rival, because="", same_traces=True):
    """The learners' verdict as a sentence, and whether the counts support the word that they chose.

    good, n: pieces made, of those tried. word: of the published scale (evidence.LIKELIHOOD). rival: one other way in
    which such a part could have been made. because: the step or reason that decided. same_traces: whether the rival
    would leave the same traces on the part. Returns Argued.
    Raises AnswerError for a word that is not on the scale, no rival, the session's own route as a rival, and no pieces.
    """
    argued(word, rival)
    if on_one_line(rival).rstrip(".").casefold() == OWN_ROUTE:
        raise AnswerError(f"'{OWN_ROUTE}' is how this session makes it, and so no rival; name another way in which "
                          "such a part could have been made")
    if not n:
        raise AnswerError("no group has measured a clearance yet; without a count no word can be supported")
    carried = supported(good, n)
    low, high = (words.percent(end) for end in trials.success_interval(successes=good, trials=n))
    fits = ("is among them" if word in carried else
            "is not among them: choose another, or name the evidence besides the counts that supports it")
    told = (f"With {good} of {n} the true rate of success may lie anywhere from {low} to {high} (95 %, "
            f"Clopper-Pearson). That supports the words from '{carried[-1]}' to '{carried[0]}'; '{word}' "
            f"({band(word)}) {fits}.")
    steps = [step for tube in study.tubes for step in study.steps(tube)]
    drive = study.workshop.drive if any(step.drive != "hand" for step in steps) else "hands and a wrench"
    tools = "; ".join(dict.fromkeys([drive, *map(tool_of, steps)]))
    reason = f" What decided: {on_one_line(because).rstrip('.')}." if on_one_line(because) else ""
    traces = "which would leave the same traces" if same_traces else "though that would leave other traces, to look for"
    closest = words.planned(study.use["clearance_most"])
    shows = "it can be done in this way" if good else "these hands did not succeed, and not that it cannot be done"
    return Argued((
        f"With these means ({tools}; {study.part['alloy']}) learners succeeded with {good} of {n} pieces, each "
        f"prepared up to the step at hand: the plunger slides, with no more than {closest} of clearance. The true rate "
        f"of success lies between {low} and {high} (95 %, n = {n}). We consider it {word} that hands like ours, so "
        f"equipped, will succeed with the next one.{reason} This shows that {shows}; it does not show how it was "
        f"done, and it does not exclude {on_one_line(rival).rstrip('.')}, {traces}."), word in carried, told)
