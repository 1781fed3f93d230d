"""How fast is a verdict? In one run, `Study.assess` of the demo study against two other roads to the same numbers:

(a) the same formulas in bare numpy arrays, without units, checks or warnings (aim: at most 1.5 times as long);
(b) a plain loop over draws, each through the same kit functions with scalar Quantities (aim: 300 times faster a draw).

    python tests/benchmarks/assess.py [draws]

Drawing is left out on all sides: it is timed apart, then the same draws are handed out. All three roads must come to the
same chances. Time is that of the processor, so that a busy machine spoils less.
"""
import platform
import statistics
import sys
import time
import warnings

import numpy as np

import kit
from kit.criteria import CRITERIA, Case
from kit.verdict import Line

REPEATS, SEED, LOOP_DRAWS = 7, 1, 40
MAKING = ("drilling torque", "drilling thrust", "drill buckling", "reaming pass", "tool shank", "turning the outside", "lapping torque", "cord",
          "blank allowance", "least wall", "wall: grip", "wall: twist", "wall: pinch", "wall: push", "lapping stock")   # written out below
UNITS = {"HV": "MPa", "GPa": "MPa", "mm/m": "", "um": "mm", "m": "mm", "N*m": "N*mm"}   # all in N, mm, MPa and minutes


def bare_inputs(study, draws):
    """The draws as plain arrays, and the tubes with their steps as plain numbers."""
    units = {key: row.unit for key, row in study.assumptions.items()}
    plain = {key: q.m_as(UNITS.get(units[key], q.units)) for key, q in draws.items()}
    work, tubes = study.workshop, []
    for tube in study.tubes:
        sizes = {name: getattr(tube, name).m_as("mm") for name in ("bore", "outside", "wall", "length", "clearance")}
        groups, outside, laps = {}, [], []
        for step in study.steps(tube):
            before, after = step.before.m_as("mm"), step.diameter.m_as("mm")
            if step.operation in ("drill", "ream"):
                tool = step.tool
                edges, angle = {"two-lip drill": (2, tool.point_angle.m_as("rad") / 2), "half-round bit": (1, np.pi / 2)}.get(
                    tool.kind, (tool.teeth, tool.lead_angle.m_as("rad")))
                groups.setdefault((step.operation, tool.kind, edges, edges / np.sin(angle), tool.point_angle.m_as("rad"), tool.shank,
                                   tool.shank_ratio), []).append((before, after, step.feed.m_as("mm"), step.drive))
            elif step.operation == "turn":
                outside.append((before, step.depth.m_as("mm"), step.feed.m_as("mm")))
            elif step.operation == "file":
                outside.append((before, None, None))
            else:
                laps.append((after, step.abrasive, step.pressure.m_as("MPa"), step.hours.m_as("min"),
                             None if step.stock is None else step.stock.m_as("mm")))
        tubes.append((tube.name, sizes, groups, outside, laps))
    shop = {"pulley": work.pulley.m_as("mm"), "wrap": work.wrap.m_as("rad"), "blank_stock": work.blank_stock.m_as("mm"),
            "start_length": work.start_length.m_as("mm"), "jaws": work.jaws, "bore_first": work.order == "bore first",
            "left_on": work.left_on.m_as("mm")}
    return tubes, shop, plain


def bare(tubes, shop, plain):
    """{(tube, criterion): (chance, 5 %, 50 %, 95 % of the margin)} and the chance of all, with numpy alone."""
    found, every = {}, True
    for name, size, groups, outside, laps in tubes:
        for criterion, demand, capacity in bare_tube(name, size, groups, outside, laps, shop, plain):
            margin = capacity / np.maximum(demand, 1e-300)
            margin = margin.min(axis=0) if margin.ndim == 2 else margin
            met = margin >= 1
            every &= met
            found[name, criterion] = (met.mean(), *np.quantile(margin, (0.05, 0.5, 0.95)))
    return found, every.mean()


