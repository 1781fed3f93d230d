"""What the kit expects of the piece: its own answers to what learners are asked, and what moves them."""
import numpy as np

from kit.base import evidence, tables
from kit.base.units import Q, told
from kit.operations import means
from kit.study import criteria, use
from kit.workshop.answers import ASKED, pint_unit
from kit.workshop.workpiece import PIECE, reamed_and_lapped


def learners(study):
    """Assumptions about learners, on which the predictions rest besides those of the study: {key: Assumption}.

    From learners.csv in the study's folder, or that of the workshop piece where it has none.
    """
    own = study.folder / "learners.csv"
    path = own if own.exists() else PIECE / "learners.csv"
    rows = tables.read(path, tables.shared_schema("assumptions.schema.json"))
    return {row["key"]: evidence.from_row(row, path) for row in rows}


def wall_left(case):
    """Wall at its thinnest place, once the outside is turned.

    The planned wall, less the offset of bore and outside (State.eccentricity), less half the oversize of the bore
    (State.oversize, on diameter). Where the learner turns the outside, its diameter is off by learner.size_miss, and
    its low places lie a quarter of learner.form_error (on diameter, peak to valley) below its mean. Never below 0.
    """
    left = case.tube.wall - case.state.eccentricity - case.state.oversize / 2
    if case.of("turn", "file"):
        left = left + case["learner.size_miss"] / 2 - case["learner.form_error"] / 4
    return np.maximum(left, Q(0.0, "mm"))


def reaming(case):
    """(strokes, minutes) of all reaming passes, rests, stoning and clearing chips left out.

    A pass takes length / feed turns. The feed is the planned one times learner.feed (what an unpractised hand makes of
    it), no more than the drive can turn and no less than the edge needs to bite. A minute of bowing gives
    Means.turns_per_minute useful turns in drive.stroke_frequency strokes; with the wrench a turn counts as a stroke,
    at learner.wrench_rate.
    """
    strokes, minutes = 0.0, 0.0
    for each in case.done("ream"):
        cut, least = each.cut, each.bounds[0].m_as("mm")
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

    What has to come off until a gap opens is what the first lap finds to take (Lap.to_take) without the clearance, and
    the straightening of a bow. In the hours granted each grain takes off Lap.removed_at, at the pressure settled on by
    feel (twisted by hand: in the ratio of learner.twist_rate to the spindle's rate). Once that is off a gap opens,
    until the lapping stops at use.made_clearance: the wanted clearance and its overrun, or the clearance that the grain
    leaves by itself if that is more.
    """
    laps = case.done("lap")
    before = laps[0].to_take - case.tube.clearance
    removed = Q(0.0, "um")
    for each in laps:
        by_hand = (case["learner.twist_rate"] / case.means.turning_rate).to("") if each.step.drive == "hand" else 1.0
        removed = removed + (each.removed_at(each.setting)[0] * by_hand).to("um")
        before = before + (each.stock - each.planned)[0]
    return np.maximum(np.minimum(use.made_clearance(case), removed - before), Q(0.0, "um"))


def all_draws(study, n, seed):
    """Draws of the study and of the learners; the latter plain random ones, since a second Sobol set would be
    correlated with the first."""
    return study.draws(n, seed) | evidence.draw(learners(study).values(), n, seed, sampler="random")


def quantities(case):
    """{key: (draws in the unit asked, keys of the assumptions used)}"""
    def asked(function):
        case.used = set()
        return function(case), frozenset(case.used)

    (wall, of_wall), ((strokes, minutes), of_reaming) = asked(wall_left), asked(reaming)
    clearance, of_clearance = asked(clearance_reached)
    found = {"wall": (wall, of_wall), "strokes": (strokes, of_reaming), "minutes": (minutes, of_reaming),
             "clearance": (clearance, of_clearance)}
    return {key: (value.m_as(pint_unit(ASKED[key].unit)), keys) for key, (value, keys) in found.items()}


def expected(study, tube=None, draws=2**12, seed=1):
    """The kit's own answers to the questions, from the draws of the study and of `learners`.

    tube: its name; the first that is reamed and lapped where None. draws, seed: as Study.assess.
    Returns a DataFrame, one row for each quantity: question, unit, low_5, median, high_95; driven_by and next_by, the
    two assumptions that move it most, by their labels, each with its share of the variance of the ranks (squared rank
    correlation, as Verdict.influence: a first look), and the grade and key of the first. `.attrs`: tube and provenance.
    Raises ValueError for a study without a tube that is reamed and lapped, or without a table [use].
    """
    import pandas as pd
    from scipy import stats
    known = reamed_and_lapped(study)
    if not known or study.use is None:
        raise ValueError(f"{study.folder}: a session needs a tube that is reamed and lapped, and a table [use] that "
                         "gives the greatest clearance allowed; the workshop piece in data/workshop-piece shows both")
    if tube is not None and tube not in known:
        raise ValueError(f"no tube {tube!r} is reamed and lapped; {tables.nearest(tube, known)}")
    tube, rows, values = known[tube or next(iter(known))], learners(study), all_draws(study, draws, seed)
    case = criteria.Case(tube, study.steps(tube), study.workshop, values, study.use)
    grades, found = {key: a.grade for key, a in (study.assumptions | rows).items()}, {}
    labels = study.labels | {key: row.said for key, row in rows.items()} | {"": ""}
    with told():   # what lies outside a formula's range is told with the verdict
        asked = quantities(case)
    for key, (drawn, keys) in asked.items():
        low, mid, high = np.quantile(drawn, (0.05, 0.5, 0.95))
        shares = {k: float(stats.spearmanr(drawn, values[k].magnitude).statistic) ** 2
                  for k in sorted(keys) if np.ndim(values[k].magnitude) and np.ptp(drawn)}
        first, second = [*sorted(shares, key=shares.get, reverse=True)[:2], "", ""][:2]
        bare = first.partition("@")[0]
        found[key] = {"question": ASKED[key].question, "unit": ASKED[key].unit, "low_5": low, "median": mid,
                      "high_95": high, "driven_by": labels[bare], "share": shares.get(first, 0.0),
                      "grade": grades.get(first, ""), "next_by": labels[second.partition("@")[0]],
                      "next_share": shares.get(second, 0.0), "key": bare}
    table = pd.DataFrame.from_dict(found, orient="index").rename_axis("quantity")
    table.attrs = study.provenance(draws, seed) | {"tube": tube.name}
    return table
