"""kit.cutting against independent routes, scaling laws and bad input."""
import inspect
import warnings

import numpy as np
import pytest
import scipy.integrate
import scipy.linalg
import scipy.optimize
import scipy.sparse
import scipy.sparse.linalg
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import cutting
from kit.units import OutOfRange, Q

quick = settings(max_examples=60)
METAL = {"kc11": "1000 MPa", "exponent": 0.2}
PASS = METAL | {"diameter": "8 mm", "stock": "0.3 mm", "edge_force": "12 N/mm", "rake_factor": 1.4,
                "guide_friction": 0.15, "friction_torque": "0.02 N*m", "teeth": 5, "lead_angle": "40 deg",
                "point_angle": "110 deg"}

# One honest call of every function, each physical argument given: the common checks below run over all of them.
CALLS = {
    "specific_force": METAL | {"chip_thickness": "0.04 mm", "least_chip": "0.03 mm"},
    "drill_torque": METAL | {"diameter": "6 mm", "feed": "0.05 mm/turn", "point_angle": "118 deg",
                             "start_diameter": "4 mm"},
    "handbook_drill": {"diameter": "6.4 mm", "feed": "0.2 mm/turn", "material_factor": 14000, "wear_factor": 1.3,
                       "point": "split", "chisel_ratio": 0.27, "rake_factor": 1.2},
    "chisel_factors": {"ratio": 0.27},
    "blade_chisel": {"thickness": "1.4 mm", "diameter": "6 mm"},
    "half_round_torque": METAL | {"diameter": "12 mm", "stock": "0.05 mm", "feed": "0.2 mm/turn", "friction": 0.15},
    "reamer_torque": METAL | {"diameter": "8 mm", "stock": "0.1 mm", "feed": "0.3 mm/turn", "teeth": 6,
                              "lead_angle": "30 deg", "least_chip": "0.01 mm", "edge_force": "12 N/mm",
                              "friction_torque": "0.02 N*m"},
    "broach_torque": METAL | {"diameter": "8 mm", "sides": 5, "contact_length": "10 mm", "advance": "0.02 mm/turn",
                              "least_chip": "0.002 mm", "rake_factor": 2, "edge_force": "12 N/mm"},
    "turning_force": METAL | {"depth": "0.1 mm", "feed": "0.05 mm/turn", "approach_angle": "60 deg"},
    "shank_torque": {"diameter": "5 mm", "shear_yield": "100 MPa", "section": "half-round"},
    "column_load": {"diameter": "3 mm", "length": "60 mm", "modulus": "200 GPa", "end_factor": 2},
    "engagement": {"tool": "fluted reamer", "diameter": "8 mm", "stock": "0.1 mm", "teeth": 5, "lead_angle": "30 deg",
                   "point_angle": "118 deg"},
    "pass_torque": PASS | {"tool": "half-round bit", "chip": "0.02 mm"},
    "pass_chip": PASS | {"tool": "half-round bit", "torque": "0.4 N*m"},
    "guided_depth": {"thickness": "20 mm", "diameter": "6 mm", "point_angle": "110 deg"},
    "lip_thrust": METAL | {"diameter": "6 mm", "stock": "1 mm", "feed": "0.05 mm/turn", "point_angle": "118 deg"},
    "margin_friction_torque": {"friction": 0.12, "pressure": "2 MPa", "margin_width": "0.5 mm",
                               "contact_length": "15 mm", "teeth": 6, "diameter": "8 mm"},
}
CHECKS = CommonChecks(
    cutting, CALLS, words=("tool", "section", "point"),
    other_unit={"mm": "inch", "mm/turn": "thou/turn", "MPa": "kgf/mm**2", "GPa": "psi", "deg": "rad", "N*m": "lbf*ft",
                "N/mm": "lbf/inch"},
    # upward only, and little: no stock beyond the radius, no angle beyond the square, no exponent beyond 1
    several=(1.0, 1.02, 1.05))