def bare_tube(name, size, groups, outside, laps, shop, plain):
    """(criterion, demand, capacity) of one tube; torques in N*mm."""
    def take(key):
        own = f"{key}@{name}"
        return plain[own] if own in plain else plain[key]

    bore, outer, wall, length, clearance = size["bore"], size["outside"], size["wall"], size["length"], size["clearance"]
    radius, pulley = (bore + wall) / 2, shop["pulley"]
    kc11, m, edge_force, cutting = take("alloy.kc11"), take("alloy.exponent"), take("edge.edge_force"), take("model.cutting_torque")
    modulus, poisson, strength = take("alloy.modulus"), take("alloy.poisson"), take("alloy.yield_strength")
    model_wall, one_minute, sustained = take("model.wall_strength"), take("drive.pull_one_minute"), take("drive.pull_sustained")
    centre = 2 * take("centre.friction") * take("centre.load") * 2 / 3 * take("centre.radius") / np.sin(np.pi / 6)
    strokes = 2 * take("drive.stroke_length") * take("drive.stroke_frequency")
    turning_rate = strokes / (np.pi * pulley) * take("drive.duty")
    cord = 2 * take("drive.rest_tension") * np.tanh(take("cord.friction") * shop["wrap"] / 2)
    wrench = 2 * take("wrench.force") * take("wrench.arm")
    chip = take("edge.least_chip_ratio") * take("edge.edge_radius")
    per_width = kc11 * chip**(1 - m) + edge_force

    def bow(minutes):
        share = np.clip(np.log(minutes) / np.log(30), 0, 1)
        return np.maximum((one_minute + share * (sustained - one_minute)) * pulley / 2 - centre, 0)

    def pull(torque):
        return 2 * (torque + centre) / pulley

    drilling, given, thrusts, columns, reaming, gives, hand, shanks = [], [], [], [], [], [], [], []
    for (operation, kind, edges, feed_per_chip, point, shank, ratio), passes in groups.items():
        before, after, feed = (np.array([[p[i]] for p in passes]) for i in range(3))
        stock = (after - before) / 2
        arm = (after - stock) / 2 + (take("guide.friction") * after / 2 if kind == "half-round bit" else 0)
        torque = per_width * stock * feed_per_chip * arm
        least_feed = chip * feed_per_chip
        if kind == "fluted reamer":
            torque = torque + take("guide.friction") * take("margins.pressure") * take("margins.width") * take("margins.length") * edges * after / 2
        torque = torque * cutting * (take("model.drill_chisel_and_margins") if kind == "two-lip drill" else 1)
        drive = bow(length / np.maximum(feed, least_feed) / turning_rate)
        shanks.append(take("tool.shear_yield") * (after * ratio)**3 * (np.pi / 16 if shank == "round" else (3 * np.pi**2 / 16 - 1.5) / 8))
        if operation == "drill":
            drilling.append(torque)
            given.append(drive)
            for b, a, _, _ in passes:
                if b > 0:
                    sine = np.sin(point / 2)
                    lips = 0.5 * kc11 * (least_feed / 2 * sine)**-m * (a - b) / 2 * least_feed * sine + 0.5 * edge_force * (a - b)
                    thrusts.append(take("model.drill_thrust") * lips)
                else:
                    factor, worn = take("alloy.material_factor"), take("edge.wear_factor")
                    thrusts.append(take("model.drill_thrust") * (0.05 * factor * least_feed**0.8 * a**0.8 * 1.355 * worn
                                                                 + 0.007 * factor * a**2 * 0.030 * worn))
                second = np.pi**3 * take("tool.modulus") * (a * ratio)**4 / 64
                columns.append(np.minimum(second / (2 * shop["start_length"])**2, second / (0.7 * (length + shop["start_length"] / 2))**2))
        else:
            fails = (drive < torque) | (cord < pull(torque))
            hand.append(fails & np.array([[p[3] != "bow"] for p in passes]) | np.array([[p[3] == "hand"] for p in passes]))
            reaming.append(torque)
            gives.append(drive)
    drilling, given, reaming, gives, hand = (np.concatenate(x) if x else None for x in (drilling, given, reaming, gives, hand))
    turning = np.array([before / 2 * (take("file.friction") * take("hand.file_push") if depth is None else
                                      cutting * (kc11 * feed**-m * depth * feed + edge_force * depth)) for before, depth, feed in outside])
    lapping = np.array([take("grain.friction") * pressure * np.pi * d * length * d / 2 for d, _, pressure, _, _ in laps])
    half_hour = bow(30.0)
    if drilling is not None:
        yield "drilling torque", drilling, given
        yield "drilling thrust", np.array(thrusts), take("push.push")
        yield "drill buckling", np.array(thrusts), np.array(columns)
    yield "reaming pass", reaming, np.where(hand, wrench, gives)
    cuts = reaming if drilling is None else np.concatenate([drilling, reaming])
    yield "tool shank", take("drive.peak") * cuts, np.concatenate(shanks)
    yield "turning the outside", turning, half_hour
    yield "lapping torque", lapping, half_hour
    bowed = np.where(hand, 0, reaming)
    yield "cord", pull(np.concatenate([*([] if drilling is None else [drilling]), bowed, turning, lapping])), cord

    drift, wander = take("model.drift") * take("drift.drift"), 0.0
    drifted = drift * length + take("drift.entry_error")
    eccentricity = drifted
    if shop["bore_first"]:
        wander, eccentricity = drifted, (take("arbor.play") + take("arbor.runout")) / 2 + take("arbor.bow_share") * drift * length / 4
    yield "blank allowance", wander + take("blank.cleanup"), shop["blank_stock"] / 2
    lap_stock = shop["left_on"] + clearance + (take("turned.form_error") + take("form.half-round bit.out_of_round")) / 2
    ripple = (48 * (1 - poisson**2))**0.25 / (2 * np.sqrt(3))
    usable = model_wall * strength
    pinched = (8 * take("hand.pinch") / (np.pi * usable * ripple * np.sqrt(radius)))**(2 / 3)
    twisted = take("pointer.service_torque") / (2 * np.pi * radius**2 * usable / np.sqrt(3))
    yield "least wall", np.maximum(pinched, twisted) + lap_stock / 2, np.maximum(wall - eccentricity, 0)

    jaws, grip_wall, grip_radius = shop["jaws"], wall, radius
    if shop["bore_first"]:
        around = outer + shop["blank_stock"]
        grip_wall, grip_radius, width = (around - bore) / 2, (around + bore) / 4, min(around, length)
    else:
        bent = radius * np.sqrt(radius / wall) * (48 * (1 - poisson**2))**0.25 / (jaws * np.sqrt(jaws**2 - 1))
        width = np.minimum(2 * bent, length)
    h = np.pi / jaws
    s, c = np.sin(h), np.cos(h)
    both = (h + s * c) / (2 * s**2) - 1 / h + 1 / h - (s + h * c) / (2 * s**2)
    yield "wall: grip", take("jaws.load") * grip_radius**3 / (2 * modulus * width * grip_wall**3 / 12) * both, clearance / 4
    thin_side = np.maximum(1 - eccentricity / wall, 1e-9)
    torque = (turning if shop["bore_first"] else reaming).max(axis=0)
    moderate = 0.747 * modulus * (wall / radius)**1.25 * np.sqrt(radius / length)
    very_long = modulus / (3 * np.sqrt(2) * (1 - poisson**2)**0.75) * (wall / radius)**1.5
    yield ("wall: twist", 16 * torque * outer / (np.pi * (outer**4 - bore**4)) / thin_side,
           model_wall * np.minimum(strength / np.sqrt(3), 0.67 * np.maximum(moderate, very_long)))
    long = radius * np.sqrt(radius / wall) * ripple
    folds = usable * wall**2 / 4
    yield "wall: pinch", take("hand.pinch") * radius / np.pi, np.array([folds * np.minimum(long / 2, length), folds * np.minimum(2 * long, length)])
    if shop["bore_first"]:
        arbor, sleeve = np.pi / 64 * bore**4, np.pi / 64 * (outer**4 - bore**4)
        stress = modulus * take("hand.tool_push") * length * 1.3 / 4 * outer / 2 / (take("arbor_metal.modulus") * arbor + modulus * sleeve)
    else:
        stress = take("push.push") / (np.pi * (outer**2 - bore**2) / 4)
    knockdown = 1 - 0.901 * (1 - np.exp(-np.sqrt(radius / wall) / 16))
    crumples = knockdown * modulus * wall / (radius * np.sqrt(3 * (1 - poisson**2)))
    yield "wall: push", stress / thin_side, model_wall * np.minimum(strength, crumples)

    later, hardness = sum(stock or 0 for *_, stock in laps), take("alloy.hardness")
    demand, removed = [], []
    for d, abrasive, pressure, minutes, stock in laps:
        ratio = np.maximum(hardness / take(f"abrasive.{abrasive}.hardness"), 0.1)
        bite = np.where(ratio <= 0.8, 1.0, np.where(ratio <= 1.25, 3 / 5.3 * ratio**-2.5, 3 / 2.43 * ratio**-6))
        speed = strokes / pulley * d
        rate = take("model.removal") * bite * take(f"abrasive.{abrasive}.wear_coefficient") * pressure * speed / hardness
        removed.append(2 * rate * take("drive.attended") * minutes)
        demand.append(np.maximum(lap_stock - later, 1e-6) if stock is None else np.full(len(rate), stock))
    yield "lapping stock", np.array(demand), np.array(removed)


