"""kit.holding against independent routes, scaling laws and bad input."""
import inspect
import warnings

import numpy as np
import pytest
import scipy.integrate
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st

from kit import bow, fits, holding
from kit.units import OutOfRange, Q

quick = settings(max_examples=60, deadline=None)

CALLS = {
    "finger_friction": {"force": "15 N", "factor": 0.9},
    "pinch_for_torque": {"torque": "0.05 N*m", "diameter": "8 mm", "factor": 1.2},
    "pinch_torque": {"force": "20 N", "diameter": "0.008 m", "friction": 0.45},
    "strap_torque": {"tension": "100 N", "diameter": "0.008 m", "friction": 0.23, "wrap": "360 deg"},
    "clamp_torque": {"force": "200 N", "diameter": "0.008 m", "friction": 0.4, "kind": "vees"},
    "arbor_torque": {"stretch": "0.003 mm", "taper": 0.0005, "wall": "0.4 mm", "modulus": "100000 MPa",
                     "friction": 0.12, "length": "30 mm"},
    "arbor_push": {"torque": "0.136 N*m", "diameter": "0.008 m"},
    "arbor_stretch_limit": {"diameter": "8 mm", "yield_strength": "150 MPa", "modulus": "100000 MPa"},
    "arbor_taper_left": {"stretch": "0.003 mm", "taper": 0.0005},
    "cement_torque": {"shear_strength": "0.3 MPa", "diameter": "8 mm", "length": "20 mm"},
    "cement_push": {"shear_strength": "0.3 MPa", "diameter": "8 mm", "length": "20 mm"},
    "cement_creep": {"shear_stress": "0.05 MPa", "film": "0.2 mm", "viscosity": "1e9 Pa*s"},
    "split_chuck_force": {"push": "100 N", "cone_angle": "3 deg", "friction_angle": "15 deg"},
    "hoop_stress": {"torque": "0.06 N*m", "diameter": "8 mm", "length": "20 mm", "friction": 0.3, "wall": "0.4 mm"},
    "strap_stress": {"tension": "100 N", "width": "20 mm", "wall": "0.4 mm"},
}
CHECKS = CommonChecks(holding, CALLS, words=("kind",), other_unit={
    "m": "inch", "mm": "inch", "N": "lbf", "deg": "turn", "N*m": "lbf*inch", "MPa": "psi", "Pa*s": "kPa*min"})
call = CHECKS.call


# Every function

def test_every_public_function_and_argument_is_under_the_common_checks():
    assert list(CHECKS.untold()) == []


@pytest.mark.parametrize("name", CALLS)
def test_arguments_are_converted_checked_and_told_by_name(name):
    assert CHECKS.faults(name) == []


@pytest.mark.parametrize("signature", [
    "finger_friction(force, factor=1)", "pinch_torque(force, diameter, friction)",
    "strap_torque(tension, diameter, friction, wrap)", "clamp_torque(force, diameter, friction, kind='flat jaws')",
    "arbor_torque(stretch, taper, wall, modulus, friction, length)", "arbor_push(torque, diameter)",
    "arbor_stretch_limit(diameter, yield_strength, modulus)", "arbor_taper_left(stretch, taper)",
    "cement_torque(shear_strength, diameter, length)", "cement_push(shear_strength, diameter, length)",
    "cement_creep(shear_stress, film, viscosity)", "split_chuck_force(push, cone_angle, friction_angle)",
    "hoop_stress(torque, diameter, length, friction, wall)", "strap_stress(tension, width, wall)"])
def test_names_that_operations_lean_on(signature):
    name = signature.split("(")[0]
    assert name + str(inspect.signature(getattr(holding, name))) == signature


@pytest.mark.parametrize("kind, meant", [("vee", "vees"), ("split blok", "split block"), ("flat jaw", "flat jaws")])
def test_an_unknown_clamp_is_answered_with_the_nearest(kind, meant):
    with pytest.raises(ValueError, match=f"kind: unknown word '{kind}'; did you mean '{meant}'"):
        call("clamp_torque", kind=kind)


@pytest.mark.parametrize("kind", [None, ["vees"], 3])
def test_a_clamp_that_is_no_word_is_refused_with_the_words(kind):
    with pytest.raises(ValueError, match="kind: unknown word .*(split block|vees)"):
        call("clamp_torque", kind=kind)


