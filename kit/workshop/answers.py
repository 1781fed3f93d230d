"""Numbers and ranges as people type them: understood where possible, otherwise answered with a kind message.

"about 5", "5,0", "5 mm", "0.2in" are numbers; "5-6" is a range.
"""
import re
import unicodedata
from dataclasses import dataclass

import numpy as np

from kit.base import words
from kit.base.units import Q


class AnswerError(ValueError):
    """An answer that cannot be taken as it stands; the message is for a learner: what was typed, what is understood."""


def sized(value, unit):
    return words.with_unit(words.number(value), unit)


@dataclass(frozen=True)
class Asked:
    """A quantity that is predicted, and then measured or counted at the bench.

    unit: in which it is asked; least, most: the range possible for such a piece, in that unit. nought: what a zero
    means, where zero is possible. step: of the gauge, None for what is counted.
    """
    key: str
    question: str
    unit: str
    least: float
    most: float
    nought: str = ""
    step: str | None = None

    def checked(self, value):
        """The number, if it is possible for such a piece. Raises AnswerError, which asks about the unit, otherwise."""
        if self.least <= value <= self.most or (value == 0 and self.nought):
            return value
        nought = f", or 0: {self.nought}" if self.nought else ""
        possible = words.with_unit(f"{words.exact(self.least)} to {words.exact(self.most)}", self.unit)
        raise AnswerError(f"{sized(value, self.unit)} is not possible for this piece ({possible}{nought}); is the unit "
                          "right?")


ASKED = {asked.key: asked for asked in (
    Asked("wall", "How thick is the wall at its thinnest place, once the outside is turned?", "mm", 0.05, 10,
          nought="broken through", step="10 um"),
    Asked("strokes", "How many strokes does all the reaming take? Push and pull count as one; so does a turn of a "
          "wrench.", "strokes", 1, 20000),
    Asked("minutes", "How many minutes does all the reaming take, rests left out?", "min", 0.1, 600),
    Asked("clearance", "How much wider is the bore than the plunger, on diameter, after lapping?", "um", 0.5, 1000,
          nought="it does not go in yet", step="5 um"))}


def with_unit(key, label=""):
    """Name of one of ASKED, and a label, with the unit where the name does not say it."""
    unit = ASKED[key].unit
    return key + label + ("" if key.startswith(unit) else f" / {words.unit(unit)}")


WORDS = {"mm": "mm millimetre millimetres millimeter millimeters",
         "um": "um µm μm micron microns micrometre micrometres micrometer micrometers",
         "cm": "cm centimetre centimetres centimeter centimeters", "inch": "in inch inches \" ″ '' ′′",
         "thou": "thou thous mil mils", "min": "min mins minute minutes", "s": "s sec secs second seconds",
         "h": "h hr hrs hour hours", "": "stroke strokes turn turns times",
         "N": "n newton newtons", "kgf": "kgf kp", "g": "g gram grams", "kg": "kg kilo kilos kilogram kilograms",
         "N*m": "nm n·m n*m", "N*mm": "nmm n·mm n*mm", "N*cm": "ncm n·cm n*cm", "kPa": "kpa", "Pa": "pa"}
UNIT_OF = {word: unit for unit, spellings in WORDS.items() for word in spellings.split()}
SIZES = (("mm", "um", "cm", "inch", "thou"), ("min", "s", "h"), ("N", "kgf"), ("g", "kg"),
         ("N*m", "N*mm", "N*cm"), ("kPa", "Pa"), ("",))   # units of one kind of size
WHAT = {"mm": ("a size in mm", "1.5, or 1,5 mm, or about 0.06 in"),
        "um": ("a size in µm (thousandths of a millimetre)", "20, or 20 µm, or 0.02 mm"),
        "min": ("a time in minutes", "12, or about 12 min"), "s": ("a time in seconds", "12, or 0.2 min"),
        "N": ("a force in N", "31, or 3.2 kgf"), "g": ("a mass in g", "5.28"),
        "N*m": ("a torque in N·m", "0.21, or 210 N·mm"), "kPa": ("a pressure in kPa", "30"),
        "strokes": ("a count of strokes", "300, or about 300")}
ABOUT = re.compile(r"(?:about|abt\.?|approx(?:imately|\.)?|around|roughly|circa|ca?\.?|perhaps|maybe|say|some|[~≈≃=])"
                   r"\s*", re.I)