call = CHECKS.call
FEEDS = [(name, argument) for name, given in CALLS.items() for argument in given if argument in ("feed", "advance")]


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "specific_force(kc11, exponent, chip_thickness, least_chip=None)",
    "drill_torque(diameter, feed, kc11, exponent, point_angle='118 deg', start_diameter='0 mm')",
    "handbook_drill(diameter, feed, material_factor, wear_factor=1, point='standard', chisel_ratio=None, rake_factor=1)",
    "chisel_factors(ratio)",
    "blade_chisel(thickness, diameter)",
    "half_round_torque(diameter, stock, feed, kc11, exponent, friction=0)",
    ("reamer_torque(diameter, stock, feed, teeth, lead_angle, kc11, exponent, least_chip=None, edge_force='0 N/mm', "
     "friction_torque='0 N*m')"),
    ("broach_torque(diameter, sides, contact_length, advance, kc11, exponent, least_chip=None, rake_factor=1, "
     "edge_force='0 N/mm')"),
    "turning_force(depth, feed, kc11, exponent, approach_angle='90 deg')",
    "shank_torque(diameter, shear_yield, section='round')",
    "column_load(diameter, length, modulus, end_factor)",
    "engagement(tool, diameter, stock, teeth=6, lead_angle='45 deg', point_angle='118 deg')",
    ("pass_torque(tool, diameter, stock, chip, kc11, exponent, edge_force='0 N/mm', rake_factor=1, guide_friction=0, "
     "friction_torque='0 N*m', teeth=6, lead_angle='45 deg', point_angle='118 deg')"),
    ("pass_chip(torque, tool, diameter, stock, kc11, exponent, edge_force='0 N/mm', rake_factor=1, guide_friction=0, "
     "friction_torque='0 N*m', teeth=6, lead_angle='45 deg', point_angle='118 deg')"),
    "lip_thrust(diameter, stock, feed, kc11, exponent, point_angle='118 deg')",
    "margin_friction_torque(friction, pressure, margin_width, contact_length, teeth, diameter)",
    "guided_depth(thickness, diameter, point_angle='118 deg')",
])
def test_names_that_notebooks_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(cutting, name))) == signature


@pytest.mark.parametrize("name", CALLS)
def test_scalars_in_scalars_out(name):
    assert all(np.ndim(value) == 0 for value in call(name))


@pytest.mark.parametrize("name, argument", FEEDS)
def test_a_plain_length_is_a_feed_per_turn(name, argument):
    per_turn = CALLS[name][argument]
    assert call(name, **{argument: per_turn.removesuffix("/turn")}) == pytest.approx(call(name), rel=1e-12)


# Words, and values that contradict each other

@pytest.mark.parametrize("name, argument, word, meant", [
    ("engagement", "tool", "two lip drill", "two-lip drill"),
    ("pass_torque", "tool", "half round bit", "half-round bit"),
    ("pass_chip", "tool", "reamer", "fluted reamer"),
    ("shank_torque", "section", "halfround", "half-round"),
    ("handbook_drill", "point", "splitt", "split"),
])
def test_an_unknown_word_is_answered_with_the_nearest(name, argument, word, meant):
    with pytest.raises(ValueError, match=f"{argument}: unknown word '{word}'; did you mean '{meant}'"):
        call(name, **{argument: word})


@pytest.mark.parametrize("name", ["half_round_torque", "reamer_torque", "engagement", "pass_torque", "pass_chip",
                                  "lip_thrust"])
def test_stock_beyond_the_radius_is_refused(name):
    with pytest.raises(ValueError, match="stock and diameter contradict each other.*on the radius"):
        call(name, diameter=Q([8.0, 8.0], "mm"), stock=Q([0.3, 4.1], "mm"))


def test_stock_of_the_whole_radius_is_allowed_in_any_unit():
    for millimetres in np.linspace(1, 20, 400):
        diameter = Q(millimetres, "mm").to("inch")
        cutting.engagement(tool="two-lip drill", diameter=Q(millimetres, "mm"), stock=diameter / 2)


def test_a_drill_in_a_hole_of_its_own_size_cuts_nothing():
    assert call("drill_torque", start_diameter="6 mm") == [0]


def test_a_hole_larger_than_the_drill_is_refused():
    with pytest.raises(ValueError, match="start_diameter and diameter contradict each other"):
        call("drill_torque", start_diameter="6.1 mm")


