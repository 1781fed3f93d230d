"""What is to be made, and the choices of whoever makes it."""
from dataclasses import dataclass, field, replace

import numpy as np

from kit.base.units import Q


@dataclass(frozen=True)
class Length:
    """A length of a tube whose bore or outside is another than the tube's own: a collar, a spigot, a narrower or wider
    bore. bore, outside: None where it is the tube's. end: at which it lies."""
    length: Q
    bore: Q | None = None
    outside: Q | None = None
    end: str = "far"

    @property
    def said(self):
        """What it is called as a place: '6 mm bore', '14 mm outside'."""
        return ", ".join(f"{size.m_as('mm'):g} mm {name}" for name, size in
                         (("bore", self.bore), ("outside", self.outside)) if size is not None)


@dataclass(frozen=True)
class Tube:
    """One tube of the part.

    clearance: wanted, diametral, between its bore and what runs in it. route: name of its route. core: diameter of the
    hole as cast, none where it is drilled from solid. plunger: length of the plunger that runs in it, None where it is
    a sleeve. position: of a sleeve in the nest, 0 the innermost; None outside it. alloy: its own, where it is not the
    part's. overlap: length over which it is guided by what runs in it, where that is not the whole: of a draw tube,
    drawn out. empty: nothing runs in it. packing: of its plunger, where metal does not seal against metal. shaft: what
    runs in it, as a part of its own, where the study gives that a route: a solid one, without a bore. entries: of a
    shaft, the steps of its route as the study writes them. lengths: Lengths with another bore or outside, within its
    whole length; what runs in it runs in the rest.
    """
    name: str
    bore: Q
    wall: Q
    length: Q
    clearance: Q
    route: str
    core: Q = Q(0.0, "mm")
    plunger: Q | None = None
    position: int | None = None
    alloy: str | None = None
    overlap: Q | None = None
    empty: bool = False
    packing: str | None = None
    shaft_route: str | None = None
    shaft: "Tube | None" = None
    entries: tuple = field(default=(), compare=False, repr=False)
    lengths: tuple = ()

    @property
    def guided(self):
        """Length over which it is guided by what runs in it."""
        return self.length if self.overlap is None else self.overlap

    @property
    def solid(self):
        """Whether it is a shaft or a plunger, and no tube."""
        return self.bore.m == 0

    def around(self, kind, route, entries, diameter, alloy):
        """The tube with what runs in it as a part of its own. kind: "plunger" or "shaft". route, entries: its route's
        name and steps. diameter: at which it leaves them. alloy: None where it is the part's."""
        shaft = Tube(f"{self.said} {kind}", bore=Q(0.0, "mm"), wall=diameter / 2,
                     length=self.length if self.plunger is None else self.plunger, clearance=self.clearance,
                     route=route, alloy=alloy, entries=tuple(entries))
        return replace(self, shaft=shaft)

    @property
    def said(self):
        """What it is called in a sentence: 'hours sleeve', 'lamp-oil barrel'."""
        if self.solid:
            return self.name
        kind = "barrel" if self.position is None else "sleeve"
        return self.name if kind in self.name else f"{self.name} {kind}"

    @property
    def outside(self):
        return self.bore + 2 * self.wall

    @property
    def largest(self):
        """Its outside where it is largest: what the blank must hold."""
        return max([self.outside, *(each.outside for each in self.lengths if each.outside is not None)])

    def sizes(self, of):
        """(bore, outside) of one of its lengths."""
        return (self.bore if of.bore is None else of.bore), (self.outside if of.outside is None else of.outside)

    @property
    def volume(self):
        """Of its metal, finished."""
        across = np.pi / 4 * (self.outside**2 - self.bore**2)
        if not self.lengths:
            return across * self.length
        stepped = ((each.length, *self.sizes(each)) for each in self.lengths)
        rest = self.length - sum(each.length for each in self.lengths)
        return across * rest + sum(np.pi / 4 * (outside**2 - bore**2) * length for length, bore, outside in stepped)


@dataclass(frozen=True)
class Workshop:
    """Choices of the maker; each is a key of [workshop] in study.toml, explained in the demo study."""
    drive: str
    pulley: Q
    wrap: Q
    cord: str
    edge: str
    tool_metal: str
    drilling: str
    push: str
    arbor_metal: str
    blank_stock: Q
    start_length: Q
    jaws: int
    order: str
    left_on: Q
    edge_metal: str | None = None   # of the edges, where it is not that of the shanks
    reserve: float = 1.2            # that the maker keeps to what he feels
    told_by: str = "plug gauge, shake"
