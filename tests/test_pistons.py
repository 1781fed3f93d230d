"""kit.pistons: other routes to the same numbers, scaling laws, limits and refusals."""
import warnings

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize

from kit import pistons
from kit.units import OutOfRange, Q

PISTON = {"diameter": "20 mm", "radial_clearance": "20 um", "length": "25 mm"}
OIL = {"viscosity": "84 mPa*s", "surface_tension": "32 mN/m"}
LEAK = dict(**PISTON, pressure_drop="10 kPa", viscosity="84 mPa*s")
GAS = dict(**PISTON, high="101.325 kPa", low="80 kPa", viscosity="18.2 uPa*s")
HOLD = dict(**PISTON, volume="20 cm^3", viscosity="18.2 uPa*s", start="60 kPa", end="80 kPa", ambient="101.325 kPa")
WANTED = {key: value for key, value in HOLD.items() if key != "radial_clearance"}
DRAIN = {"radial_clearance": "20 um", "length": "25 mm", "pressure_drop": "20 kPa", **OIL}
PUSH = {"friction": 0.2, "side_load": "3 N", "length": "25 mm"}
factor = st.floats(0.1, 10)
lean = st.floats(0, 1)


def quietly(call, **arguments):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OutOfRange)
        return call(**arguments).m


# Other routes

@pytest.mark.parametrize("eccentricity", [0, 0.5, 0.9, 1])
def test_leak_added_up_round_an_eccentric_gap(eccentricity):
    """Each strip of the gap is a slot of its own width c (1 + e cos(angle))."""
    def strip(angle):
        return 0.01 * (20e-6 * (1 + eccentricity * np.cos(angle)))**3 * 10e3 / (12 * 0.084 * 0.025)
    want = integrate.quad(strip, 0, 2 * np.pi)[0]
    assert pistons.leak(**LEAK, eccentricity=eccentricity).m == pytest.approx(want, rel=1e-9)


def eccentric_annulus(inner, outer, offset, terms=400):
    """Volume flow (pressure gradient and viscosity 1) of the exact annulus: N. A. V. Piercy, M. S. Hooper and H. F.
    Winny, Philosophical Magazine 15 (1933) 647; from memory, as in F. M. White, Viscous Fluid Flow."""
    f = (outer**2 - inner**2 + offset**2) / (2 * offset)
    m = np.sqrt(f**2 - outer**2)
    a, b = np.log((f + m) / (f - m)) / 2, np.log((f - offset + m) / (f - offset - m)) / 2
    n = np.arange(1, terms)
    series = np.sum(n * np.exp(-n * (b + a)) / np.sinh(n * (b - a)))
    return np.pi / 8 * (outer**4 - inner**4 - 4 * (offset * m)**2 / (b - a) - 8 * (offset * m)**2 * series)


@pytest.mark.parametrize("eccentricity", [0.3, 0.6, 0.9])
def test_leak_against_the_exact_eccentric_annulus(eccentricity):
    exact = eccentric_annulus(inner=10, outer=10.2, offset=0.2 * eccentricity)   # mm^4
    got = pistons.leak(diameter="20.2 mm", radial_clearance="0.2 mm", length="1 m", pressure_drop="1 Pa",
                       viscosity="1 Pa*s", eccentricity=eccentricity).m_as("mm^3/s")
    assert got == pytest.approx(exact * 1e-3, rel=0.01)   # 1 Pa/m over 1 Pa s is 1e-3 /(mm s)


@pytest.mark.parametrize("ratio, error", [(0.02, 1e-5), (0.1, 2e-4), (0.2, 7e-4)])
def test_leak_against_the_exact_annulus_up_to_the_limit_of_range(ratio, error):
    """Concentric, gap over mean radius from 0.02 to 0.2; mean diameter."""
    inner, outer = 10 - 5 * ratio, 10 + 5 * ratio
    exact = np.pi / 8 * (outer**4 - inner**4 - (outer**2 - inner**2)**2 / np.log(outer / inner))
    got = pistons.leak(diameter="20 mm", radial_clearance=Q(outer - inner, "mm"), length="1 m", pressure_drop="1 Pa",
                       viscosity="1 Pa*s").m_as("mm^3/s")
    assert got == pytest.approx(exact * 1e-3, rel=error)


