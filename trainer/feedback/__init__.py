"""Floor 4: what is heard and shown, and when not to."""