def assess(study, draws):
    """What the bare version comes to, by the kit."""
    verdict = study.assess(draws=draws, seed=SEED, criteria=MAKING)
    return {(line.tube, line.criterion): (line.chance, *line.quantiles("margin")) for line in verdict.lines}, verdict.chance


def loop(study, draws, count):
    """In how many of the first draws all criteria are met, one scalar draw after the other."""
    cases, met = [(tube, study.steps(tube)) for tube in study.tubes], 0
    for i in range(count):
        one = {key: q if np.ndim(q.m) == 0 else kit.Q(q.m[i], q.units) for key, q in draws.items()}
        whole = True
        for tube, steps in cases:
            case = Case(tube, steps, study.workshop, one)
            for criterion in MAKING:
                outcome = CRITERIA[criterion](case)
                if outcome is not None:
                    whole &= bool(Line.of(tube.name, criterion, outcome, 1, frozenset()).met[0])
        met += whole
    return met


def seconds(call, *given):
    start = time.process_time()
    call(*given)
    return time.process_time() - start


def main(n=100_000):
    warnings.simplefilter("ignore", kit.OutOfRange)
    study = kit.study.load(kit.tables.DATA / "harbour-dial")
    drawing = seconds(study.draws, n, SEED)
    draws = study.draws(n, SEED)
    vars(study)["draws"] = lambda n, seed: draws
    inputs = bare_inputs(study, draws)

    (by_kit, chance), (by_hand, bare_chance) = assess(study, n), bare(*inputs)
    assert by_kit.keys() == by_hand.keys()
    for line, numbers in by_kit.items():
        np.testing.assert_allclose(numbers, by_hand[line], rtol=1e-9, atol=0, err_msg=f"{line}")
    assert chance == bare_chance
    count = min(LOOP_DRAWS, n)
    first = study.assess(draws=n, seed=SEED, criteria=MAKING).met.values()
    assert loop(study, draws, count) == np.logical_and.reduce(list(first))[:count].sum()

    # one after the other within each repeat, so that a busy machine slows all alike
    times = [(seconds(assess, study, n), seconds(bare, *inputs), seconds(loop, study, draws, count) / count) for _ in range(REPEATS)]
    kit_s, bare_s, loop_s = (statistics.median(column) for column in zip(*times))
    to_bare = statistics.median(k / b for k, b, _ in times)
    to_loop = statistics.median(p * n / k for k, _, p in times)
    print(f"{platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}; medians of {REPEATS} repeats; {len(by_kit)} criteria")
    print(f"Study.assess, {n} draws: {kit_s:.3f} s (and {drawing:.3f} s for drawing them)")
    print(f"(a) bare numpy, {n} draws: {bare_s:.3f} s: assess takes {to_bare:.2f} times as long (aim: at most 1.5), "
          f"with the drawing on both sides {(kit_s + drawing) / (bare_s + drawing):.2f} times")
    print(f"(b) loop with scalar Quantities, {count} draws: {1e3 * loop_s:.1f} ms a draw: assess is {to_loop:.0f} times faster (aim: at least 300)")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
