"""Tables: CSV files with a Table Schema beside them, checked on reading, and the reference tables of the kit.

Every row says where its number comes from. A fault is reported with file, line and column, and how to mend it.
"""
import csv
import datetime
import difflib
import functools
import io
import json
import re
import reprlib
from pathlib import Path

from kit.base.files import put  # noqa: F401 (known as tables.put as well)

_KIT = Path(__file__).parents[1]
_PACKED = _KIT / "data"   # where an installed wheel carries the data
DATA = _PACKED if _PACKED.exists() else _KIT.parent / "data"
REFERENCE = DATA / "reference"
# obeyed by a screen rather than shown; the last five turn the words after them about
UNSEEN = re.compile(r"[\x00-\x08\x0e-\x1b\x1f\x7f-\x84\x86-\x9f\u202a-\u202e]")
LARGEST = 1e300   # of a number in a table
LONGEST_WORD = 200   # of a fault, in characters; a folder may have a long name
MOST_NAMES = 24   # that are offered at once
# what a spreadsheet would work out, rather than show
FORMULA = re.compile(r"'*(?:[\t\r\n]|\s*[=+\-@＝＋－＠])")
BARE_NUMBER = re.compile(r"[+-]?\d+(?:\.\d*)?(?:e[+-]?\d+)?", re.I)


def in_short(said):
    """What is said, every word in it that is longer than some lines with its middle left out."""
    return re.sub(rf"\S{{{LONGEST_WORD},}}", lambda found: f"{found[0][:120]}…{found[0][-60:]}", said)


class TableError(ValueError):
    """A table that cannot be used as it stands; the message says where and how to mend it."""

    def __init__(self, said):
        super().__init__(in_short(said))


def nearest(word, known):
    """Words that say what was meant: 'did you mean ...?' with up to three near names, else all of them,
    or the first of very many."""
    known = [str(k) for k in known]
    near = difflib.get_close_matches(str(word), known, 3, 0.5)
    if not near:   # a name in other words: any whole word in common
        words = set(re.findall(r"\w+", str(word).lower()))
        near = [k for k in known if words & set(re.findall(r"\w+", k.lower()))][:3]
    if near:
        return f"did you mean {' or '.join(map(repr, near))}?"
    more = f" and {len(known) - MOST_NAMES} more" if len(known) > MOST_NAMES else ""
    return f"known: {', '.join(map(repr, known[:MOST_NAMES]))}{more}"


def text_of(path, absent, mend="save the file in UTF-8"):
    """The text of a file in UTF-8, without the mark that some editors put before its first letter.

    absent: what to do where there is no such file. mend: what to do where it is no UTF-8 text.
    Raises TableError, with that remedy, for a file that is not there, is no UTF-8 text, or cannot be opened.
    """
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except (FileNotFoundError, NotADirectoryError):
        raise TableError(f"{path}: there is no such file; {absent}") from None
    except UnicodeDecodeError as error:
        raise TableError(f"{path}: not UTF-8 text (byte {error.start}); {mend}") from None
    except OSError as error:
        raise TableError(f"{path}: cannot be read ({(error.strerror or 'no reason given').lower()}); it must be a file "
                         "that you may open") from None


