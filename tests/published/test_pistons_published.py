"""kit.pistons against printed values and a published library; the source stands beside each."""
import fluids
import numpy as np
import pytest
from transcribed import water_by_iapws

from kit import pistons
from kit.units import OutOfRange, Q


# Liquid

def test_leak_past_the_piston_of_a_hydraulic_press():
    """R. W. Fox and A. T. McDonald, Introduction to Fluid Mechanics, example 8.1: piston 25 mm, length 15 mm, gap
    0.005 mm, 20 MPa against 1.0 MPa gauge, 0.018 kg/(m s): 57.6 mm3/s."""
    flow = pistons.leak(diameter="25 mm", radial_clearance="0.005 mm", length="15 mm", pressure_drop="19 MPa",
                        viscosity="0.018 Pa*s")
    assert flow.m_as("mm^3/s") == pytest.approx(57.6, abs=0.05)


def test_dashpot():
    """B. S. Massey and J. Ward-Smith, Mechanics of Fluids, example 6.4, p. 209: piston 50 mm in a bore of 50.4 mm,
    length 130 mm, 1.4 MPa, kinematic viscosity 1e-4 m2/s, relative density 0.87: it moves at 0.0065 m/s. What it
    displaces passes as leak, less what its moving wall drags back: half its speed over the gap."""
    leak = pistons.leak(diameter="50 mm", radial_clearance="0.2 mm", length="130 mm", pressure_drop="1.4 MPa",
                        viscosity=Q(1e-4 * 870, "Pa*s")).m_as("m^3/s")
    face, gap = np.pi / 4 * 0.05**2, np.pi * 0.05 * 0.0002
    assert leak / (face + gap / 2) == pytest.approx(0.0065, abs=0.00005)


def test_flow_outwards_under_a_round_pad():
    """B. S. Massey and J. Ward-Smith, Mechanics of Fluids, example 6.2, p. 203: gap 1 mm, 15 kPa, 0.6 Pa s, radii as 1
    to 6: 7.31e-6 m3/s. Ring after ring is a short slot of its own circumference; their pressure drops add up."""
    edges = np.geomspace(0.1, 0.6, 2001)   # m
    ring = pistons.leak(diameter=Q(2 * np.sqrt(edges[1:] * edges[:-1]), "m"), radial_clearance="1 mm",
                        length=Q(np.diff(edges), "m"), pressure_drop="15 kPa", viscosity="0.6 Pa*s").m_as("m^3/s")
    assert 1 / np.sum(1 / ring) == pytest.approx(7.31e-6, abs=0.005e-6)


def friction_times_reynolds(inner):
    """Friction factor times Reynolds number, both on twice the gap, of a leak past a piston in a bore of radius 1 m."""
    gap, middle = 1 - inner, 1 + inner   # radial gap, mean diameter
    flow = pistons.leak(diameter=Q(middle, "m"), radial_clearance=Q(gap, "m"), length="1 m", pressure_drop="1 Pa",
                        viscosity="1 Pa*s").m_as("m^3/s")
    return 2 * (2 * gap)**2 / (flow / (np.pi * middle * gap))


def test_parallel_plates():
    """F. M. White, Fluid Mechanics, 4th ed. (1999), table 6.3, last row: 96.0."""
    assert friction_times_reynolds(inner=0.999) == pytest.approx(96.0, abs=0.05)


@pytest.mark.parametrize("inner, printed, error", [(0.8, 95.92, 0.001), (0.6, 95.59, 0.005), (0.4, 94.71, 0.014)])
def test_concentric_annulus(inner, printed, error):
    """Same table, concentric annuli by inner over outer radius: just beyond its range the slot errs by a tenth of a
    percent, and even a piston of half the bore is told to within a few."""
    with pytest.warns(OutOfRange, match="radial clearance .* narrow gap"):
        slot = friction_times_reynolds(inner=inner)
    assert slot == pytest.approx(printed, rel=error)


def test_leak_of_a_piston_that_lies_on_its_bore():
    """From memory, believed to be in H. E. Merritt, Hydraulic Control Systems (1967), and in F. M. White, Viscous Fluid
    Flow: fully eccentric, 2.5 times as much leaks as centred."""
    piston = {"diameter": "20 mm", "radial_clearance": "20 um", "length": "20 mm", "pressure_drop": "10 kPa",
              "viscosity": "84 mPa*s"}
    ratio = pistons.leak(**piston, eccentricity=1) / pistons.leak(**piston)
    assert ratio.m_as("") == pytest.approx(2.5, abs=1e-9)


# A published library: C. Bell and contributors, fluids: Fluid dynamics component of Chemical Engineering Design Library
# (2016-2024). Slots by their hydraulic diameter, twice the gap, with 96 / Re for its pipes' 64 / Re.

def test_slot_against_fluids():
    gap, length, density, viscosity = 50e-6, 0.02, 998.2, 1.0016e-3
    flow = pistons.leak(diameter="20 mm", radial_clearance=Q(gap, "m"), length=Q(length, "m"), pressure_drop="3 kPa",
                        viscosity=Q(viscosity, "Pa*s"))
    speed = flow.m_as("m^3/s") / (np.pi * 0.02 * gap)
    number = fluids.Reynolds(V=speed, D=2 * gap, rho=density, mu=viscosity)
    assert pistons.reynolds(flow=flow, diameter="20 mm", density=Q(density, "kg/m^3"),
                            viscosity=Q(viscosity, "Pa*s")).m == pytest.approx(number, rel=1e-9)
    loss = fluids.dP_from_K(fluids.K_from_f(fd=fluids.friction_laminar(number) * 96 / 64, L=length, D=2 * gap),
                            rho=density, V=speed)
    assert loss == pytest.approx(3000, rel=1e-6)