@pytest.mark.parametrize("name, changed", [
    ("drill_torque", {"point_angle": "181 deg"}), ("reamer_torque", {"lead_angle": "91 deg"}),
    ("turning_force", {"approach_angle": "91 deg"}), ("specific_force", {"exponent": 1.0}),
    ("broach_torque", {"sides": 2}), ("reamer_torque", {"teeth": 0}), ("handbook_drill", {"wear_factor": 0.9}),
    ("chisel_factors", {"ratio": 1.0}), ("handbook_drill", {"chisel_ratio": 1.0}),
    ("half_round_torque", {"feed": "0 mm/turn"}), ("drill_torque", {"diameter": "0 mm"}),
])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


@pytest.mark.parametrize("name, changed", [
    ("specific_force", {"chip_thickness": "0.0009 mm", "least_chip": None}),
    ("specific_force", {"chip_thickness": "2.6 mm"}),
    ("drill_torque", {"feed": "0.002 mm"}), ("half_round_torque", {"feed": "2.6 mm"}),
    ("reamer_torque", {"feed": "0.01 mm", "least_chip": None}),
    ("broach_torque", {"advance": "0.004 mm", "least_chip": None}),
    ("turning_force", {"feed": "0.001 mm"}), ("pass_torque", {"chip": "0.0009 mm"}),
    ("lip_thrust", {"feed": "0.002 mm"}), ("handbook_drill", {"diameter": "1.5 mm"}),
    ("handbook_drill", {"diameter": "111 mm"}), ("handbook_drill", {"feed": "0.009 mm"}),
    ("handbook_drill", {"feed": "1.51 mm"}), ("handbook_drill", {"chisel_ratio": 0.41}),
    ("chisel_factors", {"ratio": 0.029}), ("chisel_factors", {"ratio": [0.2, 0.41]}), ("column_load", {"length": "16 mm"}),
    ("guided_depth", {"thickness": "5.9 mm"}),
])
def test_outside_its_range_an_estimate_warns(name, changed):
    with pytest.warns(OutOfRange):
        call(name, **changed)


@pytest.mark.parametrize("name, changed", [
    ("specific_force", {"chip_thickness": "0.0001 mm", "least_chip": "0.002 mm"}),   # held at a chip within the range
    ("specific_force", {"chip_thickness": "0.001 mm", "least_chip": None}), ("drill_torque", {"feed": "0.01 mm"}),
    ("reamer_torque", {"feed": "0.001 mm"}), ("broach_torque", {"advance": "0.0001 mm"}),
    ("handbook_drill", {"diameter": "1.6 mm", "feed": "0.01 mm"}),
    ("handbook_drill", {"diameter": "110 mm", "feed": "1.5 mm"}),
    ("pass_torque", {"chip": "0 mm"}), ("pass_chip", {"torque": "0 N*m"}), ("column_load", {"length": "17 mm"}),
    ("guided_depth", {"thickness": "6 mm"}),
])
def test_inside_its_range_it_is_silent(name, changed):
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        call(name, **changed)


# Independent routes

def test_drill_torque_is_the_moment_summed_along_the_lips():
    feed, half_angle, inner, outer = 0.05, np.radians(59), 2.0, 3.0
    chip = feed / 2 * np.sin(half_angle)

    def moment(radius):   # force per length of lip times radius, per unit of radius
        return 1000 * chip**-0.2 * chip / np.sin(half_angle) * radius

    one_lip = scipy.integrate.quad(moment, inner, outer)[0]
    result = cutting.drill_torque(diameter="6 mm", start_diameter="4 mm", feed="0.05 mm", **METAL)
    assert result.m_as("N*mm") == pytest.approx(2 * one_lip, rel=1e-9)


def test_half_round_torque_is_the_moment_summed_along_the_lip_and_the_leaning_back():
    force = scipy.integrate.quad(lambda radius: 1000 * 0.2**-0.2 * 0.2, 5.2, 6)[0]
    cut = scipy.integrate.quad(lambda radius: 1000 * 0.2**-0.2 * 0.2 * radius, 5.2, 6)[0]
    result = cutting.half_round_torque(diameter="12 mm", stock="0.8 mm", feed="0.2 mm", friction=0.15, **METAL)
    assert result.m_as("N*mm") == pytest.approx(cut + 0.15 * force * 6, rel=1e-9)