def read(path, schema, faults=None):
    """Rows of a CSV as a list of dicts, checked against its Table Schema (a dict with `fields`).

    Each row also carries `line`, the line of the file where it starts. Empty cells are None.
    Where `faults` is a list, a bad row is left out and its fault added there; without one, the first stops the reading.
    Raises TableError for a missing or empty file, wrong columns, an open quote, an unfit cell or a repeated key.
    """
    path = Path(path)
    fields = {f["name"]: f for f in schema["fields"]}
    if "line" in fields:
        raise TableError(f"{path}: its schema has a column 'line', which is the name of a row's place in the file; "
                         "call it otherwise")
    text = text_of(path, absent="check its name and folder", mend="save the table as CSV in UTF-8")
    if not text.strip():
        raise TableError(f"{path}: the file is empty; its first line must name the columns: {', '.join(fields)}")
    records = _records(text, path)
    header = [name.strip() for name in next(records)[1]]
    for name in header:
        if name not in fields:
            remedy = "part the columns by commas" if ";" in name or "\t" in name else nearest(name, fields)
            raise TableError(f"{path}, line 1: unknown column {name!r}; {remedy}")
        if header.count(name) > 1:
            raise TableError(f"{path}, line 1: column {name!r} stands twice; keep one of the two")
    missing = [n for n, f in fields.items() if n not in header and f.get("constraints", {}).get("required")]
    if missing:
        raise TableError(f"{path}, line 1: column {missing[0]!r} is missing; add it to the first line")
    rows, seen = [], {}
    for line, cells in records:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            row = _row(cells, header, fields, path, line)
            key = tuple(row[k] for k in schema.get("primaryKey", ()))
            if key and key in seen:
                raise TableError(f"{path}, line {line}: {' / '.join(map(str, key))} stands already in line "
                                 f"{seen[key]}; keep one of the two")
        except TableError as fault:
            if faults is None:
                raise
            faults.append(str(fault))
            continue
        seen[key] = line
        rows.append(row)
    return rows


def _row(cells, header, fields, path, line):
    if len(cells) != len(header):
        remedy = ("put text that holds a comma in double quotes, and write the decimal point as a point"
                  if len(cells) > len(header) else "an empty cell keeps its comma")
        raise TableError(f"{path}, line {line}: {len(cells)} cells, but {len(header)} columns; {remedy}")
    filled = {n: _cell(c.strip(), fields[n], path, line) for n, c in zip(header, cells)}
    return dict.fromkeys(fields) | filled | {"line": line}


def _records(text, path):
    """(first line, cells) of each record. A quote left open is refused: it would swallow the rows below it."""
    lines, start = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True), 1
    try:
        for cells in lines:
            yield start, cells
            start = lines.line_num + 1
    except csv.Error as error:
        raise TableError(f"{path}, line {start}: a double quote is not closed, or stands inside quoted text ({error}); "
                         "close it, or write it twice inside") from None


def _cell(text, field, path, line):
    rules, place = field.get("constraints", {}), f"{path}, line {line}, column {field['name']!r}"
    if hidden := unseen(text):
        raise TableError(f"{place}: {hidden}")
    if text == "":
        if rules.get("required"):
            raise TableError(f"{place}: nothing there; {field.get('description') or 'a value is needed'}")
        return None
    value = text
    if field["type"] in ("number", "integer"):
        try:
            if "_" in text:   # Python reads 1_000, nobody else does
                raise ValueError
            value = {"number": float, "integer": int}[field["type"]](text)
        except ValueError:
            kind = {"number": "number", "integer": "whole number"}[field["type"]]
            hint = "write the decimal point as a point" if "," in text else "write the bare number"
            raise TableError(f"{place}: {_short(text)} is not a {kind}; {hint}") from None
        if not (abs(value) < LARGEST):   # so written that a NaN is caught too
            raise TableError(f"{place}: {reprlib.repr(text)} is not a finite number; leave the cell empty where none "
                             f"is "
                             "known")
        for name, holds in (("minimum", value >= rules.get("minimum", value)),
                            ("maximum", value <= rules.get("maximum", value))):
            if not holds:
                raise TableError(f"{place}: {text} is beyond the {name} {rules[name]}; mend the number")
    if field["type"] == "date":
        try:
            value = datetime.date.fromisoformat(text)
        except ValueError:
            raise TableError(f"{place}: {_short(text)} is no day of the calendar; write it as yyyy-mm-dd") from None
    if "enum" in rules and text not in rules["enum"]:
        raise TableError(f"{place}: {_short(text)} is not one of its words; {nearest(text, rules['enum'])}")
    return value


