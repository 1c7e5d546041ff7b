"""A lesson: strokes as they are, one priority, what was tried, the same strokes again, what to take home. Pure."""
