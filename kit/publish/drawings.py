"""Drawings: one function each; takes a study, returns a drawing to scale, with its caption and what it says in words.

They are gathered here from the files of their subjects. Each takes a study or a variant of one; `tube`, its name; and
`worst`, a criterion, for the tube as it comes out in the worst draws of that. `talk=True` makes a still of 16:9.
"""
# ruff: noqa: F401 (whatever is imported is to be had from here)
from kit.publish.drawing import Drawing, dots, still
from kit.publish.lathe_drawings import bow_lathe, held
from kit.publish.pair_drawings import lap, nest
from kit.publish.plunger_drawing import plunger
from kit.publish.tool_drawings import tool
from kit.publish.tube_drawings import long_section, pinch, section_across

EVERY = {"bow lathe": bow_lathe, "tool": tool, "long section": long_section, "section across": section_across,
         "pinch": pinch, "hold": held, "lap": lap, "nest": nest, "plunger": plunger}
