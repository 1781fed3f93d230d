"""kit.lapping, abrasive from the workshop, clearance left, polish and corroded finds: other routes, laws, refusals."""
import warnings

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import lapping
from kit.units import OutOfRange, Q

WATER = {"fluid_density": "998 kg/m^3", "viscosity": "1 mPa*s"}
WASH = {"depth": "100 mm", "time": "4 min", "grain_density": "5250 kg/m^3", **WATER}
PAIR = {"grain": "15 um", "spent_share": 0.4, "bridging": 2, "shaft_roughness": "1 um", "bore_roughness": "1.5 um"}
factor = st.floats(0.1, 10)


# Other routes

def test_oxides_hold_all_the_iron_and_part_with_water():
    """56 g is 1.003 mol of iron: with two of oxygen and one of hydrogen each; calcining drives off half as much H2O."""
    made, moles = lapping.oxide_yields(iron="56 g"), 56 / 55.845
    assert made.rust.m_as("g") - 56 == pytest.approx(moles * (2 * 15.999 + 1.008))
    assert (made.rust - made.haematite).m_as("g") == pytest.approx(moles / 2 * (2 * 1.008 + 15.999))


@pytest.mark.parametrize("passes", [1, 2, 5])
def test_fines_left_grain_by_grain(passes):
    """Grains of 6 um start anywhere in the liquor; those that do not reach the bottom in the time are poured off."""
    speed = 0.1 / lapping.settling_time(depth="100 mm", grain="6 um", grain_density="5250 kg/m^3", **WATER).m_as("s")
    left, start = 1.0, (np.arange(100000) + 0.5) / 100000 * 0.1   # heights above the bottom, m
    for _ in range(passes):
        left *= np.mean(start <= speed * 240)
    got = lapping.fines_left(grain="6 um", passes=passes, **WASH)
    assert got.m == pytest.approx(left, abs=2e-5)


def test_grain_above_the_cut_size_stays_and_grain_below_is_washed_out():
    cut = lapping.cut_size(depth="100 mm", time="4 min", grain_density="5250 kg/m^3", **WATER)
    sizes = cut * [0.5, 0.999999, 1.000001, 2]
    once, often = (lapping.fines_left(grain=sizes, passes=n, **WASH).m for n in (1, 20))
    assert once == pytest.approx([0.25, 1, 1, 1], rel=1e-5)
    assert often[0] == pytest.approx(0.25**20) and often[2:] == pytest.approx([1, 1])


def test_reflectance_from_the_complex_amplitude():
    index = 0.527 + 2.765j
    assert lapping.reflectance(refractive_index=0.527, extinction=2.765).m == pytest.approx(
        abs((1 - index) / (1 + index))**2)


def test_a_mirror_is_reflectance_times_the_share_that_stays_in_the_beam():
    """Three wavelengths, as arrays: brass polished to 20 nm is redder still than brass."""
    smooth = lapping.reflectance(refractive_index=[0.686, 0.527, 0.450], extinction=[2.250, 2.765, 3.253])
    mirror = smooth * lapping.specular_ratio(roughness="20 nm", wavelength=Q([500, 550, 600], "nm"))
    assert mirror.shape == (3,)
    assert mirror[2] / mirror[0] > smooth[2] / smooth[0]


def test_clearance_left_by_stacking_grains():
    """Two spent grains of 6 um side by side across the gap on a diameter, and both roughnesses laid open."""
    assert lapping.clearance_left(**PAIR).m_as("um") == pytest.approx(6 + 6 + 1 + 1.5)


def test_polish_minutes_by_taking_off_minute_by_minute():
    left, minutes = 6.0, 0
    while left > 1e-9:   # 0.4 um/min, half of the time
        left -= 0.4 * 0.5
        minutes += 1
    assert lapping.polish_minutes(stock="6 um", rate="0.4 um/min", share=0.5).m_as("min") == pytest.approx(minutes)
    on_diameter = lapping.hours_for(stock="12 um", rate="0.4 um/min", share=0.5)
    assert on_diameter.m_as("min") == pytest.approx(minutes)


@pytest.mark.parametrize("form_error, stock", [("0 um", 12), ("5 um", 12), ("8 um", 12), ("20 um", 24)])
def test_the_greater_of_scratches_and_form_decides(form_error, stock):
    got = lapping.scratch_stock(previous_roughness="4 um", form_error=form_error)
    assert got.m_as("um") == pytest.approx(stock)
    assert lapping.scratch_stock(previous_roughness="4 um", factor=1, form_error=form_error).m_as("um") == (
        pytest.approx(4 + Q(form_error).m))


