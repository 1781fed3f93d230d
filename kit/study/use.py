"""Criteria of the finished part: does it run, does it seal, and is it worth the hours.

They use the table [use] of a study; without that table none of them applies. As in `criteria.py`, each is a function
that returns an Outcome, or None where it does not apply: of a Case for each tube, of a Whole for the part.
"""
import numpy as np

from kit.base import words
from kit.base.units import Q
from kit.estimates import packing, pistons, sleeves
from kit.operations import lap
from kit.operations.operation import Outcome, stack
from kit.operations.state import bent, mate_form
from kit.operations.tools import same_tool

AMBIENT = Q(101.325, "kPa")
WHOLE = "whole part"   # in place of the name of a tube
NOTHING = Q(0.0, "g")


def paired(case):
    """Whether shaft and bore were last lapped one in the other: such a pair turns by the way it is made."""
    laps = case.done("lap")
    return bool(laps) and laps[-1].kind == lap.PAIR


def made_clearance(case):
    """Clearance of the finished pair: the wanted one, the maker's overrun and what deep scratches or the lapping until
    it turned took beyond it, but no less than the grain leaves; a pair lapped together has the bow that is left on top,
    for it was lapped until it turned.

    What is fitted by turning or filing is taken down until the play is told to be the one wanted: it has that, and what
    the maker's means do not tell, where the study has a [use] that asks for it.
    """
    if fitted_by_size(case):
        untold = case["told.difference"] if "told.difference" in case.means else Q(0.0, "um")
        return case.tube.clearance.to("um") + untold
    beyond = np.maximum(-case.state.lap_stock, Q(0.0, "um"))
    made = np.maximum(case.tube.clearance.to("um") + case["lapped.overrun"] + beyond, case.state.grain_clearance)
    return made + bent(case.state) if paired(case) else made


def fitted_by_size(case):
    """Whether what runs in the bore was turned or filed to it, and not lapped; a packed plunger is."""
    return case.tube.packing is not None or not case.of("lap")


def play(case):
    """Of the finished pair, sideways: the bow that is left takes up its own share of the clearance."""
    return made_clearance(case) - bent(case.state) if paired(case) else made_clearance(case)


def shaft_roughness(case):
    """Rz of what runs in the bore, where that is a part of its own and was not lapped in it; None elsewhere."""
    return None if case.shaft is None or paired(case) else case.shaft.state.outside_roughness


def oiled(case):
    """Whether a liquid fills the gap: not where it is dry, nor with tallow, which does not flow and has no viscosity
    in the table."""
    return "oil.viscosity" in case.draws


def friction(case):
    """Of the pair that rubs in this bore: the innermost sleeve runs on iron. Water does not lubricate: it has a row of
    its own."""
    if case.use["lubricant"] == "water":
        return case["oil.friction"]
    return case["rub_arbor.friction"] if case.tube.position == 0 else case["rub.friction"]


def viscosity(case):
    """Of the liquid in the gap at the temperature of use; the table holds that of 20 °C."""
    at = {"olive oil": sleeves.olive_oil_viscosity, "water": pistons.water_viscosity}.get(case.use["lubricant"])
    share = (at(temperature=case.use["temperature"]) / at(temperature=Q(20.0, "degC"))).m_as("") if at else 1.0
    return case["oil.viscosity"] * share


def suction(case):
    """How far the partial vacuum lies below the air outside."""
    if case.use["vacuum"] >= AMBIENT:
        raise ValueError(f"vacuum {words.planned(case.use['vacuum'])} is not below the {words.planned(AMBIENT)} of the "
                         f"air outside; give "
                         f"the absolute pressure, in [use]")
    return AMBIENT - case.use["vacuum"]


# --- one tube ---------------------------------------------------------------------------------------------------------

def clearance_left(case):
    """Clearance of the finished pair, which broken-down grain and roughness, the bow that was not lapped out and the
    lapping until it turned may have left above the one wanted, against the greatest that the function allows. Of a fit
    by turning, what the maker's means do not tell."""
    if not case.tube.empty:
        return Outcome(made_clearance(case), case.use["clearance_most"], "um")


