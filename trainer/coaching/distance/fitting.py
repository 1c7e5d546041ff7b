"""The posterior of a player's law, log launch speed = a + g log(length / A0) + noise: found, and sampled by weighted
nodes.

Noise is normal with a small share of mishits (a wide normal), and a roll-out that was paced is known between two bounds
only, so each putt's likelihood is a difference of normal integrals. Priors come from published strokes. The nodes are a
low-discrepancy sequence (M. Roberts' generalised golden ratio) placed by the mode and curvature and weighted by the
posterior: the same putts give the same numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

MISHIT_SHARE = 0.04  # common practice, no source: one putt in twenty-five is not meant
# Of log speed: off the middle of the face or stubbed, a ball comes out slower, by half to a little more than meant.
MISHIT_MEAN, MISHIT_SD = -0.20, 0.25
_NODES = 1200
_ROUNDS = 4
_ENOUGH = 0.35  # effective share of the nodes


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal priors: log speed at the reference length, exponent, log of the noise's sd."""

    log_speed: tuple[float, float]
    exponent: tuple[float, float]
    log_noise: tuple[float, float]

    @property
    def middle(self) -> Floats:
        return np.array([self.log_speed[0], self.exponent[0], self.log_noise[0]])

    @property
    def sd(self) -> Floats:
        return np.array([self.log_speed[1], self.exponent[1], self.log_noise[1]])


@dataclass(frozen=True)
class Posterior:
    """nodes: (m, 3) log speed at A0, exponent, noise sd of log speed; weights: (m,) sum 1; z: (m,) standard normal."""

    nodes: Floats
    weights: Floats
    z: Floats

    def one_putt(self, log_length: float, extra_sd: float = 0.0) -> Floats:
        """(m,) log launch speed of a putt to come, struck as usual. log_length: log(length / A0)."""
        line = self.nodes[:, 0] + self.nodes[:, 1] * log_length
        found: Floats = line + np.hypot(self.nodes[:, 2], extra_sd) * self.z
        return found


def normal_nodes(count: int, dimensions: int) -> Floats:
    """(count, dimensions) evenly spread standard normal points, always the same."""
    from scipy.special import ndtri

    golden = 2.0
    for _ in range(40):  # the root of x^(d+1) = x + 1
        golden = (1.0 + golden) ** (1.0 / (dimensions + 1))
    steps = golden ** -np.arange(1.0, dimensions + 1.0)
    uniform = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    return np.asarray(ndtri(np.clip(uniform, 1e-6, 1.0 - 1e-6)), dtype=np.float64)


def log_posterior(theta: Floats, x: Floats, low: Floats, high: Floats, prior: Prior) -> Floats:
    """theta: (m, 3) log speed, exponent, log noise; x, low, high: (n,) log length ratio and bounds of log speed ->
    (m,).
    """
    middle = theta[:, :1] + theta[:, 1:2] * x
    below, above = low - middle, high - middle
    inside = _between(below, above, np.exp(theta[:, 2:]))
    missed = _between(below - MISHIT_MEAN, above - MISHIT_MEAN, np.float64(MISHIT_SD))
    likely = (1.0 - MISHIT_SHARE) * inside + MISHIT_SHARE * missed
    off = (theta - prior.middle) / prior.sd
    total: Floats = np.log(likely + 1e-300).sum(axis=1) - 0.5 * (off**2).sum(axis=1)
    return total + _log_information(theta[:, 2:], high - low)


def _log_information(log_noise: Floats, widths: Floats) -> Floats:
    """Log of how much rounded putts can tell of the noise (Jeffreys' rule): (m, 1), (n,) -> (m,).

    A spread far below the rounding looks like any smaller one, so the likelihood stays high all the way down; without this
    the fit takes it and its bands are too narrow. Rounding adds widths**2 / 12 to the variance; the information on log
    noise is as (noise^2 / (noise^2 + that))^2.
    """
    if not widths.size:
        return np.zeros(len(log_noise))
    own = np.exp(2.0 * log_noise)
    information: Floats = 0.5 * np.log(((own / (own + widths**2 / 12.0)) ** 2).mean(axis=1) + 1e-12)
    return information


