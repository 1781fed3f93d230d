"""Memory of very many draws, in multiples of what one chunk takes (aim: bounded, however many).

    python tests/benchmarks/draws.py [DRAWS, 2000000 where left out]
"""
import sys
import tracemalloc
import warnings

import kit
from kit import judge


def peak(study, draws):
    tracemalloc.start()
    chance = study.assess(draws=draws, seed=1).chance
    found = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return found, chance


def main(draws=2_000_000):
    warnings.simplefilter("ignore", kit.OutOfRange)
    study = kit.study.load(kit.tables.DATA / "harbour-dial")
    study.assess(draws=64)   # tables and imports
    (one, _), (many, chance) = peak(study, judge.CHUNK), peak(study, draws)
    print(f"memory of {draws} draws ({draws / judge.CHUNK:.0f} chunks): {many / one:.2f} times that of one chunk of {judge.CHUNK} "
          f"({one / 2**20:.0f} MB); chance {chance:.4f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