def test_a_find_corroded_forwards_and_back():
    """Bore 10, outside 12, in it a shaft of 9.96 mm; eaten 0.2 mm deep in the bore, 0.1 outside, 0.15 on the shaft."""
    bore, outside, shaft = 10 + 2 * 0.2, 12 - 2 * 0.1, 9.96 - 2 * 0.15
    wall = lapping.original_wall(measured=Q((outside - bore) / 2, "mm"), inner_loss="0.2 mm", outer_loss="0.1 mm")
    assert wall.m_as("mm") == pytest.approx(1)
    assert lapping.original_bore(measured=Q(bore, "mm"), loss="200 um").m_as("mm") == pytest.approx(10)
    assert lapping.original_bore(measured=Q(shaft, "mm"), loss="-150 um").m_as("mm") == pytest.approx(9.96)   # a shaft
    clearance = lapping.original_clearance(measured=Q(bore - shaft, "mm"), shaft_loss="0.15 mm", bore_loss="0.2 mm")
    assert clearance.m_as("um") == pytest.approx(40)


def test_losses_as_ranges_give_a_distribution():
    """Draws of loss 0.1 to 0.3 mm: as wide a range of wall, and of clearance twice as wide."""
    loss = Q(np.linspace(0.1, 0.3, 101), "mm")
    wall = lapping.original_wall(measured="0.8 mm", inner_loss=loss, outer_loss="0 mm").m_as("mm")
    assert wall.shape == (101,) and np.ptp(wall) == pytest.approx(0.2) and wall.mean() == pytest.approx(1)
    clearance = lapping.original_clearance(measured="0.5 mm", shaft_loss="0 mm", bore_loss=loss).m_as("mm")
    assert np.ptp(clearance) == pytest.approx(0.4) and clearance.min() < 0   # then they did not go together


def test_a_crust_is_a_negative_loss():
    assert lapping.original_wall(measured="1.2 mm", inner_loss="0 mm", outer_loss="-0.3 mm").m_as("mm") == (
        pytest.approx(0.9))


# Scaling laws and limits

@given(factor)
def test_yields_go_with_the_iron(f):
    one, more = lapping.oxide_yields(iron="10 g"), lapping.oxide_yields(iron=Q(10 * f, "g"))
    assert (more.rust / one.rust).m == pytest.approx(f) and (more.haematite / one.haematite).m == pytest.approx(f)


@given(st.floats(0.5, 30), st.integers(0, 30))
def test_washing_never_adds_grain(grain, passes):
    now, again = (lapping.fines_left(grain=Q(grain, "um"), passes=n, **WASH).m for n in (passes, passes + 1))
    assert 0 <= again <= now <= 1
    assert lapping.fines_left(grain=Q(grain, "um"), passes=0, **WASH).m == 1


@given(factor, factor)
def test_hardness_ratio_has_no_unit(f, g):
    got = lapping.hard_enough(metal=Q(100 * f, "HV"), abrasive=Q(980.665 * g, "MPa"))
    assert got.ratio.m == pytest.approx(g / f)


def test_words_of_hardness_at_their_bounds():
    got = lapping.hard_enough(metal="100 HV", abrasive=Q([50, 119.9, 120.1, 159.9, 160.1], "HV"))
    assert got.words.tolist() == ["too soft", "too soft", "marginal", "marginal", "scratches"]
    assert type(lapping.hard_enough(metal="100 HV", abrasive="1000 HV").words) is str


@given(st.floats(1, 3), st.floats(0.05, 1))
def test_clearance_left_goes_with_the_spent_grain(bridging, share):
    worn = lapping.clearance_left(**PAIR | {"bridging": bridging, "spent_share": share}).m
    assert worn - 2.5 == pytest.approx(15 * bridging * share)
    finer = lapping.clearance_left(**PAIR | {"bridging": bridging, "spent_share": share, "grain": "3 um"}).m
    assert finer - 2.5 == pytest.approx((worn - 2.5) / 5)


@given(factor)
def test_roughness_goes_with_the_grain(f):
    base = lapping.roughness_from_grain(grain="15 um").m
    assert base == pytest.approx(0.15)
    assert lapping.roughness_from_grain(grain=Q(15 * f, "um")).m == pytest.approx(base * f)
    assert lapping.roughness_from_grain(grain="15 um", ratio=200).m == pytest.approx(base / 2)


