"""A stroke again: its frames, two strokes at one instant, what differs, what is kept."""
