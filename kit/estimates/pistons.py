"""Pistons and plungers: what leaks past them, how long they hold a pressure or a vacuum, how hard they are to push.

`radial_clearance` is the gap on one side, half the clearance of the fit. `diameter` is that of the gap, piston and bore
being nearly alike; the mean of the two is exact, the piston's own makes the leak too small by clearance over diameter.
`eccentricity` is the piston's offset over the radial clearance: 0 centred, 1 lying on the bore. Pressures are absolute.
"""
import numpy as np

from kit.base.units import units, warn_outside

MEAN_FREE_PATH = 66.3e-9 * 101325   # m Pa: of air at 15 degC over its pressure (US Standard Atmosphere, 1976)

# for warn_outside
_NARROW = (0, 0.2, "", "the radial clearance is {} of the radius; the formula for a narrow gap needs {}")
_CLINGING = (0, 0.05, "", "the mean free path of the gas is {} of the gap; the formula for gas that clings to the "
             "wall needs {}, and the true leak is larger here")


def _refuse(bad, message, *values):
    """ValueError where any is bad, its braces filled with the values (plain numbers) of the first bad one."""
    bad = np.asarray(bad)
    if bad.any():
        first = (np.broadcast_to(value, bad.shape).ravel()[bad.argmax()] for value in values)
        raise ValueError(message.format(*(f"{value:.6g}" for value in first)))


def _lean(eccentricity):
    """Mean of (1 + eccentricity cos(angle))^3: how much more a gap lets through than a centred one."""
    return 1 + 1.5 * eccentricity**2


def _path(radial_clearance, pressure):
    """Mean free path of air over the gap (Knudsen number)."""
    return MEAN_FREE_PATH / (pressure * radial_clearance)


@units("m^3/s", diameter="m > 0", radial_clearance="m > 0", length="m > 0", pressure_drop="Pa >= 0",
       viscosity="Pa*s > 0", eccentricity=">= 0 <= 1")
def leak(diameter, radial_clearance, length, pressure_drop, viscosity, eccentricity=0):
    """Liquid that leaks past a piston at rest.

    length: of piston in the bore. pressure_drop: along it. viscosity: of the liquid. All numbers or arrays.
    Result: m^3/s.

    Formula: pi diameter radial_clearance^3 pressure_drop (1 + 1.5 eccentricity^2) / (12 viscosity length).
    Range: laminar, Reynolds number (`reynolds`) up to 2000, gap long against its width; radial_clearance up to 0.2
    radii (warns beyond). A moving piston carries pi diameter radial_clearance speed / 2 along as well. For a tapered
    gap give `tapered_gap`, for an out-of-round bore multiply by `out_of_round_factor`.
    Source: R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, example 8.1; the factor for eccentricity from
    memory, believed to be in H. E. Merritt, Hydraulic Control Systems (1967), and F. M. White, Viscous Fluid Flow.
    """
    warn_outside(2 * radial_clearance / diameter, *_NARROW)
    return np.pi * diameter * radial_clearance**3 * pressure_drop * _lean(eccentricity) / (12 * viscosity * length)


@units("m^3/s", diameter="m > 0", radial_clearance="m > 0", length="m > 0", high="Pa > 0", low="Pa > 0",
       viscosity="Pa*s > 0", eccentricity=">= 0 <= 1")
def gas_leak(diameter, radial_clearance, length, high, low, viscosity, eccentricity=0):
    """Gas that leaks past a dry piston at rest, as the volume it takes up at the low side.

    length: of piston in the bore. high, low: absolute pressures on its two sides. viscosity: of the gas (for air
    `air_viscosity`). All numbers or arrays. Result: m^3/s at the pressure `low`.

    Formula: pi diameter radial_clearance^3 (high^2 - low^2) (1 + 1.5 eccentricity^2) / (24 viscosity length low).
    Range: as `leak`; ideal gas at the temperature of the metal. In gaps so fine that gas slips along the wall the leak
    is 1 + 6 paths / gap times this; warns where the mean free path of air exceeds 0.05 gaps (below 1.3 um at
    atmospheric pressure).
    Raises ValueError where high is below low.
    Source: the slot flow of `leak` at each place, with the density of an ideal gas; slip from memory, in textbooks of
    vacuum technique.
    """
    _refuse(high < low, "high {} kPa is below low {} kPa: give the higher of the two pressures as high",
            high / 1e3, low / 1e3)
    warn_outside(2 * radial_clearance / diameter, *_NARROW)
    warn_outside(_path(radial_clearance, (high + low) / 2), *_CLINGING)
    return (np.pi * diameter * radial_clearance**3 * (high**2 - low**2) * _lean(eccentricity)
            / (24 * viscosity * length * low))


