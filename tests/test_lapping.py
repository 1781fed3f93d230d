"""kit.lapping: other routes to the same numbers, scaling laws, limits and refusals."""
import warnings

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from kit import lapping
from kit.units import OutOfRange, Q

WEAR = {"coefficient": 2e-3, "hardness": "100 HV"}
LAP = dict(**WEAR, pressure="20 kPa", speed="0.2 m/s")
POT = {"grain_density": "4000 kg/m^3", "fluid_density": "998 kg/m^3", "viscosity": "1 mPa*s"}
PAIR = {"shaft_coefficient": 1e-3, "shaft_hardness": "75 HV", "shaft_length": "30 mm",
            "bore_coefficient": 2e-3, "bore_hardness": "200 HV", "swept_length": "90 mm"}
factor = st.floats(0.01, 100)


# Other routes

def test_depth_rate_is_specific_wear_spread_over_the_area():
    """A block of 5 mm x 8 mm under 20 kPa for one minute at 0.2 m/s: volume worn over area is depth."""
    area, load, path = 5 * 8, 20e-3 * 5 * 8, 0.2 * 60   # mm2, N, m
    volume = lapping.specific_wear(**WEAR).m_as("mm^3/(N*m)") * load * path
    assert lapping.depth_rate(**LAP).m_as("mm/min") == pytest.approx(volume / area)


def test_hardness_number_is_kilograms_on_a_square_millimetre():
    hardness = Q(100 * 9.80665, "N/mm^2")
    want = lapping.specific_wear(coefficient=2e-3, hardness=hardness).m
    assert lapping.specific_wear(**WEAR).m == pytest.approx(want)
    assert lapping.specific_wear(coefficient=1, hardness="1 GPa").m_as("1/Pa") == pytest.approx(1e-9)


def test_settling_time_from_the_balance_of_forces():
    """Weight less buoyancy against Stokes drag 3 pi viscosity d v, solved by a root finder."""
    d, g = 10e-6, 9.80665
    speed = optimize.brentq(lambda v: np.pi / 6 * d**3 * (4000 - 998) * g - 3 * np.pi * 1e-3 * d * v, 1e-9, 1)
    assert lapping.settling_time(depth="100 mm", grain="10 um", **POT).m_as("s") == pytest.approx(0.1 / speed)


def test_specular_ratio_from_the_phase_of_each_height():
    """Mean of exp(i 4 pi z / wavelength) over normally distributed heights z, squared."""
    mean = integrate.quad(lambda z: np.cos(4 * np.pi * z / 550) * stats.norm.pdf(z, scale=20), -200, 200)[0]
    assert lapping.specular_ratio(roughness="20 nm", wavelength="550 nm").m == pytest.approx(mean**2)


def test_lap_torque_summed_over_strips():
    angles = np.linspace(0, 2 * np.pi, 1000, endpoint=False)
    strip = 20e3 * 0.006 * (angles[1] - angles[0]) * 0.030   # N on each
    torque = np.sum(0.5 * strip * np.hypot(0.006 * np.cos(angles), 0.006 * np.sin(angles)))
    got = lapping.lap_torque(friction=0.5, pressure="20 kPa", diameter="12 mm", length="30 mm")
    assert got.m_as("N*m") == pytest.approx(torque)


def test_hours_for_by_taking_off_minute_by_minute():
    diameter, minutes = 100.0, 0
    while diameter > 90 + 1e-9:   # 0.4 um/min on the radius, half of the time
        diameter -= 2 * 0.4 * 0.5
        minutes += 1
    assert lapping.hours_for(stock="10 um", rate="0.4 um/min", share=0.5).m_as("min") == pytest.approx(minutes)


def test_depths_of_a_pair_from_its_volumes():
    got = lapping.shares(**PAIR)
    shaft, bore = 1e-3 / 75, 2e-3 / 200   # relative volumes
    assert got.shaft_volume_share.m == pytest.approx(shaft / (shaft + bore))
    assert got.depth_ratio.m == pytest.approx((shaft / 30) / (bore / 90))
    assert got.shaft_depth_share.m == pytest.approx(got.depth_ratio.m / (1 + got.depth_ratio.m))


# Scaling laws and limits

