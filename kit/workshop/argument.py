"""What the counts of a session carry: pieces made, the probability words that fit, and the learners' verdict."""
from dataclasses import dataclass

import numpy as np

from kit.base.units import number
from kit.estimates import trials
from kit.workshop.answers import AnswerError
from kit.workshop.groupfile import WORD_BANDS, argued, on_one_line


def made(table, study):
    """(made, tried): groups whose measured clearance lets the plunger in and is no more than the study's use allows,
    of those that measured one."""
    most = study.use["clearance_most"].m_as("um")
    found = [bool(0 < v <= most) for v in table.loc[table["quantity"] == "clearance", "measured"] if np.isfinite(v)]
    return sum(found), len(found)


def supported(good, n):
    """The probability words whose chances meet the 95 % interval (Clopper-Pearson) of a success rate, the strongest
    first."""
    low, high = trials.success_interval(successes=good, trials=n)
    return tuple(word for word, (least, most) in WORD_BANDS.items() if least <= high and most >= low)


@dataclass(frozen=True)
class Argued:
    """A verdict sentence; supported: whether the counts carry its word; told: what they carry, in words."""
    text: str
    supported: bool
    told: str


def verdict_sentence(study, good, n, word, rival, because="", same_traces=True):
    """The learners' verdict as a sentence, and whether the counts carry the word that they chose.

    good, n: pieces made, of those tried. word: of the published scale (evidence.LIKELIHOOD). rival: one other way in
    which such a part could have been made. because: the step or reason that decided. same_traces: whether the rival
    would leave the same traces on the part. Returns Argued.
    Raises AnswerError for a word that is not on the scale, no rival, and no pieces.
    """
    argued(word, rival)
    if not n:
        raise AnswerError("no group has measured a clearance yet; without a count there is nothing to hold a word to")
    (low, high), carried = trials.success_interval(successes=good, trials=n), supported(good, n)
    fits = ("is within that" if word in carried else
            "is not: choose another, or name the evidence besides the counts that carries it")
    least, most = WORD_BANDS[word]
    told = (f"{good} of {n} leaves a rate of success between {low:.2f} and {high:.2f} (95 %, Clopper-Pearson). That "
            f"carries any word from '{carried[-1]}' to '{carried[0]}'; '{word}' ({least:g} to {most:g}) {fits}.")
    steps = [step for tube in study.tubes for step in study.steps(tube)]
    drive = study.workshop.drive if any(step.drive != "hand" for step in steps) else "hands and a wrench"
    names = [step.name.partition(" to ")[0] for step in steps]
    tools = "; ".join(dict.fromkeys([drive, *({"turn": "turning tool"}.get(name, name) for name in names)]))
    reason = f" What decided: {on_one_line(because).rstrip('.')}." if on_one_line(because) else ""
    traces = "which would leave the same traces" if same_traces else "though that would leave other traces, to look for"
    closest = number(study.use["clearance_most"].m_as("um"), 2)
    shows = "it can be done so" if good else "these hands did not bring it off, which is not that it cannot be done"
    return Argued((
        f"With these means ({tools}; {study.part['alloy']}) learners brought {good} of {n} pieces, each prepared up to "
        f"the step at hand, to a plunger that slides with no more than {closest} µm of clearance; the rate of success "
        f"behind that lies between {low:.2f} and {high:.2f} (95 %, n = {n}). We hold it {word} that hands like ours, "
        f"so equipped, bring off the next one.{reason} This shows that {shows}; it does not show how it was done, and "
        f"it does not exclude {on_one_line(rival).rstrip('.')}, {traces}."), word in carried, told)
