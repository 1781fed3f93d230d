"""kit.gauging against printed values; the source stands beside each."""
import numpy as np
import pytest

from kit import gauging
from kit.units import Q

# ----------------------------------------------------------------------------------------------------------- circles

# SciPy Cookbook, Least squares circle (2011): two sets of points, the geometric fit as orthogonal distance regression
# prints it, and the sum of squares left. The second set is an arc of 60 deg.
COOKBOOK = [([9, 35, -13, 10, 23, 0], [34, 10, 6, -14, 27, -10], 10.50009, 9.65995, 23.33353, 7.711852),
            ([36, 36, 19, 18, 33, 26], [14, 10, 28, 31, 18, 26], 9.88757, 3.68750, 27.35044, 4.042522)]


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
@pytest.mark.parametrize("x, y, centre_x, centre_y, radius, squares", COOKBOOK)
def test_cookbook_circles(x, y, centre_x, centre_y, radius, squares):
    got = gauging.least_squares_circle(x=Q(x, "mm"), y=Q(y, "mm"))
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx((centre_x, centre_y, radius), abs=0.000005)
    left = np.hypot(np.subtract(x, got.x.m), np.subtract(y, got.y.m)) - got.radius.m
    assert (left**2).sum() == pytest.approx(squares, abs=0.0000005)


@pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
def test_circle_of_gander_golub_and_strebel():
    """W. Gander, G. H. Golub, R. Strebel, Least-Squares Fitting of Circles and Ellipses, BIT 34 (1994) 558, example
    of a circle; values from memory: centre (4.7398, 2.9835), radius 4.7142, far from the algebraic fit (5.3794,
    7.2532), 3.0370."""
    got = gauging.least_squares_circle(x=Q([1, 2, 5, 7, 9, 3], "mm"), y=Q([7, 6, 8, 7, 5, 7], "mm"))
    assert (got.x.m, got.y.m, got.radius.m) == pytest.approx((4.7398, 2.9835, 4.7142), abs=0.00005)


# ------------------------------------------------------------------------------------------------------------ lobes

# Values from memory, believed to be in the tables of ISO 4292:1985, three-point summit method, symmetrical setting.
@pytest.mark.parametrize("angle, factors", [
    (60, {3: 3.0, 6: 3.0, 9: 3.0}),
    (72, {2: 0.47, 3: 2.62, 4: 0.38, 5: 1.00, 6: 2.38, 7: 0.62, 8: 1.53, 9: 2.00}),
    (90, {2: 1.00, 3: 2.00, 4: 0.41, 5: 2.00, 6: 1.00, 8: 2.41, 10: 1.00}),
    (108, {2: 1.38, 3: 1.38, 5: 2.24, 7: 1.38, 8: 1.38, 10: 2.24}),
    (120, {2: 1.58, 3: 1.00, 4: 0.42, 5: 2.00, 7: 2.00, 8: 0.42, 9: 1.00, 10: 1.58})])
def test_v_block_table(angle, factors):
    for lobes in range(2, 11):
        got = gauging.v_block_factor(lobes=lobes, angle=Q(angle, "deg")).m
        if lobes in factors:
            assert got == pytest.approx(factors[lobes], abs=0.005)
    blind = {60: (2, 4, 5, 7, 8, 10), 90: (7, 9), 108: (4, 6, 9)}.get(angle, ())   # a dash in the table
    assert gauging.v_block_factor(lobes=[2, *blind], angle=Q(angle, "deg")).m[1:] == pytest.approx(0, abs=1e-9)


def test_two_angles_that_see_two_three_and_four_lobes():
    """Journal of the Japan Society of Precision Engineering 43 (1977) 1167, abstract: with 60 and 180 deg together
    the magnifying power is not zero for any of n = 2, 3 and 4."""
    seen = gauging.v_block_factor(lobes=[2, 3, 4], angle=Q([[60], [180]], "deg")).m
    assert (seen.max(axis=0) > 0.5).all()
    assert seen.min(axis=0) == pytest.approx(0, abs=1e-9)   # neither would do alone


# -------------------------------------------------------------------------------------------------------------- taper

def test_slope_of_the_guide():
    """Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, H.3, calibration of a thermometer:
    corrections against readings, slope 0.00218 with standard uncertainty 0.00067, 9 degrees of freedom. Here 10 mm
    and the corrections in mm."""
    reading = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    correction = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    got = gauging.taper(diameters=Q(10 + correction, "mm"), stations=Q(reading, "mm"))
    assert got.slope.m_as("mm/mm") == pytest.approx(0.00218, abs=0.000005)
    assert got.uncertainty.m_as("mm/mm") == pytest.approx(0.00067, abs=0.000005)
    assert got.freedom == 9


def test_resolution_of_the_guide():
    """The same, F.2.2.1: a step of the display gives 0.29 of it; value from memory."""
    assert gauging.resolution_uncertainty(step="1 um").m_as("um") == pytest.approx(0.29, abs=0.005)


# ------------------------------------------------------------------------------------------------------ gauge study

# Automotive Industry Action Group, Measurement Systems Analysis, 4th ed. (2010), chapter III: three readers A, B, C,
# three trials each, ten parts; the data from memory.
AIAG = np.array([[[0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
                  [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
                  [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31]],
                 [[0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
                  [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
                  [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50]],
                 [[0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
                  [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
                  [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16]]]).transpose(2, 0, 1)


def test_range_method():
    """The same, average and range method, values from memory: EV 0.2019, AV 0.2297, GRR 0.3058, PV 1.1046, TV 1.1461;
    17.6, 20.0, 26.7 and 96.4 % of TV; 5 categories."""
    got = gauging.gauge_study(readings=Q(AIAG, "mm"), method="range")
    for name, value in (("repeatability", 0.2019), ("reproducibility", 0.2297), ("gauge", 0.3058), ("part", 1.1046),
                        ("total", 1.1461)):
        assert getattr(got, name).m_as("mm") == pytest.approx(value, abs=0.00005)
    for name, percent in (("repeatability", 17.6), ("reproducibility", 20.0), ("gauge", 26.7), ("part", 96.4)):
        assert 100 * got.shares[name] == pytest.approx(percent, abs=0.05)
    assert got.categories == 5


def test_anova_method():
    """The same data by ANOVA, interaction pooled. Variances 0.03997, 0.05146, 0.09143 and 18.42, 20.90, 27.86, 96.04
    % of the total standard deviation, 4 categories: as other programs' tests quote the print; the standard deviations
    0.19993, 0.22684, 0.30237, 1.04233 and 1.08530 from memory."""
    got = gauging.gauge_study(readings=Q(AIAG, "mm"), method="anova")
    for name, value in (("repeatability", 0.03997), ("reproducibility", 0.05146), ("gauge", 0.09143)):
        assert getattr(got, name).m_as("mm")**2 == pytest.approx(value, abs=0.000005)
    for name, value in (("repeatability", 0.19993), ("reproducibility", 0.22684), ("gauge", 0.30237), ("part", 1.04233),
                        ("total", 1.08530)):
        assert getattr(got, name).m_as("mm") == pytest.approx(value, abs=0.000005)
    for name, percent in (("repeatability", 18.42), ("reproducibility", 20.90), ("gauge", 27.86), ("part", 96.04)):
        assert 100 * got.shares[name] == pytest.approx(percent, abs=0.005)
    assert got.categories == 4
