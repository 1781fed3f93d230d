"""What a maker works with: lathe, arm, cord and hands, as choices and as draws, and a record of what was used."""
from dataclasses import replace

import numpy as np

from kit.base import evidence, tables
from kit.base.units import Q
from kit.estimates import bow, effort
from kit.operations import settle

HALF_HOUR = Q(30, "min")
FORGED = "flat drill, hand-forged"   # point of a two-lip drill that says no other
DRY = "dry"   # of a step that is cut without oil
LIMBS = {"one arm": ("arms", "one_arm"), "both arms": ("arms",), "leg": ()}   # by which the power of a body is shared
LONGEST_PUSH = Q(60, "min")   # rests come between, and are counted apart
OF_ALLOY = "alloy.", "chip.", "metal.", "soft.", "worked."   # rows that a tube of another alloy has of its own
SPAN_OF_POWER = Q(4, "min"), Q(480, "min")   # that the curve of what a body gives covers


def shared(method):
    """A quantity that several use: worked out once, and remembered with the assumptions that it used.

    Its owner has `means`, which notes what is asked for, and a dict `known`.
    """
    name = method.__name__

    def get(self):
        return remembered(self.means, self.known, name, lambda: method(self))

    get.__doc__ = method.__doc__
    return property(get)


def remembered(means, known, name, work_out):
    """What `known` holds under a name, worked out when first needed; either way `means` notes what it rests on."""
    if name not in known:
        outer, means.used = means.used, set()
        try:
            known[name] = work_out(), means.used
        finally:   # what failed has asked too
            outer |= means.used
            means.used = outer
    value, used = known[name]
    means.used |= used
    return value


def noted(means, others, work_out):
    """A quantity that is worked out by the Means of another tube: what it rests on, this tube's rests on too."""
    outer, others.used = others.used, set()
    try:
        return work_out()
    finally:
        asked, others.used = others.used, outer
        means.used |= asked


