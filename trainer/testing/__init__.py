"""Beside the floors: fakes of camera, loudspeaker, screen and clock, and the signal simulator."""