def _between(below: Floats, above: Floats, sd: Floats | np.float64) -> Floats:
    """Normal probability between two deviations, exact in both tails."""
    from scipy.special import ndtr

    right = below > 0.0
    upper = np.where(right, -below, above) / sd
    lower = np.where(right, -above, below) / sd
    return np.asarray(ndtr(upper) - ndtr(lower), dtype=np.float64)


def posterior(x: Floats, low: Floats, high: Floats, prior: Prior) -> Posterior:
    """x: (n,) log(length / A0), n >= 0; low, high: (n,) bounds of log launch speed."""
    middle, spread = _mode(x, low, high, prior)
    away, z = _nodes()
    for _ in range(_ROUNDS):
        theta = middle + away @ (np.linalg.cholesky(spread) * 1.1).T
        # The larger the noise the less sure are level and exponent: in step with it when putts decide, not the prior.
        coupled = x.size / (x.size + 4.0)
        scale = np.exp(coupled * np.clip(theta[:, 2] - middle[2], -1.0, 1.5))[:, None]
        theta[:, :2] = middle[:2] + (theta[:, :2] - middle[:2]) * scale
        log_proposal = -4.5 * np.log1p((away**2).sum(axis=1) / 6.0) - 2.0 * np.log(scale[:, 0])
        log_weight = log_posterior(theta, x, low, high, prior) - log_proposal
        weights = np.exp(log_weight - log_weight.max())
        weights /= weights.sum()
        if 1.0 / (weights**2).sum() > _ENOUGH * _NODES:
            break
        # The curvature at the mode misled: take mean and spread of what was found, and look again.
        middle = weights @ theta
        off = theta - middle
        spread = (off * weights[:, None]).T @ off + np.diag(np.diag(spread)) * 0.05
    nodes = np.column_stack([theta[:, :2], np.exp(theta[:, 2])])
    return Posterior(nodes, weights, z)


@lru_cache(maxsize=1)
def _nodes() -> tuple[Floats, Floats]:
    """(m, 3) points of Student's t with 6 degrees of freedom (tails heavier than a posterior's), and (m,) normal."""
    from scipy.special import gammaincinv, ndtr

    normal = normal_nodes(_NODES, 5)
    tail = np.sqrt(3.0 / gammaincinv(3.0, ndtr(normal[:, 4])))[:, None]
    return normal[:, :3] * tail, normal[:, 3]


def _mode(x: Floats, low: Floats, high: Floats, prior: Prior) -> tuple[Floats, Floats]:
    """Where the posterior is highest, and the inverse of its curvature there: (3,), (3, 3)."""
    from scipy.optimize import minimize

    def cost(theta: Floats) -> float:
        return -float(log_posterior(theta[None, :], x, low, high, prior)[0])

    def slope(theta: Floats) -> Floats:
        steps = np.vstack([np.eye(3), -np.eye(3)]) * 1e-4
        at = log_posterior(theta + steps, x, low, high, prior)
        return -(at[:3] - at[3:]) / 2e-4

    start = prior.middle
    if x.size:
        middle = (low + high) / 2.0
        start[0] = np.median(middle - start[1] * x)  # robust: one mishit does not move it
        away = np.abs(middle - start[0] - start[1] * x)
        start[2] = math.log(max(1.48 * float(np.median(away)), 0.02))
    found = minimize(cost, start, jac=slope, method="BFGS", options={"gtol": 0.05, "maxiter": 60}).x
    step = 1e-3
    curve = np.array([(slope(found + e) - slope(found - e)) / (2.0 * step) for e in np.eye(3) * step])
    values, vectors = np.linalg.eigh((curve + curve.T) / 2.0)
    # A flat or saddled direction: no wider than the priors make it.
    spread = vectors @ np.diag(1.0 / np.maximum(values, 1.0 / float(prior.sd.max()) ** 2)) @ vectors.T
    return np.asarray(found, dtype=np.float64), np.asarray(spread, dtype=np.float64)
