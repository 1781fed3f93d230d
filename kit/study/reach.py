"""What to change so that a chance is reached: each choice alone, the cheapest pair, the best plan within bounds."""
import itertools
import warnings
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kit.base import stopping, tables, words
from kit.base.units import told
from kit.study import choices as choices_of
from kit.study import worlds
from kit.study.judge import assess, lines
from kit.study.outcomes import cases_of
from kit.study.studyfile import StudyError
from kit.study.use import LABOUR

HALVINGS = 3       # of the way to the least change that reaches
STEPS = 2          # sizes looked at between the plan's own and each bound
MOST_PAIRED = 6    # choices that are tried in pairs
SWEEPS = 2         # over all choices, in search of the best plan
FARTHER = 1.25     # power by which a change grows where fresh draws do not bear it out
KINDS = ("as planned", "alone", "pair", "best plan found")


@dataclass(frozen=True)
class Judged:
    """A plan judged in search: its verdict, what was changed in it."""
    changes: dict
    verdict: object

    @cached_property
    def met(self):
        return np.logical_and.reduce(list(self.verdict.met.values()))

    @property
    def chance(self):
        return self.verdict.chance

    @cached_property
    def hours(self):
        """Median hours of the whole work; of its steps alone where the study has no table [use]."""
        plan = self.verdict.study
        line = next((each for each in self.verdict.lines if each.criterion == LABOUR), None)
        if line is None and plan.use:
            with told():
                line = lines(plan, self.verdict.draws, self.verdict.n, (LABOUR,))[0][0]
        return float(np.median(line.demand)) if line else float(self.verdict.instructions["minutes"].sum() / 60)

    @cached_property
    def metal(self):
        """Mass of the metal put in, g."""
        with told():
            return sum(float(np.median((case.metal * case["alloy.density"]).m_as("g")))
                       for case in cases_of(self.verdict.study, self.verdict.draws))

    @property
    def cost(self):
        return round(self.hours, 6), round(self.metal, 6), sum(abs(np.log(x)) for x in self.changes.values()
                                                               if not isinstance(x, str) and x > 0)


class Search:
    """Plans judged on the same draws, each once."""

    def __init__(self, plan, found, draws, seed, criteria, progress):
        self.plan, self.choices = plan, {choice.key: choice for choice in found}
        self.asked, self.progress = (draws, seed, criteria), progress
        self.done, self.left_out, self.known, self.planned = 0, {}, {}, 1

    def judge(self, changes, draws=None, seed=None):
        """Judged, None where the plan cannot be made so."""
        usual, seeds, criteria = self.asked
        key = tuple(sorted((k, str(v)) for k, v in changes.items())), draws, seed
        if key not in self.known:
            self.done += 1
            if self.progress:
                self.progress(self.done, max(self.planned, self.done))
            try:
                plan = self.plan
                for name, value in changes.items():
                    plan = choices_of.changed(plan, self.choices[name], value)
                self.known[key] = Judged(dict(changes), assess(plan, draws or usual, seeds if seed is None else seed,
                                                               criteria))
            except (StudyError, tables.TableError, ValueError, TypeError) as error:
                self.left_out[self.said(changes)] = str(error)
                self.known[key] = None
        return self.known[key]

    def values(self, choice):
        """What is looked at: words, or factors, the nearest of each direction first."""
        if choice.options:
            return [[option] for option in choice.options]
        return [[choice.tidied(float(f)) for f in np.geomspace(1, end, STEPS + 1)[1:]]
                for end in (choice.high, choice.low) if end != 1]

    def said(self, changes):
        told = []
        for key, value in changes.items():
            choice = self.choices[key]
            instead = "" if choice.now == "as planned" else f" in place of {choice.now}"
            told.append(f"{choice.label}: {choice.said(value)}{instead}")
        return "; ".join(told)


