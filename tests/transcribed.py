"""What was copied from print for the published checks to lean on: formulas and inputs of others.

That they were copied rightly is told by tests/regression/test_transcribed_regression.py; it says nothing of the kit.
"""
import numpy as np

# --- Contrast of two colours

def luminance(red, green, blue):
    """W3C, Web Content Accessibility Guidelines 2.1 (2018), definition of relative luminance, of 8-bit sRGB."""
    share = [c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in (red, green, blue)]
    return 0.2126 * share[0] + 0.7152 * share[1] + 0.0722 * share[2]


def contrast(one, other=(255, 255, 255)):
    """The same, definition of contrast ratio: (L1 + 0.05) / (L2 + 0.05), the lighter above."""
    low, high = sorted((luminance(*one), luminance(*other)))
    return (high + 0.05) / (low + 0.05)


def rgb(hue):
    return tuple(int(hue[i:i + 2], 16) for i in (1, 3, 5))


# --- Viscosity of water

# IAPWS R12-08, Release on the IAPWS Formulation 2008 for the Viscosity of Ordinary Water Substance; also M. L. Huber
# and others, Journal of Physical and Chemical Reference Data 38 (2009) 101: equations 11 and 12, tables 2 and 3.
DILUTE = (1.67752, 2.20462, 0.6366564, -0.241605)
DENSE = {(0, 0): 5.20094e-1, (1, 0): 8.50895e-2, (2, 0): -1.08374, (3, 0): -2.89555e-1, (0, 1): 2.22531e-1,
         (1, 1): 9.99115e-1, (2, 1): 1.88797, (3, 1): 1.26613, (5, 1): 1.20573e-1, (0, 2): -2.81378e-1,
         (1, 2): -9.06851e-1, (2, 2): -7.72479e-1, (3, 2): -4.89837e-1, (4, 2): -2.57040e-1, (0, 3): 1.61913e-1,
         (1, 3): 2.57399e-1, (0, 4): -3.25372e-2, (3, 4): 6.98452e-2, (4, 5): 8.72102e-3, (3, 6): -4.35673e-3,
         (5, 6): -5.93264e-4}


def water_by_iapws(kelvin, density):
    t, d = kelvin / 647.096, density / 322
    dilute = 100 * t**0.5 / sum(h / t**i for i, h in enumerate(DILUTE))
    return dilute * np.exp(d * sum(h * (1 / t - 1)**i * (d - 1)**j for (i, j), h in DENSE.items()))   # uPa s


# --- GUM H.2, resistance and reactance: JCGM 100:2008, table H.2, five sets of simultaneous readings

SETS = np.array([[5.007, 4.994, 5.005, 4.990, 4.999],             # potential / V
                 [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],   # current / A
                 [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]])       # phase / rad
KEYS = ("potential", "current", "phase")
MEANS, ERRORS, R = SETS.mean(axis=1), SETS.std(axis=1, ddof=1) / np.sqrt(5), np.corrcoef(SETS)
