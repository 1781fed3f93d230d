"""The tables of edges, drill points, form and laps: names that the code leans on, numbers that the formulas take."""
import warnings

import numpy as np
import pytest

from kit import cutting, evidence, form, tables
from kit.units import OutOfRange, Q, ureg

PART = "out_of_round um, taper mm/m"
MOUTH = f"{PART}, bell_mouth um"
NEEDED = {   # table: {things (joined by |): keys with their units}
    "edge_life": {"edge": "wear_coefficient um/m, allowed_recession um, least_ratio, sharpening min",
                  "two-lip drill|polygon broach": "sharpening min, stoned um",
                  "half-round bit": "sharpening min, stoned um, spare um",
                  "fluted reamer": "sharpening min, stoned um, margin mm, clearance_angle deg",
                  "tin bronze at the chip|leaded bronze at the chip|brass at the chip|copper at the chip|"
                  "silver at the chip|wrought iron at the chip": "hardness HV"},
    "drill_points": {"flat drill, hand-forged|flat drill, stoned thin|flat drill, cutting both ways|twist drill":
                     "chisel_ratio, rake_factor, first_peck, next_peck", "clearing chips": "time s, speed mm/s"},
    "form": {"fluted reamer|polygon broach|two-lip drill|half-round bit": f"left, {MOUTH}, oversize um",
             "boring bar": f"left, {MOUTH}"},
    "laps": {"shaft against bore": f"length_share, arbor_share, scratch_multiple, {MOUTH}",
             "split lap, wood|split lap, copper or lead":
                 f"length_share, arbor_share, modulus GPa, life min, making min, truing min, scratch_multiple, {MOUTH}",
             "ring lap": f"length_share, life min, making min, truing min, scratch_multiple, {PART}"},
}
LEANT_ON = [(table, of, units) for table, groups in NEEDED.items()
            for group, units in groups.items() for of in group.split("|")]
EACH = {"out_of_round", "taper", "bell_mouth", "oversize"}


def known(table, of):
    return {key.removeprefix("it."): a for key, a in evidence.reference(table=table, of=of, prefix="it").items()}


def points(table, of, key, p=(0.05, 0.5, 0.95)):
    assumption = known(table, of)[key]
    return Q(assumption.quantile(np.array(p)), assumption.unit)


@pytest.mark.parametrize("table, of, units", LEANT_ON, ids=[f"{table}: {of}" for table, of, _ in LEANT_ON])
def test_names_and_units(table, of, units):
    wanted = {key: ureg.Unit(unit) for key, _, unit in (text.partition(" ") for text in units.split(", "))}
    assert {key: ureg.Unit(a.unit) for key, a in known(table, of).items()} == wanted


@pytest.mark.parametrize("table", NEEDED)
def test_no_row_is_without_use_and_what_differs_from_piece_to_piece_says_so(table):
    assert {row["of"] for row in tables.load(table)} == {of for name, of, _ in LEANT_ON if name == table}
    for row in tables.load(table):
        assert row["each"] <= 0.5 and (row["each"] == 0.5 or row["key"] not in EACH), f"{row['of']} / {row['key']}"


@pytest.mark.parametrize("table", NEEDED)
def test_what_is_assumed_is_called_a_conjecture(table):
    for row in tables.load(table):
        if row["source"] == "assumption":
            assert row["grade"] == "conjecture", f"{row['of']} / {row['key']}"


@pytest.mark.parametrize("table, key, low, high", [
    ("form", "left", 0, 1), ("laps", "arbor_share", 0, 1), ("edge_life", "least_ratio", 1.4, 1.7),
    ("edge_life", "clearance_angle", 0, 45), ("drill_points", "rake_factor", 0.9, 4)])
def test_draws_stay_where_the_formulas_hold(table, key, low, high):
    for row in (row for row in tables.load(table) if row["key"] == key):
        ends = evidence.from_row(row=row, place=table).quantile(np.array([1e-6, 1 - 1e-6]))
        assert low <= ends[0] and ends[1] <= high, row["of"]