def reach(plan, chance=0.66, choices=None, draws=2**10, confirm=2**13, seed=1, criteria=None, pairs=True, best=True,
          progress=None):
    """What to change in a plan so that the chance of all reaches a level: a DataFrame, the cheapest first.

    chance: wanted, between 0 and 1. choices: keys of data/reference/choices.csv, or {key: (low, high)} in times the
    plan's own size, or {key: list of words}; all of the table within its bounds where None. The alloy, the bore and the
    lengths belong to the claim, and stay. draws, seed: on which all plans are compared. confirm: fresh draws on which
    what is proposed is judged again. criteria: as for `assess`. pairs, best: whether these are looked for. progress:
    called with (plans judged, about how many there will be). Interrupted in a notebook, it returns what is done.

    Rows: the plan as it is; each choice alone, with the least change that reaches the level, or else the change that
    comes nearest; the cheapest pair of choices that do not reach it alone; the best plan found, choice by choice,
    within the bounds. A cost is the median of hours (those of the use's labour) and the mass of the blanks.
    Columns: kind, change (words), chance (on the draws of the search), fresh, standard_error (on fresh draws; missing
    where nothing is claimed), all_5, all_95 (ends of the chance's band), hours, hours_more, metal_g, metal_more_g,
    limiting, reached: on the draws of the search, and within one standard error on the fresh ones. `.attrs`: chance
    wanted, changes ({key: value} of each row, for `choices.changed`), left_out ({what could not be made: why}), said,
    provenance. A search of this kind finds a good plan, not surely the best.
    Raises StudyError for a chance outside 0 to 1, or a choice that is not there.
    """
    if not 0 < chance < 1:
        raise StudyError(f"chance: {chance} must lie between 0 and 1")
    search = Search(plan, choices_of.choices(plan, choices), draws, seed, criteria, progress)
    now = search.judge({})
    if now is None:
        raise StudyError(next(iter(search.left_out.values())))
    found = [("as planned", now)]
    try:
        if now.chance < chance:
            _look(search, now, chance, found, pairs, best)
    except KeyboardInterrupt:
        if not stopping.in_notebook():
            raise
        warnings.warn(f"stopped by hand after {search.done} plans; what was found by then is returned", stacklevel=2)
    return _table(search, found, now, chance, confirm, draws, seed)


