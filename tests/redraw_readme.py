"""Draws the README's pictures anew, due when a test says that the demo has changed since: .venv/bin/python tests/redraw_readme.py"""
import kit
from kit import figures, tables, writeup


def pictures():
    """{file name: (function that draws it, what is noted inside: a chance of the demo)}."""
    study = kit.study.load(kit.study.DEMO)
    verdict, sweep = study.assess(), writeup.WorkedOut(study).sweep
    return {"verdict.png": (lambda: figures.margins(verdict), f"{verdict.chance:.4f}"),
            "sweep.png": (lambda: figures.chances(sweep, mark=sweep.attrs["now"]), f"{sweep['all'].mean():.4f}")}


if __name__ == "__main__":
    for name, (draw, note) in pictures().items():
        print(tables.put(kit.study.DEMO / name, figures.png(draw(), dpi=160, note=note)), note)
