"""One picture of a player at address to numbers and guidance."""
