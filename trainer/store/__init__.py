"""Floor 5: the record on disk (SQLite)."""
