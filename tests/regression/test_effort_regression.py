"""kit.effort: values worked out by ourselves, to show that a result has moved; no evidence that it was right."""
import numpy as np
import pytest

from kit import effort
from kit.units import Q


@pytest.mark.parametrize("joint, share, minutes", [
    ("grip", 0.10, 22.8), ("grip", 0.15, 11.9), ("grip", 0.20, 7.5), ("grip", 0.30, 3.9), ("grip", 0.50, 1.7), ("grip", 0.189, 8.2),
    ("elbow", 0.2, 10.5), ("elbow", 0.3, 4.3), ("shoulder", 0.2, 4.7), ("shoulder", 0.3, 2.2)])
def test_endurance(joint, share, minutes):
    assert effort.endurance(share=share, joint=joint).m_as("min") == pytest.approx(minutes, abs=0.06)


@pytest.mark.parametrize("strength, pinch, minutes", [(68.8, 20, 4.1), (48.0, 20, 2.3), (68.8, 10, 12.5), (48.0, 10, 7.0)])
def test_pinch_of_men_and_women(strength, pinch, minutes):
    assert effort.pinch_for(minutes=Q(minutes, "min"), strength=Q(strength, "N")).m_as("N") == pytest.approx(pinch, rel=0.01)


@pytest.mark.parametrize("minutes, watts", [(5, 213), (30, 159.7), (60, 139.0), (480, 77)])
def test_whole_body(minutes, watts):
    assert effort.power(minutes=Q(minutes, "min")).m_as("W") == pytest.approx(watts, abs=0.05 if watts % 1 else 0.5)


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
def test_one_arm():
    low, high = (effort.one_arm_power(minutes=Q([1, 10, 30, 60, 240, 480], "min"), arms_share=arms, one_arm_share=one).m_as("W")
                 for arms, one in ((0.55, 0.5), (0.75, 0.65)))
    assert low == pytest.approx(np.array([72, 53, 44, 38, 27, 21]), abs=0.6)
    assert high == pytest.approx(np.array([127, 94, 78, 68, 48, 38]), abs=0.6)


def test_pull_at_the_bow():
    bow = {"stroke_length": "0.45 m", "frequency": "60/min", "loaded_share": 1}
    assert effort.pull_limit(power=Q([36, 54], "W"), **bow).m_as("N") == pytest.approx(np.array([40, 60]))


@pytest.mark.parametrize("lean, push", [(10, 97), (15, 147)])
def test_lean(lean, push):
    got = effort.lean_push(weight=Q(70 * 9.80665, "N"), lean=Q(lean, "deg"), centre_height="1.0 m", pad_height="1.25 m")
    assert got.m_as("N") == pytest.approx(push, abs=0.5)


def test_push_kept_up():
    got = effort.push_share(minutes=Q([0.1, 0.3, 1, 3, 10, 44], "min"), long_share=0.6).m
    assert got == pytest.approx(np.array([1, 0.943, 0.8, 0.668, 0.6, 0.6]), abs=0.0006)
