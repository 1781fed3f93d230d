"""The paragraphs of a write-up, generated from the record and meant to be edited."""
from kit.base import evidence, words
from kit.estimates import trials
from kit.publish import claims
from kit.publish.strength import doing
from kit.study import bench, rivals, worlds
from kit.study.disagreement import p_said


def verdict_text(worked):
    """The verdict as three paragraphs to edit, a blank line between them: the chance with its band, word and scale;
    what limits it and what would change it; what it rests on, what it leaves open and does not show. worked: a
    WorkedOut."""
    verdict, line, trace = worked.verdict, worked.verdict.limiting_line, worked.trace
    chance = [f"With the tools and choices listed, it is {worlds.likelihood(verdict.chance, verdict.worlds)} "
              f"(chance {words.chance(verdict.chance)}, {verdict.worlds.said}; in the probability words of the "
              "Intergovernmental Panel on Climate Change) that every step is within reach of this workshop, under the "
              f"ranges assumed; {worked.made_of}.",
              "It is the chance that capacity exceeds demand in the model; it does not say that the part was made so."]
    limits = [f"The limiting step is '{line.criterion}' of {verdict.place(line)}: margin "
              f"{words.ranged(*line.quantiles('margin'))}, median with its 5 % to 95 % range, met with a chance of "
              f"{words.chance(line.chance)}.", worked.at_the_bench.ways_said]
    carry = "; ".join(f"{ground.label} ({words.percent(ground.share)} of its variance, {ground.grade})"
                      for ground in trace.assumptions if ground.matters)
    limits += [f"What would change it is to know better: {carry}."] if carry else []
    limits += filter(None, [verdict.weakest_said()])
    rests = [trials_said(worked), *measured_said(worked), worked.strength.words]
    if worked.rivals is not None:
        own, others = worked.rivals.loc[worked.own_route], worked.rivals.drop(worked.own_route)
        tells = own["tells"].replace("; ", ", ")
        apart = (f"the route proposed would leave a trace that they do not: {tells}" if tells else
                 "the route proposed leaves no trace that they do not leave as well")
        named = "; ".join(f"{route}, {_rival_said(row)}" for route, row in others.iterrows())
        rests.append(f"This does not exclude other ways of making it ({named}); {apart}.")
        against = list(dict.fromkeys(trace for each in others["refutes"] for trace in each.split("; ") if trace))
        if against:
            rests.append("Found on the piece, any of these would speak against the route proposed: "
                        f"{', '.join(against)}.")
    else:
        rests.append("No alternative method was considered.")
    return "\n\n".join(map(" ".join, (chance, limits, rests)))


def _rival_said(row):
    """How likely a rival is, and how that was found."""
    chance = words.chance(row["chance"])
    if row["how"] == rivals.JUDGED:
        return f"judged {chance}"
    return f"chance of one tube {chance} by the same chain on the same draws"


def trials_said(worked):
    """A sentence on how many trials went well, and what that says of the rate."""
    good, n = claims.trial_counts(worked.log)
    if not n:
        return "No trial is on record."
    low, high = trials.success_interval(successes=good, trials=n)
    left_out = len(worked.log.rows) - len(worked.log.counted)
    excluded = (f"; {words.counted(left_out, 'row')} not counted, with the reason in the table" if left_out else "")
    missing = claims.untried(worked.study, worked.log)
    return (f"Of {words.counted(n, 'trial')}, {good} succeeded at every counted step (95 % interval of the rate, were "
            f"they independent: {words.percent(low)} to {words.percent(high)}, Clopper-Pearson{excluded})"
            + (f"; no counted trial includes {', '.join(map(doing, missing))}." if missing else "."))


def measured_said(worked):
    """What the log's measurements say of the predictions, as a list of one sentence or none."""
    if worked.compared is None:
        return []
    held = worked.compared.attrs
    low, high = (words.percent(x) for x in held["share_interval"])
    few, many = (words.percent(x) for x in held["share_expected"])
    return [f"Of {words.counted(held['measurements'], 'measurement')}, {held['inside']} fell inside the predicted "
            f"{words.percent(held['level'])} intervals (95 % interval of that share, were they independent, "
            f"Clopper-Pearson: {low} to {high}; "
            f"by the model {few} to {many} were to be expected). {bench.score_words(worked.compared)}."
            + (f" Measurements as far off are unlikely under the study ({p_said(held['p'])}); "
               f"what disagrees: {'; '.join(held['disagrees'])}." if held["disagrees"] else "")]


