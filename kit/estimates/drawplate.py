"""Drawing through a plate and forming over a mandrel: the pull of a pass, and how many passes."""
import numpy as np

from kit.base.units import units, warn_outside

IDEAL = 1 - np.exp(-1)   # the most that a metal which does not harden bears in one pass without friction: 63.2 %


@units("", before="mm^2 > 0", after="mm^2 > 0")
def reduction(before, after):
    """Share of the section that a pass takes.

    before, after: sections of the metal (numbers or arrays). Result: a number. Formula: 1 - after/before.

    >>> import kit
    >>> kit.drawplate.reduction(before="16 mm^2", after="4 mm^2").m
    np.float64(0.75)

    Source: M. P. Groover, Fundamentals of Modern Manufacturing, sec. 18.6.
    """
    return 1 - np.float64(after) / before


@units("MPa", strain="> 0", earlier=">= 0", coefficient="MPa > 0", exponent=">= 0 < 1")
def mean_flow_stress(strain, coefficient, exponent, earlier=0):
    """Mean stress at which a metal flows over a pass.

    strain: true strain of the pass. coefficient, exponent: K and n of the metal. earlier: strain since it was annealed.
    Numbers or arrays. Result: MPa.

    Formula: K ((earlier + strain)^(n+1) - earlier^(n+1)) / ((1 + n) strain); K strain^n / (1 + n) after an anneal.
    Range: as `annealing.flow_stress`. Source: M. P. Groover, Fundamentals of Modern Manufacturing, sec. 18.1.
    """
    power = exponent + 1
    return coefficient * ((earlier + strain)**power - earlier**power) / (power * strain)


@units("", before="mm > 0", after="mm > 0", half_angle="deg > 0 < 90")
def uneven_work(before, after, half_angle):
    """How much more a die works a round bar than an even stretch would, in a die of this angle.

    before, after: diameters of the bar. half_angle: of the die. Numbers or arrays. Result: a number from 1.

    Formula: 0.88 + 0.12 D/L, D the mean diameter, L the contact (before - after) / (2 sin a).
    Range: solid round bars; a thin tube on a mandrel is worked evenly, 1.0 to 1.1.
    Source: M. P. Groover, Fundamentals of Modern Manufacturing, eq. 18.34, after J. A. Schey.
    """
    contact = (before - after) / (2 * np.sin(np.deg2rad(half_angle)))
    return 0.88 + 0.12 * (before + after) / 2 / contact


@units("MPa", before="mm^2 > 0", after="mm^2 > 0", flow_stress="MPa > 0", friction=">= 0 < 1",
       half_angle="deg > 0 < 90", mandrel_friction=">= 0 < 1")
def draw_stress(before, after, flow_stress, friction, half_angle, uneven=1.0, mandrel_friction=0.0):
    """Stress in the metal that leaves the die, from the pull on it.

    before, after: sections of the metal. flow_stress: mean over the pass. friction: in the die. half_angle: of the die.
    uneven: of `uneven_work`. mandrel_friction: on a mandrel or plug that stands still; 0 for a rod that goes along or
    none. Numbers or arrays. Result: MPa.

    Formula: Y (1 + (mu + mu_mandrel)/tan a) uneven ln(before/after).
    Range: sections that shrink; reductions beyond 63 % tear, from 50 % on it warns. Without a mandrel the wall keeps
    its thickness to 5 %.
    Source: M. P. Groover, Fundamentals of Modern Manufacturing, eq. 18.32 to 18.35, after J. A. Schey; the mandrel's
    part after G. E. Dieter, Mechanical Metallurgy, chapter 19 (from memory).
    """
    warn_outside(1 - after / before, 0, 0.5, "", "a pass takes {} of the section; in practice it takes {}")
    return flow_stress * (1 + (friction + mandrel_friction) / np.tan(np.deg2rad(half_angle))) * uneven * np.log(
        before / after)


@units("", before="mm^2 > 0", after="mm^2 > 0", most="> 0 < 1")
def passes(before, after, most):
    """Least number of passes, where each takes no more than a share of the section.

    before, after: sections. most: share a pass, 0.05 to 0.15 by hand. Numbers or arrays. Result: a whole number.

    Formula: ln(after/before) / ln(1 - most), rounded up. Range: none. Source: geometry.
    """
    return np.ceil(np.log(np.float64(after) / before) / np.log(1 - most) - 1e-9)