def test_gas_leak_step_by_step_along_the_piston():
    """The same mass passes each of a thousand slots in a row, at the density it has there: p^2 falls evenly."""
    p, steps = np.sqrt(np.linspace(101325.0**2, 80e3**2, 1001)), 1000
    at_low = [pistons.leak(**PISTON | {"length": Q(25 / steps, "mm")}, pressure_drop=Q(a - b, "Pa"),
                           viscosity="18.2 uPa*s").m * (a + b) / 2 / 80e3
              for a, b in zip(p[:-1:100], p[1::100], strict=True)]
    assert pistons.gas_leak(**GAS).m == pytest.approx(np.mean(at_low), rel=1e-6)
    assert np.ptp(at_low) < 1e-6 * np.mean(at_low)


@pytest.mark.parametrize("start, end, eccentricity", [("0 kPa", "50 kPa", 0), ("60 kPa", "80 kPa", 0),
                                                      ("95 kPa", "101 kPa", 1), ("300 kPa", "150 kPa", 0.5)])
def test_hold_time_from_the_differential_equation(start, end, eccentricity):
    """volume dp/dt = what leaks in (or out), as volume at the pressure inside, times that pressure."""
    ambient, stop = 101325.0, Q(end).m_as("Pa")
    gap = {key: value for key, value in GAS.items() if key not in ("high", "low")} | {"eccentricity": eccentricity}

    def change(t, p):
        inside, outside = Q(max(p[0], 1.0), "Pa"), Q(ambient, "Pa")
        low = min(inside, outside)
        moved = pistons.gas_leak(**gap, high=max(inside, outside), low=low).m * low.m   # Pa m3/s
        return [np.copysign(moved, ambient - p[0]) / 20e-6]

    def arrived(t, p):
        return p[0] - stop
    arrived.terminal = True
    run = integrate.solve_ivp(change, (0, 1e4), [Q(start).m_as("Pa")], events=arrived, rtol=1e-9, atol=1e-3)
    got = pistons.hold_time(**HOLD | {"start": start, "end": end, "eccentricity": eccentricity})
    assert got.m_as("s") == pytest.approx(run.t_events[0][0], rel=1e-5)


def test_clearance_for_hold_by_search():
    want = optimize.brentq(lambda c: pistons.hold_time(**HOLD | {"radial_clearance": Q(c, "um")}).m_as("s") - 60, 2, 50)
    assert pistons.clearance_for_hold(**WANTED, time="1 min").m_as("um") == pytest.approx(want)


@pytest.mark.parametrize("eccentricity", [0, 0.7])
def test_drain_time_from_the_differential_equation(eccentricity):
    """A plug of oil in the widest place, shorter and faster as it goes."""
    gap = 20e-6 * (1 + eccentricity)
    driving = 20e3 - 2 * 0.032 / gap

    def change(t, x):
        return [-gap**2 * driving / (12 * 0.084 * x[0])]

    def out(t, x):
        return x[0] - 1e-5
    out.terminal = True
    run = integrate.solve_ivp(change, (0, 1e4), [0.025], events=out, rtol=1e-10, atol=1e-12)
    got = pistons.drain_time(**DRAIN, eccentricity=eccentricity).m_as("s")
    assert got == pytest.approx(run.t_events[0][0], rel=1e-5)


def test_capillary_hold_from_the_energy_of_wetting():
    """Work of the pressure over a step of the meniscus against the metal that it wets on both sides, at 30 deg."""
    step, width, gap = 1e-6, 1.0, 20e-6
    work = 2 * step * width * 0.032 * np.cos(np.pi / 6)
    got = pistons.capillary_hold(surface_tension="32 mN/m", radial_clearance="20 um", contact_angle="30 deg")
    assert got.m_as("Pa") * gap * width * step == pytest.approx(work)


