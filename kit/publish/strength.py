"""How strong a claim may be put: a ladder of rungs, and the step that keeps a claim on its own."""
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import evidence, words
from kit.estimates import trials

# A ladder of this kit's own, after the rules in J. Coles, Archaeology by Experiment (1973), pp. 15-18: that it can be
# done is no proof that it was done. A step is ... and so a claim is no more than:
RUNGS = ("not shown", "possible", "plausible", "probable", "attested")
PLAUSIBLE, PROBABLE = 0.66, 0.90   # chances of every step and of all together, at least
TOGETHER = "all together"
LADDER = ("The ladder is this kit's own, and the weakest step decides. Possible: no step's margin stays below 1 over "
          "its whole range (5 % to 95 %). "
          f"Plausible: each step, and all of them in one draw, are met with a chance of {words.chance(PLAUSIBLE)} or "
          "more, and each operation was "
          "done by the author, or is done in a living craft. "
          f"Probable: the chance is {words.chance(PROBABLE)} or more, each operation is seen in the period (find, "
          "trace, text or image), and the lower bound (95 %) of the trials' rate of success is above a level fixed "
          "beforehand. "
          "Attested: a find shows the process itself.")
IN_THE_PAST, BY_TRIAL = ("find", "trace", "text", "image"), ("living-craft", "own-trial", "modern-substitute")
# what an operation rests on where that grade is the best there is
RESTS_ON = {"find": "a find", "trace": "a trace of the period", "text": "a text of the period",
            "image": "an image of the period", "living-craft": "a living craft",
            "own-trial": "the author's own trials", "updated by the log": "the bench log",
            "modern-substitute": "trials with modern substitutes",
            "handbook": "a handbook", "recalled": "memory or common practice",
            "model-only": "a model", "conjecture": "conjecture"}
DOING = {"drill": "drilling", "ream": "reaming", "turn": "turning", "file": "filing", "lap": "lapping",
         "cast": "casting", "wrap": "wrapping", "solder": "soldering", "anneal": "annealing", "draw": "drawing",
         "hammer": "hammering", "polish": "polishing"}


@dataclass(frozen=True)
class Strength:
    """How strong a claim may be put. steps: (step, what was looked at, rung, why), a row a criterion, operation and
    count of trials; the why goes on from the step's name, but for the trials, of which it says everything."""
    steps: tuple

    @property
    def rung(self):
        return min((row[2] for row in self.steps), key=RUNGS.index)

    @cached_property
    def table(self):
        """DataFrame: step, looked at, rung, why; the weakest first."""
        import pandas as pd
        rows = sorted(self.steps, key=lambda row: RUNGS.index(row[2]))
        return pd.DataFrame(rows, columns=["step", "looked_at", "rung", "why"])

    @property
    def words(self):
        """The rung, and what keeps it from the next."""
        held = [row for row in self.steps if row[2] == self.rung]
        if self.rung == RUNGS[-1]:
            return "Strength of the claim: attested, because a find shows the process itself."
        said = "; ".join(map(_clause, held[:3]))
        said += f"; and {len(held) - 3} more" if len(held) > 3 else ""
        return f"Strength of the claim: {self.rung}. It can go no higher because {said}."


def doing(operation):
    """An operation as a sentence has it: 'drilling'."""
    return DOING.get(operation, operation)


def _clause(row):
    step, looked_at, _, why = row
    named = {"chance": f"'{step}' ", "all": "all of them together ", "evidence": f"{doing(step)} ", "count": "",
             "nothing": f"{step} "}
    return named[looked_at] + why