def _fall(start, end, ambient):
    """Rise or fall of the pressure, as a number: artanh(end / ambient) - artanh(start / ambient) of a vacuum.

    In this form it also holds above ambient pressure. Refuses an end that the leak never brings.
    """
    short = np.where(start < ambient, (start <= end) & (end < ambient), (ambient < end) & (end <= start))
    _refuse(~short, "end {} kPa must lie between start {} kPa and ambient {} kPa, short of ambient: a leak brings the "
            "pressure towards ambient and never quite there", end / 1e3, start / 1e3, ambient / 1e3)
    return np.log((ambient + end) * (ambient - start) / ((ambient - end) * (ambient + start))) / 2


@units("s", volume="m^3 > 0", diameter="m > 0", radial_clearance="m > 0", length="m > 0", viscosity="Pa*s > 0",
       start="Pa >= 0", end="Pa > 0", ambient="Pa > 0", eccentricity=">= 0 <= 1")
def hold_time(volume, diameter, radial_clearance, length, viscosity, start, end, ambient, eccentricity=0):
    """Time in which the gas in a closed volume goes from one pressure to another, leaking past a dry piston held still.

    volume: of the closed space (`stroke_volume` and what lies beyond it). length: of piston in the bore. viscosity: of
    the gas. start, end, ambient: absolute pressures; a vacuum starts below ambient and rises, a pressure starts above
    and falls. All numbers or arrays. Result: s.

    Formula: 24 viscosity length volume / (pi diameter radial_clearance^3 (1 + 1.5 eccentricity^2) ambient)
    (artanh(end / ambient) - artanh(start / ambient)); arcoth in place of artanh above ambient.
    Range: as `gas_leak`; all other joints tight. An oiled gap holds by `capillary_hold` and `drain_time` first.
    Raises ValueError where end does not lie between start and ambient, and where it is ambient itself.

    >>> import kit
    >>> air = kit.pistons.air_viscosity(temperature="20 degC")
    >>> held = kit.pistons.hold_time(volume="6 cm^3", diameter="16 mm", radial_clearance="10 um", length="30 mm",
    ...                              viscosity=air, start="85 kPa", end="92 kPa", ambient="101.325 kPa")
    >>> kit.units.show(held)
    '4.59 s'

    Source: integral of `gas_leak` into a volume of ideal gas at constant temperature; no published source for it.
    """
    fall = _fall(start, end, ambient)
    warn_outside(2 * radial_clearance / diameter, *_NARROW)
    warn_outside(_path(radial_clearance, (start + ambient) / 2), *_CLINGING)
    return (24 * viscosity * length * volume * fall
            / (np.pi * diameter * radial_clearance**3 * _lean(eccentricity) * ambient))


@units("um", volume="m^3 > 0", diameter="m > 0", length="m > 0", viscosity="Pa*s > 0", start="Pa >= 0", end="Pa > 0",
       ambient="Pa > 0", time="s > 0", eccentricity=">= 0 <= 1")
def clearance_for_hold(volume, diameter, length, viscosity, start, end, ambient, time, eccentricity=0):
    """Radial clearance with which a dry piston holds as long as wanted: the inverse of `hold_time`.

    time: that it takes from start to end (number or array); the other arguments, the range and the errors are those of
    `hold_time`. Result: um.

    Formula: the cube root of 24 viscosity length volume (artanh(end / ambient) - artanh(start / ambient)) /
    (pi diameter (1 + 1.5 eccentricity^2) ambient time).
    """
    gap = (24 * viscosity * length * volume * _fall(start, end, ambient)
           / (np.pi * diameter * _lean(eccentricity) * ambient * time))**(1 / 3)
    warn_outside(2 * gap / diameter, *_NARROW)
    warn_outside(_path(gap, (start + ambient) / 2), *_CLINGING)
    return gap * 1e6


