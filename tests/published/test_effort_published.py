"""kit.effort against printed values; the source stands beside each."""
import numpy as np
import pytest

from kit import bow, effort, evidence
from kit.units import OutOfRange, Q


def test_grip_held_at_the_critical_force():
    """M. Kwak, P. J. Succi, B. Benitez and H. C. Bergstrom, Sustainability and perceptual responses during handgrip holds to
    failure at two fatigue thresholds, European Journal of Applied Physiology (2023), abstract, ten women: 18.9 % of the greatest
    force was held for 10.1 min with a standard deviation of 2.7, 19.5 % for 11.6 with 8.4."""
    assert effort.endurance(share=0.189, joint="grip").m_as("min") == pytest.approx(10.1, abs=2.7)
    assert effort.endurance(share=0.195, joint="grip").m_as("min") == pytest.approx(11.6, abs=8.4)


def test_order_of_the_joints():
    """L. A. Frey Law and K. G. Avin, Ergonomics 53 (2010) 109-129, abstract: hand and grip are more resistant to fatigue than
    the elbow, and that than the shoulder. As an overall order; ours holds from two fifths of the greatest force up."""
    share = np.array([0.4, 0.6, 0.8, 1.0])
    grip, elbow, shoulder = (effort.endurance(share=share, joint=joint).m for joint in ("grip", "elbow", "shoulder"))
    assert (grip > elbow).all() and (elbow > shoulder).all()


def test_the_one_curve_for_all_muscles_lies_among_the_joints():
    """W. Rohmert's curve as given by T. E. Bernard (2006): muscles of many kinds together."""
    for share in (0.2, 0.3, 0.4, 0.5, 0.6):
        times = [effort.endurance(share=share, joint=joint).m_as("min") for joint in effort.JOINTS]
        assert min(times) < bow.hold_time(fraction=share).m_as("min") < max(times)


def ends(of):
    """The 5 % and 95 % points of the one row of the table that is about it."""
    (assumption,) = evidence.reference(table="effort", of=of, prefix="it").values()
    return assumption.quantile(np.array([0.05, 0.95]))


def test_two_arms_at_a_winch():
    """J. Glynn, Construction of Cranes (1849), p. 25, J. Walker's trials: 12 to 14 lb at 220 feet a minute for ten hours. Both
    arms at it, with the ranges of the kit's table: within them with its factor on the curve, above them without."""
    printed = [(Q(pounds, "lbf") * Q(220, "foot/min")).m_as("W") for pounds in (12, 14)]
    with pytest.warns(OutOfRange):   # ten hours are a little beyond the curve
        least, most = (effort.one_arm_power(minutes="10 hour", arms_share=share, one_arm_share=1).m_as("W") for share in ends("both arms"))
    low, high = ends("whole body")
    assert low * least < min(printed) and max(printed) < high * most
    assert most < min(printed)


def test_arms_in_a_graded_test():
    """T. W. J. Janssen and others, Journal of Rehabilitation Research and Development 38 (2001) 33-40, six men of unimpaired
    arms used to cycling with them: 129 W with a standard deviation of 26 in the last stage of a graded test, whose length of
    some minutes we take as the curve's 4."""
    for share in ends("both arms"):
        assert effort.one_arm_power(minutes="4 min", arms_share=share, one_arm_share=1).m_as("W") == pytest.approx(129, abs=1.5 * 26)


def test_whole_body_lies_below_the_figures_for_ordinary_people():
    """D. R. Wilkie, Man as a source of mechanical power, Ergonomics 3 (1960) 1-8, abstract: champions 0.5 hp for 5 min, perhaps
    0.2 hp all day, ordinary people less than 70 to 80 % of it."""
    for minutes, champion in ((5, 0.5), (480, 0.2)):
        ours = effort.power(minutes=Q(minutes, "min")).m_as("W") / 745.7
        assert 0.5 * champion < ours < 0.7 * champion
