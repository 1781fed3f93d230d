"""kit.lapping against printed values; the source stands beside each."""
import pytest

from kit import lapping
from kit.units import OutOfRange

# Values from memory, believed to be in J. F. Archard and W. Hirst, The wear of metals under unlubricated conditions,
# Proceedings of the Royal Society A 236 (1956) 397, table of wear rates. Load 400 g; wear rate in 1e-10 cm3/cm,
# hardness in 1e6 g/cm2, K as printed. The K obeys K = rate x hardness / load: this table is in the form "H", not "3H".
ARCHARD_HIRST = [   # metal, rate, hardness, K, and the relative half-widths of the three prints added up
    ("60/40 brass on tool steel", 240, 9.5, 6e-4, 0.11),
    ("tool steel on tool steel", 6.0, 85, 1.3e-4, 0.06),
    ("stellite on tool steel", 3.2, 69, 5.5e-5, 0.035),
    ("ferritic stainless steel on tool steel", 2.7, 25, 1.7e-5, 0.07),
    ("beryllium copper on tool steel", 7.1, 21, 3.7e-5, 0.045),
]


@pytest.mark.parametrize("metal, rate, hardness, coefficient, print_width", ARCHARD_HIRST)
def test_wear_rate_of_rubbed_metals(metal, rate, hardness, coefficient, print_width):
    k = lapping.specific_wear(coefficient=coefficient, hardness=f"{hardness}e6 gram*standard_gravity/cm^2")
    assert k.m_as("cm^3/(cm*gram*standard_gravity)") * 400 == pytest.approx(rate * 1e-10, rel=print_width)


def test_a_grain_1_2_times_as_hard_still_scratches():
    """G. Pintaude, ASME Journal of Tribology 132 (2010) 034502, abstract: scratching from 1.2 times the hardness."""
    assert lapping.hardness_factor(ratio=1 / 1.2).m_as("") > 0.85


# ASTM D422-63 (2007), Standard Test Method for Particle-Size Analysis of Soils, table 3, row of 20 degC:
# D = K sqrt(L / T), D in mm, L in cm, T in min. Printed to 0.00001, worked with g = 980 cm/s2 (0.03 % on K). Water at
# 20 degC as was usual then: 1.005 mPa s; 998.2 kg/m3.
@pytest.mark.parametrize("gravity, printed", [(2.45, 0.01456), (2.50, 0.01431), (2.55, 0.01408), (2.60, 0.01386),
                                              (2.65, 0.01365), (2.70, 0.01344), (2.75, 0.01325), (2.80, 0.01307),
                                              (2.85, 0.01289)])
def test_cut_size_of_the_soil_hydrometer(gravity, printed):
    size = lapping.cut_size(depth="1 cm", time="1 min", grain_density=f"{gravity} g/cm^3", fluid_density="998.2 kg/m^3",
                            viscosity="1.005 mPa*s")
    assert size.m_as("mm") == pytest.approx(printed * (980 / 980.665)**0.5, abs=0.000006)


# L. J. Poppe and others, Grain-size analysis of marine sediments, US Geological Survey Open-File Report 00-358
# (2000), chapter 1, table 2 (after Krumbein and Pettijohn 1938): pipette times at 20 degC for the phi classes, in s.
# The table does not state density and viscosity: quartz in water at 20 degC is our reading of it, hence 2 %.
@pytest.mark.parametrize("phi, depth, printed", [
    (5, "10 cm", 60 + 56), (6, "10 cm", 7 * 60 + 44), (7, "10 cm", 31 * 60), (8, "10 cm", 2 * 3600 + 3 * 60),
    (9, "5 cm", 4 * 3600 + 6 * 60)])
def test_pipette_withdrawal_times(phi, depth, printed):
    time = lapping.settling_time(depth=depth, grain=f"{2.0**-phi} mm", grain_density="2650 kg/m^3",
                                 fluid_density="998.2 kg/m^3", viscosity="1.002 mPa*s")
    assert time.m_as("s") == pytest.approx(printed, rel=0.02)


def test_pressure_up_to_which_lapping_is_proportional():
    """Machinery's Handbook, "Lapping pressures", from memory: removal in proportion up to 25 lb/in2."""
    wear = {"coefficient": 2e-3, "hardness": "100 HV", "speed": "0.2 m/s"}
    assert (lapping.depth_rate(pressure="25 psi", **wear) / lapping.depth_rate(pressure="5 psi", **wear)).m_as("") == (
        pytest.approx(5))
    with pytest.warns(OutOfRange, match="pressure"):
        lapping.depth_rate(pressure="26 psi", **wear)
