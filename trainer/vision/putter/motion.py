"""The shaft's angle in time: a Kalman filter with angle and speed, driven by a random angular acceleration."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

# A long putt's pendulum changes its speed by about 700 deg/s^2 (24 deg in 0.32 s); twice that leaves room for jerks.
ACCELERATION_SIGMA = 1500.0
START_SPEED_SIGMA = 60.0  # deg/s


class ShaftMotion:
    """angle_deg and speed_deg_s with their covariance, at the time of the last update."""

    def __init__(self, angle_deg: float, sigma_deg: float) -> None:
        self.state: npt.NDArray[np.float64] = np.array([angle_deg, 0.0])
        self.covariance: npt.NDArray[np.float64] = np.diag([sigma_deg**2, START_SPEED_SIGMA**2])
        # For how long ahead (s), and what ``_ahead`` gives for it.
        self._predicted: tuple[float, npt.NDArray[np.float64], npt.NDArray[np.float64]] | None = None

    @property
    def speed_deg_s(self) -> float:
        return float(self.state[1])

    def _ahead(self, dt_s: float) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        if self._predicted is None or self._predicted[0] != dt_s:
            step = np.array([[1.0, dt_s], [0.0, 1.0]])
            push = np.array([dt_s**2 / 2, dt_s]) * ACCELERATION_SIGMA
            covariance = step @ self.covariance @ step.T + push[:, None] * push
            self._predicted = dt_s, step @ self.state, covariance
        return self._predicted[1:]

    def expected(self, dt_s: float) -> tuple[float, float]:
        """(angle, its sigma) dt_s after the last update, deg."""
        state, covariance = self._ahead(dt_s)
        return float(state[0]), float(np.sqrt(covariance[0, 0]))

    def update(self, dt_s: float, angle_deg: float, sigma_deg: float) -> None:
        """angle_deg, sigma_deg: the angle after a fit that already took ``expected`` into account."""
        state, covariance = self._ahead(dt_s)
        variance = max(float(covariance[0, 0]), 1e-9)
        gain = covariance[:, 0] / variance
        kept = 1.0 - min(1.0, sigma_deg**2 / variance)
        self.state = state + gain * (angle_deg - state[0])
        self.covariance = covariance - gain[:, None] * gain * variance * kept
        self._predicted = None