@pytest.mark.parametrize("of", ["flat drill, hand-forged", "flat drill, stoned thin", "flat drill, cutting both ways"])
def test_drawn_chisel_edges_lie_in_the_handbook_s_table(of):
    with warnings.catch_warnings():
        warnings.simplefilter("error", OutOfRange)
        cutting.chisel_factors(ratio=points("drill_points", of, "chisel_ratio", (0.001, 0.999)))


def test_hand_forged_point_is_that_of_its_blade():
    """Blade of 0.15 to 0.30 of the diameter, an assumption: with the rule of the blade the ends of the range."""
    ends = [cutting.blade_chisel(thickness=Q(share, "mm"), diameter="1 mm").m_as("") for share in (0.15, 0.30)]
    drawn = points("drill_points", "flat drill, hand-forged", "chisel_ratio", (0.05, 0.95))
    assert drawn.m == pytest.approx(ends, abs=0.005)


@pytest.mark.parametrize("metal", ["tin bronze", "brass", "copper", "silver", "wrought iron"])
def test_the_chip_is_harder_than_the_worked_bar(metal):
    """E. M. Trent, Wear 128 (1988) 41: the strain in a chip is seldom under 2, far beyond cold working."""
    chip = points("edge_life", f"{metal} at the chip", "hardness").m_as("HV")
    assert np.all(chip > points("alloys", f"{metal}, worked", "hardness").m_as("HV"))


@pytest.mark.parametrize("table, keys, order", [
    ("drill_points", "chisel_ratio", "flat drill, stoned thin|twist drill|flat drill, hand-forged"),
    ("drill_points", "rake_factor", "twist drill|flat drill, hand-forged|flat drill, cutting both ways"),
    ("drill_points", "first_peck", "flat drill, hand-forged|twist drill"),
    ("form", "left", "boring bar|half-round bit|two-lip drill|fluted reamer"),
    ("form", "out_of_round|taper|bell_mouth|oversize", "fluted reamer|two-lip drill"),
    ("laps", "out_of_round|taper|bell_mouth", "split lap, copper or lead|split lap, wood"),
    ("laps", "scratch_multiple", "split lap, wood|split lap, copper or lead|shaft against bore"),
    ("laps", "life", "split lap, copper or lead|ring lap"),
    ("edge_life", "sharpening", "half-round bit|two-lip drill")])
def test_order_of_things(table, keys, order):
    for key in keys.split("|"):
        medians = [points(table, of, key)[1] for of in order.split("|")]
        assert medians == sorted(medians) and len(set(medians)) == len(medians), key


def test_a_wooden_lap_follows_a_bow_and_an_iron_core_does_not():
    """What the tables say of stiffness, 10 mm by 90 mm at 30 kPa: more and less than a large bow of 20 um."""
    def bend(of):
        share, modulus = (points("laps", of, key)[1] for key in ("arbor_share", "modulus"))
        return form.lap_bend(pressure="30 kPa", bore="10 mm", length="90 mm", arbor_diameter=share * Q(10, "mm"),
                             modulus=modulus).m_as("um")

    assert bend("split lap, copper or lead") < 20 < bend("split lap, wood")


def test_standard_point_is_that_of_the_handbook():
    """Machinery's Handbook, 31st ed., p. 1152: A 1.085, B 1.355, J 0.030 of the standard point."""
    chisel = cutting.chisel_factors(ratio=known("drill_points", "twist drill")["chisel_ratio"].middle)
    assert chisel.torque.m_as("") == pytest.approx(1.085, abs=0.005)
    assert chisel.thrust.m_as("") == pytest.approx(1.355, abs=0.005)
    assert chisel.indentation.m_as("") == pytest.approx(0.030, abs=0.0025)