@units("Pa", surface_tension="N/m > 0", radial_clearance="m > 0", contact_angle="deg >= 0 <= 90",
       eccentricity=">= 0 <= 1")
def capillary_hold(surface_tension, radial_clearance, contact_angle="0 deg", eccentricity=0):
    """Greatest pressure drop of gas that a gap filled with liquid holds back for good.

    surface_tension: of the liquid against the gas. contact_angle: of the liquid on the metal, 0 where it wets, about 0
    to 20 deg for oil on metal (from memory). All numbers or arrays. Result: Pa.

    Formula: 2 surface_tension cos(contact_angle) / (radial_clearance (1 + eccentricity)): the widest place gives way
    first.
    Range: gap filled all round and liquid not lost otherwise; weight of the liquid left out. A scratch along the bore
    is a wider place.
    Source: P. S. de Laplace's law of the capillary pressure for a meniscus between two plates; in every textbook of
    fluid mechanics.
    """
    return 2 * surface_tension * np.cos(np.radians(contact_angle)) / (radial_clearance * (1 + eccentricity))


@units("s", radial_clearance="m > 0", length="m > 0", viscosity="Pa*s > 0", pressure_drop="Pa >= 0",
       surface_tension="N/m > 0", contact_angle="deg >= 0 <= 90", eccentricity=">= 0 <= 1")
def drain_time(radial_clearance, length, viscosity, pressure_drop, surface_tension, contact_angle="0 deg",
               eccentricity=0):
    """Time in which gas drives the oil out of an oiled gap and breaks through; infinite where capillarity holds it.

    length: of the gap that is filled with oil. viscosity, surface_tension, contact_angle: of the oil, as in
    `capillary_hold`. pressure_drop: across the piston. All numbers or arrays. Result: s. Then the gap leaks as a dry
    one: add `hold_time`, so that an oiled gap never holds for less time than a dry one.

    Formula: 6 viscosity length^2 / (gap^2 (pressure_drop - hold)), with gap = radial_clearance (1 + eccentricity), the
    widest place, and hold = `capillary_hold`. A plug of oil of length x moves at the speed of slot flow,
    gap^2 (pressure_drop - hold) / (12 viscosity x); dx/dt = -speed, from x = length to 0, gives the time.
    Range: steady pressure drop, oil not fed anew. The gas leaves a film of oil on both walls, so that it breaks through
    in down to half of this time, and the gap then leaks less than a dry one of its size.
    Source: slot flow as in `leak`; no published source for the piston.
    """
    gap = radial_clearance * (1 + eccentricity)
    driving = pressure_drop - 2 * surface_tension * np.cos(np.radians(contact_angle)) / gap
    moving = driving > 0
    return np.where(moving, 6 * viscosity * length**2 / (gap**2 * np.where(moving, driving, 1)), np.inf)[()]


@units("um", clearance_1="um > 0", clearance_2="um > 0")
def tapered_gap(clearance_1, clearance_2):
    """Even radial clearance that leaks as much as one that goes straight from one value to another along the piston.

    clearance_1, clearance_2: radial, at the two ends, either way round (numbers or arrays). Result: um, to give as
    radial_clearance to `leak`, `gas_leak` and `hold_time`.

    Formula: the cube root of 2 c1^2 c2^2 / (c1 + c2), that is of the harmonic mean of c^3 over the length.
    Range: as `leak`, centred; taper slight against the length. A worn or bell-mouthed end counts little: the narrow end
    decides. A gap that widens with the flow pushes the piston onto the bore.
    Source: slot flow as in `leak`, pressure drops added up; from memory, in textbooks of hydraulics and lubrication.
    """
    return (2 * clearance_1**2 * clearance_2**2 / (clearance_1 + clearance_2))**(1 / 3)