def test_drain_time_holds_at_the_capillary_hold():
    hold = pistons.capillary_hold(surface_tension="32 mN/m", radial_clearance="20 um", eccentricity=0.4,
                                  contact_angle="15 deg")
    at, above, far = (pistons.drain_time(**DRAIN | {"pressure_drop": hold * f}, eccentricity=0.4,
                                         contact_angle="15 deg") for f in (0.999999, 1.000001, 1.001))
    assert at.m == np.inf and np.isfinite(above.m) and above > 900 * far   # rises without a jump


@given(st.floats(1, 100), st.floats(1, 100))
def test_tapered_gap_from_the_pressure_along_it(first, last):
    resistance = integrate.quad(lambda x: (first + (last - first) * x)**-3, 0, 1)[0]
    got = pistons.tapered_gap(clearance_1=Q(first, "um"), clearance_2=Q(last, "um")).m_as("um")
    assert got == pytest.approx(resistance**(-1 / 3), rel=1e-6)
    assert min(first, last) * (1 - 1e-9) <= got <= (first + last) / 2 * (1 + 1e-9)   # the narrow end decides


@pytest.mark.parametrize("lobes, eccentricity", [(2, 0), (3, 0), (7, 0), (3, 0.4), (5, 0.4)])
def test_out_of_round_factor_added_up_round_the_gap(lobes, eccentricity):
    """Lobes of 12 um peak to valley in a mean gap of 20 um; with an eccentricity the two squares add."""
    def cube(angle):
        return (1 + 0.3 * np.cos(lobes * angle + 0.5) + eccentricity * np.cos(angle))**3
    mean = integrate.quad(cube, 0, 2 * np.pi)[0] / (2 * np.pi)
    got = pistons.out_of_round_factor(peak_to_valley="12 um", radial_clearance="20 um").m
    assert got + 1.5 * eccentricity**2 == pytest.approx(mean, rel=1e-9)


def test_film_drag_added_up_round_an_eccentric_gap():
    def strip(angle):
        return 0.084 * 0.1 * 0.01 * 0.025 / (20e-6 * (1 + 0.6 * np.cos(angle)))
    got = pistons.film_drag(**PISTON, viscosity="84 mPa*s", speed="0.1 m/s", eccentricity=0.6)
    assert got.m_as("N") == pytest.approx(integrate.quad(strip, 0, 2 * np.pi)[0])


def test_push_to_slide_by_balance_of_forces():
    """Push F at 20 mm from the axis: both ends press with N, F 20 mm = N 25 mm and rub; so does the load; 4 N more."""
    push = optimize.brentq(lambda f: f - 0.2 * (2 * f * 20 / 25 + 3) - 4, 0, 1000)
    got = pistons.push_to_slide(**PUSH, arm="20 mm", axial_load="4 N")
    assert got.m_as("N") == pytest.approx(push)


def test_stroke_volume_filled_slice_by_slice():
    got = pistons.stroke_volume(diameter="20 mm", piston_length="25 mm", bore_length="80 mm")
    assert got.m_as("mm^3") == pytest.approx(55 * np.pi * 100)


def test_leather_push_and_packing_gap():
    """A cup leather 5 mm wide under 50 kPa on 20 mm: 314 mm2 pressed with 15.7 N; half of 8 um stays open."""
    push = pistons.leather_push(pressure="50 kPa", diameter="20 mm", width="5 mm", friction=0.2)
    assert push.m_as("N") == pytest.approx(0.2 * 0.05 * np.pi * 20 * 5)
    assert pistons.packing_gap(roughness="8 um").m_as("um") == pytest.approx(4)
    assert pistons.packing_gap(roughness="8 um", share=0.2).m_as("um") == pytest.approx(1.6)


# Scaling laws and limits

