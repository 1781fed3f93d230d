"""kit.units: the decorator, what it refuses and in which words, and the text of numbers."""
import operator
import pickle
import re
import warnings

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.units import OutOfRange, Q, magnitude, parse, read, units, ureg, warn_outside


@units("N*m", force="N >= 0", radius="m > 0", slip="> 0 <= 1")
def torque(force, radius, slip=1):
    return force * radius * slip


@units("turn/s", rate="turn/s >= 0")
def turning(rate):
    return rate


@units("1/s", frequency="1/s > 0")
def stroking(frequency):
    return frequency


@units("mm", feed="mm/turn > 0")
def chip(feed):
    return feed


@units("K", change="K")
def warming(change):
    return change


@units("mm", length="mm > 0", gap="mm >= 0", shim="mm > 0")
def stack(length, gap="2 mm", shim=None):
    return length + gap + (0 if shim is None else shim)


def words(kind, function, **given):
    """The one line that a refused call says."""
    with pytest.raises(kind) as caught:
        function(**given)
    said = str(caught.value)
    assert "\n" not in said
    return said


# What goes in and comes out

def test_text_and_quantity_are_the_same():
    assert torque(force="20 N", radius="40 mm") == torque(force=Q(20, "N"), radius=Q(4, "cm"))
    assert torque(force="20 N", radius="40 mm").m_as("N*m") == pytest.approx(0.8)


def test_result_carries_its_unit():
    assert torque(force="1 N", radius="1 m").units == ureg.Unit("N*m")
    assert str(torque(force="1 N", radius="1 m")) == "1.0 N·m"


def test_scalar_in_scalar_out_and_arrays_broadcast():
    assert np.ndim(torque(force="1 N", radius="1 m").magnitude) == 0
    assert np.ndim(torque(force=Q(np.array(3.0), "N"), radius="1 m").magnitude) == 0
    grid = torque(force=Q([[1], [2]], "N"), radius=Q([10, 20, 30], "mm")).m_as("N*mm")
    np.testing.assert_allclose(grid, [[10, 20, 30], [20, 40, 60]])


def test_caller_keeps_his_array():
    mine = Q(np.array([1.0, 2.0]), "kN")
    torque(force=mine, radius="1 m")
    np.testing.assert_array_equal(mine.m_as("kN"), [1, 2])


def test_pure_numbers_may_be_bare_lists_arrays_or_percent():
    for slip in (0.5, "0.5", "50 %", Q(0.5, ""), np.float64(0.5)):
        assert torque(force="2 N", radius="1 m", slip=slip).m_as("N*m") == pytest.approx(1)
    np.testing.assert_allclose(torque(force="2 N", radius="1 m", slip=[0.5, 1]).m_as("N*m"), [1, 2])


def test_default_given_as_text_is_read_and_none_is_left_out():
    assert stack(length="8 mm").m_as("mm") == 10
    assert stack(length="8 mm", gap="0 mm", shim="0.5 mm").m_as("mm") == 8.5
    assert stack(length="8 mm", gap="0 mm", shim=None).m_as("mm") == 8


@pytest.mark.parametrize(("text", "value", "unit"), [
    ("8 mm", 8, "mm"), ("8mm", 8, "mm"), (" 8.5 mm ", 8.5, "mm"), ("-3e-6 1/K", -3e-6, "1/K"), (".5 N·m", 0.5, "N*m"),
    ("0.5 N*m", 0.5, "N*m"), ("60/min", 60, "1/min"), ("60 1/min", 60, "1/min"), ("20 degC", 20, "degC"),
    ("30°", 30, "deg"), ("5 µm", 5, "um"), ("5 μm", 5, "um"), ("2 mm²", 2, "mm**2"), ("0.15", 0.15, ""),
    ("12 %", 12, "%")])
def test_reads(text, value, unit):
    assert read(text).magnitude == value
    assert read(text).units == ureg.Unit(unit)


# Units that are easily mistaken

def test_turning_and_stroking_are_not_confused():
    assert turning(rate="60 rpm").m_as("turn/s") == pytest.approx(1)
    assert turning(rate=Q(2 * np.pi, "rad/s")).m_as("turn/s") == pytest.approx(1)
    for rate in ("60/min", "60 Hz"):
        said = words(pint.DimensionalityError, turning, rate=rate)
        assert "argument 'rate' takes a unit like turn/s, for example rate='8 turn/s'" in said
        assert "must say so (turn/s, rpm, deg, turn)" in said
    assert stroking(frequency="60/min").m_as("1/s") == pytest.approx(1)
    assert stroking(frequency="1 Hz").m_as("1/s") == pytest.approx(1)
    for frequency in ("60 rpm", "60 cycle/min", "6 rad/s"):
        said = words(pint.DimensionalityError, stroking, frequency=frequency)
        assert "'frequency'" in said and "must not carry an angle" in said and "stroke rate as 60/min" in said