@given(factor)
def test_wear_goes_with_coefficient_and_against_hardness(f):
    base = lapping.specific_wear(**WEAR).m
    assert lapping.specific_wear(coefficient=2e-3 * f, hardness="100 HV").m == pytest.approx(base * f)
    assert lapping.specific_wear(coefficient=2e-3, hardness=Q(100 * f, "HV")).m == pytest.approx(base / f)
    assert lapping.specific_wear(coefficient=2e-3 * f, hardness="100 HV", form="3H").m == pytest.approx(base * f / 3)


@given(st.floats(0.01, 8))
def test_depth_rate_goes_with_pressure_and_speed(f):
    base = lapping.depth_rate(**LAP).m
    assert lapping.depth_rate(**LAP | {"pressure": Q(20 * f, "kPa")}).m == pytest.approx(base * f)
    assert lapping.depth_rate(**LAP | {"speed": Q(0.2 * f, "m/s")}).m == pytest.approx(base * f)
    assert lapping.depth_rate(**LAP, form="3H").m == pytest.approx(base / 3)


def test_units_do_not_matter():
    inch = lapping.depth_rate(coefficient=2e-3, hardness=Q("100 HV").to("psi"), pressure=Q("20 kPa").to("psi"),
                              speed=Q("0.2 m/s").to("ft/min"))
    assert inch.m == pytest.approx(lapping.depth_rate(**LAP).m)
    pot = {"grain_density": Q("4 g/cm^3"), "fluid_density": Q("0.998 kg/liter"), "viscosity": Q("1 centipoise")}
    assert lapping.settling_time(depth=Q(0.1 / 0.0254, "inch"), grain="0.010 mm", **pot).m == pytest.approx(
        lapping.settling_time(depth="100 mm", grain="10 um", **POT).m)
    assert lapping.hours_for(stock="0.01 mm", rate="0.06 mm/h").m_as("min") == pytest.approx(5)


@given(st.floats(0, 5), st.floats(0, 5))
def test_hardness_factor_never_rises(a, b):
    low, high = sorted((a, b))
    soft, hard = lapping.hardness_factor(ratio=low).m, lapping.hardness_factor(ratio=high).m
    assert 0 < hard <= soft <= 1


@pytest.mark.parametrize("joint, step", [(0.8, 0.012), (1.25, 0.0015)])
def test_hardness_factor_is_continuous_to_its_printed_constants(joint, step):
    below, above = lapping.hardness_factor(ratio=[joint - 1e-9, joint + 1e-9]).m
    assert above == pytest.approx(below, rel=step)


@given(st.floats(1, 40), st.floats(10, 300), st.floats(2000, 5300))
def test_cut_size_undoes_settling_time(grain, depth, density):
    pot = POT | {"grain_density": Q(density, "kg/m^3"), "depth": Q(depth, "mm")}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OutOfRange)
        time = lapping.settling_time(grain=Q(grain, "um"), **pot)
        assert lapping.cut_size(time=time, **pot).m_as("um") == pytest.approx(grain)


member = st.tuples(st.floats(1e-5, 1e-1), st.floats(50, 500).map(lambda h: Q(h, "HV")),
                   st.floats(5, 200).map(lambda x: Q(x, "mm")))


@given(member, member)
def test_shares_of_the_two_members_add_up(shaft, bore):
    names = ("shaft_coefficient", "shaft_hardness", "shaft_length", "bore_coefficient", "bore_hardness", "swept_length")
    this, other = (lapping.shares(**dict(zip(names, p, strict=True))) for p in (shaft + bore, bore + shaft))
    assert this.shaft_volume_share.m + other.shaft_volume_share.m == pytest.approx(1)
    assert this.shaft_depth_share.m + other.shaft_depth_share.m == pytest.approx(1)
    assert this.depth_ratio.m * other.depth_ratio.m == pytest.approx(1)


def test_specular_ratio_at_its_ends():
    assert lapping.specular_ratio(roughness="0 nm", wavelength="550 nm").m == 1
    rising = lapping.specular_ratio(roughness=Q([5, 10, 20, 40], "nm"), wavelength="550 nm").m
    assert (np.diff(rising) < 0).all()


