"""Scatter and shared error of readings: the likelihood against the multivariate t, plain integration, and simulated readings."""
import numpy as np
import pytest
from scipy import integrate, stats

from kit.study.reading_errors import Error, Likelihood, between

DAYS, WHO = ("1", "1", "2", "2", "3"), ("A", "B", "A", "B", "A")
VALUES = np.array([18.0, 22.0, 25.0, 16.0, 30.0])


def differences(likelihood, residuals):
    """What a likelihood says of each column beside the first: its constant falls out."""
    found = likelihood(residuals)
    return found - found[0]


def scaled_inverse_chi_square(variance, dof, scale):
    return stats.invgamma.pdf(variance, dof / 2, scale=dof * scale**2 / 2)


@pytest.mark.parametrize("size", [0.3, 1, 3, 10])
def test_without_shared_error_it_is_the_multivariate_t(size):
    """A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 3.2 and appendix A, from memory: a normal whose variance is
    scaled-inverse-chi-square is Student's t; density by scipy."""
    residuals = 0.1 * size * np.random.default_rng(3).standard_normal((5, 40))
    exact = stats.multivariate_t(np.zeros(5), 0.1**2 * np.eye(5), df=4).logpdf(residuals.T)
    np.testing.assert_allclose(differences(Likelihood(Error(0.1), DAYS, WHO, VALUES), residuals), exact - exact[0], atol=2e-4)


def test_shared_errors_against_integration_over_the_scatter():
    """The normal density of all five, with the covariance written out, integrated over the variance by scipy."""
    error = Error(0.1, bias=0.15, day=0.12, operator=0.2)
    shared = (0.15**2 + 0.12**2 * (np.array(DAYS)[:, None] == np.array(DAYS)) + 0.2**2 * (np.array(WHO)[:, None] == np.array(WHO)))
    residuals = np.random.default_rng(4).multivariate_normal(np.zeros(5), shared + 0.02 * np.eye(5), 8).T

    def density(r):
        def at(log_variance):
            variance = np.exp(log_variance)
            return (stats.multivariate_normal(np.zeros(5), shared + variance * np.eye(5)).pdf(r)
                    * scaled_inverse_chi_square(variance, 4, 0.1) * variance)
        return np.log(integrate.quad(at, np.log(0.1**2) - 5, np.log(0.1**2) + 9, epsabs=0, epsrel=1e-8, limit=200)[0])

    exact = np.array([density(r) for r in residuals.T])
    np.testing.assert_allclose(differences(Likelihood(error, DAYS, WHO, VALUES), residuals), exact - exact[0], atol=2e-3)


def test_one_operator_is_the_arm_itself():
    alone = Error(0.1, bias=0.15, operator=0.5)
    residuals = np.random.default_rng(5).standard_normal((5, 6)) * 0.2
    same = [Likelihood(error, DAYS, ("A",) * 5, VALUES)(residuals) for error in (alone, Error(0.1, bias=0.15))]
    np.testing.assert_array_equal(*same)
    assert not np.allclose(same[0], Likelihood(alone, DAYS, WHO, VALUES)(residuals), atol=0.01)


def test_a_scale_read_near_its_step_scatters_more():
    """0.02 g of a loss of 0.04 g is a half, of one of 4 g next to nothing."""
    error = Error(0.1, least=0.02)
    np.testing.assert_allclose(error.weights(np.array([0.04, 0.2, 4.0])), np.hypot(1, [5, 1, 0.05]))
    far, near = (Likelihood(error, ("1",), ("A",), np.array([value]))(np.array([[0.0, 0.5]])) for value in (4.0, 0.04))
    assert far[0] - far[1] > 3 and near[0] - near[1] < 0.6


def test_scatter_of_many_readings_is_found_however_large():
    """Of eighty readings that scatter by 0.3 the likelihood of a shift is that of a normal of their own mean and spread."""
    rng = np.random.default_rng(6)
    r = 0.3 * rng.standard_normal(80)
    shifts = np.linspace(-0.1, 0.1, 41)
    told = Likelihood(Error(0.1), ("1",) * 80, ("A",) * 80, np.ones(80))(r[:, None] - shifts)
    weight = np.exp(told - told.max())
    weight /= weight.sum()
    mean = weight @ shifts
    assert mean == pytest.approx(r.mean(), abs=0.003)
    assert np.sqrt(weight @ (shifts - mean)**2) == pytest.approx(r.std(ddof=1) / np.sqrt(80), rel=0.06)


def test_draws_are_what_the_likelihood_says():
    """Errors drawn have the covariance of the formulas: scatter^2 dof/(dof - 2) on the diagonal, and what is shared beside it."""
    error = Error(0.1, bias=0.15, day=0.12, operator=0.2, dof=8)
    found = np.cov(error.draws(DAYS, WHO, VALUES, 400_000, np.random.default_rng(7)))
    same = np.array(DAYS)[:, None] == np.array(DAYS), np.array(WHO)[:, None] == np.array(WHO)
    np.testing.assert_allclose(found, 0.15**2 + 0.12**2 * same[0] + 0.2**2 * same[1] + 0.1**2 * 8 / 6 * np.eye(5), atol=8e-4)


@pytest.mark.parametrize("low, high", [([0.0, -np.inf], [np.inf, 0.2]), ([0.1, 0.0], [0.15, 0.3]), ([0.0, 0.1], [np.inf, np.inf])])
def test_intervals_against_simulation(low, high):
    """The chance that two readings of one gauge fall inside their intervals, counted over simulated readings with a scatter for each."""
    error, n, rng = Error(0.1, bias=0.15, day=0.1), 10**6, np.random.default_rng(8)
    low, high, predicted = np.array(low)[:, None], np.array(high)[:, None], np.array([[0.05, 0.3], [0.1, -0.2]])
    read = np.hypot(0.15, 0.1) * rng.standard_normal(n) + 0.1 * rng.standard_t(4, (2, n))
    for column, told in enumerate(np.exp(between(error, low, high, predicted))):
        at = read + predicted[:, [column]]
        counted = np.mean(((low <= at) & (at <= high)).all(axis=0))
        assert told == pytest.approx(counted, abs=4 * np.sqrt(counted / n) + 2e-3)


def test_intervals_far_out_stay_ordered():
    """In the far tail the nearer one is still the likelier, and nothing overflows."""
    told = between(Error(0.1, dof=np.inf), np.array([[3.0]]), np.array([[3.2]]), np.array([[0.0, 0.5, 1.0, 2.0]]))
    assert np.isfinite(told).all() and (np.diff(told) > 0).all()