TAIL = re.compile(r"(?:\s*(?:or so|or thereabouts|ish|roughly|approx\.?|about|maybe|i think|[?!.]))+$", re.I)
NUMBER = r"(?:\d+\s+)?\d+\s*/\s*\d+|(?:\d[\d.,]*|[.,]\d+)(?:e[+-]?\d+)?"
READ = re.compile(rf"(-|minus\s|\+)?\s*({NUMBER})\s*(.*)", re.I | re.S)
BETWEEN = re.compile(r"(?:between\s+|from\s+)?(.+?)\s*(?:-|–|—|\bto\b|\band\b|\.\.+)\s*(.+)", re.I | re.S)
GIVE_OR_TAKE = re.compile(r"(.+?)\s*(?:±|\+/-|\+-)\s*(.+)", re.S)   # 8 ± 0.1


def cleaned(text):
    """What was typed, without the words that only call it a guess; fractions as on paper."""
    text = "".join(f" {unicodedata.normalize('NFKC', c).replace('⁄', '/')}"
                   if unicodedata.decomposition(c).startswith("<fraction>") else c
                   for c in str("" if text is None else text)).replace("−", "-").strip()
    while about := ABOUT.match(text):
        text = text[about.end():]
    return TAIL.sub("", text).strip()


def quoted(text):
    text = " ".join(str(text).split())
    return f"'{text if len(text) <= 40 else text[:37] + '...'}'"


def _plain(token, typed, counted=False):
    """A number as people write it: decimal comma or point, thousands separated by the other, or a fraction. counted: it
    counts something, so that 1.500 is hardly one and a half."""
    if parts := re.fullmatch(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)", token):
        whole, over, under = (float(part or 0) for part in parts.groups())
        if not under:
            raise AnswerError(f"{typed}: nothing can be divided by 0; write it like 0.5")
        return whole + over / under
    mantissa, exponent = re.fullmatch(r"([\d.,]+)(e[+-]?\d+)?", token, re.I).groups()
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", mantissa):
        raise AnswerError(f"{typed} may mean {mantissa.replace(',', '')} or {mantissa.replace(',', '.')}; "
                          "write the one you mean, without the comma")
    if counted and re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", mantissa):
        raise AnswerError(f"{typed} may mean {mantissa.replace('.', '')} or {words.exact(float(mantissa))}; write the "
                          "whole number alone, without the point")
    if re.fullmatch(r"\d*[.,]?\d*", mantissa):
        mantissa = mantissa.replace(",", ".")
    elif re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?", mantissa):
        mantissa = mantissa.replace(",", "")
    elif re.fullmatch(r"[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?", mantissa):
        mantissa = mantissa.replace(".", "").replace(",", ".")
    else:
        raise AnswerError(f"{typed}: I cannot tell where its decimal point is; write it like 5.25")
    return float(mantissa + (exponent or ""))


def pint_unit(unit):
    """The unit as pint knows it; a count has none."""
    return "" if unit == "strokes" else unit


def _parts(text, unit):
    """(number, unit as pint knows it, or None where none was written)."""
    typed, text, (what, example) = quoted(text), cleaned(text), WHAT[unit]
    if not text:
        raise AnswerError(f"nothing is written here; what is asked is {what}, for example {example}")
    found = READ.fullmatch(text)
    if not found:
        raise AnswerError(f"{typed}: I find no number at its beginning; what is asked is {what}, for example {example}")
    sign, token, rest = found.groups()
    if sign and sign != "+":
        raise AnswerError(f"{typed} is below zero; what is asked is {what}, 0 or more")
    if re.search(r"(?:^|[\W_])[.,]?\d", rest):
        raise AnswerError(f"{typed} has more than one number; write one number in each box, for example {example}")
    value, word = _plain(token, typed, counted=unit == "strokes"), rest.strip(" .,;")
    if not word:
        return value, None
    known = next(units for units in SIZES if pint_unit(unit) in units)
    if UNIT_OF.get(word.lower()) not in known:
        units = ", ".join(words.unit(WORDS[u].split()[0]) for u in known)
        raise AnswerError(f"{typed}: {quoted(word)} after the number is no unit of {what}; I know {units}, "
                          "or leave the unit out")
    return value, UNIT_OF[word.lower()]


