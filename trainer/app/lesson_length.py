"""How many strokes a lesson is measured by; apart, so that the terminal's options need nothing else of a lesson."""

STROKES = 8  # ball strokes as they are, and as many again at the end: common practice, no source
