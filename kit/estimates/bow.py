"""The bow drive: the arm's pull, the cord's limit, the turns of the spindle, the friction of the centres.

The pull is the net force of the hand along the bow: tight run less slack run of the cord. `wrap` is the angle of
cord on the pulley ("1 turn", "360 deg"); `pulley_diameter` is to the cord's middle, so pulley plus cord. A stroke is
push and pull together, one cycle: `frequency` counts strokes in a minute and carries no turn ("60/min"); `length` is
that of one way of the bow, half a stroke.
"""
from dataclasses import dataclass

import numpy as np

from kit.base import tables
from kit.base.units import Q, units, warn_outside


@dataclass(frozen=True)
class Stroke:
    """How the strokes of a bow turn the spindle.

    turns: in one way of the bow, half a stroke (turn). mean_speed, peak_speed: of the cord (m/s). mean_rate, peak_rate:
    of the spindle, either way round (turn/s).
    """
    turns: Q
    mean_speed: Q
    peak_speed: Q
    mean_rate: Q
    peak_rate: Q


@units("", friction=">= 0", wrap="rad >= 0")
def capstan_ratio(friction, wrap):
    """Greatest ratio of tight to slack tension of a cord round a pulley, at the point of slipping.

    friction (number), wrap (angle): numbers or arrays. Result: number. Formula: exp(mu * wrap), whatever the diameter.
    Valid for a limp cord; friction of fibres falls as the load grows, so a value from one load does not carry far.
    Source: D. Baker and W. Haynes, Engineering Statics, chapter 9, flexible belts.
    """
    return np.exp(friction * wrap)


@units("N", rest_tension="N >= 0", friction=">= 0", wrap="rad >= 0")
def cord_limit(rest_tension, friction, wrap):
    """Greatest pull before the cord slips on the pulley, for a bow that holds both ends of the cord.

    rest_tension (N, of the cord at rest), friction (number), wrap (angle): numbers or arrays. Result: N.
    Formula: F = 2 * T0 * tanh(mu * wrap/2), never above 2 * T0: the tight run gains what the slack one loses (T1 + T2 =
    2 * T0), and T1/T2 = exp(mu * wrap) at slipping. Past two turns only a tenser bow helps.
    Valid for a stiff bow with both runs alike. A slack end kept at a constant tension Ts, by a thumb or a weight, has
    Ts * (capstan_ratio - 1) instead.

    >>> import kit
    >>> kit.units.show(kit.bow.cord_limit(rest_tension="25 N", friction=0.25, wrap="2 turn"))
    '45.9 N'

    Source: a belt put on with initial tension, R. S. Khurmi and J. K. Gupta, Theory of Machines, example 11.12.
    """
    return 2 * rest_tension * np.tanh(friction * wrap / 2)


@units("N", pull="N >= 0", friction="> 0", wrap="rad > 0", safety="> 0")
def rest_tension_for(pull, friction, wrap, safety=1.0):
    """Pre-tension that the cord needs to carry a pull: the inverse of `cord_limit`.

    pull (N), friction (number), wrap (angle), safety (number that multiplies the pull): numbers or arrays. Result: N.
    Formula: T0 = safety * F / (2 * tanh(mu * wrap/2)). Valid and source as `cord_limit`.
    """
    return safety * pull / (2 * np.tanh(friction * wrap / 2))


@units(length="m > 0", pulley_diameter="m > 0", frequency="1/s > 0")
def stroke(length, pulley_diameter, frequency):
    """Turns of one way of the bow, and speeds.

    length (m, one way), pulley_diameter (m), frequency (1/min, strokes): numbers or arrays. Result: Stroke.
    Formula: turns L/(pi d); mean cord speed 2 f L, peak pi f L (sinusoidal stroke); spindle rate = cord speed/(pi d).
    Valid without slip; a jerkier stroke has a higher peak, up to twice the mean.

    >>> import kit
    >>> one = kit.bow.stroke(length="0.5 m", pulley_diameter="40 mm", frequency="60/min")
    >>> kit.units.show(one.turns), kit.units.show(one.peak_rate.to("rpm"))
    ('3.98 turn', '750 rpm')

    Source: simple harmonic motion; common practice, no published source for the bow.
    """
    around = np.pi * pulley_diameter
    mean, peak = 2 * frequency * length, np.pi * frequency * length
    return Stroke(turns=Q(length / around, "turn"), mean_speed=Q(mean, "m/s"), peak_speed=Q(peak, "m/s"),
                  mean_rate=Q(mean / around, "turn/s"), peak_rate=Q(peak / around, "turn/s"))


