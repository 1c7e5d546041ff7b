"""Floor 0: validated, documented values. Imports nothing else of the package."""