@given(factor, lean)
def test_leak_goes_with_the_cube_of_the_clearance_and_the_first_power_of_the_rest(f, e):
    base = pistons.leak(**LEAK, eccentricity=e).m
    for name, unit, value, power in (("radial_clearance", "um", 20, 3), ("diameter", "mm", 20, 1),
                                     ("length", "mm", 25, -1), ("pressure_drop", "kPa", 10, 1),
                                     ("viscosity", "mPa*s", 84, -1)):
        changed = LEAK | {name: Q(value * f, unit)}
        assert pistons.leak(**changed, eccentricity=e).m == pytest.approx(base * f**power)


@pytest.mark.parametrize("call, arguments", [(pistons.leak, LEAK), (pistons.gas_leak, GAS)])
def test_two_and_a_half_times_as_much_leaks_when_the_piston_lies_on_the_bore(call, arguments):
    assert (call(**arguments, eccentricity=1) / call(**arguments)).m == pytest.approx(2.5)
    assert (call(**arguments, eccentricity=0.5) / call(**arguments)).m == pytest.approx(1.375)


@given(st.floats(-5, -2))
def test_gas_leaks_like_a_liquid_where_the_drop_is_small(exponent):
    drop = 101325 * 10**exponent
    gas = pistons.gas_leak(**GAS | {"high": Q(101325 + drop, "Pa"), "low": "101325 Pa"})
    liquid = pistons.leak(**LEAK | {"pressure_drop": Q(drop, "Pa"), "viscosity": "18.2 uPa*s"})
    assert (gas / liquid).m == pytest.approx(1 + drop / 2 / 101325, rel=1e-9)


@given(st.floats(0.5, 40), st.floats(0, 0.98), st.floats(0.01, 0.99), lean)
def test_clearance_for_hold_undoes_hold_time(gap, start, along, e):
    pressures = {"start": Q(start * 101.325, "kPa"), "end": Q((start + (1 - start) * along) * 101.325, "kPa")}
    time = quietly(pistons.hold_time, **HOLD | pressures | {"radial_clearance": Q(gap, "um"), "eccentricity": e})
    back = quietly(pistons.clearance_for_hold, **WANTED | pressures, time=Q(time, "s"), eccentricity=e)
    assert back == pytest.approx(gap, rel=1e-6)


@given(st.floats(0.2, 5))
def test_hold_time_goes_with_volume_and_against_the_cube_of_the_clearance(f):
    base = pistons.hold_time(**HOLD).m
    for name, unit, value, power in (("volume", "cm^3", 20, 1), ("length", "mm", 25, 1), ("diameter", "mm", 20, -1),
                                     ("viscosity", "uPa*s", 18.2, 1), ("radial_clearance", "um", 20, -3)):
        assert quietly(pistons.hold_time, **HOLD | {name: Q(value * f, unit)}) == pytest.approx(base * f**power)


def test_hold_times_add_up():
    """60 to 70 kPa and then 70 to 80 take as long as 60 to 80; a pressure falls likewise."""
    for start, middle, end in (("60 kPa", "70 kPa", "80 kPa"), ("200 kPa", "150 kPa", "110 kPa")):
        parts = [pistons.hold_time(**HOLD | {"start": a, "end": b}) for a, b in ((start, middle), (middle, end))]
        assert sum(parts).m == pytest.approx(pistons.hold_time(**HOLD | {"start": start, "end": end}).m)
    assert pistons.hold_time(**HOLD | {"start": "80 kPa"}).m == 0


def test_lapping_a_reamed_pair_raises_its_hold_by_a_large_factor():
    """From 30 um a side, reamed and turned, to 5 um, lapped: 216 times as long."""
    reamed, lapped = (pistons.hold_time(**HOLD | {"radial_clearance": c}) for c in ("30 um", "5 um"))
    assert (lapped / reamed).m == pytest.approx(216)


