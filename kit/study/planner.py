"""A plan that works, where one is found: pulley, passes, push, blank and laps for the tubes of a new study.

It begins with what a maker would try first, judges that on a few draws, and changes what the worst criterion suggests.
"""
from dataclasses import dataclass, replace

from kit.base.units import told

DRAWS, SEED = 2**8, 1
MET = 0.97        # chance from which a criterion is let alone
TRIES = 14        # plans judged at the most
TURNED = 50       # um: a clearance from which a fit is turned or filed, not lapped
LAPPED = 20       # um: clearance that laps make; what is wanted beyond it is left off when the shaft is turned
LEFT_ON = 10      # um: interference at which a shaft to be lapped is left


@dataclass(frozen=True)
class Proposal:
    """What the kit proposes. pulley, blank (on diameter), stock (of a pass, on diameter), opened, pilot (drills), in
    mm; wrap in turns; feed, the most of a reamer, in mm a turn; pressure of the laps in kPa, for so many hours each;
    left_on in um."""
    pulley: float
    wrap: float
    push: str
    blank: float
    stock: float
    opened: float
    pilot: float
    feed: float
    pressure: float
    hours: float
    left_on: float
    laps: bool


LADDERS = {"pulley": (8, 10, 15, 20, 30, 40, 60, 90, 120), "wrap": (2, 3, 4), "push": ("hand", "breast", "lever"),
           "blank": (1.5, 2, 3, 4, 6), "stock": (0.1, 0.2, 0.3, 0.4, 0.6, 0.9, 1.2, 1.6),
           "feed": (0.05, 0.1, 0.15, 0.2, 0.3), "pressure": (2, 5, 10, 20, 30, 60), "hours": (6, 12, 24, 48, 96)}
# What a maker changes where a criterion is in doubt: (choice, up or down its ladder), the first thing first
REMEDIES = {
    "drilling torque": (("pulley", 1),), "drilling thrust": (("push", 1), ("pilot", -1)),
    "drill buckling": (("pilot", 1),), "tool shank": (("stock", -1), ("pilot", 1)),
    "reaming pass": (("pulley", 1), ("stock", -1)), "turning the outside": (("pulley", 1),),
    "lapping torque": (("pressure", -1), ("pulley", 1)), "cord": (("wrap", 1), ("pulley", 1), ("pressure", -1)),
    "holding": (("stock", -1), ("pressure", -1)), "cleaned up": (("stock", 1), ("opened", -1)),
    "edge life": (("stock", 1), ("feed", 1), ("blank", -1)), "blank allowance": (("blank", 1),),
    "lapping stock": (("hours", 1), ("pressure", 1), ("pulley", -1))}


def first(bore, outside, clearance):
    """What a maker would try first. bore: of the first tube, outside: of the widest one, in mm; clearance in um."""
    opened = min(6.0, max(round(bore - 0.5, 2), round(0.6 * bore, 2)))   # from there on the D-bit opens it
    small = bore < 4
    return Proposal(pulley=_nearest("pulley", 5 * outside), wrap=2, push="lever", blank=2 if small else 4,
                    stock=_nearest("stock", 0.15 * bore), opened=opened, pilot=min(2.5, round(0.55 * opened, 2)),
                    feed=0.15, pressure=30 if outside < 10 else 10, hours=24, laps=clearance < TURNED,
                    left_on=LEFT_ON if clearance <= LAPPED else LAPPED - clearance if clearance < TURNED else 0)


def _nearest(name, value):
    return min(LADDERS[name], key=lambda each: abs(each - value))


def search(begin, tried):
    """The best Proposal found. begin: the first one. tried: gives the study that a Proposal makes, or raises ValueError
    where it makes none."""
    best, done, scores = begin, {begin}, {}
    scores[begin] = score(tried(begin))
    moved = True
    while moved and len(done) < TRIES:
        moved = False
        chances = scores[best][2]
        for criterion in sorted((c for c in chances if chances[c] < MET and c in REMEDIES), key=chances.get):
            for name, way in REMEDIES[criterion]:
                other = _changed(best, name, way)
                if other is None or other in done or len(done) >= TRIES:
                    continue
                done.add(other)
                try:
                    scores[other] = score(tried(other))
                except ValueError:   # a drill wider than the hole, for one
                    continue
                if scores[other][:2] > scores[best][:2]:
                    best, moved = other, True
                    break
            if moved:
                break
    return best


def _changed(proposal, name, way):
    """The proposal with one choice moved a rung up or down; None at the end of the ladder."""
    now = getattr(proposal, name)
    if name in ("pilot", "opened"):
        value = round(now * (1.2 if way > 0 else 0.8), 2)
        return replace(proposal, **{name: value}) if proposal.pilot < proposal.opened else None
    ladder = LADDERS[name]
    at = ladder.index(now) + way if now in ladder else None
    return replace(proposal, **{name: ladder[at]}) if at is not None and 0 <= at < len(ladder) else None


def score(study):
    """(chance of all, mean chance of a criterion, {criterion: chance}) on a few draws."""
    with told():
        verdict = study.assess(draws=DRAWS, seed=SEED)
    return verdict.chance, sum(verdict.chances.values()) / len(verdict.chances), verdict.chances
