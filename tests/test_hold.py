"""kit.hold: the torque that each hold gives, by how it grows and by its limits, on plain numbers; what each operation may be held by."""
from dataclasses import replace
from math import exp, pi

import numpy as np
import pytest

from kit import chain, study, tables, walls
from kit.operations import hold
from kit.operations.hold import held_torque
from kit.operations.means import Means
from kit.operations.part import Tube
from kit.units import Q

TUBE = Tube("hours", bore=Q(5, "mm"), wall=Q(0.4, "mm"), length=Q(60, "mm"), clearance=Q(15, "um"), route="sleeve")
ROWS = {"fingers, dry": {"friction_factor": "1", "oval_kept": "0.1"}, "fingers, oiled": {"friction": "0.2", "oval_kept": "0.1"},
        "strap, leather": {"friction": "0.36", "tension": "80 N"}, "strap, leather, oiled": {"friction": "0.15", "tension": "80 N"},
        "wooden clamp, fitted": {"friction": "0.25", "force": "500 N", "grip_share": "0.8"}, "jaws": {"friction": "0.15"},
        "arbor, driven": {"stretch": "2 um", "taper": "0.05 mm/m"}, "pitch": {"shear_strength": "0.1 MPa"}, "rosin and wax": {"shear_strength": "1 MPa"},
        "rosin with brick dust": {"shear_strength": "2 MPa"}, "shellac (a declared substitute)": {"shear_strength": "4 MPa"}}
PLAIN = {f"hold.{name}.{key}": value for name, row in ROWS.items() for key, value in row.items()} | {
    "pinch.pinch": "80 N", "jaws.load": "70 N", "alloy.yield_strength": "150 MPa", "alloy.modulus": "100 GPa", "guide.friction": "0.1"}
SHOP = study.load().workshop


def torque(name, diameter="8 mm", tube=TUBE, jaws=3, **changes):
    draws = {key: Q(value) for key, value in (PLAIN | changes).items()}
    return float(np.ravel(held_torque(Means(replace(SHOP, jaws=jaws), draws), name, Q(diameter), tube, draws["alloy.yield_strength"]).m_as("N*m"))[0])


ARBOR, CLAMP, DRY, JAWS = "arbor, driven", "wooden clamp, fitted", "fingers, dry", "jaws"
FINGERS, CEMENTS = ([row["of"] for row in tables.load("kinds") if row["kind"] == kind] for kind in ("fingers", "cement"))
EVERY = list(dict.fromkeys([*hold.OF_BLANK, *hold.OF_OUTSIDE, *hold.OF_SLEEVE]))


def test_every_hold_has_its_rows_and_gives_a_torque():
    assert set(EVERY) == set(ROWS)
    known = {row["of"] for row in tables.load("holds")}
    for name in EVERY:
        assert name in known and torque(name) > 0


# --- by hand ------------------------------------------------------------------------------------------------------------

KEPT_UP = 80 * (600 / 33.55)**(-1 / 1.61)   # N: of a pinch of 80 N, what the grip keeps up for ten minutes (effort.share_for)


@pytest.mark.parametrize("name, by_hand", [
    ("fingers, dry", 0.83 * KEPT_UP**-0.206 * KEPT_UP * 0.008),
    ("fingers, oiled", 0.2 * KEPT_UP * 0.008),
    ("strap, leather", 0.004 * 80 * (1 - exp(-0.36 * 2 * pi))),
    ("wooden clamp, fitted", 0.8 * pi / 2 * 0.25 * 500 * 0.008),
    ("jaws", 3 * 70 * 0.15 * 0.004),
    ("arbor, driven", 0.1 * pi * 100e9 * 0.4e-3 * (2e-6 / 0.05e-3) * (2e-6 / 2)),   # 40 mm of the tube are tight
    ("rosin and wax", 1e6 * pi * 0.008**2 * 0.060 / 2)])
def test_each_by_hand(name, by_hand):
    assert torque(name) == pytest.approx(by_hand, rel=1e-6)