@units("", peak_to_valley="um >= 0", radial_clearance="um > 0")
def out_of_round_factor(peak_to_valley, radial_clearance):
    """How much more leaks past a round piston in the middle of a lobed bore than in a round one of the same mean size.

    peak_to_valley: of the bore, radial, as `gauging` gives the roundness. radial_clearance: mean. Numbers or arrays.
    Result: number from 1 to 2.5, to multiply `leak` and `gas_leak` by, and to divide `hold_time` by.

    Formula: 1 + 1.5 (peak_to_valley / (2 radial_clearance))^2, the mean of the cube of a gap that varies as a cosine,
    whatever the number of lobes.
    Range: bore and piston do not touch, peak_to_valley up to twice the radial clearance. Lobes and an eccentricity
    together add up: 1 + 1.5 (lobes)^2 + 1.5 eccentricity^2 from three lobes on.
    Raises ValueError where the lobes would touch the piston.
    Source: the cubic law of `leak`; no published source for lobes.
    """
    _refuse(peak_to_valley > 2 * radial_clearance, "peak_to_valley {} um is more than twice radial_clearance {} um: "
            "the piston would not go in; give the mean clearance of the lobed bore", peak_to_valley, radial_clearance)
    return 1 + 1.5 * (peak_to_valley / (2 * radial_clearance))**2


@units("", flow="m^3/s >= 0", diameter="m > 0", density="kg/m^3 > 0", viscosity="Pa*s > 0")
def reynolds(flow, diameter, density, viscosity):
    """Reynolds number of a leak, on twice the gap: whether `leak`, `gas_leak` and `hold_time` hold.

    flow: volume a second, with the density where it was counted (for `gas_leak` the low side). All numbers or arrays.
    Result: number.

    Formula: 2 density flow / (pi diameter viscosity), whatever the gap.
    Range: laminar up to 2000; warns beyond, where the true leak is smaller.
    Source: in every textbook of fluid mechanics, the width counted as twice the gap (hydraulic diameter).
    """
    value = 2 * density * flow / (np.pi * diameter * viscosity)
    warn_outside(value, 0, 2000, "",
                 "the leak's Reynolds number is {}; laminar flow needs {}, and the true leak is smaller here")
    return value


@units("cm^3", diameter="cm > 0", piston_length="cm > 0", bore_length="cm > 0")
def stroke_volume(diameter, piston_length, bore_length):
    """Greatest volume that a plunger draws, one way, while its whole length stays in the bore.

    diameter: of the bore. piston_length, bore_length: of the fitting parts. All numbers or arrays. Result: cm^3.

    Formula: pi / 4 diameter^2 (bore_length - piston_length).
    Raises ValueError for a piston longer than its bore.
    Source: geometry.
    """
    _refuse(piston_length > bore_length, "piston_length {} mm is longer than bore_length {} mm: no stroke is left; "
            "shorten the piston or lengthen the bore", 10 * piston_length, 10 * bore_length)
    return np.pi / 4 * diameter**2 * (bore_length - piston_length)


@units("N", viscosity="Pa*s >= 0", speed="m/s >= 0", diameter="m > 0", radial_clearance="m > 0", length="m > 0",
       eccentricity=">= 0 < 1")
def film_drag(viscosity, speed, diameter, radial_clearance, length, eccentricity=0):
    """Drag of the oil film on a piston that slides along its bore.

    speed: along the axis. length: of film. All numbers or arrays; eccentricity below 1, for a piston that lies on the
    bore rubs (`push_to_slide`). Result: N.

    Formula: viscosity pi diameter length speed / (radial_clearance sqrt(1 - eccentricity^2)).
    Range: full film, thin against the radius. The oil that a closed piston must press through its own gap is apart: the
    pressure it takes acts on the face.
    Source: Khan, Fluid Mechanics, example 1.6, p. 19 (concentric); the factor for eccentricity is the mean of
    1 / (1 + eccentricity cos(angle)).
    """
    return viscosity * np.pi * diameter * length * speed / (radial_clearance * np.sqrt(1 - eccentricity**2))


