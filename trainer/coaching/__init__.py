"""Floor 3: pure. What a record, or a moment, means against a student's limits."""
