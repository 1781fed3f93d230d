"""What becomes of a piece that misses a criterion: what saves it, what is scrap, and so how many blanks to cast."""
import numpy as np

from kit.base import tables, words
from kit.estimates import trials

CONFIDENCE = 0.9
SPOILT = "spoilt.for_each_good"


def rework(verdict):
    """DataFrame, a row a criterion that some draw misses, the most missed first: chance of missing it, whether the
    piece can be saved, by what, and what is spoilt. Common practice, no published source."""
    import pandas as pd
    known = {row["criterion"]: row for row in tables.load("rework")}
    rows = [{"criterion": name, "missed": 1 - chance, "saved": known[name]["saved"] == "yes",
             "by": known[name]["by"] or "", "spoils": known[name]["spoils"] or ""}
            for name, chance in verdict.chances.items() if chance < 1]
    return pd.DataFrame(rows, columns=["criterion", "missed", "saved", "by", "spoils"]).sort_values(
        "missed", ascending=False, ignore_index=True)


def blanks(verdict, confidence=CONFIDENCE):
    """How many blanks to cast for all tubes to come out, as a range over the draws of the share that is spoilt: (5 %,
    median, 95 %), each with the confidence given. None where the study has no table [use]."""
    if SPOILT not in verdict.draws:
        return None
    spoilt = np.quantile(np.atleast_1d(verdict.draws[SPOILT].m_as("")), (0.05, 0.5, 0.95))
    return tuple(int(trials.blanks_needed(good=len(verdict.study.tubes), chance=1 / (1 + each), confidence=confidence))
                 for each in spoilt)


def said(verdict):
    """Blanks in a sentence; "" where there is nothing to say."""
    found = blanks(verdict)
    if found is None:
        return ""
    low, mid, high = found
    tubes = words.counted(len(verdict.study.tubes), "tube")
    return (f"For {tubes} to come out with {words.percent(CONFIDENCE)} confidence, {mid} ({low} to {high}) blanks are "
            f"to be cast, by the share of blanks that is spoilt ({verdict.drawn}).")
