"""The practice window."""
