"""The tube as an operation finds it and leaves it: sizes, and the form that hole and outside have."""
import numpy as np

from kit.base.units import Q
from kit.estimates import walls
from kit.operations.means import remembered

# What a state holds: name and meaning
HOLDS = {
    "hole": "diameter of the hole, 0 where there is none",
    "outside": "diameter of the outside",
    "wander": "how far the bore's axis has left its start at the far end, radial",
    "bow": "how far the middle of the bore's axis lies off the line through its ends: its sagitta",
    "lobes": "out-of-round of the hole, on diameter: largest less smallest circle",
    "taper": "taper of the hole over the tube's length, on diameter",
    "step": "step in the middle of a hole bored from both ends, radial",
    "oversize": "hole over the tool that made it, on diameter",
    "mouth": "bell mouth of the hole, on diameter, within a diameter of its ends",
    "roughness": "Rz of the bore",
    "outside_roughness": "Rz of the outside, or what a polish left of it",
    "outside_form": "out-of-round and taper of the outside, on diameter",
    "eccentricity": "offset of the bore's axis from that of the outside, at its worst place",
    "lap_stock": "stock on diameter that the laps to come have still to take toward the fit, once lapping has begun, "
                 "apart from the straightening of a bow; below nothing where scratches took them beyond it",
    "hardness": "hardness of the metal in the bulk",
    "strength": "yield strength of the metal in the bulk",
    "strain": "cold work since the last anneal, as true strain",
    "skin": "hardness of the bore's skin over that of the bulk",
    "to_clear": "what stands in the bore and has to be cut away, radial: cast skin, a bead of solder, a lapped edge",
    "outside_lost": "what scale or polishing took off the outside since it was last cut, radial",
    "seam": "width over which solder holds a seam, 0 where there is none",
    "sprung": "pull of the sheet's spring across its seam, for each length of it",
    "grain_clearance": "clearance that the grain of laps which ran shaft against bore cannot go below",
}
STRAIGHT = Q(0.0, "um")
REACH = Q(100, "mm")   # over which the tables give a bow


class State:
    """The tube at one moment: `state.wander` and the other names of HOLDS, as Quantities.

    Each is worked out when it is first needed, and remembered with the assumptions that it used. What an operation does
    not touch stays as it was. shaft: the State of the finished shaft that runs in it, where that is a part of its own.
    """

    def __init__(self, means, before=None, shaft=None, **changes):
        unknown = set(changes) - set(HOLDS)
        assert not unknown, f"a state does not hold {unknown}"
        self.means, self.before, self.changes, self.known = means, before, changes, {}
        self.shaft = shaft if before is None else before.shaft

    def then(self, **changes):
        """The state after an operation; changes: functions that give the new quantities."""
        return State(self.means, self, **changes)

    def __getattr__(self, name):
        if name not in HOLDS:
            raise AttributeError(name)
        if name in self.changes:
            return remembered(self.means, self.known, name, self.changes[name])
        return getattr(self.before, name)


def own_line(tube, means, guide, worked=None):
    """Where a tool guided like that would go by itself: (wander at the far end, bow of its axis). guide: prefix of its
    assumptions, `lead` or `drift`. worked: length that it goes; the tube's where None."""
    length = tube.length if worked is None else worked
    drift = means["model.drift"] * means[f"{guide}.drift"]
    bow = walls.bore_bow(drift=drift, length=length, share=means["arbor.bow_share"])
    return drift * length + means[f"{guide}.entry_error"], bow


def apart(one, other, cosine):
    """Distance of two points, each so far from the axis, by the cosine of the angle between them."""
    return (one**2 + other**2 - 2 * one * other * cosine)**0.5


def bow_over(length, tabled):
    """Bow over a length, of one that the tables give over REACH: an even curve's sagitta grows with the square."""
    return (tabled * (length / REACH)**2).to("um")


def followed(share, old, own, cosine):
    """Offset of a tool that follows the old hole by a share (1 the hole's, 0 its own line)."""
    return apart(share * old, -(1 - share) * own, cosine)


def trued_on_arbor(means, bow):
    """Offset that is left where the outside is trued on an arbor in the finished bore: play, run-out, and the bow of
    the bore, which truing cannot remove."""
    return (means["arbor.play"] + means["arbor.runout"]) / 2 + bow


def mate_form(state):
    """Out-of-round and taper of what runs in the bore, on diameter: its own, where it is a part of its own; else as
    much as the tube's outside has, which the same hand made."""
    return (state.shaft or state).outside_form


def bent(state):
    """Bow of the bore and of the shaft in it together: as the shaft turns, they come to lie against each other."""
    return state.bow if state.shaft is None else state.bow + state.shaft.bow


def stock_to_lap(tube, means, state):
    """Stock on diameter from the turned or filed shaft to the wanted clearance.

    The maker leaves the shaft too large for the bore by the lapping allowance (`left_on`), measured with callipers that
    ride on the peaks of the roughness (so that layer is inside this stock) but feel the mean of a form error: the tight
    places stand proud of that by half the form errors of both. Below nothing, the allowance is how far the shaft is
    left under size: the laps take the form, and what is still short of the clearance. A bore whose plunger is packed is
    lapped for its own form and face alone.
    """
    if tube.packing is not None:
        return state.lobes + state.taper + state.roughness
    return means.workshop.left_on + tube.clearance + (mate_form(state) + state.lobes + state.taper) / 2


def _largest(tube):
    return tube.largest if tube.lengths else tube.outside


def blank(tube, means, shaft=None):
    """The tube as it comes to the first step. A cast hole wanders like a bored one; an outside that no step makes
    arrives finished, in the workshop's order of work. Of a solid shaft's axis the bow is told. shaft: the State of what
    runs in it."""
    state = State(means, shaft=shaft, hole=lambda: tube.core,
                  outside=lambda: _largest(tube) + means.workshop.blank_stock,
                  wander=lambda: own_line(tube, means, "lead")[0], bow=lambda: own_line(tube, means, "lead")[1],
                  lobes=lambda: means["drilled.form_error"], taper=lambda: STRAIGHT, step=lambda: STRAIGHT,
                  oversize=lambda: STRAIGHT, mouth=lambda: STRAIGHT,
                  roughness=lambda: means["drilled.roughness"],
                  outside_roughness=lambda: means["turned.roughness"], outside_form=lambda: means["turned.form_error"],
                  grain_clearance=lambda: STRAIGHT, hardness=lambda: means["alloy.hardness"],
                  strength=lambda: means["alloy.yield_strength"], skin=lambda: means["skin.hardening"],
                  strain=lambda: means["worked.strain"] if "worked.strain" in means else Q(0.0, ""),
                  to_clear=lambda: STRAIGHT,
                  outside_lost=lambda: STRAIGHT, seam=lambda: Q(0.0, "mm"), sprung=lambda: Q(0.0, "N/mm"))
    if tube.solid:
        return state.then(bow=lambda: bow_over(tube.length, means["shaft.bow"]), wander=lambda: STRAIGHT,
                          eccentricity=lambda: STRAIGHT)
    return state.then(eccentricity=lambda: trued_on_arbor(means, state.bow) if means.bore_first else state.wander)


def thin_side(tube, state):
    """Thinnest wall over nominal wall; nothing is left where the bore breaks out."""
    return np.maximum(1 - (lost(state) / tube.wall).to(""), 1e-9)


def lost(state):
    """What is missing of the nominal wall at its thinnest place: the bore off centre, larger than its tool (scale
    counted) and wider at its mouth, and what scale took off the outside."""
    return state.eccentricity + (state.oversize + state.mouth) / 2 + state.outside_lost
