"""kit.edges and its tables against what others printed. No print on edges of iron in a copper alloy was found."""
import numpy as np
import pytest

from kit import edges, evidence
from kit.units import Q


def points(table, of, key):
    """5, 50 and 95 % points of a row."""
    assumption = evidence.reference(table=table, of=of, prefix="it")[f"it.{key}"]
    return Q(assumption.quantile(np.array([0.05, 0.5, 0.95])), assumption.unit)


@pytest.mark.parametrize("feed", [1.0, 0.25])
def test_edge_life_holds_what_was_told_of_a_long_shaft(feed):
    # J. Rose, Modern Machine-Shop Practice, on the follower rest: after 5 ft of turning the tool is dullest, and must
    # be reground before the cut has gone from end to end of a long shaft. Diameter 25 mm, feeds from 0.25 to 1 mm and
    # a tool five times as hard as the iron are assumptions of ours: 120 to 490 m of cut.
    coefficient, allowed = (points("edge_life", "edge", key) for key in ("wear_coefficient", "allowed_recession"))
    lengths = edges.length_to_stone(coefficient=coefficient[::-1], allowed=allowed[1], work_hardness="150 HV",
                                    tool_hardness="750 HV").m_as("m")
    turns = Q(Q(5, "ft").m_as("mm") / feed, "turn")
    assert lengths[0] < edges.cut_length(diameter="25 mm", turns=turns).m_as("m") < lengths[2]


@pytest.mark.parametrize("depth, pecks", [("4 inch", 0), ("4.01 inch", 1), ("5 inch", 1), ("5.01 inch", 2)])
def test_a_hole_is_deep_from_four_diameters_on(depth, pecks):
    # P. Moring, Cutting Tool Engineering (1995): usual depth of the first withdrawal 4 diameters; from there on one
    # each
    assert edges.pecks(depth=depth, diameter="1 inch", first=4, then=1).m_as("") == pecks
    low, _, high = points("drill_points", "twist drill", "first_peck").m
    assert low <= 4 <= high


def test_a_reamer_ground_on_its_face_keeps_its_margin():
    # W. H. Dooley, Applied Science for Metal Workers (1919), sec. 314, and a maker's note on sharpening: a solid
    # reamer loses its size at once when ground on the crests; with the round margin of 0.15 to 0.25 mm behind its
    # edges, common practice, it keeps it while the faces are ground.
    kept = edges.reamer_shrinkage(stoned="0.1 mm", clearance_angle="7 deg", margin="0.15 mm")
    without = edges.reamer_shrinkage(stoned="0.1 mm", clearance_angle="7 deg")
    assert kept.m_as("um") == 0 and without.m_as("um") > 20
