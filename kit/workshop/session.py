"""A workshop session: what the kit expects of the piece, set beside what groups of learners predicted and found.

    group = kit.groupfile.start("out/session", "B")
    group, told = group.predict({"wall": ("1.3", "1,45", "about 1.6 mm"), ...})         # locked from here on
    group = group.measure("wall", "A", ["1.44", "1.45", "1.44"])
    kit.session.compare(kit.groupfile.collect("out/session").groups, study)
"""
from dataclasses import dataclass

import numpy as np

from kit.base import evidence, tables
from kit.estimates import gauging, trials
from kit.operations import lap, means
from kit.study import criteria, use
from kit.base.units import Q, number
from kit.workshop.answers import ASKED, MICRO, AnswerError, _unit
from kit.workshop.groupfile import PIECE, WORD_BANDS, argued, on_one_line


def learners(study):
    """Assumptions about learners that the predictions rest on besides the study's: {key: Assumption}.

    From learners.csv in the study's folder, or that of the workshop piece where it has none.
    """
    own = study.folder / "learners.csv"
    path = own if own.exists() else PIECE / "learners.csv"
    rows = tables.read(path, tables.shared_schema("assumptions.schema.json"))
    return {row["key"]: evidence.from_row(row, path) for row in rows}


def wall_left(case):
    """Wall at its thinnest place, once the outside is turned.

    The wall asked for, less the offset of bore and outside (Case.eccentricity), less half of what the bore came out too
    large (reamed.oversize, on diameter). Where the learner turns the outside, it is missed by learner.size_miss on
    diameter, and its low places lie a quarter of learner.form_error deeper than its mean (it is on diameter, peak to
    valley). Never below 0.
    """
    left = case.tube.wall - case.state.eccentricity - case["reamed.oversize"] / 2
    if case.of("turn", "file"):
        left = left + case["learner.size_miss"] / 2 - case["learner.form_error"] / 4
    return np.maximum(left, Q(0.0, "mm"))


def reaming(case):
    """(strokes, minutes) of all reaming passes, rests left out.

    A pass takes length / feed turns. The feed is the one asked for times what a hand new to it makes of it
    (learner.feed), no more than the drive can take and no less than bites. Bowing, a minute gives as many useful turns
    as Means.turns_per_minute says, in drive.stroke_frequency strokes; with the wrench a turn counts as a stroke, at
    learner.wrench_rate.
    """
    strokes, minutes = 0.0, 0.0
    for each in case.done("ream"):
        cut, least = each.cut, np.atleast_2d(each.least_feed.m_as("mm"))
        wanted = cut.column("feed") * case["learner.feed"]
        for row, step in enumerate(cut.steps):
            by_hand = step.drive == "hand"
            bowed = case.means.minutes(case.tube.length, wanted[row])
            drive = means.wrench_torque(case) if by_hand else case.means.bow_torque(bowed)
            takes = cut.feed_for(drive, case)[row]
            feed = np.maximum(np.minimum(wanted[row], takes), Q(least[row % len(least)], "mm"))
            turns = (case.tube.length / feed).m_as("")
            rate = case["learner.wrench_rate"] if by_hand else case.means.turns_per_minute
            time = turns / rate.m_as("turn/min")
            strokes = strokes + (turns if by_hand else time * case["drive.stroke_frequency"].m_as("1/min"))
            minutes = minutes + time
    return Q(strokes, ""), Q(minutes, "min")


def clearance_reached(case):
    """Clearance on diameter when the lapping ends, 0 where the plunger does not go in yet.

    At the start the tight places stand left_on and half the form errors of both proud of entering (Case.lap_stock
    without the clearance). What the grains take off on diameter in the hours granted (twice lap.removal_rate, the
    rests left out; twisted by hand, in the ratio of learner.twist_rate to the spindle's rate) opens a gap, until it is
    stopped at use.made_clearance: the wanted one and what it is overrun by, or what the grain leaves if that is more.
    """
    removed = Q(0.0, "um")
    for step in case.of("lap"):
        by_hand = (case["learner.twist_rate"] / case.means.turning_rate).to("") if step.drive == "hand" else 1.0
        radial = lap.removal_rate(case.means, step) * by_hand * case["drive.attended"] * step.hours
        removed = removed + 2 * radial.to("um")
    opened = removed - (case.lap_stock - case.tube.clearance)
    return np.maximum(np.minimum(use.made_clearance(case), opened), Q(0.0, "um"))


def _draws(study, n, seed):
    """Draws of the study and of the learners; plain random ones of these, for a second Sobol set would run in step with
    the first."""
    return study.draws(n, seed) | evidence.draw(learners(study).values(), n, seed, sampler="random")


