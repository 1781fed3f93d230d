"""Annealing: how hard work makes a metal, how far a fire softens it, how many fires it wants, what scale costs."""
import numpy as np

from kit.base.units import units, warn_outside

INDENT = 0.08         # strain that a pyramid indenter puts in by itself, Tabor's rule
GAS = 1.987e-3        # kcal/(mol K)
COPPER, OXYGEN = 63.546, 15.999   # g/mol
ZERO = 273.15         # K at 0 degC


@units("", before="mm > 0", after="mm > 0")
def strain(before, after):
    """True strain of a wall or sheet that is beaten or drawn thinner, its width held.

    before, after: thickness (numbers or arrays). Result: a number, negative where it grew thicker.

    Formula: ln(before / after). Range: none.
    Source: every textbook of metal forming.
    """
    return np.log(before / after)


@units("MPa", strain=">= 0", coefficient="MPa > 0", exponent=">= 0 < 1")
def flow_stress(strain, coefficient, exponent):
    """Stress at which a worked metal goes on flowing, cold.

    strain: true strain since it was last annealed. coefficient, exponent: K and n of the metal. Numbers or arrays.
    Result: MPa.

    Formula: K strain^n. Range: annealed stock, cold; strains to about 1.2, beyond it warns: the metal hardens less.

    >>> import kit
    >>> kit.units.show(kit.annealing.flow_stress(strain=0.5, coefficient="720 MPa", exponent=0.46))
    '523 MPa'

    Source: every textbook of metal forming; K and n of copper 315 MPa and 0.54, of 70/30 brass 895 and 0.49, of
    phosphor bronze 720 and 0.46 believed to be in S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and
    Technology, table 2.3 (from memory).
    """
    warn_outside(strain, 0, 1.2, "", "the strain is {}; the hardening law holds for {}")
    return coefficient * strain**exponent


@units("HV", strain=">= 0", coefficient="MPa > 0", exponent=">= 0 < 1")
def worked_hardness(strain, coefficient, exponent):
    """Hardness of a metal worked cold from the annealed state.

    strain: true strain since the anneal. coefficient, exponent: K and n, as for `flow_stress`. Result: HV.

    Formula: 2.9 K (strain + 0.08)^n: an indenter works the metal by 0.08 itself.
    Range: bronze, within a tenth; with the K and n above it is a fifth low for copper and a quarter high for brass, for
    which `hardening` tells how many times as hard.
    Source: D. Tabor, The Hardness of Metals (1951): rule from memory.
    """
    return 2.9 * coefficient * (strain + INDENT)**exponent / 9.80665


@units("", strain=">= 0", earlier=">= 0", exponent=">= 0 < 1")
def hardening(strain, exponent, earlier=0):
    """How many times as hard, and as strong, a metal is after so much more cold work.

    strain: of this work. earlier: since the last anneal, before it. exponent: n of `flow_stress`. Result: a number.

    Formula: ((0.08 + earlier + strain) / (0.08 + earlier))^n, the ratio of two of `worked_hardness`.
    Range: as there.
    Source: as there.
    """
    return ((INDENT + earlier + strain) / (INDENT + earlier))**exponent


@units("", before="mm > 0", after="mm > 0", between="> 0")
def anneals_needed(before, after, between):
    """How many anneals a sheet or wall wants while it is worked from one thickness to another.

    before, after: thickness. between: true strain that it bears from one anneal to the next, 0.36 for a reduction of
    30 % to 0.69 for 50 %. Numbers or arrays. Result: a number, broken.

    Formula: ln(before / after) / between. Range: cold work; the last anneal, which the maker may leave out, is counted.

    >>> import kit
    >>> kit.annealing.anneals_needed(before="4 mm", after="0.4 mm", between=0.51).m.round(1)
    np.float64(4.5)

    Source: by its definition; that metal bears 30 to 50 % is from memory.
    """
    return np.log(before / after) / between


@units("", temperature="degC > -273.15", begins="degC > -273.15", full="degC > -273.15")
def softened(temperature, begins, full):
    """How much of the hardness that work gave is lost in the fire.

    temperature: of the metal, for a quarter of an hour or so. begins: at which worked metal starts to soften. full: at
    which nothing of the work is left. Numbers or arrays. Result: 0 to 1.

    Formula: straight from 0 at `begins` to 1 at `full`.
    Range: a stand-in for the S-shaped curve, whose place moves down with more work and with more time.
    Raises ValueError where `full` is not above `begins`.
    Source: an assumption of this kit; where the curve begins and ends stands in the tables.
    """
    if np.any(np.asarray(full) <= np.asarray(begins)):
        raise ValueError("full and begins contradict each other: metal begins to soften below the heat at which it is "
                         "quite soft; exchange them")
    return np.clip((temperature - begins) / (full - begins), 0, 1)


@units("um", temperature="degC > -273.15", minutes="min >= 0", rate="g^2/(cm^4*s) > 0", energy="kcal/mol > 0")
def scale_loss(temperature, minutes, rate, energy="24 kcal/mol"):
    """How much copper one side of a piece loses to scale in air.

    temperature: of the metal. minutes: at it, all heats of one uncleaned skin together (a skin that is pickled starts
    anew). rate: parabolic constant at 1000 degC, in g^2 cm^-4 s^-1 of oxygen taken up. energy: by which
    it falls with the heat. Numbers or arrays. Result: um of metal, on one side.

    Formula: x^2 = k t; k = rate exp(-energy/R (1/T - 1/1273 K)); copper goes as 2 Cu to one O.
    Range: 900 to 1050 degC; below it the true law falls less steeply, so that losses are rather greater, and it warns
    under 550 degC.

    >>> import kit
    >>> kit.units.show(kit.annealing.scale_loss(temperature="700 degC", minutes="10 min", rate="2e-8 g^2/cm^4/s"))
    '7.12 µm'

    Source: C. Wagner's parabolic law; S. Mrowec and A. Stoklosa, Oxidation of Metals, for the energy (24 +- 2
    kcal/mol, abstract read, authors from memory); the rate from memory.
    """
    warn_outside(temperature, 550, 1083, "degC", "the fire is at {}; the law of scale was measured on copper and is "
                 "carried to {}")
    k = rate * np.exp(-energy / GAS * (1 / (temperature + ZERO) - 1 / (1000 + ZERO)))
    oxygen = np.sqrt(k * 60 * minutes)                       # g/cm2
    return oxygen * (2 * COPPER / OXYGEN) / 8.96 * 1e4