@units("turn/min", length="m > 0", pulley_diameter="m > 0", frequency="1/min > 0", duty="> 0 <= 1")
def turns_per_minute(length, pulley_diameter, frequency, duty=0.5):
    """Turns in a minute during which the edge cuts.

    length (m, one way), pulley_diameter (m), frequency (1/min, strokes), duty (share of the strokes' turning that
    cuts: 0.5 for an edge that cuts one way, less with a pause at the turn, 1 for a lap): numbers or arrays.
    Result: turn/min. Formula: 2 L f / (pi d) * duty. Valid as `stroke`. Source: as `stroke`.
    """
    return 2 * length * frequency / (np.pi * pulley_diameter) * duty


CONTACTS = ("uniform pressure", "uniform wear")


@units("N*m", load="N >= 0", radius="m > 0", half_angle="deg > 0 <= 90", friction=">= 0", inner_radius="m >= 0")
def centre_torque(load, radius, half_angle, friction, contact="uniform pressure", inner_radius="0 mm"):
    """Friction torque of one centre (or flat pivot) under an end load.

    load (N, along the axis), radius (m, outer, of the contact), half_angle (deg, axis to cone: 30 for a 60 deg centre,
    90 flat), friction (number), inner_radius (m, of the contact; 0 for a full cone): numbers or arrays; contact:
    "uniform pressure" (new, fitted) or "uniform wear" (run in). Result: N*m.
    Formula: pressure (2/3) mu W (r1^3 - r2^3)/((r1^2 - r2^2) sin(half_angle)); wear
    (1/2) mu W (r1 + r2)/sin(half_angle).
    Valid for end load alone; the side pull of the cord comes on top.
    Raises ValueError for another contact and where inner_radius exceeds radius.
    Source: R. S. Khurmi and J. K. Gupta, Theory of Machines, chapter 10, pivot and collar bearings.
    """
    if contact not in CONTACTS:
        raise ValueError(f"contact: unknown word {contact!r}; {tables.nearest(contact, CONTACTS)}")
    if np.any(inner_radius > radius):
        raise ValueError("inner_radius and radius contradict each other: the inner radius of the contact is the larger")
    if contact == "uniform wear":
        arm = (radius + inner_radius) / 2
    else:   # (r1^3 - r2^3)/(r1^2 - r2^2) divided out, so that a narrow ring is no 0/0
        arm = 2 / 3 * (radius**2 + radius * inner_radius + inner_radius**2) / (radius + inner_radius)
    return friction * load * arm / np.sin(np.radians(half_angle))


@units("min", fraction="> 0 <= 1")
def hold_time(fraction):
    """How long a static pull can be held.

    fraction (share of the greatest force, above 0 to 1): number or array. Result: min.
    Formula: t = -1.5 + 2.1/x - 0.6/x^2 + 0.1/x^3. Valid for x from 0.2 to 1; warns below. One curve for all muscles is
    contested; it is more likely too long below 0.45 and for the shoulder.
    Source: W. Rohmert's endurance curve as given by T. E. Bernard (2006).
    """
    warn_outside(fraction, 0.2, 1, "", "the pull is {} of the greatest force; Rohmert's endurance curve covers {}")
    return -1.5 + 2.1 / fraction - 0.6 / fraction**2 + 0.1 / fraction**3


@units("N", minutes="min > 0", one_minute="N > 0", sustained="N > 0")
def pull(minutes, one_minute, sustained):
    """Pull that an arm gives for a step that lasts so long.

    minutes (time, how long the step lasts), one_minute (N, kept up for a minute), sustained (N, kept up for half an
    hour and more): numbers or arrays. Result: N.
    Formula: one_minute up to 1 min, sustained from 30 min on, between them straight in the logarithm of the time.
    Source: assumption of this kit.
    """
    share = np.clip(np.log(minutes) / np.log(30), 0, 1)
    return one_minute + share * (sustained - one_minute)


@units("N*m", pull="N >= 0", pulley_diameter="m > 0", centre_torque="N*m >= 0")
def spindle_torque(pull, pulley_diameter, centre_torque="0 N*m"):
    """Torque left at the spindle for the cut.

    pull (N), pulley_diameter (m), centre_torque (N*m, all centres together): numbers or arrays. Result:
    N*m, at least 0. Formula: F d/2 - centre_torque. Valid without slip; inertia of work and spindle is left out, for it
    averages out over the stroke. Source: statics.
    """
    return np.maximum(pull * pulley_diameter / 2 - centre_torque, 0)


@units("N", torque="N*m >= 0", pulley_diameter="m > 0", centre_torque="N*m >= 0")
def pull_for(torque, pulley_diameter, centre_torque="0 N*m"):
    """Pull that a step's torque needs: the inverse of `spindle_torque`.

    torque (N*m, at the cut), pulley_diameter (m), centre_torque (N*m, all centres together): numbers or arrays.
    Result: N. Formula: 2 (torque + centre_torque)/d. Valid as `spindle_torque`. Source: as `spindle_torque`.
    """
    return 2 * (torque + centre_torque) / pulley_diameter
