"""A table as text: its numbers to sensible digits, lined up for a terminal, and as CSV, special characters escaped.

The same frame gives the same text, with "\\n" line ends.
"""
import numbers
import re
import textwrap
from dataclasses import dataclass

import numpy as np

from kit.base import words
from kit.base.tables import safe_cell


def plain(text):
    """Text without what no file can hold: control characters but tab and line feed, and halves of a pair."""
    text = str(text).replace("\r\n", "\n").replace("\r", "\n").encode("utf-8", "replace").decode("utf-8")
    return re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufdd0-\ufdef\ufffe\uffff]", " ", text)


def one_line(text):
    """Text on one line; a space that must not break stays one."""
    return re.sub(r"[ \t\n\u2028\u2029]+", " ", plain(text)).strip()


def _flat(frame):
    """The frame with names of columns as text and its index as first columns, and how many of these there are. An index
    that only counts the rows is left out."""
    names = [", ".join(str(n) for n in name if n != "") if isinstance(name, tuple) else name for name in frame.columns]
    frame, index = frame.set_axis([one_line(name) for name in names], axis=1), frame.index
    if list(index.names) == [None] and (index.dtype.kind in "iu" or index.empty):
        return frame, 0
    called = ["" if name is None else one_line(name) for name in index.names]
    return frame.reset_index(names=called, allow_duplicates=True), index.nlevels


def _missing(value):
    import pandas as pd
    return bool(pd.api.types.is_scalar(value) and pd.isna(value))


def _is_number(value):
    return isinstance(value, numbers.Real) and not isinstance(value, bool)


def _cell(value, whole):
    if _missing(value):
        return ""
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, numbers.Integral) or whole:
        return words.count(value)
    return words.number(value) if _is_number(value) else one_line(value)


def _column(values):
    """(text of each value of a column, whether it is a column of numbers)."""
    known = [v for v in values if not _missing(v)]
    numeric = bool(known) and all(map(_is_number, known))
    # counts with a gap among them come as 12.0, and are whole all the same
    whole = numeric and all(abs(v) < 1e15 and v == int(v) for v in known)
    return [_cell(v, whole) for v in values], numeric


@dataclass(frozen=True)
class Cells:
    """A frame as text. numeric: which columns are numbers. heads: how many columns, from the left, name the row."""
    header: list
    rows: list
    numeric: list
    heads: int

    @property
    def columns(self):
        return [[row[i] for row in self.rows] for i in range(len(self.header))]


def cells_of(frame):
    flat, heads = _flat(frame)
    columns = [_column(flat.iloc[:, i].tolist()) for i in range(flat.shape[1])]
    rows = list(zip(*(text for text, _ in columns)))
    return Cells(list(flat.columns), rows, [numeric for _, numeric in columns], heads)


def shown(frame):
    """DataFrame of text: numbers to three digits, whole ones whole, yes and no, an empty cell where a value is missing;
    an index of words, or one with a name, becomes the first column.

    frame: pandas DataFrame of text and numbers.
    """
    import pandas as pd
    cells = cells_of(frame)
    return pd.DataFrame(cells.rows, columns=cells.header, dtype=str)


def lined_up(frame, widest=None):
    """A frame of text as lines for a terminal: names, a rule, and a row below the other, cells flush left.

    frame: pandas DataFrame of text, with or without rows. widest: {column: signs across} of those whose cells are
    broken between words; none where None.
    """
    widest = widest or {}
    broken = [[[name], ["-" * len(name)], *(textwrap.wrap(cell, widest[name]) if name in widest else [cell]
                                            for cell in frame[name])] for name in frame]
    widths = [max(len(line) for cell in column for line in cell) for column in broken]
    lines = []
    for cells in zip(*broken):
        for place in range(max(map(len, cells))):
            line = (cell[place] if place < len(cell) else "" for cell in cells)
            lines.append("  ".join(text.ljust(width) for text, width in zip(line, widths)).rstrip())
    return "\n".join(lines)


def as_csv(frame):
    """CSV of a frame, for computing with: numbers in full, an empty field where a value is missing, a header row.
    Text that begins like a formula has an apostrophe before it (tables.safe_cell).

    frame: pandas DataFrame; an index of words, or one with a name, becomes the first column.
    """
    flat, _ = _flat(frame)
    clean = flat.map(lambda value: safe_cell(plain(value)) if isinstance(value, str) else value)
    clean = clean.rename(columns=safe_cell)
    return clean.to_csv(index=False, lineterminator="\n")
