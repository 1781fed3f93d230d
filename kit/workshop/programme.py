"""The programme of a session: groups, minutes, who works where, what to bring and to print, by the number of learners.

It is kept in tables (data/session), where a leader may change it.
"""
import functools
import math
import operator

from kit.base import tables

SESSION = tables.DATA / "session"
LENGTHS = (45, 90, 120, 150)                 # minutes
GROUP = 4                                # learners: maker, measurer, scribe, checker
STATIONS = ("ream", "turn", "lap")       # of the rounds; the pieces are measured afterwards, all together


@functools.cache
def table(name):
    """All rows of a session table, as dicts."""
    return tuple(tables.read(*tables.package(SESSION)[name]))


def rows(name, live_lathe):
    """Rows of a session table that apply with a live lathe, or without one."""
    return [row for row in table(name) if row["lathe"] in (None, "live" if live_lathe else "none")]


def checked(people=1, minutes=150):
    """The number of learners, if it and the minutes are possible for a session. Raises ValueError otherwise."""
    try:
        people = operator.index(people)
    except TypeError:
        raise ValueError(f"people: expected a whole number, got {people!r}") from None
    if not 1 <= people <= 200:
        raise ValueError(f"people: {people} is no size for a session; give the number of learners, 1 to 200")
    if minutes not in LENGTHS:
        raise ValueError(f"minutes: a session lasts {', '.join(map(str, LENGTHS[:-1]))} or {LENGTHS[-1]}, not "
                         f"{minutes!r}")
    return people


def groups(people):
    """Number of groups: four learners each, perhaps fewer in the last."""
    return math.ceil(checked(people=people) / GROUP)


def timing(minutes=150, live_lathe=True):
    """The blocks of a session of that length: a list of dicts with block, start, minutes, do, kit_gives.

    minutes: one of LENGTHS. start: minutes from the beginning. The lengths are an assumption of this kit.
    """
    checked(minutes=minutes)
    found, start = [], 0
    for row in rows("plan", live_lathe):
        lasts = row[f"minutes_{minutes}"]
        if lasts:
            found.append({"block": row["block"], "start": start, "minutes": lasts, "do": row["do"],
                          "kit_gives": row["kit_gives"] or ""})
            start += lasts
    return found


def clock(minutes):
    """Minutes from the beginning as hours and minutes."""
    return f"{minutes // 60}:{minutes % 60:02d}"


def rounds(minutes=150):
    """How many stations each group works at in a session of that length."""
    return sum(row["block"].startswith("Bench, round") for row in timing(minutes=minutes))


def sets(people=12):
    """How many sets of the three stations that number of learners needs."""
    return math.ceil(groups(people=people) / len(STATIONS))


def rotation(people=12, minutes=150, live_lathe=True):
    """Which group works where in each round: {group, from 1: (station, ...)}.

    Without a lathe the middle station gives none of the predicted numbers, so groups begin at the other two first.
    """
    stations = STATIONS if live_lathe else ("ream", "lap", "turn")
    return {group + 1: tuple(stations[(group + turn) % len(stations)] for turn in range(rounds(minutes=minutes)))
            for group in range(groups(people=people))}


def amounts(people=12, live_lathe=True):
    """What to bring for that number of learners: a list of dicts with item, amount (rounded up), unit, note."""
    n = groups(people=people)
    return [{"item": r["item"], "unit": r["unit"], "note": r["note"] or "",
             "amount": math.ceil(people * r["per_person"] + n * r["per_group"] + r["per_session"] - 1e-9)}
            for r in rows("consumables", live_lathe)]


def printing(people=12, minutes=150):
    """How many copies of each sheet: a list of (sheet, copies, for whom)."""
    n, several = groups(people=people), sets(people=people)
    return [("prediction-form", n + 1, "one a group, one spare"),
            ("bench-sheet", n * rounds(minutes=minutes) + 2, "one a group and round, two spare; given out once all "
             "predictions are in; its back holds what is settled"),
            ("station-cards", several, "one card at each station, one where it is measured"),
            ("measuring-sheet", n + 1, "one a group, one spare; on two sheets, not back to back"),
            ("stock-plan-card", n + len(STATIONS) * several, "one a group, one a station"),
            ("nomogram", n, "one a group, at full size (100 %)"),
            ("verdict-card", n, "one a group"),
            ("minute-card", math.ceil(people / 4), "to be cut in four"),
            ("safety-brief", 1, "for the leader, and to be hung up"),
            ("leaders-page", 1, "for the leader: two sheets, not back to back"),
            ("consumables", 1, "for whoever packs"),
            ("risk-assessment", 1, "to be worked through with the host"),
            ("laptops", 1, "for whoever prepares them")]
