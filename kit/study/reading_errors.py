"""How readings stray from what is predicted: each by itself, and those of one gauge, one day, one operator together."""
from dataclasses import dataclass

import numpy as np

DOF = 4.0   # how well the scatter is known beforehand: to between 0.65 and 2.4 times itself (5 % to 95 %)


@dataclass(frozen=True)
class Error:
    """Error of readings of one kind; all are standard deviations, relative where `relative`, else in the unit read.

    scatter: of one reading. dof: degrees of freedom of that number; infinite where it is certain. bias: of the gauge,
    the same in every reading. day, operator: what the readings of one day, or of one person where there are several,
    have in common. least: error in the unit that one reading has at the least (the step of a scale), where relative.
    """
    scatter: float
    bias: float = 0.0
    day: float = 0.0
    operator: float = 0.0
    relative: bool = True
    least: float = 0.0
    dof: float = DOF

    @property
    def scaled(self):
        """Onto the scale on which errors add: the logarithm where they are relative."""
        return np.log if self.relative else np.asarray

    def parts(self, days, operators):
        """[(standard deviation, which of a set of shared errors each reading has)]."""
        alone = np.zeros(len(days), int)
        several = [(self.day, np.unique(days, return_inverse=True)[1])]
        if len(set(operators)) > 1:   # of one person the arm itself is what is sought
            several.append((self.operator, np.unique(operators, return_inverse=True)[1]))
        return [(sd, which) for sd, which in ((self.bias, alone), *several) if sd > 0]

    def weights(self, values):
        """By how much each reading scatters more than `scatter`, for its share of `least`."""
        return np.hypot(1, self.least / (np.abs(values) * self.scatter)) if self.relative else np.ones(len(values))

    def draws(self, days, operators, values, n, rng):
        """Errors of such readings, shape (k, n), on the scale on which they add."""
        scatter = self.scatter
        if np.isfinite(self.dof):
            scatter = scatter * np.sqrt(self.dof / rng.chisquare(self.dof, n))
        found = scatter * self.weights(values)[:, None] * rng.standard_normal((len(days), n))
        for sd, which in self.parts(days, operators):
            found += (sd * rng.standard_normal((which.max() + 1, n)))[which]
        return found


class Likelihood:
    """Likelihood of residuals on the scale on which errors add, with scatter and shared errors integrated out.

    Residuals r of k readings ~ N(0, s^2 D + B), D = diag(weights^2), B = sum over gauge, days and operators of
    sd^2 Z Z', Z telling which readings share it: the shared errors are normal, so they integrate out in closed form;
    s^2 is scaled-inverse-chi-square(dof, scatter^2), integrated by the trapezoid rule over log s after B has been
    diagonalised once, so a draw costs a product of matrices. Without shared errors this is the multivariate t of
    that scatter. The shared errors do not grow and shrink with s (were they tied to it, the whole would be a
    multivariate t): a balance that reads a fifth too high may do so very evenly.
    Source: A. Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), sections 3.2, 14.2 and 15.1, from memory.
    """

    def __init__(self, error, days, operators, values):
        k, self.weights = len(days), error.weights(values)[:, None]
        shared = np.zeros((k, k))
        for sd, which in error.parts(days, operators):
            shared += sd**2 * (which[:, None] == which)
        size, ways = np.linalg.eigh(shared / (self.weights * self.weights.T))
        kept = size > 1e-12 * error.scatter**2
        self.size, self.ways, self.rest = size[kept], ways[:, kept], k - kept.sum()
        if np.isfinite(error.dof):
            step = min(0.1, 1 / np.sqrt(2 * (k + min(error.dof, 1e4))))
            log_s = np.arange(np.log(1 / 8), np.log(100), step)
            prior = -error.dof * (log_s + np.exp(-2 * log_s) / 2)
            prior -= prior.max()
            prior -= np.log(np.exp(prior).sum())
        else:
            log_s, prior = np.zeros(1), np.zeros(1)
        squared = (error.scatter * np.exp(log_s))[:, None]**2
        self.per_way, self.per_rest = 1 / (squared + self.size), 1 / squared
        self.fixed = (prior - 0.5 * np.log(squared + self.size).sum(axis=1)
                      - 0.5 * self.rest * np.log(squared[:, 0]))[:, None]

    def __call__(self, residuals):
        """Log of the density of each column of residuals, shape (k, n), but for a constant."""
        residuals = residuals / self.weights
        along = (self.ways.T @ residuals)**2
        rest = np.maximum((residuals**2).sum(axis=0) - along.sum(axis=0), 0)
        at = self.fixed - 0.5 * (self.per_way @ along + self.per_rest * rest)
        top = at.max(axis=0)
        return top + np.log(np.exp(at - top).sum(axis=0))


def between(error, low, high, predicted):
    """Log of the chance that readings of what is predicted fall between low and high, shape (k, n) -> (n,).

    All of them share one error, as wide as gauge, day and operator together, integrated by Gauss-Hermite points; the
    scatter of each is Student's t.
    """
    from scipy import special
    nodes, weights = np.polynomial.hermite_e.hermegauss(21)
    shared = float(np.sqrt(error.bias**2 + error.day**2 + error.operator**2))
    if not shared:
        nodes, weights = np.zeros(1), np.ones(1)

    def log_cdf(z):
        if not np.isfinite(error.dof):
            return special.log_ndtr(z)
        with np.errstate(divide="ignore"):   # as far out as the table of numbers goes
            return np.log(np.maximum(special.stdtr(error.dof, z), 1e-300))

    found = []
    for node in nodes:
        if np.isposinf(high).all():   # bounds from below alone
            found.append(log_cdf((predicted + shared * node - low) / error.scatter).sum(axis=0))
            continue
        below, above = ((end - predicted - shared * node) / error.scatter for end in (low, high))
        flip = below > 0   # in the far tail the difference is taken on the side where it does not cancel
        near, far = log_cdf(np.where(flip, -below, above)), log_cdf(np.where(flip, -above, below))
        found.append((near + np.log1p(-np.exp(np.minimum(far - near, -1e-12)))).sum(axis=0))
    return special.logsumexp(np.array(found), axis=0, b=(weights / weights.sum())[:, None])
