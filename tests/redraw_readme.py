"""Draws anew the README's pictures, and the plan of the house in DEVELOPERS.md: due when a test says that either is out of date."""
import ast
import functools
from pathlib import Path

import kit
from kit import figures, tables, writeup

ROOT = Path(__file__).parents[1]
BEGIN, END = "<!-- rooms -->\n```\n", "```\n<!-- /rooms -->"


@functools.cache
def pictures():
    """{file name: (function that draws it, what is noted inside: a chance of the demo)}."""
    study = kit.study.load(kit.study.DEMO)
    verdict, sweep = study.assess(), writeup.WorkedOut(study).sweep
    return {"verdict.png": (lambda: figures.margins(verdict), f"{verdict.chance:.4f}"),
            "sweep.png": (lambda: figures.chances(sweep, mark=sweep.attrs["now"]), f"{sweep['all'].mean():.4f}")}


def says(path):
    """What a file says of itself in the first sentence of its docstring."""
    text = " ".join((ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "").split("\n\n")[0].split())
    return text.split(": python")[0].rstrip(".")


def rooms():
    """The house from the top down: each room with its files, and what they say of themselves."""
    lines = [f"kit/__main__.py        {says(ROOT / 'kit' / '__main__.py')}"]
    for room, modules in reversed(kit.ROOMS.items()):
        lines.append(f"kit/{room + '/':<18} {says(ROOT / 'kit' / room / '__init__.py')}")
        lines += [f"    {module + '.py':<18} {says(ROOT / 'kit' / room / f'{module}.py')}" for module in reversed(modules)]
    return "\n".join(lines) + "\n"


def with_rooms(text):
    """DEVELOPERS.md with the plan of the house as it stands."""
    head, _, rest = text.partition(BEGIN)
    return head + BEGIN + rooms() + END + rest.partition(END)[2]


if __name__ == "__main__":
    for name, (draw, note) in pictures().items():
        print(tables.put(kit.study.DEMO / name, figures.png(draw(), dpi=160, note=note)), note)
    developers = ROOT / "DEVELOPERS.md"
    print(tables.put(developers, with_rooms(developers.read_text(encoding="utf-8"))))
