"""The kit's closed forms beside independent ways to the same number: small finite-element solves, a lapping and a drilling step by step.

No published source: what is compared are two routes of our own. Each test says how near they come, and why no nearer.
"""
import numpy as np
import pytest

from kit import evidence, form, holding, study, walls
from kit.outcomes import cases_of
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

# --- frames and beams of straight elements ----------------------------------------------------------------------------


def beam(stiffness, length):
    """Bending of one element: shift and turn of either end. stiffness: E I."""
    a = length
    return stiffness / a**3 * np.array([[12, 6 * a, -12, 6 * a], [6 * a, 4 * a * a, -6 * a, 2 * a * a],
                                        [-12, -6 * a, 12, -6 * a], [6 * a, 2 * a * a, -6 * a, 4 * a * a]])


def chain_of_beams(stiffness, step, count):
    """Stiffness of `count` elements in a line, two unknowns a node."""
    whole = np.zeros((2 * count + 2, 2 * count + 2))
    for i in range(count):
        whole[2 * i:2 * i + 4, 2 * i:2 * i + 4] += beam(stiffness, step)
    return whole


class Ring:
    """A ring of straight frame elements, in mm, N and MPa; each node has a shift along x, along y, and a turn."""

    def __init__(self, radius, wall, width, modulus, count=240):
        self.angle = 2 * np.pi * np.arange(count) / count
        x, y = radius * np.cos(self.angle), radius * np.sin(self.angle)
        area, second = wall * width, width * wall**3 / 12
        self.stiffness = np.zeros((3 * count, 3 * count))
        for i in range(count):
            j = (i + 1) % count
            dx, dy = x[j] - x[i], y[j] - y[i]
            length = np.hypot(dx, dy)
            c, s = dx / length, dy / length
            local = np.zeros((6, 6))
            local[np.ix_((0, 3), (0, 3))] = modulus * area / length * np.array([[1, -1], [-1, 1]])
            local[np.ix_((1, 2, 4, 5), (1, 2, 4, 5))] = beam(modulus * second, length)
            turn = np.kron(np.eye(2), [[c, s, 0], [-s, c, 0], [0, 0, 1]])
            places = [3 * i, 3 * i + 1, 3 * i + 2, 3 * j, 3 * j + 1, 3 * j + 2]
            self.stiffness[np.ix_(places, places)] += turn.T @ local @ turn
        self.outward = np.zeros((count, 3 * count))   # from all shifts to those along the radius
        self.outward[np.arange(count), 3 * np.arange(count)] = np.cos(self.angle)
        self.outward[np.arange(count), 3 * np.arange(count) + 1] = np.sin(self.angle)
        self.rigid = np.zeros((3, 3 * count))   # moving along x, along y, turning
        self.rigid[0, 0::3], self.rigid[1, 1::3] = 1, 1
        self.rigid[2, 0::3], self.rigid[2, 1::3], self.rigid[2, 2::3] = -y, x, 1

    def pressed(self, loads):
        """Shifts under radial loads in balance (inward positive, one a node), the ring as a whole held still."""
        border = np.block([[self.stiffness, self.rigid.T], [self.rigid, np.zeros((3, 3))]])
        return np.linalg.solve(border, np.append(-self.outward.T @ loads, np.zeros(3)))[:-3]

    def moment(self, shifts, radius, wall, width, modulus):
        """Bending moment at every node, from the change of curvature: of the turns on either side."""
        turns = shifts[2::3]
        return modulus * width * wall**3 / 12 * (np.roll(turns, -1) - np.roll(turns, 1)) / (2 * radius * 2 * np.pi / len(turns))


RING = dict(radius=2.7, wall=0.1, width=5.0, modulus=100e3)


