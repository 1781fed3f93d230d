"""kit.edges: values worked out by ourselves. They show that a result has moved and are no evidence."""
import pytest

from kit import edges
from kit.units import Q


@pytest.mark.parametrize("coefficient, metres", [
    (1e-7, (150, 200, 400, 800)), (1e-6, (15, 20, 40, 80)), (1e-5, (1.5, 2, 4, 8))])
def test_metres_of_cut_for_ten_micrometres(coefficient, metres):
    found = edges.length_to_stone(coefficient=coefficient, allowed="10 um", work_hardness="100 HV",
                                  tool_hardness=Q([150, 200, 400, 800], "HV"))
    assert found.m_as("m") == pytest.approx(metres, rel=1e-9)


def test_coefficient_of_a_modern_tool():
    # flank land 0.4 mm at 6 deg of clearance after 1800 m of cut, hardness ratio 4.25, all from memory: K near 1.0e-7
    worn = edges.recession(coefficient=1.0e-7, cut_length="1800 m", work_hardness="200 HV", tool_hardness="850 HV")
    assert worn.m_as("um") == pytest.approx(400 * 0.1051, rel=0.02)   # the land times tan 6 deg


@pytest.mark.parametrize("feed, metres", [(1.0, 120), (0.25, 490)])
def test_cut_along_a_long_shaft(feed, metres):
    # 5 ft of shaft of 25 mm, the length after which J. Rose (Modern Machine-Shop Practice) has the tool dullest; the
    # diameter and the feeds are our assumptions
    turns = Q(5, "ft").m_as("mm") / feed
    assert edges.cut_length(diameter="25 mm", turns=Q(turns, "turn")).m_as("m") == pytest.approx(metres, rel=0.03)


@pytest.mark.parametrize("angle, lost", [(6, 2.1), (8, 2.8)])
def test_reamer(angle, lost):
    found = edges.reamer_shrinkage(stoned="10 um", clearance_angle=Q(angle, "deg"))
    assert found.m_as("um") == pytest.approx(lost, abs=0.05)


@pytest.mark.parametrize("sides, times", [(3, 4.0), (4, 2.83), (5, 2.47), (6, 2.31)])
def test_broach(sides, times):
    assert edges.broach_shrinkage(stoned="1 um", sides=sides).m_as("um") == pytest.approx(times, abs=0.005)


@pytest.mark.parametrize("stoned, times", [("2 um", 12.5), ("1 um", 25)])
def test_stonings_of_a_bit(stoned, times):
    assert edges.bit_stonings(spare="25 um", stoned=stoned).m_as("") == pytest.approx(times)


@pytest.mark.parametrize("first, then, pecks, minutes", [
    (8, 1, 10, 2.4), (4, 1, 14, 3.3), (2, 1, 16, 3.7), (1, 0.5, 34, 7.8)])
def test_pecks_of_a_deep_hole(first, then, pecks, minutes):
    hole = {"depth": "90 mm", "diameter": "5 mm", "first": first, "then": then}
    assert edges.pecks(**hole).m_as("") == pecks
    lost = edges.peck_minutes(clear_time="12 s", speed="50 mm/s", **hole)
    assert lost.m_as("min") == pytest.approx(minutes, abs=0.06)
