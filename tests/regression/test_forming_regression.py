"""Annealing, casting, seams and raising: values worked out by ourselves. They show that a result has moved; no evidence."""
import numpy as np
import pytest

from kit import annealing, casting, drawplate, raising, seams
from kit.units import Q


@pytest.mark.parametrize("cold, hardness", [(0, 67), (10, 98), (30, 145), (50, 189), (70, 239)])
def test_hardness_of_bronze_by_cold_work(cold, hardness):
    found = annealing.worked_hardness(strain=-np.log(1 - cold / 100), coefficient="720 MPa", exponent=0.46)
    assert found.m_as("HV") == pytest.approx(hardness, abs=0.6)


@pytest.mark.parametrize("cold, anneals", [(30, 6.46), (40, 4.51), (50, 3.32)])
def test_anneals_from_4_mm_to_a_tenth(cold, anneals):
    found = annealing.anneals_needed(before="4 mm", after="0.4 mm", between=-np.log(1 - cold / 100))
    assert found.m == pytest.approx(anneals, abs=0.05)


@pytest.mark.parametrize("temperature, minutes, lost", [(650, 5, 3.6), (650, 60, 12.5), (700, 10, 7.1), (800, 10, 12.7)])
def test_scale_of_copper(temperature, minutes, lost):
    found = annealing.scale_loss(temperature=Q(temperature, "degC"), minutes=Q(minutes, "min"), rate="2e-8 g^2/cm^4/s")
    assert found.m_as("um") == pytest.approx(lost, abs=0.06)


@pytest.mark.parametrize("length, diameter, sag", [(90, 8, 0.007), (150, 8, 0.052), (150, 5, 0.132)])
def test_sag_of_a_core(length, diameter, sag):
    found = casting.core_sag(length=Q(length, "mm"), diameter=Q(diameter, "mm"), metal_density="8.2 g/cm^3",
                             core_density="1.8 g/cm^3", modulus="2 GPa")
    assert found.m_as("mm") == pytest.approx(sag, rel=0.06)


@pytest.mark.parametrize("wall, seconds", [(1, 0.5), (2, 2.0), (3, 4.4)])
def test_thin_walls_freeze_at_once_in_cold_sand(wall, seconds):
    found = casting.freezing_time(volume=Q(wall / 20, "cm^3"), area="1 cm^2", constant="3.26 min/cm^2")
    assert found.m_as("s") == pytest.approx(seconds, abs=0.05)


@pytest.mark.parametrize("strength, kept, open_by", [(150, 0.957, 15), (500, 0.858, 51)])
def test_springback_of_a_turn(strength, kept, open_by):
    found = seams.springback(radius="4 mm", thickness="0.4 mm", yield_strength=Q(strength, "MPa"), modulus="105 GPa").m
    assert found == pytest.approx(kept, abs=0.0006) and 360 * (1 - found) == pytest.approx(open_by, abs=0.6)


def test_a_tube_8_by_90_raised_from_a_disc():
    blank = raising.blank_diameter(diameter="8 mm", height="90 mm")
    assert blank.m_as("mm") == pytest.approx(54.3, abs=0.05)
    assert raising.courses(blank=blank, diameter="8 mm", reduction=0.1).m == pytest.approx(18.2, abs=0.05)
    assert raising.courses(blank=blank, diameter="8 mm", reduction=0.15).m == pytest.approx(11.8, abs=0.05)
    assert raising.rim_thickening(blank=blank, diameter="8 mm").m == pytest.approx(2.6, abs=0.05)


@pytest.mark.parametrize("mandrel, stress", [(0.0, 116.32), (0.1, 167.71)])
def test_a_mandrel_that_stands_still_adds_its_friction_to_the_plate_s(mandrel, stress):
    # 300 MPa (1 + (0.05 + mandrel)/0.17633) 1.05 ln(4/3): the bracket is 1.28356 without, 1.85069 with 0.1
    found = drawplate.draw_stress(before="4 mm^2", after="3 mm^2", flow_stress="300 MPa", friction=0.05,
                                  half_angle="10 deg", uneven=1.05, mandrel_friction=mandrel)
    assert found.m_as("MPa") == pytest.approx(stress, abs=0.01)
