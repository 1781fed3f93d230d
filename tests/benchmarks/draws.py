"""What many draws cost, in ratios taken in one run:

(a) a million draws of the whole demo study by `Study.assess`, which takes them in chunks, against the same formulas in bare
    numpy on the same chunks (aim: at most 1.5 times as long);
(b) Sobol indices of the study against SALib driving the same model (aim: no slower, same answers);
(c) memory of many draws, in multiples of what one chunk takes (aim: bounded, however many).

    python tests/benchmarks/draws.py [draws for the memory, 2000000 where left out]

Both sides of (a) draw their numbers, and must count the same. Time is that of the processor; ratios are medians of repeats
one after the other, so that a busy machine slows all alike.
"""
import platform
import statistics
import sys
import time
import tracemalloc
import warnings

import numpy as np
from assess import bare_inputs, bare_tube

import kit
from kit.study import CHUNK

REPEATS, SEED, DRAWS, BASE = 3, 1, 10**6, 2**10


def seconds(call, *given):
    start = time.process_time()
    result = call(*given)
    return time.process_time() - start, result


def bare(study, draws):
    """{criterion: in how many draws every tube meets it, 'all': ...}, chunk by chunk, in plain numpy."""
    counts, done = {}, 0
    while done < draws:
        size = min(CHUNK, draws - done)
        tubes, shop, plain = bare_inputs(study, study.draws(size, SEED + done))
        met = {}
        for tube in tubes:
            for criterion, demand, capacity in bare_tube(*tube, shop, plain):
                margin = capacity / np.maximum(demand, 1e-300)
                met[criterion] = met.get(criterion, True) & ((margin.min(axis=0) if margin.ndim == 2 else margin) >= 1)
        for name, each in (met | {"all": np.logical_and.reduce(list(met.values()))}).items():
            counts[name] = counts.get(name, 0) + int(each.sum())
        done += size
    return counts


def count(study):
    names = [name for name in bare(study, 64) if name != "all"]   # those that the bare formulas cover
    left_out = sorted(set(study.assess(draws=64, seed=SEED).counts) - {*names, "all"})

    def assess(draws):
        return study.assess(draws=draws, seed=SEED, criteria=names).counts

    pairs = []
    for _ in range(REPEATS):
        (kit_s, by_kit), (bare_s, by_hand) = seconds(assess, DRAWS), seconds(bare, study, DRAWS)
        assert by_kit == by_hand, (by_kit, by_hand)
        pairs.append((kit_s, bare_s))
    drawing = statistics.median(sum(seconds(study.draws, min(CHUNK, DRAWS - at), SEED + at)[0] for at in range(0, DRAWS, CHUNK)) for _ in range(REPEATS))
    kit_s, bare_s = (statistics.median(column) for column in zip(*pairs))
    print(f"(a) {DRAWS} draws, {len(names)} criteria: Study.assess {kit_s:.1f} s, bare numpy {bare_s:.1f} s, {drawing:.1f} s of each for drawing: "
          f"{statistics.median(k / b for k, b in pairs):.2f} times as long (aim: at most 1.5), without the drawing "
          f"{statistics.median((k - drawing) / (b - drawing) for k, b in pairs):.2f} times"
          + (f"; not covered by the bare formulas: {', '.join(left_out)}" if left_out else ""))


def indices(study, criterion="least wall"):
    """The model that SALib drives is that of Study.sensitivity: caught on its way in, so that both run the same lines."""
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample
    from kit import uncertainty
    caught, real = [], uncertainty.sobol
    uncertainty.sobol = lambda model, rows, n, seed: caught.append((model, rows)) or real(model, rows, n, seed)
    try:
        study.sensitivity("sobol", criterion=criterion, n=2, seed=SEED)
    finally:
        uncertainty.sobol = real
    (model, rows), = caught
    rows = [row for row in rows if row.shape != "fixed"]
    problem = {"num_vars": len(rows), "names": [row.key for row in rows], "bounds": [[0, 1]] * len(rows)}

    def salib():
        points = np.clip(sample.sample(problem, BASE, calc_second_order=False, seed=SEED), 1e-12, 1 - 1e-12).T
        values = {row.key: kit.Q(row.quantile(p), row.unit) for row, p in zip(rows, points)}
        return analyze.analyze(problem, model(values).magnitude, calc_second_order=False, seed=SEED)

    pairs, apart = [], 0.0
    for _ in range(REPEATS):
        kit_s, ours = seconds(lambda: study.sensitivity("sobol", criterion=criterion, n=BASE, seed=SEED))
        salib_s, theirs = seconds(salib)
        pairs.append((kit_s, salib_s))
        ours = ours.loc[problem["names"]]
        apart = max(np.abs(ours["first"] - theirs["S1"]).max(), np.abs(ours["total"] - theirs["ST"]).max())
    kit_s, salib_s = (statistics.median(column) for column in zip(*pairs))
    print(f"(b) Sobol indices of '{criterion}', {len(rows)} inputs, base count {BASE}: Study.sensitivity {kit_s:.2f} s, SALib {salib_s:.2f} s: "
          f"{statistics.median(k / s for k, s in pairs):.2f} times as long (aim: at most 1); indices at most {apart:.3f} apart")


def peak(study, draws):
    tracemalloc.start()
    chance = study.assess(draws=draws, seed=SEED).chance
    found = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return found, chance


def memory(study, draws):
    (one, _), (many, chance) = peak(study, CHUNK), peak(study, draws)
    print(f"(c) memory of {draws} draws ({draws / CHUNK:.0f} chunks): {many / one:.2f} times that of one chunk of {CHUNK} ({one / 2**20:.0f} MB); "
          f"chance {chance:.4f}")


def main(draws=2_000_000):
    warnings.simplefilter("ignore", kit.OutOfRange)
    study = kit.study.load(kit.tables.DATA / "harbour-dial")
    study.assess(draws=64)   # tables and imports
    print(f"{platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}; medians of {REPEATS} repeats")
    count(study)
    indices(study)
    memory(study, draws)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
