"""kit.words: how a thing is told to a reader."""
import pytest

from kit import words


@pytest.mark.parametrize("key, told", [
    ("abrasive.emery, fine.wear_coefficient@hours", "emery, fine: wear coefficient (hours)"),
    ("drive.rest_tension", "drive: rest tension"), ("hand.pinch@lamp-oil barrel", "hand: pinch (lamp-oil barrel)"),
    ("metal.bronze, 10 % tin.hardness", "metal.bronze, 10 % tin: hardness"), ("abrasive.grain", "grain"),
    ("run_out", "run out"), ("wall.wall", "wall")])
def test_a_key_as_a_label(key, told):
    assert words.key_label(key) == told