def test_feed_with_and_without_its_turn():
    assert chip(feed="0.05 mm") == chip(feed="0.05 mm/turn") == chip(feed="50 um")
    np.testing.assert_allclose(chip(feed=Q([5e-5, 1e-4], "m/turn")).m_as("mm"), [0.05, 0.1])
    assert chip(feed="1 mm/rad").m_as("mm") == pytest.approx(2 * np.pi)
    assert "'feed'" in words(pint.DimensionalityError, chip, feed="0.05 mm/s")
    assert words(ValueError, chip, feed="0 mm") == "feed: 0 mm/turn makes no sense here; it must be > 0"


def test_temperature_difference_is_not_a_temperature():
    assert warming(change="15 K") == warming(change="15 delta_degC")
    assert warming(change="9 delta_degF").m_as("K") == pytest.approx(5)
    said = words(pint.DimensionalityError, warming, change="15 degC")
    assert "'change' is a difference of temperature: write it in K or delta_degC" in said


def test_absolute_temperature_where_one_is_meant():
    assert magnitude("300 K", "degC") == pytest.approx(26.85)
    assert magnitude("20 degC", "degC") == 20


def test_thou_is_a_length_and_mil_is_not():
    assert stack(length="5 thou", gap="0 mm").m_as("mm") == pytest.approx(0.127)
    assert "'length' takes a unit like mm" in words(pint.DimensionalityError, stack, length="5 mil")


def test_vickers_hardness_is_a_pressure():
    assert magnitude("1 HV", "MPa") == pytest.approx(9.80665)
    assert magnitude("120 HV", "kgf/mm**2") == pytest.approx(120)


def test_torque_prints_force_first():
    assert str(Q(1.5, "N*m")) == "1.5 N·m"
    assert str(Q(2, "N") * Q(3, "m")) == "6 N·m"
    assert str(Q(6, "m*N").to("N*m")) == "6 N·m"


def test_one_registry():
    assert pint.application_registry.get() is ureg
    assert torque(force=pint.Quantity(2, "N"), radius="1 m") == Q(2, "N*m")
    back = pickle.loads(pickle.dumps(Q([1.0, 2.0], "HV")))
    assert back._REGISTRY is ureg
    np.testing.assert_allclose((back + Q(1, "HV")).m_as("HV"), [2, 3])


def test_quantity_of_another_registry():
    said = words(ValueError, torque, force=pint.UnitRegistry().Quantity(2, "N"), radius="1 m")
    assert said == "force: 2.00 N is of another unit registry; make it with kit.Q or write '8 mm'"


def test_stripping_a_unit_is_an_error_in_tests():
    with pytest.raises(pint.UnitStrippedWarning):
        np.asarray(Q([1.0, 2.0], "mm"))


# Bad input, and what is said

def test_bare_number():
    assert words(TypeError, torque, force=20, radius="1 m") == (
        "force: 20 has no unit; expected one like N, for example force='8 N'")
    assert "radius='8 m'" in words(TypeError, torque, force="1 N", radius=np.float64(8))
    assert "rate='8 turn/s'" in words(TypeError, turning, rate=3)


def test_bare_list():
    for value in ([1, 2], [Q(1, "mm"), Q(2, "mm")], ["1 mm", "2 mm"]):
        assert words(TypeError, stack, length=value).endswith("for example length=Q([8, 9], 'mm')")


def test_a_long_bare_array_is_told_shortly():
    for value in (np.arange(10_000.0), np.ones((50, 50)), list(range(1000))):
        said = words(TypeError, stack, length=value)
        assert said.startswith("length: ") and "has no unit" in said and len(said) < 150


@pytest.mark.parametrize("value", [None, True, {}, 1j])
def test_no_quantity_at_all(value):
    assert words(TypeError, stack, length=value) == f"length: expected a quantity like '8 mm', got {value!r}"
    said = words(TypeError, torque, force="1 N", radius="1 m", slip=value)
    assert said == f"slip: expected a quantity like '2', got {value!r}"


