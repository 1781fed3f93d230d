"""The chisel edge of a drill in kit.cutting: its limits, how it grows, and what it does to torque and thrust."""
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import cutting
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)
RATIOS = st.floats(0.03, 0.40)
DRILL = {"diameter": "6 mm", "feed": "0.05 mm/turn", "material_factor": 14000}


def factors(ratio):
    chisel = cutting.chisel_factors(ratio=ratio)
    return np.array([part.m_as("") for part in (chisel.torque, chisel.thrust, chisel.indentation)])


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")   # the limit lies outside the printed table
def test_without_a_chisel_edge_the_lips_alone_are_left():
    assert factors(0.0) == pytest.approx([1, 1, 0], abs=1e-15)


@quick
@given(RATIOS, RATIOS)
def test_a_longer_chisel_edge_costs_more_of_everything(one, other):
    less, more = (cutting.handbook_drill(chisel_ratio=q, **DRILL) for q in sorted((one, other)))
    assert more.thrust >= less.thrust and more.torque >= less.torque
    if abs(one - other) > 1e-6:
        assert more.thrust > less.thrust and more.torque > less.torque


@quick
@given(st.floats(0.3, 1.5), RATIOS, RATIOS)
def test_what_presses_the_chisel_edge_in_depends_on_its_length_alone(chisel, one, other):
    """Thrust left when the feed goes to nothing: the same for one length of edge in drills of two sizes."""
    def pressed(ratio):
        at = {"diameter": Q(chisel / ratio, "mm"), "material_factor": 14000, "chisel_ratio": ratio}
        fine, coarse = (cutting.handbook_drill(feed=Q(f, "mm"), **at).thrust.m_as("N") for f in (0.02, 0.32))
        return (16**0.8 * fine - coarse) / (16**0.8 - 1)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OutOfRange)   # drills too small for the handbook
        assert pressed(one) == pytest.approx(pressed(other), rel=1e-6)


def test_draws_of_the_chisel_edge_go_with_draws_of_the_drill():
    n = 257
    rng = np.random.default_rng(4)
    ratio, diameter, feed = rng.uniform(0.05, 0.39, n), rng.uniform(2, 8, n), rng.uniform(0.01, 0.1, n)
    drawn = cutting.handbook_drill(diameter=Q(diameter, "mm"), feed=Q(feed, "mm"), material_factor=14000,
                                   chisel_ratio=ratio)
    assert drawn.torque.shape == drawn.thrust.shape == (n,)
    one = cutting.handbook_drill(diameter=Q(diameter[3], "mm"), feed=Q(feed[3], "mm"), material_factor=14000,
                                 chisel_ratio=ratio[3])
    assert drawn.thrust[3].m_as("N") == pytest.approx(one.thrust.m_as("N"), rel=1e-12)


def test_a_ratio_takes_the_place_of_the_point_and_without_it_nothing_has_changed():
    split = cutting.handbook_drill(point="split", chisel_ratio=0.18, **DRILL)
    assert split == cutting.handbook_drill(chisel_ratio=0.18, **DRILL)
    assert cutting.handbook_drill(chisel_ratio=None, **DRILL) == cutting.handbook_drill(**DRILL)
    plain, by_ratio = cutting.handbook_drill(**DRILL), cutting.handbook_drill(chisel_ratio=0.18, **DRILL)
    assert by_ratio.torque.m_as("N*m") == pytest.approx(plain.torque.m_as("N*m"), rel=0.01)
    assert by_ratio.thrust.m_as("N") == pytest.approx(plain.thrust.m_as("N"), rel=0.05)   # J 0.0324, printed 0.030


def test_a_blade_as_thick_as_the_drill_is_wide_is_refused():
    with pytest.raises(ValueError, match="thickness and diameter contradict each other.*blade at its point"):
        cutting.blade_chisel(thickness=Q([1.0, 5.2], "mm"), diameter="6 mm")


@quick
@given(st.floats(0.3, 3), st.floats(4, 20))
def test_the_blade_s_thickness_is_its_chisel_edge_seen_at_60_degrees(thickness, diameter):
    ratio = cutting.blade_chisel(thickness=Q(thickness, "mm"), diameter=Q(diameter, "mm")).m_as("")
    assert ratio * diameter * 3**0.5 / 2 == pytest.approx(thickness, rel=1e-12)