@given(factor)
def test_drain_time_goes_with_viscosity_and_the_square_of_the_length(f):
    base = pistons.drain_time(**DRAIN).m
    assert pistons.drain_time(**DRAIN | {"viscosity": Q(84 * f, "mPa*s")}).m == pytest.approx(base * f)
    assert pistons.drain_time(**DRAIN | {"length": Q(25 * f, "mm")}).m == pytest.approx(base * f**2)


@given(st.floats(1, 100), st.floats(0, 89), lean)
def test_capillary_hold_goes_against_the_widest_gap(gap, angle, e):
    base = pistons.capillary_hold(surface_tension="32 mN/m", radial_clearance="1 um").m
    got = pistons.capillary_hold(surface_tension="64 mN/m", radial_clearance=Q(gap, "um"),
                                 contact_angle=Q(angle, "deg"), eccentricity=e).m
    assert got == pytest.approx(2 * base * np.cos(np.radians(angle)) / (gap * (1 + e)))


def test_round_and_even_is_the_limit_of_lobed_and_tapered():
    assert pistons.out_of_round_factor(peak_to_valley="0 um", radial_clearance="20 um").m == 1
    assert pistons.out_of_round_factor(peak_to_valley="40 um", radial_clearance="20 um").m == pytest.approx(2.5)
    assert pistons.tapered_gap(clearance_1="20 um", clearance_2="20 um").m == pytest.approx(20)
    assert pistons.tapered_gap(clearance_1="5 um", clearance_2="40 um").m == pytest.approx(
        pistons.tapered_gap(clearance_1="40 um", clearance_2="5 um").m)


def test_a_push_along_the_axis_is_friction_alone():
    assert pistons.push_to_slide(**PUSH).m == pytest.approx(0.6)
    rising = pistons.push_to_slide(**PUSH, arm=Q([0, 20, 40, 60, 62.5, 70], "mm")).m
    assert (np.diff(rising[:4]) > 0).all() and (rising[4:] == np.inf).all()


def test_nothing_driven_nothing_leaks():
    assert pistons.leak(**LEAK | {"pressure_drop": "0 kPa"}).m == 0
    assert pistons.gas_leak(**GAS | {"high": "80 kPa"}).m == 0
    assert pistons.drain_time(**DRAIN | {"pressure_drop": "0 kPa"}).m == np.inf
    assert pistons.film_drag(**PISTON, viscosity="84 mPa*s", speed="0 m/s").m == 0
    assert pistons.stroke_volume(diameter="20 mm", piston_length="80 mm", bore_length="80 mm").m == 0


def test_units_do_not_matter():
    inches = {name: Q(value).to("inch") for name, value in PISTON.items()}
    leak = LEAK | inches | {"pressure_drop": Q("10 kPa").to("psi"), "viscosity": "84 centipoise"}
    assert pistons.leak(**leak).m == pytest.approx(pistons.leak(**LEAK).m)
    hold = HOLD | inches | {"start": "450.0369 mmHg", "volume": "0.02 liter", "ambient": "1 atm"}
    assert pistons.hold_time(**hold).m == pytest.approx(pistons.hold_time(**HOLD).m, rel=1e-6)
    for celsius, kelvin in (("20 degC", "293.15 K"), ("-10 degC", "263.15 K")):
        for viscosity in (pistons.air_viscosity, pistons.water_viscosity):
            assert viscosity(temperature=celsius).m == pytest.approx(viscosity(temperature=kelvin).m)


def test_arrays_broadcast_and_scalars_stay_scalars():
    both = pistons.hold_time(**HOLD | {"radial_clearance": Q([[5], [20]], "um"), "start": Q([0, 60, 70], "kPa")})
    assert both.shape == (2, 3)
    assert both[1, 1].m == pytest.approx(pistons.hold_time(**HOLD).m)
    for value in (pistons.leak(**LEAK), pistons.hold_time(**HOLD), pistons.drain_time(**DRAIN),
                  pistons.push_to_slide(**PUSH), pistons.clearance_for_hold(**WANTED, time="1 min")):
        assert np.ndim(value.m) == 0
    times = pistons.drain_time(**DRAIN | {"pressure_drop": Q([1, 20], "kPa")}).m
    assert times[0] == np.inf and times[1] == pytest.approx(pistons.drain_time(**DRAIN).m)