@pytest.mark.parametrize("value", [["a"], [[1, 2], [3]], Q(1j, ""), np.array(["b"])])
def test_no_numbers(value):
    assert words(TypeError, torque, force="1 N", radius="1 m", slip=value).startswith("slip: expected numbers, got ")


def test_wrong_dimension():
    said = words(pint.DimensionalityError, torque, force="20 N", radius="3 s")
    assert said == ("Cannot convert from 's' ([time]) to 'm' ([length]); argument 'radius' takes a unit like m, "
                    "for example radius='8 m'")
    assert "'radius' takes a unit like m" in words(pint.DimensionalityError, torque, force="20 N", radius="3")
    assert "'slip' takes a pure number, for example slip='2'" in words(
        pint.DimensionalityError, torque, force="1 N", radius="1 m", slip="3 mm")
    assert "'slip' takes a pure number" in words(
        pint.DimensionalityError, torque, force="1 N", radius="1 m", slip="3 deg")


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_not_finite(value):
    for force in (Q(value, "N"), Q([1, value, 3], "N"), Q([[1, 2], [value, 3]], "N")):
        said = words(ValueError, torque, force=force, radius="1 m")
        assert said == f"force: not a finite number ({value}); a value is missing or overflowed"


def test_overflow_in_text():
    assert "force: not a finite number (inf)" in words(ValueError, torque, force="1e400 N", radius="1 m")


def test_negative_and_zero():
    assert words(ValueError, torque, force="-2 N", radius="1 m") == "force: -2 N makes no sense here; it must be >= 0"
    assert words(ValueError, torque, force="2 N", radius="0 m") == "radius: 0 m makes no sense here; it must be > 0"
    assert torque(force="0 N", radius="1 m").magnitude == 0
    said = words(ValueError, torque, force=Q([3, 1, -2, 5], "N"), radius="1 m")
    assert said == "force: -2 N makes no sense here; it must be >= 0"


def test_over_the_upper_bound_is_told_to_the_digit():
    said = words(ValueError, torque, force="1 N", radius="1 m", slip=1.0004)
    assert said == "slip: 1.0004 makes no sense here; it must be <= 1"
    said = words(ValueError, torque, force="1 N", radius="1 m", slip=[0.5, 1.5, 1.2])
    assert said == "slip: 1.5 makes no sense here; it must be <= 1"
    assert torque(force="1 N", radius="1 m", slip=1).magnitude == 1


def test_empty_array():
    assert words(ValueError, torque, force=Q([], "N"), radius="1 m") == "force: the array is empty"


@pytest.mark.parametrize("text", ["", "mm", "eight mm", "nan mm", "0,5 mm", "10,5 mm", "1,500 mm", "1.5.2 mm", "−5 mm",
                                  "1_000 mm"])
def test_unreadable_text(text):
    assert words(ValueError, stack, length=text) == (
        f"length: cannot read {text!r} as a number with its unit; write it like '8 mm' "
        "(decimal point, one number, then the unit)")


@pytest.mark.parametrize(("text", "unit"), [
    ("8 foo", "foo"), ("120 HV10", "HV10"), ("8 2 mm", "2 mm"), ("8 (mm", "(mm"), ("5 +/- 1 mm", "+/- 1 mm"),
    ("1 000 mm", "000 mm")])
def test_unreadable_unit(text, unit):
    said = words(ValueError, stack, length=text)
    assert said.startswith(f"length: cannot read the unit {unit!r} in {text!r} (")
    assert said.endswith("write it like '8 mm'")


def test_all_faults_in_one_message():
    said = words(TypeError, torque, force=20, radius="0 m", slip="3 mm")
    assert said.startswith("force: 20 has no unit")
    assert "; also: radius: 0 m makes no sense" in said
    assert "; also: Cannot convert from 'mm'" in said and "'slip'" in said
    said = words(pint.DimensionalityError, torque, force="20 s", radius=3)
    assert "'force' takes a unit like N" in said and "; also: radius: 3 has no unit" in said
    assert words(ValueError, torque, force="-1 N", radius="0,5 m").count("; also: ") == 1


def test_a_fault_is_told_afresh_each_time():
    first, second = (words(pint.DimensionalityError, torque, force="20 s", radius=3) for _ in range(2))
    assert first == second


def test_wrong_keyword_and_missing_argument():
    said = words(TypeError, torque, force="20 N", raduis="1 m")
    assert said.startswith("torque: ") and said.endswith("it takes force, radius, slip")
    said = words(TypeError, torque, force="20 N")
    assert "missing a required argument: 'radius'" in said and "it takes force, radius, slip" in said