@pytest.mark.parametrize("name, changed", [
    ("finger_friction", {"force": "0 N"}), ("finger_friction", {"factor": 0}), ("arbor_torque", {"taper": 0.1}),
    ("arbor_torque", {"wall": "0 mm"}), ("arbor_taper_left", {"taper": 0}), ("cement_creep", {"viscosity": "0 Pa*s"}),
    ("hoop_stress", {"friction": 0}), ("strap_stress", {"width": "0 mm"}), ("arbor_push", {"diameter": "0 m"}),
    ("split_chuck_force", {"cone_angle": "90 deg"})])
def test_senseless_values_are_refused(name, changed):
    with pytest.raises(ValueError, match=f"{next(iter(changed))}: .*makes no sense"):
        call(name, **changed)


@pytest.mark.parametrize("cone, friction, said", [("0 deg", "0 deg", "come to 0 deg"), ("50 deg", "45 deg", "come to 95 deg"),
                                                  ("3 deg", Q([15, 88], "deg"), "come to 18 deg to 91 deg")])
def test_a_wedge_that_jams_or_slides_for_nothing_is_refused(cone, friction, said):
    with pytest.raises(ValueError, match=f"cone_angle and friction_angle: .*below 90 deg.*{said}"):
        holding.split_chuck_force(push="100 N", cone_angle=cone, friction_angle=friction)


def test_warnings_stand_at_the_ends_of_the_ranges():
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        holding.finger_friction(force=Q([1, 40], "N"))
        call("hoop_stress", wall="0.8 mm")
    for force in ("0.9 N", "41 N"):
        with pytest.warns(OutOfRange, match="the finger presses with .*1 to 40 N"):
            holding.finger_friction(force=force)
    with pytest.warns(OutOfRange, match="the wall is 0.1.* of the diameter"):
        call("hoop_stress", wall="0.81 mm")


# Independent routes

@pytest.mark.parametrize("wrap", [np.pi / 2, 2 * np.pi, 5 * np.pi])
def test_strap_as_the_sum_of_its_drag_along_the_arc(wrap):
    along = scipy.integrate.solve_ivp(lambda angle, tension: -0.23 * tension, (0, wrap), [100.0], rtol=1e-9, atol=1e-9)
    got = holding.strap_torque(tension="100 N", diameter="8 mm", friction=0.23, wrap=Q(wrap, "rad"))
    assert got.m_as("N*mm") == pytest.approx((100 - along.y[0, -1]) * 4, rel=1e-6)


def test_a_cord_pegged_to_the_capstan_ratio_says_the_same():
    ratio = bow.capstan_ratio(friction=0.23, wrap="1.5 turn").m
    got = call("strap_torque", wrap="540 deg")[0]
    assert got == pytest.approx(0.004 * 100 * (1 - 1 / ratio), rel=1e-12)


@pytest.mark.parametrize("kind, normals", [
    ("flat jaws", [0, 180]), ("vees", [45, 135, 225, 315]), ("split block", np.arange(0.25, 360, 0.5))])
def test_a_clamp_as_normal_forces_that_balance_its_two_halves(kind, normals):
    """Equal normal forces N at the angles given; across the split they must add up to the clamp's force a half."""
    around = np.radians(normals)
    half = np.abs(np.cos(around)) if kind == "flat jaws" else np.abs(np.sin(around))
    each = 200 / (half.sum() / 2)
    torque = 0.4 * each * len(around) * 4   # N*mm, radius 4 mm
    assert holding.clamp_torque(force="200 N", diameter="8 mm", friction=0.4, kind=kind).m_as("N*mm") == pytest.approx(torque, rel=1e-4)


def test_a_block_that_presses_as_the_cosine_holds_less_as_its_docstring_says():
    force = scipy.integrate.quad(lambda a: np.cos(a)**2, -np.pi / 2, np.pi / 2)[0]
    normal = 2 * scipy.integrate.quad(np.cos, -np.pi / 2, np.pi / 2)[0]
    assert normal / force / 2 == pytest.approx(4 / np.pi)


@pytest.mark.parametrize("stretch, taper, length", [(3, 0.5, 30), (3, 0.5, 4), (8, 0.6, 13.4), (5, 0, 20)])
def test_arbor_as_the_sum_of_its_rings(stretch, taper, length):
    """Each ring a thin tube under the pressure that stretches it: p = 2 E w e / d^2, and drags with p pi d friction d / 2."""
    d, wall, modulus, friction = 8.0, 0.4, 100e3, 0.12

    def ring(x):
        e = max(stretch * 1e-3 - taper * 1e-3 * x, 0)
        return 2 * modulus * wall * e / d**2 * np.pi * d * friction * d / 2
    torque = scipy.integrate.quad(ring, 0, length, points=[min(length, stretch / taper)] if taper else None, epsabs=1e-10)[0]
    got = holding.arbor_torque(stretch=Q(stretch, "um"), taper=Q(taper, "mm/m"), wall=Q(wall, "mm"), modulus="100 GPa",
                               friction=friction, length=Q(length, "mm"))
    assert got.m_as("N*mm") == pytest.approx(torque, rel=1e-9)


