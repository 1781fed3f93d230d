"""Makes the invented bench logs of the three smaller studies in data/, in the manner of make_demo_log.py.

    python tests/make_small_logs.py

Every assumption of a study is at its median but for the pace of the drive; failures and remarks are a story. Where a
route or the tables change, run it again.
"""
import csv
import warnings
from datetime import date
from unittest import mock

import make_demo_log as making

import kit
from kit import bench, tables

SEED = 7
BROACHED = {"ream 3.00": {"by_wrench": True}, "ream 4.05": {"by_wrench": True}}
LOGS = {   # study: (pace of the drive, trials as in make_demo_log)
    "surveyors-sight": (46, (
        (1, date(2026, 3, 2), "eye tube", "C", {"turn outside": {"outcome": "fail", "failure": "dented",
                                                                  "remark": "slipped off the arbor"}}),
        (2, date(2026, 3, 9), "eye tube", "C", {}),
        (3, date(2026, 3, 16), "sight body", "C", {"file outside": {"remark": "slides, with tallow"}}))),
    "dosing-pump": (58, (
        (1, date(2026, 4, 6), "dye barrel", "D", {"ream 24.00": {"outcome": "fail", "failure": "gas hole in the bore"}}),
        (2, date(2026, 4, 13), "dye barrel", "D", {}),
        (3, date(2026, 4, 20), "dye barrel", "D", {"lap, emery, fine": {"remark": "for its face alone"}}))),
    "copper-sleeves": (66, (
        (1, date(2026, 5, 4), "spindle sleeve", "E", {"drill 1.50": {"outcome": "fail", "failure": "drill would not bite"}}),
        (2, date(2026, 5, 5), "spindle sleeve", "E", BROACHED),
        (3, date(2026, 5, 11), "spindle sleeve", "E", BROACHED),
        (4, date(2026, 5, 12), "swivel sleeve", "E", BROACHED)))}


def made(name):
    """All rows of one log, as dicts."""
    pace, trials = LOGS[name]
    study = kit.study.load(tables.DATA / name)
    with warnings.catch_warnings(), mock.patch.multiple(making, TRUTH={"drive.stroke_frequency": pace}, BY_PLUGS=()):
        warnings.simplefilter("ignore")
        at = making.Bench(study, seed=SEED)
        return [row for told in trials for row in making.trial(at, *told)]


def main():
    names = [field["name"] for field in bench.schema()["fields"]]
    for name in LOGS:
        with open(tables.DATA / name / "bench_log.csv", "w", newline="", encoding="utf-8") as file:
            out = csv.DictWriter(file, names, lineterminator="\n")
            out.writeheader()
            out.writerows(made(name))


if __name__ == "__main__":
    main()