def safe_cell(value):
    """A cell of a CSV that a spreadsheet will show as it stands, whatever a person typed into it.

    Text that begins like a formula (= + - @, a tab or an end of line) has an apostrophe put before it; numbers, also
    those written as text, and all other values stay as they are. `as_typed` takes the apostrophe off again: for every
    text that is not None, as_typed(safe_cell(text)) == text.
    """
    if isinstance(value, str) and FORMULA.match(value) and not BARE_NUMBER.fullmatch(value):
        return "'" + value
    return value


def as_typed(cell):
    """Text as it was typed, from the cell that `safe_cell` made of it."""
    return cell[1:] if isinstance(cell, str) and cell.startswith("'") and FORMULA.match(cell) else cell


def unseen(text):
    """What is told of the first sign in a text that nobody can see; None where there is none."""
    sign = UNSEEN.search(text)
    return sign and (f"its character {sign.start() + 1} is a sign that cannot be seen (U+{ord(sign[0]):04X}); "
                     "take it out")


def _short(text):
    """A cell in quotes, its middle left out where it would fill the screen."""
    return repr(text if len(text) <= 80 else f"{text[:50]}…{text[-20:]}")


def header(path):
    """Names of the columns of a CSV."""
    with open(path, encoding="utf-8-sig", newline="") as file:
        return [name.strip() for name in next(csv.reader(file, skipinitialspace=True), ())]


def package(folder):
    """The Table Schemas of a folder: {resource name: (path of its CSV, schema)} from its datapackage.json."""
    path = Path(folder) / "datapackage.json"
    described = _json(path)
    try:
        return {r["name"]: (Path(folder) / r["path"], _schema(folder, r["schema"])) for r in described["resources"]}
    except (KeyError, TypeError):
        raise TableError(f"{path}: it must list `resources`, each with name, path and schema, "
                         "as the one of the demo study does") from None


def _json(path):
    text = text_of(path, absent="copy the one of the demo study")
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        raise TableError(f"{path}, line {error.lineno}: not JSON as it stands; mend it there or just above") from None
    except RecursionError:
        raise TableError(f"{path}: lists within lists go deeper than anybody can follow") from None


def _schema(folder, schema):
    """A schema that several tables share stands in a file of its own, beside them or beside the reference tables."""
    if isinstance(schema, dict):
        return schema
    own = Path(folder) / schema
    return _json(own) if own.exists() or not (REFERENCE / schema).exists() else shared_schema(schema)


def shared_schema(name):
    """A Table Schema that stands in a file of its own among the reference tables."""
    return _json(REFERENCE / name)


@functools.cache
def load(name):
    """Rows of one reference table, as a tuple of dicts; `load.cache_clear()` after editing one."""
    resources = package(REFERENCE)
    if name not in resources:
        raise TableError(f"there is no reference table {name!r}; {nearest(name, resources)}")
    return tuple(read(*resources[name]))


def rows_of(name, of):
    """Rows of a reference table about one thing, such as one alloy; unknown names are told with the nearest ones."""
    rows = [row for row in load(name) if row["of"] == of]
    if not rows:
        known = dict.fromkeys(row["of"] for row in load(name))
        raise TableError(f"the table {name!r} has nothing on {of!r}; {nearest(of, known)}")
    return rows


@functools.cache
def kind(name, of):
    """What kind of thing one of a reference table is, where the kit goes by that (kinds.csv); None where it tells
    none."""
    return next((row["kind"] for row in load("kinds") if (row["table"], row["of"]) == (name, of)), None)


def source_keys(path):
    """Citation keys of a BibTeX file."""
    return set(re.findall(r"^\s*@\w+\s*\{\s*([^,\s]+)", bibtex(path), re.M))


def bibtex(path):
    """The text of a BibTeX file. Raises TableError where it cannot be read."""
    return text_of(path, absent="an empty one will do where nothing is cited", mend="save it as BibTeX in UTF-8")