def _in(value, given, unit, typed):
    value = value if given in (None, pint_unit(unit)) else float(Q(value, given).m_as(pint_unit(unit)))
    if not np.isfinite(value):
        raise AnswerError(f"{quoted(typed)} is too large a number to work with")
    return value


def answer(text, unit):
    """The number that a learner means, in `unit` ("mm", "um", "min" or "strokes").

    text: what was typed: "5", "5,0", "about 5 mm", "~5", "ca. 5", "0.2in", "12 thou", "1/8 in", "5 or so". A bare
    number is in the unit asked. Result: plain number, 0 or more.
    Raises AnswerError, with a message for a learner, for an empty box, text without a number, two numbers, a number
    below zero, one that may be read in two ways (5,000, and 1.500 of a count) and a unit of another quantity.
    """
    return _in(*_parts(text, unit), unit, text)


@dataclass(frozen=True)
class Interval:
    """A prediction: best guess within a range, in `unit`. told: in words, whatever was taken differently from what was
    typed."""
    low: float
    best: float
    high: float
    unit: str
    told: tuple = ()


def interval(low, best, high, unit):
    """A range with a best guess, from what was typed into three boxes; unit as in `answer`.

    A range typed the wrong way round is turned, and that is told. One box alone may hold a whole range ("5-6",
    "5 to 6 mm", "5 ± 1"); where the best guess is left out, the middle is taken, and that is told.
    Raises AnswerError for boxes that cannot be read (all of them at once), a best guess outside the range and a range
    without width.
    """
    typed = {"lowest": low, "best guess": best, "highest": high}
    filled = {name: text for name, text in typed.items() if cleaned(text)}
    if not filled:
        answer("", unit)   # says what is asked
    whole, values, told, faults = _range(*filled.values(), unit) if len(filled) == 1 else None, {}, [], []
    if whole:
        values = dict(zip(typed, whole))
        told.append(f"{quoted(*filled.values())} was taken as {words.number(whole[0])} to {sized(whole[2], unit)}, "
                    f"best guess {words.number(whole[1])}")
    else:
        for name, text in filled.items():
            try:
                values[name] = answer(text, unit)
            except AnswerError as fault:
                faults.append(f"{name}: {fault}")
        faults += [f"{name}: nothing is written here" for name in ("lowest", "highest") if name not in filled]
    if faults:
        raise AnswerError("; ".join(faults))
    least, most = values["lowest"], values["highest"]
    if least > most:
        least, most = most, least
        told.append("the lowest was above the highest; they were exchanged, and the range taken as "
                    f"{words.number(least)} to {sized(most, unit)}")
    if least == most:
        raise AnswerError(f"lowest and highest are both {sized(least, unit)}; nobody is that sure: leave some room on "
                          "either side")
    if "best guess" not in values:
        values["best guess"] = (least + most) / 2
        told.append(f"no best guess was given; the middle, {sized(values['best guess'], unit)}, was taken")
    if not least <= values["best guess"] <= most:
        raise AnswerError(f"the best guess, {sized(values['best guess'], unit)}, lies outside its own range, "
                          f"{words.number(least)} to {sized(most, unit)}; move the guess, or widen the range")
    return Interval(least, values["best guess"], most, unit, tuple(told))


def _range(typed, unit):
    """(low, best, high) of a range typed into one box, None where it is none."""
    text = cleaned(typed)
    try:
        answer(text, unit)
        return None   # 5e-3 is one number
    except AnswerError:
        pass
    for pattern in (GIVE_OR_TAKE, BETWEEN):
        if halves := pattern.fullmatch(text):
            try:   # "0.2-0.3 in": the unit stands behind both
                (a, a_unit), (b, b_unit) = (_parts(half, unit) for half in halves.groups())
                a, b = _in(a, a_unit or b_unit, unit, typed), _in(b, b_unit or a_unit, unit, typed)
            except AnswerError:
                continue
            if pattern is BETWEEN:
                return a, (a + b) / 2, b
            if a >= b:
                return a - b, a, a + b
    return None


def predicted(asked, low, best, high):
    """Interval of one of ASKED. Raises as `interval`, and where some of it is not possible for such a piece."""
    found = interval(low, best, high, asked.unit)
    for value in (found.low, found.best, found.high):
        asked.checked(value)
    return found