def _look(search, now, chance, found, pairs, best):
    """Add to `found` what is found: [(kind, Judged)]."""
    search.planned = 1 + sum(len(values) for c in search.choices.values() for values in search.values(c))
    search.planned += (MOST_PAIRED * (MOST_PAIRED - 1) // 2 if pairs else 0) + (2 * search.planned if best else 0)
    alone = {}
    for choice in search.choices.values():
        judged = _alone(search, choice, now, chance)
        if judged is not None:
            alone[choice.key] = judged
            found.append(("alone", judged))
    if pairs:
        found += [("pair", each) for each in _pair(search, alone, now, chance)]
    if best:
        start = max((judged for _, judged in found), key=lambda each: each.chance)
        found.append(("best plan found", _best(search, start, now, alone)))


def _alone(search, choice, now, chance):
    """The cheapest least change of one choice that reaches the chance; else the one that comes nearest."""
    reaching, others = [], []
    for values in search.values(choice):
        before = 1.0
        ends = search.judge({choice.key: values[-1]})
        if ends is not None and len(values) > 1 and (ends.met == now.met).all():
            values = values[-1:]   # as far as the bound nothing comes of it
        for value in values:
            judged = search.judge({choice.key: value})
            if judged is None:
                break
            if judged.chance >= chance:
                reaching.append(judged if choice.options else _least(search, choice, before, judged, chance))
                break
            others.append(judged)
            before = value
    if reaching:
        return min(reaching, key=lambda each: each.cost)
    return max(others, key=lambda each: (each.chance, [-x for x in each.cost]), default=None)


def _least(search, choice, before, judged, chance):
    """The least size that reaches it, between one that does not and one that does."""
    value = judged.changes[choice.key]
    for _ in range(HALVINGS):
        middle = choice.tidied(float(np.sqrt(before * value)))
        if middle in (before, value):
            break
        tried = search.judge({choice.key: middle})
        if tried is not None and tried.chance >= chance:
            judged, value = tried, middle
        else:
            before = middle
    return judged


def _pair(search, alone, now, chance):
    """[the cheapest pair that reaches it, of choices that alone do not; else the pair that comes nearest]."""
    short = [each for each in alone.values() if now.chance < each.chance < chance]
    short = sorted(short, key=lambda each: -each.chance)
    tried = [search.judge(a.changes | b.changes) for a, b in itertools.combinations(short[:MOST_PAIRED], 2)]
    tried = [each for each in tried if each is not None]
    reaching = sorted((each for each in tried if each.chance >= chance), key=lambda each: each.cost)[:3]
    if reaching:
        return [min((_shrunk(search, each, chance) for each in reaching), key=lambda each: each.cost)]
    nearest = max(tried, key=lambda each: each.chance, default=None)
    return [nearest] if nearest is not None else []


def _shrunk(search, judged, chance):
    """A pair with its sizes brought back toward the plan's own as far as it still reaches the chance."""
    for _ in range(HALVINGS):
        for key, value in judged.changes.items():
            if isinstance(value, str) or search.choices[key].options:
                continue
            less = search.choices[key].tidied(float(np.sqrt(value)))
            if abs(np.log(less)) < 0.95 * abs(np.log(value)):
                tried = search.judge(judged.changes | {key: less})
                if tried is not None and tried.chance >= chance:
                    judged = tried
    return judged


def _best(search, best, now, alone):
    """Choice by choice, those that promise most first, each set to what does best beside the others; what does not pay
    is taken back in the end."""
    order = sorted(alone, key=lambda key: -alone[key].chance)
    for _ in range(SWEEPS):
        before, live = best, []
        for key in order:
            tried = [search.judge(best.changes | {key: value}) for values in search.values(search.choices[key])
                     for value in (values if (alone[key].met != now.met).any() else values[-1:])]
            tried = [each for each in tried if each is not None]
            if any((each.met != best.met).any() for each in tried):
                live.append(key)
            better = max(tried, key=lambda each: each.chance, default=best)
            if _pays(better, best):
                best = better
        order = live
        if best is before:
            break
    for key in list(best.changes):
        without = search.judge({k: v for k, v in best.changes.items() if k != key})
        if without is not None and not _pays(best, without):
            best = without
    return best


def _pays(better, than):
    """Whether a plan does better on the same draws by more than one standard error of the difference."""
    gained = better.met.astype(float) - than.met
    return gained.mean() > max(gained.std() / np.sqrt(len(gained)), 0)


def _table(search, found, now, chance, confirm, draws, seed):
    import pandas as pd
    rows, changes = [], []
    for kind, judged in found:
        claimed = judged.chance >= chance or kind == "best plan found"
        fresh = _confirmed(search, judged, confirm, seed) if claimed or kind == "as planned" else None
        if fresh is not None and kind == "alone":
            judged, fresh = _farther(search, judged, fresh, chance, confirm, seed)
        error = np.nan if fresh is None else float(np.sqrt(fresh.chance * (1 - fresh.chance) / fresh.verdict.n))
        ends = (np.nan, np.nan) if fresh is None else worlds.ends(fresh.verdict.study, seed, search.asked[2])
        rows.append({
            "kind": kind, "change": search.said(judged.changes), "chance": judged.chance,
            "fresh": np.nan if fresh is None else fresh.chance, "standard_error": error,
            "all_5": ends[0], "all_95": ends[1], "hours": judged.hours, "hours_more": judged.hours - now.hours,
            "metal_g": judged.metal, "metal_more_g": judged.metal - now.metal,
            "limiting": judged.verdict.limiting,
            "reached": bool(judged.chance >= chance and fresh is not None and fresh.chance >= chance - error)})
        changes.append(judged.changes)
    order = sorted(range(len(rows)), key=lambda i: (
        KINDS.index(rows[i]["kind"]), not rows[i]["reached"], *(
            (rows[i]["hours"], rows[i]["metal_g"]) if rows[i]["reached"] else (-rows[i]["chance"],))))
    table = pd.DataFrame([rows[i] for i in order])
    table.attrs = search.plan.provenance(draws, seed) | {
        "wanted": chance, "confirm": confirm, "changes": [changes[i] for i in order], "left_out": search.left_out,
        "judged": search.done}
    table.attrs["said"] = said(table)
    return table


def _confirmed(search, judged, confirm, seed):
    """The same plan on fresh draws."""
    return search.judge(judged.changes, draws=confirm, seed=seed + 1)


def _farther(search, judged, fresh, chance, confirm, seed):
    """A change that fresh draws do not bear out, taken farther within its bounds until they do: (Judged, on fresh
    draws)."""
    (key, value), = judged.changes.items()
    choice = search.choices[key]
    while not choice.options and fresh.chance < chance:
        farther = choice.tidied(float(np.clip(value**FARTHER, choice.low, choice.high)))
        if farther == value:
            break
        tried = search.judge({key: farther})
        if tried is None or tried.chance < chance:
            break
        value, judged, fresh = farther, tried, _confirmed(search, tried, confirm, seed)
    return judged, fresh


# --- in words ---------------------------------------------------------------------------------------------------------

def said(table):
    """What a table of `reach` comes to, in sentences."""
    wanted, now = table.attrs["wanted"], table.iloc[0]
    level = words.chance(wanted)
    drawn = f"{words.draws(table.attrs['n'], table.attrs['seed'])}; proposals judged again on " \
            f"{words.counted(table.attrs['confirm'], 'fresh draw')}"
    if now["chance"] >= wanted:
        return f"The plan as it is reaches {level} already (chance {words.chance(now['fresh'])}; {drawn})."
    text = [f"As planned the chance is {words.chance(now['fresh'])}; {level} is wanted ({drawn})."]
    for kind, name in (("alone", "By one choice alone"), ("pair", "By two choices"),
                       ("best plan found", "The best plan found within the bounds")):
        rows = table[table["kind"] == kind]
        if not len(rows):
            continue
        first = rows.iloc[0]
        if kind == "best plan found":
            text.append(f"{name} has a chance of {words.chance(first['fresh'])} on fresh draws "
                        f"({words.chance(first['chance'])} on those of the search), for {_cost(first)}.")
        elif first["reached"]:
            text.append(f"{name} it is reached most cheaply so: {first['change']}; {_cost(first)}; what then limits is "
                        f"'{first['limiting']}'.")
        elif first["chance"] <= now["chance"]:
            text.append(f"{name} it is not reached within the bounds, and none comes nearer than the plan as it is.")
        else:
            text.append(f"{name} it is not reached within the bounds; nearest comes {first['change']} (chance "
                        f"{words.chance(first['chance'])}).")
    idle = int(((table["kind"] == "alone") & (table["chance"] <= now["chance"])).sum())
    if 0 < idle < (table["kind"] == "alone").sum():
        text.append(f"By {words.counted(idle, 'other choice')} alone nothing is gained.")
    return " ".join(text)


def _cost(row):
    """'12 h more and 35 g of metal less'."""
    return " and ".join(f"{words.number(abs(more), 2)} {of} {'more' if more >= 0 else 'less'}" if abs(more) > 0.5
                        else f"no more {none}" for more, of, none in (
                            (row["hours_more"], "h", "hours"), (row["metal_more_g"], "g of metal", "metal")))


def for_reading(table):
    """A table of `reach` in words; choices by which alone nothing is gained are left out beside those that do."""
    import pandas as pd
    rows, now = [], table.iloc[0]["chance"]
    some = (table["chance"] > now).any()
    for row in table.itertuples():
        if some and row.kind == "alone" and row.chance <= now:
            continue
        fresh = "" if np.isnan(row.fresh) else (f"{words.chance(row.fresh)} (band {words.chance(row.all_5)} to "
                                                f"{words.chance(row.all_95)})")
        more = f"{row.hours_more:+.0f}".replace("-", "−").replace("+0", "0").replace("−0", "0")
        metal = f"{row.metal_more_g:+.0f}".replace("-", "−").replace("+0", "0").replace("−0", "0")
        rows.append({"what": row.kind, "change": row.change or "none", "chance": words.chance(row.chance),
                     "on fresh draws": fresh, "hours more": more if row.change else "",
                     "metal more, g": metal if row.change else "", "what then limits": row.limiting,
                     "reached": "yes" if row.reached else "no"})
    return pd.DataFrame(rows)