def _quantities(case):
    """{key: (draws in the unit asked, keys of the assumptions that went in)}"""
    def asked(function):
        case.used = set()
        return function(case), frozenset(case.used)

    (wall, of_wall), ((strokes, minutes), of_reaming) = asked(wall_left), asked(reaming)
    clearance, of_clearance = asked(clearance_reached)
    found = {"wall": (wall, of_wall), "strokes": (strokes, of_reaming), "minutes": (minutes, of_reaming),
             "clearance": (clearance, of_clearance)}
    return {key: (value.m_as(_unit(ASKED[key].unit)), keys) for key, (value, keys) in found.items()}


def expected(study, tube=None, draws=2**12, seed=1):
    """The kit's own answers to what is asked, from the draws of the study and of `learners`.

    tube: its name; the first that is reamed and lapped where None. draws, seed: as Study.assess.
    Returns a DataFrame, a row a quantity: question, unit, low_5, median, high_95; driven_by and next_by, the two
    assumptions that move it most, each with its share of the variance of the ranks (squared rank correlation, as
    Verdict.influence, a first look), and the grade of the first. `.attrs`: tube and provenance.
    Raises ValueError for a study without a tube that is reamed and lapped, or without a table [use].
    """
    import pandas as pd
    from scipy import stats
    known = {t.name: t for t in study.tubes if {"ream", "lap"} <= {s.operation for s in study.steps(t)}}
    if not known or study.use is None:
        raise ValueError(f"{study.folder}: a session needs a tube that is reamed and lapped, and a table [use] that "
                         "says what clearance still does; the workshop piece in data/workshop-piece shows both")
    if tube is not None and tube not in known:
        raise ValueError(f"no tube {tube!r} is reamed and lapped; {tables.nearest(tube, known)}")
    tube, rows, values = known[tube or next(iter(known))], learners(study), _draws(study, draws, seed)
    case = criteria.Case(tube, study.steps(tube), study.workshop, values, study.use)
    grades, found = {key: a.grade for key, a in (study.assumptions | rows).items()}, {}
    for key, (drawn, keys) in _quantities(case).items():
        low, mid, high = np.quantile(drawn, (0.05, 0.5, 0.95))
        shares = {k: float(stats.spearmanr(drawn, values[k].magnitude).statistic) ** 2
                  for k in sorted(keys) if np.ndim(values[k].magnitude) and np.ptp(drawn)}
        first, second = [*sorted(shares, key=shares.get, reverse=True)[:2], "", ""][:2]
        found[key] = {"question": ASKED[key].question, "unit": ASKED[key].unit, "low_5": low, "median": mid,
                      "high_95": high, "driven_by": first.partition("@")[0], "share": shares.get(first, 0.0),
                      "grade": grades.get(first, ""), "next_by": second.partition("@")[0],
                      "next_share": shares.get(second, 0.0)}
    table = pd.DataFrame.from_dict(found, orient="index").rename_axis("quantity")
    table.attrs = study.provenance(draws, seed) | {"tube": tube.name}
    return table


# ----------------------------------------------------------------------------------------------------------- the groups

def combined(readings, gauge=0.0):
    """Mean and standard uncertainty of what each group read: {group: (mean, uncertainty, readers, readings)}.

    readings: {group: {reader: [values]}}, plain numbers of one quantity. gauge: standard uncertainty that the gauge's
    step leaves (gauging.resolution_uncertainty), in their unit.

    A small nested estimate: the readers of one group are not those of another, so what sets readers apart is pooled
    over the groups, and what sets one reader's repeats apart over all readers. With mean squares B (readers within
    groups, each with about r readings) and W (repeats), a mean over k readers with n readings each has u^2 = max((B -
    W) / r, 0) / k + W / (k n) + gauge^2. A part that no group shows (one reader each, one reading each) counts as 0,
    and where neither is shown the uncertainty is NaN: readers and readings stand beside. What all readers share, as a
    gauge that is off, is not in it.
    Source: nested analysis of variance, in every textbook of statistics.
    """
    groups = {group: [np.asarray(v, float) for v in of.values()] for group, of in readings.items() if of}
    readers = [values for of in groups.values() for values in of]
    free, free_readers = sum(len(v) - 1 for v in readers), sum(len(of) - 1 for of in groups.values())
    repeats = sum(((v - v.mean()) ** 2).sum() for v in readers) / free if free else 0.0
    apart = 0.0
    if free_readers:
        middles = {group: np.concatenate(of).mean() for group, of in groups.items()}
        square = sum(len(v) * (v.mean() - middles[group]) ** 2 for group, of in groups.items() for v in of)
        apart = max(square / free_readers - repeats, 0.0) / np.mean([len(v) for v in readers])
    found = {}
    for group, of in groups.items():
        square = apart / len(of) + repeats * sum(1 / len(v) for v in of) / len(of) ** 2 + gauge**2
        spread = float(np.sqrt(square)) if free or free_readers else np.nan
        found[group] = float(np.mean([v.mean() for v in of])), spread, len(of), sum(map(len, of))
    return found


