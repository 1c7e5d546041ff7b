"""The head: its outline, its registration, its turn."""