def least_running_clearance(case):
    """Least clearance at which the pair turns, by bow, form, roughness and the grit that washing leaves, against the
    clearance as made."""
    state = case.state
    form_error = (state.lobes + state.taper + mate_form(state)) / 2
    if case.tube.empty:
        return None
    if not fitted_by_size(case):
        paired = any(each.kind == lap.PAIR for each in case.done("lap"))
        own = (None, None) if paired else (form_error, shaft_roughness(case))
        least = bent(state) + lap.turns_from(case.means, *own)
    else:
        least = bent(state) + form_error + state.roughness + case["washed.grit"]
    return Outcome(least, made_clearance(case), "um")


def told(case):
    """Smallest difference of a fit that the maker's means tell, against the room between the clearance wanted and the
    greatest that the function allows."""
    if not case.tube.empty:
        return Outcome(case["told.difference"], np.maximum(case.use["clearance_most"] - case.tube.clearance,
                                                           Q(0.0, "um")), "um")


def jamming(case):
    """Arm of a sideways push on the sleeve, against the arm at which it jams however hard the push."""
    if case.tube.position is not None and not case.tube.empty:
        return Outcome(case.use["push_arm"], sleeves.jamming_arm(length=case.tube.guided, friction=friction(case)),
                       "mm")


def plunger_hold(case):
    """Time that a partial vacuum is wanted to hold, against the time it takes to leak away past the plunger.

    The plunger lies on the bore (eccentricity 1). In an oiled gap the oil must first be driven out; tallow, which
    stays where it is, is not relied on to seal.
    """
    tube, use = case.tube, case.use
    if tube.plunger is None or tube.packing:
        return None
    gap, drop = made_clearance(case) / 2, suction(case)
    hold = pistons.hold_time(volume=use["volume"], diameter=tube.bore, radial_clearance=gap, length=tube.plunger,
                             viscosity=pistons.air_viscosity(temperature=use["temperature"]), start=use["vacuum"],
                             end=use["vacuum_end"],
                             ambient=AMBIENT, eccentricity=1)
    if oiled(case):
        hold = hold + pistons.drain_time(radial_clearance=gap, length=tube.plunger, viscosity=viscosity(case),
                                         pressure_drop=drop, surface_tension=case["oil.surface_tension"],
                                         eccentricity=1)
    return Outcome(use["hold"], np.minimum(hold / case["model.leak"], Q(1e9, "s")), "s")


def holds_at(use, tube, clearance, eccentricity=1):
    """How long a plunger holds at a clearance (diametral), by the formulas alone, at 18 °C: {"dry": time, "oiled":
    time}, olive oil in the gap driven out first. use: what the part is for; eccentricity: 1 where it lies on its bore.
    """
    shared = {"radial_clearance": clearance / 2, "length": tube.plunger, "eccentricity": eccentricity}
    dry = pistons.hold_time(volume=use["volume"], diameter=tube.bore, start=use["vacuum"], end=use["vacuum_end"],
                            viscosity=pistons.air_viscosity(temperature="18 degC"), ambient=AMBIENT, **shared)
    drain = pistons.drain_time(viscosity=sleeves.olive_oil_viscosity(temperature="18 degC"),
                               pressure_drop=AMBIENT - use["vacuum"], surface_tension="32 mN/m", **shared)
    return {"dry": dry, "oiled": dry + drain}


def plunger_slide(case):
    """Push that moves the plunger, the friction of its weight and the vacuum overcome, against the push granted to the
    hand."""
    tube, use = case.tube, case.use
    if tube.plunger is None or tube.packing:
        return None
    weight = (case["alloy.density"] * np.pi / 4 * tube.bore**2 * tube.plunger * Q(1, "standard_gravity")).to("N")
    face = suction(case) * np.pi / 4 * tube.bore**2
    push = pistons.push_to_slide(friction=case["rest.factor"] * friction(case), side_load=weight, length=tube.plunger,
                                 axial_load=face.to("N"))
    return Outcome(push, use["plunger_push"], "N")


# --- a packed plunger -------------------------------------------------------------------------------------------------

def of_packing(case, name):
    return case[f"packing.{case.tube.packing}.{name}"]


def gland(case):
    """Of a wound packing, what packing.gland_pressure and gland_friction are given."""
    return {name: of_packing(case, name) for name in ("squeeze", "length", "width", "friction", "lateral")}


def is_wound(case):
    """Whether the packing is wound on and squeezed; a cup is pressed on by what it holds back."""
    return f"packing.{case.tube.packing}.squeeze" in case.draws


