"""What to change so that a chance is reached: each choice alone, the cheapest pair, the best plan within bounds."""
import itertools
import warnings

import numpy as np

from kit.base import stopping, words
from kit.study import choices as choices_of
from kit.study import worlds
from kit.study.search import Search, all_met, pays
from kit.study.studyfile import StudyError

HALVINGS = 4       # of the way to the least change that reaches
MOST_PAIRED = 6    # choices that are tried in pairs
PAIRS_JUDGED = 4   # of their pairs: those that promise most, and the cheapest that promise to reach
TRIES = 24         # changes that are tried on the best plan, those that promise most together first
PATIENCE = 4       # of them, one after the other, that do not pay
AROUND = 10        # choices that are looked at anew where it stands: those that move the draws that fail most
ROUNDS = 2         # of looking around
SURE = 0.02        # of the chance: what margins that add up promise is that sure, and beyond it is not tried
FARTHER = 1.25     # power by which a change grows where fresh draws do not bear it out
KINDS = ("as planned", "alone", "pair", "best plan found")


def reach(plan, chance=0.66, choices=None, draws=2**10, confirm=2**13, seed=1, criteria=None, pairs=True, best=True,
          progress=None):
    """What to change in a plan so that the chance of all reaches a level: a DataFrame, the cheapest first.

    chance: wanted, between 0 and 1. choices: keys of data/reference/choices.csv, or {key: (low, high)} in times the
    plan's own size, or {key: list of words}; all of the table within its bounds where None. The alloy, the bore and the
    lengths belong to the claim, and stay. draws, seed: on which all plans are compared, drawn once for all. confirm:
    fresh draws on which what is proposed is judged again. criteria: as for `assess`. pairs, best: whether these are
    looked for. progress: called with (plans judged, about how many there will be). Interrupted in a notebook, it
    returns what is done.

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
    search.planned = 1 + sum(len(c.options) or 3 for c in search.choices.values())
    search.planned += (PAIRS_JUDGED if pairs else 0) + (TRIES if best else 0)
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
        found.append(("best plan found", _best(search, start, now)))


def _alone(search, choice, now, chance):
    """The cheapest least change of one choice that reaches the chance; else the one that comes nearest."""
    if choice.options:
        tried = [search.judge({choice.key: option}) for option in choice.options]
        reaching = [each for each in tried if each is not None and each.chance >= chance]
    else:
        tried, reaching = [], []
        for end in (choice.high, choice.low):
            if end != 1:
                judged, reached = _toward(search, choice, end, now, chance)
                tried += judged
                reaching += reached
                if _only_better(judged[0], now):
                    break   # margins go one way with a size: the other way can only be worse
    if reaching:
        return min(reaching, key=lambda each: each.cost)
    return max(filter(None, tried), key=lambda each: (each.chance, [-x for x in each.cost]), default=None)


def _only_better(judged, now):
    """Whether some draws are gained by it, and none lost."""
    return judged is not None and (judged.met >= now.met).all() and (judged.met != now.met).any()


def _toward(search, choice, end, now, chance):
    """A size taken toward one of its bounds: (plans judged, [the least change that reaches the chance]).

    The bound first; half way to it where that reaches, or where by the margins half the change promises more than
    all of it, or the bound cannot be made.
    """
    far, half = search.judge({choice.key: choice.tidied(end)}), choice.tidied(float(np.sqrt(end)))
    if far is not None and far.chance >= chance:
        return [far], [_least(search, choice, 1.0, far, chance)]
    if far is not None and (far.met == now.met).all():
        return [far], []   # as far as the bound nothing comes of it
    if far is not None and all_met((far.logs + now.logs) / 2).mean() <= max(far.chance, now.chance):
        return [far], []
    middle = search.judge({choice.key: half})
    if middle is not None and middle.chance >= chance:
        return [far, middle], [_least(search, choice, 1.0, middle, chance)]
    return [far, middle], []


def _least(search, choice, before, judged, chance):
    """The least size that reaches it, between one that does not and one that does: halved as far as the chance goes
    one way between them."""
    value, low = judged.changes[choice.key], 0.0
    for _ in range(HALVINGS):
        middle = choice.tidied(float(np.sqrt(before * value)))
        if middle in (before, value):
            break
        tried = search.judge({choice.key: middle})
        if tried is not None and tried.chance >= chance:
            judged, value = tried, middle
        elif tried is None or tried.chance < low:   # down before it goes up: nearer in it is not looked for
            break
        else:
            before, low = middle, tried.chance
    return judged


def _pair(search, alone, now, chance):
    """[the cheapest pair that reaches it, of choices that alone do not; else the pair that comes nearest].

    Which are judged is told by the margins of each alone, as if they added up.
    """
    short = sorted((each for each in alone.values() if now.chance < each.chance < chance),
                   key=lambda each: -each.chance)
    promised = [(all_met(a.logs + b.logs - now.logs).mean(), a.hours + b.hours, a.changes | b.changes)
                for a, b in itertools.combinations(short[:MOST_PAIRED], 2)]
    most = sorted(promised, key=lambda each: -each[0])[:PAIRS_JUDGED]
    cheap = sorted((each for each in promised if each[0] >= chance), key=lambda each: each[1])[:PAIRS_JUDGED]
    tried = [search.judge(changes) for _, _, changes in most + cheap]
    tried = [each for each in tried if each is not None]
    reaching = sorted((each for each in tried if each.chance >= chance), key=lambda each: each.cost)[:3]
    if reaching:
        return [min((_shrunk(search, each, chance) for each in reaching), key=lambda each: each.cost)]
    nearest = max(tried, key=lambda each: each.chance, default=None)
    return [nearest] if nearest is not None else []


def _shrunk(search, judged, chance):
    """A pair with its sizes brought back toward the plan's own as far as it still reaches the chance."""
    for _ in range(HALVINGS - 1):
        for key, value in judged.changes.items():
            if isinstance(value, str) or search.choices[key].options:
                continue
            less = search.choices[key].tidied(float(np.sqrt(value)))
            if abs(np.log(less)) < 0.95 * abs(np.log(value)):
                tried = search.judge(judged.changes | {key: less})
                if tried is not None and tried.chance >= chance:
                    judged = tried
    return judged


