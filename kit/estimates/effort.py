"""What a person keeps up: how long a muscle holds, what power a body and an arm give, and what of a push is left.

A share is of the greatest force that the person can just exert. A mean person is meant; people differ, and the tables
say by how much. How long somebody should work is another question, for local rules on health and safety at work.
"""
import numpy as np

from kit.base import tables
from kit.base.units import units, warn_outside

# Endurance (s) = first * share ** -second
JOINTS = {"grip": (33.55, 1.61), "elbow": (17.98, 2.21), "shoulder": (14.86, 1.83)}
MOMENT, LONG = 0.1, 10   # min: up to the first a push is a momentary one, from the second on it is one that is kept up
HORSEPOWER = 745.7   # W


def _law(joint):
    try:
        return JOINTS[joint]
    except (KeyError, TypeError):
        raise ValueError(f"joint: unknown word {joint!r}; {tables.nearest(joint, JOINTS)}") from None


def _held(minutes, joint):
    first, second = _law(joint)
    return np.minimum((60 * minutes / first)**(-1 / second), 1)


# for warn_outside
_SHARES = 0.1, 1, "", "the pull is {} of the greatest force; the endurance was gathered from {}"
_TIMES = 4, 480, "min", "the work lasts {}; the curve of what a body gives covers {}"


@units("min", share="> 0 <= 1")
def endurance(share, joint="grip"):
    """How long a steady force can be held without a rest.

    share: of the greatest force, above 0 to 1; number or array. joint: "grip" (hand and fingers), "elbow" or
    "shoulder" (an arm held up or out). Result: min.

    Formula: 33.55 s share^-1.61 for the grip, 17.98 s share^-2.21 for the elbow, 14.86 s share^-1.83 for the shoulder.
    Range: shares from 0.1 to 1, below it warns; mean of people who held until they gave up. A hold that short rests
    break lasts longer; what can be held all day is some hundredths.
    Raises ValueError for an unknown joint.

    >>> import kit
    >>> kit.units.show(kit.effort.endurance(share=0.3, joint="grip"))
    '3.88 min'

    Source: L. A. Frey Law and K. G. Avin, Endurance time is joint-specific, Ergonomics 53 (2010) 109-129, from 194
    publications: that a power law fits best from its abstract, the constants from memory.
    """
    first, second = _law(joint)
    warn_outside(share, *_SHARES)
    return first / 60 * share**-second


@units("", minutes="min > 0")
def share_for(minutes, joint="grip"):
    """Share of the greatest force that can be held for so long: the inverse of `endurance`.

    minutes: a time; number or array. joint: as `endurance`. Result: number up to 1, which is what it is for a moment.

    Formula: (minutes / (33.55 s))^(-1 / 1.61) for the grip, the others likewise, at most 1.
    Range: as `endurance`; warns where the share comes out below 0.1, which is from 23 min for the grip, 49 min for the
    elbow, 17 min for the shoulder.
    Raises ValueError for an unknown joint.
    Source: as `endurance`.
    """
    share = _held(minutes, joint)
    warn_outside(share, *_SHARES)
    return share


@units("N", minutes="min > 0", strength="N >= 0")
def pinch_for(minutes, strength):
    """Pinch of finger and thumb that can be held without a rest for so long.

    minutes: a time. strength: greatest pinch of that person. Numbers or arrays. Result: N.

    Formula: strength times `share_for` the grip.
    Range: as `share_for`.
    Source: as `endurance`; that a pinch tires as the grip does is an assumption.
    """
    share = _held(minutes, "grip")
    warn_outside(share, *_SHARES)
    return strength * share


def _whole_body(minutes):
    return HORSEPOWER * np.maximum(0.35 - 0.092 * np.log10(minutes), 0)


