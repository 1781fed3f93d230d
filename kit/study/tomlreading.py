"""A study.toml as it is read: each value checked by its rule, each fault told with file, line and remedy."""
import re
import reprlib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from kit.base import tables
from kit.base.units import Q, magnitude


class StudyError(ValueError):
    """A study folder that cannot be used as it stands; the message says where and how to mend it."""

    def __init__(self, said):
        super().__init__(tables.in_short(said))


KINDS = {str: "text in quotes", bool: "true or false", float: "a number", dict: "a table, its heading in [brackets]",
         list: "a list, each entry under a heading in [[double brackets]]"}
HEADING = re.compile(r"\s*\[+([^\[\]=]+)\]+\s*(?:#.*)?$")   # of a table in TOML


@dataclass
class Reading:
    """The file that is being read: finds the line of a key, and takes complaints."""
    path: Path
    text: str
    faults: list | None = None

    def fault(self, words):
        if self.faults is None:
            raise StudyError(words) from None
        self.faults.append(tables.in_short(words))

    def at(self, key, name):
        """File and line of a key of the table that complaints call `name`: 'workshop', or 'routes.sleeve, step 5'; of
        the table's heading where the key is not there."""
        table, _, number = name.partition(", ")
        wanted, here = (table, int(number.split()[1]) if number else 1), ("", 1)
        begun, place = Counter(), str(self.path)
        for line, text in enumerate(self.text.split("\n"), 1):
            if heading := HEADING.match(text):
                table = re.sub("[\"']", "", heading[1]).strip()
                begun[table] += 1
                here = table, begun[table]
                place = f"{self.path}, line {line}" if here == wanted else place
            elif here == wanted and re.match(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=", text):
                return f"{self.path}, line {line}"
        return place   # the file alone where all stands within braces, in one line with others


def place(folder, key, table):
    """File and line of a key in the study.toml of a folder that has been read (see Reading.at)."""
    path = Path(folder) / "study.toml"
    return Reading(path, path.read_text(encoding="utf-8-sig")).at(key, table) if path.exists() else str(path)


def checked(table, known, here, name, required=()):
    """The table with each value converted by its rule; a faulty value is left out."""
    where = f"[{name}]" if name else "at the top"
    if not isinstance(table, dict):
        here.fault(f"{here.path}, [{name}]: expected a table of keys and values, got {reprlib.repr(table)}")
        return {}
    found = {}
    for key in table:
        if key not in known:
            here.fault(f"{here.at(key, name)}: unknown key {key!r}{f' in {where}' if name else ''}; "
                       f"{tables.nearest(key, known)}")
    for key in required:
        if key not in table:
            here.fault(f"{here.at(key, name)}, {where}: {key!r} is missing; add it there")
    for key in (k for k in table if k in known):
        try:
            found[key] = value_of(table[key], known[key], key)
        except StudyError as error:
            here.fault(f"{here.at(key, name)}{f', {where}' if name else ''}: {error}")
    return found


def value_of(value, rule, key):
    """A value from study.toml, converted by its rule: a unit with bounds, a list of words, a range of whole numbers, or
    a type."""
    if isinstance(rule, type):
        if rule is float and type(value) is int:
            value = float(value) if abs(value) < 1e300 else np.inf
        if not isinstance(value, rule):
            raise StudyError(f"{key}: expected {KINDS[rule]}, got {reprlib.repr(value)}")
        if rule is str and (hidden := tables.unseen(value)):
            raise StudyError(f"{key}: {hidden}")
        if key in ("title", "name") and "\n" in value:
            raise StudyError(f"{key}: {reprlib.repr(value)} has an end of line in it; write it on one line")
        return value
    if isinstance(rule, range):
        if type(value) is not int or value not in rule:
            raise StudyError(f"{key}: expected a whole number from {rule[0]} to {rule[-1]}, got {reprlib.repr(value)}")
        return value
    if isinstance(rule, list):
        if value not in rule:
            raise StudyError(f"{key}: {value!r} is not one of its words; {tables.nearest(value, rule)}")
        return value
    unit = re.split(r"[<>]", rule)[0].strip()
    try:
        plain = magnitude(value, rule, key)
    except (TypeError, ValueError) as error:
        raise StudyError(str(error) if str(error).startswith(key) else f"{key}: {error}") from None
    if np.ndim(plain):
        raise StudyError(f"{key}: expected one value, got {np.size(plain)}")
    return Q(plain, "mm" if unit == "mm/turn" else unit) if unit else plain