def test_reamer_torque_is_the_moment_summed_along_the_teeth():
    sine, chip = np.sin(np.radians(30)), 0.3 / 6 * np.sin(np.radians(30))

    def moment(radius):
        return (1000 * chip**-0.2 * chip + 12) / sine * radius

    one_tooth = scipy.integrate.quad(moment, 3.9, 4.0)[0]
    result = cutting.reamer_torque(diameter="8 mm", stock="0.1 mm", feed="0.3 mm", teeth=6, lead_angle="30 deg",
                                   edge_force="12 N/mm", friction_torque="0.02 N*m", **METAL)
    assert result.m_as("N*mm") == pytest.approx(6 * one_tooth + 20, rel=1e-9)


@pytest.mark.parametrize("name, changed, removed", [
    ("drill_torque", {}, np.pi / 4 * (6**2 - 4**2) * 0.05),
    ("half_round_torque", {"friction": 0}, np.pi * (6**2 - 5.95**2) * 0.2),
    ("reamer_torque", {"edge_force": "0 N/mm", "friction_torque": "0 N*m"}, np.pi * (4**2 - 3.9**2) * 0.3),
    ("broach_torque", {"rake_factor": 1, "edge_force": "0 N/mm"}, np.pi * 8 * 10 * 0.02),
])
def test_work_of_a_turn_is_specific_force_times_metal_removed(name, changed, removed):
    chip = {"drill_torque": 0.025 * np.sin(np.radians(59)), "half_round_torque": 0.2,
            "reamer_torque": 0.05 * np.sin(np.radians(30)), "broach_torque": 0.004}[name]
    work = call(name, **changed)[0] * 1000 * 2 * np.pi
    assert work == pytest.approx(1000 * chip**-0.2 * removed, rel=1e-9)


def test_below_the_least_chip_specific_force_is_held():
    kc = cutting.specific_force(chip_thickness=Q([0.001, 0.01, 0.02], "mm"), least_chip="0.01 mm", **METAL).m_as("MPa")
    assert kc == pytest.approx([1000 * 0.01**-0.2, 1000 * 0.01**-0.2, 1000 * 0.02**-0.2], rel=1e-12)
    # so, ploughing apart, the torque of a reamer is straight in its feed down there
    thin = {"edge_force": "0 N/mm", "friction_torque": "0 N*m"}
    one, three = call("reamer_torque", feed="0.02 mm", **thin), call("reamer_torque", feed="0.06 mm", **thin)
    assert three[0] == pytest.approx(3 * one[0], rel=1e-12)


def test_edge_force_is_added_whatever_the_chip():
    for feed in ("0.02 mm", "0.6 mm"):   # below and above the least chip
        with_edge = call("reamer_torque", feed=feed, edge_force="12 N/mm")[0]
        assert with_edge - call("reamer_torque", feed=feed, edge_force="0 N/mm")[0] == pytest.approx(
            12 * 6 * 0.1 / np.sin(np.radians(30)) * 3.95 / 1000, rel=1e-9)


@pytest.mark.parametrize("tool, public", [
    ("two-lip drill", lambda chip, e: cutting.drill_torque(
        diameter="8 mm", start_diameter="7.4 mm", feed=chip * e.feed_per_chip, point_angle="110 deg", **METAL)),
    ("half-round bit", lambda chip, e: cutting.half_round_torque(
        diameter="8 mm", stock="0.3 mm", feed=chip * e.feed_per_chip, friction=0.15, **METAL)),
    ("fluted reamer", lambda chip, e: cutting.reamer_torque(
        diameter="8 mm", stock="0.3 mm", feed=chip * e.feed_per_chip, teeth=5, lead_angle="40 deg", **METAL)),
])
def test_a_pass_agrees_with_the_function_of_its_tool(tool, public):
    plain = PASS | {"tool": tool, "edge_force": "0 N/mm", "rake_factor": 1, "friction_torque": "0 N*m"}
    engaged = cutting.engagement(tool=tool, diameter="8 mm", stock="0.3 mm", teeth=5, lead_angle="40 deg",
                                 point_angle="110 deg")
    for chip in (Q(0.003, "mm"), Q(0.05, "mm")):
        expected = public(chip, engaged)
        assert cutting.pass_torque(chip=chip, **plain).m_as("N*m") == pytest.approx(expected.m_as("N*m"), rel=1e-9)