def packing_push(case):
    """Push that moves a packed plunger, its packing's friction and the pressure on its face, against the push granted
    to the hand."""
    if case.tube.packing is None:
        return None
    bore, pressure = case.tube.bore, case.use["pressure"]
    if is_wound(case):
        rubs = packing.gland_friction(diameter=bore, **gland(case))
    else:
        rubs = packing.cup_friction(diameter=bore, pressure=pressure, drag_length=of_packing(case, "drag_length"),
                                    lip_force=of_packing(case, "lip_force"))
    return Outcome(rubs + (pressure * np.pi / 4 * bore**2).to("N"), case.use["plunger_push"], "N")


def packing_tight(case):
    """Pressure that a wound packing is to hold back, against that with which it presses on the bore at its far end."""
    if case.tube.packing is not None and is_wound(case):
        return Outcome(case.use["pressure"], packing.gland_pressure(**gland(case)), "kPa")


def packing_leak(case):
    """Share of each stroke that is lost past the packing, new or worn, against the share that may be lost."""
    if case.tube.packing is not None:
        return Outcome(of_packing(case, "leak_share"), Q(case.use["leak_most"], ""), "")


def packing_follows(case):
    """Gap between plunger and bore at its widest, the form of the bore counted, against the gap that the packing
    bridges."""
    if case.tube.packing is not None:
        state = case.state
        widest = made_clearance(case) + state.lobes + state.taper + state.oversize
        if case.shaft is not None:
            widest = widest + case.shaft.state.outside_form
        return Outcome(widest / 2,
                       of_packing(case, "bridges"), "mm")


def bore_smooth(case):
    """Roughness of the bore, against that on which the packing lasts."""
    if case.tube.packing is not None:
        return Outcome(case.state.roughness, of_packing(case, "roughness_most"), "um")


# --- the whole part ---------------------------------------------------------------------------------------------------

class Whole:
    """The finished part: the cases of its tubes, how it is used, and the draws; notes in `used` what was asked for."""

    name = WHOLE

    def __init__(self, cases, use, draws):
        self.cases, self.use, self.draws, self.used = cases, use, draws, set()
        self.nest = [c for c in cases if c.tube.position is not None]
        self.fitted = [c for c in self.nest if not c.tube.empty]   # those that run on what stands inside them

    def __getitem__(self, key):
        self.used.add(key)
        return self.draws[key]

    def of_each(self, function, cases, unit):
        """A quantity of each tube, one row each, with the assumptions used."""
        found = []
        for case in cases:
            case.used = set()
            found.append(function(case))
            self.used |= case.used
        return stack(found, unit)


def running_torque(whole):
    """(torque at each interface, torque at the input with pointers): the greater of starting from rest and of
    turning."""
    nest, use = whole.nest, whole.use

    def weight(case):
        tube, density = case.tube, case["alloy.density"]
        metal = density * np.pi / 4 * (tube.outside**2 - tube.bore**2) * tube.length
        if tube.lengths:
            metal = density * tube.volume
        return ((metal + use["pointer_mass"] + use.get("wheel_mass", NOTHING)) * Q(1, "standard_gravity")).to("N")

    loads = sleeves.interface_loads(weights=whole.of_each(weight, nest, "N"))
    radii = stack([c.tube.bore / 2 for c in nest], "mm")
    rubbing = whole.of_each(friction, nest, "")
    torque = sleeves.start_torque(friction=rubbing, radius=radii, load=loads,
                                  factor=whole.of_each(lambda case: case["rest.factor"], nest, ""))
    ratios, meshes = (np.array([use[name][c.tube.position] for c in nest], float)[:, None]
                      for name in ("ratios", "meshes"))
    if oiled(whole):
        rates = ratios * use["rate"]
        inner = np.concatenate([0 * rates[:1], rates[:-1]])
        rough = whole.of_each(lambda case: case["lapped.roughness"] / 5, nest, "um")   # Rq is about a fifth of Rz
        inside = rough
        if any(shaft_roughness(case) is not None for case in nest):
            inside = whole.of_each(lambda case: (case["lapped.roughness"] if shaft_roughness(case) is None else
                                                 shaft_roughness(case)) / 5, nest, "um")
        moving = sleeves.interface_torque(
            friction=rubbing, load=loads, radius=radii, length=stack([c.tube.length for c in nest], "mm"),
            radial_clearance=whole.of_each(made_clearance, nest, "um") / 2,
                                          viscosity=whole.of_each(viscosity, nest, "Pa*s"), inner_rate=inner,
            outer_rate=rates, roughness_a=inside, roughness_b=rough).torque
        torque = np.maximum(torque, moving)
    train = {"ratios": ratios, "meshes": meshes, "efficiency": whole["teeth.efficiency"]}
    drag = sleeves.stack_torque(torques=torque, **train).input
    pointers = sleeves.unbalance_torque(mass=use["pointer_mass"], arm=use["pointer_arm"])
    lifted = sleeves.input_torque(torques=np.ones(ratios.shape) * pointers, **train)
    return torque, drag + lifted