class Means:
    """The workshop's choices, and the draws as they are for one tube.

    `means["alloy.kc11"]` gives the draws of an assumption, this tube's own where they differ from tube to tube, and
    notes in `used` that it was asked for. workshop: choices of the maker. tube: its name. way: how a feed or a pressure
    is settled, a word of settle.WAYS. alloy: the tube's own, where it is not the part's: its rows are called
    `alloy.NAME.kc11`.
    """

    def __init__(self, workshop, draws, tube=None, way=settle.FEEL, alloy=None):
        self.workshop, self.draws, self.tube, self.way, self.alloy = workshop, draws, tube, way, alloy
        self.known, self.used = {}, set()

    @property
    def means(self):   # as what is `shared` finds it; held, it would keep all draws until somebody collects the circle
        return self

    def _of_alloy(self, key):
        """The key as this tube's alloy has it."""
        if self.alloy and key.startswith(OF_ALLOY):
            of, _, what = key.partition(".")
            key = f"{of}.{self.alloy}.{what}"
        return key

    def __getitem__(self, key):
        key = self._of_alloy(key)
        own = f"{key}@{self.tube}"
        key = own if own in self.draws else key
        self.used.add(key)
        return self.draws[key]

    def __contains__(self, key):
        """Whether the study has such an assumption, for all tubes or for each."""
        key = self._of_alloy(key)
        return key in self.draws or f"{key}@{self.tube}" in self.draws

    @shared
    def n(self):
        """Number of draws; a pinned assumption is a single number."""
        if isinstance(self.draws, evidence.Drawn):
            return self.draws.n
        return max(np.size(drawn.m) for drawn in self.draws.values())

    @property
    def bore_first(self):
        return self.workshop.order == "bore first"

    @shared
    def centre_torque(self):
        """Drag of both centres under their end load.

        The cord's pull to the side is left out: where its strands leave opposite ways, as on a bow or a pole, it costs
        1 % of the torque (4 % in one draw of twenty); with a strap, both of whose ends go to one side, 2 % (8 %).
        """
        return centre_torque(self)

    @shared
    def turning_rate(self):
        """Mean rate of the spindle while the bow moves, either way round."""
        return bow.stroke(length=self["drive.stroke_length"], pulley_diameter=self.workshop.pulley,
                          frequency=self["drive.stroke_frequency"]).mean_rate

    @shared
    def turns_per_minute(self):
        """Turns of the spindle that cut, one way, in a minute of bowing."""
        return bow.turns_per_minute(length=self["drive.stroke_length"], pulley_diameter=self.workshop.pulley,
                                    frequency=self["drive.stroke_frequency"], duty=self["drive.duty"])

    def minutes(self, length, feed):
        """Minutes of bowing that a cut of this length takes."""
        return Q((length / feed).m_as("") / self.turns_per_minute.m_as("turn/min"), "min")

    def by_wrench(self, length, feed):
        """The same by two hands on a wrench."""
        return Q((length / feed).m_as("") / self["wrench.rate"].m_as("turn/min"), "min")

    def pull(self, minutes):
        """Pull that the arm keeps up for so many minutes: by its strength, and by the power that a person has for that
        long at this stroke and rate."""
        strength = bow.pull(minutes=minutes, one_minute=self["drive.pull_one_minute"],
                            sustained=self["drive.pull_sustained"])
        power = self.power_share * effort.power(minutes=np.clip(minutes, *SPAN_OF_POWER))
        return np.minimum(strength, effort.pull_limit(
            power=power, stroke_length=self["drive.stroke_length"], frequency=self["drive.stroke_frequency"],
            loaded_share=self["stroke.stroke_share"]))

    @shared
    def power_share(self):
        """What this person gives at this drive, over the body's power in the curve of `effort.power`."""
        share = self["body.power_factor"] * self["person.power_factor"]
        for limb in LIMBS[tables.kind("drives", self.workshop.drive) or "one arm"]:
            share = share * self[f"{limb}.power_share"]
        return share

    def bow_torque(self, minutes):
        """Torque at the spindle that the arm keeps up for so many minutes."""
        return bow.spindle_torque(pull=self.pull(minutes), pulley_diameter=self.workshop.pulley,
                                  centre_torque=self.centre_torque)

    def push(self, minutes):
        """Push on the drill that is kept up for so many minutes; a weight on a lever does not tire."""
        if tables.kind("hands", self.workshop.push) == "weight":
            return self["push.push"]
        return self["push.push"] * effort.push_share(minutes=np.minimum(minutes, LONGEST_PUSH),
                                                     long_share=self["kept_up.push_share"])

    @shared
    def steady_torque(self):
        """What the bow gives for half an hour and longer."""
        return self.bow_torque(HALF_HOUR)

    def pull_for(self, torque):
        return bow.pull_for(torque=torque, pulley_diameter=self.workshop.pulley, centre_torque=self.centre_torque)

    @shared
    def cord_limit(self):
        """Pull at which the cord slips on its pulley."""
        return bow.cord_limit(rest_tension=self["drive.rest_tension"], friction=self["cord.friction"],
                              wrap=self.workshop.wrap)

    @shared
    def slip_torque(self):
        """Torque at the spindle at which the cord slips."""
        return bow.spindle_torque(pull=self.cord_limit, pulley_diameter=self.workshop.pulley,
                                  centre_torque=self.centre_torque)


class MeansOfStep(Means):
    """The same, for a step that has another drive, pulley or lubricant: its rows stand under a name of their own."""

    def __init__(self, means, step):
        self.of, self.known = means, {}
        self.draws, self.tube, self.way, self.alloy = means.draws, means.tube, means.way, means.alloy
        own = {"drive": step.lathe, "pulley": step.pulley}
        self.workshop = replace(means.workshop, **{key: value for key, value in own.items() if value is not None})
        self.named = {"drive.": f"drive.{step.lathe}."} if step.lathe else {}
        if step.lubricant == DRY:
            self.named["guide."] = f"guide.{DRY}."

    used = property(lambda self: self.of.used, lambda self, keys: setattr(self.of, "used", keys))

    def __contains__(self, key):
        return key in self.of

    def __getitem__(self, key):
        for prefix, named in self.named.items():
            if key.startswith(prefix):
                key = named + key.removeprefix(prefix)
        return self.of[key]


CUT = "kc11", "exponent", "material_factor"   # of an alloy, by which it resists an edge


