"""The tube as an operation finds it and leaves it."""
import numpy as np

from kit.estimates import walls
from kit.operations.means import remembered

# What a state holds: name and meaning
HOLDS = {
    "hole": "diameter of the hole, 0 where there is none",
    "outside": "diameter of the outside",
    "wander": "how far the bore's axis has left its start at the far end, radial",
    "eccentricity": "offset of the bore's axis from that of the outside, at its worst place",
    "lap_stock": "stock on diameter that laps have still to take, from the turned or filed shaft to the wanted "
         "clearance",
}


class State:
    """The tube at one moment: `state.wander` and the other names of HOLDS, as Quantities.

    Each is worked out when it is first needed, and remembered with the assumptions that it used. What an operation does
    not touch stays as it was.
    """

    def __init__(self, means, before=None, **changes):
        unknown = set(changes) - set(HOLDS)
        assert not unknown, f"a state does not hold {unknown}"
        self.means, self.before, self.changes, self.known = means, before, changes, {}

    def then(self, **changes):
        """The state after an operation; changes: functions that give the new quantities."""
        return State(self.means, self, **changes)

    def __getattr__(self, name):
        if name not in HOLDS:
            raise AttributeError(name)
        if name in self.changes:
            return remembered(self.means, self.known, name, self.changes[name])
        return getattr(self.before, name)


def wander(tube, means):
    """How far a hole leaves its start over the length of the tube, by the tool that leads it and the start's error."""
    return means["model.drift"] * means["drift.drift"] * tube.length + means["drift.entry_error"]


def trued_on_arbor(tube, means):
    """Offset that is left where the outside is trued on an arbor in the finished bore: play, run-out, and the bow of
    the bore, which truing cannot remove."""
    bow = walls.bore_bow(drift=means["model.drift"] * means["drift.drift"], length=tube.length,
                         share=means["arbor.bow_share"])
    return (means["arbor.play"] + means["arbor.runout"]) / 2 + bow


def stock_to_lap(tube, means):
    """Stock on diameter from the turned or filed shaft to the wanted clearance.

    The maker leaves the shaft too large for the bore by the lapping allowance (`left_on`), measured with callipers that
    ride on the peaks of the roughness (so that layer is inside this stock) but feel the mean of a form error: the tight
    places stand proud of that by half the form errors of both.
    """
    return means.workshop.left_on + tube.clearance + (means["turned.form_error"] + means["reamed.form_error"]) / 2


def blank(tube, means):
    """The tube as it comes to the first step. A cast hole wanders like a bored one; an outside that no step makes
    arrives finished, in the workshop's order of work."""
    state = State(means, hole=lambda: tube.core, outside=lambda: tube.outside + means.workshop.blank_stock,
                  wander=lambda: wander(tube, means), lap_stock=lambda: stock_to_lap(tube, means))
    return state.then(eccentricity=lambda: trued_on_arbor(tube, means) if means.bore_first else state.wander)


def thin_side(tube, state):
    """Thinnest wall over nominal wall; nothing is left where the bore breaks out."""
    return np.maximum(1 - (state.eccentricity / tube.wall).to(""), 1e-9)
