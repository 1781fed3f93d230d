"""What is weak in a study that loads: what a reviewer will ask about, each with its place and remedy."""
from dataclasses import dataclass

from kit.base import evidence, tables, words
from kit.base.units import Q, told
from kit.publish.registration import REGISTRATION, plan_digest, registered
from kit.publish.strength import IN_THE_PAST, doing, operations_of, trial_counts
from kit.study import bench, studyfile
from kit.study.studyfile import written_rows
from kit.study.verdict import MATTERS

MEASURE = "measure it, or cite somebody who has, in assumptions.csv"
KINDS = {"conjecture": ("conjecture", MEASURE),   # grades that are doubtful by themselves, and what mends them
         "recalled": ("recalled, not looked up", "find it in print, or measure it, and cite that in assumptions.csv")}
FEW = 5   # trials of an operation, below which their spread is known to a third at best (JCGM 100:2008, table E.1)


@dataclass(frozen=True)
class Weakness:
    """Something that a reviewer will ask about: where it stands, what it is, how to mend it."""
    place: str
    what: str
    remedy: str

    def __str__(self):
        return f"{self.place}: {self.what}; {self.remedy}"


def weaknesses(verdict, log=None):
    """What is weak in a study that loads, as a list of Weakness, the heaviest first.

    Looks at: own rows on which nothing rests; assumptions that carry a margin and are conjecture, recalled or have no
    source; own rows graded handbook or living-craft that cite no print; own ranges that the reference tables do not
    meet, or that are too narrow to be believed; fewer than FEW trials, or no failure among many; estimates outside
    their range; what the record leaves open.
    verdict: of the study. log: its bench log, None where there is none.
    """
    study = verdict.study
    return [*_off(verdict, log), *_idle(verdict), *_carried(verdict), *_ranges(study), *_few(study, log),
            *_outside(verdict), *_open(study)]


def _off(verdict, log):
    """A log that the study's predictions miss more often than they should."""
    try:
        with told():   # a verdict tells what lies outside a formula's range
            held = log.compare(verdict.study).attrs if log else None
    except bench.BenchError:   # nothing in it that the study predicts, or rows that check tells of
        return
    if held and held["inside"] < held["share_expected"][0] * held["measurements"]:
        yield Weakness(str(verdict.study.folder / "bench_log.csv"),
                       f"{held['inside']} of {held['measurements']} measurements lie inside the predicted "
                       f"{words.percent(held['level'])} intervals, where {words.percent(held['share_expected'][0])} or "
                       "more were to be expected",
                       "find out which quantity is off and why; then correct its assumptions, or update the study by "
                       "the log (notebook 07)")
    if held and held["disagrees"]:
        yield Weakness(str(verdict.study.folder / "bench_log.csv"),
                       f"the study makes measurements like these unlikely: {'; '.join(held['disagrees'])}",
                       "check the gauge and the rows; then correct the assumptions that this quantity rests on")


def _idle(verdict):
    """Own rows that nothing asks for."""
    asked = {key.partition("@")[0] for key in verdict.asked}
    for key in verdict.study.rows:
        if key not in asked:
            yield Weakness(_place(verdict.study, key),
                           f"{verdict.study.labels[key]}: no criterion of this study rests on it",
                           "take the row out, or look whether another of that name is meant")


def _carried(verdict):
    """Conjecture, recalled and unsourced numbers that carry a criterion which is not certain."""
    study, found = verdict.study, {}
    for line in sorted(verdict.lines, key=lambda each: each.chance):
        for key, share in verdict.influence(line).items():
            known = study.assumptions[key]
            doubtful = known.grade in KINDS or known.source == "assumption"
            if share >= MATTERS and line.chance < 0.995 and doubtful:
                found.setdefault(key.partition("@")[0], (known, line, share))
    for key, (known, line, share) in found.items():
        kind, remedy = KINDS.get(known.grade, ("an assumption without a source", MEASURE))
        yield Weakness(_place(study, key),
                       f"{study.labels[key]} ({kind}) carries {words.percent(share)} of the variance of the margin of "
                       f"'{line.criterion}' ({line.tube}), which is met with a chance of {words.chance(line.chance)}",
                       remedy)


def _ranges(study):
    for key, row in study.rows.items():
        known = study.reference_rows[key]
        if row.grade in ("handbook", "living-craft") and row.source in evidence.UNPRINTED:
            yield Weakness(_place(study, key), f"{study.labels[key]}: graded {row.grade}, though no print is cited",
                           "cite the page, or grade it 'recalled'")
        if row.shape == "fixed" or known.shape == "fixed":
            continue
        own, theirs = ([float(x) for x in a.quantile([0.05, 0.5, 0.95])] for a in (row, known))
        low, mid, high = (Q(x, row.unit).m_as(known.unit) for x in own)
        if high < theirs[0] or low > theirs[2]:
            yield Weakness(_place(study, key),
                           f"{study.labels[key]}: the range of {_from_to(low, high, known.unit)} does not meet the "
                           f"reference range of {_from_to(theirs[0], theirs[2], known.unit)}",
                           "check the unit and the decimal point, or say in the note why")
        elif high - low < 0.02 * abs(mid) and row.grade not in ("handbook", "find"):
            yield Weakness(_place(study, key),
                           f"{study.labels[key]}: given to within {words.number(100 * abs((high - low) / mid), 2)} %, "
                           "and people's ranges are too narrow",
                           "ask what would surprise you, and widen low and high")