def test_nothing_pressed_nothing_worn():
    assert lapping.depth_rate(**LAP | {"pressure": "0 kPa"}).m == 0
    assert lapping.lap_torque(friction=0.5, pressure="0 kPa", diameter="12 mm", length="30 mm").m == 0
    assert lapping.hours_for(stock="0 um", rate="0.4 um/min").m == 0


def test_arrays_broadcast_and_scalars_stay_scalars():
    rate = lapping.depth_rate(coefficient=[[1e-3], [2e-3]], hardness=Q([75, 100, 200], "HV"), pressure="20 kPa",
                              speed="0.2 m/s")
    assert rate.shape == (2, 3)
    assert rate[1, 1].m == pytest.approx(lapping.depth_rate(**LAP).m)
    assert np.ndim(lapping.hardness_factor(ratio=0.5).m) == 0
    assert lapping.hardness_factor(ratio=[0.5, 1.5]).shape == (2,)


# Range

@pytest.mark.parametrize("call", [
    lambda: lapping.settling_time(depth="100 mm", grain="70 um", **POT),
    lambda: lapping.cut_size(depth="100 mm", time="10 s", **POT | {"grain_density": "5250 kg/m^3"}),
    lambda: lapping.specular_ratio(roughness="60 nm", wavelength="550 nm"),
    lambda: lapping.depth_rate(**LAP | {"pressure": "200 kPa"}),
])
def test_out_of_range_warns_and_still_answers(call):
    with pytest.warns(OutOfRange):
        assert call().m > 0


def test_inside_the_range_nothing_is_said():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        lapping.settling_time(depth="100 mm", grain="50 um", **POT)
        lapping.cut_size(depth="100 mm", time="60 s", **POT)
        lapping.specular_ratio(roughness="50 nm", wavelength="550 nm")
        lapping.depth_rate(**LAP)


@pytest.mark.parametrize("reynolds", [0.49, 0.51])
def test_stokes_law_ends_at_a_reynolds_number_of_one_half(reynolds):
    """Speed from the number itself: speed grain density / viscosity, in an oil."""
    oil = {"grain_density": "4000 kg/m^3", "fluid_density": "880 kg/m^3", "viscosity": "20 mPa*s"}
    grain = (18 * reynolds * 0.02**2 / (880 * 9.80665 * (4000 - 880)))**(1 / 3)   # m
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        time = lapping.settling_time(depth="100 mm", grain=Q(grain, "m"), **oil)
        lapping.cut_size(depth="100 mm", time=time, **oil)
    assert len(said) == (2 if reynolds > 0.5 else 0)


# Refusals

@pytest.mark.parametrize("change, error, words", [
    ({"hardness": 95}, TypeError, "hardness.*no unit"),
    ({"hardness": "95 mm"}, pint.DimensionalityError, "hardness"),
    ({"hardness": "0 HV"}, ValueError, "hardness.*must be > 0"),
    ({"coefficient": -1e-3}, ValueError, "coefficient.*must be >= 0"),
    ({"coefficient": float("nan")}, ValueError, "coefficient.*not a finite number"),
    ({"pressure": "-1 kPa"}, ValueError, "pressure"),
    ({"speed": "3 turn/s"}, pint.DimensionalityError, "speed"),
    ({"form": "3 H"}, ValueError, "form.*did you mean '3H'"),
    ({"form": 3}, ValueError, "form.*did you mean '3H'"),
])
def test_depth_rate_refuses(change, error, words):
    with pytest.raises(error, match=words):
        lapping.depth_rate(**LAP | change)


def test_a_floating_grain_is_refused():
    for density in ("998 kg/m^3", Q([4000, 900], "kg/m^3")):
        with pytest.raises(ValueError, match="grain_density must be above fluid_density"):
            lapping.settling_time(depth="100 mm", grain="10 um", **POT | {"grain_density": density})
        with pytest.raises(ValueError, match="grain_density must be above fluid_density"):
            lapping.cut_size(depth="100 mm", time="60 s", **POT | {"grain_density": density})


@pytest.mark.parametrize("share", [0, 1.2])
def test_a_share_lies_between_nothing_and_all(share):
    with pytest.raises(ValueError, match="share"):
        lapping.hours_for(stock="10 um", rate="0.4 um/min", share=share)
