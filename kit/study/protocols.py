"""Protocols: how a workshop measures what nobody has printed, with household things; and what each one teaches."""
from dataclasses import dataclass
from functools import cache

from kit.base import tables

KEYS = {"drill thrust": "model.drill_thrust"}   # of assumptions that a protocol teaches by a reading of something else


@dataclass(frozen=True)
class Protocol:
    """A measurement that a workshop can make; the fields are the columns of data/reference/protocols.csv. needs and
    steps are tuples; scatter, bias and day are relative standard deviations, None where the log's own kind has them."""
    protocol: str
    title: str
    purpose: str
    teaches: str
    set_up_h: float
    each_h: float
    repeats: int
    scatter: float | None
    bias: float | None
    day: float | None
    needs: tuple
    steps: tuple
    write_down: str
    read_by: str
    error: str
    cautions: str
    source: str
    note: str | None

    @property
    def columns(self):
        """[(words with unit, column of the bench log or None)] of what is written down."""
        parts = (part.partition("=") for part in self.write_down.split(","))
        return [(said.strip(), column.strip() or None) for said, _, column in parts]

    @property
    def key(self):
        """Key of the row of assumptions.csv that it gives; "" where it gives none."""
        if "assumptions.csv" not in self.read_by:
            return ""
        about, _, what = self.teaches.partition(" ")
        return what if about == "key" else KEYS.get(self.teaches, "")

    def hours(self, n):
        """Hours of n readings, setting up included."""
        return self.set_up_h + n * self.each_h


@cache
def protocols():
    """{name: Protocol}, in the order of the table."""
    found = {}
    for row in tables.load("protocols"):
        split = {"needs": tuple(part.strip() for part in row["needs"].split(";")),
                 "steps": tuple(part.strip() for part in row["steps"].split("|"))}
        found[row["protocol"]] = Protocol(**{k: v for k, v in (row | split).items() if k != "line"})
    return found


def protocol(name):
    """A Protocol by its name. Raises tables.TableError for one that is not there, with the nearest."""
    known = protocols()
    if name not in known:
        raise tables.TableError(f"there is no protocol {name!r}; {tables.nearest(name, known)}")
    return known[name]