def test_warm_air_is_thicker_and_warm_water_thinner():
    degrees = Q(np.linspace(0, 60, 13), "degC")
    assert (np.diff(pistons.air_viscosity(temperature=degrees).m) > 0).all()
    assert (np.diff(pistons.water_viscosity(temperature=degrees).m) < 0).all()


# Range

@pytest.mark.parametrize("call, words", [
    (lambda: pistons.leak(**LEAK | {"radial_clearance": "2.1 mm"}), "radial clearance is 0.21 of the radius; .* at most 0.2$"),
    (lambda: pistons.gas_leak(**GAS | {"radial_clearance": "2.1 mm"}), "radial clearance is 0.21 of the radius; .* at most 0.2$"),
    (lambda: pistons.gas_leak(**GAS | {"radial_clearance": "1.4 um"}), "mean free path .* clings to the wall"),
    (lambda: pistons.hold_time(**HOLD | {"radial_clearance": "2.1 mm"}), "radial clearance is 0.21 of the radius; .* at most 0.2$"),
    (lambda: pistons.hold_time(**HOLD | {"radial_clearance": "1.6 um"}), "mean free path .* clings to the wall"),
    (lambda: pistons.clearance_for_hold(**WANTED, time="2 day"), "mean free path .* clings to the wall"),
    (lambda: pistons.clearance_for_hold(**WANTED, time="1 us"), "radial clearance is .* of the radius"),
    (lambda: pistons.reynolds(flow="40 cm^3/s", diameter="12 mm", density="1000 kg/m^3", viscosity="1 mPa*s"),
     "Reynolds number .* laminar"),
    (lambda: pistons.air_viscosity(temperature="220 degC"), "temperature is 220 °C; .* -100 to 200 °C"),
    (lambda: pistons.water_viscosity(temperature="115 degC"), "temperature is 115 °C; .* -20 to 110 °C"),
])
def test_out_of_range_warns_and_still_answers(call, words):
    with pytest.warns(OutOfRange, match=words):
        assert call().m > 0


def test_inside_the_range_nothing_is_said():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        pistons.leak(**LEAK | {"radial_clearance": "1.9 mm"})
        pistons.leak(**LEAK | {"radial_clearance": "0.1 um"})   # a liquid does not slip
        pistons.gas_leak(**GAS | {"radial_clearance": "1.5 um"})
        pistons.hold_time(**HOLD | {"radial_clearance": "1.7 um"})
        pistons.reynolds(flow="37 cm^3/s", diameter="12 mm", density="1000 kg/m^3", viscosity="1 mPa*s")


def test_gas_slips_from_one_mean_free_path_in_twenty_gaps_on():
    """66.3 nm at 1 atm (US Standard Atmosphere, 1976, from memory): 1.326 um there, twice that at half the pressure."""
    for pressure, gap in ((101.325, 1.326), (50.6625, 2.652)):
        said = []
        for near in (0.99, 1.01):
            with warnings.catch_warnings(record=True) as caught:
                warnings.simplefilter("always")
                pistons.gas_leak(**GAS | {"high": Q(pressure + 1e-3, "kPa"), "low": Q(pressure, "kPa"),
                                          "radial_clearance": Q(gap * near, "um")})
            said.append(len(caught))
        assert said == [1, 0]


# Refusals