@pytest.mark.parametrize("unit", [
    "mm", "mm/turn", "turn/s", "1/min", "N*m", "N/mm", "MPa", "Pa*s", "mm**2/s", "1/K", "deg", "degC", "delta_degC",
    ""])
def test_the_example_in_a_message_can_be_typed(unit):
    said = words(TypeError, magnitude, value=None, spec=unit)
    example = re.search(r"like '(.*)', got", said)[1]
    assert magnitude(example, unit) == (2 if unit in ("deg", "") else 8)


# Every kind of bad value in every kind of argument: what the estimates lean on

MATRIX = {   # spec: (a value that is taken, values out of its bounds, values of another dimension or angle)
    "mm > 0": (Q(2.0, "mm"), (0, -1), ("3 cd", "3", "3 mm**2", "3 mm/turn")),
    "N >= 0": (Q(2.0, "N"), (-1e-9,), ("3 cd", "3", "3 N*m", "3 kg")),
    "MPa": (Q(-2.0, "MPa"), (), ("3 cd", "3", "3 N", "3 MPa*turn")),
    "> 0 <= 1": (Q(0.5, ""), (0, -0.1, 1.0001), ("3 cd", "3 mm", "0.5 turn", "3 deg")),
    ">= 2": (Q(3.0, ""), (1.999, -2), ("3 cd", "3 rad", "3 1/s")),
    "": (Q(-3.0, ""), (), ("3 cd", "3 rad")),
    "turn/s >= 0": (Q(2.0, "turn/s"), (-0.1,), ("3 cd", "3", "60/min", "3 Hz", "3 turn")),
    "1/min > 0": (Q(60.0, "1/min"), (0, -1), ("3 cd", "3", "60 rpm", "6 rad/s", "3 min")),
    "mm/turn > 0": (Q(0.05, "mm/turn"), (0, -0.05), ("3 cd", "3", "3 mm/s", "3 turn")),
    "deg > 0 <= 180": (Q(90.0, "deg"), (0, -1, 180.001), ("3 cd", "3", "3 mm")),
    "degC > -20 < 300": (Q(20.0, "degC"), (-20, -273, 300), ("3 cd", "3", "3 mm")),
    "K": (Q(15.0, "K"), (), ("3 cd", "3", "3 degC")),
    "mm^3/(N*m) >= 0": (Q(1e-5, "mm^3/(N*m)"), (-1e-5,), ("3 cd", "3", "3 mm^3")),
    "Pa*s > 0": (Q(0.084, "Pa*s"), (0, -0.1), ("3 cd", "3", "3 Pa")),
}
FAR = pint.UnitRegistry()


def in_arrays(good, bad):
    """A bad value alone, and as the first, a middle and the last of several, in a row and in a table."""
    yield Q(bad, good.units)
    for place in range(3):
        several = np.full(3, good.magnitude)
        several[place] = bad
        yield Q(several, good.units)
        yield Q(np.stack([np.full(3, good.magnitude), several]), good.units)


def bad_values(spec):
    """(value, error, words of it) of all that an argument of this kind must refuse."""
    good, outside, otherwise = MATRIX[spec]
    pure = good.dimensionless and "turn" not in spec and "deg" not in spec
    for bad in (np.nan, np.inf, -np.inf):
        yield from ((value, ValueError, "^it: not a finite number") for value in in_arrays(good, bad))
    for bad in outside:
        yield from ((value, ValueError, "^it: .* makes no sense here; it must be ") for value in in_arrays(good, bad))
    for other in otherwise:
        yield other, pint.DimensionalityError, "'it'"
        yield Q([1.0, 2.0], read(other).units), pint.DimensionalityError, "'it'"
    for junk in ("", "mm", "eight mm", "0,5 mm", "1_000 mm", "8 foo", "8 (mm"):
        yield junk, ValueError, "^it: cannot read"
    for nothing in (None, True, np.True_, {}, {1.0}, 1j, b"8 mm", object()):
        yield nothing, TypeError, "^it: expected a quantity"
    yield Q([], good.units), ValueError, "^it: the array is empty"
    yield Q(1j, good.units), TypeError, "^it: expected numbers"
    yield FAR.Quantity(2.0, "mm"), ValueError, "^it: .* of another unit registry"
    for bare in (2, 2.0, np.float64(2), np.array(2.0), np.ones(3), [1.0, 2.0], (1, 2), [Q(1.0, good.units)]):
        if not pure:
            yield bare, TypeError, "^it: .* has no unit"
    if pure:
        for ragged in ([[1, 2], [3]], ["a"], [Q(1.0, "mm")], np.array(["b"])):
            yield ragged, TypeError, "^it: expected numbers"