@given(st.floats(0.05, 5), st.floats(0, 10))
def test_reflectance_is_a_share_and_rises_with_extinction(n, k):
    low, high = lapping.reflectance(refractive_index=n, extinction=[k, k + 0.1]).m
    assert 0 <= low <= high < 1
    assert lapping.reflectance(refractive_index=1, extinction=0).m == 0   # air in air


def test_units_do_not_matter():
    assert lapping.oxide_yields(iron="1 kg").rust.m_as("g") == pytest.approx(1000 * 88.851 / 55.845, rel=1e-5)
    inch = PAIR | {"grain": Q("15 um").to("thou"), "bore_roughness": "1500 nm"}
    assert lapping.clearance_left(**inch).m == pytest.approx(lapping.clearance_left(**PAIR).m)
    assert lapping.fines_left(grain="0.006 mm", passes=2, **WASH | {"depth": "0.1 m", "time": "240 s"}).m == (
        pytest.approx(lapping.fines_left(grain="6 um", passes=2, **WASH).m))


def test_arrays_broadcast_and_scalars_stay_scalars():
    assert lapping.fines_left(grain=Q([[3], [6]], "um"), passes=[1, 2, 3], **WASH).shape == (2, 3)
    for value in (lapping.fines_left(grain="6 um", passes=2, **WASH), lapping.clearance_left(**PAIR),
                  lapping.scratch_stock(previous_roughness="4 um"), lapping.oxide_yields(iron="1 g").rust,
                  lapping.reflectance(refractive_index=0.5, extinction=3)):
        assert np.ndim(value.m) == 0


# Range

@pytest.mark.parametrize("call, words", [
    (lambda: lapping.fines_left(grain="70 um", passes=1, **WASH), "Reynolds number"),
    (lambda: lapping.clearance_left(**PAIR | {"bridging": 0.9}), "spans 0.90 broken-down grains"),
    (lambda: lapping.clearance_left(**PAIR | {"bridging": 4.1}), "spans 4.1 broken-down grains; .* 1 to 4$"),
    (lambda: lapping.roughness_from_grain(grain="15 um", ratio=30), "30 times the roughness"),
    (lambda: lapping.roughness_from_grain(grain="15 um", ratio=400), "400 times the roughness"),
])
def test_out_of_range_warns_and_still_answers(call, words):
    with pytest.warns(OutOfRange, match=words):
        assert call().m > 0


def test_inside_the_range_nothing_is_said():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        lapping.fines_left(grain="40 um", passes=1, **WASH)
        lapping.clearance_left(**PAIR | {"bridging": [1, 4]})
        lapping.roughness_from_grain(grain="15 um", ratio=[40, 300])


# Refusals

@pytest.mark.parametrize("call, error, words", [
    (lambda: lapping.oxide_yields(iron=10), TypeError, "iron.*no unit"),
    (lambda: lapping.oxide_yields(iron="-1 g"), ValueError, "iron.*must be >= 0"),
    (lambda: lapping.hard_enough(metal="0 HV", abrasive="900 HV"), ValueError, "metal.*must be > 0"),
    (lambda: lapping.fines_left(grain="6 um", passes=1.5, **WASH), ValueError, "passes: must be whole numbers"),
    (lambda: lapping.fines_left(grain="6 um", passes=-1, **WASH), ValueError, "passes.*must be >= 0"),
    (lambda: lapping.fines_left(grain="6 um", passes=1, **WASH | {"grain_density": "900 kg/m^3"}), ValueError,
     "grain_density must be above fluid_density"),
    (lambda: lapping.clearance_left(**PAIR | {"spent_share": 1.2}), ValueError, "spent_share.*must be <= 1"),
    (lambda: lapping.clearance_left(**PAIR | {"grain": "0 um"}), ValueError, "grain.*must be > 0"),
    (lambda: lapping.scratch_stock(previous_roughness="4 um", factor=0.5), ValueError, "factor.*must be >= 1"),
    (lambda: lapping.polish_minutes(stock="6 um", rate="0 um/min"), ValueError, "rate.*must be > 0"),
    (lambda: lapping.polish_minutes(stock="6 um", rate="1 um/min", share=0), ValueError, "share"),
    (lambda: lapping.reflectance(refractive_index=0, extinction=3), ValueError, "refractive_index"),
    (lambda: lapping.original_bore(measured="2 mm", loss="1 mm"), ValueError, "loss must be below half the measured"),
    (lambda: lapping.original_wall(measured="1 mm", inner_loss="0.1 g", outer_loss="0 mm"), pint.DimensionalityError,
     "inner_loss"),
])
def test_bad_values_are_refused(call, error, words):
    with pytest.raises(error, match=words) as caught:
        call()
    assert "\n" not in str(caught.value)
