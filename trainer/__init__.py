"""Putting trainer: a webcam watches the stroke, a tone marks the fault, a record keeps the habit honest."""

__version__ = "0.1.0"
