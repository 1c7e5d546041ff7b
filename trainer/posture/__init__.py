"""Floor 6: one picture of a player at address to numbers and guidance."""
