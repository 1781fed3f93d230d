"""How often the 90 % intervals of an updated study hold the truth, on logs made from known truths.

    python tests/benchmarks/coverage.py [--logs 200] [--rows 5 20 80] [--truths plain scatter ...] [--particles 512]

Each log has a truth of its own, drawn from the study's ranges, and rows of a bench log made by formulas written out here,
four rows a day, durations of 1.5, 6, 20 and 40 minutes in turn; each row gives the most that the arm kept up, the minutes
and the strokes. Told for each kind of truth and each number of rows: the share of intervals that hold the truth (pull at the
four durations, all and the worst of them; stroke rate), their width over the prior's, how many updates were refused, and how
many were warned of (p below 0.05). With 200 logs a share near 0.9 is known to 0.02 (one standard error).
"""
import argparse
import time
import warnings
from datetime import date, timedelta
from pathlib import Path

import numpy as np

import kit
from kit import bench, evidence, tables

KEYS = ("drive.pull_one_minute", "drive.pull_sustained", "drive.stroke_frequency")
MINUTES = np.array([1.5, 6.0, 20.0, 40.0])
A_DAY = 4


def straight(minutes, one, sustained):
    """The kit's own law: straight in the logarithm of the time, from one minute to thirty."""
    return one + np.clip(np.log(minutes) / np.log(30), 0, 1) * (sustained - one)


def decaying(minutes, one, sustained):
    """Another law: what a minute gives beyond the sustained pull dies away with a time constant of four minutes."""
    return sustained + (one - sustained) * np.exp(-(minutes - 1) / 4)


def truth(law=straight, scatter=0.10, bias=0.0, balance=1.0, day=0.0):
    return {"law": law, "scatter": scatter, "bias": bias, "balance": balance, "day": day}


# scatter of pull and pace (standard deviations of logarithms), bias drawn anew for each log, a balance that reads so many
# times too high, and what a day does to the arm and to the pace
TRUTHS = {"plain": truth(), "as assumed": truth(bias=0.15, day=0.15), "scatter": truth(scatter=0.20),
          "balance": truth(balance=1.2), "balance low": truth(balance=1 / 1.2), "even balance": truth(scatter=0.03, balance=1.2),
          "day": truth(day=0.15), "fatigue": truth(law=decaying), "all four": truth(decaying, 0.20, 0, 1.2, 0.15)}


def tied(study):
    """Correlations of the study between these alone."""
    return {pair: r for pair, r in study.correlations.items() if set(pair) <= set(KEYS)}


def made(values, rows, seed, law, scatter, bias, balance, day):
    """A bench log of so many rows by an arm with these values."""
    rng, (one, sustained, rate), logged = np.random.default_rng(seed), values, []
    empty, off = {f["name"]: None for f in bench.schema()["fields"]}, balance * np.exp(bias * rng.standard_normal())
    for i in range(rows):
        if i % A_DAY == 0:
            arm, pace = np.exp(day * rng.standard_normal(2))
        wanted = MINUTES[i % len(MINUTES)]
        strokes = round(wanted * rate)
        minutes = strokes / (rate * pace * np.exp(scatter * rng.standard_normal()))
        pull = law(minutes, one, sustained) * arm * off * np.exp(scatter * rng.standard_normal())
        logged.append(empty | {"trial": i + 1, "date": date(2026, 5, 1) + timedelta(i // A_DAY), "tube": "hours", "step": "step",
                               "operation": "turn", "operator": "A", "minutes": minutes, "strokes": strokes, "pull_most_N": pull,
                               "outcome": "success", "counted": "yes", "substitute": "no", "line": i + 2})
    return bench.Log(Path("log.csv"), tuple(logged), ())


def covered(study, name, rows, logs, particles, level=0.9):
    """One line of the table: shares and widths over so many logs."""
    about = TRUTHS[name]
    drawn = evidence.draw([study.assumptions[k] for k in KEYS], logs, 20, tied(study), sampler="random")
    before = [study.draws(2**13, 1)[k].magnitude for k in KEYS]
    ends = ((1 - level) / 2, (1 + level) / 2)

    def intervals(one, sustained, rate):
        found = [straight(m, one, sustained) for m in MINUTES] + [rate]
        return np.quantile(found, ends, axis=1).T

    prior, held, width, refused, warned, began = intervals(*before), [], [], 0, 0, time.perf_counter()
    for i, values in enumerate(np.transpose([drawn[k].magnitude for k in KEYS])):
        log = made(values, rows, 1000 + i, **about)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                learned = log.update(study, particles=particles, seed=i)
        except bench.BenchError:
            refused += 1
            continue
        found = intervals(*(learned.conditioned[k] for k in KEYS))
        true = np.array([*about["law"](MINUTES, *values[:2]), values[2]])
        held.append((found[:, 0] <= true) & (true <= found[:, 1]))
        width.append((found[:, 1] - found[:, 0]) / (prior[:, 1] - prior[:, 0]))
        warned += learned.conditioned_on["p"] < 0.05
    held, width = np.mean(held, axis=0), np.mean(width, axis=0)
    return {"truth": name, "rows": rows, "logs": logs, "pull": held[:4].mean(), "worst pull": held[:4].min(), "rate": held[4],
            "width of pull": width[:4].max(), "width of rate": width[4], "refused": refused, "warned": int(warned),
            "seconds a log": (time.perf_counter() - began) / logs}


def main():
    given = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    given.add_argument("--logs", type=int, default=200)
    given.add_argument("--particles", type=int, default=512)
    given.add_argument("--rows", type=int, nargs="+", default=[5, 20, 80])
    given.add_argument("--truths", nargs="+", default=list(TRUTHS), choices=list(TRUTHS))
    given = given.parse_args()
    study = kit.study.load(tables.DATA / "harbour-dial")
    print(f"{'truth':13}{'rows':>5}{'logs':>5}{'pull':>7}{'worst':>7}{'rate':>7}{'widths':>12}{'refused':>9}{'warned':>8}{'s/log':>7}")
    for name in given.truths:
        for rows in given.rows:
            t = covered(study, name, rows, given.logs, given.particles)
            print(f"{name:13}{rows:5}{t['logs']:5}{t['pull']:7.3f}{t['worst pull']:7.3f}{t['rate']:7.3f}{t['width of pull']:6.2f}"
                  f"{t['width of rate']:6.2f}{t['refused']:9}{t['warned']:8}{t['seconds a log']:7.2f}", flush=True)


if __name__ == "__main__":
    main()