def methods_text(worked):
    """The methods as paragraphs, a blank line between them, to edit. worked: a WorkedOut."""
    study, verdict, used = worked.study, worked.verdict, worked.register
    kinds = evidence.counted_grades(used["grade"])
    own, part = int((used["each"] == 1).sum()), int(used["each"].between(0, 1, "neither").sum())
    versions = verdict.provenance["versions"]
    judged = [f"Feasibility was judged step by step. Each of {len(verdict.chances)} criteria compares a demand (a "
              "torque, force, wall, stock, time) with the capacity of workshop, tool or metal to meet it, in the same "
              "unit; the margin is capacity over demand, and a step is within reach where the margin is 1 or more. "
              f"{words.counted(len(used), 'assumption')} entered as distributions (by grade: {kinds}), {own} of them "
              f"drawn afresh for each tube and {part} in part, a stated share of their spread; lathe, person, metal "
              "and use are one for all tubes. The model error of each formula was drawn as well. "
              f"They were sampled together {words.count(verdict.n)} times (scrambled Sobol points mapped by inverse "
              f"distributions, seed {worked.seed}), and all criteria were evaluated on the same draws, so that the "
              "chance of all together takes account of what they share.",
              f"The maker's choices (order of work: {study.choices['order']}; drive: {study.choices['drive']}; pulley: "
              f"{words.planned(study.choices['pulley'])}) were held as planned."]
    graded = ["An assumption's grade is that of its evidence (handbook: looked up in print; recalled: from memory or "
              "common practice, not looked up); it counts toward the wording where the assumption carries "
              "5 % or more of the variance of a margin (squared rank correlation).",
              worked.score.words]
    done = []
    if verdict.warnings:
        n = len(verdict.warnings)
        done.append(f"{words.counted(n, 'estimate')} {'was' if n == 1 else 'were'} used outside the range for which "
                    f"the formula is known to hold; {'it is' if n == 1 else 'they are'} listed.")
    if worked.log:
        done += _log_said(worked)
    if claims.registered(study):
        same = claims.registered(study) == claims.plan_digest(study)
        day, before = claims.registered_when(study)
        when = "before any trial was on record" if before else "when trials were on record already"
        done.append(f"Claim and plan were registered {day}, {when} (digest {claims.registered(study)}"
                    + (")." if same else "), and have changed since: see deviations."))
    done.append(f"Computed with ancient-method-kit {versions['kit']} on Python {versions['python']}, numpy "
                f"{versions['numpy']} and scipy {versions['scipy']}; digest of all inputs "
                f"{verdict.provenance['inputs']}.")
    return "\n\n".join(map(" ".join, (judged, _bench_said(worked), _worlds_said(worked), graded, done)))


def _bench_said(worked):
    """How what is settled at the bench was settled, and what the chain of operations carries: a list of sentences."""
    study = worked.study
    holds = "; ".join(dict.fromkeys(held for held in worked.at_the_bench.instructions["held_by"] if held))
    reserve, error = study.workshop.reserve, study.register.loc["felt.error"]
    return ["Feed and lapping pressure were settled at the bench, by feel: in each draw, within the plan's bounds and "
            "by all limits of the step together, the quickest setting that keeps a reserve of "
            f"{words.exact(reserve)} as the hand feels it, with an error of feeling of "
            f"{words.ranged(error['low_5'], error['median'], error['high_95'])}; what breaks without warning, such as "
            "a shank, gets the reserve to what such tools usually stand, and no second try. Torque, thrust, holding, "
            "minutes and wear of a step all see that one value; the margin told of a step that is met is that at its "
            "best setting, and what care costs is counted in hours.",
            "Each operation takes the tube as the one before left it: lean, bow, lobes, taper, steps, oversize and "
            "roughness of the bore, the form of the outside and the offset of the two axes are carried along; each "
            "tool follows, copies or takes out a share of them; and fit, lapping stock, wall left, shake and stray all "
            "read the same form. An edge dulls by the length it cuts and goes back to the stone, which costs minutes; "
            "it must be harder than the worked chip."
            + (f" What holds the work ({holds}) must stand the torque and push of the step." if holds else "")]


def _worlds_said(worked):
    """How the band came about, as a list of sentences."""
    band = worked.verdict.worlds
    return ["A range of what is weakly known is no frequency. So the shared part of "
            f"{words.counted(len(band.outer & set(worked.register.index)), 'assumption')}, those that the reference "
            "tables grade recalled, model-only or conjecture (whatever the study calls them), was drawn once for a "
            f"world and all else within it. {band.told()} A probability word stands alone only where the whole band "
            "has it."]


def _log_said(worked):
    """How trials and measurements were dealt with, as a list of sentences."""
    substitutes = sum(r["substitute"] == "yes" for r in worked.log.rows)
    used = f"; {words.counted(substitutes, 'row')} used a modern tool or material" if substitutes else ""
    said = [f"Every trial on record is listed, failures included{used}. The interval of their rate takes them as "
            "independent, though makers learn and blanks come from one pour: it is, if anything, too narrow."]
    if worked.compared is not None:
        held = worked.compared.attrs
        said.append(f"Each measurement was compared with the {words.percent(held['level'])} interval that the study "
                    f"predicts for it, the error of reading included, with what gauge, day and person share "
                    f"({words.draws(held['n'], held['seed'])}). They share an arm and a metal, so they are not "
                    "independent: the share to be expected is therefore told by the model, beside the interval as of "
                    "independent readings.")
    return said
