"""kit.annealing, casting, seams, drawplate, raising: units and names, scaling, limits, and other routes to the same number."""
import numpy as np
import pytest
from common_checks import CommonChecks
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from kit import annealing, casting, drawplate, raising, seams
from kit.units import OutOfRange, Q

quick = settings(max_examples=40)
METAL = {"coefficient": "720 MPa", "exponent": 0.46}
SECTIONS = {"before": "12 mm^2", "after": "10 mm^2"}
CALLS = {
    annealing: {
        "strain": {"before": "0.9 mm", "after": "0.6 mm"},
        "flow_stress": METAL | {"strain": 0.4}, "worked_hardness": METAL | {"strain": 0.4},
        "hardening": {"strain": 0.4, "exponent": 0.46, "earlier": 0.1},
        "anneals_needed": {"before": "4 mm", "after": "0.4 mm", "between": 0.5},
        "softened": {"temperature": "420 degC", "begins": "300 degC", "full": "600 degC"},
        "scale_loss": {"temperature": "800 degC", "minutes": "10 min", "rate": "2e-8 g^2/cm^4/s", "energy": "24 kcal/mol"}},
    casting: {
        "core_lift": {"volume": "5 cm^3", "metal_density": "8.2 g/cm^3", "core_density": "1.9 g/cm^3"},
        "core_sag": {"length": "90 mm", "diameter": "8 mm", "metal_density": "8.2 g/cm^3", "modulus": "2 GPa",
                     "core_density": "1.9 g/cm^3"},
        "pattern_size": {"size": "90 mm", "allowance": 0.0130},
        "freezing_time": {"volume": "20 cm^3", "area": "80 cm^2", "constant": "3.26 min/cm^2", "exponent": 2},
        "through_holes": {"area": "15 cm^2", "wall": "1.5 mm", "per_area": "0.01 cm^-2", "of_wall": "2 mm",
                          "exponent": 1.5},
        "melt_heat": {"solid_heat": "0.38 kJ/(kg*K)", "melting": "1000 degC", "latent_heat": "200 kJ/kg",
                      "liquid_heat": "0.5 kJ/(kg*K)", "pouring": "1150 degC", "ambient": "20 degC"},
        "fuel": {"heat": "0.65 MJ/kg", "mass": "0.5 kg", "efficiency": 0.02, "fuel_heat": "29 MJ/kg"}},
    seams: {
        "strip_width": {"outside": "8 mm", "thickness": "0.4 mm"},
        "closing_outside": {"width": "24 mm", "thickness": "0.4 mm"},
        "springback": {"radius": "4 mm", "thickness": "0.4 mm", "yield_strength": "150 MPa", "modulus": "105 GPa"},
        "gap": {"radius": "4 mm", "kept": 0.95},
        "closing_force": {"gap": "1 mm", "radius": "4 mm", "thickness": "0.4 mm", "modulus": "105 GPa"},
        "least_bend_radius": {"thickness": "0.4 mm", "area_reduction": 0.3},
        "seam_strength": {"width": "3 mm", "strength": "35 MPa", "long_share": 0.06},
        "load_of_pressure": {"pressure": "100 kPa", "diameter": "20 mm"},
        "load_of_torque": {"torque": "500 N*mm", "radius": "4 mm"}},
    drawplate: {
        "reduction": SECTIONS,
        "mean_flow_stress": METAL | {"strain": 0.2, "earlier": 0.1},
        "uneven_work": {"before": "2.5 mm", "after": "2 mm", "half_angle": "15 deg"},
        "draw_stress": SECTIONS | {"flow_stress": "250 MPa", "friction": 0.1, "half_angle": "10 deg", "uneven": 1.1,
                                   "mandrel_friction": 0.05},
        "passes": SECTIONS | {"most": 0.1}},
    raising: {
        "blank_diameter": {"diameter": "8 mm", "height": "90 mm"},
        "courses": {"blank": "54 mm", "diameter": "8 mm", "reduction": 0.1},
        "rim_thickening": {"blank": "54 mm", "diameter": "8 mm"}}}
OTHER = {"mm": "inch", "mm^2": "inch^2", "cm^2": "inch^2", "cm^3": "inch^3", "MPa": "psi", "GPa": "psi", "kPa": "psi",
         "g/cm^3": "kg/m^3", "deg": "rad", "min": "s", "N*mm": "N*m",
         "kcal/mol": "kJ/mol", "kJ/(kg*K)": "kcal/(kg*K)", "min/cm^2": "s/inch^2", "cm^-2": "inch^-2", "kJ/kg": "kcal/kg", "kg": "g", "g^2/cm^4/s": "kg^2/m^4/s", "MJ/kg": "kJ/kg"}
