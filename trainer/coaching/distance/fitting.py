"""The posterior of a player's law, log launch speed = a + g x + c bend(x) + noise, x = log(length / A0): found, and
sampled by weighted nodes.

The bend is what keeps the law honest: nobody's timing changes with length by one power throughout, and what is not
known of it grows beyond the player's own putts.

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
MOST_LOG_NOISE = 20.0  # a search for the mode may step anywhere: all beyond is as unlikely, and exp would overflow
_NODES = 1600
_ROUNDS = 4
_ENOUGH = 0.35  # effective share of the nodes


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal priors: log speed at the reference length, exponent, log of the noise's sd, bend."""

    log_speed: tuple[float, float]
    exponent: tuple[float, float]
    log_noise: tuple[float, float]
    bend: tuple[float, float]

    @property
    def middle(self) -> Floats:
        return np.array([self.log_speed[0], self.exponent[0], self.log_noise[0], self.bend[0]])

    @property
    def sd(self) -> Floats:
        return np.array([self.log_speed[1], self.exponent[1], self.log_noise[1], self.bend[1]])


def bend(x: Floats) -> Floats:
    """A parabola in the middle that becomes straight: its slope stays within -1 and 1, so that the law keeps rising."""
    found: Floats = x * x / (1.0 + np.abs(x))
    return found


@dataclass(frozen=True)
class Posterior:
    """nodes: (m, 4) log speed at A0, exponent, noise sd of log speed, bend; weights: (m,) sum 1; z: (m,) standard
    normal.
    """

    nodes: Floats
    weights: Floats
    z: Floats

    def one_putt(self, log_length: float, extra_sd: float = 0.0) -> Floats:
        """(m,) log launch speed of a putt to come, struck as usual. log_length: log(length / A0)."""
        level, exponent, noise, bent = self.nodes.T
        line = level + exponent * log_length + bent * bend(np.array(log_length))
        found: Floats = line + np.hypot(noise, extra_sd) * self.z
        return found

    def log_length(self, log_speed: Floats) -> Floats:
        """(m,) log(length / A0) that gives each node's log launch speed: the law reversed."""
        level, exponent, _, bent = self.nodes.T
        above = log_speed - level
        size, side = np.abs(above), np.sign(above)
        # On either side the law is g u + c u^2 / (1 + u) = size, a quadratic in u; no flatter than a tenth.
        steep, outer = np.maximum(exponent, 0.1), np.maximum(exponent + side * bent, 0.1)
        half = (steep - size) / 2.0
        found: Floats = side * (np.sqrt(half * half + outer * size) - half) / outer
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
    """theta: (m, 4) log speed, exponent, log noise, bend; x, low, high: (n,) log length ratio and bounds of log speed ->
    (m,).
    """
    middle = theta[:, :1] + theta[:, 1:2] * x + theta[:, 3:] * bend(x)
    log_noise = np.minimum(theta[:, 2:3], MOST_LOG_NOISE)
    below, above = low - middle, high - middle
    inside = _between(below, above, np.exp(log_noise))
    missed = _between(below - MISHIT_MEAN, above - MISHIT_MEAN, np.float64(MISHIT_SD))
    likely = (1.0 - MISHIT_SHARE) * inside + MISHIT_SHARE * missed
    off = (theta - prior.middle) / prior.sd
    total: Floats = np.log(likely + 1e-300).sum(axis=1) - 0.5 * (off**2).sum(axis=1)
    return total + _log_information(log_noise, high - low)


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
        line = [0, 1, 3]
        theta[:, line] = middle[line] + (theta[:, line] - middle[line]) * scale
        log_proposal = -5.0 * np.log1p((away**2).sum(axis=1) / 6.0) - 3.0 * np.log(scale[:, 0])
        log_weight = log_posterior(theta, x, low, high, prior) - log_proposal
        weights = np.exp(log_weight - log_weight.max())
        weights /= weights.sum()
        if 1.0 / (weights**2).sum() > _ENOUGH * _NODES:
            break
        # The curvature at the mode misled: take mean and spread of what was found, and look again.
        middle = weights @ theta
        off = theta - middle
        spread = (off * weights[:, None]).T @ off + np.diag(np.diag(spread)) * 0.05
    nodes = np.column_stack([theta[:, :2], np.exp(theta[:, 2]), theta[:, 3]])
    return Posterior(nodes, weights, z)


@lru_cache(maxsize=1)
def _nodes() -> tuple[Floats, Floats]:
    """(m, 4) points of Student's t with 6 degrees of freedom (tails heavier than a posterior's), and (m,) normal."""
    from scipy.special import gammaincinv, ndtr

    normal = normal_nodes(_NODES, 6)
    tail = np.sqrt(3.0 / gammaincinv(3.0, ndtr(normal[:, 5])))[:, None]
    return normal[:, :4] * tail, normal[:, 4]


def _mode(x: Floats, low: Floats, high: Floats, prior: Prior) -> tuple[Floats, Floats]:
    """Where the posterior is highest, and the inverse of its curvature there: (4,), (4, 4)."""
    from scipy.optimize import minimize

    def cost(theta: Floats) -> float:
        return -float(log_posterior(theta[None, :], x, low, high, prior)[0])

    def slope(theta: Floats) -> Floats:
        steps = np.vstack([np.eye(4), -np.eye(4)]) * 1e-4
        at = log_posterior(theta + steps, x, low, high, prior)
        return -(at[:4] - at[4:]) / 2e-4

    start = prior.middle
    if x.size:
        middle = (low + high) / 2.0
        start[0] = np.median(middle - start[1] * x)  # robust: one mishit does not move it
        away = np.abs(middle - start[0] - start[1] * x)
        start[2] = math.log(max(1.48 * float(np.median(away)), 0.02))
    found = minimize(cost, start, jac=slope, method="BFGS", options={"gtol": 0.05, "maxiter": 60}).x
    step = 1e-3
    curve = np.array([(slope(found + e) - slope(found - e)) / (2.0 * step) for e in np.eye(4) * step])
    values, vectors = np.linalg.eigh((curve + curve.T) / 2.0)
    # A flat or saddled direction: no wider than the priors make it.
    spread = vectors @ np.diag(1.0 / np.maximum(values, 1.0 / float(prior.sd.max()) ** 2)) @ vectors.T
    return np.asarray(found, dtype=np.float64), np.asarray(spread, dtype=np.float64)
