"""The outcomes of a plan: every criterion of every tube, and of the finished part, on given draws."""
from kit.base import tables
from kit.base.units import tell, told, watched
from kit.estimates import sleeves
from kit.operations import settle
from kit.study import studyfile
from kit.study.criteria import CRITERIA, OF_SHAFT, Case
from kit.study.studyfile import StudyError
from kit.study.use import OF_A_TUBE, OF_THE_WHOLE, Whole, running_torque

EVERY = CRITERIA | OF_A_TUBE | OF_THE_WHOLE
# former names of criteria: still understood, no longer printed
FORMER = {"drill as a column": "drill buckling", "wall left": "least wall", "pointer play": "pointer shake",
          "clearance enough": "least running clearance"}


def said(criterion):
    """What a criterion asks, in its own words."""
    return " ".join(EVERY[criterion].__doc__.split("\n\n")[0].split())


def outcomes(plan, values, criteria=None, adapt=settle.FEEL, cases=None):
    """Every criterion of every tube, and of the whole part, on given draws: a list of (place, criterion, Outcome, keys
    of the assumptions that it asked for), and the names that were wanted.

    plan: a Plan. values: {key: Quantity}. criteria: names of EVERY; all where None. adapt: how what is settled at the
    bench is settled, a word of settle.WAYS. cases: of `cases_of`, where they are there already.
    Raises StudyError for an unknown name, and where nothing in the plan answers to any.
    """
    wanted, found = list(EVERY) if criteria is None else [FORMER.get(name, name) for name in criteria], []
    for name in wanted:
        if name not in EVERY:
            raise StudyError(f"there is no criterion {name!r}; {tables.nearest(name, EVERY)}")

    def ask(function, name, about, place):
        about.used = set()
        try:
            with told() as sentences:
                outcome = function(about)
        except (TypeError, ValueError) as error:   # the estimate says what is wrong, and this says where
            raise StudyError(f"'{name}' of {place!r}: {error}{_own_rows(plan, about.used)}") from error
        for sentence in sentences:
            tell(f"'{name}' of {place}: {sentence}")
        if outcome is not None:
            found.append((place, name, outcome, frozenset(about.used)))

    asked = asked_of(plan)
    cases = cases_of(plan, values, adapt) if cases is None else cases
    for case in cases:
        for name in wanted:
            if name in (asked.keys() & OF_SHAFT if case.tube.solid else asked) and name not in OF_THE_WHOLE:
                ask(asked[name], name, case, case.tube.name)
    whole = Whole(cases, plan.use, values)
    for name in wanted:
        if name in asked and name in OF_THE_WHOLE:
            ask(OF_THE_WHOLE[name], name, whole, whole.name)
    if not found:
        raise StudyError(f"{plan.folder / 'study.toml'}: no tube has a step that these criteria look at")
    return found, wanted


def asked_of(plan):
    """{name: function} of the criteria that are asked of a plan: those of its steps and walls, and of the finished part
    those that its [use] gives the keys for, or that need none."""
    if not plan.use:
        return CRITERIA
    unwanted = set(studyfile.WANTED) - set(studyfile.wanted(plan.use, plan.part))
    return {name: function for name, function in EVERY.items() if name not in unwanted}


def cases_of(plan, values, adapt=settle.FEEL, like=()):
    """Every tube of a plan, and the shaft in it that is a part of its own, taken through its route on given draws: a
    list of Cases. like: those of another plan, whose operations are taken where they are the same."""
    like, tubes, done = {case.tube.name: case for case in like}, [], ()
    for tube in plan.tubes:
        tubes.append(Case(tube, plan.steps(tube), plan.workshop, values, plan.use, adapt, elsewhere=done,
                          like=like.get(tube.name)))
        done += tubes[-1].operations
    return [part for case in tubes for part in (case, case.shaft) if part is not None]


def torques_of_nest(plan, draws=2**12, seed=1):
    """Where the torque that turns a nest goes: {what: N*mm, of one shape with the draws; of a pointer, one number}."""
    values = plan.draws(draws, seed=seed)
    torques, whole = running_torque(Whole(cases_of(plan, values), plan.use, values))
    pointer = sleeves.unbalance_torque(mass=plan.use["pointer_mass"], arm=plan.use["pointer_arm"])
    return {f"rubbing inside the {tube.said}": torque for tube, torque in zip(plan.tubes, torques)} | {
        "each pointer, out of balance": pointer.to("N*mm"), "all, seen from the input": whole.to("N*mm")}


def _own_rows(plan, used):
    """The places of the study's own rows used by an estimate that failed; "" where there are none."""
    own = sorted({key.partition("@")[0] for key in used} & set(plan.rows))
    if not own:
        return ""
    return "; into it go the study's own rows " + ", ".join(f"{key} ({plan.row_place(key)})" for key in own)


# --- one of them in detail --------------------------------------------------------------------------------------------

# a name is not a choice
KNOWN_BY = ("name", "route", "position", "operation", "tool", "abrasive", "before", "diameter", "solid", "shaft",
            "entries", "aside", "lengths",
            "largest", "volume", "sizes")


class Noting:
    """Stands for a tube, a step, the workshop or the use, and notes which choices are asked for."""

    def __init__(self, thing, asked, prefix=""):
        self._thing, self._asked, self._prefix = thing, asked, prefix

    def _noted(self, name, value):
        if name not in KNOWN_BY and value is not None:
            self._asked[self._prefix + name] = value
        return value

    def __getattr__(self, name):
        return self._noted(name, getattr(self._thing, name))

    def __getitem__(self, name):
        return self._noted(name, self._thing[name])

    def __contains__(self, name):
        return name in self._thing

    def get(self, name, default=None):
        return self[name] if name in self else default


def look_into(plan, criterion, place, values, adapt=settle.FEEL):
    """One criterion of one tube, or of the whole part, on given draws {key: Quantity}: (its Outcome, the keys of the
    assumptions it asked for, the estimates it called, the choices it asked for)."""
    asked, of_whole = {}, criterion in OF_THE_WHOLE
    use = plan.use and Noting(plan.use, asked)
    cases = []
    done = ()
    for tube in plan.parts:   # of the whole part the sizes of each tube are told, not every step's
        if of_whole and not tube.solid:
            case = Case(Noting(tube, asked, f"{tube.name}: "), plan.steps(tube), Noting(plan.workshop, asked), values,
                        use, adapt, elsewhere=done)
            done += case.operations
            cases += [each for each in (case, case.shaft) if each is not None]
        elif tube.name == place:
            steps = [Noting(step, asked, f"{step.name}: ") for step in plan.steps(tube)]
            before = plan.tubes[:plan.tubes.index(tube)] if tube in plan.tubes else ()
            for each in before:
                done += Case(each, plan.steps(each), plan.workshop, values, use, adapt, elsewhere=done).operations
            cases.append(Case(Noting(tube, asked), steps, Noting(plan.workshop, asked), values, use, adapt,
                              elsewhere=done))
    about = Whole(cases, use, values) if of_whole else cases[0]
    about.used = set()
    with told(), watched() as called:   # the verdict has reported what lies outside
        outcome = EVERY[criterion](about)
    return outcome, about.used, list(called), asked
