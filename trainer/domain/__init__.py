"""Floor 0: the types that every floor speaks. Imports nothing of the package."""