COLUMNS = ("group", "quantity", "unit", "low", "best", "high", "measured", "uncertainty", "readers", "readings",
           "inside", "kit_low", "kit_median", "kit_high", "kit_inside")


def compare(groups, study, tube=None, draws=2**12, seed=1):
    """Predicted against measured, a row a group and quantity that it predicted or read.

    groups: of `collect`. The rest as `expected`.
    Returns a DataFrame: group, quantity, unit; low, best, high as predicted; measured, uncertainty (standard),
    readers, readings (see `combined`); inside: whether the measured mean lies in the group's range, None where one of
    the two is missing; kit_low, kit_median, kit_high (of `expected`); kit_inside, likewise. The uncertainty is for the
    eye: inside asks for the mean alone. `.attrs`: that of `expected`, which stands there itself as `expected`.
    """
    import pandas as pd
    own, rows = expected(study, tube, draws, seed), []
    found = {}
    for key, asked in ASKED.items():
        gauge = gauging.resolution_uncertainty(step=asked.step).m_as(asked.unit) if asked.step else 0.0
        found[key] = combined({g.label: g.readings.get(key, {}) for g in groups}, gauge)
    for group in groups:
        for key, asked in ASKED.items():
            said = group.predictions.get(key)
            mean, spread, readers, n = found[key].get(group.label, (np.nan, np.nan, 0, 0))
            if not said and not n:
                continue
            low, best, high = (said["low"], said["value"], said["high"]) if said else (np.nan,) * 3
            kit_low, kit_median, kit_high = (float(own.loc[key, c]) for c in ("low_5", "median", "high_95"))
            rows.append((group.label, key, asked.unit, low, best, high, mean, spread, readers, n,
                         bool(low <= mean <= high) if said and n else None, kit_low, kit_median, kit_high,
                         bool(kit_low <= mean <= kit_high) if n else None))
    table = pd.DataFrame(rows, columns=COLUMNS).astype({"inside": object, "kit_inside": object})
    table.attrs = own.attrs | {"expected": own}
    return table


def tidy(table):
    """A table of `compare` or `expected` as a person reads it: three digits, µm, and nothing where nothing is known."""
    def cell(value):
        if value is None or value != value:
            return ""
        return number(value) if isinstance(value, float) else MICRO.get(value, value)

    return table.astype(object).map(cell)


@dataclass(frozen=True)
class Hits:
    """How many of so many ranges held what was measured; low, high: true rates that this is compatible with (95 %,
    Clopper-Pearson); words: that, and what it does not show."""
    held: int
    n: int
    low: float
    high: float
    words: str


def hits(table, whose="inside"):
    """Hit rate of the groups' ranges ("inside") or of the kit's ("kit_inside") over all rows of `compare` that have
    both.

    Returns Hits, None where nothing can be counted yet.
    """
    found = [bool(v) for v in table[whose] if v is not None]
    if not found:
        return None
    held, n, kit = sum(found), len(found), whose == "kit_inside"
    low, high = (float(end) for end in trials.success_interval(successes=held, trials=n))
    says = ("nine in ten lies within that, and much else besides" if low <= 0.9 <= high else
            "they were too narrow to hold nine times in ten" if high < 0.9 else
            "they were wider than nine times in ten needs")
    return Hits(held, n, low, high, (
        f"{held} of {n} of {'the kit' if kit else 'the groups'}'{'s' if kit else ''} ranges held what was measured "
        f"({held / n:.0%}). Were they independent, the true rate might lie anywhere from {low:.0%} to {high:.0%} "
        f"(95 %, Clopper-Pearson): {says}. They are not independent: a group's share its hands and its room"
        f"{', and the kit says the same to every group' if kit else ''}. n = {n} teaches how sure to be; it is no "
        "measurement of anybody."))


# ---------------------------------------------------------------------------------------------------------- the verdict

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
        f"With these means ({tools}; {study.part['alloy']}) learners brought {good} of {n} pieces, each prepared up to the "
        f"step at hand, to a plunger that slides with no more than {closest} µm of clearance; the rate of success behind "
        f"that lies between {low:.2f} and {high:.2f} (95 %, n = {n}). We hold it {word} "
        f"that hands like ours, so equipped, bring off the next one."
        f"{reason} This shows that {shows}; it does not show how it was done, and it does not exclude "
        f"{on_one_line(rival).rstrip('.')}, {traces}."), word in carried, told)