def refusal(call, value, error, said):
    """What is wrong with the way a value is refused, or None."""
    try:
        found = call(value)
    except error as caught:
        return None if re.search(said, str(caught)) and "\n" not in str(caught) else f"{value!r} is refused with {caught}"
    except Exception as caught:   # told with the other faults
        return f"{value!r} is refused with {type(caught).__name__}: {caught}"
    return f"{value!r} is taken for {found}"


@pytest.mark.parametrize("spec", MATRIX)
def test_every_bad_value_is_refused_in_every_place(spec):
    @units(it=spec, other="mm")
    def first(it, other="1 mm"):
        return it

    @units(it=spec, other="mm")
    def last(other, it=None):
        return it

    @units("s", it=spec)
    def alone(*, it="nothing"):   # a default is read only where it is needed
        return 0 * it

    ways = {"by place": lambda value: first(value), "by name": lambda value: first(other="2 mm", it=value),
            "last": lambda value: last("2 mm", value), "alone": lambda value: alone(it=value)}
    faults = []
    for value, error, said in bad_values(spec):
        for way, call in ways.items():
            if value is None and way == "last":
                assert call(None) is None   # left out
                continue
            wrong = refusal(call, value, error, said)
            faults += [f"{way}: {wrong}"] if wrong else []
    assert faults == []


@pytest.mark.parametrize("spec", MATRIX)
def test_what_is_no_bad_value_is_taken(spec):
    good = MATRIX[spec][0]

    @units(it=spec)
    def given(it):
        return it

    number = given(it=good)
    assert isinstance(number, float) and number == pytest.approx(good.magnitude)
    for shape in ((), (3,), (2, 3), (1, 1)):
        taken = given(it=Q(np.full(shape, good.magnitude), good.units))
        assert np.shape(taken) == shape and np.all(np.asarray(taken) == number)
    if good.magnitude == int(good.magnitude):
        assert isinstance(given(it=Q(int(good.magnitude), good.units)), float)


# The decorator itself

def test_wrong_spec_fails_where_it_is_written():
    with pytest.raises(pint.UndefinedUnitError):
        units("N", force="newtonn > 0")(lambda force: force)
    with pytest.raises(AssertionError, match="radius"):
        units("N", radius="mm")(lambda force: force)


def test_keeps_name_and_docstring():
    assert torque.__name__ == "torque" and warm_doc.__doc__ == "Says what it does."


@units("mm", length="mm")
def warm_doc(length):
    """Says what it does."""
    return length


def test_without_result_unit_and_spec_things_pass_as_they_are():
    @units(length="mm")
    def both(length, kind):
        return length, kind

    assert both(length="1 cm", kind="round") == (10, "round")


@given(value=st.floats(1e-9, 1e9), unit=st.sampled_from(["mm", "m", "inch", "um", "thou"]))
def test_conversion_agrees_with_the_definition(value, unit):
    in_mm = {"mm": 1, "m": 1000, "inch": 25.4, "um": 1e-3, "thou": 0.0254}[unit]   # inch: exactly 25.4 mm by definition
    assert magnitude(Q(value, unit), "mm > 0") == pytest.approx(value * in_mm, rel=1e-12)
    np.testing.assert_allclose(magnitude(Q([value, value], unit), "mm > 0"), value * in_mm, rtol=1e-12)


# Out of range: a warning, told once and where the caller stands

@units("mm", depth="mm")
def scraped(depth):
    warn_outside(depth, 0.1, 0.4, "mm", "the depth is {}; the table of scrapers covers {}")
    return depth


def test_inside_is_silent():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        scraped(depth="0.1 mm")
        scraped(depth=Q([0.1, 0.25, 0.4], "mm"))


@pytest.mark.parametrize(("depth", "said"), [
    ("0.5 mm", "the depth is 0.50 mm; the table of scrapers covers 0.1 to 0.4 mm"),
    ("0.4001 mm", "the depth is 0.4001 mm; the table of scrapers covers 0.1 to 0.4 mm"),
    (Q(np.r_[np.full(75, 0.2), np.full(25, 0.05)], "mm"),
     "the depth is 0.20 (0.050 to 0.20) mm; the table of scrapers covers 0.1 to 0.4 mm (25 % of draws lie outside)"),
    (Q(np.r_[np.full(996, 0.2), np.full(4, 0.5)], "mm"),
     "the depth is 0.20 (0.20 to 0.20) mm; the table of scrapers covers 0.1 to 0.4 mm (<1 % of draws lie outside)")])
