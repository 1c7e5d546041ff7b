"""Seeing a stroke again: its frames, two strokes at one instant, what differs, and what is kept."""
