"""What the published checks lean on was copied rightly: tests/transcribed.py against its own prints. No evidence that the
kit is right: the kit is not asked here."""
import numpy as np
import pytest
from transcribed import ERRORS, MEANS, R, contrast, rgb, water_by_iapws


def test_contrast_runs_from_one_to_twenty_one():
    """W3C 2018, note to the definition of contrast ratio: 'commonly written 1:1 to 21:1'."""
    assert contrast((255, 255, 255)) == 1 and contrast((0, 0, 0)) == pytest.approx(21, abs=1e-9)


def test_the_lightest_grey_that_words_may_have():
    """Value from memory, believed to be in W3C, Understanding success criterion 1.4.3: #767676 on white is 4.54:1."""
    assert contrast(rgb("#767676")) == pytest.approx(4.54, abs=0.005)


# Ratios on white that we worked out ourselves from the RGB of the palette (see test_figures_published)
@pytest.mark.parametrize("colour, ratio", [
    ((0, 114, 178), 5.19), ((213, 94, 0), 3.87), ((0, 158, 115), 3.42), ((204, 121, 167), 3.06), ((0, 0, 0), 21.00),
    ((86, 180, 233), 2.31), ((230, 159, 0), 2.25), ((240, 228, 66), 1.32)])
def test_contrast_of_the_palette(colour, ratio):
    assert contrast(colour) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("kelvin, density, printed", [(298.15, 998, 889.735100), (298.15, 1200, 1437.649467),
                                                      (373.15, 1000, 307.883622)])
def test_the_formulation_is_copied_rightly(kelvin, density, printed):
    """The release's own table 4, for whoever programs it (from memory)."""
    assert water_by_iapws(kelvin=kelvin, density=density) == pytest.approx(printed, rel=1e-8)


def test_circuit_inputs():
    # GUM table H.2, from memory: means 4.9990 V, 19.6610 mA, 1.044 46 rad; u 0.0032 V, 0.0095 mA, 0.000 75 rad;
    # r(V, I) -0.36, r(V, phase) 0.86, r(I, phase) -0.65. They show that the sets above are copied right
    printed = np.array([5e-5, 5e-8, 5e-6])
    assert np.all(np.abs(MEANS - [4.9990, 19.6610e-3, 1.04446]) < printed)
    assert np.all(np.abs(ERRORS - [0.0032, 0.0095e-3, 0.00075]) < printed)
    np.testing.assert_allclose([R[0, 1], R[0, 2], R[1, 2]], [-0.36, 0.86, -0.65], rtol=0, atol=0.005)
