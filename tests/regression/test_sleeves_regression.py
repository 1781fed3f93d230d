"""kit.sleeves: values worked out by ourselves. They show that a result has moved and are no evidence."""
import numpy as np
import pytest

from kit import sleeves
from kit.units import OutOfRange, Q

SLEEVE = {"viscosity": "84 mPa*s", "radius": "4 mm", "length": "6 mm", "radial_clearance": "50 um"}


@pytest.mark.parametrize("load, rate, eccentricity, film, ratio", [
    ("0.5 N", "0.1 turn/s", 0.906, 4.7, 2.3), ("2 N", "0.1 turn/s", 0.953, 2.4, 1.2),
    ("0.5 N", "0.01 turn/s", 0.970, 1.5, 0.75), ("2 N", "0.01 turn/s", 0.985, 0.75, 0.38),
    ("0.5 N", "1 turn/day", None, 0.05, 0.03), ("2 N", "1 turn/day", None, 0.03, 0.01),
])
def test_film_under_a_short_sleeve(load, rate, eccentricity, film, ratio):
    found = sleeves.short_bearing(load=load, rate=rate, **SLEEVE)
    if eccentricity:
        assert found.eccentricity.m_as("") == pytest.approx(eccentricity, abs=0.0005)
    assert found.least_film.m_as("um") == pytest.approx(film, abs=0.05 if film > 1 else 0.005)
    rough = Q(np.sqrt(2), "um")   # 2 um together
    quotient = sleeves.film_ratio(film=found.least_film, roughness_a=rough, roughness_b=rough).m_as("")
    assert quotient == pytest.approx(ratio, abs=0.05 if ratio > 1 else 0.005)


@pytest.mark.parametrize("load, rate, film", [
    ("0.5 N", "1 turn/s", 10.19), ("0.5 N", "0.1 turn/s", 1.524), ("2 N", "0.1 turn/s", 0.399),
    ("0.5 N", "0.01 turn/s", 0.161),
])
def test_film_under_the_same_sleeve_with_its_length_counted(load, rate, film):
    found = sleeves.journal_bearing(load=load, rate=rate, **SLEEVE)
    assert found.least_film.m_as("um") == pytest.approx(film, rel=0.001)


def test_film_torque_of_a_slow_sleeve():
    found = sleeves.film_torque(viscosity="84 mPa*s", rate="0.1 rad/s", radius="4 mm", length="30 mm",
                                radial_clearance="30 um")
    assert found.m_as("N*mm") == pytest.approx(3.4e-3, abs=0.05e-3)


@pytest.mark.parametrize("viscosity, torque", [
    ("1.3059 mPa*s", 5.251e-6), ("1.0016 mPa*s", 4.028e-6), ("17.72 uPa*s", 7.124e-8), ("18.21 uPa*s", 7.321e-8),
])
def test_film_torque_in_water_and_air(viscosity, torque):
    found = sleeves.film_torque(viscosity=viscosity, rate="10 rad/s", radius="4 mm", length="30 mm",
                                radial_clearance="30 um")
    assert found.m_as("N*m") == pytest.approx(torque, rel=0.0005)


NEST = Q([0.300, 0.312, 0.288, 0.228, 0.132], "N*mm")
RATIOS = [1, 1 / 2, 1 / 5, 1 / 10, 1 / 20]


def test_friction_of_five_interfaces():
    loads = sleeves.interface_loads(weights=Q([0.2] * 5, "N"))
    assert loads.m_as("N") == pytest.approx([1, 0.8, 0.6, 0.4, 0.2])
    found = sleeves.boundary_torque(friction=0.15, radius=Q([2.0, 2.6, 3.2, 3.8, 4.4], "mm"), load=loads)
    assert found.m_as("N*mm") == pytest.approx(NEST.m_as("N*mm"), abs=0.0005)
    assert found.sum().m_as("N*mm") == pytest.approx(1.26, abs=0.005)