def thick(share, modulus):
    """Torque by the thin tube over that by `fits.press` and `fits.grip` on an iron arbor; wall as a share of the diameter."""
    pressure = fits.press(bore="0 mm", interface="8 mm", outside=Q(8 + 16 * share, "mm"), interference="3 um", inner_modulus="200 GPa",
                          outer_modulus=modulus, inner_poisson=0.29, outer_poisson=0.34).pressure
    torque = fits.grip(pressure=pressure, interface="8 mm", length="20 mm", friction=0.12).torque
    thin = holding.arbor_torque(stretch="3 um", taper=0, wall=Q(8 * share, "mm"), modulus=modulus, friction=0.12, length="20 mm")
    return (thin / torque).m_as("")


def test_arbor_tends_to_the_press_fit_of_a_thin_tube_on_a_stiff_arbor():
    assert thick(1e-4, "100 GPa") == pytest.approx(1, abs=5e-4)


@pytest.mark.parametrize("share, low, high", [(0.01, 2, 3.2), (0.05, 12, 16), (0.1, 24.5, 32)])
def test_how_far_the_arbor_is_too_high_for_a_thicker_wall(share, low, high):
    for modulus in ("100 GPa", "200 GPa"):
        assert low <= 100 * (thick(share, modulus) - 1) <= high


def test_stretch_limit_is_where_a_thin_press_fit_yields():
    limit = holding.arbor_stretch_limit(diameter="8 mm", yield_strength="150 MPa", modulus="100 GPa")
    press = fits.press(bore="0 mm", interface="8 mm", outside="8.002 mm", interference=limit, inner_modulus="200 GPa", outer_modulus="100 GPa",
                       inner_poisson=0.29, outer_poisson=0.34)
    assert press.outer_interface_hoop.m_as("MPa") == pytest.approx(150, rel=1e-3)


def test_push_off_a_parallel_arbor_is_that_of_a_press_fit():
    grip = fits.grip(pressure="5 MPa", interface="8 mm", length="20 mm", friction=0.12)
    assert holding.arbor_push(torque=grip.torque, diameter="8 mm").m_as("N") == pytest.approx(grip.axial_force.m_as("N"))


def test_creep_by_the_rate_of_shear():
    rate = 0.05e6 / 1e9   # 1/s
    assert call("cement_creep")[0] == pytest.approx(rate * 0.2e3 * 60)   # um in a minute


def test_cement_as_a_sum_over_the_film():
    area = scipy.integrate.dblquad(lambda x, a: 4.0, 0, 2 * np.pi, 0, 20)[0]   # mm2, radius 4 mm
    assert call("cement_push")[0] == pytest.approx(0.3 * area)
    assert call("cement_torque")[0] == pytest.approx(0.3 * area * 4 / 1000)


def test_hoop_stress_of_a_split_block_is_half_its_force_over_the_wall_it_cuts():
    """Cut along the split: the two walls carry the clamp's force, whatever its friction."""
    torque = holding.clamp_torque(force="200 N", diameter="8 mm", friction=0.3, kind="split block")
    stress = holding.hoop_stress(torque=torque, diameter="8 mm", length="20 mm", friction=0.3, wall="0.4 mm")
    assert stress.m_as("MPa") == pytest.approx(200 / (2 * 20 * 0.4), rel=1e-12)


def test_strap_stress_as_the_hoop_stress_of_its_pressure():
    pressure = 100 / (20 * 4)   # MPa: tension over width and radius
    assert call("strap_stress")[0] == pytest.approx(pressure * 8 / (2 * 0.4))
    torque = pressure * 0.3 * np.pi * 8**2 * 20 / 2   # N*mm, if it pressed so all round
    even = holding.hoop_stress(torque=Q(torque, "N*mm"), diameter="8 mm", length="20 mm", friction=0.3, wall="0.4 mm")
    assert call("strap_stress")[0] == pytest.approx(even.m_as("MPa"))


def test_a_wedge_without_friction_gives_the_ratio_of_its_ways():
    """Virtual work: driven on by x, all segments together close by x tan(angle)."""
    got = holding.split_chuck_force(push="100 N", cone_angle="3 deg", friction_angle="0 deg").m_as("N")
    assert got == pytest.approx(100 / np.tan(np.radians(3)))