# --- how each grows -----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", [name for name in EVERY if name not in (ARBOR, *CEMENTS)])
def test_from_outside_twice_the_diameter_holds_twice(name):
    assert torque(name, "16 mm") == pytest.approx(2 * torque(name, "8 mm"), rel=1e-9)


@pytest.mark.parametrize("name", CEMENTS)
def test_cement_holds_by_its_area_and_its_arm(name):
    assert torque(name, "16 mm") == pytest.approx(4 * torque(name, "8 mm"))
    assert torque(name, tube=replace(TUBE, length=Q(30, "mm"))) == pytest.approx(torque(name) / 2)


def test_an_arbor_holds_by_the_wall_and_no_longer_than_it_is_tight():
    assert torque(ARBOR, "16 mm") == torque(ARBOR, "8 mm")   # the pressure falls as the arm grows
    assert torque(ARBOR, tube=replace(TUBE, wall=Q(0.8, "mm"))) == pytest.approx(2 * torque(ARBOR))
    assert torque(ARBOR, tube=replace(TUBE, length=Q(500, "mm"))) == pytest.approx(torque(ARBOR))
    assert torque(ARBOR, tube=replace(TUBE, length=Q(20, "mm"))) < torque(ARBOR)


def test_an_arbor_is_not_driven_until_the_bore_yields():
    """150 MPa over 100 GPa of 5 mm are 7.5 um: driven harder, the bore would keep a bell mouth, so no more is counted."""
    key = "hold.arbor, driven.stretch"
    long = replace(TUBE, length=Q(500, "mm"))
    assert torque(ARBOR, tube=long, **{key: "7.5 um"}) == torque(ARBOR, tube=long, **{key: "30 um"})
    assert torque(ARBOR, tube=long, **{key: "7 um"}) < torque(ARBOR, tube=long, **{key: "7.5 um"})
    soft = {"alloy.yield_strength": "75 MPa", key: "30 um"}
    assert torque(ARBOR, tube=long, **soft) == pytest.approx(torque(ARBOR, tube=long, **{key: "3.75 um"}))


def test_a_strap_never_holds_more_than_its_pull():
    key = "hold.strap, leather.friction"
    assert torque("strap, leather", **{key: "50"}) == pytest.approx(0.004 * 80)
    assert torque("strap, leather", **{key: "0.001"}) == pytest.approx(0.004 * 80 * 0.001 * 2 * pi, rel=0.01)   # slippery: in proportion


def test_dry_fingers_gain_less_than_they_press_and_oiled_ones_as_much():
    """Friction of dry skin falls with the force (N. J. Seo and T. J. Armstrong, Ergonomics 52 (2009) 609-616, abstract)."""
    strong = {"pinch.pinch": "160 N"}
    assert torque("fingers, dry", **strong) / torque("fingers, dry") == pytest.approx(2**(1 - 0.206))
    assert torque("fingers, oiled", **strong) / torque("fingers, oiled") == pytest.approx(2)


def test_oil_lets_go():
    assert torque("fingers, oiled") < torque("fingers, dry") and torque("strap, leather, oiled") < torque("strap, leather")


def test_more_jaws_hold_more_and_a_clamp_holds_by_what_touches():
    assert torque("jaws", jaws=6) == pytest.approx(2 * torque("jaws"))
    assert torque(CLAMP, **{"hold.wooden clamp, fitted.grip_share": "0.4"}) == pytest.approx(torque(CLAMP) / 2)


# --- how hard fingers press ---------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", FINGERS)
def test_fingers_press_as_hard_as_the_torque_asks_and_no_harder_than_they_keep_up(name):
    means = Means(SHOP, {key: Q(value) for key, value in PLAIN.items()})
    most = hold.finger_torque(means, name, Q("8 mm"))
    for share in (0.1, 0.5, 1.0):
        force = hold.finger_force_for(means, name, share * most, Q("8 mm"))
        pressing = means["pinch.pinch"] * (force / hold.finger_force(means))   # a man whose greatest pinch kept up is just this force
        again = Means(SHOP, means.draws | {"pinch.pinch": pressing})
        assert hold.finger_torque(again, name, Q("8 mm")).m_as("N*m") == pytest.approx((share * most).m_as("N*m"), rel=1e-6)
    assert hold.finger_force_for(means, name, 5 * most, Q("8 mm")).m_as("N") == pytest.approx(KEPT_UP)