def running(whole):
    """Torque at the input to start and turn the whole nest, pointers out of balance included, against the torque
    granted."""
    if whole.nest:
        return Outcome(running_torque(whole)[1], whole.use["torque"], "N*mm",
                       ("dry" if whole.use["lubricant"] == "dry" else "oiled",))


def _of_nest(whole):
    """Clearance, length and eccentricity of each sleeve, from the inside out: Quantities of shape (sleeves, n)."""
    clearance = whole.of_each(play, whole.fitted, "mm")
    off = whole.of_each(lambda case: case.state.eccentricity, whole.fitted, "mm")
    length = Q(np.array([[c.tube.guided.m_as("mm")] for c in whole.fitted]), "mm")
    shape = len(whole.fitted), max(clearance.shape[-1], off.shape[-1])
    return (Q(np.broadcast_to(each.m_as("mm"), shape), "mm") for each in (clearance, length, off))


def pointer_shake(whole):
    """How far each pointer's tip strays to either side as its sleeve tilts with those inside it, all to one side,
    against the shake that the dial's reading allows."""
    if not whole.fitted:
        return None
    clearance, length, _ = _of_nest(whole)
    strays = [sleeves.stack_tilt(clearances=clearance[:k], lengths=length[:k]).worst.m_as("rad")
              * whole.use["pointer_reach"] for k in range(1, len(whole.fitted) + 1)]
    return Outcome(stack(strays, "mm"), whole.use["tip_play"], "mm", tuple(c.tube.said for c in whole.fitted))


def nest_stray(whole):
    """How far each sleeve can run off the arbor's axis, its own wall's and play's offset with those inside it, all to
    one side, against what the dial's reading allows."""
    if not whole.fitted:
        return None
    clearance, _, off = _of_nest(whole)
    strays = [sleeves.stack_runout(clearances=clearance[:k], eccentricities=off[:k]).worst
              for k in range(1, len(whole.fitted) + 1)]
    return Outcome(stack(strays, "mm"), whole.use["stray_most"], "mm", tuple(c.tube.said for c in whole.fitted))


def hours(case):
    """Hours that a tube takes, step by step, setting up included: [(step, hours as draws)]."""
    steps = [(name, (time + case["setup.minutes"]).to("h"))
             for each in case.operations for name, time in zip(each.places, each.hours)]
    return steps if case.tube.solid else [*steps, ("arbor made", case["arbor_made.hours"])]


def tools(whole):
    """The tools that the routes need, one of each size: each must be made."""
    return {same_tool(step) for case in whole.cases for step in case.steps if step.tool is not None}


def labour(whole):
    """Hours of all steps of all tubes, regrinding, chips, tools and arbors counted, and those of the blanks that are
    spoilt, against the hours granted; casting is not counted, nor a shaft or plunger without a route of its own."""
    total = whole.of_each(lambda case: sum((time for _, time in hours(case)), Q(0.0, "h")), whole.cases, "h")
    made = len(tools(whole)) * whole["tool_made.hours"]
    return Outcome(total.sum(axis=0) * (1 + whole["spoilt.for_each_good"]) + made, whole.use["hours"], "h")


OF_A_TUBE = {
    "clearance left": clearance_left,
    "least running clearance": least_running_clearance,
    "told at the bench": told,
    "jamming": jamming,
    "plunger: hold": plunger_hold,
    "plunger: slide": plunger_slide,
    "packing: push": packing_push,
    "packing: tight": packing_tight,
    "packing: leak": packing_leak,
    "packing: follows the bore": packing_follows,
    "bore smooth": bore_smooth,
}
LABOUR = "labour"
OF_THE_WHOLE = {"pointer shake": pointer_shake, "nest stray": nest_stray, "running": running, LABOUR: labour}

