"""kit.lapping: values worked out by ourselves, to show that a result has moved; no evidence that it was right."""
import pytest

from kit import lapping

WATER = {"fluid_density": "998 kg/m^3", "viscosity": "1 mPa*s"}
LAP = {"pressure": "20 kPa", "speed": "0.2 m/s"}


@pytest.mark.parametrize("coefficient, hardness, rate", [
    (1e-4, "75 HV", 0.033), (1e-4, "200 HV", 0.012), (5e-4, "75 HV", 0.163), (5e-4, "100 HV", 0.122),
    (2e-3, "75 HV", 0.653), (2e-3, "100 HV", 0.489), (2e-3, "200 HV", 0.245), (5e-3, "100 HV", 1.22),
    (5e-3, "200 HV", 0.61),
])
def test_depth_rate(coefficient, hardness, rate):
    got = lapping.depth_rate(coefficient=coefficient, hardness=hardness, **LAP).m_as("um/min")
    assert got == pytest.approx(rate, rel=0.02 if rate < 0.1 else 0.005)


def test_specific_wear():
    got = lapping.specific_wear(coefficient=2e-3, hardness="100 HV")
    assert got.m_as("mm^3/(N*m)") == pytest.approx(2.04e-3, abs=0.005e-3)
    assert got.m_as("1/Pa") == pytest.approx(2.04e-12, abs=0.005e-12)


@pytest.mark.parametrize("form, volume", [("3H", 0.198), ("H", 0.595)])
def test_volume_worn_by_100_newtons_over_a_metre(form, volume):
    k = lapping.specific_wear(coefficient=7e-3, hardness="1.176 GPa", form=form)
    assert k.m_as("mm^3/(N*m)") * 100 == pytest.approx(volume, abs=0.0005)


@pytest.mark.parametrize("coefficient, minutes", [(5e-4, 48.2), (2e-3, 12.0), (5e-3, 4.82)])
def test_time_for_ten_microns_on_a_bore_of_12_mm(coefficient, minutes):
    rate = lapping.depth_rate(coefficient=coefficient, hardness="100 HV", pressure="30 kPa", speed="0.1131 m/s")
    assert lapping.hours_for(stock="10 um", rate=rate).m_as("min") == pytest.approx(minutes, rel=0.005)


@pytest.mark.parametrize("ratio, factor", [(0.5, 1), (1.0, 0.566), (1.5, 0.108)])
def test_hardness_factor(ratio, factor):
    assert lapping.hardness_factor(ratio=ratio).m == pytest.approx(factor, abs=0.0005)


@pytest.mark.parametrize("density, grain, seconds", [
    (5250, "5 um", 1726), (5250, "10 um", 431.5), (5250, "20 um", 107.9), (4000, "10 um", 611), (4000, "40 um", 38.2),
    (2400, "10 um", 1309)])
def test_settling_time(density, grain, seconds):
    got = lapping.settling_time(depth="100 mm", grain=grain, grain_density=f"{density} kg/m^3", **WATER)
    assert got.m_as("s") == pytest.approx(seconds, rel=0.0015)


def test_settling_in_cold_water():
    got = lapping.settling_time(depth="100 mm", grain="10 um", grain_density="5250 kg/m^3", fluid_density="998 kg/m^3",
                                viscosity="1.307 mPa*s")
    assert got.m_as("s") == pytest.approx(564, abs=0.5)


@pytest.mark.parametrize("time, size", [("30 min", 5.83), ("8 min", 11.3), ("1 min", 31.9)])
def test_cut_size_of_emery(time, size):
    got = lapping.cut_size(depth="100 mm", time=time, grain_density="4000 kg/m^3", **WATER)
    assert got.m_as("um") == pytest.approx(size, rel=0.002)


def test_cut_size_in_oil():
    got = lapping.cut_size(depth="40 mm", time="20 min", grain_density="4000 kg/m^3", fluid_density="880 kg/m^3",
                           viscosity="60 mPa*s")
    assert got.m_as("um") == pytest.approx(34, abs=0.5)


def test_shares_of_a_pair():
    soft = lapping.shares(shaft_coefficient=1e-3, shaft_hardness="75 HV", shaft_length="30 mm",
                          bore_coefficient=1e-3, bore_hardness="200 HV", swept_length="30 mm")
    assert soft.shaft_volume_share.m == pytest.approx(0.727, abs=0.0005)
    alike = lapping.shares(shaft_coefficient=1e-3, shaft_hardness="90 HV", shaft_length="30 mm",
                           bore_coefficient=1e-3, bore_hardness="90 HV", swept_length="90 mm")
    assert alike.depth_ratio.m == pytest.approx(3)


@pytest.mark.parametrize("roughness, ratio, width", [("20 nm", 0.812, 0.0005), ("50 nm", 0.27, 0.005),
                                                     ("14.2 nm", 0.9, 0.0005), ("36.4 nm", 0.5, 0.001)])
def test_specular_ratio(roughness, ratio, width):
    assert lapping.specular_ratio(roughness=roughness, wavelength="550 nm").m == pytest.approx(ratio, abs=width)


def test_lap_torque():
    got = lapping.lap_torque(friction=0.5, pressure="20 kPa", diameter="12 mm", length="30 mm")
    assert got.m_as("N*m") == pytest.approx(0.0679, abs=0.00005)


# E. Rabinowicz, The wear of hard surfaces by soft abrasives (1983); constants from memory. The law is printed as
# V = W s tan(angle)/H times 1/3, (1/5.3) r^-2.5 or (1/2.43) r^-6; the factor is its share of the 1/3.
@pytest.mark.parametrize("ratio, printed", [(0.5, 1 / 3), (0.799, 1 / 3), (0.801, 0.801**-2.5 / 5.3), (1, 1 / 5.3),
                                            (1.249, 1.249**-2.5 / 5.3), (1.251, 1.251**-6 / 2.43), (2, 2**-6 / 2.43)])
def test_three_regimes_of_abrasive_hardness(ratio, printed):
    assert lapping.hardness_factor(ratio=ratio).m_as("") == pytest.approx(printed * 3, rel=1e-9)