@pytest.mark.parametrize("gap, high", [(10e-6, 111325), (25e-6, 151325), (25e-6, 102325)])
def test_gas_slot_against_fluids(gap, high):
    """Isothermal gas with the pressure lost in speeding up as well, which is small here: 0.1 %."""
    diameter, length, low, viscosity, gas = 0.02, 0.02, 101325, 18.21e-6, 287.06 * 293.15
    volume = pistons.gas_leak(diameter=Q(diameter, "m"), radial_clearance=Q(gap, "m"), length=Q(length, "m"),
                              high=Q(high, "Pa"), low=Q(low, "Pa"), viscosity=Q(viscosity, "Pa*s")).m_as("m^3/s")
    mass = volume * low / gas
    number = 2 * mass / (np.pi * diameter * viscosity)
    # their flow is that of a pipe of the hydraulic diameter: pi/4 D^2 against pi diameter gap
    pipe = fluids.isothermal_gas(rho=high / gas, fd=96 / number, P1=high, P2=low, L=length, D=2 * gap)
    assert pipe * np.pi * diameter * gap / (np.pi / 4 * (2 * gap)**2) == pytest.approx(mass, rel=0.001)


# Oil and capillarity

def test_capillary_rise():
    """Y. A. Çengel and J. M. Cimbala, Fluid Mechanics, example 2-6, p. 59: water of 0.073 N/m and 1000 kg/m3 rises 5.0
    cm in a glass tube of radius 0.3 mm. A tube of that radius draws like a slot of that width."""
    hold = pistons.capillary_hold(surface_tension="0.073 N/m", radial_clearance="0.3 mm")
    assert hold.m_as("Pa") / (1000 * 9.81) == pytest.approx(0.050, abs=0.0005)


def test_piston_pulled_through_an_oiled_bore():
    """Khan, Fluid Mechanics, example 1.6, p. 19: piston 50 by 200 mm in a bore of 52 mm, 0.09 Pa s, 1 m/s: 2.83 N."""
    drag = pistons.film_drag(viscosity="0.09 Pa*s", speed="1 m/s", diameter="50 mm", radial_clearance="1 mm",
                             length="200 mm")
    assert drag.m_as("N") == pytest.approx(2.83, abs=0.005)


def test_sleeve_that_sinks_by_its_weight():
    """K. Subramanya, 1000 Solved Problems in Fluid Mechanics, example 1.10, p. 7: sleeve 30 mm by 100 mm, gap 0.02 mm,
    0.6 Pa s, weight 7.51 N: 2.66 cm/s."""
    drag = pistons.film_drag(viscosity="0.6 Pa*s", speed="2.66 cm/s", diameter="30 mm", radial_clearance="0.02 mm",
                             length="100 mm")
    assert drag.m_as("N") == pytest.approx(7.51, rel=0.005 / 2.66)


def test_bracket_that_jams():
    """F. P. Beer and E. R. Johnston, Vector Mechanics for Engineers: Statics, example 8.3, p. 398: collar with contacts
    6 in apart (from memory), friction 0.25: it jams from an arm of 12 in on."""
    collar = {"friction": 0.25, "side_load": "0 N", "length": "6 inch", "axial_load": "1 N"}
    assert np.isfinite(pistons.push_to_slide(**collar, arm="11.9 inch").m)
    assert pistons.push_to_slide(**collar, arm="12 inch").m == np.inf


# Viscosities

# IAPWS R12-08, Release on the IAPWS Formulation 2008 for the Viscosity of Ordinary Water Substance, as transcribed.
# Densities of water at 1 atm: from memory, believed to be in the IAPWS Formulation 1995.
@pytest.mark.parametrize("celsius, density", [(10, 999.70), (15, 999.10), (20, 998.21), (25, 997.05), (40, 992.22)])
def test_water_against_the_international_formulation(celsius, density):
    got = pistons.water_viscosity(temperature=Q(celsius, "degC")).m_as("uPa*s")
    assert got == pytest.approx(water_by_iapws(kelvin=celsius + 273.15, density=density), rel=2e-4)


def test_water_at_20_degrees():
    """ISO/TR 3666:1998, Viscosity of water (from memory): 1.0016 mPa s at 20 degC."""
    assert pistons.water_viscosity(temperature="20 degC").m_as("mPa*s") == pytest.approx(1.0016, abs=0.00005)


# L. Korson, W. Drost-Hansen and F. J. Millero, Viscosity of water at various temperatures, Journal of Physical
# Chemistry 73 (1969) 34, table II; on 1.0020 mPa s at 20 degC, hence the ratios. Newer values differ by up to 0.1 %.
@pytest.mark.parametrize("celsius, printed", [(0, 1.7916), (5, 1.5192), (10, 1.3069), (15, 1.1382), (25, 0.8903),
                                              (30, 0.7975), (40, 0.6532), (50, 0.5471), (60, 0.4666)])
def test_water_relative_to_20_degrees(celsius, printed):
    ratio = pistons.water_viscosity(temperature=Q(celsius, "degC")) / pistons.water_viscosity(temperature="20 degC")
    assert ratio.m_as("") == pytest.approx(printed / 1.0020, rel=0.001)


# US Standard Atmosphere, 1976, table of viscosity at 0, 5 and 10 km (from memory).
@pytest.mark.parametrize("kelvin, printed", [(288.15, 1.7894e-5), (255.676, 1.6282e-5), (223.252, 1.4577e-5)])
def test_air_of_the_standard_atmosphere(kelvin, printed):
    assert pistons.air_viscosity(temperature=Q(kelvin, "K")).m == pytest.approx(printed, abs=0.00006e-5)