# --- who may be held by what --------------------------------------------------------------------------------------------

def oval(name, asked="0.01 N*m", outside="8 mm", bore="7.2 mm", **changes):
    """Out-of-round in micrometres that a hold leaves."""
    draws = {key: Q(value) for key, value in (PLAIN | {"alloy.poisson": "0.34", "drive.peak": "1.5"} | changes).items()}
    return float(np.ravel(hold.out_of_round(Means(SHOP, draws), name, Q(asked), Q(outside), Q(bore), Q(60, "mm")).m_as("um"))[0])


def test_the_oval_of_fingers_is_their_share_of_that_of_a_ring_pressed_at_two_points():
    force = (1.5 * 0.01 / (0.2 * 0.008))   # N: torque with the drive's peak, over friction and diameter
    radius, wall = 3.8, 0.4
    bent = walls.bending_length(radius=Q(radius, "mm"), wall=Q(wall, "mm"), lobes=2, place="middle", poisson=0.34).m_as("mm")
    # a ring under two opposite loads: one diameter shorter by 0.1488 W R^3 / (E I), one longer by 0.1366, in every handbook (from memory);
    # half of each on the radius
    ring = force * radius**3 / (100e3 * bent * wall**3 / 12) * (0.1488 + 0.1366) / 2 * 1e3
    assert oval("fingers, oiled") == pytest.approx(0.1 * ring * (1 + (2 * wall / radius)**2 / 3), rel=1e-3)


@pytest.mark.parametrize("name", FINGERS)
def test_fingers_leave_more_of_an_oval_in_a_thinner_wall_under_more_torque_and_with_less_grip(name):
    assert oval(name, bore="7.4 mm") > oval(name) and oval(name, asked="0.02 N*m") > oval(name)
    assert oval(name, asked="0 N*m") == 0
    assert oval("fingers, oiled", **{"hold.fingers, oiled.friction": "0.1"}) > oval("fingers, oiled")
    assert oval(name, **{f"hold.{name}.oval_kept": "0.2"}) == pytest.approx(2 * oval(name))


def test_what_holds_what():
    """Fingers hold a sleeve against its lap, never a blank under a drill; an arbor holds from within, so not while the hole is made."""
    held = {name: kind.holds for name, kind in chain.OPERATIONS.items()}
    for name in ("drill", "ream"):
        assert not set(FINGERS) & set(held[name]) and ARBOR not in held[name]
    for name in ("turn", "file"):
        assert CLAMP not in held[name] and ARBOR in held[name]
    assert set(FINGERS) <= set(held["lap"])
    assert [held[name][0] for name in ("drill", "turn", "lap")] == [JAWS, ARBOR, DRY]   # where the plan says nothing


# --- what kind of thing it is ------------------------------------------------------------------------------------------------

def test_every_hold_push_and_drive_of_the_tables_has_its_kind():
    """A study names them; what is told of holding, tiring and of the limbs that pull goes by the kind, never by the name."""
    kinds = {(row["table"], row["of"]): row["kind"] for row in tables.load("kinds")}
    for table in ("holds", "drives"):
        named = {row["of"] for row in tables.load(table) if "pinch" not in row["of"]}
        assert {of for name, of in kinds if name == table} == named
    assert {of for name, of in kinds if name == "hands"} <= {row["of"] for row in tables.load("hands") if row["key"] == "push"}
    means = Means(SHOP, {"push.push": Q(100, "N"), "kept_up.push_share": Q(0.3, "")})
    for of, tires in (("hand", True), ("breast", True), ("lever", False)):
        means.workshop = replace(SHOP, push=of)
        short, long = (means.push(Q(minutes, "min")) for minutes in (1, 60))
        assert (long < short) == tires and (tires or long == Q(100, "N"))
