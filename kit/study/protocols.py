"""Protocols: how a workshop measures what nobody has printed, with household things; and what each one teaches."""
from dataclasses import dataclass
from functools import cache

from kit.base import tables


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
