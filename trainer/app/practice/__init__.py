"""A run of practice: its session, its drill, its record, a second camera."""