@pytest.mark.parametrize("jaws", [2, 3])
def test_a_ring_pinched_by_fingers_and_by_three_jaws(jaws):
    """Within 1 %: of 27 walls' radius, hoop strain and the chords of 240 elements each shift it by under 0.5 %."""
    ring, load = Ring(**RING), 1.0
    loads = np.zeros(len(ring.angle))
    loads[np.arange(jaws) * len(loads) // jaws] = load
    shifts = ring.pressed(loads)
    out = ring.outward @ shifts
    told = walls.jaw_distortion(jaws=jaws, load=Q(load, "N"), radius=Q(2.7, "mm"), wall=Q(0.1, "mm"), width=Q(5, "mm"), modulus="100 GPa")
    assert np.ptp(out) == pytest.approx(told.peak_to_valley.m_as("mm"), rel=0.01)
    assert -out[0] == pytest.approx(told.inward.m_as("mm"), rel=0.01)
    # the moment falls off steeply on either side of the jaw: half an element from it, it is 2 % lower
    moment = np.abs(ring.moment(shifts, **RING)).max()
    assert 6 * moment / (5.0 * 0.1**2) == pytest.approx(told.stress.m_as("MPa"), rel=0.04)
    if jaws == 2:
        assert moment == pytest.approx(walls.pinch_moment(force="1 N", radius="2.7 mm").m_as("N*mm"), rel=0.04)


@pytest.mark.parametrize("wall", [0.2, 0.4, 0.8])
def test_a_sleeve_bent_on_its_arbor(wall):
    """Two lines of beams, tied across where the sleeve lies; pushed in the middle. Within 1 %: the same curve is the kit's assumption
    too; what is tested is that the sleeve, shorter than the arbor, takes up its share before the middle."""
    bore, length, push, count = 5.0, 90.0, 20.0, 234
    outside, span = bore + 2 * wall, 1.3 * 90.0
    step = span / count
    arbor, sleeve = 195e3 * np.pi * bore**4 / 64, 100e3 * np.pi * (outside**4 - bore**4) / 64
    first = round((span - length) / 2 / step)   # node of the arbor at which the sleeve begins
    nodes = round(length / step) + 1
    half = 2 * (count + 1)
    whole = np.zeros((half + 2 * nodes,) * 2)
    whole[:half, :half] = chain_of_beams(arbor, step, count)
    whole[half:, half:] = chain_of_beams(sleeve, step, nodes - 1)
    tie = 1e9   # N/mm: stiff beside the beams, else the sleeve bends by itself under the tool
    for i in range(nodes):
        pair = [2 * (first + i), half + 2 * i]
        whole[np.ix_(pair, pair)] += tie * np.array([[1, -1], [-1, 1]])
    loads = np.zeros(len(whole))
    middle = nodes // 2
    loads[half + 2 * middle] = push
    free = np.setdiff1d(np.arange(len(whole)), [0, 2 * count])   # the centres
    shifts = np.zeros(len(whole))
    shifts[free] = np.linalg.solve(whole[np.ix_(free, free)], loads[free])
    turns = shifts[half + 1::2]
    stress = 100e3 * abs(turns[middle + 1] - turns[middle - 1]) / (2 * step) * outside / 2
    told = walls.bending_stress_on_arbor(force=Q(push, "N"), span=Q(span, "mm"), outside=Q(outside, "mm"), bore=Q(bore, "mm"), modulus="100 GPa",
                                         arbor_modulus="195 GPa")
    assert stress == pytest.approx(told.m_as("MPa"), rel=0.01)


@pytest.mark.parametrize("stretch, taper", [(3.0, 0.5), (5.0, 1.0), (2.0, 0.4)])
@pytest.mark.parametrize("wall", [0.2, 0.5])
def test_a_tube_driven_on_a_tapered_arbor(wall, stretch, taper):
    """The wall as a beam on the springs of its own hoops, in touch where it is pressed. Within 6 %: where the taper fades the wall lifts over
    a length of sqrt(radius wall), half a millimetre to one of the 4 to 6 that grip."""
    radius, length, modulus, poisson, count = 2.6, 40.0, 100e3, 0.34, 400
    step = length / count
    plate = modulus * wall**3 / (12 * (1 - poisson**2))   # a mm of circumference
    hoops = modulus * wall / radius**2
    whole = chain_of_beams(plate, step, count)
    share = np.full(count + 1, step)
    share[[0, -1]] /= 2
    whole[np.arange(0, 2 * count + 2, 2), np.arange(0, 2 * count + 2, 2)] += hoops * share
    along = np.arange(count + 1) * step
    proud = (stretch / 1000 - taper / 1000 * along) / 2   # of the arbor over the bore, on the radius
    touch = proud > 0
    for _ in range(200):   # whichever node is pulled lets go, whichever sinks in touches
        shift, held = np.zeros(2 * count + 2), 2 * np.flatnonzero(touch)
        free = np.setdiff1d(np.arange(2 * count + 2), held)
        shift[held] = proud[touch]
        shift[free] = np.linalg.solve(whole[np.ix_(free, free)], -whole[np.ix_(free, held)] @ shift[held])
        force = (whole @ shift)[::2]
        new = np.where(touch, force > -1e-12, shift[::2] < proud - 1e-12)
        if np.array_equal(new, touch):
            break
        touch = new
    else:
        raise AssertionError("the contact did not settle")
    torque = 0.12 * force[touch].sum() * 2 * np.pi * radius * radius / 1000
    told = holding.arbor_torque(stretch=Q(stretch, "um"), taper=Q(taper, "mm/m"), wall=Q(wall, "mm"), modulus="100 GPa", friction=0.12,
                                length=Q(length, "mm"))
    assert torque == pytest.approx(told.m_as("N*m"), rel=0.06)


def grip_of_a_block(loose, wall=0.4, radius=2.7, ground=50.0, force=2.2):
    """Sum of normal forces over twice the force that closes two half rounds of wood on a ring, a mm along, and how far the ring is out of
    round by it, mm. loose: radius of the block over that of the ring, mm. ground: stiffness of the wood, N/mm^3."""
    ring = Ring(radius, wall, 1.0, 100e3, count=60)
    height = np.abs(np.sin(ring.angle))
    springs = ground * radius * 2 * np.pi / len(height)

    def closed(by):
        overlap, touch = by * height - loose * (1 - height), np.ones(len(height), bool)   # before anything gives
        for _ in range(100):
            k = springs * touch
            stiff = ring.stiffness + ring.outward.T @ (k[:, None] * ring.outward) + 1e-9 * np.eye(len(ring.stiffness))
            out = ring.outward @ np.linalg.solve(stiff, -ring.outward.T @ (k * overlap))
            new = overlap + out > 0
            if np.array_equal(new, touch):
                break
            touch = new
        return springs * np.maximum(overlap + out, 0), np.ptp(out)

    low, high = 0.0, 1.0
    for _ in range(24):   # how far the halves close until they press with the force
        middle = (low + high) / 2
        low, high = (middle, high) if (closed(middle)[0] * height).sum() / 2 < force else (low, middle)
    pressed, oval = closed(high)
    return pressed.sum() / (2 * force), oval


@pytest.mark.long
def test_the_grip_of_a_fitted_block_lies_where_the_table_has_it():
    """A bronze sleeve in two halves of wood, with contact where they press. The table's share of a perfect fit is 0.64 to 0.89; here a
    block that fits exactly, in soft and in hard wood, gives 0.84 and 0.92, and one bored 0.02 or 0.1 mm too large on the radius 0.65 to
    0.75: the table is low at its upper end by 0.03, and never below two lines of touch."""
    share = evidence.reference("holds", "wooden clamp, fitted", "hold")["hold.grip_share"]
    found = {(loose, ground): grip_of_a_block(loose, ground=ground)[0] / (np.pi / 2) for loose in (0.0, 0.02, 0.1) for ground in (20.0, 200.0)}
    assert all(2 / np.pi <= each <= 1 for each in found.values())   # two lines; the same pressure all round
    assert share.low - 0.01 < min(found.values()) < 0.7 and 0.85 < max(found.values()) < share.high + 0.05
    for ground in (20.0, 200.0):   # the looser, the less
        assert found[0.0, ground] > found[0.02, ground] > found[0.1, ground]


@pytest.mark.slow
@pytest.mark.parametrize("loose, within", [(0.0, 0.16), (0.02, 0.02)])
def test_the_oval_that_a_fitted_block_leaves(loose, within):
    """Of that contact, beside even pressure on arcs of the same grip: where the block fits exactly it touches nearly all round, and the
    formula is 13 % low; bored 0.02 mm too large, where the oval is greater, within 1 % (and so at 0.1 mm)."""
    share, oval = grip_of_a_block(loose)
    told = walls.clamp_distortion(force="2.2 N", radius="2.7 mm", wall="0.4 mm", width="1 mm", modulus="100 GPa", grip_share=share / (np.pi / 2))
    assert oval == pytest.approx(told.m_as("mm"), rel=within)


# --- lapping a bowed pair, step by step ---------------------------------------------------------------------------------

def lapped(bow, bend, stocks, pressure=0.03, bore=5.0, length=90.0, count=30, ground=100.0):
    """[(bow left, least and greatest stock along the bore)] in um, each time the mean stock on diameter passes one of `stocks` (um).

    A lap, straight when free and borne by nothing but the bore, expanded so that it presses with the same mean pressure throughout, on
    either side of the bent bore in the plane of the bow; wherever it presses it takes metal off in proportion. bend: of the lap, from
    `form.lap_bend` at this pressure. ground: how hard grain and skin are to press into, N/mm^3.
    """
    step, along = length / count, np.linspace(-1, 1, count + 1)
    shifts, share = 2 * np.arange(count + 1), np.full(count + 1, length / count)
    share[[0, -1]] /= 2
    stiff = chain_of_beams(5 * pressure * bore * length**4 / (384 * bend / 1000), step, count)
    springs, line = share * bore * ground, bow / 1000 * (1 - along**2)
    off = {1: np.zeros(count + 1), -1: np.zeros(count + 1)}   # either side
    touch = {1: np.ones(count + 1), -1: np.ones(count + 1)}
    turn, taken, found = bow / 1000 / 100, 0.0, []
    while len(found) < len(stocks):
        for _ in range(200):   # shape and size of the lap, until touch and force agree
            system, right = np.zeros((2 * count + 3,) * 2), np.zeros(2 * count + 3)
            system[:-1, :-1], right[-1] = stiff, 2 * length * pressure / ground
            for side in (1, -1):   # overlap there: side * (lap - bore) + size - off
                system[shifts, shifts] += springs * touch[side]
                system[shifts, -1] += side * springs * touch[side]
                system[-1, shifts] += side * share * touch[side]
                system[-1, -1] += (share * touch[side]).sum()
                right[shifts] += side * springs * touch[side] * (side * line + off[side])
                right[-1] += (share * touch[side] * (side * line + off[side])).sum()
            lap_line, size = np.split(np.linalg.solve(system, right), [-1])
            over = {side: side * (lap_line[shifts] - line) + size - off[side] for side in (1, -1)}
            now = {side: (over[side] > 0) * 1.0 for side in (1, -1)}
            if all(np.array_equal(now[side], touch[side]) for side in (1, -1)):
                break
            touch = now
        else:
            raise AssertionError("the contact did not settle")
        for side in (1, -1):
            off[side] += turn / 2 * np.maximum(over[side], 0) * ground / pressure
        taken += turn
        if taken >= stocks[len(found)] / 1000 - turn / 2:
            axis, both = line + (off[1] - off[-1]) / 2, off[1] + off[-1]
            found.append(tuple(1000 * each for each in (axis[count // 2] - (axis[0] + axis[-1]) / 2, both.min(), both.max())))
    return found


BOW = 10.0   # um


def test_a_stiff_lap_straightens_for_the_stock_that_the_kit_says():
    """A lap that hardly bends (bend a fiftieth of the bow). When the bow's own depth is off the diameter, a tenth of the bow is left, since
    a lap does not rub at the high places alone; another half of it and nothing is."""
    stock = form.straightening_stock(bow=Q(BOW, "um")).m_as("um")
    (left, least, most), (after, *_) = lapped(BOW, BOW / 50, (stock, 1.5 * stock))
    assert left < 0.12 * BOW and after < 0.02 * BOW
    # the same depth everywhere, one side or the other: the straight bore that clears a bent one
    assert least == pytest.approx(stock, rel=0.1) and most == pytest.approx(stock, rel=0.2)
    assert form.bow_left(bow=Q(BOW, "um"), bend=Q(BOW / 50, "um")).m_as("um") < 0.02 * BOW


def test_a_lap_that_follows_leaves_the_bow():
    """Thirty times as soft as the bow asks: in a stock of half the bow the simulation and the kit both leave 0.94 to 0.97 of it."""
    (left, *_), = lapped(BOW, 30 * BOW, (BOW / 2,))
    told = form.bow_left(bow=Q(BOW, "um"), bend=Q(30 * BOW, "um")).m_as("um")
    assert left == pytest.approx(told, rel=0.05) and 0.9 * BOW < left < told


@pytest.mark.parametrize("bend", [20.0, 40.0, 100.0])
def test_what_a_bending_lap_leaves_goes_on_falling_with_the_stock(bend):
    """Where kit and simulation disagree. The kit leaves a share that does not depend on how much is lapped off; in the simulation a bent lap
    presses harder on the high places for as long as it is bent, and the bow falls as exp(-1.7 stock / bend), stock on diameter. So the kit
    is right within 15 % at stocks of a fifth to a quarter of bow or bend, and leaves three to five times too much bow at stocks of one bend.
    It errs to the maker's harm, by as much as is asserted here."""
    stocks = (0.2 * bend, 0.5 * bend, bend)
    left = np.array([each[0] for each in lapped(BOW, bend, stocks)])
    np.testing.assert_allclose(left, BOW * np.exp(-1.7 * np.array(stocks) / bend), rtol=0.25)
    told = form.bow_left(bow=Q(BOW, "um"), bend=Q(bend, "um")).m_as("um")
    too_much = told / left
    assert 0.85 < too_much[0] < 1.35 and 1.3 < too_much[1] < 2.2 and 3.0 < too_much[2] < 5.5


def test_half_the_pressure_straightens_as_well_for_half_the_bend():
    """Bend goes with pressure; the time, not the stock, doubles: the kit's way of reading the pressure."""
    (hard, *_), = lapped(BOW, 40.0, (20.0,), pressure=0.03)
    (soft, *_), = lapped(BOW, 20.0, (20.0,), pressure=0.015)
    assert soft < 0.7 * hard
    assert form.bow_left(bow=Q(BOW, "um"), bend="20 um") < form.bow_left(bow=Q(BOW, "um"), bend="40 um")


# --- a hole drilled turn by turn -----------------------------------------------------------------------------------------

N = 16


@pytest.fixture(scope="module")
def case():
    demo = study.load(study.DEMO).only("hours")
    return cases_of(demo, demo.draws(N, 1))[0]


def drilled(means, tool, before, after, feed, length):
    """A hole of `length` mm opened at one feed a turn, mm, an array of draws: minutes of cutting, visits to the stone, greatest torque in
    N*mm, least ratio of what the bow gives at that minute to the torque at that minute. Plain numbers, a turn at a time."""
    def of(key, unit):
        return np.broadcast_to(means[key].m_as(unit), (N,))

    edge, dull, allowed = of("edge.edge_radius", "mm"), np.zeros(N), of("edge_life.allowed_recession", "mm")
    hardness = np.maximum(of("chip.hardness", "MPa"), of("alloy.hardness", "MPa")) / of("edge_metal.hardness", "MPa")
    a_turn = of("edge_life.wear_coefficient", "") * hardness * np.pi * after   # that the edge recedes
    stroke, beats = of("drive.stroke_length", "mm"), of("drive.stroke_frequency", "1/min")
    pulley = means.workshop.pulley.m_as("mm")
    minute = 1 / (2 * stroke * beats / (np.pi * pulley) * of("drive.duty", ""))   # of a turn that cuts
    lips, sine = {"two-lip drill": (2, np.sin(tool.point_angle.m_as("rad") / 2)), "half-round bit": (1, 1.0),
                  "fluted reamer": (tool.teeth, np.sin(tool.lead_angle.m_as("rad")))}[tool.kind]
    chip = feed / lips * sine
    # force on a mm of edge; the edge's places, from the old hole to the new, and their arms
    places = (np.arange(200) + 0.5) / 200 * (after - before) / 2 + before / 2
    length_of_edge, arm = lips * (after - before) / 2 / sine, places.mean()
    rake = of(f"point.{tool.point}.rake_factor", "") if tool.kind == "two-lip drill" else 1.0
    cutting = rake * of("alloy.kc11", "MPa") * chip**(1 - of("alloy.exponent", ""))
    factor = of("model.cutting_torque", "") * (of("model.drill_chisel_and_margins", "") if tool.kind == "two-lip drill" else 1.0)
    rubs = 0.0
    if tool.kind == "half-round bit":   # its back bears what the edge is pressed with
        arm = arm + of("guide.friction", "") * after / 2
    if tool.kind == "fluted reamer":
        rubs = of("guide.friction", "") * of("margins.pressure", "MPa") * of("margins.width", "mm") * of("margins.length", "mm") * tool.teeth * after / 2
    depth, minutes, visits, greatest, least = np.zeros(N), np.zeros(N), np.zeros(N), np.zeros(N), np.full(N, np.inf)
    tired = Q(np.geomspace(0.01, 1000, 400)[:, None], "min")
    gives = means.bow_torque(tired).m_as("N*mm")
    while (cuts := depth < length - 1e-9).any():
        depth = depth + feed * cuts
        minutes = minutes + minute * cuts
        dull = dull + a_turn * cuts
        torque = factor * ((cutting + of("edge.edge_force", "N/mm") * (1 + dull / edge)) * length_of_edge * arm + rubs)
        now = np.array([np.interp(np.log(m), np.log(tired.m[:, 0]), gives[:, i]) for i, m in enumerate(np.maximum(minutes, 0.01))])
        greatest = np.where(cuts, np.maximum(greatest, torque), greatest)
        least = np.where(cuts, np.minimum(least, now / torque), least)
        gone = cuts & (dull >= allowed)   # it wants the stone
        visits, dull = visits + gone, np.where(gone, 0.0, dull)
    return minutes, visits, greatest, least


@pytest.mark.parametrize("which, row", [(0, 1), (1, 0), (2, 0)], ids=["drill", "D-bit", "reamer"])
def test_a_hole_turn_by_turn_against_the_settled_value(case, which, row):
    """Minutes within two turns; visits to the stone the same but for one at the very edge of a visit; the greatest torque within 1 %, for a
    turn of wear is the least that is told apart. What the bow has in hand: the kit sets the dullest edge against the arm at its most tired,
    which no turn need have together, so it is never more than a hundredth above, and lies by up to a fifth below."""
    operation = case.done("drill", "ream")[which]
    step, feed = operation.steps[row], operation.setting.m_as("mm")[row]
    bowed = np.broadcast_to(operation.bowed[row], (N,))
    minutes, visits, greatest, least = drilled(case.means, step.tool, step.before.m_as("mm"), step.diameter.m_as("mm"), feed, 90.0)
    told = operation.minutes.m_as("min")[row]
    assert bowed.mean() > 0.8
    np.testing.assert_allclose(minutes[bowed], told[bowed], rtol=2 * feed.max() / 90)
    assert np.abs(visits - operation.regrinds.m[row]).max() <= 1 and np.mean(visits == operation.regrinds.m[row]) > 0.9
    torque = operation.torque.m_as("N*mm")[row]
    np.testing.assert_allclose(greatest, torque, rtol=0.01)
    margin = (operation.given_at(operation.setting).m_as("N*mm")[row] / torque)[bowed]
    assert np.all(margin < 1.01 * least[bowed]) and np.all(margin > 0.8 * least[bowed])
