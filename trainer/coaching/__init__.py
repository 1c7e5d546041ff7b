"""Pure. What a record, or a moment, means against a student's limits."""