@pytest.mark.parametrize("change, error, words", [
    ({"radial_clearance": "0 um"}, ValueError, "radial_clearance.*must be > 0"),
    ({"radial_clearance": "-5 um"}, ValueError, "radial_clearance.*must be > 0"),
    ({"radial_clearance": 20}, TypeError, "radial_clearance.*no unit"),
    ({"length": "0 mm"}, ValueError, "length.*must be > 0"),
    ({"pressure_drop": "-1 kPa"}, ValueError, "pressure_drop.*must be >= 0"),
    ({"viscosity": "84 mm^2/s"}, pint.DimensionalityError, "viscosity"),
    ({"eccentricity": 1.2}, ValueError, "eccentricity.*must be <= 1"),
    ({"eccentricity": "5 um"}, pint.DimensionalityError, "eccentricity.*pure number"),
    ({"diameter": Q(float("nan"), "mm")}, ValueError, "diameter: not a finite number"),
])
def test_leak_refuses(change, error, words):
    with pytest.raises(error, match=words):
        pistons.leak(**LEAK | change)


def test_high_pressure_is_the_higher():
    with pytest.raises(ValueError, match=r"^high 80 kPa is below low 101.325 kPa: give the higher .* as high$"):
        pistons.gas_leak(**GAS | {"high": "80 kPa", "low": "101.325 kPa"})
    with pytest.raises(ValueError, match="high 79 kPa is below low 80 kPa"):
        pistons.gas_leak(**GAS | {"high": Q([101, 79, 78], "kPa")})
    with pytest.raises(ValueError, match="low.*must be > 0"):
        pistons.gas_leak(**GAS | {"low": "0 kPa"})


@pytest.mark.parametrize("start, end", [("60 kPa", "50 kPa"), ("60 kPa", "101.325 kPa"), ("60 kPa", "110 kPa"),
                                        ("150 kPa", "160 kPa"), ("150 kPa", "101.325 kPa"), ("150 kPa", "90 kPa"),
                                        ("101.325 kPa", "101.325 kPa")])
def test_a_leak_only_goes_towards_ambient(start, end):
    words = f"end {Q(end).m:g} kPa must lie between start {Q(start).m:g} kPa and ambient 101.325 kPa, short of ambient"
    for call, more in ((pistons.hold_time, HOLD), (pistons.clearance_for_hold, WANTED | {"time": "1 min"})):
        with pytest.raises(ValueError, match=words) as caught:
            call(**more | {"start": start, "end": end})
        assert "\n" not in str(caught.value)


def test_a_hold_needs_a_volume():
    with pytest.raises(TypeError, match="hold_time: missing a required argument: 'volume'"):
        pistons.hold_time(**{key: value for key, value in HOLD.items() if key != "volume"})
    with pytest.raises(ValueError, match="volume.*must be > 0"):
        pistons.hold_time(**HOLD | {"volume": "0 cm^3"})


def test_a_piston_longer_than_its_bore_is_refused():
    with pytest.raises(ValueError, match="piston_length 60 mm is longer than bore_length 50 mm: no stroke is left"):
        pistons.stroke_volume(diameter="20 mm", piston_length="60 mm", bore_length="50 mm")
    with pytest.raises(ValueError, match="piston_length 90 mm"):
        pistons.stroke_volume(diameter="20 mm", piston_length=Q([20, 90], "mm"), bore_length="80 mm")


def test_lobes_that_touch_are_refused():
    with pytest.raises(ValueError, match="peak_to_valley 41 um is more than twice radial_clearance 20 um"):
        pistons.out_of_round_factor(peak_to_valley="41 um", radial_clearance="20 um")


@pytest.mark.parametrize("call, words", [
    (lambda: pistons.film_drag(**PISTON, viscosity="84 mPa*s", speed="0.1 m/s", eccentricity=1), "eccentricity"),
    (lambda: pistons.capillary_hold(surface_tension="32 mN/m", radial_clearance="20 um", contact_angle="100 deg"),
     "contact_angle"),
    (lambda: pistons.packing_gap(roughness="8 um", share=1.5), "share"),
    (lambda: pistons.packing_gap(roughness="8 um", share=0), "share"),
    (lambda: pistons.push_to_slide(**PUSH | {"friction": -0.1}), "friction"),
    (lambda: pistons.water_viscosity(temperature="-300 degC"), "temperature"),
])
def test_senseless_values_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