def _from_to(low, high, unit):
    return words.with_unit(f"{words.number(low)} to {words.number(high)}", unit)


def _place(study, key):
    """Where an assumption stands: file and line, the study's own or a reference table's."""
    if key in study.rows:
        path = study.folder / "assumptions.csv"
        written = {row["key"]: row["line"] for row in written_rows(study.folder)} if path.exists() else {}
        return f"{path}, line {written[key]}" if key in written else f"readings at the bench ({study.rows[key].note})"
    if key.startswith("model."):
        of = key.removeprefix("model.").replace("_", " ")
        return f"data/reference/models.csv, line {_line_of(tables.load('models'), of, 'of')}"
    table, of, prefix, _ = max((take for take in study.takes if key.startswith(f"{take[2]}.")),
                               key=lambda take: len(take[2]))   # 'alloy.brass, worked' before 'alloy'
    line = _line_of(tables.rows_of(table, of), key.removeprefix(f"{prefix}."))
    return f"data/reference/{table}.csv, line {line}"


def _line_of(rows, key, column="key"):
    return next(row["line"] for row in rows if row[column] == key)


def _few(study, log):
    folder = study.folder / "bench_log.csv"
    good, n = trial_counts(log)
    if not n:
        yield Weakness(str(folder), "no trial is on record: the verdict rests on the model alone",
                       "make trials, and write down every one")
        return
    done = {}
    for row in log.counted:
        done.setdefault(row["operation"], set()).add(row["trial"])
    for operation in operations_of(study):
        times = len(done.get(operation, ()))
        if times < FEW:
            yield Weakness(str(folder),
                           f"{doing(operation)} was tried {words.counted(times, 'time')}: fewer than {FEW} tell little "
                           "of the spread" if times else f"no counted trial of {doing(operation)} is on record",
                           f"make {FEW - times} more" if times else f"make {FEW}")
    if good == n and n >= FEW:
        yield Weakness(str(folder), f"{n} trials and no failure among them",
                       "make sure that every trial is in the log, failures too")
    used = [row for row in log.counted if row["substitute"] == "yes"]
    if used and not study.record.get("deviations"):
        yield Weakness(f"{folder}, line {used[0]['line']}",
                       f"{words.counted(len(used), 'row')} with a modern tool or material",
                       "say what, why and to what effect, under [[record.deviations]] in study.toml")


def _outside(verdict):
    for warning in verdict.warnings:
        yield Weakness("estimates", warning, "treat that criterion as indicative, or test it at the bench")


def _open(study):
    toml, record = str(study.folder / "study.toml"), study.record
    if not study.fails_if:
        yield Weakness(toml, "nothing says when the claim fails", "write 'fails_if', before the trials")
    for key, what, remedy in (
            ("stage", "the record does not say whether this is a pre-test, an experiment, a repeat or a demonstration",
             "write 'stage' in [record]"),
            ("rivals", "no rival way of making the part is named",
             "list 'rivals' (data/reference/rival_routes.csv) in [record]"),
            ("success_level", "no rate of success was fixed beforehand",
             "write 'success_level' in [record], before the trials")):
        if key not in record:
            yield Weakness(toml, what, remedy)
    asked = studyfile.wanted(study.use or {}, study.part)
    unasked = [f"'{name}'" for name, (of, _, _) in studyfile.WANTED.items()
               if of in studyfile.has(study.part) and name not in asked]
    if unasked:
        yield Weakness(toml, f"of the finished part {', '.join(unasked)} {'is' if len(unasked) == 1 else 'are'} not "
                             "judged, for [use] has no key of it", "give its keys there, or say why it does not matter")
    supported = {s["step"] for s in record.get("support", ()) if s["grade"] in IN_THE_PAST}
    without = [o for o in operations_of(study) if o not in supported]
    if without and "whole process" not in supported:
        yield Weakness(toml, f"no evidence of the period is named for {', '.join(map(doing, without))}",
                       "add [[record.support]]: step, grade, source, shows, does_not_show")
    told = registered(study)
    if told is not None and told != plan_digest(study):
        yield Weakness(str(study.folder / REGISTRATION), "the plan has changed since it was registered",
                       "say what and why, under [[record.deviations]]")
