"""Raising a tube from a disc: the disc, the courses, and how the rim thickens."""
import numpy as np

from kit.base.units import units


@units("mm", diameter="mm > 0", height="mm >= 0")
def blank_diameter(diameter, height):
    """Disc from which a cup with a flat bottom is raised, its wall as thick as the sheet.

    >>> import kit
    >>> kit.units.show(kit.raising.blank_diameter(diameter="8 mm", height="90 mm"))
    '54.3 mm'

    diameter: of the cup's middle line. height: of its side. Numbers or arrays. Result: mm.

    Formula: sqrt(d^2 + 4 d h): the surface stays. Range: thin sheet. Source: geometry, in every textbook of pressing.
    """
    return np.sqrt(diameter**2 + 4 * diameter * height)


@units("", blank="mm > 0", diameter="mm > 0", reduction="> 0 < 1")
def courses(blank, diameter, reduction):
    """How many courses bring a disc to a tube, where each draws it in by a share of its diameter.

    blank, diameter: of disc and tube. reduction: a course, 0.10 to 0.15 by hand. Numbers or arrays. Result: a number,
    broken; an anneal comes before each.

    Formula: ln(blank/diameter) / -ln(1 - reduction). Range: none; the reduction is judgement. Source: geometry.
    """
    return np.log(blank / diameter) / -np.log(1 - reduction)


@units("", blank="mm > 0", diameter="mm > 0")
def rim_thickening(blank, diameter):
    """How many times as thick as the sheet the rim can become, gathered and never beaten back.

    blank, diameter: of disc and tube. Numbers or arrays. Result: a number from 1.

    Formula: sqrt(blank/diameter). Range: a bound: solid blows thin the wall again. Source: geometry: girth lost goes
    half into thickness, half into height.
    """
    return np.sqrt(blank / diameter)