class MeansAsFound(Means):
    """The same, for metal that came worked and has been in the fire: it resists an edge as the worked metal does, as
    the annealed, or between the two, by how hard it is now."""

    def __init__(self, means, state):
        self.of, self.state, self.known = means, state, means.known
        self.workshop, self.draws = means.workshop, means.draws
        self.tube, self.way, self.alloy = means.tube, means.way, means.alloy

    used = property(lambda self: self.of.used, lambda self, keys: setattr(self.of, "used", keys))

    def __contains__(self, key):
        return key in self.of

    def __getitem__(self, key):
        came, what = self.of[key], key.removeprefix("alloy.")
        if not key.startswith("alloy.") or what not in CUT:
            return came
        return came + self.softened * (self.of[f"soft.{what}"] - came)

    @property
    def softened(self):
        """How far its hardness has come down from that of the metal as it came to that of the annealed: 0 to 1."""
        came, soft = self.of["alloy.hardness"], self.of["soft.hardness"]
        work = np.maximum((came - soft).m_as("HV"), 1e-9)
        return np.clip((came - self.state.hardness).m_as("HV") / work, 0, 1)


def as_found(means, state):
    """The means with the metal as an operation finds it."""
    return MeansAsFound(means, state) if "soft.hardness" in means else means


class MeansOfShaft(Means):
    """The same, for the shaft that runs in a tube: its own draws and alloy. What it rests on, its tube rests on too."""

    def __init__(self, means, shaft):
        self.of, self.known = means, {}
        self.workshop, self.draws, self.way = means.workshop, means.draws, means.way
        self.tube, self.alloy = shaft.name, shaft.alloy

    used = property(lambda self: self.of.used, lambda self, keys: setattr(self.of, "used", keys))


def of_step(means, step):
    """The means as a step has them."""
    return MeansOfStep(means, step) if step.lathe or step.pulley is not None or step.lubricant == DRY else means


# --- the same from draws alone, without a study -----------------------------------------------------------------------

def reference_draws(alloy="tin bronze, cast", edge="freshly ground", drive="bow lathe", n=4096, seed=1):
    """Draws of all that a cut and a bow rest on, from the reference tables alone: {key: Quantity}."""
    rows = {}
    for prefix, table, of in (("alloy", "alloys", alloy), ("edge", "edges", edge), ("drive", "drives", drive),
                              ("guide", "friction", "steel on bronze, oiled"), ("cord", "friction", "gut on wood"),
                              ("margins", "workshop", "margins"), ("centre", "workshop", "centres"),
                              ("wrench", "hands", "two-handed wrench")):
        rows |= evidence.reference(table, of, prefix)
    point = evidence.reference("drill_points", FORGED, f"point.{FORGED}")   # last: the others keep their draws
    return evidence.draw([*rows.values(), *model_factors().values(), *point.values()], n, seed)


def model_factors():
    """How far each formula may be off: {'model.cutting_torque': Assumption, ...}."""
    names = dict.fromkeys(row["of"] for row in tables.load("models"))
    return {(key := f"model.{of.replace(' ', '_')}"): replace(evidence.reference("models", of, "model")["model.factor"],
                                                              key=key)
            for of in names}


def wrench_torque(draws):
    """Torque of two hands on a wrench, gently: for feel and for the tool, well under what they could."""
    return (2 * draws["wrench.force"] * draws["wrench.arm"]).to("N*m")


def centre_torque(draws, half_angle="30 deg"):
    """Drag of both centres."""
    return 2 * bow.centre_torque(load=draws["centre.load"], radius=draws["centre.radius"], half_angle=half_angle,
                                 friction=draws["centre.friction"])


def bow_torque(draws, pulley, minutes="30 min"):
    """Torque at the spindle that the arm gives for a step of so many minutes, the drag of the centres taken off.

    draws: {key: Quantity} of a study or of `reference_draws`. pulley: diameter to the cord's middle.
    """
    pull = bow.pull(minutes=minutes, one_minute=draws["drive.pull_one_minute"], sustained=draws["drive.pull_sustained"])
    return bow.spindle_torque(pull=pull, pulley_diameter=pulley, centre_torque=centre_torque(draws))