@units("W", minutes="min > 0")
def power(minutes):
    """Mean mechanical power that the whole body of a trained man keeps up with his legs for so long.

    minutes: a time, from beginning to end; number or array. Result: W.

    Formula: 0.35 hp - 0.092 hp log10(minutes), 1 hp = 745.7 W, at least 0.
    Range: 4 to 480 min, beyond it warns. It is the lowest of the curves in print: D. R. Wilkie, Man as a source of
    mechanical power, Ergonomics 3 (1960) 1-8, has more by a quarter to a half or more for ordinary people, so draw a
    factor on it.
    Source: from memory, believed to be by E. S. Krendel in Marks' Standard Handbook for Mechanical Engineers.
    """
    warn_outside(minutes, *_TIMES)
    return _whole_body(minutes)


@units("W", minutes="min > 0", arms_share="> 0 <= 1", one_arm_share="> 0 <= 1")
def one_arm_power(minutes, arms_share, one_arm_share):
    """Mean mechanical power that one arm keeps up for so long.

    minutes: a time. arms_share: power of both arms over that of the legs. one_arm_share: power of one arm over that of
    both. Numbers or arrays. Result: W.

    Formula: `power` arms_share one_arm_share.
    Range: as `power`.

    >>> import kit
    >>> kit.units.show(kit.effort.one_arm_power(minutes="30 min", arms_share=0.65, one_arm_share=0.58))
    '60.2 W'

    Source: as `power`; that the shares do not change with the time is an assumption.
    """
    warn_outside(minutes, *_TIMES)
    return _whole_body(minutes) * arms_share * one_arm_share


@units("N", power="W >= 0", stroke_length="m > 0", frequency="1/s > 0", loaded_share="> 0 <= 1")
def pull_limit(power, stroke_length, frequency, loaded_share):
    """Pull at the bow above which the strokes ask more power than the arm keeps up.

    power: mean, that the arm keeps up. stroke_length: of one way of the bow. frequency: strokes a minute, push and pull
    together. loaded_share: share of the way that is pulled under load, 1 where both ways cut, about half for an edge
    that cuts one way. Numbers or arrays. Result: N; strength may allow less.

    Formula: power / (2 stroke_length frequency loaded_share).
    Range: as `bow.stroke`; what the arm spends on itself and on the idle way is in the power already.

    >>> import kit
    >>> kit.units.show(kit.effort.pull_limit(power="36 W", stroke_length="0.45 m", frequency="60/min", loaded_share=1))
    '40.0 N'

    Source: work is force times way.
    """
    return power / (2 * stroke_length * frequency * loaded_share)


@units("", minutes="min > 0", long_share="> 0 <= 1")
def push_share(minutes, long_share):
    """Share of a momentary push of the body, as by leaning, that is kept up for so long.

    minutes: a time. long_share: share that is kept up for 10 min to an hour. Numbers or arrays. Result: number.

    Formula: 1 up to 6 s, long_share from 10 min on; between them 1 - (1 - long_share) (3 u^2 - 2 u^3), u = straight in
    the logarithm of the time.
    Range: up to an hour, beyond it warns.
    Source: assumption of this kit; no measured endurance of such a push was found.
    """
    warn_outside(minutes, 0, 60, "min", "the push lasts {}; the share kept up is assumed for {}")
    u = np.clip(np.log(minutes / MOMENT) / np.log(LONG / MOMENT), 0, 1)
    return 1 - (1 - long_share) * u**2 * (3 - 2 * u)


@units("N", weight="N >= 0", lean="deg >= 0 < 90", centre_height="m > 0", pad_height="m > 0")
def lean_push(weight, lean, centre_height, pad_height):
    """Push along the level that a person gives by leaning stiffly on a breast plate.

    weight: of the person, a force ("686 N" for 70 kg). lean: of the body from upright. centre_height: of the body's
    centre of gravity above the floor. pad_height: of the plate above the floor. Numbers or arrays. Result: N.

    Formula: weight tan(lean) centre_height / pad_height.
    Range: still, feet that do not slip (their friction at least push / weight), nothing that carries weight at the
    plate. What back, neck and skin bear comes before what the formula allows.

    >>> import kit
    >>> kit.units.show(kit.effort.lean_push(weight="686 N", lean="10 deg", centre_height="1 m", pad_height="1.25 m"))
    '96.8 N'

    Source: statics.
    """
    return weight * np.tan(np.radians(lean)) * centre_height / pad_height