@units("N", friction=">= 0", side_load="N >= 0", length="mm > 0", arm="mm >= 0", axial_load="N >= 0")
def push_to_slide(friction, side_load, length, arm="0 mm", axial_load="0 N"):
    """Push that starts or keeps a piston sliding; infinite where it jams.

    friction: coefficient, dry or boundary. side_load: square to the axis, as the weight of a piston that lies. length:
    of piston in the bore. arm: distance from the axis at which the push acts, parallel to it. axial_load: all that
    stands against the push along the axis: `film_drag`, weight, pressure drop times face. All numbers or arrays.
    Result: N.

    Formula: (friction side_load + axial_load) / (1 - 2 friction arm / length); infinite from arm = length /
    (2 friction) on. A push F at the arm cocks the piston, whose two ends press on the bore with F arm / length each.
    Range: clearance small against the length, one coefficient everywhere. Rest raises the friction by 1.1 to 1.3 (from
    memory).
    Source: statics; the jamming arm as in F. P. Beer and E. R. Johnston, Vector Mechanics for Engineers: Statics,
    example 8.3.
    """
    share = 1 - 2 * friction * arm / length
    slides = share > 0
    return np.where(slides, (friction * side_load + axial_load) / np.where(slides, share, 1), np.inf)[()]


@units("N", pressure="Pa >= 0", diameter="m > 0", width="m > 0", friction=">= 0")
def leather_push(pressure, diameter, width, friction):
    """Push that a leather or soft packing takes to slide in its bore: the rival of a lapped piston.

    pressure: of the packing on the bore. A cup leather is pressed on by the pressure drop itself, a wound packing by
    its own tightness on top. width: of packing that bears. friction: leather on metal 0.4 to 0.6 dry, about 0.2 greased
    (common practice). All numbers or arrays. Result: N.

    Formula: friction pressure pi diameter width.
    Range: even pressure all round. Its leak is that of `packing_gap` over `width`.
    Source: statics; that the packing presses with the pressure drop is an assumption.
    """
    return friction * pressure * np.pi * diameter * width


@units("um", roughness="um > 0", share="> 0 <= 1")
def packing_gap(roughness, share=0.5):
    """Radial clearance left by a soft packing that follows the bore but not its roughness.

    roughness: Rz of the bore. share: of it that stays open under the packing. Numbers or arrays. Result: um, to give as
    radial_clearance to `leak`, `gas_leak` and `hold_time`, with the packing's width as length.

    Formula: share roughness.
    Range: soaked, whole packing, 0.2 to 0.8; scratches along the bore stay more open than turning marks round it.
    Source: an assumption of this kit; first to be measured.
    """
    return share * roughness


@units("Pa*s", temperature="degC > -273.15")
def air_viscosity(temperature):
    """Viscosity of air, whatever its pressure.

    temperature (number or array). Result: Pa*s.

    Formula: 1.458e-6 T^1.5 / (T + 110.4), T in K.
    Range: -100 to 200 degC, within 0.5 % (range and spread are judgement); warns beyond.
    Source: US Standard Atmosphere, 1976, equation 51 (from memory), after W. Sutherland (1893).
    """
    warn_outside(temperature, -100, 200, "°C", "the temperature is {}; the formula for air holds for {}")
    kelvin = temperature + 273.15
    return 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)


@units("Pa*s", temperature="degC > -273.15")
def water_viscosity(temperature):
    """Viscosity of water at atmospheric pressure.

    temperature (number or array). Result: Pa*s.

    Formula, in uPa s with t = T / 300 K: 280.68 t^-1.9 + 511.45 t^-7.7 + 61.131 t^-19.6 + 0.45903 t^-40.
    Range: -20 (undercooled) to 110 degC, 1 % (warns beyond).
    Source: J. Pátek, J. Hrubý, J. Klomfar, M. Součková and A. H. Harvey, Reference correlations for thermophysical
    properties of liquid water at 0.1 MPa, Journal of Physical and Chemical Reference Data 38 (2009) 21.
    """
    warn_outside(temperature, -20, 110, "°C", "the temperature is {}; the formula for water holds for {}")
    t = (temperature + 273.15) / 300
    return 1e-6 * (280.68 * t**-1.9 + 511.45 * t**-7.7 + 61.131 * t**-19.6 + 0.45903 * t**-40)