# Laws

stretches, tapers = st.floats(0.5, 10), st.floats(0.1, 2)
lengths, factors = st.floats(2, 100), st.floats(0.1, 10)


@quick
@given(stretches, tapers, lengths, factors)
def test_arbor_laws(stretch, taper, length, k):
    def torque(e=stretch, t=taper, wall=0.4, long=length):
        return holding.arbor_torque(stretch=Q(e, "um"), taper=Q(t, "mm/m"), wall=Q(wall, "mm"), modulus="100 GPa", friction=0.12,
                                    length=Q(long, "mm")).m_as("N*m")
    assert torque(wall=0.4 * k) == pytest.approx(k * torque())
    assert torque(e=k * stretch, t=k * taper) == pytest.approx(k * torque())
    assert torque(long=length * (1 + k)) >= torque() * (1 - 1e-12)
    assert torque(t=taper * (1 + k)) <= torque() * (1 + 1e-12)
    assert torque() <= torque(t=0) * (1 + 1e-12)
    reach = holding.arbor_taper_left(stretch=Q(stretch, "um"), taper=Q(taper, "mm/m")).m_as("mm")
    if length >= reach:   # the rest of the tube is loose
        assert torque(long=length * (1 + k)) == pytest.approx(torque())
        assert torque() == pytest.approx(torque(t=0, long=reach) / 2)


@quick
@given(st.floats(1, 40), st.floats(1, 40), st.floats(0.5, 2))
def test_finger_laws(force, other, factor):
    held = [holding.pinch_torque(force=Q(n, "N"), diameter="8 mm", friction=holding.finger_friction(force=Q(n, "N"), factor=factor)).m
            for n in sorted((force, other))]
    assert held[0] <= held[1], "a harder pinch always holds more, though its friction is less"
    assert held[1] / held[0] <= max(force, other) / min(force, other) * (1 + 1e-12)


@quick
@given(st.floats(0.01, 1), st.floats(0.1, 40), st.floats(1, 300))
def test_strap_holds_at_most_its_pull(friction, wrap, tension):
    got = holding.strap_torque(tension=Q(tension, "N"), diameter="8 mm", friction=friction, wrap=Q(wrap, "rad")).m_as("N*mm")
    assert 0 < got <= tension * 4
    little = holding.strap_torque(tension=Q(tension, "N"), diameter="8 mm", friction=1e-9, wrap=Q(wrap, "rad")).m_as("N*mm")
    assert little == pytest.approx(tension * 4 * 1e-9 * wrap, rel=1e-6)


@quick
@given(st.floats(0.1, 40), st.floats(0.1, 40))
def test_a_blunter_cone_and_more_friction_close_less(cone, friction):
    force = [holding.split_chuck_force(push="100 N", cone_angle=Q(a, "deg"), friction_angle=Q(r, "deg")).m
             for a, r in ((cone, friction), (cone + 1, friction), (cone, friction + 1))]
    assert force[0] > force[1] and force[1] == pytest.approx(force[2])


@quick
@given(factors)
def test_cement_laws(k):
    assert call("cement_torque", diameter=Q(8 * k, "mm"))[0] == pytest.approx(k**2 * call("cement_torque")[0])
    assert call("cement_push", diameter=Q(8 * k, "mm"))[0] == pytest.approx(k * call("cement_push")[0])
    assert call("cement_creep", film=Q(0.2 * k, "mm"))[0] == pytest.approx(k * call("cement_creep")[0])


def test_lengths_broadcast():
    got = holding.cement_torque(shear_strength=Q([[0.2], [0.3]], "MPa"), diameter="8 mm", length=Q([10, 20, 30], "mm"))
    assert got.shape == (2, 3)
    got = holding.arbor_torque(stretch=Q([2, 3], "um"), taper=Q([[0], [0.5]], "mm/m"), wall="0.4 mm", modulus="100 GPa", friction=0.1,
                               length="20 mm")
    assert got.shape == (2, 2) and (got[0] > got[1]).all()


def test_pinch_for_a_torque_undoes_pinch_and_friction():
    """At the force found, the falling friction of the fingers holds just that torque."""
    for torque in (0.02, 0.05, 0.1):
        force = holding.pinch_for_torque(torque=f"{torque} N*m", diameter="8 mm", factor=1.2)
        friction = holding.finger_friction(force=force, factor=1.2)
        assert holding.pinch_torque(force=force, diameter="8 mm", friction=friction).m_as("N*m") == pytest.approx(torque)
