"""Spread that one bad value does not throw off."""

from __future__ import annotations

MAD_TO_SD = 1.4826  # median absolute deviation -> standard deviation of a normal distribution; textbook
