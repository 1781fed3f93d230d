"""kit.words: how a thing is said to a reader: numbers, units, ranges, chances, shares, counts, keys, columns."""
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import evidence, study, tables, words
from kit.units import Q, parse, show, ureg
from kit.words import THIN, number, spread


def plain(text):
    """A number as words say it, read back."""
    return float(text.replace(THIN, ""))

@pytest.mark.parametrize("key, told", [
    ("abrasive.emery, fine.wear_coefficient@hours", "emery, fine: wear coefficient (hours)"),
    ("drive.rest_tension", "drive: rest tension"), ("hand.pinch@lamp-oil barrel", "hand: pinch (lamp-oil barrel)"),
    ("metal.bronze, 10 % tin.hardness", "metal.bronze, 10 % tin: hardness"), ("abrasive.grain", "grain"),
    ("run_out", "run out"), ("wall.wall", "wall")])
def test_a_key_as_a_label(key, told):
    assert words.key_label(key) == told


# Text of numbers

@pytest.mark.parametrize(("value", "text"), [
    (0, "0"), (-0.0, "0"), (1, "1.00"), (-1, "-1.00"), (0.5, "0.500"), (1234, "1230"), (12345, f"12{THIN}300"), (123_456, f"123{THIN}000"),
    (999_999, f"1{THIN}000{THIN}000"), (1e6, f"1{THIN}000{THIN}000"), (1e-4, "0.000100"), (9.994e-5, "0.0000999"), (9.996, "10.0"),
    (-9.996, "-10.0"), (0.99999, "1.00"), (999.5, "1000"), (np.inf, "∞"), (-np.inf, "−∞"), (np.nan, "nan")])
def test_number(value, text):
    assert number(value) == text


@given(value=st.floats(-1e12, 1e12).filter(lambda v: abs(v) > 1e-12), digits=st.integers(1, 8))
def test_number_reads_back_within_its_digits(value, digits):
    text = number(value, digits)
    last = 10.0 ** (np.floor(np.log10(abs(value))) + 1 - digits)   # worth of one in the last digit
    assert abs(plain(text) - value) <= 0.5 * last * (1 + 1e-6) and "e" not in text
    shown = re.sub(r"^0*", "", text.lstrip("-").replace(".", "").replace(THIN, ""))
    assert len(shown) == max(digits, len(text.lstrip("-").split(".")[0].replace(THIN, "").lstrip("0")))
    assert all(len(group) == 3 for group in text.lstrip("-").split(".")[0].split(THIN)[1:])


@given(st.lists(st.floats(1e-3, 1e5), min_size=2, max_size=40))
def test_spread_is_ordered_and_inside_the_values(values):
    mid, low, high = map(plain, re.fullmatch(r"([^ ]+) \(([^ ]+) to ([^ ]+)\)", spread(values, 4)).groups())
    assert min(values) * 0.999 <= low <= mid <= high <= max(values) * 1.001


def test_spread():
    assert spread(np.arange(1, 101)) == "50 (5.0 to 95)"
    assert spread(np.arange(1, 101), 3) == "50.0 (5.00 to 95.0)"
    assert spread(3.14159) == spread([3.14159]) == "3.1"


def test_spread_of_infinite_margins():
    assert spread([1, 2, np.inf, np.inf]) == "2.0 (1.0 to ∞)"
    assert spread([np.inf, np.inf, np.inf]) == "∞ (∞ to ∞)"


def test_show():
    assert show("8 mm") == "8.00 mm"
    assert show(Q(0.8126, "N*m")) == "0.813 N·m"
    assert show(Q(0.8126, "N*m"), 2) == "0.81 N·m"
    assert show(0.25) == show(Q(0.25, "")) == "0.250"
    assert show(Q(np.arange(1, 101), "mm")) == "50 (5.0 to 95) mm"
    assert show(Q(np.arange(1, 101), "mm"), 3) == "50.0 (5.00 to 95.0) mm"
    assert show(Q(20, "degC")) == "20.0 °C"


@pytest.mark.parametrize("value, text", [
    (40.0, "40"), (0.4, "0.4"), (10.225, "10.225"), (0.1 + 0.2, "0.3"), (16384, f"16{THIN}384"), (2.5e9, f"2{THIN}500{THIN}000{THIN}000"), (1e-7, "0.0000001"), (-3.0, "-3")])
def test_a_number_as_it_was_planned(value, text):
    assert words.exact(value) == text


