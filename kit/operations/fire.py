"""What the fire does to a tube: it softens, and scale takes metal off both sides."""
import numpy as np

from kit.base import tables
from kit.base.units import Q
from kit.estimates import annealing

AIR = Q(20, "delta_degC")   # over 0 degC: what a heat is counted from
COVERS = ["in air", "under charcoal"]
CAUTION = ("Hot metal looks like cold metal: tongs, dry ground, eyes covered, nobody behind. Heat only what is dry and "
           "open at both ends: damp in a closed tube bursts it. Quench with the open end away from face and hands. "
           "Pickle spits when hot metal goes in, and its fumes are not to be breathed. Local rules on open fires and "
           "acids decide.")


def known(alloy):
    """What data/reference/metals.csv says of an alloy; None of one that it has not."""
    return next((row for row in tables.load("metals") if row["alloy"] == alloy), None)


def annealed(alloy):
    """The alloy of the same metal as it is when annealed; None where the table has none."""
    of = known(alloy)
    return next((row["alloy"] for row in tables.load("metals")
                 if of and (row["metal"], row["state"]) == (of["metal"], "annealed")), None)


def of_metal(alloy):
    """Rows of the reference tables that tell how a metal takes fire and work (see Operation.takes)."""
    of = known(alloy)
    yield "forming", of["metal"] if of else alloy, "metal", "alloy"
    if of and of["state"] == "worked":
        yield "alloys", of["soft"], "soft", "alloy"
        yield "forming", "worked metal", "worked", "=worked metal"


def rows(alloy):
    """Rows that a fire asks for."""
    yield from of_metal(alloy)
    yield "forming", "hearth", "hearth", "=hearth"


def above_air(temperature):
    """How far a temperature (degC) lies above that of the air."""
    return Q(temperature.m_as("degC") - AIR.m, "K")


def soft(means, name):
    """Of the metal quite soft: that of the annealed alloy for one that comes worked, else its own."""
    key = f"soft.{name}"
    return means[key if key in means else f"alloy.{name}"]


def after(means, found, softened, lost):
    """Changes of a State: what the fire leaves. softened: function, share of the work that is gone. lost: function,
    metal that scale takes, on each side; the scale itself is pickled off."""
    def falls(now, least):
        return np.minimum(now, now + softened() * (least - now))

    return dict(
        hardness=lambda: falls(found.hardness, soft(means, "hardness")),
        strength=lambda: falls(found.strength, soft(means, "yield_strength")),
        strain=lambda: found.strain * (1 - softened()), skin=lambda: 1 + (found.skin - 1) * (1 - softened()),
        sprung=lambda: found.sprung * (1 - softened()),
        outside_lost=lambda: found.outside_lost + lost(), oversize=lambda: found.oversize + 2 * lost())


def usual_time(means):
    """For which metal is at its heat, where the plan gives no minutes: half the work at the hearth, a plan's default
    (a study says otherwise by `minutes`, or by a row hearth.minutes)."""
    return means["hearth.minutes"] / 2


def scale_lost(means, reached, minutes, cover):
    """Metal lost to scale on one side in one heat. reached: heat of the fire (degC)."""
    of_copper = annealing.scale_loss(temperature=reached, minutes=minutes, rate=means["hearth.rate"])
    share = means["metal.scale_share"] * (means["hearth.covered"] if cover == "under charcoal" else 1.0)
    return of_copper * share


def reached(means, temperature):
    """Heat that the metal comes to, where a temperature is meant: it is judged by its colour."""
    return Q(AIR.m + above_air(temperature).m * means["hearth.judged"].m_as(""), "degC")