def test_edge_force_and_friction_enter_a_reamer_pass_as_they_enter_the_reamer():
    engaged = cutting.engagement(tool="fluted reamer", diameter="8 mm", stock="0.3 mm", teeth=5, lead_angle="40 deg")
    reamer = cutting.reamer_torque(diameter="8 mm", stock="0.3 mm", feed=Q(0.02, "mm") * engaged.feed_per_chip, teeth=5,
                                   lead_angle="40 deg", edge_force="12 N/mm", friction_torque="0.02 N*m", **METAL)
    result = cutting.pass_torque(tool="fluted reamer", chip="0.02 mm", **(PASS | {"rake_factor": 1}))
    assert result.m_as("N*m") == pytest.approx(reamer.m_as("N*m"), rel=1e-9)


def test_a_broach_pass_agrees_with_its_advance_form_where_the_lead_is_slender():
    # contact length = stock/tan(lead), advance = feed * tan(lead); they part by sin against tan, D - t against D
    lead, stock, chip = np.radians(0.5), 0.02, 0.004
    result = cutting.pass_torque(tool="polygon broach", teeth=5, diameter="8 mm", stock="0.02 mm", chip="0.004 mm",
                                 lead_angle="0.5 deg", rake_factor=2, edge_force="12 N/mm", **METAL)
    feed = chip * 5 / np.sin(lead)
    advance = cutting.broach_torque(diameter="8 mm", sides=5, contact_length=Q(stock / np.tan(lead), "mm"),
                                    advance=Q(feed * np.tan(lead), "mm/turn"), rake_factor=2, edge_force="12 N/mm",
                                    **METAL)
    assert result.m_as("N*m") == pytest.approx(advance.m_as("N*m"), rel=0.003)   # stock/diameter is 0.0025


def test_guide_friction_is_of_the_half_round_bit_only():
    for tool in cutting.TOOLS:
        with_friction, without = (cutting.pass_torque(**(PASS | {"tool": tool, "chip": "0.02 mm", "guide_friction": f}))
                                  for f in (0.15, 0))
        assert (with_friction > without) == (tool == "half-round bit")


@pytest.mark.parametrize("tool", cutting.TOOLS)
def test_pass_chip_is_the_root_of_pass_torque(tool):
    there = PASS | {"tool": tool}
    torque = 0.9 if tool in ("fluted reamer", "polygon broach") else 0.3
    root = scipy.optimize.brentq(
        lambda chip: cutting.pass_torque(chip=Q(chip, "mm"), **there).m_as("N*m") - torque, 0.001, 2.4)
    assert cutting.pass_chip(torque=Q(torque, "N*m"), **there).m_as("mm") == pytest.approx(root, rel=1e-6)


def test_a_torque_below_edge_force_and_friction_takes_no_chip():
    there = PASS | {"tool": "fluted reamer"}
    idle = cutting.pass_torque(chip="0 mm", **there)
    chips = cutting.pass_chip(torque=Q(np.array([0, 0.5, 0.999, 1.001]) * idle.m_as("N*m"), "N*m"), **there).m_as("mm")
    assert list(chips[:3]) == [0, 0, 0] and chips[3] > 0


def test_lip_thrust_and_torque_share_the_force_of_the_lips():
    # the rule takes the feed force as half the cutting force times sin(half point angle)
    thrust = cutting.lip_thrust(diameter="6 mm", stock="1 mm", feed="0.05 mm", point_angle="118 deg", **METAL).m_as("N")
    torque = cutting.drill_torque(diameter="6 mm", start_diameter="4 mm", feed="0.05 mm", **METAL).m_as("N*mm")
    mean_radius, force_of_both_lips = 2.5, thrust / (0.5 * np.sin(np.radians(59)))
    assert torque == pytest.approx(force_of_both_lips * mean_radius, rel=1e-9)


