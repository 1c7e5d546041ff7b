"""Floor 9: the terminal's way in: parse, call app, print."""