def strength(verdict, log=None):
    """The rung that a claim has earned, the weakest step deciding.

    possible: no step's margin, and not the least of all, stays below 1 over its whole range (5 % to 95 %). plausible:
    every step, and all together, are met with a chance of 0.66 or more, and each operation has been done, by this
    maker (counted successes in the log) or in a living craft. probable: 0.90 or more, the operation is seen in the
    period (find, trace, text or image, in [[record.support]]), and the lower bound (95 %) of the success rate of the
    trials, which together went through every operation, is above a level fixed beforehand (success_level). attested:
    a find shows the whole process.
    verdict: of a Study. log: its bench log, None where there is none. Returns a Strength.
    """
    study, steps = verdict.study, []
    support = study.record.get("support", ())
    if any(s["step"] == "whole process" and s["grade"] == "find" for s in support):
        return Strength((("whole process", "evidence", "attested", "a find shows it"),))
    for criterion, chance in verdict.chances.items():
        tubes = len({line.tube for line in verdict.lines if line.criterion == criterion})
        at_once = "in all tubes at once " if tubes > 1 else ""
        reach = float(verdict.hardest(criterion).quantiles("margin")[2])
        rung = _by_chance(chance, reach)
        steps.append((criterion, "chance", rung, f"is met {at_once}with a chance of {words.chance(chance)}"
                      if rung != "not shown" else
                      f"has a margin of no more than {words.number(reach, 2)} even at its 95 % point"))
    if len(verdict.chances) > 1:
        rung = _by_chance(verdict.chance, float(np.quantile(verdict.least_margin, 0.95)))
        steps.append((TOGETHER, "all", rung, f"are met in one draw with a chance of {words.chance(verdict.chance)}"))
    if verdict.criteria is not None:
        steps.append(("every other criterion", "nothing", "not shown", "was not looked at in this verdict"))
    for operation in operations_of(study):
        seen = [s for s in support if s["step"] in (operation, "whole process")]
        grades = [s["grade"] for s in seen] + _tried(log, operation)
        best = min(grades, key=evidence.GRADES.index, default=None)
        rung = "probable" if best in IN_THE_PAST else "plausible" if best in BY_TRIAL else "possible"
        why = (f"rests on {RESTS_ON[best]}{'' if rung == 'probable' else ' alone'}" if best else
               "has no record from the period or from today")
        steps.append((operation, "evidence", rung, why))
    steps.append(_of_the_trials(study, log))
    return Strength(tuple(steps))


def _by_chance(chance, reach):
    """The rung that a chance earns. reach: 95 % point of the margin."""
    return ("probable" if chance >= PROBABLE else "plausible" if chance >= PLAUSIBLE else
            "possible" if reach >= 1 else "not shown")


def operations_of(study):
    """The operations that a study's plan goes through, in order, each once."""
    return list(dict.fromkeys(s.operation for tube in study.parts for s in study.steps(tube)))


def untried(study, log):
    """Operations of the plan that no counted row of the log holds: a rate of success says nothing of them."""
    done = {row["operation"] for row in log.counted} if log else set()
    return [operation for operation in operations_of(study) if operation not in done]


def _tried(log, operation):
    """Grades that the counted successes of an operation earn."""
    rows = [r for r in log.counted if r["operation"] == operation and r["outcome"] == "success"] if log else []
    return ["own-trial" if r["substitute"] == "no" else "modern-substitute" for r in rows]


def trial_counts(log):
    """(good, all) of the counted trials: a trial is good where every counted row of it is a success."""
    outcome = {}
    for row in log.counted if log else ():
        outcome[row["trial"]] = outcome.get(row["trial"], True) and row["outcome"] == "success"
    return sum(outcome.values()), len(outcome)


def _of_the_trials(study, log):
    good, n = trial_counts(log)
    level = study.record.get("success_level")
    if not n:
        return "trials", "count", "plausible", "no trial is on record"
    low, high = trials.success_interval(successes=good, trials=n)
    counted = (f"{good} of {words.counted(n, 'trial')} succeeded throughout, so the rate lies between "
               f"{words.percent(low)} and {words.percent(high)} (95 %)")
    if missing := untried(study, log):
        why = f"{counted}, but no whole route was tried: {', '.join(map(doing, missing))} stands in no counted trial"
        return "trials", "count", "plausible", why
    if level is None:
        return "trials", "count", "plausible", f"{counted}; no level was fixed beforehand"
    if low > level:
        return "trials", "count", "probable", f"{counted}, above the level of {words.percent(level)} fixed beforehand"
    return "trials", "count", "plausible", f"{counted}; the level fixed beforehand is {words.percent(level)}"