def _best(search, best, now):
    """What promises most together by the margins of each alone, judged; from there again by what single changes really
    do there, as long as one pays. What does not pay is taken back in the end."""
    moves = search.moves(now)
    best = _climbed(search, moves, best)
    for _ in range(ROUNDS):
        start = best
        for key, value in search.around(moves, start)[:AROUND]:
            tried = search.judge(best.changes | {key: value}, like=best)
            if tried is not None:
                search.learn(moves, best, tried)
                best = tried if pays(tried.met, best.met) else best
        best = _climbed(search, moves, best)
        if best is start:
            break
    for key in sorted(best.changes, key=lambda key: search.worth(moves, best, key)):
        if search.worth(moves, best, key) > SURE:
            continue
        without = search.judge({k: v for k, v in best.changes.items() if k != key}, like=best)
        if without is not None and not pays(best.met, without.met):
            best = without
    return best


def _climbed(search, moves, best):
    """From a plan on by the changes that promise most, together or one by one, as long as one pays; what they do is
    learnt from what was judged last."""
    left, missed, seen = TRIES, 0, {search.key(best.changes)}
    while left and missed < PATIENCE:
        untried = [changes for changes in [search.promising(moves, best), *search.next_moves(moves, best, SURE)]
                   if search.key(changes) not in seen]
        if not untried:
            break
        left, missed = left - 1, missed + 1
        seen.add(search.key(untried[0]))
        tried = search.judge(untried[0], like=best)
        if tried is None:
            continue
        search.learn(moves, best, tried)
        if pays(tried.met, best.met):
            best, missed = tried, 0
    return best


def _table(search, found, now, chance, confirm, draws, seed):
    import pandas as pd
    rows, changes = [], []
    for kind, judged in found:
        claimed = judged.chance >= chance or kind == "best plan found"
        fresh = search.fresh(judged.changes, confirm) if claimed or kind == "as planned" else None
        if fresh is not None and kind == "alone":
            judged, fresh = _farther(search, judged, fresh, chance, confirm)
        error = np.nan if fresh is None else float(np.sqrt(fresh.chance * (1 - fresh.chance) / fresh.n))
        ends = (np.nan, np.nan) if fresh is None else worlds.ends(fresh.study, seed, search.criteria)
        rows.append({
            "kind": kind, "change": search.said(judged.changes), "chance": judged.chance,
            "fresh": np.nan if fresh is None else fresh.chance, "standard_error": error,
            "all_5": ends[0], "all_95": ends[1], "hours": judged.hours, "hours_more": judged.hours - now.hours,
            "metal_g": judged.metal, "metal_more_g": judged.metal - now.metal,
            "limiting": judged.limiting,
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


def _farther(search, judged, fresh, chance, confirm):
    """A change that fresh draws do not bear out, taken farther within its bounds until they do: (Judged, Verdict on
    fresh draws)."""
    (key, value), = judged.changes.items()
    choice = search.choices[key]
    while not choice.options and fresh.chance < chance:
        farther = choice.tidied(float(np.clip(value**FARTHER, choice.low, choice.high)))
        if farther == value:
            break
        tried = search.judge({key: farther})
        if tried is None or tried.chance < chance:
            break
        value, judged, fresh = farther, tried, search.fresh(tried.changes, confirm)
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
