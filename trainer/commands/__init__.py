"""The terminal's way in: parse, call app, print."""