CHECKS = {module: CommonChecks(module, calls, words=("uneven",), wrong="3 candela", signed=("ambient",), offset=("temperature", "begins", "full", "melting", "pouring", "ambient"),
                               one_by_one=lambda name, argument: name not in ("softened", "melt_heat"),
                               other_unit=OTHER, several=(0.97, 1.0, 1.03)) for module, calls in CALLS.items()}
EVERY = [(module, name) for module, calls in CALLS.items() for name in calls]


def number(module, name, **changed):
    return float(CHECKS[module].call(name, **changed)[0])


@pytest.mark.parametrize("module", CALLS, ids=lambda module: module.__name__)
def test_every_public_function_and_argument_is_under_the_common_checks(module):
    assert [told for told in CHECKS[module].untold() if "uneven" not in str(told)] == []


@pytest.mark.parametrize("module, name", EVERY, ids=[name for _, name in EVERY])
def test_arguments_are_converted_checked_and_told_by_name(module, name):
    assert CHECKS[module].faults(name) == []


# --- annealing --------------------------------------------------------------------------------------------------------

@given(st.floats(0.05, 0.5), st.floats(0.05, 0.5))
@quick
def test_work_in_two_goes_hardens_as_in_one(one, other):
    both = annealing.hardening(strain=one + other, exponent=0.46).m
    assert both == pytest.approx(annealing.hardening(strain=one, exponent=0.46).m
                                 * annealing.hardening(strain=other, earlier=one, exponent=0.46).m)
    assert annealing.hardening(strain=0, earlier=one, exponent=0.46).m == 1


def test_hardening_is_the_ratio_of_two_hardnesses():
    hard, soft = (annealing.worked_hardness(strain=e, **METAL).m for e in (0.5, 0))
    assert annealing.hardening(strain=0.5, exponent=0.46).m == pytest.approx(hard / soft)


def test_a_fire_softens_from_where_it_begins_to_where_it_is_full():
    at = {"begins": "300 degC", "full": "600 degC"}
    assert [annealing.softened(temperature=Q(t, "degC"), **at).m for t in (20, 300, 450, 600, 700)] == [0, 0, 0.5, 1, 1]
    with pytest.raises(ValueError, match="exchange them"):
        annealing.softened(temperature="500 degC", begins="600 degC", full="300 degC")


def test_scale_goes_as_the_root_of_time_and_grows_with_heat():
    once, four = (number(annealing, "scale_loss", minutes=Q(m, "min")) for m in (10, 40))
    assert four == pytest.approx(2 * once) and number(annealing, "scale_loss", minutes="0 min") == 0
    assert number(annealing, "scale_loss", temperature="900 degC") > once
    with pytest.warns(OutOfRange, match="carried to"):
        number(annealing, "scale_loss", temperature="450 degC")


# --- casting ----------------------------------------------------------------------------------------------------------

def test_a_core_sags_by_the_fourth_power_of_its_length():
    base = number(casting, "core_sag", length="60 mm")
    assert number(casting, "core_sag", length="120 mm") == pytest.approx(16 * base)
    assert number(casting, "core_sag", length="60 mm", diameter="16 mm") == pytest.approx(base / 4)
    assert number(casting, "core_sag", core_density="8.2 g/cm^3") == 0
    with pytest.warns(OutOfRange, match="breaks"):
        number(casting, "core_sag", length="400 mm")


def test_a_core_sags_as_a_beam_integrated_does():
    """By the lift of its length, held at both ends: twice integrated moment, with no formula for the sag."""
    lift = casting.core_lift(volume=Q(np.pi / 4 * 8**2 * 90, "mm^3"), metal_density="8.2 g/cm^3",
                             core_density="1.9 g/cm^3").m_as("N") / 90
    stiff, half = 2000 * np.pi * 8**4 / 64, 45

    def moment(x):
        return lift / 2 * x * (90 - x)

    sag = integrate.quad(lambda x: x * moment(x) / stiff, 0, half)[0]   # moment-area rule to the middle
    assert number(casting, "core_sag") == pytest.approx(sag, rel=1e-6)


@given(st.floats(0.6, 3.5), st.floats(1, 40))
@quick
def test_through_holes_grow_as_the_wall_is_cut_thinner_and_with_its_area(wall, area):
    def holes(**changed):
        return number(casting, "through_holes", **{"wall": Q(wall, "mm"), "area": Q(area, "cm^2")} | changed)

    assert holes(area=Q(2 * area, "cm^2")) == pytest.approx(2 * holes())
    assert holes(wall=Q(wall * 1.1, "mm")) < holes()
    assert holes(wall="2 mm") == pytest.approx(0.01 * area)