@pytest.mark.parametrize("efficiency, torque", [(1, 0.543), (0.9, 0.670)])
def test_five_sleeves_seen_from_the_input(efficiency, torque):
    found = sleeves.input_torque(torques=NEST, ratios=RATIOS, efficiency=efficiency, meshes=2)
    assert found.m_as("N*mm") == pytest.approx(torque, abs=0.0005)


@pytest.mark.parametrize("ratios, sleeves_, torque", [
    (RATIOS, [0.612, -0.024, -0.060, -0.096, -0.132], 0.612),   # the fastest drives its neighbours
    ([1, -1 / 2, 1 / 5, -1 / 10, 1 / 20], [0.612, 0.600, 0.516, 0.360, 0.132], 1.0578),   # contrary neighbours
])
def test_five_sleeves_with_the_drag_of_neighbours(ratios, sleeves_, torque):
    found = sleeves.stack_torque(torques=NEST, ratios=ratios, efficiency=1, meshes=2)
    assert found.sleeves.m_as("N*mm") == pytest.approx(sleeves_, abs=0.0005)
    assert found.input.m_as("N*mm") == pytest.approx(torque, abs=0.0005)


def test_tilt_and_tip_of_a_pointer():
    sleeve = {"clearance": "0.06 mm", "length": "30 mm"}
    assert sleeves.tilt(**sleeve).m_as("mrad") == pytest.approx(2.0, abs=0.05)
    assert sleeves.tilt(diameter="8 mm", **sleeve).m_as("mrad") == pytest.approx(2.0005, abs=0.00005)
    assert sleeves.pointer_play(arm="60 mm", **sleeve).m_as("mm") == pytest.approx(0.12, abs=0.005)


@pytest.mark.parametrize("specific_wear, depth", [("1e-5 mm^3/(N*m)", 0.0066), ("2e-3 mm^3/(N*m)", 1.33)])
def test_wear_of_a_sleeve_clean_and_with_grit_left_in_it(specific_wear, depth):   # 200 m on 12 x 40 mm, 5 N
    turns = Q(200 / (np.pi * 0.012), "turn")
    found = sleeves.wear_depth(specific_wear=specific_wear, load="5 N", turns=turns, length="40 mm")
    assert found.m_as("um") == pytest.approx(depth, rel=0.006)


def test_nest_of_a_demonstration():
    nest = {"arbor": "4 mm", "envelope": "10 mm", "clearance": "0.04 mm"}
    assert sleeves.nest_count(wall="0.45 mm", **nest).m_as("") == 6
    assert sleeves.nest_wall(count=4, **nest).m_as("mm") == pytest.approx(0.73)


def test_rates_at_which_an_oiled_sleeve_leaves_the_metal():
    rate = sleeves.crossover_rate(ratio=[1, 3], load="0.5 N", viscosity="84 mPa*s", radius="4 mm", length="30 mm",
                                  radial_clearance="20 um", roughness_a="0.5 um", roughness_b="0.5 um")
    assert rate.m_as("rpm") == pytest.approx([0.1994, 0.5554], rel=0.001)


@pytest.mark.parametrize("temperature, printed, print_", [(20, 84.0, 0.05), (40, 36.3, 0.05), (70, 12.4, 0.05)])
def test_fit_of_olive_oil(temperature, printed, print_):
    # The values that the estimate was fitted to, from memory, believed to be in CRC Handbook of Chemistry and Physics,
    # viscosity of oils: that it comes within 1 % of them says how good the fit is, not that they are right.
    found = sleeves.olive_oil_viscosity(temperature=Q(temperature, "degC"))
    assert found.m_as("mPa*s") == pytest.approx(printed, rel=0.01, abs=print_)


def test_fit_of_cold_olive_oil():
    # The fourth of them: 138 cP at 10 degC
    with pytest.warns(OutOfRange, match="clouds"):
        found = sleeves.olive_oil_viscosity(temperature="10 degC")
    assert found.m_as("cP") == pytest.approx(138, rel=0.01)