def test_outside_warns(depth, said):
    with pytest.warns(OutOfRange) as caught:
        result = scraped(depth=depth)
    assert [str(w.message) for w in caught] == [said]
    assert caught[0].filename == __file__
    np.testing.assert_array_equal(result.m_as("mm"), Q(depth).m_as("mm"))   # it warns, and still answers


@pytest.mark.parametrize(("value", "low", "high", "said"), [
    (3, 1, 2, "the ratio is 3.0; the book needs 1 to 2"), (3.229, 12, np.inf, "the ratio is 3.2; the book needs at least 12"),
    (11.6, 12, np.inf, "the ratio is 11.6; the book needs at least 12"), (1549, 0, 1500, "the ratio is 1549; the book needs at most 1500"),
    (0.00251, 0, 0.0025, "the ratio is 0.00251; the book needs at most 0.0025"), (-3, -2, 2, "the ratio is -3.0; the book needs -2 to 2")])
def test_outside_at_both_ends_and_at_one(value, low, high, said):
    """As few digits, from two on, as still show that it lies outside; a bound that is none is not told."""
    with pytest.warns(OutOfRange, match=f"^{re.escape(said)}$"):
        warn_outside(value, low, high, "", "the ratio is {}; the book needs {}")


# What is no unit is refused before pint works it out

@pytest.mark.parametrize("text", ["mm^9^9^9", "MPa**10**10**10", "mm?", "mm # 3", "mm\0", "mm mm", "m^99", "exec", "mm^-", "(mm)", "mm//m", "mm*" * 20 + "mm",
                                  "mm^2.5", "1/1/min", "__class__", "2 mm"])
def test_a_unit_that_is_none_is_refused_at_once(text):
    with pytest.raises(ValueError) as caught:
        parse(text)
    assert len(str(caught.value)) < 160 and "\n" not in str(caught.value)
    with pytest.raises(ValueError, match="write it like '8 mm'"):
        read(f"5 {text}")


@pytest.mark.parametrize("text", ["mm", "N*m", "N·m", "kg/m^3", "kg/m**3", "kg/m³", "1/min", "/min", "mm / turn", "W/m/K", "mPa*s", "µm", "um", "degC", "°C", "deg", "°", "HV", "turn/h",
                                  "%", "", "mm^3/(N*m)", "delta_degC", "thou", "inch", "standard_gravity", "vickers", "cm^3", "m^-1"])
def test_units_of_tables_and_of_print_are_read(text):
    assert parse(text) == ureg.Unit("" if text == "" else parse(text))


@given(st.text(max_size=60))
def test_no_text_hangs_or_shows_an_error_of_the_library(text):
    try:
        read(text)
    except ValueError as error:
        assert str(error).startswith("cannot read")


def test_the_short_way_gives_what_pint_gives_to_the_last_bit():
    """Against a registry of pint's own: bits, kind of number, and order of the units, which print and digests keep."""
    pints, arrays = pint.UnitRegistry(), (np.array([1.5, -2.0]), np.array([1, 2]))
    names = "mm", "inch", "N*m", "1/min", "rpm", "", "degC", "delta_degC", "dB"
    operations = {"a * b": operator.mul, "a / b": operator.truediv, "a + b": operator.add, "a - b": operator.sub, "a < b": operator.lt,
                  "b * a": lambda a, b: b * a, "b / a": lambda a, b: b / a, "a.to(b)": lambda a, b: a.to(getattr(b, "units", "mm"))}

    def done(registry, operation, a, b, one, other):
        try:
            made = operation(registry.Quantity(a, one), b if other is None else registry.Quantity(b, other))
        except (pint.errors.PintError, ValueError, TypeError) as error:
            return type(error).__name__, str(error)[:20]
        if not hasattr(made, "_units"):
            return repr(made)
        return type(made.magnitude), np.asarray(made.magnitude).tobytes(), list(made._units.unit_items())

    with np.errstate(all="ignore"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for a, b in [(x, y) for x in (2.5, np.float64(0.3), 3, *arrays) for y in (0.7, 4, *arrays)]:
            for one, other in [(one, other) for one in names for other in (*names, None)]:
                for said, operation in operations.items():
                    ours, theirs = (done(registry, operation, a, b, one, other) for registry in (ureg, pints))
                    assert ours == theirs, (said, a, one, b, other)