def test_metal_is_poured_hot():
    with pytest.raises(ValueError, match="pour hotter"):
        casting.melt_heat(**CALLS[casting]["melt_heat"] | {"pouring": "950 degC"})


# --- seams ------------------------------------------------------------------------------------------------------------

@given(st.floats(2, 20), st.floats(0.05, 0.9))
@quick
def test_a_strip_closes_at_the_outside_that_it_was_cut_for(outside, thickness):
    width = seams.strip_width(outside=Q(outside, "mm"), thickness=Q(thickness, "mm"))
    assert seams.closing_outside(width=width, thickness=Q(thickness, "mm")).m_as("mm") == pytest.approx(outside)


def test_soft_metal_stays_bent_and_springy_metal_does_not():
    assert number(seams, "springback", yield_strength="0.001 MPa") == pytest.approx(1, abs=1e-5)
    assert number(seams, "springback", yield_strength="6 GPa") == pytest.approx(0)
    kept = [number(seams, "springback", yield_strength=Q(y, "MPa")) for y in (100, 200, 400)]
    assert kept == sorted(kept, reverse=True)
    assert number(seams, "gap", kept=1.0) == 0


def test_springback_by_the_moment_of_an_ideally_plastic_sheet():
    """The bend goes back by the plastic moment over the stiffness: a route without the cubic."""
    radius, thickness, strength, modulus = 4.0, 0.4, 150.0, 105e3
    core = strength * radius / modulus   # half height of the elastic core
    moment = 2 * (strength * (thickness**2 / 4 - core**2) / 2 + strength * core**2 / 3)
    kept = 1 - 12 * moment / (modulus * thickness**3) * radius
    assert number(seams, "springback") == pytest.approx(kept, rel=1e-9)


def test_an_open_turn_is_drawn_shut_as_by_energy():
    """Castigliano: the opening is the integral of the moment's square over the ring, for a unit force."""
    radius, stiff = 4.0, 105e3 * 0.4**3 / 12
    opens = integrate.quad(lambda at: (radius * (1 - np.cos(at)))**2 * radius / stiff, 0, 2 * np.pi)[0]
    assert number(seams, "closing_force") == pytest.approx(1 / opens, rel=1e-9)


def test_least_bend_radius_of_soft_and_of_brittle_sheet():
    assert number(seams, "least_bend_radius", area_reduction=0.6) == 0
    assert number(seams, "least_bend_radius", area_reduction=0.1) == pytest.approx(4 * 0.4)


def test_seam_and_its_loads_scale():
    assert number(seams, "seam_strength", width="6 mm") == pytest.approx(2 * number(seams, "seam_strength"))
    assert number(seams, "load_of_torque", radius="8 mm") == pytest.approx(number(seams, "load_of_torque") / 4)


# --- drawplate, raising --------------------------------------------------------------------------------------------------

@given(st.floats(1.01, 1.9))
@quick
def test_a_pass_without_friction_takes_the_ideal_work(ratio):
    section = {"before": Q(ratio * 10, "mm^2"), "after": "10 mm^2"}
    stress = drawplate.draw_stress(**section, flow_stress="250 MPa", friction=0, half_angle="10 deg").m_as("MPa")
    assert stress == pytest.approx(250 * np.log(ratio))
    assert number(drawplate, "draw_stress", **section) > stress


def test_the_ideal_most_of_a_pass_is_where_the_pull_reaches_the_metal_s_own_strength():
    with pytest.warns(OutOfRange):
        stress = drawplate.draw_stress(before="1 mm^2", after=Q(1 - drawplate.IDEAL, "mm^2"), flow_stress="250 MPa",
                                     friction=0, half_angle="10 deg")
    assert stress.m_as("MPa") == pytest.approx(250)


def test_passes_are_whole_and_enough():
    assert number(drawplate, "passes") == 2   # 17 % at most 10 % a pass
    assert number(drawplate, "passes", after="12 mm^2") == 0


def test_mean_flow_stress_is_the_mean_of_the_curve():
    for earlier in (0, 0.3):
        mean = integrate.quad(lambda e: annealing.flow_stress(strain=e, **METAL).m_as("MPa"), earlier, earlier + 0.2)[0] / 0.2
        assert number(drawplate, "mean_flow_stress", earlier=earlier) == pytest.approx(mean, rel=1e-5)


def test_a_disc_has_the_surface_of_its_cup():
    blank = number(raising, "blank_diameter")
    assert np.pi / 4 * blank**2 == pytest.approx(np.pi / 4 * 8**2 + np.pi * 8 * 90)
    assert number(raising, "blank_diameter", height="0 mm") == 8
    assert number(raising, "courses", reduction=0.2) < number(raising, "courses")
    assert number(raising, "rim_thickening", blank="8 mm") == 1