def test_half_round_shank_against_a_numerical_solution_of_its_torsion():
    # Prandtl's membrane over a semicircle of radius 1: laplacian = -2, zero on the rim; cells of a polar grid
    n = 120
    dr, turn = 1 / n, np.pi / n
    r = (np.arange(n) + 0.5) * dr
    outward, inward = (r + dr / 2) / r / dr**2, (r - dr / 2) / r / dr**2
    radial = np.diag(-outward - inward) + np.diag(outward[:-1], 1) + np.diag(inward[1:], -1)
    radial[-1, -1] -= outward[-1]   # the rim lies half a cell beyond the last one
    across = np.diag(-2 * np.ones(n)) + np.diag(np.ones(n - 1), 1) + np.diag(np.ones(n - 1), -1)
    across[0, 0] = across[-1, -1] = -3   # and so does the flat
    laplacian = scipy.sparse.kron(radial, scipy.sparse.eye(n)) + scipy.sparse.kron(np.diag(1 / (r * turn)**2), across)
    phi = scipy.sparse.linalg.spsolve(laplacian.tocsc(), -2 * np.ones(n * n)).reshape(n, n)
    torque = 2 * (phi * r[:, None]).sum() * dr * turn
    middle = (phi[:, n // 2] + phi[:, n // 2 - 1]) / 2 / r
    stress = np.polyfit(r[2:20], middle[2:20], 2)[-1]   # slope of the membrane in the middle of the flat
    result = cutting.shank_torque(diameter="2 mm", shear_yield="1 MPa", section="half-round").m_as("N*mm")
    assert result == pytest.approx(torque / stress, rel=0.002)


@pytest.mark.parametrize("end_factor, matrix_ends", [(1, "hinged"), (2, "free tip")])
def test_column_load_is_the_least_eigenvalue_of_the_beam(end_factor, matrix_ends):
    # curvature = -F/(EI) * deflection (hinged), or slope'' = -F/(EI) * slope with slope 0 below and slope' 0 at the tip
    n, length = 400, 60.0
    step = length / n
    beam = np.diag(-2 * np.ones(n - 1)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)
    if matrix_ends == "free tip":
        beam[-1, -1] = -1
        step = length / (n - 0.5)
    least = -scipy.linalg.eigvalsh(beam)[-1] / step**2
    load = least * 200e3 * np.pi * 3**4 / 64
    result = cutting.column_load(diameter="3 mm", length="60 mm", modulus="200 GPa", end_factor=end_factor)
    assert result.m_as("N") == pytest.approx(load, rel=0.001)


def test_end_factor_of_a_guided_tip():
    # one end held, the other guided: tan(x) = x, F = x^2 EI / L^2; the usual 0.7 is that to two figures
    x = scipy.optimize.brentq(lambda x: np.tan(x) - x, np.pi + 0.1, 1.5 * np.pi - 1e-6)
    result = cutting.column_load(diameter="3 mm", length="100 mm", modulus="200 GPa", end_factor=0.7)
    assert result.m_as("N") == pytest.approx(x**2 * 200e3 * np.pi * 3**4 / 64 / 100**2, rel=0.005)


def test_margin_friction_is_a_normal_force_times_friction_times_radius():
    normal = Q(2, "MPa") * Q(0.5, "mm") * Q(15, "mm") * 6
    expected = 0.12 * normal * Q(4, "mm")
    assert call("margin_friction_torque")[0] == pytest.approx(expected.m_as("N*m"), rel=1e-12)


# Scaling laws

kc11s, exponents, ratios = st.floats(300, 3000), st.floats(0, 0.6), st.floats(1.1, 5)


@quick
@given(diameter=st.floats(1, 30), ratio=ratios, kc11=kc11s, exponent=exponents)
def test_torque_from_solid_grows_as_the_square_of_the_diameter_at_one_feed(diameter, ratio, kc11, exponent):
    small, large = (cutting.drill_torque(diameter=Q(d, "mm"), feed="0.05 mm", kc11=Q(kc11, "MPa"), exponent=exponent)
                    for d in (diameter, diameter * ratio))
    assert large.m_as("N*m") == pytest.approx(ratio**2 * small.m_as("N*m"), rel=1e-9)


@quick
@given(ratio=ratios, exponent=exponents)
def test_torque_of_the_lips_grows_as_the_feed_to_one_less_the_exponent(ratio, exponent):
    one, more = (call("drill_torque", feed=Q(0.05 * r, "mm"), exponent=exponent)[0] for r in (1, ratio))
    assert more == pytest.approx(ratio ** (1 - exponent) * one, rel=1e-9)


@quick
@given(ratio=ratios, name=st.sampled_from(
    ["specific_force", "drill_torque", "half_round_torque", "turning_force", "lip_thrust"]))
def test_force_is_proportional_to_kc11(ratio, name):
    assert call(name, kc11=Q(1000 * ratio, "MPa")) == pytest.approx([ratio * v for v in call(name)], rel=1e-9)


@quick
@given(stock=st.floats(0.01, 3.5), more=st.floats(0.001, 0.4), tool=st.sampled_from(cutting.TOOLS))
def test_more_stock_never_costs_less_torque(stock, more, tool):
    one, two = (cutting.pass_torque(**(PASS | {"tool": tool, "chip": "0.02 mm", "stock": Q(s, "mm")}))
                for s in (stock, stock + more))
    assert two > one


@quick
@given(chip=st.floats(0.001, 1), more=st.floats(1.01, 2), tool=st.sampled_from(cutting.TOOLS), exponent=exponents)
def test_a_thicker_chip_costs_more_torque(chip, more, tool, exponent):
    one, two = (cutting.pass_torque(**(PASS | {"tool": tool, "chip": Q(c, "mm"), "exponent": exponent}))
                for c in (chip, chip * more))
    assert two > one


@quick
@given(chip=st.floats(0.001, 2), tool=st.sampled_from(cutting.TOOLS), exponent=exponents, kc11=kc11s,
       stock=st.floats(0.01, 4), edge=st.floats(0, 40), rake=st.floats(0.8, 2.5), friction=st.floats(0, 0.4))
def test_pass_chip_undoes_pass_torque(chip, tool, exponent, kc11, stock, edge, rake, friction):
    there = PASS | {"tool": tool, "exponent": exponent, "kc11": Q(kc11, "MPa"), "stock": Q(stock, "mm"),
                    "edge_force": Q(edge, "N/mm"), "rake_factor": rake, "guide_friction": friction}
    torque = cutting.pass_torque(chip=Q(chip, "mm"), **there)
    assert cutting.pass_chip(torque=torque, **there).m_as("mm") == pytest.approx(chip, rel=1e-6)


@quick
@given(point=st.sampled_from(["standard", "split"]), ratio=ratios)
def test_handbook_thrust_never_falls_below_the_chisel_edge(point, ratio):
    at = {"diameter": "8 mm", "material_factor": 14000, "point": point}
    fine, coarse = (cutting.handbook_drill(feed=Q(f, "mm"), **at).thrust.m_as("N") for f in (0.02, 0.02 * ratio))
    chisel = 0.007 * 14000 * 8**2 * {"standard": 0.03, "split": 0.001}[point]
    assert chisel < fine < coarse


@quick
@given(diameter=st.floats(0.5, 20), ratio=ratios, section=st.sampled_from(["round", "half-round"]))
def test_a_shank_bears_as_the_cube_of_its_diameter(diameter, ratio, section):
    thin, thick = (cutting.shank_torque(diameter=Q(d, "mm"), shear_yield="100 MPa", section=section).magnitude
                   for d in (diameter, diameter * ratio))
    assert thick == pytest.approx(ratio**3 * thin, rel=1e-9)


@quick
@given(ratio=ratios)
def test_a_column_loses_by_length_and_end_factor_alike(ratio):
    longer = call("column_load", length=Q(60 * ratio, "mm"))[0]
    assert longer == pytest.approx(call("column_load", end_factor=2 * ratio)[0], rel=1e-9)
    assert longer == pytest.approx(call("column_load")[0] / ratio**2, rel=1e-9)


def test_the_margins_are_in_the_hole_once_the_point_is_through():
    """Geometry: a point of 90 degrees is half a diameter long; a flat one has no length; none is guided by less than nothing."""
    assert cutting.guided_depth(thickness="20 mm", diameter="6 mm", point_angle="90 deg").m_as("mm") == pytest.approx(17)
    assert cutting.guided_depth(thickness="20 mm", diameter="6 mm", point_angle="180 deg").m_as("mm") == pytest.approx(20)
    with pytest.warns(OutOfRange, match="0.50 drill diameters thick"):   # 6 mm through 3 mm of sheet
        assert cutting.guided_depth(thickness="3 mm", diameter="6 mm").m_as("mm") == pytest.approx(1.197, abs=1e-3)
    with pytest.warns(OutOfRange):
        assert cutting.guided_depth(thickness="1 mm", diameter="6 mm").m_as("mm") == 0