@pytest.mark.parametrize("quantity, text", [
    (Q(40.0, "mm"), "40 mm"), (Q(0.006, "mm"), "6 µm"), (Q(0.1, "mm"), "0.1 mm"), (Q(45, "deg"), "45°"), (Q(1, "turn/h"), "1 turn/h"), (Q(18, "degC"), "18 °C"), (Q(0.2, ""), "0.2")])
def test_a_size_as_it_was_planned(quantity, text):
    assert words.planned(quantity) == text


# --- units --------------------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("typed, printed", [
    ("N*m", "N·m"), ("um", "µm"), ("kg/m^3", "kg/m³"), ("1/min", "1/min"), ("mm/turn", "mm/turn"), ("degC", "°C"), ("deg", "°"), ("mPa*s", "mPa·s"), ("HV", "HV"), ("", ""),
    ("N*mm", "N·mm"), ("turn/h", "turn/h"), ("cm^3", "cm³"), ("mN/m", "mN/m"), ("mm/m", "mm/m")])
def test_units_print_the_same_from_text_and_from_pint(typed, printed):
    assert words.unit(typed) == words.unit(parse(typed)) == words.unit(Q(1, typed)) == printed
    assert words.typed(parse(typed)) == typed and str(ureg.Unit(typed) if typed else "") == printed


def test_every_unit_of_the_tables_prints():
    rows = [row for name in tables.package(tables.REFERENCE) for row in tables.load(name) if "unit" in row]
    for unit in {row["unit"] or "" for row in rows}:
        assert words.unit(unit) == words.unit(parse(unit)) and "*" not in words.unit(unit) and "^" not in words.unit(unit)


def test_torque_is_newton_metre_in_whichever_order_it_came():
    assert words.unit(Q(2, "m") * Q(3, "N")) == words.unit(Q(3, "N") * Q(2, "m")) == "N·m"


# --- chances and shares -------------------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("chance, text", [(0, "<0.01"), (0.004, "<0.01"), (0.005, "0.01"), (0.5, "0.50"), (0.994, "0.99"), (0.995, ">0.99"), (1, ">0.99")])
def test_a_chance_is_never_all_or_none(chance, text):
    assert words.chance(chance) == text


@pytest.mark.parametrize("share, text", [(0, "0 %"), (0.001, "<1 %"), (0.05, "5 %"), (0.97, "97 %"), (0.9987, ">99 %"), (1, "100 %")])
def test_a_share_is_all_or_none_only_where_it_is(share, text):
    assert words.percent(share) == text


def test_ranges_counts_and_draws():
    assert words.ranged(0.83, 3.94, 16.6, "N*m") == "3.9 (0.83 to 17) N·m" and words.ranged(2, 2, 2) == "2.0"
    assert [words.counted(n, "reading", spelt=True) for n in (1, 3, 12, 13)] == ["one reading", "three readings", "twelve readings", "13 readings"]
    assert words.counted(1, "draw") == "1 draw" and words.counted(16384, "draw") == f"16{THIN}384 draws" == words.draws(16384, 1).partition(",")[0]


# --- names --------------------------------------------------------------------------------------------------------------------------------

def test_every_assumption_of_the_reference_tables_has_a_label_of_its_own():
    for name in tables.package(tables.REFERENCE):
        rows = tables.load(name)
        if rows and "label" in rows[0]:
            labels = [row["label"] for row in rows]
            assert len(set(labels)) == len(labels) and not any("_" in label or "." in label.removesuffix(".") and not re.search(r"\d\.\d", label) for label in labels)


@pytest.mark.parametrize("folder", ["harbour-dial", "workshop-piece"])
def test_every_assumption_of_a_study_is_said_in_words(folder):
    part = study.load(tables.DATA / folder)
    for key, label in part.labels.items():
        assert "_" not in label and "@" not in label and not re.search(r"[a-z]\.[a-z]", label), key
    assert part.said("wall") == "wall" and part.said("left_on") == "lapping allowance" and "sleeve" in study.load().said("hours.wall")


def test_a_row_of_the_studys_own_keeps_the_label_of_the_tables():
    assert study.load().labels["pointer.service_torque"] == "torque to set a pointer by hand"
    assert evidence.Assumption("a.b_c", None, 1, 2, "mm", "uniform", "conjecture", "assumption").said == "a: b c"


def test_columns_have_headings():
    assert words.heading("margin_5") == "margin, 5 %" and words.heading("stock_um") == "stock, µm" and words.heading("some_length_mm") == "some length, mm"
    assert list(words.headed(study.load().dimensions)) == ["bore, mm", "wall, mm", "outside, mm", "length, mm", "clearance, µm"]
