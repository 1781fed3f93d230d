"""The benchmarks still run, in small; no time is asserted."""
import pytest
from benchmarks import assess, draws

import kit

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore::kit.OutOfRange")]


def test_units_and_checks_are_a_part_of_a_verdict():
    study = kit.study.load(kit.tables.DATA / "copper-sleeves")
    assert 0 < assess.units_share(study, 64) < 1


def test_two_kits_are_timed_side_by_side(monkeypatch):
    monkeypatch.setattr(assess, "WALLS", 2)
    try:
        (verdict, here, there), (sweep, *both) = assess.against("HEAD", 1, draws=16, swept=16)
    except SystemExit as without:   # a copy without this repository's history
        pytest.skip(str(without))
    assert min(here, there, *both) > 0 and verdict == here / there and sweep == both[0] / both[1]


def test_memory_of_many_draws_is_told_in_chunks(monkeypatch, capsys):
    monkeypatch.setattr(draws.judge, "CHUNK", 2**8)
    draws.main(2**10)
    assert "memory of 1024 draws (4 chunks): " in capsys.readouterr().out
