"""What is to be made, and the choices of whoever makes it."""
from dataclasses import dataclass, field, replace

from kit.base.units import Q


@dataclass(frozen=True)
class Tube:
    """One tube of the part.

    clearance: wanted, diametral, between its bore and what runs in it. route: name of its route. core: diameter of the
    hole as cast, none where it is drilled from solid. plunger: length of the plunger that runs in it, None where it is
    a sleeve. position: of a sleeve in the nest, 0 the innermost; None outside it. alloy: its own, where it is not the
    part's. overlap: length over which it is guided by what runs in it, where that is not the whole: of a draw tube,
    drawn out. empty: nothing runs in it. packing: of its plunger, where metal does not seal against metal. shaft: what
    runs in it, as a part of its own, where the study gives that a route: a solid one, without a bore. entries: of a
    shaft, the steps of its route as the study writes them.
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
