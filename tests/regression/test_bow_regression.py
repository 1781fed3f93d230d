"""kit.bow: values worked out by ourselves. They show that a result has moved and are no evidence."""
import pytest

from kit import bow
from kit.units import Q


@pytest.mark.parametrize("friction, ratios, shares", [
    (0.15, (2.57, 6.59, 16.9), (0.878, 1.473, 1.777)),
    (0.20, (3.51, 12.35, 43.4), (1.114, None, 1.910)),
    (0.25, (4.81, 23.1, 111), (1.312, 1.834, 1.964)),
    (0.30, (6.59, 43.4, 286), (1.473, 1.910, 1.986)),
    (0.40, (12.4, 152, 1880), (1.700, 1.974, 1.998)),
])
def test_cord_of_one_two_and_three_turns(friction, ratios, shares):
    for turns, ratio, share in zip((1, 2, 3), ratios, shares):
        wrap = Q(turns, "turn")
        assert bow.capstan_ratio(friction=friction, wrap=wrap).m_as("") == pytest.approx(ratio, rel=0.005)
        if share:
            limit = bow.cord_limit(rest_tension="1 N", friction=friction, wrap=wrap)
            assert limit.m_as("N") == pytest.approx(share, abs=0.0006)


@pytest.mark.parametrize("turns, tension", [(1, 30.5), (2, 21.8), (3, 20.4)])
def test_rest_tension_that_carries_forty_newton(turns, tension):
    result = bow.rest_tension_for(pull="40 N", friction=0.25, wrap=Q(turns, "turn"))
    assert result.m_as("N") == pytest.approx(tension, abs=0.05)


def test_cord_limit_of_a_light_bow():
    assert bow.cord_limit(rest_tension="25 N", friction=0.25, wrap="1 turn").m_as("N") == pytest.approx(32.8, abs=0.05)


def test_band_brake():
    # 300 N*m at 250 mm, 250 deg, 0.3: slack 444.0 N, tight 1644 N
    ratio = bow.capstan_ratio(friction=0.3, wrap="250 deg").m_as("")
    pull = bow.pull_for(torque="300 N*m", pulley_diameter="500 mm").m_as("N")
    assert pull / (ratio - 1) == pytest.approx(444.0, abs=0.05)
    assert pull * ratio / (ratio - 1) == pytest.approx(1644, abs=0.5)


@pytest.mark.parametrize("friction, wrap, hand, least, most", [(0.25, "1.5 turn", 1000, 94.8, 10551)])
def test_load_that_a_hand_holds(friction, wrap, hand, least, most):
    ratio = bow.capstan_ratio(friction=friction, wrap=wrap).m_as("")
    assert hand / ratio == pytest.approx(least, abs=0.05)
    assert hand * ratio == pytest.approx(most, abs=0.5)


def test_capstan_hauling_a_train():
    assert bow.capstan_ratio(friction=0.35, wrap="2.77 turn").m_as("") * 250 == pytest.approx(111250, rel=0.01)


@pytest.mark.parametrize("diameter, torque, turns, mean, peak", [
    (20, 0.30, 7.96, 955, 1500), (30, 0.45, 5.31, 637, 1000), (40, 0.60, 3.98, 477, 750), (60, 0.90, 2.65, 318, 500),
])
def test_torque_and_speed_of_pulleys(diameter, torque, turns, mean, peak):
    pulley = {"pulley_diameter": Q(diameter, "mm")}
    result = bow.stroke(length="0.5 m", frequency="60/min", **pulley)
    assert bow.spindle_torque(pull="30 N", **pulley).m_as("N*m") == pytest.approx(torque, abs=0.005)
    assert result.turns.m_as("turn") == pytest.approx(turns, abs=0.005)
    assert result.mean_rate.m_as("rpm") == pytest.approx(mean, abs=0.5)
    assert result.peak_rate.m_as("rpm") == pytest.approx(peak, abs=0.5)


def test_worked_case_of_a_bow_lathe():
    bow_lathe = {"length": "0.45 m", "pulley_diameter": "30 mm", "frequency": "60/min"}
    result = bow.stroke(**bow_lathe)
    assert result.turns.m_as("turn") == pytest.approx(4.775, abs=0.0005)
    assert result.mean_rate.m_as("rpm") == pytest.approx(573, abs=0.5)
    assert result.peak_rate.m_as("rpm") == pytest.approx(900, abs=0.5)
    assert result.mean_speed.m_as("m/s") == pytest.approx(0.900, abs=0.0005)
    assert result.peak_speed.m_as("m/s") == pytest.approx(1.414, abs=0.0005)
    assert bow.turns_per_minute(**bow_lathe).m_as("turn/min") == pytest.approx(286.5, abs=0.05)

    centre = bow.centre_torque(load="50 N", radius="2 mm", half_angle="30 deg", friction=0.12)
    torque = bow.spindle_torque(pull="30 N", pulley_diameter="30 mm", centre_torque=2 * centre)
    assert torque.m_as("N*m") == pytest.approx(0.418, abs=0.0005)
    assert (torque / Q(10, "mm")).m_as("N") == pytest.approx(41.8, abs=0.05)   # at the edge, work of 20 mm


def test_foot_of_cord_on_a_six_inch_girth():
    result = bow.stroke(length="1 ft", pulley_diameter=Q(6 / 3.141592653589793, "inch"), frequency="30/min")
    assert result.turns.m_as("turn") == pytest.approx(2, rel=1e-9)


@pytest.mark.parametrize("friction, pressure, wear", [
    (0.05, (6.7, 13.3, 26.7), (5, 10, 20)), (0.12, (16, 32, 64), (12, 24, 48)), (0.20, (26.7, 53, 107), (20, 40, 80)),
])
def test_two_centres_of_sixty_degrees(friction, pressure, wear):
    for contact, torques in (("uniform pressure", pressure), ("uniform wear", wear)):
        one = bow.centre_torque(load="50 N", radius=Q([1, 2, 4], "mm"), half_angle="30 deg", friction=friction,
                                contact=contact)
        assert 2 * one.m_as("N*mm") == pytest.approx(torques, abs=0.5)


@pytest.mark.parametrize("contact, power", [("uniform pressure", 725.5), ("uniform wear", 544.1)])
def test_full_cone(contact, power):
    torque = bow.centre_torque(load="20 kN", radius="75 mm", half_angle="60 deg", friction=0.03, contact=contact)
    assert (torque * Q(200, "rpm")).m_as("W*rad") == pytest.approx(power, abs=0.05)


@pytest.mark.parametrize("fraction, minutes", [(0.50, 1.10), (0.25, 3.70)])
def test_hold_time(fraction, minutes):
    assert bow.hold_time(fraction=fraction).m_as("min") == pytest.approx(minutes, abs=0.005)


@pytest.mark.parametrize("minutes, newton", [(1, 70), (5, 50.1), (10, 41.6), (30, 28)])
def test_pull_by_the_length_of_the_step(minutes, newton):
    result = bow.pull(minutes=Q(minutes, "min"), one_minute="70 N", sustained="28 N")
    assert result.m_as("N") == pytest.approx(newton, abs=0.05)
