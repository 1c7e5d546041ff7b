"""The review window: strokes again, slow, side by side."""
